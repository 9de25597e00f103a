//! Elements along a quarter, and the rest state at their nodes.

use ogee_geometry::{Piece, Quarter};

use crate::basis::{NODES, POINT};

/// Greatest number of elements of a quarter.
pub(crate) const MAX_ELEMENTS: usize = 64;

/// The rest state at one node of one element, lengths divided by the pitch.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct RestNode {
    /// Tangent angle φ₀.
    pub(crate) phi: f64,
    /// Curvature κ₀ P.
    pub(crate) kappa: f64,
    /// Length per element coordinate, (ds/dξ)/P with ξ from −1 to 1.
    pub(crate) jacobian: f64,
}

/// One element: the part `from..to` of the parameter of one smooth piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ElementSpan {
    pub(crate) piece: usize,
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl ElementSpan {
    /// The piece's parameter at the element coordinate ξ.
    pub(crate) fn parameter(&self, xi: f64) -> f64 {
        self.from + 0.5 * (self.to - self.from) * (1.0 + xi)
    }
}

/// The elements of a quarter of `pieces` smooth pieces, crossing first.
///
/// Elements shrink as a cosine towards both ends of each piece: the layers of a ribbon pulled nearly straight
/// sit there, and so does the sharpest bend of a steep sine. Two pieces share the elements equally.
pub(crate) fn spans(pieces: usize, elements: usize) -> impl Iterator<Item = ElementSpan> {
    let shares = if pieces == 1 { [elements, 0] } else { [elements / 2, elements - elements / 2] };
    (0..pieces).flat_map(move |piece| {
        let count = shares[piece];
        (0..count).map(move |i| ElementSpan { piece, from: graded(i, count), to: graded(i + 1, count) })
    })
}

/// Where element boundary `i` of `count` lies in 0..1.
pub(crate) fn graded(i: usize, count: usize) -> f64 {
    match (i, count) {
        (0, _) => 0.0,
        (i, count) if i == count => 1.0,
        // Spares a cosine in the two commonest meshes.
        (1, 2) | (2, 4) => 0.5,
        _ => 0.5 - 0.5 * (std::f64::consts::PI * i as f64 / count as f64).cos(),
    }
}

/// Samples the rest state at all nodes of all elements into `nodes`, which it replaces.
pub(crate) fn sample_rest(quarter: &Quarter, elements: usize, nodes: &mut Vec<RestNode>) {
    nodes.clear();
    let per_pitch = 1.0 / quarter.pitch_um();
    let pieces = quarter.pieces();
    for span in spans(pieces.len(), elements) {
        let half = 0.5 * (span.to - span.from);
        for xi in POINT {
            nodes.push(sample_node(
                &pieces[span.piece],
                span.parameter(xi),
                half,
                per_pitch,
                quarter.pitch_um(),
            ));
        }
    }
    debug_assert_eq!(nodes.len(), elements * NODES);
}

fn sample_node(piece: &Piece, u: f64, half: f64, per_pitch: f64, pitch_um: f64) -> RestNode {
    let sample = piece.sample(u);
    RestNode {
        phi: sample.phi_rad,
        kappa: sample.kappa_per_um * pitch_um,
        jacobian: sample.ds_du_um * per_pitch * half,
    }
}
