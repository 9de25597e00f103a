//! The periodic cell in lanes: every lane is another design on a mesh of equally many elements.

use pulp::Simd;

use crate::{
    basis::{INTEGRAL, MODE, NODES, WEIGHT},
    condense::{Condensed, INNER, condense},
    guess::{MOMENTS, SINE_SERIES, angle_share, bending_ratio},
    kernel::{ENTRIES, NodeRest, NodeTerm, TERMS, constant_stiffness, element, node_terms, term},
    wide::Wide,
};

/// Numbers per node of the rest state: φ₀, κ₀P, (ds/dξ)/P and `EI_c/EI`.
pub(crate) const REST: usize = 4;
/// Numbers per node of the solved state: y/P, ε₀ and χP from M = F y, and ε₀ as the element has it from dψ/ds.
pub(crate) const FIELDS: usize = 4;
/// Numbers per element that back-substitution needs.
const BACK: usize = 4 * INNER + 3;
/// Largest change of the angle in one Newton step, in radians. Larger steps may leap into a loop of the ribbon.
const STEP_LIMIT: f64 = 0.5;
/// Weights of the error estimate: of the share of bending energy in the quartic mode, of the 3/2 power of that in the
/// cubic mode, and of the square of the first element's length in layers (EI/F)^½.
///
/// The answer converges as the square of the energy error, and the part a mesh misses is smaller than its highest modes;
/// layers too thin for the mesh leave no trace in its modes, hence the third term. The weights were fitted on 6,000
/// random shapes of all families, w/R from 0.01 to 1.2, e from −0.2 to 1.2 of the slack: of the estimates below 1e-4 none
/// was below the true error on 4 elements or more, and on 2 elements one in 1,000 was, by less than a factor 2.
const QUARTIC_ERROR: f64 = 0.5;
const CUBIC_ERROR: f64 = 0.3;
const LAYER_ERROR: f64 = 5e-6;
/// Relative floor of corrections: what rounding leaves of a state at rest.
const FLOOR: f64 = 1e-13;

/// Scratch memory, kept from one batch to the next.
#[derive(Debug, Default)]
pub(crate) struct Workspace {
    /// [`REST`] per node of each element.
    pub(crate) rest: Vec<f64>,
    terms: Vec<f64>,
    stiffness: Vec<f64>,
    /// ψ at the nodes of the quarter.
    pub(crate) psi: Vec<f64>,
    delta: Vec<f64>,
    back: Vec<f64>,
    /// [`FIELDS`] per node of each element.
    pub(crate) fields: Vec<f64>,
}

impl Workspace {
    /// Makes room for `lanes` designs of `elements` elements.
    pub(crate) fn resize(&mut self, elements: usize, lanes: usize) {
        self.rest.resize(elements * NODES * REST * lanes, 0.0);
        self.terms.resize(elements * NODES * TERMS * lanes, 0.0);
        self.stiffness.resize(elements * ENTRIES * lanes, 0.0);
        self.psi.resize((elements * (NODES - 1) + 1) * lanes, 0.0);
        self.delta.resize((elements * (NODES - 1) + 1) * lanes, 0.0);
        self.back.resize(elements * BACK * lanes, 0.0);
        self.fields.resize(elements * NODES * FIELDS * lanes, 0.0);
    }
}

/// What differs from lane to lane beside the rest state at the nodes.
pub(crate) struct LaneLoads<S: Simd> {
    /// EA P²/EI.
    pub(crate) ea: Wide<S>,
    /// End-to-end stretch e.
    pub(crate) stretch: Wide<S>,
    /// Amplitude over pitch.
    pub(crate) amplitude: Wide<S>,
}

/// How a Newton step went, lane by lane.
pub(crate) struct Step<S: Simd> {
    /// Largest relative correction, over the share of the rest angles that is left; above the tolerance until the lane
    /// has settled.
    pub(crate) correction: Wide<S>,
    /// Negative pivots of the bordered tangent: 1 where the equilibrium is stable.
    pub(crate) negative_pivots: Wide<S>,
    /// dF/de, in EI/P².
    pub(crate) force_slope: Wide<S>,
}

