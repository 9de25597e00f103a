//! What the margins of one design are made of: its figures, and the words and places that go with them.

use crate::caches::Caches;
use crate::checked::Checked;
use crate::document::SupportName;
use crate::figures::{Figures, Layers, Variant};
use crate::full::Bed;
use crate::light::{Loss, loss_result};
use crate::places;
use crate::result::{LossResult, Place};
use crate::state::curve_points;
use ogee_geometry::{Clearance, ClearanceKind, Ends, clearance_of_quarter_points};
use ogee_mechanics::{
    BondedProblem, CellProblem, CellSolution, EndFactor, Extremes, LayerSpan, Peak, end_factor,
};
use ogee_optics::BendTable;
use std::sync::Arc;

/// Points of the quarter from which the place of the stretched gap is read.
const GAP_POINTS: usize = 48;

/// The figures that margins are made of.
#[derive(Clone, Debug)]
pub(crate) struct Evaluated {
    pub(crate) figures: Figures,
    /// Stretch between the islands at which a layer reaches its allowable strain, where that is in reach.
    pub(crate) allowable_stretch: Option<f64>,
    /// Why there is no loss; `None` where there is one, or no light.
    pub(crate) no_loss: Option<String>,
    pub(crate) gap_rest_um: f64,
    /// Factor for the clamped ends, that for the elastomer included.
    pub(crate) end: EndFactor,
    /// Factor for the elastomer alone, 1 for a free ribbon.
    pub(crate) bed: f64,
    /// What a deeper model than the cell found, where one was run.
    pub(crate) deeper: Option<Deeper>,
}

/// What the margins need to know of the model that replaced the cell.
#[derive(Clone, Debug)]
pub(crate) struct Deeper {
    /// The model in words.
    pub(crate) model: String,
    /// Where its equations come from.
    pub(crate) source: &'static str,
    /// Greatest height over the plane and depth below it, faces included, µm.
    pub(crate) heights_um: Option<[f64; 2]>,
    /// Far end of the stretches that were solved, dimensionless.
    pub(crate) searched_to: f64,
    /// The model of the loss, in words.
    pub(crate) loss_model: Option<&'static str>,
    /// Whether that loss has been corrected by the true cross-section.
    pub(crate) is_loss_corrected: bool,
}

/// Words and places for the margins of one design; empty where only the figures are wanted.
#[derive(Clone, Debug, Default)]
pub(crate) struct Words {
    pub(crate) tension: Place,
    pub(crate) compression: Place,
    pub(crate) allowable: Place,
    /// Number of the layer that reaches its allowable strain first.
    pub(crate) allowable_layer: Option<usize>,
    pub(crate) loss_rest: Place,
    pub(crate) loss_stretched: Place,
    pub(crate) gap_rest: Place,
    pub(crate) gap_stretched: Place,
    pub(crate) least_radius: Place,
}

impl Evaluated {
    /// Which model gave the strain.
    pub(crate) fn strain_model(&self) -> String {
        if let Some(deeper) = &self.deeper {
            deeper.model.clone()
        } else if self.end.factor == 1.0 {
            "planar periodic cell, large stretch".to_owned()
        } else {
            let digits = |factor: f64| crate::text::digits(factor, 3);
            let ends = self.end.factor / self.bed;
            let part = |factor: f64, what: &str| {
                if factor == 1.0 { String::new() } else { format!(", × {} for {what}", digits(factor)) }
            };
            let (ends, bed) = (part(ends, "the clamped ends"), part(self.bed, "the elastomer"));
            format!("planar periodic cell, large stretch{ends}{bed}")
        }
    }

    pub(crate) fn loss_rest(&self) -> Option<&Loss> {
        self.figures.losses.as_ref().map(|l| &l.rest)
    }

    pub(crate) fn loss_stretched(&self) -> Option<&Loss> {
        self.figures.losses.as_ref().map(|l| &l.stretched)
    }
}

/// Evaluates designs side by side at their target stretches; an error says why one has no equilibrium.
pub(crate) fn evaluate_all(designs: &[&Checked], caches: &mut Caches) -> Vec<Result<Evaluated, String>> {
    let layers: Vec<Layers> =
        designs.iter().map(|c| Layers { bed: bed_factor(c, caches), ..Layers::of(c) }).collect();
    let tables: Vec<Option<Result<Arc<BendTable>, String>>> =
        designs.iter().map(|c| caches.bend_table(c).map(|t| t.map_err(|e| e.to_string()))).collect();
    let variants: Vec<Variant<'_>> = designs
        .iter()
        .zip(&layers)
        .zip(&tables)
        .map(|((checked, layers), table)| {
            let table = table.as_ref().and_then(|t| t.as_ref().ok()).map(AsRef::as_ref);
            Variant::of(checked, layers, table)
        })
        .collect();
    let figures = caches.batch.figures(&variants, true);
    let reached = caches.batch.allowable_stretches(&variants);
    figures
        .into_iter()
        .zip(reached)
        .zip(designs.iter().zip(tables).zip(&layers))
        .map(|((figures, reached), ((checked, table), layers))| {
            let gap = checked.centreline().clearance(checked.width_um()).map_err(|e| e.to_string())?;
            Ok(Evaluated {
                figures: figures?,
                allowable_stretch: reached?,
                no_loss: table.and_then(Result::err),
                gap_rest_um: gap.gap_um,
                end: end_with_bed(checked, layers.bed),
                bed: layers.bed,
                deeper: None,
            })
        })
        .collect()
}

