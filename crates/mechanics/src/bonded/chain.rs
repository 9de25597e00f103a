//! A chain of elements between two ends, and Newton's iteration on it.

use crate::{
    basis::{INTEGRAL, NODES, WEIGHT},
    bonded::{
        condense::{Condensed, VERTEX},
        element::{
            BUBBLES, END_SLIP, Element, LEGENDRE, MEAN_FORCE, RestPoint, START_SLIP, Setting, Unknowns,
            bubble_mass, pointwise,
        },
    },
};

/// Relative correction at which the iteration stops. One more step would change the result by about its square.
const SETTLED: f64 = 1e-8;
/// Newton steps at most.
const STEPS: u32 = 30;
/// Greatest change of an angle in one step, in radians.
const GREATEST_TURN: f64 = 0.5;
/// Angles below this many radians are rounding.
const LEAST_ANGLE: f64 = 1e-9;
/// Forces below this share of EA are rounding.
const LEAST_FORCE_SHARE: f64 = 1e-11;

/// Which unknowns of an end are held: the angle at rest, and the slip along x and y.
pub(crate) type Held = [bool; VERTEX];

/// What a run of Newton steps came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Run {
    pub(crate) is_settled: bool,
    pub(crate) is_stable: bool,
    pub(crate) iterations: u32,
    /// Largest relative correction of the last step.
    pub(crate) correction: f64,
}

/// The state at a node, stresses recovered from equilibrium: an order of convergence better than the slope of φ.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct NodeFields {
    /// φ − φ₀.
    pub(crate) psi: f64,
    /// Slip against the substrate.
    pub(crate) slip: [f64; 2],
    /// H and V.
    pub(crate) force: [f64; 2],
    /// M.
    pub(crate) moment: f64,
}

/// A chain of elements with its state.
#[derive(Debug, Clone)]
pub(crate) struct Chain {
    rest: Vec<[RestPoint; NODES]>,
    masses: Vec<[[f64; BUBBLES]; BUBBLES]>,
    pub(crate) setting: Setting,
    held: [Held; 2],
    end_slips: [[f64; 2]; 2],
    unknowns: Vec<Unknowns>,
    condensed: Vec<Condensed>,
}

impl Chain {
    pub(crate) fn new(
        rest: Vec<[RestPoint; NODES]>,
        setting: Setting,
        held: [Held; 2],
        end_slips: [[f64; 2]; 2],
    ) -> Self {
        let masses = rest.iter().map(bubble_mass).collect();
        let zero = Unknowns {
            psi: [0.0; NODES],
            force: [[0.0; 1 + BUBBLES]; 2],
            ends: [[0.0; 2]; 2],
            bubbles: [[0.0; BUBBLES]; 2],
        };
        let unknowns = vec![zero; rest.len()];
        Self { rest, masses, setting, held, end_slips, unknowns, condensed: Vec::new() }
    }

    /// Changes what the substrate does; the state stays.
    pub(crate) fn load(&mut self, setting: Setting, end_slips: [[f64; 2]; 2]) {
        self.setting = setting;
        self.end_slips = end_slips;
        self.hold_ends();
    }

    /// Puts held ends to their slip.
    fn hold_ends(&mut self) {
        let last = self.unknowns.len() - 1;
        for (end, e) in [0, last].into_iter().enumerate() {
            for c in 0..2 {
                if self.held[end][1 + c] {
                    self.unknowns[e].ends[end][c] = self.end_slips[end][c];
                }
            }
        }
    }

    /// Sets angles and forces from nodal values. The slip starts at zero: it enters linearly, so that the first whole
    /// step finds it.
    pub(crate) fn start_from(&mut self, value: impl Fn(usize, usize) -> (f64, [f64; 2])) {
        let last = self.unknowns.len() - 1;
        for (e, unknowns) in self.unknowns.iter_mut().enumerate() {
            let nodal: [_; NODES] = std::array::from_fn(|g| value(e, g));
            unknowns.psi = nodal.map(|(psi, _)| psi);
            for c in 0..2 {
                unknowns.force[c] = std::array::from_fn(|m| {
                    let sum: f64 = (0..NODES).map(|g| WEIGHT[g] * LEGENDRE[m][g] * nodal[g].1[c]).sum();
                    sum * (m as f64 + 0.5)
                });
            }
            unknowns.ends = [[0.0; 2]; 2];
            unknowns.bubbles = [[0.0; BUBBLES]; 2];
        }
        if self.held[0][0] {
            self.unknowns[0].psi[0] = 0.0;
        }
        if self.held[1][0] {
            self.unknowns[last].psi[NODES - 1] = 0.0;
        }
        self.hold_ends();
    }

