//! Laws that hold for every whole ribbon and every bonded one, on random ones: balance, energy, mirror images,
//! limits, and how fast a finer mesh converges.

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};
use ogee_mechanics::{
    BondedProblem, BondedRibbonProblem, BondedRibbonSolution, BondedRibbonSolver, BondedSolution,
    BondedSolver, CellProblem, CellSolver, EndMotion, Mesh, Reached, RibbonProblem, RibbonSolution,
    RibbonSolver, Strips,
};
use proptest::prelude::*;

/// Gauss points and weights on 0..1, exact to degree 9.
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

/// A possible quarter of any family, pitch 50 to 3000 µm.
fn quarters() -> impl Strategy<Value = Quarter> {
    (0..5_u8, 50.0..3000.0_f64, 0.08..0.6_f64, 0.05..0.95_f64).prop_filter_map(
        "the shape is impossible",
        |(family, pitch_um, ratio, share)| {
            let amplitude_um = ratio * pitch_um;
            let arc_um = (pitch_um * pitch_um / 16.0 + amplitude_um * amplitude_um) / (2.0 * amplitude_um);
            let family = match family {
                0 => Family::Sine,
                1 => Family::Arc,
                2 => Family::ArcAndArm(ArmDrive::Radius { radius_um: arc_um * (0.2 + 0.75 * share) }),
                3 => Family::SineGenerated,
                _ => Family::Clothoid { plateau_share: share },
            };
            Quarter::new(family, pitch_um, amplitude_um).ok()
        },
    )
}

/// A whole ribbon without end arcs, and a width.
fn ribbons() -> impl Strategy<Value = (Centreline, f64)> {
    (quarters(), 1..4_u32, any::<bool>(), 0.0..0.4_f64, 0.02..0.5_f64).prop_filter_map(
        "the lead hits a bend",
        |(quarter, periods, from_crest, lead, width_share)| {
            let ends = if from_crest { Ends::Crest } else { Ends::Crossing };
            let (pitch_um, width_um) = (quarter.pitch_um(), width_share * quarter.least_radius_um());
            let line = Centreline::new(quarter, periods, ends, lead * pitch_um, None).ok()?;
            Some((line, width_um))
        },
    )
}

fn try_solve(line: &Centreline, width_um: f64, motion: EndMotion) -> Option<RibbonSolution> {
    let strips = Strips::homogeneous(width_um).expect("a sound width");
    let problem = RibbonProblem { line, strips: &strips, motion };
    RibbonSolver::with_mesh(Mesh::Adaptive { tolerance: 1e-7 }).solve(&problem, None).ok()
}

fn solve(line: &Centreline, width_um: f64, motion: EndMotion) -> RibbonSolution {
    try_solve(line, width_um, motion)
        .unwrap_or_else(|| panic!("no equilibrium of {line:?} {width_um} {motion:?}"))
}

/// Motions of the far island that pull, shear and turn the ribbon.
fn motions() -> impl Strategy<Value = (f64, f64, f64)> {
    (0.1..0.7_f64, -0.2..0.2_f64, -0.25..0.25_f64)
}

