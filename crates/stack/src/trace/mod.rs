//! The electrical trace: resistance, its change with strain, current.

mod conductor;
mod current;
mod error;
mod film;
mod squares;
mod strained;

pub use conductor::{ALUMINIUM, COPPER, Conductor, GOLD, voltage_drop_v};
pub use current::{CurrentRating, OutsideTheData, SheetCooling, TraceLayer, ipc_2221_current};
pub use error::{TraceError, TraceField};
pub use film::{FilmFactor, Grains, Surfaces, film_factor, grain_factor, surface_factor};
pub use squares::{CORNER_SQUARES, PathSquares, bend_squares, path_squares, straight_squares};
pub use strained::{
    geometric_gauge_factor, geometric_resistance_ratio, liquid_resistance_ratio, mean_strain,
    resistance_ratio,
};
