//! Elimination of everything inside an element.

use crate::{
    basis::NODES,
    bonded::element::{BUBBLES, END_SLIP, Element, LEFT, MEAN_FORCE, PAIRS, START_SLIP},
};

/// Unknowns of an element's end: the angle and the two components of the slip.
pub(crate) const VERTEX: usize = 3;
/// Inner unknowns besides the pairs: three angles and the mean force.
const INNER: usize = 5;
/// The unknowns that are left, in the order of elimination: inner ones, start, end.
const ORDER: [usize; LEFT] =
    [1, 2, 3, MEAN_FORCE, MEAN_FORCE + 1, 0, START_SLIP, START_SLIP + 1, NODES - 1, END_SLIP, END_SLIP + 1];

/// Corrections of an element's unknowns.
pub(crate) struct Correction {
    /// By the places of what is left.
    pub(crate) left: [f64; LEFT],
    pub(crate) bubbles: [f64; PAIRS],
    pub(crate) forces: [f64; PAIRS],
}

/// An element reduced to its two ends.
#[derive(Debug, Clone)]
pub(crate) struct Condensed {
    /// Matrix of the ends.
    pub(crate) matrix: [[f64; 2 * VERTEX]; 2 * VERTEX],
    /// Residual at the ends.
    pub(crate) residual: [f64; 2 * VERTEX],
    /// Pivots of the wrong sign.
    pub(crate) wrong_pivots: usize,
    /// Rows of the inner unknowns, the residual behind.
    rows: [[f64; LEFT + 1]; INNER],
    /// Answer of the pairs to each unknown that is left, and to the residual: (bubbles, forces).
    answers: [([f64; PAIRS], [f64; PAIRS]); LEFT + 1],
}

/// The pairs' matrix `[K M, 1; 1, −S]`, factored.
///
/// With M = L Lᵀ, (1 + K M S) h = p becomes (1 + K Lᵀ S L) g = L⁻¹ p and h = L g: symmetric with all eigenvalues from 1 up.
struct Pairs<'a> {
    foundation: f64,
    mass: [[f64; BUBBLES]; BUBBLES],
    softness: &'a [[f64; PAIRS]; PAIRS],
    factors: [[f64; PAIRS]; PAIRS],
    /// Lower triangular root L of the bubbles' mass.
    root: [[f64; BUBBLES]; BUBBLES],
}

