//! Onset of buckling out of the plane.

mod element;
mod error;
mod estimate;
mod factor;
mod flat;
mod mode;
mod problem;
mod roots;
mod search;
mod second_variation;
mod tridiagonal;

pub use error::OnsetError;
pub use estimate::OnsetEstimate;
pub use flat::FlatPoint;
pub use mode::{BucklingMode, ModePoint};
pub use problem::{Onset, OnsetProblem, Symmetry};
pub use search::onset;
pub use second_variation::{EndSupport, SecondVariation};

#[cfg(test)]
mod reference_tests;
#[cfg(test)]
mod strip_tests;
#[cfg(test)]
mod tests;
