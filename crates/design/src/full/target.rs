//! The governing model at the target stretch alone, from a neighbouring design's state: for sensitivities and maps.

use super::free::MOST_PERIODS;
use super::solved::Solved;
use super::strain::SectionPeaks;
use super::{bonded, buckled, flat};
use crate::caches::Caches;
use crate::checked::Checked;
use crate::document::SupportName;
use ogee_geometry::Centreline;
use ogee_mechanics::{OnsetProblem, RibbonState, SecondVariation, SpatialState, StateSymmetry, onset};

/// A state of a neighbouring design to start from.
#[derive(Clone, Debug)]
pub(crate) enum Start {
    Flat(Box<RibbonState>),
    Buckled(Box<SpatialState>),
    /// Bonded ribbons are solved from scratch.
    Nothing,
}

impl Start {
    pub(crate) fn of(solved: &Solved) -> Self {
        match solved {
            Solved::Flat(solution) => Self::Flat(Box::new(solution.state.clone())),
            Solved::Buckled(solution) => Self::Buckled(Box::new(solution.state.clone())),
            Solved::Bonded(_) => Self::Nothing,
        }
    }
}

/// Strain at the target stretch of `line` with the section and support of `checked`, and the state for the next one.
///
/// A buckled ribbon is followed on the branch that its neighbour is on, or else on the first one from the onset; other
/// stable states are not looked for.
///
/// # Errors
/// A sentence that says why there is no equilibrium.
pub(crate) fn strain_at_target(
    checked: &Checked,
    line: &Centreline,
    start: Option<&Start>,
    caches: &mut Caches,
) -> Result<(SectionPeaks, Start), String> {
    let target = checked.target_stretch();
    let support = &checked.design().support;
    if support.kind == SupportName::Bonded {
        let bed = bonded::Bed::of(checked, line.quarter().pitch_um())?;
        let solution = bonded::solve(checked, line, &bed, target)?;
        return Ok((bonded::peaks(checked, &solution)?, Start::Nothing));
    }
    let may_leave = support.kind == SupportName::Free && line.periods() <= MOST_PERIODS;
    let out = checked.out_of_plane();
    if may_leave && let Some(Start::Buckled(state)) = start {
        let problem = buckled::problem(checked, line, &out, target);
        if let Ok(solution) = caches.spatial.solve_at(&problem, state)
            && solution.is_stable
            && solution.symmetry != StateSymmetry::Flat
        {
            let peaks = buckled::peaks(checked, &solution)?;
            return Ok((peaks, Start::Buckled(Box::new(solution.state))));
        }
    }
    let warm = match start {
        Some(Start::Flat(state)) => Some(state.as_ref()),
        _ => None,
    };
    let planar = flat::solve_from(checked, line, target, &mut caches.ribbon, warm)?;
    let is_curled = checked.curl_per_um() != 0.0;
    let stays = !is_curled
        && SecondVariation::of(&planar, &out, 0.0, 1).map_err(|e| e.to_string())?.negative_modes() == 0;
    if may_leave && !stays {
        let up_to = flat::motion(checked, target);
        let from = OnsetProblem { line, strips: checked.strips(), out: &out, foundation_mpa: 0.0, up_to };
        if let Some(onset) = onset(&mut caches.ribbon, &from).map_err(|e| e.to_string())? {
            let problem = buckled::problem(checked, line, &out, target);
            let branch = caches.spatial.buckled(&problem, &onset, &|| true).map_err(|e| e.to_string())?;
            let solution = branch.ok_or_else(|| "the calculation was stopped".to_owned())?.solution;
            let peaks = buckled::peaks(checked, &solution)?;
            return Ok((peaks, Start::Buckled(Box::new(solution.state))));
        }
    }
    Ok((flat::peaks(checked, &planar)?, Start::Flat(Box::new(planar.state))))
}
