//! Why a run ended early, in words or as JSON.

use ogee_design::Fault;
use serde::Serialize;
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

/// What kind of failure it is; decides the exit code and the stable `code` of the JSON.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// The command line asks for something that does not exist or does not fit together.
    Usage,
    /// The input could not be read.
    UnreadableInput,
    /// The input is no design, or a design that cannot be.
    InvalidDesign,
    /// A solver found no solution.
    NoSolution,
    /// The output exists and was not to be replaced.
    OutputExists,
    /// The output could not be written.
    OutputNotWritten,
}

impl Kind {
    fn code(self) -> &'static str {
        match self {
            Self::Usage => "usage",
            Self::UnreadableInput => "unreadable-input",
            Self::InvalidDesign => "invalid-design",
            Self::NoSolution => "no-solution",
            Self::OutputExists => "output-exists",
            Self::OutputNotWritten => "output-not-written",
        }
    }

    pub(super) fn exit(self) -> u8 {
        match self {
            Self::Usage | Self::UnreadableInput | Self::InvalidDesign => 2,
            Self::NoSolution => 3,
            Self::OutputExists | Self::OutputNotWritten => 4,
        }
    }
}

/// A failure with the file it is about and every fault found.
#[derive(Debug)]
pub(super) struct Failure {
    kind: Kind,
    file: Option<String>,
    message: String,
    faults: Vec<Fault>,
}

/// The failure as JSON; keys are stable within a version.
#[derive(Serialize)]
pub(super) struct FailureJson<'a> {
    schema: &'static str,
    version: u32,
    code: &'static str,
    exit_code: u8,
    file: Option<&'a str>,
    message: &'a str,
    faults: &'a [Fault],
}

impl Failure {
    pub(super) fn new(kind: Kind, message: impl Into<String>) -> Self {
        Self { kind, file: None, message: message.into(), faults: Vec::new() }
    }

    pub(super) fn of_file(kind: Kind, file: &Path, message: impl Into<String>) -> Self {
        Self { file: Some(file_name(file)), ..Self::new(kind, message) }
    }

    pub(super) fn of_faults(file: &Path, faults: Vec<Fault>) -> Self {
        let message = match faults.len() {
            1 => "this design has a fault".to_owned(),
            n => format!("this design has {n} faults"),
        };
        Self { faults, ..Self::of_file(Kind::InvalidDesign, file, message) }
    }

    pub(super) fn kind(&self) -> Kind {
        self.kind
    }

    pub(super) fn json(&self) -> FailureJson<'_> {
        FailureJson {
            schema: "ogee-error",
            version: 1,
            code: self.kind.code(),
            exit_code: self.kind.exit(),
            file: self.file.as_deref(),
            message: &self.message,
            faults: &self.faults,
        }
    }

    fn words(&self) -> String {
        let file = self.file.as_ref().map(|f| format!("{f}: ")).unwrap_or_default();
        match self.faults.as_slice() {
            [only] => format!("ogee: {file}{only}\n"),
            faults => {
                let first = format!("ogee: {file}{}\n", self.message);
                faults.iter().fold(first, |text, fault| text + "  " + &fault.to_string() + "\n")
            }
        }
    }

    /// Tells the failure on standard error and returns its exit code.
    pub(super) fn report(&self, json: bool) -> ExitCode {
        let text = if json {
            serde_json::to_string(&self.json()).map_or_else(|_| self.words(), |line| line + "\n")
        } else {
            self.words()
        };
        // Where standard error is closed there is nobody to tell.
        let _ = std::io::stderr().write_all(text.as_bytes());
        ExitCode::from(self.kind.exit())
    }
}

/// A file as messages name it.
pub(super) fn file_name(file: &Path) -> String {
    if file.as_os_str() == "-" { "standard input".to_owned() } else { file.display().to_string() }
}

/// What the system says, without its error number.
pub(super) fn reason(error: &std::io::Error) -> String {
    use std::io::ErrorKind;
    match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        ErrorKind::PermissionDenied => "permission is denied".to_owned(),
        ErrorKind::StorageFull => "the disk is full".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "the disk is read-only".to_owned(),
        ErrorKind::IsADirectory => "it is a folder".to_owned(),
        ErrorKind::NotADirectory => "a part of its path is no folder".to_owned(),
        _ => {
            let text = error.to_string();
            text.split_once(" (os error").map_or(text.clone(), |(words, _)| words.to_owned())
        }
    }
}
