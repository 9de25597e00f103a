//! A copy of unsaved work beside the settings, so that a crash loses seconds.
//!
//! Each running program has a copy of its own and holds a lock beside it. A copy without a living lock was left
//! behind by a crash and is offered at the next start. The person's own file is never touched.

use super::files::write_safely;
use ogee_design::Design;
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// How long after the last edit the copy is written.
const QUIET: Duration = Duration::from_secs(2);
/// How long unsaved edits may be without a copy while editing goes on.
const MOST: Duration = Duration::from_secs(30);

const SCHEMA: &str = "ogee-recovery";

/// What a recovery copy holds.
#[derive(Serialize, Deserialize)]
struct Copy {
    schema: String,
    /// Seconds since 1970.
    saved_at: u64,
    /// File that the design belongs to.
    path: Option<PathBuf>,
    /// The design's text, kept as text so that a later version of the file format does not spoil the offer.
    design: String,
}

/// Names an offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OfferId(PathBuf);

impl OfferId {
    /// Reads the copy again.
    pub(super) fn read(&self) -> Option<Offer> {
        let copy: Copy = serde_json::from_str(&fs::read_to_string(&self.0).ok()?).ok()?;
        let design = (copy.schema == SCHEMA).then(|| Design::from_json(&copy.design).ok())??;
        Some(Offer {
            id: self.clone(),
            saved_at: UNIX_EPOCH + Duration::from_secs(copy.saved_at),
            path: copy.path,
            design: Box::new(design),
        })
    }
}

/// A copy that an earlier run left behind.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// Its name in commands.
    pub id: OfferId,
    /// When it was written.
    pub saved_at: SystemTime,
    /// File that the design belongs to; none for a design that was never saved.
    pub path: Option<PathBuf>,
    /// The design.
    pub design: Box<Design>,
}

impl Offer {
    /// How long ago the copy was written, in words.
    pub fn age(&self, now: SystemTime) -> String {
        let seconds = now.duration_since(self.saved_at).unwrap_or_default().as_secs();
        let (count, unit) = match seconds {
            0..60 => return "less than a minute ago".to_owned(),
            60..3600 => (seconds / 60, "minute"),
            3600..86_400 => (seconds / 3600, "hour"),
            _ => (seconds / 86_400, "day"),
        };
        format!("{count} {unit}{} ago", if count == 1 { "" } else { "s" })
    }
}

/// Writes the copy of this run and finds those of earlier ones.
#[derive(Debug)]
pub struct Recovery {
    copy: PathBuf,
    lock: PathBuf,
    /// Locked as long as this run lives; the system frees it in a crash too.
    _held: File,
    first_edit: Option<Instant>,
    last_edit: Option<Instant>,
    writing: Option<JoinHandle<io::Result<()>>>,
    written: bool,
    /// Copies of earlier runs that were opened here; they go once the work is safe.
    adopted: Vec<OfferId>,
}

