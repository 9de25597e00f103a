//! How much a channel crack is driven, by the stiffness of film and base.

use super::monotone::monotone_cubic;
use super::{CrackError, CrackField, Solid};

/// The mismatch α between which crack factors are known.
pub const CRACK_FACTOR_ALPHA: (f64, f64) = (-0.99, 0.99);

/// α and Z; plane-strain finite elements with β = α/4 and a deep base.
pub(super) const TABLE: [[f64; 2]; 19] = [
    [-0.99, 1.1178],
    [-0.8, 1.226],
    [-0.6, 1.3593],
    [-0.4, 1.5197],
    [-0.2, 1.7187],
    [0.0, 1.9755],
    [0.2, 2.326],
    [0.4, 2.8465],
    [0.5, 3.2228],
    [0.6, 3.74],
    [0.7, 4.5128],
    [0.8, 5.8455],
    [0.85, 7.0002],
    [0.9, 8.9914],
    [0.93, 11.1707],
    [0.95, 13.6739],
    [0.97, 18.4923],
    [0.98, 23.3689],
    [0.99, 34.2796],
];

/// α = (E*_f − E*_s)/(E*_f + E*_s), dimensionless: −1 for a film much softer than its base, 1 for a much stiffer one.
///
/// # Source
/// Dundurs, 1969; the first of the two numbers that tell elastic mismatch in plane strain.
pub fn dundurs_alpha(film: &Solid, base: &Solid) -> f64 {
    // By the ratio, so that no sum leaves the range of numbers.
    let ratio = base.plane_strain_mpa() / film.plane_strain_mpa();
    if ratio > 1.0 { (1.0 / ratio - 1.0) / (1.0 / ratio + 1.0) } else { (1.0 - ratio) / (1.0 + ratio) }
}

/// Z, dimensionless: the factor in G = Z σ² h/E*_f that drives a channel crack through a film on a deep base.
///
/// A monotone cubic in ln Z against −ln(1 − α) through 19 values: Z grows like a power of 1/(1 − α) when the base gets soft, and
/// against α itself a cubic would be up to 3 % off next to α = 0.98 (with this one, leaving out any value gives it
/// back within 0.2 %).
///
/// * `alpha`: see [`dundurs_alpha`]; from −0.99 to 0.99. Never beyond: with softer bases Z grows to thousands and means
///   nothing, for then large strain and tearing set the field at the tip.
///
/// The values are for β = α/4, the second number of mismatch; other Poisson ratios move Z by 3 to 5 %, a base
/// that nearly keeps its volume (ν 0.45) by up to 7 %. The values
/// themselves are good to 0.1 % up to α = 0.9 and to 1 % at 0.99.
///
/// # Errors
/// [`CrackError::OutOfRange`] beyond −0.99 to 0.99.
///
/// # Source
/// Plane-strain finite elements of a cracked film on a half-space, opening integrated over the film, the limit of fine
/// meshes taken with the exponent of Zak and Williams (1963). Z(0) = 1.976 is the published value (Hutchinson and Suo, Mixed mode
/// cracking in layered materials, 1992; Beuth, Cracking of thin bonded films in residual tension, 1992).
///
/// ```
/// use ogee_stack::crack_factor;
///
/// assert!((crack_factor(0.0)? - 1.976).abs() < 1e-3);
/// assert!(crack_factor(0.995).is_err());
/// # Ok::<(), ogee_stack::CrackError>(())
/// ```
pub fn crack_factor(alpha: f64) -> Result<f64, CrackError> {
    let (least, greatest) = CRACK_FACTOR_ALPHA;
    if !(alpha >= least && alpha <= greatest) {
        return Err(CrackError::OutOfRange { field: CrackField::Alpha, value: alpha });
    }
    let softness = |alpha: f64| -(-alpha).ln_1p();
    let points = TABLE.map(|[alpha, factor]| [softness(alpha), factor.ln()]);
    Ok(monotone_cubic(&points, softness(alpha)).exp())
}

#[cfg(test)]
mod tests {
    use super::{CRACK_FACTOR_ALPHA, TABLE, crack_factor};

    #[test]
    fn the_factor_meets_the_table_and_grows_with_the_softness_of_the_base() {
        for [alpha, factor] in TABLE {
            let got = crack_factor(alpha).expect("the table is within its own range");
            assert!((got / factor - 1.0).abs() < 1e-12, "{alpha}: {got}");
        }
        let values: Vec<f64> =
            (-990..=990).map(|i| crack_factor(f64::from(i) / 1000.0).expect("within the range")).collect();
        assert!(values.windows(2).all(|pair| pair[1] > pair[0]));
    }

    #[test]
    fn nothing_is_extrapolated() {
        let (least, greatest) = CRACK_FACTOR_ALPHA;
        for alpha in [least - 1e-9, greatest + 1e-9, f64::NAN, f64::INFINITY] {
            assert!(crack_factor(alpha).is_err(), "{alpha}");
        }
        assert!(crack_factor(least).is_ok() && crack_factor(greatest).is_ok());
    }
}
