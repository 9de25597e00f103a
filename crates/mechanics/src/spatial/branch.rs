//! From the onset into the buckled branch, and along it.

use super::error::SpatialError;
use super::newton::{Outcome, Task, largest, moved};
use super::problem::Ribbon;
use super::rod::{Pose, Target};
use super::solver::SpatialSolver;
use super::system::Motion;
use super::vector::{Vec3, add, conjugate, cross, dot, product, scale, turned};
use crate::EndMotion;

/// Largest rotation of the first step into the branch, in radians, for ribbons below and above [`THIN`].
const FIRST_TURNS: [f64; 2] = [0.1, 0.05];
/// Width over thickness from which modes lie close together.
const THIN: f64 = 10.0;
/// Times the first step is halved.
const HALVINGS: usize = 6;
/// The first state lies between the onset and this multiple of it.
const FARTHEST_FIRST: f64 = 1.6;
/// Largest rotation of a step along the branch, in radians.
const MOST_TURN: f64 = 0.35;
/// First step along the branch, and the largest, as a stretch.
const STEPS: [f64; 2] = [0.03, 0.1];
/// Growth of the step after few iterations, and how many are few.
const GROWTH: f64 = 1.6;
const FEW: usize = 4;
/// How much shorter a step is tried after one that ends in an unstable state.
const SHRINK_UNSTABLE: f64 = 0.2;
/// Newton steps after which a path is given up.
const MOST_ITERATIONS: usize = 3000;
/// Step down to which a branch is followed, over the first step or the stretch so far.
const SHORTEST: f64 = 0.1;
/// Least step, as a share of the whole path.
const LEAST: f64 = 1e-7;

/// A straight path of the far island.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct MotionPath {
    pub(crate) from: EndMotion,
    pub(crate) to: EndMotion,
}

impl MotionPath {
    pub(crate) fn at(&self, share: f64) -> EndMotion {
        let mix = |a: f64, b: f64| a + share * (b - a);
        EndMotion {
            stretch: mix(self.from.stretch, self.to.stretch),
            sideways_um: mix(self.from.sideways_um, self.to.sideways_um),
            turn_rad: mix(self.from.turn_rad, self.to.turn_rad),
        }
    }

    /// Rate of the chord along the path.
    fn rate(&self, span: f64) -> Vec3 {
        [(self.to.stretch - self.from.stretch) * span, self.to.sideways_um - self.from.sideways_um, 0.0]
    }

    /// Length of the path, as a stretch.
    fn length(&self, span: f64) -> f64 {
        let turn = (self.to.turn_rad - self.from.turn_rad).abs();
        (self.to.stretch - self.from.stretch).abs()
            + (self.to.sideways_um - self.from.sideways_um).abs() / span
            + turn
    }
}

/// A pose on a path, and how it was reached.
#[derive(Debug, Clone)]
pub(crate) struct Arrival {
    /// Share of the path.
    pub(crate) share: f64,
    pub(crate) pose: Pose,
    pub(crate) outcome: Outcome,
}

/// What following a branch came to.
#[derive(Debug, Clone, Default)]
pub(crate) struct March {
    /// States on the way, the last at the path's end.
    pub(crate) arrivals: Vec<Arrival>,
    pub(crate) iterations: usize,
    /// Share of the path where the branch followed lost its stability and another state was taken.
    pub(crate) left_at: Option<f64>,
    /// Why the end was not reached.
    pub(crate) failure: Option<SpatialError>,
}

impl SpatialSolver {
    /// The first state of the branch: amplitude given, place on the path found.
    ///
    /// `flat` is the flat pose at the path's start, where `mode` (largest rotation 1 rad) is neutral.
    pub(crate) fn switch(
        &mut self,
        ribbon: &Ribbon,
        path: &MotionPath,
        flat: &Pose,
        mode: &[Vec3],
        slenderness: f64,
        spare_modes: usize,
    ) -> Option<Arrival> {
        let mut amplitude = FIRST_TURNS[usize::from(slenderness >= THIN)];
        let mut iterations = 0;
        let onset = path.from.stretch.abs().max(1e-12);
        for _ in 0..HALVINGS {
            let found = self.at_amplitude(ribbon, path, flat, mode, amplitude);
            if let Some(mut arrival) = found {
                iterations += arrival.outcome.iterations;
                arrival.outcome.iterations = iterations;
                let grown = path.at(arrival.share).stretch.abs();
                let in_range = path.length(ribbon.span) * arrival.share > -1e-3 * onset
                    && arrival.share < 1.0
                    && grown < FARTHEST_FIRST * onset + 1e-9;
                if in_range && arrival.outcome.unstable <= spare_modes {
                    return Some(arrival);
                }
            }
            amplitude *= 0.5;
        }
        None
    }

