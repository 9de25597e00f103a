//! The shapes that the inputs of mechanical cases name.

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};

use crate::Case;

impl Case {
    /// The family of shapes among the inputs, with what it needs beside pitch and amplitude.
    ///
    /// # Panics
    /// If the inputs name no such family, or leave out what it needs.
    pub fn family(&self) -> Family {
        match self.text("family") {
            "sine" => Family::Sine,
            "arc" => Family::Arc,
            "arc-and-arm" => Family::ArcAndArm(match self.maybe_number("radius_um") {
                Some(radius_um) => ArmDrive::Radius { radius_um },
                None => ArmDrive::Tilt { tilt_rad: self.number("tilt_deg").to_radians() },
            }),
            "sine-generated" => Family::SineGenerated,
            "clothoid" => Family::Clothoid { plateau_share: self.number("plateau_share") },
            other => panic!("{}: no such family: {other}", self.name),
        }
    }

    /// The quarter period among the inputs.
    ///
    /// # Panics
    /// If the inputs describe none.
    pub fn quarter(&self) -> Quarter {
        Quarter::new(self.family(), self.number("pitch_um"), self.number("amplitude_um"))
            .expect("the table holds possible shapes")
    }

    /// The whole ribbon among the inputs: from crossing to crossing and without leads where they do not say.
    ///
    /// # Panics
    /// If the inputs describe none.
    pub fn ribbon(&self) -> Centreline {
        let ends = match self.inputs.get("start").and_then(|start| start.as_str()) {
            None | Some("crossing") => Ends::Crossing,
            Some("crest") => Ends::Crest,
            Some(other) => panic!("{}: no such start: {other}", self.name),
        };
        let lead_um = self.maybe_number("lead_um").unwrap_or_default();
        Centreline::new(self.quarter(), self.number("periods") as u32, ends, lead_um, None)
            .expect("the table holds possible ribbons")
    }
}
