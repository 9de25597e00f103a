//! Rows of stiff islands against finite differences of the shear-lag equations and plane-strain elements.

use ogee_stack::{Adhesive, IslandNote, IslandRow, Plate, Solved, edge_concentration};
use ogee_tests::{Case, Checks, table};
use proptest::prelude::*;
use serde_json::Value;

/// Distances from the edge, over the sheet's thickness, of the table's surface strains.
const DISTANCES: [f64; 5] = [0.05, 0.1, 0.2, 0.5, 1.0];

fn row(case: &Case) -> IslandRow {
    let plate = |name: &str| Plate {
        thickness_um: case.number(&format!("{name}_thickness_um")),
        modulus_mpa: case.number(&format!("{name}_modulus_mpa")),
        poisson: case.number(&format!("{name}_poisson")),
    };
    let adhesive = case.maybe_number("adhesive_thickness_um").map(|thickness_um| Adhesive {
        thickness_um,
        shear_modulus_mpa: case.number("adhesive_shear_modulus_mpa"),
    });
    let (length_um, pitch_um) = (case.number("island_length_um"), case.number("island_pitch_um"));
    IslandRow::new(plate("sheet"), plate("island"), adhesive, length_um, pitch_um)
        .expect("the table holds sound rows")
}

#[test]
fn shear_lag_of_the_table() {
    table("stack_island").check("shear-lag", 7, |case, checks| {
        let row = row(case);
        let stretch = case.number("global_stretch");
        let pulled = row.stretched(stretch).expect("the table holds sound stretches");
        checks.number("transfer_length_um", pulled.transfer_length_um);
        checks.number("effective_rigid_length_um", pulled.effective_rigid_length_um);
        checks.number("amplification", pulled.amplification);
        checks.number("amplification_rigid", pulled.amplification_rigid);
        checks.number("interconnect_strain", pulled.interconnect_strain);
        checks.number("island_centre_strain", pulled.shear_lag_island_strain);
        checks.number("sheet_centre_strain", pulled.sheet_centre_strain);
        checks.number("edge_shear_stress_mpa", pulled.edge_shear_stress_mpa);
        checks.number("debond_energy_bound_un_per_um", pulled.debond_energy_bound_un_per_um);
        checks.number("halfspace_island_strain", pulled.halfspace_island_strain);
        // The same values along the row.
        let centre = row.strain_along(stretch, 0.0).expect("a place in the row");
        checks.number("island_centre_strain", centre.island.unwrap_or(f64::NAN));
        checks.number("sheet_centre_strain", centre.sheet);
        let half_um = 0.5 * row.island_length_um();
        let edge = row.strain_along(stretch, half_um * (1.0 - 1e-12)).expect("a place in the row");
        checks.number("edge_shear_stress_mpa", edge.shear_stress_mpa);
        let between = row.strain_along(stretch, 0.5 * row.pitch_um()).expect("a place in the row");
        checks.number("interconnect_strain", between.sheet);
    });
}

fn is_short(case: &Case) -> bool {
    case.number("island_length_um") < 3.0 * case.number("sheet_thickness_um")
}

/// Compares the strain beside the edge, where the table of concentrations claims to hold.
fn check_edge(case: &Case, checks: &mut Checks<'_>) {
    checks.covers("surface_strain_over_far");
    let solved: Vec<f64> = case.expected["surface_strain_over_far"]
        .as_array()
        .map(|list| list.iter().filter_map(Value::as_f64).collect())
        .unwrap_or_default();
    checks.that("five distances", solved.len() == DISTANCES.len());
    let holds = !is_short(case) && case.maybe_number("adhesive_thickness_um").is_none();
    for (distance, solved) in DISTANCES.into_iter().zip(solved) {
        let beside = edge_concentration(distance).expect("a distance of the table");
        let inside = (beside.low..=beside.high).contains(&solved);
        checks.that(&format!("{solved} within {distance} of the edge"), !holds || inside);
        // Short islands and those on an adhesive concentrate less.
        checks.that("the upper end bounds it", solved <= beside.high);
    }
}

