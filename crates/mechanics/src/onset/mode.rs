//! A mode of leaving the plane.

use crate::basis::NODES;

/// Nodes from one element's start to the next one's.
const STRIDE: usize = NODES - 1;

/// A mode at one place.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ModePoint {
    /// Contour length at rest from the near end, in µm.
    pub s_um: f64,
    /// Twist α about the tangent, in radians.
    pub alpha_rad: f64,
    /// Rotation β about the left normal, in radians.
    pub beta_rad: f64,
    /// Deflection v out of the plane, along b = t × n, in µm; v' = −(1+ε₀) β.
    pub v_um: f64,
}

/// A mode of leaving the plane, scaled to a largest rotation √(α² + β²) of 1 rad at its nodes. Its sign is arbitrary; the
/// largest deflection is made positive.
#[derive(Debug, Clone, PartialEq)]
pub struct BucklingMode {
    /// Second variation over ∫ (α² + β²) ds, in µN; 0 at onset, negative where the mode lowers the energy.
    pub eigenvalue_un: f64,
    points: Vec<ModePoint>,
}

impl BucklingMode {
    /// A mode through the nodes of elements end to end, scaled.
    pub(crate) fn scaled(mut points: Vec<ModePoint>) -> Self {
        let rotation =
            points.iter().fold(0.0_f64, |most, point| most.max(point.alpha_rad.hypot(point.beta_rad)));
        let deflection = points.iter().fold(0.0_f64, |most, point| {
            if point.v_um.abs() > most.abs() * (1.0 + 1e-9) { point.v_um } else { most }
        });
        let scale = if deflection < 0.0 { -1.0 } else { 1.0 } / rotation.max(f64::MIN_POSITIVE);
        for point in &mut points {
            point.alpha_rad *= scale;
            point.beta_rad *= scale;
            point.v_um *= scale;
        }
        Self { eigenvalue_un: 0.0, points }
    }

    /// The nodes in order, both ends of the ribbon included.
    pub fn points(&self) -> &[ModePoint] {
        &self.points
    }

    /// The mode at the contour length `s_um` (µm) at rest, kept within the ribbon, interpolated in its element.
    pub fn at(&self, s_um: f64) -> ModePoint {
        let elements = (self.points.len() - 1) / STRIDE;
        let last_um = self.points[self.points.len() - 1].s_um;
        let s_um = s_um.clamp(0.0, last_um);
        let (mut low, mut high) = (0, elements);
        while high - low > 1 {
            let middle = usize::midpoint(low, high);
            if self.points[middle * STRIDE].s_um <= s_um {
                low = middle;
            } else {
                high = middle;
            }
        }
        let nodes = &self.points[low * STRIDE..=low * STRIDE + STRIDE];
        let mut result = ModePoint { s_um, ..ModePoint::default() };
        for (i, node) in nodes.iter().enumerate() {
            let shape: f64 = nodes
                .iter()
                .enumerate()
                .filter(|(j, _)| *j != i)
                .map(|(_, other)| (s_um - other.s_um) / (node.s_um - other.s_um))
                .product();
            result.alpha_rad += shape * node.alpha_rad;
            result.beta_rad += shape * node.beta_rad;
            result.v_um += shape * node.v_um;
        }
        result
    }
}
