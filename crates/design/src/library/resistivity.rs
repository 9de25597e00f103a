//! The resistivity of a material at a temperature.

use super::{Material, Property};
use crate::text::number;
use ogee_stack::Conductor;

/// Temperature that a resistivity belongs to where none is stated, °C.
pub const REFERENCE_TEMPERATURE_C: f64 = 20.0;

/// Temperatures between which the straight line of [`ogee_stack::Conductor`] is good, °C: within 1 % for copper, 3 % for
/// gold and aluminium with the library's typical coefficients.
pub const LINEAR_RESISTIVITY_C: [f64; 2] = [-50.0, 150.0];

/// A resistivity and what to say next to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ResistivityAt {
    /// Resistivity, Ω m.
    pub value_ohm_m: f64,
    /// Set where the number is held or extrapolated.
    pub note: Option<ResistivityNote>,
}

/// What to say next to a resistivity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ResistivityNote {
    /// No temperature coefficient is known, so the value at the reference temperature is held.
    Held,
    /// The straight line is continued beyond [`LINEAR_RESISTIVITY_C`].
    Extrapolated,
}

impl ResistivityNote {
    /// The note in words.
    pub fn text(self) -> String {
        match self {
            Self::Held => "no temperature coefficient is known; the value is held".to_owned(),
            Self::Extrapolated => {
                let [least, greatest] = LINEAR_RESISTIVITY_C;
                format!(
                    "extrapolated: the straight line holds from {} to {} °C",
                    number(least),
                    number(greatest)
                )
            }
        }
    }
}

impl Material {
    /// The bulk of the material as a conductor, typical values; its temperature coefficient is 0 where none is known.
    ///
    /// A value that belongs to another temperature than 20 °C is led there along its own straight line. Nothing where no
    /// resistivity is known or where the line has fallen to zero.
    pub fn conductor(&self) -> Option<Conductor> {
        let value = self.value(Property::Resistivity)?;
        let coefficient = self.typical(Property::TemperatureCoefficient).unwrap_or(0.0);
        let reference_c = value.temperature_c.unwrap_or(REFERENCE_TEMPERATURE_C);
        let factor = 1.0 + coefficient * (REFERENCE_TEMPERATURE_C - reference_c);
        Conductor::new(value.typical * factor, coefficient / factor).ok().filter(|_| factor > 0.0)
    }

    /// Resistivity of the bulk at a temperature in °C, typical values.
    ///
    /// [`ogee_stack::Conductor::resistivity_at_ohm_m`], or the value held where no temperature coefficient is known. Thin
    /// films are above it (surfaces, grains, impurities) with a smaller coefficient. Nothing where no resistivity is
    /// known, for a temperature that is impossible, or where the line has fallen to zero.
    pub fn resistivity_at(&self, temperature_c: f64) -> Option<ResistivityAt> {
        let value_ohm_m = self.conductor()?.resistivity_at_ohm_m(temperature_c).ok()?;
        let reference_c = self.value(Property::Resistivity)?.temperature_c.unwrap_or(REFERENCE_TEMPERATURE_C);
        let [least_c, greatest_c] = LINEAR_RESISTIVITY_C;
        let note = match self.typical(Property::TemperatureCoefficient) {
            None if temperature_c != reference_c => Some(ResistivityNote::Held),
            Some(_) if !(least_c..=greatest_c).contains(&temperature_c) => {
                Some(ResistivityNote::Extrapolated)
            }
            _ => None,
        };
        Some(ResistivityAt { value_ohm_m, note })
    }
}
