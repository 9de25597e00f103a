//! How the ribbon is made, and at which temperatures it is used.

use super::material::typical_of;
use super::{InputsPanel, Optional, Switch, caption, change, fault_remark};
use crate::session::{Command, Session};
use crate::window::quantity_field::{RowLayout, remark};
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::{Design, Process, StepName, digits_text, number_text};

/// Temperature at which a plain process deposits, °C.
const PLAIN_C: f64 = 150.0;

impl InputsPanel {
    pub(super) fn making(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let judged = Switch {
            words: "Judge what making leaves behind",
            name: "making",
            now: session.design().process.clone(),
            kept: &mut self.kept.process,
            fresh: &|design| plain(design, PLAIN_C),
            set: &|design, process| {
                if process.is_some() {
                    take_known_expansions(design);
                }
                design.process = process;
            },
        };
        judged.ui(ui, session, out);
        let Some(process) = &session.design().process else { return };
        unknown_expansions(ui, session, theme, out);
        caption(ui, theme, "Steps");
        for index in 0..process.steps.len() {
            self.step(ui, session, theme, index, out);
        }
        fault_remark(ui, session, theme, "process.steps");
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 5.0;
            if ui.button("Add a step").clicked() {
                out.push(change(session, "Add step", |design| super::steps::add(design, None)));
            }
            let plainly = ui.button("Plain process").on_hover_text(
                "Every layer deposited bottom to top at the warmest step's temperature, cooled to 20 °C, released",
            );
            if plainly.clicked() {
                out.push(change(session, "Start from a plain process", start_plain));
            }
        });
        self.handle(ui, session, theme, out);
        caption(ui, theme, "Use");
        let rows = [("process.service_low_c", "Coldest"), ("process.service_high_c", "Warmest")];
        self.rows(ui, session, theme, &rows, out);
        caption(ui, theme, "Limits");
        let found = session.assessment().and_then(|found| found.thermal.as_ref());
        let bow_um = found.and_then(|found| found.largest_bow_um).unwrap_or(50.0);
        let bow = Optional {
            path: "process.bow_limit_um",
            label: "Bow",
            absent: "not judged",
            value: digits_text((1.5 * bow_um).max(1.0), 2).parse().unwrap_or(bow_um),
            set: &|design, value| {
                if let Some(process) = &mut design.process {
                    process.bow_limit_um = value;
                }
            },
        };
        self.optional_row(ui, session, theme, &bow, out);
        let adhesion = Optional {
            path: "process.adhesion_j_per_m2",
            label: "Adhesion",
            value: 1.0,
            set: &|design, value| {
                if let Some(process) = &mut design.process {
                    process.adhesion_j_per_m2 = value;
                }
            },
            ..bow
        };
        self.optional_row(ui, session, theme, &adhesion, out);
        if let Some(found) = found {
            let words = match found.curl_radius_um {
                Some(radius) => {
                    let side = if radius > 0.0 { "top" } else { "bottom" };
                    format!(
                        "Released it curls to {} mm towards its {side} face",
                        digits_text(radius.abs() / 1000.0, 3)
                    )
                }
                None if found.released => "Released it stays flat".to_owned(),
                None => "It stays on its handle".to_owned(),
            };
            ui.label(RichText::new(words).small().color(theme.muted));
        }
    }

    /// The wafer or plate on which it is made.
    fn handle(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let Some(process) = &session.design().process else { return };
        let handle = &process.handle;
        let summary = format!("{}, {} µm", handle.material, number_text(handle.thickness_um));
        if !self.part(ui, session, theme, "Handle", &summary, "process.handle") {
            return;
        }
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = RowLayout::GAP;
            let words = RowLayout::in_width(ui.available_width()).words(ui, "Material", theme, None);
            let width = ui.available_width();
            let field = self.names.field(ui, theme, width, "handle material", &handle.material, words.id);
            if let Some(material) = field {
                out.push(change(session, "Change the handle's material", |design| {
                    if let Some(process) = &mut design.process {
                        process.handle.material = material;
                    }
                }));
            }
        });
        let rows = [
            ("process.handle.thickness_um", "Thickness"),
            ("process.handle.diameter_mm", "Diameter"),
            ("process.handle.modulus_mpa", "Modulus"),
            ("process.handle.poisson_ratio", "Poisson's ratio"),
            ("process.handle.cte_ppm_per_k", "Expansion"),
        ];
        self.rows(ui, session, theme, &rows, out);
    }
}

/// Layers whose thermal expansion is not given, to be gone to.
fn unknown_expansions(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    let layers = session.design().stack.layers.iter().enumerate();
    let unknown: Vec<_> = layers.filter(|(_, layer)| layer.cte_ppm_per_k.is_none()).collect();
    if unknown.is_empty() {
        return;
    }
    remark(ui, theme, "the thermal expansion of every layer is needed; it is still unknown for");
    ui.horizontal_wrapped(|ui| {
        for (index, layer) in unknown {
            if ui.link(&layer.name).on_hover_text("Show this layer's numbers").clicked() {
                out.push(Command::SelectLayer(Some(index)));
            }
        }
    });
}

/// Gives layers without a thermal expansion that of their material, where one is known.
fn take_known_expansions(design: &mut Design) {
    for index in 0..design.stack.layers.len() {
        let known = typical_of(design, index, "cte_ppm_per_k");
        if let Some(layer) = design.stack.layers.get_mut(index) {
            layer.cte_ppm_per_k = layer.cte_ppm_per_k.or(known);
        }
    }
}

fn plain(design: &Design, temperature_c: f64) -> Process {
    Process::plain(design.stack.layers.iter().map(|layer| layer.name.as_str()), temperature_c)
}

/// Puts plain steps in place of those that are there; handle, use and limits stay.
fn start_plain(design: &mut Design) {
    let Some(process) = &design.process else { return };
    let births = process.steps.iter().filter(|step| step.step != StepName::Release);
    let warmest = births.map(|step| step.temperature_c).fold(f64::NEG_INFINITY, f64::max);
    let steps = plain(design, if warmest.is_finite() { warmest } else { PLAIN_C }).steps;
    if let Some(process) = &mut design.process {
        process.steps = steps;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_steps_keep_handle_use_and_warmth() {
        let mut design = Design::sample();
        for layer in &mut design.stack.layers {
            layer.cte_ppm_per_k = Some(60.0);
        }
        let mut process = plain(&design, 120.0);
        process.handle.diameter_mm = 150.0;
        process.service_high_c = 60.0;
        process.steps.truncate(1);
        design.process = Some(process);
        start_plain(&mut design);
        let process = design.process.as_ref().unwrap();
        assert_eq!(process.steps.len(), design.stack.layers.len() + 2);
        assert_eq!(process.steps[0].temperature_c, 120.0);
        assert_eq!((process.handle.diameter_mm, process.service_high_c), (150.0, 60.0));
        assert_eq!(design.check().err(), None);
    }
}
