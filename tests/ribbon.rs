//! Whole stretched ribbons between clamps against two independent solutions of the exact beam.

use ogee_mechanics::{
    CellProblem, CellSolver, Edge, EndMotion, Mesh, RibbonProblem, RibbonSolution, RibbonSolver, Strips,
};
use ogee_tests::{Case, Checks, Tolerance, table};

/// Ribbons of the table whose bends are all strained alike: the peak's place is any of them.
const ALL_ALIKE: [&str; 1] = ["ribbon-11"];

fn solve(case: &Case, solver: &mut RibbonSolver) -> RibbonSolution {
    let (line, strips) = (case.ribbon(), strips(case));
    let motion = EndMotion::stretch(case.number("stretch"));
    solver.solve(&RibbonProblem { line: &line, strips: &strips, motion }, None).expect("an equilibrium")
}

fn strips(case: &Case) -> Strips {
    Strips::homogeneous(case.number("width_um")).expect("a sound width")
}

fn edge(edge: Edge) -> &'static str {
    match edge {
        Edge::Left => "left",
        Edge::Right => "right",
    }
}

fn check(case: &Case, solver: &mut RibbonSolver, checks: &mut Checks<'_>) {
    let solution = solve(case, solver);
    let line = case.ribbon();
    checks.number("span_um", line.span_um());
    checks.number("contour_length_um", line.contour_length_um());
    checks.near(
        "contour length of the solution",
        solution.contour_length_um(),
        line.contour_length_um(),
        Tolerance::relative(1e-12),
    );
    let pitch_um = case.number("pitch_um");
    let unit_un = strips(case).ei_un_um2() / (pitch_um * pitch_um);
    checks.number("end_force_x_ei_per_p2", solution.force_un[0] / unit_un);
    checks.number("end_force_y_ei_per_p2", solution.force_un[1] / unit_un);
    checks.number("end_moment_left_ei_per_p", solution.near_moment_un_um / (unit_un * pitch_um));
    checks.number("peak_strain", solution.peak.strain);
    checks.number("peak_tensile_strain", solution.peak_tensile.strain);
    checks.that("the state is as stable as it says", solution.is_stable == (solution.unstable_modes == 0));
    checks.text("stable", if solution.is_stable { "yes" } else { "no" });

    if ALL_ALIKE.contains(&case.name.as_str()) {
        // The listed place is strained as much as the place found.
        let listed = case.expected_number("peak_s_um").expect("the table holds it");
        let there = solution.at(listed);
        checks.near("strain there", there.right_strain, solution.peak.strain, Tolerance::relative(1e-4));
        checks.covers("peak_s_um");
        checks.covers("peak_edge");
    } else {
        checks.number("peak_s_um", solution.peak.s_um);
        checks.text("peak_edge", edge(solution.peak.edge));
    }

    let quarter = case.quarter();
    let cell_stretch = case.number("stretch") * line.span_um() / (case.number("periods") * pitch_um);
    checks.covers("cell_stretch");
    let listed = case.expected_number("cell_stretch").expect("the table holds it");
    checks.near("cell_stretch", cell_stretch, listed, Tolerance::relative(1e-9));
    let problem = CellProblem { quarter: &quarter, strips: &strips(case), stretch: cell_stretch };
    let cell = CellSolver::new().solve(&problem, None).expect("an equilibrium");
    checks.number("cell_peak_strain", cell.peak.strain);
    checks.number("cell_force_ei_per_p2", cell.force_ei_per_p2);
}

#[test]
fn ribbons_of_the_table() {
    let mut solver = RibbonSolver::new();
    table("planar_ribbon").check("", 12, |case, checks| check(case, &mut solver, checks));
}

/// The finest mesh leaves the listed values nearly unchanged: what the default mesh leaves is its own error.
#[test]
fn ribbons_on_a_fine_mesh() {
    const SHARP: f64 = 1e-6;
    let mut table = table("planar_ribbon");
    for case in &mut table.cases {
        for key in ["end_force_x_ei_per_p2", "end_moment_left_ei_per_p", "peak_strain", "peak_tensile_strain"]
        {
            case.rel_tol.insert(key.to_owned(), SHARP.into());
        }
    }
    let mut solver = RibbonSolver::with_mesh(Mesh::Fixed { elements: 16 });
    table.check("", 12, |case, checks| check(case, &mut solver, checks));
}

/// The error that the solver reports covers the error that it makes.
#[test]
fn reported_errors_are_honest() {
    let mut solver = RibbonSolver::new();
    let mut table = table("planar_ribbon");
    for case in &mut table.cases {
        case.expected.retain(|key, _| key == "peak_strain");
    }
    table.check("", 12, |case, checks| {
        let solution = solve(case, &mut solver);
        checks.number("peak_strain", solution.peak.strain);
        let listed = case.expected_number("peak_strain").expect("the table holds it");
        let error = (solution.peak.strain / listed - 1.0).abs();
        let covered = error <= solution.error_estimate.max(1e-9);
        checks.that(&format!("error {error:.1e} is within {:.1e}", solution.error_estimate), covered);
    });
}
