//! Laws that hold for every ribbon, on random ones: shape, equilibrium, energy, scale, mirror, bend loss.

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};
use ogee_mechanics::{CellProblem, CellSolution, CellSolver, LayerSpan, Mesh, Strips};
use ogee_optics::{BendTable, Slab, SlabPolarisation};
use proptest::prelude::*;

/// A possible quarter of any family, pitch 50 to 3000 µm.
fn quarters() -> impl Strategy<Value = Quarter> {
    (0..5_u8, 50.0..3000.0_f64, 0.05..0.6_f64, 0.05..0.95_f64).prop_filter_map(
        "the shape is impossible",
        |(family, pitch_um, ratio, share)| {
            let amplitude_um = ratio * pitch_um;
            let family = match family {
                0 => Family::Sine,
                1 => Family::Arc,
                2 => {
                    let arc_um =
                        (pitch_um * pitch_um / 16.0 + amplitude_um * amplitude_um) / (2.0 * amplitude_um);
                    Family::ArcAndArm(ArmDrive::Radius { radius_um: arc_um * (0.2 + 0.75 * share) })
                }
                3 => Family::SineGenerated,
                _ => Family::Clothoid { plateau_share: share },
            };
            Quarter::new(family, pitch_um, amplitude_um).ok()
        },
    )
}

/// A quarter, a width up to the given share of its least radius, and a stretch as a share of its slack.
fn cells(widest: f64) -> impl Strategy<Value = (Quarter, f64, f64)> {
    (quarters(), 0.02..widest, 0.05..0.9_f64).prop_map(|(quarter, width_share, stretch_share)| {
        let width_um = width_share * quarter.least_radius_um();
        let stretch = stretch_share * quarter.slack();
        (quarter, width_um, stretch)
    })
}

fn solve(quarter: &Quarter, width_um: f64, stretch: f64) -> CellSolution {
    let strips = Strips::homogeneous(width_um).expect("a sound width");
    let problem = CellProblem { quarter, strips: &strips, stretch };
    CellSolver::with_mesh(Mesh::Adaptive { tolerance: 1e-7 })
        .solve(&problem, None)
        .unwrap_or_else(|error| panic!("{quarter:?} {width_um} {stretch}: {error}"))
}

