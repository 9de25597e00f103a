//! Materials of layers: found, chosen, kept.

use super::*;

/// Opens the list of materials of a layer.
fn open_list(window: &mut Window, layer: &str) {
    click(window, layer);
    click(window, "Choose…");
}

#[test]
fn a_material_is_found_and_fills_its_layer_in_one_edit() {
    let mut window = window();
    let depth = window.state().session().undo_depth();
    open_list(&mut window, "Layer 1: lower cladding");
    assert!(shows(&window, "elastomer"), "the list is grouped by kind");
    field(&window, "Search by name or kind").type_text("silicone");
    window.run_steps(3);
    assert!(!shows(&window, "polyimide film"), "what does not fit is not listed");
    let name = ogee_design::library().search("silicone")[0].name.as_str();
    click(&mut window, name);
    let layer = design(&window).stack.layers[0].clone();
    assert_eq!(layer.material, name);
    assert!(layer.modulus_mpa < 10.0 && layer.cte_ppm_per_k.is_some());
    assert_eq!(window.state().session().undo_depth(), depth + 1);
    assert!(shows(&window, "modulus_mpa: typical"));
    enter(&mut window, "Modulus", "2.5 MPa");
    assert!(shows(&window, "modulus_mpa: own"));
    assert!(shows(&window, "poisson_ratio: typical"));
}

#[test]
fn enter_takes_the_best_match() {
    let mut window = window();
    open_list(&mut window, "Layer 1: lower cladding");
    field(&window, "Search by name or kind").type_text("pmma");
    window.run_steps(3);
    press(&mut window, Key::Enter);
    assert_eq!(design(&window).stack.layers[0].material_id.as_deref(), Some("pmma"));
}

#[test]
fn own_numbers_are_kept_and_can_be_chosen_for_another_layer() {
    let mut window = window();
    click(&mut window, "Layer 1: lower cladding");
    enter(&mut window, "Modulus", "3.1 GPa");
    click(&mut window, "Keep as own");
    let kept = design(&window).materials.last().cloned().expect("a kept material");
    assert_eq!(kept.modulus_mpa.as_ref().map(|value| value.typical), Some(3100.0));
    assert_eq!(window.state().session().faults(), []);
    open_list(&mut window, "Layer 3: upper cladding");
    assert!(shows(&window, "own materials"));
    let entry = window
        .get_all_by_label(&kept.name)
        .find(|node| node.accesskit_node().role() == egui::accesskit::Role::Button)
        .expect("the kept material is listed");
    entry.click();
    settle(&mut window, 4);
    let layer = design(&window).stack.layers[2].clone();
    assert_eq!((layer.material_id.as_ref(), layer.modulus_mpa), (Some(&kept.id), 3100.0));
    assert!(shows(&window, "modulus_mpa: own"));
    click(&mut window, "Forget it");
    let design = design(&window);
    assert!(design.materials.iter().all(|material| material.id != kept.id));
    assert_eq!((&design.stack.layers[2].material_id, design.stack.layers[2].modulus_mpa), (&None, 3100.0));
    assert_eq!(window.state().session().faults(), []);
}

#[test]
fn typical_values_come_back_with_a_click() {
    let mut window = window();
    open_list(&mut window, "Layer 1: lower cladding");
    field(&window, "Search by name or kind").type_text("polyimide");
    window.run_steps(3);
    press(&mut window, Key::Enter);
    let before = design(&window);
    enter(&mut window, "Modulus", "1 GPa");
    click(&mut window, "Typical values");
    assert_eq!(design(&window), before);
}
