//! The ribbon in space: released, thinner than wide, and free to leave its plane.
//!
//! A section has the frame t (along the ribbon), n (to the left, along the width) and b = t × n, which is +z in the flat
//! ribbon; along the ribbon it turns at the rates τ about t, κₙ about n and `κ_z` about b per length at rest. The unknowns
//! are the frames, as unit quaternions, and the constant force F; positions follow. At equilibrium
//!
//! ```text
//! L = ∫ [ W(τ, κₙ) + ½ EI_c χ₀² − (T + κ₀ EI_c χ₀)²/(2 D) − T + ½ T (w²/12) τ² ] ds + F·Δr
//! T = F·t        χ₀ = κ_z − κ₀        D = EA + κ₀² EI_c
//! W = ½ GJ τ² + ½ EI_out (κₙ − k)² + ½ A S²/H
//! S = τ² + ν κₙ² − (1 + ν) k κₙ        H = 1 + c κₙ²        A = EA w⁴/720        c = A (1 − ν²)/EI_out
//! ```
//!
//! is stationary. The last term of W is the energy that is left when a sheet, whose edges a twist stretches, is free to
//! curve across its width by a parabola; k is the curl, a natural curvature alike in all directions. It goes from the
//! plain rod to beam bending, to the plate, and to the inextensible ribbon in its limits (derived here; of the kind of
//! Sano and Wada, Phys. Rev. Lett. 2019, and Audoly and Neukirch, J. Mech. Phys. Solids 2021). The axial strain is
//! eliminated at each point, so that nothing locks.
//!
//! Elements have three nodes and two Gauss points; their quaternions are interpolated as they are and normalised
//! within the formulas, which are rational and do not depend on the frame of space. Their middle nodes are eliminated,
//! which leaves a chain of 3×3 blocks bordered by the force. A state is stable when the factorised matrix has
//! exactly three negative pivots. Strains come from moments in equilibrium, never from slopes of the frames.
//!
//! # Limits
//! Believed good to β = w² κₙ/t of about 10; beyond, a shell is needed. Within a width from a clamp the stress is that
//! of a beam. Elements do not touch each other: bends may pass through one another. Gravity and stiction are left
//! out. Where the ribbon is pulled straight, layers of length √(`EI_out`/F) at the clamps and inflections ask for a finer
//! mesh: [`SpatialSolution::mesh_indicator`] tells.

mod branch;
mod buckled;
mod element;
mod error;
mod law;
mod modes;
mod multi;
mod newton;
mod path;
mod problem;
mod recovery;
mod rod;
mod section_state;
mod solution;
mod solver;
mod state;
mod system;
mod valley;
mod vector;

pub use buckled::BuckledBranch;
pub use error::SpatialError;
pub use multi::{SearchEffort, StableStates};
pub use path::BuckledPath;
pub use problem::SpatialProblem;
pub use recovery::EnergyParts;
pub use section_state::PeakKind;
pub use solution::{
    FibreBox, FibreExtremes, FibrePeak, SpatialPeak, SpatialPoint, SpatialSolution, StateSymmetry,
};
pub use solver::{MeshError, SpatialSolver};
pub use state::SpatialState;

#[cfg(test)]
mod branch_tests;
#[cfg(test)]
mod published_tests;
#[cfg(test)]
mod ribbon_tests;
