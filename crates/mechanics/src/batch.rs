//! One batch of designs through the lanes of the processor's vectors.

use pulp::{Simd, WithSimd, bytemuck};

use crate::{
    basis::{NODES, WEIGHT},
    extremes::least_and_greatest,
    lanes::{CellLanes, LaneLoads, REST, Workspace},
    many::{CellResult, LayerPeaks, ManyProblem, Output},
    mesh::{RestNode, sample_rest},
    solution::{CurvatureJump, PathWeight},
    wide::Wide,
};

/// Greatest number of lanes of any vector that is dispatched to, and so of designs in a batch.
const MAX_LANES: usize = 8;
/// Relative correction at which a batch stops. One more step would change the result by about its square, to be set
/// against a tolerance of 1e-4.
const SETTLED: f64 = 1e-3;
/// Newton steps of a batch; a lane that needs more is left to the scalar solver.
const STEPS: usize = 10;

/// Scratch memory of batches.
#[derive(Debug, Default)]
pub(crate) struct BatchMemory {
    nodes: Vec<RestNode>,
    /// Address of the quarter in `nodes` and its elements, valid during one call.
    pub(crate) sampled: Option<(usize, usize)>,
    workspace: Workspace,
    strips: Vec<f64>,
}

/// Designs to be solved on meshes of equally many elements.
pub(crate) struct Batches<'a, 'p> {
    pub(crate) problems: &'a [ManyProblem<'p>],
    /// Indices of the designs to be solved.
    pub(crate) queue: &'a [usize],
    pub(crate) elements: usize,
    /// Error of the peak strain above which a result is not handed out.
    pub(crate) tolerance: f64,
    pub(crate) memory: &'a mut BatchMemory,
    pub(crate) output: &'a mut Output,
    /// Designs whose mesh is too coarse.
    pub(crate) coarse: &'a mut Vec<usize>,
    /// Designs that did not settle, or not on a stable state.
    pub(crate) failed: &'a mut Vec<usize>,
}

impl WithSimd for Batches<'_, '_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(mut self, simd: S) {
        for batch in self.queue.chunks(S::F64_LANES.min(MAX_LANES)) {
            self.solve(simd, batch);
        }
    }
}

impl Batches<'_, '_> {
    #[inline(always)]
    fn solve<S: Simd>(&mut self, simd: S, batch: &[usize]) {
        let loads = self.lay_out(simd, batch);
        let strips = S::as_simd_f64s(&self.memory.strips).0.as_chunks::<2>().0;
        let mut cell = CellLanes::prepare(simd, &mut self.memory.workspace, self.elements, strips, loads);
        cell.guess();
        let mut step = cell.step();
        for _ in 1..STEPS {
            if step.correction.greatest() < SETTLED {
                break;
            }
            step = cell.step();
        }
        let estimate = unpack(cell.finish());
        let correction = unpack(step.correction);
        let pivots = unpack(step.negative_pivots);
        let (force, force_slope) = (unpack(cell.force), unpack(step.force_slope));
        let mut is_accepted = [false; MAX_LANES];
        for (lane, &index) in batch.iter().enumerate() {
            let error_estimate = estimate[lane];
            // A NaN fails every comparison.
            let is_sound = correction[lane] < SETTLED && pivots[lane] == 1.0 && force[lane].is_finite();
            if is_sound && error_estimate <= self.tolerance {
                is_accepted[lane] = true;
                self.output.cells[index] = CellResult {
                    force_ei_per_p2: force[lane],
                    force_slope_ei_per_p2: force_slope[lane],
                    error_estimate,
                    ..CellResult::default()
                };
            } else if is_sound {
                self.coarse.push(index);
            } else {
                self.failed.push(index);
            }
        }
        for layer in 0..self.output.layers {
            let mut sides = [[0.0; MAX_LANES]; 2];
            for lane in 0..MAX_LANES {
                let problem = &self.problems[batch[lane.min(batch.len() - 1)]];
                let per_pitch = 1.0 / problem.cell.quarter.pitch_um();
                sides[0][lane] = problem.layers[layer].left_um * per_pitch;
                sides[1][lane] = problem.layers[layer].right_um * per_pitch;
            }
            let is_symmetric = (0..MAX_LANES).all(|lane| sides[0][lane] == -sides[1][lane]);
            let [left, right] = [pack(simd, &sides[0]), pack(simd, &sides[1])];
            let offsets = [left, right, -left, -right];
            let used = if is_symmetric { &offsets[..2] } else { &offsets[..] };
            let [least, greatest] = least_and_greatest(simd, &cell, used).map(unpack);
            for (lane, &index) in batch.iter().enumerate() {
                let place = index * self.output.layers + layer;
                self.output.peaks[place] = LayerPeaks { tensile: greatest[lane], compressive: least[lane] };
            }
        }
        if self.output.wants_path {
            hand_out_path(simd, &cell, self.problems, batch, is_accepted, self.output);
        }
    }

