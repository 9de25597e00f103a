//! The arc with a straight arm between the crossing and the bend.
//!
//! With `h² = P²/16 + A²` and `β = atan(4A/P)`, the two conditions
//! `P/4 = R sin θ + a cos θ` and `A = R (1 − cos θ) + a sin θ` give, without iteration and without
//! cancellation,
//!
//! * from the tilt: `R = h sin(θ − β) / (2 sin²(θ/2))`, `a = h sin(β − θ/2) / sin(θ/2)`;
//! * from the radius: `a² = h² − 2 A R`, `θ = atan2(A − R, P/4) + atan2(R, a)`.

use std::f64::consts::FRAC_PI_2;

use crate::{
    ArmDrive, ShapeError,
    error::{Side, below, inward},
    family::{Solved, arc},
    piece::{CircleToCrest, Shape, StraightFromCrossing},
};

/// Room for rounding in a limit that a caller may hit exactly, such as the radius of the single arc.
const LIMIT_SLACK: f64 = 1e-9;
/// Arms shorter than this share of the pitch are below rounding and are left out.
const LEAST_ARM: f64 = 1e-12;

pub(crate) fn solve(pitch_um: f64, amplitude_um: f64, drive: ArmDrive) -> Result<Solved, ShapeError> {
    let (radius_um, tilt_rad, arm_um) = match drive {
        ArmDrive::Radius { radius_um } => from_radius(pitch_um, amplitude_um, radius_um)?,
        ArmDrive::Tilt { tilt_rad } => from_tilt(pitch_um, amplitude_um, tilt_rad)?,
    };
    if arm_um <= LEAST_ARM * pitch_um {
        return Ok(arc::solve(pitch_um, amplitude_um));
    }
    Ok(Solved {
        first: Some(Shape::Straight(StraightFromCrossing::new(tilt_rad, arm_um))),
        last: Shape::Circle(CircleToCrest::new(pitch_um, amplitude_um, radius_um, tilt_rad)),
        first_length_um: arm_um,
        last_length_um: radius_um * tilt_rad,
        tilt_rad,
        crest_curvature_per_um: 1.0 / radius_um,
        crossing_curvature_per_um: 0.0,
        arm_half_length_um: arm_um,
        half_breadth_um: if tilt_rad > FRAC_PI_2 { radius_um } else { pitch_um / 4.0 },
    })
}

fn from_radius(pitch_um: f64, amplitude_um: f64, radius_um: f64) -> Result<(f64, f64, f64), ShapeError> {
    let quarter_um = pitch_um / 4.0;
    let greatest_um = arc::greatest_radius_um(pitch_um, amplitude_um);
    if !radius_um.is_finite() {
        return Err(ShapeError::NotFinite { field: "radius_um" });
    }
    let least_um = crate::quarter::LEAST_RADIUS_SHARE * pitch_um;
    if radius_um < least_um {
        let least = inward(least_um, Side::Least);
        let greatest = inward(greatest_um, Side::Greatest);
        return Err(ShapeError::OutOfRange { field: "radius_um", value: radius_um, least, greatest });
    }
    if radius_um > greatest_um * (1.0 + LIMIT_SLACK) {
        let touching_um = 0.5 * pitch_um;
        // A bend of half a pitch touches its neighbour once it overhangs.
        let nearest_um = if greatest_um < touching_um || amplitude_um <= 0.25 * pitch_um {
            inward(greatest_um, Side::Greatest)
        } else {
            below(touching_um)
        };
        return Err(ShapeError::RadiusBeyondArc { radius_um, greatest_um, nearest_um });
    }
    let arm_squared = 2.0 * amplitude_um * (greatest_um - radius_um);
    let arm_um = arm_squared.max(0.0).sqrt();
    let tilt_rad = (amplitude_um - radius_um).atan2(quarter_um) + radius_um.atan2(arm_um);
    Ok((radius_um, tilt_rad, arm_um))
}

fn from_tilt(pitch_um: f64, amplitude_um: f64, tilt_rad: f64) -> Result<(f64, f64, f64), ShapeError> {
    let quarter_um = pitch_um / 4.0;
    if !tilt_rad.is_finite() {
        return Err(ShapeError::NotFinite { field: "tilt_deg" });
    }
    let chord_rad = amplitude_um.atan2(quarter_um);
    let greatest_rad = 2.0 * chord_rad;
    let chord_um = amplitude_um.hypot(quarter_um);
    let half_sin = (0.5 * tilt_rad).sin();
    let radius_um = chord_um * (tilt_rad - chord_rad).sin() / (2.0 * half_sin * half_sin);
    let least_radius_um = crate::quarter::LEAST_RADIUS_SHARE * pitch_um;
    let is_inside = tilt_rad > chord_rad && tilt_rad <= greatest_rad * (1.0 + LIMIT_SLACK);
    if !is_inside || radius_um < least_radius_um {
        // Near the chord's angle sin(θ − β) ≈ θ − β; doubling the estimate keeps it on the safe side.
        let least_half_sin = (0.5 * chord_rad).sin();
        let step_rad = 4.0 * least_half_sin * least_half_sin * least_radius_um / chord_um;
        return Err(ShapeError::TiltOutsideArm {
            tilt_rad,
            least_rad: chord_rad,
            greatest_rad,
            nearest_deg: if tilt_rad > greatest_rad {
                nearest_below_deg(pitch_um, amplitude_um)
            } else {
                inward((chord_rad + step_rad).to_degrees(), Side::Least)
            },
        });
    }
    let arm_um = chord_um * (chord_rad - 0.5 * tilt_rad).sin() / half_sin;
    Ok((radius_um, tilt_rad, arm_um.max(0.0)))
}

/// The greatest tilt in degrees for which neighbouring bends stay apart (R below P/2), or that of the single arc.
pub(crate) fn nearest_below_deg(pitch_um: f64, amplitude_um: f64) -> f64 {
    let greatest_um = arc::greatest_radius_um(pitch_um, amplitude_um);
    let radius_um = 0.5 * pitch_um;
    if greatest_um < radius_um || amplitude_um <= 0.25 * pitch_um {
        return inward(2.0 * amplitude_um.atan2(0.25 * pitch_um).to_degrees(), Side::Greatest);
    }
    let arm_um = (2.0 * amplitude_um * (greatest_um - radius_um)).sqrt();
    let tilt_rad = (amplitude_um - radius_um).atan2(0.25 * pitch_um) + radius_um.atan2(arm_um);
    below(tilt_rad.to_degrees())
}
