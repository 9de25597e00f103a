//! What a layer withstands beyond its allowable strain: scatter of brittle materials, cycles of metals.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Strength of a brittle layer: how it scatters, and how it falls with time under stress.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Brittle {
    /// Weibull modulus, dimensionless: the higher, the less the strength scatters.
    pub weibull_modulus: f64,
    /// Stress at which 63 % of pieces of the reference length have broken, MPa.
    pub strength_mpa: f64,
    /// Length of etched edge on which that strength was measured, µm.
    pub reference_length_um: f64,
    /// Exponent of slow crack growth, dimensionless; slow growth is not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub static_fatigue_n: Option<f64>,
    /// Stress that every piece has survived in a proof test, MPa; needed with `static_fatigue_n`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof_stress_mpa: Option<f64>,
}

impl Default for Brittle {
    /// Etched edges of a silicate glass (typical range, from memory).
    fn default() -> Self {
        Self {
            weibull_modulus: 10.0,
            strength_mpa: 500.0,
            reference_length_um: 10_000.0,
            static_fatigue_n: None,
            proof_stress_mpa: None,
        }
    }
}

/// Strain-life of a metal: `(σ_f′ − σ_mean)/E (2N)^b + ε_f′ (2N)^c` is half the range of strain.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StrainLifeData {
    /// `σ_f′`: fatigue strength coefficient, MPa.
    pub fatigue_strength_mpa: f64,
    /// b: fatigue strength exponent, dimensionless and negative.
    pub strength_exponent: f64,
    /// `ε_f′`: fatigue ductility coefficient, dimensionless.
    pub fatigue_ductility: f64,
    /// c: fatigue ductility exponent, dimensionless and negative.
    pub ductility_exponent: f64,
}

impl Default for StrainLifeData {
    /// Annealed copper (typical range, from memory).
    fn default() -> Self {
        Self {
            fatigue_strength_mpa: 400.0,
            strength_exponent: -0.09,
            fatigue_ductility: 0.3,
            ductility_exponent: -0.56,
        }
    }
}

/// Foil ductility: the life of a metal foil from its tensile test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FoilData {
    /// `D_f`: fatigue ductility, dimensionless.
    pub ductility: f64,
    /// `S_u`: ultimate tensile strength, MPa.
    pub ultimate_mpa: f64,
}

impl Default for FoilData {
    /// Plated copper foil of high ductility (typical range, from memory).
    fn default() -> Self {
        Self { ductility: 0.2, ultimate_mpa: 250.0 }
    }
}
