//! Heat, release, cracks and wrinkles of layers against an independent history and finite elements.

use ogee_stack::{
    Birth, ChannelCrack, CrackBase, CrackVerdict, Film, FilmModulus, FilmState, History, Solid, Step,
    Wrinkle, bimetal_curvature_per_um, crack_factor, dundurs_alpha, multilayer_curvature, run,
    stoney_stress_mpa, wrinkle_length_um, wrinkle_strain,
};
use ogee_tests::{Case, Checks, table};
use serde::Deserialize;

/// A layer of a process as the table lists it.
#[derive(Clone, Debug, Deserialize)]
struct Layer {
    name: String,
    thickness_um: f64,
    modulus_mpa: f64,
    poisson: f64,
    cte_ppm_per_k: f64,
    birth_temperature_c: f64,
    intrinsic_stress_mpa: f64,
}

/// The layers of a case and its steps: one birth each, then the final temperature, then the removal if there is one.
struct Process {
    layers: Vec<Layer>,
    films: Vec<Film>,
    modulus: FilmModulus,
    final_c: f64,
    /// The step that reached the final temperature.
    cold: usize,
    history: History,
}

fn process(case: &Case) -> Process {
    let layers: Vec<Layer> =
        serde_json::from_value(case.inputs["layers"].clone()).expect("the table lists layers");
    let mut top_um = 0.0;
    let films: Vec<Film> = layers
        .iter()
        .map(|layer| {
            let bottom_um = top_um;
            top_um += layer.thickness_um;
            Film {
                name: layer.name.clone(),
                bottom_um,
                top_um,
                share: 1.0,
                modulus_mpa: layer.modulus_mpa,
                poisson: layer.poisson,
                cte_per_k: 1e-6 * layer.cte_ppm_per_k,
            }
        })
        .collect();
    let mut steps: Vec<Step> = layers
        .iter()
        .enumerate()
        .map(|(film, layer)| Step::Deposit {
            films: vec![Birth { film, intrinsic_mpa: layer.intrinsic_stress_mpa }],
            temperature_c: layer.birth_temperature_c,
        })
        .collect();
    let cold = steps.len();
    let final_c = case.number("final_temperature_c");
    steps.push(Step::Bring { temperature_c: final_c });
    if case.inputs.contains_key("removed_layers") {
        let films: Vec<usize> = case.numbers("removed_layers").iter().map(|&index| index as usize).collect();
        if !films.is_empty() {
            steps.push(Step::Remove { films });
        }
    }
    let modulus = match case.text("modulus_kind") {
        "biaxial" => FilmModulus::Biaxial,
        "beam" => FilmModulus::Beam,
        other => panic!("no modulus \"{other}\""),
    };
    let history = run(&films, modulus, &steps).expect("the table holds sound processes");
    Process { layers, films, modulus, final_c, cold, history }
}

fn stresses(films: &[FilmState]) -> Vec<f64> {
    films.iter().flat_map(|film| [film.stress_bottom_mpa, film.stress_top_mpa]).collect()
}

fn check_history(case: &Case, checks: &mut Checks<'_>) {
    let Process { layers, films, modulus, final_c, cold, history } = process(case);
    let state = &history.states[cold];
    checks.number("strain_bottom", state.base_strain);
    checks.number("curvature_per_um", state.curvature_per_um);
    checks.numbers("stress_faces_mpa", &stresses(&state.films));
    checks.number_if_expected("fem_curvature_per_um", state.curvature_per_um);
    let expects = |key: &str| case.expected.contains_key(key);
    let change_k = final_c - layers[0].birth_temperature_c;
    if expects("timoshenko_curvature_per_um") {
        let strip = bimetal_curvature_per_um(&films[0], &films[1], change_k).expect("sound layers");
        checks.number("timoshenko_curvature_per_um", strip);
    }
    if expects("stoney_stress_mpa") {
        let read_mpa = stoney_stress_mpa(&films[0], films[1].thickness_um(), state.curvature_per_um);
        checks.number("stoney_stress_mpa", read_mpa.expect("a sound wafer"));
    }
    if expects("hsueh_t_b_um") {
        let closed = multilayer_curvature(&films[0], &films[1..], modulus, change_k).expect("sound layers");
        checks.number("hsueh_uniform_strain", closed.uniform_strain);
        checks.number("hsueh_t_b_um", closed.bending_axis_um);
        checks.number("curvature_per_um", closed.curvature_per_um);
    }
    if expects("released_curvature_per_um") {
        let released = &history.states[cold + 1];
        checks.number("released_strain_bottom", released.base_strain);
        checks.number("released_curvature_per_um", released.curvature_per_um);
        checks.numbers("released_stress_faces_mpa", &stresses(&released.films));
        if expects("fem_curl_by_width_per_um") {
            let count = case.numbers("width_over_thickness").len();
            checks.numbers("fem_curl_by_width_per_um", &vec![released.curvature_per_um; count]);
        }
    }
    if let Some(radius_um) = case.maybe_number("wrap_radius_um") {
        assert_eq!(case.text("contact_face"), "bottom");
        let released = &history.states[cold + 1];
        let contact_um = films[released.present[0]].bottom_um;
        let curvature_per_um = 1.0 / (radius_um + released.neutral_plane_um - contact_um);
        checks.number("wrapped_curvature_per_um", curvature_per_um);
        let bent = history.wrapped(cold + 1, final_c, curvature_per_um).expect("a sound step");
        let strains: Vec<f64> =
            bent.films.iter().flat_map(|film| [film.strain_bottom, film.strain_top]).collect();
        checks.numbers("wrapped_strain_faces", &strains);
    }
}

