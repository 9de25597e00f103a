//! The beam element: residual, tangent and border columns of one quartic element.
//!
//! For an angle φ = φ₀ + ψ and an end force (H, V), the stretch of the centreline is a pointwise linear solve.
//! With `D = EA + κ₀² EI_c`, N = H cos φ + V sin φ and T = H sin φ − V cos φ,
//!
//! ```text
//! ε₀ = N/D + k ψ'        M = a ψ' − k N        k = κ₀ EI_c/D        a = EI_c EA/D
//! R_i = ∫ (M N_i' + (1+ε₀) T N_i) ds           X = ∫ (1+ε₀) cos φ ds
//! ```
//!
//! The unknown is ψ, the departure from the rest angle, so the rest state is met exactly on every mesh and small
//! stretches lose nothing to the interpolation of φ₀. All lengths are divided by the pitch, forces multiplied by
//! P²/EI.

use pulp::Simd;

use crate::{
    basis::{NODES, SLOPE},
    wide::Wide,
};

/// Numbers stored per node, see [`NodeTerm`].
pub(crate) const TERMS: usize = 7;

/// What [`Wide`] numbers a node keeps through an iteration, by index.
pub(crate) struct NodeTerm;

impl NodeTerm {
    /// φ₀.
    pub(crate) const PHI: usize = 0;
    /// Quadrature weight in ds.
    pub(crate) const WEIGHT: usize = 1;
    /// Weight · a, per element coordinate: M's part from dψ/dξ.
    pub(crate) const BENDING: usize = 2;
    /// Weight · k in dξ.
    pub(crate) const COUPLING: usize = 3;
    /// k per element coordinate: ε₀'s part from dψ/dξ.
    pub(crate) const COUPLING_SLOPE: usize = 4;
    /// 1/D.
    pub(crate) const SOFTNESS: usize = 5;
    /// Weight in ds, divided by D.
    pub(crate) const WEIGHTED_SOFTNESS: usize = 6;
}

/// Entries of the symmetric element matrix, upper triangle by rows.
pub(crate) const ENTRIES: usize = NODES * (NODES + 1) / 2;

/// Place of entry (i, j), i ≤ j, in the upper triangle.
pub(crate) const fn entry(i: usize, j: usize) -> usize {
    i * NODES - i * (i + 1) / 2 + j
}

/// Rest state of a node in all lanes.
#[derive(Clone, Copy)]
pub(crate) struct NodeRest<S: Simd> {
    pub(crate) phi: Wide<S>,
    pub(crate) kappa: Wide<S>,
    pub(crate) jacobian: Wide<S>,
    /// `EI_c/EI`.
    pub(crate) bending: Wide<S>,
}

/// The stored numbers of a node with quadrature weight `weight` (in dξ) in a section of stiffness `ea`.
#[inline(always)]
pub(crate) fn node_terms<S: Simd>(simd: S, rest: NodeRest<S>, weight: f64, ea: Wide<S>) -> [S::f64s; TERMS] {
    let one = Wide::splat(simd, 1.0);
    let turning = rest.kappa * rest.bending;
    let softness = one / rest.kappa.mul_add(turning, ea);
    let per_jacobian = one / rest.jacobian;
    let ds = rest.jacobian.scale(weight);
    let coupling = turning * softness;
    let bending = rest.bending * ea * softness * per_jacobian;
    let mut terms = [one.lanes(); TERMS];
    terms[NodeTerm::PHI] = rest.phi.lanes();
    terms[NodeTerm::WEIGHT] = ds.lanes();
    terms[NodeTerm::BENDING] = bending.scale(weight).lanes();
    terms[NodeTerm::COUPLING] = coupling.scale(weight).lanes();
    terms[NodeTerm::COUPLING_SLOPE] = (coupling * per_jacobian).lanes();
    terms[NodeTerm::SOFTNESS] = softness.lanes();
    terms[NodeTerm::WEIGHTED_SOFTNESS] = (softness * ds).lanes();
    terms
}

/// The part of the element matrix that no iteration changes: `∫ a N_i' N_j' ds`.
#[inline(always)]
pub(crate) fn constant_stiffness<S: Simd>(simd: S, terms: &[[S::f64s; TERMS]; NODES]) -> [S::f64s; ENTRIES] {
    let mut matrix = [simd.splat_f64s(0.0); ENTRIES];
    for i in 0..NODES {
        for j in i..NODES {
            let mut sum = Wide::splat(simd, 0.0);
            for g in 0..NODES {
                sum = Wide::new(simd, terms[g][NodeTerm::BENDING]).scale_add(SLOPE[g][i] * SLOPE[g][j], sum);
            }
            matrix[entry(i, j)] = sum.lanes();
        }
    }
    matrix
}

