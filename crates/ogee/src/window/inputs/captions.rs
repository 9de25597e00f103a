//! What stands under the cross-section: where the neutral plane lies, what the wrap comes to, what would balance it.

use super::hand::balanced;
use super::section::{is_balanced, neutral_plane_um};
use crate::session::{Command, Edit, Session};
use crate::window::drawing::steps::{length_text, round_length_text};
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::digits_text;

/// Where the neutral plane lies.
pub(super) fn neutral_plane_words(session: &Session) -> Option<String> {
    let found = session.assessment().filter(|_| !session.assessment_is_stale())?;
    let height_um = neutral_plane_um(found);
    let top_um = found.section.layers.last().map_or(0.0, |layer| layer.top_um);
    let outside = |distance: f64, side: &str| {
        format!("Neutral plane {} µm {side} face, outside the ribbon", digits_text(distance, 2))
    };
    if height_um < 0.0 {
        return Some(outside(-height_um, "below the bottom"));
    }
    if height_um > top_um {
        return Some(outside(height_um - top_um, "above the top"));
    }
    let design = session.design();
    let light = design.light.as_ref().map(|light| (light.core.as_str(), "core"));
    let trace = design.trace.as_ref().map(|trace| (trace.layer.as_str(), "trace"));
    let wished = light.or(trace);
    let layer = wished.and_then(|(name, _)| found.section.layers.iter().find(|layer| layer.name == name));
    Some(match (layer, wished) {
        (Some(layer), Some((_, what))) => {
            let above = height_um - layer.bottom_um.midpoint(layer.top_um);
            let (distance, side) = (above.abs(), if above < 0.0 { "below" } else { "above" });
            if distance < 5e-4 {
                format!("Neutral plane through the {what}'s middle")
            } else {
                format!("Neutral plane {} µm {side} the {what}'s middle", digits_text(distance, 2))
            }
        }
        _ => format!("Neutral plane {} µm above the bottom face", digits_text(height_um, 3)),
    })
}

/// Margins and least radius of the wrap, where one is asked for.
pub(super) fn wrap_words(ui: &mut Ui, session: &Session, theme: &Theme) {
    let Some(duty) = session.design().duty.wrap else { return };
    let Some(found) = session.assessment() else { return };
    let Some(wrap) = &found.wrap else { return };
    let muted = |words: String| RichText::new(words).small().color(theme.muted);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        ui.label(muted(format!("Round {}", round_length_text(duty.radius_um))));
        for (id, when) in [("wrap", ""), ("wrap-stretched", "stretched ")] {
            let Some(margin) = found.margins.iter().find(|margin| margin.id == id) else { continue };
            // Near 1 the third digit decides.
            let digits = |m: f64| if (m - 1.0).abs() < 0.1 { 3 } else { 2 };
            let value =
                margin.margin.map_or("no margin".to_owned(), |m| format!("{}×", digits_text(m, digits(m))));
            let verdict = if margin.passes { "" } else { " fails" };
            let ink = if margin.passes { theme.text } else { theme.bad };
            let words = RichText::new(format!("{when}{value}{verdict}")).small().strong().color(ink);
            ui.label(words).on_hover_text(format!("{}: {}", margin.name, margin.place.words));
        }
    });
    let least = wrap.least_radius_um.map_or_else(
        || "No radius keeps every layer to its allowed strain".to_owned(),
        |radius| match &wrap.governing_layer {
            Some(layer) => format!("Least radius {}, set by {layer}", length_text(radius)),
            None => format!("Least radius {}", length_text(radius)),
        },
    );
    ui.label(muted(least));
}

/// Thicknesses that would bring the neutral plane where it belongs, to be taken with a click.
pub(super) fn balance_links(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    for (index, layer) in session.design().stack.layers.iter().enumerate() {
        let Some((um, into)) = balanced(session, index) else { continue };
        if is_balanced(session.design(), index, um) {
            let words = format!("Balanced: the neutral plane runs through {into}");
            ui.label(RichText::new(words).small().color(theme.accent));
            return;
        }
        let um: f64 = digits_text(um, 4).parse().unwrap_or(um);
        let words = format!("Balanced with {} at {} µm", layer.name, digits_text(um, 3));
        let hint = format!("Make it so: the neutral plane then runs through {into}");
        if ui.link(RichText::new(words).small()).on_hover_text(hint).clicked() {
            let path = format!("stack.layers[{index}].thickness_um");
            out.push(Command::Commit(Edit::number(format!("Balance with {}", layer.name), path, um)));
        }
    }
}
