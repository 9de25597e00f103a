//! Elimination of an element's three inner nodes.

use pulp::Simd;

use crate::{
    basis::NODES,
    kernel::{ENTRIES, entry},
    wide::Wide,
};

/// Inner nodes of an element.
pub(crate) const INNER: usize = NODES - 2;

/// An element reduced to its two end nodes; `C` right-hand columns are carried along.
pub(crate) struct Condensed<S: Simd, const C: usize> {
    /// Matrix of the end nodes: (left, left), (left, right), (right, right).
    pub(crate) matrix: [Wide<S>; 3],
    /// Columns at the left and right end.
    pub(crate) ends: [[Wide<S>; 2]; C],
    /// Inner solutions of the columns.
    pub(crate) inner: [[Wide<S>; INNER]; C],
    /// Inner response to a unit value at the left and right end, negated.
    pub(crate) response: [[Wide<S>; INNER]; 2],
    /// The three pivots; negative ones count towards instability.
    pub(crate) pivots: [Wide<S>; INNER],
}

/// Eliminates the inner nodes from `matrix` and the columns.
///
/// The inner block is stiff in itself (an element clamped at both ends), so no pivoting is needed: a negative
/// pivot would be an element that buckles between its own ends.
#[inline(always)]
pub(crate) fn condense<S: Simd, const C: usize>(
    simd: S,
    matrix: &[Wide<S>; ENTRIES],
    columns: [&[Wide<S>; NODES]; C],
) -> Condensed<S, C> {
    let one = Wide::splat(simd, 1.0);
    let at = |i: usize, j: usize| matrix[entry(i, j)];
    // L D Lᵀ of the inner block
    let d1 = at(1, 1);
    let r1 = one / d1;
    let l21 = at(1, 2) * r1;
    let l31 = at(1, 3) * r1;
    let d2 = (-l21).mul_add(at(1, 2), at(2, 2));
    let r2 = one / d2;
    let e32 = (-l31).mul_add(at(1, 2), at(2, 3));
    let l32 = e32 * r2;
    let d3 = (-l32).mul_add(e32, (-l31).mul_add(at(1, 3), at(3, 3)));
    let r3 = one / d3;
    let solve = |b: [Wide<S>; INNER]| {
        let y2 = (-l21).mul_add(b[0], b[1]);
        let y3 = (-l32).mul_add(y2, (-l31).mul_add(b[0], b[2]));
        let x3 = y3 * r3;
        let x2 = (-l32).mul_add(x3, y2 * r2);
        let x1 = (-l21).mul_add(x2, (-l31).mul_add(x3, b[0] * r1));
        [x1, x2, x3]
    };
    let less = |sum: Wide<S>, a: [Wide<S>; INNER], b: [Wide<S>; INNER]| {
        (-a[0]).mul_add(b[0], (-a[1]).mul_add(b[1], (-a[2]).mul_add(b[2], sum)))
    };
    let to_left = [at(0, 1), at(0, 2), at(0, 3)];
    let to_right = [at(1, 4), at(2, 4), at(3, 4)];
    let left = solve(to_left);
    let right = solve(to_right);
    let ends_matrix =
        [less(at(0, 0), to_left, left), less(at(0, 4), to_left, right), less(at(4, 4), to_right, right)];
    let mut ends = [[one; 2]; C];
    let mut inner = [[one; INNER]; C];
    for c in 0..C {
        let column = columns[c];
        inner[c] = solve([column[1], column[2], column[3]]);
        ends[c] = [less(column[0], to_left, inner[c]), less(column[4], to_right, inner[c])];
    }
    Condensed { matrix: ends_matrix, ends, inner, response: [left, right], pivots: [d1, d2, d3] }
}
