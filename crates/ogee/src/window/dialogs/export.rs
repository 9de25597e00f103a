//! Export of the centreline as a table or of the ribbon as a drawing.

use super::chooser::FileKind;
use super::{Next, title};
use crate::session::{Command, Message, Session, write_safely};
use crate::window::theme::Theme;
use egui::{RichText, TextEdit, Ui};
use ogee_design::{Checked, Dimension, Unit, digits_text, format_quantity_exact, parse_quantity};
use ogee_exchange::{
    DrawingOptions, LEAST_TOLERANCE_UM, MOST_TOLERANCE_UM, USUAL_TOLERANCE_UM, write_centreline_csv,
    write_centreline_svg,
};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, TryRecvError, channel};

/// What is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Format {
    Table,
    Drawing,
}

impl Format {
    fn ending(self) -> &'static str {
        match self {
            Self::Table => "csv",
            Self::Drawing => "svg",
        }
    }

    fn kind(self) -> FileKind {
        match self {
            Self::Table => FileKind::SaveTable,
            Self::Drawing => FileKind::SaveDrawing,
        }
    }
}

/// The export dialog.
#[derive(Debug)]
pub(super) struct ExportDialog {
    format: Format,
    path: String,
    tolerance: String,
    scale_bar: bool,
    /// The path that the person agreed to replace.
    replace: Option<String>,
    writing: Option<Receiver<Result<String, String>>>,
    trouble: Option<String>,
}

impl ExportDialog {
    pub(super) fn new(session: &Session) -> Self {
        let format = Format::Drawing;
        let beside = session.file().path().map_or_else(
            || {
                let name: String =
                    session.title().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
                std::env::current_dir().unwrap_or_default().join(name)
            },
            |path| {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                let stem = name.strip_suffix(crate::session::ENDING).unwrap_or(&name).to_owned();
                path.with_file_name(stem)
            },
        );
        Self {
            format,
            path: format!("{}.{}", beside.display(), format.ending()),
            tolerance: format_quantity_exact(USUAL_TOLERANCE_UM * 1000.0, Unit::NANOMETRE),
            scale_bar: true,
            replace: None,
            writing: None,
            trouble: None,
        }
    }

    pub(super) fn suggestion(&self) -> PathBuf {
        PathBuf::from(self.path.trim())
    }

    pub(super) fn set_path(&mut self, path: &Path) {
        self.path = path.display().to_string();
        // The desktop's dialog has asked already.
        self.replace = Some(self.path.clone());
    }

    fn set_format(&mut self, format: Format) {
        if format != self.format {
            let old = format!(".{}", self.format.ending());
            if let Some(stem) = self.path.strip_suffix(&old) {
                self.path = format!("{stem}.{}", format.ending());
            }
            self.format = format;
        }
    }

    pub(super) fn ui(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) -> Next {
        if let Some(next) = self.take_result(out) {
            return next;
        }
        title(ui, "Export");
        let mut format = self.format;
        ui.radio_value(&mut format, Format::Drawing, "Ribbon as a drawing (SVG), 1 mm to 1 mm");
        ui.radio_value(&mut format, Format::Table, "Centreline and edges as a table (CSV)");
        self.set_format(format);
        ui.horizontal(|ui| {
            let label = ui.label(RichText::new("Tolerance").color(theme.muted));
            ui.add(TextEdit::singleline(&mut self.tolerance).desired_width(80.0))
                .labelled_by(label.id)
                .on_hover_text("Largest distance between a chord and the curve that it stands for");
            if self.format == Format::Drawing {
                ui.checkbox(&mut self.scale_bar, "Scale bar");
            }
        });
        let tolerance = self.tolerance_um();
        if let Err(reason) = &tolerance {
            ui.label(RichText::new(reason).small().color(theme.bad));
        }
        let label = ui.label(RichText::new("File").color(theme.muted));
        ui.add(TextEdit::singleline(&mut self.path).desired_width(f32::INFINITY)).labelled_by(label.id);
        let path = self.suggestion();
        let exists = path.is_file() && self.replace.as_ref() != Some(&self.path);
        if exists {
            ui.label(RichText::new("The file is there already").small().color(theme.warn));
        }
        if let Some(trouble) = &self.trouble {
            ui.label(RichText::new(trouble).color(theme.bad));
        }
        let mut next = Next::Stay;
        ui.horizontal(|ui| {
            let ready = !path.as_os_str().is_empty() && !path.is_dir() && self.writing.is_none();
            let text = if exists { "Replace" } else { "Export" };
            let clicked = ui.add_enabled(ready && tolerance.is_ok(), egui::Button::new(text)).clicked();
            if let (true, Ok(tolerance_um), Some(checked)) = (clicked, tolerance, session.checked()) {
                self.begin(ui, Checked::clone(checked), session.title(), path, tolerance_um);
            }
            if ui.button("Browse…").clicked() {
                next = Next::Browse(self.format.kind());
            }
            if ui.button("Cancel").clicked() {
                next = Next::Close;
            }
            if self.writing.is_some() {
                ui.spinner();
                ui.label(RichText::new("Writing…").color(theme.muted));
            }
        });
        next
    }

