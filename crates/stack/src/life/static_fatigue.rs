//! Glass under long load.

use super::error::in_numbers;
use super::{HoldLife, LifeError, LifeField, Waveform};

/// The exponent of the energy-like law has to be above this.
const LEAST_EXPONENT: f64 = 2.0;
/// Above this slow growth is no longer a useful description.
const MOST_EXPONENT: f64 = 1000.0;

/// Slow crack growth in glass: cracks grow below the strength, the faster the higher the stress.
///
/// With a crack velocity proportional to `K^n`:
///
/// ```text
/// t = B σ_inert^{n−2} σ^{−n}              constant stress
/// ∫σ^n dt = B σ_inert^{n−2}               any course; g = mean((σ/σ_max)^n), life = t(σ_max)/g, compression counts 0
/// σ/σ_inert = (B/(σ_inert² t))^{1/n}      stress for a wanted time
/// ```
///
/// After a fast proof test the survivors' inert strength is at least the proof stress: give that for it, and all lives are
/// least ones. n is about 20 for silica in humid air (18 to 40), 10 to 25 for softer glasses (from memory).
///
/// **B is uncertain by orders of magnitude**: quote stress ratios, such as [`fibre_practice_ratio`], rather than years.
///
/// # Source
/// The power law of slow crack growth, as in Matthewson 1993, SPIE CR50 (from memory); the rest follows by integration.
///
/// # Limits
/// Constant humidity and temperature, flaws well above atomic size: pristine surfaces deviate from the power law.
///
/// ```
/// use ogee_stack::{StaticFatigue, Waveform};
///
/// let silica = StaticFatigue::new(20.0, 1500.0)?.with_factor(0.01)?;
/// let hold_s = silica.hold_life(400.0)?.seconds().unwrap_or_default();
/// assert!((hold_s - 1344.135).abs() < 0.001);
/// // A cycle is kinder than its peak held.
/// let g = silica.cycle_factor(Waveform::Sinusoid, 0.0, 450.0)?;
/// assert!((g - 0.12537).abs() < 1e-5);
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StaticFatigue {
    exponent: f64,
    inert_strength_mpa: f64,
    factor_mpa2_s: Option<f64>,
}

impl StaticFatigue {
    /// A glass without its factor B: cycle factors only.
    ///
    /// * `exponent`: n, dimensionless, above 2, at most 1000.
    /// * `inert_strength_mpa`: strength without time to grow, or the proof stress, `MPa`, above 0.
    ///
    /// # Errors
    /// A value that is not finite or outside its range.
    pub fn new(exponent: f64, inert_strength_mpa: f64) -> Result<Self, LifeError> {
        LifeField::CrackExponent.above(exponent, LEAST_EXPONENT)?;
        LifeField::CrackExponent.at_most(exponent, MOST_EXPONENT)?;
        LifeField::InertStrength.above(inert_strength_mpa, 0.0)?;
        Ok(Self { exponent, inert_strength_mpa, factor_mpa2_s: None })
    }

    /// The same glass with its factor B.
    ///
    /// * `factor_mpa2_s`: B, `MPa`² s, above 0.
    ///
    /// # Errors
    /// A factor that is not finite or not above 0.
    pub fn with_factor(self, factor_mpa2_s: f64) -> Result<Self, LifeError> {
        LifeField::CrackFactor.above(factor_mpa2_s, 0.0)?;
        Ok(Self { factor_mpa2_s: Some(factor_mpa2_s), ..self })
    }

    /// The exponent n, dimensionless.
    pub fn exponent(&self) -> f64 {
        self.exponent
    }

    /// The inert strength or proof stress, `MPa`.
    pub fn inert_strength_mpa(&self) -> f64 {
        self.inert_strength_mpa
    }

    /// Time to fracture at constant stress; a stress up to 0 gives [`HoldLife::Unlimited`].
    ///
    /// # Errors
    /// A stress that is not finite, or [`LifeError::NoCrackFactor`].
    pub fn hold_life(&self, stress_mpa: f64) -> Result<HoldLife, LifeError> {
        self.life(stress_mpa, 1.0)
    }

    /// Mean of `(σ/σ_max)^n` over one cycle; compression counts 0. A cycle lasts 1/g times as long as its peak held.
    ///
    /// * `least_mpa`, `greatest_mpa`: the ends of the cycle, tension positive, `MPa`.
    ///
    /// # Errors
    /// A stress that is not finite, or a greatest one below the least.
    pub fn cycle_factor(
        &self,
        waveform: Waveform,
        least_mpa: f64,
        greatest_mpa: f64,
    ) -> Result<f64, LifeError> {
        waveform.mean_power(least_mpa, greatest_mpa, self.exponent)
    }

    /// Time to fracture in a cycle; divide it by the period with [`HoldLife::cycles`].
    ///
    /// # Errors
    /// As [`Self::cycle_factor`], or [`LifeError::NoCrackFactor`].
    pub fn cyclic_life(
        &self,
        waveform: Waveform,
        least_mpa: f64,
        greatest_mpa: f64,
    ) -> Result<HoldLife, LifeError> {
        self.life(greatest_mpa, self.cycle_factor(waveform, least_mpa, greatest_mpa)?)
    }

