use super::{BendMethod, BentSlab, BentSolver, Layers, loss_of_ln_nu_im};
use crate::error::LightError;
use crate::mesh::MeshSettings;
use crate::slab::SlabPolarisation::{self, Te, Tm};
use proptest::prelude::*;

fn symmetric(lambda: f64, width: f64, n_core: f64, n: f64, polarisation: SlabPolarisation) -> BentSlab {
    BentSlab { wavelength_um: lambda, width_um: width, n_in: n, n_core, n_out: n, polarisation, mode: 0 }
}

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} is not {expected} within {tolerance}");
}

#[test]
fn exact_bessel_values_with_order_8() {
    let mut solver = BentSolver::with_order(8).unwrap();
    let mut check = |slab: &BentSlab, radius: f64, n_eff: f64, loss: f64| {
        let mode = solver.solve(slab, radius).unwrap();
        close(mode.n_eff_re, n_eff, 1e-11);
        close(mode.loss_db_per_90deg, loss, 1e-9);
        assert_eq!(mode.method, BendMethod::Rigorous);
    };
    check(&symmetric(1.55, 5.0, 1.464, 1.444, Te), 800.0, 1.460_551_414_686_8, 0.091_613_266_100_3);
    check(&symmetric(1.31, 2.0, 1.51, 1.46, Tm), 100.0, 1.498_057_651_837_8, 2.640_173_971_37);
    check(&symmetric(1.55, 1.0, 1.98, 1.444, Te), 14.5, 1.902_396_521_358_6, 1.679_018_042_07e-9);
    check(&symmetric(1.55, 0.5, 2.444, 1.444, Tm), 1.5, 2.138_763_652_757_4, 0.646_858_705_934);
    check(&symmetric(1.55, 3.0, 1.464, 1.444, Te), 300.0, 1.458_476_800_226_4, 14.699_802_46);
    let outside = BentSlab { n_out: 1.457, ..symmetric(0.633, 1.2, 1.58, 1.0, Te) };
    check(&outside, 10.0, 1.603_998_976_432_2, 2.174_552_946_66);
    let second = BentSlab { mode: 1, ..symmetric(1.55, 8.0, 1.474, 1.444, Tm) };
    check(&second, 400.0, 1.465_747_282_414_4, 5.989_723_346_87);
}

#[test]
fn error_falls_spectrally_with_the_order() {
    let slab = symmetric(1.55, 1.0, 1.98, 1.444, Te);
    let error = |order: usize| {
        let mode = BentSolver::with_order(order).unwrap().solve(&slab, 5.0).unwrap();
        (mode.loss_db_per_90deg / 0.032_074_677_102_3 - 1.0).abs()
    };
    // The eigenvalue converges as the square of the field: two orders more gain at least two digits.
    let errors = [2, 4, 6, 8].map(error);
    for pair in errors.windows(2) {
        assert!(pair[1] < 1e-2 * pair[0], "{errors:?}");
    }
}

#[test]
fn loss_does_not_depend_on_which_radius_is_called_r() {
    // The same ring, once with R to the middle of the core, once to its outer edge.
    let slab = symmetric(1.55, 0.8, 1.98, 1.444, Tm);
    let mut solver = BentSolver::with_order(8).unwrap();
    let middle = slab.layers(6.0);
    let edge = 6.0 + 0.5 * slab.width_um;
    let k0 = std::f64::consts::TAU / slab.wavelength_um;
    let moved = Layers {
        curvature: 1.0 / (k0 * edge),
        inner_edge: 2.0 * middle.inner_edge,
        outer_edge: 0.0,
        ..middle
    };
    let one = solver.solve_layers(&middle, 0, 6.0).unwrap();
    let other = solver.solve_layers(&moved, 0, edge).unwrap();
    close(one.n_eff / middle.curvature, other.n_eff / moved.curvature, 1e-12);
    close(one.ln_nu_im, other.ln_nu_im, 1e-10);
}

#[test]
fn slope_and_length_of_the_complex_path_do_not_matter() {
    let slab = symmetric(1.31, 2.0, 1.51, 1.46, Te);
    let mut solver = BentSolver::with_order(10).unwrap();
    let reference = solver.solve(&slab, 150.0).unwrap().loss_db_per_90deg;
    for (slope, tail_decay) in [(0.5, 20.0), (2.0, 20.0), (1.0, 15.0), (1.0, 30.0)] {
        solver.settings = MeshSettings { tail_decay, slope, ..solver.settings };
        close(solver.solve(&slab, 150.0).unwrap().loss_db_per_90deg, reference, 1e-9);
    }
}

#[test]
fn both_methods_agree_where_both_hold() {
    // At about 1e-11 dB per 90° the tunnelling formula is good to 2e-5.
    let slab = symmetric(1.55, 1.0, 1.98, 1.444, Te);
    let mut solver = BentSolver::with_order(8).unwrap();
    let rigorous = solver.solve(&slab, 17.0).unwrap();
    assert_eq!(rigorous.method, BendMethod::Rigorous);
    assert!(rigorous.loss_db_per_90deg < 1e-10);
    let layers = slab.layers(17.0);
    let norm: f64 = solver
        .mode
        .iter()
        .zip(solver.pencil.mass())
        .take(solver.pencil.positions.len())
        .map(|(value, mass)| value.re * value.re * mass.re)
        .sum();
    let edge = solver.mode[solver.mesh.core.end * solver.basis.order].re;
    let formula = crate::tunnelling::ln_nu_im(&layers, rigorous.n_eff_re, edge, norm).unwrap();
    close(loss_of_ln_nu_im(formula), rigorous.loss_db_per_90deg, 5e-5);
}

