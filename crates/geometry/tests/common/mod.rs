//! Shapes that the laws are checked on.

#![allow(dead_code, reason = "not every test file uses every shape")]
#![allow(clippy::unwrap_used, reason = "a test that cannot make its shape must fail")]

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};

pub(crate) const PITCH_UM: f64 = 1000.0;

pub(crate) fn tilt(degrees: f64) -> Family {
    Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: degrees.to_radians() })
}

pub(crate) fn radius(radius_um: f64) -> Family {
    Family::ArcAndArm(ArmDrive::Radius { radius_um })
}

pub(crate) fn clothoid(plateau_share: f64) -> Family {
    Family::Clothoid { plateau_share }
}

/// A dozen shapes of all families with bends of some width, flat to overhanging, for costly checks.
pub(crate) fn usual_shapes() -> Vec<(Family, f64)> {
    vec![
        (Family::Sine, 100.0),
        (Family::Sine, 600.0),
        (Family::Arc, 120.0),
        (Family::Arc, 250.0),
        (Family::Arc, 700.0),
        (tilt(60.0), 300.0),
        (tilt(90.0), 600.0),
        (tilt(100.0), 500.0),
        (radius(300.0), 700.0),
        (Family::SineGenerated, 200.0),
        (Family::SineGenerated, 600.0),
        (clothoid(0.0), 200.0),
        (clothoid(0.0), 500.0),
        (clothoid(0.4), 300.0),
        (clothoid(0.7), 600.0),
        (clothoid(1.0), 400.0),
    ]
}

pub(crate) fn usual_quarters() -> Vec<Quarter> {
    usual_shapes()
        .into_iter()
        .map(|(family, amplitude_um)| Quarter::new(family, PITCH_UM, amplitude_um).unwrap())
        .collect()
}

/// The usual shapes as ribbons with every kind of end.
pub(crate) fn usual_ribbons() -> Vec<Centreline> {
    let mut ribbons = Vec::new();
    for quarter in usual_quarters() {
        for (periods, ends, lead_um, end_radius_um) in [
            (2, Ends::Crossing, 0.0, None),
            (1, Ends::Crossing, 40.0, None),
            (3, Ends::Crest, 80.0, None),
            (1, Ends::Crest, 0.0, None),
            (2, Ends::Midline, 50.0, None),
            (1, Ends::Midline, 0.0, Some(140.0)),
            (3, Ends::Midline, 20.0, Some(2000.0)),
        ] {
            ribbons.push(Centreline::new(quarter.clone(), periods, ends, lead_um, end_radius_um).unwrap());
        }
    }
    ribbons
}
