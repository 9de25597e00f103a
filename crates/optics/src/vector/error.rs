//! What can be wrong with a vector mode.

use crate::error::LightError;

/// Why there is no vector mode.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum VectorError {
    /// The section or a number in it makes no sense.
    #[error(transparent)]
    Light(#[from] LightError),
    /// No mode of this polarisation is above the claddings.
    #[error(
        "no guided mode: an effective index of {n_eff:.6} is not above the {n_cladding:.6} of the claddings"
    )]
    NotGuided {
        /// The highest effective index found.
        n_eff: f64,
        /// Highest index that light escapes into.
        n_cladding: f64,
    },
    /// The inverse iteration did not settle.
    #[error("the mode did not converge: relative change {residual:.1e} after {iterations} iterations")]
    NotConverged {
        /// Iterations done.
        iterations: usize,
        /// Last relative change.
        residual: f64,
    },
    /// The bend loses too little to be told from rounding.
    #[error(
        "at a bend radius of {radius_um} µm the loss is below {least_db:e} dB per 90°: extend it by the tunnelling formula"
    )]
    LossTooSmall {
        /// The radius, µm.
        radius_um: f64,
        /// The least loss that is solved for, dB per 90°.
        least_db: f64,
    },
}
