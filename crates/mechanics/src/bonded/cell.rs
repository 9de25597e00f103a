//! One period of an endless bonded ribbon.

use ogee_geometry::{Piece, Quarter};

use crate::{
    basis::NODES,
    bonded::{
        chain::NodeFields,
        error::{BondedError, check_range},
        line::{BondedPoint, Fibre, Line},
        note::BondedNote,
        part::spans,
        peel::PeelIndicator,
        solve::{Found, Guess, MeshState, Task},
    },
    fibre::{Extremes, LayerSpan, Peak},
    solution::{CurvatureJump, PathWeight},
    solver::{CellProblem, CellSolver, Mesh},
    strips::Strips,
};

/// K up to which the freestanding state is the better guess.
const LOOSE_UP_TO: f64 = 3e3;
/// K from which the limit with its forces may be a good guess.
const TIGHT_FROM: f64 = 1e5;
/// Least and greatest stiffness k in MPa.
pub(crate) const FOUNDATION_RANGE_MPA: [f64; 2] = [0.0, 1e12];
/// Least and greatest stretch.
pub(crate) const STRETCH_RANGE: [f64; 2] = [-0.95, 20.0];
/// Least and greatest exponent of the substrate's contraction.
pub(crate) const POISSON_RANGE: [f64; 2] = [0.0, 0.5];
/// A bonded cell to be solved: one period of an endless ribbon on a stretched elastomer.
#[derive(Debug, Clone, Copy)]
pub struct BondedProblem<'a> {
    /// Shape at rest.
    pub quarter: &'a Quarter,
    /// Section of the ribbon; its stiffness E·t counts, for the foundation's is compared with it.
    pub strips: &'a Strips,
    /// Stiffness k of the foundation: force per length of ribbon and displacement, in MPa, from 0 (freestanding) to 1e12. See
    /// [`Foundation`](crate::Foundation).
    pub foundation_mpa: f64,
    /// Exponent ν of the substrate's contraction (1 + e)^(−ν) across the span, dimensionless, 0 to 0.5: Poisson's ratio of a
    /// substrate pulled by its ends, 0 where its sides are held.
    pub substrate_poisson: f64,
    /// Stretch e of the substrate and of the ribbon end to end, dimensionless, −0.95 to 20; negative in compression.
    pub stretch: f64,
}

/// One period of an endless bonded ribbon in equilibrium.
///
/// Stresses are recovered from equilibrium: M and (H, V) are reactions at the elements' ends and are integrated in between.
#[derive(Debug, Clone)]
pub struct BondedSolution {
    /// Stretch e, dimensionless.
    pub stretch: f64,
    /// Stiffness of the foundation as k P⁴/EI, EI = Σ Et w³/12 of the straight ribbon.
    pub foundation_p4_per_ei: f64,
    /// Bending length `λ_b = (EI/k)^¼` in µm, over which a disturbance dies away; infinite without foundation.
    pub bending_length_um: f64,
    /// The largest |strain| over both edges of the ribbon, with its sign and place.
    pub peak: Peak,
    /// The largest strain over both edges.
    pub peak_tensile: Peak,
    /// Force along x that the ribbon carries at the crest, in EI/P².
    pub crest_force_ei_per_p2: f64,
    /// Force along x that the ribbon carries at the crossing, in EI/P².
    pub crossing_force_ei_per_p2: f64,
    /// Height of the crest above the midline when stretched, in µm.
    pub crest_height_um: f64,
    /// Largest displacement `|r − r_a|` against the substrate, in µm.
    pub largest_slip_um: f64,
    /// Peak strain of the same cell without foundation; none where it has no such equilibrium.
    pub freestanding_peak_strain: Option<f64>,
    /// Peak strain of a ribbon that follows the substrate exactly (closed form).
    pub following_peak_strain: f64,
    /// How far to trust the result.
    pub note: BondedNote,
    /// Whether the equilibrium is stable within the period and the plane.
    pub is_stable: bool,
    /// Newton steps taken, on all meshes.
    pub iterations: u32,
    /// Largest relative correction of the last Newton step; the error it leaves is about its square.
    pub residual: f64,
    /// Estimated relative error of the peak strain: its change from a mesh of half the elements.
    pub error_estimate: f64,
    /// Elements of the quarter.
    pub elements: usize,
    /// The state, to start another solve from.
    pub state: BondedState,
    quarter: Quarter,
    line: Line<Piece>,
}

