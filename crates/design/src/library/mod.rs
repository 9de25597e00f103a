//! Typical material data with ranges and sources, and the form in which a design holds materials of its own.

mod allowable;
mod catalogue;
mod check;
mod class;
mod fatigue;
mod index;
mod material;
mod property;
mod resistivity;
#[cfg(test)]
mod tests;
mod value;

pub use allowable::{LayerValues, SuggestedAllowable, SuggestionRule};
pub use catalogue::{FoundMaterial, Library, find_material, library};
pub use check::material_faults;
pub use class::MaterialClass;
pub use fatigue::{FatigueLaw, FatigueSet, FatigueValue};
pub use index::{DispersionName, IndexAt, IndexBasis};
pub use material::Material;
pub use property::Property;
pub use resistivity::{LINEAR_RESISTIVITY_C, REFERENCE_TEMPERATURE_C, ResistivityAt, ResistivityNote};
pub use value::Value;
