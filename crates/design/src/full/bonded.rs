//! The ribbon on or in an elastomer.

use super::strain::{Peak, Peaks, SectionPeaks, place};
use crate::checked::Checked;
use crate::document::Elastomer;
use crate::form::{FormKind, FormPoint, RibbonForm};
use crate::models::{BondedResult, ModelResult};
use ogee_geometry::Centreline;
use ogee_mechanics::{
    BondedNote, BondedProblem, BondedRibbonProblem, BondedRibbonSolution, BondedRibbonSolver, BondedSolver,
    CellSolution, Foundation, FoundationStiffness, LayerSpan, StiffFilm, Substrate, WrinklingNote,
};

pub(crate) const SOURCE: &str = "exact planar curved beam on a linear foundation, derived in the documentation of \
    ogee-mechanics; stiffness of the elastomer by a strip's shear (Cohn 1955) and the decay of its disturbance";

/// The design's elastomer as a foundation, and how stiff it is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bed {
    pub(crate) elastomer: Elastomer,
    pub(crate) foundation: Foundation,
    pub(crate) stiffness: FoundationStiffness,
}

impl Bed {
    /// The bed of a ribbon of this pitch.
    pub(crate) fn of(checked: &Checked, pitch_um: f64) -> Result<Self, String> {
        let elastomer = checked.design().support.elastomer.unwrap_or_default();
        let foundation = Foundation {
            modulus_mpa: elastomer.modulus_mpa,
            poisson: elastomer.poisson_ratio,
            thickness_um: elastomer.thickness_um,
            substrate: match elastomer.base {
                crate::document::BaseName::Held => Substrate::Layer,
                crate::document::BaseName::Thick => Substrate::Thick,
                crate::document::BaseName::None => Substrate::FreeFilm,
            },
            is_embedded: elastomer.embedded,
        };
        let stiffness = foundation.stiffness(checked.width_um(), pitch_um).map_err(|e| e.to_string())?;
        Ok(Self { elastomer, foundation, stiffness })
    }
}

/// Solves the whole ribbon on its bed.
pub(crate) fn solve(
    checked: &Checked,
    line: &Centreline,
    bed: &Bed,
    stretch: f64,
) -> Result<BondedRibbonSolution, String> {
    let problem = BondedRibbonProblem {
        ribbon: line,
        strips: checked.strips(),
        foundation_mpa: bed.stiffness.in_plane_mpa,
        substrate_poisson: bed.elastomer.poisson_ratio,
        stretch,
    };
    BondedRibbonSolver::new().solve(&problem).map_err(|e| e.to_string())
}

/// Strain in the section and its layers.
pub(crate) fn peaks(checked: &Checked, solution: &BondedRibbonSolution) -> Result<SectionPeaks, String> {
    let at = |left_um: f64, right_um: f64| {
        let extremes = solution.peak_at(LayerSpan { left_um, right_um }).map_err(|e| e.to_string())?;
        let peak = |p: &ogee_mechanics::Peak| Peak { strain: p.strain, s_um: p.s_um, offset_um: p.offset_um };
        Ok(Peaks { tension: peak(&extremes.tensile), compression: peak(&extremes.compressive) })
    };
    let half = 0.5 * checked.width_um();
    let layers: Result<Vec<Peaks>, String> =
        checked.layers().iter().map(|l| at(l.left_um, l.right_um)).collect();
    Ok(SectionPeaks { edges: at(half, -half)?, layers: layers? })
}

/// The ribbon's form.
pub(crate) fn form(solution: &BondedRibbonSolution, stretch: f64, points_per_segment: usize) -> RibbonForm {
    let points = solution
        .along_segments(points_per_segment)
        .iter()
        .map(|p| {
            let p = &p.at;
            FormPoint::in_plane(
                [p.s_um, p.x_um, p.y_um],
                p.phi_rad,
                [p.kappa_rest_per_um, p.kappa_per_um],
                [p.axial_strain, p.left_strain, p.right_strain],
            )
        })
        .collect();
    RibbonForm { stretch, kind: FormKind::Bonded, points }
}

