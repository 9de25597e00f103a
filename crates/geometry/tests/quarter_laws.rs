//! Laws that every family obeys, checked over a grid and over random shapes.

#![allow(clippy::unwrap_used, reason = "a test that cannot make its shape must fail")]

use ogee_geometry::{ArmDrive, Family, Quarter, ShapeError};
use proptest::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI};

const PITCH_UM: f64 = 1000.0;

/// Shapes of all families, from flat to overhanging.
fn shapes() -> Vec<(Family, f64)> {
    let tilt = |degrees: f64| Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: degrees.to_radians() });
    let radius = |radius_um| Family::ArcAndArm(ArmDrive::Radius { radius_um });
    let clothoid = |plateau_share| Family::Clothoid { plateau_share };
    let mut shapes = vec![
        (tilt(60.0), 300.0),
        (tilt(90.0), 600.0),
        (tilt(100.0), 400.0),
        (radius(150.0), 300.0),
        (radius(250.0), 400.0),
        (radius(300.0), 700.0),
        (radius(1e-3), 100.0),
    ];
    for amplitude_um in [1e-3, 1.0, 50.0, 100.0, 250.0, 400.0, 600.0] {
        shapes.extend([
            (Family::Sine, amplitude_um),
            (Family::Arc, amplitude_um),
            (Family::SineGenerated, amplitude_um),
        ]);
        shapes.extend([0.0, 1e-9, 0.3, 0.7, 1.0 - 1e-9, 1.0].map(|share| (clothoid(share), amplitude_um)));
    }
    shapes.extend([(Family::Sine, 2000.0), (Family::Sine, 1e5), (Family::Arc, 900.0)]);
    shapes
}

fn quarters() -> Vec<Quarter> {
    shapes()
        .into_iter()
        .map(|(family, amplitude_um)| Quarter::new(family, PITCH_UM, amplitude_um).unwrap())
        .collect()
}

/// Five-point Gauss quadrature over each of `parts` equal parts of 0..1.
fn integrate(parts: usize, f: impl Fn(f64) -> f64) -> f64 {
    let nodes = [0.0, 0.538_469_310_105_683_1, 0.906_179_845_938_664];
    let weights = [0.568_888_888_888_888_9, 0.478_628_670_499_366_47, 0.236_926_885_056_189_08];
    let half = 0.5 / parts as f64;
    let mut sum = 0.0;
    for part in 0..parts {
        let middle = (2 * part + 1) as f64 * half;
        sum += weights[0] * f(middle);
        for (node, weight) in nodes.iter().zip(weights).skip(1) {
            sum += weight * (f(middle - node * half) + f(middle + node * half));
        }
    }
    sum * half
}

#[test]
fn runs_from_the_crossing_at_the_tilt_to_the_crest_at_the_amplitude() {
    for quarter in quarters() {
        let start = quarter.at(0.0);
        assert!(start.x_um.abs() < 1e-11 * PITCH_UM && start.y_um.abs() < 1e-11 * PITCH_UM, "{quarter:?}");
        assert!((start.phi_rad - quarter.tilt_rad()).abs() < 1e-12, "{quarter:?}");
        assert!(
            (start.kappa_per_um.abs() - quarter.crossing_curvature_per_um()).abs() < 1e-15,
            "{quarter:?}"
        );
        let crest = quarter.at(quarter.length_um());
        let scale_um = PITCH_UM.max(quarter.amplitude_um());
        assert!((crest.x_um - 250.0).abs() < 1e-12 * scale_um, "{quarter:?} {crest:?}");
        assert!((crest.y_um - quarter.amplitude_um()).abs() < 1e-12 * scale_um, "{quarter:?} {crest:?}");
        assert!(crest.phi_rad.abs() < 1e-12, "{quarter:?}");
        assert!((crest.kappa_per_um * quarter.least_radius_um() + 1.0).abs() < 1e-12, "{quarter:?}");
    }
}

