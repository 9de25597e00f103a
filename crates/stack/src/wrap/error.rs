//! Why a wrap cannot be computed.

use crate::PlyError;

/// Why a wrap cannot be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WrapError {
    /// A ply is at fault.
    #[error(transparent)]
    Ply(#[from] PlyError),
    /// The length of the wrapped part is not a number above zero.
    #[error("wrapped length of {value_um} µm is not allowed; it must be above 0 µm and finite")]
    Length {
        /// The length given, µm.
        value_um: f64,
    },
    /// The cylinder's radius is not a number above zero.
    #[error("cylinder radius of {value_um} µm is not allowed; it must be above 0 µm and finite")]
    Radius {
        /// The radius given, µm.
        value_um: f64,
    },
    /// A curvature is infinite or not a number.
    #[error("curvature of {value_per_um} /µm is not a finite number")]
    Curvature {
        /// The curvature given, 1/µm.
        value_per_um: f64,
    },
    /// A place outside the stack.
    #[error("{axis} of {value_um} µm is outside the stack, which reaches from {from_um} to {to_um} µm")]
    Place {
        /// `x`, from the middle of the wrapped length, or `z`, from the bottom.
        axis: char,
        /// The place given, µm.
        value_um: f64,
        /// Where the stack begins, µm.
        from_um: f64,
        /// Where it ends, µm.
        to_um: f64,
    },
    /// A limit names a ply that is not there.
    #[error("there is a strain limit for ply {}; the stack has {count} plies", ply + 1)]
    NoSuchPly {
        /// The ply named, 0 at the bottom.
        ply: usize,
        /// How many there are.
        count: usize,
    },
    /// A strain limit is not a number above zero.
    #[error("strain limit of {value} for ply {} is not allowed; it must be above 0 and finite", ply + 1)]
    Limit {
        /// The ply, 0 at the bottom.
        ply: usize,
        /// The limit given, dimensionless.
        value: f64,
    },
    /// The membrane strain is infinite or not a number.
    #[error("membrane strain of {value} is not a finite number")]
    Membrane {
        /// The strain given, dimensionless.
        value: f64,
    },
    /// The modes of sliding were not found.
    #[error(
        "the modes of sliding were not found in {sweeps} sweeps; a cosine of {residual:.1e} is left between two"
    )]
    NotConverged {
        /// Largest cosine between two modes.
        residual: f64,
        /// Sweeps taken.
        sweeps: usize,
    },
    /// The values are so large, small or far apart that a result leaves the range of numbers.
    #[error("{quantity} comes out as {value}, outside the range of numbers; check the units of the plies")]
    OutOfNumbers {
        /// Name of the result.
        quantity: &'static str,
        /// What it came out as.
        value: f64,
    },
}
