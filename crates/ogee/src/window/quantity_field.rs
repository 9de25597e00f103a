//! Fields in which one types a number with its unit.
//!
//! What is typed changes nothing until Enter, Tab or a click elsewhere; Escape gives it up; the arrow keys step.
//! A text that cannot be read stays where it is, marked and with its reason, and the design keeps its value. While
//! a field has the focus it shows the exact number, so that looking at a value never rounds it.

use super::theme::Theme;
use crate::session::{Command, Edit, Session};
use egui::{Align, Align2, Id, Key, Margin, Modifiers, Response, RichText, Stroke, TextEdit, Ui, Vec2, vec2};
use ogee_design::{Field, Unit, digits_text, field_at, format_quantity_exact, number_text, parse_quantity};
use std::collections::HashMap;

/// Height of a row, points.
const ROW: f32 = 21.0;
/// Most letters of a unit in the usual size.
const SHORT_UNIT: usize = 6;

/// The field that has the focus.
#[derive(Debug)]
struct Editing {
    path: String,
    text: String,
    /// Text when the focus came: leaving it as it is changes nothing.
    start: String,
    /// The arrow keys have stepped: a gesture goes on.
    stepped: bool,
}

/// A text that could not be read.
#[derive(Debug)]
struct Refused {
    text: String,
    reason: String,
    /// The value at that time: the text goes once the value changes by other means.
    value: Option<f64>,
}

/// The state of all the fields of a panel.
#[derive(Debug, Default)]
pub struct QuantityFields {
    editing: Option<Editing>,
    refused: HashMap<String, Refused>,
}

/// How a row is laid out.
#[derive(Clone, Copy, Debug)]
pub struct RowLayout {
    /// Width of the label, points.
    pub label: f32,
    /// Width of the field, points.
    pub field: f32,
}

impl RowLayout {
    /// Gap between label, field and unit, points.
    pub const GAP: f32 = 6.0;
    /// Width of the unit, points.
    const UNIT: f32 = 38.0;

    /// Fills `width`: label, field and unit.
    pub fn in_width(width: f32) -> Self {
        // The label keeps its room longest.
        let field = (86.0 + 0.82 * (width - 240.0)).clamp(56.0, 110.0);
        Self { label: (width - field - Self::UNIT - 2.0 * Self::GAP).max(40.0), field }
    }

    /// The label in its place; a tick in front of it switches what it names.
    pub(super) fn words(self, ui: &mut Ui, label: &str, theme: &Theme, tick: Option<&mut bool>) -> Response {
        let place = egui::Layout::left_to_right(Align::Center);
        ui.allocate_ui_with_layout(vec2(self.label, ROW), place, |ui| {
            ui.set_min_width(self.label);
            if let Some(on) = tick {
                ui.spacing_mut().interact_size.x = 0.0;
                ui.spacing_mut().item_spacing.x = 4.0;
                let response = ui.checkbox(on, ());
                ui.accesskit_node_builder(response.id, |node| node.set_label(format!("Use {label}")));
            }
            ui.add(egui::Label::new(RichText::new(label).color(theme.muted)).truncate())
        })
        .inner
    }
}

impl QuantityFields {
    /// A row for the number at `path`, labelled as in the list of fields. Returns nothing where there is no such
    /// number.
    pub fn row(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        layout: RowLayout,
        path: &str,
        out: &mut Vec<Command>,
    ) -> Option<Response> {
        let field = field_at(path)?;
        self.labelled_row(ui, session, theme, layout, path, field.label, None, out)
    }

