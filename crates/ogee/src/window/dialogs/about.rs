//! Shortcuts, and what the numbers are worth.

use super::{Next, close_row, title};
use crate::session::ACTIONS;
use crate::window::margins::CAUTION;
use crate::window::menu::keyboard;
use crate::window::theme::Theme;
use egui::{Grid, RichText, ScrollArea, Ui};

/// Gestures that are in no menu.
const GESTURES: &[(&str, &str)] = &[
    ("Drag a handle", "change that dimension; one drag is one step to undo"),
    ("Escape", "give up the drag, or what was typed"),
    ("Wheel, pinch", "zoom at the cursor"),
    ("Middle drag, Space and drag", "move the drawing"),
    ("Double click", "show the whole ribbon"),
    ("Tab", "go through handles and fields"),
    ("Arrow keys", "step the handle or the field; with Shift ten times as far"),
    ("Enter", "take what was typed"),
];

pub(super) fn shortcuts(ui: &mut Ui, theme: &Theme) -> Next {
    title(ui, "Shortcuts");
    ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
        Grid::new("shortcuts").num_columns(2).spacing([24.0, 4.0]).show(ui, |ui| {
            for line in ACTIONS.iter().filter(|line| !line.shortcuts.is_empty()) {
                let keys: Vec<_> = line.shortcuts.iter().map(|s| ui.format_shortcut(&keyboard(*s))).collect();
                ui.label(keys.join(", "));
                ui.label(RichText::new(line.text).color(theme.muted));
                ui.end_row();
            }
            for (gesture, effect) in GESTURES {
                ui.label(*gesture);
                ui.label(RichText::new(*effect).color(theme.muted));
                ui.end_row();
            }
        });
    });
    close_row(ui)
}

pub(super) fn about(ui: &mut Ui, theme: &Theme) -> Next {
    title(ui, concat!("Ogee ", env!("CARGO_PKG_VERSION")));
    ui.label("Shape a stretchable ribbon between two islands by hand; strain, light loss and fit answer meanwhile.");
    ui.label(RichText::new("Cautions").heading());
    ui.label(CAUTION);
    ui.label(
        "The models assume thin ribbons that stay in the plane, linear elastic layers, and light in its fundamental \
         mode. Each margin names its model and its source; notes say where a model is near its limit.",
    );
    ui.label("The samples' data are invented and describe no real part, material or supplier.");
    ui.label(
        RichText::new("Licence: MIT or Apache 2.0. Typeface: DejaVu Sans Condensed.")
            .small()
            .color(theme.muted),
    );
    close_row(ui)
}
