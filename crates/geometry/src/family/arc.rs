//! The arc: one circle through the crossing and the crest, tangent to the crest's line.
//!
//! `R = (P²/16 + A²)/(2A)`, `θ = 2 atan(4A/P)`, `Q = R θ`.

use std::f64::consts::FRAC_PI_2;

use crate::{
    family::Solved,
    piece::{CircleToCrest, Shape},
};

pub(crate) fn solve(pitch_um: f64, amplitude_um: f64) -> Solved {
    let quarter_um = pitch_um / 4.0;
    let radius_um = greatest_radius_um(pitch_um, amplitude_um);
    let tilt_rad = 2.0 * amplitude_um.atan2(quarter_um);
    Solved {
        first: None,
        last: Shape::Circle(CircleToCrest::new(pitch_um, amplitude_um, radius_um, tilt_rad)),
        first_length_um: 0.0,
        last_length_um: radius_um * tilt_rad,
        tilt_rad,
        crest_curvature_per_um: 1.0 / radius_um,
        crossing_curvature_per_um: 1.0 / radius_um,
        arm_half_length_um: 0.0,
        half_breadth_um: if tilt_rad > FRAC_PI_2 { radius_um } else { quarter_um },
    }
}

/// `(P²/16 + A²)/(2A)`: the radius of the single arc, the greatest that a bend with arms can have.
pub(crate) fn greatest_radius_um(pitch_um: f64, amplitude_um: f64) -> f64 {
    let quarter_um = pitch_um / 4.0;
    0.5 * (quarter_um * (quarter_um / amplitude_um) + amplitude_um)
}
