//! The edges of a ribbon and its outline.

use kurbo::Point;

use crate::{
    Centreline, ClearanceKind, Ends, ShapeError, clearance::room_at_the_ends, error::below,
    quarter::check_range,
};

/// Least and greatest width over the pitch.
const WIDTH_RANGE: [f64; 2] = [1e-9, 1e6];

impl Centreline {
    /// Points of the curve at `offset_um` to the left of the centreline (right when negative), from start to end.
    ///
    /// No chord is off that curve by more than `tolerance_um`.
    ///
    /// # Errors
    /// [`ShapeError::FoldedEdge`] where |offset| reaches the least radius: the edge would pass the centre of the bend
    /// and fold over.
    pub fn edge_points(&self, offset_um: f64, tolerance_um: f64) -> Result<Vec<Point>, ShapeError> {
        if !offset_um.is_finite() {
            return Err(ShapeError::NotFinite { field: "width_um" });
        }
        self.check_fold(2.0 * offset_um.abs())?;
        let points = self.sample_beside(offset_um, tolerance_um);
        Ok(points.iter().map(|point| point.offset_point(offset_um)).collect())
    }

    /// The ribbon of `width_um` as a closed polygon: the left edge forward, then the right edge back.
    ///
    /// The first point is not repeated; no side is off the true edge by more than `tolerance_um`. The polygon does
    /// not cross itself as long as the tolerance is well below the clearance.
    ///
    /// # Errors
    /// [`ShapeError::FoldedEdge`] where half the width reaches the least radius, [`ShapeError::EdgesTouch`] and
    /// [`ShapeError::LeadHitsBend`] where edges of neighbouring stretches meet.
    pub fn outline(&self, width_um: f64, tolerance_um: f64) -> Result<Vec<Point>, ShapeError> {
        self.check_width(width_um)?;
        let half_um = 0.5 * width_um;
        let points = self.sample_beside(half_um, tolerance_um);
        let left = points.iter().map(|point| point.offset_point(half_um));
        let right = points.iter().rev().map(|point| point.offset_point(-half_um));
        Ok(left.chain(right).collect())
    }

    /// Whether a ribbon of this width can be made: no folded edge and no touching edges.
    ///
    /// # Errors
    /// As of [`Self::outline`].
    pub fn check_width(&self, width_um: f64) -> Result<(), ShapeError> {
        check_ribbon_width(width_um, self.quarter().pitch_um())?;
        self.check_fold(width_um)?;
        let clearance = self.clearance(width_um)?;
        if clearance.gap_um > 0.0 {
            return Ok(());
        }
        let is_wide_enough = |ribbon: &Self| room_at_the_ends(ribbon, width_um).is_none();
        if clearance.kind == ClearanceKind::AtEnd && self.ends() == Ends::Crossing {
            let nearest_um = self.greatest_lead_um(is_wide_enough);
            if nearest_um > 0.0 {
                let nearest_um = below(nearest_um);
                return Err(ShapeError::LeadHitsBend { lead_um: self.lead_um(), nearest_um });
            }
        }
        let room_um = width_um + clearance.gap_um;
        let nearest_um = below(room_um);
        Err(ShapeError::EdgesTouch { width_um, room_um, nearest_um })
    }

    fn check_fold(&self, width_um: f64) -> Result<(), ShapeError> {
        let least_radius_um = self.least_radius_um();
        if 0.5 * width_um < least_radius_um {
            return Ok(());
        }
        let nearest_um = below(2.0 * least_radius_um);
        Err(ShapeError::FoldedEdge { width_um, least_radius_um, nearest_um })
    }
}

/// Refuses widths that are not finite or not above zero.
pub(crate) fn check_ribbon_width(width_um: f64, pitch_um: f64) -> Result<(), ShapeError> {
    check_range("width_um", width_um, WIDTH_RANGE.map(|share| share * pitch_um))
}
