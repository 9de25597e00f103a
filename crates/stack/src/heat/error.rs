//! Why a process cannot be followed.

use std::fmt;

/// A field of a film, as errors name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FilmField {
    /// Lower face.
    Bottom,
    /// Upper face.
    Top,
    /// Upper face minus lower face.
    Thickness,
    /// Share of the ribbon's width.
    Share,
    /// Young's modulus.
    Modulus,
    /// Poisson's ratio.
    Poisson,
    /// Thermal expansion.
    Expansion,
    /// Intrinsic stress.
    Intrinsic,
}

impl FilmField {
    /// The unit of its values; empty for plain numbers.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Bottom | Self::Top | Self::Thickness => "µm",
            Self::Share | Self::Poisson => "",
            Self::Modulus | Self::Intrinsic => "MPa",
            Self::Expansion => "1/K",
        }
    }

    /// Limits of the allowed range, in the field's unit; infinite where open. Of all limits only a share of 1 is itself
    /// allowed.
    pub fn range(self) -> (f64, f64) {
        match self {
            Self::Thickness | Self::Modulus => (0.0, f64::INFINITY),
            Self::Share => (0.0, 1.0),
            Self::Poisson => (-1.0, 0.5),
            Self::Bottom | Self::Top | Self::Expansion | Self::Intrinsic => {
                (f64::NEG_INFINITY, f64::INFINITY)
            }
        }
    }

    fn text(self, value: f64) -> String {
        let unit = self.unit();
        if unit.is_empty() { format!("{value}") } else { format!("{value} {unit}") }
    }

    fn demand(self) -> &'static str {
        match self {
            Self::Thickness | Self::Modulus => "it must be above 0 and finite",
            Self::Share => "it must be above 0 and at most 1",
            Self::Poisson => "it must be above -1 and below 0.5",
            Self::Bottom | Self::Top | Self::Expansion | Self::Intrinsic => "it must be a finite number",
        }
    }
}

impl fmt::Display for FilmField {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Bottom => "lower face",
            Self::Top => "upper face",
            Self::Thickness => "thickness",
            Self::Share => "share of the width",
            Self::Modulus => "modulus",
            Self::Poisson => "Poisson's ratio",
            Self::Expansion => "thermal expansion",
            Self::Intrinsic => "intrinsic stress",
        })
    }
}

