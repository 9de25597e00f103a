//! How much current a trace carries.

use std::fmt;

use super::conductor::REFERENCE_C;
use super::error::{TraceField, metal, positive, positive_number};
use super::{Conductor, TraceError};

/// µm per thousandth of an inch.
const MIL_UM: f64 = 25.4;
/// Smallest cross-section near the data of the fit, mil²: this crate's own threshold.
const LEAST_AREA_MIL2: f64 = 5.0;
/// Copper thicknesses of the data, µm.
const THICKNESS_UM: (f64, f64) = (17.0, 105.0);
/// Temperature rises of the data, K.
const RISE_K: (f64, f64) = (10.0, 100.0);
/// Greatest current of the data, A.
const GREATEST_A: f64 = 35.0;

/// Where in a board a trace lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TraceLayer {
    /// On the outside, in air.
    Outer,
    /// Inside.
    Inner,
}

impl TraceLayer {
    fn coefficient(self) -> f64 {
        match self {
            Self::Outer => 0.048,
            Self::Inner => 0.024,
        }
    }
}

/// In which respect a trace lies outside the data of the fit.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum OutsideTheData {
    /// The cross-section is smaller than any of the data.
    Area {
        /// Cross-section, mil².
        area_mil2: f64,
    },
    /// The thickness is not one of the boards' copper.
    Thickness {
        /// Thickness, µm.
        thickness_um: f64,
    },
    /// The temperature rise is outside the charts.
    TemperatureRise {
        /// Rise, K.
        rise_k: f64,
    },
    /// The current is above the charts.
    Current {
        /// Current, A.
        current_a: f64,
    },
}

impl fmt::Display for OutsideTheData {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Area { area_mil2 } => {
                write!(
                    f,
                    "outside the data: a cross-section of {area_mil2:.3} mil² is below {LEAST_AREA_MIL2} mil²"
                )
            }
            Self::Thickness { thickness_um } => write!(
                f,
                "outside the data: a thickness of {thickness_um} µm is not within {} to {} µm",
                THICKNESS_UM.0, THICKNESS_UM.1
            ),
            Self::TemperatureRise { rise_k } => write!(
                f,
                "outside the data: a temperature rise of {rise_k} K is not within {} to {} K",
                RISE_K.0, RISE_K.1
            ),
            Self::Current { current_a } => {
                write!(f, "outside the data: a current of {current_a:.1} A is above {GREATEST_A} A")
            }
        }
    }
}

/// The current of a trace by the board rule.
#[derive(Clone, Debug, PartialEq)]
pub struct CurrentRating {
    /// Current, A.
    pub current_a: f64,
    /// Cross-section, mil²; 1 mil = 25.4 µm.
    pub area_mil2: f64,
    /// Current per cross-section, A/mm².
    pub current_density_a_per_mm2: f64,
    /// In which respects the trace lies outside the data; empty where the rule applies.
    pub outside_the_data: Vec<OutsideTheData>,
}

