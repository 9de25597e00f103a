//! Loss where the curvature of a slab jumps.

use ogee_optics::{
    BentMode, BentSlab, BentSolver, DB_PER_NEPER, JoinedSection, Slab, SlabMode, SlabPolarisation,
    joint_loss_db,
};
use ogee_tests::{Case, table};

const FINE_ORDER: usize = 8;

fn polarisation(case: &Case) -> SlabPolarisation {
    match case.text("polarisation") {
        "TM" => SlabPolarisation::Tm,
        _ => SlabPolarisation::Te,
    }
}

fn slab(case: &Case) -> Slab {
    Slab {
        wavelength_um: case.number("wavelength_um"),
        width_um: case.number("core_width_um"),
        n_core: case.number("n_core"),
        n_left: case.number("n_clad"),
        n_right: case.number("n_clad"),
    }
}

/// The straight mode and the bent one at several radii.
fn modes(case: &Case, radii_um: [f64; 3]) -> (SlabMode, [BentMode; 3]) {
    let (slab, polarisation) = (slab(case), polarisation(case));
    let straight = slab.mode(polarisation, 0).expect("a symmetric slab guides");
    let mut solver = BentSolver::with_order(FINE_ORDER).expect("a valid order");
    let bent = BentSlab::left(&slab, polarisation);
    (straight, radii_um.map(|radius_um| solver.solve(&bent, radius_um).expect("the table holds bound modes")))
}

#[test]
fn joints_of_the_table() {
    table("optics_transition").check("", 7, |case, checks| {
        let radius_um = case.number("radius_um");
        let weak_um = case.number("weak_radius_um");
        let (straight, [bent, wider, weak]) = modes(case, [radius_um, 2.0 * radius_um, weak_um]);
        let line = JoinedSection::Straight(&straight);
        checks.number("loss_straight_to_bent_db", joint_loss_db(line, JoinedSection::Left(&bent)));
        let turn = joint_loss_db(JoinedSection::Left(&bent), JoinedSection::Right(&bent));
        checks.number("loss_bent_to_opposite_bent_db", turn);
        let ease = joint_loss_db(JoinedSection::Left(&wider), JoinedSection::Left(&bent));
        checks.number("loss_twice_radius_to_radius_same_side_db", ease);
        // 10 log10 e = half the decibels per neper of amplitude.
        let weak_loss = joint_loss_db(line, JoinedSection::Left(&weak));
        checks.number("t_coefficient_um2", weak_loss / (0.5 * DB_PER_NEPER) * weak_um * weak_um);
        checks.number("mode_centroid_shift_um", bent.field.centroid_um());
        checks.number("rms_half_width_um", straight.rms_half_width_um());
        checks.number("bend_loss_db_per_90deg", bent.loss_db_per_90deg);
    });
}

/// Joints do not care which side comes first or to which side both bend, and equal sections lose nothing.
#[test]
fn joints_are_symmetric() {
    let mut table = table("optics_transition");
    for case in &mut table.cases {
        case.expected.clear();
    }
    table.check("", 7, |case, checks| {
        let radius_um = case.number("radius_um");
        let (straight, [bent, wider, _]) = modes(case, [radius_um, 2.0 * radius_um, 4.0 * radius_um]);
        let line = JoinedSection::Straight(&straight);
        let pairs = [
            (line, JoinedSection::Left(&bent), JoinedSection::Right(&bent), line),
            (
                JoinedSection::Left(&wider),
                JoinedSection::Left(&bent),
                JoinedSection::Right(&bent),
                JoinedSection::Right(&wider),
            ),
            (
                JoinedSection::Left(&wider),
                JoinedSection::Right(&bent),
                JoinedSection::Left(&bent),
                JoinedSection::Right(&wider),
            ),
        ];
        for (first, second, mirrored_second, mirrored_first) in pairs {
            let loss_db = joint_loss_db(first, second);
            let there_and_back = joint_loss_db(mirrored_second, mirrored_first);
            checks
                .that("a mirrored and turned joint loses the same", (loss_db - there_and_back).abs() < 1e-10);
            checks.that("a joint loses something", loss_db > 1e-4);
        }
        let equal_db = joint_loss_db(JoinedSection::Left(&bent), JoinedSection::Left(&bent));
        checks.that("equal sections lose nothing", equal_db < 1e-12);
    });
}
