//! Lines of equal value through a grid, and where to put their numbers.

use egui::{Pos2, Rect, Vec2, pos2};

/// Values on a regular grid; a cell may have none.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Grid {
    columns: usize,
    rows: usize,
    values: Vec<f32>,
}

/// A chain of points, in columns and rows (whole numbers are cell centres).
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Isoline {
    /// Points in order, larger values on one side throughout; the first is repeated at the end of a closed line.
    pub(super) points: Vec<[f32; 2]>,
}

impl Grid {
    /// A grid of `columns` × `rows`, filled by `value(column, row)`; non-finite values count as none.
    pub(super) fn new(
        columns: usize,
        rows: usize,
        mut value: impl FnMut(usize, usize) -> Option<f64>,
    ) -> Self {
        let mut values = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let v = value(column, row).filter(|v| v.is_finite());
                values.push(v.map_or(f32::NAN, |v| v.clamp(-1e30, 1e30) as f32));
            }
        }
        Self { columns, rows, values }
    }

    /// Number of columns.
    pub(super) fn columns(&self) -> usize {
        self.columns
    }

    /// Number of rows.
    pub(super) fn rows(&self) -> usize {
        self.rows
    }

    /// The value of a cell.
    pub(super) fn value(&self, column: usize, row: usize) -> Option<f64> {
        let v = *self.values.get(row * self.columns + column).filter(|_| column < self.columns)?;
        (!v.is_nan()).then(|| f64::from(v))
    }

    /// All values that exist, in no particular order.
    pub(super) fn values(&self) -> impl Iterator<Item = f64> + '_ {
        self.values.iter().filter(|v| !v.is_nan()).map(|v| f64::from(*v))
    }

    /// The cell that holds the point at `column`, `row` (cell centres are whole numbers).
    pub(super) fn cell(&self, column: f32, row: f32) -> Option<(usize, usize)> {
        let (c, r) = (column.round(), row.round());
        let is_inside = c >= 0.0 && r >= 0.0 && c < self.columns as f32 && r < self.rows as f32;
        is_inside.then_some((c as usize, r as usize))
    }

    /// The value between cell centres, from the four around; from the nearest alone where one of them has none.
    pub(super) fn between(&self, column: f32, row: f32) -> Option<f32> {
        let (nearest_c, nearest_r) = self.cell(column, row)?;
        let nearest = self.values[nearest_r * self.columns + nearest_c];
        if nearest.is_nan() {
            return None;
        }
        let c = column.clamp(0.0, (self.columns - 1) as f32);
        let r = row.clamp(0.0, (self.rows - 1) as f32);
        let (c0, r0) = (c as usize, r as usize);
        let (c1, r1) = ((c0 + 1).min(self.columns - 1), (r0 + 1).min(self.rows - 1));
        let (u, v) = (c - c0 as f32, r - r0 as f32);
        let at = |c: usize, r: usize| self.values[r * self.columns + c];
        let below = at(c0, r0) + u * (at(c1, r0) - at(c0, r0));
        let above = at(c0, r1) + u * (at(c1, r1) - at(c0, r1));
        let value = below + v * (above - below);
        Some(if value.is_nan() { nearest } else { value })
    }

    /// The lines on which the value is `level`, by marching squares with linear interpolation.
    ///
    /// A square with a corner that has no value is left out. A square whose corners alternate is split by the mean
    /// of its corners.
    pub(super) fn isolines(&self, level: f64) -> Vec<Isoline> {
        if self.columns < 2 || self.rows < 2 || !level.is_finite() {
            return Vec::new();
        }
        let level = level as f32;
        let mut chains = Chains::new(2 * self.columns * self.rows);
        for row in 0..self.rows - 1 {
            for column in 0..self.columns - 1 {
                self.square(column, row, level, &mut chains);
            }
        }
        chains.lines(|edge| self.crossing(edge, level))
    }

    fn square(&self, column: usize, row: usize, level: f32, chains: &mut Chains) {
        let first = row * self.columns + column;
        let corners = [
            self.values[first],
            self.values[first + 1],
            self.values[first + self.columns + 1],
            self.values[first + self.columns],
        ];
        if corners.iter().any(|v| v.is_nan()) {
            return;
        }
        let mask = corners.iter().enumerate().fold(0, |m, (i, v)| m | (usize::from(*v >= level) << i));
        if mask == 0 || mask == 15 {
            return;
        }
        // Edge numbers: twice the lower left cell's, plus one for the upright ones.
        let bottom = 2 * first;
        let left = bottom + 1;
        let right = 2 * (first + 1) + 1;
        let top = 2 * (first + self.columns);
        // Each piece runs with the larger values on its left, as seen with rows upwards.
        let joined = corners.iter().sum::<f32>() >= 4.0 * level;
        let pieces: &[(usize, usize)] = match mask {
            1 => &[(bottom, left)],
            2 => &[(right, bottom)],
            3 => &[(right, left)],
            4 => &[(top, right)],
            5 if joined => &[(bottom, right), (top, left)],
            5 => &[(bottom, left), (top, right)],
            6 => &[(top, bottom)],
            7 => &[(top, left)],
            8 => &[(left, top)],
            9 => &[(bottom, top)],
            10 if joined => &[(left, bottom), (right, top)],
            10 => &[(right, bottom), (left, top)],
            11 => &[(right, top)],
            12 => &[(left, right)],
            13 => &[(bottom, right)],
            _ => &[(left, bottom)],
        };
        for (from, to) in pieces {
            chains.join(*from, *to);
        }
    }

    /// Where `level` lies on an edge between two neighbouring cells.
    fn crossing(&self, edge: usize, level: f32) -> [f32; 2] {
        let first = edge / 2;
        let (column, row) = ((first % self.columns) as f32, (first / self.columns) as f32);
        let is_upright = edge % 2 == 1;
        let second = if is_upright { first + self.columns } else { first + 1 };
        let (a, b) = (self.values[first], self.values[second]);
        let t = if a == b { 0.5 } else { ((level - a) / (b - a)).clamp(0.0, 1.0) };
        if is_upright { [column, row + t] } else { [column + t, row] }
    }

    /// The cell farthest from any cell where `inside` fails, and that distance in cells.
    pub(super) fn innermost(&self, inside: impl Fn(f64) -> bool) -> Option<((usize, usize), f32)> {
        // Two sweeps of a chamfer distance: exact enough to put a word in the middle of an area.
        let (w, h) = (self.columns, self.rows);
        let mut distance: Vec<f32> = self
            .values
            .iter()
            .map(|v| if !v.is_nan() && inside(f64::from(*v)) { 1e9 } else { 0.0 })
            .collect();
        let near = |d: &[f32], c: usize, r: usize, dc: isize, dr: isize| -> f32 {
            let step = if dc != 0 && dr != 0 { std::f32::consts::SQRT_2 } else { 1.0 };
            match (c.checked_add_signed(dc), r.checked_add_signed(dr)) {
                (Some(c), Some(r)) if c < w && r < h => d[r * w + c] + step,
                // The border of the map counts as half a cell away.
                _ => 0.5 * step,
            }
        };
        for r in 0..h {
            for c in 0..w {
                let least = [(-1, 0), (-1, -1), (0, -1), (1, -1)]
                    .iter()
                    .map(|(dc, dr)| near(&distance, c, r, *dc, *dr))
                    .fold(distance[r * w + c], f32::min);
                distance[r * w + c] = least;
            }
        }
        for r in (0..h).rev() {
            for c in (0..w).rev() {
                let least = [(1, 0), (1, 1), (0, 1), (-1, 1)]
                    .iter()
                    .map(|(dc, dr)| near(&distance, c, r, *dc, *dr))
                    .fold(distance[r * w + c], f32::min);
                distance[r * w + c] = least;
            }
        }
        let (index, most) = distance.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
        (*most > 0.0).then_some(((index % w, index / w), *most))
    }
}

