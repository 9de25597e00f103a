//! Roots of the eigenvalues along the planar path.
//!
//! The flat states at two stretches and at rest give a parabola of forms along which the first roots are found without
//! another flat state; a secant through true flat states then takes a few steps. Should the counts of negative pivots
//! contradict what is found so, the path is walked in steps instead.

use super::{
    OnsetError, OnsetProblem,
    element::Stiffness,
    factor::{Factors, Held, unknowns, weigh_all},
    flat::{FlatNode, FlatState},
    problem::{Part, parts},
};
use crate::{
    basis::NODES,
    ribbon::{Reached, RibbonProblem, RibbonSolver, Solved},
};

/// First step of the path in units of `EI_out/EI`, growth and greatest size of the steps, as a stretch.
const FIRST_STEP: f64 = 0.25;
const GROWTH: f64 = 1.5;
const GREATEST_STEP: f64 = 0.05;
/// The second stretch of the parabola of forms, in units of `EI_out/EI` and of the slack, and the most it may be; the first
/// one is half of it.
const USUAL: f64 = 1.2;
const OF_SLACK: f64 = 0.4;
const MOST: f64 = 0.3;
/// How far beyond the path's end, and beyond its own second point, the parabola is searched.
const BEYOND: f64 = 1.1;
const REACH: f64 = 6.0;
/// Relative correction of the stretch at which a search ends, on the path and on the parabola.
const SETTLED: f64 = 1e-6;
const SETTLED_ON_PARABOLA: f64 = 1e-4;
/// Evaluations for one root before the search gives up, and for one that is nearly known.
const EVALUATIONS: u32 = 60;
const FEW_EVALUATIONS: u32 = 8;

pub(super) const CLAMPED: Held = [true; 3];

/// Negative modes of each part at one place of the path.
#[derive(Debug, Clone, Copy)]
struct Probe {
    share: f64,
    counts: [usize; 2],
}

/// A root: where mode number `order` of part `part` becomes unstable.
#[derive(Debug, Clone)]
pub(super) struct Root {
    pub(super) part: usize,
    pub(super) order: usize,
    pub(super) share: f64,
    /// d(eigenvalue)/d(share).
    pub(super) slope: f64,
    /// Relative uncertainty of the share.
    pub(super) correction: f64,
    pub(super) vector: Vec<f64>,
}

/// The first root of all and the second one.
#[derive(Debug, Clone)]
pub(super) struct Roots {
    pub(super) first: Root,
    pub(super) next: Option<Root>,
}

/// The forms on a parabola in the share of the path.
#[derive(Debug)]
struct Parabola {
    base: Vec<FlatNode>,
    slope: Vec<FlatNode>,
    bend: Vec<FlatNode>,
    limit: f64,
}

/// `a·x + b·y` of all that varies along the path.
fn combine(a: f64, x: &FlatNode, b: f64, y: &FlatNode) -> FlatNode {
    FlatNode {
        jacobian: 0.0,
        curvature: a * x.curvature + b * y.curvature,
        moment: a * x.moment + b * y.moment,
        normal: a * x.normal + b * y.normal,
        stretched: a * x.stretched + b * y.stretched,
    }
}

pub(super) struct Search<'s, 'p> {
    pub(super) solver: &'s mut RibbonSolver,
    pub(super) problem: &'s OnsetProblem<'p>,
    pub(super) stiffness: Stiffness,
    pub(super) parts: Vec<Part>,
    pub(super) state: FlatState,
    /// Size of the whole path, as a stretch.
    size: f64,
    middle: usize,
    pub(super) factors: Factors,
    pub(super) vector: Vec<f64>,
    weighed: Vec<f64>,
    is_given: bool,
    /// Share of the path of the state held.
    at: f64,
    parabola: Option<Parabola>,
    /// The flat state solved last.
    pub(super) solved: Option<Solved>,
    pub(super) states: u32,
}

impl<'s, 'p> Search<'s, 'p> {
    pub(super) fn new(
        solver: &'s mut RibbonSolver,
        problem: &'s OnsetProblem<'p>,
        stiffness: Stiffness,
        size: f64,
    ) -> Self {
        let is_symmetric = problem.up_to.sideways_um == 0.0 && problem.up_to.turn_rad == 0.0;
        Self {
            solver,
            problem,
            stiffness,
            parts: parts(problem.line.ends(), is_symmetric),
            state: FlatState::default(),
            size,
            middle: 0,
            factors: Factors::default(),
            vector: Vec::new(),
            weighed: Vec::new(),
            is_given: false,
            at: f64::NAN,
            parabola: None,
            solved: None,
            states: 0,
        }
    }

