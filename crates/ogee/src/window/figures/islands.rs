//! Half an island and the sheet beside it: strain above, a sketch to the same scale along below.

use super::caption::{fact, fact_in, remark};
use super::copied;
use super::frame::{Around, Framed, patterned, range_with_zero, readout};
use super::look::{Figure, Look};
use super::wrap::number_3;
use crate::session::Command;
use crate::window::axes::{Axis, LengthUnit, length_text};
use crate::window::plot::{Ticks, key, small_font};
use crate::window::theme::Theme;
use egui::{Align2, Painter, Pos2, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use ogee_design::{IslandPoint, IslandResult, Islands};

/// The figure of the islands.
#[derive(Debug)]
pub(super) struct IslandFigure<'a> {
    /// What is shown.
    pub(super) found: &'a IslandResult,
}

/// Strain of island and sheet at a place; outside the profile that of its ends.
fn at(profile: &[IslandPoint], x: f64) -> Option<(Option<f64>, f64)> {
    let after = profile.partition_point(|p| p.x_um < x);
    let (a, b) = match (after.checked_sub(1).and_then(|i| profile.get(i)), profile.get(after)) {
        (Some(a), Some(b)) => (a, b),
        (None, Some(p)) | (Some(p), None) => (p, p),
        (None, None) => return None,
    };
    let share = if b.x_um > a.x_um { ((x - a.x_um) / (b.x_um - a.x_um)).clamp(0.0, 1.0) } else { 0.0 };
    let between = |a: f64, b: f64| a + share * (b - a);
    let island = a.island_percent.zip(b.island_percent).map(|(a, b)| between(a, b));
    Some((island, between(a.sheet_percent, b.sheet_percent)))
}

impl Figure for IslandFigure<'_> {
    fn title(&self, look: &Look<'_>) -> String {
        let found = self.found;
        let sheet = look.design.islands.as_ref().map(|i| i.sheet_stretch_percent);
        let ribbon = number_3(found.ribbon_stretch_percent);
        match sheet {
            Some(sheet) => format!(
                "Sheet stretched by {} %: the ribbon sees {ribbon} %, the island {} %",
                number_3(sheet),
                number_3(found.island_strain_percent)
            ),
            None => format!("The ribbon between islands sees {ribbon} %"),
        }
    }

    fn least_height(&self) -> f32 {
        165.0
    }

    fn plot(&mut self, ui: &mut Ui, rect: Rect, look: &Look<'_>, _out: &mut Vec<Command>) {
        paint(ui, rect, self.found, look);
    }

    fn caption(&mut self, ui: &mut Ui, look: &Look<'_>, _out: &mut Vec<Command>) {
        let theme = look.theme;
        let found = self.found;
        let amplified =
            format!("{}×, at most {}×", number_3(found.amplification), number_3(found.amplification_rigid));
        fact(ui, "Stretch of the ribbon over the sheet's", &amplified, theme);
        let allowed = format!("{} % of the sheet", number_3(found.sheet_stretch_allowed_percent));
        fact(ui, "Target of the ribbon reached at", &allowed, theme);
        let islands = look.design.islands.as_ref();
        let limit = islands.map(|i| i.strain_limit_percent);
        let ink = |value: f64, limit: Option<f64>| {
            if limit.is_some_and(|l| value.abs() > l) { theme.bad } else { theme.text }
        };
        let of = |limit: Option<f64>, unit: &str| {
            limit.map_or_else(|| format!(" {unit}"), |l| format!(" of {} {unit}", number_3(l)))
        };
        let strain = format!("{}{}", number_3(found.island_strain_percent), of(limit, "%"));
        fact_in(ui, "Strain in the island's middle", &strain, ink(found.island_strain_percent, limit), theme);
        let bowing = format!("{} %", number_3(found.bowing_strain_percent));
        fact(ui, "The same if the sheet may bow, bound", &bowing, theme);
        if let Some(drift) = found.drift_nm {
            let limit = islands.and_then(|i| i.grating).map(|g| g.drift_limit_nm);
            let words = format!("{}{}", number_3(drift), of(limit, "nm"));
            fact_in(ui, "Drift of the grating", &words, ink(drift, limit), theme);
        }
        fact(ui, "Shear at the edge", &format!("{} MPa", number_3(found.edge_shear_mpa)), theme);
        let peel = format!("{} J/m²", number_3(found.peel_bound_j_per_m2));
        fact(ui, "Energy that peels the edge, bound", &peel, theme);
        if let Some([low, high]) = found.edge_concentration {
            let words = format!("{} … {}× at {}", number_3(low), number_3(high), length_text(found.root_um));
            fact(ui, "Strain at the ribbon's root", &words, theme);
        }
        ui.add_space(4.0);
        remark(ui, &needed(found, islands), theme.accent);
    }

    fn model(&self) -> (&str, &[String]) {
        (&self.found.model, &self.found.validity)
    }

    fn table(&self) -> String {
        copied::islands(self.found)
    }
}

