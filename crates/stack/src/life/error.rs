//! Why no strength or life can be given.

use super::LifeField;

/// What is wrong with the inputs of a strength or life model.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LifeError {
    /// A value is infinite or not a number.
    #[error("{field} is {value}, not a finite number")]
    NotFinite {
        /// Which value.
        field: LifeField,
        /// The value given.
        value: f64,
    },
    /// A value is at or below a limit that it has to exceed.
    #[error("{field} is {}; it must be above {}", field.text(*value), field.text(*limit))]
    NotAbove {
        /// Which value.
        field: LifeField,
        /// The value given, in the field's unit.
        value: f64,
        /// The limit, itself not allowed.
        limit: f64,
    },
    /// A value is at or above a limit that it must not reach.
    #[error("{field} is {}; it must be below {}", field.text(*value), field.text(*limit))]
    NotBelow {
        /// Which value.
        field: LifeField,
        /// The value given, in the field's unit.
        value: f64,
        /// The limit, itself not allowed.
        limit: f64,
    },
    /// A value is below its least allowed one.
    #[error("{field} is {}; it must be at least {}", field.text(*value), field.text(*limit))]
    TooLow {
        /// Which value.
        field: LifeField,
        /// The value given, in the field's unit.
        value: f64,
        /// The least value allowed.
        limit: f64,
    },
    /// A value is above its greatest allowed one.
    #[error("{field} is {}; it must be at most {}", field.text(*value), field.text(*limit))]
    TooHigh {
        /// Which value.
        field: LifeField,
        /// The value given, in the field's unit.
        value: f64,
        /// The greatest value allowed.
        limit: f64,
    },
    /// Without the factor B of slow crack growth there is no time to fracture, only a stress ratio.
    #[error("the crack growth factor B is not given; without it no time to fracture can be given")]
    NoCrackFactor,
    /// The values are so large or small that the result leaves the range of numbers.
    #[error("{quantity} comes out as {value}, outside the range of numbers; check the units")]
    OutOfNumbers {
        /// Name of the result.
        quantity: &'static str,
        /// What it came out as.
        value: f64,
    },
    /// The number of cycles was not found.
    #[error(
        "no number of cycles found after {iterations} steps; the logarithm of the strain is still off by {residual:e}"
    )]
    NotConverged {
        /// Steps taken.
        iterations: usize,
        /// Logarithm of strain over wanted strain.
        residual: f64,
    },
}

impl LifeError {
    /// The field at fault; `None` where no single field is.
    pub fn field(&self) -> Option<LifeField> {
        match self {
            Self::NotFinite { field, .. }
            | Self::NotAbove { field, .. }
            | Self::NotBelow { field, .. }
            | Self::TooLow { field, .. }
            | Self::TooHigh { field, .. } => Some(*field),
            Self::NoCrackFactor => Some(LifeField::CrackFactor),
            Self::OutOfNumbers { .. } | Self::NotConverged { .. } => None,
        }
    }

    /// The offending value, in the field's unit.
    pub fn value(&self) -> Option<f64> {
        match self {
            Self::NotFinite { value, .. }
            | Self::NotAbove { value, .. }
            | Self::NotBelow { value, .. }
            | Self::TooLow { value, .. }
            | Self::TooHigh { value, .. }
            | Self::OutOfNumbers { value, .. } => Some(*value),
            Self::NoCrackFactor | Self::NotConverged { .. } => None,
        }
    }
}

/// The result itself, where it is a number.
pub(super) fn in_numbers(quantity: &'static str, value: f64) -> Result<f64, LifeError> {
    if value.is_finite() { Ok(value) } else { Err(LifeError::OutOfNumbers { quantity, value }) }
}
