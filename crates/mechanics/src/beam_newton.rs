//! Newton's iteration for a single beam, with up to three forces as multipliers.

use pulp::Scalar;

use crate::{
    basis::{NODES, POINT, SLOPE, WEIGHT},
    beam::{Beam, BeamEnd, BeamSolution, PointLoad},
    condense::{INNER, condense},
    fibre::fibre_strain,
    kernel::{ENTRIES, NodeRest, NodeTerm, TERMS, constant_stiffness, element, node_terms},
    wide::Wide,
};

/// H, V and the point load.
const FORCES: usize = 3;
/// Largest change of the angle in one step, in radians.
const STEP_LIMIT: f64 = 0.5;

/// Loads and conditions of a run, in the beam's own units (lengths over L, forces L²/EI, moments L/EI later).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Borders {
    end: BeamEnd,
    distance_um: f64,
    has_point: bool,
}

impl Borders {
    pub(crate) fn new(end: BeamEnd, distance_um: f64, has_point: bool) -> Self {
        Self { end, distance_um, has_point }
    }
}

/// How a run ended.
pub(crate) struct Run {
    pub(crate) is_settled: bool,
    pub(crate) iterations: u32,
    pub(crate) residual: f64,
    negative_pivots: usize,
    multipliers: usize,
}

/// A beam being solved.
pub(crate) struct Newton<'a> {
    beam: &'a Beam,
    point: Option<PointLoad>,
    terms: Vec<[f64; TERMS]>,
    rest: Vec<[f64; 3]>,
    stiffness: Vec<[f64; ENTRIES]>,
    psi: Vec<f64>,
    forces: [f64; FORCES],
}

/// What back-substitution needs of one element: inner solutions and the left vertex's row, per column.
struct Back {
    inner: [[f64; INNER]; 1 + FORCES],
    response: [[f64; INNER]; 2],
    next: f64,
    vertex: [f64; 1 + FORCES],
}

fn wide(value: f64) -> Wide<Scalar> {
    Wide::splat(Scalar::new(), value)
}

impl<'a> Newton<'a> {
    pub(crate) fn new(beam: &'a Beam, point: Option<PointLoad>) -> Self {
        let simd = Scalar::new();
        let total_um = beam.length_um();
        let ea = wide(beam.strips().relative_ea(total_um));
        let count = beam.elements_per_piece();
        let elements = count * beam.pieces().len();
        let mut newton = Self {
            beam,
            point,
            terms: Vec::with_capacity(elements * NODES),
            rest: Vec::with_capacity(elements * NODES),
            stiffness: Vec::with_capacity(elements),
            psi: vec![0.0; elements * (NODES - 1) + 1],
            forces: [0.0; FORCES],
        };
        let mut angle = beam.start_angle_rad();
        for piece in beam.pieces() {
            let (start, end) = (piece.start_curvature_per_um, piece.end_curvature_per_um);
            let half_um = 0.5 * piece.length_um / count as f64;
            for e in 0..count {
                let mut nodes = [[0.0; TERMS]; NODES];
                for g in 0..NODES {
                    let s_um = (2.0 * e as f64 + 1.0 + POINT[g]) * half_um;
                    let slope = (end - start) / piece.length_um;
                    let phi = angle + s_um * (start + 0.5 * slope * s_um);
                    let kappa_per_um = start + slope * s_um;
                    let kappa = kappa_per_um * total_um;
                    let jacobian = half_um / total_um;
                    let bending = beam.strips().bending_ratio(kappa_per_um);
                    let rest = NodeRest {
                        phi: wide(phi),
                        kappa: wide(kappa),
                        jacobian: wide(jacobian),
                        bending: wide(bending),
                    };
                    nodes[g] = node_terms(simd, rest, WEIGHT[g], ea);
                    newton.rest.push([kappa, jacobian, bending]);
                }
                newton.stiffness.push(constant_stiffness(simd, &nodes));
                newton.terms.extend_from_slice(&nodes);
            }
            angle += 0.5 * (start + end) * piece.length_um;
        }
        newton
    }

    fn elements(&self) -> usize {
        self.stiffness.len()
    }

