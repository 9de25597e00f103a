//! What the onset of buckling is sought for, and what is found.

use ogee_geometry::{Centreline, Ends};

use super::BucklingMode;
use crate::{
    out_of_plane::OutOfPlane,
    ribbon::{EndMotion, RibbonSolution},
    strips::Strips,
};

/// A ribbon whose far island moves away from rest along a straight path, until the flat ribbon leaves its plane.
#[derive(Debug, Clone, Copy)]
pub struct OnsetProblem<'a> {
    /// The ribbon at rest, leads included.
    pub line: &'a Centreline,
    /// Section in the plane, of the same real stiffness as `out`.
    pub strips: &'a Strips,
    /// Section out of the plane.
    pub out: &'a OutOfPlane,
    /// Force per length and deflection of a bed that the ribbon rests on, in MPa; 0 for a freestanding ribbon.
    pub foundation_mpa: f64,
    /// End of the path, which runs from rest in proportion; a negative stretch searches in compression.
    pub up_to: EndMotion,
}

/// How a mode's deflection behaves about the middle of the ribbon.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Symmetry {
    /// v(L − s) = v(s).
    Even,
    /// v(L − s) = −v(s).
    Odd,
    /// Neither; or the flat state itself is not symmetric.
    Mixed,
}

/// The flat ribbon at the onset of buckling out of its plane.
#[derive(Debug, Clone)]
pub struct Onset {
    /// Stretch at onset, dimensionless.
    pub stretch: f64,
    /// Share of the path to `up_to` at onset.
    pub share: f64,
    /// Motion of the far island at onset.
    pub motion: EndMotion,
    /// Symmetry of the first mode.
    pub symmetry: Symmetry,
    /// Stretch and symmetry of the second mode, if it lies within the path.
    pub next: Option<(f64, Symmetry)>,
    /// The first mode, over the whole ribbon.
    pub mode: BucklingMode,
    /// The flat ribbon at onset.
    pub planar: RibbonSolution,
    /// Estimated relative error of the stretch: what a mesh twice as fine changes, and the last correction.
    pub error: f64,
    /// Flat states solved on the way.
    pub planar_states: u32,
}

/// A part of the problem with its own modes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Part {
    pub(crate) symmetry: Symmetry,
    /// Held at the far end of the part: the middle of the ribbon, or its end.
    pub(crate) far: [bool; 3],
    pub(crate) is_half: bool,
    /// α(L − s) and β(L − s) over α(s) and β(s).
    pub(crate) mirror: [f64; 2],
}

/// The parts that the modes of a symmetric flat state fall into.
pub(crate) fn parts(ends: Ends, is_symmetric: bool) -> Vec<Part> {
    let half = |symmetry, far, mirror| Part { symmetry, far, is_half: true, mirror };
    if !is_symmetric {
        let far = [true; 3];
        return vec![Part { symmetry: Symmetry::Mixed, far, is_half: false, mirror: [1.0; 2] }];
    }
    match ends {
        // Turned by 180° about the middle, the curvature changes its sign.
        Ends::Crossing | Ends::Midline => vec![
            half(Symmetry::Odd, [false, false, true], [1.0, 1.0]),
            half(Symmetry::Even, [true, true, false], [-1.0, -1.0]),
        ],
        // Mirrored at the middle, it keeps it.
        Ends::Crest => vec![
            half(Symmetry::Odd, [true, false, true], [-1.0, 1.0]),
            half(Symmetry::Even, [false, true, false], [1.0, -1.0]),
        ],
    }
}
