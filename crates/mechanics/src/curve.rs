//! The cell over a range of stretches: the stretch at which a limit is met, and the force-stretch curve.

use ogee_geometry::Quarter;

use crate::{
    error::CellError,
    fibre::LayerSpan,
    solution::CellSolution,
    solver::{CellProblem, CellSolver, CellState},
    strips::Strips,
};

/// Relative accuracy of the stretch at a limit.
const STRETCH_TOLERANCE: f64 = 1e-9;
/// Share of the range at which the search begins.
const FIRST_SHARE: f64 = 1e-3;
/// Step towards rest where the far end of the search has no solution.
const FALL_BACK: f64 = 0.7;
/// Solves at most; bisection alone would need some 40.
const SOLVES: usize = 80;

/// What a layer can bear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerLimit {
    /// The layer's extent across the ribbon.
    pub span: LayerSpan,
    /// Largest allowable strain, above zero.
    pub tensile: f64,
    /// Largest allowable compressive strain as a positive number; none where compression is not judged.
    pub compressive: Option<f64>,
}

impl LayerLimit {
    /// The share of the allowable strain that is used up, 1 at the limit.
    ///
    /// # Errors
    /// [`CellError::WiderThanBend`] if the layer reaches beyond the centre of the crest's curvature.
    pub fn demand(&self, solution: &CellSolution) -> Result<f64, CellError> {
        let extremes = solution.peak_at(self.span)?;
        let compressive = self.compressive.map_or(0.0, |limit| -extremes.compressive.strain / limit);
        Ok((extremes.tensile.strain / self.tensile).max(compressive))
    }
}

/// The stretch nearest to rest at which `demand` reaches 1, sought from rest up to `towards`.
///
/// The equilibrium is solved anew at each trial, so the answer lies on the true curve, which is steep close to the slack:
/// regula falsi on the logarithms of stretch and demand, with bisection when that is slow. `demand` should grow with the
/// size of the stretch, as the peak strain does; of several crossings any may be found.
///
/// * `towards`: the far end of the search, above zero for stretch, between −1 and 0 for compression.
/// * `demand`: what is used up of the allowable, for example the largest [`LayerLimit::demand`] of all layers.
///
/// Returns none if the demand is below 1 at `towards`. Accurate to 1e-9 of the stretch, apart from the accuracy of the
/// strain itself.
///
/// ```
/// use ogee_geometry::{ArmDrive, Family, Quarter};
/// use ogee_mechanics::{CellSolver, LayerLimit, LayerSpan, Strips, stretch_at_strain};
///
/// // A thin hairpin stands 196 % of stretch at 1 % of strain; linear theory promises 313 %.
/// let shape = Family::ArcAndArm(ArmDrive::Radius { radius_um: 250.0 });
/// let quarter = Quarter::new(shape, 1000.0, 600.0)?;
/// let strips = Strips::homogeneous(5.0)?;
/// let limit = LayerLimit { span: LayerSpan::centred(5.0), tensile: 0.01, compressive: None };
/// let mut solver = CellSolver::new();
/// let stretch = stretch_at_strain(&mut solver, &quarter, &strips, 4.0, |solution| limit.demand(solution))?;
/// assert!((stretch.unwrap_or(0.0) - 1.96156).abs() < 1e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`CellError`] of the solver or of `demand`, and [`CellError::BadStretch`] for an end of the search that is zero, not
/// finite or not above −1.
pub fn stretch_at_strain(
    solver: &mut CellSolver,
    quarter: &Quarter,
    strips: &Strips,
    towards: f64,
    mut demand: impl FnMut(&CellSolution) -> Result<f64, CellError>,
) -> Result<Option<f64>, CellError> {
    if !(towards.is_finite() && towards > -1.0 && towards != 0.0) {
        return Err(CellError::BadStretch { stretch: towards });
    }
    let mut warm: Option<CellState> = None;
    let mut excess = |share: f64| -> Result<f64, CellError> {
        let problem = CellProblem { quarter, strips, stretch: share * towards };
        let solution = solver.solve(&problem, warm.as_ref())?;
        let value = demand(&solution)?.max(f64::MIN_POSITIVE).ln();
        warm = Some(solution.state);
        Ok(value)
    };
    let (mut low, mut high) = (FIRST_SHARE, 1.0);
    let mut far = excess(high);
    // Far beyond straight a thin ribbon's layers may be too fine for any mesh; the limit, if passed, lies nearer.
    while matches!(far, Err(CellError::NotConverged { .. } | CellError::NotAccurate { .. }))
        && high > FIRST_SHARE
    {
        high *= FALL_BACK;
        match excess(high) {
            Ok(value) if value < 0.0 => break,
            Ok(value) => far = Ok(value),
            Err(_) => {}
        }
    }
    let mut above = far?;
    if above < 0.0 {
        return Ok(None);
    }
    let mut below = excess(low)?;
    while below > 0.0 {
        // Almost nothing is allowed; strain is in proportion to stretch down there.
        (high, above) = (low, below);
        low *= (-below).exp().min(0.5);
        below = excess(low)?;
    }
    let mut width = high / low;
    for solves in 0..SOLVES {
        if high - low <= STRETCH_TOLERANCE * high || above == 0.0 {
            break;
        }
        let slow = solves % 3 == 2 && (high / low).ln() > 0.5 * width.ln();
        if solves % 3 == 2 {
            width = high / low;
        }
        let share = if slow || above - below <= 0.0 {
            (low * high).sqrt()
        } else {
            low * (high / low).powf(below / (below - above))
        };
        // A trial on top of an end of the bracket would not move it.
        let margin = 0.5 * STRETCH_TOLERANCE * high;
        let share = share.clamp(low + margin, high - margin);
        let value = excess(share)?;
        if value < 0.0 {
            (low, below) = (share, value);
            // Illinois' rule: an end that stays loses half its weight.
            above *= 0.5;
        } else {
            (high, above) = (share, value);
            below *= 0.5;
        }
    }
    Ok(Some(high * towards))
}

/// A point of the force-stretch curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForcePoint {
    /// End-to-end stretch e.
    pub stretch: f64,
    /// End force in EI/P².
    pub force_ei_per_p2: f64,
    /// End force in µN, with the stiffness that the strips were given.
    pub force_un: f64,
    /// The largest |strain| over both edges, with its sign.
    pub peak_strain: f64,
    /// The largest strain over both edges.
    pub peak_tensile_strain: f64,
}

/// The force and the peak strain at each of `stretches`, in their order.
///
/// Each state starts the next, carried along its tangent; so neighbouring stretches cost least.
///
/// # Errors
/// [`CellError`] of the first stretch without an equilibrium.
pub fn force_curve(
    solver: &mut CellSolver,
    quarter: &Quarter,
    strips: &Strips,
    stretches: &[f64],
) -> Result<Vec<ForcePoint>, CellError> {
    let mut warm: Option<CellState> = None;
    let mut points = Vec::with_capacity(stretches.len());
    for &stretch in stretches {
        let solution = solver.solve(&CellProblem { quarter, strips, stretch }, warm.as_ref())?;
        points.push(ForcePoint {
            stretch,
            force_ei_per_p2: solution.force_ei_per_p2,
            force_un: solution.force_un(),
            peak_strain: solution.peak.strain,
            peak_tensile_strain: solution.peak_tensile.strain,
        });
        warm = Some(solution.state);
    }
    Ok(points)
}
