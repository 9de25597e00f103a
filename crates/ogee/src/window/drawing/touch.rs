//! What the hand meets on the drawing: the handles, and the place under the cursor.

use super::gesture::{Gesture, nudge};
use super::handles::{Frame, Kind};
use super::settle::Settled;
use super::sheet::Sheet;
use super::steps::length_text;
use super::value_box::{self, Typed, Typing};
use super::{DrawingPanel, Picture};
use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::{
    Align2, CursorIcon, Event, EventFilter, FontId, Key, Painter, Pos2, Rect, Response, Sense, Shape, Stroke,
    StrokeKind, Ui, Vec2, pos2, vec2,
};

/// Size of the area that takes a handle, points.
const TAKE: f32 = 17.0;
/// Half the size of a handle's sign, points.
const SIGN: f32 = 5.0;

/// What the value of a handle was led to last, to be shown while the handle has the focus.
#[derive(Clone, Debug)]
pub(super) struct Last {
    kind: Kind,
    settled: Settled,
}

/// What the frame passes down to each handle.
struct Desk<'a> {
    sheet: &'a Sheet,
    frame: &'a Frame,
    session: &'a Session,
    theme: &'a Theme,
}

impl DrawingPanel {
    /// All handles: taken, pulled, nudged, typed.
    pub(super) fn handles_ui(
        &mut self,
        ui: &mut Ui,
        sheet: &Sheet,
        session: &Session,
        picture: &Picture,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        if self.gesture.is_some() && ui.input(|i| i.key_pressed(Key::Escape)) {
            self.gesture = None;
            out.push(Command::Cancel);
        }
        let period = self.gesture.as_ref().map(Gesture::period);
        let frame = Frame::new(&picture.checked, &picture.rest, sheet, period);
        let desk = Desk { sheet, frame: &frame, session, theme };
        let canvas = sheet.canvas();
        let mut on_top: Option<(Kind, [f64; 2], Pos2, bool)> = None;
        for kind in Kind::of(frame.design()) {
            let is_held = self.gesture.as_ref().is_some_and(|g| g.kind() == kind);
            let Some(place) = frame.place(kind, sheet) else { continue };
            let pos = sheet.pos(place[0], place[1]);
            if !is_held && !canvas.shrink(3.0).contains(pos) {
                continue;
            }
            let response = self.handle(ui, &desk, kind, pos, out);
            let is_typed = self.typing.as_ref().is_some_and(|t| t.kind() == kind);
            let is_lit = response.hovered() || response.has_focus() || is_held || is_typed;
            paint_sign(&ui.painter_at(canvas), kind, pos, is_lit, response.has_focus(), theme);
            if is_held || is_typed || (is_lit && on_top.is_none()) {
                on_top = Some((kind, place, pos, is_held || is_typed || response.has_focus()));
            }
        }
        let Some((kind, place, pos, is_chosen)) = on_top else { return };
        let painter = ui.painter_at(canvas);
        let value = frame.value(kind).unwrap_or_default();
        if self.typing.as_ref().is_some_and(|t| t.kind() == kind) {
            self.type_value(ui, &desk, pos, out);
        } else if is_chosen {
            let settled = match (&self.gesture, &self.last) {
                (Some(gesture), _) => Some(gesture.settled()),
                (None, Some(last)) if last.kind == kind && last.settled.value == value => Some(&last.settled),
                _ => None,
            };
            if self.gesture.is_some() {
                paint_guides(&painter, &desk, kind);
            }
            paint_dimension(&painter, &desk, kind, place);
            let shown = settled.map_or(value, |s| s.value);
            value_box::paint(&painter, canvas, pos, &kind.value_text(shown), settled, theme);
        } else {
            let text = format!("{} {}", kind.quantity(), kind.value_text(value));
            value_box::paint_hint(&painter, canvas, pos, &text, theme);
        }
    }

