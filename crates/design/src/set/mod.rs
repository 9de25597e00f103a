//! Setting one field of a design from text, for scripts that sweep without editing files.

mod clear;

use crate::document::{
    BaseName, Design, Elastomer, EndsName, FaceName, FamilyName, MapWindow, PolarisationName, StepName,
    SupportName, Trace,
};
use crate::fault::Fault;
use crate::fields::{FIELDS, field_at, indexed};
use crate::quantity::{Unit, parse_quantity};
use crate::text::number;

/// Text that takes an optional field out of the design.
const NONE: &str = "none";

/// Fields that hold a word or a text, with `[]` for the layer.
const WORD_FIELDS: [&str; 20] = [
    "name",
    "notes",
    "invented",
    "shape.family",
    "shape.ends",
    "support.kind",
    EMBEDDED,
    "support.elastomer.base",
    "stack.layers[].name",
    "stack.layers[].material",
    "stack.layers[].material_id",
    "stack.layers[].sides",
    "light.core",
    "light.polarisation",
    "trace.layer",
    "duty.wrap.face",
    "process.handle.material",
    "process.steps[].step",
    "process.steps[].layer",
    "life.cycles[].wrapped",
];
/// One more that is a yes or no.
const JOINS: &str = "light.joins_straight_guides";
/// Whether the elastomer surrounds the ribbon.
const EMBEDDED: &str = "support.elastomer.embedded";

impl Design {
    /// Sets the field at `path` from `text`.
    ///
    /// A number may carry a unit, which is converted to the field's own: `1.2 mm` sets `shape.pitch_um` to 1200. A
    /// layer is named by its place or by its name: `stack.layers[1].thickness_um`, `stack.layers.1.thickness_um` and
    /// `stack.layers.core.thickness_um` are the same field where the second layer is called `core`. `none` takes an
    /// optional field out. Setting one of `shape.radius_um` and `shape.tilt_deg` takes the other out, because only one
    /// of them may drive the arms. A map window or an elastomer is made where there is none yet.
    ///
    /// Whether the value lies in the field's range is judged by [`Design::check`].
    ///
    /// # Errors
    /// A fault with the path, the text and what is expected: a path that leads nowhere, a text that is no quantity of
    /// the field's kind, an unknown word. The design is then unchanged.
    ///
    /// ```
    /// let mut design = ogee_design::Design::sample();
    /// design.set_text("shape.pitch_um", "1.2 mm")?;
    /// design.set_text("stack.layers.core.thickness_um", "800 nm")?;
    /// assert_eq!(design.shape.pitch_um, 1200.0);
    /// assert_eq!(design.number("stack.layers[1].thickness_um"), Some(0.8));
    /// assert!(design.set_text("shape.pitch_um", "45°").is_err());
    /// # Ok::<(), ogee_design::Fault>(())
    /// ```
    pub fn set_text(&mut self, path: &str, text: &str) -> Result<(), Fault> {
        let path = self.plain_path(path.trim())?;
        let text = text.trim();
        if let Some(field) = field_at(&path) {
            if text == NONE {
                return if self.clear(&path) { Ok(()) } else { Err(needed(&path, text)) };
            }
            let unit = Unit::from_symbol(field.unit).unwrap_or(Unit::NONE);
            let value = parse_quantity(text, field.dimension, unit)
                .map_err(|error| Fault::new(path.as_str(), text, error.to_string()))?;
            if field.whole && value > f64::from(u32::MAX) {
                let message = format!("from {} to {} is allowed", number(field.min), number(field.max));
                return Err(Fault::new(path.as_str(), text, message).with_nearest(Some(field.max)));
            }
            if path.starts_with("map.") && self.map.is_none() {
                self.map = Some(MapWindow::around(&self.shape));
            }
            if path.starts_with("support.elastomer.") {
                self.support.elastomer.get_or_insert_default();
            }
            self.make_section_for(&path);
            if !self.set_number(&path, value) {
                return Err(self.nowhere(&path, text));
            }
            match path.as_str() {
                "shape.radius_um" => self.shape.tilt_deg = None,
                "shape.tilt_deg" => self.shape.radius_um = None,
                _ => {}
            }
            return Ok(());
        }
        self.set_word(&path, text)
    }

