//! The branch of buckled states that begins at the onset.

use super::branch::{Arrival, March, MotionPath};
use super::error::SpatialError;
use super::newton::Outcome;
use super::problem::{Ribbon, SpatialProblem};
use super::rod::Pose;
use super::solution::SpatialSolution;
use super::solver::{SpatialSolver, finish, release};
use super::state::SpatialState;
use super::vector::{Vec3, scale, turned};
use crate::{EndMotion, Onset};

/// A buckled ribbon, and how it was reached from the onset.
#[derive(Debug, Clone)]
pub struct BuckledBranch {
    /// The state at the problem's stretch.
    pub solution: SpatialSolution,
    /// The stable states on the way, the first one just past the onset.
    pub states: Vec<SpatialState>,
    /// Stretch at which the branch that begins at onset lost its stability and the ribbon went over to another state;
    /// none if it is that branch still.
    pub left_at_stretch: Option<f64>,
    /// Newton steps in all.
    pub iterations: u32,
}

/// Modes that may be unstable besides the one followed.
const SPARE_MODES: usize = 0;
/// Rotation of a start at the target where the switch at onset fails, in radians.
const KICK: f64 = 0.3;

impl SpatialSolver {
    /// The buckled state at the problem's stretch, by the branch that begins at `onset`.
    ///
    /// The flat ribbon at onset is turned by the mode there; the stretch at which that amplitude is in equilibrium follows,
    /// and stable states are followed in steps from it. Short of the onset the flat state is returned. With a curl
    /// the branch is that of the ribbon without one, to which the curl is added at the end, with either sign of the
    /// deflection; the lower energy is kept. Returns none if `keep_going` says to stop.
    ///
    /// For one period other states often have less energy: see [`SpatialSolver::stable_states`].
    ///
    /// # Errors
    /// [`SpatialError`] if the problem is impossible or no stable state is found on the way.
    pub fn buckled(
        &mut self,
        problem: &SpatialProblem<'_>,
        onset: &Onset,
        keep_going: &dyn Fn() -> bool,
    ) -> Result<Option<BuckledBranch>, SpatialError> {
        problem.check()?;
        let mut ribbon = Ribbon::new(problem, self.per_quarter);
        let curl = std::mem::take(&mut ribbon.rod.section.curl);
        if !is_beyond(problem.motion, onset.motion, ribbon.span) {
            let solution = self.short_of_onset(problem, ribbon, curl)?;
            return Ok(Some(BuckledBranch {
                iterations: solution.iterations,
                states: vec![solution.state.clone()],
                left_at_stretch: None,
                solution,
            }));
        }
        let Some(mut march) = self.follow(&ribbon, problem.motion, onset, keep_going)? else {
            return Ok(None);
        };
        if let Some(failure) = march.failure.take() {
            return Err(failure);
        }
        let path = MotionPath { from: onset.motion, to: problem.motion };
        let states = states(&ribbon, &path, &march);
        let Some(last) = march.arrivals.pop() else {
            return Err(SpatialError::NotConverged {
                stretch: problem.motion.stretch,
                reached: onset.stretch,
                residual: f64::NAN,
                iterations: march.iterations as u32,
            });
        };
        let (mut pose, mut outcome) = (last.pose, last.outcome);
        if curl != 0.0 {
            ribbon.rod.section.curl = curl;
            outcome = self.curl_either_way(&mut ribbon, problem.motion, &mut pose);
            march.iterations += outcome.iterations;
        }
        outcome.iterations = march.iterations;
        let reached = states.last().map_or(onset.stretch, |state| state.stretch);
        Ok(Some(BuckledBranch {
            solution: finish(problem, &ribbon, &pose, outcome, reached)?,
            states,
            left_at_stretch: march.left_at.map(|share| path.at(share).stretch),
            iterations: march.iterations as u32,
        }))
    }

