//! The full tier of a design against the reference tables: what a user gets is what the models were checked for.

use std::time::{Duration, Instant};

use ogee_design::{
    Assessment, BaseName, Caches, Design, Duty, Elastomer, EndsName, FamilyName, Full, Limits, ModelName,
    StackLayer, Support, SupportName, assess_full,
};
use ogee_mechanics::{Foundation, Substrate};
use ogee_tests::{Case, Checks, Tolerance, table};
use serde_json::Value;

/// A design of one homogeneous layer, without light, whose limits do not matter.
fn design(case: &Case, stretch: f64, modulus_mpa: f64, poisson_ratio: f64, thickness_um: f64) -> Design {
    let mut design = Design::sample();
    let shape = &mut design.shape;
    shape.family = match case.text("family") {
        "sine" => FamilyName::Sine,
        "arc" => FamilyName::Arc,
        "arc-and-arm" => FamilyName::ArcAndArm,
        "sine-generated" => FamilyName::SineGenerated,
        "clothoid" => FamilyName::Clothoid,
        other => panic!("{}: no such family: {other}", case.name),
    };
    shape.pitch_um = case.number("pitch_um");
    shape.amplitude_um = case.number("amplitude_um");
    shape.width_um = case.number("width_um");
    shape.periods = case.maybe_number("periods").unwrap_or(8.0) as u32;
    shape.radius_um = case.maybe_number("radius_um");
    shape.tilt_deg = case.maybe_number("tilt_deg");
    shape.plateau_share = case.maybe_number("plateau_share");
    shape.ends = EndsName::Crossing;
    shape.lead_um = 0.0;
    shape.end_radius_um = None;
    design.stack.layers = vec![StackLayer {
        thickness_um,
        modulus_mpa,
        poisson_ratio,
        allowable_strain_percent: 5.0,
        ..StackLayer::plain("film")
    }];
    design.materials.clear();
    (design.light, design.map, design.process, design.islands, design.life) = (None, None, None, None, None);
    design.support = Support::default();
    design.duty = Duty { target_stretch_percent: 100.0 * stretch, wrap: None };
    design.limits = Limits { least_radius_um: 1.0, clearance_um: 0.1, span_um: 1e6, ..Limits::default() };
    design
}

fn of_case(case: &Case) -> Design {
    let [modulus, poisson, thickness] =
        ["modulus_mpa", "poisson", "thickness_um"].map(|key| case.number(key));
    design(case, case.number("stretch"), modulus, poisson, thickness)
}

/// The full tier, or why there is none.
fn try_full(design: &Design) -> Result<Full, String> {
    let checked = design.check().map_err(|faults| {
        let words: Vec<String> = faults.iter().map(ToString::to_string).collect();
        words.join("; ")
    })?;
    let found = assess_full(&checked, &mut Caches::new(), &|| true)?;
    Ok(found.expect("nobody stopped it"))
}

fn full(design: &Design) -> Assessment {
    try_full(design).unwrap_or_else(|reason| panic!("{}: {reason}", design.name)).assessment
}

/// A number of the table under another unit, within the table's tolerance or the product's, whichever is wider.
fn near(checks: &mut Checks<'_>, case: &Case, key: &str, got: f64, least: f64) {
    let listed = case.expected_number(key).unwrap_or_else(|| panic!("{}: no {key}", case.name));
    let table = case.tolerance(key).unwrap_or(Tolerance::relative(0.0)).relative;
    checks.near(key, got, listed, Tolerance::relative(table.max(least)));
}

fn covers_all(case: &Case, checks: &mut Checks<'_>) {
    for key in case.expected.keys() {
        checks.covers(key);
    }
}