    fn set_word(&mut self, path: &str, text: &str) -> Result<(), Fault> {
        match path {
            "name" => text.clone_into(&mut self.name),
            "notes" => text.clone_into(&mut self.notes),
            "invented" => self.invented = yes_or_no(path, text)?,
            "shape.family" => self.shape.family = word(path, text, &FamilyName::ALL)?,
            "shape.ends" => self.shape.ends = word(path, text, &EndsName::ALL)?,
            "support.kind" => {
                self.support.kind = word(path, text, &SupportName::ALL)?;
                if self.support.kind == SupportName::Bonded {
                    self.support.elastomer.get_or_insert_default();
                }
            }
            "support.elastomer.base" => {
                let base = word(path, text, &BaseName::ALL)?;
                let elastomer = self.support.elastomer.unwrap_or_default();
                self.support.elastomer = Some(Elastomer { base, ..elastomer });
            }
            EMBEDDED => {
                let embedded = yes_or_no(path, text)?;
                let elastomer = self.support.elastomer.unwrap_or_default();
                self.support.elastomer = Some(Elastomer { embedded, ..elastomer });
            }
            "light.core" | "light.polarisation" | JOINS => {
                let Some(light) = &mut self.light else { return Err(self.nowhere(path, text)) };
                match path {
                    "light.core" => text.clone_into(&mut light.core),
                    "light.polarisation" => {
                        light.polarisation =
                            word(path, text, &[PolarisationName::QuasiTe, PolarisationName::QuasiTm])?;
                    }
                    _ => light.joins_straight_guides = yes_or_no(path, text)?,
                }
            }
            "trace.layer" => match &mut self.trace {
                Some(trace) => text.clone_into(&mut trace.layer),
                None => self.trace = Some(Trace::copper(text)),
            },
            "duty.wrap.face" => {
                let face = word(path, text, &FaceName::ALL)?;
                self.duty.wrap.get_or_insert_default().face = face;
            }
            "process.handle.material" => match &mut self.process {
                Some(process) => text.clone_into(&mut process.handle.material),
                None => return Err(self.nowhere(path, text)),
            },
            _ if path.starts_with("process.steps[") || path.starts_with("life.cycles[") => {
                return self.set_list_word(path, text);
            }
            _ => {
                let Some((index, key)) = layer_path(path) else { return Err(self.nowhere(path, text)) };
                match (key, self.stack.layers.get_mut(index)) {
                    ("name", Some(layer)) => {
                        // References follow, so that renaming a layer does not break the design.
                        let old = std::mem::replace(&mut layer.name, text.to_owned());
                        self.follow_name(&old, text);
                    }
                    ("material", Some(layer)) => text.clone_into(&mut layer.material),
                    ("material_id", Some(layer)) => {
                        layer.material_id = (text != NONE).then(|| text.to_owned());
                    }
                    ("sides", Some(layer)) => layer.sides = (text != NONE).then(|| text.to_owned()),
                    _ => return Err(self.nowhere(path, text)),
                }
            }
        }
        Ok(())
    }

    /// Sets a word of a process step or of a block of cycles.
    fn set_list_word(&mut self, path: &str, text: &str) -> Result<(), Fault> {
        if let Some((index, key)) = indexed(path, "process.steps")
            && let Some(step) = self.process.as_mut().and_then(|p| p.steps.get_mut(index))
        {
            match key {
                "step" => step.step = word(path, text, &StepName::ALL)?,
                "layer" => step.layer = (text != NONE).then(|| text.to_owned()),
                _ => return Err(self.nowhere(path, text)),
            }
            return Ok(());
        }
        if let Some((index, "wrapped")) = indexed(path, "life.cycles")
            && let Some(block) = self.life.as_mut().and_then(|l| l.cycles.get_mut(index))
        {
            block.wrapped = yes_or_no(path, text)?;
            return Ok(());
        }
        Err(self.nowhere(path, text))
    }