/// Cells being solved.
pub(crate) struct CellLanes<'w, S: Simd> {
    simd: S,
    elements: usize,
    loads: LaneLoads<S>,
    pub(crate) force: Wide<S>,
    /// Contour length of the quarter by the mesh's own quadrature, over P.
    contour: Wide<S>,
    rest_span: Wide<S>,
    rest_height: Wide<S>,
    /// `∫ EI_c κ₀² ds` and ∫ φ₀^(2j) ds, j = 1…5: all that the first guess needs.
    bend_sum: Wide<S>,
    moments: [Wide<S>; MOMENTS],
    /// Share α of the rest angles that gives the span; 1 at rest.
    share: Wide<S>,
    rest: &'w [[S::f64s; REST]],
    terms: &'w mut [[S::f64s; TERMS]],
    stiffness: &'w mut [[S::f64s; ENTRIES]],
    psi: &'w mut [S::f64s],
    delta: &'w mut [S::f64s],
    back: &'w mut [[S::f64s; BACK]],
    fields: &'w mut [[S::f64s; FIELDS]],
}

fn chunks<S: Simd, const N: usize>(values: &mut [f64]) -> &mut [[S::f64s; N]] {
    S::as_mut_simd_f64s(values).0.as_chunks_mut::<N>().0
}

impl<'w, S: Simd> CellLanes<'w, S> {
    /// Elements of the quarter.
    #[inline(always)]
    pub(crate) fn elements(&self) -> usize {
        self.elements
    }

    /// κ₀P at node g of element e.
    #[inline(always)]
    pub(crate) fn kappa_at(&self, e: usize, g: usize) -> Wide<S> {
        Wide::new(self.simd, self.rest[e * NODES + g][1])
    }

    /// (ds/dξ)/P at node g of element e.
    #[inline(always)]
    pub(crate) fn jacobian_at(&self, e: usize, g: usize) -> Wide<S> {
        Wide::new(self.simd, self.rest[e * NODES + g][2])
    }

    /// The fields at node g of element e, after [`Self::finish`].
    #[inline(always)]
    pub(crate) fn fields_at(&self, e: usize, g: usize) -> [Wide<S>; FIELDS] {
        let stored = &self.fields[e * NODES + g];
        let mut fields = [self.force; FIELDS];
        for (field, stored) in fields.iter_mut().zip(stored) {
            *field = Wide::new(self.simd, *stored);
        }
        fields
    }

    /// Prepares the designs whose rest state stands in `workspace.rest` (all but `EI_c`, which comes from `strips`:
    /// share and half width over pitch, per strip and lane).
    #[inline(always)]
    pub(crate) fn prepare(
        simd: S,
        workspace: &'w mut Workspace,
        elements: usize,
        strips: &[[S::f64s; 2]],
        loads: LaneLoads<S>,
    ) -> Self {
        let rest = chunks::<S, REST>(&mut workspace.rest);
        let terms = chunks::<S, TERMS>(&mut workspace.terms);
        let stiffness = chunks::<S, ENTRIES>(&mut workspace.stiffness);
        let zero = Wide::splat(simd, 0.0);
        let (mut contour, mut rest_span, mut rest_height) = (zero, zero, zero);
        let mut bend_sum = zero;
        let mut moments = [zero; MOMENTS];
        for e in 0..elements {
            for g in 0..NODES {
                let stored = &mut rest[e * NODES + g];
                let phi = Wide::new(simd, stored[0]);
                let kappa = Wide::new(simd, stored[1]);
                let jacobian = Wide::new(simd, stored[2]);
                let bending = bending_ratio(simd, kappa, strips);
                stored[3] = bending.lanes();
                let node = NodeRest { phi, kappa, jacobian, bending };
                terms[e * NODES + g] = node_terms(simd, node, WEIGHT[g], loads.ea);
                let ds = jacobian.scale(WEIGHT[g]);
                let (sine, cosine) = phi.sin_cos();
                contour = contour + ds;
                rest_span = ds.mul_add(cosine, rest_span);
                rest_height = ds.mul_add(sine, rest_height);
                bend_sum = (ds * bending).mul_add(kappa * kappa, bend_sum);
                let square = phi * phi;
                let mut power = ds;
                for moment in &mut moments {
                    power = power * square;
                    *moment = *moment + power;
                }
            }
            let nodes = terms[e * NODES..].first_chunk::<NODES>().expect("an element has all its nodes");
            stiffness[e] = constant_stiffness(simd, nodes);
        }
        let share = angle_share(simd, loads.stretch, contour, rest_span, moments);
        Self {
            simd,
            elements,
            loads,
            force: zero,
            contour,
            rest_span,
            rest_height,
            bend_sum,
            moments,
            share,
            rest,
            terms,
            stiffness,
            psi: S::as_mut_simd_f64s(&mut workspace.psi).0,
            delta: S::as_mut_simd_f64s(&mut workspace.delta).0,
            back: chunks::<S, BACK>(&mut workspace.back),
            fields: chunks::<S, FIELDS>(&mut workspace.fields),
        }
    }

