//! Closed forms of straight strips.

use std::f64::consts::PI;

use crate::{EndSupport, FlatPoint, OutOfPlane, SecondVariation, SectionLaw};

/// A strip of unit stiffness out of the plane and length 1.
fn unit_section() -> OutOfPlane {
    OutOfPlane {
        bending_un_um2: 1.0,
        torsion_un_um2: 1.0,
        poisson: 0.3,
        bottom_um: -0.005,
        top_um: 0.005,
        law: SectionLaw::Rod,
    }
}

fn form(
    elements: usize,
    foundation_mpa: f64,
    ends: [EndSupport; 2],
    at: impl Fn(f64) -> FlatPoint,
) -> SecondVariation {
    SecondVariation::strip(1.0, 0.1, elements, &unit_section(), foundation_mpa, ends, at).unwrap()
}

/// The load between two at which the flat state loses its stability.
fn critical(mut low: f64, mut high: f64, modes: impl Fn(f64) -> usize) -> f64 {
    assert!(modes(low) == 0 && modes(high) > 0);
    for _ in 0..45 {
        let middle = 0.5 * (low + high);
        if modes(middle) == 0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[test]
fn uniform_moment_between_forks() {
    let load = critical(1.0, 5.0, |moment_un_um| {
        let at = |_| FlatPoint { moment_un_um, ..FlatPoint::default() };
        form(4, 0.0, [EndSupport::FORKED; 2], at).negative_modes()
    });
    assert!((load / PI - 1.0).abs() < 1e-7, "{load}");
    // With the curvature that the moment makes, EI_in = 4: π/√((1 − EI_out/EI_in)(1 − GJ/EI_in)), Michell 1899.
    let load = critical(1.0, 8.0, |moment_un_um| {
        let at =
            |_| FlatPoint { moment_un_um, curvature_per_um: 0.25 * moment_un_um, ..FlatPoint::default() };
        form(4, 0.0, [EndSupport::FORKED; 2], at).negative_modes()
    });
    assert!((load / (PI / 0.75) - 1.0).abs() < 1e-6, "{load}");
}

#[test]
fn cantilever_with_a_tip_load() {
    let load = critical(1.0, 8.0, |load| {
        let at = |s: f64| FlatPoint { moment_un_um: load * (1.0 - s), ..FlatPoint::default() };
        form(6, 0.0, [EndSupport::CLAMPED, EndSupport::FREE], at).negative_modes()
    });
    assert!((load / 4.012_599_35 - 1.0).abs() < 1e-6, "{load}");
}

#[test]
fn load_at_mid_span_between_forks() {
    let load = critical(5.0, 30.0, |load| {
        let at = |s: f64| FlatPoint { moment_un_um: 0.5 * load * s.min(1.0 - s), ..FlatPoint::default() };
        form(6, 0.0, [EndSupport::FORKED; 2], at).negative_modes()
    });
    assert!((load / 16.936_142 - 1.0).abs() < 1e-6, "{load}");
}

#[test]
fn column_and_column_on_an_elastic_bed() {
    let push = |elements: usize, foundation_mpa: f64, ends: [EndSupport; 2]| {
        critical(0.5, 4000.0, |load| {
            let at = |_| FlatPoint { normal_un: -load, ..FlatPoint::default() };
            form(elements, foundation_mpa, ends, at).negative_modes()
        })
    };
    // Euler's columns.
    assert!((push(4, 0.0, [EndSupport::FORKED; 2]) / (PI * PI) - 1.0).abs() < 1e-7);
    assert!((push(6, 0.0, [EndSupport::CLAMPED; 2]) / (4.0 * PI * PI) - 1.0).abs() < 1e-7);
    let flag = push(4, 0.0, [EndSupport::CLAMPED, EndSupport::FREE]);
    assert!((flag / (0.25 * PI * PI) - 1.0).abs() < 1e-7, "{flag}");
    // Five half waves on a bed with k = (5π)⁴: the load is the least possible, 2 √(k EI) (Timoshenko and Gere).
    let foundation = (5.0 * PI).powi(4);
    let bedded = push(20, foundation, [EndSupport::FORKED; 2]);
    assert!((bedded / (2.0 * foundation.sqrt()) - 1.0).abs() < 1e-6, "{bedded}");
}

#[test]
fn modes_of_a_column_are_sines() {
    let at = |_| FlatPoint { normal_un: -30.0, ..FlatPoint::default() };
    let form = form(8, 0.0, [EndSupport::FORKED; 2], at);
    assert_eq!(form.negative_modes(), 1);
    let modes = form.lowest_modes(4).unwrap();
    // A column β ∝ cos(mπs) has (mπ)² − 30, a twist sin(mπs) has (mπ)².
    let exact = [PI * PI - 30.0, 4.0 * PI * PI - 30.0, PI * PI, 4.0 * PI * PI];
    for (mode, exact) in modes.iter().zip(exact) {
        assert!((mode.eigenvalue_un - exact).abs() < 1e-6, "{} {exact}", mode.eigenvalue_un);
    }
    let middle = modes[0].at(0.5);
    assert!((middle.v_um - 1.0 / PI).abs() < 1e-6 && middle.beta_rad.abs() < 1e-6);
    assert!((modes[2].at(0.3).alpha_rad.abs() - (0.3 * PI).sin()).abs() < 1e-5);
}
