//! Metal traces: squares, film resistivity, current and change with strain, against the table.

use ogee_stack::{
    CORNER_SQUARES, Conductor, Grains, OutsideTheData, SheetCooling, Surfaces, TraceLayer, bend_squares,
    film_factor, geometric_resistance_ratio, ipc_2221_current, liquid_resistance_ratio, path_squares,
    resistance_ratio, straight_squares, voltage_drop_v,
};
use ogee_tests::{Case, table};
use proptest::prelude::*;
use serde_json::Value;

/// Squares of every segment, and the path as lengths with curvatures.
fn segments(case: &Case) -> (Vec<f64>, Vec<(f64, f64)>) {
    let width_um = case.number("width_um");
    let number = |segment: &Value, key: &str| segment[key].as_f64().expect("segments hold numbers");
    let list = case.inputs["segments"].as_array().expect("the table lists segments");
    list.iter()
        .map(|segment| match segment["type"].as_str() {
            Some("straight") => {
                let length_um = number(segment, "length_um");
                (straight_squares(length_um, width_um).expect("a sound run"), (length_um, 0.0))
            }
            Some("bend") => {
                let radius_um = number(segment, "mid_radius_um");
                let angle_rad = number(segment, "angle_deg").to_radians();
                let squares = bend_squares(angle_rad, radius_um, width_um).expect("a sound bend");
                (squares, (angle_rad * radius_um, 1.0 / radius_um))
            }
            kind => panic!("a segment of type {kind:?}"),
        })
        .unzip()
}

#[test]
fn paths_of_the_table() {
    table("trace_electrical").check("path-resistance", 3, |case, checks| {
        let conductor = Conductor::new(case.number("resistivity_20c_ohm_m"), case.number("temp_coeff_per_k"))
            .expect("a metal");
        let (thickness_um, temperature_c) = (case.number("thickness_um"), case.number("temperature_c"));
        let square_ohm = conductor.sheet_resistance_ohm(thickness_um, temperature_c).expect("a film");
        let (squares, elements) = segments(case);
        let total: f64 = squares.iter().sum();
        checks.number("sheet_resistance_ohm", square_ohm);
        checks.numbers("squares", &squares);
        checks.number("total_squares", total);
        checks.number("resistance_ohm", square_ohm * total);
        // The same by the curvature along the path, whole and in slices.
        let width_um = case.number("width_um");
        let path = path_squares(width_um, elements.iter().copied()).expect("a path");
        checks.number("total_squares", path.squares);
        let slices = elements
            .iter()
            .flat_map(|&(length_um, curvature)| std::iter::repeat_n((length_um / 64.0, curvature), 64));
        checks.number("total_squares", path_squares(width_um, slices).expect("a path").squares);
        let per_m = conductor
            .resistance_per_length_ohm_per_m(width_um, thickness_um, temperature_c)
            .expect("a trace");
        let straight_ohm = per_m * path.length_um * 1e-6;
        checks.that("bends save squares", square_ohm * path.squares <= straight_ohm * (1.0 + 1e-12));
    });
}

#[test]
fn films_of_the_table() {
    table("trace_electrical").check("film-resistivity", 2, |case, checks| {
        let surfaces = Surfaces {
            mean_free_path_nm: case.number("mean_free_path_nm"),
            specularity: case.number("specularity"),
        };
        let grains =
            Grains { size_nm: case.number("grain_size_nm"), reflection: case.number("grain_reflection") };
        let thickness_nm = case.number("thickness_nm");
        let factor = film_factor(1e-3 * thickness_nm, surfaces, Some(grains)).expect("a film");
        checks.number("surface_factor", factor.surface);
        checks.number("grain_factor", factor.grain);
        checks.number("resistivity_ohm_m", case.number("bulk_resistivity_ohm_m") * factor.total);
        let k = thickness_nm / surfaces.mean_free_path_nm;
        let thick = 1.0 + 0.375 * (1.0 - surfaces.specularity) / k;
        checks.number("surface_factor_thick_limit", thick);
        let error = (thick / factor.surface - 1.0).abs();
        checks.that(
            "the limit is within 1.5 % for k > 3, 3 % elsewhere",
            error < if k > 3.0 { 0.015 } else { 0.03 },
        );
    });
}