/// The motion at shares of the ribbon's slack and span.
fn motion_of(line: &Centreline, (pull, shear, turn_rad): (f64, f64, f64)) -> EndMotion {
    EndMotion { stretch: pull * line.slack(), sideways_um: shear * pull * line.span_um(), turn_rad }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// At rest nothing is strained and nothing pulls.
    #[test]
    fn rest_is_free_of_strain((line, width_um) in ribbons()) {
        let rest = solve(&line, width_um, EndMotion::default());
        let pulled = solve(&line, width_um, EndMotion::stretch(0.01));
        prop_assert!(rest.peak.strain.abs() < 1e-9 && rest.energy_un_um < 1e-12 * pulled.energy_un_um);
        prop_assert!(rest.force_un[0].abs() < 1e-7 * pulled.force_un[0].abs());
    }

    /// Forces and moments on the two ends balance.
    #[test]
    fn reactions_balance((line, width_um) in ribbons(), motion in motions()) {
        let motion = motion_of(&line, motion);
        let solution = solve(&line, width_um, motion);
        let [h, v] = solution.force_un;
        let far = solution.at(solution.contour_length_um());
        let rise_um = line.end().y_um - line.start().y_um;
        prop_assert!((far.x_um - (1.0 + motion.stretch) * line.span_um()).abs() < 1e-6 * line.span_um());
        prop_assert!((far.y_um - rise_um - motion.sideways_um).abs() < 1e-6 * line.span_um());
        let sum = solution.far_moment_un_um - solution.near_moment_un_um - h * far.y_um + v * far.x_um;
        let scale = solution.far_moment_un_um.abs() + (h * far.y_um).abs() + (v * far.x_um).abs();
        prop_assert!(sum.abs() < 1e-6 * scale, "{} of {}", sum, scale);
    }

    /// The work of the force and moment on the far end is the energy stored, as long as the ribbon does not snap.
    #[test]
    fn work_is_stored_as_energy((line, width_um) in ribbons(), motion in motions()) {
        let motion = motion_of(&line, motion);
        let mut work = 0.0;
        for (at, weight) in GAUSS {
            let part = solve(&line, width_um, motion.scaled(at));
            prop_assume!(part.reached != Reached::ByBuckling);
            let power = part.force_un[0] * motion.stretch * line.span_um()
                + part.force_un[1] * motion.sideways_um
                + part.far_moment_un_um * motion.turn_rad;
            work += weight * power;
        }
        let energy = solve(&line, width_um, motion).energy_un_um;
        // Gauss's five points see a stiffening curve.
        prop_assert!((work / energy - 1.0).abs() < 2e-3, "{} {}", work, energy);
    }

    /// A ribbon from crest to crest is its own mirror image: seen from the other side, ends exchanged, the mirrored
    /// motion has the mirrored answer.
    #[test]
    fn the_mirror_image_has_the_mirrored_answer((line, width_um) in ribbons(), motion in motions()) {
        prop_assume!(line.ends() == Ends::Crest);
        let motion = motion_of(&line, motion);
        let one = solve(&line, width_um, motion);
        // Mirrored in x, the ends exchange and the turned one is turned back to rest.
        let (sine, cosine) = motion.turn_rad.sin_cos();
        let (x, y) = ((1.0 + motion.stretch) * line.span_um(), -motion.sideways_um);
        let turned = |x: f64, y: f64| [x * cosine - y * sine, x * sine + y * cosine];
        let [x_um, y_um] = turned(x, y);
        let mirrored = EndMotion {
            stretch: x_um / line.span_um() - 1.0, sideways_um: y_um, turn_rad: motion.turn_rad,
        };
        let other = solve(&line, width_um, mirrored);
        let force_un = turned(one.force_un[0], -one.force_un[1]);
        let scale = one.force_un[0].hypot(one.force_un[1]);
        prop_assert!((other.energy_un_um / one.energy_un_um - 1.0).abs() < 1e-6);
        prop_assert!((other.peak.strain / one.peak.strain - 1.0).abs() < 1e-6);
        prop_assert!((other.force_un[0] - force_un[0]).hypot(other.force_un[1] - force_un[1]) < 1e-6 * scale);
        let moments = (other.near_moment_un_um - one.far_moment_un_um).abs();
        prop_assert!(moments < 1e-6 * scale * line.span_um());
    }

    /// A ribbon from crossing to crossing looks the same after half a turn: strains of both edges repeat backwards.
    #[test]
    fn half_a_turn_changes_nothing((line, width_um) in ribbons(), pull in 0.1..0.7_f64, share in 0.0..0.5_f64) {
        prop_assume!(line.ends() == Ends::Crossing);
        let solution = solve(&line, width_um, EndMotion::stretch(pull * line.slack()));
        let length_um = solution.contour_length_um();
        let (here, there) = (solution.at(share * length_um), solution.at((1.0 - share) * length_um));
        let touches_a_jump = (here.kappa_rest_per_um + there.kappa_rest_per_um).abs() * width_um > 1e-9;
        prop_assume!(!touches_a_jump);
        prop_assert!((here.left_strain - there.right_strain).abs() < 1e-6 * solution.peak.strain.abs());
        prop_assert!((here.right_strain - there.left_strain).abs() < 1e-6 * solution.peak.strain.abs());
    }

    /// One period from crest to crest without leads is the cell.
    #[test]
    fn one_period_between_crests_is_the_cell(quarter in quarters(), width in 0.02..0.5_f64, pull in 0.1..0.9_f64) {
        let (width_um, stretch) = (width * quarter.least_radius_um(), pull * quarter.slack());
        let strips = Strips::homogeneous(width_um).expect("a sound width");
        let problem = CellProblem { quarter: &quarter, strips: &strips, stretch };
        let cell = CellSolver::with_mesh(Mesh::Adaptive { tolerance: 1e-7 }).solve(&problem, None)
            .expect("an equilibrium");
        let line = Centreline::new(quarter.clone(), 1, Ends::Crest, 0.0, None).expect("a ribbon");
        let ribbon = solve(&line, width_um, EndMotion::stretch(stretch));
        prop_assert!((ribbon.peak.strain / cell.peak.strain - 1.0).abs() < 1e-5);
        prop_assert!((ribbon.force_un[0] / cell.force_un() - 1.0).abs() < 1e-5);
    }
}

