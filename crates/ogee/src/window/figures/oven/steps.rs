//! The step diagram: stress of every layer, temperature and bow below it.

use super::all;
use crate::session::Command;
use crate::window::axes::length_text;
use crate::window::figures::frame::{Around, Framed, Name, names, patterned, range_with_zero, readout};
use crate::window::figures::look::Look;
use crate::window::figures::wrap::number_3;
use crate::window::inputs::section::shortened;
use crate::window::plot::{small_font, width};
use egui::{Align2, Painter, Pos2, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2};
use ogee_design::{ThermalLayer, ThermalResult, ThermalStep};

/// How near to a line, points, a click selects its layer.
const REACH: f32 = 7.0;

/// Columns on the screen: one for each step, then those of the use.
#[derive(Clone, Copy, Debug)]
struct Columns {
    left: f32,
    width: f32,
    count: usize,
}

impl Columns {
    fn range(self, i: usize) -> egui::Rangef {
        let left = self.left + i as f32 * self.width;
        egui::Rangef::new(left, left + self.width)
    }

    fn at(self, x: f32) -> Option<usize> {
        let i = ((x - self.left) / self.width).floor();
        (i >= 0.0 && (i as usize) < self.count).then_some(i as usize)
    }
}

fn mean(layer: &ThermalLayer) -> f64 {
    0.5 * (layer.stress_mpa[0] + layer.stress_mpa[1])
}

/// A stress in MPa; what is left of a difference of large numbers is none.
fn stress_text(stress_mpa: f64) -> String {
    if stress_mpa.abs() < 0.005 { "0".to_owned() } else { number_3(stress_mpa) }
}

/// The layers of the design that occur, bottom to top.
fn layers(found: &ThermalResult, look: &Look<'_>) -> Vec<(usize, String)> {
    let occurs = |name: &str| all(found).any(|step| step.layers.iter().any(|l| l.name == name));
    let design = look.design.stack.layers.iter().enumerate();
    design.filter(|(_, l)| occurs(&l.name)).map(|(i, l)| (i, l.name.clone())).collect()
}

/// The step that frees the ribbon: the first without a bow of the handle.
fn release(found: &ThermalResult) -> Option<usize> {
    found.released.then(|| found.steps.iter().position(|s| s.bow_um.is_none())).flatten()
}

