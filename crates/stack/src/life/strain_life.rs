//! Metals under cyclic strain.

use super::error::in_numbers;
use super::two_powers::TwoPowers;
use super::{Cycles, LifeError, LifeField};

/// Strain-life law of a ductile metal: an elastic and a plastic power of the number of reversals.
///
/// ```text
/// ε_a = (σ_f′ − σ_mean)/E · (2N)^b + ε_f′ (2N)^c
/// ```
///
/// N counts **cycles**, 2N reversals; `ε_a` is the **amplitude**, half the range. The elastic part rules long lives, the
/// plastic part short ones; they are equal at [`Self::transition`].
///
/// # Source
/// Basquin 1910 and Coffin and Manson 1954, with Morrow's mean stress 1968 (from memory; any book on metal fatigue).
///
/// # Limits
/// Smooth pieces of bulk metal, constant amplitude, room temperature. A factor of 3 in N is a good fit and 10 is normal
/// (see [`LifeBand`](crate::LifeBand)). Thin films yield later but break earlier and scatter more; a film that comes off its
/// base breaks early. Mean stress relaxes where there is much plastic strain, and counts too much there.
///
/// ```
/// use ogee_stack::StrainLife;
///
/// let copper = StrainLife::new(400.0, -0.09, 0.3, -0.56)?;
/// let cycles = copper.cycles(0.004, 0.0, 117_000.0)?.count().unwrap_or_default();
/// assert!((cycles - 2727.375).abs() < 0.001);
/// assert!((copper.amplitude(cycles, 0.0, 117_000.0)? - 0.004).abs() < 1e-15);
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrainLife {
    fatigue_strength_mpa: f64,
    strength_exponent: f64,
    fatigue_ductility: f64,
    ductility_exponent: f64,
}

impl StrainLife {
    /// A strain-life law.
    ///
    /// * `fatigue_strength_mpa`: `σ_f′`, `MPa`, above 0.
    /// * `b`: its exponent, below 0; −0.12 to −0.05.
    /// * `fatigue_ductility`: `ε_f′`, dimensionless, above 0.
    /// * `c`: its exponent, below b; −0.7 to −0.5.
    ///
    /// # Errors
    /// A value that is not finite or outside its range.
    pub fn new(fatigue_strength_mpa: f64, b: f64, fatigue_ductility: f64, c: f64) -> Result<Self, LifeError> {
        Ok(Self {
            fatigue_strength_mpa: LifeField::FatigueStrength.above(fatigue_strength_mpa, 0.0)?,
            strength_exponent: LifeField::StrengthExponent.below(b, 0.0)?,
            fatigue_ductility: LifeField::FatigueDuctility.above(fatigue_ductility, 0.0)?,
            ductility_exponent: LifeField::DuctilityExponent.below(c, b)?,
        })
    }

    /// Cycles to failure.
    ///
    /// * `amplitude`: strain amplitude, half the range, dimensionless, 0 or more; 0 gives [`Cycles::Unlimited`].
    /// * `mean_stress_mpa`: tension positive, `MPa`. From `σ_f′` on the first loading breaks the metal.
    /// * `modulus_mpa`: Young's modulus E, `MPa`.
    ///
    /// # Errors
    /// A value that is not finite or outside its range; [`LifeError::NotConverged`] is not to be expected.
    pub fn cycles(
        &self,
        amplitude: f64,
        mean_stress_mpa: f64,
        modulus_mpa: f64,
    ) -> Result<Cycles, LifeError> {
        LifeField::StrainAmplitude.at_least(amplitude, 0.0)?;
        let law = self.law(mean_stress_mpa, modulus_mpa)?;
        match law {
            _ if amplitude == 0.0 && mean_stress_mpa < self.fatigue_strength_mpa => Ok(Cycles::Unlimited),
            None => Ok(Cycles::FewerThan(Cycles::LEAST)),
            Some(law) => Ok(Cycles::from_ln(law.ln_count(amplitude.ln())? - std::f64::consts::LN_2)),
        }
    }

