//! Whole ribbons in their plane, and the onset of buckling out of it.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};
use ogee_mechanics::{
    EndMotion, OnsetProblem, OutOfPlane, RibbonProblem, RibbonSolver, SecondVariation, Strips, onset,
};

fn line(periods: u32) -> Centreline {
    let family = Family::ArcAndArm(ArmDrive::Radius { radius_um: 70.0 });
    let quarter = Quarter::new(family, 400.0, 150.0).expect("the shape is possible");
    Centreline::new(quarter, periods, Ends::Crossing, 0.0, None).expect("the ribbon is possible")
}

fn planar(criterion: &mut Criterion) {
    let strips = Strips::homogeneous(10.0).expect("the width is positive");
    let wider = Strips::homogeneous(11.0).expect("the width is positive");
    let motion = EndMotion::stretch(0.4);
    let mut group = criterion.benchmark_group("ribbon/planar");
    for periods in [1, 5, 50] {
        let line = line(periods);
        let problem = RibbonProblem { line: &line, strips: &strips, motion };
        let mut solver = RibbonSolver::new();
        group.bench_function(format!("{periods} periods"), |bencher| {
            bencher.iter(|| solver.solve(black_box(&problem), None));
        });
        let state = solver.solve(&problem, None).expect("it has an answer").state;
        let problem = RibbonProblem { strips: &wider, ..problem };
        group.bench_function(format!("{periods} periods, from another width"), |bencher| {
            bencher.iter(|| solver.solve(black_box(&problem), Some(&state)));
        });
    }
    group.finish();
}

fn out_of_plane(criterion: &mut Criterion) {
    let strips = Strips::new(&[(1000.0, 10.0)]).expect("the strip is possible");
    let out = OutOfPlane::homogeneous(10.0, 1.0, 1000.0, 0.3).expect("the section is possible");
    let mut group = criterion.benchmark_group("ribbon/onset");
    for periods in [1, 5, 50] {
        let line = line(periods);
        let up_to = EndMotion::stretch(0.4);
        let problem = OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to };
        let mut solver = RibbonSolver::new();
        group.bench_function(format!("{periods} periods"), |bencher| {
            bencher.iter(|| onset(&mut solver, black_box(&problem)));
        });
        let found = onset(&mut solver, &problem).expect("it has an answer").expect("it buckles");
        group.bench_function(format!("{periods} periods, lowest five modes"), |bencher| {
            bencher.iter(|| {
                SecondVariation::of(black_box(&found.planar), &out, 0.0, 1)
                    .and_then(|form| form.lowest_modes(5))
            });
        });
    }
    group.finish();
}

criterion_group!(benches, planar, out_of_plane);
criterion_main!(benches);
