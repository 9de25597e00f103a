//! Laws that hold for every ribbon in space, on random ones: equilibrium, energy, mirror images, the plane as a limit, and
//! how fast a finer mesh converges.

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};
use ogee_mechanics::{
    BuckledPath, EndMotion, Mesh, Onset, OnsetProblem, OutOfPlane, Reached, RibbonProblem, RibbonSolver,
    SectionLaw, SpatialError, SpatialProblem, SpatialSolution, SpatialSolver, StateSymmetry, Strips, onset,
};
use proptest::{prelude::*, test_runner::RngSeed};

/// Panels of an integral along the stretch.
const PANELS: u32 = 4;
const MODULUS_MPA: f64 = 2500.0;
const POISSON: f64 = 0.34;
/// Gauss points and weights on 0..1, exact to degree 9.
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

/// A ribbon with its sections.
#[derive(Debug, Clone)]
struct Design {
    line: Centreline,
    strips: Strips,
    out: OutOfPlane,
}

impl Design {
    fn new(line: Centreline, width_um: f64, thickness_um: f64, law: SectionLaw) -> Self {
        let strips = Strips::new(&[(MODULUS_MPA * thickness_um, width_um)]).expect("a sound section");
        let out = OutOfPlane::homogeneous(width_um, thickness_um, MODULUS_MPA, POISSON)
            .expect("a sound section")
            .with_law(law);
        Self { line, strips, out }
    }

    fn problem(&self, motion: EndMotion) -> SpatialProblem<'_> {
        SpatialProblem { line: &self.line, strips: &self.strips, out: &self.out, motion, curl_per_um: 0.0 }
    }

    fn onset(&self, up_to: EndMotion) -> Option<Onset> {
        let (line, strips, out) = (&self.line, &self.strips, &self.out);
        let problem = OnsetProblem { line, strips, out, foundation_mpa: 0.0, up_to };
        onset(&mut RibbonSolver::new(), &problem).ok().flatten()
    }

    /// The state on the branch from the onset; none where the ribbon stays flat or is not followed so far.
    fn buckled(&self, solver: &mut SpatialSolver, motion: EndMotion) -> Option<SpatialSolution> {
        let start = self.onset(motion)?;
        let branch = solver.buckled(&self.problem(motion), &start, &|| true).ok()?;
        branch.map(|branch| branch.solution)
    }
}

/// A ribbon of any family, one to three periods, 3 to 12 times as wide as thick.
fn designs(ends: Option<Ends>) -> impl Strategy<Value = Design> {
    let shape = (0..5_u8, 0.15..0.5_f64, 0.05..0.95_f64, 1..4_u32, any::<bool>());
    let section = (0.05..0.4_f64, 3.0..12.0_f64, any::<bool>());
    (shape, section).prop_filter_map(
        "the shape is impossible",
        move |((family, ratio, share, periods, from_crest), (width, slender, is_rod))| {
            let (pitch_um, amplitude_um) = (100.0, 100.0 * ratio);
            let arc_um = (pitch_um * pitch_um / 16.0 + amplitude_um * amplitude_um) / (2.0 * amplitude_um);
            let family = match family {
                0 => Family::Sine,
                1 => Family::Arc,
                2 => Family::ArcAndArm(ArmDrive::Radius { radius_um: arc_um * (0.3 + 0.65 * share) }),
                3 => Family::SineGenerated,
                _ => Family::Clothoid { plateau_share: share },
            };
            let quarter = Quarter::new(family, pitch_um, amplitude_um).ok()?;
            let width_um = width * quarter.least_radius_um();
            let own = if from_crest { Ends::Crest } else { Ends::Crossing };
            let line = Centreline::new(quarter, periods, ends.unwrap_or(own), 0.0, None).ok()?;
            let law = if is_rod { SectionLaw::Rod } else { SectionLaw::Ribbon };
            Some(Design::new(line, width_um, width_um / slender, law))
        },
    )
}

/// Shares of the slack, and of the span to the side, and the turn of the far island.
fn motions() -> impl Strategy<Value = (f64, f64, f64)> {
    (0.15..0.7_f64, -0.1..0.1_f64, -0.1..0.1_f64)
}

