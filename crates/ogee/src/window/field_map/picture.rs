//! The picture of a map: colours as a texture; lines, numbers and hatching as shapes laid over it.

use crate::window::axes::Axis;
use crate::window::colour_scale::{ColourScale, DARK_INK, LIGHT_INK, Lean, hatch, ink_on};
use crate::window::contour::{Grid, Isoline, place_label, without_gap};
use egui::epaint::TextShape;
use egui::{
    Align2, Color32, ColorImage, Context, FontId, Painter, Pos2, Rect, Shape, Stroke, TextureHandle,
    TextureOptions, Vec2, pos2, vec2,
};
use ogee_design::MapWindow;

/// What a picture shows.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Content {
    /// The values, row 0 at the least amplitude.
    pub(super) grid: Grid,
    /// Something where there is a shape at all: a field may lack its value there nevertheless.
    pub(super) possible: Grid,
    /// Margins on the same grid: below 1 fails. `None` where the field has no limit.
    pub(super) margins: Option<Grid>,
    /// Colours of the values.
    pub(super) scale: ColourScale,
    /// Values of the numbered lines, with their numbers as text.
    pub(super) levels: Vec<(f64, String)>,
    /// Text on the line where the margin is 1.
    pub(super) limit_text: String,
    /// Whether the part that passes is named as such.
    pub(super) names_passing: bool,
    /// What the grid covers.
    pub(super) window: MapWindow,
}

/// Inks and sizes of a picture.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PictureInk {
    /// Hatching where a limit is not met.
    pub(super) fails: Color32,
    /// Ground and hatching where there is no shape.
    pub(super) nothing: [Color32; 2],
    /// Plate behind words, and the words.
    pub(super) plate: [Color32; 2],
    /// Font of the numbers on lines.
    pub(super) font: FontId,
    /// Whether numbered lines are drawn.
    pub(super) has_lines: bool,
}

/// Where a map stands on the screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    /// Pitch, left to right.
    pub(super) pitch: Axis,
    /// Amplitude, bottom to top.
    pub(super) amplitude: Axis,
}

impl Frame {
    /// The map `window` filling `area`.
    pub(super) fn new(window: &MapWindow, area: Rect) -> Self {
        let [p, a] = [window.pitch_um, window.amplitude_um];
        Self {
            pitch: Axis::new(p[0]..=p[1], area.left(), area.right()),
            amplitude: Axis::new(a[0]..=a[1], area.bottom(), area.top()),
        }
    }

    /// The plot's area.
    pub(super) fn area(&self) -> Rect {
        Rect::from_min_max(pos2(self.pitch.from, self.amplitude.to), pos2(self.pitch.to, self.amplitude.from))
    }

    /// The screen point of a shape.
    pub(super) fn point(&self, pitch_um: f64, amplitude_um: f64) -> Pos2 {
        pos2(self.pitch.screen(pitch_um), self.amplitude.screen(amplitude_um))
    }

    /// Pitch and amplitude at a screen point, µm.
    pub(super) fn shape(&self, at: Pos2) -> [f64; 2] {
        [self.pitch.value(at.x), self.amplitude.value(at.y)]
    }
}

/// Column and row (cell centres are whole numbers) of a shape on a grid over `window`.
pub(super) fn grid_place(grid: &Grid, window: &MapWindow, [pitch_um, amplitude_um]: [f64; 2]) -> (f32, f32) {
    let along = |value: f64, [low, high]: [f64; 2], cells: usize| {
        ((value - low) / (high - low) * cells as f64 - 0.5) as f32
    };
    (along(pitch_um, window.pitch_um, grid.columns()), along(amplitude_um, window.amplitude_um, grid.rows()))
}

/// What occurs on a map, for its legend.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Occurring {
    /// Values below the range of the colours.
    pub(super) below: bool,
    /// Values above it.
    pub(super) above: bool,
    /// Cells that miss the limit.
    pub(super) failing: bool,
    /// Cells without a shape.
    pub(super) nothing: bool,
}