    /// Force unit EI/L², in µN.
    fn force_unit_un(&self) -> f64 {
        self.beam.strips().ei_un_um2() / self.beam.length_um().powi(2)
    }

    /// Position of the far end at rest, in µm, by the mesh's quadrature.
    pub(crate) fn rest_end(&self) -> [f64; 2] {
        let mut end = [0.0; 2];
        for terms in &self.terms {
            let (sine, cosine) = terms[NodeTerm::PHI].sin_cos();
            end[0] += terms[NodeTerm::WEIGHT] * cosine * self.beam.length_um();
            end[1] += terms[NodeTerm::WEIGHT] * sine * self.beam.length_um();
        }
        end
    }

    /// The rest state as a solution under loads of the kind of `end`.
    pub(crate) fn at_rest(&self, end: BeamEnd, rest_um: [f64; 2]) -> BeamSolution {
        let end = match end {
            BeamEnd::Loaded { .. } => BeamEnd::Loaded { force_un: [0.0; 2], moment_un_um: 0.0 },
            BeamEnd::Hinged { .. } => BeamEnd::Hinged { at_um: rest_um },
            BeamEnd::Clamped { .. } => BeamEnd::Clamped { at_um: rest_um, turn_rad: 0.0 },
        };
        BeamSolution {
            end_um: rest_um,
            end_angle_rad: self.terms.last().map_or(0.0, |terms| terms[NodeTerm::PHI]),
            end_force_un: [0.0; 2],
            point_load_un: 0.0,
            clamp_moment_un_um: 0.0,
            clamp_strain: [0.0; 2],
            is_stable: true,
            iterations: 0,
            residual: 0.0,
            psi: vec![0.0; self.psi.len()],
            forces: [0.0; FORCES],
            end,
            distance_um: 0.0,
        }
    }

    pub(crate) fn start_from(&mut self, solution: &BeamSolution) {
        self.psi.clone_from(&solution.psi);
        self.forces = solution.forces;
    }

    /// Direction of the point load.
    fn direction(&self) -> [f64; 2] {
        let (sine, cosine) = self.point.map_or(0.0, |point| point.direction_rad).sin_cos();
        [cosine, sine]
    }

    /// Elements before the point load.
    fn loaded_elements(&self) -> usize {
        self.point.map_or(0, |point| point.after_pieces * self.beam.elements_per_piece())
    }

    /// The point load's place at rest along its direction, over L.
    fn rest_place(&self) -> f64 {
        let [dx, dy] = self.direction();
        self.terms[..self.loaded_elements() * NODES]
            .iter()
            .map(|terms| {
                let (sine, cosine) = terms[NodeTerm::PHI].sin_cos();
                terms[NodeTerm::WEIGHT] * (dx * cosine + dy * sine)
            })
            .sum()
    }

    /// Newton steps until they settle, fail or are too many.
    pub(crate) fn run(&mut self, borders: Borders, steps: u32, settled: f64) -> Run {
        let unit_um = self.beam.length_um();
        let force_unit_un = self.force_unit_un();
        let mut is_active = [false, false, borders.has_point];
        let mut targets = [0.0, 0.0, self.rest_place() + borders.distance_um / unit_um];
        let mut end_moment = 0.0;
        let last = self.psi.len() - 1;
        let mut is_end_fixed = false;
        match borders.end {
            BeamEnd::Loaded { force_un, moment_un_um } => {
                self.forces[0] = force_un[0] / force_unit_un;
                self.forces[1] = force_un[1] / force_unit_un;
                end_moment = moment_un_um / (force_unit_un * unit_um);
            }
            BeamEnd::Hinged { at_um } => {
                is_active = [true, true, borders.has_point];
                targets = [at_um[0] / unit_um, at_um[1] / unit_um, targets[2]];
            }
            BeamEnd::Clamped { at_um, turn_rad } => {
                is_active = [true, true, borders.has_point];
                targets = [at_um[0] / unit_um, at_um[1] / unit_um, targets[2]];
                self.psi[last] = turn_rad;
                is_end_fixed = true;
            }
        }
        let multipliers = is_active.iter().filter(|is_active| **is_active).count();
        let mut iterations = 0;
        loop {
            iterations += 1;
            let (residual, negative_pivots) = self.step(is_active, targets, end_moment, is_end_fixed);
            let is_settled = residual < settled;
            if is_settled || iterations == steps || !residual.is_finite() {
                return Run { is_settled, iterations, residual, negative_pivots, multipliers };
            }
        }
    }