fn motion_of(line: &Centreline, (pull, shear, turn_rad): (f64, f64, f64)) -> EndMotion {
    EndMotion { stretch: pull * line.slack(), sideways_um: shear * pull * line.span_um(), turn_rad }
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn size(a: [f64; 3]) -> f64 {
    dot(a, a).sqrt()
}

fn minus(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn config(cases: u32) -> ProptestConfig {
    // The same ribbons every time. Some stay flat, some snap, and rarely the iteration creeps and says so: those are
    // passed over.
    ProptestConfig {
        cases,
        max_global_rejects: 2 * cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(7),
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(config(24))]

    /// Forces and moments on the two ends balance, the ends are where the islands hold them, and the energy is the sum of
    /// its parts.
    #[test]
    fn reactions_balance(design in designs(None), motion in motions()) {
        let motion = motion_of(&design.line, motion);
        let found = design.buckled(&mut SpatialSolver::with_elements_per_quarter(10), motion);
        prop_assume!(found.is_some());
        let state = found.expect("assumed");
        let (near, far) = (state.at(0.0), state.at(state.contour_length_um()));
        let arm = minus(far.position_um, near.position_um);
        let span_um = design.line.span_um();
        let rise_um = design.line.end().y_um - design.line.start().y_um;
        let wanted = [(1.0 + motion.stretch) * span_um, rise_um + motion.sideways_um, 0.0];
        prop_assert!(size(minus(arm, wanted)) < 3e-5 * span_um, "{:?} {:?}", arm, wanted);
        let [twice_near, twice_far] = [near, far].map(|point| size(minus(cross(point.tangent, point.normal), [0.0, 0.0, 1.0])));
        prop_assert!(twice_near < 1e-9 && twice_far < 1e-6, "{} {}", twice_near, twice_far);

        let pull = cross(arm, state.force_un);
        let rest = minus(minus(state.near_moment_un_um, state.far_moment_un_um), pull);
        let scale = size(pull) + size(state.near_moment_un_um) + size(state.far_moment_un_um);
        prop_assert!(size(rest) < 1e-4 * scale, "{:?} of {}", rest, scale);
        let parts = state.energy.total_un_um();
        prop_assert!((parts / state.energy_un_um - 1.0).abs() < 1e-12);
        prop_assert!(state.is_stable && state.unstable_modes == 0);
    }

    /// The frames turn along the ribbon as twist and curvatures, which come from the moments, say.
    #[test]
    fn frames_turn_as_the_moments_say(design in designs(None), motion in motions(), shares in prop::array::uniform4(0.03..0.97_f64)) {
        let motion = motion_of(&design.line, motion);
        let found = design.buckled(&mut SpatialSolver::with_elements_per_quarter(16), motion);
        prop_assume!(found.is_some());
        let state = found.expect("assumed");
        let length_um = state.contour_length_um();
        let step_um = 2e-3 * length_um / f64::from(design.line.periods());
        let most = state.largest_twist_per_um + state.largest_curvature_out_per_um
            + design.line.least_radius_um().recip();
        for share in shares {
            let s_um = share * length_um;
            let (here, after, before) = (state.at(s_um), state.at(s_um + step_um), state.at(s_um - step_um));
            let has_jump = (after.kappa_rest_per_um - before.kappa_rest_per_um).abs() > 0.2 * most;
            if has_jump {
                continue;
            }
            let rate = |a: [f64; 3], b: [f64; 3]| minus(a, b).map(|x| x / (2.0 * step_um));
            let up = cross(here.tangent, here.normal);
            let tangent = rate(after.tangent, before.tangent);
            let turning = [
                dot(rate(after.normal, before.normal), up) - here.twist_per_um,
                -dot(tangent, up) - here.kappa_out_per_um,
                dot(tangent, here.normal) - here.kappa_in_per_um,
            ];
            prop_assert!(size(turning) < 0.02 * most, "{:?} of {} at {} µm", turning, most, s_um);
        }
    }

    /// The work of the force and moment on the far end since the onset is the energy stored since then.
    #[test]
    fn work_is_stored_as_energy(design in designs(None), motion in motions()) {
        let motion = motion_of(&design.line, motion);
        let start = design.onset(motion);
        prop_assume!(start.as_ref().is_some_and(|start| start.share < 0.8));
        let start = start.expect("assumed");
        let mut solver = SpatialSolver::with_elements_per_quarter(8);
        let path = BuckledPath::follow(&mut solver, &design.problem(motion), Some(&start), 0.0, &|| true);
        prop_assume!(path.is_ok());
        let path = path.expect("assumed").expect("nobody stops it");
        // A ribbon that snaps loses energy to vibration.
        prop_assume!(path.left_at_stretch.is_none() && path.trouble.is_none());
        let first = start.share;
        let mut work = 0.0;
        for panel in 0..PANELS {
            for (place, weight) in GAUSS {
                // Most happens within a few times the stretch at onset: steps grow in proportion.
                let share = first.powf(1.0 - (f64::from(panel) + place) / f64::from(PANELS));
                let state = path.at(&mut solver, share * motion.stretch);
                // Between two states of the path the iteration now and then creeps: it says so and ends.
                prop_assume!(!matches!(state, Err(SpatialError::NotConverged { .. })));
                let state = state.expect("a state");
                let power = state.force_un[0] * motion.stretch * design.line.span_um()
                    + state.force_un[1] * motion.sideways_um
                    + state.far_moment_un_um[2] * motion.turn_rad;
                work += weight / f64::from(PANELS) * share * -first.ln() * power;
            }
        }
        let end = path.at(&mut solver, motion.stretch);
        prop_assume!(!matches!(end, Err(SpatialError::NotConverged { .. })));
        let stored = end.expect("a state").energy_un_um - start.planar.energy_un_um;
        prop_assert!((work / stored - 1.0).abs() < 1e-2, "{} {} from {:?}", work, stored, start.stretch);
    }

    /// The image in the ribbon's plane is a state as well, with the same energy and strain.
    #[test]
    fn the_image_in_the_plane_is_a_state(design in designs(None), motion in motions()) {
        let motion = motion_of(&design.line, motion);
        let mut solver = SpatialSolver::new();
        let found = design.buckled(&mut solver, motion);
        prop_assume!(found.is_some());
        let state = found.expect("assumed");
        let image = solver.solve_at(&design.problem(motion), &state.state.mirrored()).expect("a state");
        prop_assert!((image.energy_un_um / state.energy_un_um - 1.0).abs() < 1e-8);
        prop_assert!((image.peak_tensile.strain / state.peak_tensile.strain - 1.0).abs() < 1e-6);
        prop_assert!((image.highest_um + state.lowest_um).abs() < 1e-5 * state.height_um);
        prop_assert!((image.lowest_um + state.highest_um).abs() < 1e-5 * state.height_um);
    }

    /// A ribbon from crest to crest is its own mirror image: with the ends exchanged, the mirrored motion has the mirrored
    /// answer, where there is but one.
    #[test]
    fn the_mirrored_motion_has_the_mirrored_answer(
        design in designs(Some(Ends::Crest)), motion in motions(), within in 0.2..0.8_f64,
    ) {
        let far = motion_of(&design.line, motion);
        let start = design.onset(far);
        prop_assume!(start.as_ref().is_some_and(|start| start.next.is_some_and(|next| next.0 > 1.05 * start.stretch)));
        let start = start.expect("assumed");
        let stretch = start.stretch + within * (start.next.expect("assumed").0 - start.stretch);
        let motion = far.scaled(stretch / far.stretch);
        // Mirrored in x, the ends exchange and the turned one is turned back to rest.
        let (sine, cosine) = motion.turn_rad.sin_cos();
        let span_um = design.line.span_um();
        let (x, y) = ((1.0 + motion.stretch) * span_um, -motion.sideways_um);
        let turned = |x: f64, y: f64| [x * cosine - y * sine, x * sine + y * cosine];
        let [x_um, y_um] = turned(x, y);
        let mirrored =
            EndMotion { stretch: x_um / span_um - 1.0, sideways_um: y_um, turn_rad: motion.turn_rad };
        let mut solver = SpatialSolver::with_elements_per_quarter(8);
        let pair = [motion, mirrored].map(|motion| design.buckled(&mut solver, motion));
        prop_assume!(pair.iter().all(Option::is_some));
        let [one, other] = pair.map(|state| state.expect("assumed"));
        // Two meshes: a ribbon is not cut at the mirrored places.
        prop_assert!((other.energy_un_um / one.energy_un_um - 1.0).abs() < 3e-5);
        prop_assert!((other.height_um / one.height_um - 1.0).abs() < 1e-3);
        prop_assert!((other.peak_tensile.strain / one.peak_tensile.strain - 1.0).abs() < 1e-3);
        let force = turned(one.force_un[0], -one.force_un[1]);
        let away = (other.force_un[0] - force[0]).hypot(other.force_un[1] - force[1]);
        prop_assert!(away < 1e-3 * size(one.force_un), "{} of {}", away, size(one.force_un));
    }

    /// Kept from leaving its plane, the ribbon in space is the ribbon in its plane, whatever the motion.
    #[test]
    fn a_blocked_ribbon_is_flat(design in designs(None), motion in motions()) {
        let motion = motion_of(&design.line, motion);
        let problem = RibbonProblem { line: &design.line, strips: &design.strips, motion };
        let planar = RibbonSolver::with_mesh(Mesh::Adaptive { tolerance: 1e-7 }).solve(&problem, None);
        prop_assume!(planar.as_ref().is_ok_and(|planar| planar.reached != Reached::ByBuckling && planar.is_stable));
        let planar = planar.expect("assumed");
        let flat = SpatialSolver::with_elements_per_quarter(16).flat(&design.problem(motion)).expect("a flat state");
        prop_assert!((flat.energy_un_um / planar.energy_un_um - 1.0).abs() < 1e-3);
        let force = (flat.force_un[0] - planar.force_un[0]).hypot(flat.force_un[1] - planar.force_un[1]);
        prop_assert!(force < 1e-3 * planar.force_un[0].hypot(planar.force_un[1]));
        prop_assert!((flat.peak_tensile.strain / planar.peak_tensile.strain - 1.0).abs() < 3e-3);
        prop_assert!(flat.symmetry == StateSymmetry::Flat && flat.height_um == 0.0);
    }

    /// Between its first and second onset a ribbon has one buckled state and its image: every start leads there, from the
    /// flat state, from either side, from nearer or farther stretches, and from a thicker or thinner ribbon.
    #[test]
    fn the_first_step_does_not_matter(design in designs(None), within in 0.2..0.8_f64) {
        let start = design.onset(EndMotion::stretch(0.7 * design.line.slack()));
        prop_assume!(start.as_ref().is_some_and(|start| start.next.is_some_and(|next| next.0 > 1.05 * start.stretch)));
        let start = start.expect("assumed");
        let next = start.next.expect("assumed").0;
        let stretch = start.stretch + within * (next - start.stretch);
        let mut solver = SpatialSolver::new();
        let problem = design.problem(EndMotion::stretch(stretch));
        let branch = solver.buckled(&problem, &start, &|| true).expect("a branch").expect("nobody stops it");
        let usual = branch.solution;
        prop_assert!(usual.is_stable && usual.symmetry != StateSymmetry::Flat);
        let mut starts = vec![solver.flat(&problem).expect("a flat state").state, usual.state.mirrored()];
        for share in [0.5, 1.5] {
            let there = EndMotion::stretch(start.stretch + share * within * (next - start.stretch));
            starts.extend(solver.solve_at(&design.problem(there), &usual.state).map(|state| state.state));
        }
        for factor in [0.8, 1.15] {
            let thickness_um = factor * design.out.thickness_um();
            let other = Design::new(design.line.clone(), design.strips.width_um(), thickness_um, design.out.law);
            starts.extend(solver.solve_at(&other.problem(problem.motion), &usual.state).map(|state| state.state));
        }
        prop_assert!(starts.len() >= 4, "{} starts", starts.len());
        for from in starts {
            for side in [from.mirrored(), from] {
                let state = solver.solve_at(&problem, &side).expect("a state");
                prop_assert!((state.energy_un_um / usual.energy_un_um - 1.0).abs() < 1e-6, "from {}", side.stretch);
                prop_assert!((state.height_um / usual.height_um - 1.0).abs() < 1e-3);
                prop_assert!((state.peak_tensile.strain / usual.peak_tensile.strain - 1.0).abs() < 1e-3);
            }
        }
    }
}

/// Twice the elements leave a sixteenth of the energy's error, in both section laws.
#[test]
fn the_energy_converges_with_the_fourth_power() {
    for (family, amplitude_um, law) in [
        (Family::Arc, 25.0, SectionLaw::Rod),
        (Family::Arc, 25.0, SectionLaw::Ribbon),
        (Family::SineGenerated, 40.0, SectionLaw::Ribbon),
        (Family::Sine, 30.0, SectionLaw::Rod),
    ] {
        let quarter = Quarter::new(family, 100.0, amplitude_um).expect("a shape");
        let line = Centreline::new(quarter, 2, Ends::Crossing, 0.0, None).expect("a ribbon");
        let design = Design::new(line, 5.0, 1.0, law);
        let motion = EndMotion::stretch(0.3 * design.line.slack());
        let energies = [4, 8, 16].map(|count| {
            let mut solver = SpatialSolver::with_elements_per_quarter(count);
            design.buckled(&mut solver, motion).expect("a buckled state").energy_un_um
        });
        let ratio = (energies[0] - energies[1]) / (energies[1] - energies[2]);
        assert!((11.0..24.0).contains(&ratio), "{family:?} {law:?}: {ratio} {energies:?}");
    }
}

/// The force is the slope of the energy on one and the same mesh.
#[test]
fn the_force_is_the_slope_of_the_energy() {
    let quarter = Quarter::new(Family::SineGenerated, 100.0, 40.0).expect("a shape");
    let line = Centreline::new(quarter, 2, Ends::Crossing, 0.0, None).expect("a ribbon");
    let design = Design::new(line, 5.0, 0.5, SectionLaw::Ribbon);
    let mut solver = SpatialSolver::with_elements_per_quarter(8);
    let stretch = 0.4 * design.line.slack();
    let usual = design.buckled(&mut solver, EndMotion::stretch(stretch)).expect("a buckled state");
    let step = 1e-3;
    let mut energy = |stretch: f64| {
        let problem = design.problem(EndMotion::stretch(stretch));
        solver.solve_at(&problem, &usual.state).expect("a state").energy_un_um
    };
    let slope = (energy(stretch + step) - energy(stretch - step)) / (2.0 * step * design.line.span_um());
    assert!((slope / usual.force_un[0] - 1.0).abs() < 1e-4, "{slope} {}", usual.force_un[0]);
}
