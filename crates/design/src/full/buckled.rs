//! The ribbon out of its plane.

use super::strain::{Peak, Peaks, SectionPeaks};
use crate::check::Checked;
use crate::form::{FormKind, FormPoint, RibbonForm};
use ogee_mechanics::{FibreBox, FibrePeak, SpatialPeak, SpatialSolution};

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

/// The ribbon's form.
pub(crate) fn form(solution: &SpatialSolution, stretch: f64, points_per_segment: usize) -> RibbonForm {
    let larger = |a: f64, b: f64| if b.abs() > a.abs() { b } else { a };
    let points = solution
        .along(points_per_segment)
        .iter()
        .map(|p| FormPoint {
            s_um: p.s_um,
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
        })
        .collect();
    RibbonForm { stretch, kind: FormKind::Buckled, points }
}
