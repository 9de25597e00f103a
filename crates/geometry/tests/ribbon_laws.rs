//! Laws of whole ribbons, checked for every family and every kind of end.

#![allow(clippy::unwrap_used, reason = "a test that cannot make its shape must fail")]

mod common;

use common::{PITCH_UM, clothoid, radius, tilt, usual_ribbons};
use kurbo::{BezPath, ParamCurve, ParamCurveNearest, PathSeg, Point, Shape};
use ogee_geometry::{Centreline, CurvePoint, Ends, Family, Quarter, ShapeError};
use proptest::prelude::*;
use std::f64::consts::{FRAC_PI_2, PI};

fn ribbon(family: Family, amplitude_um: f64, periods: u32, ends: Ends, lead_um: f64) -> Centreline {
    let quarter = Quarter::new(family, PITCH_UM, amplitude_um).unwrap();
    Centreline::new(quarter, periods, ends, lead_um, None).unwrap()
}

fn describe(ribbon: &Centreline) -> String {
    let quarter = ribbon.quarter();
    format!(
        "{:?} A {} n {} {:?} lead {} bend {:?}",
        quarter.family(),
        quarter.amplitude_um(),
        ribbon.periods(),
        ribbon.ends(),
        ribbon.lead_um(),
        ribbon.end_bend()
    )
}

#[test]
fn starts_at_x_0_and_ends_at_the_span() {
    for ribbon in usual_ribbons() {
        let (start, end) = (ribbon.start(), ribbon.end());
        assert_eq!(start.s_um, 0.0);
        assert_eq!(end.s_um, ribbon.contour_length_um());
        assert!(start.x_um.abs() < 1e-9, "{}", describe(&ribbon));
        assert!((end.x_um - ribbon.span_um()).abs() < 1e-9, "{}", describe(&ribbon));
        let (height_um, phi_rad) = match ribbon.ends() {
            Ends::Crest => (ribbon.quarter().amplitude_um(), 0.0),
            Ends::Midline => (0.0, 0.0),
            Ends::Crossing => {
                let tilt_rad = ribbon.quarter().tilt_rad();
                (-ribbon.lead_um() * tilt_rad.sin(), tilt_rad)
            }
        };
        assert!((start.y_um - height_um).abs() < 1e-9, "{}", describe(&ribbon));
        let far_um = if ribbon.ends() == Ends::Crest { height_um } else { -height_um };
        assert!((end.y_um - far_um).abs() < 1e-9, "{}", describe(&ribbon));
        assert!((start.phi_rad - phi_rad).abs() < 1e-9 && (end.phi_rad - phi_rad).abs() < 1e-9);
    }
}

#[test]
fn runs_at_unit_speed_along_its_tangent_without_a_kink() {
    for ribbon in usual_ribbons() {
        let steps = 20_000 * ribbon.periods();
        let step_um = ribbon.contour_length_um() / f64::from(steps);
        let mut before = ribbon.start();
        for index in 1..=steps {
            let here = ribbon.at(step_um * f64::from(index));
            let chord = here.point() - before.point();
            let turn = here.phi_rad - before.phi_rad;
            let curvature = 1.0 / ribbon.least_radius_um();
            assert!(turn.abs() <= curvature * step_um * (1.0 + 1e-6), "{} {here:?}", describe(&ribbon));
            assert!(
                chord.hypot() <= step_um * (1.0 + 1e-9)
                    && chord.hypot() >= step_um * (1.0 - (curvature * step_um).powi(2)),
                "{} {here:?}",
                describe(&ribbon)
            );
            let (sin, cos) = (0.5 * (here.phi_rad + before.phi_rad)).sin_cos();
            let across = chord.y * cos - chord.x * sin;
            assert!(across.abs() <= curvature * step_um * step_um, "{} {here:?}", describe(&ribbon));
            before = here;
        }
    }
}

