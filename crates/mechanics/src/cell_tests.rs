//! Laws, closed forms and a handful of values of the cell.

#![allow(clippy::unreadable_literal, reason = "reference values as they were printed")]

use ogee_geometry::{ArmDrive, Family, Quarter};

use crate::{CellProblem, CellSolution, CellSolver, Edge, Strips};

fn solve(quarter: &Quarter, width_um: f64, stretch: f64) -> CellSolution {
    let strips = Strips::homogeneous(width_um).unwrap();
    CellSolver::new().solve(&CellProblem { quarter, strips: &strips, stretch }, None).unwrap()
}

fn assert_close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} instead of {expected}");
}

/// Force, peak strain and crest height by multiple shooting on (φ, M, x, y), an independent method.
#[test]
fn matches_multiple_shooting() {
    let arm = |radius_um| Family::ArcAndArm(ArmDrive::Radius { radius_um });
    let cases = [
        (Family::Sine, 1000.0, 100.0, 2.0, 0.1, 20923.60098, 0.0109444104, 0.1892327788),
        (Family::Sine, 400.0, 100.0, 20.0, 0.4, 34.39305092, 0.1198441693, f64::NAN),
        (Family::Sine, 1000.0, 2000.0, 8.0, 5.5, 1.437629223, 0.007831269704, f64::NAN),
        (Family::Arc, 1000.0, 600.0, 100.0, 0.4, 0.7501167246, 0.02480401199, f64::NAN),
        (Family::Arc, 800.0, 200.0, 80.0, -0.2, -3.690975673, -0.06177112532, f64::NAN),
        (arm(150.0), 1000.0, 300.0, 10.0, 0.8, 11048.22496, 0.1293075342, 0.6591660887),
        (arm(290.0), 1000.0, 700.0, 20.0, 2.2, 8.213358652, 0.02563054103, 301.6429797),
        (Family::SineGenerated, 250.0, 200.0, 5.0, 2.0, 2.395087105, 0.01467507239, 149.2602508),
        (
            Family::Clothoid { plateau_share: 0.3 },
            1000.0,
            300.0,
            20.0,
            -0.25,
            -3.095225915,
            -0.01053223033,
            326.0397778,
        ),
    ];
    for (family, pitch_um, amplitude_um, width_um, stretch, force, peak, height_um) in cases {
        let quarter = Quarter::new(family, pitch_um, amplitude_um).unwrap();
        let solution = solve(&quarter, width_um, stretch);
        assert_close(solution.force_ei_per_p2, force, 1e-5);
        assert_close(solution.peak.strain, peak, 1e-5);
        assert_eq!(solution.peak.edge, Edge::Right);
        if height_um.is_finite() {
            assert_close(solution.stretched_amplitude_um, height_um, 1e-5);
        }
        assert!(solution.is_stable);
    }
}

#[test]
fn a_wide_ribbon_is_a_little_stiffer_than_in_two_dimensions() {
    // Plane-stress elements at w/R = 0.4: F P²/EI = 10.8443, inner edge 7.985 %, outer edge −5.5217 %.
    let family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 150.0 });
    let quarter = Quarter::new(family, 1000.0, 300.0).unwrap();
    let solution = solve(&quarter, 60.0, 0.4);
    assert_close(solution.force_ei_per_p2 / 10.8443, 1.0152, 1e-3);
    assert_close(solution.peak.strain / 0.07985, 1.0152, 1e-3);
    assert_close(solution.edge_strain_at_crest(30.0), -0.055217, 0.05);
}
