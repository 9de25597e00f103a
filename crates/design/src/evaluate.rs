//! The raw figures of one design, without margins, sensitivities and fields along the ribbon.

use crate::caches::Caches;
use crate::check::{Checked, CheckedLayer};
use crate::interim::{EndFactor, end_factor};
use crate::light::{Layout, QuarterPath, loss, loss_result};
use crate::places;
use crate::result::{LossResult, Place};
use crate::state::curve_points;
use crate::stretched::stretched_path;
use ogee_geometry::{Clearance, ClearanceKind, Ends, clearance_of_quarter_points};
use ogee_mechanics::{CellProblem, CellSolution, Extremes, LayerSpan, Peak};

/// Points of the quarter from which the gap of the stretched ribbon is read.
pub(crate) const GAP_POINTS: usize = 48;
/// Stretches between the islands searched for the allowable strain end here, relative to a straight ribbon.
const FARTHEST: f64 = 2.0;
/// Relative accuracy of the stretch at which the allowable strain is reached.
const REACHED_TOLERANCE: f64 = 1e-6;
/// Most steps of that search; it halves its bracket at worst.
const REACHED_STEPS: u32 = 80;

/// A layer's strain against its allowable one.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Governing {
    /// Peak strain, dimensionless and positive, end factor included.
    pub(crate) strain: f64,
    /// What is allowed, dimensionless.
    pub(crate) allowable: f64,
    pub(crate) layer: String,
    pub(crate) place: Place,
}

/// The raw figures of one design.
#[derive(Debug)]
pub(crate) struct Evaluated {
    pub(crate) cell: CellSolution,
    pub(crate) end: EndFactor,
    /// Peak tension and compression (positive) of every judged layer, end factor included.
    pub(crate) layers: Vec<[f64; 2]>,
    /// The layer nearest to its allowable tension.
    pub(crate) tension: Governing,
    /// The layer nearest to its allowable compression, where any is given.
    pub(crate) compression: Option<Governing>,
    /// Stretch between the islands at which a layer reaches its allowable strain, where that is in reach.
    pub(crate) allowable_stretch: Option<f64>,
    pub(crate) allowable_layer: Option<String>,
    pub(crate) allowable_place: Place,
    pub(crate) loss_rest: Result<LossResult, String>,
    pub(crate) loss_stretched: Result<LossResult, String>,
    /// The core's size over the size at which the next mode appears, the larger of width and height.
    pub(crate) size_over_cutoff: f64,
    pub(crate) cutoff_words: String,
    pub(crate) gap_rest: (f64, Place),
    pub(crate) gap_stretched: (f64, Place),
    pub(crate) least_radius_place: Place,
    pub(crate) height_um: f64,
}

impl Evaluated {
    /// Which model gave the strain.
    pub(crate) fn cell_model(&self) -> String {
        if self.end.factor == 1.0 {
            "planar periodic cell, large stretch".to_owned()
        } else {
            format!(
                "planar periodic cell, large stretch, × {} for the clamped ends",
                crate::text::digits(self.end.factor, 3)
            )
        }
    }
}

/// Evaluates `checked` at its target stretch.
///
/// # Errors
/// A sentence that says why there is no equilibrium.
pub(crate) fn evaluate(checked: &Checked, caches: &mut Caches) -> Result<Evaluated, String> {
    let target = checked.target_stretch();
    let cell = solve(checked, target, caches)?;
    let end = end_at(checked, target);
    let extremes = layer_extremes(checked, &cell)?;
    let layers = extremes
        .iter()
        .map(|e| {
            [e.tensile.strain.max(0.0), (-e.compressive.strain).max(0.0)].map(|strain| end.factor * strain)
        })
        .collect();
    let tension = governing_tension(checked, &extremes, end.factor);
    let compression = governing_compression(checked, &extremes, end.factor);
    let reached = allowable_stretch(checked, caches)?;
    let (allowable_layer, allowable_place) = match reached {
        Some(stretch) => {
            let at = solve(checked, stretch, caches)?;
            let g =
                governing_tension(checked, &layer_extremes(checked, &at)?, end_at(checked, stretch).factor);
            (Some(g.layer), g.place)
        }
        None => (None, Place::default()),
    };
    let (loss_rest, loss_stretched) = losses(checked, &cell, caches);
    let (size_over_cutoff, cutoff_words) = cutoff(checked);
    let gap = checked.centreline().clearance(checked.width_um()).map_err(|e| e.to_string())?;
    let along = cell.along(GAP_POINTS);
    let stretched_pitch = checked.quarter().pitch_um() * (1.0 + checked.cell_stretch(target));
    let gap_after = clearance_of_quarter_points(&curve_points(&along), stretched_pitch, checked.width_um())
        .map_err(|e| e.to_string())?;
    Ok(Evaluated {
        end,
        layers,
        tension,
        compression,
        allowable_stretch: reached,
        allowable_layer,
        allowable_place,
        loss_rest,
        loss_stretched,
        size_over_cutoff,
        cutoff_words,
        gap_rest: (
            gap.gap_um,
            Place { words: gap_words(&gap).to_owned(), s_um: Some(gap.at.0.s_um), offset_um: None },
        ),
        gap_stretched: (gap_after.gap_um, stretched_gap_place(checked, &gap_after)),
        least_radius_place: least_radius_place(checked),
        height_um: checked.centreline().height_um() + checked.width_um(),
        cell,
    })
}

