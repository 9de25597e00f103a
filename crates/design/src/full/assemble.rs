//! Puts what the governing model found in the place of the live estimate.

use super::light;
use super::strain::{SectionPeaks, place};
use crate::assess::{LiveParts, judge};
use crate::caches::Caches;
use crate::checked::Checked;
use crate::evaluate::{Deeper, loss_of, solve};
use crate::figures::{Layers, Strain};
use crate::form::{FormPoint, RibbonPath};
use crate::margin::margins;
use crate::models::{Governing, ModelName};
use crate::modes::{self, ModesResult};
use crate::notes::notes;
use crate::result::{Assessment, Margin, Note, Sensitivity, Severity, StretchPoint, Tier, TorsionResult};
use crate::strength::{Pull, Strength, add_answers};
use crate::text::digits;
use ogee_stack::TorsionNote;

/// Difference of the live estimate that is worth a note, dimensionless.
const WORTH_A_NOTE: f64 = 0.1;

/// The model that governs, at the target stretch and along the way there.
pub(crate) struct Governed {
    pub(crate) model: ModelName,
    /// Why it is this one.
    pub(crate) words: String,
    /// The model, for the margins.
    pub(crate) named: String,
    pub(crate) source: &'static str,
    pub(crate) peaks: SectionPeaks,
    pub(crate) force_un: f64,
    pub(crate) error_estimate: f64,
    pub(crate) iterations: u32,
    pub(crate) heights_um: Option<[f64; 2]>,
    /// Where on the way a layer reaches its allowable strain; none where that is beyond the way.
    pub(crate) reached: Option<Reached>,
    /// The far end of the way, dimensionless.
    pub(crate) searched_to: f64,
    /// How the strain margin answers to changes of the design, by this model.
    pub(crate) sensitivities: Vec<Sensitivity>,
    /// The ribbon's places at the target.
    pub(crate) points: Vec<FormPoint>,
    pub(crate) curve: Vec<StretchPoint>,
}

/// The stretch at which a layer reaches its allowable strain.
#[derive(Clone, Debug)]
pub(crate) struct Reached {
    pub(crate) stretch: f64,
    pub(crate) layer: usize,
    pub(crate) peak: super::strain::Peak,
}

/// The live assessment with the strain, the loss and the margins of the governing model.
pub(crate) fn assemble(
    checked: &Checked,
    parts: LiveParts,
    governed: &Governed,
    path: &RibbonPath,
    caches: &mut Caches,
) -> Result<Assessment, String> {
    let LiveParts { mut assessment, mut evaluated, mut words, changes } = parts;
    let layers = Layers::of(checked);
    let live_used = evaluated.figures.strain.used.0;
    let strain = governed.peaks.judged(&layers);
    set_places(checked, governed, &strain, &mut words);
    let leaves_the_plane = governed.points.iter().any(|p| p.curvature_out_per_um != 0.0);
    let tables = light::Tables::of(checked, leaves_the_plane, caches);
    let loss = tables.as_ref().and_then(|tables| light::loss_along(checked, tables, &governed.points));
    if let (Some((loss, result)), Some(losses)) = (&loss, &mut evaluated.figures.losses) {
        losses.stretched = *loss;
        words.loss_stretched = result.worst_place.clone();
    }
    if let (Some(tables), Some(light), Some(losses)) =
        (&tables, checked.light(), &mut evaluated.figures.losses)
    {
        losses.rest = tables.at_rest(checked, light);
        if let (Some(rest), Some(result)) = (loss_of(checked, Some(&losses.rest)), &mut assessment.light) {
            words.loss_rest = rest.worst_place.clone();
            result.rest = Some(rest);
            tables.words().clone_into(&mut result.model);
        }
    }
    let difference = if live_used > 0.0 { strain.used.0 / live_used - 1.0 } else { 0.0 };
    evaluated.figures.strain = strain;
    evaluated.allowable_stretch = governed.reached.as_ref().map(|r| r.stretch);
    evaluated.deeper = Some(Deeper {
        model: governed.named.clone(),
        source: governed.source,
        heights_um: governed.heights_um,
        searched_to: governed.searched_to,
        loss_model: tables.as_ref().map(light::Tables::words),
        is_loss_corrected: tables.as_ref().is_some_and(light::Tables::is_corrected),
    });
    let mut list = margins(checked, &evaluated, &words);
    for margin in &mut list {
        if let Some(live) = assessment.margins.iter_mut().find(|m| m.id == margin.id) {
            margin.sensitivities = std::mem::take(&mut live.sensitivities);
        }
    }
    for sensitivity in &governed.sensitivities {
        set_sensitivity(&mut list, sensitivity);
    }
    let found = strength(checked, governed, path, caches);
    let mut others = found.margins(checked);
    add_answers(checked, &mut others, &changes, caches);
    list.extend(others);
    assessment.margins = list;
    assessment.tier = Tier::Full;
    assessment.governing = Governing {
        model: governed.model,
        words: governed.words.clone(),
        live_difference_percent: Some(100.0 * difference),
    };
    set_stretch(checked, governed, &mut assessment);
    assessment.section.torsion = Some(torsion(checked));
    if let (Some(light), Some((_, result))) = (&mut assessment.light, loss) {
        light.stretched = Some(result);
    }
    let modes = modes::modes(checked, caches);
    let cell = solve(checked, checked.target_stretch(), caches)?;
    let mut list = notes(checked, &evaluated, &cell, &governed.peaks.sizes());
    if let Some(trouble) = tables.as_ref().and_then(light::Tables::trouble) {
        list.push(Note {
            code: "no-loss-out-of-plane".to_owned(),
            severity: Severity::Warning,
            path: "light".to_owned(),
            message: format!("Loss of bends out of the plane is left out: {trouble}."),
        });
    }
    if difference.abs() > WORTH_A_NOTE {
        list.insert(0, difference_note(governed, difference));
    }
    list.extend(found.notes(checked));
    if let (Some(modes), Some(light)) = (modes, &mut assessment.light) {
        let mut modes = ModesResult::clone(&modes);
        if let Some(corrected) = caches.corrected_table(checked) {
            (modes.bends, modes.uncorrected) = (corrected.checks, corrected.trouble);
        }
        list.extend(modes::notes(checked, &modes));
        light.modes = Some(modes);
    }
    assessment.notes = list;
    assessment.wrap = found.wrap;
    assessment.thermal = found.thermal;
    assessment.life = found.life;
    assessment.islands = found.islands;
    assessment.trace = found.trace;
    judge(&mut assessment);
    Ok(assessment)
}

