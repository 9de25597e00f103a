//! A ribbon in space to be solved, and its elements.

use ogee_geometry::{Centreline, Segment};

use super::error::SpatialError;
use super::law::Section;
use super::rod::{Pose, Rod, Target};
use super::vector::{Quat, about_z};
use crate::EndMotion;
use crate::{OutOfPlane, RibbonSolution, Strips};

/// Most periods that are solved as a whole.
const MOST_PERIODS: u32 = 2000;
/// Weights of length and of turning in the density of elements.
const DENSITY: [f64; 2] = [0.7, 0.3];
/// Length of the last over the first element of the stretch at a clamp.
const CLAMP_GROWTH: f64 = 4.0;
/// Samples along a stretch of varying curvature for the density of elements.
const SAMPLES: u32 = 24;

/// A whole ribbon between two islands, clamped at both ends and free to leave its plane.
#[derive(Debug, Clone, Copy)]
pub struct SpatialProblem<'a> {
    /// The ribbon at rest, leads included.
    pub line: &'a Centreline,
    /// Section of the ribbon. Its stiffness must be physical, in the unit of `out`: strips built from E t.
    pub strips: &'a Strips,
    /// Stiffness against twist and out-of-plane bending.
    pub out: &'a OutOfPlane,
    /// How the far island moves.
    pub motion: EndMotion,
    /// Curvature about the left normal that the released ribbon would take if it were free, in 1/µm; 0 for a ribbon
    /// without a gradient of stress through its thickness. Positive bends the ribbon down, towards −z.
    pub curl_per_um: f64,
}

impl SpatialProblem<'_> {
    /// The same ribbon at another stretch.
    #[must_use]
    pub fn at_stretch(self, stretch: f64) -> Self {
        Self { motion: EndMotion { stretch, ..self.motion }, ..self }
    }

    pub(crate) fn check(&self) -> Result<(), SpatialError> {
        self.out.check()?;
        let EndMotion { stretch, sideways_um, turn_rad } = self.motion;
        let is_finite = stretch.is_finite() && sideways_um.is_finite() && turn_rad.is_finite();
        if !is_finite || stretch <= -1.0 || turn_rad.abs() > std::f64::consts::TAU {
            return Err(SpatialError::BadMotion { stretch, sideways_um, turn_rad });
        }
        let limit_per_um = 1.0 / self.out.thickness_um();
        if !self.curl_per_um.is_finite() || self.curl_per_um.abs() > limit_per_um {
            return Err(SpatialError::BadCurl { curl_per_um: self.curl_per_um, limit_per_um });
        }
        let periods = self.line.periods();
        if periods > MOST_PERIODS {
            return Err(SpatialError::TooManyPeriods { periods, limit: MOST_PERIODS });
        }
        check_reach(self.line, self.strips.width_um())
    }

    pub(crate) fn section(&self) -> Section {
        Section::new(self.strips, self.out, self.curl_per_um)
    }
}

/// Refuses a ribbon or layer whose inner edge folds over in a bend.
pub(crate) fn check_reach(line: &Centreline, width_um: f64) -> Result<(), SpatialError> {
    let radius_um = line.least_radius_um();
    if 0.5 * width_um < radius_um { Ok(()) } else { Err(SpatialError::WiderThanBend { radius_um, width_um }) }
}

/// A ribbon cut into elements.
#[derive(Debug, Clone)]
pub(crate) struct Ribbon {
    pub(crate) rod: Rod,
    /// Contour length at rest from the near end to each node, in µm.
    pub(crate) places: Vec<f64>,
    /// Elements of each smooth stretch.
    pub(crate) counts: Vec<usize>,
    /// Chord of the rest frames, in µm.
    pub(crate) chord: [f64; 3],
    pub(crate) start: [f64; 3],
    pub(crate) span: f64,
    end_angle: f64,
}

impl Ribbon {
    /// Cuts the ribbon into about `per_quarter` elements for each quarter period.
    pub(crate) fn new(problem: &SpatialProblem<'_>, per_quarter: usize) -> Self {
        let quarter = problem.line.quarter();
        let (length, tilt) = (quarter.length_um(), quarter.tilt_rad());
        let last = problem.line.segments().count() - 1;
        let count = |(index, segment): (usize, Segment)| {
            let turning = (segment.sample(1.0).phi_rad - segment.sample(0.0).phi_rad).abs();
            let share = DENSITY[0] * segment.length_um() / length + DENSITY[1] * turning / tilt;
            let usual = ((share * per_quarter as f64).round() as usize).clamp(1, 4 * per_quarter);
            // Stresses fall off steeply from a clamp.
            if index == 0 || index == last { 2 * usual } else { usual }
        };
        let counts: Vec<usize> = problem.line.segments().enumerate().map(count).collect();
        Self::with_counts(problem, counts)
    }

