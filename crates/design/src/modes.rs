//! The true modes of the core's cross-section, for the full tier.

use crate::caches::Caches;
use crate::checked::{Checked, CheckedLight};
use crate::result::{Note, Severity};
use crate::text::digits;
use ogee_optics::{BendTable, CoreMaterial, CrossSection, Polarisation, TableBasis};
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::Arc;

/// Difference of the effective index, relative to what core and cladding leave, that is worth a note.
const WORTH_A_NOTE: f64 = 0.1;

/// ln of the ratio of two losses that is worth a note: 20 %.
const LOSS_WORTH_A_NOTE: f64 = 0.18;

const QUASI_TE: &str = "quasi-TE";
const QUASI_TM: &str = "quasi-TM";

/// The fundamental modes of the true cross-section.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct ModesResult {
    /// One for each polarisation that is guided.
    pub modes: Vec<TrueMode>,
    /// Why a polarisation is missing; empty where both are guided.
    pub missing: Vec<String>,
    /// Bends by which the loss of this tier is corrected; empty where it rests on the slab alone.
    pub bends: Vec<BendCheck>,
    /// Why the loss is not corrected, or not well; absent where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncorrected: Option<String>,
    /// Model.
    pub model: String,
}

impl BendCheck {
    /// How far the two losses are apart, as ln of their ratio without sign.
    fn off(&self) -> f64 {
        (self.true_db_per_90deg / self.slab_db_per_90deg).ln().abs()
    }
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

/// Losses at which the bend table is compared with the true cross-section, dB per 90°.
const CHECKED_DB: [f64; 3] = [1.0, 1e-2, 1e-5];

/// The loss of a bend by the slab and by the true cross-section.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BendCheck {
    /// Radius to the middle of the core, µm.
    pub radius_um: f64,
    /// Loss of a quarter turn by the slab, dB.
    pub slab_db_per_90deg: f64,
    /// The same by the true cross-section, dB.
    pub true_db_per_90deg: f64,
}

/// A bend table that has been compared with the true cross-section.
#[derive(Clone, Debug)]
pub(crate) struct CorrectedTable {
    pub(crate) table: Arc<BendTable>,
    pub(crate) checks: Vec<BendCheck>,
    /// Why the table stays as it was; none where it was corrected.
    pub(crate) trouble: Option<String>,
}

/// Corrects the in-plane table of a core by full-vector modes of its true cross-section at three radii.
pub(crate) fn correct(light: &CheckedLight, table: &Arc<BendTable>) -> CorrectedTable {
    let kept = |trouble: String| CorrectedTable {
        table: Arc::clone(table),
        checks: Vec::new(),
        trouble: Some(trouble),
    };
    if table.basis() != TableBasis::LateralSlab {
        return kept(
            "this core leaks into what lies below or above it, which its slab does not know".to_owned(),
        );
    }
    let section = match CrossSection::of_core(&light.core) {
        Ok(section) => section,
        Err(error) => return kept(error.to_string()),
    };
    let mut checks = Vec::new();
    let mut why = None;
    for wanted_db in CHECKED_DB {
        let radius_um = radius_of_loss(table, wanted_db);
        if checks.iter().any(|c: &BendCheck| (c.radius_um / radius_um - 1.0).abs() < 0.01) {
            continue;
        }
        match section.bent_mode(light.polarisation, radius_um.recip()) {
            Ok(mode) => checks.push(BendCheck {
                radius_um,
                slab_db_per_90deg: table.loss_db_per_90deg(radius_um.recip()),
                true_db_per_90deg: mode.loss_db_per_90deg,
            }),
            Err(error) => why = Some(error.to_string()),
        }
    }
    let factors: Vec<(f64, f64)> =
        checks.iter().map(|c| (c.radius_um, c.true_db_per_90deg / c.slab_db_per_90deg)).collect();
    match table.corrected(&factors) {
        Ok(corrected) => {
            CorrectedTable { table: Arc::new(corrected), checks, trouble: why.filter(|_| factors.len() < 2) }
        }
        Err(error) => kept(why.unwrap_or_else(|| error.to_string())),
    }
}

/// Radius at which the table has that loss, within its radii, µm; the loss falls as the radius grows.
fn radius_of_loss(table: &BendTable, wanted_db: f64) -> f64 {
    let (mut low, mut high) = (table.least_radius_um(), table.greatest_radius_um());
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if table.loss_db_per_90deg(middle.recip()) > wanted_db {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
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
                         says {}.",
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
    if let Some(worst) = found.bends.iter().max_by(|a, b| a.off().total_cmp(&b.off()))
        && worst.off() > LOSS_WORTH_A_NOTE
    {
        add(
            "slab-loss-differs",
            format!(
                "A bend of {} µm loses {} dB per 90° in the true cross-section, {} by the slab that is shown while something \
                 is dragged; the loss in this tier is corrected by {} such radii.",
                digits(worst.radius_um, 3),
                digits(worst.true_db_per_90deg, 2),
                digits(worst.slab_db_per_90deg, 2),
                found.bends.len()
            ),
        );
    }
    if let Some(why) = &found.uncorrected {
        add("loss-not-corrected", format!("Bend loss rests on the slab: {why}."));
    }
    for why in &found.missing {
        add("no-true-mode", format!("No mode of the true cross-section: {why}."));
    }
    list
}
