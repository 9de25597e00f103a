//! The gap between edges: closed forms, a search over all pairs of points, deformed quarters.

#![allow(clippy::unwrap_used, reason = "a test that cannot make its shape must fail")]

mod common;

use common::{PITCH_UM, clothoid, radius, tilt, usual_quarters};
use kurbo::{Point, Vec2};
use ogee_geometry::{
    Centreline, ClearanceKind, CurvePoint, Ends, Family, Quarter, ShapeError, clearance,
    clearance_of_quarter_points,
};

fn quarter(family: Family, amplitude_um: f64) -> Quarter {
    Quarter::new(family, PITCH_UM, amplitude_um).unwrap()
}

#[test]
fn a_hairpin_has_the_gap_between_its_arms() {
    let gap = clearance(&quarter(tilt(90.0), 600.0), 30.0).unwrap();
    assert!((gap.gap_um - 470.0).abs() < 1e-9);
    assert_eq!(gap.kind, ClearanceKind::BetweenArms);
    // Where the arms pass into the bend.
    assert!((gap.at.0.point() - Point::new(0.0, 350.0)).hypot() < 1e-9);
    assert!((gap.at.1.point() - Point::new(500.0, 350.0)).hypot() < 1e-9);
}

#[test]
fn a_bend_has_twice_its_radius_less_the_width() {
    for (family, amplitude_um, radius_um) in [
        (Family::Arc, 250.0, 250.0),
        (radius(20.0), 300.0, 20.0),
        (radius(200.0), 300.0, 200.0),
        (Family::Sine, 300.0, 1e6 / (4.0 * std::f64::consts::PI.powi(2) * 300.0)),
    ] {
        let gap = clearance(&quarter(family, amplitude_um), 10.0).unwrap();
        assert!((gap.gap_um - (2.0 * radius_um - 10.0)).abs() < 1e-9, "{family:?} {gap:?}");
        assert_eq!(gap.kind, ClearanceKind::InsideBend);
    }
}

#[test]
fn overhanging_arcs_have_the_pitch_less_a_bend_and_the_width() {
    for amplitude_um in [600.0, 700.0, 900.0] {
        let quarter = quarter(Family::Arc, amplitude_um);
        let radius_um = quarter.least_radius_um();
        let gap = clearance(&quarter, 20.0).unwrap();
        assert!((gap.gap_um - (PITCH_UM - 2.0 * radius_um - 20.0)).abs() < 1e-9);
        assert_eq!(gap.kind, ClearanceKind::NeighbouringBends);
        let (left, right) = (gap.at.0, gap.at.1);
        assert!(
            (left.x_um - 250.0 - radius_um).abs() < 1e-9 && (right.x_um - 1250.0 + radius_um).abs() < 1e-9
        );
        assert!((left.y_um - right.y_um).abs() < 1e-9 && (left.y_um - amplitude_um + radius_um).abs() < 1e-9);
    }
}

#[test]
fn a_gap_may_be_negative() {
    let gap = clearance(&quarter(radius(20.0), 300.0), 50.0).unwrap();
    assert!((gap.gap_um + 10.0).abs() < 1e-9);
    assert!(matches!(clearance(&quarter(Family::Sine, 300.0), f64::NAN), Err(ShapeError::NotFinite { .. })));
}

/// The shortest doubly normal chord between points of `first` and points of `all`, refined by Newton's method.
fn shortest_chord(at: impl Fn(f64) -> CurvePoint, first: (f64, f64), all: (f64, f64), step_um: f64) -> f64 {
    let grid = |(from, to): (f64, f64)| -> Vec<CurvePoint> {
        let count = ((to - from) / step_um).ceil();
        (0..=count as u32).map(|index| at(from + (to - from) * f64::from(index) / count)).collect()
    };
    let tangent = |point: &CurvePoint| Vec2::new(point.phi_rad.cos(), point.phi_rad.sin());
    let (rows, columns) = (grid(first), grid(all));
    let (row_tangents, column_tangents): (Vec<_>, Vec<_>) =
        (rows.iter().map(tangent).collect(), columns.iter().map(tangent).collect());
    let mut shortest = f64::INFINITY;
    let mut before: Vec<(f64, f64)> = Vec::new();
    for (row, row_tangent) in rows.iter().zip(&row_tangents) {
        let here: Vec<(f64, f64)> = columns
            .iter()
            .zip(&column_tangents)
            .map(|(column, column_tangent)| {
                let chord = column.point() - row.point();
                (chord.dot(*row_tangent), chord.dot(*column_tangent))
            })
            .collect();
        for index in 1..before.len() {
            let corners = [before[index - 1], before[index], here[index - 1], here[index]];
            let changes = |f: fn(&(f64, f64)) -> f64| {
                corners.iter().any(|corner| f(corner) >= 0.0) && corners.iter().any(|corner| f(corner) <= 0.0)
            };
            if !(changes(|corner| corner.0) && changes(|corner| corner.1)) {
                continue;
            }
            let (mut s, mut t) = (row.s_um - 0.5 * step_um, columns[index].s_um - 0.5 * step_um);
            if (s - t).abs() < 4.0 * step_um {
                continue;
            }
            for _ in 0..20 {
                let (a, b) = (at(s), at(t));
                let (chord, ta, tb) = (b.point() - a.point(), tangent(&a), tangent(&b));
                let normal = |tangent: Vec2| Vec2::new(-tangent.y, tangent.x);
                let (f, g) = (chord.dot(ta), chord.dot(tb));
                let (fs, ft) = (a.kappa_per_um * chord.dot(normal(ta)) - 1.0, ta.dot(tb));
                let (gs, gt) = (-ta.dot(tb), 1.0 + b.kappa_per_um * chord.dot(normal(tb)));
                let determinant = fs * gt - ft * gs;
                if determinant.abs() < 1e-12 {
                    break;
                }
                s -= (f * gt - g * ft) / determinant;
                t -= (fs * g - gs * f) / determinant;
            }
            let (a, b) = (at(s), at(t));
            let chord = b.point() - a.point();
            let is_normal = chord.dot(tangent(&a)).abs() < 1e-6 && chord.dot(tangent(&b)).abs() < 1e-6;
            let is_inside = s > first.0 - step_um && s < first.1 + step_um && t > all.0 && t < all.1;
            if is_normal && is_inside && chord.hypot() > 1e-3 {
                shortest = shortest.min(chord.hypot());
            }
        }
        before = here;
    }
    shortest
}

