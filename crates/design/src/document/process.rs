//! How the ribbon is made: the steps from the bare handle to the released part, and the temperatures of its use.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a process step does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StepName {
    /// A layer is deposited, spun or cured on what is there.
    Deposit,
    /// A layer is bonded on, everything pressed flat.
    Bond,
    /// What is there is heated or cooled.
    Hold,
    /// The ribbon comes off its handle.
    Release,
}

impl StepName {
    /// All steps, in the order in which they are listed.
    pub const ALL: [Self; 4] = [Self::Deposit, Self::Bond, Self::Hold, Self::Release];

    /// The step as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Deposit => "deposit",
            Self::Bond => "bond",
            Self::Hold => "heat or cool",
            Self::Release => "release",
        }
    }

    /// Whether the step brings a layer.
    pub fn brings_a_layer(self) -> bool {
        matches!(self, Self::Deposit | Self::Bond)
    }
}

/// One step of the process.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ProcessStep {
    /// What is done.
    pub step: StepName,
    /// Name of the layer that is deposited or bonded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub layer: Option<String>,
    /// Temperature at which it is done, °C; for polymers that at which stress starts to build, such as the gel point.
    pub temperature_c: f64,
    /// Stress with which the layer is born on an unyielding base, MPa, tension positive.
    #[serde(default, skip_serializing_if = "super::is_zero")]
    pub intrinsic_stress_mpa: f64,
}

/// The wafer or plate on which the ribbon is made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Handle {
    /// Material, in words.
    pub material: String,
    /// Thickness, µm.
    pub thickness_um: f64,
    /// Young's modulus, MPa.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless.
    pub poisson_ratio: f64,
    /// Thermal expansion, 1e-6/K.
    pub cte_ppm_per_k: f64,
    /// Diameter over which the bow is told, mm.
    pub diameter_mm: f64,
}

impl Default for Handle {
    /// A silicon wafer of 100 mm.
    fn default() -> Self {
        Self {
            material: "silicon".to_owned(),
            thickness_um: 525.0,
            modulus_mpa: 160_000.0,
            poisson_ratio: 0.22,
            cte_ppm_per_k: 2.6,
            diameter_mm: 100.0,
        }
    }
}

/// From the bare handle to the part in use.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Process {
    /// The wafer or plate on which the ribbon is made.
    pub handle: Handle,
    /// The steps, in order.
    pub steps: Vec<ProcessStep>,
    /// Coldest temperature of use, °C.
    pub service_low_c: f64,
    /// Warmest temperature of use, °C.
    pub service_high_c: f64,
    /// Largest bow of the handle over its diameter, µm; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bow_limit_um: Option<f64>,
    /// Least work to part two layers, J/m²; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adhesion_j_per_m2: Option<f64>,
}

impl Process {
    /// A plain process to start from: every layer deposited at `temperature_c` on a silicon wafer, bottom to top,
    /// cooled to 20 °C and released.
    pub fn plain<'a>(layers: impl IntoIterator<Item = &'a str>, temperature_c: f64) -> Self {
        let step = |step, layer, temperature_c| ProcessStep {
            step,
            layer,
            temperature_c,
            intrinsic_stress_mpa: 0.0,
        };
        let mut steps: Vec<ProcessStep> = layers
            .into_iter()
            .map(|layer| step(StepName::Deposit, Some(layer.to_owned()), temperature_c))
            .collect();
        steps.push(step(StepName::Hold, None, ROOM_C));
        steps.push(step(StepName::Release, None, ROOM_C));
        Self {
            handle: Handle::default(),
            steps,
            service_low_c: 0.0,
            service_high_c: 40.0,
            bow_limit_um: None,
            adhesion_j_per_m2: None,
        }
    }
}

/// Room temperature, °C.
const ROOM_C: f64 = 20.0;
