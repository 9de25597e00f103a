//! All stable states that can be found at one stretch.

use super::branch::{Arrival, MotionPath};
use super::error::SpatialError;
use super::newton::Outcome;
use super::problem::{Ribbon, SpatialProblem};
use super::rod::Pose;
use super::solution::{SpatialSolution, StateSymmetry};
use super::solver::{SpatialSolver, finish};
use super::state::SpatialState;
use super::vector::{Vec3, add, scale, turned};
use crate::{EndMotion, RibbonSolution};

/// Relative difference of energy and height below which two states are one.
const SAME: [f64; 2] = [2e-4, 1e-2];
/// Largest rotations of the starts, in radians.
const AMPLITUDES: [f64; 3] = [0.5, 1.0, 0.15];
/// Stretch at which a full search begins, over the slack.
const EARLY: f64 = 0.15;
/// Most modes tried.
const MOST_MODES: usize = 7;

/// How hard to look for other stable states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum SearchEffort {
    /// The two lowest modes at one amplitude.
    #[default]
    Quick,
    /// The 2 n + 3 lowest modes (7 at most) and their sums and differences, at three amplitudes each. Far from rest the
    /// search is made at a small stretch as well and each state found is followed.
    Full,
}

/// The stable states found at one stretch.
#[derive(Debug, Clone)]
pub struct StableStates {
    /// Distinct stable states by rising energy; mirror images in the ribbon's plane count once, unless a curl tells
    /// them apart. No search proves that the lowest of all is among them.
    pub states: Vec<SpatialSolution>,
    /// Starts that were tried.
    pub starts: usize,
    /// Starts from which no stable state was reached.
    pub failed: usize,
}

impl StableStates {
    /// Least and greatest peak tensile strain over the states; none if there is no state.
    pub fn peak_spread(&self) -> Option<[f64; 2]> {
        let peaks = || self.states.iter().map(|state| state.peak_tensile.strain);
        (!self.states.is_empty())
            .then(|| [peaks().fold(f64::INFINITY, f64::min), peaks().fold(f64::NEG_INFINITY, f64::max)])
    }
}

impl SpatialSolver {
    /// Looks for stable states at the problem's stretch from many starts.
    ///
    /// Each start is the flat ribbon turned by a mode out of its plane, or one of `seeds` (the branch followed from the
    /// onset, the state of a neighbour). Returns none if `keep_going` says to stop.
    ///
    /// * `planar`: the flat state if it is known; it is solved for otherwise.
    ///
    /// # Errors
    /// [`SpatialError`] if the problem is impossible or the flat state is not found.
    pub fn stable_states(
        &mut self,
        problem: &SpatialProblem<'_>,
        planar: Option<&RibbonSolution>,
        seeds: &[SpatialState],
        effort: SearchEffort,
        keep_going: &dyn Fn() -> bool,
    ) -> Result<Option<StableStates>, SpatialError> {
        problem.check()?;
        let ribbon = Ribbon::new(problem, self.per_quarter);
        let mut found = Found { is_curled: problem.curl_per_um != 0.0, ..Found::default() };
        for seed in seeds {
            if !keep_going() {
                return Ok(None);
            }
            let pose = seed.pose(&ribbon)?;
            self.try_from(&ribbon, problem.motion, pose, &mut found);
        }
        let near = EARLY * problem.line.slack();
        if effort == SearchEffort::Full && problem.motion.stretch > 1.5 * near {
            if !self.find_early(&ribbon, problem, near, &mut found, keep_going) {
                return Ok(None);
            }
            if !self.find(&ribbon, problem, planar, effort, &AMPLITUDES[..1], &mut found, keep_going)? {
                return Ok(None);
            }
        } else {
            let amplitudes = if effort == SearchEffort::Quick { &AMPLITUDES[..1] } else { &AMPLITUDES[..] };
            if !self.find(&ribbon, problem, planar, effort, amplitudes, &mut found, keep_going)? {
                return Ok(None);
            }
        }
        found.kept.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut states = Vec::with_capacity(found.kept.len());
        for (_, pose, outcome) in &found.kept {
            let solution = finish(problem, &ribbon, pose, *outcome, problem.motion.stretch)?;
            let is_known = states.iter().any(|other| is_same(&solution, other, found.is_curled));
            if !is_known {
                states.push(solution);
            }
        }
        Ok(Some(StableStates { states, starts: found.starts, failed: found.failed }))
    }

    /// Tries the modes of the flat ribbon at a motion; false if it was told to stop.
    #[expect(clippy::too_many_arguments, reason = "the parts of one search")]
    fn find(
        &mut self,
        ribbon: &Ribbon,
        problem: &SpatialProblem<'_>,
        planar: Option<&RibbonSolution>,
        effort: SearchEffort,
        amplitudes: &[f64],
        found: &mut Found,
        keep_going: &dyn Fn() -> bool,
    ) -> Result<bool, SpatialError> {
        let flat = self.flat_on(ribbon, problem.motion, planar)?;
        let count = match effort {
            SearchEffort::Quick => 2,
            SearchEffort::Full => (2 * problem.line.periods() as usize + 3).min(MOST_MODES),
        };
        let modes = self.lowest_modes(ribbon, &ribbon.target(problem.motion), &flat, count);
        for amplitude in amplitudes {
            for direction in directions(&modes, effort, found.is_curled) {
                if !keep_going() {
                    return Ok(false);
                }
                let mut pose = flat.clone();
                for (frame, turn) in pose.frames.iter_mut().zip(&direction) {
                    *frame = turned(*frame, scale(*turn, *amplitude));
                }
                self.try_from(ribbon, problem.motion, pose, found);
            }
        }
        Ok(true)
    }