#[test]
fn no_doubly_normal_chord_of_a_meander_is_shorter_than_the_room() {
    let mut quarters = usual_quarters();
    quarters.extend([
        quarter(Family::SineGenerated, 1000.0),
        quarter(Family::SineGenerated, 700.0),
        quarter(clothoid(0.2), 800.0),
        quarter(clothoid(0.0), 900.0),
        quarter(tilt(120.0), 600.0),
        quarter(tilt(95.0), 2000.0),
        quarter(radius(400.0), 3000.0),
    ]);
    for quarter in quarters {
        let room_um = clearance(&quarter, 1.0).unwrap().gap_um + 1.0;
        // The middle of a long ribbon stands for the endless meander.
        let ribbon = Centreline::new(quarter.clone(), 6, Ends::Crossing, 0.0, None).unwrap();
        let length_um = quarter.length_um();
        let at = |s_um: f64| ribbon.at(s_um);
        let chord_um = shortest_chord(
            at,
            (12.0 * length_um, 13.0 * length_um),
            (6.0 * length_um, 19.0 * length_um),
            length_um / 90.0,
        );
        let brute_um = chord_um.min(2.0 * quarter.least_radius_um());
        assert!(
            (room_um - brute_um).abs() < 1e-6,
            "{:?} {} {room_um} {brute_um}",
            quarter.family(),
            quarter.amplitude_um()
        );
    }
}

#[test]
fn no_doubly_normal_chord_of_a_ribbon_with_ends_is_shorter_than_the_room() {
    for (family, amplitude_um) in [
        (Family::Arc, 600.0),
        (Family::Arc, 800.0),
        (Family::SineGenerated, 700.0),
        (clothoid(0.3), 700.0),
        (tilt(110.0), 600.0),
    ] {
        for (ends, lead_um, end_radius_um) in [
            (Ends::Crossing, 150.0, None),
            (Ends::Crossing, 300.0, None),
            (Ends::Crest, 500.0, None),
            (Ends::Midline, 400.0, None),
            (Ends::Midline, 400.0, Some(60.0)),
            (Ends::Midline, 100.0, Some(300.0)),
        ] {
            let Ok(ribbon) = Centreline::new(quarter(family, amplitude_um), 2, ends, lead_um, end_radius_um)
            else {
                continue;
            };
            let room_um = ribbon.clearance(1.0).unwrap().gap_um + 1.0;
            let all = (0.0, ribbon.contour_length_um());
            let half = (0.0, 0.5 * ribbon.contour_length_um());
            let chord_um =
                shortest_chord(|s_um| ribbon.at(s_um), half, all, ribbon.contour_length_um() / 700.0);
            let brute_um = chord_um.min(2.0 * ribbon.least_radius_um());
            // A lead's free end may come closer than any chord that is normal to both.
            let is_free_end = ribbon.clearance(1.0).unwrap().at.0.s_um == 0.0;
            assert!(
                (room_um - brute_um).abs() < 1e-5 || (is_free_end && room_um < brute_um),
                "{family:?} {amplitude_um} {ends:?} {lead_um} {end_radius_um:?}: {room_um} {brute_um} {:?}",
                ribbon.clearance(1.0).unwrap()
            );
        }
    }
}

#[test]
fn places_lie_on_the_ribbon_as_far_apart_as_the_gap_says() {
    for ribbon in common::usual_ribbons() {
        let gap = ribbon.clearance(2.0).unwrap();
        let (first, second) = gap.at;
        for point in [first, second] {
            assert!((ribbon.at(point.s_um).point() - point.point()).hypot() < 1e-6, "{gap:?}");
        }
        if gap.kind != ClearanceKind::InsideBend {
            let chord_um = (second.point() - first.point()).hypot();
            assert!((chord_um - 2.0 - gap.gap_um).abs() < 1e-6, "{:?} {gap:?}", ribbon.quarter().family());
        }
    }
}