    /// Newton's method for the pose and the share of the path at which the mode's part of the rotations has a size.
    fn at_amplitude(
        &mut self,
        ribbon: &Ribbon,
        path: &MotionPath,
        flat: &Pose,
        mode: &[Vec3],
        amplitude: f64,
    ) -> Option<Arrival> {
        const MOST: usize = 20;
        const SETTLED: f64 = 1e-7;
        let base = ribbon.target(path.from);
        let rate = path.rate(ribbon.span);
        let weight: f64 = mode.iter().map(|x| dot(*x, *x)).sum();
        let mut pose = Pose {
            frames: flat.frames.iter().zip(mode).map(|(q, x)| turned(*q, x.map(|x| amplitude * x))).collect(),
            force: flat.force,
        };
        let mut share = 0.0;
        let mut columns: [Vec<Vec3>; 4] = Default::default();
        let mut row = vec![[0.0; 3]; mode.len()];
        for iteration in 1..=MOST {
            let chord = add(base.chord, scale(rate, share));
            let newton = &mut self.newton;
            newton.system.assemble(&ribbon.rod, &pose, chord, Motion::Space);
            newton.system.factor(0.0);
            for (i, column) in columns.iter_mut().enumerate() {
                let mut weights = [0.0; 4];
                weights[i] = 1.0;
                newton.system.rotations(weights, column);
            }
            let mut excess = -amplitude * weight;
            for i in 0..mode.len() {
                let p = product(conjugate(flat.frames[i]), pose.frames[i]);
                let v = [p[1], p[2], p[3]];
                excess += 2.0 * dot(mode[i], v);
                row[i] = add(scale(mode[i], p[0]), cross(mode[i], v));
            }
            let along = |column: &[Vec3]| -> f64 { row.iter().zip(column).map(|(a, b)| dot(*a, *b)).sum() };
            let (s, c) = newton.system.reduced();
            let mut matrix = [[0.0; 5]; 4];
            for i in 0..3 {
                matrix[i] = [s[i][0], s[i][1], s[i][2], rate[i], -c[i]];
                matrix[3][i] = along(&columns[i]);
            }
            matrix[3][4] = -excess - along(&columns[3]);
            let [f0, f1, f2, change] = eliminate(matrix)?;
            let mut step = std::mem::take(&mut newton.step);
            newton.system.rotations([f0, f1, f2, 1.0], &mut step);
            let turn = largest(&step);
            let cut = if turn > 0.3 { 0.3 / turn } else { 1.0 };
            moved(&pose, &step, [f0, f1, f2], cut, &mut newton.trial);
            newton.step = step;
            std::mem::swap(&mut pose, &mut newton.trial);
            share += cut * change;
            if !(turn.is_finite() && share.is_finite()) {
                return None;
            }
            if turn < SETTLED {
                let outcome = Outcome {
                    is_converged: true,
                    iterations: iteration,
                    unstable: newton.system.unstable(),
                    last_turn: turn,
                    is_shifted: false,
                };
                return Some(Arrival { share, pose, outcome });
            }
        }
        None
    }

