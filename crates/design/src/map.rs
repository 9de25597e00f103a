//! Fields over amplitude and pitch.
//!
//! Every cell is evaluated by the same models as a single assessment; only what no field shows is left out. The
//! field of all limits leaves out the stretch reserve, which passes exactly where the strain at the target does.

mod cell;
mod field;
mod grid;
mod refine;

use crate::caches::Caches;
use crate::checked::Checked;
use crate::figures::Layers;
use crate::full::{Start, strain_at_target};
use cell::{Common, Row};
pub use field::{MapField, MapModel};
pub use grid::{MapGrid, MapSpec};
use refine::{Ratio, Refinement};
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

/// Solves a live map's strain by the full models, progressively: cells on a coarse grid first, then those nearest to the
/// limit, until every `finest`-th cell along both axes is solved. Cells in between keep the ratio to the live estimate that
/// the solved ones around them have; [`MapGrid::is_solved`] tells them apart. `on_progress` gets each picture with the share
/// done; loss, clearance and the other limits stay those of the live map.
///
/// Each cell starts from the nearest solved one and stays on its branch; other stable states are not looked for.
///
/// `None` when `keep_going` said stop; it is asked between batches of cells.
pub fn refine_map(
    checked: &Checked,
    live: &MapGrid,
    finest: usize,
    caches: &mut Caches,
    keep_going: &(dyn Fn() -> bool + Sync),
    on_progress: &mut dyn FnMut(&MapGrid, f32),
) -> Option<MapGrid> {
    let spec = *live.spec();
    let common = Common::new(checked, &[], caches);
    let layers = Layers::of(checked);
    let live_used = |[column, row]: [usize; 2]| {
        live.value(MapField::StrainMargin, column, row).filter(|m| *m > 0.0).map(f64::recip)
    };
    let mut plan: Refinement<Start> = Refinement::new(spec.columns, spec.rows, finest);
    let solve = |cell: [usize; 2], start: Option<&Start>, caches: &mut Caches| {
        let line = common.line(spec.pitch_um(cell[0]), spec.amplitude_um(cell[1]))?;
        let (peaks, next) = strain_at_target(checked, &line, start, caches).ok()?;
        let strain = peaks.judged(&layers);
        let edge = live.value(MapField::PeakStrain, cell[0], cell[1]).filter(|edge| *edge > 0.0);
        let ratio = Ratio {
            used: strain.used.0 / live_used(cell)?,
            edge: edge.map_or(1.0, |edge| 100.0 * strain.edge_tension / edge),
        };
        Some((ratio, next))
    };
    while let Some(batch) = plan.next_batch(&live_used) {
        if !keep_going() {
            return None;
        }
        #[cfg(feature = "parallel")]
        let found: Vec<Option<(Ratio, Start)>> = {
            use rayon::prelude::*;
            let plan = &plan;
            batch
                .par_iter()
                .map_init(Caches::new, |caches, cell| solve(*cell, plan.nearest(*cell), caches))
                .collect()
        };
        #[cfg(not(feature = "parallel"))]
        let found: Vec<Option<(Ratio, Start)>> =
            batch.iter().map(|cell| solve(*cell, plan.nearest(*cell), caches)).collect();
        for (cell, found) in batch.into_iter().zip(found) {
            plan.put(cell, found);
        }
        on_progress(&plan.applied_to(live), plan.share());
    }
    Some(plan.applied_to(live))
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
