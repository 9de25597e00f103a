//! Closed forms to set beside a process: the thin film, the bimetal, layers that share a birth.

use super::balance::stiffness;
use super::{Film, FilmField, FilmModulus, ProcessError};

/// Stress of a thin film from the bow that it causes, `MPa`, tension positive.
///
/// `σ = −M_s h_s² κ/(6 h_f)`, with M = E/(1 − ν) of the base and the film on its upper face: a film in tension gives κ < 0.
///
/// * `base`: the wafer. `film_thickness_um`: µm. `curvature_per_um`: change of curvature due to the film, 1/µm, positive with
///   the upper face stretched.
///
/// For thin films: it reads high by about the ratio of film to base thickness (4 % for a 20 µm polymer on a 525 µm wafer).
/// [`run`](crate::run) has no such limit.
///
/// # Errors
/// [`ProcessError`]: a value outside its range, or a result outside the range of numbers.
///
/// # Source
/// Stoney, The tension of metallic films deposited by electrolysis, 1909, with the biaxial modulus.
///
/// ```
/// use ogee_stack::{Film, stoney_stress_mpa};
///
/// let wafer = Film {
///     name: "wafer".to_owned(),
///     bottom_um: -525.0,
///     top_um: 0.0,
///     share: 1.0,
///     modulus_mpa: 160_000.0,
///     poisson: 0.22,
///     cte_per_k: 2.6e-6,
/// };
/// // A bow of 54 m radius under 0.5 µm.
/// let stress_mpa = stoney_stress_mpa(&wafer, 0.5, -1.848e-8)?;
/// assert!((stress_mpa - 348.3).abs() < 0.1);
/// # Ok::<(), ogee_stack::ProcessError>(())
/// ```
pub fn stoney_stress_mpa(
    base: &Film,
    film_thickness_um: f64,
    curvature_per_um: f64,
) -> Result<f64, ProcessError> {
    base.check(0)?;
    if !(film_thickness_um.is_finite() && film_thickness_um > 0.0) {
        return Err(ProcessError::Film {
            film: 1,
            name: "the film".to_owned(),
            field: FilmField::Thickness,
            value: film_thickness_um,
        });
    }
    if !curvature_per_um.is_finite() {
        return Err(ProcessError::Curvature { value_per_um: curvature_per_um });
    }
    let base_mpa = FilmModulus::Biaxial.effective_mpa(base.modulus_mpa, base.poisson);
    finite(
        "film stress",
        -base_mpa * base.thickness_um().powi(2) * curvature_per_um / (6.0 * film_thickness_um),
    )
}

/// Curvature of a narrow strip of two layers after a change of temperature, 1/µm.
///
/// `κ = 6 (α_1 − α_2) ΔT (1 + m)²/(h (3 (1 + m)² + (1 + m n)(m² + 1/(m n))))`, with 1 the lower layer, 2 the upper one,
/// `m = t_1/t_2`, `n = E_1/E_2`, h the total thickness, and the sign turned so that κ > 0 stretches the upper face.
///
/// * `lower`, `upper`: the layers; only thickness, modulus and expansion count. `change_k`: temperature change, K.
///
/// # Errors
/// [`ProcessError`]: a value outside its range, or a result outside the range of numbers.
///
/// # Source
/// Timoshenko, Analysis of bi-metal thermostats, Journal of the Optical Society of America 11 (1925) 233.
///
/// ```
/// use ogee_stack::{Film, bimetal_curvature_per_um};
///
/// let layer = |name: &str, bottom_um, top_um, cte_per_k| Film {
///     name: name.to_owned(), bottom_um, top_um, share: 1.0, modulus_mpa: 1e5, poisson: 0.3, cte_per_k,
/// };
/// // Equal layers: 1.5 Δα ΔT/h.
/// let curvature_per_um =
///     bimetal_curvature_per_um(&layer("lower", 0.0, 50.0, 1e-5), &layer("upper", 50.0, 100.0, 2e-5), 100.0)?;
/// assert!((curvature_per_um - 1.5e-5).abs() < 1e-18);
/// # Ok::<(), ogee_stack::ProcessError>(())
/// ```
pub fn bimetal_curvature_per_um(lower: &Film, upper: &Film, change_k: f64) -> Result<f64, ProcessError> {
    lower.check(0)?;
    upper.check(1)?;
    check_change(change_k)?;
    let (m, n) = (lower.thickness_um() / upper.thickness_um(), lower.modulus_mpa / upper.modulus_mpa);
    let height_um = lower.thickness_um() + upper.thickness_um();
    let sum = (1.0 + m).powi(2);
    let shape = 6.0 * sum / (3.0 * sum + (1.0 + m * n) * (m * m + 1.0 / (m * n)));
    finite("curvature", shape * (upper.cte_per_k - lower.cte_per_k) * change_k / height_um)
}

