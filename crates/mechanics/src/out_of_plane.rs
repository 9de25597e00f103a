//! How the section resists twist and bending out of the plane.

use thiserror::Error;

/// How a thin section deforms when it is twisted and bent out of the plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum SectionLaw {
    /// A rigid section: energy ½ GJ τ² + ½ EI κₙ². Good below w² |κₙ|/t of about 0.7.
    Rod,
    /// A section that may curve across its width, whose edges a twist stretches; identical to the rod where width and
    /// thickness are alike.
    #[default]
    Ribbon,
}

impl SectionLaw {
    /// The law in words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Rod => "plain rod",
            Self::Ribbon => "ribbon law",
        }
    }
}

/// Stiffness of the section against twist and out-of-plane bending, and its extent.
///
/// The in-plane stiffness is that of [`Strips`](crate::Strips). Heights z are measured from the neutral plane of
/// out-of-plane bending along b = t × n, which is +z in the flat ribbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfPlane {
    /// Bending stiffness `EI_out` of the beam (plane stress, free to curl across its width), in µN·µm².
    pub bending_un_um2: f64,
    /// Torsion stiffness GJ, in µN·µm².
    pub torsion_un_um2: f64,
    /// Poisson's ratio ν of the section as a whole, dimensionless.
    pub poisson: f64,
    /// Height of the bottom face over the neutral plane, in µm, below zero.
    pub bottom_um: f64,
    /// Height of the top face over the neutral plane, in µm, above zero.
    pub top_um: f64,
    /// The section law.
    pub law: SectionLaw,
}

/// Why the stiffness out of the plane is impossible.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum OutOfPlaneError {
    /// A stiffness is not a positive finite number.
    #[error("out-of-plane {name} of {value} µN·µm² is not a finite number above zero")]
    NotStiff {
        /// Which one.
        name: &'static str,
        /// The value, in µN·µm².
        value: f64,
    },
    /// Poisson's ratio is not between −1 and 0.5.
    #[error("Poisson's ratio of {poisson} is not between -1 and 0.5")]
    BadPoisson {
        /// The value, dimensionless.
        poisson: f64,
    },
    /// The faces do not lie on either side of the neutral plane.
    #[error("faces at {bottom_um} µm and {top_um} µm do not lie below and above the neutral plane")]
    BadFaces {
        /// Height of the bottom face, in µm.
        bottom_um: f64,
        /// Height of the top face, in µm.
        top_um: f64,
    },
}

impl OutOfPlane {
    /// A homogeneous strip of width w and thickness t in µm, of modulus E in MPa and Poisson's ratio ν, ribbon law.
    ///
    /// `EI_out` = E w t³/12 and GJ = G J with the torsion constant of the rectangle, [`torsion_constant_um4`].
    ///
    /// # Errors
    /// [`OutOfPlaneError`] if a size or the modulus is not above zero or ν is out of range.
    pub fn homogeneous(
        width_um: f64,
        thickness_um: f64,
        modulus_mpa: f64,
        poisson: f64,
    ) -> Result<Self, OutOfPlaneError> {
        let shear_mpa = 0.5 * modulus_mpa / (1.0 + poisson);
        let section = Self {
            bending_un_um2: modulus_mpa * width_um * thickness_um.powi(3) / 12.0,
            torsion_un_um2: shear_mpa * torsion_constant_um4(width_um, thickness_um),
            poisson,
            bottom_um: -0.5 * thickness_um,
            top_um: 0.5 * thickness_um,
            law: SectionLaw::Ribbon,
        };
        section.check()?;
        Ok(section)
    }

    /// The same section under another law.
    #[must_use]
    pub fn with_law(self, law: SectionLaw) -> Self {
        Self { law, ..self }
    }

    /// Thickness from face to face, in µm.
    pub fn thickness_um(&self) -> f64 {
        self.top_um - self.bottom_um
    }

    /// Checks that the numbers can be a section.
    ///
    /// # Errors
    /// [`OutOfPlaneError`] naming the first number that cannot.
    pub fn check(&self) -> Result<(), OutOfPlaneError> {
        for (name, value) in
            [("bending stiffness", self.bending_un_um2), ("torsion stiffness", self.torsion_un_um2)]
        {
            if !(value.is_finite() && value > 0.0) {
                return Err(OutOfPlaneError::NotStiff { name, value });
            }
        }
        if !(self.poisson > -1.0 && self.poisson <= 0.5) {
            return Err(OutOfPlaneError::BadPoisson { poisson: self.poisson });
        }
        let faces = self.bottom_um.is_finite() && self.top_um.is_finite();
        if !(faces && self.bottom_um < 0.0 && self.top_um > 0.0) {
            return Err(OutOfPlaneError::BadFaces { bottom_um: self.bottom_um, top_um: self.top_um });
        }
        Ok(())
    }
}

/// Torsion constant J of a rectangle in µm⁴, sides in any order.
///
/// `J = (a b³/3) [1 − (192 b)/(π⁵ a) Σ tanh(kπa/2b)/k⁵]` over odd k, a the longer side; twelve terms leave 1e-6. A
/// square of side a has 0.140577 a⁴.
///
/// # Source
/// Saint-Venant's solution; Timoshenko and Goodier, Theory of Elasticity, chapter on torsion.
pub fn torsion_constant_um4(width_um: f64, thickness_um: f64) -> f64 {
    let (long, short) = (width_um.max(thickness_um), width_um.min(thickness_um));
    let ratio = long / short;
    let sum: f64 = (0..12)
        .map(|i| f64::from(2 * i + 1))
        .map(|k| (k * std::f64::consts::FRAC_PI_2 * ratio).tanh() / k.powi(5))
        .sum();
    long * short.powi(3) / 3.0 * (1.0 - 192.0 / std::f64::consts::PI.powi(5) * sum / ratio)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn torsion_constant_of_square_and_thin_strip() {
        assert!((torsion_constant_um4(2.0, 2.0) / 16.0 - 0.140_577).abs() < 1e-6);
        assert_eq!(torsion_constant_um4(5.0, 1.0), torsion_constant_um4(1.0, 5.0));
        let thin = torsion_constant_um4(1000.0, 1.0) / (1000.0 / 3.0);
        assert!((thin - (1.0 - 0.630_25 / 1000.0)).abs() < 1e-6);
    }

    #[test]
    fn impossible_sections_are_refused() {
        assert!(matches!(
            OutOfPlane::homogeneous(5.0, -1.0, 1000.0, 0.3),
            Err(OutOfPlaneError::NotStiff { .. })
        ));
        assert!(matches!(
            OutOfPlane::homogeneous(5.0, 1.0, 1000.0, 0.7),
            Err(OutOfPlaneError::BadPoisson { .. })
        ));
    }
}
