//! Reading and writing the design file: versioned JSON.

use crate::document::{DESIGN_SCHEMA, DESIGN_VERSION, Design};
use crate::fault::Fault;

/// Largest design file that is read, bytes: far above any design, far below what would stall the program.
const MOST_BYTES: usize = 16 << 20;

/// The worked sample that a first start shows.
const SAMPLE: &str = include_str!("../../../samples/finger-guide.ogee.json");

impl Design {
    /// Parses a design file. Types, names and the version are judged here, ranges in [`Design::check`].
    ///
    /// # Errors
    /// One fault that names the key and what was expected: text that is no JSON, a wrong schema or version,
    /// a missing or unknown key, a value of the wrong type.
    pub fn from_json(text: &str) -> Result<Self, Vec<Fault>> {
        if text.len() > MOST_BYTES {
            let message =
                format!("a design file of {} bytes is too large; at most {MOST_BYTES} are read", text.len());
            return Err(vec![Fault::new("", "", message)]);
        }
        // A mark at the start is written by some editors; JSON does not know it.
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let value: serde_json::Value = serde_json::from_str(text)
            .map_err(|e| vec![Fault::new("", "", format!("this is not a JSON text: {e}"))])?;
        let Some(object) = value.as_object() else {
            return Err(vec![Fault::new("", "", "a design file holds one JSON object")]);
        };
        match object.get("schema").and_then(serde_json::Value::as_str) {
            Some(DESIGN_SCHEMA) => {}
            Some(other) => {
                let message = format!("this is not a design file; `{DESIGN_SCHEMA}` is expected");
                return Err(vec![Fault::new("schema", other, message)]);
            }
            None => {
                let message = format!("the key is missing; `{DESIGN_SCHEMA}` is expected");
                return Err(vec![Fault::new("schema", "", message)]);
            }
        }
        match object.get("version").and_then(serde_json::Value::as_u64) {
            Some(v) if v == u64::from(DESIGN_VERSION) => {}
            Some(v) => {
                let message = if v > u64::from(DESIGN_VERSION) {
                    format!("the file is of a later version; this program reads version {DESIGN_VERSION}")
                } else {
                    format!("there is no such version; this program reads version {DESIGN_VERSION}")
                };
                return Err(vec![Fault::new("version", v, message)]);
            }
            None => {
                let value = object.get("version").map(ToString::to_string).unwrap_or_default();
                let message =
                    format!("a whole number is expected; this program reads version {DESIGN_VERSION}");
                return Err(vec![Fault::new("version", value, message)]);
            }
        }
        // From the text, so that a message can tell line and column.
        let mut reader = serde_json::Deserializer::from_str(text);
        serde_path_to_error::deserialize(&mut reader).map_err(|error| {
            let path = error.path().to_string();
            let path = if path == "." { String::new() } else { path };
            vec![Fault::new(path, "", error.into_inner().to_string())]
        })
    }

    /// The design as the text of its file: stable key order, numbers that read back exactly.
    pub fn to_json(&self) -> String {
        let mut text =
            serde_json::to_string_pretty(self).expect("a design has only text keys and plain values");
        text.push('\n');
        text
    }

    /// The worked sample that a first start shows (invented data).
    pub fn sample() -> Self {
        Self::from_json(SAMPLE).expect("the built-in sample is a valid design file; a test reads it")
    }
}

/// JSON Schema of the design file.
pub fn design_schema() -> serde_json::Value {
    schemars::schema_for!(Design).to_value()
}

/// JSON Schema of the result.
pub fn result_schema() -> serde_json::Value {
    schemars::schema_for!(crate::result::Assessment).to_value()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn broken(change: impl FnOnce(&mut serde_json::Value)) -> Fault {
        let mut value = serde_json::from_str(SAMPLE).unwrap();
        change(&mut value);
        Design::from_json(&value.to_string()).unwrap_err().remove(0)
    }

    #[test]
    fn the_sample_reads_back_as_written() {
        let sample = Design::sample();
        assert_eq!(Design::from_json(&sample.to_json()).unwrap(), sample);
    }

    #[test]
    fn messages_name_the_key() {
        assert!(Design::from_json("{").unwrap_err()[0].message.contains("not a JSON text"));
        assert_eq!(broken(|v| v["version"] = 7.into()).path, "version");
        assert_eq!(broken(|v| v["schema"] = "drawing".into()).path, "schema");
        let wrong = broken(|v| v["shape"]["pitch_um"] = "wide".into());
        assert_eq!(wrong.path, "shape.pitch_um");
        let unknown = broken(|v| v["shape"]["colour"] = 1.into());
        assert!(unknown.message.contains("unknown field `colour`"), "{}", unknown.message);
        let missing = broken(|v| {
            v["duty"].as_object_mut().unwrap().remove("target_stretch_percent");
        });
        assert!(missing.message.contains("missing field `target_stretch_percent`"), "{}", missing.message);
    }

    #[test]
    fn schemas_know_the_units() {
        assert!(design_schema().to_string().contains("amplitude_um"));
        assert!(result_schema().to_string().contains("contour_length_um"));
    }
}
