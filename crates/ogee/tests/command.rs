//! The command as scripts see it: exit codes, JSON, overrides, pipes and help.

#![allow(clippy::unwrap_used, reason = "a test that cannot read what was written must fail")]

mod command_support;

use command_support::{Folder, sample_files};
use serde_json::{Value, json};
use std::process::Stdio;

const GUIDE: &str = "samples/finger-guide.ogee.json";

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

#[test]
fn a_design_that_passes_ends_with_zero_and_one_that_does_not_with_one() {
    let folder = Folder::new();
    let pass = folder.ogee(&["check", GUIDE]);
    assert_eq!(pass.code, 0, "{pass:?}");
    assert!(pass.out.contains("finger guide (invented data): passes, smallest margin 1."), "{}", pass.out);
    assert!(!pass.out.contains("FAILS") && pass.err.is_empty());
    let fail = folder.ogee(&["check", "samples/first-guess.ogee.json"]);
    assert_eq!(fail.code, 1, "{fail:?}");
    assert!(fail.out.lines().next().unwrap().contains(": FAILS, smallest margin 0."), "{}", fail.out);
    for run in [pass, fail] {
        for name in ["Strain at 35 %", "Insertion loss at rest", "Least radius", "Clearance at rest"] {
            assert!(run.out.contains(name), "{name} is missing in {}", run.out);
        }
        assert!(run.out.lines().nth(1).unwrap().trim_start().starts_with("margin"));
    }
}

#[test]
fn every_sample_but_the_naive_one_passes_and_says_that_it_is_invented() {
    let folder = Folder::new();
    let files = sample_files();
    assert!(files.len() >= 5);
    for file in files {
        let path = file.to_str().unwrap();
        let run = folder.ogee(&["check", "--json", path]);
        let naive = path.ends_with("first-guess.ogee.json");
        assert_eq!(run.code, i32::from(naive), "{path}: {}", run.out);
        let result = run.json();
        assert_eq!(result["invented"], true, "{path}");
        let target = result["stretch"]["target_percent"].as_f64().unwrap();
        assert!((30.0..=45.0).contains(&target), "{path}: {target}");
        if let (false, Some(light)) = (naive, result["light"].as_object()) {
            assert_eq!(light["single_mode"], true, "{path}");
        }
    }
}

#[test]
fn the_samples_are_as_the_program_would_write_them() {
    for file in sample_files() {
        let text = std::fs::read_to_string(&file).unwrap();
        let design = ogee_design::Design::from_json(&text).unwrap();
        assert_eq!(design.to_json(), text, "{}", file.display());
        assert!(design.notes.contains("invented"), "{}", file.display());
    }
}

#[test]
fn the_full_tier_carries_every_model() {
    let folder = Folder::new();
    let free = folder.ogee(&["check", "--json", GUIDE]).json();
    assert_eq!((&free["tier"], &free["governing"]["model"]), (&json!("full"), &json!("spatial")));
    let onset = free["spatial"]["onset_percent"].as_f64().unwrap();
    assert!(onset > 4.0 && onset < 8.0, "{onset}");
    let buckled = &free["spatial"]["buckled"];
    for key in ["force_un", "above_um", "below_um", "energy_un_um", "upper_bound_percent", "error_estimate"] {
        assert!(buckled[key].as_f64().is_some_and(f64::is_finite), "{key}: {buckled}");
    }
    assert!(buckled["peak_place"]["words"].is_string() && buckled["validity"].is_array());
    let peak = |model: &Value| model["peak_tensile_strain_percent"].as_f64().unwrap();
    // The pull is shared between bending in the plane and out of it.
    assert!(peak(buckled) < peak(&free["ribbon"]) && peak(&free["ribbon"]) > peak(&free["cell"]));
    let kept = folder.ogee(&["check", "--json", "--set", "support.kind=free-in-plane", GUIDE]).json();
    assert_eq!(kept["governing"]["model"], "ribbon");
    assert!(kept["spatial"].is_null() && peak(&kept["ribbon"]) == peak(&free["ribbon"]));
    let bonded = folder.ogee(&["check", "--json", "--set", "support.kind=bonded", GUIDE]).json();
    assert_eq!(bonded["governing"]["model"], "bonded");
    for key in ["foundation_mpa", "following_percent", "largest_slip_um", "edge_shear_percent"] {
        assert!(bonded["bonded"][key].as_f64().is_some_and(|number| number > 0.0), "{key}");
    }
    assert!(peak(&bonded["bonded"]) > peak(&free["ribbon"]));
    let words = folder.ogee(&["check", GUIDE]).out;
    assert!(
        words.contains("leaves its plane at a stretch of") && words.contains("buckled ribbon"),
        "{words}"
    );
}

