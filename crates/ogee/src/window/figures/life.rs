//! Life: cycles to failure of metals with their band, and what survives of brittle layers.

use super::caption::{Line, fact, fact_in, head, table};
use super::copied;
use super::frame::{patterned, readout};
use super::look::{Figure, Look, say};
use super::wrap::number_3;
use crate::session::Command;
use crate::window::axes::{Axis, decade_text, power_text};
use crate::window::inputs::section::shortened;
use crate::window::plot::{Ticks, small_font};
use crate::window::theme::Theme;
use egui::{Align2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use ogee_design::{LifeLayer, LifeResult};

/// Least share of failing devices that is drawn.
const LEAST_SHARE: f64 = 1e-9;
/// Least height of a row, points.
const LEAST_ROW: f32 = 18.0;
/// Few rows do not become thick slabs, points.
const HIGHEST_ROW: f32 = 36.0;
/// Height of the numbers below an axis, points.
const FOOT: f32 = 18.0;
/// Height of words above and numbers below the rows, points.
const AROUND_ROWS: f32 = FOOT + 24.0;

/// The figure of a life.
#[derive(Debug)]
pub(super) struct LifeFigure<'a> {
    /// What is shown.
    pub(super) found: &'a LifeResult,
}

/// A block of cycles of one metal layer.
struct Row<'a> {
    layer: &'a LifeLayer,
    block: usize,
    cycles: [f64; 3],
}

/// A count of cycles in words: `5·10⁵`.
fn count(value: f64) -> String {
    if value < 1e4 { number_3(value) } else { power_text(value) }
}

impl LifeFigure<'_> {
    fn rows(&self) -> Vec<Row<'_>> {
        let blocks = self.found.layers.iter().flat_map(|l| l.blocks.iter().enumerate().map(move |b| (l, b)));
        blocks
            .filter_map(|(layer, (block, b))| Some(Row { layer, block, cycles: b.cycles? }))
            .filter(|row| row.cycles.iter().all(|c| c.is_finite() && *c > 0.0))
            .collect()
    }

    fn height(&self, row: f32) -> f32 {
        let part = |rows: usize| if rows == 0 { 0.0 } else { row * rows as f32 + AROUND_ROWS };
        (part(self.rows().len()) + part(self.brittle().len())).max(40.0)
    }

    fn brittle(&self) -> Vec<&LifeLayer> {
        self.found.layers.iter().filter(|l| l.survival_percent.is_some()).collect()
    }
}

