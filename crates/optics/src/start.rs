//! Starting value for a bent mode that cannot be mistaken for another mode.
//!
//! The one-dimensional problem, cut at the caustic, is a Sturm–Liouville problem: mode m has exactly m modes above
//! it. So the number of positive pivots of a coarse real matrix `A − σB` (linear elements, lumped mass, hence
//! tridiagonal) brackets mode m by bisection in σ, with no history of other radii. The caustic moves with σ; at it
//! the field of a leaking mode follows the growing Airy function, whose logarithmic slope there is −Bi'(0)/Bi(0) per
//! Airy scale.

use crate::mesh::{Layers, Mesh, MeshSettings};

/// Coarse tridiagonal problem; the buffers are kept.
#[derive(Debug, Clone, Default)]
pub(crate) struct Start {
    mesh: Mesh,
    x: Vec<f64>,
    rho: Vec<f64>,
    /// Diagonal of A and of B, whole and from the inner neighbour only.
    a: Vec<f64>,
    b: Vec<f64>,
    a_inner: Vec<f64>,
    b_inner: Vec<f64>,
    /// Square of the coupling to the inner neighbour.
    coupling: Vec<f64>,
}

const COARSE: MeshSettings =
    MeshSettings { phase: 0.3, inner_decay: 2.0, tail_decay: 0.0, outer_decay: 4.0, slope: 1.0 };
/// Bisections; the coarse mesh is only good for some 1e-3 of the index contrast.
const BISECTIONS: usize = 18;
/// Indices probed for one with the mode above it.
const PROBES: usize = 16;
/// Keeps the caustic off the core's edge by a hair.
const MARGIN: f64 = 1e-12;
/// Bi'(0)/Bi(0) = 3^(1/3) Γ(2/3)/Γ(1/3).
const AIRY_SLOPE: f64 = 0.729_011_132_947_227;

impl Start {
    /// Effective index of mode `mode`, to some 1e-3 of the contrast, or `None` when the bend no longer holds it.
    pub(crate) fn effective_index(&mut self, layers: &Layers, mode: usize) -> Option<f64> {
        // Below `low` the caustic lies in the core, above `high` the field decays everywhere.
        let outer = layers.rho(layers.outer_edge);
        let mut low = layers.n_out * outer * (1.0 + MARGIN);
        let mut high = layers.n_core * outer;
        self.assemble(layers, low, high);
        // With the caustic close to the core the count need not fall steadily: look further up before giving up.
        let step = (high - low) / PROBES as f64;
        low = (0..PROBES).map(|i| low + step * i as f64).find(|&n| self.modes_above(layers, n) > mode)?;
        for _ in 0..BISECTIONS {
            let middle = 0.5 * (low + high);
            if self.modes_above(layers, middle) > mode {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(0.5 * (low + high))
    }

    fn assemble(&mut self, layers: &Layers, low: f64, high: f64) {
        self.mesh.build_for_range(layers, low, high, &COARSE);
        for list in [&mut self.x, &mut self.rho, &mut self.a, &mut self.b] {
            list.clear();
        }
        for list in [&mut self.a_inner, &mut self.b_inner, &mut self.coupling] {
            list.clear();
        }
        self.node(layers, self.mesh.real.first().map_or(layers.inner_edge, |element| element.start));
        for i in 0..self.mesh.real.len() {
            let element = self.mesh.real[i];
            self.node(layers, element.end);
            let length = element.end - element.start;
            let last = self.x.len() - 1;
            let (rho_0, rho_1) = (self.rho[last - 1], self.rho[last]);
            let stiffness = 0.5 * (rho_0 + rho_1) * element.inverse_weight / length;
            let weight = 0.5 * length * element.inverse_weight;
            self.a[last - 1] += weight * element.index_squared * rho_0 - stiffness;
            self.b[last - 1] += weight / rho_0;
            self.a[last] += weight * element.index_squared * rho_1 - stiffness;
            self.b[last] += weight / rho_1;
            self.a_inner[last] = self.a[last];
            self.b_inner[last] = self.b[last];
            self.coupling[last] = stiffness * stiffness;
        }
    }

    fn node(&mut self, layers: &Layers, x: f64) {
        self.x.push(x);
        self.rho.push(layers.rho(x));
        for list in [&mut self.a, &mut self.b, &mut self.a_inner, &mut self.b_inner, &mut self.coupling] {
            list.push(0.0);
        }
    }

    /// Number of modes with an effective index above `n_eff`; at both ends the field goes on with the logarithmic
    /// slope it has there at this index.
    fn modes_above(&self, layers: &Layers, n_eff: f64) -> usize {
        let shift = n_eff * n_eff;
        let caustic = layers.caustic(n_eff);
        let airy = AIRY_SLOPE / layers.caustic_scale(n_eff);
        let decay = |index: f64, rho: f64| ((n_eff / rho).powi(2) - index * index).max(0.0).sqrt();
        let inner = decay(layers.n_in, self.rho[0]) * self.rho[0] / layers.q_in;
        let mut pivot = self.a[0] - shift * self.b[0] - inner;
        let mut count = usize::from(pivot > 0.0);
        for i in 1..self.x.len() {
            let is_last = self.x.get(i + 1).is_none_or(|&next| next > caustic);
            let open = if is_last {
                let slope = decay(layers.n_out, self.rho[i]).max(airy);
                self.a_inner[i] - shift * self.b_inner[i] - slope * self.rho[i] / layers.q_out
            } else {
                self.a[i] - shift * self.b[i]
            };
            pivot = open - self.coupling[i] / pivot;
            count += usize::from(pivot > 0.0);
            if is_last {
                break;
            }
        }
        count
    }
}
