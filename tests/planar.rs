//! One period of a stretched ribbon: shape, force and strain against two independent solutions of the exact beam,
//! and wide ribbons against two-dimensional elasticity.

use ogee_mechanics::{CellProblem, CellSolution, CellSolver, Edge, Mesh, Strips};
use ogee_tests::{Case, Checks, table};

fn solve(case: &Case, solver: &mut CellSolver) -> CellSolution {
    let strips = Strips::homogeneous(case.number("width_um")).expect("a sound width");
    let problem = CellProblem { quarter: &case.quarter(), strips: &strips, stretch: case.number("stretch") };
    solver.solve(&problem, None).expect("the table holds equilibria")
}

fn edge(edge: Edge) -> &'static str {
    match edge {
        Edge::Left => "left",
        Edge::Right => "right",
    }
}

fn check(case: &Case, solver: &mut CellSolver, checks: &mut Checks<'_>) {
    let solution = solve(case, solver);
    let quarter = solution.quarter();
    checks.number("contour_length_um", 4.0 * quarter.length_um());
    checks.number("slack", quarter.slack());
    checks.number("least_radius_um", quarter.least_radius_um());
    checks.number("tilt_deg", quarter.tilt_rad().to_degrees());
    let width_um = case.number("width_um");
    checks.number("width_over_least_radius", width_um / quarter.least_radius_um());

    checks.number("end_force_ei_per_p2", solution.force_ei_per_p2);
    checks.number("peak_strain", solution.peak.strain);
    checks.text("peak_edge", edge(solution.peak.edge));
    checks.number_if_expected("peak_s_um", solution.peak.s_um);
    checks.number("peak_tensile_strain", solution.peak_tensile.strain);
    checks.number("stretched_amplitude_um", solution.stretched_amplitude_um);
    checks.number("linear_end_force_ei_per_p2", solution.linear_force_ei_per_p2);
    checks.number("linear_peak_strain", solution.linear_peak_strain);
    checks.that("an equilibrium of the table is stable in its plane", solution.is_stable);
}

#[test]
fn cells_of_the_table() {
    let mut solver = CellSolver::new();
    table("planar_cell").check("exact-beam", 42, |case, checks| check(case, &mut solver, checks));
}

/// The finest mesh leaves the listed values nearly unchanged: what the default mesh leaves is its own error.
#[test]
fn cells_on_the_finest_mesh() {
    const SHARP: f64 = 1e-6;
    let mut table = table("planar_cell");
    for case in &mut table.cases {
        for key in ["end_force_ei_per_p2", "peak_strain", "peak_tensile_strain", "stretched_amplitude_um"] {
            if let Some(tolerance) = case.rel_tol.get_mut(key) {
                *tolerance = SHARP.into();
            }
        }
    }
    let mut solver = CellSolver::with_mesh(Mesh::Fixed { elements: 32 });
    table.check("exact-beam", 42, |case, checks| check(case, &mut solver, checks));
}

/// The error that the solver reports covers the error that it makes.
#[test]
fn reported_errors_are_honest() {
    let mut solver = CellSolver::new();
    let mut table = table("planar_cell");
    for case in &mut table.cases {
        case.expected.retain(|key, _| key == "peak_strain");
    }
    table.check("exact-beam", 42, |case, checks| {
        let solution = solve(case, &mut solver);
        checks.number("peak_strain", solution.peak.strain);
        let listed = case.expected_number("peak_strain").expect("the table holds it");
        let error = (solution.peak.strain / listed - 1.0).abs();
        // Ten digits are listed.
        let covered = error <= solution.error_estimate.max(2e-10);
        checks.that(&format!("error {error:.1e} is within {:.1e}", solution.error_estimate), covered);
    });
}

#[test]
fn wide_ribbons_against_plane_elasticity() {
    let mut solver = CellSolver::new();
    table("planar_cell").check("plane-stress-2d", 4, |case, checks| {
        let solution = solve(case, &mut solver);
        checks.number("end_force_ei_per_p2", solution.force_ei_per_p2);
        checks.number("peak_strain", solution.peak.strain);
        checks
            .number("crest_outer_edge_strain", solution.edge_strain_at_crest(0.5 * case.number("width_um")));
        let plane = case.expected_number("peak_strain").expect("the table holds it");
        checks.that("the beam errs on the safe side", solution.peak.strain > plane);
    });
}

#[test]
fn every_kind_is_run() {
    table("planar_cell").check_kinds(&["exact-beam", "plane-stress-2d"]);
}
