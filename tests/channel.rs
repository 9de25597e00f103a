//! Full-vector modes of buried cores, strips and ribs, straight and bent, against two independent programs.

use ogee_optics::{BentSlab, Core, CoreMaterial, CrossSection, Polarisation, VectorMode, VectorSettings};
use ogee_tests::{Case, Tolerance, table};

fn core(case: &Case) -> Core {
    Core {
        wavelength_um: case.number("wavelength_um"),
        width_um: case.number("core_width_um"),
        height_um: case.number("core_height_um"),
        n_core: case.number("n_core"),
        n_below: case.number("n_below"),
        n_above: case.number("n_above"),
        n_side: case.number("n_side"),
        side_slab_um: case.maybe_number("slab_um"),
    }
}

fn section(case: &Case) -> CrossSection {
    CrossSection::of_core(&core(case)).expect("the table holds sound sections")
}

fn polarisation(case: &Case) -> Polarisation {
    match case.text("polarisation") {
        "quasi-TM" => Polarisation::QuasiTm,
        _ => Polarisation::QuasiTe,
    }
}

/// Group index without material dispersion, and the derivative by the core's index.
fn derivatives(mode: &VectorMode) -> (f64, f64) {
    let still = vec![0.0; mode.section().indices().len()];
    let group = mode.group_index(&still).expect("one slope per material");
    (group, mode.confinement[CoreMaterial::Core as usize])
}

#[test]
fn every_case_is_run() {
    table("optics_channel").check_kinds(&["straight", "bent", "count"]);
}

#[test]
fn straight_modes_of_the_table() {
    table("optics_channel").check("straight", 14, |case, checks| {
        let mode = section(case).straight_mode(polarisation(case)).expect("the table holds guided modes");
        let (n_group, dneff_dncore) = derivatives(&mode);
        checks.number("n_eff", mode.n_eff_re);
        checks.number("n_group", n_group);
        checks.number("dneff_dncore", dneff_dncore);
        let estimate = core(case).effective_index(polarisation(case)).expect("the table holds guided modes");
        checks.number("n_eff_eim", estimate.n_eff);
        checks.that("the mode is real", mode.n_eff_im == 0.0 && mode.loss_db_per_90deg == 0.0);
        checks.that("the mode is not near cutoff", !mode.near_cutoff);
    });
}

#[test]
fn bent_modes_of_the_table() {
    table("optics_channel").check("bent", 11, |case, checks| {
        let curvature = case.number("radius_um").recip();
        let section = section(case);
        let left = section.bent_mode(polarisation(case), curvature).expect("the table holds bound modes");
        checks.number("n_eff_re", left.n_eff_re);
        checks.number("loss_db_per_90deg", left.loss_db_per_90deg);
        // A bend to the other side is the mirror image.
        let right = section.bent_mode(polarisation(case), -curvature).expect("the table holds bound modes");
        let alike = Tolerance::relative(1e-9);
        checks.near("n_eff_re to the right", right.n_eff_re, left.n_eff_re, alike);
        let alike = Tolerance::relative(1e-6);
        checks.near("loss to the right", right.loss_db_per_90deg, left.loss_db_per_90deg, alike);
    });
}

#[test]
fn mode_counts_of_the_table() {
    table("optics_channel").check("count", 7, |case, checks| {
        let count = section(case).count_modes().expect("the iteration settles");
        checks.number("n_modes", count.n_eff.len() as f64);
        checks.numbers("n_eff", &count.n_eff);
        checks.that("the count is the same in wider windows", count.settled);
    });
}

/// The coarse settings keep their documented error, and the error estimate of the standard ones is an upper one.
#[test]
fn errors_are_as_documented() {
    let mut table = table("optics_channel");
    for case in &mut table.cases {
        case.expected.retain(|key, _| key == "n_eff");
        case.abs_tol.insert("n_eff".to_owned(), 2e-5.into());
    }
    table.check("straight", 14, |case, checks| {
        let section = section(case);
        let coarse = section.straight_mode_with(polarisation(case), VectorSettings::COARSE);
        let coarse = coarse.expect("the table holds guided modes").n_eff_re;
        checks.number("n_eff", coarse);
        let mode = section.straight_mode(polarisation(case)).expect("the table holds guided modes");
        let expected = case.expected_number("n_eff").unwrap_or_default();
        let estimate = mode.error_estimate().expect("the mode converged before");
        // Where both agree to the digits of the table it cannot be told.
        checks.that("the estimate is an upper one", estimate + 2e-7 > (mode.n_eff_re - expected).abs());
        checks.that("the estimate is of use", estimate < 2e-5);
    });
}

/// A core that is very high against its width is a slab, straight and bent; what is left falls with its height.
#[test]
fn high_cores_approach_the_slab() {
    let n_clad = 1.444;
    let slab = BentSlab {
        wavelength_um: 1.55,
        width_um: 0.8,
        n_in: n_clad,
        n_core: 1.98,
        n_out: n_clad,
        polarisation: Polarisation::QuasiTe.lateral(),
        mode: 0,
    };
    let exact = slab.solve(4.0).expect("a bound mode");
    let at_height = |height_um: f64| {
        let core = Core {
            wavelength_um: 1.55,
            width_um: 0.8,
            height_um,
            n_core: 1.98,
            n_below: n_clad,
            n_above: n_clad,
            n_side: n_clad,
            side_slab_um: None,
        };
        let section = CrossSection::of_core(&core).expect("a sound section");
        let mode = section.bent_mode(Polarisation::QuasiTe, 1.0 / 4.0).expect("a bound mode");
        (mode.n_eff_re - exact.n_eff_re, (mode.loss_db_per_90deg / exact.loss_db_per_90deg).ln())
    };
    let (half, whole) = (at_height(5.0), at_height(10.0));
    // N² falls by (π/k₀h)² with the effective height h; the loss takes longer to settle.
    assert!(half.0 < 0.0 && whole.0 < 0.0);
    assert!((3.4..4.0).contains(&(half.0 / whole.0)), "{half:?} {whole:?}");
    assert!(
        whole.0.abs() < 2e-3 && whole.1.abs() < 0.5 * half.1.abs() && half.1.abs() < 0.03,
        "{half:?} {whole:?}"
    );
}
