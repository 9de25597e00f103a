//! Words on the drawing: captions of both ribbons, the peak with its leader line, what is impossible.

use super::ink::{ColourBy, Ink};
use super::ribbon::Ribbon;
use super::sheet::{Sheet, along};
use super::steps::length_text;
use super::strip::Station;
use super::whole::{Shown, all_points};
use crate::session::{Command, Edit, Session};
use crate::window::theme::Theme;
use egui::{
    Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, Ui, UiBuilder, Vec2, pos2, vec2,
};
use ogee_design::{Assessment, Checked, Design, Fault, FormKind, PeriodState, RibbonPoint, field_at};

/// How near the shown stretch is to the target for the assessment's own words to hold.
const SAME_STRETCH: f64 = 1e-6;
/// Width at which the small print of a label is broken, points.
const DETAIL_WIDTH: f32 = 290.0;
/// Id of the margin that judges the strain at the target.
const STRAIN_MARGIN: &str = "strain-at-target";

/// A caption below a ribbon's left plate. Returns what it covers.
pub(super) fn paint_caption(painter: &Painter, at: Pos2, text: &str, ink: Color32, ground: Color32) -> Rect {
    paint_backed(painter, at, Align2::LEFT_TOP, text, FontId::proportional(11.5), ink, ground)
}

/// Text on a patch of the canvas' own colour, so that lines behind it do not cross it out.
pub(super) fn paint_backed(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    text: &str,
    font: FontId,
    ink: Color32,
    ground: Color32,
) -> Rect {
    let galley = painter.layout_no_wrap(text.to_owned(), font, ink);
    let frame = anchor.anchor_size(at, galley.size());
    painter.rect_filled(frame.expand2(vec2(3.0, 0.0)), 2.0, ground.gamma_multiply(0.8));
    painter.galley(frame.min, galley, ink);
    frame
}

/// `stretched 35 % · span 4.32 mm`, and how it was found where that is not one period repeated.
pub(super) fn stretched_caption(shown: &Shown) -> String {
    let state = &shown.state;
    let percent = ogee_design::digits_text((state.stretch.abs() * 1000.0).round() / 10.0, 4);
    let word = if state.stretch < 0.0 { "compressed" } else { "stretched" };
    let model = match shown.kind() {
        None | Some(FormKind::Flat) => "",
        Some(FormKind::Buckled) => " · buckled, seen from above",
        Some(FormKind::Bonded) => " · bonded",
    };
    format!("{word} {percent} % · span {}{model}", length_text(state.span_um))
}

/// A plate of an island, with its name where there is room.
pub(super) fn paint_plate(painter: &Painter, rect: Rect, name: &str, theme: &Theme, faded: bool) {
    let fade = |c: Color32| if faded { c.gamma_multiply(0.75) } else { c };
    painter.rect(
        rect,
        3.0,
        fade(theme.island_fill),
        Stroke::new(1.0, fade(theme.island_line)),
        StrokeKind::Inside,
    );
    let ink = if faded { theme.muted } else { theme.text };
    let galley = painter.layout_no_wrap(name.to_owned(), FontId::proportional(11.0), ink);
    if galley.size().x + 2.0 <= rect.width() && galley.size().y <= rect.height() {
        painter.galley(rect.center() - galley.size() / 2.0, galley, ink);
    }
}

/// The place that sees most, in words.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Peak {
    /// Distance along the ribbon at rest, µm.
    s_um: f64,
    /// Offset to the left, µm.
    offset_um: f64,
    /// `0.64 % tension, inner edge`.
    headline: String,
    /// Place and model.
    detail: String,
    /// Whether the limit is kept.
    passes: bool,
    /// Whether every period has it, not only those at the ends.
    repeats: bool,
}

