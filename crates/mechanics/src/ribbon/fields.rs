//! Stresses at the nodes of a solved ribbon, and what they tell about the mesh.

use super::{mesh::RibbonMesh, newton::Newton};
use crate::{
    basis::{INTEGRAL, NODES, WEIGHT},
    extremes::LAYERS_RESOLVED,
};

/// Weights of the two error estimates, see [`Fields::fill`].
const GLOBAL_ERROR: f64 = 100.0;
const LOCAL_ERROR: f64 = 25.0;
/// Least squared moment that counts: what rounding leaves of a state at rest, (M P/EI)².
const FLOOR: f64 = 1e-24;

/// What equilibrium has at a node: M = M(0) + H (y − y(0)) − V (x − x(0)).
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct NodeField {
    /// ε₀.
    pub(crate) axial: f64,
    /// χ P.
    pub(crate) curving: f64,
    /// Position over P from the near end.
    pub(crate) at: [f64; 2],
    /// (1+ε₀)(cos φ, sin φ) ds/dξ as the element has it.
    pub(crate) rate: [f64; 2],
}

/// Nodal fields and error indicators of the present state.
#[derive(Debug, Clone, Default)]
pub(crate) struct Fields {
    pub(crate) nodes: Vec<NodeField>,
    /// `∫ (M_h − M)²/EI_c ds` per element, `M_h` being the element's own moment.
    indicators: Vec<f64>,
    lengths: Vec<f64>,
    /// Largest `M²/EI_c`.
    densest: f64,
    /// `∫ M²/EI_c ds`.
    total: f64,
    /// M P/EI at the clamps.
    pub(crate) end_moments: [f64; 2],
}

impl Fields {
    /// Fills the fields from the state; returns the estimated relative error of the peak strain.
    ///
    /// The moment from equilibrium is two orders better than the element's own from the slope of ψ, so that their
    /// difference is the error of the latter, in energy. The force errs as the square of the energy error, relative to the
    /// energy of the whole; the moment at a peak as that of the element there, relative to what it holds.
    pub(crate) fn fill(&mut self, mesh: &RibbonMesh, newton: &Newton) -> f64 {
        self.nodes.clear();
        self.indicators.clear();
        self.lengths.clear();
        (self.densest, self.total) = (0.0, 0.0);
        self.end_moments = newton.end_moments(mesh);
        let [h, v] = newton.force;
        let mut start = [0.0; 2];
        for e in 0..mesh.elements() {
            let own = newton.element_nodes(mesh, e);
            let rest = &mesh.rest[e * NODES..(e + 1) * NODES];
            let bending = &mesh.bending[e * NODES..(e + 1) * NODES];
            let rates: [[f64; 2]; NODES] = std::array::from_fn(|g| {
                let length = rest[g].jacobian * (1.0 + own[g].axial);
                [length * own[g].cosine, length * own[g].sine]
            });
            let (mut indicator, mut length) = (0.0, 0.0);
            for g in 0..NODES {
                let mut at = start;
                for (weight, rate) in INTEGRAL[g].iter().zip(&rates) {
                    at[0] += weight * rate[0];
                    at[1] += weight * rate[1];
                }
                let moment = self.end_moments[0] + h * at[1] - v * at[0];
                let curving = moment / bending[g];
                let axial = (own[g].normal + rest[g].kappa * moment) / mesh.ea;
                let ds = WEIGHT[g] * rest[g].jacobian;
                let density = moment * curving;
                let gap = own[g].moment - moment;
                self.densest = self.densest.max(density);
                self.total += ds * density;
                indicator += ds * gap * gap / bending[g];
                length += ds;
                self.nodes.push(NodeField { axial, curving, at, rate: rates[g] });
            }
            start = self.nodes[self.nodes.len() - 1].at;
            self.indicators.push(indicator);
            self.lengths.push(length);
        }
        self.densest = self.densest.max(FLOOR);
        self.total = self.total.max(FLOOR);
        let global = self.indicators.iter().sum::<f64>() / self.total;
        let local = self.local().fold(0.0, f64::max);
        (GLOBAL_ERROR * global).max(LOCAL_ERROR * local)
    }

    fn local(&self) -> impl Iterator<Item = f64> + '_ {
        self.indicators
            .iter()
            .zip(&self.lengths)
            .map(|(indicator, length)| indicator / (self.densest * length))
    }

    /// Whether element `e` keeps the estimate above `tolerance`.
    pub(crate) fn wants_split(&self, e: usize, tolerance: f64) -> bool {
        let local = self.indicators[e] / (self.densest * self.lengths[e]);
        let global = self.indicators[e] * self.indicators.len() as f64 / self.total;
        LOCAL_ERROR * local > 0.5 * tolerance || GLOBAL_ERROR * global > tolerance
    }

    /// Whether element `e` is short enough for the layers (EI/F)^½ that the force makes.
    pub(crate) fn is_resolved(&self, e: usize, force: [f64; 2]) -> bool {
        let pull = force[0].hypot(force[1]);
        pull * self.lengths[e] * self.lengths[e] < LAYERS_RESOLVED * LAYERS_RESOLVED
    }
}
