//! Reading and writing of design files without ever leaving half a file behind.

use ogee_design::{Design, Fault};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The ending of a design file.
pub const ENDING: &str = ".ogee.json";

/// Why a file was not opened or saved; the message names the file last, so that the reason can be read first.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// The file cannot be read.
    #[error("the file cannot be read: {reason} ({})", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        reason: String,
    },
    /// The text is no design.
    #[error("the file holds no design: {reason} ({})", .path.display())]
    NoDesign {
        /// The file.
        path: PathBuf,
        /// First fault found.
        reason: String,
    },
    /// The file cannot be written.
    #[error("the design was not saved: {reason} ({})", .path.display())]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        reason: String,
    },
}

/// Largest file that is read, bytes.
const MOST_BYTES: u64 = 16 << 20;

/// Reads the design at `path`; returns it with the text it was read from.
///
/// # Errors
/// [`FileError::Unreadable`] or [`FileError::NoDesign`].
pub fn read_design(path: &Path) -> Result<(Design, String), FileError> {
    let unreadable = |reason: String| FileError::Unreadable { path: path.to_owned(), reason };
    let length = fs::metadata(path).map_err(|e| unreadable(plain(&e)))?.len();
    if length > MOST_BYTES {
        return Err(unreadable(format!("{length} bytes are more than a design file holds")));
    }
    let bytes = fs::read(path).map_err(|e| unreadable(plain(&e)))?;
    let text = String::from_utf8(bytes).map_err(|_| FileError::NoDesign {
        path: path.to_owned(),
        reason: "it is not text in UTF-8".to_owned(),
    })?;
    let design = Design::from_json(&text)
        .map_err(|faults| FileError::NoDesign { path: path.to_owned(), reason: first_reason(&faults) })?;
    Ok((design, text))
}

fn first_reason(faults: &[Fault]) -> String {
    match faults {
        [] => "no reason was given".to_owned(),
        [only] => only.to_string(),
        [first, rest @ ..] => format!("{first} (and {} more)", rest.len()),
    }
}

/// What the system says, without its error number.
fn plain(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "permission is denied".to_owned(),
        io::ErrorKind::StorageFull => "the disk is full".to_owned(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk is read-only".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        _ => error.to_string(),
    }
}

/// Writes `text` to `path` and returns once it is safe on the disk.
///
/// # Errors
/// [`FileError::Unwritable`]; the old file is then untouched.
pub fn save_text(path: &Path, text: &str) -> Result<(), FileError> {
    write_safely(path, text.as_bytes())
        .map_err(|e| FileError::Unwritable { path: path.to_owned(), reason: plain(&e) })
}

/// Writes beside the target, syncs, then renames over it: whoever reads sees the old file or the new one.
///
/// Links are followed and the permissions of an existing file are kept.
///
/// # Errors
/// Whatever the file system says; the old file is then untouched.
pub fn write_safely(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    if target.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".ogee-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The umask is subtracted by the system.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    if let Ok(existing) = fs::metadata(&target) {
        if existing.permissions().readonly() {
            return Err(io::ErrorKind::PermissionDenied.into());
        }
        fs::set_permissions(file.path(), existing.permissions())?;
    }
    file.as_file().sync_all()?;
    file.persist(&target).map_err(|e| e.error)?;
    // The rename itself is on the disk only once the folder is; not every system can sync a folder.
    #[cfg(unix)]
    if let Ok(folder) = fs::File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

/// `path` with the ending of a design file, unless it has it or another one ending in `.json`.
pub fn with_ending(path: &Path) -> PathBuf {
    if path.file_name().is_none() || path.extension().is_some_and(|e| e.eq_ignore_ascii_case("json")) {
        return path.to_owned();
    }
    let mut whole = path.as_os_str().to_owned();
    whole.push(ENDING);
    PathBuf::from(whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_design_comes_back_as_saved() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.ogee.json");
        let design = Design::sample();
        save_text(&path, &design.to_json()).unwrap();
        let (read, text) = read_design(&path).unwrap();
        assert_eq!(read, design);
        assert_eq!(text, design.to_json());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "a part file was left behind");
    }

    #[test]
    fn a_failed_save_keeps_the_old_file() {
        let folder = tempfile::tempdir().unwrap();
        let missing = folder.path().join("no/such/a.ogee.json");
        let message = save_text(&missing, "x").unwrap_err().to_string();
        assert!(message.contains("no such file or folder") && message.contains("a.ogee.json"), "{message}");
        assert!(matches!(save_text(folder.path(), "x"), Err(FileError::Unwritable { .. })));
    }

    #[test]
    fn reasons_are_plain() {
        let folder = tempfile::tempdir().unwrap();
        let gone = read_design(&folder.path().join("gone.ogee.json")).unwrap_err().to_string();
        assert!(gone.contains("there is no such file"), "{gone}");
        let path = folder.path().join("b.ogee.json");
        fs::write(&path, b"\xff\xfe").unwrap();
        assert!(read_design(&path).unwrap_err().to_string().contains("UTF-8"));
        fs::write(&path, "{").unwrap();
        assert!(read_design(&path).unwrap_err().to_string().contains("not a JSON text"));
        assert!(read_design(folder.path()).unwrap_err().to_string().contains("folder"));
    }

    #[cfg(unix)]
    #[test]
    fn links_and_permissions_are_kept() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let real = folder.path().join("real.ogee.json");
        let link = folder.path().join("link.ogee.json");
        fs::write(&real, "old").unwrap();
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        save_text(&link, "new").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&real).unwrap(), "new");
        assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
        let fresh = folder.path().join("fresh.ogee.json");
        save_text(&fresh, "x").unwrap();
        let usual = folder.path().join("usual");
        fs::write(&usual, "x").unwrap();
        let mode = |p: &Path| fs::metadata(p).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode(&fresh), mode(&usual), "a new file gets the usual permissions");
    }

    #[test]
    fn the_ending_is_added_once() {
        assert_eq!(with_ending(Path::new("/a/b")), Path::new("/a/b.ogee.json"));
        assert_eq!(with_ending(Path::new("/a/b.ogee.json")), Path::new("/a/b.ogee.json"));
        assert_eq!(with_ending(Path::new("/a/b.json")), Path::new("/a/b.json"));
        assert_eq!(with_ending(Path::new("/a/b.v2")), Path::new("/a/b.v2.ogee.json"));
    }
}
