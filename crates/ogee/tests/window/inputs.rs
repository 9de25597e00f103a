//! Families, ends, optional numbers, layers and light.

use super::*;
use ogee_design::{EndsName, FamilyName, SupportName};

pub(super) fn choose(window: &mut Window, label: &str, option: &str) {
    let node = window
        .get_all_by_label(label)
        .find(|node| node.accesskit_node().role() == egui::accesskit::Role::ComboBox)
        .unwrap_or_else(|| panic!("no choice {label}"));
    node.click();
    window.run_steps(6);
    window.get_by_role_and_label(egui::accesskit::Role::Button, option).click();
    settle(window, 6);
}

#[test]
fn every_family_can_be_chosen_and_undone() {
    let mut window = window();
    for family in [FamilyName::Arc, FamilyName::ArcAndArm, FamilyName::Clothoid, FamilyName::Sine] {
        choose(&mut window, "Family", family.label());
        assert_eq!(design(&window).shape.family, family);
        assert_eq!(window.state().session().faults(), [], "{family:?}");
    }
    for _ in 0..4 {
        send(&mut window, Command::Undo);
    }
    assert_eq!(design(&window), start());
}

#[test]
fn arms_are_given_by_radius_or_tilt() {
    let mut window = window();
    choose(&mut window, "Family", "arc and arm");
    assert!(design(&window).shape.radius_um.is_some());
    enter(&mut window, "Bend radius", "0.16 mm");
    assert_eq!(design(&window).shape.radius_um, Some(160.0));
    choose(&mut window, "Arms given by", "tilt");
    let shape = design(&window).shape;
    assert!(shape.radius_um.is_none() && shape.tilt_deg.is_some());
    assert_eq!(window.state().session().faults(), [], "the same shape by its other number");
}

#[test]
fn ends_have_what_they_need() {
    let mut window = window();
    choose(&mut window, "Ends", "midline");
    assert_eq!(design(&window).shape.ends, EndsName::Midline);
    click(&mut window, "End radius");
    assert!(design(&window).shape.end_radius_um.is_some());
    choose(&mut window, "Ends", "crest");
    assert_eq!(design(&window).shape.end_radius_um, None);
}

#[test]
fn an_optional_limit_is_switched() {
    let mut window = window();
    assert!(design(&window).limits.height_um.is_some());
    click(&mut window, "Use Height");
    assert_eq!(design(&window).limits.height_um, None);
    assert!(shows(&window, "not judged"));
    click(&mut window, "Height");
    assert!(design(&window).limits.height_um.is_some());
}

#[test]
fn layers_are_added_moved_renamed_and_removed() {
    let mut window = window();
    click(&mut window, "Layer 2: core");
    assert_eq!(window.state().session().selected_layer(), Some(1));
    enter(&mut window, "Thickness", "1400 nm");
    assert_eq!(design(&window).stack.layers[1].thickness_um, 1.4);
    click(&mut window, "Add above");
    assert_eq!(design(&window).stack.layers.len(), 4);
    assert_eq!(window.state().session().selected_layer(), Some(2), "the new layer is selected");
    click(&mut window, "Up");
    assert_eq!(window.state().session().selected_layer(), Some(3));
    assert_eq!(design(&window).stack.layers[2].name, "upper cladding");
    click(&mut window, "Remove");
    assert_eq!(design(&window).stack.layers.len(), 3);
    click(&mut window, "Layer 3: upper cladding");
    enter(&mut window, "Name", "lid");
    assert_eq!(design(&window).stack.layers[2].name, "lid");
    assert_eq!(design(&window).stack.layers[1].sides.as_deref(), Some("lid"), "what names it follows");
    assert_eq!(window.state().session().faults(), []);
}

#[test]
fn light_is_switched_off_and_comes_back_as_it_was() {
    let mut window = window();
    open_card(&mut window, "Light");
    let before = design(&window);
    click(&mut window, "The ribbon guides light");
    assert_eq!(design(&window).light, None);
    assert!(window.state().session().assessment().unwrap().light.is_none());
    click(&mut window, "The ribbon guides light");
    assert_eq!(design(&window).light, before.light);
}

#[test]
fn a_bonded_ribbon_brings_its_elastomer_and_undo_takes_it_away() {
    let mut window = window();
    open_card(&mut window, "Support");
    choose(&mut window, "Between islands", SupportName::Bonded.label());
    let support = design(&window).support;
    assert_eq!(support.kind, SupportName::Bonded);
    assert!(support.elastomer.is_some_and(|e| !e.embedded));
    assert_eq!(window.state().session().faults(), []);
    click(&mut window, "Embedded in the elastomer");
    assert!(design(&window).support.elastomer.is_some_and(|e| e.embedded));
    choose(&mut window, "Between islands", SupportName::FreeInPlane.label());
    assert_eq!(design(&window).support.elastomer, None);
    choose(&mut window, "Between islands", SupportName::Bonded.label());
    assert!(design(&window).support.elastomer.is_some_and(|e| e.embedded), "it comes back as it was");
    for _ in 0..4 {
        send(&mut window, Command::Undo);
    }
    assert_eq!(design(&window), start());
}

#[test]
fn room_and_curl_are_switched_on_with_a_value() {
    let mut window = window();
    open_card(&mut window, "Support");
    click(&mut window, "Room above");
    click(&mut window, "Curl radius");
    enter(&mut window, "Sideways offset", "20 um");
    let changed = design(&window);
    assert!(changed.limits.room_above_um.is_some() && changed.limits.room_below_um.is_none());
    assert!(changed.support.curl_radius_um.is_some());
    assert_eq!(changed.support.sideways_um, 20.0);
    assert_eq!(window.state().session().faults(), []);
}
