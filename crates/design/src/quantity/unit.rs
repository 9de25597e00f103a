//! Dimensions and the units that are known.

use std::fmt;

/// What kind of quantity a field holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// A length, as `350 nm`.
    Length,
    /// An angle, as `45°`.
    Angle,
    /// A ratio given in per cent, as `1.5 %`: strain, stretch, share.
    Ratio,
    /// A loss of light, as `0.3 dB`.
    Loss,
    /// A loss of light per length, as `3 dB/cm`.
    LossPerLength,
    /// A modulus or a stress, as `70 GPa`.
    Pressure,
    /// A force, as `20 µN`.
    Force,
    /// A temperature, as `25 °C`; kelvins count from absolute zero.
    Temperature,
    /// A difference of temperatures, as `60 K`; a kelvin and a degree Celsius are the same step.
    TemperatureStep,
    /// A thermal expansion, as `17 ppm/K`.
    Expansion,
    /// A current, as `10 mA`.
    Current,
    /// A voltage, as `50 mV`.
    Voltage,
    /// An electrical resistance, as `12 Ω`.
    Resistance,
    /// An electrical resistivity, as `17 nΩ·m`.
    Resistivity,
    /// A duration, as `2 s`.
    Duration,
    /// An energy per area, as `4 J/m²`.
    SurfaceEnergy,
    /// A fracture toughness, as `0.7 MPa·√m`.
    Toughness,
    /// Heat given off per area and kelvin, as `10 W/(m²·K)`.
    HeatTransfer,
    /// A thermal conductivity, as `0.2 W/(m·K)`.
    Conductivity,
    /// A whole number from 0 up.
    Count,
    /// A number without a unit, as a refractive index.
    Plain,
}

impl Dimension {
    /// All dimensions.
    pub const ALL: [Self; 21] = [
        Self::Length,
        Self::Angle,
        Self::Ratio,
        Self::Loss,
        Self::LossPerLength,
        Self::Pressure,
        Self::Force,
        Self::Temperature,
        Self::TemperatureStep,
        Self::Expansion,
        Self::Current,
        Self::Voltage,
        Self::Resistance,
        Self::Resistivity,
        Self::Duration,
        Self::SurfaceEnergy,
        Self::Toughness,
        Self::HeatTransfer,
        Self::Conductivity,
        Self::Count,
        Self::Plain,
    ];

    /// The units that a field of this dimension takes, smallest first; none for counts and plain numbers.
    pub fn units(self) -> impl Iterator<Item = Unit> {
        Unit::ALL.iter().copied().filter(move |unit| unit.measures(self) && *unit != Unit::NONE)
    }
}

impl fmt::Display for Dimension {
    /// With its article: `an angle`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Ratio => "a percentage",
            Self::Loss => "a loss",
            Self::LossPerLength => "a loss per length",
            Self::Pressure => "a modulus or stress",
            Self::Force => "a force",
            Self::Temperature => "a temperature",
            Self::TemperatureStep => "a temperature difference",
            Self::Expansion => "a thermal expansion",
            Self::Current => "a current",
            Self::Voltage => "a voltage",
            Self::Resistance => "a resistance",
            Self::Resistivity => "a resistivity",
            Self::Duration => "a duration",
            Self::SurfaceEnergy => "an energy per area",
            Self::Toughness => "a fracture toughness",
            Self::HeatTransfer => "a heat transfer per area",
            Self::Conductivity => "a thermal conductivity",
            Self::Count => "a count",
            Self::Plain => "a plain number",
        })
    }
}

/// A unit of measurement: its symbol, what it measures and its size.
///
/// ```
/// # use ogee_design::{Dimension, Unit};
/// assert_eq!(Unit::from_symbol("um"), Some(Unit::MICROMETRE));
/// assert_eq!(Unit::MICROMETRE.symbol(), "µm");
/// assert!(Unit::CELSIUS.measures(Dimension::TemperatureStep));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    symbol: &'static str,
    dimension: Dimension,
    /// The unit is `factor · 10^power` of the dimension's base.
    power: i32,
    factor: f64,
    /// Where absolute zero lies, in the unit itself; 0 for all but °C. Units with a zero of
    /// their own share one power: [`Unit::finish_conversion`] subtracts zeros as they are.
    zero: f64,
}

/// A unit of `10^power` of its dimension's base.
const fn decimal(symbol: &'static str, dimension: Dimension, power: i32) -> Unit {
    Unit { symbol, dimension, power, factor: 1.0, zero: 0.0 }
}

