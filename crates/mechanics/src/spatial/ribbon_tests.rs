//! Whole ribbons against the project's own reference states.

use ogee_geometry::{Centreline, Ends, Family, Quarter};

use super::*;
use crate::{EndMotion, OutOfPlane, RibbonProblem, RibbonSolver, SectionLaw, Strips};

pub(crate) struct Case {
    pub(crate) line: Centreline,
    pub(crate) strips: Strips,
    pub(crate) out: OutOfPlane,
}

impl Case {
    #[allow(clippy::too_many_arguments, reason = "the numbers of a reference table")]
    pub(crate) fn new(
        family: Family,
        [amplitude, pitch]: [f64; 2],
        periods: u32,
        [width, thickness]: [f64; 2],
        [modulus, poisson]: [f64; 2],
    ) -> Self {
        let quarter = Quarter::new(family, pitch, amplitude).unwrap();
        Self {
            line: Centreline::new(quarter, periods, Ends::Crossing, 0.0, None).unwrap(),
            strips: Strips::new(&[(modulus * thickness, width)]).unwrap(),
            out: OutOfPlane::homogeneous(width, thickness, modulus, poisson).unwrap(),
        }
    }

    pub(crate) fn rod(mut self, plate_factor: f64) -> Self {
        self.out.law = SectionLaw::Rod;
        self.out.bending_un_um2 *= plate_factor;
        self
    }

    pub(crate) fn at(&self, stretch: f64) -> SpatialProblem<'_> {
        SpatialProblem {
            line: &self.line,
            strips: &self.strips,
            out: &self.out,
            motion: EndMotion::stretch(stretch),
            curl_per_um: 0.0,
        }
    }
}

pub(crate) fn arc_n1() -> Case {
    Case::new(Family::Arc, [25.0, 100.0], 1, [5.0, 1.0], [2500.0, 0.34])
}

/// The planar state of the reference table, and its stability.
#[test]
fn blocked_states_are_planar() {
    let case = arc_n1().rod(1.0);
    let mut solver = SpatialSolver::with_elements_per_quarter(20);
    for (stretch, force, energy, unstable) in [
        (0.05, 6.275_467_4, 15.266_737, 0),
        (0.1, 13.722_688, 64.699_836, 2),
        (0.2, 34.066_011, 296.083_51, 7),
    ] {
        let flat = solver.flat(&case.at(stretch)).unwrap();
        assert!((flat.force_un[0] / force - 1.0).abs() < 1e-5, "{} {force}", flat.force_un[0]);
        assert!((flat.energy_un_um / energy - 1.0).abs() < 1e-5, "{} {energy}", flat.energy_un_um);
        assert_eq!(flat.unstable_modes, unstable);
        assert_eq!(flat.symmetry, StateSymmetry::Flat);
    }
}

/// Lowest states of arc-n1-wt5: energy, force, height, peak, upper bound, compression.
#[test]
fn reference_states_of_one_period() {
    let rows = [
        (arc_n1().rod(1.0), 0.1, [61.218_793, 11.478_292, 4.299_29, 0.023_359_8, 0.023_638_3, -0.027_313_7]),
        (arc_n1(), 0.1, [61.473_297, 11.600_49, 4.235_75, 0.023_564_8, 0.024_383_1, -0.027_365_4]),
        (arc_n1().rod(1.0), 0.2, [209.808_85, 18.553_306, 6.041_85, 0.048_952_2, 0.057_144, -0.058_115_4]),
        (arc_n1(), 0.2, [213.751_82, 19.336_257, 6.020_42, 0.054_716_6, 0.063_086, -0.053_008_3]),
    ];
    let mut solver = SpatialSolver::with_elements_per_quarter(12);
    for (case, stretch, expected) in rows {
        let flat = solver.flat(&case.at(0.1)).unwrap();
        let mut found = solver.solve_at(&case.at(0.1), &flat.state).unwrap();
        for step in 1..=4 {
            let next = 0.1 + (stretch - 0.1) * f64::from(step) / 4.0;
            found = solver.solve_at(&case.at(next), &found.state).unwrap();
        }
        let ours = [
            found.energy_un_um,
            found.force_un[0],
            found.height_um,
            found.peak_tensile.strain,
            found.upper_bound_strain,
            found.peak_compressive.strain,
        ];
        let tolerance = [1e-3, 2e-3, 3e-3, 5e-3, 5e-3, 5e-3];
        for i in 0..6 {
            assert!((ours[i] / expected[i] - 1.0).abs() < tolerance[i], "{i}: {ours:?} {expected:?}");
        }
        assert!(found.is_stable && found.symmetry == StateSymmetry::Odd);
    }
}

