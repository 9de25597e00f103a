//! Rows, tables and remarks of a caption.

use super::look::Look;
use crate::session::Command;
use crate::window::inputs::section::shortened;
use crate::window::theme::Theme;
use egui::{Align2, Color32, CursorIcon, FontId, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

/// Height of a row, points.
const ROW: f32 = 16.0;
/// Size of the words, points.
const SIZE: f32 = 11.5;
/// Gap between columns, points.
const GAP: f32 = 10.0;
/// Least width of a table's first column, points.
const LEAST_NAME: f32 = 44.0;

/// A quiet heading within a caption.
pub(super) fn head(ui: &mut Ui, words: &str, theme: &Theme) {
    ui.add_space(4.0);
    ui.label(egui::RichText::new(words).font(Theme::bold(SIZE)).color(theme.muted));
}

/// A sentence.
pub(super) fn remark(ui: &mut Ui, words: &str, ink: Color32) {
    ui.label(egui::RichText::new(words).size(11.0).color(ink));
}

/// What a number is, at the left, and the number at the right.
pub(super) fn fact(ui: &mut Ui, name: &str, value: &str, theme: &Theme) {
    fact_in(ui, name, value, theme.text, theme);
}

/// The same with the number in another ink.
pub(super) fn fact_in(ui: &mut Ui, name: &str, value: &str, ink: Color32, theme: &Theme) {
    let font = FontId::proportional(SIZE);
    let galley = ui.painter().layout(value.to_owned(), font.clone(), ink, 0.72 * ui.available_width());
    let height = ROW.max(galley.size().y + 2.0);
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, format!("{name}: {value}")));
    let room = rect.width() - galley.size().x - GAP;
    let short = shortened(ui, name, &font, room);
    let is_cut = short != name;
    let first = pos2(rect.left(), rect.top() + 0.5 * ROW);
    ui.painter().text(first, Align2::LEFT_CENTER, short, font, theme.muted);
    ui.painter().galley(pos2(rect.right() - galley.size().x, rect.top() + 1.0), galley, ink);
    if is_cut {
        response.on_hover_text(format!("{name}: {value}"));
    }
}

/// A line of a table.
#[derive(Clone, Debug, Default)]
pub(super) struct Line {
    /// The first is a name, the others numbers.
    pub(super) cells: Vec<String>,
    /// The layer that a click selects.
    pub(super) layer: Option<usize>,
    /// Whether it fails its limit.
    pub(super) fails: bool,
    /// Shown when pointed at.
    pub(super) hover: String,
}

/// A small table: names at the left, numbers in right-aligned columns. A click on a line selects its layer.
pub(super) fn table(ui: &mut Ui, heads: &[&str], lines: &[Line], look: &Look<'_>, out: &mut Vec<Command>) {
    let theme = look.theme;
    let font = FontId::proportional(SIZE);
    let small = FontId::proportional(10.5);
    let width = |ui: &Ui, text: &str, font: &FontId| crate::window::plot::width(ui.painter(), text, font);
    let mut columns: Vec<f32> = heads.iter().map(|h| width(ui, h, &small)).collect();
    for line in lines {
        for (column, cell) in columns.iter_mut().zip(&line.cells) {
            *column = column.max(width(ui, cell, &font));
        }
    }
    let whole = ui.available_width();
    let taken: f32 = columns.iter().skip(1).map(|c| c + GAP).sum();
    let name = (whole - taken).max(LEAST_NAME);
    // Right edges, relative to the left of the table.
    let mut rights = vec![name];
    for column in columns.iter().skip(1) {
        rights.push(rights.last().copied().unwrap_or(0.0) + GAP + column);
    }
    let (rect, _) = ui.allocate_exact_size(vec2(whole, ROW), Sense::hover());
    for (i, (head, right)) in heads.iter().zip(&rights).enumerate() {
        let (at, anchor) = if i == 0 {
            (rect.left(), Align2::LEFT_CENTER)
        } else {
            (rect.left() + right, Align2::RIGHT_CENTER)
        };
        ui.painter().text(pos2(at, rect.center().y), anchor, head, small.clone(), theme.muted);
    }
    ui.painter().hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, theme.line));
    for line in lines {
        let sense = if line.layer.is_some() { Sense::click() } else { Sense::hover() };
        let (rect, response) = ui.allocate_exact_size(vec2(whole, ROW), sense);
        let is_selected = line.layer.is_some() && line.layer == look.selected;
        let role = if line.layer.is_some() { Role::Button } else { Role::Label };
        response.widget_info(|| WidgetInfo::selected(role, true, is_selected, line.cells.join(", ")));
        if line.layer.is_some() && response.hovered() {
            ui.set_cursor_icon(CursorIcon::PointingHand);
        }
        if is_selected || (line.layer.is_some() && (response.hovered() || response.has_focus())) {
            let strength = if is_selected { 1.0 } else { 0.5 };
            ui.painter().rect_filled(
                rect.expand2(vec2(3.0, 0.0)),
                2.0,
                theme.accent_soft.gamma_multiply(strength),
            );
        }
        if response.clicked() {
            out.push(Command::SelectLayer(line.layer.filter(|_| !is_selected)));
        }
        let ink = if line.fails { theme.bad } else { theme.text };
        for (i, (cell, right)) in line.cells.iter().zip(&rights).enumerate() {
            let y = rect.center().y;
            if i == 0 {
                let words = shortened(ui, cell, &font, name);
                ui.painter().text(pos2(rect.left(), y), Align2::LEFT_CENTER, words, font.clone(), theme.text);
            } else {
                let at = pos2(rect.left() + right, y);
                ui.painter().text(at, Align2::RIGHT_CENTER, cell, font.clone(), ink);
            }
        }
        if !line.hover.is_empty() {
            response.on_hover_text(&line.hover);
        }
    }
}
