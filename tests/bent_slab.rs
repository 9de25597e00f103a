//! Bent slabs: effective index and bend loss against Bessel functions of complex order.

use std::f64::consts::TAU;

use ogee_optics::{BentMode, BentSlab, BentSolver, SlabPolarisation};
use ogee_tests::{Case, Checks, Tolerance, table};

/// Order of the elements for the table's own tolerances; the standard order is judged by its documented error.
const FINE_ORDER: usize = 8;

fn slab(case: &Case) -> BentSlab {
    BentSlab {
        wavelength_um: case.number("wavelength_um"),
        width_um: case.number("core_width_um"),
        n_in: case.number("n_inner"),
        n_core: case.number("n_core"),
        n_out: case.number("n_outer"),
        polarisation: match case.text("polarisation") {
            "TM" => SlabPolarisation::Tm,
            _ => SlabPolarisation::Te,
        },
        mode: case.number("mode") as usize,
    }
}

fn check(case: &Case, mode: &BentMode, checks: &mut Checks<'_>) {
    checks.number("nu_re", mode.nu_re);
    checks.number("nu_im", mode.ln_nu_im.exp());
    checks.number("n_eff_re", mode.n_eff_re);
    checks.number("n_eff_im", mode.n_eff_im());
    checks.number("loss_db_per_90deg", mode.loss_db_per_90deg);
    checks.number("loss_db_per_cm", mode.loss_db_per_cm());
    let k0 = TAU / case.number("wavelength_um");
    let order = mode.n_eff_re * k0 * case.number("radius_um");
    checks.near("order of the index", order, mode.nu_re, Tolerance::relative(1e-14));
}

#[test]
fn bent_slabs_of_the_table() {
    let mut solver = BentSolver::with_order(FINE_ORDER).expect("a valid order");
    table("optics_bent_slab").check("", 21, |case, checks| {
        let mode = solver.solve(&slab(case), case.number("radius_um")).expect("the table holds bound modes");
        check(case, &mode, checks);
    });
}

/// What a design is computed with: elements of the standard order, within the errors documented for it.
#[test]
fn standard_order_keeps_its_documented_error() {
    let mut table = table("optics_bent_slab");
    for case in &mut table.cases {
        for (key, tolerance) in &mut case.rel_tol {
            *tolerance = if key.ends_with("_re") { 1e-8.into() } else { 1e-6.into() };
        }
    }
    let mut solver = BentSolver::new();
    table.check("", 21, |case, checks| {
        let mode = solver.solve(&slab(case), case.number("radius_um")).expect("the table holds bound modes");
        check(case, &mode, checks);
    });
}

/// Solving the cases in the opposite order, with fresh and with used solvers, changes nothing.
#[test]
fn every_radius_stands_alone() {
    let mut cases = table("optics_bent_slab").cases;
    cases.reverse();
    let mut used = BentSolver::new();
    for case in &cases {
        let radius_um = case.number("radius_um");
        let kept = used.solve(&slab(case), radius_um).expect("the table holds bound modes");
        let fresh = slab(case).solve(radius_um).expect("the table holds bound modes");
        assert_eq!(kept.ln_nu_im.to_bits(), fresh.ln_nu_im.to_bits(), "{}", case.name);
        assert_eq!(kept.n_eff_re.to_bits(), fresh.n_eff_re.to_bits(), "{}", case.name);
    }
}
