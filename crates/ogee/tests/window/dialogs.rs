//! What lies over the window.

use super::*;
use egui::Modifiers;

/// Frames until a dialog that has just opened has found its size and place.
const SETTLING: usize = 8;

#[test]
fn shortcuts_and_cautions_open_and_close() {
    let mut window = window();
    press(&mut window, Key::F1);
    assert!(shows(&window, "Take the last edit back") || shows(&window, "Undo"));
    assert!(shows(&window, "give up the drag"));
    window.run_steps(SETTLING);
    click(&mut window, "Close");
    assert!(!shows(&window, "give up the drag"));
    click(&mut window, "Help");
    click(&mut window, "About and cautions");
    assert!(shows(&window, "Licence: MIT or Apache 2.0"));
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Licence: MIT or Apache 2.0"));
}

#[test]
fn pins_are_compared_in_a_table() {
    let mut window = window();
    window.key_press_modifiers(Modifiers::COMMAND, Key::D);
    window.run_steps(3);
    assert_eq!(window.state().session().pins().len(), 1);
    send(&mut window, pitch(1100.0));
    window.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::D);
    window.run_steps(4);
    assert!(shows(&window, "Pins side by side"));
    assert!(shows(&window, "this design") && shows(&window, "pin A"));
    assert!(shows(&window, "Contour length, mm"));
    window.run_steps(SETTLING);
    click(&mut window, "Restore");
    assert_eq!(design(&window).shape.pitch_um, 1200.0);
}

#[test]
fn an_export_writes_the_drawing_and_the_table() {
    let folder = tempfile::tempdir().unwrap();
    let base = folder.path().join("guide.ogee.json");
    let mut session = Session::new(start(), quiet());
    session.apply(Command::SaveAs(base));
    let mut window = window_of(session);
    for (choice, ending) in [(None, "svg"), (Some("Centreline and edges as a table (CSV)"), "csv")] {
        window.key_press_modifiers(Modifiers::COMMAND, Key::E);
        window.run_steps(4);
        if let Some(choice) = choice {
            click(&mut window, choice);
        }
        let button = window
            .get_all_by_label("Export")
            .filter(|n| n.accesskit_node().role() == egui::accesskit::Role::Button)
            .max_by(|a, b| a.rect().top().total_cmp(&b.rect().top()))
            .unwrap();
        button.click();
        files::wait_for(&mut window, "Wrote");
        let written = std::fs::read(folder.path().join(format!("guide.{ending}"))).unwrap();
        assert!(written.len() > 1000, "{ending}");
        click(&mut window, "Dismiss");
    }
}

#[test]
fn text_size_and_theme_are_kept_as_settings() {
    let mut window = window();
    window.key_press_modifiers(Modifiers::COMMAND, Key::Plus);
    window.run_steps(4);
    assert_eq!(window.state().session().settings().text_percent, 110.0);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Num0);
    window.run_steps(4);
    assert_eq!(window.state().session().settings().text_percent, 100.0);
}