impl Unit {
    /// nm
    pub const NANOMETRE: Self = decimal("nm", Dimension::Length, -9);
    /// µm
    pub const MICROMETRE: Self = decimal("µm", Dimension::Length, -6);
    /// mm
    pub const MILLIMETRE: Self = decimal("mm", Dimension::Length, -3);
    /// cm
    pub const CENTIMETRE: Self = decimal("cm", Dimension::Length, -2);
    /// m
    pub const METRE: Self = decimal("m", Dimension::Length, 0);
    /// °
    pub const DEGREE: Self =
        Self { symbol: "°", dimension: Dimension::Angle, power: 0, factor: DEGREE_RAD, zero: 0.0 };
    /// rad
    pub const RADIAN: Self = decimal("rad", Dimension::Angle, 0);
    /// %
    pub const PERCENT: Self = decimal("%", Dimension::Ratio, -2);
    /// dB
    pub const DECIBEL: Self = decimal("dB", Dimension::Loss, 0);
    /// dB/cm
    pub const DECIBEL_PER_CENTIMETRE: Self = decimal("dB/cm", Dimension::LossPerLength, 2);
    /// dB/m
    pub const DECIBEL_PER_METRE: Self = decimal("dB/m", Dimension::LossPerLength, 0);
    /// `MPa`
    pub const MEGAPASCAL: Self = decimal("MPa", Dimension::Pressure, 6);
    /// `GPa`
    pub const GIGAPASCAL: Self = decimal("GPa", Dimension::Pressure, 9);
    /// µN
    pub const MICRONEWTON: Self = decimal("µN", Dimension::Force, -6);
    /// °C
    pub const CELSIUS: Self = Self {
        symbol: "°C",
        dimension: Dimension::Temperature,
        power: 0,
        factor: 1.0,
        zero: -ZERO_CELSIUS_K,
    };
    /// K
    pub const KELVIN: Self = decimal("K", Dimension::Temperature, 0);
    /// ppm/K, a millionth per kelvin
    pub const MILLIONTH_PER_KELVIN: Self = decimal("ppm/K", Dimension::Expansion, -6);
    /// No unit, for counts and plain numbers.
    pub const NONE: Self = decimal("", Dimension::Plain, 0);

    /// Every unit that is understood, by dimension and size.
    pub const ALL: &[Self] = &[
        decimal("pm", Dimension::Length, -12),
        Self::NANOMETRE,
        Self::MICROMETRE,
        Self::MILLIMETRE,
        Self::CENTIMETRE,
        Self::METRE,
        decimal("km", Dimension::Length, 3),
        decimal("Mm", Dimension::Length, 6),
        decimal("µrad", Dimension::Angle, -6),
        decimal("mrad", Dimension::Angle, -3),
        Self::DEGREE,
        Self::RADIAN,
        decimal("ppm", Dimension::Ratio, -6),
        decimal("‰", Dimension::Ratio, -3),
        Self::PERCENT,
        decimal("mdB", Dimension::Loss, -3),
        Self::DECIBEL,
        decimal("dB/km", Dimension::LossPerLength, -3),
        Self::DECIBEL_PER_METRE,
        Self::DECIBEL_PER_CENTIMETRE,
        decimal("dB/mm", Dimension::LossPerLength, 3),
        decimal("dB/µm", Dimension::LossPerLength, 6),
        decimal("mPa", Dimension::Pressure, -3),
        decimal("Pa", Dimension::Pressure, 0),
        decimal("kPa", Dimension::Pressure, 3),
        Self::MEGAPASCAL,
        Self::GIGAPASCAL,
        decimal("TPa", Dimension::Pressure, 12),
        decimal("nN", Dimension::Force, -9),
        Self::MICRONEWTON,
        decimal("mN", Dimension::Force, -3),
        decimal("N", Dimension::Force, 0),
        decimal("kN", Dimension::Force, 3),
        Self::CELSIUS,
        Self::KELVIN,
        Self::MILLIONTH_PER_KELVIN,
        decimal("1/K", Dimension::Expansion, 0),
        decimal("µA", Dimension::Current, -6),
        decimal("mA", Dimension::Current, -3),
        decimal("A", Dimension::Current, 0),
        decimal("µV", Dimension::Voltage, -6),
        decimal("mV", Dimension::Voltage, -3),
        decimal("V", Dimension::Voltage, 0),
        decimal("mΩ", Dimension::Resistance, -3),
        decimal("Ω", Dimension::Resistance, 0),
        decimal("kΩ", Dimension::Resistance, 3),
        decimal("nΩ·m", Dimension::Resistivity, -9),
        decimal("µΩ·cm", Dimension::Resistivity, -8),
        decimal("Ω·m", Dimension::Resistivity, 0),
        decimal("ms", Dimension::Duration, -3),
        decimal("s", Dimension::Duration, 0),
        Self { factor: 60.0, ..decimal("min", Dimension::Duration, 0) },
        Self { factor: 3600.0, ..decimal("h", Dimension::Duration, 0) },
        decimal("mJ/m²", Dimension::SurfaceEnergy, -3),
        decimal("J/m²", Dimension::SurfaceEnergy, 0),
        decimal("kPa·√m", Dimension::Toughness, 3),
        decimal("MPa·√m", Dimension::Toughness, 6),
        decimal("W/(m²·K)", Dimension::HeatTransfer, 0),
        decimal("mW/(m·K)", Dimension::Conductivity, -3),
        decimal("W/(m·K)", Dimension::Conductivity, 0),
        Self::NONE,
    ];

