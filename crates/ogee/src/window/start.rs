//! Opening the window, and what to say where none can be opened.

use super::App;
use crate::session::{Command, Session, Settings};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// Where the program keeps what belongs to the person.
#[derive(Clone, Debug, Default)]
pub struct Folders {
    /// Settings.
    pub settings: Option<PathBuf>,
    /// Recovery copies.
    pub copies: Option<PathBuf>,
}

impl Folders {
    /// The person's own folders, as the system names them.
    pub fn of_user() -> Self {
        let Some(folder) = eframe::storage_dir(APP_ID) else { return Self::default() };
        Self { settings: Some(folder.join("settings.json")), copies: Some(folder.join("recovery")) }
    }
}

/// Name of the program's folder and windows.
const APP_ID: &str = "ogee";

/// The session that a start begins with: `file`, or the worked sample.
pub fn first_session(file: Option<&Path>, folders: &Folders) -> Session {
    let settings = folders.settings.as_deref().map(Settings::load).unwrap_or_default();
    let mut session = Session::new(ogee_design::Design::sample(), settings);
    if let Some(path) = &folders.settings {
        session.keep_settings_in(path.clone());
    }
    if let Some(file) = file {
        session.apply(Command::Open(file.to_owned()));
    }
    if let Some(folder) = &folders.copies {
        session.keep_copies_in(folder);
    }
    session
}

/// Opens the window, with `file` or with the worked sample, and returns when it closes.
///
/// Without a display it says so in one line that names the verbs which need none, and returns 2.
pub fn run(file: Option<PathBuf>) -> ExitCode {
    let begun = Instant::now();
    let mut viewport = egui::ViewportBuilder::default()
        .with_title("Ogee")
        .with_app_id(APP_ID)
        .with_inner_size([1400.0, 880.0])
        .with_min_inner_size([900.0, 560.0]);
    viewport.drag_and_drop = Some(true);
    let options = eframe::NativeOptions {
        viewport,
        renderer: eframe::Renderer::Glow,
        persist_window: true,
        ..Default::default()
    };
    report_panics(Folders::of_user().copies);
    // A missing library of the window system is a panic inside the toolkit; it must not end in a trace.
    let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(move || {
        eframe::run_native(
            APP_ID,
            options,
            Box::new(move |cc| {
                let session = first_session(file.as_deref(), &Folders::of_user());
                WINDOW_UP.store(true, Ordering::Relaxed);
                log::debug!("ready for the first frame after {} ms", begun.elapsed().as_millis());
                Ok(Box::new(App::new(&cc.egui_ctx, session)))
            }),
        )
    }));
    let reason = match outcome {
        Ok(Ok(())) => return ExitCode::SUCCESS,
        Ok(Err(error)) => {
            log::debug!("{error}");
            plain_reason(&error)
        }
        Err(_) => "a library of the window system is missing",
    };
    eprintln!("ogee: no window can be opened ({reason}); without one use {VERBS}");
    ExitCode::from(2)
}

/// A window is there: from now on a panic is a fault of the program and is told.
static WINDOW_UP: AtomicBool = AtomicBool::new(false);

/// Tells of a panic in one line, with where unsaved work is kept, instead of a trace.
fn report_panics(copies: Option<PathBuf>) {
    std::panic::set_hook(Box::new(move |panic| {
        let place = panic.location().map(ToString::to_string).unwrap_or_default();
        let cause = panic.payload_as_str().unwrap_or("no reason given");
        if WINDOW_UP.load(Ordering::Relaxed) {
            let kept = copies.as_ref().map(|c| format!("; unsaved work is kept in {}", c.display()));
            eprintln!("ogee: internal error at {place}: {cause}{}", kept.unwrap_or_default());
        } else {
            log::debug!("{place}: {cause}");
        }
    }));
}

/// The verbs that need no display.
const VERBS: &str = "ogee check, map, export, new or schema; ogee --help explains them";

/// Why there is no window, without the places in source texts that the toolkit's own messages carry.
fn plain_reason(error: &eframe::Error) -> &'static str {
    match error {
        eframe::Error::WinitEventLoop(error) if error.to_string().contains("librar") => {
            "a library of the window system is missing"
        }
        eframe::Error::WinitEventLoop(_) => "no display can be reached",
        eframe::Error::NoGlutinConfigs(..) | eframe::Error::Glutin(_) | eframe::Error::OpenGL(_) => {
            "OpenGL cannot be used here"
        }
        _ => "the window system refused it",
    }
}
