//! A ribbon's states along its stretch, kept to be looked at again.

use ogee_geometry::Centreline;

use super::branch::{Arrival, MotionPath};
use super::buckled::{is_beyond, states};
use super::error::SpatialError;
use super::newton::Outcome;
use super::problem::{Ribbon, SpatialProblem};
use super::rod::Pose;
use super::solution::{SpatialPoint, SpatialSolution};
use super::solver::{SpatialSolver, finish};
use super::state::SpatialState;
use crate::{EndMotion, Onset, OutOfPlane, Strips};

/// Rotation between neighbours from which they are states of different kind, in radians: twice that of a step.
const JUMP: f64 = 0.7;

/// The states of one ribbon from compression to a far stretch: flat up to the onset, on the first branch beyond.
///
/// It is made once per design and answers for any stretch in between by a short solve from its neighbours.
#[derive(Debug, Clone)]
pub struct BuckledPath {
    /// Stretch at which the ribbon leaves its plane; none if it does not, or if a curl bends it from the start.
    pub onset_stretch: Option<f64>,
    /// Stretches that the path covers.
    pub range: [f64; 2],
    /// Stretch at which the branch that begins at onset lost its stability and the ribbon went over to another state.
    pub left_at_stretch: Option<f64>,
    /// Why the path ends before the stretch asked for; none if it does not.
    pub trouble: Option<SpatialError>,
    /// Newton steps in all.
    pub iterations: u32,
    line: Centreline,
    strips: Strips,
    out: OutOfPlane,
    curl_per_um: f64,
    up_to: EndMotion,
    /// Flat states by rising stretch.
    flat: Vec<SpatialState>,
    /// Buckled states by rising distance from the onset, or from rest.
    buckled: Vec<SpatialState>,
    /// Curled states from rest into compression.
    compressed: Vec<SpatialState>,
}

impl BuckledPath {
    /// Follows the ribbon from rest to the problem's motion, and into compression down to `lowest_stretch` (0 or less).
    ///
    /// The motion is made in proportion: at another stretch the sideways move and the turn are scaled alike.
    /// Returns none if `keep_going` says to stop.
    ///
    /// * `onset`: where the ribbon leaves its plane on the way to the motion; none if it does not. A ribbon with a curl
    ///   needs none: it is followed from rest as it is.
    ///
    /// # Errors
    /// [`SpatialError`] if the problem is impossible or not even its first states are found; if only the far part fails,
    /// `trouble` says so and `range` is shorter.
    pub fn follow(
        solver: &mut SpatialSolver,
        problem: &SpatialProblem<'_>,
        onset: Option<&Onset>,
        lowest_stretch: f64,
        keep_going: &dyn Fn() -> bool,
    ) -> Result<Option<Self>, SpatialError> {
        problem.check()?;
        problem.at_stretch(lowest_stretch).check()?;
        let ribbon = Ribbon::new(problem, solver.per_quarter);
        let lowest_stretch = lowest_stretch.min(0.0);
        let mut path = Self {
            onset_stretch: None,
            range: [lowest_stretch, problem.motion.stretch],
            left_at_stretch: None,
            trouble: None,
            iterations: 0,
            line: problem.line.clone(),
            strips: *problem.strips,
            out: *problem.out,
            curl_per_um: problem.curl_per_um,
            up_to: problem.motion,
            flat: Vec::new(),
            buckled: Vec::new(),
            compressed: Vec::new(),
        };
        let done = if problem.curl_per_um == 0.0 {
            path.follow_flat(solver, &ribbon, onset, keep_going)?
        } else {
            path.follow_curled(solver, ribbon, keep_going)?
        };
        Ok(done.then_some(path))
    }

    fn motion(&self, stretch: f64) -> EndMotion {
        if self.up_to.stretch == 0.0 {
            return EndMotion { stretch, ..self.up_to };
        }
        self.up_to.scaled(stretch / self.up_to.stretch)
    }

