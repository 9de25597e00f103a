//! A ribbon as a filled band: a mesh with several rows of vertices across, so that colour runs across the width.

use super::ink::Ink;
use super::sheet::{Sheet, along};
use super::strip::Station;
use egui::{Color32, Mesh, Painter, Pos2, Shape, Stroke};

/// Distance between two rows of vertices across the band, points.
const ROW_SPACING: f32 = 2.5;
/// Most rows between the edges.
const MOST_ROWS: usize = 13;
/// Narrowest band, points, whose layers get rows of their own and whose parts are hatched.
const DETAILED: f32 = 5.0;
/// Narrowest band, points, whose edges get a line.
const LINED: f32 = 2.6;
/// Widths, points, between which colours begin to run across the width; narrower ones show the worst place.
const ACROSS: [f32; 2] = [5.0, 22.0];
/// Width, points, below which a band leans to the colour of lines, and how far: it must not fade into the paper.
const THIN: (f32, f32) = (3.0, 0.5);
/// Distance between hatch lines along the band, points.
const HATCH_SPACING: f32 = 5.0;
/// Coverage below which a thin ribbon is not let fade, so that it stays visible.
const LEAST_COVERAGE: f32 = 0.75;

/// How a band is filled.
#[derive(Clone, Copy, Debug)]
pub(super) enum Fill<'a> {
    /// One colour.
    Plain(Color32),
    /// By strain or loss.
    Inked {
        /// The colours.
        ink: &'a Ink,
        /// Factor on strain.
        factor: f64,
        /// The colour of lines, to which thin bands lean.
        line: Color32,
    },
}

/// One row of vertices.
struct Row {
    /// Offset from the centreline to the left, points.
    offset: f32,
    side: f64,
    opacity: f32,
    allowable_lane: usize,
}

/// A strip with its colours, ready to be put down at several places.
pub(super) struct Band<'a> {
    stations: &'a [Station],
    rows: Vec<Row>,
    /// Row by row for each station.
    colours: Vec<Color32>,
    half_width: f32,
    fill: Fill<'a>,
}

impl<'a> Band<'a> {
    /// The band of `stations`, `width` points wide, for a screen of `pixels_per_point`.
    pub(super) fn new(stations: &'a [Station], width: f32, pixels_per_point: f32, fill: Fill<'a>) -> Self {
        let half_width = width / 2.0;
        let rows = rows(half_width, 0.5 / pixels_per_point.max(0.5), &fill);
        let detail = f64::from(egui::remap_clamp(width, ACROSS[0]..=ACROSS[1], 0.0..=1.0));
        let lean = THIN.1 * (1.0 - width / THIN.0).max(0.0);
        let mut colours = Vec::with_capacity(stations.len() * rows.len());
        for station in stations {
            for row in &rows {
                let colour = match fill {
                    Fill::Plain(colour) => colour,
                    Fill::Inked { ink, factor, line } => {
                        let lane = &ink.lanes()[row.allowable_lane];
                        ink.colour(station, row.side, lane, factor, detail).lerp_to_gamma(line, lean)
                    }
                };
                colours.push(if row.opacity < 1.0 { colour.gamma_multiply(row.opacity) } else { colour });
            }
        }
        Self { stations, rows, colours, half_width, fill }
    }

    /// Adds the band to `mesh`, moved by `shift_um`; parts outside the canvas are left out.
    pub(super) fn add_to(&self, mesh: &mut Mesh, sheet: &Sheet, shift_um: [f64; 2]) {
        for [from, to] in self.visible_runs(sheet, shift_um) {
            let base = mesh.vertices.len() as u32;
            let count = self.rows.len();
            for i in from..=to {
                let station = &self.stations[i];
                let centre = place(station, sheet, shift_um);
                for (row, colour) in self.rows.iter().zip(&self.colours[i * count..]) {
                    mesh.colored_vertex(along(centre, station.normal, row.offset), *colour);
                }
            }
            let count = count as u32;
            for i in 0..(to - from) as u32 {
                for row in 0..count - 1 {
                    let corner = base + i * count + row;
                    mesh.add_triangle(corner, corner + 1, corner + count);
                    mesh.add_triangle(corner + 1, corner + count, corner + count + 1);
                }
            }
        }
    }

    /// Lines along both edges, for bands wide enough.
    pub(super) fn edges(&self, painter: &Painter, sheet: &Sheet, shift_um: [f64; 2], stroke: Stroke) {
        if 2.0 * self.half_width < LINED {
            return;
        }
        self.edge_lines(painter, sheet, shift_um, stroke);
    }

