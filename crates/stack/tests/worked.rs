//! Worked sections: closed forms, and values integrated numerically patch by patch, independently of the formulas.

use ogee_stack::{Filler, Layer, ModulusKind, Row, Section, SectionStrain, curved_integrals};

fn assert_close(value: f64, expected: f64, relative: f64) {
    let error = (value - expected).abs() / expected.abs();
    assert!(error <= relative, "{value} against {expected}: relative error {error:e}, allowed {relative:e}");
}

#[test]
fn one_rectangle() {
    let section = Section::new(20.0, vec![Layer::new("polymer", 20.0, 5.0, 4000.0, 0.22).into()]).unwrap();
    assert_close(section.ea_un(), 4000.0 * 100.0, 1e-15);
    assert_close(section.ei_in_plane_un_um2(), 4000.0 * 5.0 * 8000.0 / 12.0, 1e-15);
    assert_close(section.ei_out_of_plane_un_um2(), 4000.0 * 20.0 * 125.0 / 12.0, 1e-15);
    assert_eq!(section.neutral_plane_um(), 2.5);
    // A bend of radius 30 µm.
    let curved = section.curved_stiffness(0.033_333_333_333_3).unwrap();
    assert_close(curved.a0_un, 415_888.308_336, 1e-11);
    assert_close(curved.a1_un_um, 476_649.250_079, 1e-11);
    assert_close(curved.a2_un_um2, 14_299_477.502_4, 1e-11);
}

#[test]
fn a_trace_off_the_middle_couples_the_bendings() {
    let polymer = |t| Row::open(Layer::new("polymer", 40.0, t, 2500.0, 0.34));
    let trace = Layer::new("trace", 8.0, 1.0, 117_000.0, 0.34).with_offset(9.0);
    let rows = vec![polymer(5.0), Row::filled(trace, Filler::new("polymer", 2500.0, 0.34)), polymer(3.0)];
    let section = Section::new(40.0, rows).unwrap();
    assert_close(section.ea_un(), 1_816_000.0, 1e-12);
    assert_close(section.neutral_plane_um(), 5.004_405_286_34, 1e-11);
    assert_close(section.neutral_axis_y_um(), 4.539_647_577_09, 1e-11);
    assert_close(section.ei_out_of_plane_un_um2(), 6_605_298.091_04, 1e-11);
    assert_close(section.ei_in_plane_un_um2(), 161_656_478.708, 1e-11);
    assert_close(section.ei_coupling_un_um2(), 4_085_682.819_38, 1e-11);
    assert!(!section.is_symmetric_in_plane());

    let names: Vec<_> = section.rectangles().iter().map(|r| (r.row, r.is_filler, r.y0_um, r.y1_um)).collect();
    let expected = [
        (0, false, -20.0, 20.0),
        (1, true, -20.0, 5.0),
        (1, false, 5.0, 13.0),
        (1, true, 13.0, 20.0),
        (2, false, -20.0, 20.0),
    ];
    assert_eq!(names, expected);

    let state = SectionStrain {
        membrane: 5e-4,
        curvature_out_per_um: 3.333_333_333_33e-4,
        curvature_in_per_um: 1.25e-4,
    };
    let strains = section.strains(&state);
    assert_close(strains[0].bottom_left, -0.003_100_679_148_31, 1e-11);
    assert_close(strains[2].bottom_middle, -5.901_248_164_46e-5, 1e-9);
    assert_close(strains[2].top_right, 7.743_208_516_89e-4, 1e-11);
    assert_close(strains[4].greatest(), 0.004_899_320_851_69, 1e-11);
    assert_close(strains[0].least(), -0.003_100_679_148_31, 1e-11);
    let loads = section.loads(&state);
    assert_close(loads.moment_out_un_um, 1_691.055_677_92, 1e-11);
    assert_close(loads.moment_in_un_um, 18_845.165_565_3, 1e-11);

    let curved = section.curved_stiffness(-0.02).unwrap();
    assert_close(curved.a0_un, 1_730_673.916_07, 1e-11);
    assert_close(curved.a1_un_um, 4_266_304.196_44, 1e-11);
    assert_close(curved.a2_un_um2, 198_884_790.178, 1e-11);
}

#[test]
fn a_narrow_stack_stands_on_a_wide_carrier() {
    let carrier = Row::open(Layer::new("elastomer", 80.0, 30.0, 1.8, 0.49));
    let lower = Row::open(Layer::new("lower", 20.0, 3.0, 4000.0, 0.22));
    let core = Layer::new("core", 3.0, 1.2, 16_000.0, 0.24);
    let middle = Row::filled(core, Filler::new("side", 4000.0, 0.22).with_width(20.0));
    let upper = Row::open(Layer::new("upper", 20.0, 6.0, 4000.0, 0.22));
    let section = Section::new(80.0, vec![carrier, lower, middle, upper]).unwrap();
    // 1.8·2400 + 4000·(60 + 20.4 + 120) + 16000·3.6
    assert_close(section.ea_un(), 4320.0 + 4000.0 * 200.4 + 16_000.0 * 3.6, 1e-14);
    assert_eq!(section.rectangles()[2].y0_um, -10.0);
    assert_eq!(section.width_um(), 80.0);
    assert_eq!(section.strips().len(), 3);
}

