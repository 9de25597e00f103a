//! Whole bonded ribbons: without foundation, far from the ends, and stiffly bonded.

#![allow(clippy::unreadable_literal, reason = "reference values as they were printed")]

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};
use proptest::{prelude::*, test_runner::RngSeed};

use crate::{
    BondedError, BondedNote, BondedProblem, BondedRibbonProblem, BondedRibbonSolution, BondedRibbonSolver,
    BondedSolver, Edge, LayerSpan, Strips,
};

const ARM: Family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 150.0 });

fn ribbon(
    family: Family,
    pitch_um: f64,
    amplitude_um: f64,
    periods: u32,
    ends: Ends,
    lead_um: f64,
) -> Centreline {
    let quarter = Quarter::new(family, pitch_um, amplitude_um).unwrap();
    Centreline::new(quarter, periods, ends, lead_um, None).unwrap()
}

fn solve(
    ribbon: &Centreline,
    width_um: f64,
    foundation: f64,
    stretch: f64,
) -> Result<BondedRibbonSolution, BondedError> {
    let strips = Strips::homogeneous(width_um).unwrap();
    BondedRibbonSolver::new().solve(&BondedRibbonProblem {
        ribbon,
        strips: &strips,
        foundation_mpa: foundation * strips.ei_un_um2() / ribbon.quarter().pitch_um().powi(4),
        substrate_poisson: 0.5,
        stretch,
    })
}

fn assert_close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} instead of {expected}");
}

/// Freestanding ribbons by multiple shooting: force along x and y, peak strain and its place.
#[test]
fn without_foundation_it_is_the_free_ribbon() {
    let arm_250 = Family::ArcAndArm(ArmDrive::Radius { radius_um: 250.0 });
    let cases = [
        (
            ribbon(ARM, 1000.0, 300.0, 1, Ends::Crossing, 0.0),
            30.0,
            0.2,
            [9.05530615, -3.325286358, 0.03002712055, 0.0],
        ),
        (
            ribbon(ARM, 1000.0, 300.0, 5, Ends::Crossing, 0.0),
            30.0,
            0.4,
            [12.66741748, -0.52661945, 0.0407531957, 1233.943964],
        ),
        (
            ribbon(Family::Sine, 1000.0, 250.0, 2, Ends::Crest, 250.0),
            20.0,
            0.3,
            [24.56606998, 0.0, 0.03533792113, 980.9342821],
        ),
        (
            ribbon(Family::Arc, 500.0, 125.0, 2, Ends::Crossing, 0.0),
            20.0,
            -0.1,
            [-2.140365089, 0.2417040105, -0.01418630129, 569.8475052],
        ),
        (
            ribbon(arm_250, 1000.0, 600.0, 2, Ends::Crest, 100.0),
            20.0,
            0.8,
            [2.11469489, 0.0, 0.011575632, 1579.490909],
        ),
        (
            ribbon(Family::Sine, 1000.0, 500.0, 1, Ends::Crossing, 100.0),
            10.0,
            1.1,
            [31.60320467, -3.263992082, 0.03328663458, 0.0],
        ),
    ];
    for (ribbon, width_um, stretch, [along, across, peak, peak_s_um]) in cases {
        let solution = solve(&ribbon, width_um, 0.0, stretch).unwrap();
        for [x, y] in [solution.end_force_ei_per_p2, solution.start_force_ei_per_p2] {
            assert_close(x, along, 1e-5);
            assert!((y - across).abs() < 1e-5 * along.abs(), "{y} instead of {across}");
        }
        assert_close(solution.peak.strain, peak, 1e-5);
        // The ribbon's other half has a peak of the same size.
        let s_um = solution.peak.s_um.min(ribbon.contour_length_um() - solution.peak.s_um);
        assert!((s_um - peak_s_um).abs() < 1e-2 * ribbon.quarter().pitch_um(), "{s_um} {peak_s_um}");
        assert!(solution.is_stable);
        assert_eq!(solution.note, BondedNote::Negligible);
    }
}

