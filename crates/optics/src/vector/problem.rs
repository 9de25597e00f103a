//! The discretised problem `A x = −N² B x` of one window, and its solution by inverse iteration.

use super::dissection::Factors;
use super::element::{ColumnMatrices, Element, Field, RowMatrices, apply, element_size};
use super::error::VectorError;
use super::layout::Layout;
use super::line::{Reference, Segment, legendre};
use super::section::CrossSection;
use super::window::Window;
use crate::channel::Polarisation;
use crate::complex::Complex;
use crate::error::LightError;

/// Window, numbering and matrices of the lines.
#[derive(Debug, Clone)]
pub(super) struct Problem {
    pub(super) window: Window,
    pub(super) layout: Layout,
    pub(super) reference: Reference,
    columns: Vec<ColumnMatrices>,
    rows: Vec<RowMatrices>,
    /// n of each element, columns of rows.
    indices: Vec<f64>,
    /// Half-width and half-height of the core, units of `1/k₀`.
    pub(super) core: (f64, f64),
}

/// One eigenvalue with its vector.
#[derive(Debug, Clone)]
pub(super) struct Solution {
    /// N = √(eigenvalue).
    pub(super) n_eff: Complex,
    pub(super) vector: Vec<Complex>,
    pub(super) iterations: usize,
    pub(super) residual: f64,
}

/// How well an iteration has to settle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Settled {
    /// Relative change of `N²`.
    pub(super) value: f64,
    /// Relative change of its imaginary part, where there is one.
    pub(super) loss: f64,
}

const MOST_ITERATIONS: usize = 40;
/// Iterations between moves of the shift to the current estimate, and before the first where it is urgent.
const SHIFT_LATE: usize = 5;
const SHIFT_EARLY: usize = 2;
/// The moved shift stays this far off, relative, so that the factors stay regular.
const SHIFT_OFFSET: f64 = 1e-7;
/// Imaginary part of N², relative, from which on the shift may be complex.
const COMPLEX_SHIFT: f64 = 1e-5;

impl Problem {
    pub(super) fn new(section: &CrossSection, window: Window, order: usize) -> Result<Self, LightError> {
        let reference = Reference::new(order)?;
        let columns: Vec<_> = window
            .u
            .iter()
            .map(|segment| ColumnMatrices::new(&reference, segment, window.curvature))
            .collect();
        let rows: Vec<_> = window.z.iter().map(|segment| RowMatrices::new(&reference, segment)).collect();
        let indices =
            window.u.iter().flat_map(|u| window.z.iter().map(|z| section.index(u.cell, z.cell))).collect();
        let layout = Layout::new(order, columns.len(), rows.len(), window.walls);
        let half = |low: f64, high: f64| 0.5 * (high - low) * section.k0();
        let core = (
            half(section.y_um[section.core_columns.0 - 1], section.y_um[section.core_columns.1]),
            half(section.z_um[section.core_rows.0 - 1], section.z_um[section.core_rows.1]),
        );
        Ok(Self { window, layout, reference, columns, rows, indices, core })
    }

