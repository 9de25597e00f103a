//! Around the map: where its parts stand, its axes and its legend.

use super::picture::{Frame, Picture};
use super::{MapPanel, Source};
use crate::window::axes::number;
use crate::window::colour_scale::Lean;
use crate::window::legend::{Direction, Legend, LegendInk, paint_swatch};
use crate::window::plot::{Ticks, on_pixels, upright};
use crate::window::theme::Theme;
use egui::{Align2, Color32, FontId, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2};

/// Where the parts of the panel stand.
pub(super) struct Places {
    pub(super) whole: Rect,
    pub(super) area: Rect,
    bar: Rect,
    caption_y: f32,
}

impl MapPanel {
    pub(super) fn paint_axes(ui: &Ui, frame: &Frame, places: &Places, font: &FontId, theme: &Theme) {
        let painter = ui.painter();
        let within = Rect::from_min_max(places.whole.min, pos2(places.bar.right(), places.whole.bottom()));
        let [across, up] = ticks(frame, font);
        across.paint_below(painter, places.area, within, font, theme);
        up.paint_left(painter, places.area, font, theme);
        let right = pos2(places.area.right(), places.caption_y);
        painter.text(right, Align2::RIGHT_CENTER, "pitch, µm", font.clone(), theme.muted);
        let middle = pos2(places.whole.left() + 0.5 * font.size, places.area.center().y);
        upright(painter, middle, "amplitude, µm", font, theme.muted);
    }

    /// The colour bar, a click on which keeps its range, and the signs for hatching.
    pub(super) fn legend(&mut self, ui: &Ui, places: &Places, font: &FontId, theme: &Theme) {
        let is_kept = self.keeps_colours();
        let Some((source, picture)) = &self.picture else { return };
        let content = picture.content();
        let painter = ui.painter();
        let occurring = picture.occurring();
        let legend = legend(source, picture, font);
        let ink = LegendInk { muted: theme.muted, line: theme.line_strong };
        let covered = legend.paint(painter, places.bar, ink);
        // What the two kinds of hatching stand for, where they occur.
        let mut at = pos2(places.area.left() + 6.0, places.caption_y);
        let dark = [0.0, 1.0].map(|end| content.scale.colour(end)).into_iter().min_by_key(Color32::r);
        let dark = dark.unwrap_or(theme.track);
        let signs = [
            (occurring.failing, "fails", dark, Stroke::new(0.8, theme.warn), Lean::Rising),
            (occurring.nothing, "no shape", theme.track, Stroke::new(1.0, theme.hatch), Lean::Falling),
        ];
        for (is_there, word, ground, stroke, lean) in signs {
            if is_there {
                let square = paint_swatch(painter, at, ground, stroke, lean, theme.line_strong);
                let left = pos2(square.right() + 4.0, at.y);
                let word = painter.text(left, Align2::LEFT_CENTER, word, font.clone(), theme.muted);
                at.x = word.right() + 14.0;
            }
        }
        if is_kept {
            // Just wide enough beside the caption of the pitch.
            let corner = pos2(places.whole.right(), places.caption_y);
            painter.text(corner, Align2::RIGHT_CENTER, "kept", font.clone(), theme.accent);
        }
        let response = ui.interact(covered, ui.scope_id().with("colours"), Sense::click());
        response.widget_info(|| WidgetInfo::selected(Role::CheckBox, true, is_kept, "colours of the map"));
        let (low, high) = (content.scale.low(), content.scale.high());
        let range = format!("{} to {} {}", number(low), number(high), source.field.unit());
        ui.ctx().accesskit_node_builder(response.id, |node| node.set_value(range.trim_end()));
        let is_clicked = response.clicked();
        response.on_hover_text(if is_kept {
            "The colours keep their range; click to let them follow the map"
        } else {
            "Click to keep this range of colours while the design changes"
        });
        if is_clicked {
            self.keep_colours(!is_kept);
        }
    }
}

/// The legend of a picture.
pub(super) fn legend<'a>(source: &Source, picture: &'a Picture, font: &FontId) -> Legend<'a> {
    Legend {
        has_below: picture.occurring().below,
        has_above: picture.occurring().above,
        mark: source.limit,
        font: font.clone(),
        ..Legend::new(&picture.content().scale, source.field.unit(), Direction::Up)
    }
}

/// Numbers of both axes.
pub(super) fn ticks(frame: &Frame, font: &FontId) -> [Ticks; 2] {
    [
        Ticks::new(&frame.pitch, 6.0 * font.size, 1.0).with_ends(&frame.pitch, 3.5 * font.size),
        Ticks::new(&frame.amplitude, 4.0 * font.size, 1.0).with_ends(&frame.amplitude, 2.0 * font.size),
    ]
}

impl Places {
    pub(super) fn new(ui: &Ui, whole: Rect, tick_width: f32, legend_width: f32, font: &FontId) -> Self {
        /// Width of the colour bar.
        const BAR: f32 = 10.0;
        // At least the overhang of the last number below the map.
        let numbers = legend_width.max(2.5 * font.size);
        let line = font.size + 4.0;
        let left = whole.left() + line + tick_width + 8.0;
        let area = Rect::from_min_max(
            pos2(left, whole.top() + 4.0),
            pos2(whole.right() - BAR - numbers - 13.0, whole.bottom() - 2.0 * line - 4.0),
        );
        let area = on_pixels(ui, area);
        let bar = Rect::from_min_max(
            pos2(area.right() + 12.0, area.top() + 4.0),
            pos2(area.right() + 12.0 + BAR, area.bottom() - 4.0),
        );
        Self { whole, area, bar: on_pixels(ui, bar), caption_y: whole.bottom() - 0.5 * line }
    }
}
