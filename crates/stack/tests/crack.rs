//! Cracks and wrinkles: limits, ranges, and how they hang together.

use ogee_stack::{
    ChannelCrack, CrackBase, CrackError, CrackField, CrackNumbers, CrackVerdict, Solid, Uncovered, Wrinkle,
    crack_factor, dundurs_alpha,
};

fn solid(modulus_mpa: f64, poisson: f64) -> Solid {
    Solid::new(modulus_mpa, poisson).expect("in range")
}

fn silica() -> Solid {
    solid(72_000.0, 0.17)
}

fn epoxy() -> Solid {
    solid(4000.0, 0.25)
}

fn elastomer() -> Solid {
    solid(1.8, 0.49)
}

fn on(base: CrackBase, stress_mpa: f64) -> ChannelCrack {
    ChannelCrack { film: silica(), thickness_um: 1.0, stress_mpa, toughness_mpa_sqrt_m: 0.75, base }
}

fn numbers(crack: &ChannelCrack) -> CrackNumbers {
    match crack.verdict().expect("in range") {
        CrackVerdict::Numbers(numbers) => numbers,
        other => panic!("{other}"),
    }
}

#[test]
fn the_critical_thickness_is_where_drive_meets_toughness() {
    let mut crack = on(CrackBase::Deep(epoxy()), 100.0);
    let first = numbers(&crack);
    assert!(first.driving_un_per_um < first.toughness_un_per_um && first.critical_thickness_um > 1.0);
    crack.thickness_um = first.critical_thickness_um;
    let second = numbers(&crack);
    assert!((second.driving_un_per_um / second.toughness_un_per_um - 1.0).abs() < 1e-12);
    crack.stress_mpa = 200.0;
    assert!((numbers(&crack).critical_thickness_um * 4.0 / first.critical_thickness_um - 1.0).abs() < 1e-12);
}

#[test]
fn alpha_is_odd_and_within_its_bounds() {
    assert!(dundurs_alpha(&silica(), &silica()).abs() < 1e-16);
    assert_eq!(dundurs_alpha(&silica(), &epoxy()), -dundurs_alpha(&epoxy(), &silica()));
    let extreme = dundurs_alpha(&solid(1e200, 0.0), &solid(1e-200, 0.0));
    assert_eq!(extreme, 1.0);
}

#[test]
fn straight_on_an_elastomer_there_is_no_number() {
    let verdict = on(CrackBase::Deep(elastomer()), 10.0).verdict().expect("in range");
    assert!(matches!(verdict, CrackVerdict::NoSafeThickness { alpha } if alpha > 0.9999));
    let text = "no crack-safe thickness: keep the film in compression or below its strain limit";
    assert_eq!(verdict.to_string(), text);
    // In compression it is safe from cracks on anything.
    let pressed = on(CrackBase::Deep(elastomer()), -80.0).verdict().expect("in range");
    assert_eq!(pressed, CrackVerdict::NoTension);
    let soft = ChannelCrack { film: elastomer(), ..on(CrackBase::Deep(silica()), 10.0) };
    let verdict = soft.verdict().expect("in range");
    assert!(matches!(verdict, CrackVerdict::Uncovered(Uncovered::SoftFilm { .. })), "{verdict}");
}

fn buffered(thickness_um: f64) -> CrackBase {
    CrackBase::Buffered { buffer: epoxy(), thickness_um, carrier: elastomer() }
}

#[test]
fn a_thicker_buffer_lowers_the_factor_towards_that_of_a_deep_one() {
    let listed = [(3.0, 16.298), (8.0, 11.545), (20.0, 9.878), (50.0, 9.103)];
    for (thickness_um, factor) in listed {
        assert!((numbers(&on(buffered(thickness_um), 10.0)).factor / factor - 1.0).abs() < 1e-4);
    }
    let thicknesses_um = [3.0, 4.0, 6.0, 9.0, 15.0, 30.0, 100.0, 1e4];
    let factors = thicknesses_um.map(|um| numbers(&on(buffered(um), 10.0)).factor);
    assert!(factors.windows(2).all(|pair| pair[1] < pair[0]), "{factors:?}");
    // The table over α has the same half-space, but for β and what is left of the mesh.
    let deep = crack_factor(dundurs_alpha(&silica(), &epoxy())).expect("in range");
    assert!((factors[7] / deep - 1.0).abs() < 0.02, "{} {deep}", factors[7]);
}

