//! The drawing: the ribbon at rest and stretched, to scale in one view, with its dimensions as handles.
//!
//! Everything is placed in `f64` on a [`sheet`](sheet::Sheet) and becomes `f32` only as screen points.
//! A drag sends a preview for each frame and one commit on release.

mod angle;
mod band;
mod gesture;
mod handles;
mod ink;
mod key;
mod notes;
mod oblique;
mod point;
mod readout;
mod ribbon;
mod ruler;
mod scene;
pub(super) mod settle;
mod sheet;
mod states;
pub(super) mod steps;
mod strip;
mod touch;
pub(super) mod value_box;
mod whole;

use super::colour_scale::Palette;
use super::theme::Theme;
use crate::session::{ColourMap, Command, Session, View};
use angle::Angle;
use egui::{Painter, Pos2, Rect, Sense, Stroke, StrokeKind, Ui};
use gesture::Gesture;
use ink::{ColourBy, Ink};
use oblique::Oblique;
use ogee_design::{Checked, PeriodState};
use ribbon::{Look, Ribbon};
use scene::{PADDING, Scene};
use sheet::{Extent, Sheet};
use states::States;
use std::sync::Arc;
use touch::Last;
use value_box::Typing;
use whole::{Shown, all_points};

/// Smallest canvas that is drawn on, points.
const LEAST_CANVAS: f32 = 60.0;
/// How far a fitted drawing may grow beyond the canvas, points, before the view gives way.
const OVERHANG: f32 = 1.0;
/// Seconds in which a fitted view comes within a third of its goal.
const GLIDE_S: f64 = 0.05;
/// Share of the free room below which a drawing that was fitted is fitted again after an edit.
const SMALL_SHARE: f64 = 0.75;

/// The drawing panel. It keeps the view, the drag and half-typed values; everything else is the session's.
#[derive(Debug, Default)]
pub struct DrawingPanel {
    view: Option<View>,
    /// The view shows everything and was not moved by hand since.
    is_fitted: bool,
    /// A fit was asked for.
    wants_fit: bool,
    /// Where the view glides to.
    goal: Option<View>,
    canvas: Option<Rect>,
    fitted_revision: u64,
    colour_by: ColourBy,
    states: States,
    gesture: Option<Gesture>,
    last: Option<Last>,
    typing: Option<Typing>,
    /// Where the peak's label stands, relative to the peak.
    label: Option<egui::Vec2>,
    angle: Angle,
    oblique: Oblique,
}

/// What one frame draws.
struct Picture {
    checked: Arc<Checked>,
    scene: Scene,
    rest: Arc<PeriodState>,
    stretched: Result<Shown, String>,
    ink: Ink,
    /// Loss density allowed on average, dB/cm.
    allowed_loss: Option<f64>,
}

impl Picture {
    fn rest_ribbon(&self) -> Ribbon<'_> {
        Ribbon {
            state: &self.rest,
            across: &[],
            width_um: self.checked.width_um(),
            midline_um: self.scene.rest_midline_um,
        }
    }

    fn stretched_ribbon(&self) -> Option<Ribbon<'_>> {
        let Shown { state, across, .. } = self.stretched.as_ref().ok()?;
        let midline_um = self.scene.stretched_midline_um;
        Some(Ribbon { state, across, width_um: self.checked.width_um(), midline_um })
    }

    /// What a fitted view shows: both ribbons, and the target even while less is shown.
    fn extent(&self) -> Extent {
        let at_target = self.rest.span_um * (1.0 + self.checked.target_stretch());
        let shown = self.stretched.as_ref().map_or(0.0, |s| s.state.span_um);
        self.scene.extent(&self.rest, shown.max(at_target))
    }
}

impl DrawingPanel {
    /// Shows the whole drawing in the next frame.
    pub fn fit(&mut self) {
        self.wants_fit = true;
        self.oblique.fit();
    }

    /// Changes between plan and oblique view.
    pub fn switch_view(&mut self) {
        self.angle = self.angle.other();
    }

