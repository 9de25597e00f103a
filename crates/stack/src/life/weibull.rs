//! Strength of brittle edges.

use super::error::in_numbers;
use super::gamma::ln_gamma;
use super::{LifeError, LifeField};

/// Below this modulus the rare failures lie far outside any strength test.
const EXTRAPOLATED_BELOW: f64 = 10.0;

/// Weibull strength of a brittle edge: flaws along a length, the weakest one decides.
///
/// The flaws of an etched ribbon sit on its edges, so that the measure is edge length, tension only:
///
/// ```text
/// P      = 1 − exp[−∫(σ/σ_0)^m dl/l_0]            over all edge with σ > 0
/// L_eff  = ∫(σ/σ_max)^m dl
/// σ_max  = σ_0 (l_0/L_eff)^{1/m} (−ln(1 − P))^{1/m}     allowable
/// mean   = σ_0 (l_0/L_eff)^{1/m} Γ(1 + 1/m)
/// ```
///
/// Go over both edges, all periods and all brittle layers, then over all ribbons of the device with [`failure_of_many`].
/// Strength data mean nothing without the length `l_0` they were measured on. Flaws in a surface or a volume follow the
/// same law with an area or a volume for the length; any unit of stress will do, and strains too, as long as strength and
/// stresses share it.
///
/// # Source
/// Weibull 1951, J. Appl. Mech. 18, 293 (the distribution; from memory). The integrals follow from independent flaws.
///
/// # Limits
/// Independent flaws of one kind, uniaxial tension. Below m = 10 the rare failures (P of 10⁻³ to 10⁻⁶) are an extrapolation
/// far beyond any test: [`Self::is_extrapolated`].
///
/// ```
/// use ogee_stack::Weibull;
///
/// let glass = Weibull::new(10.0, 600.0, 1000.0)?;
/// // 5 mm of edge at 200 MPa and 5 mm in compression
/// let edges = [(200.0, 5000.0), (-200.0, 5000.0)];
/// let failure = glass.failure_probability(edges)?;
/// assert!((failure - 5.0 / 3_f64.powi(10)).abs() < 1e-8);
/// let effective_um = glass.effective_length_um(edges)?;
/// assert_eq!(effective_um, 5000.0);
/// assert!((glass.allowable_mpa(effective_um, failure)? - 200.0).abs() < 1e-9);
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weibull {
    modulus: f64,
    strength_mpa: f64,
    reference_um: f64,
}

/// Greatest tension and the length which at that tension fails as often as the whole.
struct Effective {
    greatest_mpa: f64,
    length_um: f64,
}

impl Weibull {
    /// A strength distribution.
    ///
    /// * `modulus`: m, dimensionless, above 0; 5 to 15 for patterned edges, 50 to 100 for pristine fibre.
    /// * `strength_mpa`: characteristic strength `σ_0`, which 63 % of pieces of the reference length do not reach, `MPa`.
    /// * `reference_um`: that length `l_0`, µm.
    ///
    /// # Errors
    /// A value that is not finite or not above 0.
    pub fn new(modulus: f64, strength_mpa: f64, reference_um: f64) -> Result<Self, LifeError> {
        Ok(Self {
            modulus: LifeField::WeibullModulus.above(modulus, 0.0)?,
            strength_mpa: LifeField::CharacteristicStrength.above(strength_mpa, 0.0)?,
            reference_um: LifeField::ReferenceLength.above(reference_um, 0.0)?,
        })
    }

    /// The modulus m, dimensionless.
    pub fn modulus(&self) -> f64 {
        self.modulus
    }

    /// The characteristic strength `σ_0`, `MPa`.
    pub fn strength_mpa(&self) -> f64 {
        self.strength_mpa
    }

    /// The reference length `l_0`, µm.
    pub fn reference_um(&self) -> f64 {
        self.reference_um
    }

    /// Whether m is below 10, so that rare failures are an extrapolation far beyond any strength test.
    pub fn is_extrapolated(&self) -> bool {
        self.modulus < EXTRAPOLATED_BELOW
    }

    /// The length which at the greatest tension fails as often as all pieces together, µm; 0 without tension.
    ///
    /// * `stresses`: stress in `MPa` and length in µm of every piece of edge.
    ///
    /// # Errors
    /// A stress or length that is not finite, a negative length, or a sum that leaves the range of numbers.
    pub fn effective_length_um(
        &self,
        stresses: impl IntoIterator<Item = (f64, f64)>,
    ) -> Result<f64, LifeError> {
        Ok(self.effective(stresses)?.length_um)
    }

