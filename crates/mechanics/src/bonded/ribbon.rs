//! A whole bonded ribbon between two islands.

use ogee_geometry::{Centreline, Segment};

use crate::{
    bonded::{
        cell::{FOUNDATION_RANGE_MPA, POISSON_RANGE, STRETCH_RANGE, check_width},
        error::{BondedError, check_range},
        line::{BondedPoint, Fibre, Line},
        note::BondedNote,
        peel::PeelIndicator,
        solve::{Found, Guess, Task},
    },
    fibre::{Extremes, LayerSpan, Peak},
    solution::{CurvatureJump, PathWeight},
    solver::Mesh,
    strips::Strips,
};

/// K up to which the scaled shape is the better guess.
const LOOSE_UP_TO: f64 = 3e3;
/// K from which the limit with its forces may be a good guess.
const TIGHT_FROM: f64 = 1e5;

/// A whole ribbon on a stretched elastomer, its ends clamped to stiff islands.
///
/// The islands are taken to be bonded to the same elastomer and to move apart with it: the ends move by e times the distance
/// between them, keep their angle and their height. The substrate contracts towards the line half way between the heights of
/// the two ends.
#[derive(Debug, Clone, Copy)]
pub struct BondedRibbonProblem<'a> {
    /// The ribbon at rest, leads included.
    pub ribbon: &'a Centreline,
    /// Section of the ribbon; its stiffness E·t counts, for the foundation's is compared with it.
    pub strips: &'a Strips,
    /// Stiffness k of the foundation: force per length of ribbon and displacement, in MPa, from 0 (freestanding) to 1e12. See
    /// [`Foundation`](crate::Foundation).
    pub foundation_mpa: f64,
    /// Exponent ν of the substrate's contraction (1 + e)^(−ν) across the span, dimensionless, 0 to 0.5.
    pub substrate_poisson: f64,
    /// Stretch e of the substrate and of the ribbon end to end, dimensionless, −0.95 to 20; negative in compression.
    pub stretch: f64,
}

/// A whole bonded ribbon in equilibrium.
///
/// Contour lengths count from the ribbon's start at rest, sides are those along the ribbon: places are where they are, not
/// mirrored onto one quarter.
#[derive(Debug, Clone)]
pub struct BondedRibbonSolution {
    /// Stretch e, dimensionless.
    pub stretch: f64,
    /// Stiffness of the foundation as k P⁴/EI, EI = Σ Et w³/12 of the straight ribbon.
    pub foundation_p4_per_ei: f64,
    /// Bending length `λ_b = (EI/k)^¼` in µm; infinite without foundation.
    pub bending_length_um: f64,
    /// The largest |strain| over both edges of the ribbon, with its sign and place.
    pub peak: Peak,
    /// The largest strain over both edges.
    pub peak_tensile: Peak,
    /// The largest |strain| of a ribbon that follows the substrate exactly, clamps left out.
    pub following_peak_strain: f64,
    /// Force along x and y that the ribbon exerts on the island at its end, in EI/P², tension positive; see
    /// [`Self::force_unit_un`].
    pub end_force_ei_per_p2: [f64; 2],
    /// The same at its start.
    pub start_force_ei_per_p2: [f64; 2],
    /// Largest displacement against the substrate, in µm.
    pub largest_slip_um: f64,
    /// How far to trust the result. Where the limit was taken, the layers at the clamps are not in it.
    pub note: BondedNote,
    /// Whether the equilibrium is stable within the plane.
    pub is_stable: bool,
    /// Newton steps taken, on all meshes.
    pub iterations: u32,
    /// Largest relative correction of the last Newton step.
    pub residual: f64,
    /// Estimated relative error of the peak strain: its change from a mesh of half the elements.
    pub error_estimate: f64,
    /// Elements of the ribbon.
    pub elements: usize,
    foundation_mpa: f64,
    least_radius_um: f64,
    line: Line<Segment>,
}

/// Solver of whole bonded ribbons.
#[derive(Debug, Clone, Copy, Default)]
pub struct BondedRibbonSolver {
    mesh: Mesh,
}

impl BondedRibbonSolver {
    /// A solver whose peak strain is good to 1e-4.
    pub fn new() -> Self {
        Self::default()
    }

    /// A solver on a mesh of one's own choice. A fixed number of elements is shared evenly among the smooth stretches, of which
    /// there are four or more per period.
    pub fn with_mesh(mesh: Mesh) -> Self {
        Self { mesh }
    }

