//! The oblique view: the ribbon in space with its shadow, heights and islands, turned by hand.

mod camera;
mod ground;
mod solid;

use super::Picture;
use super::readout;
use super::ruler;
use super::sheet::{Extent, Sheet};
use super::steps::length_text;
use super::whole::flat_form;
use crate::session::{Command, Pointed, PointedBy, Session, View};
use crate::window::theme::Theme;
use camera::Camera;
use egui::{CursorIcon, EventFilter, Key, PointerButton, Pos2, Rect, Response, Stroke, Ui, Vec2};
use ground::Ground;
use ogee_design::{FormKind, FormPoint, RibbonForm, RibbonPath};
use solid::{Pens, Solid, station};
use std::sync::Arc;

/// Turn for each point that the pointer moves, rad.
const TURN: f64 = 0.006;
/// Turn for each press of an arrow key, rad.
const KEY_TURN: f64 = 0.07;
/// How near the pointer means the ribbon, points.
const REACH: f32 = 9.0;
/// Share of the span that height and depth together take up when heights are chosen automatically.
const HEIGHT_SHARE: f64 = 0.2;
/// Largest factor on heights.
pub(super) const MOST_HEIGHTS: u8 = 10;
/// Most points of a repeated period's ribbon.
const MOST_POINTS: usize = 4000;

/// The factor on heights.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Heights {
    /// As large as looks well.
    #[default]
    Automatic,
    /// Chosen by hand, 1 to [`MOST_HEIGHTS`].
    Times(u8),
}

/// The oblique view. It keeps the point of view.
#[derive(Debug, Default)]
pub(super) struct Oblique {
    camera: Camera,
    pub(super) heights: Heights,
    view: Option<View>,
    /// The view was moved by hand since it last showed everything.
    is_moved: bool,
    /// Reach of the forms up to the target, for a picture that stays while the stretch plays.
    reach: Option<(Arc<RibbonPath>, Reach)>,
}

/// How far a ribbon reaches out of its plane and across it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Reach {
    /// Height over the plane and depth below it, µm.
    heights_um: [f64; 2],
    /// Lowest and highest place across the span, µm.
    across_um: [f64; 2],
}

impl Reach {
    fn of(forms: &[RibbonForm], most_stretch: f64, width_um: f64) -> Self {
        let mut reach = Self::default();
        for form in forms.iter().filter(|f| f.stretch <= most_stretch * (1.0 + 1e-9) + 1e-9) {
            reach = reach.with(form, width_um);
        }
        reach
    }

    fn with(mut self, form: &RibbonForm, width_um: f64) -> Self {
        let [above, below] = form.heights_um(width_um);
        self.heights_um = [self.heights_um[0].max(above), self.heights_um[1].max(below)];
        for p in &form.points {
            let y = p.position_um[1];
            let half = 0.5 * width_um * p.across[1].abs();
            self.across_um = [self.across_um[0].min(y - half), self.across_um[1].max(y + half)];
        }
        self
    }
}

impl Oblique {
    /// Shows the whole ribbon in the next frame.
    pub(super) fn fit(&mut self) {
        self.is_moved = false;
        self.view = None;
    }

    /// The factor on heights that is in force.
    pub(super) fn factor(&self) -> f64 {
        self.camera.heights
    }

