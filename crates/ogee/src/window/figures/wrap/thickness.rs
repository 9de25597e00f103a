//! Strain through the thickness: layers as bands, three lines across them, what each layer is allowed.

use super::number_3;
use crate::session::Command;
use crate::window::axes::length_text;
use crate::window::colour_scale::{Lean, hatch};
use crate::window::figures::frame::{Around, Framed, Name, names, patterned, range_with_zero, readout};
use crate::window::figures::look::Look;
use crate::window::plot::{key, small_font};
use crate::window::theme::Theme;
use egui::{
    Align2, CursorIcon, Painter, Pos2, Rect, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2,
};
use ogee_design::{WrapFace, WrapResult};

/// How much of an elastomer is shown beside the ribbon, parts of the ribbon's thickness.
const ELASTOMER: f64 = 0.35;
/// A limit farther out than this many times the strain is named and not drawn.
const FAR: f64 = 2.5;

/// A layer, or the elastomer beside the ribbon, in its height.
#[derive(Clone, Debug, PartialEq)]
struct Band {
    name: String,
    layer: Option<usize>,
    low: f64,
    high: f64,
}

/// From bottom to top.
fn bands(found: &WrapResult, look: &Look<'_>) -> Vec<Band> {
    let mut bands = Vec::new();
    let (first, last) =
        (found.faces.first().map_or(0.0, |f| f.z_um), found.faces.last().map_or(0.0, |f| f.z_um));
    let elastomer = |low: f64, high: f64| Band { name: "elastomer".to_owned(), layer: None, low, high };
    if first < -1e-9 {
        bands.push(elastomer(first, 0.0));
    }
    let mut bottom = 0.0;
    for (i, layer) in look.design.stack.layers.iter().enumerate() {
        let high = bottom + layer.thickness_um.max(0.0);
        bands.push(Band { name: layer.name.clone(), layer: Some(i), low: bottom, high });
        bottom = high;
    }
    if last > bottom * (1.0 + 1e-9) {
        bands.push(elastomer(bottom, last));
    }
    bands
}

/// Heights that are shown: the ribbon, and some of the elastomer.
fn heights(bands: &[Band]) -> [f64; 2] {
    let ribbon = || bands.iter().filter(|b| b.layer.is_some());
    let low = ribbon().map(|b| b.low).fold(f64::INFINITY, f64::min);
    let high = ribbon().map(|b| b.high).fold(f64::NEG_INFINITY, f64::max);
    if !(low.is_finite() && high > low) {
        return [0.0, 1.0];
    }
    let beside = ELASTOMER * (high - low);
    let all = |f: &dyn Fn(&Band) -> f64| bands.iter().map(f).collect::<Vec<_>>();
    let bottom = all(&|b| b.low).into_iter().fold(low, f64::min);
    let top = all(&|b| b.high).into_iter().fold(high, f64::max);
    [bottom.max(low - beside), top.min(high + beside)]
}

/// Strain at a height: middle, bonded, split; `None` outside the faces.
fn strain_at(faces: &[WrapFace], z: f64) -> Option<[f64; 3]> {
    let pair = faces.windows(2).find(|p| p[0].z_um <= z && z <= p[1].z_um && p[1].z_um > p[0].z_um)?;
    let share = (z - pair[0].z_um) / (pair[1].z_um - pair[0].z_um);
    let between = |a: f64, b: f64| a + share * (b - a);
    Some([
        between(pair[0].middle_percent, pair[1].middle_percent),
        between(pair[0].bonded_percent, pair[1].bonded_percent),
        between(pair[0].split_percent[1], pair[1].split_percent[0]),
    ])
}

/// Strains that the frame has to hold.
fn strains(found: &WrapResult, bands: &[Band], z: [f64; 2], look: &Look<'_>) -> [f64; 2] {
    let is_seen = |f: &&WrapFace| (z[0]..=z[1]).contains(&f.z_um);
    let mut values: Vec<f64> = found
        .faces
        .iter()
        .filter(is_seen)
        .flat_map(|f| [f.middle_percent, f.bonded_percent, f.split_percent[0], f.split_percent[1]])
        .collect();
    for edge in z {
        values.extend(strain_at(&found.faces, edge).into_iter().flatten());
    }
    let reach = values.iter().map(|v| v.abs()).fold(0.0, f64::max);
    for band in bands {
        let [compressed, stretched] = allowed(found, band, look);
        let near = |v: Option<f64>| v.filter(|v| v.abs() <= FAR * reach).map(|v| 1.1 * v);
        values.extend([near(compressed), near(stretched)].into_iter().flatten());
    }
    range_with_zero(values)
}

