//! What to know when reading the numbers: where each model stops, and cautions.

use crate::checked::Checked;
use crate::document::EndsName;
use crate::evaluate::Evaluated;
use crate::light::MOST_DB;
use crate::result::{Note, Severity};
use crate::text::{digits, number};
use ogee_mechanics::{CellSolution, EndNote};

/// Width over bend radius above which curved-beam theory is no longer good to a few per cent.
const WIDE_BEND: f64 = 0.7;
/// Offset of the neutral axis, relative to the width, above which it matters.
const OFF_CENTRE: f64 = 0.01;
/// Strain above which few materials are still linear elastic, dimensionless.
const LARGE_STRAIN: f64 = 0.05;

/// All notes on a design.
///
/// * `peaks`: peak tension and compression of every judged layer, by the model that governs.
pub(crate) fn notes(
    checked: &Checked,
    evaluated: &Evaluated,
    cell: &CellSolution,
    peaks: &[(f64, f64)],
) -> Vec<Note> {
    let mut list = Vec::new();
    let mut add = |code: &str, severity: Severity, path: &str, message: String| {
        list.push(Note { code: code.to_owned(), severity, path: path.to_owned(), message });
    };
    let design = checked.design();
    let quarter = checked.quarter();
    let slack = quarter.slack();
    let share = cell.stretch / slack;

    if evaluated.deeper.is_none() {
        live_notes(checked, evaluated, &mut add);
    }
    if share > 1.0 {
        add(
            "past-straight",
            Severity::Caution,
            "duty.target_stretch_percent",
            format!(
                "The target of {} % lies beyond the {} % at which the ribbon is straight; the rest is elongation of the \
                 material itself.",
                number(design.duty.target_stretch_percent),
                number(100.0 * slack / checked.stretch_ratio())
            ),
        );
    }
    let ratio = checked.width_um() / quarter.least_radius_um();
    if ratio > WIDE_BEND {
        add(
            "wide-bend",
            Severity::Caution,
            "shape.width_um",
            format!(
                "The ribbon is {} times as wide as its bend's radius; above {} beam theory loses accuracy (some per \
                 cent).",
                digits(ratio, 2),
                number(WIDE_BEND)
            ),
        );
    }
    let off_centre = checked.section().neutral_axis_y_um() / checked.width_um();
    if off_centre.abs() > OFF_CENTRE || !checked.section().is_symmetric_in_plane() {
        add(
            "off-centre-section",
            Severity::Caution,
            "stack.layers",
            format!(
                "The section is not symmetric about the centreline (its neutral axis lies {} µm off); the bending that \
                 a pull causes by itself is left out.",
                number(checked.section().neutral_axis_y_um())
            ),
        );
    }
    let tension = evaluated.figures.strain.edge_tension;
    if tension > LARGE_STRAIN {
        add(
            "large-strain",
            Severity::Caution,
            "stretch.peak_tensile_strain_percent",
            format!(
                "Peak strain of {} %: the materials are taken as linear elastic, which few are beyond {} %.",
                number(100.0 * tension),
                number(100.0 * LARGE_STRAIN)
            ),
        );
    }
    light_notes(checked, evaluated, &mut add);
    for note in yield_notes(checked, peaks) {
        add(&note.code, note.severity, &note.path, note.message);
    }
    if design.invented {
        add(
            "invented",
            Severity::Info,
            "",
            "Dimensions and materials of this design are invented.".to_owned(),
        );
    }
    add(
        "estimates",
        Severity::Info,
        "",
        "Estimates do not replace tests. For devices on people, lasers and heated traces follow local codes and \
         licensed practice."
            .to_owned(),
    );
    list
}

/// What holds only for the periodic cell and its factor for the ends.
fn live_notes(checked: &Checked, evaluated: &Evaluated, add: &mut dyn FnMut(&str, Severity, &str, String)) {
    add(
        "planar-cell",
        Severity::Info,
        "stretch",
        "Strain is a live estimate: that of a periodic cell which stays in its plane, with a factor for the clamped \
         ends. The full tier solves the whole ribbon, out of its plane or on its elastomer."
            .to_owned(),
    );
    let (severity, code) = match evaluated.end.note {
        EndNote::ClampGoverns | EndNote::MidlineBendGoverns => (Severity::Warning, "clamp-governs"),
        EndNote::CrestIsCell | EndNote::MidlineRaises => (Severity::Info, "ends"),
        _ => (Severity::Caution, "clamped-ends"),
    };
    add(code, severity, "shape.ends", sentence(&evaluated.end.note.to_string()));
    if checked.design().shape.ends == EndsName::Midline {
        add(
            "end-bends",
            Severity::Info,
            "shape.ends",
            "The live tier does not compute the strain in the bends between leads and first arms; they are drawn with \
             their angle scaled."
                .to_owned(),
        );
    }
    let support = &checked.design().support;
    if support.sideways_um != 0.0 || support.turn_deg != 0.0 {
        add(
            "misaligned",
            Severity::Caution,
            "support.sideways_um",
            "The far island sits beside or turned against its drawn place; only the full tier counts that in.".to_owned(),
        );
    }
}