    /// Follows stable states along a path, from a pose at `from` of it to its end.
    ///
    /// Returns none if `keep_going` says to stop.
    pub(crate) fn march(
        &mut self,
        ribbon: &Ribbon,
        path: &MotionPath,
        from: Arrival,
        keep_going: &dyn Fn() -> bool,
    ) -> Option<March> {
        let length = path.length(ribbon.span).max(1e-12);
        let rate = path.rate(ribbon.span);
        let mut result = March { iterations: from.outcome.iterations, ..March::default() };
        let (mut share, mut pose) = (from.share, from.pose.clone());
        result.arrivals.push(from);
        let mut most = STEPS[0] / length;
        let mut trial = Pose::default();
        let mut last_turn = f64::NAN;
        while share < 1.0 {
            if !keep_going() {
                return None;
            }
            // The tangent: rotations and force per share of the path.
            let target = ribbon.target(path.at(share));
            self.newton.system.assemble(&ribbon.rod, &pose, target.chord, Motion::Space);
            self.newton.system.factor(0.0);
            let force = self.newton.system.force_for(rate.map(|x| -x));
            let mut tangent = std::mem::take(&mut self.newton.step);
            self.newton.system.rotations([force[0], force[1], force[2], 0.0], &mut tangent);
            let slope = largest(&tangent);
            let mut step = most.min(MOST_TURN / slope.max(1e-12)).min(1.0 - share);
            let so_far = path.at(share).stretch.abs();
            let shortest = SHORTEST * STEPS[0].min(so_far.max(1e-9)) / length;
            loop {
                if step < LEAST || result.iterations > MOST_ITERATIONS {
                    result.failure = Some(SpatialError::NotConverged {
                        stretch: path.to.stretch,
                        reached: path.at(share).stretch,
                        residual: last_turn,
                        iterations: result.iterations as u32,
                    });
                    return Some(result);
                }
                let next = if share + 1.02 * step >= 1.0 { 1.0 } else { share + step };
                moved(&pose, &tangent, force, next - share, &mut trial);
                let target = ribbon.target(path.at(next));
                let task = Task { seeks_stable: false, most_iterations: 10, ..Task::STABLE };
                let mut outcome = self.newton.solve(&ribbon.rod, &target, &mut trial, task);
                result.iterations += outcome.iterations;
                last_turn = outcome.last_turn;
                if !outcome.is_converged || outcome.unstable > 0 {
                    // Shorter steps show whether the branch itself ends or loses its stability here.
                    let shrink = if outcome.is_converged { SHRINK_UNSTABLE } else { 0.5 };
                    if step > shortest {
                        step = (shrink * step).max(0.999 * shortest);
                        continue;
                    }
                    // It does: down in energy from beyond its end to another one.
                    moved(&pose, &tangent, force, next - share, &mut trial);
                    outcome = self.settle(ribbon, &target, &mut trial);
                    result.iterations += outcome.iterations;
                    last_turn = outcome.last_turn;
                    if !outcome.is_converged || outcome.unstable > 0 {
                        trial.clone_from(&pose);
                        let Some(found) = self.escape(ribbon, &target, &mut trial) else {
                            result.iterations += outcome.iterations;
                            step *= 0.5;
                            continue;
                        };
                        outcome = found;
                        result.iterations += outcome.iterations;
                    }
                    result.left_at.get_or_insert(share);
                }
                if outcome.iterations <= FEW {
                    most = (GROWTH * step.max(0.5 * most)).min(STEPS[1] / length);
                } else if outcome.iterations > 2 * FEW {
                    most = 0.7 * step;
                }
                share = next;
                std::mem::swap(&mut pose, &mut trial);
                result.arrivals.push(Arrival { share, pose: pose.clone(), outcome });
                break;
            }
            self.newton.step = tangent;
        }
        Some(result)
    }

    /// Moves a pose to the target by small steps of the curl, from none to that of the section.
    pub(crate) fn curled(&mut self, ribbon: &mut Ribbon, target: &Target, pose: &mut Pose) -> Outcome {
        const LEAST: f64 = 1e-3;
        let curl = ribbon.rod.section.curl;
        let (mut share, mut step, mut iterations) = (0.0_f64, 0.5, 0);
        let mut trial = pose.clone();
        loop {
            let next = (share + step).min(1.0);
            trial.clone_from(pose);
            ribbon.rod.section.curl = next * curl;
            let mut outcome = self.settle(ribbon, target, &mut trial);
            iterations += outcome.iterations;
            outcome.iterations = iterations;
            if outcome.is_converged && outcome.unstable == 0 {
                std::mem::swap(pose, &mut trial);
                share = next;
                step *= 2.0;
            } else {
                step *= 0.4;
            }
            if share >= 1.0 || step < LEAST {
                ribbon.rod.section.curl = curl;
                return outcome;
            }
        }
    }
}

/// Solves four equations, the right-hand side in the last column, with row pivoting.
pub(crate) fn eliminate(mut m: [[f64; 5]; 4]) -> Option<[f64; 4]> {
    // Rows of forces and of angles differ in size: scale them.
    for row in &mut m {
        let size = row[..4].iter().fold(0.0_f64, |most, x| most.max(x.abs()));
        if !(size.is_finite() && size > 0.0) {
            return None;
        }
        for x in row {
            *x /= size;
        }
    }
    for k in 0..4 {
        let pivot = (k..4).max_by(|a, b| m[*a][k].abs().total_cmp(&m[*b][k].abs()))?;
        if m[pivot][k] == 0.0 {
            return None;
        }
        m.swap(k, pivot);
        for i in k + 1..4 {
            let factor = m[i][k] / m[k][k];
            for j in k..5 {
                m[i][j] -= factor * m[k][j];
            }
        }
    }
    let mut x = [0.0; 4];
    for k in (0..4).rev() {
        let known: f64 = (k + 1..4).map(|j| m[k][j] * x[j]).sum();
        x[k] = (m[k][4] - known) / m[k][k];
    }
    x.iter().all(|x| x.is_finite()).then_some(x)
}
