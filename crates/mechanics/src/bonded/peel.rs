//! An indicator of peeling.

/// What may tear the ribbon off: an indicator, not a criterion.
///
/// The foundation's traction is taken from the centreline's slip alone, evenly over the width. A stiff ribbon on an elastomer
/// has singular tractions along its edges and at its ends, which depend on the edges' shape; whether it peels is decided by
/// adhesion energies that this model does not know. Use the numbers to compare designs, or against a measured strength of
/// the same bond and width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PeelIndicator {
    /// Largest force of the bond line per length, k·slip, in µN/µm.
    pub line_force_un_per_um: f64,
    /// That force over the ribbon's width, in MPa.
    pub mean_traction_mpa: f64,
    /// Shear of the elastomer under the ribbon, largest slip over the effective depth, dimensionless.
    pub shear: f64,
    /// Stretch of the substrate itself, dimensionless.
    pub substrate_strain: f64,
}

impl PeelIndicator {
    pub(crate) fn new(
        foundation_mpa: f64,
        slip_um: f64,
        width_um: f64,
        effective_depth_um: f64,
        stretch: f64,
    ) -> Self {
        let line_force_un_per_um = foundation_mpa * slip_um;
        Self {
            line_force_un_per_um,
            mean_traction_mpa: line_force_un_per_um / width_um,
            shear: slip_um / effective_depth_um.max(f64::MIN_POSITIVE),
            substrate_strain: stretch,
        }
    }
}
