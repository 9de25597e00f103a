//! The value beside a handle, and the field in which it can be typed.

use super::handles::{Frame, Kind};
use super::settle::Settled;
use crate::session::{Command, Edit};
use crate::window::theme::Theme;
use egui::{Align2, FontId, Id, Key, Painter, Pos2, Rect, Stroke, StrokeKind, TextEdit, Ui, pos2, vec2};

/// Gap between the handle and its box, points.
const GAP: f32 = 16.0;

/// The value of a handle in a box, with a word below it that says what caught or holds it.
pub(in crate::window) fn paint(
    painter: &Painter,
    canvas: Rect,
    handle: Pos2,
    text: &str,
    settled: Option<&Settled>,
    theme: &Theme,
) {
    let galley = painter.layout_no_wrap(text.to_owned(), Theme::bold(12.5), theme.accent);
    let size = galley.size() + vec2(18.0, 8.0);
    let word = settled.and_then(|s| match (&s.held, &s.caught) {
        (Some(held), _) => Some((held.clone(), theme.warn)),
        (None, Some(caught)) => Some((caught.clone(), theme.muted)),
        (None, None) => None,
    });
    let word = word.map(|(word, ink)| painter.layout(word, FontId::proportional(11.0), ink, 230.0));
    let size = word.as_ref().map_or(size, |w| vec2(size.x.max(w.size().x + 18.0), size.y + w.size().y + 2.0));
    let frame = beside(canvas, handle, size);
    painter.rect(frame, 4.0, theme.panel, Stroke::new(1.2, theme.accent), StrokeKind::Inside);
    let text = frame.min + vec2(9.0, 4.0);
    let below = text + vec2(0.0, galley.size().y + 1.0);
    painter.galley(text, galley, theme.accent);
    if let Some(word) = word {
        painter.galley(below, word, theme.text);
    }
}

/// A small caption beside a handle that the pointer is over.
pub(super) fn paint_hint(painter: &Painter, canvas: Rect, handle: Pos2, text: &str, theme: &Theme) {
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(11.5), theme.text);
    let frame = beside(canvas, handle, galley.size() + vec2(14.0, 7.0));
    painter.rect(frame, 4.0, theme.panel, Stroke::new(1.0, theme.line), StrokeKind::Inside);
    painter.galley(frame.center() - galley.size() / 2.0, galley, theme.text);
}

/// A box of `size` to the upper right of `handle`, or where the canvas leaves room.
fn beside(canvas: Rect, handle: Pos2, size: egui::Vec2) -> Rect {
    let room = canvas.shrink(4.0);
    let left = if handle.x + GAP + size.x <= room.right() { handle.x + GAP } else { handle.x - GAP - size.x };
    let top = (handle.y - GAP - size.y / 2.0).clamp(room.top(), (room.bottom() - size.y).max(room.top()));
    Rect::from_min_size(pos2(left.max(room.left()), top), size)
}

/// A value that is being typed.
#[derive(Clone, Debug)]
pub(super) struct Typing {
    kind: Kind,
    text: String,
    trouble: Option<String>,
    is_new: bool,
}

/// What became of the typing in this frame.
#[derive(Debug)]
pub(super) enum Typed {
    /// It goes on.
    Open,
    /// Given up.
    Given,
    /// Done.
    Done(Command),
}

impl Typing {
    /// Typing begins with `text`.
    pub(super) fn begin(kind: Kind, text: String) -> Self {
        Self { kind, text, trouble: None, is_new: true }
    }

    /// Which handle's value it is.
    pub(super) fn kind(&self) -> Kind {
        self.kind
    }

    /// The field beside `handle`.
    pub(super) fn ui(
        &mut self,
        ui: &mut Ui,
        canvas: Rect,
        handle: Pos2,
        frame: &Frame,
        theme: &Theme,
    ) -> Typed {
        let id: Id = ui.scope_id().with("typed value");
        let rect = beside(canvas, handle, vec2(104.0, 24.0));
        let edit = TextEdit::singleline(&mut self.text).id(id).desired_width(88.0).hint_text("value");
        let response = ui.put(rect, edit);
        response.widget_info(|| {
            let mut info = egui::WidgetInfo::labeled(egui::Role::TextInput, true, self.kind.quantity());
            info.current_text_value = Some(self.text.clone());
            info
        });
        if self.is_new {
            response.request_focus();
            if let Some(mut state) = TextEdit::load_state(ui.ctx(), id) {
                let end = egui::text::CCursor::new(self.text.chars().count());
                state.cursor.set_char_range(Some(egui::text::CCursorRange::one(end)));
                state.store(ui.ctx(), id);
            }
            self.is_new = false;
        }
        ui.painter().rect_stroke(
            response.rect.expand(1.0),
            4.0,
            Stroke::new(1.2, theme.accent),
            StrokeKind::Outside,
        );
        if let Some(trouble) = &self.trouble {
            let at = response.rect.left_bottom() + vec2(0.0, 5.0);
            let galley = ui.painter().layout(trouble.clone(), FontId::proportional(11.0), theme.bad, 240.0);
            let ground = Align2::LEFT_TOP.anchor_size(at, galley.size()).expand(4.0);
            ui.painter().rect_filled(ground, 3.0, theme.panel);
            ui.painter().galley(at, galley, theme.bad);
        }
        if ui.input(|i| i.key_pressed(Key::Escape)) {
            return Typed::Given;
        }
        if !response.lost_focus() {
            return Typed::Open;
        }
        let mut design = frame.design().clone();
        match design.set_text(self.kind.path(), &self.text) {
            Ok(()) if design == *frame.design() => Typed::Given,
            Ok(()) => {
                let value = design.number(self.kind.path()).unwrap_or_default();
                Typed::Done(Command::Commit(Edit::number(self.kind.edit_label(), self.kind.path(), value)))
            }
            Err(_) if !ui.input(|i| i.key_pressed(Key::Enter)) => Typed::Given,
            Err(fault) => {
                self.trouble = Some(fault.message);
                response.request_focus();
                Typed::Open
            }
        }
    }
}