    /// Lays out a mesh with elements up to `longest` (over P).
    pub(super) fn begin(&mut self, longest: f64) -> Result<(), OnsetError> {
        let OnsetProblem { line, strips, up_to, .. } = *self.problem;
        self.solver.begin_path(&RibbonProblem { line, strips, motion: up_to }, longest)?;
        self.is_given = false;
        self.at = f64::NAN;
        self.parabola = None;
        Ok(())
    }

    /// Longest element of the mesh, over the pitch.
    pub(super) fn longest(&self) -> f64 {
        (0..self.state.elements())
            .map(|e| self.state.s[e * NODES + NODES - 1] - self.state.s[e * NODES])
            .fold(0.0, f64::max)
    }

    /// Takes the form at a share of the path: from the parabola, or by solving the flat state.
    pub(super) fn go_to(&mut self, share: f64) -> Result<(), OnsetError> {
        if share == self.at {
            return Ok(());
        }
        if let Some(parabola) = &self.parabola {
            let all = parabola.base.iter().zip(&parabola.slope).zip(&parabola.bend);
            for (node, ((base, slope), bend)) in self.state.nodes.iter_mut().zip(all) {
                let change = combine(share, slope, share * share, bend);
                *node = FlatNode { jacobian: node.jacobian, ..combine(1.0, base, 1.0, &change) };
            }
            self.at = share;
            return Ok(());
        }
        let OnsetProblem { line, strips, up_to, .. } = *self.problem;
        let planar = RibbonProblem { line, strips, motion: up_to.scaled(share) };
        self.at = f64::NAN;
        let solved = self.solver.solve_on_path(&planar, self.is_given)?;
        self.solved = Some(solved);
        self.states += 1;
        self.is_given = true;
        self.state.take(self.solver);
        self.at = share;
        let middle = self.state.middle();
        self.middle = middle.unwrap_or(0);
        // A bowed column has lost the ribbon's symmetry.
        let is_lost = solved.reached == Reached::ByBuckling || middle.is_none();
        if is_lost && self.parts.len() == 2 {
            self.parts = parts(line.ends(), false);
            let stretch = share * up_to.stretch;
            return Err(OnsetError::NotConverged { stretch, error: f64::INFINITY, iterations: self.states });
        }
        Ok(())
    }

    /// Draws the parabola of forms through rest and two shares of the path.
    pub(super) fn draw_parabola(&mut self) -> Result<(), OnsetError> {
        let slack = self.problem.line.slack();
        let far = (USUAL * self.stiffness.bending).min(OF_SLACK * slack).min(MOST);
        let far = (far / self.size).min(1.0);
        let near = 0.5 * far;
        self.go_to(near)?;
        let base: Vec<FlatNode> = self
            .solver
            .rest_curvatures()
            .map(|curvature| FlatNode { curvature, stretched: 1.0, ..FlatNode::default() })
            .collect();
        let first = self.state.nodes.clone();
        self.go_to(far)?;
        let rate =
            |share: f64, node: &FlatNode, base: &FlatNode| combine(1.0 / share, node, -1.0 / share, base);
        let (mut slope, mut bend) = (Vec::with_capacity(base.len()), Vec::with_capacity(base.len()));
        for ((base, first), second) in base.iter().zip(&first).zip(&self.state.nodes) {
            let (early, late) = (rate(near, first, base), rate(far, second, base));
            let bending = combine(1.0 / (far - near), &late, -1.0 / (far - near), &early);
            slope.push(combine(1.0, &early, -near, &bending));
            bend.push(bending);
        }
        let limit = BEYOND.min(REACH * far);
        self.parabola = Some(Parabola { base, slope, bend, limit });
        Ok(())
    }

    /// Leaves the parabola for true flat states.
    pub(super) fn leave_parabola(&mut self) {
        self.parabola = None;
        self.at = f64::NAN;
    }

