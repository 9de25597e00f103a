//! From an unstable state down into a valley of the energy.

use super::branch::eliminate;
use super::newton::{Outcome, largest, moved};
use super::problem::Ribbon;
use super::rod::{Pose, Target};
use super::solver::SpatialSolver;
use super::system::Motion;
use super::vector::{Vec3, add, conjugate, cross, dot, product, scale, turned};

/// First amplitude along the mode, its growth, its greatest, and how it shrinks where it is too long, in radians.
const FIRST: f64 = 0.02;
const GROWTH: f64 = 2.0;
const GREATEST: f64 = 2.0;
const SHRINK: f64 = 0.2;
const MOST_SHRINKS: usize = 6;

/// A pose held at an amplitude along a mode.
struct HeldPose {
    pose: Pose,
    /// What pushes it along the mode: positive as long as the energy falls.
    push: f64,
}

impl SpatialSolver {
    /// Follows a falling mode from an unstable equilibrium while the energy falls; everything else stays in equilibrium, so
    /// stiff directions do not shorten the steps. Returns the Newton steps taken.
    pub(crate) fn descend(
        &mut self,
        ribbon: &Ribbon,
        target: &Target,
        pose: &mut Pose,
        mode: &[Vec3],
    ) -> usize {
        let saddle = pose.clone();
        let mut iterations = 0;
        let mut amplitude = FIRST;
        for _ in 0..MOST_SHRINKS {
            let held =
                self.held(ribbon, target, &saddle, mode, amplitude, &saddle, amplitude, &mut iterations);
            if let Some(held) = held.filter(|held| held.push > 0.0) {
                *pose = held.pose;
                break;
            }
            amplitude *= SHRINK;
        }
        while amplitude < GREATEST {
            let next = GROWTH * amplitude;
            let from = pose.clone();
            let grown = next - amplitude;
            let held = self.held(ribbon, target, &saddle, mode, next, &from, grown, &mut iterations);
            let Some(held) = held else { break };
            *pose = held.pose;
            amplitude = next;
            if held.push <= 0.0 {
                break;
            }
        }
        iterations
    }

    /// Leaves a branch where it ends: from its last state along its softest mode, either way, and down.
    ///
    /// Of the stable states so reached at `target` that of less energy is put into `pose`.
    pub(crate) fn escape(&mut self, ribbon: &Ribbon, target: &Target, pose: &mut Pose) -> Option<Outcome> {
        let (_, mode) = self.softest_mode(ribbon, target, pose)?;
        let mut best: Option<(f64, Pose, Outcome)> = None;
        let mut iterations = 0;
        for sign in [1.0, -1.0] {
            let mut trial = pose.clone();
            let along: Vec<Vec3> = mode.iter().map(|x| scale(*x, sign)).collect();
            iterations += self.descend(ribbon, target, &mut trial, &along);
            let outcome = self.settle(ribbon, target, &mut trial);
            iterations += outcome.iterations;
            if !outcome.is_converged || outcome.unstable > 0 {
                continue;
            }
            let chord: f64 = (0..3).map(|i| trial.force[i] * target.chord[i]).sum();
            let energy = ribbon.rod.value(&trial).0 + chord;
            if best.as_ref().is_none_or(|best| energy < best.0) {
                best = Some((energy, trial, outcome));
            }
        }
        let (_, found, outcome) = best?;
        *pose = found;
        Some(Outcome { iterations, ..outcome })
    }

    /// Newton's method for the pose at an amplitude along a mode from `saddle`, starting at `from` turned by `more` of
    /// the mode.
    #[expect(clippy::too_many_arguments, reason = "the parts of one small problem")]
    fn held(
        &mut self,
        ribbon: &Ribbon,
        target: &Target,
        saddle: &Pose,
        mode: &[Vec3],
        amplitude: f64,
        from: &Pose,
        more: f64,
        iterations: &mut usize,
    ) -> Option<HeldPose> {
        const MOST: usize = 15;
        const SETTLED: f64 = 1e-5;
        let weight: f64 = mode.iter().map(|x| dot(*x, *x)).sum();
        let mut pose = Pose {
            frames: from.frames.iter().zip(mode).map(|(q, x)| turned(*q, scale(*x, more))).collect(),
            force: from.force,
        };
        let mut columns: [Vec<Vec3>; 4] = Default::default();
        let mut row = vec![[0.0; 3]; mode.len()];
        for _ in 0..MOST {
            *iterations += 1;
            let newton = &mut self.newton;
            newton.system.assemble(&ribbon.rod, &pose, target.chord, Motion::Space);
            newton.system.factor(0.0);
            for (i, column) in columns.iter_mut().enumerate() {
                let mut weights = [0.0; 4];
                weights[i] = 1.0;
                newton.system.rotations(weights, column);
            }
            let mut excess = -amplitude * weight;
            for i in 0..mode.len() {
                let p = product(conjugate(saddle.frames[i]), pose.frames[i]);
                let v = [p[1], p[2], p[3]];
                excess += 2.0 * dot(mode[i], v);
                row[i] = add(scale(mode[i], p[0]), cross(mode[i], v));
            }
            let along = |column: &[Vec3]| -> f64 { row.iter().zip(column).map(|(a, b)| dot(*a, *b)).sum() };
            let mut response = row.clone();
            newton.system.solve_band(&mut response);
            let (s, c) = newton.system.reduced();
            let mut matrix = [[0.0; 5]; 4];
            for i in 0..3 {
                let part = along(&columns[i]);
                matrix[i] = [s[i][0], s[i][1], s[i][2], part, -c[i]];
                matrix[3][i] = part;
            }
            matrix[3][3] = -along(&response);
            matrix[3][4] = -excess - along(&columns[3]);
            let [f0, f1, f2, push] = eliminate(matrix)?;
            let mut step = std::mem::take(&mut newton.step);
            newton.system.rotations([f0, f1, f2, 1.0], &mut step);
            for (x, part) in step.iter_mut().zip(&response) {
                for i in 0..3 {
                    x[i] -= push * part[i];
                }
            }
            let turn = largest(&step);
            let cut = if turn > 0.3 { 0.3 / turn } else { 1.0 };
            moved(&pose, &step, [f0, f1, f2], cut, &mut newton.trial);
            newton.step = step;
            std::mem::swap(&mut pose, &mut newton.trial);
            if !turn.is_finite() {
                return None;
            }
            if turn < SETTLED {
                return Some(HeldPose { pose, push });
            }
        }
        None
    }
}