/// Solves the cell of one design for a stretch between the islands.
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

fn end_with_bed(checked: &Checked, bed: f64) -> EndFactor {
    let end = end_at(checked, checked.target_stretch());
    EndFactor { factor: end.factor * bed, ..end }
}

/// How much the elastomer raises the peak strain of the periodic cell at the target stretch; 1 for a free ribbon and where
/// the bonded cell has no equilibrium, which the full tier then tells.
pub(crate) fn bed_factor(checked: &Checked, caches: &mut Caches) -> f64 {
    if checked.design().support.kind != SupportName::Bonded {
        return 1.0;
    }
    let Ok(bed) = Bed::of(checked, checked.quarter().pitch_um()) else { return 1.0 };
    let problem = BondedProblem {
        quarter: checked.quarter(),
        strips: checked.strips(),
        foundation_mpa: bed.stiffness.in_plane_mpa,
        substrate_poisson: bed.elastomer.poisson_ratio,
        stretch: checked.cell_stretch(checked.target_stretch()),
    };
    match caches.bonded.solve(&problem, None) {
        Ok(solution) => match solution.freestanding_peak_strain {
            Some(free) if free != 0.0 => (solution.peak.strain / free).abs().max(1.0),
            _ => 1.0,
        },
        Err(_) => 1.0,
    }
}

/// Extremes of strain in every judged layer, without the end factor.
pub(crate) fn layer_extremes(checked: &Checked, cell: &CellSolution) -> Result<Vec<Extremes>, String> {
    checked
        .layers()
        .iter()
        .map(|l| {
            cell.peak_at(LayerSpan { left_um: l.left_um, right_um: l.right_um }).map_err(|e| e.to_string())
        })
        .collect()
}

/// The words and places of one design, from its solved cell.
pub(crate) fn words(
    checked: &Checked,
    evaluated: &Evaluated,
    cell: &CellSolution,
    extremes: &[Extremes],
    caches: &mut Caches,
) -> Result<Words, String> {
    let place = |peak: &Peak, layer: usize| {
        let name = checked.layers().get(layer).map_or("", |l| l.name.as_str());
        places::on_quarter(checked, peak.s_um, Some(peak.offset_um), name)
    };
    let tension_layer = evaluated.figures.strain.used.1;
    let compression = evaluated.figures.strain.compressed.map(|(_, layer)| layer);
    let (allowable, allowable_layer) = match evaluated.allowable_stretch {
        Some(stretch) => {
            let at = layer_extremes(checked, &solve(checked, stretch, caches)?)?;
            let layer = most_used(checked, &at);
            (at.get(layer).map(|e| place(&e.tensile, layer)).unwrap_or_default(), Some(layer))
        }
        None => (Place::default(), None),
    };
    let gap = checked.centreline().clearance(checked.width_um()).map_err(|e| e.to_string())?;
    let pitch_um = checked.quarter().pitch_um() * (1.0 + cell.stretch);
    let points = curve_points(&cell.along(GAP_POINTS));
    let gap_after =
        clearance_of_quarter_points(&points, pitch_um, checked.width_um()).map_err(|e| e.to_string())?;
    let worst = |loss: Option<&Loss>| loss.map(|l| loss_result(checked, l).worst_place).unwrap_or_default();
    Ok(Words {
        tension: extremes.get(tension_layer).map(|e| place(&e.tensile, tension_layer)).unwrap_or_default(),
        compression: compression
            .and_then(|layer| extremes.get(layer).map(|e| place(&e.compressive, layer)))
            .unwrap_or_default(),
        allowable,
        allowable_layer,
        loss_rest: worst(evaluated.loss_rest()),
        loss_stretched: worst(evaluated.loss_stretched()),
        gap_rest: Place { words: gap_words(&gap).to_owned(), s_um: Some(gap.at.0.s_um), offset_um: None },
        gap_stretched: stretched_gap_place(checked, &gap_after),
        least_radius: least_radius_place(checked),
    })
}

/// Number of the layer nearest to its allowable tension.
fn most_used(checked: &Checked, extremes: &[Extremes]) -> usize {
    let share = |i: &usize| extremes[*i].tensile.strain / checked.layers()[*i].allowable_strain;
    // Of equal layers the first, as everywhere.
    (0..extremes.len()).rev().max_by(|a, b| share(a).total_cmp(&share(b))).unwrap_or(0)
}

/// A loss as the result shows it.
pub(crate) fn loss_of(checked: &Checked, loss: Option<&Loss>) -> Option<LossResult> {
    loss.map(|l| loss_result(checked, l))
}

/// The core's size over that at which the next mode appears (the larger of width and height), and the words for it.
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
