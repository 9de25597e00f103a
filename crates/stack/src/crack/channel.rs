//! Cracks that run through a film in tension.

use std::fmt;

use super::factor::{crack_factor, dundurs_alpha};
use super::monotone::monotone_cubic;
use super::{CRACK_FACTOR_ALPHA, CrackError, CrackField, Solid};

/// Root of µm per m: 1 MPa√m = 1000 MPa√µm.
const ROOT_UM_PER_M: f64 = 1000.0;

/// `h/t_b` and Z for a film on a buffer of thickness `t_b` on a deep elastomer.
const BUFFERED: [[f64; 2]; 5] = [
    [0.0, 8.638_084],
    [1.0 / 50.0, 9.103_132],
    [1.0 / 20.0, 9.877_822],
    [1.0 / 8.0, 11.544_901],
    [1.0 / 3.0, 16.298_304],
];

/// E* of film over buffer in `BUFFERED`: silica, 72 GPa and 0.17, on epoxy, 4 GPa and 0.25.
const FILM_OVER_BUFFER: f64 = (72_000.0 / (1.0 - 0.17 * 0.17)) / (4000.0 / (1.0 - 0.25 * 0.25));
/// E* of film over buffer and of buffer over carrier between which the listed factors, scaled, hold within 6 %.
const FILM_OVER_BUFFER_RANGE: (f64, f64) = (8.0, 70.0);
const BUFFER_OVER_CARRIER_RANGE: (f64, f64) = (400.0, 2e5);

/// What a film lies on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CrackBase {
    /// One material, deep against the film.
    Deep(Solid),
    /// A layer on a deep, much softer carrier.
    Buffered {
        /// Material of the layer under the film.
        buffer: Solid,
        /// Its thickness, µm.
        thickness_um: f64,
        /// The carrier, an elastomer.
        carrier: Solid,
    },
}

/// A brittle film in tension and what it lies on.
///
/// A channel crack, through the film and stopping at the base, grows across the film if
///
/// ```text
/// G = Z σ² h/E*_f  >  Γ = K²/E*_f,   that is if   h > h_c = K²/(Z σ²)
/// ```
///
/// with σ the greatest tension in the film (left from the process, plus E* times the strain from use), h its thickness, K its
/// fracture toughness and Z from [`crack_factor`]. Slow growth in humid air starts well below K: keep G below Γ/4 for
/// glass in tension (rule of thumb).
///
/// On a buffer and a soft carrier, Z follows from values for 1 µm of silica on 3 to 50 µm of epoxy, and on epoxy throughout, over
/// a deep elastomer of 1.8 `MPa` (16.3 to 8.6; good to about 1 %): a monotone cubic in ln Z against `h/t_b`, scaled with
/// [`crack_factor`] of film and buffer over that of silica and epoxy. Finite elements of other stacks agree within 6 % where
/// the ratio of E* is 8 to 70 for film over buffer (17.4 in the listed ones) and 400 to 200 000 for buffer over carrier
/// (1800), and the buffer is at least three times as thick as the film; otherwise the answer is [`CrackVerdict::Uncovered`].
///
/// # Source
/// Hutchinson and Suo, Mixed mode cracking in layered materials, Advances in Applied Mechanics 29 (1992) 63; the factors are
/// from finite elements, see [`crack_factor`].
///
/// ```
/// use ogee_stack::{ChannelCrack, CrackBase, CrackVerdict, Solid};
///
/// let crack = ChannelCrack {
///     film: Solid::new(230_000.0, 0.25)?,
///     thickness_um: 0.8,
///     stress_mpa: 400.0,
///     toughness_mpa_sqrt_m: 4.0,
///     base: CrackBase::Deep(Solid::new(72_000.0, 0.17)?),
/// };
/// let CrackVerdict::Numbers(numbers) = crack.verdict()? else { panic!("a base of glass is stiff enough") };
/// assert!((numbers.critical_thickness_um - 28.5).abs() < 1.7);
/// assert!(numbers.driving_un_per_um < 0.25 * numbers.toughness_un_per_um);
/// # Ok::<(), ogee_stack::CrackError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChannelCrack {
    /// Material of the film.
    pub film: Solid,
    /// Thickness of the film, µm.
    pub thickness_um: f64,
    /// Greatest stress in it, `MPa`, tension positive.
    pub stress_mpa: f64,
    /// Fracture toughness K of the film, MPa√m (1 MPa√m = 1000 MPa√µm).
    pub toughness_mpa_sqrt_m: f64,
    /// What it lies on.
    pub base: CrackBase,
}

