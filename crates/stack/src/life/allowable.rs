//! Allowable strains and the rules they come from.

use std::fmt;

use super::error::in_numbers;
use super::{LifeError, LifeField};

/// The rule that set an allowable strain.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum AllowableRule {
    /// Given by the user.
    Given,
    /// Brittle: Weibull strength and static fatigue, the smaller.
    WeibullAndStaticFatigue,
    /// Ductile metal under cycles.
    StrainLife,
    /// Metal foil under cycles.
    FoilDuctility,
    /// Ductile metal that has to stay elastic.
    YieldOnly,
    /// Glassy polymer under cycles: half its yield strain.
    HalfYield,
    /// Elastomer: a third of its failure strain.
    ThirdOfFailure,
}

impl fmt::Display for AllowableRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Given => "given",
            Self::WeibullAndStaticFatigue => "Weibull strength and static fatigue, the smaller",
            Self::StrainLife => "strain-life law of the metal",
            Self::FoilDuctility => "foil ductility law of the metal",
            Self::YieldOnly => "yield strain",
            Self::HalfYield => "half the yield strain, for cycles (rule of thumb)",
            Self::ThirdOfFailure => "a third of the failure strain (rule of thumb)",
        })
    }
}

/// Which of the two bounds of a brittle layer is the smaller.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BrittleBound {
    /// The strength at the wanted probability of failure.
    Weibull,
    /// The share of the proof or inert strength that is borne for the wanted time.
    StaticFatigue,
}

impl fmt::Display for BrittleBound {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Weibull => "Weibull strength",
            Self::StaticFatigue => "static fatigue",
        })
    }
}

/// An allowable tensile strain with its rule.
///
/// ```
/// use ogee_stack::{Allowable, AllowableRule};
///
/// let polyimide = Allowable::half_yield(0.03)?;
/// assert_eq!((polyimide.strain, polyimide.rule), (0.015, AllowableRule::HalfYield));
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowable {
    /// The strain, dimensionless.
    pub strain: f64,
    /// Where it comes from.
    pub rule: AllowableRule,
}

impl Allowable {
    /// A strain that the user gives, dimensionless, above 0.
    ///
    /// # Errors
    /// A strain that is not finite or not above 0.
    pub fn given(strain: f64) -> Result<Self, LifeError> {
        Ok(Self { strain: LifeField::AllowableStrain.above(strain, 0.0)?, rule: AllowableRule::Given })
    }

    /// A brittle layer: the smaller of both bounds, over Young's modulus.
    ///
    /// * `weibull_mpa`: stress at the wanted probability of failure, from [`Weibull::allowable_mpa`](crate::Weibull::allowable_mpa).
    /// * `strength_mpa`: proof stress. Without a proof test give `weibull_mpa` again: then the strength at the wanted probability is
    ///   what cracks grow from, and static fatigue decides.
    /// * `stress_ratio`: share of it borne for the wanted time, 0 to 1, from
    ///   [`StaticFatigue::stress_ratio`](crate::StaticFatigue::stress_ratio) or [`fibre_practice_ratio`](crate::fibre_practice_ratio).
    /// * `modulus_mpa`: Young's modulus, `MPa`.
    ///
    /// # Errors
    /// A value that is not finite or outside its range.
    pub fn brittle(
        weibull_mpa: f64,
        strength_mpa: f64,
        stress_ratio: f64,
        modulus_mpa: f64,
    ) -> Result<(Self, BrittleBound), LifeError> {
        LifeField::Stress.above(weibull_mpa, 0.0)?;
        LifeField::InertStrength.above(strength_mpa, 0.0)?;
        LifeField::StressRatio.above(stress_ratio, 0.0)?;
        LifeField::StressRatio.at_most(stress_ratio, 1.0)?;
        LifeField::Modulus.above(modulus_mpa, 0.0)?;
        let fatigue_mpa = stress_ratio * strength_mpa;
        let (stress_mpa, bound) = if fatigue_mpa < weibull_mpa {
            (fatigue_mpa, BrittleBound::StaticFatigue)
        } else {
            (weibull_mpa, BrittleBound::Weibull)
        };
        let strain = in_numbers("the allowable strain", stress_mpa / modulus_mpa)?;
        Ok((Self { strain, rule: AllowableRule::WeibullAndStaticFatigue }, bound))
    }

