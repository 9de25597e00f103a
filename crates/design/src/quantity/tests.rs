use super::*;
use proptest::prelude::*;

fn length(text: &str) -> Result<f64, QuantityError> {
    parse_quantity(text, Dimension::Length, Unit::MICROMETRE)
}

fn words(text: &str, dimension: Dimension, unit: Unit) -> String {
    parse_quantity(text, dimension, unit).expect_err(text).to_string()
}

#[test]
fn lengths_convert_without_rounding() {
    let cases = [
        ("350 nm", 0.35),
        ("1.2mm", 1200.0),
        ("12", 12.0),
        ("1e-3 m", 1000.0),
        ("1E-3m", 1000.0),
        ("0.1 nm", 1e-4),
        ("7 pm", 7e-6),
        ("3 cm", 3e4),
        ("2 km", 2e9),
        ("1 Mm", 1e12),
        (" +4.5 µm ", 4.5),
        ("4.5 \u{3bc}m", 4.5),
        ("4.5um", 4.5),
        ("4.5\u{a0}um", 4.5),
        ("4.5\u{2009}µm", 4.5),
        ("4.5\u{202f}µm", 4.5),
        ("\u{2212}4.5 µm", -4.5),
        ("-4.5", -4.5),
        ("1e\u{2212}3 mm", 1.0),
        ("1,5 mm", 1500.0),
        ("1,200", 1.2),
        (".5", 0.5),
        ("5.", 5.0),
        ("12\u{202f}345,678\u{202f}9", 12_345.678_9),
        ("0e999", 0.0),
        ("-0", 0.0),
    ];
    for (text, expected) in cases {
        assert_eq!(length(text), Ok(expected), "{text}");
    }
    // Multiplying by 1e-3 would give 0.30000000000000004 and 1.1000000000000001.
    assert_eq!(length("300 nm"), Ok(0.3));
    assert_eq!(length("1100 nm"), Ok(1.1));
    assert!(length("-0").unwrap().is_sign_positive());
}

#[test]
fn every_dimension_has_its_units() {
    let cases = [
        ("45°", Dimension::Angle, Unit::DEGREE, 45.0),
        ("45 deg", Dimension::Angle, Unit::DEGREE, 45.0),
        ("45 \u{ba}", Dimension::Angle, Unit::DEGREE, 45.0),
        ("0.8 rad", Dimension::Angle, Unit::RADIAN, 0.8),
        ("800 mrad", Dimension::Angle, Unit::RADIAN, 0.8),
        ("0.8 rad", Dimension::Angle, Unit::DEGREE, 0.8_f64.to_degrees()),
        ("180°", Dimension::Angle, Unit::RADIAN, std::f64::consts::PI),
        ("1.5 %", Dimension::Ratio, Unit::PERCENT, 1.5),
        ("1.5", Dimension::Ratio, Unit::PERCENT, 1.5),
        ("3 ‰", Dimension::Ratio, Unit::PERCENT, 0.3),
        ("50 ppm", Dimension::Ratio, Unit::PERCENT, 0.005),
        ("0.3 dB", Dimension::Loss, Unit::DECIBEL, 0.3),
        ("3 dB/cm", Dimension::LossPerLength, Unit::DECIBEL_PER_CENTIMETRE, 3.0),
        ("3 dB / cm", Dimension::LossPerLength, Unit::DECIBEL_PER_CENTIMETRE, 3.0),
        ("3 dB/m", Dimension::LossPerLength, Unit::DECIBEL_PER_CENTIMETRE, 0.03),
        ("0.2 dB/km", Dimension::LossPerLength, Unit::DECIBEL_PER_METRE, 2e-4),
        ("1 dB/um", Dimension::LossPerLength, Unit::DECIBEL_PER_CENTIMETRE, 1e4),
        ("70 GPa", Dimension::Pressure, Unit::MEGAPASCAL, 70_000.0),
        ("500 kPa", Dimension::Pressure, Unit::MEGAPASCAL, 0.5),
        ("1 MPa", Dimension::Pressure, Unit::MEGAPASCAL, 1.0),
        ("1 mPa", Dimension::Pressure, Unit::MEGAPASCAL, 1e-9),
        ("2 mN", Dimension::Force, Unit::MICRONEWTON, 2000.0),
        ("25 °C", Dimension::Temperature, Unit::CELSIUS, 25.0),
        ("25 ℃", Dimension::Temperature, Unit::CELSIUS, 25.0),
        ("273.15 K", Dimension::Temperature, Unit::CELSIUS, 0.0),
        ("0 °C", Dimension::Temperature, Unit::KELVIN, 273.15),
        ("60 K", Dimension::TemperatureStep, Unit::CELSIUS, 60.0),
        ("17 ppm/K", Dimension::Expansion, Unit::MILLIONTH_PER_KELVIN, 17.0),
        ("17e-6/K", Dimension::Expansion, Unit::MILLIONTH_PER_KELVIN, 17.0),
        ("17e-6 1/K", Dimension::Expansion, Unit::MILLIONTH_PER_KELVIN, 17.0),
        ("12", Dimension::Count, Unit::NONE, 12.0),
        ("1e3", Dimension::Count, Unit::NONE, 1000.0),
        ("1,444", Dimension::Plain, Unit::NONE, 1.444),
    ];
    for (text, dimension, unit, expected) in cases {
        let value = parse_quantity(text, dimension, unit).unwrap_or_else(|error| panic!("{text}: {error}"));
        assert!((value - expected).abs() <= 2e-16 * expected.abs(), "{text}: {value} against {expected}");
    }
}

