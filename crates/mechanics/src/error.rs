//! What can go wrong.

use thiserror::Error;

/// Why a set of strips is no section of a ribbon.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum StripsError {
    /// A width is not a positive finite number.
    #[error("strip width of {width_um} µm is not above zero")]
    BadWidth {
        /// The width, in µm.
        width_um: f64,
    },
    /// A stiffness is not a finite number.
    #[error("strip stiffness of {stiffness_un_per_um} µN/µm is not a finite number")]
    BadStiffness {
        /// The stiffness E·t, in µN/µm.
        stiffness_un_per_um: f64,
    },
    /// More strips than fit.
    #[error("{count} strips of different width are more than {limit}")]
    TooMany {
        /// How many were given.
        count: usize,
        /// How many are possible.
        limit: usize,
    },
    /// The strips together resist stretching or bending with no or a negative stiffness.
    #[error("section has EA = {ea_un} µN and EI = {ei_un_um2} µN·µm²; both must be above zero")]
    NotStiff {
        /// Stiffness against stretching, in µN.
        ea_un: f64,
        /// Stiffness against bending in the plane, in µN·µm².
        ei_un_um2: f64,
    },
}

/// Why a cell has no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum CellError {
    /// The inner edge of the bend lies beyond the centre of its curvature.
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
    /// The stretch is not a finite number above −1.
    #[error("stretch of {stretch} is not a finite number above -1")]
    BadStretch {
        /// The stretch asked for, dimensionless.
        stretch: f64,
    },
    /// The iteration did not settle, even by small steps from the rest state.
    #[error(
        "no equilibrium found at a stretch of {stretch}: relative correction {residual:.1e} after {iterations} \
         iterations; the last stretch reached is {reached}"
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
        "peak strain is only known to {error_estimate:.1e} on {elements} elements, {tolerance:.1e} is asked for"
    )]
    NotAccurate {
        /// Estimated relative error of the peak strain.
        error_estimate: f64,
        /// The relative error asked for.
        tolerance: f64,
        /// Elements of the quarter.
        elements: usize,
    },
}

/// Why a beam has no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum BeamError {
    /// There is no piece or no element.
    #[error("beam has no pieces or no elements")]
    Empty,
    /// A piece is no piece of a beam.
    #[error("beam piece of length {length_um} µm has no positive length or a number that is not finite")]
    BadPiece {
        /// Length of the piece, in µm.
        length_um: f64,
    },
    /// The inner edge of a bend lies beyond the centre of its curvature.
    #[error(
        "bend radius {radius_um} µm is not above half the width of {width_um} µm; \
         more than {} µm is needed", 0.5 * .width_um
    )]
    WiderThanBend {
        /// Least bend radius at rest, in µm.
        radius_um: f64,
        /// Width of the section, in µm.
        width_um: f64,
    },
    /// A load or a place is not finite.
    #[error("load or place of the beam's end is not a finite number")]
    BadLoad,
    /// The point load does not lie between two pieces.
    #[error("point load after {after_pieces} of {pieces} pieces does not lie between two of them")]
    BadPoint {
        /// Pieces before the load.
        after_pieces: usize,
        /// Pieces of the beam.
        pieces: usize,
    },
    /// The iteration did not settle, even by small steps of the load.
    #[error(
        "no equilibrium of the beam found: relative correction {residual:.1e} after {iterations} iterations, \
         {reached} of the way to the load"
    )]
    NotConverged {
        /// Share of the way to the load with an equilibrium.
        reached: f64,
        /// Largest relative correction of the last Newton step.
        residual: f64,
        /// Newton steps in all.
        iterations: u32,
    },
}
