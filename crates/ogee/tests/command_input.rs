//! Every kind of bad input and what the command says to it.

#![allow(clippy::unwrap_used, reason = "a test that cannot read what was written must fail")]

mod command_support;

use command_support::{Folder, Run};
use serde_json::{Value, json};

/// Checks the changed finger guide in words and as JSON; returns the JSON fault.
fn fault(change: impl Fn(&mut Value)) -> (Run, Value) {
    let folder = Folder::new();
    folder.write_changed("bad.ogee.json", change);
    let words = folder.ogee(&["check", "bad.ogee.json"]);
    assert_eq!(words.code, 2, "{words:?}");
    assert!(words.out.is_empty() && words.err.starts_with("ogee: bad.ogee.json: "), "{words:?}");
    let run = folder.ogee(&["check", "--json", "bad.ogee.json"]);
    let error = run.error();
    assert_eq!((run.code, run.out.as_str()), (2, ""), "{run:?}");
    let keys: Vec<&String> = error.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["schema", "version", "code", "exit_code", "file", "message", "faults"]);
    assert_eq!(error["code"], "invalid-design");
    assert_eq!((&error["exit_code"], &error["file"]), (&json!(2), &json!("bad.ogee.json")));
    let fault = error["faults"][0].clone();
    (words, fault)
}

/// The fault's path and its message.
fn assert_fault(fault: &Value, path: &str, message: &str) {
    assert_eq!(fault["path"], path, "{fault}");
    assert!(fault["message"].as_str().unwrap().contains(message), "{fault}");
}

#[test]
fn unreadable_files_are_named() {
    let folder = Folder::new();
    folder.write("binary.ogee.json", [0xff, 0xfe, 0x00]);
    for (file, reason) in [
        ("nowhere.ogee.json", "there is no such file or folder"),
        ("samples", "it is a folder"),
        ("binary.ogee.json", "the file is not text in UTF-8"),
    ] {
        let run = folder.ogee(&["check", file]);
        assert_eq!(run.code, 2, "{run:?}");
        assert!(run.err.contains(file) && run.err.contains(reason), "{}", run.err);
        let json = folder.ogee(&["check", "--json", file]).error();
        assert_eq!((&json["code"], &json["file"]), (&json!("unreadable-input"), &json!(file)));
    }
}

#[test]
fn text_that_is_no_design_is_told_apart() {
    let folder = Folder::new();
    for (text, message) in [
        ("", "not a JSON text"),
        ("{ \"schema\": ", "not a JSON text"),
        ("[1, 2]", "one JSON object"),
        ("{}", "schema"),
        ("{\"schema\": \"drawing\", \"version\": 1}", "`ogee-design` is expected"),
    ] {
        folder.write("x.ogee.json", text);
        for run in [folder.ogee(&["check", "x.ogee.json"]), folder.ogee_with_input(&["check", "-"], text)] {
            assert_eq!(run.code, 2, "{run:?}");
            assert!(run.err.contains(message), "{text}: {}", run.err);
        }
    }
    assert!(folder.ogee_with_input(&["check", "-"], "").err.contains("standard input"));
}

#[test]
fn wrong_versions() {
    let (words, later) = fault(|v| v["version"] = json!(7));
    assert_fault(&later, "version", "reads version 1");
    assert!(words.err.contains("version = 7"), "{}", words.err);
    assert_fault(&fault(|v| v["version"] = json!("one")).1, "version", "reads version 1");
}

#[test]
fn missing_unknown_and_mistyped_fields() {
    let missing = fault(|v| drop(v["shape"].as_object_mut().unwrap().remove("pitch_um"))).1;
    assert_fault(&missing, "shape", "missing field `pitch_um`");
    let unknown = fault(|v| v["shape"]["pitch_nm"] = json!(5)).1;
    assert!(unknown["message"].as_str().unwrap().contains("unknown field `pitch_nm`"), "{unknown}");
    // A unit belongs into the key, not into the value.
    assert_fault(&fault(|v| v["shape"]["pitch_um"] = json!("1.2 mm")).1, "shape.pitch_um", "invalid type");
    assert_fault(&fault(|v| v["shape"]["family"] = json!("zigzag")).1, "shape.family", "zigzag");
    assert_fault(&fault(|v| v["shape"]["periods"] = json!(2.5)).1, "shape.periods", "invalid type");
}

