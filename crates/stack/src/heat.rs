//! Heat, residual stress, release: what a stack's history leaves in it.

mod balance;
mod closed;
mod contact;
mod error;
mod film;
mod history;

pub use closed::{Multilayer, bimetal_curvature_per_um, multilayer_curvature, stoney_stress_mpa};
pub use error::{FilmField, ProcessError};
pub use film::{Birth, Film, FilmModulus, Step};
pub use history::{FilmState, History, State, run};

/// Nothing is colder, °C.
const ABSOLUTE_ZERO_C: f64 = -273.15;
