//! The ribbon out of its plane.

use super::flat::motion;
use super::strain::{Peak, Peaks, SectionPeaks, place};
use crate::checked::Checked;
use crate::form::{FormKind, FormPoint, RibbonForm};
use crate::models::{BuckledResult, ModelResult, OtherState};
use crate::text::{digits, number};
use ogee_geometry::Centreline;
use ogee_mechanics::{
    FibreBox, FibrePeak, OutOfPlane, SpatialPeak, SpatialProblem, SpatialSolution, StateSymmetry,
};

/// Step off a joint to be on one side of it, relative to the ribbon.
const INSIDE: f64 = 1e-9;
/// w² κ/t above which the ribbon law is in doubt.
const MOST_BETA: f64 = 10.0;
/// Share of the slack above which stretching dominates.
const NEARLY_STRAIGHT: f64 = 0.95;

/// States that differ by less in energy, relatively, are one.
pub(super) const SAME_ENERGY: f64 = 1e-3;

pub(crate) const SOURCE: &str = "exact rod in space with the ribbon law for wide sections, derived in the documentation \
    of ogee-mechanics";

/// Strain in the section and its layers. Over the whole section it counts the shear of torsion in, in a layer the strain
/// along the ribbon.
pub(crate) fn peaks(checked: &Checked, solution: &SpatialSolution) -> Result<SectionPeaks, String> {
    let of = |p: &SpatialPeak| Peak { strain: p.strain, s_um: p.s_um, offset_um: p.offset_um };
    let fibre = |p: &FibrePeak| Peak { strain: p.strain, s_um: p.s_um, offset_um: p.offset_um };
    let neutral_um = checked.section().neutral_plane_um();
    let layers: Result<Vec<Peaks>, String> = checked
        .layers()
        .iter()
        .map(|layer| {
            let extent = FibreBox {
                right_um: layer.right_um,
                left_um: layer.left_um,
                bottom_um: layer.bottom_um - neutral_um,
                top_um: layer.top_um - neutral_um,
            };
            let extremes = solution.extremes_in(extent).map_err(|e| e.to_string())?;
            Ok(Peaks { tension: fibre(&extremes.tensile), compression: fibre(&extremes.compressive) })
        })
        .collect();
    let edges = Peaks { tension: of(&solution.peak_tensile), compression: of(&solution.peak_compressive) };
    Ok(SectionPeaks { edges, layers: layers? })
}

/// The ribbon's form: both ends of every smooth stretch, and points at equal steps in between, as of a flat ribbon.
pub(crate) fn form(
    line: &Centreline,
    solution: &SpatialSolution,
    stretch: f64,
    points_per_segment: usize,
) -> RibbonForm {
    let larger = |a: f64, b: f64| if b.abs() > a.abs() { b } else { a };
    let within_um = INSIDE * line.contour_length_um();
    let last = points_per_segment.max(2) - 1;
    let mut points = Vec::with_capacity((last + 1) * 4 * line.periods() as usize);
    for segment in line.segments() {
        for i in 0..=last {
            let s_um = segment.start_um() + segment.length_um() * i as f64 / last as f64;
            // At a jump of curvature each side is asked for from within.
            let p = solution.at(match i {
                0 => s_um + within_um,
                i if i == last => s_um - within_um,
                _ => s_um,
            });
            points.push(FormPoint {
                s_um,
                position_um: p.position_um,
                across: p.normal,
                rest_curvature_per_um: p.kappa_rest_per_um,
                curvature_in_per_um: p.kappa_in_per_um,
                curvature_out_per_um: p.kappa_out_per_um,
                twist_per_um: p.twist_per_um,
                axial_strain: p.axial_strain,
                left_strain: larger(p.left_top_strain, p.left_bottom_strain),
                right_strain: larger(p.right_top_strain, p.right_bottom_strain),
                loss_db_per_cm: 0.0,
            });
        }
    }
    RibbonForm { stretch, kind: FormKind::Buckled, points }
}

/// The ribbon in space at a stretch between the islands.
pub(crate) fn problem<'a>(
    checked: &'a Checked,
    line: &'a Centreline,
    out: &'a OutOfPlane,
    stretch: f64,
) -> SpatialProblem<'a> {
    SpatialProblem {
        line,
        strips: checked.strips(),
        out,
        motion: motion(checked, stretch),
        // Counted as in mechanics: a positive curvature about the left normal bends the ribbon down.
        curl_per_um: checked.curl_per_um(),
    }
}

/// Greatest height over the plane and depth below it, faces included, µm.
pub(crate) fn heights_um(checked: &Checked, out: &OutOfPlane, form: &RibbonForm) -> [f64; 2] {
    let [above, below] = form.heights_um(checked.width_um());
    [above + out.top_um, below - out.bottom_um]
}

