//! How a ribbon meets its islands.

use crate::{Quarter, ShapeError, root};

/// How a ribbon begins and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ends {
    /// On the midline at the meander's tilt; leads go on straight at that tilt.
    Crossing,
    /// On an upper crest, tangent along x; leads go straight along x.
    Crest,
    /// On the midline along x: one arc leads from the lead into the first quarter, see [`EndBend`]. The far end is
    /// the near end turned by 180° about the ribbon's centre.
    Midline,
}

/// The arc that leads from a straight lead on the midline into the first quarter.
///
/// It turns counter-clockwise from φ = 0 with radius `R_b` and joins the quarter tangentially at the contour length
/// `s_b` where `R_b (1 − cos φ₀(s_b)) = y₀(s_b)`. The quarter before `s_b` is left out. The left side minus the right
/// falls monotonically along the quarter from `R_b (1 − cos θ)` to −A, so there is one such point for every radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndBend {
    /// Radius `R_b` of the arc, in µm.
    pub radius_um: f64,
    /// Angle by which the arc turns, `φ₀(s_b)`, in radians.
    pub turn_rad: f64,
    /// Contour length of the arc, in µm.
    pub length_um: f64,
    /// Contour length `s_b` from the quarter's crossing to the joint, in µm.
    pub joins_quarter_at_um: f64,
}

impl EndBend {
    pub(crate) fn new(quarter: &Quarter, radius_um: f64) -> Result<Self, ShapeError> {
        // f' = sin φ (R_b κ − 1) along the quarter; everything over the pitch to keep residuals dimensionless.
        let pitch_um = quarter.pitch_um();
        let residual = |s_um: f64| {
            let point = quarter.at(s_um);
            let half_sin = (0.5 * point.phi_rad).sin();
            let rise_um = 2.0 * radius_um * half_sin * half_sin;
            let slope = point.phi_rad.sin() * (radius_um * point.kappa_per_um - 1.0);
            ((rise_um - point.y_um) / pitch_um, slope / pitch_um)
        };
        let length_um = quarter.length_um();
        let root = root::newton(residual, 0.0, length_um, 0.5 * length_um);
        if !root.is_converged {
            return Err(ShapeError::not_converged(root));
        }
        let joint = quarter.at(root.at);
        // A long arc onto a sharp crest magnifies the rounding of φ; the height has none of it.
        let half_sin = (joint.y_um / (2.0 * radius_um)).sqrt();
        let is_flat = joint.phi_rad < std::f64::consts::FRAC_PI_2;
        let turn_rad = if is_flat { 2.0 * half_sin.min(1.0).asin() } else { joint.phi_rad };
        Ok(Self { radius_um, turn_rad, length_um: radius_um * turn_rad, joins_quarter_at_um: root.at })
    }
}
