//! Processes: what must hold for any stack, and what no process may do.

use ogee_stack::{
    Birth, Film, FilmField, FilmModulus, History, ProcessError, State, Step, bimetal_curvature_per_um,
    multilayer_curvature, run, stoney_stress_mpa,
};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

/// Thickness, modulus, Poisson's ratio and expansion in ppm/K.
type Material = (f64, f64, f64, f64);

fn material() -> impl Strategy<Value = Material> {
    (0.05..20f64, 0.3..5.4f64, -0.3..0.49f64, -2.0..300f64)
        .prop_map(|(thickness_um, decades, poisson, ppm)| (thickness_um, 10f64.powf(decades), poisson, ppm))
}

fn runner() -> TestRunner {
    let seed = *b"layers keep the line of a birth.";
    TestRunner::new_with_rng(
        Config { cases: 256, failure_persistence: None, ..Config::default() },
        TestRng::from_seed(RngAlgorithm::ChaCha, &seed),
    )
}

fn modulus() -> impl Strategy<Value = FilmModulus> {
    prop_oneof![Just(FilmModulus::Biaxial), Just(FilmModulus::PlaneStrain), Just(FilmModulus::Beam)]
}

fn stacked(bottom_um: f64, materials: &[Material]) -> Vec<Film> {
    let mut top_um = bottom_um;
    let film = |(index, &(thickness_um, modulus_mpa, poisson, ppm)): (usize, &Material)| {
        let bottom_um = top_um;
        top_um += thickness_um;
        let name = format!("film {index}");
        Film { name, bottom_um, top_um, share: 1.0, modulus_mpa, poisson, cte_per_k: 1e-6 * ppm }
    };
    materials.iter().enumerate().map(film).collect()
}

fn deposit(film: usize, intrinsic_mpa: f64, temperature_c: f64) -> Step {
    Step::Deposit { films: vec![Birth { film, intrinsic_mpa }], temperature_c }
}

fn bond(film: usize, temperature_c: f64) -> Step {
    Step::Bond { films: vec![Birth { film, intrinsic_mpa: 0.0 }], temperature_c }
}

fn last(history: &History) -> &State {
    history.states.last().expect("a history has a state per step")
}

/// Greatest stress at any face, `MPa`.
fn greatest_mpa(state: &State) -> f64 {
    state.films.iter().flat_map(|f| [f.stress_bottom_mpa.abs(), f.stress_top_mpa.abs()]).fold(0.0, f64::max)
}

/// Force and moment per width about z = 0, over the sums of their absolute parts.
fn unbalance(history: &History, state: &State) -> (f64, f64) {
    let mut sums = [0.0; 4];
    for film_state in &state.films {
        let film = &history.films()[film_state.film];
        let (bottom, top) = (film_state.stress_bottom_mpa, film_state.stress_top_mpa);
        let weight = film.share * film.thickness_um();
        let middle_um = 0.5 * (film.bottom_um + film.top_um) - state.neutral_plane_um;
        let moment =
            weight * (0.5 * (top + bottom) * middle_um + (top - bottom) * film.thickness_um() / 12.0);
        // A film that has no stress but rounding is in balance.
        let scale = weight * (1e-6 * film.modulus_mpa + bottom.abs().max(top.abs()));
        sums[0] += weight * 0.5 * (top + bottom);
        sums[1] += scale;
        sums[2] += moment;
        sums[3] += scale * (middle_um.abs() + film.thickness_um());
    }
    (sums[0].abs() / sums[1].max(f64::MIN_POSITIVE), sums[2].abs() / sums[3].max(f64::MIN_POSITIVE))
}

