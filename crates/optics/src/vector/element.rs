//! The forms A and B of one element as sums of Kronecker products.
//!
//! Unknowns `E_u ∈ Q(p−1, p)`, `E_z ∈ Q(p, p−1)`, `ψ ∈ Q(p, p)` with `E_s = iNψ`, in units of `1/k₀`:
//!
//! ```text
//! A = ∫ [ (curl E)(curl W)/τ_s − n² (τ_u E_u W_u + τ_z E_z W_z) ]
//! B = ∫ [ (∂_uψ − E_u)(∂_uχ − W_u)/τ_z + (∂_zψ − E_z)(∂_zχ − W_z)/τ_u − n² τ_s ψχ ],   A x = −N² B x
//! τ_u = s_z h/s_u,  τ_z = s_u h/s_z,  τ_s = s_u s_z/h
//! ```

use super::line::{Products, Reference, Segment, Small};
use crate::complex::Complex;

/// Matrices of one column of elements.
#[derive(Debug, Clone)]
pub(super) struct ColumnMatrices {
    /// Weight h/s.
    wide: Products,
    /// Weight 1/(s h).
    narrow: Products,
    /// g g with weight s h.
    nodal_wide: Small,
    /// g g with weight s/h.
    nodal_narrow: Small,
}

impl ColumnMatrices {
    /// `curvature` is `1/(k₀ R)`: h = 1 + curvature·x.
    pub(super) fn new(reference: &Reference, segment: &Segment, curvature: f64) -> Self {
        let s = segment.stretch;
        let h = |x: Complex| Complex::real(1.0) + x * curvature;
        Self {
            wide: Products::new(reference, segment, |x| h(x) / s),
            narrow: Products::new(reference, segment, |x| (h(x) * s).recip()),
            nodal_wide: Products::new(reference, segment, |x| h(x) * s).nodal,
            nodal_narrow: Products::new(reference, segment, |x| s / h(x)).nodal,
        }
    }
}

/// Matrices of one row of elements.
#[derive(Debug, Clone)]
pub(super) struct RowMatrices {
    /// Weight 1/s.
    thin: Products,
    /// g g with weight s.
    nodal: Small,
}

impl RowMatrices {
    pub(super) fn new(reference: &Reference, segment: &Segment) -> Self {
        let s = segment.stretch;
        Self {
            thin: Products::new(reference, segment, |_| s.recip()),
            nodal: Products::new(reference, segment, |_| s).nodal,
        }
    }
}

/// The three kinds of unknowns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    AlongU,
    AlongZ,
    Axial,
}

impl Field {
    pub(super) const ALL: [Self; 3] = [Self::AlongU, Self::AlongZ, Self::Axial];

    /// Numbers of functions along u and z.
    pub(super) fn counts(self, order: usize) -> (usize, usize) {
        match self {
            Self::AlongU => (order, order + 1),
            Self::AlongZ => (order + 1, order),
            Self::Axial => (order + 1, order + 1),
        }
    }

    /// First place among the unknowns of an element.
    pub(super) fn offset(self, order: usize) -> usize {
        match self {
            Self::AlongU => 0,
            Self::AlongZ => order * (order + 1),
            Self::Axial => 2 * order * (order + 1),
        }
    }
}

/// Unknowns of one element.
pub(super) fn element_size(order: usize) -> usize {
    (order + 1) * (3 * order + 1)
}

/// `u ⊗ z` between two fields; off the diagonal it stands for its transpose as well.
#[derive(Debug, Clone)]
pub(super) struct Term {
    row: Field,
    column: Field,
    u: Small,
    z: Small,
}

/// One element: its column, its row and its n².
#[derive(Debug, Clone, Copy)]
pub(super) struct Element<'a> {
    pub(super) column: &'a ColumnMatrices,
    pub(super) row: &'a RowMatrices,
    pub(super) index_squared: f64,
}