#[test]
fn far_from_the_ends_it_is_the_cell() {
    let line = ribbon(ARM, 1000.0, 300.0, 6, Ends::Crossing, 0.0);
    let strips = Strips::homogeneous(30.0).unwrap();
    let foundation_mpa = 1e4 * strips.ei_un_um2() / 1e12;
    let whole = solve(&line, 30.0, 1e4, 0.3).unwrap();
    let cell = BondedProblem {
        quarter: line.quarter(),
        strips: &strips,
        foundation_mpa,
        substrate_poisson: 0.5,
        stretch: 0.3,
    };
    let cell = BondedSolver::new().solve(&cell, None).unwrap();
    // The crest of the third period lies 2¼ periods from the start.
    let count = 12 * 4 * 2 + 1;
    let crest = whole.along(count)[(count - 1) * 9 / 24];
    assert_close(crest.at.right_strain, cell.peak.strain, 1e-3);
    assert_close(crest.at.y_um, cell.crest_height_um, 1e-3);
    assert!(whole.peak.strain >= cell.peak.strain * (1.0 - 1e-3));
    assert_close(whole.largest_slip_um, cell.largest_slip_um, 0.2);
}

#[test]
fn the_far_half_mirrors_the_near_one() {
    let line = ribbon(Family::Sine, 1000.0, 250.0, 3, Ends::Crossing, 80.0);
    let solution = solve(&line, 20.0, 3e3, 0.25).unwrap();
    let points = solution.along(41);
    let (first, last) = (points[0].at, points[40].at);
    assert!(first.x_um.abs() < 1e-9 && (last.x_um - 1.25 * line.span_um()).abs() < 1e-6);
    assert!((first.y_um - line.start().y_um).abs() < 1e-9 && (last.y_um - line.end().y_um).abs() < 1e-9);
    for i in 0..=20 {
        let (near, far) = (points[i], points[40 - i]);
        assert!((near.at.x_um + far.at.x_um - last.x_um).abs() < 1e-5);
        assert!((near.at.y_um + far.at.y_um).abs() < 1e-5);
        assert!((near.at.left_strain - far.at.right_strain).abs() < 1e-6, "{i}: {near:?} {far:?}");
    }
    let [start, end] = [solution.start_force_ei_per_p2, solution.end_force_ei_per_p2];
    assert_close(start[0], end[0], 1e-6);
}

#[test]
fn a_stiff_bond_leads_to_the_limit_away_from_the_clamps() {
    let line = ribbon(Family::Arc, 500.0, 125.0, 2, Ends::Crest, 50.0);
    let solution = solve(&line, 20.0, 1e7, 0.2).unwrap();
    assert_eq!(solution.note, BondedNote::FollowsSubstrate);
    // In the middle of the ribbon, an upper crest.
    let middle = solution.along(3)[1];
    let (a, b) = (1.2, 1.2_f64.powf(-0.5));
    assert_close(middle.at.axial_strain, a - 1.0, 5e-2);
    assert_close(middle.at.kappa_per_um, b / a * middle.at.kappa_rest_per_um, 5e-2);
    let stiffest = solve(&line, 20.0, 1e14, 0.2).unwrap();
    assert_eq!(stiffest.note, BondedNote::LimitTaken);
    assert_eq!(stiffest.peak.strain, stiffest.following_peak_strain);
}

#[test]
fn a_lead_along_x_slips_least() {
    // A straight bonded lead is stretched as the substrate is, whatever the ribbon's own stiffness; only near its ends it slips.
    let line = ribbon(Family::SineGenerated, 1000.0, 250.0, 1, Ends::Midline, 3000.0);
    let solution = solve(&line, 20.0, 1e6, 0.1).unwrap();
    let lead = solution.along(401)[60];
    assert!((lead.at.axial_strain - 0.1).abs() < 5e-3, "{lead:?}");
    assert!(lead.slip_um[0].hypot(lead.slip_um[1]) < 0.2 * solution.largest_slip_um);
    let jumps = solution.curvature_jumps();
    assert!(jumps.len() >= 4);
    let peel = solution.peel_indicator(100.0);
    assert_close(peel.shear, solution.largest_slip_um / 100.0, 1e-12);
    assert!(peel.mean_traction_mpa > 0.0 && peel.substrate_strain == 0.1);
}

