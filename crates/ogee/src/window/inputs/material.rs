//! What a layer takes from its material, and where each of its numbers comes from.

use crate::session::Session;
use ogee_design::{
    Brittle, Design, FoundMaterial, Material, MaterialClass, Property, StackLayer, Trace, Value, digits_text,
    find_material, library, number_text,
};

/// Wavelength for which an index is told where no light is guided, µm.
const USUAL_UM: f64 = 1.55;
/// Relative difference at which a number counts as the library's, so that rounding on the way does not matter.
const SAME: f64 = 1e-6;

/// The material that a layer's numbers come from: one of the design's own, else one of the library.
pub(super) fn material_of<'a>(design: &'a Design, layer: &StackLayer) -> Option<FoundMaterial<'a>> {
    find_material(layer.material_id.as_ref()?, &design.materials)
}

fn wavelength_um(design: &Design) -> f64 {
    design.light.as_ref().map_or(USUAL_UM, |light| light.wavelength_um)
}

/// A number that a material suggests for a field of a layer, in the field's unit.
struct Suggestion {
    value: f64,
    /// Range, source and what else there is to know, in lines.
    words: String,
}

/// Numbers that belong to a property as they are, up to a factor.
const PLAIN: [(&str, Property, f64); 6] = [
    ("modulus_mpa", Property::Modulus, 1.0),
    ("poisson_ratio", Property::PoissonRatio, 1.0),
    ("yield_strain_percent", Property::YieldStrain, 100.0),
    ("cte_ppm_per_k", Property::Expansion, 1.0),
    ("toughness_mpa_sqrt_m", Property::FractureToughness, 1.0),
    ("brittle.weibull_modulus", Property::WeibullModulus, 1.0),
];

fn suggestion(material: &Material, key: &str, wavelength_um: f64) -> Option<Suggestion> {
    if key == "allowable_strain_percent" {
        let allowable = material.allowable()?;
        let failure = material.value(Property::FailureStrain).map(|value| words(value, 100.0, "%"));
        let failure = failure.map_or_else(String::new, |words| format!("\nfailure strain {words}"));
        let words = format!("{}{failure}", allowable.rule.label());
        return Some(Suggestion { value: 100.0 * allowable.strain, words });
    }
    if key == "refractive_index" {
        let index = material.index_at(wavelength_um)?;
        let note = index.note().map_or_else(String::new, |note| format!("{note}\n"));
        let source =
            material.refractive_index.as_ref().map_or_else(String::new, |value| words(value, 1.0, ""));
        return Some(Suggestion { value: index.value, words: format!("{note}{source}") });
    }
    let (_, property, factor) = PLAIN.into_iter().find(|(plain, ..)| *plain == key)?;
    let value = material.value(property)?;
    let unit = if factor == 1.0 { property.unit() } else { "%" };
    let typical = tidy(factor * value.typical);
    typical.is_finite().then(|| Suggestion { value: typical, words: words(value, factor, unit) })
}

/// A product with 100 without the rounding that it leaves.
fn tidy(value: f64) -> f64 {
    digits_text(value, 9).parse().unwrap_or(value)
}

/// Typical value, range and source of a property.
fn words(value: &Value, factor: f64, unit: &str) -> String {
    let [low, high] = value.range().map(|end| number_text(tidy(factor * end)));
    let range = if low == high { low } else { format!("{low} to {high}") };
    let note = value.note.as_ref().map_or_else(String::new, |note| format!("\n{note}"));
    format!("{} {unit}\n{}{note}", range, value.source_text()).replace(" \n", "\n")
}

