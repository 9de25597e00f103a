//! Why a trace cannot be computed.

use std::fmt;

/// A value of a trace, as errors name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum TraceField {
    /// Resistivity at 20 °C.
    Resistivity,
    /// Temperature coefficient of the resistivity.
    TempCoefficient,
    /// Temperature of the trace.
    Temperature,
    /// Thickness of the trace.
    Thickness,
    /// Width of the trace.
    Width,
    /// Length of a run.
    Length,
    /// Angle of a bend.
    Angle,
    /// Radius of a bend to the middle of the trace.
    Radius,
    /// Curvature of the path.
    Curvature,
    /// Mean free path of the electrons.
    MeanFreePath,
    /// Share of the electrons that a surface reflects like a mirror.
    Specularity,
    /// Size of the grains.
    GrainSize,
    /// Share of the electrons that a grain boundary throws back.
    GrainReflection,
    /// Gauge factor.
    GaugeFactor,
    /// Strain along the trace.
    Strain,
    /// Poisson's ratio of the trace.
    Poisson,
    /// Temperature rise over the surroundings.
    TemperatureRise,
    /// Current.
    Current,
    /// Resistance.
    Resistance,
    /// Resistance per length.
    ResistancePerLength,
    /// Film coefficient of all faces of the sheet together.
    FilmCoefficient,
    /// Thermal conductivity of the sheet.
    SheetConductivity,
    /// Thickness of the sheet.
    SheetThickness,
}

impl TraceField {
    /// The unit of its values; empty for ratios.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Resistivity => "Ω·m",
            Self::TempCoefficient => "1/K",
            Self::Temperature => "°C",
            Self::Thickness | Self::Width | Self::Length | Self::Radius | Self::SheetThickness => "µm",
            Self::MeanFreePath | Self::GrainSize => "nm",
            Self::Angle => "rad",
            Self::Curvature => "/µm",
            Self::TemperatureRise => "K",
            Self::Current => "A",
            Self::Resistance => "Ω",
            Self::ResistancePerLength => "Ω/m",
            Self::FilmCoefficient => "W/(m²·K)",
            Self::SheetConductivity => "W/(m·K)",
            Self::Specularity | Self::GrainReflection | Self::GaugeFactor | Self::Strain | Self::Poisson => {
                ""
            }
        }
    }

    fn text(self, value: f64) -> String {
        let unit = self.unit();
        // Resistivities are some 1e-8.
        let number =
            if value != 0.0 && value.abs() < 1e-4 { format!("{value:e}") } else { format!("{value}") };
        if unit.is_empty() { number } else { format!("{number} {unit}") }
    }
}

impl fmt::Display for TraceField {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Resistivity => "resistivity",
            Self::TempCoefficient => "temperature coefficient",
            Self::Temperature => "temperature",
            Self::Thickness => "thickness of the trace",
            Self::Width => "width of the trace",
            Self::Length => "length",
            Self::Angle => "angle of the bend",
            Self::Radius => "bend radius",
            Self::Curvature => "curvature",
            Self::MeanFreePath => "mean free path",
            Self::Specularity => "specularity",
            Self::GrainSize => "grain size",
            Self::GrainReflection => "grain reflection",
            Self::GaugeFactor => "gauge factor",
            Self::Strain => "strain along the trace",
            Self::Poisson => "Poisson's ratio of the trace",
            Self::TemperatureRise => "temperature rise",
            Self::Current => "current",
            Self::Resistance => "resistance",
            Self::ResistancePerLength => "resistance per length",
            Self::FilmCoefficient => "film coefficient",
            Self::SheetConductivity => "thermal conductivity of the sheet",
            Self::SheetThickness => "thickness of the sheet",
        })
    }
}

