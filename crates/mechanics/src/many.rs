//! Many cells at once.

use ogee_geometry::Quarter;
use pulp::Arch;

use crate::{
    batch::{BatchMemory, Batches},
    error::CellError,
    fibre::LayerSpan,
    linear::{SHARP, check_width, sharpness},
    mesh::MAX_ELEMENTS,
    solution::{CurvatureJump, PathWeight},
    solver::{CellProblem, CellSolver, Mesh},
};

/// A cell among many, and the layers whose strain is asked for.
#[derive(Debug, Clone, Copy)]
pub struct ManyProblem<'a> {
    /// Shape, section and stretch.
    pub cell: CellProblem<'a>,
    /// The layers; all problems of a call have the same number of them.
    pub layers: &'a [LayerSpan],
}

/// What is wanted of many cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ManySettings {
    /// Relative error allowed in the peak strain.
    pub tolerance: f64,
    /// Elements of a quarter to begin with, 2 to 64. Two are enough for the strain of most bends; take four where the
    /// stretched path is wanted.
    pub least_elements: usize,
    /// Whether to hand out the stretched path.
    pub wants_path: bool,
}

impl Default for ManySettings {
    fn default() -> Self {
        Self { tolerance: 1e-4, least_elements: 2, wants_path: false }
    }
}

/// The extremes of strain in a layer over the whole ribbon.
///
/// The larger one is within the tolerance of the call. The other, where it lies away from the crest (the outer edge of a
/// wide ribbon whose curvature is gathered at the crest), is interpolated to some 2e-3 of the larger.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LayerPeaks {
    /// The largest strain.
    pub tensile: f64,
    /// The smallest strain; negative where anything is compressed.
    pub compressive: f64,
}

impl LayerPeaks {
    /// The one of larger size, with its sign.
    pub fn largest(&self) -> f64 {
        if self.compressive.abs() > self.tensile.abs() { self.compressive } else { self.tensile }
    }
}

/// One of many cells.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CellResult {
    /// End force F P²/EI, tension positive.
    pub force_ei_per_p2: f64,
    /// dF/de in EI/P².
    pub force_slope_ei_per_p2: f64,
    /// Estimated relative error of the peak strain.
    pub error_estimate: f64,
    /// The jumps of the stretched centreline's curvature: at the crossing, and between arm and bend. Only where the
    /// path is asked for.
    pub jumps: [Option<CurvatureJump>; 2],
    /// Start and number of the path's points.
    pub(crate) path: (usize, usize),
}

/// What was found for many cells, in the order of the problems.
#[derive(Debug, Default)]
pub struct ManyResults {
    output: Output,
    faults: Vec<(usize, CellError)>,
}

/// Where batches write to.
#[derive(Debug, Default)]
pub(crate) struct Output {
    pub(crate) layers: usize,
    pub(crate) wants_path: bool,
    pub(crate) cells: Vec<CellResult>,
    pub(crate) peaks: Vec<LayerPeaks>,
    pub(crate) path: Vec<PathWeight>,
}

impl ManyResults {
    /// The result of problem `index`.
    ///
    /// # Errors
    /// Why that cell has no answer; the others are not affected.
    ///
    /// # Panics
    /// If there is no such problem.
    pub fn cell(&self, index: usize) -> Result<&CellResult, &CellError> {
        match self.faults.binary_search_by_key(&index, |(faulty, _)| *faulty) {
            Ok(place) => Err(&self.faults[place].1),
            Err(_) => Ok(&self.output.cells[index]),
        }
    }

    /// The strain in the layers of problem `index`, in their order; empty for a cell without an answer.
    ///
    /// # Panics
    /// If there is no such problem.
    pub fn peaks(&self, index: usize) -> &[LayerPeaks] {
        let layers = self.output.layers;
        if self.cell(index).is_err() { &[] } else { &self.output.peaks[index * layers..(index + 1) * layers] }
    }

    /// The stretched path of a quarter of problem `index`, crossing first; empty unless asked for.
    ///
    /// # Panics
    /// If there is no such problem.
    pub fn path(&self, index: usize) -> &[PathWeight] {
        let Ok(cell) = self.cell(index) else { return &[] };
        let (start, count) = cell.path;
        &self.output.path[start..start + count]
    }

    /// The problems without an answer.
    pub fn faults(&self) -> &[(usize, CellError)] {
        &self.faults
    }
}

/// Solver of many cells: each lane of the processor's vectors takes another design.
///
/// The arithmetic is that of [`CellSolver`], on a mesh of two elements first; designs whose estimated error is above
/// the tolerance are taken up again on twice as many. Designs that do not settle in a few steps go to the scalar
/// solver. The result agrees with the scalar one to the tolerance. It keeps its memory, so that maps of one size
/// allocate once; each thread needs a solver of its own.
#[derive(Debug, Default)]
pub struct ManySolver {
    /// Which vectors the processor has.
    pub(crate) arch: Arch,
    settings: ManySettings,
    memory: BatchMemory,
    scalar: CellSolver,
    queue: Vec<usize>,
    waiting: Vec<usize>,
    coarse: Vec<usize>,
    failed: Vec<usize>,
}

