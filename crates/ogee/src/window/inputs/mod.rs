//! The inputs: shape, stack, light, trace, duty, making, life, islands, support and limits.

mod captions;
mod cards;
mod duty;
mod hand;
mod heights;
mod islands;
mod layer;
mod life;
mod light;
mod limits;
mod making;
mod material;
mod materials;
pub(super) mod section;
mod shape;
mod stack;
mod steps;
mod strength;
mod support;
mod trace;

use super::quantity_field::{NameFields, QuantityFields, RowLayout, remark};
use super::theme::Theme;
use crate::session::{Command, Edit, Session};
use cards::Card;
use egui::{Align, ComboBox, Layout, RichText, ScrollArea, Ui};
use hand::Hand;
use ogee_design::{Brittle, Design, Elastomer, GratingData, Islands, Life, Light, Process, WrapDuty};
use std::collections::HashSet;

/// Height of a row with a choice, points.
const ROW: f32 = 21.0;

/// The inputs.
#[derive(Debug)]
pub struct InputsPanel {
    numbers: QuantityFields,
    names: NameFields,
    /// Cards that are unfolded.
    open: HashSet<Card>,
    /// Parts of cards that are unfolded, by their titles.
    parts: HashSet<&'static str>,
    /// What holds a thickness in the drawing of the stack.
    hand: Hand,
    /// What is typed to find a material.
    search: String,
    search_is_new: bool,
    kept: Kept,
}

impl Default for InputsPanel {
    fn default() -> Self {
        Self {
            numbers: QuantityFields::default(),
            names: NameFields::default(),
            open: HashSet::from([Card::Duty, Card::Limits]),
            parts: HashSet::new(),
            hand: Hand::default(),
            search: String::new(),
            search_is_new: false,
            kept: Kept::default(),
        }
    }
}

/// What was switched off, as it was then.
#[derive(Debug, Default)]
struct Kept {
    light: Option<Light>,
    trace: Option<trace::Carried>,
    wrap: Option<WrapDuty>,
    process: Option<Process>,
    life: Option<Life>,
    islands: Option<Islands>,
    grating: Option<GratingData>,
    elastomer: Option<Elastomer>,
    brittle: Option<Brittle>,
}

impl InputsPanel {
    /// Shows them.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 8.0;
            // Told once: a card that grows too wide does not widen those below it.
            let width = ui.available_width();
            for card in Card::ALL {
                self.card(ui, session, theme, card, width, out);
            }
        });
    }

    /// Name and notes.
    fn about(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let design = session.design();
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = RowLayout::GAP;
            let label = RowLayout::in_width(ui.available_width()).words(ui, "Name", theme, None);
            let width = ui.available_width();
            if let Some(name) = self.names.field(ui, theme, width, "design name", &design.name, label.id) {
                out.push(change(session, "Rename design", |design| design.name = name));
            }
        });
        if design.invented {
            ui.label(RichText::new("The data of this design are invented").small().color(theme.warn));
        }
        if !design.notes.is_empty() {
            ui.label(RichText::new(&design.notes).small().color(theme.muted));
        }
    }

    /// Rows for numbers that are always there, each with a label of its own.
    fn rows(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        rows: &[(&str, &str)],
        out: &mut Vec<Command>,
    ) {
        let layout = RowLayout::in_width(ui.available_width());
        for (path, label) in rows {
            self.numbers.labelled_row(ui, session, theme, layout, path, label, None, out);
        }
    }

    /// A row for a number that may be absent: a checkbox switches it, `absent` says what holds without it.
    fn optional_row(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        optional: &Optional<'_>,
        out: &mut Vec<Command>,
    ) {
        let present = session.design().number(optional.path).is_some();
        let layout = RowLayout::in_width(ui.available_width());
        let Some(field) = ogee_design::field_at(optional.path) else { return };
        let mut on = present;
        ui.scope(|ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            if present {
                let (path, label) = (optional.path, optional.label);
                self.numbers.labelled_row(ui, session, theme, layout, path, label, Some(&mut on), out);
            } else {
                ui.horizontal(|ui| {
                    ui.set_min_height(ROW);
                    let label = RichText::new(optional.label).color(theme.muted);
                    ui.checkbox(&mut on, label).on_hover_text(field.help);
                    ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                        ui.label(RichText::new(optional.absent).small().color(theme.muted));
                    });
                });
                if let Some(fault) = session.fault_at(optional.path) {
                    remark(ui, theme, &fault.message);
                }
            }
        });
        if on != present {
            let label = format!("Switch {} {}", lower(optional.label), if on { "on" } else { "off" });
            let value = on.then_some(optional.value);
            out.push(change(session, label, |design| (optional.set)(design, value)));
        }
    }
}

