//! The radius of the cylinder as a bar to drag, with the least radii marked on it.

use crate::session::{Command, Edit};
use crate::window::axes::{LengthUnit, length_text};
use crate::window::plot::{small_font, width};
use crate::window::theme::Theme;
use egui::{Align2, CursorIcon, EventFilter, Key, Rect, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};
use ogee_design::digits_text;

/// A length in three digits, which is what a radius is known to.
fn length_3(length_um: f64) -> String {
    let unit = LengthUnit::fitting(length_um);
    format!("{} {}", digits_text(unit.of(length_um), 3), unit.text)
}

/// Field that the bar changes.
const PATH: &str = "duty.wrap.radius_um";
/// How near to a mark, points, the thumb is caught by it.
const REACH: f32 = 5.0;
/// Step of the arrow keys, a ratio.
const STEP: f64 = 1.02;

/// The bar. It keeps only what is in the hand.
#[derive(Debug, Default)]
pub(in crate::window::figures) struct RadiusBar {
    /// Ends of the groove while it is dragged: they must not move under the hand.
    held: Option<[f64; 2]>,
}

/// Ends of the groove, µm: about a decade around what is marked on it.
fn ends(radius: f64, marks: &[(f64, &str)]) -> [f64; 2] {
    let values = || marks.iter().map(|m| m.0).chain([radius]).filter(|v| v.is_finite() && *v > 0.0);
    let (low, high) = (values().fold(f64::INFINITY, f64::min), values().fold(0.0, f64::max));
    if high <= 0.0 { [100.0, 1e5] } else { [low / 3.5, 3.5 * high] }
}

/// `value` with three digits; upwards where it must not fall below what is meant.
fn rounded(value: f64, is_up: bool) -> f64 {
    let unit = 10f64.powf(value.abs().max(1e-9).log10().floor() - 2.0);
    let steps = value / unit;
    let steps = if is_up { (steps - 1e-9).ceil() } else { steps.round() };
    // The quotient of two whole numbers has no digits left over.
    if unit < 1.0 { steps / (1.0 / unit).round() } else { steps * unit.round() }
}

impl RadiusBar {
    /// Shows the bar in `rect`, with `marks` (µm and what they are).
    pub(in crate::window::figures) fn ui(
        &mut self,
        ui: &Ui,
        rect: Rect,
        radius: f64,
        marks: &[(f64, &str)],
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let font = small_font(ui);
        let name = if rect.width() > 380.0 { "Wrap radius" } else { "Radius" };
        let words = length_text(radius);
        let left = rect.left() + width(ui.painter(), name, &font) + 16.0;
        let right = rect.right() - width(ui.painter(), "8.888 mm", &font) - 16.0;
        let y = rect.top() + 13.0;
        let groove = Rect::from_min_max(pos2(left, y - 2.5), pos2(right.max(left + 20.0), y + 2.5));
        let [low, high] = self.held.unwrap_or_else(|| ends(radius, marks));
        let share = |um: f64| ((um.max(1e-9) / low).ln() / (high / low).ln()).clamp(0.0, 1.0) as f32;
        let x = |um: f64| egui::lerp(groove.x_range(), share(um));

        let area = groove.expand2(vec2(7.0, 9.0));
        let response = ui.interact(area, ui.scope_id().with("wrap radius bar"), Sense::drag());
        response.widget_info(|| WidgetInfo::slider(true, radius, "wrap radius on the bar"));
        ui.ctx().accesskit_node_builder(response.id, |node| {
            node.set_value(length_text(radius));
            node.set_min_numeric_value(low);
            node.set_max_numeric_value(high);
        });
        if response.drag_started() {
            self.held = Some([low, high]);
            response.request_focus();
        }
        self.drag(ui, &response, groove, [low, high], marks, out);
        keys(ui, &response, radius, out);

        let painter = ui.painter();
        let is_lit = response.hovered() || response.dragged() || response.has_focus();
        if is_lit {
            ui.set_cursor_icon(CursorIcon::ResizeHorizontal);
        }
        painter.text(pos2(rect.left(), y), Align2::LEFT_CENTER, name, font.clone(), theme.muted);
        painter.text(pos2(rect.right(), y), Align2::RIGHT_CENTER, words, font.clone(), theme.accent);
        painter.rect_filled(groove, 2.5, theme.track);
        // What is tighter than the least radius is out of bounds.
        if let Some(least) = marks.iter().map(|m| m.0).reduce(f64::max) {
            let bad = Rect::from_min_max(groove.min, pos2(x(least), groove.bottom()));
            painter.rect_filled(bad, 2.5, theme.warn.gamma_multiply(0.35));
        }
        let mut free_from = rect.left();
        for (um, what) in marks.iter().take(2) {
            let at = x(*um);
            painter.vline(at, groove.expand(4.0).y_range(), Stroke::new(1.5, theme.warn));
            let words = format!("{what} {}", length_3(*um));
            let galley = painter.layout_no_wrap(words, font.clone(), theme.warn);
            let start = (at - 0.5 * galley.size().x).min(rect.right() - galley.size().x).max(free_from);
            // Where two marks stand close, the second is named by the hover alone.
            if start + galley.size().x <= rect.right() + 1.0 {
                free_from = start + galley.size().x + 10.0;
                painter.galley(pos2(start, groove.bottom() + 5.0), galley, theme.warn);
            }
        }
        let thumb = pos2(x(radius), y);
        let size = if is_lit { 7.0 } else { 6.0 };
        painter.circle(thumb, size, theme.panel, Stroke::new(2.0, theme.accent));
        if response.has_focus() {
            painter.circle_stroke(thumb, size + 3.0, Stroke::new(1.0, theme.accent.gamma_multiply(0.6)));
        }
        let mut more = "Radius of the cylinder: drag to change it, Alt for a free value".to_owned();
        for (um, what) in marks {
            more = format!("{more}\n{what}: {}", length_text(*um));
        }
        response.on_hover_text(more);
    }

