//! The map over amplitude and pitch: where designs pass, how much each field gives, and where the present one stands.

mod cross;
mod ends;
mod field;
mod key;
mod moves;
mod picture;

use super::axes::length_text;
use super::colour_scale::{ColourScale, Palette};
use super::plot::{heading, plate, small_font};
use super::theme::Theme;
use crate::session::{ColourMap, Command, Session};
use cross::Drag;
use egui::containers::menu::{MenuButton, MenuConfig};
use egui::{
    Button, PopupCloseBehavior, Rect, Response, RichText, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo,
    vec2,
};
use ends::Ends;
use key::{Places, legend, ticks};
use ogee_design::{MapField, MapGrid, MapModel};
use picture::{Frame, Picture, PictureInk, grid_place};
use std::sync::Arc;

/// How long a map is under way before a bar says so, in seconds.
const PATIENCE: f64 = 0.2;

/// What the picture was made from; it is made anew when any of it changes.
struct Source {
    map: Arc<MapGrid>,
    field: MapField,
    palette: Palette,
    limit: Option<f64>,
    kept: Option<ColourScale>,
}

/// The map panel.
#[derive(Default)]
pub struct MapPanel {
    picture: Option<(Source, Picture)>,
    /// A colour scale that stays as it is, and its field.
    locked: Option<(MapField, ColourScale)>,
    drag: Option<Drag>,
    ends: Ends,
    /// Since when a map has been under way, in seconds of the window's clock.
    busy_since: Option<f64>,
}

impl std::fmt::Debug for MapPanel {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("MapPanel")
            .field("locked", &self.locked)
            .field("drag", &self.drag)
            .finish_non_exhaustive()
    }
}