/// What can be said about a channel crack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CrackVerdict {
    /// The film is not in tension: no channel crack is driven at any thickness.
    NoTension,
    /// Drive, toughness and critical thickness.
    Numbers(CrackNumbers),
    /// The base is so soft (α > 0.99) that no thickness of film in tension is safe and no number means anything.
    NoSafeThickness {
        /// α of film and base, dimensionless.
        alpha: f64,
    },
    /// No value of the factor covers the combination.
    Uncovered(Uncovered),
}

impl fmt::Display for CrackVerdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoTension => f.write_str("film not in tension: no channel crack"),
            Self::Numbers(numbers) => write!(
                f,
                "driving force of {:.3} J/m² against {:.3} J/m²; critical thickness of {:.3} µm",
                numbers.driving_un_per_um, numbers.toughness_un_per_um, numbers.critical_thickness_um
            ),
            Self::NoSafeThickness { .. } => {
                f.write_str("no crack-safe thickness: keep the film in compression or below its strain limit")
            }
            Self::Uncovered(reason) => reason.fmt(f),
        }
    }
}

/// Why no value of the factor covers a film and its base. Ratios are those of E*.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Uncovered {
    /// The film is more than about 200 times softer than its base.
    SoftFilm {
        /// α of film and base, dimensionless.
        alpha: f64,
        /// Least α covered.
        least: f64,
    },
    /// Stiffness of film over buffer.
    FilmOverBuffer {
        /// The ratio.
        value: f64,
        /// Least ratio covered.
        least: f64,
        /// Greatest ratio covered.
        greatest: f64,
    },
    /// Stiffness of buffer over carrier.
    BufferOverCarrier {
        /// The ratio.
        value: f64,
        /// Least ratio covered.
        least: f64,
        /// Greatest ratio covered.
        greatest: f64,
    },
    /// Thickness of buffer over film.
    ThinBuffer {
        /// The ratio.
        value: f64,
        /// Least ratio covered.
        least: f64,
    },
}

impl fmt::Display for Uncovered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SoftFilm { alpha, least } => write!(
                f,
                "film much softer than its base: mismatch of {alpha:.4} is below {least}, where no crack factor is known"
            ),
            Self::FilmOverBuffer { value, least, greatest } => write!(
                f,
                "film {value:.3} times as stiff as the buffer; crack factors are known from {least:.3} to {greatest:.3}"
            ),
            Self::BufferOverCarrier { value, least, greatest } => write!(
                f,
                "buffer {value:.0} times as stiff as the carrier; crack factors are known from {least:.0} to {greatest:.0}"
            ),
            Self::ThinBuffer { value, least } => write!(
                f,
                "buffer {value:.2} times as thick as the film; crack factors are known from {least:.0} on"
            ),
        }
    }
}

/// Drive and toughness of a channel crack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrackNumbers {
    /// Z, dimensionless; uncertain by 3 to 7 % as Poisson's ratios have it, see [`crack_factor`].
    pub factor: f64,
    /// G = Z σ² h/E*_f, µN/µm (= J/m²).
    pub driving_un_per_um: f64,
    /// Γ = K²/E*_f, µN/µm (= J/m²).
    pub toughness_un_per_um: f64,
    /// `h_c` = K²/(Z σ²), µm. On a buffer, with the factor of this film: as `h/t_b` changes, so does Z.
    pub critical_thickness_um: f64,
}

