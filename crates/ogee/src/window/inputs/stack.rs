//! The stack: its drawing, and the numbers of the selected layer.

use super::captions::{balance_links, neutral_plane_words, wrap_words};
use super::section::layer_fault;
use super::{InputsPanel, change};
use crate::session::{Command, Session};
use crate::window::quantity_field::remark;
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::{Design, StackLayer};

impl InputsPanel {
    pub(super) fn stack(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        self.section(ui, session, theme, out);
        if let Some(words) = neutral_plane_words(session) {
            ui.label(RichText::new(words).small().color(theme.muted));
        }
        wrap_words(ui, session, theme);
        balance_links(ui, session, theme, out);
        for fault in session.faults().iter().filter(|f| is_of_the_stack(&f.path)) {
            remark(ui, theme, &fault.message);
        }
        for (index, layer) in session.design().stack.layers.iter().enumerate() {
            if session.selected_layer() == Some(index) {
                continue;
            }
            if let Some(fault) = layer_fault(session, index) {
                remark(ui, theme, &format!("{}: {}", layer.name, fault.message));
                if ui.link(format!("Show {}", layer.name)).clicked() {
                    out.push(Command::SelectLayer(Some(index)));
                }
            }
        }
        if let Some(index) = session.selected_layer() {
            ui.add_space(2.0);
            ui.separator();
            self.layer(ui, session, theme, index, out);
        } else if session.design().stack.layers.is_empty() {
            if ui.button("Add a layer").clicked() {
                out.push(change(session, "Add layer", |design| {
                    insert_above(design, None);
                }));
                out.push(Command::SelectLayer(Some(0)));
            }
        } else {
            let words = "Click a layer to change it; drag its top for its thickness";
            ui.label(RichText::new(words).small().color(theme.muted));
        }
    }
}

/// Whether a fault is of the stack as a whole, or of the design's own materials.
fn is_of_the_stack(path: &str) -> bool {
    path == "stack" || path == "stack.layers" || path.starts_with("materials")
}

/// Adds a layer above the one at `below`, made of the same, and returns its index.
pub(super) fn insert_above(design: &mut Design, below: Option<usize>) -> usize {
    let layers = &mut design.stack.layers;
    let pattern = below.and_then(|index| layers.get(index)).cloned();
    let mut layer = pattern.unwrap_or_else(|| StackLayer::plain(""));
    layer.name = free_name(layers);
    let index = below.map_or(layers.len(), |index| (index + 1).min(layers.len()));
    let name = layer.name.clone();
    layers.insert(index, layer);
    let below = index.checked_sub(1).map(|below| layers[below].name.clone());
    bring(design, name, below.as_deref());
    index
}

/// Gives a new layer its step of making, like that of the layer below it.
fn bring(design: &mut Design, name: String, below: Option<&str>) {
    let Some(process) = &mut design.process else { return };
    let pattern =
        process.steps.iter().position(|step| step.layer.is_some() && step.layer.as_deref() == below);
    let Some(pattern) = pattern else { return };
    let step = ogee_design::ProcessStep { layer: Some(name), ..process.steps[pattern].clone() };
    process.steps.insert(pattern + 1, step);
}

/// `layer N` with the first number that no layer has.
fn free_name(layers: &[StackLayer]) -> String {
    // One of so many names is free.
    (layers.len() + 1..=2 * layers.len() + 1)
        .map(|number| format!("layer {number}"))
        .find(|name| layers.iter().all(|layer| layer.name != *name))
        .unwrap_or_default()
}

/// Renames a layer wherever it is named: a core, a trace, steps of making and the sides of others follow.
pub(super) fn rename(design: &mut Design, index: usize, name: &str) {
    let Some(layer) = design.stack.layers.get_mut(index) else { return };
    let old = std::mem::replace(&mut layer.name, name.to_owned());
    for layer in &mut design.stack.layers {
        if layer.sides.as_ref() == Some(&old) {
            layer.sides = Some(name.to_owned());
        }
    }
    if let Some(light) = &mut design.light
        && light.core == old
    {
        name.clone_into(&mut light.core);
    }
    if let Some(trace) = &mut design.trace
        && trace.layer == old
    {
        name.clone_into(&mut trace.layer);
    }
    let steps = design.process.iter_mut().flat_map(|process| &mut process.steps);
    for layer in steps.filter_map(|step| step.layer.as_mut()).filter(|layer| **layer == old) {
        name.clone_into(layer);
    }
}

/// Removes a layer with its step of making; sides that it filled are open then.
pub(super) fn remove(design: &mut Design, index: usize) {
    if index >= design.stack.layers.len() {
        return;
    }
    let gone = design.stack.layers.remove(index);
    for layer in &mut design.stack.layers {
        if layer.sides.as_ref() == Some(&gone.name) {
            layer.sides = None;
        }
    }
    if let Some(process) = &mut design.process {
        process.steps.retain(|step| step.layer.as_ref() != Some(&gone.name));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_renamed_layer_is_followed() {
        let mut design = Design::sample();
        rename(&mut design, 1, "glass");
        rename(&mut design, 2, "lid");
        assert_eq!(design.light.as_ref().unwrap().core, "glass");
        assert_eq!(design.stack.layers[1].sides.as_deref(), Some("lid"));
        assert!(design.check().is_ok());
    }

    #[test]
    fn steps_of_making_follow_the_layers() {
        let mut design = Design::sample();
        for layer in &mut design.stack.layers {
            layer.cte_ppm_per_k = Some(60.0);
        }
        let names = design.stack.layers.iter().map(|layer| layer.name.as_str());
        design.process = Some(ogee_design::Process::plain(names, 150.0));
        insert_above(&mut design, Some(0));
        rename(&mut design, 1, "buffer");
        assert_eq!(design.check().err(), None);
        assert_eq!(design.process.as_ref().unwrap().steps[1].layer.as_deref(), Some("buffer"));
        remove(&mut design, 1);
        assert_eq!(design.check().err(), None);
    }

    #[test]
    fn an_added_layer_has_a_name_of_its_own() {
        let mut design = Design::sample();
        assert_eq!(insert_above(&mut design, Some(0)), 1);
        assert_eq!(insert_above(&mut design, Some(0)), 1);
        assert_eq!(design.stack.layers[1].material, design.stack.layers[0].material);
        let names: std::collections::HashSet<_> = design.stack.layers.iter().map(|l| &l.name).collect();
        assert_eq!(names.len(), 5);
        assert!(design.check().is_ok());
    }

    #[test]
    fn a_removed_layer_fills_no_sides() {
        let mut design = Design::sample();
        remove(&mut design, 2);
        remove(&mut design, 9);
        assert_eq!(design.stack.layers.len(), 2);
        assert_eq!(design.stack.layers[1].sides, None);
    }
}