impl Recovery {
    /// Takes a place in `folder`, creating it.
    ///
    /// # Errors
    /// Whatever the file system says; the program then runs without recovery copies.
    pub fn begin(folder: &Path) -> io::Result<Self> {
        fs::create_dir_all(folder)?;
        let stamp = seconds(SystemTime::now());
        for attempt in 0..100 {
            let name = format!("{stamp}-{}-{attempt}", std::process::id());
            let lock = folder.join(format!("{name}.lock"));
            match File::create_new(&lock) {
                Ok(held) => {
                    held.lock()?;
                    let copy = folder.join(format!("{name}.json"));
                    return Ok(Self {
                        copy,
                        lock,
                        _held: held,
                        first_edit: None,
                        last_edit: None,
                        writing: None,
                        written: false,
                        adopted: Vec::new(),
                    });
                }
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
        Err(io::ErrorKind::AlreadyExists.into())
    }

    /// Copies in `folder` that no living run owns, the newest first; unreadable ones are left out.
    pub fn offers(folder: &Path) -> Vec<Offer> {
        let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
        let mut offers: Vec<Offer> = entries
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| path.extension().is_some_and(|e| e == "json") && !is_owned(path))
            .filter_map(|path| OfferId(path).read())
            .collect();
        offers.sort_by_key(|offer| std::cmp::Reverse(offer.saved_at));
        offers
    }

    /// Removes a copy that was opened or is not wanted.
    pub fn forget(id: &OfferId) {
        let _ = fs::remove_file(&id.0);
        let _ = fs::remove_file(id.0.with_extension("lock"));
    }

    /// Notes an edit.
    pub fn edited(&mut self, now: Instant) {
        self.first_edit.get_or_insert(now);
        self.last_edit = Some(now);
    }

    /// When the copy is due; `None` without edits since the last one.
    pub fn due(&self) -> Option<Instant> {
        Some((self.last_edit? + QUIET).min(self.first_edit? + MOST))
    }

    /// Writes the copy when it is due, on a thread of its own: a slow disk must not stall the window.
    pub fn write_when_due(&mut self, now: Instant, design: &Arc<Design>, path: Option<&Path>) {
        if self.due().is_none_or(|due| now < due) {
            return;
        }
        if self.writing.as_ref().is_some_and(|thread| !thread.is_finished()) {
            return;
        }
        self.wait();
        (self.first_edit, self.last_edit) = (None, None);
        let (design, path, target) = (Arc::clone(design), path.map(Path::to_owned), self.copy.clone());
        let thread = std::thread::Builder::new().name("ogee-recovery".to_owned()).spawn(move || {
            let copy = Copy {
                schema: SCHEMA.to_owned(),
                saved_at: seconds(SystemTime::now()),
                path,
                design: design.to_json(),
            };
            let text = serde_json::to_string(&copy).map_err(io::Error::other)?;
            write_safely(&target, text.as_bytes())
        });
        match thread {
            Ok(thread) => {
                self.writing = Some(thread);
                self.written = true;
            }
            Err(error) => log::warn!("no recovery copy: {error}"),
        }
    }

    /// Removes the copy: the work is saved, or not wanted.
    pub fn clear(&mut self) {
        (self.first_edit, self.last_edit) = (None, None);
        self.wait();
        if std::mem::take(&mut self.written) {
            let _ = fs::remove_file(&self.copy);
        }
        self.adopted.drain(..).for_each(|id| Self::forget(&id));
    }

    /// An earlier run's copy was opened: it goes once the work is saved or given up.
    pub fn adopt(&mut self, id: OfferId, now: Instant) {
        self.adopted.push(id);
        self.edited(now);
    }

    /// Ends the run cleanly: copy and lock go.
    pub fn end(mut self) {
        self.clear();
        let _ = fs::remove_file(&self.lock);
    }

    fn wait(&mut self) {
        match self.writing.take().map(JoinHandle::join) {
            Some(Ok(Err(error))) => log::warn!("no recovery copy: {error}"),
            Some(Err(_)) => log::warn!("no recovery copy: the writer broke down"),
            _ => {}
        }
    }
}

/// Whether a living run holds the lock beside the copy.
fn is_owned(copy: &Path) -> bool {
    File::open(copy.with_extension("lock")).is_ok_and(|lock| lock.try_lock().is_err())
}

fn seconds(time: SystemTime) -> u64 {
    time.duration_since(UNIX_EPOCH).unwrap_or_default().as_secs()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(folder: &Path) -> Recovery {
        let mut recovery = Recovery::begin(folder).unwrap();
        let now = Instant::now();
        recovery.edited(now);
        let design = Arc::new(Design::sample());
        recovery.write_when_due(now + QUIET, &design, Some(Path::new("/lab/a.ogee.json")));
        recovery.wait();
        recovery
    }

    #[test]
    fn the_copy_waits_for_quiet_but_not_for_ever() {
        let folder = tempfile::tempdir().unwrap();
        let mut recovery = Recovery::begin(folder.path()).unwrap();
        assert_eq!(recovery.due(), None);
        let start = Instant::now();
        for i in 0..60 {
            recovery.edited(start + Duration::from_secs(i));
        }
        assert_eq!(recovery.due(), Some(start + MOST));
        let design = Arc::new(Design::sample());
        recovery.write_when_due(start + Duration::from_secs(1), &design, None);
        assert!(recovery.due().is_some() && !recovery.copy.exists(), "too early");
        recovery.write_when_due(start + MOST, &design, None);
        recovery.wait();
        assert!(recovery.copy.exists());
        assert_eq!(recovery.due(), None);
    }

    #[test]
    fn a_living_run_is_not_offered_and_a_dead_one_is() {
        let folder = tempfile::tempdir().unwrap();
        let recovery = written(folder.path());
        assert_eq!(Recovery::offers(folder.path()), []);
        // A crash frees the lock without removing anything.
        drop(recovery);
        let offers = Recovery::offers(folder.path());
        assert_eq!(offers.len(), 1);
        assert_eq!(*offers[0].design, Design::sample());
        assert_eq!(offers[0].path.as_deref(), Some(Path::new("/lab/a.ogee.json")));
        assert_eq!(offers[0].age(offers[0].saved_at + Duration::from_secs(7300)), "2 hours ago");
        Recovery::forget(&offers[0].id);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_clean_end_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        written(folder.path()).end();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn damaged_copies_are_not_offered() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("1-2-0.json"), "{").unwrap();
        assert_eq!(Recovery::offers(folder.path()), []);
    }
}
