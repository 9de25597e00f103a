//! A material: its class and what is known about it.

use super::{DispersionName, FatigueSet, MaterialClass, Value};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A material of the library, or one that a design brings along in the same form.
///
/// Every property may be absent. Plain data without invariants; [`Material::check`] finds what is impossible.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// Short name that layers refer to: lower-case letters, digits and hyphens.
    pub id: String,
    /// Name as people read it.
    pub name: String,
    /// Kind of material.
    pub class: MaterialClass,
    /// What holds for the material as a whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Published formula of its refractive index against wavelength.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dispersion: Option<DispersionName>,
    /// Young's modulus, MPa.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub modulus_mpa: Option<Value>,
    /// Biaxial modulus E/(1 − ν) of a crystal in its wafer's plane, MPa.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub biaxial_modulus_mpa: Option<Value>,
    /// Poisson's ratio, dimensionless.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub poisson_ratio: Option<Value>,
    /// Linear thermal expansion, 1e-6/K.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cte_ppm_per_k: Option<Value>,
    /// Density, kg/m³.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density_kg_per_m3: Option<Value>,
    /// Tensile strain at which it breaks, dimensionless.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub failure_strain: Option<Value>,
    /// Tensile strain beyond which it does not spring back, dimensionless.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub yield_strain: Option<Value>,
    /// Tensile strength, MPa.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strength_mpa: Option<Value>,
    /// Fracture toughness in opening, MPa√m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub toughness_mpa_sqrt_m: Option<Value>,
    /// Weibull modulus of the strength, dimensionless.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weibull_modulus: Option<Value>,
    /// Exponent n of slow crack growth (velocity ∝ Kⁿ), dimensionless.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub static_fatigue_n: Option<Value>,
    /// Biaxial stress of the film as deposited on a stiff base, MPa, tension positive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub intrinsic_stress_mpa: Option<Value>,
    /// Refractive index at the wavelength of the value, dimensionless.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refractive_index: Option<Value>,
    /// Thermal conductivity, W/(m K).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thermal_conductivity_w_per_m_k: Option<Value>,
    /// Electrical resistivity at the temperature of the value, 20 °C where it has none, Ω m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resistivity_ohm_m: Option<Value>,
    /// Temperature coefficient of the resistivity at the temperature of that, 1/K.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temp_coeff_per_k: Option<Value>,
    /// Mean free path of the conduction electrons, nm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_free_path_nm: Option<Value>,
    /// Relative rise of the resistance over the strain of the path, dimensionless.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge_factor: Option<Value>,
    /// Glass transition, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub glass_transition_c: Option<Value>,
    /// Melting point, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub melting_point_c: Option<Value>,
    /// Laws of life under repeated strain, each with its own source.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fatigue: Vec<FatigueSet>,
}

impl Material {
    /// A material of which nothing is known but its class.
    #[must_use]
    pub fn new(id: impl Into<String>, name: impl Into<String>, class: MaterialClass) -> Self {
        Self { id: id.into(), name: name.into(), class, ..Self::default() }
    }
}
