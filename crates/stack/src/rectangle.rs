//! The pieces of a section.

/// One rectangle of a section, of one material.
#[derive(Clone, Debug, PartialEq)]
pub struct Rectangle {
    /// Row that it belongs to, 0 at the bottom.
    pub row: usize,
    /// Name of its layer, or of the filler.
    pub name: String,
    /// Whether it is filler beside a core.
    pub is_filler: bool,
    /// y of its right face, µm.
    pub y0_um: f64,
    /// y of its left face, µm.
    pub y1_um: f64,
    /// z of its lower face, µm above the bottom of the section.
    pub z0_um: f64,
    /// z of its upper face, µm above the bottom of the section.
    pub z1_um: f64,
    /// Young's modulus, `MPa`.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless.
    pub poisson: f64,
}

impl Rectangle {
    /// Width along y, µm.
    pub fn width_um(&self) -> f64 {
        self.y1_um - self.y0_um
    }

    /// Thickness along z, µm.
    pub fn thickness_um(&self) -> f64 {
        self.z1_um - self.z0_um
    }

    /// y of its middle, µm.
    pub fn middle_y_um(&self) -> f64 {
        0.5 * (self.y0_um + self.y1_um)
    }

    /// z of its middle, µm.
    pub fn middle_z_um(&self) -> f64 {
        0.5 * (self.z0_um + self.z1_um)
    }

    /// Area, µm².
    pub fn area_um2(&self) -> f64 {
        self.width_um() * self.thickness_um()
    }
}