#[test]
fn coordinates_and_length_follow_from_the_samples_by_quadrature() {
    for quarter in quarters() {
        let parts = if quarter.amplitude_um() > 1000.0 { 20_000 } else { 400 };
        let (mut x_um, mut y_um, mut length_um, mut turn) = (0.0, 0.0, 0.0, 0.0);
        for piece in quarter.pieces() {
            length_um += integrate(parts, |u| piece.sample(u).ds_du_um);
            turn += integrate(parts, |u| piece.sample(u).ds_du_um * piece.sample(u).kappa_per_um);
            x_um += integrate(parts, |u| piece.sample(u).ds_du_um * piece.sample(u).phi_rad.cos());
            y_um += integrate(parts, |u| piece.sample(u).ds_du_um * piece.sample(u).phi_rad.sin());
        }
        let scale_um = PITCH_UM.max(quarter.amplitude_um());
        assert!((length_um - quarter.length_um()).abs() < 1e-11 * scale_um, "{quarter:?} {length_um}");
        assert!((x_um - 250.0).abs() < 1e-11 * scale_um, "{quarter:?} {x_um}");
        assert!((y_um - quarter.amplitude_um()).abs() < 1e-11 * scale_um, "{quarter:?} {y_um}");
        assert!((turn + quarter.tilt_rad()).abs() < 1e-11, "{quarter:?} {turn}");
    }
}

#[test]
fn points_have_the_slope_the_curvature_and_the_contour_length_they_report() {
    for quarter in quarters().iter().filter(|quarter| quarter.amplitude_um() < 3000.0) {
        for piece in quarter.pieces() {
            let step_um = 1e-4 * piece.length_um().min(quarter.least_radius_um());
            for index in 1..20 {
                let s_um = piece.start_um() + piece.length_um() * f64::from(index) / 20.0;
                let (before, here, after) =
                    (quarter.at(s_um - step_um), quarter.at(s_um), quarter.at(s_um + step_um));
                let chord = after.point() - before.point();
                let turn = (chord.y.atan2(chord.x) - here.phi_rad).rem_euclid(2.0 * PI);
                let noise = 1e-13 * PITCH_UM / step_um;
                assert!(turn.min(2.0 * PI - turn) < 1e-6 + noise, "{quarter:?} {s_um}");
                assert!((chord.hypot() / (2.0 * step_um) - 1.0).abs() < 1e-6 + noise, "{quarter:?} {s_um}");
                let kappa = (after.phi_rad - before.phi_rad) / (2.0 * step_um);
                let scale = quarter.crest_curvature_per_um();
                assert!(
                    (kappa - here.kappa_per_um).abs() < (1e-6 + 1e-14 / (step_um * scale)) * scale,
                    "{quarter:?} {s_um}"
                );
            }
        }
    }
}

#[test]
fn parameter_and_contour_length_invert_each_other() {
    for quarter in quarters() {
        for piece in quarter.pieces() {
            for index in 0..=50 {
                let s_um = piece.start_um() + piece.length_um() * f64::from(index) / 50.0;
                let back_um = piece.s_um(piece.u_from_s(s_um));
                assert!(
                    (back_um - s_um).abs() <= 1e-13 * quarter.length_um(),
                    "{quarter:?} {s_um} {back_um}"
                );
            }
        }
    }
}

#[test]
fn pieces_join_without_a_gap_or_a_kink() {
    for quarter in quarters() {
        let pieces = quarter.pieces();
        assert_eq!(pieces[0].start_um(), 0.0);
        assert_eq!(pieces[pieces.len() - 1].end_um(), quarter.length_um());
        for pair in pieces.windows(2) {
            assert_eq!(pair[0].end_um(), pair[1].start_um());
            assert!((pair[0].point(1.0) - pair[1].point(0.0)).hypot() < 1e-12 * PITCH_UM, "{quarter:?}");
            assert!((pair[0].sample(1.0).phi_rad - pair[1].sample(0.0).phi_rad).abs() < 1e-12, "{quarter:?}");
        }
    }
}

#[test]
fn half_breadth_is_the_greatest_distance_from_the_crests_axis() {
    for quarter in quarters() {
        let greatest_um = (0..=4000)
            .map(|index| 250.0 - quarter.at(quarter.length_um() * f64::from(index) / 4000.0).x_um)
            .fold(0.0, f64::max);
        assert!(greatest_um <= quarter.half_breadth_um() + 1e-9, "{quarter:?}");
        assert!(greatest_um >= quarter.half_breadth_um() - 1e-3, "{quarter:?} {greatest_um}");
    }
}

