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

impl Pin {
    /// Its place among the four, 0 to 3, which stays when others go: it chooses the colour.
    pub fn slot(&self) -> usize {
        ('A'..).take(MOST_PINS).position(|letter| self.name.starts_with(letter)).unwrap_or(0)
    }
}

/// First name of `A` to `D` that no pin has.
pub(super) fn free_name(pins: &[Pin]) -> Option<String> {
    ('A'..).take(MOST_PINS).map(String::from).find(|name| pins.iter().all(|pin| pin.name != *name))
}