fn dot(a: &[f64; PAIRS], b: &[f64; PAIRS]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Lower Cholesky factor of a positive matrix.
fn cholesky<const N: usize>(matrix: &[[f64; N]; N]) -> [[f64; N]; N] {
    let mut lower = [[0.0; N]; N];
    for i in 0..N {
        for j in 0..=i {
            let mut sum = matrix[i][j];
            for k in 0..j {
                sum -= lower[i][k] * lower[j][k];
            }
            lower[i][j] = if i == j { sum.sqrt() } else { sum / lower[j][j] };
        }
    }
    lower
}

impl<'a> Pairs<'a> {
    fn new(foundation: f64, mass: [[f64; BUBBLES]; BUBBLES], softness: &'a [[f64; PAIRS]; PAIRS]) -> Self {
        let root = cholesky(&mass);
        let mut half = [[0.0; PAIRS]; PAIRS];
        for i in 0..PAIRS {
            for c in 0..2 {
                for m in 0..BUBBLES {
                    half[i][c * BUBBLES + m] =
                        (m..BUBBLES).map(|k| softness[i][c * BUBBLES + k] * root[k][m]).sum();
                }
            }
        }
        let mut matrix = [[0.0; PAIRS]; PAIRS];
        for c in 0..2 {
            for m in 0..BUBBLES {
                for j in 0..PAIRS {
                    let sum: f64 = (m..BUBBLES).map(|k| root[k][m] * half[c * BUBBLES + k][j]).sum();
                    matrix[c * BUBBLES + m][j] = foundation * sum;
                }
                matrix[c * BUBBLES + m][c * BUBBLES + m] += 1.0;
            }
        }
        Self { foundation, mass, softness, factors: cholesky(&matrix), root }
    }

    /// Solves for (bubbles, forces).
    fn solve(&self, bubble: &[f64; PAIRS], force: &[f64; PAIRS]) -> ([f64; PAIRS], [f64; PAIRS]) {
        let mut load = *bubble;
        for c in 0..2 {
            for m in 0..BUBBLES {
                let sum: f64 = (0..BUBBLES).map(|n| self.mass[m][n] * force[c * BUBBLES + n]).sum();
                load[c * BUBBLES + m] -= self.foundation * sum;
            }
            for m in 0..BUBBLES {
                for n in 0..m {
                    load[c * BUBBLES + m] -= self.root[m][n] * load[c * BUBBLES + n];
                }
                load[c * BUBBLES + m] /= self.root[m][m];
            }
        }
        for i in 0..PAIRS {
            for j in 0..i {
                load[i] -= self.factors[i][j] * load[j];
            }
            load[i] /= self.factors[i][i];
        }
        for i in (0..PAIRS).rev() {
            for j in i + 1..PAIRS {
                load[i] -= self.factors[j][i] * load[j];
            }
            load[i] /= self.factors[i][i];
        }
        let forces: [f64; PAIRS] = std::array::from_fn(|i| {
            let (c, m) = (i / BUBBLES, i % BUBBLES);
            (0..=m).map(|n| self.root[m][n] * load[c * BUBBLES + n]).sum()
        });
        let bubbles = std::array::from_fn(|i| {
            force[i] + (0..PAIRS).map(|j| self.softness[i][j] * forces[j]).sum::<f64>()
        });
        (bubbles, forces)
    }
}

impl Condensed {
    /// Eliminates the pairs, then the inner angles and the mean force.
    ///
    /// The inner angles are stiff (an element clamped at both ends) and the mean force soft, so no pivoting is needed: a
    /// pivot of the wrong sign is an element that buckles between its own ends.
    pub(crate) fn new(element: &Element, foundation: f64, mass: &[[f64; BUBBLES]; BUBBLES]) -> Self {
        let pairs = Pairs::new(foundation, *mass, &element.softness);
        let answers: [_; LEFT + 1] = std::array::from_fn(|q| {
            if q < LEFT {
                pairs.solve(&element.to_bubbles[q], &element.to_forces[q])
            } else {
                pairs.solve(&element.bubble_residual, &element.force_residual)
            }
        });
        let mut work = [[0.0; LEFT + 1]; LEFT];
        for (i, &p) in ORDER.iter().enumerate() {
            for (j, q) in ORDER.into_iter().chain([LEFT]).enumerate().skip(i) {
                let own = if q < LEFT { element.matrix[p][q] } else { element.residual[p] };
                let (bubbles, forces) = &answers[q];
                // Slips of the ends meet the bubbles alone, all others the forces alone.
                let by_pairs = if p < START_SLIP {
                    dot(&element.to_forces[p], forces)
                } else {
                    dot(&element.to_bubbles[p], bubbles)
                };
                work[i][j] = own - by_pairs;
                if q < LEFT {
                    work[j][i] = work[i][j];
                }
            }
        }
        let mut wrong_pivots = 0;
        for k in 0..INNER {
            let pivot_row = work[k];
            let is_force = k >= INNER - 2;
            wrong_pivots += usize::from((pivot_row[k] < 0.0) != is_force);
            for row in &mut work[k + 1..] {
                let factor = row[k] / pivot_row[k];
                for j in k..=LEFT {
                    row[j] -= factor * pivot_row[j];
                }
            }
        }
        let rows = std::array::from_fn(|k| work[k]);
        let matrix = std::array::from_fn(|i| std::array::from_fn(|j| work[INNER + i][INNER + j]));
        let residual = std::array::from_fn(|i| work[INNER + i][LEFT]);
        Self { matrix, residual, wrong_pivots, rows, answers }
    }

    /// The corrections inside that go with the corrections of the two ends.
    pub(crate) fn expand(&self, ends: &[f64; 2 * VERTEX]) -> Correction {
        let mut ordered = [0.0; LEFT];
        ordered[INNER..].copy_from_slice(ends);
        for k in (0..INNER).rev() {
            let row = &self.rows[k];
            let known: f64 = (k + 1..LEFT).map(|j| row[j] * ordered[j]).sum();
            ordered[k] = -(row[LEFT] + known) / row[k];
        }
        let mut left = [0.0; LEFT];
        for (i, &p) in ORDER.iter().enumerate() {
            left[p] = ordered[i];
        }
        let (mut bubbles, mut forces) = self.answers[LEFT];
        for k in 0..PAIRS {
            for q in 0..LEFT {
                bubbles[k] += self.answers[q].0[k] * left[q];
                forces[k] += self.answers[q].1[k] * left[q];
            }
        }
        Correction { left, bubbles: bubbles.map(|x| -x), forces: forces.map(|x| -x) }
    }
}