/// With the motion out of the plane blocked, the state is that of the planar ribbon, leads and other ends included.
#[test]
fn blocked_ribbon_is_the_planar_ribbon() {
    let quarter = Quarter::new(Family::Sine, 100.0, 35.0).unwrap();
    for (ends, lead) in [(Ends::Crossing, 0.0), (Ends::Crest, 30.0), (Ends::Midline, 12.0)] {
        let mut case = Case::new(Family::Sine, [35.0, 100.0], 2, [6.0, 1.0], [2500.0, 0.3]);
        case.line = Centreline::new(quarter.clone(), 2, ends, lead, None).unwrap();
        for motion in [
            EndMotion { stretch: 0.3, sideways_um: 15.0, turn_rad: 0.2 },
            EndMotion { stretch: -0.1, sideways_um: 0.0, turn_rad: -0.3 },
        ] {
            let planar = RibbonSolver::new()
                .solve(&RibbonProblem { line: &case.line, strips: &case.strips, motion }, None)
                .unwrap();
            let mut solver = SpatialSolver::with_elements_per_quarter(12);
            let flat = solver.flat(&SpatialProblem { motion, ..case.at(0.0) }).unwrap();
            assert!((flat.energy_un_um / planar.energy_un_um - 1.0).abs() < 1e-4, "{ends:?} {motion:?}");
            let size = planar.force_un[0].hypot(planar.force_un[1]);
            for i in 0..2 {
                assert!((flat.force_un[i] - planar.force_un[i]).abs() < 1e-4 * size);
            }
            assert!((flat.near_moment_un_um[2] - planar.near_moment_un_um).abs() < 1e-3 * size * 100.0);
            let peaks = flat.peak_tensile.strain / planar.peak_tensile.strain;
            assert!((peaks - 1.0).abs() < 1e-3, "{peaks}");
            let point = flat.at(0.3 * flat.contour_length_um());
            let other = planar.at(0.3 * flat.contour_length_um());
            let start = case.line.start();
            assert!((point.position_um[0] - start.x_um - other.x_um).abs() < 1e-3);
            assert!((point.kappa_in_per_um - other.kappa_per_um).abs() < 1e-4);
        }
    }
}

/// The energy converges with the fourth power of the element's length.
#[test]
fn energy_converges_with_order_four() {
    let case = Case::new(Family::SineGenerated, [40.0, 100.0], 1, [5.0, 1.0], [2500.0, 0.3]);
    let energies: Vec<f64> = [4, 8, 16]
        .into_iter()
        .map(|count| {
            let mut solver = SpatialSolver::with_elements_per_quarter(count);
            let flat = solver.flat(&case.at(0.15)).unwrap();
            solver.solve_at(&case.at(0.15), &flat.state).unwrap().energy_un_um
        })
        .collect();
    let ratio = (energies[0] - energies[1]) / (energies[1] - energies[2]);
    assert!((10.0..26.0).contains(&ratio), "{ratio} {energies:?}");
}

/// The image in the ribbon's plane of a state is a state, whatever the motion in that plane.
#[test]
fn mirror_image_is_a_state_as_well() {
    let case = arc_n1();
    let mut solver = SpatialSolver::new();
    let motion = |sign: f64| EndMotion { stretch: 0.12, sideways_um: 4.0 * sign, turn_rad: 0.1 * sign };
    let flat = solver.flat(&SpatialProblem { motion: motion(0.0), ..case.at(0.0) }).unwrap();
    let found =
        solver.solve_at(&SpatialProblem { motion: motion(1.0), ..case.at(0.0) }, &flat.state).unwrap();
    let image = solver
        .solve_at(&SpatialProblem { motion: motion(1.0), ..case.at(0.0) }, &found.state.mirrored())
        .unwrap();
    assert!((found.energy_un_um / image.energy_un_um - 1.0).abs() < 1e-10);
    assert!((found.peak_tensile.strain / image.peak_tensile.strain - 1.0).abs() < 1e-9);
    assert!((found.peak_tensile.height_um + image.peak_tensile.height_um).abs() < 1e-9);
    assert!((found.force_un[2] + image.force_un[2]).abs() < 1e-7 * found.force_un[0].abs());
}

