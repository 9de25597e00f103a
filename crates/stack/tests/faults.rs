//! What a section refuses, and how it says so.

use ogee_stack::{CurvatureError, Field, Filler, Layer, Row, Section, SectionError, curved_integrals};

fn layer() -> Layer {
    Layer::new("film", 10.0, 2.0, 4000.0, 0.3)
}

fn fault(row: impl Into<Row>) -> SectionError {
    let rows = [row.into()];
    let faults = Section::faults(10.0, &rows);
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert_eq!(Section::new(10.0, rows.to_vec()).expect_err("a faulty row"), faults[0]);
    assert_eq!(faults[0].row(), Some(0));
    faults[0].clone()
}

#[test]
fn no_layer() {
    assert_eq!(Section::new(10.0, Vec::new()), Err(SectionError::NoLayers));
    assert_eq!(SectionError::NoLayers.to_string(), "the stack has no layer; at least one is needed");
}

#[test]
fn ribbon_width_must_be_above_zero() {
    for value_um in [0.0, -1.0, f64::INFINITY, f64::NAN] {
        let error = Section::new(value_um, vec![layer().into()]).unwrap_err();
        assert!(matches!(error, SectionError::RibbonWidth { .. }), "{error}");
        assert_eq!(error.field(), Some(Field::RibbonWidth));
        assert_eq!(error.row(), None);
    }
}

#[test]
fn width_thickness_and_modulus_must_be_above_zero() {
    for value in [0.0, -3.0] {
        let cases = [
            (Layer { width_um: value, ..layer() }, Field::Width),
            (Layer { thickness_um: value, ..layer() }, Field::Thickness),
            (Layer { modulus_mpa: value, ..layer() }, Field::Modulus),
        ];
        for (layer, field) in cases {
            let error = fault(layer);
            assert_eq!(error, SectionError::NotPositive { row: 0, layer: "film".into(), field, value });
            assert_eq!((error.field(), error.value()), (Some(field), Some(value)));
            assert_eq!(error.range(), Some((0.0, f64::INFINITY)));
        }
    }
    let error = fault(Layer { thickness_um: -3.0, ..layer() });
    assert_eq!(error.to_string(), "thickness of layer 1 (film) is -3 µm; it must be above 0");
}

#[test]
fn poisson_ratio_stays_between_minus_one_and_a_half() {
    for (poisson, nearest) in [(0.5, 0.499), (0.7, 0.499), (-1.0, -0.999)] {
        let error = fault(Layer { poisson, ..layer() });
        assert_eq!(error, SectionError::Poisson { row: 0, layer: "film".into(), value: poisson });
        assert_eq!((error.range(), error.nearest()), (Some((-1.0, 0.5)), Some(nearest)));
    }
    for poisson in [-0.999, 0.0, 0.499_999] {
        assert!(Section::new(10.0, vec![Layer { poisson, ..layer() }.into()]).is_ok());
    }
}

#[test]
fn values_must_be_finite() {
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let cases = [
            (Layer { width_um: value, ..layer() }, Field::Width),
            (Layer { thickness_um: value, ..layer() }, Field::Thickness),
            (Layer { offset_um: value, ..layer() }, Field::Offset),
            (Layer { modulus_mpa: value, ..layer() }, Field::Modulus),
            (Layer { poisson: value, ..layer() }, Field::Poisson),
        ];
        for (layer, expected) in cases {
            let rows = [Row::open(layer)];
            let faults = Section::faults(10.0, &rows);
            let [SectionError::NotFinite { row: 0, field, .. }] = faults[..] else { panic!("{faults:?}") };
            assert_eq!(field, expected);
        }
    }
}

#[test]
fn a_layer_fits_into_the_ribbon() {
    let wide = fault(Layer { width_um: 10.5, ..layer() });
    assert_eq!(wide.to_string(), "layer 1 (film) is 10.5 µm wide; the ribbon is only 10 µm wide");
    assert_eq!(wide.nearest(), Some(10.0));

    let leaning = fault(Layer { width_um: 4.0, ..layer() }.with_offset(-3.5));
    assert_eq!(
        leaning.to_string(),
        "layer 1 (film) sticks out at an offset of -3.5 µm; from -3 to 3 µm it stays inside"
    );
    assert_eq!(leaning.nearest(), Some(-3.0));
    assert!(Section::new(10.0, vec![Layer { width_um: 4.0, ..layer() }.with_offset(-3.0).into()]).is_ok());
    // 0.1 + 0.2 is a little more than 0.3: rounding of that size is no fault.
    assert!(Section::new(0.3, vec![Layer { width_um: 0.1 + 0.2, ..layer() }.into()]).is_ok());
}

