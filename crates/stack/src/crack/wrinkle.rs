//! Stiff films on a soft, deep base that buckle under compression.

use std::f64::consts::PI;

use super::{CrackError, CrackField, Solid};

/// Onset of wrinkles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wrinkle {
    /// Compressive strain at which they start, as a positive number, dimensionless.
    pub strain: f64,
    /// Their wavelength, µm.
    pub length_um: f64,
}

impl Wrinkle {
    /// Wrinkles of one film on a deep base.
    ///
    /// `ε_c = ¼ (3 E*_s/E*_f)^⅔,  λ = 2π h (E*_f/(3 E*_s))^⅓`
    ///
    /// * `thickness_um`: h, µm.
    ///
    /// Holds for a film much stiffer than its base (E*_f/E*_s above about 100, so that `ε_c` is small) and a base
    /// deeper than a wavelength.
    ///
    /// # Errors
    /// [`CrackError`]: thickness not above 0, or results outside the range of numbers.
    ///
    /// # Source
    /// Classical; Allen, Analysis and design of structural sandwich panels, 1969.
    pub fn of_film(film: &Solid, thickness_um: f64, base: &Solid) -> Result<Self, CrackError> {
        Ok(Self {
            strain: wrinkle_strain(film, base)?,
            length_um: wrinkle_length_um(film, thickness_um, base)?,
        })
    }

    /// Wrinkles of plies bonded to each other, on a deep base.
    ///
    /// As [`Wrinkle::of_stiffness`], with the stiffnesses of the plies in plane strain about their neutral plane.
    ///
    /// * `plies`: material and thickness in µm, bottom to top.
    ///
    /// # Errors
    /// [`CrackError`]: no ply, a thickness not above 0, or results outside the range of numbers.
    ///
    /// ```
    /// use ogee_stack::{Solid, Wrinkle};
    ///
    /// let (epoxy, glass) = (Solid::new(4000.0, 0.25)?, Solid::new(72_000.0, 0.17)?);
    /// let elastomer = Solid::new(1.8, 0.49)?;
    /// let bare = Wrinkle::of_film(&glass, 1.0, &elastomer)?;
    /// let buffered = Wrinkle::of_stack(&[(epoxy, 8.0), (glass, 1.0)], &elastomer)?;
    /// assert!((bare.strain - 5.24e-4).abs() < 1e-6 && (buffered.strain - 1.702e-3).abs() < 1e-6);
    /// # Ok::<(), ogee_stack::CrackError>(())
    /// ```
    pub fn of_stack(plies: &[(Solid, f64)], base: &Solid) -> Result<Self, CrackError> {
        if plies.is_empty() {
            return Err(CrackError::NoPlies);
        }
        // Stiffness, middle and thickness of each ply.
        let mut parts = Vec::with_capacity(plies.len());
        let mut bottom_um = 0.0;
        for (solid, thickness_um) in plies {
            CrackError::positive(CrackField::Thickness, *thickness_um)?;
            parts.push((
                solid.plane_strain_mpa() * thickness_um,
                bottom_um + 0.5 * thickness_um,
                *thickness_um,
            ));
            bottom_um += thickness_um;
        }
        let stretch: f64 = parts.iter().map(|part| part.0).sum();
        let neutral_um = parts.iter().map(|part| part.0 * part.1).sum::<f64>() / stretch;
        let bending =
            parts.iter().map(|part| part.0 * (part.2 * part.2 / 12.0 + (part.1 - neutral_um).powi(2))).sum();
        Self::of_stiffness(stretch, bending, base)
    }

    /// Wrinkles of any bonded stack on a deep base.
    ///
    /// The compression at which a wave of number k pays, `(EI k² + E*_s/(2k))/EA`, is least at
    ///
    /// ```text
    /// λ = 2π (4 EI/E*_s)^⅓,   ε_c = 3/4^⅔ · E*_s^⅔ EI^⅓/EA
    /// ```
    ///
    /// which contains [`Wrinkle::of_film`].
    ///
    /// * `stretch_un_per_um`: EA per width with E*, µN/µm. `bending_un_um`: EI per width with E*, µN·µm.
    ///
    /// # Errors
    /// [`CrackError`]: a stiffness not above 0, or results outside the range of numbers.
    pub fn of_stiffness(
        stretch_un_per_um: f64,
        bending_un_um: f64,
        base: &Solid,
    ) -> Result<Self, CrackError> {
        CrackError::positive(CrackField::StretchStiffness, stretch_un_per_um)?;
        CrackError::positive(CrackField::BendingStiffness, bending_un_um)?;
        let base_mpa = base.plane_strain_mpa();
        let force = 3.0 / 16f64.cbrt() * base_mpa.cbrt().powi(2) * bending_un_um.cbrt();
        Ok(Self {
            strain: CrackError::result("wrinkling strain", force / stretch_un_per_um)?,
            length_um: CrackError::result(
                "wrinkle length",
                2.0 * PI * (4.0 * bending_un_um / base_mpa).cbrt(),
            )?,
        })
    }
}

/// Compressive strain at which a stiff film on a deep, soft base wrinkles, as a positive number; see [`Wrinkle::of_film`].
///
/// # Errors
/// [`CrackError::OutOfNumbers`].
pub fn wrinkle_strain(film: &Solid, base: &Solid) -> Result<f64, CrackError> {
    let ratio = base.plane_strain_mpa() / film.plane_strain_mpa();
    CrackError::result("wrinkling strain", 0.25 * (3.0 * ratio).cbrt().powi(2))
}

/// Wavelength of a stiff film's wrinkles on a deep, soft base, µm; see [`Wrinkle::of_film`].
///
/// * `thickness_um`: thickness of the film, µm.
///
/// # Errors
/// [`CrackError`]: thickness not above 0, or a result outside the range of numbers.
pub fn wrinkle_length_um(film: &Solid, thickness_um: f64, base: &Solid) -> Result<f64, CrackError> {
    CrackError::positive(CrackField::Thickness, thickness_um)?;
    let ratio = film.plane_strain_mpa() / base.plane_strain_mpa();
    CrackError::result("wrinkle length", 2.0 * PI * thickness_um * (ratio / 3.0).cbrt())
}
