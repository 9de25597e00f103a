//! Places that are pointed at, ghosts of pinned variants, the peak's label and the key: what lies over the ribbons.

use super::ink::ColourBy;
use super::key::Key;
use super::notes::{Obstacles, Peak, offset_place};
use super::readout::{self, Under};
use super::ribbon::{Look, Ribbon};
use super::sheet::Sheet;
use super::strip::Station;
use super::whole::all_points;
use super::{DrawingPanel, Picture};
use crate::session::{Command, Pointed, PointedBy, Session};
use crate::window::theme::Theme;
use egui::{Align2, Painter, Pos2, Rect, Response, Stroke, Ui, vec2};

/// Distance between the points of a ribbon that labels keep clear of, points on the screen.
const WAY_SPACING: f32 = 10.0;

impl DrawingPanel {
    /// Outlines of the pinned variants, at rest and at the stretch shown.
    pub(super) fn paint_ghosts(
        &mut self,
        painter: &Painter,
        sheet: &Sheet,
        session: &Session,
        picture: &Picture,
        theme: &Theme,
    ) {
        let scene = &picture.scene;
        for (pin, colour) in session.pins().iter().zip(theme.pins) {
            let stroke = Stroke::new(1.0, colour);
            let mut ghost = |stretch: f64, midline_um: f64| {
                let Ok(state) = self.states.at(&pin.checked, stretch) else { return };
                let width_um = pin.checked.width_um();
                let ribbon = Ribbon { state: &state, across: &[], width_um, midline_um };
                ribbon.paint(painter, sheet, Look::Outline(stroke));
                let at = sheet.pos(state.span_um, midline_um + state.amplitude_um) - vec2(0.0, 4.0);
                painter.text(at, Align2::RIGHT_BOTTOM, &pin.name, Theme::bold(11.0), colour);
            };
            if session.settings().rest_shown {
                ghost(0.0, scene.rest_midline_um);
            }
            ghost(session.stretch(), scene.stretched_midline_um);
        }
    }

    /// Rings round the place that some panel points at, on both ribbons.
    pub(super) fn paint_pointed(
        painter: &Painter,
        sheet: &Sheet,
        session: &Session,
        picture: &Picture,
        theme: &Theme,
    ) {
        let Some(pointed) = session.pointed() else { return };
        let rest = session.settings().rest_shown.then(|| picture.rest_ribbon());
        for ribbon in rest.into_iter().chain(picture.stretched_ribbon()) {
            let Some(point) = ribbon.state.at(pointed.s_um) else { continue };
            let at = offset_place(&point, pointed.offset_um, ribbon.midline_um, sheet);
            let radius = (sheet.points(ribbon.width_um) / 2.0).clamp(4.0, 9.0);
            painter.circle_stroke(at, radius + 1.0, Stroke::new(3.0, theme.canvas));
            painter.circle_stroke(at, radius + 1.0, Stroke::new(1.6, theme.accent));
            painter.circle_filled(at, 1.6, theme.accent);
        }
    }

    pub(super) fn key_ui(&mut self, ui: &mut Ui, canvas: Rect, picture: &Picture, theme: &Theme) -> Rect {
        let peak = picture.stretched.as_ref().map_or(0.0, |shown| {
            all_points(&shown.state).map(|p| picture.ink.worst(&Station::of(&p), 1.0)).fold(0.0, f64::max)
        });
        let key = Key {
            ink: &picture.ink,
            has_above: peak > 1.0,
            mark: picture.allowed_loss.filter(|_| picture.ink.by() == ColourBy::Loss),
            has_light: picture.checked.light().is_some(),
        };
        key.ui(ui, canvas, &mut self.colour_by, theme)
    }

    /// The label of the place that sees most; not while a handle is in the hand or while something is impossible.
    pub(super) fn paint_peak(
        &mut self,
        painter: &Painter,
        sheet: &Sheet,
        session: &Session,
        picture: &Picture,
        taken: &[Rect],
        theme: &Theme,
    ) {
        if self.gesture.is_some() || !session.faults().is_empty() {
            return;
        }
        let Some(ribbon) = picture.stretched_ribbon() else { return };
        let assessment = session.assessment().filter(|_| !session.assessment_is_stale());
        if let Some(peak) =
            Peak::find(&picture.checked, ribbon.state, &picture.ink, assessment.map(AsRef::as_ref))
        {
            let mut way = ribbon.way_points(sheet, WAY_SPACING);
            if session.settings().rest_shown {
                way.extend(picture.rest_ribbon().way_points(sheet, WAY_SPACING));
            }
            let body = sheet.rect(&ribbon.extent());
            let keep_clear = Obstacles { body, rects: taken, points: &way };
            peak.paint(painter, sheet, &ribbon, &keep_clear, &mut self.label, theme);
        }
    }

    /// The read-out of what lies under the cursor, told to the other panels too.
    #[expect(clippy::too_many_arguments, reason = "a step of `ui` that reads everything the frame has")]
    pub(super) fn look_under(
        &self,
        ground: &Response,
        painter: &Painter,
        sheet: &Sheet,
        session: &Session,
        picture: &Picture,
        over: Option<Pos2>,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let is_moving = ground.dragged();
        let under = over.map(|pos| {
            Under::find(
                pos,
                sheet,
                &picture.scene,
                session.settings().rest_shown.then_some(&*picture.rest),
                picture.stretched.as_ref().ok().map(|shown| &*shown.state),
                picture.checked.width_um(),
            )
        });
        let words = under.map_or_else(Vec::new, |u| {
            u.words(picture.checked.width_um(), picture.checked.light().is_some())
        });
        readout::paint(painter, sheet, theme, &words);
        let pointed = under.filter(|_| !is_moving && self.gesture.is_none()).and_then(|u| u.pointed());
        let is_ours = session.pointed().is_some_and(|p| p.source == PointedBy::Drawing);
        let is_news = |new: &Pointed| session.pointed() != Some(new);
        match pointed {
            Some(new) if is_news(&new) => out.push(Command::Point(Some(new))),
            None if is_ours => out.push(Command::Point(None)),
            _ => {}
        }
    }
}
