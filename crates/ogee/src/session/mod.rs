//! The person's work: the document with its history, what is known about it, and what is being shown of it.
//!
//! Nothing here knows a window toolkit. A window (or a test) reads a [`Session`] and changes it only through
//! [`Session::apply`]; [`Session::poll`] takes in what the worker threads have found.
//!
//! ```
//! use ogee::session::{Command, Edit, Session, Settings};
//!
//! let mut session = Session::new(ogee_design::Design::sample(), Settings::default());
//! session.apply(Command::Commit(Edit::number("Change pitch", "shape.pitch_um", 1150.0)));
//! assert_eq!(session.design().shape.pitch_um, 1150.0);
//! session.apply(Command::Undo);
//! assert_eq!(*session.design().as_ref(), ogee_design::Design::sample());
//! ```

mod apply;
mod command;
mod evaluate;
mod files;
mod full;
mod history;
mod open_file;
mod pins;
mod play;
mod recovery;
mod samples;
mod settings;
mod view;
mod worker;

pub use command::{
    ACTIONS, Action, ActionText, Answer, Command, Edit, Environment, Pointed, PointedBy, Shortcut,
    ShortcutKey,
};
pub use files::{ENDING, FileError, read_design, save_text, with_ending, write_safely};
pub use full::FullState;
pub use history::{History, MOST_EDITS, Selection, Snapshot};
pub use open_file::OpenFile;
pub use pins::{MOST_PINS, Pin};
pub use play::ShownStretch;
pub use recovery::{Offer, OfferId, Recovery};
pub use samples::{SAMPLES, Sample};
pub use settings::{ColourMap, MOST_RECENT, Settings, SettingsChange, TEXT_PERCENT, ThemeChoice};
pub use view::View;
pub use worker::{Finished, Lane, Outcome, Run, Task, Wake, Worker};

use evaluate::Evaluation;
use ogee_design::{
    Assessment, Caches, Checked, Design, Fault, MapField, MapGrid, MapModel, MapWindow, RibbonPath,
};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// How serious a message is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MessageKind {
    /// Something was done.
    Info,
    /// Something could not be done.
    Trouble,
}

/// A sentence for the person, shown until it is dismissed or replaced.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// How serious it is.
    pub kind: MessageKind,
    /// The sentence, without a full stop.
    pub text: String,
}

impl Message {
    /// Something was done.
    pub fn info(text: impl Into<String>) -> Self {
        Self { kind: MessageKind::Info, text: text.into() }
    }

    /// Something could not be done.
    pub fn trouble(text: impl Into<String>) -> Self {
        Self { kind: MessageKind::Trouble, text: text.into() }
    }
}

/// A question that waits for an [`Answer`].
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// There are unsaved changes; `then` follows once they are saved or given up.
    Unsaved {
        /// What was asked for.
        then: Box<Command>,
    },
    /// The file changed on the disk since it was opened or saved.
    ChangedOnDisk {
        /// The file.
        path: PathBuf,
        /// Whether the question came up while saving.
        saving: bool,
    },
    /// An earlier run left copies behind.
    Recover(Vec<Offer>),
}

/// Something that only a window can do for the session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Request {
    /// Ask for a file to save to, then send [`Command::SaveAs`].
    ChooseSavePath,
}

struct Gesture {
    design: Arc<Design>,
    /// What was selected when it began.
    before: Selection,
}

/// The person's work. See the [module](self).
pub struct Session {
    history: History,
    gesture: Option<Gesture>,
    selection: Selection,
    file: OpenFile,
    evaluation: Evaluation,
    shown: ShownStretch,
    pointed: Option<Pointed>,
    pins: Vec<Pin>,
    settings: Settings,
    settings_path: Option<PathBuf>,
    recovery: Option<Recovery>,
    question: Option<Question>,
    /// What follows once the design is saved under a name that the person is choosing.
    after_saving: Option<Command>,
    messages: Vec<Message>,
    requests: Vec<Request>,
    closed: bool,
}

impl std::fmt::Debug for Session {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Session")
            .field("design", &self.design().name)
            .field("revision", &self.revision())
            .field("file", &self.file)
            .finish_non_exhaustive()
    }
}

impl Session {
    /// A session with `design` that belongs to no file yet. Reads and writes nothing on the disk until
    /// [`keep_settings_in`](Self::keep_settings_in) or [`keep_copies_in`](Self::keep_copies_in) is called.
    pub fn new(design: Design, settings: Settings) -> Self {
        let design = Arc::new(design);
        let mut session = Self {
            history: History::new(Arc::clone(&design)),
            gesture: None,
            selection: Selection::default(),
            file: OpenFile::unsaved(Arc::clone(&design)),
            evaluation: Evaluation::new(settings.map_field(), settings.map_model()),
            shown: ShownStretch::new(design.duty.target_stretch_percent / 100.0),
            pointed: None,
            pins: Vec::new(),
            settings,
            settings_path: None,
            recovery: None,
            question: None,
            after_saving: None,
            messages: Vec::new(),
            requests: Vec::new(),
            closed: false,
        };
        session.reassess();
        session
    }