/// Paints the diagram into `whole`.
pub(super) fn paint(ui: &Ui, whole: Rect, found: &ThermalResult, look: &Look<'_>, out: &mut Vec<Command>) {
    let theme = look.theme;
    let font = small_font(ui);
    let steps: Vec<&ThermalStep> = all(found).collect();
    if steps.is_empty() {
        return;
    }
    let stresses = steps.iter().flat_map(|s| s.layers.iter().flat_map(|l| l.stress_mpa));
    let column = (0.24 * whole.width()).clamp(62.0, 150.0);
    let strip = (0.17 * whole.height()).clamp(26.0, 46.0);
    let foot = font.size + 5.0;
    let around = Around { left: "stress, MPa", below: "", right: column };
    let upper = Rect::from_min_max(whole.min, pos2(whole.right(), whole.bottom() - 2.0 * strip - foot));
    // Some room, so that no line runs along the frame.
    let (range, close) = stress_range(stresses, &steps, look);
    let [low, high] = range.map(|v| 1.05 * v);
    let frame = Framed::new(ui, upper, [0.0, 1.0], [low, high], around);
    let columns = Columns {
        left: frame.area.left(),
        width: frame.area.width() / steps.len() as f32,
        count: steps.len(),
    };
    let temperatures =
        Rect::from_x_y_ranges(frame.area.x_range(), upper.bottom() + 2.0..=upper.bottom() + strip - 2.0);
    let bows = temperatures.translate(egui::vec2(0.0, strip));
    let painter = ui.painter();
    let use_from = columns.range(found.steps.len().min(steps.len() - 1)).min;
    for area in [frame.area, temperatures, bows] {
        painter.rect_filled(area, 0.0, theme.canvas);
        if !found.service.is_empty() {
            let band = Rect::from_x_y_ranges(use_from..=area.right(), area.y_range());
            painter.rect_filled(band, 0.0, theme.accent_soft.gamma_multiply(0.6));
        }
    }
    frame.paint_axes(ui, around, theme);
    let clip = frame.clip(ui);
    clip.hline(frame.area.x_range(), frame.y.screen(0.0), Stroke::new(1.0, theme.line_strong));
    let mut ends = Vec::new();
    let list = layers(found, look);
    for (layer, name) in &list {
        ends.push(stress_line(&clip, &frame, columns, &steps, *layer, name, look));
    }
    frame.paint_border(ui, theme);
    if let Some(name) = close {
        let words = format!("scaled to {name}");
        let galley = painter.layout_no_wrap(words, font.clone(), theme.accent);
        let word = Align2::LEFT_TOP.anchor_size(frame.area.min + egui::vec2(5.0, 2.0), galley.size());
        painter.rect_filled(word, 0.0, theme.canvas.gamma_multiply(0.8));
        painter.galley(word.min, galley, theme.accent);
    }
    let temperature = |s: &ThermalStep| Some(s.temperature_c);
    strip_of(ui, temperatures, whole.left(), columns, &steps, "°C", &temperature, look);
    strip_of(ui, bows, whole.left(), columns, &steps, "bow, µm", &|s| s.bow_um, look);
    if let Some(i) = release(found) {
        let x = columns.range(i).min;
        painter.vline(x, frame.area.top()..=bows.bottom(), Stroke::new(1.2, theme.warn));
        // Where the lines are least likely: they crowd about zero.
        let is_low = frame.y.screen(0.0) < frame.area.center().y;
        let y = if is_low { frame.area.bottom() - font.size - 4.0 } else { frame.area.top() + 2.0 };
        let galley = painter.layout_no_wrap("released".to_owned(), font.clone(), theme.warn);
        let fits = frame.area.right() - x > galley.size().x + 6.0;
        let left = if fits { x + 4.0 } else { x - 4.0 - galley.size().x };
        let word = Rect::from_min_size(pos2(left, y), galley.size());
        painter.rect_filled(word, 0.0, theme.canvas.gamma_multiply(0.8));
        painter.galley(word.min, galley, theme.warn);
        curl(painter, bows, columns, i, &steps, look);
    }
    numbers(ui, columns, bows.bottom() + 2.0, &steps, found, look);
    let place = Rect::from_min_max(
        pos2(frame.area.right(), frame.area.top()),
        pos2(whole.right(), frame.area.bottom()),
    );
    let shown: Vec<Name> = list
        .iter()
        .zip(&ends)
        .map(|((layer, name), y)| Name { y: *y, text: name.clone(), ink: look.ink(*layer) })
        .collect();
    let places = names(ui, place, &shown, theme);
    let over = frame.area.union(bows);
    touch(ui, &frame, over, columns, &list, &places, &steps, found.steps.len(), look, out);
}

/// Range of stresses that is shown: that of all layers, or that of the selected one where it would be pressed flat
/// among the others; then with its name.
fn stress_range<'a>(
    all: impl Iterator<Item = f64>,
    steps: &[&'a ThermalStep],
    look: &Look<'_>,
) -> ([f64; 2], Option<&'a str>) {
    /// Share of the whole range below which a line counts as pressed flat.
    const FLAT: f64 = 0.25;
    let whole = range_with_zero(all);
    let size = |r: [f64; 2]| r[1] - r[0];
    let own = || steps.iter().flat_map(|s| &s.layers).filter(|l| look.layer(&l.name) == look.selected);
    let Some(name) = look.selected.and_then(|_| Some(own().next()?.name.as_str())) else {
        return (whole, None);
    };
    let close = range_with_zero(own().flat_map(|l| l.stress_mpa));
    if size(close) < FLAT * size(whole) { (close, Some(name)) } else { (whole, None) }
}

/// The line of one layer and the range between its faces; returns the height at which it ends.
fn stress_line(
    clip: &Painter,
    frame: &Framed,
    columns: Columns,
    steps: &[&ThermalStep],
    layer: usize,
    name: &str,
    look: &Look<'_>,
) -> f32 {
    let ink = look.ink(layer);
    let mut points: Vec<Pos2> = Vec::new();
    for (i, step) in steps.iter().enumerate() {
        let Some(found) = step.layers.iter().find(|l| l.name == name) else { continue };
        let x = columns.range(i);
        let [a, b] = found.stress_mpa.map(|s| frame.y.screen(s));
        if (a - b).abs() > 1.0 {
            let range = Rect::from_two_pos(pos2(x.min, a), pos2(x.max, b));
            clip.rect_filled(range, 0.0, ink.gamma_multiply(0.16));
        }
        let y = frame.y.screen(mean(found));
        points.extend([pos2(x.min, y), pos2(x.max, y)]);
    }
    let end = points.last().map_or(frame.area.center().y, |p| p.y);
    let is_selected = look.selected == Some(layer);
    patterned(clip, points, Stroke::new(if is_selected { 2.6 } else { 1.5 }, ink), layer);
    end
}

