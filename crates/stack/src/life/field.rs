//! Names of the fields that strength and life check.

use std::fmt;

/// A field of the strength and life models, as errors name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum LifeField {
    /// Weibull modulus m.
    WeibullModulus,
    /// Characteristic strength.
    CharacteristicStrength,
    /// Length at which the characteristic strength was measured.
    ReferenceLength,
    /// Length of a piece of edge.
    Length,
    /// Effective length of all edges.
    EffectiveLength,
    /// A stress.
    Stress,
    /// Probability of failure.
    Probability,
    /// How many alike there are.
    Count,
    /// Exponent n of slow crack growth.
    CrackExponent,
    /// Inert strength, or the proof stress that stands for it.
    InertStrength,
    /// Factor B of slow crack growth.
    CrackFactor,
    /// Time under load.
    HoldTime,
    /// Period of a cycle.
    CyclePeriod,
    /// Fatigue strength coefficient.
    FatigueStrength,
    /// Fatigue strength exponent b.
    StrengthExponent,
    /// Fatigue ductility coefficient, or the fracture ductility of a foil.
    FatigueDuctility,
    /// Fatigue ductility exponent c.
    DuctilityExponent,
    /// Ultimate tensile strength.
    UltimateStrength,
    /// Young's modulus.
    Modulus,
    /// Strain amplitude, half the range.
    StrainAmplitude,
    /// Strain range, twice the amplitude.
    StrainRange,
    /// A strain.
    Strain,
    /// Mean stress of a cycle.
    MeanStress,
    /// Cycles done.
    CyclesDone,
    /// Cycles to failure.
    CyclesToFail,
    /// Miner's sum.
    Damage,
    /// Miner's sum at which a part counts as failed.
    DamageLimit,
    /// Strain at yield.
    YieldStrain,
    /// Strain at failure.
    FailureStrain,
    /// Allowable strain given by the user.
    AllowableStrain,
    /// Allowable stress over inert strength or proof stress.
    StressRatio,
}

impl LifeField {
    /// The unit of its values; empty where it has none.
    pub fn unit(self) -> &'static str {
        match self {
            Self::CharacteristicStrength
            | Self::Stress
            | Self::InertStrength
            | Self::FatigueStrength
            | Self::UltimateStrength
            | Self::Modulus
            | Self::MeanStress => "MPa",
            Self::ReferenceLength | Self::Length | Self::EffectiveLength => "µm",
            Self::HoldTime | Self::CyclePeriod => "s",
            Self::CrackFactor => "MPa² s",
            _ => "",
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::WeibullModulus => "Weibull modulus",
            Self::CharacteristicStrength => "characteristic strength",
            Self::ReferenceLength => "reference length",
            Self::Length => "length of a piece of edge",
            Self::EffectiveLength => "effective length",
            Self::Stress => "stress",
            Self::Probability => "probability of failure",
            Self::Count => "count",
            Self::CrackExponent => "crack growth exponent n",
            Self::InertStrength => "inert strength or proof stress",
            Self::CrackFactor => "crack growth factor B",
            Self::HoldTime => "time under load",
            Self::CyclePeriod => "period of the cycle",
            Self::FatigueStrength => "fatigue strength coefficient",
            Self::StrengthExponent => "fatigue strength exponent b",
            Self::FatigueDuctility => "fatigue ductility",
            Self::DuctilityExponent => "fatigue ductility exponent c",
            Self::UltimateStrength => "ultimate tensile strength",
            Self::Modulus => "Young's modulus",
            Self::StrainAmplitude => "strain amplitude",
            Self::StrainRange => "strain range",
            Self::Strain => "strain",
            Self::MeanStress => "mean stress",
            Self::CyclesDone => "number of cycles done",
            Self::CyclesToFail => "number of cycles to failure",
            Self::Damage => "damage sum",
            Self::DamageLimit => "limit of the damage sum",
            Self::YieldStrain => "strain at yield",
            Self::FailureStrain => "strain at failure",
            Self::AllowableStrain => "allowable strain",
            Self::StressRatio => "allowable stress ratio",
        }
    }

    /// A value with its unit.
    pub(super) fn text(self, value: f64) -> String {
        match self.unit() {
            "" => format!("{value}"),
            unit => format!("{value} {unit}"),
        }
    }

    /// The value itself, where it is a number.
    pub(super) fn finite(self, value: f64) -> Result<f64, super::LifeError> {
        if value.is_finite() { Ok(value) } else { Err(super::LifeError::NotFinite { field: self, value }) }
    }

    /// The value itself, where it is above the limit.
    pub(super) fn above(self, value: f64, limit: f64) -> Result<f64, super::LifeError> {
        self.finite(value)?;
        if value > limit { Ok(value) } else { Err(super::LifeError::NotAbove { field: self, value, limit }) }
    }

    /// The value itself, where it is below the limit.
    pub(super) fn below(self, value: f64, limit: f64) -> Result<f64, super::LifeError> {
        self.finite(value)?;
        if value < limit { Ok(value) } else { Err(super::LifeError::NotBelow { field: self, value, limit }) }
    }

    /// The value itself, where it is at least the limit.
    pub(super) fn at_least(self, value: f64, limit: f64) -> Result<f64, super::LifeError> {
        self.finite(value)?;
        if value >= limit { Ok(value) } else { Err(super::LifeError::TooLow { field: self, value, limit }) }
    }

    /// The value itself, where it is at most the limit.
    pub(super) fn at_most(self, value: f64, limit: f64) -> Result<f64, super::LifeError> {
        self.finite(value)?;
        if value <= limit { Ok(value) } else { Err(super::LifeError::TooHigh { field: self, value, limit }) }
    }
}

impl fmt::Display for LifeField {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