/// A number that may be absent.
struct Optional<'a> {
    path: &'a str,
    label: &'a str,
    /// What holds without it.
    absent: &'a str,
    /// What it begins with.
    value: f64,
    set: &'a dyn Fn(&mut Design, Option<f64>),
}

/// A part of the design that is there or not, as a tick with words.
struct Switch<'a, T> {
    words: &'a str,
    /// What the edit is called, after "Switch" and before "on".
    name: &'a str,
    now: Option<T>,
    /// What it was when it was last switched off.
    kept: &'a mut Option<T>,
    /// What it begins with.
    fresh: &'a dyn Fn(&Design) -> T,
    set: &'a dyn Fn(&mut Design, Option<T>),
}

impl<T: Clone> Switch<'_, T> {
    /// Shows the tick. Returns whether the part is there.
    fn ui(self, ui: &mut Ui, session: &Session, out: &mut Vec<Command>) -> bool {
        let present = self.now.is_some();
        let mut on = present;
        ui.checkbox(&mut on, self.words);
        if on != present {
            let value = on.then(|| self.kept.take().unwrap_or_else(|| (self.fresh)(session.committed())));
            if !on {
                *self.kept = self.now;
            }
            let label = format!("Switch {} {}", self.name, if on { "on" } else { "off" });
            out.push(change(session, label, |design| (self.set)(design, value)));
        }
        present
    }
}

/// A row with a choice among `options`. Returns the one chosen, if it differs from `now`.
fn choice<T: Copy + PartialEq>(
    ui: &mut Ui,
    theme: &Theme,
    label: &str,
    now: T,
    options: impl IntoIterator<Item = T>,
    name: impl Fn(T) -> String,
) -> Option<T> {
    let layout = RowLayout::in_width(ui.available_width());
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = RowLayout::GAP;
        ui.set_min_height(ROW);
        let words = layout.words(ui, label, theme, None);
        // As wide as a field and its unit.
        let width = ui.available_width();
        let (chosen, response) = chooser(ui, label, width, now, options, name);
        response.labelled_by(words.id);
        chosen
    })
    .inner
}

/// A choice without a row. Returns the one chosen, if it differs from `now`, and the box itself.
fn chooser<T: Copy + PartialEq>(
    ui: &mut Ui,
    salt: impl std::hash::Hash + std::fmt::Debug,
    width: f32,
    now: T,
    options: impl IntoIterator<Item = T>,
    name: impl Fn(T) -> String,
) -> (Option<T>, egui::Response) {
    let mut chosen = now;
    let place = Layout::left_to_right(Align::Center);
    let response = ui
        .allocate_ui_with_layout(egui::vec2(width, ROW), place, |ui| {
            ui.set_max_width(width);
            ComboBox::from_id_salt(salt)
                .selected_text(name(now))
                .width(width)
                .truncate()
                .show_ui(ui, |ui| {
                    for option in options {
                        ui.selectable_value(&mut chosen, option, name(option));
                    }
                })
                .response
        })
        .inner;
    ((chosen != now).then_some(chosen), response)
}

/// Words above rows that belong together.
fn caption(ui: &mut Ui, theme: &Theme, words: &str) {
    ui.add_space(3.0);
    ui.label(RichText::new(words).small().color(theme.muted));
}

/// What is wrong at `path` itself, where it is no number's field.
fn fault_remark(ui: &mut Ui, session: &Session, theme: &Theme, path: &str) {
    if let Some(fault) = session.fault_at(path) {
        remark(ui, theme, &fault.message);
    }
}

/// An edit of the committed document.
fn change(session: &Session, label: impl Into<String>, edit: impl FnOnce(&mut Design)) -> Command {
    let mut design = Design::clone(session.committed());
    edit(&mut design);
    Command::Commit(Edit::Document { label: label.into(), design: Box::new(design) })
}

/// A label inside a sentence.
fn lower(label: &str) -> String {
    let mut text = label.to_owned();
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_lowercase();
    }
    text
}
