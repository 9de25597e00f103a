//! A state to start from.

use super::error::SpatialError;
use super::problem::Ribbon;
use super::rod::Pose;
use super::vector::{Quat, conjugate, dot4, product, unit};

/// A state of a ribbon in space from which another solve can start: of the same ribbon at another stretch, or of
/// another ribbon with the same number of smooth stretches and periods.
#[derive(Debug, Clone, PartialEq)]
pub struct SpatialState {
    /// Stretch of the state, dimensionless.
    pub stretch: f64,
    /// Elements of each smooth stretch.
    pub(crate) counts: Vec<usize>,
    /// Rotation of each node from its rest frame, in space.
    pub(crate) turns: Vec<Quat>,
    /// Force over the stiffness by which it scales.
    pub(crate) force: [f64; 3],
    /// True if the ribbon lies in its plane, where the force scales by the in-plane stiffness.
    pub(crate) is_flat: bool,
}

/// The force's unit: stiffness over span squared.
fn unit_of_force(ribbon: &Ribbon, is_flat: bool) -> f64 {
    let stiffness = if is_flat { ribbon.rod.elements[0].rest[0].ei_in } else { ribbon.rod.section.ei_out };
    stiffness / (ribbon.span * ribbon.span)
}

impl SpatialState {
    pub(crate) fn new(ribbon: &Ribbon, pose: &Pose, stretch: f64, is_flat: bool) -> Self {
        let turns = pose.frames.iter().zip(&ribbon.rod.rest);
        let unit_un = unit_of_force(ribbon, is_flat);
        Self {
            stretch,
            counts: ribbon.counts.clone(),
            turns: turns.map(|(q, rest)| product(*q, conjugate(*rest))).collect(),
            force: pose.force.map(|f| f / unit_un),
            is_flat,
        }
    }

    /// The state on a ribbon, moved to its elements if they are others.
    pub(crate) fn pose(&self, ribbon: &Ribbon) -> Result<Pose, SpatialError> {
        if self.counts.len() != ribbon.counts.len() {
            return Err(SpatialError::OtherTopology {
                start: self.counts.iter().sum(),
                start_segments: self.counts.len(),
                elements: ribbon.rod.elements.len(),
                segments: ribbon.counts.len(),
            });
        }
        let turns =
            if self.counts == ribbon.counts { self.turns.clone() } else { self.moved_to(&ribbon.counts) };
        let unit_un = unit_of_force(ribbon, self.is_flat);
        Ok(Pose {
            frames: turns
                .iter()
                .zip(&ribbon.rod.rest)
                .map(|(turn, rest)| unit(product(*turn, *rest)))
                .collect(),
            force: self.force.map(|f| f * unit_un),
        })
    }

    fn moved_to(&self, counts: &[usize]) -> Vec<Quat> {
        let mut turns = vec![self.turns[0]];
        let mut first = 0;
        for (old, new) in self.counts.iter().zip(counts) {
            for node in 1..=2 * new {
                let place = node as f64 / (2 * new) as f64 * *old as f64;
                let element = (place as usize).min(old - 1);
                let nodes = [0, 1, 2].map(|i| self.turns[2 * (first + element) + i]);
                turns.push(between(nodes, place - element as f64));
            }
            first += old;
        }
        turns
    }

    /// The state between this one (`share` 0) and another of the same ribbon (`share` 1), for drawing.
    pub(crate) fn blended(&self, other: &Self, share: f64) -> Self {
        let stretch = (1.0 - share) * self.stretch + share * other.stretch;
        Self::combined(&[(self, 1.0 - share), (other, share)], stretch)
    }

    /// Largest rotation from this state to another of the same ribbon, in radians.
    pub(crate) fn turn_to(&self, other: &Self) -> f64 {
        let pairs = self.turns.iter().zip(&other.turns);
        let least = pairs.map(|(a, b)| dot4(*a, *b).abs()).fold(1.0, f64::min);
        2.0 * least.acos()
    }

    /// The weighted sum of states of one ribbon, weights summing to 1.
    pub(crate) fn combined(parts: &[(&Self, f64)], stretch: f64) -> Self {
        // The part of most weight leads: the force of a flat state has another unit.
        let mut leader = 0;
        for (i, part) in parts.iter().enumerate() {
            if part.1 > parts[leader].1 {
                leader = i;
            }
        }
        let first = parts[leader].0;
        let turn = |node: usize| {
            let lead = first.turns[node];
            let mut sum = [0.0; 4];
            for (state, weight) in parts {
                let q = state.turns[node];
                let signed = if dot4(q, lead) < 0.0 { -weight } else { *weight };
                for (x, part) in sum.iter_mut().zip(q) {
                    *x += signed * part;
                }
            }
            unit(sum)
        };
        let is_of_one_kind = parts.iter().all(|(state, _)| state.is_flat == first.is_flat);
        let force = if is_of_one_kind {
            std::array::from_fn(|i| parts.iter().map(|(state, weight)| weight * state.force[i]).sum())
        } else {
            first.force
        };
        Self {
            stretch,
            counts: first.counts.clone(),
            turns: (0..first.turns.len()).map(turn).collect(),
            force,
            is_flat: first.is_flat,
        }
    }

    /// The mirror image in the plane of the ribbon, z → −z.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        Self {
            turns: self.turns.iter().map(|[w, x, y, z]| [*w, -x, -y, *z]).collect(),
            force: [self.force[0], self.force[1], -self.force[2]],
            ..self.clone()
        }
    }
}

/// Quadratic interpolation between three frames of an element, `x` from 0 to 1.
pub(crate) fn between(nodes: [Quat; 3], x: f64) -> Quat {
    let n = [(2.0 * x - 1.0) * (x - 1.0), 4.0 * x * (1.0 - x), x * (2.0 * x - 1.0)];
    unit(std::array::from_fn(|i| n[0] * nodes[0][i] + n[1] * nodes[1][i] + n[2] * nodes[2][i]))
}