/// What would keep the island to its limits.
fn needed(found: &IslandResult, islands: Option<&Islands>) -> String {
    let thickness = match (found.needed_thickness_um, islands.map(|i| i.thickness_um)) {
        (Some(needed), _) if needed <= 0.0 => "An island of any thickness keeps to its limits".to_owned(),
        (Some(needed), Some(now)) if needed <= now => {
            format!(
                "The island is thick enough: {} would do, it has {}",
                length_text(needed),
                length_text(now)
            )
        }
        (Some(needed), _) => format!("An island {} thick keeps to its limits", length_text(needed)),
        (None, _) => "No thickness of the island keeps to its limits".to_owned(),
    };
    let is_short =
        found.needed_thickness_um.zip(islands).is_none_or(|(needed, now)| needed > now.thickness_um);
    match found.needed_modulus_mpa.filter(|_| is_short) {
        Some(modulus) => {
            format!("{thickness}; so does a modulus of {} MPa as thick as it is", number_3(modulus))
        }
        None => thickness,
    }
}

/// What the island's strain is multiplied by, a power of ten, so that it is seen beside the sheet's; 1 where it is.
fn magnified(profile: &[IslandPoint]) -> f64 {
    let most = |values: &mut dyn Iterator<Item = f64>| values.map(f64::abs).fold(0.0, f64::max);
    let island = most(&mut profile.iter().filter_map(|p| p.island_percent));
    let sheet = most(&mut profile.iter().map(|p| p.sheet_percent));
    if island <= 0.0 || sheet <= 0.0 {
        return 1.0;
    }
    10f64.powf((0.9 * sheet / island).log10().floor().clamp(0.0, 6.0))
}

fn strokes(theme: &Theme) -> [Stroke; 2] {
    [Stroke::new(1.8, theme.accent), Stroke::new(1.5, theme.muted)]
}