#[test]
fn numbers_out_of_range_name_field_value_range_and_the_nearest() {
    for (value, shown, nearest) in [(-5.0, "-5", 0.01), (0.0, "0", 0.01), (1e12, "1.000e12", 1e6)] {
        let (words, fault) = fault(|v| v["shape"]["pitch_um"] = json!(value));
        assert_fault(&fault, "shape.pitch_um", "from 0.01 to 1000000 µm is allowed");
        assert_eq!((&fault["value"], &fault["nearest"]), (&json!(shown), &json!(nearest)));
        assert!(words.err.contains(&format!("shape.pitch_um = {shown}: ")), "{}", words.err);
        assert!(words.err.contains("the nearest possible value is"), "{}", words.err);
    }
    assert_fault(
        &fault(|v| v["stack"]["layers"][1]["poisson_ratio"] = json!(0.6)).1,
        "stack.layers[1].poisson_ratio",
        "",
    );
    assert_fault(
        &fault(|v| v["light"]["wavelength_um"] = json!(1310)).1,
        "light.wavelength_um",
        "from 0.2 to 20 µm",
    );
    let folder = Folder::new();
    // JSON has no word for them, and a number beyond the largest is none either.
    for word in ["NaN", "Infinity", "1e999"] {
        let text = folder.read("samples/finger-guide.ogee.json");
        let design: Value = serde_json::from_str(&text).unwrap();
        let amplitude = format!("\"amplitude_um\": {:?}", design["shape"]["amplitude_um"].as_f64().unwrap());
        assert!(text.contains(&amplitude), "{amplitude}");
        folder.write("x.ogee.json", text.replacen(&amplitude, &format!("\"amplitude_um\": {word}"), 1));
        let run = folder.ogee(&["check", "x.ogee.json"]);
        assert_eq!(run.code, 2, "{word}: {run:?}");
        let set = folder.ogee(&[
            "check",
            "samples/finger-guide.ogee.json",
            "--set",
            &format!("shape.pitch_um={word}"),
        ]);
        assert_eq!(set.code, 2, "{word}: {set:?}");
        assert!(set.err.contains("shape.pitch_um"), "{}", set.err);
    }
}

#[test]
fn every_fault_is_told_at_once() {
    let folder = Folder::new();
    folder.write_changed("bad.ogee.json", |v| {
        v["shape"]["pitch_um"] = json!(-1);
        v["stack"]["layers"][0]["modulus_mpa"] = json!(0);
        v["light"]["core"] = json!("heart");
    });
    let run = folder.ogee(&["check", "bad.ogee.json"]);
    assert_eq!(run.code, 2);
    for part in ["3 faults", "shape.pitch_um = -1", "stack.layers[0].modulus_mpa = 0", "light.core = heart"] {
        assert!(run.err.contains(part), "{part}: {}", run.err);
    }
}

#[test]
fn impossible_shapes_say_which_inequality_failed() {
    // An arc and its arms: the radius must leave room for the arms.
    let radius = fault(|v| {
        v["shape"]["family"] = json!("arc-and-arm");
        v["shape"]["radius_um"] = json!(5000);
    })
    .1;
    assert_eq!(radius["path"], "shape.radius_um", "{radius}");
    assert!(radius["nearest"].as_f64().is_some_and(|n| n < 5000.0), "{radius}");
    // A ribbon wider than its bends.
    let (words, width) = fault(|v| v["shape"]["width_um"] = json!(900));
    assert_eq!(width["path"], "shape.width_um", "{width}");
    assert!(width["nearest"].as_f64().is_some_and(|n| n < 900.0), "{width}");
    assert!(words.err.contains("shape.width_um = 900"), "{}", words.err);
    let arms = fault(|v| v["shape"]["family"] = json!("arc-and-arm")).1;
    assert_fault(&arms, "shape.radius_um", "radius_um or tilt_deg");
    let share = fault(|v| v["shape"]["family"] = json!("clothoid")).1;
    assert_fault(&share, "shape.plateau_share", "");
}