    /// Shows the panel in the room that is left in `ui`, and pushes what the hand does to `out`.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let canvas = ui.available_rect_before_wrap();
        let ground = ui.interact(canvas, ui.scope_id().with("drawing"), Sense::CLICK | Sense::DRAG);
        ui.advance_cursor_after_rect(canvas);
        if canvas.width() < LEAST_CANVAS || canvas.height() < LEAST_CANVAS {
            return;
        }
        ground.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Canvas, true, "drawing"));
        let painter = ui.painter_at(canvas);
        painter.rect_filled(canvas, 4.0, theme.canvas);
        let picture = session.checked().and_then(|checked| self.picture(checked, session, canvas, theme));
        let Some(picture) = picture else {
            self.view = None;
            notes::notice_ui(ui, canvas, session, theme, out);
            return;
        };
        ui.accesskit_node_builder(ground.id, |node| node.set_value(spoken(&picture)));
        if self.angle == Angle::Oblique && picture.stretched.is_ok() {
            self.gesture = None;
            self.oblique.ui(ui, &ground, session, &picture, canvas, theme, out);
            self.key_ui(ui, canvas, &picture, theme);
            angle::switch(ui, canvas, &mut self.angle, theme);
            let factor = self.oblique.factor();
            angle::heights(ui, canvas, &mut self.oblique.heights, factor, theme);
            notes::notice_ui(ui, canvas, session, theme, out);
            painter.rect_stroke(canvas, 4.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
            return;
        }
        let mut sheet = self.sheet(ui, session, &picture, canvas);
        let over = self.navigate(ui, &ground, &mut sheet, &picture);
        ruler::paint_grid(&painter, &sheet, theme);
        // What is impossible shows the last possible design, faded.
        let mut inner = painter.clone();
        inner.multiply_opacity(if session.faults().is_empty() { 1.0 } else { 0.5 });
        let mut taken = self.paint_ribbons(&inner, &sheet, session, &picture, theme);
        Self::paint_pointed(&painter, &sheet, session, &picture, theme);
        taken.push(ruler::paint_scale_bar(&painter, &sheet, theme));
        taken.push(self.key_ui(ui, canvas, &picture, theme));
        taken.push(angle::switch(ui, canvas, &mut self.angle, theme));
        self.paint_peak(&painter, &sheet, session, &picture, &taken, theme);
        if session.faults().is_empty() {
            if session.settings().rest_shown {
                self.handles_ui(ui, &sheet, session, &picture, theme, out);
            }
        } else {
            self.gesture = None;
        }
        self.look_under(&ground, &painter, &sheet, session, &picture, over, theme, out);
        notes::notice_ui(ui, canvas, session, theme, out);
        painter.rect_stroke(canvas, 4.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
    }

    fn picture(
        &mut self,
        checked: &Arc<Checked>,
        session: &Session,
        canvas: Rect,
        theme: &Theme,
    ) -> Option<Picture> {
        self.states.adopt_tables(session.caches());
        let rest = self.states.at(checked, 0.0).ok()?;
        let stretched = self.states.shown(checked, session.path_of_checked(), session.stretch());
        let size = [f64::from(canvas.width()), f64::from(canvas.height())];
        let scene = Scene::new(checked, &rest, size);
        let palette = match session.settings().colour_map {
            ColourMap::Cividis => Palette::Cividis,
            ColourMap::Viridis => Palette::Viridis,
        };
        let light = checked.light();
        let allowed_loss =
            light.map(|l| l.insertion_loss_limit_db / (checked.centreline().contour_length_um() * 1e-4));
        let ink = if self.colour_by == ColourBy::Loss && light.is_some() {
            let target = self.states.at(checked, checked.target_stretch());
            let seen = [Some(&rest), target.as_ref().ok()].into_iter().flatten();
            let most = seen.flat_map(|s| all_points(s).map(|p| p.loss_db_per_cm)).fold(0.0, f64::max);
            Ink::loss(steps::step_at_least(most.max(allowed_loss.unwrap_or(0.0))), palette, theme.dark)
        } else {
            Ink::strain(checked, palette, theme.dark)
        };
        Some(Picture { checked: Arc::clone(checked), scene, rest, stretched, ink, allowed_loss })
    }

    /// The sheet of this frame: kept, grown so that everything fits, or on its way to a new fit.
    fn sheet(&mut self, ui: &Ui, session: &Session, picture: &Picture, canvas: Rect) -> Sheet {
        let extent = picture.extent();
        let fit = Sheet::fit(&extent, canvas, PADDING);
        let is_resized = self.canvas != Some(canvas);
        self.canvas = Some(canvas);
        let Some(view) = self.view.filter(|_| !(is_resized && self.is_fitted)) else {
            self.fitted_revision = session.revision();
            self.is_fitted = true;
            self.wants_fit = false;
            self.goal = None;
            self.view = Some(fit.view());
            return fit;
        };
        let mut sheet = Sheet::new(view, canvas);
        let is_free = self.gesture.is_none() && !session.in_gesture();
        if std::mem::take(&mut self.wants_fit) {
            self.goal = Some(fit.view());
            self.is_fitted = true;
        } else if self.is_fitted && is_free {
            let room = Sheet::fit(&extent, canvas, scene::Padding { sides: 8.0, top: 30.0, bottom: 50.0 });
            if session.revision() != self.fitted_revision {
                // After an edit: only where the drawing has outgrown the canvas or got small on it.
                let is_small = sheet.scale() < SMALL_SHARE * fit.scale();
                if is_small || !sheet.holds(&extent, OVERHANG) || sheet.scale() > room.scale() {
                    self.goal = Some(fit.view());
                }
                self.fitted_revision = session.revision();
            } else if self.goal.is_none() && !sheet.holds(&extent, OVERHANG) {
                sheet = fit;
            }
        }
        if let Some(goal) = self.goal {
            let seconds = f64::from(ui.input(|i| i.stable_dt)).min(0.25);
            let (view, is_there) = glide(sheet.view(), goal, 1.0 - (-seconds / GLIDE_S).exp());
            sheet = Sheet::new(view, canvas);
            if is_there {
                self.goal = None;
            } else {
                ui.ctx().request_repaint();
            }
        }
        self.view = Some(sheet.view());
        sheet
    }

    /// Wheel, trackpad, pinch, drag on the ground and double click. Returns where the pointer is over the drawing.
    fn navigate(
        &mut self,
        ui: &Ui,
        ground: &egui::Response,
        sheet: &mut Sheet,
        picture: &Picture,
    ) -> Option<Pos2> {
        let canvas = sheet.canvas();
        let (over, mut moved) = wheel(ui, sheet);
        if ground.dragged() {
            moved |= sheet.pan(ground.drag_delta());
            ui.set_cursor_icon(egui::CursorIcon::Grabbing);
        } else if over.is_some() && ui.input(|i| i.key_down(egui::Key::Space)) {
            ui.set_cursor_icon(egui::CursorIcon::Grab);
        }
        if moved {
            self.is_fitted = false;
            self.goal = None;
            self.view = Some(sheet.view());
        }
        if ground.double_clicked() {
            self.is_fitted = true;
            self.goal = Some(Sheet::fit(&picture.extent(), canvas, PADDING).view());
            ui.ctx().request_repaint();
        }
        over
    }

    /// Moves the paper by a distance on the screen; seen from the next frame on.
    fn pan_view(&mut self, delta: egui::Vec2) {
        if let Some(view) = &mut self.view
            && view.pan([f64::from(delta.x), f64::from(delta.y)])
        {
            self.is_fitted = false;
            self.goal = None;
        }
    }

    /// Plates, ghosts, both ribbons and their captions. Returns what labels should keep clear of.
    fn paint_ribbons(
        &mut self,
        painter: &Painter,
        sheet: &Sheet,
        session: &Session,
        picture: &Picture,
        theme: &Theme,
    ) -> Vec<Rect> {
        let mut taken = Vec::new();
        let rest_shown = session.settings().rest_shown;
        let scene = &picture.scene;
        let mut plates = |state: &PeriodState, midline: f64, faded: bool| {
            for (plate, name) in scene.plates(state, midline).iter().zip(["source", "read-out"]) {
                let rect = sheet.rect(&plate.extent);
                notes::paint_plate(painter, rect, name, theme, faded);
                taken.push(rect);
            }
        };
        if rest_shown {
            plates(&picture.rest, scene.rest_midline_um, true);
        }
        if let Ok(Shown { state, .. }) = &picture.stretched {
            plates(state, scene.stretched_midline_um, false);
        }
        if rest_shown {
            picture.rest_ribbon().paint(painter, sheet, Look::Plain(theme.rest_fill));
            let words = format!("at rest · span {}", steps::length_text(picture.rest.span_um));
            taken.extend(caption(painter, sheet, scene, scene.rest_midline_um, &words, theme.muted, theme));
        }
        if let Some(ribbon) = picture.stretched_ribbon() {
            // A whole ribbon has its ends in it.
            let repeats = ribbon.state.whole_periods > 0;
            let factor = session.live_assessment().filter(|_| repeats).map_or(1.0, |a| a.stretch.end_factor);
            let look = Look::Inked {
                ink: &picture.ink,
                end_factor: factor,
                edge: Stroke::new(0.8, theme.line_strong),
                hatch: Stroke::new(1.2, super::colour_scale::ink_on(picture.ink.scale().colour(1.0))),
                mark: Stroke::new(1.8, theme.bad),
            };
            ribbon.paint(painter, sheet, look);
        }
        self.paint_ghosts(painter, sheet, session, picture, theme);
        let words = match &picture.stretched {
            Ok(shown) => notes::stretched_caption(shown),
            Err(why) => format!("no shape at this stretch: {why}"),
        };
        taken.extend(caption(painter, sheet, scene, scene.stretched_midline_um, &words, theme.text, theme));
        taken
    }
}

