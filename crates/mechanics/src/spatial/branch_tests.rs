//! Branches from the onset, and stable states, against the project's own reference states.

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};
use proptest::{prelude::*, test_runner::RngSeed};

use super::branch::MotionPath;
use super::problem::Ribbon;
use super::ribbon_tests::{Case, arc_n1};
use super::*;
use crate::{EndMotion, Onset, OnsetProblem, RibbonSolver, onset};

const GO: &dyn Fn() -> bool = &|| true;

fn onset_of(case: &Case, up_to: f64) -> Onset {
    let problem = OnsetProblem {
        line: &case.line,
        strips: &case.strips,
        out: &case.out,
        foundation_mpa: 0.0,
        up_to: EndMotion::stretch(up_to),
    };
    onset(&mut RibbonSolver::new(), &problem).unwrap().unwrap()
}

fn sine_n2() -> Case {
    Case::new(Family::Sine, [30.0, 100.0], 2, [5.0, 1.0], [2500.0, 0.34])
}

/// The bordered matrix of the whole ribbon changes its sign where the two-field problem has its onset.
#[test]
fn onset_is_that_of_the_two_field_problem() {
    for case in [arc_n1(), sine_n2().rod(1.0)] {
        let found = onset_of(&case, 0.2);
        let mut solver = SpatialSolver::with_elements_per_quarter(16);
        let unstable =
            [0.9997, 1.0003].map(|x| solver.flat(&case.at(x * found.stretch)).unwrap().unstable_modes);
        assert_eq!(unstable, [0, 1], "{}", found.stretch);
    }
}

/// Energy, force, height, peak and upper bound of states on the first branch.
#[test]
fn reference_states_on_the_first_branch() {
    let nitride = [250_000.0, 0.23];
    let arc_n2 = || Case::new(Family::Arc, [20.0, 100.0], 2, [4.0, 0.4], nitride);
    let arm_n2 = || {
        let family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 20.0 });
        Case::new(family, [60.0, 80.0], 2, [4.0, 0.8], [2000.0, 0.22])
    };
    let rows = [
        (arc_n2().rod(1.055_854_714), 0.03, [130.166_04, 30.267_302, 4.036_06, 0.004_427_5, 0.005_328_47]),
        (arc_n2(), 0.08, [500.458_39, 46.244_168, 6.600_46, 0.007_944_8, 0.010_592_9]),
        (arc_n2(), 0.15, [1537.227, 119.767_72, 6.788_2, 0.014_467_2, 0.018_134]),
        (arm_n2(), 0.3, [5.515_685_4, 0.148_455_03, 12.540_9, 0.005_601_42, 0.006_019_69]),
        (sine_n2(), 0.3, [243.565_88, 9.874_546_8, 7.341_25, 0.042_324_6, 0.053_356_3]),
    ];
    let tolerance = [1e-3, 2e-3, 3e-3, 5e-3, 5e-3];
    let mut solver = SpatialSolver::with_elements_per_quarter(8);
    for (case, stretch, expected) in rows {
        let start = onset_of(&case, stretch);
        let branch = solver.buckled(&case.at(stretch), &start, GO).unwrap().unwrap();
        let found = &branch.solution;
        let ours = [
            found.energy_un_um,
            found.force_un[0],
            found.height_um,
            found.peak_tensile.strain,
            found.upper_bound_strain,
        ];
        for i in 0..ours.len() {
            assert!((ours[i] / expected[i] - 1.0).abs() < tolerance[i], "{i}: {ours:?} {expected:?}");
        }
        assert!(found.is_stable && branch.left_at_stretch.is_none(), "{:?}", branch.left_at_stretch);
    }
}

/// One period has several stable states at once: relative energies and peaks.
#[test]
fn one_period_has_several_states() {
    let case = arc_n1();
    let problem = case.at(0.2);
    let mut solver = SpatialSolver::new();
    let found = solver.stable_states(&problem, None, &[], SearchEffort::Full, GO).unwrap().unwrap();
    let expected = [
        (213.751_82, StateSymmetry::Odd, 0.054_716_6),
        (216.331_81, StateSymmetry::Mixed, 0.062_013_7),
        (218.359_96, StateSymmetry::Odd, 0.054_936_2),
        (224.466_94, StateSymmetry::Even, 0.059_290_4),
    ];
    assert_eq!(found.states.len(), expected.len());
    for (state, (energy, symmetry, peak)) in found.states.iter().zip(expected) {
        assert!((state.energy_un_um / energy - 1.0).abs() < 2e-3 && state.symmetry == symmetry);
        assert!((state.peak_tensile.strain / peak - 1.0).abs() < 5e-3);
    }
    let [low, high] = found.peak_spread().unwrap();
    assert!((low / 0.054_716_6 - 1.0).abs() < 5e-3 && (high / 0.062_013_7 - 1.0).abs() < 5e-3);
}