    /// One handle under `pos`.
    fn handle(
        &mut self,
        ui: &mut Ui,
        desk: &Desk<'_>,
        kind: Kind,
        pos: Pos2,
        out: &mut Vec<Command>,
    ) -> Response {
        let id = ui.scope_id().with(("handle", kind.name()));
        let response = ui.interact(Rect::from_center_size(pos, Vec2::splat(TAKE)), id, Sense::drag());
        let value = desk.frame.value(kind).unwrap_or_default();
        response.widget_info(|| egui::WidgetInfo::slider(true, value, kind.name()));
        ui.accesskit_node_builder(id, |node| {
            node.set_value(format!("{} {}", kind.quantity(), kind.value_text(value)));
        });
        if response.hovered() || response.dragged() {
            ui.set_cursor_icon(cursor(kind));
        }
        // The middle button and the space bar move the paper, here as anywhere.
        let moves_paper = ui.input(|i| !i.pointer.primary_down() || i.key_down(Key::Space));
        if response.dragged() && self.gesture.is_none() && moves_paper {
            self.pan_view(response.drag_delta());
        }
        if response.drag_started() && !moves_paper {
            let pressed = ui.input(|i| i.pointer.press_origin()).unwrap_or(pos);
            self.gesture = Gesture::begin(kind, desk.frame, desk.sheet, pressed);
            self.typing = None;
            self.last = None;
            response.request_focus();
        }
        if (response.dragged() || response.drag_stopped())
            && let Some(gesture) = self.gesture.as_mut().filter(|g| g.kind() == kind)
        {
            let (pointer, alt) = ui.input(|i| (crate::window::gesture::drag_pos(i), i.modifiers.alt));
            if let Some(pointer) = pointer {
                gesture.pull(pointer, desk.sheet, desk.session.settings().snapping && !alt);
            }
            if response.drag_stopped() {
                out.push(gesture.finish());
                self.last = Some(Last { kind, settled: gesture.settled().clone() });
                self.gesture = None;
            } else {
                out.push(gesture.preview());
            }
        }
        if response.has_focus() {
            self.keys(ui, desk, kind, &response, out);
        }
        response
    }

    /// Arrows nudge, Enter or a digit begins typing.
    fn keys(&mut self, ui: &Ui, desk: &Desk<'_>, kind: Kind, response: &Response, out: &mut Vec<Command>) {
        ui.memory_mut(|memory| {
            let filter =
                EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
            memory.set_focus_lock_filter(response.id, filter);
        });
        if self.typing.is_some() {
            return;
        }
        let typed = ui.input(|i| {
            i.events.iter().find_map(|event| match event {
                Event::Text(text) if text.starts_with(|c: char| c.is_ascii_digit() || ".,-−".contains(c)) => {
                    Some(text.clone())
                }
                _ => None,
            })
        });
        let wants_typing = ui.input(|i| i.key_pressed(Key::Enter));
        if typed.is_some() || wants_typing {
            if self.gesture.take().is_some() {
                out.push(Command::Cancel);
            }
            let now = desk.frame.value(kind).map_or_else(String::new, |v| kind.value_text(v));
            self.typing = Some(Typing::begin(kind, typed.unwrap_or(now)));
            return;
        }
        if self.gesture.is_some() {
            return;
        }
        let count = ui.input(|i| {
            let presses = |key| i.num_presses(key) as f64;
            let up = presses(Key::ArrowRight) + presses(Key::ArrowUp);
            let down = presses(Key::ArrowLeft) + presses(Key::ArrowDown);
            let asked = |action| i.num_accesskit_action_requests(response.id, action) as f64;
            (up - down) * if i.modifiers.shift { 10.0 } else { 1.0 }
                + asked(egui::accesskit::Action::Increment)
                - asked(egui::accesskit::Action::Decrement)
        });
        if count != 0.0
            && let Some((settled, command)) = nudge(kind, desk.frame, desk.sheet, count)
        {
            self.last = Some(Last { kind, settled });
            out.push(command);
        }
    }

    fn type_value(&mut self, ui: &mut Ui, desk: &Desk<'_>, pos: Pos2, out: &mut Vec<Command>) {
        let Some(typing) = &mut self.typing else { return };
        let kind = typing.kind();
        match typing.ui(ui, desk.sheet.canvas(), pos, desk.frame, desk.theme) {
            Typed::Open => return,
            Typed::Given => {}
            Typed::Done(command) => out.push(command),
        }
        self.typing = None;
        // Back to the handle, so that arrows go on from there.
        let id = ui.scope_id().with(("handle", kind.name()));
        ui.memory_mut(|memory| memory.request_focus(id));
    }
}

