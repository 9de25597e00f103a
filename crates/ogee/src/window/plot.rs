//! What the plots share: their heading, their axes, the plate with numbers at the cursor.

use super::axes::{Axis, decade_text, number, round_step, tick_text};
use super::theme::Theme;
use egui::emath::GuiRounding as _;
use egui::epaint::TextShape;
use egui::{
    Align, Align2, Color32, FontId, Layout, Painter, Pos2, Rect, Stroke, StrokeKind, TextStyle, Ui, pos2,
    vec2,
};

/// A heading at the left and something at the right of the same line.
pub(super) fn heading(ui: &mut Ui, title: &str, right: impl FnOnce(&mut Ui)) {
    ui.horizontal(|ui| {
        ui.heading(title);
        ui.with_layout(Layout::right_to_left(Align::Center), right);
    });
}

/// The font of captions and numbers at axes.
pub(super) fn small_font(ui: &Ui) -> FontId {
    TextStyle::Small.resolve(ui.style())
}

/// Numbers of one axis.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Ticks {
    /// Where they stand and what they say.
    pub(super) marks: Vec<(f32, String)>,
}

impl Ticks {
    /// Round numbers along `axis`, whose values are `factor` times those of the unit shown.
    pub(super) fn new(axis: &Axis, spacing: f32, factor: f64) -> Self {
        let shown = Axis { low: axis.low / factor, high: axis.high / factor, ..*axis };
        let values = shown.ticks(spacing);
        let step = match values.as_slice() {
            [a, b, ..] => b - a,
            _ => round_step(shown.low, shown.high, 3),
        };
        let text = |v: f64| if axis.is_logarithmic { decade_text(v) } else { tick_text(v, step) };
        Self { marks: values.into_iter().map(|v| (shown.screen(v), text(v))).collect() }
    }

    /// The same numbers with both ends of `axis` among them; round ones closer than `gap` to an end give way.
    pub(super) fn with_ends(mut self, axis: &Axis, gap: f32) -> Self {
        self.marks.retain(|(at, _)| (at - axis.from).abs() >= gap && (at - axis.to).abs() >= gap);
        self.marks.insert(0, (axis.from, number(axis.low)));
        self.marks.push((axis.to, number(axis.high)));
        self
    }

    /// The same numbers with `unit` behind the last one.
    pub(super) fn with_unit(mut self, unit: &str) -> Self {
        if let Some((_, text)) = self.marks.last_mut().filter(|_| !unit.is_empty()) {
            *text = format!("{text} {unit}");
        }
        self
    }

    /// Paints numbers and short lines below `area`, the outer numbers kept within `within`.
    pub(super) fn paint_below(
        &self,
        painter: &Painter,
        area: Rect,
        within: Rect,
        font: &FontId,
        theme: &Theme,
    ) {
        let mut free_from = f32::NEG_INFINITY;
        let last = self.marks.len().saturating_sub(1);
        for (i, (x, text)) in self.marks.iter().enumerate() {
            painter.vline(*x, area.bottom()..=area.bottom() + 3.0, Stroke::new(1.0, theme.line_strong));
            let galley = painter.layout_no_wrap(text.clone(), font.clone(), theme.muted);
            // The unit hangs over to the right, so that the number itself stands below its line.
            let number = text.split(' ').next().unwrap_or(text);
            let half = 0.5 * if i == last { width(painter, number, font) } else { galley.size().x };
            let left = (x - half).min(within.right() - galley.size().x).max(within.left());
            if left >= free_from {
                free_from = left + galley.size().x + 4.0;
                painter.galley(pos2(left, area.bottom() + 5.0), galley, theme.muted);
            }
        }
    }

    /// Paints numbers to the left of `area`, right-aligned.
    pub(super) fn paint_left(&self, painter: &Painter, area: Rect, font: &FontId, theme: &Theme) {
        for (y, text) in &self.marks {
            painter.hline(area.left() - 3.0..=area.left(), *y, Stroke::new(1.0, theme.line_strong));
            let half = 0.5 * font.size;
            let y = y.clamp(area.top() + half - 2.0, area.bottom() - half + 2.0);
            painter.text(pos2(area.left() - 6.0, y), Align2::RIGHT_CENTER, text, font.clone(), theme.muted);
        }
    }

