//! Strain of a fibre, and the layers it is asked for.

/// Strain of the fibre at `offset`, any unit of length throughout.
///
/// `ε(y) = ε₀ − y χ/(1 − y κ₀)`, the same as `(ε₀ − y (κ − κ₀))/(1 − y κ₀)` with χ = κ − κ₀ (1 + ε₀).
#[inline]
pub(crate) fn fibre_strain(axial: f64, curving: f64, offset: f64, rest_curvature: f64) -> f64 {
    axial - offset * curving / (1.0 - offset * rest_curvature)
}

/// A layer's extent across the ribbon: offsets from the centreline in µm, positive to the left.
///
/// ```
/// use ogee_mechanics::LayerSpan;
///
/// let whole = LayerSpan::centred(20.0);
/// assert_eq!((whole.left_um, whole.right_um), (10.0, -10.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerSpan {
    /// Offset of the layer's left side, in µm.
    pub left_um: f64,
    /// Offset of the layer's right side, in µm; smaller than that of the left.
    pub right_um: f64,
}

impl LayerSpan {
    /// A layer of `width_um` (µm) about the centreline.
    pub fn centred(width_um: f64) -> Self {
        Self { left_um: 0.5 * width_um, right_um: -0.5 * width_um }
    }

    /// Greatest distance of a side from the centreline, in µm.
    pub(crate) fn reach_um(&self) -> f64 {
        self.left_um.abs().max(self.right_um.abs())
    }
}

/// The side of the ribbon as seen along the direction of travel on the way to an upper crest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// Offset above zero: the outer side of an upper crest.
    Left,
    /// Offset below zero: the inner side of an upper crest.
    Right,
}

impl Edge {
    pub(crate) fn of(offset: f64) -> Self {
        if offset > 0.0 { Self::Left } else { Self::Right }
    }
}

/// A largest strain and its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// The strain, tension positive, dimensionless.
    pub strain: f64,
    /// The side of the centreline on which it is found, on the quarter before an upper crest.
    pub edge: Edge,
    /// Offset of the fibre from the centreline, in µm, on the quarter before an upper crest.
    pub offset_um: f64,
    /// Contour length at rest from the crossing to the place, in µm; 0 to Q, Q being the crest. Where the ribbon is
    /// pulled straight the strain is flat and the place arbitrary within the bend.
    pub s_um: f64,
    /// True where a layer off the centreline has this strain in the half waves below the midline only; the edge and
    /// the offset are then those of the mirrored place before an upper crest.
    pub is_at_trough: bool,
}

/// The extremes of strain in a layer over the whole ribbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extremes {
    /// The largest strain: the peak tensile strain unless the whole layer is compressed.
    pub tensile: Peak,
    /// The smallest strain: the peak compressive strain unless the whole layer is in tension.
    pub compressive: Peak,
}

impl Extremes {
    /// The one of larger size, with its sign.
    pub fn largest(&self) -> Peak {
        if self.compressive.strain.abs() > self.tensile.strain.abs() {
            self.compressive
        } else {
            self.tensile
        }
    }
}
