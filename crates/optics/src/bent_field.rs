//! Field of a bent mode on the real axis.

use std::sync::Arc;

use crate::basis::{Basis, GREATEST_ORDER};
use crate::bent::BentSlab;
use crate::complex::Complex;
use crate::mesh::Mesh;
use crate::pencil::Pencil;

/// Field of a bent mode against the outward offset u = r − R from the core's middle, scaled so that its largest value
/// in the core is 1 (real). Zero inside its inner end; beyond its outer end it is radiation, or has died out.
#[derive(Debug, Clone, PartialEq)]
pub struct BentField {
    slab: BentSlab,
    radius_um: f64,
    n_eff: f64,
    basis: Arc<Basis>,
    /// Ends of the elements, µm; `len = elements + 1`.
    ends_um: Vec<f64>,
    /// Nodes, µm: p per element and the last end.
    nodes_um: Vec<f64>,
    values: Vec<Complex>,
}

impl BentField {
    pub(crate) fn new(
        slab: &BentSlab,
        radius_um: f64,
        n_eff: f64,
        basis: &Arc<Basis>,
        mesh: &Mesh,
        pencil: &Pencil,
        mode: &[Complex],
    ) -> Self {
        let per_um = std::f64::consts::TAU / slab.wavelength_um;
        let mut ends_um = Vec::with_capacity(mesh.real.len() + 1);
        ends_um.extend(mesh.real.first().map(|element| element.start / per_um));
        ends_um.extend(mesh.real.iter().map(|element| element.end / per_um));
        // The core's edges must be met exactly, or a point on one counts to the wrong side.
        let half = 0.5 * slab.width_um;
        if let Some(core) = ends_um.get_mut(mesh.core.start) {
            *core = -half;
        }
        if let Some(core) = ends_um.get_mut(mesh.core.end) {
            *core = half;
        }
        Self {
            slab: *slab,
            radius_um,
            n_eff,
            basis: Arc::clone(basis),
            ends_um,
            nodes_um: pencil.positions.iter().map(|x| x / per_um).collect(),
            values: mode[..pencil.positions.len()].to_vec(),
        }
    }

    /// Inner and outer end of the stored field, offsets in µm.
    pub fn range_um(&self) -> (f64, f64) {
        let first = self.ends_um.first().copied().unwrap_or(0.0);
        (first, self.ends_um.last().copied().unwrap_or(first))
    }

    /// Offsets (µm, rising) and field (real and imaginary part) at the nodes, for drawing.
    pub fn nodes(&self) -> impl ExactSizeIterator<Item = (f64, (f64, f64))> + '_ {
        self.nodes_um.iter().zip(&self.values).map(|(&u, value)| (u, (value.re, value.im)))
    }

    /// Field (real and imaginary part) at the outward offset `u_um`; 0 outside [`Self::range_um`].
    pub fn at(&self, u_um: f64) -> (f64, f64) {
        let value = self.value(u_um, self.element_of(u_um));
        (value.re, value.im)
    }

    /// Mean offset of the power flux from the core's middle, µm, weighted with `|F|²/(ρ q)`; positive away from the
    /// centre of curvature.
    pub fn centroid_um(&self) -> f64 {
        let (mut moment, mut norm) = (0.0, 0.0);
        for (element, ends) in self.ends_um.windows(2).enumerate() {
            let (middle, half) = (f64::midpoint(ends[0], ends[1]), 0.5 * (ends[1] - ends[0]));
            let weight = self.slab.polarisation.weight(self.slab.index_at(middle));
            for (i, (xi, share)) in self.quadrature().enumerate() {
                let u_um = middle + half * xi;
                let value = self.values[element * self.basis.order + i];
                let density = share * half * value.norm_sqr() / (self.rho(u_um) * weight);
                moment += u_um * density;
                norm += density;
            }
        }
        if norm > 0.0 { moment / norm } else { 0.0 }
    }

    pub(crate) fn slab(&self) -> &BentSlab {
        &self.slab
    }

    pub(crate) fn n_eff(&self) -> f64 {
        self.n_eff
    }

    pub(crate) fn ends_um(&self) -> &[f64] {
        &self.ends_um
    }

    /// ρ = r/R at an offset.
    pub(crate) fn rho(&self, u_um: f64) -> f64 {
        1.0 + u_um / self.radius_um
    }

    /// Number of the element that holds `u_um`.
    pub(crate) fn element_of(&self, u_um: f64) -> Option<usize> {
        let after = self.ends_um.partition_point(|&end| end <= u_um);
        let element = after.checked_sub(1)?;
        if element + 1 < self.ends_um.len() {
            Some(element)
        } else {
            // The outer end itself belongs to the last element.
            (self.ends_um.last() == Some(&u_um)).then(|| element.saturating_sub(1))
        }
    }

    pub(crate) fn value(&self, u_um: f64, element: Option<usize>) -> Complex {
        let Some(element) = element else { return Complex::ZERO };
        let order = self.basis.order;
        let (Some(ends), Some(values)) = (
            self.ends_um.get(element..element + 2),
            self.values.get(element * order..=(element + 1) * order),
        ) else {
            return Complex::ZERO;
        };
        let xi = (2.0 * u_um - ends[0] - ends[1]) / (ends[1] - ends[0]);
        let mut shapes = [0.0; GREATEST_ORDER + 1];
        let shapes = &mut shapes[..=order];
        self.basis.shape_functions(xi.clamp(-1.0, 1.0), shapes);
        let mut sum = Complex::ZERO;
        for (&value, &shape) in values.iter().zip(shapes.iter()) {
            sum += value * shape;
        }
        sum
    }

    /// The quadrature that belongs to the elements: points in [−1, 1] and weights.
    pub(crate) fn quadrature(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.basis.points.iter().copied().zip(self.basis.weights.iter().copied())
    }
}
