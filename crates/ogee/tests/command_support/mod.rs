//! Running the program in a folder of its own, with the samples beside it.

#![allow(clippy::unwrap_used, reason = "a test that cannot run the program must fail")]
#![allow(dead_code, reason = "every test file uses a part of it")]

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// What a run left behind.
#[derive(Debug)]
pub(crate) struct Run {
    /// Exit code.
    pub(crate) code: i32,
    /// Standard output.
    pub(crate) out: String,
    /// Standard error.
    pub(crate) err: String,
}

impl Run {
    /// Standard output as JSON.
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("no JSON ({e}): {self:?}"))
    }

    /// The line on standard error as JSON.
    pub(crate) fn error(&self) -> serde_json::Value {
        serde_json::from_str(&self.err).unwrap_or_else(|e| panic!("no JSON ({e}): {self:?}"))
    }
}

/// A folder that vanishes at the end of the test.
pub(crate) struct Folder(tempfile::TempDir);

impl Folder {
    /// An empty folder but for a copy of `samples/`.
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("samples")).unwrap();
        for sample in sample_files() {
            std::fs::copy(&sample, folder.path().join("samples").join(sample.file_name().unwrap())).unwrap();
        }
        Self(folder)
    }

    /// The path of `name` in the folder.
    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Writes a file into the folder.
    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), bytes).unwrap();
    }

    /// Reads a text file of the folder.
    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    /// Writes the finger guide with `change` made to its JSON.
    pub(crate) fn write_changed(&self, name: &str, change: impl FnOnce(&mut serde_json::Value)) {
        let mut value = serde_json::from_str(&self.read("samples/finger-guide.ogee.json")).unwrap();
        change(&mut value);
        self.write(name, value.to_string());
    }

    /// Runs the program in the folder.
    pub(crate) fn ogee(&self, args: &[&str]) -> Run {
        self.ogee_with_input(args, "")
    }

    /// Runs the program with `input` on standard input.
    pub(crate) fn ogee_with_input(&self, args: &[&str], input: &str) -> Run {
        use std::io::Write;
        let mut child = self
            .command(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A program that does not read its input closes the pipe, which is its right.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let done = child.wait_with_output().unwrap();
        Run {
            code: done.status.code().unwrap_or(-1),
            out: String::from_utf8(done.stdout).unwrap(),
            err: String::from_utf8(done.stderr).unwrap(),
        }
    }

    /// The program in the folder, not started yet.
    pub(crate) fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_ogee"));
        command.args(args).current_dir(self.0.path());
        command
    }
}

/// Every design in `samples/`.
pub(crate) fn sample_files() -> Vec<PathBuf> {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../samples");
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(samples).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.to_string_lossy().ends_with(".ogee.json"));
    files.sort();
    files
}
