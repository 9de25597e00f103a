//! Fields over amplitude and pitch.
//!
//! Every cell is evaluated by the same models as a single assessment; only what no field shows is left out. The
//! field of all limits leaves out the stretch reserve, which passes exactly where the strain at the target does.

mod cell;
mod field;
mod grid;
mod refine;

use crate::caches::Caches;
use crate::check::Checked;
use cell::{Common, Row};
pub use field::{MapField, MapModel};
pub use grid::{MapGrid, MapSpec};
use std::hash::{DefaultHasher, Hash, Hasher};

/// Rows and columns are thinned by this factor for the first picture.
const COARSE: usize = 4;
/// Cells below which there is no coarse picture first.
const FEW_CELLS: usize = 2048;
/// Parts in which the fine picture arrives.
const PARTS: usize = 4;

/// Evaluates all fields over `spec`; see [`map_fields`].
pub fn map(
    checked: &Checked,
    spec: &MapSpec,
    caches: &mut Caches,
    keep_going: &(dyn Fn() -> bool + Sync),
    on_progress: &mut dyn FnMut(&MapGrid, f32),
) -> Option<MapGrid> {
    map_fields(checked, spec, &MapField::ALL, caches, keep_going, on_progress)
}

/// Evaluates `fields` over `spec`, coarse first; `on_progress` gets each picture with the share done. Strain and contour
/// length always come along; loss and all limits cost more and only where they are asked for.
///
/// `None` when `keep_going` said stop; it is asked once a row.
pub fn map_fields(
    checked: &Checked,
    spec: &MapSpec,
    fields: &[MapField],
    caches: &mut Caches,
    keep_going: &(dyn Fn() -> bool + Sync),
    on_progress: &mut dyn FnMut(&MapGrid, f32),
) -> Option<MapGrid> {
    let common = Common::new(checked, fields, caches);
    if spec.columns * spec.rows > FEW_CELLS {
        let coarse =
            MapSpec { columns: spec.columns.div_ceil(COARSE), rows: spec.rows.div_ceil(COARSE), ..*spec };
        let mut grid = MapGrid::new(checked, coarse);
        fill(&common, &mut grid, 0..coarse.rows, keep_going)?;
        on_progress(&grid, 1.0 / (COARSE * COARSE) as f32);
    }
    let mut grid = MapGrid::new(checked, *spec);
    let part = spec.rows.div_ceil(PARTS).max(1);
    for start in (0..spec.rows).step_by(part) {
        let end = (start + part).min(spec.rows);
        fill(&common, &mut grid, start..end, keep_going)?;
        if end < spec.rows && !keep_going() {
            return None;
        }
    }
    on_progress(&grid, 1.0);
    Some(grid)
}

/// Evaluates some rows of a grid, on all cores where the feature is on.
fn fill(
    common: &Common<'_>,
    grid: &mut MapGrid,
    rows: std::ops::Range<usize>,
    keep_going: &(dyn Fn() -> bool + Sync),
) -> Option<()> {
    let spec = *grid.spec();
    let one = |row: usize, workspace: &mut cell::Workspace| {
        keep_going().then(|| (row, common.row(&spec, row, workspace)))
    };
    #[cfg(feature = "parallel")]
    let done: Option<Vec<(usize, Row)>> = {
        use rayon::prelude::*;
        rows.into_par_iter().map_init(cell::Workspace::default, |w, row| one(row, w)).collect()
    };
    #[cfg(not(feature = "parallel"))]
    let done: Option<Vec<(usize, Row)>> = {
        let mut workspace = cell::Workspace::default();
        rows.map(|row| one(row, &mut workspace)).collect()
    };
    for (row, values) in done? {
        grid.set_row(row, &values);
    }
    Some(())
}

/// A number that changes when a map of this design must be made anew: with everything but amplitude, pitch, names
/// and notes.
pub fn map_key(checked: &Checked) -> u64 {
    let mut design = crate::Design::clone(checked.design());
    design.shape.amplitude_um = 0.0;
    design.shape.pitch_um = 0.0;
    design.name.clear();
    design.notes.clear();
    design.map = None;
    let mut hasher = DefaultHasher::new();
    design.to_json().hash(&mut hasher);
    hasher.finish()
}
