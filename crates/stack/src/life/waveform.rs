//! How a stress runs between its two ends.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

use super::error::in_numbers;
use super::{LifeError, LifeField};

/// Gauss points and weights on 0..1, exact to degree 9.
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

/// The course of a stress between its least and greatest value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Waveform {
    /// A sinusoid.
    Sinusoid,
    /// Up and down at constant rates.
    Triangle,
}

impl Waveform {
    /// Mean of `(σ/σ_max)^n` over one cycle, compression counting 0; 0 where there is no tension at all.
    ///
    /// * triangle: `[1 − r^{n+1}]/((n+1)(1 − r))` with `r = σ_min/σ_max` for `r` ≥ 0, and `1/((n+1)(1 − r))` below;
    /// * sinusoid: `(2/π) ∫ [1 − (1 − r) sin² u]^n du` over the quarter in tension, by Gauss quadrature (to about 1e-12).
    ///
    /// Both derived from the definition.
    pub(super) fn mean_power(self, least_mpa: f64, greatest_mpa: f64, n: f64) -> Result<f64, LifeError> {
        LifeField::Stress.finite(least_mpa)?;
        LifeField::Stress.at_least(greatest_mpa, least_mpa)?;
        if greatest_mpa <= 0.0 {
            return Ok(0.0);
        }
        let range = in_numbers("the range of stress", (greatest_mpa - least_mpa) / greatest_mpa)?;
        Ok(match self {
            Self::Triangle => triangle(range, n),
            Self::Sinusoid => sinusoid(range, n),
        })
    }
}

/// `range` is 1 − r, 0 or more.
fn triangle(range: f64, n: f64) -> f64 {
    if range == 0.0 {
        1.0
    } else if range < 1.0 {
        -((n + 1.0) * (-range).ln_1p()).exp_m1() / ((n + 1.0) * range)
    } else {
        1.0 / ((n + 1.0) * range)
    }
}

fn sinusoid(range: f64, n: f64) -> f64 {
    // Tension ends where sin² u = 1/(1 − r).
    let end = if range > 1.0 { (1.0 / range).sqrt().asin() } else { FRAC_PI_2 };
    // The peak is about 1/√n wide.
    let panels = (16.0 + 4.0 * n.sqrt()).ceil();
    let width = end / panels;
    let mut sum = 0.0;
    for panel in 0..panels as usize {
        for (place, weight) in GAUSS {
            let sine = (width * (panel as f64 + place)).sin();
            sum += weight * (1.0 - range * sine * sine).max(0.0).powf(n);
        }
    }
    FRAC_2_PI * width * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raised_cosine_of_whole_powers() {
        // mean of cos^{2n}(u) = (2n)!/(4^n n!²)
        let mut exact = 1.0;
        for n in 1..=100_u32 {
            exact *= f64::from(2 * n - 1) / f64::from(2 * n);
            let got = Waveform::Sinusoid.mean_power(0.0, 7.0, f64::from(n)).expect("sound");
            assert!((got / exact - 1.0).abs() < 1e-12, "{n}: {got} {exact}");
        }
    }

    #[test]
    fn full_reversal_has_half_of_the_even_powers() {
        // mean of cos²⁰ over the half in tension
        let both = Waveform::Sinusoid.mean_power(0.0, 1.0, 10.0).expect("sound");
        let half = Waveform::Sinusoid.mean_power(-1.0, 1.0, 20.0).expect("sound");
        assert!((half / (0.5 * both) - 1.0).abs() < 1e-12);
        let third = Waveform::Sinusoid.mean_power(-1.0, 1.0, 3.0).expect("sound");
        // ∫cos³ over a quarter is 2/3
        assert!((third / (2.0 / 3.0 / std::f64::consts::PI) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn triangle_by_parts() {
        assert_eq!(Waveform::Triangle.mean_power(5.0, 5.0, 20.0), Ok(1.0));
        let nearly = Waveform::Triangle.mean_power(5.0 - 1e-9, 5.0, 20.0).expect("sound");
        assert!((nearly - (1.0 - 2e-9)).abs() < 1e-15);
        let rest = Waveform::Triangle.mean_power(0.0, 5.0, 20.0).expect("sound");
        assert!((rest - 1.0 / 21.0).abs() < 1e-16);
        let reversed = Waveform::Triangle.mean_power(-5.0, 5.0, 20.0).expect("sound");
        assert!((reversed - 0.5 / 21.0).abs() < 1e-16);
    }

    #[test]
    fn compression_does_nothing_and_nonsense_is_refused() {
        for form in [Waveform::Sinusoid, Waveform::Triangle] {
            assert_eq!(form.mean_power(-5.0, -1.0, 20.0), Ok(0.0));
            assert_eq!(form.mean_power(-5.0, 0.0, 20.0), Ok(0.0));
            assert!(form.mean_power(5.0, 1.0, 20.0).is_err());
            assert!(form.mean_power(f64::NAN, 1.0, 20.0).is_err());
            let deep = form.mean_power(-1e200, 1e-100, 20.0).expect("sound");
            assert!((0.0..1e-100).contains(&deep));
        }
    }
}
