//! The design document, its validation, the assessment, and maps over amplitude and pitch.
//!
//! ```
//! use ogee_design::{Caches, Design, Tier, assess};
//!
//! let mut design = Design::sample();
//! design.set_number("duty.target_stretch_percent", 30.0);
//! let checked = design.check().expect("the sample is possible");
//! let result = assess(&checked, Tier::Live, &mut Caches::new(), &|| true).expect("it has an equilibrium");
//! let margin = result.expect("nobody stopped it").margins[0].margin.expect("a number");
//! assert!(margin > 0.0);
//! ```
//!
//! One document goes in, one assessment comes out: [`Design`] is plain data, [`Design::check`] turns it into
//! [`Checked`] domain types or returns every [`Fault`] at once, [`assess`] is pure. [`assess_full`] also hands back the
//! [`RibbonPath`], the whole ribbon's form from compression to past the target. [`map()`] evaluates many amplitudes and
//! pitches, [`refine_map`] by the full models; [`period_state`] gives one period at any stretch at once.

mod assess;
mod caches;
mod check;
mod check_strength;
mod check_support;
mod checked;
mod document;
mod evaluate;
mod fault;
mod fields;
mod figures;
mod file;
mod form;
mod full;
mod library;
mod light;
mod map;
mod margin;
mod models;
mod modes;
mod notes;
mod places;
mod quantity;
mod result;
mod set;
mod state;
mod strength;
mod stretched;
mod text;

pub use assess::assess;
pub use caches::Caches;
pub use checked::{Checked, CheckedLayer, CheckedLight};
pub use document::{
    BaseName, Brittle, CycleBlock, DESIGN_SCHEMA, DESIGN_VERSION, Design, Duty, Elastomer, EndsName,
    FaceName, FamilyName, FoilData, GratingData, Handle, Islands, Life, Light, Limits, MapWindow,
    PolarisationName, Process, ProcessStep, Shape, Stack, StackLayer, StepName, StrainLifeData, Support,
    SupportName, Trace, WrapDuty,
};
pub use fault::Fault;
pub use fields::{FIELDS, Field, field_at};
pub use file::{design_schema, result_schema};
pub use form::{FormKind, FormPoint, RibbonForm, RibbonPath};
pub use full::{Full, assess_full};
pub use library::*;
pub use map::{MapField, MapGrid, MapModel, MapSpec, map, map_fields, map_key, refine_map};
pub use models::*;
pub use modes::{BendCheck, ModesResult, TrueMode};
pub use quantity::*;
pub use result::*;
pub use state::{PeriodState, RibbonPoint, period_state};
pub use strength::*;
pub use text::{digits as digits_text, number as number_text};
