//! The ribbon wrapped round a cylinder, such as a stem.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which face lies on the cylinder.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FaceName {
    /// The bottom face, so that the top is in tension.
    #[default]
    Bottom,
    /// The top face, so that the bottom is in tension.
    Top,
}

impl FaceName {
    /// Both faces, in the order in which they are listed.
    pub const ALL: [Self; 2] = [Self::Bottom, Self::Top];

    /// The face as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Bottom => "bottom",
            Self::Top => "top",
        }
    }
}

/// The tightest cylinder round which the ribbon is wrapped.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WrapDuty {
    /// Radius of the cylinder, µm.
    pub radius_um: f64,
    /// Face that lies on it.
    #[serde(default)]
    pub face: FaceName,
    /// Length that is wrapped, over which soft layers shear, µm; the ribbon's end-to-end length where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_um: Option<f64>,
}

impl Default for WrapDuty {
    /// Round a pencil, the usual quick trial (common practice, no source).
    fn default() -> Self {
        Self { radius_um: 3500.0, face: FaceName::Bottom, length_um: None }
    }
}