#[test]
fn hundreds_of_periods_are_solved() {
    let line = ribbon(Family::Arc, 400.0, 100.0, 200, Ends::Crossing, 0.0);
    let short = ribbon(Family::Arc, 400.0, 100.0, 8, Ends::Crossing, 0.0);
    for foundation in [300.0, 1e5] {
        let [long, short] = [&line, &short].map(|line| solve(line, 16.0, foundation, 0.2).unwrap());
        assert!(long.is_stable && long.iterations <= 3 * short.iterations);
        assert_eq!(long.elements, 25 * short.elements);
        assert_close(long.peak.strain, short.peak.strain, 2e-3);
    }
}

#[test]
fn sides_are_true_sides() {
    let line = ribbon(ARM, 1000.0, 300.0, 2, Ends::Crest, 0.0);
    let solution = solve(&line, 30.0, 1e4, 0.3).unwrap();
    let right = solution.peak_at(LayerSpan { left_um: -5.0, right_um: -15.0 }).unwrap().tensile;
    let left = solution.peak_at(LayerSpan { left_um: 15.0, right_um: 5.0 }).unwrap().tensile;
    assert!(right.edge == Edge::Right && left.edge == Edge::Left);
    assert_eq!(solution.peak_tensile.strain, right.strain.max(left.strain));
    // Upper crests lie at whole periods, troughs half way in between; the clamp moves the first peak within its bend.
    let period_um = 0.5 * line.contour_length_um();
    assert!((right.s_um / period_um).fract().min(1.0 - (right.s_um / period_um).fract()) < 0.08);
    assert!(((left.s_um / period_um).fract() - 0.5).abs() < 0.02);
    assert!(matches!(solution.peak_at(LayerSpan::centred(400.0)), Err(BondedError::WiderThanBend { .. })));
}

#[test]
fn bad_ribbons_are_refused() {
    let line = ribbon(ARM, 1000.0, 300.0, 1, Ends::Crest, 0.0);
    assert!(matches!(solve(&line, 30.0, f64::NAN, 0.1), Err(BondedError::OutOfRange { .. })));
    assert!(matches!(solve(&line, 30.0, 1.0, -1.0), Err(BondedError::OutOfRange { .. })));
    assert!(matches!(solve(&line, 310.0, 1.0, 0.1), Err(BondedError::WiderThanBend { .. })));
}

proptest! {
    // Always the same designs, so that a check of an unrelated change never fails by chance.
    #![proptest_config(ProptestConfig {
        cases: 60,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(2),
        ..ProptestConfig::default()
    })]

    /// Finite numbers and bounded work for any ribbon.
    #[test]
    fn any_ribbon_is_solved(
        amplitude_um in 60.0..400.0,
        width_um in 8.0..40.0,
        exponent in -1.0..9.0,
        share in -0.1_f64..0.7,
        periods in 1_u32..5,
        ends in prop_oneof![Just(Ends::Crossing), Just(Ends::Crest), Just(Ends::Midline)],
        lead_um in 0.0..100.0,
    ) {
        let Ok(quarter) = Quarter::new(Family::SineGenerated, 1000.0, amplitude_um) else { return Ok(()) };
        let Ok(line) = Centreline::new(quarter, periods, ends, lead_um, None) else { return Ok(()) };
        let stretch = (share * line.quarter().slack()).clamp(-0.1, 0.6);
        let solution = match solve(&line, width_um, 10_f64.powf(exponent), stretch) {
            Ok(solution) => solution,
            Err(error) => return Err(TestCaseError::fail(format!("{error}"))),
        };
        let numbers = [
            solution.peak.strain, solution.peak_tensile.strain, solution.end_force_ei_per_p2[0],
            solution.largest_slip_um, solution.error_estimate, solution.following_peak_strain,
        ];
        prop_assert!(numbers.iter().all(|number| number.is_finite()));
        prop_assert!(solution.iterations <= 400 && solution.error_estimate <= 1e-4);
    }
}