    /// The strain amplitude that leads to failure after `cycles`: the law itself, dimensionless.
    ///
    /// * `cycles`: N, above 0.
    /// * `mean_stress_mpa`: below `σ_f′`, `MPa`.
    /// * `modulus_mpa`: Young's modulus E, `MPa`.
    ///
    /// # Errors
    /// A value that is not finite or outside its range, or a result that leaves the range of numbers.
    pub fn amplitude(&self, cycles: f64, mean_stress_mpa: f64, modulus_mpa: f64) -> Result<f64, LifeError> {
        LifeField::CyclesToFail.above(cycles, 0.0)?;
        LifeField::MeanStress.below(mean_stress_mpa, self.fatigue_strength_mpa)?;
        let Some(law) = self.law(mean_stress_mpa, modulus_mpa)? else {
            return Ok(0.0);
        };
        in_numbers("the strain amplitude", law.at(cycles.ln() + std::f64::consts::LN_2).0.exp())
    }

    /// Cycles at which elastic and plastic amplitude are equal, without mean stress.
    ///
    /// # Errors
    /// A modulus that is not finite or not above 0.
    pub fn transition(&self, modulus_mpa: f64) -> Result<Cycles, LifeError> {
        LifeField::Modulus.above(modulus_mpa, 0.0)?;
        let ln_ratio = self.fatigue_ductility.ln() + modulus_mpa.ln() - self.fatigue_strength_mpa.ln();
        let ln_reversals = ln_ratio / (self.strength_exponent - self.ductility_exponent);
        Ok(Cycles::from_ln(ln_reversals - std::f64::consts::LN_2))
    }

    /// Both powers of the reversals 2N; `None` where the mean stress leaves nothing of the strength.
    fn law(&self, mean_stress_mpa: f64, modulus_mpa: f64) -> Result<Option<TwoPowers>, LifeError> {
        LifeField::MeanStress.finite(mean_stress_mpa)?;
        LifeField::Modulus.above(modulus_mpa, 0.0)?;
        let strength_mpa = in_numbers("the strength left", self.fatigue_strength_mpa - mean_stress_mpa)?;
        Ok((strength_mpa > 0.0).then(|| TwoPowers {
            ln_first: strength_mpa.ln() - modulus_mpa.ln(),
            first_exponent: self.strength_exponent,
            ln_second: self.fatigue_ductility.ln(),
            second_exponent: self.ductility_exponent,
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn copper() -> StrainLife {
        StrainLife::new(400.0, -0.09, 0.3, -0.56).expect("sound")
    }

    #[test]
    fn ends_of_the_range_are_told() {
        let copper = copper();
        assert_eq!(copper.cycles(0.0, 0.0, 117_000.0), Ok(Cycles::Unlimited));
        assert_eq!(copper.cycles(1e-300, 0.0, 117_000.0), Ok(Cycles::MoreThan(1e12)));
        assert_eq!(copper.cycles(5.0, 0.0, 117_000.0), Ok(Cycles::FewerThan(0.25)));
        assert_eq!(copper.cycles(1e300, 0.0, 117_000.0), Ok(Cycles::FewerThan(0.25)));
        assert_eq!(copper.cycles(0.001, 400.0, 117_000.0), Ok(Cycles::FewerThan(0.25)));
        assert_eq!(copper.cycles(0.0, 500.0, 117_000.0), Ok(Cycles::FewerThan(0.25)));
    }

    #[test]
    fn wrong_values_are_named() {
        let message = StrainLife::new(400.0, 0.09, 0.3, -0.56).expect_err("a rising power").to_string();
        assert_eq!(message, "fatigue strength exponent b is 0.09; it must be below 0");
        let message = StrainLife::new(400.0, -0.09, 0.3, -0.05).expect_err("c above b").to_string();
        assert_eq!(message, "fatigue ductility exponent c is -0.05; it must be below -0.09");
        let message = copper().cycles(0.004, 0.0, 0.0).expect_err("no modulus").to_string();
        assert_eq!(message, "Young's modulus is 0 MPa; it must be above 0 MPa");
        assert!(copper().cycles(f64::NAN, 0.0, 1.0).is_err() && copper().cycles(-1e-3, 0.0, 1.0).is_err());
    }

    #[test]
    fn parts_are_equal_at_the_transition() {
        let reversals = 2.0 * copper().transition(117_000.0).expect("sound").count().expect("a number");
        let elastic = 400.0 / 117_000.0 * reversals.powf(-0.09);
        assert!((0.3 * reversals.powf(-0.56) / elastic - 1.0).abs() < 1e-12);
    }
}
