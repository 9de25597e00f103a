//! The painted plot: axes, curves, limits, cursor.

use super::series::{Quantity, Sample, Series};
use crate::session::Session;
use crate::window::axes::{Axis, LengthUnit, number, round_up};
use crate::window::plot::{Ticks, key, on_pixels, plate, small_font, upright};
use crate::window::theme::Theme;
use egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Ui, pos2, vec2};
use ogee_design::Checked;

/// Lines across the plot and what is written about them.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Limits {
    /// Values and words, such as `allowed 0.80 %`.
    pub(super) lines: Vec<(f64, String)>,
    /// Least and greatest value at the target stretch.
    pub(super) at_target: Option<[f64; 2]>,
    /// A remark below the plot.
    pub(super) remark: Option<String>,
    /// The stretch shown, from island to island.
    pub(super) stretch: f64,
}

impl Limits {
    /// The limits of `quantity`.
    pub(super) fn of(quantity: Quantity, session: &Session, checked: &Checked) -> Self {
        let mut limits = Self { stretch: session.stretch(), ..Self::default() };
        let assessment = session.assessment().filter(|_| !session.assessment_is_stale());
        let along = assessment.map(|a| &a.along);
        let range = |lists: [&[f64]; 2], factor: f64| {
            lists.into_iter().flatten().map(|v| v * factor).fold(None, |range: Option<[f64; 2]>, v| {
                Some(range.map_or([v, v], |[low, high]| [low.min(v), high.max(v)]))
            })
        };
        match quantity {
            Quantity::Strain => {
                // The plot shows the ribbon's own edges, so only layers that reach them set its limit.
                let half = 0.5 * checked.width_um() * (1.0 - 1e-9);
                let wide = || checked.layers().iter().filter(|l| l.left_um >= half && l.right_um <= -half);
                let least = |value: &dyn Fn(&ogee_design::CheckedLayer) -> Option<f64>| {
                    wide().filter_map(value).min_by(f64::total_cmp).map(|v| 100.0 * v)
                };
                if let Some(allowed) = least(&|l| Some(l.allowable_strain)) {
                    limits.lines.push((allowed, format!("allowed {} %", number(allowed))));
                }
                if let Some(allowed) = least(&|l| l.allowable_compression) {
                    limits.lines.push((-allowed, format!("allowed −{} %", number(allowed))));
                }
                limits.at_target =
                    along.and_then(|a| range([&a.left_strain_percent, &a.right_strain_percent], 1.0));
                let factor = assessment.map_or(1.0, |a| a.stretch.end_factor);
                if factor > 1.005 {
                    limits.remark = Some(format!("bends next to the islands: {} × this", number(factor)));
                }
            }
            Quantity::Curvature => {
                limits.at_target =
                    along.and_then(|a| range([&a.rest_curvature_per_um, &a.curvature_per_um], 1e3));
            }
            Quantity::Loss => {
                limits.at_target =
                    along.and_then(|a| range([&a.rest_loss_db_per_cm, &a.loss_db_per_cm], 1.0));
            }
        }
        limits
    }
}

/// Round range that holds the curves, the limits near them and the curves at the target.
pub(super) fn round_range(quantity: Quantity, curves: Option<[f64; 2]>, limits: &Limits) -> [f64; 2] {
    let ranges = [curves, limits.at_target];
    let low = ranges.iter().flatten().map(|r| r[0]).fold(f64::INFINITY, f64::min);
    let high = ranges.iter().flatten().map(|r| r[1]).fold(f64::NEG_INFINITY, f64::max);
    if !(low.is_finite() && high.is_finite()) {
        return [0.0, 1.0];
    }
    if quantity == Quantity::Loss {
        // At most nine decades: what is below them adds nothing to the loss.
        let high = if high > 0.0 { high } else { 1.0 };
        let low = low.clamp(1e-9 * high, high);
        return [1.0 / round_up(1.2 / low), round_up(1.4 * high)];
    }
    // A limit far beyond the curves would press them flat: it is named at the edge instead.
    let reach = low.abs().max(high.abs());
    let near = limits.lines.iter().map(|l| l.0).filter(|l| l.abs() <= 4.0 * reach || reach == 0.0);
    // Some room above, for the key.
    let headroom = if quantity == Quantity::Curvature { 1.12 } else { 1.0 };
    let (mut low, mut high) = (low.min(0.0), headroom * high.max(0.0));
    for limit in near {
        low = low.min(1.08 * limit);
        high = high.max(1.08 * limit);
    }
    [-round_up(-low), round_up(high)]
}

