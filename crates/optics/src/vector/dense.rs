//! Dense fronts of the elimination: numbers in two planes, so that real parts of the section stay real.

use crate::complex::Complex;

/// Real and imaginary parts side by side; `im` is empty where everything is real.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Planes {
    pub(crate) re: Vec<f64>,
    pub(crate) im: Vec<f64>,
}

impl Planes {
    pub(crate) fn zeros(len: usize, real: bool) -> Self {
        Self { re: vec![0.0; len], im: if real { Vec::new() } else { vec![0.0; len] } }
    }

    pub(crate) fn is_real(&self) -> bool {
        self.im.is_empty()
    }

    pub(crate) fn at(&self, i: usize) -> Complex {
        Complex::new(self.re[i], self.im.get(i).copied().unwrap_or(0.0))
    }

    pub(crate) fn set(&mut self, i: usize, value: Complex) {
        self.re[i] = value.re;
        if let Some(im) = self.im.get_mut(i) {
            *im = value.im;
        }
    }
}

/// One eliminated block `F₁₁` of a front with its coupling `X = F₁₁⁻¹ F₁₂` to what is left.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    eliminated: usize,
    left: usize,
    /// LU factors of `F₁₁` in the first columns of each row, X in the others.
    panel: Planes,
    /// Row exchanged with row i at step i.
    exchanges: Vec<usize>,
}

/// Stands in for an exactly singular pivot.
const LEAST_PIVOT: f64 = 1e-300;
/// Rows or columns of one register tile.
const TILE: usize = 4;

/// Eliminates the first `eliminated` unknowns of a symmetric front (row by row, `size²` entries); returns the factors
/// and the Schur complement on the others.
pub(crate) fn eliminate(front: &Planes, size: usize, eliminated: usize) -> (Block, Planes) {
    let k = eliminated;
    let left = size - k;
    let real = front.is_real();
    let rows = |plane: &[f64]| if plane.is_empty() { Vec::new() } else { plane[..k * size].to_vec() };
    let mut panel = Planes { re: rows(&front.re), im: rows(&front.im) };
    let exchanges = factor_panel(&mut panel, k, size);
    back_substitute(&mut panel, k, size);
    let mut schur = Planes::zeros(left * left, real);
    let corner = |plane: &[f64], out: &mut [f64]| {
        for i in 0..left {
            let row = (k + i) * size + k;
            out[i * left..(i + 1) * left].copy_from_slice(&plane[row..row + left]);
        }
    };
    corner(&front.re, &mut schur.re);
    if !real {
        corner(&front.im, &mut schur.im);
    }
    let coupling = Packed::new(&front.re, k, size, k);
    let reached = Packed::new(&panel.re, k, size, k);
    subtract_symmetric(&mut schur.re, left, &coupling, &reached, 1.0);
    if !real {
        let coupling_im = Packed::new(&front.im, k, size, k);
        let reached_im = Packed::new(&panel.im, k, size, k);
        subtract_symmetric(&mut schur.re, left, &coupling_im, &reached_im, -1.0);
        subtract_symmetric(&mut schur.im, left, &coupling, &reached_im, 1.0);
        subtract_symmetric(&mut schur.im, left, &coupling_im, &reached, 1.0);
    }
    for plane in [&mut schur.re, &mut schur.im] {
        if !plane.is_empty() {
            for i in 0..left {
                for j in 0..i {
                    plane[i * left + j] = plane[j * left + i];
                }
            }
        }
    }
    (Block { eliminated, left, panel, exchanges }, schur)
}

