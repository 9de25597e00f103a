//! The bare figures of many designs at once: what margins are made of, without words and places.
//!
//! Maps, sensitivities and the assessment itself all get their figures here, so they agree. Designs are solved in
//! batches, each lane of the processor's vectors another design.

use crate::checked::Checked;
use crate::light::{Layout, Loss, QuarterPath, loss};
use crate::state::curve_points;
use crate::stretched::{fill_stretched, largest_curvature};
use ogee_geometry::{Centreline, clearance_of_quarter_points};
use ogee_mechanics::{
    CellProblem, CellSolver, EndFactor, LayerPeaks, LayerSpan, ManyProblem, ManyResults, ManySettings,
    ManySolver, Strips, end_factor,
};
use ogee_optics::BendTable;

/// Points of the quarter from which the gap of the stretched, overhanging ribbon is read.
const GAP_POINTS: usize = 48;
/// Stretches between the islands searched for the allowable strain end here, relative to a straight ribbon.
const FARTHEST: f64 = 2.0;
/// Relative accuracy of the stretch at which the allowable strain is reached.
const REACHED_TOLERANCE: f64 = 1e-5;
/// Most rounds of that search; it halves its bracket at worst.
const REACHED_ROUNDS: usize = 60;
/// Elements of the quarter where the stretched path is wanted: enough for the loss to 1e-4.
const PATH_ELEMENTS: usize = 4;

/// One design of a batch.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Variant<'a> {
    pub(crate) line: &'a Centreline,
    pub(crate) strips: &'a Strips,
    pub(crate) width_um: f64,
    /// Target stretch between the islands, dimensionless.
    pub(crate) target: f64,
    pub(crate) layers: &'a Layers,
    /// Bend table and layout, where the loss is wanted.
    pub(crate) light: Option<(&'a BendTable, Layout)>,
}

/// The layers that are judged, the ribbon's own edges first.
#[derive(Clone, Debug)]
pub(crate) struct Layers {
    pub(crate) spans: Vec<LayerSpan>,
    /// Allowable tension and compression of every span but the first.
    pub(crate) allowables: Vec<(f64, Option<f64>)>,
    /// Factor on the strain for the elastomer that drags the ribbon along, dimensionless; 1 for a free ribbon.
    pub(crate) bed: f64,
    /// What the wrap adds to every span but the first; empty without a wrap, or where it is not asked for.
    pub(crate) wrap: Vec<WrapShare>,
}

/// What a wrap adds to a layer, and what it may.
#[derive(Clone, Copy, Debug)]
pub(crate) struct WrapShare {
    /// Greatest and least strain that it adds, dimensionless.
    pub(crate) strain: [f64; 2],
    /// Most that wrap and pull together may add in tension and in compression, dimensionless.
    pub(crate) limits: (f64, Option<f64>),
}

impl Layers {
    pub(crate) fn of(checked: &Checked) -> Self {
        let own = checked.layers().iter().map(|l| LayerSpan { left_um: l.left_um, right_um: l.right_um });
        Self {
            spans: std::iter::once(LayerSpan::centred(checked.width_um())).chain(own).collect(),
            allowables: checked
                .layers()
                .iter()
                .map(|l| (l.allowable_strain, l.allowable_compression))
                .collect(),
            bed: 1.0,
            wrap: Vec::new(),
        }
    }

    /// Allowed strain over that of pull and wrap together in the layer nearest to its limit, dimensionless; none without a
    /// wrap.
    pub(crate) fn wrapped_margin(&self, peaks: &[LayerPeaks], factor: f64) -> Option<f64> {
        let mut least: Option<f64> = None;
        for (p, wrap) in peaks.iter().skip(1).zip(&self.wrap) {
            let ([high, low], (tension, compression)) = (wrap.strain, wrap.limits);
            let pairs = [
                (factor * p.tensile.max(0.0) + high, Some(tension)),
                (-(factor * p.compressive.min(0.0) + low), compression),
            ];
            for (strain, limit) in pairs.into_iter().filter_map(|(strain, limit)| Some((strain, limit?))) {
                let margin = if strain > 0.0 { limit / strain } else { f64::MAX };
                least = Some(least.map_or(margin, |l| l.min(margin)));
            }
        }
        least
    }

