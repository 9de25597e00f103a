//! The steps of making, one after the other.

use super::{InputsPanel, change, chooser, fault_remark};
use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::containers::menu::MenuButton;
use egui::{RichText, Ui};
use ogee_design::{Design, ProcessStep, StepName};

/// Width of the number in front, points.
const NUMBER: f32 = 11.0;
/// Width of the menu of a step, points.
const MORE: f32 = 28.0;
/// Gap between what stands side by side, points.
const GAP: f32 = 5.0;
/// Width of a unit, points.
const UNIT: f32 = 26.0;

impl InputsPanel {
    /// One step: what is done to which layer, below it temperature and stress.
    pub(super) fn step(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        let design = session.design();
        let Some(step) = design.process.as_ref().and_then(|process| process.steps.get(index)) else { return };
        let at = |key: &str| format!("process.steps[{index}].{key}");
        let number = index + 1;
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = GAP;
            let width = ui.available_width() - NUMBER - MORE - 2.0 * GAP;
            place(ui, NUMBER, |ui| ui.label(RichText::new(format!("{number}")).color(theme.muted)));
            let brings = step.step.brings_a_layer();
            let first = if brings { 0.43 * (width - GAP) } else { width };
            let name = |kind: StepName| kind.label().to_owned();
            let (kind, shown) = chooser(ui, ("step", index), first, step.step, StepName::ALL, name);
            ui.accesskit_node_builder(shown.id, |node| node.set_label(format!("Step {number}")));
            if let Some(kind) = kind {
                out.push(change(session, format!("Change step {number}"), |design| {
                    set_kind(design, index, kind);
                }));
            }
            if brings {
                layer_of_step(ui, session, index, width - GAP - first, out);
            }
            step_menu(ui, session, index, out);
        });
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = GAP;
            ui.add_space(NUMBER + GAP);
            let width = 0.5 * (ui.available_width() - 2.0 * UNIT - MORE - 4.0 * GAP);
            let name = format!("Temperature of step {number}");
            self.numbers.cell(ui, session, theme, width, &at("temperature_c"), &name, out);
            place(ui, UNIT, |ui| ui.label(RichText::new("°C").color(theme.muted)));
            if step.step.brings_a_layer() || step.intrinsic_stress_mpa != 0.0 {
                let name = format!("Stress of step {number}");
                self.numbers.cell(ui, session, theme, width, &at("intrinsic_stress_mpa"), &name, out);
                place(ui, UNIT, |ui| ui.label(RichText::new("MPa").color(theme.muted)));
            }
        });
        fault_remark(ui, session, theme, &at("step"));
        fault_remark(ui, session, theme, &at("layer"));
        for key in ["temperature_c", "intrinsic_stress_mpa"] {
            self.numbers.remarks_at(ui, session, theme, &at(key), out);
        }
    }
}

/// Which layer a step brings.
fn layer_of_step(ui: &mut Ui, session: &Session, index: usize, width: f32, out: &mut Vec<Command>) {
    let design = session.design();
    let Some(step) = design.process.as_ref().and_then(|process| process.steps.get(index)) else { return };
    let now = step.layer.as_deref();
    let layers = design.stack.layers.iter().map(|layer| Some(layer.name.as_str()));
    let options: Vec<Option<&str>> = layers.collect();
    let name = |layer: Option<&str>| layer.unwrap_or("which layer?").to_owned();
    let (layer, shown) = chooser(ui, ("layer of step", index), width, now, options, name);
    ui.accesskit_node_builder(shown.id, |node| node.set_label(format!("Layer of step {}", index + 1)));
    if let Some(layer) = layer {
        let layer = layer.map(str::to_owned);
        out.push(change(session, format!("Change the layer of step {}", index + 1), |design| {
            if let Some(step) = step_mut(design, index) {
                step.layer = layer;
            }
        }));
    }
}

/// What can be done with a step as a whole.
fn step_menu(ui: &mut Ui, session: &Session, index: usize, out: &mut Vec<Command>) {
    let count = session.design().process.as_ref().map_or(0, |process| process.steps.len());
    let number = index + 1;
    let (menu, _) = MenuButton::new("…").ui(ui, |ui| {
        if ui.add_enabled(index > 0, egui::Button::new("Do it earlier")).clicked() {
            out.push(change(session, format!("Do step {number} earlier"), |design| swap(design, index - 1)));
        }
        if ui.add_enabled(number < count, egui::Button::new("Do it later")).clicked() {
            out.push(change(session, format!("Do step {number} later"), |design| swap(design, index)));
        }
        if ui.button("Add a step after it").clicked() {
            out.push(change(session, "Add step", |design| add(design, Some(index))));
        }
        if ui.button("Remove this step").clicked() {
            out.push(change(session, format!("Remove step {number}"), |design| remove(design, index)));
        }
    });
    ui.accesskit_node_builder(menu.id, |node| node.set_label(format!("Step {number}, more")));
}

