//! The wrap: strain through the thickness, what each layer sees, and the radius to drag.

mod radius;
mod sees;
mod thickness;

pub(super) use radius::RadiusBar;

use super::caption::{Line, fact, fact_in, head, remark, table};
use super::copied;
use super::look::{Figure, Look};
use crate::session::Command;
use crate::window::axes::{length_text, number, power_text};
use egui::{Rect, Ui, pos2};
use ogee_design::{WrapLayer, WrapResult, digits_text};

/// Height of the bar with the radius, points.
const BAR: f32 = 38.0;

/// The figure of a wrap.
#[derive(Debug)]
pub(super) struct WrapFigure<'a> {
    /// What is shown.
    pub(super) found: &'a WrapResult,
    /// The bar with the radius.
    pub(super) radius: &'a mut RadiusBar,
}

/// The layer with the smallest margin.
fn smallest(found: &WrapResult) -> Option<&WrapLayer> {
    found.layers.iter().min_by(|a, b| a.margin.total_cmp(&b.margin))
}

/// A margin in a sentence; never rounded up to a pass.
pub(super) fn times(margin: f64) -> String {
    format!("{}×", crate::window::margins::times(margin))
}

impl Figure for WrapFigure<'_> {
    fn title(&self, _look: &Look<'_>) -> String {
        let radius = length_text(self.found.radius_um);
        let pulled = match self.found.least_radius_stretched_um {
            None => "; pulled to the target, no radius will do".to_owned(),
            Some(least) if least > self.found.radius_um => {
                format!("; pulled to the target, it takes {}", length_text(least))
            }
            Some(_) => String::new(),
        };
        match smallest(self.found) {
            Some(layer) if layer.margin >= 1.0 => {
                format!("Round {radius} every layer holds, {} in {}{pulled}", times(layer.margin), layer.name)
            }
            Some(layer) => {
                format!("Round {radius} {} goes beyond its limit: {}", layer.name, times(layer.margin))
            }
            None => format!("Strain through the thickness, wrapped round {radius}"),
        }
    }

    fn least_height(&self) -> f32 {
        172.0
    }

    fn plot(&mut self, ui: &mut Ui, rect: Rect, look: &Look<'_>, out: &mut Vec<Command>) {
        let bar = Rect::from_min_max(rect.min, pos2(rect.right(), rect.top() + BAR));
        // Without the duty there is nothing to drag: the result is that of an earlier design.
        if let Some(duty) = &look.design.duty.wrap {
            let least = [
                (self.found.least_radius_um, "least"),
                (self.found.least_radius_stretched_um, "least, stretched"),
            ];
            let marks = least
                .into_iter()
                .filter_map(|(at, words)| Some((at.filter(|um| *um > 0.0)?, words)))
                .collect::<Vec<_>>();
            self.radius.ui(ui, bar, duty.radius_um, &marks, look.theme, out);
        }
        let place = Rect::from_min_max(pos2(rect.left(), bar.bottom()), rect.max);
        thickness::paint(ui, place, self.found, look, out);
    }

    fn caption(&mut self, ui: &mut Ui, look: &Look<'_>, out: &mut Vec<Command>) {
        let theme = look.theme;
        let found = self.found;
        let shown = look
            .selected
            .and_then(|i| found.layers.iter().find(|l| look.layer(&l.name) == Some(i)))
            .or_else(|| smallest(found));
        if let Some(layer) = shown {
            head(ui, &format!("What {} sees", layer.name), theme);
            sees::paint(ui, layer, theme);
        }
        let lines: Vec<Line> = found.layers.iter().map(|layer| line(layer, look)).collect();
        table(ui, &["layer", "together", "allowed", "margin"], &lines, look, out);
        ui.add_space(4.0);
        let radius = |um: Option<f64>| match um {
            Some(um) if um > 0.0 => length_text(um),
            Some(_) => "any will do".to_owned(),
            None => "none will do".to_owned(),
        };
        fact(ui, "Least radius", &radius(found.least_radius_um), theme);
        fact(ui, "Least radius while stretched", &radius(found.least_radius_stretched_um), theme);
        if let Some(layer) = &found.governing_layer {
            fact(ui, "Layer that sets it", layer, theme);
        }
        let shear = format!("{} %", digits_text(100.0 * found.largest_shear, 3));
        let shear = match (&found.shear_layer, found.shear_length_um) {
            (Some(layer), Some(length)) => format!("{shear} in {layer}, over {}", length_text(length)),
            (Some(layer), None) => format!("{shear} in {layer}"),
            (None, _) => "no soft layer".to_owned(),
        };
        fact(ui, "Shear at the wrapped ends", &shear, theme);
        let height = length_text(found.neutral_plane_um);
        fact(ui, "Neutral plane, bonded", &format!("{height} above the bottom"), theme);
        let wrapped = format!("{} over {}", length_text(found.length_um), found.face);
        fact(ui, "Wrapped length, face on the cylinder", &wrapped, theme);
        for balance in &found.balance {
            let words = format!(
                "{} {} instead of {} would bring the neutral plane into {}",
                balance.layer,
                length_text(balance.balanced_um),
                length_text(balance.thickness_um),
                balance.into
            );
            remark(ui, &words, theme.accent);
        }
        let [narrow, ribbon, wide] = found.stiffness_un_um2.map(large);
        let stiffness = format!("{narrow} · {ribbon} · {wide} µN·µm²");
        fact_in(ui, "Stiffness per width: beam, ribbon, plate", &stiffness, theme.muted, theme);
    }

    fn model(&self) -> (&str, &[String]) {
        (&self.found.model, &self.found.validity)
    }

    fn table(&self) -> String {
        copied::wrap(self.found)
    }
}

fn line(layer: &WrapLayer, look: &Look<'_>) -> Line {
    let percent = |range: [f64; 2]| format!("{} … {} %", number(range[1]), number(range[0]));
    Line {
        cells: vec![
            layer.name.clone(),
            format!("{} %", number_3(layer.together_percent[0])),
            format!("{} %", number_3(layer.allowable_strain_percent)),
            times(layer.margin),
        ],
        layer: look.layer(&layer.name),
        fails: layer.margin < 1.0,
        hover: format!(
            "{}\nwrap {}\npull {}\nleft from the oven {}\ntogether {}",
            layer.name,
            percent(layer.wrap_percent),
            percent(layer.pull_percent),
            percent(layer.residual_percent),
            percent(layer.together_percent)
        ),
    }
}

/// The same, large numbers in powers of ten.
fn large(value: f64) -> String {
    if value.abs() < 1e4 { number_3(value) } else { power_text(value) }
}

/// Three digits and a proper minus sign.
pub(super) fn number_3(value: f64) -> String {
    digits_text(value, 3).replace('-', "−")
}
