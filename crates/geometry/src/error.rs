//! What can be wrong with a shape.

use std::fmt;

use thiserror::Error;

use crate::root::Root;

/// A shape that cannot be made, with the value at fault and the nearest possible one.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ShapeError {
    /// A value is infinite or not a number.
    #[error("{} is not a finite number", Named(field))]
    NotFinite {
        /// Key of the quantity, as in a design file.
        field: &'static str,
    },
    /// A value is outside its range, which includes both ends.
    #[error(
        "{} {} is outside {} to {}",
        Named(field), With(*value, field), With(*least, field), With(*greatest, field)
    )]
    OutOfRange {
        /// Key of the quantity, as in a design file.
        field: &'static str,
        /// The value given, in the unit of `field`.
        value: f64,
        /// Least possible value.
        least: f64,
        /// Greatest possible value.
        greatest: f64,
    },
    /// The bend is rounder than the single arc through crossing and crest.
    #[error(
        "bend radius {} is larger than the {} of a single arc of this pitch and amplitude; at most {} is possible",
        With(*radius_um, "_um"), With(*greatest_um, "_um"), With(*nearest_um, "_um")
    )]
    RadiusBeyondArc {
        /// The radius given, in µm.
        radius_um: f64,
        /// `(P²/16 + A²)/(2A)` in µm.
        greatest_um: f64,
        /// The greatest radius that makes a ribbon, in µm: bends of half a pitch touch.
        nearest_um: f64,
    },
    /// The tilt suits no arm between crossing and bend.
    #[error(
        "tilt {} must be above {} and at most {} for this pitch and amplitude",
        With(tilt_rad.to_degrees(), "_deg"), With(least_rad.to_degrees(), "_deg"),
        With(greatest_rad.to_degrees(), "_deg")
    )]
    TiltOutsideArm {
        /// The tilt given, in radians.
        tilt_rad: f64,
        /// `atan(4A/P)`, itself not possible, in radians.
        least_rad: f64,
        /// `2 atan(4A/P)`, in radians.
        greatest_rad: f64,
        /// The nearest possible tilt, in degrees.
        nearest_deg: f64,
    },
    /// Neighbouring bends overhang so far that their centrelines touch.
    #[error(
        "bends {} broad touch at a pitch of {}: {} {} is too large; at most {} is possible",
        With(2.0 * half_breadth_um, "_um"), With(*pitch_um, "_um"), Named(field), With(*value, field),
        With(*nearest, field)
    )]
    BendsTouch {
        /// Key of the quantity, as in a design file.
        field: &'static str,
        /// The value given, in the unit of `field`.
        value: f64,
        /// The greatest value that keeps the bends apart.
        nearest: f64,
        /// Half the breadth of a bend, in µm.
        half_breadth_um: f64,
        /// The pitch, in µm.
        pitch_um: f64,
    },
    /// Half the width reaches the least radius, so that the inner edge would pass the bend's centre and fold over.
    #[error(
        "bend radius {} is no more than half the width of {}; a width below {} is possible",
        With(*least_radius_um, "_um"), With(*width_um, "_um"), With(2.0 * least_radius_um, "_um")
    )]
    FoldedEdge {
        /// The width given, in µm.
        width_um: f64,
        /// Least radius of the centreline, in µm.
        least_radius_um: f64,
        /// The greatest possible width, in µm.
        nearest_um: f64,
    },
    /// Edges of neighbouring stretches meet.
    #[error(
        "width {} fills the room of {} between neighbouring stretches; at most {} is possible",
        With(*width_um, "_um"), With(*room_um, "_um"), With(*nearest_um, "_um")
    )]
    EdgesTouch {
        /// The width given, in µm.
        width_um: f64,
        /// Distance of the centrelines where they come closest, in µm.
        room_um: f64,
        /// The greatest possible width, in µm.
        nearest_um: f64,
    },
    /// A lead at an overhanging tilt runs back into the ribbon's own bends.
    #[error(
        "lead {} runs into the first bend; at most {} is possible",
        With(*lead_um, "_um"), With(*nearest_um, "_um")
    )]
    LeadHitsBend {
        /// The lead given, in µm.
        lead_um: f64,
        /// The longest possible lead, in µm.
        nearest_um: f64,
    },
    /// The points of a deformed quarter are fewer than two or not finite.
    #[error("{points} points make no curve: at least two with finite values are needed")]
    NoCurve {
        /// Number of points given.
        points: usize,
    },
    /// The root that fixes the shape was not found; no input is known that leads here.
    #[error("the shape was not found: residual {residual:e} after {iterations} iterations")]
    NotConverged {
        /// What is left of the equation, dimensionless.
        residual: f64,
        /// Iterations made.
        iterations: u32,
    },
}

impl ShapeError {
    pub(crate) fn not_converged(root: Root) -> Self {
        Self::NotConverged { residual: root.residual, iterations: root.iterations }
    }

