//! Exports and maps: files that are whole or absent, and numbers that read back.

#![allow(clippy::unwrap_used, reason = "a test that cannot read what was written must fail")]

mod command_support;

use command_support::{Folder, sample_files};
use kurbo::{BezPath, ParamCurveArclen};

const GUIDE: &str = "samples/finger-guide.ogee.json";

fn contour_um(folder: &Folder, file: &str) -> f64 {
    let run = folder.ogee(&["check", "--json", file]);
    run.json()["shape"]["contour_length_um"].as_f64().unwrap()
}

/// Contour length from positions and tangents of the table.
fn table_length_um(text: &str) -> f64 {
    let rows: Vec<Vec<f64>> =
        text.lines().skip(1).map(|line| line.split(',').map(|n| n.parse().unwrap()).collect()).collect();
    rows.windows(2)
        .map(|p| {
            let half = 0.5 * (p[1][3] - p[0][3]).to_radians();
            (p[1][1] - p[0][1]).hypot(p[1][2] - p[0][2]) * if half == 0.0 { 1.0 } else { half / half.sin() }
        })
        .sum()
}

/// Contour length of the drawing's centreline.
fn drawing_length_um(svg: &str) -> f64 {
    let element = svg.split('<').find(|e| e.contains("id=\"centreline\"")).unwrap();
    let path = element.split_once(" d=\"").unwrap().1.split_once('"').unwrap().0;
    1000.0 * BezPath::from_svg(path).unwrap().segments().map(|s| s.arclen(1e-12)).sum::<f64>()
}

#[test]
fn exports_of_every_sample_have_the_assessments_contour() {
    let folder = Folder::new();
    for sample in sample_files() {
        let file = sample.to_str().unwrap();
        let expected = contour_um(&folder, file);
        for name in ["ribbon.csv", "ribbon.svg"] {
            let run = folder.ogee(&["export", "--json", "--force", file, "--to", name]);
            assert_eq!(run.code, 0, "{run:?}");
            let text = folder.read(name);
            let length =
                if name.ends_with("csv") { table_length_um(&text) } else { drawing_length_um(&text) };
            assert!((length / expected - 1.0).abs() < 1e-6, "{file} {name}: {length}, assessed {expected}");
            let told = run.json();
            let keys: Vec<&String> = told.as_object().unwrap().keys().collect();
            assert_eq!(
                keys,
                [
                    "schema",
                    "version",
                    "file",
                    "format",
                    "tolerance_um",
                    "points",
                    "largest_chord_error_um",
                    "contour_length_um"
                ]
            );
            assert!((told["contour_length_um"].as_f64().unwrap() / expected - 1.0).abs() < 1e-6);
            assert!(told["largest_chord_error_um"].as_f64().unwrap() <= 0.005);
            assert_eq!(told["format"], &name[name.len() - 3..]);
        }
    }
}

#[test]
fn an_existing_output_is_kept_unless_forced() {
    let folder = Folder::new();
    folder.write("ribbon.csv", "precious");
    for args in [
        &["export", GUIDE, "--to", "ribbon.csv"][..],
        &["map", GUIDE, "--size", "2x2", "--to", "ribbon.csv"],
        &["new", "--to", "ribbon.csv"],
    ] {
        let run = folder.ogee(args);
        assert_eq!(run.code, 4, "{run:?}");
        assert!(run.err.contains("ribbon.csv") && run.err.contains("--force"), "{}", run.err);
        assert_eq!(folder.read("ribbon.csv"), "precious");
    }
    let json = folder.ogee(&["export", "--json", GUIDE, "--to", "ribbon.csv"]).error();
    assert_eq!((json["code"].as_str(), json["exit_code"].as_u64()), (Some("output-exists"), Some(4)));
    assert_eq!(folder.ogee(&["export", GUIDE, "--to", "ribbon.csv", "--force"]).code, 0);
    assert!(folder.read("ribbon.csv").starts_with("s_um,"));
}

