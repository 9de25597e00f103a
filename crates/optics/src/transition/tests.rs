use super::{JoinedSection, gaussian_transition_um2, joint_loss_db};
use crate::bent::{BentSlab, BentSolver};
use crate::slab::SlabPolarisation::{self, Te, Tm};
use JoinedSection::{Left, Right, Straight};

fn symmetric(lambda: f64, width: f64, n_core: f64, n: f64, polarisation: SlabPolarisation) -> BentSlab {
    BentSlab { wavelength_um: lambda, width_um: width, n_in: n, n_core, n_out: n, polarisation, mode: 0 }
}

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} is not {expected} within {tolerance}");
}

#[test]
fn known_joint_losses() {
    // From exact Bessel fields, integrated to the caustic.
    let mut solver = BentSolver::new();
    let mut check = |slab: BentSlab, radius: f64, [onto, turn, half]: [f64; 3], tolerance: f64| {
        let straight = slab.straight().mode(slab.polarisation, 0).unwrap();
        let bend = solver.solve(&slab, radius).unwrap();
        let wide = solver.solve(&slab, 2.0 * radius).unwrap();
        close(joint_loss_db(Straight(&straight), Left(&bend)), onto, tolerance);
        close(joint_loss_db(Right(&bend), Straight(&straight)), onto, tolerance);
        close(joint_loss_db(Left(&bend), Right(&bend)), turn, tolerance);
        close(joint_loss_db(Right(&wide), Right(&bend)), half, tolerance);
    };
    check(symmetric(1.31, 2.0, 1.51, 1.46, Te), 300.0, [0.041_320_6, 0.162_915, 0.010_850_5], 2e-3);
    check(symmetric(1.55, 0.8, 1.98, 1.444, Tm), 10.0, [0.055_776_2, 0.219_695, 0.014_68], 2e-3);
    check(symmetric(0.633, 0.8, 1.58, 1.0, Te), 6.0, [0.598_325, 2.520_04, 0.122_047], 2e-3);
}

#[test]
fn equal_sections_lose_nothing() {
    let slab = BentSlab { n_out: 1.457, ..symmetric(0.633, 1.2, 1.58, 1.0, Tm) };
    let bend = slab.solve(20.0).unwrap();
    let straight = slab.straight().mode(Tm, 0).unwrap();
    assert!(joint_loss_db(Left(&bend), Left(&bend)) < 1e-14);
    assert!(joint_loss_db(Right(&bend), Right(&bend)) < 1e-14);
    assert_eq!(joint_loss_db(Straight(&straight), Straight(&straight)), 0.0);
    let nearly_straight = slab.solve(1e7).unwrap();
    assert!(joint_loss_db(Left(&nearly_straight), Straight(&straight)) < 1e-9);
}

#[test]
fn joints_are_the_same_from_both_sides() {
    let slab = BentSlab { n_in: 1.3, ..symmetric(1.0, 0.9, 1.7, 1.45, Te) };
    let mirrored = BentSlab::right(&slab.straight(), Te);
    let mut solver = BentSolver::new();
    let left = solver.solve(&slab, 15.0).unwrap();
    let right = solver.solve(&mirrored, 12.0).unwrap();
    let there = joint_loss_db(Left(&left), Right(&right));
    let back = joint_loss_db(Right(&right), Left(&left));
    close(there, back, 1e-12);
    // The whole path seen in a mirror.
    close(joint_loss_db(Right(&left), Left(&right)), there, 1e-12);
}

#[test]
fn gaussian_estimate_holds_at_low_contrast() {
    let slab = symmetric(1.55, 5.0, 1.464, 1.444, Te);
    let straight = slab.straight().mode(Te, 0).unwrap();
    close(straight.rms_half_width_um(), 1.389_41, 1e-5);
    close(gaussian_transition_um2(&straight), 35_208.7, 5e-3);
    let bend = slab.solve(5000.0).unwrap();
    let loss = joint_loss_db(Straight(&straight), Left(&bend));
    close(loss * 5000.0_f64.powi(2) / 4.342_944_819, 35_208.7, 1e-3);
    close(
        bend.field.centroid_um() * 5000.0,
        slab.solve(10_000.0).unwrap().field.centroid_um() * 10_000.0,
        2e-2,
    );
}
