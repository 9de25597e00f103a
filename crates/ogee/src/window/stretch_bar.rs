//! The stretch bar: how far the islands are pulled apart, with marks at the stretches that matter.

use super::theme::Theme;
use crate::session::{Command, Edit, Session};
use egui::{
    Align2, CursorIcon, EventFilter, FontId, Key, Painter, Pos2, Rect, Response, Sense, Shape, Stroke,
    StrokeKind, Ui, Vec2, pos2, vec2,
};
use ogee_design::Assessment;

/// Height that the bar asks for, points.
const HEIGHT: f32 = 54.0;
/// Height of the groove, points.
const GROOVE: f32 = 6.0;
/// Radius of the thumb, points.
const THUMB: f32 = 7.5;
/// How near to a mark, points, the thumb is caught by it.
const REACH: f32 = 5.0;
/// Step of the arrow keys, ratio.
const KEY_STEP: f64 = 0.01;
/// Field that the target's mark changes.
const TARGET_PATH: &str = "duty.target_stretch_percent";

/// The stretch bar. It keeps only what is in the hand.
#[derive(Debug, Default)]
pub struct StretchBar {
    /// Stretch when the thumb was taken, to go back to.
    taken_at: Option<f64>,
    /// Range when the target's mark was taken: it must not move under the hand.
    held_range: Option<(f64, f64)>,
}

/// From stretches to places on the groove.
#[derive(Clone, Copy, Debug)]
struct Groove {
    rect: Rect,
    low: f64,
    high: f64,
}

impl Groove {
    fn x(&self, stretch: f64) -> f32 {
        let share = (stretch - self.low) / (self.high - self.low).max(1e-9);
        egui::lerp(self.rect.x_range(), share.clamp(0.0, 1.0) as f32)
    }

    fn stretch(&self, x: f32) -> f64 {
        let share = f64::from((x - self.rect.left()) / self.rect.width().max(1.0)).clamp(0.0, 1.0);
        self.low + share * (self.high - self.low)
    }

    fn holds(&self, stretch: f64) -> bool {
        self.low <= stretch && stretch <= self.high
    }
}

/// A stretch worth marking.
#[derive(Clone, Debug)]
struct Mark {
    stretch: f64,
    words: String,
    kind: MarkKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum MarkKind {
    Rest,
    Target,
    /// Where the ribbon leaves its plane.
    Onset,
    Allowable,
    Straight,
}

impl StretchBar {
    /// Shows the bar in the width of `ui`.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let height = ui.available_height().clamp(HEIGHT, 64.0);
        let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
        if rect.width() < 160.0 {
            return;
        }
        self.play_button(ui, rect, session, theme, out);
        let (low, high) = self.held_range.unwrap_or_else(|| session.stretch_range());
        let groove = Groove {
            rect: Rect::from_x_y_ranges(
                rect.left() + 46.0..=rect.right() - 22.0,
                rect.center().y - GROOVE / 2.0..=rect.center().y + GROOVE / 2.0,
            ),
            low,
            high,
        };
        let marks = marks(session);
        let painter = ui.painter_at(rect.expand(4.0));
        paint_groove(&painter, &groove, &marks, session.stretch(), theme);
        self.thumb(ui, &painter, &groove, &marks, session, theme, out);
        // On top: its flag stands above the thumb.
        self.target(ui, &painter, &groove, session, theme, out);
        paint_words(&painter, rect, &groove, &marks, session, theme);
    }