impl Peak {
    /// The peak of `state`: at the target in the words of the assessment, else as the drawing shows it.
    pub(super) fn find(
        checked: &Checked,
        state: &PeriodState,
        ink: &Ink,
        assessment: Option<&Assessment>,
    ) -> Option<Self> {
        if ink.by() == ColourBy::Loss {
            return None;
        }
        let at_target = (state.stretch - checked.target_stretch()).abs() < SAME_STRETCH;
        let margin =
            assessment.filter(|_| at_target).and_then(|a| a.margins.iter().find(|m| m.id == STRAIN_MARGIN));
        if let Some(margin) = margin
            && let (Some(value), Some(s_um)) = (margin.value, margin.place.s_um)
        {
            let detail = format!("{}\n{}", margin.place.words, margin.model);
            let offset_um = margin.place.offset_um.unwrap_or_default();
            let headline = format!("{value:.2} % tension, {:.2} % allowed", margin.limit);
            let repeats = state.whole_periods > 0 && assessment.is_none_or(|a| a.stretch.end_factor == 1.0);
            return Some(Self { s_um, offset_um, headline, detail, passes: margin.passes, repeats });
        }
        Self::drawn(checked, state, ink)
    }

    /// The largest strain against what is allowed there; of the repeated periods over one.
    fn drawn(checked: &Checked, state: &PeriodState, ink: &Ink) -> Option<Self> {
        let width = checked.width_um();
        let mut best: Option<(f64, f64, f64)> = None;
        for point in all_points(state) {
            let station = Station::of(&point);
            for lane in ink.lanes() {
                for side in [lane.right, lane.left] {
                    let strain = station.strain_at(side);
                    let share = strain / lane.allowable;
                    if best.is_none_or(|b| share > b.0) {
                        best = Some((share, point.s_um, side));
                    }
                }
            }
        }
        let (share, s, side) = best.filter(|b| b.0 > 1e-9)?;
        let point = state.at(s)?;
        let strain = share * ink.lane_at(side).allowable;
        let inner = side * point.kappa_rest_per_um > 0.0;
        let edge = match side.abs() {
            a if a < 1.0 - 1e-9 => "inside the section",
            _ if inner => "inner edge",
            _ => "outer edge",
        };
        Some(Self {
            s_um: point.s_um,
            offset_um: side * width / 2.0,
            headline: format!("{:.2} % tension, {edge}", 100.0 * strain),
            detail: format!("{:.0} % of what is allowed there", 100.0 * share),
            passes: share <= 1.0,
            repeats: state.whole_periods > 0,
        })
    }

    /// Where the peak is seen: at its own place and, where the periods are alike, at the same place of others.
    fn sights(&self, ribbon: &Ribbon<'_>, sheet: &Sheet) -> Vec<Pos2> {
        /// Most periods that are tried for a label that stands free.
        const MOST_TRIED: usize = 5;
        let state = ribbon.state;
        let place = |s: f64| state.at(s).map(|p| offset_place(&p, self.offset_um, ribbon.midline_um, sheet));
        let room = sheet.canvas().shrink2(vec2(24.0, 40.0));
        let own = place(self.s_um).filter(|p| room.contains(*p));
        if own.is_some() && !self.repeats {
            return own.into_iter().collect();
        }
        let visible = ribbon.visible_periods(sheet);
        let phase = (self.s_um - state.first_period_s_um).rem_euclid(state.period_contour_um);
        let stride = (visible.len() / MOST_TRIED).max(1);
        let others = visible.step_by(stride).filter_map(|k| place(state.period_origin(k).0 + phase));
        own.into_iter().chain(others.filter(|p| room.contains(*p))).collect()
    }

