//! The quadratic form of one element.
//!
//! Twist α about the tangent and rotation β about the normal are quartic on the Gauss–Lobatto points, which serve as
//! quadrature points too. The deflection v follows from v' = −(1+ε₀) β; its values at the element's ends are unknowns, and
//! the value of β at the middle point is given by them:
//!
//! ```text
//! v_right = v_left − Σ w_g (1+ε₀)_g β_g
//! ```
//!
//! So v is continuous and consistent with β without a multiplier, a foundation acts on the true v, and the number of
//! negative pivots is the number of unstable modes.

use super::flat::FlatNode;
use crate::basis::{INTEGRAL, NODES, SLOPE, WEIGHT};

/// Unknowns at a joint of elements: α, β, v.
pub(crate) const JOINT: usize = 3;
/// Unknowns at both joints of an element.
pub(crate) const ENDS: usize = 2 * JOINT;
/// Unknowns inside an element: α at three nodes, β at two.
pub(crate) const INSIDE: usize = 5;
/// All unknowns of an element: those of the left joint, the right joint, the inside.
pub(crate) const UNKNOWNS: usize = ENDS + INSIDE;

/// Index of α and β at the nodes; β of the middle node stands behind the unknowns.
const ALPHA: [usize; NODES] = [0, 6, 7, 8, 3];
const BETA: [usize; NODES] = [1, 9, UNKNOWNS, 10, 4];
const V_LEFT: usize = 2;
const V_RIGHT: usize = 5;
const RAW: usize = UNKNOWNS + 1;

/// Stiffness against twist and bending out of the plane and of the foundation, in the unit of the flat state.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stiffness {
    /// GJ/EI.
    pub(crate) twist: f64,
    /// w²/12 over the squared unit where the law adds N w²/12 to GJ, else 0.
    pub(crate) twist_by_normal: f64,
    /// `EI_out/EI`.
    pub(crate) bending: f64,
    /// Foundation, k unit⁴/EI.
    pub(crate) foundation: f64,
}

/// How β at the middle node follows from the unknowns.
#[inline]
fn middle(nodes: &[FlatNode; NODES]) -> [f64; RAW] {
    let mut row = [0.0; RAW];
    let length = |g: usize| WEIGHT[g] * nodes[g].jacobian * nodes[g].stretched;
    let inverse = 1.0 / length(NODES / 2);
    row[V_LEFT] = inverse;
    row[V_RIGHT] = -inverse;
    for g in [0, 1, 3, 4] {
        row[BETA[g]] = -inverse * length(g);
    }
    row
}

