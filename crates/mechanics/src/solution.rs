//! A solved cell and the strain along it.

use ogee_geometry::Quarter;

use crate::{
    basis::{NODES, POINT, WEIGHT, shape_integrals, shape_values},
    error::CellError,
    extremes::LAYERS_RESOLVED,
    fibre::{Edge, Extremes, LayerSpan, Peak, fibre_strain},
    lanes::FIELDS,
    linear::{LinearEstimate, check_width},
    mesh::{ElementSpan, RestNode, spans},
    solver::{CellProblem, CellSolver, CellState},
    strips::Strips,
};

/// Steps by which the bracket of a peak's place shrinks to two thirds; the strain there is flat, so few are enough.
const PEAK_STEPS: usize = 16;
/// An extreme that exceeds the crest's by less than this share is laid at the crest: where a ribbon is pulled straight
/// the strain is flat along the bend.
const AT_CREST: f64 = 1e-7;

/// One period of an endless ribbon in equilibrium at a given stretch.
///
/// Stresses follow from the end force F alone: M = F y with y from the midline, N = F cos φ. So the strain is taken
/// from y, which is two orders better than the slope of φ.
#[derive(Debug, Clone)]
pub struct CellSolution {
    /// End-to-end stretch e, dimensionless.
    pub stretch: f64,
    /// Slack of the shape at rest, dimensionless.
    pub slack: f64,
    /// End force F P²/EI with EI of the straight ribbon, tension positive.
    pub force_ei_per_p2: f64,
    /// dF/de in EI/P².
    pub force_slope_ei_per_p2: f64,
    /// The largest |strain| over both edges of the ribbon, with its sign and place.
    pub peak: Peak,
    /// The largest strain over both edges of the ribbon.
    pub peak_tensile: Peak,
    /// Peak strain by linear theory at this stretch, for comparison.
    pub linear_peak_strain: f64,
    /// End force by linear theory at this stretch, in EI/P².
    pub linear_force_ei_per_p2: f64,
    /// Height of the crest above the midline when stretched, in µm.
    pub stretched_amplitude_um: f64,
    /// Whether the equilibrium is stable within the period and the plane.
    pub is_stable: bool,
    /// Newton steps taken, on all meshes.
    pub iterations: u32,
    /// Largest relative correction of the last Newton step; the error it leaves is about its square.
    pub residual: f64,
    /// Estimated relative error of the peak strain.
    pub error_estimate: f64,
    /// Elements of the quarter.
    pub elements: usize,
    /// The state, to start another solve from.
    pub state: CellState,
    quarter: Quarter,
    strips: Strips,
    ea: f64,
    nodes: Vec<RestNode>,
    spans: Vec<ElementSpan>,
    /// See [`FIELDS`].
    fields: Vec<[f64; FIELDS]>,
    /// How much of the rest shape's quadrature error the mesh's state has, 0 to 1.
    likeness: f64,
    /// Displacement at the elements' starts, over P.
    starts: Vec<[f64; 2]>,
}

/// A place on the stretched quarter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellPoint {
    /// Contour length at rest from the crossing, in µm.
    pub s_um: f64,
    /// Stretched position along the span from the crossing, in µm.
    pub x_um: f64,
    /// Stretched position above the midline, in µm.
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
}

/// A stretch of the stretched path for integrals along it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathWeight {
    /// Stretched length that the point stands for, in µm. All of a quarter sum up to its stretched length.
    pub length_um: f64,
    /// |κ| of the stretched centreline per stretched length, in 1/µm.
    pub curvature_per_um: f64,
}

/// A jump of the stretched centreline's curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvatureJump {
    /// Contour length at rest from the crossing, in µm.
    pub s_um: f64,
    /// Curvature just before, per stretched length, in 1/µm.
    pub before_per_um: f64,
    /// Curvature just after.
    pub after_per_um: f64,
}

/// Everything at one place, lengths over P.
struct Place {
    u: f64,
    piece: usize,
    phi: f64,
    kappa_rest: f64,
    x: f64,
    y: f64,
    axial: f64,
    curving: f64,
}

/// A node with an extreme of strain.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    value: f64,
    e: usize,
    g: usize,
    sign: f64,
    offset_um: f64,
    is_at_trough: bool,
}

impl Place {
    /// κ P per rest length.
    fn curvature(&self) -> f64 {
        self.kappa_rest.mul_add(1.0 + self.axial, self.curving)
    }
}

