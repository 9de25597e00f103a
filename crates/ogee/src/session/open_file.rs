//! The file that a design belongs to.

use super::files::{FileError, save_text};
use ogee_design::Design;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The file of a design and what it was known to hold.
#[derive(Clone, Debug)]
pub struct OpenFile {
    path: Option<PathBuf>,
    /// Text on the disk as last read or written.
    text: Option<String>,
    /// The design that the file holds, or that a session without a file began with.
    saved: Arc<Design>,
    /// Text on the disk that the person has been told about.
    told_of: Option<String>,
    /// The design differs from the file whatever it is: it was recovered.
    recovered: bool,
}

impl OpenFile {
    /// No file yet.
    pub fn unsaved(design: Arc<Design>) -> Self {
        Self { path: None, text: None, saved: design, told_of: None, recovered: false }
    }

    /// A file just read.
    pub fn read(path: PathBuf, text: String, design: Arc<Design>) -> Self {
        Self { path: Some(path), text: Some(text), saved: design, told_of: None, recovered: false }
    }

    /// A design that was recovered, with the file it belonged to.
    pub fn recovered(path: Option<PathBuf>, design: Arc<Design>) -> Self {
        let text = path.as_ref().and_then(|path| std::fs::read_to_string(path).ok());
        Self { path, text, saved: design, told_of: None, recovered: true }
    }

    /// Where it is.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// Its name without folders.
    pub fn name(&self) -> Option<String> {
        Some(self.path.as_ref()?.file_name()?.to_string_lossy().into_owned())
    }

    /// Whether `design` is not what the file holds.
    pub fn differs_from(&self, design: &Arc<Design>) -> bool {
        self.recovered || (!Arc::ptr_eq(&self.saved, design) && *self.saved != **design)
    }

    /// Whether the file holds another text than when it was last read or written. A file that is gone or
    /// cannot be read did not change: saving it anew loses nothing.
    pub fn changed_on_disk(&self) -> bool {
        let (Some(path), Some(known)) = (&self.path, &self.text) else { return false };
        std::fs::read_to_string(path).is_ok_and(|text| text != *known)
    }

    /// The same, but only once for each other text.
    pub fn newly_changed_on_disk(&mut self) -> bool {
        let (Some(path), Some(known)) = (&self.path, &self.text) else { return false };
        let Ok(text) = std::fs::read_to_string(path) else { return false };
        if text == *known || self.told_of.as_ref() == Some(&text) {
            return false;
        }
        self.told_of = Some(text);
        true
    }

    /// Saves `design` to `path`, which becomes the file.
    ///
    /// # Errors
    /// [`FileError::Unwritable`]; the file is then what it was.
    pub fn save(&mut self, path: &Path, design: &Arc<Design>) -> Result<(), FileError> {
        let text = design.to_json();
        save_text(path, &text)?;
        *self = Self::read(path.to_owned(), text, Arc::clone(design));
        Ok(())
    }
}
