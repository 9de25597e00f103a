use super::*;
use crate::document::StrainLifeData;

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

fn ids(text: &str) -> Vec<&'static str> {
    library().search(text).iter().map(|m| m.id.as_str()).collect()
}

#[test]
fn search_wants_every_word_somewhere_and_shows_the_best_first() {
    assert_eq!(ids("COPPER"), ["copper"]);
    assert_eq!(ids("silicon"), ["silicon-nitride", "silicon", "pdms", "silica"]);
    // In the class only, with a word of the name.
    assert_eq!(ids("brittle glass sb"), ["chalcogenide-ge-sb-se"]);
    assert_eq!(ids("film gold"), ["gold"]);
    assert_eq!(ids("egain"), ["egain"]);
    assert!(ids("gold glass").is_empty());
    // "poly" begins three names and lies inside others.
    let poly = ids("poly");
    assert_eq!(poly[..3], ["polyimide", "pmma", "polyurethane"]);
    assert!(poly.contains(&"coc") && poly.contains(&"parylene"));
}

#[test]
fn an_empty_search_lists_everything_by_class() {
    let all = library().search("  ");
    assert_eq!(all.len(), library().materials().len());
    assert!(all.windows(2).all(|pair| pair[0].class <= pair[1].class));
    // The order of the classes is that of their list.
    assert!(MaterialClass::ALL.is_sorted());
}

#[test]
fn the_designs_own_material_takes_the_place_of_the_librarys() {
    let mut own = material("copper").clone();
    own.modulus_mpa = Some(Value::new(90_000.0, "tensile test"));
    let own = [own];
    let found = find_material("copper", &own).unwrap();
    assert!(found.is_own && found.material.typical(Property::Modulus) == Some(90_000.0));
    let found = find_material("gold", &own).unwrap();
    assert!(!found.is_own && found.material.id == "gold");
    assert!(find_material("unobtainium", &own).is_none());
    assert_eq!(Value::new(1.0, " ").source_text(), "own value");
}

#[test]
fn a_published_formula_agrees_with_the_single_value() {
    for one in library().materials().iter().filter(|m| m.dispersion.is_some()) {
        let value = one.refractive_index.as_ref().unwrap();
        let own_um = value.wavelength_um.unwrap();
        let formula = one.dispersion.unwrap().formula().index(own_um).unwrap().n;
        assert!((formula - value.typical).abs() < 0.01, "{}: {formula}", one.id);
    }
}

#[test]
fn an_index_says_what_it_rests_on() {
    let silica = material("silica").index_at(0.6328).unwrap();
    assert!(matches!(silica.basis, IndexBasis::Formula(DispersionName::FusedSilica)));
    // Malitson 1965: 1.45702 at the red helium-neon line (from memory).
    assert!((silica.value - 1.45702).abs() < 2e-5 && silica.note().is_none());

    let pmma = material("pmma");
    assert!(matches!(pmma.index_at(0.85).unwrap().basis, IndexBasis::Formula(DispersionName::Pmma)));
    let beyond = pmma.index_at(1.1).unwrap();
    assert_eq!(beyond.basis, IndexBasis::Extrapolated(DispersionName::Pmma));
    assert_eq!(beyond.note().unwrap(), "extrapolated: the formula holds from 0.44 to 1.05 µm");
    assert_eq!(pmma.index_at(1.31).unwrap().basis, IndexBasis::Held(1.55));
    assert_eq!(pmma.index_at(1.55).unwrap(), IndexAt { value: 1.481, basis: IndexBasis::Given });

    let silicone = material("pdms").index_at(0.85).unwrap();
    assert!(silicone.is_held() && silicone.note().unwrap() == "at 1.55 µm only");
    assert!(material("copper").index_at(1.55).is_none());
    assert!(
        [0.0, -1.0, f64::NAN, f64::INFINITY, 1550.0].iter().all(|&w| material("pdms").index_at(w).is_none())
    );

    let mut own = Material::new("resin", "resin", MaterialClass::GlassyPolymer);
    own.refractive_index = Some(Value::new(1.52, ""));
    assert_eq!(own.index_at(1.55).unwrap().note().unwrap(), "wavelength not stated");
}