    /// Looks for states at a small stretch, where nearly every start reaches one, and follows them to the problem's;
    /// false if it was told to stop.
    fn find_early(
        &mut self,
        ribbon: &Ribbon,
        problem: &SpatialProblem<'_>,
        near: f64,
        found: &mut Found,
        keep_going: &dyn Fn() -> bool,
    ) -> bool {
        let motion = problem.motion.scaled(near / problem.motion.stretch);
        let early = SpatialProblem { motion, ..*problem };
        let mut there = Found { is_curled: found.is_curled, ..Found::default() };
        let search = self.find(ribbon, &early, None, SearchEffort::Full, &AMPLITUDES, &mut there, keep_going);
        found.starts += there.starts;
        match search {
            Ok(true) => {}
            Ok(false) => return false,
            // Without a flat state there the search at the stretch itself has to do.
            Err(_) => return true,
        }
        found.failed += there.failed;
        let path = MotionPath { from: motion, to: problem.motion };
        for (_, pose, outcome) in there.kept {
            let from = Arrival { share: 0.0, pose, outcome };
            let Some(mut march) = self.march(ribbon, &path, from, keep_going) else { return false };
            if let (None, Some(last)) = (march.failure, march.arrivals.pop()) {
                self.try_from(ribbon, problem.motion, last.pose, found);
            }
        }
        true
    }

    /// The flat pose at a motion, from a planar solution or by steps from rest.
    pub(crate) fn flat_on(
        &mut self,
        ribbon: &Ribbon,
        motion: EndMotion,
        planar: Option<&RibbonSolution>,
    ) -> Result<Pose, SpatialError> {
        if let Some(planar) = planar {
            let mut pose = ribbon.flat_pose(planar);
            if self.flat_from(ribbon, motion, motion, &mut pose).is_ok() {
                return Ok(pose);
            }
        }
        let mut pose = Pose { frames: ribbon.rod.rest.clone(), force: [0.0; 3] };
        self.flat_from(ribbon, EndMotion::default(), motion, &mut pose)?;
        Ok(pose)
    }

    fn try_from(&mut self, ribbon: &Ribbon, motion: EndMotion, mut pose: Pose, found: &mut Found) {
        found.starts += 1;
        let target = ribbon.target(motion);
        let outcome = self.settle(ribbon, &target, &mut pose);
        if !outcome.is_converged || outcome.unstable > 0 {
            found.failed += 1;
            return;
        }
        // In equilibrium the Lagrangian is the elastic energy.
        let chord: f64 = (0..3).map(|i| pose.force[i] * target.chord[i]).sum();
        let energy = ribbon.rod.value(&pose).0 + chord;
        let is_known = found.kept.iter().any(|(other, known, _)| {
            (energy - other).abs() < 1e-7 * other.abs() && is_image(known, &pose, found.is_curled)
        });
        if !is_known {
            found.kept.push((energy, pose, outcome));
        }
    }
}

#[derive(Debug, Default)]
struct Found {
    kept: Vec<(f64, Pose, Outcome)>,
    starts: usize,
    failed: usize,
    is_curled: bool,
}

/// True if two poses of the same energy are to count once.
fn is_image(a: &Pose, b: &Pose, is_curled: bool) -> bool {
    if !is_curled {
        return true;
    }
    let turn = |pose: &Pose| {
        pose.frames.iter().map(|q| q[2]).fold(0.0_f64, |m, x| if x.abs() > m.abs() { x } else { m })
    };
    turn(a) * turn(b) > 0.0
}

fn is_same(a: &SpatialSolution, b: &SpatialSolution, is_curled: bool) -> bool {
    let height = a.height_um.max(b.height_um);
    let heights = [(a.height_um, b.height_um), (a.highest_um, b.highest_um)];
    let alike = |pair: (f64, f64)| (pair.0 - pair.1).abs() <= SAME[1] * height;
    (a.energy_un_um - b.energy_un_um).abs() <= SAME[0] * b.energy_un_um.abs()
        && alike(heights[0])
        && (!is_curled || alike(heights[1]))
        && (a.symmetry == b.symmetry || StateSymmetry::Mixed == a.symmetry)
}

/// Modes, and in the full search their sums and differences; both signs where a curl tells them apart.
fn directions(modes: &[Vec<Vec3>], effort: SearchEffort, both_signs: bool) -> Vec<Vec<Vec3>> {
    let mut list: Vec<Vec<Vec3>> = modes.to_vec();
    if effort == SearchEffort::Full {
        for i in 0..modes.len() {
            for j in i + 1..modes.len() {
                for sign in [1.0, -1.0] {
                    list.push(
                        modes[i].iter().zip(&modes[j]).map(|(a, b)| add(*a, scale(*b, sign))).collect(),
                    );
                }
            }
        }
    }
    if both_signs {
        let mirrored: Vec<Vec<Vec3>> =
            list.iter().map(|mode| mode.iter().map(|x| scale(*x, -1.0)).collect()).collect();
        list.extend(mirrored);
    }
    list
}
