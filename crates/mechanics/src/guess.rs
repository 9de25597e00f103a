//! What the lanes need of the rest shape before the first step: the section's stiffness and the first guess.

use pulp::Simd;

use crate::{strips::section_ratio, wide::Wide};

/// Least share of the rest angle in the first guess; at 0 the ribbon is straight and its tangent singular without
/// a pull.
const LEAST_ANGLE_SHARE: f64 = 0.02;
/// Newton steps for that share.
const SHARE_STEPS: usize = 4;
/// Moments ∫ φ₀^(2j) ds used by the first guess. The series they stand in are good to a few per cent up to 3 rad.
pub(crate) const MOMENTS: usize = 5;
/// (−1)^j/(2j)! for j = 1…: ∫cos(αφ₀) ds is the contour plus these times moments and powers of α².
const COSINE_SERIES: [f64; MOMENTS] =
    [-1.0 / 2.0, 1.0 / 24.0, -1.0 / 720.0, 1.0 / 40_320.0, -1.0 / 3_628_800.0];
/// (−1)^(j−1)/(2j−1)! for j = 1….
pub(crate) const SINE_SERIES: [f64; MOMENTS] =
    [1.0, -1.0 / 6.0, 1.0 / 120.0, -1.0 / 5_040.0, 1.0 / 362_880.0];
/// Greatest share of the rest angle in the first guess, for compression.
const GREATEST_ANGLE_SHARE: f64 = 2.0;

/// `EI_c/EI` of strips (share, half width over pitch) at the curvature κ₀ P.
#[inline(always)]
pub(crate) fn bending_ratio<S: Simd>(simd: S, kappa: Wide<S>, strips: &[[S::f64s; 2]]) -> Wide<S> {
    /// Up to this u² the series below is exact to 1e-10.
    const SERIES_BELOW: f64 = 0.15;
    const TERMS: usize = 12;
    let mut ratio = Wide::splat(simd, 0.0);
    for strip in strips {
        let share = Wide::new(simd, strip[0]);
        let u = kappa * Wide::new(simd, strip[1]);
        let square = u * u;
        let section = if square.greatest() < SERIES_BELOW {
            let mut sum = Wide::splat(simd, 3.0 / (2 * TERMS + 3) as f64);
            for k in (0..TERMS).rev() {
                sum = sum.mul_add(square, Wide::splat(simd, 3.0 / (2 * k + 3) as f64));
            }
            sum
        } else {
            let mut lanes = u.lanes();
            for lane in pulp::bytemuck::cast_slice_mut::<S::f64s, f64>(std::slice::from_mut(&mut lanes)) {
                *lane = section_ratio(*lane);
            }
            Wide::new(simd, lanes)
        };
        ratio = share.mul_add(section, ratio);
    }
    ratio
}

/// The share α of all rest angles with which the span is right: ∫cos(αφ₀) ds = (1+e) P/4.
#[inline(always)]
pub(crate) fn angle_share<S: Simd>(
    simd: S,
    stretch: Wide<S>,
    contour: Wide<S>,
    rest_span: Wide<S>,
    moments: [Wide<S>; MOMENTS],
) -> Wide<S> {
    let (one, zero) = (Wide::splat(simd, 1.0), Wide::splat(simd, 0.0));
    let mut coefficients = moments;
    let mut at_rest = zero;
    for k in 0..MOMENTS {
        coefficients[k] = moments[k].scale(COSINE_SERIES[k]);
        at_rest = at_rest + coefficients[k];
    }
    let least = Wide::splat(simd, LEAST_ANGLE_SHARE * LEAST_ANGLE_SHARE);
    let greatest = Wide::splat(simd, GREATEST_ANGLE_SHARE * GREATEST_ANGLE_SHARE);
    // Span − contour, scaled so that the truncated series has its root at exactly 1 for the rest span.
    let gap = rest_span - contour;
    let wanted = stretch.scale_add(0.25, gap) * at_rest / gap;
    let mut square = one;
    for _ in 0..SHARE_STEPS {
        let (mut value, mut slope) = (zero, zero);
        for k in (0..MOMENTS).rev() {
            slope = slope.mul_add(square, coefficients[k].scale((k + 1) as f64));
            value = value.mul_add(square, coefficients[k]);
        }
        let excess = value.mul_add(square, -wanted);
        square = (square - excess / slope).max(least).min(greatest);
    }
    Wide::new(simd, simd.sqrt_f64s(square.lanes()))
}