    /// A row with a label of its own, and a tick that switches it.
    #[expect(
        clippy::too_many_arguments,
        reason = "a row needs what a panel is given, and its own place and name"
    )]
    pub fn labelled_row(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        layout: RowLayout,
        path: &str,
        label: &str,
        tick: Option<&mut bool>,
        out: &mut Vec<Command>,
    ) -> Option<Response> {
        let field = field_at(path)?;
        let value = session.design().number(path)?;
        let response = ui
            .horizontal(|ui| {
                ui.spacing_mut().item_spacing.x = RowLayout::GAP;
                ui.set_min_height(ROW);
                let label = layout.words(ui, label, theme, tick).on_hover_text(help(field));
                let unit = RichText::new(field.unit).color(theme.muted);
                let unit = if field.unit.chars().count() > SHORT_UNIT { unit.small() } else { unit };
                // A long unit takes its room from the field.
                let over = unit_width(ui, field.unit) - RowLayout::UNIT;
                let width = layout.field - over.max(0.0);
                let response = self.field(ui, session, theme, width, path, field, value, Some(label.id), out);
                ui.label(unit);
                response
            })
            .inner;
        self.remarks(ui, session, theme, path, field, out);
        Some(response)
    }

    /// A field alone, as in a table, which screen readers call `name`. Returns nothing where there is no such number;
    /// [`remarks_at`](Self::remarks_at) says what is wrong with it.
    #[expect(
        clippy::too_many_arguments,
        reason = "a field needs what a panel is given, its place and its name"
    )]
    pub fn cell(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        width: f32,
        path: &str,
        name: &str,
        out: &mut Vec<Command>,
    ) -> Option<Response> {
        let field = field_at(path)?;
        let value = session.design().number(path)?;
        let response = self.field(ui, session, theme, width, path, field, value, None, out);
        ui.accesskit_node_builder(response.id, |node| node.set_label(name));
        Some(response)
    }

    /// What is wrong with the number of a [`cell`](Self::cell).
    pub fn remarks_at(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        path: &str,
        out: &mut Vec<Command>,
    ) {
        if let Some(field) = field_at(path) {
            self.remarks(ui, session, theme, path, field, out);
        }
    }

    /// Whether a field of this panel has the focus.
    pub fn is_editing(&self) -> bool {
        self.editing.is_some()
    }

    #[expect(clippy::too_many_arguments, reason = "the inside of a row")]
    fn field(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        width: f32,
        path: &str,
        field: &Field,
        value: f64,
        label: Option<Id>,
        out: &mut Vec<Command>,
    ) -> Response {
        if self.refused.get(path).is_some_and(|refused| refused.value != Some(value)) {
            self.refused.remove(path);
        }
        let id = ui.make_persistent_id(("quantity", path));
        let focused = ui.memory(|memory| memory.has_focus(id));
        if focused && self.editing.as_ref().is_some_and(|editing| editing.path == path) {
            self.step(ui, path, field, value, out);
        }
        let mut text = match (&self.editing, self.refused.get(path)) {
            (Some(editing), _) if editing.path == path => editing.text.clone(),
            (_, Some(refused)) => refused.text.clone(),
            // Six digits while the field has no focus.
            _ => digits_text(value, 6),
        };
        let marked = self.refused.contains_key(path) || session.fault_at(path).is_some();
        let border = if marked {
            theme.bad
        } else if focused {
            theme.accent
        } else {
            theme.line
        };
        let ground = if marked { theme.bad_soft } else { theme.field };
        let frame = egui::Frame::new()
            .fill(ground)
            .stroke(Stroke::new(1.0, border))
            .corner_radius(4)
            .inner_margin(Margin::symmetric(6, 2));
        let response = ui.add(
            TextEdit::singleline(&mut text)
                .id(id)
                .frame(frame)
                .align(Align2([Align::Max, Align::Center]))
                .min_size(Vec2::new(width, ROW - 1.0))
                .desired_width(width - 12.0)
                .text_color(theme.text),
        );
        let response = if let Some(label) = label { response.labelled_by(label) } else { response };
        // Where it stands in the file, for those who drive the window from outside.
        ui.accesskit_node_builder(response.id, |node| node.set_author_id(path));
        if response.gained_focus() {
            let exact = format_quantity_exact(value, Unit::NONE);
            let text = self.refused.get(path).map_or_else(|| exact.clone(), |refused| refused.text.clone());
            select_all(ui, id, &text);
            self.editing = Some(Editing { path: path.to_owned(), start: exact, text, stepped: false });
        } else if let Some(editing) = self.editing.as_mut().filter(|editing| editing.path == path) {
            editing.text = text;
        }
        if response.lost_focus()
            && let Some(editing) = self.editing.take_if(|editing| editing.path == path)
        {
            if ui.input(|i| i.key_pressed(Key::Escape)) {
                self.refused.remove(path);
                if editing.stepped {
                    out.push(Command::Cancel);
                }
            } else {
                self.finish(session, path, field, value, &editing, out);
            }
        }
        let response = response.on_hover_text(help(field));
        if response.has_focus() { response } else { response.on_hover_text(format!("{value}")) }
    }

    /// Steps the value with the arrow keys; Shift steps ten times as far.
    fn step(&mut self, ui: &Ui, path: &str, field: &Field, value: f64, out: &mut Vec<Command>) {
        let mut steps = 0;
        ui.input_mut(|i| {
            for (key, sign) in [(Key::ArrowUp, 1), (Key::ArrowDown, -1)] {
                for (modifiers, size) in [(Modifiers::SHIFT, 10), (Modifiers::NONE, 1)] {
                    steps +=
                        sign * size * i32::try_from(i.count_and_consume_key(modifiers, key)).unwrap_or(0);
                }
            }
        });
        if steps == 0 {
            return;
        }
        let Some(editing) = &mut self.editing else { return };
        // What was typed but not yet entered is stepped from, where it can be read.
        let from = unit_of(field)
            .and_then(|unit| parse_quantity(&editing.text, field.dimension, unit).ok())
            .unwrap_or(value);
        let to = stepped(from, steps, field);
        editing.text = format_quantity_exact(to, Unit::NONE);
        editing.stepped = true;
        let (id, text) = (ui.make_persistent_id(("quantity", path)), editing.text.clone());
        select_all(ui, id, &text);
        out.push(Command::Preview(Edit::number(change_label(field), path, to)));
    }

    fn finish(
        &mut self,
        session: &Session,
        path: &str,
        field: &Field,
        value: f64,
        editing: &Editing,
        out: &mut Vec<Command>,
    ) {
        if editing.text == editing.start && !editing.stepped {
            self.refused.remove(path);
            return;
        }
        let parsed = unit_of(field).map_or_else(
            || Err("this field has no unit".to_owned()),
            |unit| parse_quantity(&editing.text, field.dimension, unit).map_err(|error| error.to_string()),
        );
        match parsed {
            Ok(new) => {
                self.refused.remove(path);
                if editing.stepped || session.committed().number(path) != Some(new) {
                    out.push(Command::Commit(Edit::number(change_label(field), path, new)));
                }
            }
            Err(reason) => {
                let mut kept = value;
                if editing.stepped {
                    out.push(Command::Cancel);
                    kept = session.committed().number(path).unwrap_or(value);
                }
                let refused = Refused { text: editing.text.clone(), reason, value: Some(kept) };
                self.refused.insert(path.to_owned(), refused);
            }
        }
    }

    /// Why a text was refused or what is wrong with the value, with the nearest possible value to take instead.
    fn remarks(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        path: &str,
        field: &Field,
        out: &mut Vec<Command>,
    ) {
        let mut give_up = false;
        if let Some(refused) = self.refused.get(path) {
            remark(ui, theme, &refused.reason);
            give_up = ui.link("Take it back").clicked();
        } else if let Some(fault) = session.fault_at(path) {
            remark(ui, theme, &fault.message);
            if let Some(nearest) = fault.nearest {
                let text = format!("Use {} {}", number_text(nearest), field.unit);
                if ui.link(text.trim_end()).clicked() {
                    out.push(Command::Commit(Edit::number(change_label(field), path, nearest)));
                }
            }
        }
        if give_up {
            self.refused.remove(path);
        }
    }
}