    /// First guess: all angles scaled by the share α, and the force from the residual weighted with φ₀.
    #[inline(always)]
    pub(crate) fn guess(&mut self) {
        let simd = self.simd;
        let (one, zero) = (Wide::splat(simd, 1.0), Wide::splat(simd, 0.0));
        let share = self.share;
        // ∫ φ₀ sin(αφ₀) ds = α (m2 − m4 t/3! + …), t = α²
        let square = share * share;
        let mut weight = zero;
        for k in (0..MOMENTS).rev() {
            weight = weight.mul_add(square, self.moments[k].scale(SINE_SERIES[k]));
        }
        let weight = share * weight;
        let less = one - share;
        self.force = self.bend_sum * less / weight;
        let contour_over_span = self.contour.scale(4.0);
        let taut = ((self.loads.stretch + one) / contour_over_span - one).max(zero);
        self.force = self.loads.ea.mul_add(taut, self.force);
        for e in 0..self.elements {
            for g in 0..NODES {
                let phi = Wide::new(simd, self.rest[e * NODES + g][0]);
                self.psi[e * (NODES - 1) + g] = (-less * phi).lanes();
            }
        }
    }

    /// One Newton step for all lanes.
    #[inline(always)]
    pub(crate) fn step(&mut self) -> Step<S> {
        let simd = self.simd;
        let zero = Wide::splat(simd, 0.0);
        let one = Wide::splat(simd, 1.0);
        // Left vertex of the element at hand: what the elements before it left there.
        let (mut diagonal, mut load, mut border) = (zero, zero, zero);
        let (mut span, mut softness) = (zero, zero);
        let (mut span_gap, mut pivot) = (zero, zero);
        let mut negative = zero;
        for e in 0..self.elements {
            let terms = self.terms[e * NODES..].first_chunk::<NODES>().expect("an element has all its nodes");
            let psi: [Wide<S>; NODES] = nodal(simd, &self.psi[e * (NODES - 1)..]);
            let sums = element(simd, terms, &self.stiffness[e], psi, [self.force]);
            let Condensed { matrix, ends, inner, response, pivots } =
                condense(simd, &sums.matrix, [&sums.residual, &sums.border[0]]);
            span = span + sums.length[0];
            softness = softness + sums.softness[0];
            for k in 0..INNER {
                span_gap = sums.border[0][k + 1].mul_add(inner[0][k], span_gap);
                pivot = sums.border[0][k + 1].neg_mul_add(inner[1][k], pivot);
                negative = negative + pivots[k].select_below(zero, one, zero);
            }
            diagonal = diagonal + matrix[0];
            load = load - ends[0][0];
            border = border + ends[1][0];
            let inverse = one / diagonal;
            negative = negative + diagonal.select_below(zero, one, zero);
            let next = matrix[1] * inverse;
            let solved = load * inverse;
            let solved_border = border * inverse;
            span_gap = border.neg_mul_add(solved, span_gap);
            pivot = border.neg_mul_add(solved_border, pivot);
            let back = &mut self.back[e];
            for k in 0..INNER {
                back[k] = inner[0][k].lanes();
                back[INNER + k] = inner[1][k].lanes();
                back[2 * INNER + k] = response[0][k].lanes();
                back[3 * INNER + k] = response[1][k].lanes();
            }
            back[4 * INNER] = next.lanes();
            back[4 * INNER + 1] = solved.lanes();
            back[4 * INNER + 2] = solved_border.lanes();
            diagonal = next.neg_mul_add(matrix[1], matrix[2]);
            load = next.neg_mul_add(load, -ends[0][1]);
            border = next.neg_mul_add(border, ends[1][1]);
        }
        let target = self.target();
        let pivot = pivot - softness;
        negative = negative + pivot.select_below(zero, one, zero);
        let force_change = (span - target + span_gap) / pivot;
        let largest_change = self.substitute(force_change);
        let limit = Wide::splat(simd, STEP_LIMIT);
        let scale = (limit / largest_change.max(limit)).min(one);
        let mut largest = zero;
        for (psi, delta) in self.psi.iter_mut().zip(self.delta.iter()) {
            let next = scale.mul_add(Wide::new(simd, *delta), Wide::new(simd, *psi));
            *psi = next.lanes();
            largest = largest.max(next.abs());
        }
        self.force = scale.mul_add(force_change, self.force);
        // Rounding leaves a state at rest with angles of some 1e-16, for which a relative measure means nothing.
        let floor = Wide::splat(simd, FLOOR);
        let force_scale = self.bend_sum / self.moments[0];
        let angle_part = (largest_change - floor).max(zero) / largest.max(floor);
        let force_floor = force_scale * floor;
        let force_part = (force_change.abs() - force_floor).max(zero) / self.force.abs().max(force_floor);
        // A shortened step is no correction yet, whatever its size.
        let shortened = scale.select_below(one, one, zero);
        // Close to straight the height of the crest, which the strain is taken from, is a small part of the angles.
        let significance = self.share.min(one);
        Step {
            correction: (angle_part.max(force_part) / significance).max(shortened),
            negative_pivots: negative,
            force_slope: Wide::splat(simd, -0.25) / pivot,
        }
    }

