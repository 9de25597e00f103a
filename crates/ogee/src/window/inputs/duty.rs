//! What the ribbon must do: the stretch, and the cylinder round which it wraps.

use super::{InputsPanel, Optional, Switch, change, choice};
use crate::session::{Command, Edit, Session};
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::{FaceName, WrapDuty, digits_text};

/// Everyday cylinders and their radii, µm (round figures from experience).
const CYLINDERS: [(&str, f64); 4] =
    [("a stem", 2000.0), ("a pencil", 3500.0), ("a finger", 8000.0), ("a wrist", 28_000.0)];

impl InputsPanel {
    pub(super) fn duty(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        self.rows(ui, session, theme, &[("duty.target_stretch_percent", "Target stretch")], out);
        let wraps = Switch {
            words: "It wraps round a cylinder",
            name: "wrap",
            now: session.design().duty.wrap,
            kept: &mut self.kept.wrap,
            fresh: &|_| WrapDuty::default(),
            set: &|design, wrap| design.duty.wrap = wrap,
        };
        wraps.ui(ui, session, out);
        let Some(wrap) = session.design().duty.wrap else { return };
        self.rows(ui, session, theme, &[("duty.wrap.radius_um", "Wrap radius")], out);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            ui.spacing_mut().button_padding.x = 5.0;
            ui.label(RichText::new("round").small().color(theme.muted));
            for (name, radius_um) in CYLINDERS {
                let button =
                    egui::Button::selectable(wrap.radius_um == radius_um, RichText::new(name).small());
                let hint = format!("{} mm radius", digits_text(radius_um / 1000.0, 2));
                if ui.add(button).on_hover_text(hint).clicked() {
                    out.push(Command::Commit(Edit::number(
                        "Change wrap radius",
                        "duty.wrap.radius_um",
                        radius_um,
                    )));
                }
            }
        });
        let name = |face: FaceName| format!("the {} face", face.label());
        if let Some(face) = choice(ui, theme, "On the cylinder", wrap.face, FaceName::ALL, name) {
            out.push(change(session, "Change the face on the cylinder", |design| {
                if let Some(wrap) = &mut design.duty.wrap {
                    wrap.face = face;
                }
            }));
        }
        let whole_um = session.assessment().map_or(1000.0, |found| found.shape.span_um);
        let length = Optional {
            path: "duty.wrap.length_um",
            label: "Length",
            absent: "the whole ribbon",
            value: digits_text(whole_um, 3).parse().unwrap_or(whole_um),
            set: &|design, value| {
                if let Some(wrap) = &mut design.duty.wrap {
                    wrap.length_um = value;
                }
            },
        };
        self.optional_row(ui, session, theme, &length, out);
    }
}