#[test]
fn support_out_of_range_is_refused_by_name() {
    let folder = Folder::new();
    for (set, field) in [
        ("support.elastomer.modulus_mpa=0", "support.elastomer.modulus_mpa"),
        ("support.curl_radius_um=1", "support.curl_radius_um"),
        ("support.sideways_um=90000", "support.sideways_um"),
        ("support.kind=glued", "support.kind"),
    ] {
        let run = folder.ogee(&["check", "--set", set, GUIDE]);
        assert_eq!(run.code, 2, "{set}: {run:?}");
        assert!(run.err.contains(field), "{set}: {}", run.err);
    }
}

#[test]
fn the_keys_of_the_result_are_stable() {
    let folder = Folder::new();
    let result = folder.ogee(&["check", "--json", "--tier", "live", GUIDE]).json();
    assert_eq!(
        keys(&result),
        [
            "schema",
            "version",
            "design",
            "invented",
            "tier",
            "passes",
            "smallest_margin",
            "margins",
            "shape",
            "section",
            "stretch",
            "governing",
            "cell",
            "light",
            "wrap",
            "thermal",
            "life",
            "islands",
            "trace",
            "along",
            "notes"
        ]
    );
    assert_eq!((&result["schema"], &result["version"]), (&json!("ogee-result"), &json!(1)));
    for margin in result["margins"].as_array().unwrap() {
        let keys: Vec<&str> = keys(margin).into_iter().filter(|k| *k != "why_absent").collect();
        assert_eq!(
            keys,
            [
                "id",
                "name",
                "margin",
                "passes",
                "value",
                "limit",
                "unit",
                "more_is_better",
                "place",
                "model",
                "formula",
                "source",
                "sensitivities"
            ]
        );
    }
    let mut ids: Vec<&str> =
        result["margins"].as_array().unwrap().iter().map(|m| m["id"].as_str().unwrap()).collect();
    ids.sort_unstable();
    assert_eq!(
        ids,
        [
            "clearance-at-rest",
            "clearance-stretched",
            "cycled-polymer",
            "fits-the-height",
            "fits-the-span",
            "grating-drift",
            "insertion-loss-at-rest",
            "insertion-loss-stretched",
            "island-strain",
            "least-radius",
            "parting",
            "residual-strain",
            "ribbon-stretch",
            "single-mode",
            "strain-at-target",
            "stretch-reserve",
            "wafer-bow",
            "wrap",
            "wrap-stretched"
        ]
    );
    assert_eq!(
        keys(&result["shape"]),
        [
            "contour_length_um",
            "period_contour_um",
            "span_um",
            "height_um",
            "slack_percent",
            "ribbon_slack_percent",
            "tilt_deg",
            "least_radius_um",
            "arm_half_length_um",
            "gap_rest_um",
            "gap_stretched_um",
            "stretched_amplitude_um"
        ]
    );
    // A null is explained: by the margin itself or by a note.
    for margin in result["margins"].as_array().unwrap().iter().filter(|m| m["margin"].is_null()) {
        assert!(margin["why_absent"].is_string(), "{margin}");
    }
}

#[test]
fn margins_are_sorted_and_agree_with_the_verdict() {
    let folder = Folder::new();
    for file in ["samples/finger-guide.ogee.json", "samples/first-guess.ogee.json"] {
        let result = folder.ogee(&["check", "--json", file]).json();
        let margins: Vec<f64> =
            result["margins"].as_array().unwrap().iter().filter_map(|m| m["margin"].as_f64()).collect();
        assert!(margins.windows(2).all(|p| p[0] <= p[1]), "{margins:?}");
        assert_eq!(result["passes"], margins[0] >= 1.0);
        assert_eq!(result["smallest_margin"], result["margins"][0]["id"]);
    }
}

#[test]
fn several_designs_are_told_one_by_one_and_the_gravest_decides() {
    let folder = Folder::new();
    let naive = "samples/first-guess.ogee.json";
    assert_eq!(folder.ogee(&["check", "--quiet", GUIDE, naive]).code, 1);
    let words = folder.ogee(&["check", GUIDE, naive]);
    assert!(words.out.contains("finger guide") && words.out.contains("first guess"), "{}", words.out);
    let run = folder.ogee(&["check", "--json", naive, "nowhere.ogee.json", GUIDE]);
    assert_eq!(run.code, 2);
    let list = run.json();
    assert_eq!(list.as_array().unwrap().len(), 3);
    assert_eq!(keys(&list[0]), ["file", "result"]);
    assert_eq!(keys(&list[1]), ["file", "error"]);
    assert_eq!(list[1]["error"]["code"], "unreadable-input");
    assert_eq!(list[2]["result"]["passes"], true);
    assert_eq!(run.error()["file"], "nowhere.ogee.json");
}