/// A low strip below the diagram with one more quantity.
#[expect(clippy::too_many_arguments, reason = "the one quantity, where it stands and what it is called")]
fn strip_of(
    ui: &Ui,
    area: Rect,
    left: f32,
    columns: Columns,
    steps: &[&ThermalStep],
    words: &str,
    value: &dyn Fn(&ThermalStep) -> Option<f64>,
    look: &Look<'_>,
) {
    let theme = look.theme;
    let font = small_font(ui);
    let painter = ui.painter();
    let [low, high] = range_with_zero(steps.iter().filter_map(|s| value(s)));
    let room = area.height() - font.size - 5.0;
    let y = |v: f64| area.bottom() - 2.0 - ((v - low) / (high - low)) as f32 * room.max(4.0);
    painter.text(pos2(left, area.center().y), Align2::LEFT_CENTER, words, font.clone(), theme.muted);
    painter.hline(area.x_range(), y(0.0), Stroke::new(1.0, theme.grid));
    let shown = || steps.iter().enumerate().filter_map(|(i, step)| Some((columns.range(i), value(step)?)));
    let points = shown().flat_map(|(x, v)| [pos2(x.min, y(v)), pos2(x.max, y(v))]).collect();
    painter.line(points, Stroke::new(1.3, theme.muted));
    let mut free_from = f32::NEG_INFINITY;
    for (x, v) in shown() {
        let galley = painter.layout_no_wrap(number_3(v), font.clone(), theme.text);
        let half = 0.5 * galley.size().x;
        if x.center() - half < free_from {
            continue;
        }
        free_from = x.center() + half + 3.0;
        let at = pos2(x.center() - half, y(v) - 1.0 - galley.size().y);
        // A number wider than its step stands over its neighbours' line.
        let ground = Rect::from_min_size(at, galley.size()).shrink2(egui::vec2(0.0, 1.0));
        painter.rect_filled(ground, 0.0, theme.canvas.gamma_multiply(0.85));
        painter.galley(at, galley, theme.text);
    }
    painter.rect_stroke(area, 0.0, Stroke::new(1.0, theme.line), egui::StrokeKind::Inside);
}

/// What the ribbon curls to once it is free, where the strip of the bow has nothing to say.
fn curl(
    painter: &Painter,
    area: Rect,
    columns: Columns,
    from: usize,
    steps: &[&ThermalStep],
    look: &Look<'_>,
) {
    let font = egui::FontId::proportional(10.5);
    let Some(step) = steps.get(from) else { return };
    let place = Rect::from_x_y_ranges(columns.range(from).min..=area.right(), area.y_range());
    let words = if step.curvature_per_um.abs() < 1e-9 {
        "flat".to_owned()
    } else {
        format!("curls to {}", length_text(1.0 / step.curvature_per_um.abs()))
    };
    if width(painter, &words, &font) <= place.width() - 4.0 {
        painter.text(place.center(), Align2::CENTER_CENTER, words, font, look.theme.muted);
    }
}

/// Numbers of the steps, or their words where there is room.
fn numbers(
    ui: &Ui,
    columns: Columns,
    y: f32,
    steps: &[&ThermalStep],
    found: &ThermalResult,
    look: &Look<'_>,
) {
    let font = small_font(ui);
    for (i, step) in steps.iter().enumerate() {
        let is_use = i >= found.steps.len();
        let words = if columns.width > 66.0 {
            shortened(ui, &step.words, &font, columns.width - 6.0)
        } else {
            (i + 1).to_string()
        };
        let ink = if is_use { look.theme.accent } else { look.theme.muted };
        let at = pos2(columns.range(i).center(), y);
        ui.painter().text(at, Align2::CENTER_TOP, words, font.clone(), ink);
    }
}

