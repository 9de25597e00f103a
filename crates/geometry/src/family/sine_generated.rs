//! The sine-generated curve: `φ(s) = θ cos t` with `t = πs/(2Q)`.
//!
//! `P = 4Q J₀(θ)` and `A = Q H₀(θ)` (Bessel and Struve functions), and A/P rises monotonically up to the first
//! zero of J₀ at 137.8°, so every A/P has one θ. The coordinates follow from the expansion of `e^{iθ cos t}`:
//!
//! * `x = (2Q/π) [J₀ t + Σ_{k ≥ 1} (−1)^k J_{2k} sin(2kt)/k]`
//! * `y = (4Q/π) Σ_{k ≥ 0} (−1)^k J_{2k+1} sin((2k+1)t)/(2k+1)`
//!
//! Source: W. B. Langbein, L. B. Leopold, River meanders – theory of minimum variance, 1966, for the curve; the
//! series are derived here.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

use crate::{
    ShapeError,
    family::Solved,
    piece::{PieceSample, Shape, ShapePoint},
    root,
    series::horner,
};

/// First zero of J₀: the tilt at which the pitch would vanish.
const GREATEST_TILT_RAD: f64 = 2.404_825_557_695_773;
/// Terms of the power series; enough for full precision up to the greatest tilt.
const TERMS: usize = 16;
/// Terms of each half of the expansion in t: J₂₂ of the greatest tilt is below 1e-19.
const HARMONICS: usize = 11;
/// `(−1)^k/(k!)²`: J₀(θ) as a series in θ²/4.
const BESSEL: [f64; TERMS] = {
    let mut terms = [1.0; TERMS];
    let mut k = 1;
    while k < TERMS {
        terms[k] = -terms[k - 1] / ((k * k) as f64);
        k += 1;
    }
    terms
};
/// `(2/π) (−1)^k/((2k+1)!!)²`: H₀(θ)/θ as a series in θ².
const STRUVE: [f64; TERMS] = {
    let mut terms = [FRAC_2_PI; TERMS];
    let mut k = 1;
    while k < TERMS {
        let odd = (2 * k + 1) as f64;
        terms[k] = -terms[k - 1] / (odd * odd);
        k += 1;
    }
    terms
};

#[derive(Debug, Clone, Copy)]
pub(crate) struct SineGeneratedCurve {
    tilt_rad: f64,
    length_um: f64,
    /// Factor of t in x, in µm.
    drift_um: f64,
    /// Factors of sin(2kt), k = 1.., in µm.
    even_um: [f64; HARMONICS],
    /// Factors of sin((2k+1)t), k = 0.., in µm.
    odd_um: [f64; HARMONICS],
}

pub(crate) fn solve(pitch_um: f64, amplitude_um: f64) -> Result<Solved, ShapeError> {
    let tilt_rad = tilt_from_ratio(4.0 * amplitude_um / pitch_um)?;
    let length_um = amplitude_um / struve_0(tilt_rad).0;
    let curve = SineGeneratedCurve::new(tilt_rad, length_um);
    let half_breadth_um = if tilt_rad > FRAC_PI_2 {
        let vertical_u = FRAC_2_PI * (FRAC_PI_2 / tilt_rad).acos();
        0.25 * pitch_um - curve.point(vertical_u).x_um
    } else {
        0.25 * pitch_um
    };
    Ok(Solved {
        first: None,
        last: Shape::SineGenerated(curve),
        first_length_um: 0.0,
        last_length_um: length_um,
        tilt_rad,
        crest_curvature_per_um: FRAC_PI_2 * tilt_rad / length_um,
        crossing_curvature_per_um: 0.0,
        arm_half_length_um: 0.0,
        half_breadth_um,
    })
}

