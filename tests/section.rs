//! Layered sections against an independent integration and against a prism with its Poisson mismatch kept.

use ogee_stack::{Filler, Layer, ModulusKind, Rectangle, Row, Section, SectionStrain, TorsionNote};
use ogee_tests::{Case, Checks, Tolerance, table};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use serde::Deserialize;
use serde_json::Value;

/// A rectangle as the table lists it.
#[derive(Clone, Debug, Deserialize)]
struct Patch {
    name: String,
    width_um: f64,
    thickness_um: f64,
    z_bottom_um: f64,
    y_offset_um: f64,
    modulus_mpa: f64,
    poisson: f64,
}

impl Patch {
    fn layer(&self) -> Layer {
        Layer::new(self.name.clone(), self.width_um, self.thickness_um, self.modulus_mpa, self.poisson)
            .with_offset(self.y_offset_um)
    }
}

/// Strains of one rectangle as the table lists them.
#[derive(Debug, Deserialize)]
struct FaceStrain {
    layer: String,
    bottom_left: f64,
    bottom_mid: f64,
    bottom_right: f64,
    top_left: f64,
    top_mid: f64,
    top_right: f64,
}

fn list<T: for<'de> Deserialize<'de>>(value: &Value) -> Vec<T> {
    serde_json::from_value(value.clone()).expect("the table lists rectangles")
}

/// Patches at one height are a row: one patch, or a core between two side pieces of one material.
fn section(patches: &[Patch]) -> Section {
    let width_um = patches.iter().map(|patch| patch.width_um).fold(0.0, f64::max);
    let rows = patches
        .chunk_by(|a, b| a.z_bottom_um == b.z_bottom_um)
        .map(|row| match row {
            [patch] => Row::open(patch.layer()),
            [right, core, left] => {
                let filled_um = right.width_um + core.width_um + left.width_um;
                let filler = Filler::new(right.name.clone(), right.modulus_mpa, right.poisson);
                Row::filled(core.layer(), filler.with_width(filled_um))
            }
            _ => panic!("a row of {} rectangles", row.len()),
        })
        .collect();
    Section::new(width_um, rows).expect("the table holds sound sections")
}

fn check(case: &Case, checks: &mut Checks<'_>) {
    let patches: Vec<Patch> = list(&case.inputs["layers"]);
    let kind = match case.text("modulus_kind") {
        "plane_strain" => ModulusKind::PlaneStrain,
        _ => ModulusKind::Beam,
    };
    let section = section(&patches).with_modulus_kind(kind).expect("the table holds sound sections");
    checks.number("ea_un", section.ea_un());
    checks.number("z_neutral_um", section.neutral_plane_um());
    checks.number("y_neutral_um", section.neutral_axis_y_um());
    checks.number("ei_out_un_um2", section.ei_out_of_plane_un_um2());
    checks.number("ei_in_un_um2", section.ei_in_plane_un_um2());
    checks.number("ei_cross_un_um2", section.ei_coupling_un_um2());
    checks.number_if_expected("prism_ea_un", section.ea_un());
    checks.number_if_expected("prism_z_neutral_um", section.neutral_plane_um());
    checks.number_if_expected("prism_ei_out_un_um2", section.ei_out_of_plane_un_um2());
    checks.number_if_expected("prism_ei_in_un_um2", section.ei_in_plane_un_um2());

    let state = SectionStrain {
        membrane: case.number("membrane_strain"),
        curvature_out_per_um: case.number("curvature_out_per_um"),
        curvature_in_per_um: case.number("curvature_in_per_um"),
    };
    let loads = section.loads(&state);
    checks.number("force_un", loads.force_un);
    checks.number("moment_out_un_um", loads.moment_out_un_um);
    checks.number("moment_in_un_um", loads.moment_in_un_um);
    check_strains(case, checks, &section, &state);
    check_torsion(case, checks, &section);

    if let Some(rest_per_um) = case.maybe_number("rest_curvature_in_per_um") {
        let curved = section.curved_stiffness(rest_per_um).expect("the bend is wider than the ribbon");
        checks.number("curved_a0_un", curved.a0_un);
        checks.number("curved_a1_un_um", curved.a1_un_um);
        checks.number("curved_a2_un_um2", curved.a2_un_um2);
    }
}

/// GJ, its place in the bracket of two complementary finite-element forms, and its own range of accuracy.
fn check_torsion(case: &Case, checks: &mut Checks<'_>, section: &Section) {
    let torsion = section.torsion_un_um2();
    let value = torsion.value_un_um2;
    checks.number("gj_un_um2", value);
    checks.number_if_expected("gj_series_un_um2", value);
    let bracket: Vec<f64> = list(&case.expected["gj_bracket_un_um2"]);
    let slack = case.tolerance("gj_bracket_un_um2").expect("the table gives one").relative;
    checks.covers("gj_bracket_un_um2");
    checks.that(
        "gj inside the bracket",
        value > bracket[0] * (1.0 - slack) && value < bracket[1] * (1.0 + slack),
    );
    checks.that(
        "gj's own range meets the bracket",
        torsion.lower_un_um2 <= bracket[1] && bracket[0] <= torsion.upper_un_um2,
    );
}

