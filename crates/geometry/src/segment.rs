//! The whole ribbon as a chain of smooth stretches.

use kurbo::Point;

use crate::{Centreline, CurvePoint, Ends, Piece, PieceSample, centreline::Part, placement::Placement};

/// Parts of a piece shorter than this share of the quarter are rounding.
const LEAST_SHARE: f64 = 1e-12;

/// A stretch of a whole ribbon along which the curvature is smooth: a lead, the arc at an end, or a piece of a quarter.
///
/// Its parameter u runs from 0 to 1 along the ribbon and is the natural one of the curve: proportional to x for the
/// sine, to the contour length for all others.
#[derive(Debug, Clone, Copy)]
pub struct Segment {
    start_um: f64,
    length_um: f64,
    curve: Curve,
}

#[derive(Debug, Clone, Copy)]
#[expect(clippy::large_enum_variant, reason = "most segments are pieces, and few live at a time")]
enum Curve {
    /// Constant curvature from a known point.
    Arc { from: CurvePoint, kappa_per_um: f64 },
    /// A piece of the first quarter between two of its parameters, moved to its place.
    Piece { piece: Piece, from: f64, to: f64, placement: Placement },
}

impl Segment {
    fn arc(from: CurvePoint, length_um: f64, kappa_per_um: f64) -> Self {
        Self { start_um: from.s_um, length_um, curve: Curve::Arc { from, kappa_per_um } }
    }

    /// Contour length from the ribbon's start to the segment's, in µm.
    pub fn start_um(&self) -> f64 {
        self.start_um
    }

    /// Contour length from the ribbon's start to the segment's end, in µm.
    pub fn end_um(&self) -> f64 {
        self.start_um + self.length_um
    }

    /// Contour length of the segment, in µm.
    pub fn length_um(&self) -> f64 {
        self.length_um
    }

    /// The curvature in 1/µm where it is constant along the segment (0 for a lead or an arm), none elsewhere.
    pub fn constant_curvature_per_um(&self) -> Option<f64> {
        match &self.curve {
            Curve::Arc { kappa_per_um, .. } => Some(*kappa_per_um),
            Curve::Piece { piece, placement, .. } => {
                piece.constant_curvature_per_um().map(|kappa| placement.curvature(kappa))
            }
        }
    }

    /// Length per parameter, angle and curvature at `u`, 0 at the segment's start to 1 at its end.
    pub fn sample(&self, u: f64) -> PieceSample {
        match &self.curve {
            Curve::Arc { from, kappa_per_um } => PieceSample {
                ds_du_um: self.length_um,
                phi_rad: from.phi_rad + kappa_per_um * self.length_um * u,
                kappa_per_um: *kappa_per_um,
            },
            Curve::Piece { piece, from, to, placement } => {
                let sample = piece.sample(from + (to - from) * u);
                PieceSample {
                    ds_du_um: sample.ds_du_um * (to - from).abs(),
                    phi_rad: placement.angle(sample.phi_rad),
                    kappa_per_um: placement.curvature(sample.kappa_per_um),
                }
            }
        }
    }

    /// Contour length from the ribbon's start to the point at `u`, in µm.
    pub fn s_um(&self, u: f64) -> f64 {
        match &self.curve {
            Curve::Arc { .. } => self.start_um + self.length_um * u,
            Curve::Piece { piece, from, to, .. } => {
                self.start_um + (piece.s_um(from + (to - from) * u) - piece.s_um(*from)).abs()
            }
        }
    }

    /// The parameter at the contour length `s_um` from the ribbon's start, kept within 0 and 1.
    pub fn u_from_s(&self, s_um: f64) -> f64 {
        let run_um = s_um - self.start_um;
        let u = match &self.curve {
            Curve::Arc { .. } => run_um / self.length_um,
            Curve::Piece { piece, from, to, .. } => {
                let sign = (to - from).signum();
                (piece.u_from_s(piece.s_um(*from) + sign * run_um) - from) / (to - from)
            }
        };
        u.clamp(0.0, 1.0)
    }

    /// Position at `u` in µm; the ribbon begins at x = 0 and its midline is y = 0.
    pub fn point(&self, u: f64) -> Point {
        match &self.curve {
            Curve::Arc { from, kappa_per_um } => {
                let run_um = self.length_um * u;
                let half = 0.5 * kappa_per_um * run_um;
                let chord_um = if half == 0.0 { run_um } else { run_um * half.sin() / half };
                let (sin, cos) = (from.phi_rad + half).sin_cos();
                Point::new(from.x_um + chord_um * cos, from.y_um + chord_um * sin)
            }
            Curve::Piece { piece, from, to, placement } => {
                placement.affine() * piece.point(from + (to - from) * u)
            }
        }
    }
}