    /// Paints the label beside the ribbon, away from what it is to `keep_clear` of. `last` is where it stood in the last frame,
    /// relative to what it points at.
    pub(super) fn paint(
        &self,
        painter: &Painter,
        sheet: &Sheet,
        ribbon: &Ribbon<'_>,
        keep_clear: &Obstacles<'_>,
        last: &mut Option<Vec2>,
        theme: &Theme,
    ) {
        let ink = if self.passes { theme.text } else { theme.bad };
        let headline = painter.layout_no_wrap(self.headline.clone(), FontId::proportional(12.0), ink);
        let detail =
            painter.layout(self.detail.clone(), FontId::proportional(11.0), theme.muted, DETAIL_WIDTH);
        let size = vec2(headline.size().x.max(detail.size().x), headline.size().y + detail.size().y + 2.0);
        let size = size + vec2(18.0, 11.0);
        let spots = self.sights(ribbon, sheet).into_iter().filter_map(|at| {
            let (cost, frame) = keep_clear.free_place(at, size, sheet.canvas())?;
            // A label that stands well enough stays: it must not jump while the ribbon moves.
            let is_kept = last.is_some_and(|l| (frame.min - at - l).length() < 12.0);
            Some((if is_kept { 0.6 * cost } else { cost }, at, frame))
        });
        let Some((_, at, frame)) = spots.min_by(|a, b| a.0.total_cmp(&b.0)) else { return };
        *last = Some(frame.min - at);
        let anchor = frame.clamp(at);
        painter.line_segment([at, anchor], Stroke::new(1.0, theme.text));
        painter.circle(at, 2.5, theme.canvas, Stroke::new(1.2, theme.text));
        painter.rect(frame, 4.0, theme.panel, Stroke::new(1.0, theme.line), StrokeKind::Inside);
        let text = frame.min + vec2(9.0, 5.0);
        let below = text + vec2(0.0, headline.size().y + 2.0);
        painter.galley(text, headline, ink);
        painter.galley(below, detail, theme.muted);
    }
}

/// What a label keeps clear of.
#[derive(Clone, Copy, Debug)]
pub(super) struct Obstacles<'a> {
    /// The rectangle round the ribbon that it belongs to.
    pub body: Rect,
    /// Plates, captions, scale bar, key.
    pub rects: &'a [Rect],
    /// Points along the ribbons.
    pub points: &'a [Pos2],
}

impl Obstacles<'_> {
    /// A box of `size` near `at` that covers as little as possible, with its cost.
    fn free_place(&self, at: Pos2, size: Vec2, canvas: Rect) -> Option<(f32, Rect)> {
        let room = canvas.shrink(6.0);
        // At fixed distances, and clear of the whole ribbon above and below.
        let ups = [-16.0, -34.0, self.body.top() - 10.0 - at.y];
        let downs = [16.0, 34.0, 56.0, self.body.bottom() + 10.0 - at.y, self.body.bottom() + 30.0 - at.y];
        let ups = ups.map(|dy| at.y + dy.min(-10.0) - size.y);
        let rows = ups.into_iter().chain(downs.map(|dy| at.y + dy.max(10.0)));
        let columns =
            [at.x + 20.0, at.x + 60.0, at.x - size.x / 2.0, at.x - 20.0 - size.x, at.x - 60.0 - size.x];
        let mut best: Option<(f32, Rect)> = None;
        for top in rows {
            for left in columns {
                let frame = Rect::from_min_size(pos2(left, top), size);
                if !room.contains_rect(frame) {
                    continue;
                }
                let cost = self.cost(at, frame);
                if best.is_none_or(|b| cost < b.0) {
                    best = Some((cost, frame));
                }
            }
        }
        best
    }

    /// What it costs to put a label for `at` at `frame`: most of all covered words, then covered ribbon,
    /// then a long leader line.
    fn cost(&self, at: Pos2, frame: Rect) -> f32 {
        const WORDS: f32 = 400.0;
        const RIBBON: f32 = 30.0;
        let near = frame.expand(3.0);
        let leader = near.clamp(at) - at;
        let crosses = |r: &Rect| (1..=12).any(|i| r.contains(at + leader * (i as f32 / 12.0)));
        let words = self.rects.iter().filter(|r| r.intersects(near)).count();
        let crossed = self.rects.iter().filter(|r| crosses(r)).count();
        let ribbon = self.points.iter().filter(|p| near.contains(**p)).count();
        WORDS * (2 * words + crossed) as f32 + RIBBON * ribbon as f32 + leader.length()
    }
}