#[test]
fn every_state_is_in_balance() {
    let births = prop::collection::vec((material(), 0.0..350f64, -0.01..0.01f64), 2..7);
    runner()
        .run(&(births, modulus(), -40.0..100f64), |(births, modulus, cold_c)| {
            let materials: Vec<_> = births.iter().map(|birth| birth.0).collect();
            let films = stacked(-30.0, &materials);
            let mut steps: Vec<_> = births
                .iter()
                .enumerate()
                .map(|(i, birth)| deposit(i, birth.2 * birth.0.1, birth.1))
                .collect();
            steps.push(Step::Bring { temperature_c: cold_c });
            steps.push(Step::Remove { films: vec![0] });
            let history = run(&films, modulus, &steps).expect("the films rest on each other");
            for state in &history.states {
                let (force, moment) = unbalance(&history, state);
                prop_assert!(force < 1e-9 && moment < 1e-9, "{force:e} {moment:e}");
            }
            // Held at its own curvature a stack is as it is when free; its energy is the least at that curvature.
            let free = last(&history);
            let step = steps.len() - 1;
            let held = history.wrapped(step, cold_c, free.curvature_per_um).expect("a sound step");
            prop_assert_eq!(&held, free);
            let spread = 1e-3 + free.curvature_per_um.abs();
            for curvature_per_um in [free.curvature_per_um - spread, free.curvature_per_um + spread] {
                let bent = history.wrapped(step, cold_c, curvature_per_um).expect("a sound step");
                prop_assert!(bent.energy_un_per_um() >= free.energy_un_per_um());
                prop_assert!(unbalance(&history, &bent).0 < 1e-9);
            }
            Ok(())
        })
        .expect("every state is in balance");
}

#[test]
fn one_expansion_causes_no_stress() {
    let case = (prop::collection::vec(material(), 1..7), modulus(), -50.0..400f64, 1.0..100f64);
    runner()
        .run(&case, |(mut materials, modulus, hot_c, ppm)| {
            for material in &mut materials {
                material.3 = ppm;
            }
            let films = stacked(-525.0, &materials);
            let births = (0..films.len()).map(|film| Birth { film, intrinsic_mpa: 0.0 }).collect();
            let steps =
                [Step::Deposit { films: births, temperature_c: 20.0 }, Step::Bring { temperature_c: hot_c }];
            let history = run(&films, modulus, &steps).expect("the films rest on each other");
            let strain = 1e-6 * ppm * (hot_c - 20.0);
            prop_assert!(greatest_mpa(last(&history)) < 1e-13 * 5e5);
            prop_assert!((last(&history).base_strain - strain).abs() < 1e-14);
            Ok(())
        })
        .expect("one expansion causes no stress");
}

#[test]
fn back_at_the_birth_temperature_nothing_is_left() {
    let case = (prop::collection::vec(material(), 2..7), modulus(), -50.0..400f64);
    runner()
        .run(&case, |(materials, modulus, birth_c)| {
            let films = stacked(0.0, &materials);
            let mut steps: Vec<_> = (0..films.len()).map(|film| deposit(film, 0.0, birth_c)).collect();
            steps.push(Step::Bring { temperature_c: birth_c - 60.0 });
            steps.push(Step::Bring { temperature_c: birth_c });
            let history = run(&films, modulus, &steps).expect("the films rest on each other");
            prop_assert!(greatest_mpa(last(&history)) == 0.0 && last(&history).curvature_per_um == 0.0);
            Ok(())
        })
        .expect("nothing is left");
}