    /// How much of the rest shape's quadrature error the stretched shape has: all at rest, none when straight.
    #[inline(always)]
    pub(crate) fn likeness(&self) -> Wide<S> {
        (self.share * self.share).min(Wide::splat(self.simd, 1.0))
    }

    /// The span asked for, as the mesh's quadrature would have it.
    #[inline(always)]
    fn target(&self) -> Wide<S> {
        let quarter = Wide::splat(self.simd, 0.25);
        let exact = self.loads.stretch.mul_add(quarter, quarter);
        (self.rest_span - quarter).mul_add(self.likeness(), exact)
    }

    /// Fills `delta` with the angle's part of the step and returns its greatest size.
    #[inline(always)]
    fn substitute(&mut self, force_change: Wide<S>) -> Wide<S> {
        let simd = self.simd;
        let mut right = Wide::splat(simd, 0.0);
        let mut largest = right;
        self.delta[self.elements * (NODES - 1)] = right.lanes();
        for e in (0..self.elements).rev() {
            let stored = &self.back[e];
            let bordered = (-Wide::new(simd, stored[4 * INNER + 2]))
                .mul_add(force_change, Wide::new(simd, stored[4 * INNER + 1]));
            let left = (-Wide::new(simd, stored[4 * INNER])).mul_add(right, bordered);
            for k in 0..INNER {
                let own =
                    Wide::new(simd, stored[INNER + k]).mul_add(force_change, Wide::new(simd, stored[k]));
                let ends = Wide::new(simd, stored[2 * INNER + k])
                    .mul_add(left, Wide::new(simd, stored[3 * INNER + k]) * right);
                let value = -(own + ends);
                self.delta[e * (NODES - 1) + 1 + k] = value.lanes();
                largest = largest.max(value.abs());
            }
            self.delta[e * (NODES - 1)] = left.lanes();
            largest = largest.max(left.abs());
            right = left;
        }
        largest
    }

    /// Fills `delta` with dψ/de at the state of the last step, given dF/de from it.
    #[inline(always)]
    pub(crate) fn tangent(&mut self, force_slope: Wide<S>) -> &[S::f64s] {
        let zero = self.simd.splat_f64s(0.0);
        for back in self.back.iter_mut().take(self.elements) {
            back[..INNER].fill(zero);
            back[4 * INNER + 1] = zero;
        }
        self.substitute(force_slope);
        self.delta
    }