    /// Writes the rest state, the section and the loads of a batch into the lanes; lanes to spare repeat the last.
    #[inline(always)]
    fn lay_out<S: Simd>(&mut self, simd: S, batch: &[usize]) -> LaneLoads<S> {
        let lanes = S::F64_LANES;
        let memory = &mut *self.memory;
        memory.workspace.resize(self.elements, lanes);
        let problem = |lane: usize| &self.problems[batch[lane.min(batch.len() - 1)]].cell;
        let strips = (0..lanes).map(|lane| problem(lane).strips.count()).max().unwrap_or(0);
        memory.strips.clear();
        memory.strips.resize(2 * strips * lanes, 0.0);
        let [mut ea, mut stretch, mut amplitude] = [[0.0; MAX_LANES]; 3];
        for lane in 0..lanes {
            let cell = problem(lane);
            let pitch_um = cell.quarter.pitch_um();
            ea[lane] = cell.strips.relative_ea(pitch_um);
            stretch[lane] = cell.stretch;
            amplitude[lane] = cell.quarter.amplitude_um() / pitch_um;
            for (k, (share, half_um)) in cell.strips.parts().enumerate() {
                memory.strips[2 * k * lanes + lane] = share;
                memory.strips[(2 * k + 1) * lanes + lane] = half_um / pitch_um;
            }
            // Neighbours in a map of width or stretch share their shape.
            let is_same = memory.sampled == Some((std::ptr::from_ref(cell.quarter) as usize, self.elements));
            if !is_same {
                sample_rest(cell.quarter, self.elements, &mut memory.nodes);
                memory.sampled = Some((std::ptr::from_ref(cell.quarter) as usize, self.elements));
            }
            for (stored, node) in memory.workspace.rest.chunks_exact_mut(REST * lanes).zip(&memory.nodes) {
                stored[lane] = node.phi;
                stored[lanes + lane] = node.kappa;
                stored[2 * lanes + lane] = node.jacobian;
            }
        }
        LaneLoads { ea: pack(simd, &ea), stretch: pack(simd, &stretch), amplitude: pack(simd, &amplitude) }
    }
}

/// Appends the stretched paths of the accepted lanes to the output.
#[inline(always)]
fn hand_out_path<S: Simd>(
    simd: S,
    cell: &CellLanes<'_, S>,
    problems: &[ManyProblem<'_>],
    batch: &[usize],
    is_accepted: [bool; MAX_LANES],
    output: &mut Output,
) {
    let elements = cell.elements();
    let points = elements * NODES;
    let mut start = [0; MAX_LANES];
    for (lane, &index) in batch.iter().enumerate() {
        if is_accepted[lane] {
            start[lane] = output.path.len();
            output.cells[index].path = (start[lane], points);
            output.path.resize(start[lane] + points, PathWeight { length_um: 0.0, curvature_per_um: 0.0 });
        }
    }
    let one = Wide::splat(simd, 1.0);
    for e in 0..elements {
        for g in 0..NODES {
            let [_, axial, curving, _] = cell.fields_at(e, g);
            let stretched = axial + one;
            let length = unpack(cell.jacobian_at(e, g).scale(WEIGHT[g]) * stretched);
            let curvature = unpack(cell.kappa_at(e, g) + curving / stretched);
            for (lane, &index) in batch.iter().enumerate() {
                if !is_accepted[lane] {
                    continue;
                }
                let quarter = problems[index].cell.quarter;
                let pitch_um = quarter.pitch_um();
                let here_per_um = curvature[lane] / pitch_um;
                output.path[start[lane] + e * NODES + g] =
                    PathWeight { length_um: length[lane] * pitch_um, curvature_per_um: here_per_um.abs() };
                let jumps = &mut output.cells[index].jumps;
                if (e, g) == (0, 0) && quarter.crossing_curvature_per_um() != 0.0 {
                    jumps[0] = Some(CurvatureJump {
                        s_um: 0.0,
                        before_per_um: -here_per_um,
                        after_per_um: here_per_um,
                    });
                }
                if let [first, second] = quarter.pieces() {
                    let is_before = (e + 1, g + 1) == (elements / 2, NODES);
                    let is_after = (e, g) == (elements / 2, 0);
                    let is_jump = first.sample(1.0).kappa_per_um != second.sample(0.0).kappa_per_um;
                    if is_before && is_jump {
                        jumps[1] = Some(CurvatureJump {
                            s_um: second.start_um(),
                            before_per_um: here_per_um,
                            after_per_um: here_per_um,
                        });
                    } else if is_after && let Some(jump) = &mut jumps[1] {
                        jump.after_per_um = here_per_um;
                    }
                }
            }
        }
    }
}

/// The lanes as numbers; entries beyond the last lane are zero.
#[inline(always)]
fn unpack<S: Simd>(value: Wide<S>) -> [f64; MAX_LANES] {
    let lanes = value.lanes();
    let mut numbers = [0.0; MAX_LANES];
    for (number, lane) in numbers.iter_mut().zip(bytemuck::cast_slice(std::slice::from_ref(&lanes))) {
        *number = *lane;
    }
    numbers
}

#[inline(always)]
fn pack<S: Simd>(simd: S, numbers: &[f64; MAX_LANES]) -> Wide<S> {
    let lanes = S::as_simd_f64s(numbers).0.first().copied();
    Wide::new(simd, lanes.unwrap_or(simd.splat_f64s(0.0)))
}