const NONE: u32 = u32::MAX;

/// Directed pieces between numbered edges, each edge left and entered at most once.
struct Chains {
    next: Vec<u32>,
    has_before: Vec<bool>,
    used: Vec<u32>,
}

impl Chains {
    fn new(edges: usize) -> Self {
        Self { next: vec![NONE; edges], has_before: vec![false; edges], used: Vec::new() }
    }

    fn join(&mut self, from: usize, to: usize) {
        self.next[from] = to as u32;
        self.has_before[to] = true;
        self.used.push(from as u32);
    }

    fn lines(mut self, at: impl Fn(usize) -> [f32; 2]) -> Vec<Isoline> {
        let used = std::mem::take(&mut self.used);
        let open = used.iter().filter(|e| !self.has_before[**e as usize]);
        let starts: Vec<u32> = open.chain(used.iter()).copied().collect();
        let mut lines = Vec::new();
        for start in starts {
            let mut points = vec![at(start as usize)];
            let mut edge = start;
            while self.next[edge as usize] != NONE {
                edge = std::mem::replace(&mut self.next[edge as usize], NONE);
                points.push(at(edge as usize));
            }
            if points.len() > 1 {
                lines.push(Isoline { points });
            }
        }
        lines
    }
}

/// A number on a line: where it stands and which part of the line it covers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct LineLabel {
    /// Middle of the text.
    pub(super) middle: Pos2,
    /// Turn of the text, radians clockwise, upright to read.
    pub(super) angle: f32,
    /// Distances along the line between which the text stands.
    pub(super) gap: [f32; 2],
}

