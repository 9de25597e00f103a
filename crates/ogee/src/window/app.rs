//! The window's shell: it lays the panels out, takes in results, and applies commands.

use super::dialogs::{Chooser, Dialogs, FileKind, NativeChooser};
use super::menu::{self, Asked};
use super::{DrawingPanel, FigurePanel, InputsPanel, MapPanel, MarginsPanel, StretchBar, Theme};
use crate::session::{Action, Command, MessageKind, Request, Session, SettingsChange, ThemeChoice};
use egui::text::{LayoutJob, TextFormat};
use egui::{
    Align, Align2, CentralPanel, Color32, FontId, Frame, Id, LayerId, Layout, Margin, Order, Panel, Sense,
    Ui, ViewportCommand, vec2,
};
use std::sync::Arc;
use std::time::Instant;

/// Gap around cards, points.
const GAP: i8 = 4;

/// Room for the button of a strip, points.
const BUTTON_ROOM: f32 = 76.0;
/// Least width of a side panel, points.
const LEAST_SIDE: f32 = 212.0;
/// Most of the window's width that a side panel takes.
const SIDE_SHARE: f32 = 0.26;
/// Below this height of the middle, points, the plots give way to the drawing.
const LOW: f32 = 600.0;
/// Below this width the map and the figure share one place.
const LEAST_FOR_BOTH_PLOTS: f32 = 540.0;

/// What a first start shows.
const HINTS: [&str; 3] = [
    "Drag the diamonds on the ribbon; everything answers at once",
    "Point at a margin to see its place; click it for formula and source",
    "Numbers take units: 1.2 mm, 350 nm, 2 GPa",
];

/// The window.
pub struct App {
    session: Session,
    inputs: InputsPanel,
    drawing: DrawingPanel,
    stretch: StretchBar,
    map: MapPanel,
    figures: FigurePanel,
    margins: MarginsPanel,
    /// Of the map and the figure, where there is room for one.
    map_in_front: bool,
    dialogs: Dialogs,
    commands: Vec<Command>,
    theme_set: Option<ThemeChoice>,
    title_set: String,
    close_sent: bool,
    shown: bool,
}

impl std::fmt::Debug for App {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("App").field("session", &self.session).finish_non_exhaustive()
    }
}

impl App {
    /// A window that shows `session`. Reads no files by itself.
    pub fn new(ctx: &egui::Context, session: Session) -> Self {
        Self::with_chooser(ctx, session, Arc::new(NativeChooser))
    }

    /// The same with another way to ask for files.
    pub fn with_chooser(ctx: &egui::Context, mut session: Session, chooser: Arc<dyn Chooser>) -> Self {
        Theme::install(ctx);
        Theme::choose(ctx, session.settings().theme);
        ctx.set_zoom_factor((session.settings().text_percent / 100.0) as f32);
        let waker = ctx.clone();
        session.set_wake(move || waker.request_repaint());
        Self {
            session,
            inputs: InputsPanel::default(),
            drawing: DrawingPanel::default(),
            stretch: StretchBar::default(),
            map: MapPanel::default(),
            figures: FigurePanel::default(),
            margins: MarginsPanel::default(),
            map_in_front: true,
            dialogs: Dialogs::new(chooser),
            commands: Vec::new(),
            theme_set: None,
            title_set: String::new(),
            close_sent: false,
            shown: false,
        }
    }

    /// The person's work.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// Changes the session as a panel would.
    pub fn send(&mut self, command: Command) {
        self.commands.push(command);
    }

    fn begin(&mut self, action: Action, ctx: &egui::Context) {
        if !action.is_available(self.session.environment()) {
            return;
        }
        let percent = self.session.settings().text_percent;
        let command = match action {
            Action::New => Command::New,
            Action::Save => Command::Save,
            Action::Undo => Command::Undo,
            Action::Redo => Command::Redo,
            Action::Pin => Command::Pin,
            Action::Play => Command::Play(!self.session.playing()),
            Action::Quit => Command::Close,
            Action::FitDrawing => return self.drawing.fit(),
            Action::SwitchView => return self.drawing.switch_view(),
            Action::LargerText | Action::SmallerText | Action::UsualText => {
                let Some(percent) = menu::text_percent(action, percent) else { return };
                Command::Settings(SettingsChange::TextPercent(percent))
            }
            Action::Open
            | Action::SaveAs
            | Action::Export
            | Action::Compare
            | Action::Shortcuts
            | Action::About => {
                return self.dialogs.begin(action, ctx, &self.session);
            }
        };
        self.commands.push(command);
    }

    /// What the desktop brings: files dropped, the focus, the wish to close.
    fn take_events(&mut self, ctx: &egui::Context) {
        let (dropped, focused, closing) = ctx.input(|input| {
            let dropped = input.raw.dropped_files.first().map(|file| file.path().to_path_buf());
            let focused = input.events.iter().any(|event| matches!(event, egui::Event::WindowFocused(true)));
            (dropped, focused, input.viewport().close_requested())
        });
        if let Some(path) = dropped.filter(|path| !path.as_os_str().is_empty()) {
            self.commands.push(Command::Open(path));
        }
        if focused {
            self.commands.push(Command::LookAtDisk);
        }
        if closing && !self.session.is_closed() {
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
            self.commands.push(Command::Close);
        }
    }

