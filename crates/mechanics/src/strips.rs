//! The ribbon's section as strips of common width, and its stiffness in a curved ribbon.

use crate::error::StripsError;

/// Greatest number of strips of different width.
pub const MAX_STRIPS: usize = 16;

/// Below this |u| the closed form of σ loses digits to cancellation and the series is used.
const SERIES_BELOW: f64 = 0.05;

/// The in-plane stiffness of a ribbon: strips centred on the centreline, each with a width and a stiffness E·t.
///
/// A layer of one material over the whole width is one strip; layers of other widths add strips, and a layer
/// with a hollow or filled middle adds a strip of the inner width with the (possibly negative) difference of
/// stiffness. With w the width of a strip, κ₀ the curvature at rest and u = κ₀ w/2,
///
/// ```text
/// EA = Σ Et w        EI_c = Σ Et (w³/12) σ(u)        σ(u) = 3 (atanh(u)/u − 1)/u²
/// ```
///
/// are the exact integrals of a curved section (Winkler's bar): the section energy is
/// `½ (EA ε₀² + EI_c χ²)` with χ = κ − κ₀ (1 + ε₀), without a coupling term.
///
/// Only ratios of stiffness matter to strain at a set stretch. Forces are in units of EI/P², EI = Σ Et w³/12.
///
/// ```
/// use ogee_mechanics::Strips;
///
/// let ribbon = Strips::homogeneous(20.0)?;
/// assert_eq!(ribbon.width_um(), 20.0);
/// // A straight strip has σ = 1; a bend of 20 µm radius makes it stiffer.
/// assert!((ribbon.bending_ratio(0.0) - 1.0).abs() < 1e-15);
/// assert!(ribbon.bending_ratio(1.0 / 20.0) > 1.15);
/// # Ok::<(), ogee_mechanics::StripsError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strips {
    count: usize,
    /// Share Et w³ / Σ Et w³, dimensionless; it may be negative for a hollow.
    share: [f64; MAX_STRIPS],
    half_width_um: [f64; MAX_STRIPS],
    width_um: f64,
    ei_un_um2: f64,
    ea_un: f64,
}

impl Strips {
    /// One material over the whole width `width_um`, in µm. Its stiffness E·t is taken as 1 µN/µm.
    ///
    /// # Errors
    /// [`StripsError::BadWidth`] unless the width is finite and above zero.
    pub fn homogeneous(width_um: f64) -> Result<Self, StripsError> {
        Self::new(&[(1.0, width_um)])
    }

    /// Strips given as pairs of stiffness E·t, in µN/µm, and width w, in µm, all centred on the centreline.
    ///
    /// A negative stiffness stands for a hollow in a wider strip. The ribbon's width is the largest width with a
    /// positive stiffness. Strips of no stiffness are left out.
    ///
    /// # Errors
    /// [`StripsError`] if there is no strip or more than [`MAX_STRIPS`], if a number is not finite or a width not
    /// positive, or if the whole is not stiff against stretching and bending.
    pub fn new(strips: &[(f64, f64)]) -> Result<Self, StripsError> {
        let mut result = Self {
            count: 0,
            share: [0.0; MAX_STRIPS],
            half_width_um: [0.0; MAX_STRIPS],
            width_um: 0.0,
            ei_un_um2: 0.0,
            ea_un: 0.0,
        };
        for &(stiffness, width) in strips {
            if !(width.is_finite() && width > 0.0) {
                return Err(StripsError::BadWidth { width_um: width });
            }
            if !stiffness.is_finite() {
                return Err(StripsError::BadStiffness { stiffness_un_per_um: stiffness });
            }
            if stiffness == 0.0 {
                continue;
            }
            if result.count == MAX_STRIPS {
                return Err(StripsError::TooMany { count: strips.len(), limit: MAX_STRIPS });
            }
            let bending = stiffness * width.powi(3) / 12.0;
            result.share[result.count] = bending;
            result.half_width_um[result.count] = 0.5 * width;
            result.count += 1;
            result.ei_un_um2 += bending;
            result.ea_un += stiffness * width;
            if stiffness > 0.0 {
                result.width_um = result.width_um.max(width);
            }
        }
        let (ea_un, ei_un_um2) = (result.ea_un, result.ei_un_um2);
        let stiff = ea_un > 0.0 && ei_un_um2 > 0.0 && ea_un.is_finite() && ei_un_um2.is_finite();
        if !stiff {
            return Err(StripsError::NotStiff { ea_un, ei_un_um2 });
        }
        for share in &mut result.share {
            *share /= ei_un_um2;
        }
        Ok(result)
    }

