//! Questions of the session: unsaved work, a file that changed on the disk, copies of an earlier run.

use super::{frame, title};
use crate::session::{Answer, Command, Offer, Question, Session};
use crate::window::theme::Theme;
use egui::{Button, Id, Modal, RichText, Ui};
use std::time::SystemTime;

pub(super) fn ui(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    let Some(question) = session.question() else { return };
    let mut answer = None;
    let modal = Modal::new(Id::unique("question")).frame(frame(theme)).show(ui, |ui| {
        ui.set_width(420.0);
        ui.spacing_mut().item_spacing.y = 8.0;
        answer = match question {
            Question::Unsaved { .. } => unsaved(ui, session, theme),
            Question::ChangedOnDisk { path, saving } => {
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                changed(ui, &name, *saving, session.is_modified(), theme)
            }
            Question::Recover(offers) => recover(ui, offers, theme),
        };
    });
    if modal.should_close() {
        answer = Some(Answer::Cancel);
    }
    out.extend(answer.map(Command::Answer));
}

fn unsaved(ui: &mut Ui, session: &Session, theme: &Theme) -> Option<Answer> {
    title(ui, &format!("Save the changes of {}?", session.title()));
    ui.label(RichText::new("Without saving they are lost").color(theme.muted));
    row(ui, theme, &[("Save", Answer::Save), ("Don't save", Answer::Discard), ("Cancel", Answer::Cancel)])
}

fn changed(ui: &mut Ui, name: &str, saving: bool, modified: bool, theme: &Theme) -> Option<Answer> {
    title(ui, &format!("{name} changed on the disk"));
    let words = match (saving, modified) {
        (true, _) => "Another program wrote it since it was opened. Saving would replace what it wrote",
        (false, true) => "Another program wrote it. Reading it again gives up your changes",
        (false, false) => "Another program wrote it since it was opened",
    };
    ui.label(RichText::new(words).color(theme.muted));
    if saving {
        row(
            ui,
            theme,
            &[
                ("Replace it", Answer::Overwrite),
                ("Read it again", Answer::Reload),
                ("Cancel", Answer::Cancel),
            ],
        )
    } else {
        row(ui, theme, &[("Read it again", Answer::Reload), ("Keep mine", Answer::Cancel)])
    }
}

fn recover(ui: &mut Ui, offers: &[Offer], theme: &Theme) -> Option<Answer> {
    title(ui, "Unsaved work was found");
    ui.label(
        RichText::new("An earlier run ended without saving. Its copies are still there").color(theme.muted),
    );
    let mut answer = None;
    for offer in offers {
        ui.horizontal(|ui| {
            let name = if offer.design.name.is_empty() { "untitled" } else { &offer.design.name };
            let open = RichText::new(format!("Open {name}")).color(theme.on_accent);
            if ui.add(Button::new(open).fill(theme.accent)).clicked() {
                answer = Some(Answer::Recover(offer.id.clone()));
            }
            let file =
                offer.path.as_ref().map_or_else(|| "never saved".to_owned(), |p| p.display().to_string());
            ui.label(
                RichText::new(format!("{}, {file}", offer.age(SystemTime::now()))).small().color(theme.muted),
            );
        });
    }
    ui.horizontal(|ui| {
        if ui.button("Decide later").clicked() {
            answer = Some(Answer::Cancel);
        }
        if ui.button("Throw them away").clicked() {
            answer = Some(Answer::ForgetRecovery);
        }
    });
    answer
}

/// Buttons in a row; the first is the one that is usually meant.
fn row(ui: &mut Ui, theme: &Theme, answers: &[(&str, Answer)]) -> Option<Answer> {
    let mut chosen = None;
    ui.horizontal(|ui| {
        for (index, (text, answer)) in answers.iter().enumerate() {
            let button = if index == 0 {
                Button::new(RichText::new(*text).color(theme.on_accent)).fill(theme.accent)
            } else {
                Button::new(*text)
            };
            if ui.add(button).clicked() {
                chosen = Some(answer.clone());
            }
        }
    });
    chosen
}
