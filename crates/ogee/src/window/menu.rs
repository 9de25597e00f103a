//! The top bar: menus, the name of the design, and what is done most.

use super::pins;
use super::theme::Theme;
use crate::session::{
    Action, ColourMap, Command, SAMPLES, Session, SettingsChange, Shortcut, ShortcutKey, TEXT_PERCENT,
    ThemeChoice,
};
use egui::{
    Align, Button, Key, KeyboardShortcut, Layout, MenuBar, Modifiers, RichText, Ui,
    containers::menu::SubMenuButton,
};

/// Step of the text size, %.
const TEXT_STEP: f64 = 10.0;

/// What the bar asks for: commands for the session, actions for the window.
pub(super) struct Asked<'a> {
    pub(super) commands: &'a mut Vec<Command>,
    pub(super) actions: &'a mut Vec<Action>,
}

/// The top bar.
pub(super) fn bar(ui: &mut Ui, session: &Session, theme: &Theme, asked: &mut Asked<'_>) {
    MenuBar::new().ui(ui, |ui| {
        ui.label(RichText::new("Ogee").font(Theme::bold(15.0)).color(theme.accent));
        ui.add_space(4.0);
        ui.menu_button("File", |ui| file_menu(ui, session, theme, asked));
        ui.menu_button("Edit", |ui| edit_menu(ui, session, asked));
        ui.menu_button("View", |ui| view_menu(ui, session, asked));
        ui.menu_button("Help", |ui| help_menu(ui, session, asked));
        let state = if session.is_modified() { " — edited" } else { "" };
        let title = RichText::new(format!("{}{state}", session.title())).color(theme.muted);
        let middle = ui.ctx().content_rect().center().x;
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            button(ui, session, Action::Export, asked);
            button(ui, session, Action::Pin, asked);
            pins::chips(ui, session, theme, asked.commands);
            if session.environment().pins > 0 {
                button_named(ui, session, Action::Compare, "Compare", asked);
            }
            ui.separator();
            button(ui, session, Action::Redo, asked);
            button(ui, session, Action::Undo, asked);
            // The title stands in the middle of the window where there is room for it.
            let galley =
                egui::WidgetText::from(title).into_galley(ui, None, f32::INFINITY, egui::TextStyle::Body);
            let room = ui.available_rect_before_wrap();
            let wished = middle - galley.size().x / 2.0;
            let left = wished
                .clamp(room.left() + 4.0, (room.right() - galley.size().x - 8.0).max(room.left() + 4.0));
            let at = egui::pos2(left, room.center().y - galley.size().y / 2.0);
            let area = egui::Rect::from_min_size(at, galley.size()).intersect(room);
            let clip = ui.painter().with_clip_rect(room.intersect(ui.clip_rect()));
            clip.galley(at, galley, theme.muted);
            let response = ui.interact(area, ui.scope_id().with("title"), egui::Sense::hover());
            let path =
                session.file().path().map_or_else(|| "not saved yet".to_owned(), |p| p.display().to_string());
            response.widget_info(|| {
                egui::WidgetInfo::labeled(egui::Role::Label, true, format!("{}{state}", session.title()))
            });
            response.on_hover_text(path);
        });
    });
}

fn file_menu(ui: &mut Ui, session: &Session, theme: &Theme, asked: &mut Asked<'_>) {
    entry(ui, session, Action::New, asked);
    entry(ui, session, Action::Open, asked);
    let recent = &session.settings().recent;
    ui.add_enabled_ui(!recent.is_empty(), |ui| {
        SubMenuButton::new("Open recent").ui(ui, |ui| {
            for path in recent {
                let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
                let there = path.exists();
                let response = ui.add_enabled(there, Button::new(&*name));
                let words = if there {
                    path.display().to_string()
                } else {
                    format!("{} is not there", path.display())
                };
                if response.on_hover_text(&words).on_disabled_hover_text(&words).clicked() {
                    asked.commands.push(Command::Open(path.clone()));
                }
            }
            ui.separator();
            if ui.button("Clear list").clicked() {
                asked.commands.push(Command::Settings(SettingsChange::ClearRecent));
            }
        });
    });
    SubMenuButton::new("Samples").ui(ui, |ui| {
        for (index, sample) in SAMPLES.iter().enumerate() {
            if ui.button(sample.name).on_hover_text(sample.about).clicked() {
                asked.commands.push(Command::OpenSample(index));
            }
        }
        ui.label(RichText::new("Their data are invented").small().color(theme.muted));
    });
    ui.separator();
    entry(ui, session, Action::Save, asked);
    entry(ui, session, Action::SaveAs, asked);
    entry(ui, session, Action::Export, asked);
    ui.separator();
    entry(ui, session, Action::Quit, asked);
}

