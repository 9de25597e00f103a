//! A whole ribbon on the sheet: only the periods that are seen, in no more detail than can be seen.

use super::band::{Band, Fill};
use super::ink::Ink;
use super::sheet::{Extent, Sheet};
use super::strip::{Station, resample};
use crate::window::colour_scale::{Lean, hatch};
use egui::{Color32, Mesh, Painter, Pos2, Rect, Stroke};
use ogee_design::{PeriodState, RibbonPoint};

/// Periods narrower than this, points, are drawn as a filled block.
const BLOCK_BELOW: f32 = 2.0;
/// Least height of such a block, points.
const LEAST_BLOCK: f64 = 3.0;
/// Periods narrower than this, points, get neither edge lines nor hatching.
const PLAIN_BELOW: f32 = 12.0;

/// How a ribbon is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) enum Look<'a> {
    /// Filled with one colour.
    Plain(Color32),
    /// Coloured by strain or loss.
    Inked {
        /// The colours.
        ink: &'a Ink,
        /// Factor on the strain of the first and the last period, for the clamped ends.
        end_factor: f64,
        /// Line along the edges.
        edge: Stroke,
        /// Hatching where more is seen than allowed.
        hatch: Stroke,
        /// Line beside such places.
        mark: Stroke,
    },
    /// Only its outline.
    Outline(Stroke),
}

/// A ribbon on the sheet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ribbon<'a> {
    /// Its shape.
    pub state: &'a PeriodState,
    /// Way to the left edge at each point of its chain, where it differs from the normal.
    pub across: &'a [[f64; 2]],
    /// Its width, µm.
    pub width_um: f64,
    /// Where its midline lies on the sheet, µm.
    pub midline_um: f64,
}