/// Free ribbons that leave their plane: energy, force and peak of the lowest state found.
///
/// Nearly straight, where many states are within 1 % of each other, the quick search of more than one period may end on
/// another listed one.
#[test]
fn free_ribbons_are_those_of_the_table() {
    /// What the product's mesh leaves.
    const USUAL: f64 = 0.01;
    /// States that may be another one than the lowest: arc-n2-wt10 at 0.25 and sine-n4-wt20 at 0.35.
    const MOST_OTHER: usize = 2;
    let mut table = table("spatial_ribbon");
    table.cases.retain(|case| case.inputs.get("law").and_then(Value::as_str) == Some("ribbon"));
    let mut other = Vec::new();
    table.check("buckled", 44, |case, checks| {
        covers_all(case, checks);
        let got = full(&of_case(case));
        checks.that("the ribbon in space governs", got.governing.model == ModelName::Spatial);
        let Some(buckled) = got.spatial.as_ref().and_then(|spatial| spatial.buckled.as_ref()) else {
            checks.fail(&format!("not buckled: {:?}", got.spatial));
            return;
        };
        let common = &buckled.common;
        let numbers = [buckled.energy_un_um, common.force_un, 0.01 * common.peak_tensile_strain_percent];
        let keys = ["energy_un_um", "force_un", "peak_tensile_strain"];
        let listed = keys.map(|key| case.expected_number(key).expect("the table holds it"));
        let differs = |listed: &[f64; 3]| (0..3).any(|i| (numbers[i] / listed[i] - 1.0).abs() > USUAL);
        if case.expected.contains_key("note2") && differs(&listed) {
            let others = case.expected["other_stable_states"].as_array().expect("a list").iter();
            let all: Vec<[f64; 3]> =
                others.map(|state| keys.map(|key| state[key].as_f64().expect("a number"))).collect();
            let is_listed = all.iter().any(|listed| !differs(listed));
            other.push(format!("{}: {numbers:?} of {listed:?}, listed {is_listed}", case.name));
            return;
        }
        for (i, key) in keys.iter().enumerate() {
            checks.near(key, numbers[i], listed[i], Tolerance::relative(USUAL));
        }
        let no_other_is_lower = buckled.other_states.iter().all(|state| state.energy_ratio > 0.999);
        checks.that("it says whether it is the lowest", buckled.is_lowest == no_other_is_lower);
        // The margins rest on it.
        let governing = got.stretch.peak_tensile_strain_percent;
        let shown = common.peak_tensile_strain_percent;
        checks.that("the figures are the model's", governing <= shown * (1.0 + 1e-9) && governing > 0.0);
    });
    assert!(other.len() <= MOST_OTHER, "{other:#?}");
}

/// Ribbons kept in their plane, and those that stay in it: force, energy and strain of the plane states.
#[test]
fn flat_ribbons_are_those_of_the_table() {
    const USUAL: f64 = 1e-3;
    /// The mesh is made for the largest strain; that of the other sign, elsewhere, it leaves less exact.
    const STRAIN: f64 = 2.5e-3;
    table("spatial_ribbon").check("planar", 55, |case, checks| {
        covers_all(case, checks);
        let mut design = of_case(case);
        design.support.kind = SupportName::FreeInPlane;
        let got = full(&design);
        checks.that("the ribbon in its plane governs", got.governing.model == ModelName::Ribbon);
        let Some(ribbon) = got.ribbon else {
            checks.fail("no ribbon in its plane");
            return;
        };
        near(checks, case, "force_un", ribbon.common.force_un, USUAL);
        near(checks, case, "energy_un_um", ribbon.energy_un_um, USUAL);
        near(checks, case, "peak_tensile_strain", 0.01 * ribbon.common.peak_tensile_strain_percent, STRAIN);
        near(
            checks,
            case,
            "peak_compressive_strain",
            -0.01 * ribbon.common.peak_compressive_strain_percent,
            STRAIN,
        );
        checks.that("nothing leaves the plane", got.spatial.is_none() && got.bonded.is_none());
        // Free, a state that is stable in the table stays as it is.
        if case.expected.get("stable").and_then(Value::as_str) == Some("yes") && is_ribbon_law_flat(case) {
            design.support.kind = SupportName::Free;
            let free = full(&design);
            checks.that("a free one stays flat", free.governing.model == ModelName::Ribbon);
            checks.near(
                "force when free",
                free.stretch.force_un,
                ribbon.common.force_un,
                Tolerance::relative(1e-4),
            );
        }
    });
}

/// The table's stability is that of the rod law; by the ribbon law the onset is later or the same for wide ribbons.
fn is_ribbon_law_flat(case: &Case) -> bool {
    case.number("width_um") >= 5.0 * case.number("thickness_um")
}

