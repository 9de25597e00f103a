//! Resistivity of films about as thin as the electrons' mean free path.

use super::TraceError;
use super::error::{TraceField, metal, positive, positive_number, within};

/// Points of the Gauss rule in each panel.
const POINTS: usize = 16;
/// exp(−40) is nothing beside 1.
const NEGLIGIBLE: f64 = 40.0;
/// From here on the closed form of the grain law cancels and its series is short.
const GRAIN_SERIES_FROM: f64 = 8.0;

/// How the faces of a film scatter electrons.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surfaces {
    /// Mean free path of the electrons in the bulk, nm; 39.9 for copper, 37.7 for gold, 18.9 for aluminium (Gall,
    /// Electron mean free path in elemental metals, 2016; from memory).
    pub mean_free_path_nm: f64,
    /// Share of the electrons that a face reflects like a mirror, 0 to 1.
    pub specularity: f64,
}

/// How the grain boundaries of a film scatter electrons.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grains {
    /// Mean size of the grains in the plane, nm; without a measurement the thickness is a start.
    pub size_nm: f64,
    /// Share of the electrons that a boundary throws back, from 0 to below 1; 0.2 to 0.4 for copper.
    pub reflection: f64,
}

/// By how much a film's resistivity is above the bulk's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilmFactor {
    /// Factor of the faces alone, at least 1.
    pub surface: f64,
    /// Factor of the grain boundaries alone, at least 1.
    pub grain: f64,
    /// Both, their excesses added: 1 + (surface − 1) + (grain − 1).
    pub total: f64,
}

/// Resistivity of a film over that of the bulk: faces (Fuchs and Sondheimer) and grain boundaries (Mayadas and Shatzkes).
///
/// The excesses are added, which is the usual first approximation; measured films scatter by tens of per cent about
/// it, so that a measured resistivity is to be preferred.
///
/// * `thickness_um`: thickness of the film, µm. `grains`: `None` leaves out the grain boundaries.
/// # Errors
/// As [`surface_factor`] and [`grain_factor`].
///
/// ```
/// use ogee_stack::{Grains, Surfaces, film_factor};
///
/// let faces = Surfaces { mean_free_path_nm: 37.7, specularity: 0.2 };
/// let grains = Grains { size_nm: 40.0, reflection: 0.3 };
/// let gold = film_factor(0.050, faces, Some(grains))?;
/// assert!((gold.total - 1.832_693_46).abs() < 1e-7);
/// # Ok::<(), ogee_stack::TraceError>(())
/// ```
pub fn film_factor(
    thickness_um: f64,
    surfaces: Surfaces,
    grains: Option<Grains>,
) -> Result<FilmFactor, TraceError> {
    let surface = surface_factor(thickness_um, surfaces)?;
    let grain = match grains {
        Some(grains) => grain_factor(surfaces.mean_free_path_nm, grains)?,
        None => 1.0,
    };
    let total = positive_number("film factor", surface + (grain - 1.0))?;
    Ok(FilmFactor { surface, grain, total })
}

