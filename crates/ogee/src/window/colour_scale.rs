//! Colour scales: from a number to a colour, perceptually even and safe for colour-blind readers.

use egui::{Color32, Pos2, Rect, Shape, Stroke, pos2};
use std::sync::OnceLock;

/// Colours of a finished palette; finer than a screen can show.
const STEPS: usize = 512;

/// A set of colours between two ends.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Palette {
    /// Dark blue to yellow, the same to readers with and without colour blindness.
    #[default]
    Cividis,
    /// Dark violet over green to yellow.
    Viridis,
    /// Violet over pale to orange, for signed values centred at zero.
    Diverging,
}

impl Palette {
    /// The colour at `share` of the way from the low to the high end; clamped to 0…1, the low end for NaN.
    pub fn colour(self, share: f64) -> Color32 {
        let table = self.table();
        let share = if share.is_nan() { 0.0 } else { share.clamp(0.0, 1.0) };
        table[(share * (STEPS - 1) as f64).round() as usize]
    }

    fn table(self) -> &'static [Color32; STEPS] {
        static TABLES: [OnceLock<[Color32; STEPS]>; 3] = [const { OnceLock::new() }; 3];
        TABLES[self as usize].get_or_init(|| {
            std::array::from_fn(|i| {
                let share = i as f64 / (STEPS - 1) as f64;
                let c = match self {
                    Self::Cividis => colorous::CIVIDIS.eval_continuous(share),
                    Self::Viridis => colorous::VIRIDIS.eval_continuous(share),
                    // Tension is the warm end.
                    Self::Diverging => colorous::PURPLE_ORANGE.eval_continuous(share),
                };
                Color32::from_rgb(c.r, c.g, c.b)
            })
        })
    }
}

/// A palette laid over a range of values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ColourScale {
    palette: Palette,
    low: f64,
    high: f64,
    reversed: bool,
    logarithmic: bool,
}

impl ColourScale {
    /// `palette` from `low` to `high`. An empty, reversed or non-finite range is widened to one that can be read.
    pub fn new(palette: Palette, low: f64, high: f64) -> Self {
        let (low, high) = match (low.is_finite(), high.is_finite()) {
            (true, true) => (low.min(high), low.max(high)),
            (true, false) => (low, low + 1.0),
            (false, true) => (high - 1.0, high),
            (false, false) => (0.0, 1.0),
        };
        let least = (low.abs().max(high.abs()) * 1e-9).max(1e-30);
        let high = if high - low < least { low + least.max(low.abs() * 1e-3) } else { high };
        Self { palette, low, high, reversed: false, logarithmic: false }
    }

    /// The diverging palette from `-limit` to `limit`: zero is the pale middle.
    pub fn signed(limit: f64) -> Self {
        Self::new(Palette::Diverging, -limit.abs(), limit.abs())
    }

    /// The same scale with the palette's high end at the low value.
    #[must_use]
    pub fn reversed(mut self) -> Self {
        self.reversed = !self.reversed;
        self
    }

    /// The same scale with even steps per decade; unchanged where the range reaches zero.
    #[must_use]
    pub fn logarithmic(mut self) -> Self {
        self.logarithmic = self.low > 0.0;
        self
    }

    /// Least value of the range.
    pub fn low(&self) -> f64 {
        self.low
    }

    /// Greatest value of the range.
    pub fn high(&self) -> f64 {
        self.high
    }

    /// Whether steps are even per decade.
    pub fn is_logarithmic(&self) -> bool {
        self.logarithmic
    }

    /// The palette.
    pub fn palette(&self) -> Palette {
        self.palette
    }

    /// The colour at `share` of the way from the least to the greatest value; clamped to 0…1.
    pub fn colour(&self, share: f64) -> Color32 {
        self.palette.colour(if self.reversed { 1.0 - share } else { share })
    }

    /// The colour of `value`; the end colours outside the range.
    pub fn colour_of(&self, value: f64) -> Color32 {
        self.colour(self.share_of(value))
    }

    /// How far `value` is from the least to the greatest; outside 0…1 where it is out of range.
    pub fn share_of(&self, value: f64) -> f64 {
        if self.logarithmic {
            if value <= 0.0 {
                return f64::NEG_INFINITY;
            }
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        }
    }