impl Block {
    /// `b₂ −= Xᵀ b₁`, then `b₁ = F₁₁⁻¹ b₁`; `values` holds b₁ and b₂.
    pub(crate) fn forward(&self, values: &mut [Complex]) {
        let (k, size) = (self.eliminated, self.eliminated + self.left);
        let (own, other) = values.split_at_mut(k);
        for (i, &value) in own.iter().enumerate() {
            for (j, target) in other.iter_mut().enumerate() {
                *target -= self.panel.at(i * size + k + j) * value;
            }
        }
        for (i, &exchange) in self.exchanges.iter().enumerate() {
            own.swap(i, exchange);
        }
        for i in 1..k {
            let mut sum = own[i];
            for (j, &value) in own[..i].iter().enumerate() {
                sum -= self.panel.at(i * size + j) * value;
            }
            own[i] = sum;
        }
        for i in (0..k).rev() {
            let mut sum = own[i];
            for (j, &value) in own.iter().enumerate().skip(i + 1) {
                sum -= self.panel.at(i * size + j) * value;
            }
            own[i] = sum / self.panel.at(i * size + i);
        }
    }

    /// `x₁ = b₁ − X x₂`.
    pub(crate) fn backward(&self, values: &mut [Complex]) {
        let (k, size) = (self.eliminated, self.eliminated + self.left);
        let (own, other) = values.split_at_mut(k);
        for (i, target) in own.iter_mut().enumerate() {
            for (j, &value) in other.iter().enumerate() {
                *target -= self.panel.at(i * size + k + j) * value;
            }
        }
    }
}

/// `target −= factor · source`, plane by plane.
fn subtract_row(panel: &mut Planes, target: usize, source: usize, len: usize, factor: Complex) {
    let rows = |plane: &mut Vec<f64>, from: &mut Vec<f64>| {
        from.clear();
        from.extend_from_slice(&plane[source..source + len]);
    };
    if panel.is_real() {
        let (low, high, ahead) =
            if source < target { (source, target, true) } else { (target, source, false) };
        let (first, second) = panel.re.split_at_mut(high);
        let (to, from) = if ahead {
            (&mut second[..len], &first[low..low + len])
        } else {
            (&mut first[low..low + len], &second[..len])
        };
        for (to, from) in to.iter_mut().zip(from) {
            *to -= factor.re * from;
        }
        return;
    }
    let (mut re, mut im) = (Vec::new(), Vec::new());
    rows(&mut panel.re, &mut re);
    rows(&mut panel.im, &mut im);
    let to_re = &mut panel.re[target..target + len];
    let to_im = &mut panel.im[target..target + len];
    for (((to_re, to_im), re), im) in to_re.iter_mut().zip(to_im).zip(&re).zip(&im) {
        *to_re -= factor.re * re - factor.im * im;
        *to_im -= factor.re * im + factor.im * re;
    }
}

/// LU with row exchanges among the `k` rows of the panel, `size` columns wide.
fn factor_panel(panel: &mut Planes, k: usize, size: usize) -> Vec<usize> {
    let mut exchanges = Vec::with_capacity(k);
    for step in 0..k {
        let best = (step..k)
            .max_by(|&a, &b| {
                let size_of = |row: usize| panel.at(row * size + step).norm_sqr();
                size_of(a).total_cmp(&size_of(b))
            })
            .unwrap_or(step);
        exchanges.push(best);
        if best != step {
            for plane in [&mut panel.re, &mut panel.im] {
                if !plane.is_empty() {
                    let (upper, lower) = plane.split_at_mut(best * size);
                    upper[step * size..(step + 1) * size].swap_with_slice(&mut lower[..size]);
                }
            }
        }
        let mut pivot = panel.at(step * size + step);
        if pivot.norm_sqr() < LEAST_PIVOT {
            pivot = Complex::real(LEAST_PIVOT.sqrt());
            panel.set(step * size + step, pivot);
        }
        let inverse = pivot.recip();
        for row in step + 1..k {
            let factor = panel.at(row * size + step) * inverse;
            panel.set(row * size + step, factor);
            if factor.norm_sqr() > 0.0 {
                let (target, source) = (row * size + step + 1, step * size + step + 1);
                subtract_row(panel, target, source, size - step - 1, factor);
            }
        }
    }
    exchanges
}

