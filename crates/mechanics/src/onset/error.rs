//! What can go wrong with the onset of buckling.

use thiserror::Error;

use crate::{error::StripsError, out_of_plane::OutOfPlaneError, ribbon::RibbonError};

/// Why an onset of out-of-plane buckling or its modes cannot be given.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum OnsetError {
    /// The flat state has no answer.
    #[error("flat state: {0}")]
    Planar(#[from] RibbonError),
    /// The section is impossible out of the plane.
    #[error(transparent)]
    Section(#[from] OutOfPlaneError),
    /// The section is impossible in the plane.
    #[error(transparent)]
    Strips(#[from] StripsError),
    /// The foundation is not a number from 0.
    #[error("foundation of {foundation_mpa} MPa is not a finite number from zero")]
    BadFoundation {
        /// The stiffness of the foundation, in MPa.
        foundation_mpa: f64,
    },
    /// A strip has no length or no elements.
    #[error("strip of {length_um} µm on {elements} elements has no length or no elements")]
    BadStrip {
        /// Length, in µm.
        length_um: f64,
        /// Elements.
        elements: usize,
    },
    /// The end of the search is no stretch to search to.
    #[error(
        "search up to a stretch of {up_to_stretch} is not possible; it must be finite, above -1 and not 0"
    )]
    BadRange {
        /// The end of the search, dimensionless.
        up_to_stretch: f64,
    },
    /// The iteration for the modes did not settle.
    #[error("iteration for {count} modes did not settle")]
    ModesNotFound {
        /// Modes asked for.
        count: usize,
    },
    /// The onset is not found to the accuracy asked for.
    #[error(
        "onset near a stretch of {stretch} is only known to {error:.1e} after {iterations} planar states"
    )]
    NotConverged {
        /// Best stretch, dimensionless.
        stretch: f64,
        /// Relative error of it.
        error: f64,
        /// Planar states solved.
        iterations: u32,
    },
}