fn cursor(kind: Kind) -> CursorIcon {
    match kind {
        Kind::Crest | Kind::Edge => CursorIcon::ResizeVertical,
        Kind::Crossing | Kind::Island => CursorIcon::ResizeHorizontal,
        Kind::Radius | Kind::Tilt | Kind::Plateau => CursorIcon::Move,
    }
}

/// The sign of a handle: a diamond for the shape, a bar for the width, a disc for the bend, a grip on the island.
fn paint_sign(painter: &Painter, kind: Kind, pos: Pos2, is_lit: bool, has_focus: bool, theme: &Theme) {
    let fill = if is_lit { theme.accent } else { theme.panel };
    let stroke = Stroke::new(1.6, theme.accent);
    let size = if is_lit { SIGN + 1.0 } else { SIGN };
    match kind {
        Kind::Crest | Kind::Crossing => {
            let corners = [vec2(0.0, -1.2), vec2(1.2, 0.0), vec2(0.0, 1.2), vec2(-1.2, 0.0)];
            painter.add(Shape::convex_polygon(corners.map(|c| pos + c * size).to_vec(), fill, stroke));
        }
        Kind::Edge => {
            let bar = Rect::from_center_size(pos, vec2(2.6 * size, size));
            painter.rect(bar, 2.0, fill, stroke, StrokeKind::Middle);
        }
        Kind::Radius | Kind::Tilt | Kind::Plateau => {
            painter.circle(pos, 0.9 * size, fill, stroke);
        }
        Kind::Island => {
            let grip = Rect::from_center_size(pos, vec2(size, 3.6 * size));
            painter.rect(grip, 2.0, fill, stroke, StrokeKind::Middle);
        }
    }
    if has_focus {
        painter.circle_stroke(pos, 2.4 * size, Stroke::new(1.0, theme.accent.gamma_multiply(0.6)));
    }
}

/// A thin line along the dimension that a handle changes.
fn paint_dimension(painter: &Painter, desk: &Desk<'_>, kind: Kind, place_um: [f64; 2]) {
    let Some(ends) = desk.frame.dimension(kind, place_um) else { return };
    let ends = ends.map(|[x, y]| desk.sheet.pos(x, y));
    let stroke = Stroke::new(1.0, desk.theme.accent);
    painter.line_segment(ends, stroke);
    let along = (ends[1] - ends[0]).normalized();
    let across = vec2(-along.y, along.x) * 4.0;
    for end in ends {
        painter.line_segment([end - across, end + across], stroke);
    }
}

/// Room that limits the dimension in the hand: dashed lines.
fn paint_guides(painter: &Painter, desk: &Desk<'_>, kind: Kind) {
    let limits = &desk.frame.design().limits;
    let canvas = desk.sheet.canvas();
    let stroke = Stroke::new(1.0, desk.theme.warn);
    let dashed = |ends: [Pos2; 2]| painter.extend(Shape::dashed_line(&ends, stroke, 4.0, 4.0));
    match kind {
        Kind::Crossing | Kind::Island => {
            let x = desk.sheet.pos(limits.span_um, 0.0).x;
            let middle = desk.sheet.pos(0.0, 0.0).y;
            if !canvas.x_range().contains(x) {
                return;
            }
            let reach = desk.sheet.points(desk.frame.design().shape.amplitude_um) + 26.0;
            dashed([pos2(x, middle - reach), pos2(x, middle + reach)]);
            let words = format!("room {}", length_text(limits.span_um));
            let at = pos2(x - 5.0, middle - reach);
            painter.text(at, Align2::RIGHT_TOP, words, FontId::proportional(11.0), desk.theme.warn);
        }
        Kind::Crest | Kind::Edge => {
            let Some(height) = limits.height_um else { return };
            for sign in [1.0, -1.0] {
                let y = desk.sheet.pos(0.0, sign * height / 2.0).y;
                if !canvas.y_range().contains(y) {
                    continue;
                }
                dashed([pos2(canvas.left() + 8.0, y), pos2(canvas.right() - 8.0, y)]);
                if sign > 0.0 {
                    let words = format!("room {}", length_text(height));
                    let at = pos2(canvas.right() - 12.0, y + 3.0);
                    painter.text(at, Align2::RIGHT_TOP, words, FontId::proportional(11.0), desk.theme.warn);
                }
            }
        }
        Kind::Radius | Kind::Tilt | Kind::Plateau => {}
    }
}
