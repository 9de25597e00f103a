//! Why a text is no value for a field.

use super::{Dimension, Unit};

/// What is wrong with a text in a field that holds a quantity.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing but spaces.
    #[error("there is no number here; {expected} is needed")]
    Empty {
        /// What the field holds.
        expected: Dimension,
    },
    /// The text does not begin with a number.
    #[error("“{text}” does not begin with a number such as 12, 0.5 or 1e-3")]
    NotANumber {
        /// The text found.
        text: String,
    },
    /// A comma and a dot in one number: either may be the decimal sign.
    #[error(
        "“{text}” has both a comma and a dot; write one decimal sign and no thousands separator, \
         as in 1200.5"
    )]
    CommaAndDot {
        /// The number found.
        text: String,
    },
    /// Several commas or several dots in one number.
    #[error("“{text}” has several decimal signs; write one at most and no thousands separator, as in 1200.5")]
    SeveralDecimalSigns {
        /// The number found.
        text: String,
    },
    /// Spaces that do not part a number into groups of three digits.
    #[error("“{text}” has a space among its digits; write it without, as in 1200.5")]
    SpaceInNumber {
        /// The number found.
        text: String,
    },
    /// The unit is not known.
    #[error("{}", unknown_unit(unit, *expected, meant))]
    UnknownUnit {
        /// The unit found.
        unit: String,
        /// What the field holds.
        expected: Dimension,
        /// Units of the field that are spelt the same but for upper and lower case.
        meant: Vec<Unit>,
    },
    /// The unit measures something else.
    #[error("“{text}” is {found}, but this field is {expected}")]
    WrongDimension {
        /// The text found.
        text: String,
        /// What it is.
        found: Dimension,
        /// What the field holds.
        expected: Dimension,
    },
    /// A count that is negative or has a fraction.
    #[error("“{text}” is not a whole number from 0 up")]
    NotWhole {
        /// The text found.
        text: String,
    },
    /// The number is beyond what a number can hold.
    #[error("“{text}” is too large a number")]
    TooLarge {
        /// The text found.
        text: String,
    },
    /// The number is not zero, but so small that it would become zero.
    #[error("“{text}” is too small a number; write 0 if zero is meant")]
    TooSmall {
        /// The text found.
        text: String,
    },
    /// The field's own unit does not measure its dimension: a fault of the program, not of the text.
    #[error("the unit “{unit}” of this field does not measure {expected}")]
    UnitOfField {
        /// The field's unit.
        unit: Unit,
        /// What the field holds.
        expected: Dimension,
    },
}

fn unknown_unit(unit: &str, expected: Dimension, meant: &[Unit]) -> String {
    if !meant.is_empty() {
        return format!(
            "“{unit}” is not a known unit; did you mean {}? Upper and lower case count",
            alternatives(meant)
        );
    }
    let known: Vec<_> = expected.units().collect();
    if known.is_empty() {
        format!("“{unit}” is not a known unit; this field is {expected} and takes none")
    } else {
        format!("“{unit}” is not a known unit; {expected} is given in {}", alternatives(&known))
    }
}

/// `nm, µm or mm`
fn alternatives(units: &[Unit]) -> String {
    let symbols: Vec<_> = units.iter().map(|unit| unit.symbol()).collect();
    match symbols.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => symbols.concat(),
    }
}