    /// The probability that any of the pieces fails.
    ///
    /// * `stresses`: stress in `MPa` and length in µm of every piece of edge.
    ///
    /// # Errors
    /// As [`Self::effective_length_um`].
    pub fn failure_probability(
        &self,
        stresses: impl IntoIterator<Item = (f64, f64)>,
    ) -> Result<f64, LifeError> {
        let Effective { greatest_mpa, length_um } = self.effective(stresses)?;
        self.failure_probability_at(greatest_mpa, length_um)
    }

    /// The probability that an edge of the given effective length fails.
    ///
    /// * `greatest_mpa`: the greatest stress on it, `MPa`; none fails in compression.
    /// * `effective_length_um`: as found by [`Self::effective_length_um`], times the number of periods, µm.
    ///
    /// # Errors
    /// A value that is not finite, or a negative length.
    pub fn failure_probability_at(
        &self,
        greatest_mpa: f64,
        effective_length_um: f64,
    ) -> Result<f64, LifeError> {
        LifeField::Stress.finite(greatest_mpa)?;
        LifeField::EffectiveLength.at_least(effective_length_um, 0.0)?;
        if greatest_mpa <= 0.0 || effective_length_um == 0.0 {
            return Ok(0.0);
        }
        // By logarithms: the power alone may leave the range of numbers.
        let ln_hazard = self.modulus * (greatest_mpa / self.strength_mpa).ln()
            + (effective_length_um / self.reference_um).ln();
        let failure = -(-ln_hazard.exp()).exp_m1();
        if failure.is_nan() { in_numbers("the probability of failure", failure) } else { Ok(failure) }
    }

    /// The greatest stress that keeps the probability of failure, `MPa`.
    ///
    /// * `effective_length_um`: above 0; without tension any stress elsewhere is allowed and there is no such number.
    /// * `probability`: above 0, below 1.
    ///
    /// # Errors
    /// A value outside its range, or a result that leaves the range of numbers.
    pub fn allowable_mpa(&self, effective_length_um: f64, probability: f64) -> Result<f64, LifeError> {
        let ln_size = self.ln_size(effective_length_um)?;
        LifeField::Probability.above(probability, 0.0)?;
        LifeField::Probability.below(probability, 1.0)?;
        let ln_hazard = (-(-probability).ln_1p()).ln();
        in_numbers("the allowable stress", self.strength_mpa * ((ln_size + ln_hazard) / self.modulus).exp())
    }

    /// Mean strength of pieces with the given effective length, `MPa`.
    ///
    /// # Errors
    /// An effective length that is not above 0, or a result that leaves the range of numbers.
    pub fn mean_strength_mpa(&self, effective_length_um: f64) -> Result<f64, LifeError> {
        let ln_size = self.ln_size(effective_length_um)?;
        let shape = 1.0 / self.modulus;
        // Far above, Γ leaves the range of numbers in any case.
        let ln_mean = if shape < 1e4 { ln_size * shape + ln_gamma(1.0 + shape) } else { f64::INFINITY };
        in_numbers("the mean strength", self.strength_mpa * ln_mean.exp())
    }

    /// `ln(l_0/L_eff)`.
    fn ln_size(&self, effective_length_um: f64) -> Result<f64, LifeError> {
        LifeField::EffectiveLength.above(effective_length_um, 0.0)?;
        Ok(self.reference_um.ln() - effective_length_um.ln())
    }

    /// One pass: whenever a greater stress turns up, what was summed so far is scaled down to it. All powers are of
    /// ratios up to 1 and cannot overflow.
    fn effective(&self, stresses: impl IntoIterator<Item = (f64, f64)>) -> Result<Effective, LifeError> {
        let mut greatest_mpa = 0.0_f64;
        let mut length_um = 0.0_f64;
        for (stress_mpa, piece_um) in stresses {
            LifeField::Stress.finite(stress_mpa)?;
            LifeField::Length.at_least(piece_um, 0.0)?;
            if stress_mpa <= 0.0 || piece_um == 0.0 {
                continue;
            }
            if stress_mpa > greatest_mpa {
                length_um = length_um * (greatest_mpa / stress_mpa).powf(self.modulus) + piece_um;
                greatest_mpa = stress_mpa;
            } else {
                length_um += piece_um * (stress_mpa / greatest_mpa).powf(self.modulus);
            }
        }
        Ok(Effective { greatest_mpa, length_um: in_numbers("the effective length", length_um)? })
    }
}

