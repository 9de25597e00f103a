//! What one layer sees, as bars on one axis: wrap, pull, left from the oven, and together.

use super::number_3;
use crate::window::axes::Axis;
use crate::window::colour_scale::{Lean, hatch};
use crate::window::figures::frame::range_with_zero;
use crate::window::plot::{Ticks, small_font, width};
use crate::window::theme::Theme;
use egui::{Align2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};
use ogee_design::WrapLayer;

/// Height of a bar's row, points.
const ROW: f32 = 15.0;

/// Paints the bars.
pub(super) fn paint(ui: &mut Ui, layer: &WrapLayer, theme: &Theme) {
    let font = small_font(ui);
    let rows = [
        ("wrap", layer.wrap_percent),
        ("pull", layer.pull_percent),
        ("left from the oven", layer.residual_percent),
        ("together", layer.together_percent),
    ];
    let height = 4.0 * ROW + font.size + 10.0;
    let (whole, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    let text = |range: [f64; 2]| format!("{} … {} %", number_3(range[1]), number_3(range[0]));
    let words = rows.map(|(name, range)| format!("{name} {}", text(range))).join(", ");
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, format!("{}: {words}", layer.name)));
    let painter = ui.painter();
    let left = whole.left() + width(painter, rows[2].0, &font) + 8.0;
    let widest = rows.iter().map(|r| width(painter, &text(r.1), &font)).fold(0.0, f32::max);
    let right = (whole.right() - widest - 8.0).max(left + 24.0);
    let allowed = layer.allowable_strain_percent;
    let reach = rows.iter().flat_map(|r| r.1).map(f64::abs).fold(0.0, f64::max);
    // A limit far beyond the bars would press them flat.
    let is_near = allowed <= 4.0 * reach;
    let mut values: Vec<f64> = rows.iter().flat_map(|r| r.1).collect();
    values.extend(is_near.then_some(1.08 * allowed));
    let [low, high] = range_with_zero(values);
    let area = Rect::from_min_max(pos2(left, whole.top() + 2.0), pos2(right, whole.top() + 2.0 + 4.0 * ROW));
    let axis = Axis::new(low..=high, area.left(), area.right());
    painter.rect_filled(area, 0.0, theme.canvas);
    let x_allowed = axis.screen(allowed);
    if is_near {
        let beyond = Rect::from_min_max(pos2(x_allowed, area.top()), area.max);
        painter.extend(hatch(
            beyond,
            4.0,
            Lean::Rising,
            Stroke::new(0.7, theme.warn.gamma_multiply(0.6)),
            |_| true,
        ));
    }
    painter.vline(axis.screen(0.0), area.y_range(), Stroke::new(1.0, theme.line_strong));
    for (i, (name, range)) in rows.into_iter().enumerate() {
        let y = area.top() + (i as f32 + 0.5) * ROW;
        let is_sum = i == 3;
        let ink = if is_sum { theme.accent } else { theme.muted };
        painter.text(pos2(left - 6.0, y), Align2::RIGHT_CENTER, name, font.clone(), ink);
        let (a, b) = (axis.screen(range[1].min(range[0])), axis.screen(range[0].max(range[1])));
        let half = if is_sum { 4.0 } else { 2.5 };
        let bar = Rect::from_min_max(pos2(a, y - half), pos2(b.max(a + 1.5), y + half));
        painter.rect_filled(bar, 1.0, if is_sum { theme.accent } else { theme.line_strong });
        painter.text(pos2(whole.right(), y), Align2::RIGHT_CENTER, text(range), font.clone(), ink);
    }
    if is_near {
        painter.vline(x_allowed, area.y_range(), Stroke::new(1.3, theme.warn));
    }
    let ticks = Ticks::new(&axis, 4.5 * font.size, 1.0).with_unit("%");
    ticks.paint_below(painter, area, whole, &font, theme);
    let words = if is_near {
        format!("{} allowed", number_3(allowed))
    } else {
        format!("{} % allowed, beyond the bars", number_3(allowed))
    };
    let galley = painter.layout_no_wrap(words, font.clone(), theme.warn);
    let at = pos2(whole.right() - galley.size().x, area.bottom() + 4.0);
    let free = ticks.marks.last().map_or(area.left(), |m| m.0) + 26.0;
    if at.x > free {
        painter.galley(at, galley, theme.warn);
    }
}
