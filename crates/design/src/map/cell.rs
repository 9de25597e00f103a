//! One cell of a map: a shape of its own, everything else shared.

use super::MapSpec;
use crate::caches::Caches;
use crate::check::Checked;
use crate::evaluate::{GAP_POINTS, cutoff};
use crate::light::{Layout, QuarterPath, loss};
use crate::state::curve_points;
use crate::stretched::stretched_path;
use ogee_geometry::{Centreline, Ends, Family, Quarter, clearance_of_quarter_points};
use ogee_mechanics::{CellProblem, CellSolver, LayerSpan};
use ogee_optics::BendTable;
use std::sync::Arc;

/// The values of one row; `None` for impossible shapes.
pub(super) type Row = Vec<Option<Values>>;

/// One value a field, in the order of `MapField::index`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Values(pub(super) [f64; Values::COUNT]);

impl Values {
    /// Number of fields.
    pub(super) const COUNT: usize = 6;
    /// Stands for a field without a value in a possible cell; no field has negative values.
    pub(super) const ABSENT: f32 = -1.0;
}

/// What a thread keeps from row to row.
#[derive(Debug, Default)]
pub(super) struct Workspace {
    solver: CellSolver,
    path: QuarterPath,
}

/// A layer to be judged.
#[derive(Clone, Copy, Debug)]
struct Judged {
    span: LayerSpan,
    allowable: f64,
    allowable_compression: Option<f64>,
}

/// What all cells share.
pub(super) struct Common<'a> {
    checked: &'a Checked,
    family: Family,
    ends: Ends,
    layers: Vec<Judged>,
    table: Option<Arc<BendTable>>,
    /// Margins that do not depend on the shape.
    constant_margin: f64,
}

impl<'a> Common<'a> {
    pub(super) fn new(checked: &'a Checked, caches: &mut Caches) -> Self {
        let (size_over_cutoff, _) = cutoff(checked);
        Self {
            checked,
            family: checked.quarter().family(),
            ends: checked.centreline().ends(),
            layers: checked
                .layers()
                .iter()
                .map(|l| Judged {
                    span: LayerSpan { left_um: l.left_um, right_um: l.right_um },
                    allowable: l.allowable_strain,
                    allowable_compression: l.allowable_compression,
                })
                .collect(),
            table: caches.bend_table(checked).and_then(Result::ok),
            constant_margin: if checked.light().is_some() { 1.0 / size_over_cutoff } else { f64::MAX },
        }
    }

    /// Evaluates one row.
    pub(super) fn row(&self, spec: &MapSpec, row: usize, workspace: &mut Workspace) -> Row {
        let amplitude_um = spec.amplitude_um(row);
        (0..spec.columns).map(|column| self.cell(spec.pitch_um(column), amplitude_um, workspace)).collect()
    }

    fn cell(&self, pitch_um: f64, amplitude_um: f64, workspace: &mut Workspace) -> Option<Values> {
        let shape = &self.checked.design().shape;
        let width_um = shape.width_um;
        let quarter = Quarter::new(self.family, pitch_um, amplitude_um).ok()?;
        let end_radius_um = shape.end_radius_um.filter(|_| self.ends == Ends::Midline);
        let line = Centreline::new(quarter, shape.periods, self.ends, shape.lead_um, end_radius_um).ok()?;
        if width_um >= 2.0 * line.least_radius_um() {
            return None;
        }
        let quarter = line.quarter();
        let target = self.checked.target_stretch();
        let stretch = target * line.span_um() / (f64::from(shape.periods) * pitch_um);
        let problem = CellProblem { quarter, strips: self.checked.strips(), stretch };
        let solution = workspace.solver.solve(&problem, None).ok()?;
        let factor = crate::interim::end_factor(self.ends, shape.periods, stretch / quarter.slack()).factor;

        let mut strain_margin = f64::MAX;
        let mut margin = self.constant_margin;
        for layer in &self.layers {
            let extremes = solution.peak_at(layer.span).ok()?;
            strain_margin = strain_margin.min(layer.allowable / (factor * extremes.tensile.strain).max(0.0));
            if let Some(allowable) = layer.allowable_compression {
                margin = margin.min(allowable / (-factor * extremes.compressive.strain).max(0.0));
            }
        }
        margin = margin.min(strain_margin);

        let limits = &self.checked.design().limits;
        margin = margin.min(line.least_radius_um() / limits.least_radius_um);
        margin = margin.min(limits.span_um / line.span_um());
        if let Some(height) = limits.height_um {
            margin = margin.min(height / (line.height_um() + width_um));
        }
        let gap_rest = line.clearance(width_um).ok()?.gap_um;
        let along = curve_points(&solution.along(GAP_POINTS));
        let gap_stretched =
            clearance_of_quarter_points(&along, pitch_um * (1.0 + stretch), width_um).ok()?.gap_um;
        margin = margin.min(gap_rest.min(gap_stretched).max(0.0) / limits.clearance_um);

        let (mut rest_db, mut stretched_db) = (f64::from(Values::ABSENT), f64::from(Values::ABSENT));
        if let (Some(table), Some(light)) = (&self.table, self.checked.light()) {
            let layout = Layout { bend: line.end_bend(), ..Layout::of(self.checked, light) };
            workspace.path.fill_at_rest(quarter);
            rest_db = loss(&workspace.path, &layout, table).total_db();
            let (path, bend_opening) = stretched_path(quarter, &solution, layout.bend);
            stretched_db = loss(&path, &Layout { bend_opening, ..layout }, table).total_db();
            margin = margin.min(light.insertion_loss_limit_db / rest_db.max(stretched_db));
        } else if self.checked.light().is_some() {
            // No table for this core: the loss is not known, so no cell passes all limits.
            margin = 0.0;
        }
        Some(Values([
            strain_margin.min(crate::margin::LARGEST_MARGIN),
            100.0 * factor * solution.peak_tensile.strain.max(0.0),
            rest_db,
            stretched_db,
            line.contour_length_um() / 1000.0,
            margin.min(crate::margin::LARGEST_MARGIN),
        ]))
    }
}
