//! What is wrong with a design, in words that name the field, the value and the allowed range.

use serde::Serialize;
use std::fmt;

/// One fault of a design document.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fault {
    /// Path of the field, such as `shape.pitch_um` or `stack.layers[1].thickness_um`.
    pub path: String,
    /// The value found, as text.
    pub value: String,
    /// What is wrong and what is allowed, one sentence without a full stop.
    pub message: String,
    /// The nearest value that would do, in the field's own unit, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nearest: Option<f64>,
}

impl Fault {
    /// A fault of the field at `path`.
    pub fn new(path: impl Into<String>, value: impl fmt::Display, message: impl Into<String>) -> Self {
        Self { path: path.into(), value: value.to_string(), message: message.into(), nearest: None }
    }

    /// The same fault with the nearest value that would do.
    #[must_use]
    pub fn with_nearest(mut self, nearest: Option<f64>) -> Self {
        self.nearest = nearest.filter(|n| n.is_finite());
        self
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.path.is_empty() {
            write!(f, "{}", self.message)?;
        } else if self.value.is_empty() {
            write!(f, "{}: {}", self.path, self.message)?;
        } else {
            write!(f, "{} = {}: {}", self.path, self.value, self.message)?;
        }
        if let Some(nearest) = self.nearest {
            write!(f, "; the nearest possible value is {}", crate::text::number(nearest))?;
        }
        Ok(())
    }
}