#[test]
fn curvature_is_the_turn_between_its_jumps() {
    for ribbon in usual_ribbons() {
        let jumps: Vec<_> = ribbon.jumps().collect();
        assert!(jumps.windows(2).all(|pair| pair[0].s_um < pair[1].s_um), "{}", describe(&ribbon));
        let within_um = 1e-6 * PITCH_UM;
        for jump in &jumps {
            let (before, after) = (ribbon.at(jump.s_um - within_um), ribbon.at(jump.s_um + within_um));
            let scale = 1e-4 / ribbon.least_radius_um();
            if jump.s_um > within_um {
                assert!(
                    (before.kappa_per_um - jump.before_per_um).abs() < scale,
                    "{} {jump:?}",
                    describe(&ribbon)
                );
            } else {
                assert_eq!(jump.before_per_um, 0.0);
            }
            if jump.s_um < ribbon.contour_length_um() - within_um {
                assert!(
                    (after.kappa_per_um - jump.after_per_um).abs() < scale,
                    "{} {jump:?}",
                    describe(&ribbon)
                );
            } else {
                assert_eq!(jump.after_per_um, 0.0);
            }
        }
        let steps = 2000;
        let step_um = ribbon.contour_length_um() / f64::from(steps);
        let h_um = 0.01 * step_um;
        for index in 1..steps {
            let s_um = step_um * f64::from(index);
            if jumps.iter().any(|jump| (jump.s_um - s_um).abs() < 2.0 * h_um) {
                continue;
            }
            let turn = ribbon.at(s_um + h_um).phi_rad - ribbon.at(s_um - h_um).phi_rad;
            let kappa = ribbon.at(s_um).kappa_per_um;
            assert!(
                (turn / (2.0 * h_um) - kappa).abs() < 3e-3 / ribbon.least_radius_um(),
                "{} {s_um}",
                describe(&ribbon)
            );
        }
    }
}

#[test]
fn contour_length_agrees_with_the_chords_of_a_fine_polyline() {
    for ribbon in usual_ribbons() {
        let points = ribbon.sample(1e-7 * PITCH_UM);
        // Chord over the sinc of half the turn is exact for circles and of fourth order else.
        let length_um: f64 = points
            .windows(2)
            .map(|pair| {
                let half = 0.5 * (pair[1].phi_rad - pair[0].phi_rad);
                let sinc = if half.abs() < 1e-5 { 1.0 } else { half.sin() / half };
                (pair[1].point() - pair[0].point()).hypot() / sinc
            })
            .sum();
        assert!(
            (length_um / ribbon.contour_length_um() - 1.0).abs() < 1e-8,
            "{} {length_um}",
            describe(&ribbon)
        );
    }
}

#[test]
fn a_period_repeats_and_its_halves_mirror() {
    for ribbon in usual_ribbons().into_iter().filter(|ribbon| ribbon.periods() >= 2) {
        let period_um = 4.0 * ribbon.quarter().length_um();
        let pitch_um = ribbon.quarter().pitch_um();
        let first_um = ribbon.lead_um() + ribbon.end_bend().map_or(0.0, |bend| bend.length_um);
        for index in 1..100 {
            let s_um = first_um + 0.5 * period_um * f64::from(index) / 100.0;
            let (here, half_on, next) =
                (ribbon.at(s_um), ribbon.at(s_um + 0.5 * period_um), ribbon.at(s_um + period_um));
            assert!((next.x_um - here.x_um - pitch_um).abs() < 1e-9 && (next.y_um - here.y_um).abs() < 1e-9);
            assert!((half_on.x_um - here.x_um - 0.5 * pitch_um).abs() < 1e-9);
            assert!((half_on.y_um + here.y_um).abs() < 1e-9);
            assert!((half_on.phi_rad + here.phi_rad).abs() < 1e-9);
        }
    }
}

