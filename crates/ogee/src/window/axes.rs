//! Axes of the plots: from values to points on the screen, ticks at round numbers, lengths in a fitting unit.

use std::ops::RangeInclusive;

/// One axis: a range of values over a range of screen points.
///
/// Values stay `f64` up to the screen, so that long ribbons lose no digits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Axis {
    /// Value at the first screen point.
    pub(super) low: f64,
    /// Value at the last screen point.
    pub(super) high: f64,
    /// Screen coordinate of `low`.
    pub(super) from: f32,
    /// Screen coordinate of `high`.
    pub(super) to: f32,
    /// Whether decades are evenly spaced.
    pub(super) is_logarithmic: bool,
}

impl Axis {
    /// An even axis. An empty range is widened.
    pub(super) fn new(values: RangeInclusive<f64>, from: f32, to: f32) -> Self {
        let (low, high) = (*values.start(), *values.end());
        let high = if high > low { high } else { low + low.abs().max(1.0) * 1e-6 };
        Self { low, high, from, to, is_logarithmic: false }
    }

    /// The same axis with evenly spaced decades; unchanged where the range reaches zero.
    #[must_use]
    pub(super) fn logarithmic(mut self) -> Self {
        self.is_logarithmic = self.low > 0.0;
        self
    }

    /// How far along the axis `value` stands: 0 at the low end, 1 at the high end.
    pub(super) fn share(&self, value: f64) -> f64 {
        if self.is_logarithmic {
            (value.max(f64::MIN_POSITIVE) / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        }
    }

    /// Screen coordinate of `value`, kept within reach of the painter.
    pub(super) fn screen(&self, value: f64) -> f32 {
        let share = self.share(value).clamp(-1e3, 1e3);
        (f64::from(self.from) + share * f64::from(self.to - self.from)) as f32
    }

    /// The value at a screen coordinate.
    pub(super) fn value(&self, screen: f32) -> f64 {
        let share = f64::from(screen - self.from) / f64::from(self.to - self.from);
        if self.is_logarithmic {
            self.low * (self.high / self.low).powf(share)
        } else {
            self.low + share * (self.high - self.low)
        }
    }

    /// Values per screen point on an even axis, in size.
    pub(super) fn per_point(&self) -> f64 {
        ((self.high - self.low) / f64::from(self.to - self.from)).abs()
    }

    /// Ticks at round values inside the range, about one per `spacing` screen points.
    pub(super) fn ticks(&self, spacing: f32) -> Vec<f64> {
        // One more tick than gaps between them.
        let most = 1 + ((self.to - self.from).abs() / spacing.max(1.0)).max(2.0) as usize;
        if self.is_logarithmic {
            decades(self.low, self.high, most)
        } else {
            round_values(self.low, self.high, most)
        }
    }
}

/// At most `most` (at least two) evenly spaced round values from `low` to `high`, both included where round.
pub(super) fn round_values(low: f64, high: f64, most: usize) -> Vec<f64> {
    let step = round_step(low, high, most);
    if step <= 0.0 {
        return Vec::new();
    }
    let slack = 1e-9 * (high - low);
    let (first, last) = (((low - slack) / step).ceil(), ((high + slack) / step).floor());
    if !(last - first).is_finite() || last - first > 1e4 {
        return Vec::new();
    }
    (0..=(last - first) as i64).map(|i| (first + i as f64) * step + 0.0).collect()
}

/// The least step of 1, 2 or 5 times a power of ten that divides `low`…`high` into less than `most` parts.
pub(super) fn round_step(low: f64, high: f64, most: usize) -> f64 {
    let raw = (high - low) / most.saturating_sub(1).max(1) as f64;
    if !(raw.is_finite() && raw > 0.0) {
        return 0.0;
    }
    let magnitude = 10f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * magnitude)
        .find(|s| *s >= raw * (1.0 - 1e-9))
        .unwrap_or(10.0 * magnitude)
}

