//! Samples, changed and assessed, for whole-program tests.

#![allow(dead_code, reason = "every test file uses a part of it")]

use std::fs;
use std::path::Path;

use ogee_design::{
    Assessment, Caches, Checked, Design, LifeLayer, Margin, StackLayer, Tier, assess, library,
};

/// A design of `samples/`, by its name without ending.
pub(crate) fn sample(name: &str) -> Design {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package lies in the workspace");
    let path = root.join("samples").join(format!("{name}.ogee.json"));
    let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    Design::from_json(&text).unwrap_or_else(|faults| panic!("{name}: {faults:?}"))
}

/// A sample with a change made to it.
pub(crate) fn changed(name: &str, change: impl FnOnce(&mut Design)) -> Design {
    let mut design = sample(name);
    change(&mut design);
    design
}

/// The design, known to be possible.
pub(crate) fn checked(design: &Design) -> Checked {
    design.check().unwrap_or_else(|faults| panic!("{}: {faults:?}", design.name))
}

/// Everything that is known about a design.
pub(crate) fn assessed(design: &Design, tier: Tier) -> Assessment {
    assess(&checked(design), tier, &mut Caches::new(), &|| true)
        .unwrap_or_else(|reason| panic!("{}: {reason}", design.name))
        .expect("nobody stopped it")
}

/// By the models that answer within a frame.
pub(crate) fn live(design: &Design) -> Assessment {
    assessed(design, Tier::Live)
}

/// By the models of the whole ribbon.
pub(crate) fn full(design: &Design) -> Assessment {
    assessed(design, Tier::Full)
}

/// A margin by its id.
pub(crate) fn margin<'a>(result: &'a Assessment, id: &str) -> &'a Margin {
    let known = || result.margins.iter().map(|m| m.id.as_str()).collect::<Vec<_>>().join(", ");
    result
        .margins
        .iter()
        .find(|m| m.id == id)
        .unwrap_or_else(|| panic!("{}: no margin {id} among {}", result.design, known()))
}

/// The number of a margin that has one.
pub(crate) fn number(result: &Assessment, id: &str) -> f64 {
    let found = margin(result, id);
    found.margin.unwrap_or_else(|| panic!("{}: {id}: {:?}", result.design, found.why_absent))
}

/// The life of a layer that a rule has been found for.
pub(crate) fn lived<'a>(result: &'a Assessment, name: &str) -> &'a LifeLayer {
    let life = result.life.as_ref().expect("a life is asked for");
    life.layers.iter().find(|l| l.name == name).unwrap_or_else(|| panic!("nothing known of {name}"))
}

/// The layer of that name, to be changed.
pub(crate) fn layer<'a>(design: &'a mut Design, name: &str) -> &'a mut StackLayer {
    design.stack.layers.iter_mut().find(|l| l.name == name).unwrap_or_else(|| panic!("no layer {name}"))
}

/// A full-width layer with the typical values that the library has of a material.
pub(crate) fn library_layer(name: &str, id: &str, thickness_um: f64) -> StackLayer {
    let material = library().find(id).unwrap_or_else(|| panic!("no material {id}"));
    let values = material.layer_values(None);
    StackLayer {
        material: material.name.clone(),
        material_id: Some(id.to_owned()),
        thickness_um,
        modulus_mpa: values.modulus_mpa.expect("a solid"),
        poisson_ratio: values.poisson_ratio.expect("a solid"),
        allowable_strain_percent: 100.0 * values.allowable.expect("a known strain").strain,
        cte_ppm_per_k: values.cte_ppm_per_k,
        toughness_mpa_sqrt_m: values.toughness_mpa_sqrt_m,
        ..StackLayer::plain(name)
    }
}

/// The finger guide's meander with other layers, and nothing else to be judged.
pub(crate) fn bare(name: &str, layers: Vec<StackLayer>) -> Design {
    changed("finger-guide", |d| {
        name.clone_into(&mut d.name);
        d.stack.layers = layers;
        (d.light, d.trace, d.process, d.islands, d.life, d.duty.wrap) = (None, None, None, None, None, None);
        d.limits.insertion_loss_db = None;
    })
}

/// Whether two numbers are equal to within a share of the second.
pub(crate) fn near(got: f64, expected: f64, share: f64) -> bool {
    (got - expected).abs() <= share * expected.abs()
}