/// Current that warms a copper trace by `rise_k`, by the fit of IPC-2221: I = k ΔT^0.44 A^0.725, A in mil², k = 0.048 on
/// outer layers and 0.024 on inner ones.
///
/// Made for copper of about 17 to 105 µm on rigid boards, 10 to 100 K and up to 35 A (range from memory); IPC-2152 has
/// replaced it. A trace on a soft sheet is outside; [`SheetCooling`] is the better guess there.
///
/// * `rise_k`: temperature rise, K. `width_um`, `thickness_um`: of the trace, µm.
/// # Errors
/// [`TraceError::NoMetal`] for a width or thickness that is not above 0, [`TraceError::NotPositive`] for the rise.
///
/// ```
/// use ogee_stack::{TraceLayer, ipc_2221_current};
///
/// let board = ipc_2221_current(10.0, 254.0, 35.0, TraceLayer::Outer)?;
/// assert!((board.current_a - 0.8855).abs() < 1e-4 && board.outside_the_data.is_empty());
/// assert!(!ipc_2221_current(10.0, 20.0, 1.0, TraceLayer::Outer)?.outside_the_data.is_empty());
/// # Ok::<(), ogee_stack::TraceError>(())
/// ```
pub fn ipc_2221_current(
    rise_k: f64,
    width_um: f64,
    thickness_um: f64,
    layer: TraceLayer,
) -> Result<CurrentRating, TraceError> {
    positive(TraceField::TemperatureRise, rise_k)?;
    metal(TraceField::Width, width_um)?;
    metal(TraceField::Thickness, thickness_um)?;
    let area_mil2 = positive_number("cross-section", (width_um / MIL_UM) * (thickness_um / MIL_UM))?;
    let current_a =
        positive_number("current", layer.coefficient() * rise_k.powf(0.44) * area_mil2.powf(0.725))?;
    let area_mm2 = area_mil2 * (MIL_UM * 1e-3) * (MIL_UM * 1e-3);
    let current_density_a_per_mm2 = positive_number("current density", current_a / area_mm2)?;
    let within = |value: f64, (least, greatest): (f64, f64)| (least..=greatest).contains(&value);
    let mut outside_the_data = Vec::new();
    if area_mil2 < LEAST_AREA_MIL2 {
        outside_the_data.push(OutsideTheData::Area { area_mil2 });
    }
    if !within(thickness_um, THICKNESS_UM) {
        outside_the_data.push(OutsideTheData::Thickness { thickness_um });
    }
    if !within(rise_k, RISE_K) {
        outside_the_data.push(OutsideTheData::TemperatureRise { rise_k });
    }
    if current_a > GREATEST_A {
        outside_the_data.push(OutsideTheData::Current { current_a });
    }
    Ok(CurrentRating { current_a, area_mil2, current_density_a_per_mm2, outside_the_data })
}

/// How a wide sheet in still air cools a straight trace on it.
///
/// The trace is hot by ΔT across its width w; from both its sides the sheet (conductivity `k_s`, thickness `h_s`) carries heat
/// away and gives it to the air (film coefficient h of all its faces together), as a fin of infinite length:
///
/// ```text
/// k_s h_s T″ = h T   →   T = ΔT exp(−x/L),   L = √(k_s h_s/h),   flow per side √(h k_s h_s) ΔT
/// I² R′ = ΔT [w h + 2 √(h k_s h_s)]
/// ```
///
/// For an isolated trace, steady, much longer than L; neighbours within L share its heat, and a sheet narrower than about
/// 2 L to each side carries less. Radiation counts in h: 5 to 10 W/(m²·K) per face in still air.
///
/// ```
/// use ogee_stack::{COPPER, SheetCooling};
///
/// // 100 × 5 µm of copper on 0.5 mm of elastomer, 8 W/(m²·K) on both faces: 0.15 A for 10 K.
/// let sheet = SheetCooling::new(100.0, 16.0, 0.17, 500.0)?;
/// let per_m = COPPER.resistance_per_length_ohm_per_m(100.0, 5.0, 20.0)?;
/// assert!((sheet.current_a(per_m, 10.0)? - 0.148).abs() < 1e-4);
/// # Ok::<(), ogee_stack::TraceError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetCooling {
    heat_w_per_m_k: f64,
    fin_length_um: f64,
}

impl SheetCooling {
    /// A trace of a width on a sheet.
    ///
    /// * `width_um`: of the trace. `film_coefficient_w_per_m2_k`: of all faces of the sheet together.
    /// * `sheet_conductivity_w_per_m_k`, `sheet_thickness_um`: of the sheet.
    /// # Errors
    /// [`TraceError`] for values that are not above 0 and finite.
    pub fn new(
        width_um: f64,
        film_coefficient_w_per_m2_k: f64,
        sheet_conductivity_w_per_m_k: f64,
        sheet_thickness_um: f64,
    ) -> Result<Self, TraceError> {
        metal(TraceField::Width, width_um)?;
        positive(TraceField::FilmCoefficient, film_coefficient_w_per_m2_k)?;
        positive(TraceField::SheetConductivity, sheet_conductivity_w_per_m_k)?;
        positive(TraceField::SheetThickness, sheet_thickness_um)?;
        let sheet_w_per_k = sheet_conductivity_w_per_m_k * sheet_thickness_um * 1e-6;
        let beside = 2.0 * (film_coefficient_w_per_m2_k * sheet_w_per_k).sqrt();
        let heat = width_um * 1e-6 * film_coefficient_w_per_m2_k + beside;
        let fin_um = (sheet_w_per_k / film_coefficient_w_per_m2_k).sqrt() * 1e6;
        Ok(Self {
            heat_w_per_m_k: positive_number("heat per length", heat)?,
            fin_length_um: positive_number("fin length", fin_um)?,
        })
    }