fn edit_menu(ui: &mut Ui, session: &Session, asked: &mut Asked<'_>) {
    let named = |action: Action, label: Option<&str>| match label {
        Some(label) => format!("{}: {}", action.line().text, lower(label)),
        None => action.line().text.to_owned(),
    };
    entry_named(ui, session, Action::Undo, &named(Action::Undo, session.undo_label()), asked);
    entry_named(ui, session, Action::Redo, &named(Action::Redo, session.redo_label()), asked);
    ui.separator();
    entry(ui, session, Action::Pin, asked);
    entry(ui, session, Action::Compare, asked);
}

/// A setting that is on or off: its name, whether it is on, and what changes it.
type Switch = (&'static str, bool, fn(bool) -> SettingsChange);

fn view_menu(ui: &mut Ui, session: &Session, asked: &mut Asked<'_>) {
    let settings = session.settings();
    let mut change = |change| asked.commands.push(Command::Settings(change));
    SubMenuButton::new("Light or dark").ui(ui, |ui| {
        for (choice, name) in [
            (ThemeChoice::System, "As the desktop"),
            (ThemeChoice::Light, "Light"),
            (ThemeChoice::Dark, "Dark"),
        ] {
            if ui.radio(settings.theme == choice, name).clicked() {
                change(SettingsChange::Theme(choice));
            }
        }
    });
    SubMenuButton::new("Colour scale").ui(ui, |ui| {
        for map in ColourMap::ALL {
            if ui.radio(settings.colour_map == map, map.label()).clicked() {
                change(SettingsChange::ColourMap(map));
            }
        }
    });
    let panels: [Switch; 3] = [
        ("Inputs", settings.inputs_shown, SettingsChange::InputsShown),
        ("Margins", settings.margins_shown, SettingsChange::MarginsShown),
        ("Plots", settings.plots_shown, SettingsChange::PlotsShown),
    ];
    let details: [Switch; 4] = [
        ("Ribbon at rest", settings.rest_shown, SettingsChange::RestShown),
        ("Isolines", settings.isolines_shown, SettingsChange::IsolinesShown),
        ("Snapping", settings.snapping, SettingsChange::Snapping),
        ("Hints", settings.hints_shown, SettingsChange::HintsShown),
    ];
    for (group, switches) in [&panels[..], &details[..]].into_iter().enumerate() {
        if group > 0 {
            ui.separator();
        }
        for (name, mut on, of) in switches.iter().copied() {
            if ui.checkbox(&mut on, name).clicked() {
                change(of(on));
            }
        }
    }
    ui.separator();
    entry(ui, session, Action::FitDrawing, asked);
    entry(ui, session, Action::SwitchView, asked);
    entry(ui, session, Action::Play, asked);
    ui.separator();
    for action in [Action::LargerText, Action::SmallerText, Action::UsualText] {
        entry(ui, session, action, asked);
    }
}

fn help_menu(ui: &mut Ui, session: &Session, asked: &mut Asked<'_>) {
    entry(ui, session, Action::Shortcuts, asked);
    entry(ui, session, Action::About, asked);
}

fn entry(ui: &mut Ui, session: &Session, action: Action, asked: &mut Asked<'_>) {
    entry_named(ui, session, action, action.line().text, asked);
}

fn entry_named(ui: &mut Ui, session: &Session, action: Action, text: &str, asked: &mut Asked<'_>) {
    let mut button = Button::new(text);
    if let Some(shortcut) = action.line().shortcuts.first() {
        button = button.shortcut_text(ui.format_shortcut(&keyboard(*shortcut)));
    }
    let available = action.is_available(session.environment());
    if ui.add_enabled(available, button).on_hover_text(action.line().tooltip).clicked() {
        asked.actions.push(action);
    }
}

fn button(ui: &mut Ui, session: &Session, action: Action, asked: &mut Asked<'_>) {
    button_named(ui, session, action, action.line().text, asked);
}

fn button_named(ui: &mut Ui, session: &Session, action: Action, text: &str, asked: &mut Asked<'_>) {
    let line = action.line();
    let mut words = match action {
        Action::Undo => {
            session.undo_label().map_or_else(|| line.tooltip.to_owned(), |l| format!("Undo: {}", lower(l)))
        }
        Action::Redo => {
            session.redo_label().map_or_else(|| line.tooltip.to_owned(), |l| format!("Redo: {}", lower(l)))
        }
        _ => line.tooltip.to_owned(),
    };
    if let Some(shortcut) = line.shortcuts.first() {
        words = format!("{words} ({})", ui.format_shortcut(&keyboard(*shortcut)));
    }
    let available = action.is_available(session.environment());
    let response = ui.add_enabled(available, Button::new(text));
    if response.on_hover_text(&words).on_disabled_hover_text(&words).clicked() {
        asked.actions.push(action);
    }
}

fn lower(label: &str) -> String {
    let mut text = label.to_owned();
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_lowercase();
    }
    text
}