impl MapPanel {
    /// Shows the panel.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        heading(ui, "Amplitude × pitch", |ui| {
            self.chooser(ui, session, theme, out);
            ends::window_button(ui, session, theme, out);
        });
        ui.add_space(2.0);
        let (whole, _) = ui.allocate_exact_size(ui.available_size().max(vec2(160.0, 120.0)), Sense::hover());
        self.refresh(session);
        let window = self
            .drag
            .as_ref()
            .map(|d| d.window)
            .or(self.ends.window())
            .unwrap_or_else(|| session.map_window());
        let font = small_font(ui);
        let [_, up] = ticks(&Frame::new(&window, whole), &font);
        let legend_width = self.picture.as_ref().map_or(0.0, |(source, picture)| {
            legend(source, picture, &font).numbers_width(ui.painter(), whole.height() - 3.0 * font.size)
        });
        let places = Places::new(ui, whole, up.width(ui.painter(), &font), legend_width, &font);
        let frame = Frame::new(&window, places.area);

        let response = ui.interact(places.area, ui.scope_id().with("map"), Sense::click());
        self.paint_map(ui, &frame, session, theme);
        Self::paint_axes(ui, &frame, &places, &font, theme);
        self.legend(ui, &places, &font, theme);
        self.ends.ui(ui, &frame, session, theme, out);
        Self::paint_pins(ui, &frame, session, theme);
        self.cross(ui, &frame, session, theme, out);
        Self::set_by_double_click(&response, &frame, session, out);
        self.read_out(ui, &response, &frame, session, theme);
        self.progress(ui, places.area, session, theme);
        response.context_menu(|ui| self.menu(ui, session, out));
    }

    fn chooser(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        // The map says by which models its strain is, as long as the field shows strain.
        let is_of_strain = matches!(
            session.map_field(),
            MapField::StrainMargin | MapField::PeakStrain | MapField::AllLimits
        );
        let model = session.map().map(|map| map.model()).filter(|_| is_of_strain);
        let model = match model {
            Some(MapModel::Full) => ", full",
            Some(MapModel::Live) => ", live",
            None => "",
        };
        let label = session.map_field().label();
        let text = RichText::new(format!("{label}{model} ▾")).color(theme.accent);
        let (response, _) = MenuButton::from_button(Button::new(text).frame(false)).ui(ui, |ui| {
            Self::fields(ui, session, out);
            ui.separator();
            Self::models(ui, session, out);
            ui.separator();
            self.colours(ui);
        });
        response.widget_info(|| WidgetInfo::labeled(Role::ComboBox, true, "map field"));
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_value(session.map_field().label()));
        response.on_hover_text("Choose what the map shows");
    }

    fn fields(ui: &mut Ui, session: &Session, out: &mut Vec<Command>) {
        for field in MapField::ALL {
            let is_available = session.checked().is_none_or(|checked| field.is_available(checked));
            let button = Button::selectable(field == session.map_field(), field.label());
            let response = ui.add_enabled(is_available, button);
            if response.clicked() {
                out.push(Command::SetMapField(field));
            }
            response.on_disabled_hover_text("This design carries no light");
        }
    }

    /// By which models the strain is.
    fn models(ui: &mut Ui, session: &Session, out: &mut Vec<Command>) {
        for (model, name, tip) in [
            (MapModel::Live, "Strain by the live estimate", "Quick, one period in its plane"),
            (
                MapModel::Full,
                "Strain by the full models",
                "Slow: refined cell by cell, nearest to the limit first",
            ),
        ] {
            let button = Button::selectable(model == session.map_model(), name);
            if ui.add(button).on_hover_text(tip).clicked() {
                out.push(Command::SetMapModel(model));
            }
        }
    }

    fn colours(&mut self, ui: &mut Ui) {
        let is_kept = self.keeps_colours();
        let button = Button::selectable(is_kept, "Keep these colours");
        let response = ui.add_enabled(self.picture.is_some(), button);
        if response.clicked() {
            self.keep_colours(!is_kept);
        }
        response.on_hover_text("The range of the colours stays as it is while the design changes");
    }

    /// Whether the colours of the field on show keep their range.
    fn keeps_colours(&self) -> bool {
        let shown = self.picture.as_ref().map(|(source, _)| source.field);
        self.locked.is_some_and(|(field, _)| Some(field) == shown)
    }

    fn keep_colours(&mut self, keep: bool) {
        let now = self.picture.as_ref().map(|(source, picture)| (source.field, picture.content().scale));
        self.locked = now.filter(|_| keep);
    }

    fn menu(&mut self, ui: &mut Ui, session: &Session, out: &mut Vec<Command>) {
        Self::fields(ui, session, out);
        ui.separator();
        Self::models(ui, session, out);
        ui.separator();
        self.colours(ui);
        if ui.button("Put the design in the middle").clicked() {
            out.push(ends::centred(session));
        }
        if ui.add_enabled(session.map_progress().is_some(), Button::new("Stop calculating")).clicked() {
            out.push(Command::StopMap);
        }
        if let Some((source, _)) = &self.picture
            && ui
                .button("Copy the map")
                .on_hover_text("As a table with tabs and units, for a spreadsheet")
                .clicked()
        {
            ui.copy_text(table(&source.map, source.field));
        }
    }

    /// Makes the picture anew where something that it shows has changed.
    fn refresh(&mut self, session: &Session) {
        let Some(map) = session.map() else {
            self.picture = None;
            return;
        };
        let palette = match session.settings().colour_map {
            ColourMap::Cividis => Palette::Cividis,
            ColourMap::Viridis => Palette::Viridis,
        };
        let field = session.map_field();
        let limit = session.checked().and_then(|checked| field.limit(checked));
        let kept =
            self.locked.filter(|(locked, scale)| *locked == field && scale.palette() == palette).map(|l| l.1);
        let is_current = self.picture.as_ref().is_some_and(|(s, _)| {
            Arc::ptr_eq(&s.map, map) && (s.field, s.palette, s.limit, s.kept) == (field, palette, limit, kept)
        });
        let is_absent = || map.range(field).is_none() && map.range(MapField::StrainMargin).is_some();
        if !is_current && is_absent() {
            // The map was made for another field; the last picture of this one stays until it is there.
            if self.picture.as_ref().is_some_and(|(source, _)| source.field != field) {
                self.picture = None;
            }
        } else if !is_current {
            let content = field::content(map, field, limit, palette, kept);
            let source = Source { map: Arc::clone(map), field, palette, limit, kept };
            let previous = self.picture.take().map(|(_, picture)| picture);
            self.picture = Some((source, Picture::new(content, previous)));
        }
    }

    fn paint_map(&mut self, ui: &Ui, frame: &Frame, session: &Session, theme: &Theme) {
        let area = frame.area();
        let ink = PictureInk {
            fails: theme.warn.gamma_multiply(if theme.dark { 0.5 } else { 0.75 }),
            nothing: [theme.track, theme.hatch.gamma_multiply(0.7)],
            plate: [theme.panel, theme.accent],
            font: small_font(ui),
            has_lines: session.settings().isolines_shown,
        };
        if let Some((_, picture)) = &mut self.picture {
            picture.paint(ui.ctx(), ui.painter(), frame, &ink);
        } else {
            ui.painter().rect_filled(area, 0.0, theme.canvas);
            let words = session.map_trouble().unwrap_or("The map appears here in a moment");
            let galley = ui.painter().layout(words.to_owned(), ink.font, theme.muted, area.width() - 24.0);
            ui.painter().galley(area.center() - 0.5 * galley.size(), galley, theme.muted);
        }
        ui.painter().rect_stroke(area, 0.0, Stroke::new(1.0, theme.line_strong), StrokeKind::Outside);
    }

    fn paint_pins(ui: &Ui, frame: &Frame, session: &Session, theme: &Theme) {
        for (i, pin) in session.pins().iter().enumerate() {
            let [pitch, amplitude] = cross::place(&pin.design.shape);
            let colour = theme.pins[i % theme.pins.len()];
            let font = Theme::bold(small_font(ui).size + 0.5);
            let at = frame.point(pitch, amplitude);
            let shown = cross::paint_pin(ui.painter(), frame.area(), at, &pin.name, colour, &font);
            let id = ui.scope_id().with(("pin", &pin.name));
            let response = ui.interact(Rect::from_center_size(shown, vec2(14.0, 14.0)), id, Sense::hover());
            let words = format!(
                "pin {}: pitch {}, amplitude {}",
                pin.name,
                length_text(pitch),
                length_text(amplitude)
            );
            response.widget_info(|| WidgetInfo::labeled(Role::GraphicsSymbol, true, words.clone()));
            response.on_hover_text(words);
        }
    }

    /// The value of the map at a shape, in words: `strain margin 1.31`.
    fn value_at(&self, at: [f64; 2]) -> Option<String> {
        let (source, picture) = self.picture.as_ref()?;
        let content = picture.content();
        let (column, row) = grid_place(&content.grid, &content.window, at);
        let value = content.grid.between(column, row)?;
        let unit = match source.field.unit() {
            "" => String::new(),
            unit => format!(" {unit}"),
        };
        Some(format!("{} {}{unit}", source.field.label(), short(f64::from(value))))
    }

    /// Why there is no value at a shape.
    fn reason_at(&self, at: [f64; 2]) -> Option<String> {
        let (source, picture) = self.picture.as_ref()?;
        let content = picture.content();
        let (column, row) = grid_place(&content.grid, &content.window, at);
        let (column, row) = content.grid.cell(column, row)?;
        source.map.reason(column, row)
    }

    /// Pitch, amplitude and value under the cursor, or why there is no shape.
    fn read_out(&self, ui: &Ui, response: &Response, frame: &Frame, session: &Session, theme: &Theme) {
        let mut words = vec![format!("map of {}", session.map_field().label())];
        let hover = response.hover_pos().filter(|_| response.hovered() && self.drag.is_none());
        if let Some(hover) = hover {
            let at = frame.shape(hover);
            let value = self.value_at(at);
            let [pitch, amplitude] =
                cross::rounded(at, &session.map_window(), [&frame.pitch, &frame.amplitude]);
            let place = format!("pitch {}, amplitude {}", length_text(pitch), length_text(amplitude));
            let fails = self.fails_at(at);
            let first = match (&value, self.reason_at(at)) {
                (Some(value), _) if fails => format!("{value}, fails"),
                (Some(value), _) => value.clone(),
                (None, Some(reason)) => format!("no shape: {reason}"),
                (None, None) => "no value here yet".to_owned(),
            };
            let colour = if value.is_none() || fails { theme.warn } else { theme.text };
            plate(ui, theme, hover, ui.max_rect(), &[(&first, colour), (&place, theme.muted)]);
            words = vec![first, place];
        }
        response.widget_info(|| WidgetInfo::labeled(Role::Canvas, true, "amplitude × pitch map"));
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_value(words.join("; ")));
    }

    fn fails_at(&self, at: [f64; 2]) -> bool {
        self.picture.as_ref().is_some_and(|(_, picture)| {
            let content = picture.content();
            let (column, row) = grid_place(&content.grid, &content.window, at);
            content.margins.as_ref().and_then(|m| m.between(column, row)).is_some_and(|m| m < 1.0)
        })
    }

    /// A thin bar at the top of the map while it is refined.
    fn progress(&mut self, ui: &Ui, area: Rect, session: &Session, theme: &Theme) {
        let Some(share) = session.map_progress() else {
            self.busy_since = None;
            return;
        };
        let now = ui.input(|i| i.time);
        let since = *self.busy_since.get_or_insert(now);
        if now - since < PATIENCE {
            ui.ctx().request_repaint_after_secs((PATIENCE - (now - since)) as f32);
            return;
        }
        let groove = Rect::from_min_size(area.left_top(), vec2(area.width(), 3.0));
        let done = Rect::from_min_size(groove.min, vec2(groove.width() * share.clamp(0.0, 1.0), 3.0));
        ui.painter().rect_filled(groove, 0.0, theme.track);
        ui.painter().rect_filled(done, 0.0, theme.accent);
        let response = ui.interact(groove, ui.scope_id().with("progress"), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(Role::ProgressIndicator, true, "map under way"));
        let percent = f64::from((100.0 * share).round());
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_numeric_value(percent));
    }
}