#[test]
fn a_film_in_two_halves_is_one_film() {
    let births = prop::collection::vec((material(), 0.0..350f64, -0.01..0.01f64), 2..6);
    let case = (births, modulus(), 0usize..6, 0.1..0.9f64, any::<bool>());
    runner()
        .run(&case, |(births, modulus, which, at, side_by_side)| {
            let materials: Vec<_> = births.iter().map(|birth| birth.0).collect();
            let whole = stacked(-3.0, &materials);
            let which = which % whole.len();
            let mut halves = whole.clone();
            let mut other = halves[which].clone();
            if side_by_side {
                halves[which].share = at;
                other.share = 1.0 - at;
            } else {
                let cut_um = whole[which].bottom_um + at * whole[which].thickness_um();
                halves[which].top_um = cut_um;
                other.bottom_um = cut_um;
            }
            halves.push(other);
            let steps = |split: bool| -> Vec<Step> {
                let mut steps: Vec<_> = births
                    .iter()
                    .enumerate()
                    .map(|(film, &(material, temperature_c, strain))| {
                        let intrinsic_mpa = strain * material.1;
                        let mut films = vec![Birth { film, intrinsic_mpa }];
                        if split && film == which {
                            films.push(Birth { film: births.len(), intrinsic_mpa });
                        }
                        Step::Deposit { films, temperature_c }
                    })
                    .collect();
                steps.push(Step::Bring { temperature_c: 20.0 });
                steps
            };
            let one = run(&whole, modulus, &steps(false)).expect("the films rest on each other");
            let two = run(&halves, modulus, &steps(true)).expect("the films rest on each other");
            for (one, two) in one.states.iter().zip(&two.states) {
                let scale = 1e-10 * (1e-6 + one.curvature_per_um.abs());
                prop_assert!((one.curvature_per_um - two.curvature_per_um).abs() < scale);
                prop_assert!((one.base_strain - two.base_strain).abs() < 1e-12);
                let (one_energy, two_energy) = (one.energy_un_per_um(), two.energy_un_per_um());
                prop_assert!((one_energy - two_energy).abs() <= 1e-9 * (1e-6 + one_energy));
            }
            let (one, two) = (last(&one), last(&two));
            let outer = |state: &State, film| *state.film(film).expect("no film goes");
            let top = if side_by_side { which } else { births.len() };
            let near = |a: f64, b: f64| (a - b).abs() < 1e-9 * (1.0 + greatest_mpa(one));
            prop_assert!(near(outer(one, which).stress_bottom_mpa, outer(two, which).stress_bottom_mpa));
            prop_assert!(near(outer(one, which).stress_top_mpa, outer(two, top).stress_top_mpa));
            Ok(())
        })
        .expect("two halves are one film");
}

#[test]
fn upside_down_the_curl_turns_its_sign() {
    let births = prop::collection::vec((material(), 0.0..350f64, -0.01..0.01f64), 2..6);
    runner()
        .run(&(births, modulus()), |(births, modulus)| {
            let materials: Vec<_> = births.iter().map(|birth| birth.0).collect();
            let films = stacked(0.0, &materials);
            let mirrored: Vec<_> = films
                .iter()
                .map(|film| Film { bottom_um: -film.top_um, top_um: -film.bottom_um, ..film.clone() })
                .collect();
            let mut steps: Vec<_> = births
                .iter()
                .enumerate()
                .map(|(i, birth)| deposit(i, birth.2 * birth.0.1, birth.1))
                .collect();
            steps.push(Step::Bring { temperature_c: 20.0 });
            steps.push(Step::Remove { films: vec![0] });
            let upright = run(&films, modulus, &steps).expect("the films rest on each other");
            let turned = run(&mirrored, modulus, &steps).expect("the films hang on each other");
            for (up, down) in upright.states.iter().zip(&turned.states) {
                prop_assert_eq!(up.curvature_per_um, -down.curvature_per_um);
                prop_assert_eq!(up.neutral_plane_um, -down.neutral_plane_um);
                for (a, b) in up.films.iter().zip(&down.films) {
                    prop_assert_eq!(a.stress_bottom_mpa, b.stress_top_mpa);
                    prop_assert_eq!(a.stress_top_mpa, b.stress_bottom_mpa);
                }
            }
            Ok(())
        })
        .expect("upside down is a mirror image");
}