/// What one element adds; `F` is 1 for a force along x alone (H), 2 for (H, V).
pub(crate) struct ElementSums<S: Simd, const F: usize> {
    /// Tangent, upper triangle.
    pub(crate) matrix: [Wide<S>; ENTRIES],
    /// Residual.
    pub(crate) residual: [Wide<S>; NODES],
    /// Derivative of the residual by each force.
    pub(crate) border: [[Wide<S>; NODES]; F],
    /// End-to-end lengths ∫ (1+ε₀) (cos φ, sin φ) ds.
    pub(crate) length: [Wide<S>; F],
    /// Derivative of the lengths by the forces: (x by H, x by V, y by V), as far as F asks for.
    pub(crate) softness: [Wide<S>; 3],
}

/// Residual and tangent of one element at the nodal values `psi` under the force `force`.
#[inline(always)]
pub(crate) fn element<S: Simd, const F: usize>(
    simd: S,
    terms: &[[S::f64s; TERMS]; NODES],
    stiffness: &[S::f64s; ENTRIES],
    psi: [Wide<S>; NODES],
    force: [Wide<S>; F],
) -> ElementSums<S, F> {
    let zero = Wide::splat(simd, 0.0);
    let one = Wide::splat(simd, 1.0);
    let mut moment = [zero; NODES];
    let mut shear = [zero; NODES];
    let mut mixed = [zero; NODES];
    let mut curving = [zero; NODES];
    let mut moment_by = [[zero; NODES]; F];
    let mut shear_by = [[zero; NODES]; F];
    let mut length = [zero; F];
    let mut softness = [zero; 3];
    for g in 0..NODES {
        let mut slope = psi[0].scale(SLOPE[g][0]);
        for i in 1..NODES {
            slope = psi[i].scale_add(SLOPE[g][i], slope);
        }
        let (sine, cosine) = (term(simd, &terms[g], NodeTerm::PHI) + psi[g]).sin_cos();
        let (mut normal, mut transverse) = (force[0] * cosine, force[0] * sine);
        if F == 2 {
            normal = force[F - 1].mul_add(sine, normal);
            transverse = force[F - 1].neg_mul_add(cosine, transverse);
        }
        let stretched = term(simd, &terms[g], NodeTerm::COUPLING_SLOPE)
            .mul_add(slope, term(simd, &terms[g], NodeTerm::SOFTNESS).mul_add(normal, one));
        let ds = stretched * term(simd, &terms[g], NodeTerm::WEIGHT);
        let coupling = term(simd, &terms[g], NodeTerm::COUPLING);
        let weighted_softness = term(simd, &terms[g], NodeTerm::WEIGHTED_SOFTNESS);
        let softened = transverse * weighted_softness;
        moment[g] = term(simd, &terms[g], NodeTerm::BENDING).mul_add(slope, -(coupling * normal));
        shear[g] = ds * transverse;
        mixed[g] = coupling * transverse;
        curving[g] = ds.mul_add(normal, -(softened * transverse));
        moment_by[0][g] = -(coupling * cosine);
        shear_by[0][g] = ds.mul_add(sine, softened * cosine);
        length[0] = ds.mul_add(cosine, length[0]);
        let soft_cosine = weighted_softness * cosine;
        softness[0] = soft_cosine.mul_add(cosine, softness[0]);
        if F == 2 {
            moment_by[F - 1][g] = -(coupling * sine);
            shear_by[F - 1][g] = softened.mul_add(sine, -(ds * cosine));
            length[F - 1] = ds.mul_add(sine, length[F - 1]);
            softness[1] = soft_cosine.mul_add(sine, softness[1]);
            softness[2] = (weighted_softness * sine).mul_add(sine, softness[2]);
        }
    }
    let residual = gather(&moment, shear);
    let mut border = [[zero; NODES]; F];
    for f in 0..F {
        border[f] = gather(&moment_by[f], shear_by[f]);
    }
    let mut matrix = [zero; ENTRIES];
    for i in 0..NODES {
        for j in i..NODES {
            let constant = Wide::new(simd, stiffness[entry(i, j)]);
            let half = mixed[i].scale_add(SLOPE[i][j], constant);
            matrix[entry(i, j)] = mixed[j].scale_add(SLOPE[j][i], half);
        }
        matrix[entry(i, i)] = matrix[entry(i, i)] + curving[i];
    }
    ElementSums { matrix, residual, border, length, softness }
}

/// `∫ (m N_i' + v N_i) ds` from the nodal m (weighted in dξ) and v (weighted in ds).
#[inline(always)]
fn gather<S: Simd>(by_slope: &[Wide<S>; NODES], by_value: [Wide<S>; NODES]) -> [Wide<S>; NODES] {
    let mut sums = by_value;
    for i in 0..NODES {
        for g in 0..NODES {
            sums[i] = by_slope[g].scale_add(SLOPE[g][i], sums[i]);
        }
    }
    sums
}

/// A stored number of a node.
#[inline(always)]
pub(crate) fn term<S: Simd>(simd: S, terms: &[S::f64s; TERMS], k: usize) -> Wide<S> {
    Wide::new(simd, terms[k])
}
