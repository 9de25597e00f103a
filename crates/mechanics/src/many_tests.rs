//! The lanes against the scalar solver.

use ogee_geometry::{ArmDrive, Family, Quarter};
use pulp::Arch;

use crate::{
    CellError, CellProblem, CellSolver, LayerSpan, ManyProblem, ManyResults, ManySettings, ManySolver, Mesh,
    Strips,
};

/// Relative difference allowed: the tolerance of both.
const TOLERANCE: f64 = 2e-4;

fn shapes() -> Vec<Quarter> {
    let mut shapes = Vec::new();
    for step in 0..6 {
        let grow = f64::from(step);
        let arm = Family::ArcAndArm(ArmDrive::Radius { radius_um: 120.0 + 20.0 * grow });
        for (family, amplitude_um) in [
            (Family::Sine, 60.0 * 1.8_f64.powi(step)),
            (Family::Arc, 80.0 + 90.0 * grow),
            (arm, 400.0 + 100.0 * grow),
            (Family::SineGenerated, 80.0 + 120.0 * grow),
            (Family::Clothoid { plateau_share: 0.19 * grow }, 100.0 + 90.0 * grow),
        ] {
            shapes.push(Quarter::new(family, 1000.0, amplitude_um).unwrap());
        }
    }
    shapes
}

/// Stretches as shares of the slack.
const SHARES: [f64; 6] = [-0.15, 0.0, 0.01, 0.4, 0.8, 0.97];

#[test]
fn lanes_agree_with_the_scalar_solver() {
    let shapes = shapes();
    let sections = [0.02, 0.15, 0.6]
        .map(|ratio| shapes.iter().map(|q| ratio * q.least_radius_um()).collect::<Vec<_>>())
        .concat()
        .into_iter()
        .map(|width_um| (Strips::homogeneous(width_um).unwrap(), [LayerSpan::centred(width_um)]))
        .collect::<Vec<_>>();
    let mut problems = Vec::new();
    for (i, (strips, layers)) in sections.iter().enumerate() {
        let quarter = &shapes[i % shapes.len()];
        for share in SHARES {
            let cell = CellProblem { quarter, strips, stretch: share * quarter.slack() };
            problems.push(ManyProblem { cell, layers });
        }
    }
    let mut results = ManyResults::default();
    ManySolver::new(ManySettings::default()).solve_many(&problems, &mut results);
    assert!(results.faults().is_empty());
    let mut solver = CellSolver::with_mesh(Mesh::Adaptive { tolerance: 1e-7 });
    for (i, problem) in problems.iter().enumerate() {
        let solution = solver.solve(&problem.cell, None).unwrap();
        let cell = results.cell(i).unwrap();
        let scale = solution.peak.strain.abs();
        let peaks = results.peaks(i)[0];
        let place = format!("{:?} {}", problem.cell.quarter, problem.cell.stretch);
        if problem.cell.stretch == 0.0 {
            assert!(peaks.tensile.abs() < 1e-12 && cell.force_ei_per_p2.abs() < 1e-9, "{place}");
            continue;
        }
        assert!((peaks.largest() - solution.peak.strain).abs() < TOLERANCE * scale, "{peaks:?} {place}");
        let force = solution.force_ei_per_p2;
        assert!((cell.force_ei_per_p2 / force - 1.0).abs() < TOLERANCE, "{force} {cell:?} {place}");
        // An extreme away from the crest is interpolated on the mesh of the peak.
        let extremes = solution.peak_at(problem.layers[0]).unwrap();
        assert!((peaks.tensile - extremes.tensile.strain).abs() < 10.0 * TOLERANCE * scale, "{place}");
        assert!(
            (peaks.compressive - extremes.compressive.strain).abs() < 10.0 * TOLERANCE * scale,
            "{place}"
        );
    }
}

