//! The stiff islands on their sheet.

use super::{InputsPanel, Optional, Switch, caption, fault_remark};
use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::{GratingData, Islands, digits_text};

/// Thickness and shear modulus that an adhesive begins with, µm and MPa.
const FRESH_ADHESIVE: (f64, f64) = (20.0, 0.5);

impl InputsPanel {
    pub(super) fn islands(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let judged = Switch {
            words: "Stiff islands on a soft sheet",
            name: "islands",
            now: session.design().islands,
            kept: &mut self.kept.islands,
            fresh: &|_| Islands::default(),
            set: &|design, islands| design.islands = islands,
        };
        judged.ui(ui, session, out);
        let Some(islands) = session.design().islands else { return };
        let rows = [
            ("islands.pitch_um", "Middle to middle"),
            ("islands.sheet_stretch_percent", "Sheet stretch"),
            ("islands.strain_limit_percent", "Allowed strain"),
        ];
        self.rows(ui, session, theme, &rows, out);
        caption(ui, theme, "Island");
        let rows = [
            ("islands.length_um", "Length"),
            ("islands.thickness_um", "Thickness"),
            ("islands.modulus_mpa", "Modulus"),
            ("islands.poisson_ratio", "Poisson's ratio"),
        ];
        self.rows(ui, session, theme, &rows, out);
        let root = Optional {
            path: "islands.root_um",
            label: "Root length",
            absent: "the lead",
            value: session.design().shape.lead_um,
            set: &|design, value| {
                if let Some(islands) = &mut design.islands {
                    islands.root_um = value;
                }
            },
        };
        self.optional_row(ui, session, theme, &root, out);
        caption(ui, theme, "Sheet");
        let rows = [
            ("islands.sheet_thickness_um", "Thickness"),
            ("islands.sheet_modulus_mpa", "Modulus"),
            ("islands.sheet_poisson_ratio", "Poisson's ratio"),
        ];
        self.rows(ui, session, theme, &rows, out);
        let adhesive = islands.adhesive_thickness_um.zip(islands.adhesive_shear_modulus_mpa);
        let half = islands.adhesive_thickness_um.or(islands.adhesive_shear_modulus_mpa);
        let mut none = None;
        let glued = Switch {
            words: "An adhesive between them",
            name: "adhesive",
            // With one of the two numbers missing it is there, and at fault.
            now: adhesive.or(half.map(|_| FRESH_ADHESIVE)),
            kept: &mut none,
            fresh: &|_| FRESH_ADHESIVE,
            set: &|design, adhesive: Option<(f64, f64)>| {
                if let Some(islands) = &mut design.islands {
                    islands.adhesive_thickness_um = adhesive.map(|(thickness, _)| thickness);
                    islands.adhesive_shear_modulus_mpa = adhesive.map(|(_, modulus)| modulus);
                }
            },
        };
        if glued.ui(ui, session, out) {
            let rows = [
                ("islands.adhesive_thickness_um", "Thickness"),
                ("islands.adhesive_shear_modulus_mpa", "Shear modulus"),
            ];
            self.rows(ui, session, theme, &rows, out);
            for (path, _) in rows.into_iter().filter(|(path, _)| session.design().number(path).is_none()) {
                fault_remark(ui, session, theme, path);
            }
        }
        let grating = Switch {
            words: "A grating on an island couples the light",
            name: "grating",
            now: islands.grating,
            kept: &mut self.kept.grating,
            fresh: &|_| GratingData::default(),
            set: &|design, grating| {
                if let Some(islands) = &mut design.islands {
                    islands.grating = grating;
                }
            },
        };
        if grating.ui(ui, session, out) {
            self.grating(ui, session, theme, out);
        }
        if let Some(found) = session.assessment().and_then(|found| found.islands.as_ref()) {
            let words = format!(
                "The ribbon between them is stretched {} %, {} times the sheet",
                digits_text(found.ribbon_stretch_percent, 3),
                digits_text(found.amplification, 3)
            );
            ui.label(RichText::new(words).small().color(theme.muted));
        }
    }

    fn grating(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        fault_remark(ui, session, theme, "islands.grating");
        let rows =
            [("islands.grating.angle_deg", "Angle"), ("islands.grating.drift_limit_nm", "Allowed drift")];
        self.rows(ui, session, theme, &rows, out);
        let light = session.assessment().and_then(|found| found.light.as_ref());
        let index = light.map_or(1.5, |light| light.effective_index);
        let group = Optional {
            path: "islands.grating.group_index",
            label: "Group index",
            absent: "effective index",
            value: digits_text(index, 4).parse().unwrap_or(index),
            set: &|design, value| {
                if let Some(grating) = design.islands.as_mut().and_then(|islands| islands.grating.as_mut()) {
                    grating.group_index = value;
                }
            },
        };
        self.optional_row(ui, session, theme, &group, out);
    }
}