/// The element's matrix, less `shift` times its mass ∫ (α² + β²) ds.
pub(crate) fn matrix(
    nodes: &[FlatNode; NODES],
    stiffness: &Stiffness,
    shift: f64,
) -> [[f64; UNKNOWNS]; UNKNOWNS] {
    let mut raw = [[0.0; RAW]; RAW];
    let mut twisting = [0.0; NODES];
    let mut bending = [0.0; NODES];
    for g in 0..NODES {
        let node = &nodes[g];
        let twist = stiffness.twist_by_normal.mul_add(node.normal, stiffness.twist);
        let per_length = WEIGHT[g] / node.jacobian;
        let ds = WEIGHT[g] * node.jacobian;
        twisting[g] = twist * per_length;
        bending[g] = stiffness.bending * per_length;
        let (k, m) = (node.curvature, node.moment);
        raw[ALPHA[g]][ALPHA[g]] += ds * (stiffness.bending * k * k - k * m - shift);
        raw[BETA[g]][BETA[g]] += ds * (twist * k * k - k * m + node.normal * node.stretched - shift);
        // −2 GJ α' k β, and 2 (EI k − M) α β'.
        let by_twist = -WEIGHT[g] * twist * k;
        let by_bending = WEIGHT[g] * stiffness.bending.mul_add(k, -m);
        for i in 0..NODES {
            raw[ALPHA[i]][BETA[g]] += by_twist * SLOPE[g][i];
            raw[ALPHA[g]][BETA[i]] += by_bending * SLOPE[g][i];
        }
    }
    for i in 0..NODES {
        for j in 0..=i {
            let (mut alpha, mut beta) = (0.0, 0.0);
            for g in 0..NODES {
                let product = SLOPE[g][i] * SLOPE[g][j];
                alpha += twisting[g] * product;
                beta += bending[g] * product;
            }
            raw[ALPHA[i]][ALPHA[j]] += alpha;
            raw[BETA[i]][BETA[j]] += beta;
            if i != j {
                raw[ALPHA[j]][ALPHA[i]] += alpha;
                raw[BETA[j]][BETA[i]] += beta;
            }
        }
    }
    for i in 0..NODES {
        for j in 0..NODES {
            raw[BETA[j]][ALPHA[i]] = raw[ALPHA[i]][BETA[j]];
        }
    }
    if stiffness.foundation != 0.0 {
        for g in 0..NODES {
            let row = deflection(nodes, g);
            let weight = stiffness.foundation * WEIGHT[g] * nodes[g].jacobian;
            for i in 0..RAW {
                for j in 0..RAW {
                    raw[i][j] += weight * row[i] * row[j];
                }
            }
        }
    }
    let given = middle(nodes);
    let corner = raw[UNKNOWNS][UNKNOWNS];
    std::array::from_fn(|i| {
        std::array::from_fn(|j| {
            raw[i][j] + raw[i][UNKNOWNS] * given[j] + given[i] * (raw[UNKNOWNS][j] + corner * given[j])
        })
    })
}

/// v at node g as it follows from the unknowns.
fn deflection(nodes: &[FlatNode; NODES], g: usize) -> [f64; RAW] {
    let mut row = [0.0; RAW];
    row[V_LEFT] = 1.0;
    for i in 0..NODES {
        row[BETA[i]] -= INTEGRAL[g][i] * nodes[i].jacobian * nodes[i].stretched;
    }
    row
}

/// α and β at the nodes.
pub(crate) fn expand(nodes: &[FlatNode; NODES], unknowns: &[f64; UNKNOWNS]) -> [[f64; NODES]; 2] {
    let given = middle(nodes);
    let beta_middle = unknowns.iter().zip(&given).map(|(u, c)| u * c).sum();
    [
        std::array::from_fn(|g| unknowns[ALPHA[g]]),
        std::array::from_fn(|g| if g == NODES / 2 { beta_middle } else { unknowns[BETA[g]] }),
    ]
}

/// v at the nodes.
pub(crate) fn deflections(nodes: &[FlatNode; NODES], v_left: f64, beta: &[f64; NODES]) -> [f64; NODES] {
    std::array::from_fn(|g| {
        v_left
            - (0..NODES)
                .map(|i| INTEGRAL[g][i] * nodes[i].jacobian * nodes[i].stretched * beta[i])
                .sum::<f64>()
    })
}

/// The mass ∫ (α² + β²) ds applied to the unknowns of an element.
pub(crate) fn weigh(nodes: &[FlatNode; NODES], unknowns: &[f64; UNKNOWNS]) -> [f64; UNKNOWNS] {
    let [alpha, beta] = expand(nodes, unknowns);
    let mut result = [0.0; UNKNOWNS];
    let ds = |g: usize| WEIGHT[g] * nodes[g].jacobian;
    for g in 0..NODES {
        result[ALPHA[g]] += ds(g) * alpha[g];
        if g != NODES / 2 {
            result[BETA[g]] += ds(g) * beta[g];
        }
    }
    let given = middle(nodes);
    let weighted = ds(NODES / 2) * beta[NODES / 2];
    for (result, given) in result.iter_mut().zip(given) {
        *result += weighted * given;
    }
    result
}
