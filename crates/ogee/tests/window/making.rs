//! Trace, wrap, making, life and islands: switched, filled in, at fault.

use super::inputs::choose;
use super::*;
use ogee_design::{FaceName, StepName};

/// The worked sample with every layer's expansion known.
fn known() -> Design {
    let mut design = start();
    for layer in &mut design.stack.layers {
        layer.cte_ppm_per_k = Some(60.0);
    }
    design
}

fn window_of_known() -> Window {
    window_of(Session::new(known(), quiet()))
}

#[test]
fn folded_cards_say_what_they_hold_and_what_is_wrong() {
    let mut window = window();
    let card = |window: &Window, title: &str| {
        let node = window.get_by_role_and_label(egui::accesskit::Role::Button, title);
        (node.accesskit_node().data().is_expanded(), node.accesskit_node().value())
    };
    assert_eq!(card(&window, "Life"), (Some(false), Some("not judged".to_owned())));
    assert!(!shows(&window, "It must last a number of cycles"));
    open_card(&mut window, "Life");
    assert_eq!(card(&window, "Life").0, Some(true));
    click(&mut window, "It must last a number of cycles");
    enter(&mut window, "Cycles of block 1", "0");
    open_card(&mut window, "Life");
    assert!(!window.state().session().faults().is_empty());
    let fault = window.state().session().faults()[0].message.clone();
    assert!(shows(&window, &fault), "a fault is seen through the fold: {fault}");
}

#[test]
fn the_duty_list_is_filled_in() {
    let mut window = window();
    open_card(&mut window, "Life");
    click(&mut window, "It must last a number of cycles");
    click(&mut window, "Add cycles");
    enter(&mut window, "From of block 2", "5 %");
    enter(&mut window, "Cycles of block 2", "2e6");
    let life = design(&window).life.expect("a life");
    assert_eq!((life.cycles[1].from_percent, life.cycles[1].count), (5.0, 2e6));
    click(&mut window, "Block 2 is wrapped");
    let session = window.state().session();
    assert!(session.fault_at("life.cycles[1].wrapped").is_some(), "there is no wrap yet");
    assert!(shows(&window, "a wrapped cycle needs"));
    click(&mut window, "It wraps round a cylinder");
    assert_eq!(window.state().session().faults(), []);
    click(&mut window, "Block 1, more");
    click(&mut window, "Remove these cycles");
    assert_eq!(design(&window).life.expect("a life").cycles.len(), 1);
    let before = design(&window);
    click(&mut window, "It must last a number of cycles");
    assert_eq!(design(&window).life, None);
    click(&mut window, "It must last a number of cycles");
    assert_eq!(design(&window), before, "it comes back as it was");
}

#[test]
fn a_wrap_goes_round_a_pencil() {
    let mut window = window();
    click(&mut window, "It wraps round a cylinder");
    click(&mut window, "a stem");
    choose(&mut window, "On the cylinder", "the top face");
    let wrap = design(&window).duty.wrap.expect("a wrap");
    assert_eq!((wrap.radius_um, wrap.face), (2000.0, FaceName::Top));
    click(&mut window, "a pencil");
    assert_eq!(design(&window).duty.wrap.expect("a wrap").radius_um, 3500.0);
    click(&mut window, "Length");
    assert!(design(&window).duty.wrap.expect("a wrap").length_um.is_some());
    assert_eq!(window.state().session().faults(), []);
}

#[test]
fn steps_of_making_are_added_moved_and_removed() {
    let mut window = window_of_known();
    open_card(&mut window, "Making");
    click(&mut window, "Judge what making leaves behind");
    assert_eq!(window.state().session().faults(), []);
    let steps = |window: &Window| design(window).process.expect("a process").steps;
    let count = steps(&window).len();
    enter(&mut window, "Temperature of step 2", "90 °C");
    enter(&mut window, "Stress of step 2", "-20");
    assert_eq!((steps(&window)[1].temperature_c, steps(&window)[1].intrinsic_stress_mpa), (90.0, -20.0));
    click(&mut window, "Step 1, more");
    click(&mut window, "Do it later");
    assert_eq!(steps(&window)[0].layer.as_deref(), Some("core"));
    send(&mut window, Command::Undo);
    click(&mut window, "Step 2, more");
    click(&mut window, "Remove this step");
    assert_eq!(steps(&window).len(), count - 1);
    assert!(window.state().session().fault_at("process.steps").is_some());
    assert!(shows(&window, "must be deposited or bonded"));
    click(&mut window, "Add a step");
    assert_eq!(steps(&window).len(), count);
    click(&mut window, "Plain process");
    assert_eq!(window.state().session().faults(), []);
    choose(&mut window, "Step 4", StepName::Hold.label());
}

#[test]
fn unknown_expansions_lead_to_their_layers() {
    let mut design = known();
    // Were its material known, its expansion would be taken from there.
    (design.stack.layers[1].cte_ppm_per_k, design.stack.layers[1].material_id) = (None, None);
    let mut window = window_of(Session::new(design, quiet()));
    open_card(&mut window, "Making");
    click(&mut window, "Judge what making leaves behind");
    assert!(!window.state().session().faults().is_empty());
    click(&mut window, "Show core");
    assert_eq!(window.state().session().selected_layer(), Some(1));
    click(&mut window, "Expansion");
    assert_eq!(window.state().session().faults(), []);
}

#[test]
fn a_trace_takes_its_limits_along() {
    let mut window = window();
    open_card(&mut window, "Trace");
    click(&mut window, "A layer carries current");
    assert_eq!(window.state().session().faults(), []);
    click(&mut window, "Voltage drop");
    assert!(design(&window).limits.voltage_drop_mv.is_some());
    click(&mut window, "A sheet below spreads the heat");
    let before = design(&window);
    assert!(before.trace.as_ref().is_some_and(|trace| trace.sheet_conductivity_w_per_m_k.is_some()));
    click(&mut window, "A layer carries current");
    assert_eq!(window.state().session().faults(), [], "no limit is left without its trace");
    click(&mut window, "A layer carries current");
    assert_eq!(design(&window), before);
}

#[test]
fn islands_bring_adhesive_and_grating() {
    let mut window = window();
    open_card(&mut window, "Islands");
    click(&mut window, "Stiff islands on a soft sheet");
    click(&mut window, "An adhesive between them");
    click(&mut window, "A grating on an island couples the light");
    enter(&mut window, "Allowed drift", "2 nm");
    let islands = design(&window).islands.expect("islands");
    assert!(islands.adhesive_thickness_um.is_some() && islands.adhesive_shear_modulus_mpa.is_some());
    assert_eq!(islands.grating.expect("a grating").drift_limit_nm, 2.0);
    assert_eq!(window.state().session().faults(), []);
    click(&mut window, "An adhesive between them");
    assert_eq!(window.state().session().faults(), []);
}

#[test]
fn a_layer_has_its_strength() {
    let mut window = window();
    click(&mut window, "Layer 2: core");
    open_card(&mut window, "Strength");
    click(&mut window, "Brittle: its strength scatters");
    click(&mut window, "Cracks grow slowly under stress");
    enter(&mut window, "Weibull modulus", "12");
    choose(&mut window, "Metal's cycles", "foil ductility");
    let layer = design(&window).stack.layers[1].clone();
    assert_eq!(layer.brittle.expect("brittle").weibull_modulus, 12.0);
    assert!(layer.brittle.expect("brittle").proof_stress_mpa.is_some());
    assert!(layer.foil.is_some() && layer.strain_life.is_none());
    assert_eq!(window.state().session().faults(), []);
}
