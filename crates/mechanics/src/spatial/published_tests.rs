//! Published cases of rods in space.

use super::law::Section;
use super::newton::{Newton, Task};
use super::rod::{CLAMPED, Pose, Rod, Target};
use super::system::Motion;
use super::vector::{Quat, Vec3, about_z, product, scale, unit};

fn plain(ea: f64, gj: f64, ei_out: f64) -> Section {
    Section { ea, gj, ei_out, nu: 0.0, a: 0.0, c: 0.0, wagner: 0.0, curl: 0.0 }
}

/// A rod of constant rest curvature from the tangent angle 0.
fn arc(section: Section, ei_in: f64, length: f64, kappa: f64, elements: u32) -> Rod {
    let mut builder = Rod::builder(section, move |_| ei_in);
    let step = length / f64::from(elements);
    for i in 0..elements {
        let at = |share: f64| about_z(kappa * step * (f64::from(i) + share));
        builder.push(step, [at(0.0), at(0.5), at(1.0)], [kappa; 3]);
    }
    builder.finish()
}

fn positions_end(rod: &Rod, pose: &Pose) -> Vec3 {
    scale(rod.value(pose).1, -1.0)
}

/// Bathe and Bolourchi, Int. J. Numer. Meth. Eng. 14 (1979) 961: a 45° bend with a dead load at its tip.
#[test]
fn bend_of_45_degrees_under_a_tip_load() {
    let e = 1e7;
    let section = plain(e, 0.5 * e / 6.0, e / 12.0);
    let mut rod = arc(section, e / 12.0, 25.0 * std::f64::consts::PI, 0.01, 16);
    rod.held[1] = [false; 3];
    rod.is_force_given = true;
    let mut newton = Newton::default();
    let mut pose = Pose { frames: rod.rest.clone(), force: [0.0; 3] };
    let target = Target { chord: [0.0; 3], end: rod.rest[0] };
    for (load, tip) in [
        (300.0, [22.2453, 58.7802, 40.1894]),
        (450.0, [18.5087, 52.24, 48.5001]),
        (600.0, [15.6854, 47.1522, 53.4718]),
    ] {
        pose.force = [0.0, 0.0, load];
        let outcome = newton.solve(&rod, &target, &mut pose, Task::STABLE);
        assert!(outcome.is_converged && outcome.unstable == 0, "{outcome:?}");
        let end = positions_end(&rod, &pose);
        // Along the start tangent x, towards the centre y, along the load z.
        for (ours, theirs) in [end[1], end[0], end[2]].into_iter().zip(tip) {
            assert!((ours / theirs - 1.0).abs() < 1e-4, "{load}: {end:?} {tip:?}");
        }
    }
}

/// Love, Mathematical Theory of Elasticity (1927), art. 270: a straight rod held as a helix pushes along its axis.
#[test]
fn straight_rod_held_as_a_helix() {
    let (radius, pitch, twist): (f64, f64, f64) = (1.0, 0.5, 0.3);
    let (kappa, tau) = (pitch.cos().powi(2) / radius, pitch.sin() * pitch.cos() / radius);
    let rate = (kappa * kappa + tau * tau).sqrt();
    let turns = 1.5;
    let length = turns * 2.0 * std::f64::consts::PI / rate;
    let elements = 48;
    let section = plain(1e8, 0.7, 1.0);
    let mut rod = arc(section, 1.0, length, 0.0, elements);
    // The Frenet frame turns about the axis z; the section turns about the tangent by (twist − τ) s more.
    let start = [[0.0, pitch.cos(), pitch.sin()], [-1.0, 0.0, 0.0], [0.0, -pitch.sin(), pitch.cos()]];
    let first = from_axes(start);
    let frames: Vec<Quat> = (0..=2 * elements)
        .map(|i| {
            let s = length * f64::from(i) / f64::from(2 * elements);
            let extra = (twist - tau) * s;
            let (sin, cos) = (0.5 * extra).sin_cos();
            product(product(about_z(rate * s), first), [cos, sin, 0.0, 0.0])
        })
        .collect();
    rod.held = [CLAMPED; 2];
    let end = frames[frames.len() - 1];
    let angle = rate * length;
    let chord = [angle.cos() - 1.0, angle.sin(), length * pitch.sin()];
    let mut pose = Pose { frames, force: [0.0; 3] };
    let mut newton = Newton::default();
    let task = Task { seeks_stable: false, ..Task::STABLE };
    let outcome = newton.solve(&rod, &Target { chord, end }, &mut pose, task);
    assert!(outcome.is_converged, "{outcome:?}");
    let expected = rate * (0.7 * twist - tau);
    assert!((pose.force[2] / expected - 1.0).abs() < 1e-5, "{:?} {expected}", pose.force);
    assert!((expected + 0.184_937_8).abs() < 1e-6);
}

