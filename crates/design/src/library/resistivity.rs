//! The resistivity of a material at a temperature.

use super::{Material, Property};
use crate::text::number;

/// Temperature that a resistivity belongs to where none is stated, °C.
pub const REFERENCE_TEMPERATURE_C: f64 = 20.0;

/// Temperatures between which the straight line stays within 2 % of the measured resistivity of pure copper, °C.
///
/// Measured values: Matula 1979, J. Phys. Chem. Ref. Data 8, 1147 (from memory). Colder, the line lies
/// above them; hotter, below.
pub const LINEAR_RESISTIVITY_C: [f64; 2] = [-70.0, 225.0];

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
    /// Resistivity `ρ (1 + α (T − T_ref))` of the bulk at a temperature in °C, typical values.
    ///
    /// `T_ref` is the temperature of the value, [`REFERENCE_TEMPERATURE_C`] where it has none. Thin films are above it
    /// (surface and grain-boundary scattering, impurities) with a smaller coefficient. Nothing where no resistivity is
    /// known, where the temperature is not finite or below absolute zero, or where the line has fallen to zero.
    pub fn resistivity_at(&self, temperature_c: f64) -> Option<ResistivityAt> {
        if !(temperature_c.is_finite() && temperature_c >= -273.15) {
            return None;
        }
        let value = self.value(Property::Resistivity)?;
        let reference_c = value.temperature_c.unwrap_or(REFERENCE_TEMPERATURE_C);
        let [least_c, greatest_c] = LINEAR_RESISTIVITY_C;
        let (value_ohm_m, note) = match self.typical(Property::ResistivityCoefficient) {
            Some(coefficient) => (
                value.typical * (1.0 + coefficient * (temperature_c - reference_c)),
                (!(least_c..=greatest_c).contains(&temperature_c)).then_some(ResistivityNote::Extrapolated),
            ),
            None => (value.typical, (temperature_c != reference_c).then_some(ResistivityNote::Held)),
        };
        (value_ohm_m.is_finite() && value_ohm_m > 0.0).then_some(ResistivityAt { value_ohm_m, note })
    }
}
