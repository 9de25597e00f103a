//! One cell at a time.

use ogee_geometry::Quarter;
use pulp::Scalar;

use crate::{
    basis::{NODES, shape_values},
    error::CellError,
    lanes::{CellLanes, LaneLoads, REST, Workspace},
    linear::check_width,
    mesh::{ElementSpan, MAX_ELEMENTS, RestNode, sample_rest, spans},
    strips::{MAX_STRIPS, Strips},
    wide::Wide,
};

/// Relative correction at which the scalar solver stops. One more step would change the result by about its square.
const SETTLED: f64 = 1e-6;
/// Newton steps from a guess before the way there is taken in smaller steps.
const STEPS: u32 = 25;
/// Smallest step of the stretch, relative to the whole way, before giving up.
const LEAST_ADVANCE: f64 = 1.0 / 1024.0;
/// Elements of a quarter to begin with: a relative error of some 1e-7 for bends that are not extreme.
const FIRST_ELEMENTS: usize = 4;

/// A cell to be solved: one period of an endless ribbon, stretched.
#[derive(Debug, Clone, Copy)]
pub struct CellProblem<'a> {
    /// Shape at rest.
    pub quarter: &'a Quarter,
    /// Section of the ribbon.
    pub strips: &'a Strips,
    /// End-to-end stretch e, dimensionless; negative in compression.
    pub stretch: f64,
}

/// How finely a quarter is divided.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mesh {
    /// As many elements as the estimated relative error of the peak strain asks for, at most 64.
    Adaptive {
        /// The relative error allowed.
        tolerance: f64,
    },
    /// A fixed number of elements, from 2 to 64.
    Fixed {
        /// Quartic elements of the quarter.
        elements: usize,
    },
}

impl Default for Mesh {
    fn default() -> Self {
        Self::Adaptive { tolerance: 1e-4 }
    }
}

/// A solved state to start from: the nearer the next problem, the fewer steps it takes.
///
/// Only the shape of the answer is kept, so that the next problem may have another shape, width or stretch. To
/// another stretch the state is carried along its own tangent.
#[derive(Debug, Clone, PartialEq)]
pub struct CellState {
    pub(crate) elements: usize,
    pub(crate) pieces: usize,
    pub(crate) stretch: f64,
    pub(crate) force: f64,
    pub(crate) force_slope: f64,
    pub(crate) psi: Vec<f64>,
    pub(crate) psi_slope: Vec<f64>,
}

/// The raw result of a solve; nodal fields stay in the solver's workspace.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Solved {
    pub(crate) elements: usize,
    pub(crate) force: f64,
    pub(crate) force_slope: f64,
    pub(crate) is_stable: bool,
    pub(crate) iterations: u32,
    pub(crate) correction: f64,
    pub(crate) error_estimate: f64,
    /// How much of the rest shape's quadrature error is in the state, 0 to 1.
    pub(crate) likeness: f64,
}

/// Solver of single cells. It keeps its memory, so one solver should serve many problems.
#[derive(Debug, Default)]
pub struct CellSolver {
    mesh: Mesh,
    pub(crate) nodes: Vec<RestNode>,
    pub(crate) workspace: Workspace,
    pub(crate) psi_slope: Vec<f64>,
    start: Vec<f64>,
}

impl CellSolver {
    /// A solver whose peak strain is good to 1e-4.
    pub fn new() -> Self {
        Self::default()
    }

    /// A solver on a mesh of one's own choice.
    pub fn with_mesh(mesh: Mesh) -> Self {
        Self { mesh, ..Self::default() }
    }
}

/// Where the iteration starts.
#[derive(Debug, Clone, Copy)]
enum Start {
    /// The scaled rest angle.
    Guess,
    /// `CellSolver::start` with this force.
    Given(f64),
}

/// What a run of Newton steps came to.
struct Run {
    is_settled: bool,
    solved: Solved,
}