    /// Solves one whole ribbon; cost and memory are in proportion to the number of periods.
    ///
    /// The form is that of [`BondedSolver::solve`](crate::BondedSolver::solve) over the whole contour, with both ends held.
    ///
    /// # Errors
    /// [`BondedError`] for numbers out of range, a ribbon wider than its bend allows, and where no equilibrium of the accuracy
    /// asked for is found though the springs are a fair model.
    ///
    /// ```
    /// use ogee_geometry::{Centreline, Ends, Family, Quarter};
    /// use ogee_mechanics::{BondedRibbonProblem, BondedRibbonSolver, Strips};
    ///
    /// let quarter = Quarter::new(Family::Arc, 500.0, 125.0)?;
    /// let ribbon = Centreline::new(quarter, 3, Ends::Crossing, 0.0, None)?;
    /// let strips = Strips::new(&[(5.0 * 2500.0, 20.0)])?;
    /// let problem = BondedRibbonProblem {
    ///     ribbon: &ribbon, strips: &strips, foundation_mpa: 1.0, substrate_poisson: 0.5, stretch: 0.2,
    /// };
    /// let solution = BondedRibbonSolver::new().solve(&problem)?;
    /// // The section is held at its angle by the clamps, which see most.
    /// assert!(solution.is_stable && solution.peak.strain < -solution.peak_tensile.strain);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn solve(&self, problem: &BondedRibbonProblem<'_>) -> Result<BondedRibbonSolution, BondedError> {
        check_range("foundation stiffness k", "MPa", problem.foundation_mpa, FOUNDATION_RANGE_MPA)?;
        check_range(
            "substrate Poisson's ratio",
            "(dimensionless)",
            problem.substrate_poisson,
            POISSON_RANGE,
        )?;
        check_range("stretch", "(dimensionless)", problem.stretch, STRETCH_RANGE)?;
        let ribbon = problem.ribbon;
        check_width(ribbon.least_radius_um(), problem.strips.width_um())?;
        let unit_um = ribbon.quarter().pitch_um();
        let ends_um = [ribbon.start().y_um, ribbon.end().y_um];
        let axis_um = 0.5 * (ends_um[0] + ends_um[1]);
        let pieces = ribbon.quarter().pieces().len();
        let task = Task {
            parts: ribbon.segments().filter(|segment| segment.length_um() > 0.0).collect(),
            strips: problem.strips,
            unit_um,
            axis_um,
            foundation: problem.foundation_mpa * unit_um.powi(4) / problem.strips.ei_un_um2(),
            poisson: problem.substrate_poisson,
            stretch: problem.stretch,
            held: [[true; 3]; 2],
            end_heights: ends_um.map(|end_um| (end_um - axis_um) / unit_um),
            ends_on_crest: false,
            least_elements: if pieces == 1 { 4 } else { 2 },
            mesh: self.mesh,
        };
        let limit = task.limit();
        let state = limit.state();
        let order = if task.foundation <= LOOSE_UP_TO {
            vec![Guess::Scaled, Guess::Affine]
        } else if task.foundation < TIGHT_FROM {
            vec![Guess::Affine, Guess::Scaled]
        } else {
            vec![Guess::Affine, Guess::State(&state), Guess::Scaled]
        };
        let (found, note) = task.solve_or_follow(&order, &limit)?;
        let following_peak_strain = limit.extremes(&task.edges()).largest().strain;
        let Found { line, is_stable, iterations, residual, error_estimate } = found;
        let extremes = line.extremes(&task.edges());
        let last = line.elements() - 1;
        Ok(BondedRibbonSolution {
            stretch: problem.stretch,
            foundation_p4_per_ei: task.foundation,
            bending_length_um: task.bending_length_um(),
            peak: extremes.largest(),
            peak_tensile: extremes.tensile,
            following_peak_strain,
            end_force_ei_per_p2: line.fields[last][line.fields[last].len() - 1].force,
            start_force_ei_per_p2: line.fields[0][0].force,
            largest_slip_um: line.largest_slip_um(),
            note,
            is_stable,
            iterations,
            residual,
            error_estimate,
            elements: line.elements(),
            foundation_mpa: problem.foundation_mpa,
            least_radius_um: ribbon.least_radius_um(),
            line,
        })
    }
}

impl BondedRibbonSolution {
    /// EI/P² in µN, the unit of the forces.
    pub fn force_unit_un(&self) -> f64 {
        self.line.strips.ei_un_um2() / (self.line.unit_um * self.line.unit_um)
    }

    /// The section.
    pub fn strips(&self) -> &Strips {
        &self.line.strips
    }

    /// `count` points (at least 2) from the start to the end, at equal steps of the contour length at rest.
    pub fn along(&self, count: usize) -> Vec<BondedPoint> {
        self.line.along(count)
    }

    /// Points along the whole ribbon: `points_per_segment` (at least 2) on each smooth segment of the rest shape, at equal
    /// steps of the contour length. There are two at each joint, with the curvatures of either side.
    pub fn along_segments(&self, points_per_segment: usize) -> Vec<BondedPoint> {
        self.line.along_parts(points_per_segment)
    }

    /// The extremes of strain over the whole ribbon in a layer that reaches over `span`.
    ///
    /// # Errors
    /// [`BondedError::WiderThanBend`] if the layer reaches beyond the centre of the sharpest bend.
    pub fn peak_at(&self, span: LayerSpan) -> Result<Extremes, BondedError> {
        check_width(self.least_radius_um, 2.0 * span.reach_um())?;
        let fibres = [span.left_um, span.right_um].map(|offset_um| Fibre { offset_um, is_at_trough: false });
        Ok(self.line.extremes(&fibres))
    }

    /// Points and lengths for integrals along the whole stretched ribbon; jumps of curvature lie on element ends.
    pub fn optical_quadrature(&self) -> impl Iterator<Item = PathWeight> + '_ {
        self.line.quadrature()
    }

    /// The jumps of curvature of the stretched centreline.
    pub fn curvature_jumps(&self) -> Vec<CurvatureJump> {
        self.line.jumps()
    }

    /// What may tear the ribbon off, for the foundation's effective depth (µm) from [`Foundation`](crate::Foundation).
    pub fn peel_indicator(&self, effective_depth_um: f64) -> PeelIndicator {
        PeelIndicator::new(
            self.foundation_mpa,
            self.largest_slip_um,
            self.line.strips.width_um(),
            effective_depth_um,
            self.stretch,
        )
    }
}