#[test]
fn a_buffer_outside_the_listed_ones_gets_no_number() {
    let reason = |crack: ChannelCrack| match crack.verdict().expect("in range") {
        CrackVerdict::Uncovered(reason) => reason,
        other => panic!("{other}"),
    };
    let thin = reason(on(buffered(2.0), 10.0));
    assert!(matches!(thin, Uncovered::ThinBuffer { value, .. } if (value - 2.0).abs() < 1e-12), "{thin}");
    let other =
        CrackBase::Buffered { buffer: solid(70_000.0, 0.23), thickness_um: 8.0, carrier: elastomer() };
    assert!(matches!(reason(on(other, 10.0)), Uncovered::FilmOverBuffer { .. }));
    let gel = CrackBase::Buffered { buffer: epoxy(), thickness_um: 8.0, carrier: solid(0.01, 0.49) };
    let gel = reason(on(gel, 10.0));
    assert!(matches!(gel, Uncovered::BufferOverCarrier { value, greatest, .. } if value > greatest), "{gel}");
}

#[test]
fn values_out_of_range_are_named() {
    let range = |field, value| Err(CrackError::OutOfRange { field, value });
    assert_eq!(Solid::new(0.0, 0.3).map(|_| ()), range(CrackField::Modulus, 0.0));
    assert_eq!(Solid::new(1.0, 0.5).map(|_| ()), range(CrackField::Poisson, 0.5));
    let crack = on(CrackBase::Deep(epoxy()), 10.0);
    let thin = ChannelCrack { thickness_um: -1.0, ..crack };
    assert_eq!(thin.verdict().map(|_| ()), range(CrackField::Thickness, -1.0));
    let brittle = ChannelCrack { toughness_mpa_sqrt_m: 0.0, ..crack };
    assert_eq!(brittle.verdict().map(|_| ()), range(CrackField::Toughness, 0.0));
    let endless = ChannelCrack { stress_mpa: f64::INFINITY, ..crack };
    assert_eq!(endless.verdict().map(|_| ()), range(CrackField::Stress, f64::INFINITY));
    let huge = ChannelCrack { stress_mpa: 1e200, ..crack };
    assert!(matches!(huge.verdict(), Err(CrackError::OutOfNumbers { .. })));
    assert_eq!(Wrinkle::of_stack(&[], &elastomer()), Err(CrackError::NoPlies));
    let text = Solid::new(1.0, 0.5).expect_err("out of range").to_string();
    assert_eq!(text, "Poisson's ratio of 0.5 is not allowed; it must be above -1 and below 0.5");
}

#[test]
fn a_film_is_a_stack_of_one_ply_or_of_two_halves() {
    let film = Wrinkle::of_film(&silica(), 1.0, &elastomer()).expect("in range");
    for plies in [&[(silica(), 1.0)][..], &[(silica(), 0.3), (silica(), 0.7)]] {
        let stack = Wrinkle::of_stack(plies, &elastomer()).expect("in range");
        assert!((stack.strain / film.strain - 1.0).abs() < 1e-12);
        assert!((stack.length_um / film.length_um - 1.0).abs() < 1e-12);
    }
}

#[test]
fn the_onset_is_the_least_over_all_wavelengths() {
    let (stretch, bending) = (1e5, 4e4);
    let base = elastomer();
    let onset = Wrinkle::of_stiffness(stretch, bending, &base).expect("in range");
    let strain = |length_um: f64| {
        let k = 2.0 * std::f64::consts::PI / length_um;
        (bending * k * k + base.plane_strain_mpa() / (2.0 * k)) / stretch
    };
    assert!((strain(onset.length_um) / onset.strain - 1.0).abs() < 1e-12);
    for length_um in [0.9 * onset.length_um, 1.1 * onset.length_um] {
        assert!(strain(length_um) > onset.strain);
    }
}
