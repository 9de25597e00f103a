//! What a trace is made of.

use super::TraceError;
use super::error::{TraceField, finite, metal, number, positive_number};

/// Temperature of the listed resistivities, °C.
pub(super) const REFERENCE_C: f64 = 20.0;
/// Lowest temperature there is, °C.
const ABSOLUTE_ZERO_C: f64 = -273.15;

/// A metal as an electric conductor.
///
/// `ρ(T) = ρ_20 (1 + a (T − 20 °C))`, meant for some −50 to 150 °C (range from memory); far colder, the resistivity
/// levels off. A film's resistivity is above the bulk's, see [`film_factor`](crate::film_factor); a measured one beats both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conductor {
    /// Resistivity at 20 °C, Ω·m.
    pub resistivity_ohm_m: f64,
    /// Its temperature coefficient at 20 °C, 1/K.
    pub temp_coeff_per_k: f64,
}

/// Annealed copper, bulk (standard handbook values, from memory).
pub const COPPER: Conductor = Conductor { resistivity_ohm_m: 1.72e-8, temp_coeff_per_k: 0.003_93 };
/// Gold, bulk (standard handbook values, from memory).
pub const GOLD: Conductor = Conductor { resistivity_ohm_m: 2.44e-8, temp_coeff_per_k: 0.0034 };
/// Aluminium, bulk (standard handbook values, from memory).
pub const ALUMINIUM: Conductor = Conductor { resistivity_ohm_m: 2.65e-8, temp_coeff_per_k: 0.0040 };

impl Conductor {
    /// A conductor of a resistivity at 20 °C and its temperature coefficient, which may be zero or negative.
    ///
    /// # Errors
    /// [`TraceError::NoMetal`] for a resistivity that is not above 0, [`TraceError::NotFinite`].
    pub fn new(resistivity_ohm_m: f64, temp_coeff_per_k: f64) -> Result<Self, TraceError> {
        let conductor = Self { resistivity_ohm_m, temp_coeff_per_k };
        conductor.check()?;
        Ok(conductor)
    }

    fn check(&self) -> Result<(), TraceError> {
        metal(TraceField::Resistivity, self.resistivity_ohm_m)?;
        finite(TraceField::TempCoefficient, self.temp_coeff_per_k)
    }

    /// Resistivity at a temperature, Ω·m.
    ///
    /// * `temperature_c`: °C, above −273.15.
    /// # Errors
    /// [`TraceError`] for values that are not allowed, or where the linear law gives no positive resistivity.
    pub fn resistivity_at_ohm_m(&self, temperature_c: f64) -> Result<f64, TraceError> {
        self.check()?;
        let field = TraceField::Temperature;
        finite(field, temperature_c)?;
        if temperature_c < ABSOLUTE_ZERO_C {
            let (least, greatest) = (ABSOLUTE_ZERO_C, f64::INFINITY);
            return Err(TraceError::Outside { field, value: temperature_c, least, greatest });
        }
        let factor = 1.0 + self.temp_coeff_per_k * (temperature_c - REFERENCE_C);
        let resistivity_ohm_m = number("resistivity", self.resistivity_ohm_m * factor)?;
        if resistivity_ohm_m > 0.0 {
            Ok(resistivity_ohm_m)
        } else {
            Err(TraceError::BeyondLinearLaw { temperature_c, resistivity_ohm_m })
        }
    }

    /// Resistance of a square of the film, ρ/t, Ω; times the number of squares it is the trace's resistance.
    ///
    /// * `thickness_um`: thickness of the film. `temperature_c`: its temperature, °C.
    /// # Errors
    /// [`TraceError::NoMetal`] for a thickness that is not above 0; otherwise as [`Self::resistivity_at_ohm_m`].
    ///
    /// ```
    /// // 35 µm of copper: about 0.49 mΩ per square.
    /// let square_ohm = ogee_stack::COPPER.sheet_resistance_ohm(35.0, 20.0)?;
    /// assert!((square_ohm - 0.491e-3).abs() < 1e-6);
    /// # Ok::<(), ogee_stack::TraceError>(())
    /// ```
    pub fn sheet_resistance_ohm(&self, thickness_um: f64, temperature_c: f64) -> Result<f64, TraceError> {
        metal(TraceField::Thickness, thickness_um)?;
        let resistivity_ohm_m = self.resistivity_at_ohm_m(temperature_c)?;
        positive_number("sheet resistance", resistivity_ohm_m / (thickness_um * 1e-6))
    }

    /// Resistance per length of a straight trace, Ω/m.
    ///
    /// # Errors
    /// [`TraceError::NoMetal`] for a width or thickness that is not above 0; otherwise as
    /// [`Self::resistivity_at_ohm_m`].
    pub fn resistance_per_length_ohm_per_m(
        &self,
        width_um: f64,
        thickness_um: f64,
        temperature_c: f64,
    ) -> Result<f64, TraceError> {
        metal(TraceField::Width, width_um)?;
        let square_ohm = self.sheet_resistance_ohm(thickness_um, temperature_c)?;
        positive_number("resistance per length", square_ohm / (width_um * 1e-6))
    }
}

/// Voltage lost along a trace, I R, V, with the sign of the current.
///
/// # Errors
/// [`TraceError`] for a current that is no number or a resistance that is not above 0.
pub fn voltage_drop_v(current_a: f64, resistance_ohm: f64) -> Result<f64, TraceError> {
    finite(TraceField::Current, current_a)?;
    metal(TraceField::Resistance, resistance_ohm)?;
    number("voltage drop", current_a * resistance_ohm)
}

#[cfg(test)]
mod tests {
    use super::{COPPER, Conductor, voltage_drop_v};
    use crate::TraceError;

    #[test]
    fn copper_at_two_temperatures() {
        assert!((COPPER.resistivity_at_ohm_m(20.0).unwrap() / 1.72e-8 - 1.0).abs() < 1e-15);
        assert!((COPPER.resistivity_at_ohm_m(120.0).unwrap() / 1.72e-8 - 1.393).abs() < 1e-12);
        let per_m = COPPER.resistance_per_length_ohm_per_m(100.0, 5.0, 20.0).unwrap();
        assert!((per_m - 34.4).abs() < 1e-10);
    }

    #[test]
    fn no_metal_carries_no_current() {
        for thickness_um in [0.0, -1.0] {
            let error = COPPER.sheet_resistance_ohm(thickness_um, 20.0).unwrap_err();
            assert!(matches!(error, TraceError::NoMetal { .. }), "{error}");
        }
        let error = Conductor::new(0.0, 0.0).unwrap_err();
        assert_eq!(error.to_string(), "current through no metal: resistivity is 0 Ω·m; it must be above 0");
        assert!(Conductor::new(f64::NAN, 0.0).is_err() && Conductor::new(1e-8, f64::INFINITY).is_err());
        assert!(matches!(COPPER.resistivity_at_ohm_m(-260.0), Err(TraceError::BeyondLinearLaw { .. })));
        assert!(matches!(COPPER.resistivity_at_ohm_m(-300.0), Err(TraceError::Outside { .. })));
        assert!(COPPER.sheet_resistance_ohm(1e-320, 20.0).is_err());
    }

    #[test]
    fn voltage_follows_the_current() {
        assert_eq!(voltage_drop_v(-0.5, 4.0).unwrap(), -2.0);
        assert!(voltage_drop_v(1.0, 0.0).is_err() && voltage_drop_v(f64::NAN, 1.0).is_err());
    }
}