    /// Brings what egui keeps in line with the session.
    fn follow(&mut self, ctx: &egui::Context) {
        let settings = self.session.settings();
        if self.theme_set != Some(settings.theme) {
            self.theme_set = Some(settings.theme);
            Theme::choose(ctx, settings.theme);
        }
        let zoom = (settings.text_percent / 100.0) as f32;
        if (ctx.zoom_factor() - zoom).abs() > 1e-4 {
            ctx.set_zoom_factor(zoom);
        }
        let mark = if self.session.is_modified() { " — edited" } else { "" };
        let title = format!("{}{mark} – Ogee", self.session.title());
        if title != self.title_set {
            ctx.send_viewport_cmd(ViewportCommand::Title(title.clone()));
            self.title_set = title;
        }
        for request in self.session.take_requests() {
            match request {
                Request::ChooseSavePath => {
                    self.dialogs.ask_for_path(FileKind::SaveDesign, ctx, &self.session);
                }
            }
        }
        if self.session.is_closed() && !self.close_sent {
            self.close_sent = true;
            ctx.send_viewport_cmd(ViewportCommand::Close);
        }
        if let Some(idle) = self.session.idle_for(Instant::now()) {
            ctx.request_repaint_after(idle);
        }
    }

    fn panels(&mut self, ui: &mut Ui, theme: &Theme) {
        let (session, out) = (&self.session, &mut self.commands);
        let around = Frame::new().fill(theme.paper).inner_margin(Margin::same(GAP));
        let settings = session.settings();
        // In a narrow window the sides give way, so that the drawing stays the largest.
        let most_side = (SIDE_SHARE * ui.available_width()).clamp(LEAST_SIDE + 1.0, 460.0);
        if settings.inputs_shown {
            Panel::left("inputs")
                .frame(around)
                .default_size(278.0)
                .size_range(LEAST_SIDE..=most_side)
                .show_separator_line(false)
                .show(ui, |ui| self.inputs.ui(ui, session, theme, out));
        }
        if settings.margins_shown {
            Panel::right("margins")
                .frame(around)
                .default_size(286.0)
                .size_range(LEAST_SIDE..=most_side)
                .show_separator_line(false)
                .show(ui, |ui| filled_card(ui, theme, |ui| self.margins.ui(ui, session, theme, out)));
        }
        if settings.plots_shown {
            // Likewise in a low one.
            let height = ui.available_height();
            let most = (height * if height < LOW { 0.42 } else { 0.6 }).max(121.0);
            Panel::bottom("plots")
                .frame(around)
                .default_size((0.38 * ui.available_height()).max(150.0))
                .size_range(120.0..=most)
                .resizable(true)
                .show_separator_line(false)
                .show(ui, |ui| {
                    if ui.available_width() < LEAST_FOR_BOTH_PLOTS {
                        ui.horizontal(|ui| {
                            ui.selectable_value(&mut self.map_in_front, true, "Amplitude × pitch");
                            let figure = self.figures.title(session);
                            ui.selectable_value(&mut self.map_in_front, false, figure);
                        });
                        part(ui, ui.available_size(), |ui| {
                            filled_card(ui, theme, |ui| {
                                if self.map_in_front {
                                    self.map.ui(ui, session, theme, out);
                                } else {
                                    self.figures.ui(ui, session, theme, out);
                                }
                            });
                        });
                        return;
                    }
                    let gap = 2.0 * f32::from(GAP);
                    let size = vec2((ui.available_width() - gap) / 2.0, ui.available_height());
                    ui.horizontal_top(|ui| {
                        ui.spacing_mut().item_spacing.x = gap;
                        part(ui, size, |ui| {
                            filled_card(ui, theme, |ui| self.map.ui(ui, session, theme, out));
                        });
                        part(ui, size, |ui| {
                            filled_card(ui, theme, |ui| self.figures.ui(ui, session, theme, out));
                        });
                    });
                });
        }
        Panel::bottom("stretch").frame(around).resizable(false).show_separator_line(false).show(ui, |ui| {
            theme.card().show(ui, |ui| {
                ui.set_width(ui.available_width());
                self.stretch.ui(ui, session, theme, out);
            });
        });
        CentralPanel::default().frame(around).show(ui, |ui| {
            messages(ui, session, theme, out);
            hints(ui, session, theme, out);
            // The canvas has a border of its own.
            self.drawing.ui(ui, session, theme, out);
        });
    }
}

/// A place of a given size.
fn part(ui: &mut Ui, size: egui::Vec2, content: impl FnOnce(&mut Ui)) {
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let builder = egui::UiBuilder::new().max_rect(rect).layout(Layout::top_down(Align::Min));
    ui.scope_builder(builder, content);
}