    /// The value at `share` of the way; the inverse of [`share_of`](Self::share_of).
    pub fn value_at(&self, share: f64) -> f64 {
        if self.logarithmic {
            self.low * (self.high / self.low).powf(share)
        } else {
            self.low + share * (self.high - self.low)
        }
    }
}

/// Dark ink over a colour scale, whatever the theme.
pub(super) const DARK_INK: Color32 = Color32::from_rgb(20, 28, 34);
/// Light ink over a colour scale, whatever the theme.
pub(super) const LIGHT_INK: Color32 = Color32::from_gray(250);

/// Ink that reads on `background`: near black on light colours, near white on dark ones.
pub(super) fn ink_on(background: Color32) -> Color32 {
    let [r, g, b, _] = background.to_array().map(f32::from);
    // Luma weights of ITU-R BT.601, good enough to choose between two inks.
    if 0.299 * r + 0.587 * g + 0.114 * b > 140.0 { DARK_INK } else { LIGHT_INK }
}

/// Which way hatch lines lean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lean {
    /// Rising to the right.
    Rising,
    /// Falling to the right.
    Falling,
}

/// Hatch lines over the part of `area` where `inside` holds.
///
/// Lines stand `spacing` points apart (measured across them) and are found to half a point; the pattern is fixed
/// to the screen, so that neighbouring areas hatch as one.
pub(super) fn hatch(
    area: Rect,
    spacing: f32,
    lean: Lean,
    stroke: Stroke,
    inside: impl Fn(Pos2) -> bool,
) -> Vec<Shape> {
    /// Distance along a line between two samples, in points of x.
    const STRIDE: f32 = 2.0;
    let mut shapes = Vec::new();
    if !area.is_positive() || !area.is_finite() {
        return shapes;
    }
    // A rising line is x + y = k, a falling one x − y = k.
    let sign = if lean == Lean::Rising { 1.0 } else { -1.0 };
    let (y0, y1) = (sign * area.top(), sign * area.bottom());
    let step = spacing.max(1.0) * std::f32::consts::SQRT_2;
    let first = ((area.left() + y0.min(y1)) / step).ceil() as i64;
    let last = ((area.right() + y0.max(y1)) / step).floor() as i64;
    for k in first..=last {
        let k = k as f32 * step;
        let at = |x: f32| pos2(x, sign * (k - x));
        // x where the line enters and leaves the area
        let (a, b) = (k - y0, k - y1);
        let (from, to) = (a.min(b).max(area.left()), a.max(b).min(area.right()));
        let mut open: Option<f32> = None;
        let mut x = from;
        let mut last_x = from;
        loop {
            let is_inside = inside(at(x));
            match open {
                None if is_inside => open = Some(edge(last_x, x, &|x| !inside(at(x)))),
                Some(start) if !is_inside => {
                    let end = edge(last_x, x, &|x| inside(at(x)));
                    shapes.push(Shape::line_segment([at(start), at(end)], stroke));
                    open = None;
                }
                _ => {}
            }
            if x >= to {
                break;
            }
            last_x = x;
            x = (x + STRIDE).min(to);
        }
        if let Some(start) = open
            && to > start
        {
            shapes.push(Shape::line_segment([at(start), at(to)], stroke));
        }
    }
    shapes
}