/// The model's result at the target.
///
/// * `onset`: stretch at which the ribbon leaves the plane against the bed, where it does.
pub(crate) fn result(
    checked: &Checked,
    solution: &BondedRibbonSolution,
    bed: &Bed,
    cell: &CellSolution,
    onset: Option<f64>,
) -> Result<BondedResult, String> {
    let edges = peaks(checked, solution)?.edges;
    let (tension, compression) = edges.sizes();
    let mut validity = vec![format!("{}; {}", bed.stiffness.closure, bed.stiffness.note)];
    if solution.note != BondedNote::OnSprings {
        validity.push(solution.note.to_string());
    }
    if !solution.is_stable {
        validity.push("the state is not stable in its plane".to_owned());
    }
    let out = checked.out_of_plane();
    let thickness_um = out.thickness_um();
    let film = StiffFilm {
        modulus_mpa: checked.section().ea_un() / (checked.width_um() * thickness_um),
        poisson: out.poisson,
        thickness_um,
        width_um: checked.width_um(),
    };
    let wrinkling = bed.foundation.wrinkling(&film).ok();
    if let Some(wrinkling) = &wrinkling {
        let strains = compression > wrinkling.strain;
        if strains && wrinkling.note == WrinklingNote::Wide {
            validity.push(format!(
                "fibres are compressed beyond the {} % at which a film of this stiffness wrinkles out of the plane, which \
                 is not computed",
                crate::text::number(100.0 * wrinkling.strain)
            ));
        } else if strains {
            validity.push(format!("wrinkling is only indicated: {}", wrinkling.note));
        }
    }
    if let Some(onset) = onset.filter(|onset| *onset < checked.target_stretch()) {
        validity.push(format!(
            "against this elastomer the ribbon leaves its plane at {} %; its shape beyond is not computed",
            crate::text::number(100.0 * onset)
        ));
    }
    // Cell values for comparison: the same elastomer, no ends.
    let problem = BondedProblem {
        quarter: checked.quarter(),
        strips: checked.strips(),
        foundation_mpa: bed.stiffness.in_plane_mpa,
        substrate_poisson: bed.elastomer.poisson_ratio,
        stretch: checked.target_stretch(),
    };
    let following = match BondedSolver::new().solve(&problem, None) {
        Ok(cell) => cell.following_peak_strain,
        Err(_) => solution.following_peak_strain,
    };
    let peel = solution.peel_indicator(bed.stiffness.effective_depth_um);
    let force_unit_un = solution.force_unit_un();
    Ok(BondedResult {
        common: ModelResult {
            model: "whole ribbon on a linear foundation, in its plane, clamped ends, large stretch"
                .to_owned(),
            peak_tensile_strain_percent: 100.0 * tension,
            peak_compressive_strain_percent: 100.0 * compression,
            peak_place: place(checked, &edges.tension, None),
            force_un: solution.end_force_ei_per_p2[0] * force_unit_un,
            error_estimate: solution.error_estimate,
            iterations: solution.iterations,
            is_valid: solution.is_stable
                && matches!(solution.note, BondedNote::OnSprings | BondedNote::Negligible),
            validity,
        },
        foundation_mpa: bed.stiffness.in_plane_mpa,
        closure: bed.stiffness.closure.to_string(),
        stiffness_ratio: solution.foundation_p4_per_ei,
        freestanding_percent: 100.0 * cell.peak_tensile.strain.max(0.0),
        following_percent: 100.0 * following,
        largest_slip_um: solution.largest_slip_um,
        edge_shear_percent: 100.0 * peel.shear,
        bond_force_un_per_um: peel.line_force_un_per_um,
        onset_percent: onset.map(|onset| 100.0 * onset),
        wrinkling_strain_percent: wrinkling.as_ref().map(|w| 100.0 * w.strain),
        wrinkle_length_um: wrinkling.as_ref().map(|w| w.wavelength_um),
    })
}