    /// The flat ribbon, or what a curl makes of it.
    fn short_of_onset(
        &mut self,
        problem: &SpatialProblem<'_>,
        mut ribbon: Ribbon,
        curl: f64,
    ) -> Result<SpatialSolution, SpatialError> {
        let mut pose = self.flat_on(&ribbon, problem.motion, None)?;
        ribbon.rod.section.curl = curl;
        let target = ribbon.target(problem.motion);
        let outcome = if curl == 0.0 {
            self.settle(&ribbon, &target, &mut pose)
        } else {
            self.curled(&mut ribbon, &target, &mut pose)
        };
        finish(problem, &ribbon, &pose, outcome, 0.0)
    }

    /// Adds the curl to a state and to its mirror image; keeps the one of less energy.
    fn curl_either_way(&mut self, ribbon: &mut Ribbon, motion: EndMotion, pose: &mut Pose) -> Outcome {
        let target = ribbon.target(motion);
        let mut image = Pose {
            frames: pose.frames.iter().map(|[w, x, y, z]| [*w, -x, -y, *z]).collect(),
            force: [pose.force[0], pose.force[1], -pose.force[2]],
        };
        let energy = |ribbon: &Ribbon, pose: &Pose| {
            let chord: f64 = (0..3).map(|i| pose.force[i] * target.chord[i]).sum();
            ribbon.rod.value(pose).0 + chord
        };
        let mut outcome = self.curled(ribbon, &target, pose);
        let other = self.curled(ribbon, &target, &mut image);
        let is_better = energy(ribbon, &image) < energy(ribbon, pose) || !outcome.is_converged;
        if other.is_converged && other.unstable == 0 && is_better {
            *pose = image;
            outcome = other;
        }
        outcome
    }

    /// Follows the branch from an onset to a motion; the ribbon must have no curl.
    pub(crate) fn follow(
        &mut self,
        ribbon: &Ribbon,
        to: EndMotion,
        onset: &Onset,
        keep_going: &dyn Fn() -> bool,
    ) -> Result<Option<March>, SpatialError> {
        let path = MotionPath { from: onset.motion, to };
        let flat = self.flat_on(ribbon, onset.motion, Some(&onset.planar))?;
        let mut mode: Vec<Vec3> = ribbon
            .places
            .iter()
            .map(|s| {
                let point = onset.mode.at(*s);
                [point.alpha_rad, point.beta_rad, 0.0]
            })
            .collect();
        release(&mut mode);
        let slenderness = ribbon.slenderness();
        if let Some(first) = self.switch(ribbon, &path, &flat, &mode, slenderness, SPARE_MODES) {
            return Ok(self.march(ribbon, &path, first, keep_going));
        }
        // Hardly past the onset, or an onset of another mesh: start at the end.
        let mut pose = self.flat_on(ribbon, to, Some(&onset.planar))?;
        for (frame, turn) in pose.frames.iter_mut().zip(&mode) {
            *frame = turned(*frame, scale(*turn, KICK));
        }
        let outcome = self.settle(ribbon, &ribbon.target(to), &mut pose);
        let failure = (!outcome.is_converged || outcome.unstable > 0).then_some(SpatialError::NotConverged {
            stretch: to.stretch,
            reached: onset.stretch,
            residual: outcome.last_turn,
            iterations: outcome.iterations as u32,
        });
        let iterations = outcome.iterations;
        Ok(Some(March {
            arrivals: vec![Arrival { share: 1.0, pose, outcome }],
            iterations,
            left_at: None,
            failure,
        }))
    }
}

/// The states of a march.
pub(crate) fn states(ribbon: &Ribbon, path: &MotionPath, march: &March) -> Vec<SpatialState> {
    let state =
        |arrival: &Arrival| SpatialState::new(ribbon, &arrival.pose, path.at(arrival.share).stretch, false);
    march.arrivals.iter().map(state).collect()
}

/// True if a motion lies past the onset as seen from rest.
pub(crate) fn is_beyond(motion: EndMotion, onset: EndMotion, span: f64) -> bool {
    let parts = |m: EndMotion| [m.stretch, m.sideways_um / span, m.turn_rad];
    let (here, there) = (parts(motion), parts(onset));
    (0..3).map(|i| (here[i] - there[i]) * there[i]).sum::<f64>() > 0.0
}