    /// Key of the quantity at fault, with its unit, as in a design file: `pitch_um`, `amplitude_um`, `radius_um`,
    /// `tilt_deg`, `plateau_share`, `width_um`, `periods`, `lead_um`, `end_radius_um`; `points` for [`ShapeError::NoCurve`].
    pub fn field(&self) -> &'static str {
        match self {
            Self::NotFinite { field } | Self::OutOfRange { field, .. } | Self::BendsTouch { field, .. } => {
                field
            }
            Self::RadiusBeyondArc { .. } => "radius_um",
            Self::TiltOutsideArm { .. } => "tilt_deg",
            Self::FoldedEdge { .. } | Self::EdgesTouch { .. } => "width_um",
            Self::LeadHitsBend { .. } => "lead_um",
            Self::NoCurve { .. } => "points",
            Self::NotConverged { .. } => "amplitude_um",
        }
    }

    /// The nearest possible value in the unit of [`Self::field`], rounded inwards to six digits.
    pub fn nearest(&self) -> Option<f64> {
        match self {
            Self::NotFinite { .. } | Self::NotConverged { .. } | Self::NoCurve { .. } => None,
            Self::OutOfRange { value, least, greatest, .. } => Some(value.clamp(*least, *greatest)),
            Self::RadiusBeyondArc { nearest_um, .. }
            | Self::FoldedEdge { nearest_um, .. }
            | Self::EdgesTouch { nearest_um, .. }
            | Self::LeadHitsBend { nearest_um, .. } => Some(*nearest_um),
            Self::TiltOutsideArm { nearest_deg, .. } => Some(*nearest_deg),
            Self::BendsTouch { nearest, .. } => Some(*nearest),
        }
    }
}

/// Which end of a range a limit is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    Least,
    Greatest,
}

/// `limit` rounded to six significant digits so that it stays inside the range it bounds.
pub(crate) fn inward(limit: f64, side: Side) -> f64 {
    const DIGITS: i32 = 6;
    if limit == 0.0 || !limit.is_finite() {
        return limit;
    }
    let exponent = DIGITS - 1 - limit.abs().log10().floor() as i32;
    let scaled = if exponent >= 0 { limit * 10f64.powi(exponent) } else { limit / 10f64.powi(-exponent) };
    let nearest = scaled.round();
    // A limit that is a short number but for rounding is meant to be that number.
    let whole = if (scaled - nearest).abs() <= 1e-9 * scaled.abs() {
        nearest
    } else {
        match side {
            Side::Least => scaled.ceil(),
            Side::Greatest => scaled.floor(),
        }
    };
    if exponent >= 0 { whole / 10f64.powi(exponent) } else { whole * 10f64.powi(-exponent) }
}

/// The value to offer below a limit that is itself not possible.
pub(crate) fn below(limit: f64) -> f64 {
    const MARGIN: f64 = 1e-6;
    inward(limit * (1.0 - MARGIN), Side::Greatest)
}

/// The words for a field key: its name without the unit.
struct Named<'a>(&'a str);

impl fmt::Display for Named<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.0.trim_end_matches("_um").trim_end_matches("_deg");
        match name {
            "radius" => f.write_str("bend radius"),
            _ => f.write_str(&name.replace('_', " ")),
        }
    }
}

/// A number to six significant digits with the unit of a field key.
struct With<'a>(f64, &'a str);

impl fmt::Display for With<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(value, field) = *self;
        let short: f64 = format!("{value:.5e}").parse().unwrap_or(value);
        let is_plain = short == 0.0 || (1e-4..1e9).contains(&short.abs());
        let number = if is_plain { short.to_string() } else { format!("{short:e}") };
        f.write_str(&number)?;
        if field.ends_with("_um") {
            f.write_str(" µm")
        } else if field.ends_with("_deg") {
            f.write_str("°")
        } else {
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Side, With, below, inward};

    #[test]
    fn limits_are_rounded_into_their_range() {
        for (limit, least, greatest) in [
            (254.166_666_7, 254.167, 254.166),
            (0.001_234_567_8, 0.001_234_57, 0.001_234_56),
            (-3.000_000_4, -3.0, -3.000_01),
            (400.0, 400.0, 400.0),
            (0.3 - 0.1 - 0.1, 0.1, 0.1),
            (0.0, 0.0, 0.0),
        ] {
            assert!((inward(limit, Side::Least) - least).abs() <= 1e-12 * limit.abs(), "{limit}");
            assert!((inward(limit, Side::Greatest) - greatest).abs() <= 1e-12 * limit.abs(), "{limit}");
        }
        assert_eq!(below(400.0), 399.999);
    }

    #[test]
    fn numbers_have_six_digits_and_their_unit() {
        assert_eq!(With(254.166_666_7, "radius_um").to_string(), "254.167 µm");
        assert_eq!(With(45.0, "tilt_deg").to_string(), "45°");
        assert_eq!(With(1e-7, "pitch_um").to_string(), "1e-7 µm");
        assert_eq!(With(0.25, "plateau_share").to_string(), "0.25");
    }
}
