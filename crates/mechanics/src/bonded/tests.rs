//! Reference cases, limits and laws of the bonded cell.

#![allow(clippy::unreadable_literal, reason = "reference values as they were printed")]

use ogee_geometry::{ArmDrive, Family, Quarter};

use proptest::{prelude::*, test_runner::RngSeed};

use crate::{
    BondedError, BondedNote, BondedProblem, BondedSolution, BondedSolver, CellProblem, CellSolver, Edge,
    Mesh, Strips,
};

const ARM: Family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 150.0 });

fn solve(quarter: &Quarter, width_um: f64, foundation: f64, poisson: f64, stretch: f64) -> BondedSolution {
    let strips = Strips::homogeneous(width_um).unwrap();
    let problem = BondedProblem {
        quarter,
        strips: &strips,
        foundation_mpa: foundation * strips.ei_un_um2() / quarter.pitch_um().powi(4),
        substrate_poisson: poisson,
        stretch,
    };
    BondedSolver::new().solve(&problem, None).unwrap()
}

fn assert_close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} instead of {expected}");
}

/// Shape, P, A, w, K, ν, e; then peak, peak tensile, crest and crossing force, crest height, slip, free and following peak.
type Case = (Family, [f64; 6], [f64; 8]);

/// By multiple shooting on (φ, M, x, y, H, V), an independent method.
const CASES: [(Case, f64); 9] = [
    (
        (
            ARM,
            [1000.0, 300.0, 30.0, 100.0, 0.5, 0.4],
            [
                0.03736957036,
                0.03736957036,
                13.10516578,
                12.16894883,
                203.5473219,
                56.35242575,
                0.03663801546,
                0.4884798211,
            ],
        ),
        412.1258501,
    ),
    (
        (
            ARM,
            [1000.0, 300.0, 30.0, 10000.0, 0.5, 0.4],
            [
                0.06653648368,
                0.06653648368,
                174.3175155,
                99.71825447,
                207.0132291,
                48.43499939,
                0.03663801546,
                0.4884798211,
            ],
        ),
        412.1258501,
    ),
    (
        (
            ARM,
            [1000.0, 300.0, 30.0, 1e6, 0.5, 0.4],
            [
                0.270234703,
                0.270234703,
                2633.255026,
                127.3678361,
                244.6289851,
                15.21745973,
                0.03663801546,
                0.4884798211,
            ],
        ),
        412.1258501,
    ),
    (
        (
            ARM,
            [1000.0, 300.0, 30.0, 1e8, 0.5, 0.2],
            [
                0.2451444855,
                0.2451444855,
                2638.152144,
                -124.6998843,
                273.7308528,
                0.2502069112,
                0.01626114988,
                0.2488082473,
            ],
        ),
        412.1258501,
    ),
    (
        (
            Family::Sine,
            [800.0, 200.0, 16.0, 3000.0, 0.49, 0.3],
            [
                0.03572804779,
                0.03572804779,
                76.62727216,
                60.78562927,
                129.5580361,
                46.31438942,
                0.02601705728,
                0.3682829076,
            ],
        ),
        292.7390945,
    ),
    (
        (
            Family::SineGenerated,
            [1000.0, 400.0, 30.0, 10000.0, 0.5, 0.4],
            [
                0.05028705595,
                0.05028705595,
                128.5784496,
                -21.01797478,
                320.0230999,
                50.51225556,
                0.01680026644,
                0.4597045815,
            ],
        ),
        531.7631646,
    ),
    (
        (
            Family::Clothoid { plateau_share: 0.3 },
            [1000.0, 300.0, 20.0, 1e5, 0.45, 0.3],
            [
                0.05203756009,
                0.05203756009,
                867.1216465,
                106.5832709,
                243.1866843,
                30.69590219,
                0.0139202388,
                0.3315271156,
            ],
        ),
        426.9801568,
    ),
    (
        (
            Family::Arc,
            [500.0, 175.0, 20.0, 2000.0, 0.5, -0.15],
            [
                -0.02287720767,
                0.01829476603,
                -9.385920288,
                2.395754145,
                186.3930616,
                12.15219242,
                -0.009498271948,
                -0.1848822294,
            ],
        ),
        251.2159508,
    ),
    (
        (
            Family::Sine,
            [1000.0, 100.0, 20.0, 1000.0, 0.5, 0.12],
            [
                0.06318879386,
                0.06318879386,
                778.8580278,
                777.5763322,
                8.049458552,
                86.4416597,
                0.0639150718,
                0.1313574164,
            ],
        ),
        273.0958868,
    ),
];

