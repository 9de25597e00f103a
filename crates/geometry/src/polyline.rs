//! Points along a centreline, close enough for a tolerance.
//!
//! Along every piece |κ| falls from the end near the crest towards the crossing, so steps are taken in that
//! direction: with the curvature κ at the near end of a step, the tangent turns no faster than that of a circle of
//! radius 1/κ, and the sagitta of a step of length h is at most `(1 − cos(κh/2))/κ`. A curve at the distance d on
//! the outer side is longer by at most the factor 1 + κd, and so is its sagitta.

use crate::{Centreline, CurvePoint, Quarter, centreline::Part};

/// The greatest turn of the tangent along one chord, in radians, however coarse the tolerance.
const MOST_TURN_RAD: f64 = std::f64::consts::FRAC_PI_4;
/// Tolerances below this share of the pitch are raised to it.
pub(crate) const LEAST_TOLERANCE: f64 = 1e-9;

impl Centreline {
    /// Points from start to end so that no chord is off the centreline by more than `tolerance_um`.
    ///
    /// Ends of leads, arcs and pieces are among them. The tangent turns by at most 45° from point to point. Their
    /// number grows as `tolerance^(−½)` and with n; tolerances below 1e-9 of the pitch count as that.
    pub fn sample(&self, tolerance_um: f64) -> Vec<CurvePoint> {
        self.sample_beside(0.0, tolerance_um)
    }

    /// Points as of [`Self::sample`] for curves at the distance `offset_um` on either side.
    pub(crate) fn sample_beside(&self, offset_um: f64, tolerance_um: f64) -> Vec<CurvePoint> {
        let quarter = self.quarter();
        let tolerance_um = tolerance_um.max(LEAST_TOLERANCE * quarter.pitch_um());
        let offset_um = offset_um.abs();
        let whole = quarter_points(quarter, 0.0, offset_um, tolerance_um);
        let is_cut_short = self.skipped_um() > 0.0;
        let cut = is_cut_short.then(|| quarter_points(quarter, self.skipped_um(), offset_um, tolerance_um));
        let bend_steps = self.end_bend().map_or(0, |bend| {
            let step_um = greatest_step_um(1.0 / bend.radius_um, offset_um, tolerance_um);
            (bend.length_um / step_um).ceil().max(1.0) as u32
        });
        let mut points = Vec::with_capacity(4 * self.periods() as usize * whole.len() + 4);
        points.push(self.start());
        for part in self.parts() {
            match part {
                Part::Lead => points.push(self.at(self.lead_um())),
                Part::EndLead => points.push(self.end()),
                Part::Bend | Part::EndBend => {
                    let length_um = self.opening_um() - self.lead_um();
                    let start_um = match part {
                        Part::Bend => self.lead_um(),
                        _ => self.contour_length_um() - self.opening_um(),
                    };
                    points.extend(
                        (1..=bend_steps).map(|step| {
                            self.at(start_um + length_um * f64::from(step) / f64::from(bend_steps))
                        }),
                    );
                }
                Part::Quarter(index) => {
                    let is_outermost = index == self.first_index() || index == self.last_index();
                    let local = cut.as_ref().filter(|_| is_outermost).unwrap_or(&whole);
                    let placement = self.placement(index);
                    let start_um = self.quarter_start_um(index);
                    let place = |point: &CurvePoint| {
                        let run_um = placement.local_s_um(point.s_um, quarter.length_um());
                        placement.place(*point, start_um + run_um)
                    };
                    // The first point repeats the last one of the part before.
                    if placement.is_backward {
                        points.extend(local.iter().rev().skip(1).map(place));
                    } else {
                        points.extend(local.iter().skip(1).map(place));
                    }
                }
            }
        }
        points
    }
}

/// Points of a quarter from the contour length `from_um` to its crest.
fn quarter_points(quarter: &Quarter, from_um: f64, offset_um: f64, tolerance_um: f64) -> Vec<CurvePoint> {
    let mut points = vec![quarter.at(quarter.length_um())];
    for piece in quarter.pieces().iter().rev() {
        let start_um = piece.start_um().max(from_um);
        if start_um >= piece.end_um() {
            break;
        }
        let mut s_um = piece.end_um();
        // Equal steps where the curvature is constant.
        let equal_step_um = piece.constant_curvature_per_um().map(|curvature| {
            let step_um = greatest_step_um(curvature.abs(), offset_um, tolerance_um);
            (s_um - start_um) / ((s_um - start_um) / step_um).ceil().max(1.0)
        });
        let mut curvature = piece.sample(1.0).kappa_per_um.abs();
        while s_um > start_um {
            let step_um =
                equal_step_um.unwrap_or_else(|| greatest_step_um(curvature, offset_um, tolerance_um));
            let next_um = s_um - step_um;
            // No sliver at the end, which only rounding can make.
            s_um = if next_um > start_um + 1e-6 * step_um { next_um } else { start_um };
            let point = piece.curve_point(piece.u_from_s(s_um), s_um);
            curvature = point.kappa_per_um.abs();
            points.push(point);
        }
    }
    points.reverse();
    points
}

/// The length along which a curve no tighter than `curvature` stays within the tolerance of its chord.
fn greatest_step_um(curvature: f64, offset_um: f64, tolerance_um: f64) -> f64 {
    // Nearly straight: 2 acos(1 − x)/κ ≈ (8 tolerance/κ)^½ would lose its digits.
    let flat = curvature * tolerance_um / (1.0 + curvature * offset_um);
    let turn = 4.0 * (0.5 * flat).min(1.0).sqrt().asin();
    if curvature > 0.0 { turn.min(MOST_TURN_RAD) / curvature } else { f64::INFINITY }
}