#[test]
fn far_half_is_the_near_half_turned_or_mirrored() {
    for ribbon in usual_ribbons() {
        for index in 0..=200 {
            let s_um = 0.5 * ribbon.contour_length_um() * f64::from(index) / 200.0;
            let (here, far) = (ribbon.at(s_um), ribbon.at(ribbon.contour_length_um() - s_um));
            assert!((here.x_um + far.x_um - ribbon.span_um()).abs() < 1e-9, "{} {s_um}", describe(&ribbon));
            if ribbon.ends() == Ends::Crest {
                assert!((here.y_um - far.y_um).abs() < 1e-9 && (here.phi_rad + far.phi_rad).abs() < 1e-9);
            } else {
                assert!((here.y_um + far.y_um).abs() < 1e-9 && (here.phi_rad - far.phi_rad).abs() < 1e-9);
            }
        }
    }
}

#[test]
fn midline_ends_lie_on_the_midline_and_join_without_a_kink() {
    for family in [Family::Sine, Family::Arc, Family::SineGenerated, tilt(100.0), clothoid(0.3)] {
        let quarter = Quarter::new(family, PITCH_UM, 400.0).unwrap();
        for end_radius_um in [None, Some(1.0), Some(200.0), Some(5e4)] {
            let ribbon = Centreline::new(quarter.clone(), 2, Ends::Midline, 30.0, end_radius_um).unwrap();
            let bend = ribbon.end_bend().unwrap();
            assert_eq!(bend.radius_um, end_radius_um.unwrap_or(quarter.least_radius_um()));
            let joint = quarter.at(bend.joins_quarter_at_um);
            // R_b (1 − cos φ) = y.
            assert!(
                (bend.radius_um * (1.0 - joint.phi_rad.cos()) - joint.y_um).abs() < 1e-7,
                "{}",
                describe(&ribbon)
            );
            let opening_um = 30.0 + bend.length_um;
            let (before, after) = (ribbon.at(opening_um - 1e-9), ribbon.at(opening_um + 1e-9));
            assert!((before.point() - after.point()).hypot() < 1e-8, "{}", describe(&ribbon));
            assert!((before.phi_rad - after.phi_rad).abs() < 1e-8, "{}", describe(&ribbon));
            assert!((after.y_um - joint.y_um).abs() < 1e-8);
            assert!((before.kappa_per_um - 1.0 / bend.radius_um).abs() < 1e-15);
            assert!(ribbon.at(15.0).y_um == 0.0 && ribbon.at(15.0).phi_rad == 0.0);
            assert_eq!(ribbon.least_radius_um(), bend.radius_um.min(quarter.least_radius_um()));
        }
    }
}

#[test]
fn a_semicircle_starts_from_the_midline_with_a_sixth_of_a_turn() {
    // R_b = R: both circles touch where cos φ = 1/2, that is at half the height.
    let ribbon = ribbon(Family::Arc, 250.0, 1, Ends::Midline, 0.0);
    let bend = ribbon.end_bend().unwrap();
    assert!((bend.turn_rad - PI / 3.0).abs() < 1e-12);
    assert!((bend.joins_quarter_at_um - 250.0 * PI / 6.0).abs() < 1e-9);
    // The end lies R (√3 − 1) before the crossing.
    assert!((ribbon.span_um() - PITCH_UM - 500.0 * (3f64.sqrt() - 1.0)).abs() < 1e-9);
    let contour_um = 250.0 * (2.0 * PI + 2.0 * (PI / 3.0 - PI / 6.0));
    assert!((ribbon.contour_length_um() - contour_um).abs() < 1e-9);
}

#[test]
fn bounding_box_is_that_of_the_points() {
    for ribbon in usual_ribbons() {
        let bounds = ribbon.bounding_box_um();
        let points = ribbon.sample(1e-7 * PITCH_UM);
        let mut of_points = kurbo::Rect::from_points(points[0].point(), points[0].point());
        for point in &points {
            of_points = of_points.union_pt(point.point());
        }
        let off = |a: f64, b: f64| (a - b).abs() > 1e-3;
        assert!(
            !(off(bounds.x0, of_points.x0) || off(bounds.x1, of_points.x1)),
            "{} {bounds:?} {of_points:?}",
            describe(&ribbon)
        );
        assert!(!(off(bounds.y0, of_points.y0) || off(bounds.y1, of_points.y1)), "{}", describe(&ribbon));
        assert!((ribbon.height_um() - of_points.height()).abs() < 1e-3);
    }
}