#[test]
fn matches_multiple_shooting() {
    for ((family, [pitch, amplitude, width, foundation, poisson, stretch], expected), peak_s_um) in CASES {
        let quarter = Quarter::new(family, pitch, amplitude).unwrap();
        let solution = solve(&quarter, width, foundation, poisson, stretch);
        let [peak, tensile, crest, crossing, height, slip, free, following] = expected;
        assert_close(solution.peak.strain, peak, 1e-5);
        assert_close(solution.peak_tensile.strain, tensile, 1e-5);
        assert_close(solution.crest_force_ei_per_p2, crest, 1e-5);
        assert_close(solution.crossing_force_ei_per_p2, crossing, 1e-4);
        assert_close(solution.crest_height_um, height, 1e-5);
        assert_close(solution.largest_slip_um, slip, 1e-4);
        assert_close(solution.freestanding_peak_strain.unwrap(), free, 1e-5);
        assert_close(solution.following_peak_strain, following, 1e-8);
        assert!((solution.peak.s_um - peak_s_um).abs() < 1e-3 * pitch);
        assert_eq!(solution.peak.edge, Edge::Right);
        assert!(solution.is_stable);
    }
}

fn problem<'a>(
    quarter: &'a Quarter,
    strips: &'a Strips,
    foundation_mpa: f64,
    stretch: f64,
) -> BondedProblem<'a> {
    BondedProblem { quarter, strips, foundation_mpa, substrate_poisson: 0.5, stretch }
}

#[test]
fn without_foundation_it_is_the_cell() {
    for (family, amplitude_um, width_um, stretch) in [
        (Family::Arc, 300.0, 40.0, 0.4),
        (ARM, 300.0, 5.0, 0.7),
        (Family::Sine, 500.0, 10.0, 1.0),
        (Family::SineGenerated, 400.0, 30.0, -0.2),
    ] {
        let quarter = Quarter::new(family, 1000.0, amplitude_um).unwrap();
        let strips = Strips::homogeneous(width_um).unwrap();
        let cell = CellProblem { quarter: &quarter, strips: &strips, stretch };
        let mesh = Mesh::Adaptive { tolerance: 1e-6 };
        let free = CellSolver::with_mesh(mesh).solve(&cell, None).unwrap();
        let bonded =
            BondedSolver::with_mesh(mesh).solve(&problem(&quarter, &strips, 0.0, stretch), None).unwrap();
        assert_close(bonded.peak.strain, free.peak.strain, 1e-6);
        assert_close(bonded.crest_force_ei_per_p2, free.force_ei_per_p2, 1e-6);
        assert_close(bonded.crossing_force_ei_per_p2, free.force_ei_per_p2, 1e-6);
        assert_close(bonded.crest_height_um, free.stretched_amplitude_um, 1e-6);
        assert_eq!(bonded.note, BondedNote::Negligible);
        for (bonded, free) in bonded.along(9).iter().zip(free.along(9)) {
            let distance_um = (bonded.at.x_um - free.x_um).hypot(bonded.at.y_um - free.y_um);
            assert!(distance_um < 1e-2, "{family:?}: {bonded:?} {free:?}");
            assert!(
                (bonded.at.left_strain - free.left_strain).abs() < 1e-4 * free.left_strain.abs().max(1e-2)
            );
        }
    }
}

#[test]
fn a_stiff_foundation_leads_to_the_limit() {
    let quarter = Quarter::new(ARM, 1000.0, 300.0).unwrap();
    let mut last = 0.0;
    for exponent in [0, 2, 4, 6, 8, 10, 12, 14, 18] {
        let solution = solve(&quarter, 30.0, 10_f64.powi(exponent), 0.5, 0.3);
        let (peak, limit) = (solution.peak.strain, solution.following_peak_strain);
        assert!(peak >= last && peak <= limit * (1.0 + 1e-9), "K = 1e{exponent}: {peak} {last} {limit}");
        if exponent >= 12 {
            assert_close(peak, limit, 1e-3);
        }
        let expected = match exponent {
            0 => BondedNote::Negligible,
            2..=6 => BondedNote::OnSprings,
            8..=10 => BondedNote::FollowsSubstrate,
            _ => BondedNote::LimitTaken,
        };
        assert_eq!(solution.note, expected, "K = 1e{exponent}");
        last = peak;
    }
}