fn check_strains(case: &Case, checks: &mut Checks<'_>, section: &Section, state: &SectionStrain) {
    let expected: Vec<FaceStrain> = list(&case.expected["face_strain"]);
    let tolerance = case.tolerance("face_strain").expect("the table gives one");
    let strains = section.strains(state);
    checks.covers("face_strain");
    checks.that("one strain per rectangle", strains.len() == expected.len());
    for (got, expected) in strains.iter().zip(&expected) {
        let pairs = [
            ("bottom_left", got.bottom_left, expected.bottom_left),
            ("bottom_mid", got.bottom_middle, expected.bottom_mid),
            ("bottom_right", got.bottom_right, expected.bottom_right),
            ("top_left", got.top_left, expected.top_left),
            ("top_mid", got.top_middle, expected.top_mid),
            ("top_right", got.top_right, expected.top_right),
        ];
        for (place, got, expected_strain) in pairs {
            checks.near(&format!("{} {place}", expected.layer), got, expected_strain, tolerance);
        }
    }
}

#[test]
fn sections_of_the_table() {
    table("section").check("", 13, check);
}

/// The strips handed to the planar solver carry the section's stiffness, for every symmetric section of the table.
#[test]
fn strips_sum_to_the_section() {
    let mut symmetric = 0;
    let mut table = table("section");
    for case in &mut table.cases {
        case.expected.clear();
    }
    table.check("", 13, |case, checks| {
        let section = section(&list::<Patch>(&case.inputs["layers"]));
        if !section.is_symmetric_in_plane() {
            return;
        }
        symmetric += 1;
        let tolerance = Tolerance::relative(1e-12);
        let strips = section.strips();
        let ea: f64 = strips.iter().map(|strip| strip.stiffness_un_per_um * 2.0 * strip.half_width_um).sum();
        let ei: f64 = strips
            .iter()
            .map(|strip| strip.stiffness_un_per_um * 2.0 * strip.half_width_um.powi(3) / 3.0)
            .sum();
        checks.near("EA of the strips", ea, section.ea_un(), tolerance);
        checks.near("EI of the strips", ei, section.ei_in_plane_un_um2(), tolerance);
    });
    assert_eq!(symmetric, 12);
}

/// A row of a random section: its layer's thickness, modulus and Poisson's ratio, its share of the ribbon's width, and the
/// modulus of the filler beside it.
type RandomRow = ((f64, f64, f64), f64, Option<f64>);

/// One to four rows, some narrow, some filled at their sides, on a ribbon of unit width.
fn rows() -> impl Strategy<Value = Vec<RandomRow>> {
    let layer = (0.02..0.3_f64, 1.0..5.4_f64, 0.0..0.49_f64);
    let row = (layer, prop_oneof![Just(1.0), 0.2..1.0_f64], prop::option::of(1.0..5.4_f64));
    prop::collection::vec(row, 1..5)
}