    /// A trace that gives its heat to the air by itself, without a sheet to spread it; the fin length is 0.
    ///
    /// * `width_um`: of the trace, or of the ribbon that carries it and is about as warm.
    /// * `film_coefficient_w_per_m2_k`: of both faces together.
    /// # Errors
    /// [`TraceError`] for values that are not above 0 and finite.
    pub fn without_sheet(width_um: f64, film_coefficient_w_per_m2_k: f64) -> Result<Self, TraceError> {
        metal(TraceField::Width, width_um)?;
        positive(TraceField::FilmCoefficient, film_coefficient_w_per_m2_k)?;
        let heat = width_um * 1e-6 * film_coefficient_w_per_m2_k;
        let heat_w_per_m_k = positive_number("heat per length", heat)?;
        Ok(Self { heat_w_per_m_k, fin_length_um: 0.0 })
    }

    /// Heat that leaves the trace per length and temperature rise, W/(m·K).
    pub fn heat_per_length_w_per_m_k(&self) -> f64 {
        self.heat_w_per_m_k
    }

    /// L, µm: how far beside the trace the sheet is warm.
    pub fn fin_length_um(&self) -> f64 {
        self.fin_length_um
    }

    /// Current that warms the trace by `rise_k`, A.
    ///
    /// * `resistance_per_length_ohm_per_m`: of the trace at its hot temperature.
    /// # Errors
    /// [`TraceError`] for values that are not above 0 and finite.
    pub fn current_a(&self, resistance_per_length_ohm_per_m: f64, rise_k: f64) -> Result<f64, TraceError> {
        metal(TraceField::ResistancePerLength, resistance_per_length_ohm_per_m)?;
        positive(TraceField::TemperatureRise, rise_k)?;
        positive_number("current", (rise_k * self.heat_w_per_m_k / resistance_per_length_ohm_per_m).sqrt())
    }

    /// Temperature rise of the trace under a current, K.
    ///
    /// * `resistance_per_length_ohm_per_m`: of the trace at its hot temperature. `current_a`: of either sign, A.
    /// # Errors
    /// [`TraceError`] for a resistance that is not above 0 or a current that is no number.
    pub fn rise_k(&self, resistance_per_length_ohm_per_m: f64, current_a: f64) -> Result<f64, TraceError> {
        metal(TraceField::ResistancePerLength, resistance_per_length_ohm_per_m)?;
        super::error::finite(TraceField::Current, current_a)?;
        super::error::number(
            "temperature rise",
            current_a * current_a * resistance_per_length_ohm_per_m / self.heat_w_per_m_k,
        )
    }
    /// Temperature rise of a metal trace under a current when its resistance grows with its own heat, K.
    ///
    /// With R′ linear in the temperature, `ΔT = I² R′(ambient)/(H − I² R′(20 °C) a)`, H the heat per length.
    ///
    /// * `width_um`, `thickness_um`: of the metal. `ambient_c`: temperature of the surroundings, °C.
    /// # Errors
    /// [`TraceError::Runaway`] from the current on at which the resistance grows faster than the cooling; otherwise as
    /// [`Conductor::resistance_per_length_ohm_per_m`].
    pub fn steady_rise_k(
        &self,
        conductor: &Conductor,
        (width_um, thickness_um): (f64, f64),
        ambient_c: f64,
        current_a: f64,
    ) -> Result<f64, TraceError> {
        super::error::finite(TraceField::Current, current_a)?;
        let per_m = |temperature_c: f64| {
            conductor.resistance_per_length_ohm_per_m(width_um, thickness_um, temperature_c)
        };
        let growth = per_m(REFERENCE_C)? * conductor.temp_coeff_per_k;
        let left = self.heat_w_per_m_k - current_a * current_a * growth;
        if left <= 0.0 {
            let limit_a = (self.heat_w_per_m_k / growth).sqrt();
            return Err(TraceError::Runaway { current_a: current_a.abs(), limit_a });
        }
        let rise_k =
            super::error::number("temperature rise", current_a * current_a * per_m(ambient_c)? / left)?;
        // The linear law has to reach as far as the trace is hot.
        per_m(ambient_c + rise_k)?;
        Ok(rise_k)
    }
}

