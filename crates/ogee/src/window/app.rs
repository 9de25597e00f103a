//! The window's shell: it lays the panels out, takes in results and applies commands.

use super::{AlongPanel, DrawingPanel, InputsPanel, MapPanel, MarginsPanel, StretchBar, Theme};
use crate::session::{Command, Session};
use egui::{CentralPanel, Frame, Margin, Panel};

/// The window.
#[derive(Debug)]
pub struct App {
    /// The person's work.
    pub session: Session,
    inputs: InputsPanel,
    drawing: DrawingPanel,
    stretch: StretchBar,
    map: MapPanel,
    along: AlongPanel,
    margins: MarginsPanel,
    commands: Vec<Command>,
}

impl App {
    /// A window that shows `session`. Reads no files by itself.
    pub fn new(ctx: &egui::Context, mut session: Session) -> Self {
        Theme::install(ctx);
        let waker = ctx.clone();
        session.set_wake(move || waker.request_repaint());
        Self {
            session,
            inputs: InputsPanel::default(),
            drawing: DrawingPanel::default(),
            stretch: StretchBar::default(),
            map: MapPanel::default(),
            along: AlongPanel::default(),
            margins: MarginsPanel::default(),
            commands: Vec::new(),
        }
    }
}

impl eframe::App for App {
    fn logic(&mut self, _ctx: &egui::Context, _frame: &mut eframe::Frame) {
        self.session.poll();
        for command in std::mem::take(&mut self.commands) {
            self.session.apply(command);
        }
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        let theme = Theme::of(ui.ctx());
        let (session, out) = (&self.session, &mut self.commands);
        let around = Frame::new().inner_margin(Margin::same(6));
        Panel::left("inputs").frame(around).default_size(286.0).show(ui, |ui| {
            theme.card().show(ui, |ui| self.inputs.ui(ui, session, &theme, out));
        });
        Panel::right("margins").frame(around).default_size(300.0).show(ui, |ui| {
            theme.card().show(ui, |ui| self.margins.ui(ui, session, &theme, out));
        });
        CentralPanel::default().frame(around).show(ui, |ui| {
            let whole = ui.available_size();
            ui.allocate_ui(egui::vec2(whole.x, whole.y * 0.5), |ui| {
                theme.card().show(ui, |ui| self.drawing.ui(ui, session, &theme, out));
            });
            theme.card().show(ui, |ui| self.stretch.ui(ui, session, &theme, out));
            ui.columns(2, |columns| {
                theme.card().show(&mut columns[0], |ui| self.map.ui(ui, session, &theme, out));
                theme.card().show(&mut columns[1], |ui| self.along.ui(ui, session, &theme, out));
            });
        });
    }
}