    /// Elements of a part.
    pub(super) fn elements(&self, part: Part) -> usize {
        if part.is_half { self.middle } else { self.state.elements() }
    }

    /// Factorises a part at the state held; returns its negative modes.
    pub(super) fn factorise(&mut self, part: Part) -> usize {
        let nodes = &self.state.nodes[..self.elements(part) * NODES];
        self.factors.decompose(nodes, &self.stiffness, [CLAMPED, part.far], 0.0);
        self.factors.negative
    }

    fn probe(&mut self, share: f64) -> Result<Probe, OnsetError> {
        self.go_to(share)?;
        let mut counts = [0; 2];
        for k in 0..self.parts.len() {
            counts[k] = self.factorise(self.parts[k]);
        }
        Ok(Probe { share, counts })
    }

    /// The eigenvalue nearest zero of the part just factorised, from the vector held; `rounds` of inverse iteration.
    pub(super) fn eigenvalue(&mut self, nodes_used: usize, rounds: usize) -> f64 {
        let nodes = &self.state.nodes[..nodes_used];
        let size = unknowns(nodes_used / NODES);
        if self.vector.len() != size {
            self.vector.clear();
            self.vector.extend((0..size).map(|i| 1.0 + 0.5 * (1.7 * i as f64 + 0.3).sin()));
        }
        let mut value = f64::NAN;
        weigh_all(nodes, &self.vector, &mut self.weighed);
        for _ in 0..rounds {
            self.vector.clone_from(&self.weighed);
            self.factors.solve(&mut self.vector);
            let across = dot(&self.vector, &self.weighed);
            weigh_all(nodes, &self.vector, &mut self.weighed);
            let own = dot(&self.vector, &self.weighed);
            value = across / own;
            let scale = 1.0 / own.sqrt();
            for x in self.vector.iter_mut().chain(&mut self.weighed) {
                *x *= scale;
            }
        }
        value
    }

    /// Narrows down where the number of negative modes of part `k` reaches `order`, between two shares.
    fn root(&mut self, k: usize, order: usize, mut low: f64, mut high: f64) -> Result<Root, OnsetError> {
        let part = self.parts[k];
        let settled = if self.parabola.is_some() { SETTLED_ON_PARABOLA } else { SETTLED };
        self.vector.clear();
        let mut last: Option<(f64, f64)> = None;
        let mut share = high;
        let mut correction = f64::INFINITY;
        for _ in 0..EVALUATIONS {
            self.go_to(share)?;
            let count = self.factorise(part);
            if count >= order {
                high = high.min(share);
            } else {
                low = low.max(share);
            }
            // Only next to the root is the eigenvalue nearest zero the one that is sought.
            let is_alone = count == order || count + 1 == order;
            let value = self.eigenvalue(self.elements(part) * NODES, if last.is_none() { 4 } else { 2 });
            let expected_sign = if count >= order { value <= 0.0 } else { value >= 0.0 };
            let middle = 0.5 * (low + high);
            let mut slope = f64::NAN;
            let mut next = middle;
            if is_alone && expected_sign {
                if let Some((share_before, value_before)) = last {
                    slope = (value - value_before) / (share - share_before);
                    let wanted = share - value / slope;
                    let margin = 1e-3 * (high - low);
                    if wanted > low - margin && wanted < high + margin {
                        next = wanted;
                    }
                }
                last = Some((share, value));
            } else {
                last = None;
            }
            correction = (next - share).abs() / share;
            let is_settled = slope.is_finite() && correction < settled;
            let is_pinned = high - low < 1e-9 * high;
            if is_settled || is_pinned {
                if is_pinned {
                    next = 0.5 * (low + high);
                }
                let vector = self.vector.clone();
                return Ok(Root { part: k, order, share: next, slope, correction, vector });
            }
            share = next;
        }
        let stretch = share * self.problem.up_to.stretch;
        Err(OnsetError::NotConverged { stretch, error: correction, iterations: self.states })
    }

    /// The next probe of the path.
    fn step(&mut self, from: Probe, step: &mut f64, limit: f64) -> Result<Probe, OnsetError> {
        let share = (from.share + *step).min(limit);
        *step = (*step * GROWTH).min(GREATEST_STEP / self.size).max(*step);
        self.probe(share)
    }

