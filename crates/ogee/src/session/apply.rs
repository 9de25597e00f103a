//! How commands change a session.

use super::command::{Answer, Command, Edit};
use super::files::{read_design, with_ending};
use super::history::{History, Selection};
use super::open_file::OpenFile;
use super::pins::{Pin, free_name};
use super::play::ShownStretch;
use super::recovery::{OfferId, Recovery};
use super::samples::SAMPLES;
use super::settings::SettingsChange;
use super::{Gesture, Message, MessageKind, Question, Request, Session};
use ogee_design::{Design, MapModel};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Most messages that are kept on show.
const MOST_MESSAGES: usize = 3;

impl Session {
    /// Changes the session. This is the only way in.
    pub fn apply(&mut self, command: Command) {
        match command {
            Command::Preview(edit) => self.preview(&edit),
            Command::Commit(edit) => self.commit(&edit),
            Command::Cancel => self.cancel(),
            Command::Undo => self.travel(History::undo),
            Command::Redo => self.travel(History::redo),
            Command::SetStretch(stretch) => self.shown.set(stretch, self.range()),
            Command::Play(on) => self.shown.play(on, Instant::now(), self.target()),
            Command::Point(place) => self.pointed = place,
            Command::SelectLayer(layer) => self.selection.layer = layer,
            Command::Pin => self.pin(),
            Command::Unpin(index) => {
                if index < self.pins.len() {
                    self.pins.remove(index);
                }
            }
            Command::RestorePin(index) => self.restore_pin(index),
            Command::SetMapField(field) => {
                self.evaluation.set_map_field(field);
                self.settings.set_map_field(field);
                self.store_settings();
            }
            Command::SetMapModel(model) => {
                self.evaluation.set_map_model(model);
                self.settings.map_by_full_models = model == MapModel::Full;
                self.store_settings();
            }
            Command::StopMap => self.evaluation.stop_map(),
            Command::New | Command::OpenSample(_) | Command::Open(_) | Command::Close if self.must_ask() => {
                self.question = Some(Question::Unsaved { then: Box::new(command) });
            }
            Command::New => {
                let mut design = Design::sample();
                "untitled".clone_into(&mut design.name);
                self.replace(OpenFile::unsaved(Arc::new(design.clone())), design);
            }
            Command::OpenSample(index) => {
                if let Some(sample) = SAMPLES.get(index) {
                    let design = sample.design();
                    self.replace(OpenFile::unsaved(Arc::new(design.clone())), design);
                }
            }
            Command::Open(path) => self.open(path),
            Command::Save => match self.file.path().map(Path::to_owned) {
                Some(path) if self.file.changed_on_disk() => {
                    self.question = Some(Question::ChangedOnDisk { path, saving: true });
                }
                Some(path) => self.save_to(&path),
                None => self.requests.push(Request::ChooseSavePath),
            },
            Command::SaveAs(path) => self.save_to(&with_ending(&path)),
            Command::LookAtDisk => {
                if self.question.is_none() && self.file.newly_changed_on_disk() {
                    let path = self.file.path().map(Path::to_owned).unwrap_or_default();
                    self.question = Some(Question::ChangedOnDisk { path, saving: false });
                }
            }
            Command::Settings(change) => self.change_settings(&change),
            Command::Answer(answer) => self.answer(answer),
            Command::Tell(message) => self.tell(message),
            Command::Dismiss(index) => {
                if index < self.messages.len() {
                    self.messages.remove(index);
                }
            }
            Command::Close => self.close(),
        }
    }

    /// Takes in what the worker threads have found and what time brings: the cycle, the recovery copy.
    pub fn poll(&mut self) {
        self.poll_at(Instant::now());
    }

    /// [`poll`](Self::poll) with a clock of one's own.
    pub fn poll_at(&mut self, now: Instant) {
        if self.evaluation.poll() {
            self.shown.follow(self.target(), self.range());
        }
        self.shown.tick(now, self.target());
        let design = Arc::clone(self.committed());
        if let Some(recovery) = &mut self.recovery {
            recovery.write_when_due(now, &design, self.file.path());
        }
    }