/// Wheel, trackpad and pinch. Returns where the pointer is over the drawing, and whether it moved the sheet.
fn wheel(ui: &Ui, sheet: &mut Sheet) -> (Option<Pos2>, bool) {
    let canvas = sheet.canvas();
    let over = ui
        .input(|i| i.pointer.hover_pos())
        .filter(|p| canvas.contains(*p) && ui.rect_contains_pointer(canvas));
    let mut moved = false;
    if let Some(pos) = over {
        let (scroll, zoom, source) =
            ui.input(|i| (i.smooth_scroll_delta(), f64::from(i.zoom_delta()), i.scroll_source()));
        let mut factor = zoom;
        if source == Some(egui::MouseWheelSource::Trackpad) {
            moved |= sheet.pan(scroll);
        } else {
            factor *= (f64::from(scroll.y) / 220.0).exp();
            moved |= sheet.pan(egui::vec2(scroll.x, 0.0));
        }
        moved |= sheet.zoom_about(pos, factor);
    }
    (over, moved)
}

/// A caption below a ribbon, at the left; none where it would be off the canvas. Returns what it covers.
fn caption(
    painter: &Painter,
    sheet: &Sheet,
    scene: &Scene,
    midline_um: f64,
    words: &str,
    ink: egui::Color32,
    theme: &Theme,
) -> Option<Rect> {
    let mut at = sheet.pos(scene.extent_left(), scene.foot_um(midline_um)) + egui::vec2(0.0, 7.0);
    if !sheet.canvas().expand2(egui::vec2(0.0, -10.0)).y_range().contains(at.y) {
        return None;
    }
    at.x = at.x.max(sheet.canvas().left() + 14.0);
    Some(notes::paint_caption(painter, at, words, ink, theme.canvas))
}

/// `from` on its way to `to`, `share` of the rest of the way; and whether it has come there.
fn glide(from: View, to: View, share: f64) -> (View, bool) {
    let gap = (to.scale / from.scale).ln();
    let apart = (0..2).map(|i| (to.centre_um[i] - from.centre_um[i]).abs()).fold(0.0, f64::max) * to.scale;
    if gap.abs() < 2e-3 && apart < 0.5 {
        return (to, true);
    }
    let mix = |i: usize| from.centre_um[i] + share * (to.centre_um[i] - from.centre_um[i]);
    (View { centre_um: [mix(0), mix(1)], scale: from.scale * (share * gap).exp(), ..from }, false)
}

/// The drawing in one sentence, for those who do not see it.
fn spoken(picture: &Picture) -> String {
    let shape = &picture.checked.design().shape;
    let rest = steps::length_text(picture.rest.span_um);
    let stretched = picture.stretched.as_ref().map_or_else(Clone::clone, notes::stretched_caption);
    format!(
        "{} periods of {}, at rest with a span of {rest}, {stretched}",
        shape.periods,
        shape.family.label()
    )
}