    /// Calls `wake` from the worker threads whenever they have something to [`poll`](Self::poll).
    pub fn set_wake(&mut self, wake: impl Fn() + Send + Sync + 'static) {
        self.evaluation.set_wake(Arc::new(wake));
    }

    /// Writes the settings to `path` whenever they change.
    pub fn keep_settings_in(&mut self, path: PathBuf) {
        self.settings_path = Some(path);
    }

    /// Keeps a recovery copy of unsaved work in `folder`, and asks about copies that earlier runs left there.
    pub fn keep_copies_in(&mut self, folder: &Path) {
        let offers = Recovery::offers(folder);
        if !offers.is_empty() {
            self.question = Some(Question::Recover(offers));
        }
        match Recovery::begin(folder) {
            Ok(recovery) => self.recovery = Some(recovery),
            Err(error) => log::warn!("no recovery copies in {}: {error}", folder.display()),
        }
    }

    /// The document shown: the preview while a gesture goes on, else the committed one.
    pub fn design(&self) -> &Arc<Design> {
        self.gesture.as_ref().map_or_else(|| self.committed(), |gesture| &gesture.design)
    }

    /// The document without the gesture that may be going on.
    pub fn committed(&self) -> &Arc<Design> {
        &self.history.current().design
    }

    /// Whether a gesture goes on.
    pub fn in_gesture(&self) -> bool {
        self.gesture.is_some()
    }

    /// What the assessments have worked out once for many designs; panels take their bend tables from here.
    pub fn caches(&self) -> &Caches {
        self.evaluation.caches()
    }

    /// The last good state of the document; it stays while the present one is faulty.
    pub fn checked(&self) -> Option<&Arc<Checked>> {
        self.evaluation.checked()
    }

    /// What is wrong with the document shown; empty when it is good.
    pub fn faults(&self) -> &[Fault] {
        self.evaluation.faults()
    }

    /// Why there is no assessment of a document without faults: no equilibrium at the target stretch.
    pub fn trouble(&self) -> Option<&str> {
        self.evaluation.trouble()
    }

    /// The first fault of the field at `path`.
    pub fn fault_at(&self, path: &str) -> Option<&Fault> {
        self.faults().iter().find(|fault| fault.path == path)
    }

    /// What is known, of the newest revision that was assessed: by the full models as soon as they have come that
    /// far, else by the live ones. [`Assessment::tier`] tells which.
    pub fn assessment(&self) -> Option<&Arc<Assessment>> {
        self.evaluation.assessment()
    }

    /// What the live models know, of the newest revision that they have assessed.
    pub fn live_assessment(&self) -> Option<&Arc<Assessment>> {
        self.evaluation.live()
    }

    /// How far the full models are with the document shown.
    pub fn full_state(&self) -> FullState {
        self.evaluation.full_state()
    }

    /// How long the full models have been behind the document shown; zero when they are not.
    pub fn full_is_late_by(&self, now: Instant) -> Duration {
        self.evaluation.full_late_by(now)
    }

    /// The ribbon's forms along the stretch that the full models found last, and the revision they belong to,
    /// which may be an earlier one than is shown.
    pub fn path(&self) -> Option<(&Arc<RibbonPath>, u64)> {
        self.evaluation.full().map(|full| (&full.path, full.revision))
    }

    /// The forms along the stretch where they belong to [`checked`](Self::checked), which is what is drawn.
    pub fn path_of_checked(&self) -> Option<&Arc<RibbonPath>> {
        let checked = self.checked()?;
        let full = self.evaluation.full().filter(|full| Arc::ptr_eq(&full.checked, checked))?;
        Some(&full.path)
    }

    /// Whether [`assessment`](Self::assessment) belongs to an earlier revision than the one shown.
    pub fn assessment_is_stale(&self) -> bool {
        self.evaluation.is_stale()
    }

    /// How long the assessment has been behind; zero when it is not. An answer that is only some frames late
    /// need not be marked.
    pub fn stale_for(&self, now: Instant) -> Duration {
        self.evaluation.stale_for(now)
    }

    /// Counts the documents shown so far; changes with every edit, preview, undo and redo.
    pub fn revision(&self) -> u64 {
        self.evaluation.revision()
    }

    /// The stretch shown in the drawing, a ratio from island to island. It is part of the view, not undone.
    pub fn stretch(&self) -> f64 {
        self.shown.get()
    }

    /// Least and greatest stretch that can be shown: from slight compression to past the target.
    pub fn stretch_range(&self) -> (f64, f64) {
        let [low, high] = self.range();
        (low, high)
    }