#[test]
fn metals_warm_up_as_measured() {
    // Pure bulk metals at 300 and 400 K, Ω m, after Matula 1979, J. Phys. Chem. Ref. Data 8, 1147 (copper, gold) and
    // Desai, James, Ho 1984, ibid. 13, 1131 (aluminium), from memory.
    let measured =
        [("copper", 1.725e-8, 2.402e-8), ("gold", 2.271e-8, 3.107e-8), ("aluminium", 2.733e-8, 3.875e-8)];
    for (id, at_300_k, at_400_k) in measured {
        let metal = material(id);
        let [cold, hot] = [26.85, 126.85].map(|t| metal.resistivity_at(t).unwrap());
        let ratio = hot.value_ohm_m / cold.value_ohm_m;
        assert!((ratio / (at_400_k / at_300_k) - 1.0).abs() < 0.03, "{id}: {ratio}");
        assert!(hot.note.is_none());
        // The range of a film's resistivity begins at the bulk's.
        let bulk = metal.resistivity_ohm_m.as_ref().unwrap().range();
        let at_20_c = at_300_k / (1.0 + metal.typical(Property::TemperatureCoefficient).unwrap() * 6.85);
        assert!(at_20_c > 0.99 * bulk[0] && at_20_c < bulk[1], "{id}: {at_20_c}");
    }
}

#[test]
fn a_resistivity_says_when_it_is_held_or_extrapolated() {
    let copper = material("copper");
    assert_eq!(copper.resistivity_at(20.0).unwrap(), ResistivityAt { value_ohm_m: 1.72e-8, note: None });
    assert_eq!(copper.resistivity_at(200.0).unwrap().note, Some(ResistivityNote::Extrapolated));
    // The straight line falls to zero near −234 °C.
    assert!([-240.0, -300.0, f64::NAN].iter().all(|&t| copper.resistivity_at(t).is_none()));
    let liquid = material("egain").resistivity_at(37.0).unwrap();
    assert_eq!((liquid.value_ohm_m, liquid.note), (2.94e-7, Some(ResistivityNote::Held)));

    // A value at 25 °C lies on its own line at 25 °C.
    let mut own = copper.clone();
    own.resistivity_ohm_m = Some(Value { temperature_c: Some(25.0), ..Value::new(2e-8, "") });
    assert!((own.resistivity_at(25.0).unwrap().value_ohm_m / 2e-8 - 1.0).abs() < 1e-12);
    let slope = (own.resistivity_at(35.0).unwrap().value_ohm_m / 2e-8 - 1.0) / 10.0;
    assert!((slope / 0.00393 - 1.0).abs() < 1e-9);
}

#[test]
fn the_allowable_strain_follows_the_rule_of_the_class() {
    use SuggestionRule as Rule;
    let expected = [
        ("silica", 0.002, Rule::LeastFailureStrain),
        ("chromium", 0.002, Rule::LeastFailureStrain),
        ("copper", 0.002, Rule::YieldStrain),
        ("polyimide", 0.015, Rule::HalfYieldStrain),
        ("epoxy-resist", 0.02, Rule::HalfFailureStrain),
        ("coc", 0.015, Rule::HalfFailureStrain),
        ("pdms", 0.4, Rule::ThirdOfFailureStrain),
    ];
    for (id, strain, rule) in expected {
        let found = material(id).allowable().unwrap();
        assert!((found.strain - strain).abs() < 1e-12 && found.rule == rule, "{id}: {found:?}");
    }
    let mut glass = material("silica").clone();
    glass.failure_strain.as_mut().unwrap().min = None;
    assert_eq!(glass.allowable().unwrap().rule, Rule::ThirdOfBrittleFailureStrain);
    glass.failure_strain = None;
    assert!(glass.allowable().is_none());
}

#[test]
fn no_suggestion_lies_beyond_what_is_reported_to_break() {
    for one in library().materials() {
        let (Some(found), Some(failure)) = (one.allowable(), &one.failure_strain) else { continue };
        assert!(found.strain <= failure.range()[0], "{}: {found:?}", one.id);
    }
}