/// What is wrong with the films or steps of a process. `step` and `film` count from 0; messages count steps from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ProcessError {
    /// No step leaves anything: the list of steps is empty.
    #[error("the process has no step; at least one film must be deposited")]
    NoSteps,
    /// A value of a film is outside its range; see [`FilmField::range`].
    #[error("{field} of {name} is {}; {}", field.text(*value), field.demand())]
    Film {
        /// Place of the film in the list.
        film: usize,
        /// Its name.
        name: String,
        /// Which value.
        field: FilmField,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// A step names a film that is not in the list.
    #[error("step {} names film {film}; the list has {count}, counted from 0", step + 1)]
    NoSuchFilm {
        /// The step.
        step: usize,
        /// The place named.
        film: usize,
        /// How many films there are.
        count: usize,
    },
    /// A temperature below absolute zero, or none at all.
    #[error("temperature of {value_c} °C in step {} is not allowed; it must be above -273.15 °C and finite", step + 1)]
    Temperature {
        /// The step, or the one after which a state was asked for.
        step: usize,
        /// The temperature given, °C.
        value_c: f64,
    },
    /// A curvature that is no finite number.
    #[error("curvature of {value_per_um} 1/µm is not a finite number")]
    Curvature {
        /// The curvature given, 1/µm.
        value_per_um: f64,
    },
    /// A change of temperature that is no finite number.
    #[error("temperature change of {value_k} K is not a finite number")]
    Change {
        /// The change given, K.
        value_k: f64,
    },
    /// A film is born a second time.
    #[error("{name} is born in step {} and again in step {}", first + 1, step + 1)]
    BornTwice {
        /// The second step.
        step: usize,
        /// Place of the film in the list.
        film: usize,
        /// Its name.
        name: String,
        /// The step in which it was born first.
        first: usize,
    },
    /// A film of the list is born in no step.
    #[error("{name} is born in none of the {steps} steps")]
    NeverBorn {
        /// Place of the film in the list.
        film: usize,
        /// Its name.
        name: String,
        /// How many steps there are.
        steps: usize,
    },
    /// A film is to go, or to be below an interface, and is not there.
    #[error("{name} is not present in step {}", step + 1)]
    NotPresent {
        /// The step.
        step: usize,
        /// Place of the film in the list.
        film: usize,
        /// Its name.
        name: String,
    },
    /// A film has no face in common with the others.
    #[error(
        "{name}, from {bottom_um} to {top_um} µm, touches nothing in step {}; \
         the nearest other film is {gap_um} µm away",
        step + 1
    )]
    NotTouching {
        /// The step.
        step: usize,
        /// Place of the film in the list.
        film: usize,
        /// Its name.
        name: String,
        /// Its lower face, µm.
        bottom_um: f64,
        /// Its upper face, µm.
        top_um: f64,
        /// Height between it and the nearest film of the others, µm.
        gap_um: f64,
    },
    /// Films at one height fill more than the width.
    #[error(
        "{name} and what is beside it in step {} take a share of {value} of the width at a height of {height_um} µm; \
         at most 1 is there",
        step + 1
    )]
    TooWide {
        /// The step.
        step: usize,
        /// Place of the film in the list.
        film: usize,
        /// Its name.
        name: String,
        /// Sum of the shares.
        value: f64,
        /// Where, µm.
        height_um: f64,
    },
    /// Nothing is there after a step.
    #[error("nothing is left after step {}", step + 1)]
    NothingLeft {
        /// The step.
        step: usize,
    },
    /// A state was asked for after a step that does not exist.
    #[error("there is no step {}; the process has {steps}", step + 1)]
    NoSuchStep {
        /// The step asked for.
        step: usize,
        /// How many there are.
        steps: usize,
    },
    /// The films named do not leave an interface between two parts.
    #[error(
        "{below} of the {present} films present after step {} are named as lying below the interface; \
         both parts need at least one, and a face in common",
        step + 1
    )]
    NoInterface {
        /// The step.
        step: usize,
        /// How many films are below.
        below: usize,
        /// How many are there.
        present: usize,
    },
    /// The values are so large or small that a result leaves the range of numbers.
    #[error("{quantity} comes out as {value}, outside the range of numbers; check the units of the films")]
    OutOfNumbers {
        /// Name of the result.
        quantity: &'static str,
        /// What it came out as.
        value: f64,
    },
}

impl ProcessError {
    /// The step at fault, from 0; `None` for faults of no single step.
    pub fn step(&self) -> Option<usize> {
        match self {
            Self::NoSteps
            | Self::Film { .. }
            | Self::Curvature { .. }
            | Self::Change { .. }
            | Self::NeverBorn { .. }
            | Self::OutOfNumbers { .. } => None,
            Self::NoSuchFilm { step, .. }
            | Self::Temperature { step, .. }
            | Self::BornTwice { step, .. }
            | Self::NotPresent { step, .. }
            | Self::NotTouching { step, .. }
            | Self::TooWide { step, .. }
            | Self::NothingLeft { step }
            | Self::NoSuchStep { step, .. }
            | Self::NoInterface { step, .. } => Some(*step),
        }
    }

    /// The film at fault, its place in the list; `None` where no single one is.
    pub fn film(&self) -> Option<usize> {
        match self {
            Self::Film { film, .. }
            | Self::NoSuchFilm { film, .. }
            | Self::BornTwice { film, .. }
            | Self::NeverBorn { film, .. }
            | Self::NotPresent { film, .. }
            | Self::NotTouching { film, .. }
            | Self::TooWide { film, .. } => Some(*film),
            _ => None,
        }
    }

    /// Limits of the allowed range, where the fault is a value outside one.
    pub fn range(&self) -> Option<(f64, f64)> {
        match self {
            Self::Film { field, .. } => Some(field.range()),
            Self::Temperature { .. } => Some((super::ABSOLUTE_ZERO_C, f64::INFINITY)),
            Self::TooWide { .. } => Some((0.0, 1.0)),
            _ => None,
        }
    }
}
