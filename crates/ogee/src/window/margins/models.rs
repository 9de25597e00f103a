//! Which model the strain rests on, and all of them side by side.

use crate::session::{FullState, Session};
use crate::window::theme::Theme;
use egui::{Align, CollapsingHeader, Grid, Layout, RichText, Ui};
use ogee_design::{Assessment, BuckledResult, Margin, ModelName, ModelResult, Tier, digits_text};

/// Size of the words, points.
const SMALL: f32 = 11.0;

/// One quiet line: the governing model, or how far the full ones are.
pub(super) fn governing(ui: &mut Ui, session: &Session, found: &Assessment, theme: &Theme) {
    let (words, ink, more) = words(session, found, theme);
    let label = egui::Label::new(RichText::new(words).size(SMALL).color(ink)).wrap();
    // Room for two lines always: what stands below must not move when the words change.
    let response = ui
        .scope(|ui| {
            ui.set_min_height(2.0 * (SMALL + 4.0));
            ui.add(label)
        })
        .inner;
    if !more.is_empty() {
        response.on_hover_text(more);
    }
}

fn words(session: &Session, found: &Assessment, theme: &Theme) -> (String, egui::Color32, String) {
    let muted = theme.muted;
    match session.full_state() {
        FullState::Computing => ("live estimate, full models running…".to_owned(), muted, String::new()),
        FullState::Failed(reason) => (format!("live estimate; full models: {reason}"), theme.warn, reason),
        FullState::Stale if found.tier == Tier::Live => ("live estimate".to_owned(), muted, String::new()),
        FullState::Stale | FullState::Fresh => {
            let governing = &found.governing;
            let onset = match found.spatial.as_ref().map(|spatial| spatial.onset_percent) {
                Some(Some(onset)) => format!("; leaves the plane at {}\u{a0}%", digits_text(onset, 2)),
                Some(None) => "; stays in the plane".to_owned(),
                None => String::new(),
            };
            let mut more = governing.words.clone();
            if let Some(difference) = governing.live_difference_percent {
                let sign = if difference < 0.0 { "−" } else { "+" };
                more = format!(
                    "{more}\nPeak strain {sign}{} % against the live estimate",
                    digits_text(difference.abs(), 2)
                );
            }
            (format!("Strain by: {}{onset}", governing.model.label()), muted, more)
        }
    }
}

/// What the models say, side by side.
pub(super) fn side_by_side(ui: &mut Ui, found: &Assessment, theme: &Theme) {
    let models = models(found);
    if models.len() < 2 {
        return;
    }
    ui.add_space(6.0);
    let title = RichText::new("Models side by side").font(Theme::bold(12.0));
    CollapsingHeader::new(title).id_salt("models").default_open(true).show(ui, |ui| {
        Grid::new("models of the ribbon").num_columns(3).spacing([10.0, 2.0]).show(ui, |ui| {
            for head in ["", "peak strain", "force"] {
                number(ui, head.to_owned(), theme.muted);
            }
            ui.end_row();
            for (name, result) in &models {
                let is_governing = found.governing.model == *name;
                let mark = if is_governing { "▸ " } else { "   " };
                let ink = if is_governing { theme.accent } else { theme.text };
                let label = ui.label(RichText::new(format!("{mark}{}", name.label())).size(SMALL).color(ink));
                let mut more = format!("{}\nPeak at {}", result.model, result.peak_place.words);
                if is_governing {
                    more.push_str("\nThe margins of strain rest on this model");
                }
                label.on_hover_text(more);
                let doubt = if result.is_valid { "" } else { " ?" };
                let strain = format!("{} %{doubt}", digits_text(result.peak_tensile_strain_percent, 3));
                number(ui, strain, ink);
                number(ui, format!("{} µN", digits_text(result.force_un, 3)), theme.text);
                ui.end_row();
            }
        });
        if let Some(place) = models.iter().find(|m| m.0 == found.governing.model) {
            quiet(ui, &format!("peak at {}", place.1.peak_place.words), theme);
        }
        if let Some(buckled) = found.spatial.as_ref().and_then(|spatial| spatial.buckled.as_ref()) {
            out_of_plane(ui, buckled, theme);
        }
        if let Some(trouble) = found.spatial.as_ref().and_then(|spatial| spatial.trouble.as_ref()) {
            ui.label(RichText::new(trouble).size(SMALL).color(theme.warn));
        }
        if let Some(bonded) = &found.bonded {
            quiet(
                ui,
                &format!(
                    "without elastomer {} %, following it entirely {} %, stiffness ratio {}",
                    digits_text(bonded.freestanding_percent, 3),
                    digits_text(bonded.following_percent, 3),
                    digits_text(bonded.stiffness_ratio, 2)
                ),
                theme,
            );
        }
        for (name, result) in models.iter().filter(|m| m.0 == found.governing.model) {
            for note in &result.validity {
                quiet(ui, &format!("{}: {note}", name.label()), theme);
            }
        }
    });
}

