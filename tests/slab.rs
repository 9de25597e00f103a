//! Straight slabs: modes, cutoff widths, confinement and group index.

use ogee_optics::{Slab, SlabDispersion, SlabPolarisation};
use ogee_tests::{Case, Checks, Tolerance, table};

fn slab(case: &Case) -> Slab {
    Slab {
        wavelength_um: case.number("wavelength_um"),
        width_um: case.number("core_width_um"),
        n_core: case.number("n_core"),
        n_left: case.number("n_substrate"),
        n_right: case.number("n_cover"),
    }
}

fn check(slab: &Slab, checks: &mut Checks<'_>) {
    for (polarisation, key) in [(SlabPolarisation::Te, "te"), (SlabPolarisation::Tm, "tm")] {
        let modes = slab.modes(polarisation).expect("the table holds sound slabs");
        let count = slab.mode_count(polarisation).expect("the table holds sound slabs");
        checks.that("the count is the number of modes", count == modes.len());
        checks.number(&format!("n_modes_{key}"), count as f64);
        let indices: Vec<f64> = modes.iter().map(|mode| mode.n_eff).collect();
        checks.numbers(&format!("n_eff_{key}"), &indices);
        let shares: Vec<f64> = modes.iter().map(|mode| mode.confinement).collect();
        checks.numbers(&format!("confinement_{key}"), &shares);
        let still = SlabDispersion::default();
        let groups: Vec<f64> = modes.iter().map(|mode| mode.group_index(&still)).collect();
        checks.numbers(&format!("n_group_{key}"), &groups);
        // The last entry is the width at which one more mode appears.
        let cutoffs: Vec<f64> = (0..=count)
            .map(|mode| slab.cutoff_width_um(polarisation, mode).expect("the table holds sound slabs"))
            .collect();
        checks.numbers(&format!("cutoff_width_{key}_um"), &cutoffs);
    }
}

#[test]
fn slabs_of_the_table() {
    table("optics_slab").check("", 14, |case, checks| check(&slab(case), checks));
}

#[test]
fn slabs_seen_from_the_other_side() {
    table("optics_slab").check("", 14, |case, checks| check(&slab(case).mirrored(), checks));
}

/// The mode at its own cutoff width has the higher cladding index, and appears just above it.
#[test]
fn modes_appear_at_their_cutoff_width() {
    let mut table = table("optics_slab");
    for case in &mut table.cases {
        case.expected.clear();
    }
    table.check("", 14, |case, checks| {
        let slab = slab(case);
        for polarisation in SlabPolarisation::ALL {
            let cutoff_um = slab.cutoff_width_um(polarisation, 1).expect("a sound slab");
            let count = |width_um: f64| {
                Slab { width_um, ..slab }.mode_count(polarisation).expect("a sound slab") as f64
            };
            let exact = Tolerance::default();
            checks.near("modes just below", count(cutoff_um * (1.0 - 1e-12)), 1.0, exact);
            checks.near("modes just above", count(cutoff_um * (1.0 + 1e-12)), 2.0, exact);
        }
    });
}