    /// Width of the ribbon, in µm: that of its widest strip.
    pub fn width_um(&self) -> f64 {
        self.width_um
    }

    /// Bending stiffness EI = Σ Et w³/12 of the straight ribbon in its plane, in µN·µm².
    pub fn ei_un_um2(&self) -> f64 {
        self.ei_un_um2
    }

    /// Stiffness against stretching EA = Σ Et w, in µN.
    pub fn ea_un(&self) -> f64 {
        self.ea_un
    }

    /// `EI_c/EI` at the curvature `kappa_per_um` (1/µm) at rest, dimensionless; 1 when straight.
    ///
    /// Valid while |κ| w/2 < 1 for every strip; beyond, the fibre at the edge has no length and the result is
    /// infinite.
    pub fn bending_ratio(&self, kappa_per_um: f64) -> f64 {
        (0..self.count).map(|i| self.share[i] * section_ratio(kappa_per_um * self.half_width_um[i])).sum()
    }

    /// EA P²/EI for the pitch `pitch_um`, dimensionless (12 P²/w² for one strip).
    pub(crate) fn relative_ea(&self, pitch_um: f64) -> f64 {
        self.ea_un / self.ei_un_um2 * pitch_um * pitch_um
    }

    /// Shares and half widths of the strips in use.
    pub(crate) fn parts(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.share[..self.count].iter().copied().zip(self.half_width_um[..self.count].iter().copied())
    }

    /// Number of strips in use.
    pub(crate) fn count(&self) -> usize {
        self.count
    }
}

/// σ(u) = 3 (atanh(u)/u − 1)/u²: how much a section bent at rest to u = κ₀ w/2 is stiffer than straight.
pub(crate) fn section_ratio(u: f64) -> f64 {
    let square = u * u;
    if u.abs() < SERIES_BELOW {
        return 1.0
            + square * (3.0 / 5.0 + square * (3.0 / 7.0 + square * (1.0 / 3.0 + square * 3.0 / 11.0)));
    }
    if square >= 1.0 {
        return f64::INFINITY;
    }
    3.0 * (u.atanh() / u - 1.0) / square
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn series_meets_the_closed_form() {
        let at = |u: f64| section_ratio(u);
        let below = at(SERIES_BELOW * (1.0 - 1e-9));
        let above = at(SERIES_BELOW * (1.0 + 1e-9));
        assert!((above / below - 1.0).abs() < 1e-11, "{below} {above}");
    }

    #[test]
    fn section_ratio_is_the_integral_over_the_width() {
        // ∫ y²/(1 − yκ) dy by the midpoint rule, w = 1, κ = 1.2
        let (kappa, steps) = (1.2_f64, 20_000);
        let sum: f64 = (0..steps)
            .map(|i| (f64::from(i) + 0.5) / f64::from(steps) - 0.5)
            .map(|y| y * y / (1.0 - y * kappa) / f64::from(steps))
            .sum();
        assert!((12.0 * sum / section_ratio(0.6) - 1.0).abs() < 1e-7);
    }

    #[test]
    fn a_hollow_is_the_difference_of_two_strips() {
        let hollow = Strips::new(&[(2.0, 10.0), (-2.0, 6.0)]).unwrap();
        assert!((hollow.ea_un() - 8.0).abs() < 1e-12);
        assert!((hollow.ei_un_um2() - 2.0 * (1000.0 - 216.0) / 12.0).abs() < 1e-12);
        assert_eq!(hollow.width_um(), 10.0);
    }

    #[test]
    fn impossible_sections_are_refused() {
        assert!(matches!(Strips::new(&[]), Err(StripsError::NotStiff { .. })));
        assert!(matches!(Strips::homogeneous(f64::NAN), Err(StripsError::BadWidth { .. })));
        assert!(matches!(Strips::new(&[(1.0, 4.0), (-2.0, 4.0)]), Err(StripsError::NotStiff { .. })));
        assert!(matches!(Strips::new(&[(1.0, 4.0); 17]), Err(StripsError::TooMany { .. })));
    }
}