impl Occurring {
    fn on(content: &Content) -> Self {
        let (low, high) = (content.scale.low(), content.scale.high());
        let slack = 1e-6 * (high - low);
        Self {
            below: content.grid.values().any(|v| v < low - slack),
            above: content.grid.values().any(|v| v > high + slack),
            failing: content.margins.as_ref().is_some_and(|m| m.values().any(|v| v < 1.0)),
            nothing: content.possible.values().count() < content.grid.columns() * content.grid.rows(),
        }
    }
}

/// A finished picture.
pub(super) struct Picture {
    content: Content,
    occurring: Occurring,
    texture: Option<TextureHandle>,
    lines: Vec<(usize, Vec<Isoline>)>,
    limit: Vec<Isoline>,
    overlay: Option<(Frame, PictureInk, Vec<Shape>)>,
}

impl Picture {
    /// Calculates the lines; the texture follows with the first painting.
    pub(super) fn new(content: Content, previous: Option<Self>) -> Self {
        let lines =
            content.levels.iter().enumerate().map(|(i, (v, _))| (i, content.grid.isolines(*v))).collect();
        let limit = content.margins.as_ref().map(|m| m.isolines(1.0)).unwrap_or_default();
        let mut texture = previous.and_then(|p| p.texture);
        if let Some(texture) = &mut texture {
            texture.set(image(&content), TextureOptions::LINEAR);
        }
        Self { occurring: Occurring::on(&content), content, texture, lines, limit, overlay: None }
    }

    /// What it shows.
    pub(super) fn content(&self) -> &Content {
        &self.content
    }

    /// What occurs on it.
    pub(super) fn occurring(&self) -> Occurring {
        self.occurring
    }

    /// Paints the map into its frame.
    pub(super) fn paint(&mut self, ctx: &Context, painter: &Painter, frame: &Frame, ink: &PictureInk) {
        let area = frame.area();
        let painter = painter.with_clip_rect(area.intersect(painter.clip_rect()));
        painter.rect_filled(area, 0.0, ink.nothing[0]);
        let texture = self.texture.get_or_insert_with(|| {
            ctx.load_texture("ogee map", image(&self.content), TextureOptions::LINEAR)
        });
        let w = &self.content.window;
        let covered = Rect::from_two_pos(
            frame.point(w.pitch_um[0], w.amplitude_um[0]),
            frame.point(w.pitch_um[1], w.amplitude_um[1]),
        );
        let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
        painter.image(texture.id(), covered, whole, Color32::WHITE);
        if !self.overlay.as_ref().is_some_and(|(f, i, _)| f == frame && i == ink) {
            self.overlay = Some((*frame, ink.clone(), self.shapes(&painter, frame, ink)));
        }
        if let Some((_, _, shapes)) = &self.overlay {
            painter.extend(shapes.iter().cloned());
        }
    }

    /// Lines over what has no shape, and over what misses the limit.
    fn hatching(&self, frame: &Frame, [nothing, fails]: [Stroke; 2]) -> Vec<Shape> {
        let Content { grid, possible, margins, window, .. } = &self.content;
        let place = |p: Pos2| grid_place(grid, window, frame.shape(p));
        let is_possible = |p: Pos2| {
            let (c, r) = place(p);
            possible.cell(c, r).is_none_or(|(c, r)| possible.value(c, r).is_some())
        };
        let mut shapes = Vec::new();
        if self.occurring.nothing {
            shapes = hatch(frame.area(), 5.0, Lean::Falling, nothing, |p| !is_possible(p));
        }
        if let Some(margins) = margins {
            shapes.extend(hatch(frame.area(), 5.5, Lean::Rising, fails, |p| {
                let (c, r) = place(p);
                margins.between(c, r).is_some_and(|m| m < 1.0)
            }));
        }
        shapes
    }