impl Figure for LifeFigure<'_> {
    fn title(&self, look: &Look<'_>) -> String {
        let found = self.found;
        let asked = count(found.cycles_asked);
        let mut parts = Vec::new();
        let limit = look.design.life.as_ref().map_or(1.0, |l| l.damage_limit);
        if let Some(damage) = found.damage {
            let lasts = if damage <= limit { "lasts" } else { "does not last" };
            let shares = format!("{} of {}", number_3(damage), number_3(limit));
            parts.push(format!("Metal {lasts} {asked} cycles, damage {shares}"));
        }
        if let Some(survival) = found.survival_percent {
            let start = if parts.is_empty() { "Brittle" } else { "brittle" };
            parts.push(format!("{start} layers hold in {} %", percent_text(survival)));
        }
        if parts.is_empty() {
            let is_polymer = found.layers.iter().any(|l| l.cycled_strain_percent.is_some());
            let known = if is_polymer {
                "only a rule of thumb for the polymer"
            } else {
                "no layer has data of its life"
            };
            return format!("{asked} cycles asked: {known}");
        }
        parts.join("; ")
    }

    fn least_height(&self) -> f32 {
        self.height(LEAST_ROW)
    }

    fn most_height(&self) -> f32 {
        self.height(HIGHEST_ROW)
    }

    fn plot(&mut self, ui: &mut Ui, rect: Rect, look: &Look<'_>, out: &mut Vec<Command>) {
        let (rows, brittle) = (self.rows(), self.brittle());
        let all = rows.len() + brittle.len();
        if all == 0 {
            let words = "No layer has data of its life: give one a scatter of strength, a strain-life or a foil ductility";
            say(ui, rect, words, look.theme);
            return;
        }
        let (upper, lower) = if brittle.is_empty() {
            (rect, Rect::NOTHING)
        } else if rows.is_empty() {
            (Rect::NOTHING, rect)
        } else {
            // Each gets what it needs; where that is too much, its share of the rows.
            let needed = |rows: usize| HIGHEST_ROW * rows as f32 + AROUND_ROWS;
            let share = rect.height() * (rows.len() as f32 / all as f32).clamp(0.4, 0.6);
            let upper = needed(rows.len()).min(share.max(rect.height() - needed(brittle.len())));
            rect.split_top_bottom_at_y(rect.top() + upper)
        };
        if !rows.is_empty() {
            cycles(ui, upper, &rows, look, out);
        }
        if !brittle.is_empty() {
            survival(ui, lower, &brittle, look, out);
        }
    }

    fn caption(&mut self, ui: &mut Ui, look: &Look<'_>, out: &mut Vec<Command>) {
        let theme = look.theme;
        let found = self.found;
        if let Some([careful, typical, best]) = found.repeats {
            let words = format!("{} · {} · {}", number_3(careful), number_3(typical), number_3(best));
            fact(ui, "Times the duty list: careful, typical, best", &words, theme);
        }
        if let Some(damage) = found.damage {
            let limit = look.design.life.as_ref().map_or(1.0, |l| l.damage_limit);
            let ink = if damage <= limit { theme.text } else { theme.bad };
            let words = format!("{} of {}", number_3(damage), number_3(limit));
            fact_in(ui, "Damage summed over the blocks", &words, ink, theme);
        }
        fact(ui, "Time under stress", &format!("{} h", number_3(found.hours)), theme);
        for layer in self.brittle() {
            brittle_facts(ui, layer, look);
        }
        polymer_facts(ui, found, theme);
        let lines = block_lines(found, look);
        if !lines.is_empty() {
            head(ui, "Blocks of cycles", theme);
            table(ui, &["", "amplitude", "mean", "cycles", "damage"], &lines, look, out);
        }
    }

    fn model(&self) -> (&str, &[String]) {
        (&self.found.model, &self.found.validity)
    }

    fn table(&self) -> String {
        copied::life(self.found)
    }
}

fn brittle_facts(ui: &mut Ui, layer: &LifeLayer, look: &Look<'_>) {
    let theme = look.theme;
    head(ui, &format!("{}: {}", layer.name, layer.rule), theme);
    if let (Some(stress), Some(allowed)) = (layer.stress_mpa, layer.allowed_stress_mpa) {
        let ink = if stress <= allowed { theme.text } else { theme.bad };
        let words = format!("{} of {} MPa", number_3(stress), number_3(allowed));
        fact_in(ui, "Greatest tension", &words, ink, theme);
    }
    if let Some(length) = layer.stressed_length_um {
        fact(ui, "Stressed edge", &crate::window::axes::length_text(length), theme);
    }
    if let (Some(share), Some(allowed)) = (layer.share_of_proof, layer.allowed_share_of_proof) {
        let ink = if share <= allowed { theme.text } else { theme.bad };
        let words = format!("{} of {}", number_3(share), number_3(allowed));
        fact_in(ui, "Share of the proof stress", &words, ink, theme);
    }
}

/// Glassy polymers: the strain of the cycles against half the yield strain.
fn polymer_facts(ui: &mut Ui, found: &LifeResult, theme: &Theme) {
    let mut is_headed = false;
    for layer in &found.layers {
        let (Some(strain), Some(allowed)) = (layer.cycled_strain_percent, layer.allowed_cycled_percent)
        else {
            continue;
        };
        if !std::mem::replace(&mut is_headed, true) {
            head(ui, "Greatest strain of the cycles, of half the yield strain (rule of thumb)", theme);
        }
        let ink = if strain <= allowed { theme.text } else { theme.bad };
        let words = format!("{} of {} %", number_3(strain), number_3(allowed));
        fact_in(ui, &layer.name, &words, ink, theme);
    }
}