/// How fast force and energy of whole ribbons settle on finer meshes: with the eighth power of the element's length.
#[test]
fn whole_ribbons_converge_with_the_eighth_power() {
    for (family, amplitude_um, ends, stretch) in [
        (Family::Arc, 250.0, Ends::Crossing, 0.3),
        (Family::SineGenerated, 300.0, Ends::Crest, 0.4),
        (Family::ArcAndArm(ArmDrive::Radius { radius_um: 150.0 }), 300.0, Ends::Crossing, 0.4),
    ] {
        let quarter = Quarter::new(family, 1000.0, amplitude_um).expect("a shape");
        let line = Centreline::new(quarter, 2, ends, 0.0, None).expect("a ribbon");
        let strips = Strips::homogeneous(30.0).expect("a sound width");
        let motion = EndMotion { stretch, sideways_um: 50.0, turn_rad: 0.1 };
        let energy = |elements: usize| {
            let mut solver = RibbonSolver::with_mesh(Mesh::Fixed { elements });
            let problem = RibbonProblem { line: &line, strips: &strips, motion };
            solver.solve(&problem, None).expect("an equilibrium").energy_un_um
        };
        let exact = energy(64);
        check_order(&[2, 4, 8].map(|elements| energy(elements) / exact - 1.0));
    }
}

/// Twice the elements leave about 1/256 of the error, until rounding.
fn check_order(errors: &[f64]) {
    for pair in errors.windows(2) {
        let [coarse, fine] = [pair[0].abs(), pair[1].abs()];
        assert!(coarse < 1e-5 && (fine < coarse / 150.0 || fine < 1e-13), "{errors:?}");
    }
}

/// Foundation as K = k P⁴/EI, substrate's Poisson ratio and stretch.
type Bond = (f64, f64, f64);