/// The map as a table: the first row has the pitches, each further row an amplitude and its values.
fn table(map: &MapGrid, field: MapField) -> String {
    let spec = map.spec();
    let (columns, rows) = (spec.columns, spec.rows);
    let centre = |value: f64| ogee_design::digits_text(value, 7);
    let unit = if field.unit().is_empty() { String::new() } else { format!(" ({})", field.unit()) };
    let mut text = format!("{}{unit}: amplitude (µm) down, pitch (µm) across", field.label());
    for column in 0..columns {
        text.push('\t');
        text.push_str(&centre(spec.pitch_um(column)));
    }
    text.push('\n');
    for row in 0..rows {
        text.push_str(&centre(spec.amplitude_um(row)));
        for column in 0..columns {
            text.push('\t');
            if let Some(value) = map.value(field, column, row) {
                text.push_str(&ogee_design::digits_text(value, 6));
            }
        }
        text.push('\n');
    }
    text
}

/// A value as the cursor reads it: three digits are what a map can tell.
fn short(value: f64) -> String {
    ogee_design::digits_text(value, 3).replace('-', "−")
}

/// Menus in which one types and drags stay open until one clicks elsewhere, and keep the frames of their fields.
fn staying_open() -> MenuConfig {
    MenuConfig::new()
        .close_behavior(PopupCloseBehavior::CloseOnClickOutside)
        .style(egui::style::StyleModifier::default())
}