/// What a layer is allowed in compression (negative) and in tension, %.
fn allowed(found: &WrapResult, band: &Band, look: &Look<'_>) -> [Option<f64>; 2] {
    let stretched = found.layers.iter().find(|l| l.name == band.name).map(|l| l.allowable_strain_percent);
    let layer = band.layer.and_then(|i| look.design.stack.layers.get(i));
    [layer.and_then(|l| l.allowable_compression_percent).map(|v| -v), stretched]
}

/// Paints the figure into `whole`.
pub(super) fn paint(ui: &Ui, whole: Rect, found: &WrapResult, look: &Look<'_>, out: &mut Vec<Command>) {
    let theme = look.theme;
    let font = small_font(ui);
    let bands = bands(found, look);
    let z = heights(&bands);
    let keys = font.size + 6.0;
    let place = Rect::from_min_max(whole.min, pos2(whole.right(), whole.bottom() - keys));
    let column = (0.27 * whole.width()).clamp(64.0, 150.0);
    let around = Around { left: "height, µm", below: "strain, %", right: column };
    let frame = Framed::new(ui, place, strains(found, &bands, z, look), z, around);
    ui.painter().rect_filled(frame.area, 0.0, theme.canvas);
    let clip = frame.clip(ui);
    let row = |band: &Band| {
        let (bottom, top) = (frame.y.screen(band.low), frame.y.screen(band.high));
        Rect::from_x_y_ranges(
            frame.area.x_range(),
            top.max(frame.area.top())..=bottom.min(frame.area.bottom()),
        )
    };
    for band in &bands {
        clip.rect_filled(row(band), 0.0, look.ground(band.layer).gamma_multiply(0.55));
    }
    frame.paint_axes(ui, around, theme);
    for band in &bands {
        clip.hline(frame.area.x_range(), frame.y.screen(band.high), Stroke::new(0.6, theme.line_strong));
    }
    clip.vline(frame.x.screen(0.0), frame.area.y_range(), Stroke::new(1.0, theme.line_strong));
    for band in &bands {
        paint_allowed(&clip, &frame, row(band), allowed(found, band, look), &font, theme);
    }
    neutral_plane(&clip, &frame, found.neutral_plane_um, &font, theme);
    lines(&clip, &frame, &found.faces, theme);
    frame.paint_border(ui, theme);
    let rows: Vec<Rect> = bands.iter().map(row).collect();
    let at = Rect::from_min_max(
        pos2(frame.area.right(), frame.area.top()),
        pos2(whole.right(), frame.area.bottom()),
    );
    touch(ui, &frame, at, &bands, &rows, found, look, out);
    let mut at = pos2(frame.area.left(), whole.bottom() - 0.5 * keys);
    for (i, (name, stroke)) in styles(theme).into_iter().enumerate() {
        at = sample(ui.painter(), at, name, stroke, [0, 1, 2][i], &font, theme);
    }
    if at.x + crate::window::plot::width(ui.painter(), "allowed", &font) + 10.0 < whole.right() {
        ui.painter().vline(at.x + 2.0, at.y - 5.0..=at.y + 5.0, Stroke::new(1.3, theme.warn));
        ui.painter().text(at + vec2(8.0, 0.0), Align2::LEFT_CENTER, "allowed", font, theme.warn);
    }
}