/// Neither the sign nor the size of the first step into the branch matters.
#[test]
fn first_step_does_not_matter() {
    let case = sine_n2();
    let start = onset_of(&case, 0.3);
    let problem = case.at(0.15);
    let mut solver = SpatialSolver::new();
    let ribbon = Ribbon::new(&problem, 4);
    let path = MotionPath { from: start.motion, to: problem.motion };
    let flat = solver.flat_on(&ribbon, start.motion, Some(&start.planar)).unwrap();
    let mut energies = Vec::new();
    // The amplitude is set by the slenderness: twice the usual one, and a mode of other size and sign.
    for (scale, slenderness) in [(1.0, 5.0), (-1.0, 5.0), (1.0, 20.0), (0.3, 5.0)] {
        let mode: Vec<_> = ribbon
            .places
            .iter()
            .map(|s| {
                let point = start.mode.at(*s);
                [scale * point.alpha_rad, scale * point.beta_rad, 0.0]
            })
            .collect();
        let first = solver.switch(&ribbon, &path, &flat, &mode, slenderness, 0).unwrap();
        let march = solver.march(&ribbon, &path, first, GO).unwrap();
        let last = march.arrivals.last().unwrap();
        let chord = ribbon.target(problem.motion).chord;
        let work: f64 = (0..3).map(|i| last.pose.force[i] * chord[i]).sum();
        energies.push(ribbon.rod.value(&last.pose).0 + work);
    }
    for energy in &energies {
        assert!((energy / energies[0] - 1.0).abs() < 1e-9, "{energies:?}");
    }
}

/// The energy gained between two stretches is the work of the end force, and the mirror image is a state as well.
#[test]
fn energy_is_the_work_of_the_end_force() {
    let case = sine_n2();
    let start = onset_of(&case, 0.3);
    let mut solver = SpatialSolver::new();
    let far = solver.buckled(&case.at(0.2), &start, GO).unwrap().unwrap().solution;
    let step = 3e-4;
    let at =
        |solver: &mut SpatialSolver, stretch: f64| solver.solve_at(&case.at(stretch), &far.state).unwrap();
    let (low, high) = (at(&mut solver, 0.2 - step), at(&mut solver, 0.2 + step));
    let force = (high.energy_un_um - low.energy_un_um) / (2.0 * step * case.line.span_um());
    assert!((force / far.force_un[0] - 1.0).abs() < 1e-5, "{force} {:?}", far.force_un);
    let image = solver.solve_at(&case.at(0.2), &far.state.mirrored()).unwrap();
    assert!((image.energy_un_um / far.energy_un_um - 1.0).abs() < 1e-12);
    assert!((image.highest_um + far.lowest_um).abs() < 1e-6);
}

/// The path gives the same states as solving alone, flat before the onset and buckled after.
#[test]
fn path_answers_for_any_stretch() {
    let case = sine_n2();
    let start = onset_of(&case, 0.3);
    let mut solver = SpatialSolver::new();
    let path = BuckledPath::follow(&mut solver, &case.at(0.3), Some(&start), -0.01, GO).unwrap().unwrap();
    assert!(path.trouble.is_none() && path.range == [-0.01, 0.3]);
    for stretch in [-0.01, 0.0, 0.02] {
        let found = path.at(&mut solver, stretch).unwrap();
        assert!(found.symmetry == StateSymmetry::Flat && found.is_stable, "{stretch}");
    }
    for stretch in [start.stretch * 1.01, start.stretch * 1.03, 0.05, 0.12, 0.2345, 0.3] {
        let found = path.at(&mut solver, stretch).unwrap();
        let alone = solver.buckled(&case.at(stretch), &start, GO).unwrap().unwrap().solution;
        assert!((found.energy_un_um / alone.energy_un_um - 1.0).abs() < 1e-8, "{stretch}");
        assert!((found.height_um / alone.height_um - 1.0).abs() < 1e-5);
        let drawn = path.drawn_at(&solver, stretch, 2).unwrap();
        for (a, b) in drawn.iter().zip(found.along(2)) {
            let gap: f64 = (0..3).map(|i| (a.position_um[i] - b.position_um[i]).powi(2)).sum();
            assert!(gap.sqrt() < 1.0, "{stretch} {a:?} {b:?}");
        }
    }
    let stopped = BuckledPath::follow(&mut solver, &case.at(0.3), Some(&start), 0.0, &|| false).unwrap();
    assert!(stopped.is_none());
}