    /// Lines along both edges at any width; one line where they would fall together.
    pub(super) fn edge_lines(&self, painter: &Painter, sheet: &Sheet, shift_um: [f64; 2], stroke: Stroke) {
        let offsets: &[f32] =
            if self.half_width < 0.75 { &[0.0] } else { &[self.half_width, -self.half_width] };
        for [from, to] in self.visible_runs(sheet, shift_um) {
            for offset in offsets {
                let line: Vec<Pos2> = self.stations[from..=to]
                    .iter()
                    .map(|s| along(place(s, sheet, shift_um), s.normal, *offset))
                    .collect();
                painter.add(Shape::line(line, stroke));
            }
        }
    }

    /// Hatches the parts where more strain is seen than allowed, and draws a line beside them that also shows
    /// on a band too thin for hatching.
    pub(super) fn mark_over_limit(
        &self,
        painter: &Painter,
        sheet: &Sheet,
        shift_um: [f64; 2],
        hatch: Stroke,
        mark: Stroke,
    ) {
        let Fill::Inked { ink, factor, .. } = self.fill else { return };
        for [from, to] in self.visible_runs(sheet, shift_um) {
            let mut beside: [Vec<Pos2>; 2] = [Vec::new(), Vec::new()];
            let mut since_hatch = HATCH_SPACING / 2.0;
            let mut last: Option<Pos2> = None;
            for station in &self.stations[from..=to] {
                let centre = place(station, sheet, shift_um);
                let over = ink.over(station, factor);
                let step = last.map_or(0.0, |p: Pos2| p.distance(centre));
                for (line, on_left) in beside.iter_mut().zip([true, false]) {
                    let reaches = over.iter().any(|p| if on_left { p[1] > 0.0 } else { p[0] < 0.0 });
                    if reaches {
                        let offset = self.half_width + 2.5;
                        line.push(along(centre, station.normal, if on_left { offset } else { -offset }));
                    } else {
                        flush(painter, line, mark);
                    }
                }
                if 2.0 * self.half_width >= DETAILED && !over.is_empty() {
                    self.hatch_step(painter, station, centre, &over, step, &mut since_hatch, hatch);
                }
                last = Some(centre);
            }
            for line in &mut beside {
                flush(painter, line, mark);
            }
        }
    }

    /// Hatch lines between the last station and this one.
    #[expect(clippy::too_many_arguments, reason = "a step of one loop, split off to keep that readable")]
    fn hatch_step(
        &self,
        painter: &Painter,
        station: &Station,
        centre: Pos2,
        over: &[[f64; 2]],
        step: f32,
        since: &mut f32,
        stroke: Stroke,
    ) {
        let tangent = [station.normal[1], -station.normal[0]];
        *since += step;
        while *since >= HATCH_SPACING {
            *since -= HATCH_SPACING;
            let back = *since;
            for [right, left] in over {
                let (r, l) = (*right as f32 * self.half_width, *left as f32 * self.half_width);
                let lean = (l - r) / 2.0;
                let at = |offset: f32, ahead: f32| {
                    along(along(centre, station.normal, offset), tangent, ahead - back)
                };
                painter.line_segment([at(r, -lean), at(l, lean)], stroke);
            }
        }
    }

    /// Runs of stations, as first and last index, whose segments meet the canvas.
    fn visible_runs(&self, sheet: &Sheet, shift_um: [f64; 2]) -> Vec<[usize; 2]> {
        let canvas = sheet.canvas().expand(self.half_width + 4.0);
        let mut runs: Vec<[usize; 2]> = Vec::new();
        let mut from = self.stations.first().map(|s| place(s, sheet, shift_um));
        for i in 1..self.stations.len() {
            let to = place(&self.stations[i], sheet, shift_um);
            if let Some(from) = from
                && canvas.intersects(egui::Rect::from_two_pos(from, to))
            {
                match runs.last_mut() {
                    Some(run) if run[1] == i - 1 => run[1] = i,
                    _ => runs.push([i - 1, i]),
                }
            }
            from = Some(to);
        }
        runs
    }
}

fn place(station: &Station, sheet: &Sheet, shift_um: [f64; 2]) -> Pos2 {
    sheet.pos(station.x_um + shift_um[0], station.y_um + shift_um[1])
}