#[test]
fn impossible_stacks_and_cores() {
    assert_fault(&fault(|v| v["stack"]["layers"] = json!([])).1, "stack.layers", "at least one layer");
    let below = fault(|v| v["stack"]["layers"][1]["refractive_index"] = json!(1.3)).1;
    assert_fault(&below, "stack.layers[1].refractive_index", "cladding");
    // A core far too thin for its asymmetric surroundings guides nothing.
    let unguided = fault(|v| {
        v["stack"]["layers"][0]["refractive_index"] = json!(1.55);
        v["stack"]["layers"][1]["thickness_um"] = json!(0.05);
    })
    .1;
    assert!(unguided["path"].as_str().unwrap().starts_with("stack.layers[1]."), "{unguided}");
    assert!(unguided["message"].as_str().unwrap().contains("guide"), "{unguided}");
    assert_fault(&fault(|v| v["light"]["core"] = json!("heart")).1, "light.core", "`core`");
    let same = fault(|v| v["stack"]["layers"][0]["name"] = json!("core")).1;
    assert_fault(&same, "stack.layers[1].name", "unique");
}

#[test]
fn ten_thousand_periods_are_fine_and_one_more_is_not() {
    let folder = Folder::new();
    let check = |n: &str| {
        folder.ogee(&[
            "check",
            "--json",
            "samples/supply-trace.ogee.json",
            "--set",
            &format!("shape.periods={n}"),
        ])
    };
    let most = check("10000");
    assert!(most.code <= 1, "{most:?}");
    assert!(most.json()["shape"]["contour_length_um"].as_f64().unwrap() > 1e6);
    let more = check("10001");
    assert_eq!(more.code, 2);
    let error = more.error();
    assert_fault(&error["faults"][0], "shape.periods", "from 1 to 10000");
    assert_eq!(error["faults"][0]["nearest"], 10_000.0);
    assert_eq!(check("0").code, 2);
}

#[test]
fn a_check_without_a_solution_ends_with_three() {
    let folder = Folder::new();
    // A strip on a substrate of higher index than the air beside it: its bends radiate downwards, which the slab
    // model cannot tell, so there is no loss to judge.
    folder.write_changed("strip.ogee.json", |v| {
        let layers = v["stack"]["layers"].as_array_mut().unwrap();
        layers.truncate(2);
        layers[1].as_object_mut().unwrap().remove("sides");
        layers[1]["thickness_um"] = json!(1.6);
        layers[1]["width_um"] = json!(1.9);
        v["light"]["surroundings_index"] = json!(1.0);
        v.as_object_mut().unwrap().remove("process");
    });
    let words = folder.ogee(&["check", "strip.ogee.json"]);
    assert_eq!(words.code, 3, "{words:?}");
    assert!(words.out.lines().next().unwrap().contains("NOT JUDGED in full (2 of "), "{}", words.out);
    assert!(words.err.contains("Insertion loss at rest: ") && words.err.contains("radiate"), "{}", words.err);
    let json = folder.ogee(&["check", "--json", "strip.ogee.json"]);
    let error = json.error();
    assert_eq!((json.code, &error["code"], &error["exit_code"]), (3, &json!("no-solution"), &json!(3)));
    let result = json.json();
    let absent: Vec<&Value> =
        result["margins"].as_array().unwrap().iter().filter(|m| m["margin"].is_null()).collect();
    assert_eq!(absent.len(), 2);
    assert!(absent.iter().all(|m| m["why_absent"].is_string() && m["passes"] == false));
    // A margin below 1 is an answer, so it comes before a missing one.
    let narrow = folder.ogee(&["check", "-q", "strip.ogee.json", "--set", "limits.span_um=10"]);
    assert_eq!(narrow.code, 1, "{narrow:?}");
}