impl CellSolver {
    /// Solves one cell.
    ///
    /// The section angle φ(s) is found as the minimiser of the exact energy of an extensible curved beam without
    /// shear (see the crate's documentation), for any stretch from compression to beyond straight. The planar model
    /// lets the ribbon pass through itself: whether edges meet is a separate check on the stretched shape.
    ///
    /// * `warm`: a state to start from, of the same family. Without it the rest shape with its angles scaled down is
    ///   the first guess. If neither settles, the stretch is approached from rest in steps.
    ///
    /// # Errors
    /// [`CellError`] if the ribbon is wider than its bend allows, the stretch is no number above −1, or no
    /// equilibrium of the accuracy asked for is found.
    pub fn solve(
        &mut self,
        problem: &CellProblem<'_>,
        warm: Option<&CellState>,
    ) -> Result<CellSolution, CellError> {
        let solved = self.solve_raw(problem, warm)?;
        let linear = LinearEstimate::new(problem.quarter, problem.strips)?;
        let fields = self.workspace.fields.as_chunks::<FIELDS>().0;
        let fields = fields[..solved.elements * NODES].to_vec();
        let psi = self.workspace.psi.clone();
        let state = CellState {
            elements: solved.elements,
            pieces: problem.quarter.pieces().len(),
            stretch: problem.stretch,
            force: solved.force,
            force_slope: solved.force_slope,
            psi,
            psi_slope: self.psi_slope.clone(),
        };
        let nowhere = Peak { strain: 0.0, edge: Edge::Right, offset_um: 0.0, s_um: 0.0, is_at_trough: false };
        let mut solution = CellSolution {
            stretch: problem.stretch,
            slack: problem.quarter.slack(),
            force_ei_per_p2: solved.force,
            force_slope_ei_per_p2: solved.force_slope,
            peak: nowhere,
            peak_tensile: nowhere,
            linear_peak_strain: linear.strain_slope * problem.stretch,
            linear_force_ei_per_p2: linear.force_slope_ei_per_p2 * problem.stretch,
            stretched_amplitude_um: 0.0,
            is_stable: solved.is_stable,
            iterations: solved.iterations,
            residual: solved.correction,
            error_estimate: solved.error_estimate,
            elements: solved.elements,
            state,
            quarter: problem.quarter.clone(),
            strips: *problem.strips,
            ea: problem.strips.relative_ea(problem.quarter.pitch_um()),
            nodes: self.nodes.clone(),
            spans: spans(problem.quarter.pieces().len(), solved.elements).collect(),
            fields,
            likeness: solved.likeness,
            starts: Vec::with_capacity(solved.elements),
        };
        solution.displace();
        let crest = solution.place(solved.elements - 1, 1.0);
        solution.stretched_amplitude_um = crest.y * solution.quarter.pitch_um();
        let extremes = solution.peak_at(LayerSpan::centred(problem.strips.width_um()))?;
        solution.peak = extremes.largest();
        solution.peak_tensile = extremes.tensile;
        Ok(solution)
    }
}

impl CellSolution {
    /// The shape at rest.
    pub fn quarter(&self) -> &Quarter {
        &self.quarter
    }

    /// The section.
    pub fn strips(&self) -> &Strips {
        &self.strips
    }

    /// `count` points (at least 2) from the crossing to the crest, at equal steps of the contour length at rest.
    ///
    /// The other quarters are mirror images: behind the crest left stays left with x mirrored, below the midline
    /// the edges change places.
    pub fn along(&self, count: usize) -> Vec<CellPoint> {
        let count = count.max(2);
        let length_um = self.quarter.length_um();
        let pieces = self.quarter.pieces();
        let spans = &self.spans;
        (0..count)
            .map(|i| {
                let s_um = length_um * i as f64 / (count - 1) as f64;
                let at = pieces.iter().position(|piece| s_um <= piece.end_um()).unwrap_or(pieces.len() - 1);
                let u = pieces[at].u_from_s(s_um);
                let e = spans
                    .iter()
                    .position(|span| span.piece == at && u <= span.to)
                    .unwrap_or(self.elements - 1);
                let span = spans[e];
                let xi = 2.0 * (u - span.from) / (span.to - span.from) - 1.0;
                self.point(&self.place(e, xi.clamp(-1.0, 1.0)), s_um)
            })
            .collect()
    }

    /// Strain at the crest of the fibre at `offset_um` (µm, positive to the left, outward) from the centreline.
    ///
    /// Valid within the ribbon's width.
    pub fn edge_strain_at_crest(&self, offset_um: f64) -> f64 {
        self.strain(&self.place(self.elements - 1, 1.0), offset_um)
    }