pub(crate) fn solve(checked: &Checked, stretch: f64, caches: &mut Caches) -> Result<CellSolution, String> {
    let stretch = checked.cell_stretch(stretch);
    let problem = CellProblem { quarter: checked.quarter(), strips: checked.strips(), stretch };
    caches.cell.solve(&problem, None).map_err(|e| e.to_string())
}

/// The end factor when the islands are `stretch` apart.
pub(crate) fn end_at(checked: &Checked, stretch: f64) -> EndFactor {
    let share = checked.cell_stretch(stretch) / checked.quarter().slack();
    end_factor(checked.centreline().ends(), checked.centreline().periods(), share)
}

fn span(layer: &CheckedLayer) -> LayerSpan {
    LayerSpan { left_um: layer.left_um, right_um: layer.right_um }
}

/// Extremes of strain in every judged layer, without the end factor.
fn layer_extremes(checked: &Checked, cell: &CellSolution) -> Result<Vec<Extremes>, String> {
    checked.layers().iter().map(|l| cell.peak_at(span(l)).map_err(|e| e.to_string())).collect()
}

fn governing_tension(checked: &Checked, extremes: &[Extremes], factor: f64) -> Governing {
    let judged = checked
        .layers()
        .iter()
        .zip(extremes)
        .map(|(l, e)| (factor * e.tensile.strain.max(0.0), l.allowable_strain, e.tensile, l));
    most_used(checked, judged).expect("a checked design has at least one layer")
}

fn governing_compression(checked: &Checked, extremes: &[Extremes], factor: f64) -> Option<Governing> {
    let judged = checked.layers().iter().zip(extremes).filter_map(|(l, e)| {
        Some((factor * (-e.compressive.strain).max(0.0), l.allowable_compression?, e.compressive, l))
    });
    most_used(checked, judged)
}

fn most_used<'a>(
    checked: &Checked,
    judged: impl Iterator<Item = (f64, f64, Peak, &'a CheckedLayer)>,
) -> Option<Governing> {
    judged.max_by(|a, b| (a.0 / a.1).total_cmp(&(b.0 / b.1))).map(|(strain, allowable, peak, layer)| {
        Governing {
            strain,
            allowable,
            layer: layer.name.clone(),
            place: places::on_quarter(checked, peak.s_um, Some(peak.offset_um), &layer.name),
        }
    })
}

/// Tension of the layer nearest to its allowable one, over that: 1 where it is reached.
fn use_of_allowable(checked: &Checked, stretch: f64, caches: &mut Caches) -> Result<f64, String> {
    let cell = solve(checked, stretch, caches)?;
    let factor = end_at(checked, stretch).factor;
    let extremes = layer_extremes(checked, &cell)?;
    let used =
        checked.layers().iter().zip(extremes).map(|(l, e)| factor * e.tensile.strain / l.allowable_strain);
    Ok(used.fold(0.0, f64::max))
}

