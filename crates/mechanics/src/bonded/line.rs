//! A solved line on its substrate: places, extremes and integrals along it.

use crate::{
    basis::{NODES, POINT, WEIGHT, shape_values},
    bonded::{
        chain::NodeFields,
        element::{RestPoint, Setting},
        part::Part,
        solve::MeshState,
    },
    fibre::{Edge, Extremes, Peak, fibre_strain},
    mesh::ElementSpan,
    solution::{CellPoint, CurvatureJump, PathWeight},
    strips::Strips,
};

/// Steps by which the bracket of an extreme shrinks to two thirds.
const PEAK_STEPS: usize = 16;
/// An extreme that exceeds the crest's by less than this share of it is laid at the crest.
const AT_CREST: f64 = 1e-7;

/// A place on a bonded ribbon when stretched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BondedPoint {
    /// Position, angle, curvature and strains; the contour length counts from the crossing of a cell, from the start of a
    /// whole ribbon.
    pub at: CellPoint,
    /// Displacement against the substrate along x and y, in µm.
    pub slip_um: [f64; 2],
}

/// Everything at one place, lengths over the unit.
pub(crate) struct Place {
    piece: usize,
    u: f64,
    phi: f64,
    kappa_rest: f64,
    pub(crate) slip: [f64; 2],
    axial: f64,
    curving: f64,
}

/// A fibre to look at.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fibre {
    pub(crate) offset_um: f64,
    pub(crate) is_at_trough: bool,
}

/// A node with an extreme of strain.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    value: f64,
    e: usize,
    g: usize,
    sign: f64,
    fibre: Fibre,
}

/// A solved line of smooth parts.
#[derive(Debug, Clone)]
pub(crate) struct Line<P> {
    pub(crate) parts: Vec<P>,
    pub(crate) spans: Vec<ElementSpan>,
    pub(crate) rest: Vec<[RestPoint; NODES]>,
    pub(crate) fields: Vec<[NodeFields; NODES]>,
    pub(crate) setting: Setting,
    pub(crate) strips: Strips,
    /// The unit of length, in µm.
    pub(crate) unit_um: f64,
    /// The line y that the substrate contracts towards, in µm.
    pub(crate) axis_um: f64,
    /// Whether the line ends on a crest, where an extreme is wanted rather than close by.
    pub(crate) ends_on_crest: bool,
}

impl<P: Part> Line<P> {
    /// The state, to start another solve from.
    pub(crate) fn state(&self) -> MeshState {
        MeshState { spans: self.spans.clone(), fields: self.fields.clone() }
    }

    pub(crate) fn elements(&self) -> usize {
        self.spans.len()
    }

    /// Strain of the centreline and χ from the recovered force and moment.
    fn stresses(&self, phi: f64, kappa: f64, bending: f64, force: [f64; 2], moment: f64) -> (f64, f64) {
        let (sine, cosine) = phi.sin_cos();
        let normal = force[0] * cosine + force[1] * sine;
        ((normal + kappa * moment) / self.setting.ea, moment / bending)
    }

    pub(crate) fn place(&self, e: usize, xi: f64) -> Place {
        let span = self.spans[e];
        let u = span.parameter(xi);
        let sample = self.parts[span.piece].sample(u);
        let shape = shape_values(xi);
        let (mut psi, mut moment, mut slip, mut force) = (0.0, 0.0, [0.0; 2], [0.0; 2]);
        for (weight, node) in shape.iter().zip(&self.fields[e]) {
            psi += weight * node.psi;
            moment += weight * node.moment;
            for c in 0..2 {
                slip[c] += weight * node.slip[c];
                force[c] += weight * node.force[c];
            }
        }
        let phi = sample.phi_rad + psi;
        let kappa_rest = sample.kappa_per_um * self.unit_um;
        let bending = self.strips.bending_ratio(sample.kappa_per_um);
        let (axial, curving) = self.stresses(phi, kappa_rest, bending, force, moment);
        Place { piece: span.piece, u, phi, kappa_rest, slip, axial, curving }
    }

