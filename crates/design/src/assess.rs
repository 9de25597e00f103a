//! The assessment: every figure of a design, its margins, what they answer to, and what to know about them.

use crate::caches::Caches;
use crate::checked::Checked;
use crate::document::{Design, FamilyName};
use crate::evaluate::{Evaluated, Words, evaluate_all, layer_extremes, loss_of, solve, words};
use crate::fields::field_at;
use crate::figures::{Layers, Variant};
use crate::full::assess_full;
use crate::light::loss_density_db_per_cm;
use crate::margin::margins;
use crate::models::{Governing, ModelName, ModelResult};
use crate::notes::notes;
use crate::places;
use crate::result::{
    Along, Assessment, BendPoint, LayerResult, LightResult, Margin, RESULT_SCHEMA, RESULT_VERSION,
    SectionResult, Sensitivity, ShapeResult, StretchPoint, StretchResult, Tier,
};
use crate::state::{RibbonPoint, period_state};
use crate::strength::{Pull, Strength};
use ogee_mechanics::{CellSolution, Extremes, LayerSpan};

/// Change of a field for the sensitivities, %.
pub(crate) const CHANGE_PERCENT: f64 = 10.0;
/// Points of the force-stretch curve.
const CURVE_POINTS: usize = 24;
/// Points of the loss-against-radius table in the result.
const BEND_POINTS: usize = 24;

