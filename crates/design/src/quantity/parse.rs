//! From text to a value in a field's unit.

use super::number::Decimal;
use super::{Dimension, QuantityError, Unit};

/// 2⁵³: up to here every whole number has a double of its own.
const LARGEST_COUNT: f64 = 9_007_199_254_740_992.0;

/// Reads a quantity and converts it to the field's unit.
///
/// Text without a unit is in `field_unit`. Accepted: `350 nm`, `1.2mm`, `12`, `1e-3 m`, `45°`, `45 deg`, `0.8 rad`,
/// `1.5 %`, `3 dB/cm`, `70 GPa`; µ (U+00B5), μ (U+03BC) and u alike; no-break and thin spaces, also between groups
/// of three digits; the minus sign U+2212; a single comma as decimal sign.
///
/// * `text`: what was typed. `dimension`: what the field holds. `field_unit`: the unit of the returned value.
///
/// Returns a finite number; one that is not zero never becomes zero. A value in the field's own unit, or in one
/// that differs by a power of ten, is the double nearest to the decimal text; degrees against radians and kelvins
/// against degrees Celsius add a rounding or two.
/// # Errors
/// [`QuantityError`] says what is wrong in words for the person who typed it. Nothing is clamped: whether the value
/// lies in the field's range is for the caller to judge.
///
/// ```
/// use ogee_design::{Dimension, Unit, parse_quantity};
///
/// let pitch_um = parse_quantity("350 nm", Dimension::Length, Unit::MICROMETRE)?;
/// assert_eq!(pitch_um, 0.35);
/// let error = parse_quantity("45°", Dimension::Length, Unit::MICROMETRE).unwrap_err();
/// assert_eq!(error.to_string(), "“45°” is an angle, but this field is a length");
/// # Ok::<(), ogee_design::QuantityError>(())
/// ```
pub fn parse_quantity(text: &str, dimension: Dimension, field_unit: Unit) -> Result<f64, QuantityError> {
    if !field_unit.measures(dimension) {
        return Err(QuantityError::UnitOfField { unit: field_unit, expected: dimension });
    }
    let text = text.trim();
    if text.is_empty() {
        return Err(QuantityError::Empty { expected: dimension });
    }
    let (number, unit_text) = Decimal::split(text)?;
    let unit = if unit_text.is_empty() { field_unit } else { unit_of_field(text, unit_text, dimension)? };
    let shifted = number.value(unit.shift_to(field_unit), text)?;
    let value = unit.finish_conversion(shifted, field_unit, dimension);
    if !value.is_finite() {
        return Err(QuantityError::TooLarge { text: text.to_owned() });
    }
    // Only the zero of a temperature scale turns another number into zero.
    if value == 0.0 && shifted != 0.0 && dimension != Dimension::Temperature {
        return Err(QuantityError::TooSmall { text: text.to_owned() });
    }
    if dimension == Dimension::Count && !(value.fract() == 0.0 && (0.0..=LARGEST_COUNT).contains(&value)) {
        return Err(QuantityError::NotWhole { text: text.to_owned() });
    }
    Ok(value)
}

/// The unit named by `unit_text`, if it measures the field's dimension.
fn unit_of_field(text: &str, unit_text: &str, dimension: Dimension) -> Result<Unit, QuantityError> {
    match Unit::from_symbol(unit_text) {
        Some(unit) if unit.measures(dimension) => Ok(unit),
        Some(unit) => Err(QuantityError::WrongDimension {
            text: text.to_owned(),
            found: unit.dimension(),
            expected: dimension,
        }),
        None => Err(QuantityError::UnknownUnit {
            unit: unit_text.to_owned(),
            expected: dimension,
            meant: Unit::by_any_case(unit_text, dimension),
        }),
    }
}