/// A place for a text of `size` on `line`, within `bounds` and clear of what is `taken` (to which it is added).
///
/// The straightest stretch near the line's middle wins; none where the line is too short or too curled.
pub(super) fn place_label(
    line: &[Pos2],
    size: Vec2,
    bounds: Rect,
    taken: &mut Vec<Rect>,
) -> Option<LineLabel> {
    /// Least chord of the covered stretch, as a share of its length.
    const STRAIGHT: f32 = 0.97;
    let along = distances(line);
    let total = *along.last()?;
    let room = size.x + 8.0;
    if total < 2.0 * room {
        return None;
    }
    let step = (total / 40.0).max(4.0);
    let count = (((total - room) / step) as usize).max(1);
    let mut candidates: Vec<f32> =
        (0..=count).map(|i| 0.5 * room + (total - room) * i as f32 / count as f32).collect();
    candidates.sort_by(|a, b| (a - 0.5 * total).abs().total_cmp(&(b - 0.5 * total).abs()));
    for middle in candidates {
        let gap = [middle - 0.5 * room, middle + 0.5 * room];
        let (a, b) = (point_at(line, &along, gap[0]), point_at(line, &along, gap[1]));
        let chord = b - a;
        if chord.length() < STRAIGHT * room {
            continue;
        }
        let mut angle = chord.angle();
        if angle > std::f32::consts::FRAC_PI_2 {
            angle -= std::f32::consts::PI;
        } else if angle <= -std::f32::consts::FRAC_PI_2 {
            angle += std::f32::consts::PI;
        }
        let centre = point_at(line, &along, middle);
        let (sin, cos) = (angle.sin().abs(), angle.cos());
        let cover = Rect::from_center_size(
            centre,
            Vec2::new(size.x * cos + size.y * sin, size.x * sin + size.y * cos) + Vec2::splat(4.0),
        );
        if bounds.contains_rect(cover) && !taken.iter().any(|t| t.intersects(cover)) {
            taken.push(cover);
            return Some(LineLabel { middle: centre, angle, gap });
        }
    }
    None
}

/// `line` without the stretch between the two distances of `gap`.
pub(super) fn without_gap(line: &[Pos2], gap: [f32; 2]) -> [Vec<Pos2>; 2] {
    let along = distances(line);
    let mut before: Vec<Pos2> =
        line.iter().zip(&along).filter(|(_, s)| **s < gap[0]).map(|(p, _)| *p).collect();
    before.push(point_at(line, &along, gap[0]));
    let mut after = vec![point_at(line, &along, gap[1])];
    after.extend(line.iter().zip(&along).filter(|(_, s)| **s > gap[1]).map(|(p, _)| *p));
    [before, after]
}

fn distances(line: &[Pos2]) -> Vec<f32> {
    let mut total = 0.0;
    let mut out = Vec::with_capacity(line.len());
    for (i, p) in line.iter().enumerate() {
        if i > 0 {
            total += p.distance(line[i - 1]);
        }
        out.push(total);
    }
    out
}