/// Distance of `point` from the line through `a` and `b`, or from their common place.
fn distance_to_line(point: Point, a: Point, b: Point) -> f64 {
    let chord = b - a;
    if chord.hypot() == 0.0 { (point - a).hypot() } else { (chord.cross(point - a) / chord.hypot()).abs() }
}

#[test]
fn chords_of_centreline_and_edges_keep_to_the_tolerance() {
    for ribbon in usual_ribbons() {
        let half_um = 0.4 * (ribbon.clearance(1.0).unwrap().gap_um + 1.0);
        for tolerance_um in [10.0, 0.03] {
            for offset_um in [0.0, half_um, -half_um] {
                let points = ribbon.sample(tolerance_um);
                let edge = ribbon.edge_points(offset_um, tolerance_um).unwrap();
                if offset_um == 0.0 {
                    assert_eq!(points.len(), edge.len());
                }
                // Contour lengths are recovered from the nearest points of the centreline.
                let s_um: Vec<f64> = if offset_um == 0.0 {
                    points.iter().map(|point| point.s_um).collect()
                } else {
                    edge.iter().map(|point| ribbon.nearest(point.x, point.y).0.s_um).collect()
                };
                let mut largest_um = 0.0_f64;
                for (ends, s) in edge.windows(2).zip(s_um.windows(2)) {
                    for share in [0.25, 0.5, 0.75] {
                        let between = ribbon.at(s[0] + share * (s[1] - s[0])).offset_point(offset_um);
                        largest_um = largest_um.max(distance_to_line(between, ends[0], ends[1]));
                    }
                }
                assert!(
                    largest_um <= tolerance_um * (1.0 + 1e-6),
                    "{} {tolerance_um} {offset_um} {largest_um}",
                    describe(&ribbon)
                );
            }
        }
    }
}

#[test]
fn sampling_is_not_wasteful() {
    let ribbon = ribbon(Family::Arc, 250.0, 1, Ends::Crossing, 0.0);
    // A quarter circle of 250 µm with a sagitta of 0.1 µm: π/2 / (2 acos(1 − 0.0004)) = 27.8 chords.
    assert_eq!(ribbon.sample(0.1).len(), 4 * 28 + 1);
    // With a sine the greatest step of the whole would need three times as many.
    let sine = self::ribbon(Family::Sine, 600.0, 1, Ends::Crossing, 0.0);
    let greatest = sine.contour_length_um() / (8.0 * 0.1 * sine.least_radius_um()).sqrt();
    assert!((sine.sample(0.1).len() as f64) < greatest / 3.0);
}

#[test]
fn edges_lie_half_the_width_from_the_centreline() {
    for ribbon in usual_ribbons() {
        let half_um = 0.4 * (ribbon.clearance(1.0).unwrap().gap_um + 1.0);
        for offset_um in [half_um, -half_um] {
            let edge = ribbon.edge_points(offset_um, 1.0).unwrap();
            for point in &edge[1..edge.len() - 1] {
                let (_, offset) = ribbon.nearest(point.x, point.y);
                assert!((offset - offset_um).abs() < 1e-8, "{} {point:?} {offset}", describe(&ribbon));
            }
        }
    }
}

/// Whether two segments without a common end point meet.
fn cross(a: (Point, Point), b: (Point, Point)) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    (side(a.0, a.1, b.0) > 0.0) != (side(a.0, a.1, b.1) > 0.0)
        && (side(b.0, b.1, a.0) > 0.0) != (side(b.0, b.1, a.1) > 0.0)
}

