//! The values of a map.

use super::cell::{Row, Values};
use super::refine::Ratio;
use super::{MapField, MapModel};
use crate::checked::Checked;
use crate::document::{Design, MapWindow};
use std::sync::Arc;

/// Where and how finely a map is evaluated. Columns are pitches, rows amplitudes, both at cell centres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapSpec {
    /// Ranges of amplitude and pitch.
    pub window: MapWindow,
    /// Number of pitches.
    pub columns: usize,
    /// Number of amplitudes.
    pub rows: usize,
}

impl MapSpec {
    /// A map of `columns` × `rows` over the design's own window.
    pub fn of(design: &Design, columns: usize, rows: usize) -> Self {
        Self { window: design.map.unwrap_or_else(|| MapWindow::around(&design.shape)), columns, rows }
    }

    /// Pitch of a column, µm.
    pub fn pitch_um(&self, column: usize) -> f64 {
        at(self.window.pitch_um, column, self.columns)
    }

    /// Amplitude of a row, µm; row 0 has the least.
    pub fn amplitude_um(&self, row: usize) -> f64 {
        at(self.window.amplitude_um, row, self.rows)
    }

    /// Column and row of the cell that holds (pitch, amplitude), where it is inside.
    pub fn cell(&self, pitch_um: f64, amplitude_um: f64) -> Option<(usize, usize)> {
        let index = |[low, high]: [f64; 2], value: f64, count: usize| {
            let t = (value - low) / (high - low);
            (0.0..=1.0).contains(&t).then(|| ((t * count as f64) as usize).min(count.saturating_sub(1)))
        };
        Some((
            index(self.window.pitch_um, pitch_um, self.columns)?,
            index(self.window.amplitude_um, amplitude_um, self.rows)?,
        ))
    }
}

fn at([low, high]: [f64; 2], index: usize, count: usize) -> f64 {
    low + (high - low) * (index as f64 + 0.5) / count as f64
}

/// A map with all its fields. Cells without a value (impossible shapes, no light) say why.
#[derive(Clone, Debug)]
pub struct MapGrid {
    spec: MapSpec,
    design: Arc<Design>,
    /// One list a field, row by row; where `possible` is false the value is 0 and means nothing.
    values: [Vec<f32>; Values::COUNT],
    possible: Vec<bool>,
    /// Cells whose strain the full models solved; empty in a live map.
    solved: Vec<bool>,
}

impl MapGrid {
    pub(super) fn new(checked: &Checked, spec: MapSpec) -> Self {
        let cells = spec.columns * spec.rows;
        Self {
            spec,
            design: checked.design().clone(),
            values: std::array::from_fn(|_| vec![0.0; cells]),
            possible: vec![false; cells],
            solved: Vec::new(),
        }
    }

    pub(super) fn set_row(&mut self, row: usize, values: &Row) {
        for (column, cell) in values.iter().enumerate() {
            let i = row * self.spec.columns + column;
            self.possible[i] = cell.is_some();
            if let Some(cell) = cell {
                for (list, value) in self.values.iter_mut().zip(cell.0) {
                    list[i] = value as f32;
                }
            }
        }
    }

    /// Scales the strain of a cell by what the full model found there, or around it.
    pub(super) fn scale_strain(&mut self, column: usize, row: usize, ratio: Ratio, is_solved: bool) {
        let cells = self.spec.columns * self.spec.rows;
        self.solved.resize(cells, false);
        let i = row * self.spec.columns + column;
        if !self.possible[i] {
            return;
        }
        self.solved[i] = is_solved;
        self.values[MapField::StrainMargin.index()][i] /= ratio.used as f32;
        self.values[MapField::PeakStrain.index()][i] *= ratio.edge as f32;
        let all = MapField::AllLimits.index();
        if self.values[all][i] != Values::ABSENT {
            let others = self.values[Values::OTHERS][i];
            self.values[all][i] = others.min(self.values[MapField::StrainMargin.index()][i]);
        }
    }

    /// The map without the strain of cells that the full models did not solve: for tables, which should hold no value that
    /// was interpolated.
    #[must_use]
    pub fn solved_only(mut self) -> Self {
        for i in 0..self.solved.len() {
            if self.possible[i] && !self.solved[i] {
                for field in [MapField::StrainMargin, MapField::PeakStrain, MapField::AllLimits] {
                    self.values[field.index()][i] = Values::ABSENT;
                }
            }
        }
        self
    }

    /// By which model the strain is: the full ones where some cells were solved by them.
    pub fn model(&self) -> MapModel {
        if self.solved.is_empty() { MapModel::Live } else { MapModel::Full }
    }

    /// Whether the full models solved a cell; the others of a full map take their ratio to the live estimate from the
    /// solved cells around them.
    pub fn is_solved(&self, column: usize, row: usize) -> bool {
        column < self.spec.columns
            && self.solved.get(row * self.spec.columns + column).copied().unwrap_or(false)
    }

    /// Where the map was evaluated.
    pub fn spec(&self) -> &MapSpec {
        &self.spec
    }

    /// The design around which it was evaluated.
    pub fn design(&self) -> &Arc<Design> {
        &self.design
    }

    /// Value of a field in a cell; `None` where the shape is impossible or the field has no value there.
    pub fn value(&self, field: MapField, column: usize, row: usize) -> Option<f64> {
        if column >= self.spec.columns || row >= self.spec.rows {
            return None;
        }
        let i = row * self.spec.columns + column;
        let value = self.values[field.index()][i];
        (self.possible[i] && value != Values::ABSENT).then(|| f64::from(value))
    }

    /// Whether the shape of a cell is possible.
    pub fn is_possible(&self, column: usize, row: usize) -> bool {
        self.possible.get(row * self.spec.columns + column).copied().unwrap_or(false)
    }

    /// Why a cell has no value: the inequality that failed, in words.
    pub fn reason(&self, column: usize, row: usize) -> Option<String> {
        if self.is_possible(column, row) {
            return None;
        }
        let mut design = Design::clone(&self.design);
        design.shape.pitch_um = self.spec.pitch_um(column);
        design.shape.amplitude_um = self.spec.amplitude_um(row);
        match design.check() {
            Err(faults) => faults.first().map(|f| f.message.clone()),
            Ok(_) => Some("no equilibrium was found at the target stretch".to_owned()),
        }
    }

    /// Least and greatest value of a field over all cells that have one.
    pub fn range(&self, field: MapField) -> Option<(f64, f64)> {
        let values = self.values[field.index()].iter().zip(&self.possible);
        let present =
            values.filter(|(v, possible)| **possible && **v != Values::ABSENT).map(|(v, _)| f64::from(*v));
        present.fold(None, |range: Option<(f64, f64)>, v| {
            Some(range.map_or((v, v), |(low, high)| (low.min(v), high.max(v))))
        })
    }
}
