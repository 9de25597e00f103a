//! Places on the ribbon in words and in numbers.

use crate::checked::Checked;
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

/// A place on the whole ribbon at the distance `s_um` from its start, at `offset_um` from the centreline (left
/// positive), in the layer of that name.
pub(crate) fn on_ribbon(checked: &Checked, s_um: f64, offset_um: Option<f64>, layer: &str) -> Place {
    let line = checked.centreline();
    let total_um = line.contour_length_um();
    let near_um = NEAR * checked.quarter().length_um();
    let opening_um = line.lead_um() + line.end_bend().map_or(0.0, |b| b.length_um);
    let from_end_um = s_um.min(total_um - s_um);
    let island = if s_um < 0.5 * total_um { "near island" } else { "far island" };
    let mut words = if from_end_um <= near_um {
        format!("at the {island}")
    } else if from_end_um < line.lead_um() {
        format!("lead at the {island}")
    } else if from_end_um < opening_um {
        format!("bend between lead and first arm, {island}")
    } else {
        within_the_meander(checked, s_um)
    };
    if let Some(offset) = offset_um.filter(|offset| *offset != 0.0) {
        // A point just inside, so that a jump at the place itself has a side.
        let inside_um = if s_um < 0.5 * total_um { s_um + 0.1 * near_um } else { s_um - 0.1 * near_um };
        let kappa = line.at(inside_um).kappa_per_um;
        words.push_str(match (kappa * offset, offset > 0.0) {
            (product, _) if product > 0.0 => ", inner edge",
            (product, _) if product < 0.0 => ", outer edge",
            (_, true) => ", left edge",
            (_, false) => ", right edge",
        });
    }
    if !layer.is_empty() {
        words.push_str(", ");
        words.push_str(layer);
    }
    Place { words, s_um: Some(s_um), offset_um }
}

/// Which bend a place of the meander is on, or between which two.
fn within_the_meander(checked: &Checked, s_um: f64) -> String {
    let line = checked.centreline();
    let length_um = checked.quarter().length_um();
    let skipped_um = line.end_bend().map_or(0.0, |b| b.joins_quarter_at_um);
    let opening_um = line.lead_um() + line.end_bend().map_or(0.0, |b| b.length_um);
    // Quarters from the last crossing before the ribbon's start on; a ribbon from the crest begins one quarter later.
    let first = if line.ends() == Ends::Crest { 1.0 } else { 0.0 };
    let quarters = (s_um - opening_um + skipped_um) / length_um + first;
    let bends = if line.ends() == Ends::Crest { 2 * line.periods() + 1 } else { 2 * line.periods() };
    let bend = ((quarters / 2.0).floor().max(0.0) as u32).min(bends - 1);
    let on_bend = quarters - 2.0 * f64::from(bend);
    let share = 1.0 - (on_bend - 1.0).abs();
    if share >= 1.0 - NEAR {
        return format!("crest of bend {} of {bends}", bend + 1);
    }
    if share > NEAR {
        let percent = (100.0 * share).round();
        return format!("bend {} of {bends}, {percent} % of the way from crossing to crest", bend + 1);
    }
    let before = if on_bend < 1.0 { bend } else { bend + 1 };
    if before == 0 || before == bends {
        format!("crossing at the end of bend {} of {bends}", bend + 1)
    } else {
        format!("crossing between bends {before} and {}", before + 1)
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{Design, EndsName};

    fn words(ends: EndsName, share: f64, offset_um: f64) -> String {
        let mut design = Design::sample();
        design.shape.ends = ends;
        let checked = design.check().unwrap();
        let s_um = share * checked.centreline().contour_length_um();
        on_ribbon(&checked, s_um, Some(offset_um), "core").words
    }

    #[test]
    fn places_of_the_whole_ribbon_have_names() {
        assert_eq!(words(EndsName::Midline, 0.0, -1.0), "at the near island, right edge, core");
        assert_eq!(words(EndsName::Midline, 0.5, 0.0), "crossing between bends 4 and 5, core");
        assert_eq!(words(EndsName::Crest, 0.5, -1.0), "crest of bend 5 of 9, inner edge, core");
        let checked = Design::sample().check().unwrap();
        let line = checked.centreline();
        let s_um = line.lead_um() + 0.5 * line.end_bend().unwrap().length_um;
        assert!(on_ribbon(&checked, s_um, None, "").words.starts_with("bend between lead"));
        let far = line.contour_length_um() - 0.9 * line.lead_um();
        assert_eq!(on_ribbon(&checked, far, None, "").words, "lead at the far island");
    }

    #[test]
    fn a_crest_is_where_the_centreline_is_highest() {
        let checked = Design::sample().check().unwrap();
        let line = checked.centreline();
        let bend = line.end_bend().unwrap();
        let crest_um =
            line.lead_um() + bend.length_um - bend.joins_quarter_at_um + checked.quarter().length_um();
        assert_eq!(on_ribbon(&checked, crest_um, None, "").words, "crest of bend 1 of 8");
        assert!((line.at(crest_um).y_um - checked.quarter().amplitude_um()).abs() < 1e-6);
    }
}
