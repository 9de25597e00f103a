//! Why a bonded ribbon has no answer.

use thiserror::Error;

/// Why a bonded ribbon or its foundation has no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum BondedError {
    /// A number is not finite or outside its range.
    #[error("{field} of {value} {unit} is not between {least} and {greatest}")]
    OutOfRange {
        /// Which one.
        field: &'static str,
        /// The value given, in `unit`.
        value: f64,
        /// Unit of the values, or "(dimensionless)".
        unit: &'static str,
        /// Least possible value.
        least: f64,
        /// Greatest possible value.
        greatest: f64,
    },
    /// The inner edge of a bend lies beyond the centre of its curvature.
    #[error(
        "bend radius {radius_um} µm is not above half the width of {width_um} µm; \
         more than {} µm is needed", 0.5 * .width_um
    )]
    WiderThanBend {
        /// Least bend radius of the centreline at rest, in µm.
        radius_um: f64,
        /// Width of the ribbon or layer, in µm.
        width_um: f64,
    },
    /// The iteration did not settle, even by small steps from the rest state.
    #[error(
        "no equilibrium on the foundation found at a stretch of {stretch}: relative correction {residual:.1e} after \
         {iterations} iterations; the last stretch reached is {reached}"
    )]
    NotConverged {
        /// The stretch asked for, dimensionless.
        stretch: f64,
        /// The last stretch with an equilibrium on the way from rest, dimensionless.
        reached: f64,
        /// Largest relative correction of the last Newton step.
        residual: f64,
        /// Newton steps in all.
        iterations: u32,
    },
    /// The finest mesh is still too coarse for the accuracy asked for.
    #[error(
        "peak strain on the foundation is only known to {error_estimate:.1e} on {elements} elements, \
         {tolerance:.1e} is asked for"
    )]
    NotAccurate {
        /// Estimated relative error of the peak strain.
        error_estimate: f64,
        /// The relative error asked for.
        tolerance: f64,
        /// Elements in all.
        elements: usize,
    },
}

/// Refuses what is not finite or outside `range`, which includes its ends.
pub(crate) fn check_range(
    field: &'static str,
    unit: &'static str,
    value: f64,
    range: [f64; 2],
) -> Result<(), BondedError> {
    let [least, greatest] = range;
    if value >= least && value <= greatest {
        Ok(())
    } else {
        Err(BondedError::OutOfRange { field, value, unit, least, greatest })
    }
}
