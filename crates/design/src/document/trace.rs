//! The metal trace in the ribbon.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A layer that carries current.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Trace {
    /// Name of the layer that conducts.
    pub layer: String,
    /// Resistivity at 20 °C, nΩ·m.
    pub resistivity_nohm_m: f64,
    /// Temperature coefficient of the resistivity about 20 °C, 1/K.
    pub temp_coeff_per_k: f64,
    /// Relative change of resistance per strain along the trace, dimensionless.
    #[serde(default = "gauge_factor")]
    pub gauge_factor: f64,
    /// Current, mA.
    pub current_ma: f64,
    /// Times that the current passes such a ribbon in one circuit: 2 for supply and return.
    #[serde(default = "one_pass")]
    pub passes: u32,
    /// Temperature of the surroundings, °C.
    #[serde(default = "room_c")]
    pub ambient_c: f64,
    /// Heat given off to the air by all faces, W/(m²·K).
    #[serde(default = "still_air")]
    pub heat_loss_w_per_m2_k: f64,
    /// Thickness of the sheet on which the ribbon lies and which spreads its heat, µm; none where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet_thickness_um: Option<f64>,
    /// Thermal conductivity of that sheet, W/(m·K); needed with its thickness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet_conductivity_w_per_m_k: Option<f64>,
    /// Mean free path of the electrons, nm, for films about as thin; the resistivity is taken as it is where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean_free_path_nm: Option<f64>,
    /// Size of the film's grains, nm; the film's thickness where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain_nm: Option<f64>,
}

fn gauge_factor() -> f64 {
    2.0
}

fn one_pass() -> u32 {
    1
}

fn room_c() -> f64 {
    25.0
}

fn still_air() -> f64 {
    10.0
}

impl Trace {
    /// A copper trace in that layer.
    pub fn copper(layer: impl Into<String>) -> Self {
        Self {
            layer: layer.into(),
            resistivity_nohm_m: 17.2,
            temp_coeff_per_k: 0.003_93,
            gauge_factor: gauge_factor(),
            current_ma: 10.0,
            passes: one_pass(),
            ambient_c: room_c(),
            heat_loss_w_per_m2_k: still_air(),
            sheet_thickness_um: None,
            sheet_conductivity_w_per_m_k: None,
            mean_free_path_nm: None,
            grain_nm: None,
        }
    }
}