#[test]
fn the_limit_is_the_affine_map() {
    let quarter = Quarter::new(Family::Sine, 800.0, 200.0).unwrap();
    let solution = solve(&quarter, 16.0, 1e20, 0.5, 0.3);
    assert_eq!(solution.note, BondedNote::LimitTaken);
    let (a, b) = (1.3, 1.3_f64.powf(-0.5));
    for point in solution.along(7) {
        let rest = quarter.at(point.at.s_um);
        assert!((point.at.x_um - a * rest.x_um).abs() < 1e-9 && (point.at.y_um - b * rest.y_um).abs() < 1e-9);
        let stretched = (a * rest.phi_rad.cos()).hypot(b * rest.phi_rad.sin());
        assert!((point.at.axial_strain - (stretched - 1.0)).abs() < 1e-5);
        let kappa = a * b * rest.kappa_per_um / (stretched * stretched);
        assert!((point.at.kappa_per_um - kappa).abs() < 1e-5 * kappa.abs().max(1e-3));
        assert_eq!(point.slip_um, [0.0; 2]);
    }
}

#[test]
fn converges_with_a_high_order() {
    let quarter = Quarter::new(ARM, 1000.0, 300.0).unwrap();
    let strips = Strips::homogeneous(30.0).unwrap();
    let foundation_mpa = 1e4 * strips.ei_un_um2() / 1e12;
    let peak = |elements: usize| {
        let problem = problem(&quarter, &strips, foundation_mpa, 0.4);
        BondedSolver::with_mesh(Mesh::Fixed { elements }).solve(&problem, None).unwrap().peak.strain
    };
    let exact = peak(64);
    let errors = [8, 16].map(|elements| (peak(elements) / exact - 1.0).abs());
    assert!(errors[0] / errors[1] > 100.0 && errors[1] < 1e-8, "{errors:?}");
}

#[test]
fn slip_and_forces_balance() {
    // The force along x changes by the foundation's pull from the crossing to the crest.
    let quarter = Quarter::new(ARM, 1000.0, 300.0).unwrap();
    let solution = solve(&quarter, 30.0, 1e4, 0.5, 0.4);
    let points = solution.along(2001);
    let step = quarter.length_um() / 2000.0 / 1000.0;
    let pull: f64 = points
        .iter()
        .enumerate()
        .map(|(i, point)| point.slip_um[0] / 1000.0 * step * if i == 0 || i == 2000 { 0.5 } else { 1.0 })
        .sum::<f64>()
        * 1e4;
    assert_close(pull, solution.crest_force_ei_per_p2 - solution.crossing_force_ei_per_p2, 1e-5);
    let slip_um = points.iter().map(|point| point.slip_um[0].hypot(point.slip_um[1])).fold(0.0, f64::max);
    assert_close(solution.largest_slip_um, slip_um, 1e-5);
    let length_um: f64 = solution.optical_quadrature().map(|weight| weight.length_um).sum();
    let chord_um: f64 = points
        .windows(2)
        .map(|pair| (pair[1].at.x_um - pair[0].at.x_um).hypot(pair[1].at.y_um - pair[0].at.y_um))
        .sum();
    assert_close(length_um, chord_um, 1e-5);
}

#[test]
fn a_warm_start_takes_few_steps() {
    let quarter = Quarter::new(ARM, 1000.0, 300.0).unwrap();
    let strips = Strips::homogeneous(30.0).unwrap();
    let foundation_mpa = 1e4 * strips.ei_un_um2() / 1e12;
    let mut solver = BondedSolver::new();
    let first = solver.solve(&problem(&quarter, &strips, foundation_mpa, 0.4), None).unwrap();
    let next = problem(&quarter, &strips, 1.01 * foundation_mpa, 0.4);
    let cold = solver.solve(&next, None).unwrap();
    let warm = solver.solve(&next, Some(&first.state)).unwrap();
    assert!(
        warm.iterations < cold.iterations && warm.iterations <= 5,
        "{} {}",
        warm.iterations,
        cold.iterations
    );
    assert_close(warm.peak.strain, cold.peak.strain, 1e-8);
}

#[test]
fn jumps_of_curvature_are_reported() {
    let quarter = Quarter::new(ARM, 1000.0, 300.0).unwrap();
    let solution = solve(&quarter, 30.0, 1e4, 0.5, 0.4);
    let jumps = solution.curvature_jumps();
    assert_eq!(jumps.len(), 1);
    assert!((jumps[0].s_um - quarter.arm_half_length_um()).abs() < 1e-9);
    assert!(jumps[0].after_per_um < jumps[0].before_per_um);
    let arc = Quarter::new(Family::Arc, 500.0, 125.0).unwrap();
    let jumps = solve(&arc, 20.0, 1e3, 0.5, 0.2).curvature_jumps();
    assert!(jumps.len() == 1 && jumps[0].s_um == 0.0 && jumps[0].before_per_um > 0.0);
}

