//! A solved whole ribbon, and its state at any place.

use ogee_geometry::Segment;

use super::{
    RibbonError, RibbonExtremes, RibbonPeak, RibbonProblem,
    fields::Fields,
    mesh::Span,
    newton::MULTIPLIERS,
    peak,
    solver::{Reached, RibbonSolver, RibbonState, Solved},
};
use crate::{
    basis::{NODES, WEIGHT, shape_integrals, shape_values},
    fibre::{LayerSpan, fibre_strain},
    mesh::RestNode,
    solution::{CurvatureJump, PathWeight},
    strips::Strips,
};

/// Differences of rest curvature below this share are rounding or a mere kink.
const LEAST_JUMP: f64 = 1e-9;

/// A whole ribbon in equilibrium in its plane.
///
/// Stresses follow from equilibrium, M = M(0) + H (y − y(0)) − V (x − x(0)) and N = H cos φ + V sin φ, never from slopes
/// of φ. Positions are measured from the near end, which is the origin.
#[derive(Debug, Clone)]
pub struct RibbonSolution {
    /// Force (x, y) on the far end, in µN; the near end feels the opposite. Pulling is positive along x.
    pub force_un: [f64; 2],
    /// Moment M(0) in the ribbon at the near end, in µN·µm, positive when it increases the curvature.
    pub near_moment_un_um: f64,
    /// Moment M(L) in the ribbon at the far end, in µN·µm.
    pub far_moment_un_um: f64,
    /// The largest |strain| over both edges of the ribbon, with its sign and place.
    pub peak: RibbonPeak,
    /// The largest strain over both edges of the ribbon.
    pub peak_tensile: RibbonPeak,
    /// Elastic energy, in µN·µm.
    pub energy_un_um: f64,
    /// Whether the equilibrium is stable in its plane.
    pub is_stable: bool,
    /// In-plane modes that lower the energy; 0 when stable.
    pub unstable_modes: usize,
    /// How the state was reached.
    pub reached: Reached,
    /// Newton steps taken, on all meshes.
    pub iterations: u32,
    /// Largest relative correction of the last Newton step; the error it leaves is about its square.
    pub residual: f64,
    /// Estimated relative error of the peak strain.
    pub error_estimate: f64,
    /// Elements of the ribbon.
    pub elements: usize,
    /// The state, to start another solve from.
    pub state: RibbonState,
    pub(crate) segments: Vec<Segment>,
    pub(crate) strips: Strips,
    pub(crate) unit_um: f64,
    pub(crate) ea: f64,
    pub(crate) rest: Vec<RestNode>,
    pub(crate) fields: Fields,
    likeness: f64,
    least_radius_um: f64,
    contour_um: f64,
    rest_start_um: [f64; 2],
    /// Displacement at the elements' starts, over P, less the share of the rest shape's.
    starts: Vec<[f64; 2]>,
    starts_um: Vec<f64>,
    displacement_rates: Vec<[f64; 2]>,
}

/// A place on the stretched ribbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RibbonPoint {
    /// Contour length at rest from the near end, in µm.
    pub s_um: f64,
    /// Stretched position along the span from the near end, in µm.
    pub x_um: f64,
    /// Stretched position across the span from the near end, in µm.
    pub y_um: f64,
    /// Tangent angle when stretched, in radians.
    pub phi_rad: f64,
    /// Curvature at rest, in 1/µm.
    pub kappa_rest_per_um: f64,
    /// Curvature when stretched, per rest length, in 1/µm.
    pub kappa_per_um: f64,
    /// Strain ε₀ of the centreline.
    pub axial_strain: f64,
    /// Strain of the left edge.
    pub left_strain: f64,
    /// Strain of the right edge.
    pub right_strain: f64,
    /// Moment M, in µN·µm.
    pub moment_un_um: f64,
    /// Normal force N, in µN.
    pub normal_un: f64,
}

/// Everything at one place, lengths over P, forces in EI/P².
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    pub(crate) u: f64,
    pub(crate) segment: usize,
    pub(crate) phi: f64,
    pub(crate) kappa_rest: f64,
    pub(crate) x: f64,
    pub(crate) y: f64,
    pub(crate) axial: f64,
    pub(crate) curving: f64,
    pub(crate) moment: f64,
    pub(crate) normal: f64,
}

