//! How the ribbon is held between its islands: free, in its plane or bonded, out of line, curled.

use super::{InputsPanel, Optional, change, choice};
use crate::session::{Command, Session};
use crate::window::quantity_field::{RowLayout, remark};
use crate::window::theme::Theme;
use egui::Ui;
use ogee_design::{BaseName, SupportName};

/// Radius that a curl begins with, µm.
const FRESH_CURL_UM: f64 = 10_000.0;

impl InputsPanel {
    pub(super) fn support(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let support = &session.design().support;
        let layout = RowLayout::in_width(ui.available_width());
        let name = |kind: SupportName| kind.label().to_owned();
        if let Some(kind) = choice(ui, theme, "Between islands", support.kind, SupportName::ALL, name) {
            if support.elastomer.is_some() {
                self.kept.elastomer = support.elastomer;
            }
            let kept = self.kept.elastomer.unwrap_or_default();
            out.push(change(session, format!("Make the ribbon {}", kind.label()), |design| {
                design.support.kind = kind;
                design.support.elastomer = (kind == SupportName::Bonded).then_some(kept);
            }));
        }
        if let Some(fault) =
            session.fault_at("support.kind").or_else(|| session.fault_at("support.elastomer"))
        {
            remark(ui, theme, &fault.message);
        }
        if let Some(elastomer) = support.elastomer {
            for (path, label) in [
                ("support.elastomer.modulus_mpa", "Modulus"),
                ("support.elastomer.poisson_ratio", "Poisson's ratio"),
                ("support.elastomer.thickness_um", "Thickness"),
            ] {
                self.numbers.labelled_row(ui, session, theme, layout, path, label, None, out);
            }
            let name = |base: BaseName| base.label().to_owned();
            if let Some(base) = choice(ui, theme, "Rests on", elastomer.base, BaseName::ALL, name) {
                out.push(change(session, "Change what the elastomer rests on", |design| {
                    if let Some(elastomer) = &mut design.support.elastomer {
                        elastomer.base = base;
                    }
                }));
            }
            let mut embedded = elastomer.embedded;
            ui.checkbox(&mut embedded, "Embedded in the elastomer")
                .on_hover_text("As much elastomer above the ribbon as below; else it lies on top");
            if embedded != elastomer.embedded {
                let label = if embedded { "Embed the ribbon" } else { "Lay the ribbon on the elastomer" };
                out.push(change(session, label, |design| {
                    if let Some(elastomer) = &mut design.support.elastomer {
                        elastomer.embedded = embedded;
                    }
                }));
            }
        }
        for path in ["support.sideways_um", "support.turn_deg"] {
            self.numbers.row(ui, session, theme, layout, path, out);
        }
        let curl = Optional {
            path: "support.curl_radius_um",
            label: "Curl radius",
            absent: "flat",
            value: FRESH_CURL_UM,
            set: &|design, value| design.support.curl_radius_um = value,
        };
        self.optional_row(ui, session, theme, &curl, out);
    }
}
