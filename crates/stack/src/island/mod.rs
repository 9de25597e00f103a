//! Stiff islands on a stretchable sheet.

mod edge;
mod error;
mod row;
mod shear_lag;
mod solve;
mod stretched;

pub use edge::{EdgeConcentration, edge_concentration};
pub use error::{IslandError, IslandField};
pub use row::{Adhesive, IslandRow, Plate};
pub use solve::Solved;
pub use stretched::{IslandNote, StrainAlong, Stretched};
