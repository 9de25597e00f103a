//! Moving the design on the map: by dragging its cross, by keys, by a double click.

use super::MapPanel;
use super::cross::{self, Drag};
use super::picture::Frame;
use crate::session::{Command, Message, Session};
use crate::window::axes::{Axis, length_text, round_step};
use crate::window::plot::plate;
use crate::window::theme::Theme;
use egui::{CursorIcon, EventFilter, Key, Pos2, Rect, Response, Sense, Ui, WidgetInfo, pos2, vec2};

impl MapPanel {
    /// The cross, which is dragged with the pointer or moved with the arrow keys.
    pub(super) fn cross(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        session: &Session,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let here = self.drag.as_ref().map_or_else(|| cross::place(&session.design().shape), |d| d.at);
        let area = frame.area();
        let true_at = frame.point(here[0], here[1]);
        let at = pos2(true_at.x.clamp(area.left(), area.right()), true_at.y.clamp(area.top(), area.bottom()));
        let id = ui.scope_id().with("cross");
        let response = ui.interact(Rect::from_center_size(at, vec2(26.0, 26.0)), id, Sense::drag());
        let response = response.on_hover_and_drag_cursor(CursorIcon::Move);
        response.widget_info(|| WidgetInfo::slider(true, here[0], "design on the map"));
        let words = format!("pitch {}, amplitude {}", length_text(here[0]), length_text(here[1]));
        ui.ctx().accesskit_node_builder(id, |node| node.set_value(words.clone()));

        self.drag_cross(ui, &response, true_at, frame, session, out);
        self.nudge(ui, &response, here, frame, session, out);

        let is_active = self.drag.is_some() || response.hovered() || response.has_focus();
        let at = self.drag.as_ref().map_or(at, |d| frame.point(d.at[0], d.at[1]));
        cross::paint_cross(
            &ui.painter().with_clip_rect(area.expand(16.0)),
            at,
            is_active.then_some(theme.accent),
        );
        if let Some(drag) = &self.drag {
            let value = self.value_at(drag.at).unwrap_or_default();
            let words = format!("pitch {}, amplitude {}", length_text(drag.at[0]), length_text(drag.at[1]));
            let held = drag.held.as_ref().map(|reason| format!("held: {reason}"));
            let mut lines = vec![(value.as_str(), theme.text), (words.as_str(), theme.muted)];
            lines.extend(held.as_deref().map(|h| (h, theme.warn)));
            lines.retain(|(text, _)| !text.is_empty());
            plate(ui, theme, at, ui.max_rect(), &lines);
        }
    }

    fn drag_cross(
        &mut self,
        ui: &Ui,
        response: &Response,
        at: Pos2,
        frame: &Frame,
        session: &Session,
        out: &mut Vec<Command>,
    ) {
        if response.drag_started()
            && let Some(pressed) = ui.input(|i| i.pointer.press_origin())
        {
            response.request_focus();
            let window = session.map_window();
            self.drag = Some(Drag {
                grab: at - pressed,
                window,
                at: cross::place(&session.design().shape),
                held: None,
            });
        }
        let Some(drag) = &mut self.drag else { return };
        if ui.input(|i| i.key_pressed(Key::Escape)) {
            self.drag = None;
            out.push(Command::Cancel);
            return;
        }
        let is_over = response.drag_stopped();
        if (response.dragged() || is_over)
            && let Some(pointer) = ui.input(|i| i.pointer.latest_pos())
        {
            let wanted = frame.shape(pointer + drag.grab);
            let wanted = cross::rounded(wanted, &drag.window, [&frame.pitch, &frame.amplitude]);
            let before = drag.at;
            if wanted != before || is_over {
                (drag.at, drag.held) = cross::reach(session, drag.at, wanted);
            }
            if is_over {
                out.push(Command::Commit(cross::edit(drag.at)));
            } else if drag.at != before {
                out.push(Command::Preview(cross::edit(drag.at)));
            }
        }
        if is_over || !(response.dragged() || response.drag_started()) {
            // A gesture that ended without a release, such as by a window that lost its pointer, is given up.
            if !is_over {
                out.push(Command::Cancel);
            }
            self.drag = None;
        }
    }

    /// Arrow keys move the design by a round step; with Shift by ten of them.
    fn nudge(
        &mut self,
        ui: &Ui,
        response: &Response,
        here: [f64; 2],
        frame: &Frame,
        session: &Session,
        out: &mut Vec<Command>,
    ) {
        if !response.has_focus() || self.drag.is_some() {
            return;
        }
        let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
        let [right, up, times] = ui.input(|i| {
            let count = |key| i.num_presses(key) as f64;
            [
                count(Key::ArrowRight) - count(Key::ArrowLeft),
                count(Key::ArrowUp) - count(Key::ArrowDown),
                if i.modifiers.shift { 10.0 } else { 1.0 },
            ]
        });
        if right == 0.0 && up == 0.0 {
            return;
        }
        let step = |axis: &Axis| round_step(axis.low, axis.high, 200);
        let wanted =
            [here[0] + right * times * step(&frame.pitch), here[1] + up * times * step(&frame.amplitude)];
        let (at, held) = cross::reach(session, here, wanted);
        if at != here {
            out.push(Command::Commit(cross::edit(at)));
        } else if let Some(reason) = held {
            out.push(Command::Tell(Message::trouble(reason)));
        }
    }

    pub(super) fn set_by_double_click(
        response: &Response,
        frame: &Frame,
        session: &Session,
        out: &mut Vec<Command>,
    ) {
        let Some(pointer) = response.interact_pointer_pos().filter(|_| response.double_clicked()) else {
            return;
        };
        let wanted =
            cross::rounded(frame.shape(pointer), &session.map_window(), [&frame.pitch, &frame.amplitude]);
        let design = cross::edit(wanted).applied_to(session.committed());
        match design.check() {
            Ok(_) => out.push(Command::Commit(cross::edit(wanted))),
            Err(faults) => {
                let reason = faults.first().map_or_else(|| "no shape here".to_owned(), |f| f.message.clone());
                out.push(Command::Tell(Message::trouble(reason)));
            }
        }
    }
}
