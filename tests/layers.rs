//! The direction in which the crates depend on each other, and what a layer may not import.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Each crate and those of ours that it may depend on.
const LAYERS: [(&str, &[&str]); 7] = [
    ("geometry", &[]),
    ("stack", &[]),
    ("mechanics", &["geometry", "stack"]),
    ("optics", &["geometry"]),
    ("design", &["geometry", "stack", "mechanics", "optics"]),
    ("exchange", &["geometry", "stack", "design"]),
    ("ogee", &["geometry", "stack", "mechanics", "optics", "design", "exchange"]),
];

/// Crates that open windows, draw or ask for files.
const TOOLKIT: [&str; 5] = ["eframe", "egui", "egui_plot", "rfd", "winit"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package lies in the workspace").to_owned()
}

/// The lines of a file, numbered from 1.
fn lines(path: &Path) -> Vec<(usize, String)> {
    let text = fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    text.lines().enumerate().map(|(index, line)| (index + 1, line.to_owned())).collect()
}

/// The names under every heading of a manifest that holds dependencies, tests' own included.
fn dependencies(manifest: &Path) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    let mut is_list = false;
    for (_, line) in lines(manifest) {
        let line = line.trim();
        if let Some(heading) = line.strip_prefix('[') {
            let heading = heading.trim_end_matches(']');
            // `[dependencies.NAME]` names one itself.
            if let Some((_, name)) = heading.rsplit_once("dependencies.") {
                names.insert(name.to_owned());
            }
            is_list = heading.ends_with("dependencies");
        } else if is_list && !line.starts_with('#') {
            let name: String = line.chars().take_while(|c| !matches!(c, '.' | '=' | ' ')).collect();
            if !name.is_empty() {
                names.insert(name);
            }
        }
    }
    names
}

/// All Rust files below a folder.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let Ok(entries) = fs::read_dir(folder) else { return found };
    for entry in entries {
        let path = entry.expect("a readable folder").path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Lines of code of a file without comments and without its own tests.
fn code(path: &Path) -> Vec<(usize, String)> {
    if path.file_name().is_some_and(|name| name == "tests.rs" || name == "bench.rs") {
        return Vec::new();
    }
    lines(path)
        .into_iter()
        // Tests stand at the end of a file.
        .take_while(|(_, line)| line.trim() != "#[cfg(test)]")
        .filter(|(_, line)| !line.trim_start().starts_with("//"))
        .collect()
}

/// Whether `name` occurs in `line` as a whole word.
fn mentions(line: &str, name: &str) -> bool {
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    line.match_indices(name).any(|(start, _)| {
        let before = line[..start].chars().next_back();
        let after = line[start + name.len()..].chars().next();
        !before.is_some_and(is_word) && !after.is_some_and(is_word)
    })
}

/// Every place below `folder` whose code mentions one of `names`.
fn places(folder: &Path, names: &[&str]) -> Vec<String> {
    let mut found = Vec::new();
    for path in sources(folder) {
        for (number, line) in code(&path) {
            for name in names.iter().filter(|name| mentions(&line, name)) {
                found.push(format!("{}:{number}: {name}", path.display()));
            }
        }
    }
    found
}

#[test]
fn every_crate_has_its_place() {
    let listed: BTreeSet<&str> = LAYERS.iter().map(|(name, _)| *name).collect();
    let folders: BTreeSet<String> = fs::read_dir(root().join("crates"))
        .expect("the workspace has crates")
        .map(|entry| entry.expect("a readable folder"))
        .filter(|entry| entry.path().join("Cargo.toml").exists())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(folders.iter().map(String::as_str).collect::<BTreeSet<_>>(), listed);
}

#[test]
fn dependencies_run_down_only() {
    let mut faults = Vec::new();
    let mut found = BTreeMap::new();
    for (name, below) in LAYERS {
        let ours: BTreeSet<String> = dependencies(&root().join("crates").join(name).join("Cargo.toml"))
            .into_iter()
            .filter_map(|dependency| match dependency.as_str() {
                "ogee" => Some("ogee".to_owned()),
                other => other.strip_prefix("ogee-").map(str::to_owned),
            })
            .collect();
        faults.extend(
            ours.iter()
                .filter(|other| !below.contains(&other.as_str()))
                .map(|other| format!("{name} on {other}")),
        );
        found.insert(name, ours);
    }
    assert!(faults.is_empty(), "dependencies against the layers: {faults:?}");
    // The reading of the manifests itself: a design cannot do without shape and mechanics.
    assert!(found["design"].contains("geometry") && found["design"].contains("mechanics"));
    assert!(found["ogee"].contains("design"));
}

#[test]
fn only_the_program_knows_windows() {
    for (name, _) in LAYERS.into_iter().filter(|(name, _)| *name != "ogee") {
        let manifest = root().join("crates").join(name).join("Cargo.toml");
        let known = dependencies(&manifest);
        let toolkit: Vec<&str> = TOOLKIT.into_iter().filter(|other| known.contains(*other)).collect();
        assert!(toolkit.is_empty(), "{name} depends on {toolkit:?}");
    }
    let program = dependencies(&root().join("crates/ogee/Cargo.toml"));
    assert!(program.contains("egui"), "the manifest of the program was not read");
}

#[test]
fn the_session_knows_no_toolkit() {
    let folder = root().join("crates/ogee/src/session");
    assert!(!sources(&folder).is_empty(), "the session has moved");
    let found = places(&folder, &TOOLKIT);
    assert!(found.is_empty(), "the toolkit in the session: {found:#?}");
}

#[test]
fn the_window_knows_no_formulas() {
    let folder = root().join("crates/ogee/src/window");
    assert!(!sources(&folder).is_empty(), "the window has moved");
    let found = places(&folder, &["ogee_mechanics", "ogee_optics", "ogee_stack"]);
    assert!(found.is_empty(), "physics in the window: {found:#?}");
}

#[test]
fn only_commands_print() {
    let mut found = Vec::new();
    let mut read = 0;
    for (name, _) in LAYERS {
        let folder = root().join("crates").join(name).join("src");
        read += sources(&folder).len();
        found.extend(places(&folder, &["println!", "print!", "dbg!"]));
    }
    let command = root().join("crates/ogee/src/command");
    found.retain(|place| !place.starts_with(&command.display().to_string()));
    assert!(read > 20, "only {read} files were read");
    assert!(found.is_empty(), "printing outside the commands: {found:#?}");
}

#[test]
fn physics_reads_no_files_and_no_clock() {
    for name in ["geometry", "stack", "mechanics", "optics", "design"] {
        let folder = root().join("crates").join(name).join("src");
        let mut found = places(&folder, &["std::fs", "std::time", "Instant", "SystemTime", "File"]);
        // The design may name files of its own format, but opens none.
        found.retain(|place| !place.ends_with(": File") || name != "design");
        assert!(found.is_empty(), "{name}: {found:#?}");
    }
}

#[test]
fn words_are_found_as_words() {
    assert!(mentions("use egui::Ui;", "egui"));
    assert!(!mentions("use egui_plot::Plot;", "egui"));
    assert!(mentions("println!(\"x\")", "println"));
    assert!(!mentions("eprintln!(\"x\")", "println"));
}