/// What [`multilayer_curvature`] finds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Multilayer {
    /// c: the part of the strain that all layers share, dimensionless.
    pub uniform_strain: f64,
    /// `t_b`: height of the line about which the stack bends with no further strain, above the base's upper face, µm.
    pub bending_axis_um: f64,
    /// Curvature, 1/µm, positive with the upper face stretched.
    pub curvature_per_um: f64,
}

/// Strain and curvature of films that share a stress-free temperature with their base, after a change of temperature.
///
/// With `h_i` the tops of the films above the base's upper face and E the modulus chosen:
///
/// ```text
/// c   = (E_s t_s α_s + ΣE_i t_i α_i) ΔT/(E_s t_s + ΣE_i t_i)
/// t_b = (−E_s t_s² + ΣE_i t_i (2h_{i−1} + t_i))/(2 (E_s t_s + ΣE_i t_i))
/// κ   = 3 (E_s (c − α_s ΔT) t_s² − ΣE_i t_i (c − α_i ΔT)(2h_{i−1} + t_i))
///       /(E_s t_s² (2t_s + 3t_b) + ΣE_i t_i (6h_{i−1}² + 6h_{i−1} t_i + 2t_i² − 3t_b (2h_{i−1} + t_i)))
/// ```
///
/// The same balance as [`run`](crate::run) in another form, for checks; `run` also knows births at different times.
///
/// * `base`: the lowest layer. `films`: those upon it, bottom to top. `change_k`: temperature change, K.
///
/// # Errors
/// [`ProcessError`]: a value outside its range, or a result outside the range of numbers.
///
/// # Source
/// Hsueh, Modeling of elastic deformation of multilayers due to residual stresses and external bending, Journal of Applied
/// Physics 91 (2002) 9652; shares of the width are weights on E.
pub fn multilayer_curvature(
    base: &Film,
    films: &[Film],
    modulus: FilmModulus,
    change_k: f64,
) -> Result<Multilayer, ProcessError> {
    base.check(0)?;
    for (index, film) in films.iter().enumerate() {
        film.check(index + 1)?;
    }
    check_change(change_k)?;
    let base_um = base.thickness_um();
    let base_un = stiffness(base, modulus);
    // Stiffness, twice the height of the middle, free strain, height of the lower face, thickness.
    let parts: Vec<_> = films
        .iter()
        .map(|film| {
            let (lower_um, thickness_um) = (film.bottom_um - base.top_um, film.thickness_um());
            (
                stiffness(film, modulus),
                2.0 * lower_um + thickness_um,
                film.cte_per_k * change_k,
                lower_um,
                thickness_um,
            )
        })
        .collect();
    let whole_un = base_un + parts.iter().map(|p| p.0).sum::<f64>();
    let base_free = base.cte_per_k * change_k;
    let c = (base_un * base_free + parts.iter().map(|p| p.0 * p.2).sum::<f64>()) / whole_un;
    let axis_um = (parts.iter().map(|p| p.0 * p.1).sum::<f64>() - base_un * base_um) / (2.0 * whole_un);
    let moment =
        base_un * (c - base_free) * base_um - parts.iter().map(|p| p.0 * (c - p.2) * p.1).sum::<f64>();
    let resistance = base_un * base_um * (2.0 * base_um + 3.0 * axis_um)
        + parts
            .iter()
            .map(|p| p.0 * (6.0 * p.3 * (p.3 + p.4) + 2.0 * p.4 * p.4 - 3.0 * axis_um * p.1))
            .sum::<f64>();
    Ok(Multilayer {
        uniform_strain: finite("strain of the stack", c)?,
        bending_axis_um: finite("bending axis", axis_um)?,
        curvature_per_um: finite("curvature", 3.0 * moment / resistance)?,
    })
}

fn check_change(value_k: f64) -> Result<(), ProcessError> {
    if value_k.is_finite() { Ok(()) } else { Err(ProcessError::Change { value_k }) }
}

fn finite(quantity: &'static str, value: f64) -> Result<f64, ProcessError> {
    if value.is_finite() { Ok(value) } else { Err(ProcessError::OutOfNumbers { quantity, value }) }
}