/// Where a number of a layer comes from: a word and what to know.
pub(super) fn origin(session: &Session, index: usize, key: &str) -> Option<(&'static str, String)> {
    // Sizes are nobody's but the design's.
    if ["thickness_um", "width_um", "offset_um"].contains(&key) {
        return None;
    }
    let design = session.design();
    let layer = design.stack.layers.get(index)?;
    let now = design.number(&format!("stack.layers[{index}].{key}"))?;
    let FoundMaterial { material, is_own } = material_of(design, layer)?;
    let Some(found) = suggestion(material, key, wavelength_um(design)) else {
        return Some(("own", format!("Own value; none is known for {}", material.name)));
    };
    let known = format!("{} for {}\n{}", number_text(found.value), material.name, found.words);
    let same = is_same(now, found.value);
    Some(match (is_own, same) {
        (false, true) => ("typical", format!("Typical value: {known}")),
        (false, false) => ("own", format!("Own value; typical is {known}")),
        (true, true) => ("own", format!("As kept in the own material: {known}")),
        (true, false) => ("edited", format!("Edited since it was kept: {known}")),
    })
}

/// The number that a layer's material suggests for one of its fields.
pub(super) fn typical_of(design: &Design, index: usize, key: &str) -> Option<f64> {
    let layer = design.stack.layers.get(index)?;
    let found = material_of(design, layer)?;
    suggestion(found.material, key, wavelength_um(design)).map(|found| found.value)
}

fn is_same(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME * b.abs()
}

/// Whether some number of the layer is not the material's.
pub(super) fn differs_from(design: &Design, index: usize, material: &Material) -> bool {
    let keys = PLAIN.iter().map(|(key, ..)| *key).chain(["allowable_strain_percent", "refractive_index"]);
    keys.into_iter().any(|key| {
        let now = design.number(&format!("stack.layers[{index}].{key}"));
        let found = suggestion(material, key, wavelength_um(design));
        // Neighbours and the oven may need what is not known of this material.
        let stays = matches!(key, "refractive_index" | "cte_ppm_per_k");
        now.is_some_and(|now| found.map_or(!stays, |found| !is_same(now, found.value)))
    })
}

/// Gives a layer the typical values of a material, and the trace that it carries. What must be there and is not known
/// stays; what need not be there goes, so that nothing of another material is left.
pub(super) fn give(design: &mut Design, index: usize, material: &Material) {
    let light_um = design.light.as_ref().map(|light| light.wavelength_um);
    let values = material.layer_values(light_um);
    let Some(layer) = design.stack.layers.get_mut(index) else { return };
    let known = |key| suggestion(material, key, light_um.unwrap_or(USUAL_UM)).map(|found| found.value);
    layer.material_id = Some(material.id.clone());
    layer.material.clone_from(&material.name);
    layer.modulus_mpa = known("modulus_mpa").unwrap_or(layer.modulus_mpa);
    layer.poisson_ratio = known("poisson_ratio").unwrap_or(layer.poisson_ratio);
    layer.allowable_strain_percent =
        known("allowable_strain_percent").unwrap_or(layer.allowable_strain_percent);
    layer.yield_strain_percent = known("yield_strain_percent");
    layer.cte_ppm_per_k = known("cte_ppm_per_k").or(layer.cte_ppm_per_k);
    layer.toughness_mpa_sqrt_m = known("toughness_mpa_sqrt_m");
    // Next to a core an index is needed, be it that of the material before.
    layer.refractive_index = values.index.map(|index| index.value).or(layer.refractive_index);
    layer.brittle = brittle(material);
    layer.strain_life = values.strain_life;
    layer.foil = values.foil.filter(|_| values.strain_life.is_none());
    let name = layer.name.clone();
    if let Some(trace) = design.trace.as_mut().filter(|trace| trace.layer == name) {
        conduct(trace, material);
    }
}

/// What a trace of that material conducts.
pub(super) fn conduct(trace: &mut Trace, material: &Material) {
    let typical = |property| material.typical(property);
    if let Some(metal) = material.conductor() {
        trace.resistivity_nohm_m = tidy(1e9 * metal.resistivity_ohm_m);
        trace.temp_coeff_per_k = tidy(metal.temp_coeff_per_k);
    }
    trace.gauge_factor = typical(Property::GaugeFactor).unwrap_or(trace.gauge_factor);
    // Only where the film is thin enough for someone to have asked for it.
    trace.mean_free_path_nm =
        trace.mean_free_path_nm.map(|now| typical(Property::MeanFreePath).unwrap_or(now));
}

