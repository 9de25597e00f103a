//! What can go wrong with a whole ribbon.

use thiserror::Error;

/// Why a whole ribbon has no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum RibbonError {
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
    /// A number of the motion is not finite.
    #[error(
        "motion of the far island by {stretch} in x, {sideways_um} µm in y and {turn_rad} rad is not finite"
    )]
    BadMotion {
        /// Stretch, dimensionless.
        stretch: f64,
        /// Move across the span, in µm.
        sideways_um: f64,
        /// Turn, in radians.
        turn_rad: f64,
    },
    /// The islands would meet or pass each other.
    #[error("stretch of {stretch} leaves {distance_um} µm between the islands; it must be above -1")]
    IslandsMeet {
        /// Stretch, dimensionless.
        stretch: f64,
        /// Distance left along x, in µm.
        distance_um: f64,
    },
    /// The far island is moved across the span by more than the ribbon reaches.
    #[error("sideways move of {sideways_um} µm is beyond the limit of {limit_um} µm, ten contour lengths")]
    TooFarAside {
        /// Move across the span, in µm.
        sideways_um: f64,
        /// Most that is tried, in µm.
        limit_um: f64,
    },
    /// The far island is turned by more than the model follows.
    #[error("turn of {turn_rad} rad is beyond the limit of {limit_rad} rad")]
    TurnsTooFar {
        /// Turn, in radians.
        turn_rad: f64,
        /// Most that is tried, in radians.
        limit_rad: f64,
    },
    /// More periods than are solved at once.
    #[error("{periods} periods are more than the {limit} that are solved as a whole")]
    TooManyPeriods {
        /// Periods asked for.
        periods: u32,
        /// Most periods possible.
        limit: u32,
    },
    /// The iteration did not settle, even by small steps from the rest state.
    #[error(
        "no equilibrium found at a stretch of {stretch}: relative correction {residual:.1e} after {iterations} \
         iterations; {reached} of the way from rest was reached"
    )]
    NotConverged {
        /// The stretch asked for, dimensionless.
        stretch: f64,
        /// Share of the way from rest with an equilibrium.
        reached: f64,
        /// Largest relative correction of the last Newton step.
        residual: f64,
        /// Newton steps in all.
        iterations: u32,
    },
    /// The finest mesh is still too coarse for the accuracy asked for.
    #[error(
        "peak strain is only known to {error_estimate:.1e} on {elements} elements, {tolerance:.1e} is asked for"
    )]
    NotAccurate {
        /// Estimated relative error of the peak strain.
        error_estimate: f64,
        /// The relative error asked for.
        tolerance: f64,
        /// Elements of the ribbon.
        elements: usize,
    },
}
