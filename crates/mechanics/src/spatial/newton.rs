//! Newton's method with the safeguards that keep it on stable states.

use super::rod::{Pose, Rod, Target};
use super::system::{Motion, System};
use super::vector::{Vec3, norm, sub, turned};

/// Largest rotation in one step, in radians.
const MOST_TURN: f64 = 0.6;
/// Largest rotation of the last step, in radians: what is left is its square.
const LAST_TURN: f64 = 1e-6;
/// Steps below this rotation are taken without asking the merit.
const SMALL_TURN: f64 = 0.01;
/// First damping after a step that does not lower the merit, over the mean diagonal; its rise, and its fall after a step
/// that does.
const DAMPING: f64 = 1e-4;
const DAMPING_RISE: f64 = 8.0;
const DAMPING_FALL: f64 = 0.25;
/// Halvings of a step that does not lower the merit.
const MOST_HALVINGS: usize = 7;

/// What is asked of Newton's method.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Task {
    pub(crate) motion: Motion,
    /// Shift the matrix until the step leads downhill; without it any equilibrium is accepted.
    pub(crate) seeks_stable: bool,
    pub(crate) most_iterations: usize,
}

impl Task {
    pub(crate) const STABLE: Self = Self { motion: Motion::Space, seeks_stable: true, most_iterations: 60 };
    pub(crate) const PLANE: Self = Self { motion: Motion::Plane, seeks_stable: true, most_iterations: 60 };
}

/// How an iteration ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Outcome {
    pub(crate) is_converged: bool,
    pub(crate) iterations: usize,
    /// Unstable directions at the last pose but one, which differs from the last by at most the last step.
    pub(crate) unstable: usize,
    /// Largest rotation of the last step, in radians.
    pub(crate) last_turn: f64,
    /// Whether any step had to be turned downhill.
    pub(crate) is_shifted: bool,
}

/// Workspaces of the solver.
#[derive(Debug, Clone, Default)]
pub(crate) struct Newton {
    pub(crate) system: System,
    pub(crate) step: Vec<Vec3>,
    pub(crate) scratch: Vec<Vec3>,
    pub(crate) trial: Pose,
    closed: Pose,
}

/// Largest rotation of a step, in radians.
pub(crate) fn largest(step: &[Vec3]) -> f64 {
    step.iter().fold(0.0_f64, |m, x| {
        let size = norm(*x);
        // A NaN must not be lost in the maximum.
        if size.is_nan() { f64::INFINITY } else { m.max(size) }
    })
}

/// `pose` moved by a share of a step.
pub(crate) fn moved(pose: &Pose, step: &[Vec3], force: Vec3, share: f64, out: &mut Pose) {
    out.frames.clear();
    out.frames.extend(pose.frames.iter().zip(step).map(|(q, x)| turned(*q, x.map(|x| x * share))));
    out.force = std::array::from_fn(|i| pose.force[i] + share * force[i]);
}

