//! Layered sections against an independent integration and against a prism with its Poisson mismatch kept.

use ogee_stack::{Filler, Layer, ModulusKind, Row, Section, SectionStrain};
use ogee_tests::{Case, Checks, Tolerance, table};
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

    if let Some(rest_per_um) = case.maybe_number("rest_curvature_in_per_um") {
        let curved = section.curved_stiffness(rest_per_um).expect("the bend is wider than the ribbon");
        checks.number("curved_a0_un", curved.a0_un);
        checks.number("curved_a1_un_um", curved.a1_un_um);
        checks.number("curved_a2_un_um2", curved.a2_un_um2);
    }
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

/// A film on a foil of one plane-strain modulus ratio, one unit wide and one thick.
fn film_on_foil(foil_um: f64, film_um: f64, modulus_ratio: f64) -> Section {
    const FOIL_MPA: f64 = 1000.0;
    let foil = Row::open(Layer::new("foil", 1.0, foil_um, FOIL_MPA, 0.3));
    let film = Row::open(Layer::new("film", 1.0, film_um, modulus_ratio * FOIL_MPA, 0.3));
    Section::new(1.0, vec![foil, film]).expect("a sound section")
}

#[test]
fn published_film_on_foil() {
    table("published_section").check("film-on-foil", 5, |case, checks| {
        let film_um = case.number("thickness_ratio");
        let section = film_on_foil(1.0, film_um, case.number("modulus_ratio"));
        let bent = SectionStrain { curvature_out_per_um: 1e-3, ..SectionStrain::default() };
        let outer = section.strain_at(&bent, 0.0, section.thickness_um());
        let of_one_material = 1e-3 * (1.0 + film_um) / 2.0;
        checks.number("film_strain_over_top_strain", outer / of_one_material);
    });
}

#[test]
fn published_cap_puts_the_film_in_the_neutral_plane() {
    table("published_section").check("neutral-plane-cap", 1, |case, checks| {
        // With substrate over cap at the published ratio, their interface is the neutral plane of the two.
        let ratio = case.expected_number("substrate_over_cap_thickness").expect("the table holds it");
        let section = film_on_foil(ratio, 1.0, case.number("modulus_ratio"));
        checks.covers("substrate_over_cap_thickness");
        let tolerance = case.tolerance("substrate_over_cap_thickness").expect("the table holds it");
        checks.near("neutral plane over substrate", section.neutral_plane_um() / ratio, 1.0, tolerance);
        // A cap of another thickness leaves it elsewhere, so that the comparison above says something.
        let thicker = film_on_foil(ratio, 1.1, case.number("modulus_ratio"));
        checks.that("a thicker cap moves it", (thicker.neutral_plane_um() / ratio - 1.0).abs() > 0.01);
    });
}

#[test]
fn every_published_section_is_run() {
    table("published_section").check_kinds(&["film-on-foil", "neutral-plane-cap"]);
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
