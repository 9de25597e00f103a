//! The fields of a map.

use crate::checked::Checked;

/// By which models the strain of a map is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum MapModel {
    /// The live estimate: periodic cell in its plane, with a factor for the clamped ends.
    #[default]
    Live,
    /// The whole ribbon, out of its plane or on its elastomer.
    Full,
}

impl MapModel {
    /// Stable name, as on the command line.
    pub fn id(self) -> &'static str {
        match self {
            Self::Live => "live",
            Self::Full => "full",
        }
    }
}

/// What a map shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MapField {
    /// Margin of the strain at the target stretch.
    StrainMargin,
    /// Peak tensile strain at the ribbon's edges at the target stretch, %.
    PeakStrain,
    /// Insertion loss at rest, dB.
    InsertionLoss,
    /// Insertion loss at the target stretch, dB.
    InsertionLossStretched,
    /// Contour length from end to end, mm.
    ContourLength,
    /// The smallest of all margins but the stretch reserve and those of life and trace; cracks without the pull.
    AllLimits,
}

impl MapField {
    /// All fields, in the order in which they are listed.
    pub const ALL: [Self; 6] = [
        Self::AllLimits,
        Self::StrainMargin,
        Self::PeakStrain,
        Self::InsertionLoss,
        Self::InsertionLossStretched,
        Self::ContourLength,
    ];

    /// Stable name, as on the command line.
    pub fn id(self) -> &'static str {
        match self {
            Self::StrainMargin => "strain-margin",
            Self::PeakStrain => "peak-strain",
            Self::InsertionLoss => "insertion-loss",
            Self::InsertionLossStretched => "insertion-loss-stretched",
            Self::ContourLength => "contour-length",
            Self::AllLimits => "all-limits",
        }
    }

    /// Name for people.
    pub fn label(self) -> &'static str {
        match self {
            Self::StrainMargin => "strain margin",
            Self::PeakStrain => "peak strain",
            Self::InsertionLoss => "insertion loss at rest",
            Self::InsertionLossStretched => "insertion loss stretched",
            Self::ContourLength => "contour length",
            Self::AllLimits => "all limits",
        }
    }

    /// Name as a key of a table, with the unit.
    pub fn key(self) -> &'static str {
        match self {
            Self::StrainMargin => "strain_margin",
            Self::PeakStrain => "peak_tensile_strain_percent",
            Self::InsertionLoss => "insertion_loss_rest_db",
            Self::InsertionLossStretched => "insertion_loss_stretched_db",
            Self::ContourLength => "contour_length_mm",
            Self::AllLimits => "all_limits_margin",
        }
    }

    /// Unit of the values; empty for margins.
    pub fn unit(self) -> &'static str {
        match self {
            Self::StrainMargin | Self::AllLimits => "",
            Self::PeakStrain => "%",
            Self::InsertionLoss | Self::InsertionLossStretched => "dB",
            Self::ContourLength => "mm",
        }
    }

    /// Whether the design has what the field shows.
    pub fn is_available(self, checked: &Checked) -> bool {
        !matches!(self, Self::InsertionLoss | Self::InsertionLossStretched) || checked.light().is_some()
    }

    /// The value that divides passing from failing cells, where there is one for the whole map.
    pub fn limit(self, checked: &Checked) -> Option<f64> {
        match self {
            Self::StrainMargin | Self::AllLimits => Some(1.0),
            Self::InsertionLoss | Self::InsertionLossStretched => {
                checked.light().map(|l| l.insertion_loss_limit_db)
            }
            Self::PeakStrain | Self::ContourLength => None,
        }
    }

    /// Whether larger values are better.
    pub fn more_is_better(self) -> bool {
        matches!(self, Self::StrainMargin | Self::AllLimits)
    }

    pub(crate) fn index(self) -> usize {
        match self {
            Self::StrainMargin => 0,
            Self::PeakStrain => 1,
            Self::InsertionLoss => 2,
            Self::InsertionLossStretched => 3,
            Self::ContourLength => 4,
            Self::AllLimits => 5,
        }
    }
}
