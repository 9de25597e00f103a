//! The shape: family, pitch, amplitude and what else the family has, periods, width and ends.

use super::{InputsPanel, Optional, change, choice};
use crate::session::{Command, Session};
use crate::window::quantity_field::RowLayout;
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::{Design, EndsName, FamilyName, Shape, digits_text};

/// Share of a quarter over which a fresh clothoid keeps its curvature.
const FRESH_PLATEAU: f64 = 0.3;
/// Radius of fresh arcs between arms, as a share of the radius of the shape before.
const FRESH_RADIUS_SHARE: f64 = 0.8;

/// What gives the arms of `arc and arm`.
#[derive(Clone, Copy, PartialEq)]
enum Arms {
    Radius,
    Tilt,
}

impl InputsPanel {
    pub(super) fn shape(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let shape = &session.design().shape;
        let layout = RowLayout::in_width(ui.available_width());
        let families = FamilyName::ALL;
        let label = |family: FamilyName| family.label().to_owned();
        if let Some(family) = choice(ui, theme, "Family", shape.family, families, label) {
            let radius_um = least_radius_um(session);
            out.push(change(session, format!("Change family to {}", family.label()), |design| {
                set_family(design, family, radius_um);
            }));
        }
        for path in ["shape.pitch_um", "shape.amplitude_um"] {
            self.numbers.row(ui, session, theme, layout, path, out);
        }
        match shape.family {
            FamilyName::ArcAndArm => self.arms(ui, session, theme, layout, out),
            FamilyName::Clothoid => {
                self.numbers.row(ui, session, theme, layout, "shape.plateau_share", out);
            }
            FamilyName::Sine | FamilyName::Arc | FamilyName::SineGenerated => {}
        }
        for path in ["shape.periods", "shape.width_um"] {
            self.numbers.row(ui, session, theme, layout, path, out);
        }
        let ends = EndsName::ALL;
        if let Some(ends) = choice(ui, theme, "Ends", shape.ends, ends, |ends| ends.label().to_owned()) {
            out.push(change(session, format!("Change ends to {}", ends.label()), |design| {
                design.shape.ends = ends;
                if ends != EndsName::Midline {
                    design.shape.end_radius_um = None;
                }
            }));
        }
        self.numbers.row(ui, session, theme, layout, "shape.lead_um", out);
        if shape.ends == EndsName::Midline {
            let optional = Optional {
                path: "shape.end_radius_um",
                label: "End radius",
                absent: "the least radius",
                value: rounded(least_radius_um(session)),
                set: &|design, value| design.shape.end_radius_um = value,
            };
            self.optional_row(ui, session, theme, &optional, out);
        }
        if let Some(found) = session.assessment() {
            let s = &found.shape;
            let words = format!(
                "Tilt {}°, least radius {} µm, slack {} %",
                digits_text(s.tilt_deg, 3),
                digits_text(s.least_radius_um, 3),
                digits_text(s.slack_percent, 3)
            );
            ui.label(RichText::new(words).small().color(theme.muted));
            let words = format!(
                "Span {} mm, contour {} mm",
                digits_text(s.span_um / 1000.0, 4),
                digits_text(s.contour_length_um / 1000.0, 4)
            );
            ui.label(RichText::new(words).small().color(theme.muted));
        }
    }

    /// Radius or tilt of `arc and arm`, whichever drives it.
    fn arms(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        layout: RowLayout,
        out: &mut Vec<Command>,
    ) {
        let shape = &session.design().shape;
        let now = if shape.tilt_deg.is_some() { Arms::Tilt } else { Arms::Radius };
        let name = |arms: Arms| if arms == Arms::Tilt { "tilt".to_owned() } else { "bend radius".to_owned() };
        if let Some(arms) = choice(ui, theme, "Arms given by", now, [Arms::Radius, Arms::Tilt], name) {
            let tilt_deg = session.assessment().map_or(60.0, |a| a.shape.tilt_deg);
            let radius_um = least_radius_um(session);
            out.push(change(session, format!("Give arms by {}", name(arms)), |design| {
                let shape = &mut design.shape;
                (shape.radius_um, shape.tilt_deg) = match arms {
                    Arms::Radius => (Some(radius_um), None),
                    Arms::Tilt => (None, Some(tilt_deg)),
                };
            }));
        }
        let path = if now == Arms::Tilt { "shape.tilt_deg" } else { "shape.radius_um" };
        self.numbers.row(ui, session, theme, layout, path, out);
    }
}

/// Least radius of the shape shown, for numbers that have to begin with something.
fn least_radius_um(session: &Session) -> f64 {
    session.assessment().map_or(session.design().shape.pitch_um / 4.0, |found| found.shape.least_radius_um)
}

/// `value` with two digits.
fn rounded(value: f64) -> f64 {
    digits_text(value, 2).parse().unwrap_or(value)
}

/// Changes the family and gives it what it needs; what it does not know goes.
fn set_family(design: &mut Design, family: FamilyName, radius_um: f64) {
    let shape: &mut Shape = &mut design.shape;
    shape.family = family;
    (shape.radius_um, shape.tilt_deg, shape.plateau_share) = (None, None, None);
    match family {
        FamilyName::Clothoid => shape.plateau_share = Some(FRESH_PLATEAU),
        FamilyName::ArcAndArm => {
            shape.radius_um = Some(rounded(FRESH_RADIUS_SHARE * radius_um));
            if let Err(faults) = design.check()
                && let Some(nearest) =
                    faults.iter().find(|f| f.path == "shape.radius_um").and_then(|f| f.nearest)
            {
                design.shape.radius_um = Some(nearest);
            }
        }
        FamilyName::Sine | FamilyName::Arc | FamilyName::SineGenerated => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_changed_family_has_what_it_needs_and_no_more() {
        for family in FamilyName::ALL {
            let mut design = Design::sample();
            design.shape.tilt_deg = Some(40.0);
            set_family(&mut design, family, 200.0);
            assert_eq!(design.shape.family, family);
            assert_eq!(design.shape.tilt_deg, None);
            assert_eq!(design.shape.radius_um.is_some(), family == FamilyName::ArcAndArm);
            assert_eq!(design.shape.plateau_share.is_some(), family == FamilyName::Clothoid);
            let faults = design.check().err().unwrap_or_default();
            assert!(faults.is_empty(), "{family:?}: {faults:?}");
        }
    }
}