/// The toolkit's shortcut.
pub(super) fn keyboard(shortcut: Shortcut) -> KeyboardShortcut {
    let mut modifiers = Modifiers::NONE;
    if shortcut.command {
        modifiers |= Modifiers::COMMAND;
    }
    if shortcut.shift {
        modifiers |= Modifiers::SHIFT;
    }
    let key = match shortcut.key {
        ShortcutKey::Letter(letter) => Key::from_name(&letter.to_string())
            .expect("letters of the list are keys; a test presses them all"),
        ShortcutKey::Plus => Key::Plus,
        ShortcutKey::Minus => Key::Minus,
        ShortcutKey::Zero => Key::Num0,
        ShortcutKey::Comma => Key::Comma,
        ShortcutKey::F1 => Key::F1,
    };
    KeyboardShortcut::new(modifiers, key)
}

/// Actions whose shortcut was pressed, the longest chord first; only those that `typing` lets through.
pub(super) fn pressed(ctx: &egui::Context, typing: bool) -> Vec<Action> {
    let mut all: Vec<(Shortcut, Action)> = crate::session::ACTIONS
        .iter()
        .filter(|line| !typing || line.action.works_while_typing())
        .flat_map(|line| line.shortcuts.iter().map(|shortcut| (*shortcut, line.action)))
        .collect();
    all.sort_by_key(|(shortcut, _)| (!shortcut.shift, !shortcut.command));
    let mut pressed = Vec::new();
    ctx.input_mut(|input| {
        for (shortcut, action) in all {
            // The plus sign lies on the equals key of many keyboards.
            let also = (shortcut.key == ShortcutKey::Plus)
                .then(|| KeyboardShortcut::new(Modifiers::COMMAND, Key::Equals));
            if input.consume_shortcut(&keyboard(shortcut))
                || also.is_some_and(|also| input.consume_shortcut(&also))
            {
                pressed.push(action);
            }
        }
    });
    pressed
}

/// The text size that an action leads to.
pub(super) fn text_percent(action: Action, now: f64) -> Option<f64> {
    let to = match action {
        Action::LargerText => now + TEXT_STEP,
        Action::SmallerText => now - TEXT_STEP,
        Action::UsualText => 100.0,
        _ => return None,
    };
    Some(to.clamp(TEXT_PERCENT[0], TEXT_PERCENT[1]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shortcut_is_a_key() {
        for line in crate::session::ACTIONS {
            for shortcut in line.shortcuts {
                let _ = keyboard(*shortcut);
            }
        }
    }

    #[test]
    fn text_sizes_stay_in_their_range() {
        assert_eq!(text_percent(Action::LargerText, 100.0), Some(110.0));
        assert_eq!(text_percent(Action::LargerText, 200.0), Some(200.0));
        assert_eq!(text_percent(Action::SmallerText, 80.0), Some(80.0));
        assert_eq!(text_percent(Action::UsualText, 150.0), Some(100.0));
        assert_eq!(text_percent(Action::Save, 150.0), None);
    }
}