/// Content in a place of that width.
fn place<R>(ui: &mut Ui, width: f32, content: impl FnOnce(&mut Ui) -> R) {
    let layout = egui::Layout::left_to_right(egui::Align::Center);
    ui.allocate_ui_with_layout(egui::vec2(width, 21.0), layout, |ui| {
        ui.set_min_width(width);
        content(ui);
    });
}

fn step_mut(design: &mut Design, index: usize) -> Option<&mut ProcessStep> {
    design.process.as_mut()?.steps.get_mut(index)
}

/// Changes what a step does; what it then cannot have goes, and a layer that no step brings yet comes.
fn set_kind(design: &mut Design, index: usize, kind: StepName) {
    let missing = layer_without_step(design);
    let Some(step) = step_mut(design, index) else { return };
    step.step = kind;
    if kind.brings_a_layer() {
        step.layer = step.layer.take().or(missing);
    } else {
        (step.layer, step.intrinsic_stress_mpa) = (None, 0.0);
    }
}

/// The lowest layer that no step brings.
fn layer_without_step(design: &Design) -> Option<String> {
    let steps = &design.process.as_ref()?.steps;
    let brought = |name: &String| steps.iter().any(|step| step.layer.as_ref() == Some(name));
    design.stack.layers.iter().map(|layer| &layer.name).find(|name| !brought(name)).cloned()
}

/// Adds a step after `after`, or before the ribbon is released: the layer that is still missing, else a change of
/// temperature.
pub(super) fn add(design: &mut Design, after: Option<usize>) {
    let layer = layer_without_step(design);
    let Some(process) = &mut design.process else { return };
    let release = process.steps.iter().position(|step| step.step == StepName::Release);
    let index = after.map_or_else(|| release.unwrap_or(process.steps.len()), |after| after + 1);
    let index = index.min(process.steps.len());
    let before = index.checked_sub(1).and_then(|before| process.steps.get(before));
    let temperature_c = before.map_or(20.0, |step| step.temperature_c);
    let kind = if layer.is_some() { StepName::Deposit } else { StepName::Hold };
    process.steps.insert(index, ProcessStep { step: kind, layer, temperature_c, intrinsic_stress_mpa: 0.0 });
}

/// Changes the order of a step and the next one.
fn swap(design: &mut Design, index: usize) {
    if let Some(process) = design.process.as_mut().filter(|process| index + 1 < process.steps.len()) {
        process.steps.swap(index, index + 1);
    }
}

fn remove(design: &mut Design, index: usize) {
    if let Some(process) = design.process.as_mut().filter(|process| index < process.steps.len()) {
        process.steps.remove(index);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ogee_design::Process;

    fn made() -> Design {
        let mut design = Design::sample();
        for layer in &mut design.stack.layers {
            layer.cte_ppm_per_k = Some(60.0);
        }
        let names = design.stack.layers.iter().map(|layer| layer.name.as_str());
        design.process = Some(Process::plain(names, 150.0));
        design
    }

    #[test]
    fn an_added_step_brings_the_missing_layer_before_the_release() {
        let mut design = made();
        let top = design.stack.layers.len() - 1;
        let name = design.stack.layers[top].name.clone();
        remove(&mut design, top);
        assert!(design.check().is_err());
        add(&mut design, None);
        let steps = &design.process.as_ref().unwrap().steps;
        assert_eq!(steps[steps.len() - 2].layer.as_ref(), Some(&name));
        assert_eq!(steps.last().unwrap().step, StepName::Release);
        assert_eq!(design.check().err(), None);
        add(&mut design, Some(0));
        assert_eq!(design.process.as_ref().unwrap().steps[1].step, StepName::Hold, "no layer is missing");
        assert_eq!(design.check().err(), None);
    }

    #[test]
    fn a_changed_step_has_what_it_needs_and_no_more() {
        let mut design = made();
        step_mut(&mut design, 0).unwrap().intrinsic_stress_mpa = 30.0;
        let name = design.stack.layers[0].name.clone();
        set_kind(&mut design, 0, StepName::Hold);
        let step = step_mut(&mut design, 0).unwrap();
        assert_eq!((step.layer.clone(), step.intrinsic_stress_mpa), (None, 0.0));
        set_kind(&mut design, 0, StepName::Bond);
        assert_eq!(step_mut(&mut design, 0).unwrap().layer, Some(name));
        assert_eq!(design.check().err(), None);
    }
}