/// Whether a kept range still shows what is needed at a good size.
pub(super) fn still_fits(quantity: Quantity, kept: [f64; 2], needed: [f64; 2]) -> bool {
    let covers = kept[0] <= needed[0] && kept[1] >= needed[1];
    let size = |r: [f64; 2]| if quantity == Quantity::Loss { (r[1] / r[0]).ln() } else { r[1] - r[0] };
    covers && size(kept) <= 1.6 * size(needed)
}

/// The plot's place on the screen.
#[derive(Clone, Copy, Debug)]
pub(super) struct Canvas {
    /// The framed part.
    pub(super) area: Rect,
    /// Distance along the ribbon, µm.
    pub(super) along: Axis,
    value: Axis,
    whole: Rect,
    quantity: Quantity,
}

impl Canvas {
    /// A plot in `whole` that shows `[from, to]` along the ribbon and the values of `range`.
    pub(super) fn new(
        ui: &Ui,
        whole: Rect,
        [from, to]: [f64; 2],
        range: [f64; 2],
        quantity: Quantity,
    ) -> Self {
        let font = small_font(ui);
        let upright = |top: f32, bottom: f32| {
            let axis = Axis::new(range[0]..=range[1], bottom, top);
            if quantity == Quantity::Loss { axis.logarithmic() } else { axis }
        };
        let line = font.size + 4.0;
        let (top, bottom) = (whole.top() + 4.0, whole.bottom() - 2.0 * line - 4.0);
        let ticks = Ticks::new(&upright(top, bottom), 3.0 * font.size, 1.0);
        let left = whole.left() + line + ticks.width(ui.painter(), &font).max(14.0) + 8.0;
        let area = on_pixels(ui, Rect::from_min_max(pos2(left, top), pos2(whole.right() - 6.0, bottom)));
        Self {
            area,
            along: Axis::new(from..=to, area.left(), area.right()),
            value: upright(area.top(), area.bottom()),
            whole,
            quantity,
        }
    }

    fn point(&self, s_um: f64, value: f64) -> Pos2 {
        let y = self.value.screen(value).clamp(self.area.top() - 1e4, self.area.bottom() + 1e4);
        pos2(self.along.screen(s_um), y)
    }

