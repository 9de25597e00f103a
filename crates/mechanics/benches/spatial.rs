//! Cost of the ribbon in space: the branch from its onset, a warm restart, and the search for other states.

#![allow(clippy::unwrap_used, reason = "a benchmark stops at what it cannot solve")]
#![allow(missing_docs, reason = "criterion's macros make undocumented functions")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_geometry::{Centreline, Ends, Family, Quarter};
use ogee_mechanics::{
    BuckledPath, EndMotion, Onset, OnsetProblem, OutOfPlane, RibbonSolver, SearchEffort, SpatialProblem,
    SpatialSolver, Strips, onset,
};

struct Design {
    line: Centreline,
    strips: Strips,
    out: OutOfPlane,
}

impl Design {
    /// Polyimide, 5 µm wide, with a pitch of 100 µm and an amplitude of 40 µm.
    fn new(periods: u32, thickness_um: f64) -> Self {
        Self::of(Family::SineGenerated, 40.0, periods, thickness_um)
    }

    fn of(family: Family, amplitude_um: f64, periods: u32, thickness_um: f64) -> Self {
        let quarter = Quarter::new(family, 100.0, amplitude_um).unwrap();
        Self {
            line: Centreline::new(quarter, periods, Ends::Crossing, 0.0, None).unwrap(),
            strips: Strips::new(&[(2500.0 * thickness_um, 5.0)]).unwrap(),
            out: OutOfPlane::homogeneous(5.0, thickness_um, 2500.0, 0.34).unwrap(),
        }
    }

    fn at(&self, stretch: f64) -> SpatialProblem<'_> {
        SpatialProblem {
            line: &self.line,
            strips: &self.strips,
            out: &self.out,
            motion: EndMotion::stretch(stretch),
            curl_per_um: 0.0,
        }
    }

    fn onset(&self, stretch: f64) -> Onset {
        let problem = OnsetProblem {
            line: &self.line,
            strips: &self.strips,
            out: &self.out,
            foundation_mpa: 0.0,
            up_to: EndMotion::stretch(stretch),
        };
        onset(&mut RibbonSolver::new(), &problem).unwrap().unwrap()
    }
}

fn branch(c: &mut Criterion) {
    for periods in [1, 2, 10] {
        let design = Design::new(periods, 0.5);
        let start = design.onset(0.3);
        let mut solver = SpatialSolver::new();
        c.bench_function(&format!("branch to 30 %, {periods} periods"), |b| {
            b.iter(|| solver.buckled(&design.at(0.3), black_box(&start), &|| true).unwrap());
        });
    }
}

fn restart(c: &mut Criterion) {
    for periods in [1, 2, 10] {
        let (thin, thick) = (Design::new(periods, 0.5), Design::new(periods, 0.6));
        let mut solver = SpatialSolver::new();
        let state =
            solver.buckled(&thin.at(0.3), &thin.onset(0.3), &|| true).unwrap().unwrap().solution.state;
        c.bench_function(&format!("restart at 1.2 of the thickness, {periods} periods"), |b| {
            b.iter(|| solver.solve_at(&thick.at(0.3), black_box(&state)).unwrap());
        });
    }
}

fn path(c: &mut Criterion) {
    let design = Design::new(2, 0.5);
    let start = design.onset(0.4);
    let mut solver = SpatialSolver::new();
    let path =
        BuckledPath::follow(&mut solver, &design.at(0.4), Some(&start), 0.0, &|| true).unwrap().unwrap();
    c.bench_function("state from a path, 2 periods", |b| {
        b.iter(|| path.at(&mut solver, black_box(0.217)).unwrap());
    });
    c.bench_function("shape from a path, 2 periods", |b| {
        b.iter(|| path.drawn_at(&solver, black_box(0.217), 8).unwrap());
    });
}

fn states(c: &mut Criterion) {
    let design = Design::new(1, 0.5);
    let mut solver = SpatialSolver::new();
    for (name, effort) in [("quick", SearchEffort::Quick), ("full", SearchEffort::Full)] {
        c.bench_function(&format!("{name} search for states, 1 period"), |b| {
            b.iter(|| solver.stable_states(&design.at(0.3), None, &[], effort, &|| true).unwrap());
        });
    }
}

/// The design and the state that `tests/reference/rod_timing.py` times, to 1e-5 of the energy on ten elements.
fn semicircles(c: &mut Criterion) {
    let design = Design::of(Family::Arc, 25.0, 1, 1.0);
    c.bench_function("onset of semicircles", |b| b.iter(|| black_box(&design).onset(0.2)));
    let start = design.onset(0.2);
    for elements in [4, 10] {
        let mut solver = SpatialSolver::with_elements_per_quarter(elements);
        c.bench_function(&format!("branch to 20 % of semicircles, {elements} elements per quarter"), |b| {
            b.iter(|| solver.buckled(&design.at(0.2), black_box(&start), &|| true).unwrap());
        });
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10).measurement_time(std::time::Duration::from_secs(2));
    targets = branch, restart, path, states, semicircles
}
criterion_main!(benches);
