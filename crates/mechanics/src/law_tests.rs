//! Laws of the cell: closed forms, limits, energy, symmetry, order of convergence.

use ogee_geometry::{ArmDrive, Family, Quarter};
use proptest::prelude::*;

use crate::{
    CellError, CellProblem, CellSolution, CellSolver, LayerLimit, LayerSpan, LinearEstimate, Mesh, Strips,
    force_curve, stretch_at_strain,
};

fn hairpin() -> Quarter {
    let family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 250.0 });
    Quarter::new(family, 1000.0, 600.0).unwrap()
}

fn solve_with(mesh: Mesh, quarter: &Quarter, width_um: f64, stretch: f64) -> CellSolution {
    let strips = Strips::homogeneous(width_um).unwrap();
    CellSolver::with_mesh(mesh).solve(&CellProblem { quarter, strips: &strips, stretch }, None).unwrap()
}

fn solve(quarter: &Quarter, width_um: f64, stretch: f64) -> CellSolution {
    solve_with(Mesh::default(), quarter, width_um, stretch)
}

/// Compliance of the quarter of an arc with arms by Castigliano's theorem, in the units of the crate's lengths:
/// EI = 1, EA = 12/w², `EI_c` = σ.
fn arm_compliance(quarter: &Quarter, width: f64) -> f64 {
    let (r, arm) = (quarter.least_radius_um(), quarter.arm_half_length_um());
    let (tilt, h) = (quarter.tilt_rad(), quarter.amplitude_um() - r);
    let ea = 12.0 / (width * width);
    let bend = Strips::homogeneous(width).unwrap().bending_ratio(1.0 / r);
    let (sin, cos) = tilt.sin_cos();
    let half_double = 0.25 * (2.0 * tilt).sin();
    sin * sin * arm.powi(3) / 3.0
        + r / bend * (h * h * tilt + 2.0 * h * r * sin + r * r * (0.5 * tilt + half_double))
        + (arm * cos * cos + h * h * tilt / r) / ea
}

#[test]
fn linear_estimate_is_the_closed_form() {
    for (radius_um, amplitude_um, width_um) in
        [(150.0, 300.0, 20.0), (250.0, 600.0, 100.0), (40.0, 500.0, 60.0)]
    {
        let family = Family::ArcAndArm(ArmDrive::Radius { radius_um });
        let quarter = Quarter::new(family, 1000.0, amplitude_um).unwrap();
        let strips = Strips::homogeneous(width_um).unwrap();
        let linear = LinearEstimate::new(&quarter, &strips).unwrap();
        let force = 250.0 / arm_compliance(&quarter, width_um);
        assert!((linear.force_slope_ei_per_p2 / (force * 1e6) - 1.0).abs() < 1e-10);
        let (ea, half) = (12.0 / (width_um * width_um), 0.5 * width_um);
        let bend = strips.bending_ratio(1.0 / radius_um);
        let strain = force
            * ((1.0 - amplitude_um / radius_um) / ea
                + half * amplitude_um / (bend * (1.0 - half / radius_um)));
        assert!((linear.strain_slope / strain - 1.0).abs() < 1e-10);
    }
}

/// Y. Zhang et al., Mechanics of ultra-stretchable self-similar serpentine interconnects, 2013: bending compliance of the
/// hairpin, R³/12 (4α³ + 6πα² + 24α + 3π) with α = a/R.
#[test]
fn thin_hairpin_has_the_published_flexibility() {
    use std::f64::consts::PI;
    for alpha in [1.0, 2.0, 4.0] {
        let family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 250.0 });
        let quarter = Quarter::new(family, 1000.0, 250.0 * (1.0 + alpha)).unwrap();
        let linear = LinearEstimate::new(&quarter, &Strips::homogeneous(0.01).unwrap()).unwrap();
        let polynomial = 4.0 * alpha.powi(3) + 6.0 * PI * alpha * alpha + 24.0 * alpha + 3.0 * PI;
        let compliance = 0.25_f64.powi(3) / 12.0 * polynomial;
        assert!((linear.force_slope_ei_per_p2 * compliance / 0.25 - 1.0).abs() < 1e-8);
    }
}

#[test]
fn at_rest_there_is_no_strain() {
    for quarter in [hairpin(), Quarter::new(Family::Sine, 400.0, 500.0).unwrap()] {
        let solution = solve_with(Mesh::Fixed { elements: 2 }, &quarter, 3.0, 0.0);
        assert!(solution.peak.strain.abs() < 1e-13 && solution.force_ei_per_p2.abs() < 1e-9);
        assert!((solution.stretched_amplitude_um / quarter.amplitude_um() - 1.0).abs() < 1e-12);
        for point in solution.along(20) {
            let rest = quarter.at(point.s_um);
            assert!((point.x_um - rest.x_um).abs() < 1e-9 && (point.y_um - rest.y_um).abs() < 1e-9);
            assert!((point.kappa_per_um - rest.kappa_per_um).abs() < 1e-12);
        }
    }
}