/// Onsets of the designs under the ribbon law.
#[test]
fn onsets_are_those_of_the_table() {
    table("spatial_ribbon").check("onset", 16, |case, checks| {
        covers_all(case, checks);
        let Some(listed) = case.expected_number("ribbon_law_onset_stretch") else { return };
        let [modulus, poisson, thickness] =
            ["modulus_mpa", "poisson", "thickness_um"].map(|key| case.number(key));
        let got = full(&design(case, 1.3 * listed, modulus, poisson, thickness));
        let Some(spatial) = got.spatial else {
            checks.fail("not looked at in space");
            return;
        };
        near(
            checks,
            case,
            "ribbon_law_onset_stretch",
            0.01 * spatial.onset_percent.unwrap_or(f64::NAN),
            5e-4,
        );
        let word = spatial.onset_symmetry.unwrap_or_default();
        checks.text("ribbon_law_onset_symmetry", &word);
    });
}

/// Periods of a bonded ribbon: the middle is far from the clamps.
const PERIODS: u32 = 8;

/// A bonded design with the stiffness of a cell of the table.
fn bonded(case: &Case, periods: u32) -> Design {
    const MODULUS_MPA: f64 = 2500.0;
    const THICKNESS_UM: f64 = 5.0;
    const DEPTH_UM: f64 = 100.0;
    let mut design = design(case, case.number("stretch"), MODULUS_MPA, 0.34, THICKNESS_UM);
    design.shape.periods = periods;
    let poisson_ratio = case.number("substrate_poisson");
    let (width_um, pitch_um) = (design.shape.width_um, design.shape.pitch_um);
    // The stiffness goes with the modulus.
    let unit = Foundation {
        modulus_mpa: 1.0,
        poisson: poisson_ratio,
        thickness_um: DEPTH_UM,
        substrate: Substrate::Layer,
        is_embedded: false,
    };
    let per_modulus = unit.stiffness(width_um, pitch_um).expect("a sound foundation").in_plane_mpa;
    let bending_un_um2 = MODULUS_MPA * THICKNESS_UM * width_um.powi(3) / 12.0;
    let wanted_mpa = case.number("foundation_k_p4_per_ei") * bending_un_um2 / pitch_um.powi(4);
    design.support.kind = SupportName::Bonded;
    design.support.elastomer = Some(Elastomer {
        modulus_mpa: wanted_mpa / per_modulus,
        poisson_ratio,
        thickness_um: DEPTH_UM,
        base: BaseName::Held,
        embedded: false,
    });
    design
}

/// Ribbons bonded as stiffly as cells of the table: with that stiffness and its limits; away from the clamps the cell.
#[test]
fn bonded_ribbons_are_those_of_the_table() {
    table("planar_bonded").check("", 9, |case, checks| {
        covers_all(case, checks);
        // A product's target is a stretch, and compression no duty.
        if case.number("stretch") < 0.0 {
            return;
        }
        let found = match try_full(&bonded(case, PERIODS)) {
            Ok(found) => found,
            Err(reason) => {
                checks.fail(&reason);
                return;
            }
        };
        let got = found.assessment;
        checks.that("the bonded ribbon governs", got.governing.model == ModelName::Bonded);
        let Some(ribbon) = got.bonded else {
            checks.fail("no bonded ribbon");
            return;
        };
        let ratio = case.number("foundation_k_p4_per_ei");
        checks.near("stiffness ratio", ribbon.stiffness_ratio, ratio, Tolerance::relative(1e-9));
        near(checks, case, "following_peak_strain", 0.01 * ribbon.following_percent, 1e-3);
        // The peak may be at a clamp; in the middle of the ribbon it is that of the cell.
        let form = found.path.form(case.number("stretch")).expect("the target is on the way");
        let length_um = form.points.last().expect("points").s_um;
        let half_period_um = 0.5 * length_um / f64::from(PERIODS);
        let middle = form.points.iter().filter(|point| (point.s_um - 0.5 * length_um).abs() < half_period_um);
        let peak = middle.map(|point| point.left_strain.max(point.right_strain)).fold(0.0, f64::max);
        near(checks, case, "peak_tensile_strain", peak, 0.02);
        let whole = 0.01 * ribbon.common.peak_tensile_strain_percent;
        checks.that("the whole ribbon is strained no less", whole > 0.999 * peak);
    });
}