    /// The most used layer: share of its allowable, and its number.
    pub(crate) fn most_used(&self, peaks: &[LayerPeaks], factor: f64) -> (f64, usize) {
        let shares =
            peaks.iter().skip(1).zip(&self.allowables).map(|(p, (a, _))| factor * p.tensile.max(0.0) / a);
        let mut most = (0.0, 0);
        for (i, share) in shares.enumerate() {
            if share > most.0 {
                most = (share, i);
            }
        }
        most
    }

    /// The same for compression, where any layer has an allowable one.
    pub(crate) fn most_compressed(&self, peaks: &[LayerPeaks], factor: f64) -> Option<(f64, usize)> {
        let mut most: Option<(f64, usize)> = None;
        for (i, (p, (_, allowable))) in peaks.iter().skip(1).zip(&self.allowables).enumerate() {
            let Some(allowable) = allowable else { continue };
            let share = factor * (-p.compressive).max(0.0) / allowable;
            if most.is_none_or(|m| share > m.0) {
                most = Some((share, i));
            }
        }
        most
    }
}

impl<'a> Variant<'a> {
    pub(crate) fn of(checked: &'a Checked, layers: &'a Layers, table: Option<&'a BendTable>) -> Self {
        let light = table.zip(checked.light()).map(|(table, light)| (table, Layout::of(checked, light)));
        Self {
            light,
            line: checked.centreline(),
            strips: checked.strips(),
            width_um: checked.width_um(),
            target: checked.target_stretch(),
            layers,
        }
    }

    /// Stretch of the meander per stretch between the islands.
    fn ratio(&self) -> f64 {
        self.line.span_um() / (f64::from(self.line.periods()) * self.line.quarter().pitch_um())
    }

    fn problem(&self, stretch: f64) -> ManyProblem<'a> {
        let stretch = stretch * self.ratio();
        ManyProblem {
            cell: CellProblem { quarter: self.line.quarter(), strips: self.strips, stretch },
            layers: &self.layers.spans,
        }
    }

    fn end(&self, stretch: f64) -> EndFactor {
        let share = stretch * self.ratio() / self.line.quarter().slack();
        let end = end_factor(self.line.ends(), self.line.periods(), share);
        EndFactor { factor: end.factor * self.layers.bed, ..end }
    }

    /// Stretch between the islands at which the meander is straight.
    fn straight(&self) -> f64 {
        self.line.quarter().slack() / self.ratio()
    }
}

/// Strain of one design at its target stretch, end factor included.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Strain {
    /// Peak tension at the ribbon's edges, dimensionless.
    pub(crate) edge_tension: f64,
    /// Peak tension over the allowable one in the most used layer, and its number.
    pub(crate) used: (f64, usize),
    /// The same for compression.
    pub(crate) compressed: Option<(f64, usize)>,
    /// Margin of pull and wrap together, where that is asked for.
    pub(crate) wrapped: Option<f64>,
}

/// Loss at rest and stretched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Losses {
    pub(crate) rest: Loss,
    pub(crate) stretched: Loss,
}

/// One design's figures at its target stretch.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Figures {
    pub(crate) strain: Strain,
    pub(crate) losses: Option<Losses>,
    /// Gap between edges at the target stretch, µm.
    pub(crate) gap_stretched_um: Option<f64>,
}

/// Solvers and memory for batches. One per thread.
#[derive(Debug)]
pub(crate) struct Batch {
    strain: ManySolver,
    path: ManySolver,
    scalar: CellSolver,
    results: ManyResults,
    quarter_path: QuarterPath,
}

impl Default for Batch {
    fn default() -> Self {
        let path =
            ManySettings { least_elements: PATH_ELEMENTS, wants_path: true, ..ManySettings::default() };
        Self {
            strain: ManySolver::new(ManySettings::default()),
            path: ManySolver::new(path),
            scalar: CellSolver::new(),
            results: ManyResults::default(),
            quarter_path: QuarterPath::default(),
        }
    }
}