/// Assesses a checked design. Pure and deterministic; `caches` only saves time.
///
/// `None` when `keep_going` said stop.
///
/// # Errors
/// A sentence that says why there is no equilibrium at the target stretch.
pub fn assess(
    checked: &Checked,
    tier: Tier,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Assessment>, String> {
    match tier {
        Tier::Live => assess_live(checked, caches, keep_going),
        Tier::Full => Ok(assess_full(checked, caches, keep_going)?.map(|full| full.assessment)),
    }
}

/// The live tier.
fn assess_live(
    checked: &Checked,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Assessment>, String> {
    Ok(live_parts(checked, caches, keep_going)?.map(|parts| parts.assessment))
}

/// A live assessment and what it was made of.
pub(crate) struct LiveParts {
    /// The designs with one field changed by a tenth.
    pub(crate) changes: Vec<Change>,
    pub(crate) assessment: Assessment,
    pub(crate) evaluated: Evaluated,
    pub(crate) words: Words,
}

/// The live tier with its parts, for the tier that builds on it.
pub(crate) fn live_parts(
    checked: &Checked,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<LiveParts>, String> {
    let changed = changed_designs(checked);
    let designs: Vec<&Checked> =
        std::iter::once(checked).chain(changed.iter().filter_map(|c| c.checked.as_ref())).collect();
    let mut results = evaluate_all(&designs, caches).into_iter();
    let evaluated = results.next().expect("as many results as designs")?;
    if !keep_going() {
        return Ok(None);
    }
    let cell = solve(checked, checked.target_stretch(), caches)?;
    let extremes = layer_extremes(checked, &cell)?;
    let words = words(checked, &evaluated, &cell, &extremes, caches)?;
    let mut list = margins(checked, &evaluated, &words);
    let peaks = layer_peaks(&extremes, evaluated.end.factor);
    let ranges: Vec<[f64; 2]> = peaks.iter().map(|(tension, compression)| [*tension, -compression]).collect();
    let found = Strength::of(checked, &ranges, &mut Pull::Live(caches));
    for change in &changed {
        let after = match &change.checked {
            Some(c) => results.next().and_then(Result::ok).map(|e| margins(c, &e, &Words::default())),
            None => None,
        };
        add_sensitivity(&mut list, change, &after.unwrap_or_default());
    }
    list.extend(found.margins(checked));
    if !keep_going() {
        return Ok(None);
    }
    let mut assessment = Assessment {
        schema: RESULT_SCHEMA.to_owned(),
        version: RESULT_VERSION,
        design: checked.design().name.clone(),
        invented: checked.design().invented,
        tier: Tier::Live,
        passes: false,
        smallest_margin: None,
        shape: shape_result(checked, &evaluated, &cell),
        section: section_result(checked, &evaluated, &extremes),
        stretch: stretch_result(checked, &evaluated, &words, &cell, caches)?,
        governing: Governing {
            model: ModelName::Cell,
            words: if evaluated.bed == 1.0 {
                "live estimate: periodic cell in its plane with a factor for the clamped ends".to_owned()
            } else {
                "live estimate: periodic cell in its plane with factors for the clamped ends and the elastomer"
                    .to_owned()
            },
            live_difference_percent: None,
        },
        cell: cell_result(checked, &cell)?,
        ribbon: None,
        spatial: None,
        bonded: None,
        light: light_result(checked, &evaluated, caches),
        notes: notes(checked, &evaluated, &cell, &peaks).into_iter().chain(found.notes(checked)).collect(),
        wrap: found.wrap,
        thermal: found.thermal,
        life: found.life,
        islands: found.islands,
        trace: found.trace,
        margins: list,
        along: along(checked, caches)?,
    };
    judge(&mut assessment);
    Ok(Some(LiveParts { changes: changed, assessment, evaluated, words }))
}

/// Peak tension and compression of every judged layer, end factor included.
pub(crate) fn layer_peaks(extremes: &[Extremes], factor: f64) -> Vec<(f64, f64)> {
    extremes
        .iter()
        .map(|e| (factor * e.tensile.strain.max(0.0), factor * (-e.compressive.strain).max(0.0)))
        .collect()
}

/// Puts the margins in order and draws the verdict from them.
pub(crate) fn judge(assessment: &mut Assessment) {
    // Absent margins that fail come first, then by size; the order of the checks settles ties.
    assessment.margins.sort_by(|a, b| sort_key(a).total_cmp(&sort_key(b)));
    assessment.passes = assessment.margins.iter().all(|m| m.passes);
    assessment.smallest_margin = assessment.margins.iter().find(|m| m.margin.is_some()).map(|m| m.id.clone());
}

fn sort_key(margin: &Margin) -> f64 {
    match margin.margin {
        Some(m) => m,
        None if margin.passes => f64::MAX,
        None => -1.0,
    }
}

/// Fields whose change is worth knowing for every margin.
fn levers(design: &Design) -> Vec<&'static str> {
    let mut paths = vec!["shape.width_um", "shape.amplitude_um", "shape.pitch_um"];
    match design.shape.family {
        FamilyName::ArcAndArm if design.shape.radius_um.is_some() => paths.push("shape.radius_um"),
        FamilyName::ArcAndArm => paths.push("shape.tilt_deg"),
        FamilyName::Clothoid => paths.push("shape.plateau_share"),
        FamilyName::Sine | FamilyName::Arc | FamilyName::SineGenerated => {}
    }
    paths
}

/// A design with one lever changed by a tenth.
pub(crate) struct Change {
    pub(crate) path: String,
    pub(crate) label: String,
    pub(crate) percent: f64,
    /// Absent where the changed design is impossible.
    pub(crate) checked: Option<Checked>,
}

/// Each lever a tenth down and up.
fn changed_designs(checked: &Checked) -> Vec<Change> {
    let mut changes = Vec::new();
    for path in levers(checked.design()) {
        let (Some(value), Some(field)) = (checked.design().number(path), field_at(path)) else { continue };
        for percent in [-CHANGE_PERCENT, CHANGE_PERCENT] {
            let factor = 1.0 + percent / 100.0;
            let mut changed = Design::clone(checked.design());
            changed.set_number(path, value * factor);
            if path == "shape.width_um" {
                carry_full_width_layers(&mut changed, value, factor);
            }
            changes.push(Change {
                path: path.to_owned(),
                label: field.label.to_owned(),
                percent,
                checked: changed.check().ok(),
            });
        }
    }
    changes
}

/// Adds what each margin of `list` becomes by one change, from the margins `after` it.
pub(crate) fn add_sensitivity(list: &mut [Margin], change: &Change, after: &[Margin]) {
    for margin in list {
        let new = after.iter().find(|m| m.id == margin.id).and_then(|m| m.margin);
        let margin_change_percent = match (margin.margin, new) {
            (Some(old), Some(new)) if old > 0.0 => Some(100.0 * (new / old - 1.0)),
            _ => None,
        };
        margin.sensitivities.push(Sensitivity {
            path: change.path.clone(),
            label: change.label.clone(),
            change_percent: change.percent,
            margin_change_percent,
        });
    }
}

/// A layer that was given the ribbon's own width goes on filling it.
fn carry_full_width_layers(design: &mut Design, old_width_um: f64, factor: f64) {
    for layer in &mut design.stack.layers {
        if let Some(width) = &mut layer.width_um
            && (*width - old_width_um).abs() <= 1e-9 * old_width_um
        {
            *width *= factor;
        }
    }
}

fn shape_result(checked: &Checked, evaluated: &Evaluated, cell: &CellSolution) -> ShapeResult {
    let line = checked.centreline();
    let quarter = checked.quarter();
    ShapeResult {
        contour_length_um: line.contour_length_um(),
        period_contour_um: 4.0 * quarter.length_um(),
        span_um: line.span_um(),
        height_um: line.height_um() + checked.width_um(),
        slack_percent: 100.0 * quarter.slack(),
        ribbon_slack_percent: 100.0 * line.slack(),
        tilt_deg: quarter.tilt_rad().to_degrees(),
        least_radius_um: line.least_radius_um(),
        arm_half_length_um: quarter.arm_half_length_um(),
        gap_rest_um: evaluated.gap_rest_um,
        gap_stretched_um: evaluated.figures.gap_stretched_um,
        stretched_amplitude_um: cell.stretched_amplitude_um,
    }
}

fn section_result(checked: &Checked, evaluated: &Evaluated, extremes: &[Extremes]) -> SectionResult {
    let section = checked.section();
    let factor = evaluated.end.factor;
    SectionResult {
        ea_un: section.ea_un(),
        ei_in_plane_un_um2: section.ei_in_plane_un_um2(),
        ei_out_of_plane_un_um2: section.ei_out_of_plane_un_um2(),
        ei_coupling_un_um2: section.ei_coupling_un_um2(),
        torsion: None,
        thickness_um: section.thickness_um(),
        neutral_plane_um: section.neutral_plane_um(),
        neutral_axis_offset_um: section.neutral_axis_y_um(),
        layers: checked
            .layers()
            .iter()
            .zip(extremes)
            .map(|(layer, e)| LayerResult {
                name: layer.name.clone(),
                bottom_um: layer.bottom_um,
                top_um: layer.top_um,
                right_um: layer.right_um,
                left_um: layer.left_um,
                peak_tensile_strain_percent: 100.0 * factor * e.tensile.strain.max(0.0),
                peak_compressive_strain_percent: 100.0 * factor * (-e.compressive.strain).max(0.0),
                allowable_strain_percent: 100.0 * layer.allowable_strain,
                residual_strain_percent: layer.residual.map(|r| 100.0 * r),
            })
            .collect(),
    }
}

/// The cell as it is, without end factor.
fn cell_result(checked: &Checked, cell: &CellSolution) -> Result<ModelResult, String> {
    let edges = LayerSpan::centred(checked.width_um());
    let extremes = cell.peak_at(edges).map_err(|e| e.to_string())?;
    let tensile = extremes.tensile;
    let mut validity = Vec::new();
    if !cell.is_stable {
        validity.push("the state is not stable within one period".to_owned());
    }
    Ok(ModelResult {
        model: "planar periodic cell, large stretch".to_owned(),
        peak_tensile_strain_percent: 100.0 * tensile.strain.max(0.0),
        peak_compressive_strain_percent: 100.0 * (-extremes.compressive.strain).max(0.0),
        peak_place: places::on_quarter(checked, tensile.s_um, Some(tensile.offset_um), ""),
        force_un: cell.force_un(),
        error_estimate: cell.error_estimate,
        iterations: cell.iterations,
        is_valid: cell.is_stable,
        validity,
    })
}

fn stretch_result(
    checked: &Checked,
    evaluated: &Evaluated,
    words: &Words,
    cell: &CellSolution,
    caches: &mut Caches,
) -> Result<StretchResult, String> {
    let factor = evaluated.end.factor;
    let edges = LayerSpan::centred(checked.width_um());
    let extremes = cell.peak_at(edges).map_err(|e| e.to_string())?;
    let largest = extremes.largest();
    let straight = checked.quarter().slack() / checked.stretch_ratio();
    let last = (1.25 * checked.target_stretch())
        .max(1.05 * straight)
        .max(evaluated.allowable_stretch.unwrap_or(0.0));
    let stretches: Vec<f64> = (0..=CURVE_POINTS).map(|i| last * i as f64 / CURVE_POINTS as f64).collect();
    let layers = Layers { bed: evaluated.bed, ..Layers::of(checked) };
    let solved = caches.batch.curve(&Variant::of(checked, &layers, None), &stretches)?;
    let pitch_um = checked.quarter().pitch_um();
    let force_unit_un = checked.strips().ei_un_um2() / (pitch_um * pitch_um);
    let curve = stretches
        .iter()
        .zip(solved)
        .map(|(stretch, (force, tension))| StretchPoint {
            stretch_percent: 100.0 * stretch,
            force_un: force * force_unit_un,
            peak_tensile_strain_percent: 100.0 * tension,
        })
        .collect();
    let governing_layer = words.allowable_layer.and_then(|i| checked.layers().get(i)).map(|l| l.name.clone());
    Ok(StretchResult {
        target_percent: 100.0 * checked.target_stretch(),
        cell_stretch_percent: 100.0 * cell.stretch,
        end_factor: factor,
        peak_strain_percent: 100.0 * factor * largest.strain,
        peak_tensile_strain_percent: 100.0 * factor * extremes.tensile.strain.max(0.0),
        peak_place: places::on_quarter(checked, largest.s_um, Some(largest.offset_um), ""),
        linear_peak_strain_percent: 100.0 * factor * cell.linear_peak_strain,
        force_un: cell.force_un(),
        allowable_reached_percent: evaluated.allowable_stretch.map(|s| 100.0 * s),
        governing_layer,
        straight_percent: 100.0 * straight,
        error_estimate: cell.error_estimate,
        iterations: cell.iterations,
        model: evaluated.strain_model(),
        curve,
    })
}

fn light_result(checked: &Checked, evaluated: &Evaluated, caches: &mut Caches) -> Option<LightResult> {
    let light = checked.light()?;
    let bend_table = match caches.bend_table(checked) {
        Some(Ok(table)) => {
            let (from, to) = (table.least_radius_um(), table.greatest_radius_um());
            (0..BEND_POINTS)
                .map(|i| {
                    let radius_um = from * (to / from).powf(i as f64 / (BEND_POINTS - 1) as f64);
                    BendPoint { radius_um, loss_db_per_90deg: table.loss_db_per_90deg(1.0 / radius_um) }
                })
                .collect()
        }
        _ => Vec::new(),
    };
    Some(LightResult {
        effective_index: light.index.n_eff,
        mode_count: light.index.mode_count as u32,
        least_mode_count: light.index.least_mode_count as u32,
        single_mode: light.index.single_mode,
        next_mode_width_um: light.index.next_mode_width_um,
        next_mode_height_um: light.index.next_mode_height_um,
        rest: loss_of(checked, evaluated.loss_rest()),
        stretched: loss_of(checked, evaluated.loss_stretched()),
        bend_table,
        modes: None,
        model: "effective-index slab; bent modes of that slab; overlap at curvature jumps (estimate)"
            .to_owned(),
    })
}

fn along(checked: &Checked, caches: &mut Caches) -> Result<Along, String> {
    let rest = period_state(checked, 0.0, caches)?;
    let stretched = period_state(checked, checked.target_stretch(), caches)?;
    let column =
        |points: &[RibbonPoint], f: &dyn Fn(&RibbonPoint) -> f64| points.iter().map(f).collect::<Vec<_>>();
    let has_light = checked.light().is_some();
    let p = &stretched.period;
    Ok(Along {
        s_um: column(p, &|p| p.s_um),
        rest_x_um: column(&rest.period, &|p| p.x_um),
        rest_y_um: column(&rest.period, &|p| p.y_um),
        x_um: column(p, &|p| p.x_um),
        y_um: column(p, &|p| p.y_um),
        rest_curvature_per_um: column(p, &|p| p.kappa_rest_per_um),
        curvature_per_um: column(p, &|p| p.kappa_per_um),
        left_strain_percent: column(p, &|p| 100.0 * p.left_strain),
        right_strain_percent: column(p, &|p| 100.0 * p.right_strain),
        axial_strain_percent: column(p, &|p| 100.0 * p.axial_strain),
        rest_loss_db_per_cm: if has_light {
            column(&rest.period, &|p| loss_density_db_per_cm(checked, caches, p.kappa_rest_per_um))
        } else {
            Vec::new()
        },
        loss_db_per_cm: if has_light { column(p, &|p| p.loss_db_per_cm) } else { Vec::new() },
    })
}
