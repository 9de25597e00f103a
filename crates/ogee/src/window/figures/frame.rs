//! The framed part of a figure: its axes with grid and units, and lines in patterns.

use crate::window::axes::{Axis, round_up};
use crate::window::inputs::section::{shortened, spread};
use crate::window::plot::{Ticks, on_pixels, plate, small_font, upright};
use crate::window::theme::Theme;
use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, pos2, vec2};

/// Two axes and where they stand.
#[derive(Clone, Copy, Debug)]
pub(super) struct Framed {
    /// The framed part.
    pub(super) area: Rect,
    /// Values to the right.
    pub(super) x: Axis,
    /// Values upwards.
    pub(super) y: Axis,
    whole: Rect,
}

/// What stands around a frame.
#[derive(Clone, Copy, Debug)]
pub(super) struct Around<'a> {
    /// What the upward axis shows, with its unit.
    pub(super) left: &'a str,
    /// What the axis to the right shows, with its unit; no numbers where empty.
    pub(super) below: &'a str,
    /// Room kept at the right, points.
    pub(super) right: f32,
}

impl Framed {
    /// A frame in `whole` for these ranges of values.
    pub(super) fn new(ui: &Ui, whole: Rect, x: [f64; 2], y: [f64; 2], around: Around<'_>) -> Self {
        let font = small_font(ui);
        let line = font.size + 3.0;
        let lines = if around.below.is_empty() { 0.0 } else { 2.0 * line + 4.0 };
        let (top, bottom) = (whole.top() + 5.0, whole.bottom() - lines - 3.0);
        let ticks = Ticks::new(&Axis::new(y[0]..=y[1], bottom, top), 2.4 * font.size, 1.0);
        let caption = if around.left.is_empty() { 2.0 } else { line };
        let left = whole.left() + caption + ticks.width(ui.painter(), &font).max(14.0) + 7.0;
        let right = (whole.right() - around.right.max(6.0)).max(left + 20.0);
        let area = on_pixels(ui, Rect::from_min_max(pos2(left, top), pos2(right, bottom.max(top + 12.0))));
        Self {
            area,
            x: Axis::new(x[0]..=x[1], area.left(), area.right()),
            y: Axis::new(y[0]..=y[1], area.bottom(), area.top()),
            whole,
        }
    }

    /// A place on the screen.
    pub(super) fn at(&self, x: f64, y: f64) -> Pos2 {
        pos2(self.x.screen(x), self.y.screen(y))
    }

    /// A painter that keeps to the frame.
    pub(super) fn clip(&self, ui: &Ui) -> Painter {
        ui.painter().with_clip_rect(self.area.intersect(ui.painter().clip_rect()))
    }

    /// Ground, grid, numbers and words of the axes.
    pub(super) fn paint_axes(&self, ui: &Ui, around: Around<'_>, theme: &Theme) {
        let font = small_font(ui);
        let painter = ui.painter();
        let left = Ticks::new(&self.y, 2.4 * font.size, 1.0);
        for (y, _) in &left.marks {
            painter.hline(self.area.x_range(), *y, Stroke::new(1.0, theme.grid));
        }
        left.paint_left(painter, self.area, &font, theme);
        if !around.left.is_empty() {
            let middle = pos2(self.whole.left() + 0.5 * font.size, self.area.center().y);
            upright(painter, middle, around.left, &font, theme.muted);
        }
        if !around.below.is_empty() {
            let below = Ticks::new(&self.x, 4.5 * font.size, 1.0);
            for (x, _) in &below.marks {
                painter.vline(*x, self.area.y_range(), Stroke::new(1.0, theme.grid));
            }
            below.paint_below(painter, self.area, self.whole, &font, theme);
            let at = pos2(self.area.center().x, self.area.bottom() + 1.7 * (font.size + 3.0));
            painter.text(at, Align2::CENTER_CENTER, around.below, font, theme.muted);
        }
    }

