//! The clothoid: curvature that rises linearly from the crossing and stays at its peak up to the crest.
//!
//! With c the plateau's share of the quarter, the peak is `κ_c = 2θ/(Q(1 + c))`; the ramp turns by
//! `θ₁ = θ(1 − c)/(1 + c)` and the plateau by `θ₂ = 2cθ/(1 + c)`. Along the ramp of length q = (1 − c)Q, with
//! σ = s/q, `φ = θ − θ₁σ²` and
//!
//! `x + iy = q σ e^{iθ} F(θ₁σ²)`, `F(τ) = ∫₀¹ e^{−iτv²} dv = Σ (−iτ)^k/(k! (2k + 1))`
//!
//! (a Fresnel integral, whose series serves up to τ = π with full precision). The plateau adds
//! `(sin θ₂ + i (1 − cos θ₂))/κ_c`. The ratio A/P rises monotonically with θ, so every A/P has one θ below 180°.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2, PI};

use crate::{
    ShapeError,
    family::{Solved, arc},
    piece::{CircleToCrest, PieceSample, Shape, ShapePoint},
    root,
    series::horner,
};

/// Terms of each part of F, enough for τ up to π.
const TERMS: usize = 16;
/// `(−1)^j/((2j)! (4j + 1))`: the real part of F as a series in τ².
const REAL: [f64; TERMS] = {
    let mut terms = [1.0; TERMS];
    let mut factorial = 1.0;
    let mut j = 1;
    while j < TERMS {
        factorial *= -(((2 * j - 1) * (2 * j)) as f64);
        terms[j] = 1.0 / (factorial * (4 * j + 1) as f64);
        j += 1;
    }
    terms
};
/// `(−1)^j/((2j + 1)! (4j + 3))`: the imaginary part of F over −τ as a series in τ².
const IMAGINARY: [f64; TERMS] = {
    let mut terms = [1.0 / 3.0; TERMS];
    let mut factorial = 1.0;
    let mut j = 1;
    while j < TERMS {
        factorial *= -(((2 * j) * (2 * j + 1)) as f64);
        terms[j] = 1.0 / (factorial * (4 * j + 3) as f64);
        j += 1;
    }
    terms
};

#[derive(Debug, Clone, Copy)]
pub(crate) struct RampCurve {
    tilt_rad: f64,
    /// θ₁, the turn of the ramp.
    turn_rad: f64,
    length_um: f64,
}

/// Real and imaginary part of a quantity and of its derivative.
#[derive(Debug, Clone, Copy)]
struct Complex {
    re: f64,
    im: f64,
    re_slope: f64,
    im_slope: f64,
}

pub(crate) fn solve(pitch_um: f64, amplitude_um: f64, plateau_share: f64) -> Result<Solved, ShapeError> {
    if !plateau_share.is_finite() {
        return Err(ShapeError::NotFinite { field: "plateau_share" });
    }
    if !(0.0..=1.0).contains(&plateau_share) {
        return Err(ShapeError::OutOfRange {
            field: "plateau_share",
            value: plateau_share,
            least: 0.0,
            greatest: 1.0,
        });
    }
    if plateau_share == 1.0 {
        return Ok(arc::solve(pitch_um, amplitude_um));
    }
    let ratio = 4.0 * amplitude_um / pitch_um;
    let tilt_rad = tilt_from_ratio(ratio, plateau_share)?;
    let crest = crest_of_unit_quarter(tilt_rad, plateau_share);
    // Each of the two conditions fixes Q; their sum is well conditioned for flat and for steep shapes.
    let length_um = (0.25 * pitch_um + amplitude_um) / (crest.re + crest.im);
    let ramp_um = (1.0 - plateau_share) * length_um;
    let turn_rad = tilt_rad * (1.0 - plateau_share) / (1.0 + plateau_share);
    let ramp = RampCurve { tilt_rad, turn_rad, length_um: ramp_um };
    let crest_curvature_per_um = 2.0 * tilt_rad / (length_um * (1.0 + plateau_share));
    let plateau_rad = tilt_rad - turn_rad;
    let radius_um = 1.0 / crest_curvature_per_um;
    let half_breadth_um = if tilt_rad <= FRAC_PI_2 {
        0.25 * pitch_um
    } else if plateau_rad >= FRAC_PI_2 {
        radius_um
    } else {
        0.25 * pitch_um - ramp.point(((tilt_rad - FRAC_PI_2) / turn_rad).sqrt()).x_um
    };
    let circle = CircleToCrest::new(pitch_um, amplitude_um, radius_um, plateau_rad);
    let solved = Solved {
        first: Some(Shape::Ramp(ramp)),
        last: Shape::Circle(circle),
        first_length_um: ramp_um,
        last_length_um: plateau_share * length_um,
        tilt_rad,
        crest_curvature_per_um,
        crossing_curvature_per_um: 0.0,
        arm_half_length_um: 0.0,
        half_breadth_um,
    };
    if plateau_share > 0.0 {
        return Ok(solved);
    }
    Ok(Solved {
        first: None,
        last: Shape::Ramp(ramp),
        first_length_um: 0.0,
        last_length_um: ramp_um,
        ..solved
    })
}