    fn tolerance_um(&self) -> Result<f64, String> {
        let value = parse_quantity(&self.tolerance, Dimension::Length, Unit::MICROMETRE)
            .map_err(|error| error.to_string())?;
        if (LEAST_TOLERANCE_UM..=MOST_TOLERANCE_UM).contains(&value) {
            Ok(value)
        } else {
            let [low, high] = [LEAST_TOLERANCE_UM, MOST_TOLERANCE_UM].map(|v| digits_text(v, 3));
            Err(format!("the tolerance lies between {low} and {high} µm"))
        }
    }

    /// Writes on a thread of its own: ten thousand periods take a while.
    fn begin(
        &mut self,
        ctx: &egui::Context,
        checked: Checked,
        title: String,
        path: PathBuf,
        tolerance_um: f64,
    ) {
        let (sender, writing) = channel();
        let (format, scale_bar, ctx) = (self.format, self.scale_bar, ctx.clone());
        let thread = std::thread::Builder::new().name("ogee-export".to_owned()).spawn(move || {
            let options = DrawingOptions { title, tolerance_um, scale_bar };
            // The dialog may have been closed meanwhile.
            let _ = sender.send(write(&checked, format, &options, &path));
            ctx.request_repaint();
        });
        match thread {
            Ok(_) => {
                self.writing = Some(writing);
                self.trouble = None;
            }
            Err(error) => self.trouble = Some(format!("no thread to write on: {error}")),
        }
    }

    fn take_result(&mut self, out: &mut Vec<Command>) -> Option<Next> {
        match self.writing.as_ref()?.try_recv() {
            Ok(Ok(words)) => {
                out.push(Command::Tell(Message::info(words)));
                Some(Next::Close)
            }
            Ok(Err(trouble)) => {
                self.trouble = Some(trouble);
                self.writing = None;
                None
            }
            Err(TryRecvError::Disconnected) => {
                self.trouble = Some("the export broke down".to_owned());
                self.writing = None;
                None
            }
            Err(TryRecvError::Empty) => None,
        }
    }
}

fn write(checked: &Checked, format: Format, options: &DrawingOptions, path: &Path) -> Result<String, String> {
    let mut bytes = Vec::new();
    let (line, width_um) = (checked.centreline(), checked.width_um());
    let summary = match format {
        Format::Table => write_centreline_csv(&mut bytes, line, width_um, options.tolerance_um),
        Format::Drawing => write_centreline_svg(&mut bytes, line, width_um, options),
    }
    .map_err(|error| error.to_string())?;
    write_safely(path, &bytes)
        .map_err(|error| format!("nothing was written: {error} ({})", path.display()))?;
    let off = digits_text(summary.largest_chord_error_um * 1000.0, 2);
    Ok(format!("Wrote {} points, chords off by {off} nm at most ({})", summary.points, path.display()))
}
