//! A point of a curve with its tangent and curvature.

/// A point of a centreline with its tangent angle and curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Contour length from the start of the curve, in µm.
    pub s_um: f64,
    /// Position along the span, in µm.
    pub x_um: f64,
    /// Position across the span, in µm; the midline is y = 0.
    pub y_um: f64,
    /// Tangent angle φ from +x, counter-clockwise positive, in radians. It is continuous along the curve.
    pub phi_rad: f64,
    /// Curvature κ = dφ/ds in 1/µm, counter-clockwise positive. Right at a jump it is the value of one of the sides;
    /// [`crate::Jump`] has both.
    pub kappa_per_um: f64,
}

impl CurvePoint {
    /// The point as a plain pair of coordinates in µm.
    pub fn point(&self) -> kurbo::Point {
        kurbo::Point::new(self.x_um, self.y_um)
    }

    /// The point at `offset_um` along the left normal (−sin φ, cos φ), in µm.
    pub fn offset_point(&self, offset_um: f64) -> kurbo::Point {
        let (sin, cos) = self.phi_rad.sin_cos();
        kurbo::Point::new(self.x_um - offset_um * sin, self.y_um + offset_um * cos)
    }
}
