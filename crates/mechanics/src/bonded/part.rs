//! Smooth parts of a ribbon, and a mesh over them.

use ogee_geometry::{Piece, PieceSample, Segment};

use crate::{
    basis::{NODES, POINT, shape_values},
    bonded::{chain::NodeFields, element::RestPoint},
    mesh::{ElementSpan, graded},
    strips::Strips,
};

/// Most elements of one part.
const MOST_PER_PART: usize = 128;

/// A stretch of the centreline along which the curvature is smooth, with a parameter from 0 to 1.
pub(crate) trait Part {
    fn sample(&self, u: f64) -> PieceSample;
    fn point_um(&self, u: f64) -> [f64; 2];
    fn s_um(&self, u: f64) -> f64;
    fn u_from_s(&self, s_um: f64) -> f64;
    fn start_um(&self) -> f64;
    fn end_um(&self) -> f64;
}

macro_rules! impl_part {
    ($kind:ty) => {
        impl Part for $kind {
            fn sample(&self, u: f64) -> PieceSample {
                <$kind>::sample(self, u)
            }
            fn point_um(&self, u: f64) -> [f64; 2] {
                let point = <$kind>::point(self, u);
                [point.x, point.y]
            }
            fn s_um(&self, u: f64) -> f64 {
                <$kind>::s_um(self, u)
            }
            fn u_from_s(&self, s_um: f64) -> f64 {
                <$kind>::u_from_s(self, s_um)
            }
            fn start_um(&self) -> f64 {
                <$kind>::start_um(self)
            }
            fn end_um(&self) -> f64 {
                <$kind>::end_um(self)
            }
        }
    };
}

impl_part!(Piece);
impl_part!(Segment);

/// How many elements a part of `length_um` takes for its shortest ones, at its ends, not to exceed `layer_um`; at least
/// `least`, and no more than can be halved once.
pub(crate) fn elements_for(length_um: f64, layer_um: f64, least: usize) -> usize {
    // The first of n graded elements is sin²(π/2n) of the part.
    let share = (layer_um / length_um).min(1.0).sqrt();
    let count = std::f64::consts::FRAC_PI_2 / share.asin();
    let most = MOST_PER_PART / 2;
    if count < most as f64 { (count.ceil() as usize).max(least) } else { most }
}

/// The elements of all parts, `counts` of each.
pub(crate) fn spans(counts: &[usize]) -> Vec<ElementSpan> {
    let of = |(piece, &count): (usize, &usize)| {
        (0..count).map(move |i| ElementSpan { piece, from: graded(i, count), to: graded(i + 1, count) })
    };
    counts.iter().enumerate().flat_map(of).collect()
}

/// Twice as many elements in every part; none where they would be too many.
pub(crate) fn halved(counts: &[usize]) -> Option<Vec<usize>> {
    let finer: Vec<usize> = counts.iter().map(|count| 2 * count).collect();
    finer.iter().all(|&count| count <= MOST_PER_PART).then_some(finer)
}

/// The rest state at the nodes.
pub(crate) fn sample_rest<P: Part>(
    parts: &[P],
    spans: &[ElementSpan],
    strips: &Strips,
    unit_um: f64,
) -> Vec<[RestPoint; NODES]> {
    let at = |span: &ElementSpan, g: usize| {
        let (part, u) = (&parts[span.piece], span.parameter(POINT[g]));
        let sample = part.sample(u);
        RestPoint {
            phi: sample.phi_rad,
            kappa: sample.kappa_per_um * unit_um,
            jacobian: sample.ds_du_um / unit_um * 0.5 * (span.to - span.from),
            bending: strips.bending_ratio(sample.kappa_per_um),
        }
    };
    spans.iter().map(|span| std::array::from_fn(|g| at(span, g))).collect()
}

/// Angle and force of a state at the parameter `u` of a part.
pub(crate) fn state_at(
    spans: &[ElementSpan],
    fields: &[[NodeFields; NODES]],
    piece: usize,
    u: f64,
) -> (f64, [f64; 2]) {
    let e = spans
        .partition_point(|span| span.piece < piece || (span.piece == piece && span.to < u))
        .min(spans.len() - 1);
    let span = spans[e];
    let xi = (2.0 * (u - span.from) / (span.to - span.from) - 1.0).clamp(-1.0, 1.0);
    let shape = shape_values(xi);
    let mut result = (0.0, [0.0; 2]);
    for g in 0..NODES {
        result.0 += shape[g] * fields[e][g].psi;
        result.1[0] += shape[g] * fields[e][g].force[0];
        result.1[1] += shape[g] * fields[e][g].force[1];
    }
    result
}