impl Batch {
    /// Figures of all `variants` at their target stretch, with the gap where it is wanted; an error says why one has no
    /// equilibrium.
    pub(crate) fn figures(
        &mut self,
        variants: &[Variant<'_>],
        wants_gap: bool,
    ) -> Vec<Result<Figures, String>> {
        let problems: Vec<ManyProblem<'_>> = variants.iter().map(|v| v.problem(v.target)).collect();
        let wants_path = wants_gap || variants.iter().any(|v| v.light.is_some());
        let solver = if wants_path { &mut self.path } else { &mut self.strain };
        solver.solve_many(&problems, &mut self.results);
        variants.iter().enumerate().map(|(i, variant)| self.one(i, variant, wants_gap)).collect()
    }

    fn one(&mut self, i: usize, variant: &Variant<'_>, wants_gap: bool) -> Result<Figures, String> {
        let cell = self.results.cell(i).map_err(ToString::to_string)?;
        let peaks = self.results.peaks(i);
        let factor = variant.end(variant.target).factor;
        let edge_tension = factor * peaks.first().map_or(0.0, |p| p.tensile.max(0.0));
        let strain = Strain {
            edge_tension,
            used: variant.layers.most_used(peaks, factor),
            compressed: variant.layers.most_compressed(peaks, factor),
            wrapped: variant.layers.wrapped_margin(peaks, factor),
        };
        let weights = self.results.path(i);
        let quarter = variant.line.quarter();
        let losses = variant.light.map(|(table, layout)| {
            self.quarter_path.fill_at_rest(quarter);
            let rest = loss(&self.quarter_path, &layout, table);
            let jumps = cell.jumps.into_iter().flatten();
            let bend_opening = fill_stretched(&mut self.quarter_path, quarter, weights, jumps, layout.bend);
            let stretched = loss(&self.quarter_path, &Layout { bend_opening, ..layout }, table);
            Losses { rest, stretched }
        });
        let gap_stretched_um = if wants_gap {
            // Only bends that overhang can face each other; the others have their inside alone. What a quarter
            // turns in all bounds its steepest angle.
            let inside = 2.0 / largest_curvature(weights) - variant.width_um;
            let turn: f64 = weights.iter().map(|w| w.length_um * w.curvature_per_um).sum();
            let gap = if turn > std::f64::consts::FRAC_PI_2 { self.scalar_gap(variant)? } else { inside };
            Some(gap.min(inside))
        } else {
            None
        };
        Ok(Figures { strain, losses, gap_stretched_um })
    }

    /// Gap of the stretched ribbon from its solved shape.
    fn scalar_gap(&mut self, variant: &Variant<'_>) -> Result<f64, String> {
        let problem = variant.problem(variant.target).cell;
        let solution = self.scalar.solve(&problem, None).map_err(|e| e.to_string())?;
        let points = curve_points(&solution.along(GAP_POINTS));
        let pitch_um = problem.quarter.pitch_um() * (1.0 + problem.stretch);
        clearance_of_quarter_points(&points, pitch_um, variant.width_um)
            .map(|c| c.gap_um)
            .map_err(|e| e.to_string())
    }

    /// Tension over the allowable one in the most used layer when the islands are `stretches` apart.
    fn uses(&mut self, variants: &[(usize, Variant<'_>, f64)]) -> Vec<Result<f64, String>> {
        let problems: Vec<ManyProblem<'_>> =
            variants.iter().map(|(_, v, stretch)| v.problem(*stretch)).collect();
        self.strain.solve_many(&problems, &mut self.results);
        variants
            .iter()
            .enumerate()
            .map(|(i, (_, variant, stretch))| {
                self.results.cell(i).map_err(ToString::to_string)?;
                Ok(variant.layers.most_used(self.results.peaks(i), variant.end(*stretch).factor).0)
            })
            .collect()
    }

    /// Force (in EI/P²) and peak tension at the edges (end factor included) of one design at many stretches.
    pub(crate) fn curve(
        &mut self,
        variant: &Variant<'_>,
        stretches: &[f64],
    ) -> Result<Vec<(f64, f64)>, String> {
        let problems: Vec<ManyProblem<'_>> = stretches.iter().map(|s| variant.problem(*s)).collect();
        self.strain.solve_many(&problems, &mut self.results);
        stretches
            .iter()
            .enumerate()
            .map(|(i, stretch)| {
                let cell = self.results.cell(i).map_err(ToString::to_string)?;
                let tension = self.results.peaks(i).first().map_or(0.0, |p| p.tensile.max(0.0));
                Ok((cell.force_ei_per_p2, variant.end(*stretch).factor * tension))
            })
            .collect()
    }

    /// Stretch between the islands at which the first layer of each design reaches its allowable strain, on the true
    /// curve; `None` where that is out of reach.
    ///
    /// All designs take one step of a bracketed secant at a time, in ln(use) against ln(stretch), in which the curve
    /// is nearly straight; bisection guards it.
    pub(crate) fn allowable_stretches(
        &mut self,
        variants: &[Variant<'_>],
    ) -> Vec<Result<Option<f64>, String>> {
        let mut searches: Vec<Search> = variants.iter().map(Search::new).collect();
        for _ in 0..REACHED_ROUNDS {
            let open: Vec<(usize, Variant<'_>, f64)> = searches
                .iter()
                .enumerate()
                .filter(|(_, s)| s.found.is_none())
                .map(|(i, s)| (i, variants[i], s.next))
                .collect();
            if open.is_empty() {
                break;
            }
            let used = self.uses(&open);
            for ((i, _, _), used) in open.iter().zip(used) {
                searches[*i].take(used);
            }
        }
        searches.into_iter().map(Search::finish).collect()
    }
}

/// The search of one design for the stretch at which its allowable strain is reached.
struct Search {
    straight: f64,
    farthest: f64,
    /// Stretch and ln(use) below; use is 0 at rest.
    low: (f64, f64),
    /// The same above, once there is one.
    high: Option<(f64, f64)>,
    next: f64,
    /// Side of the last step, for the safeguard against a lame end of the bracket.
    last_was_high: Option<bool>,
    found: Option<Result<Option<f64>, String>>,
}

impl Search {
    fn new(variant: &Variant<'_>) -> Self {
        let straight = variant.straight();
        let farthest = FARTHEST * (1.0 + straight) - 1.0;
        Self {
            straight,
            farthest,
            low: (0.0, f64::NEG_INFINITY),
            high: None,
            next: variant.target.clamp(1e-6, farthest),
            last_was_high: None,
            found: None,
        }
    }

    fn take(&mut self, used: Result<f64, String>) {
        let used = match used {
            Ok(used) => used.max(f64::MIN_POSITIVE).ln(),
            Err(error) => {
                self.found = Some(Err(error));
                return;
            }
        };
        if used.abs() < REACHED_TOLERANCE {
            self.found = Some(Ok(Some(self.next)));
            return;
        }
        let is_high = used >= 0.0;
        if is_high {
            self.high = Some((self.next, used));
        } else if self.next >= self.farthest {
            self.found = Some(Ok(None));
            return;
        } else {
            self.low = (self.next, used);
        }
        let lame = self.last_was_high == Some(is_high);
        self.last_was_high = Some(is_high);
        let Some(high) = self.high else {
            self.next = (1.5 * self.next).max(self.next + 0.25 * self.straight).min(self.farthest);
            return;
        };
        let width = high.0 - self.low.0;
        if width <= REACHED_TOLERANCE * high.0 {
            self.found = Some(Ok(Some(f64::midpoint(high.0, self.low.0))));
            return;
        }
        let guess = if self.low.1.is_finite() {
            // The Illinois rule: an end that has stayed counts half, so that the bracket closes from both sides.
            let (low, above) = match (lame, is_high) {
                (true, true) => (0.5 * self.low.1, high.1),
                (true, false) => (self.low.1, 0.5 * high.1),
                _ => (self.low.1, high.1),
            };
            let slope = (above - low) / (high.0.ln() - self.low.0.ln());
            (high.0.ln() - above / slope).exp()
        } else {
            // At rest nothing is used; the first guess from there is proportional.
            high.0 * (-high.1).exp()
        };
        let inside = guess > self.low.0 + 1e-9 * width && guess < high.0 - 1e-9 * width;
        self.next = if inside { guess } else { f64::midpoint(self.low.0, high.0) };
    }

    fn finish(self) -> Result<Option<f64>, String> {
        self.found.unwrap_or_else(|| Ok(self.high.map(|h| f64::midpoint(h.0, self.low.0))))
    }
}