    fn play_button(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        session: &Session,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let button = Rect::from_center_size(pos2(rect.left() + 17.0, rect.center().y), Vec2::splat(26.0));
        let response = ui.interact(button, ui.scope_id().with("play"), Sense::click());
        let playing = session.playing();
        let word = if playing { "pause" } else { "play" };
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, word));
        let is_lit = response.hovered() || response.has_focus();
        let painter = ui.painter_at(rect);
        if is_lit {
            painter.circle(button.center(), 13.0, theme.accent_soft, Stroke::NONE);
        }
        if response.has_focus() {
            painter.circle_stroke(button.center(), 13.0, Stroke::new(1.0, theme.accent));
        }
        let c = button.center();
        if playing {
            for x in [-4.0, 2.0] {
                let bar = Rect::from_min_size(c + vec2(x, -6.0), vec2(3.0, 12.0));
                painter.rect_filled(bar, 1.0, theme.accent);
            }
        } else {
            let corners = vec![c + vec2(-4.0, -6.5), c + vec2(7.0, 0.0), c + vec2(-4.0, 6.5)];
            painter.add(Shape::convex_polygon(corners, theme.accent, Stroke::NONE));
        }
        let tip = if playing { "Stop here" } else { "Stretch from rest to the target and back" };
        if response.on_hover_text(tip).clicked() {
            self.taken_at = None;
            out.push(Command::Play(!playing));
        }
        if playing {
            ui.ctx().request_repaint();
        }
    }

    #[expect(clippy::too_many_arguments, reason = "one part of `ui`, which holds all of this")]
    fn thumb(
        &mut self,
        ui: &mut Ui,
        painter: &Painter,
        groove: &Groove,
        marks: &[Mark],
        session: &Session,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        // The whole groove takes the thumb: a press beside it brings it there.
        let area = groove.rect.expand2(vec2(THUMB, 11.0));
        let response = ui.interact(area, ui.scope_id().with("stretch"), Sense::drag());
        response.widget_info(|| egui::WidgetInfo::slider(true, 100.0 * session.stretch(), "stretch"));
        ui.accesskit_node_builder(response.id, |node| {
            node.set_value(percent_text(session.stretch()));
            node.set_min_numeric_value(100.0 * groove.low);
            node.set_max_numeric_value(100.0 * groove.high);
        });
        if response.drag_started() {
            self.taken_at = Some(session.stretch());
            response.request_focus();
        }
        if let Some(before) = self.taken_at {
            if ui.input(|i| i.key_pressed(Key::Escape)) {
                self.taken_at = None;
                out.push(Command::SetStretch(before));
            } else if response.dragged() || response.drag_stopped() {
                let (pointer, alt) = ui.input(|i| (super::gesture::drag_pos(i), i.modifiers.alt));
                if let Some(pointer) = pointer {
                    let caught =
                        marks.iter().find(|m| !alt && (groove.x(m.stretch) - pointer.x).abs() < REACH);
                    let free = groove.stretch(pointer.x);
                    out.push(Command::SetStretch(caught.map_or(free, |m| m.stretch)));
                }
            }
        }
        if response.drag_stopped() {
            self.taken_at = None;
        }
        if let Some(count) = presses(ui, &response) {
            let step = (session.stretch() / KEY_STEP).round() * KEY_STEP + count * KEY_STEP;
            out.push(Command::SetStretch(step.clamp(groove.low, groove.high)));
        }
        if response.hovered() || response.dragged() {
            ui.set_cursor_icon(CursorIcon::ResizeHorizontal);
        }
        let at = pos2(groove.x(session.stretch()), groove.rect.center().y);
        let is_lit = response.hovered() || response.dragged() || response.has_focus();
        if response.has_focus() {
            painter.circle_stroke(at, THUMB + 3.5, Stroke::new(1.0, theme.accent.gamma_multiply(0.6)));
        }
        painter.circle(
            at,
            THUMB + if is_lit { 1.0 } else { 0.0 },
            theme.panel,
            Stroke::new(2.0, theme.accent),
        );
        let tick = vec2(0.0, 3.0);
        painter.line_segment([at - tick, at + tick], Stroke::new(1.5, theme.accent));
    }

    /// The target's mark above the groove: moving it changes the design.
    fn target(
        &mut self,
        ui: &mut Ui,
        painter: &Painter,
        groove: &Groove,
        session: &Session,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let target = session.design().duty.target_stretch_percent / 100.0;
        let at = pos2(groove.x(target), groove.rect.top() - 10.5);
        let area = Rect::from_center_size(at, vec2(14.0, 13.0));
        let response = ui.interact(area, ui.scope_id().with("target"), Sense::drag());
        response.widget_info(|| egui::WidgetInfo::slider(true, 100.0 * target, "target stretch"));
        let edit =
            |stretch: f64| Edit::number("Change target stretch", TARGET_PATH, (100.0 * stretch).max(0.01));
        if response.drag_started() {
            self.held_range = Some((groove.low, groove.high));
            response.request_focus();
        }
        if self.held_range.is_some() {
            let (pointer, alt, escaped) =
                ui.input(|i| (super::gesture::drag_pos(i), i.modifiers.alt, i.key_pressed(Key::Escape)));
            if escaped {
                self.held_range = None;
                out.push(Command::Cancel);
            } else if let Some(pointer) = pointer.filter(|_| response.dragged() || response.drag_stopped()) {
                let free = groove.stretch(pointer.x).max(KEY_STEP);
                let round = (free / KEY_STEP).round() * KEY_STEP;
                let value = if alt { free } else { (100.0 * round).round() / 100.0 };
                out.push(if response.dragged() {
                    Command::Preview(edit(value))
                } else {
                    Command::Commit(edit(value))
                });
            }
        }
        if response.drag_stopped() {
            self.held_range = None;
        }
        if let Some(count) = presses(ui, &response) {
            let percent = (100.0 * target).round() + count;
            out.push(Command::Commit(edit((percent / 100.0).max(KEY_STEP))));
        }
        let is_lit = response.hovered() || response.dragged() || response.has_focus();
        if is_lit {
            ui.set_cursor_icon(CursorIcon::ResizeHorizontal);
        }
        response.on_hover_text("Target stretch: drag to change it");
        if !groove.holds(target) {
            return;
        }
        let size = if is_lit { 6.0 } else { 5.0 };
        let tip = pos2(at.x, groove.rect.top() - 6.0);
        let flag = vec![tip, tip + vec2(-size, -1.5 * size), tip + vec2(size, -1.5 * size)];
        let fill = if is_lit { theme.accent } else { theme.panel };
        painter.add(Shape::convex_polygon(flag, fill, Stroke::new(1.4, theme.accent)));
    }
}

