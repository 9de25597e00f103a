//! What is impossible about a material that a design brings along.

use super::{FatigueSet, Material, Property};
use crate::fault::Fault;
use crate::text::number;

/// Everything impossible about a design's own materials, with paths such as `materials[0].modulus_mpa.typical`.
///
/// Besides [`Material::check`] of each: two materials with one id. An id of the library is allowed; the design's own
/// material then takes its place.
pub fn material_faults(materials: &[Material]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (i, material) in materials.iter().enumerate() {
        let path = format!("materials[{i}]");
        faults.extend(material.check(&path));
        if materials[..i].iter().any(|other| other.id == material.id) {
            let message = "two materials have this id; ids are unique";
            faults.push(Fault::new(format!("{path}.id"), &material.id, message));
        }
    }
    faults
}

/// Three numbers that belong together: least, typical, greatest.
struct Triple {
    min: Option<f64>,
    typical: f64,
    max: Option<f64>,
}

impl Triple {
    /// Faults of `path.min`, `path.typical` and `path.max`: outside the limits, or in the wrong order.
    fn faults(&self, path: &str, limits: [f64; 2], unit: &str, faults: &mut Vec<Fault>) {
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        let mut is_possible = true;
        for (key, value) in [("min", self.min), ("typical", Some(self.typical)), ("max", self.max)] {
            let Some(value) = value else { continue };
            if value.is_finite() && value >= limits[0] && value <= limits[1] {
                continue;
            }
            is_possible = false;
            let message = format!("from {} to {}{unit} is allowed", number(limits[0]), number(limits[1]));
            let nearest = value.is_finite().then(|| value.clamp(limits[0], limits[1]));
            faults.push(Fault::new(format!("{path}.{key}"), shown(value), message).with_nearest(nearest));
        }
        if !is_possible {
            return;
        }
        // An end that is not given bounds nothing.
        let (least, greatest) = (self.min.unwrap_or(limits[0]), self.max.unwrap_or(limits[1]));
        if least > greatest {
            let message = format!("the least value is above the greatest of {}{unit}", number(greatest));
            faults.push(Fault::new(format!("{path}.min"), number(least), message));
        } else if self.typical < least || self.typical > greatest {
            let message = format!(
                "the typical value lies outside its own range from {} to {}{unit}",
                number(least),
                number(greatest)
            );
            let nearest = Some(self.typical.clamp(least, greatest));
            faults.push(
                Fault::new(format!("{path}.typical"), number(self.typical), message).with_nearest(nearest),
            );
        }
    }
}

/// A number as a fault shows it, NaN and infinity included.
fn shown(value: f64) -> String {
    if value.is_finite() { number(value) } else { value.to_string() }
}

fn id_fault(path: &str, id: &str) -> Option<Fault> {
    let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    (id.is_empty() || !id.chars().all(is_plain)).then(|| {
        Fault::new(format!("{path}.id"), id, "an id is made of lower-case letters, digits and hyphens")
    })
}

fn name_fault(path: &str, name: &str) -> Option<Fault> {
    name.trim().is_empty().then(|| Fault::new(format!("{path}.name"), "", "a name is needed"))
}

impl FatigueSet {
    fn faults(&self, path: &str, faults: &mut Vec<Fault>) {
        faults.extend(id_fault(path, &self.id));
        faults.extend(name_fault(path, &self.name));
        for (key, value) in self.law.parameters() {
            let (limits, unit) = if key.ends_with("exponent") {
                ([-3.0, -1e-3], "")
            } else if key.ends_with("mpa") {
                ([1e-3, 1e5], "MPa")
            } else {
                ([1e-6, 100.0], "")
            };
            let triple = Triple { min: value.min, typical: value.typical, max: value.max };
            triple.faults(&format!("{path}.law.{}.{key}", self.law.key()), limits, unit, faults);
        }
    }
}

impl Material {
    /// Everything impossible about the material, each with its path, value and allowed range.
    ///
    /// Ranges must run from least over typical to greatest and stay within [`Property::limits`]; a liquid may have no
    /// modulus.
    ///
    /// * `path`: where the material stands, such as `materials[0]`.
    pub fn check(&self, path: &str) -> Vec<Fault> {
        let mut faults: Vec<Fault> =
            id_fault(path, &self.id).into_iter().chain(name_fault(path, &self.name)).collect();
        for (property, value) in self.values() {
            let path = format!("{path}.{}", property.key());
            let mut limits = property.limits();
            if property == Property::Modulus && !self.class.is_solid() {
                limits[0] = 0.0;
            }
            let triple = Triple { min: value.min, typical: value.typical, max: value.max };
            triple.faults(&path, limits, property.unit(), &mut faults);
            let conditions = [
                ("wavelength_um", value.wavelength_um, [0.01, 1000.0], "µm"),
                ("temperature_c", value.temperature_c, [-273.0, 4500.0], "°C"),
            ];
            for (key, number_given, [least, greatest], unit) in conditions {
                let Some(given) = number_given else { continue };
                if !(given >= least && given <= greatest) {
                    let message = format!("from {} to {} {unit} is allowed", number(least), number(greatest));
                    faults.push(Fault::new(format!("{path}.{key}"), shown(given), message));
                }
            }
        }
        for (i, set) in self.fatigue.iter().enumerate() {
            set.faults(&format!("{path}.fatigue[{i}]"), &mut faults);
        }
        faults
    }
}