    /// Newton steps until they settle, fail or take too long.
    pub(crate) fn settle(&mut self) -> Run {
        let mut iterations = 0;
        loop {
            iterations += 1;
            let (correction, wrong_pivots) = self.step();
            let is_settled = correction <= SETTLED;
            if is_settled || iterations == STEPS || !correction.is_finite() {
                return Run { is_settled, is_stable: wrong_pivots == 0, iterations, correction };
            }
        }
    }

    /// One step; returns its relative size and the number of pivots of the wrong sign.
    fn step(&mut self) -> (f64, usize) {
        self.condensed.clear();
        let mut wrong_pivots = 0;
        for ((rest, unknowns), mass) in self.rest.iter().zip(&self.unknowns).zip(&self.masses) {
            let element = Element::new(rest, &self.setting, unknowns);
            let condensed = Condensed::new(&element, self.setting.foundation, mass);
            wrong_pivots += condensed.wrong_pivots;
            self.condensed.push(condensed);
        }
        let (vertices, wrong) = solve_vertices(&self.condensed, self.held);
        wrong_pivots += wrong;
        let corrections: Vec<_> = self
            .condensed
            .iter()
            .zip(vertices.windows(2))
            .map(|(condensed, pair)| {
                let mut ends = [0.0; 2 * VERTEX];
                ends[..VERTEX].copy_from_slice(&pair[0]);
                ends[VERTEX..].copy_from_slice(&pair[1]);
                condensed.expand(&ends)
            })
            .collect();
        // Not by f64::max, which would let a NaN pass.
        let greatest = |a: f64, b: f64| if b.abs() <= a { a } else { b.abs() };
        let turn = corrections.iter().flat_map(|c| &c.left[..NODES]).fold(0.0, |a, &b| greatest(a, b));
        let share = if turn > GREATEST_TURN { GREATEST_TURN / turn } else { 1.0 };
        let (mut angle, mut force, mut force_change) =
            (LEAST_ANGLE, LEAST_FORCE_SHARE * self.setting.ea, 0.0);
        for (unknowns, correction) in self.unknowns.iter_mut().zip(&corrections) {
            for g in 0..NODES {
                unknowns.psi[g] += share * correction.left[g];
                angle = greatest(angle, unknowns.psi[g]);
            }
            for c in 0..2 {
                unknowns.force[c][0] += share * correction.left[MEAN_FORCE + c];
                unknowns.ends[0][c] += share * correction.left[START_SLIP + c];
                unknowns.ends[1][c] += share * correction.left[END_SLIP + c];
                for m in 0..BUBBLES {
                    unknowns.bubbles[c][m] += share * correction.bubbles[c * BUBBLES + m];
                    unknowns.force[c][m + 1] += share * correction.forces[c * BUBBLES + m];
                }
                force = greatest(force, unknowns.force[c][0]);
                force_change = greatest(force_change, correction.left[MEAN_FORCE + c]);
            }
        }
        (greatest(turn / angle, force_change / force), wrong_pivots)
    }

    /// The state at the nodes.
    ///
    /// The force and the moment at an element's ends are the ends' reactions; inside, H' = K dₓ, V' = K `d_y` and
    /// M' = (1+ε₀) T are integrated from the start.
    pub(crate) fn fields(&self) -> Vec<[NodeFields; NODES]> {
        let setting = &self.setting;
        let elements = self.rest.iter().zip(&self.unknowns);
        elements
            .map(|(rest, unknowns)| {
                let element = Element::new(rest, setting, unknowns);
                let nodes = pointwise(rest, setting, unknowns);
                let start_force = [0, 1].map(|c| -element.residual[START_SLIP + c]);
                let start_moment = -element.residual[0];
                std::array::from_fn(|g| {
                    let mut fields = NodeFields {
                        psi: unknowns.psi[g],
                        slip: unknowns.ends[0],
                        force: start_force,
                        moment: start_moment,
                    };
                    for j in 0..NODES {
                        let ds = INTEGRAL[g][j] * rest[j].jacobian;
                        let (rest_sine, rest_cosine) = rest[j].phi.sin_cos();
                        let [sine, cosine] = nodes[j].sin_cos;
                        let stretched = nodes[j].stretched;
                        fields.slip[0] += ds * (stretched * cosine - setting.affine[0] * rest_cosine);
                        fields.slip[1] += ds * (stretched * sine - setting.affine[1] * rest_sine);
                        for c in 0..2 {
                            fields.force[c] += ds * setting.foundation * nodes[j].slip[c];
                        }
                        fields.moment += ds * nodes[j].moment_slope;
                    }
                    fields
                })
            })
            .collect()
    }
}

