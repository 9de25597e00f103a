//! The cross-section: tops of layers dragged, stepped and typed.

use super::*;
use egui::{Pos2, vec2};

fn boundary<'w>(window: &'w Window, layer: &'w str) -> Node<'w> {
    window.get_by_role_and_label(egui::accesskit::Role::Slider, layer)
}

fn thickness(window: &Window, index: usize) -> f64 {
    design(window).stack.layers[index].thickness_um
}

/// Presses on the top of a layer and pulls it by `points` upwards, without letting go.
fn pull(window: &mut Window, layer: &str, points: f32) -> Pos2 {
    let from = boundary(window, layer).rect().center();
    window.hover_at(from);
    window.drag_at(from);
    window.run_steps(1);
    for share in [0.3, 0.7, 1.0] {
        window.hover_at(from - vec2(0.0, share * points));
        window.run_steps(2);
    }
    from - vec2(0.0, points)
}

#[test]
fn a_dragged_top_changes_its_layer_in_the_same_frame_and_is_one_edit() {
    let mut window = window();
    let (before, depth) = (design(&window), window.state().session().undo_depth());
    let end = pull(&mut window, "Thickness of upper cladding", 20.0);
    let session = window.state().session();
    assert!(session.in_gesture());
    let shown = session.design().stack.layers[2].thickness_um;
    assert!(shown > before.stack.layers[2].thickness_um, "{shown}");
    // The top follows the pointer.
    let top = boundary(&window, "Thickness of upper cladding").rect().center();
    assert!((top.y - end.y).abs() < 3.0, "{top} under {end}");
    let plane = |found: &ogee_design::Assessment| found.section.neutral_plane_um;
    assert!(!session.assessment_is_stale());
    let held = plane(session.assessment().expect("an assessment"));
    window.drop_at(end);
    settle(&mut window, 3);
    assert_eq!(thickness(&window, 2), shown);
    assert_eq!(window.state().session().undo_depth(), depth + 1);
    assert!((plane(window.state().session().assessment().expect("an assessment")) - held).abs() < 1e-9);
    send(&mut window, Command::Undo);
    assert_eq!(design(&window), before);
}

#[test]
fn escape_gives_the_drag_up() {
    let mut window = window();
    let before = design(&window);
    let end = pull(&mut window, "Thickness of lower cladding", -15.0);
    assert_ne!(design(&window), before);
    press(&mut window, Key::Escape);
    assert_eq!(design(&window), before);
    window.drop_at(end);
    settle(&mut window, 3);
    assert_eq!(design(&window), before);
    assert_eq!(window.state().session().undo_depth(), 0);
}

#[test]
fn a_thin_layer_answers_by_a_factor() {
    let mut design = start();
    design.stack.layers[1].thickness_um = 0.01;
    let mut window = window_of(Session::new(design, quiet()));
    let end = pull(&mut window, "Thickness of core", 28.0);
    window.drop_at(end);
    settle(&mut window, 3);
    let doubled = thickness(&window, 1);
    assert!((doubled / 0.01 - 2.0).abs() < 0.1, "{doubled}");
}

#[test]
fn a_press_without_a_pull_selects_the_layer() {
    let mut window = window();
    let before = design(&window);
    let at = boundary(&window, "Thickness of core").rect().center();
    window.hover_at(at);
    window.drag_at(at);
    window.run_steps(2);
    window.drop_at(at);
    settle(&mut window, 3);
    assert_eq!(window.state().session().selected_layer(), Some(1));
    assert_eq!(design(&window), before);
}

#[test]
fn the_selected_layer_is_stepped_and_typed_from_the_keyboard() {
    let mut window = window();
    click(&mut window, "Layer 3: upper cladding");
    let before = thickness(&window, 2);
    press(&mut window, Key::ArrowUp);
    let stepped = thickness(&window, 2);
    assert!(stepped > before, "{stepped} from {before}");
    press(&mut window, Key::ArrowDown);
    assert_eq!(thickness(&window, 2), before);
    window.event(egui::Event::Text("7".to_owned()));
    window.run_steps(3);
    window.get_by_label("typed thickness").type_text(".4 um");
    window.run_steps(2);
    press(&mut window, Key::Enter);
    assert_eq!(thickness(&window, 2), 7.4);
    press(&mut window, Key::ArrowUp);
    assert_eq!(thickness(&window, 2), 7.5, "the arrow keys go on from there");
}

#[test]
fn the_wrap_is_told_under_the_drawing_once_it_is_asked_for() {
    let mut window = window();
    assert!(!shows(&window, "set by"));
    click(&mut window, "It wraps round a cylinder");
    settle_all(&mut window);
    let found = window.state().session().assessment().cloned().expect("an assessment");
    assert!(found.wrap.is_some() && shows(&window, "Round 3.5 mm"));
    assert!(shows(&window, "set by"));
}

#[test]
fn a_layer_near_balance_is_caught_and_can_be_balanced_with_a_click() {
    let mut design = start();
    design.stack.layers[2].thickness_um = 4.2;
    design.duty.wrap = Some(ogee_design::WrapDuty::default());
    let mut window = window_of(Session::new(design, quiet()));
    let balanced = |window: &Window| {
        let found = window.state().session().assessment().cloned().expect("an assessment");
        let balance = &found.wrap.as_ref().expect("a wrap").balance;
        balance.iter().find(|balance| balance.index == 2).expect("the top layer balances").balanced_um
    };
    let wanted = balanced(&window);
    // Two points short of the balance.
    let per_point = {
        let end = pull(&mut window, "Thickness of upper cladding", 10.0);
        let pulled = thickness(&window, 2);
        press(&mut window, Key::Escape);
        window.drop_at(end);
        settle(&mut window, 3);
        (pulled - 4.2) / 10.0
    };
    let points = (wanted - 4.2) / per_point - 2.0;
    let end = pull(&mut window, "Thickness of upper cladding", points as f32);
    window.drop_at(end);
    settle(&mut window, 3);
    assert!((thickness(&window, 2) / wanted - 1.0).abs() < 1e-3, "{} is {wanted}", thickness(&window, 2));
    assert!(shows(&window, "Balanced: the neutral plane runs through core"));
    send(&mut window, Command::Undo);
    click(&mut window, "Balanced with upper cladding at 6 µm");
    assert!((thickness(&window, 2) / wanted - 1.0).abs() < 1e-3);
}

#[test]
fn a_neutral_plane_outside_the_ribbon_is_told() {
    let mut design = start();
    design.support.kind = ogee_design::SupportName::Bonded;
    let elastomer = ogee_design::Elastomer { modulus_mpa: 400.0, ..ogee_design::Elastomer::default() };
    design.support.elastomer = Some(elastomer);
    design.duty.wrap = Some(ogee_design::WrapDuty::default());
    let window = window_of(Session::new(design, quiet()));
    let found = window.state().session().assessment().expect("an assessment");
    assert!(found.wrap.as_ref().expect("a wrap").neutral_plane_um < 0.0);
    assert!(shows(&window, "below the bottom face, outside the ribbon"));
}
