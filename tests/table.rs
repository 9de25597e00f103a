//! The files in `tests/reference/`.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use serde::Deserialize;
use serde_json::{Map, Value};

use crate::{Checks, Tolerance};

/// A reference table with its provenance.
#[derive(Clone, Debug, Deserialize)]
pub struct Table {
    /// What the table is about.
    pub title: String,
    /// Where its values come from.
    pub source: String,
    /// How they were obtained.
    pub how_obtained: String,
    /// How close a value has to be, and why.
    pub tolerance: String,
    /// Units of inputs and values.
    pub units: String,
    /// The cases.
    pub cases: Vec<Case>,
}

/// One case of a table.
#[derive(Clone, Debug, Deserialize)]
pub struct Case {
    /// Its name.
    pub name: String,
    /// Which computation it calls for, where a table mixes several; empty otherwise.
    #[serde(default)]
    pub kind: String,
    /// Where the case comes from, where it differs from case to case.
    #[serde(default)]
    pub source: String,
    /// True where a published value was recalled and not read again.
    #[serde(default)]
    pub from_memory: bool,
    /// What goes in.
    pub inputs: Map<String, Value>,
    /// What has to come out.
    pub expected: Map<String, Value>,
    /// The same quantities, computed to more digits than the published ones.
    #[serde(default)]
    pub computed: Map<String, Value>,
    /// Relative tolerance per key; `default` serves all keys without one.
    #[serde(default)]
    pub rel_tol: Map<String, Value>,
    /// Absolute tolerance per key.
    #[serde(default)]
    pub abs_tol: Map<String, Value>,
}

/// Reads `tests/reference/NAME.json`.
///
/// # Panics
/// If the file cannot be read, or is no table.
pub fn table(name: &str) -> Table {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference").join(format!("{name}.json"));
    let text =
        fs::read_to_string(&path).unwrap_or_else(|error| panic!("cannot read {}: {error}", path.display()));
    serde_json::from_str(&text).unwrap_or_else(|error| panic!("{} is no table: {error}", path.display()))
}

impl Table {
    /// Runs `run` on every case of the given kind (`""` for a table of one kind) and fails once with all failures.
    ///
    /// * `count`: how many such cases the table holds; another number is a failure, so that an emptied table
    ///   cannot pass.
    /// # Panics
    /// If any case fails.
    pub fn check(&self, kind: &str, count: usize, mut run: impl FnMut(&Case, &mut Checks<'_>)) {
        let mut failures = Vec::new();
        let mut found = 0;
        for case in self.cases.iter().filter(|case| case.kind == kind) {
            found += 1;
            let mut checks = Checks::new(case);
            // A case that panics counts as failed and does not hide the ones after it.
            if catch_unwind(AssertUnwindSafe(|| run(case, &mut checks))).is_err() {
                checks.fail("the case panicked; its message is above");
            }
            failures.extend(checks.finish());
        }
        if found != count {
            failures.push(format!("{found} cases of kind \"{kind}\" in the table, {count} expected"));
        }
        assert!(
            failures.is_empty(),
            "{}: {} of the comparisons fail\n{}\ntolerances: {}",
            self.title,
            failures.len(),
            failures.join("\n"),
            self.tolerance
        );
    }

    /// Fails if a case is of a kind that is not in `kinds`, that is, of one that no test runs.
    ///
    /// # Panics
    /// If there is such a case.
    pub fn check_kinds(&self, kinds: &[&str]) {
        for case in &self.cases {
            assert!(
                kinds.contains(&case.kind.as_str()),
                "{}: no test runs kind \"{}\"",
                case.name,
                case.kind
            );
        }
    }
}

impl Case {
    /// The input number `key`.
    ///
    /// # Panics
    /// If there is none.
    pub fn number(&self, key: &str) -> f64 {
        self.maybe_number(key)
            .unwrap_or_else(|| panic!("{}: no number \"{key}\" among the inputs", self.name))
    }

    /// The input number `key`, where there is one.
    pub fn maybe_number(&self, key: &str) -> Option<f64> {
        self.inputs.get(key).and_then(Value::as_f64)
    }

    /// The input list of numbers `key`.
    ///
    /// # Panics
    /// If there is none.
    pub fn numbers(&self, key: &str) -> Vec<f64> {
        let list = self.inputs.get(key).and_then(Value::as_array);
        let list = list.unwrap_or_else(|| panic!("{}: no list \"{key}\" among the inputs", self.name));
        list.iter().filter_map(Value::as_f64).collect()
    }

    /// The input text `key`.
    ///
    /// # Panics
    /// If there is none.
    pub fn text(&self, key: &str) -> &str {
        let text = self.inputs.get(key).and_then(Value::as_str);
        text.unwrap_or_else(|| panic!("{}: no text \"{key}\" among the inputs", self.name))
    }

    /// The expected number `key`, where there is one.
    pub fn expected_number(&self, key: &str) -> Option<f64> {
        self.expected.get(key).and_then(Value::as_f64)
    }

    /// The tolerance of `key`, where the table gives one.
    pub fn tolerance(&self, key: &str) -> Option<Tolerance> {
        let own = |map: &Map<String, Value>| map.get(key).and_then(Value::as_f64);
        let relative = own(&self.rel_tol).or_else(|| self.rel_tol.get("default").and_then(Value::as_f64));
        match (relative, own(&self.abs_tol)) {
            (None, None) => None,
            (relative, absolute) => Some(Tolerance {
                relative: relative.unwrap_or_default(),
                absolute: absolute.unwrap_or_default(),
            }),
        }
    }
}