/// The root of `(4A/P) J₀(θ) = H₀(θ)`.
fn tilt_from_ratio(ratio: f64) -> Result<f64, ShapeError> {
    let residual = |tilt: f64| {
        let (bessel, bessel_slope) = bessel_0(tilt);
        let (struve, struve_slope) = struve_0(tilt);
        (ratio * bessel - struve, ratio * bessel_slope - struve_slope)
    };
    // Right in both limits: H₀ ≈ 2θ/π for small tilts, the zero of J₀ for large ones.
    let guess = GREATEST_TILT_RAD * FRAC_2_PI * (ratio * FRAC_PI_2 * FRAC_PI_2 / GREATEST_TILT_RAD).atan();
    let root = root::newton(residual, 0.0, GREATEST_TILT_RAD, guess);
    if root.is_converged { Ok(root.at) } else { Err(ShapeError::not_converged(root)) }
}

/// J₀ and its derivative.
fn bessel_0(x: f64) -> (f64, f64) {
    let (value, slope) = horner(&BESSEL, 0.25 * x * x);
    (value, 0.5 * x * slope)
}

/// H₀ and its derivative.
fn struve_0(x: f64) -> (f64, f64) {
    let (value, slope) = horner(&STRUVE, x * x);
    (x * value, value + 2.0 * x * x * slope)
}

/// `J_n(x)` for an order well above x, by its power series.
fn bessel_of_high_order(order: usize, x: f64) -> f64 {
    let half = 0.5 * x;
    let mut lead = 1.0;
    for k in 1..=order {
        lead *= half / k as f64;
    }
    let (mut sum, mut term) = (1.0, 1.0);
    // The terms fall faster than (1.45/22)^k/k!.
    for k in 1..8 {
        term *= -half * half / (k * (order + k)) as f64;
        sum += term;
    }
    lead * sum
}

impl SineGeneratedCurve {
    pub(crate) fn new(tilt_rad: f64, length_um: f64) -> Self {
        // Downward recurrence is stable: J_{n−1} = (2n/θ) J_n − J_{n+1}.
        let mut bessel = [0.0; 2 * HARMONICS + 2];
        let top = 2 * HARMONICS + 1;
        bessel[top] = bessel_of_high_order(top, tilt_rad);
        bessel[top - 1] = bessel_of_high_order(top - 1, tilt_rad);
        let inverse = 2.0 / tilt_rad;
        for n in (1..top).rev() {
            bessel[n - 1] = n as f64 * inverse * bessel[n] - bessel[n + 1];
        }
        let scale_um = FRAC_2_PI * length_um;
        let sign = |k: usize| if k.is_multiple_of(2) { 1.0 } else { -1.0 };
        Self {
            tilt_rad,
            length_um,
            drift_um: scale_um * bessel[0],
            even_um: std::array::from_fn(|k| -sign(k) * scale_um * bessel[2 * k + 2] / (k + 1) as f64),
            odd_um: std::array::from_fn(|k| {
                sign(k) * 2.0 * scale_um * bessel[2 * k + 1] / (2 * k + 1) as f64
            }),
        }
    }

    pub(crate) fn sample(&self, u: f64) -> PieceSample {
        let (sin, cos) = (FRAC_PI_2 * u).sin_cos();
        PieceSample {
            ds_du_um: self.length_um,
            phi_rad: self.tilt_rad * cos,
            kappa_per_um: -FRAC_PI_2 * self.tilt_rad * sin / self.length_um,
        }
    }

    pub(crate) fn point(&self, u: f64) -> ShapePoint {
        let t = FRAC_PI_2 * u;
        let (sin, cos) = t.sin_cos();
        let sin_double = 2.0 * sin * cos;
        let factor = 2.0 - 4.0 * sin * sin;
        let (mut even, mut even_before) = (0.0, 0.0);
        let (mut odd, mut odd_before) = (0.0, 0.0);
        // Clenshaw's recurrence for both sums.
        for k in (0..HARMONICS).rev() {
            (even, even_before) = (self.even_um[k] + factor * even - even_before, even);
            (odd, odd_before) = (self.odd_um[k] + factor * odd - odd_before, odd);
        }
        ShapePoint { x_um: self.drift_um * t + sin_double * even, y_um: sin * (odd + odd_before) }
    }
}