#[test]
fn histories_of_the_table() {
    table("stack_thermal").check("history", 9, check_history);
}

#[test]
fn energies_of_the_table() {
    table("stack_thermal").check("delamination", 2, |case, checks| {
        let Process { final_c, cold, history, .. } = process(case);
        let below: Vec<usize> = (0..case.number("interface_below_layer") as usize).collect();
        let bound = history.delamination_bound(cold, final_c, &below).expect("an interface");
        checks.number("energy_bound_un_per_um", bound);
    });
}

/// The material of the inputs `ROLE_modulus_mpa` and `ROLE_poisson`.
fn solid(case: &Case, role: &str) -> Solid {
    let number = |key: &str| case.number(&format!("{role}_{key}"));
    Solid::new(number("modulus_mpa"), number("poisson")).expect("the table holds sound materials")
}

#[test]
fn cracks_of_the_table() {
    table("stack_thermal").check("crack", 3, |case, checks| {
        let (film, base) = (solid(case, "film"), solid(case, "substrate"));
        let alpha = dundurs_alpha(&film, &base);
        checks.number("dundurs_alpha", alpha);
        let crack = ChannelCrack {
            film,
            thickness_um: case.number("film_thickness_um"),
            stress_mpa: case.number("film_stress_mpa"),
            toughness_mpa_sqrt_m: case.number("film_toughness_mpa_sqrt_m"),
            base: CrackBase::Deep(base),
        };
        let verdict = crack.verdict().expect("sound values");
        let CrackVerdict::Numbers(numbers) = verdict else { panic!("{verdict}") };
        checks.number("z_factor", numbers.factor);
        checks.number("driving_force_un_per_um", numbers.driving_un_per_um);
        checks.number("toughness_un_per_um", numbers.toughness_un_per_um);
        checks.number("critical_thickness_um", numbers.critical_thickness_um);
    });
}

#[test]
fn crack_factors_of_the_table() {
    table("stack_thermal").check("crack-factor", 2, |case, checks| {
        let factor = |&alpha: &f64| crack_factor(alpha).expect("the table stays within the range");
        let factors: Vec<f64> = case.numbers("alpha").iter().map(factor).collect();
        checks.numbers("z_factor", &factors);
    });
    table("stack_thermal").check("crack-buffered", 8, |case, checks| {
        let factor = |&thickness_um: &f64| {
            let crack = ChannelCrack {
                film: solid(case, "film"),
                thickness_um: case.number("film_thickness_um"),
                stress_mpa: 1.0,
                toughness_mpa_sqrt_m: 1.0,
                base: CrackBase::Buffered {
                    buffer: solid(case, "buffer"),
                    thickness_um,
                    carrier: solid(case, "carrier"),
                },
            };
            match crack.verdict().expect("sound values") {
                CrackVerdict::Numbers(numbers) => numbers.factor,
                other => panic!("{other}"),
            }
        };
        let factors: Vec<f64> = case.numbers("buffer_thickness_um").iter().map(factor).collect();
        checks.numbers("z_factor", &factors);
    });
}

