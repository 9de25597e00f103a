//! What can go wrong with a ribbon in space.

use thiserror::Error;

use crate::OutOfPlaneError;

/// Why a ribbon in space has no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum SpatialError {
    /// The section's stiffness out of the plane is impossible.
    #[error(transparent)]
    Section(#[from] OutOfPlaneError),
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
    /// The motion is not finite or the islands meet.
    #[error(
        "motion of the far island by {stretch} of the span, {sideways_um} µm across and {turn_rad} rad is not finite \
         or not above -1"
    )]
    BadMotion {
        /// Stretch, dimensionless.
        stretch: f64,
        /// Move across the span, in µm.
        sideways_um: f64,
        /// Turn, in radians.
        turn_rad: f64,
    },
    /// The rest curvature about the width is not finite or rolls the ribbon up within its width.
    #[error("curl of {curl_per_um} 1/µm is not within ±{limit_per_um} 1/µm, one over the thickness")]
    BadCurl {
        /// The curl, in 1/µm.
        curl_per_um: f64,
        /// Most that is tried, in 1/µm.
        limit_per_um: f64,
    },
    /// More periods than are solved at once.
    #[error("{periods} periods are more than the {limit} that are solved as a whole")]
    TooManyPeriods {
        /// Periods asked for.
        periods: u32,
        /// Most periods possible.
        limit: u32,
    },
    /// The state to start from belongs to a ribbon of another make.
    #[error(
        "start has {start} elements in {start_segments} stretches, the ribbon has {elements} in {segments}"
    )]
    OtherTopology {
        /// Elements of the start.
        start: usize,
        /// Smooth stretches of the start.
        start_segments: usize,
        /// Elements of the ribbon.
        elements: usize,
        /// Smooth stretches of the ribbon.
        segments: usize,
    },
    /// The iteration did not settle.
    #[error(
        "no equilibrium in space found at a stretch of {stretch}: last rotation {residual:.1e} rad after {iterations} \
         iterations; the last stretch reached is {reached}"
    )]
    NotConverged {
        /// The stretch asked for, dimensionless.
        stretch: f64,
        /// The last stretch with an equilibrium, dimensionless.
        reached: f64,
        /// Largest rotation of the last Newton step, in radians.
        residual: f64,
        /// Newton steps in all.
        iterations: u32,
    },
}
