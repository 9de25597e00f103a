//! Torsion stiffness against closed forms and finite elements.

#![allow(clippy::unreadable_literal, reason = "reference values as they were printed")]

use ogee_stack::{Filler, Layer, Row, Section, TorsionNote};
use proptest::prelude::*;

fn layers(width_um: f64, layers: &[(f64, f64, f64)]) -> Section {
    let row = |&(thickness_um, modulus_mpa, poisson)| {
        Layer::new("layer", width_um, thickness_um, modulus_mpa, poisson).into()
    };
    Section::new(width_um, layers.iter().map(row).collect()).expect("the section is sound")
}

fn assert_close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} instead of {expected}");
}

/// S. Timoshenko and J. N. Goodier, Theory of Elasticity: J/(a b³) of rectangles, a the longer side.
#[test]
fn classical_rectangles() {
    let table = [
        (1.0, 0.1406),
        (1.2, 0.166),
        (1.5, 0.196),
        (2.0, 0.229),
        (2.5, 0.249),
        (3.0, 0.263),
        (4.0, 0.281),
        (5.0, 0.291),
        (10.0, 0.312),
    ];
    for (ratio, factor) in table {
        for (width_um, thickness_um) in [(2.0 * ratio, 2.0), (2.0, 2.0 * ratio)] {
            let torsion = layers(width_um, &[(thickness_um, 2000.0, 0.0)]).torsion_un_um2();
            assert_eq!(torsion.note, TorsionNote::Exact);
            assert_close(torsion.value_un_um2, factor * 1000.0 * 16.0 * ratio, 3e-3);
        }
    }
    let square = layers(3.0, &[(3.0, 2000.0, 0.0)]).torsion_un_um2().value_un_um2;
    assert_close(square, 0.1405770149 * 81.0 * 1000.0, 1e-8);
}

/// The same book: torque over the greatest shear stress and a b².
#[test]
fn classical_shear() {
    let table = [(1.0, 0.208), (1.5, 0.231), (2.0, 0.246), (3.0, 0.267), (5.0, 0.291), (10.0, 0.312)];
    for (ratio, factor) in table {
        let section = layers(2.0 * ratio, &[(2.0, 2000.0, 0.0)]);
        let torque_per_twist = section.torsion_un_um2().value_un_um2;
        let stress_per_twist = 1000.0 * section.twist_shear_um().expect("one layer");
        assert_close(torque_per_twist / (stress_per_twist * 8.0 * ratio), factor, 3e-3);
    }
    // τ_max of a square is 0.675314 G θ a.
    assert_close(layers(2.0, &[(2.0, 2000.0, 0.0)]).twist_shear_um().expect("one layer"), 1.350629, 1e-6);
}

/// Far from its edges a laminate shears as a plate: γ is twice the height over the middle of the stiffness.
#[test]
fn shear_of_a_wide_laminate() {
    let wide = layers(1000.0, &[(4.0, 2000.0, 0.0), (1.0, 40_000.0, 0.0)]);
    let middle = (4.0 * 2.0 + 20.0 * 4.5) / 24.0;
    assert_close(wide.twist_shear_um().expect("full-width layers"), 2.0 * middle, 1e-6);
    // Splitting a layer changes nothing.
    let whole = layers(7.0, &[(4.0, 2000.0, 0.3), (1.0, 9000.0, 0.2)]);
    let split = layers(7.0, &[(1.5, 2000.0, 0.3), (2.5, 2000.0, 0.3), (1.0, 9000.0, 0.2)]);
    let (whole, split) = (whole.twist_shear_um(), split.twist_shear_um());
    assert_close(whole.expect("full-width layers"), split.expect("full-width layers"), 1e-9);
    let narrow = Row::open(Layer::new("core", 3.0, 1.0, 2000.0, 0.3));
    let base = Row::open(Layer::new("base", 7.0, 1.0, 2000.0, 0.3));
    assert_eq!(Section::new(7.0, vec![base, narrow]).expect("sound").twist_shear_um(), None);
}

