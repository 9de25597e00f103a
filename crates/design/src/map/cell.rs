//! One row of a map: shapes of their own, everything else shared.

use super::{MapField, MapSpec};
use crate::caches::Caches;
use crate::checked::Checked;
use crate::evaluate::{bed_factor, cutoff};
use crate::figures::{Batch, Figures, Layers, Variant};
use crate::light::Layout;
use crate::margin::LARGEST_MARGIN;
use crate::strength::{shapeless_margin, wrap_shares};
use ogee_geometry::{Centreline, Ends, Family, Quarter};
use ogee_optics::BendTable;
use std::sync::Arc;

/// The values of one row; `None` for impossible shapes.
pub(super) type Row = Vec<Option<Values>>;

/// One value a field, in the order of `MapField::index`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Values(pub(super) [f64; Values::COUNT]);

impl Values {
    /// Number of values: the fields and one more.
    pub(super) const COUNT: usize = 7;
    /// Place of the smallest margin but that of tensile strain, which no field shows.
    pub(super) const OTHERS: usize = 6;
    /// Stands for a field without a value in a possible cell; no field has negative values.
    pub(super) const ABSENT: f32 = -1.0;
}

/// What a thread keeps from row to row.
pub(super) type Workspace = Batch;

/// What all cells share.
pub(super) struct Common<'a> {
    checked: &'a Checked,
    family: Family,
    ends: Ends,
    layers: Layers,
    table: Option<Arc<BendTable>>,
    wants_all: bool,
    /// Margins that do not depend on the shape.
    constant_margin: f64,
}

impl<'a> Common<'a> {
    pub(super) fn new(checked: &'a Checked, fields: &[MapField], caches: &mut Caches) -> Self {
        let wants_all = fields.contains(&MapField::AllLimits);
        let wants_loss = wants_all
            || fields.contains(&MapField::InsertionLoss)
            || fields.contains(&MapField::InsertionLossStretched);
        let (size_over_cutoff, _) = cutoff(checked);
        Self {
            checked,
            family: checked.quarter().family(),
            ends: checked.centreline().ends(),
            // Cells of a bonded map take the factor of the design at hand; the full models give each its own.
            layers: Layers {
                bed: bed_factor(checked, caches),
                wrap: if wants_all { wrap_shares(checked) } else { Vec::new() },
                ..Layers::of(checked)
            },
            table: if wants_loss { caches.bend_table(checked).and_then(Result::ok) } else { None },
            wants_all,
            constant_margin: if wants_all { shapeless_margin(checked) } else { LARGEST_MARGIN }
                .min(if checked.light().is_some() { 1.0 / size_over_cutoff } else { LARGEST_MARGIN }),
        }
    }

    /// Evaluates one row.
    pub(super) fn row(&self, spec: &MapSpec, row: usize, batch: &mut Workspace) -> Row {
        let amplitude_um = spec.amplitude_um(row);
        let lines: Vec<Option<Centreline>> =
            (0..spec.columns).map(|column| self.line(spec.pitch_um(column), amplitude_um)).collect();
        let variants: Vec<Variant<'_>> = lines.iter().flatten().map(|line| self.variant(line)).collect();
        let mut figures = batch.figures(&variants, self.wants_all).into_iter();
        lines
            .iter()
            .map(|line| {
                let line = line.as_ref()?;
                let figures = figures.next()?.ok()?;
                self.values(line, &figures)
            })
            .collect()
    }

    /// The ribbon of one cell, where its shape is possible.
    pub(super) fn line(&self, pitch_um: f64, amplitude_um: f64) -> Option<Centreline> {
        let shape = &self.checked.design().shape;
        let quarter = Quarter::new(self.family, pitch_um, amplitude_um).ok()?;
        let end_radius_um = shape.end_radius_um.filter(|_| self.ends == Ends::Midline);
        let line = Centreline::new(quarter, shape.periods, self.ends, shape.lead_um, end_radius_um).ok()?;
        (shape.width_um < 2.0 * line.least_radius_um()).then_some(line)
    }

    fn variant<'b>(&'b self, line: &'b Centreline) -> Variant<'b> {
        let light = self.table.as_deref().zip(self.checked.light());
        Variant {
            line,
            strips: self.checked.strips(),
            width_um: self.checked.width_um(),
            target: self.checked.target_stretch(),
            layers: &self.layers,
            light: light.map(|(table, light)| {
                (table, Layout { bend: line.end_bend(), ..Layout::of(self.checked, light) })
            }),
        }
    }

    fn values(&self, line: &Centreline, figures: &Figures) -> Option<Values> {
        let absent = f64::from(Values::ABSENT);
        let strain_margin = figures.strain.used.0.recip().min(LARGEST_MARGIN);
        let (rest_db, stretched_db) =
            figures.losses.map_or((absent, absent), |l| (l.rest.total_db(), l.stretched.total_db()));
        let others = if self.wants_all { self.other_limits(line, figures)? } else { absent };
        let all = if self.wants_all { others.min(strain_margin) } else { absent };
        Some(Values([
            strain_margin,
            100.0 * figures.strain.edge_tension,
            rest_db,
            stretched_db,
            line.contour_length_um() / 1000.0,
            all,
            others,
        ]))
    }

    /// The smallest margin but that of tensile strain.
    fn other_limits(&self, line: &Centreline, figures: &Figures) -> Option<f64> {
        let limits = &self.checked.design().limits;
        let width_um = self.checked.width_um();
        let mut margin = self.constant_margin;
        if let Some((share, _)) = figures.strain.compressed {
            margin = margin.min(share.recip());
        }
        if let Some(wrapped) = figures.strain.wrapped {
            margin = margin.min(wrapped);
        }
        margin = margin.min(line.least_radius_um() / limits.least_radius_um);
        margin = margin.min(limits.span_um / line.span_um());
        if let Some(height) = limits.height_um {
            margin = margin.min(height / (line.height_um() + width_um));
        }
        match (&figures.losses, self.checked.light()) {
            (Some(losses), Some(light)) => {
                let worst_db = losses.rest.total_db().max(losses.stretched.total_db());
                margin = margin.min(light.insertion_loss_limit_db / worst_db);
            }
            // No table for this core: the loss is not known, so no cell passes all limits.
            (None, Some(_)) => margin = 0.0,
            (_, None) => {}
        }
        margin = margin.min(figures.gap_stretched_um? / limits.clearance_um);
        // Last, because only a gap that would lower the margin further needs to be found.
        let below_um = margin * limits.clearance_um;
        margin = margin.min(line.clearance_below(width_um, below_um).ok()?.gap_um / limits.clearance_um);
        Some(margin.clamp(0.0, LARGEST_MARGIN))
    }
}