impl Place {
    /// κ P per rest length.
    pub(crate) fn curvature(&self) -> f64 {
        self.kappa_rest.mul_add(1.0 + self.axial, self.curving)
    }
}

impl RibbonSolution {
    pub(crate) fn new(
        solver: &RibbonSolver,
        problem: &RibbonProblem<'_>,
        solved: Solved,
    ) -> Result<Self, RibbonError> {
        let mesh = &solver.mesh;
        let unit_um = problem.line.quarter().pitch_um();
        let force_unit_un = problem.strips.ei_un_um2() / (unit_um * unit_um);
        let (energy, _) = solver.newton.measure(mesh);
        let start = problem.line.start();
        let unstable_modes = solved.negative_pivots.saturating_sub(MULTIPLIERS);
        let nowhere = RibbonPeak::nowhere();
        let mut solution = Self {
            force_un: solver.newton.force.map(|force| force * force_unit_un),
            near_moment_un_um: solver.fields.end_moments[0] * force_unit_un * unit_um,
            far_moment_un_um: solver.fields.end_moments[1] * force_unit_un * unit_um,
            peak: nowhere,
            peak_tensile: nowhere,
            energy_un_um: energy * force_unit_un * unit_um,
            is_stable: unstable_modes == 0,
            unstable_modes,
            reached: solved.reached,
            iterations: solved.iterations,
            residual: solved.correction,
            error_estimate: solved.error_estimate,
            elements: mesh.elements(),
            state: RibbonState {
                segments: mesh.segments.len(),
                spans: mesh.spans.clone(),
                psi: solver.newton.psi.clone(),
                force: solver.newton.force,
            },
            segments: mesh.segments.clone(),
            strips: *problem.strips,
            unit_um,
            ea: mesh.ea,
            rest: mesh.rest.clone(),
            fields: solver.fields.clone(),
            likeness: solved.likeness,
            least_radius_um: problem.line.least_radius_um(),
            contour_um: problem.line.contour_length_um(),
            rest_start_um: [start.x_um, start.y_um],
            starts: Vec::with_capacity(mesh.elements()),
            starts_um: Vec::with_capacity(mesh.elements()),
            displacement_rates: Vec::with_capacity(mesh.rest.len()),
        };
        solution.displace();
        let extremes = peak::extremes(&solution, LayerSpan::centred(problem.strips.width_um()));
        solution.peak = extremes.largest();
        solution.peak_tensile = extremes.tensile;
        let numbers = [
            solution.peak.strain,
            solution.peak_tensile.strain,
            solution.energy_un_um,
            solution.force_un[0],
            solution.force_un[1],
        ];
        if numbers.iter().any(|number| !number.is_finite()) {
            return Err(RibbonError::NotConverged {
                stretch: problem.motion.stretch,
                reached: 0.0,
                residual: solved.correction,
                iterations: solved.iterations,
            });
        }
        Ok(solution)
    }

    /// The section.
    pub fn strips(&self) -> &Strips {
        &self.strips
    }

    /// Contour length at rest, in µm.
    pub fn contour_length_um(&self) -> f64 {
        self.contour_um
    }

    /// The ribbon at the contour length `s_um` at rest from the near end, kept within the ribbon.
    ///
    /// Right at a jump of curvature it is the value of the side before it.
    pub fn at(&self, s_um: f64) -> RibbonPoint {
        let s_um = s_um.clamp(0.0, self.contour_um);
        let e = self.starts_um.partition_point(|start| *start < s_um).saturating_sub(1);
        let span = self.state.spans[e];
        let u = self.segments[span.segment as usize].u_from_s(s_um);
        let xi = 2.0 * (u - span.from) / (span.to - span.from) - 1.0;
        self.point(&self.place(e, xi.clamp(-1.0, 1.0)), s_um)
    }