/// A point beside the centreline on the screen.
pub(super) fn offset_place(point: &RibbonPoint, offset_um: f64, midline_um: f64, sheet: &Sheet) -> Pos2 {
    let centre = sheet.pos(point.x_um, point.y_um + midline_um);
    along(centre, [-point.phi_rad.sin(), point.phi_rad.cos()], sheet.points(offset_um))
}

/// What makes the document impossible, with the nearest possible value as a button.
pub(super) fn notice_ui(ui: &mut Ui, canvas: Rect, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
    const MOST_SHOWN: usize = 3;
    let faults = session.faults();
    if faults.is_empty() {
        return;
    }
    let width = (canvas.width() - 60.0).clamp(120.0, 460.0);
    let area =
        Rect::from_min_size(pos2(canvas.center().x - width / 2.0, canvas.top() + 36.0), vec2(width, 0.0));
    ui.scope_builder(UiBuilder::new().max_rect(area).id_salt("notice"), |ui| {
        egui::Frame::new()
            .fill(theme.panel)
            .stroke(Stroke::new(1.0, theme.bad))
            .corner_radius(5)
            .inner_margin(egui::Margin::symmetric(14, 10))
            .show(ui, |ui| {
                ui.set_width(width - 28.0);
                ui.label(
                    egui::RichText::new("This design is impossible as it stands")
                        .font(Theme::bold(12.5))
                        .color(theme.bad),
                );
                for fault in faults.iter().take(MOST_SHOWN) {
                    fault_ui(ui, fault, session.committed(), theme, out);
                }
                if faults.len() > MOST_SHOWN {
                    let more = format!("and {} more", faults.len() - MOST_SHOWN);
                    ui.label(egui::RichText::new(more).color(theme.muted));
                }
                if session.checked().is_some() {
                    let last = "The drawing shows the last possible design";
                    ui.label(egui::RichText::new(last).small().color(theme.muted));
                }
            });
    });
}

fn fault_ui(ui: &mut Ui, fault: &Fault, design: &Design, theme: &Theme, out: &mut Vec<Command>) {
    let field = field_at(&fault.path);
    let name = field.map_or_else(|| fault.path.clone(), |f| f.label.to_owned());
    let text = match (name.is_empty(), fault.value.is_empty()) {
        (true, _) => fault.message.clone(),
        (false, true) => format!("{name}: {}", fault.message),
        (false, false) => {
            let unit = field.map_or("", |f| f.unit);
            format!("{name} {} {unit}: {}", fault.value, fault.message)
        }
    };
    ui.add(egui::Label::new(egui::RichText::new(text).color(theme.text)).wrap());
    if let (Some(nearest), Some(field)) = (fault.nearest, field) {
        let value = tidy_nearest(design, fault, nearest);
        let words = format!("Use {} {}", ogee_design::digits_text(value, 5), field.unit);
        let button = ui.button(words.trim_end());
        if button.on_hover_text("The nearest value that is possible").clicked() {
            let label = format!("Use nearest {}", field.label.to_lowercase());
            out.push(Command::Commit(Edit::number(label, fault.path.clone(), value)));
        }
    }
}

/// `nearest` in few digits where that mends the fault too.
fn tidy_nearest(design: &Design, fault: &Fault, nearest: f64) -> f64 {
    let mends = |value: f64| {
        let mut design = design.clone();
        design.set_number(&fault.path, value)
            && design.check().err().is_none_or(|faults| faults.iter().all(|f| f.path != fault.path))
    };
    (3..=6).map(|digits| super::settle::significant(nearest, digits)).find(|v| mends(*v)).unwrap_or(nearest)
}
