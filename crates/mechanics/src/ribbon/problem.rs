//! A whole ribbon to be solved, and how its far island moves.

use ogee_geometry::Centreline;

use super::RibbonError;
use crate::strips::Strips;

/// Most periods that are solved as a whole.
pub(crate) const MOST_PERIODS: u32 = 2000;
/// Farthest sideways move, in contour lengths.
const MOST_ASIDE: f64 = 10.0;
/// Greatest turn of the far island, in radians.
const MOST_TURN_RAD: f64 = std::f64::consts::TAU;

/// How the far island moves against the near one. All zero is the rest state.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EndMotion {
    /// Stretch e: the island moves along x by e times the span, dimensionless. Negative in compression, above −1.
    pub stretch: f64,
    /// Move across the span, towards +y, in µm.
    pub sideways_um: f64,
    /// Turn of the island and of the ribbon's end with it, counter-clockwise, in radians.
    pub turn_rad: f64,
}

impl EndMotion {
    /// A pull (or push) along the span alone.
    pub fn stretch(stretch: f64) -> Self {
        Self { stretch, ..Self::default() }
    }

    /// `share` of this motion; 0 is rest.
    #[must_use]
    pub fn scaled(self, share: f64) -> Self {
        Self {
            stretch: share * self.stretch,
            sideways_um: share * self.sideways_um,
            turn_rad: share * self.turn_rad,
        }
    }
}

/// A whole ribbon between two islands, both ends clamped.
///
/// Each end keeps its angle to its island, so the near end keeps its rest angle and the far end turns with its island.
#[derive(Debug, Clone, Copy)]
pub struct RibbonProblem<'a> {
    /// The ribbon at rest, leads included.
    pub line: &'a Centreline,
    /// Section of the ribbon.
    pub strips: &'a Strips,
    /// How the far island moves.
    pub motion: EndMotion,
}

impl RibbonProblem<'_> {
    /// Refuses what no mesh can help.
    pub(crate) fn check(&self) -> Result<(), RibbonError> {
        let EndMotion { stretch, sideways_um, turn_rad } = self.motion;
        if !(stretch.is_finite() && sideways_um.is_finite() && turn_rad.is_finite()) {
            return Err(RibbonError::BadMotion { stretch, sideways_um, turn_rad });
        }
        let distance_um = (1.0 + stretch) * self.line.span_um();
        if distance_um <= 0.0 {
            return Err(RibbonError::IslandsMeet { stretch, distance_um });
        }
        let limit_um = MOST_ASIDE * self.line.contour_length_um();
        if sideways_um.abs() > limit_um {
            return Err(RibbonError::TooFarAside { sideways_um, limit_um });
        }
        if turn_rad.abs() > MOST_TURN_RAD {
            return Err(RibbonError::TurnsTooFar { turn_rad, limit_rad: MOST_TURN_RAD });
        }
        let periods = self.line.periods();
        if periods > MOST_PERIODS {
            return Err(RibbonError::TooManyPeriods { periods, limit: MOST_PERIODS });
        }
        check_reach(self.line, self.strips.width_um())
    }
}

/// Refuses a ribbon or layer whose inner edge folds over in a bend.
pub(crate) fn check_reach(line: &Centreline, width_um: f64) -> Result<(), RibbonError> {
    let radius_um = line.least_radius_um();
    if 0.5 * width_um < radius_um { Ok(()) } else { Err(RibbonError::WiderThanBend { radius_um, width_um }) }
}