    /// Paints the view and takes the hand's turns.
    #[expect(clippy::too_many_arguments, reason = "everything that a frame of the drawing has")]
    pub(super) fn ui(
        &mut self,
        ui: &Ui,
        ground: &Response,
        session: &Session,
        picture: &Picture,
        canvas: Rect,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let Ok(shown) = &picture.stretched else {
            return;
        };
        let form = shown.form.clone().unwrap_or_else(|| Arc::new(flat_form(&shown.state, MOST_POINTS)));
        let width_um = picture.checked.width_um();
        let reach = self.reach(session, picture, &form, width_um);
        let rest_span = picture.checked.centreline().span_um();
        let far = rest_span * (1.0 + picture.checked.target_stretch()).max(1.0 + form.stretch);
        self.camera.pivot_um = [0.5 * far, 0.0];
        self.camera.heights = factor(self.heights, reach.heights_um, far);
        let plate_um = picture.scene.plate_um();
        let turn_rad = picture.checked.design().support.turn_deg.to_radians();
        let scene = Ground { form: &form, plate_um, turn_rad, far_um: far, across_um: reach.across_um };

        self.turn(ui, ground);
        let mut sheet = self.sheet(&scene, reach, canvas);
        let over = self.navigate(ui, ground, &mut sheet);
        let camera = self.camera;

        let painter = ui.painter_at(canvas);
        let mut inner = painter.clone();
        inner.multiply_opacity(if session.faults().is_empty() { 1.0 } else { 0.5 });
        let solid = Solid::new(&form.points, width_um, &camera, &sheet);
        scene.paint(&inner, &camera, &sheet, theme);
        let [above, below] = form.heights_um(width_um);
        if above.max(below) > 1e-6 * width_um {
            let shade = theme.canvas.lerp_to_gamma(theme.muted, 0.22);
            inner.add(Solid::shadow(&form.points, width_um, &camera, &sheet, shade));
        }
        scene.paint_plates(&inner, &camera, &sheet, theme);
        let pens = Pens {
            line: theme.line_strong,
            mark: theme.bad,
            hatch: crate::window::colour_scale::ink_on(picture.ink.scale().colour(1.0)),
        };
        inner.add(solid.mesh(&picture.ink, pens, canvas));
        let stack = &picture.checked.design().stack;
        let thickness_um = stack.layers.iter().map(|layer| layer.thickness_um).sum::<f64>();
        scene.paint_heights(&painter, &camera, &sheet, [width_um, thickness_um], theme);
        if let Some(pointed) = session.pointed() {
            let side = (2.0 * pointed.offset_um / width_um) as f32;
            if let Some(at) = solid.place(pointed.s_um, side) {
                painter.circle_stroke(at, 6.0, Stroke::new(3.0, theme.canvas));
                painter.circle_stroke(at, 6.0, Stroke::new(1.6, theme.accent));
                painter.circle_filled(at, 1.6, theme.accent);
            }
        }
        ruler::paint_scale_bar(&painter, &sheet, theme);
        let under = over
            .filter(|_| !ground.dragged())
            .and_then(|at| solid.nearest(at))
            .filter(|(_, beside)| *beside <= REACH)
            .map(|(point, _)| point);
        let words = under.as_ref().map_or_else(
            || vec![("", caption(&form))],
            |point| words(point, picture.checked.light().is_some()),
        );
        readout::paint(&painter, &sheet, theme, &words);
        point(session, under.as_ref(), out);
    }

    fn reach(&mut self, session: &Session, picture: &Picture, form: &RibbonForm, width_um: f64) -> Reach {
        let kept = match (session.path_of_checked(), &self.reach) {
            (Some(path), Some((of, reach))) if Arc::ptr_eq(path, of) => *reach,
            (Some(path), _) => {
                let reach = Reach::of(path.forms(), picture.checked.target_stretch(), width_um);
                self.reach = Some((Arc::clone(path), reach));
                reach
            }
            // Until the new path is there the last one tells how large the picture will be.
            (None, Some((_, reach))) => *reach,
            (None, None) => Reach::default(),
        };
        kept.with(form, width_um)
    }