#[test]
fn a_common_birth_meets_the_closed_forms() {
    let case = (prop::collection::vec(material(), 2..7), modulus(), -250.0..250f64);
    runner()
        .run(&case, |(materials, modulus, change_k)| {
            let films = stacked(-materials[0].0, &materials);
            let births = (0..films.len()).map(|film| Birth { film, intrinsic_mpa: 0.0 }).collect();
            let steps = [Step::Deposit { films: births, temperature_c: 20.0 }];
            let history = run(&films, modulus, &steps).expect("the films rest on each other");
            let state = history.state_at(0, 20.0 + change_k).expect("a sound temperature");
            let closed =
                multilayer_curvature(&films[0], &films[1..], modulus, change_k).expect("sound films");
            // The closed form loses digits where its denominator cancels.
            let height_um = films[films.len() - 1].top_um - films[0].bottom_um;
            let scale = 3e-4 * change_k.abs() / height_um;
            prop_assert!((state.curvature_per_um - closed.curvature_per_um).abs() < 1e-8 * scale);
            let at_axis = state.base_strain + state.curvature_per_um * closed.bending_axis_um;
            prop_assert!((at_axis - closed.uniform_strain).abs() < 1e-8 * 3e-4 * change_k.abs());
            if let ([lower, upper], FilmModulus::Beam) = (&films[..], modulus) {
                let strip = bimetal_curvature_per_um(lower, upper, change_k).expect("sound films");
                prop_assert!((state.curvature_per_um - strip).abs() < 1e-9 * scale);
            }
            Ok(())
        })
        .expect("the closed forms hold");
}

#[test]
fn stoney_is_the_limit_of_thin_films() {
    let error = |film_um: f64| {
        let films = stacked(-500.0, &[(500.0, 160e3, 0.22, 2.6), (film_um, 72e3, 0.17, 0.5)]);
        let history = run(&films, FilmModulus::Biaxial, &[deposit(0, 0.0, 20.0), deposit(1, -90.0, 20.0)])
            .expect("sound");
        let state = last(&history);
        let read_mpa = stoney_stress_mpa(&films[0], film_um, state.curvature_per_um).expect("sound");
        read_mpa / state.films[1].stress_bottom_mpa - 1.0
    };
    // Linear in the ratio of the thicknesses, with that ratio as the error.
    for film_um in [10.0, 1.0, 0.1] {
        let ratio = film_um / 500.0;
        assert!((error(film_um) / ratio - 1.0).abs() < 2.0 * ratio, "{film_um}: {}", error(film_um));
    }
}

#[test]
fn a_bond_is_born_flat() {
    // A bowed pair, pressed flat and laminated with a sheet of its own stiffness.
    let films =
        stacked(0.0, &[(10.0, 4000.0, 0.3, 50.0), (10.0, 4000.0, 0.3, 10.0), (20.0, 4000.0, 0.3, 30.0)]);
    let pair = [deposit(0, 0.0, 120.0), deposit(1, 0.0, 120.0)];
    let bow = run(&films[..2], FilmModulus::Beam, &pair)
        .and_then(|history| history.state_at(1, 20.0))
        .expect("sound");
    let flat =
        run(&films, FilmModulus::Beam, &[pair[0].clone(), pair[1].clone(), bond(2, 20.0)]).expect("sound");
    let bowed = run(&films, FilmModulus::Beam, &[pair[0].clone(), pair[1].clone(), deposit(2, 0.0, 20.0)])
        .expect("sound");
    // Laid down on the bow nothing moves; bonded flat, the new half of twice the stiffness holds most of the bow down:
    // of equal halves each with EI, the whole has 8 EI.
    assert!((last(&bowed).curvature_per_um / bow.curvature_per_um - 1.0).abs() < 1e-12);
    assert!((last(&flat).curvature_per_um * 8.0 / bow.curvature_per_um - 1.0).abs() < 1e-12);
}