/// Steps asked for by the keyboard or a screen reader while `response` has the focus.
fn presses(ui: &Ui, response: &Response) -> Option<f64> {
    if !response.has_focus() {
        return None;
    }
    ui.memory_mut(|memory| {
        let filter = EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
        memory.set_focus_lock_filter(response.id, filter);
    });
    let count = ui.input(|i| {
        let of = |key| i.num_presses(key) as f64;
        let asked = |action| i.num_accesskit_action_requests(response.id, action) as f64;
        let keys = of(Key::ArrowRight) + of(Key::ArrowUp) - of(Key::ArrowLeft) - of(Key::ArrowDown);
        keys * if i.modifiers.shift { 10.0 } else { 1.0 } + asked(egui::accesskit::Action::Increment)
            - asked(egui::accesskit::Action::Decrement)
    });
    (count != 0.0).then_some(count)
}

fn percent_text(stretch: f64) -> String {
    format!("{} %", ogee_design::digits_text((1000.0 * stretch).round() / 10.0, 4))
}

/// The marks that this design has, the most important first.
fn marks(session: &Session) -> Vec<Mark> {
    let target = session.design().duty.target_stretch_percent / 100.0;
    let mark = |stretch: f64, words: String, kind| Mark { stretch, words, kind };
    let mut marks = vec![mark(target, format!("target {}", percent_text(target)), MarkKind::Target)];
    if let Some(assessment) = session.assessment() {
        let found = &assessment.stretch;
        if let Some(percent) = found.allowable_reached_percent {
            let strain = governing_strain(assessment).map_or_else(String::new, |s| format!("{s} % strain "));
            let words = format!("{strain}at {}", percent_text(percent / 100.0));
            marks.push(mark(percent / 100.0, words, MarkKind::Allowable));
        }
        let straight = found.straight_percent / 100.0;
        if straight.is_finite() {
            marks.push(mark(straight, format!("straight {}", percent_text(straight)), MarkKind::Straight));
        }
    }
    if let Some(onset) = session.path_of_checked().and_then(|path| path.onset()) {
        marks.push(mark(onset, format!("leaves the plane {}", percent_text(onset)), MarkKind::Onset));
    }
    marks.push(mark(0.0, "rest".to_owned(), MarkKind::Rest));
    marks
}

/// Allowable strain of the layer that reaches it first, as text.
fn governing_strain(assessment: &Assessment) -> Option<String> {
    let name = assessment.stretch.governing_layer.as_ref()?;
    let layer = assessment.section.layers.iter().find(|l| l.name == *name)?;
    Some(ogee_design::digits_text(layer.allowable_strain_percent, 3))
}

