//! Stacks bent round cylinders against finite differences and finite elements, and laws that hold for all of them.

use ogee_stack::{ContactFace, LeastRadius, ModulusKind, Ply, PlyLimit, Wrap, anticlastic};
use ogee_tests::{Case, Checks, Tolerance, table};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde::Deserialize;
use serde_json::Value;

#[derive(Clone, Debug, Deserialize)]
struct Patch {
    name: String,
    thickness_um: f64,
    modulus_mpa: f64,
    poisson: f64,
}

fn list<T: for<'de> Deserialize<'de>>(value: &Value) -> Vec<T> {
    serde_json::from_value(value.clone()).expect("the table holds such a list")
}

/// Compares lists with the tolerance of `key`, a share of the largest expected value.
fn near(case: &Case, checks: &mut Checks<'_>, key: &str, got: &[f64]) {
    checks.covers(key);
    let expected: Vec<f64> = list(&case.expected[key]);
    let tolerance = case.tolerance(key).expect("the table gives one");
    let largest = expected.iter().fold(0.0, |most: f64, value| most.max(value.abs()));
    let absolute = tolerance.absolute.max(tolerance.relative * largest);
    checks.that(&format!("{key}: as many values"), got.len() == expected.len());
    for (index, (got, expected)) in got.iter().zip(&expected).enumerate() {
        checks.near(&format!("{key}[{index}]"), *got, *expected, Tolerance::absolute(absolute));
    }
}

fn check(case: &Case, checks: &mut Checks<'_>) {
    let plies: Vec<Ply> = list::<Patch>(&case.inputs["layers"])
        .into_iter()
        .map(|p| Ply::new(p.name, p.thickness_um, p.modulus_mpa, p.poisson))
        .collect();
    let kind = match case.text("modulus_kind") {
        "plane_strain" => ModulusKind::PlaneStrain,
        _ => ModulusKind::Beam,
    };
    let face = match case.text("contact_face") {
        "top" => ContactFace::Top,
        _ => ContactFace::Bottom,
    };
    // Strains of a bonded section know no length; far from its ends any stack is bonded.
    let length_um = case.maybe_number("length_um");
    let wrap = Wrap::new(&plies, kind, length_um.unwrap_or(1e6)).expect("the table holds sound stacks");
    let radius_um = case.number("cylinder_radius_um");
    let wrapped = wrap.at(radius_um, face).expect("the table holds sound radii");
    checks.number("curvature_out_per_um", wrapped.curvature_per_um);
    checks.number("z_neutral_bonded_um", wrap.neutral_plane_um());
    near(case, checks, "interface_z_um", wrap.interfaces_um());
    near(case, checks, "strain_bonded", &wrapped.bonded);
    if length_um.is_none() {
        near(case, checks, "strain_bonded", &wrapped.mid);
        checks.that("no soft ply", !wrap.soft_plies().contains(&true));
        return;
    }
    near(case, checks, "strain_mid", &wrapped.mid);
    near(case, checks, "elements_strain_mid", &wrapped.mid);
    near(case, checks, "shear_end", &wrapped.end_shear);
    checks.number("longest_decay_length_um", wrap.decay_length_um());
    let soft: Vec<usize> = list(&case.inputs["soft_layers"]);
    let found: Vec<usize> = (0..plies.len()).filter(|&ply| wrap.soft_plies()[ply]).collect();
    checks.that("the soft plies", soft == found);
    let split: Vec<Option<[f64; 2]>> = list(&case.expected["strain_fully_split"]);
    let tolerance = case.tolerance("strain_fully_split").expect("the table gives one");
    checks.covers("strain_fully_split");
    checks.that("one strain per ply", split.len() == wrapped.split.len());
    for (ply, (got, expected)) in wrapped.split.iter().zip(&split).enumerate() {
        checks.that("stiff plies have a strain", expected.is_none() == soft.contains(&ply));
        let Some(expected) = expected else { continue };
        for side in 0..2 {
            checks.near(&format!("strain_fully_split[{ply}]"), got[side], expected[side], tolerance);
        }
    }
}