fn paint(ui: &Ui, whole: Rect, found: &IslandResult, look: &Look<'_>) {
    let theme = look.theme;
    let font = small_font(ui);
    let profile = &found.profile;
    let Some(end) = profile.last().map(|p| p.x_um) else { return };
    let factor = magnified(profile);
    let island = |p: &IslandPoint| p.island_percent.map(|v| factor * v);
    let values = profile.iter().flat_map(|p| island(p).into_iter().chain([p.sheet_percent]));
    let [low, high] = range_with_zero(values);
    let sketch_height = (0.3 * whole.height()).clamp(54.0, 110.0);
    let foot = 2.0 * font.size + 8.0;
    let around = Around { left: "strain, %", below: "", right: 8.0 };
    let upper = Rect::from_min_max(whole.min, pos2(whole.right(), whole.bottom() - sketch_height - foot));
    // Room for the key above the curves.
    let frame = Framed::new(ui, upper, [0.0, end], [low, 1.12 * high], around);
    let sketch = Rect::from_x_y_ranges(frame.area.x_range(), upper.bottom()..=upper.bottom() + sketch_height);
    ui.painter().rect_filled(frame.area, 0.0, theme.canvas);
    ui.painter().rect_filled(sketch, 0.0, theme.canvas);
    frame.paint_axes(ui, around, theme);
    let clip = frame.clip(ui);
    let half = look.design.islands.as_ref().map_or_else(
        || profile.iter().filter(|p| p.island_percent.is_some()).map(|p| p.x_um).fold(0.0, f64::max),
        |i| 0.5 * i.length_um,
    );
    let edge = frame.x.screen(half);
    let [solid, dashed] = strokes(theme);
    let line = |value: &dyn Fn(&IslandPoint) -> Option<f64>| {
        profile.iter().filter_map(|p| Some(frame.at(p.x_um, value(p)?))).collect::<Vec<Pos2>>()
    };
    patterned(&clip, line(&|p| Some(p.sheet_percent)), dashed, 1);
    patterned(&clip, line(&island), solid, 0);
    frame.paint_border(ui, theme);
    let inks = [theme.muted, theme.canvas];
    let name = if factor > 1.5 { format!("island × {}", number_3(factor)) } else { "island".to_owned() };
    let next = key(&clip, frame.area.left_top() + vec2(8.0, 10.0), &name, solid, false, &font, inks);
    key(&clip, next, "sheet, mean", dashed, true, &font, inks);
    draw(ui, sketch, &frame.x, half, found, look);
    ui.painter().vline(edge, frame.area.top()..=sketch.bottom(), Stroke::new(0.8, theme.line_strong));
    let unit = LengthUnit::fitting(end);
    let ticks = Ticks::new(&frame.x, 5.0 * font.size, unit.um).with_unit(unit.text);
    ticks.paint_below(ui.painter(), sketch, whole, &font, theme);
    let words = pos2(sketch.center().x, sketch.bottom() + 1.65 * (font.size + 3.0));
    ui.painter().text(words, Align2::CENTER_CENTER, "from the island's middle", font, theme.muted);

    let all = frame.area.union(sketch);
    let response = ui.interact(all, ui.scope_id().with("strain of island and sheet"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, "strain of island and sheet"));
    if let Some(pointer) = response.hover_pos().filter(|_| response.hovered()) {
        let x = frame.x.value(pointer.x).clamp(0.0, end);
        let Some((island, sheet)) = at(profile, x) else { return };
        ui.painter().vline(frame.x.screen(x), all.y_range(), Stroke::new(1.0, theme.line_strong));
        let mut lines = vec![(format!("{} from the middle", length_text(x)), theme.text)];
        lines.extend(island.map(|v| (format!("island {} %", number_3(v)), theme.accent)));
        lines.push((format!("sheet {} %", number_3(sheet)), theme.muted));
        readout(ui, theme, pointer, &lines);
    }
}

