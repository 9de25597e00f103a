use std::f64::consts::{FRAC_PI_2, PI};

use super::{Jump, PathElement, PathNote, PathSettings, Ramp, path_loss, ramp_note};
use crate::bend_table::BendTable;
use crate::error::LightError;
use crate::slab::{Slab, SlabPolarisation};

fn symmetric(wavelength_um: f64, width_um: f64, n_core: f64, n: f64) -> Slab {
    Slab { wavelength_um, width_um, n_core, n_left: n, n_right: n }
}

fn polymer() -> BendTable {
    BendTable::new(&symmetric(1.31, 2.0, 1.51, 1.46), SlabPolarisation::Te, None).unwrap()
}

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} is not {expected} within {tolerance}");
}

/// Half circles of radius `radius_um` to alternate sides, joined to straight guides at both ends.
fn half_circles(count: usize, radius_um: f64) -> (Vec<PathElement>, Vec<Jump>) {
    let length_um = PI * radius_um;
    let side = |i: usize| if i.is_multiple_of(2) { 1.0 } else { -1.0 } / radius_um;
    let elements =
        (0..count).map(|i| PathElement { length_um, curvature_per_um: side(i) }).collect::<Vec<_>>();
    let jumps = (0..=count)
        .map(|i| Jump {
            s_um: i as f64 * length_um,
            before_per_um: if i == 0 { 0.0 } else { side(i - 1) },
            after_per_um: if i == count { 0.0 } else { side(i) },
        })
        .collect();
    (elements, jumps)
}

#[test]
fn an_arc_path_loses_mostly_at_its_inflections() {
    // 3 periods of half circles: exact bend loss and overlaps, added.
    let (elements, jumps) = half_circles(6, 250.0);
    let settings = PathSettings { propagation_db_per_cm: 0.5, ..PathSettings::default() };
    let loss = path_loss(&elements, &jumps, &polymer(), &settings).unwrap();
    close(loss.length_um, 4_712.388_98, 1e-8);
    close(loss.bend_db, 0.054_804_334_7, 1e-4);
    close(loss.transition_db, 1.320_847_57, 1e-3);
    close(loss.propagation_db, 0.235_619_449, 1e-8);
    close(loss.total_db, 1.611_271_35, 1e-3);
    let (worst, db) = loss.worst_jump.unwrap();
    assert_eq!(worst.before_per_um, -worst.after_per_um);
    close(db, 0.239_625_972, 1e-3);
    assert_eq!(loss.worst.unwrap().radius_um, 250.0);
    assert_eq!(loss.notes, [PathNote::SeveralModes { modes: 2 }]);
    assert!(loss.notes[0].to_string().starts_with("the straight guide has 2 modes"));
}

#[test]
fn a_sine_generated_path_loses_at_its_crests() {
    // κ = −(πθ/2Q) sin(πs/2Q) per quarter; at rest and opened to 0.7 of the tilt at the same length.
    let quarter_um = 380.003_886;
    for (tilt_deg, bend_db, total_db) in
        [(70.267_754_5_f64, 0.171_149_261, 0.399_151_593), (49.187_428_2, 0.002_253_496_47, 0.230_255_828)]
    {
        let steps = 200;
        let crest = FRAC_PI_2 * tilt_deg.to_radians() / quarter_um;
        let elements: Vec<PathElement> = (0..12 * steps)
            .map(|i| PathElement {
                length_um: quarter_um / steps as f64,
                curvature_per_um: -crest * (FRAC_PI_2 * (i as f64 + 0.5) / steps as f64).sin(),
            })
            .collect();
        let settings = PathSettings { propagation_db_per_cm: 0.5, ..PathSettings::default() };
        let loss = path_loss(&elements, &[], &polymer(), &settings).unwrap();
        close(loss.bend_db, bend_db, 2e-4);
        close(loss.total_db, total_db, 1e-4);
        let worst = loss.worst.unwrap();
        close(worst.radius_um, crest.recip(), 1e-4);
        close(worst.s_um, quarter_um * (1.0 + 2.0 * (worst.element / (2 * steps)) as f64), 1e-2);
        assert_eq!(loss.transition_db, 0.0);
    }
}

