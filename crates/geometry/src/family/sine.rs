//! The sine: `y = A sin t` with `t = 2πx/P`.
//!
//! With the slope `k = 2πA/P` at the crossing, `ds/dt = (P/2π) (1 + k² cos² t)^½`, so that
//! `s = (P/2π) (1 + k²)^½ E(t | m)` with `m = k²/(1 + k²)` (incomplete elliptic integral of the second kind),
//! `φ = atan(k cos t)` and `κ = −(2π/P) k sin t / (1 + k² cos² t)^{3/2}`. The natural parameter u is 2t/π.

use std::f64::consts::{FRAC_PI_2, TAU};

use crate::{
    family::Solved,
    piece::{PieceSample, Shape, ShapePoint},
    root,
};

#[derive(Debug, Clone, Copy)]
pub(crate) struct SineCurve {
    /// P/(2π).
    wave_um: f64,
    amplitude_um: f64,
    /// k, the slope at the crossing.
    slope: f64,
    /// (1 + k²)^½.
    stretch: f64,
    /// k²/(1 + k²).
    parameter: f64,
    length_um: f64,
}

pub(crate) fn solve(pitch_um: f64, amplitude_um: f64) -> Solved {
    let wave_um = pitch_um / TAU;
    let slope = amplitude_um / wave_um;
    let stretch = slope.hypot(1.0);
    let ratio = slope / stretch;
    let parameter = ratio * ratio;
    let complete = ellip::ellipe(parameter).expect("the parameter k²/(1 + k²) is below 1");
    let length_um = wave_um * stretch * complete;
    let curve = SineCurve { wave_um, amplitude_um, slope, stretch, parameter, length_um };
    Solved {
        first: None,
        last: Shape::Sine(curve),
        first_length_um: 0.0,
        last_length_um: length_um,
        tilt_rad: slope.atan(),
        crest_curvature_per_um: slope / wave_um,
        crossing_curvature_per_um: 0.0,
        arm_half_length_um: 0.0,
        half_breadth_um: pitch_um / 4.0,
    }
}

impl SineCurve {
    pub(crate) fn sample(&self, u: f64) -> PieceSample {
        let (sin, cos) = (FRAC_PI_2 * u).sin_cos();
        let slope = self.slope * cos;
        let speed_squared = 1.0 + slope * slope;
        let speed = speed_squared.sqrt();
        PieceSample {
            ds_du_um: FRAC_PI_2 * self.wave_um * speed,
            phi_rad: slope.atan(),
            kappa_per_um: -self.slope * sin / (self.wave_um * speed_squared * speed),
        }
    }

    pub(crate) fn point(&self, u: f64) -> ShapePoint {
        let t = FRAC_PI_2 * u;
        ShapePoint { x_um: self.wave_um * t, y_um: self.amplitude_um * t.sin() }
    }

    pub(crate) fn s_from_u(&self, u: f64) -> f64 {
        if u >= 1.0 {
            return self.length_um;
        }
        let integral = ellip::ellipeinc(FRAC_PI_2 * u, self.parameter)
            .expect("the angle is within 0 and π/2 and the parameter below 1");
        self.wave_um * self.stretch * integral
    }

    /// s(t) is concave, so Newton's method rises to the root from the point that the steepest speed would reach.
    pub(crate) fn u_from_s(&self, s_um: f64) -> f64 {
        if s_um <= 0.0 {
            return 0.0;
        }
        if s_um >= self.length_um {
            return 1.0;
        }
        let guess = s_um / self.sample(0.0).ds_du_um;
        // The chord lies below the curve; rounding may take it by the last digits.
        let greatest = (s_um / self.length_um * (1.0 + 1e-12)).min(1.0);
        let residual = |u: f64| (self.s_from_u(u) - s_um, self.sample(u).ds_du_um);
        root::newton(residual, 0.0, greatest, guess).at
    }
}
