//! Grid and scale bar.

use super::notes::paint_backed;
use super::sheet::Sheet;
use super::steps::{round_length_text, step_at_least, step_at_most};
use crate::window::theme::Theme;
use egui::{Align2, FontId, Painter, Rect, Stroke, pos2, vec2};

/// Least distance between two grid lines, points.
const GRID_SPACING: f64 = 34.0;
/// Longest scale bar, points.
const LONGEST_BAR: f64 = 150.0;

/// Faint lines at round distances, no stronger than the lines of squared paper.
pub(super) fn paint_grid(painter: &Painter, sheet: &Sheet, theme: &Theme) {
    let step = step_at_least(GRID_SPACING / sheet.scale());
    let visible = sheet.visible();
    let stroke = Stroke::new(1.0, theme.grid);
    let canvas = sheet.canvas();
    let lines = |low: f64, high: f64| ((low / step).ceil() as i64)..=((high / step).floor() as i64);
    for i in lines(visible.low[0], visible.high[0]) {
        let x = painter.round_to_pixel_center(sheet.pos(i as f64 * step, 0.0).x);
        painter.vline(x, canvas.y_range(), stroke);
    }
    for i in lines(visible.low[1], visible.high[1]) {
        let y = painter.round_to_pixel_center(sheet.pos(0.0, i as f64 * step).y);
        painter.hline(canvas.x_range(), y, stroke);
    }
}

/// A bar of round length at the lower left. Returns what it covers.
pub(super) fn paint_scale_bar(painter: &Painter, sheet: &Sheet, theme: &Theme) -> Rect {
    let canvas = sheet.canvas();
    let longest = LONGEST_BAR.min(f64::from(canvas.width()) * 0.25).max(20.0);
    let length_um = step_at_most(longest / sheet.scale());
    let length = sheet.points(length_um);
    let left = pos2(canvas.left() + 14.0, canvas.bottom() - 18.0);
    let right = left + vec2(length, 0.0);
    let stroke = Stroke::new(1.5, theme.text);
    let ground = Rect::from_two_pos(left, right).expand2(vec2(6.0, 9.0));
    painter.rect_filled(ground, 3.0, theme.canvas.gamma_multiply(0.8));
    painter.line_segment([left, right], stroke);
    for end in [left, right] {
        painter.line_segment([end - vec2(0.0, 3.5), end + vec2(0.0, 3.5)], Stroke::new(1.0, theme.text));
    }
    let at = right + vec2(8.0, 0.0);
    let words = round_length_text(length_um);
    let text = paint_backed(
        painter,
        at,
        Align2::LEFT_CENTER,
        &words,
        FontId::proportional(11.5),
        theme.text,
        theme.canvas,
    );
    text.union(Rect::from_two_pos(left - vec2(0.0, 5.0), right + vec2(0.0, 5.0)))
}
