//! What the oven sees: films, and the steps that make and unmake a stack.

use super::error::{FilmField, ProcessError};

/// A piece of the stack: a range of heights with a share of the ribbon's width.
///
/// Several films may lie at one height, as a core and the material beside it do, if their shares add up to 1 or less.
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    /// Name, repeated in errors.
    pub name: String,
    /// z of the lower face, µm; negative below the chosen zero, as for a handle.
    pub bottom_um: f64,
    /// z of the upper face, µm.
    pub top_um: f64,
    /// Share of the ribbon's width, above 0 up to 1.
    pub share: f64,
    /// Young's modulus, `MPa`.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless, between −1 and 0.5.
    pub poisson: f64,
    /// Linear thermal expansion, 1/K (2.6e-6, not 2.6).
    pub cte_per_k: f64,
}

impl Film {
    /// Thickness, µm.
    pub fn thickness_um(&self) -> f64 {
        self.top_um - self.bottom_um
    }

    pub(super) fn middle_um(&self) -> f64 {
        0.5 * (self.bottom_um + self.top_um)
    }

    /// `index`: place in the list, for the error.
    pub(super) fn check(&self, index: usize) -> Result<(), ProcessError> {
        let fault = |field: FilmField, value: f64| ProcessError::Film {
            film: index,
            name: self.name.clone(),
            field,
            value,
        };
        let finite = [
            (FilmField::Bottom, self.bottom_um),
            (FilmField::Top, self.top_um),
            (FilmField::Share, self.share),
            (FilmField::Modulus, self.modulus_mpa),
            (FilmField::Poisson, self.poisson),
            (FilmField::Expansion, self.cte_per_k),
        ];
        for (field, value) in finite {
            if !value.is_finite() {
                return Err(fault(field, value));
            }
        }
        if self.thickness_um() <= 0.0 {
            return Err(fault(FilmField::Thickness, self.thickness_um()));
        }
        if self.share <= 0.0 || self.share > 1.0 {
            return Err(fault(FilmField::Share, self.share));
        }
        if self.modulus_mpa <= 0.0 {
            return Err(fault(FilmField::Modulus, self.modulus_mpa));
        }
        if self.poisson <= -1.0 || self.poisson >= 0.5 {
            return Err(fault(FilmField::Poisson, self.poisson));
        }
        Ok(())
    }
}

/// Which modulus ties a film's stress to its strain.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum FilmModulus {
    /// M = E/(1 − ν): wafers and wide ribbons, strained alike along and across.
    #[default]
    Biaxial,
    /// E* = E/(1 − ν²): a strip that is held across at its own free length.
    PlaneStrain,
    /// E: a ribbon about as narrow as thick, free to contract across.
    Beam,
}

impl FilmModulus {
    /// The modulus of a material, `MPa`.
    ///
    /// * `modulus_mpa`: Young's modulus. `poisson`: Poisson's ratio, between −1 and 0.5.
    pub fn effective_mpa(self, modulus_mpa: f64, poisson: f64) -> f64 {
        match self {
            Self::Biaxial => modulus_mpa / (1.0 - poisson),
            Self::PlaneStrain => modulus_mpa / (1.0 - poisson * poisson),
            Self::Beam => modulus_mpa,
        }
    }

    /// Energy per volume over σ²/modulus: two equal stresses store twice what one does.
    pub(super) fn energy_factor(self) -> f64 {
        match self {
            Self::Biaxial => 1.0,
            Self::PlaneStrain | Self::Beam => 0.5,
        }
    }
}

/// A film that comes into being.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Birth {
    /// Its place in the list of films.
    pub film: usize,
    /// Intrinsic stress, `MPa`, tension positive: equal in both directions, as read on a base that does not yield.
    pub intrinsic_mpa: f64,
}

/// One step of a process.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Films are born on what is there, strained and bowed as it is at this temperature; side by side or one upon the
    /// other if there are several.
    Deposit {
        /// The films.
        films: Vec<Birth>,
        /// Temperature at which they start to carry stress, °C.
        temperature_c: f64,
    },
    /// As [`Step::Deposit`], but what is there is pressed flat meanwhile, as in a laminator or under a stamp.
    Bond {
        /// The films.
        films: Vec<Birth>,
        /// Temperature at which the bond sets, °C.
        temperature_c: f64,
    },
    /// What is there is heated or cooled.
    Bring {
        /// Temperature reached, °C.
        temperature_c: f64,
    },
    /// Films are etched away, or what is left is released from them, at the temperature of the step before.
    Remove {
        /// Places of the films in the list.
        films: Vec<usize>,
    },
}