/// The probability that all of `count` alike and independent parts survive, `(1 − P)^count`.
///
/// * `probability_of_one`: P of one, 0 to 1.
/// * `count`: 0 or more; a fraction is allowed (half a ribbon).
///
/// # Errors
/// A value outside its range.
///
/// ```
/// use ogee_stack::{failure_of_many, survival_of_many};
///
/// assert!((survival_of_many(1e-3, 1000.0)? - 0.999_f64.powi(1000)).abs() < 1e-12);
/// // 1 − (1 − P)^count keeps its digits however small P is.
/// assert!((failure_of_many(1e-20, 200.0)? - 2e-18).abs() < 1e-32);
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
pub fn survival_of_many(probability_of_one: f64, count: f64) -> Result<f64, LifeError> {
    Ok(ln_survival(probability_of_one, count)?.exp())
}

/// The probability that any of `count` alike and independent parts fails, `1 − (1 − P)^count`, without cancellation.
///
/// * `probability_of_one`: P of one, 0 to 1.
/// * `count`: 0 or more.
///
/// # Errors
/// A value outside its range.
pub fn failure_of_many(probability_of_one: f64, count: f64) -> Result<f64, LifeError> {
    Ok(-ln_survival(probability_of_one, count)?.exp_m1())
}

/// Logarithm of the survival of all; −∞ where none survives.
fn ln_survival(probability_of_one: f64, count: f64) -> Result<f64, LifeError> {
    LifeField::Probability.at_least(probability_of_one, 0.0)?;
    LifeField::Probability.at_most(probability_of_one, 1.0)?;
    LifeField::Count.at_least(count, 0.0)?;
    // 0 · ln 0 is no number; of no parts none fails.
    Ok(if count == 0.0 { 0.0 } else { count * (-probability_of_one).ln_1p() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_and_scale_of_the_pieces_do_not_matter() {
        let glass = Weibull::new(25.0, 900.0, 5000.0).expect("sound");
        let rising = [(1e-200, 3.0), (100.0, 2.0), (400.0, 1.0), (500.0, 4.0), (-1e300, 1e9)];
        let falling: Vec<_> = rising.iter().rev().copied().collect();
        let up = glass.effective_length_um(rising).expect("sound");
        let down = glass.effective_length_um(falling).expect("sound");
        let direct = 4.0 + 0.8_f64.powf(25.0) + 2.0 * 0.2_f64.powf(25.0);
        assert!((up - direct).abs() < 1e-14 && (down - direct).abs() < 1e-14);
    }

    #[test]
    fn extremes_stay_in_range() {
        let glass = Weibull::new(100.0, 1e-10, 1.0).expect("sound");
        assert_eq!(glass.failure_probability([(1e300, 1e300)]), Ok(1.0));
        assert_eq!(glass.failure_probability([(-1.0, 1.0), (0.0, 5.0)]), Ok(0.0));
        assert_eq!(glass.effective_length_um([(-1.0, 1.0)]), Ok(0.0));
        assert_eq!(glass.failure_probability([(1e-300, 1e-300)]), Ok(0.0));
        assert!(glass.allowable_mpa(0.0, 0.1).is_err());
        let wild = Weibull::new(1e-3, 1.0, 1.0).expect("sound");
        assert!(matches!(wild.mean_strength_mpa(1.0), Err(LifeError::OutOfNumbers { .. })));
        assert!(matches!(glass.effective_length_um([(f64::NAN, 1.0)]), Err(LifeError::NotFinite { .. })));
        assert!(matches!(glass.effective_length_um([(1.0, -1.0)]), Err(LifeError::TooLow { .. })));
    }

    #[test]
    fn many_parts() {
        assert_eq!(survival_of_many(1.0, 0.0), Ok(1.0));
        assert_eq!(survival_of_many(1.0, 2.0), Ok(0.0));
        assert_eq!(failure_of_many(1.0, 2.0), Ok(1.0));
        assert!(failure_of_many(1.1, 2.0).is_err() && failure_of_many(0.1, -1.0).is_err());
    }

    #[test]
    fn allowable_inverts_failure() {
        let glass = Weibull::new(8.0, 600.0, 1000.0).expect("sound");
        for probability in [1e-12, 1e-6, 1e-3, 0.5, 0.999] {
            let stress = glass.allowable_mpa(5000.0, probability).expect("sound");
            let back = glass.failure_probability_at(stress, 5000.0).expect("sound");
            assert!((back / probability - 1.0).abs() < 1e-12, "{probability}");
        }
        let message = glass.allowable_mpa(5000.0, 1.0).expect_err("certain failure").to_string();
        assert_eq!(message, "probability of failure is 1; it must be below 1");
    }
}
