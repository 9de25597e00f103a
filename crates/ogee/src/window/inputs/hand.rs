//! The hand on the cross-section: the top of a layer dragged, stepped with the arrow keys, or its thickness typed.
//!
//! The scale of the drawing holds still while a hand holds a layer, so its top follows the pointer. Thin layers, which
//! are drawn higher than they are, answer by a factor: some 28 points double or halve them, wherever they stand.

use super::heights::LEAST_LAYER;
use crate::session::{Command, Edit, Session};
use crate::window::drawing::settle::{Settled, settle};
use crate::window::drawing::steps::{nearest_multiple, step_at_least};
use crate::window::drawing::value_box;
use crate::window::gesture::drag_pos;
use crate::window::quantity_field::stepped;
use crate::window::theme::Theme;
use egui::{
    CursorIcon, Event, EventFilter, FontId, Id, Key, Pos2, Rect, Response, Sense, Stroke, StrokeKind,
    TextEdit, Ui, WidgetInfo, pos2, vec2,
};
use ogee_design::{Design, digits_text, field_at};
use std::sync::Arc;

/// A layer drawn lower than this beyond its least height answers by a factor, points.
const BY_FACTOR: f64 = 40.0;
/// Step of a round value on the screen, points.
const SNAP: f64 = 1.4;
/// How near a balanced thickness catches, points.
const CATCH: f64 = 6.0;
/// Half the height of what takes a boundary, points.
const TAKE: f32 = 4.0;
/// Edits made here.
const EDIT: &str = "Change thickness";

/// What holds a thickness.
#[derive(Debug, Default)]
pub(super) struct Hand {
    grip: Option<Grip>,
    typing: Option<Typing>,
    /// What the last drag or step led to, shown while its boundary has the focus.
    last: Option<(usize, Settled)>,
}

/// A drag that goes on.
#[derive(Debug)]
struct Grip {
    index: usize,
    /// The design when it began.
    base: Arc<Design>,
    /// Points per µm then.
    scale: f64,
    pressed: Pos2,
    moved: bool,
    settled: Settled,
}

/// A thickness that is being typed.
#[derive(Debug)]
struct Typing {
    index: usize,
    text: String,
    trouble: Option<String>,
    is_new: bool,
}

/// The boundary of a layer as it is drawn.
pub(super) struct Boundary {
    pub(super) index: usize,
    /// Right end of its line.
    pub(super) at: Pos2,
    pub(super) width: f32,
    /// Points per µm.
    pub(super) scale: f64,
    /// Room for the value beside it.
    pub(super) canvas: Rect,
}

fn path(index: usize) -> String {
    format!("stack.layers[{index}].thickness_um")
}

/// What the top of layer `index` is found by.
pub(super) fn boundary_id(ui: &Ui, index: usize) -> Id {
    ui.scope_id().with(("boundary", index))
}

/// Thickness that a layer of `start_um`, drawn `high` points beyond its least height, has when its top is moved up by
/// `up` points; and how much of it one point is worth there.
///
/// High layers follow the pointer from half to twice their thickness; beyond, and for low ones, points are factors.
fn pulled(start_um: f64, high: f64, up: f64) -> [f64; 2] {
    if high < BY_FACTOR {
        let value = start_um * (up / BY_FACTOR).exp();
        return [value, value / BY_FACTOR];
    }
    let ratio = 1.0 + up / high;
    if ratio < 0.5 {
        // Smoothly on, and never to nothing.
        let value = 0.5 * start_um * (2.0 * ratio - 1.0).exp();
        [value, 2.0 * value / high]
    } else if ratio > 2.0 {
        let value = 2.0 * start_um * (0.5 * ratio - 1.0).exp();
        [value, 0.5 * value / high]
    } else {
        [start_um * ratio, start_um / high]
    }
}

/// Thickness of layer `index` that brings the neutral plane where it belongs, µm, and the layer it then runs through.
pub(super) fn balanced(session: &Session, index: usize) -> Option<(f64, &str)> {
    let wrap = session.assessment()?.wrap.as_ref()?;
    let found = wrap.balance.iter().find(|balance| balance.index == index)?;
    (found.balanced_um.is_finite() && found.balanced_um > 0.0).then_some((found.balanced_um, &found.into))
}

