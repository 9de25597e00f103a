//! Smooth stretches of a quarter.

use crate::{
    CurvePoint,
    family::{clothoid::RampCurve, sine::SineCurve, sine_generated::SineGeneratedCurve},
};

/// A stretch of a quarter along which the curvature is smooth.
///
/// It is described by the family's natural parameter u from 0 to 1: proportional to x for the sine, to the
/// contour length for all others.
#[derive(Debug, Clone, Copy)]
pub struct Piece {
    start_um: f64,
    length_um: f64,
    shape: Shape,
}

/// What a piece is like at one value of its parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PieceSample {
    /// Contour length per parameter ds/du, in µm.
    pub ds_du_um: f64,
    /// Tangent angle φ in radians.
    pub phi_rad: f64,
    /// Curvature κ in 1/µm.
    pub kappa_per_um: f64,
}

/// Position within the quarter, the crossing being the origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ShapePoint {
    pub(crate) x_um: f64,
    pub(crate) y_um: f64,
}

/// The curves that pieces are made of.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Shape {
    Straight(StraightFromCrossing),
    Circle(CircleToCrest),
    Sine(SineCurve),
    SineGenerated(SineGeneratedCurve),
    Ramp(RampCurve),
}

impl Piece {
    pub(crate) fn new(shape: Shape, start_um: f64, length_um: f64) -> Self {
        Self { start_um, length_um, shape }
    }

    /// Contour length from the crossing to the piece's start, in µm.
    pub fn start_um(&self) -> f64 {
        self.start_um
    }

    /// Contour length from the crossing to the piece's end, in µm.
    pub fn end_um(&self) -> f64 {
        self.start_um + self.length_um
    }

    /// Contour length of the piece, in µm.
    pub fn length_um(&self) -> f64 {
        self.length_um
    }

    /// The curvature in 1/µm where it is constant along the piece (0 for an arm), none elsewhere.
    pub fn constant_curvature_per_um(&self) -> Option<f64> {
        match &self.shape {
            Shape::Straight(_) => Some(0.0),
            Shape::Circle(circle) => Some(-1.0 / circle.radius_um),
            Shape::Sine(_) | Shape::SineGenerated(_) | Shape::Ramp(_) => None,
        }
    }

    /// Length per parameter, angle and curvature at `u`, 0 at the piece's start to 1 at its end.
    ///
    /// A closed form at the cost of one sine and cosine at most, for quadrature in u.
    #[inline]
    pub fn sample(&self, u: f64) -> PieceSample {
        match &self.shape {
            Shape::Straight(straight) => {
                PieceSample { ds_du_um: straight.length_um, phi_rad: straight.tilt_rad, kappa_per_um: 0.0 }
            }
            Shape::Circle(circle) => PieceSample {
                ds_du_um: self.length_um,
                phi_rad: circle.turn_rad * (1.0 - u),
                kappa_per_um: -1.0 / circle.radius_um,
            },
            Shape::Sine(sine) => sine.sample(u),
            Shape::SineGenerated(curve) => curve.sample(u),
            Shape::Ramp(ramp) => ramp.sample(u),
        }
    }

    /// Contour length from the crossing to the point at `u`, in µm.
    pub fn s_um(&self, u: f64) -> f64 {
        match &self.shape {
            Shape::Sine(sine) => self.start_um + sine.s_from_u(u),
            _ => self.start_um + self.length_um * u,
        }
    }

    /// The parameter at the contour length `s_um` from the crossing, kept within 0 and 1.
    ///
    /// Proportional but for the sine, which takes some five steps of a safeguarded Newton iteration.
    pub fn u_from_s(&self, s_um: f64) -> f64 {
        if s_um >= self.end_um() {
            return 1.0;
        }
        let along_um = s_um - self.start_um;
        match &self.shape {
            Shape::Sine(sine) => sine.u_from_s(along_um),
            _ => (along_um / self.length_um).max(0.0),
        }
    }

    /// Position at `u` in µm, from the crossing at (0, 0) to the crest at (P/4, A).
    pub fn point(&self, u: f64) -> kurbo::Point {
        let ShapePoint { x_um, y_um } = match &self.shape {
            Shape::Straight(straight) => straight.point(u),
            Shape::Circle(circle) => circle.point(u),
            Shape::Sine(sine) => sine.point(u),
            Shape::SineGenerated(curve) => curve.point(u),
            Shape::Ramp(ramp) => ramp.point(u),
        };
        kurbo::Point::new(x_um, y_um)
    }

    /// The whole of a point at `u`, whose contour length is known to be `s_um`.
    pub(crate) fn curve_point(&self, u: f64, s_um: f64) -> CurvePoint {
        let sample = self.sample(u);
        let point = self.point(u);
        CurvePoint {
            s_um,
            x_um: point.x,
            y_um: point.y,
            phi_rad: sample.phi_rad,
            kappa_per_um: sample.kappa_per_um,
        }
    }
}

/// A straight line from the crossing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StraightFromCrossing {
    tilt_rad: f64,
    length_um: f64,
}

impl StraightFromCrossing {
    pub(crate) fn new(tilt_rad: f64, length_um: f64) -> Self {
        Self { tilt_rad, length_um }
    }

    fn point(&self, u: f64) -> ShapePoint {
        let (sin, cos) = self.tilt_rad.sin_cos();
        ShapePoint { x_um: self.length_um * u * cos, y_um: self.length_um * u * sin }
    }
}

/// A circle that turns clockwise by `turn_rad` and ends at the crest.
#[derive(Debug, Clone, Copy)]
pub(crate) struct CircleToCrest {
    crest_x_um: f64,
    crest_y_um: f64,
    pub(crate) radius_um: f64,
    pub(crate) turn_rad: f64,
}

impl CircleToCrest {
    pub(crate) fn new(pitch_um: f64, amplitude_um: f64, radius_um: f64, turn_rad: f64) -> Self {
        Self { crest_x_um: 0.25 * pitch_um, crest_y_um: amplitude_um, radius_um, turn_rad }
    }

    /// Seen from the crest, so that flat arcs of large radius lose no digits.
    fn point(&self, u: f64) -> ShapePoint {
        let angle = self.turn_rad * (1.0 - u);
        let half_sin = (0.5 * angle).sin();
        ShapePoint {
            x_um: self.crest_x_um - self.radius_um * angle.sin(),
            y_um: self.crest_y_um - 2.0 * self.radius_um * half_sin * half_sin,
        }
    }
}
