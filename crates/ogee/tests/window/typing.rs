//! Numbers with units.

use super::*;
use egui::Modifiers;

#[test]
fn numbers_take_units() {
    let mut window = window();
    enter(&mut window, "Pitch", "1.3 mm");
    assert_eq!(design(&window).shape.pitch_um, 1300.0);
    enter(&mut window, "Amplitude", "410000 nm");
    assert_eq!(design(&window).shape.amplitude_um, 410.0);
    enter(&mut window, "Target stretch", "0,3 %");
    assert_eq!(design(&window).duty.target_stretch_percent, 0.3);
    assert_eq!(window.state().session().undo_depth(), 3);
}

#[test]
fn a_wrong_text_stays_with_its_reason_and_costs_nothing() {
    let mut window = window();
    enter(&mut window, "Pitch", "45°");
    assert_eq!(design(&window), start());
    assert_eq!(window.state().session().undo_depth(), 0);
    assert!(shows(&window, "is an angle, but this field is a length"));
    assert_eq!(field(&window, "Pitch").value().as_deref(), Some("45°"));
    click(&mut window, "Take it back");
    assert_eq!(field(&window, "Pitch").value().as_deref(), Some("1200"));
    assert!(!shows(&window, "is an angle"));
}

#[test]
fn a_wrong_text_goes_when_the_value_changes_by_other_means() {
    let mut window = window();
    enter(&mut window, "Pitch", "wide");
    assert!(shows(&window, "does not begin with a number"));
    send(&mut window, pitch(1100.0));
    assert!(!shows(&window, "does not begin with a number"));
    assert_eq!(field(&window, "Pitch").value().as_deref(), Some("1100"));
}

#[test]
fn escape_gives_up_what_was_typed() {
    let mut window = window();
    write(&mut window, "Pitch", "777");
    assert_eq!(field(&window, "Pitch").value().as_deref(), Some("777"));
    press(&mut window, Key::Escape);
    assert_eq!(design(&window), start());
    assert_eq!(field(&window, "Pitch").value().as_deref(), Some("1200"));
}

#[test]
fn leaving_a_field_takes_what_was_typed() {
    let mut window = window();
    write(&mut window, "Pitch", "1250");
    field(&window, "Amplitude").focus();
    window.run_steps(4);
    assert_eq!(design(&window).shape.pitch_um, 1250.0);
}

#[test]
fn looking_at_a_number_never_rounds_it() {
    let mut design = start();
    design.shape.pitch_um = 1_234.567_891_234_5;
    let mut window = window_of(Session::new(design.clone(), quiet()));
    assert_eq!(field(&window, "Pitch").value().as_deref(), Some("1234.57"));
    field(&window, "Pitch").focus();
    window.run_steps(2);
    assert_eq!(field(&window, "Pitch").value().as_deref(), Some("1234.5678912345"));
    press(&mut window, Key::Enter);
    field(&window, "Pitch").focus();
    window.run_steps(2);
    field(&window, "Amplitude").focus();
    window.run_steps(4);
    assert_eq!(super::design(&window), design);
    assert_eq!(window.state().session().undo_depth(), 0);
}

#[test]
fn arrow_keys_step_and_are_one_entry() {
    let mut window = window();
    field(&window, "Pitch").focus();
    window.run_steps(2);
    press(&mut window, Key::ArrowUp);
    press(&mut window, Key::ArrowUp);
    assert_eq!(design(&window).shape.pitch_um, 1400.0);
    assert!(window.state().session().in_gesture());
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowDown);
    window.run_steps(3);
    assert_eq!(design(&window).shape.pitch_um, 400.0);
    press(&mut window, Key::Enter);
    assert_eq!(window.state().session().undo_depth(), 1);
    assert!(!window.state().session().in_gesture());
    field(&window, "Pitch").focus();
    window.run_steps(2);
    press(&mut window, Key::ArrowUp);
    press(&mut window, Key::Escape);
    assert_eq!(design(&window).shape.pitch_um, 400.0);
    assert_eq!(window.state().session().undo_depth(), 1);
}

#[test]
fn an_impossible_number_explains_itself_and_offers_the_nearest() {
    let mut window = window();
    enter(&mut window, "Periods", "0");
    assert_eq!(design(&window).shape.periods, 0, "it is kept");
    assert!(shows(&window, "1 fault in this design"));
    let session = window.state().session();
    assert_eq!(session.checked().unwrap().design().shape.periods, 6, "the last good picture stays");
    let offer = window.get_all_by_label("Use 1").next().expect("the nearest value is offered");
    offer.click();
    window.run_steps(4);
    assert_eq!(design(&window).shape.periods, 1);
    assert_eq!(window.state().session().faults(), []);
}

#[test]
fn everything_can_be_undone_to_the_start_and_redone() {
    let mut window = window();
    enter(&mut window, "Pitch", "1300");
    enter(&mut window, "Amplitude", "420");
    enter(&mut window, "Width", "20");
    open_card(&mut window, "Design");
    enter(&mut window, "Name", "thumb guide");
    let end = design(&window);
    assert_eq!(end.name, "thumb guide");
    for _ in 0..4 {
        window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
        window.run_steps(3);
    }
    assert_eq!(design(&window), start());
    for _ in 0..2 {
        window.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
        window.run_steps(3);
        window.key_press_modifiers(Modifiers::COMMAND, Key::Y);
        window.run_steps(3);
    }
    assert_eq!(design(&window), end);
}

#[test]
fn the_text_field_keeps_its_own_undo() {
    let mut window = window();
    enter(&mut window, "Pitch", "1300");
    field(&window, "Amplitude").focus();
    window.run_steps(2);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(3);
    assert_eq!(design(&window).shape.pitch_um, 1300.0, "the design is not undone while one types");
}
