//! Refractive indices of some materials against the vacuum wavelength.
//!
//! Sellmeier form `n² = 1 + Σ B_i λ²/(λ² − C_i)`, λ in µm. Films differ from bulk (silicon nitride by up to 0.05) and
//! polymers from batch to batch (0.002): replace these by measured values before any decision.

use crate::error::{LightError, check_index, check_wavelength};

/// A Sellmeier formula with its source and range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sellmeier {
    /// Name of the material.
    pub name: &'static str,
    /// B and C (µm²) of each term.
    pub terms: &'static [(f64, f64)],
    /// Least wavelength of the fit, µm.
    pub least_um: f64,
    /// Greatest wavelength of the fit, µm.
    pub greatest_um: f64,
    /// Where the coefficients come from.
    pub source: &'static str,
}

/// Fused silica at 20 °C.
pub const FUSED_SILICA: Sellmeier = Sellmeier {
    name: "fused silica, 20 °C",
    terms: &[
        (0.696_166_3, 0.068_404_3 * 0.068_404_3),
        (0.407_942_6, 0.116_241_4 * 0.116_241_4),
        (0.897_479_4, 9.896_161 * 9.896_161),
    ],
    least_um: 0.21,
    greatest_um: 3.71,
    source: "Malitson, Interspecimen comparison of the refractive index of fused silica, 1965",
};

/// Poly(methyl methacrylate).
pub const PMMA: Sellmeier = Sellmeier {
    name: "PMMA",
    terms: &[(1.1819, 0.011_313)],
    least_um: 0.44,
    greatest_um: 1.05,
    source: "one-term fit to Sultanova, Kasarova and Nikolov, Dispersion properties of optical polymers, 2009; \
             meets their table to 0.0005",
};

/// Polycarbonate.
pub const POLYCARBONATE: Sellmeier = Sellmeier {
    name: "polycarbonate",
    terms: &[(1.4182, 0.021_304)],
    least_um: 0.44,
    greatest_um: 1.05,
    source: "one-term fit to Sultanova, Kasarova and Nikolov, Dispersion properties of optical polymers, 2009; \
             meets their table to 0.001",
};

/// Polystyrene.
pub const POLYSTYRENE: Sellmeier = Sellmeier {
    name: "polystyrene",
    terms: &[(1.4435, 0.020_216)],
    least_um: 0.44,
    greatest_um: 1.05,
    source: "one-term fit to Sultanova, Kasarova and Nikolov, Dispersion properties of optical polymers, 2009; \
             meets their table to 0.0005",
};

/// Borosilicate crown glass, code 517642.
pub const BOROSILICATE_CROWN: Sellmeier = Sellmeier {
    name: "borosilicate crown 517642",
    terms: &[(1.039_612_12, 0.006_000_698_67), (0.231_792_344, 0.020_017_914_4), (1.010_469_45, 103.560_653)],
    least_um: 0.31,
    greatest_um: 2.5,
    source: "catalogue coefficients of the glass type, from memory",
};

/// Stoichiometric silicon nitride.
pub const SILICON_NITRIDE: Sellmeier = Sellmeier {
    name: "stoichiometric silicon nitride",
    terms: &[(3.0249, 0.135_340_6 * 0.135_340_6), (40_314.0, 1_239.842 * 1_239.842)],
    least_um: 0.31,
    greatest_um: 5.5,
    source: "Luke, Okawachi, Lamont, Gaeta and Lipson, Broadband mid-infrared frequency comb generation in a Si3N4 \
             microresonator, 2015, from memory; deposited films differ by up to 0.05",
};

/// All materials of this module.
pub const MATERIALS: [&Sellmeier; 6] =
    [&FUSED_SILICA, &PMMA, &POLYCARBONATE, &POLYSTYRENE, &BOROSILICATE_CROWN, &SILICON_NITRIDE];

/// Where a refractive index comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum IndexModel {
    /// A Sellmeier formula.
    Sellmeier(Sellmeier),
    /// A value entered for one wavelength, with its slope.
    Measured {
        /// Index at `wavelength_um`.
        n: f64,
        /// The wavelength it was measured at, µm.
        wavelength_um: f64,
        /// dn/dλ, 1/µm; 0 if unknown.
        slope_per_um: f64,
    },
}

/// A refractive index at one wavelength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RefractiveIndex {
    /// n.
    pub n: f64,
    /// dn/dλ, 1/µm.
    pub slope_per_um: f64,
    /// Set where the number is an extrapolation.
    pub note: Option<IndexNote>,
}

/// What to say next to a refractive index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum IndexNote {
    /// The wavelength is outside the range of the fit.
    Extrapolated {
        /// Least wavelength of the fit, µm.
        least_um: f64,
        /// Greatest wavelength of the fit, µm.
        greatest_um: f64,
    },
}