    /// Points along the whole ribbon: `points_per_segment` (at least 2) on each smooth segment of the rest shape, at equal
    /// steps of the contour length.
    ///
    /// Both ends of a segment are among them, so there are two points at each joint, with the curvatures of either side.
    pub fn along(&self, points_per_segment: usize) -> Vec<RibbonPoint> {
        let count = points_per_segment.max(2);
        let mut points = Vec::with_capacity(count * self.segments.len());
        let mut first = 0;
        for (k, segment) in self.segments.iter().enumerate() {
            let spans = &self.state.spans[first..];
            let own = spans.iter().take_while(|span| span.segment as usize == k).count();
            for i in 0..count {
                let s_um = segment.start_um() + segment.length_um() * i as f64 / (count - 1) as f64;
                let u = match i {
                    0 => 0.0,
                    i if i + 1 == count => 1.0,
                    _ => segment.u_from_s(s_um),
                };
                let within = spans[..own].partition_point(|span| span.to < u).min(own - 1);
                let span = spans[within];
                let xi = 2.0 * (u - span.from) / (span.to - span.from) - 1.0;
                points.push(self.point(&self.place(first + within, xi.clamp(-1.0, 1.0)), s_um));
            }
            first += own;
        }
        points
    }

    /// The extremes of strain over the whole ribbon in a layer that reaches over `span`.
    ///
    /// Strain is monotone across the width, so the sides of the layer decide.
    ///
    /// # Errors
    /// [`RibbonError::WiderThanBend`] if the layer reaches beyond the centre of a bend's curvature.
    pub fn peak_at(&self, span: LayerSpan) -> Result<RibbonExtremes, RibbonError> {
        let width_um = 2.0 * span.reach_um();
        if 0.5 * width_um >= self.least_radius_um {
            return Err(RibbonError::WiderThanBend { radius_um: self.least_radius_um, width_um });
        }
        Ok(peak::extremes(self, span))
    }