fn block_lines(found: &LifeResult, look: &Look<'_>) -> Vec<Line> {
    let limit = look.design.life.as_ref().map_or(1.0, |l| l.damage_limit);
    let blocks = found.layers.iter().flat_map(|l| l.blocks.iter().enumerate().map(move |b| (l, b)));
    blocks
        .map(|(layer, (i, block))| {
            let dash = || "—".to_owned();
            let name =
                if layer.blocks.len() > 1 { format!("{} {}", layer.name, i + 1) } else { layer.name.clone() };
            Line {
                cells: vec![
                    name,
                    format!("{} %", number_3(block.amplitude_percent)),
                    format!("{} %", number_3(block.mean_percent)),
                    block.cycles.map_or_else(dash, |c| count(c[1])),
                    block.damage.map_or_else(dash, number_3),
                ],
                layer: look.layer(&layer.name),
                fails: block.damage.is_some_and(|d| d > limit),
                hover: format!("{}, block {}: {}\nat {}", layer.name, i + 1, layer.rule, layer.place.words),
            }
        })
        .collect()
}

/// A share in per cent with the digits that its distance from 100 needs.
fn percent_text(percent: f64) -> String {
    let missing = 100.0 - percent;
    if missing <= 0.0 || missing >= 1.0 {
        return number_3(percent);
    }
    let places = (1.0 - missing.log10().floor()).clamp(1.0, 9.0) as usize;
    let text = format!("{percent:.places$}");
    // Never rounded up to a certainty.
    if text.starts_with("100") { format!("over 99.{}", "9".repeat(9)) } else { text }
}

/// Where the rows of a list stand: names, the framed part, the axis.
struct Place {
    area: Rect,
    names: egui::Rangef,
    row: f32,
}

fn place(rect: Rect, rows: usize, top: f32) -> Place {
    let names = (0.3 * rect.width()).clamp(60.0, 170.0);
    let least = pos2(rect.left() + names, rect.top() + top);
    let room = (rect.height() - top - FOOT).max(LEAST_ROW);
    let height = room.min(HIGHEST_ROW * rows as f32);
    let area = Rect::from_min_max(least, pos2(rect.right() - 10.0, least.y + height));
    Place { area, names: egui::Rangef::new(rect.left(), area.left() - 6.0), row: height / rows as f32 }
}

/// The name of a row, which selects its layer.
fn name(
    ui: &Ui,
    at: &Place,
    i: usize,
    text: &str,
    layer: &LifeLayer,
    look: &Look<'_>,
    out: &mut Vec<Command>,
) {
    let font = small_font(ui);
    let y = at.area.top() + (i as f32 + 0.5) * at.row;
    let index = look.layer(&layer.name);
    let is_selected = index.is_some() && index == look.selected;
    let rect = Rect::from_x_y_ranges(at.names, y - 7.0..=y + 7.0);
    let hit = ui.interact(rect, ui.scope_id().with(("life of", text, i)), Sense::click());
    hit.widget_info(|| WidgetInfo::selected(Role::Button, true, is_selected, format!("life of {text}")));
    let is_lit = hit.hovered() || hit.has_focus();
    if is_lit {
        *look.place.borrow_mut() = Some(layer.place.clone());
    }
    let ink = if is_selected || is_lit { look.theme.accent } else { look.theme.text };
    let words = shortened(ui, text, &font, at.names.span());
    ui.painter().text(pos2(at.names.max, y), Align2::RIGHT_CENTER, words, font, ink);
    if hit.clicked() {
        out.push(Command::SelectLayer(index.filter(|_| !is_selected)));
    }
    hit.on_hover_text(format!("{text}: {}, at {}", layer.rule, layer.place.words));
}

