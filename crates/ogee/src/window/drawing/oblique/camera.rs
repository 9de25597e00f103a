//! From places in space to the sheet: a parallel projection from a turned and raised point of view.

/// Furthest turn to either side, rad.
const MOST_TURN: f64 = 1.3;
/// Lowest and highest point of view over the plane, rad.
const ELEVATIONS: [f64; 2] = [0.12, 1.45];

/// A point of view.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Camera {
    /// Turn about the upright axis, rad; at 0 the span runs from left to right.
    pub azimuth_rad: f64,
    /// Height of the point of view over the plane, rad; a right angle looks straight down.
    pub elevation_rad: f64,
    /// Factor on heights.
    pub heights: f64,
    /// The place that stays where it is when the view turns, µm.
    pub pivot_um: [f64; 2],
}

impl Default for Camera {
    fn default() -> Self {
        Self { azimuth_rad: -0.42, elevation_rad: 0.6, heights: 1.0, pivot_um: [0.0, 0.0] }
    }
}

impl Camera {
    /// Turns to the side and upwards, within the limits.
    pub(super) fn turn(&mut self, azimuth_rad: f64, elevation_rad: f64) {
        if azimuth_rad.is_finite() && elevation_rad.is_finite() {
            self.azimuth_rad = (self.azimuth_rad + azimuth_rad).clamp(-MOST_TURN, MOST_TURN);
            self.elevation_rad = (self.elevation_rad + elevation_rad).clamp(ELEVATIONS[0], ELEVATIONS[1]);
        }
    }

    /// Where a place lies on the sheet, µm: to the right and up.
    pub(super) fn sheet(&self, [x, y, z]: [f64; 3]) -> [f64; 2] {
        let [right, back] = self.turned([x - self.pivot_um[0], y - self.pivot_um[1]]);
        let (sin, cos) = self.elevation_rad.sin_cos();
        [right, back * sin + self.heights * z * cos]
    }

    /// A direction on the sheet.
    pub(super) fn direction(&self, [x, y, z]: [f64; 3]) -> [f64; 2] {
        let [right, back] = self.turned([x, y]);
        let (sin, cos) = self.elevation_rad.sin_cos();
        [right, back * sin + self.heights * z * cos]
    }

    /// How near a place is to the eye, µm: the larger covers the smaller.
    pub(super) fn nearness(&self, [x, y, z]: [f64; 3]) -> f64 {
        let [_, back] = self.turned([x - self.pivot_um[0], y - self.pivot_um[1]]);
        let (sin, cos) = self.elevation_rad.sin_cos();
        self.heights * z * sin - back * cos
    }

    fn turned(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = self.azimuth_rad.sin_cos();
        [x * cos - y * sin, x * sin + y * cos]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn camera() -> Camera {
        Camera { azimuth_rad: 0.3, elevation_rad: 0.5, heights: 2.0, pivot_um: [100.0, 20.0] }
    }

    #[test]
    fn the_pivot_stays_and_heights_point_up() {
        let mut camera = camera();
        for _ in 0..5 {
            let [u, v] = camera.sheet([100.0, 20.0, 0.0]);
            assert!(u.abs() < 1e-9 && v.abs() < 1e-9);
            let [u, v] = camera.sheet([100.0, 20.0, 10.0]);
            assert!(u.abs() < 1e-9 && (v - 20.0 * camera.elevation_rad.cos()).abs() < 1e-9);
            camera.turn(0.2, -0.05);
        }
    }

    #[test]
    fn turns_end_at_the_limits() {
        let mut camera = camera();
        camera.turn(100.0, 100.0);
        assert_eq!((camera.azimuth_rad, camera.elevation_rad), (MOST_TURN, ELEVATIONS[1]));
        camera.turn(f64::NAN, 0.1);
        camera.turn(-100.0, -100.0);
        assert_eq!((camera.azimuth_rad, camera.elevation_rad), (-MOST_TURN, ELEVATIONS[0]));
    }

    #[test]
    fn nearness_is_along_the_line_of_sight() {
        // Two places that fall on the same spot of the sheet: the higher one is nearer.
        let camera = Camera { heights: 1.0, ..camera() };
        let low = [0.0, 0.0, 0.0];
        let (sin, cos) = camera.elevation_rad.sin_cos();
        let back = camera.azimuth_rad;
        let high = [-10.0 * cos * back.sin(), -10.0 * cos * back.cos(), 10.0 * sin];
        let (a, b) = (camera.sheet(low), camera.sheet(high));
        assert!((a[0] - b[0]).abs() < 1e-9 && (a[1] - b[1]).abs() < 1e-9, "{a:?} {b:?}");
        assert!((camera.nearness(high) - camera.nearness(low) - 10.0).abs() < 1e-9);
    }
}