impl CellSolver {
    /// Solves without building a [`crate::CellSolution`]: nothing is allocated once the memory has grown to size.
    pub(crate) fn solve_raw(
        &mut self,
        problem: &CellProblem<'_>,
        warm: Option<&CellState>,
    ) -> Result<Solved, CellError> {
        let stretch = problem.stretch;
        if !(stretch.is_finite() && stretch > -1.0) {
            return Err(CellError::BadStretch { stretch });
        }
        check_width(problem.quarter, problem.strips.width_um())?;
        let pieces = problem.quarter.pieces().len();
        let warm = warm.filter(|state| state.pieces == pieces);
        let (mut elements, tolerance) = match self.mesh {
            Mesh::Fixed { elements } => (elements.clamp(2, MAX_ELEMENTS), f64::INFINITY),
            Mesh::Adaptive { tolerance } => {
                (warm.map_or(FIRST_ELEMENTS, |state| state.elements.max(FIRST_ELEMENTS)), tolerance)
            }
        };
        let mut start = Start::Guess;
        if let Some(state) = warm {
            let change = stretch - state.stretch;
            let moved = |i: usize| change.mul_add(state.psi_slope[i], state.psi[i]);
            carry_over(pieces, state.elements, moved, elements, &mut self.start);
            start = Start::Given(change.mul_add(state.force_slope, state.force));
        }
        let mut iterations = 0;
        let mut coarser: Option<f64> = None;
        loop {
            self.lay_out(problem, elements);
            let mut solved = self.settle(problem, elements, start)?;
            iterations += solved.iterations;
            solved.iterations = iterations;
            let peak = self.crest_inner_strain(problem, elements);
            if let Some(before) = coarser {
                // The order of convergence is 8, so the change is the error of the coarser mesh.
                let change = (peak - before).abs() / peak.abs().max(f64::MIN_POSITIVE);
                solved.error_estimate = solved.error_estimate.min(change);
            }
            if solved.error_estimate <= tolerance {
                return Ok(solved);
            }
            if elements == MAX_ELEMENTS {
                let error_estimate = solved.error_estimate;
                return Err(CellError::NotAccurate { error_estimate, tolerance, elements });
            }
            coarser = Some(peak);
            let finer = (2 * elements).min(MAX_ELEMENTS);
            let psi = &self.workspace.psi;
            carry_over(pieces, elements, |i| psi[i], finer, &mut self.start);
            start = Start::Given(solved.force);
            elements = finer;
        }
    }

    /// Samples the shape at the nodes of a mesh.
    fn lay_out(&mut self, problem: &CellProblem<'_>, elements: usize) {
        sample_rest(problem.quarter, elements, &mut self.nodes);
        self.workspace.resize(elements, 1);
        for (stored, node) in self.workspace.rest.as_chunks_mut::<REST>().0.iter_mut().zip(&self.nodes) {
            *stored = [node.phi, node.kappa, node.jacobian, 0.0];
        }
    }

    /// Finds the equilibrium on the mesh laid out: from `start`, else from the guess, else by steps from rest.
    fn settle(
        &mut self,
        problem: &CellProblem<'_>,
        elements: usize,
        start: Start,
    ) -> Result<Solved, CellError> {
        let mut run = self.run(problem, elements, problem.stretch, start);
        let mut iterations = run.solved.iterations;
        if !(run.is_settled && run.solved.is_stable) && matches!(start, Start::Given(_)) {
            run = self.run(problem, elements, problem.stretch, Start::Guess);
            iterations += run.solved.iterations;
        }
        if run.is_settled && run.solved.is_stable {
            run.solved.iterations = iterations;
            return Ok(run.solved);
        }
        self.advance(problem, elements, iterations)
    }

    /// Follows the equilibrium from rest in steps of the stretch, each along the tangent of the one before.
    fn advance(
        &mut self,
        problem: &CellProblem<'_>,
        elements: usize,
        mut iterations: u32,
    ) -> Result<Solved, CellError> {
        let unknowns = elements * (NODES - 1) + 1;
        self.start.clear();
        self.start.resize(unknowns, 0.0);
        let (mut reached, mut share) = (0.0, 0.25);
        let mut force = 0.0;
        let mut base = vec![0.0; unknowns];
        let mut slope = vec![0.0; unknowns];
        let mut force_slope = 0.0;
        loop {
            let next = if reached + share >= 1.0 { 1.0 } else { reached + share };
            let change = (next - reached) * problem.stretch;
            for (start, (base, slope)) in self.start.iter_mut().zip(base.iter().zip(&slope)) {
                *start = change.mul_add(*slope, *base);
            }
            let guess = Start::Given(change.mul_add(force_slope, force));
            let run = self.run(problem, elements, next * problem.stretch, guess);
            iterations += run.solved.iterations;
            if run.is_settled {
                reached = next;
                if reached >= 1.0 {
                    return Ok(Solved { iterations, ..run.solved });
                }
                (force, force_slope) = (run.solved.force, run.solved.force_slope);
                base.copy_from_slice(&self.workspace.psi);
                slope.copy_from_slice(&self.psi_slope);
                share = (1.5 * share).min(1.0 - reached);
            } else {
                share *= 0.5;
                if share < LEAST_ADVANCE {
                    return Err(CellError::NotConverged {
                        stretch: problem.stretch,
                        reached: reached * problem.stretch,
                        residual: run.solved.correction,
                        iterations,
                    });
                }
            }
        }
    }

