//! The refractive index of a material at a wavelength.

use super::Material;
use crate::text::number;
use ogee_optics::{
    BOROSILICATE_CROWN, FUSED_SILICA, PMMA, POLYCARBONATE, POLYSTYRENE, SILICON_NITRIDE, Sellmeier,
    check_wavelength,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A published formula of the index against wavelength, one of [`ogee_optics::MATERIALS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DispersionName {
    /// Fused silica.
    FusedSilica,
    /// Poly(methyl methacrylate).
    Pmma,
    /// Polycarbonate.
    Polycarbonate,
    /// Polystyrene.
    Polystyrene,
    /// Borosilicate crown glass.
    BorosilicateCrown,
    /// Stoichiometric silicon nitride.
    SiliconNitride,
}

impl DispersionName {
    /// The formula with its source and range.
    pub fn formula(self) -> &'static Sellmeier {
        match self {
            Self::FusedSilica => &FUSED_SILICA,
            Self::Pmma => &PMMA,
            Self::Polycarbonate => &POLYCARBONATE,
            Self::Polystyrene => &POLYSTYRENE,
            Self::BorosilicateCrown => &BOROSILICATE_CROWN,
            Self::SiliconNitride => &SILICON_NITRIDE,
        }
    }
}

/// A refractive index and what it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IndexAt {
    /// Refractive index, dimensionless.
    pub value: f64,
    /// What it rests on.
    pub basis: IndexBasis,
}

/// What a refractive index rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum IndexBasis {
    /// A formula within its range of wavelengths.
    Formula(DispersionName),
    /// A formula beyond its range.
    Extrapolated(DispersionName),
    /// A single value at the wavelength asked for.
    Given,
    /// A single value that belongs to another wavelength, µm, and is held.
    Held(f64),
    /// A single value whose wavelength is not stated.
    Unstated,
}

impl IndexAt {
    /// Whether the value belongs to another wavelength than the one asked for, or to none.
    pub fn is_held(&self) -> bool {
        matches!(self.basis, IndexBasis::Held(_) | IndexBasis::Unstated)
    }

    /// What to say next to the number; nothing where it holds as it is.
    pub fn note(&self) -> Option<String> {
        match self.basis {
            IndexBasis::Formula(_) | IndexBasis::Given => None,
            IndexBasis::Extrapolated(name) => {
                let formula = name.formula();
                let (least, greatest) = (number(formula.least_um), number(formula.greatest_um));
                Some(format!("extrapolated: the formula holds from {least} to {greatest} µm"))
            }
            IndexBasis::Held(wavelength_um) => Some(format!("at {} µm only", number(wavelength_um))),
            IndexBasis::Unstated => Some("wavelength not stated".to_owned()),
        }
    }
}

impl Material {
    /// Refractive index at a vacuum wavelength in µm.
    ///
    /// Where the material has a published formula, that, within its range of wavelengths. Beyond it the nearer of the
    /// two in wavelength: the single value, held, or the formula's end, extrapolated. Without a formula the single
    /// value, whatever the wavelength; [`IndexAt::note`] says so. Nothing where no index is known or where the
    /// wavelength is not one for guided light. Temperature is left out.
    ///
    /// ```
    /// let silica = ogee_design::library().find("silica").expect("a material of the library");
    /// let index = silica.index_at(1.31).expect("a published formula");
    /// assert!((index.value - 1.4468).abs() < 1e-4 && index.note().is_none());
    /// ```
    pub fn index_at(&self, wavelength_um: f64) -> Option<IndexAt> {
        check_wavelength(wavelength_um).ok()?;
        let single = self.refractive_index.as_ref().filter(|value| value.typical.is_finite());
        let held = single.map(|value| IndexAt {
            value: value.typical,
            basis: match value.wavelength_um {
                Some(own) if (own - wavelength_um).abs() <= 1e-9 * own.abs() => IndexBasis::Given,
                Some(own) => IndexBasis::Held(own),
                None => IndexBasis::Unstated,
            },
        });
        let Some(name) = self.dispersion else { return held };
        let formula = name.formula();
        let Ok(index) = formula.index(wavelength_um) else { return held };
        if index.note.is_none() {
            return Some(IndexAt { value: index.n, basis: IndexBasis::Formula(name) });
        }
        let beyond_um = (formula.least_um - wavelength_um).max(wavelength_um - formula.greatest_um);
        let is_nearer = single
            .and_then(|value| value.wavelength_um)
            .is_some_and(|own| (own - wavelength_um).abs() <= beyond_um);
        if is_nearer { held } else { Some(IndexAt { value: index.n, basis: IndexBasis::Extrapolated(name) }) }
    }
}
