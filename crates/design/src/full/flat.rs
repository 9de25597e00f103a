//! The whole ribbon in its plane.

use super::solved::Solved;
use super::strain::{Peak, Peaks, SectionPeaks, place};
use crate::checked::Checked;
use crate::form::{FormKind, FormPoint, RibbonForm};
use crate::models::{ModelResult, RibbonResult};
use ogee_geometry::Centreline;
use ogee_mechanics::{
    CellSolution, EndMotion, LayerSpan, RibbonExtremes, RibbonProblem, RibbonSolution, RibbonSolver,
    RibbonState,
};

pub(crate) const SOURCE: &str = "exact planar curved beam over the whole ribbon with clamped ends, derived in the \
    documentation of ogee-mechanics";

/// The motion of the far island at a stretch, misalignment included.
pub(crate) fn motion(checked: &Checked, stretch: f64) -> EndMotion {
    let support = &checked.design().support;
    EndMotion { stretch, sideways_um: support.sideways_um, turn_rad: support.turn_deg.to_radians() }
}

/// Solves the whole ribbon in its plane.
pub(crate) fn solve(
    checked: &Checked,
    line: &Centreline,
    stretch: f64,
    solver: &mut RibbonSolver,
    warm: Option<&RibbonSolution>,
) -> Result<RibbonSolution, String> {
    solve_from(checked, line, stretch, solver, warm.map(|w| &w.state))
}

/// The same from a bare state.
pub(crate) fn solve_from(
    checked: &Checked,
    line: &Centreline,
    stretch: f64,
    solver: &mut RibbonSolver,
    warm: Option<&RibbonState>,
) -> Result<RibbonSolution, String> {
    let problem = RibbonProblem { line, strips: checked.strips(), motion: motion(checked, stretch) };
    solver.solve(&problem, warm).map_err(|e| e.to_string())
}

/// Strain in the section and its layers.
pub(crate) fn peaks(checked: &Checked, solution: &RibbonSolution) -> Result<SectionPeaks, String> {
    let at = |left_um: f64, right_um: f64| {
        let extremes = solution.peak_at(LayerSpan { left_um, right_um }).map_err(|e| e.to_string())?;
        Ok(of_extremes(&extremes))
    };
    let half = 0.5 * checked.width_um();
    let layers: Result<Vec<Peaks>, String> =
        checked.layers().iter().map(|l| at(l.left_um, l.right_um)).collect();
    Ok(SectionPeaks { edges: at(half, -half)?, layers: layers? })
}

fn of_extremes(extremes: &RibbonExtremes) -> Peaks {
    let peak =
        |p: &ogee_mechanics::RibbonPeak| Peak { strain: p.strain, s_um: p.s_um, offset_um: p.offset_um };
    Peaks { tension: peak(&extremes.tensile), compression: peak(&extremes.compressive) }
}

/// The ribbon's form.
pub(crate) fn form(solution: &RibbonSolution, stretch: f64, points_per_segment: usize) -> RibbonForm {
    let points = solution
        .along(points_per_segment)
        .iter()
        .map(|p| {
            FormPoint::in_plane(
                [p.s_um, p.x_um, p.y_um],
                p.phi_rad,
                [p.kappa_rest_per_um, p.kappa_per_um],
                [p.axial_strain, p.left_strain, p.right_strain],
            )
        })
        .collect();
    RibbonForm { stretch, kind: FormKind::Flat, points }
}

/// The model's result at the target.
pub(crate) fn result(checked: &Checked, solution: &RibbonSolution, cell: &CellSolution) -> RibbonResult {
    let solved = Solved::Flat(Box::new(solution.clone()));
    let edges = solved.peaks(checked).map(|p| p.edges).unwrap_or_default();
    let (tension, compression) = edges.sizes();
    let mut validity = Vec::new();
    if !solution.is_stable {
        validity.push(format!(
            "the state is not stable in its plane ({} unstable modes); the ribbon leaves it for another one",
            solution.unstable_modes
        ));
    } else if solution.reached == ogee_mechanics::Reached::ByBuckling {
        validity.push(
            "the ribbon has buckled sideways in its plane, as a column does; of its stable shapes this is one"
                .to_owned(),
        );
    }
    let cell_peak = cell.peak_tensile.strain;
    RibbonResult {
        common: ModelResult {
            model: "whole ribbon between clamped ends, in its plane, large stretch".to_owned(),
            peak_tensile_strain_percent: 100.0 * tension,
            peak_compressive_strain_percent: 100.0 * compression,
            peak_place: place(checked, &edges.tension, None),
            force_un: solution.force_un[0],
            error_estimate: solution.error_estimate,
            iterations: solution.iterations,
            is_valid: solution.is_stable,
            validity,
        },
        peak_over_cell: if cell_peak > 0.0 { tension / cell_peak } else { 1.0 },
        sideways_force_un: solution.force_un[1],
        end_moments_un_um: [solution.near_moment_un_um, solution.far_moment_un_um],
        energy_un_um: solution.energy_un_um,
        is_stable: solution.is_stable,
    }
}