    /// The sheet of this frame: the fitted one until the hand moves it.
    fn sheet(&mut self, scene: &Ground<'_>, reach: Reach, canvas: Rect) -> Sheet {
        if self.is_moved
            && let Some(view) = self.view
        {
            return Sheet::new(view, canvas);
        }
        let mut extent: Option<Extent> = None;
        for corner in scene.corners(reach.heights_um) {
            let at = self.camera.sheet(corner);
            let e = extent.get_or_insert(Extent { low: at, high: at });
            for (i, place) in at.into_iter().enumerate() {
                e.low[i] = e.low[i].min(place);
                e.high[i] = e.high[i].max(place);
            }
        }
        let extent = extent.unwrap_or(Extent { low: [0.0, 0.0], high: [1.0, 1.0] });
        let sheet = Sheet::fit(&extent, canvas, super::PADDING);
        self.view = Some(sheet.view());
        sheet
    }

    /// Turns the view: a drag on the ground, or arrow keys while it has the focus.
    fn turn(&mut self, ui: &Ui, ground: &Response) {
        if ground.clicked() || ground.drag_started() {
            ground.request_focus();
        }
        let is_pan = ui.input(|i| i.key_down(Key::Space) || i.modifiers.shift);
        if ground.dragged_by(PointerButton::Primary) && !is_pan {
            let by = ground.drag_delta();
            self.camera.turn(TURN * f64::from(by.x), TURN * f64::from(by.y));
            ui.set_cursor_icon(CursorIcon::Grabbing);
        }
        if ground.has_focus() {
            let filter =
                EventFilter { horizontal_arrows: true, vertical_arrows: true, ..EventFilter::default() };
            ui.memory_mut(|memory| memory.set_focus_lock_filter(ground.id, filter));
            let (right, up) = ui.input(|i| {
                let count = |key| i.num_presses(key) as f64;
                (count(Key::ArrowRight) - count(Key::ArrowLeft), count(Key::ArrowUp) - count(Key::ArrowDown))
            });
            self.camera.turn(KEY_TURN * right, KEY_TURN * up);
        }
    }

    /// Wheel, pinch, middle drag and double click. Returns where the pointer is over the drawing.
    fn navigate(&mut self, ui: &Ui, ground: &Response, sheet: &mut Sheet) -> Option<Pos2> {
        let (over, mut moved) = super::wheel(ui, sheet);
        let is_pan = ui.input(|i| i.key_down(Key::Space) || i.modifiers.shift);
        let pulls = |button| ground.dragged_by(button);
        if pulls(PointerButton::Middle)
            || pulls(PointerButton::Secondary)
            || (is_pan && pulls(PointerButton::Primary))
        {
            let by: Vec2 = ground.drag_delta();
            moved |= sheet.pan(by);
        }
        if moved {
            self.is_moved = true;
            self.view = Some(sheet.view());
        }
        if ground.double_clicked() {
            self.fit();
            ui.ctx().request_repaint();
        }
        over
    }
}

/// Tells the other panels what lies under the pointer.
fn point(session: &Session, under: Option<&FormPoint>, out: &mut Vec<Command>) {
    let new = under.map(|p| Pointed { s_um: p.s_um, offset_um: 0.0, source: PointedBy::Drawing });
    let is_ours = session.pointed().is_some_and(|p| p.source == PointedBy::Drawing);
    match new {
        Some(new) if session.pointed() != Some(&new) => out.push(Command::Point(Some(new))),
        None if is_ours => out.push(Command::Point(None)),
        _ => {}
    }
}

/// The factor on heights for a ribbon that reaches out of its plane as far as `heights_um`.
fn factor(heights: Heights, heights_um: [f64; 2], span_um: f64) -> f64 {
    let most = heights_um[0] + heights_um[1];
    match heights {
        Heights::Times(times) => f64::from(times.clamp(1, MOST_HEIGHTS)),
        Heights::Automatic if most > 1e-4 * span_um => {
            (HEIGHT_SHARE * span_um / most).round().clamp(1.0, f64::from(MOST_HEIGHTS))
        }
        Heights::Automatic => 1.0,
    }
}

