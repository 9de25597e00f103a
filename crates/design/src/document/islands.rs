//! The stiff islands and the soft sheet that carries them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A row of stiff islands on a soft sheet that is stretched.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Islands {
    /// Distance from island middle to island middle along the pull, µm.
    pub pitch_um: f64,
    /// Length of an island along the pull, µm.
    pub length_um: f64,
    /// Thickness of an island, µm.
    pub thickness_um: f64,
    /// Young's modulus of an island, MPa.
    pub modulus_mpa: f64,
    /// Poisson's ratio of an island, dimensionless.
    pub poisson_ratio: f64,
    /// Thickness of the sheet, µm.
    pub sheet_thickness_um: f64,
    /// Young's modulus of the sheet, MPa.
    pub sheet_modulus_mpa: f64,
    /// Poisson's ratio of the sheet, dimensionless.
    pub sheet_poisson_ratio: f64,
    /// Thickness of the adhesive between them, µm; none where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adhesive_thickness_um: Option<f64>,
    /// Shear modulus of the adhesive, MPa; needed with its thickness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adhesive_shear_modulus_mpa: Option<f64>,
    /// Stretch of the sheet as a whole, %.
    pub sheet_stretch_percent: f64,
    /// Largest strain that the parts on an island may see, %.
    pub strain_limit_percent: f64,
    /// Straight length of ribbon between the island's edge and the meander's first bend, µm; the lead where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub root_um: Option<f64>,
    /// A grating coupler on an island, for a ribbon with light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grating: Option<GratingData>,
}

impl Default for Islands {
    /// Polyimide islands on an elastomer sheet.
    fn default() -> Self {
        Self {
            pitch_um: 9000.0,
            length_um: 2000.0,
            thickness_um: 50.0,
            modulus_mpa: 2500.0,
            poisson_ratio: 0.34,
            sheet_thickness_um: 500.0,
            sheet_modulus_mpa: 1.8,
            sheet_poisson_ratio: 0.49,
            adhesive_thickness_um: None,
            adhesive_shear_modulus_mpa: None,
            sheet_stretch_percent: 20.0,
            strain_limit_percent: 0.1,
            root_um: None,
            grating: None,
        }
    }
}

/// A grating coupler: its wavelength moves with the strain of the island below it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GratingData {
    /// Angle of the light to the island's normal outside, degrees.
    pub angle_deg: f64,
    /// Group index of the guide in the grating, dimensionless; its effective index where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub group_index: Option<f64>,
    /// Largest drift of the coupled wavelength, nm.
    pub drift_limit_nm: f64,
}

impl Default for GratingData {
    fn default() -> Self {
        Self { angle_deg: 10.0, group_index: None, drift_limit_nm: 1.0 }
    }
}