#[test]
fn a_small_stretch_is_linear() {
    for family in [Family::Sine, Family::Arc, Family::SineGenerated, Family::Clothoid { plateau_share: 0.4 }]
    {
        let quarter = Quarter::new(family, 1000.0, 300.0).unwrap();
        let solution = solve(&quarter, 15.0, 1e-6);
        assert!((solution.peak.strain / solution.linear_peak_strain - 1.0).abs() < 1e-5, "{family:?}");
        assert!(
            (solution.force_ei_per_p2 / solution.linear_force_ei_per_p2 - 1.0).abs() < 1e-5,
            "{family:?}"
        );
    }
}

/// Energy of a quarter ½ ∫ (EA ε₀² + `EI_c` χ²) ds, over EI/P, by Simpson's rule.
fn energy(solution: &CellSolution) -> f64 {
    let count = 2001;
    let points = solution.along(count);
    let pitch_um = solution.quarter().pitch_um();
    let width = solution.strips().width_um() / pitch_um;
    let step = solution.quarter().length_um() / pitch_um / (count - 1) as f64;
    let density = |i: usize| {
        let point = &points[i];
        let curving = point.kappa_per_um - point.kappa_rest_per_um * (1.0 + point.axial_strain);
        let bending = solution.strips().bending_ratio(point.kappa_rest_per_um);
        6.0 * (point.axial_strain / width).powi(2) + 0.5 * bending * (curving * pitch_um).powi(2)
    };
    (1..count).step_by(2).map(|i| step / 3.0 * (density(i - 1) + 4.0 * density(i) + density(i + 1))).sum()
}

#[test]
fn energy_is_the_work_of_the_end_force() {
    let quarter = Quarter::new(Family::Arc, 1000.0, 250.0).unwrap();
    let mesh = Mesh::Fixed { elements: 16 };
    let (mut work, steps, far) = (0.0, 40, 0.6);
    // Gauss–Legendre with three points per step of the stretch.
    for step in 0..steps {
        for (x, weight) in [(-0.6_f64.sqrt(), 5.0), (0.0, 8.0), (0.6_f64.sqrt(), 5.0)] {
            let stretch = far / f64::from(steps) * (f64::from(step) + 0.5 + 0.5 * x);
            let force = solve_with(mesh, &quarter, 60.0, stretch).force_ei_per_p2;
            work += force * weight / 18.0 * 0.25 * far / f64::from(steps);
        }
    }
    let stored = energy(&solve_with(mesh, &quarter, 60.0, far));
    assert!((work / stored - 1.0).abs() < 1e-6, "{work} {stored}");
}

#[test]
fn force_slope_is_the_derivative_of_the_force() {
    for stretch in [-0.3, 0.2, 1.5, 2.1] {
        let at = |e: f64| solve_with(Mesh::Fixed { elements: 8 }, &hairpin(), 30.0, e);
        let step = 1e-5;
        let slope = (at(stretch + step).force_ei_per_p2 - at(stretch - step).force_ei_per_p2) / (2.0 * step);
        assert!((at(stretch).force_slope_ei_per_p2 / slope - 1.0).abs() < 1e-5, "{stretch}");
    }
}

#[test]
fn convergence_is_of_eighth_order() {
    let quarter = Quarter::new(Family::Arc, 1000.0, 500.0).unwrap();
    let at = |elements| {
        solve_with(Mesh::Fixed { elements }, &quarter, 31.25, 0.85 * quarter.slack()).force_ei_per_p2
    };
    let exact = at(32);
    let errors = [4, 8, 16].map(|elements| (at(elements) / exact - 1.0).abs());
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!((order - 8.0).abs() < 0.4, "{order} from {errors:?}");
    }
}

#[test]
fn pulled_straight_the_bend_is_unbent() {
    // κ → 0 along the bend, so χ = −κ₀ (1 + ε₀), and the ribbon stretches as a bar of its contour.
    let quarter = Quarter::new(Family::Arc, 1000.0, 250.0).unwrap();
    let (width_um, stretch) = (5.0, 0.7);
    let solution = solve(&quarter, width_um, stretch);
    let pull = (stretch - solution.slack) / (1.0 + solution.slack);
    let bar = 12.0 * (1000.0 / width_um).powi(2) * pull;
    assert!((solution.force_ei_per_p2 / bar - 1.0).abs() < 0.02);
    let crest = solution.along(2)[1];
    let bend = 0.5 * width_um / quarter.least_radius_um();
    let expected = crest.axial_strain + (1.0 + crest.axial_strain) * bend / (1.0 - bend);
    assert!((solution.peak.strain / expected - 1.0).abs() < 1e-4);
}