    /// Waits until the worker threads have nothing to do and takes in what they found; for tests and exports.
    /// Returns false when they were still busy after `most`.
    pub fn settle(&mut self, most: Duration) -> bool {
        let end = Instant::now() + most;
        loop {
            let busy = self.evaluation.is_busy();
            self.poll();
            if !busy {
                return true;
            }
            if Instant::now() > end {
                return false;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    pub(super) fn target(&self) -> f64 {
        self.design().duty.target_stretch_percent / 100.0
    }

    /// From slight compression to past the target, and to where the meander is straight unless that is far off.
    pub(super) fn range(&self) -> [f64; 2] {
        let target = self.target().clamp(1e-3, 10.0);
        // The live answer: the bar must not change its range when the full one arrives.
        let straight = self.live_assessment().map_or(0.0, |a| a.stretch.straight_percent / 100.0);
        let far = if straight.is_finite() { (1.05 * straight).min(3.0 * target) } else { 0.0 };
        let high = far.max(1.3 * target);
        [-0.08 * high, high]
    }

    /// The shown document changed.
    pub(super) fn reassess(&mut self) {
        let design = Arc::clone(self.design());
        self.evaluation.look_at(&design, self.gesture.is_none());
        self.shown.follow(self.target(), self.range());
    }

    fn preview(&mut self, edit: &Edit) {
        let design = edit.applied_to(self.committed());
        if design == **self.design() {
            return;
        }
        let before = self.gesture.as_ref().map_or(self.selection, |gesture| gesture.before);
        self.gesture = Some(Gesture { design: Arc::new(design), before });
        self.reassess();
    }

    fn commit(&mut self, edit: &Edit) {
        let design = Arc::new(edit.applied_to(self.committed()));
        let shown = Arc::clone(self.design());
        let gesture = self.gesture.take();
        let before = gesture.map_or(self.selection, |gesture| gesture.before);
        if self.history.commit(edit.label(), Arc::clone(&design), before, self.selection) {
            self.note_edit();
        }
        if *shown == *design {
            // Nothing to assess again, but the map's window may now move after the gesture.
            self.evaluation.settle_map();
        } else {
            self.reassess();
        }
    }

    fn cancel(&mut self) {
        if let Some(gesture) = self.gesture.take() {
            self.selection = gesture.before;
            self.reassess();
        }
    }

    /// Undo or redo. A gesture that goes on is given up instead: it is the last thing that was done.
    fn travel(&mut self, step: impl FnOnce(&mut History) -> Option<&super::Snapshot>) {
        if self.gesture.is_some() {
            self.cancel();
            return;
        }
        if let Some(snapshot) = step(&mut self.history) {
            self.selection = snapshot.selection;
            self.note_edit();
            self.reassess();
        }
    }

    fn note_edit(&mut self) {
        if let Some(recovery) = &mut self.recovery {
            recovery.edited(Instant::now());
        }
    }

    fn pin(&mut self) {
        let good = self.faults().is_empty() && !self.assessment_is_stale();
        if let (true, Some(name), Some(assessment), Some(checked)) =
            (good, free_name(&self.pins), self.assessment(), self.checked())
        {
            let pin = Pin {
                name,
                design: Arc::clone(self.design()),
                assessment: Arc::clone(assessment),
                checked: Arc::clone(checked),
            };
            let place = self.pins.partition_point(|other| other.name < pin.name);
            self.pins.insert(place, pin);
        }
    }

    fn restore_pin(&mut self, index: usize) {
        if let Some(pin) = self.pins.get(index) {
            let label = format!("Restore pin {}", pin.name);
            let design = Box::new(Design::clone(&pin.design));
            self.commit(&Edit::Document { label, design });
        }
    }

    fn must_ask(&self) -> bool {
        self.is_modified() && !matches!(self.question, Some(Question::Recover(_)))
    }

    /// Another document takes the place of this one.
    fn replace(&mut self, file: OpenFile, design: Design) {
        let design = Arc::new(design);
        self.history = History::new(Arc::clone(&design));
        self.gesture = None;
        self.selection = Selection::default();
        self.file = file;
        self.pointed = None;
        self.pins.clear();
        self.messages.clear();
        self.shown = ShownStretch::new(design.duty.target_stretch_percent / 100.0);
        if let Some(recovery) = &mut self.recovery {
            recovery.clear();
        }
        self.evaluation.reset();
        self.reassess();
    }

    fn open(&mut self, path: PathBuf) {
        // The full path: the working folder may not be the same at the next start.
        let path = std::path::absolute(&path).unwrap_or(path);
        match read_design(&path) {
            Ok((design, text)) => {
                self.settings.remember(&path);
                self.store_settings();
                self.replace(OpenFile::read(path, text, Arc::new(design.clone())), design);
            }
            Err(error) => self.tell(Message::trouble(error.to_string())),
        }
    }

    fn save_to(&mut self, path: &Path) {
        let path = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
        let design = Arc::clone(self.committed());
        match self.file.save(&path, &design) {
            Ok(()) => {
                self.settings.remember(&path);
                self.store_settings();
                if let Some(recovery) = &mut self.recovery {
                    recovery.clear();
                }
                self.messages.retain(|message| message.kind == MessageKind::Info);
                if let Some(then) = self.after_saving.take() {
                    self.apply(then);
                }
            }
            Err(error) => {
                self.after_saving = None;
                self.tell(Message::trouble(error.to_string()));
            }
        }
    }

    fn answer(&mut self, answer: Answer) {
        let Some(question) = self.question.take() else { return };
        match (question, answer) {
            (Question::Unsaved { then }, Answer::Save) => {
                self.after_saving = Some(*then);
                self.apply(Command::Save);
            }
            (Question::Unsaved { then }, Answer::Discard) => {
                // What is given up no longer counts as unsaved.
                let committed = Arc::clone(self.committed());
                self.file = OpenFile::unsaved(committed);
                self.apply(*then);
            }
            (Question::ChangedOnDisk { path, .. }, Answer::Overwrite) => self.save_to(&path),
            (Question::ChangedOnDisk { path, .. }, Answer::Reload) => self.open(path),
            (Question::Recover(_), Answer::Recover(id)) => self.recover(&id),
            (Question::Recover(offers), Answer::ForgetRecovery) => {
                for offer in &offers {
                    Recovery::forget(&offer.id);
                }
            }
            _ => self.after_saving = None,
        }
    }

    /// The person chose no file to save to.
    pub fn give_up_saving(&mut self) {
        self.after_saving = None;
    }

    fn recover(&mut self, id: &OfferId) {
        let Some(offer) = id.read() else {
            self.tell(Message::trouble("the recovery copy can no longer be read"));
            return;
        };
        let file = OpenFile::recovered(offer.path, Arc::new(Design::clone(&offer.design)));
        self.replace(file, *offer.design);
        if let Some(recovery) = &mut self.recovery {
            recovery.adopt(id.clone(), Instant::now());
        }
    }

    fn tell(&mut self, message: Message) {
        self.messages.retain(|other| *other != message);
        self.messages.push(message);
        if self.messages.len() > MOST_MESSAGES {
            self.messages.remove(0);
        }
    }

    fn change_settings(&mut self, change: &SettingsChange) {
        if self.settings.apply(change) {
            self.store_settings();
        }
    }

    fn store_settings(&mut self) {
        if let Some(path) = &self.settings_path
            && let Err(error) = self.settings.store(path)
        {
            log::warn!("the settings were not stored: {error} ({})", path.display());
        }
    }

    fn close(&mut self) {
        if let Some(recovery) = self.recovery.take() {
            recovery.end();
        }
        self.closed = true;
    }
}