/// Cycles to failure on a logarithmic axis, with the cycles asked.
fn cycles(ui: &Ui, rect: Rect, rows: &[Row<'_>], look: &Look<'_>, out: &mut Vec<Command>) {
    let theme = look.theme;
    let font = small_font(ui);
    let asked = |block: usize| look.design.life.as_ref().and_then(|l| Some(l.cycles.get(block)?.count));
    let values = || rows.iter().flat_map(|r| r.cycles.into_iter().chain(asked(r.block))).filter(|v| *v > 0.0);
    let low = 10f64.powf(values().fold(f64::INFINITY, f64::min).log10().floor());
    let high = 10f64.powf(values().fold(1.0, f64::max).log10().ceil()).max(10.0 * low);
    let at = place(rect, rows.len(), 18.0);
    let axis = Axis::new(low..=high, at.area.left(), at.area.right()).logarithmic();
    let painter = ui.painter();
    let caption = pos2(rect.left(), rect.top() + 8.0);
    let words = "cycles to failure: careful – typical – best";
    painter.text(caption, Align2::LEFT_CENTER, words, font.clone(), theme.muted);
    painter.rect_filled(at.area, 0.0, theme.canvas);
    let ticks = Ticks::new(&axis, 3.4 * font.size, 1.0);
    for (x, _) in &ticks.marks {
        painter.vline(*x, at.area.y_range(), Stroke::new(1.0, theme.grid));
    }
    ticks.paint_below(painter, at.area, rect, &font, theme);
    let response = ui.interact(at.area, ui.scope_id().with("cycles to failure"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, "cycles to failure"));
    for (i, row) in rows.iter().enumerate() {
        let text = if row.layer.blocks.len() > 1 {
            format!("block {}, {}", row.block + 1, row.layer.name)
        } else {
            row.layer.name.clone()
        };
        name(ui, &at, i, &text, row.layer, look, out);
        let y = at.area.top() + (i as f32 + 0.5) * at.row;
        let [careful, typical, best] = row.cycles.map(|c| axis.screen(c));
        let half = (0.25 * at.row).min(6.0);
        let fails = asked(row.block).is_some_and(|asked| row.cycles[1] < asked);
        let ink = if fails { theme.bad } else { theme.accent };
        let band = Rect::from_min_max(pos2(careful, y - half), pos2(best.max(careful + 1.0), y + half));
        painter.rect_filled(band, 2.0, ink.gamma_multiply(0.28));
        painter.rect_stroke(band, 2.0, Stroke::new(1.0, ink), StrokeKind::Inside);
        painter.vline(typical, y - half - 2.0..=y + half + 2.0, Stroke::new(2.2, ink));
        if let Some(count) = asked(row.block) {
            let x = axis.screen(count);
            let rows = at.area.top() + i as f32 * at.row..=at.area.top() + (i + 1) as f32 * at.row;
            patterned(
                painter,
                vec![pos2(x, *rows.start()), pos2(x, *rows.end())],
                Stroke::new(1.4, theme.warn),
                1,
            );
            let tip = pos2(x, *rows.start());
            let mark = vec![tip + vec2(-4.0, -1.0), tip + vec2(4.0, -1.0), tip + vec2(0.0, 5.0)];
            painter.add(Shape::convex_polygon(mark, theme.warn, Stroke::NONE));
        }
    }
    painter.rect_stroke(at.area, 0.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
    if asked(0).is_some() {
        let right = pos2(rect.right() - 8.0, rect.top() + 8.0);
        let free = rect.width() - crate::window::plot::width(painter, words, &font) - 20.0;
        if free > 50.0 {
            painter.text(right, Align2::RIGHT_CENTER, "▼ asked", font, theme.warn);
        }
    }
    if let Some(pointer) = response.hover_pos().filter(|_| response.hovered()) {
        let i = ((pointer.y - at.area.top()) / at.row).floor().max(0.0) as usize;
        let Some(row) = rows.get(i) else { return };
        *look.place.borrow_mut() = Some(row.layer.place.clone());
        let [careful, typical, best] = row.cycles.map(count);
        let mut lines = vec![
            (format!("{}: {}", row.layer.name, row.layer.rule), theme.text),
            (format!("typically {typical} cycles"), theme.accent),
            (format!("careful {careful}, at best {best}"), theme.muted),
        ];
        lines.extend(asked(row.block).map(|c| (format!("asked {}", count(c)), theme.warn)));
        readout(ui, theme, pointer, &lines);
    }
}

/// Share of devices in which a brittle layer breaks, on a logarithmic axis.
fn survival(ui: &Ui, rect: Rect, layers: &[&LifeLayer], look: &Look<'_>, out: &mut Vec<Command>) {
    let theme = look.theme;
    let font = small_font(ui);
    let at = place(rect, layers.len(), 18.0);
    let axis = Axis::new(LEAST_SHARE..=1.0, at.area.left(), at.area.right()).logarithmic();
    let painter = ui.painter();
    let caption = pos2(rect.left(), rect.top() + 8.0);
    let words = "share of devices in which the layer breaks";
    painter.text(caption, Align2::LEFT_CENTER, words, font.clone(), theme.muted);
    painter.rect_filled(at.area, 0.0, theme.canvas);
    let ticks = Ticks::new(&axis, 3.4 * font.size, 1.0);
    for (x, _) in &ticks.marks {
        painter.vline(*x, at.area.y_range(), Stroke::new(1.0, theme.grid));
    }
    ticks.paint_below(painter, at.area, rect, &font, theme);
    let asked = look.design.life.as_ref().map(|l| 1.0 - 0.01 * l.survival_percent).filter(|v| *v > 0.0);
    if let Some(asked) = asked {
        let x = axis.screen(asked);
        patterned(
            painter,
            vec![pos2(x, at.area.top()), pos2(x, at.area.bottom())],
            Stroke::new(1.4, theme.warn),
            1,
        );
        let words = format!("{} allowed", decade_text(asked));
        painter.text(
            pos2(rect.right() - 8.0, rect.top() + 8.0),
            Align2::RIGHT_CENTER,
            words,
            font.clone(),
            theme.warn,
        );
    }
    for (i, layer) in layers.iter().enumerate() {
        name(ui, &at, i, &layer.name, layer, look, out);
        let y = at.area.top() + (i as f32 + 0.5) * at.row;
        let survives = layer.survival_percent.unwrap_or(0.0);
        let share = (1.0 - 0.01 * survives).clamp(0.0, 1.0);
        let fails = asked.is_some_and(|asked| share > asked);
        let ink = if fails { theme.bad } else { theme.accent };
        let half = (0.36 * at.row).min(8.0);
        let x = axis.screen(share.max(LEAST_SHARE)).max(at.area.left() + 1.0);
        let bar = Rect::from_min_max(pos2(at.area.left(), y - half), pos2(x, y + half));
        painter.rect_filled(bar, 1.0, ink);
        let words = if share < LEAST_SHARE {
            "below 10⁻⁹".to_owned()
        } else {
            format!("{}, {} % survive", power_text(share), percent_text(survives))
        };
        let needs = |words: &str| crate::window::plot::width(painter, words, &font) + 10.0;
        let is_long = x + needs(&words) > at.area.right() && x - at.area.left() < needs(&words);
        let words = if is_long { power_text(share) } else { words };
        let room = needs(&words);
        if x - at.area.left() >= room {
            painter.text(pos2(x - 5.0, y), Align2::RIGHT_CENTER, words, font.clone(), theme.on_accent);
        } else {
            let ground = Rect::from_min_max(pos2(x + 3.0, y - half), pos2(x + room, y + half));
            painter.rect_filled(ground, 0.0, theme.canvas);
            painter.text(pos2(x + 5.0, y), Align2::LEFT_CENTER, words, font.clone(), theme.text);
        }
    }
    painter.rect_stroke(at.area, 0.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn survival_is_never_rounded_up_to_a_certainty() {
        assert_eq!(percent_text(99.0), "99");
        assert_eq!(percent_text(99.93), "99.930");
        assert_eq!(percent_text(99.999_987), "99.999987");
        assert_eq!(percent_text(54.321), "54.3");
        assert_eq!(percent_text(100.0), "100");
        assert!(percent_text(100.0 - 1e-12).starts_with("over 99.9"));
    }
}