/// A harder elastomer strains the ribbon more, from that of the free ribbon in its plane to that of the elastomer.
#[test]
fn a_harder_elastomer_strains_more() {
    let table = table("planar_bonded");
    let case = table.cases.iter().find(|case| case.name == "bonded-06").expect("a case of the table");
    let mut design = bonded(case, 4);
    let mut peak = |modulus_mpa: f64| {
        design.support.elastomer.as_mut().expect("a bonded design").modulus_mpa = modulus_mpa;
        full(&design).stretch.peak_tensile_strain_percent
    };
    let softest = peak(1e-6);
    // Softer ones support the ribbon at its clamps, where its peak is, before they strain it.
    let peaks = [1e-3, 1e-2, 0.1, 1.0, 10.0, 100.0].map(&mut peak);
    design.support = Support { kind: SupportName::FreeInPlane, ..Support::default() };
    let free = full(&design).stretch.peak_tensile_strain_percent;
    assert!((softest / free - 1.0).abs() < 1e-3, "{softest} {free}");
    assert!(peaks.windows(2).all(|pair| pair[1] > pair[0]), "{peaks:?}");
    assert!((peaks[0] / free - 1.0).abs() < 0.01 && peaks[5] > 10.0 * free, "{peaks:?} {free}");
}

/// Where the JSON of a result holds `null`.
fn nulls(value: &Value, path: &str, found: &mut Vec<String>) {
    match value {
        Value::Null => found.push(path.to_owned()),
        Value::Array(list) => {
            for (i, item) in list.iter().enumerate() {
                nulls(item, &format!("{path}[{i}]"), found);
            }
        }
        Value::Object(map) => {
            for (key, item) in map {
                nulls(item, &format!("{path}.{key}"), found);
            }
        }
        _ => {}
    }
}

/// What the documentation of the result lets be absent, among what the designs here touch.
const MAY_BE_ABSENT: [&str; 16] = [
    "margin",
    "value",
    "allowable_reached_percent",
    "governing_layer",
    "onset_percent",
    "onset_symmetry",
    "next_onset_percent",
    "buckled",
    "plain_rod_percent",
    "light",
    "wrap",
    "thermal",
    "life",
    "islands",
    "trace",
    "torsion",
];

/// A small free design, and what is changed in it.
fn changed(change: impl FnOnce(&mut Design)) -> Design {
    let table = table("spatial_ribbon");
    let case = table.cases.iter().find(|case| case.name == "sine-n2-wt5 at 0.15, ribbon");
    let mut design = of_case(case.expect("a case of the table"));
    change(&mut design);
    design
}

/// The paths of all faults.
fn faults(design: &Design) -> Vec<String> {
    match design.check() {
        Ok(_) => Vec::new(),
        Err(list) => {
            for fault in &list {
                assert!(!fault.message.is_empty() && fault.nearest.is_none_or(f64::is_finite), "{fault}");
            }
            list.into_iter().map(|fault| fault.path).collect()
        }
    }
}

/// Numbers that no model can take are faults of their fields, and the nearest value offered passes.
#[test]
fn impossible_supports_are_faults() {
    let bonded = |modulus_mpa: f64| {
        changed(|design| {
            design.support.kind = SupportName::Bonded;
            design.support.elastomer = Some(Elastomer { modulus_mpa, ..Elastomer::default() });
        })
    };
    for modulus_mpa in [0.0, -1.0, 1e9, f64::NAN, f64::INFINITY] {
        assert_eq!(faults(&bonded(modulus_mpa)), ["support.elastomer.modulus_mpa"], "{modulus_mpa}");
    }
    let without = changed(|design| design.support.kind = SupportName::Bonded);
    assert_eq!(faults(&without), ["support.elastomer"]);
    for radius_um in [0.0, 0.9, -1.9, f64::NAN] {
        let curled = changed(|design| design.support.curl_radius_um = Some(radius_um));
        assert_eq!(faults(&curled), ["support.curl_radius_um"], "{radius_um}");
    }
    let aside = changed(|design| {
        design.limits.span_um = 100.0;
        design.support.sideways_um = -500.0;
    });
    assert_eq!(faults(&aside), ["support.sideways_um"]);
    for (turn_deg, periods, stretch) in [(91.0, 2, 15.0), (0.0, 0, 15.0), (0.0, 2, -1.0), (0.0, 2, 1e5)] {
        let other = changed(|design| {
            design.support.turn_deg = turn_deg;
            design.shape.periods = periods;
            design.duty.target_stretch_percent = stretch;
        });
        assert_eq!(faults(&other).len(), 1, "{turn_deg} {periods} {stretch}");
    }
}