fn paint_groove(painter: &Painter, groove: &Groove, marks: &[Mark], stretch: f64, theme: &Theme) {
    let part = |from: f64, to: f64| {
        Rect::from_x_y_ranges(groove.x(from.min(to))..=groove.x(from.max(to)), groove.rect.y_range())
    };
    painter.rect_filled(groove.rect, GROOVE / 2.0, theme.track);
    let limit = marks.iter().find(|m| m.kind == MarkKind::Allowable && groove.holds(m.stretch));
    if let Some(limit) = limit {
        let beyond = part(limit.stretch, groove.high);
        painter.rect_filled(beyond, GROOVE / 2.0, theme.warn_soft);
        painter.rect_stroke(
            beyond,
            GROOVE / 2.0,
            Stroke::new(0.8, theme.warn.gamma_multiply(0.6)),
            StrokeKind::Inside,
        );
    }
    let done = part(0.0, stretch);
    painter.rect_filled(done, GROOVE / 2.0, theme.accent);
    for mark in marks.iter().filter(|m| m.kind != MarkKind::Target && groove.holds(m.stretch)) {
        let ink = if mark.kind == MarkKind::Allowable { theme.warn } else { theme.line_strong };
        let x = painter.round_to_pixel_center(groove.x(mark.stretch));
        let (stroke, reach) = (Stroke::new(1.4, ink), groove.rect.y_range().expand(5.0));
        if mark.kind == MarkKind::Onset {
            // Nothing ends here: the bar goes on through the mark.
            painter.vline(x, reach.min..=groove.rect.top(), stroke);
            painter.vline(x, groove.rect.bottom()..=reach.max, stroke);
        } else {
            painter.vline(x, reach, stroke);
        }
    }
}

/// One word beside the groove, as far as it finds room.
struct Word {
    x: f32,
    text: String,
    font: FontId,
    ink: egui::Color32,
    above: bool,
    /// Whether it may go to the other side where its own is taken.
    may_move: bool,
}

/// The words of the marks and of the thumb. The important come first; what finds no room is left out.
fn paint_words(
    painter: &Painter,
    rect: Rect,
    groove: &Groove,
    marks: &[Mark],
    session: &Session,
    theme: &Theme,
) {
    let thumb_x = groove.x(session.stretch());
    let target = marks.iter().find(|m| m.kind == MarkKind::Target);
    let on_target = target.is_some_and(|t| (t.stretch - session.stretch()).abs() < 5e-4);
    let mut words = Vec::new();
    if !on_target {
        words.push(Word {
            x: thumb_x,
            text: percent_text(session.stretch()),
            font: Theme::bold(11.5),
            ink: theme.accent,
            above: true,
            may_move: true,
        });
    }
    for mark in marks.iter().filter(|m| groove.holds(m.stretch)) {
        let is_target = mark.kind == MarkKind::Target;
        words.push(Word {
            x: groove.x(mark.stretch),
            text: mark.words.clone(),
            font: if is_target && on_target { Theme::bold(11.5) } else { FontId::proportional(11.0) },
            ink: match mark.kind {
                MarkKind::Target => theme.accent,
                MarkKind::Allowable => theme.warn,
                MarkKind::Rest | MarkKind::Straight => theme.muted,
                MarkKind::Onset => theme.text,
            },
            above: is_target,
            may_move: matches!(mark.kind, MarkKind::Allowable | MarkKind::Onset),
        });
    }
    let mut taken: Vec<Rect> = Vec::new();
    for word in words {
        let galley = painter.layout_no_wrap(word.text, word.font, word.ink);
        let size = galley.size();
        let free =
            [word.above, !word.above].into_iter().take(if word.may_move { 2 } else { 1 }).find_map(|above| {
                let y =
                    if above { rect.top() + size.y / 2.0 - 2.0 } else { rect.bottom() - size.y / 2.0 + 2.0 };
                let least = groove.rect.left() - 16.0 + size.x / 2.0;
                let most = rect.right() - size.x / 2.0;
                let x = word.x.clamp(least, most.max(least));
                let frame = Align2::CENTER_CENTER.anchor_size(Pos2::new(x, y), size);
                let is_free = taken.iter().all(|t| !t.expand2(vec2(6.0, 0.0)).intersects(frame));
                is_free.then_some(frame)
            });
        if let Some(frame) = free {
            painter.galley(frame.min, galley, word.ink);
            taken.push(frame);
        }
    }
}
