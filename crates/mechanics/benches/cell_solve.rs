//! One cell, and many in lanes: time per design.

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use ogee_geometry::{ArmDrive, Family, Quarter};
use ogee_mechanics::{
    CellProblem, CellSolver, LayerSpan, LinearEstimate, ManyProblem, ManyResults, ManySettings, ManySolver,
    Strips,
};

/// Designs in lanes per measurement.
const DESIGNS: u32 = 256;

fn shapes() -> [(&'static str, Quarter); 3] {
    let arm = Family::ArcAndArm(ArmDrive::Radius { radius_um: 70.0 });
    [
        ("arc and arm", arm, 150.0),
        ("sine-generated", Family::SineGenerated, 150.0),
        ("sine", Family::Sine, 150.0),
    ]
    .map(|(name, family, amplitude_um)| {
        (name, Quarter::new(family, 400.0, amplitude_um).expect("the shape is possible"))
    })
}

fn scalar(criterion: &mut Criterion) {
    let strips = Strips::homogeneous(10.0).expect("the width is positive");
    let mut group = criterion.benchmark_group("cell_solve/scalar");
    for (name, quarter) in shapes() {
        let problem = CellProblem { quarter: &quarter, strips: &strips, stretch: 0.4 };
        let mut solver = CellSolver::new();
        group.bench_function(name, |bencher| bencher.iter(|| solver.solve(black_box(&problem), None)));
    }
    let [(_, quarter), ..] = shapes();
    group.bench_function("linear estimate", |bencher| {
        bencher.iter(|| LinearEstimate::new(black_box(&quarter), &strips));
    });
    group.finish();
}

fn lanes(criterion: &mut Criterion) {
    let layers = [LayerSpan::centred(10.0)];
    let strips = Strips::homogeneous(10.0).expect("the width is positive");
    let mut group = criterion.benchmark_group("cell_solve/lanes");
    group.throughput(Throughput::Elements(u64::from(DESIGNS)));
    for (name, quarter) in shapes() {
        let problems: Vec<_> = (0..DESIGNS)
            .map(|i| 0.2 + 0.3 * f64::from(i) / f64::from(DESIGNS))
            .map(|stretch| CellProblem { quarter: &quarter, strips: &strips, stretch })
            .map(|cell| ManyProblem { cell, layers: &layers })
            .collect();
        for least_elements in [2, 4] {
            let settings = ManySettings { least_elements, ..ManySettings::default() };
            let mut solver = ManySolver::new(settings);
            let mut results = ManyResults::default();
            group.bench_function(format!("{name}, {least_elements} elements or more"), |bencher| {
                bencher.iter(|| solver.solve_many(black_box(&problems), &mut results));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, scalar, lanes);
criterion_main!(benches);
