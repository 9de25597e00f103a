//! What is asked and told over the window: files, unsaved work, exports, shortcuts, cautions.

mod about;
mod chooser;
mod export;
mod path;
mod question;

pub use chooser::{Chooser, FileKind, NativeChooser};

use super::comparison::ComparisonPanel;
use super::theme::Theme;
use crate::session::{Action, Command, Session};
use chooser::Choosing;
use egui::{Id, Modal, RichText, Ui};
use export::ExportDialog;
use path::PathDialog;
use std::sync::Arc;

/// The dialog that is open.
#[derive(Debug)]
enum Dialog {
    Path(PathDialog),
    Export(ExportDialog),
    Comparison(ComparisonPanel),
    Shortcuts,
    About,
}

/// All dialogs; at most one is open, and a question of the session comes before it.
pub(super) struct Dialogs {
    open: Option<Dialog>,
    chooser: Arc<dyn Chooser>,
    choosing: Option<Choosing>,
}

impl std::fmt::Debug for Dialogs {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Dialogs").field("open", &self.open).finish_non_exhaustive()
    }
}

/// What became of a dialog in this frame.
enum Next {
    Stay,
    Close,
    /// Lets the desktop's own file dialog come up.
    Browse(FileKind),
}

impl Dialogs {
    pub(super) fn new(chooser: Arc<dyn Chooser>) -> Self {
        Self { open: None, chooser, choosing: None }
    }

    /// Whether something lies over the window.
    pub(super) fn is_open(&self, session: &Session) -> bool {
        self.open.is_some() || session.question().is_some()
    }

    /// Opens the dialog of an action, if it has one.
    pub(super) fn begin(&mut self, action: Action, ctx: &egui::Context, session: &Session) {
        match action {
            Action::Open => self.ask_for_path(FileKind::OpenDesign, ctx, session),
            Action::SaveAs => self.ask_for_path(FileKind::SaveDesign, ctx, session),
            Action::Export => self.open = Some(Dialog::Export(ExportDialog::new(session))),
            Action::Compare => self.open = Some(Dialog::Comparison(ComparisonPanel::default())),
            Action::Shortcuts => self.open = Some(Dialog::Shortcuts),
            Action::About => self.open = Some(Dialog::About),
            _ => {}
        }
    }

    /// Asks for a file: by the desktop's own dialog and, where there is none, by a field for its path.
    pub(super) fn ask_for_path(&mut self, kind: FileKind, ctx: &egui::Context, session: &Session) {
        let dialog = PathDialog::new(kind, session);
        self.choosing = Some(Choosing::begin(&self.chooser, kind, dialog.suggestion(), ctx));
        self.open = Some(Dialog::Path(dialog));
    }

    /// Shows what is open.
    pub(super) fn ui(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) -> bool {
        let mut gave_up = false;
        if let Some(chosen) = self.choosing.as_mut().and_then(Choosing::poll) {
            self.choosing = None;
            match (&mut self.open, chosen) {
                (Some(Dialog::Path(dialog)), chooser::Chosen::Path(path)) => {
                    out.push(dialog.command(path));
                    self.open = None;
                }
                (Some(Dialog::Path(_)), chooser::Chosen::GivenUp) => {
                    self.open = None;
                    gave_up = true;
                }
                (Some(Dialog::Path(dialog)), chooser::Chosen::NoDialog) => dialog.type_instead(),
                (Some(Dialog::Export(dialog)), chooser::Chosen::Path(path)) => dialog.set_path(&path),
                _ => {}
            }
        }
        if session.question().is_some() {
            question::ui(ui, session, theme, out);
            return gave_up;
        }
        let Some(dialog) = &mut self.open else { return gave_up };
        let width = match dialog {
            Dialog::Comparison(_) => 640.0,
            Dialog::Path(_) | Dialog::Export(_) | Dialog::Shortcuts | Dialog::About => 440.0,
        };
        let mut next = Next::Stay;
        let modal = Modal::new(Id::unique("dialog")).frame(frame(theme)).show(ui, |ui| {
            ui.set_width(width);
            ui.spacing_mut().item_spacing.y = 7.0;
            next = match dialog {
                Dialog::Path(dialog) => dialog.ui(ui, theme, out),
                Dialog::Export(dialog) => dialog.ui(ui, session, theme, out),
                Dialog::Comparison(panel) => {
                    title(ui, "Pins side by side");
                    panel.ui(ui, session, theme, out);
                    close_row(ui)
                }
                Dialog::Shortcuts => about::shortcuts(ui, theme),
                Dialog::About => about::about(ui, theme),
            };
        });
        if modal.should_close() {
            next = Next::Close;
        }
        match next {
            Next::Stay => {}
            Next::Close => {
                gave_up |= matches!(self.open, Some(Dialog::Path(_)));
                self.open = None;
                self.choosing = None;
            }
            Next::Browse(kind) => {
                let suggestion = match &self.open {
                    Some(Dialog::Path(dialog)) => dialog.suggestion(),
                    Some(Dialog::Export(dialog)) => dialog.suggestion(),
                    _ => std::path::PathBuf::new(),
                };
                self.choosing = Some(Choosing::begin(&self.chooser, kind, suggestion, ui));
            }
        }
        gave_up
    }
}

/// The sheet that a dialog stands on.
fn frame(theme: &Theme) -> egui::Frame {
    theme.card().inner_margin(egui::Margin::same(18)).corner_radius(8)
}

fn title(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).font(Theme::bold(15.0)));
}

fn close_row(ui: &mut Ui) -> Next {
    ui.add_space(4.0);
    if ui.button("Close").clicked() { Next::Close } else { Next::Stay }
}