#[test]
fn outline_is_closed_simple_and_as_large_as_width_times_length() {
    for ribbon in usual_ribbons() {
        let room_um = ribbon.clearance(1.0).unwrap().gap_um + 1.0;
        let width_um = 0.9 * room_um;
        let tolerance_um = 0.02 * room_um;
        let outline = ribbon.outline(width_um, tolerance_um).unwrap();
        let count = outline.len();
        let side = |index: usize| (outline[index], outline[(index + 1) % count]);
        for first in 0..count {
            for second in first + 2..count {
                let are_neighbours = first == 0 && second == count - 1;
                assert!(
                    are_neighbours || !cross(side(first), side(second)),
                    "{} {:?} {:?}",
                    describe(&ribbon),
                    side(first),
                    side(second)
                );
            }
        }
        // Forward along the left edge, so the polygon runs clockwise.
        let fine = ribbon.outline(width_um, 1e-4 * room_um).unwrap();
        let doubled: f64 = (0..fine.len())
            .map(|index| fine[index].to_vec2().cross(fine[(index + 1) % fine.len()].to_vec2()))
            .sum();
        let expected_um2 = width_um * ribbon.contour_length_um();
        assert!((-0.5 * doubled / expected_um2 - 1.0).abs() < 1e-3, "{} {doubled}", describe(&ribbon));
    }
}

fn path_is_within(path: &BezPath, ribbon: &Centreline, tolerance_um: f64) {
    let mut s_um: f64 = 0.0;
    for segment in path.segments() {
        for index in 0..=50 {
            let point = segment.eval(f64::from(index) / 50.0);
            let (foot, offset_um) = ribbon.nearest(point.x, point.y);
            assert!(
                offset_um.abs() <= tolerance_um * (1.0 + 1e-6),
                "{} {offset_um} {tolerance_um}",
                describe(ribbon)
            );
            s_um = s_um.max(foot.s_um);
        }
    }
    // The path covers the ribbon: points of the ribbon are near it.
    let segments: Vec<PathSeg> = path.segments().collect();
    for index in 0..=100 {
        let point = ribbon.at(ribbon.contour_length_um() * f64::from(index) / 100.0).point();
        let nearest = segments
            .iter()
            .map(|segment| segment.nearest(point, 1e-9).distance_sq)
            .fold(f64::INFINITY, f64::min);
        assert!(
            nearest.sqrt() <= tolerance_um * (1.0 + 1e-3) + 1e-6,
            "{} {}",
            describe(ribbon),
            nearest.sqrt()
        );
    }
}

#[test]
fn path_is_within_its_tolerance() {
    for ribbon in usual_ribbons() {
        for tolerance_um in [1.0, 1e-2, 1e-5] {
            let path = ribbon.to_path(tolerance_um);
            path_is_within(&path, &ribbon, tolerance_um);
            let bounds = path.bounding_box();
            assert!((bounds.height() - ribbon.height_um()).abs() < 2.0 * tolerance_um + 1e-6);
            assert!(path.elements().len() < 1200, "{} {}", describe(&ribbon), path.elements().len());
        }
    }
}

#[test]
fn nearest_is_the_least_over_all_points() {
    for ribbon in usual_ribbons() {
        let points = ribbon.sample(1e-3);
        let bounds = ribbon.bounding_box_um().inflate(700.0, 700.0);
        for column in 0..17 {
            for row in 0..9 {
                let point = Point::new(
                    bounds.x0 + bounds.width() * (f64::from(column) + 0.37) / 17.0,
                    bounds.y0 + bounds.height() * (f64::from(row) + 0.41) / 9.0,
                );
                let of_chords = points
                    .windows(2)
                    .map(|pair| {
                        kurbo::Line::new(pair[0].point(), pair[1].point()).nearest(point, 1e-9).distance_sq
                    })
                    .fold(f64::INFINITY, f64::min)
                    .sqrt();
                let (foot, offset_um) = ribbon.nearest(point.x, point.y);
                assert!(
                    (offset_um.abs() - of_chords).abs() < 2e-3,
                    "{} {point:?} {offset_um} {of_chords}",
                    describe(&ribbon)
                );
                assert!(((point - foot.point()).hypot() - offset_um.abs()).abs() < 1e-9);
                if foot.s_um > 1e-9 && foot.s_um < ribbon.contour_length_um() - 1e-9 {
                    assert!(
                        (foot.offset_point(offset_um) - point).hypot() < 1e-6,
                        "{} {point:?}",
                        describe(&ribbon)
                    );
                }
            }
        }
    }
}