    /// Hatching, lines and numbers.
    fn shapes(&self, painter: &Painter, frame: &Frame, ink: &PictureInk) -> Vec<Shape> {
        let area = frame.area();
        let strokes = [Stroke::new(1.0, ink.nothing[1]), Stroke::new(0.8, ink.fails)];
        let mut shapes = self.hatching(frame, strokes);
        let mut taken = Vec::new();
        // The limit comes first, so that its text finds room; its line is painted last, over the others.
        let mut strong = Vec::new();
        let casing = [Stroke::new(3.6, LIGHT_INK), Stroke::new(1.5, DARK_INK)];
        for line in self.screen_lines(&self.limit, frame) {
            numbered(painter, &line, &self.content.limit_text, &casing, area, ink, &mut taken, &mut strong);
        }
        if ink.has_lines {
            for (level, lines) in &self.lines {
                let (value, text) = &self.content.levels[*level];
                let colour = ink_on(self.content.scale.colour_of(*value));
                let stroke = [Stroke::new(0.9, colour.gamma_multiply(0.75))];
                for line in self.screen_lines(lines, frame) {
                    numbered(painter, &line, text, &stroke, area, ink, &mut taken, &mut shapes);
                }
            }
        }
        shapes.append(&mut strong);
        if self.content.names_passing {
            self.name_passing(painter, frame, ink, &mut shapes);
        }
        shapes
    }

    fn screen_lines(&self, lines: &[Isoline], frame: &Frame) -> Vec<Vec<Pos2>> {
        let Content { grid, window, .. } = &self.content;
        let [p, a] = [window.pitch_um, window.amplitude_um];
        let along = |v: f32, [low, high]: [f64; 2], cells: usize| {
            low + (f64::from(v) + 0.5) / cells as f64 * (high - low)
        };
        lines
            .iter()
            .map(|line| {
                let at =
                    |q: &[f32; 2]| frame.point(along(q[0], p, grid.columns()), along(q[1], a, grid.rows()));
                line.points.iter().map(at).collect()
            })
            .collect()
    }

    fn name_passing(&self, painter: &Painter, frame: &Frame, ink: &PictureInk, shapes: &mut Vec<Shape>) {
        let Some(margins) = &self.content.margins else { return };
        let w = &self.content.window;
        let found = margins.innermost(|m| m >= 1.0);
        let (text, at) = match found {
            Some(((c, r), _)) => {
                let along = |i: usize, [low, high]: [f64; 2], n: usize| {
                    low + (i as f64 + 0.5) / n as f64 * (high - low)
                };
                let at = frame
                    .point(along(c, w.pitch_um, margins.columns()), along(r, w.amplitude_um, margins.rows()));
                ("passes", at)
            }
            None => ("nothing passes here", frame.area().center()),
        };
        let galley = painter.layout_no_wrap(text.to_owned(), ink.font.clone(), ink.plate[1]);
        let plate = Rect::from_center_size(at, galley.size() + vec2(10.0, 4.0));
        let inner = frame.area().shrink(3.0);
        let shift = (inner.min - plate.min).max(Vec2::ZERO) + (inner.max - plate.max).min(Vec2::ZERO);
        let plate = plate.translate(shift);
        shapes.push(Shape::rect_filled(plate, 4.0, ink.plate[0].gamma_multiply(0.9)));
        shapes.push(TextShape::new(plate.min + vec2(5.0, 2.0), galley, ink.plate[1]).into());
    }
}

