//! Why a set of rows is no section.

use crate::Field;

/// What is wrong with the rows of a section. `row` counts from 0 at the bottom; messages count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SectionError {
    /// There is no row at all.
    #[error("the stack has no layer; at least one is needed")]
    NoLayers,
    /// The ribbon's width is not a number above zero.
    #[error("ribbon width of {value_um} µm is not allowed; it must be above 0 µm and finite")]
    RibbonWidth {
        /// The width given, µm.
        value_um: f64,
    },
    /// A value is infinite or not a number.
    #[error("{field} of layer {} ({layer}) is {value}, not a finite number", row + 1)]
    NotFinite {
        /// Row of the layer, 0 at the bottom.
        row: usize,
        /// Name of the layer or filler.
        layer: String,
        /// Which value.
        field: Field,
        /// The value given.
        value: f64,
    },
    /// A width, thickness or modulus is zero or negative.
    #[error("{field} of layer {} ({layer}) is {}; it must be above 0", row + 1, field.text(*value))]
    NotPositive {
        /// Row of the layer, 0 at the bottom.
        row: usize,
        /// Name of the layer or filler.
        layer: String,
        /// Which value.
        field: Field,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// Poisson's ratio outside the open range from −1 to 0.5.
    #[error(
        "Poisson's ratio of layer {} ({layer}) is {value}; it must be above -1 and below 0.5",
        row + 1
    )]
    Poisson {
        /// Row of the layer, 0 at the bottom.
        row: usize,
        /// Name of the layer or filler.
        layer: String,
        /// The value given, dimensionless.
        value: f64,
    },
    /// A layer, or a filled row, is wider than the ribbon.
    #[error("layer {} ({layer}) is {value_um} µm wide; the ribbon is only {limit_um} µm wide", row + 1)]
    WiderThanRibbon {
        /// Row of the layer, 0 at the bottom.
        row: usize,
        /// Name of the layer or filler.
        layer: String,
        /// Its width, µm.
        value_um: f64,
        /// Width of the ribbon, µm.
        limit_um: f64,
    },
    /// A core is wider than the row that its filler makes up.
    #[error("layer {} ({layer}) is {value_um} µm wide; its sides are filled to {limit_um} µm only", row + 1)]
    WiderThanFiller {
        /// Row of the layer, 0 at the bottom.
        row: usize,
        /// Name of the core.
        layer: String,
        /// Its width, µm.
        value_um: f64,
        /// Width of the filled row, µm.
        limit_um: f64,
    },
    /// The offset pushes a layer over the edge of the ribbon or of its filled row.
    #[error(
        "layer {} ({layer}) sticks out at an offset of {value_um} µm; from {} to {limit_um} µm it stays inside",
        row + 1, -limit_um
    )]
    SticksOut {
        /// Row of the layer, 0 at the bottom.
        row: usize,
        /// Name of the layer.
        layer: String,
        /// Its offset, µm.
        value_um: f64,
        /// Largest offset to either side, µm.
        limit_um: f64,
    },
    /// A layer shares no face with the row below it.
    #[error(
        "layer {} ({layer}) at an offset of {value_um} µm does not rest on the layer below; \
         its middle must lie between {least_um} and {greatest_um} µm",
        row + 1
    )]
    NotResting {
        /// Row of the layer, 0 at the bottom.
        row: usize,
        /// Name of the layer.
        layer: String,
        /// Its offset, µm.
        value_um: f64,
        /// Below this offset it loses touch, µm.
        least_um: f64,
        /// Above this offset it loses touch, µm.
        greatest_um: f64,
    },
    /// The values are so large or small that a stiffness leaves the range of numbers.
    #[error("{quantity} comes out as {value}, outside the range of numbers; check the units of the layers")]
    OutOfNumbers {
        /// Name of the stiffness.
        quantity: &'static str,
        /// What it came out as.
        value: f64,
    },
}

impl SectionError {
    /// The row at fault, 0 at the bottom; `None` for faults of the whole section.
    pub fn row(&self) -> Option<usize> {
        match self {
            Self::NoLayers | Self::RibbonWidth { .. } | Self::OutOfNumbers { .. } => None,
            Self::NotFinite { row, .. }
            | Self::NotPositive { row, .. }
            | Self::Poisson { row, .. }
            | Self::WiderThanRibbon { row, .. }
            | Self::WiderThanFiller { row, .. }
            | Self::SticksOut { row, .. }
            | Self::NotResting { row, .. } => Some(*row),
        }
    }

    /// The field at fault; `None` where no single field is.
    pub fn field(&self) -> Option<Field> {
        match self {
            Self::NoLayers | Self::OutOfNumbers { .. } => None,
            Self::RibbonWidth { .. } => Some(Field::RibbonWidth),
            Self::NotFinite { field, .. } | Self::NotPositive { field, .. } => Some(*field),
            Self::Poisson { .. } => Some(Field::Poisson),
            Self::WiderThanRibbon { .. } | Self::WiderThanFiller { .. } => Some(Field::Width),
            Self::SticksOut { .. } | Self::NotResting { .. } => Some(Field::Offset),
        }
    }

    /// The offending value, in the field's unit.
    pub fn value(&self) -> Option<f64> {
        match self {
            Self::NoLayers => None,
            Self::NotFinite { value, .. }
            | Self::NotPositive { value, .. }
            | Self::Poisson { value, .. }
            | Self::OutOfNumbers { value, .. } => Some(*value),
            Self::RibbonWidth { value_um }
            | Self::WiderThanRibbon { value_um, .. }
            | Self::WiderThanFiller { value_um, .. }
            | Self::SticksOut { value_um, .. }
            | Self::NotResting { value_um, .. } => Some(*value_um),
        }
    }

    /// Limits of the allowed range, in the field's unit; infinite where open, `None` where no range applies.
    ///
    /// The limits of Poisson's ratio, of a width from below, of a thickness and of a modulus are themselves
    /// not allowed.
    pub fn range(&self) -> Option<(f64, f64)> {
        match self {
            Self::NoLayers | Self::OutOfNumbers { .. } => None,
            Self::NotFinite { field: Field::Poisson, .. } | Self::Poisson { .. } => Some((-1.0, 0.5)),
            Self::NotFinite { field: Field::Offset, .. } => Some((f64::NEG_INFINITY, f64::INFINITY)),
            Self::RibbonWidth { .. } | Self::NotPositive { .. } | Self::NotFinite { .. } => {
                Some((0.0, f64::INFINITY))
            }
            Self::WiderThanRibbon { limit_um, .. } | Self::WiderThanFiller { limit_um, .. } => {
                Some((0.0, *limit_um))
            }
            Self::SticksOut { limit_um, .. } => Some((-limit_um, *limit_um)),
            Self::NotResting { least_um, greatest_um, .. } => Some((*least_um, *greatest_um)),
        }
    }

    /// The nearest value that would do, in the field's unit, where one can be named.
    ///
    /// For a Poisson's ratio of 0.5 or more this is 0.499, the usual stand-in for a material that keeps its
    /// volume.
    pub fn nearest(&self) -> Option<f64> {
        match self {
            Self::Poisson { value, .. } => Some(if *value > 0.0 { 0.499 } else { -0.999 }),
            Self::WiderThanRibbon { limit_um, .. } | Self::WiderThanFiller { limit_um, .. } => {
                Some(*limit_um)
            }
            Self::SticksOut { value_um, limit_um, .. } => Some(value_um.clamp(-limit_um, *limit_um)),
            _ => None,
        }
    }
}
