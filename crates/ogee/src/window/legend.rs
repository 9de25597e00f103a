//! The legend of a colour scale: bar, numbers, unit, ends out of range and the sign for "no value".

use super::axes::{Axis, decade_text, round_step, tick_text};
use super::colour_scale::{ColourScale, DARK_INK, LIGHT_INK, Lean, hatch};
use egui::{Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, pos2, vec2};

/// Which way a legend runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Direction {
    /// Low at the left; numbers below.
    Right,
    /// Low at the bottom; numbers to the right.
    Up,
}

/// Inks of a legend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LegendInk {
    /// Numbers.
    pub(super) muted: Color32,
    /// Frame of the bar.
    pub(super) line: Color32,
}

/// The legend of a colour scale.
#[derive(Clone, Debug)]
pub(super) struct Legend<'a> {
    /// The scale it explains.
    pub(super) scale: &'a ColourScale,
    /// Unit behind the last number; empty for plain numbers.
    pub(super) unit: &'a str,
    /// Which way it runs.
    pub(super) direction: Direction,
    /// Whether values below the range occur: an arrow at the low end says so.
    pub(super) has_below: bool,
    /// Whether values above the range occur: an arrow at the high end says so.
    pub(super) has_above: bool,
    /// A value that is marked across the bar, such as a limit.
    pub(super) mark: Option<f64>,
    /// Font of the numbers.
    pub(super) font: FontId,
}

impl<'a> Legend<'a> {
    /// A legend of `scale` with numbers in `unit`.
    pub(super) fn new(scale: &'a ColourScale, unit: &'a str, direction: Direction) -> Self {
        Self {
            scale,
            unit,
            direction,
            has_below: false,
            has_above: false,
            mark: None,
            font: FontId::proportional(10.5),
        }
    }

    /// Paints the bar into `bar`; numbers and arrows stand outside it. Returns the part that numbers cover.
    pub(super) fn paint(&self, painter: &Painter, bar: Rect, ink: LegendInk) -> Rect {
        let mut covered = bar;
        self.paint_bar(painter, bar, ink);
        let axis = self.axis(bar);
        for (value, text) in self.numbers(&axis) {
            let at = axis.screen(value);
            let (from, to, text_at, anchor) = match self.direction {
                Direction::Up => (
                    pos2(bar.right(), at),
                    pos2(bar.right() + 3.0, at),
                    pos2(bar.right() + 6.0, at),
                    Align2::LEFT_CENTER,
                ),
                Direction::Right => (
                    pos2(at, bar.bottom()),
                    pos2(at, bar.bottom() + 3.0),
                    pos2(at, bar.bottom() + 5.0),
                    Align2::CENTER_TOP,
                ),
            };
            painter.line_segment([from, to], Stroke::new(1.0, ink.line));
            covered = covered.union(painter.text(text_at, anchor, text, self.font.clone(), ink.muted));
        }
        if let Some(mark) = self.mark.filter(|m| (0.0..=1.0).contains(&self.scale.share_of(*m))) {
            let at = axis.screen(mark);
            let ends = match self.direction {
                Direction::Up => [pos2(bar.left() - 2.0, at), pos2(bar.right() + 2.0, at)],
                Direction::Right => [pos2(at, bar.top() - 2.0), pos2(at, bar.bottom() + 2.0)],
            };
            painter.line_segment(ends, Stroke::new(3.5, LIGHT_INK));
            painter.line_segment(ends, Stroke::new(1.5, DARK_INK));
        }
        covered
    }

    /// Width that the numbers of an upright bar of this height need beside it.
    pub(super) fn numbers_width(&self, painter: &Painter, height: f32) -> f32 {
        let bar = Rect::from_min_size(Pos2::ZERO, vec2(1.0, height));
        let width =
            |text: String| painter.layout_no_wrap(text, self.font.clone(), Color32::PLACEHOLDER).size().x;
        6.0 + self.numbers(&self.axis(bar)).into_iter().map(|(_, text)| width(text)).fold(0.0, f32::max)
    }

