//! From parts to a solved line: mesh, guesses, refinement.

use crate::{
    basis::{NODES, SLOPE},
    bonded::{
        chain::{Chain, Held, NodeFields, Run},
        element::{RestPoint, Setting},
        error::BondedError,
        following::{Followed, affine},
        line::{Fibre, Line},
        part::{Part, elements_for, halved, sample_rest, spans, state_at},
    },
    mesh::ElementSpan,
    solver::Mesh,
    strips::Strips,
};

/// Smallest step of the stretch, relative to the whole way, before giving up.
const LEAST_ADVANCE: f64 = 1.0 / 256.0;
/// Strain below which a relative error means nothing.
const LEAST_STRAIN: f64 = 1e-9;
/// Elements of every part of the limit.
const LIMIT_ELEMENTS: usize = 16;

/// A state on a mesh, to start another solve from.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct MeshState {
    pub(crate) spans: Vec<ElementSpan>,
    pub(crate) fields: Vec<[NodeFields; NODES]>,
}

/// Where the iteration starts.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Guess<'a> {
    /// The affine map's angles, without force.
    Affine,
    /// A state on another mesh over the same parts.
    State(&'a MeshState),
}

/// A line to be solved.
#[derive(Debug)]
pub(crate) struct Task<'a, P> {
    pub(crate) parts: Vec<P>,
    pub(crate) strips: &'a Strips,
    pub(crate) unit_um: f64,
    pub(crate) axis_um: f64,
    /// K = k P⁴/EI.
    pub(crate) foundation: f64,
    pub(crate) poisson: f64,
    pub(crate) stretch: f64,
    pub(crate) held: [Held; 2],
    pub(crate) ends_on_crest: bool,
    /// Least elements of a part to begin with.
    pub(crate) least_elements: usize,
    pub(crate) mesh: Mesh,
}

/// A solved line and how it was found.
#[derive(Debug)]
pub(crate) struct Found<P> {
    pub(crate) line: Line<P>,
    pub(crate) is_stable: bool,
    pub(crate) iterations: u32,
    pub(crate) residual: f64,
    pub(crate) error_estimate: f64,
}

