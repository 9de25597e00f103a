//! What the ribbon stands over: the plane of the islands with its grid, the islands, and lines to the outermost heights.

use super::super::notes::paint_backed;
use super::super::sheet::Sheet;
use super::super::steps::{length_text, step_at_least};
use super::camera::Camera;
use super::solid::polygon;
use crate::window::theme::Theme;
use egui::{Align2, FontId, Painter, Pos2, Shape, Stroke, vec2};
use ogee_design::{FormPoint, RibbonForm};

/// Least distance between two lines of the grid, points.
const GRID_SPACING: f64 = 42.0;
/// Thickness of an island, points.
const THICKNESS: f64 = 7.0;
/// Smallest height that is worth a line, points on the screen.
const LEAST_HEIGHT: f32 = 4.0;

/// What the ribbon stands over.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ground<'a> {
    /// The ribbon.
    pub form: &'a RibbonForm,
    /// Width and height of a plate, µm.
    pub plate_um: [f64; 2],
    /// Turn of the far island, rad.
    pub turn_rad: f64,
    /// Far end of the span, µm.
    pub far_um: f64,
    /// Least and greatest place across the span, µm.
    pub across_um: [f64; 2],
}

impl Ground<'_> {
    /// Half the width of the ground and its middle, across the span.
    fn across(&self) -> [f64; 2] {
        let half = 0.5 * self.plate_um[1];
        [self.across_um[0].min(-half), self.across_um[1].max(half)]
    }

    /// Corners of everything that is seen, for a ribbon of the given height and depth.
    pub(super) fn corners(&self, heights_um: [f64; 2]) -> impl Iterator<Item = [f64; 3]> {
        let [low, high] = self.across();
        let (left, right) = (-self.plate_um[0], self.far_um + self.plate_um[0]);
        let [above, below] = heights_um;
        let flat = [[left, low], [left, high], [right, low], [right, high]];
        // Heights are greatest in the middle of the span, not over the islands.
        let inner = [[0.0, low], [0.0, high], [self.far_um, low], [self.far_um, high]];
        flat.into_iter()
            .map(|[x, y]| [x, y, 0.0])
            .chain(inner.into_iter().flat_map(move |[x, y]| [[x, y, above], [x, y, -below]]))
    }

    /// The plane of the islands.
    pub(super) fn paint(&self, painter: &Painter, camera: &Camera, sheet: &Sheet, theme: &Theme) {
        let [low, high] = self.across();
        let room = 0.25 * (high - low);
        let (y0, y1) = (low - room, high + room);
        let (x0, x1) = (-1.3 * self.plate_um[0], self.far_um + 1.3 * self.plate_um[0]);
        let plane = polygon([[x0, y0, 0.0], [x1, y0, 0.0], [x1, y1, 0.0], [x0, y1, 0.0]], camera, sheet);
        painter.add(Shape::convex_polygon(plane, theme.paper, Stroke::new(1.0, theme.grid)));
        let step = step_at_least(GRID_SPACING / sheet.scale());
        let lines = |from: f64, to: f64| ((from / step).ceil() as i64)..=((to / step).floor() as i64);
        let stroke = Stroke::new(1.0, theme.grid);
        let at = |x: f64, y: f64| place(camera, sheet, [x, y, 0.0]);
        // A canvas holds a few dozen of them; more means that nearly all lie outside.
        for i in lines(x0, x1).take(400) {
            let x = i as f64 * step;
            painter.line_segment([at(x, y0), at(x, y1)], stroke);
        }
        for i in lines(y0, y1).take(400) {
            let y = i as f64 * step;
            painter.line_segment([at(x0, y), at(x1, y)], stroke);
        }
    }

    /// The islands.
    pub(super) fn paint_plates(&self, painter: &Painter, camera: &Camera, sheet: &Sheet, theme: &Theme) {
        let end = |p: Option<&FormPoint>| p.map_or([0.0; 3], |p| p.position_um);
        let near = end(self.form.points.first());
        let far = end(self.form.points.last());
        let mut plates = [(near, -1.0, 0.0, "source"), (far, 1.0, self.turn_rad, "read-out")];
        // The farther one first.
        if camera.nearness(near) > camera.nearness(far) {
            plates.reverse();
        }
        for (joint, outward, turn, name) in plates {
            let [width, height] = self.plate_um;
            let (sin, cos) = f64::sin_cos(turn);
            let corner = |along: f64, across: f64, z: f64| {
                let (x, y) = (outward * along, across);
                [joint[0] + x * cos - y * sin, joint[1] + x * sin + y * cos, z]
            };
            let half = 0.5 * height;
            let round = |z: f64| {
                [corner(0.0, -half, z), corner(width, -half, z), corner(width, half, z), corner(0.0, half, z)]
            };
            let thickness = THICKNESS / sheet.scale() / camera.heights;
            let (top, bottom) = (round(0.0), round(-thickness));
            let side = theme.island_fill.lerp_to_gamma(theme.island_line, 0.35);
            let line = Stroke::new(1.0, theme.island_line);
            for i in 0..4 {
                let j = (i + 1) % 4;
                let face = polygon([bottom[i], bottom[j], top[j], top[i]], camera, sheet);
                // Only sides that look towards the eye: their lower edge lies below the top's middle.
                let middle = |z: &[[f64; 3]; 4]| 0.5 * (camera.nearness(z[i]) + camera.nearness(z[j]));
                let centre = 0.25 * top.iter().map(|c| camera.nearness(*c)).sum::<f64>();
                if middle(&top) > centre {
                    painter.add(Shape::convex_polygon(face, side, line));
                }
            }
            painter.add(Shape::convex_polygon(polygon(top, camera, sheet), theme.island_fill, line));
            let middle = place(camera, sheet, corner(0.5 * width, 0.0, 0.0));
            let galley = painter.layout_no_wrap(name.to_owned(), FontId::proportional(11.0), theme.text);
            if galley.size().x < sheet.points(1.1 * width) {
                painter.galley(middle - galley.size() / 2.0, galley, theme.text);
            }
        }
    }

    /// Lines from the plane to the highest and the lowest place, with their values.
    pub(super) fn paint_heights(
        &self,
        painter: &Painter,
        camera: &Camera,
        sheet: &Sheet,
        [width_um, thickness_um]: [f64; 2],
        theme: &Theme,
    ) {
        // The edge that lies higher, or lower.
        let edge = |p: &FormPoint, up: f64| {
            let side = if up * p.across[2] >= 0.0 { 0.5 * width_um } else { -0.5 * width_um };
            [0, 1, 2].map(|i| p.position_um[i] + side * p.across[i])
        };
        for (up, word) in [(1.0, "above"), (-1.0, "below")] {
            let outermost = self
                .form
                .points
                .iter()
                .map(|p| edge(p, up))
                .max_by(|a, b| (up * a[2]).total_cmp(&(up * b[2])));
            let Some(top) = outermost else { continue };
            let (tip, foot) = (place(camera, sheet, top), place(camera, sheet, [top[0], top[1], 0.0]));
            if up * top[2] <= 0.0 || tip.distance(foot) < LEAST_HEIGHT {
                continue;
            }
            let line = Stroke::new(1.2, theme.text);
            painter.line_segment([foot, tip], line);
            for end in [foot, tip] {
                painter.line_segment([end - vec2(4.0, 0.0), end + vec2(4.0, 0.0)], line);
            }
            // To the outer face, as the margins of room count it.
            let words = format!("{} {word}", length_text(top[2].abs() + 0.5 * thickness_um));
            let (anchor, at) = if up > 0.0 {
                (Align2::LEFT_BOTTOM, tip + vec2(7.0, -3.0))
            } else {
                (Align2::LEFT_TOP, tip + vec2(7.0, 3.0))
            };
            paint_backed(painter, at, anchor, &words, Theme::bold(11.5), theme.text, theme.canvas);
        }
    }
}

fn place(camera: &Camera, sheet: &Sheet, at: [f64; 3]) -> Pos2 {
    let [u, v] = camera.sheet(at);
    sheet.pos(u, v)
}
