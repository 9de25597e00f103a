//! Names of the fields that a section checks.

use std::fmt;

/// A field of a section, as errors name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Field {
    /// Width of the whole ribbon.
    RibbonWidth,
    /// Width of a layer, or of a filled row.
    Width,
    /// Thickness of a layer.
    Thickness,
    /// Sideways offset of a layer.
    Offset,
    /// Young's modulus of a layer or filler.
    Modulus,
    /// Poisson's ratio of a layer or filler.
    Poisson,
}

impl Field {
    /// The field's key in files, with its unit as suffix.
    pub fn key(self) -> &'static str {
        match self {
            Self::RibbonWidth | Self::Width => "width_um",
            Self::Thickness => "thickness_um",
            Self::Offset => "offset_um",
            Self::Modulus => "modulus_mpa",
            Self::Poisson => "poisson_ratio",
        }
    }

    /// The unit of its values; empty for Poisson's ratio.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Modulus => "MPa",
            Self::Poisson => "",
            _ => "µm",
        }
    }

    /// `value` with the field's unit, as messages print it.
    pub(crate) fn text(self, value: f64) -> String {
        let unit = self.unit();
        if unit.is_empty() { format!("{value}") } else { format!("{value} {unit}") }
    }
}

impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::RibbonWidth => "ribbon width",
            Self::Width => "width",
            Self::Thickness => "thickness",
            Self::Offset => "offset",
            Self::Modulus => "modulus",
            Self::Poisson => "Poisson's ratio",
        })
    }
}