/// A reason under a field.
pub(super) fn remark(ui: &mut Ui, theme: &Theme, text: &str) {
    egui::Frame::new().fill(theme.bad_soft).corner_radius(3).inner_margin(Margin::symmetric(6, 3)).show(
        ui,
        |ui| {
            ui.set_width(ui.available_width());
            ui.label(RichText::new(text).small().color(theme.text));
        },
    );
}

/// What an edit of the field is called in the menu.
pub(super) fn change_label(field: &Field) -> String {
    let mut name = field.label.to_owned();
    // Sentence case, but not for a name such as Poisson's ratio.
    if !name.starts_with("Poisson")
        && let Some(first) = name.get_mut(..1)
    {
        first.make_ascii_lowercase();
    }
    format!("Change {name}")
}

/// The unit of a field of the list.
fn unit_of(field: &Field) -> Option<Unit> {
    Unit::from_symbol(field.unit).or_else(|| field.unit.is_empty().then_some(Unit::NONE))
}

/// Width of a unit as it stands behind its field, points.
fn unit_width(ui: &Ui, unit: &str) -> f32 {
    let size = if unit.chars().count() > SHORT_UNIT { 11.0 } else { 12.5 };
    let font = egui::FontId::proportional(size);
    ui.painter().layout_no_wrap(unit.to_owned(), font, egui::Color32::PLACEHOLDER).size().x
}

fn help(field: &Field) -> String {
    let range = format!("{} to {} {}", number_text(field.min), number_text(field.max), field.unit);
    format!("{}\n{}", field.help, range.trim_end())
}

