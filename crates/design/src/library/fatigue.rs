//! Parameters of life under repeated strain.

use crate::document::{FoilData, StrainLifeData};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A parameter of a law of life with the range that is reported.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FatigueValue {
    /// Least value reported.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// The value to start from.
    pub typical: f64,
    /// Greatest value reported.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
    /// What else one should know about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl FatigueValue {
    /// Least and greatest value; the typical one where an end is not given.
    pub fn range(&self) -> [f64; 2] {
        [self.min.unwrap_or(self.typical), self.max.unwrap_or(self.typical)]
    }
}

/// A law of life under repeated strain with its parameters.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum FatigueLaw {
    /// Strain amplitude `ε_a = (σ_f′ − σ_m)/E · (2N)^b + ε_f′ (2N)^c` for N cycles at the mean stress `σ_m`.
    StrainLife {
        /// `σ_f′`, MPa.
        fatigue_strength_mpa: FatigueValue,
        /// b, negative.
        strength_exponent: FatigueValue,
        /// `ε_f′`, dimensionless.
        fatigue_ductility: FatigueValue,
        /// c, negative.
        ductility_exponent: FatigueValue,
    },
    /// Strain range `N^−0.6 D^0.75 + 0.9 (S/E) (e^D/0.36)^(0.1785 log10(1e5/N))` for N cycles of a foil.
    FoilDuctility {
        /// D, the fatigue ductility, dimensionless.
        ductility: FatigueValue,
        /// S, the ultimate strength, MPa.
        ultimate_mpa: FatigueValue,
    },
    /// Only the exponents of cycles over strain are known; a measured life scales along them.
    Exponents {
        /// Exponent of the strain over the cycles to the first crack, negative.
        first_crack_exponent: FatigueValue,
        /// Exponent of the strain over the cycles to failure, negative.
        failure_exponent: FatigueValue,
    },
}

impl FatigueLaw {
    /// The name as people read it.
    pub fn label(&self) -> &'static str {
        match self {
            Self::StrainLife { .. } => "strain-life",
            Self::FoilDuctility { .. } => "foil ductility",
            Self::Exponents { .. } => "exponents only",
        }
    }

    /// Key in a file of the law itself.
    pub(super) fn key(&self) -> &'static str {
        match self {
            Self::StrainLife { .. } => "strain-life",
            Self::FoilDuctility { .. } => "foil-ductility",
            Self::Exponents { .. } => "exponents",
        }
    }

    /// All parameters with their keys in a file.
    pub fn parameters(&self) -> Vec<(&'static str, &FatigueValue)> {
        match self {
            Self::StrainLife {
                fatigue_strength_mpa,
                strength_exponent,
                fatigue_ductility,
                ductility_exponent,
            } => vec![
                ("fatigue_strength_mpa", fatigue_strength_mpa),
                ("strength_exponent", strength_exponent),
                ("fatigue_ductility", fatigue_ductility),
                ("ductility_exponent", ductility_exponent),
            ],
            Self::FoilDuctility { ductility, ultimate_mpa } => {
                vec![("ductility", ductility), ("ultimate_mpa", ultimate_mpa)]
            }
            Self::Exponents { first_crack_exponent, failure_exponent } => {
                vec![("first_crack_exponent", first_crack_exponent), ("failure_exponent", failure_exponent)]
            }
        }
    }
}

impl FatigueSet {
    /// The typical parameters as a layer holds them, where the law is strain-life.
    pub fn strain_life(&self) -> Option<StrainLifeData> {
        match &self.law {
            FatigueLaw::StrainLife {
                fatigue_strength_mpa,
                strength_exponent,
                fatigue_ductility,
                ductility_exponent,
            } => Some(StrainLifeData {
                fatigue_strength_mpa: fatigue_strength_mpa.typical,
                strength_exponent: strength_exponent.typical,
                fatigue_ductility: fatigue_ductility.typical,
                ductility_exponent: ductility_exponent.typical,
            }),
            _ => None,
        }
    }

    /// The typical parameters as a layer holds them, where the law is foil ductility.
    pub fn foil(&self) -> Option<FoilData> {
        match &self.law {
            FatigueLaw::FoilDuctility { ductility, ultimate_mpa } => {
                Some(FoilData { ductility: ductility.typical, ultimate_mpa: ultimate_mpa.typical })
            }
            _ => None,
        }
    }
}

/// A law of life of one form of a material.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FatigueSet {
    /// Short name: lower-case letters, digits and hyphens.
    pub id: String,
    /// The form of the material that it was found for.
    pub name: String,
    /// Where it comes from; may be empty for a set of the user's own.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// The law and its parameters.
    pub law: FatigueLaw,
}
