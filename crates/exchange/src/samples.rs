//! The road from a centreline to points: sample within a tolerance that also holds for both edges.

use crate::error::ExchangeError;
use kurbo::Point;
use ogee_geometry::{Centreline, CurvePoint};

/// Least tolerance of the writers, µm: a picometre.
pub const LEAST_TOLERANCE_UM: f64 = 1e-6;
/// Greatest tolerance of the writers, µm.
pub const MOST_TOLERANCE_UM: f64 = 100.0;
/// The tolerance to offer first, µm: 5 nm.
pub const USUAL_TOLERANCE_UM: f64 = 0.005;

/// Most points that are written.
const MOST_POINTS: f64 = 2e7;

/// Points along a centreline, close enough for its edges too.
pub(crate) struct Samples<'a> {
    centreline: &'a Centreline,
    half_width_um: f64,
    pub(crate) points: Vec<CurvePoint>,
}

impl<'a> Samples<'a> {
    /// Samples `centreline` so that no chord of it or of an edge at ±`width_um`/2 is off by more than `tolerance_um`.
    pub(crate) fn new(
        centreline: &'a Centreline,
        width_um: f64,
        tolerance_um: f64,
    ) -> Result<Self, ExchangeError> {
        if !(LEAST_TOLERANCE_UM..=MOST_TOLERANCE_UM).contains(&tolerance_um) {
            return Err(ExchangeError::Tolerance {
                value_um: tolerance_um,
                least_um: LEAST_TOLERANCE_UM,
                most_um: MOST_TOLERANCE_UM,
            });
        }
        let half_width_um = 0.5 * width_um;
        let curvature = 1.0 / centreline.least_radius_um();
        // A chord over the angle dφ is off by ρ dφ²/8, and the outer edge has ρ = R + w/2: 1 + κ w/2 times the
        // centreline's error.
        let inner_um = tolerance_um / (1.0 + curvature * half_width_um);
        // Chords of length √(8 tol/κ); the least radius stands for all, so the estimate is an upper bound.
        let points = centreline.contour_length_um() * (curvature / (8.0 * inner_um)).sqrt();
        if points > MOST_POINTS {
            return Err(ExchangeError::TooManyPoints {
                tolerance_um,
                points,
                most: MOST_POINTS,
                least_tolerance_um: tolerance_um * (points / MOST_POINTS).powi(2),
            });
        }
        Ok(Self { centreline, half_width_um, points: centreline.sample(inner_um) })
    }

    /// Largest distance between a chord and its curve, over the centreline and both edges, µm.
    ///
    /// Measured at the middle of each chord against the exact curve.
    pub(crate) fn largest_chord_error_um(&self) -> f64 {
        let mut largest: f64 = 0.0;
        for pair in self.points.windows(2) {
            let middle = self.centreline.at(0.5 * (pair[0].s_um + pair[1].s_um));
            for offset in [0.0, self.half_width_um, -self.half_width_um] {
                let (a, b) = (beside(&pair[0], offset), beside(&pair[1], offset));
                largest = largest.max(distance_to_chord(beside(&middle, offset), a, b));
            }
        }
        largest
    }

    /// Contour length read back from positions and tangents alone, µm.
    ///
    /// Each stretch counts as the arc through both points that turns by the difference of their tangents,
    /// `chord · (δφ/2)/sin(δφ/2)`: exact for lines and arcs, of fourth order in the step for the rest.
    pub(crate) fn contour_length_um(&self) -> f64 {
        self.points.windows(2).map(|p| arc_length(p[0].x_um, p[0].y_um, p[0].phi_rad, &p[1])).sum()
    }

    /// The point of the left edge beside `point`.
    pub(crate) fn left(&self, point: &CurvePoint) -> Point {
        beside(point, self.half_width_um)
    }

    /// The point of the right edge beside `point`.
    pub(crate) fn right(&self, point: &CurvePoint) -> Point {
        beside(point, -self.half_width_um)
    }
}

fn arc_length(x_um: f64, y_um: f64, phi_rad: f64, to: &CurvePoint) -> f64 {
    let chord = (to.x_um - x_um).hypot(to.y_um - y_um);
    let half = 0.5 * (to.phi_rad - phi_rad);
    if half.abs() < 1e-4 { chord * (1.0 + half * half / 6.0) } else { chord * half / half.sin() }
}

/// The point at `offset_um` to the left of `point`.
pub(crate) fn beside(point: &CurvePoint, offset_um: f64) -> Point {
    let (sin, cos) = point.phi_rad.sin_cos();
    Point::new(point.x_um - offset_um * sin, point.y_um + offset_um * cos)
}

fn distance_to_chord(p: Point, a: Point, b: Point) -> f64 {
    let chord = b - a;
    let length = chord.hypot();
    if length == 0.0 { (p - a).hypot() } else { (chord.cross(p - a) / length).abs() }
}