/// `value` moved by `steps` steps of a tenth of its decade, on multiples of the step, within the field's range.
pub(super) fn stepped(value: f64, steps: i32, field: &Field) -> f64 {
    let step = if field.whole {
        1.0
    } else {
        let scale = if value == 0.0 { 10.0 } else { value.abs() };
        10f64.powf((scale.log10() + 1e-9).floor() - 1.0)
    };
    // Dividing by the reciprocal of small steps keeps 0.3 from becoming 0.30000000000000004.
    let count = (value / step).round() + f64::from(steps);
    let moved = if step < 1.0 { count / (1.0 / step).round() } else { count * step };
    moved.clamp(field.min, field.max)
}

fn select_all(ui: &Ui, id: Id, text: &str) {
    use egui::text::{CCursor, CCursorRange};
    let mut state = egui::text_edit::TextEditState::load(ui.ctx(), id).unwrap_or_default();
    let end = CCursor::new(text.chars().count());
    state.cursor.set_char_range(Some(CCursorRange::two(CCursor::default(), end)));
    state.store(ui.ctx(), id);
}

/// Fields in which one types a name; empty names and what `refuse` objects to are not taken.
#[derive(Debug, Default)]
pub struct NameFields {
    editing: Option<(Id, String)>,
}

impl NameFields {
    /// A field that shows `value`. Returns the new text once it is entered and differs.
    pub fn field(
        &mut self,
        ui: &mut Ui,
        theme: &Theme,
        width: f32,
        salt: impl std::hash::Hash + std::fmt::Debug,
        value: &str,
        label: Id,
    ) -> Option<String> {
        let id = ui.make_persistent_id(("name", salt));
        let mut text = match &self.editing {
            Some((editing, text)) if *editing == id => text.clone(),
            _ => value.to_owned(),
        };
        let frame = egui::Frame::new()
            .fill(theme.field)
            .stroke(Stroke::new(1.0, theme.line))
            .corner_radius(4)
            .inner_margin(Margin::symmetric(6, 2));
        let response = ui
            .add(
                TextEdit::singleline(&mut text)
                    .id(id)
                    .frame(frame)
                    .min_size(Vec2::new(width, ROW - 1.0))
                    .desired_width(width - 12.0),
            )
            .labelled_by(label);
        if response.gained_focus() && !ui.input(|i| i.pointer.any_pressed()) {
            // With the keyboard one comes to replace the name, with the pointer to mend it.
            select_all(ui, id, &text);
        }
        if response.has_focus() || response.changed() {
            self.editing = Some((id, text));
        }
        if response.lost_focus()
            && let Some((_, text)) = self.editing.take_if(|(editing, _)| *editing == id)
        {
            let text = text.trim();
            let given_up = ui.input(|i| i.key_pressed(Key::Escape));
            return (!given_up && !text.is_empty() && text != value).then(|| text.to_owned());
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(path: &str) -> &'static Field {
        field_at(path).unwrap()
    }

    #[test]
    fn steps_are_a_tenth_of_the_decade() {
        let pitch = of("shape.pitch_um");
        assert_eq!(stepped(800.0, 1, pitch), 810.0);
        assert_eq!(stepped(804.0, 1, pitch), 810.0);
        assert_eq!(stepped(0.8, -1, pitch), 0.79);
        assert_eq!(stepped(0.3, 1, pitch), 0.31);
        assert_eq!(stepped(1200.0, 10, pitch), 2200.0);
        assert_eq!(stepped(of("shape.periods").max, 1, of("shape.periods")), of("shape.periods").max);
        assert_eq!(stepped(6.0, -1, of("shape.periods")), 5.0);
        assert_eq!(stepped(0.0, 1, of("shape.lead_um")), 1.0);
        assert_eq!(stepped(0.0, -1, of("shape.lead_um")), 0.0);
    }

    #[test]
    fn every_field_has_a_unit_that_measures_it() {
        for field in ogee_design::FIELDS {
            let unit = unit_of(field).unwrap_or_else(|| panic!("{} has no unit", field.path));
            assert!(unit.measures(field.dimension), "{}", field.path);
        }
    }

    #[test]
    fn edits_are_named_in_sentence_case() {
        assert_eq!(change_label(of("shape.pitch_um")), "Change pitch");
        assert_eq!(change_label(of("stack.layers[].poisson_ratio")), "Change Poisson's ratio");
    }
}
