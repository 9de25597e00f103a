//! Extremes, notes and faults of wraps.

#![allow(clippy::unwrap_used, clippy::unreadable_literal, reason = "reference values as they were printed")]

use super::{ContactFace, LeastRadius, PlyLimit, Wrap, WrapError};
use crate::{ModulusKind, Ply};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Films of 10 and 100 nm and interlayers of 10 and 50 kPa: 9 orders between the modes, against 60 digits.
#[test]
fn modes_far_apart_keep_their_digits() {
    let plies = [
        Ply::new("nitride", 0.01, 230_000.0, 0.25),
        Ply::new("gel", 500.0, 0.01, 0.49),
        Ply::new("polyimide", 10.0, 2500.0, 0.34),
        Ply::new("gel", 3.0, 0.05, 0.49),
        Ply::new("gold", 0.1, 78_000.0, 0.42),
    ];
    let wrap = Wrap::new(&plies, ModulusKind::Beam, 20_000.0).unwrap();
    let near = |value: f64, expected: f64, tolerance: f64| {
        assert!((value / expected - 1.0).abs() < tolerance, "{value} {expected}");
    };
    let close = |value, expected| near(value, expected, 1e-12);
    close(wrap.neutral_plane_um(), 473.6756936375432);
    close(wrap.decay_length_um(), 17901.63417930437);
    let strains_um = [
        -65.3743390085057,
        -65.364339008665,
        -2.2953869903458,
        7.70459350647396,
        10.578484148375,
        10.678484147091,
    ];
    for (value, expected) in wrap.unit_mid_um().iter().zip(strains_um) {
        close(*value, expected);
    }
    let shears_um =
        [-0.00473211881561997, -9196.30259145935, -4.77107376785669, -3148.01002411427, -0.0496099445062181];
    for (value, expected) in wrap.unit_end_shear_um().iter().zip(shears_um) {
        near(*value, expected, 1e-10);
    }
}

fn notes(plies: &[(f64, f64)], length_um: f64, radius_um: f64) -> Vec<String> {
    let plies: Vec<Ply> = plies.iter().map(|&(thick, stiff)| Ply::new("ply", thick, stiff, 0.3)).collect();
    let wrap = Wrap::new(&plies, ModulusKind::Beam, length_um).unwrap();
    let wrapped = wrap.at(radius_um, ContactFace::Bottom).unwrap();
    wrapped.notes.iter().map(ToString::to_string).collect()
}

#[test]
fn notes_tell_what_is_passed() {
    let none: [&str; 0] = [];
    assert_eq!(notes(&[(25.0, 2500.0), (1.0, 230_000.0)], 5000.0, 2000.0), none);
    assert_eq!(notes(&[(5.0, 4000.0), (1.2, 16_000.0), (2.0, 4000.0)], 1000.0, 300.0), none);
    assert_eq!(notes(&[(500.0, 1.8), (5.0, 4000.0), (1.0, 72_000.0)], 10_000.0, 10_000.0), none);
    assert_eq!(
        notes(&[(10.0, 1000.0)], 90.0, 15.0),
        [
            "the wrapped length is only 9.0 times the thickness; below 10 trust nothing",
            "thickness over radius is 0.50; the model holds below 0.1",
            "ply 1 (ply) is strained by 25.0 %; the linear model holds below 5 %"
        ]
    );
    let soft = notes(&[(50.0, 2500.0), (50.0, 1.8), (50.0, 2500.0)], 6000.0, 2000.0);
    assert!(
        soft.len() == 3
            && soft[0].contains("nearer to the ends")
            && soft[1].ends_with("large shear, linear model"),
        "{soft:?}"
    );
}

