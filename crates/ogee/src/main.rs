//! Ogee: with a verb the command line, without one the window.

use std::process::ExitCode;

fn main() -> ExitCode {
    let level = env_logger::Env::new().filter_or("OGEE_LOG", "off");
    env_logger::Builder::from_env(level).format_timestamp_millis().init();
    let words: Vec<_> = std::env::args_os().collect();
    // The verbs come first: nothing of the window is touched on a machine without a display.
    if let Some(code) = ogee::command::run(words.clone()) {
        return code;
    }
    open_window(ogee::command::file_to_open(words))
}

#[cfg(feature = "window")]
fn open_window(file: Option<std::path::PathBuf>) -> ExitCode {
    ogee::window::run(file)
}

#[cfg(not(feature = "window"))]
fn open_window(_file: Option<std::path::PathBuf>) -> ExitCode {
    eprintln!("ogee: built without a window; use a verb, ogee --help explains them");
    ExitCode::from(2)
}