#[test]
fn layers_off_the_centreline_and_paths_agree_with_the_scalar_solver() {
    let family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 150.0 });
    let quarter = Quarter::new(family, 1000.0, 300.0).unwrap();
    let strips = Strips::new(&[(3.0, 20.0), (60.0, 8.0), (-1.0, 4.0)]).unwrap();
    let layers =
        [LayerSpan::centred(20.0), LayerSpan::centred(8.0), LayerSpan { left_um: 7.0, right_um: 1.0 }];
    let problems: Vec<_> = (0..11)
        .map(|i| CellProblem { quarter: &quarter, strips: &strips, stretch: 0.05 * f64::from(i) + 0.01 })
        .map(|cell| ManyProblem { cell, layers: &layers })
        .collect();
    let settings = ManySettings { least_elements: 4, wants_path: true, ..ManySettings::default() };
    let mut results = ManyResults::default();
    ManySolver::new(settings).solve_many(&problems, &mut results);
    for (i, problem) in problems.iter().enumerate() {
        let solution = CellSolver::new().solve(&problem.cell, None).unwrap();
        for (peaks, span) in results.peaks(i).iter().zip(layers) {
            let extremes = solution.peak_at(span).unwrap();
            let scale = TOLERANCE * solution.peak.strain;
            assert!((peaks.tensile - extremes.tensile.strain).abs() < scale);
            assert!((peaks.compressive - extremes.compressive.strain).abs() < scale);
        }
        let path: Vec<_> = solution.optical_quadrature().collect();
        assert_eq!(results.path(i).len(), path.len());
        for (lane, scalar) in results.path(i).iter().zip(&path) {
            assert!((lane.length_um / scalar.length_um - 1.0).abs() < 1e-5);
            let least = 1e-6 * quarter.crest_curvature_per_um();
            assert!(
                (lane.curvature_per_um - scalar.curvature_per_um).abs() < 10.0 * least,
                "{lane:?} {scalar:?}"
            );
        }
        let jumps: Vec<_> = results.cell(i).unwrap().jumps.iter().flatten().copied().collect();
        let expected = solution.curvature_jumps();
        assert_eq!(jumps.len(), 1);
        assert_eq!(jumps.len(), expected.len());
        assert!((jumps[0].s_um - quarter.arm_half_length_um()).abs() < 1e-9);
        assert!((jumps[0].after_per_um / expected[0].after_per_um - 1.0).abs() < 1e-4);
    }
}

/// All vectors that this processor has give the same.
#[test]
fn every_vector_gives_the_same() {
    let shapes = shapes();
    let strips = Strips::homogeneous(9.0).unwrap();
    let layers = [LayerSpan::centred(9.0)];
    let problems: Vec<_> = shapes
        .iter()
        .flat_map(|quarter| {
            SHARES.map(|share| CellProblem { quarter, strips: &strips, stretch: share * quarter.slack() })
        })
        .map(|cell| ManyProblem { cell, layers: &layers })
        .collect();
    let solve = |arch: Arch| {
        let mut results = ManyResults::default();
        let mut solver = ManySolver::new(ManySettings::default());
        solver.arch = arch;
        solver.solve_many(&problems, &mut results);
        (0..problems.len()).map(|i| results.peaks(i)[0].largest()).collect::<Vec<_>>()
    };
    let widest = solve(Arch::new());
    let mut others = vec![Arch::Scalar];
    #[cfg(target_arch = "x86_64")]
    others.extend(pulp::x86::V3::try_new().map(Arch::V3));
    for arch in others {
        for (one, other) in solve(arch).iter().zip(&widest) {
            // Lanes beside it may make a design iterate once more.
            assert!((one - other).abs() <= 1e-5 * other.abs() + 1e-12, "{arch:?}: {one} {other}");
        }
    }
}

#[test]
fn faults_stay_with_their_problem() {
    let quarter = Quarter::new(Family::Arc, 400.0, 100.0).unwrap();
    let (thin, wide) = (Strips::homogeneous(10.0).unwrap(), Strips::homogeneous(201.0).unwrap());
    let layers = [LayerSpan::centred(10.0)];
    let problem = |strips, stretch| ManyProblem {
        cell: CellProblem { quarter: &quarter, strips, stretch },
        layers: &layers,
    };
    let problems = [problem(&thin, 0.2), problem(&wide, 0.2), problem(&thin, f64::NAN), problem(&thin, 0.3)];
    let mut results = ManyResults::default();
    ManySolver::new(ManySettings::default()).solve_many(&problems, &mut results);
    assert!(results.cell(0).is_ok() && results.cell(3).is_ok());
    assert!(matches!(results.cell(1), Err(CellError::WiderThanBend { .. })));
    assert!(matches!(results.cell(2), Err(CellError::BadStretch { .. })));
    assert!(results.peaks(1).is_empty() && results.path(1).is_empty());
}
