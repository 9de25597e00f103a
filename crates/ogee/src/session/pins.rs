//! Variants kept for comparison.

use ogee_design::{Assessment, Checked, Design};
use std::sync::Arc;

/// Most variants that are kept.
pub const MOST_PINS: usize = 4;

/// A variant kept as a ghost on the drawing, a point on the maps and a column in the comparison.
#[derive(Clone, Debug)]
pub struct Pin {
    /// `A` to `D`.
    pub name: String,
    /// The design.
    pub design: Arc<Design>,
    /// What is known about it.
    pub assessment: Arc<Assessment>,
    /// Its shape, for drawing.
    pub checked: Arc<Checked>,
}

/// First name of `A` to `D` that no pin has.
pub(super) fn free_name(pins: &[Pin]) -> Option<String> {
    ('A'..).take(MOST_PINS).map(String::from).find(|name| pins.iter().all(|pin| pin.name != *name))
}