fn bonded(
    quarter: &Quarter,
    width_um: f64,
    (foundation, poisson, stretch): Bond,
    mesh: Mesh,
) -> BondedSolution {
    let strips = Strips::homogeneous(width_um).expect("a sound width");
    let problem = BondedProblem {
        quarter,
        strips: &strips,
        foundation_mpa: foundation * strips.ei_un_um2() / quarter.pitch_um().powi(4),
        substrate_poisson: poisson,
        stretch,
    };
    BondedSolver::with_mesh(mesh)
        .solve(&problem, None)
        .unwrap_or_else(|error| panic!("{quarter:?} {width_um} {foundation} {stretch}: {error}"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Soft springs leave the freestanding cell, stiff ones the affinely mapped curve, and no springs exactly the cell.
    ///
    /// The substrate's sides are held: one that contracts across presses the arms, which on stiff springs wrinkle.
    #[test]
    fn bonded_cells_have_both_limits(quarter in quarters(), width in 0.02..0.3_f64, pull in 0.1..0.7_f64) {
        let (width_um, stretch) = (width * quarter.least_radius_um(), pull * quarter.slack());
        let mesh = Mesh::Adaptive { tolerance: 1e-5 };
        let strips = Strips::homogeneous(width_um).expect("a sound width");
        let problem = CellProblem { quarter: &quarter, strips: &strips, stretch };
        let cell = CellSolver::new().solve(&problem, None).expect("an equilibrium");
        let none = bonded(&quarter, width_um, (0.0, 0.0, stretch), mesh);
        prop_assert!((none.peak.strain / cell.peak.strain - 1.0).abs() < 1e-4);
        prop_assert!((none.crest_force_ei_per_p2 / cell.force_ei_per_p2 - 1.0).abs() < 1e-4);
        let mut gap = f64::INFINITY;
        for foundation in [10.0, 1.0, 0.1] {
            let soft = bonded(&quarter, width_um, (foundation, 0.0, stretch), mesh);
            let now = (soft.peak.strain / cell.peak.strain - 1.0).abs();
            prop_assert!(now < gap.max(3e-5), "K = {}: {} after {}", foundation, now, gap);
            gap = now;
        }
        prop_assert!(gap < 1e-3, "{}", gap);
        let mut gap = f64::INFINITY;
        // Disturbances of bending and of stretching die away over these shares of the pitch, at the most.
        for layer in [1e-2, 3e-3, 1e-3_f64] {
            let stretching = 12.0 * (quarter.pitch_um() / (layer * width_um)).powi(2);
            let foundation = layer.powi(-4).max(stretching);
            let stiff = bonded(&quarter, width_um, (foundation, 0.0, stretch), mesh);
            let now = (stiff.peak.strain / stiff.following_peak_strain - 1.0).abs();
            prop_assert!(now < gap.max(1e-4), "K = {}: {} after {}", foundation, now, gap);
            gap = now;
        }
        prop_assert!(gap < 0.03, "{}", gap);
    }

    /// Stiffer springs let the ribbon slip less, on average: the compliance of a stable state is not negative. The sides
    /// of the substrate are held here too.
    #[test]
    fn stiffer_springs_slip_less(quarter in quarters(), width in 0.02..0.3_f64, pull in 0.1..0.7_f64) {
        let (width_um, stretch) = (width * quarter.least_radius_um(), pull * quarter.slack());
        let mut slip = f64::INFINITY;
        for foundation in [0.0, 1.0, 1e2, 1e3, 1e4, 1e5, 1e6] {
            let state = bonded(&quarter, width_um, (foundation, 0.0, stretch), Mesh::default());
            let points = state.along(401);
            let squares = points.iter().map(|point| point.slip_um[0].powi(2) + point.slip_um[1].powi(2));
            let now = squares.sum::<f64>().sqrt();
            prop_assert!(state.is_stable && now < slip, "K = {}: {} after {}", foundation, now, slip);
            slip = now;
        }
    }
}

fn bonded_ribbon(line: &Centreline, width_um: f64, foundation: f64, stretch: f64) -> BondedRibbonSolution {
    let strips = Strips::homogeneous(width_um).expect("a sound width");
    let problem = BondedRibbonProblem {
        ribbon: line,
        strips: &strips,
        foundation_mpa: foundation * strips.ei_un_um2() / line.quarter().pitch_um().powi(4),
        substrate_poisson: 0.0,
        stretch,
    };
    BondedRibbonSolver::with_mesh(Mesh::Adaptive { tolerance: 1e-5 })
        .solve(&problem)
        .unwrap_or_else(|error| panic!("{line:?} {width_um} {foundation} {stretch}: {error}"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whole ribbons on soft springs are the freestanding ones; on stiff ones they follow the substrate but for the clamps.
    #[test]
    fn bonded_ribbons_have_both_limits((line, width_um) in ribbons(), pull in 0.1..0.6_f64) {
        let width_um = width_um.min(0.3 * line.quarter().least_radius_um());
        let stretch = pull * line.slack();
        let free = solve(&line, width_um, EndMotion::stretch(stretch));
        prop_assume!(free.is_stable && free.reached != Reached::ByBuckling);
        let none = bonded_ribbon(&line, width_um, 0.0, stretch);
        prop_assert!((none.peak.strain / free.peak.strain - 1.0).abs() < 1e-4);
        let force_un = none.end_force_ei_per_p2.map(|force| force * none.force_unit_un());
        let size = free.force_un[0].hypot(free.force_un[1]);
        prop_assert!((force_un[0] - free.force_un[0]).hypot(force_un[1] - free.force_un[1]) < 1e-4 * size);
        let mut gap = f64::INFINITY;
        for foundation in [1.0, 0.1, 0.01] {
            let soft = bonded_ribbon(&line, width_um, foundation, stretch);
            let now = (soft.peak.strain / free.peak.strain - 1.0).abs();
            // The peak of a coarse mesh may be off by as much.
            prop_assert!(now < gap.max(2.5e-3), "K = {}: {} after {}", foundation, now, gap);
            gap = now;
        }
        prop_assert!(gap < 2.5e-3, "{}", gap);
        // Disturbances of bending and of stretching die away over a thousandth of the pitch.
        let stiffness = 1e12_f64.max(12.0 * (line.quarter().pitch_um() / (1e-3 * width_um)).powi(2));
        let stiff = bonded_ribbon(&line, width_um, stiffness, stretch);
        prop_assert!(stiff.largest_slip_um < 0.02 * none.largest_slip_um);
        let middle = stiff.along(3)[1].slip_um;
        prop_assert!(middle[0].hypot(middle[1]) < 1e-3 * none.largest_slip_um, "{:?}", middle);
    }
}

/// How fast the force of bonded cells settles on finer meshes, once the layers of the springs are resolved.
#[test]
fn bonded_cells_converge_with_the_eighth_power() {
    for (family, amplitude_um, foundation) in
        [(Family::Arc, 250.0, 1e3), (Family::SineGenerated, 300.0, 1e4), (Family::Sine, 150.0, 1e2)]
    {
        let quarter = Quarter::new(family, 1000.0, amplitude_um).expect("a shape");
        let force = |elements: usize| {
            let mesh = Mesh::Fixed { elements };
            bonded(&quarter, 30.0, (foundation, 0.5, 0.3), mesh).crest_force_ei_per_p2
        };
        let exact = force(64);
        check_order(&[4, 8, 16].map(|elements| force(elements) / exact - 1.0));
    }
}
