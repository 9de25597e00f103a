//! What kind of material it is, which decides by what rule it fails.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Kind of material; it decides which rule suggests the allowable strain.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum MaterialClass {
    /// Bulk-like glass: breaks at flaws, slowly in humid air.
    BrittleGlass,
    /// Deposited ceramic or oxide film.
    BrittleFilm,
    /// Single crystal.
    BrittleCrystal,
    /// Metal film that cracks before it flows.
    BrittleMetal,
    /// Metal that yields and then fails by cycles.
    DuctileMetal,
    /// Metal that is liquid at room temperature.
    LiquidMetal,
    /// Stiff polymer below its glass transition.
    #[default]
    GlassyPolymer,
    /// Rubber-like polymer.
    Elastomer,
}

impl MaterialClass {
    /// All classes, in the order in which they are listed.
    pub const ALL: [Self; 8] = [
        Self::BrittleGlass,
        Self::BrittleFilm,
        Self::BrittleCrystal,
        Self::BrittleMetal,
        Self::DuctileMetal,
        Self::LiquidMetal,
        Self::GlassyPolymer,
        Self::Elastomer,
    ];

    /// The name as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::BrittleGlass => "brittle glass",
            Self::BrittleFilm => "brittle film",
            Self::BrittleCrystal => "brittle crystal",
            Self::BrittleMetal => "brittle metal",
            Self::DuctileMetal => "ductile metal",
            Self::LiquidMetal => "liquid metal",
            Self::GlassyPolymer => "glassy polymer",
            Self::Elastomer => "elastomer",
        }
    }

    /// Whether it breaks at flaws without yielding, so that strength is a matter of probability.
    pub fn is_brittle(self) -> bool {
        matches!(self, Self::BrittleGlass | Self::BrittleFilm | Self::BrittleCrystal | Self::BrittleMetal)
    }

    /// Whether flaws grow slowly under constant tension in humid air.
    pub fn is_glass(self) -> bool {
        self == Self::BrittleGlass
    }

    /// Whether it conducts as a metal does.
    pub fn is_metal(self) -> bool {
        matches!(self, Self::BrittleMetal | Self::DuctileMetal | Self::LiquidMetal)
    }

    /// Whether it carries load by elasticity at all: a liquid does not.
    pub fn is_solid(self) -> bool {
        self != Self::LiquidMetal
    }
}