#[test]
fn a_wrong_dimension_is_named() {
    let cases = [
        ("45°", Dimension::Length, Unit::MICROMETRE, "“45°” is an angle, but this field is a length"),
        ("3 µm", Dimension::Angle, Unit::DEGREE, "“3 µm” is a length, but this field is an angle"),
        (
            "3 dB",
            Dimension::LossPerLength,
            Unit::DECIBEL_PER_CENTIMETRE,
            "“3 dB” is a loss, but this field is a loss per length",
        ),
        ("5 %", Dimension::Count, Unit::NONE, "“5 %” is a percentage, but this field is a count"),
        (
            "5 MPa",
            Dimension::Plain,
            Unit::NONE,
            "“5 MPa” is a modulus or stress, but this field is a plain number",
        ),
        ("20 °C", Dimension::Angle, Unit::DEGREE, "“20 °C” is a temperature, but this field is an angle"),
    ];
    for (text, dimension, unit, expected) in cases {
        assert_eq!(words(text, dimension, unit), expected);
    }
}

#[test]
fn an_unknown_unit_gets_a_hint() {
    assert_eq!(
        words("3 furlong", Dimension::Angle, Unit::DEGREE),
        "“furlong” is not a known unit; an angle is given in µrad, mrad, ° or rad"
    );
    assert_eq!(
        words("3 NM", Dimension::Length, Unit::MICROMETRE),
        "“NM” is not a known unit; did you mean nm? Upper and lower case count"
    );
    assert_eq!(
        words("3 mpa", Dimension::Pressure, Unit::MEGAPASCAL),
        "“mpa” is not a known unit; did you mean mPa or MPa? Upper and lower case count"
    );
    assert_eq!(
        words("3 x", Dimension::Count, Unit::NONE),
        "“x” is not a known unit; this field is a count and takes none"
    );
    assert!(
        words("3 db/cm", Dimension::LossPerLength, Unit::DECIBEL_PER_METRE).contains("did you mean dB/cm?")
    );
    assert!(words("3 Deg", Dimension::Angle, Unit::DEGREE).contains("did you mean °?"));
    assert!(words("3 m m", Dimension::Length, Unit::MICROMETRE).contains("“m m” is not a known unit"));
}