/// Layers, such as metals, that are strained beyond their yield strain; peak tension and compression by layer.
fn yield_notes(checked: &Checked, peaks: &[(f64, f64)]) -> Vec<Note> {
    let layers = &checked.design().stack.layers;
    let passes = layers.iter().filter_map(|layer| {
        let yield_strain = layer.yield_strain_percent? / 100.0;
        let i = checked.layers().iter().position(|l| l.name == layer.name)?;
        let (tension, compression) = *peaks.get(i)?;
        let peak = tension.max(compression);
        (peak > yield_strain).then(|| Note {
            code: "yields".to_owned(),
            severity: Severity::Warning,
            path: "stack.layers".to_owned(),
            message: format!(
                "{} is strained to {} %, beyond its yield strain of {} %: it does not spring back. The strain given is \
                 that of an elastic layer; plastic flow, hysteresis and what later cycles add are not computed.",
                layer.name,
                number(100.0 * peak),
                number(100.0 * yield_strain)
            ),
        })
    });
    passes.collect()
}

/// A clause as a sentence.
fn sentence(clause: &str) -> String {
    let mut chars = clause.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}

fn light_notes(checked: &Checked, evaluated: &Evaluated, add: &mut dyn FnMut(&str, Severity, &str, String)) {
    let Some(light) = checked.light() else { return };
    if evaluated.deeper.as_ref().is_some_and(|d| d.is_loss_corrected) {
        add(
            "corrected-light",
            Severity::Info,
            "light",
            "The number of modes is by the effective-index method. Bend loss in the plane is that of its slab, corrected by \
             full-vector modes at up to three radii: a few per cent between them, less sure outside them. Transitions and \
             bends out of the plane are the slab's."
                .to_owned(),
        );
    } else {
        add(
            "live-light",
            Severity::Info,
            "light",
            "Modes are those of the effective-index method and bends those of its slab: estimates, from half to twice the \
             bend loss of the true cross-section for buried cores, farther off where the bend loses little."
                .to_owned(),
        );
    }
    if let Some(why) = &evaluated.no_loss {
        add("no-live-loss", Severity::Warning, "light", format!("No loss is given: {why}."));
    }
    let losses = [("at rest", evaluated.loss_rest()), ("stretched", evaluated.loss_stretched())];
    for (when, loss) in losses.into_iter().filter_map(|(when, loss)| Some((when, loss?))) {
        if let Some(least) = loss.beyond_table_um {
            add(
                "bend-beyond-table",
                Severity::Warning,
                "light",
                format!(
                    "A bend of {} µm {when} is tighter than the {} µm to which bends of this core are known; the loss is \
                     more than the one given.",
                    number(1.0 / loss.worst_per_um),
                    number(least)
                ),
            );
        }
        if loss.total_db() >= MOST_DB {
            let message = format!("More than {} dB {when}: no light gets through.", number(MOST_DB));
            add("no-light-left", Severity::Warning, "light", message);
        }
    }
    if light.index.near_cutoff.is_some() {
        add(
            "near-cutoff",
            Severity::Caution,
            "light",
            "A mode is within 5 % of its cutoff, where the effective-index method cannot tell the number of modes."
                .to_owned(),
        );
    }
    if !light.index.single_mode {
        add(
            "several-modes",
            Severity::Caution,
            "light",
            format!(
                "The core guides {} modes; the loss is that of the fundamental one, and bends feed the others.",
                light.index.mode_count
            ),
        );
    }
    // Light reaches this far beside the core before it turns into radiation.
    let radius = checked.centreline().least_radius_um();
    let caustic = radius * (light.index.n_eff / light.index.highest_cladding_index() - 1.0);
    let room = checked.width_um() / 2.0 - light.core_offset_um.abs();
    if caustic > room {
        add(
            "finite-cladding",
            Severity::Info,
            "shape.width_um",
            format!(
                "In the tightest bend light leaves the mode {} µm beside the core, beyond the ribbon's edge at {} µm; \
                 the loss assumes a cladding that reaches there.",
                number(caustic),
                number(room)
            ),
        );
    }
    add(
        "adding-losses",
        Severity::Info,
        "light.rest.transition_db",
        "Losses at curvature jumps are added in dB; jumps that follow each other closely interfere, which is left out."
            .to_owned(),
    );
}