/// Designs at the edge of what is possible: an answer without a hole in it, or one sentence that says why there is none,
/// in bounded time.
#[test]
fn extreme_designs_are_answered() {
    const MOST: Duration = Duration::from_secs(20);
    const MOST_UNANSWERED: usize = 2;
    let scaled = |factor: f64| {
        changed(|design| {
            design.stack.layers[0].thickness_um = design.shape.width_um / factor;
        })
    };
    let cases: Vec<(String, Design)> = vec![
        ("thicker than wide".into(), scaled(0.2)),
        ("a foil".into(), scaled(500.0)),
        ("one period".into(), changed(|design| design.shape.periods = 1)),
        ("a tight curl".into(), changed(|design| design.support.curl_radius_um = Some(2.1))),
        ("a tight curl down".into(), changed(|design| design.support.curl_radius_um = Some(-2.1))),
        ("a slight curl".into(), changed(|design| design.support.curl_radius_um = Some(1e6))),
        ("straight".into(), changed(|design| design.duty.target_stretch_percent = 50.0)),
        ("past straight".into(), changed(|design| design.duty.target_stretch_percent = 80.0)),
        ("far past straight".into(), changed(|design| design.duty.target_stretch_percent = 300.0)),
        ("torn".into(), changed(|design| design.duty.target_stretch_percent = 1000.0)),
        ("hardly stretched".into(), changed(|design| design.duty.target_stretch_percent = 0.01)),
        ("aside by half".into(), changed(|design| design.support.sideways_um = 100.0)),
        ("aside by its span".into(), changed(|design| design.support.sideways_um = 200.0)),
        ("turned".into(), changed(|design| design.support.turn_deg = 90.0)),
        ("turned back".into(), changed(|design| design.support.turn_deg = -60.0)),
        ("softest bed".into(), on_bed(1e-6, 15.0)),
        ("hardest bed".into(), on_bed(1e6, 15.0)),
        ("hard bed past straight".into(), on_bed(1e3, 80.0)),
        ("rubber past straight".into(), on_bed(0.5, 300.0)),
    ];
    let mut answered = 0;
    for (name, design) in &cases {
        let began = Instant::now();
        let found = try_full(design);
        let took = began.elapsed();
        assert!(took < MOST, "{name}: {took:.1?}");
        match found {
            Ok(full) => {
                answered += 1;
                let mut holes = Vec::new();
                let json = serde_json::to_value(&full.assessment).expect("plain data");
                nulls(&json, "", &mut holes);
                holes.retain(|path| !MAY_BE_ABSENT.contains(&path.rsplit('.').next().unwrap_or_default()));
                assert!(holes.is_empty(), "{name}: no number at {holes:?}");
                assert!(full.assessment.stretch.peak_tensile_strain_percent > 0.0, "{name}");
            }
            Err(reason) => {
                assert!(reason.len() > 20 && !reason.contains("NaN"), "{name}: {reason}");
            }
        }
    }
    assert!(answered + MOST_UNANSWERED >= cases.len(), "only {answered} of {} were answered", cases.len());
}

/// The small design on an elastomer.
fn on_bed(modulus_mpa: f64, target_stretch_percent: f64) -> Design {
    changed(|design| {
        design.support.kind = SupportName::Bonded;
        design.support.elastomer = Some(Elastomer { modulus_mpa, ..Elastomer::default() });
        design.duty.target_stretch_percent = target_stretch_percent;
    })
}

/// Every target is a stop of the way to it, whatever its digits.
#[test]
fn every_target_is_reached() {
    for step in 1..=60 {
        let target_stretch_percent = 0.3 * f64::from(step);
        let design = changed(|design| {
            design.support.kind = SupportName::FreeInPlane;
            design.duty.target_stretch_percent = target_stretch_percent;
        });
        let found = try_full(&design).unwrap_or_else(|reason| panic!("{target_stretch_percent} %: {reason}"));
        let [low, high] = found.path.range().expect("a way");
        assert!(low <= 0.0 && high > 0.01 * target_stretch_percent);
    }
}
