//! From a value to text that the parser reads back.

use super::Unit;

/// Outside these decades a number is shown with an exponent.
const PLAIN_DECADES: std::ops::Range<i32> = -5..15;

/// What stands for a value that is infinite or undefined; the parser refuses it.
const NO_VALUE: &str = "—";

/// `value` with `digits` significant digits, no needless zeros, and its unit: `0.35 µm`, `45°`, `1.5 %`.
///
/// Digits in front of the decimal point are never rounded away: 12 345.67 with four digits is `12346`.
///
/// * `value`: in `unit`. `unit`: the field's unit. `digits`: significant digits, 1 to 17 (others are moved into that
///   range).
///
/// [`parse_quantity`](super::parse_quantity) returns the value to the digits shown. An infinite or undefined value
/// gives `—`. For text that is edited use [`format_quantity_exact`]: rounded text would change the value.
///
/// ```
/// use ogee_design::{Unit, format_quantity};
/// assert_eq!(format_quantity(1.0 / 3.0, Unit::MICROMETRE, 4), "0.3333 µm");
/// assert_eq!(format_quantity(45.0, Unit::DEGREE, 4), "45°");
/// ```
pub fn format_quantity(value: f64, unit: Unit, digits: usize) -> String {
    if !value.is_finite() {
        return NO_VALUE.to_owned();
    }
    with_unit(rounded(value, digits.clamp(1, 17)), unit)
}

/// `value` with as many digits as it takes to read the very same number back, and its unit.
///
/// * `value`: in `unit`; an infinite or undefined value gives `—`.
///
/// ```
/// use ogee_design::{Unit, format_quantity_exact};
/// assert_eq!(format_quantity_exact(0.1 + 0.2, Unit::MICROMETRE), "0.30000000000000004 µm");
/// ```
pub fn format_quantity_exact(value: f64, unit: Unit) -> String {
    if !value.is_finite() {
        return NO_VALUE.to_owned();
    }
    if value == 0.0 {
        return with_unit("0".to_owned(), unit);
    }
    let scientific = format!("{value:e}");
    let number = if PLAIN_DECADES.contains(&decade(&scientific)) { format!("{value}") } else { scientific };
    with_unit(number, unit)
}

fn with_unit(number: String, unit: Unit) -> String {
    match unit.symbol() {
        "" => number,
        // The degree sign is the one unit that joins its number.
        "°" => number + "°",
        symbol => format!("{number} {symbol}"),
    }
}

/// `value` with `digits` significant digits and no needless zeros.
fn rounded(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    // Rounding may carry into the next decade (9.996 to 10.0), so the decade is read from the rounded text.
    let scientific = format!("{value:.*e}", digits - 1);
    let decade = decade(&scientific);
    if !PLAIN_DECADES.contains(&decade) {
        let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
        return format!("{}e{exponent}", without_zeros(mantissa));
    }
    let places = (digits - 1).saturating_add_signed(-(decade as isize));
    without_zeros(&format!("{value:.places$}")).to_owned()
}

/// The exponent of a text such as `1.2e-3`.
fn decade(scientific: &str) -> i32 {
    scientific
        .split_once('e')
        .and_then(|(_, exponent)| exponent.parse().ok())
        .expect("the e format always ends in an integer exponent")
}

/// Without zeros at the end of a fraction.
fn without_zeros(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}