/// The sketch: true along, heights only in proportion.
fn draw(ui: &Ui, area: Rect, x: &Axis, half: f64, found: &IslandResult, look: &Look<'_>) {
    let theme = look.theme;
    let font = small_font(ui);
    let painter = ui.painter().with_clip_rect(area.intersect(ui.painter().clip_rect()));
    let Some(islands) = &look.design.islands else { return };
    let body = Rect::from_min_max(
        area.left_top() + vec2(0.0, font.size + 8.0),
        area.right_bottom() - vec2(0.0, 6.0),
    );
    let adhesive = islands.adhesive_thickness_um.unwrap_or(0.0);
    let glue = if adhesive > 0.0 { 4.0 } else { 0.0 };
    let total = (islands.thickness_um + islands.sheet_thickness_um).max(1e-9);
    // High enough for a name.
    let least = (font.size + 3.0).min(0.45 * body.height());
    let room = body.height() - glue;
    let upper = ((islands.thickness_um / total) as f32 * room).clamp(least, room - least);
    let edge = x.screen(half);
    let stroke = Stroke::new(1.0, theme.island_line);
    let island = Rect::from_min_max(body.min, pos2(edge, body.top() + upper));
    let bond = Rect::from_min_max(pos2(body.left(), island.bottom()), pos2(edge, island.bottom() + glue));
    let sheet = Rect::from_min_max(pos2(body.left(), bond.bottom()), body.max);
    painter.rect_filled(sheet, 0.0, theme.layers[1]);
    painter.rect_filled(bond, 0.0, theme.layers[4]);
    painter.rect_filled(island, 0.0, theme.island_fill);
    for rect in [sheet, island] {
        painter.rect_stroke(rect, 0.0, stroke, StrokeKind::Inside);
    }
    let middle = vec![area.left_top() + vec2(0.5, 0.0), area.left_bottom() + vec2(0.5, 0.0)];
    patterned(&painter, middle, Stroke::new(1.0, theme.line_strong), 3);
    let label = |rect: Rect, words: String| {
        let galley = painter.layout_no_wrap(words, font.clone(), theme.text);
        if galley.size().x < rect.width() - 6.0 && galley.size().y < rect.height() + 4.0 {
            let at = Align2::CENTER_CENTER.anchor_size(rect.center(), galley.size());
            painter.galley(at.min, galley, theme.text);
        }
    };
    label(island, format!("island, {}", length_text(islands.thickness_um)));
    label(sheet, format!("sheet, {}", length_text(islands.sheet_thickness_um)));
    // Over this length the sheet hands its pull to the island.
    let from = x.screen((half - found.transfer_length_um).max(0.0));
    let y = area.top() + 0.5 * (font.size + 8.0);
    span(
        &painter,
        [from, edge],
        y,
        &format!("transfer {}", length_text(found.transfer_length_um)),
        theme,
        &font,
    );
    if found.root_um > 0.0 {
        let root = x.screen(half + found.root_um);
        painter.vline(root, body.top() + upper - 8.0..=sheet.top() + 6.0, Stroke::new(1.4, theme.warn));
        let at = pos2(root + 4.0, sheet.top() - 2.0);
        painter.text(at, Align2::LEFT_BOTTOM, "root", font.clone(), theme.warn);
    }
}

/// A length between two marks, with its words at the side that has room.
fn span(painter: &Painter, [from, to]: [f32; 2], y: f32, words: &str, theme: &Theme, font: &egui::FontId) {
    let stroke = Stroke::new(1.2, theme.accent);
    painter.hline(from..=to, y, stroke);
    for x in [from, to] {
        painter.vline(x, y - 3.0..=y + 3.0, stroke);
    }
    painter.text(pos2(to + 6.0, y), Align2::LEFT_CENTER, words, font.clone(), theme.accent);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::figures::hand_made;

    #[test]
    fn the_profile_is_read_between_its_points_and_ends_with_the_island() {
        let profile = hand_made::islands().profile;
        let (island, sheet) = at(&profile, 10.0).unwrap();
        assert!(island.is_some() && sheet > 0.0);
        let end = profile.last().unwrap().x_um;
        assert_eq!(at(&profile, 2.0 * end).unwrap().0, None);
        assert!(at(&[], 1.0).is_none());
    }

    #[test]
    fn a_stiff_island_is_magnified_by_a_power_of_ten_and_stays_in_the_frame() {
        let mut profile = hand_made::islands().profile;
        let factor = magnified(&profile);
        assert_eq!(factor, 100.0);
        for p in &mut profile {
            p.island_percent = p.island_percent.map(|v| 100.0 * v);
        }
        assert_eq!(magnified(&profile), 1.0);
        assert_eq!(magnified(&[]), 1.0);
    }

    #[test]
    fn what_is_needed_is_said_against_what_is_there() {
        let mut found = hand_made::islands();
        let islands = Islands { thickness_um: 100.0, ..Islands::default() };
        found.needed_thickness_um = Some(40.0);
        assert!(needed(&found, Some(&islands)).contains("thick enough"));
        found.needed_thickness_um = None;
        found.needed_modulus_mpa = None;
        assert!(needed(&found, Some(&islands)).starts_with("No thickness"));
    }
}
