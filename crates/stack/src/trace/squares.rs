//! The number of squares of a trace.

use std::f64::consts::{LN_2, PI};

use super::TraceError;
use super::error::{TraceField, finite, metal, number, positive};

/// Squares that a right-angle corner between arms of one width adds to the arms, 1 − (2/π) ln 2 = 0.5587.
///
/// The arms are measured from the inner corner. Conformal map of the L-shaped region; finite elements give the same to
/// 4e-7.
pub const CORNER_SQUARES: f64 = 1.0 - 2.0 * LN_2 / PI;

/// Below this κw/2 the series is exact to all digits.
const SERIES_BELOW: f64 = 1e-3;

/// Squares of a straight run, L/w.
///
/// # Errors
/// [`TraceError`] for a length below 0 or a width that is not above 0.
pub fn straight_squares(length_um: f64, width_um: f64) -> Result<f64, TraceError> {
    let field = TraceField::Length;
    finite(field, length_um)?;
    metal(TraceField::Width, width_um)?;
    if length_um < 0.0 {
        return Err(TraceError::Outside { field, value: length_um, least: 0.0, greatest: f64::INFINITY });
    }
    number("number of squares", length_um / width_um)
}

/// Squares of an annular bend, angle/ln(outer radius / inner radius).
///
/// Exact for concentric edges with the current entering and leaving along them; tends to mid-radius × angle / width for a
/// wide bend, and is below it for a tight one, as the current keeps to the inside.
///
/// * `angle_rad`: the angle turned, of either sign. `mid_radius_um`: to the middle of the trace.
/// # Errors
/// [`TraceError::BendTooTight`] where the radius is half the width or less; [`TraceError`] for values that are no numbers or
/// not above 0.
///
/// ```
/// let turn = ogee_stack::bend_squares(std::f64::consts::PI, 30.0, 20.0)?;
/// assert!((turn - std::f64::consts::PI / 2f64.ln()).abs() < 1e-14);
/// # Ok::<(), ogee_stack::TraceError>(())
/// ```
pub fn bend_squares(angle_rad: f64, mid_radius_um: f64, width_um: f64) -> Result<f64, TraceError> {
    finite(TraceField::Angle, angle_rad)?;
    positive(TraceField::Radius, mid_radius_um)?;
    metal(TraceField::Width, width_um)?;
    let q = 0.5 * width_um / mid_radius_um;
    if q >= 1.0 {
        return Err(TraceError::BendTooTight { element: None, radius_um: mid_radius_um, width_um });
    }
    let length_um = angle_rad.abs() * mid_radius_um;
    number("number of squares", length_um / width_um * straightness(q))
}

/// q/artanh(q) for |q| < 1: squares of a bend over those of a straight run of its mid-length; 1 − q²/3 − 4q⁴/45 near 0.
fn straightness(q: f64) -> f64 {
    if q.abs() < SERIES_BELOW {
        let square = q * q;
        1.0 - square * (1.0 / 3.0 + square * 4.0 / 45.0)
    } else {
        q / q.atanh()
    }
}

/// A path's length and number of squares.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PathSquares {
    /// Squares of the path.
    pub squares: f64,
    /// Its length along the middle, µm.
    pub length_um: f64,
    /// Squares by length over width alone: what the bends save is the difference.
    pub straight_squares: f64,
}

/// Squares of a trace along a path, ∫ κ/ln((1 + κw/2)/(1 − κw/2)) ds; 1/w ds where it is straight.
///
/// Every element is taken as part of an annular bend, so that arcs are exact; where the curvature changes over a length
/// of the order of the width, the current needs room to shift and the true value is a little higher.
///
/// * `width_um`: of the trace. `elements`: length, µm, and curvature of its middle, 1/µm, of either sign.
/// # Errors
/// [`TraceError::BendTooTight`] with the element where |κ|w/2 ≥ 1, [`TraceError::Element`] for elements that are no
/// numbers or of negative length, [`TraceError::NoMetal`] for the width.
pub fn path_squares(
    width_um: f64,
    elements: impl IntoIterator<Item = (f64, f64)>,
) -> Result<PathSquares, TraceError> {
    metal(TraceField::Width, width_um)?;
    let mut path = PathSquares::default();
    for (element, (length_um, curvature_per_um)) in elements.into_iter().enumerate() {
        if !(length_um.is_finite() && length_um >= 0.0) {
            return Err(TraceError::Element { element, field: TraceField::Length, value: length_um });
        }
        if !curvature_per_um.is_finite() {
            return Err(TraceError::Element {
                element,
                field: TraceField::Curvature,
                value: curvature_per_um,
            });
        }
        let q = 0.5 * width_um * curvature_per_um.abs();
        if q >= 1.0 {
            let radius_um = 1.0 / curvature_per_um.abs();
            return Err(TraceError::BendTooTight { element: Some(element), radius_um, width_um });
        }
        path.length_um += length_um;
        path.squares += length_um / width_um * straightness(q);
    }
    number("length of the path", path.length_um)?;
    number("number of squares", path.squares)?;
    path.straight_squares = number("number of squares", path.length_um / width_um)?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::{bend_squares, path_squares, straight_squares, straightness};
    use crate::TraceError;

    #[test]
    fn series_and_closed_form_meet() {
        for q in [0.000_999_9, 0.001_000_1] {
            assert!((straightness(q) - q / f64::atanh(q)).abs() < 1e-15);
        }
        assert_eq!(straightness(0.0), 1.0);
    }

    #[test]
    fn a_wide_bend_is_a_straight_run() {
        let squares = bend_squares(1.5, 1e5, 20.0).unwrap();
        let straight = straight_squares(1.5e5, 20.0).unwrap();
        assert!(squares < straight && (squares / straight - 1.0).abs() < 1e-8);
    }

    #[test]
    fn a_path_is_the_sum_of_its_parts() {
        let path = path_squares(20.0, [(200.0, 0.0), (30.0, 1.0 / 30.0), (30.0, -1.0 / 30.0)]).unwrap();
        let parts = 10.0 + 2.0 * bend_squares(1.0, 30.0, 20.0).unwrap();
        assert!((path.squares - parts).abs() < 1e-12);
        assert_eq!((path.length_um, path.straight_squares), (260.0, 13.0));
        assert!(path.squares < path.straight_squares);
    }

    #[test]
    fn refuses_folded_bends_and_what_is_no_path() {
        let error = path_squares(20.0, [(1.0, 0.0), (1.0, -0.1)]).unwrap_err();
        assert_eq!(error, TraceError::BendTooTight { element: Some(1), radius_um: 10.0, width_um: 20.0 });
        assert_eq!(
            error.to_string(),
            "bend radius of 10 µm is too small for a trace 20 µm wide; it must be above 10 µm"
        );
        assert!(bend_squares(1.0, 10.0, 20.0).is_err());
        assert!(path_squares(20.0, [(-1.0, 0.0)]).is_err() && path_squares(20.0, [(1.0, f64::NAN)]).is_err());
        assert!(path_squares(0.0, []).is_err() && straight_squares(1.0, 0.0).is_err());
        assert!(path_squares(1.0, [(f64::MAX, 0.0), (f64::MAX, 0.0)]).is_err());
    }
}
