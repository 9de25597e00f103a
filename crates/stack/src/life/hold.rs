//! A time to fracture that is always a number or a statement.

use std::fmt;

use super::{Cycles, LifeError, LifeField};

/// Time to fracture under load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HoldLife {
    /// No tension: cracks do not grow.
    Unlimited,
    /// More than this many seconds: beyond what the law says anything about.
    MoreThan(f64),
    /// This many seconds.
    Seconds(f64),
    /// The stress reaches the inert strength: fracture at once.
    AtOnce,
}

impl HoldLife {
    /// Times above this, about 30 000 years, are told as more than this, s.
    pub const MOST_S: f64 = 1e12;

    /// A positive time given by its logarithm.
    pub(super) fn from_ln(ln_seconds: f64) -> Self {
        if ln_seconds > Self::MOST_S.ln() {
            return Self::MoreThan(Self::MOST_S);
        }
        let seconds = ln_seconds.exp();
        if seconds > 0.0 { Self::Seconds(seconds) } else { Self::AtOnce }
    }

    /// The time, s, where there is one.
    pub fn seconds(self) -> Option<f64> {
        match self {
            Self::Seconds(seconds) => Some(seconds),
            _ => None,
        }
    }

    /// The number of cycles of the given period that fit in.
    ///
    /// * `period_s`: above 0, s.
    ///
    /// # Errors
    /// A period that is not finite or not above 0.
    pub fn cycles(self, period_s: f64) -> Result<Cycles, LifeError> {
        LifeField::CyclePeriod.above(period_s, 0.0)?;
        Ok(match self {
            Self::Unlimited => Cycles::Unlimited,
            Self::MoreThan(limit_s) => Cycles::MoreThan((limit_s / period_s).min(Cycles::MOST)),
            Self::Seconds(seconds) => Cycles::from_ln(seconds.ln() - period_s.ln()),
            Self::AtOnce => Cycles::FewerThan(Cycles::LEAST),
        })
    }
}

impl fmt::Display for HoldLife {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unlimited => f.write_str("unlimited"),
            Self::MoreThan(limit_s) => write!(f, "more than {limit_s:.2e} s"),
            Self::Seconds(seconds) => write!(f, "{seconds:.2e} s"),
            Self::AtOnce => f.write_str("fracture at once"),
        }
    }
}
