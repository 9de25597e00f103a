//! What can be wrong with a guide or with a calculation on it.

use thiserror::Error;

/// The side of a core a statement is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CoreSide {
    /// The left side (+y), the inner one of a bend to the left.
    Left,
    /// The right side (−y).
    Right,
    /// Both sides in the wafer plane.
    Beside,
    /// Under the core (−z).
    Below,
    /// Over the core (+z).
    Above,
}

impl std::fmt::Display for CoreSide {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Left => "to the left of",
            Self::Right => "to the right of",
            Self::Beside => "beside",
            Self::Below => "below",
            Self::Above => "above",
        })
    }
}

/// The dimension of a core a statement is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CoreDimension {
    /// In the wafer plane, across the guide.
    Width,
    /// Out of the wafer plane.
    Height,
}

impl std::fmt::Display for CoreDimension {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Width => "width",
            Self::Height => "height",
        })
    }
}

/// Everything that can go wrong in this crate.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum LightError {
    /// The vacuum wavelength is outside the range in which a guide of this kind makes sense.
    #[error("wavelength of {wavelength_um} µm is outside 0.2 to 20 µm{}", wavelength_hint(*.wavelength_um))]
    Wavelength {
        /// The value given, µm.
        wavelength_um: f64,
    },
    /// A length is not a positive finite number.
    #[error("{what} of {value_um} µm is not a positive length")]
    Length {
        /// Which length.
        what: &'static str,
        /// The value given, µm.
        value_um: f64,
    },
    /// A refractive index is not a finite number between 1 and 10.
    #[error("refractive index of {value} ({what}) is outside 1 to 10")]
    Index {
        /// Which index.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// A number that is neither a length nor an index is outside its range.
    #[error("{what} of {value} is outside {least} to {greatest}")]
    Number {
        /// Which number, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
        /// The least allowed value.
        least: f64,
        /// The greatest allowed value.
        greatest: f64,
    },
    /// The core does not have the highest index, so it cannot guide.
    #[error("core index of {n_core} is not above the index of {n_cladding} {side} the core")]
    CoreBelowCladding {
        /// Index of the core.
        n_core: f64,
        /// The index that is as high or higher.
        n_cladding: f64,
        /// Where that index is.
        side: CoreSide,
    },
    /// The core is too thin or too narrow to guide any mode.
    #[error(
        "no guided mode in the core: its {dimension} of {size_um} µm is below the cutoff of {cutoff_um:.4} µm"
    )]
    NoGuidedMode {
        /// The dimension that is too small.
        dimension: CoreDimension,
        /// Its value, µm.
        size_um: f64,
        /// The least value that guides one mode, µm.
        cutoff_um: f64,
    },
    /// A mode was asked for that the straight guide does not have.
    #[error("mode {mode} is not guided: the straight core guides {guided} mode(s), counted from 0")]
    ModeNotGuided {
        /// The mode asked for, 0 first.
        mode: usize,
        /// How many modes are guided.
        guided: usize,
    },
    /// The mode's effective index is below that of a layer next to the core: it leaks even on a straight.
    #[error(
        "effective index of {n_eff:.5} is not above the index of {n_layer} {side} the core: the light leaks"
    )]
    Leaks {
        /// Effective index of the mode.
        n_eff: f64,
        /// Index of the layer it leaks into.
        n_layer: f64,
        /// Where that layer is.
        side: CoreSide,
    },
    /// The bend radius is too small for the model.
    #[error("bend radius of {radius_um} µm is too small: at least {least_um:.4} µm is needed")]
    Radius {
        /// The radius given, to the middle of the core, µm.
        radius_um: f64,
        /// The least radius the model accepts, µm.
        least_um: f64,
    },
    /// In this bend the core no longer holds the mode.
    #[error("at a bend radius of {radius_um} µm the core no longer holds mode {mode}")]
    Unbound {
        /// The radius, to the middle of the core, µm.
        radius_um: f64,
        /// The mode, 0 first.
        mode: usize,
    },
    /// The iteration for a bent mode did not settle.
    #[error(
        "bent mode at a radius of {radius_um} µm did not converge: relative change {residual:.1e} after {iterations} iterations"
    )]
    NotConverged {
        /// The radius, to the middle of the core, µm.
        radius_um: f64,
        /// Iterations done.
        iterations: usize,
        /// Last relative change of the eigenvalue or of its imaginary part, whichever is larger.
        residual: f64,
    },
    /// A layer below or above has a higher index than the sides: bends radiate into it, out of the plane, which
    /// the lateral slab does not contain.
    #[error(
        "the index of {n_layer} {side} the core exceeds the {n_side:.5} beside it: bends radiate out of the plane, which the lateral slab cannot show"
    )]
    RadiatesOutOfPlane {
        /// The index of that layer.
        n_layer: f64,
        /// Where that layer is.
        side: CoreSide,
        /// Index of the lateral slab's sides.
        n_side: f64,
    },
    /// Two slices that belong together differ in length.
    #[error("{lengths} lengths were given for {curvatures} curvatures")]
    SliceLength {
        /// Number of lengths.
        lengths: usize,
        /// Number of curvatures or results.
        curvatures: usize,
    },
    /// A value in a list is not a finite number (or a negative length).
    #[error("{what} number {position} is {value}")]
    Entry {
        /// Which list.
        what: &'static str,
        /// Place in the list, 0 first.
        position: usize,
        /// The value found.
        value: f64,
    },
}

fn wavelength_hint(wavelength_um: f64) -> &'static str {
    if wavelength_um > GREATEST_WAVELENGTH_UM {
        " (entered in nm?)"
    } else if wavelength_um > 0.0 {
        " (entered in another unit?)"
    } else {
        ""
    }
}

/// Least vacuum wavelength accepted, µm.
pub const LEAST_WAVELENGTH_UM: f64 = 0.2;
/// Greatest vacuum wavelength accepted, µm.
pub const GREATEST_WAVELENGTH_UM: f64 = 20.0;

/// Refuses wavelengths that were most likely entered in another unit.
///
/// # Errors
/// [`LightError::Wavelength`] outside 0.2 to 20 µm or when not a number.
pub fn check_wavelength(wavelength_um: f64) -> Result<(), LightError> {
    if (LEAST_WAVELENGTH_UM..=GREATEST_WAVELENGTH_UM).contains(&wavelength_um) {
        Ok(())
    } else {
        Err(LightError::Wavelength { wavelength_um })
    }
}

/// Greatest refractive index accepted; above it the number is surely something else.
const GREATEST_INDEX: f64 = 10.0;

pub(crate) fn check_index(what: &'static str, value: f64) -> Result<(), LightError> {
    if (1.0..=GREATEST_INDEX).contains(&value) { Ok(()) } else { Err(LightError::Index { what, value }) }
}

pub(crate) fn check_length(what: &'static str, value_um: f64) -> Result<(), LightError> {
    if value_um > 0.0 && value_um.is_finite() { Ok(()) } else { Err(LightError::Length { what, value_um }) }
}

pub(crate) fn check_core(n_core: f64, n_cladding: f64, side: CoreSide) -> Result<(), LightError> {
    if n_core > n_cladding { Ok(()) } else { Err(LightError::CoreBelowCladding { n_core, n_cladding, side }) }
}