/// The three lines, in the order of [`strain_at`].
fn styles(theme: &Theme) -> [(&'static str, Stroke); 3] {
    [
        ("middle of the wrap", Stroke::new(2.4, theme.accent)),
        ("bonded", Stroke::new(1.2, theme.text)),
        ("split", Stroke::new(1.4, theme.text)),
    ]
}

/// A line of the key.
fn sample(
    painter: &Painter,
    at: Pos2,
    name: &str,
    stroke: Stroke,
    pattern: usize,
    font: &egui::FontId,
    theme: &Theme,
) -> Pos2 {
    let none = Stroke::new(0.0, theme.panel);
    let next = key(painter, at, name, none, false, font, [theme.muted, theme.panel]);
    patterned(painter, vec![at, at + vec2(18.0, 0.0)], stroke, pattern);
    next - vec2(2.0, 0.0)
}

fn lines(clip: &Painter, frame: &Framed, faces: &[WrapFace], theme: &Theme) {
    let [middle, bonded, split] = styles(theme).map(|s| s.1);
    let line = |value: &dyn Fn(&WrapFace) -> f64| {
        faces.iter().map(|f| frame.at(value(f), f.z_um)).collect::<Vec<Pos2>>()
    };
    // The thin ones on top, so that all three are seen where they agree.
    patterned(clip, line(&|f| f.middle_percent), middle, 0);
    patterned(clip, line(&|f| f.bonded_percent), bonded, 1);
    let mut path = Vec::new();
    for pair in faces.windows(2) {
        path.push(frame.at(pair[0].split_percent[1], pair[0].z_um));
        path.push(frame.at(pair[1].split_percent[0], pair[1].z_um));
    }
    patterned(clip, path, split, 2);
}

/// A bracket at the limit, hatched beyond it.
fn paint_allowed(
    clip: &Painter,
    frame: &Framed,
    row: Rect,
    limits: [Option<f64>; 2],
    font: &egui::FontId,
    theme: &Theme,
) {
    if row.height() <= 0.0 {
        return;
    }
    for (limit, is_right) in limits.into_iter().zip([false, true]) {
        let Some(limit) = limit else { continue };
        let x = frame.x.screen(limit);
        if !frame.area.x_range().contains(x) {
            beyond(clip, row, limit, is_right, font, theme);
            continue;
        }
        let edge = if is_right { row.right() } else { row.left() };
        let outside = Rect::from_two_pos(pos2(x, row.top()), pos2(edge, row.bottom()));
        let thin = Stroke::new(0.7, theme.warn.gamma_multiply(0.55));
        clip.extend(hatch(outside, 4.5, Lean::Rising, thin, |_| true));
        let stroke = Stroke::new(1.3, theme.warn);
        clip.vline(x, row.y_range(), stroke);
        let inwards = if is_right { -4.0 } else { 4.0 };
        for y in [row.top(), row.bottom()] {
            clip.line_segment([pos2(x, y), pos2(x + inwards, y)], stroke);
        }
    }
}

/// A limit that lies outside the frame, in words where the row has room for them.
fn beyond(clip: &Painter, row: Rect, limit: f64, is_right: bool, font: &egui::FontId, theme: &Theme) {
    if row.height() < font.size {
        return;
    }
    let (at, anchor, words) = if is_right {
        (row.right_center() - vec2(4.0, 0.0), Align2::RIGHT_CENTER, format!("{} % ▸", number_3(limit)))
    } else {
        (row.left_center() + vec2(4.0, 0.0), Align2::LEFT_CENTER, format!("◂ {} %", number_3(limit)))
    };
    clip.text(at, anchor, words, font.clone(), theme.warn);
}

/// The neutral plane, or the way to it.
fn neutral_plane(clip: &Painter, frame: &Framed, z: f64, font: &egui::FontId, theme: &Theme) {
    let area = frame.area;
    let y = frame.y.screen(z);
    let (words, at) = if y > area.bottom() {
        (format!("neutral plane {} below the ribbon ↓", length_text(-z)), area.bottom() - 2.0)
    } else if y < area.top() {
        ("neutral plane above ↑".to_owned(), area.top() + font.size + 4.0)
    } else {
        patterned(clip, vec![pos2(area.left(), y), pos2(area.right(), y)], Stroke::new(1.0, theme.text), 3);
        ("neutral plane".to_owned(), if y - area.top() > 16.0 { y - 1.0 } else { y + font.size + 4.0 })
    };
    let galley = clip.layout_no_wrap(words, font.clone(), theme.text);
    let rect = Align2::LEFT_BOTTOM.anchor_size(pos2(area.left() + 5.0, at), galley.size());
    clip.rect_filled(rect, 2.0, theme.canvas.gamma_multiply(0.75));
    clip.galley(rect.min, galley, theme.text);
}

/// Names at the side, the read-out at the pointer, and a click that selects a layer.
#[expect(clippy::too_many_arguments, reason = "the one place where names, bands and pointer meet")]
fn touch(
    ui: &Ui,
    frame: &Framed,
    column: Rect,
    bands: &[Band],
    rows: &[Rect],
    found: &WrapResult,
    look: &Look<'_>,
    out: &mut Vec<Command>,
) {
    let theme = look.theme;
    let list: Vec<Name> = bands
        .iter()
        .zip(rows)
        .map(|(band, row)| {
            let is_selected = band.layer.is_some() && band.layer == look.selected;
            let ink = if is_selected { theme.accent } else { theme.muted };
            Name { y: row.center().y, text: band.name.clone(), ink }
        })
        .collect();
    let places = names(ui, column, &list, theme);
    let response =
        ui.interact(frame.area, ui.scope_id().with("strain through the thickness"), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, "strain through the thickness"));
    let mut lit = None;
    for (i, (band, place)) in bands.iter().zip(&places).enumerate() {
        let Some(layer) = band.layer else { continue };
        let name = ui.interact(place.expand(1.0), response.id.with(i), Sense::click());
        let is_selected = look.selected == Some(layer);
        let label = format!("layer {} of the wrap: {}", layer + 1, band.name);
        name.widget_info(|| WidgetInfo::selected(Role::Button, true, is_selected, &label));
        if name.hovered() || name.has_focus() {
            lit = Some(i);
        }
        if name.clicked() {
            out.push(Command::SelectLayer((!is_selected).then_some(layer)));
        }
        name.on_hover_text(&band.name);
    }
    if let Some(at) = response.hover_pos().filter(|_| response.hovered()) {
        let z = frame.y.value(at.y);
        lit = bands.iter().position(|b| b.low <= z && z <= b.high).or(lit);
        if let (Some(i), Some(strain)) = (lit, strain_at(&found.faces, z)) {
            ui.painter().hline(frame.area.x_range(), at.y, Stroke::new(0.8, theme.line_strong));
            let text = |i: usize| format!("{} {} %", styles(theme)[i].0, number_3(strain[i]));
            let mut lines = vec![
                (format!("{}, height {}", bands[i].name, length_text(z)), theme.text),
                (text(0), theme.accent),
                (text(1), theme.muted),
                (text(2), theme.muted),
            ];
            let [compressed, stretched] = allowed(found, &bands[i], look);
            lines.extend(stretched.map(|v| (format!("allowed {} %", number_3(v)), theme.warn)));
            lines.extend(
                compressed.map(|v| (format!("allowed {} % in compression", number_3(-v)), theme.warn)),
            );
            readout(ui, theme, at, &lines);
        }
        if let Some(layer) = lit.and_then(|i| bands[i].layer) {
            ui.set_cursor_icon(CursorIcon::PointingHand);
            if response.clicked() {
                out.push(Command::SelectLayer((look.selected != Some(layer)).then_some(layer)));
            }
        }
    }
    let chosen = bands.iter().position(|b| b.layer.is_some() && b.layer == look.selected);
    for i in [chosen, lit].into_iter().flatten() {
        ui.painter().rect_stroke(rows[i], 0.0, Stroke::new(1.4, theme.accent), StrokeKind::Outside);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::figures::hand_made;

    #[test]
    fn split_strain_jumps_at_faces_and_bonded_does_not() {
        let found = hand_made::wrap();
        let z = found.faces[4].z_um;
        let [below, above] = [z - 1e-6, z + 1e-6].map(|z| strain_at(&found.faces, z).unwrap());
        assert!((below[1] - above[1]).abs() < 1e-4, "bonded");
        assert!((below[2] - above[2]).abs() > 1e-2, "split");
        assert!(strain_at(&found.faces, 1e6).is_none());
    }

    #[test]
    fn a_thick_elastomer_does_not_press_the_ribbon_flat() {
        let band = |layer, low, high| Band { name: String::new(), layer, low, high };
        let shown = heights(&[band(None, -500.0, 0.0), band(Some(0), 0.0, 20.0)]);
        assert_eq!(shown, [-7.0, 20.0]);
        assert_eq!(heights(&[band(Some(0), 0.0, 20.0)]), [0.0, 20.0]);
        assert_eq!(heights(&[]), [0.0, 1.0]);
    }
}
