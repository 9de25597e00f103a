//! The light's path through the stretched quarter.

use crate::light::{Element, QuarterPath, Step};
use ogee_geometry::{EndBend, Quarter};
use ogee_mechanics::CellSolution;

/// Points from which the angle at the end bend's joint is interpolated.
const ANGLE_POINTS: usize = 33;

/// The stretched quarter as the light sees it, and how much the end bend has opened (its curvature over that at
/// rest).
///
/// The curvature is that per stretched length; its size is enough, because every place occurs with both signs.
pub(crate) fn stretched_path(
    quarter: &Quarter,
    cell: &CellSolution,
    bend: Option<EndBend>,
) -> (QuarterPath, f64) {
    let mut travelled = 0.0;
    let mut elements: Vec<Element> = cell
        .optical_quadrature()
        .map(|p| {
            travelled += p.length_um;
            let s_um = travelled - p.length_um / 2.0;
            Element { length_um: p.length_um, curvature_per_um: p.curvature_per_um, s_um }
        })
        .collect();
    // Places are told by their distance at rest; the centreline stretches nearly evenly.
    let to_rest = quarter.length_um() / travelled;
    for element in &mut elements {
        element.s_um *= to_rest;
    }
    let (mut steps, mut crossing_per_um) = (Vec::new(), 0.0);
    for jump in cell.curvature_jumps() {
        if jump.s_um == 0.0 {
            crossing_per_um = jump.after_per_um.abs();
        } else {
            steps.push(Step { s_um: jump.s_um, curvatures_per_um: [jump.before_per_um, jump.after_per_um] });
        }
    }
    let points = cell.along(ANGLE_POINTS);
    let crest_per_um = points.last().map_or(0.0, |p| p.kappa_per_um / (1.0 + p.axial_strain));
    let opening = bend.map_or(1.0, |b| {
        let t = b.joins_quarter_at_um / quarter.length_um() * (ANGLE_POINTS - 1) as f64;
        let i = (t as usize).min(ANGLE_POINTS - 2);
        let angle = points[i].phi_rad + (t - i as f64) * (points[i + 1].phi_rad - points[i].phi_rad);
        angle / b.turn_rad
    });
    (QuarterPath { elements, steps, crossing_per_um, crest_per_um, lead_strain: 0.0 }, opening)
}
