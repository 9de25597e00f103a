//! Comparing numbers so that a failure tells all.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::Case;

/// How close a value has to be: within one or the other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Tolerance {
    /// Share of the expected value.
    pub relative: f64,
    /// Difference in the value's own unit.
    pub absolute: f64,
}

impl Tolerance {
    /// A relative tolerance only.
    pub fn relative(relative: f64) -> Self {
        Self { relative, absolute: 0.0 }
    }

    /// An absolute tolerance only.
    pub fn absolute(absolute: f64) -> Self {
        Self { relative: 0.0, absolute }
    }

    /// The failure of `got` against `expected` in words; `None` where it is close enough. A NaN never is.
    pub fn failure(self, what: &str, got: f64, expected: f64) -> Option<String> {
        let difference = (got - expected).abs();
        if difference <= self.absolute || difference <= self.relative * expected.abs() {
            return None;
        }
        let relative = difference / expected.abs();
        Some(format!(
            "{what}: got {got:.12e}, expected {expected:.12e}, difference {difference:.2e} (relative {relative:.2e}), \
             allowed {:.1e} relative or {:.1e} absolute",
            self.relative, self.absolute
        ))
    }
}

/// The comparisons of one case.
#[derive(Debug)]
pub struct Checks<'a> {
    case: &'a Case,
    compared: BTreeSet<String>,
    failures: Vec<String>,
}

impl<'a> Checks<'a> {
    pub(crate) fn new(case: &'a Case) -> Self {
        Self { case, compared: BTreeSet::new(), failures: Vec::new() }
    }

    /// Compares with the expected number `key` within the table's tolerance.
    pub fn number(&mut self, key: &str, got: f64) {
        self.compared.insert(key.to_owned());
        match (self.case.expected_number(key), self.case.tolerance(key)) {
            (Some(expected), Some(tolerance)) => self.near(key, got, expected, tolerance),
            (None, _) => self.fail(&format!("{key}: the table expects no such number")),
            (_, None) => self.fail(&format!("{key}: the table gives no tolerance")),
        }
    }

    /// As [`Self::number`], where the case expects the number at all: some hold more than others.
    pub fn number_if_expected(&mut self, key: &str, got: f64) {
        if self.case.expected.contains_key(key) {
            self.number(key, got);
        }
    }

    /// Compares with the expected list of numbers `key`, its length included.
    pub fn numbers(&mut self, key: &str, got: &[f64]) {
        self.compared.insert(key.to_owned());
        let expected: Option<Vec<f64>> = self
            .case
            .expected
            .get(key)
            .and_then(Value::as_array)
            .map(|list| list.iter().filter_map(Value::as_f64).collect());
        match (expected, self.case.tolerance(key)) {
            (Some(expected), Some(tolerance)) => {
                if expected.len() != got.len() {
                    self.fail(&format!("{key}: got {} values, expected {}", got.len(), expected.len()));
                }
                for (index, (got, expected)) in got.iter().zip(expected).enumerate() {
                    self.near(&format!("{key}[{index}]"), *got, expected, tolerance);
                }
            }
            (None, _) => self.fail(&format!("{key}: the table expects no such list")),
            (_, None) => self.fail(&format!("{key}: the table gives no tolerance")),
        }
    }

    /// Compares with the expected text `key`.
    pub fn text(&mut self, key: &str, got: &str) {
        self.compared.insert(key.to_owned());
        let expected = self.case.expected.get(key).and_then(Value::as_str);
        if expected != Some(got) {
            self.fail(&format!("{key}: got \"{got}\", expected {expected:?}"));
        }
    }

    /// Compares with the value `key` that was computed to more digits than the published one.
    pub fn computed(&mut self, key: &str, got: f64, tolerance: Tolerance) {
        match self.case.computed.get(key).and_then(Value::as_f64) {
            Some(expected) => self.near(&format!("{key} (computed)"), got, expected, tolerance),
            None => self.fail(&format!("{key}: the table holds no computed value")),
        }
    }

    /// Compares two numbers that the table does not hold as such.
    pub fn near(&mut self, what: &str, got: f64, expected: f64, tolerance: Tolerance) {
        if let Some(failure) = tolerance.failure(what, got, expected) {
            self.fail(&failure);
        }
    }

    /// Marks `key` as dealt with by comparisons under other names.
    pub fn covers(&mut self, key: &str) {
        self.compared.insert(key.to_owned());
    }

    /// Fails unless `holds`.
    pub fn that(&mut self, what: &str, holds: bool) {
        if !holds {
            self.fail(what);
        }
    }

    /// Notes a failure.
    pub fn fail(&mut self, what: &str) {
        self.failures.push(format!("  {}: {what}", self.case.name));
    }

    pub(crate) fn finish(mut self) -> Vec<String> {
        let left_out: Vec<String> =
            self.case.expected.keys().filter(|key| !self.compared.contains(*key)).cloned().collect();
        for key in left_out {
            self.fail(&format!("{key}: expected by the table, but not compared"));
        }
        self.failures
    }
}

#[cfg(test)]
mod tests {
    use crate::Table;

    fn sample(expected: &str) -> Table {
        let text = format!(
            r#"{{"title": "t", "source": "s", "how_obtained": "h", "tolerance": "t", "units": "u",
                "cases": [{{"name": "one", "inputs": {{}}, "expected": {expected}, "rel_tol": {{"default": 1e-3}}}}]}}"#
        );
        serde_json::from_str(&text).unwrap()
    }

    #[test]
    fn a_close_number_passes() {
        sample(r#"{"length_um": 2.0}"#).check("", 1, |_, checks| checks.number("length_um", 2.001));
    }

    #[test]
    #[should_panic(expected = "relative 2.00e-3")]
    fn a_far_number_fails_with_its_difference() {
        sample(r#"{"length_um": 2.0}"#).check("", 1, |_, checks| checks.number("length_um", 2.004));
    }

    #[test]
    #[should_panic(expected = "not compared")]
    fn a_value_left_out_fails() {
        sample(r#"{"length_um": 2.0}"#).check("", 1, |_, _| {});
    }

    #[test]
    #[should_panic(expected = "length_um: got NaN")]
    fn not_a_number_fails() {
        sample(r#"{"length_um": 2.0}"#).check("", 1, |_, checks| checks.number("length_um", f64::NAN));
    }

    #[test]
    #[should_panic(expected = "0 cases of kind")]
    fn an_empty_table_fails() {
        let mut table = sample("{}");
        table.cases.clear();
        table.check("", 1, |_, _| {});
    }

    #[test]
    #[should_panic(expected = "the case panicked")]
    fn a_panic_is_a_failure_of_its_case() {
        sample("{}").check("", 1, |_, _| panic!("no"));
    }
}