#[test]
fn linear_theory_promises_too_much_for_a_thin_ribbon() {
    let (quarter, strips) = (hairpin(), Strips::homogeneous(5.0).unwrap());
    let span = LayerSpan::centred(5.0);
    let limit = LayerLimit { span, tensile: 0.01, compressive: None };
    let mut solver = CellSolver::new();
    let mut at = |towards, limit: LayerLimit| {
        stretch_at_strain(&mut solver, &quarter, &strips, towards, |s| limit.demand(s)).unwrap()
    };
    let exact = at(4.0, limit).unwrap();
    let linear = 0.01 / LinearEstimate::new(&quarter, &strips).unwrap().strain_slope;
    assert!(
        (exact / 1.96156 - 1.0).abs() < 1e-4 && (linear / 3.13236 - 1.0).abs() < 1e-5,
        "{exact} {linear}"
    );
    assert_eq!(at(1.5, limit), None);
    // In compression the outer edge of the crest is the stretched one.
    let shut = at(-0.9, LayerLimit { tensile: 0.002, ..limit }).unwrap();
    let solution = solve(&quarter, 5.0, shut);
    assert!(
        (solution.peak_tensile.strain / 0.002 - 1.0).abs() < 1e-4 && solution.peak_tensile.offset_um > 0.0
    );
}

#[test]
fn tiny_and_huge_allowances_are_met() {
    let (quarter, strips) = (hairpin(), Strips::homogeneous(20.0).unwrap());
    for tensile in [1e-9, 1e-5, 0.3] {
        let limit = LayerLimit { span: LayerSpan::centred(20.0), tensile, compressive: None };
        let mut solver = CellSolver::new();
        let stretch =
            stretch_at_strain(&mut solver, &quarter, &strips, 6.0, |s| limit.demand(s)).unwrap().unwrap();
        let reached = solve(&quarter, 20.0, stretch).peak_tensile.strain;
        assert!((reached / tensile - 1.0).abs() < 1e-4, "{reached} for {tensile}");
    }
}

#[test]
fn a_curve_is_the_solutions_in_a_row() {
    let (quarter, strips) = (hairpin(), Strips::homogeneous(20.0).unwrap());
    let stretches: Vec<f64> = (-4..24).map(|i| 0.1 * f64::from(i)).collect();
    let curve = force_curve(&mut CellSolver::new(), &quarter, &strips, &stretches).unwrap();
    for (point, &stretch) in curve.iter().zip(&stretches) {
        let alone = solve(&quarter, 20.0, stretch);
        assert!((point.peak_strain - alone.peak.strain).abs() <= 1e-4 * alone.peak.strain.abs() + 1e-12);
        assert!((point.force_un - alone.force_un()).abs() <= 1e-4 * alone.force_un().abs() + 1e-12);
    }
    assert!(curve.windows(2).all(|pair| pair[1].force_ei_per_p2 > pair[0].force_ei_per_p2));
}

#[test]
fn a_near_state_saves_steps() {
    let quarter = hairpin();
    let (thin, thick) = (Strips::homogeneous(20.0).unwrap(), Strips::homogeneous(30.0).unwrap());
    let mut solver = CellSolver::new();
    let problem = CellProblem { quarter: &quarter, strips: &thin, stretch: 1.6 };
    let cold = solver.solve(&problem, None).unwrap();
    let wider = solver.solve(&CellProblem { strips: &thick, ..problem }, Some(&cold.state)).unwrap();
    let further = solver.solve(&CellProblem { stretch: 1.62, ..problem }, Some(&cold.state)).unwrap();
    assert!(wider.iterations < cold.iterations && further.iterations < cold.iterations);
    let same = solver.solve(&CellProblem { stretch: 1.62, ..problem }, None).unwrap();
    assert!((further.peak.strain / same.peak.strain - 1.0).abs() < 1e-9);
}

#[test]
fn impossible_cells_are_refused() {
    let quarter = hairpin();
    let mut solver = CellSolver::new();
    let wide = Strips::homogeneous(500.0).unwrap();
    let result = solver.solve(&CellProblem { quarter: &quarter, strips: &wide, stretch: 0.1 }, None);
    let message = result.unwrap_err().to_string();
    assert!(message.starts_with("bend radius 250 µm is not above half the width of 500 µm"), "{message}");
    let thin = Strips::homogeneous(5.0).unwrap();
    for stretch in [-1.0, f64::INFINITY, f64::NAN] {
        let result = solver.solve(&CellProblem { quarter: &quarter, strips: &thin, stretch }, None);
        assert!(matches!(result, Err(CellError::BadStretch { .. })));
    }
}

