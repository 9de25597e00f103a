//! Numbers as people read them.

/// `value` with four significant digits and no needless zeros.
///
/// ```
/// assert_eq!(ogee_design::number_text(0.123456), "0.1235");
/// assert_eq!(ogee_design::number_text(1204.6), "1205");
/// ```
pub fn number(value: f64) -> String {
    digits(value, 4)
}

/// `value` with `significant` digits and no needless zeros; exponents outside 1e-4 … 1e7.
pub fn digits(value: f64, significant: usize) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if !value.is_finite() {
        return if value > 0.0 { "∞".to_owned() } else { "none".to_owned() };
    }
    let magnitude = value.abs().log10().floor() as i32;
    let significant = i32::try_from(significant.clamp(1, 17)).unwrap_or(17);
    if !(-4..7).contains(&magnitude) {
        return format!("{:.*e}", (significant - 1) as usize, value);
    }
    let places = (significant - 1 - magnitude).max(0) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_significant_and_trimmed() {
        assert_eq!(number(0.8), "0.8");
        assert_eq!(number(412.0), "412");
        assert_eq!(number(0.000_123_45), "0.0001234");
        assert_eq!(number(123_456.7), "123457");
        assert_eq!(number(1.5e9), "1.500e9");
        assert_eq!(number(-0.25), "-0.25");
        assert_eq!(digits(2.0 / 3.0, 2), "0.67");
    }
}
