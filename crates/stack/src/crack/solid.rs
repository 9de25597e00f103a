//! The elastic constants of one material.

use super::{CrackError, CrackField};

/// Young's modulus and Poisson's ratio of one material, both in range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Solid {
    modulus_mpa: f64,
    poisson: f64,
}

impl Solid {
    /// Checks the values.
    ///
    /// * `modulus_mpa`: Young's modulus, above 0. `poisson`: Poisson's ratio, between −1 and 0.5.
    ///
    /// # Errors
    /// [`CrackError::OutOfRange`].
    pub fn new(modulus_mpa: f64, poisson: f64) -> Result<Self, CrackError> {
        CrackError::positive(CrackField::Modulus, modulus_mpa)?;
        if !(poisson > -1.0 && poisson < 0.5) {
            return Err(CrackError::OutOfRange { field: CrackField::Poisson, value: poisson });
        }
        CrackError::result("modulus in plane strain", modulus_mpa / (1.0 - poisson * poisson))?;
        Ok(Self { modulus_mpa, poisson })
    }

    /// Young's modulus, `MPa`.
    pub fn modulus_mpa(&self) -> f64 {
        self.modulus_mpa
    }

    /// Poisson's ratio, dimensionless.
    pub fn poisson(&self) -> f64 {
        self.poisson
    }

    /// E* = E/(1 − ν²), `MPa`.
    pub fn plane_strain_mpa(&self) -> f64 {
        self.modulus_mpa / (1.0 - self.poisson * self.poisson)
    }
}
