//! The canvas: the session's view of the design, laid on a rectangle of the screen.

use crate::session::View;
use egui::{Pos2, Rect, Vec2, pos2, vec2};

/// An upright rectangle in design coordinates, µm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    /// Left and lower end.
    pub low: [f64; 2],
    /// Right and upper end.
    pub high: [f64; 2],
}

impl Extent {
    /// Whether the two rectangles overlap.
    pub(super) fn meets(&self, other: &Self) -> bool {
        (0..2).all(|i| self.low[i] <= other.high[i] && other.low[i] <= self.high[i])
    }
}

/// Space kept free around a fitted drawing, points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Padding {
    /// Left and right, each.
    pub sides: f64,
    /// Above.
    pub top: f64,
    /// Below.
    pub bottom: f64,
}

/// A view on a canvas. Places are `f64` until they are screen points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Sheet {
    view: View,
    canvas: Rect,
}

impl Sheet {
    /// `view` on `canvas`.
    pub(super) fn new(mut view: View, canvas: Rect) -> Self {
        let _changed = view.resize([f64::from(canvas.width()), f64::from(canvas.height())]);
        Self { view, canvas }
    }

    /// The view that shows `extent` as large as the padded canvas allows.
    pub(super) fn fit(extent: &Extent, canvas: Rect, padding: Padding) -> Self {
        let mut sheet = Self::new(View::default(), canvas);
        // The uneven padding is made even by a taller canvas above or below, then shifted back.
        let extra = padding.top + padding.bottom - 2.0 * padding.sides;
        let full = sheet.view.size;
        let _changed = sheet.view.resize([full[0], full[1] - extra]);
        sheet.view.fit(extent.low, extent.high, padding.sides);
        let _changed = sheet.view.resize(full);
        let _changed = sheet.view.pan([0.0, (padding.top - padding.bottom) / 2.0]);
        sheet
    }

    /// The view, for the next frame.
    pub(super) fn view(&self) -> View {
        self.view
    }

    /// The rectangle on the screen.
    pub(super) fn canvas(&self) -> Rect {
        self.canvas
    }

    /// Points per µm.
    pub(super) fn scale(&self) -> f64 {
        self.view.scale
    }

    /// Points on the screen for a length in the design.
    pub(super) fn points(&self, um: f64) -> f32 {
        (um * self.view.scale) as f32
    }

    /// Screen point of a design point.
    pub(super) fn pos(&self, x_um: f64, y_um: f64) -> Pos2 {
        let [x, y] = self.view.screen_from_design([x_um, y_um]);
        pos2((f64::from(self.canvas.left()) + x) as f32, (f64::from(self.canvas.top()) + y) as f32)
    }

    /// Design point of a screen point, µm.
    pub(super) fn design_from_screen(&self, pos: Pos2) -> [f64; 2] {
        self.view.design_from_screen(self.on_canvas(pos))
    }

    /// Moves the drawing with the hand. Says whether it moved.
    pub(super) fn pan(&mut self, delta: Vec2) -> bool {
        self.view.pan([f64::from(delta.x), f64::from(delta.y)])
    }

    /// Enlarges by `factor` about `pos`. Says whether it changed.
    pub(super) fn zoom_about(&mut self, pos: Pos2, factor: f64) -> bool {
        self.view.zoom_about(self.on_canvas(pos), factor)
    }

    /// The part of the design that the canvas shows.
    pub(super) fn visible(&self) -> Extent {
        let [x0, y1] = self.design_from_screen(self.canvas.left_top());
        let [x1, y0] = self.design_from_screen(self.canvas.right_bottom());
        Extent { low: [x0, y0], high: [x1, y1] }
    }

    /// The rectangle on the screen of an extent.
    pub(super) fn rect(&self, extent: &Extent) -> Rect {
        Rect::from_two_pos(self.pos(extent.low[0], extent.low[1]), self.pos(extent.high[0], extent.high[1]))
    }

    /// Whether `extent` lies on the canvas but for `slack` points.
    pub(super) fn holds(&self, extent: &Extent, slack: f32) -> bool {
        self.canvas.expand(slack).contains_rect(self.rect(extent))
    }

    fn on_canvas(&self, pos: Pos2) -> [f64; 2] {
        let offset = pos - self.canvas.left_top();
        [f64::from(offset.x), f64::from(offset.y)]
    }
}

/// `pos` moved by a design direction of unit length, `distance` points long.
pub(super) fn along(pos: Pos2, direction: [f64; 2], distance: f32) -> Pos2 {
    pos + vec2(direction[0] as f32, -direction[1] as f32) * distance
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> Sheet {
        let extent = Extent { low: [0.0, -100.0], high: [1000.0, 100.0] };
        let canvas = Rect::from_min_size(pos2(100.0, 50.0), vec2(800.0, 400.0));
        Sheet::fit(&extent, canvas, Padding { sides: 20.0, top: 30.0, bottom: 10.0 })
    }

    #[test]
    fn fit_centres_in_the_padded_canvas() {
        let sheet = sheet();
        // 760 points for 1000 µm decide; the height would allow 1.8.
        assert!((sheet.scale() - 0.76).abs() < 1e-12);
        let (left, right) = (sheet.pos(0.0, 0.0), sheet.pos(1000.0, 0.0));
        assert!((left.x - 120.0).abs() < 1e-3 && (right.x - 880.0).abs() < 1e-3);
        // The middle of what the padding leaves: 50 + 30 + 360 / 2.
        assert!((left.y - 260.0).abs() < 1e-3, "{}", left.y);
    }

    #[test]
    fn screen_and_design_are_inverse_and_y_points_up() {
        let sheet = sheet();
        let [x, y] = sheet.design_from_screen(sheet.pos(123.0, 45.0));
        assert!((x - 123.0).abs() < 1e-3 && (y - 45.0).abs() < 1e-3);
        assert!(sheet.pos(0.0, 10.0).y < sheet.pos(0.0, 0.0).y);
    }

    #[test]
    fn zoom_and_pan_follow_the_hand() {
        let mut sheet = sheet();
        let cursor = pos2(333.0, 222.0);
        let before = sheet.design_from_screen(cursor);
        assert!(sheet.zoom_about(cursor, 7.0));
        assert!(sheet.pan(vec2(15.0, -7.0)));
        let now = sheet.pos(before[0], before[1]);
        assert!((now - cursor - vec2(15.0, -7.0)).length() < 1e-2, "{now:?}");
    }

    #[test]
    fn a_fitted_extent_is_held_until_it_grows() {
        let sheet = sheet();
        assert!(sheet.holds(&Extent { low: [0.0, -100.0], high: [1000.0, 100.0] }, 0.0));
        assert!(!sheet.holds(&Extent { low: [0.0, -100.0], high: [1100.0, 100.0] }, 0.0));
        assert!(sheet.visible().meets(&Extent { low: [900.0, 0.0], high: [2000.0, 1.0] }));
        assert!(!sheet.visible().meets(&Extent { low: [3000.0, 0.0], high: [4000.0, 1.0] }));
    }
}