/// Solves the block-tridiagonal system of the vertices; returns also the number of negative pivots.
fn solve_vertices(elements: &[Condensed], held: [Held; 2]) -> (Vec<[f64; VERTEX]>, usize) {
    type Block = [[f64; VERTEX]; VERTEX];
    let last = elements.len();
    let is_held = |v: usize, i: usize| (v == 0 && held[0][i]) || (v == last && held[1][i]);
    // For every vertex: inverse times (coupling to the next, residual), once what lies before is eliminated.
    let mut solved: Vec<(Block, [f64; VERTEX])> = Vec::with_capacity(last + 1);
    let mut negative = 0;
    for v in 0..=last {
        let (mut own, mut load) = ([[0.0; VERTEX]; VERTEX], [0.0; VERTEX]);
        let mut next = [[0.0; VERTEX]; VERTEX];
        for i in 0..VERTEX {
            if v > 0 {
                let before = &elements[v - 1];
                load[i] += before.residual[VERTEX + i];
                for j in 0..VERTEX {
                    own[i][j] += before.matrix[VERTEX + i][VERTEX + j];
                }
            }
            if v < last {
                load[i] += elements[v].residual[i];
                for j in 0..VERTEX {
                    own[i][j] += elements[v].matrix[i][j];
                    next[i][j] = if is_held(v + 1, j) { 0.0 } else { elements[v].matrix[i][VERTEX + j] };
                }
            }
        }
        if let Some((across, known)) = solved.last() {
            for i in 0..VERTEX {
                for k in 0..VERTEX {
                    let coupling = elements[v - 1].matrix[k][VERTEX + i];
                    load[i] -= coupling * known[k];
                    for j in 0..VERTEX {
                        own[i][j] -= coupling * across[k][j];
                    }
                }
            }
        }
        for i in (0..VERTEX).filter(|&i| is_held(v, i)) {
            for j in 0..VERTEX {
                own[i][j] = 0.0;
                own[j][i] = 0.0;
                next[i][j] = 0.0;
            }
            own[i][i] = 1.0;
            load[i] = 0.0;
        }
        negative += divide(own, &mut next, &mut load);
        solved.push((next, load));
    }
    let mut values = vec![[0.0; VERTEX]; last + 1];
    for v in (0..=last).rev() {
        let (across, load) = &solved[v];
        let after = if v < last { values[v + 1] } else { [0.0; VERTEX] };
        values[v] =
            std::array::from_fn(|i| -load[i] - (0..VERTEX).map(|j| across[i][j] * after[j]).sum::<f64>());
    }
    // The loads are residuals, so −load is the correction; `across` acts on corrections.
    (values, negative)
}

/// Divides the columns by the symmetric block `own`; returns its negative pivots.
fn divide(
    mut own: [[f64; VERTEX]; VERTEX],
    columns: &mut [[f64; VERTEX]; VERTEX],
    load: &mut [f64; VERTEX],
) -> usize {
    let mut negative = 0;
    for k in 0..VERTEX {
        negative += usize::from(own[k][k] < 0.0);
        for i in k + 1..VERTEX {
            let factor = own[i][k] / own[k][k];
            for j in k..VERTEX {
                own[i][j] -= factor * own[k][j];
            }
            for j in 0..VERTEX {
                columns[i][j] -= factor * columns[k][j];
            }
            load[i] -= factor * load[k];
        }
    }
    for k in (0..VERTEX).rev() {
        for j in 0..VERTEX {
            let known: f64 = (k + 1..VERTEX).map(|i| own[k][i] * columns[i][j]).sum();
            columns[k][j] = (columns[k][j] - known) / own[k][k];
        }
        let known: f64 = (k + 1..VERTEX).map(|i| own[k][i] * load[i]).sum();
        load[k] = (load[k] - known) / own[k][k];
    }
    negative
}
