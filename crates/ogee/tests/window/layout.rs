//! Sizes, themes and samples.

use super::*;
use egui::accesskit::Role;
use ogee::session::{SAMPLES, SettingsChange, ThemeChoice};

fn sized(width: f32, height: f32) -> Window {
    let session = Session::new(start(), quiet());
    let mut window = Harness::builder()
        .with_size([width, height])
        .build_eframe(|cc| App::with_chooser(&cc.egui_ctx, session, Arc::new(NoDialog)));
    window.run_steps(4);
    window
}

/// The place of the first node with this label.
fn place(window: &Window, label: &str) -> egui::Rect {
    window.get_all_by_label(label).next().unwrap_or_else(|| panic!("no {label}")).rect()
}

#[test]
fn the_drawing_stays_the_largest_from_small_windows_to_large_screens() {
    for (width, height) in [(900.0, 560.0), (1280.0, 800.0), (1920.0, 1080.0), (3840.0, 2160.0)] {
        let window = sized(width, height);
        let (shape, margins) = (place(&window, "Shape"), place(&window, "Margins"));
        let between = margins.left() - shape.left();
        assert!(between > 0.6 * width, "{width} × {height}: {between} between the sides");
        assert!(margins.right() < width && shape.left() > 0.0, "{width} × {height}");
        let map = place(&window, "Amplitude × pitch");
        assert!(map.top() > 0.5 * height, "{width} × {height}: the plots begin at {}", map.top());
    }
}

#[test]
fn a_narrow_window_shows_one_plot_at_a_time() {
    let mut narrow = sized(900.0, 700.0);
    let tab = |window: &Window, label: &str| {
        window.get_all_by_label(label).any(|node| node.accesskit_node().role() == Role::Button)
    };
    assert!(tab(&narrow, "Along the ribbon"));
    assert!(!tab(&sized(1600.0, 1000.0), "Along the ribbon"));
    narrow.get_by_role_and_label(Role::Button, "Along the ribbon").click();
    narrow.run_steps(4);
    assert!(shows(&narrow, "curvature"));
}

#[test]
fn panels_can_be_put_away() {
    let mut window = window();
    for (change, word) in [
        (SettingsChange::InputsShown(false), "Shape"),
        (SettingsChange::MarginsShown(false), "Estimates do not replace tests"),
        (SettingsChange::PlotsShown(false), "Along the ribbon"),
    ] {
        assert!(shows(&window, word), "{word}");
        send(&mut window, Command::Settings(change));
        assert!(!shows(&window, word), "{word}");
    }
}

#[test]
fn every_sample_opens_in_both_themes() {
    for theme in [ThemeChoice::Light, ThemeChoice::Dark] {
        for (index, sample) in SAMPLES.iter().enumerate() {
            // So tall that no group of margins is scrolled out of reach.
            let mut window = sized(1600.0, 2400.0);
            send(&mut window, Command::Settings(SettingsChange::Theme(theme)));
            send(&mut window, Command::OpenSample(index));
            // What the full models say may move a line from one group to another.
            settle_all(&mut window);
            unfold(&mut window, &mut HashSet::new());
            let session = window.state().session();
            assert_eq!(session.faults(), [], "{}", sample.name);
            assert_eq!(session.trouble(), None, "{}", sample.name);
            assert!(!session.is_modified());
            let found = session.assessment().unwrap();
            let lines = found.margins.iter().filter(|margin| shows(&window, &margin.name)).count();
            assert_eq!(lines, found.margins.len(), "{}", sample.name);
        }
    }
}

#[test]
fn large_text_keeps_everything_inside() {
    let mut window = sized(1920.0, 1080.0);
    for _ in 0..5 {
        window.key_press_modifiers(egui::Modifiers::COMMAND, Key::Plus);
        window.run_steps(3);
    }
    assert_eq!(window.state().session().settings().text_percent, 150.0);
    let margins = place(&window, "Margins");
    assert!(margins.right() < 1920.0, "{margins:?}");
}
