//! The element against published values, through single beams.

#![allow(clippy::unreadable_literal, reason = "reference values as they were printed")]

use std::f64::consts::{PI, TAU};

use crate::{Beam, BeamEnd, BeamError, BeamPiece, BeamSolution, PointLoad, Strips};

/// A section of EI = 1 µN·µm² so thin that a beam of length 1 µm does not stretch.
fn thin() -> Strips {
    let width_um: f64 = 1e-4;
    Strips::new(&[(12.0 / width_um.powi(3), width_um)]).unwrap()
}

fn cantilever(elements: usize) -> Beam {
    Beam::new(vec![BeamPiece::straight(1.0)], thin(), 0.0, elements).unwrap()
}

fn tip_load(force_un: [f64; 2]) -> BeamEnd {
    BeamEnd::Loaded { force_un, moment_un_um: 0.0 }
}

/// K. Mattiasson, Numerical results from large deflection beam and frame problems analysed by means of elliptic
/// integrals, 1981: cantilever with a transverse tip load, PL²/EI, tip shortening, deflection and rotation.
#[test]
fn cantilever_under_a_tip_load() {
    let table = [
        (0.2, 0.0026465, 0.0663645, 0.0996362),
        (1.0, 0.0564332, 0.3017208, 0.4613519),
        (5.0, 0.3876284, 0.7137915, 1.2153681),
        (10.0, 0.5549956, 0.810609, 1.4302855),
    ];
    for (load, shortening, deflection, rotation) in table {
        let solution = cantilever(8).solve(tip_load([0.0, load]), None, None).unwrap();
        assert!((1.0 - solution.end_um[0] - shortening).abs() < 2e-7, "{load}: {solution:?}");
        assert!((solution.end_um[1] - deflection).abs() < 2e-7, "{load}: {solution:?}");
        assert!((solution.end_angle_rad - rotation).abs() < 2e-7, "{load}: {solution:?}");
        // The clamp carries the load times its lever.
        let lever = load * solution.end_um[0];
        assert!((solution.clamp_moment_un_um / lever - 1.0).abs() < 1e-9);
    }
}

#[test]
fn an_end_moment_rolls_the_cantilever_up() {
    let end = BeamEnd::Loaded { force_un: [0.0; 2], moment_un_um: TAU };
    let solution = cantilever(4).solve(end, None, None).unwrap();
    assert!(solution.end_um[0].abs() < 1e-9 && solution.end_um[1].abs() < 1e-9, "{solution:?}");
    assert!((solution.end_angle_rad - TAU).abs() < 1e-9);
}

/// The elastica of a cantilever column (S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 1961): load over the
/// critical one, height and offset of the tip at a tip angle of 60°.
#[test]
fn a_column_buckles_into_the_elastica() {
    let critical = PI * PI / 4.0;
    let beam = cantilever(8);
    let load = 1.15172 * critical;
    let pushed = beam.solve(tip_load([-load, 1.0]), None, None).unwrap();
    let buckled = beam.solve(tip_load([-load, 0.0]), None, Some(&pushed)).unwrap();
    assert!((buckled.end_angle_rad - PI / 3.0).abs() < 1e-4, "{buckled:?}");
    assert!((buckled.end_um[0] - 0.74102).abs() < 1e-4 && (buckled.end_um[1] - 0.593208).abs() < 1e-4);
    assert!(buckled.is_stable);
    // Straight it stands too, but the pivots tell that it is about to fall.
    let straight = beam.solve(tip_load([-load, 0.0]), None, None).unwrap();
    assert!(straight.end_um[1].abs() < 1e-9 && !straight.is_stable);
    let below = beam.solve(tip_load([-0.999 * critical, 0.0]), None, None).unwrap();
    assert!(below.is_stable);
}

