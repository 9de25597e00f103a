//! The true modes of the core's cross-section, for the full tier.

use crate::caches::Caches;
use crate::checked::{Checked, CheckedLight};
use crate::result::{Note, Severity};
use crate::text::digits;
use ogee_optics::{CoreMaterial, CrossSection, Polarisation};
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// Difference of the effective index, relative to what core and cladding leave, that is worth a note.
const WORTH_A_NOTE: f64 = 0.1;

const QUASI_TE: &str = "quasi-TE";
const QUASI_TM: &str = "quasi-TM";

/// The fundamental modes of the true cross-section.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct ModesResult {
    /// One for each polarisation that is guided.
    pub modes: Vec<TrueMode>,
    /// Why a polarisation is missing; empty where both are guided.
    pub missing: Vec<String>,
    /// Model.
    pub model: String,
}

/// A straight mode of the true cross-section.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TrueMode {
    /// Polarisation: `quasi-TE` or `quasi-TM`.
    pub polarisation: String,
    /// Effective index.
    pub effective_index: f64,
    /// How far that may be off, from one order of elements less.
    pub error_estimate: f64,
    /// Group index, without the dispersion of the materials.
    pub group_index: f64,
    /// Change of the effective index per change of the index of the core, of what lies below, above and beside it.
    pub confinement: [f64; 4],
    /// Effective index by the effective-index method, for comparison; `null` where it finds no mode.
    pub slab_effective_index: Option<f64>,
    /// Whether it is within 5e-4 of the index of the claddings, where it may well not guide.
    pub near_cutoff: bool,
    /// Unknowns of the finite elements.
    pub unknowns: usize,
}

/// The true modes of a design's core; `None` without light, or where the cross-section is beyond the solver, which the
/// error tells.
pub(crate) fn modes(checked: &Checked, caches: &mut Caches) -> Option<Arc<ModesResult>> {
    let light = checked.light()?;
    Some(caches.true_modes(light))
}

/// Solves both polarisations.
pub(crate) fn solve(light: &CheckedLight) -> ModesResult {
    let mut result = ModesResult {
        model: "full-vector modes of the rectangular cross-section, finite elements".to_owned(),
        ..ModesResult::default()
    };
    let section = match CrossSection::of_core(&light.core) {
        Ok(section) => section,
        Err(error) => {
            result.missing.push(error.to_string());
            return result;
        }
    };
    for (polarisation, name) in [(Polarisation::QuasiTe, QUASI_TE), (Polarisation::QuasiTm, QUASI_TM)] {
        let solved = section.straight_mode(polarisation).and_then(|mode| {
            let error_estimate = mode.error_estimate()?;
            let still = vec![0.0; section.indices().len()];
            let group_index = mode.group_index(&still)?;
            let share =
                |material: CoreMaterial| mode.confinement.get(material as usize).copied().unwrap_or(0.0);
            Ok(TrueMode {
                polarisation: name.to_owned(),
                effective_index: mode.n_eff_re,
                error_estimate,
                group_index,
                confinement: [
                    CoreMaterial::Core,
                    CoreMaterial::Below,
                    CoreMaterial::Above,
                    CoreMaterial::Side,
                ]
                .map(share),
                slab_effective_index: light.core.effective_index(polarisation).ok().map(|index| index.n_eff),
                near_cutoff: mode.near_cutoff,
                unknowns: mode.unknowns,
            })
        });
        match solved {
            Ok(mode) => result.modes.push(mode),
            Err(error) => result.missing.push(format!("{name}: {error}")),
        }
    }
    result
}

/// What the true modes add to the notes of the estimate.
pub(crate) fn notes(checked: &Checked, found: &ModesResult) -> Vec<Note> {
    let Some(light) = checked.light() else { return Vec::new() };
    let mut list = Vec::new();
    let mut add = |code: &str, message: String| {
        list.push(Note {
            code: code.to_owned(),
            severity: Severity::Caution,
            path: "light.modes".to_owned(),
            message,
        });
    };
    let cladding = light.index.highest_cladding_index();
    let asked = match light.polarisation {
        Polarisation::QuasiTe => QUASI_TE,
        Polarisation::QuasiTm => QUASI_TM,
    };
    for mode in &found.modes {
        if let Some(slab) = mode.slab_effective_index.filter(|_| mode.polarisation == asked) {
            let (above, difference) = (mode.effective_index - cladding, mode.effective_index - slab);
            if above > 0.0 && difference.abs() > WORTH_A_NOTE * above {
                add(
                    "slab-index-differs",
                    format!(
                        "The {} mode of the true cross-section has an effective index of {}, the effective-index method \
                         says {}. Bend loss still rests on the slab of that method.",
                        mode.polarisation,
                        digits(mode.effective_index, 6),
                        digits(slab, 6)
                    ),
                );
            }
        }
        if mode.near_cutoff {
            add(
                "true-mode-near-cutoff",
                format!(
                    "The {} mode of the true cross-section is within 5e-4 of its claddings: it may well not guide.",
                    mode.polarisation
                ),
            );
        }
    }
    for why in &found.missing {
        add("no-true-mode", format!("No mode of the true cross-section: {why}."));
    }
    list
}
