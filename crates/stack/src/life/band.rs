//! Lives as bands.

use std::fmt;

use super::Cycles;

/// How well a fatigue law can be expected to hold.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum LifeScatter {
    /// A factor of 3 in life: a law fitted to tests of the very metal, thickness and adhesion.
    Good,
    /// A factor of 10 in life: a law from a handbook.
    #[default]
    Normal,
}

impl LifeScatter {
    /// The factor in the number of cycles, up and down.
    pub fn factor(self) -> f64 {
        match self {
            Self::Good => 3.0,
            Self::Normal => 10.0,
        }
    }
}

impl fmt::Display for LifeScatter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Good => "a factor of 3 in life, as for a law fitted to the very metal",
            Self::Normal => "a factor of 10 in life, as is normal",
        })
    }
}

/// A life with the band it may lie in; never quote one number.
///
/// A factor of 2 in strain is about 4 in life where the plastic part rules (c = −0.5), more in the elastic part.
///
/// ```
/// use ogee_stack::{Cycles, LifeBand, LifeScatter};
///
/// let band = LifeBand::around(Cycles::Count(3000.0), LifeScatter::Good);
/// assert_eq!(band.low.count().map(f64::round), Some(1000.0));
/// assert_eq!(band.high.count().map(f64::round), Some(9000.0));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LifeBand {
    /// Lower end.
    pub low: Cycles,
    /// By the typical parameters.
    pub typical: Cycles,
    /// Upper end.
    pub high: Cycles,
    /// The scatter about the law that is included.
    pub scatter: LifeScatter,
}

impl LifeBand {
    /// The scatter about one life.
    pub fn around(typical: Cycles, scatter: LifeScatter) -> Self {
        let factor = scatter.factor();
        Self { low: typical.scaled(1.0 / factor), typical, high: typical.scaled(factor), scatter }
    }

    /// The band widened so that it holds the scatter about another life too, of parameters other than the typical ones.
    ///
    /// Life by the strain-life law grows with each of `σ_f′`, b, `ε_f′` and c as long as 2N > 1: the lives by all least and by all
    /// greatest parameters bound those by any in between.
    #[must_use]
    pub fn including(self, other: Cycles) -> Self {
        let other = Self::around(other, self.scatter);
        Self { low: self.low.shorter(other.low), high: self.high.longer(other.high), ..self }
    }
}

impl fmt::Display for LifeBand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} (from {} to {}; includes {})", self.typical, self.low, self.high, self.scatter)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_hold_all_their_lives() {
        let band = LifeBand::around(Cycles::Count(3000.0), LifeScatter::Normal)
            .including(Cycles::Count(100.0))
            .including(Cycles::MoreThan(1e12));
        assert_eq!(band.low.count().map(f64::round), Some(10.0));
        assert_eq!(band.typical, Cycles::Count(3000.0));
        assert_eq!(band.high, Cycles::MoreThan(1e13));
        let endless = band.including(Cycles::Unlimited);
        assert_eq!(endless.high, Cycles::Unlimited);
        assert_eq!(endless.low, band.low);
        let early = LifeBand::around(Cycles::FewerThan(0.25), LifeScatter::Good);
        assert!(early.low < early.typical && early.typical < early.high);
        assert_eq!(
            LifeBand::around(Cycles::Count(3000.0), LifeScatter::Good).to_string(),
            "3000.000 cycles (from 1000.000 cycles to 9000.000 cycles; includes a factor of 3 in life, as for a law \
             fitted to the very metal)"
        );
    }
}
