//! The cross-section as a drawing: layers bottom to top, their names and shares of what they are allowed beside them,
//! the neutral plane through them.

use super::InputsPanel;
use super::hand::{Boundary, balanced, boundary_id, height_of};
use super::heights::{Drawn, lay_out, scale, spread_by};
pub(in crate::window) use super::heights::{fill, shortened, spread};
use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::{
    Align2, CursorIcon, FontId, Pos2, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, pos2,
    vec2,
};
use ogee_design::{Assessment, Design, StackLayer, digits_text};

/// Height of the drawing, points.
const HEIGHT: f32 = 184.0;
/// Height of a name alone and of a name with its bar, points.
const NAME: [f32; 2] = [14.0, 27.0];
/// Room on the left for the sign of the neutral plane, points.
const SIGN: f32 = 27.0;
/// Share of what is allowed from which a layer counts as over it.
const FULL: f64 = 1.0;

impl InputsPanel {
    /// Draws the stack; its layers are selected and their tops dragged.
    pub(super) fn section(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let design = session.design();
        let (whole, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::hover());
        if design.stack.layers.is_empty() {
            return;
        }
        self.hand.begin(ui, session, out);
        let left = whole.left() + SIGN;
        let body = Rect::from_min_max(
            pos2(left, whole.top() + 4.0),
            pos2(left + 0.38 * (whole.right() - left), whole.bottom() - 4.0),
        );
        let scale = scale(design, body.height(), self.hand.scale());
        let drawn = lay_out(design, body, scale, theme);
        let painter = ui.painter().clone();
        for layer in &drawn {
            let row = Rect::from_x_y_ranges(body.x_range(), layer.rect.y_range());
            if let Some(sides) = layer.sides {
                painter.rect_filled(row, 0.0, sides);
            }
            painter.rect_filled(layer.rect, 0.0, layer.fill);
        }
        let thin = Stroke::new(0.5, theme.line_strong);
        for layer in &drawn {
            painter.rect_stroke(layer.rect, 0.0, thin, StrokeKind::Middle);
        }
        let edge = drawn.iter().fold(Rect::NOTHING, |all, layer| all.union(layer.rect));
        let outline = Rect::from_x_y_ranges(body.x_range(), edge.y_range());
        painter.rect_stroke(outline, 0.0, Stroke::new(1.0, theme.line_strong), StrokeKind::Outside);
        let chosen = names(ui, session, theme, &Beside { drawn: &drawn, body, whole }, out);
        neutral_plane(ui, session, theme, &drawn, body);
        let boundary = |index: usize| Boundary {
            index,
            at: pos2(body.right(), drawn[index].rect.top()),
            width: body.width(),
            scale,
            canvas: whole,
        };
        for (index, layer) in drawn.iter().enumerate() {
            let held = self.hand.scale().is_some();
            let mark = balanced(session, index).filter(|(um, _)| held || !is_balanced(design, index, *um));
            if let Some((um, _)) = mark {
                let y = layer.rect.bottom() - height_of(um, scale);
                if body.y_range().contains(y) {
                    let ends = [pos2(body.left() - 3.0, y), pos2(body.right() + 3.0, y)];
                    painter.extend(Shape::dotted_line(&ends, theme.accent, 4.0, 0.9));
                    // Inside: beside it stands the sign of the neutral plane.
                    let tip = pos2(body.left() + 7.0, y);
                    let corners = vec![tip, tip + vec2(-6.0, -4.0), tip + vec2(-6.0, 4.0)];
                    painter.add(Shape::convex_polygon(corners, theme.accent, Stroke::NONE));
                }
            }
            if self.hand.boundary(ui, session, &boundary(index), out) {
                let y = layer.rect.top();
                let line = [pos2(body.left() - 2.0, y), pos2(body.right() + 2.0, y)];
                painter.line_segment(line, Stroke::new(2.5, theme.accent));
                let grip = Rect::from_center_size(pos2(body.center().x, y), vec2(16.0, 5.0));
                painter.rect(grip, 2.0, theme.panel, Stroke::new(1.4, theme.accent), StrokeKind::Middle);
            }
        }
        if let Some(index) = chosen {
            // So that the arrow keys step its thickness at once.
            let boundary = boundary_id(ui, index);
            ui.memory_mut(|memory| memory.request_focus(boundary));
        }
        // Last, above names and lines.
        for index in 0..drawn.len() {
            self.hand.value(ui, session, theme, &boundary(index), out);
        }
    }
}

/// Whether a layer is as thick as balances the stack, to the eye.
pub(super) fn is_balanced(design: &Design, index: usize, balanced_um: f64) -> bool {
    let layer = design.stack.layers.get(index);
    layer.is_some_and(|layer| (balanced_um / layer.thickness_um - 1.0).abs() < 5e-3)
}

/// The drawing that names stand beside.
struct Beside<'a> {
    drawn: &'a [Drawn],
    body: Rect,
    whole: Rect,
}