/// What shear lag and the half-space leave out, with the underside held flat.
#[test]
fn elements_held_flat() {
    table("stack_island").check("held-flat", 7, |case, checks| {
        let pulled = row(case).stretched(case.number("global_stretch")).expect("a sound stretch");
        checks.number("amplification", pulled.amplification);
        checks.number("island_centre_strain", pulled.island_centre_strain);
        check_edge(case, checks);
        // No model gives the island's bending and the mean under it to a few per cent.
        for key in ["island_top_strain", "island_bottom_strain", "sheet_centre_strain"] {
            let solved = case.expected_number(key).unwrap_or(f64::NAN);
            checks.covers(key);
            checks
                .that(&format!("{key} below the strain between"), solved.abs() < pulled.interconnect_strain);
        }
        let noted = pulled.notes.iter().any(|note| matches!(note, IslandNote::ShortIsland { .. }));
        checks.that("a short island is told", noted == is_short(case));
    });
}

/// A sheet that may bow strains less between the islands, and bends them by what the result says.
#[test]
fn elements_free_to_bow() {
    table("stack_island").check("free-to-bow", 4, |case, checks| {
        let row = row(case);
        let pulled = row.stretched(case.number("global_stretch")).expect("a sound stretch");
        let amplification = case.expected_number("amplification").unwrap_or(f64::NAN);
        checks.covers("amplification");
        // A short island amplifies so little that the error of the flat model is larger.
        let most = if is_short(case) { 1.03 * pulled.amplification } else { pulled.amplification };
        checks.that("amplification between 1 and the flat one", amplification > 1.0 && amplification < most);
        let top = case.expected_number("island_top_strain").unwrap_or(f64::NAN);
        let bottom = case.expected_number("island_bottom_strain").unwrap_or(f64::NAN);
        for key in
            ["island_top_strain", "island_bottom_strain", "island_centre_strain", "sheet_centre_strain"]
        {
            checks.covers(key);
        }
        let (least, greatest) = pulled.bowed_face_strain;
        checks.that("compression on top, tension below", top < 0.0 && bottom > 0.0);
        checks.that("bending in the range", bottom >= least && bottom.max(-top) <= greatest);
        checks.that("more than flat at the centre of the underside", bottom > pulled.island_centre_strain);
        check_edge_bowed(case, checks);
    });
}

fn check_edge_bowed(case: &Case, checks: &mut Checks<'_>) {
    checks.covers("surface_strain_over_far");
    let solved = case.expected["surface_strain_over_far"].as_array().expect("a list");
    for (distance, solved) in DISTANCES.into_iter().zip(solved) {
        let beside = edge_concentration(distance).expect("a distance of the table");
        let solved = solved.as_f64().unwrap_or(f64::NAN);
        checks.that("about the flat range at most", solved <= 1.03 * beside.high);
    }
}

#[test]
fn every_island_is_run() {
    table("stack_island").check_kinds(&["shear-lag", "held-flat", "free-to-bow"]);
}

fn plates() -> impl Strategy<Value = (Plate, Plate, Option<Adhesive>)> {
    let sheet = (20.0..1000.0, 0.5..3000.0, 0.2..0.499)
        .prop_map(|(thickness_um, modulus_mpa, poisson)| Plate { thickness_um, modulus_mpa, poisson });
    let island = (1.0..300.0, 1.0..5.0, 0.0..0.45);
    let adhesive = proptest::option::of((1.0..100.0, 0.05..500.0));
    (sheet, island, adhesive).prop_map(|(sheet, (thickness_um, decades, poisson), adhesive)| {
        // An island from ten times to 1e5 times as stiff as the sheet's material.
        let modulus_mpa = sheet.modulus_mpa * 10f64.powf(decades);
        let adhesive =
            adhesive.map(|(thickness_um, shear_modulus_mpa)| Adhesive { thickness_um, shear_modulus_mpa });
        (sheet, Plate { thickness_um, modulus_mpa, poisson }, adhesive)
    })
}

