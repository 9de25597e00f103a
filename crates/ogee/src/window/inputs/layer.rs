//! The numbers of one layer.

use super::material::typical_of;
use super::stack::{insert_above, remove, rename};
use super::{InputsPanel, Optional, change, choice, fault_remark};
use crate::session::{Command, Session};
use crate::window::quantity_field::{RowLayout, remark};
use crate::window::theme::Theme;
use egui::Ui;

/// Thermal expansion that one begins with, 1e-6/K: a glassy polymer.
const FRESH_EXPANSION: f64 = 60.0;

impl InputsPanel {
    pub(super) fn layer(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        let design = session.design();
        let Some(layer) = design.stack.layers.get(index) else { return };
        let at = |key: &str| format!("stack.layers[{index}].{key}");
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = RowLayout::GAP;
            let words = RowLayout::in_width(ui.available_width()).words(ui, "Name", theme, None);
            let width = ui.available_width();
            let field = self.names.field(ui, theme, width, ("name", index), &layer.name, words.id);
            if let Some(text) = field {
                out.push(change(session, "Rename layer", |design| rename(design, index, &text)));
            }
        });
        fault_remark(ui, session, theme, &at("name"));
        self.material_row(ui, session, theme, index, out);
        for key in ["material", "material_id"] {
            fault_remark(ui, session, theme, &at(key));
        }
        self.sourced(ui, session, theme, (index, "thickness_um"), |panel, ui| {
            let layout = RowLayout::in_width(ui.available_width());
            panel.numbers.row(ui, session, theme, layout, &at("thickness_um"), out);
        });
        self.narrower(ui, session, theme, index, out);
        for key in ["modulus_mpa", "poisson_ratio", "allowable_strain_percent"] {
            self.sourced(ui, session, theme, (index, key), |panel, ui| {
                let layout = RowLayout::in_width(ui.available_width());
                panel.numbers.row(ui, session, theme, layout, &at(key), out);
            });
        }
        let compression = Optional {
            path: &at("allowable_compression_percent"),
            label: "compressive",
            absent: "not judged",
            value: layer.allowable_strain_percent,
            set: &|design, value| {
                if let Some(layer) = design.stack.layers.get_mut(index) {
                    layer.allowable_compression_percent = value;
                }
            },
        };
        self.sourced(ui, session, theme, (index, "allowable_compression_percent"), |panel, ui| {
            panel.optional_row(ui, session, theme, &compression, out);
        });
        let yielding = Optional {
            path: &at("yield_strain_percent"),
            label: "Yield strain",
            absent: "springs back",
            value: typical_of(design, index, "yield_strain_percent")
                .unwrap_or(layer.allowable_strain_percent),
            set: &|design, value| {
                if let Some(layer) = design.stack.layers.get_mut(index) {
                    layer.yield_strain_percent = value;
                }
            },
        };
        self.sourced(ui, session, theme, (index, "yield_strain_percent"), |panel, ui| {
            panel.optional_row(ui, session, theme, &yielding, out);
        });
        let refractive = Optional {
            path: &at("refractive_index"),
            label: "Index",
            absent: "no light here",
            value: typical_of(design, index, "refractive_index").unwrap_or(1.5),
            set: &|design, value| {
                if let Some(layer) = design.stack.layers.get_mut(index) {
                    layer.refractive_index = value;
                }
            },
        };
        self.sourced(ui, session, theme, (index, "refractive_index"), |panel, ui| {
            panel.optional_row(ui, session, theme, &refractive, out);
        });
        let expansion = Optional {
            path: &at("cte_ppm_per_k"),
            label: "Expansion",
            absent: "unknown",
            value: typical_of(design, index, "cte_ppm_per_k").unwrap_or(FRESH_EXPANSION),
            set: &|design, value| {
                if let Some(layer) = design.stack.layers.get_mut(index) {
                    layer.cte_ppm_per_k = value;
                }
            },
        };
        self.sourced(ui, session, theme, (index, "cte_ppm_per_k"), |panel, ui| {
            panel.optional_row(ui, session, theme, &expansion, out);
        });
        self.strength(ui, session, theme, index, out);
        layer_buttons(ui, session, index, out);
    }

    /// Width, offset and sides: what a full-width film has not.
    fn narrower(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        let design = session.design();
        let Some(layer) = design.stack.layers.get(index) else { return };
        let width = Optional {
            path: &format!("stack.layers[{index}].width_um"),
            label: "Width",
            absent: "as the ribbon",
            value: design.shape.width_um / 2.0,
            set: &|design, value| {
                if let Some(layer) = design.stack.layers.get_mut(index) {
                    layer.width_um = value;
                    if value.is_none() {
                        (layer.offset_um, layer.sides) = (0.0, None);
                    }
                }
            },
        };
        self.sourced(ui, session, theme, (index, "width_um"), |panel, ui| {
            panel.optional_row(ui, session, theme, &width, out);
        });
        if layer.width_um.is_none() {
            return;
        }
        self.sourced(ui, session, theme, (index, "offset_um"), |panel, ui| {
            let layout = RowLayout::in_width(ui.available_width());
            let path = format!("stack.layers[{index}].offset_um");
            panel.numbers.row(ui, session, theme, layout, &path, out);
        });
        let others = design.stack.layers.iter().enumerate().filter(|(i, _)| *i != index);
        let options: Vec<Option<&str>> =
            std::iter::once(None).chain(others.map(|(_, layer)| Some(layer.name.as_str()))).collect();
        let name = |sides: Option<&str>| sides.map_or_else(|| "open".to_owned(), str::to_owned);
        if let Some(sides) = choice(ui, theme, "Sides filled by", layer.sides.as_deref(), options, name) {
            let sides = sides.map(str::to_owned);
            out.push(change(session, "Change sides", |design| {
                if let Some(layer) = design.stack.layers.get_mut(index) {
                    layer.sides = sides;
                }
            }));
        }
        if let Some(fault) = session.fault_at(&format!("stack.layers[{index}].sides")) {
            remark(ui, theme, &fault.message);
        }
    }
}

fn layer_buttons(ui: &mut Ui, session: &Session, index: usize, out: &mut Vec<Command>) {
    let count = session.design().stack.layers.len();
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        if ui.button("Add above").on_hover_text("Add a layer above this one, made of the same").clicked() {
            out.push(change(session, "Add layer", |design| {
                insert_above(design, Some(index));
            }));
            out.push(Command::SelectLayer(Some(index + 1)));
        }
        if ui.add_enabled(index + 1 < count, egui::Button::new("Up")).on_hover_text("Move up").clicked() {
            out.push(change(session, "Move layer up", |design| design.stack.layers.swap(index, index + 1)));
            out.push(Command::SelectLayer(Some(index + 1)));
        }
        if ui.add_enabled(index > 0, egui::Button::new("Down")).on_hover_text("Move down").clicked() {
            out.push(change(session, "Move layer down", |design| design.stack.layers.swap(index, index - 1)));
            out.push(Command::SelectLayer(Some(index - 1)));
        }
        if ui.add_enabled(count > 1, egui::Button::new("Remove")).on_hover_text("Remove this layer").clicked()
        {
            out.push(change(session, "Remove layer", |design| remove(design, index)));
            out.push(Command::SelectLayer(None));
        }
    });
}
