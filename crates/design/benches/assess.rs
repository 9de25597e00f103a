//! What a drag costs: the live assessment, one state for the drawing, and the maps, on the worked sample.

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_design::{Caches, Design, MapField, MapSpec, Tier, assess, map_fields, period_state};
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

criterion_group!(benches, drag);
criterion_main!(benches);
