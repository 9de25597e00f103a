//! The cross-section as a drawing: layers bottom to top, their names beside them, the neutral plane through them.

use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::{
    Align2, Color32, CursorIcon, FontId, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo,
    pos2, vec2,
};
use ogee_design::{Design, digits_text};

/// Height of the drawing, points.
const HEIGHT: f32 = 118.0;
/// A layer is never drawn lower than this, points.
const LEAST_LAYER: f32 = 7.0;
/// A narrower layer is never drawn narrower than this, points.
const LEAST_WIDTH: f32 = 10.0;
/// Distance of names, points.
const NAME: f32 = 14.0;

/// A layer on the screen.
struct Drawn {
    rect: Rect,
    fill: Color32,
    sides: Option<Color32>,
}

/// Draws the stack. Returns the layer that was clicked.
pub(super) fn section(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    let design = session.design();
    let (whole, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
    if !ui.is_rect_visible(whole) || design.stack.layers.is_empty() {
        return;
    }
    let body = Rect::from_min_max(
        whole.min + vec2(26.0, 4.0),
        pos2(whole.min.x + 26.0 + 0.42 * (whole.width() - 26.0), whole.max.y - 4.0),
    );
    let drawn = lay_out(design, body, theme);
    let painter = ui.painter();
    for layer in &drawn {
        let row = Rect::from_x_y_ranges(body.x_range(), layer.rect.y_range());
        if let Some(sides) = layer.sides {
            painter.rect_filled(row, 0.0, sides);
        }
        painter.rect_filled(layer.rect, 0.0, layer.fill);
    }
    let outline = Stroke::new(1.0, theme.line_strong);
    for layer in &drawn {
        painter.rect_stroke(layer.rect, 0.0, Stroke::new(0.5, theme.line_strong), StrokeKind::Middle);
    }
    let edge = drawn.iter().fold(Rect::NOTHING, |all, layer| all.union(layer.rect));
    painter.rect_stroke(
        Rect::from_x_y_ranges(body.x_range(), edge.y_range()),
        0.0,
        outline,
        StrokeKind::Outside,
    );

    let selected = session.selected_layer();
    let names = spread(&drawn.iter().map(|layer| layer.rect.center().y).collect::<Vec<_>>(), whole);
    for (index, ((layer, data), name_y)) in drawn.iter().zip(&design.stack.layers).zip(names).enumerate() {
        let is_selected = selected == Some(index);
        let from = pos2(body.right() + 3.0, layer.rect.center().y);
        let to = pos2(body.right() + 12.0, name_y);
        painter.line_segment([from, to], Stroke::new(1.0, theme.line_strong));
        let name_area = Rect::from_min_max(
            pos2(to.x + 2.0, name_y - NAME / 2.0),
            pos2(whole.right(), name_y + NAME / 2.0),
        );
        let id = ui.scope_id().with(("layer", index));
        let hit = ui.interact(name_area, id, Sense::click());
        let row = Rect::from_x_y_ranges(body.x_range(), layer.rect.y_range());
        let on_drawing = ui.interact(row, id.with("drawn"), Sense::click());
        let label = format!("Layer {}: {}", index + 1, data.name);
        hit.widget_info(|| WidgetInfo::selected(Role::Button, true, is_selected, &label));
        if hit.clicked() || on_drawing.clicked() {
            out.push(Command::SelectLayer((!is_selected).then_some(index)));
        }
        let hovered = hit.hovered() || on_drawing.hovered();
        if hovered {
            ui.set_cursor_icon(CursorIcon::PointingHand);
        }
        if is_selected || hovered || hit.has_focus() {
            let rect = Rect::from_x_y_ranges(layer.rect.x_range(), layer.rect.y_range());
            painter.rect_stroke(rect, 0.0, Stroke::new(1.5, theme.accent), StrokeKind::Middle);
        }
        let thickness = format!(" {} µm", digits_text(data.thickness_um, 3));
        let ink = if is_selected || hovered { theme.accent } else { theme.text };
        let font = FontId::proportional(11.0);
        let right = name_area.right();
        let measure =
            painter.text(pos2(right, name_y), Align2::RIGHT_CENTER, thickness, font.clone(), theme.muted);
        let room = measure.left() - name_area.left();
        let name = shortened(ui, &data.name, &font, room);
        painter.text(pos2(name_area.left(), name_y), Align2::LEFT_CENTER, name, font, ink);
        hit.on_hover_text(tooltip(design, index));
    }
    neutral_plane(ui, session, theme, &drawn, body);
}

/// The neutral plane as a dashed line, at its height within the layer that it runs through.
fn neutral_plane(ui: &Ui, session: &Session, theme: &Theme, drawn: &[Drawn], body: Rect) {
    let Some(found) = session.assessment().filter(|_| !session.assessment_is_stale()) else { return };
    let height = found.section.neutral_plane_um;
    let place = found.section.layers.iter().zip(drawn).find_map(|(layer, drawn)| {
        let share = (height - layer.bottom_um) / (layer.top_um - layer.bottom_um);
        (0.0..=1.0).contains(&share).then(|| drawn.rect.bottom() - share as f32 * drawn.rect.height())
    });
    let Some(y) = place else { return };
    let stroke = Stroke::new(1.2, theme.warn);
    let ends: [Pos2; 2] = [pos2(body.left() - 5.0, y), pos2(body.right() + 5.0, y)];
    ui.painter().extend(Shape::dashed_line(&ends, stroke, 5.0, 3.0));
    let font = FontId::proportional(10.0);
    ui.painter().text(pos2(body.left() - 7.0, y), Align2::RIGHT_CENTER, "n.p.", font, theme.warn);
}

/// Heights in proportion as far as thin layers can still be seen; widths of narrower layers likewise.
fn lay_out(design: &Design, body: Rect, theme: &Theme) -> Vec<Drawn> {
    let layers = &design.stack.layers;
    let thickness = |t: f64| if t.is_finite() && t > 0.0 { t } else { 0.0 };
    let total: f64 = layers.iter().map(|layer| thickness(layer.thickness_um)).sum();
    let spare = body.height() - LEAST_LAYER * layers.len() as f32;
    let heights = layers.iter().map(|layer| {
        let share = if total > 0.0 { thickness(layer.thickness_um) / total } else { 0.0 };
        LEAST_LAYER.min(body.height() / layers.len() as f32) + spare.max(0.0) * share as f32
    });
    let ribbon_um = design.shape.width_um.max(1e-9);
    let mut bottom = body.bottom();
    let mut drawn = Vec::with_capacity(layers.len());
    for (index, (layer, height)) in layers.iter().zip(heights).enumerate() {
        let share = layer.width_um.map_or(1.0, |w| (w / ribbon_um).clamp(0.0, 1.0)) as f32;
        let width = (share * body.width()).max(LEAST_WIDTH);
        // The left edge of the ribbon is on the left here: one looks along the ribbon.
        let shift = -(layer.offset_um / ribbon_um).clamp(-0.5, 0.5) as f32 * body.width();
        let middle = (body.center().x + shift).clamp(body.left() + width / 2.0, body.right() - width / 2.0);
        let rect = Rect::from_min_max(
            pos2(middle - width / 2.0, bottom - height),
            pos2(middle + width / 2.0, bottom),
        );
        bottom -= height;
        let filler =
            layer.sides.as_ref().and_then(|name| layers.iter().position(|other| other.name == *name));
        drawn.push(Drawn {
            rect,
            fill: fill(design, index, theme),
            sides: filler.map(|filler| fill(design, filler, theme)),
        });
    }
    drawn
}

/// One colour for each material; the core of the light has the accent.
pub(in crate::window) fn fill(design: &Design, index: usize, theme: &Theme) -> Color32 {
    let layers = &design.stack.layers;
    if design.light.as_ref().is_some_and(|light| light.core == layers[index].name) {
        return theme.accent;
    }
    let mut materials: Vec<&str> = Vec::new();
    for layer in layers {
        if !materials.contains(&layer.material.as_str()) {
            materials.push(&layer.material);
        }
    }
    let place = materials.iter().position(|m| *m == layers[index].material).unwrap_or(0);
    theme.layers[place % theme.layers.len()]
}

/// Moves names apart that would overlap, as little as need be; the first is the lowest.
pub(in crate::window) fn spread(wished: &[f32], area: Rect) -> Vec<f32> {
    let mut places = wished.to_vec();
    let (low, high) = (area.bottom() - NAME / 2.0, area.top() + NAME / 2.0);
    for i in 0..places.len() {
        let limit = if i == 0 { low } else { places[i - 1] - NAME };
        places[i] = places[i].min(limit);
    }
    for i in (0..places.len()).rev() {
        let limit = if i + 1 == places.len() { high } else { places[i + 1] + NAME };
        places[i] = places[i].max(limit);
    }
    places
}

/// `name`, cut to the room there is.
pub(in crate::window) fn shortened(ui: &Ui, name: &str, font: &FontId, room: f32) -> String {
    let width = |text: &str| {
        let galley = ui.painter().layout_no_wrap(text.to_owned(), font.clone(), Color32::PLACEHOLDER);
        galley.size().x
    };
    if width(name) <= room {
        return name.to_owned();
    }
    let mut letters: Vec<char> = name.chars().collect();
    while letters.pop().is_some() {
        let text = format!("{}…", letters.iter().collect::<String>().trim_end());
        if width(&text) <= room {
            return text;
        }
    }
    String::new()
}

fn tooltip(design: &Design, index: usize) -> String {
    let layer = &design.stack.layers[index];
    let width = layer
        .width_um
        .map_or_else(|| "as wide as the ribbon".to_owned(), |w| format!("{} µm wide", digits_text(w, 4)));
    format!(
        "{}: {}\n{} µm thick, {width}\n{} MPa, allowed strain {} %",
        layer.name,
        layer.material,
        digits_text(layer.thickness_um, 4),
        digits_text(layer.modulus_mpa, 4),
        digits_text(layer.allowable_strain_percent, 4)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area() -> Rect {
        Rect::from_min_size(pos2(0.0, 0.0), vec2(100.0, 100.0))
    }

    #[test]
    fn names_do_not_overlap_and_stay_inside() {
        let places = spread(&[60.0, 58.0, 56.0, 20.0], area());
        for pair in places.windows(2) {
            assert!(pair[0] - pair[1] >= NAME - 1e-3, "{places:?}");
        }
        assert!(places.iter().all(|y| (7.0..=93.0).contains(y)), "{places:?}");
        assert_eq!(spread(&[80.0, 40.0], area()), [80.0, 40.0]);
    }

    #[test]
    fn thin_layers_are_seen_and_all_fit() {
        let mut design = Design::sample();
        design.stack.layers[1].thickness_um = 1e-4;
        let drawn = lay_out(&design, area(), &Theme::LIGHT);
        assert!(drawn.iter().all(|layer| layer.rect.height() >= LEAST_LAYER - 1e-3));
        assert!(drawn[0].rect.bottom() <= 100.0 && drawn[2].rect.top() >= -1e-3);
        assert!(drawn[1].rect.width() < drawn[0].rect.width());
        assert!(drawn[1].sides.is_some() && drawn[0].sides.is_none());
    }

    #[test]
    fn one_material_has_one_colour() {
        let design = Design::sample();
        let colours: Vec<_> = (0..3).map(|i| fill(&design, i, &Theme::LIGHT)).collect();
        assert_eq!(colours[0], colours[2]);
        assert_eq!(colours[1], Theme::LIGHT.accent);
    }
}
