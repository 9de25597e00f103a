//! The way down from an unstable planar state.

use super::{
    mesh::RibbonMesh,
    newton::{Linear, Load, MULTIPLIERS, Newton, Target},
    solver::{RibbonSolver, Run, SETTLED, Scales, TINY},
};
use crate::{basis::NODES, kernel::NodeTerm};

/// Steps on the way down.
const DESCENT_STEPS: u32 = 150;
/// First push along an unstable mode, in radians.
const PUSH_RAD: f64 = 0.1;
/// Least angle that counts, in radians.
const FLOOR: f64 = 1e-13;

impl RibbonSolver {
    /// Goes down in energy from an unstable or unconverged state: Newton steps with a tangent made definite by a shift, cut
    /// back until energy plus closure error fall.
    pub(super) fn descend(&mut self, target: Target, share: f64, scales: &Scales) -> Run {
        self.push();
        let last = self.newton.psi.len() - 1;
        self.newton.psi[last] = target.turn;
        let mut run =
            Run { is_settled: false, iterations: 0, correction: f64::NAN, negative_pivots: usize::MAX };
        let least = self.least_shift(scales);
        while run.iterations < DESCENT_STEPS {
            run.iterations += 1;
            let (linear, shift) = self.definite(Load::Residual(target), least);
            run.negative_pivots = linear.negative_pivots;
            if linear.negative_pivots != MULTIPLIERS || !linear.largest.is_finite() {
                return run;
            }
            let force = self.newton.force;
            let next_force: [f64; 2] = std::array::from_fn(|k| force[k] + linear.force_change[k]);
            let penalty = 2.0 * force.iter().chain(&next_force).fold(0.0_f64, |most, f| most.max(f.abs()));
            let merit = |newton: &Newton, mesh: &RibbonMesh| {
                let (energy, end) = newton.measure(mesh);
                let gap = (end[0] - target.end[0]).abs() + (end[1] - target.end[1]).abs();
                energy + penalty * gap
            };
            let before = merit(&self.newton, &self.mesh);
            let mut scale = (0.5 / linear.largest).min(1.0);
            self.before.clone_from(&self.newton.psi);
            for _ in 0..14 {
                for ((psi, before), delta) in
                    self.newton.psi.iter_mut().zip(&self.before).zip(&self.newton.delta)
                {
                    *psi = scale.mul_add(*delta, *before);
                }
                self.newton.force = std::array::from_fn(|k| scale.mul_add(linear.force_change[k], force[k]));
                let after = merit(&self.newton, &self.mesh);
                if after <= before + 1e-10 * before.abs() {
                    break;
                }
                scale *= 0.5;
            }
            let largest = self.newton.psi.iter().fold(FLOOR, |largest, psi| largest.max(psi.abs()));
            run.correction = linear.largest / largest / share.clamp(0.02, 1.0);
            if shift == 0.0 && scale == 1.0 && run.correction < SETTLED {
                run.is_settled = true;
                return run;
            }
        }
        run
    }

    /// A shift of the tangent that is small against any of its eigenvalues that matter.
    fn least_shift(&self, scales: &Scales) -> f64 {
        let per_contour = 1.0 / self.mesh.contour;
        1e-3 * self.newton.force[0].abs() + 1e-3 * per_contour * per_contour + 1e-6 * scales.force()
    }

    /// Solves with the smallest shift of a series that leaves a stable tangent.
    fn definite(&mut self, load: Load<'_>, least: f64) -> (Linear, f64) {
        let mut shift = 0.0;
        loop {
            let linear = self.newton.solve_linear(&self.mesh, load, shift);
            if linear.negative_pivots == MULTIPLIERS || shift > 1e12 * least {
                return (linear, shift);
            }
            shift = if shift == 0.0 { least } else { 4.0 * shift };
        }
    }

    /// Pushes the state along its softest mode, found by inverse iteration.
    fn push(&mut self) {
        let least = 1e-3 * self.newton.force[0].abs() + 1e-3 / (self.mesh.contour * self.mesh.contour);
        let nodes = self.newton.psi.len();
        // Angles of a column that bows to one side, with a little of the other kind.
        self.before.clear();
        self.before.extend((0..nodes).map(|i| {
            let along = std::f64::consts::TAU * i as f64 / (nodes - 1) as f64;
            along.sin() + 0.1 * (1.0 - along.cos())
        }));
        for _ in 0..4 {
            let mut load = std::mem::take(&mut self.before);
            self.weigh(&mut load);
            let (linear, _) = self.definite(Load::Given(&load), least);
            self.before = load;
            self.before.clone_from(&self.newton.delta);
            let scale = 1.0 / linear.largest.max(TINY);
            for value in &mut self.before {
                *value *= scale;
            }
        }
        for (psi, mode) in self.newton.psi.iter_mut().zip(&self.before) {
            *psi += PUSH_RAD * mode;
        }
    }

    /// Multiplies nodal values by the mass ∫ N ds of their nodes.
    fn weigh(&self, values: &mut [f64]) {
        let mut carried = 0.0;
        for (e, terms) in self.mesh.terms.as_chunks::<NODES>().0.iter().enumerate() {
            for g in 0..NODES - 1 {
                let weight = terms[g][NodeTerm::WEIGHT] + if g == 0 { carried } else { 0.0 };
                values[e * (NODES - 1) + g] *= weight;
            }
            carried = terms[NODES - 1][NodeTerm::WEIGHT];
        }
        if let Some(last) = values.last_mut() {
            *last *= carried;
        }
    }
}
