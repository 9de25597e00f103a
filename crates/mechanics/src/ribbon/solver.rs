//! The way to the equilibrium of a whole ribbon.

use super::{
    RibbonError, RibbonProblem, RibbonSolution,
    fields::Fields,
    mesh::{RibbonMesh, Span},
    newton::{MULTIPLIERS, Newton, Target},
    problem::EndMotion,
};
use crate::{
    basis::{NODES, POINT, WEIGHT, shape_values},
    guess::{MOMENTS, SINE_SERIES, angle_share},
    solver::Mesh,
    wide::Wide,
};

/// Relative correction at which the iteration stops. One more step would change the result by about its square.
pub(super) const SETTLED: f64 = 1e-6;
/// Newton steps from one start before the way there is taken in smaller steps.
const STEPS: u32 = 25;
/// First and smallest step of the motion, relative to the whole way.
const FIRST_ADVANCE: f64 = 0.25;
const LEAST_ADVANCE: f64 = 1.0 / 1024.0;
/// Most elements for one quarter's length of the ribbon, on average.
pub(super) const MOST_PER_QUARTER: usize = 64;
/// Most rounds of refinement.
const ROUNDS: usize = 10;
/// Angles and force below which a guess of the force has no meaning.
pub(super) const TINY: f64 = 1e-300;

/// How the state was reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// From the first guess or from the state given.
    Directly,
    /// By steps of the motion from rest.
    InSteps,
    /// The planar state reached from rest has lost its stability (the ribbon buckles in its plane as a column); this is a
    /// stable state below it in energy.
    ByBuckling,
}

/// A solved state to start another solve from: another stretch, another width, or a similar shape.
#[derive(Debug, Clone, PartialEq)]
pub struct RibbonState {
    pub(crate) segments: usize,
    pub(crate) spans: Vec<Span>,
    pub(crate) psi: Vec<f64>,
    pub(crate) force: [f64; 2],
}

/// Solver of whole ribbons. It keeps its memory, so one solver should serve many problems.
#[derive(Debug, Default)]
pub struct RibbonSolver {
    meshing: Mesh,
    pub(crate) mesh: RibbonMesh,
    pub(crate) newton: Newton,
    pub(crate) fields: Fields,
    kept: Vec<f64>,
    pub(super) before: Vec<f64>,
    pub(super) spare_spans: Vec<Span>,
}

/// What a solve came to.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Solved {
    pub(crate) iterations: u32,
    pub(crate) correction: f64,
    pub(crate) negative_pivots: usize,
    pub(crate) reached: Reached,
    pub(crate) error_estimate: f64,
    /// How much of the rest shape's quadrature error is in the state, 0 to 1.
    pub(crate) likeness: f64,
}

/// What a run of Newton steps came to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run {
    pub(super) is_settled: bool,
    pub(super) iterations: u32,
    pub(super) correction: f64,
    pub(super) negative_pivots: usize,
}

impl Run {
    fn is_good(&self) -> bool {
        self.is_settled && self.negative_pivots == MULTIPLIERS
    }
}

/// Numbers of the rest state that guesses and tolerances need.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scales {
    /// `∫ EI_c κ₀² ds` and ∫ φ₀^(2j) ds.
    bend_sum: f64,
    moments: [f64; MOMENTS],
}

impl Scales {
    pub(super) fn force(&self) -> f64 {
        self.bend_sum / self.moments[0].max(TINY)
    }
}

impl RibbonSolver {
    /// A solver whose peak strain is good to 1e-4.
    pub fn new() -> Self {
        Self::default()
    }

    /// A solver of another accuracy. A fixed number of elements is that of each quarter (and of a lead or end arc).
    pub fn with_mesh(meshing: Mesh) -> Self {
        Self { meshing, ..Self::default() }
    }