impl<P: Part + Clone> Task<'_, P> {
    fn setting(&self, stretch: f64) -> Setting {
        Setting {
            ea: self.strips.relative_ea(self.unit_um),
            foundation: self.foundation,
            affine: affine(stretch, self.poisson),
        }
    }

    /// Both edges of the ribbon.
    pub(crate) fn edges(&self) -> [Fibre; 2] {
        let half_um = 0.5 * self.strips.width_um();
        [half_um, -half_um].map(|offset_um| Fibre { offset_um, is_at_trough: false })
    }

    fn counts(&self) -> Vec<usize> {
        match self.mesh {
            Mesh::Fixed { elements } => {
                vec![(elements / (2 * self.parts.len())).max(1); self.parts.len()]
            }
            Mesh::Adaptive { .. } => {
                let [bending, axial] = self.layers();
                let layer_um = bending.min(axial) * self.unit_um;
                let length_um = |part: &P| part.end_um() - part.start_um();
                self.parts
                    .iter()
                    .map(|part| elements_for(length_um(part), layer_um, self.least_elements))
                    .collect()
            }
        }
    }

    /// Lengths over which disturbances die away, over the unit: of bending `(EI/k)^¼` and of stretching `(EA/k)^½`.
    pub(crate) fn layers(&self) -> [f64; 2] {
        let setting = self.setting(self.stretch);
        [setting.foundation.powf(-0.25), (setting.ea / setting.foundation).sqrt()]
    }

    fn line(&self, spans: Vec<ElementSpan>, rest: Vec<[RestPoint; NODES]>) -> Line<P> {
        Line {
            parts: self.parts.clone(),
            spans,
            rest,
            fields: Vec::new(),
            setting: self.setting(self.stretch),
            strips: *self.strips,
            unit_um: self.unit_um,
            axis_um: self.axis_um,
            ends_on_crest: self.ends_on_crest,
        }
    }

    /// The equilibrium, on meshes fine enough.
    ///
    /// Every mesh is solved with half its elements first; the change of the peak strain is the error estimate, which is the
    /// error of the coarser mesh.
    pub(crate) fn solve(&self, guesses: &[Guess<'_>]) -> Result<Found<P>, BondedError> {
        let tolerance = match self.mesh {
            Mesh::Adaptive { tolerance } => tolerance,
            Mesh::Fixed { .. } => f64::INFINITY,
        };
        let mut counts = self.counts();
        let mut iterations = 0;
        let mut coarser: Option<(MeshState, f64)> = None;
        loop {
            let spans = spans(&counts);
            let rest = sample_rest(&self.parts, &spans, self.strips, self.unit_um);
            let mut chain = Chain::new(rest.clone(), self.setting(self.stretch), self.held);
            let run = match &coarser {
                Some((state, _)) => self.settle(&mut chain, &rest, &spans, &[Guess::State(state)])?,
                None => self.settle(&mut chain, &rest, &spans, guesses)?,
            };
            iterations += run.iterations;
            let mut line = self.line(spans, rest);
            line.fields = chain.fields();
            let peak = line.extremes(&self.edges()).largest().strain;
            if let Some((_, before)) = &coarser {
                let error_estimate = (peak - before).abs() / peak.abs().max(LEAST_STRAIN);
                if error_estimate <= tolerance {
                    let Run { is_stable, correction: residual, .. } = run;
                    return Ok(Found { line, is_stable, iterations, residual, error_estimate });
                }
                if halved(&counts).is_none() {
                    return Err(BondedError::NotAccurate {
                        error_estimate,
                        tolerance,
                        elements: line.elements(),
                    });
                }
            }
            counts = halved(&counts).expect("the first mesh may be halved");
            coarser = Some((MeshState { spans: line.spans, fields: line.fields }, peak));
        }
    }

    /// Finds the equilibrium on one mesh: from the guesses in turn, else by steps from rest.
    fn settle(
        &self,
        chain: &mut Chain,
        rest: &[[RestPoint; NODES]],
        spans: &[ElementSpan],
        guesses: &[Guess<'_>],
    ) -> Result<Run, BondedError> {
        let mut iterations = 0;
        let map = chain.setting.affine;
        let mut unstable = None;
        for guess in guesses {
            match guess {
                Guess::Affine => chain.start_from(|e, g| {
                    let node = &rest[e][g];
                    (Followed::new(map, node.phi, node.kappa).phi - node.phi, [0.0; 2])
                }),
                Guess::State(state) => chain.start_from(|e, g| {
                    let span = spans[e];
                    let u = span.parameter(crate::basis::POINT[g]);
                    state_at(&state.spans, &state.fields, span.piece, u)
                }),
            }
            let run = chain.settle();
            iterations += run.iterations;
            if run.is_settled && run.is_stable {
                return Ok(Run { iterations, ..run });
            }
            if run.is_settled {
                unstable = Some((chain.clone(), run));
            }
        }
        match (self.advance(chain, iterations), unstable) {
            (Err(_), Some((unstable, run))) => {
                *chain = unstable;
                Ok(run)
            }
            (result, _) => result,
        }
    }

    /// Follows the equilibrium from rest in steps of the stretch.
    fn advance(&self, chain: &mut Chain, mut iterations: u32) -> Result<Run, BondedError> {
        let (mut reached, mut share) = (0.0, 0.25);
        chain.start_from(|_, _| (0.0, [0.0; 2]));
        let mut base = chain.clone();
        loop {
            let next = if reached + share >= 1.0 { 1.0 } else { reached + share };
            chain.setting = self.setting(next * self.stretch);
            let run = chain.settle();
            iterations += run.iterations;
            if run.is_settled {
                if next >= 1.0 {
                    return Ok(Run { iterations, ..run });
                }
                reached = next;
                base.clone_from(chain);
                share *= 1.5;
            } else {
                share *= 0.5;
                chain.clone_from(&base);
                if share < LEAST_ADVANCE {
                    return Err(BondedError::NotConverged {
                        stretch: self.stretch,
                        reached: reached * self.stretch,
                        residual: if run.correction.is_finite() { run.correction } else { f64::INFINITY },
                        iterations,
                    });
                }
            }
        }
    }

    /// The line that follows the substrate.
    pub(crate) fn limit(&self) -> Line<P> {
        let spans = spans(&vec![LIMIT_ELEMENTS; self.parts.len()]);
        let rest = sample_rest(&self.parts, &spans, self.strips, self.unit_um);
        let mut line = self.line(spans, rest);
        let setting = line.setting;
        line.fields = line
            .rest
            .iter()
            .map(|rest| {
                let followed = rest.map(|node| Followed::new(setting.affine, node.phi, node.kappa));
                let moments: [f64; NODES] = std::array::from_fn(|g| rest[g].bending * followed[g].curving);
                std::array::from_fn(|g| {
                    let Followed { phi, axial, .. } = followed[g];
                    let moment_slope: f64 =
                        (0..NODES).map(|i| SLOPE[g][i] * moments[i]).sum::<f64>() / rest[g].jacobian;
                    let normal = setting.ea * axial - rest[g].kappa * moments[g];
                    let transverse = moment_slope / (1.0 + axial);
                    let (sine, cosine) = phi.sin_cos();
                    NodeFields {
                        psi: phi - rest[g].phi,
                        slip: [0.0; 2],
                        force: [normal * cosine + transverse * sine, normal * sine - transverse * cosine],
                        moment: moments[g],
                    }
                })
            })
            .collect();
        line
    }
}
