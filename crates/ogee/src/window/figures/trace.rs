//! The trace: where it runs in the section, what it resists, drops and heats, and the current it may carry.

use super::caption::{Line, fact, fact_in, table};
use super::copied;
use super::frame::readout;
use super::look::{Figure, Look};
use super::wrap::number_3;
use crate::session::Command;
use crate::window::axes::{Axis, length_text};
use crate::window::plot::{Ticks, small_font, width};
use egui::{Align2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use ogee_design::{Trace, TraceResult};

/// Rise that a current is rated for where the design gives no limit, K.
const USUAL_RISE_K: f64 = 10.0;
/// The figure grows no higher than this, points.
const HIGHEST: f32 = 190.0;
/// A layer is drawn at least this high, points.
const LEAST_LAYER: f32 = 5.0;

/// The figure of a trace.
#[derive(Debug)]
pub(super) struct TraceFigure<'a> {
    /// What is shown.
    pub(super) found: &'a TraceResult,
}

/// A resistance in a fitting unit.
fn ohms(value: f64) -> String {
    match value.abs() {
        v if v >= 1e6 => format!("{} MΩ", number_3(value / 1e6)),
        v if v >= 1e3 => format!("{} kΩ", number_3(value / 1e3)),
        v if v >= 0.1 || v == 0.0 => format!("{} Ω", number_3(value)),
        _ => format!("{} mΩ", number_3(1e3 * value)),
    }
}

impl Figure for TraceFigure<'_> {
    fn title(&self, look: &Look<'_>) -> String {
        let found = self.found;
        let target = number_3(look.design.duty.target_stretch_percent);
        let (rest, stretched) = (ohms(found.rest_ohm), ohms(found.stretched_ohm));
        let warms = match (found.temperature_rise_k, &look.design.trace) {
            (None, Some(trace)) => format!("; {} mA heat it without end", number_3(trace.current_ma)),
            (Some(rise), Some(_)) => format!(", {} K warmer", number_3(rise)),
            (_, None) => String::new(),
        };
        format!("{rest} at rest, {stretched} at {target} %{warms}")
    }

    fn least_height(&self) -> f32 {
        128.0
    }

    fn most_height(&self) -> f32 {
        HIGHEST
    }

    fn plot(&mut self, ui: &mut Ui, rect: Rect, look: &Look<'_>, _out: &mut Vec<Command>) {
        let (left, right) = rect.split_left_right_at_fraction(0.38);
        let height = rect.height().min(HIGHEST);
        let place = |r: Rect| Rect::from_min_size(r.min, vec2(r.width() - 8.0, height));
        section(ui, place(left), self.found, look);
        if let Some(trace) = &look.design.trace {
            currents(ui, place(right), self.found, trace, look);
        }
    }

    fn caption(&mut self, ui: &mut Ui, look: &Look<'_>, out: &mut Vec<Command>) {
        let theme = look.theme;
        let found = self.found;
        let limits = &look.design.limits;
        let limited = |name: &str, value: Option<f64>, limit: Option<f64>, unit: &str, scale: f64| {
            let text = |v: f64| format!("{} {unit}", number_3(v * scale));
            Line {
                cells: vec![
                    name.to_owned(),
                    value.map_or_else(|| "runs away".to_owned(), text),
                    limit.map_or_else(|| "—".to_owned(), text),
                ],
                fails: limit.is_some_and(|l| value.is_none_or(|v| v > l)),
                ..Line::default()
            }
        };
        let lines = [
            limited("Resistance, one ribbon", Some(found.stretched_ohm), limits.resistance_ohm, "Ω", 1.0),
            limited(
                "Voltage drop, all passes",
                Some(found.voltage_drop_mv),
                limits.voltage_drop_mv,
                "mV",
                1.0,
            ),
            limited(
                "Rise over the surroundings",
                found.temperature_rise_k,
                limits.temperature_rise_k,
                "K",
                1.0,
            ),
        ];
        table(ui, &["", "at the target", "limit"], &lines, look, out);
        ui.add_space(4.0);
        fact(ui, "Resistance at rest, without current", &ohms(found.rest_ohm), theme);
        let change = format!("{} %", number_3(found.change_percent));
        fact(ui, "Change by the stretch alone", &change, theme);
        fact(ui, "Mean strain along the trace", &format!("{} %", number_3(found.mean_strain_percent)), theme);
        let squares = format!("{} × {}", number_3(found.squares), ohms(found.sheet_resistance_ohm));
        fact(ui, "Squares × resistance of one", &squares, theme);
        fact(ui, "Film over bulk resistivity", &format!("{}×", number_3(found.film_factor)), theme);
        let heat = if found.power_mw < 0.1 {
            format!("{} µW", number_3(1e3 * found.power_mw))
        } else {
            format!("{} mW", number_3(found.power_mw))
        };
        fact(ui, "Heat of one ribbon", &heat, theme);
        fact(ui, "Current density", &format!("{} A/mm²", number_3(found.density_a_per_mm2)), theme);
        let over = look.design.trace.as_ref().is_some_and(|t| t.current_ma > found.rated_ma);
        let ink = if over { theme.bad } else { theme.text };
        fact_in(ui, "Rated by the heat balance", &format!("{} mA", number_3(found.rated_ma)), ink, theme);
        let board = found
            .board_fit_ma
            .map_or_else(|| "outside its data".to_owned(), |current| format!("{} mA", number_3(current)));
        fact(ui, "Rated by the fit for rigid boards", &board, theme);
    }

    fn model(&self) -> (&str, &[String]) {
        (&self.found.model, &self.found.validity)
    }

    fn table(&self) -> String {
        copied::trace(self.found)
    }
}

