//! A fibre's strain going back and forth.

use super::{LifeError, LifeField};

/// The strain of **one and the same fibre** at the two ends of a stretch cycle.
///
/// The amplitude of a cycle is the greatest over all fibres of half the difference. The difference of the two greatest strains is
/// something else, and wrong, wherever the worst place moves or a strain changes its sign.
///
/// ```
/// use ogee_stack::StrainCycle;
///
/// let fibres = [StrainCycle::new(0.0, 0.004)?, StrainCycle::new(0.002, -0.004)?];
/// let worst = StrainCycle::worst(fibres).expect("two fibres");
/// assert!((worst.amplitude() - 0.003).abs() < 1e-15 && (worst.mean() + 0.001).abs() < 1e-15);
/// # Ok::<(), ogee_stack::LifeError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrainCycle {
    from: f64,
    to: f64,
}

impl StrainCycle {
    /// * `from`, `to`: strains of one fibre, dimensionless.
    ///
    /// # Errors
    /// A strain that is not finite, or a range that leaves the range of numbers.
    pub fn new(from: f64, to: f64) -> Result<Self, LifeError> {
        LifeField::Strain.finite(from)?;
        LifeField::Strain.finite(to)?;
        LifeField::StrainRange.finite(to - from)?;
        Ok(Self { from, to })
    }

    /// Half the range, dimensionless.
    pub fn amplitude(&self) -> f64 {
        0.5 * self.range()
    }

    /// The range, twice the amplitude, dimensionless.
    pub fn range(&self) -> f64 {
        (self.to - self.from).abs()
    }

    /// Half the sum, dimensionless; residual strain adds to it.
    pub fn mean(&self) -> f64 {
        f64::midpoint(self.from, self.to)
    }

    /// The fibre with the greatest amplitude; `None` without fibres.
    pub fn worst(fibres: impl IntoIterator<Item = Self>) -> Option<Self> {
        fibres.into_iter().max_by(|a, b| a.range().total_cmp(&b.range()))
    }
}