/// Elements halved where they are too long reach a ten-thousandth of the energy from the usual mesh, near straight too.
#[test]
fn resolved_state_is_that_of_a_fine_mesh() {
    let case = Case::new(Family::Sine, [30.0, 100.0], 2, [5.0, 1.0], [2500.0, 0.34]);
    let start = onset_of(&case, 0.45);
    let problem = case.at(0.45);
    let mut solver = SpatialSolver::new();
    let found = solver.buckled(&problem, &start, GO).unwrap().unwrap().solution;
    let resolved = solver.resolved(&problem, &found, 1e-3).unwrap();
    assert!(resolved.mesh_indicator < 1e-3 && found.mesh_indicator > 1e-3);
    let expected = [816.521_78, 34.194_715, 7.200_26, 0.101_291, 0.115_364];
    let ours = [
        resolved.energy_un_um,
        resolved.force_un[0],
        resolved.height_um,
        resolved.peak_tensile.strain,
        resolved.upper_bound_strain,
    ];
    for i in 0..ours.len() {
        assert!((ours[i] / expected[i] - 1.0).abs() < 1e-3, "{i}: {ours:?} {expected:?}");
    }
    assert_eq!(solver.resolved(&problem, &resolved, 1e-3).unwrap().iterations, resolved.iterations);
}

proptest! {
    // Always the same designs, so that a check of an unrelated change never fails by chance.
    #![proptest_config(ProptestConfig {
        cases: 48,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(3),
        ..ProptestConfig::default()
    })]

    /// Whatever the design, the answer is a stable state with finite numbers or an error that says how far it got.
    #[test]
    fn any_design_is_solved_or_refused(
        family in 0..5_usize,
        amplitude in 8.0..70.0_f64,
        periods in 1..4_u32,
        slenderness in 0.2..120.0_f64,
        share in 0.02..1.1_f64,
        ends in 0..3_usize,
        lead in 0.0..40.0_f64,
        aside in -10.0..10.0_f64,
        curl in prop_oneof![Just(0.0), -1e-3..1e-3_f64],
    ) {
        let family = [
            Family::Arc,
            Family::Sine,
            Family::SineGenerated,
            Family::Clothoid { plateau_share: 0.4 },
            Family::ArcAndArm(ArmDrive::Radius { radius_um: 8.0 }),
        ][family];
        let ends = [Ends::Crossing, Ends::Crest, Ends::Midline][ends];
        let Ok(quarter) = Quarter::new(family, 100.0, amplitude) else { return Ok(()) };
        let Ok(line) = Centreline::new(quarter, periods, ends, lead, None) else { return Ok(()) };
        let mut case = Case::new(Family::Arc, [25.0, 100.0], 1, [4.0, 4.0 / slenderness], [2500.0, 0.3]);
        case.line = line;
        let motion =
            EndMotion { stretch: share * case.line.slack(), sideways_um: aside, turn_rad: 0.0 };
        let path = OnsetProblem {
            line: &case.line,
            strips: &case.strips,
            out: &case.out,
            foundation_mpa: 0.0,
            up_to: motion,
        };
        let Ok(Some(start)) = onset(&mut RibbonSolver::new(), &path) else { return Ok(()) };
        let problem = SpatialProblem { motion, curl_per_um: curl, ..case.at(0.0) };
        let mut solver = SpatialSolver::new();
        match solver.buckled(&problem, &start, GO) {
            Ok(branch) => {
                let found = branch.unwrap().solution;
                prop_assert!(found.is_stable);
                let numbers = [
                    found.energy_un_um,
                    found.peak_tensile.strain,
                    found.peak_compressive.strain,
                    found.upper_bound_strain,
                    found.height_um,
                    found.mesh_indicator,
                ];
                prop_assert!(numbers.iter().all(|x| x.is_finite()));
                prop_assert!(found.upper_bound_strain >= found.corner_strain - 1e-12);
                prop_assert!(found.peak_tensile.strain >= found.corner_strain);
                // Less energy than the flat ribbon has, but for what a curl adds.
                if curl == 0.0 {
                    let flat = solver.flat(&problem).unwrap();
                    prop_assert!(found.energy_un_um <= flat.energy_un_um * (1.0 + 1e-6));
                }
            }
            Err(SpatialError::NotConverged { reached, residual, .. }) => {
                prop_assert!(reached.is_finite() && !residual.is_nan());
                // It is given up only where the ribbon is taut or far thinner than wide.
                prop_assert!(slenderness > 60.0 || share > 0.85, "{} {}", slenderness, share);
            }
            Err(other) => prop_assert!(false, "{}", other),
        }
    }
}
