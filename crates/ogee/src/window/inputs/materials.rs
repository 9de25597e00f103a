//! The list of materials: searched, grouped by kind, each with what is known about it.

use super::material::{differs_from, forget, give, keep, material_of, origin};
use super::{InputsPanel, change};
use crate::session::{Command, Session};
use crate::window::quantity_field::RowLayout;
use crate::window::theme::Theme;
use egui::{
    Key, Popup, PopupCloseBehavior, RectAlign, RichText, ScrollArea, Sense, TextEdit, Tooltip, Ui, pos2, vec2,
};
use ogee_design::{Material, Property, digits_text, library, number_text};

/// Width of the list, points.
const LIST: f32 = 330.0;
/// Height of the list, points.
const LIST_HEIGHT: f32 = 340.0;
/// Room beside a number for where it comes from, points.
const ORIGIN: f32 = 40.0;

impl InputsPanel {
    /// A row of a layer's number with a word beside it that says where the number comes from.
    pub(super) fn sourced(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        (index, key): (usize, &str),
        row: impl FnOnce(&mut Self, &mut Ui),
    ) {
        let top = ui.cursor().top();
        let right = ui.max_rect().right();
        ui.scope(|ui| {
            let present = session.design().number(&format!("stack.layers[{index}].{key}")).is_some();
            if present && has_material(session, index) {
                ui.set_max_width(ui.available_width() - ORIGIN);
            }
            row(self, ui);
        });
        let Some((word, hint)) = origin(session, index, key) else { return };
        let font = egui::FontId::proportional(10.5);
        let ink = if word == "typical" { theme.muted } else { theme.text };
        let at = pos2(right, top + 10.5);
        let place = ui.painter().text(at, egui::Align2::RIGHT_CENTER, word, font, ink);
        let id = ui.scope_id().with(("origin", index, key));
        let response = ui.interact(place.expand(3.0), id, Sense::hover());
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, format!("{key}: {word}")));
        response.on_hover_text(hint);
    }

    /// Name of the material, and the list to choose another from.
    pub(super) fn material_row(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        let Some(layer) = session.design().stack.layers.get(index) else { return };
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = RowLayout::GAP;
            let words = RowLayout::in_width(ui.available_width()).words(ui, "Material", theme, None);
            let width = ui.available_width();
            let field = self.names.field(ui, theme, width, ("material", index), &layer.material, words.id);
            if let Some(text) = field {
                out.push(change(session, "Change material", |design| {
                    if let Some(layer) = design.stack.layers.get_mut(index) {
                        layer.material = text;
                    }
                }));
            }
        });
        let design = session.design();
        let known = material_of(design, layer);
        let differs = known.is_none_or(|found| differs_from(design, index, found.material));
        ui.horizontal_wrapped(|ui| {
            let button = ui.button("Choose…").on_hover_text("Typical materials, with ranges and sources");
            if button.clicked() {
                self.search.clear();
                self.search_is_new = true;
            }
            let popup = Popup::from_toggle_button_response(&button)
                .close_behavior(PopupCloseBehavior::CloseOnClickOutside);
            popup.show(|ui| self.materials(ui, session, theme, index, out));
            let mut link =
                |words: &str, hint: &str| ui.link(RichText::new(words).small()).on_hover_text(hint).clicked();
            if let Some(found) = known {
                let (id, name) = (&found.material.id, &found.material.name);
                if differs {
                    let words = if found.is_own { "Kept values" } else { "Typical values" };
                    if link(words, &format!("The values of {name} for every number of this layer")) {
                        let material = found.material.clone();
                        out.push(change(session, format!("Take {}", words.to_lowercase()), |design| {
                            give(design, index, &material);
                        }));
                    }
                } else if found.is_own
                    && link("Forget it", &format!("Remove {name} from this design's materials"))
                {
                    out.push(change(session, "Forget own material", |design| forget(design, id)));
                }
            }
            if differs
                && link("Keep as own", "Keep these numbers as a material, to choose for other layers too")
            {
                out.push(change(session, "Keep own material", |design| keep(design, index)));
            }
        });
    }

    /// The list: a field to search in, below it what is found, by kind.
    fn materials(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        ui.set_width(LIST);
        let words = ui.label(RichText::new("Search by name or kind").small().color(theme.muted));
        let field =
            ui.add(TextEdit::singleline(&mut self.search).desired_width(LIST - 14.0)).labelled_by(words.id);
        if std::mem::take(&mut self.search_is_new) {
            field.request_focus();
        }
        let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        let own = &session.design().materials;
        let found = library().search(&self.search);
        let mut chosen = None;
        let mut first = None;
        ScrollArea::vertical().max_height(LIST_HEIGHT).show(ui, |ui| {
            ui.set_width(LIST - 10.0);
            ui.spacing_mut().item_spacing.y = 1.0;
            let wanted = self.search.trim().to_lowercase();
            let mine: Vec<&Material> =
                own.iter().filter(|material| material.name.to_lowercase().contains(&wanted)).collect();
            let mut groups: Vec<(&str, Vec<&Material>)> = Vec::new();
            if !mine.is_empty() {
                groups.push(("own materials", mine));
            }
            // Kinds in the order of their best match.
            for material in found {
                let title = material.class.label();
                match groups.iter_mut().find(|(other, _)| *other == title) {
                    Some((_, group)) => group.push(material),
                    None => groups.push((title, vec![material])),
                }
            }
            for (title, materials) in groups {
                ui.add_space(4.0);
                ui.label(RichText::new(title).small().color(theme.muted));
                for material in materials {
                    first.get_or_insert(material);
                    if entry(ui, theme, material) {
                        chosen = Some(material);
                    }
                }
            }
            if first.is_none() {
                ui.label(RichText::new("Nothing by this name; type its numbers instead").color(theme.muted));
            }
        });
        if let Some(material) = chosen.or_else(|| first.filter(|_| entered)).cloned() {
            let label = format!("Make it {}", material.name);
            out.push(change(session, label, |design| give(design, index, &material)));
            ui.close();
        }
    }
}

