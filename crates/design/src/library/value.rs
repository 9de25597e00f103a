//! One number with its range and where it comes from.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One property of a material: a starting value, the range that is reported, and the source.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Value {
    /// Least value reported.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min: Option<f64>,
    /// The value to start from.
    pub typical: f64,
    /// Greatest value reported.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max: Option<f64>,
    /// Vacuum wavelength that the value belongs to, µm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wavelength_um: Option<f64>,
    /// Temperature that the value belongs to, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_c: Option<f64>,
    /// Where it comes from; may be empty for a value of the user's own.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub source: String,
    /// What else one should know about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Value {
    /// A single number without range.
    ///
    /// * `typical`: in the unit of the property that it becomes.
    #[must_use]
    pub fn new(typical: f64, source: impl Into<String>) -> Self {
        Self { typical, source: source.into(), ..Self::default() }
    }

    /// Least and greatest value; the typical one where an end is not given.
    pub fn range(&self) -> [f64; 2] {
        [self.min.unwrap_or(self.typical), self.max.unwrap_or(self.typical)]
    }

    /// The source, or words that say that there is none.
    pub fn source_text(&self) -> &str {
        if self.source.trim().is_empty() { "own value" } else { &self.source }
    }
}
