//! Newton's iteration for a whole ribbon: block elimination of the angle, then of the force.

use pulp::Scalar;

use super::mesh::RibbonMesh;
use crate::{
    basis::{NODES, SLOPE, WEIGHT},
    condense::{INNER, condense},
    kernel::{NodeTerm, element},
    wide::Wide,
};

/// Largest change of the angle in one step, in radians. Larger steps may leap into a loop of the ribbon.
const STEP_LIMIT: f64 = 0.5;
/// Relative floor of corrections: what rounding leaves of a state at rest.
const FLOOR: f64 = 1e-13;
/// Columns carried through the elimination: the load and the two borders.
const COLUMNS: usize = 3;
/// Conditions on the far end, and with them the negative pivots of a stable state.
pub(crate) const MULTIPLIERS: usize = 2;

/// What back-substitution needs of one element: inner solutions and the left vertex's row, per column.
#[derive(Debug, Clone, Copy, Default)]
struct Back {
    inner: [[f64; INNER]; COLUMNS],
    response: [[f64; INNER]; 2],
    next: f64,
    vertex: [f64; COLUMNS],
}

/// Where the far end has to be, over P, and how far it turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Target {
    pub(crate) end: [f64; 2],
    pub(crate) turn: f64,
}

/// The right-hand side of a linear solve.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Load<'a> {
    /// Minus the residual, and the gap to the target.
    Residual(Target),
    /// A load per node, and no gap.
    Given(&'a [f64]),
}

/// A linear solve: the nodal part stays in [`Newton::delta`].
#[derive(Debug, Clone, Copy)]
pub(crate) struct Linear {
    pub(crate) force_change: [f64; 2],
    pub(crate) negative_pivots: usize,
    /// Largest size of the nodal part.
    pub(crate) largest: f64,
}

/// How a step went.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Step {
    /// Largest relative correction; 1 or more where the step was shortened.
    pub(crate) correction: f64,
    pub(crate) negative_pivots: usize,
}

/// The state of the iteration.
#[derive(Debug, Default)]
pub(crate) struct Newton {
    /// ψ at the nodes, the ends of neighbouring elements in common.
    pub(crate) psi: Vec<f64>,
    /// (H, V) on the far end, in EI/P².
    pub(crate) force: [f64; 2],
    pub(crate) delta: Vec<f64>,
    backs: Vec<Back>,
}

fn wide(value: f64) -> Wide<Scalar> {
    Wide::splat(Scalar::new(), value)
}

impl Newton {
    /// Makes room for the mesh and sets the rest state.
    pub(crate) fn clear(&mut self, elements: usize) {
        let unknowns = elements * (NODES - 1) + 1;
        self.psi.clear();
        self.psi.resize(unknowns, 0.0);
        self.delta.clear();
        self.delta.resize(unknowns, 0.0);
        self.force = [0.0; 2];
        self.backs.resize(elements, Back::default());
    }

    /// Makes room for a mesh whose ψ has been set.
    pub(crate) fn fit(&mut self, elements: usize) {
        self.delta.clear();
        self.delta.resize(elements * (NODES - 1) + 1, 0.0);
        self.backs.resize(elements, Back::default());
    }