#[test]
fn standard_input_and_output_are_a_dash() {
    let folder = Folder::new();
    let design = folder.ogee(&["new", "--to", "-"]);
    assert_eq!(design.code, 0, "{design:?}");
    let piped = folder.ogee_with_input(&["check", "--json", "-"], &design.out);
    let direct = folder.ogee(&["check", "--json", GUIDE]);
    assert_eq!(piped.json()["margins"], direct.json()["margins"]);
    let table = folder.ogee_with_input(&["export", "-", "--to", "-", "--format", "csv"], &design.out);
    assert_eq!(table.code, 0, "{table:?}");
    assert!(table.out.starts_with("s_um,x_um,y_um,phi_deg,kappa_per_um,") && table.err.is_empty());
}

#[test]
fn quiet_says_nothing_but_errors() {
    let folder = Folder::new();
    let run = folder.ogee(&["check", "-q", "samples/first-guess.ogee.json"]);
    assert_eq!((run.code, run.out.as_str(), run.err.as_str()), (1, "", ""));
    let run = folder.ogee(&["export", "-q", GUIDE, "--to", "r.svg"]);
    assert_eq!((run.code, run.out.as_str(), run.err.as_str()), (0, "", ""));
    assert!(folder.ogee(&["check", "-q", "nowhere"]).err.contains("nowhere"));
}

#[test]
fn set_overrides_a_field_with_a_unit_or_a_layers_name() {
    let folder = Folder::new();
    let check = |set: &[&str]| {
        let mut args = vec!["check", "--json", GUIDE];
        for assignment in set {
            args.extend(["--set", assignment]);
        }
        folder.ogee(&args)
    };
    let span = |set: &[&str]| check(set).json()["shape"]["span_um"].as_f64().unwrap();
    let text = folder.read(GUIDE);
    let design: Value = serde_json::from_str(&text).unwrap();
    let [periods, pitch_um] = ["periods", "pitch_um"].map(|key| design["shape"][key].as_f64().unwrap());
    // On crests the span is the leads and the periods, no more.
    let crest = "shape.ends=crest";
    let wider = span(&[crest, "shape.lead_um=0", "shape.pitch_um=1.3 mm"]);
    assert!((wider - span(&[crest, "shape.lead_um=0"]) - periods * (1300.0 - pitch_um)).abs() < 1e-6);
    let by_name = check(&["stack.layers.core.width_um=1.5 µm"]);
    let by_index = check(&["stack.layers[1].width_um=1500 nm"]);
    assert_eq!(by_name.json(), by_index.json());
    assert_ne!(by_name.json()["light"]["effective_index"], check(&[]).json()["light"]["effective_index"]);
    // The last one counts, and the file stays as it is.
    assert_eq!(span(&[crest, "shape.pitch_um=1", "shape.lead_um=0", "shape.pitch_um=1300"]), wider);
    assert_eq!(folder.read(GUIDE), text);
}