#[test]
fn an_arc_of_a_quarter_pitch_is_a_semicircle() {
    let quarter = Quarter::new(Family::Arc, 400.0, 100.0).unwrap();
    assert!((quarter.least_radius_um() - 100.0).abs() < 1e-12);
    assert!((quarter.tilt_rad() - FRAC_PI_2).abs() < 1e-15);
    assert!((quarter.length_um() - 50.0 * PI).abs() < 1e-12);
    assert!((quarter.slack() - (FRAC_PI_2 - 1.0)).abs() < 1e-14);
}

#[test]
fn a_hairpin_is_two_arms_and_a_semicircle() {
    for drive in [ArmDrive::Tilt { tilt_rad: FRAC_PI_2 }, ArmDrive::Radius { radius_um: 100.0 }] {
        let quarter = Quarter::new(Family::ArcAndArm(drive), 400.0, 340.0).unwrap();
        assert!((quarter.least_radius_um() - 100.0).abs() < 1e-12);
        assert!((quarter.arm_half_length_um() - 240.0).abs() < 1e-12);
        assert!((quarter.tilt_rad() - FRAC_PI_2).abs() < 1e-15);
        assert!((quarter.length_um() - 240.0 - 50.0 * PI).abs() < 1e-12);
    }
}

#[test]
fn the_two_drives_of_the_arc_with_arms_agree() {
    for (amplitude_um, radius_um) in [(300.0, 20.0), (300.0, 200.0), (700.0, 300.0), (100.0, 350.0)] {
        let by_radius = Family::ArcAndArm(ArmDrive::Radius { radius_um });
        let given = Quarter::new(by_radius, PITCH_UM, amplitude_um).unwrap();
        let by_tilt = Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: given.tilt_rad() });
        let back = Quarter::new(by_tilt, PITCH_UM, amplitude_um).unwrap();
        assert!((back.least_radius_um() / radius_um - 1.0).abs() < 1e-12);
        assert!((back.arm_half_length_um() - given.arm_half_length_um()).abs() < 1e-10);
    }
}

#[test]
fn limits_of_the_arc_with_arms_are_the_arc() {
    let arc = Quarter::new(Family::Arc, PITCH_UM, 180.0).unwrap();
    let radius = Family::ArcAndArm(ArmDrive::Radius { radius_um: arc.least_radius_um() });
    let tilt = Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: arc.tilt_rad() });
    for family in [radius, tilt, Family::Clothoid { plateau_share: 1.0 }] {
        let quarter = Quarter::new(family, PITCH_UM, 180.0).unwrap();
        // The arm goes with the square root of what is missing from the radius.
        assert!((quarter.length_um() - arc.length_um()).abs() < 1e-5, "{quarter:?}");
        assert!((quarter.least_radius_um() / arc.least_radius_um() - 1.0).abs() < 1e-12);
    }
}

/// Sinuosities 1/J₀(θ) of the sine-generated curve (Langbein and Leopold, 1966).
#[test]
fn sine_generated_curve_has_its_published_sinuosity() {
    for (degrees, sinuosity) in [
        (30.0, 1.072_240_52),
        (60.0, 1.343_956_01),
        (90.0, 2.118_638_61),
        (110.0, 3.699_855_98),
        (120.0, 5.889_495_8),
    ] {
        // Bisection in A/P, whose tilt rises with it.
        let (mut low, mut high) = (1e-3, 3.0);
        for _ in 0..60 {
            let middle: f64 = 0.5 * (low + high);
            let is_flat = Quarter::new(Family::SineGenerated, 1.0, middle)
                .is_ok_and(|quarter| quarter.tilt_rad().to_degrees() < degrees);
            if is_flat { low = middle } else { high = middle }
        }
        let quarter = Quarter::new(Family::SineGenerated, 1.0, low).unwrap();
        assert!(((quarter.slack() + 1.0) / sinuosity - 1.0).abs() < 1e-7, "{degrees}");
    }
}