#[test]
fn one_period_has_no_neighbouring_bends_but_on_crests() {
    let quarter = quarter(Family::Arc, 800.0);
    for (ends, periods, kind) in [
        (Ends::Crossing, 1, ClearanceKind::InsideBend),
        (Ends::Crossing, 2, ClearanceKind::NeighbouringBends),
        (Ends::Crest, 1, ClearanceKind::NeighbouringBends),
    ] {
        let ribbon = Centreline::new(quarter.clone(), periods, ends, 0.0, None).unwrap();
        assert_eq!(ribbon.clearance(10.0).unwrap().kind, kind, "{ends:?} {periods}");
    }
}

#[test]
fn points_of_an_undeformed_quarter_have_the_same_gap() {
    for quarter in usual_quarters() {
        let exact = clearance(&quarter, 10.0).unwrap();
        let mut errors = Vec::new();
        for count in [50, 100] {
            let points: Vec<_> = (0..=count)
                .map(|index| quarter.at(quarter.length_um() * f64::from(index) / f64::from(count)))
                .collect();
            let gap = clearance_of_quarter_points(&points, PITCH_UM, 10.0).unwrap();
            errors.push((gap.gap_um - exact.gap_um).abs());
        }
        assert!(
            errors[0] < 1e-6 * PITCH_UM && errors[1] < 1e-7 * PITCH_UM,
            "{:?} {errors:?}",
            quarter.family()
        );
    }
}

#[test]
fn points_of_a_deformed_quarter_are_judged_where_they_come_closest() {
    // A compressed arc: the same bend on a shorter pitch.
    let quarter = quarter(Family::Arc, 700.0);
    let pitch_um = 860.0;
    let points: Vec<_> = (0..=200)
        .map(|index| {
            let mut point = quarter.at(quarter.length_um() * f64::from(index) / 200.0);
            point.x_um += (pitch_um - PITCH_UM) / 4.0 * point.s_um / quarter.length_um();
            point
        })
        .collect();
    let gap = clearance_of_quarter_points(&points, pitch_um, 10.0).unwrap();
    assert_eq!(gap.kind, ClearanceKind::NeighbouringBends);
    assert!((gap.at.1.x_um - gap.at.0.x_um - 10.0 - gap.gap_um).abs() < 1e-9);
    // A straight quarter has no bend to speak of, and an answer all the same.
    let straight = [0.0, 125.0, 250.0].map(|x_um| CurvePoint {
        s_um: x_um,
        x_um,
        y_um: 0.0,
        phi_rad: 0.0,
        kappa_per_um: 0.0,
    });
    let gap = clearance_of_quarter_points(&straight, PITCH_UM, 10.0).unwrap();
    assert!(gap.gap_um > 1e9 && gap.gap_um.is_finite());
    assert_eq!(
        clearance_of_quarter_points(&straight[..1], PITCH_UM, 10.0),
        Err(ShapeError::NoCurve { points: 1 })
    );
    assert!(clearance_of_quarter_points(&straight, f64::NAN, 10.0).is_err());
}

#[test]
fn a_dog_bone_is_tightest_at_its_neck() {
    // φ rises to 100° before the bend: the arms lean towards each other above the crossing.
    let phi = |t: f64| {
        let degrees = if t < 0.5 {
            80.0 + 20.0 * (std::f64::consts::PI * t).sin().powi(2)
        } else {
            100.0 * (2.0 - 2.0 * t)
        };
        degrees.to_radians()
    };
    let count = 2000;
    let length_um = 1000.0;
    let mut points = Vec::new();
    let (mut x_um, mut y_um) = (0.0, 0.0);
    for index in 0..=count {
        let t = f64::from(index) / f64::from(count);
        let step = 1.0 / f64::from(count);
        if index > 0 {
            let middle = phi(t - 0.5 * step);
            x_um += length_um * step * middle.cos();
            y_um += length_um * step * middle.sin();
        }
        let kappa_per_um = (phi((t + 1e-6).min(1.0)) - phi(t - 1e-6)) / (2e-6 * length_um);
        points.push(CurvePoint { s_um: t * length_um, x_um, y_um, phi_rad: phi(t), kappa_per_um });
    }
    let crest_um = points[points.len() - 1].x_um;
    // Bring the crest's axis close to the neck.
    let neck_um = points[..count as usize / 2].iter().map(|point| point.x_um).fold(0.0, f64::max);
    let pitch_um = 4.0 * (neck_um + 30.0);
    assert!(crest_um > 0.0);
    let gap = clearance_of_quarter_points(&points, pitch_um, 10.0).unwrap();
    assert_eq!(gap.kind, ClearanceKind::BetweenArms);
    assert!((gap.gap_um - 50.0).abs() < 1e-2, "{gap:?}");
}
