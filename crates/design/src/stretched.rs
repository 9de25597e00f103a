//! The light's path through the stretched quarter.

use crate::light::{Element, QuarterPath, Step};
use ogee_geometry::{EndBend, Quarter};
use ogee_mechanics::{CurvatureJump, PathWeight};

/// Fills `path` with the stretched quarter as the light sees it; returns how much the end bend has opened (its
/// curvature over that at rest).
///
/// * `weights`: stretched lengths and sizes of curvature from the crossing to the crest. Their sign does not matter,
///   because every place occurs with both signs.
pub(crate) fn fill_stretched(
    path: &mut QuarterPath,
    quarter: &Quarter,
    weights: &[PathWeight],
    jumps: impl Iterator<Item = CurvatureJump>,
    bend: Option<EndBend>,
) -> f64 {
    path.elements.clear();
    path.steps.clear();
    let stretched: f64 = weights.iter().map(|w| w.length_um).sum();
    // Places are told by their distance at rest; the centreline stretches nearly evenly.
    let to_rest = quarter.length_um() / stretched;
    let mut travelled = 0.0;
    for w in weights {
        let s_um = to_rest * (travelled + w.length_um / 2.0);
        travelled += w.length_um;
        path.elements.push(Element { length_um: w.length_um, curvature_per_um: w.curvature_per_um, s_um });
    }
    path.crossing_per_um = 0.0;
    for jump in jumps {
        if jump.s_um == 0.0 {
            path.crossing_per_um = jump.after_per_um.abs();
        } else {
            path.steps
                .push(Step { s_um: jump.s_um, curvatures_per_um: [jump.before_per_um, jump.after_per_um] });
        }
    }
    path.crest_per_um = -weights.last().map_or(0.0, |w| w.curvature_per_um);
    path.lead_strain = 0.0;
    bend.map_or(1.0, |bend| {
        // The angle at the joint is what the quarter turns from there to the crest.
        let turn = |e: &Element| e.beyond(bend.joins_quarter_at_um) * e.length_um * e.curvature_per_um;
        path.elements.iter().map(turn).sum::<f64>() / bend.turn_rad
    })
}

/// Largest curvature of the stretched quarter, 1/µm.
pub(crate) fn largest_curvature(weights: &[PathWeight]) -> f64 {
    weights.iter().map(|w| w.curvature_per_um).fold(0.0, f64::max)
}