/// What is wrong with a trace.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TraceError {
    /// A value is infinite or not a number.
    #[error("{field} is {value}, not a finite number")]
    NotFinite {
        /// Which value.
        field: TraceField,
        /// The value given.
        value: f64,
    },
    /// There is no metal: resistivity, thickness or width is zero or negative.
    #[error("current through no metal: {field} is {}; it must be above 0", field.text(*value))]
    NoMetal {
        /// Which value.
        field: TraceField,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// The linear law gives no positive resistivity at a temperature.
    #[error(
        "a resistivity of {resistivity_ohm_m:e} Ω·m at {temperature_c} °C is not possible: \
         the linear law does not reach that far"
    )]
    BeyondLinearLaw {
        /// The temperature, °C.
        temperature_c: f64,
        /// What the law gives, Ω·m.
        resistivity_ohm_m: f64,
    },
    /// A value that must be positive is zero or negative.
    #[error("{field} is {}; it must be above 0", field.text(*value))]
    NotPositive {
        /// Which value.
        field: TraceField,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// A value lies outside its range.
    #[error("{field} is {}; it must lie between {least} and {greatest}", field.text(*value))]
    Outside {
        /// Which value.
        field: TraceField,
        /// The value given, in the field's unit.
        value: f64,
        /// Lower end of the range.
        least: f64,
        /// Upper end of the range.
        greatest: f64,
    },
    /// The inner edge of the trace reaches the centre of a bend.
    #[error(
        "bend radius of {radius_um} µm is too small for a trace {width_um} µm wide; it must be above {} µm",
        0.5 * width_um
    )]
    BendTooTight {
        /// Which element of a path, 0 first; `None` for a bend on its own.
        element: Option<usize>,
        /// Radius to the middle of the trace, µm.
        radius_um: f64,
        /// Width of the trace, µm.
        width_um: f64,
    },
    /// An element of a path is no length with a curvature.
    #[error("element {} of the path has a {field} of {}; it must be finite, a length at least 0", element + 1, field.text(*value))]
    Element {
        /// Which element, 0 first.
        element: usize,
        /// Which value.
        field: TraceField,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// The resistance grows with the temperature faster than the trace gives off heat.
    #[error("a current of {current_a} A heats the trace without end; it must be below {limit_a:.4} A")]
    Runaway {
        /// The current, A.
        current_a: f64,
        /// From here on there is no steady temperature, A.
        limit_a: f64,
    },
    /// A path has no length over which to take a mean.
    #[error("the path has no length")]
    NoPath,
    /// The values are so large or small that a result leaves the range of numbers.
    #[error("{quantity} comes out as {value}, outside the range of numbers; check the units of the trace")]
    OutOfNumbers {
        /// Name of the result.
        quantity: &'static str,
        /// What it came out as.
        value: f64,
    },
}

pub(super) fn finite(field: TraceField, value: f64) -> Result<(), TraceError> {
    if value.is_finite() { Ok(()) } else { Err(TraceError::NotFinite { field, value }) }
}

pub(super) fn positive(field: TraceField, value: f64) -> Result<(), TraceError> {
    finite(field, value)?;
    if value > 0.0 { Ok(()) } else { Err(TraceError::NotPositive { field, value }) }
}

/// Positive, or else there is nothing to carry a current.
pub(super) fn metal(field: TraceField, value: f64) -> Result<(), TraceError> {
    finite(field, value)?;
    if value > 0.0 { Ok(()) } else { Err(TraceError::NoMetal { field, value }) }
}

/// Both ends of the range count as inside.
pub(super) fn within(field: TraceField, value: f64, least: f64, greatest: f64) -> Result<(), TraceError> {
    finite(field, value)?;
    if (least..=greatest).contains(&value) {
        Ok(())
    } else {
        Err(TraceError::Outside { field, value, least, greatest })
    }
}

/// A result, unless it left the range of numbers.
pub(super) fn number(quantity: &'static str, value: f64) -> Result<f64, TraceError> {
    if value.is_finite() { Ok(value) } else { Err(TraceError::OutOfNumbers { quantity, value }) }
}

/// A result that is positive, unless it left the range of numbers.
pub(super) fn positive_number(quantity: &'static str, value: f64) -> Result<f64, TraceError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(TraceError::OutOfNumbers { quantity, value })
    }
}