fn point_at(line: &[Pos2], along: &[f32], s: f32) -> Pos2 {
    let after = along.partition_point(|d| *d < s).clamp(1, line.len().max(2) - 1);
    let (Some(a), Some(b)) = (line.get(after - 1), line.get(after)) else {
        return line.first().copied().unwrap_or(pos2(0.0, 0.0));
    };
    let length = along[after] - along[after - 1];
    let t = if length > 0.0 { ((s - along[after - 1]) / length).clamp(0.0, 1.0) } else { 0.0 };
    *a + t * (*b - *a)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slope_has_one_straight_line_per_level() {
        // value = column: the level 2.25 is the upright line at column 2.25
        let grid = Grid::new(5, 4, |c, _| Some(c as f64));
        let lines = grid.isolines(2.25);
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].points.len(), 4);
        assert!(lines[0].points.iter().all(|p| (p[0] - 2.25).abs() < 1e-6));
        assert!(grid.isolines(9.0).is_empty());
    }

    #[test]
    fn a_cone_gives_a_closed_circle_of_the_right_size() {
        // value = distance from (10, 10): the level 6 is a circle of radius 6
        let grid = Grid::new(21, 21, |c, r| Some((c as f64 - 10.0).hypot(r as f64 - 10.0)));
        let lines = grid.isolines(6.0);
        assert_eq!(lines.len(), 1);
        let points = &lines[0].points;
        assert_eq!(points.first(), points.last());
        for p in points {
            let radius = (p[0] - 10.0).hypot(p[1] - 10.0);
            assert!((radius - 6.0).abs() < 0.03, "{radius}");
        }
        let length: f32 = points.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum();
        assert!((length - 2.0 * std::f32::consts::PI * 6.0).abs() < 0.2, "{length}");
    }

    #[test]
    fn larger_values_lie_on_one_side_throughout() {
        let grid = Grid::new(30, 30, |c, r| Some((c as f64 * 0.4).sin() + (r as f64 * 0.3).cos()));
        let lines = grid.isolines(0.2);
        assert!(lines.len() >= 3);
        for line in lines {
            for w in line.points.windows(2) {
                let (dx, dy) = (w[1][0] - w[0][0], w[1][1] - w[0][1]);
                let n = dx.hypot(dy);
                if n < 1e-3 {
                    continue;
                }
                let (x, y) =
                    (0.5 * (w[0][0] + w[1][0]) - 0.02 * dy / n, 0.5 * (w[0][1] + w[1][1]) + 0.02 * dx / n);
                let left = grid.between(x, y).expect("inside the grid");
                assert!(left > 0.19, "{left} at {x}, {y}");
            }
        }
    }

    #[test]
    fn a_saddle_is_split_by_its_mean() {
        let values = |high: f64| move |c: usize, r: usize| Some(if c == r { high } else { 0.0 });
        assert_eq!(Grid::new(2, 2, values(1.0)).isolines(0.6).len(), 2);
        let joined = Grid::new(2, 2, values(1.0)).isolines(0.4);
        assert_eq!(joined.len(), 2);
        // joined: the lines cut off the two low corners
        assert!(joined.iter().all(|l| l.points.len() == 2));
    }

    #[test]
    fn cells_without_a_value_cut_the_line() {
        let grid = Grid::new(5, 9, |c, r| (r != 4).then_some(c as f64));
        assert_eq!(grid.isolines(1.5).len(), 2);
        assert_eq!(grid.between(1.0, 4.0), None);
        assert_eq!(grid.between(1.5, 3.4), Some(2.0), "next to a gap the nearest cell stands alone");
        assert_eq!(grid.between(1.5, 2.5), Some(1.5));
        assert_eq!(grid.between(-0.6, 0.0), None);
    }

    #[test]
    fn innermost_cell_is_in_the_middle() {
        let grid = Grid::new(21, 21, |c, r| Some((c as f64 - 8.0).hypot(r as f64 - 12.0)));
        let ((c, r), distance) = grid.innermost(|v| v < 5.0).expect("there is an inside");
        assert!(c.abs_diff(8) <= 1 && r.abs_diff(12) <= 1, "{c} {r}");
        assert!(distance > 3.5 && distance < 6.5, "{distance}");
        assert!(grid.innermost(|_| false).is_none());
    }

    #[test]
    fn labels_sit_on_straight_stretches_and_keep_apart() {
        let line: Vec<Pos2> = (0..=100).map(|i| pos2(2.0 * i as f32, 50.0)).collect();
        let bounds = Rect::from_min_max(pos2(0.0, 0.0), pos2(200.0, 100.0));
        let mut taken = Vec::new();
        let first = place_label(&line, Vec2::new(20.0, 10.0), bounds, &mut taken).expect("room for one");
        assert!((first.middle.x - 100.0).abs() < 4.0 && first.angle.abs() < 1e-6);
        let second = place_label(&line, Vec2::new(20.0, 10.0), bounds, &mut taken).expect("room for another");
        assert!((first.middle.x - second.middle.x).abs() >= 24.0);
        let [before, after] = without_gap(&line, first.gap);
        assert!((before[before.len() - 1].x - first.gap[0]).abs() < 1e-3);
        assert!((after[0].x - first.gap[1]).abs() < 1e-3);
        assert!(place_label(&line[..10], Vec2::new(20.0, 10.0), bounds, &mut taken).is_none(), "too short");
    }
}
