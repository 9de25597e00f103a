//! Along the ribbon: strain of both edges, curvature and loss against the distance along the ribbon.

mod canvas;
mod series;

use super::axes::{length_text, number};
use super::plot::heading;
use super::theme::Theme;
use crate::session::{Command, Pointed, PointedBy, Session};
use canvas::{Canvas, Limits};
use egui::{Button, EventFilter, Key, Rect, RichText, Role, Sense, Ui, WidgetInfo, vec2};
use ogee_design::{Caches, Checked, PeriodState, RibbonPath, period_state};
use series::{Quantity, Sample, Series};
use std::sync::Arc;

/// Most of the repeated periods that are copied as a table.
const MOST_COPIED: u32 = 200;

/// The ribbon of one design at one stretch.
#[derive(Debug)]
struct Solved {
    checked: Arc<Checked>,
    stretch: f64,
    found: Result<PeriodState, String>,
}

impl Solved {
    fn is_of(&self, checked: &Arc<Checked>, stretch: f64) -> bool {
        Arc::ptr_eq(&self.checked, checked) && self.stretch == stretch
    }
}

/// The plot along the ribbon.
#[derive(Debug, Default)]
pub struct AlongPanel {
    quantity: Quantity,
    caches: Caches,
    shown: Option<Solved>,
    rest: Option<Solved>,
    series: Option<Series>,
    /// The whole ribbon of which the curves are, and at which stretch.
    whole: Option<(Arc<RibbonPath>, f64)>,
    /// Part that is shown, µm along the ribbon; all of it where `None`.
    zoom: Option<[f64; 2]>,
    /// Range of values on the screen, kept while it fits so that a play does not make it jump.
    range: Option<(Quantity, [f64; 2])>,
    /// Whether this panel's cursor is what is pointed at.
    is_pointing: bool,
}