/// A shape of any family with a pitch of 1000 µm.
fn any_quarter() -> impl Strategy<Value = Quarter> {
    (0..5_u8, 60.0..800.0_f64, 0.02..0.98_f64).prop_filter_map(
        "bends touch",
        |(kind, amplitude_um, share)| {
            let family = match kind {
                0 => Family::Sine,
                1 => Family::Arc,
                2 => {
                    let greatest = (1e6 / 16.0 + amplitude_um * amplitude_um) / (2.0 * amplitude_um);
                    Family::ArcAndArm(ArmDrive::Radius { radius_um: share * greatest.min(480.0) })
                }
                3 => Family::SineGenerated,
                _ => Family::Clothoid { plateau_share: share },
            };
            Quarter::new(family, 1000.0, amplitude_um).ok()
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn strain_does_not_depend_on_size(
        quarter in any_quarter(), ratio in 0.01..1.0_f64, share in -0.15..1.1_f64, scale in 0.01..100.0_f64,
    ) {
        let family = match quarter.family() {
            Family::ArcAndArm(ArmDrive::Radius { radius_um }) => {
                Family::ArcAndArm(ArmDrive::Radius { radius_um: radius_um * scale })
            }
            family => family,
        };
        let (pitch_um, amplitude_um) = (1000.0 * scale, quarter.amplitude_um() * scale);
        let scaled = Quarter::new(family, pitch_um, amplitude_um).unwrap();
        let (width_um, stretch) = (ratio * quarter.least_radius_um(), share * quarter.slack());
        let one = solve(&quarter, width_um, stretch);
        let other = solve(&scaled, width_um * scale, stretch);
        prop_assert!((one.peak.strain - other.peak.strain).abs() <= 1e-6 * one.peak.strain.abs() + 1e-14);
        let floor = 1e-9 * one.linear_force_ei_per_p2.abs() + 1e-12;
        prop_assert!((one.force_ei_per_p2 - other.force_ei_per_p2).abs() <= 1e-6 * one.force_ei_per_p2.abs() + floor);
    }

    #[test]
    fn a_wider_ribbon_strains_more(quarter in any_quarter(), ratio in 0.01..0.9_f64, share in 0.01..0.95_f64) {
        let stretch = share * quarter.slack();
        let width_um = ratio * quarter.least_radius_um();
        // A ribbon wider than its bends are high is a notched bar: widening it takes bending away.
        prop_assume!(width_um < quarter.amplitude_um());
        let narrow = solve(&quarter, width_um, stretch);
        let wide = solve(&quarter, 1.05 * width_um, stretch);
        prop_assert!(wide.peak.strain > narrow.peak.strain);
    }

    #[test]
    fn mirrored_layers_see_the_same(
        quarter in any_quarter(), inner in 0.0..0.4_f64, outer in 0.5..1.0_f64, share in -0.1..0.9_f64,
    ) {
        let half_um = 0.25 * quarter.least_radius_um();
        let solution = solve(&quarter, 2.0 * half_um, share * quarter.slack());
        let left = LayerSpan { left_um: outer * half_um, right_um: inner * half_um };
        let right = LayerSpan { left_um: -inner * half_um, right_um: -outer * half_um };
        let (left, right) = (solution.peak_at(left).unwrap(), solution.peak_at(right).unwrap());
        let scale = 1e-12 + 1e-9 * left.largest().strain.abs();
        prop_assert!((left.tensile.strain - right.tensile.strain).abs() <= scale);
        prop_assert!((left.compressive.strain - right.compressive.strain).abs() <= scale);
        let whole = solution.peak_at(LayerSpan::centred(2.0 * half_um)).unwrap();
        prop_assert!(whole.tensile.strain >= left.tensile.strain - scale);
    }

    #[test]
    fn the_error_is_within_the_tolerance(
        quarter in any_quarter(), ratio in 0.02..1.2_f64, share in -0.2..1.2_f64,
    ) {
        let (width_um, stretch) = (ratio * quarter.least_radius_um(), share * quarter.slack());
        let solution = solve(&quarter, width_um, stretch);
        let exact = solve_with(Mesh::Fixed { elements: 64 }, &quarter, width_um, stretch);
        prop_assert!(solution.is_stable && exact.is_stable);
        let at_crest = |s: &CellSolution| s.edge_strain_at_crest(-0.5 * width_um);
        let error = (at_crest(&solution) - at_crest(&exact)).abs();
        prop_assert!(error <= 1e-4 * at_crest(&exact).abs() + 1e-15, "{error} {:?}", solution.error_estimate);
        let error = (solution.peak.strain - exact.peak.strain).abs();
        prop_assert!(error <= 3e-4 * exact.peak.strain.abs() + 1e-15, "{error} {:?}", solution.error_estimate);
    }
}