/// A solved state to start from.
#[derive(Debug, Clone, PartialEq)]
pub struct BondedState {
    pieces: usize,
    mesh: MeshState,
}

/// Solver of bonded cells.
#[derive(Debug, Default)]
pub struct BondedSolver {
    mesh: Mesh,
    free: CellSolver,
}

impl BondedProblem<'_> {
    fn check(&self) -> Result<(), BondedError> {
        check_range("foundation stiffness k", "MPa", self.foundation_mpa, FOUNDATION_RANGE_MPA)?;
        check_range("substrate Poisson's ratio", "(dimensionless)", self.substrate_poisson, POISSON_RANGE)?;
        check_range("stretch", "(dimensionless)", self.stretch, STRETCH_RANGE)?;
        check_width(self.quarter.least_radius_um(), self.strips.width_um())
    }

    /// K = k P⁴/EI.
    fn relative_foundation(&self) -> f64 {
        self.foundation_mpa * self.quarter.pitch_um().powi(4) / self.strips.ei_un_um2()
    }
}

/// Refuses ribbons whose inner edge folds over.
pub(crate) fn check_width(radius_um: f64, width_um: f64) -> Result<(), BondedError> {
    if 0.5 * width_um < radius_um { Ok(()) } else { Err(BondedError::WiderThanBend { radius_um, width_um }) }
}

impl BondedSolver {
    /// A solver whose peak strain is good to 1e-4.
    pub fn new() -> Self {
        Self::default()
    }

    /// A solver on a mesh of one's own choice. A fixed number of elements is shared evenly among the smooth pieces and solved
    /// with half of them first, for the error estimate.
    pub fn with_mesh(mesh: Mesh) -> Self {
        Self { mesh, free: CellSolver::new() }
    }

