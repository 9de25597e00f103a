//! What a drag costs: the live assessment, one state for the drawing, and the maps, on the worked sample.

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_design::{
    Caches, Design, MapField, MapSpec, SupportName, Tier, assess, map_fields, period_state, refine_map,
};
use std::hint::black_box;

fn drag(criterion: &mut Criterion) {
    let design = Design::sample();
    let checked = design.check().expect("the sample is possible");
    let mut caches = Caches::new();
    let mut group = criterion.benchmark_group("drag");
    group.bench_function("check", |b| b.iter(|| black_box(&design).check()));
    group.bench_function("assess", |b| {
        b.iter(|| assess(black_box(&checked), Tier::Live, &mut caches, &|| true));
    });
    // The same design without wrap, process, life and islands: what these add.
    let mut plain = design.clone();
    (plain.duty.wrap, plain.process, plain.life, plain.islands) = (None, None, None, None);
    group.bench_function("check, pull and light alone", |b| b.iter(|| black_box(&plain).check()));
    let plain = plain.check().expect("the sample is possible without its sections");
    group.bench_function("assess, pull and light alone", |b| {
        b.iter(|| assess(black_box(&plain), Tier::Live, &mut caches, &|| true));
    });
    group.bench_function("state", |b| b.iter(|| period_state(black_box(&checked), 0.3, &mut caches)));
    group.finish();

    let mut group = criterion.benchmark_group("map");
    group.sample_size(10);
    for (size, field) in [
        (32, MapField::AllLimits),
        (128, MapField::AllLimits),
        (128, MapField::InsertionLoss),
        (128, MapField::StrainMargin),
    ] {
        let spec = MapSpec::of(&design, size, size);
        let fields = [field];
        group.bench_function(format!("{} {size} × {size}", field.label()), |b| {
            b.iter(|| map_fields(black_box(&checked), &spec, &fields, &mut caches, &|| true, &mut |_, _| {}));
        });
    }
    group.finish();
}

/// The full models: one design, each way it can be held, and a map of the buckled ribbon.
fn full(criterion: &mut Criterion) {
    let mut caches = Caches::new();
    let mut group = criterion.benchmark_group("full");
    group.sample_size(10);
    for kind in SupportName::ALL {
        let mut design = Design::sample();
        design.support.kind = kind;
        design.support.elastomer = (kind == SupportName::Bonded).then(Default::default);
        let checked = design.check().expect("the sample is possible however it is held");
        group.bench_function(format!("assess, {}", kind.label()), |b| {
            b.iter(|| assess(black_box(&checked), Tier::Full, &mut caches, &|| true));
        });
    }
    let design = Design::sample();
    let checked = design.check().expect("the sample is possible");
    let spec = MapSpec::of(&design, 32, 32);
    let live = map_fields(&checked, &spec, &[MapField::StrainMargin], &mut caches, &|| true, &mut |_, _| {});
    let live = live.expect("nobody stopped it");
    group.bench_function("strain margin 32 × 32, every cell in space", |b| {
        b.iter(|| refine_map(&checked, black_box(&live), 1, &mut caches, &|| true, &mut |_, _| {}));
    });
    group.finish();
}

criterion_group!(benches, drag, full);
criterion_main!(benches);
