//! Where the quarters of a meander lie.

use kurbo::{Affine, Point};

use crate::CurvePoint;

/// The place of one quarter in a meander: quarter 0 rises from the crossing at `origin_um`, 1 falls from its crest,
/// 2 sinks to the trough, 3 rises to the next crossing, and so on, also to the left with negative numbers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Placement {
    /// x of the crossing or of the crossing after which the quarter lies.
    base_um: f64,
    half_pitch_um: f64,
    /// Run from the crest to the crossing.
    pub(crate) is_backward: bool,
    is_below: bool,
}

impl Placement {
    pub(crate) fn new(index: i64, pitch_um: f64, origin_um: f64) -> Self {
        let half_pitch_um = 0.5 * pitch_um;
        Self {
            base_um: origin_um + index.div_euclid(2) as f64 * half_pitch_um,
            half_pitch_um,
            is_backward: index.rem_euclid(2) == 1,
            is_below: index.rem_euclid(4) >= 2,
        }
    }

    /// The angle of the first quarter as it is here.
    pub(crate) fn angle(&self, phi_rad: f64) -> f64 {
        if self.is_backward == self.is_below { phi_rad } else { -phi_rad }
    }

    /// The curvature of the first quarter as it is here.
    pub(crate) fn curvature(&self, kappa_per_um: f64) -> f64 {
        if self.is_below { -kappa_per_um } else { kappa_per_um }
    }

    /// The point of the first quarter moved here; its contour length becomes `s_um`.
    pub(crate) fn place(&self, point: CurvePoint, s_um: f64) -> CurvePoint {
        CurvePoint {
            s_um,
            x_um: self.base_um + if self.is_backward { self.half_pitch_um - point.x_um } else { point.x_um },
            y_um: if self.is_below { -point.y_um } else { point.y_um },
            phi_rad: self.angle(point.phi_rad),
            kappa_per_um: self.curvature(point.kappa_per_um),
        }
    }

    /// The point of the first quarter's plane that [`Self::place`] moves to `point`.
    pub(crate) fn local(&self, point: Point) -> Point {
        let x_um = point.x - self.base_um;
        Point::new(
            if self.is_backward { self.half_pitch_um - x_um } else { x_um },
            if self.is_below { -point.y } else { point.y },
        )
    }

    /// The move as an affine map.
    pub(crate) fn affine(&self) -> Affine {
        let (x_sign, x_um) = if self.is_backward { (-1.0, self.half_pitch_um) } else { (1.0, 0.0) };
        let y_sign = if self.is_below { -1.0 } else { 1.0 };
        Affine::new([x_sign, 0.0, 0.0, y_sign, self.base_um + x_um, 0.0])
    }

    /// Contour length from the quarter's crossing, for a length run from where the quarter begins here.
    pub(crate) fn local_s_um(&self, run_um: f64, length_um: f64) -> f64 {
        if self.is_backward { length_um - run_um } else { run_um }
    }
}
