//! What every figure is given, and how one is laid out: title, plot, caption, model and its limits.

use crate::session::Command;
use crate::window::inputs::section;
use crate::window::theme::Theme;
use egui::{Color32, Layout, Rect, RichText, ScrollArea, Sense, Ui, UiBuilder, vec2};
use ogee_design::{Design, Place};
use std::cell::RefCell;

/// From this width on, points, the caption stands beside the plot and not below it.
const WIDE: f32 = 620.0;
/// Part of the width that a caption beside the plot takes.
const CAPTION_SHARE: f32 = 0.4;
/// What is seen of a caption below the plot before one scrolls, points.
const PEEK: f32 = 58.0;
/// A plot above its caption grows no higher than this, points.
const HIGHEST: f32 = 420.0;

/// What a figure is drawn from besides its result.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look<'a> {
    /// The design that is shown.
    pub(super) design: &'a Design,
    /// The layer that is selected.
    pub(super) selected: Option<usize>,
    /// Colours.
    pub(super) theme: &'a Theme,
    /// The place on the ribbon that the figure points at in this frame.
    pub(super) place: &'a RefCell<Option<Place>>,
}

impl Look<'_> {
    /// The number of the layer of this name, 0 at the bottom.
    pub(super) fn layer(&self, name: &str) -> Option<usize> {
        self.design.stack.layers.iter().position(|layer| layer.name == name)
    }

    /// Ground of a layer, as in the cross-section; a quiet one for what is no layer of the design.
    pub(super) fn ground(&self, layer: Option<usize>) -> Color32 {
        match layer.filter(|i| *i < self.design.stack.layers.len()) {
            Some(index) => section::fill(self.design, index, self.theme),
            None => self.theme.track,
        }
    }

    /// Ink of a layer's line; neighbours differ, and each has a pattern of its own besides.
    pub(super) fn ink(&self, layer: usize) -> Color32 {
        let theme = self.theme;
        let is_core = |light: &ogee_design::Light| self.layer(&light.core) == Some(layer);
        if self.design.light.as_ref().is_some_and(is_core) {
            return theme.accent;
        }
        let [a, b, c, d] = theme.pins;
        [b, c, a, d, theme.muted][layer % 5]
    }
}

/// A figure of the panel.
pub(super) trait Figure {
    /// What the figure says, as a sentence.
    fn title(&self, look: &Look<'_>) -> String;
    /// Least height of the plot, points.
    fn least_height(&self) -> f32;
    /// Height beyond which the plot stays empty, points.
    fn most_height(&self) -> f32 {
        HIGHEST
    }
    /// Paints the plot into `rect`.
    fn plot(&mut self, ui: &mut Ui, rect: Rect, look: &Look<'_>, out: &mut Vec<Command>);
    /// The numbers and tables of the caption.
    fn caption(&mut self, ui: &mut Ui, look: &Look<'_>, out: &mut Vec<Command>);
    /// The model, and where it stops holding.
    fn model(&self) -> (&str, &[String]);
    /// Its numbers as a table with tabs.
    fn table(&self) -> String;
}

/// Shows a figure in the room there is.
pub(super) fn show(ui: &mut Ui, figure: &mut dyn Figure, look: &Look<'_>, out: &mut Vec<Command>) {
    ui.label(RichText::new(figure.title(look)).font(Theme::bold(12.5)));
    let size = ui.available_size();
    if size.x >= WIDE {
        let (whole, _) = ui.allocate_exact_size(size, Sense::hover());
        let (plot, caption) = whole.split_left_right_at_fraction(1.0 - CAPTION_SHARE);
        let plot = Rect::from_min_max(plot.min, plot.max - vec2(14.0, 0.0));
        figure.plot(ui, plot, look, out);
        let place = UiBuilder::new().max_rect(caption).layout(Layout::top_down(egui::Align::Min));
        ui.scope_builder(place, |ui| {
            ScrollArea::vertical().id_salt("caption").auto_shrink(false).show(ui, |ui| {
                words(ui, figure, look, out);
            });
        });
        return;
    }
    ScrollArea::vertical().id_salt("figure").auto_shrink(false).show(ui, |ui| {
        let most = figure.most_height().max(figure.least_height());
        let height = (size.y - PEEK).clamp(figure.least_height(), most);
        let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
        figure.plot(ui, rect, look, out);
        ui.add_space(4.0);
        words(ui, figure, look, out);
    });
}

fn words(ui: &mut Ui, figure: &mut dyn Figure, look: &Look<'_>, out: &mut Vec<Command>) {
    ui.spacing_mut().item_spacing.y = 2.0;
    figure.caption(ui, look, out);
    let (model, validity) = figure.model();
    ui.add_space(5.0);
    if !model.is_empty() {
        ui.label(RichText::new(format!("Model: {model}")).small().color(look.theme.muted));
    }
    for note in validity {
        ui.label(RichText::new(format!("Caution: {note}")).small().color(look.theme.warn));
    }
    ui.add_space(2.0);
    let copy = ui.link(RichText::new("Copy the numbers").small());
    if copy.on_hover_text("As a table with tabs and units, for a spreadsheet").clicked() {
        ui.copy_text(figure.table());
    }
}

/// A sentence in place of a plot.
pub(super) fn say(ui: &Ui, rect: Rect, sentence: &str, theme: &Theme) {
    let font = egui::TextStyle::Body.resolve(ui.style());
    let galley = ui.painter().layout(sentence.to_owned(), font, theme.muted, rect.width() - 16.0);
    ui.painter().galley(rect.center() - 0.5 * galley.size(), galley, theme.muted);
}
