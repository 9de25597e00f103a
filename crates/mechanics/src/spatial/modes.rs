//! The lowest modes of a flat ribbon out of its plane.

use super::problem::Ribbon;
use super::rod::{Pose, Target};
use super::solver::{SpatialSolver, release, scale_to_one, start_vector};
use super::system::Motion;
use super::vector::{Vec3, dot};

/// Rounds of inverse iteration: the modes are only used to start from.
const ROUNDS: usize = 14;

impl SpatialSolver {
    /// About the `count` lowest modes out of the plane, lowest first, each with a largest rotation of 1 rad.
    pub(crate) fn lowest_modes(
        &mut self,
        ribbon: &Ribbon,
        target: &Target,
        flat: &Pose,
        count: usize,
    ) -> Vec<Vec<Vec3>> {
        let system = &mut self.newton.system;
        system.assemble(&ribbon.rod, flat, target.chord, Motion::Space);
        system.stabilise(1e-9, 2.0);
        let nodes = flat.frames.len();
        // One vector more than asked for lets the last one settle.
        let all = start_vector((count + 1) * nodes);
        let mut modes: Vec<Vec<Vec3>> =
            all.chunks(nodes).map(|part| part.iter().map(|x| [x[0], x[1], 0.0]).collect()).collect();
        for mode in &mut modes {
            release(mode);
        }
        for _ in 0..ROUNDS {
            for mode in &mut modes {
                system.solve_bordered(mode, &mut self.newton.scratch);
            }
            for k in 0..modes.len() {
                let (before, rest) = modes.split_at_mut(k);
                let mode = &mut rest[0];
                for _ in 0..2 {
                    for other in before.iter() {
                        let part = inner(mode, other);
                        for (x, y) in mode.iter_mut().zip(other) {
                            for i in 0..3 {
                                x[i] -= part * y[i];
                            }
                        }
                    }
                }
                let size = inner(mode, mode).sqrt();
                for x in mode.iter_mut() {
                    *x = x.map(|x| x / size);
                }
            }
        }
        modes.truncate(count);
        modes.retain(|mode| mode.iter().flatten().all(|x| x.is_finite()));
        for mode in &mut modes {
            scale_to_one(mode);
        }
        modes
    }
}

fn inner(a: &[Vec3], b: &[Vec3]) -> f64 {
    a.iter().zip(b).map(|(x, y)| dot(*x, *y)).sum()
}