#[test]
fn currents_of_the_table() {
    table("trace_electrical").check("board-current", 3, |case, checks| {
        let layer = if case.number("k") == 0.048 { TraceLayer::Outer } else { TraceLayer::Inner };
        let rating = ipc_2221_current(
            case.number("temperature_rise_k"),
            case.number("width_um"),
            case.number("thickness_um"),
            layer,
        )
        .expect("a trace");
        checks.number("area_mil2", rating.area_mil2);
        checks.number("current_a", rating.current_a);
        checks.number("current_density_a_per_mm2", rating.current_density_a_per_mm2);
        let is_small = rating.outside_the_data.iter().any(|note| matches!(note, OutsideTheData::Area { .. }));
        checks.that("a small section is told", is_small == (rating.area_mil2 < 5.0));
        checks.that("the others are inside", is_small || rating.outside_the_data.is_empty());
    });
    table("trace_electrical").check("sheet-current", 1, |case, checks| {
        let faces = if case.inputs["both_faces"] == Value::Bool(true) { 2.0 } else { 1.0 };
        let (width_um, thickness_um) = (case.number("width_um"), case.number("thickness_um"));
        let sheet = SheetCooling::new(
            width_um,
            faces * case.number("film_coefficient_w_m2k"),
            case.number("sheet_conductivity_w_mk"),
            case.number("sheet_thickness_um"),
        )
        .expect("a sheet");
        let metal = Conductor::new(case.number("resistivity_ohm_m"), 0.0).expect("a metal");
        let per_m = metal.resistance_per_length_ohm_per_m(width_um, thickness_um, 20.0).expect("a trace");
        let rise_k = case.number("temperature_rise_k");
        let current_a = sheet.current_a(per_m, rise_k).expect("a current");
        checks.number("heat_per_length_w_per_m_k", sheet.heat_per_length_w_per_m_k());
        checks.number("fin_length_mm", 1e-3 * sheet.fin_length_um());
        checks.number("current_a", current_a);
        let back = sheet.rise_k(per_m, current_a).expect("a rise");
        checks.that("the rise comes back", (back / rise_k - 1.0).abs() < 1e-12);
    });
}

#[test]
fn strain_and_corner_of_the_table() {
    table("trace_electrical").check("strain", 1, |case, checks| {
        let strain = case.number("axial_strain");
        checks
            .number("linear_ratio", resistance_ratio(case.number("gauge_factor"), strain).expect("a ratio"));
        let shape = geometric_resistance_ratio(case.number("poisson"), strain).expect("a ratio");
        checks.number("geometric_ratio", shape);
        let liquid = liquid_resistance_ratio(case.number("liquid_channel_stretch")).expect("a ratio");
        checks.number("liquid_ratio", liquid);
    });
    table("trace_electrical").check("corner", 1, |_, checks| checks.number("squares", CORNER_SQUARES));
}

#[test]
fn every_trace_is_run() {
    table("trace_electrical").check_kinds(&[
        "path-resistance",
        "film-resistivity",
        "board-current",
        "sheet-current",
        "strain",
        "corner",
    ]);
}

proptest! {
    #[test]
    fn squares_add_up_whatever_the_order(
        width_um in 0.5..100.0,
        parts in proptest::collection::vec((0.0..500.0, -1.9..1.9), 1..20),
    ) {
        let elements: Vec<_> = parts.iter().map(|&(length, q)| (length, q / width_um)).collect();
        let whole = path_squares(width_um, elements.iter().copied()).unwrap();
        let sum: f64 = elements.iter().map(|&part| path_squares(width_um, [part]).unwrap().squares).sum();
        let back = path_squares(width_um, elements.iter().rev().map(|&(length, k)| (length, -k))).unwrap();
        prop_assert!((whole.squares - sum).abs() <= 1e-12 * sum);
        prop_assert!((back.squares - sum).abs() <= 1e-12 * sum);
        prop_assert!(whole.squares <= whole.straight_squares * (1.0 + 1e-12));
        let drop = voltage_drop_v(0.1, 1.0 + whole.squares).unwrap();
        prop_assert!((drop - 0.1 * (1.0 + sum)).abs() <= 1e-12 * (1.0 + sum));
    }

    #[test]
    fn a_bend_tends_to_its_middle(width_um in 0.5..100.0, ratio in 1.01..1e4, angle_rad in 0.01..6.0) {
        let radius_um = 0.5 * ratio * width_um;
        let squares = bend_squares(angle_rad, radius_um, width_um).unwrap();
        let straight = angle_rad * radius_um / width_um;
        prop_assert!(squares <= straight);
        // q/artanh q = 1 − q²/3 − …, at least 1 − q² for q = w/2R.
        prop_assert!(squares >= straight * (1.0 - 1.0 / (ratio * ratio)));
    }

    #[test]
    fn films_resist_more_the_thinner_they_are(
        thickness_um in 1e-3..10.0, more in 1.05..5.0, specularity in 0.0..0.99,
    ) {
        let surfaces = Surfaces { mean_free_path_nm: 39.9, specularity };
        let factor = |um: f64| film_factor(um, surfaces, None).unwrap().total;
        prop_assert!(factor(thickness_um) > factor(more * thickness_um));
        prop_assert!(factor(more * thickness_um) > 1.0);
    }
}