/// Read-out of a step, and names that select their layer.
#[expect(clippy::too_many_arguments, reason = "the one place where names, steps and pointer meet")]
fn touch(
    ui: &Ui,
    frame: &Framed,
    area: Rect,
    columns: Columns,
    list: &[(usize, String)],
    places: &[Rect],
    steps: &[&ThermalStep],
    made: usize,
    look: &Look<'_>,
    out: &mut Vec<Command>,
) {
    let theme = look.theme;
    let response = ui.interact(area, ui.scope_id().with("stress by step"), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, "stress by step"));
    for ((layer, name), place) in list.iter().zip(places) {
        let hit = ui.interact(place.expand(1.0), response.id.with(layer), Sense::click());
        let is_selected = look.selected == Some(*layer);
        let label = format!("layer {} of the process: {name}", layer + 1);
        hit.widget_info(|| WidgetInfo::selected(Role::Button, true, is_selected, &label));
        if hit.clicked() {
            out.push(Command::SelectLayer((!is_selected).then_some(*layer)));
        }
        hit.on_hover_text(name);
    }
    let Some(at) = response.hover_pos().filter(|_| response.hovered()) else { return };
    let Some((i, step)) = columns.at(at.x).and_then(|i| Some((i, *steps.get(i)?))) else { return };
    let near = |layer: &&ThermalLayer| (frame.y.screen(mean(layer)) - at.y).abs();
    let nearest = step.layers.iter().min_by(|a, b| near(a).total_cmp(&near(b)));
    let nearest = nearest.filter(|l| near(l) < REACH).and_then(|l| look.layer(&l.name));
    if nearest.is_some() {
        ui.set_cursor_icon(egui::CursorIcon::PointingHand);
    }
    if response.clicked() {
        out.push(Command::SelectLayer(nearest.filter(|layer| look.selected != Some(*layer))));
    }
    let x = columns.range(i);
    let column = Rect::from_x_y_ranges(x, area.y_range());
    ui.painter().rect_filled(column, 0.0, theme.line_strong.gamma_multiply(0.14));
    let mut lines = vec![
        (format!("{} {}", i + 1, step.words), theme.text),
        (format!("{} °C", number_3(step.temperature_c)), theme.muted),
    ];
    for layer in step.layers.iter().rev() {
        let [bottom, top] = layer.stress_mpa;
        let text = if (bottom - top).abs() < 0.01 * bottom.abs().max(top.abs()).max(0.1) {
            format!("{} {} MPa", layer.name, stress_text(mean(layer)))
        } else {
            format!("{} {} … {} MPa, bottom to top", layer.name, stress_text(bottom), stress_text(top))
        };
        let index = look.layer(&layer.name);
        lines.push((text, index.map_or(theme.muted, |i| look.ink(i))));
    }
    lines.push(match step.bow_um {
        Some(bow) => (format!("bow {}", length_text(bow)), theme.muted),
        None if i >= made => ("held flat".to_owned(), theme.muted),
        None if step.curvature_per_um.abs() < 1e-9 => ("flat".to_owned(), theme.muted),
        None => (format!("curl radius {}", length_text(1.0 / step.curvature_per_um.abs())), theme.muted),
    });
    readout(ui, theme, at, &lines);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::figures::hand_made;

    #[test]
    fn the_release_is_the_first_step_without_a_bow() {
        let mut found = hand_made::thermal();
        let i = release(&found).unwrap();
        assert!(found.steps[i].words.contains("release"));
        found.released = false;
        assert_eq!(release(&found), None);
    }

    #[test]
    fn a_selected_layer_that_is_pressed_flat_gets_the_scale() {
        let found = hand_made::thermal();
        let steps: Vec<&ThermalStep> = all(&found).collect();
        let design = hand_made::design();
        let place = std::cell::RefCell::new(None);
        let theme = crate::window::Theme::LIGHT;
        let range = |selected: Option<usize>| {
            let look = Look { design: &design, selected, theme: &theme, place: &place };
            let stresses = steps.iter().flat_map(|s| s.layers.iter().flat_map(|l| l.stress_mpa));
            stress_range(stresses, &steps, &look)
        };
        let (whole, none) = range(None);
        assert_eq!((none, range(Some(2)).0), (None, whole), "the core is seen well among the others");
        let (close, name) = range(Some(4));
        assert_eq!(name, Some("soft encapsulation"));
        assert!(close[1] - close[0] < 0.1 * (whole[1] - whole[0]));
    }

    #[test]
    fn columns_are_found_again() {
        let columns = Columns { left: 10.0, width: 20.0, count: 3 };
        assert_eq!(columns.at(columns.range(2).center()), Some(2));
        assert_eq!((columns.at(9.0), columns.at(71.0)), (None, None));
    }
}