/// Powers of ten from `low` to `high`, thinned to `most`; with 2 and 5 between where there is room.
pub(super) fn decades(low: f64, high: f64, most: usize) -> Vec<f64> {
    if !(low > 0.0 && high > low && high.is_finite()) {
        return Vec::new();
    }
    let (first, last) = ((low.log10() - 1e-9).ceil() as i32, (high.log10() + 1e-9).floor() as i32);
    let count = (last - first + 1).max(0) as usize;
    if count < 2 || 3 * count <= most {
        let fine: Vec<f64> = (first - 1..=last)
            .flat_map(|d| [1.0, 2.0, 5.0].map(|m| m * 10f64.powi(d)))
            .filter(|v| *v >= low * (1.0 - 1e-9) && *v <= high * (1.0 + 1e-9))
            .collect();
        return if fine.len() < 2 { round_values(low, high, most) } else { fine };
    }
    let every = i64::try_from(count.div_ceil(most.max(1))).unwrap_or(i64::MAX);
    (first..=last).filter(|d| i64::from(*d).rem_euclid(every) == 0).map(|d| 10f64.powi(d)).collect()
}

/// A tick's value as text, with the digits that its neighbours at `step` need.
pub(super) fn tick_text(value: f64, step: f64) -> String {
    let size = value.abs().max(step.abs());
    if value == 0.0 {
        return "0".to_owned();
    }
    if size >= 1e6 || (size < 1e-3 && step < 1e-3) {
        return power_text(value);
    }
    let places = if step > 0.0 { (-(step.log10() + 1e-9).floor()).clamp(0.0, 6.0) as usize } else { 0 };
    let text = format!("{value:.places$}");
    text.replace('-', "−")
}

/// `value` in powers of ten as people write them: 10⁻³, 2·10⁻³.
pub(super) fn power_text(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return ogee_design::number_text(value);
    }
    let sign = if value < 0.0 { "−" } else { "" };
    let mut exponent = value.abs().log10().floor() as i32;
    let mut lead = value.abs() / 10f64.powi(exponent);
    if lead > 9.995 {
        lead /= 10.0;
        exponent += 1;
    }
    let power: String = exponent
        .to_string()
        .chars()
        .map(|c| match c {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '4' => '⁴',
            '5' => '⁵',
            '6' => '⁶',
            '7' => '⁷',
            '8' => '⁸',
            '9' => '⁹',
            _ => '⁰',
        })
        .collect();
    if (lead - 1.0).abs() < 5e-3 {
        format!("{sign}10{power}")
    } else {
        format!("{sign}{}·10{power}", ogee_design::number_text((lead * 100.0).round() / 100.0))
    }
}

/// A logarithmic tick as text: plain from 0.01 to 9,999, else a power of ten.
pub(super) fn decade_text(value: f64) -> String {
    if (0.0099..1e4).contains(&value) { ogee_design::number_text(value) } else { power_text(value) }
}

/// A unit of length for the screen and how many µm it has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LengthUnit {
    /// Its sign.
    pub(super) text: &'static str,
    /// µm in one of it.
    pub(super) um: f64,
}

impl LengthUnit {
    /// The unit in which lengths up to `greatest_um` read well.
    pub(super) fn fitting(greatest_um: f64) -> Self {
        match greatest_um.abs() {
            l if l >= 2e6 => Self { text: "m", um: 1e6 },
            l if l >= 2e3 => Self { text: "mm", um: 1e3 },
            l if l >= 0.5 => Self { text: "µm", um: 1.0 },
            _ => Self { text: "nm", um: 1e-3 },
        }
    }

    /// `length_um` in this unit.
    pub(super) fn of(self, length_um: f64) -> f64 {
        length_um / self.um
    }
}

/// A length with four digits in a fitting unit: `412 µm`, `2.91 mm`.
pub(super) fn length_text(length_um: f64) -> String {
    let unit = LengthUnit::fitting(length_um);
    format!("{} {}", number(unit.of(length_um)), unit.text)
}

/// A number with four digits and a proper minus sign.
pub(super) fn number(value: f64) -> String {
    ogee_design::number_text(value).replace('-', "−")
}