/// Wrap, oven, life, islands and trace by the strain of the governing model; by the live one where the duty list leaves the
/// stretches that were solved.
fn strength(checked: &Checked, governed: &Governed, path: &RibbonPath, caches: &mut Caches) -> Strength {
    let peaks: Vec<[f64; 2]> = governed
        .peaks
        .layers
        .iter()
        .map(|p| [p.tension.strain.max(0.0), p.compression.strain.min(0.0)])
        .collect();
    let [low, high] = path.range().unwrap_or([0.0; 2]);
    let cycles = checked.design().life.iter().flat_map(|life| &life.cycles);
    let mut ends = cycles.flat_map(|c| [c.from_percent / 100.0, c.to_percent / 100.0]);
    let mut pull =
        if ends.all(|e| (low..=high).contains(&e)) { Pull::Path(path) } else { Pull::Live(caches) };
    Strength::of(checked, &peaks, &mut pull)
}

fn set_places(checked: &Checked, governed: &Governed, strain: &Strain, words: &mut crate::evaluate::Words) {
    let peaks = &governed.peaks.layers;
    if let Some(layer) = peaks.get(strain.used.1) {
        words.tension = place(checked, &layer.tension, Some(strain.used.1));
    }
    if let Some((_, number)) = strain.compressed
        && let Some(layer) = peaks.get(number)
    {
        words.compression = place(checked, &layer.compression, Some(number));
    }
    words.allowable =
        governed.reached.as_ref().map(|r| place(checked, &r.peak, Some(r.layer))).unwrap_or_default();
    words.allowable_layer = governed.reached.as_ref().map(|r| r.layer);
}

fn set_stretch(checked: &Checked, governed: &Governed, assessment: &mut Assessment) {
    let edges = &governed.peaks.edges;
    let largest = if edges.compression.strain.abs() > edges.tension.strain.abs() {
        edges.compression
    } else {
        edges.tension
    };
    let stretch = &mut assessment.stretch;
    stretch.end_factor = 1.0;
    stretch.peak_strain_percent = 100.0 * largest.strain;
    stretch.peak_tensile_strain_percent = 100.0 * edges.sizes().0;
    stretch.peak_place = place(checked, &largest, None);
    stretch.force_un = governed.force_un;
    stretch.allowable_reached_percent = governed.reached.as_ref().map(|r| 100.0 * r.stretch);
    stretch.governing_layer =
        governed.reached.as_ref().and_then(|r| checked.layers().get(r.layer)).map(|l| l.name.clone());
    stretch.error_estimate = governed.error_estimate;
    stretch.iterations = governed.iterations;
    stretch.model.clone_from(&governed.named);
    stretch.curve.clone_from(&governed.curve);
    for (layer, (tension, compression)) in assessment.section.layers.iter_mut().zip(governed.peaks.sizes()) {
        layer.peak_tensile_strain_percent = 100.0 * tension;
        layer.peak_compressive_strain_percent = 100.0 * compression;
    }
}

fn torsion(checked: &Checked) -> TorsionResult {
    let found = checked.torsion();
    TorsionResult {
        gj_un_um2: found.value_un_um2,
        range_un_um2: [found.lower_un_um2, found.upper_un_um2],
        model: match found.note {
            TorsionNote::Exact => "exact series for layers of the full width",
            TorsionNote::Pieces => "series with each row's pieces averaged, mean of two averages",
            _ => "finite volumes on the section's outline",
        }
        .to_owned(),
    }
}

fn difference_note(governed: &Governed, difference: f64) -> Note {
    let (amount, way) = (digits(100.0 * difference.abs(), 2), if difference > 0.0 { "more" } else { "less" });
    Note {
        code: "live-differs".to_owned(),
        severity: Severity::Caution,
        path: "governing".to_owned(),
        message: format!(
            "The governing model ({}) gives {amount} % {way} strain than the live estimate that is shown while \
             something is dragged.",
            governed.model.label()
        ),
    }
}

/// Replaces the answer of the strain margins to one change of a field.
fn set_sensitivity(list: &mut [Margin], sensitivity: &Sensitivity) {
    for margin in list.iter_mut().filter(|m| m.id == "strain-at-target") {
        let same = |s: &&mut Sensitivity| {
            s.path == sensitivity.path && s.change_percent == sensitivity.change_percent
        };
        if let Some(own) = margin.sensitivities.iter_mut().find(same) {
            own.clone_from(sensitivity);
        }
    }
}
