//! The ribbon in space: released, thinner than wide, and free to leave its plane.

mod branch;
mod buckled;
mod element;
mod error;
mod law;
mod light;
mod modes;
mod multi;
mod newton;
mod path;
mod problem;
mod recovery;
mod rod;
mod section_state;
mod solution;
mod solver;
mod state;
mod system;
mod valley;
mod vector;

pub use buckled::BuckledBranch;
pub use error::SpatialError;
pub use light::{SpatialJump, SpatialWeight};
pub use multi::{SearchEffort, StableStates};
pub use path::BuckledPath;
pub use problem::SpatialProblem;
pub use recovery::EnergyParts;
pub use section_state::PeakKind;
pub use solution::{
    FibreBox, FibreExtremes, FibrePeak, SpatialPeak, SpatialPoint, SpatialSolution, StateSymmetry,
};
pub use solver::{MeshError, SpatialSolver};
pub use state::SpatialState;

#[cfg(test)]
mod branch_tests;
#[cfg(test)]
mod published_tests;
#[cfg(test)]
mod ribbon_tests;