impl AlongPanel {
    /// Shows the panel.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        heading(ui, "Along the ribbon", |ui| self.switch(ui, theme));
        ui.add_space(2.0);
        let (rect, _) = ui.allocate_exact_size(ui.available_size().max(vec2(120.0, 90.0)), Sense::hover());
        let Some(checked) = session.checked() else {
            canvas::say(ui, rect, "No shape yet: see the marked fields", theme);
            return;
        };
        self.caches.adopt_tables(session.caches());
        self.solve(checked, session.stretch());
        self.take_whole(session.path_of_checked(), session.stretch());
        match (&self.series, self.shown.as_ref().map(|s| &s.found)) {
            (_, Some(Err(reason))) => canvas::say(ui, rect, &sentence(reason), theme),
            _ if self.quantity == Quantity::Loss && checked.light().is_none() => {
                canvas::say(ui, rect, "This design carries no light", theme);
            }
            (Some(_), _) => self.plot(ui, rect, session, checked, theme, out),
            (None, _) => {}
        }
    }

    /// strain · curvature · loss
    fn switch(&mut self, ui: &mut Ui, theme: &Theme) {
        ui.spacing_mut().item_spacing.x = 2.0;
        // The layout runs from the right.
        for (i, quantity) in Quantity::ALL.into_iter().enumerate().rev() {
            let is_chosen = quantity == self.quantity;
            let text =
                RichText::new(quantity.label()).color(if is_chosen { theme.accent } else { theme.muted });
            let text = if is_chosen { text.underline() } else { text };
            let button = ui.add(Button::new(text).frame(false));
            button.widget_info(|| {
                let label = format!("plot {}", quantity.label());
                WidgetInfo::selected(Role::RadioButton, true, is_chosen, label)
            });
            if button.clicked() {
                self.choose(quantity);
            }
            if i > 0 {
                ui.label(RichText::new("·").color(theme.muted));
            }
        }
    }

    fn choose(&mut self, quantity: Quantity) {
        if self.quantity != quantity {
            self.quantity = quantity;
            self.series = None;
        }
    }

    /// Brings the curves up to date.
    fn solve(&mut self, checked: &Arc<Checked>, stretch: f64) {
        let is_loss = self.quantity == Quantity::Loss;
        let is_current = self.shown.as_ref().is_some_and(|s| s.is_of(checked, stretch));
        if is_current && self.series.is_some() {
            return;
        }
        if is_loss {
            // The states read the table of bend losses but do not make it.
            drop(self.caches.bend_table(checked));
        }
        let mut state = |stretch: f64| Solved {
            checked: Arc::clone(checked),
            stretch,
            found: period_state(checked, stretch, &mut self.caches),
        };
        self.shown = Some(state(stretch));
        if is_loss && !self.rest.as_ref().is_some_and(|r| r.is_of(checked, 0.0)) {
            self.rest = Some(state(0.0));
        }
        let rest = self.rest.as_ref().filter(|r| r.is_of(checked, 0.0)).and_then(|r| r.found.as_ref().ok());
        let shown = self.shown.as_ref().and_then(|s| s.found.as_ref().ok());
        self.series = shown.map(|s| Series::new(self.quantity, s, rest));
    }

    /// Puts the whole ribbon in the place of the repeated period where there is one, and back.
    fn take_whole(&mut self, path: Option<&Arc<RibbonPath>>, stretch: f64) {
        let is_same = |kept: &(Arc<RibbonPath>, f64)| {
            path.is_some_and(|path| Arc::ptr_eq(path, &kept.0)) && kept.1 == stretch
        };
        let is_whole = self.series.as_ref().is_some_and(Series::is_whole);
        if is_whole && self.whole.as_ref().is_some_and(is_same) {
            return;
        }
        let shown = self.shown.as_ref().and_then(|s| s.found.as_ref().ok());
        let rest = self.rest.as_ref().and_then(|r| r.found.as_ref().ok());
        let form = path.and_then(|path| Some((path, path.form(stretch)?)));
        let cell = |quantity| shown.map(|s| Series::new(quantity, s, rest));
        if let Some((path, form)) = form {
            let rest_form = path.form(0.0);
            let cell = cell(self.quantity);
            self.series = Some(Series::whole(self.quantity, &form, rest_form.as_ref(), cell));
            self.whole = Some((Arc::clone(path), stretch));
        } else if is_whole {
            self.series = cell(self.quantity);
            self.whole = None;
        }
    }

    fn plot(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        session: &Session,
        checked: &Checked,
        theme: &Theme,
        out: &mut Vec<Command>,
    ) {
        let Some(series) = self.series.clone() else { return };
        let mut limits = Limits::of(self.quantity, session, checked);
        if series.is_whole() {
            // Its ends are in it.
            limits.remark = None;
        }
        let length = series.length_um();
        let [from, to] = self.zoom.filter(|z| z[0] < length).unwrap_or([0.0, length]);
        let range = self.value_range(&series, &limits);
        let canvas = Canvas::new(ui, rect, [from, to.min(length)], range, self.quantity);
        let response = ui.interact(canvas.area, ui.scope_id().with("along plot"), Sense::click_and_drag());

        self.navigate(ui, &canvas, &response, length);
        self.point(ui, &canvas, &response, session, length, out);
        let pointed = session.pointed();
        let cursor = pointed.and_then(|p| series.at(p.s_um));
        canvas.paint(ui, &series, &limits, cursor.as_ref(), theme);
        if response.has_focus() {
            canvas.paint_focus(ui, theme);
        }
        let words = cursor.as_ref().map(|c| self.words(&series, c));
        if let (Some(cursor), Some(words)) = (&cursor, &words) {
            canvas.plate(ui, cursor, words, theme);
        }
        let place = pointed.map_or(0.0, |p| p.s_um);
        response.widget_info(|| WidgetInfo::slider(true, place, "place along the ribbon"));
        ui.ctx().accesskit_node_builder(response.id, |node| {
            node.set_min_numeric_value(0.0);
            node.set_max_numeric_value(length);
            if let Some(words) = &words {
                node.set_value(words.join(", "));
            }
        });
        response.context_menu(|ui| self.menu(ui, &series));
    }

    /// Range of values that holds the curves, the limits and what the target will need.
    fn value_range(&mut self, series: &Series, limits: &Limits) -> [f64; 2] {
        let needed = canvas::round_range(self.quantity, series.extremes(), limits);
        let range = match self.range {
            Some((quantity, kept))
                if quantity == self.quantity && canvas::still_fits(quantity, kept, needed) =>
            {
                kept
            }
            _ => needed,
        };
        self.range = Some((self.quantity, range));
        range
    }

    /// Scroll zooms at the cursor, a drag moves along, a double click shows all.
    fn navigate(&mut self, ui: &Ui, canvas: &Canvas, response: &egui::Response, length: f64) {
        let [from, to] = [canvas.along.low, canvas.along.high];
        if response.double_clicked() {
            self.zoom = None;
        }
        if let Some(at) = response.hover_pos().filter(|_| response.contains_pointer()) {
            let (scroll, pinch) = ui.input(|i| (i.smooth_scroll_delta(), i.zoom_delta()));
            let factor = f64::from((-scroll.y * 0.004).exp() / pinch);
            if factor != 1.0 {
                self.zoom = zoomed([from, to], canvas.along.value(at.x), factor, length);
            }
            if scroll.x != 0.0 {
                self.pan(f64::from(-scroll.x) * canvas.along.per_point(), length);
            }
        }
        if response.dragged() {
            self.pan(-f64::from(response.drag_delta().x) * canvas.along.per_point(), length);
        }
    }

    fn pan(&mut self, by_um: f64, length: f64) {
        if let Some([from, to]) = self.zoom {
            let by = by_um.clamp(-from, (length - to).max(0.0));
            self.zoom = Some([from + by, to + by]);
        }
    }

    /// Ties the cursor to the other panels.
    fn point(
        &mut self,
        ui: &Ui,
        canvas: &Canvas,
        response: &egui::Response,
        session: &Session,
        length: f64,
        out: &mut Vec<Command>,
    ) {
        if response.clicked() {
            response.request_focus();
        }
        let at =
            |s_um: f64| Pointed { s_um: s_um.clamp(0.0, length), offset_um: 0.0, source: PointedBy::Along };
        let mut place = None;
        if let Some(hover) = response.hover_pos().filter(|_| response.hovered()) {
            // A still pointer leaves the cursor to the keys.
            let is_moving = ui.input(|i| i.pointer.delta() != egui::Vec2::ZERO) || !self.is_pointing;
            if is_moving {
                place = Some(canvas.along.value(hover.x));
            }
        } else if self.is_pointing && !response.has_focus() {
            self.is_pointing = false;
            if session.pointed().is_some_and(|p| p.source == PointedBy::Along) {
                out.push(Command::Point(None));
            }
        }
        if response.has_focus() {
            let filter = EventFilter { horizontal_arrows: true, escape: true, ..EventFilter::default() };
            ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
            let here = session.pointed().map_or(canvas.along.low, |p| p.s_um);
            let step = (canvas.along.high - canvas.along.low) / 200.0;
            let (left, right, shift, escape) = ui.input(|i| {
                let count = |key| i.num_presses(key) as f64;
                (count(Key::ArrowLeft), count(Key::ArrowRight), i.modifiers.shift, i.key_pressed(Key::Escape))
            });
            if left != right {
                place = Some(here + (right - left) * step * if shift { 10.0 } else { 1.0 });
            }
            if escape {
                self.zoom = None;
                self.is_pointing = false;
                response.surrender_focus();
                out.push(Command::Point(None));
                return;
            }
        }
        if let Some(s_um) = place {
            self.is_pointing = true;
            let place = at(s_um);
            if session.pointed() != Some(&place) {
                out.push(Command::Point(Some(place)));
            }
        }
    }

    /// What the plate at the cursor says.
    fn words(&self, series: &Series, at: &Sample) -> Vec<String> {
        let names = match self.quantity {
            Quantity::Strain => at.inner.words(),
            _ => series.curves(),
        };
        let unit = self.quantity.unit();
        let line = |i: usize| format!("{} {} {unit}", names[i], number(at.values[i]));
        let mut lines = vec![format!("along {}", length_text(at.s_um)), line(0), line(1)];
        if self.quantity == Quantity::Curvature && at.values[0].abs() > 1e-9 {
            lines.insert(2, format!("radius {}", length_text(1e3 / at.values[0].abs())));
        }
        lines
    }

    fn menu(&mut self, ui: &mut Ui, series: &Series) {
        for quantity in Quantity::ALL {
            let text = format!("Plot {}", quantity.label());
            if ui.add(Button::selectable(quantity == self.quantity, text)).clicked() {
                self.choose(quantity);
            }
        }
        ui.separator();
        let length = series.length_um();
        if ui.button("Show one period").clicked() {
            let periods =
                f64::from(self.shown.as_ref().map_or(1, |s| s.checked.design().shape.periods.max(1)));
            let half = 0.5 * length / periods;
            self.zoom = (periods > 1.0).then_some([0.5 * length - half, 0.5 * length + half]);
        }
        if ui.add_enabled(self.zoom.is_some(), Button::new("Show the whole ribbon")).clicked() {
            self.zoom = None;
        }
        let copied = series.periods().min(MOST_COPIED);
        let text = if copied < series.periods() {
            format!("Copy the curves of {copied} periods")
        } else {
            "Copy the curves".to_owned()
        };
        if ui.button(text).on_hover_text("As a table with tabs and units, for a spreadsheet").clicked() {
            ui.copy_text(series.table(MOST_COPIED));
        }
    }
}

