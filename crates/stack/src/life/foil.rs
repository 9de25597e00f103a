//! Metal foils under cyclic bending.

use super::error::in_numbers;
use super::two_powers::TwoPowers;
use super::{Cycles, LifeError, LifeField};

/// Ductility above which the law means nothing.
const MOST_DUCTILITY: f64 = 10.0;

/// Life of a metal foil from its fracture ductility and strength.
///
/// ```text
/// Δε = N^−0.6 D_f^0.75 + 0.9 (S_u/E) (e^{D_f}/0.36)^{0.1785 log10(10⁵/N)}
/// ```
///
/// Δε is the strain **range**, twice the amplitude, and N counts **cycles**: both differ from [`StrainLife`](crate::StrainLife).
/// The logarithm is the decimal one. The second term is a power of N too, with the exponent
/// −0.1785 log10(e^{`D_f`}/0.36).
///
/// `D_f` is about 0.05 for standard plated copper, 0.15 to 0.3 for ductile plated and 0.65 for annealed rolled copper.
///
/// # Source
/// Engelmaier, as used in the foil ductility test of the IPC (equation and numbers from memory).
///
/// # Limits
/// Copper foils of some ten µm on both sides of polymer, 30 to 10⁵ cycles; a factor of 3 in N is a good fit, 10 is normal.
///
/// ```
/// use ogee_stack::FoilDuctility;
///
/// let rolled = FoilDuctility::new(0.65, 220.0)?;
/// let cycles = rolled.cycles(0.006, 117_000.0)?.count().unwrap_or_default();
/// assert!((cycles - 6882.315).abs() < 0.001);
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FoilDuctility {
    ductility: f64,
    ultimate_mpa: f64,
}

impl FoilDuctility {
    /// The law of one foil.
    ///
    /// * `ductility`: fracture ductility `D_f`, dimensionless, above 0, at most 10.
    /// * `ultimate_mpa`: ultimate tensile strength `S_u`, `MPa`, above 0.
    ///
    /// # Errors
    /// A value that is not finite or outside its range.
    pub fn new(ductility: f64, ultimate_mpa: f64) -> Result<Self, LifeError> {
        LifeField::FatigueDuctility.above(ductility, 0.0)?;
        LifeField::FatigueDuctility.at_most(ductility, MOST_DUCTILITY)?;
        LifeField::UltimateStrength.above(ultimate_mpa, 0.0)?;
        Ok(Self { ductility, ultimate_mpa })
    }

    /// Cycles to failure.
    ///
    /// * `strain_range`: the whole range, dimensionless, 0 or more; 0 gives [`Cycles::Unlimited`].
    /// * `modulus_mpa`: Young's modulus E, `MPa`.
    ///
    /// # Errors
    /// A value that is not finite or outside its range; [`LifeError::NotConverged`] is not to be expected.
    pub fn cycles(&self, strain_range: f64, modulus_mpa: f64) -> Result<Cycles, LifeError> {
        LifeField::StrainRange.at_least(strain_range, 0.0)?;
        let law = self.law(modulus_mpa)?;
        if strain_range == 0.0 {
            return Ok(Cycles::Unlimited);
        }
        Ok(Cycles::from_ln(law.ln_count(strain_range.ln())?))
    }

    /// The strain range that leads to failure after `cycles`: the law itself, dimensionless.
    ///
    /// * `cycles`: N, above 0.
    /// * `modulus_mpa`: Young's modulus E, `MPa`.
    ///
    /// # Errors
    /// A value that is not finite or outside its range, or a result that leaves the range of numbers.
    pub fn strain_range(&self, cycles: f64, modulus_mpa: f64) -> Result<f64, LifeError> {
        LifeField::CyclesToFail.above(cycles, 0.0)?;
        in_numbers("the strain range", self.law(modulus_mpa)?.at(cycles.ln()).0.exp())
    }

    fn law(&self, modulus_mpa: f64) -> Result<TwoPowers, LifeError> {
        LifeField::Modulus.above(modulus_mpa, 0.0)?;
        // (e^D/0.36)^{0.1785 log10(10⁵/N)} = 10^{p (5 − log10 N)} with p = 0.1785 log10(e^D/0.36), above 0 as e^D > 0.36.
        let power = 0.1785 * (self.ductility - 0.36_f64.ln()) / std::f64::consts::LN_10;
        Ok(TwoPowers {
            ln_first: 0.75 * self.ductility.ln(),
            first_exponent: -0.6,
            ln_second: 0.9_f64.ln() + self.ultimate_mpa.ln() - modulus_mpa.ln()
                + 5.0 * power * std::f64::consts::LN_10,
            second_exponent: -power,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_law_as_written() {
        let foil = FoilDuctility::new(0.2, 300.0).expect("sound");
        for cycles in [30.0_f64, 563.0, 1e5, 1e7] {
            let factor = (0.2_f64.exp() / 0.36).powf(0.1785 * (1e5 / cycles).log10());
            let range = cycles.powf(-0.6) * 0.2_f64.powf(0.75) + 0.9 * 300.0 / 83_000.0 * factor;
            assert!((foil.strain_range(cycles, 83_000.0).expect("sound") / range - 1.0).abs() < 1e-13);
            let back = foil.cycles(range, 83_000.0).expect("sound").count().expect("a number");
            assert!((back / cycles - 1.0).abs() < 1e-11, "{cycles}");
        }
    }

    #[test]
    fn ends_of_the_range_are_told() {
        let foil = FoilDuctility::new(0.2, 300.0).expect("sound");
        assert_eq!(foil.cycles(0.0, 83_000.0), Ok(Cycles::Unlimited));
        assert_eq!(foil.cycles(1e-9, 83_000.0), Ok(Cycles::MoreThan(1e12)));
        assert_eq!(foil.cycles(2.0, 83_000.0), Ok(Cycles::FewerThan(0.25)));
        assert!(FoilDuctility::new(11.0, 300.0).is_err() && FoilDuctility::new(0.2, 0.0).is_err());
        assert!(foil.cycles(-0.01, 83_000.0).is_err() && foil.strain_range(0.0, 83_000.0).is_err());
    }
}