    /// One step; returns the relative correction and the negative pivots.
    fn step(
        &mut self,
        is_active: [bool; FORCES],
        targets: [f64; FORCES],
        end_moment: f64,
        is_end_fixed: bool,
    ) -> (f64, usize) {
        let simd = Scalar::new();
        let direction = self.direction();
        let loaded = self.loaded_elements();
        let mut backs: Vec<Back> = Vec::with_capacity(self.elements());
        // Column 0 is minus the residual, the others are the borders; all at the left vertex of the element at hand.
        let mut diagonal = 0.0;
        let mut vertex = [0.0; 1 + FORCES];
        let mut corner = [[0.0; FORCES]; FORCES];
        let mut gaps = targets.map(|target| -target);
        let mut negative = 0;
        for e in 0..self.elements() {
            let is_loaded = e < loaded;
            let share = if is_loaded { direction } else { [0.0; 2] };
            let force =
                [self.forces[0] + share[0] * self.forces[2], self.forces[1] + share[1] * self.forces[2]];
            let terms = self.terms[e * NODES..].first_chunk::<NODES>().expect("an element has all its nodes");
            let psi: [Wide<Scalar>; NODES] = std::array::from_fn(|g| wide(self.psi[e * (NODES - 1) + g]));
            let sums = element(simd, terms, &self.stiffness[e], psi, force.map(wide));
            let mut columns = [[wide(0.0); NODES]; 1 + FORCES];
            for g in 0..NODES {
                let by = [sums.border[0][g].lanes(), sums.border[1][g].lanes()];
                let by_point = share[0] * by[0] + share[1] * by[1];
                columns[0][g] = wide(-sums.residual[g].lanes());
                for (column, value) in columns[1..].iter_mut().zip([by[0], by[1], by_point]) {
                    column[g] = wide(value);
                }
            }
            let soft = sums.softness.map(Wide::lanes);
            let length = sums.length.map(Wide::lanes);
            let soft_point =
                [share[0] * soft[0] + share[1] * soft[1], share[0] * soft[1] + share[1] * soft[2]];
            let full = [
                [soft[0], soft[1], soft_point[0]],
                [soft[1], soft[2], soft_point[1]],
                [soft_point[0], soft_point[1], share[0] * soft_point[0] + share[1] * soft_point[1]],
            ];
            let lengths = [length[0], length[1], share[0] * length[0] + share[1] * length[1]];
            let reduced = condense(simd, &sums.matrix, [&columns[0], &columns[1], &columns[2], &columns[3]]);
            let inner = reduced.inner.map(|column| column.map(Wide::lanes));
            for a in 0..FORCES {
                gaps[a] += lengths[a];
                for k in 0..INNER {
                    let border = columns[1 + a][k + 1].lanes();
                    gaps[a] -= border * inner[0][k];
                    for b in 0..FORCES {
                        corner[a][b] -= border * inner[1 + b][k];
                    }
                }
                for b in 0..FORCES {
                    corner[a][b] -= full[a][b];
                }
            }
            negative += reduced.pivots.iter().filter(|pivot| pivot.lanes() < 0.0).count();
            let [left, across, right] = reduced.matrix.map(Wide::lanes);
            diagonal += left;
            for (sum, ends) in vertex.iter_mut().zip(&reduced.ends) {
                *sum += ends[0].lanes();
            }
            // The clamped start keeps its angle.
            let inverse = if e == 0 { 0.0 } else { 1.0 / diagonal };
            negative += usize::from(e != 0 && diagonal < 0.0);
            let (row, next) = eliminate(vertex, across, inverse, &mut corner, &mut gaps);
            backs.push(Back {
                inner,
                response: reduced.response.map(|column| column.map(Wide::lanes)),
                next,
                vertex: row,
            });
            let eliminated = vertex;
            diagonal = right - next * across;
            for (c, sum) in vertex.iter_mut().enumerate() {
                *sum = reduced.ends[c][1].lanes() - next * eliminated[c];
            }
        }
        vertex[0] += end_moment;
        let inverse = if is_end_fixed { 0.0 } else { 1.0 / diagonal };
        negative += usize::from(!is_end_fixed && diagonal < 0.0);
        let (last_row, _) = eliminate(vertex, 0.0, inverse, &mut corner, &mut gaps);
        let (change, corner_negative) = solve_corner(corner, gaps, is_active);
        let largest_change = self.update(&backs, last_row, change);
        let largest = self.psi.iter().fold(0.0_f64, |largest, psi| largest.max(psi.abs()));
        let floor = 1e-13;
        let angle_part = (largest_change - floor).max(0.0) / largest.max(floor);
        let residual = if largest_change.is_finite() { angle_part } else { f64::NAN };
        (residual, negative + corner_negative)
    }