    /// A ductile metal cycled between rest and its peak: twice the amplitude, that is, the range.
    ///
    /// * `amplitude`: strain amplitude for the wanted number of cycles, from
    ///   [`StrainLife::amplitude`](crate::StrainLife::amplitude), dimensionless.
    ///
    /// # Errors
    /// An amplitude that is not finite or not above 0.
    pub fn strain_life(amplitude: f64) -> Result<Self, LifeError> {
        LifeField::StrainAmplitude.above(amplitude, 0.0)?;
        let strain = in_numbers("the allowable strain", 2.0 * amplitude)?;
        Ok(Self { strain, rule: AllowableRule::StrainLife })
    }

    /// A metal foil cycled between rest and its peak: the range.
    ///
    /// * `strain_range`: for the wanted number of cycles, from
    ///   [`FoilDuctility::strain_range`](crate::FoilDuctility::strain_range), dimensionless.
    ///
    /// # Errors
    /// A range that is not finite or not above 0.
    pub fn foil_ductility(strain_range: f64) -> Result<Self, LifeError> {
        Ok(Self {
            strain: LifeField::StrainRange.above(strain_range, 0.0)?,
            rule: AllowableRule::FoilDuctility,
        })
    }

    /// A ductile metal that has to stay elastic.
    ///
    /// * `yield_strain`: dimensionless, above 0.
    ///
    /// # Errors
    /// A strain that is not finite or not above 0.
    pub fn yield_only(yield_strain: f64) -> Result<Self, LifeError> {
        Ok(Self { strain: LifeField::YieldStrain.above(yield_strain, 0.0)?, rule: AllowableRule::YieldOnly })
    }

    /// A glassy polymer under cycles: half its yield strain, a rule of thumb.
    ///
    /// * `yield_strain`: dimensionless, above 0.
    ///
    /// # Errors
    /// A strain that is not finite or not above 0.
    pub fn half_yield(yield_strain: f64) -> Result<Self, LifeError> {
        Ok(Self {
            strain: 0.5 * LifeField::YieldStrain.above(yield_strain, 0.0)?,
            rule: AllowableRule::HalfYield,
        })
    }

    /// An elastomer: a third of its failure strain, a rule of thumb.
    ///
    /// * `failure_strain`: dimensionless, above 0.
    ///
    /// # Errors
    /// A strain that is not finite or not above 0.
    pub fn third_of_failure(failure_strain: f64) -> Result<Self, LifeError> {
        Ok(Self {
            strain: LifeField::FailureStrain.above(failure_strain, 0.0)? / 3.0,
            rule: AllowableRule::ThirdOfFailure,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smaller_bound_decides_and_is_named() {
        let (proof, bound) = Allowable::brittle(200.0, 600.0, 0.2, 72_000.0).expect("sound");
        assert_eq!((proof.strain, bound), (120.0 / 72_000.0, BrittleBound::StaticFatigue));
        let (weak, bound) = Allowable::brittle(100.0, 600.0, 0.2, 72_000.0).expect("sound");
        assert_eq!((weak.strain, bound), (100.0 / 72_000.0, BrittleBound::Weibull));
        assert_eq!(weak.rule.to_string(), "Weibull strength and static fatigue, the smaller");
        assert!(Allowable::brittle(100.0, 600.0, 1.2, 72_000.0).is_err());
        assert!(Allowable::brittle(1e300, 1e300, 1.0, 1e-300).is_err());
    }

    #[test]
    fn rules_by_class() {
        let thirds = Allowable::third_of_failure(1.2).expect("sound");
        assert!((thirds.strain - 0.4).abs() < 1e-15);
        assert_eq!(Allowable::strain_life(0.002).expect("sound").strain, 0.004);
        assert_eq!(Allowable::foil_ductility(0.004).expect("sound").strain, 0.004);
        assert_eq!(Allowable::yield_only(0.001).expect("sound").strain, 0.001);
        let message = Allowable::given(0.0).expect_err("no strain").to_string();
        assert_eq!(message, "allowable strain is 0; it must be above 0");
        assert!(Allowable::half_yield(f64::NAN).is_err());
    }
}