    /// Width of the widest number.
    pub(super) fn width(&self, painter: &Painter, font: &FontId) -> f32 {
        self.marks.iter().map(|(_, text)| width(painter, text, font)).fold(0.0, f32::max)
    }
}

/// `rect` with its sides on whole pixels, so that pictures fill it to the rim.
pub(super) fn on_pixels(ui: &Ui, rect: Rect) -> Rect {
    rect.round_to_pixels(ui.pixels_per_point())
}

/// A caption that reads upwards, its middle at `at`.
pub(super) fn upright(painter: &Painter, at: Pos2, text: &str, font: &FontId, colour: Color32) {
    let galley = painter.layout_no_wrap(text.to_owned(), font.clone(), colour);
    let corner = at - 0.5 * galley.size();
    let turn = -std::f32::consts::FRAC_PI_2;
    painter.add(TextShape::new(corner, galley, colour).with_angle_and_anchor(turn, Align2::CENTER_CENTER));
}

/// Width of `text`.
pub(super) fn width(painter: &Painter, text: &str, font: &FontId) -> f32 {
    painter.layout_no_wrap(text.to_owned(), font.clone(), Color32::PLACEHOLDER).size().x
}

/// One line of a plate.
pub(super) type PlateLine<'a> = (&'a str, Color32);

/// Paints a small plate with `lines` beside `anchor`, inside `within`, on top of everything.
pub(super) fn plate(ui: &Ui, theme: &Theme, anchor: Pos2, within: Rect, lines: &[PlateLine<'_>]) -> Rect {
    /// Widest text; longer sentences wrap.
    const WIDEST: f32 = 260.0;
    let font = small_font(ui);
    // A painter of its own, which no panel or scrolled part cuts off.
    let layer = egui::LayerId::new(egui::Order::Tooltip, ui.scope_id().with("plate"));
    let painter = ui.ctx().layer_painter(layer);
    let galleys: Vec<_> = lines
        .iter()
        .map(|(text, colour)| painter.layout((*text).to_owned(), font.clone(), *colour, WIDEST))
        .collect();
    let size = galleys.iter().fold(vec2(0.0, 0.0), |s, g| vec2(s.x.max(g.size().x), s.y + g.size().y));
    let size = size + vec2(12.0, 8.0);
    let mut corner = anchor + vec2(14.0, -size.y - 10.0);
    if corner.x + size.x > within.right() {
        corner.x = anchor.x - 14.0 - size.x;
    }
    if corner.y < within.top() {
        corner.y = anchor.y + 16.0;
    }
    corner.x = corner.x.min(within.right() - size.x).max(within.left());
    corner.y = corner.y.min(within.bottom() - size.y).max(within.top());
    let rect = Rect::from_min_size(corner, size);
    painter.rect(rect, 4.0, theme.panel, Stroke::new(1.0, theme.line_strong), StrokeKind::Inside);
    let mut y = rect.top() + 4.0;
    for galley in galleys {
        let height = galley.size().y;
        painter.galley(pos2(rect.left() + 6.0, y), galley, theme.text);
        y += height;
    }
    rect
}

/// A line that stands for a curve in a key, then its name; returns where the next one may begin.
pub(super) fn key(
    painter: &Painter,
    at: Pos2,
    name: &str,
    stroke: Stroke,
    is_dashed: bool,
    font: &FontId,
    [text, ground]: [Color32; 2],
) -> Pos2 {
    /// Length of the line.
    const SAMPLE: f32 = 18.0;
    let ends = [at, at + vec2(SAMPLE, 0.0)];
    if is_dashed {
        painter.extend(egui::Shape::dashed_line(&ends, stroke, 4.0, 3.0));
    } else {
        painter.line_segment(ends, stroke);
    }
    let galley = painter.layout_no_wrap(name.to_owned(), font.clone(), text);
    let named = Align2::LEFT_CENTER.anchor_size(at + vec2(SAMPLE + 5.0, 0.0), galley.size());
    painter.rect_filled(named.expand2(vec2(3.0, 0.0)), 0.0, ground);
    painter.galley(named.min, galley, text);
    pos2(named.right() + 14.0, at.y)
}
