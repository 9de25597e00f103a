//! A field for the path of a file, for desktops without a file dialog and for those who would rather type.

use super::chooser::FileKind;
use super::{Next, title};
use crate::session::{Command, ENDING, Session, with_ending};
use crate::window::theme::Theme;
use egui::{Key, RichText, TextEdit, Ui};
use std::path::{Path, PathBuf};

#[derive(Debug)]
pub(super) struct PathDialog {
    kind: FileKind,
    text: String,
    /// No dialog of the desktop came up.
    typed: bool,
    /// The design's own file.
    own: Option<PathBuf>,
    focused: bool,
}

impl PathDialog {
    pub(super) fn new(kind: FileKind, session: &Session) -> Self {
        let path = session.file().path();
        let text = match kind {
            FileKind::OpenDesign => {
                let folder = path.and_then(Path::parent).map(PathBuf::from);
                folder.or_else(|| std::env::current_dir().ok()).map(|f| format!("{}/", f.display()))
            }
            _ => path.map(|p| p.display().to_string()).or_else(|| {
                let folder = std::env::current_dir().ok()?;
                let name: String =
                    session.title().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
                Some(folder.join(format!("{name}{ENDING}")).display().to_string())
            }),
        };
        Self {
            kind,
            text: text.unwrap_or_default(),
            typed: false,
            own: path.map(PathBuf::from),
            focused: false,
        }
    }

    pub(super) fn suggestion(&self) -> PathBuf {
        PathBuf::from(self.text.trim())
    }

    /// Whether another file than the design's own would be written over.
    fn would_replace(&self, path: &Path) -> bool {
        let target = with_ending(path);
        self.kind == FileKind::SaveDesign && target.exists() && self.own.as_ref() != Some(&target)
    }

    pub(super) fn type_instead(&mut self) {
        self.typed = true;
    }

    pub(super) fn command(&self, path: PathBuf) -> Command {
        if self.kind == FileKind::OpenDesign { Command::Open(path) } else { Command::SaveAs(path) }
    }

    pub(super) fn ui(&mut self, ui: &mut Ui, theme: &Theme, out: &mut Vec<Command>) -> Next {
        let opening = self.kind == FileKind::OpenDesign;
        title(ui, if opening { "Open a design" } else { "Save the design" });
        let words = if self.typed {
            "No file dialog came up on this desktop. Type the path of the file"
        } else {
            "Choose the file in the dialog of the desktop, or type its path here"
        };
        let label = ui.label(RichText::new(words).color(theme.muted));
        let response = ui
            .add(TextEdit::singleline(&mut self.text).desired_width(f32::INFINITY).hint_text(ENDING))
            .labelled_by(label.id);
        if !self.focused {
            response.request_focus();
            self.focused = true;
        }
        if self.would_replace(&self.suggestion()) {
            ui.label(RichText::new("The file is there already").small().color(theme.warn));
        }
        let entered = response.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        let mut next = Next::Stay;
        ui.horizontal(|ui| {
            let path = self.suggestion();
            let text = match (opening, self.would_replace(&path)) {
                (true, _) => "Open",
                (false, true) => "Replace it",
                (false, false) => "Save",
            };
            let ready = !path.as_os_str().is_empty() && !path.is_dir();
            let clicked = ui.add_enabled(ready, egui::Button::new(text)).clicked();
            // What is there already is replaced by the button that says so, not by the Enter key.
            if ready && (clicked || entered && !self.would_replace(&path)) {
                out.push(self.command(path));
                next = Next::Close;
            }
            if ui.button("Browse…").clicked() {
                next = Next::Browse(self.kind);
            }
            if ui.button("Cancel").clicked() {
                next = Next::Close;
            }
        });
        next
    }
}