    /// The place at the contour length `s_um`.
    pub(crate) fn place_at(&self, s_um: f64) -> Place {
        let piece = self.parts.partition_point(|part| part.end_um() < s_um).min(self.parts.len() - 1);
        let u = self.parts[piece].u_from_s(s_um);
        let e = self
            .spans
            .partition_point(|span| span.piece < piece || (span.piece == piece && span.to < u))
            .min(self.spans.len() - 1);
        let span = self.spans[e];
        self.place(e, (2.0 * (u - span.from) / (span.to - span.from) - 1.0).clamp(-1.0, 1.0))
    }

    fn strain(&self, place: &Place, offset_um: f64) -> f64 {
        fibre_strain(place.axial, place.curving, offset_um / self.unit_um, place.kappa_rest)
    }

    pub(crate) fn point(&self, place: &Place, s_um: f64) -> BondedPoint {
        let half_um = 0.5 * self.strips.width_um();
        let [x_um, y_um] = self.parts[place.piece].point_um(place.u);
        let [a, b] = self.setting.affine;
        let slip_um = place.slip.map(|slip| slip * self.unit_um);
        let kappa = place.kappa_rest.mul_add(1.0 + place.axial, place.curving);
        let at = CellPoint {
            s_um,
            x_um: a * x_um + slip_um[0],
            y_um: self.axis_um + b * (y_um - self.axis_um) + slip_um[1],
            phi_rad: place.phi,
            kappa_rest_per_um: place.kappa_rest / self.unit_um,
            kappa_per_um: kappa / self.unit_um,
            axial_strain: place.axial,
            left_strain: self.strain(place, half_um),
            right_strain: self.strain(place, -half_um),
        };
        BondedPoint { at, slip_um }
    }

    /// `count` points (at least 2) at equal steps of the contour length.
    pub(crate) fn along(&self, count: usize) -> Vec<BondedPoint> {
        let count = count.max(2);
        let length_um = self.parts.last().map_or(0.0, Part::end_um);
        (0..count)
            .map(|i| {
                let s_um = length_um * i as f64 / (count - 1) as f64;
                self.point(&self.place_at(s_um), s_um)
            })
            .collect()
    }

    /// `count` points (at least 2) on each smooth part, both of its ends included, at equal steps of the contour length.
    pub(crate) fn along_parts(&self, count: usize) -> Vec<BondedPoint> {
        let count = count.max(2);
        let mut points = Vec::with_capacity(count * self.parts.len());
        let mut first = 0;
        for (k, part) in self.parts.iter().enumerate() {
            let own = self.spans[first..].iter().take_while(|span| span.piece == k).count();
            let spans = &self.spans[first..first + own];
            for i in 0..count {
                let share = i as f64 / (count - 1) as f64;
                let s_um = part.start_um() + share * (part.end_um() - part.start_um());
                let u = match i {
                    0 => 0.0,
                    i if i + 1 == count => 1.0,
                    _ => part.u_from_s(s_um),
                };
                let within = spans.partition_point(|span| span.to < u).min(own.saturating_sub(1));
                let span = spans[within];
                let xi = (2.0 * (u - span.from) / (span.to - span.from) - 1.0).clamp(-1.0, 1.0);
                points.push(self.point(&self.place(first + within, xi), s_um));
            }
            first += own;
        }
        points
    }

    /// The extremes of strain over the fibres.
    pub(crate) fn extremes(&self, fibres: &[Fibre]) -> Extremes {
        let peak = |sign: f64| {
            let best = fibres
                .iter()
                .map(|&fibre| self.nodal_extreme(fibre, sign))
                .reduce(|best, other| if other.value > best.value { other } else { best })
                .expect("there is a fibre to look at");
            self.refine(best)
        };
        Extremes { tensile: peak(1.0), compressive: peak(-1.0) }
    }

    /// The node where `sign` times the strain of the fibre is largest.
    fn nodal_extreme(&self, fibre: Fibre, sign: f64) -> Candidate {
        let offset = fibre.offset_um / self.unit_um;
        let mut best = Candidate { value: f64::NEG_INFINITY, e: 0, g: 0, sign, fibre };
        for (e, (rest, fields)) in self.rest.iter().zip(&self.fields).enumerate() {
            for g in 0..NODES {
                let phi = rest[g].phi + fields[g].psi;
                let (axial, curving) =
                    self.stresses(phi, rest[g].kappa, rest[g].bending, fields[g].force, fields[g].moment);
                let value = sign * fibre_strain(axial, curving, offset, rest[g].kappa);
                let is_close = best.value - value <= AT_CREST * best.value.abs();
                if value > best.value || (self.is_crest(e, g) && is_close) {
                    best = Candidate { value, e, g, ..best };
                }
            }
        }
        best
    }