/// The part shown after a zoom by `factor` that keeps `at` in place; `None` where that is the whole ribbon.
fn zoomed([from, to]: [f64; 2], at: f64, factor: f64, length: f64) -> Option<[f64; 2]> {
    /// Shortest part that is shown, of the whole ribbon.
    const SHORTEST: f64 = 1e-7;
    let span = ((to - from) * factor).max(SHORTEST * length);
    if span >= length {
        return None;
    }
    let share = (at - from) / (to - from);
    let from = (at - share * span).clamp(0.0, length - span);
    Some([from, from + span])
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zoom_keeps_the_place_under_the_cursor_and_ends_at_the_whole() {
        let zoom = zoomed([0.0, 1000.0], 250.0, 0.5, 1000.0).unwrap();
        assert_eq!(zoom, [125.0, 625.0]);
        assert_eq!(zoomed(zoom, 300.0, 4.0, 1000.0), None);
        let deep = (0..200).fold([0.0, 1000.0], |z, _| zoomed(z, 999.0, 0.5, 1000.0).unwrap());
        assert!(deep[1] > deep[0] && deep[1] <= 1000.0);
    }

    #[test]
    fn reasons_become_sentences() {
        assert_eq!(sentence("bends touch"), "Bends touch");
        assert_eq!(sentence(""), "");
    }
}