    /// Walks the path, or the parabola if one is drawn, in growing steps from rest to its first and second root.
    pub(super) fn walk(&mut self) -> Result<Option<Roots>, OnsetError> {
        let limit = self.parabola.as_ref().map_or(1.0, |parabola| parabola.limit);
        let mut step = FIRST_STEP * self.stiffness.bending / self.size;
        let mut low = Probe { share: 0.0, counts: [0; 2] };
        let mut high = self.step(low, &mut step, limit)?;
        while high.counts == [0; 2] {
            if high.share >= limit {
                return Ok(None);
            }
            low = high;
            high = self.step(low, &mut step, limit)?;
        }
        let mut firsts = Vec::with_capacity(2);
        for k in 0..self.parts.len() {
            if high.counts[k] > 0 {
                firsts.push(self.root(k, 1, low.share, high.share)?);
            }
        }
        let at = usize::from(firsts.len() == 2 && firsts[1].share < firsts[0].share);
        let first = firsts.swap_remove(at);
        let k = first.part;
        // The second root: another of the same part, or the first of the other.
        let mut next = firsts.pop();
        loop {
            for part in 0..self.parts.len() {
                let order = if part == k { 2 } else { 1 };
                let is_known = next.as_ref().is_some_and(|next| next.part == part);
                if high.counts[part] >= order && !is_known {
                    let root = self.root(part, order, low.share, high.share)?;
                    if next.as_ref().is_none_or(|next| root.share < next.share) {
                        next = Some(root);
                    }
                }
            }
            if next.is_some() || high.share >= limit {
                return Ok(Some(Roots { first, next }));
            }
            low = high;
            high = self.step(low, &mut step, limit)?;
        }
    }

    /// The roots on the true path next to ones that are nearly known; none if they turn out not to be the first two.
    pub(super) fn polish(&mut self, roots: &Roots) -> Result<Option<Roots>, OnsetError> {
        let Some(first) = self.polish_root(&roots.first)? else { return Ok(None) };
        if first.share > 1.0 {
            return Ok(None);
        }
        let k = first.part;
        for other in 0..self.parts.len() {
            if other != k && self.factorise(self.parts[other]) != 0 {
                return Ok(None);
            }
        }
        let Some(known) = &roots.next else {
            // The parabola knows no second root within reach.
            return Ok(Some(Roots { first, next: None }));
        };
        let Some(next) = self.polish_root(known)? else { return Ok(None) };
        for other in 0..self.parts.len() {
            let expected = usize::from(other == k);
            if other != next.part && self.factorise(self.parts[other]) != expected {
                return Ok(None);
            }
        }
        let next = (next.share <= 1.0).then_some(next);
        Ok(Some(Roots { first, next }))
    }

    /// A secant through true flat states from a root that is nearly known.
    fn polish_root(&mut self, known: &Root) -> Result<Option<Root>, OnsetError> {
        let (k, order) = (known.part, known.order);
        let part = self.parts[k];
        let (mut share, mut slope) = (known.share, known.slope);
        self.vector.clone_from(&known.vector);
        let mut last: Option<(f64, f64)> = None;
        let mut correction_before = f64::INFINITY;
        for _ in 0..FEW_EVALUATIONS {
            self.go_to(share)?;
            let count = self.factorise(part);
            let nodes = self.elements(part) * NODES;
            // A vector from another mesh is of no use.
            let rounds = if self.vector.len() == unknowns(nodes / NODES) { 2 } else { 4 };
            let value = self.eigenvalue(nodes, rounds);
            if let Some((share_before, value_before)) = last {
                slope = (value - value_before) / (share - share_before);
            }
            let next = share - value / slope;
            let correction = (next - share).abs() / share;
            if !(next > 0.5 * known.share && next < 1.5 * known.share) {
                return Ok(None);
            }
            // A secant's error falls at least as its last two corrections do.
            let left = correction * correction / correction_before;
            if last.is_some() && (correction < SETTLED || left < 0.1 * SETTLED) {
                let is_next = count == order || count + 1 == order;
                let vector = self.vector.clone();
                let root =
                    Root { part: k, order, share: next, slope, correction: left.min(correction), vector };
                return Ok(is_next.then_some(root));
            }
            correction_before = correction;
            last = Some((share, value));
            share = next;
        }
        Ok(None)
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
