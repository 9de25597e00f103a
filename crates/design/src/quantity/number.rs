//! The number in front of a unit, kept as text until the decimal point is where the field's unit wants it.

use super::QuantityError;

/// A decimal number in plain ASCII: what `str::parse` takes, without the exponent.
pub(super) struct Decimal {
    mantissa: String,
    exponent: i64,
    is_zero: bool,
}

/// Beyond this any exponent is out of range, however long the mantissa of a sane text is.
const EXPONENT_LIMIT: i64 = 1_000_000;

impl Decimal {
    /// Splits `text` (trimmed) into the number at its beginning and the rest.
    pub(super) fn split(text: &str) -> Result<(Self, &str), QuantityError> {
        let (sign, unsigned) = split_sign(text);
        let digits_len = digits_len(unsigned);
        let (digits, mut rest) = unsigned.split_at(digits_len);
        if !digits.contains(|c: char| c.is_ascii_digit()) {
            return Err(QuantityError::NotANumber { text: text.to_owned() });
        }
        let mut exponent = 0;
        if let Some((value, len)) = exponent_at(rest) {
            exponent = value;
            rest = &rest[len..];
        }
        let rest = rest.trim_start();
        // What is left must be a unit: a second number means that a space split the first.
        if rest.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',')) && !rest.starts_with("1/")
        {
            return Err(QuantityError::SpaceInNumber { text: text.to_owned() });
        }
        let mantissa = format!("{sign}{}", plain_digits(digits)?);
        let is_zero = !digits.contains(|c: char| ('1'..='9').contains(&c));
        Ok((Self { mantissa, exponent, is_zero }, rest))
    }

    /// The number times `10^shift`, rounded once.
    ///
    /// `text` is what errors quote.
    pub(super) fn value(&self, shift: i32, text: &str) -> Result<f64, QuantityError> {
        if self.is_zero {
            return Ok(0.0);
        }
        let exponent = self.exponent + i64::from(shift);
        // Built from digits, at most one dot and an exponent, so it always parses.
        let value: f64 = format!("{}e{exponent}", self.mantissa)
            .parse()
            .map_err(|_| QuantityError::NotANumber { text: text.to_owned() })?;
        if !value.is_finite() {
            return Err(QuantityError::TooLarge { text: text.to_owned() });
        }
        if value == 0.0 {
            return Err(QuantityError::TooSmall { text: text.to_owned() });
        }
        Ok(value)
    }
}

/// The sign as `str::parse` reads it, and what follows it.
fn split_sign(text: &str) -> (&'static str, &str) {
    let mut chars = text.chars();
    match chars.next() {
        Some('-' | '\u{2212}') => ("-", chars.as_str().trim_start()),
        Some('+') => ("", chars.as_str().trim_start()),
        _ => ("", text),
    }
}

/// Whether a typesetter puts this space between groups of digits: thin and no-break spaces.
fn is_group_space(c: char) -> bool {
    matches!(c, '\u{a0}' | '\u{2009}' | '\u{202f}')
}

/// Length in bytes of the digits, decimal signs and group spaces between digits at the beginning of `text`.
fn digits_len(text: &str) -> usize {
    let mut len = 0;
    for (at, c) in text.char_indices() {
        match c {
            '0'..='9' | '.' | ',' => len = at + c.len_utf8(),
            // Counted only if a digit follows; a space before the unit is not part of the number.
            c if is_group_space(c) => {}
            _ => break,
        }
    }
    len
}

/// The exponent at the beginning of `text` (`e-3`), with its length in bytes. A bare `e` is left to the unit.
fn exponent_at(text: &str) -> Option<(i64, usize)> {
    let after_e = text.strip_prefix(['e', 'E'])?;
    let (sign, digits, sign_len) = match after_e.chars().next()? {
        c @ ('-' | '\u{2212}') => (-1, &after_e[c.len_utf8()..], c.len_utf8()),
        '+' => (1, &after_e[1..], 1),
        _ => (1, after_e, 0),
    };
    let len = digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len());
    if len == 0 {
        return None;
    }
    // Too many digits for an integer are out of range in any case.
    let size = digits[..len].parse().unwrap_or(EXPONENT_LIMIT).min(EXPONENT_LIMIT);
    Some((sign * size, 1 + sign_len + len))
}

/// Digits with a dot as decimal sign and no group spaces.
fn plain_digits(digits: &str) -> Result<String, QuantityError> {
    let text = || digits.to_owned();
    let (commas, dots) = (digits.matches(',').count(), digits.matches('.').count());
    if commas > 0 && dots > 0 {
        return Err(QuantityError::CommaAndDot { text: text() });
    }
    if commas + dots > 1 {
        return Err(QuantityError::SeveralDecimalSigns { text: text() });
    }
    let (whole, fraction) = digits.split_once(['.', ',']).unwrap_or((digits, ""));
    let whole_groups: Vec<&str> = whole.split(is_group_space).collect();
    let fraction_groups: Vec<&str> = fraction.split(is_group_space).collect();
    let is_short = |group: &&str| (1..=3).contains(&group.len());
    let whole_is_sound = whole_groups.len() == 1
        || (whole_groups.first().is_some_and(is_short) && whole_groups[1..].iter().all(|g| g.len() == 3));
    let fraction_is_sound = fraction_groups.len() == 1
        || (fraction_groups.last().is_some_and(is_short)
            && fraction_groups[..fraction_groups.len() - 1].iter().all(|g| g.len() == 3));
    if !(whole_is_sound && fraction_is_sound) {
        return Err(QuantityError::SpaceInNumber { text: text() });
    }
    // `str::parse` takes ".5" and "5." as they are.
    Ok(format!("{}.{}", whole_groups.concat(), fraction_groups.concat()))
}
