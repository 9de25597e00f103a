//! Blocks of cycles added up.

use super::error::in_numbers;
use super::{Cycles, LifeError, LifeField};

/// The damage sum at which a part counts as failed unless said otherwise: theory has 1, tests 0.3 to 3.
pub const MINER_LIMIT: f64 = 0.3;

/// So many cycles of one kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DutyBlock {
    /// Cycles done, 0 or more.
    pub cycles_done: f64,
    /// Cycles of this kind to failure.
    pub cycles_to_fail: Cycles,
}

/// Miner's sum D = Σ n/N over the blocks, dimensionless.
///
/// [`Cycles::MoreThan`] and [`Cycles::FewerThan`] count with their limit, [`Cycles::Unlimited`] not at all.
///
/// # Source
/// Miner 1945, J. Appl. Mech. 12, A159 (from memory).
///
/// # Limits
/// The order of the blocks is ignored. Parts fail at D between 0.3 and 3 in tests; [`MINER_LIMIT`] is the lower end.
///
/// # Errors
/// A number of cycles that is not finite or out of range, or a sum that leaves the range of numbers.
///
/// ```
/// use ogee_stack::{Cycles, DutyBlock, duty_repeats, miner_damage};
///
/// let day = [
///     DutyBlock { cycles_done: 100.0, cycles_to_fail: Cycles::Count(1e5) },
///     DutyBlock { cycles_done: 1e4, cycles_to_fail: Cycles::Unlimited },
/// ];
/// let damage = miner_damage(day)?;
/// assert!((damage - 1e-3).abs() < 1e-15);
/// assert_eq!(duty_repeats(damage, 1.0)?.count().map(f64::round), Some(1000.0));
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
pub fn miner_damage(blocks: impl IntoIterator<Item = DutyBlock>) -> Result<f64, LifeError> {
    let mut damage = 0.0;
    for block in blocks {
        LifeField::CyclesDone.at_least(block.cycles_done, 0.0)?;
        match block.cycles_to_fail {
            Cycles::Unlimited => {}
            Cycles::MoreThan(count) | Cycles::Count(count) | Cycles::FewerThan(count) => {
                damage += block.cycles_done / LifeField::CyclesToFail.above(count, 0.0)?;
            }
        }
    }
    in_numbers("the damage sum", damage)
}

/// How often a duty can be repeated until the damage sum reaches the limit.
///
/// * `damage`: of one repeat, 0 or more.
/// * `limit`: above 0; 1 in theory, [`MINER_LIMIT`] with caution.
///
/// # Errors
/// A value that is not finite or out of range.
pub fn duty_repeats(damage: f64, limit: f64) -> Result<Cycles, LifeError> {
    LifeField::Damage.at_least(damage, 0.0)?;
    LifeField::DamageLimit.above(limit, 0.0)?;
    Ok(if damage == 0.0 { Cycles::Unlimited } else { Cycles::from_ln(limit.ln() - damage.ln()) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nonsense_is_refused() {
        let block = |cycles_done, cycles_to_fail| DutyBlock { cycles_done, cycles_to_fail };
        assert!(miner_damage([block(-1.0, Cycles::Count(1.0))]).is_err());
        assert!(miner_damage([block(1.0, Cycles::Count(0.0))]).is_err());
        assert!(miner_damage([block(1.0, Cycles::Count(f64::NAN))]).is_err());
        assert!(miner_damage([block(f64::INFINITY, Cycles::Unlimited)]).is_err());
        assert!(miner_damage([block(1e300, Cycles::Count(1e-300))]).is_err());
        assert_eq!(miner_damage([]), Ok(0.0));
        assert_eq!(duty_repeats(0.0, 0.3), Ok(Cycles::Unlimited));
        assert_eq!(duty_repeats(1e-300, 0.3), Ok(Cycles::MoreThan(1e12)));
        assert!(duty_repeats(0.1, 0.0).is_err());
    }
}