/// What only the buckled ribbon has.
fn out_of_plane(ui: &mut Ui, buckled: &BuckledResult, theme: &Theme) {
    quiet(
        ui,
        &format!(
            "{} µm above the plane, {} µm below; upper bound of the peak {} %",
            digits_text(buckled.above_um, 3),
            digits_text(buckled.below_um, 3),
            digits_text(buckled.upper_bound_percent, 3)
        ),
        theme,
    );
    if buckled.other_states.is_empty() {
        quiet(ui, &format!("one stable state found, {}", buckled.symmetry), theme);
        return;
    }
    let [least, most] = buckled.peak_spread_percent;
    let count = buckled.other_states.len();
    let noun = if count == 1 { "other stable state" } else { "other stable states" };
    let words =
        format!("{count} {noun}: peak between {} and {} %", digits_text(least, 3), digits_text(most, 3));
    let response = ui.label(RichText::new(words).size(SMALL).color(theme.muted));
    let lines: Vec<String> = buckled
        .other_states
        .iter()
        .map(|state| {
            format!(
                "{}: {} × the energy, peak {} %",
                state.symmetry,
                digits_text(state.energy_ratio, 3),
                digits_text(state.peak_tensile_strain_percent, 3)
            )
        })
        .collect();
    response.on_hover_text(lines.join("\n"));
    if !buckled.is_lowest {
        let words = "the state shown is not the one of least energy";
        ui.label(RichText::new(words).size(SMALL).color(theme.warn));
    }
}

/// The models that have an answer, the simplest first.
pub(super) fn models(found: &Assessment) -> Vec<(ModelName, &ModelResult)> {
    let mut models = vec![(ModelName::Cell, &found.cell)];
    models.extend(found.ribbon.as_ref().map(|ribbon| (ModelName::Ribbon, &ribbon.common)));
    let buckled = found.spatial.as_ref().and_then(|spatial| spatial.buckled.as_ref());
    models.extend(buckled.map(|buckled| (ModelName::Spatial, &buckled.common)));
    models.extend(found.bonded.as_ref().map(|bonded| (ModelName::Bonded, &bonded.common)));
    models
}

/// Where the model of a margin stops holding: for margins of strain and stretch that is the governing model's.
pub(super) fn validity<'a>(found: &'a Assessment, margin: &Margin) -> &'a [String] {
    let is_mechanical = margin.unit == "%" && margin.place.s_um.is_some();
    let governing = models(found).into_iter().find(|m| m.0 == found.governing.model);
    governing.filter(|_| is_mechanical).map_or(&[], |m| m.1.validity.as_slice())
}

fn number(ui: &mut Ui, text: String, ink: egui::Color32) {
    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
        ui.label(RichText::new(text).size(SMALL).color(ink));
    });
}

fn quiet(ui: &mut Ui, words: &str, theme: &Theme) {
    ui.label(RichText::new(words).size(SMALL).color(theme.muted));
}
