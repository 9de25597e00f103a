//! Numbers with units: one parser and one formatter for the window, the command line and hints.
//!
//! A field has a [`Dimension`] and a [`Unit`]; text without a unit is in the field's unit, other text is converted
//! to it. Spelling is forgiving where only one meaning is possible (`350nm`, `1,5 mm`, `45 deg`, µ in either code
//! point or as `u`, no-break and thin spaces, a typographic minus) and refused where there are two (`1.200,5`).
//! Prefixes keep their case: `M` is mega, `m` is milli.
//!
//! Converting between decimal units moves the decimal point in the text before it becomes a number, so that
//! `350 nm` is exactly the number `0.35` in a field in µm. Only degrees against radians need a multiplication.

mod error;
mod format;
mod number;
mod parse;
#[cfg(test)]
mod tests;
mod unit;

pub use error::QuantityError;
pub use format::{format_quantity, format_quantity_exact};
pub use parse::parse_quantity;
pub use unit::{Dimension, Unit};
