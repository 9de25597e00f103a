//! One part of the method against another, and laws of modes.

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};

use super::Symmetry;
use crate::{
    EndMotion, Onset, OnsetError, OnsetEstimate, OnsetProblem, OutOfPlane, RibbonProblem, RibbonSolver,
    SecondVariation, SectionLaw, Strips, onset,
};

fn line(family: Family, amplitude_um: f64, periods: u32, ends: Ends, lead_um: f64) -> Centreline {
    let quarter = Quarter::new(family, 100.0, amplitude_um).unwrap();
    Centreline::new(quarter, periods, ends, lead_um, None).unwrap()
}

/// A strip 4 µm wide of 1 GPa.
fn section(thickness_um: f64) -> (Strips, OutOfPlane) {
    let strips = Strips::new(&[(1000.0 * thickness_um, 4.0)]).unwrap();
    (strips, OutOfPlane::homogeneous(4.0, thickness_um, 1000.0, 0.3).unwrap())
}

fn find(line: &Centreline, thickness_um: f64, foundation_mpa: f64, up_to: EndMotion) -> Option<Onset> {
    let (strips, out) = section(thickness_um);
    let problem = OnsetProblem { line, strips: &strips, out: &out, foundation_mpa, up_to };
    onset(&mut RibbonSolver::new(), &problem).unwrap()
}

#[test]
fn halves_give_the_modes_of_the_whole() {
    for (ends, lead_um) in [(Ends::Crossing, 0.0), (Ends::Midline, 20.0), (Ends::Crest, 15.0)] {
        for periods in [1, 2] {
            let line = line(Family::SineGenerated, 30.0, periods, ends, lead_um);
            let halves = find(&line, 0.5, 0.0, EndMotion::stretch(0.2)).unwrap();
            // A hair's breadth to the side takes the symmetry away.
            let aside = EndMotion { stretch: 0.2, sideways_um: 1e-7, turn_rad: 0.0 };
            let whole = find(&line, 0.5, 0.0, aside).unwrap();
            assert_eq!(whole.symmetry, Symmetry::Mixed);
            assert_ne!(halves.symmetry, Symmetry::Mixed);
            let what = format!("{ends:?} {periods}");
            assert!((halves.stretch / whole.stretch - 1.0).abs() < 5e-6, "{what}");
            let (second, _) = halves.next.unwrap();
            assert!((second / whole.next.unwrap().0 - 1.0).abs() < 5e-6, "{what}");
            // The same mode but for its sign.
            let share = 0.31 * line.contour_length_um();
            let (a, b) = (halves.mode.at(share), whole.mode.at(share));
            let sign = (a.v_um * b.v_um).signum();
            assert!((a.alpha_rad - sign * b.alpha_rad).abs() < 1e-3, "{what}: {a:?} {b:?}");
            assert!((a.beta_rad - sign * b.beta_rad).abs() < 1e-3, "{what}: {a:?} {b:?}");
        }
    }
}

#[test]
fn the_mode_is_consistent() {
    let line = line(Family::Arc, 30.0, 2, Ends::Crossing, 10.0);
    let found = find(&line, 0.4, 0.0, EndMotion::stretch(0.2)).unwrap();
    let length_um = line.contour_length_um();
    for s_um in [0.0, length_um] {
        let end = found.mode.at(s_um);
        assert!(end.v_um.abs() < 1e-9 && end.alpha_rad.abs() < 1e-12 && end.beta_rad.abs() < 1e-12);
    }
    for share in [0.1, 0.37, 0.62, 0.9] {
        let (s_um, step_um) = (share * length_um, 1e-3);
        let slope =
            (found.mode.at(s_um + step_um).v_um - found.mode.at(s_um - step_um).v_um) / (2.0 * step_um);
        let beta = found.mode.at(s_um).beta_rad;
        let stretched = 1.0 + found.planar.at(s_um).axial_strain;
        assert!((slope + stretched * beta).abs() < 2e-3, "{share}: {slope} {beta}");
        let sign = if found.symmetry == Symmetry::Odd { -1.0 } else { 1.0 };
        let there = found.mode.at(length_um - s_um);
        assert!((found.mode.at(s_um).v_um - sign * there.v_um).abs() < 1e-9);
    }
    let largest = found.mode.points().iter().map(|p| p.alpha_rad.hypot(p.beta_rad)).fold(0.0, f64::max);
    assert!((largest - 1.0).abs() < 1e-12);
}

