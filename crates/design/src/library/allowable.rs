//! What a layer of a material starts from.

use super::{FatigueSet, IndexAt, Material, MaterialClass, Property};
use crate::document::{FoilData, StrainLifeData};

/// The rule by which an allowable strain was suggested.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SuggestionRule {
    /// Brittle: the least failure strain reported. Size, edge quality and time are judged separately.
    LeastFailureStrain,
    /// Brittle, no least value known: a third of the typical failure strain (rule of thumb).
    ThirdOfBrittleFailureStrain,
    /// Ductile metal: its yield strain, so that it springs back. Cycles beyond it are judged separately.
    YieldStrain,
    /// Glassy polymer: half its yield strain, for repeated stretching (rule of thumb).
    HalfYieldStrain,
    /// Glassy polymer that breaks before it yields, or whose yield is not known: half its failure strain, at most the
    /// least reported (rule of thumb).
    HalfFailureStrain,
    /// Elastomer: a third of its failure strain (rule of thumb).
    ThirdOfFailureStrain,
}

impl SuggestionRule {
    /// The rule in words.
    pub fn label(self) -> &'static str {
        match self {
            Self::LeastFailureStrain => "least failure strain reported (brittle)",
            Self::ThirdOfBrittleFailureStrain => "a third of the failure strain (brittle, rule of thumb)",
            Self::YieldStrain => "yield strain (ductile metal)",
            Self::HalfYieldStrain => "half the yield strain (glassy polymer, rule of thumb)",
            Self::HalfFailureStrain => {
                "half the failure strain, no yield strain known (glassy polymer, rule of thumb)"
            }
            Self::ThirdOfFailureStrain => "a third of the failure strain (elastomer, rule of thumb)",
        }
    }
}

/// An allowable strain to start from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SuggestedAllowable {
    /// Largest tensile strain, dimensionless.
    pub strain: f64,
    /// The rule that gave it.
    pub rule: SuggestionRule,
}

/// Typical values that a layer of a material starts from; what is not known is absent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LayerValues {
    /// Young's modulus, MPa; absent for a liquid.
    pub modulus_mpa: Option<f64>,
    /// Poisson's ratio, dimensionless.
    pub poisson_ratio: Option<f64>,
    /// Linear thermal expansion, 1e-6/K.
    pub cte_ppm_per_k: Option<f64>,
    /// Allowable tensile strain with its rule.
    pub allowable: Option<SuggestedAllowable>,
    /// Yield strain, dimensionless.
    pub yield_strain: Option<f64>,
    /// Fracture toughness, MPa√m.
    pub toughness_mpa_sqrt_m: Option<f64>,
    /// Strain-life of the material's first form for which it is known.
    pub strain_life: Option<StrainLifeData>,
    /// Foil ductility; a layer takes this or `strain_life`.
    pub foil: Option<FoilData>,
    /// Refractive index at the wavelength asked for.
    pub index: Option<IndexAt>,
}

impl Material {
    /// The allowable tensile strain to start from, by the rule of the material's class ([`SuggestionRule`]).
    ///
    /// A starting value and no proof: it knows neither the size of the part nor the number of cycles. Nothing for a
    /// liquid, or where neither failure nor yield strain is known.
    pub fn allowable(&self) -> Option<SuggestedAllowable> {
        let failure = self.value(Property::FailureStrain);
        let yields = self.typical(Property::YieldStrain);
        let (strain, rule) = match self.class {
            class if class.is_brittle() => match failure?.min {
                Some(least) => (least, SuggestionRule::LeastFailureStrain),
                None => (failure?.typical / 3.0, SuggestionRule::ThirdOfBrittleFailureStrain),
            },
            MaterialClass::DuctileMetal => (yields?, SuggestionRule::YieldStrain),
            MaterialClass::GlassyPolymer => match yields {
                Some(strain) => (0.5 * strain, SuggestionRule::HalfYieldStrain),
                None => {
                    ((0.5 * failure?.typical).min(failure?.range()[0]), SuggestionRule::HalfFailureStrain)
                }
            },
            MaterialClass::Elastomer => (failure?.typical / 3.0, SuggestionRule::ThirdOfFailureStrain),
            _ => return None,
        };
        (strain.is_finite() && strain > 0.0).then_some(SuggestedAllowable { strain, rule })
    }

    /// Typical values for a layer of this material.
    ///
    /// * `wavelength_um`: vacuum wavelength of the guided light, µm; without it no index is given.
    pub fn layer_values(&self, wavelength_um: Option<f64>) -> LayerValues {
        let typical = |property| self.typical(property).filter(|value| value.is_finite());
        LayerValues {
            modulus_mpa: typical(Property::Modulus).filter(|&modulus| modulus > 0.0),
            poisson_ratio: typical(Property::PoissonRatio),
            cte_ppm_per_k: typical(Property::Expansion),
            allowable: self.allowable(),
            yield_strain: typical(Property::YieldStrain),
            toughness_mpa_sqrt_m: typical(Property::FractureToughness),
            strain_life: self.fatigue.iter().find_map(FatigueSet::strain_life),
            foil: self.fatigue.iter().find_map(FatigueSet::foil),
            index: wavelength_um.and_then(|wavelength_um| self.index_at(wavelength_um)),
        }
    }
}