    fn problem(&self, stretch: f64) -> SpatialProblem<'_> {
        SpatialProblem {
            line: &self.line,
            strips: &self.strips,
            out: &self.out,
            motion: self.motion(stretch),
            curl_per_um: self.curl_per_um,
        }
    }

    fn follow_flat(
        &mut self,
        solver: &mut SpatialSolver,
        ribbon: &Ribbon,
        onset: Option<&Onset>,
        keep_going: &dyn Fn() -> bool,
    ) -> Result<bool, SpatialError> {
        let onset = onset.filter(|onset| is_beyond(self.up_to, onset.motion, ribbon.span));
        let far = onset.map_or(self.up_to.stretch, |onset| onset.stretch);
        let mut stretches = vec![self.range[0], 0.0, far];
        stretches.dedup();
        let rest = Pose { frames: ribbon.rod.rest.clone(), force: [0.0; 3] };
        for stretch in stretches {
            if !keep_going() {
                return Ok(false);
            }
            let mut pose = rest.clone();
            match solver.flat_from(ribbon, EndMotion::default(), self.motion(stretch), &mut pose) {
                Ok(outcome) => {
                    self.iterations += outcome.iterations as u32;
                    self.flat.push(SpatialState::new(ribbon, &pose, stretch, true));
                }
                Err(error) => self.cut_short(stretch, error)?,
            }
        }
        self.flat.sort_by(|a, b| a.stretch.total_cmp(&b.stretch));
        let Some(onset) = onset else { return Ok(true) };
        self.onset_stretch = Some(onset.stretch);
        let Some(march) = solver.follow(ribbon, self.up_to, onset, keep_going)? else { return Ok(false) };
        let path = MotionPath { from: onset.motion, to: self.up_to };
        self.buckled = states(ribbon, &path, &march);
        self.iterations += march.iterations as u32;
        self.left_at_stretch = march.left_at.map(|share| path.at(share).stretch);
        if let Some(error) = march.failure {
            let reached = self.buckled.last().map_or(onset.stretch, |state| state.stretch);
            self.cut_short(reached, error)?;
        }
        Ok(true)
    }

    fn follow_curled(
        &mut self,
        solver: &mut SpatialSolver,
        mut ribbon: Ribbon,
        keep_going: &dyn Fn() -> bool,
    ) -> Result<bool, SpatialError> {
        let rest = EndMotion::default();
        let mut pose = Pose { frames: ribbon.rod.rest.clone(), force: [0.0; 3] };
        let target = ribbon.target(rest);
        let outcome = solver.curled(&mut ribbon, &target, &mut pose);
        if !outcome.is_converged || outcome.unstable > 0 {
            return Err(SpatialError::NotConverged {
                stretch: 0.0,
                reached: 0.0,
                residual: outcome.last_turn,
                iterations: outcome.iterations as u32,
            });
        }
        for end in [self.range[1], self.range[0]] {
            if end == 0.0 {
                continue;
            }
            let path = MotionPath { from: rest, to: self.motion(end) };
            let from = Arrival { share: 0.0, pose: pose.clone(), outcome };
            let Some(march) = solver.march(&ribbon, &path, from, keep_going) else { return Ok(false) };
            let found = states(&ribbon, &path, &march);
            self.iterations += march.iterations as u32;
            if let Some(error) = march.failure {
                self.cut_short(found.last().map_or(0.0, |state| state.stretch), error)?;
            }
            if end > 0.0 {
                self.left_at_stretch = march.left_at.map(|share| path.at(share).stretch);
                self.buckled = found;
            } else {
                self.compressed = found;
            }
        }
        Ok(true)
    }

    /// Keeps what there is when the path ends early; with nothing to keep, the error is the answer.
    fn cut_short(&mut self, reached: f64, error: SpatialError) -> Result<(), SpatialError> {
        let has_any = !self.flat.is_empty() || !self.buckled.is_empty();
        if !has_any && self.curl_per_um == 0.0 {
            return Err(error);
        }
        if reached > 0.0 {
            self.range[1] = self.range[1].min(reached);
        } else {
            self.range[0] = self.range[0].max(reached);
        }
        self.trouble = Some(error);
        Ok(())
    }

    /// The state at a stretch, solved from its neighbours; the stretch is kept within `range`.
    ///
    /// # Errors
    /// [`SpatialError::NotConverged`] if the short solve fails.
    pub fn at(&self, solver: &mut SpatialSolver, stretch: f64) -> Result<SpatialSolution, SpatialError> {
        let stretch = stretch.clamp(self.range[0], self.range[1]);
        let problem = self.problem(stretch);
        problem.check()?;
        let ribbon = Ribbon::new(&problem, solver.per_quarter);
        let target = ribbon.target(problem.motion);
        let (start, is_flat) = self.start(stretch);
        let mut pose = start.pose(&ribbon)?;
        let outcome: Outcome = if is_flat {
            let mut outcome = solver.flat_from(&ribbon, problem.motion, problem.motion, &mut pose)?;
            outcome.unstable = solver.unstable_in_space(&ribbon, &target, &pose);
            outcome
        } else {
            solver.settle(&ribbon, &target, &mut pose)
        };
        finish(&problem, &ribbon, &pose, outcome, start.stretch)
    }

    /// Points along the ribbon at a stretch, interpolated between the states kept without a solve: for drawing.
    ///
    /// # Errors
    /// [`SpatialError`] if the states kept are not of this ribbon's make.
    pub fn drawn_at(
        &self,
        solver: &SpatialSolver,
        stretch: f64,
        points_per_segment: usize,
    ) -> Result<Vec<SpatialPoint>, SpatialError> {
        let stretch = stretch.clamp(self.range[0], self.range[1]);
        let problem = self.problem(stretch);
        let ribbon = Ribbon::new(&problem, solver.per_quarter);
        let (start, _) = self.start(stretch);
        let pose = start.pose(&ribbon)?;
        let outcome =
            Outcome { is_converged: true, iterations: 0, unstable: 0, last_turn: 0.0, is_shifted: false };
        Ok(finish(&problem, &ribbon, &pose, outcome, stretch)?.along(points_per_segment))
    }

    /// A state near the one at a stretch, and whether the ribbon is flat there.
    fn start(&self, stretch: f64) -> (SpatialState, bool) {
        let is_before = |onset: f64| if onset >= 0.0 { stretch <= onset } else { stretch >= onset };
        if !self.flat.is_empty() && (self.buckled.is_empty() || self.onset_stretch.is_none_or(is_before)) {
            return (interpolated(&self.flat, stretch), true);
        }
        let has_compressed = stretch < 0.0 && !self.compressed.is_empty();
        let list = if has_compressed { &self.compressed } else { &self.buckled };
        let (Some(onset), Some(first)) = (self.onset_stretch, list.first()) else {
            return (interpolated(list, stretch), false);
        };
        let share = (stretch - onset) / (first.stretch - onset);
        if !(0.0..1.0).contains(&share) {
            return (interpolated(list, stretch), false);
        }
        // Next to the onset the deflection grows with the root of the distance from it.
        let flat = interpolated(&self.flat, onset);
        (flat.blended(first, share.sqrt()), false)
    }
}

