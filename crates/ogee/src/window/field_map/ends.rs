//! The window of the map: its ends dragged at the axes or typed.

use super::picture::Frame;
use super::staying_open;
use crate::session::{Command, Edit, Session};
use crate::window::theme::Theme;
use egui::{
    Button, CursorIcon, DragValue, Grid, Key, Pos2, Rect, Response, RichText, Role, Sense, Stroke, Ui,
    WidgetInfo, containers::menu::MenuButton, pos2, vec2,
};
use ogee_design::{Design, Dimension, MapWindow, Unit, parse_quantity};

/// The four ends, as they are named.
const NAMES: [&str; 4] = ["least pitch", "greatest pitch", "least amplitude", "greatest amplitude"];

/// A drag of one end.
#[derive(Clone, Copy, Debug)]
struct Drag {
    end: usize,
    /// The axes as they were when the drag began: values are read from these.
    frame: Frame,
    /// Where the pointer was then.
    from: Pos2,
    window: MapWindow,
}

/// The ends of the axes that can be dragged.
#[derive(Debug, Default)]
pub(super) struct Ends {
    drag: Option<Drag>,
}

/// End `end` of a window.
fn end_of(window: &mut MapWindow, end: usize) -> &mut f64 {
    match end {
        0 => &mut window.pitch_um[0],
        1 => &mut window.pitch_um[1],
        2 => &mut window.amplitude_um[0],
        _ => &mut window.amplitude_um[1],
    }
}

/// `window` with one end at `value`; `None` where nothing would be left between the ends.
fn with_end(window: &MapWindow, end: usize, value: f64) -> Option<MapWindow> {
    let mut changed = *window;
    *end_of(&mut changed, end) = value;
    let is_range = |[low, high]: [f64; 2]| low > 0.0 && high > 1.001 * low && high.is_finite();
    (is_range(changed.pitch_um) && is_range(changed.amplitude_um)).then_some(changed)
}

/// The edit that gives the map another window.
fn edit(session: &Session, window: MapWindow) -> Edit {
    let mut design = Design::clone(session.committed());
    design.map = Some(window);
    Edit::Document { label: "Change the map's window".to_owned(), design: Box::new(design) }
}

/// The command that puts the design in the middle of the map.
pub(super) fn centred(session: &Session) -> Command {
    Command::Commit(edit(session, MapWindow::around(&session.committed().shape)))
}

impl Ends {
    /// The window while an end is dragged.
    pub(super) fn window(&self) -> Option<MapWindow> {
        self.drag.map(|d| d.window)
    }

    /// Places the handles at the ends of both axes.
    pub(super) fn ui(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        session: &Session,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let area = frame.area();
        let window = self.window().unwrap_or_else(|| session.map_window());
        // Just outside the map, where the first and the last number stand.
        let handles = [
            Rect::from_min_max(
                pos2(area.left() - 12.0, area.bottom() + 1.0),
                pos2(area.left() + 22.0, area.bottom() + 19.0),
            ),
            Rect::from_min_max(
                pos2(area.right() - 22.0, area.bottom() + 1.0),
                pos2(area.right() + 8.0, area.bottom() + 19.0),
            ),
            Rect::from_min_max(
                pos2(area.left() - 34.0, area.bottom() - 16.0),
                pos2(area.left() - 1.0, area.bottom() - 1.0),
            ),
            Rect::from_min_max(
                pos2(area.left() - 34.0, area.top() - 3.0),
                pos2(area.left() - 1.0, area.top() + 13.0),
            ),
        ];
        for (end, rect) in handles.into_iter().enumerate() {
            let is_pitch = end < 2;
            let cursor = if is_pitch { CursorIcon::ResizeHorizontal } else { CursorIcon::ResizeVertical };
            let id = ui.scope_id().with(("end of the map", end));
            let response = ui.interact(rect, id, Sense::drag()).on_hover_and_drag_cursor(cursor);
            let value = *end_of(&mut window.clone(), end);
            response.widget_info(|| WidgetInfo::slider(true, value, NAMES[end]));
            self.drag(ui, &response, end, frame, session, out);
            if response.hovered() || self.drag.is_some_and(|d| d.end == end) {
                let line = Stroke::new(3.0, theme.accent);
                let [a, b] = match end {
                    0 => [area.left_bottom(), area.left_bottom() - vec2(0.0, 18.0)],
                    1 => [area.right_bottom(), area.right_bottom() - vec2(0.0, 18.0)],
                    2 => [area.left_bottom(), area.left_bottom() + vec2(18.0, 0.0)],
                    _ => [area.left_top(), area.left_top() + vec2(18.0, 0.0)],
                };
                ui.painter().line_segment([a, b], line);
            }
            if self.drag.is_none() {
                response.on_hover_text(format!("Drag to change the {}", NAMES[end]));
            }
        }
    }