    /// Back-substitution and update; returns the largest change of the angle before shortening.
    fn update(&mut self, backs: &[Back], last_row: [f64; 1 + FORCES], change: [f64; FORCES]) -> f64 {
        let with =
            |row: &[f64; 1 + FORCES]| row[0] - row[1] * change[0] - row[2] * change[1] - row[3] * change[2];
        let mut delta = vec![0.0; self.psi.len()];
        let mut right = with(&last_row);
        if let Some(last) = delta.last_mut() {
            *last = right;
        }
        for (e, back) in backs.iter().enumerate().rev() {
            let left = with(&back.vertex) - back.next * right;
            for k in 0..INNER {
                let own = with(&std::array::from_fn(|c| back.inner[c][k]));
                delta[e * (NODES - 1) + 1 + k] =
                    own - back.response[0][k] * left - back.response[1][k] * right;
            }
            delta[e * (NODES - 1)] = left;
            right = left;
        }
        let largest = delta.iter().fold(0.0_f64, |largest, value| largest.max(value.abs()));
        let scale = (STEP_LIMIT / largest).min(1.0);
        for (psi, delta) in self.psi.iter_mut().zip(&delta) {
            *psi += scale * delta;
        }
        for (force, change) in self.forces.iter_mut().zip(change) {
            *force += scale * change;
        }
        largest
    }

    /// The state reached, with its reactions.
    pub(crate) fn solution(
        &self,
        end: BeamEnd,
        distance_um: f64,
        run: &Run,
        iterations: u32,
    ) -> BeamSolution {
        let unit_um = self.beam.length_um();
        let force_unit_un = self.force_unit_un();
        let direction = self.direction();
        let mut at = [0.0; 2];
        let mut lever = 0.0;
        for e in 0..self.elements() {
            let share = if e < self.loaded_elements() { direction } else { [0.0; 2] };
            let force =
                [self.forces[0] + share[0] * self.forces[2], self.forces[1] + share[1] * self.forces[2]];
            for g in 0..NODES {
                let terms = &self.terms[e * NODES + g];
                let slope: f64 = (0..NODES).map(|i| SLOPE[g][i] * self.psi[e * (NODES - 1) + i]).sum();
                let phi = terms[NodeTerm::PHI] + self.psi[e * (NODES - 1) + g];
                let (sine, cosine) = phi.sin_cos();
                let normal = force[0] * cosine + force[1] * sine;
                let stretched =
                    1.0 + terms[NodeTerm::SOFTNESS] * normal + terms[NodeTerm::COUPLING_SLOPE] * slope;
                let ds = stretched * terms[NodeTerm::WEIGHT];
                at[0] += ds * cosine;
                at[1] += ds * sine;
                lever += ds * (force[0] * sine - force[1] * cosine);
            }
        }
        // M' = (1+ε₀) T, so the moment at the clamp is the one at the end less what the forces add on the way.
        let end_moment = self.end_moment(end);
        let clamp_moment = end_moment - lever;
        let [kappa, _, bending] = self.rest[0];
        let start_share = if self.point.is_some() { direction } else { [0.0; 2] };
        let phi = self.terms[0][NodeTerm::PHI] + self.psi[0];
        let normal = (self.forces[0] + start_share[0] * self.forces[2]) * phi.cos()
            + (self.forces[1] + start_share[1] * self.forces[2]) * phi.sin();
        let axial = (normal + kappa * clamp_moment) / self.beam.strips().relative_ea(unit_um);
        let half = 0.5 * self.beam.strips().width_um() / unit_um;
        let strain = |offset: f64| fibre_strain(axial, clamp_moment / bending, offset, kappa);
        let last = self.psi.len() - 1;
        BeamSolution {
            end_um: at.map(|x| x * unit_um),
            end_angle_rad: self.terms.last().map_or(0.0, |terms| terms[NodeTerm::PHI]) + self.psi[last],
            end_force_un: [self.forces[0] * force_unit_un, self.forces[1] * force_unit_un],
            point_load_un: self.forces[2] * force_unit_un,
            clamp_moment_un_um: clamp_moment * force_unit_un * unit_um,
            clamp_strain: [strain(half), strain(-half)],
            is_stable: run.negative_pivots == run.multipliers,
            iterations,
            residual: run.residual,
            psi: self.psi.clone(),
            forces: self.forces,
            end,
            distance_um,
        }
    }

