//! The margins: the smallest as a headline, one line for each check, what would help, and what to know.

mod groups;
mod line;
mod models;

pub(super) use line::times;

use super::quantity_field::remark;
use super::theme::Theme;
use crate::session::{Command, Edit, FullState, Pointed, Session};
use egui::{Align, CollapsingHeader, Layout, RichText, ScrollArea, Ui};
use ogee_design::{Assessment, Margin, Severity, Tier, digits_text, field_at, number_text};
use std::time::{Duration, Instant};

/// Numbers that are behind for less than this are not marked: a drag would make them flicker.
const LATE: Duration = Duration::from_millis(250);

/// How long the lines keep their places while the full models run.
const PATIENCE: Duration = Duration::from_millis(1500);

/// How many changes are offered.
const MOST_HELP: usize = 4;

/// What always stands at the foot of the margins.
pub(super) const CAUTION: &str = "Estimates do not replace tests. For devices on people, lasers and heated traces \
    follow local codes and licensed practice.";

/// The margins.
#[derive(Debug, Default)]
pub struct MarginsPanel {
    /// `id` of the line that is open.
    open: Option<String>,
    /// A line of this panel points at a place.
    pointing: bool,
    /// The order of the lines, by `id`.
    order: Vec<String>,
}

impl MarginsPanel {
    /// Shows them.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        egui::Panel::bottom("caution")
            .frame(egui::Frame::new())
            .resizable(false)
            .show_separator_line(false)
            .show(ui, |ui| {
                ui.add_space(4.0);
                ui.label(RichText::new(CAUTION).small().color(theme.muted));
            });
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 3.0;
            ui.label(RichText::new("Margins").heading());
            faults(ui, session, theme, out);
            if let Some(trouble) = session.trouble() {
                ui.label(RichText::new("No assessment of this design").strong().color(theme.bad));
                remark(ui, theme, trouble);
            }
            if let Some(found) = session.assessment() {
                let late = session.stale_for(Instant::now());
                let stale = late > LATE;
                if session.assessment_is_stale() && !stale {
                    ui.ctx().request_repaint_after(LATE.saturating_sub(late));
                }
                if stale {
                    ui.multiply_opacity(0.55);
                }
                headline(ui, found, theme, stale, session.faults().is_empty());
                models::governing(ui, session, found, theme);
                self.lines(ui, session, found, theme, out);
                models::side_by_side(ui, found, theme);
                help(ui, found, theme);
                notes(ui, found, theme);
            }
        });
    }

    fn lines(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        found: &Assessment,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let mut pointed = None;
        self.sort(session, found);
        let order: Vec<&Margin> =
            self.order.iter().filter_map(|id| found.margins.iter().find(|m| m.id == *id)).collect();
        let grouped = groups::grouped(&order);
        for margin in grouped.first {
            one(ui, found, margin, theme, &mut self.open, &mut pointed);
        }
        for (family, margins) in grouped.rest {
            let title = RichText::new(group_title(family, &margins)).size(11.5).color(theme.muted);
            ui.add_space(2.0);
            CollapsingHeader::new(title).id_salt(family).show_unindented(ui, |ui| {
                for margin in margins {
                    one(ui, found, margin, theme, &mut self.open, &mut pointed);
                }
            });
        }
        match (&pointed, self.pointing) {
            (Some(place), _) if session.pointed() != Some(place) => out.push(Command::Point(pointed.clone())),
            (None, true) => out.push(Command::Point(None)),
            _ => {}
        }
        self.pointing = pointed.is_some();
    }
}

impl MarginsPanel {
    /// The smallest first; but while the full models run the lines stay in place, so that they do not jump twice.
    fn sort(&mut self, session: &Session, found: &Assessment) {
        let is_same = self.order.len() == found.margins.len()
            && found.margins.iter().all(|m| self.order.contains(&m.id));
        let is_passing = session.full_state() == FullState::Computing
            && found.tier == Tier::Live
            && session.full_is_late_by(Instant::now()) < PATIENCE;
        if !(is_same && is_passing) {
            self.order = found.margins.iter().map(|m| m.id.clone()).collect();
        }
    }
}

/// One line, and what stands below it while it is open.
fn one(
    ui: &mut Ui,
    found: &Assessment,
    margin: &Margin,
    theme: &Theme,
    open_id: &mut Option<String>,
    pointed: &mut Option<Pointed>,
) {
    let open = open_id.as_deref() == Some(margin.id.as_str());
    let response = line::line(ui, margin, theme, open);
    if response.clicked() {
        *open_id = (!open).then(|| margin.id.clone());
    }
    if response.hovered() || response.has_focus() {
        *pointed = line::place(margin);
    }
    if open {
        line::details(ui, margin, models::validity(found, margin), theme);
    }
}

/// `Light: 4 more, at least 1.8×`
fn group_title(family: groups::Family, margins: &[&Margin]) -> String {
    let count = margins.len();
    let least = margins.iter().filter_map(|m| m.margin).reduce(f64::min);
    let least = least
        .map_or_else(String::new, |m| format!(", {}{}×", if count > 1 { "at least " } else { "" }, times(m)));
    format!("{}: {count} more{least}", family.label())
}