    /// Paints everything.
    pub(super) fn paint(
        &self,
        ui: &Ui,
        series: &Series,
        limits: &Limits,
        cursor: Option<&Sample>,
        theme: &Theme,
    ) {
        let font = small_font(ui);
        let painter = ui.painter();
        painter.rect_filled(self.area, 0.0, theme.canvas);
        let clip = painter.with_clip_rect(self.area.intersect(painter.clip_rect()));
        self.paint_axes(painter, &clip, &font, theme);
        let strokes = [Stroke::new(1.5, theme.accent), Stroke::new(1.2, theme.muted)];
        if let Some(cell) = series.beside() {
            let thin = Stroke::new(0.8, theme.line_strong);
            let trace = cell.trace(self.along.low, self.along.high, self.along.per_point());
            for line in &trace.lines {
                clip.line(line.iter().map(|p| self.point(p.s_um, p.values[0])).collect(), thin);
            }
        }
        self.paint_curves(&clip, series, strokes);
        self.paint_limits(&clip, limits, &font, theme);
        painter.rect_stroke(self.area, 0.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
        let mut at = self.area.left_top() + vec2(8.0, 11.0);
        for (i, name) in series.curves().into_iter().enumerate() {
            at = key(
                &clip,
                at,
                name,
                strokes[i],
                i == 1,
                &font,
                [if i == 0 { theme.accent } else { theme.muted }, theme.canvas],
            );
        }
        if series.beside().is_some() {
            let thin = Stroke::new(0.8, theme.line_strong);
            key(&clip, at, "periodic cell", thin, false, &font, [theme.muted, theme.canvas]);
        }
        if let Some(cursor) = cursor {
            self.paint_cursor(&clip, cursor, theme);
        }
        self.paint_caption(painter, series, limits, &font, theme);
    }

    /// The stretch shown at the right, a remark at the left; the remark alone where both find no room.
    fn paint_caption(
        &self,
        painter: &Painter,
        series: &Series,
        limits: &Limits,
        font: &FontId,
        theme: &Theme,
    ) {
        let y = self.whole.bottom() - 0.5 * (font.size + 4.0);
        let mut free = self.area.width();
        let remark = if series.blends(self.along.per_point(), [self.along.low, self.along.high]) {
            let periods = series.periods();
            Some(format!("{periods} equal periods as a band: scroll to see single ones"))
        } else {
            limits.remark.clone()
        };
        if let Some(remark) = remark {
            let at = pos2(self.area.left(), y);
            free -= painter.text(at, Align2::LEFT_CENTER, remark, font.clone(), theme.muted).width() + 12.0;
        }
        let stretch = format!("stretched by {} %", number((1e4 * limits.stretch).round() / 1e2));
        let galley = painter.layout_no_wrap(stretch, font.clone(), theme.muted);
        if galley.size().x <= free {
            let corner = pos2(self.area.right() - galley.size().x, y - 0.5 * galley.size().y);
            painter.galley(corner, galley, theme.muted);
        }
    }

    fn paint_axes(&self, painter: &Painter, clip: &Painter, font: &FontId, theme: &Theme) {
        let unit = LengthUnit::fitting(self.along.high - self.along.low);
        let unit = if self.along.high > 1e4 * unit.um { LengthUnit::fitting(self.along.high) } else { unit };
        let below = Ticks::new(&self.along, 5.5 * font.size, unit.um).with_unit(unit.text);
        let left = Ticks::new(&self.value, 3.0 * font.size, 1.0).with_unit("");
        for (y, _) in &left.marks {
            clip.hline(self.area.x_range(), *y, Stroke::new(1.0, theme.grid));
        }
        below.paint_below(painter, self.area, self.whole, font, theme);
        left.paint_left(painter, self.area, font, theme);
        if !self.value.is_logarithmic && self.value.low < 0.0 {
            clip.hline(self.area.x_range(), self.value.screen(0.0), Stroke::new(1.0, theme.line_strong));
        }
        let middle = pos2(self.whole.left() + 0.5 * font.size, self.area.center().y);
        let words = format!("{}, {}", self.quantity.label(), self.quantity.unit());
        upright(painter, middle, &words, font, theme.muted);
    }

    fn paint_curves(&self, clip: &Painter, series: &Series, strokes: [Stroke; 2]) {
        let trace = series.trace(self.along.low, self.along.high, self.along.per_point());
        for i in [1, 0] {
            for band in &trace.bands {
                let [low, high] = band.extremes[i];
                let a = self.point(band.s_um[0], high);
                let b = self.point(band.s_um[1], low);
                let ground = strokes[i].color.gamma_multiply(0.22);
                clip.rect_filled(Rect::from_two_pos(a, b), 0.0, ground);
                clip.hline(a.x..=b.x, a.y, strokes[i]);
                clip.hline(a.x..=b.x, b.y, strokes[i]);
            }
            for line in &trace.lines {
                let points: Vec<Pos2> = line.iter().map(|p| self.point(p.s_um, p.values[i])).collect();
                if i == 1 {
                    clip.extend(Shape::dashed_line(&points, strokes[i], 4.0, 3.0));
                } else {
                    clip.line(points, strokes[i]);
                }
            }
        }
    }

    fn paint_limits(&self, clip: &Painter, limits: &Limits, font: &FontId, theme: &Theme) {
        for (value, words) in &limits.lines {
            let y = self.value.screen(*value);
            let is_seen = self.area.y_range().contains(y);
            let edge = y.clamp(self.area.top() + 1.0, self.area.bottom() - 1.0);
            let is_high = *value >= 0.0;
            if is_seen {
                let ends = [pos2(self.area.left(), y), pos2(self.area.right(), y)];
                clip.extend(Shape::dashed_line(&ends, Stroke::new(1.2, theme.warn), 5.0, 3.5));
            }
            let words = if is_seen {
                words.clone()
            } else {
                format!("{words}, {} the plot", if is_high { "above" } else { "below" })
            };
            // Above its line, below it only where there is no room.
            let is_below = edge - self.area.top() < 16.0;
            let (dy, anchor) = if is_below { (3.0, Align2::RIGHT_TOP) } else { (-2.0, Align2::RIGHT_BOTTOM) };
            let at = pos2(self.area.right() - 6.0, edge + dy);
            let galley = clip.layout_no_wrap(words, font.clone(), theme.warn);
            let text = anchor.anchor_size(at, galley.size());
            clip.rect_filled(text, 0.0, theme.canvas.gamma_multiply(0.8));
            clip.galley(text.min, galley, theme.warn);
        }
    }

    fn paint_cursor(&self, clip: &Painter, cursor: &Sample, theme: &Theme) {
        let x = self.along.screen(cursor.s_um);
        clip.vline(x, self.area.y_range(), Stroke::new(1.0, theme.line_strong));
        for (i, colour) in [(1, theme.muted), (0, theme.accent)] {
            let at = self.point(cursor.s_um, cursor.values[i]);
            clip.circle(at, 3.2, theme.canvas, Stroke::new(1.5, colour));
        }
    }

    /// The plate with numbers beside the cursor.
    pub(super) fn plate(&self, ui: &Ui, cursor: &Sample, words: &[String], theme: &Theme) {
        let x = self.along.screen(cursor.s_um);
        if !self.area.x_range().expand(1.0).contains(x) {
            return;
        }
        let lines: Vec<(&str, Color32)> = words
            .iter()
            .enumerate()
            .map(|(i, w)| (w.as_str(), if i == 1 { theme.accent } else { theme.muted }))
            .collect();
        plate(ui, theme, pos2(x, self.area.top() + 6.0), self.area.shrink(2.0), &lines);
    }

    /// Marks the plot as the one that the keys move.
    pub(super) fn paint_focus(&self, ui: &Ui, theme: &Theme) {
        ui.painter().rect_stroke(self.area, 0.0, Stroke::new(1.5, theme.accent), StrokeKind::Inside);
    }
}

/// A sentence in place of the plot.
pub(super) fn say(ui: &Ui, rect: Rect, sentence: &str, theme: &Theme) {
    let font = egui::TextStyle::Body.resolve(ui.style());
    let area = rect.shrink(16.0);
    let galley = ui.painter().layout(sentence.to_owned(), font, theme.muted, area.width());
    ui.painter().rect_stroke(rect, 0.0, Stroke::new(1.0, theme.line), StrokeKind::Inside);
    let corner = area.center() - 0.5 * galley.size();
    ui.painter().galley(corner, galley, theme.muted);
    let response = ui.interact(rect, ui.scope_id().with("in place of the plot"), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, sentence));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_round_and_hold_limits_that_are_near() {
        let limits = Limits { lines: vec![(0.8, String::new())], ..Limits::default() };
        assert_eq!(round_range(Quantity::Strain, Some([-0.31, 0.64]), &limits), [-0.4, 1.0]);
        let far = Limits { lines: vec![(80.0, String::new())], ..Limits::default() };
        assert_eq!(round_range(Quantity::Strain, Some([0.0, 0.64]), &far), [0.0, 0.8]);
        assert_eq!(round_range(Quantity::Strain, None, &far), [0.0, 1.0]);
        assert_eq!(round_range(Quantity::Strain, Some([0.0, 0.0]), &limits), [0.0, 1.0]);
    }

    #[test]
    fn loss_leaves_some_room_but_spans_not_too_many_decades() {
        let [low, high] = round_range(Quantity::Loss, Some([0.3, 20.0]), &Limits::default());
        assert!(low > 0.2 && low < 0.3 && (high - 30.0).abs() < 1e-9, "{low} {high}");
        let [low, high] = round_range(Quantity::Loss, Some([0.0, 20.0]), &Limits::default());
        assert!(low > 0.0 && high / low <= 1e10);
        let [low, high] = round_range(Quantity::Loss, Some([0.0, 0.0]), &Limits::default());
        assert!(low > 0.0 && high > low);
    }

    #[test]
    fn a_kept_range_is_left_only_for_a_reason() {
        let kept = [-0.4, 1.0];
        assert!(still_fits(Quantity::Strain, kept, [-0.3, 1.0]));
        assert!(!still_fits(Quantity::Strain, kept, [-0.5, 1.0]), "something is cut off");
        assert!(!still_fits(Quantity::Strain, kept, [-0.1, 0.4]), "mostly empty");
    }
}