    /// Solves with the tangent at the present state, `shift` times the mass being added to it.
    pub(crate) fn solve_linear(&mut self, mesh: &RibbonMesh, load: Load<'_>, shift: f64) -> Linear {
        let simd = Scalar::new();
        let mut diagonal = 0.0;
        let mut vertex = [0.0; COLUMNS];
        let mut corner = [0.0; 3];
        let mut gaps = match load {
            Load::Residual(target) => target.end.map(|target| -target),
            Load::Given(_) => [0.0; 2],
        };
        let is_residual = matches!(load, Load::Residual(_));
        let mut negative = 0;
        for e in 0..mesh.elements() {
            let terms = mesh.terms[e * NODES..].first_chunk::<NODES>().expect("an element has all its nodes");
            let values =
                self.psi[e * (NODES - 1)..].first_chunk::<NODES>().expect("an element has all its nodes");
            let mut sums = element(simd, terms, &mesh.stiffness[e], values.map(wide), self.force.map(wide));
            if shift != 0.0 {
                for g in 0..NODES {
                    let i = crate::kernel::entry(g, g);
                    sums.matrix[i] = sums.matrix[i] + wide(shift * terms[g][NodeTerm::WEIGHT]);
                }
            }
            let column = match load {
                Load::Residual(_) => sums.residual.map(|value| -value),
                // A node between two elements takes its load from the first of them.
                Load::Given(load) => std::array::from_fn(|g| {
                    wide(if g == 0 && e > 0 { 0.0 } else { load[e * (NODES - 1) + g] })
                }),
            };
            if is_residual {
                gaps[0] += sums.length[0].lanes();
                gaps[1] += sums.length[1].lanes();
            }
            let reduced = condense(simd, &sums.matrix, [&column, &sums.border[0], &sums.border[1]]);
            let inner = reduced.inner.map(|column| column.map(Wide::lanes));
            let soft = sums.softness.map(Wide::lanes);
            corner[0] -= soft[0];
            corner[1] -= soft[1];
            corner[2] -= soft[2];
            for k in 0..INNER {
                let border = [sums.border[0][k + 1].lanes(), sums.border[1][k + 1].lanes()];
                gaps[0] -= border[0] * inner[0][k];
                gaps[1] -= border[1] * inner[0][k];
                corner[0] -= border[0] * inner[1][k];
                corner[1] -= border[0] * inner[2][k];
                corner[2] -= border[1] * inner[2][k];
                negative += usize::from(reduced.pivots[k].lanes() < 0.0);
            }
            let [left, across, right] = reduced.matrix.map(Wide::lanes);
            diagonal += left;
            for (sum, ends) in vertex.iter_mut().zip(&reduced.ends) {
                *sum += ends[0].lanes();
            }
            // The near end is clamped.
            let inverse = if e == 0 { 0.0 } else { 1.0 / diagonal };
            negative += usize::from(e != 0 && diagonal < 0.0);
            let row = vertex.map(|value| value * inverse);
            gaps[0] -= vertex[1] * row[0];
            gaps[1] -= vertex[2] * row[0];
            corner[0] -= vertex[1] * row[1];
            corner[1] -= vertex[1] * row[2];
            corner[2] -= vertex[2] * row[2];
            let next = across * inverse;
            self.backs[e] = Back {
                inner,
                response: reduced.response.map(|column| column.map(Wide::lanes)),
                next,
                vertex: row,
            };
            diagonal = right - next * across;
            for (sum, ends) in vertex.iter_mut().zip(&reduced.ends) {
                *sum = ends[1].lanes() - next * *sum;
            }
        }
        // The far end is clamped too, so what the last element leaves there is its reaction.
        let factor = corner[1] / corner[0];
        let last_pivot = corner[2] - factor * corner[1];
        negative += usize::from(corner[0] < 0.0) + usize::from(last_pivot < 0.0);
        let second = (gaps[1] - factor * gaps[0]) / last_pivot;
        let force_change = [(gaps[0] - corner[1] * second) / corner[0], second];
        let largest = self.substitute(force_change);
        Linear { force_change, negative_pivots: negative, largest }
    }

    /// Fills `delta` by back-substitution; returns its greatest size.
    fn substitute(&mut self, change: [f64; 2]) -> f64 {
        let with = |row: [f64; COLUMNS]| row[0] - row[1] * change[0] - row[2] * change[1];
        let mut right = 0.0;
        let mut largest = 0.0_f64;
        let mut is_finite = true;
        let last = self.delta.len() - 1;
        self.delta[last] = 0.0;
        for (e, back) in self.backs.iter().enumerate().rev() {
            let left = with(back.vertex) - back.next * right;
            for k in 0..INNER {
                let own = with([back.inner[0][k], back.inner[1][k], back.inner[2][k]]);
                let value = own - back.response[0][k] * left - back.response[1][k] * right;
                self.delta[e * (NODES - 1) + 1 + k] = value;
                largest = largest.max(value.abs());
                is_finite &= value.is_finite();
            }
            self.delta[e * (NODES - 1)] = left;
            largest = largest.max(left.abs());
            right = left;
        }
        if is_finite { largest } else { f64::NAN }
    }

