//! How the margins of wrap, oven, life, islands and trace answer to changes of the design.

use super::{Pull, Strength};
use crate::assess::{Change, add_sensitivity, layer_peaks};
use crate::caches::Caches;
use crate::check::Checked;
use crate::document::Design;
use crate::evaluate::{bed_factor, end_at, layer_extremes, solve};
use crate::result::Margin;

/// Most layers whose thickness is tried.
const MOST_LAYERS: usize = 8;

/// Adds to `list` what each margin of strength becomes when a field of the shape, or a layer's thickness, changes by a tenth.
///
/// Both sides of the comparison rest on the live strain, so that what is told is the change alone.
///
/// * `list`: the margins of [`Strength::margins`]. `changes`: the changed shapes of the live assessment.
pub(crate) fn add_answers(checked: &Checked, list: &mut [Margin], changes: &[Change], caches: &mut Caches) {
    if list.is_empty() {
        return;
    }
    let Ok(before) = live_margins(checked, caches) else { return };
    let thicknesses = thickness_changes(checked);
    for change in changes.iter().chain(&thicknesses) {
        let after = change.checked.as_ref().and_then(|c| live_margins(c, caches).ok()).unwrap_or_default();
        let mut answered = before.clone();
        add_sensitivity(&mut answered, change, &after);
        for (margin, answer) in list.iter_mut().zip(answered) {
            margin.sensitivities.extend(answer.sensitivities.into_iter().next_back());
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

/// Each layer a tenth thinner and thicker.
fn thickness_changes(checked: &Checked) -> Vec<Change> {
    let mut changes = Vec::new();
    for (i, layer) in checked.design().stack.layers.iter().enumerate().take(MOST_LAYERS) {
        for percent in [-10.0, 10.0] {
            let mut changed = Design::clone(checked.design());
            changed.stack.layers[i].thickness_um *= 1.0 + percent / 100.0;
            changes.push(Change {
                path: format!("stack.layers[{i}].thickness_um"),
                label: format!("Thickness of {}", layer.name),
                percent,
                checked: changed.check().ok(),
            });
        }
    }
    changes
}
