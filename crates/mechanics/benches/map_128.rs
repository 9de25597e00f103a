//! A map of 128 × 128 designs on one thread, shapes and all: amplitude against width, and amplitude against pitch.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_geometry::{ArmDrive, Family, Quarter};
use ogee_mechanics::{CellProblem, LayerSpan, ManyProblem, ManyResults, ManySettings, ManySolver, Strips};

/// Points along each side of the map.
const SIDE: u32 = 128;

/// Pitch, amplitude and width of a point, in µm.
type Point = [f64; 3];

fn points(of: impl Fn(f64, f64) -> Point) -> Vec<Point> {
    let share = |i: u32| f64::from(i) / f64::from(SIDE - 1);
    (0..SIDE * SIDE).map(|i| of(share(i % SIDE), share(i / SIDE))).collect()
}

/// Everything a map does for its mechanics: shapes, sections and equilibrium at 40 % of stretch.
fn map(family: Family, points: &[Point], solver: &mut ManySolver, results: &mut ManyResults) -> f64 {
    let quarters: Vec<_> = points
        .iter()
        .map(|&[pitch_um, amplitude_um, _]| {
            Quarter::new(family, pitch_um, amplitude_um).expect("the shape is possible")
        })
        .collect();
    let sections: Vec<_> = points
        .iter()
        .map(|&[_, _, width_um]| {
            let strips = Strips::homogeneous(width_um).expect("the width is positive");
            (strips, [LayerSpan::centred(width_um)])
        })
        .collect();
    let problems: Vec<_> = quarters
        .iter()
        .zip(&sections)
        .map(|(quarter, (strips, layers))| ManyProblem {
            cell: CellProblem { quarter, strips, stretch: 0.4 },
            layers,
        })
        .collect();
    solver.solve_many(&problems, results);
    (0..points.len()).filter_map(|i| results.peaks(i).first()).map(|peaks| peaks.tensile).fold(0.0, f64::max)
}

fn map_128(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("map_128");
    group.sample_size(20);
    let by_width = points(|x, y| [400.0, 110.0 + 90.0 * x, 4.0 + 20.0 * y]);
    let by_pitch = points(|x, y| [350.0 + 150.0 * x, 130.0 + 60.0 * y, 10.0]);
    let arm = Family::ArcAndArm(ArmDrive::Radius { radius_um: 60.0 });
    for (name, family) in [
        ("sine", Family::Sine),
        ("arc", Family::Arc),
        ("arc and arm", arm),
        ("sine-generated", Family::SineGenerated),
        ("clothoid", Family::Clothoid { plateau_share: 0.3 }),
    ] {
        for (axes, points) in [("amplitude, width", &by_width), ("pitch, amplitude", &by_pitch)] {
            for (kind, settings) in [
                ("strain", ManySettings::default()),
                (
                    "strain and path",
                    ManySettings { least_elements: 4, wants_path: true, ..ManySettings::default() },
                ),
            ] {
                let mut solver = ManySolver::new(settings);
                let mut results = ManyResults::default();
                group.bench_function(format!("{name}: {axes}, {kind}"), |bencher| {
                    bencher.iter(|| map(family, black_box(points), &mut solver, &mut results));
                });
            }
        }
    }
    group.finish();
}

criterion_group!(benches, map_128);
criterion_main!(benches);
