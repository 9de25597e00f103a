//! What is worth keeping from one assessment to the next.

use crate::checked::{Checked, CheckedLight};
use crate::figures::Batch;
use crate::modes::{self, CorrectedTable, ModesResult};
use ogee_mechanics::{BondedSolver, CellSolver, RibbonSolver, SpatialSolver};
use ogee_optics::{BendTable, LightError, Polarisation};
use std::sync::Arc;

/// Most bend tables kept: the design on screen, its pins and a few steps of undo.
const MOST_TABLES: usize = 16;

/// Solver workspace and tables that depend on less than the whole design. One per thread.
#[derive(Debug, Default)]
pub struct Caches {
    pub(crate) cell: CellSolver,
    pub(crate) batch: Batch,
    pub(crate) bonded: BondedSolver,
    pub(crate) ribbon: RibbonSolver,
    pub(crate) spatial: SpatialSolver,
    tables: Vec<(TableKey, Result<Arc<BendTable>, LightError>)>,
    modes: Vec<([u64; 7], Arc<ModesResult>)>,
    corrected: Vec<(TableKey, CorrectedTable)>,
}

/// The plane in which a core is bent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum BendPlane {
    /// In the ribbon's own plane.
    In,
    /// Out of it.
    Out,
}

/// What a bend table depends on, bit for bit.
type TableKey = ([u64; 7], Polarisation, BendPlane);

fn key(light: &CheckedLight, plane: BendPlane) -> TableKey {
    (core_key(light), light.polarisation, plane)
}

fn core_key(light: &CheckedLight) -> [u64; 7] {
    let c = &light.core;
    [c.wavelength_um, c.width_um, c.height_um, c.n_core, c.n_below, c.n_above, c.n_side].map(f64::to_bits)
}

impl Caches {
    /// Empty caches.
    pub fn new() -> Self {
        Self::default()
    }

    /// The bend table of the design's core, made when it is not there yet (some ten milliseconds).
    /// `None` without light; the error says why the live tier has no table for this core.
    pub fn bend_table(&mut self, checked: &Checked) -> Option<Result<Arc<BendTable>, LightError>> {
        self.table(checked, BendPlane::In)
    }

    /// The bend table of the design's core bent in a plane.
    pub(crate) fn table(
        &mut self,
        checked: &Checked,
        plane: BendPlane,
    ) -> Option<Result<Arc<BendTable>, LightError>> {
        let light = checked.light()?;
        let key = key(light, plane);
        if let Some(i) = self.tables.iter().position(|(k, _)| *k == key) {
            let entry = self.tables.remove(i);
            self.tables.push(entry);
        } else {
            let table = match plane {
                BendPlane::In => BendTable::of_core(&light.core, light.polarisation),
                BendPlane::Out => BendTable::of_core_out_of_plane(&light.core, light.polarisation),
            };
            self.keep(key, table.map(Arc::new));
        }
        self.tables.last().map(|(_, table)| table.clone())
    }

    /// The true modes of a core, solved when they are not there yet (some hundred milliseconds).
    pub(crate) fn true_modes(&mut self, light: &CheckedLight) -> Arc<ModesResult> {
        let key = core_key(light);
        if let Some((_, modes)) = self.modes.iter().find(|(k, _)| *k == key) {
            return Arc::clone(modes);
        }
        if self.modes.len() == MOST_TABLES {
            drop(self.modes.remove(0));
        }
        let modes = Arc::new(modes::solve(light));
        self.modes.push((key, Arc::clone(&modes)));
        modes
    }

    /// The in-plane bend table corrected by the true cross-section, made when it is not there yet (most of a second).
    /// `None` without light or without a table.
    pub(crate) fn corrected_table(&mut self, checked: &Checked) -> Option<CorrectedTable> {
        let light = checked.light()?;
        let key = key(light, BendPlane::In);
        if let Some((_, found)) = self.corrected.iter().find(|(k, _)| *k == key) {
            return Some(found.clone());
        }
        let table = self.bend_table(checked)?.ok()?;
        if self.corrected.len() == MOST_TABLES {
            drop(self.corrected.remove(0));
        }
        let found = modes::correct(light, &table);
        self.corrected.push((key, found.clone()));
        Some(found)
    }

    /// Takes over the bend tables that `other` has and this one lacks, without making them again.
    pub fn adopt_tables(&mut self, other: &Self) {
        for (key, table) in &other.tables {
            if !self.tables.iter().any(|(k, _)| k == key) {
                self.keep(*key, table.clone());
            }
        }
    }

    fn keep(&mut self, key: TableKey, table: Result<Arc<BendTable>, LightError>) {
        if self.tables.len() == MOST_TABLES {
            drop(self.tables.remove(0));
        }
        self.tables.push((key, table));
    }

    /// The bend table if it is there already.
    pub(crate) fn ready_table(&self, checked: &Checked) -> Option<&BendTable> {
        let key = key(checked.light()?, BendPlane::In);
        self.tables.iter().find(|(k, _)| *k == key)?.1.as_ref().ok().map(AsRef::as_ref)
    }
}