/// Scatter of a brittle material's strength, where the strength itself can be told.
fn brittle(material: &Material) -> Option<Brittle> {
    if !material.class.is_brittle() {
        return None;
    }
    let modulus_mpa = material.typical(Property::Modulus)?;
    let failure = material.typical(Property::FailureStrain).map(|strain| strain * modulus_mpa);
    let strength_mpa = material.typical(Property::Strength).or(failure)?;
    let weibull_modulus = material.typical(Property::WeibullModulus)?;
    Some(Brittle { weibull_modulus, strength_mpa: tidy(strength_mpa), ..Brittle::default() })
}

/// Keeps the numbers of a layer as a material of the design, and makes the layer of it.
pub(super) fn keep(design: &mut Design, index: usize) {
    let light_um = wavelength_um(design);
    let Some(layer) = design.stack.layers.get(index).cloned() else { return };
    let base = material_of(design, &layer).map(|found| found.material.clone());
    let class = base.as_ref().map_or_else(|| class_of(&layer), |base| base.class);
    let name = free_name(design, &layer.material);
    let mut material = base.unwrap_or_default();
    (material.id, material.name, material.class) = (id_of(&name), name.clone(), class);
    for (key, property, factor) in PLAIN {
        let known = material.typical(property).map(|typical| factor * typical);
        let now = design.number(&format!("stack.layers[{index}].{key}"));
        if let Some(now) = now
            && known.is_none_or(|known| !is_same(now, known))
        {
            *material.value_mut(property) = Some(Value::new(tidy(now / factor), ""));
        }
    }
    if let Some(now) = layer.refractive_index
        && material.index_at(light_um).is_none_or(|index| !is_same(now, index.value))
    {
        let value = Value { wavelength_um: Some(light_um), ..Value::new(now, "") };
        (material.refractive_index, material.dispersion) = (Some(value), None);
    }
    keep_allowable(&mut material, layer.allowable_strain_percent / 100.0);
    if let Some(layer) = design.stack.layers.get_mut(index) {
        (layer.material_id, layer.material) = (Some(material.id.clone()), name);
    }
    design.materials.push(material);
}

/// Gives the material the failure strain from which the rule of its class suggests `allowable`.
fn keep_allowable(material: &mut Material, allowable: f64) {
    if material.allowable().is_some_and(|found| is_same(allowable, found.strain)) {
        return;
    }
    let typical = material.typical(Property::FailureStrain).unwrap_or(allowable).max(allowable);
    let failure = match material.class {
        class if class.is_brittle() => Value { min: Some(allowable), ..Value::new(typical, "") },
        MaterialClass::Elastomer => Value::new(3.0 * allowable, ""),
        MaterialClass::GlassyPolymer if material.yield_strain.is_none() => Value::new(2.0 * allowable, ""),
        // Metals and polymers that yield are allowed what their yield strain says.
        _ => return,
    };
    material.failure_strain = Some(failure);
}

/// What kind of material the numbers of a layer speak of.
fn class_of(layer: &StackLayer) -> MaterialClass {
    if layer.brittle.is_some() {
        MaterialClass::BrittleFilm
    } else if layer.strain_life.is_some() || layer.foil.is_some() {
        MaterialClass::DuctileMetal
    } else if layer.modulus_mpa < 100.0 {
        MaterialClass::Elastomer
    } else {
        MaterialClass::GlassyPolymer
    }
}

/// An id made of a name.
fn id_of(name: &str) -> String {
    let plain =
        name.to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let plain: String = plain;
    if plain.chars().all(|c| c == '-') { format!("material{plain}") } else { plain }
}

/// Removes one of the design's own materials; layers made of it keep their numbers.
pub(super) fn forget(design: &mut Design, id: &str) {
    design.materials.retain(|material| material.id != id);
    for layer in &mut design.stack.layers {
        if layer.material_id.as_deref() == Some(id) && library().find(id).is_none() {
            layer.material_id = None;
        }
    }
}