    fn drag(
        &mut self,
        ui: &Ui,
        response: &egui::Response,
        groove: Rect,
        [low, high]: [f64; 2],
        marks: &[(f64, &str)],
        out: &mut Vec<Command>,
    ) {
        if self.held.is_none() {
            return;
        }
        let (pointer, alt, escaped) =
            ui.input(|i| (crate::window::gesture::drag_pos(i), i.modifiers.alt, i.key_pressed(Key::Escape)));
        if escaped {
            self.held = None;
            out.push(Command::Cancel);
            return;
        }
        if let Some(pointer) = pointer.filter(|_| response.dragged() || response.drag_stopped()) {
            let share = f64::from((pointer.x - groove.left()) / groove.width()).clamp(0.0, 1.0);
            let free = low * (high / low).powf(share);
            let screen = |um: f64| {
                groove.left() + ((um.max(1e-9) / low).ln() / (high / low).ln()) as f32 * groove.width()
            };
            let caught = marks.iter().find(|m| !alt && (screen(m.0) - pointer.x).abs() < REACH);
            let value = match caught {
                Some((least, _)) => rounded(*least, true),
                None if alt => free,
                None => rounded(free, false),
            };
            let edit = Edit::number("Change wrap radius", PATH, value);
            out.push(if response.dragged() { Command::Preview(edit) } else { Command::Commit(edit) });
        }
        if response.drag_stopped() {
            self.held = None;
        }
    }
}

/// The arrow keys step by 2 %.
fn keys(ui: &Ui, response: &egui::Response, radius: f64, out: &mut Vec<Command>) {
    if !response.has_focus() {
        return;
    }
    let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    let count = ui.input(|i| {
        let count = |key| i.num_presses(key) as f64;
        let steps =
            count(Key::ArrowRight) + count(Key::ArrowUp) - count(Key::ArrowLeft) - count(Key::ArrowDown);
        steps * if i.modifiers.shift { 10.0 } else { 1.0 }
    });
    if count != 0.0 {
        let value = rounded(radius * STEP.powf(count), count > 0.0);
        out.push(Command::Commit(Edit::number("Change wrap radius", PATH, value)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn radii_are_rounded_to_three_digits_and_never_below_the_least() {
        assert_eq!(rounded(3456.7, false), 3460.0);
        assert_eq!(rounded(3451.0, true), 3460.0);
        assert_eq!(rounded(0.5678, false), 0.568);
        assert_eq!(rounded(3460.0, true), 3460.0);
        for i in 1..200 {
            let least = f64::from(i) * 17.31;
            assert!(rounded(least, true) >= least * (1.0 - 1e-9));
        }
    }

    #[test]
    fn the_groove_holds_every_mark() {
        let [low, high] = ends(3500.0, &[(900.0, "least"), (1800.0, "least, stretched")]);
        assert!(low < 900.0 && high > 3500.0);
        let [low, high] = ends(f64::NAN, &[]);
        assert!(low > 0.0 && high > low);
    }
}
