//! The discretised bent-slab equation `A F = N² B F` and the factors of `A − σB` for a real shift σ.
//!
//! Weak form with x, ρ of the mesh: `A = ∫ (1/q)(n² ρ F G − ρ F' G') dx`, `B = ∫ F G/(q ρ) dx`, F = 0 at both ends.
//! Mass terms are lumped at the Gauss–Lobatto points, so B is diagonal. Elements are eliminated one after the other
//! from the inside outwards (`L D Lᵀ` with the p inner nodes of each element as one front). Everything is real up to
//! the caustic, so rounding in the real part cannot leak into the imaginary part, which is the loss: it stays good
//! to many digits even when it is 1e-20 of the real part.

use std::ops::{Add, Mul, Sub};

use crate::basis::Basis;
use crate::complex::Complex;
use crate::mesh::{Layers, Mesh};

/// Matrix, factors and right-hand sides; the buffers are kept from one radius to the next.
#[derive(Debug, Clone, Default)]
pub(crate) struct Pencil {
    order: usize,
    /// Nodes on the real path, ends included.
    real_nodes: usize,
    /// All nodes; the first and the last are held at zero.
    nodes: usize,
    /// A of each real element, row by row.
    real_elements: Vec<f64>,
    tail_elements: Vec<Complex>,
    /// Lumped B at every node.
    mass: Vec<Complex>,
    real_factors: Vec<f64>,
    tail_factors: Vec<Complex>,
    front: Vec<f64>,
    tail_front: Vec<Complex>,
    /// x of the nodes on the real path.
    pub(crate) positions: Vec<f64>,
}

/// Replaces an exactly singular pivot: the shift then *is* the eigenvalue, and any huge solution is the mode.
const LEAST_PIVOT: f64 = 1e-300;

impl Pencil {
    /// Number of nodes, ends included.
    pub(crate) fn nodes(&self) -> usize {
        self.nodes
    }

    pub(crate) fn mass(&self) -> &[Complex] {
        &self.mass
    }

    pub(crate) fn assemble(&mut self, basis: &Basis, layers: &Layers, mesh: &Mesh) {
        let p = basis.order;
        let n = p + 1;
        self.order = p;
        self.real_nodes = p * mesh.real.len() + 1;
        self.nodes = self.real_nodes + p * mesh.tail.len();
        self.real_elements.clear();
        self.tail_elements.clear();
        self.positions.clear();
        self.mass.clear();
        self.mass.resize(self.nodes, Complex::ZERO);
        self.positions.push(mesh.real.first().map_or(0.0, |element| element.start));
        for (e, element) in mesh.real.iter().enumerate() {
            let half = 0.5 * (element.end - element.start);
            let middle = 0.5 * (element.start + element.end);
            let at_middle = layers.rho(middle) * element.inverse_weight / half;
            let by_xi = layers.curvature * element.inverse_weight;
            let base = self.real_elements.len();
            self.real_elements.extend(
                basis
                    .stiffness
                    .iter()
                    .zip(&basis.stiffness_first_moment)
                    .map(|(even, odd)| -(at_middle * even + by_xi * odd)),
            );
            for i in 0..n {
                let x = middle + half * basis.points[i];
                let rho = layers.rho(x);
                let weight = half * basis.weights[i] * element.inverse_weight;
                self.real_elements[base + i * n + i] += weight * element.index_squared * rho;
                self.mass[e * p + i] += Complex::real(weight / rho);
                if i > 0 {
                    self.positions.push(if i == p { element.end } else { x });
                }
            }
        }
        let index_squared = layers.n_out * layers.n_out;
        let inverse_weight = layers.q_out.recip();
        for (e, element) in mesh.tail.iter().enumerate() {
            let half = (element.end - element.start) * 0.5;
            let middle = (element.end + element.start) * 0.5;
            let rho_at = |x: Complex| Complex::real(1.0) + x * layers.curvature;
            let at_middle = rho_at(middle) / half * inverse_weight;
            let by_xi = layers.curvature * inverse_weight;
            let base = self.tail_elements.len();
            self.tail_elements.extend(
                basis
                    .stiffness
                    .iter()
                    .zip(&basis.stiffness_first_moment)
                    .map(|(even, odd)| Complex::real(-by_xi * odd) - at_middle * *even),
            );
            for i in 0..n {
                let rho = rho_at(middle + half * basis.points[i]);
                let weight = half * (basis.weights[i] * inverse_weight);
                self.tail_elements[base + i * n + i] += weight * rho * index_squared;
                self.mass[self.real_nodes - 1 + e * p + i] += weight / rho;
            }
        }
    }