impl Grip {
    /// The pointer is at `pointer`. Without `snapping` nothing is rounded or caught.
    fn pull(&mut self, pointer: Pos2, balance: Option<(f64, &str)>, snapping: bool) {
        let up = f64::from(self.pressed.y - pointer.y);
        self.moved |= up.abs() > 1.0;
        if !self.moved {
            return;
        }
        let Some(start_um) = self.base.number(&path(self.index)) else { return };
        let [wanted, per_point] = pulled(start_um, self.scale * start_um, up);
        let caught = balance.filter(|(um, _)| snapping && (wanted - um).abs() < CATCH * per_point);
        let wanted = match caught {
            Some((um, _)) => digits_text(um, 4).parse().unwrap_or(um),
            None if snapping => {
                let step = step_at_least(SNAP * per_point);
                nearest_multiple(wanted, step).max(step)
            }
            None => wanted,
        };
        self.settled = settle(&self.base, &path(self.index), wanted, None);
        if caught.is_some() && self.settled.held.is_none() {
            self.settled.caught = Some("balanced".to_owned());
        }
    }

    fn edit(&self) -> Edit {
        Edit::number(EDIT, path(self.index), self.settled.value)
    }
}

impl Hand {
    /// Points per µm while a layer is held.
    pub(super) fn scale(&self) -> Option<f64> {
        self.grip.as_ref().map(|grip| grip.scale)
    }

    /// Escape gives a drag up.
    pub(super) fn begin(&mut self, ui: &Ui, session: &Session, out: &mut Vec<Command>) {
        if self.grip.is_some() && ui.input(|i| i.key_pressed(Key::Escape)) {
            self.grip = None;
            out.push(Command::Cancel);
        }
        let count = session.design().stack.layers.len();
        if self.typing.as_ref().is_some_and(|typing| typing.index >= count) {
            self.typing = None;
        }
    }

    /// The top of one layer. Returns whether it is lit.
    pub(super) fn boundary(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        boundary: &Boundary,
        out: &mut Vec<Command>,
    ) -> bool {
        let index = boundary.index;
        let Some(layer) = session.design().stack.layers.get(index) else { return false };
        let value = layer.thickness_um;
        let line = Rect::from_min_max(
            pos2(boundary.at.x - boundary.width, boundary.at.y - TAKE),
            pos2(boundary.at.x, boundary.at.y + TAKE),
        );
        let id = boundary_id(ui, index);
        let response = ui.interact(line, id, Sense::drag());
        let name = format!("Thickness of {}", layer.name);
        response.widget_info(|| WidgetInfo::slider(true, value, &name));
        ui.accesskit_node_builder(id, |node| node.set_value(format!("{} µm", digits_text(value, 4))));
        if response.hovered() || response.dragged() {
            ui.set_cursor_icon(CursorIcon::ResizeVertical);
        }
        self.drag(ui, session, boundary, &response, out);
        if response.has_focus() {
            self.keys(ui, session, index, &response, out);
        }
        let held = self.grip.as_ref().is_some_and(|grip| grip.index == index);
        let typed = self.typing.as_ref().is_some_and(|typing| typing.index == index);
        if self.grip.is_none() && self.typing.is_none() && !response.has_focus() {
            let up = (BY_FACTOR * std::f64::consts::LN_2).round();
            let how = if boundary.scale * value < BY_FACTOR {
                format!("Drag to change: {up} points double or halve it")
            } else {
                "Drag to change".to_owned()
            };
            let words = format!("{name}: {} µm\n{how}; arrow keys step, digits type", digits_text(value, 4));
            response.clone().on_hover_text(words);
        }
        response.hovered() || response.has_focus() || held || typed
    }

