//! Reference tables and the comparison that all tests of this package share.
//!
//! A table is a JSON file in `tests/reference/`: where its values come from, how they were obtained, how close a
//! value has to be and why, and the cases. [`Table::check`] runs every case, collects every failure and fails
//! once at the end, so that one run shows all there is to see. A case in which an expected value was not
//! compared fails too: nothing can be left out unnoticed.

mod checks;
mod shape;
mod table;

pub use checks::{Checks, Tolerance};
pub use table::{Case, Table, table};