#[test]
fn a_core_with_filled_sides_is_born_in_two_deposits() {
    let film = |name: &str, bottom_um, top_um, share, modulus_mpa, ppm: f64| Film {
        name: name.to_owned(),
        bottom_um,
        top_um,
        share,
        modulus_mpa,
        poisson: 0.3,
        cte_per_k: 1e-6 * ppm,
    };
    let films = [
        film("handle", -500.0, 0.0, 1.0, 160e3, 2.6),
        film("core", 0.0, 2.0, 0.2, 16e3, 22.0),
        film("sides", 0.0, 2.0, 0.8, 4e3, 52.0),
        film("cover", 2.0, 5.0, 1.0, 4e3, 52.0),
    ];
    let cover = [2, 3].map(|film| Birth { film, intrinsic_mpa: 0.0 });
    let steps = [
        deposit(0, 0.0, 20.0),
        deposit(1, 0.0, 110.0),
        Step::Deposit { films: cover.to_vec(), temperature_c: 150.0 },
        Step::Bring { temperature_c: 20.0 },
        Step::Remove { films: vec![0] },
    ];
    let history = run(&films, FilmModulus::Biaxial, &steps).expect("sound");
    assert_eq!(history.states[4].present, [1, 2, 3]);
    // Released, the wide polymer wants to be shorter than the core: the core is compressed.
    assert!(history.states[4].film(1).expect("it is there").stress_bottom_mpa < -10.0);
    // The interface under the cover takes the full width, that around the core only the top of it.
    let whole = history.delamination_bound(4, 20.0, &[1, 2]).expect("an interface");
    let core = history.delamination_bound(3, 20.0, &[0, 1]).expect("an interface");
    assert!(whole > 0.0 && core > 0.0);
    // With the core wider by half, it does not fit.
    let mut wide = films.clone();
    wide[1].share = 0.3;
    let fault = run(&wide, FilmModulus::Biaxial, &steps).expect_err("more than the width");
    assert!(
        matches!(fault, ProcessError::TooWide { step: 2, value, .. } if (value - 1.1).abs() < 1e-12),
        "{fault}"
    );
}

fn wafer_and_film() -> Vec<Film> {
    stacked(-525.0, &[(525.0, 160e3, 0.22, 2.6), (2.0, 4e3, 0.3, 50.0)])
}

fn fault(change: impl FnOnce(&mut Vec<Film>, &mut Vec<Step>)) -> ProcessError {
    let mut films = wafer_and_film();
    let mut steps = vec![deposit(0, 0.0, 20.0), deposit(1, 0.0, 120.0), Step::Bring { temperature_c: 20.0 }];
    change(&mut films, &mut steps);
    run(&films, FilmModulus::Biaxial, &steps).expect_err("a faulty process")
}

#[test]
fn faulty_films_are_named() {
    let field = |change: fn(&mut Film)| match fault(|films, _| change(&mut films[1])) {
        ProcessError::Film { film: 1, field, value, .. } => (field, value),
        other => panic!("{other}"),
    };
    assert_eq!(field(|film| film.top_um = film.bottom_um), (FilmField::Thickness, 0.0));
    assert_eq!(field(|film| film.modulus_mpa = -2.0), (FilmField::Modulus, -2.0));
    assert_eq!(field(|film| film.poisson = 0.5), (FilmField::Poisson, 0.5));
    assert_eq!(field(|film| film.share = 1.5), (FilmField::Share, 1.5));
    assert_eq!(field(|film| film.cte_per_k = f64::INFINITY).0, FilmField::Expansion);
    assert_eq!(field(|film| film.top_um = f64::NAN).0, FilmField::Top);
    let text = fault(|films, _| films[1].poisson = 0.5).to_string();
    assert_eq!(text, "Poisson's ratio of film 1 is 0.5; it must be above -1 and below 0.5");
    assert!(matches!(
        fault(|_, steps| steps[1] = deposit(1, f64::NAN, 120.0)),
        ProcessError::Film { film: 1, field: FilmField::Intrinsic, .. }
    ));
}