    /// Solves one bonded cell.
    ///
    /// The foundation pulls every point of the centreline towards the place `r_a = ((1+e) x₀, (1+e)^(−ν) y₀)` to which the
    /// substrate takes it, with the force `−k (r − r_a)` per rest length. At the crossing x = y = 0 and M = 0, at the crest
    /// φ = 0, x = (1+e) P/4 and no force acts along y. Unknowns are the angle, the slip `r − r_a` and the force; the form is
    /// regular from no foundation, where it is the [`CellSolver`]'s problem, to a rigid one, where the ribbon follows the
    /// substrate. The mesh starts from `λ_b = (EI/k)^¼` and (EA/k)^½ and is refined until the peak strain changes by less than
    /// the tolerance.
    ///
    /// * `warm`: a state to start from, of the same family.
    ///
    /// Where `λ_b` is below the ribbon's width and no mesh resolves the layers, the limit is returned, with a note.
    ///
    /// # Errors
    /// [`BondedError`] for numbers out of range, a ribbon wider than its bend allows, and where no equilibrium of the accuracy
    /// asked for is found though the springs are a fair model.
    ///
    /// ```
    /// use ogee_geometry::{Family, Quarter};
    /// use ogee_mechanics::{BondedProblem, BondedSolver, Strips};
    ///
    /// // 5 µm polyimide (2500 MPa), 20 µm wide, on an elastomer of k = 1 MPa.
    /// let quarter = Quarter::new(Family::Arc, 500.0, 125.0)?;
    /// let strips = Strips::new(&[(5.0 * 2500.0, 20.0)])?;
    /// let problem = BondedProblem {
    ///     quarter: &quarter, strips: &strips, foundation_mpa: 1.0, substrate_poisson: 0.5, stretch: 0.3,
    /// };
    /// let solution = BondedSolver::new().solve(&problem, None)?;
    /// let free = solution.freestanding_peak_strain.unwrap_or(0.0);
    /// assert!(solution.peak.strain > free && solution.peak.strain < solution.following_peak_strain);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn solve(
        &mut self,
        problem: &BondedProblem<'_>,
        warm: Option<&BondedState>,
    ) -> Result<BondedSolution, BondedError> {
        problem.check()?;
        let quarter = problem.quarter;
        let pieces = quarter.pieces();
        let task = Task {
            parts: pieces.to_vec(),
            strips: problem.strips,
            unit_um: quarter.pitch_um(),
            axis_um: 0.0,
            foundation: problem.relative_foundation(),
            poisson: problem.substrate_poisson,
            stretch: problem.stretch,
            held: [[false, true, true], [true, true, false]],
            end_heights: [0.0; 2],
            ends_on_crest: true,
            least_elements: if pieces.len() == 1 { 4 } else { 2 },
            mesh: self.mesh,
        };
        let free = self.freestanding(problem);
        let limit = task.limit();
        let (found, note) = Self::find(&task, warm, free.as_ref().map(|free| &free.1), &limit)?;
        let following_peak_strain = limit.extremes(&task.edges()).largest().strain;
        let freestanding_peak_strain = free.map(|free| free.0);
        Ok(BondedSolution::new(
            problem,
            found,
            note,
            task.bending_length_um(),
            freestanding_peak_strain,
            following_peak_strain,
        ))
    }

    /// The cell without foundation: its peak strain and its state.
    fn freestanding(&mut self, problem: &BondedProblem<'_>) -> Option<(f64, MeshState)> {
        let cell = CellProblem { quarter: problem.quarter, strips: problem.strips, stretch: problem.stretch };
        let solution = self.free.solve(&cell, None).ok()?;
        let force = [solution.force_ei_per_p2, 0.0];
        let psi = &solution.state.psi;
        let fields = (0..solution.elements)
            .map(|e| {
                std::array::from_fn(|g| NodeFields {
                    psi: psi[e * (NODES - 1) + g],
                    force,
                    ..NodeFields::default()
                })
            })
            .collect();
        let counts = match problem.quarter.pieces().len() {
            1 => vec![solution.elements],
            _ => vec![solution.elements / 2, solution.elements - solution.elements / 2],
        };
        Some((solution.peak.strain, MeshState { spans: spans(&counts), fields }))
    }

    fn find(
        task: &Task<'_, Piece>,
        warm: Option<&BondedState>,
        free: Option<&MeshState>,
        limit: &Line<Piece>,
    ) -> Result<(Found<Piece>, BondedNote), BondedError> {
        let state = limit.state();
        let warm = warm.filter(|state| state.pieces == task.parts.len());
        let free = free.map(Guess::State);
        let affine = Some(Guess::Affine);
        let order = if task.foundation <= LOOSE_UP_TO {
            [free, affine, None]
        } else {
            let limit = (task.foundation >= TIGHT_FROM).then_some(Guess::State(&state));
            [affine, limit, free]
        };
        let guesses: Vec<_> = warm
            .map(|state| Guess::State(&state.mesh))
            .into_iter()
            .chain(order.into_iter().flatten())
            .collect();
        task.solve_or_follow(&guesses, limit)
    }
}