/// Turns the last columns of the panel from `L⁻¹ P F₁₂` into X.
fn back_substitute(panel: &mut Planes, k: usize, size: usize) {
    let left = size - k;
    if left == 0 {
        return;
    }
    for row in (0..k).rev() {
        let inverse = panel.at(row * size + row).recip();
        for j in k..size {
            let value = panel.at(row * size + j) * inverse;
            panel.set(row * size + j, value);
        }
        for above in 0..row {
            let factor = panel.at(above * size + row);
            subtract_row(panel, above * size + k, row * size + k, left, factor);
        }
    }
}

/// Columns in groups of [`TILE`], each group contiguous, the last filled up with zeros.
struct Packed {
    depth: usize,
    groups: Vec<[f64; TILE]>,
}

impl Packed {
    /// Columns `from..stride` of the first `depth` rows.
    fn new(plane: &[f64], depth: usize, stride: usize, from: usize) -> Self {
        let count = (stride - from).div_ceil(TILE);
        let mut groups = vec![[0.0; TILE]; count * depth];
        for row in 0..depth {
            let values = &plane[row * stride + from..(row + 1) * stride];
            for (group, chunk) in values.chunks(TILE).enumerate() {
                groups[group * depth + row][..chunk.len()].copy_from_slice(chunk);
            }
        }
        Self { depth, groups }
    }

    fn group(&self, index: usize) -> &[[f64; TILE]] {
        &self.groups[index * self.depth..(index + 1) * self.depth]
    }
}

/// `s −= sign · aᵀ b` in the upper triangle of the square s.
fn subtract_symmetric(s: &mut [f64], size: usize, a: &Packed, b: &Packed, sign: f64) {
    let groups = size.div_ceil(TILE);
    for i in 0..groups {
        for j in i..groups {
            let mut sums = [[0.0; TILE]; TILE];
            for (left, right) in a.group(i).iter().zip(b.group(j)) {
                for (sums, left) in sums.iter_mut().zip(left) {
                    for (sum, right) in sums.iter_mut().zip(right) {
                        *sum += left * right;
                    }
                }
            }
            for (row, sums) in (i * TILE..size.min((i + 1) * TILE)).zip(&sums) {
                let start = row * size + j * TILE;
                let end = (row * size + size).min(start + TILE);
                for (value, sum) in s[start..end].iter_mut().zip(sums) {
                    *value -= sign * sum;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Planes, eliminate};
    use crate::complex::Complex;

    #[test]
    fn two_stage_elimination_solves_a_complex_symmetric_system() {
        let n = 23;
        let mut matrix = Planes::zeros(n * n, false);
        for i in 0..n {
            for j in 0..=i {
                let value = Complex::new(
                    ((7 * i + 3 * j) as f64).sin() + if i == j { 0.2 } else { 0.0 },
                    ((i + 11 * j) as f64).cos(),
                );
                matrix.set(i * n + j, value);
                matrix.set(j * n + i, value);
            }
        }
        let truth: Vec<Complex> = (0..n).map(|i| Complex::new(i as f64 - 9.0, 0.3 * i as f64)).collect();
        let mut values: Vec<Complex> = (0..n)
            .map(|i| (0..n).fold(Complex::ZERO, |sum, j| sum + matrix.at(i * n + j) * truth[j]))
            .collect();
        let (first, schur) = eliminate(&matrix, n, 9);
        let (second, rest) = eliminate(&schur, n - 9, n - 9);
        assert!(rest.re.is_empty());
        first.forward(&mut values);
        second.forward(&mut values[9..]);
        second.backward(&mut values[9..]);
        first.backward(&mut values);
        for (value, truth) in values.iter().zip(&truth) {
            assert!((*value - *truth).abs() < 1e-10, "{value:?} {truth:?}");
        }
    }
}
