//! A live map made better, point by point, by a slower model: a coarse grid first, then the cells nearest to the limit.
//!
//! What the slower model adds is kept as a ratio to the live value, which varies little from cell to cell; cells that
//! were not solved take it from the solved ones around them.

use super::grid::MapGrid;

/// A cell of the map by column and row.
pub(super) type Cell = [usize; 2];

/// What the full model says of one cell, over what the live one said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Ratio {
    /// Of the share of the allowable strain that is used up.
    pub(super) used: f64,
    /// Of the peak tensile strain at the edges.
    pub(super) edge: f64,
}

/// Cells solved side by side before the picture is shown again.
const BATCH: usize = 24;
/// The coarsest grid has about this many cells along the longer axis.
const COARSEST: usize = 8;

/// The cells that are to be solved, level by level, and what was found there.
pub(super) struct Refinement<S> {
    columns: usize,
    rows: usize,
    stride: usize,
    finest: usize,
    found: Vec<Option<(Ratio, S)>>,
    tried: Vec<bool>,
}

impl<S> Refinement<S> {
    /// A plan over `columns` × `rows` cells in which every `finest`-th is solved in the end.
    pub(super) fn new(columns: usize, rows: usize, finest: usize) -> Self {
        let mut stride = finest.max(1);
        while columns.max(rows) / (2 * stride) >= COARSEST {
            stride *= 2;
        }
        Self {
            columns,
            rows,
            stride,
            finest: finest.max(1),
            found: (0..columns * rows).map(|_| None).collect(),
            tried: vec![false; columns * rows],
        }
    }

    fn index(&self, [column, row]: Cell) -> usize {
        row * self.columns + column
    }

    /// Indices along one axis at the present level: every stride-th and the last.
    fn stops(&self, count: usize) -> Vec<usize> {
        let mut stops: Vec<usize> = (0..count).step_by(self.stride).collect();
        if stops.last() != Some(&(count - 1)) {
            stops.push(count - 1);
        }
        stops
    }

    /// Cells of the present level that were not tried yet, the most informative first: those whose `used` share, scaled
    /// by their neighbours' ratio, is nearest to 1.
    fn open_cells(&self, used: &dyn Fn(Cell) -> Option<f64>) -> Vec<Cell> {
        let columns = self.stops(self.columns);
        let mut cells: Vec<(f64, Cell)> = Vec::new();
        for row in self.stops(self.rows) {
            for &column in &columns {
                let cell = [column, row];
                let Some(used) = used(cell) else { continue };
                if self.tried[self.index(cell)] {
                    continue;
                }
                let ratio = self.interpolated(cell).map_or(1.0, |r| r.used);
                cells.push(((used * ratio).max(f64::MIN_POSITIVE).ln().abs(), cell));
            }
        }
        cells.sort_by(|a, b| a.0.total_cmp(&b.0));
        cells.into_iter().map(|(_, cell)| cell).collect()
    }

    /// The next cells to solve with the nearest solved state of each; none when the finest level is done.
    pub(super) fn next_batch(&mut self, used: &dyn Fn(Cell) -> Option<f64>) -> Option<Vec<Cell>> {
        loop {
            let mut cells = self.open_cells(used);
            if !cells.is_empty() {
                cells.truncate(BATCH);
                return Some(cells);
            }
            if self.stride <= self.finest {
                return None;
            }
            self.stride = (self.stride / 2).max(self.finest);
        }
    }

    /// The solved state nearest to a cell.
    pub(super) fn nearest(&self, cell: Cell) -> Option<&S> {
        const FAR: usize = 3;
        let reach = FAR * self.stride;
        let around = |i: usize, count: usize| i.saturating_sub(reach)..(i + reach + 1).min(count);
        let mut best: Option<(usize, &S)> = None;
        for row in around(cell[1], self.rows) {
            for column in around(cell[0], self.columns) {
                let Some((_, state)) = &self.found[self.index([column, row])] else { continue };
                let (dx, dy) = (column.abs_diff(cell[0]), row.abs_diff(cell[1]));
                let distance = dx * dx + dy * dy;
                if best.is_none_or(|(least, _)| distance < least) {
                    best = Some((distance, state));
                }
            }
        }
        best.map(|(_, state)| state)
    }

    /// Takes what became of a cell; `None` where the full model has no answer.
    pub(super) fn put(&mut self, cell: Cell, found: Option<(Ratio, S)>) {
        let i = self.index(cell);
        self.tried[i] = true;
        self.found[i] = found;
    }