#[test]
fn fillers_are_checked_too() {
    let core = || Layer { width_um: 4.0, ..layer() };
    let error = fault(Row::filled(core(), Filler::new("side", -1.0, 0.3)));
    assert_eq!(error.to_string(), "modulus of layer 1 (side) is -1 MPa; it must be above 0");
    let error = fault(Row::filled(core(), Filler::new("side", 100.0, 0.5)));
    assert!(matches!(error, SectionError::Poisson { .. }));
    let error = fault(Row::filled(core(), Filler::new("side", 100.0, 0.3).with_width(12.0)));
    assert!(matches!(error, SectionError::WiderThanRibbon { .. }));
    let error = fault(Row::filled(core(), Filler::new("side", 100.0, 0.3).with_width(3.0)));
    assert_eq!(error.to_string(), "layer 1 (film) is 4 µm wide; its sides are filled to 3 µm only");
    let error = fault(Row::filled(core().with_offset(2.0), Filler::new("side", 100.0, 0.3).with_width(6.0)));
    assert_eq!(error.range(), Some((-1.0, 1.0)));
}

#[test]
fn a_layer_rests_on_the_one_below() {
    let narrow = |offset| Row::open(Layer { width_um: 2.0, ..layer() }.with_offset(offset));
    let faults = Section::faults(10.0, &[narrow(-4.0), narrow(-2.0)]);
    assert_eq!(faults.len(), 1);
    assert_eq!((faults[0].row(), faults[0].range()), (Some(1), Some((-6.0, -2.0))));
    assert!(Section::new(10.0, vec![narrow(-4.0), narrow(-2.5)]).is_ok());
}

#[test]
fn all_faults_come_at_once() {
    let rows = [
        Row::open(Layer { thickness_um: 0.0, poisson: 0.6, ..layer() }),
        Row::open(layer()),
        Row::open(Layer { width_um: 11.0, ..layer() }),
    ];
    let faults = Section::faults(10.0, &rows);
    let places: Vec<_> = faults.iter().map(|f| (f.row(), f.field().map(Field::key))).collect();
    let expected =
        [(Some(0), Some("thickness_um")), (Some(0), Some("poisson_ratio")), (Some(2), Some("width_um"))];
    assert_eq!(places, expected);
}

#[test]
fn values_out_of_the_range_of_numbers_are_refused() {
    let error = Section::new(1e200, vec![Layer { width_um: 1e200, ..layer() }.into()]).unwrap_err();
    assert!(matches!(error, SectionError::OutOfNumbers { .. }), "{error}");
    let error = Section::new(10.0, vec![Layer { thickness_um: 1e-200, ..layer() }.into()]).unwrap_err();
    assert!(matches!(error, SectionError::OutOfNumbers { .. }), "{error}");
}

#[test]
fn the_centre_of_a_bend_is_out_of_reach() {
    let section = Section::new(10.0, vec![layer().into()]).unwrap();
    assert!(section.curved_stiffness(0.199).is_ok());
    for rest_per_um in [0.2, 0.3] {
        let offset_um = 5.0;
        let expected = CurvatureError::FoldedFibre { offset_um, rest_per_um };
        assert_eq!(section.curved_stiffness(rest_per_um), Err(expected));
    }
    assert!(matches!(
        curved_integrals(-0.2, -5.0, 5.0),
        Err(CurvatureError::FoldedFibre { offset_um: -5.0, .. })
    ));
    assert!(matches!(curved_integrals(f64::NAN, -5.0, 5.0), Err(CurvatureError::NotFinite { .. })));
    assert!(matches!(curved_integrals(0.0, -1e200, 1e200), Err(CurvatureError::NotFinite { .. })));
}