    /// Makes a section with customary values where a number of it is set and there is none yet.
    fn make_section_for(&mut self, path: &str) {
        if path.starts_with("duty.wrap.") {
            self.duty.wrap.get_or_insert_default();
        } else if path.starts_with("islands.") {
            let islands = self.islands.get_or_insert_default();
            if path.starts_with("islands.grating.") {
                islands.grating.get_or_insert_default();
            }
        } else if let Some((index, key)) = layer_path(path)
            && let Some(layer) = self.stack.layers.get_mut(index)
        {
            match key.split_once('.') {
                Some(("brittle", _)) => drop(layer.brittle.get_or_insert_default()),
                Some(("strain_life", _)) => drop(layer.strain_life.get_or_insert_default()),
                Some(("foil", _)) => drop(layer.foil.get_or_insert_default()),
                _ => {}
            }
        }
    }

    fn follow_name(&mut self, old: &str, new: &str) {
        if let Some(trace) = self.trace.as_mut().filter(|t| t.layer == old) {
            new.clone_into(&mut trace.layer);
        }
        for layer in self.process.iter_mut().flat_map(|p| &mut p.steps).filter_map(|s| s.layer.as_mut()) {
            if layer == old {
                new.clone_into(layer);
            }
        }
        for sides in self.stack.layers.iter_mut().filter_map(|l| l.sides.as_mut()) {
            if sides == old {
                new.clone_into(sides);
            }
        }
        if let Some(light) = self.light.as_mut().filter(|l| l.core == old) {
            new.clone_into(&mut light.core);
        }
    }

    /// `path` with a layer's name, or its number after a dot, turned into `[index]`.
    fn plain_path(&self, path: &str) -> Result<String, Fault> {
        for list in ["map.amplitude_um", "map.pitch_um"] {
            if let Some(index) = path.strip_prefix(list).and_then(|r| r.strip_prefix('.')) {
                return Ok(format!("{list}[{index}]"));
            }
        }
        for list in ["process.steps", "life.cycles"] {
            if let Some(rest) = path.strip_prefix(list).and_then(|r| r.strip_prefix('.')) {
                let (index, key) = rest.split_once('.').unwrap_or((rest, ""));
                return Ok(format!("{list}[{index}].{key}"));
            }
        }
        let Some(rest) = path.strip_prefix("stack.layers.") else { return Ok(path.to_owned()) };
        let layers = &self.stack.layers;
        let named = |name: &str| rest.strip_prefix(name).and_then(|r| r.strip_prefix('.'));
        if let Some((index, key)) = layers.iter().enumerate().find_map(|(i, l)| Some((i, named(&l.name)?))) {
            return Ok(format!("stack.layers[{index}].{key}"));
        }
        let Some((layer, key)) = rest.rsplit_once('.') else { return Err(self.nowhere(path, "")) };
        if layer.parse::<usize>().is_ok_and(|index| index < layers.len()) {
            return Ok(format!("stack.layers[{layer}].{key}"));
        }
        let names: Vec<String> =
            layers.iter().enumerate().map(|(i, l)| format!("{i} `{}`", l.name)).collect();
        let message = format!("there is no layer `{layer}`; there are {}", names.join(", "));
        Err(Fault::new(path, "", message))
    }