/// Stretch between the islands at which the first layer reaches its allowable strain, on the true curve.
///
/// Bisection guards a secant in ln(use) against ln(stretch), in which the curve is nearly straight.
fn allowable_stretch(checked: &Checked, caches: &mut Caches) -> Result<Option<f64>, String> {
    let straight = checked.quarter().slack() / checked.stretch_ratio();
    let farthest = FARTHEST * (1.0 + straight) - 1.0;
    let target = checked.target_stretch();
    let mut low = (0.0_f64, f64::NEG_INFINITY);
    let mut high = None;
    let mut stretch = target.min(farthest);
    // Widen until the allowable is bracketed.
    while high.is_none() {
        let used = use_of_allowable(checked, stretch, caches)?.max(f64::MIN_POSITIVE).ln();
        if used >= 0.0 {
            high = Some((stretch, used));
        } else if stretch >= farthest {
            return Ok(None);
        } else {
            low = (stretch, used);
            stretch = (1.5 * stretch).max(stretch + 0.25 * straight).min(farthest);
        }
    }
    let Some(mut high) = high else { return Ok(None) };
    for _ in 0..REACHED_STEPS {
        if high.0 - low.0 <= REACHED_TOLERANCE * high.0 {
            break;
        }
        let middle = f64::midpoint(low.0, high.0);
        // At rest nothing is used; the first guess from there is proportional.
        let guess = if low.1.is_finite() {
            let slope = (high.1 - low.1) / (high.0.ln() - low.0.ln());
            (high.0.ln() - high.1 / slope).exp()
        } else {
            high.0 * (-high.1).exp()
        };
        let width = high.0 - low.0;
        let inside = guess > low.0 + 1e-3 * width && guess < high.0 - 1e-9 * width;
        let at = if inside { guess } else { middle };
        let used = use_of_allowable(checked, at, caches)?.max(f64::MIN_POSITIVE).ln();
        if used.abs() < REACHED_TOLERANCE {
            return Ok(Some(at));
        }
        if used >= 0.0 { high = (at, used) } else { low = (at, used) }
    }
    Ok(Some(f64::midpoint(low.0, high.0)))
}

type LossOrWhy = Result<LossResult, String>;

fn losses(checked: &Checked, cell: &CellSolution, caches: &mut Caches) -> (LossOrWhy, LossOrWhy) {
    let none = || Err("the design has no light".to_owned());
    let (Some(light), Some(table)) = (checked.light(), caches.bend_table(checked)) else {
        return (none(), none());
    };
    let table = match table {
        Ok(table) => table,
        Err(error) => return (Err(error.to_string()), Err(error.to_string())),
    };
    let layout = Layout::of(checked, light);
    let judge = |path: &QuarterPath, layout: &Layout| -> LossOrWhy {
        Ok(loss_result(checked, &loss(path, layout, &table)))
    };
    let rest = judge(&QuarterPath::at_rest(checked.quarter()), &layout);
    let (path, opening) = stretched_path(checked.quarter(), cell, layout.bend);
    let stretched = judge(&path, &Layout { bend_opening: opening, ..layout });
    (rest, stretched)
}

/// The core's size over that of the next mode's cutoff, and the words for the place.
pub(crate) fn cutoff(checked: &Checked) -> (f64, String) {
    let Some(light) = checked.light() else { return (0.0, String::new()) };
    let width = light.core.width_um / light.index.next_mode_width_um;
    let height = light.core.height_um / light.index.next_mode_height_um;
    let number = crate::text::number;
    if width >= height {
        (width, format!("core width; the next mode appears at {} µm", number(light.index.next_mode_width_um)))
    } else {
        (
            height,
            format!("core height; the next mode appears at {} µm", number(light.index.next_mode_height_um)),
        )
    }
}

fn gap_words(gap: &Clearance) -> &'static str {
    match gap.kind {
        ClearanceKind::InsideBend => "inside a bend",
        ClearanceKind::BetweenArms => "between arms",
        ClearanceKind::NeighbouringBends => "between neighbouring bends",
        ClearanceKind::AcrossCrossing => "across a crossing",
        ClearanceKind::AtEnd => "between the lead and the first bends",
    }
}

/// The place of a gap that was found on the quarter.
fn stretched_gap_place(checked: &Checked, gap: &Clearance) -> Place {
    let s_um = gap.at.0.s_um.clamp(0.0, checked.quarter().length_um());
    Place { words: gap_words(gap).to_owned(), ..places::on_quarter(checked, s_um, None, "") }
}

fn least_radius_place(checked: &Checked) -> Place {
    let line = checked.centreline();
    match line.end_bend() {
        Some(bend)
            if line.ends() == Ends::Midline && bend.radius_um < checked.quarter().least_radius_um() =>
        {
            places::end_bend(checked)
        }
        _ => places::on_quarter(checked, checked.quarter().length_um(), None, ""),
    }
}