/// Cubic interpolation between states by the stretch; beyond the ends the last state.
fn interpolated(list: &[SpatialState], stretch: f64) -> SpatialState {
    let is_rising = list.len() < 2 || list[list.len() - 1].stretch >= list[0].stretch;
    let after = list
        .partition_point(|state| if is_rising { state.stretch <= stretch } else { state.stretch >= stretch });
    if after == 0 || after == list.len() {
        return list[after.saturating_sub(1)].clone();
    }
    let (low, high) = (after - 1, after);
    if list[low].turn_to(&list[high]) > JUMP {
        // The ribbon went over to another state in between.
        let is_nearer_low = (stretch - list[low].stretch).abs() < (stretch - list[high].stretch).abs();
        return list[if is_nearer_low { low } else { high }].clone();
    }
    let knots = [low.saturating_sub(1), low, high, (high + 1).min(list.len() - 1)];
    let at = |i: usize| list[knots[i]].stretch;
    let width = at(2) - at(1);
    let x = if width == 0.0 { 0.0 } else { (stretch - at(1)) / width };
    // Hermite weights with slopes over the neighbours on both sides.
    let y = 1.0 - x;
    let (h0, h1) = (y * y * (1.0 + 2.0 * x), x * x * (3.0 - 2.0 * x));
    let (d0, d1) = (x * y * y, -x * x * y);
    let slope = |from: usize, to: usize, factor: f64, weights: &mut [f64; 4]| {
        let run = at(to) - at(from);
        if run != 0.0 {
            weights[to] += factor * width / run;
            weights[from] -= factor * width / run;
        }
    };
    let mut weights = [0.0, h0, h1, 0.0];
    slope(0, 2, d0, &mut weights);
    slope(1, 3, d1, &mut weights);
    SpatialState::combined(&[0, 1, 2, 3].map(|i| (&list[knots[i]], weights[i])), stretch)
}
