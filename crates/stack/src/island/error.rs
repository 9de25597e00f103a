//! Why a row of islands cannot be computed.

use std::fmt;

/// A value of a row of islands, as errors name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum IslandField {
    /// Thickness of the sheet.
    SheetThickness,
    /// Young's modulus of the sheet.
    SheetModulus,
    /// Poisson's ratio of the sheet.
    SheetPoisson,
    /// Thickness of the island.
    IslandThickness,
    /// Young's modulus of the island.
    IslandModulus,
    /// Poisson's ratio of the island.
    IslandPoisson,
    /// Thickness of the adhesive.
    AdhesiveThickness,
    /// Shear modulus of the adhesive.
    AdhesiveShearModulus,
    /// Length of the island along the pull.
    IslandLength,
    /// Distance of the islands' centres along the pull.
    Pitch,
    /// Stretch of the whole row.
    GlobalStretch,
    /// The strain that is not to be passed.
    WantedStrain,
    /// Distance from the island's edge over the thickness of the sheet.
    EdgeDistance,
    /// Place along the row.
    Place,
}

impl IslandField {
    /// The unit of its values; empty for ratios.
    pub fn unit(self) -> &'static str {
        match self {
            Self::SheetThickness
            | Self::IslandThickness
            | Self::AdhesiveThickness
            | Self::IslandLength
            | Self::Pitch
            | Self::Place => "µm",
            Self::SheetModulus | Self::IslandModulus | Self::AdhesiveShearModulus => "MPa",
            Self::SheetPoisson
            | Self::IslandPoisson
            | Self::GlobalStretch
            | Self::WantedStrain
            | Self::EdgeDistance => "",
        }
    }

    fn text(self, value: f64) -> String {
        let unit = self.unit();
        if unit.is_empty() { format!("{value}") } else { format!("{value} {unit}") }
    }
}

impl fmt::Display for IslandField {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::SheetThickness => "thickness of the sheet",
            Self::SheetModulus => "modulus of the sheet",
            Self::SheetPoisson => "Poisson's ratio of the sheet",
            Self::IslandThickness => "thickness of the island",
            Self::IslandModulus => "modulus of the island",
            Self::IslandPoisson => "Poisson's ratio of the island",
            Self::AdhesiveThickness => "thickness of the adhesive",
            Self::AdhesiveShearModulus => "shear modulus of the adhesive",
            Self::IslandLength => "length of the island",
            Self::Pitch => "pitch of the islands",
            Self::GlobalStretch => "stretch of the row",
            Self::WantedStrain => "wanted strain",
            Self::EdgeDistance => "distance from the edge over the thickness of the sheet",
            Self::Place => "place along the row",
        })
    }
}

/// What is wrong with a row of islands or with a question about it.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum IslandError {
    /// A value is infinite or not a number.
    #[error("{field} is {value}, not a finite number")]
    NotFinite {
        /// Which value.
        field: IslandField,
        /// The value given.
        value: f64,
    },
    /// A value that must be positive is zero or negative.
    #[error("{field} is {}; it must be above 0", field.text(*value))]
    NotPositive {
        /// Which value.
        field: IslandField,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// A value lies outside its range, whose ends count as outside for Poisson's ratio and the stretch.
    #[error("{field} is {}; it must lie between {least} and {greatest}", field.text(*value))]
    Outside {
        /// Which value.
        field: IslandField,
        /// The value given, in the field's unit.
        value: f64,
        /// Lower end of the range.
        least: f64,
        /// Upper end of the range.
        greatest: f64,
    },
    /// The islands touch or overlap.
    #[error(
        "island length of {length_um} µm leaves no gap at a pitch of {pitch_um} µm; it must be below the pitch"
    )]
    NoGap {
        /// Length of the island, µm.
        length_um: f64,
        /// Pitch of the islands, µm.
        pitch_um: f64,
    },
    /// The values are so large or small that a result leaves the range of numbers.
    #[error("{quantity} comes out as {value}, outside the range of numbers; check the units of the row")]
    OutOfNumbers {
        /// Name of the result.
        quantity: &'static str,
        /// What it came out as.
        value: f64,
    },
}

pub(super) fn finite(field: IslandField, value: f64) -> Result<(), IslandError> {
    if value.is_finite() { Ok(()) } else { Err(IslandError::NotFinite { field, value }) }
}

pub(super) fn positive(field: IslandField, value: f64) -> Result<(), IslandError> {
    finite(field, value)?;
    if value > 0.0 { Ok(()) } else { Err(IslandError::NotPositive { field, value }) }
}

/// Both ends of the range are outside it.
pub(super) fn inside(field: IslandField, value: f64, least: f64, greatest: f64) -> Result<(), IslandError> {
    finite(field, value)?;
    if value > least && value < greatest {
        Ok(())
    } else {
        Err(IslandError::Outside { field, value, least, greatest })
    }
}
