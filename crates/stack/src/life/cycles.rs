//! A number of cycles to failure that is always a number or a statement.

use std::cmp::Ordering;
use std::fmt;

/// Cycles to failure.
///
/// Where a law would give a number outside the range in which it says anything, the limit of the range is told instead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cycles {
    /// Nothing is worn: no stress or strain changes, or all is in compression.
    Unlimited,
    /// More than this many: beyond what the law says anything about.
    MoreThan(f64),
    /// This many.
    Count(f64),
    /// Fewer than this many: failure on the first loading.
    FewerThan(f64),
}

impl Cycles {
    /// Numbers above this are told as more than this.
    pub const MOST: f64 = 1e12;
    /// Numbers below this, the first loading of a cycle, are told as fewer than this.
    pub const LEAST: f64 = 0.25;

    /// A positive number of cycles given by its logarithm.
    pub(super) fn from_ln(ln_count: f64) -> Self {
        if ln_count > Self::MOST.ln() {
            Self::MoreThan(Self::MOST)
        } else if ln_count < Self::LEAST.ln() {
            Self::FewerThan(Self::LEAST)
        } else {
            Self::Count(ln_count.exp())
        }
    }

    /// The count, where there is one.
    pub fn count(self) -> Option<f64> {
        match self {
            Self::Count(count) => Some(count),
            _ => None,
        }
    }

    /// The life times a positive factor near 1.
    pub(super) fn scaled(self, factor: f64) -> Self {
        match self {
            Self::Unlimited => Self::Unlimited,
            Self::MoreThan(limit) => Self::MoreThan(limit * factor),
            Self::Count(count) => Self::from_ln((count * factor).ln()),
            Self::FewerThan(limit) => Self::FewerThan(limit * factor),
        }
    }

    /// Where it stands among others: its number, then whether the truth lies below or above that.
    fn rank(self) -> (f64, i8) {
        match self {
            Self::FewerThan(limit) => (limit, -1),
            Self::Count(count) => (count, 0),
            Self::MoreThan(limit) => (limit, 1),
            Self::Unlimited => (f64::INFINITY, 2),
        }
    }

    /// The shorter of two lives.
    #[must_use]
    pub fn shorter(self, other: Self) -> Self {
        if other < self { other } else { self }
    }

    /// The longer of two lives.
    #[must_use]
    pub fn longer(self, other: Self) -> Self {
        if other > self { other } else { self }
    }
}

impl PartialOrd for Cycles {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        self.rank().partial_cmp(&other.rank())
    }
}

impl fmt::Display for Cycles {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unlimited => f.write_str("unlimited"),
            Self::MoreThan(limit) => write!(f, "more than {limit:.2e} cycles"),
            Self::Count(count) if *count < 1e4 => write!(f, "{count:.3} cycles"),
            Self::Count(count) => write!(f, "{count:.2e} cycles"),
            Self::FewerThan(limit) => write!(f, "fewer than {limit} cycles"),
        }
    }
}