#[test]
fn what_has_two_meanings_is_refused() {
    for text in ["1.200,5 mm", "1,200.5", "1,2.3"] {
        assert!(matches!(length(text), Err(QuantityError::CommaAndDot { .. })), "{text}");
    }
    assert_eq!(
        words("1.200,5 mm", Dimension::Length, Unit::MICROMETRE),
        "“1.200,5” has both a comma and a dot; write one decimal sign and no thousands separator, as in 1200.5"
    );
    for text in ["1,200,000", "1.2.3 mm"] {
        assert!(matches!(length(text), Err(QuantityError::SeveralDecimalSigns { .. })), "{text}");
    }
    for text in
        ["1 200", "1 5 mm", "1\u{a0}5 mm", "1\u{2009}2000", "1234\u{2009}567", "1 .5", "1,5\u{a0}1234"]
    {
        assert!(matches!(length(text), Err(QuantityError::SpaceInNumber { .. })), "{text}");
    }
}

#[test]
fn what_is_no_number_is_refused() {
    for text in ["", "   ", "\u{a0}"] {
        assert_eq!(length(text), Err(QuantityError::Empty { expected: Dimension::Length }));
    }
    for text in
        ["nan", "NaN", "inf", "-inf", "infinity", "µm", ".", ",", "-", "+-3", "e3", "--3", "—", "٣", "x3"]
    {
        assert!(matches!(length(text), Err(QuantityError::NotANumber { .. })), "{text}");
    }
    for text in ["3e", "3e+", "3 e5", "0x10", "1/2", "3 inf"] {
        assert!(matches!(length(text), Err(QuantityError::UnknownUnit { .. })), "{text}");
    }
}

#[test]
fn numbers_stay_in_range() {
    for text in ["1e400", "-1e400", "1e308 m", "1e99999999999999999999", "1e309"] {
        assert!(matches!(length(text), Err(QuantityError::TooLarge { .. })), "{text}");
    }
    for text in ["1e-400", "1e-323 nm", "1e-99999999999999999999"] {
        assert!(matches!(length(text), Err(QuantityError::TooSmall { .. })), "{text}");
    }
    let tiny = parse_quantity("5e-324°", Dimension::Angle, Unit::RADIAN);
    assert!(matches!(tiny, Err(QuantityError::TooSmall { .. })), "{tiny:?}");
    let huge = parse_quantity("1e308 rad", Dimension::Angle, Unit::DEGREE);
    assert!(matches!(huge, Err(QuantityError::TooLarge { .. })), "{huge:?}");
}

#[test]
fn counts_are_whole() {
    for text in ["1.5", "-1", "1e16", "1e-3"] {
        let result = parse_quantity(text, Dimension::Count, Unit::NONE);
        assert!(matches!(result, Err(QuantityError::NotWhole { .. })), "{text}");
    }
}

#[test]
fn a_field_needs_a_unit_of_its_dimension() {
    let error = words("3", Dimension::Length, Unit::DEGREE);
    assert_eq!(error, "the unit “°” of this field does not measure a length");
}

#[test]
fn every_unit_is_found_by_its_symbol() {
    for unit in Unit::ALL {
        assert_eq!(Unit::from_symbol(unit.symbol()), Some(*unit));
        assert!(unit.measures(unit.dimension()));
    }
    assert_eq!(Unit::from_symbol("parsec"), None);
    for dimension in Dimension::ALL {
        let is_bare = matches!(dimension, Dimension::Count | Dimension::Plain);
        assert_eq!(dimension.units().next().is_none(), is_bare, "{dimension}");
    }
}

#[test]
fn numbers_are_shown_without_needless_digits() {
    let cases = [
        (0.0, 4, "0 µm"),
        (-0.0, 4, "0 µm"),
        (350.0, 4, "350 µm"),
        (0.35, 4, "0.35 µm"),
        (1.0 / 3.0, 3, "0.333 µm"),
        (-2.0 / 3.0, 3, "-0.667 µm"),
        (9.9996, 4, "10 µm"),
        (12_345.67, 4, "12346 µm"),
        (1000.0, 2, "1000 µm"),
        (0.000_012_345, 3, "0.0000123 µm"),
        (0.000_001_234_5, 3, "1.23e-6 µm"),
        (1.5e15, 4, "1.5e15 µm"),
        (0.36, 0, "0.4 µm"),
        (0.1, 99, "0.10000000000000001 µm"),
        (f64::NAN, 4, "—"),
        (f64::INFINITY, 4, "—"),
    ];
    for (value, digits, expected) in cases {
        assert_eq!(format_quantity(value, Unit::MICROMETRE, digits), expected);
    }
    assert_eq!(format_quantity(45.0, Unit::DEGREE, 4), "45°");
    assert_eq!(format_quantity(12.0, Unit::NONE, 4), "12");
    assert_eq!(format_quantity(1.5, Unit::PERCENT, 4), "1.5 %");
    assert_eq!(format_quantity_exact(f64::NEG_INFINITY, Unit::DEGREE), "—");
    assert_eq!(format_quantity_exact(1e-300, Unit::DEGREE), "1e-300°");
    assert_eq!(format_quantity_exact(-0.0, Unit::PERCENT), "0 %");
}