    /// Whether a cell was solved.
    pub(super) fn is_solved(&self, cell: Cell) -> bool {
        self.found[self.index(cell)].is_some()
    }

    /// Share of the cells of the finest level that are done.
    pub(super) fn share(&self) -> f32 {
        let along = |count: usize| count.div_ceil(self.finest).max(1);
        let all = along(self.columns) * along(self.rows);
        let done = self.tried.iter().filter(|tried| **tried).count();
        (done as f32 / all as f32).min(1.0)
    }

    /// The ratio at a cell: its own, else from the solved corners of the square of the present level around it, else
    /// of the level before.
    pub(super) fn interpolated(&self, cell: Cell) -> Option<Ratio> {
        if let Some((ratio, _)) = &self.found[self.index(cell)] {
            return Some(*ratio);
        }
        [self.stride, 2 * self.stride, 4 * self.stride]
            .into_iter()
            .find_map(|s| self.between_corners(cell, s))
    }

    fn between_corners(&self, [column, row]: Cell, stride: usize) -> Option<Ratio> {
        let bracket = |i: usize, count: usize| {
            let low = i - i % stride;
            let high = (low + stride).min(count - 1);
            let share = if high > low { (i - low) as f64 / (high - low) as f64 } else { 0.0 };
            [(low, 1.0 - share), (high, share)]
        };
        let (mut weight, mut used, mut edge) = (0.0, 0.0, 0.0);
        for (c, wc) in bracket(column, self.columns) {
            for (r, wr) in bracket(row, self.rows) {
                let own = wc * wr;
                if own > 0.0
                    && let Some((ratio, _)) = &self.found[self.index([c, r])]
                {
                    weight += own;
                    used += own * ratio.used;
                    edge += own * ratio.edge;
                }
            }
        }
        // Corners that the full model could not solve, or that are impossible, leave the rest to speak.
        (weight > 0.25).then(|| Ratio { used: used / weight, edge: edge / weight })
    }

    /// The live grid with every cell's strain scaled by what is known so far.
    pub(super) fn applied_to(&self, live: &MapGrid) -> MapGrid {
        let mut grid = live.clone();
        for row in 0..self.rows {
            for column in 0..self.columns {
                if let Some(ratio) = self.interpolated([column, row]) {
                    grid.scale_strain(column, row, ratio, self.is_solved([column, row]));
                }
            }
        }
        grid
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_coarse_grid_comes_first_and_every_cell_once() {
        let mut plan: Refinement<()> = Refinement::new(32, 20, 1);
        let used = |[column, row]: Cell| (column != 3 || row != 3).then_some(1.0 + column as f64);
        let mut seen = vec![false; 32 * 20];
        let mut order = Vec::new();
        while let Some(batch) = plan.next_batch(&used) {
            for cell in batch {
                assert!(!std::mem::replace(&mut seen[cell[1] * 32 + cell[0]], true));
                order.push(cell);
                plan.put(cell, Some((Ratio { used: 1.0, edge: 1.0 }, ())));
            }
        }
        assert_eq!(order.len(), 32 * 20 - 1);
        let coarse =
            |c: &Cell| (c[0].is_multiple_of(4) || c[0] == 31) && (c[1].is_multiple_of(4) || c[1] == 19);
        let first_fine = order.iter().position(|c| !coarse(c)).unwrap();
        assert!(order[first_fine..].iter().all(|c| !coarse(c)) && first_fine == 9 * 6);
        // Column 0 is nearest to the limit.
        assert!(order[..6].iter().all(|c| c[0] == 0), "{:?}", &order[..6]);
    }

    #[test]
    fn ratios_are_interpolated_between_solved_cells() {
        let mut plan: Refinement<usize> = Refinement::new(9, 9, 4);
        for (column, used) in [(0, 1.0), (4, 3.0), (8, 3.0)] {
            for row in [0, 4, 8] {
                plan.put([column, row], Some((Ratio { used, edge: used }, column)));
            }
        }
        assert!((plan.interpolated([1, 2]).unwrap().used - 1.5).abs() < 1e-12);
        assert!((plan.interpolated([8, 8]).unwrap().used - 3.0).abs() < 1e-12);
        assert_eq!(plan.nearest([5, 5]), Some(&4));
        assert!(plan.is_solved([4, 4]) && !plan.is_solved([5, 5]));
        plan.put([4, 4], None);
        assert!(plan.interpolated([4, 4]).is_none_or(|r| r.used >= 1.0));
    }
}
