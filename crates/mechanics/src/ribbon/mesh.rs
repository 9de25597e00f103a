//! Elements along a whole ribbon, and the rest state at their nodes.

use ogee_geometry::Segment;
use pulp::Scalar;

use super::RibbonProblem;
use crate::{
    basis::{NODES, POINT, WEIGHT},
    kernel::{ENTRIES, NodeRest, TERMS, constant_stiffness, node_terms},
    linear::{SHARP, sharpness},
    mesh::RestNode,
    wide::Wide,
};

/// One element: the part `from..to` of the parameter of one smooth segment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Span {
    pub(crate) segment: u32,
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Span {
    /// The segment's parameter at the element coordinate ξ.
    pub(crate) fn parameter(&self, xi: f64) -> f64 {
        self.from + 0.5 * (self.to - self.from) * (1.0 + xi)
    }

    /// The two halves of the element.
    pub(crate) fn halves(self) -> [Self; 2] {
        let middle = 0.5 * (self.from + self.to);
        [Self { to: middle, ..self }, Self { from: middle, ..self }]
    }
}

/// The mesh and everything that no iteration changes. Lengths are over the pitch, forces in EI/P².
#[derive(Debug, Default)]
pub(crate) struct RibbonMesh {
    pub(crate) segments: Vec<Segment>,
    pub(crate) spans: Vec<Span>,
    pub(crate) rest: Vec<RestNode>,
    /// `EI_c/EI` at the nodes.
    pub(crate) bending: Vec<f64>,
    pub(crate) terms: Vec<[f64; TERMS]>,
    pub(crate) stiffness: Vec<[f64; ENTRIES]>,
    /// EA P²/EI.
    pub(crate) ea: f64,
    /// Contour length over P by the mesh's quadrature.
    pub(crate) contour: f64,
    /// Far end from the near one at rest, over P: exact, and by the mesh's quadrature.
    pub(crate) rest_end: [f64; 2],
    pub(crate) summed_end: [f64; 2],
}

impl RibbonMesh {
    /// Elements of the ribbon.
    pub(crate) fn elements(&self) -> usize {
        self.spans.len()
    }

    /// Takes over the segments of another ribbon.
    pub(crate) fn take_segments(&mut self, problem: &RibbonProblem<'_>) {
        self.segments.clear();
        self.segments.extend(problem.line.segments());
    }

    /// The coarsest mesh worth trying: two elements for a quarter, four where its crest is sharp.
    pub(crate) fn begin(&mut self, problem: &RibbonProblem<'_>) {
        let quarter = problem.line.quarter();
        let pieces = quarter.pieces().len();
        let base = if pieces > 1 {
            1
        } else if sharpness(quarter) > SHARP {
            4
        } else {
            2
        };
        self.spans.clear();
        let quarter_um = quarter.length_um();
        for (segment, part) in self.segments.iter().enumerate() {
            // A lead may be longer than all the rest.
            let share = (part.length_um() / quarter_um).ceil().clamp(1.0, 4.0) as usize;
            let is_straight = part.constant_curvature_per_um() == Some(0.0);
            let count = if is_straight { share } else { base };
            self.spans.extend((0..count).map(|i| Span {
                segment: segment as u32,
                from: i as f64 / count as f64,
                to: (i + 1) as f64 / count as f64,
            }));
        }
    }

    /// `count` elements for every segment.
    pub(crate) fn divide(&mut self, count: usize) {
        self.spans.clear();
        for segment in 0..self.segments.len() {
            self.spans.extend((0..count).map(|i| Span {
                segment: segment as u32,
                from: i as f64 / count as f64,
                to: (i + 1) as f64 / count as f64,
            }));
        }
    }

    /// Samples the rest state on the present spans.
    pub(crate) fn lay_out(&mut self, problem: &RibbonProblem<'_>) {
        let simd = Scalar::new();
        let wide = |value: f64| Wide::splat(simd, value);
        let unit_um = problem.line.quarter().pitch_um();
        let per_unit = 1.0 / unit_um;
        self.ea = problem.strips.relative_ea(unit_um);
        let ea = wide(self.ea);
        self.rest.clear();
        self.bending.clear();
        self.terms.clear();
        self.stiffness.clear();
        self.contour = 0.0;
        self.summed_end = [0.0; 2];
        let constant = |kappa: Option<f64>| kappa.map(|kappa| problem.strips.bending_ratio(kappa));
        let (mut last_segment, mut last_ratio) = (u32::MAX, None);
        for span in &self.spans {
            let segment = &self.segments[span.segment as usize];
            if span.segment != last_segment {
                last_segment = span.segment;
                last_ratio = constant(segment.constant_curvature_per_um());
            }
            let half = 0.5 * (span.to - span.from);
            let mut nodes = [[0.0; TERMS]; NODES];
            for (g, node) in nodes.iter_mut().enumerate() {
                let sample = segment.sample(span.parameter(POINT[g]));
                let bending = last_ratio.unwrap_or_else(|| problem.strips.bending_ratio(sample.kappa_per_um));
                let rest = RestNode {
                    phi: sample.phi_rad,
                    kappa: sample.kappa_per_um * unit_um,
                    jacobian: sample.ds_du_um * per_unit * half,
                };
                let (sine, cosine) = rest.phi.sin_cos();
                let ds = WEIGHT[g] * rest.jacobian;
                self.contour += ds;
                self.summed_end[0] += ds * cosine;
                self.summed_end[1] += ds * sine;
                let lanes = NodeRest {
                    phi: wide(rest.phi),
                    kappa: wide(rest.kappa),
                    jacobian: wide(rest.jacobian),
                    bending: wide(bending),
                };
                *node = node_terms(simd, lanes, WEIGHT[g], ea);
                self.rest.push(rest);
                self.bending.push(bending);
            }
            self.stiffness.push(constant_stiffness(simd, &nodes));
            self.terms.extend_from_slice(&nodes);
        }
        let (start, end) = (problem.line.start(), problem.line.end());
        self.rest_end = [(end.x_um - start.x_um) * per_unit, (end.y_um - start.y_um) * per_unit];
    }
}