    /// The line around the frame.
    pub(super) fn paint_border(&self, ui: &Ui, theme: &Theme) {
        ui.painter().rect_stroke(self.area, 0.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
    }
}

/// Patterns by which lines differ besides their colour: dashes and gaps, points. The first is unbroken.
const PATTERNS: [(&[f32], &[f32]); 6] = [
    (&[], &[]),
    (&[7.0], &[3.5]),
    (&[1.8], &[2.6]),
    (&[8.0, 1.8], &[3.0, 3.0]),
    (&[3.5], &[3.5]),
    (&[12.0, 1.8, 1.8], &[3.0, 2.6, 3.0]),
];

/// A line through `points` in one of the patterns.
pub(super) fn patterned(painter: &Painter, points: Vec<Pos2>, stroke: Stroke, pattern: usize) {
    let (dashes, gaps) = PATTERNS[pattern % PATTERNS.len()];
    if dashes.is_empty() {
        painter.line(points, stroke);
    } else {
        painter.extend(Shape::dashed_line_with_offset(&points, stroke, dashes, gaps, 0.0));
    }
}

/// A round range that holds `values` and zero.
pub(super) fn range_with_zero(values: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let (low, high) = values
        .into_iter()
        .filter(|v| v.is_finite())
        .fold((0.0_f64, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
    if low == 0.0 && high == 0.0 {
        return [0.0, 1.0];
    }
    [-round_up(-low), round_up(high)]
}

/// The read-out beside the pointer. It may stand outside the plot, so that it covers less of it.
pub(super) fn readout(ui: &Ui, theme: &Theme, pointer: Pos2, lines: &[(String, Color32)]) {
    let lines: Vec<_> = lines.iter().map(|(text, ink)| (text.as_str(), *ink)).collect();
    plate(ui, theme, pointer, ui.ctx().content_rect().shrink(4.0), &lines);
}

/// A name beside a figure.
#[derive(Clone, Debug)]
pub(super) struct Name {
    /// Height of what it names.
    pub(super) y: f32,
    /// The name.
    pub(super) text: String,
    /// Its ink.
    pub(super) ink: Color32,
}

/// Writes names in a column, each joined to its height by a thin line, apart enough to be read. Returns where each
/// one stands.
pub(super) fn names(ui: &Ui, column: Rect, names: &[Name], theme: &Theme) -> Vec<Rect> {
    /// Length of the thin line, points.
    const JOIN: f32 = 9.0;
    let font = small_font(ui);
    let mut order: Vec<usize> = (0..names.len()).collect();
    order.sort_by(|a, b| names[*b].y.total_cmp(&names[*a].y));
    let wished: Vec<f32> = order.iter().map(|i| names[*i].y).collect();
    let places = spread(&wished, column);
    let mut rects = vec![Rect::NOTHING; names.len()];
    for (i, y) in order.into_iter().zip(places) {
        let name = &names[i];
        let from = pos2(column.left() + 1.0, name.y.clamp(column.top(), column.bottom()));
        ui.painter()
            .line_segment([from, pos2(column.left() + JOIN - 1.0, y)], Stroke::new(0.8, theme.line_strong));
        let left = column.left() + JOIN + 1.0;
        let text = shortened(ui, &name.text, &font, column.right() - left);
        let at = pos2(left, y);
        rects[i] = ui.painter().text(at, Align2::LEFT_CENTER, text, font.clone(), name.ink);
        rects[i] = rects[i].union(Rect::from_center_size(at, vec2(0.0, 12.0)));
    }
    rects
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_hold_zero_and_every_value() {
        assert_eq!(range_with_zero([0.1, 0.64]), [0.0, 0.8]);
        assert_eq!(range_with_zero([-31.0, 7.0]), [-40.0, 8.0]);
        assert_eq!(range_with_zero([]), [0.0, 1.0]);
        assert_eq!(range_with_zero([f64::NAN, 0.0]), [0.0, 1.0]);
    }
}
