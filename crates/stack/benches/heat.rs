//! Speed of following a process; a study of tolerances runs thousands.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_stack::{Birth, Film, FilmModulus, Step, crack_factor, run};

fn films() -> Vec<Film> {
    let film = |name: &str, bottom_um, top_um, share, modulus_mpa, poisson, ppm: f64| Film {
        name: name.to_owned(),
        bottom_um,
        top_um,
        share,
        modulus_mpa,
        poisson,
        cte_per_k: 1e-6 * ppm,
    };
    vec![
        film("handle", -525.1, -0.1, 1.0, 160e3, 0.22, 2.6),
        film("release layer", -0.1, 0.0, 1.0, 10e3, 0.3, 20.0),
        film("lower epoxy", 0.0, 4.0, 1.0, 4e3, 0.25, 52.0),
        film("core", 4.0, 5.0, 0.2, 16e3, 0.24, 22.0),
        film("sides", 4.0, 5.0, 0.8, 4e3, 0.25, 52.0),
        film("upper epoxy", 5.0, 7.0, 1.0, 4e3, 0.25, 52.0),
    ]
}

fn process(c: &mut Criterion) {
    let films = films();
    let deposit = |numbers: &[usize], temperature_c| Step::Deposit {
        films: numbers.iter().map(|&film| Birth { film, intrinsic_mpa: 0.0 }).collect(),
        temperature_c,
    };
    let steps = [
        deposit(&[0], 25.0),
        deposit(&[1], 25.0),
        deposit(&[2], 150.0),
        deposit(&[3], 110.0),
        deposit(&[4, 5], 120.0),
        Step::Bring { temperature_c: 23.0 },
        Step::Remove { films: vec![0, 1] },
        Step::Bring { temperature_c: 37.0 },
    ];
    c.bench_function("process of six films in eight steps", |b| {
        b.iter(|| run(black_box(&films), FilmModulus::Biaxial, black_box(&steps)));
    });
    let history = run(&films, FilmModulus::Biaxial, &steps).expect("a sound process");
    c.bench_function("state at one temperature", |b| b.iter(|| history.state_at(7, black_box(-20.0))));
    c.bench_function("crack factor", |b| b.iter(|| crack_factor(black_box(0.87))));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = process
}
criterion_main!(benches);
