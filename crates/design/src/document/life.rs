//! How often and how long the ribbon is used, and how surely it must last.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A number of equal cycles of stretch.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CycleBlock {
    /// Stretch between the islands at one end of the cycle, %.
    pub from_percent: f64,
    /// Stretch at the other end, %.
    pub to_percent: f64,
    /// Number of cycles.
    pub count: f64,
    /// Whether the ribbon is wrapped round `duty.wrap` at the far end and flat at the other.
    #[serde(default)]
    pub wrapped: bool,
}

/// The life that is asked for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Life {
    /// The duty list: blocks of cycles.
    pub cycles: Vec<CycleBlock>,
    /// Time of one cycle, s; with the counts it is the time under stress.
    pub seconds_per_cycle: f64,
    /// Ribbons of this kind in the device, all of which must last.
    pub ribbons: u32,
    /// Share of devices whose brittle layers must all last, %.
    pub survival_percent: f64,
    /// Miner's sum at which a layer counts as failed, dimensionless: 1 in theory, 0.3 to 3 in tests.
    #[serde(default = "damage_limit")]
    pub damage_limit: f64,
}

fn damage_limit() -> f64 {
    0.3
}

impl Life {
    /// A hundred thousand cycles from rest to `target_percent`, one ribbon, 99 % survival.
    pub fn to_target(target_percent: f64) -> Self {
        Self {
            cycles: vec![CycleBlock {
                from_percent: 0.0,
                to_percent: target_percent,
                count: 1e5,
                wrapped: false,
            }],
            seconds_per_cycle: 2.0,
            ribbons: 1,
            survival_percent: 99.0,
            damage_limit: damage_limit(),
        }
    }
}