/// The unit quaternion that turns x, y, z into the given axes.
fn from_axes(axes: [Vec3; 3]) -> Quat {
    let [t, n, b] = axes;
    let w = (1.0 + t[0] + n[1] + b[2]).max(0.0).sqrt();
    if w > 1e-3 {
        return unit([w * w, n[2] - b[1], b[0] - t[2], t[1] - n[0]]);
    }
    unit([n[2] - b[1], 1.0 + t[0] - n[1] - b[2], n[0] + t[1], b[0] + t[2]])
}

/// Michell 1889; Zajac, J. Appl. Mech. 29 (1962) 136: a ring twisted by 2π √3 EI/GJ leaves its plane.
#[test]
fn twisted_ring_leaves_its_plane() {
    for ratio in [1.0, 0.8] {
        let elements = 24;
        let radius = 1.0;
        let length = 2.0 * std::f64::consts::PI * radius;
        let section = plain(1e7, ratio, 1.0);
        let rod = arc(section, 1.0, length, 0.0, elements);
        let critical = 2.0 * std::f64::consts::PI * 3.0_f64.sqrt() / ratio;
        let unstable = |twist: f64| {
            let frames: Vec<Quat> = (0..=2 * elements)
                .map(|i| {
                    let share = f64::from(i) / f64::from(2 * elements);
                    let (sin, cos) = (0.5 * twist * share).sin_cos();
                    product(about_z(2.0 * std::f64::consts::PI * share), [cos, sin, 0.0, 0.0])
                })
                .collect();
            let end = frames[frames.len() - 1];
            let mut pose = Pose { frames, force: [0.0; 3] };
            let mut newton = Newton::default();
            let task = Task { seeks_stable: false, ..Task::STABLE };
            let target = Target { chord: [0.0; 3], end };
            let outcome = newton.solve(&rod, &target, &mut pose, task);
            assert!(outcome.is_converged, "{twist} {outcome:?}");
            outcome.unstable
        };
        // One rotation about the tangent at the clamp is neutral: its pivot is rounding and may have either sign.
        let (below, above) = (unstable(critical * 0.9985), unstable(critical * 1.0015));
        assert!(below <= 1 && (2..=3).contains(&above), "{ratio}: {below} {above}");
    }
}

/// Prandtl 1899; Michell 1899: a narrow cantilever buckles sideways at 4.0126 √(EI GJ)/L².
#[test]
fn narrow_cantilever_buckles_sideways() {
    let mut rod = arc(plain(1e9, 1.0, 1.0), 1e8, 1.0, 0.0, 16);
    rod.held[1] = [false; 3];
    rod.is_force_given = true;
    let unstable = |load: f64| {
        let mut pose = Pose { frames: rod.rest.clone(), force: [0.0, load, 0.0] };
        let mut newton = Newton::default();
        let target = Target { chord: [0.0; 3], end: rod.rest[0] };
        let outcome = newton.solve(&rod, &target, &mut pose, Task::PLANE);
        assert!(outcome.is_converged);
        newton.system.assemble(&rod, &pose, target.chord, Motion::Space);
        newton.system.factor(0.0);
        newton.system.unstable()
    };
    assert_eq!((unstable(4.0126 * 0.9995), unstable(4.0126 * 1.0005)), (0, 1));
    assert_eq!(unstable(-4.0126 * 1.0005), 1);
}
