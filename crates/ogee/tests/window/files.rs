//! Opening and saving.

use super::*;
use egui::Modifiers;

#[test]
fn save_and_open_through_the_path_field() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("thumb.ogee.json");
    let mut window = window();
    enter(&mut window, "Pitch", "1300");
    window.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::S);
    wait_for(&mut window, "No file dialog came up");
    write_path(&mut window, &path.display().to_string());
    press(&mut window, Key::Enter);
    assert!(!window.state().session().is_modified());
    assert!(path.exists());
    let mut other = super::window();
    other.key_press_modifiers(Modifiers::COMMAND, Key::O);
    wait_for(&mut other, "No file dialog came up");
    write_path(&mut other, &path.display().to_string());
    press(&mut other, Key::Enter);
    assert_eq!(design(&other), design(&window));
    assert_eq!(other.state().session().title(), "thumb.ogee.json");
}

#[test]
fn another_file_is_not_written_over_without_a_word() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("other.ogee.json");
    std::fs::write(&path, "mine").unwrap();
    let mut window = window();
    window.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::S);
    wait_for(&mut window, "No file dialog came up");
    write_path(&mut window, &path.display().to_string());
    press(&mut window, Key::Enter);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");
    assert!(shows(&window, "The file is there already"));
    window.run_steps(4);
    click(&mut window, "Replace it");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), design(&window).to_json());
}

#[test]
fn a_broken_file_tells_why_and_leaves_the_design() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("torn.ogee.json");
    std::fs::write(&path, "{ \"schema\": \"ogee-design\", \"version\": 1,").unwrap();
    let mut window = window();
    send(&mut window, Command::Open(path));
    assert!(shows(&window, "Not done"));
    assert!(shows(&window, "torn.ogee.json"));
    assert_eq!(design(&window), start());
    assert!(window.state().session().checked().is_some());
    click(&mut window, "Dismiss");
    assert!(!shows(&window, "Not done"));
}

#[test]
fn a_file_that_parses_but_is_no_possible_design_shows_its_faults() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wide.ogee.json");
    let mut wide = start();
    wide.shape.periods = 0;
    wide.shape.pitch_um = -1.0;
    std::fs::write(&path, wide.to_json()).unwrap();
    let mut window = window();
    send(&mut window, Command::Open(path));
    assert!(shows(&window, "faults in this design"));
    assert_eq!(design(&window).shape.periods, 0);
}

/// A file that the desktop drops on the window.
#[derive(Debug)]
struct Dropped(PathBuf);

impl egui::DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}

#[test]
fn a_dropped_file_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("dropped.ogee.json");
    let mut other = start();
    other.shape.pitch_um = 999.0;
    std::fs::write(&path, other.to_json()).unwrap();
    let mut window = window();
    window.input_mut().hovered_files.push(egui::HoveredFile::default());
    window.run_steps(2);
    window.input_mut().hovered_files.clear();
    window.input_mut().dropped_files.push(Arc::new(Dropped(path)));
    window.run_steps(4);
    assert_eq!(design(&window).shape.pitch_um, 999.0);
    assert_eq!(window.state().session().title(), "dropped.ogee.json");
}

#[test]
fn closing_asks_about_unsaved_work() {
    let mut window = window();
    enter(&mut window, "Pitch", "1300");
    send(&mut window, Command::Close);
    assert!(shows(&window, "Save the changes of"));
    click(&mut window, "Cancel");
    assert!(!window.state().session().is_closed());
    send(&mut window, Command::Close);
    click(&mut window, "Don't save");
    assert!(window.state().session().is_closed());
}

/// Steps until the window shows a text; a file dialog answers from a thread of its own.
pub(super) fn wait_for(window: &mut Window, part: &str) {
    for _ in 0..500 {
        window.run_steps(1);
        if shows(window, part) {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(2));
    }
    panic!("{part} does not come up");
}

pub(super) fn write_path(window: &mut Window, text: &str) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run_steps(2);
    window.event(egui::Event::Text(text.to_owned()));
    window.run_steps(2);
}
