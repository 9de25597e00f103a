//! From a value to a colour: perceptually uniform, with ends that say when they are exceeded.

use crate::canvas::Colour;

/// A range of values laid over the cividis scale (dark blue to yellow), linear or logarithmic.
pub(crate) struct ColourScale {
    low: f64,
    high: f64,
    logarithmic: bool,
    /// Whether values lie below or above the range.
    clipped: [bool; 2],
}

/// Margins above this look all the same: three times what is needed.
const MARGIN_TOP: f64 = 3.0;

impl ColourScale {
    /// 0 to 3, for margins.
    pub(crate) fn of_margins(values: &[f64]) -> Self {
        let above = values.iter().any(|&v| v > MARGIN_TOP);
        Self { low: 0.0, high: MARGIN_TOP, logarithmic: false, clipped: [false, above] }
    }

    /// The range that holds nineteen of twenty values; logarithmic where positive values span over two decades.
    pub(crate) fn of_values(values: &[f64]) -> Self {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let (Some(&least), Some(&most)) = (sorted.first(), sorted.last()) else {
            return Self { low: 0.0, high: 1.0, logarithmic: false, clipped: [false, false] };
        };
        let quantile = |share: f64| sorted[((sorted.len() - 1) as f64 * share).round() as usize];
        let (mut low, mut high) = (quantile(0.025), quantile(0.975));
        if low >= high {
            (low, high) = (least, most);
        }
        if low >= high {
            high = low + low.abs().max(1.0) * 0.5;
        }
        let logarithmic = low > 0.0 && high > 100.0 * low;
        Self { low, high, logarithmic, clipped: [least < low, most > high] }
    }

    /// Position of `value` on the scale, 0 to 1.
    pub(crate) fn position(&self, value: f64) -> f64 {
        let t = if self.logarithmic {
            (value.max(f64::MIN_POSITIVE) / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        t.clamp(0.0, 1.0)
    }

    /// Colour at position `t`, 0 to 1.
    pub(crate) fn colour(t: f64) -> Colour {
        let colour = colorous::CIVIDIS.eval_continuous(t.clamp(0.0, 1.0));
        [colour.r, colour.g, colour.b]
    }

    /// Values to write beside the scale with their positions, the lowest first.
    pub(crate) fn labels(&self) -> Vec<(f64, String)> {
        [0.0, 0.25, 0.5, 0.75, 1.0]
            .into_iter()
            .map(|t| {
                let value = if self.logarithmic {
                    self.low * (self.high / self.low).powf(t)
                } else {
                    self.low + t * (self.high - self.low)
                };
                let sign = match t {
                    0.0 if self.clipped[0] => "≤ ",
                    1.0 if self.clipped[1] => "≥ ",
                    _ => "",
                };
                (t, format!("{sign}{}", short(value)))
            })
            .collect()
    }
}

/// Three significant digits.
pub(crate) fn short(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor() as i32;
    if !(-3..6).contains(&magnitude) {
        return format!("{value:.1e}");
    }
    let text = format!("{value:.*}", (2 - magnitude).max(0) as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lightness_rises_along_the_scale() {
        let lightness = |t: f64| {
            let linear = |c: u8| (f64::from(c) / 255.0).powf(2.2);
            let [r, g, b] = ColourScale::colour(t);
            0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b)
        };
        // Single colours are rounded to eight bits, hence steps of a twentieth.
        for step in 0..20 {
            let t = f64::from(step) / 20.0;
            assert!(lightness(t + 0.05) > lightness(t), "at {t}");
        }
    }

    #[test]
    fn wide_positive_ranges_are_logarithmic() {
        let values: Vec<f64> = (0..=100).map(|i| 10f64.powf(f64::from(i) / 20.0)).collect();
        let scale = ColourScale::of_values(&values);
        assert!((scale.position(300.0) - 0.5).abs() < 0.02, "{}", scale.position(300.0));
        assert_eq!(scale.labels()[0].1.chars().next(), Some('≤'));
        assert_eq!(scale.labels()[4].1.chars().next(), Some('≥'));
    }

    #[test]
    fn equal_values_have_a_scale() {
        let scale = ColourScale::of_values(&[2.0, 2.0]);
        assert!(scale.position(2.0).is_finite());
        assert_eq!(ColourScale::of_values(&[]).position(1.0), 1.0);
    }

    #[test]
    fn short_numbers() {
        assert_eq!(short(0.125), "0.125");
        assert_eq!(short(1234.0), "1234");
        assert_eq!(short(3.0), "3");
        assert_eq!(short(2.5e-7), "2.5e-7");
    }
}