    fn element(&self, column: usize, row: usize) -> Element<'_> {
        Element {
            column: &self.columns[column],
            row: &self.rows[row],
            index_squared: self.indices[column * self.layout.rows + row].powi(2),
        }
    }

    /// Factors of `A − σB` for `σ = −N²`.
    pub(super) fn factor(&self, n_eff_squared: Complex) -> Factors {
        Factors::new(&self.layout, |column, row| self.element(column, row), n_eff_squared * -1.0)
    }

    /// B x.
    pub(super) fn energy(&self, x: &[Complex]) -> Vec<Complex> {
        let size = element_size(self.layout.order);
        let mut out = vec![Complex::ZERO; x.len()];
        let (mut values, mut result) = (vec![Complex::ZERO; size], vec![Complex::ZERO; size]);
        let mut unknowns = Vec::with_capacity(size);
        for column in 0..self.layout.columns {
            for row in 0..self.layout.rows {
                self.layout.of_element(column, row, &mut unknowns);
                for (value, unknown) in values.iter_mut().zip(&unknowns) {
                    *value = unknown.map_or(Complex::ZERO, |n| x[n]);
                }
                result.fill(Complex::ZERO);
                apply(self.layout.order, &self.element(column, row).energy(), &values, &mut result);
                for (value, unknown) in result.iter().zip(&unknowns) {
                    if let Some(n) = unknown {
                        out[*n] += *value;
                    }
                }
            }
        }
        out
    }

    /// `∂N/∂n` of every material: `n_j (∫_j (τ_u E_u² + τ_z E_z²) + N² ∫_j τ_s ψ²)/(N xᵀBx)`, the derivative of the
    /// quotient, which holds exactly for the discretised problem.
    pub(super) fn confinement(&self, section: &CrossSection, solution: &Solution) -> Vec<Complex> {
        let size = element_size(self.layout.order);
        let n_eff = solution.n_eff;
        let mut shares = vec![Complex::ZERO; section.indices().len()];
        let (mut values, mut result) = (vec![Complex::ZERO; size], vec![Complex::ZERO; size]);
        let mut unknowns = Vec::with_capacity(size);
        for column in 0..self.layout.columns {
            for row in 0..self.layout.rows {
                self.layout.of_element(column, row, &mut unknowns);
                for (value, unknown) in values.iter_mut().zip(&unknowns) {
                    *value = unknown.map_or(Complex::ZERO, |n| solution.vector[n]);
                }
                result.fill(Complex::ZERO);
                let terms = self.element(column, row).index_energy(n_eff * n_eff);
                apply(self.layout.order, &terms, &values, &mut result);
                let sum = dot(&values, &result);
                for material in self.mirrored_materials(section, column, row) {
                    shares[material] += sum * 0.25;
                }
            }
        }
        let norm = dot(&solution.vector, &self.energy(&solution.vector)) * n_eff;
        shares.iter().zip(section.indices()).map(|(&share, &index)| share / norm * index).collect()
    }

    /// Materials of an element and of its images in the planes of symmetry, four in all.
    fn mirrored_materials(&self, section: &CrossSection, column: usize, row: usize) -> [usize; 4] {
        let (u, z) = (self.window.u[column].cell, self.window.z[row].cell);
        let image_u = if self.window.half_u { section.columns() - 1 - u } else { u };
        let image_z = if self.window.half_z { section.rows() - 1 - z } else { z };
        [(u, z), (image_u, z), (u, image_z), (image_u, image_z)].map(|(u, z)| section.material(u, z))
    }

    /// A vector from a field `(E_u, E_z, ψ)` at places of the window, taken on its real part only.
    pub(super) fn project(&self, field: impl Fn(f64, f64) -> [Complex; 3]) -> Vec<Complex> {
        let p = self.layout.order;
        let mut x = vec![Complex::ZERO; self.layout.len()];
        let (u, z) = (&self.window.u, &self.window.z);
        let place = |segment: &Segment, xi: f64| segment.start + 0.5 * segment.length() * (xi + 1.0);
        let nodes = self.reference.nodes();
        let mut samples = Vec::with_capacity(nodes.len() * nodes.len());
        for (column, u) in u.iter().enumerate().filter(|(_, u)| u.is_real()) {
            for (row, z) in z.iter().enumerate().filter(|(_, z)| z.is_real()) {
                let mut set = |field: Field, i: usize, j: usize, value: Complex| {
                    if let Some(n) = self.layout.number(field, column * p + i, row * p + j) {
                        x[n] = value;
                    }
                };
                samples.clear();
                for &xi in nodes {
                    samples.extend(nodes.iter().map(|&zeta| field(place(u, xi), place(z, zeta))));
                }
                for i in 0..=p {
                    for j in 0..=p {
                        set(Field::Axial, i, j, samples[i * (p + 1) + j][2]);
                    }
                    for k in 0..p {
                        let across = self.reference.moment(k, |g| samples[g * (p + 1) + i][0]);
                        set(Field::AlongU, k, i, across);
                        let upright = self.reference.moment(k, |g| samples[i * (p + 1) + g][1]);
                        set(Field::AlongZ, i, k, upright);
                    }
                }
            }
        }
        x
    }

    /// A real start vector: a bell over the core in the main component.
    pub(super) fn bell(&self, polarisation: Polarisation) -> Vec<Complex> {
        let fall = |at: f64, half: f64| (at / half).powi(2);
        self.project(|u, z| {
            let bell = Complex::real((-fall(u, self.core.0) - fall(z, self.core.1)).exp());
            match polarisation {
                Polarisation::QuasiTe => [bell, Complex::ZERO, Complex::ZERO],
                Polarisation::QuasiTm => [Complex::ZERO, bell, Complex::ZERO],
            }
        })
    }

    /// Inverse iteration from `start` for the eigenvalue nearest `guess`².
    pub(super) fn solve(
        &self,
        guess: f64,
        start: &[Complex],
        settled: Settled,
    ) -> Result<Solution, VectorError> {
        self.solve_beside(guess, start, settled, &[])
    }

    /// As [`Problem::solve`], leaving out modes that are known.
    pub(super) fn solve_beside(
        &self,
        guess: f64,
        start: &[Complex],
        settled: Settled,
        known: &[Solution],
    ) -> Result<Solution, VectorError> {
        let known: Vec<_> = known
            .iter()
            .map(|solution| {
                let energy = self.energy(&solution.vector);
                let inverse = dot(&solution.vector, &energy).recip();
                (&solution.vector, energy, inverse)
            })
            .collect();
        let leave_out = |right: &mut [Complex]| {
            for (vector, energy, inverse) in &known {
                let share = dot(vector, right) * *inverse;
                for (right, energy) in right.iter_mut().zip(energy) {
                    *right -= share * *energy;
                }
            }
        };
        // Without a plane of symmetry the other polarisation may be nearer to the guess than the one asked for, and in
        // a bend radiation may; the start knows better, so the shift follows it early.
        let alone = self.window.half_u || self.window.half_z && self.window.curvature == 0.0;
        let patience = if alone { SHIFT_LATE } else { SHIFT_EARLY };
        let mut shift = Complex::real(guess * guess);
        let mut factors = self.factor(shift);
        let mut x = start.to_vec();
        let mut right = self.energy(&x);
        leave_out(&mut right);
        let mut last = shift;
        let mut residual = f64::INFINITY;
        for iteration in 1..=MOST_ITERATIONS {
            x.copy_from_slice(&right);
            factors.solve(&mut x);
            let next = self.energy(&x);
            // σ + (xᵀ B y)/(xᵀ B x) for −N², so N² = shift − …: real parts cannot spoil a small imaginary part.
            let eigenvalue = shift - dot(&x, &right) / dot(&x, &next);
            let scale = normaliser(&x).filter(|scale| scale.norm_sqr().is_finite());
            let (true, Some(scale)) = (eigenvalue.re.is_finite() && eigenvalue.im.is_finite(), scale) else {
                return Err(VectorError::NotConverged { iterations: iteration, residual });
            };
            right.clear();
            right.extend(next.iter().map(|&value| value * scale));
            leave_out(&mut right);
            let change = eigenvalue - last;
            last = eigenvalue;
            let of_loss = if eigenvalue.im == 0.0 { 0.0 } else { change.im.abs() / eigenvalue.im.abs() };
            let of_value = change.abs() / eigenvalue.abs();
            residual = of_value;
            if of_value <= settled.value && of_loss <= settled.loss {
                for value in &mut x {
                    *value = *value * scale;
                }
                return Ok(Solution { n_eff: eigenvalue.sqrt(), vector: x, iterations: iteration, residual });
            }
            if iteration % SHIFT_LATE == patience % SHIFT_LATE {
                // Of a small loss the digits are kept by a real shift; a large one is met only by a complex shift.
                let lossy = eigenvalue.im > COMPLEX_SHIFT * eigenvalue.re;
                shift = if lossy { eigenvalue } else { Complex::real(eigenvalue.re) } * (1.0 + SHIFT_OFFSET);
                factors = self.factor(shift);
            }
        }
        Err(VectorError::NotConverged { iterations: MOST_ITERATIONS, residual })
    }

    /// Place in an element of a line: element number and reference coordinate.
    pub(super) fn locate(line: &[Segment], t: f64) -> Option<(usize, f64)> {
        let e = line.iter().position(|segment| t >= segment.start && t <= segment.end)?;
        let segment = &line[e];
        Some((e, 2.0 * (t - segment.start) / segment.length() - 1.0))
    }

    /// `E_u`, `E_z` and `E_s` at a place of the window on the real path.
    pub(super) fn field(&self, solution: &Solution, t_u: f64, t_z: f64) -> Option<[Complex; 3]> {
        let [along_u, along_z, axial] = self.parts(solution, t_u, t_z)?;
        let axial =
            Complex::new(0.0, 1.0) * solution.n_eff * axial * (1.0 + self.window.curvature * t_u).recip();
        Some([along_u, along_z, axial])
    }

    /// `E_u`, `E_z` and ψ at a place of the window on the real path.
    pub(super) fn parts(&self, solution: &Solution, t_u: f64, t_z: f64) -> Option<[Complex; 3]> {
        let p = self.layout.order;
        let (column, xi) = Self::locate(&self.window.u, t_u)?;
        let (row, zeta) = Self::locate(&self.window.z, t_z)?;
        if !self.window.u[column].is_real() || !self.window.z[row].is_real() {
            return None;
        }
        let (nodal_u, nodal_z) = (self.reference.nodal_at(xi), self.reference.nodal_at(zeta));
        let (modal_u, modal_z) = (legendre(p, xi), legendre(p, zeta));
        let sum = |field: Field, along_u: &[f64], along_z: &[f64]| {
            let mut sum = Complex::ZERO;
            for (i, u) in along_u.iter().enumerate() {
                for (j, z) in along_z.iter().enumerate() {
                    if let Some(n) = self.layout.number(field, column * p + i, row * p + j) {
                        sum += solution.vector[n] * (u * z);
                    }
                }
            }
            sum
        };
        Some([
            sum(Field::AlongU, &modal_u, &nodal_z),
            sum(Field::AlongZ, &nodal_u, &modal_z),
            sum(Field::Axial, &nodal_u, &nodal_z),
        ])
    }
}

/// `Σ aᵢ bᵢ`, not conjugated.
pub(super) fn dot(a: &[Complex], b: &[Complex]) -> Complex {
    a.iter().zip(b).fold(Complex::ZERO, |sum, (&a, &b)| sum + a * b)
}

/// Inverse of the largest entry.
fn normaliser(x: &[Complex]) -> Option<Complex> {
    x.iter()
        .copied()
        .max_by(|a, b| a.norm_sqr().total_cmp(&b.norm_sqr()))
        .filter(|value| value.norm_sqr() > 0.0)
        .map(Complex::recip)
}