#[test]
fn flat_shapes_approach_their_small_slope_forms() {
    // Slope angle of the sine y = A sin(2πx/P), of the parabola y = A (1 − (1 − 4x/P)²) and of the cubic ramp.
    let ratio = 1e-4;
    for (family, tilt_over_ratio) in [
        (Family::Sine, 2.0 * PI),
        (Family::SineGenerated, 2.0 * PI),
        (Family::Arc, 8.0),
        (Family::Clothoid { plateau_share: 0.0 }, 6.0),
    ] {
        let quarter = Quarter::new(family, 1.0, ratio).unwrap();
        assert!((quarter.tilt_rad() / ratio / tilt_over_ratio - 1.0).abs() < 1e-6, "{family:?}");
    }
}

#[test]
fn impossible_shapes_say_what_is_possible() {
    let tilt = |degrees: f64| Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: degrees.to_radians() });
    let radius = |radius_um| Family::ArcAndArm(ArmDrive::Radius { radius_um });
    for (family, pitch_um, amplitude_um, field, nearest, message) in [
        (Family::Sine, f64::NAN, 100.0, "pitch_um", None, "pitch is not a finite number"),
        (Family::Sine, -5.0, 100.0, "pitch_um", Some(1e-6), "pitch -5 µm is outside 1e-6 µm to 1e12 µm"),
        (
            Family::Arc,
            1000.0,
            0.0,
            "amplitude_um",
            Some(1e-3),
            "amplitude 0 µm is outside 0.001 µm to 1000000 µm",
        ),
        (
            radius(400.0),
            1000.0,
            300.0,
            "radius_um",
            Some(254.166),
            "bend radius 400 µm is larger than the 254.167 µm of a single arc of this pitch and amplitude; at most \
             254.166 µm is possible",
        ),
        (
            radius(0.0),
            1000.0,
            300.0,
            "radius_um",
            Some(1e-3),
            "bend radius 0 µm is outside 0.001 µm to 254.166 µm",
        ),
        (
            tilt(40.0),
            1000.0,
            250.0,
            "tilt_deg",
            Some(45.0001),
            "tilt 40° must be above 45° and at most 90° for this pitch and amplitude",
        ),
        (
            tilt(100.0),
            1000.0,
            250.0,
            "tilt_deg",
            Some(90.0),
            "tilt 100° must be above 45° and at most 90° for this pitch and amplitude",
        ),
        (
            Family::Clothoid { plateau_share: 1.5 },
            1000.0,
            300.0,
            "plateau_share",
            Some(1.0),
            "plateau share 1.5 is outside 0 to 1",
        ),
        (
            Family::Arc,
            1000.0,
            1000.0,
            "amplitude_um",
            Some(933.011),
            "bends 1062.5 µm broad touch at a pitch of 1000 µm: amplitude 1000 µm is too large; at most 933.011 µm is \
             possible",
        ),
        (
            radius(600.0),
            1000.0,
            2000.0,
            "radius_um",
            Some(499.999),
            "bends 1200 µm broad touch at a pitch of 1000 µm: bend radius 600 µm is too large; at most 499.999 µm is \
             possible",
        ),
    ] {
        let error = Quarter::new(family, pitch_um, amplitude_um).unwrap_err();
        assert_eq!((error.field(), error.nearest()), (field, nearest), "{error}");
        assert_eq!(error.to_string(), message);
    }
    // The sine-generated curve touches itself before its pitch would vanish at 137.8°.
    let error = Quarter::new(Family::SineGenerated, 1000.0, 5000.0).unwrap_err();
    let widest = Quarter::new(Family::SineGenerated, 1000.0, error.nearest().unwrap()).unwrap();
    assert!((120.0..130.0).contains(&widest.tilt_rad().to_degrees()), "{}", widest.tilt_rad().to_degrees());
    // A tilt that makes touching bends.
    let error = Quarter::new(tilt(140.0), 1000.0, 3000.0).unwrap_err();
    assert_eq!(error.field(), "tilt_deg");
    let widest = Quarter::new(tilt(error.nearest().unwrap()), 1000.0, 3000.0).unwrap();
    assert!((499.9..500.0).contains(&widest.least_radius_um()));
}