    /// Whether the cycle from rest to target and back runs.
    pub fn playing(&self) -> bool {
        self.shown.playing()
    }

    /// The place that some panel points at.
    pub fn pointed(&self) -> Option<&Pointed> {
        self.pointed.as_ref()
    }

    /// Variants kept for comparison, at most [`MOST_PINS`].
    pub fn pins(&self) -> &[Pin] {
        &self.pins
    }

    /// The selected layer.
    pub fn selected_layer(&self) -> Option<usize> {
        self.selection.layer.filter(|&i| i < self.design().stack.layers.len())
    }

    /// The map, as far as it is calculated; it may belong to an earlier revision while a newer one is under way.
    pub fn map(&self) -> Option<&Arc<MapGrid>> {
        self.evaluation.map()
    }

    /// Share of the map that is calculated, 0 to 1; `None` when nothing is under way.
    pub fn map_progress(&self) -> Option<f32> {
        self.evaluation.map_progress()
    }

    /// Why there is no newer map, when its calculation broke down.
    pub fn map_trouble(&self) -> Option<&str> {
        self.evaluation.map_trouble()
    }

    /// The quantity that the map shows.
    pub fn map_field(&self) -> MapField {
        self.evaluation.map_field()
    }

    /// By which models the strain of the map is wanted; [`MapGrid::model`] tells by which it is.
    pub fn map_model(&self) -> MapModel {
        self.evaluation.map_model()
    }

    /// The window of the map: the design's own, else one around it that stays while it is dragged and while the
    /// design is faulty.
    pub fn map_window(&self) -> MapWindow {
        let good = self.checked().filter(|_| !self.faults().is_empty());
        self.evaluation.map_window(good.map_or_else(|| self.design(), |checked| checked.design()))
    }

    /// What the person prefers.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The file of the design and whether it is up to date.
    pub fn file(&self) -> &OpenFile {
        &self.file
    }

    /// Whether there are unsaved changes.
    pub fn is_modified(&self) -> bool {
        self.file.differs_from(self.committed())
    }

    /// The name of the design's file, else of the design.
    pub fn title(&self) -> String {
        self.file.name().unwrap_or_else(|| {
            let name = self.design().name.trim();
            if name.is_empty() { "untitled".to_owned() } else { name.to_owned() }
        })
    }

    /// What undo would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.history.undo_label()
    }

    /// What redo would bring back.
    pub fn redo_label(&self) -> Option<&str> {
        self.history.redo_label()
    }

    /// Number of edits that can be undone.
    pub fn undo_depth(&self) -> usize {
        self.history.depth()
    }

    /// Sentences for the person, the oldest first.
    pub fn messages(&self) -> &[Message] {
        &self.messages
    }

    /// The question that waits for an answer.
    pub fn question(&self) -> Option<&Question> {
        self.question.as_ref()
    }

    /// Takes what only a window can do.
    pub fn take_requests(&mut self) -> Vec<Request> {
        std::mem::take(&mut self.requests)
    }

    /// Whether the session has ended; the window may close.
    pub fn is_closed(&self) -> bool {
        self.closed
    }

    /// What the availability of actions depends on.
    pub fn environment(&self) -> Environment {
        Environment {
            modified: self.is_modified(),
            has_file: self.file.path().is_some(),
            good: self.faults().is_empty() && self.checked().is_some(),
            can_undo: self.undo_label().is_some() || self.in_gesture(),
            can_redo: self.redo_label().is_some(),
            pins: self.pins.len(),
            free_pins: MOST_PINS - self.pins.len(),
        }
    }

    /// How long nothing needs to be polled; zero while the stretch plays.
    pub fn idle_for(&self, now: Instant) -> Option<Duration> {
        if self.playing() {
            return Some(Duration::ZERO);
        }
        let due = self.recovery.as_ref()?.due()?;
        Some(due.saturating_duration_since(now))
    }

    /// The nearest numbers to `values` that make a possible design, with the fault that holds them back.
    ///
    /// Faults of other fields than those given are left alone; values without a nearest possible one stay.
    pub fn held(&self, values: &[(String, f64)]) -> (Vec<(String, f64)>, Option<Fault>) {
        let mut values = values.to_vec();
        let mut held = None;
        // Each round mends the faults that the last one uncovered; the fields of one gesture are few.
        for _ in 0..4 {
            let edit = Edit::Numbers { label: String::new(), values: values.clone() };
            let Err(faults) = edit.applied_to(self.committed()).check() else { break };
            let mended = faults.iter().find_map(|fault| {
                let nearest = fault.nearest?;
                let index =
                    values.iter().position(|(path, value)| *path == fault.path && *value != nearest)?;
                Some((index, nearest, fault.clone()))
            });
            let Some((index, nearest, fault)) = mended else { break };
            values[index].1 = nearest;
            held = Some(fault);
        }
        (values, held)
    }
}

#[cfg(test)]
mod tests;
