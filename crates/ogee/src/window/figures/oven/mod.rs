//! From the oven to use: stress of every layer step by step, bow and curl, cracks and interfaces.

mod steps;

use super::caption::{Line, fact, head, remark, table};
use super::copied;
use super::look::{Figure, Look};
use super::wrap::number_3;
use crate::session::Command;
use crate::window::axes::length_text;
use egui::{Rect, Ui};
use ogee_design::{CrackResult, ThermalResult, ThermalStep};

/// The figure of a process.
#[derive(Debug)]
pub(super) struct OvenFigure<'a> {
    /// What is shown.
    pub(super) found: &'a ThermalResult,
}

/// Every step and temperature of use, in order.
fn all(found: &ThermalResult) -> impl Iterator<Item = &ThermalStep> {
    found.steps.iter().chain(&found.service)
}

/// The largest tension in use, or over all steps where nothing is known of the use: MPa, layer, when.
fn largest(found: &ThermalResult) -> Option<(f64, &str, &str)> {
    let steps = if found.service.is_empty() { &found.steps } else { &found.service };
    steps
        .iter()
        .flat_map(|step| step.layers.iter().map(move |layer| (step, layer)))
        .map(|(step, layer)| {
            (layer.stress_mpa[0].max(layer.stress_mpa[1]), layer.name.as_str(), step.words.as_str())
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

impl Figure for OvenFigure<'_> {
    fn title(&self, _look: &Look<'_>) -> String {
        let cracks = self.found.cracks.iter().find(|c| is_cracking(c));
        if let Some(crack) = cracks {
            return format!("Cracks run through {}: {}", crack.layer, crack.when);
        }
        match largest(self.found) {
            Some((stress, layer, _)) if stress > 0.0 => {
                let what = if self.found.service.is_empty() { "during the process" } else { "in use" };
                format!("Left from the oven: at most {} MPa of tension {what}, in {layer}", number_3(stress))
            }
            Some(_) => "Left from the oven: no layer is in tension".to_owned(),
            None => "Stress from the oven to use".to_owned(),
        }
    }

    fn least_height(&self) -> f32 {
        165.0
    }

    fn plot(&mut self, ui: &mut Ui, rect: Rect, look: &Look<'_>, out: &mut Vec<Command>) {
        steps::paint(ui, rect, self.found, look, out);
    }

    fn caption(&mut self, ui: &mut Ui, look: &Look<'_>, out: &mut Vec<Command>) {
        let theme = look.theme;
        let found = self.found;
        let curl = match found.curl_radius_um {
            Some(radius) if radius > 0.0 => format!("{}, towards the top", length_text(radius)),
            Some(radius) => format!("{}, towards the bottom", length_text(-radius)),
            None if found.released => "stays flat".to_owned(),
            None => "still on its handle".to_owned(),
        };
        fact(ui, "Curl radius", &curl, theme);
        if let Some(bow) = found.largest_bow_um {
            let limit = look.design.process.as_ref().and_then(|p| p.bow_limit_um);
            let limit = limit.map_or_else(String::new, |l| format!(" of {}", length_text(l)));
            fact(ui, "Largest bow of the handle", &format!("{}{limit}", length_text(bow)), theme);
        }
        for wrinkle in &found.wrinkles {
            let words = format!(
                "{} % of {} %, {} long",
                number_3(wrinkle.compression_percent),
                number_3(wrinkle.limit_percent),
                length_text(wrinkle.wavelength_um)
            );
            fact(ui, &format!("Wrinkles of {} on {}", wrinkle.layer, wrinkle.base), &words, theme);
        }
        cracks(ui, found, look, out);
        if !found.interfaces.is_empty() {
            head(ui, "Parting of the stack, at most", theme);
            let lines: Vec<Line> = found
                .interfaces
                .iter()
                .map(|interface| Line {
                    cells: vec![
                        format!("{} on {}", interface.above, interface.below),
                        format!("{} J/m²", number_3(interface.bound_j_per_m2)),
                    ],
                    hover: format!("greatest {}", interface.when),
                    ..Line::default()
                })
                .collect();
            table(ui, &["interface", "energy, upper bound"], &lines, look, out);
        }
        head(ui, "Steps", theme);
        let lines: Vec<Line> =
            all(found).enumerate().map(|(i, step)| step_line(i, step, i >= found.steps.len())).collect();
        table(ui, &["", "temperature", "shape"], &lines, look, out);
    }

    fn model(&self) -> (&str, &[String]) {
        (&self.found.model, &self.found.validity)
    }

    fn table(&self) -> String {
        copied::oven(self.found)
    }
}

fn is_cracking(crack: &CrackResult) -> bool {
    crack.drive_j_per_m2.is_some_and(|drive| drive >= crack.toughness_j_per_m2)
}

fn cracks(ui: &mut Ui, found: &ThermalResult, look: &Look<'_>, out: &mut Vec<Command>) {
    if found.cracks.is_empty() {
        return;
    }
    head(ui, "Cracks through a film", look.theme);
    let micro = |um: Option<f64>| um.map_or_else(|| "—".to_owned(), length_text);
    let lines: Vec<Line> = found
        .cracks
        .iter()
        .map(|crack| Line {
            cells: vec![
                crack.layer.clone(),
                crack.drive_j_per_m2.map_or_else(|| "—".to_owned(), number_3),
                number_3(crack.toughness_j_per_m2),
                micro(crack.critical_thickness_um),
                micro(crack.critical_without_buffer_um),
            ],
            layer: look.layer(&crack.layer),
            fails: is_cracking(crack),
            hover: format!(
                "{} on {}, {}: {} MPa{}",
                crack.layer,
                crack.base,
                crack.when,
                number_3(crack.stress_mpa),
                crack.factor.map_or_else(String::new, |z| format!(", Z = {}", number_3(z)))
            ),
        })
        .collect();
    let heads = ["", "drive, J/m²", "toughness", "critical", "no buffer"];
    table(ui, &heads, &lines, look, out);
    for crack in found.cracks.iter().filter(|c| !c.words.is_empty()) {
        remark(ui, &format!("{}: {}", crack.layer, crack.words), look.theme.muted);
    }
}

fn step_line(i: usize, step: &ThermalStep, is_in_use: bool) -> Line {
    let shape = match step.bow_um {
        Some(bow) => format!("bow {}", length_text(bow)),
        None if is_in_use => "held flat".to_owned(),
        None if step.curvature_per_um.abs() < 1e-9 => "flat".to_owned(),
        None => format!("curl {}", length_text(1.0 / step.curvature_per_um.abs())),
    };
    let temperature = format!("{} °C", number_3(step.temperature_c));
    Line { cells: vec![format!("{} {}", i + 1, step.words), temperature, shape], ..Line::default() }
}
