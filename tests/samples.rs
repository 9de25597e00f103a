//! Every file in `samples/` loads, checks, is assessed and gives its pinned numbers.

use std::fs;
use std::path::{Path, PathBuf};

use ogee_design::{Assessment, Caches, Design, ModelName, Tier, assess};
use ogee_tests::Tolerance;

/// What a sample is known to give. Values were taken from an assessment whose solvers met the reference tables; they
/// change when a model changes, and then the commit says why.
struct Pin {
    file: &'static str,
    contour_length_um: f64,
    /// At the target stretch, end factor included.
    peak_strain_percent: f64,
    force_un: f64,
    /// Total loss at rest and stretched, dB; none for a design without light.
    loss_db: Option<(f64, f64)>,
    /// The check with the smallest margin, its margin, and whether all checks pass.
    smallest_margin: (&'static str, f64, bool),
    /// What the full tier gives.
    full: FullPin,
}

/// What the full models are known to give of a sample.
struct FullPin {
    model: ModelName,
    /// Stretch at which the ribbon leaves its plane, %.
    onset_percent: f64,
    /// Peak tensile strain at the target stretch by the governing model, %.
    peak_strain_percent: f64,
    force_un: f64,
    /// Total loss at rest and stretched, dB; none for a design without light.
    loss_db: Option<(f64, f64)>,
    /// As in the live tier.
    smallest_margin: (&'static str, f64, bool),
}

/// Geometry is exact; strain and force carry the solver's mesh, losses the bend table.
const GEOMETRY: Tolerance = Tolerance { relative: 1e-9, absolute: 0.0 };
const MECHANICS: Tolerance = Tolerance { relative: 2e-4, absolute: 0.0 };
/// The state in space is solved on a coarser mesh.
const FULL: Tolerance = Tolerance { relative: 1e-3, absolute: 0.0 };
const LIGHT: Tolerance = Tolerance { relative: 2e-3, absolute: 0.0 };

const PINS: [Pin; 6] = [
    Pin {
        file: "finger-guide.ogee.json",
        contour_length_um: 10_286.208_322_617,
        peak_strain_percent: 3.240_193,
        force_un: 380.636_208,
        loss_db: Some((2.420_016, 1.552_313)),
        smallest_margin: ("wrap-stretched", 1.021_893, true),
        full: FullPin {
            model: ModelName::Spatial,
            onset_percent: 5.308_649,
            peak_strain_percent: 1.636_398,
            force_un: 112.332_360,
            loss_db: Some((2.875_386, 2.586_570)),
            smallest_margin: ("insertion-loss-at-rest", 1.043_338, true),
        },
    },
    Pin {
        file: "first-guess.ogee.json",
        contour_length_um: 8_061.130_796_755,
        peak_strain_percent: 25.446_978,
        force_un: 37_483.679_059,
        loss_db: Some((43.584_393, 13.275_313)),
        smallest_margin: ("insertion-loss-at-rest", 0.068_832, false),
        full: FullPin {
            model: ModelName::Spatial,
            onset_percent: 5.446_636,
            peak_strain_percent: 25.881_428,
            force_un: 40_344.594_279,
            loss_db: Some((45.145_772, 13.950_395)),
            smallest_margin: ("insertion-loss-at-rest", 0.066_451, false),
        },
    },
    Pin {
        file: "guided-touch.ogee.json",
        contour_length_um: 10_286.208_322_617,
        peak_strain_percent: 1.653_209,
        force_un: 63.074_383,
        loss_db: Some((2.420_016, 1.552_230)),
        smallest_margin: ("ribbon-stretch", 1.066_296, true),
        full: FullPin {
            model: ModelName::Spatial,
            onset_percent: 26.784_798,
            peak_strain_percent: 1.816_334,
            force_un: 59.829_949,
            loss_db: Some((2.875_386, 2.083_589)),
            smallest_margin: ("insertion-loss-at-rest", 1.043_338, true),
        },
    },
    Pin {
        file: "supply-trace.ogee.json",
        contour_length_um: 16_214.512_719_467,
        peak_strain_percent: 1.017_679,
        force_un: 162.980_352,
        loss_db: None,
        smallest_margin: ("ribbon-stretch", 1.073_076, true),
        full: FullPin {
            model: ModelName::Spatial,
            onset_percent: 116.349_940,
            peak_strain_percent: 1.325_032,
            force_un: 176.672_420,
            loss_db: None,
            smallest_margin: ("wrap-stretched", 1.065_383, true),
        },
    },
    Pin {
        file: "tip-guide.ogee.json",
        contour_length_um: 4_673.238_229_737,
        peak_strain_percent: 2.573_853,
        force_un: 71.485_279,
        loss_db: Some((2.368_317, 2.368_210)),
        smallest_margin: ("wrap-stretched", 1.080_448, true),
        full: FullPin {
            model: ModelName::Spatial,
            onset_percent: 38.774_362,
            peak_strain_percent: 2.688_628,
            force_un: 73.213_881,
            loss_db: Some((2.368_739, 2.368_482)),
            smallest_margin: ("wrap-stretched", 1.051_279, true),
        },
    },
    Pin {
        file: "touch-link.ogee.json",
        contour_length_um: 11_655.120_047_029,
        peak_strain_percent: 1.252_588,
        force_un: 36.416_692,
        loss_db: Some((2.006_483, 1.899_492)),
        smallest_margin: ("ribbon-stretch", 1.127_503, true),
        full: FullPin {
            model: ModelName::Spatial,
            onset_percent: 25.753_274,
            peak_strain_percent: 1.325_053,
            force_un: 37.360_338,
            loss_db: Some((2.122_625, 1.922_290)),
            smallest_margin: ("ribbon-stretch", 1.127_503, true),
        },
    },
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package lies in the workspace").join("samples")
}

fn text(file: &str) -> String {
    let path = folder().join(file);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn design(file: &str) -> Design {
    Design::from_json(&text(file)).unwrap_or_else(|faults| panic!("{file}: {faults:?}"))
}

fn assessment(file: &str, tier: Tier) -> Assessment {
    let checked = design(file).check().unwrap_or_else(|faults| panic!("{file}: {faults:?}"));
    assess(&checked, tier, &mut Caches::new(), &|| true)
        .unwrap_or_else(|reason| panic!("{file}: {reason}"))
        .expect("nobody stopped it")
}

/// Total loss at rest and stretched, dB.
fn losses(got: &Assessment) -> Option<(f64, f64)> {
    let total = |loss: &Option<ogee_design::LossResult>| loss.as_ref().map_or(f64::NAN, |loss| loss.total_db);
    got.light.as_ref().map(|light| (total(&light.rest), total(&light.stretched)))
}

fn smallest_margin(got: &Assessment) -> f64 {
    let least = got.margins.iter().find(|margin| Some(&margin.id) == got.smallest_margin.as_ref());
    least.and_then(|margin| margin.margin).unwrap_or(f64::NAN)
}

/// What differs from the pin, and the pin as it would have to be.
fn differences(pin: &Pin) -> Vec<String> {
    let got = assessment(pin.file, Tier::Live);
    let mut failures = Vec::new();
    let mut near = |what: &str, got: f64, expected: f64, tolerance: Tolerance| {
        failures.extend(tolerance.failure(&format!("{}: {what}", pin.file), got, expected));
    };
    near("contour_length_um", got.shape.contour_length_um, pin.contour_length_um, GEOMETRY);
    near("peak_strain_percent", got.stretch.peak_strain_percent, pin.peak_strain_percent, MECHANICS);
    near("force_un", got.stretch.force_un, pin.force_un, MECHANICS);
    let losses = losses(&got);
    if let (Some((rest, stretched)), Some((pinned_rest, pinned_stretched))) = (losses, pin.loss_db) {
        near("total loss at rest, dB", rest, pinned_rest, LIGHT);
        near("total loss stretched, dB", stretched, pinned_stretched, LIGHT);
    }
    let (id, pinned_margin, passes) = pin.smallest_margin;
    let margin = smallest_margin(&got);
    near("smallest margin", margin, pinned_margin, LIGHT);
    if losses.is_some() != pin.loss_db.is_some() {
        failures.push(format!("{}: light is {:?}", pin.file, losses));
    }
    if got.smallest_margin.as_deref() != Some(id) || got.passes != passes {
        failures.push(format!(
            "{}: smallest margin {:?}, passes {}; pinned {id}, {passes}",
            pin.file, got.smallest_margin, got.passes
        ));
    }
    if !failures.is_empty() {
        failures.push(format!(
            "{}: contour {:.9} µm, peak {:.6} %, force {:.6} µN, loss {losses:?}, margin {:?} {margin:.6} {}",
            pin.file,
            got.shape.contour_length_um,
            got.stretch.peak_strain_percent,
            got.stretch.force_un,
            got.smallest_margin,
            got.passes
        ));
    }
    failures
}

#[test]
fn samples_give_their_pinned_numbers() {
    let failures: Vec<String> = PINS.iter().flat_map(differences).collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// As [`differences`], of the full tier.
fn full_differences(file: &str, pin: &FullPin) -> Vec<String> {
    let got = assessment(file, Tier::Full);
    let mut failures = Vec::new();
    let mut near = |what: &str, got: f64, expected: f64, tolerance: Tolerance| {
        failures.extend(tolerance.failure(&format!("{file}: {what} by the full models"), got, expected));
    };
    let spatial = got.spatial.as_ref();
    let onset_percent = spatial.and_then(|spatial| spatial.onset_percent).unwrap_or(f64::NAN);
    near("onset_percent", onset_percent, pin.onset_percent, MECHANICS);
    let peak = got.stretch.peak_tensile_strain_percent;
    near("peak_tensile_strain_percent", peak, pin.peak_strain_percent, FULL);
    near("force_un", got.stretch.force_un, pin.force_un, FULL);
    let found = losses(&got);
    if let (Some((rest, stretched)), Some((pinned_rest, pinned_stretched))) = (found, pin.loss_db) {
        near("total loss at rest, dB", rest, pinned_rest, LIGHT);
        near("total loss stretched, dB", stretched, pinned_stretched, LIGHT);
    }
    let (id, pinned_margin, passes) = pin.smallest_margin;
    let margin = smallest_margin(&got);
    near("smallest margin", margin, pinned_margin, LIGHT);
    let trouble = spatial.and_then(|spatial| spatial.trouble.as_ref());
    let is_as_pinned = got.governing.model == pin.model
        && got.smallest_margin.as_deref() == Some(id)
        && got.passes == passes
        && found.is_some() == pin.loss_db.is_some()
        && trouble.is_none();
    if !failures.is_empty() || !is_as_pinned {
        failures.push(format!(
            "{file}: {:?}, onset {onset_percent:.6} %, peak {peak:.6} %, force {:.6} µN, loss {found:?}, margin {:?} \
             {margin:.6} {}, trouble {trouble:?}",
            got.governing.model, got.stretch.force_un, got.smallest_margin, got.passes
        ));
    }
    failures
}

#[test]
fn samples_give_their_pinned_numbers_by_the_full_models() {
    let failures: Vec<String> = PINS.iter().flat_map(|pin| full_differences(pin.file, &pin.full)).collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn every_sample_is_pinned() {
    let mut files: Vec<String> = fs::read_dir(folder())
        .expect("the workspace has samples")
        .map(|entry| entry.expect("a readable folder").file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".ogee.json"))
        .collect();
    files.sort();
    let pinned: Vec<&str> = PINS.iter().map(|pin| pin.file).collect();
    assert_eq!(files, pinned);
}

#[test]
fn samples_say_that_they_are_invented() {
    for pin in &PINS {
        let design = design(pin.file);
        assert!(design.invented, "{}", pin.file);
        assert!(assessment(pin.file, Tier::Live).invented, "{}", pin.file);
    }
}

#[test]
fn saving_a_sample_and_loading_it_changes_nothing() {
    for pin in &PINS {
        let design = design(pin.file);
        let saved = design.to_json();
        assert_eq!(Design::from_json(&saved).as_ref(), Ok(&design), "{}", pin.file);
        // The files themselves are written as the program would write them.
        assert_eq!(saved, text(pin.file), "{}", pin.file);
    }
}

#[test]
fn the_built_in_sample_is_the_file() {
    assert_eq!(Design::sample(), design("finger-guide.ogee.json"));
}

#[test]
fn an_assessment_is_deterministic_and_finite() {
    for (pin, tier) in PINS.iter().flat_map(|pin| [(pin, Tier::Live), (pin, Tier::Full)]) {
        let (first, second) = (assessment(pin.file, tier), assessment(pin.file, tier));
        assert_eq!(first, second, "{}", pin.file);
        let json = serde_json::to_string(&first).expect("an assessment is plain data");
        // JSON has no NaN: a number that is none would have become null where no null is allowed.
        let back: serde_json::Value = serde_json::from_str(&json).expect("valid JSON");
        for key in ["peak_strain_percent", "force_un", "cell_stretch_percent", "error_estimate"] {
            assert!(back["stretch"][key].is_number(), "{}: {key}", pin.file);
        }
        assert!(
            back["along"]["left_strain_percent"]
                .as_array()
                .is_some_and(|list| list.iter().all(serde_json::Value::is_number))
        );
    }
}
