//! A solved ribbon, whichever model solved it.

use super::flat;
use super::strain::SectionPeaks;
use crate::check::Checked;
use crate::form::RibbonForm;
use ogee_mechanics::RibbonSolution;

/// A ribbon solved at one stretch.
#[derive(Clone, Debug)]
pub(crate) enum Solved {
    Flat(Box<RibbonSolution>),
}

impl Solved {
    /// Strain in the section and its layers.
    pub(crate) fn peaks(&self, checked: &Checked) -> Result<SectionPeaks, String> {
        match self {
            Self::Flat(solution) => flat::peaks(checked, solution),
        }
    }

    /// Its form, without loss.
    pub(crate) fn form(&self, stretch: f64, points_per_segment: usize) -> RibbonForm {
        match self {
            Self::Flat(solution) => flat::form(solution, stretch, points_per_segment),
        }
    }

    /// Force along the span on the far island, µN.
    pub(crate) fn force_un(&self) -> f64 {
        match self {
            Self::Flat(solution) => solution.force_un[0],
        }
    }
}
