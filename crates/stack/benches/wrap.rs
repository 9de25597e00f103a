//! Speed of what a change of a stack waits for.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_stack::{ContactFace, Layer, ModulusKind, PlyLimit, Section, Wrap};

fn six_layers() -> Section {
    let layer = |(thickness_um, modulus_mpa, poisson)| {
        Layer::new("layer", 60.0, thickness_um, modulus_mpa, poisson).into()
    };
    let layers = [
        (12.0, 2500.0, 0.34),
        (0.3, 117_000.0, 0.34),
        (20.0, 1.8, 0.49),
        (4.0, 4000.0, 0.25),
        (1.0, 16_000.0, 0.24),
        (2.0, 4000.0, 0.25),
    ];
    Section::new(60.0, layers.map(layer).to_vec()).expect("the layers are sound")
}

fn wrap(c: &mut Criterion) {
    let plies = six_layers().plies();
    let solved =
        || Wrap::new(black_box(&plies), ModulusKind::PlaneStrain, 3000.0).expect("the plies are sound");
    c.bench_function("wrap of 6 plies", |b| b.iter(|| solved().at(2000.0, ContactFace::Bottom)));
    let wrap = solved();
    c.bench_function("another cylinder", |b| b.iter(|| wrap.at(black_box(1500.0), ContactFace::Top)));
    let limits: Vec<PlyLimit> =
        (0..6).map(|ply| PlyLimit { ply, tension: 0.01, compression: Some(0.02) }).collect();
    c.bench_function("least radius", |b| {
        b.iter(|| wrap.least_radius(ContactFace::Bottom, black_box(&limits), 1e-3));
    });
}

fn section(c: &mut Criterion) {
    let section = six_layers();
    c.bench_function("torsion of 6 layers", |b| b.iter(|| black_box(&section).torsion_un_um2()));
    c.bench_function("bending at a radius", |b| {
        b.iter(|| black_box(&section).bending_stiffness_at_radius(2000.0));
    });
}

criterion_group!(benches, wrap, section);
criterion_main!(benches);
