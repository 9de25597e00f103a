//! Speed of what a map or a drag waits for.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use ogee_optics::{
    BendTable, BentSlab, BentSolver, Core, CrossSection, Jump, PathElement, PathSettings, Polarisation, Slab,
    SlabPolarisation, VectorSettings, path_loss,
};

fn slab() -> Slab {
    Slab { wavelength_um: 1.31, width_um: 2.0, n_core: 1.51, n_left: 1.46, n_right: 1.46 }
}

fn straight(c: &mut Criterion) {
    let slab = slab();
    c.bench_function("slab mode", |b| b.iter(|| black_box(&slab).mode(SlabPolarisation::Tm, 0)));
    let core = Core {
        wavelength_um: 1.31,
        width_um: 2.0,
        height_um: 2.0,
        n_core: 1.51,
        n_below: 1.46,
        n_above: 1.46,
        n_side: 1.46,
        side_slab_um: None,
    };
    c.bench_function("effective index", |b| {
        b.iter(|| black_box(&core).effective_index(Polarisation::QuasiTe));
    });
}

fn bent(c: &mut Criterion) {
    let bent = BentSlab::left(&slab(), SlabPolarisation::Tm);
    for order in [6, 8] {
        let mut solver = BentSolver::with_order(order).expect("the order is within 2 to 12");
        c.bench_function(&format!("bent mode, order {order}"), |b| {
            b.iter(|| solver.solve(black_box(&bent), 250.0));
        });
    }
}

fn table(c: &mut Criterion) {
    let slab = slab();
    c.bench_function("bend table, 16 radii", |b| {
        b.iter(|| BendTable::new(black_box(&slab), SlabPolarisation::Tm, None));
    });
    let table = BendTable::new(&slab, SlabPolarisation::Tm, None).expect("the slab guides");
    // A quarter of a sine-like bend, 64 points.
    let curvatures: Vec<f64> =
        (0..64).map(|i| (std::f64::consts::FRAC_PI_2 * (f64::from(i) + 0.5) / 64.0).sin() / 200.0).collect();
    let lengths = vec![6.0; 64];
    c.bench_function("one loss", |b| b.iter(|| table.loss_db_per_um(black_box(0.004))));
    c.bench_function("one transition", |b| {
        b.iter(|| table.transition_db(black_box(0.004), black_box(-0.004)));
    });
    c.bench_function("bend loss of 64 points", |b| {
        b.iter(|| table.bend_loss_db(black_box(&lengths), black_box(&curvatures)));
    });
    let elements: Vec<PathElement> = lengths
        .iter()
        .zip(&curvatures)
        .map(|(&length_um, &curvature_per_um)| PathElement { length_um, curvature_per_um })
        .collect();
    let jumps = [Jump { s_um: 384.0, before_per_um: 0.005, after_per_um: 0.0 }];
    c.bench_function("path loss of 64 points", |b| {
        b.iter(|| path_loss(black_box(&elements), &jumps, &table, &PathSettings::default()));
    });
}

fn vector(c: &mut Criterion) {
    let flat = Core {
        wavelength_um: 1.55,
        width_um: 1.0,
        height_um: 0.4,
        n_core: 1.98,
        n_below: 1.444,
        n_above: 1.444,
        n_side: 1.444,
        side_slab_um: None,
    };
    let rib = Core {
        wavelength_um: 0.85,
        width_um: 1.2,
        height_um: 0.8,
        n_core: 1.58,
        n_below: 1.4525,
        n_above: 1.0,
        n_side: 1.0,
        side_slab_um: Some(0.3),
    };
    for (name, core, radius_um) in [("buried core", flat, 8.0), ("rib", rib, 60.0)] {
        let section = CrossSection::of_core(&core).expect("the section is sound");
        for (grade, settings) in [("coarse", VectorSettings::COARSE), ("standard", VectorSettings::default())]
        {
            c.bench_function(&format!("vector mode, {name}, straight, {grade}"), |b| {
                b.iter(|| black_box(&section).straight_mode_with(Polarisation::QuasiTe, settings));
            });
            c.bench_function(&format!("vector mode, {name}, bent, {grade}"), |b| {
                b.iter(|| {
                    black_box(&section).bent_mode_with(Polarisation::QuasiTe, 1.0 / radius_um, settings)
                });
            });
        }
    }
}

criterion_group!(benches, straight, bent, table, vector);
criterion_main!(benches);