/// Fuchs and Sondheimer's factor, exact integral.
///
/// With k = thickness / mean free path and p the specularity,
///
/// ```text
/// ρ_b/ρ = 1 − (3/2k)(1 − p) ∫₀¹ (u − u³)(1 − e^(−k/u))/(1 − p e^(−k/u)) du
/// ```
///
/// Thin films leave a small difference there. Since (3/2)∫₀¹(1 − u²)du = 1, the same is
///
/// ```text
/// ρ_b/ρ = (3/2) ∫₀¹ (1 − u²) [x (1 − p + pE) − (1 − p) E] / [x (1 − p + pE)] du,   x = k/u,   E = 1 − e^(−x)
/// ```
///
/// whose integrand is positive. It is taken by Gauss rules of 16 points on panels that double in width, relative error below
/// 1e-11. `1 + (3/8)(1 − p)/k` is within 1.5 % for k > 3.
///
/// # Errors
/// [`TraceError`] for a thickness or mean free path that is not above 0, or a specularity outside 0 to 1.
/// # Source
/// Sondheimer, The mean free path of electrons in metals, Advances in Physics 1, 1952 (from memory).
pub fn surface_factor(thickness_um: f64, surfaces: Surfaces) -> Result<f64, TraceError> {
    metal(TraceField::Thickness, thickness_um)?;
    positive(TraceField::MeanFreePath, surfaces.mean_free_path_nm)?;
    within(TraceField::Specularity, surfaces.specularity, 0.0, 1.0)?;
    let k =
        positive_number("thickness over mean free path", 1e3 * thickness_um / surfaces.mean_free_path_nm)?;
    let p = surfaces.specularity;
    let integrand = |u: f64| {
        let x = k / u;
        let kept = -(-x).exp_m1();
        let through = 1.0 - p + p * kept;
        let lost = (1.0 - p) * excess(x) + p * x * kept;
        (1.0 - u * u) * lost / (x * through)
    };
    let rule = gauss_rule();
    // Below the first end e^(−k/u) vanishes and the integrand is a polynomial.
    let mut from = 0.0;
    let mut to = (k / NEGLIGIBLE).min(1.0);
    let mut sum = 0.0;
    loop {
        let half = 0.5 * (to - from);
        sum += rule
            .iter()
            .map(|(node, weight)| half * weight * integrand(from + half * (1.0 + node)))
            .sum::<f64>();
        if to >= 1.0 {
            break;
        }
        (from, to) = (to, (2.0 * to).min(1.0));
    }
    // Never below 1, against the last digit.
    Ok(positive_number("surface factor", 1.0 / (1.5 * sum))?.max(1.0))
}

/// x − (1 − e^(−x)), by its series where that cancels.
fn excess(x: f64) -> f64 {
    if x > 0.5 {
        return x + (-x).exp_m1();
    }
    let mut term = 0.5 * x * x;
    let mut sum = term;
    for n in 3..=14 {
        term *= -x / f64::from(n);
        sum += term;
    }
    sum
}

/// Mayadas and Shatzkes' factor.
///
/// With a = (mean free path / grain size) R/(1 − R): `ρ/ρ_b = 1/[1 − 3a/2 + 3a² − 3a³ ln(1 + 1/a)]`; from a = 8 on by the
/// series 3 Σ (−1)^m a^(3−m)/m from m = 4 of the bracket.
///
/// # Errors
/// [`TraceError`] for a mean free path or grain size that is not above 0, or a reflection outside 0 to below 1.
/// # Source
/// Mayadas and Shatzkes, Electrical-resistivity model for polycrystalline films, Physical Review B 1, 1970 (from memory).
pub fn grain_factor(mean_free_path_nm: f64, grains: Grains) -> Result<f64, TraceError> {
    positive(TraceField::MeanFreePath, mean_free_path_nm)?;
    positive(TraceField::GrainSize, grains.size_nm)?;
    within(TraceField::GrainReflection, grains.reflection, 0.0, 1.0_f64.next_down())?;
    let a = mean_free_path_nm / grains.size_nm * grains.reflection / (1.0 - grains.reflection);
    if a == 0.0 {
        return Ok(1.0);
    }
    let bracket = if a < GRAIN_SERIES_FROM {
        1.0 - 1.5 * a + 3.0 * a * a - 3.0 * a.powi(3) * (1.0 / a).ln_1p()
    } else {
        let mut sum = 0.0;
        let mut power = 1.0 / a;
        for m in 4..24 {
            let sign = if m % 2 == 0 { 1.0 } else { -1.0 };
            sum += sign * power / f64::from(m);
            power /= a;
        }
        3.0 * sum
    };
    Ok(positive_number("grain factor", 1.0 / bracket)?.max(1.0))
}

