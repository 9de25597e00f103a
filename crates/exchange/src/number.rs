//! Numbers as files hold them: `.` as the decimal sign whatever the locale, and the same digits everywhere.

use crate::error::ExchangeError;

/// The shortest decimal digits that read back as exactly `value`.
pub(crate) fn shortest(value: f64) -> String {
    // Debug switches to an exponent where plain digits would only be zeros.
    let text = format!("{:?}", if value == 0.0 { 0.0 } else { value });
    match text.strip_suffix(".0") {
        Some(whole) => whole.to_owned(),
        None => text,
    }
}

/// Largest coordinate of a drawing, µm: one hundred metres, far from where rounding to 1 nm is lost.
const REACH_UM: f64 = 1e8;

/// `value_um` as a whole number of nanometres, half away from zero.
pub(crate) fn nanometres(value_um: f64) -> Result<i64, ExchangeError> {
    if value_um.is_nan() || value_um.abs() > REACH_UM {
        return Err(ExchangeError::OutOfReach { value_um, reach_um: REACH_UM });
    }
    Ok((value_um * 1e3).round() as i64)
}

/// A whole number of nanometres as millimetres with six fixed decimals, without any rounding.
pub(crate) fn millimetres(nm: i64) -> String {
    let sign = if nm < 0 { "-" } else { "" };
    let size = nm.unsigned_abs();
    format!("{sign}{}.{:06}", size / 1_000_000, size % 1_000_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shortest_digits_read_back_exactly() {
        for value in [0.1, 1.0 / 3.0, 1200.0, -5e-324, 1e300, 6.123e-17, f64::MAX, -0.0] {
            assert_eq!(shortest(value).parse::<f64>().unwrap(), value);
        }
        assert_eq!(shortest(1200.0), "1200");
        assert_eq!(shortest(-0.0), "0");
        assert_eq!(shortest(0.25), "0.25");
    }

    #[test]
    fn millimetres_have_six_decimals() {
        assert_eq!(millimetres(nanometres(1234.5674).unwrap()), "1.234567");
        assert_eq!(millimetres(nanometres(-0.0005).unwrap()), "-0.000001");
        assert_eq!(millimetres(nanometres(-0.0004).unwrap()), "0.000000");
        assert_eq!(millimetres(-12_000_001), "-12.000001");
        assert!(nanometres(f64::NAN).is_err());
        assert!(nanometres(2e8).is_err());
    }
}