/// Corners of the whole section are the extremes of its own rectangle unless twist bends them inwards.
#[test]
fn layer_of_the_whole_section_has_the_corner_strain() {
    let case = arc_n1();
    let mut solver = SpatialSolver::new();
    let flat = solver.flat(&case.at(0.1)).unwrap();
    let found = solver.solve_at(&case.at(0.1), &flat.state).unwrap();
    let whole = FibreBox { right_um: -2.5, left_um: 2.5, bottom_um: -0.5, top_um: 0.5 };
    let extremes = found.extremes_in(whole).unwrap();
    assert!((extremes.tensile.strain / found.corner_strain - 1.0).abs() < 1e-12);
    assert!((extremes.compressive.strain / found.peak_compressive.strain - 1.0).abs() < 1e-12);
    let core =
        found.extremes_in(FibreBox { right_um: -1.0, left_um: 1.0, bottom_um: 0.0, top_um: 0.2 }).unwrap();
    assert!(core.tensile.strain < extremes.tensile.strain);
    assert!(matches!(
        found.extremes_in(FibreBox { left_um: 40.0, ..whole }),
        Err(SpatialError::WiderThanBend { .. })
    ));
    for point in found.along(3) {
        assert!(point.left_top_strain <= extremes.tensile.strain + 1e-12);
        let length: f64 = point.tangent.iter().map(|x| x * x).sum();
        assert!((length - 1.0).abs() < 1e-12);
    }
}

/// A curl lifts a ribbon from its plane at once; to first order a straight-ended arc of moment EI k.
#[test]
fn curl_bends_the_ribbon_out_of_its_plane() {
    let case = Case::new(Family::Arc, [20.0, 100.0], 2, [4.0, 1.0], [2500.0, 0.3]);
    let mut solver = SpatialSolver::new();
    let at = |solver: &mut SpatialSolver, curl_per_um: f64| {
        let problem = SpatialProblem { curl_per_um, ..case.at(0.02) };
        let states =
            solver.stable_states(&problem, None, &[], SearchEffort::Quick, &|| true).unwrap().unwrap();
        states.states[0].clone()
    };
    let (small, twice, other) = (at(&mut solver, 1e-5), at(&mut solver, 2e-5), at(&mut solver, -1e-5));
    assert!(small.symmetry == StateSymmetry::Even || small.symmetry == StateSymmetry::Odd);
    assert!(small.height_um > 1e-4 && (twice.height_um / small.height_um - 2.0).abs() < 1e-2);
    assert!((small.highest_um + other.lowest_um).abs() < 1e-6 * small.height_um.max(1.0));
}

#[test]
fn a_design_starts_from_its_neighbour() {
    let thin = Case::new(Family::Arc, [20.0, 100.0], 2, [4.0, 0.4], [250_000.0, 0.23]);
    let thick = Case::new(Family::Arc, [21.0, 100.0], 2, [4.0, 0.48], [250_000.0, 0.23]);
    let mut solver = SpatialSolver::new();
    let flat = solver.flat(&thin.at(0.08)).unwrap();
    let start = solver.solve_at(&thin.at(0.08), &flat.state).unwrap();
    let next = solver.solve_at(&thick.at(0.08), &start.state).unwrap();
    assert!(next.iterations <= 8 && next.is_stable && next.symmetry == start.symmetry, "{}", next.iterations);
    // A finer mesh as well.
    let mut fine = SpatialSolver::with_elements_per_quarter(8);
    let refined = fine.solve_at(&thick.at(0.08), &next.state).unwrap();
    assert!(refined.iterations <= 6 && (refined.energy_un_um / next.energy_un_um - 1.0).abs() < 2e-3);
    let (again, error) = solver.refined(&thick.at(0.08), &next).unwrap();
    assert!((again.energy_un_um / refined.energy_un_um - 1.0).abs() < 1e-9);
    assert!(error.energy > 0.0 && error.energy < 2e-3 && error.peak < 5e-3, "{error:?}");
}

#[test]
fn impossible_problems_are_refused() {
    let case = arc_n1();
    let mut solver = SpatialSolver::new();
    let flat = solver.flat(&case.at(0.05)).unwrap();
    for stretch in [f64::NAN, -1.0, f64::INFINITY] {
        assert!(matches!(solver.flat(&case.at(stretch)), Err(SpatialError::BadMotion { .. })));
        assert!(matches!(
            solver.solve_at(&case.at(stretch), &flat.state),
            Err(SpatialError::BadMotion { .. })
        ));
    }
    let curled = SpatialProblem { curl_per_um: 2.0, ..case.at(0.05) };
    assert!(matches!(solver.flat(&curled), Err(SpatialError::BadCurl { .. })));
    let wide = Case::new(Family::Arc, [25.0, 100.0], 1, [60.0, 1.0], [2500.0, 0.3]);
    assert!(matches!(solver.flat(&wide.at(0.05)), Err(SpatialError::WiderThanBend { .. })));
    let longer = Case::new(Family::Arc, [25.0, 100.0], 2, [5.0, 1.0], [2500.0, 0.34]);
    assert!(matches!(
        solver.solve_at(&longer.at(0.05), &flat.state),
        Err(SpatialError::OtherTopology { .. })
    ));
}