    /// Factors `A − shift · B`, from the inside outwards.
    pub(crate) fn factor(&mut self, shift: f64) {
        let seam = self.real_nodes - 1;
        let carry = factor_elements(
            self.order,
            &self.real_elements,
            &mut self.real_factors,
            &mut self.front,
            |node| self.mass[node].re * shift,
            0.0,
            // The innermost node is held at zero: leaving it out of the elimination does that.
            1,
        );
        factor_elements(
            self.order,
            &self.tail_elements,
            &mut self.tail_factors,
            &mut self.tail_front,
            |node| self.mass[seam + node] * shift,
            Complex::real(carry),
            0,
        );
    }

    /// Solves with the last factors, in place.
    pub(crate) fn solve(&self, values: &mut [Complex]) {
        let p = self.order;
        let (first, last, seam) = (0, self.nodes - 1, self.real_nodes - 1);
        values[first] = Complex::ZERO;
        forward(p, &self.real_factors, values);
        forward(p, &self.tail_factors, &mut values[seam..]);
        values[last] = Complex::ZERO;
        backward(p, &self.tail_factors, &mut values[seam..]);
        backward(p, &self.real_factors, values);
    }
}

/// Eliminates the inner nodes of elements one after the other; returns what is left for the outermost node.
///
/// `carry` is what earlier elements leave for the first node. The lumped mass of a node that two elements share is
/// subtracted where the node is eliminated, with the second. Rows of `factors`: 1/D on the diagonal, multipliers to
/// its right; a row of zeros for the first `skipped` nodes.
fn factor_elements<T: Entry>(
    order: usize,
    elements: &[T],
    factors: &mut Vec<T>,
    front: &mut Vec<T>,
    shifted_mass: impl Fn(usize) -> T,
    mut carry: T,
    skipped: usize,
) -> T {
    let n = order + 1;
    let square = n * n;
    factors.clear();
    factors.resize(elements.len(), T::default());
    front.resize(square, T::default());
    for (e, (element, factor)) in
        elements.chunks_exact(square).zip(factors.chunks_exact_mut(square)).enumerate()
    {
        front.copy_from_slice(element);
        front[0] = front[0] + carry;
        for i in 0..order {
            front[i * n + i] = front[i * n + i] - shifted_mass(e * order + i);
        }
        for k in 0..order {
            if e * order + k < skipped {
                continue;
            }
            let (above, below) = front.split_at_mut((k + 1) * n);
            let row = &above[k * n..];
            let inverse = row[k].inverse();
            let out = &mut factor[k * n..(k + 1) * n];
            out[k] = inverse;
            for i in k + 1..n {
                let multiplier = row[i] * inverse;
                out[i] = multiplier;
                let target = &mut below[(i - k - 1) * n..(i - k) * n];
                for j in i..n {
                    target[j] = target[j] - multiplier * row[j];
                }
            }
        }
        carry = front[square - 1];
    }
    carry
}

fn forward<T: Entry>(order: usize, factors: &[T], values: &mut [Complex]) {
    let n = order + 1;
    for (e, factor) in factors.chunks_exact(n * n).enumerate() {
        let local = &mut values[e * order..e * order + n];
        for k in 0..order {
            let value = local[k];
            let row = &factor[k * n..(k + 1) * n];
            for i in k + 1..n {
                local[i] -= row[i].times(value);
            }
            local[k] = row[k].times(value);
        }
    }
}

fn backward<T: Entry>(order: usize, factors: &[T], values: &mut [Complex]) {
    let n = order + 1;
    for (e, factor) in factors.chunks_exact(n * n).enumerate().rev() {
        let local = &mut values[e * order..e * order + n];
        for k in (0..order).rev() {
            let row = &factor[k * n..(k + 1) * n];
            let mut value = local[k];
            for i in k + 1..n {
                value -= row[i].times(local[i]);
            }
            local[k] = value;
        }
    }
}

/// A matrix entry, real up to the caustic and complex beyond.
trait Entry: Copy + Default + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> {
    /// Reciprocal, huge instead of infinite for zero.
    fn inverse(self) -> Self;
    fn times(self, value: Complex) -> Complex;
}

impl Entry for f64 {
    fn inverse(self) -> Self {
        if self.abs() < LEAST_PIVOT { LEAST_PIVOT.recip() } else { self.recip() }
    }

    fn times(self, value: Complex) -> Complex {
        value * self
    }
}

impl Entry for Complex {
    fn inverse(self) -> Self {
        // The square of the modulus must not underflow.
        if self.norm_sqr() < LEAST_PIVOT { Self::real(LEAST_PIVOT.sqrt().recip()) } else { self.recip() }
    }

    fn times(self, value: Complex) -> Complex {
        value * self
    }
}