#[test]
fn ten_thousand_periods_cost_no_more_than_one() {
    let ribbon = ribbon(Family::SineGenerated, 400.0, 10_000, Ends::Midline, 100.0);
    let middle = ribbon.at(0.5 * ribbon.contour_length_um());
    assert!((middle.x_um - 0.5 * ribbon.span_um()).abs() < 1e-6 && middle.y_um.abs() < 1e-6);
    // A scan of all periods would take hours here.
    for index in 0..5_000 {
        let x_um = ribbon.span_um() * f64::from(index) / 5_000.0;
        let (foot, offset_um) = ribbon.nearest(x_um, 100.0);
        assert!((foot.x_um - x_um).abs() < PITCH_UM && offset_um.abs() < 300.0);
        let _ = ribbon.at(foot.s_um);
    }
    assert_eq!(ribbon.jumps().take(3).count(), 3);
}

#[test]
fn jumps_of_one_period() {
    let arc = Quarter::new(Family::Arc, PITCH_UM, 250.0).unwrap();
    let jumps = arc.period_jumps();
    assert_eq!(jumps.len(), 2);
    assert!((jumps[0].before_per_um - 0.004).abs() < 1e-15 && (jumps[0].after_per_um + 0.004).abs() < 1e-15);
    assert!((jumps[1].s_um - 500.0 * FRAC_PI_2).abs() < 1e-9);
    let hairpin = Quarter::new(tilt(90.0), PITCH_UM, 600.0).unwrap();
    assert_eq!(hairpin.period_jumps().len(), 4);
    assert_eq!(Quarter::new(clothoid(0.4), PITCH_UM, 300.0).unwrap().period_jumps().len(), 0);
    assert_eq!(Quarter::new(Family::SineGenerated, PITCH_UM, 300.0).unwrap().period_jumps().len(), 0);
    // Lead, crest, two whole crossings in between, crest, lead.
    assert_eq!(ribbon(Family::Arc, 250.0, 1, Ends::Crest, 10.0).jumps().count(), 4);
    assert_eq!(ribbon(Family::Arc, 250.0, 2, Ends::Crossing, 10.0).jumps().count(), 5);
    assert_eq!(ribbon(clothoid(0.0), 250.0, 2, Ends::Crossing, 10.0).jumps().count(), 0);
}

#[test]
fn impossible_ribbons_say_what_is_possible() {
    let quarter = Quarter::new(radius(200.0), PITCH_UM, 300.0).unwrap();
    let make = |periods, lead_um, end_radius_um| {
        Centreline::new(quarter.clone(), periods, Ends::Midline, lead_um, end_radius_um)
    };
    for (error, field, nearest) in [
        (make(0, 0.0, None).unwrap_err(), "periods", Some(1.0)),
        (make(1, -3.0, None).unwrap_err(), "lead_um", Some(0.0)),
        (make(1, f64::NAN, None).unwrap_err(), "lead_um", None),
        (make(1, 0.0, Some(-1.0)).unwrap_err(), "end_radius_um", Some(1e-3)),
        (make(1, 0.0, Some(f64::INFINITY)).unwrap_err(), "end_radius_um", None),
    ] {
        assert_eq!((error.field(), error.nearest()), (field, nearest), "{error}");
    }
    let ribbon = make(2, 0.0, None).unwrap();
    let error = ribbon.outline(410.0, 0.1).unwrap_err();
    assert_eq!(
        error.to_string(),
        "bend radius 200 µm is no more than half the width of 410 µm; a width below 400 µm is possible"
    );
    assert_eq!(error.field(), "width_um");
    assert!(ribbon.outline(error.nearest().unwrap(), 0.1).is_ok());
    assert!(matches!(ribbon.edge_points(-250.0, 0.1), Err(ShapeError::FoldedEdge { .. })));
    assert!(matches!(ribbon.outline(f64::NAN, 0.1), Err(ShapeError::NotFinite { field: "width_um" })));
    assert!(matches!(ribbon.outline(0.0, 0.1), Err(ShapeError::OutOfRange { field: "width_um", .. })));

    let wide = self::ribbon(Family::Arc, 800.0, 2, Ends::Crossing, 0.0);
    let error = wide.outline(300.0, 0.1).unwrap_err();
    assert!(matches!(error, ShapeError::EdgesTouch { .. }), "{error}");
    assert!(wide.outline(error.nearest().unwrap(), 0.1).is_ok());
}