impl Newton {
    /// Moves `pose` to an equilibrium.
    pub(crate) fn solve(&mut self, rod: &Rod, target: &Target, pose: &mut Pose, task: Task) -> Outcome {
        let mut outcome = Outcome {
            is_converged: false,
            iterations: 0,
            unstable: 0,
            last_turn: f64::INFINITY,
            is_shifted: false,
        };
        let mut shift_before = 0.0;
        // A share of the mean diagonal, raised when a step fails to go downhill.
        let mut damping = 0.0_f64;
        let mut largest_force = norm(pose.force);
        System::place_end(rod, &mut pose.frames, target.end);
        while outcome.iterations < task.most_iterations {
            outcome.iterations += 1;
            self.system.assemble(rod, pose, target.chord, task.motion);
            let (shift, unstable) = self.factor(task, shift_before, damping);
            shift_before = shift;
            outcome.unstable = unstable;
            outcome.is_shifted |= shift > 0.0;
            let force = self.system.newton_force();
            let mut step = std::mem::take(&mut self.step);
            self.system.rotations([force[0], force[1], force[2], 1.0], &mut step);
            self.step = step;
            let turn = largest(&self.step);
            outcome.last_turn = turn;
            if !turn.is_finite() {
                return outcome;
            }
            let mut share = if turn > MOST_TURN { MOST_TURN / turn } else { 1.0 };
            largest_force = largest_force.max(norm(pose.force));
            moved(pose, &self.step, force, share, &mut self.trial);
            if turn > SMALL_TURN || shift > 0.0 {
                let next_force = largest_force.max(norm(self.trial.force));
                let merit = |value: f64, closure: Vec3, force: Vec3| {
                    let part: f64 =
                        (0..3).map(|i| 2.0 * next_force * closure[i].abs() - force[i] * closure[i]).sum();
                    // The value lacks the chord's part F·Δr.
                    value + (0..3).map(|i| force[i] * target.chord[i]).sum::<f64>() + part
                };
                let merit = |value: f64, closure: Vec3, force: Vec3| {
                    if rod.is_force_given { value } else { merit(value, closure, force) }
                };
                let here = merit(self.system.value, self.system.closure, pose.force);
                let mut is_lower = false;
                for _ in 0..MOST_HALVINGS {
                    let (value, d) = rod.value(&self.trial);
                    let mut closure: Vec3 = std::array::from_fn(|i| target.chord[i] + d[i]);
                    if task.motion == Motion::Plane {
                        closure[2] = 0.0;
                    }
                    if merit(value, closure, self.trial.force) <= here + 1e-9 * here.abs() {
                        is_lower = true;
                        break;
                    }
                    // The ends part with the square of a step: close them again before it is judged too long.
                    if !rod.is_force_given {
                        let closing = self.system.force_for(closure.map(|c| -c));
                        let weights = [closing[0], closing[1], closing[2], 0.0];
                        self.system.rotations(weights, &mut self.scratch);
                        if largest(&self.scratch) < 0.5 * share * turn {
                            moved(&self.trial, &self.scratch, closing, 1.0, &mut self.closed);
                            let (value, d) = rod.value(&self.closed);
                            let mut closure: Vec3 = std::array::from_fn(|i| target.chord[i] + d[i]);
                            if task.motion == Motion::Plane {
                                closure[2] = 0.0;
                            }
                            if merit(value, closure, self.closed.force) <= here + 1e-9 * here.abs() {
                                std::mem::swap(&mut self.trial, &mut self.closed);
                                is_lower = true;
                                break;
                            }
                        }
                    }
                    share *= 0.5;
                    moved(pose, &self.step, force, share, &mut self.trial);
                }
                if task.seeks_stable {
                    damping =
                        if is_lower { DAMPING_FALL * damping } else { (DAMPING_RISE * damping).max(DAMPING) };
                }
            }
            std::mem::swap(pose, &mut self.trial);
            if turn < LAST_TURN && share == 1.0 {
                outcome.is_converged = sub(pose.force, self.trial.force).iter().all(|x| x.is_finite());
                return outcome;
            }
        }
        outcome
    }

    /// Factorises, shifting the diagonal if a stable state is wanted; returns the shift and the unstable directions
    /// without it.
    fn factor(&mut self, task: Task, shift_before: f64, damping: f64) -> (f64, usize) {
        const FIRST: f64 = 1e-4;
        const MOST: usize = 24;
        self.system.factor(0.0);
        let unstable = self.system.unstable();
        if !task.seeks_stable || (unstable == 0 && damping < DAMPING) {
            return (0.0, unstable);
        }
        let mut shift = (0.1 * shift_before).max(damping.max(FIRST) * self.system.mean);
        for _ in 0..MOST {
            self.system.factor(shift);
            if self.system.unstable() == 0 {
                break;
            }
            shift *= 4.0;
        }
        (shift, unstable)
    }
}