#[cfg(test)]
mod tests {
    use crate::{COPPER, TraceError};

    use super::{OutsideTheData, SheetCooling, TraceLayer, ipc_2221_current};

    #[test]
    fn every_limit_of_the_data_is_told() {
        let thin = ipc_2221_current(5.0, 20.0, 1.0, TraceLayer::Outer).unwrap();
        assert!(matches!(
            thin.outside_the_data[..],
            [
                OutsideTheData::Area { .. },
                OutsideTheData::Thickness { .. },
                OutsideTheData::TemperatureRise { .. }
            ]
        ));
        let strong = ipc_2221_current(100.0, 50_000.0, 105.0, TraceLayer::Outer).unwrap();
        assert!(matches!(strong.outside_the_data[..], [OutsideTheData::Current { .. }]));
        let inner = ipc_2221_current(20.0, 1000.0, 35.0, TraceLayer::Inner).unwrap();
        let outer = ipc_2221_current(20.0, 1000.0, 35.0, TraceLayer::Outer).unwrap();
        assert!(inner.outside_the_data.is_empty() && (outer.current_a / inner.current_a - 2.0).abs() < 1e-14);
    }

    #[test]
    fn current_and_rise_are_inverse() {
        let sheet = SheetCooling::new(100.0, 16.0, 0.17, 500.0).unwrap();
        let current_a = sheet.current_a(34.4, 12.0).unwrap();
        assert!((sheet.rise_k(34.4, current_a).unwrap() - 12.0).abs() < 1e-12);
        assert_eq!(sheet.rise_k(34.4, 0.0).unwrap(), 0.0);
    }

    #[test]
    fn its_own_heat_raises_the_resistance() {
        let sheet = SheetCooling::new(100.0, 16.0, 0.17, 500.0).unwrap();
        let rise_k = sheet.steady_rise_k(&COPPER, (100.0, 5.0), 30.0, 0.3).unwrap();
        let hot = COPPER.resistance_per_length_ohm_per_m(100.0, 5.0, 30.0 + rise_k).unwrap();
        assert!((sheet.rise_k(hot, 0.3).unwrap() / rise_k - 1.0).abs() < 1e-12);
        let error = sheet.steady_rise_k(&COPPER, (100.0, 5.0), 30.0, 1.0).unwrap_err();
        let TraceError::Runaway { limit_a, .. } = error else { panic!("{error}") };
        assert!(sheet.steady_rise_k(&COPPER, (100.0, 5.0), 30.0, 0.999 * limit_a).is_ok());
        assert!(sheet.steady_rise_k(&COPPER, (100.0, 5.0), 30.0, f64::NAN).is_err());
    }

    #[test]
    fn without_a_sheet_only_the_trace_cools() {
        let alone = SheetCooling::without_sheet(100.0, 16.0).unwrap();
        let spread = SheetCooling::new(100.0, 16.0, 1e-12, 1e-3).unwrap();
        assert!((alone.heat_per_length_w_per_m_k() / spread.heat_per_length_w_per_m_k() - 1.0).abs() < 1e-4);
        assert_eq!(alone.fin_length_um(), 0.0);
        assert!(SheetCooling::without_sheet(0.0, 16.0).is_err());
    }

    #[test]
    fn refuses_what_is_no_trace() {
        assert!(ipc_2221_current(0.0, 1.0, 1.0, TraceLayer::Outer).is_err());
        assert!(ipc_2221_current(10.0, 1.0, 0.0, TraceLayer::Outer).is_err());
        assert!(SheetCooling::new(1.0, 0.0, 1.0, 1.0).is_err());
        assert!(SheetCooling::new(1.0, 1.0, f64::NAN, 1.0).is_err());
        let sheet = SheetCooling::new(100.0, 16.0, 0.17, 500.0).unwrap();
        assert!(sheet.current_a(0.0, 10.0).is_err() && sheet.rise_k(1.0, f64::NAN).is_err());
    }
}