#[test]
fn a_hairpin_has_a_joint_at_every_arm() {
    let table = BendTable::new(&symmetric(1.55, 1.0, 1.98, 1.444), SlabPolarisation::Tm, None).unwrap();
    let (radius_um, arm_um) = (9.0, 102.0);
    let mut elements = Vec::new();
    let mut jumps = Vec::new();
    let mut s_um = 0.5 * arm_um;
    elements.push(PathElement { length_um: s_um, curvature_per_um: 0.0 });
    for turn in 0..10 {
        let curvature_per_um = if turn % 2 == 0 { -1.0 } else { 1.0 } / radius_um;
        jumps.push(Jump { s_um, before_per_um: 0.0, after_per_um: curvature_per_um });
        elements.push(PathElement { length_um: PI * radius_um, curvature_per_um });
        s_um += PI * radius_um;
        jumps.push(Jump { s_um, before_per_um: curvature_per_um, after_per_um: 0.0 });
        let length_um = if turn == 9 { 0.5 * arm_um } else { arm_um };
        elements.push(PathElement { length_um, curvature_per_um: 0.0 });
        s_um += length_um;
    }
    let settings = PathSettings { propagation_db_per_cm: 2.0, ..PathSettings::default() };
    let loss = path_loss(&elements, &jumps, &table, &settings).unwrap();
    close(loss.length_um, 1_302.743_34, 1e-8);
    close(loss.bend_db, 0.002_313_006_81, 3e-4);
    close(loss.transition_db, 2.447_776, 1e-3);
    close(loss.total_db, 2.710_637_67, 1e-3);
}

#[test]
fn notes_say_what_the_numbers_leave_out() {
    let table = polymer();
    let settings = PathSettings { end_loss_db: 0.3, cladding_um: Some(4.0), ..PathSettings::default() };
    let (elements, jumps) = half_circles(2, 20.0);
    let loss = path_loss(&elements, &jumps, &table, &settings).unwrap();
    close(loss.end_db, 0.6, 1e-15);
    let has = |test: fn(&PathNote) -> bool| loss.notes.iter().any(test);
    assert!(has(|note| matches!(note, PathNote::BeyondTable { radius_um: 20.0, more_than_db_per_90deg, .. }
        if *more_than_db_per_90deg > 8.0)));
    assert!(has(
        |note| matches!(note, PathNote::CloseJoints { spacing_um, limit_um, .. } if spacing_um < limit_um)
    ));
    assert!(loss.bend_db >= 4.0 * table.loss_db_per_90deg(1.0 / table.least_radius_um()) * (1.0 - 1e-12));
    // At 200 µm the caustic is 5 µm out.
    let (elements, jumps) = half_circles(2, 200.0);
    let loss = path_loss(&elements, &jumps, &table, &settings).unwrap();
    assert!(loss.notes.iter().any(|note| matches!(note, PathNote::CladdingEndsBeforeCaustic { .. })));
}

#[test]
fn short_ramps_are_bounded_by_the_jump() {
    let table = polymer();
    let ramp = |length_um| Ramp { s_um: 0.0, length_um, before_per_um: 0.0, after_per_um: 1.0 / 250.0 };
    let jump_db = table.transition_db(0.0, 1.0 / 250.0);
    let limit = table.adiabatic_length_um();
    let Some(PathNote::ShortRamp { up_to_db, .. }) = ramp_note(&ramp(1e-3), &table) else {
        panic!("a ramp of a nanometre is a jump")
    };
    close(up_to_db, jump_db, 1e-6);
    let Some(PathNote::ShortRamp { up_to_db, limit_um, .. }) = ramp_note(&ramp(0.25 * limit), &table) else {
        panic!("a quarter of the limit is short")
    };
    assert_eq!(limit_um, limit);
    // Δβ ℓ/2 = π/2.
    close(up_to_db, jump_db * 4.0 / (PI * PI), 1e-12);
    assert_eq!(ramp_note(&ramp(1.01 * limit), &table), None);
}

#[test]
fn nonsense_in_a_list_is_named() {
    let table = polymer();
    let element = |length_um, curvature_per_um| PathElement { length_um, curvature_per_um };
    let run = |elements: &[PathElement]| path_loss(elements, &[], &table, &PathSettings::default());
    assert!(matches!(
        run(&[element(1.0, 0.0), element(-1.0, 0.0)]),
        Err(LightError::Entry { position: 1, .. })
    ));
    assert!(matches!(run(&[element(1.0, f64::NAN)]), Err(LightError::Entry { position: 0, .. })));
    assert!(run(&[element(f64::NAN, 0.0)]).is_err());
    let jump = Jump { s_um: 0.0, before_per_um: 0.0, after_per_um: f64::NAN };
    assert!(path_loss(&[], &[jump], &table, &PathSettings::default()).is_err());
    let negative = PathSettings { propagation_db_per_cm: -1.0, ..PathSettings::default() };
    assert!(path_loss(&[], &[], &table, &negative).is_err());
    let empty = path_loss(&[], &[], &table, &PathSettings::default()).unwrap();
    assert_eq!((empty.total_db, empty.worst, empty.worst_jump), (0.0, None, None));
}