impl Ribbon<'_> {
    /// The rectangle round the ribbon on the sheet, from end to end.
    pub(super) fn extent(&self) -> Extent {
        let reach = self.reach();
        let half = self.width_um / 2.0;
        Extent {
            low: [reach.low[0] - half, reach.low[1] + self.midline_um - half],
            high: [reach.high[0] + half, reach.high[1] + self.midline_um + half],
        }
    }

    /// The rectangle round the centreline with its own midline at 0.
    fn reach(&self) -> Extent {
        let state = self.state;
        let mut extent = Extent { low: [0.0, 0.0], high: [state.span_um, 0.0] };
        let mut take = |points: &[RibbonPoint], x: f64| {
            for p in points {
                extent.low = [extent.low[0].min(p.x_um + x), extent.low[1].min(p.y_um)];
                extent.high = [extent.high[0].max(p.x_um + x), extent.high[1].max(p.y_um)];
            }
        };
        take(&state.start, 0.0);
        take(&state.end, 0.0);
        if state.whole_periods > 0 {
            take(&state.period, state.period_origin(0).1);
            take(&state.period, state.period_origin(state.whole_periods - 1).1);
        }
        extent
    }

    /// Numbers of the first repeated period that is seen and of the one after the last.
    pub(super) fn visible_periods(&self, sheet: &Sheet) -> std::ops::Range<u32> {
        let state = self.state;
        let (mut low, mut high) = (0.0_f64, state.pitch_um);
        for p in &state.period {
            (low, high) = (low.min(p.x_um), high.max(p.x_um));
        }
        let half = self.width_um / 2.0;
        let visible = sheet.visible();
        let first = (visible.low[0] - half - high - state.first_period_x_um) / state.pitch_um;
        let last = (visible.high[0] + half - low - state.first_period_x_um) / state.pitch_um;
        let count = f64::from(state.whole_periods);
        let (from, to) = (first.floor().clamp(0.0, count), (last.ceil() + 1.0).clamp(0.0, count));
        from as u32..to as u32
    }

    /// Points along the ribbon on the canvas, about `spacing` points apart: what labels keep clear of.
    pub(super) fn way_points(&self, sheet: &Sheet, spacing: f32) -> Vec<Pos2> {
        /// Most points; beyond that the ribbon is as good as a filled area.
        const MOST: usize = 600;
        let state = self.state;
        let mut points: Vec<Pos2> = Vec::new();
        let steps = |length_um: f64, count: usize| {
            (f64::from(spacing) / (length_um * sheet.scale()).max(1e-9) * count as f64).max(1.0) as usize
        };
        let stride = steps(state.period_contour_um, state.period.len()).min(state.period.len().max(1));
        let mut walk = |chain: &[RibbonPoint], x_um: f64| {
            for p in chain.iter().step_by(stride) {
                let pos = sheet.pos(p.x_um + x_um, p.y_um + self.midline_um);
                let is_apart = points.last().is_none_or(|l| l.distance(pos) >= spacing);
                if is_apart && points.len() < MOST && sheet.canvas().contains(pos) {
                    points.push(pos);
                }
            }
        };
        walk(&state.start, 0.0);
        for k in self.visible_periods(sheet).step_by(steps(state.pitch_um, 1)).take(MOST) {
            walk(&state.period, state.period_origin(k).1);
        }
        walk(&state.end, 0.0);
        points
    }

    /// Whether the periods are too narrow to tell apart.
    pub(super) fn is_block(&self, sheet: &Sheet) -> bool {
        self.state.whole_periods > 2 && sheet.points(self.state.pitch_um) < BLOCK_BELOW
    }

    /// Paints the ribbon. Says how many vertices were handed over.
    pub(super) fn paint(&self, painter: &Painter, sheet: &Sheet, look: Look<'_>) -> usize {
        if !sheet.visible().meets(&self.extent()) {
            return 0;
        }
        let mut vertices = 0;
        if self.is_block(sheet) {
            self.paint_block(painter, sheet, look);
        } else {
            let stations = resample(&self.state.period, &[], sheet.scale(), self.width_um);
            let periods = self.visible_periods(sheet);
            let last = self.state.whole_periods.saturating_sub(1);
            // Where the ends hold periods of their own, those carry the end factor, not the repeated ones.
            let ends_apart = self.state.start.len() > 2;
            let is_end = |k: u32| !ends_apart && (k == 0 || k == last);
            let (end_periods, inner): (Vec<u32>, Vec<u32>) = periods.partition(|k| is_end(*k));
            for (numbers, factor) in [(end_periods, look.end_factor()), (inner, 1.0)] {
                let shifts: Vec<f64> = numbers.iter().map(|k| self.state.period_origin(*k).1).collect();
                vertices += self.paint_strip(painter, sheet, &stations, &shifts, look, factor);
            }
        }
        // The joint of both parts of a chain is in either.
        let far = self.across.len().saturating_sub(self.state.end.len());
        let near = self.state.start.len().min(self.across.len());
        let parts = [(&self.state.start, &self.across[..near]), (&self.state.end, &self.across[far..])];
        for (points, across) in parts {
            let stations = resample(points, across, sheet.scale(), self.width_um);
            vertices += self.paint_strip(painter, sheet, &stations, &[0.0], look, look.end_factor());
        }
        vertices
    }

    /// One strip at several places along the span. Says how many vertices were handed over.
    fn paint_strip(
        &self,
        painter: &Painter,
        sheet: &Sheet,
        stations: &[Station],
        shifts: &[f64],
        look: Look<'_>,
        factor: f64,
    ) -> usize {
        if stations.len() < 2 || shifts.is_empty() {
            return 0;
        }
        let mut vertices = 0;
        let fill = match look {
            Look::Plain(colour) => Fill::Plain(colour),
            Look::Inked { ink, edge, .. } => Fill::Inked { ink, factor, line: edge.color },
            Look::Outline(_) => Fill::Plain(Color32::TRANSPARENT),
        };
        let band = Band::new(stations, sheet.points(self.width_um), painter.pixels_per_point(), fill);
        let fine = sheet.points(self.state.pitch_um) >= PLAIN_BELOW;
        if !matches!(look, Look::Outline(_)) {
            let mut mesh = Mesh::default();
            for x in shifts {
                band.add_to(&mut mesh, sheet, [*x, self.midline_um]);
            }
            vertices = mesh.vertices.len();
            painter.add(mesh);
        }
        for x in shifts {
            let shift = [*x, self.midline_um];
            match look {
                Look::Inked { edge, hatch, mark, .. } if fine => {
                    band.edges(painter, sheet, shift, edge);
                    band.mark_over_limit(painter, sheet, shift, hatch, mark);
                }
                Look::Outline(stroke) => band.edge_lines(painter, sheet, shift, stroke),
                Look::Inked { .. } | Look::Plain(_) => {}
            }
        }
        vertices
    }

    /// The repeated periods as one filled rectangle, in the colour of the place that sees most.
    fn paint_block(&self, painter: &Painter, sheet: &Sheet, look: Look<'_>) {
        let state = self.state;
        let (x0, x1) = (state.first_period_x_um, state.period_origin(state.whole_periods).1);
        // Never thinner than a line.
        let half = (state.amplitude_um + self.width_um / 2.0).max(LEAST_BLOCK / 2.0 / sheet.scale());
        let area =
            Rect::from_two_pos(sheet.pos(x0, self.midline_um + half), sheet.pos(x1, self.midline_um - half))
                .intersect(sheet.canvas());
        if !area.is_positive() {
            return;
        }
        match look {
            Look::Plain(colour) => {
                painter.rect_filled(area, 0.0, colour);
            }
            Look::Outline(stroke) => {
                painter.rect_stroke(area, 0.0, stroke, egui::StrokeKind::Inside);
            }
            Look::Inked { ink, mark, .. } => {
                let stations =
                    resample(&state.period, &[], sheet.scale().max(30.0 / state.pitch_um), self.width_um);
                let peak = stations.iter().map(|s| ink.worst(s, 1.0)).fold(0.0, f64::max);
                painter.rect_filled(area, 0.0, ink.scale().colour(peak));
                if peak > 1.0 && ink.by() == super::ink::ColourBy::Strain {
                    painter.extend(hatch(area, 6.0, Lean::Rising, mark, |_| true));
                }
            }
        }
    }
}

impl Look<'_> {
    fn end_factor(&self) -> f64 {
        match self {
            Self::Inked { end_factor, .. } => *end_factor,
            Self::Plain(_) | Self::Outline(_) => 1.0,
        }
    }
}