#[test]
fn faulty_steps_are_named() {
    assert_eq!(
        fault(|_, steps| steps[1] = deposit(1, 0.0, -280.0)),
        ProcessError::Temperature { step: 1, value_c: -280.0 }
    );
    assert!(matches!(
        fault(|_, steps| steps.push(deposit(1, 0.0, 20.0))),
        ProcessError::BornTwice { step: 3, film: 1, first: 1, .. }
    ));
    assert!(matches!(
        fault(|_, steps| drop(steps.remove(1))),
        ProcessError::NeverBorn { film: 1, steps: 2, .. }
    ));
    assert!(matches!(
        fault(|_, steps| steps.insert(1, Step::Remove { films: vec![1] })),
        ProcessError::NotPresent { step: 1, film: 1, .. }
    ));
    assert_eq!(
        fault(|_, steps| steps.push(Step::Remove { films: vec![0, 1] })),
        ProcessError::NothingLeft { step: 3 }
    );
    assert_eq!(
        fault(|_, steps| steps.insert(0, Step::Bring { temperature_c: 20.0 })),
        ProcessError::NothingLeft { step: 0 }
    );
    assert_eq!(fault(|_, steps| steps.clear()), ProcessError::NoSteps);
    assert_eq!(
        fault(|_, steps| steps.push(deposit(2, 0.0, 20.0))),
        ProcessError::NoSuchFilm { step: 3, film: 2, count: 2 }
    );
    let apart = fault(|films, _| films[1].bottom_um = 0.5);
    assert!(
        matches!(apart, ProcessError::NotTouching { step: 1, film: 1, gap_um, .. } if gap_um == 0.5),
        "{apart}"
    );
    // Taking the middle away would leave two parts that the balance would still tie to each other.
    let halves = fault(|films, steps| {
        films.push(Film { name: "cap".to_owned(), bottom_um: 2.0, top_um: 3.0, ..films[1].clone() });
        steps.push(deposit(2, 0.0, 20.0));
        steps.push(Step::Remove { films: vec![1] });
    });
    assert!(matches!(halves, ProcessError::NotTouching { step: 4, film: 2, .. }), "{halves}");
    let huge = fault(|films, _| films[1].modulus_mpa = 1e308);
    assert!(matches!(huge, ProcessError::OutOfNumbers { .. }), "{huge}");
}

#[test]
fn states_are_asked_for_within_the_process() {
    let films = wafer_and_film();
    let history =
        run(&films, FilmModulus::Biaxial, &[deposit(0, 0.0, 20.0), deposit(1, 0.0, 120.0)]).expect("sound");
    assert_eq!(history.state_at(2, 20.0), Err(ProcessError::NoSuchStep { step: 2, steps: 2 }));
    assert_eq!(history.state_at(1, -300.0), Err(ProcessError::Temperature { step: 1, value_c: -300.0 }));
    let bent = history.wrapped(1, 20.0, f64::INFINITY);
    assert_eq!(bent, Err(ProcessError::Curvature { value_per_um: f64::INFINITY }));
    for below in [&[][..], &[0, 1]] {
        let fault = history.delamination_bound(1, 20.0, below).expect_err("no interface");
        assert!(matches!(fault, ProcessError::NoInterface { step: 1, present: 2, .. }), "{fault}");
    }
    let absent = history.delamination_bound(0, 20.0, &[1]).expect_err("it is not born yet");
    assert!(matches!(absent, ProcessError::NotPresent { step: 0, film: 1, .. }), "{absent}");
}

#[test]
fn a_wide_sheet_rolls() {
    let history =
        run(&wafer_and_film(), FilmModulus::Biaxial, &[deposit(0, 0.0, 20.0), deposit(1, 0.0, 220.0)])
            .expect("sound");
    let cold = history.state_at(1, 20.0).expect("sound");
    let number = cold.roll_number(1e5);
    assert!((number - 1e10 * cold.curvature_per_um.abs() / 527.0).abs() < 1e-12 * number);
}
