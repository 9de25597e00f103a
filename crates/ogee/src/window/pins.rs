//! The pinned variants as a row of chips, each with its smallest margin.

use super::theme::Theme;
use crate::session::{Command, Session};
use egui::{Button, RichText, Stroke, Ui};

/// A chip for each pin: its menu restores or removes it.
pub(super) fn chips(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    // The bar is filled from the right.
    for (index, pin) in session.pins().iter().enumerate().rev() {
        let colour = theme.pins[pin.slot()];
        let smallest = pin.assessment.margins.first().and_then(|margin| margin.margin);
        let words = smallest.map_or_else(|| pin.name.clone(), |m| format!("{} {m:.2}", pin.name));
        let chip =
            Button::new(RichText::new(words).color(colour).size(11.5)).stroke(Stroke::new(1.0, colour));
        let response = egui::containers::menu::MenuButton::from_button(chip)
            .ui(ui, |ui| {
                ui.label(RichText::new(&pin.design.name).color(theme.muted));
                if ui.button("Restore").clicked() {
                    out.push(Command::RestorePin(index));
                }
                if ui.button("Remove").clicked() {
                    out.push(Command::Unpin(index));
                }
            })
            .0;
        response.on_hover_text(format!(
            "Pin {} and its smallest margin; click to restore or remove it",
            pin.name
        ));
    }
}
