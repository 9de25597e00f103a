//! What the ribbon must keep to.

use super::{InputsPanel, Optional};
use crate::session::{Command, Session};
use crate::window::quantity_field::RowLayout;
use crate::window::theme::Theme;
use egui::Ui;
use ogee_design::digits_text;

impl InputsPanel {
    pub(super) fn limits(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let layout = RowLayout::in_width(ui.available_width());
        for path in ["limits.least_radius_um", "limits.clearance_um", "limits.span_um"] {
            self.numbers.row(ui, session, theme, layout, path, out);
        }
        let height_um = session.assessment().map_or(1000.0, |found| 1.1 * found.shape.height_um);
        let height = Optional {
            path: "limits.height_um",
            label: "Height",
            absent: "not judged",
            value: digits_text(height_um, 2).parse().unwrap_or(height_um),
            set: &|design, value| design.limits.height_um = value,
        };
        self.optional_row(ui, session, theme, &height, out);
        let room_um = session.design().shape.amplitude_um;
        let above = Optional {
            path: "limits.room_above_um",
            label: "Room above",
            absent: "not judged",
            value: digits_text(room_um, 2).parse().unwrap_or(room_um),
            set: &|design, value| design.limits.room_above_um = value,
        };
        self.optional_row(ui, session, theme, &above, out);
        let below = Optional {
            path: "limits.room_below_um",
            label: "Room below",
            set: &|design, value| design.limits.room_below_um = value,
            ..above
        };
        self.optional_row(ui, session, theme, &below, out);
        if session.design().light.is_some() {
            let loss = Optional {
                path: "limits.insertion_loss_db",
                label: "Insertion loss",
                absent: "missing",
                value: 3.0,
                set: &|design, value| design.limits.insertion_loss_db = value,
            };
            self.optional_row(ui, session, theme, &loss, out);
        }
    }
}