/// `wish`, with a number behind it where a material has that name or the id made of it.
fn free_name(design: &Design, wish: &str) -> String {
    let taken = |name: &str| {
        let named = |material: &Material| material.name == name || material.id == id_of(name);
        design.materials.iter().any(named) || library().materials().iter().any(named)
    };
    let wish = if wish.trim().is_empty() { "material" } else { wish.trim() };
    let numbered = (2..).map(|number| format!("{wish} {number}"));
    std::iter::once(wish.to_owned()).chain(numbered).find(|name| !taken(name)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(id: &str) -> &'static Material {
        library().find(id).unwrap()
    }

    #[test]
    fn every_material_can_be_given_to_a_layer() {
        for material in library().materials().iter().filter(|material| material.class.is_solid()) {
            let mut design = Design::sample();
            // No material is right next to every core.
            (design.light, design.limits.insertion_loss_db) = (None, None);
            give(&mut design, 0, material);
            let layer = &design.stack.layers[0];
            assert_eq!(layer.material_id.as_ref(), Some(&material.id));
            assert_eq!(layer.modulus_mpa, material.typical(Property::Modulus).unwrap(), "{}", material.id);
            assert!(layer.strain_life.is_none() || layer.foil.is_none());
            assert_eq!(design.check().err(), None, "{}", material.id);
            design.light = Design::sample().light;
            give(&mut design, 0, material);
            assert!(!differs_from(&design, 0, material), "{}", material.id);
        }
    }

    #[test]
    fn a_metal_brings_what_its_trace_conducts() {
        let mut design = Design::sample();
        let name = design.stack.layers[2].name.clone();
        design.trace = Some(Trace { resistivity_nohm_m: 1.0, ..Trace::copper(name) });
        give(&mut design, 2, found("gold"));
        let trace = design.trace.as_ref().unwrap();
        let gold = found("gold").typical(Property::Resistivity).unwrap();
        assert!((trace.resistivity_nohm_m / (1e9 * gold) - 1.0).abs() < 1e-6, "{}", trace.resistivity_nohm_m);
        assert!(design.stack.layers[2].strain_life.is_some());
        give(&mut design, 2, found("pmma"));
        assert_eq!(design.stack.layers[2].strain_life, None, "nothing of the metal is left");
    }

    #[test]
    fn own_numbers_are_kept_as_a_material() {
        for id in ["silica", "pdms", "polyimide", "copper"] {
            let mut design = Design::sample();
            design.materials.clear();
            design.stack.layers.iter_mut().for_each(|layer| layer.material_id = None);
            give(&mut design, 0, found(id));
            design.stack.layers[0].modulus_mpa *= 1.3;
            if found(id).yield_strain.is_none() {
                design.stack.layers[0].allowable_strain_percent *= 0.5;
            }
            assert!(differs_from(&design, 0, found(id)));
            keep(&mut design, 0);
            assert_eq!(design.materials.len(), 1);
            let kept = design.materials[0].clone();
            assert_eq!(design.stack.layers[0].material_id.as_ref(), Some(&kept.id));
            assert!(!differs_from(&design, 0, &kept), "{id}");
            let faults = design.check().err().unwrap_or_default();
            assert!(faults.iter().all(|fault| !fault.path.starts_with("materials")), "{id}: {faults:?}");
            let before = design.stack.layers[0].clone();
            give(&mut design, 0, &kept);
            assert!(is_same(design.stack.layers[0].modulus_mpa, before.modulus_mpa));
            keep(&mut design, 0);
            assert_ne!(design.materials[1].id, kept.id);
            let second = design.materials[1].id.clone();
            forget(&mut design, &second);
            assert_eq!((design.materials.len(), &design.stack.layers[0].material_id), (1, &None));
        }
    }

    #[test]
    fn ids_are_plain() {
        assert_eq!(id_of("Epoxy A (2026)"), "epoxy-a--2026-");
        assert_eq!(id_of("µ"), "material-");
    }
}