#[test]
fn wrinkles_of_the_table() {
    table("stack_thermal").check("wrinkle", 1, |case, checks| {
        let (film, base) = (solid(case, "film"), solid(case, "substrate"));
        let thickness_um = case.number("film_thickness_um");
        checks.number("wrinkle_strain", wrinkle_strain(&film, &base).expect("sound values"));
        let length_um = wrinkle_length_um(&film, thickness_um, &base).expect("sound values");
        checks.number("wrinkle_length_um", length_um);
    });
    table("stack_thermal").check("wrinkle-stack", 1, |case, checks| {
        let layers = case.inputs["layers"].as_array().expect("the table lists layers");
        let plies: Vec<(Solid, f64)> = layers
            .iter()
            .map(|layer| {
                let number = |key: &str| layer[key].as_f64().expect("a number");
                let solid = Solid::new(number("modulus_mpa"), number("poisson"));
                (solid.expect("the table holds sound materials"), number("thickness_um"))
            })
            .collect();
        let wrinkle = Wrinkle::of_stack(&plies, &solid(case, "substrate")).expect("sound values");
        checks.number("wrinkle_strain", wrinkle.strain);
        checks.number("wrinkle_length_um", wrinkle.length_um);
    });
}

/// A film on a base of thickness 1, both with a Poisson's ratio of 0; `ratio` is that of their moduli.
fn pair(thickness_ratio: f64, ratio: f64, cte_per_k: f64) -> [Film; 2] {
    let film = |name: &str, bottom_um, top_um, modulus_mpa, cte_per_k| Film {
        name: name.to_owned(),
        bottom_um,
        top_um,
        share: 1.0,
        modulus_mpa,
        poisson: 0.0,
        cte_per_k,
    };
    [film("base", -1.0, 0.0, 1000.0, 0.0), film("film", 0.0, thickness_ratio, 1000.0 * ratio, cte_per_k)]
}

fn deposited(films: &[Film], modulus: FilmModulus, intrinsic_mpa: f64) -> History {
    let deposit = |film, intrinsic_mpa| Step::Deposit {
        films: vec![Birth { film, intrinsic_mpa }],
        temperature_c: 20.0,
    };
    run(films, modulus, &[deposit(0, 0.0), deposit(1, intrinsic_mpa)]).expect("a sound process")
}

#[test]
fn published_bimetals() {
    table("stack_thermal").check("published-bimetal", 3, |case, checks| {
        let films = pair(1.0, 1.0 / case.number("modulus_ratio"), 1e-5);
        let (change_k, height_um, key) = (100.0, 2.0, "curvature_times_thickness_over_mismatch");
        let closed = bimetal_curvature_per_um(&films[0], &films[1], change_k).expect("sound layers");
        checks.number(key, closed * height_um / 1e-3);
        let history = deposited(&films, FilmModulus::Beam, 0.0);
        let state = history.state_at(1, 20.0 + change_k).expect("a sound temperature");
        checks.number(key, state.curvature_per_um * height_um / 1e-3);
    });
}

#[test]
fn published_corrections_of_the_thin_film() {
    table("stack_thermal").check("published-stoney", 4, |case, checks| {
        let films = pair(case.number("thickness_ratio"), case.number("modulus_ratio"), 0.0);
        let history = deposited(&films, FilmModulus::Biaxial, 2.0);
        let film_um = films[1].thickness_um();
        let read_mpa = stoney_stress_mpa(&films[0], film_um, history.states[1].curvature_per_um);
        checks.number("curvature_over_stoney_curvature", read_mpa.expect("a sound base") / 2.0);
    });
}

#[test]
fn published_cracks() {
    table("stack_thermal").check("published-factor", 1, |case, checks| {
        let factor = |&alpha: &f64| crack_factor(alpha).expect("within the range");
        checks.numbers("z_factor", &case.numbers("alpha").iter().map(factor).collect::<Vec<_>>());
    });
    table("stack_thermal").check("published-debond", 1, |case, checks| {
        let films = pair(case.number("thickness_ratio"), 1.0, 0.0);
        let history = deposited(&films, FilmModulus::PlaneStrain, 2.0);
        let bound = history.delamination_bound(1, 20.0, &[0]).expect("an interface");
        let scale = 4.0 * films[1].thickness_um() / films[1].modulus_mpa;
        checks.number("energy_bound_times_modulus_over_stress_squared", bound / scale);
    });
}

#[test]
fn every_case_is_run() {
    table("stack_thermal").check_kinds(&[
        "history",
        "crack",
        "delamination",
        "wrinkle",
        "wrinkle-stack",
        "crack-factor",
        "crack-buffered",
        "published-bimetal",
        "published-stoney",
        "published-factor",
        "published-debond",
    ]);
}
