//! The mechanical models side by side, for people.

use super::table::{aligned, wrapped};
use ogee_design::{Assessment, ModelName, ModelResult, number_text};

/// Every model that was run with its peak strain, force and place, the one that governs marked.
pub(super) fn side_by_side(assessment: &Assessment) -> String {
    let mut rows = vec![["", "strain by", "peak", "compression", "force", "place"].map(str::to_owned)];
    let mut remarks = Vec::new();
    for (name, result) in models(assessment) {
        let mark = if name == assessment.governing.model { "→" } else { "" };
        rows.push([
            mark.to_owned(),
            name.label().to_owned(),
            format!("{} %", number_text(result.peak_tensile_strain_percent)),
            format!("{} %", number_text(result.peak_compressive_strain_percent)),
            format!("{} µN", number_text(result.force_un)),
            result.peak_place.words.clone(),
        ]);
        remarks.extend(result.validity.iter().map(|remark| format!("{}: {remark}", name.label())));
    }
    let mut text = aligned(&rows, &[2, 3, 4]);
    text.push_str(&wrapped(&format!("governing: {}", assessment.governing.words), "  ", 110));
    for line in spatial_words(assessment).into_iter().chain(remarks) {
        text.push_str(&wrapped(&line, "  ", 110));
    }
    text
}

fn models(assessment: &Assessment) -> Vec<(ModelName, &ModelResult)> {
    let buckled = assessment.spatial.as_ref().and_then(|s| s.buckled.as_ref()).map(|b| &b.common);
    [
        (ModelName::Cell, Some(&assessment.cell)),
        (ModelName::Ribbon, assessment.ribbon.as_ref().map(|r| &r.common)),
        (ModelName::Spatial, buckled),
        (ModelName::Bonded, assessment.bonded.as_ref().map(|b| &b.common)),
    ]
    .into_iter()
    .filter_map(|(name, result)| Some((name, result?)))
    .collect()
}

/// When the ribbon leaves its plane, and how far.
fn spatial_words(assessment: &Assessment) -> Vec<String> {
    let Some(spatial) = &assessment.spatial else { return Vec::new() };
    let mut lines = vec![match spatial.onset_percent {
        Some(onset) => format!("leaves its plane at a stretch of {} %", number_text(onset)),
        None => {
            format!("stays in its plane up to a stretch of {} %", number_text(spatial.searched_to_percent))
        }
    }];
    if let Some(buckled) = &spatial.buckled {
        lines.push(format!(
            "rises {} µm above and {} µm below its plane",
            number_text(buckled.above_um),
            number_text(buckled.below_um)
        ));
        let [least, most] = buckled.peak_spread_percent;
        if !buckled.other_states.is_empty() {
            lines.push(format!(
                "{} other stable shapes were found at this stretch; peak strain over all of them {} to {} %",
                buckled.other_states.len(),
                number_text(least),
                number_text(most)
            ));
        }
    }
    lines.extend(spatial.trouble.clone());
    lines
}