/// A card that fills its place.
fn filled_card(ui: &mut Ui, theme: &Theme, content: impl FnOnce(&mut Ui)) {
    theme.card().show(ui, |ui| {
        let size = ui.available_size();
        ui.set_min_size(size);
        ui.set_max_size(size);
        content(ui);
    });
}

/// What could not be done, and what was.
fn messages(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    for (index, message) in session.messages().iter().enumerate() {
        let (ground, ink, word) = match message.kind {
            MessageKind::Trouble => (theme.bad_soft, theme.bad, "Not done"),
            MessageKind::Info => (theme.accent_soft, theme.accent, "Done"),
        };
        let mut text = LayoutJob::default();
        append(&mut text, word, Theme::bold(12.5), ink);
        append(&mut text, &format!("  {}", message.text), FontId::proportional(12.5), theme.text);
        if strip(ui, ground, text, "Dismiss") {
            out.push(Command::Dismiss(index));
        }
    }
}

/// The hints of a first start.
fn hints(ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    if !session.settings().hints_shown {
        return;
    }
    let mut text = LayoutJob::default();
    for (number, hint) in HINTS.iter().enumerate() {
        append(&mut text, &format!("{}  ", number + 1), Theme::bold(12.0), theme.accent);
        let end = if number + 1 < HINTS.len() { "\n" } else { "" };
        append(&mut text, &format!("{hint}{end}"), FontId::proportional(12.0), theme.text);
    }
    if strip(ui, theme.accent_soft, text, "Got it") {
        out.push(Command::Settings(SettingsChange::HintsShown(false)));
    }
}

fn append(job: &mut LayoutJob, text: &str, font: FontId, ink: Color32) {
    job.append(text, 0.0, TextFormat::simple(font, ink));
}

/// A coloured strip with a text and, on its right, a button. Returns whether it was clicked.
fn strip(ui: &mut Ui, ground: Color32, mut text: LayoutJob, button: &str) -> bool {
    let mut clicked = false;
    Frame::new().fill(ground).corner_radius(5).inner_margin(Margin::symmetric(10, 6)).show(ui, |ui| {
        text.wrap.max_width = ui.available_width() - BUTTON_ROOM;
        let galley = ui.painter().layout_job(text);
        let size = vec2(ui.available_width(), galley.size().y.max(ui.spacing().interact_size.y));
        let (place, _) = ui.allocate_exact_size(size, Sense::hover());
        let at = |layout| egui::UiBuilder::new().max_rect(place).layout(layout);
        ui.scope_builder(at(Layout::left_to_right(Align::Center)), |ui| ui.label(galley));
        ui.scope_builder(at(Layout::right_to_left(Align::Center)), |ui| {
            clicked = ui.button(button).clicked();
        });
    });
    ui.add_space(f32::from(GAP));
    clicked
}

/// While a file hovers over the window.
fn drop_overlay(ctx: &egui::Context, theme: &Theme) {
    if ctx.input(|input| input.raw.hovered_files.is_empty()) {
        return;
    }
    let painter = ctx.layer_painter(LayerId::new(Order::Foreground, Id::unique("drop")));
    let area = ctx.content_rect();
    painter.rect_filled(area, 0.0, theme.paper.gamma_multiply(0.85));
    let font = FontId::proportional(20.0);
    painter.text(area.center(), Align2::CENTER_CENTER, "Drop the design to open it", font, theme.accent);
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.take_events(ctx);
        for command in std::mem::take(&mut self.commands) {
            self.session.apply(command);
        }
        self.session.poll();
        self.follow(ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let theme = Theme::of(ui);
        let covered = self.dialogs.is_open(&self.session);
        let typing = ui.egui_wants_keyboard_input();
        let mut actions = if covered { Vec::new() } else { menu::pressed(ui, typing) };
        if typing && !actions.is_empty() {
            // The field takes what was typed before the action begins.
            ui.memory_mut(|memory| {
                if let Some(id) = memory.focused() {
                    memory.surrender_focus(id);
                }
            });
        }
        ui.painter().rect_filled(ui.content_rect(), 0.0, theme.paper);
        let bar = Frame::new().fill(theme.panel).inner_margin(Margin::symmetric(12, 5));
        Panel::top("bar").frame(bar).show(ui, |ui| {
            let mut asked = Asked { commands: &mut self.commands, actions: &mut actions };
            menu::bar(ui, &self.session, &theme, &mut asked);
        });
        self.panels(ui, &theme);
        if self.dialogs.ui(ui, &self.session, &theme, &mut self.commands) {
            self.session.give_up_saving();
        }
        drop_overlay(ui, &theme);
        for action in actions {
            self.begin(action, ui);
        }
        if !std::mem::replace(&mut self.shown, true) {
            log::debug!("the first frame is laid out");
        }
        if !self.commands.is_empty() {
            // They are applied before the next frame, which must come at once.
            ui.request_repaint();
        }
    }
}