/// Gauss points and weights on 0..1, exact to degree 9.
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Chords between points at equal contour steps add up to the contour length, with the error of chords.
    #[test]
    fn contour_length_is_that_of_its_points(quarter in quarters()) {
        const STEPS: u32 = 4000;
        let length_um = quarter.length_um();
        let at = |i: u32| quarter.at(length_um * f64::from(i) / f64::from(STEPS)).point();
        let chords: f64 = (0..STEPS).map(|i| at(i).distance(at(i + 1))).sum();
        // A chord of an arc of curvature κ is short by (κ ds)²/24 of itself.
        let turn = quarter.crest_curvature_per_um() * length_um / f64::from(STEPS);
        prop_assert!(chords <= length_um * (1.0 + 1e-12));
        prop_assert!(length_um - chords <= length_um * (turn * turn / 24.0 + 1e-11));
    }

    /// Angle and curvature are the derivatives of the points.
    #[test]
    fn angle_and_curvature_are_derivatives(quarter in quarters(), share in 0.02..0.98_f64) {
        let length_um = quarter.length_um();
        let (s, h) = (share * length_um, 1e-5 * length_um);
        let touches_a_joint = quarter.pieces().iter().any(|piece| (piece.end_um() - s).abs() <= 2.0 * h);
        prop_assume!(!touches_a_joint);
        let (before, here, after) = (quarter.at(s - h), quarter.at(s), quarter.at(s + h));
        let along = after.point() - before.point();
        prop_assert!((along.x - 2.0 * h * here.phi_rad.cos()).abs() < 1e-7 * h);
        prop_assert!((along.y - 2.0 * h * here.phi_rad.sin()).abs() < 1e-7 * h);
        let turned = (after.phi_rad - before.phi_rad) / (2.0 * h);
        prop_assert!((turned - here.kappa_per_um).abs() < 1e-6 * quarter.crest_curvature_per_um());
    }

    /// Every corner of the outline lies half a width from the centreline, on the side it belongs to.
    #[test]
    fn edges_are_half_a_width_away((quarter, width_um, _) in cells(1.0), periods in 1..4_u32) {
        let ribbon = Centreline::new(quarter, periods, Ends::Crest, 0.0, None);
        prop_assume!(ribbon.is_ok());
        let ribbon = ribbon.expect("just checked");
        // Bends that meet have no outline to speak of.
        let gap = ribbon.clearance(width_um);
        prop_assume!(gap.is_ok_and(|clearance| clearance.gap_um > 0.05 * width_um));
        let tolerance_um = 1e-3 * width_um;
        for (offset_um, sign) in [(0.5 * width_um, 1.0), (-0.5 * width_um, -1.0)] {
            let edge = ribbon.edge_points(offset_um, tolerance_um).expect("the bends are wide enough");
            for point in edge.iter().step_by(edge.len().div_ceil(40)) {
                let (_, distance_um) = ribbon.nearest(point.x, point.y);
                prop_assert!((distance_um - sign * 0.5 * width_um).abs() < 1e-9 * width_um.max(1.0) + 1e-9 * ribbon.span_um());
            }
        }
    }

    /// At rest nothing is strained and nothing pulls.
    #[test]
    fn rest_is_free_of_strain((quarter, width_um, _) in cells(1.2)) {
        let rest = solve(&quarter, width_um, 0.0);
        let pulled = solve(&quarter, width_um, 0.01);
        prop_assert!(rest.peak.strain.abs() < 1e-9);
        prop_assert!(rest.force_ei_per_p2.abs() < 1e-7 * pulled.force_ei_per_p2);
        prop_assert!((rest.stretched_amplitude_um / quarter.amplitude_um() - 1.0).abs() < 1e-9);
    }

    /// The work of the end force is the energy stored: ∫F de against ½∫(EA ε₀² + EI_c χ²) ds.
    #[test]
    fn work_is_stored_as_energy((quarter, width_um, stretch) in cells(0.8)) {
        const POINTS: usize = 4001;
        // In EI/P: lengths over P, EA over EI is 12/w².
        let work: f64 = GAUSS.iter().map(|(at, weight)| {
            solve(&quarter, width_um, at * stretch).force_ei_per_p2 * weight * stretch
        }).sum();
        let solution = solve(&quarter, width_um, stretch);
        let density: Vec<f64> = solution.along(POINTS).iter().map(|point| {
            let bending = point.kappa_per_um - point.kappa_rest_per_um * (1.0 + point.axial_strain);
            let ratio = solution.strips().bending_ratio(point.kappa_rest_per_um);
            0.5 * (12.0 / (width_um * width_um) * point.axial_strain.powi(2) + ratio * bending.powi(2))
        }).collect();
        let step_um = quarter.length_um() / (POINTS - 1) as f64;
        let sum: f64 = density.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]) * step_um).sum();
        let energy = 4.0 * sum * quarter.pitch_um();
        // The trapezium rule does not know where the curvature jumps; Gauss's five points see a stiffening curve.
        prop_assert!((work / energy - 1.0).abs() < 2e-3, "{work} {energy}");
    }

    /// dF/de is the slope of F.
    #[test]
    fn stiffness_is_the_slope_of_the_force((quarter, width_um, stretch) in cells(0.8)) {
        let h = 1e-4 * quarter.slack();
        let (below, above) = (solve(&quarter, width_um, stretch - h), solve(&quarter, width_um, stretch + h));
        let slope = (above.force_ei_per_p2 - below.force_ei_per_p2) / (2.0 * h);
        let here = solve(&quarter, width_um, stretch);
        prop_assert!((slope / here.force_slope_ei_per_p2 - 1.0).abs() < 1e-3);
    }

    /// All lengths times a factor: same strains, same dimensionless force, amplitude times the factor.
    #[test]
    fn size_does_not_matter((quarter, width_um, stretch) in cells(1.0), factor in 0.01..100.0_f64) {
        let family = match quarter.family() {
            Family::ArcAndArm(ArmDrive::Radius { radius_um }) => {
                Family::ArcAndArm(ArmDrive::Radius { radius_um: radius_um * factor })
            }
            other => other,
        };
        let larger = Quarter::new(family, quarter.pitch_um() * factor, quarter.amplitude_um() * factor)
            .expect("a scaled shape is as possible");
        let (one, other) = (solve(&quarter, width_um, stretch), solve(&larger, width_um * factor, stretch));
        prop_assert!((other.peak.strain / one.peak.strain - 1.0).abs() < 1e-6);
        prop_assert!((other.force_ei_per_p2 / one.force_ei_per_p2 - 1.0).abs() < 1e-6);
        prop_assert!((other.stretched_amplitude_um / one.stretched_amplitude_um / factor - 1.0).abs() < 1e-6);
    }

    /// A layer off the centreline strains as its mirror image: crests and troughs change places.
    #[test]
    fn mirrored_layers_strain_alike((quarter, width_um, stretch) in cells(0.8), a in 0.0..1.0_f64, b in 0.0..1.0_f64) {
        let solution = solve(&quarter, width_um, stretch);
        let (low, high) = ((a.min(b) - 0.5) * width_um, (a.max(b) - 0.5) * width_um);
        let one = solution.peak_at(LayerSpan { left_um: high, right_um: low }).expect("inside the ribbon");
        let other = solution.peak_at(LayerSpan { left_um: -low, right_um: -high }).expect("inside the ribbon");
        prop_assert!((one.tensile.strain - other.tensile.strain).abs() < 1e-12);
        prop_assert!((one.compressive.strain - other.compressive.strain).abs() < 1e-12);
    }

    /// On a given centreline at a given stretch a wider ribbon is never strained less, as long as it bends rather
    /// than elongates: linear theory has its turning point near w = √6 A, where ∫y² ds/EI and ∫ds/EA meet.
    #[test]
    fn a_wider_ribbon_is_strained_more((quarter, width_um, stretch) in cells(0.7), wider in 1.01..1.5_f64) {
        prop_assume!(width_um * wider < 1.5 * quarter.amplitude_um());
        let narrow = solve(&quarter, width_um, stretch).peak.strain;
        let wide = solve(&quarter, width_um * wider, stretch).peak.strain;
        prop_assert!(wide > narrow * (1.0 - 1e-6), "{narrow} {wide}");
    }

    /// The peak of a solution is the largest strain anywhere along its edges.
    #[test]
    fn the_peak_is_the_largest_strain_of_all((quarter, width_um, stretch) in cells(1.0)) {
        let solution = solve(&quarter, width_um, stretch);
        let largest = solution.along(301).iter()
            .flat_map(|point| [point.left_strain.abs(), point.right_strain.abs()])
            .fold(0.0, f64::max);
        prop_assert!(largest <= solution.peak.strain.abs() * (1.0 + 1e-5));
        prop_assert!(largest >= solution.peak.strain.abs() * (1.0 - 1e-2));
    }

    /// Points along the stretched quarter end at the crest, a quarter of the stretched pitch along.
    #[test]
    fn the_stretched_quarter_ends_where_it_should((quarter, width_um, stretch) in cells(1.0)) {
        let solution = solve(&quarter, width_um, stretch);
        let points = solution.along(11);
        let crest = points.last().expect("eleven points");
        prop_assert!((crest.x_um / (0.25 * quarter.pitch_um() * (1.0 + stretch)) - 1.0).abs() < 1e-7);
        prop_assert!(crest.phi_rad.abs() < 1e-9);
        prop_assert!((crest.y_um - solution.stretched_amplitude_um).abs() < 1e-9 * quarter.pitch_um());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// Bend loss falls as the radius grows, a joint loses more the larger the jump, and sides are alike.
    #[test]
    fn tighter_bends_lose_more(
        wavelength_um in 0.6..1.7_f64, n_clad in 1.3..1.5_f64, contrast in 0.02..0.6_f64, thick in 0.4..0.9_f64,
    ) {
        let n_core = n_clad + contrast;
        // Below the width at which a second mode appears.
        let cutoff_um = 0.5 * wavelength_um / (n_core * n_core - n_clad * n_clad).sqrt();
        let slab = Slab { wavelength_um, width_um: thick * cutoff_um, n_core, n_left: n_clad, n_right: n_clad };
        let table = BendTable::new(&slab, SlabPolarisation::Te, None).expect("a guiding slab");
        let (least_um, greatest_um) = (table.least_radius_um(), table.greatest_radius_um());
        let mut last = (f64::INFINITY, f64::INFINITY);
        for step in 0..=40 {
            let radius_um = least_um * (greatest_um / least_um).powf(f64::from(step) / 40.0);
            let loss = table.loss_db_per_90deg(1.0 / radius_um);
            let joint = table.transition_db(0.0, 1.0 / radius_um);
            prop_assert!(loss < last.0 && joint < last.1, "R = {radius_um}: {loss} {joint} after {last:?}");
            prop_assert_eq!(loss.to_bits(), table.loss_db_per_90deg(-1.0 / radius_um).to_bits());
            last = (loss, joint);
        }
    }
}