    /// Round values and their texts.
    fn numbers(&self, axis: &Axis) -> Vec<(f64, String)> {
        let spacing = if self.direction == Direction::Up { 34.0 } else { 44.0 };
        let ticks = axis.ticks(spacing);
        let step = match ticks.as_slice() {
            [a, b, ..] => b - a,
            _ => round_step(self.scale.low(), self.scale.high(), 2),
        };
        let last = ticks.len().saturating_sub(1);
        let text = |i: usize, value: f64| {
            let number =
                if self.scale.is_logarithmic() { decade_text(value) } else { tick_text(value, step) };
            if i == last && !self.unit.is_empty() { format!("{number} {}", self.unit) } else { number }
        };
        ticks.into_iter().enumerate().map(|(i, value)| (value, text(i, value))).collect()
    }

    fn axis(&self, bar: Rect) -> Axis {
        let range = self.scale.low()..=self.scale.high();
        let axis = match self.direction {
            Direction::Up => Axis::new(range, bar.bottom(), bar.top()),
            Direction::Right => Axis::new(range, bar.left(), bar.right()),
        };
        if self.scale.is_logarithmic() { axis.logarithmic() } else { axis }
    }

    fn paint_bar(&self, painter: &Painter, bar: Rect, ink: LegendInk) {
        /// Colour steps of the bar; the screen blends between them.
        const STEPS: u32 = 32;
        let mut mesh = Mesh::default();
        for i in 0..=STEPS {
            let share = i as f32 / STEPS as f32;
            let colour = self.scale.colour(f64::from(share));
            let (a, b) = match self.direction {
                Direction::Up => {
                    let y = bar.bottom() - share * bar.height();
                    (pos2(bar.left(), y), pos2(bar.right(), y))
                }
                Direction::Right => {
                    let x = bar.left() + share * bar.width();
                    (pos2(x, bar.top()), pos2(x, bar.bottom()))
                }
            };
            mesh.colored_vertex(a, colour);
            mesh.colored_vertex(b, colour);
            if i > 0 {
                let n = 2 * i;
                mesh.add_triangle(n - 2, n - 1, n);
                mesh.add_triangle(n - 1, n, n + 1);
            }
        }
        painter.add(mesh);
        painter.rect_stroke(bar, 0.0, Stroke::new(1.0, ink.line), StrokeKind::Outside);
        for (is_shown, share) in [(self.has_below, 0.0), (self.has_above, 1.0)] {
            if is_shown {
                painter.add(Shape::convex_polygon(
                    self.arrow(bar, share > 0.5),
                    self.scale.colour(share),
                    Stroke::new(1.0, ink.line),
                ));
            }
        }
    }

    /// A triangle beyond one end of the bar.
    fn arrow(&self, bar: Rect, is_high: bool) -> Vec<Pos2> {
        const REACH: f32 = 6.0;
        match (self.direction, is_high) {
            (Direction::Up, true) => {
                vec![
                    bar.left_top() - vec2(0.0, 1.0),
                    bar.right_top() - vec2(0.0, 1.0),
                    bar.center_top() - vec2(0.0, 1.0 + REACH),
                ]
            }
            (Direction::Up, false) => vec![
                bar.left_bottom() + vec2(0.0, 1.0),
                bar.right_bottom() + vec2(0.0, 1.0),
                bar.center_bottom() + vec2(0.0, 1.0 + REACH),
            ],
            (Direction::Right, true) => vec![
                bar.right_top() + vec2(1.0, 0.0),
                bar.right_bottom() + vec2(1.0, 0.0),
                bar.right_center() + vec2(1.0 + REACH, 0.0),
            ],
            (Direction::Right, false) => vec![
                bar.left_top() - vec2(1.0, 0.0),
                bar.left_bottom() - vec2(1.0, 0.0),
                bar.left_center() - vec2(1.0 + REACH, 0.0),
            ],
        }
    }
}

/// A small hatched square that stands for "no value", or for "fails" when `lean` is rising over a colour.
pub(super) fn paint_swatch(
    painter: &Painter,
    middle: Pos2,
    fill: Color32,
    stroke: Stroke,
    lean: Lean,
    line: Color32,
) -> Rect {
    let square = Rect::from_center_size(middle, Vec2::splat(11.0));
    painter.rect_filled(square, 0.0, fill);
    painter.extend(hatch(square, 3.0, lean, stroke, |_| true));
    painter.rect_stroke(square, 0.0, Stroke::new(1.0, line), StrokeKind::Outside);
    square
}
