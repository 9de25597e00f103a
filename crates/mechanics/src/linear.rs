//! Small stretch: the cell's compliance by Castigliano's theorem.

use ogee_geometry::Quarter;

use crate::{error::CellError, fibre::fibre_strain, strips::Strips};

/// Subdivisions of each smooth piece, graded towards its ends; more where the curvature is gathered at the crest.
const PARTS: usize = 3;
const PARTS_IF_SHARP: usize = 8;
/// Gauss points and weights on 0..1, exact to degree 9.
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668_0, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

/// Force and peak strain per unit of stretch, for a vanishing stretch.
///
/// With V = 0 and no moment at the crossing, M = F y₀ and N = F cos φ₀, so that
///
/// ```text
/// C_q = ∫ [ y₀²/EI_c + (cos φ₀ + κ₀ y₀)²/EA ] ds        e = F C_q/(P/4)
/// ε   = F [ (1 − A κ_c)/EA + (w/2) A/(EI_c (1 − κ_c w/2)) ]      at the crest's inner edge
/// ```
///
/// Linear theory errs by more than 5 % on the unsafe side beyond about a quarter of the slack, and knows no ceiling
/// at the slack: use it to start from, not to judge by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinearEstimate {
    /// End force per stretch, in EI/P² with EI of the straight ribbon.
    pub force_slope_ei_per_p2: f64,
    /// Strain at the inner edge of the crest per stretch, dimensionless; the largest of the whole ribbon.
    pub strain_slope: f64,
}

impl LinearEstimate {
    /// The estimate for a ribbon of the shape of `quarter` and the section `strips`.
    ///
    /// # Errors
    /// [`CellError::WiderThanBend`] if the ribbon's inner edge lies beyond the centre of the crest's curvature.
    pub fn new(quarter: &Quarter, strips: &Strips) -> Result<Self, CellError> {
        check_width(quarter, strips.width_um())?;
        let pitch_um = quarter.pitch_um();
        let ea = strips.relative_ea(pitch_um);
        let mut compliance = 0.0;
        let parts = if sharpness(quarter) > SHARP { PARTS_IF_SHARP } else { PARTS };
        for piece in quarter.pieces() {
            for part in 0..parts {
                let edge = |k: usize| 0.5 - 0.5 * (std::f64::consts::PI * k as f64 / parts as f64).cos();
                let (from, to) = (edge(part), edge(part + 1));
                for (position, weight) in GAUSS {
                    let u = from + (to - from) * position;
                    let sample = piece.sample(u);
                    let ds = sample.ds_du_um / pitch_um * (to - from) * weight;
                    let height = piece.point(u).y / pitch_um;
                    let bending = strips.bending_ratio(sample.kappa_per_um);
                    let axial = sample.phi_rad.cos() + sample.kappa_per_um * pitch_um * height;
                    compliance += ds * (height * height / bending + axial * axial / ea);
                }
            }
        }
        let force = 0.25 / compliance;
        let amplitude = quarter.amplitude_um() / pitch_um;
        let kappa_per_um = -quarter.crest_curvature_per_um();
        let moment = force * amplitude;
        let axial = (force + kappa_per_um * pitch_um * moment) / ea;
        let curving = moment / strips.bending_ratio(kappa_per_um) / pitch_um;
        let strain = fibre_strain(axial, curving, -0.5 * strips.width_um(), kappa_per_um);
        Ok(Self { force_slope_ei_per_p2: force, strain_slope: strain })
    }
}

/// Sharpness up to which few elements or subdivisions do.
pub(crate) const SHARP: f64 = 4.5;

/// How much the curvature is gathered at the crest: the crest's curvature over the mean one of the quarter.
///
/// 1 for an arc, π/2 for a sine-generated curve, 3.6, 9, 29 and 107 for sines of A/P = ¼, ½, 1 and 2. Where an arm leads
/// in it counts as 1, for the piece behind it is a mesh of its own.
pub(crate) fn sharpness(quarter: &Quarter) -> f64 {
    if quarter.pieces().len() > 1 {
        return 1.0;
    }
    quarter.crest_curvature_per_um() * quarter.length_um() / quarter.tilt_rad()
}

/// Refuses ribbons whose inner edge folds over at the crest.
pub(crate) fn check_width(quarter: &Quarter, width_um: f64) -> Result<(), CellError> {
    if 0.5 * width_um * quarter.crest_curvature_per_um() < 1.0 {
        Ok(())
    } else {
        Err(CellError::WiderThanBend { radius_um: quarter.least_radius_um(), width_um })
    }
}