    /// The unit with this symbol or one of its other spellings (`um`, `deg`); case counts.
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        let wanted = normalised(symbol);
        Self::ALL.iter().copied().find(|unit| normalised(unit.symbol) == wanted)
    }

    /// The units of a dimension whose symbols differ from `symbol` by case only, for a hint.
    pub(super) fn by_any_case(symbol: &str, dimension: Dimension) -> Vec<Self> {
        let wanted = normalised(&symbol.to_lowercase()).to_lowercase();
        dimension.units().filter(|unit| normalised(unit.symbol).to_lowercase() == wanted).collect()
    }

    /// Its symbol, as it is printed: `µm`, `°`, `dB/cm`; empty for [`Unit::NONE`].
    pub fn symbol(self) -> &'static str {
        self.symbol
    }

    /// What it measures. For kelvins and degrees Celsius this is [`Dimension::Temperature`].
    pub fn dimension(self) -> Dimension {
        self.dimension
    }

    /// Whether a field of this dimension may be given in this unit.
    pub fn measures(self, dimension: Dimension) -> bool {
        match dimension {
            Dimension::TemperatureStep => self.dimension == Dimension::Temperature,
            Dimension::Count => self.dimension == Dimension::Plain,
            _ => self.dimension == dimension,
        }
    }

    /// By how many digits the decimal point moves to the right from this unit to `other`.
    pub(super) fn shift_to(self, other: Self) -> i32 {
        self.power - other.power
    }

    /// Converts what the shift of the decimal point leaves: factors that are no powers of ten, and zeros.
    ///
    /// `shifted` is the number in units of `10^other.power`. Exact where the two units differ by a power of ten.
    pub(super) fn finish_conversion(self, shifted: f64, other: Self, dimension: Dimension) -> f64 {
        let mut value = shifted;
        if self.factor != other.factor {
            value = value * self.factor / other.factor;
        }
        if dimension == Dimension::Temperature && self.zero != other.zero {
            value += other.zero - self.zero;
        }
        value
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol)
    }
}

/// One degree in radians.
const DEGREE_RAD: f64 = std::f64::consts::PI / 180.0;

/// 0 °C in kelvins.
const ZERO_CELSIUS_K: f64 = 273.15;

/// A unit's spelling with one code point for each sign, no spaces about a slash, and one name for each unit.
fn normalised(symbol: &str) -> String {
    let parts: Vec<_> = symbol.split('/').map(str::trim).collect();
    let plain: String = parts
        .join("/")
        .chars()
        .map(|c| match c {
            // Micro sign and Greek mu.
            '\u{b5}' | '\u{3bc}' => 'u',
            // The ordinal sign, mistaken for a degree sign.
            '\u{ba}' => '°',
            // The ohm sign and the Greek letter; the middle dot and its look-alike.
            '\u{2126}' => 'Ω',
            '\u{22c5}' => '·',
            c => c,
        })
        .collect();
    match plain.as_str() {
        "deg" => "°".to_owned(),
        // One code point for °C and K.
        "\u{2103}" | "degC" => "°C".to_owned(),
        "\u{212a}" => "K".to_owned(),
        "/K" | "/°C" | "1/°C" => "1/K".to_owned(),
        "ppm/°C" => "ppm/K".to_owned(),
        _ => plain,
    }
}