/// A finite number of any size, or one of the size that people use.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![any::<f64>().prop_filter("finite", |x| x.is_finite()), -1e6..1e6_f64, -1.0..1.0_f64]
}

/// A unit with a dimension that it measures and that takes fractions.
fn unit() -> impl Strategy<Value = (Dimension, Unit)> {
    prop::sample::select(Unit::ALL).prop_map(|unit| (unit.dimension(), unit))
}

proptest! {
    #[test]
    fn exact_text_reads_back_the_same_number(value in number(), (dimension, unit) in unit()) {
        let text = format_quantity_exact(value, unit);
        prop_assert_eq!(parse_quantity(&text, dimension, unit), Ok(value), "{}", text);
    }

    #[test]
    fn rounded_text_reads_back_to_the_digits_shown(
        value in number().prop_filter("within range after rounding", |x| x.abs() < 1e308 && (*x == 0.0 || x.abs() > 1e-300)),
        (dimension, unit) in unit(), digits in 1_usize..18,
    ) {
        let text = format_quantity(value, unit, digits);
        let read = parse_quantity(&text, dimension, unit).expect("formatted text is readable");
        // Half a unit of the last digit is at most half of 10^(1 − digits) of the value.
        let allowed = (0.5 * 10f64.powi(1 - i32::try_from(digits).expect("small")) + 4e-16) * value.abs();
        prop_assert!((read - value).abs() <= allowed, "{} read as {}", text, read);
        // What is shown does not drift when it is shown again.
        prop_assert_eq!(format_quantity(read, unit, digits), text);
    }

    #[test]
    fn decimal_units_agree_with_the_shifted_text(whole in 0_u32..1_000_000, decimals in 0_u32..1000) {
        let text = format!("{whole}.{decimals:03}");
        let shifted: f64 = format!("{text}e-3").parse().expect("a number");
        prop_assert_eq!(length(&format!("{text} nm")), Ok(shifted));
        prop_assert_eq!(length(&format!("{} nm", text.replace('.', ","))), Ok(shifted));
    }

    #[test]
    fn converting_there_and_back_returns_the_number(value in -1e6..1e6_f64, (dimension, unit) in unit()) {
        for other in Unit::ALL.iter().copied().filter(|other| other.measures(dimension)) {
            let there = parse_quantity(&format_quantity_exact(value, unit), dimension, other).expect("a number");
            let back = parse_quantity(&format_quantity_exact(there, other), dimension, unit).expect("a number");
            // Temperatures lose digits where the zero of one scale is far from the other's.
            let scale = value.abs() + if dimension == Dimension::Temperature { 300.0 } else { 0.0 };
            prop_assert!((back - value).abs() <= 1e-15 * scale, "{value} {unit} came back from {other} as {back}");
        }
    }

    #[test]
    fn no_text_makes_a_number_that_is_not_finite(text in "[-+−0-9.,eE \u{a0}\u{2009}naif%°µumdBK/]{0,14}", (dimension, unit) in unit()) {
        match parse_quantity(&text, dimension, unit) {
            Ok(value) => prop_assert!(value.is_finite()),
            Err(error) => {
                let message = error.to_string();
                prop_assert!(!message.is_empty() && !message.ends_with('.'));
            }
        }
    }
}
