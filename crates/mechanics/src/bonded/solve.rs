//! From parts to a solved line: mesh, guesses, refinement.

use crate::{
    basis::{NODES, SLOPE, WEIGHT},
    bonded::{
        chain::{Chain, Held, NodeFields, Run},
        element::{RestPoint, Setting},
        error::BondedError,
        following::{Followed, affine},
        line::{Fibre, Line},
        note::BondedNote,
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

/// Below this K = k P⁴/EI the foundation changes the peak strain by 2 % at most.
const NEGLIGIBLE_BELOW: f64 = 50.0;
/// A layer along the ribbon shorter than this share of the pitch is not resolved where springs are no model anyway.
const LEAST_LAYER_SHARE: f64 = 2e-4;

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
    /// All angles scaled by the share with which an inextensible line would span the way, with the force that goes with it.
    Scaled,
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
    /// Heights over the axis, over the unit, at which the two ends are held; their slip is what the substrate contracts there.
    pub(crate) end_heights: [f64; 2],
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

    /// Slip of the ends, held at their height at rest while the substrate contracts.
    fn end_slips(&self, stretch: f64) -> [[f64; 2]; 2] {
        let [_, b] = affine(stretch, self.poisson);
        self.end_heights.map(|height| [0.0, (1.0 - b) * height])
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

    /// `λ_b = (EI/k)^¼` in µm.
    pub(crate) fn bending_length_um(&self) -> f64 {
        self.layers()[0] * self.unit_um
    }

    /// The equilibrium; the limit in its stead where springs are no model and no mesh resolves the layers.
    pub(crate) fn solve_or_follow(
        &self,
        guesses: &[Guess<'_>],
        limit: &Line<P>,
    ) -> Result<(Found<P>, BondedNote), BondedError> {
        let is_following = self.bending_length_um() < self.strips.width_um();
        let [bending, axial] = self.layers();
        let is_hopeless = is_following && bending.min(axial) < LEAST_LAYER_SHARE;
        let found = if is_hopeless { None } else { Some(self.solve(guesses)) };
        match found {
            Some(Ok(found)) if is_following => Ok((found, BondedNote::FollowsSubstrate)),
            Some(Ok(found)) if self.foundation < NEGLIGIBLE_BELOW => Ok((found, BondedNote::Negligible)),
            Some(Ok(found)) => Ok((found, BondedNote::OnSprings)),
            Some(Err(error)) if !is_following => Err(error),
            Some(Err(_)) | None => {
                let line = limit.clone();
                let found =
                    Found { line, is_stable: true, iterations: 0, residual: 0.0, error_estimate: 0.0 };
                Ok((found, BondedNote::LimitTaken))
            }
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
            let mut chain =
                Chain::new(rest.clone(), self.setting(self.stretch), self.held, self.end_slips(self.stretch));
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
                Guess::Scaled => {
                    let (share, force) = scaled(rest, &chain.setting);
                    chain.start_from(|e, g| ((share - 1.0) * rest[e][g].phi, [force, 0.0]));
                }
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
            chain.load(self.setting(next * self.stretch), self.end_slips(next * self.stretch));
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

/// The share of all angles with which an inextensible line spans the stretched way, and its force along x.
///
/// The force follows from the weak form weighted with φ₀; beyond the slack the stretching of the section is added.
fn scaled(rest: &[[RestPoint; NODES]], setting: &Setting) -> (f64, f64) {
    /// Least and greatest share; at 0 the line is straight and nothing holds it without a pull.
    const SHARES: [f64; 2] = [0.02, 2.0];
    const HALVINGS: usize = 30;
    let sum = |value: &dyn Fn(&RestPoint) -> f64| -> f64 {
        let of = |nodes: &[RestPoint; NODES]| -> f64 {
            (0..NODES).map(|g| WEIGHT[g] * nodes[g].jacobian * value(&nodes[g])).sum()
        };
        rest.iter().map(of).sum()
    };
    let way = setting.affine[0] * sum(&|node| node.phi.cos());
    let [mut low, mut high] = SHARES;
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if sum(&|node| (middle * node.phi).cos()) > way { low = middle } else { high = middle }
    }
    let share = 0.5 * (low + high);
    let bent = sum(&|node| node.bending * (share - 1.0) * node.kappa * node.kappa);
    let lever = sum(&|node| (share * node.phi).sin() * node.phi);
    let contour = sum(&|_| 1.0);
    let pull = setting.ea * (way / contour - 1.0).max(0.0);
    (share, pull - if lever > 0.0 { bent / lever } else { 0.0 })
}