impl ChannelCrack {
    /// Drive, toughness and critical thickness, or why there is no number.
    ///
    /// # Errors
    /// [`CrackError`]: thickness or toughness not above 0, stress not finite, results outside the range of numbers.
    pub fn verdict(&self) -> Result<CrackVerdict, CrackError> {
        let thickness_um = CrackError::positive(CrackField::Thickness, self.thickness_um)?;
        let toughness =
            ROOT_UM_PER_M * CrackError::positive(CrackField::Toughness, self.toughness_mpa_sqrt_m)?;
        if !self.stress_mpa.is_finite() {
            return Err(CrackError::OutOfRange { field: CrackField::Stress, value: self.stress_mpa });
        }
        if let CrackBase::Buffered { thickness_um, .. } = self.base {
            CrackError::positive(CrackField::Thickness, thickness_um)?;
        }
        if self.stress_mpa <= 0.0 {
            return Ok(CrackVerdict::NoTension);
        }
        let factor = match self.base {
            CrackBase::Deep(base) => {
                let alpha = dundurs_alpha(&self.film, &base);
                let (least, greatest) = CRACK_FACTOR_ALPHA;
                if alpha > greatest {
                    return Ok(CrackVerdict::NoSafeThickness { alpha });
                }
                if alpha < least {
                    return Ok(CrackVerdict::Uncovered(Uncovered::SoftFilm { alpha, least }));
                }
                crack_factor(alpha)?
            }
            CrackBase::Buffered { buffer, thickness_um, carrier } => {
                match self.buffered_factor(&buffer, thickness_um, &carrier) {
                    Ok(factor) => factor,
                    Err(reason) => return Ok(CrackVerdict::Uncovered(reason)),
                }
            }
        };
        let film_mpa = self.film.plane_strain_mpa();
        let square = self.stress_mpa * self.stress_mpa;
        Ok(CrackVerdict::Numbers(CrackNumbers {
            factor,
            driving_un_per_um: CrackError::result(
                "driving force",
                factor * square * thickness_um / film_mpa,
            )?,
            toughness_un_per_um: CrackError::result("toughness", toughness * toughness / film_mpa)?,
            critical_thickness_um: CrackError::result(
                "critical thickness",
                toughness * toughness / (factor * square),
            )?,
        }))
    }

    fn buffered_factor(&self, buffer: &Solid, buffer_um: f64, carrier: &Solid) -> Result<f64, Uncovered> {
        let value = self.film.plane_strain_mpa() / buffer.plane_strain_mpa();
        let (least, greatest) = FILM_OVER_BUFFER_RANGE;
        let within = value >= least && value <= greatest;
        let scale = match (crack_factor(dundurs_alpha(&self.film, buffer)), crack_factor(listed_alpha())) {
            (Ok(factor), Ok(listed)) if within => factor / listed,
            _ => return Err(Uncovered::FilmOverBuffer { value, least, greatest }),
        };
        let value = buffer.plane_strain_mpa() / carrier.plane_strain_mpa();
        let (least, greatest) = BUFFER_OVER_CARRIER_RANGE;
        if !(value >= least && value <= greatest) {
            return Err(Uncovered::BufferOverCarrier { value, least, greatest });
        }
        let points = BUFFERED.map(|[thinness, factor]| [thinness, factor.ln()]);
        let thinness = self.thickness_um / buffer_um;
        let thinnest = points[points.len() - 1][0];
        if thinness > thinnest * (1.0 + 1e-12) {
            return Err(Uncovered::ThinBuffer { value: 1.0 / thinness, least: 1.0 / thinnest });
        }
        Ok(scale * monotone_cubic(&points, thinness.min(thinnest)).exp())
    }
}

/// α of the film and buffer in `BUFFERED`.
fn listed_alpha() -> f64 {
    (FILM_OVER_BUFFER - 1.0) / (FILM_OVER_BUFFER + 1.0)
}
