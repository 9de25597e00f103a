use super::*;

fn material(id: &str) -> &'static Material {
    library().find(id).unwrap()
}

#[test]
fn every_material_of_the_library_is_possible() {
    let all = library().materials();
    assert_eq!(all.len(), 20);
    assert_eq!(material_faults(all), []);
}

#[test]
fn every_value_names_its_source() {
    for one in library().materials() {
        let id = &one.id;
        for (property, value) in one.values() {
            assert!(!value.source.trim().is_empty(), "{id}: {}", property.key());
        }
        assert!(one.fatigue.iter().all(|set| !set.source.trim().is_empty()), "{id}");
    }
}

#[test]
fn every_class_has_a_material_and_every_solid_can_become_a_layer() {
    for class in MaterialClass::ALL {
        assert!(library().materials().iter().any(|m| m.class == class), "{}", class.label());
    }
    for one in library().materials() {
        let start = one.layer_values(Some(1.55));
        let is_solid = one.class.is_solid();
        assert_eq!(start.modulus_mpa.is_some(), is_solid, "{}", one.id);
        assert_eq!(start.poisson_ratio.is_some(), is_solid, "{}", one.id);
        assert_eq!(start.allowable.is_some(), is_solid, "{}", one.id);
        assert!(start.cte_ppm_per_k.is_some(), "{}", one.id);
        let is_metal = one.class.is_metal();
        assert_eq!(start.index.is_some(), !is_metal, "{}", one.id);
    }
}

#[test]
fn a_metal_has_a_resistivity_and_so_has_the_transparent_conductor() {
    for one in library().materials() {
        let expected = one.class.is_metal() || one.id == "ito";
        assert_eq!(one.resistivity_at(20.0).is_some(), expected, "{}", one.id);
    }
}

#[test]
fn elastomers_expand_one_to_two_orders_of_magnitude_more_than_optical_glass() {
    let expansion = |one: &Material| one.cte_ppm_per_k.clone().unwrap();
    // Silica is the extreme of the glasses; chalcogenides lie in between.
    let silica = expansion(material("silica"));
    let crown_ppm_per_k = 7.1; // borosilicate crown, from memory
    for one in library().materials().iter().filter(|m| m.class == MaterialClass::Elastomer) {
        let own = expansion(one).typical;
        assert!((100.0..=1000.0).contains(&(own / silica.typical)), "{}: {own}", one.id);
        assert!((10.0..=100.0).contains(&(own / crown_ppm_per_k)), "{}: {own}", one.id);
    }
}

#[test]
fn every_elastomer_is_far_softer_than_every_glassy_polymer() {
    let moduli = |class: MaterialClass| {
        library().materials().iter().filter(move |m| m.class == class).map(|m| m.modulus_mpa.clone().unwrap())
    };
    let softest = moduli(MaterialClass::GlassyPolymer).map(|v| v.range()[0]).fold(f64::INFINITY, f64::min);
    let stiffest = moduli(MaterialClass::Elastomer).map(|v| v.range()[1]).fold(0.0, f64::max);
    assert!(softest / stiffest > 30.0);
}