    /// The extremes of strain over the whole ribbon in a layer that reaches over `span`.
    ///
    /// Strain is monotone across the width, so the sides of the layer decide. A layer off the centreline passes
    /// crests and troughs on opposite sides; both are looked at.
    ///
    /// # Errors
    /// [`CellError::WiderThanBend`] if the layer reaches beyond the centre of the crest's curvature.
    pub fn peak_at(&self, span: LayerSpan) -> Result<Extremes, CellError> {
        check_width(&self.quarter, 2.0 * span.reach_um())?;
        let sides = [span.right_um, -span.left_um, -span.right_um];
        let is_symmetric = span.left_um == -span.right_um;
        let mut tensile = self.nodal_extreme(span.left_um, 1.0, false);
        let mut compressive = self.nodal_extreme(span.left_um, -1.0, false);
        for (k, &offset_um) in sides.iter().enumerate().take(if is_symmetric { 1 } else { 3 }) {
            for (best, sign) in [(&mut tensile, 1.0), (&mut compressive, -1.0)] {
                let other = self.nodal_extreme(offset_um, sign, k > 0);
                if other.value > best.value {
                    *best = other;
                }
            }
        }
        Ok(Extremes { tensile: self.refine(tensile), compressive: self.refine(compressive) })
    }

    /// Points and lengths for integrals along the stretched quarter, for example of the loss in bends.
    ///
    /// The points are the Gauss–Lobatto points of the elements; jumps of curvature lie on element ends.
    pub fn optical_quadrature(&self) -> impl Iterator<Item = PathWeight> + '_ {
        let pitch_um = self.quarter.pitch_um();
        (0..self.elements).flat_map(move |e| {
            (0..NODES).map(move |g| {
                let place = self.place(e, POINT[g]);
                let stretched = 1.0 + place.axial;
                let length = WEIGHT[g] * self.nodes[e * NODES + g].jacobian * stretched;
                PathWeight {
                    length_um: length * pitch_um,
                    curvature_per_um: (place.curvature() / stretched / pitch_um).abs(),
                }
            })
        })
    }

    /// The jumps of curvature of the stretched centreline from the crossing (with the half wave before it) up to the
    /// crest. Places where the curvature is continuous are left out.
    pub fn curvature_jumps(&self) -> Vec<CurvatureJump> {
        let pitch_um = self.quarter.pitch_um();
        let true_curvature = |e: usize, xi: f64| {
            let place = self.place(e, xi);
            place.curvature() / (1.0 + place.axial) / pitch_um
        };
        let mut jumps = Vec::new();
        if self.quarter.crossing_curvature_per_um() != 0.0 {
            let after_per_um = true_curvature(0, -1.0);
            jumps.push(CurvatureJump { s_um: 0.0, before_per_um: -after_per_um, after_per_um });
        }
        let pieces = self.quarter.pieces();
        let spans = &self.spans;
        for e in 1..self.elements {
            let (before, after) = (self.nodes[e * NODES - 1].kappa, self.nodes[e * NODES].kappa);
            let is_jump = (before - after).abs() > 1e-9 * before.abs().max(after.abs());
            if spans[e].piece != spans[e - 1].piece && is_jump {
                jumps.push(CurvatureJump {
                    s_um: pieces[spans[e].piece].start_um(),
                    before_per_um: true_curvature(e - 1, 1.0),
                    after_per_um: true_curvature(e, -1.0),
                });
            }
        }
        jumps
    }

    /// The end force in µN.
    pub fn force_un(&self) -> f64 {
        let pitch_um = self.quarter.pitch_um();
        self.force_ei_per_p2 * self.strips.ei_un_um2() / (pitch_um * pitch_um)
    }

    /// Sums up the displacement from element to element.
    fn displace(&mut self) {
        let mut at = [0.0; 2];
        for e in 0..self.elements {
            self.starts.push(at);
            let rates = self.displacement_rates(e);
            for g in 0..NODES {
                at[0] += WEIGHT[g] * rates[g][0];
                at[1] += WEIGHT[g] * rates[g][1];
            }
        }
    }

    /// Change of position per element coordinate at the nodes: (1+ε₀)(cos φ, sin φ) − l (cos φ₀, sin φ₀), where l is
    /// the share of the exact rest shape that [`Self::place`] puts in its stead.
    fn displacement_rates(&self, e: usize) -> [[f64; 2]; NODES] {
        std::array::from_fn(|g| {
            let node = &self.nodes[e * NODES + g];
            let stretched = 1.0 + self.fields[e * NODES + g][3];
            let (sine, cosine) = (node.phi + self.state.psi[e * (NODES - 1) + g]).sin_cos();
            let (rest_sine, rest_cosine) = node.phi.sin_cos();
            [
                node.jacobian * stretched.mul_add(cosine, -self.likeness * rest_cosine),
                node.jacobian * stretched.mul_add(sine, -self.likeness * rest_sine),
            ]
        })
    }

    fn place(&self, e: usize, xi: f64) -> Place {
        self.place_by(&self.displacement_rates(e), e, xi)
    }

    /// The place at ξ in element `e`, given the element's displacement rates.
    fn place_by(&self, rates: &[[f64; 2]; NODES], e: usize, xi: f64) -> Place {
        let pieces = self.quarter.pieces();
        let span = self.spans[e];
        let pitch_um = self.quarter.pitch_um();
        let u = span.parameter(xi);
        let piece = &pieces[span.piece];
        let sample = piece.sample(u);
        let rest = piece.point(u);
        let shape = shape_values(xi);
        let integral = shape_integrals(xi);
        let [mut x, mut y] = self.starts[e];
        let mut phi = sample.phi_rad;
        for g in 0..NODES {
            phi += shape[g] * self.state.psi[e * (NODES - 1) + g];
            x += integral[g] * rates[g][0];
            y += integral[g] * rates[g][1];
        }
        let rest_share = self.likeness / pitch_um;
        let (x, y) = (rest.x.mul_add(rest_share, x), rest.y.mul_add(rest_share, y));
        let kappa_rest = sample.kappa_per_um * pitch_um;
        let force = self.force_ei_per_p2;
        let moment = force * y;
        let axial = (force * phi.cos() + kappa_rest * moment) / self.ea;
        let curving = moment / self.strips.bending_ratio(sample.kappa_per_um);
        Place { u, piece: span.piece, phi, kappa_rest, x, y, axial, curving }
    }

    fn strain(&self, place: &Place, offset_um: f64) -> f64 {
        fibre_strain(place.axial, place.curving, offset_um / self.quarter.pitch_um(), place.kappa_rest)
    }

    fn point(&self, place: &Place, s_um: f64) -> CellPoint {
        let pitch_um = self.quarter.pitch_um();
        let half_um = 0.5 * self.strips.width_um();
        CellPoint {
            s_um,
            x_um: place.x * pitch_um,
            y_um: place.y * pitch_um,
            phi_rad: place.phi,
            kappa_rest_per_um: place.kappa_rest / pitch_um,
            kappa_per_um: place.curvature() / pitch_um,
            axial_strain: place.axial,
            left_strain: self.strain(place, half_um),
            right_strain: self.strain(place, -half_um),
        }
    }

    /// Whether element `e` is short enough for the layers that the force makes.
    fn is_resolved(&self, e: usize) -> bool {
        let length: f64 = (0..NODES).map(|g| WEIGHT[g] * self.nodes[e * NODES + g].jacobian).sum();
        self.force_ei_per_p2 * length * length < LAYERS_RESOLVED * LAYERS_RESOLVED
    }

    /// The node where `sign` times the strain of the fibre at `offset_um` is largest.
    fn nodal_extreme(&self, offset_um: f64, sign: f64, is_at_trough: bool) -> Candidate {
        let offset = offset_um / self.quarter.pitch_um();
        let mut best = Candidate { value: f64::NEG_INFINITY, e: 0, g: 0, sign, offset_um, is_at_trough };
        for e in 0..self.elements {
            let is_resolved = self.is_resolved(e);
            for g in 0..NODES {
                if !is_resolved && g != 0 && g != NODES - 1 {
                    continue;
                }
                let [_, axial, curving, _] = self.fields[e * NODES + g];
                let value = sign * fibre_strain(axial, curving, offset, self.nodes[e * NODES + g].kappa);
                if value > best.value {
                    best = Candidate { value, e, g, ..best };
                }
                let is_crest = (e + 1, g + 1) == (self.elements, NODES);
                if is_crest && best.value - value <= AT_CREST * best.value.abs() {
                    best = Candidate { value, e, g, ..best };
                }
            }
        }
        best
    }

    /// The extreme near a node, to the accuracy of the interpolation within its element.
    fn refine(&self, node: Candidate) -> Peak {
        let Candidate { e, g, sign, offset_um, is_at_trough, .. } = node;
        let rates = self.displacement_rates(e);
        let value = |xi: f64| sign * self.strain(&self.place_by(&rates, e, xi), offset_um);
        let is_crest = (e + 1, g + 1) == (self.elements, NODES);
        let mut xi = POINT[g];
        if !is_crest && self.is_resolved(e) {
            let (mut low, mut high) = (POINT[g.saturating_sub(1)], POINT[(g + 1).min(NODES - 1)]);
            for _ in 0..PEAK_STEPS {
                let third = (high - low) / 3.0;
                if value(low + third) < value(high - third) {
                    low += third;
                } else {
                    high -= third;
                }
            }
            let middle = 0.5 * (low + high);
            if value(middle) > value(xi) {
                xi = middle;
            }
        }
        let place = self.place_by(&rates, e, xi);
        let s_um = if is_crest {
            self.quarter.length_um()
        } else {
            self.quarter.pieces()[place.piece].s_um(place.u)
        };
        let strain = self.strain(&place, offset_um);
        Peak { strain, edge: Edge::of(offset_um), offset_um, s_um, is_at_trough }
    }
}