#[test]
fn a_huge_radius_gives_the_straight_mode() {
    for polarisation in SlabPolarisation::ALL {
        let slab = BentSlab { n_out: 1.0, ..symmetric(1.0, 0.5, 2.1, 1.45, polarisation) };
        let straight = slab.straight().mode(polarisation, 0).unwrap().n_eff;
        let mode = BentSolver::with_order(10).unwrap().solve(&slab, 1e9).unwrap();
        close(mode.n_eff_re, straight, 1e-9);
        assert_eq!(mode.loss_db_per_90deg, 0.0);
        assert!(mode.ln_nu_im.is_finite() && mode.n_eff_im() == 0.0);
        assert_eq!(mode.method, BendMethod::Tunnelling);
    }
}

#[test]
fn extreme_radii_give_numbers_or_errors() {
    let slab = symmetric(1.31, 2.0, 1.51, 1.46, Te);
    let straight = slab.straight().mode(Te, 0).unwrap().n_eff;
    for radius in [1e12, 1e15, 1e100, 1e300, f64::MAX] {
        match slab.solve(radius) {
            Ok(mode) => {
                assert!((mode.n_eff_re - straight).abs() < 1e-7 && mode.ln_nu_im.is_finite());
                assert!(mode.loss_db_per_cm() == 0.0 && !mode.caustic_offset_um.is_nan());
            }
            Err(error) => assert!(!error.to_string().contains("NaN")),
        }
    }
}

#[test]
fn published_bent_slabs() {
    // Hiremath, Hammer, Stoffer, Prkna and Čtyroký, Analytic approach to dielectric optical bent slab waveguides,
    // 2005, tables 1 and 2: radius there to the outer core edge, 0.5 µm further out.
    let low = symmetric(1.3, 1.0, 1.7, 1.6, Te);
    let high = symmetric(1.3, 1.0, 3.261_06, 3.22, Te);
    for (slab, radius, nu_re, nu_im) in [
        (low, 50.0, 401.89, Some(0.079_99)),
        (low, 100.0, 802.78, Some(9.6032e-4)),
        (low, 150.0, 1203.9, None),
        (low, 200.0, 1605.1, None),
        (high, 200.0, 3136.4, Some(0.621_35)),
        (high, 400.0, 6270.0, None),
    ] {
        let mode = slab.solve(radius).unwrap();
        close(mode.nu_re, nu_re, 2e-5);
        if let Some(nu_im) = nu_im {
            close(mode.ln_nu_im.exp(), nu_im, 1e-3);
        }
    }
}

#[test]
fn impossible_bends_are_refused() {
    let slab = symmetric(1.55, 5.0, 1.464, 1.444, Te);
    assert!(matches!(slab.solve(2.0), Err(LightError::Radius { .. })));
    assert!(matches!(slab.solve(f64::NAN), Err(LightError::Length { .. })));
    let second = BentSlab { mode: 1, ..symmetric(1.55, 3.0, 1.464, 1.444, Te) };
    assert!(matches!(second.solve(500.0), Err(LightError::Unbound { mode: 1, .. })));
    assert!(BentSolver::with_order(1).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn loss_falls_with_the_radius_and_is_never_nan(
        n in 1.0..2.0_f64, contrast in 0.02..1.0_f64, strength in 1.2..2.9_f64, step in 1.02..1.6_f64,
        polarisation in prop_oneof![Just(Te), Just(Tm)],
    ) {
        let lambda = 1.55;
        let n_core = n + contrast;
        let width = strength * lambda / (std::f64::consts::TAU * (n_core * n_core - n * n).sqrt());
        let slab = symmetric(lambda, width, n_core, n, polarisation);
        let mut solver = BentSolver::new();
        let mut radius = 2.0 * width / contrast + width;
        let mut last = f64::INFINITY;
        for _ in 0..12 {
            if let Ok(mode) = solver.solve(&slab, radius) {
                prop_assert!(mode.ln_nu_im.is_finite() && mode.n_eff_re.is_finite());
                // Above the first decibels the loss per 90° need not be monotone.
                if last < 0.0 {
                    prop_assert!(mode.ln_nu_im < last, "{} after {last} at {radius}", mode.ln_nu_im);
                }
                last = if mode.loss_db_per_90deg < 1.0 { mode.ln_nu_im } else { f64::INFINITY };
            }
            radius *= step;
        }
    }
}

#[test]
fn the_stored_field_is_the_mode() {
    let slab = BentSlab { n_out: 1.0, ..symmetric(1.0, 0.5, 2.1, 1.45, Tm) };
    let straight = slab.straight().mode(Tm, 0).unwrap();
    let mode = BentSolver::with_order(8).unwrap().solve(&slab, 1e6).unwrap();
    let (inner, outer) = mode.field.range_um();
    assert_eq!(mode.field.at(inner - 1.0), (0.0, 0.0));
    assert_eq!(mode.field.at(outer + 1.0), (0.0, 0.0));
    // u points away from the centre of curvature, which is on the left.
    let scale = mode.field.at(0.0).0 / straight.field(0.0);
    for u in [-1.0, -0.25, -0.1, 0.0, 0.2, 0.25, 0.6] {
        let (re, im) = mode.field.at(u);
        assert!((re - scale * straight.field(-u)).abs() < 1e-5, "{re} at {u}");
        assert_eq!(im, 0.0);
    }
    assert!(mode.field.nodes().all(|(u, (re, _))| (mode.field.at(u).0 - re).abs() < 1e-12));
}