    /// Newton steps at one stretch until they settle, fail or take too long.
    fn run(&mut self, problem: &CellProblem<'_>, elements: usize, stretch: f64, start: Start) -> Run {
        let simd = Scalar::new();
        let mut strips = [[0.0; 2]; MAX_STRIPS];
        let pitch_um = problem.quarter.pitch_um();
        for (stored, (share, half_um)) in strips.iter_mut().zip(problem.strips.parts()) {
            *stored = [share, half_um / pitch_um];
        }
        let strips = &strips[..problem.strips.count()];
        let loads = LaneLoads {
            ea: Wide::splat(simd, problem.strips.relative_ea(pitch_um)),
            stretch: Wide::splat(simd, stretch),
            amplitude: Wide::splat(simd, problem.quarter.amplitude_um() / pitch_um),
        };
        if let Start::Given(_) = start {
            self.workspace.psi.copy_from_slice(&self.start);
        }
        let mut cell = CellLanes::prepare(simd, &mut self.workspace, elements, strips, loads);
        match start {
            Start::Guess => cell.guess(),
            Start::Given(force) => cell.force = Wide::splat(simd, force),
        }
        let mut iterations = 0;
        loop {
            iterations += 1;
            let step = cell.step();
            let correction = step.correction.lanes();
            let force = cell.force.lanes();
            let is_settled = correction < SETTLED;
            if is_settled || iterations == STEPS || !(correction.is_finite() && force.is_finite()) {
                let force_slope = step.force_slope.lanes();
                self.psi_slope.clear();
                self.psi_slope.extend_from_slice(cell.tangent(step.force_slope));
                let error_estimate = cell.finish().lanes();
                let solved = Solved {
                    elements,
                    force,
                    force_slope,
                    is_stable: step.negative_pivots.lanes() == 1.0,
                    iterations,
                    correction,
                    error_estimate,
                    likeness: cell.likeness().lanes(),
                };
                return Run { is_settled, solved };
            }
        }
    }

    /// Strain at the inner edge of the crest in the state just solved.
    fn crest_inner_strain(&self, problem: &CellProblem<'_>, elements: usize) -> f64 {
        let fields = self.workspace.fields.as_chunks::<{ crate::lanes::FIELDS }>().0;
        let [_, axial, curving, _] = fields[elements * NODES - 1];
        let kappa = self.nodes[elements * NODES - 1].kappa;
        let half = 0.5 * problem.strips.width_um() / problem.quarter.pitch_um();
        crate::fibre::fibre_strain(axial, curving, -half, kappa)
    }
}

/// Interpolates nodal angles from a mesh of `from` elements to one of `to`, as functions of the pieces' parameter.
fn carry_over(pieces: usize, from: usize, value: impl Fn(usize) -> f64, to: usize, into: &mut Vec<f64>) {
    into.clear();
    if from == to {
        into.extend((0..=from * (NODES - 1)).map(value));
        return;
    }
    let mut source = spans(pieces, from).enumerate().peekable();
    let mut current: Option<(usize, ElementSpan)> = source.next();
    into.push(value(0));
    for target in spans(pieces, to) {
        for xi in &crate::basis::POINT[1..] {
            let u = target.parameter(*xi);
            while let Some((_, next)) = source.peek() {
                let is_past = current.is_none_or(|(_, span)| {
                    span.piece < target.piece || (span.piece == target.piece && u > span.to)
                });
                if !is_past || next.piece > target.piece {
                    break;
                }
                current = source.next();
            }
            let Some((e, span)) = current else { return };
            let xi = 2.0 * (u - span.from) / (span.to - span.from) - 1.0;
            let shape = shape_values(xi);
            into.push((0..NODES).map(|i| shape[i] * value(e * (NODES - 1) + i)).sum());
        }
    }
}