/// Whether a layer's numbers come from a material, so that each says whether it still is the material's.
pub(super) fn has_material(session: &Session, index: usize) -> bool {
    let design = session.design();
    design.stack.layers.get(index).is_some_and(|layer| material_of(design, layer).is_some())
}

/// One material of the list. Returns whether it was chosen.
fn entry(ui: &mut Ui, theme: &Theme, material: &Material) -> bool {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), Sense::click());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &material.name));
    let lit = response.hovered() || response.has_focus();
    if lit {
        ui.painter().rect_filled(rect, 3.0, theme.accent_soft);
    }
    let font = egui::FontId::proportional(12.0);
    let small = egui::FontId::proportional(11.0);
    let modulus = material.value(Property::Modulus).map_or_else(
        || "liquid".to_owned(),
        |value| {
            let [low, high] = value.range();
            let (unit, factor) = if value.typical >= 1000.0 { ("GPa", 1e-3) } else { ("MPa", 1.0) };
            let text = |mpa: f64| digits_text(factor * mpa, 3);
            if low == high {
                format!("{} {unit}", text(value.typical))
            } else {
                format!("{} {unit} ({} to {})", text(value.typical), text(low), text(high))
            }
        },
    );
    let right = pos2(rect.right() - 5.0, rect.center().y);
    let measure = ui.painter().text(right, egui::Align2::RIGHT_CENTER, modulus, small, theme.muted);
    let room = measure.left() - rect.left() - 14.0;
    let name = super::heights::shortened(ui, &material.name, &font, room);
    let left = pos2(rect.left() + 5.0, rect.center().y);
    ui.painter().text(left, egui::Align2::LEFT_CENTER, name, font, theme.text);
    // Beside the list, so that it hides none of it.
    let mut tip = Tooltip::for_enabled(&response);
    tip.popup = tip.popup.align(RectAlign::RIGHT_START).gap(14.0);
    tip.show(|ui| sources(ui, material));
    response.clicked()
}

/// Everything that is known about a material, with range and source.
fn sources(ui: &mut Ui, material: &Material) {
    ui.label(RichText::new(format!("{} ({})", material.name, material.class.label())).strong());
    if let Some(note) = &material.note {
        ui.label(note);
    }
    egui::Grid::new("properties").num_columns(3).show(ui, |ui| {
        for (property, value) in material.values() {
            let [low, high] = value.range().map(number_text);
            let typical = number_text(value.typical);
            let range = if low == high { String::new() } else { format!("{low} to {high}") };
            ui.label(property.label());
            ui.label(format!("{typical} {}", property.unit()));
            ui.label(RichText::new(range).small());
            ui.end_row();
        }
    });
    let mut named: Vec<&str> = material.values().map(|(_, value)| value.source_text()).collect();
    named.sort_unstable();
    named.dedup();
    ui.label(RichText::new(named.join("; ")).small());
}
