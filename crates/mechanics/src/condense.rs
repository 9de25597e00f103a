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
    let factors = InnerFactors::new(simd, matrix);
    let to_left = [matrix[entry(0, 1)], matrix[entry(0, 2)], matrix[entry(0, 3)]];
    let to_right = [matrix[entry(1, 4)], matrix[entry(2, 4)], matrix[entry(3, 4)]];
    let left = factors.solve(to_left);
    let right = factors.solve(to_right);
    let ends_matrix = [
        less(matrix[entry(0, 0)], to_left, left),
        less(matrix[entry(0, 4)], to_left, right),
        less(matrix[entry(4, 4)], to_right, right),
    ];
    let mut ends = [[one; 2]; C];
    let mut inner = [[one; INNER]; C];
    for c in 0..C {
        let column = columns[c];
        inner[c] = factors.solve([column[1], column[2], column[3]]);
        ends[c] = [less(column[0], to_left, inner[c]), less(column[4], to_right, inner[c])];
    }
    let pivots = factors.pivots;
    Condensed { matrix: ends_matrix, ends, inner, response: [left, right], pivots }
}

/// L D Lᵀ of the inner block.
struct InnerFactors<S: Simd> {
    l21: Wide<S>,
    l31: Wide<S>,
    l32: Wide<S>,
    inverse: [Wide<S>; INNER],
    pivots: [Wide<S>; INNER],
}

impl<S: Simd> InnerFactors<S> {
    #[inline(always)]
    fn new(simd: S, matrix: &[Wide<S>; ENTRIES]) -> Self {
        let one = Wide::splat(simd, 1.0);
        let (k12, k13) = (matrix[entry(1, 2)], matrix[entry(1, 3)]);
        let d1 = matrix[entry(1, 1)];
        let r1 = one / d1;
        let l21 = k12 * r1;
        let l31 = k13 * r1;
        let d2 = l21.neg_mul_add(k12, matrix[entry(2, 2)]);
        let r2 = one / d2;
        let e32 = l31.neg_mul_add(k12, matrix[entry(2, 3)]);
        let l32 = e32 * r2;
        let d3 = l32.neg_mul_add(e32, l31.neg_mul_add(k13, matrix[entry(3, 3)]));
        let r3 = one / d3;
        Self { l21, l31, l32, inverse: [r1, r2, r3], pivots: [d1, d2, d3] }
    }

    #[inline(always)]
    fn solve(&self, b: [Wide<S>; INNER]) -> [Wide<S>; INNER] {
        let [r1, r2, r3] = self.inverse;
        let y2 = self.l21.neg_mul_add(b[0], b[1]);
        let y3 = self.l32.neg_mul_add(y2, self.l31.neg_mul_add(b[0], b[2]));
        let x3 = y3 * r3;
        let x2 = self.l32.neg_mul_add(x3, y2 * r2);
        let x1 = self.l21.neg_mul_add(x2, self.l31.neg_mul_add(x3, b[0] * r1));
        [x1, x2, x3]
    }
}

/// `sum − a·b`.
#[inline(always)]
fn less<S: Simd>(sum: Wide<S>, a: [Wide<S>; INNER], b: [Wide<S>; INNER]) -> Wide<S> {
    a[0].neg_mul_add(b[0], a[1].neg_mul_add(b[1], a[2].neg_mul_add(b[2], sum)))
}