impl BondedSolution {
    fn new(
        problem: &BondedProblem<'_>,
        found: Found<Piece>,
        note: BondedNote,
        bending_length_um: f64,
        freestanding_peak_strain: Option<f64>,
        following_peak_strain: f64,
    ) -> Self {
        let Found { line, is_stable, iterations, residual, error_estimate } = found;
        let half_um = 0.5 * problem.strips.width_um();
        let edges = [half_um, -half_um].map(|offset_um| Fibre { offset_um, is_at_trough: false });
        let extremes = line.extremes(&edges);
        let last = line.elements() - 1;
        let crest = line.fields[last][NODES - 1];
        let crest_y_um = line.point(&line.place(last, 1.0), problem.quarter.length_um()).at.y_um;
        Self {
            stretch: problem.stretch,
            foundation_p4_per_ei: problem.relative_foundation(),
            bending_length_um,
            peak: extremes.largest(),
            peak_tensile: extremes.tensile,
            crest_force_ei_per_p2: crest.force[0],
            crossing_force_ei_per_p2: line.fields[0][0].force[0],
            crest_height_um: crest_y_um,
            largest_slip_um: line.largest_slip_um(),
            freestanding_peak_strain,
            following_peak_strain,
            note,
            is_stable,
            iterations,
            residual,
            error_estimate,
            elements: line.elements(),
            state: BondedState { pieces: line.parts.len(), mesh: line.state() },
            quarter: problem.quarter.clone(),
            line,
        }
    }

    /// The shape at rest.
    pub fn quarter(&self) -> &Quarter {
        &self.quarter
    }

    /// The section.
    pub fn strips(&self) -> &Strips {
        &self.line.strips
    }

    /// `count` points (at least 2) from the crossing to the crest, at equal steps of the contour length at rest.
    ///
    /// The other quarters are mirror images, as for the [`CellSolution`](crate::CellSolution).
    pub fn along(&self, count: usize) -> Vec<BondedPoint> {
        self.line.along(count)
    }

    /// The extremes of strain over the whole ribbon in a layer that reaches over `span`; a layer off the centreline passes
    /// crests and troughs on opposite sides.
    ///
    /// # Errors
    /// [`BondedError::WiderThanBend`] if the layer reaches beyond the centre of the crest's curvature.
    pub fn peak_at(&self, span: LayerSpan) -> Result<Extremes, BondedError> {
        check_width(self.quarter.least_radius_um(), 2.0 * span.reach_um())?;
        let fibre = |offset_um, is_at_trough| Fibre { offset_um, is_at_trough };
        let fibres = [
            fibre(span.left_um, false),
            fibre(span.right_um, false),
            fibre(-span.left_um, true),
            fibre(-span.right_um, true),
        ];
        let is_symmetric = span.left_um == -span.right_um;
        Ok(self.line.extremes(if is_symmetric { &fibres[..2] } else { &fibres }))
    }

    /// Points and lengths for integrals along the stretched quarter; jumps of curvature lie on element ends.
    pub fn optical_quadrature(&self) -> impl Iterator<Item = PathWeight> + '_ {
        self.line.quadrature()
    }

    /// The jumps of curvature of the stretched centreline from the crossing (with the half wave before it) up to the crest.
    pub fn curvature_jumps(&self) -> Vec<CurvatureJump> {
        let mut jumps = Vec::new();
        if self.quarter.crossing_curvature_per_um() != 0.0 {
            let after_per_um = self.line.true_curvature_per_um(0, -1.0);
            jumps.push(CurvatureJump { s_um: 0.0, before_per_um: -after_per_um, after_per_um });
        }
        jumps.extend(self.line.jumps());
        jumps
    }

    /// What may tear the ribbon off, for the foundation's effective depth (µm) from
    /// [`Foundation`](crate::Foundation).
    pub fn peel_indicator(&self, effective_depth_um: f64) -> PeelIndicator {
        let foundation_mpa =
            self.foundation_p4_per_ei * self.line.strips.ei_un_um2() / self.quarter.pitch_um().powi(4);
        PeelIndicator::new(
            foundation_mpa,
            self.largest_slip_um,
            self.line.strips.width_um(),
            effective_depth_um,
            self.stretch,
        )
    }
}