impl Sellmeier {
    /// Index and slope at a vacuum wavelength in µm.
    ///
    /// `n² = 1 + Σ B λ²/(λ² − C)`, `dn/dλ = −(λ/n) Σ B C/(λ² − C)²`. Outside the range of the fit the value carries a
    /// note.
    ///
    /// # Errors
    /// [`LightError::Wavelength`]; [`LightError::Index`] where the formula gives no index between 1 and 10 (near a
    /// resonance).
    ///
    /// ```
    /// # use ogee_optics::FUSED_SILICA;
    /// assert!((FUSED_SILICA.index(1.55)?.n - 1.44402).abs() < 1e-5);
    /// # Ok::<(), ogee_optics::LightError>(())
    /// ```
    pub fn index(&self, wavelength_um: f64) -> Result<RefractiveIndex, LightError> {
        check_wavelength(wavelength_um)?;
        let square = wavelength_um * wavelength_um;
        let n_squared = 1.0 + self.terms.iter().map(|(b, c)| b * square / (square - c)).sum::<f64>();
        let n = n_squared.max(0.0).sqrt();
        check_index(self.name, n)?;
        let sum: f64 = self.terms.iter().map(|(b, c)| b * c / (square - c).powi(2)).sum();
        let (least_um, greatest_um) = (self.least_um, self.greatest_um);
        let note = (!(least_um..=greatest_um).contains(&wavelength_um))
            .then_some(IndexNote::Extrapolated { least_um, greatest_um });
        Ok(RefractiveIndex { n, slope_per_um: -wavelength_um / n * sum, note })
    }
}

impl IndexModel {
    /// Index and slope at a vacuum wavelength in µm. A measured value is continued straight.
    ///
    /// # Errors
    /// As [`Sellmeier::index`].
    pub fn index(&self, wavelength_um: f64) -> Result<RefractiveIndex, LightError> {
        match *self {
            Self::Sellmeier(formula) => formula.index(wavelength_um),
            Self::Measured { n, wavelength_um: measured_um, slope_per_um } => {
                check_wavelength(wavelength_um)?;
                let n = n + slope_per_um * (wavelength_um - measured_um);
                check_index("measured", n)?;
                Ok(RefractiveIndex { n, slope_per_um, note: None })
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{BOROSILICATE_CROWN, FUSED_SILICA, IndexModel, MATERIALS, PMMA, SILICON_NITRIDE};
    use super::{POLYCARBONATE, POLYSTYRENE, Sellmeier};
    use crate::error::LightError;

    #[test]
    fn published_indices() {
        let check = |material: &Sellmeier, wavelength_um: f64, n: f64, tolerance: f64| {
            let value = material.index(wavelength_um).unwrap().n;
            assert!((value - n).abs() < tolerance, "{} at {wavelength_um}: {value}", material.name);
        };
        check(&FUSED_SILICA, 0.587_561_8, 1.458_46, 1.5e-5);
        check(&FUSED_SILICA, 1.55, 1.444_02, 1.5e-5);
        check(&PMMA, 0.5876, 1.491, 2e-3);
        check(&POLYCARBONATE, 0.6328, 1.58, 2e-3);
        check(&POLYSTYRENE, 1.052, 1.572, 2e-3);
        // The glass code itself: n_d = 1.517, Abbe number 64.2.
        check(&BOROSILICATE_CROWN, 0.587_561_8, 1.516_80, 1e-5);
        check(&SILICON_NITRIDE, 1.55, 1.996, 2e-3);
    }

    #[test]
    fn slopes_agree_with_difference_quotients() {
        let step = 1e-5;
        for material in MATERIALS {
            let at = |wavelength_um: f64| material.index(wavelength_um).unwrap();
            let quotient = (at(0.8 + step).n - at(0.8 - step).n) / (2.0 * step);
            assert!((at(0.8).slope_per_um / quotient - 1.0).abs() < 1e-6, "{}", material.name);
        }
    }

    #[test]
    fn extrapolation_is_noted_and_resonances_are_refused() {
        assert!(PMMA.index(1.31).unwrap().note.is_some());
        assert!(PMMA.index(0.85).unwrap().note.is_none());
        assert!(matches!(FUSED_SILICA.index(9.5), Err(LightError::Index { .. })));
        assert!(matches!(FUSED_SILICA.index(1550.0), Err(LightError::Wavelength { .. })));
    }

    #[test]
    fn a_measured_value_is_continued_straight() {
        let model = IndexModel::Measured { n: 1.51, wavelength_um: 1.31, slope_per_um: -0.01 };
        assert!((model.index(1.41).unwrap().n - 1.509).abs() < 1e-15);
        assert_eq!(IndexModel::Sellmeier(PMMA).index(0.85), PMMA.index(0.85));
    }
}