    /// The moment at the far end, L/EI: given, or the reaction of a clamp from the last element's balance.
    fn end_moment(&self, end: BeamEnd) -> f64 {
        match end {
            BeamEnd::Loaded { moment_un_um, .. } => {
                moment_un_um / (self.force_unit_un() * self.beam.length_um())
            }
            BeamEnd::Hinged { .. } => 0.0,
            BeamEnd::Clamped { .. } => {
                let e = self.elements() - 1;
                let terms =
                    self.terms[e * NODES..].first_chunk::<NODES>().expect("an element has all its nodes");
                let psi = std::array::from_fn(|g| wide(self.psi[e * (NODES - 1) + g]));
                let force = [wide(self.forces[0]), wide(self.forces[1])];
                let sums = element(Scalar::new(), terms, &self.stiffness[e], psi, force);
                sums.residual[NODES - 1].lanes()
            }
        }
    }
}

/// Eliminates a vertex: returns its solved row and the factor towards the next vertex.
fn eliminate(
    vertex: [f64; 1 + FORCES],
    across: f64,
    inverse: f64,
    corner: &mut [[f64; FORCES]; FORCES],
    gaps: &mut [f64; FORCES],
) -> ([f64; 1 + FORCES], f64) {
    let row = vertex.map(|value| value * inverse);
    for a in 0..FORCES {
        gaps[a] -= vertex[1 + a] * row[0];
        for b in 0..FORCES {
            corner[a][b] -= vertex[1 + a] * row[1 + b];
        }
    }
    (row, across * inverse)
}

/// Solves `corner · change = gaps` for the active forces; returns also how many pivots are negative.
fn solve_corner(
    corner: [[f64; FORCES]; FORCES],
    gaps: [f64; FORCES],
    is_active: [bool; FORCES],
) -> ([f64; FORCES], usize) {
    let mut matrix = corner;
    let mut load = gaps;
    for a in 0..FORCES {
        for b in 0..FORCES {
            if !(is_active[a] && is_active[b]) {
                matrix[a][b] = f64::from(u8::from(a == b));
            }
        }
        if !is_active[a] {
            load[a] = 0.0;
        }
    }
    let mut negative = 0;
    for a in 0..FORCES {
        negative += usize::from(is_active[a] && matrix[a][a] < 0.0);
        for b in a + 1..FORCES {
            let factor = matrix[b][a] / matrix[a][a];
            for c in a..FORCES {
                matrix[b][c] -= factor * matrix[a][c];
            }
            load[b] -= factor * load[a];
        }
    }
    let mut change = [0.0; FORCES];
    for a in (0..FORCES).rev() {
        let known: f64 = (a + 1..FORCES).map(|b| matrix[a][b] * change[b]).sum();
        change[a] = (load[a] - known) / matrix[a][a];
    }
    (change, negative)
}