    /// The fault of a path that leads nowhere, with the nearest path that leads somewhere.
    fn nowhere(&self, path: &str, text: &str) -> Fault {
        if path.starts_with("light.") && self.light.is_none() {
            return Fault::new(
                path,
                text,
                "this design has no light; a `light` section is added in the file",
            );
        }
        for (start, missing, how) in [
            ("trace.", self.trace.is_none(), "set `trace.layer` first"),
            ("process.", self.process.is_none(), "a `process` section is added in the file"),
            ("life.", self.life.is_none(), "a `life` section is added in the file"),
        ] {
            if missing && path.starts_with(start) {
                let what = start.trim_end_matches('.');
                return Fault::new(path, text, format!("this design has no {what}; {how}"));
            }
        }
        for (list, count) in [
            ("process.steps", self.process.as_ref().map_or(0, |p| p.steps.len())),
            ("life.cycles", self.life.as_ref().map_or(0, |l| l.cycles.len())),
        ] {
            if let Some((index, _)) = indexed(path, list)
                && index >= count
            {
                return Fault::new(path, text, format!("there are {count} in `{list}`, counted from 0"));
            }
        }
        if let Some((index, _)) = layer_path(path)
            && index >= self.stack.layers.len()
        {
            let message = format!("there are {} layers, counted from 0", self.stack.layers.len());
            return Fault::new(path, text, message);
        }
        let known = FIELDS.iter().map(|f| f.path).chain(WORD_FIELDS).chain([JOINS]);
        let wanted =
            layer_path(path).map_or_else(|| path.to_owned(), |(_, key)| format!("stack.layers[].{key}"));
        let nearest = known.map(|p| (distance(p, &wanted), p)).min();
        let message = match nearest {
            Some((d, near)) if 3 * d <= wanted.chars().count() => {
                format!("there is no such field; did you mean `{near}`?")
            }
            _ => "there is no such field".to_owned(),
        };
        Fault::new(path, text, message)
    }
}

/// Index and key of `stack.layers[index].key`.
fn layer_path(path: &str) -> Option<(usize, &str)> {
    let (index, key) = path.strip_prefix("stack.layers[")?.split_once("].")?;
    Some((index.parse().ok()?, key))
}

fn needed(path: &str, text: &str) -> Fault {
    Fault::new(path, text, "this field is always needed")
}

fn yes_or_no(path: &str, text: &str) -> Result<bool, Fault> {
    match text {
        "true" | "yes" => Ok(true),
        "false" | "no" => Ok(false),
        _ => Err(Fault::new(path, text, "`true` or `false` is expected")),
    }
}

/// The one of `all` that the file spells as `text`.
fn word<T: Copy + serde::Serialize>(path: &str, text: &str, all: &[T]) -> Result<T, Fault> {
    let spelling = |value: &T| match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    };
    all.iter().find(|value| spelling(value) == text).copied().ok_or_else(|| {
        let words: Vec<String> = all.iter().map(|value| format!("`{}`", spelling(value))).collect();
        Fault::new(path, text, format!("one of {} is expected", words.join(", ")))
    })
}