#[test]
fn stacks_of_the_table() {
    table("stack_bending").check("wrap", 12, check);
}

#[test]
fn strips_of_the_table() {
    table("stack_bending").check("anticlastic", 5, |case, checks| {
        let [width_um, radius_um, thickness_um, poisson] =
            ["width_um", "radius_um", "thickness_um", "poisson"].map(|key| case.number(key));
        let strip = anticlastic(width_um, radius_um, thickness_um, poisson).expect("a sound strip");
        checks.number("moment_over_plate", 1.0 - poisson * poisson * strip.moment_factor);
        checks.number("energy_over_plate", 1.0 - poisson * poisson * strip.energy_factor);
    });
}

#[test]
fn every_case_is_run() {
    table("stack_bending").check_kinds(&["wrap", "anticlastic"]);
}

/// Stacks of one to six plies from gel to diamond, from 50 nm to 100 µm thick.
fn stacks() -> impl Strategy<Value = Vec<Ply>> {
    prop::collection::vec((-1.3..2.0_f64, -1.0..5.7_f64, 0.0..0.499_f64), 1..7).prop_map(|plies| {
        plies
            .into_iter()
            .map(|(thickness, modulus, poisson)| {
                Ply::new("ply", 10_f64.powf(thickness), 10_f64.powf(modulus), poisson)
            })
            .collect()
    })
}

fn thickness_um(plies: &[Ply]) -> f64 {
    plies.iter().map(|ply| ply.thickness_um).sum()
}

/// A wrap over a length in total thicknesses.
fn wrap(plies: &[Ply], lengths: f64) -> Wrap {
    Wrap::new(plies, ModulusKind::PlaneStrain, lengths * thickness_um(plies)).expect("a sound stack")
}