    /// Fields at the nodes, mostly from M = F y, see [`FIELDS`].
    ///
    /// y is the quadrature that the equilibrium on the mesh is consistent with; near rest, where the amplitude is
    /// known, the quadrature error of the rest shape is taken off.
    /// Returns the estimated relative error of the crest's strain on this mesh.
    #[inline(always)]
    pub(crate) fn finish(&mut self) -> Wide<S> {
        let simd = self.simd;
        let zero = Wide::splat(simd, 0.0);
        let one = Wide::splat(simd, 1.0);
        let mut y = zero;
        let mut contour = zero;
        let height_gap = (self.loads.amplitude - self.rest_height) * self.likeness();
        let inverse_ea = one / self.loads.ea;
        let per_contour = one / self.contour;
        let mut first_length = zero;
        let mut modes = [zero; 2];
        let mut energy = zero;
        for e in 0..self.elements {
            let psi: [Wide<S>; NODES] = nodal(simd, &self.psi[e * (NODES - 1)..]);
            let terms = &self.terms[e * NODES..e * NODES + NODES];
            let rest = &self.rest[e * NODES..e * NODES + NODES];
            let mut own_axial = [zero; NODES];
            let mut across = [zero; NODES];
            let mut length = [zero; NODES];
            let mut cosines = [zero; NODES];
            for g in 0..NODES {
                let mut slope = psi[0].scale(crate::basis::SLOPE[g][0]);
                for i in 1..NODES {
                    slope = psi[i].scale_add(crate::basis::SLOPE[g][i], slope);
                }
                let (sine, cosine) = (term(simd, &terms[g], NodeTerm::PHI) + psi[g]).sin_cos();
                let normal = self.force * cosine;
                let softness = term(simd, &terms[g], NodeTerm::SOFTNESS);
                let stretched = term(simd, &terms[g], NodeTerm::COUPLING_SLOPE)
                    .mul_add(slope, softness.mul_add(normal, one));
                let jacobian = Wide::new(simd, rest[g][2]);
                length[g] = jacobian;
                own_axial[g] = stretched - one;
                across[g] = stretched * sine * jacobian;
                cosines[g] = cosine;
            }
            if e == 0 {
                for g in 0..NODES {
                    first_length = length[g].scale_add(WEIGHT[g], first_length);
                }
            }
            let middle = Wide::new(simd, rest[NODES / 2][3]) / Wide::new(simd, rest[NODES / 2][2]);
            for (mode, weights) in modes.iter_mut().zip(MODE) {
                let mut coefficient = zero;
                for g in 0..NODES {
                    coefficient = psi[g].scale_add(weights[g], coefficient);
                }
                *mode = (coefficient * coefficient).mul_add(middle, *mode);
            }
            for g in 0..NODES {
                let (mut y_here, mut s_here) = (y, contour);
                for i in 0..NODES {
                    y_here = across[i].scale_add(INTEGRAL[g][i], y_here);
                    s_here = length[i].scale_add(INTEGRAL[g][i], s_here);
                }
                let y_exact = (height_gap * per_contour).mul_add(s_here, y_here);
                let kappa = Wide::new(simd, rest[g][1]);
                let bending = Wide::new(simd, rest[g][3]);
                let moment = self.force * y_exact;
                let axial = self.force.mul_add(cosines[g], kappa * moment) * inverse_ea;
                let curving = moment / bending;
                energy = (length[g].scale(WEIGHT[g]) * moment).mul_add(curving, energy);
                self.fields[e * NODES + g] =
                    [y_exact.lanes(), axial.lanes(), curving.lanes(), own_axial[g].lanes()];
                if g == NODES - 1 {
                    (y, contour) = (y_here, s_here);
                }
            }
        }
        // Rounding of a state at rest is no mode.
        let energy = energy.max(self.bend_sum.scale(FLOOR * FLOOR));
        // ∫ P₃'² dξ = 12 and ∫ P₄'² dξ = 20.
        let [cubic, quartic] = [modes[0].scale(12.0) / energy, modes[1].scale(20.0) / energy];
        let root = Wide::new(simd, simd.sqrt_f64s(cubic.lanes()));
        let layers = first_length * first_length * self.force.max(zero);
        let modal = quartic.scale_add(QUARTIC_ERROR, (cubic * root).scale(CUBIC_ERROR));
        layers.scale_add(LAYER_ERROR, modal)
    }
}

#[inline(always)]
fn nodal<S: Simd>(simd: S, values: &[S::f64s]) -> [Wide<S>; NODES] {
    let first = values.first_chunk::<NODES>().expect("an element has all its nodes");
    let mut nodes = [Wide::splat(simd, 0.0); NODES];
    for g in 0..NODES {
        nodes[g] = Wide::new(simd, first[g]);
    }
    nodes
}
