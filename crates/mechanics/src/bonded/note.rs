//! How far a result may be trusted.

use std::fmt;

/// How far the result of a bonded ribbon may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum BondedNote {
    /// K = k P⁴/EI is below 50.
    Negligible,
    /// The beam on springs holds.
    OnSprings,
    /// `λ_b` is below the width: the result is that of the springs, which are no model there.
    FollowsSubstrate,
    /// As before, and too stiff for a mesh: the result is that of the limit.
    LimitTaken,
}

impl fmt::Display for BondedNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Negligible => "the substrate is so soft that it may be ignored: k P⁴/EI is below 50",
            Self::OnSprings => "the ribbon slips against the substrate: beam on springs",
            Self::FollowsSubstrate => {
                "the ribbon follows the substrate: (EI/k)^¼ is below the ribbon's width, where springs are no longer a \
                 model of the elastomer; take the digits as an order of magnitude"
            }
            Self::LimitTaken => {
                "the ribbon follows the substrate: too stiff a bond for a mesh, the values are those of a ribbon that \
                 goes exactly where the substrate does"
            }
        })
    }
}
