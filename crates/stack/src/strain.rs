//! States of strain of a section and what they mean for each rectangle.

/// A state of strain of a section: plane sections stay plane.
///
/// `ε(y,z) = membrane + curvature_out (z − z_n) − curvature_in (y − y_n)`
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SectionStrain {
    /// `ε_m`: strain at the neutral point (`y_n`, `z_n`), dimensionless, tension positive.
    pub membrane: f64,
    /// `κ_o`: curvature out of the plane, 1/µm; positive puts the top face in tension.
    pub curvature_out_per_um: f64,
    /// `κ_i`: change of curvature in the plane, 1/µm, counter-clockwise; positive puts the right edge in tension.
    pub curvature_in_per_um: f64,
}

/// Force and moments of a section about its neutral point.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SectionLoads {
    /// N: axial force, µN, tension positive.
    pub force_un: f64,
    /// `M_o`: moment that bends out of the plane, µN·µm; positive puts the top face in tension.
    pub moment_out_un_um: f64,
    /// `M_i`: moment that bends in the plane, µN·µm; positive puts the right edge in tension.
    pub moment_in_un_um: f64,
}

/// Strain of one rectangle at its corners and at the middle of its faces; plain ratios, tension positive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RectangleStrain {
    /// Lower face, left edge (large y).
    pub bottom_left: f64,
    /// Lower face, middle of the rectangle in y.
    pub bottom_middle: f64,
    /// Lower face, right edge (small y).
    pub bottom_right: f64,
    /// Upper face, left edge (large y).
    pub top_left: f64,
    /// Upper face, middle of the rectangle in y.
    pub top_middle: f64,
    /// Upper face, right edge (small y).
    pub top_right: f64,
}

impl RectangleStrain {
    /// Largest tensile strain of the rectangle; negative where all of it is in compression.
    ///
    /// The strain is linear in y and z, so its extremes lie at corners.
    pub fn greatest(&self) -> f64 {
        self.corners().into_iter().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Least strain of the rectangle: its largest compression where negative.
    pub fn least(&self) -> f64 {
        self.corners().into_iter().fold(f64::INFINITY, f64::min)
    }

    fn corners(&self) -> [f64; 4] {
        [self.bottom_left, self.bottom_right, self.top_left, self.top_right]
    }
}