    fn drag(
        &mut self,
        ui: &Ui,
        session: &Session,
        boundary: &Boundary,
        response: &Response,
        out: &mut Vec<Command>,
    ) {
        let index = boundary.index;
        if response.drag_started() {
            let pressed = ui.input(|i| i.pointer.press_origin()).unwrap_or(boundary.at);
            let base = Arc::clone(session.committed());
            let value = base.number(&path(index)).unwrap_or_default();
            let settled = Settled { value, caught: None, held: None };
            self.grip = Some(Grip { index, base, scale: boundary.scale, pressed, moved: false, settled });
            (self.typing, self.last) = (None, None);
            response.request_focus();
        }
        let Some(grip) = self.grip.as_mut().filter(|grip| grip.index == index) else { return };
        if !response.dragged() && !response.drag_stopped() {
            return;
        }
        let (pointer, alt) = ui.input(|i| (drag_pos(i), i.modifiers.alt));
        if let Some(pointer) = pointer {
            grip.pull(pointer, balanced(session, index), session.settings().snapping && !alt);
        }
        if !response.drag_stopped() {
            out.push(Command::Preview(grip.edit()));
        } else if let Some(grip) = self.grip.take() {
            if !grip.moved {
                out.push(Command::Cancel);
                out.push(Command::SelectLayer(Some(index)));
            } else if grip.base.number(&path(index)) == Some(grip.settled.value) {
                out.push(Command::Cancel);
            } else {
                out.push(Command::Commit(grip.edit()));
            }
            self.last = Some((index, grip.settled));
        }
    }

    /// Arrows step, Enter or a digit begins typing.
    fn keys(
        &mut self,
        ui: &Ui,
        session: &Session,
        index: usize,
        response: &Response,
        out: &mut Vec<Command>,
    ) {
        ui.memory_mut(|memory| {
            let filter = EventFilter { vertical_arrows: true, ..EventFilter::default() };
            memory.set_focus_lock_filter(response.id, filter);
        });
        if self.typing.is_some() {
            return;
        }
        let Some(value) = session.design().number(&path(index)) else { return };
        let typed = ui.input(|i| {
            i.events.iter().find_map(|event| match event {
                Event::Text(text) if text.starts_with(|c: char| c.is_ascii_digit() || ".,".contains(c)) => {
                    Some(text.clone())
                }
                _ => None,
            })
        });
        if typed.is_some() || ui.input(|i| i.key_pressed(Key::Enter)) {
            if self.grip.take().is_some() {
                out.push(Command::Cancel);
            }
            let text = typed.unwrap_or_else(|| format!("{} µm", digits_text(value, 6)));
            self.typing = Some(Typing { index, text, trouble: None, is_new: true });
            return;
        }
        let count = ui.input(|i| {
            let presses = |key| i32::try_from(i.num_presses(key)).unwrap_or(0);
            let asked =
                |action| i32::try_from(i.num_accesskit_action_requests(response.id, action)).unwrap_or(0);
            (presses(Key::ArrowUp) - presses(Key::ArrowDown)) * if i.modifiers.shift { 10 } else { 1 }
                + asked(egui::accesskit::Action::Increment)
                - asked(egui::accesskit::Action::Decrement)
        });
        if count != 0
            && self.grip.is_none()
            && let Some(field) = field_at(&path(index))
        {
            let settled = settle(session.committed(), &path(index), stepped(value, count, field), None);
            out.push(Command::Commit(Edit::number(EDIT, path(index), settled.value)));
            self.last = Some((index, settled));
        }
    }

    /// The value beside the boundary that is held, typed or has the focus.
    pub(super) fn value(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        boundary: &Boundary,
        out: &mut Vec<Command>,
    ) {
        let index = boundary.index;
        let Some(value) = session.design().number(&path(index)) else { return };
        if self.typing.as_ref().is_some_and(|typing| typing.index == index) {
            self.type_value(ui, session, theme, boundary, out);
            return;
        }
        let focused = ui.memory(|memory| memory.has_focus(boundary_id(ui, index)));
        let settled = match (&self.grip, &self.last) {
            (Some(grip), _) if grip.index == index => &grip.settled,
            (None, Some((last, settled))) if *last == index && settled.value == value && focused => settled,
            _ => return,
        };
        let text = format!("{} µm", digits_text(settled.value, 4));
        let at = boundary.at - vec2(12.0, 0.0);
        value_box::paint(ui.painter(), boundary.canvas, at, &text, Some(settled), theme);
    }