/// Names, thicknesses and shares. Returns the layer that was chosen in this frame.
fn names(
    ui: &mut Ui,
    session: &Session,
    theme: &Theme,
    beside: &Beside<'_>,
    out: &mut Vec<Command>,
) -> Option<usize> {
    let mut chosen = None;
    let design = session.design();
    let Beside { drawn, body, whole } = *beside;
    let shares = session.assessment().map(|found| shares(design, found)).unwrap_or_default();
    let height = (whole.height() / drawn.len() as f32).min(NAME[1]);
    let with_bars = height >= 22.0;
    let height = if with_bars { height } else { height.min(NAME[0]) };
    let middles: Vec<f32> = drawn.iter().map(|layer| layer.rect.center().y).collect();
    let selected = session.selected_layer();
    let painter = ui.painter().clone();
    for (index, ((layer, data), y)) in
        drawn.iter().zip(&design.stack.layers).zip(spread_by(&middles, height, whole)).enumerate()
    {
        let is_selected = selected == Some(index);
        let name_y = if with_bars { y - 4.5 } else { y };
        let from = pos2(body.right() + 3.0, layer.rect.center().y);
        let to = pos2(body.right() + 12.0, name_y);
        painter.line_segment([from, to], Stroke::new(1.0, theme.line_strong));
        let area =
            Rect::from_min_max(pos2(to.x + 2.0, y - height / 2.0), pos2(whole.right(), y + height / 2.0));
        let id = ui.scope_id().with(("layer", index));
        let hit = ui.interact(area, id, Sense::click());
        let row = Rect::from_x_y_ranges(body.x_range(), layer.rect.y_range());
        let on_drawing = ui.interact(row, id.with("drawn"), Sense::click());
        let label = format!("Layer {}: {}", index + 1, data.name);
        hit.widget_info(|| WidgetInfo::selected(Role::Button, true, is_selected, &label));
        if hit.clicked() || on_drawing.clicked() {
            out.push(Command::SelectLayer((!is_selected).then_some(index)));
            if !is_selected {
                chosen = Some(index);
            }
        }
        let hovered = hit.hovered() || on_drawing.hovered();
        if hovered {
            ui.set_cursor_icon(CursorIcon::PointingHand);
        }
        if is_selected || hovered || hit.has_focus() {
            painter.rect_stroke(layer.rect, 0.0, Stroke::new(1.5, theme.accent), StrokeKind::Middle);
        }
        let at_fault = layer_fault(session, index).is_some();
        let ink = if at_fault {
            theme.bad
        } else if is_selected || hovered {
            theme.accent
        } else {
            theme.text
        };
        let font = FontId::proportional(11.5);
        let thickness = format!(" {} µm", digits_text(data.thickness_um, 3));
        let right = pos2(area.right(), name_y);
        let measure = painter.text(right, Align2::RIGHT_CENTER, thickness, font.clone(), theme.muted);
        let name = shortened(ui, &data.name, &font, measure.left() - area.left());
        painter.text(pos2(area.left(), name_y), Align2::LEFT_CENTER, name, font, ink);
        let share = shares.get(index).copied().flatten();
        if let Some(share) = share {
            ui.accesskit_node_builder(id, |node| node.set_value(share_words(share)));
            if with_bars {
                bar(ui, theme, Rect::from_min_max(pos2(area.left(), y + 4.0), area.max), share);
            }
        }
        hit.on_hover_text(tooltip(design, index, share));
    }
    chosen
}

/// The first fault of one of a layer's numbers.
pub(super) fn layer_fault(session: &Session, index: usize) -> Option<&ogee_design::Fault> {
    let root = format!("stack.layers[{index}].");
    session.faults().iter().find(|fault| fault.path.starts_with(&root))
}

/// Strain of each layer over what it is allowed: wrapped and pulled together where it wraps, else pulled alone.
fn shares(design: &Design, found: &Assessment) -> Vec<Option<f64>> {
    let of = |layer: &StackLayer| {
        let wrapped = found.wrap.as_ref().and_then(|wrap| wrap.layers.iter().find(|l| l.name == layer.name));
        // Pulled alone, what is left over from the oven has been taken from what is allowed.
        let ([most, least], allowed) = if let Some(wrapped) = wrapped {
            (wrapped.together_percent, wrapped.allowable_strain_percent)
        } else {
            let section = found.section.layers.iter().find(|l| l.name == layer.name)?;
            let strain = [section.peak_tensile_strain_percent, -section.peak_compressive_strain_percent];
            (strain, section.allowable_strain_percent)
        };
        let tension = most / allowed;
        let compression = layer.allowable_compression_percent.map_or(0.0, |allowed| -least / allowed);
        let share = tension.max(compression).max(0.0);
        share.is_finite().then_some(share)
    };
    design.stack.layers.iter().map(of).collect()
}

fn share_words(share: f64) -> String {
    let percent = digits_text(100.0 * share, if share < 0.1 { 1 } else { 2 });
    if share > FULL { format!("{percent} %, over") } else { format!("{percent} %") }
}