/// D. A. `DaDeppo`, R. Schmidt, Instability of clamped-hinged circular arches subjected to a point load, 1975: an arch of
/// 215° with a vertical load at the crown carries at most 8.97 EI/R². By shooting it is 8.9729, at a crown deflection of
/// 1.136 R.
#[test]
fn the_clamped_hinged_arch_has_its_greatest_load() {
    let half = 107.5_f64.to_radians();
    let pieces = vec![BeamPiece::arc(half, -1.0); 2];
    let width_um: f64 = 1e-3;
    let strips = Strips::new(&[(12.0 / width_um.powi(3), width_um)]).unwrap();
    let beam = Beam::new(pieces, strips, half, 6).unwrap();
    let end = BeamEnd::Hinged { at_um: [2.0 * half.sin(), 0.0] };
    let mut greatest: f64 = 0.0;
    let mut last: Option<BeamSolution> = None;
    for step in 1..=75 {
        let distance_um = 0.016 * f64::from(step);
        let point = PointLoad { after_pieces: 1, direction_rad: -PI / 2.0, distance_um };
        let solution = beam.solve(end, Some(point), last.as_ref()).unwrap();
        greatest = greatest.max(solution.point_load_un);
        last = Some(solution);
    }
    assert!((greatest - 8.9729).abs() < 2e-4, "{greatest}");
    assert!(last.unwrap().point_load_un < greatest - 0.01, "the load falls behind the limit");
}

/// Pure bending of a curved bar (S. P. Timoshenko, J. N. Goodier, Theory of Elasticity): edge stress times a²/M for outer
/// over inner radius 2, plane sections.
#[test]
fn a_curved_bar_strains_more_inside() {
    let (inner, outer): (f64, f64) = (1.0, 2.0);
    let radius = 0.5 * (inner + outer);
    // E t = 1 µN/µm, so strain is stress.
    let strips = Strips::new(&[(1.0, outer - inner)]).unwrap();
    let beam = Beam::new(vec![BeamPiece::arc(1.0, 1.0 / radius)], strips, 0.0, 4).unwrap();
    let moment_un_um = -1e-3;
    let end = BeamEnd::Loaded { force_un: [0.0; 2], moment_un_um };
    let solution = beam.solve(end, None, None).unwrap();
    // The bar turns left, so the left edge is the inner one; the moment opens it.
    let [left, right] = solution.clamp_strain.map(|strain| strain / -moment_un_um);
    assert!((left - 7.7252).abs() < 1e-3 && (right + 4.8626).abs() < 1e-3, "{left} {right}");
}

#[test]
fn a_clamped_end_takes_force_and_moment() {
    // A straight beam whose end is pushed aside without turning: 12 EI/L³ and 6 EI/L² for small ways.
    let beam = Beam::new(vec![BeamPiece::straight(1.0)], Strips::homogeneous(0.01).unwrap(), 0.0, 4).unwrap();
    let (way, ei) = (1e-5, beam.strips().ei_un_um2());
    let end = BeamEnd::Clamped { at_um: [1.0, way], turn_rad: 0.0 };
    let solution = beam.solve(end, None, None).unwrap();
    assert!((solution.end_force_un[1] / (12.0 * ei * way) - 1.0).abs() < 1e-5, "{solution:?}");
    assert!((solution.clamp_moment_un_um / (6.0 * ei * way) - 1.0).abs() < 1e-5, "{solution:?}");
}

#[test]
fn impossible_beams_are_refused() {
    let strips = Strips::homogeneous(1.0).unwrap();
    assert_eq!(Beam::new(vec![], strips, 0.0, 4).unwrap_err(), BeamError::Empty);
    let bent = Beam::new(vec![BeamPiece::arc(1.0, 2.5)], strips, 0.0, 4);
    assert!(matches!(bent, Err(BeamError::WiderThanBend { .. })));
    let beam = cantilever(4);
    assert_eq!(beam.solve(tip_load([f64::NAN, 0.0]), None, None).unwrap_err(), BeamError::BadLoad);
    let point = PointLoad { after_pieces: 1, direction_rad: 0.0, distance_um: 0.1 };
    let missed = beam.solve(tip_load([0.0; 2]), Some(point), None);
    assert!(matches!(missed, Err(BeamError::BadPoint { .. })));
}
