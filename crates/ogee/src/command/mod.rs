//! The command: the same design files and the same numbers as in the window, for scripts and for machines without a
//! display.
//!
//! Data goes to standard output, words and progress go to standard error. `-` is standard input or output. Exit codes:
//! 0 done, 1 a margin is below 1, 2 usage or an input that cannot be read or is invalid, 3 no solution found,
//! 4 output not written. A closed pipe ends quietly.

mod args;
mod check;
mod export;
mod failure;
mod input;
mod map;
mod models;
mod new;
mod output;
mod schema;
mod table;

use args::{Args, Verb, wants_json};
use clap::Parser;
use failure::{Failure, Kind};
use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;

/// Exit code of a run in which everything passes.
const DONE: u8 = 0;
/// Exit code of a run in which a margin is below 1.
const MARGIN_BELOW_ONE: u8 = 1;

/// Runs the verb of a command line, whose first word is the program's name, and returns the exit code.
///
/// `None` where there is no verb, so that the window opens with [`file_to_open`]. Help, version and mistakes are
/// answered here too.
pub fn run(words: Vec<OsString>) -> Option<ExitCode> {
    let json = wants_json(&words);
    let args = match Args::try_parse_from(words) {
        Ok(args) => args,
        Err(error) => return Some(usage(&error, json)),
    };
    let (result, json) = match args.verb? {
        Verb::Check(args) => (check::run(&args), args.common.json),
        Verb::Map(args) => (map::run(&args), args.common.json),
        Verb::Export(args) => (export::run(&args), args.common.json),
        Verb::New(args) => (new::run(&args), args.common.json),
        Verb::Schema(args) => (schema::run(&args), false),
    };
    Some(match result {
        Ok(code) => ExitCode::from(code),
        Err(failure) => failure.report(json),
    })
}

/// The design to open in the window: the only word of a command line without a verb.
pub fn file_to_open(words: Vec<OsString>) -> Option<PathBuf> {
    Args::try_parse_from(words).ok().and_then(|args| args.file)
}

/// Answers `--help`, `--version` and mistakes.
fn usage(error: &clap::Error, json: bool) -> ExitCode {
    if error.use_stderr() && json {
        let text = error.render().to_string();
        // What follows is the usage and where help is to be found.
        let words = text.split("\n\n").next().unwrap_or_default().trim_start_matches("error: ");
        let message = words.split_whitespace().collect::<Vec<_>>().join(" ");
        return Failure::new(Kind::Usage, message).report(true);
    }
    // Nothing is left to tell where even this cannot be printed.
    let _ = error.print();
    ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(line: &str) -> Vec<OsString> {
        line.split(' ').map(OsString::from).collect()
    }

    #[test]
    fn without_a_verb_the_window_opens() {
        assert!(run(words("ogee")).is_none());
        assert!(run(words("ogee a.ogee.json")).is_none());
        assert_eq!(file_to_open(words("ogee a.ogee.json")), Some(PathBuf::from("a.ogee.json")));
        assert_eq!(file_to_open(words("ogee")), None);
    }
}