/// Insertions, deletions and replacements of letters from `a` to `b` (Levenshtein 1966).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, &cb) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(ca != cb);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(path: &str, text: &str) -> Result<Design, Fault> {
        let mut design = Design::sample();
        design.set_text(path, text).map(|()| design)
    }

    #[test]
    fn numbers_are_converted_to_the_fields_unit() {
        assert_eq!(set("shape.pitch_um", "1.5 mm").unwrap().shape.pitch_um, 1500.0);
        assert_eq!(set("shape.periods", "12").unwrap().shape.periods, 12);
        assert_eq!(set("duty.target_stretch_percent", "40 %").unwrap().duty.target_stretch_percent, 40.0);
        assert_eq!(set("stack.layers[1].modulus_mpa", "3 GPa").unwrap().stack.layers[1].modulus_mpa, 3000.0);
    }

    #[test]
    fn layers_answer_to_place_and_name() {
        for path in ["stack.layers[1].width_um", "stack.layers.1.width_um", "stack.layers.core.width_um"] {
            assert_eq!(set(path, "900 nm").unwrap().stack.layers[1].width_um, Some(0.9), "{path}");
        }
        let spaced = set("stack.layers.upper cladding.thickness_um", "7").unwrap();
        assert_eq!(spaced.stack.layers[2].thickness_um, 7.0);
        let fault = set("stack.layers.lid.thickness_um", "7").unwrap_err();
        assert!(fault.message.contains("no layer `lid`") && fault.message.contains("`core`"), "{fault}");
        let fault = set("stack.layers[9].thickness_um", "7").unwrap_err();
        assert!(fault.message.contains("3 layers"), "{fault}");
    }

    #[test]
    fn words_are_the_files_words() {
        assert_eq!(set("shape.family", "arc-and-arm").unwrap().shape.family, FamilyName::ArcAndArm);
        assert_eq!(set("shape.ends", "midline").unwrap().shape.ends, EndsName::Midline);
        let fault = set("shape.family", "zigzag").unwrap_err();
        assert!(fault.message.contains("`sine-generated`"), "{fault}");
        let light = |path, text| set(path, text).unwrap().light.unwrap();
        assert_eq!(light("light.polarisation", "quasi-tm").polarisation, PolarisationName::QuasiTm);
        assert!(!light(JOINS, "no").joins_straight_guides);
        assert!(!set("invented", "false").unwrap().invented);
        assert!(set("invented", "perhaps").is_err());
        assert_eq!(set("stack.layers.core.sides", "none").unwrap().stack.layers[1].sides, None);
    }

    #[test]
    fn renaming_a_layer_keeps_its_references() {
        let renamed = set("stack.layers.core.name", "guide").unwrap();
        assert_eq!(renamed.light.unwrap().core, "guide");
        let renamed = set("stack.layers.upper cladding.name", "lid").unwrap();
        assert_eq!(renamed.stack.layers[1].sides.as_deref(), Some("lid"));
    }

    #[test]
    fn radius_and_tilt_take_turns() {
        let mut design = set("shape.radius_um", "200").unwrap();
        design.set_text("shape.tilt_deg", "0.5 rad").unwrap();
        assert_eq!(design.shape.radius_um, None);
        assert!((design.shape.tilt_deg.unwrap() - 28.647_889_756_541_16).abs() < 1e-9);
        design.set_text("shape.tilt_deg", "none").unwrap();
        assert_eq!(design.shape.tilt_deg, None);
        assert!(design.set_text("shape.pitch_um", "none").unwrap_err().message.contains("always needed"));
    }

    #[test]
    fn a_map_window_is_made_when_needed() {
        let mut design = Design::sample();
        design.map = None;
        design.set_text("map.pitch_um[1]", "3 mm").unwrap();
        assert_eq!(design.map.unwrap().pitch_um[1], 3000.0);
        design.set_text("map.amplitude_um.0", "10").unwrap();
        assert_eq!(design.map.unwrap().amplitude_um[0], 10.0);
        assert!(design.set_text("map.pitch_um[2]", "1").is_err());
    }

    #[test]
    fn an_elastomer_is_made_when_needed() {
        let bonded = set("support.kind", "bonded").unwrap();
        assert_eq!(bonded.support.elastomer, Some(Elastomer::default()));
        let soft = set("support.elastomer.modulus_mpa", "60 kPa").unwrap();
        assert!((soft.support.elastomer.unwrap().modulus_mpa - 0.06).abs() < 1e-15);
        assert!(set(EMBEDDED, "yes").unwrap().support.elastomer.unwrap().embedded);
        assert_eq!(set("support.kind", "free-in-plane").unwrap().support.kind, SupportName::FreeInPlane);
    }

    #[test]
    fn faults_say_what_is_expected() {
        let fault = set("shape.pich_um", "1").unwrap_err();
        assert!(fault.message.contains("`shape.pitch_um`"), "{fault}");
        assert_eq!(
            set("shape.pitch_um", "45°").unwrap_err().message,
            "“45°” is an angle, but this field is a length"
        );
        assert!(set("shape.pitch_um", "NaN").is_err());
        assert!(set("shape.pitch_um", "inf").is_err());
        assert!(set("shape.periods", "2.5").is_err());
        assert!(set("shape.periods", "99999999999").unwrap_err().message.contains("10000"));
        assert_eq!(set("colour", "red").unwrap_err().message, "there is no such field");
        let mut dark = Design::sample();
        dark.light = None;
        assert!(dark.set_text("light.wavelength_um", "1.31").unwrap_err().message.contains("no light"));
        assert!(dark.set_text("light.core", "core").unwrap_err().message.contains("no light"));
    }
}
