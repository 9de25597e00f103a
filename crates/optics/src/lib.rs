//! Light in a narrow core: modes, bend loss and transition loss.
//!
//! A straight core is a [`Slab`] (exact) or a rectangular [`Core`] (effective-index method, an estimate); a bent one
//! is a [`BentSlab`], solved rigorously along the radius. Where the curvature jumps, [`joint_loss_db`] compares the
//! fields.
//!
//! ```
//! use ogee_optics::{BentSlab, Core, Polarisation};
//!
//! let core = Core {
//!     wavelength_um: 1.31, width_um: 2.0, height_um: 1.6,
//!     n_core: 1.51, n_below: 1.46, n_above: 1.46, n_side: 1.46, side_slab_um: None,
//! };
//! let index = core.effective_index(Polarisation::QuasiTe)?;
//! let bend = BentSlab::left(&index.bend_slab()?, index.lateral_polarisation).solve(600.0)?;
//! assert!(index.n_eff > 1.46 && bend.loss_db_per_90deg < 0.01);
//! # Ok::<(), ogee_optics::LightError>(())
//! ```
//!
//! Lengths are in µm, losses in dB; fields go as exp(i(βs − ωt)), so a positive imaginary part is loss.

mod basis;
mod bent;
mod bent_field;
mod channel;
mod complex;
mod error;
mod mesh;
mod pencil;
mod slab;
mod slab_mode;
mod start;
mod transition;
mod tunnelling;

pub use bent::{
    BendMethod, BentMode, BentSlab, BentSolver, DB_PER_NEPER, LEAST_SHOWN_DB_PER_90DEG, STANDARD_ORDER,
    TUNNELLING_BELOW_DB_PER_90DEG,
};
pub use bent_field::BentField;
pub use channel::{Core, EffectiveIndex, NearCutoff, Polarisation};
pub use error::{
    CoreDimension, CoreSide, GREATEST_WAVELENGTH_UM, LEAST_WAVELENGTH_UM, LightError, check_wavelength,
};
pub use slab::{Slab, SlabPolarisation};
pub use slab_mode::{SlabDispersion, SlabMode, SlabSensitivity};
pub use transition::{JoinedSection, gaussian_transition_um2, joint_loss_db};