/// The section of these rows, every length and every modulus times a factor.
fn random_section(rows: &[RandomRow], length_um: f64, stiff: f64) -> Section {
    let rows = rows
        .iter()
        .map(|&((thickness, modulus, poisson), share, filler)| {
            let modulus_mpa = |exponent: f64| stiff * 10_f64.powf(exponent);
            let core =
                Layer::new("core", share * length_um, thickness * length_um, modulus_mpa(modulus), poisson);
            match filler {
                Some(filler) => Row::filled(core, Filler::new("side", modulus_mpa(filler), 0.3)),
                None => Row::open(core),
            }
        })
        .collect();
    Section::new(length_um, rows).expect("the section is sound")
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        rng_seed: RngSeed::Fixed(20),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Lengths times s: EA times s², EI and GJ times s⁴; moduli times a factor: all times it.
    #[test]
    fn stiffness_scales(rows in rows(), length in 0.1..100.0_f64, stiff in 0.01..100.0_f64) {
        let (one, other) = (random_section(&rows, 1.0, 1.0), random_section(&rows, length, stiff));
        let twist = one.torsion_un_um2();
        // The lines of the grid may differ by rounding: twice its documented error.
        let of_twist = if twist.note == TorsionNote::Exact { 1e-9 } else { 4e-4 };
        let pairs = [
            (one.ea_un(), other.ea_un(), 2, 1e-12),
            (one.ei_out_of_plane_un_um2(), other.ei_out_of_plane_un_um2(), 4, 1e-12),
            (one.ei_in_plane_un_um2(), other.ei_in_plane_un_um2(), 4, 1e-12),
            (twist.value_un_um2, other.torsion_un_um2().value_un_um2, 4, of_twist),
        ];
        for (one, other, power, tolerance) in pairs {
            let ratio = other / (one * stiff * length.powi(power));
            prop_assert!((ratio - 1.0).abs() < tolerance, "{} {}: {}", one, other, ratio);
        }
    }

    /// GJ is below that of a section that keeps its shape, ∫G(y² + z²) about the point where that is least.
    #[test]
    fn torsion_is_below_the_polar_bound(rows in rows()) {
        let section = random_section(&rows, 10.0, 1.0);
        let shear = |r: &Rectangle| 0.5 * r.modulus_mpa / (1.0 + r.poisson) * r.area_um2();
        let (mut sum, mut y, mut z) = (0.0, 0.0, 0.0);
        for r in section.rectangles() {
            sum += shear(r);
            y += shear(r) * r.middle_y_um();
            z += shear(r) * r.middle_z_um();
        }
        let polar: f64 = section
            .rectangles()
            .iter()
            .map(|r| {
                let own = (r.width_um().powi(2) + r.thickness_um().powi(2)) / 12.0;
                shear(r) * (own + (r.middle_y_um() - y / sum).powi(2) + (r.middle_z_um() - z / sum).powi(2))
            })
            .sum();
        let torsion = section.torsion_un_um2();
        prop_assert!(torsion.value_un_um2 < polar, "{:?} {}", torsion, polar);
        prop_assert!(torsion.lower_un_um2 > 0.0 && torsion.lower_un_um2 <= torsion.upper_un_um2);
    }

    /// A row cut in two changes nothing; upside down, the neutral plane is mirrored and all else stays.
    #[test]
    fn cut_and_turned_sections_stay(rows in rows(), which in 0..4_usize, share in 0.2..0.8_f64) {
        let which = which % rows.len();
        let mut cut = rows.clone();
        let thickness = rows[which].0.0;
        cut[which].0.0 = share * thickness;
        cut.insert(which + 1, rows[which]);
        cut[which + 1].0.0 = (1.0 - share) * thickness;
        let turned: Vec<RandomRow> = rows.iter().rev().copied().collect();
        let [one, cut, turned] = [&rows, &cut, &turned].map(|rows| random_section(rows, 10.0, 1.0));
        let close = |a: f64, b: f64, tolerance: f64| (a / b - 1.0).abs() < tolerance;
        prop_assert!(close(cut.neutral_plane_um(), one.neutral_plane_um(), 1e-11));
        prop_assert!(close(turned.thickness_um() - turned.neutral_plane_um(), one.neutral_plane_um(), 1e-9));
        for other in [&cut, &turned] {
            prop_assert!(close(other.ea_un(), one.ea_un(), 1e-12));
            prop_assert!(close(other.ei_out_of_plane_un_um2(), one.ei_out_of_plane_un_um2(), 1e-9));
            prop_assert!(close(other.ei_in_plane_un_um2(), one.ei_in_plane_un_um2(), 1e-12));
            let [torsion, own] = [other, &one].map(Section::torsion_un_um2);
            let tolerance = if own.note == TorsionNote::Exact { 1e-5 } else { 5e-3 };
            prop_assert!(
                close(torsion.value_un_um2, own.value_un_um2, tolerance),
                "{:?} {:?}", torsion, own
            );
        }
        // Plies keep EA and the neutral plane.
        let plies = one.plies();
        let (mut ea, mut ea_z, mut z_um) = (0.0, 0.0, 0.0);
        for ply in &plies {
            let stiffness = ply.modulus_mpa * ply.thickness_um * one.width_um();
            ea += stiffness;
            ea_z += stiffness * (z_um + 0.5 * ply.thickness_um);
            z_um += ply.thickness_um;
        }
        prop_assert!(close(ea, one.ea_un(), 1e-12) && close(ea_z / ea, one.neutral_plane_um(), 1e-12));
    }

    /// From wide to narrow, the stiffness against bending stays between the bounds and falls; the energy's is the lower.
    #[test]
    fn bending_lies_between_beam_and_plate(rows in rows(), radius in 1.0..1e6_f64) {
        let section = random_section(&rows, 10.0, 1.0);
        let bent = section.bending_stiffness_at_radius(radius).expect("a sound radius");
        let slack = 1e-12 * bent.plate_un_um2;
        prop_assert!(bent.beam_un_um2 - slack <= bent.energy_un_um2 && bent.energy_un_um2 <= bent.ei_un_um2 + slack);
        prop_assert!(bent.ei_un_um2 <= bent.plate_un_um2 + slack);
        let straighter = section.bending_stiffness_at_radius(2.0 * radius).expect("a sound radius");
        prop_assert!(straighter.energy_un_um2 <= bent.energy_un_um2 + slack);
    }
}
