//! Light in a narrow core: modes, bend and transition loss, loss along a path, effect of strain.
//!
//! ```
//! use ogee_optics::{BendTable, Core, PathElement, PathSettings, Polarisation, path_loss};
//!
//! let core = Core {
//!     wavelength_um: 1.31, width_um: 2.0, height_um: 1.6,
//!     n_core: 1.51, n_below: 1.46, n_above: 1.46, n_side: 1.46, side_slab_um: None,
//! };
//! let table = BendTable::of_core(&core, Polarisation::QuasiTe)?;
//! let quarter_turn = PathElement { length_um: 942.5, curvature_per_um: 1.0 / 600.0 };
//! let loss = path_loss(&[quarter_turn], &[], &table, &PathSettings::default())?;
//! assert!((loss.bend_db / table.loss_db_per_90deg(1.0 / 600.0) - 1.0).abs() < 1e-4);
//! # Ok::<(), ogee_optics::LightError>(())
//! ```
//!
//! A straight core is a [`Slab`] (exact) or a rectangular [`Core`] (effective-index method, an estimate). A
//! [`BentSlab`] is solved rigorously along the radius, and [`joint_loss_db`] compares the fields on both sides of a
//! jump of curvature. A [`BendTable`] holds both for all curvatures of one cross-section, wavelength and
//! polarisation; a look-up takes tens of nanoseconds, and [`path_loss`] sums them up.
//!
//! A [`CrossSection`] of rectangles is solved as it is, with all components of the field, straight and bent:
//! [`CrossSection::straight_mode`], [`CrossSection::bent_mode`]. That takes from 3 ms (straight) to a second (a bent
//! rib) where the estimates above take microseconds, holds for strips and ribs too, and is what a settled design is
//! judged by.
//!
//! Lengths are in µm, losses in dB, curvatures signed and positive to the left; fields go as exp(i(βs − ωt)), so a
//! positive imaginary part is loss. Values that are not finite numbers are refused or answered by infinity, never by
//! "not a number".
//!
//! Bend losses assume claddings that reach beyond the radiation caustic, and mode 0. A core reduced to a slab gives an
//! estimate: 0.5 to 1.9 times the loss of a buried core or a rib, and nothing at all for a strip on a substrate of
//! higher index than its sides, which is refused.

mod basis;
mod bend_table;
mod bent;
mod bent_field;
mod channel;
mod complex;
mod error;
mod grating;
mod material;
mod mesh;
mod path_loss;
mod pencil;
mod slab;
mod slab_mode;
mod spline;
mod start;
mod strain;
mod transition;
mod tunnelling;
mod vector;

pub use bend_table::{
    BatchLoss, BendTable, BendTableSettings, CurvatureRange, TableBasis, loss_in_both_planes_db_per_um,
};
pub use bent::{
    BendMethod, BentMode, BentSlab, BentSolver, DB_PER_NEPER, LEAST_SHOWN_DB_PER_90DEG, STANDARD_ORDER,
    TUNNELLING_BELOW_DB_PER_90DEG,
};
pub use bent_field::BentField;
pub use channel::{Core, CoreSensitivity, EffectiveIndex, NearCutoff, Polarisation};
pub use error::{
    CoreDimension, CoreSide, GREATEST_WAVELENGTH_UM, LEAST_WAVELENGTH_UM, LightError, check_wavelength,
};
pub use grating::Grating;
pub use material::{
    BOROSILICATE_CROWN, FUSED_SILICA, IndexModel, IndexNote, MATERIALS, PMMA, POLYCARBONATE, POLYSTYRENE,
    RefractiveIndex, SILICON_NITRIDE, Sellmeier,
};
pub use path_loss::{
    Jump, PathElement, PathLoss, PathNote, PathSettings, Ramp, WorstPlace, path_loss, ramp_note,
};
pub use slab::{Slab, SlabPolarisation};
pub use slab_mode::{SlabDispersion, SlabMode, SlabSensitivity};
pub use strain::{
    GratingLoad, GratingMode, PMMA_STRAIN, POLYSTYRENE_STRAIN, SILICA_BULK, SILICA_FIBRE, StrainOptic,
    optical_curvature_per_um, phase_per_elongation_rad_per_um, relative_phase_change,
};
pub use transition::{JoinedSection, gaussian_transition_um2, joint_loss_db};
pub use vector::{
    CoreMaterial, CrossSection, LEAST_VECTOR_LOSS_DB_PER_90DEG, ModeCount, Rectangle, VectorError,
    VectorField, VectorMode, VectorSettings,
};