/// The cross-section with the conductor marked: heights in proportion as far as thin layers can be seen.
fn section(ui: &Ui, rect: Rect, found: &TraceResult, look: &Look<'_>) {
    let theme = look.theme;
    let font = small_font(ui);
    let design = look.design;
    let layers = &design.stack.layers;
    let painter = ui.painter();
    painter.text(rect.left_top(), Align2::LEFT_TOP, "section", font.clone(), theme.muted);
    let body = Rect::from_min_max(
        rect.min + vec2(2.0, font.size + 6.0),
        rect.max - vec2(2.0, 2.0 * font.size + 8.0),
    );
    let total: f64 = layers.iter().map(|l| l.thickness_um.max(0.0)).sum();
    let least = LEAST_LAYER.min(body.height() / layers.len().max(1) as f32);
    let spare = (body.height() - least * layers.len() as f32).max(0.0);
    let ribbon = design.shape.width_um.max(1e-9);
    let mut bottom = body.bottom();
    let mut conductor = Rect::NOTHING;
    for (i, layer) in layers.iter().enumerate() {
        let share = if total > 0.0 { layer.thickness_um.max(0.0) / total } else { 0.0 };
        let height = least + spare * share as f32;
        let row = Rect::from_min_max(pos2(body.left(), bottom - height), pos2(body.right(), bottom));
        if let Some(sides) = layer.sides.as_deref().and_then(|name| look.layer(name)) {
            painter.rect_filled(row, 0.0, look.ground(Some(sides)));
        }
        let part = layer.width_um.map_or(1.0, |w| (w / ribbon).clamp(0.0, 1.0)) as f32;
        let shift = -(layer.offset_um / ribbon).clamp(-0.5, 0.5) as f32 * body.width();
        let width = (part * body.width()).max(4.0);
        let at = Rect::from_center_size(pos2(body.center().x + shift, row.center().y), vec2(width, height));
        let at = at.intersect(row);
        painter.rect_filled(at, 0.0, look.ground(Some(i)));
        painter.rect_stroke(at, 0.0, Stroke::new(0.5, theme.line_strong), StrokeKind::Middle);
        if layer.name == found.layer {
            conductor = at;
        }
        bottom -= height;
    }
    painter.rect_stroke(body, 0.0, Stroke::new(1.0, theme.line_strong), StrokeKind::Outside);
    if conductor.is_positive() {
        let grown = conductor.expand(1.0);
        let lines = crate::window::colour_scale::hatch(
            conductor,
            3.0,
            crate::window::colour_scale::Lean::Rising,
            Stroke::new(0.9, theme.warn),
            |_| true,
        );
        painter.extend(lines);
        painter.rect_stroke(grown, 0.0, Stroke::new(1.5, theme.warn), StrokeKind::Middle);
    }
    let size = format!("{} × {}", length_text(found.width_um), length_text(found.thickness_um));
    let at = pos2(body.left(), body.bottom() + 4.0);
    let name = crate::window::inputs::section::shortened(ui, &found.layer, &font, body.width());
    painter.text(at, Align2::LEFT_TOP, name, font.clone(), theme.warn);
    painter.text(at + vec2(0.0, font.size + 2.0), Align2::LEFT_TOP, size, font, theme.muted);
}