/// A line with its number in a gap, where there is room for it.
#[expect(clippy::too_many_arguments, reason = "one drawing step of a picture, split off for its length")]
fn numbered(
    painter: &Painter,
    line: &[Pos2],
    text: &str,
    strokes: &[Stroke],
    area: Rect,
    ink: &PictureInk,
    taken: &mut Vec<Rect>,
    shapes: &mut Vec<Shape>,
) {
    let is_strong = strokes.len() > 1;
    let colour = strokes[strokes.len() - 1].color;
    let galley = painter.layout_no_wrap(text.to_owned(), ink.font.clone(), colour);
    let label =
        if text.is_empty() { None } else { place_label(line, galley.size(), area.shrink(2.0), taken) };
    let parts = match label {
        Some(label) => without_gap(line, label.gap).to_vec(),
        None => vec![line.to_vec()],
    };
    for stroke in strokes {
        shapes.extend(parts.iter().filter(|p| p.len() > 1).map(|p| Shape::line(p.clone(), *stroke)));
    }
    if let Some(label) = label {
        let corner = label.middle - 0.5 * galley.size();
        if is_strong {
            // A plate as light as the line's casing.
            let along = Vec2::angled(label.angle);
            let across = along.rot90();
            let half = 0.5 * galley.size() + vec2(2.5, -0.5);
            let corners = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
            let plate = corners.map(|[a, b]| label.middle + a * half.x * along + b * half.y * across);
            shapes.push(Shape::convex_polygon(plate.to_vec(), LIGHT_INK, Stroke::NONE));
        }
        let text =
            TextShape::new(corner, galley, colour).with_angle_and_anchor(label.angle, Align2::CENTER_CENTER);
        shapes.push(text.into());
    }
}

/// One pixel per cell, the least amplitude in the last row; clear where there is no value.
fn image(content: &Content) -> ColorImage {
    let grid = &content.grid;
    let (columns, rows) = (grid.columns(), grid.rows());
    let mut pixels = Vec::with_capacity(columns * rows);
    for row in (0..rows).rev() {
        for column in 0..columns {
            pixels.push(grid.value(column, row).map_or(Color32::TRANSPARENT, |v| content.scale.colour_of(v)));
        }
    }
    ColorImage::new([columns, rows], pixels)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::colour_scale::Palette;

    const WINDOW: MapWindow = MapWindow { amplitude_um: [100.0, 700.0], pitch_um: [400.0, 1400.0] };

    fn content(cells: usize) -> Content {
        let grid = Grid::new(cells, cells, |c, r| {
            let (u, v) = (c as f64 / cells as f64, r as f64 / cells as f64);
            (v < 0.9 || u > 0.3).then_some(3.0 * v * (1.2 - 0.8 * u))
        });
        Content {
            margins: Some(grid.clone()),
            possible: grid.clone(),
            grid,
            scale: ColourScale::new(Palette::Cividis, 0.0, 3.0),
            levels: [0.5, 1.5, 2.0, 2.5].map(|v| (v, format!("{v}"))).to_vec(),
            limit_text: "1".to_owned(),
            names_passing: false,
            window: WINDOW,
        }
    }

    #[test]
    fn image_has_the_least_amplitude_at_the_bottom_and_is_clear_without_a_shape() {
        let content = content(20);
        let image = image(&content);
        assert_eq!(image.size, [20, 20]);
        assert_eq!(image.pixels[0], Color32::TRANSPARENT, "top left has no shape");
        assert_eq!(image.pixels[19 * 20], content.scale.colour_of(0.0), "bottom left is the least amplitude");
    }

    #[test]
    fn frame_turns_points_into_shapes_and_back() {
        let frame = Frame::new(&WINDOW, Rect::from_min_max(pos2(10.0, 20.0), pos2(210.0, 220.0)));
        assert_eq!(frame.point(400.0, 100.0), pos2(10.0, 220.0));
        let [pitch, amplitude] = frame.shape(pos2(110.0, 120.0));
        assert!((pitch - 900.0).abs() < 1e-3 && (amplitude - 400.0).abs() < 1e-3);
        let (c, r) = grid_place(&content(20).grid, &WINDOW, [900.0, 100.0]);
        assert!((c - 9.5).abs() < 1e-6 && (r + 0.5).abs() < 1e-6, "{c} {r}");
    }

    #[test]
    fn a_map_of_128_by_128_has_its_image_its_limit_and_its_hatching() {
        let frame = Frame::new(&WINDOW, Rect::from_min_max(pos2(0.0, 0.0), pos2(340.0, 300.0)));
        let picture = Picture::new(content(128), None);
        assert_eq!(image(&picture.content).pixels.len(), 128 * 128);
        assert!(!picture.limit.is_empty() && !picture.hatching(&frame, [Stroke::NONE; 2]).is_empty());
    }
}
