//! Where a whole ribbon is strained most.

use super::RibbonSolution;
use crate::{
    basis::{NODES, POINT},
    fibre::{Edge, LayerSpan, fibre_strain},
};

/// Steps by which the bracket of a peak's place shrinks to two thirds; the strain there is flat, so few are enough.
const PEAK_STEPS: usize = 12;
/// Of equal peaks, which symmetry makes in pairs, the first one along the ribbon is given.
const EQUAL: f64 = 1e-7;

/// A largest strain of a whole ribbon and its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RibbonPeak {
    /// The strain, tension positive, dimensionless.
    pub strain: f64,
    /// The side of the centreline, looking from the near end to the far one.
    pub edge: Edge,
    /// Offset of the fibre from the centreline, in µm, positive to the left.
    pub offset_um: f64,
    /// Contour length at rest from the near end, in µm. Of equal peaks the first is given. Where the ribbon is pulled
    /// straight the strain is flat and the place arbitrary within the bend.
    pub s_um: f64,
}

impl RibbonPeak {
    pub(crate) fn nowhere() -> Self {
        Self { strain: 0.0, edge: Edge::Right, offset_um: 0.0, s_um: 0.0 }
    }
}

/// The extremes of strain in a layer over a whole ribbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RibbonExtremes {
    /// The largest strain: the peak tensile strain unless the whole layer is compressed.
    pub tensile: RibbonPeak,
    /// The smallest strain: the peak compressive strain unless the whole layer is in tension.
    pub compressive: RibbonPeak,
}

impl RibbonExtremes {
    /// The one of larger size, with its sign.
    pub fn largest(&self) -> RibbonPeak {
        if self.compressive.strain.abs() > self.tensile.strain.abs() {
            self.compressive
        } else {
            self.tensile
        }
    }
}

/// A node with an extreme of strain.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    value: f64,
    node: usize,
    sign: f64,
    offset_um: f64,
}

/// Extremes over the whole ribbon of the fibres at the sides of a layer.
pub(crate) fn extremes(solution: &RibbonSolution, span: LayerSpan) -> RibbonExtremes {
    let find = |sign: f64| {
        let left = nodal_extreme(solution, span.left_um, sign);
        let right = nodal_extreme(solution, span.right_um, sign);
        let is_right = right.value > left.value + EQUAL * left.value.abs();
        refine(solution, if is_right { right } else { left })
    };
    RibbonExtremes { tensile: find(1.0), compressive: find(-1.0) }
}

/// The node where `sign` times the strain of the fibre at `offset_um` is largest.
fn nodal_extreme(solution: &RibbonSolution, offset_um: f64, sign: f64) -> Candidate {
    let offset = offset_um / solution.unit_um;
    let mut best = Candidate { value: f64::NEG_INFINITY, node: 0, sign, offset_um };
    for e in 0..solution.elements {
        let is_resolved = solution.fields.is_resolved(e, solution.state.force);
        for g in 0..NODES {
            if !is_resolved && g != 0 && g != NODES - 1 {
                continue;
            }
            let node = e * NODES + g;
            let field = &solution.fields.nodes[node];
            let value = sign * fibre_strain(field.axial, field.curving, offset, solution.rest[node].kappa);
            if value > best.value + EQUAL * best.value.abs() || best.value == f64::NEG_INFINITY {
                best = Candidate { value, node, ..best };
            }
        }
    }
    best
}

/// The extreme near a node, in its element and, at an end of it, in the neighbour.
fn refine(solution: &RibbonSolution, candidate: Candidate) -> RibbonPeak {
    let Candidate { node, sign, offset_um, .. } = candidate;
    let (e, g) = (node / NODES, node % NODES);
    let force = solution.state.force;
    let value = |e: usize, xi: f64| sign * solution.strain(&solution.place(e, xi), offset_um);
    let search = |e: usize, mut low: f64, mut high: f64| {
        for _ in 0..PEAK_STEPS {
            let third = (high - low) / 3.0;
            if value(e, low + third) < value(e, high - third) {
                low += third;
            } else {
                high -= third;
            }
        }
        0.5 * (low + high)
    };
    let mut best = (e, POINT[g]);
    let mut best_value = value(e, POINT[g]);
    let mut consider = |e: usize, low: f64, high: f64| {
        if solution.fields.is_resolved(e, force) {
            let xi = search(e, low, high);
            let found = value(e, xi);
            if found > best_value {
                (best, best_value) = ((e, xi), found);
            }
        }
    };
    consider(e, POINT[g.saturating_sub(1)], POINT[(g + 1).min(NODES - 1)]);
    if g == 0 && e > 0 {
        consider(e - 1, POINT[NODES - 2], POINT[NODES - 1]);
    } else if g == NODES - 1 && e + 1 < solution.elements {
        consider(e + 1, POINT[0], POINT[1]);
    }
    let place = solution.place(best.0, best.1);
    let strain = solution.strain(&place, offset_um);
    RibbonPeak { strain, edge: Edge::of(offset_um), offset_um, s_um: solution.s_um(&place) }
}
