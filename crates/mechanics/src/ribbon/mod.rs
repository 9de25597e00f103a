//! The whole ribbon between two islands, in its plane.

mod descent;
mod error;
mod fields;
mod mesh;
mod newton;
mod path;
mod peak;
mod problem;
mod solution;
mod solver;

pub use error::RibbonError;
pub use peak::{RibbonExtremes, RibbonPeak};
pub use problem::{EndMotion, RibbonProblem};
pub use solution::{RibbonPoint, RibbonSolution};
pub(crate) use solver::Solved;
pub use solver::{Reached, RibbonSolver, RibbonState};

#[cfg(test)]
mod reference_tests;
#[cfg(test)]
mod tests;