#[test]
fn bad_input_is_refused() {
    let quarter = Quarter::new(Family::Arc, 500.0, 125.0).unwrap();
    let strips = Strips::homogeneous(20.0).unwrap();
    let good = problem(&quarter, &strips, 1.0, 0.2);
    let mut solver = BondedSolver::new();
    for bad in [
        BondedProblem { foundation_mpa: -1.0, ..good },
        BondedProblem { foundation_mpa: f64::NAN, ..good },
        BondedProblem { foundation_mpa: 1e13, ..good },
        BondedProblem { substrate_poisson: 0.6, ..good },
        BondedProblem { stretch: -1.0, ..good },
        BondedProblem { stretch: f64::INFINITY, ..good },
    ] {
        assert!(matches!(solver.solve(&bad, None), Err(BondedError::OutOfRange { .. })), "{bad:?}");
    }
    let wide = Strips::homogeneous(300.0).unwrap();
    let result = solver.solve(&BondedProblem { strips: &wide, ..good }, None);
    assert!(matches!(result, Err(BondedError::WiderThanBend { .. })));
    let text =
        BondedError::OutOfRange { field: "stretch", value: -1.0, unit: "", least: -0.95, greatest: 20.0 };
    assert!(text.to_string().contains("stretch of -1"));
}

#[test]
fn at_rest_nothing_is_strained() {
    let quarter = Quarter::new(Family::Arc, 500.0, 125.0).unwrap();
    for foundation in [0.0, 1e3, 1e7, 1e15] {
        let solution = solve(&quarter, 20.0, foundation, 0.5, 0.0);
        assert!(solution.peak.strain.abs() < 1e-12 && solution.largest_slip_um < 1e-9, "{solution:?}");
    }
}

/// Strain 2 (EI k)^½/EA at which a straight ribbon on springs of K = 10^exponent buckles, for a pitch of 1000 µm.
fn buckling_strain(exponent: f64, width_um: f64) -> f64 {
    2.0 * 10_f64.powf(0.5 * exponent) * (width_um / 1000.0).powi(2) / 12.0
}

fn any_family() -> impl Strategy<Value = Family> {
    prop_oneof![
        Just(Family::Sine),
        Just(Family::Arc),
        Just(Family::SineGenerated),
        (0.0..=1.0).prop_map(|plateau_share| Family::Clothoid { plateau_share }),
        (0.05..0.3).prop_map(|share| Family::ArcAndArm(ArmDrive::Radius { radius_um: 1000.0 * share })),
    ]
}

proptest! {
    // Always the same designs, so that a check of an unrelated change never fails by chance.
    #![proptest_config(ProptestConfig {
        cases: 200,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(1),
        ..ProptestConfig::default()
    })]

    /// Finite numbers and bounded work for any design, or an error that says what is wrong.
    #[test]
    fn any_design_is_solved_or_refused(
        family in any_family(),
        amplitude_um in 50.0..1000.0,
        width_share in 0.005..0.9,
        exponent in -2.0..14.0,
        poisson in 0.0..0.5,
        share in -0.25_f64..0.95,
    ) {
        let Ok(quarter) = Quarter::new(family, 1000.0, amplitude_um) else { return Ok(()) };
        let width_um = 2.0 * width_share * quarter.least_radius_um().min(150.0);
        let strips = Strips::homogeneous(width_um).unwrap();
        let stretch = (share * quarter.slack()).max(-0.4);
        let problem = BondedProblem {
            quarter: &quarter,
            strips: &strips,
            foundation_mpa: 10_f64.powf(exponent) * strips.ei_un_um2() / 1e12,
            substrate_poisson: poisson,
            stretch,
        };
        match BondedSolver::new().solve(&problem, None) {
            Ok(solution) => {
                let numbers = [
                    solution.peak.strain, solution.peak_tensile.strain, solution.crest_force_ei_per_p2,
                    solution.crossing_force_ei_per_p2, solution.crest_height_um, solution.largest_slip_um,
                    solution.following_peak_strain, solution.residual, solution.error_estimate,
                ];
                prop_assert!(numbers.iter().all(|number| number.is_finite()), "{:?}", numbers);
                prop_assert!(solution.error_estimate <= 1e-4);
                prop_assert!(solution.iterations <= 1000, "{} iterations", solution.iterations);
            }
            // A thin ribbon compressed along its arms buckles against the springs.
            Err(BondedError::NotConverged { iterations, .. })
                if buckling_strain(exponent, width_um) < 0.3 =>
            {
                prop_assert!(iterations < 2000);
            }
            Err(BondedError::NotAccurate { .. }) if buckling_strain(exponent, width_um) < 0.3 => {}
            Err(error) => prop_assert!(false, "{:?} e {stretch} w {width_um} K 1e{exponent}: {error}", family),
        }
    }
}