#[test]
fn an_output_that_cannot_be_written_ends_with_four_and_leaves_nothing() {
    let folder = Folder::new();
    folder.write("plain", "");
    for to in ["nowhere/ribbon.csv", "plain/ribbon.csv"] {
        let run = folder.ogee(&["export", GUIDE, "--to", to]);
        assert_eq!(run.code, 4, "{run:?}");
        assert!(run.err.contains(to) && run.err.contains("was not written"), "{}", run.err);
        let json = folder.ogee(&["export", "--json", GUIDE, "--to", to]).error();
        assert_eq!(json["code"], "output-not-written");
    }
    let run = folder.ogee(&["export", GUIDE, "--to", "samples", "--format", "csv", "--force"]);
    assert_eq!(run.code, 4, "{run:?}");
    let refused = folder.ogee(&["export", GUIDE, "--to", "r.csv", "--tolerance-um", "5 km"]);
    assert_eq!(refused.code, 2, "{refused:?}");
    let names: Vec<_> = std::fs::read_dir(folder.path("."))
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(names.len(), 2, "left behind: {names:?}");
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_ends_with_four() {
    let folder = Folder::new();
    for args in [
        &["export", GUIDE, "--to", "/dev/full", "--format", "csv"][..],
        &["map", GUIDE, "--size", "2x2", "--to", "/dev/full", "--format", "png"],
    ] {
        let run = folder.ogee(args);
        assert_eq!(run.code, 4, "{run:?}");
        assert!(run.err.contains("/dev/full") && run.err.contains("the disk is full"), "{}", run.err);
    }
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let done = folder.command(&["check", GUIDE]).stdout(full).output().unwrap();
    assert_eq!(done.status.code(), Some(4));
}

#[test]
#[cfg(unix)]
fn links_are_followed_and_permissions_kept() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new();
    folder.write("real.csv", "old");
    std::fs::set_permissions(folder.path("real.csv"), std::fs::Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink("real.csv", folder.path("link.csv")).unwrap();
    assert_eq!(folder.ogee(&["export", GUIDE, "--to", "link.csv", "--force"]).code, 0);
    assert!(std::fs::symlink_metadata(folder.path("link.csv")).unwrap().is_symlink());
    assert!(folder.read("real.csv").starts_with("s_um,"));
    assert_eq!(std::fs::metadata(folder.path("real.csv")).unwrap().permissions().mode() & 0o777, 0o640);
}

#[test]
fn a_map_is_a_table_or_a_picture() {
    let folder = Folder::new();
    let run = folder.ogee(&["map", "--json", GUIDE, "--size", "5x4", "--to", "map.csv"]);
    assert_eq!(run.code, 0, "{run:?}");
    let told = run.json();
    let keys: Vec<&String> = told.as_object().unwrap().keys().collect();
    assert_eq!(
        keys,
        [
            "schema",
            "version",
            "file",
            "fields",
            "columns",
            "rows",
            "amplitude_um",
            "pitch_um",
            "model",
            "cells",
            "empty",
            "range"
        ]
    );
    let table = folder.read("map.csv");
    assert_eq!(table.lines().count(), 21);
    assert!(table.starts_with("amplitude_um,pitch_um,all_limits_margin,strain_margin,"), "{table}");
    let some = folder.ogee(&["map", GUIDE, "--size", "3x3", "--field", "contour-length", "--to", "one.csv"]);
    assert_eq!(some.code, 0, "{some:?}");
    assert_eq!(folder.read("one.csv").lines().next(), Some("amplitude_um,pitch_um,contour_length_mm,reason"));
    assert_eq!(folder.ogee(&["map", GUIDE, "--size", "5x4", "--to", "map.png"]).code, 0);
    assert!(std::fs::read(folder.path("map.png")).unwrap().starts_with(b"\x89PNG"));
    let dark = folder.ogee(&[
        "map",
        "samples/supply-trace.ogee.json",
        "--field",
        "insertion-loss",
        "--size",
        "3x3",
        "--to",
        "dark.png",
    ]);
    assert_eq!(dark.code, 2, "{dark:?}");
    assert!(dark.err.contains("needs light"), "{}", dark.err);
}

#[test]
fn progress_is_for_terminals_only() {
    let folder = Folder::new();
    let run = folder.ogee(&["map", GUIDE, "--size", "16x16", "--to", "map.csv"]);
    assert_eq!(run.code, 0, "{run:?}");
    assert!(!run.err.contains('\r') && run.err.lines().count() == 1, "{:?}", run.err);
}

#[test]
fn a_maps_cell_agrees_with_the_assessment_of_that_design() {
    // By the full models a neighbour's state is the start, so the peak may sit on another mesh.
    for (tier, tolerance) in [("live", 2e-3), ("full", 2e-2)] {
        a_maps_cell_agrees(tier, tolerance);
    }
}

fn a_maps_cell_agrees(tier: &str, tolerance: f64) {
    let folder = Folder::new();
    let args =
        ["map", GUIDE, "--size", "3x3", "--field", "contour-length", "--field", "strain-margin", "--to", "-"];
    let table = folder.ogee(&[&args[..], &["--format", "csv", "--model", tier]].concat());
    let row: Vec<&str> = table.out.lines().nth(5).unwrap().split(',').collect();
    let check = folder.ogee(&[
        "check",
        "--json",
        "--tier",
        tier,
        GUIDE,
        "--set",
        &format!("shape.amplitude_um={}", row[0]),
        "--set",
        &format!("shape.pitch_um={}", row[1]),
    ]);
    let result = check.json();
    let contour: f64 = row[2].parse().unwrap();
    assert!(
        (1000.0 * contour / result["shape"]["contour_length_um"].as_f64().unwrap() - 1.0).abs() < 1e-6,
        "{row:?}"
    );
    let margins = result["margins"].as_array().unwrap();
    let strain = margins.iter().find(|m| m["id"] == "strain-at-target").unwrap()["margin"].as_f64().unwrap();
    let off = (row[3].parse::<f64>().unwrap() / strain - 1.0).abs();
    assert!(off < tolerance, "{tier}: {row:?}, assessed {strain}");
}
