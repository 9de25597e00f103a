//! The desktop's own file dialog, on a thread of its own and behind a trait, so that tests need none.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, channel};
use std::time::{Duration, Instant};

/// A dialog that ends without a file sooner than this never came up: nobody gives up as quickly.
const NEVER_CAME: Duration = Duration::from_millis(700);

/// What a file is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// A design to open.
    OpenDesign,
    /// A place to save a design.
    SaveDesign,
    /// A place for a table.
    SaveTable,
    /// A place for a drawing.
    SaveDrawing,
}

/// Asks the person for a file.
pub trait Chooser: Send + Sync {
    /// Blocks until a file is chosen; `None` when none was, or when the desktop has no dialog.
    fn choose(&self, kind: FileKind, suggestion: &Path) -> Option<PathBuf>;
}

/// The desktop's own dialog.
#[derive(Clone, Copy, Debug, Default)]
pub struct NativeChooser;

impl Chooser for NativeChooser {
    fn choose(&self, kind: FileKind, suggestion: &Path) -> Option<PathBuf> {
        let mut dialog = rfd::FileDialog::new();
        if let Some(folder) = suggestion.parent().filter(|folder| folder.is_dir()) {
            dialog = dialog.set_directory(folder);
        }
        let name = suggestion.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        match kind {
            FileKind::OpenDesign => {
                dialog.set_title("Open a design").add_filter("Ogee design", &["json"]).pick_file()
            }
            FileKind::SaveDesign => dialog
                .set_title("Save the design")
                .add_filter("Ogee design", &["json"])
                .set_file_name(name)
                .save_file(),
            FileKind::SaveTable => dialog
                .set_title("Write the table")
                .add_filter("Table", &["csv"])
                .set_file_name(name)
                .save_file(),
            FileKind::SaveDrawing => dialog
                .set_title("Write the drawing")
                .add_filter("Drawing", &["svg"])
                .set_file_name(name)
                .save_file(),
        }
    }
}

/// What became of a dialog.
pub(super) enum Chosen {
    Path(PathBuf),
    GivenUp,
    /// It seems that none came up.
    NoDialog,
}

/// A dialog that is up.
pub(super) struct Choosing {
    answer: Receiver<Option<PathBuf>>,
    begun: Instant,
}

impl Choosing {
    pub(super) fn begin(
        chooser: &Arc<dyn Chooser>,
        kind: FileKind,
        suggestion: PathBuf,
        ctx: &egui::Context,
    ) -> Self {
        let (sender, answer) = channel();
        let (chooser, ctx) = (Arc::clone(chooser), ctx.clone());
        let thread = std::thread::Builder::new().name("ogee-file-dialog".to_owned()).spawn(move || {
            // Nobody listens any more once the person has typed a path instead.
            let _ = sender.send(chooser.choose(kind, &suggestion));
            ctx.request_repaint();
        });
        if let Err(error) = thread {
            log::warn!("no thread for a file dialog: {error}");
        }
        Self { answer, begun: Instant::now() }
    }

    pub(super) fn poll(&mut self) -> Option<Chosen> {
        match self.answer.try_recv() {
            Ok(Some(path)) => Some(Chosen::Path(path)),
            Ok(None) if self.begun.elapsed() < NEVER_CAME => Some(Chosen::NoDialog),
            Ok(None) => Some(Chosen::GivenUp),
            Err(TryRecvError::Disconnected) => Some(Chosen::NoDialog),
            Err(TryRecvError::Empty) => None,
        }
    }
}
