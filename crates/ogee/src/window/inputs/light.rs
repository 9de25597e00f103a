//! The guided light: core, wavelength, polarisation and losses.

use super::{InputsPanel, Switch, change, choice};
use crate::session::{Command, Session};
use crate::window::quantity_field::{RowLayout, remark};
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::{Design, Light, PolarisationName, digits_text};

impl InputsPanel {
    pub(super) fn light(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let design = session.design();
        let guides = Switch {
            words: "The ribbon guides light",
            name: "light",
            now: design.light.clone(),
            kept: &mut self.kept.light,
            fresh: &fresh_light,
            set: &|design, light| {
                if light.is_some() {
                    design.limits.insertion_loss_db.get_or_insert(3.0);
                }
                design.light = light;
            },
        };
        guides.ui(ui, session, out);
        let Some(light) = &design.light else { return };
        let layers: Vec<&str> = design.stack.layers.iter().map(|layer| layer.name.as_str()).collect();
        if let Some(core) = choice(ui, theme, "Core", light.core.as_str(), layers, str::to_owned) {
            let core = core.to_owned();
            out.push(change(session, format!("Make {core} the core"), |design| {
                if let Some(light) = &mut design.light {
                    light.core = core;
                }
            }));
        }
        if let Some(fault) = session.fault_at("light.core") {
            remark(ui, theme, &fault.message);
        }
        let layout = RowLayout::in_width(ui.available_width());
        self.numbers.row(ui, session, theme, layout, "light.wavelength_um", out);
        let options = [PolarisationName::QuasiTe, PolarisationName::QuasiTm];
        let name = |p: PolarisationName| p.label().to_owned();
        if let Some(polarisation) = choice(ui, theme, "Polarisation", light.polarisation, options, name) {
            out.push(change(session, format!("Change polarisation to {}", polarisation.label()), |design| {
                if let Some(light) = &mut design.light {
                    light.polarisation = polarisation;
                }
            }));
        }
        for path in ["light.surroundings_index", "light.propagation_loss_db_per_cm", "light.end_loss_db"] {
            self.numbers.row(ui, session, theme, layout, path, out);
        }
        let mut joins = light.joins_straight_guides;
        ui.checkbox(&mut joins, "Its ends join straight guides")
            .on_hover_text("A jump of curvature at the ribbon's ends then loses light too");
        if joins != light.joins_straight_guides {
            out.push(change(session, "Change how the ends join", |design| {
                if let Some(light) = &mut design.light {
                    light.joins_straight_guides = joins;
                }
            }));
        }
        if let Some(found) = session.assessment().and_then(|found| found.light.as_ref()) {
            let index = digits_text(found.effective_index, 5);
            let modes = if found.single_mode { "single-mode" } else { "several modes" };
            let words = format!("Effective index {index}, {modes} (estimate)");
            ui.label(RichText::new(words).small().color(theme.muted));
            // They come with the full models.
            for mode in found.modes.iter().flat_map(|modes| &modes.modes) {
                let index = digits_text(mode.effective_index, 6);
                let share = digits_text(100.0 * mode.confinement[0], 2);
                let cutoff = if mode.near_cutoff { ", near its cutoff" } else { "" };
                let words = format!("True {} mode {index}{cutoff}", mode.polarisation);
                let hint = format!(
                    "Full-vector mode of the rectangular cross-section, to ±{}; group index {}; {share} % of a change of \
                     the core's index reach it",
                    digits_text(mode.error_estimate, 1),
                    digits_text(mode.group_index, 5)
                );
                ui.label(RichText::new(words).small().color(theme.muted)).on_hover_text(hint);
            }
        }
    }
}

/// Light in the layer of the highest index, else in the middle one.
fn fresh_light(design: &Design) -> Light {
    let layers = &design.stack.layers;
    let core = layers
        .iter()
        .max_by(|a, b| {
            let index = |layer: &ogee_design::StackLayer| layer.refractive_index.unwrap_or(0.0);
            index(a).total_cmp(&index(b))
        })
        .map(|layer| layer.name.clone())
        .unwrap_or_default();
    Light {
        core,
        wavelength_um: 1.31,
        polarisation: PolarisationName::QuasiTe,
        surroundings_index: 1.0,
        propagation_loss_db_per_cm: 0.5,
        end_loss_db: 0.0,
        joins_straight_guides: true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fresh_light_is_in_the_layer_of_the_highest_index() {
        assert_eq!(fresh_light(&Design::sample()).core, "core");
    }
}