impl Centreline {
    /// The smooth stretches of the whole ribbon in order, leads and end arcs included.
    ///
    /// Neighbours join at each jump of curvature, at each crossing and at each crest, so a ribbon of n periods has at
    /// least 4 n of them. They are made as they are asked for.
    ///
    /// ```
    /// use ogee_geometry::{Centreline, Ends, Family, Quarter};
    ///
    /// let quarter = Quarter::new(Family::Arc, 400.0, 100.0)?;
    /// let ribbon = Centreline::new(quarter, 3, Ends::Crest, 50.0, None)?;
    /// let contour_um: f64 = ribbon.segments().map(|segment| segment.length_um()).sum();
    /// assert_eq!(ribbon.segments().count(), 14);
    /// assert!((contour_um - ribbon.contour_length_um()).abs() < 1e-9);
    /// # Ok::<(), ogee_geometry::ShapeError>(())
    /// ```
    pub fn segments(&self) -> impl Iterator<Item = Segment> + '_ {
        self.parts().flat_map(|part| match part {
            Part::Lead => vec![Segment::arc(self.start(), self.lead_um(), 0.0)],
            Part::Bend => self.end_arc(self.lead_um(), 1.0),
            Part::EndBend => {
                let start_um = self.contour_length_um() - self.opening_um();
                self.end_arc(start_um, if self.ends() == Ends::Crest { 1.0 } else { -1.0 })
            }
            Part::EndLead => {
                let from = self.at(self.contour_length_um() - self.lead_um());
                vec![Segment::arc(CurvePoint { kappa_per_um: 0.0, ..from }, self.lead_um(), 0.0)]
            }
            Part::Quarter(index) => self.quarter_segments(index),
        })
    }

    fn end_arc(&self, start_um: f64, sign: f64) -> Vec<Segment> {
        let Some(bend) = self.end_bend() else { return Vec::new() };
        vec![Segment::arc(self.at(start_um), bend.length_um, sign / bend.radius_um)]
    }

    fn quarter_segments(&self, index: i64) -> Vec<Segment> {
        let quarter = self.quarter();
        let placement = self.placement(index);
        // An end arc replaces the beginning of the first quarter and, turned by 180°, the end of the last.
        let cut_um =
            if index == self.first_index() || index == self.last_index() { self.skipped_um() } else { 0.0 };
        let length_um = quarter.length_um();
        let origin_um = self.quarter_start_um(index);
        let pieces = quarter.pieces().iter().filter_map(|piece| {
            let (near_um, far_um) = (piece.start_um().max(cut_um), piece.end_um());
            if far_um - near_um <= LEAST_SHARE * length_um {
                return None;
            }
            let near = if near_um > piece.start_um() { piece.u_from_s(near_um) } else { 0.0 };
            let (from, to, run_um) =
                if placement.is_backward { (1.0, near, length_um - far_um) } else { (near, 1.0, near_um) };
            Some(Segment {
                start_um: origin_um + run_um,
                length_um: far_um - near_um,
                curve: Curve::Piece { piece: *piece, from, to, placement },
            })
        });
        let mut segments: Vec<Segment> = pieces.collect();
        if placement.is_backward {
            segments.reverse();
        }
        segments
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{ArmDrive, Family, Quarter};

    fn families() -> [Family; 5] {
        [
            Family::Sine,
            Family::Arc,
            Family::ArcAndArm(ArmDrive::Radius { radius_um: 70.0 }),
            Family::SineGenerated,
            Family::Clothoid { plateau_share: 0.3 },
        ]
    }

    #[test]
    fn segments_run_along_the_centreline() {
        for family in families() {
            for ends in [Ends::Crossing, Ends::Crest, Ends::Midline] {
                let quarter = Quarter::new(family, 500.0, 160.0).unwrap();
                let ribbon = Centreline::new(quarter, 2, ends, 30.0, Some(60.0)).unwrap();
                let mut s_um = 0.0;
                for segment in ribbon.segments() {
                    assert!((segment.start_um() - s_um).abs() < 1e-8, "{family:?} {ends:?}");
                    s_um = segment.end_um();
                    for u in [0.02, 0.4, 0.98] {
                        let at_um = segment.s_um(u);
                        assert!((segment.u_from_s(at_um) - u).abs() < 1e-8);
                        let (sample, point) = (segment.sample(u), segment.point(u));
                        let true_point = ribbon.at(at_um);
                        assert!(point.distance(true_point.point()) < 1e-7, "{family:?} {ends:?} {u}");
                        assert!((sample.phi_rad - true_point.phi_rad).abs() < 1e-8);
                        assert!((sample.kappa_per_um - true_point.kappa_per_um).abs() < 1e-8);
                        let step = 1e-4;
                        let slope = (segment.s_um(u + step) - segment.s_um(u - step)) / (2.0 * step);
                        assert!((slope / sample.ds_du_um - 1.0).abs() < 1e-6);
                    }
                }
                assert!((s_um - ribbon.contour_length_um()).abs() < 1e-8);
            }
        }
    }
}
