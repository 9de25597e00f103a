//! Ribbons bonded to a stretched elastomer.

mod cell;
mod chain;
mod condense;
mod element;
mod error;
mod following;
mod line;
mod part;
mod solve;
#[cfg(test)]
mod tests;

pub use cell::{BondedNote, BondedProblem, BondedSolution, BondedSolver, BondedState, PeelIndicator};
pub use error::BondedError;
pub use line::BondedPoint;
