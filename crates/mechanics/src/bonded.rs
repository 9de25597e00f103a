//! Ribbons bonded to a stretched elastomer.

mod cell;
mod chain;
mod condense;
mod element;
mod error;
mod following;
mod foundation;
mod line;
mod note;
mod part;
mod peel;
mod ribbon;
#[cfg(test)]
mod ribbon_tests;
mod solve;
#[cfg(test)]
mod tests;

pub use cell::{BondedProblem, BondedSolution, BondedSolver, BondedState};
pub use error::BondedError;
pub use foundation::{
    Closure, ClosureNote, Foundation, FoundationStiffness, StiffFilm, Substrate, Wrinkling, WrinklingNote,
};
pub use line::BondedPoint;
pub use note::BondedNote;
pub use peel::PeelIndicator;
pub use ribbon::{BondedRibbonProblem, BondedRibbonSolution, BondedRibbonSolver};
