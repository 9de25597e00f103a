//! Places on the ribbon in words and in numbers.

use crate::check::Checked;
use crate::result::Place;
use ogee_geometry::Ends;

/// Share of the quarter within which a place counts as its end.
const NEAR: f64 = 0.02;

/// A place on the quarter between crossing and crest, at `offset_um` (left positive on the way to an upper crest),
/// in the layer of that name.
pub(crate) fn on_quarter(checked: &Checked, s_um: f64, offset_um: Option<f64>, layer: &str) -> Place {
    let length = checked.quarter().length_um();
    let mut words = if s_um >= (1.0 - NEAR) * length {
        "crests".to_owned()
    } else if s_um <= NEAR * length {
        "crossings".to_owned()
    } else {
        let share = (100.0 * s_um / length).round();
        format!("{share} % of the way from crossing to crest")
    };
    if let Some(offset) = offset_um {
        words.push_str(if offset < 0.0 { ", inner edge" } else { ", outer edge" });
    }
    if !layer.is_empty() {
        words.push_str(", ");
        words.push_str(layer);
    }
    let s_um = ribbon_distance_um(checked, s_um);
    Place { words, s_um: Some(s_um), offset_um }
}

/// The bend between the lead and the first arm.
pub(crate) fn end_bend(checked: &Checked) -> Place {
    let line = checked.centreline();
    let s_um = line.lead_um() + line.end_bend().map_or(0.0, |b| b.length_um / 2.0);
    Place { words: "bend at the lead".to_owned(), s_um: Some(s_um), offset_um: None }
}

/// Distance from the ribbon's start of the first place at `s_um` from a crossing.
fn ribbon_distance_um(checked: &Checked, s_um: f64) -> f64 {
    let line = checked.centreline();
    let length = checked.quarter().length_um();
    match (line.ends(), line.end_bend()) {
        (Ends::Crest, _) => line.lead_um() + length - s_um,
        (Ends::Midline, Some(bend)) => {
            let origin = line.lead_um() + bend.length_um - bend.joins_quarter_at_um;
            if s_um >= bend.joins_quarter_at_um {
                origin + s_um
            } else {
                // The first quarter lacks this place; the next one, down from the crest, has it.
                origin + 2.0 * length - s_um
            }
        }
        _ => line.lead_um() + s_um,
    }
}