/// Where `first_part` stops to hold between `from` and `to`, by two halvings.
fn edge(from: f32, to: f32, first_part: &dyn Fn(f32) -> bool) -> f32 {
    let (mut from, mut to) = (from, to);
    for _ in 0..2 {
        let middle = 0.5 * (from + to);
        if first_part(middle) {
            from = middle;
        } else {
            to = middle;
        }
    }
    to
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE lightness L* of an sRGB colour.
    fn lightness(c: Color32) -> f64 {
        let linear = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        let y = 0.2126 * linear(c.r()) + 0.7152 * linear(c.g()) + 0.0722 * linear(c.b());
        if y > 216.0 / 24389.0 { 116.0 * y.cbrt() - 16.0 } else { y * 24389.0 / 27.0 }
    }

    #[test]
    fn sequential_palettes_grow_lighter_evenly() {
        for palette in [Palette::Cividis, Palette::Viridis] {
            let l: Vec<f64> = (0..=64).map(|i| lightness(palette.colour(f64::from(i) / 64.0))).collect();
            for pair in l.windows(2) {
                assert!(pair[1] > pair[0] - 0.2, "{palette:?}: {pair:?}");
            }
            let coarse: Vec<f64> = l.iter().step_by(8).copied().collect();
            for pair in coarse.windows(2) {
                assert!(pair[1] > pair[0] + 3.0, "{palette:?}: {pair:?}");
            }
            assert!(l[64] - l[0] > 60.0, "{palette:?} spans {}", l[64] - l[0]);
        }
    }

    #[test]
    fn diverging_palette_is_palest_at_zero_and_even_on_both_sides() {
        let l: Vec<f64> =
            (0..=32).map(|i| lightness(Palette::Diverging.colour(f64::from(i) / 32.0))).collect();
        for i in 0..16 {
            assert!(l[i] < l[i + 1] + 0.2 && l[32 - i] < l[31 - i] + 0.2, "{l:?}");
        }
        assert!(l[16] > 94.0, "the middle is nearly white: {}", l[16]);
        let tension = Palette::Diverging.colour(1.0);
        assert!(tension.r() > tension.b(), "tension is the warm end: {tension:?}");
    }

    #[test]
    fn shares_and_values_are_inverse_and_clamped() {
        let scale = ColourScale::new(Palette::Cividis, 0.01, 10.0).logarithmic();
        assert!((scale.share_of(0.1) - 1.0 / 3.0).abs() < 1e-12);
        assert!((scale.value_at(scale.share_of(0.7)) - 0.7).abs() < 1e-12);
        assert_eq!(scale.colour_of(0.0), scale.colour(0.0));
        assert_eq!(scale.colour_of(1e9), scale.colour(1.0));
        assert_eq!(scale.reversed().colour(0.0), scale.colour(1.0));
        assert_eq!(Palette::Viridis.colour(f64::NAN), Palette::Viridis.colour(0.0));
    }

    #[test]
    fn impossible_ranges_still_give_a_scale() {
        for (low, high) in
            [(1.0, 1.0), (0.0, 0.0), (f64::NAN, 2.0), (f64::INFINITY, f64::NEG_INFINITY), (3.0, 1.0)]
        {
            let scale = ColourScale::new(Palette::Cividis, low, high);
            assert!(scale.high() > scale.low() && scale.low().is_finite() && scale.high().is_finite());
        }
        let touching_zero = ColourScale::new(Palette::Cividis, 0.0, 1.0).logarithmic();
        assert!(!touching_zero.is_logarithmic(), "no logarithm of zero");
    }

    #[test]
    fn hatch_lines_stay_inside_the_marked_part() {
        let area = Rect::from_min_max(pos2(10.0, 20.0), pos2(110.0, 80.0));
        for lean in [Lean::Rising, Lean::Falling] {
            let lines = hatch(area, 6.0, lean, Stroke::new(1.0, Color32::BLACK), |p| p.x > 60.0);
            assert!(lines.len() > 8, "{}", lines.len());
            for line in &lines {
                let Shape::LineSegment { points, .. } = line else { panic!("only straight lines") };
                for p in points {
                    assert!(p.x > 59.4 && area.expand(0.01).contains(*p), "{p:?}");
                }
                let slope = (points[1].y - points[0].y) / (points[1].x - points[0].x);
                let wanted = if lean == Lean::Rising { -1.0 } else { 1.0 };
                assert!((slope - wanted).abs() < 0.01, "{slope}");
            }
        }
        assert!(hatch(area, 6.0, Lean::Rising, Stroke::NONE, |_| false).is_empty());
    }

    #[test]
    fn ink_stands_out_from_both_ends() {
        assert!(ink_on(Palette::Cividis.colour(0.0)).r() > 200);
        assert!(ink_on(Palette::Cividis.colour(1.0)).r() < 60);
    }
}