    /// Cuts each smooth stretch into its number of elements.
    pub(crate) fn with_counts(problem: &SpatialProblem<'_>, counts: Vec<usize>) -> Self {
        let line = problem.line;
        let quarter = line.quarter();
        let (length, tilt) = (quarter.length_um(), quarter.tilt_rad());
        let strips = problem.strips;
        let ei = strips.ei_un_um2();
        let mut builder = Rod::builder(problem.section(), |kappa| ei * strips.bending_ratio(kappa));
        let mut places = vec![0.0];
        for (index, segment) in line.segments().enumerate() {
            let (count, clamps) = (counts[index], [index == 0, index + 1 == counts.len()]);
            let cuts = cuts(&segment, count, length, tilt, clamps);
            let point_at = |s: f64| {
                let sample = segment.sample(segment.u_from_s(s));
                (about_z(sample.phi_rad), sample.kappa_per_um)
            };
            let mut start = point_at(cuts[0]);
            for pair in cuts.windows(2) {
                let place = 0.5 * (pair[0] + pair[1]);
                let (middle, end) = (point_at(place), point_at(pair[1]));
                let frames = [start.0, middle.0, end.0];
                let curvature = [start.1, middle.1, end.1];
                start = end;
                builder.push(pair[1] - pair[0], frames, curvature);
                places.push(place);
                places.push(pair[1]);
            }
        }
        let rod = builder.finish();
        let (_, minus_chord) = rod.value_at_rest();
        let (start, end) = (line.start(), line.end());
        Self {
            rod,
            places,
            counts,
            chord: minus_chord.map(|x| -x),
            start: [start.x_um, start.y_um, 0.0],
            span: line.span_um(),
            end_angle: end.phi_rad,
        }
    }

    /// Width over thickness as the stiffness has it: √(`EI_in`/`EI_out`).
    pub(crate) fn slenderness(&self) -> f64 {
        (self.rod.elements[0].rest[0].ei_in / self.rod.section.ei_out).sqrt()
    }

    /// Where the far end goes.
    pub(crate) fn target(&self, motion: EndMotion) -> Target {
        let [x, y, _] = self.chord;
        Target {
            chord: [x + motion.stretch * self.span, y + motion.sideways_um, 0.0],
            end: about_z(self.end_angle + motion.turn_rad),
        }
    }

    /// The pose of a flat ribbon solved elsewhere.
    pub(crate) fn flat_pose(&self, planar: &RibbonSolution) -> Pose {
        let [x, y] = planar.force_un;
        Pose { frames: self.flat(|s| planar.at(s).phi_rad), force: [x, y, 0.0] }
    }

    /// Frames of the flat ribbon with the tangent angles `phi`, in the hemisphere of the rest frames.
    pub(crate) fn flat(&self, mut phi: impl FnMut(f64) -> f64) -> Vec<Quat> {
        self.places
            .iter()
            .zip(&self.rod.rest)
            .map(|(s, rest)| {
                let q = about_z(phi(*s));
                if super::vector::dot4(q, *rest) < 0.0 { q.map(|x| -x) } else { q }
            })
            .collect()
    }
}

/// Element boundaries along a smooth stretch.
fn cuts(segment: &Segment, count: usize, length: f64, tilt: f64, clamps: [bool; 2]) -> Vec<f64> {
    let (start, run) = (segment.start_um(), segment.length_um());
    if count == 1 || segment.constant_curvature_per_um().is_some() {
        return (0..=count).map(|i| start + run * graded(i, count, clamps)).collect();
    }
    let places: Vec<(f64, f64)> = {
        let mut measure = 0.0;
        let mut before = segment.sample(0.0);
        let mut s_before = start;
        let mut list = vec![(0.0, start)];
        for i in 1..=SAMPLES {
            let u = f64::from(i) / f64::from(SAMPLES);
            let here = segment.sample(u);
            let s = segment.s_um(u);
            measure += DENSITY[0] * (s - s_before) / length
                + DENSITY[1] * (here.phi_rad - before.phi_rad).abs() / tilt;
            list.push((measure, s));
            (before, s_before) = (here, s);
        }
        list
    };
    let total = places[places.len() - 1].0;
    let mut at = 0;
    let mut result = vec![start];
    for i in 1..count {
        let wanted = total * graded(i, count, clamps);
        while at + 2 < places.len() && places[at + 1].0 < wanted {
            at += 1;
        }
        let ((m0, s0), (m1, s1)) = (places[at], places[at + 1]);
        result.push(s0 + (s1 - s0) * (wanted - m0) / (m1 - m0));
    }
    result.push(start + run);
    result
}

/// Share of the stretch at the boundary `i` of `count` elements, which grow away from a clamp.
fn graded(i: usize, count: usize, clamps: [bool; 2]) -> f64 {
    let share = i as f64 / count as f64;
    let grow = |x: f64| (CLAMP_GROWTH.powf(x) - 1.0) / (CLAMP_GROWTH - 1.0);
    match clamps {
        [true, false] => grow(share),
        [false, true] => 1.0 - grow(1.0 - share),
        _ => share,
    }
}