#[test]
fn a_lead_at_an_overhanging_tilt_stops_before_the_bends() {
    let quarter = Quarter::new(Family::Arc, PITCH_UM, 700.0).unwrap();
    let error = Centreline::new(quarter.clone(), 2, Ends::Crossing, 1000.0, None).unwrap_err();
    assert_eq!(error.field(), "lead_um");
    let lead_um = error.nearest().unwrap();
    assert!(lead_um > 100.0 && lead_um < 1000.0, "{error}");
    let longest = Centreline::new(quarter.clone(), 2, Ends::Crossing, lead_um, None).unwrap();
    // With a width the lead must be shorter still.
    let error = longest.outline(60.0, 0.1).unwrap_err();
    assert_eq!(error.field(), "lead_um");
    let shorter = Centreline::new(quarter, 2, Ends::Crossing, error.nearest().unwrap(), None).unwrap();
    assert!(shorter.outline(60.0, 0.1).is_ok());
    assert!(shorter.clearance(60.0).unwrap().gap_um > 0.0);
}

fn reflected(point: CurvePoint) -> Point {
    Point::new(point.x_um, -point.y_um)
}

proptest! {
    #[test]
    fn mirror_images_swap_edges(amplitude_um in 20.0..600.0f64, share in 0.0..1.0f64, offset in -0.9..0.9f64) {
        // Half a pitch on, the meander is its own mirror image.
        let ribbon = ribbon(clothoid(share), amplitude_um, 3, Ends::Crossing, 0.0);
        let offset_um = offset * ribbon.least_radius_um();
        let half_um = 2.0 * ribbon.quarter().length_um();
        for index in 0..20 {
            let s_um = half_um * f64::from(index) / 20.0;
            let (here, there) = (ribbon.at(s_um), ribbon.at(s_um + half_um));
            let shifted = reflected(here) + kurbo::Vec2::new(0.5 * PITCH_UM, 0.0);
            prop_assert!((shifted - there.point()).hypot() < 1e-9);
            let edge = here.offset_point(offset_um);
            let mirrored = Point::new(edge.x + 0.5 * PITCH_UM, -edge.y);
            prop_assert!((mirrored - there.offset_point(-offset_um)).hypot() < 1e-8);
        }
    }

    #[test]
    fn ribbons_scale(amplitude in 0.02..0.6f64, exponent in -4.0..4.0f64, lead in 0.0..0.3f64) {
        let factor = 10f64.powf(exponent);
        let make = |scale: f64| {
            let quarter = Quarter::new(Family::SineGenerated, scale, amplitude * scale).unwrap();
            Centreline::new(quarter, 2, Ends::Midline, lead * scale, None).unwrap()
        };
        let (unit, scaled) = (make(1.0), make(factor));
        prop_assert!((scaled.span_um() / (factor * unit.span_um()) - 1.0).abs() < 1e-12);
        prop_assert!((scaled.contour_length_um() / (factor * unit.contour_length_um()) - 1.0).abs() < 1e-12);
        prop_assert!((scaled.slack() - unit.slack()).abs() < 1e-11);
        let (point, of_scaled) = (unit.at(1.3), scaled.at(1.3 * factor));
        prop_assert!((of_scaled.x_um / factor - point.x_um).abs() < 1e-11);
        prop_assert!((of_scaled.kappa_per_um * factor - point.kappa_per_um).abs() < 1e-9);
        let gap = unit.clearance(1e-3).unwrap();
        let of_scaled = scaled.clearance(1e-3 * factor).unwrap();
        prop_assert!((of_scaled.gap_um / factor - gap.gap_um).abs() < 1e-9 && of_scaled.kind == gap.kind);
    }

    #[test]
    fn any_ribbon_is_whole_or_says_why_not(
        share in 0.0..1.0f64,
        which in 0..4usize,
        amplitude in -3.0..1.0f64,
        periods in 1..4u32,
        lead in 0.0..2.0f64,
        radius in -3.0..5.0f64,
        width in -4.0..1.0f64,
    ) {
        let family = [Family::Sine, Family::Arc, Family::SineGenerated, clothoid(share)][which];
        let Ok(quarter) = Quarter::new(family, PITCH_UM, PITCH_UM * 10f64.powf(amplitude)) else {
            return Ok(());
        };
        let width_um = PITCH_UM * 10f64.powf(width);
        for ends in [Ends::Crossing, Ends::Crest, Ends::Midline] {
            let end_radius_um = Some(PITCH_UM * 10f64.powf(radius));
            let lead_um = lead * PITCH_UM;
            let make = |lead_um| Centreline::new(quarter.clone(), periods, ends, lead_um, end_radius_um);
            let ribbon = match make(lead_um) {
                Ok(ribbon) => ribbon,
                Err(error) => {
                    prop_assert_eq!(error.field(), "lead_um");
                    make(error.nearest().unwrap()).unwrap()
                }
            };
            let end = ribbon.end();
            let scale_um = PITCH_UM.max(quarter.amplitude_um()).max(ribbon.span_um());
            prop_assert!((end.x_um - ribbon.span_um()).abs() < 1e-10 * scale_um);
            prop_assert!(ribbon.slack() > -1e-12 && ribbon.slack().is_finite());
            let opening_um = ribbon.lead_um() + ribbon.end_bend().map_or(0.0, |bend| bend.length_um);
            let step_um = 1e-9 * scale_um;
            let (before, after) = (ribbon.at(opening_um - step_um), ribbon.at(opening_um + step_um));
            prop_assert!((before.point() - after.point()).hypot() <= 2.1 * step_um);
            let most_turn = 2.1 * step_um / ribbon.least_radius_um() + 1e-7;
            prop_assert!((before.phi_rad - after.phi_rad).abs() < most_turn);
            // Correcting what is named, one thing after another, leads to a ribbon.
            let (mut ribbon, mut width_um) = (ribbon, width_um);
            for _ in 0..4 {
                let Err(error) = ribbon.check_width(width_um) else { break };
                match error.field() {
                    "width_um" => width_um = error.nearest().unwrap(),
                    "lead_um" => ribbon = make(error.nearest().unwrap()).unwrap(),
                    field => prop_assert!(false, "{} is not expected", field),
                }
            }
            prop_assert!(ribbon.check_width(width_um).is_ok(), "{:?}", ribbon.check_width(width_um));
        }
    }

    #[test]
    fn every_point_of_the_plane_has_its_foot(
        x_um in -1e5..1e5f64,
        y_um in -1e5..1e5f64,
        amplitude_um in 20.0..700.0f64,
    ) {
        let ribbon = ribbon(Family::Arc, amplitude_um, 5, Ends::Midline, 100.0);
        let (foot, offset_um) = ribbon.nearest(x_um, y_um);
        prop_assert!((Point::new(x_um, y_um) - foot.point()).hypot() - offset_um.abs() < 1e-6);
        // No point of a coarse polyline is closer.
        for point in ribbon.sample(5.0) {
            prop_assert!((Point::new(x_um, y_um) - point.point()).hypot() >= offset_um.abs() - 1e-6);
        }
    }
}
