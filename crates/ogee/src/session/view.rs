//! Pan and zoom of a drawing, in `f64` and without any toolkit.
//!
//! Design coordinates are µm with y up; screen coordinates are points with y down, from the canvas' top left.

/// Smallest and largest scale, points per µm: from a hundred metres on a screen to tenths of a nanometre per point.
const SCALES: [f64; 2] = [1e-6, 1e4];

/// Which part of the design a canvas shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Design point at the middle of the canvas, µm.
    pub centre_um: [f64; 2],
    /// Points per µm.
    pub scale: f64,
    /// Size of the canvas, points.
    pub size: [f64; 2],
}

impl Default for View {
    fn default() -> Self {
        Self { centre_um: [0.0, 0.0], scale: 1.0, size: [100.0, 100.0] }
    }
}

impl View {
    /// Where the design point lies on the canvas.
    pub fn screen_from_design(&self, [x_um, y_um]: [f64; 2]) -> [f64; 2] {
        [
            self.size[0] / 2.0 + (x_um - self.centre_um[0]) * self.scale,
            self.size[1] / 2.0 - (y_um - self.centre_um[1]) * self.scale,
        ]
    }

    /// Which design point lies under the canvas point.
    pub fn design_from_screen(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            self.centre_um[0] + (x - self.size[0] / 2.0) / self.scale,
            self.centre_um[1] - (y - self.size[1] / 2.0) / self.scale,
        ]
    }

    /// Takes the canvas' size; the middle stays in the middle. Returns whether it changed.
    #[must_use]
    pub fn resize(&mut self, size: [f64; 2]) -> bool {
        let size = size.map(|s| s.max(1.0));
        std::mem::replace(&mut self.size, size) != size
    }

    /// Moves the picture by `delta` points. Returns whether it changed.
    #[must_use]
    pub fn pan(&mut self, delta: [f64; 2]) -> bool {
        if !delta.iter().all(|d| d.is_finite()) || delta == [0.0, 0.0] {
            return false;
        }
        self.centre_um[0] -= delta[0] / self.scale;
        self.centre_um[1] += delta[1] / self.scale;
        true
    }

    /// Zooms by `factor` so that the design point under the canvas point `at` stays there.
    /// Returns whether it changed.
    #[must_use]
    pub fn zoom_about(&mut self, at: [f64; 2], factor: f64) -> bool {
        if !factor.is_finite() || factor <= 0.0 {
            return false;
        }
        let fixed = self.design_from_screen(at);
        let scale = (self.scale * factor).clamp(SCALES[0], SCALES[1]);
        if scale == self.scale {
            return false;
        }
        self.scale = scale;
        self.centre_um = [
            fixed[0] - (at[0] - self.size[0] / 2.0) / scale,
            fixed[1] + (at[1] - self.size[1] / 2.0) / scale,
        ];
        true
    }

    /// Shows the rectangle from `low` to `high` (µm) whole, with `margin` points around it.
    pub fn fit(&mut self, low: [f64; 2], high: [f64; 2], margin: f64) {
        self.centre_um = [low[0].midpoint(high[0]), low[1].midpoint(high[1])];
        let room = self.size.map(|s| (s - 2.0 * margin).max(1.0));
        let extent = [(high[0] - low[0]).abs().max(1e-9), (high[1] - low[1]).abs().max(1e-9)];
        self.scale = (room[0] / extent[0]).min(room[1] / extent[1]).clamp(SCALES[0], SCALES[1]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn views() -> impl Strategy<Value = View> {
        (-1e5..1e5f64, -1e5..1e5f64, -3.0..3.0f64, 50.0..4000.0f64, 50.0..2000.0f64).prop_map(
            |(x, y, log_scale, width, height)| View {
                centre_um: [x, y],
                scale: 10f64.powf(log_scale),
                size: [width, height],
            },
        )
    }

    proptest! {
        #[test]
        fn zoom_keeps_the_point_under_the_cursor(
            mut view in views(), at in prop::array::uniform2(0.0..2000.0f64), factor in 0.1..10.0f64,
        ) {
            let before = view.design_from_screen(at);
            let _ = view.zoom_about(at, factor);
            let there = view.screen_from_design(before);
            prop_assert!((there[0] - at[0]).abs() < 1e-4 && (there[1] - at[1]).abs() < 1e-4, "{there:?}");
        }

        #[test]
        fn screen_and_design_are_inverse(view in views(), at in prop::array::uniform2(-3000.0..3000.0f64)) {
            let back = view.screen_from_design(view.design_from_screen(at));
            prop_assert!((back[0] - at[0]).abs() < 1e-4 && (back[1] - at[1]).abs() < 1e-4, "{back:?}");
        }

        #[test]
        fn panning_moves_the_picture_along(mut view in views(), delta in prop::array::uniform2(1.0..500.0f64)) {
            let point = view.design_from_screen([10.0, 20.0]);
            prop_assert!(view.pan(delta));
            let there = view.screen_from_design(point);
            prop_assert!((there[0] - 10.0 - delta[0]).abs() < 1e-4, "{there:?}");
            prop_assert!((there[1] - 20.0 - delta[1]).abs() < 1e-4, "{there:?}");
        }
    }

    #[test]
    fn fit_shows_everything() {
        let mut view = View { size: [400.0, 300.0], ..View::default() };
        view.fit([0.0, -50.0], [1000.0, 50.0], 20.0);
        let [left, bottom] = view.screen_from_design([0.0, -50.0]);
        let [right, top] = view.screen_from_design([1000.0, 50.0]);
        assert!((left - 20.0).abs() < 1e-9 && (right - 380.0).abs() < 1e-9);
        assert!(top > 0.0 && bottom < 300.0);
    }

    #[test]
    fn nonsense_changes_nothing() {
        let mut view = View::default();
        let before = view;
        assert!(!view.zoom_about([5.0, 5.0], f64::NAN));
        assert!(!view.zoom_about([5.0, 5.0], 0.0));
        assert!(!view.pan([f64::INFINITY, 0.0]));
        assert!(!view.resize([100.0, 100.0]));
        assert_eq!(view, before);
    }
}