    fn type_value(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        boundary: &Boundary,
        out: &mut Vec<Command>,
    ) {
        let Some(typing) = &mut self.typing else { return };
        let id = ui.scope_id().with("typed thickness");
        let y = (boundary.at.y - 12.0).clamp(boundary.canvas.top(), boundary.canvas.bottom() - 24.0);
        let rect = Rect::from_min_size(pos2(boundary.at.x + 4.0, y), vec2(96.0, 24.0));
        let response = ui.put(rect, TextEdit::singleline(&mut typing.text).id(id).desired_width(80.0));
        let text = typing.text.clone();
        response.widget_info(|| {
            let mut info = WidgetInfo::labeled(egui::Role::TextInput, true, "typed thickness");
            info.current_text_value = Some(text.clone());
            info
        });
        if typing.is_new {
            response.request_focus();
            let mut state = TextEdit::load_state(ui.ctx(), id).unwrap_or_default();
            let end = egui::text::CCursor::new(typing.text.chars().count());
            state.cursor.set_char_range(Some(egui::text::CCursorRange::one(end)));
            state.store(ui.ctx(), id);
            typing.is_new = false;
        }
        let ring = Stroke::new(1.2, theme.accent);
        ui.painter().rect_stroke(response.rect.expand(1.0), 4.0, ring, StrokeKind::Outside);
        if let Some(trouble) = &typing.trouble {
            let galley = ui.painter().layout(trouble.clone(), FontId::proportional(11.0), theme.bad, 150.0);
            let at = response.rect.left_bottom() + vec2(-60.0, 6.0);
            let ground = Rect::from_min_size(at, galley.size()).expand(4.0);
            ui.painter().rect(ground, 3.0, theme.panel, Stroke::new(1.0, theme.bad), StrokeKind::Outside);
            ui.painter().galley(at, galley, theme.bad);
        }
        let escaped = ui.input(|i| i.key_pressed(Key::Escape));
        if !escaped && !response.lost_focus() {
            return;
        }
        if !escaped {
            let mut design = Design::clone(session.committed());
            match design.set_text(&path(typing.index), &typing.text) {
                Ok(()) => {
                    let value = design.number(&path(typing.index)).unwrap_or_default();
                    if session.committed().number(&path(typing.index)) != Some(value) {
                        out.push(Command::Commit(Edit::number(EDIT, path(typing.index), value)));
                    }
                }
                Err(fault) if ui.input(|i| i.key_pressed(Key::Enter)) => {
                    typing.trouble = Some(fault.message);
                    response.request_focus();
                    return;
                }
                Err(_) => {}
            }
        }
        // Back to the boundary, so that the arrow keys go on from there.
        let back = boundary_id(ui, typing.index);
        self.typing = None;
        ui.memory_mut(|memory| memory.request_focus(back));
    }
}

/// Height of a layer of `um` beyond its bottom, points.
pub(super) fn height_of(um: f64, scale: f64) -> f32 {
    LEAST_LAYER + (scale * um) as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_high_layer_follows_the_pointer_and_a_low_one_answers_by_factors() {
        assert_eq!(pulled(20.0, 100.0, 10.0)[0], 22.0);
        assert_eq!(pulled(20.0, 100.0, -50.0)[0], 10.0);
        let double = BY_FACTOR * std::f64::consts::LN_2;
        for start in [1e-3, 0.4, 3.0] {
            assert!((pulled(start, 2.0, double)[0] / start - 2.0).abs() < 1e-12);
            assert!((pulled(start, 2.0, -double)[0] / start - 0.5).abs() < 1e-12);
        }
    }

    #[test]
    fn the_answer_is_smooth_rises_and_never_ends_at_nothing() {
        for high in [0.5, 39.0, 41.0, 150.0] {
            let mut before = 0.0;
            for up in -400..400 {
                let up = f64::from(up);
                let [value, per_point] = pulled(5.0, high, up);
                assert!(value > before, "{high} {up}");
                let ahead = pulled(5.0, high, up + 1e-6)[0];
                assert!(((ahead - value) / 1e-6 / per_point - 1.0).abs() < 1e-3, "{high} {up}");
                before = value;
            }
        }
    }
}