    fn drag(
        &mut self,
        ui: &Ui,
        response: &Response,
        end: usize,
        frame: &Frame,
        session: &Session,
        out: &mut Vec<Command>,
    ) {
        if response.drag_started()
            && let Some(from) = ui.input(|i| i.pointer.press_origin())
        {
            self.drag = Some(Drag { end, frame: *frame, from, window: session.map_window() });
        }
        let Some(drag) = self.drag.as_mut().filter(|d| d.end == end) else { return };
        if ui.input(|i| i.key_pressed(Key::Escape)) {
            self.drag = None;
            out.push(Command::Cancel);
            return;
        }
        let is_over = response.drag_stopped();
        if (response.dragged() || is_over)
            && let Some(pointer) = ui.input(|i| i.pointer.latest_pos())
        {
            // The end follows the pointer on the axis as it was: outwards shows more, inwards less.
            let (axis, moved) = if end < 2 {
                (&drag.frame.pitch, pointer.x - drag.from.x)
            } else {
                (&drag.frame.amplitude, pointer.y - drag.from.y)
            };
            let corner = if end.is_multiple_of(2) { axis.from } else { axis.to };
            let step = 10f64.powf((5.0 * axis.per_point()).log10().floor());
            let value = (axis.value(corner + moved) / step).round() * step;
            let before = drag.window;
            if let Some(window) = with_end(&drag.window, end, value) {
                drag.window = window;
            }
            if is_over {
                out.push(Command::Commit(edit(session, drag.window)));
            } else if drag.window != before {
                out.push(Command::Preview(edit(session, drag.window)));
            }
        }
        if is_over || !(response.dragged() || response.drag_started()) {
            if !is_over {
                out.push(Command::Cancel);
            }
            self.drag = None;
        }
    }
}

/// A small button that opens the four numbers.
pub(super) fn window_button(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    let button = Button::new(RichText::new("window…").color(theme.muted)).frame(false);
    let (response, _) =
        MenuButton::from_button(button).config(staying_open()).ui(ui, |ui| numbers(ui, session, out));
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, "window of the map"));
    response.on_hover_text("Choose the ranges of pitch and amplitude");
}

fn numbers(ui: &mut Ui, session: &Session, out: &mut Vec<Command>) {
    let window = session.map_window();
    Grid::new("ends of the map").num_columns(3).show(ui, |ui| {
        for (row, name) in ["Pitch", "Amplitude"].into_iter().enumerate() {
            let label = ui.label(name);
            for end in [2 * row, 2 * row + 1] {
                let mut value = *end_of(&mut window.clone(), end);
                let speed = 0.01 * value;
                let field = DragValue::new(&mut value)
                    .speed(speed)
                    .suffix(" µm")
                    .update_while_editing(false)
                    .custom_formatter(|v, _| ogee_design::digits_text(v, 6))
                    .custom_parser(|text| parse_quantity(text, Dimension::Length, Unit::MICROMETRE).ok());
                let response = ui.add(field).labelled_by(label.id);
                response.widget_info(|| WidgetInfo::slider(true, value, NAMES[end]));
                if response.changed()
                    && let Some(changed) = with_end(&window, end, value)
                {
                    let edit = edit(session, changed);
                    let is_moving = response.dragged();
                    out.push(if is_moving { Command::Preview(edit) } else { Command::Commit(edit) });
                } else if response.drag_stopped() && session.in_gesture() {
                    out.push(Command::Commit(edit(session, window)));
                }
            }
            ui.end_row();
        }
    });
    if ui.button("Put the design in the middle").clicked() {
        out.push(centred(session));
        ui.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WINDOW: MapWindow = MapWindow { amplitude_um: [100.0, 700.0], pitch_um: [400.0, 1400.0] };

    #[test]
    fn an_end_moves_alone_and_never_beyond_the_other() {
        assert_eq!(with_end(&WINDOW, 1, 2000.0).unwrap().pitch_um, [400.0, 2000.0]);
        assert_eq!(with_end(&WINDOW, 2, 50.0).unwrap().amplitude_um, [50.0, 700.0]);
        for (end, value) in [(0, 1400.0), (1, 300.0), (2, 0.0), (3, f64::NAN), (0, -5.0)] {
            assert_eq!(with_end(&WINDOW, end, value), None, "{end} {value}");
        }
    }
}