#[test]
fn set_explains_what_it_cannot_take() {
    let folder = Folder::new();
    let cases = [
        ("shape.pich_um=3", "did you mean `shape.pitch_um`?"),
        ("shape.pitch_um=45°", "is an angle, but this field is a length"),
        ("shape.pitch_um=wide", "does not begin with a number"),
        ("shape.periods=2.5", "is not a whole number"),
        ("shape.family=zigzag", "one of `sine`, `arc`, `arc-and-arm`"),
        ("stack.layers.lid.width_um=3", "there is no layer `lid`"),
        ("shape.pitch_um=2e9", "from 0.01 to 1000000 µm is allowed"),
    ];
    for (set, message) in cases {
        let run = folder.ogee(&["check", GUIDE, "--set", set]);
        assert_eq!(run.code, 2, "{set}: {run:?}");
        assert!(run.err.contains(message) && run.err.contains(GUIDE), "{set}: {}", run.err);
        assert!(run.out.is_empty());
    }
    let run = folder.ogee(&["check", GUIDE, "--set", "shape.pitch_um"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("FIELD=VALUE"), "{}", run.err);
}

#[test]
fn mistakes_on_the_command_line_end_with_two() {
    let folder = Folder::new();
    for args in [
        &["check"][..],
        &["check", GUIDE, "--wrong"],
        &["map", GUIDE, "--to", "m.png", "--size", "big"],
        &["map", GUIDE, "--to", "m.png", "--field", "beauty"],
        &["map", GUIDE, "--to", "m.png", "--field", "strain-margin", "--field", "all-limits"],
        &["map", GUIDE, "--to", "m.tiff"],
        &["export", GUIDE],
        &["export", GUIDE, "--to", "ribbon"],
        &["export", GUIDE, "--to", "-"],
        &["export", GUIDE, "--to", "r.csv", "--tolerance-um", "0"],
        &["export", GUIDE, "--to", "r.csv", "--tolerance-um", "NaN"],
        &["new", "--family", "zigzag", "--to", "-"],
    ] {
        let run = folder.ogee(args);
        assert_eq!(run.code, 2, "{args:?}: {run:?}");
        assert!(!run.err.is_empty() && run.out.is_empty(), "{args:?}: {run:?}");
    }
    let run = folder.ogee(&["check", "--json", "--wrong", GUIDE]);
    assert_eq!((run.code, run.error()["code"].as_str()), (2, Some("usage")));
}

#[test]
fn help_and_version_go_to_standard_output() {
    let folder = Folder::new();
    let help = folder.ogee(&["--help"]);
    assert_eq!(help.code, 0);
    for verb in ["check", "map", "export", "new", "schema"] {
        assert!(help.out.contains(verb), "{}", help.out);
    }
    assert!(folder.ogee(&["--version"]).out.starts_with("ogee "));
}

/// The examples of a help text: lines after `Example` that start with the program's name.
fn examples(help: &str) -> Vec<Vec<String>> {
    let after = help.split_once("Example").map_or("", |(_, rest)| rest);
    after.lines().filter_map(|line| line.strip_prefix("  ogee ")).map(words_of).collect()
}

/// A command line in words, with double quotes.
fn words_of(line: &str) -> Vec<String> {
    let parts = line.split('"').enumerate();
    parts
        .flat_map(|(i, part)| {
            if i % 2 == 1 {
                vec![part.to_owned()]
            } else {
                part.split_whitespace().map(str::to_owned).collect()
            }
        })
        .collect()
}

#[test]
fn the_examples_of_every_help_run_as_they_stand() {
    let folder = Folder::new();
    let mut run = 0;
    for verb in ["", "check", "map", "export", "new", "schema"] {
        let args: Vec<&str> = [verb, "--help"].into_iter().filter(|a| !a.is_empty()).collect();
        let help = folder.ogee(&args);
        let examples = examples(&help.out);
        assert!(!examples.is_empty(), "no example in the help of {verb}: {}", help.out);
        for example in examples {
            let words: Vec<&str> = example.iter().map(String::as_str).collect();
            let done = folder.ogee(&words);
            assert!(done.code == 0 || (done.code == 1 && words[0] == "check"), "{words:?}: {done:?}");
            assert!(
                !words.contains(&"--to") || folder.path(words[words.len() - 1]).exists() || words.len() > 4
            );
            run += 1;
        }
    }
    assert!(run >= 9, "{run} examples");
}

#[test]
fn schemas_are_json_schemas() {
    let folder = Folder::new();
    let design = folder.ogee(&["schema"]).json();
    let result = folder.ogee(&["schema", "--result"]).json();
    assert!(design["properties"]["shape"].is_object() && design["$schema"].is_string());
    assert!(result["properties"]["margins"].is_object());
}

#[test]
fn new_makes_a_checkable_design_of_every_family() {
    let folder = Folder::new();
    for family in ["sine", "arc", "arc-and-arm", "sine-generated", "clothoid"] {
        let file = format!("{family}.ogee.json");
        let run = folder.ogee(&["new", "--family", family, "--to", &file, "--set", "name=mine"]);
        assert_eq!(run.code, 0, "{run:?}");
        let check = folder.ogee(&["check", "--json", &file]);
        assert!(check.code <= 1, "{family}: {check:?}");
        assert_eq!(check.json()["design"], "mine");
    }
    let refused = folder.ogee(&["new", "--to", "x.ogee.json", "--set", "shape.pitch_um=-1"]);
    assert_eq!(refused.code, 2);
    assert!(!folder.path("x.ogee.json").exists());
}

#[test]
#[cfg(unix)]
fn a_closed_pipe_ends_quietly() {
    let folder = Folder::new();
    for args in [
        &["export", GUIDE, "--to", "-", "--format", "csv", "--tolerance-um", "0.0001"][..],
        &["schema", "--result"],
        &["check", "--json", GUIDE],
    ] {
        let mut child = folder.command(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        // The reader goes away before the first byte.
        drop(child.stdout.take());
        let done = child.wait_with_output().unwrap();
        assert_eq!(done.status.code(), Some(0), "{args:?}");
        assert!(done.stderr.is_empty(), "{args:?}: {}", String::from_utf8_lossy(&done.stderr));
    }
}