impl ManySolver {
    /// A solver with the given settings.
    pub fn new(settings: ManySettings) -> Self {
        let scalar = CellSolver::with_mesh(Mesh::Adaptive { tolerance: settings.tolerance });
        Self { settings, scalar, ..Self::default() }
    }

    /// Solves all `problems` into `results`, which it replaces.
    ///
    /// # Panics
    /// If the problems do not all have the same number of layers.
    pub fn solve_many(&mut self, problems: &[ManyProblem<'_>], results: &mut ManyResults) {
        let layers = problems.first().map_or(0, |problem| problem.layers.len());
        assert!(
            problems.iter().all(|problem| problem.layers.len() == layers),
            "all problems of a call have equally many layers"
        );
        let output = &mut results.output;
        output.layers = layers;
        output.wants_path = self.settings.wants_path;
        output.path.clear();
        output.cells.clear();
        output.cells.resize(problems.len(), CellResult::default());
        output.peaks.clear();
        output.peaks.resize(problems.len() * layers, LayerPeaks::default());
        results.faults.clear();
        self.memory.sampled = None;
        self.queue.clear();
        for (index, problem) in problems.iter().enumerate() {
            match check(problem) {
                Ok(()) => self.queue.push(index),
                Err(fault) => results.faults.push((index, fault)),
            }
        }
        self.failed.clear();
        let mut elements = self.settings.least_elements.clamp(2, MAX_ELEMENTS);
        // Designs known to be too sharp for a mesh wait for a finer one.
        self.waiting.clear();
        while (!self.queue.is_empty() || !self.waiting.is_empty()) && elements <= MAX_ELEMENTS {
            self.queue.append(&mut self.waiting);
            let waiting = &mut self.waiting;
            self.queue.retain(|&index| {
                let is_ready = first_elements(problems[index].cell.quarter) <= elements;
                if !is_ready {
                    waiting.push(index);
                }
                is_ready
            });
            self.coarse.clear();
            self.arch.dispatch(Batches {
                problems,
                queue: &self.queue,
                elements,
                tolerance: self.settings.tolerance,
                memory: &mut self.memory,
                output,
                coarse: &mut self.coarse,
                failed: &mut self.failed,
            });
            std::mem::swap(&mut self.queue, &mut self.coarse);
            elements *= 2;
        }
        // What is still too coarse gets its verdict from the scalar solver.
        self.failed.append(&mut self.queue);
        for &index in &self.failed {
            if let Err(fault) = solve_alone(&mut self.scalar, &problems[index], index, output) {
                results.faults.push((index, fault));
            }
        }
        results.faults.sort_unstable_by_key(|(index, _)| *index);
    }
}

/// Elements below which a shape need not be tried.
fn first_elements(quarter: &Quarter) -> usize {
    /// Sharpness up to which 4 elements may do.
    const VERY_SHARP: f64 = 40.0;
    let sharpness = sharpness(quarter);
    if sharpness <= SHARP {
        2
    } else if sharpness <= VERY_SHARP {
        4
    } else {
        8
    }
}

fn check(problem: &ManyProblem<'_>) -> Result<(), CellError> {
    let CellProblem { quarter, strips, stretch } = problem.cell;
    if !(stretch.is_finite() && stretch > -1.0) {
        return Err(CellError::BadStretch { stretch });
    }
    let reach_um = problem.layers.iter().map(LayerSpan::reach_um).fold(0.5 * strips.width_um(), f64::max);
    check_width(quarter, 2.0 * reach_um)
}

fn solve_alone(
    solver: &mut CellSolver,
    problem: &ManyProblem<'_>,
    index: usize,
    output: &mut Output,
) -> Result<(), CellError> {
    let solution = solver.solve(&problem.cell, None)?;
    for (layer, span) in problem.layers.iter().enumerate() {
        let extremes = solution.peak_at(*span)?;
        output.peaks[index * output.layers + layer] =
            LayerPeaks { tensile: extremes.tensile.strain, compressive: extremes.compressive.strain };
    }
    let mut cell = CellResult {
        force_ei_per_p2: solution.force_ei_per_p2,
        force_slope_ei_per_p2: solution.force_slope_ei_per_p2,
        error_estimate: solution.error_estimate,
        ..CellResult::default()
    };
    if output.wants_path {
        let start = output.path.len();
        output.path.extend(solution.optical_quadrature());
        cell.path = (start, output.path.len() - start);
        for jump in solution.curvature_jumps() {
            cell.jumps[usize::from(jump.s_um != 0.0)] = Some(jump);
        }
    }
    output.cells[index] = cell;
    Ok(())
}