fn config() -> ProptestConfig {
    ProptestConfig {
        cases: 200,
        rng_seed: RngSeed::Fixed(20),
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(config())]

    /// No force anywhere: the mean of E times strain over the thickness is zero at every place, and no shear at the middle.
    #[test]
    fn every_section_is_free_of_force(plies in stacks(), lengths in 1.0..1e4_f64, place in 0.0..1.0_f64) {
        let wrap = wrap(&plies, lengths);
        for x_um in [0.0, place * 0.5 * wrap.length_um(), 0.5 * wrap.length_um()] {
            let strains = wrap.strain_along(1e-3, x_um).expect("inside");
            let (mut force, mut size) = (0.0, 0.0);
            for (ply, pair) in plies.iter().zip(strains.windows(2)) {
                let modulus_mpa = ModulusKind::PlaneStrain.effective_mpa(ply.modulus_mpa, ply.poisson);
                force += modulus_mpa * ply.thickness_um * (pair[0] + pair[1]);
                size += modulus_mpa * ply.thickness_um * 1e-3 * wrap.thickness_um();
            }
            prop_assert!(force.abs() < 1e-11 * size, "{} of {}", force, size);
        }
        // The ends are free of stress.
        let ends = wrap.strain_along(1.0, 0.5 * wrap.length_um()).expect("inside");
        prop_assert!(ends.iter().all(|strain| strain.abs() < 1e-8 * wrap.thickness_um()), "{:?}", ends);
    }

    /// The neutral plane is inside; the outer faces of the bonded stack are strained no less than those of the split one.
    #[test]
    fn bonded_faces_bear_most(plies in stacks(), lengths in 1.0..1e4_f64) {
        let wrap = wrap(&plies, lengths);
        prop_assert!(wrap.neutral_plane_um() > 0.0 && wrap.neutral_plane_um() < wrap.thickness_um());
        let (bonded, split, last) = (wrap.unit_bonded_um(), wrap.unit_split_um(), plies.len() - 1);
        let rounding = 1e-12 * wrap.thickness_um();
        prop_assert!(-split[0][0] <= -bonded[0] + rounding && split[last][1] <= bonded[last + 1] + rounding);
        if !wrap.soft_plies().contains(&true) {
            for (ply, faces) in split.iter().enumerate() {
                prop_assert!((faces[0] - bonded[ply]).abs() < rounding && (faces[1] - bonded[ply + 1]).abs() < rounding);
            }
        }
    }

    /// Long stacks are bonded at the middle; the strain there is what is asked for by height.
    #[test]
    fn long_stacks_are_bonded(plies in stacks(), share in 0.0..1.0_f64) {
        let decay_um = wrap(&plies, 1.0).decay_length_um();
        let long = Wrap::new(&plies, ModulusKind::PlaneStrain, 100.0 * decay_um).expect("a sound stack");
        let close = 1e-9 * long.thickness_um();
        for (mid, bonded) in long.unit_mid_um().iter().zip(long.unit_bonded_um()) {
            prop_assert!((mid - bonded).abs() < close, "{} {}", mid, bonded);
        }
        let z_um = share * long.thickness_um();
        let strain = long.strain_at(0.01, z_um).expect("inside");
        prop_assert!((strain - 0.01 * (z_um - long.neutral_plane_um())).abs() < 0.01 * close);
    }

    /// Very soft interlayers in a stack that is short against their decay length let it split.
    #[test]
    fn short_stacks_split(stiff in prop::collection::vec((2.0..20.0_f64, 2e3..2e5_f64), 2..4), soft_um in 5.0..50.0_f64) {
        let mut plies = Vec::new();
        for (thickness_um, modulus_mpa) in stiff {
            if !plies.is_empty() {
                plies.push(Ply::new("gel", soft_um, 1e-6, 0.49));
            }
            plies.push(Ply::new("stiff", thickness_um, modulus_mpa, 0.3));
        }
        let wrap = wrap(&plies, 100.0);
        for (ply, faces) in wrap.unit_split_um().iter().enumerate() {
            for side in 0..2 {
                let mid = wrap.unit_mid_um()[ply + side];
                prop_assert!((mid - faces[side]).abs() < 2e-3 * wrap.thickness_um(), "{} {:?}", mid, faces);
            }
        }
    }

    /// Upside down, the neutral plane is mirrored and, on the other face, every strain and shear is the same.
    #[test]
    fn upside_down_is_the_mirror_image(plies in stacks(), lengths in 1.0..1e3_f64, radius in 10.0..1e4_f64) {
        let turned: Vec<Ply> = plies.iter().rev().cloned().collect();
        let (one, other) = (wrap(&plies, lengths), wrap(&turned, lengths));
        let total_um = one.thickness_um();
        let close = 1e-9 * total_um;
        prop_assert!((one.neutral_plane_um() + other.neutral_plane_um() - total_um).abs() < close);
        let radius_um = radius * total_um;
        let one = one.at(radius_um, ContactFace::Bottom).expect("a sound radius");
        let other = other.at(radius_um, ContactFace::Top).expect("a sound radius");
        let close = close / radius_um;
        prop_assert!((one.curvature_per_um + other.curvature_per_um).abs() < 1e-9 / radius_um);
        for (a, b) in one.mid.iter().zip(other.mid.iter().rev()) {
            prop_assert!((a - b).abs() < close, "{} {}", a, b);
        }
        for (a, b) in one.split.iter().zip(other.split.iter().rev()) {
            prop_assert!((a[0] - b[1]).abs() < close && (a[1] - b[0]).abs() < close, "{:?} {:?}", a, b);
        }
        let largest = one.end_shear.iter().fold(0.0, |most: f64, shear| most.max(shear.abs()));
        for (a, b) in one.end_shear.iter().zip(other.end_shear.iter().rev()) {
            // Bending and the order of the plies both turn round.
            prop_assert!((a + b).abs() < 1e-7 * largest, "{} {}", a, b);
        }
    }

    /// A ply cut in two changes neither the bonded nor the split strains, and refines the model only near the ends.
    #[test]
    fn cut_plies_change_nothing(plies in stacks(), which in 0..6_usize, share in 0.1..0.9_f64) {
        let which = which % plies.len();
        let mut cut = plies.clone();
        let upper = plies[which].thickness_um * (1.0 - share);
        cut[which].thickness_um *= share;
        cut.insert(which + 1, Ply { thickness_um: upper, ..plies[which].clone() });
        let decay_um = wrap(&plies, 1.0).decay_length_um();
        let lengths = (60.0 * decay_um / thickness_um(&plies)).max(60.0);
        let (whole, cut) = (wrap(&plies, lengths), wrap(&cut, lengths));
        let close = 1e-9 * whole.thickness_um();
        prop_assert!((whole.neutral_plane_um() - cut.neutral_plane_um()).abs() < close);
        for interface in 0..=plies.len() {
            let twin = interface + usize::from(interface > which);
            let (mid, bonded) = (whole.unit_mid_um()[interface], whole.unit_bonded_um()[interface]);
            prop_assert!((bonded - cut.unit_bonded_um()[twin]).abs() < close);
            prop_assert!((mid - cut.unit_mid_um()[twin]).abs() < close);
        }
        for ply in 0..plies.len() {
            let twin = ply + usize::from(ply > which);
            let (faces, upper) = (whole.unit_split_um()[ply], cut.unit_split_um()[ply + usize::from(ply >= which)]);
            prop_assert!((faces[0] - cut.unit_split_um()[twin][0]).abs() < close);
            prop_assert!((faces[1] - upper[1]).abs() < close);
            prop_assert_eq!(whole.soft_plies()[ply], cut.soft_plies()[twin]);
        }
    }

    /// Plies of one material are one ply, but for the ends.
    #[test]
    fn equal_plies_are_one(count in 1..7_usize, modulus_mpa in 1.0..1e5_f64, radius_um in 100.0..1e4_f64) {
        let plies = vec![Ply::new("ply", 2.0, modulus_mpa, 0.3); count];
        let many = wrap(&plies, 100.0).at(radius_um, ContactFace::Bottom).expect("a sound radius");
        let one = wrap(&[Ply::new("ply", 2.0 * count as f64, modulus_mpa, 0.3)], 100.0);
        let one = one.at(radius_um, ContactFace::Bottom).expect("a sound radius");
        prop_assert!((many.curvature_per_um / one.curvature_per_um - 1.0).abs() < 1e-13);
        for strain in [many.mid[0] / one.mid[0], many.mid[count] / one.mid[1], many.split[0][0] / one.split[0][0]] {
            prop_assert!((strain - 1.0).abs() < 1e-11, "{}", strain);
        }
    }

    /// All lengths times one factor, all moduli times another: strains over thickness and shear stay.
    #[test]
    fn lengths_and_moduli_scale(plies in stacks(), length in 0.01..100.0_f64, stiff in 0.01..100.0_f64) {
        let scaled: Vec<Ply> = plies
            .iter()
            .map(|p| Ply::new("ply", length * p.thickness_um, stiff * p.modulus_mpa, p.poisson))
            .collect();
        let (one, other) = (wrap(&plies, 50.0), wrap(&scaled, 50.0));
        prop_assert!((other.decay_length_um() / (length * one.decay_length_um()) - 1.0).abs() < 1e-9);
        for (a, b) in one.unit_mid_um().iter().zip(other.unit_mid_um()) {
            prop_assert!((b - length * a).abs() < 1e-9 * other.thickness_um());
        }
    }

    /// The range along the length holds the strain of every place in it, within 1 % of the largest, and no more.
    #[test]
    fn the_range_holds_all_strains(plies in stacks(), lengths in 2.1..1e4_f64, bent in prop::sample::select(vec![-1e-3, 1e-3])) {
        let wrap = wrap(&plies, lengths);
        let reach_um = 0.5 * wrap.length_um() - wrap.thickness_um();
        let places = (0..=2000).map(|i| f64::from(i) / 2000.0);
        // From the middle in even steps, and to the end in steps that shrink.
        let half_um = 0.5 * wrap.length_um();
        let graded = places.clone().map(|share| half_um - half_um * (wrap.thickness_um() / half_um).powf(share));
        let mut range = vec![[f64::INFINITY, f64::NEG_INFINITY]; plies.len() + 1];
        for x_um in places.map(|share| share * reach_um).chain(graded) {
            let strains = wrap.strain_along(bent, x_um.min(reach_um)).expect("inside");
            for (range, strain) in range.iter_mut().zip(strains) {
                *range = [range[0].min(strain), range[1].max(strain)];
            }
        }
        let largest = range.iter().flatten().fold(0.0, |most: f64, strain| most.max(strain.abs()));
        for (z_um, range) in wrap.interfaces_um().iter().zip(range) {
            let found = wrap.strain_range_at(bent, *z_um).expect("inside");
            prop_assert!(found[0] > range[0] - 1e-9 * largest && found[0] < range[0] + 0.01 * largest);
            prop_assert!(found[1] < range[1] + 1e-9 * largest && found[1] > range[1] - 0.01 * largest);
        }
        let limit = PlyLimit { ply: 0, tension: 0.01, compression: Some(0.01) };
        let radius = |found: Result<LeastRadius, _>| found.expect("a sound limit").radius_um().expect("no pull");
        let along = radius(wrap.least_radius_along(ContactFace::Top, &[limit], 0.0));
        prop_assert!(along >= radius(wrap.least_radius(ContactFace::Top, &[limit], 0.0)));
    }

    /// On the least cylinder one limit is just reached and none exceeded; on a smaller one a limit is exceeded.
    #[test]
    fn the_least_cylinder_uses_up_one_limit(
        plies in stacks(),
        lengths in 10.0..1e3_f64,
        tension in 0.001..0.1_f64,
        compression in prop::option::of(0.001..0.1_f64),
        membrane in -0.01..0.01_f64,
        top in any::<bool>(),
    ) {
        let wrap = wrap(&plies, lengths);
        let face = if top { ContactFace::Top } else { ContactFace::Bottom };
        let limits: Vec<PlyLimit> = (0..plies.len())
            .map(|ply| PlyLimit { ply, tension: tension * (1.0 + ply as f64), compression })
            .collect();
        // How much of its limit the worst face of the worst ply uses.
        let used = |radius_um: f64| {
            let mid = wrap.at(radius_um, face).expect("a sound radius").mid;
            let faces = limits.iter().flat_map(|limit| [(limit, mid[limit.ply]), (limit, mid[limit.ply + 1])]);
            faces.fold(0.0, |most: f64, (limit, strain)| {
                let pressed = limit.compression.map_or(0.0, |compression| -(strain + membrane) / compression);
                most.max((strain + membrane) / limit.tension).max(pressed)
            })
        };
        match wrap.least_radius(face, &limits, membrane).expect("sound limits") {
            LeastRadius::Radius { radius_um, .. } => {
                prop_assert!((used(radius_um) - 1.0).abs() < 1e-9, "{}", used(radius_um));
                prop_assert!(used(0.99 * radius_um) > 1.0 && used(1.01 * radius_um) < 1.0);
            }
            LeastRadius::Any => prop_assert!(used(1e-9) <= 1.0),
            LeastRadius::None { in_tension, .. } => {
                let beyond = if in_tension { membrane - tension } else { -membrane - compression.unwrap_or(1.0) };
                prop_assert!(beyond >= 0.0, "{}", beyond);
            }
        }
    }
}