    /// Points and lengths for integrals along the stretched ribbon, for example of the loss in bends.
    ///
    /// The points are the Gauss–Lobatto points of the elements; jumps of curvature lie on element ends.
    pub fn optical_quadrature(&self) -> impl Iterator<Item = PathWeight> + '_ {
        self.fields.nodes.iter().enumerate().map(|(i, field)| {
            let rest = &self.rest[i];
            let stretched = 1.0 + field.axial;
            let curvature = rest.kappa.mul_add(stretched, field.curving);
            PathWeight {
                length_um: WEIGHT[i % NODES] * rest.jacobian * stretched * self.unit_um,
                curvature_per_um: (curvature / stretched / self.unit_um).abs(),
            }
        })
    }

    /// The jumps of curvature of the stretched centreline in order. Places where it is continuous are left out.
    ///
    /// The ribbon counts as going on straight within its islands, so the bending at a clamp is a jump too.
    pub fn curvature_jumps(&self) -> Vec<CurvatureJump> {
        let spans = &self.state.spans;
        let last = self.elements - 1;
        let true_curvature = |i: usize| {
            let field = &self.fields.nodes[i];
            let stretched = 1.0 + field.axial;
            self.rest[i].kappa.mul_add(stretched, field.curving) / stretched / self.unit_um
        };
        let least_per_um = LEAST_JUMP / self.least_radius_um;
        let mut jumps =
            vec![CurvatureJump { s_um: 0.0, before_per_um: 0.0, after_per_um: true_curvature(0) }];
        for e in 1..self.elements {
            let (before, after) = (e * NODES - 1, e * NODES);
            let is_joint = spans[e].segment != spans[e - 1].segment;
            let gap_per_um = (self.rest[before].kappa - self.rest[after].kappa).abs() / self.unit_um;
            if is_joint && gap_per_um > least_per_um {
                jumps.push(CurvatureJump {
                    s_um: self.starts_um[e],
                    before_per_um: true_curvature(before),
                    after_per_um: true_curvature(after),
                });
            }
        }
        jumps.push(CurvatureJump {
            s_um: self.contour_um,
            before_per_um: true_curvature((last + 1) * NODES - 1),
            after_per_um: 0.0,
        });
        jumps.retain(|jump| (jump.after_per_um - jump.before_per_um).abs() > least_per_um);
        jumps
    }

    /// Force unit EI/P², in µN.
    pub(crate) fn force_unit_un(&self) -> f64 {
        self.strips.ei_un_um2() / (self.unit_um * self.unit_um)
    }

    /// Sums up the displacement from element to element.
    fn displace(&mut self) {
        let mut at = [0.0; 2];
        for (e, span) in self.state.spans.iter().enumerate() {
            self.starts.push(at);
            self.starts_um.push(self.segments[span.segment as usize].s_um(span.from));
            for g in 0..NODES {
                let (rest, field) = (&self.rest[e * NODES + g], &self.fields.nodes[e * NODES + g]);
                let (sine, cosine) = rest.phi.sin_cos();
                let likeness = self.likeness * rest.jacobian;
                let rate = [likeness.mul_add(-cosine, field.rate[0]), likeness.mul_add(-sine, field.rate[1])];
                at[0] += WEIGHT[g] * rate[0];
                at[1] += WEIGHT[g] * rate[1];
                self.displacement_rates.push(rate);
            }
        }
    }

    /// The place at ξ in element `e`.
    pub(crate) fn place(&self, e: usize, xi: f64) -> Place {
        let span: Span = self.state.spans[e];
        let segment = &self.segments[span.segment as usize];
        let u = span.parameter(xi);
        let sample = segment.sample(u);
        let rest = segment.point(u);
        let shape = shape_values(xi);
        let integral = shape_integrals(xi);
        let [mut x, mut y] = self.starts[e];
        let mut phi = sample.phi_rad;
        for g in 0..NODES {
            let rate = self.displacement_rates[e * NODES + g];
            phi += shape[g] * self.state.psi[e * (NODES - 1) + g];
            x += integral[g] * rate[0];
            y += integral[g] * rate[1];
        }
        let rest_share = self.likeness / self.unit_um;
        x = (rest.x - self.rest_start_um[0]).mul_add(rest_share, x);
        y = (rest.y - self.rest_start_um[1]).mul_add(rest_share, y);
        let [h, v] = self.state.force;
        let kappa_rest = sample.kappa_per_um * self.unit_um;
        let moment = self.fields.end_moments[0] + h * y - v * x;
        let (sine, cosine) = phi.sin_cos();
        let normal = h * cosine + v * sine;
        let axial = (normal + kappa_rest * moment) / self.ea;
        let curving = moment / self.strips.bending_ratio(sample.kappa_per_um);
        Place { u, segment: span.segment as usize, phi, kappa_rest, x, y, axial, curving, moment, normal }
    }

    /// ds/dξ over P at a place in element `e`.
    pub(crate) fn jacobian(&self, e: usize, place: &Place) -> f64 {
        let span = self.state.spans[e];
        let sample = self.segments[span.segment as usize].sample(place.u);
        0.5 * sample.ds_du_um * (span.to - span.from) / self.unit_um
    }

    /// Strain of the fibre at `offset_um`.
    pub(crate) fn strain(&self, place: &Place, offset_um: f64) -> f64 {
        fibre_strain(place.axial, place.curving, offset_um / self.unit_um, place.kappa_rest)
    }

    /// Contour length of a place from the near end, in µm.
    pub(crate) fn s_um(&self, place: &Place) -> f64 {
        self.segments[place.segment].s_um(place.u)
    }

    fn point(&self, place: &Place, s_um: f64) -> RibbonPoint {
        let (unit_um, force_unit_un) = (self.unit_um, self.force_unit_un());
        let half_um = 0.5 * self.strips.width_um();
        RibbonPoint {
            s_um,
            x_um: place.x * unit_um,
            y_um: place.y * unit_um,
            phi_rad: place.phi,
            kappa_rest_per_um: place.kappa_rest / unit_um,
            kappa_per_um: place.curvature() / unit_um,
            axial_strain: place.axial,
            left_strain: self.strain(place, half_um),
            right_strain: self.strain(place, -half_um),
            moment_un_um: place.moment * force_unit_un * unit_um,
            normal_un: place.normal * force_unit_un,
        }
    }
}