#[test]
fn modes_at_onset_and_beyond() {
    let line = line(Family::Arc, 25.0, 1, Ends::Crossing, 0.0);
    let (strips, out) = section(0.4);
    let found = find(&line, 0.4, 0.0, EndMotion::stretch(0.2)).unwrap();
    let modes = SecondVariation::of(&found.planar, &out, 0.0, 2).unwrap().lowest_modes(5).unwrap();
    assert!(modes.windows(2).all(|pair| pair[0].eigenvalue_un <= pair[1].eigenvalue_un));
    assert!(modes[0].eigenvalue_un.abs() < 1e-3 * modes[1].eigenvalue_un);
    let (a, b) = (found.mode.at(50.0), modes[0].at(50.0));
    assert!((a.v_um.abs() / b.v_um.abs() - 1.0).abs() < 1e-3, "{a:?} {b:?}");
    let motion = EndMotion::stretch(3.0 * found.stretch);
    let flat =
        RibbonSolver::new().solve(&RibbonProblem { line: &line, strips: &strips, motion }, None).unwrap();
    let form = SecondVariation::of(&flat, &out, 0.0, 2).unwrap();
    let count = form.negative_modes();
    assert!(count >= 2);
    let lower = form.lowest_modes(count + 1).unwrap();
    assert_eq!(lower.iter().filter(|mode| mode.eigenvalue_un < 0.0).count(), count);
}

#[test]
fn negative_modes_far_beyond_onset_meet_the_reference() {
    // Semicircles of 5 µm by 1 µm polyimide: 2, 7 and 13 unstable modes at 10, 20 and 30 %.
    let line = line(Family::Arc, 25.0, 1, Ends::Crossing, 0.0);
    let strips = Strips::new(&[(2500.0, 5.0)]).unwrap();
    let out = OutOfPlane::homogeneous(5.0, 1.0, 2500.0, 0.34).unwrap().with_law(SectionLaw::Rod);
    let mut solver = RibbonSolver::new();
    for (stretch, expected) in [(0.05, 0), (0.1, 2), (0.2, 7), (0.3, 13)] {
        let motion = EndMotion::stretch(stretch);
        let flat = solver.solve(&RibbonProblem { line: &line, strips: &strips, motion }, None).unwrap();
        assert_eq!(SecondVariation::of(&flat, &out, 0.0, 4).unwrap().negative_modes(), expected, "{stretch}");
    }
}

#[test]
fn hairpins_exchange_their_first_modes() {
    // Even and odd modes of a single hairpin change places as it grows longer, as reported for strips of straight and
    // circular parts by Shi, Huang, Yu and Li, arXiv 2408.05415 (2024); the numbers are this project's own.
    let cases = [
        (0.3, 1.913, 2.568, Symmetry::Odd),
        (0.5, 2.602, 3.312, Symmetry::Odd),
        (0.75, 3.602, 3.790, Symmetry::Odd),
        (1.0, 4.045, 4.652, Symmetry::Even),
    ];
    let strips = Strips::new(&[(0.1, 2.0)]).unwrap();
    let out = OutOfPlane::homogeneous(2.0, 0.1, 1.0, 0.3).unwrap().with_law(SectionLaw::Rod);
    let family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 25.0 });
    for (amplitude, first, second, symmetry) in cases {
        let line = line(family, 100.0 * amplitude, 1, Ends::Crossing, 0.0);
        let up_to = EndMotion::stretch(0.1);
        let problem = OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to };
        let found = onset(&mut RibbonSolver::new(), &problem).unwrap().unwrap();
        assert!((found.stretch * 400.0 / first - 1.0).abs() < 3e-3, "{amplitude}: {}", found.stretch * 400.0);
        assert_eq!(found.symmetry, symmetry, "{amplitude}");
        let (next, _) = found.next.unwrap();
        assert!((next * 400.0 / second - 1.0).abs() < 3e-3, "{amplitude}: second {}", next * 400.0);
    }
}