fn flush(painter: &Painter, line: &mut Vec<Pos2>, stroke: Stroke) {
    let points = std::mem::take(line);
    if points.len() > 1 {
        painter.add(Shape::line(points, stroke));
    }
}

/// Rows from the right edge to the left. The outermost ones are clear, half a pixel outside: smooth edges.
fn rows(half_width: f32, feather: f32, fill: &Fill<'_>) -> Vec<Row> {
    let lane_of = |side: f64| match fill {
        Fill::Plain(_) => 0,
        Fill::Inked { ink, .. } => {
            let lane = ink.lane_at(side);
            ink.lanes().iter().position(|l| *l == lane).unwrap_or(0)
        }
    };
    let row =
        |offset: f32, side: f64, opacity: f32| Row { offset, side, opacity, allowable_lane: lane_of(side) };
    let outer = half_width + feather;
    if half_width < 1.5 * feather {
        // Narrower than about a pixel: a ridge whose area is that of the band.
        let coverage = (2.0 * half_width / outer).clamp(LEAST_COVERAGE, 1.0);
        return vec![row(-outer, 0.0, 0.0), row(0.0, 0.0, coverage), row(outer, 0.0, 0.0)];
    }
    let inner = half_width - feather;
    let mut rows = vec![row(-outer, -1.0, 0.0), row(-inner, -1.0, 1.0)];
    if let Fill::Inked { ink, .. } = fill {
        let count = ((2.0 * half_width / ROW_SPACING) as usize).clamp(1, MOST_ROWS);
        let even = (1..=count).map(|i| 2.0 * i as f64 / (count + 1) as f64 - 1.0);
        let mut sides: Vec<(f64, usize)> = even.map(|side| (side, lane_of(side))).collect();
        if 2.0 * half_width >= DETAILED {
            // Both colours at the border of two lanes: a sharp edge.
            for (i, lane) in ink.lanes().iter().enumerate().skip(1) {
                sides.extend([(lane.right, i - 1), (lane.right, i)]);
            }
        }
        sides.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        rows.extend(sides.into_iter().map(|(side, allowable_lane)| Row {
            offset: (side as f32 * half_width).clamp(-inner, inner),
            side,
            opacity: 1.0,
            allowable_lane,
        }));
    }
    rows.extend([row(inner, 1.0, 1.0), row(outer, 1.0, 0.0)]);
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::View;
    use crate::window::drawing::strip::{resample, tests::half_circle};
    use egui::{Rect, pos2, vec2};

    fn sheet() -> Sheet {
        let view = View { centre_um: [0.0, 50.0], scale: 2.0, ..View::default() };
        Sheet::new(view, Rect::from_min_size(pos2(0.0, 0.0), vec2(600.0, 400.0)))
    }

    #[test]
    fn the_mesh_is_as_wide_as_the_band() {
        let stations = resample(&half_circle(100.0, 49), &[], 2.0, 10.0);
        let band = Band::new(&stations, 20.0, 1.0, Fill::Plain(Color32::RED));
        let mut mesh = Mesh::default();
        band.add_to(&mut mesh, &sheet(), [0.0, 0.0]);
        assert!(mesh.is_valid() && !mesh.is_empty());
        let centre = sheet().pos(0.0, 0.0);
        for vertex in &mesh.vertices {
            let radius = vertex.pos.distance(centre);
            assert!((189.0..211.0).contains(&radius), "{radius}");
            assert_eq!(vertex.color == Color32::TRANSPARENT, (radius - 200.0).abs() > 10.0);
        }
    }

    #[test]
    fn what_is_off_the_canvas_is_left_out() {
        let stations = resample(&half_circle(100.0, 49), &[], 2.0, 10.0);
        let band = Band::new(&stations, 20.0, 1.0, Fill::Plain(Color32::RED));
        let (mut here, mut half, mut away) = (Mesh::default(), Mesh::default(), Mesh::default());
        band.add_to(&mut here, &sheet(), [0.0, 0.0]);
        band.add_to(&mut half, &sheet(), [150.0, 0.0]);
        band.add_to(&mut away, &sheet(), [1000.0, 0.0]);
        assert!(away.is_empty());
        assert!(!half.is_empty() && half.vertices.len() < here.vertices.len());
    }

    #[test]
    fn a_hairline_stays_visible() {
        let rows = rows(0.05, 0.5, &Fill::Plain(Color32::RED));
        assert_eq!(rows.len(), 3);
        assert!(rows[1].opacity >= LEAST_COVERAGE);
    }
}