/// Nodes and weights of the Gauss rule on (−1, 1), by Newton's method on the Legendre polynomial.
fn gauss_rule() -> [(f64, f64); POINTS] {
    let n = POINTS as f64;
    std::array::from_fn(|i| {
        let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..6 {
            let (mut last, mut value) = (1.0, x);
            for order in 2..=POINTS {
                let m = order as f64;
                (last, value) = (value, ((2.0 * m - 1.0) * x * value - (m - 1.0) * last) / m);
            }
            slope = n * (x * value - last) / (x * x - 1.0);
            x -= value / slope;
        }
        (x, 2.0 / ((1.0 - x * x) * slope * slope))
    })
}

#[cfg(test)]
mod tests {
    use super::{Grains, Surfaces, film_factor, gauss_rule, grain_factor, surface_factor};

    fn faces(specularity: f64) -> Surfaces {
        Surfaces { mean_free_path_nm: 40.0, specularity }
    }

    #[test]
    fn the_rule_is_exact_for_high_polynomials() {
        let rule = gauss_rule();
        let moment = |power: i32| rule.iter().map(|(x, w)| w * x.powi(power)).sum::<f64>();
        for power in [0, 2, 10, 30] {
            assert!((moment(power) - 2.0 / f64::from(power + 1)).abs() < 1e-14, "{power}");
        }
    }

    #[test]
    fn faces_vanish_in_thick_films_and_behind_mirrors() {
        assert_eq!(surface_factor(0.01, faces(1.0)).unwrap(), 1.0);
        let thick = surface_factor(40.0, faces(0.0)).unwrap();
        assert!((thick - (1.0 + 0.375e-3)).abs() < 2e-7, "{thick}");
        assert!((surface_factor(1e12, faces(0.0)).unwrap() - 1.0).abs() < 1e-13);
    }

    #[test]
    fn very_thin_films_follow_the_logarithm() {
        // ρ_b/ρ → (3k/4)(ln(1/k) + 1 − γ) + … for p = 0.
        let k: f64 = 1e-6;
        let factor = surface_factor(40e-3 * k, faces(0.0)).unwrap();
        let limit = 0.75 * k * (1.0 - 0.577_215_664_901_532_9 - k.ln());
        assert!((factor * limit - 1.0).abs() < 1e-5, "{}", factor * limit);
    }

    #[test]
    fn the_factor_falls_with_thickness_and_specularity() {
        let mut last = f64::INFINITY;
        for step in 0..60 {
            let thickness_um = 1e-5 * 1.5_f64.powi(step);
            let rough = surface_factor(thickness_um, faces(0.0)).unwrap();
            assert!(rough >= 1.0 && rough < last, "{thickness_um} {rough} {last}");
            assert!(surface_factor(thickness_um, faces(0.5)).unwrap() < rough);
            last = rough;
            if rough - 1.0 < 1e-12 {
                break;
            }
        }
    }

    #[test]
    fn both_forms_of_the_grain_law_meet() {
        let factor = |a: f64| grain_factor(40.0 * a, Grains { size_nm: 40.0, reflection: 0.5 }).unwrap();
        assert!((factor(7.999_999) / factor(8.000_001) - 1.0).abs() < 1e-6);
        assert!((factor(1e6) / (4e6 / 3.0) - 1.0).abs() < 1e-5);
        assert_eq!(grain_factor(40.0, Grains { size_nm: 40.0, reflection: 0.0 }).unwrap(), 1.0);
    }

    #[test]
    fn refuses_what_is_no_film() {
        assert!(surface_factor(0.0, faces(0.0)).is_err());
        assert!(surface_factor(0.1, faces(1.1)).is_err());
        assert!(surface_factor(f64::NAN, faces(0.0)).is_err());
        assert!(grain_factor(40.0, Grains { size_nm: 0.0, reflection: 0.3 }).is_err());
        assert!(grain_factor(40.0, Grains { size_nm: 40.0, reflection: 1.0 }).is_err());
        let alone = film_factor(0.1, faces(0.0), None).unwrap();
        assert_eq!((alone.grain, alone.total), (1.0, alone.surface));
    }
}