/// The next value of 1, 1.5, 2, 3, 4, 5, 6, 8 times a power of ten; 0 for what is not positive.
pub(super) fn round_up(value: f64) -> f64 {
    if value <= 1e-12 {
        return 0.0;
    }
    let power = 10f64.powf(value.log10().floor());
    let lead = value / power;
    let steps = [1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];
    steps.into_iter().find(|s| *s >= lead * (1.0 - 1e-9)).unwrap_or(10.0) * power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn screen_and_value_are_inverse_on_both_kinds_of_axis() {
        for axis in
            [Axis::new(400.0..=1400.0, 50.0, 350.0), Axis::new(0.01..=100.0, 300.0, 20.0).logarithmic()]
        {
            for share in [0.0, 0.25, 1.0] {
                let at = axis.from + share * (axis.to - axis.from);
                assert!((axis.screen(axis.value(at)) - at).abs() < 1e-3);
            }
        }
        assert!(!Axis::new(0.0..=1.0, 0.0, 1.0).logarithmic().is_logarithmic);
        let empty = Axis::new(5.0..=5.0, 0.0, 100.0);
        assert!(empty.screen(5.0).is_finite() && empty.value(50.0).is_finite());
    }

    #[test]
    fn ticks_are_round_and_few() {
        assert_eq!(round_values(400.0, 1400.0, 6), [400.0, 600.0, 800.0, 1000.0, 1200.0, 1400.0]);
        assert_eq!(round_values(0.0, 0.5, 5), [0.0, 0.2, 0.4]);
        assert_eq!(round_values(-1.0, 1.0, 3), [-1.0, 0.0, 1.0]);
        assert_eq!(round_values(0.0, 4.6, 5), [0.0, 2.0, 4.0]);
        assert_eq!(Axis::new(0.0..=4.857, 434.0, 733.0).ticks(77.0), [0.0, 2.0, 4.0]);
        assert!(round_values(1.0, 1.0, 5).is_empty());
        assert!(round_values(f64::NAN, 1.0, 5).is_empty());
        for (low, high) in [(0.013, 0.97), (3.0, 7123.0), (-44.0, -3.0)] {
            for most in 2..9 {
                let ticks = round_values(low, high, most);
                assert!(ticks.len() <= most, "{low} {high} {most}: {ticks:?}");
                assert!(ticks.iter().all(|t| *t >= low && *t <= high));
            }
        }
    }

    #[test]
    fn decades_thin_out_or_fill_in() {
        assert_eq!(decades(0.01, 100.0, 6), [0.01, 0.1, 1.0, 10.0, 100.0]);
        assert_eq!(decades(1.0, 10.0, 8), [1.0, 2.0, 5.0, 10.0]);
        assert!(decades(1e-12, 1e12, 6).len() <= 6);
        assert_eq!(decades(3.0, 4.0, 3), [3.0, 3.5, 4.0]);
        assert!(decades(0.0, 1.0, 5).is_empty());
    }

    #[test]
    fn texts_carry_the_digits_that_matter() {
        assert_eq!(tick_text(0.4, 0.2), "0.4");
        assert_eq!(tick_text(1.0, 0.25), "1.0");
        assert_eq!(tick_text(-20.0, 10.0), "−20");
        assert_eq!(tick_text(0.0, 0.1), "0");
        assert_eq!(tick_text(2e-5, 1e-5), "2·10⁻⁵");
        assert_eq!(decade_text(0.001), "10⁻³");
        assert_eq!(decade_text(0.05), "0.05");
        assert_eq!(power_text(9.999e5), "10⁶");
    }

    #[test]
    fn lengths_choose_their_unit() {
        assert_eq!(length_text(412.0), "412 µm");
        assert_eq!(length_text(2914.6), "2.915 mm");
        assert_eq!(length_text(0.35), "350 nm");
        assert_eq!(length_text(5e6), "5 m");
    }

    #[test]
    fn round_up_is_never_below() {
        for i in 1..400 {
            let v = f64::from(i) * 0.037;
            assert!(round_up(v) >= v * (1.0 - 1e-8) && round_up(v) <= 1.5 * v + 1e-9, "{v} {}", round_up(v));
        }
        assert_eq!(round_up(0.0), 0.0);
    }
}
