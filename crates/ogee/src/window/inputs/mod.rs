//! The inputs: shape, stack, light, duty, support and limits.

mod layer;
mod light;
mod limits;
pub(super) mod section;
mod shape;
mod stack;
mod support;

use super::quantity_field::{NameFields, QuantityFields, RowLayout, remark};
use super::theme::Theme;
use crate::session::{Command, Edit, Session};
use egui::{Align, ComboBox, Layout, RichText, ScrollArea, Ui};
use ogee_design::{Design, Elastomer, Light};

/// Height of a row with a choice, points.
const ROW: f32 = 21.0;

/// The inputs.
#[derive(Debug, Default)]
pub struct InputsPanel {
    numbers: QuantityFields,
    names: NameFields,
    /// The light as it was when it was switched off.
    light_kept: Option<Light>,
    /// The elastomer as it was when the ribbon was last bonded.
    elastomer_kept: Option<Elastomer>,
}

impl InputsPanel {
    /// Shows them.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 8.0;
            card(ui, theme, "Shape", |ui| self.shape(ui, session, theme, out));
            card(ui, theme, "Stack", |ui| self.stack(ui, session, theme, out));
            card(ui, theme, "Light", |ui| self.light(ui, session, theme, out));
            card(ui, theme, "Duty", |ui| self.duty(ui, session, theme, out));
            card(ui, theme, "Support", |ui| self.support(ui, session, theme, out));
            card(ui, theme, "Limits", |ui| self.limits(ui, session, theme, out));
            card(ui, theme, "Design", |ui| self.about(ui, session, theme, out));
        });
    }

    fn duty(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let layout = RowLayout::in_width(ui.available_width());
        self.numbers.row(ui, session, theme, layout, "duty.target_stretch_percent", out);
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

/// A card with a title.
fn card(ui: &mut Ui, theme: &Theme, title: &str, content: impl FnOnce(&mut Ui)) {
    theme.card().show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.spacing_mut().item_spacing.y = 4.0;
        ui.label(RichText::new(title).heading());
        ui.add_space(1.0);
        content(ui);
    });
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
    let mut chosen = now;
    let layout = RowLayout::in_width(ui.available_width());
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = RowLayout::GAP;
        ui.set_min_height(ROW);
        let words = layout.words(ui, label, theme, None);
        // As wide as a field and its unit.
        let response = ComboBox::from_id_salt(label)
            .selected_text(name(now))
            .width(ui.available_width())
            .truncate()
            .show_ui(ui, |ui| {
                for option in options {
                    ui.selectable_value(&mut chosen, option, name(option));
                }
            })
            .response;
        response.labelled_by(words.id);
    });
    (chosen != now).then_some(chosen)
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
