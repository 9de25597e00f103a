//! The window, driven without a display: by label, with the state checked first.

mod dialogs;
mod every_field;
mod figures;
mod files;
mod inputs;
mod layout;
mod making;
mod margins;
mod materials;
mod section;
mod typing;

use egui::Key;
use egui_kittest::Harness;
use egui_kittest::Node;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use ogee::session::{Command, Edit, FullState, Session, Settings};
use ogee::window::{App, Chooser, FileKind};
use ogee_design::Design;
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A desktop without a file dialog.
struct NoDialog;

impl Chooser for NoDialog {
    fn choose(&self, _kind: FileKind, _suggestion: &Path) -> Option<PathBuf> {
        None
    }
}

type Window = Harness<'static, App>;

fn quiet() -> Settings {
    Settings { hints_shown: false, ..Settings::default() }
}

fn window_of(session: Session) -> Window {
    let mut window = Harness::builder()
        .with_size([1280.0, 1400.0])
        .build_eframe(|cc| App::with_chooser(&cc.egui_ctx, session, Arc::new(NoDialog)));
    window.run_steps(3);
    window
}

/// The worked sample with numbers that the tests may rely on.
fn start() -> Design {
    let mut design = Design::sample();
    (design.shape.pitch_um, design.shape.amplitude_um, design.shape.periods) = (1200.0, 400.0, 6);
    design.duty.wrap = None;
    (design.process, design.islands, design.life) = (None, None, None);
    design
}

fn window() -> Window {
    window_of(Session::new(start(), quiet()))
}

/// Some frames, and as many more as it takes until the numbers are those of the design: a busy machine may leave
/// them to another thread.
fn settle(window: &mut Window, frames: usize) {
    window.run_steps(frames);
    for _ in 0..5000 {
        let session = window.state().session();
        if !session.assessment_is_stale() || !session.faults().is_empty() || session.trouble().is_some() {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
        window.run_steps(1);
    }
    panic!("no assessment comes");
}

/// As many frames as it takes until the full models have answered.
fn settle_all(window: &mut Window) {
    settle(window, 1);
    for _ in 0..20_000 {
        if window.state().session().full_state() != FullState::Computing {
            return window.run_steps(2);
        }
        std::thread::sleep(std::time::Duration::from_millis(1));
        window.run_steps(1);
    }
    panic!("the full models give no answer");
}

fn send(window: &mut Window, command: Command) {
    window.state_mut().send(command);
    settle(window, 3);
}

fn design(window: &Window) -> Design {
    Design::clone(window.state().session().design())
}

/// The field with this label; where there are several, the first from the top.
fn field<'w>(window: &'w Window, label: &'w str) -> Node<'w> {
    window
        .get_all_by_label(label)
        .filter(|node| node.accesskit_node().role() == egui::accesskit::Role::TextInput)
        .min_by(|a, b| a.rect().top().total_cmp(&b.rect().top()))
        .unwrap_or_else(|| panic!("no field {label}"))
}

/// Puts the focus into a field and replaces its text.
fn write(window: &mut Window, label: &str, text: &str) {
    field(window, label).focus();
    window.run_steps(2);
    field(window, label).type_text(text);
    window.run_steps(2);
}

fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    settle(window, 3);
}

fn enter(window: &mut Window, label: &str, text: &str) {
    write(window, label, text);
    press(window, Key::Enter);
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    settle(window, 4);
}

/// Unfolds a card of the inputs, or a part of one.
fn open_card(window: &mut Window, title: &str) {
    window.get_by_role_and_label(egui::accesskit::Role::Button, title).click();
    settle(window, 4);
}

fn shows(window: &Window, part: &str) -> bool {
    window.query_all_by_label_contains(part).next().is_some()
}

fn pitch(value: f64) -> Command {
    Command::Commit(Edit::number("Change pitch", "shape.pitch_um", value))
}

/// Opens the groups of margins that were not opened before; `opened` keeps their names.
fn unfold(window: &mut Window, opened: &mut HashSet<String>) {
    // Opening one changes what the others say, and numbers change while calculations finish: one at a time.
    loop {
        let folded = window.query_all_by_label_contains(" more").find(|node| {
            let label = node.accesskit_node().label().unwrap_or_default();
            label.split_once(": ").is_some_and(|(family, _)| !opened.contains(family))
        });
        let Some(group) = folded else { return };
        let label = group.accesskit_node().label().unwrap_or_default();
        opened.insert(label.split(':').next().unwrap_or_default().to_owned());
        group.click();
        window.run_steps(2);
    }
}
