//! A solved ribbon, whichever model solved it.

use super::strain::SectionPeaks;
use super::{bonded, buckled, flat};
use crate::checked::Checked;
use crate::form::RibbonForm;
use ogee_geometry::Centreline;
use ogee_mechanics::{BondedRibbonSolution, RibbonSolution, SpatialSolution};

/// A ribbon solved at one stretch.
#[derive(Clone, Debug)]
pub(crate) enum Solved {
    Flat(Box<RibbonSolution>),
    Buckled(Box<SpatialSolution>),
    Bonded(Box<BondedRibbonSolution>),
}

impl Solved {
    /// Strain in the section and its layers.
    pub(crate) fn peaks(&self, checked: &Checked) -> Result<SectionPeaks, String> {
        match self {
            Self::Flat(solution) => flat::peaks(checked, solution),
            Self::Buckled(solution) => buckled::peaks(checked, solution),
            Self::Bonded(solution) => bonded::peaks(checked, solution),
        }
    }

    /// Its form, without loss.
    pub(crate) fn form(&self, line: &Centreline, stretch: f64, points_per_segment: usize) -> RibbonForm {
        match self {
            Self::Flat(solution) => flat::form(solution, stretch, points_per_segment),
            Self::Buckled(solution) => buckled::form(line, solution, stretch, points_per_segment),
            Self::Bonded(solution) => bonded::form(solution, stretch, points_per_segment),
        }
    }

    /// Force along the span on the far island, µN.
    pub(crate) fn force_un(&self) -> f64 {
        match self {
            Self::Flat(solution) => solution.force_un[0],
            Self::Buckled(solution) => solution.force_un[0],
            Self::Bonded(solution) => solution.end_force_ei_per_p2[0] * solution.force_unit_un(),
        }
    }

    /// Estimated relative error and iterations.
    pub(crate) fn effort(&self) -> (f64, u32) {
        match self {
            Self::Flat(solution) => (solution.error_estimate, solution.iterations),
            Self::Buckled(solution) => (solution.mesh_indicator, solution.iterations),
            Self::Bonded(solution) => (solution.error_estimate, solution.iterations),
        }
    }
}