fn any_family() -> impl Strategy<Value = Family> {
    prop_oneof![
        Just(Family::Sine),
        Just(Family::Arc),
        Just(Family::SineGenerated),
        (-1e3..1e4).prop_map(|radius_um| Family::ArcAndArm(ArmDrive::Radius { radius_um })),
        (0.1..2e3).prop_map(|radius_um| Family::ArcAndArm(ArmDrive::Radius { radius_um })),
        (-0.5..3.5).prop_map(|tilt_rad| Family::ArcAndArm(ArmDrive::Tilt { tilt_rad })),
        (-0.5..1.5).prop_map(|plateau_share| Family::Clothoid { plateau_share }),
        (0.0..=1.0).prop_map(|plateau_share| Family::Clothoid { plateau_share }),
    ]
}

/// The shape with the quantity at fault replaced.
fn replace(family: Family, amplitude_um: f64, error: &ShapeError) -> (Family, f64) {
    let nearest = error.nearest().unwrap();
    match error.field() {
        "amplitude_um" => (family, nearest),
        "radius_um" => (Family::ArcAndArm(ArmDrive::Radius { radius_um: nearest }), amplitude_um),
        "tilt_deg" => (Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: nearest.to_radians() }), amplitude_um),
        "plateau_share" => (Family::Clothoid { plateau_share: nearest }, amplitude_um),
        field => panic!("{field} is not expected"),
    }
}

proptest! {
    #[test]
    fn every_shape_ends_at_its_crest_or_says_what_would(
        family in any_family(),
        amplitude in -4.0..3.5f64,
    ) {
        let mut shape = (family, PITCH_UM * 10f64.powf(amplitude));
        // A radius within the single arc can still make bends touch: two corrections at most.
        for _ in 0..3 {
            match Quarter::new(shape.0, PITCH_UM, shape.1) {
                Ok(_) => break,
                Err(error) => shape = replace(shape.0, shape.1, &error),
            }
        }
        let quarter = Quarter::new(shape.0, PITCH_UM, shape.1).unwrap();
        let crest = quarter.at(quarter.length_um());
        let scale_um = PITCH_UM.max(shape.1);
        prop_assert!((crest.x_um - 250.0).abs() < 1e-11 * scale_um);
        prop_assert!((crest.y_um - shape.1).abs() < 1e-11 * scale_um);
        let start = quarter.at(0.0);
        prop_assert!(start.point().to_vec2().hypot() < 1e-11 * scale_um);
        prop_assert!(2.0 * quarter.half_breadth_um() < PITCH_UM);
    }

    #[test]
    fn shapes_scale(family in any_family(), amplitude in -3.0..0.0f64, scale in -5.0..5.0f64) {
        let amplitude_um = PITCH_UM * 10f64.powf(amplitude);
        if let Ok(quarter) = Quarter::new(family, PITCH_UM, amplitude_um) {
            let factor = 10f64.powf(scale);
            let scaled_family = match family {
                Family::ArcAndArm(ArmDrive::Radius { radius_um }) =>
                    Family::ArcAndArm(ArmDrive::Radius { radius_um: factor * radius_um }),
                other => other,
            };
            let scaled = Quarter::new(scaled_family, factor * PITCH_UM, factor * amplitude_um);
            let Ok(scaled) = scaled else {
                // Only rounding at a limit may tell the two apart.
                return Ok(());
            };
            prop_assert!((scaled.length_um() / (factor * quarter.length_um()) - 1.0).abs() < 1e-11);
            prop_assert!((scaled.tilt_rad() / quarter.tilt_rad() - 1.0).abs() < 1e-7);
            prop_assert!((scaled.least_radius_um() / (factor * quarter.least_radius_um()) - 1.0).abs() < 1e-11);
        }
    }

    #[test]
    fn no_input_makes_a_nan(pitch in any::<f64>(), amplitude in any::<f64>(), third in any::<f64>()) {
        let families = [
            Family::Sine,
            Family::Arc,
            Family::SineGenerated,
            Family::ArcAndArm(ArmDrive::Radius { radius_um: third }),
            Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: third }),
            Family::Clothoid { plateau_share: third },
        ];
        for family in families {
            match Quarter::new(family, pitch, amplitude) {
                Ok(quarter) => prop_assert!(quarter.length_um().is_finite() && quarter.tilt_rad().is_finite()),
                Err(error) => prop_assert!(error.nearest().is_none_or(f64::is_finite)),
            }
        }
    }
}