/// The current asked, and those that the two models allow.
fn currents(ui: &Ui, rect: Rect, found: &TraceResult, trace: &Trace, look: &Look<'_>) {
    let theme = look.theme;
    let font = small_font(ui);
    let painter = ui.painter();
    let rise = look.design.limits.temperature_rise_k.unwrap_or(USUAL_RISE_K);
    let words = format!("current, mA, for a rise of {} K", number_3(rise));
    painter.text(rect.left_top(), Align2::LEFT_TOP, words, font.clone(), theme.muted);
    let rows = [("heat balance", Some(found.rated_ma)), ("board fit", found.board_fit_ma)];
    let names = rows.iter().map(|r| width(painter, r.0, &font)).fold(0.0, f32::max) + 10.0;
    let area = Rect::from_min_max(
        pos2(rect.left() + names, rect.top() + 2.0 * font.size + 10.0),
        pos2(rect.right() - 4.0, rect.bottom() - font.size - 10.0),
    );
    let values = || [Some(trace.current_ma), Some(found.rated_ma), found.board_fit_ma].into_iter().flatten();
    let values = || values().filter(|v| v.is_finite() && *v > 0.0);
    let low = 10f64.powf((0.7 * values().fold(f64::INFINITY, f64::min)).log10().floor());
    let high = 10f64.powf((1.2 * values().fold(low, f64::max)).log10().ceil());
    if !(low.is_finite() && low > 0.0) {
        return;
    }
    let axis = Axis::new(low..=high.max(10.0 * low), area.left(), area.right()).logarithmic();
    painter.rect_filled(area, 0.0, theme.canvas);
    let ticks = Ticks::new(&axis, 3.0 * font.size, 1.0);
    for (x, _) in &ticks.marks {
        painter.vline(*x, area.y_range(), Stroke::new(1.0, theme.grid));
    }
    ticks.paint_below(painter, area, rect, &font, theme);
    let now = axis.screen(trace.current_ma.max(low));
    painter.vline(now, area.y_range(), Stroke::new(1.4, theme.warn));
    let tip = pos2(now, area.top());
    let mark = vec![tip + vec2(-4.0, -5.0), tip + vec2(4.0, -5.0), tip];
    painter.add(Shape::convex_polygon(mark, theme.warn, Stroke::NONE));
    let asked = format!("{} mA asked", number_3(trace.current_ma));
    let galley = painter.layout_no_wrap(asked, font.clone(), theme.warn);
    let left = (now - 0.5 * galley.size().x).min(rect.right() - galley.size().x).max(area.left());
    painter.galley(pos2(left, area.top() - 6.0 - galley.size().y), galley, theme.warn);
    let row = area.height() / rows.len() as f32;
    for (i, (name, rated)) in rows.into_iter().enumerate() {
        let y = area.top() + (i as f32 + 0.5) * row;
        painter.text(pos2(area.left() - 6.0, y), Align2::RIGHT_CENTER, name, font.clone(), theme.text);
        let Some(rated) = rated.filter(|r| *r > 0.0) else {
            let galley = painter.layout_no_wrap("outside its data".to_owned(), font.clone(), theme.muted);
            let at = Align2::LEFT_CENTER.anchor_size(pos2(area.left() + 6.0, y), galley.size());
            painter.rect_filled(at, 0.0, theme.canvas);
            painter.galley(at.min, galley, theme.muted);
            continue;
        };
        // The heat balance decides; the fit is a second opinion.
        let (ink, half) = if i == 0 { (theme.accent, 5.0) } else { (theme.line_strong, 4.0) };
        let x = axis.screen(rated);
        let bar = Rect::from_min_max(pos2(area.left(), y - half), pos2(x, y + half));
        painter.rect_filled(bar, 1.0, ink.gamma_multiply(0.45));
        painter.vline(x, y - half - 2.0..=y + half + 2.0, Stroke::new(2.0, ink));
        let words = number_3(rated);
        let needs = width(painter, &words, &font) + 5.0;
        let (at, anchor) = if x + needs <= area.right() {
            (x + 4.0, Align2::LEFT_CENTER)
        } else {
            (x - 4.0, Align2::RIGHT_CENTER)
        };
        painter.text(pos2(at, y), anchor, words, font.clone(), theme.text);
    }
    painter.rect_stroke(area, 0.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
    let response = ui.interact(area, ui.scope_id().with("rated currents"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, "rated currents"));
    if let Some(pointer) = response.hover_pos().filter(|_| response.hovered()) {
        let board = found
            .board_fit_ma
            .map_or_else(|| "outside its data".to_owned(), |c| format!("{} mA", number_3(c)));
        let lines = [
            (format!("asked {} mA", number_3(trace.current_ma)), theme.warn),
            (format!("heat balance {} mA", number_3(found.rated_ma)), theme.accent),
            (format!("fit for rigid boards {board}"), theme.muted),
        ];
        readout(ui, theme, pointer, &lines);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn resistances_choose_their_unit() {
        assert_eq!(ohms(12.34), "12.3 Ω");
        assert_eq!(ohms(0.0123), "12.3 mΩ");
        assert_eq!(ohms(4700.0), "4.7 kΩ");
    }
}
