//! How the margins of wrap, oven, life, islands and trace answer to changes of the design.

use super::{Pull, Strength};
use crate::assess::{CHANGE_PERCENT, Change, add_sensitivity, layer_peaks};
use crate::caches::Caches;
use crate::checked::Checked;
use crate::document::Design;
use crate::evaluate::{bed_factor, end_at, layer_extremes, solve};
use crate::fields::field_at;
use crate::result::Margin;

/// Most layers whose thickness is tried.
const MOST_LAYERS: usize = 8;

/// Adds to `list` what each margin of strength becomes when a field changes by a tenth.
///
/// Both sides of the comparison rest on the live strain, so that what is told is the change alone.
///
/// * `list`: the margins of [`Strength::margins`]. `changes`: the changed shapes of the live assessment.
pub(crate) fn add_answers(checked: &Checked, list: &mut [Margin], changes: &[Change], caches: &mut Caches) {
    if list.is_empty() {
        return;
    }
    let Ok(before) = live_margins(checked, caches) else { return };
    let others = other_changes(checked);
    for change in changes.iter().chain(&others) {
        let after = change.checked.as_ref().and_then(|c| live_margins(c, caches).ok()).unwrap_or_default();
        let mut answered = before.clone();
        add_sensitivity(&mut answered, change, &after);
        for margin in list.iter_mut() {
            // What only one of the tiers could judge has no answer.
            if let Some(answer) = answered.iter_mut().find(|a| a.id == margin.id) {
                margin.sensitivities.extend(answer.sensitivities.pop());
            }
        }
    }
}

/// The margins of strength by the live strain.
fn live_margins(checked: &Checked, caches: &mut Caches) -> Result<Vec<Margin>, String> {
    let target = checked.target_stretch();
    let cell = solve(checked, target, caches)?;
    let factor = end_at(checked, target).factor * bed_factor(checked, caches);
    let peaks = layer_peaks(&layer_extremes(checked, &cell)?, factor);
    let ranges: Vec<[f64; 2]> = peaks.iter().map(|(tension, compression)| [*tension, -compression]).collect();
    Ok(Strength::of(checked, &ranges, &mut Pull::Live(caches)).margins(checked))
}

/// Fields other than the shape's that these margins answer to.
const LEVERS: [&str; 7] = [
    "duty.wrap.radius_um",
    "islands.length_um",
    "islands.pitch_um",
    "islands.thickness_um",
    "islands.sheet_thickness_um",
    "trace.current_ma",
    "process.handle.thickness_um",
];

/// Each of those fields, the width of the trace and the thickness of each layer a tenth down and up.
fn other_changes(checked: &Checked) -> Vec<Change> {
    let design = checked.design();
    let layers = design.stack.layers.iter().enumerate().take(MOST_LAYERS);
    let mut paths: Vec<(String, String)> = layers
        .map(|(i, layer)| (format!("stack.layers[{i}].thickness_um"), format!("Thickness of {}", layer.name)))
        .collect();
    let traced =
        design.trace.as_ref().and_then(|t| design.stack.layers.iter().position(|l| l.name == t.layer));
    if let Some(i) = traced {
        paths.push((
            format!("stack.layers[{i}].width_um"),
            format!("Width of {}", design.stack.layers[i].name),
        ));
    }
    for path in LEVERS {
        if let Some(field) = field_at(path) {
            paths.push((path.to_owned(), field.label.to_owned()));
        }
    }
    let mut changes = Vec::new();
    for (path, label) in paths {
        let Some(value) = design.number(&path) else { continue };
        for percent in [-CHANGE_PERCENT, CHANGE_PERCENT] {
            let mut changed = Design::clone(design);
            changed.set_number(&path, value * (1.0 + percent / 100.0));
            let (path, label, checked) = (path.clone(), label.clone(), changed.check().ok());
            changes.push(Change { path, label, percent, checked });
        }
    }
    changes
}
