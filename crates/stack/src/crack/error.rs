//! Why a crack or a wrinkle cannot be judged.

use std::fmt;

/// A value that cracking or wrinkling checks, as errors name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CrackField {
    /// Young's modulus.
    Modulus,
    /// Poisson's ratio.
    Poisson,
    /// Thickness of a film, ply or buffer.
    Thickness,
    /// Stress of a film.
    Stress,
    /// Fracture toughness of a film.
    Toughness,
    /// Mismatch of film and base.
    Alpha,
    /// Stretch stiffness per width.
    StretchStiffness,
    /// Bending stiffness per width.
    BendingStiffness,
}

impl CrackField {
    /// The unit of its values; empty for plain numbers.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Modulus | Self::Stress => "MPa",
            Self::Poisson | Self::Alpha => "",
            Self::Thickness => "µm",
            Self::Toughness => "MPa√m",
            Self::StretchStiffness => "µN/µm",
            Self::BendingStiffness => "µN·µm",
        }
    }

    /// Limits of the allowed range, in the field's unit; infinite where open. Only those of the mismatch are themselves
    /// allowed.
    pub fn range(self) -> (f64, f64) {
        match self {
            Self::Poisson => (-1.0, 0.5),
            Self::Alpha => super::CRACK_FACTOR_ALPHA,
            Self::Stress => (f64::NEG_INFINITY, f64::INFINITY),
            _ => (0.0, f64::INFINITY),
        }
    }

    fn text(self, value: f64) -> String {
        let unit = self.unit();
        if unit.is_empty() { format!("{value}") } else { format!("{value} {unit}") }
    }

    fn demand(self) -> &'static str {
        match self {
            Self::Poisson => "it must be above -1 and below 0.5",
            Self::Alpha => "crack factors are known from -0.99 to 0.99",
            Self::Stress => "it must be a finite number",
            _ => "it must be above 0 and finite",
        }
    }
}

impl fmt::Display for CrackField {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Modulus => "modulus",
            Self::Poisson => "Poisson's ratio",
            Self::Thickness => "thickness",
            Self::Stress => "film stress",
            Self::Toughness => "fracture toughness",
            Self::Alpha => "mismatch of film and base",
            Self::StretchStiffness => "stretch stiffness per width",
            Self::BendingStiffness => "bending stiffness per width",
        })
    }
}

/// What is wrong with the values of a crack or a wrinkle.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CrackError {
    /// A value is outside its range; see [`CrackField::range`].
    #[error("{field} of {} is not allowed; {}", field.text(*value), field.demand())]
    OutOfRange {
        /// Which value.
        field: CrackField,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// A bonded stack without a ply.
    #[error("the stack has no ply; at least one is needed")]
    NoPlies,
    /// The values are so large or small that a result leaves the range of numbers.
    #[error("{quantity} comes out as {value}, outside the range of numbers; check the units")]
    OutOfNumbers {
        /// Name of the result.
        quantity: &'static str,
        /// What it came out as.
        value: f64,
    },
}

impl CrackError {
    /// Fails unless `value` is finite and above zero.
    pub(super) fn positive(field: CrackField, value: f64) -> Result<f64, Self> {
        if value.is_finite() && value > 0.0 { Ok(value) } else { Err(Self::OutOfRange { field, value }) }
    }

    /// Fails unless the result is finite and above zero.
    pub(super) fn result(quantity: &'static str, value: f64) -> Result<f64, Self> {
        if value.is_finite() && value > 0.0 { Ok(value) } else { Err(Self::OutOfNumbers { quantity, value }) }
    }
}