#[test]
fn laws_of_life_are_ones_that_the_stack_accepts() {
    let mut count = 0;
    for one in library().materials() {
        for set in &one.fatigue {
            if let Some(law) = set.strain_life() {
                let StrainLifeData {
                    fatigue_strength_mpa,
                    strength_exponent,
                    fatigue_ductility,
                    ductility_exponent,
                } = law;
                ogee_stack::StrainLife::new(
                    fatigue_strength_mpa,
                    strength_exponent,
                    fatigue_ductility,
                    ductility_exponent,
                )
                .unwrap();
                count += 1;
            }
            if let Some(law) = set.foil() {
                ogee_stack::FoilDuctility::new(law.ductility, law.ultimate_mpa).unwrap();
                count += 1;
            }
        }
    }
    assert_eq!(count, 4);
    let copper = material("copper").layer_values(None);
    assert!(copper.strain_life.is_some() && copper.foil.is_some() && copper.index.is_none());
}

#[test]
fn every_impossible_number_is_named_by_its_path() {
    for one in library().materials() {
        for (property, value) in one.values() {
            let faults_of = |change: &dyn Fn(&mut Value)| {
                let mut broken = one.clone();
                let mut changed = value.clone();
                change(&mut changed);
                *broken.value_mut(property) = Some(changed);
                broken.check("materials[3]")
            };
            let path = format!("materials[3].{}", property.key());
            let faults = faults_of(&|v| v.typical = f64::NAN);
            assert_eq!((faults.len(), faults[0].path.as_str()), (1, format!("{path}.typical").as_str()));
            let greatest = property.limits()[1];
            let faults = faults_of(&|v| v.max = Some(1.01 * greatest));
            assert_eq!(
                (faults[0].path.as_str(), faults[0].nearest),
                (format!("{path}.max").as_str(), Some(greatest))
            );
            let faults = faults_of(&|v| (v.min, v.max) = (Some(greatest), Some(greatest)));
            assert_eq!(faults[0].path, format!("{path}.typical"), "{}", one.id);
            let faults =
                faults_of(&|v| (v.typical, v.min, v.max) = (greatest, None, Some(property.limits()[0])));
            assert_eq!(faults[0].path, format!("{path}.typical"), "{}", one.id);
            let faults = faults_of(&|v| (v.min, v.max) = (Some(greatest), Some(property.limits()[0])));
            assert_eq!(faults[0].path, format!("{path}.min"), "{}", one.id);
            let faults = faults_of(&|v| v.wavelength_um = Some(-1.0));
            assert_eq!(faults[0].path, format!("{path}.wavelength_um"));
        }
    }
}

#[test]
fn ids_and_laws_of_own_materials_are_checked() {
    let mut own = material("copper").clone();
    own.id = "My Copper".to_owned();
    own.name = " ".to_owned();
    let FatigueLaw::FoilDuctility { ductility, .. } = &mut own.fatigue[0].law else {
        panic!("the foil comes first")
    };
    ductility.max = Some(0.1);
    let faults = material_faults(&[own.clone(), own]);
    let paths: Vec<&str> = faults.iter().map(|f| f.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "materials[0].id",
            "materials[0].name",
            "materials[0].fatigue[0].law.foil-ductility.ductility.typical",
            "materials[1].id",
            "materials[1].name",
            "materials[1].fatigue[0].law.foil-ductility.ductility.typical",
            "materials[1].id",
        ]
    );
    // A solid has a modulus, a liquid need not.
    let mut liquid = material("egain").clone();
    assert_eq!(liquid.check("materials[0]"), []);
    liquid.class = MaterialClass::Elastomer;
    assert_eq!(liquid.check("materials[0]")[0].path, "materials[0].modulus_mpa.min");
}

#[test]
fn a_material_survives_its_file_and_refuses_unknown_keys() {
    for one in library().materials() {
        let text = serde_json::to_string(one).unwrap();
        assert_eq!(&serde_json::from_str::<Material>(&text).unwrap(), one);
    }
    let keys: Vec<&str> = Property::ALL.iter().map(|p| p.key()).collect();
    let schema = serde_json::to_value(schemars::schema_for!(Material)).unwrap();
    assert!(keys.iter().all(|key| schema["properties"].get(key).is_some()));
    // Every other key of the form is none of the numbers.
    let others =
        schema["properties"].as_object().unwrap().keys().filter(|k| !keys.contains(&k.as_str())).count();
    assert_eq!(others, ["id", "name", "class", "note", "dispersion", "fatigue"].len());
    let unknown = r#"{"id": "a", "name": "a", "class": "elastomer", "hardness": {"typical": 40}}"#;
    assert!(serde_json::from_str::<Material>(unknown).unwrap_err().to_string().contains("hardness"));
}