#[test]
fn thin_strips_are_plates() {
    // J → a b³/3 (1 − 0.63025 b/a)
    for ratio in [100.0, 1000.0, 9000.0, 1e5, 1e7] {
        let torsion = layers(ratio, &[(1.0, 2000.0, 0.0)]).torsion_un_um2().value_un_um2;
        assert_close(torsion, 1000.0 / 3.0 * (ratio - 0.6302498), 1e-6);
    }
}

/// Finite elements, two complementary forms.
#[test]
fn laminates_meet_finite_elements() {
    let polymer = (4.0, 3000.0, 0.36);
    let cases = [
        (layers(20.0, &[(5.0, 4000.0, 0.22)]), 1150872.78021),
        (layers(15.0, &[(4.0, 4000.0, 0.22), (1.0, 72000.0, 0.17)]), 1898167.43834),
        (layers(30.0, &[(4.0, 2500.0, 0.34), (0.3, 78000.0, 0.42), (4.0, 2500.0, 0.34)]), 4441043.47432),
        (layers(40.0, &[(3.0, 72000.0, 0.17), (5.0, 1.8, 0.49), (3.0, 72000.0, 0.17)]), 21271207.9822),
        (layers(3.0, &[polymer, (2.0, 16000.0, 0.24), polymer]), 124100.199772),
        (
            layers(
                25.0,
                &[
                    (2.0, 2800.0, 0.4),
                    (0.5, 117000.0, 0.34),
                    (6.0, 2500.0, 0.34),
                    (0.2, 78000.0, 0.42),
                    (1.5, 2800.0, 0.4),
                ],
            ),
            14311463.3725,
        ),
    ];
    for (section, expected) in cases {
        assert_close(section.torsion_un_um2().value_un_um2, expected, 2e-6);
    }
    let wide = layers(2000.0, &[(25.0, 2500.0, 0.34), (1.0, 230000.0, 0.25)]);
    assert_close(wide.torsion_un_um2().value_un_um2, 34428659625.6, 2e-5);
}

fn buried(
    width_um: f64,
    below_um: f64,
    core: Layer,
    above_um: f64,
    (modulus_mpa, poisson): (f64, f64),
) -> Vec<Row> {
    let full = |thickness_um| Row::open(Layer::new("cladding", width_um, thickness_um, modulus_mpa, poisson));
    vec![full(below_um), Row::filled(core, Filler::new("side", modulus_mpa, poisson)), full(above_um)]
}

#[test]
fn pieces_meet_finite_elements() {
    let polyimide = (2500.0, 0.34);
    let cases = [
        (
            15.0,
            buried(15.0, 4.0, Layer::new("core", 2.0, 1.0, 16000.0, 0.24), 4.0, (4000.0, 0.22)),
            3741969.1066,
        ),
        (
            40.0,
            buried(40.0, 5.0, Layer::new("trace", 18.0, 0.6, 117000.0, 0.34), 5.0, polyimide),
            12393961.9231,
        ),
        (
            40.0,
            buried(40.0, 5.0, Layer::new("trace", 8.0, 1.0, 117000.0, 0.34).with_offset(9.0), 3.0, polyimide),
            8034236.17473,
        ),
    ];
    for (width_um, rows, expected) in cases {
        let torsion = Section::new(width_um, rows).unwrap().torsion_un_um2();
        assert_eq!(torsion.note, TorsionNote::Pieces);
        assert_close(torsion.value_un_um2, expected, 2e-4);
        assert!(torsion.lower_un_um2 <= expected && expected <= torsion.upper_un_um2, "{torsion:?}");
    }
}

