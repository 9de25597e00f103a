//! The limit of a rigid bond: the ribbon goes where the substrate takes it.

/// Stretches of the substrate along and across the span at a stretch e: 1 + e and (1 + e)^(−ν).
pub(crate) fn affine(stretch: f64, poisson: f64) -> [f64; 2] {
    [1.0 + stretch, (1.0 + stretch).powf(-poisson)]
}

/// The state of a ribbon that follows an affine map, at one place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Followed {
    /// Tangent angle, on the same turn as at rest.
    pub(crate) phi: f64,
    /// Strain of the centreline.
    pub(crate) axial: f64,
    /// κ − κ₀ (1+ε₀), in the unit of κ₀.
    pub(crate) curving: f64,
}

impl Followed {
    /// The affine map of a place with the angle `phi` and the curvature `kappa` at rest.
    pub(crate) fn new([a, b]: [f64; 2], phi: f64, kappa: f64) -> Self {
        let (sine, cosine) = phi.sin_cos();
        let (x, y) = (a * cosine, b * sine);
        let stretched = x.hypot(y);
        // The turn from the rest direction to the new one is below 90°, so no branch is lost.
        let turn = (cosine * y - sine * x).atan2(cosine * x + sine * y);
        let kappa_new = a * b * kappa / (stretched * stretched);
        Self { phi: phi + turn, axial: stretched - 1.0, curving: kappa_new - kappa * stretched }
    }
}