fn rows() -> impl Strategy<Value = IslandRow> {
    (plates(), 50.0..20_000.0, 0.02..0.98).prop_map(|((sheet, island, adhesive), pitch_um, share)| {
        IslandRow::new(sheet, island, adhesive, share * pitch_um, pitch_um).expect("a sound row")
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn the_amplification_lies_between_none_and_rigid(row in rows(), stretch in 1e-4..0.3) {
        let pulled = row.stretched(stretch).unwrap();
        prop_assert!(pulled.amplification > 1.0 && pulled.amplification < pulled.amplification_rigid);
        prop_assert!(pulled.interconnect_strain <= pulled.interconnect_strain_rigid);
        prop_assert!(pulled.island_centre_strain > 0.0);
        prop_assert!(pulled.island_centre_strain < pulled.interconnect_strain);
        prop_assert!(pulled.sheet_centre_strain >= pulled.shear_lag_island_strain);
    }

    #[test]
    fn longer_stiffer_and_thicker_islands_amplify_more(row in rows(), more in 1.01..3.0_f64) {
        let longest_um: f64 = 0.5 * (row.island_length_um() + row.pitch_um());
        let longer = row.with_island_length((more * row.island_length_um()).min(longest_um)).unwrap();
        prop_assert!(longer.amplification() > row.amplification());
        let thicker = row.with_island_thickness(more * row.island().thickness_um).unwrap();
        let stiffer_plate = Plate { modulus_mpa: more * row.island().modulus_mpa, ..row.island() };
        let stiffer = IslandRow::new(
            row.sheet(), stiffer_plate, row.adhesive(), row.island_length_um(), row.pitch_um(),
        ).unwrap();
        prop_assert!(stiffer.amplification() > row.amplification());
        // A thicker island shears more easily; it strains less all the same.
        let strain = |row: &IslandRow| row.stretched(0.01).unwrap().island_centre_strain;
        prop_assert!(strain(&thicker) < strain(&row));
        // Both models grow with the length; where one takes over from the other, the strain may step.
        let is_short = |row: &IslandRow| row.island_length_um() < 3.0 * row.sheet().thickness_um;
        prop_assert!(is_short(&row) != is_short(&longer) || strain(&longer) >= strain(&row));
    }

    #[test]
    fn the_stretch_of_a_cell_adds_up(row in rows(), stretch in 1e-4..0.3) {
        // The sheet's mean strain over a pitch, by Simpson's rule under the island, is the stretch of the row.
        let half_um = 0.5 * row.island_length_um();
        let n = 4000;
        let sheet = |i: i32| {
            let x = half_um * (1.0 - 1e-13) * f64::from(i) / f64::from(n);
            let weight = if i == 0 || i == n { 1.0 } else if i % 2 == 1 { 4.0 } else { 2.0 };
            weight * row.strain_along(stretch, x).unwrap().sheet
        };
        let under = half_um / f64::from(3 * n) * (0..=n).map(sheet).sum::<f64>();
        let between = row.strain_along(stretch, 0.5 * row.pitch_um()).unwrap().sheet;
        let total = under + (0.5 * row.pitch_um() - half_um) * between;
        prop_assert!((total / (0.5 * row.pitch_um() * stretch) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn solved_values_keep_the_strain(row in rows(), wanted in 1e-6..0.05) {
        let stretch = 0.02;
        if let Solved::At(thickness_um) = row.thickness_for_strain(stretch, wanted).unwrap() {
            let strain = |um: f64| row.with_island_thickness(um).unwrap().stretched(stretch).unwrap().island_centre_strain;
            prop_assert!(strain(thickness_um) <= wanted && strain(0.999 * thickness_um) > wanted);
        }
        if let Solved::At(length_um) = row.length_for_strain(stretch, wanted).unwrap() {
            let strain = |um: f64| row.with_island_length(um).unwrap().stretched(stretch).unwrap().island_centre_strain;
            prop_assert!(strain(length_um) <= wanted);
            for share in [0.1, 0.5, 0.9, 0.999] {
                prop_assert!(strain(share * length_um) <= wanted);
            }
        }
        if let Solved::At(length_um) = row.length_for_interconnect_strain(stretch, wanted).unwrap() {
            let strain = |um: f64| stretch * row.with_island_length(um).unwrap().amplification();
            prop_assert!((strain(length_um) / wanted - 1.0).abs() < 1e-9);
        }
        if let Solved::At(pitch_um) = row.pitch_for_interconnect_strain(stretch, wanted).unwrap() {
            let wide = IslandRow::new(
                row.sheet(), row.island(), row.adhesive(), row.island_length_um(), pitch_um,
            ).unwrap();
            prop_assert!((stretch * wide.amplification() / wanted - 1.0).abs() < 1e-9);
        }
    }
}