#[test]
fn narrow_stacks_on_wide_carriers_meet_finite_elements() {
    let oxide = vec![
        Row::open(Layer::new("elastomer", 60.0, 20.0, 12.0, 0.48)),
        Row::open(Layer::new("oxide", 12.0, 2.0, 72000.0, 0.17)),
        Row::open(Layer::new("nitride", 12.0, 0.4, 230000.0, 0.25)),
    ];
    let side = Filler::new("side", 4000.0, 0.22).with_width(20.0);
    let epoxy = vec![
        Row::open(Layer::new("elastomer", 80.0, 30.0, 1.8, 0.49)),
        Row::open(Layer::new("lower", 20.0, 3.0, 4000.0, 0.22)),
        Row::filled(Layer::new("core", 3.0, 1.2, 16000.0, 0.24), side),
        Row::open(Layer::new("upper", 20.0, 6.0, 4000.0, 0.22)),
    ];
    for (width_um, rows, expected) in [(60.0, oxide, 2832318.23553), (80.0, epoxy, 8413278.18344)] {
        let torsion = Section::new(width_um, rows).unwrap().torsion_un_um2();
        assert_eq!(torsion.note, TorsionNote::Outline);
        assert_close(torsion.value_un_um2, expected, 2e-4);
        assert!(torsion.lower_un_um2 < torsion.value_un_um2 && torsion.value_un_um2 < torsion.upper_un_um2);
    }
}

proptest! {
    /// Any sound section has a finite stiffness within its range, in proportion to the moduli.
    #[test]
    fn any_section_has_a_torsion_stiffness(
        width_um in 0.5..500.0,
        thicknesses_um in prop::collection::vec(0.05..20.0, 1..5),
        exponents in prop::collection::vec(-1.0..5.5, 6),
        shares in prop::collection::vec(0.1..1.0, 5),
        filled in prop::collection::vec(any::<bool>(), 5),
    ) {
        let rows = |factor: f64| -> Vec<Row> {
            thicknesses_um
                .iter()
                .enumerate()
                .map(|(i, &thickness_um)| {
                    let modulus_mpa = factor * 10_f64.powf(exponents[i]);
                    let core = Layer::new("core", width_um * shares[i], thickness_um, modulus_mpa, 0.3);
                    if filled[i] {
                        Row::filled(core, Filler::new("side", factor * 10_f64.powf(exponents[i + 1]), 0.2))
                    } else {
                        Row::open(core)
                    }
                })
                .collect()
        };
        let [once, twice] = [1.0, 2.0].map(|factor| {
            Section::new(width_um, rows(factor)).unwrap().torsion_un_um2()
        });
        let (lower, value, upper) = (once.lower_un_um2, once.value_un_um2, once.upper_un_um2);
        prop_assert!(lower > 0.0 && upper.is_finite(), "{:?}", once);
        prop_assert!(lower <= value && value <= upper, "{:?}", once);
        prop_assert!((twice.value_un_um2 / value - 2.0).abs() < 1e-6);
        let poisson = Section::new(width_um, rows(1.0)).unwrap().poisson();
        prop_assert!((0.2 - 1e-12..=0.3 + 1e-12).contains(&poisson));
    }
}

#[test]
fn the_grid_meets_the_series() {
    // A cut through a layer of one material changes nothing but the way: the grid's section differs by a hair.
    let full = layers(12.0, &[(3.0, 3000.0, 0.3), (1.0, 70000.0, 0.17)]).torsion_un_um2();
    let rows = vec![
        Row::open(Layer::new("polymer", 12.0, 3.0, 3000.0, 0.3)),
        Row::filled(Layer::new("glass", 5.0, 1.0, 70000.0, 0.17), Filler::new("glass too", 70000.1, 0.17)),
    ];
    let grid = Section::new(12.0, rows).unwrap().torsion_un_um2();
    assert!(full.note == TorsionNote::Exact && grid.note == TorsionNote::Pieces);
    assert_close(grid.value_un_um2, full.value_un_um2, 2e-4);
    assert!(grid.lower_un_um2 <= full.value_un_um2 && full.value_un_um2 <= grid.upper_un_um2);
}