impl Element<'_> {
    /// Terms of `A − σB`.
    pub(super) fn shifted(&self, shift: Complex) -> Vec<Term> {
        let (column, row) = (self.column, self.row);
        let minus = shift * -1.0;
        let index = Complex::real(-self.index_squared);
        let term = |row, column, u: Small, z: Small| Term { row, column, u, z };
        let mut terms = vec![
            term(
                Field::AlongU,
                Field::AlongU,
                column.wide.modal.clone(),
                row.thin.slopes.plus(index, &row.nodal),
            ),
            term(
                Field::AlongZ,
                Field::AlongZ,
                column.wide.slopes.plus(index, &column.nodal_wide).plus(minus, &column.nodal_narrow),
                row.thin.modal.clone(),
            ),
            term(
                Field::AlongZ,
                Field::AlongU,
                column.wide.slope_modal.times(Complex::real(-1.0)),
                transposed(&row.thin.slope_modal),
            ),
        ];
        // The other terms of B; those of E_z with itself are in the line above.
        terms.extend(
            self.energy_with(minus)
                .into_iter()
                .filter(|term| term.row != Field::AlongZ || term.column != Field::AlongZ),
        );
        terms
    }

    /// Terms of B.
    pub(super) fn energy(&self) -> Vec<Term> {
        self.energy_with(Complex::real(1.0))
    }

    fn energy_with(&self, factor: Complex) -> Vec<Term> {
        let (column, row) = (self.column, self.row);
        let index = Complex::real(-self.index_squared);
        let term = |row, column, u: Small, z: &Small| Term { row, column, u, z: z.clone() };
        vec![
            term(Field::AlongU, Field::AlongU, column.narrow.modal.times(factor), &row.nodal),
            term(Field::AlongZ, Field::AlongZ, column.nodal_narrow.times(factor), &row.thin.modal),
            term(Field::Axial, Field::Axial, column.narrow.slopes.times(factor), &row.nodal),
            term(
                Field::Axial,
                Field::Axial,
                column.nodal_narrow.times(factor),
                &row.thin.slopes.plus(index, &row.nodal),
            ),
            term(Field::Axial, Field::AlongU, column.narrow.slope_modal.times(factor * -1.0), &row.nodal),
            term(
                Field::Axial,
                Field::AlongZ,
                column.nodal_narrow.times(factor * -1.0),
                &row.thin.slope_modal,
            ),
        ]
    }

    /// Terms of `−(∂A/∂n² + N² ∂B/∂n²)`, the energy that answers to a change of the index; `eigenvalue` is N².
    pub(super) fn index_energy(&self, eigenvalue: Complex) -> Vec<Term> {
        let (column, row) = (self.column, self.row);
        let term = |field, u: &Small, z: &Small, factor: Complex| Term {
            row: field,
            column: field,
            u: u.times(factor),
            z: z.clone(),
        };
        let one = Complex::real(1.0);
        vec![
            term(Field::AlongU, &column.wide.modal, &row.nodal, one),
            term(Field::AlongZ, &column.nodal_wide, &row.thin.modal, one),
            term(Field::Axial, &column.nodal_narrow, &row.nodal, eigenvalue),
        ]
    }
}

fn transposed(small: &Small) -> Small {
    let mut values = vec![Complex::ZERO; small.values.len()];
    for i in 0..small.rows {
        for j in 0..small.columns {
            values[j * small.rows + i] = small.values[i * small.columns + j];
        }
    }
    Small { rows: small.columns, columns: small.rows, values }
}

/// Adds the terms up to a full element matrix, `size²`.
pub(super) fn assemble(order: usize, terms: &[Term], matrix: &mut [Complex]) {
    let size = element_size(order);
    matrix.fill(Complex::ZERO);
    for term in terms {
        let (rows, columns) = (term.row.offset(order), term.column.offset(order));
        for iu in 0..term.u.rows {
            for ju in 0..term.u.columns {
                let u = term.u.values[iu * term.u.columns + ju];
                for iz in 0..term.z.rows {
                    let row = rows + iu * term.z.rows + iz;
                    for jz in 0..term.z.columns {
                        let column = columns + ju * term.z.columns + jz;
                        let value = u * term.z.values[iz * term.z.columns + jz];
                        matrix[row * size + column] += value;
                        if term.row != term.column {
                            matrix[column * size + row] += value;
                        }
                    }
                }
            }
        }
    }
}

/// `out += (Σ terms) values` for the unknowns of one element.
pub(super) fn apply(order: usize, terms: &[Term], values: &[Complex], out: &mut [Complex]) {
    for term in terms {
        let (rows, columns) = (term.row.offset(order), term.column.offset(order));
        product(&term.u, &term.z, &values[columns..], &mut out[rows..]);
        if term.row != term.column {
            product(&transposed(&term.u), &transposed(&term.z), &values[rows..], &mut out[columns..]);
        }
    }
}

/// `out += u x zᵀ` with x and `out` as matrices.
fn product(u: &Small, z: &Small, x: &[Complex], out: &mut [Complex]) {
    for iu in 0..u.rows {
        for jz in 0..z.columns {
            let mut sum = Complex::ZERO;
            for ju in 0..u.columns {
                sum += u.values[iu * u.columns + ju] * x[ju * z.columns + jz];
            }
            for iz in 0..z.rows {
                out[iu * z.rows + iz] += sum * z.values[iz * z.columns + jz];
            }
        }
    }
}