/// What is seen, while nothing is pointed at.
fn caption(form: &RibbonForm) -> String {
    let percent = ogee_design::digits_text((form.stretch.abs() * 1000.0).round() / 10.0, 4);
    let word = if form.stretch < 0.0 { "compressed" } else { "stretched" };
    let state = match form.kind {
        FormKind::Flat => "flat",
        FormKind::Buckled => "out of its plane",
        FormKind::Bonded => "bonded",
    };
    format!("{word} {percent} % · {state}")
}

/// The read-out of one place.
fn words(point: &FormPoint, has_light: bool) -> Vec<(&'static str, String)> {
    let mut words = vec![("along", length_text(point.s_um)), ("height", length_text(point.position_um[2]))];
    let curvature = point.curvature_in_per_um.hypot(point.curvature_out_per_um) / (1.0 + point.axial_strain);
    let radius = if curvature < 1e-7 { "straight".to_owned() } else { length_text(1.0 / curvature) };
    words.push(("radius", radius));
    let [left, centre, right] = station(point).strain;
    words.push(("strain", format!("{:.2} %", 100.0 * left.max(right).max(centre))));
    if has_light {
        words.push(("loss", format!("{} dB/cm", ogee_design::digits_text(point.loss_db_per_cm, 2))));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::super::ink::Ink;
    use super::super::whole::tests::buckled;
    use super::*;
    use crate::window::colour_scale::Palette;
    use egui::{Color32, pos2, vec2};

    fn seen(stretch: f64) -> (Solid, Ink, Rect) {
        let (checked, path) = buckled(200.0, 0.06);
        let form = path.form(stretch).expect("within the path");
        let canvas = Rect::from_min_size(pos2(0.0, 0.0), vec2(900.0, 500.0));
        let camera = Camera {
            pivot_um: [0.5 * checked.centreline().span_um(), 0.0],
            heights: 3.0,
            ..Camera::default()
        };
        let scale = 500.0 / checked.centreline().span_um();
        let sheet = Sheet::new(View { scale, ..View::default() }, canvas);
        let solid = Solid::new(&form.points, checked.width_um(), &camera, &sheet);
        (solid, Ink::strain(&checked, Palette::Cividis, false), canvas)
    }

    #[test]
    fn the_band_is_drawn_from_far_to_near_without_gaps() {
        let (solid, ink, canvas) = seen(0.3);
        let pens = Pens { line: Color32::GRAY, mark: Color32::RED, hatch: Color32::WHITE };
        let mesh = solid.mesh(&ink, pens, canvas);
        assert!(mesh.is_valid() && !mesh.is_empty());
        assert!(mesh.vertices.iter().all(|v| v.pos.x.is_finite() && v.pos.y.is_finite()));
        let longest = solid.slices.windows(2).map(|p| p[0].centre.distance(p[1].centre)).fold(0.0, f32::max);
        assert!(longest < 12.0, "{longest}");
    }

    #[test]
    fn a_place_is_found_again_under_the_pointer() {
        let (solid, ..) = seen(0.3);
        let slice = &solid.slices[solid.slices.len() / 3];
        let at = solid.place(slice.point.s_um, 0.0).expect("it has places");
        let (point, beside) = solid.nearest(at).expect("it has places");
        assert!(beside == 0.0 && (point.s_um - slice.point.s_um).abs() < 1e-6);
    }

    #[test]
    fn heights_are_enlarged_to_be_seen_and_never_beyond_the_limit() {
        assert_eq!(factor(Heights::Automatic, [0.0, 0.0], 1000.0), 1.0);
        assert_eq!(factor(Heights::Automatic, [50.0, 50.0], 1000.0), 2.0);
        assert_eq!(factor(Heights::Automatic, [0.0, 1.0], 1000.0), 10.0);
        assert_eq!(factor(Heights::Automatic, [900.0, 0.0], 1000.0), 1.0);
        assert_eq!(factor(Heights::Times(40), [900.0, 0.0], 1000.0), 10.0);
    }
}