#[test]
fn side_pieces_become_a_hollow_strip() {
    let core = Layer::new("core", 4.0, 1.0, 100.0, 0.3);
    let section = Section::new(10.0, vec![Row::filled(core, Filler::new("side", 300.0, 0.3))]).unwrap();
    let strips = section.strips();
    let pairs: Vec<_> = strips.iter().map(|s| (s.half_width_um, s.stiffness_un_per_um)).collect();
    assert_eq!(pairs, [(5.0, 300.0), (2.0, -200.0)]);
}

/// Suo, Ma, Gleskova, Wagner, "Mechanics of rollable and foldable film-on-foil electronics", 1999: film strain of a
/// foil bent to a radius R, (`h_f` + `h_s)/(2R`) · (1 + 2η + χη²)/((1 + η)(1 + χη)).
#[test]
fn film_on_foil() {
    let cases = [
        (0.01, 100.0, 0.509_900_990_099),
        (0.1, 100.0, 0.181_818_181_818),
        (0.2, 100.0, 0.214_285_714_286),
        (1.0, 100.0, 0.509_900_990_099),
        (0.05, 1.0, 1.0),
    ];
    for (thickness_ratio, modulus_ratio, expected) in cases {
        let foil = Row::open(Layer::new("foil", 2000.0, 50.0, 2500.0, 0.3));
        let film = Layer::new("film", 2000.0, 50.0 * thickness_ratio, 2500.0 * modulus_ratio, 0.3);
        let section = Section::new(2000.0, vec![foil, film.into()])
            .and_then(|s| s.with_modulus_kind(ModulusKind::PlaneStrain))
            .unwrap();
        let state = SectionStrain { curvature_out_per_um: 1e-4, ..SectionStrain::default() };
        let strain = section.strains(&state)[1].top_middle;
        assert_close(strain / (0.5 * section.thickness_um() * 1e-4), expected, 1e-10);
    }
}

/// The same source: a cap puts a thin film into the neutral plane when `Y_s` `h_s²` = `Y_c` `h_c²`.
#[test]
fn a_cap_moves_the_neutral_plane_into_the_film() {
    let foil = Row::open(Layer::new("foil", 100.0, 20.0, 1000.0, 0.3));
    let film = Row::open(Layer::new("film", 100.0, 1e-3, 1000.0, 0.3));
    let cap = Row::open(Layer::new("cap", 100.0, 10.0, 4000.0, 0.3));
    let section = Section::new(100.0, vec![foil, film, cap]).unwrap();
    assert!((section.neutral_plane_um() - 20.0).abs() < 1e-3);
}

#[test]
fn plane_strain_stiffens_by_the_poisson_ratio() {
    let beam = Section::new(20.0, vec![Layer::new("foil", 20.0, 5.0, 4000.0, 0.4).into()]).unwrap();
    assert_eq!(beam.modulus_kind(), ModulusKind::Beam);
    let plate = beam.clone().with_modulus_kind(ModulusKind::PlaneStrain).unwrap();
    assert_close(plate.ea_un() / beam.ea_un(), 1.0 / 0.84, 1e-15);
    assert_close(plate.ei_out_of_plane_un_um2() / beam.ei_out_of_plane_un_um2(), 1.0 / 0.84, 1e-15);
    assert_close(plate.strips()[0].stiffness_un_per_um, 20_000.0 / 0.84, 1e-15);
    assert_eq!(plate.with_modulus_kind(ModulusKind::Beam).unwrap(), beam);
}

/// J1 and J2 of a symmetric strip against their leading terms κ0 w³/12 and w³/12, where a closed form would lose
/// most of its digits, and on both sides of the change of method.
#[test]
fn curved_integrals_keep_their_digits() {
    for rest_per_um in [0.0, 1e-14, 1e-9, 1e-6, 1e-4] {
        let [j0, j1, j2] = curved_integrals(rest_per_um, -0.5, 0.5).unwrap();
        let square = rest_per_um * rest_per_um;
        assert_close(j0, 1.0 + square / 12.0, 1e-15);
        assert!((j1 - rest_per_um / 12.0 * (1.0 + 0.15 * square)).abs() <= 1e-15 * rest_per_um);
        assert_close(j2, 1.0 / 12.0 + square / 80.0, 1e-15);
    }
    for (from_um, to_um) in [(-0.5, 0.5), (0.2, 0.5), (-0.5, -0.45)] {
        let below = curved_integrals(0.5 - 1e-14, from_um, to_um).unwrap();
        let above = curved_integrals(0.5 + 1e-14, from_um, to_um).unwrap();
        for (b, a) in below.into_iter().zip(above) {
            assert!((a - b).abs() <= 3e-13 * a.abs(), "{b} jumps to {a}");
        }
    }
}