/// A small bar with its share in words; what is over is hatched.
fn bar(ui: &Ui, theme: &Theme, area: Rect, share: f64) {
    let painter = ui.painter();
    let ink = if share > FULL { theme.bad } else { theme.accent };
    let font = FontId::proportional(10.0);
    let at = pos2(area.right(), area.top() + 2.5);
    let color = if share > FULL { theme.bad } else { theme.muted };
    painter.text(at, Align2::RIGHT_CENTER, share_words(share), font, color);
    let groove = Rect::from_min_size(area.min, vec2((area.width() - 56.0).max(16.0), 4.0));
    painter.rect_filled(groove, 2.0, theme.track);
    let mut filled = groove;
    filled.set_width(groove.width() * share.min(1.0) as f32);
    painter.rect_filled(filled, 2.0, ink);
    if share > FULL {
        let clipped = painter.with_clip_rect(groove);
        let mut x = groove.left();
        while x < groove.right() + 4.0 {
            let line = [pos2(x, groove.bottom()), pos2(x + 4.0, groove.top())];
            clipped.line_segment(line, Stroke::new(1.0, theme.panel));
            x += 4.0;
        }
    }
}

/// Height of the neutral plane above the bottom face, µm: of the wrapped ribbon where it wraps, with its elastomer.
pub(super) fn neutral_plane_um(found: &Assessment) -> f64 {
    found.wrap.as_ref().map_or(found.section.neutral_plane_um, |wrap| wrap.neutral_plane_um)
}

/// The neutral plane as a dashed line, at its height within the layer that it runs through; an arrow where it lies
/// outside the ribbon.
fn neutral_plane(ui: &Ui, session: &Session, theme: &Theme, drawn: &[Drawn], body: Rect) {
    let Some(found) = session.assessment().filter(|_| !session.assessment_is_stale()) else { return };
    let height = neutral_plane_um(found);
    let (Some(lowest), Some(highest)) = (drawn.first(), drawn.last()) else { return };
    let stroke = Stroke::new(1.2, theme.warn);
    let font = FontId::proportional(10.0);
    let place = found.section.layers.iter().zip(drawn).find_map(|(layer, drawn)| {
        let share = (height - layer.bottom_um) / (layer.top_um - layer.bottom_um);
        (0.0..=1.0).contains(&share).then(|| drawn.rect.bottom() - share as f32 * drawn.rect.height())
    });
    if let Some(y) = place {
        let ends: [Pos2; 2] = [pos2(body.left() - 5.0, y), pos2(body.right() + 5.0, y)];
        ui.painter().extend(Shape::dashed_line(&ends, stroke, 5.0, 3.0));
        ui.painter().text(pos2(body.left() - 7.0, y), Align2::RIGHT_CENTER, "n.p.", font, theme.warn);
        return;
    }
    let (edge, down) = if height < 0.0 { (lowest.rect.bottom(), 1.0) } else { (highest.rect.top(), -1.0) };
    let x = body.left() - 13.0;
    let tip = pos2(x, edge + 2.0 * down);
    ui.painter().text(tip - vec2(0.0, 20.0 * down), Align2::CENTER_CENTER, "n.p.", font, theme.warn);
    ui.painter().line_segment([tip - vec2(0.0, 13.0 * down), tip], stroke);
    for side in [-3.0, 3.0] {
        ui.painter().line_segment([tip, tip + vec2(side, -4.0 * down)], stroke);
    }
}

fn tooltip(design: &Design, index: usize, share: Option<f64>) -> String {
    let layer = &design.stack.layers[index];
    let width = layer
        .width_um
        .map_or_else(|| "as wide as the ribbon".to_owned(), |w| format!("{} µm wide", digits_text(w, 4)));
    let together = if design.duty.wrap.is_some() { "wrapped and stretched" } else { "stretched" };
    let share = share
        .map(|share| format!("\n{} of what is allowed, {together}", share_words(share)))
        .unwrap_or_default();
    format!(
        "{}: {}\n{} µm thick, {width}\n{} MPa, allowed strain {} %{share}",
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
    use ogee_design::{Caches, Tier, assess};

    #[test]
    fn shares_are_those_of_the_pull_without_a_wrap() {
        let mut design = Design::sample();
        (design.duty.wrap, design.life) = (None, None);
        let checked = design.check().unwrap();
        let found = assess(&checked, Tier::Live, &mut Caches::new(), &|| true).unwrap().unwrap();
        let all = shares(&design, &found);
        assert_eq!(all.len(), design.stack.layers.len());
        let layer = &found.section.layers[1];
        let share = layer.peak_tensile_strain_percent / layer.allowable_strain_percent;
        assert!((all[1].unwrap() - share).abs() < 1e-12 && share > 0.0);
    }

    #[test]
    fn what_is_over_says_so() {
        assert_eq!(share_words(0.62), "62 %");
        assert_eq!(share_words(1.3), "130 %, over");
    }
}