#[test]
fn faults_are_named() {
    let ply = Ply::new("foil", 10.0, 1000.0, 0.3);
    let fault = |plies: &[Ply], length_um: f64| {
        Wrap::new(plies, ModulusKind::Beam, length_um).unwrap_err().to_string()
    };
    assert_eq!(fault(&[], 10.0), "the stack has no ply; at least one is needed");
    assert_eq!(fault(&vec![ply.clone(); 65], 1e4), "the stack has 65 plies; at most 64 are allowed");
    assert_eq!(
        fault(&[Ply { thickness_um: 0.0, ..ply.clone() }], 10.0),
        "thickness of ply 1 (foil) is 0 µm; it must be above 0"
    );
    assert_eq!(
        fault(&[ply.clone(), Ply { modulus_mpa: f64::NAN, ..ply.clone() }], 10.0),
        "modulus of ply 2 (foil) is NaN, not a finite number"
    );
    assert_eq!(
        fault(&[Ply { poisson: 0.5, ..ply.clone() }], 10.0),
        "Poisson's ratio of ply 1 (foil) is 0.5; it must be above -1 and below 0.5"
    );
    assert_eq!(
        fault(std::slice::from_ref(&ply), -1.0),
        "wrapped length of -1 µm is not allowed; it must be above 0 µm and finite"
    );
    // Moduli 600 orders apart.
    let far = [Ply { modulus_mpa: 1e300, ..ply.clone() }, Ply { modulus_mpa: 1e-300, ..ply.clone() }];
    assert!(matches!(
        Wrap::new(&far, ModulusKind::Beam, 100.0),
        Err(WrapError::OutOfNumbers { .. } | WrapError::NotConverged { .. })
    ));
    let wrap = Wrap::new(&[ply], ModulusKind::Beam, 100.0).unwrap();
    assert!(matches!(wrap.at(0.0, ContactFace::Top), Err(WrapError::Radius { .. })));
    assert!(matches!(wrap.strain_at(f64::NAN, 1.0), Err(WrapError::Curvature { .. })));
    assert!(matches!(wrap.strain_at(0.1, 10.1), Err(WrapError::Place { axis: 'z', .. })));
    assert!(matches!(wrap.strain_along(0.1, f64::NAN), Err(WrapError::Place { axis: 'x', .. })));
    let limit = |ply, tension| PlyLimit { ply, tension, compression: None };
    let least = |limit, membrane| wrap.least_radius(ContactFace::Bottom, &[limit], membrane);
    assert!(matches!(least(limit(1, 0.1), 0.0), Err(WrapError::NoSuchPly { ply: 1, count: 1 })));
    assert!(matches!(least(limit(0, 0.0), 0.0), Err(WrapError::Limit { .. })));
    assert!(matches!(least(limit(0, 0.1), f64::INFINITY), Err(WrapError::Membrane { .. })));
    assert_eq!(least(limit(0, 0.1), 0.1), Ok(LeastRadius::None { ply: 0, in_tension: true }));
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300,
        rng_seed: RngSeed::Fixed(20),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever goes in, what comes out is finite or an error.
    #[test]
    fn only_numbers_come_out(
        plies in prop::collection::vec((-1.0..1.0_f64, -1.0..1.0_f64, -0.999..0.4999_f64), 1..12),
        spread in prop::sample::select(vec![3.0, 10.0, 30.0, 100.0, 300.0]),
        length in -1.0..1.0_f64,
        radius in -1.0..1.0_f64,
    ) {
        let of = |exponent: f64| 10_f64.powf(spread * exponent);
        let plies: Vec<Ply> =
            plies.iter().map(|&(thick, stiff, poisson)| Ply::new("ply", of(thick), of(stiff), poisson)).collect();
        let Ok(wrap) = Wrap::new(&plies, ModulusKind::PlaneStrain, of(length)) else {
            // Plausible plies always have modes.
            prop_assert!(spread > 3.0);
            return Ok(());
        };
        prop_assert!(wrap.decay_length_um() > 0.0 && wrap.decay_length_um().is_finite());
        let wrapped = wrap.at(of(radius), ContactFace::Top).expect("a sound radius");
        let strains = wrapped.bonded.iter().chain(&wrapped.mid).chain(&wrapped.end_shear);
        let pairs = wrapped.split.iter().chain(&wrapped.range).flatten();
        prop_assert!(strains.chain(pairs).all(|strain| strain.is_finite()), "{:?}", wrapped);
        let limits: Vec<PlyLimit> =
            (0..plies.len()).map(|ply| PlyLimit { ply, tension: of(length), compression: Some(of(radius)) }).collect();
        if let Ok(LeastRadius::Radius { radius_um, .. }) = wrap.least_radius(ContactFace::Bottom, &limits, 0.0) {
            prop_assert!(radius_um.is_finite() && radius_um > 0.0);
        }
    }
}

/// As many plies as there may be, of two kinds in turn.
#[test]
fn the_thickest_stack_is_solved() {
    let plies: Vec<Ply> =
        (0..super::MOST_PLIES)
            .map(|i| {
                if i % 2 == 0 {
                    Ply::new("stiff", 5.0, 3000.0, 0.3)
                } else {
                    Ply::new("soft", 10.0, 1.0, 0.49)
                }
            })
            .collect();
    let wrap = Wrap::new(&plies, ModulusKind::Beam, 2e5).unwrap();
    assert_eq!(wrap.soft_plies().iter().filter(|soft| **soft).count(), 31);
    let force: f64 = (0..plies.len())
        .map(|i| {
            plies[i].modulus_mpa * plies[i].thickness_um * (wrap.unit_mid_um()[i] + wrap.unit_mid_um()[i + 1])
        })
        .sum();
    assert!(force.abs() < 1e-9 * 64.0 * 15_000.0 * 480.0, "{force}");
}