    /// Solves one ribbon.
    ///
    /// The section angle φ(s) makes the exact energy of an extensible curved beam without shear stationary under the
    /// condition that the far end is where its island has gone. The first guess is the rest shape with its angles scaled
    /// down; should it lead to no stable state, the motion is made in steps from rest. A state that has more negative
    /// pivots than the two conditions has buckled in the plane as a column: the solver then goes down in energy from
    /// there to a stable state. Whatever it comes to, [`RibbonSolution::is_stable`], `unstable_modes` and `reached` say.
    ///
    /// * `warm`: a state to start from, of a ribbon with as many periods and of the same family.
    ///
    /// # Errors
    /// [`RibbonError`] if the ribbon is wider than a bend allows, its islands would meet, it has more than 2,000 periods,
    /// or no equilibrium of the accuracy asked for is found.
    ///
    /// ```
    /// use ogee_geometry::{Centreline, Ends, Family, Quarter};
    /// use ogee_mechanics::{EndMotion, RibbonProblem, RibbonSolver, Strips};
    ///
    /// let quarter = Quarter::new(Family::Arc, 1000.0, 400.0)?;
    /// let line = Centreline::new(quarter, 5, Ends::Crossing, 0.0, None)?;
    /// let strips = Strips::homogeneous(20.0)?;
    /// let problem = RibbonProblem { line: &line, strips: &strips, motion: EndMotion::stretch(0.4) };
    /// let solution = RibbonSolver::new().solve(&problem, None)?;
    /// assert!((solution.peak.strain / 0.010979 - 1.0).abs() < 1e-3 && solution.is_stable);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn solve(
        &mut self,
        problem: &RibbonProblem<'_>,
        warm: Option<&RibbonState>,
    ) -> Result<RibbonSolution, RibbonError> {
        let solved = self.solve_raw(problem, warm)?;
        RibbonSolution::new(self, problem, solved)
    }

    /// Solves without building a [`RibbonSolution`].
    pub(crate) fn solve_raw(
        &mut self,
        problem: &RibbonProblem<'_>,
        warm: Option<&RibbonState>,
    ) -> Result<Solved, RibbonError> {
        problem.check()?;
        self.mesh.take_segments(problem);
        let warm = warm.filter(|state| state.segments == self.mesh.segments.len());
        let tolerance = match self.meshing {
            Mesh::Adaptive { tolerance } => {
                self.mesh.begin(problem);
                tolerance
            }
            Mesh::Fixed { elements } => {
                let pieces = problem.line.quarter().pieces().len();
                self.mesh.divide(elements.div_ceil(pieces).max(1));
                f64::INFINITY
            }
        };
        if let Some(state) = warm {
            self.mesh.spans.clone_from(&state.spans);
            self.newton.psi.clone_from(&state.psi);
            self.newton.force = state.force;
        }
        let mut is_given = warm.is_some();
        let mut iterations = 0;
        let mut reached = Reached::Directly;
        let limit = MOST_PER_QUARTER * self.mesh.segments.len();
        for round in 0.. {
            self.mesh.lay_out(problem);
            let mut solved = self.settle(problem, is_given, reached)?;
            iterations += solved.iterations;
            solved.iterations = iterations;
            reached = solved.reached;
            let error_estimate = self.fields.fill(&self.mesh, &self.newton);
            solved.error_estimate = error_estimate;
            if error_estimate <= tolerance {
                return Ok(solved);
            }
            let elements = self.mesh.elements();
            self.refine(tolerance);
            if round == ROUNDS || self.mesh.elements() > limit || self.mesh.elements() == elements {
                return Err(RibbonError::NotAccurate { error_estimate, tolerance, elements });
            }
            is_given = true;
        }
        unreachable!("the rounds end in a return")
    }

    /// Splits the elements that the estimate is not content with and carries the state over.
    fn refine(&mut self, tolerance: f64) {
        self.kept.clear();
        self.spare_spans.clear();
        let psi = &self.newton.psi;
        self.kept.push(psi[0]);
        for (e, span) in self.mesh.spans.iter().enumerate() {
            let values = &psi[e * (NODES - 1)..e * (NODES - 1) + NODES];
            if self.fields.wants_split(e, tolerance) {
                self.spare_spans.extend(span.halves());
                for half in [-0.5, 0.5] {
                    self.kept.extend(POINT[1..].iter().map(|xi| {
                        let shape = shape_values(half + 0.5 * xi);
                        shape.iter().zip(values).map(|(shape, value)| shape * value).sum::<f64>()
                    }));
                }
            } else {
                self.spare_spans.push(*span);
                self.kept.extend_from_slice(&values[1..]);
            }
        }
        std::mem::swap(&mut self.mesh.spans, &mut self.spare_spans);
        std::mem::swap(&mut self.newton.psi, &mut self.kept);
    }

    fn scales(&self) -> Scales {
        let mut scales = Scales { bend_sum: 0.0, moments: [0.0; MOMENTS] };
        for (i, rest) in self.mesh.rest.iter().enumerate() {
            let ds = WEIGHT[i % NODES] * rest.jacobian;
            scales.bend_sum += ds * self.mesh.bending[i] * rest.kappa * rest.kappa;
            let square = rest.phi * rest.phi;
            let mut power = ds;
            for moment in &mut scales.moments {
                power *= square;
                *moment += power;
            }
        }
        scales
    }

    /// The share α of all rest angles with which the ends are as far apart as asked for.
    fn share(&self, scales: &Scales, distance: f64) -> f64 {
        let simd = pulp::Scalar::new();
        let wide = |value: f64| Wide::splat(simd, value);
        let rest = self.mesh.summed_end[0];
        let change = 4.0 * (distance - self.mesh.rest_end[0].hypot(self.mesh.rest_end[1]));
        let share =
            angle_share(simd, wide(change), wide(self.mesh.contour), wide(rest), scales.moments.map(wide))
                .lanes();
        if share.is_finite() { share } else { 1.0 }
    }

    /// Where the far end has to be by the mesh's own quadrature, and how much of its error is in there.
    fn target(&self, problem: &RibbonProblem<'_>, motion: EndMotion, scales: &Scales) -> (Target, f64, f64) {
        let unit_um = problem.line.quarter().pitch_um();
        let moved = [
            self.mesh.rest_end[0] + motion.stretch * problem.line.span_um() / unit_um,
            self.mesh.rest_end[1] + motion.sideways_um / unit_um,
        ];
        let share = self.share(scales, moved[0].hypot(moved[1]));
        let likeness = (share * share).min(1.0);
        let end =
            std::array::from_fn(|k| moved[k] + likeness * (self.mesh.summed_end[k] - self.mesh.rest_end[k]));
        (Target { end, turn: motion.turn_rad }, share, likeness)
    }

    /// First guess: all angles scaled by the share α, the line between the ends turned, the ends reset to their angles;
    /// the force from the residual weighted with φ₀.
    fn guess(&mut self, target: Target, share: f64, scales: &Scales) {
        let elements = self.mesh.elements();
        self.newton.clear(elements);
        let rest = self.mesh.rest_end;
        let chord = target.end[1].atan2(target.end[0]) - rest[1].atan2(rest[0]);
        let mut done = 0.0;
        for e in 0..elements {
            let half_length: f64 =
                (0..NODES).map(|g| 0.5 * WEIGHT[g] * self.mesh.rest[e * NODES + g].jacobian).sum();
            for g in 0..NODES {
                let along = (done + half_length * (1.0 + POINT[g])) / self.mesh.contour;
                let bow = 6.0 * chord * along * (1.0 - along) + target.turn * along * (3.0 * along - 2.0);
                self.newton.psi[e * (NODES - 1) + g] =
                    (share - 1.0) * self.mesh.rest[e * NODES + g].phi + bow;
            }
            done += 2.0 * half_length;
        }
        let last = self.newton.psi.len() - 1;
        self.newton.psi[0] = 0.0;
        self.newton.psi[last] = target.turn;
        let square = share * share;
        let weight =
            share * (0..MOMENTS).rev().fold(0.0, |sum, k| sum * square + scales.moments[k] * SINE_SERIES[k]);
        let distance = target.end[0].hypot(target.end[1]);
        let taut = (distance / self.mesh.contour - 1.0).max(0.0);
        let pull = if weight.abs() > TINY { scales.bend_sum * (1.0 - share) / weight } else { 0.0 };
        let pull = pull + self.mesh.ea * taut;
        self.newton.force = [pull * chord.cos(), pull * chord.sin()];
    }

    /// Finds the equilibrium on the mesh laid out, see [`Self::solve`].
    pub(super) fn settle(
        &mut self,
        problem: &RibbonProblem<'_>,
        is_given: bool,
        reached: Reached,
    ) -> Result<Solved, RibbonError> {
        let scales = self.scales();
        let (target, share, likeness) = self.target(problem, problem.motion, &scales);
        let mut iterations = 0;
        let solved = |run: Run, iterations: u32, reached: Reached| Solved {
            iterations,
            correction: run.correction,
            negative_pivots: run.negative_pivots,
            reached,
            error_estimate: f64::INFINITY,
            likeness,
        };
        if is_given {
            self.newton.fit(self.mesh.elements());
            let run = self.run(target, share, &scales);
            iterations += run.iterations;
            if run.is_good() {
                return Ok(solved(run, iterations, reached));
            }
        }
        self.guess(target, share, &scales);
        let run = self.run(target, share, &scales);
        iterations += run.iterations;
        if run.is_good() {
            return Ok(solved(run, iterations, Reached::Directly));
        }
        let (run, way) = self.advance(problem, &scales);
        iterations += run.iterations;
        if run.is_good() {
            return Ok(solved(run, iterations, Reached::InSteps));
        }
        self.kept.clone_from(&self.newton.psi);
        let force = self.newton.force;
        let descent = self.descend(target, share, &scales);
        iterations += descent.iterations;
        if descent.is_good() {
            return Ok(solved(descent, iterations, Reached::ByBuckling));
        }
        if run.is_settled {
            self.newton.psi.clone_from(&self.kept);
            self.newton.force = force;
            return Ok(solved(run, iterations, Reached::InSteps));
        }
        Err(RibbonError::NotConverged {
            stretch: problem.motion.stretch,
            reached: way,
            residual: descent.correction,
            iterations,
        })
    }

    /// Newton steps towards one target until they settle, fail or take too long.
    fn run(&mut self, target: Target, share: f64, scales: &Scales) -> Run {
        let last = self.newton.psi.len() - 1;
        self.newton.psi[0] = 0.0;
        self.newton.psi[last] = target.turn;
        let significance = share.clamp(0.02, 1.0);
        let mut iterations = 0;
        loop {
            iterations += 1;
            let step = self.newton.step(&self.mesh, target, significance, scales.force());
            let is_settled = step.correction < SETTLED;
            if is_settled || iterations == STEPS || step.correction.is_nan() {
                return Run {
                    is_settled,
                    iterations,
                    correction: step.correction,
                    negative_pivots: step.negative_pivots,
                };
            }
        }
    }

    /// Follows the equilibrium from rest in steps of the motion, each along the line through the two before. Returns the
    /// last run and the share of the way that was reached; the state is that of the last step that settled.
    fn advance(&mut self, problem: &RibbonProblem<'_>, scales: &Scales) -> (Run, f64) {
        self.newton.clear(self.mesh.elements());
        self.kept.clone_from(&self.newton.psi);
        self.before.clone_from(&self.newton.psi);
        let (mut kept_force, mut before_force) = ([0.0; 2], [0.0; 2]);
        let (mut done, mut last_step, mut step) = (0.0, 1.0, FIRST_ADVANCE);
        let mut iterations = 0;
        loop {
            let next = if done + step >= 1.0 { 1.0 } else { done + step };
            let (target, share, _) = self.target(problem, problem.motion.scaled(next), scales);
            let ahead = if done > 0.0 { (next - done) / last_step } else { 0.0 };
            for (psi, (kept, before)) in self.newton.psi.iter_mut().zip(self.kept.iter().zip(&self.before)) {
                *psi = ahead.mul_add(kept - before, *kept);
            }
            self.newton.force =
                std::array::from_fn(|k| ahead.mul_add(kept_force[k] - before_force[k], kept_force[k]));
            let mut run = self.run(target, share, scales);
            iterations += run.iterations;
            if run.is_settled {
                if next >= 1.0 {
                    run.iterations = iterations;
                    return (run, 1.0);
                }
                last_step = next - done;
                done = next;
                std::mem::swap(&mut self.before, &mut self.kept);
                self.kept.clone_from(&self.newton.psi);
                before_force = kept_force;
                kept_force = self.newton.force;
                step *= 1.5;
            } else {
                step *= 0.5;
                if step < LEAST_ADVANCE {
                    self.newton.psi.clone_from(&self.kept);
                    self.newton.force = kept_force;
                    run.iterations = iterations;
                    return (run, done);
                }
            }
        }
    }
}