/// What is told of a bad design: the field, the value given, and what is allowed or wrong.
#[derive(Clone, Copy)]
struct Told {
    path: &'static str,
    value: &'static str,
    message: &'static str,
}

/// A change that makes the finger guide impossible, and what is told of it.
type Bad<'a> = (&'a dyn Fn(&mut Value), Told);

/// Every change must be refused with code 2 and in these words; all that are not are listed together.
fn assert_told(cases: &[Bad<'_>]) {
    let mut wrong = Vec::new();
    for (change, Told { path, value, message }) in cases {
        let (words, fault) = fault(change);
        let told = fault["message"].as_str().unwrap();
        let line = if value.is_empty() { format!("{path}: ") } else { format!("{path} = {value}: ") };
        if fault["path"] != *path || fault["value"] != *value || !told.contains(message) {
            wrong.push(format!("{path} = {value}: {message}: told {fault}"));
        } else if !words.err.contains(&line) || !words.err.contains(message) {
            wrong.push(format!("{line}{message}: told {}", words.err));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn told(path: &'static str, value: &'static str, message: &'static str) -> Told {
    Told { path, value, message }
}

#[test]
fn impossible_layers() {
    let layer =
        |key: &'static str, value: Value| move |v: &mut Value| v["stack"]["layers"][1][key] = value.clone();
    let (thickness, poisson) = ("from 1.000e-5 to 100000 µm is allowed", "from -0.99 to 0.4999 is allowed");
    assert_told(&[
        (&layer("thickness_um", json!(0)), told("stack.layers[1].thickness_um", "0", thickness)),
        (&layer("thickness_um", json!(-0.95)), told("stack.layers[1].thickness_um", "-0.95", thickness)),
        (&layer("poisson_ratio", json!(-1)), told("stack.layers[1].poisson_ratio", "-1", poisson)),
        (&layer("poisson_ratio", json!(0.5)), told("stack.layers[1].poisson_ratio", "0.5", poisson)),
        (&layer("poisson_ratio", json!(-1.2)), told("stack.layers[1].poisson_ratio", "-1.2", poisson)),
        (
            &layer("width_um", json!(60)),
            told("stack.layers[1].width_um", "60", "beyond the ribbon's width of 56 µm; at most 56 µm fits"),
        ),
        (
            &layer("material_id", json!("unobtainium")),
            told("stack.layers[1].material_id", "unobtainium", "neither the library nor `materials`"),
        ),
        (
            &layer("yield_strain_percent", json!(-4)),
            told("stack.layers[1].yield_strain_percent", "-4", "% is allowed"),
        ),
    ]);
}

#[test]
fn contradictory_steps_of_a_process() {
    let steps = |change: fn(&mut Vec<Value>)| {
        move |v: &mut Value| change(v["process"]["steps"].as_array_mut().unwrap())
    };
    assert_told(&[
        (
            &steps(|s| s.swap(0, 1)),
            told("process.steps[1].layer", "lower cladding", "between the handle and the layers on it"),
        ),
        (
            &steps(|s| s.swap(1, 2)),
            told("process.steps[1].layer", "upper cladding", "would touch none of those present"),
        ),
        (
            &steps(|s| drop(s.remove(1))),
            told("process.steps", "", "layer `core` must be deposited or bonded in one step"),
        ),
        (
            &steps(|s| s.insert(2, s[1].clone())),
            told("process.steps", "2 steps", "layer `core` must be deposited or bonded in one step"),
        ),
        (
            &steps(|s| s[1]["layer"] = json!("heart")),
            told("process.steps", "", "layer `core` must be deposited or bonded in one step"),
        ),
        (
            &steps(|s| s[0]["temperature_c"] = json!(-300)),
            told("process.steps[0].temperature_c", "-300", "from -273.15 to 3000 °C is allowed"),
        ),
        (
            &steps(|s| s.push(json!({"step": "release", "temperature_c": 20}))),
            told("process.steps[5].step", "release", "has been released before"),
        ),
        (
            &steps(|s| s.insert(0, json!({"step": "release", "temperature_c": 20}))),
            told("process.steps[0].step", "release", "no layer on the handle"),
        ),
        (
            &steps(|s| s[3]["layer"] = json!("core")),
            told("process.steps[3].layer", "core", "a step “heat or cool” brings no layer"),
        ),
        (
            &steps(|s| drop(s[0].as_object_mut().unwrap().remove("layer"))),
            told("process.steps", "", "layer `lower cladding` must be deposited or bonded in one step"),
        ),
        (
            &steps(|s| s[3]["intrinsic_stress_mpa"] = json!(20)),
            told("process.steps[3].intrinsic_stress_mpa", "20", "only a step that brings a layer"),
        ),
        (
            &|v| v["process"]["service_low_c"] = json!(90),
            told("process.service_low_c", "90", "must not be above the warmest of 45 °C"),
        ),
        (
            &|v| v["process"]["handle"]["thickness_um"] = json!(0),
            told("process.handle.thickness_um", "0", "from 0.01 to 100000 µm is allowed"),
        ),
    ]);
}

#[test]
fn currents_lives_islands_and_wraps_that_cannot_be() {
    let trace = |layer: &'static str, resistivity: f64| {
        move |v: &mut Value| {
            v["trace"] = json!({
                "layer": layer,
                "resistivity_nohm_m": resistivity,
                "temp_coeff_per_k": 0.0039,
                "current_ma": 5,
            });
        }
    };
    let cycles =
        |key: &'static str, value: f64| move |v: &mut Value| v["life"]["cycles"][0][key] = json!(value);
    assert_told(&[
        (
            &trace("upper cladding", 0.0),
            told("trace.resistivity_nohm_m", "0", "from 0.001 to 1.000e9 nΩ·m is allowed"),
        ),
        (&trace("core", 17.2), told("trace.layer", "core", "a current needs a metal layer of its own")),
        (&trace("wire", 17.2), told("trace.layer", "wire", "there are `lower cladding`, `core`")),
        (&cycles("count", 0.0), told("life.cycles[0].count", "0", "from 1 to 1.000e15 is allowed")),
        (&cycles("to_percent", 0.0), told("life.cycles[0].to_percent", "0", "two different stretches")),
        (&|v| v["life"]["cycles"] = json!([]), told("life.cycles", "0 blocks", "at least one block")),
        (&|v| v["life"]["survival_percent"] = json!(100), told("life.survival_percent", "100", "is allowed")),
        (
            &|v| drop(v["duty"].as_object_mut().unwrap().remove("wrap")),
            told("life.cycles[1].wrapped", "true", "needs the cylinder of `duty.wrap`"),
        ),
        (
            &|v| v["duty"]["wrap"]["radius_um"] = json!(-3500),
            told("duty.wrap.radius_um", "-3500", "µm is allowed"),
        ),
        (
            &|v| v["islands"]["length_um"] = json!(9000),
            told("islands.length_um", "9000", "from middle to middle of 9000 µm"),
        ),
        (
            &|v| v["islands"]["adhesive_thickness_um"] = json!(10),
            told("islands.adhesive_shear_modulus_mpa", "", "needed with `islands.adhesive_thickness_um`"),
        ),
        (
            &|v| v["islands"]["poisson_ratio"] = json!(0.5),
            told("islands.poisson_ratio", "0.5", "from -0.99 to 0.4999 is allowed"),
        ),
    ]);
}
