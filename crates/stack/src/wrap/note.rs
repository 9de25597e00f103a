//! What a reader has to know beside the numbers of a wrap.

use std::fmt;

/// Thickness over radius of curvature from which plane sections of small strain no longer hold.
pub(super) const THICK: f64 = 0.1;
/// Strain of a stiff ply above which the linear law is in doubt.
pub(super) const LARGE_STRAIN: f64 = 0.05;
/// Shear of an interlayer above which the linear law is in doubt.
pub(super) const LARGE_SHEAR: f64 = 1.0;
/// Length over thickness below which the stack is no thin strip.
pub(super) const SHORT: f64 = 10.0;

/// Share of the largest strain by which one nearer to the ends must exceed that at mid-length to be told.
pub(super) const ELSEWHERE: f64 = 0.1;

/// A limit of validity that a wrap has passed, or what the strains at mid-length do not tell.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum WrapNote {
    /// |κ| times the total thickness is 0.1 or more.
    Thick {
        /// |κ| T, dimensionless.
        thickness_over_radius: f64,
    },
    /// A ply other than a soft interlayer is strained above 5 % at mid-length.
    LargeStrain {
        /// The ply, 0 at the bottom.
        ply: usize,
        /// Its name.
        name: String,
        /// The strain of its face that is strained most, dimensionless.
        strain: f64,
    },
    /// A ply is sheared by 1 or more at the ends.
    LargeShear {
        /// The ply, 0 at the bottom.
        ply: usize,
        /// Its name.
        name: String,
        /// |γ| at the ends, dimensionless.
        shear: f64,
    },
    /// A ply other than a soft interlayer is strained more, or in the other sense, nearer to the ends than at mid-length.
    LargerElsewhere {
        /// The ply, 0 at the bottom.
        ply: usize,
        /// Its name.
        name: String,
        /// The strain nearer to the ends, dimensionless.
        strain: f64,
        /// The strain at mid-length on the same side, dimensionless.
        at_middle: f64,
    },
    /// The wrapped length is below ten times the thickness.
    Short {
        /// Length over total thickness, dimensionless.
        length_over_thickness: f64,
    },
}

impl fmt::Display for WrapNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Thick { thickness_over_radius } => write!(
                f,
                "thickness over radius is {thickness_over_radius:.2}; the model holds below {THICK}"
            ),
            Self::LargeStrain { ply, name, strain } => write!(
                f,
                "ply {} ({name}) is strained by {:.1} %; the linear model holds below {:.0} %",
                ply + 1,
                100.0 * strain,
                100.0 * LARGE_STRAIN
            ),
            Self::LargeShear { ply, name, shear } => {
                write!(
                    f,
                    "ply {} ({name}) is sheared by {shear:.1} at the ends: large shear, linear model",
                    ply + 1
                )
            }
            Self::LargerElsewhere { ply, name, strain, at_middle } => write!(
                f,
                "ply {} ({name}) is strained by {:.2} % nearer to the ends, where it slides over its soft neighbour; at \
                 mid-length by {:.2} %",
                ply + 1,
                100.0 * strain,
                100.0 * at_middle
            ),
            Self::Short { length_over_thickness } => write!(
                f,
                "the wrapped length is only {length_over_thickness:.1} times the thickness; below {SHORT} trust nothing"
            ),
        }
    }
}
