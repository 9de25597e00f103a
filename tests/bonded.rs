//! One period of a ribbon bonded to a stretched elastomer against two independent solutions of the beam on springs.

use ogee_mechanics::{BondedProblem, BondedSolution, BondedSolver, Edge, Mesh, Strips};
use ogee_tests::{Case, Checks, Tolerance, table};

fn solve(case: &Case, solver: &mut BondedSolver) -> BondedSolution {
    let quarter = case.quarter();
    let strips = Strips::homogeneous(case.number("width_um")).expect("a sound width");
    let unit_mpa = strips.ei_un_um2() / quarter.pitch_um().powi(4);
    let problem = BondedProblem {
        quarter: &quarter,
        strips: &strips,
        foundation_mpa: case.number("foundation_k_p4_per_ei") * unit_mpa,
        substrate_poisson: case.number("substrate_poisson"),
        stretch: case.number("stretch"),
    };
    solver.solve(&problem, None).expect("the table holds equilibria")
}

fn check(case: &Case, solver: &mut BondedSolver, checks: &mut Checks<'_>) {
    let solution = solve(case, solver);
    checks.near(
        "foundation of the solution",
        solution.foundation_p4_per_ei,
        case.number("foundation_k_p4_per_ei"),
        Tolerance::relative(1e-12),
    );
    checks.number("peak_strain", solution.peak.strain);
    checks.number("peak_tensile_strain", solution.peak_tensile.strain);
    checks.number("peak_s_um", solution.peak.s_um);
    checks.text(
        "peak_edge",
        match solution.peak.edge {
            Edge::Left => "left",
            Edge::Right => "right",
        },
    );
    checks.number("crest_force_ei_per_p2", solution.crest_force_ei_per_p2);
    checks.number("crossing_force_ei_per_p2", solution.crossing_force_ei_per_p2);
    checks.number("crest_height_um", solution.crest_height_um);
    checks.number("largest_slip_um", solution.largest_slip_um);
    let free = solution.freestanding_peak_strain.expect("all of them have a freestanding state");
    checks.number("freestanding_peak_strain", free);
    checks.number("following_peak_strain", solution.following_peak_strain);
    checks.that("an equilibrium of the table is stable in its plane", solution.is_stable);
}

#[test]
fn bonded_cells_of_the_table() {
    let mut solver = BondedSolver::new();
    table("planar_bonded").check("", 9, |case, checks| check(case, &mut solver, checks));
}

/// The finest mesh leaves the listed values nearly unchanged: what the default mesh leaves is its own error.
#[test]
fn bonded_cells_on_a_fine_mesh() {
    const SHARP: f64 = 2e-6;
    let mut table = table("planar_bonded");
    for case in &mut table.cases {
        for key in ["crest_force_ei_per_p2", "peak_strain", "peak_tensile_strain", "crest_height_um"] {
            case.rel_tol.insert(key.to_owned(), SHARP.into());
        }
    }
    let mut solver = BondedSolver::with_mesh(Mesh::Fixed { elements: 32 });
    table.check("", 9, |case, checks| check(case, &mut solver, checks));
}

/// The error that the solver reports covers the error that it makes.
#[test]
fn reported_errors_are_honest() {
    let mut solver = BondedSolver::new();
    let mut table = table("planar_bonded");
    for case in &mut table.cases {
        case.expected.retain(|key, _| key == "peak_strain");
    }
    table.check("", 9, |case, checks| {
        let solution = solve(case, &mut solver);
        checks.number("peak_strain", solution.peak.strain);
        let listed = case.expected_number("peak_strain").expect("the table holds it");
        let error = (solution.peak.strain / listed - 1.0).abs();
        let covered = error <= solution.error_estimate.max(1e-9);
        checks.that(&format!("error {error:.1e} is within {:.1e}", solution.error_estimate), covered);
    });
}