    /// The constant stress that is borne for the given time, over the inert strength; at most 1.
    ///
    /// * `hold_s`: above 0, s.
    ///
    /// # Errors
    /// A time that is not finite or not above 0, or [`LifeError::NoCrackFactor`].
    pub fn stress_ratio(&self, hold_s: f64) -> Result<f64, LifeError> {
        LifeField::HoldTime.above(hold_s, 0.0)?;
        let factor = self.factor_mpa2_s.ok_or(LifeError::NoCrackFactor)?;
        let ln_ratio = factor.ln() - 2.0 * self.inert_strength_mpa.ln() - hold_s.ln();
        in_numbers("the stress ratio", (ln_ratio / self.exponent).exp().min(1.0))
    }

    fn life(&self, greatest_mpa: f64, cycle_factor: f64) -> Result<HoldLife, LifeError> {
        LifeField::Stress.finite(greatest_mpa)?;
        let factor = self.factor_mpa2_s.ok_or(LifeError::NoCrackFactor)?;
        if greatest_mpa <= 0.0 {
            return Ok(HoldLife::Unlimited);
        }
        if greatest_mpa >= self.inert_strength_mpa {
            return Ok(HoldLife::AtOnce);
        }
        if cycle_factor <= 0.0 {
            // So short a peak in so much compression that the mean is below the least number.
            return Ok(HoldLife::MoreThan(HoldLife::MOST_S));
        }
        let ln_life = factor.ln() + (self.exponent - 2.0) * self.inert_strength_mpa.ln()
            - self.exponent * greatest_mpa.ln()
            - cycle_factor.ln();
        Ok(HoldLife::from_ln(ln_life))
    }
}

/// Times and fractions of the proof stress that fibre makers allow.
const PRACTICE: [(f64, f64); 3] =
    [(1.0, 1.0 / 2.0), (4.0 * 3600.0, 1.0 / 3.0), (25.0 * 31_557_600.0, 1.0 / 5.0)];

/// Stress over proof stress that fibre practice allows for the given time: a rule of thumb.
///
/// One half for a second, one third for four hours, one fifth for 25 years. Between them the logarithm of the ratio is linear
/// in the logarithm of time, as the power law has it (n is 24 and 21 there): that is part of the rule of thumb. Below a
/// second one half holds, above 25 years one fifth.
///
/// * `hold_s`: time under load over the whole life, above 0, s.
///
/// # Source
/// Glaesemann and Gulati 1991, Opt. Eng. 30, 709 (fractions and times from memory).
///
/// # Limits
/// Proof-tested silica fibre in air. Etched edges have no proof test unless one is made.
///
/// # Errors
/// A time that is not finite or not above 0.
///
/// ```
/// let ten_minutes = ogee_stack::fibre_practice_ratio(600.0)?;
/// assert!(ten_minutes > 1.0 / 3.0 && ten_minutes < 0.5);
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
pub fn fibre_practice_ratio(hold_s: f64) -> Result<f64, LifeError> {
    LifeField::HoldTime.above(hold_s, 0.0)?;
    for ends in PRACTICE.windows(2) {
        let ((from_s, from), (to_s, to)) = (ends[0], ends[1]);
        if hold_s <= to_s {
            let share = ((hold_s / from_s).ln() / (to_s / from_s).ln()).max(0.0);
            return Ok(from * (to / from).powf(share));
        }
    }
    Ok(PRACTICE[PRACTICE.len() - 1].1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Cycles;

    fn silica() -> StaticFatigue {
        StaticFatigue::new(20.0, 1500.0).and_then(|glass| glass.with_factor(0.01)).expect("sound")
    }

    #[test]
    fn ends_of_the_range_are_told() {
        let silica = silica();
        assert_eq!(silica.hold_life(0.0), Ok(HoldLife::Unlimited));
        assert_eq!(silica.hold_life(-100.0), Ok(HoldLife::Unlimited));
        assert_eq!(silica.hold_life(1e-300), Ok(HoldLife::MoreThan(1e12)));
        assert_eq!(silica.hold_life(1500.0), Ok(HoldLife::AtOnce));
        assert_eq!(silica.cyclic_life(Waveform::Triangle, -9.0, -1.0), Ok(HoldLife::Unlimited));
        let beyond = silica.hold_life(100.0).and_then(|life| life.cycles(1e3)).expect("sound");
        assert_eq!(beyond, Cycles::MoreThan(1e9));
        let bare = StaticFatigue::new(20.0, 1500.0).expect("sound");
        assert_eq!(bare.hold_life(400.0), Err(LifeError::NoCrackFactor));
        assert!(silica.hold_life(f64::NAN).is_err());
        let message = StaticFatigue::new(2.0, 1500.0).expect_err("n of 2").to_string();
        assert_eq!(message, "crack growth exponent n is 2; it must be above 2");
    }

    #[test]
    fn ratio_inverts_life() {
        let silica = silica();
        let ratio = silica.stress_ratio(3600.0).expect("sound");
        let back = silica.hold_life(1500.0 * ratio).expect("sound").seconds().expect("a number");
        assert!((back / 3600.0 - 1.0).abs() < 1e-11);
        assert_eq!(silica.stress_ratio(1e-12), Ok(1.0));
    }

    #[test]
    fn practice_meets_its_fractions() {
        for (seconds, ratio) in PRACTICE {
            assert!((fibre_practice_ratio(seconds).expect("sound") - ratio).abs() < 1e-15);
        }
        assert_eq!(fibre_practice_ratio(1e-3), Ok(0.5));
        assert_eq!(fibre_practice_ratio(1e12), Ok(0.2));
        assert!(fibre_practice_ratio(0.0).is_err());
    }
}