    /// One plain Newton step.
    ///
    /// * `significance`: what share of the rest angles is left; close to straight the heights, which the strain is
    ///   taken from, are a small part of the angles.
    /// * `force_scale`: a force that counts as one, in EI/P².
    pub(crate) fn step(
        &mut self,
        mesh: &RibbonMesh,
        target: Target,
        significance: f64,
        force_scale: f64,
    ) -> Step {
        let linear = self.solve_linear(mesh, Load::Residual(target), 0.0);
        let scale = (STEP_LIMIT / linear.largest).min(1.0);
        let mut largest = 0.0_f64;
        for (psi, delta) in self.psi.iter_mut().zip(&self.delta) {
            *psi += scale * delta;
            largest = largest.max(psi.abs());
        }
        let [dh, dv] = linear.force_change;
        self.force[0] += scale * dh;
        self.force[1] += scale * dv;
        let angle_part = (linear.largest - FLOOR).max(0.0) / largest.max(FLOOR);
        let force_floor = force_scale * FLOOR;
        let force_size = self.force[0].hypot(self.force[1]);
        let force_part = (dh.hypot(dv) - force_floor).max(0.0) / force_size.max(force_floor);
        let mut correction = angle_part.max(force_part) / significance;
        if scale < 1.0 {
            correction = correction.max(1.0);
        }
        if !(linear.largest.is_finite() && force_size.is_finite()) {
            correction = f64::NAN;
        }
        Step { correction, negative_pivots: linear.negative_pivots }
    }

    /// Elastic energy in EI/P and the far end over P, both as the elements have them.
    pub(crate) fn measure(&self, mesh: &RibbonMesh) -> (f64, [f64; 2]) {
        let mut energy = 0.0;
        let mut end = [0.0; 2];
        for e in 0..mesh.elements() {
            for (g, node) in self.element_nodes(mesh, e).into_iter().enumerate() {
                let ds = WEIGHT[g] * mesh.rest[e * NODES + g].jacobian;
                let curving = node.moment / mesh.bending[e * NODES + g];
                energy += 0.5 * ds * (mesh.ea * node.axial * node.axial + node.moment * curving);
                end[0] += ds * (1.0 + node.axial) * node.cosine;
                end[1] += ds * (1.0 + node.axial) * node.sine;
            }
        }
        (energy, end)
    }

    /// Moment, strain and direction at the nodes of an element as its own ψ has them.
    pub(crate) fn element_nodes(&self, mesh: &RibbonMesh, e: usize) -> [ElementNode; NODES] {
        let psi = &self.psi[e * (NODES - 1)..e * (NODES - 1) + NODES];
        std::array::from_fn(|g| {
            let terms = &mesh.terms[e * NODES + g];
            let slope: f64 = (0..NODES).map(|i| SLOPE[g][i] * psi[i]).sum();
            let (sine, cosine) = (terms[NodeTerm::PHI] + psi[g]).sin_cos();
            let normal = self.force[0] * cosine + self.force[1] * sine;
            let axial = terms[NodeTerm::COUPLING_SLOPE] * slope + terms[NodeTerm::SOFTNESS] * normal;
            let moment = (terms[NodeTerm::BENDING] * slope - terms[NodeTerm::COUPLING] * normal) / WEIGHT[g];
            ElementNode { sine, cosine, normal, axial, moment }
        })
    }

    /// Moments at the two clamps, M P/EI, from the balance of the first and the last element.
    pub(crate) fn end_moments(&self, mesh: &RibbonMesh) -> [f64; 2] {
        let residual = |e: usize| {
            let terms = mesh.terms[e * NODES..].first_chunk::<NODES>().expect("an element has all its nodes");
            let values =
                self.psi[e * (NODES - 1)..].first_chunk::<NODES>().expect("an element has all its nodes");
            let force = self.force.map(wide);
            element(Scalar::new(), terms, &mesh.stiffness[e], values.map(wide), force)
                .residual
                .map(Wide::lanes)
        };
        [-residual(0)[0], residual(mesh.elements() - 1)[NODES - 1]]
    }
}

/// A node of one element.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ElementNode {
    pub(crate) sine: f64,
    pub(crate) cosine: f64,
    /// N, in EI/P².
    pub(crate) normal: f64,
    /// ε₀.
    pub(crate) axial: f64,
    /// M P/EI.
    pub(crate) moment: f64,
}
