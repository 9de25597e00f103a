//! Bonded cells and ribbons: time per solve.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_geometry::{Centreline, Ends, Family, Quarter};
use ogee_mechanics::{BondedProblem, BondedRibbonProblem, BondedRibbonSolver, BondedSolver, Strips};

fn quarter() -> Quarter {
    Quarter::new(Family::Arc, 400.0, 120.0).expect("the shape is possible")
}

/// 5 µm of polyimide, 10 µm wide.
fn strips() -> Strips {
    Strips::new(&[(5.0 * 2500.0, 10.0)]).expect("the section is stiff")
}

fn cell(criterion: &mut Criterion) {
    let (quarter, strips) = (quarter(), strips());
    let mut group = criterion.benchmark_group("bonded/cell");
    for foundation in [1e2, 1e4, 1e6] {
        let problem = BondedProblem {
            quarter: &quarter,
            strips: &strips,
            foundation_mpa: foundation * strips.ei_un_um2() / quarter.pitch_um().powi(4),
            substrate_poisson: 0.5,
            stretch: 0.3,
        };
        let mut solver = BondedSolver::new();
        group.bench_function(format!("K = {foundation:e}"), |bencher| {
            bencher.iter(|| solver.solve(black_box(&problem), None));
        });
    }
    group.finish();
}

fn ribbon(criterion: &mut Criterion) {
    let strips = strips();
    let mut group = criterion.benchmark_group("bonded/ribbon");
    for periods in [5, 50] {
        let ribbon = Centreline::new(quarter(), periods, Ends::Crossing, 0.0, None).expect("it has room");
        let problem = BondedRibbonProblem {
            ribbon: &ribbon,
            strips: &strips,
            foundation_mpa: 1e4 * strips.ei_un_um2() / ribbon.quarter().pitch_um().powi(4),
            substrate_poisson: 0.5,
            stretch: 0.3,
        };
        let solver = BondedRibbonSolver::new();
        group.bench_function(format!("{periods} periods"), |bencher| {
            bencher.iter(|| solver.solve(black_box(&problem)));
        });
    }
    group.finish();
}

criterion_group!(benches, cell, ribbon);
criterion_main!(benches);
