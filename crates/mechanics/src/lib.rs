//! Equilibrium of a stretched ribbon and the strain along it.
//!
//! A ribbon between two stiff islands is a thin curved beam. This crate finds its shape, force and strain when its
//! ends are moved, exactly within the theory of an extensible curved beam whose sections stay plane: for large
//! rotations, compression, and stretches beyond straight. Lengths are in µm, angles in radians, tension positive.
//!
//! ```
//! use ogee_geometry::{Family, Quarter};
//! use ogee_mechanics::{CellProblem, CellSolver, Edge, Strips};
//!
//! // Semicircles of 125 µm radius, 20 µm wide, stretched by 40 %: 5.18 % at the crest's inner edge.
//! let quarter = Quarter::new(Family::Arc, 500.0, 125.0)?;
//! let strips = Strips::homogeneous(20.0)?;
//! let problem = CellProblem { quarter: &quarter, strips: &strips, stretch: 0.4 };
//! let solution = CellSolver::new().solve(&problem, None)?;
//! assert!((solution.peak.strain - 0.051818).abs() < 1e-5 && solution.peak.edge == Edge::Right);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # The beam
//! With κ₀ the curvature at rest, ε₀ the strain of the centreline and κ the curvature when stretched (per rest
//! length), χ = κ − κ₀ (1 + ε₀) leaves the energy of a curved section without a coupling term:
//! `½ (EA ε₀² + EI_c χ²)`, EA and `EI_c` from [`Strips`]. So M = `EI_c` χ, EA ε₀ = N + κ₀ M, and a fibre at the offset
//! y has the strain ε(y) = ε₀ − y χ/(1 − y κ₀). With a constant end force (H, V), N = H cos φ + V sin φ and
//! M' = (1 + ε₀)(H sin φ − V cos φ).
//!
//! # The cell
//! One period of an endless ribbon repeats a quarter from a crossing of the midline, where M = 0, to a crest, where
//! φ = 0. The force acts along x and M = F y. The unknown is the angle alone, with F as multiplier of the condition on
//! the span; ε₀ follows pointwise, so nothing locks however thin the ribbon. See [`CellSolver::solve`].
//!
//! # The whole ribbon
//! [`RibbonSolver::solve`] takes the same beam from island to island, both ends clamped, with both force components as
//! multipliers, for any motion of the far island. What the clamps do to the strain, the cell cannot know.
//!
//! # Out of the plane
//! [`onset()`] finds the stretch at which the flat ribbon leaves its plane, [`SecondVariation`] the modes in which it does.
//! [`SpatialSolver`] follows the buckled ribbon from there, finds other stable states, and recovers the strain of twist and
//! of bending in both planes; [`BuckledPath`] keeps its states along the stretch.
//!
//! Stretch is unbounded above and bounded below by self-contact, which a separate check on the stretched edges must
//! find: the planar model lets a ribbon pass through itself. Shear is left out (1 % of the strain at w/R = 0.4), and
//! against plane-stress elasticity the peak strain is some 0.1 (w/R)² too high, on the safe side. A ribbon thinner than
//! wide may buckle out of the plane first.
//!
//! # Cost
//! On one core of 2025 a cell solved alone takes some 4 µs with a relative error of the peak strain near 1e-7, and 6 µs
//! with its report; [`ManySolver`] takes 0.2 to 0.4 µs per design where two elements are enough for 1e-4 and 0.4 to 1.1 µs
//! on four, with vectors of 512 bits. Two elements and three steps are some 7,500 floating-point operations.

#![allow(
    clippy::inline_always,
    reason = "code for wider vectors must be inlined into the function that enables them"
)]
#![allow(clippy::needless_range_loop, reason = "element loops run over several arrays and tables in step")]

mod basis;
mod batch;
mod beam;
mod beam_newton;
mod bonded;
mod condense;
mod curve;
mod ends;
mod error;
mod extremes;
mod fibre;
mod guess;
mod kernel;
mod lanes;
mod linear;
mod many;
mod mesh;
mod onset;
mod out_of_plane;
mod ribbon;
mod solution;
mod solver;
mod spatial;
mod strips;
mod wide;

pub use beam::{Beam, BeamEnd, BeamPiece, BeamSolution, PointLoad};
pub use bonded::{
    BondedError, BondedNote, BondedPoint, BondedProblem, BondedRibbonProblem, BondedRibbonSolution,
    BondedRibbonSolver, BondedSolution, BondedSolver, BondedState, Closure, ClosureNote, Foundation,
    FoundationStiffness, PeelIndicator, StiffFilm, Substrate, Wrinkling, WrinklingNote,
};
pub use curve::{ForcePoint, LayerLimit, force_curve, stretch_at_strain};
pub use ends::{EndFactor, EndNote, end_factor};
pub use error::{BeamError, CellError, StripsError};
pub use fibre::{Edge, Extremes, LayerSpan, Peak};
pub use linear::LinearEstimate;
pub use many::{CellResult, LayerPeaks, ManyProblem, ManyResults, ManySettings, ManySolver};
pub use onset::{
    BucklingMode, EndSupport, FlatPoint, ModePoint, Onset, OnsetError, OnsetEstimate, OnsetProblem,
    SecondVariation, Symmetry, onset,
};
pub use out_of_plane::{OutOfPlane, OutOfPlaneError, SectionLaw, torsion_constant_um4};
pub use ribbon::{
    EndMotion, Reached, RibbonError, RibbonExtremes, RibbonPeak, RibbonPoint, RibbonProblem, RibbonSolution,
    RibbonSolver, RibbonState,
};
pub use solution::{CellPoint, CellSolution, CurvatureJump, PathWeight};
pub use solver::{CellProblem, CellSolver, CellState, Mesh};
pub use spatial::{
    BuckledBranch, BuckledPath, EnergyParts, FibreBox, FibreExtremes, FibrePeak, MeshError, PeakKind,
    SearchEffort, SpatialError, SpatialJump, SpatialPeak, SpatialPoint, SpatialProblem, SpatialSolution,
    SpatialSolver, SpatialState, SpatialWeight, StableStates, StateSymmetry,
};
pub use strips::{MAX_STRIPS, Strips};

#[cfg(test)]
mod beam_tests;
#[cfg(test)]
mod cell_tests;
#[cfg(test)]
mod law_tests;
#[cfg(test)]
mod many_tests;