/// What is wrong with the design, each with the nearest possible value to take instead.
fn faults(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    let faults = session.faults();
    if faults.is_empty() {
        return;
    }
    let count = if faults.len() == 1 { "1 fault".to_owned() } else { format!("{} faults", faults.len()) };
    ui.label(RichText::new(format!("{count} in this design")).strong().color(theme.bad));
    for fault in faults {
        let field = field_at(&fault.path);
        let name = field.map_or(fault.path.as_str(), |field| field.label);
        let words =
            if name.is_empty() { fault.message.clone() } else { format!("{name}: {}", fault.message) };
        remark(ui, theme, &words);
        if let (Some(nearest), Some(field)) = (fault.nearest, field) {
            let text = format!("Use {} {}", number_text(nearest), field.unit);
            if ui.link(text.trim_end()).clicked() {
                let label = super::quantity_field::change_label(field);
                out.push(Command::Commit(Edit::number(label, &fault.path, nearest)));
            }
        }
    }
    if session.checked().is_some() {
        let words = "The drawing and the numbers below are of the last design without faults";
        ui.label(RichText::new(words).small().color(theme.muted));
    }
    ui.add_space(4.0);
}

/// The smallest margin, large.
fn headline(ui: &mut Ui, found: &Assessment, theme: &Theme, stale: bool, good: bool) {
    let smallest = smallest(found);
    ui.horizontal(|ui| {
        let Some(margin) = smallest else {
            ui.label(RichText::new("No margin can be given").color(theme.muted));
            return;
        };
        let number = margin.margin.map_or_else(|| "none".to_owned(), times);
        let text = RichText::new(number).text_style(Theme::headline()).color(theme.verdict(margin.passes));
        let response = ui.label(text);
        response.on_hover_text("What is allowed over what is there; 1 and more passes");
        ui.vertical(|ui| {
            ui.spacing_mut().item_spacing.y = 1.0;
            ui.add_space(7.0);
            let verdict = match (good, stale, found.passes) {
                (false, ..) => "smallest margin of the last good design",
                (true, true, _) => "smallest margin, being worked out anew",
                (true, false, true) => "smallest margin: all pass",
                (true, false, false) => "smallest margin: fails",
            };
            ui.label(RichText::new(verdict).small().color(theme.muted));
            ui.label(&margin.name);
        });
    });
    ui.add_space(4.0);
}

fn smallest(found: &Assessment) -> Option<&Margin> {
    let id = found.smallest_margin.as_ref()?;
    found.margins.iter().find(|margin| margin.id == *id)
}

/// The changes that would raise the smallest margin most.
fn help(ui: &mut Ui, found: &Assessment, theme: &Theme) {
    let Some(margin) = smallest(found) else { return };
    let mut helpful: Vec<_> = margin
        .sensitivities
        .iter()
        .filter_map(|s| Some((s, s.margin_change_percent.filter(|c| *c > 0.05)?)))
        .collect();
    helpful.sort_by(|a, b| b.1.total_cmp(&a.1));
    ui.add_space(6.0);
    ui.label(RichText::new("What would help the smallest margin").font(Theme::bold(12.0)));
    if helpful.is_empty() {
        ui.label(RichText::new("No change of one number by a tenth would raise it").color(theme.muted));
    }
    for (sensitivity, gain) in helpful.into_iter().take(MOST_HELP) {
        ui.horizontal(|ui| {
            ui.spacing_mut().interact_size.y = 15.0;
            ui.label(RichText::new(line::change(sensitivity)).color(theme.muted));
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                ui.label(RichText::new(format!("+{} %", digits_text(gain, 2))).color(theme.accent));
            });
        });
    }
}

/// What to know when reading the numbers, the most serious first.
fn notes(ui: &mut Ui, found: &Assessment, theme: &Theme) {
    // The caution stands at the foot of the panel already.
    let mut notes: Vec<_> = found.notes.iter().filter(|note| note.message.trim() != CAUTION).collect();
    notes.sort_by_key(|note| std::cmp::Reverse(note.severity));
    if notes.is_empty() {
        return;
    }
    ui.add_space(6.0);
    ui.label(RichText::new("Notes").font(Theme::bold(12.0)));
    for note in notes {
        let (word, ink) = match note.severity {
            Severity::Warning => ("Warning", theme.bad),
            Severity::Caution => ("Caution", theme.warn),
            Severity::Info => ("Note", theme.muted),
        };
        let mut text = egui::text::LayoutJob::default();
        let font = egui::FontId::proportional(11.0);
        text.append(&format!("{word}: "), 0.0, egui::TextFormat::simple(font.clone(), ink));
        text.append(&note.message, 0.0, egui::TextFormat::simple(font, theme.text));
        text.wrap.max_width = ui.available_width();
        ui.label(text);
    }
}