/// The root of `(4A/P) X(θ) = Y(θ)`, X and Y being the crest of a quarter of unit length.
fn tilt_from_ratio(ratio: f64, plateau_share: f64) -> Result<f64, ShapeError> {
    let residual = |tilt: f64| {
        let crest = crest_of_unit_quarter(tilt, plateau_share);
        (ratio * crest.re - crest.im, ratio * crest.re_slope - crest.im_slope)
    };
    // Y/θ of small tilts, and nearly the tilt at which X vanishes (155° for c = 0, 180° for c = 1).
    let rise = (2.0 + 2.0 * plateau_share - plateau_share * plateau_share) / (3.0 + 3.0 * plateau_share);
    let greatest = PI - 0.44 * (1.0 - plateau_share);
    let guess = greatest * FRAC_2_PI * (ratio / (rise * FRAC_2_PI * greatest)).atan();
    let root = root::newton(residual, 0.0, PI, guess);
    if root.is_converged { Ok(root.at) } else { Err(ShapeError::not_converged(root)) }
}

/// x (real) and y (imaginary) of the crest for Q = 1, with derivatives to θ.
fn crest_of_unit_quarter(tilt: f64, plateau_share: f64) -> Complex {
    let ramp_share = 1.0 - plateau_share;
    let share = ramp_share / (1.0 + plateau_share);
    let (sin, cos) = tilt.sin_cos();
    let fresnel = fresnel(tilt * share);
    // d/dθ e^{iθ} F(θ share) = e^{iθ} (iF + share F').
    let (re, im) = (cos * fresnel.re - sin * fresnel.im, sin * fresnel.re + cos * fresnel.im);
    let re_turn = cos * fresnel.re_slope - sin * fresnel.im_slope;
    let im_turn = sin * fresnel.re_slope + cos * fresnel.im_slope;
    let curvature = 2.0 * tilt / (1.0 + plateau_share);
    let turn = curvature * plateau_share;
    let (plateau_sin, plateau_cos) = turn.sin_cos();
    let half_sin = (0.5 * turn).sin();
    // sin(κc)/κ and 2 sin²(κc/2)/κ, and their derivatives by κ.
    let (x, y) = if curvature > 0.0 {
        (plateau_sin / curvature, 2.0 * half_sin * half_sin / curvature)
    } else {
        (plateau_share, 0.0)
    };
    let (x_slope, y_slope) = if curvature > 0.0 {
        ((plateau_share * plateau_cos - x) / curvature, (plateau_share * plateau_sin - y) / curvature)
    } else {
        (0.0, 0.5 * plateau_share * plateau_share)
    };
    let curvature_slope = 2.0 / (1.0 + plateau_share);
    Complex {
        re: ramp_share * re + x,
        im: ramp_share * im + y,
        re_slope: ramp_share * (share * re_turn - im) + curvature_slope * x_slope,
        im_slope: ramp_share * (share * im_turn + re) + curvature_slope * y_slope,
    }
}

/// `F(τ)` and its derivative.
fn fresnel(turn: f64) -> Complex {
    let square = turn * turn;
    let (re, re_by_square) = horner(&REAL, square);
    let (im, im_by_square) = horner(&IMAGINARY, square);
    Complex {
        re,
        im: -turn * im,
        re_slope: 2.0 * turn * re_by_square,
        im_slope: -im - 2.0 * square * im_by_square,
    }
}

impl RampCurve {
    pub(crate) fn sample(&self, u: f64) -> PieceSample {
        PieceSample {
            ds_du_um: self.length_um,
            phi_rad: self.tilt_rad - self.turn_rad * u * u,
            kappa_per_um: -2.0 * self.turn_rad * u / self.length_um,
        }
    }

    pub(crate) fn point(&self, u: f64) -> ShapePoint {
        let (sin, cos) = self.tilt_rad.sin_cos();
        let fresnel = fresnel(self.turn_rad * u * u);
        let s_um = self.length_um * u;
        ShapePoint {
            x_um: s_um * (cos * fresnel.re - sin * fresnel.im),
            y_um: s_um * (sin * fresnel.re + cos * fresnel.im),
        }
    }
}