#[test]
fn the_constant_of_onset_has_the_tabulated_values() {
    // Onset times (w/t)² for crossing ends and ν = 0.3, n = 1, 2, 4, 8, by the spatial computation.
    let table: [(Family, f64, [f64; 4]); 6] = [
        (Family::Arc, 10.0, [1.30, 0.76, 0.83, 0.92]),
        (Family::Arc, 30.0, [1.92, 1.00, 1.17, 1.27]),
        (Family::Sine, 30.0, [1.72, 0.86, 1.01, 1.10]),
        (Family::SineGenerated, 50.0, [2.62, 1.12, 1.24, 1.26]),
        (Family::SineGenerated, 100.0, [4.79, 1.65, 1.44, 1.27]),
        (Family::Sine, 50.0, [2.29, 0.96, 1.08, 1.10]),
    ];
    let mut solver = RibbonSolver::new();
    for (family, amplitude_um, expected) in table {
        for (periods, expected) in [1, 2, 4, 8].into_iter().zip(expected) {
            let line = line(family, amplitude_um, periods, Ends::Crossing, 0.0);
            let found = OnsetEstimate::new(&mut solver, &line, 3.0, 0.3).unwrap().unwrap();
            assert!(
                (found.c / expected - 1.0).abs() < 0.04,
                "{family:?} {amplitude_um} {periods}: {}",
                found.c
            );
        }
    }
}

#[test]
fn a_bed_holds_the_ribbon_down() {
    let line = line(Family::Arc, 25.0, 2, Ends::Crossing, 0.0);
    let mut last = 0.0;
    for foundation_mpa in [0.0, 1e-4, 1e-3, 1e-2] {
        let stretch = find(&line, 0.4, foundation_mpa, EndMotion::stretch(0.4)).unwrap().stretch;
        assert!(stretch > last, "{foundation_mpa}: {stretch}");
        last = stretch;
    }
    assert!(find(&line, 0.4, 100.0, EndMotion::stretch(0.2)).is_none());
}

#[test]
fn a_pushed_ribbon_leaves_its_plane_too() {
    let line = line(Family::Arc, 25.0, 2, Ends::Crossing, 0.0);
    let found = find(&line, 0.2, 0.0, EndMotion::stretch(-0.2)).unwrap();
    assert!(found.stretch < 0.0 && found.stretch > -0.05, "{}", found.stretch);
    assert!(found.planar.force_un[0] < 0.0);
}

#[test]
fn a_thick_ribbon_never_buckles() {
    let line = line(Family::Arc, 25.0, 2, Ends::Crossing, 0.0);
    assert!(find(&line, 4.0, 0.0, EndMotion::stretch(0.3)).is_none());
}

#[test]
fn impossible_searches_are_refused() {
    let line = line(Family::Arc, 25.0, 1, Ends::Crossing, 0.0);
    let (strips, out) = section(0.4);
    let refused = |foundation_mpa: f64, up_to: EndMotion| {
        let problem = OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa, up_to };
        onset(&mut RibbonSolver::new(), &problem).unwrap_err()
    };
    assert!(matches!(refused(0.0, EndMotion::default()), OnsetError::BadRange { .. }));
    assert!(matches!(refused(-1.0, EndMotion::stretch(0.1)), OnsetError::BadFoundation { .. }));
}