/// The stable states at the target stretch.
#[derive(Clone, Debug)]
pub(crate) struct AtTarget {
    /// The state of least energy found.
    pub(crate) lowest: SpatialSolution,
    /// Whether it is the branch followed from the onset.
    pub(crate) is_branch: bool,
    /// All states found, the lowest first.
    pub(crate) states: Vec<SpatialSolution>,
    /// Peak tensile strain of the lowest state by the plain rod law.
    pub(crate) plain_rod: Option<f64>,
    /// Relative error of the peak: its change on twice the elements.
    pub(crate) error: Option<f64>,
}

/// The model's result at the target.
pub(crate) fn result(checked: &Checked, at: &AtTarget, form: &RibbonForm, out: &OutOfPlane) -> BuckledResult {
    let solution = &at.lowest;
    let percent = |strain: f64| 100.0 * strain;
    let peak = |p: &SpatialPeak| Peak { strain: p.strain, s_um: p.s_um, offset_um: p.offset_um };
    let [above_um, below_um] = heights_um(checked, out, form);
    let others: Vec<OtherState> = at
        .states
        .iter()
        .skip(1)
        .map(|state| OtherState {
            symmetry: state.symmetry.label().to_owned(),
            energy_ratio: state.energy_un_um / solution.energy_un_um,
            peak_tensile_strain_percent: percent(state.peak_tensile.strain),
        })
        .collect();
    let is_lowest = at.states.iter().all(|s| s.energy_un_um >= solution.energy_un_um * (1.0 - SAME_ENERGY));
    let peaks = || at.states.iter().map(|state| percent(state.peak_tensile.strain));
    let spread = [peaks().fold(f64::INFINITY, f64::min), peaks().fold(f64::NEG_INFINITY, f64::max)];
    BuckledResult {
        common: ModelResult {
            model: format!("whole ribbon out of its plane, clamped ends, {}", out.law.label()),
            peak_tensile_strain_percent: percent(solution.peak_tensile.strain.max(0.0)),
            peak_compressive_strain_percent: percent((-solution.peak_compressive.strain).max(0.0)),
            peak_place: place(checked, &peak(&solution.peak_tensile), None),
            force_un: solution.force_un[0],
            error_estimate: at.error.unwrap_or(solution.mesh_indicator),
            iterations: solution.iterations,
            is_valid: solution.is_stable && solution.beta <= MOST_BETA,
            validity: validity(checked, at, out),
        },
        upper_bound_percent: percent(solution.upper_bound_strain),
        plain_rod_percent: at.plain_rod.map(percent),
        symmetry: solution.symmetry.label().to_owned(),
        energy_un_um: solution.energy_un_um,
        above_um,
        below_um,
        largest_twist_per_um: solution.largest_twist_per_um,
        largest_curvature_out_per_um: solution.largest_curvature_out_per_um,
        beta: solution.beta,
        other_states: others,
        peak_spread_percent: spread,
        is_lowest,
    }
}

/// Where the model stops holding for this ribbon.
fn validity(checked: &Checked, at: &AtTarget, out: &OutOfPlane) -> Vec<String> {
    let solution = &at.lowest;
    let mut list = Vec::new();
    if solution.beta > MOST_BETA {
        list.push(format!(
            "w² κ/t is {}, above {}: so wide a ribbon is a shell, and neither law holds",
            digits(solution.beta, 2),
            number(MOST_BETA)
        ));
    }
    if let Some(rod) = at.plain_rod {
        let half = 0.5 * (solution.peak_tensile.strain / rod - 1.0).abs();
        if half > 0.02 {
            list.push(format!(
                "half the difference to the plain rod law, {} %, is the error of the section law",
                digits(100.0 * half, 2)
            ));
        }
    }
    let width_um = checked.width_um();
    if width_um > checked.centreline().least_radius_um() {
        list.push(
            "the ribbon is wider than its tightest bend's radius: a plate rather than a rod".to_owned(),
        );
    }
    let between_um = 2.0 * checked.quarter().length_um();
    if between_um < 4.0 * width_um {
        list.push(
            "less than four widths lie between two crossings: the clamped ends reach over whole bends"
                .to_owned(),
        );
    }
    if checked.cell_stretch(checked.target_stretch()) > NEARLY_STRAIGHT * checked.quarter().slack() {
        list.push(
            "nearly straight: stretching of the material dominates, in the plane and out of it alike"
                .to_owned(),
        );
    }
    if !at.is_branch {
        list.push(
            "the shape followed from the onset is not the one of least energy found; a real ribbon may take either"
                .to_owned(),
        );
    }
    let limits = &checked.design().limits;
    let rooms = [limits.room_above_um, limits.room_below_um];
    if rooms.iter().flatten().any(|room| *room < 4.0 * out.thickness_um())
        && solution.symmetry == StateSymmetry::Odd
    {
        list.push(
            "with so little room on one side the ribbon cannot bend both ways, as this shape does; contact is not \
             computed"
                .to_owned(),
        );
    }
    list
}