    fn is_crest(&self, e: usize, g: usize) -> bool {
        self.ends_on_crest && e + 1 == self.elements() && g + 1 == NODES
    }

    /// The extreme near a node, to the accuracy of the interpolation within its element.
    fn refine(&self, node: Candidate) -> Peak {
        let Candidate { e, g, sign, fibre, .. } = node;
        let value = |xi: f64| sign * self.strain(&self.place(e, xi), fibre.offset_um);
        let mut xi = POINT[g];
        if !self.is_crest(e, g) {
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
        let place = self.place(e, xi);
        let part = &self.parts[place.piece];
        let s_um = if self.is_crest(e, g) { part.end_um() } else { part.s_um(place.u) };
        Peak {
            strain: self.strain(&place, fibre.offset_um),
            edge: Edge::of(fibre.offset_um),
            offset_um: fibre.offset_um,
            s_um,
            is_at_trough: fibre.is_at_trough,
        }
    }

    /// The largest slip in µm.
    pub(crate) fn largest_slip_um(&self) -> f64 {
        /// Places per element; the slip is flat where it is largest.
        const PLACES: usize = 8;
        let shapes: [_; PLACES + 1] =
            std::array::from_fn(|i| shape_values(2.0 * i as f64 / PLACES as f64 - 1.0));
        let mut largest = 0.0_f64;
        for fields in &self.fields {
            let size: [f64; PLACES + 1] = std::array::from_fn(|i| {
                let [x, y] =
                    [0, 1].map(|c| -> f64 { (0..NODES).map(|g| shapes[i][g] * fields[g].slip[c]).sum() });
                x.hypot(y)
            });
            for window in size.windows(3) {
                let [before, here, after] = [window[0], window[1], window[2]];
                largest = largest.max(before).max(here).max(after);
                if here > before && here > after {
                    // Vertex of the parabola through the three.
                    let bend = 2.0 * here - before - after;
                    largest = largest.max(here + 0.125 * (after - before).powi(2) / bend);
                }
            }
        }
        largest * self.unit_um
    }

    /// Lengths and curvatures at the nodes for integrals along the stretched line.
    pub(crate) fn quadrature(&self) -> impl Iterator<Item = PathWeight> + '_ {
        (0..self.elements()).flat_map(move |e| {
            (0..NODES).map(move |g| {
                let place = self.place(e, POINT[g]);
                let stretched = 1.0 + place.axial;
                let kappa = place.kappa_rest.mul_add(stretched, place.curving);
                PathWeight {
                    length_um: WEIGHT[g] * self.rest[e][g].jacobian * stretched * self.unit_um,
                    curvature_per_um: (kappa / stretched / self.unit_um).abs(),
                }
            })
        })
    }

    /// Curvature per stretched length at an element's place, in 1/µm.
    pub(crate) fn true_curvature_per_um(&self, e: usize, xi: f64) -> f64 {
        let place = self.place(e, xi);
        (place.kappa_rest + place.curving / (1.0 + place.axial)) / self.unit_um
    }

    /// The jumps of curvature inside the line.
    pub(crate) fn jumps(&self) -> Vec<CurvatureJump> {
        let mut jumps = Vec::new();
        for e in 1..self.elements() {
            if self.spans[e].piece == self.spans[e - 1].piece {
                continue;
            }
            let (before, after) = (self.rest[e - 1][NODES - 1].kappa, self.rest[e][0].kappa);
            if (before - after).abs() > 1e-9 * before.abs().max(after.abs()) {
                jumps.push(CurvatureJump {
                    s_um: self.parts[self.spans[e].piece].start_um(),
                    before_per_um: self.true_curvature_per_um(e - 1, 1.0),
                    after_per_um: self.true_curvature_per_um(e, -1.0),
                });
            }
        }
        jumps
    }
}
