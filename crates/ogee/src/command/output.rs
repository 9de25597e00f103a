//! To standard output, or to a file that is there whole or not at all.

use super::failure::{Failure, Kind, reason};
use ogee_exchange::ExchangeError;
use serde::Serialize;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Whether `to` names standard output.
pub(super) fn is_stdout(to: &Path) -> bool {
    to.as_os_str() == "-"
}

/// The format named by `format`, or else by the ending of `to`.
pub(super) fn format_of<F: clap::ValueEnum + Copy>(format: Option<F>, to: &Path) -> Result<F, Failure> {
    let ending = to.extension().and_then(|e| e.to_str()).unwrap_or_default();
    format.or_else(|| F::from_str(ending, true).ok()).ok_or_else(|| {
        let names: Vec<String> = F::value_variants()
            .iter()
            .filter_map(F::to_possible_value)
            .map(|v| v.get_name().to_owned())
            .collect();
        let message = format!(
            "the ending of {} does not tell the format; end it on .{} or give --format",
            if is_stdout(to) { "standard output".to_owned() } else { to.display().to_string() },
            names.join(" or .")
        );
        Failure::new(Kind::Usage, message)
    })
}

/// Refuses an output that exists already, before any work is done for it.
pub(super) fn refuse_existing(to: &Path, force: bool) -> Result<(), Failure> {
    let exists = !is_stdout(to) && !force && fs::metadata(to).is_ok_and(|m| m.is_file() || m.is_dir());
    if exists { Err(already_there(to)) } else { Ok(()) }
}

fn already_there(to: &Path) -> Failure {
    Failure::of_file(Kind::OutputExists, to, "the file exists; --force writes over it")
}

/// Writes a file or standard output by `write`.
///
/// A file is written beside its target and renamed over it once it is whole; links are followed, permissions of a file
/// that is replaced are kept. `None` says that the reader of standard output has gone away.
pub(super) fn write<T>(
    to: &Path,
    force: bool,
    write: impl FnOnce(&mut dyn Write) -> Result<T, ExchangeError>,
) -> Result<Option<T>, Failure> {
    if is_stdout(to) {
        let mut out = BufWriter::new(io::stdout().lock());
        return match write(&mut out).and_then(|done| out.flush().map(|()| done).map_err(ExchangeError::from))
        {
            Ok(done) => Ok(Some(done)),
            Err(error) if error.is_broken_pipe() => Ok(None),
            Err(error) => Err(not_written(Path::new("standard output"), error)),
        };
    }
    write_file(to, force, write).map(Some)
}

fn write_file<T>(
    to: &Path,
    force: bool,
    write: impl FnOnce(&mut dyn Write) -> Result<T, ExchangeError>,
) -> Result<T, Failure> {
    let failed = |error: io::Error| not_written(to, ExchangeError::Write(error));
    let existing = fs::metadata(to).ok();
    if let Some(existing) = existing.as_ref().filter(|m| !m.is_file()) {
        if existing.is_dir() {
            return Err(failed(io::ErrorKind::IsADirectory.into()));
        }
        // A device or a pipe has no place beside it.
        let mut out = BufWriter::new(fs::OpenOptions::new().write(true).open(to).map_err(failed)?);
        let done = write(&mut out).map_err(|error| not_written(to, error))?;
        out.flush().map_err(failed)?;
        return Ok(done);
    }
    if existing.is_some() && !force {
        return Err(already_there(to));
    }
    if existing.as_ref().is_some_and(|m| m.permissions().readonly()) {
        return Err(failed(io::ErrorKind::PermissionDenied.into()));
    }
    let target = if existing.is_some() { fs::canonicalize(to).map_err(failed)? } else { to.to_owned() };
    let mut out = BufWriter::new(beside(&target).map_err(failed)?);
    let done = write(&mut out).map_err(|error| not_written(to, error))?;
    let file = out.into_inner().map_err(|error| failed(error.into_error()))?;
    if let Some(existing) = existing {
        fs::set_permissions(file.path(), existing.permissions()).map_err(failed)?;
    }
    file.as_file().sync_all().map_err(failed)?;
    let persisted = if force { file.persist(&target) } else { file.persist_noclobber(&target) };
    match persisted {
        Ok(_) => Ok(done),
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => Err(already_there(to)),
        Err(error) => Err(failed(error.error)),
    }
}

/// A file in the folder of `target` that vanishes unless it is renamed.
fn beside(target: &Path) -> io::Result<tempfile::NamedTempFile> {
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".ogee-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // The system takes the user's mask off.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    // The full path of the temporary file is no news for the person.
    builder.tempfile_in(folder).map_err(|error| io::Error::from(error.kind()))
}

fn not_written(to: &Path, error: ExchangeError) -> Failure {
    match error {
        ExchangeError::Write(error) => Failure::of_file(
            Kind::OutputNotWritten,
            to,
            format!("the file was not written: {}", reason(&error)),
        ),
        ExchangeError::Tolerance { .. } | ExchangeError::TooManyPoints { .. } => {
            Failure::new(Kind::Usage, error.to_string())
        }
        other => Failure::of_file(Kind::OutputNotWritten, to, other.to_string()),
    }
}

/// Prints text on standard output.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    write(Path::new("-"), false, |out| Ok(out.write_all(text.as_bytes())?)).map(|_| ())
}

/// Prints a value as JSON on standard output.
pub(super) fn print_json(value: &impl Serialize) -> Result<(), Failure> {
    write(Path::new("-"), false, |out| {
        serde_json::to_writer_pretty(&mut *out, value).map_err(io::Error::from)?;
        Ok(out.write_all(b"\n")?)
    })
    .map(|_| ())
}

/// Says something on standard error; where that is closed there is nobody to tell.
pub(super) fn say(quiet: bool, words: &str) {
    if !quiet {
        let _ = writeln!(io::stderr(), "{words}");
    }
}
