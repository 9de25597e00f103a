//! The result of an assessment: plain data, exactly what `ogee check --json` prints.

use crate::models::{BondedResult, Governing, ModelResult, RibbonResult, SpatialResult};
use crate::modes::ModesResult;
use crate::strength::{IslandResult, LifeResult, ThermalResult, TraceResult, WrapResult};
use schemars::JsonSchema;
use serde::Serialize;

/// The `schema` marker of a result.
pub const RESULT_SCHEMA: &str = "ogee-result";
/// The version of the result that this program writes.
pub const RESULT_VERSION: u32 = 1;

/// How deep an assessment goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Tier {
    /// Within a frame: periodic cell, slab and effective-index optics.
    Live,
    /// Whole ribbon, out of the plane, bonded; some tens of milliseconds.
    Full,
}

/// Everything that is known about a design.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Assessment {
    /// Always `ogee-result`.
    pub schema: String,
    /// Version of this structure.
    pub version: u32,
    /// Name of the design.
    pub design: String,
    /// True where the design's data are invented.
    pub invented: bool,
    /// How deep the assessment goes.
    pub tier: Tier,
    /// Whether every margin is at least 1.
    pub passes: bool,
    /// `id` of the smallest margin.
    pub smallest_margin: Option<String>,
    /// All margins, the smallest first.
    pub margins: Vec<Margin>,
    /// The shape at rest and at the target stretch.
    pub shape: ShapeResult,
    /// The section's stiffness.
    pub section: SectionResult,
    /// The mechanics of the stretch.
    pub stretch: StretchResult,
    /// Which model the strain rests on.
    pub governing: Governing,
    /// The periodic cell, without end factor.
    pub cell: ModelResult,
    /// The whole ribbon in its plane; absent in the live tier.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ribbon: Option<RibbonResult>,
    /// The ribbon out of its plane; absent in the live tier and for ribbons that are kept in their plane or bonded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spatial: Option<SpatialResult>,
    /// The ribbon on its elastomer; absent for ribbons that are not bonded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bonded: Option<BondedResult>,
    /// The light; absent for a design without light.
    pub light: Option<LightResult>,
    /// The wrap; absent for a design without `duty.wrap`.
    pub wrap: Option<WrapResult>,
    /// Oven and release; absent for a design without `process`.
    pub thermal: Option<ThermalResult>,
    /// Life; absent for a design without `life`.
    pub life: Option<LifeResult>,
    /// Islands; absent for a design without `islands`.
    pub islands: Option<IslandResult>,
    /// The trace; absent for a design without `trace`.
    pub trace: Option<TraceResult>,
    /// Fields along one period at the target stretch.
    pub along: Along,
    /// What to know when reading the numbers.
    pub notes: Vec<Note>,
}

/// One check, as the ratio of what is allowed to what is there (or the reverse where more is better).
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Margin {
    /// Stable name, such as `strain-at-target`.
    pub id: String,
    /// The name as people read it, such as `Strain at 35 %`.
    pub name: String,
    /// The margin, dimensionless; 1 and more passes. `null` where `why_absent` says why.
    pub margin: Option<f64>,
    /// Why there is no margin.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why_absent: Option<String>,
    /// Whether the check passes.
    pub passes: bool,
    /// The value judged, in `unit`.
    pub value: Option<f64>,
    /// The limit it is judged against, in `unit`.
    pub limit: f64,
    /// Unit of value and limit; empty for plain numbers.
    pub unit: String,
    /// True where the value must not fall below the limit.
    pub more_is_better: bool,
    /// Where on the ribbon.
    pub place: Place,
    /// Which model gave the value.
    pub model: String,
    /// The formula in words.
    pub formula: String,
    /// Where the formula comes from.
    pub source: String,
    /// How the margin answers to changes of the design.
    pub sensitivities: Vec<Sensitivity>,
}

/// A place on the ribbon.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Place {
    /// In words, such as `crests, inner edge, core`.
    pub words: String,
    /// Distance along the ribbon at rest from its start, µm, of the first such place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub s_um: Option<f64>,
    /// Offset from the centreline towards the left edge, µm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset_um: Option<f64>,
}

/// What a margin becomes when one field changes by a tenth.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Sensitivity {
    /// Path of the field.
    pub path: String,
    /// Label of the field.
    pub label: String,
    /// The change, %: −10 or 10.
    pub change_percent: f64,
    /// Change of the margin, %; `null` where the changed design is impossible or the margin is absent.
    pub margin_change_percent: Option<f64>,
}

/// The shape of the ribbon.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ShapeResult {
    /// Contour length from end to end with leads, µm.
    pub contour_length_um: f64,
    /// Contour length of one period, µm.
    pub period_contour_um: f64,
    /// End-to-end length at rest, µm.
    pub span_um: f64,
    /// Height from edge to edge at rest, µm.
    pub height_um: f64,
    /// Slack of the periodic meander: stretch at which it is straight, %.
    pub slack_percent: f64,
    /// Slack of the whole ribbon with its leads, %.
    pub ribbon_slack_percent: f64,
    /// Tilt at the crossing, degrees.
    pub tilt_deg: f64,
    /// Least centreline radius, µm.
    pub least_radius_um: f64,
    /// Half-length of the straight arm, µm; 0 without arms.
    pub arm_half_length_um: f64,
    /// Gap between edges at rest, µm.
    pub gap_rest_um: f64,
    /// Gap between edges at the target stretch, µm; `null` when straight.
    pub gap_stretched_um: Option<f64>,
    /// Amplitude of the stretched ribbon, µm.
    pub stretched_amplitude_um: f64,
}

/// The section's stiffness.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SectionResult {
    /// Axial stiffness EA, µN.
    pub ea_un: f64,
    /// In-plane bending stiffness of the straight section, µN·µm².
    pub ei_in_plane_un_um2: f64,
    /// Out-of-plane bending stiffness (beam), µN·µm².
    pub ei_out_of_plane_un_um2: f64,
    /// Coupling of the two bendings, µN·µm²; zero for a section that is symmetric in its width or its thickness.
    pub ei_coupling_un_um2: f64,
    /// Torsion stiffness; `null` in the live tier.
    pub torsion: Option<TorsionResult>,
    /// Total thickness, µm.
    pub thickness_um: f64,
    /// Height of the neutral plane above the bottom face, µm.
    pub neutral_plane_um: f64,
    /// Offset of the neutral axis from the centreline, towards the left edge, µm.
    pub neutral_axis_offset_um: f64,
    /// Every layer and what it sees.
    pub layers: Vec<LayerResult>,
}

/// The section's stiffness against twist.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TorsionResult {
    /// GJ, µN·µm².
    pub gj_un_um2: f64,
    /// Range in which it is expected, µN·µm².
    pub range_un_um2: [f64; 2],
    /// How it was found.
    pub model: String,
}

/// What one layer sees at the target stretch.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LayerResult {
    /// Name of the layer.
    pub name: String,
    /// Height of its bottom face above the stack's bottom, µm.
    pub bottom_um: f64,
    /// Height of its top face above the stack's bottom, µm.
    pub top_um: f64,
    /// Offset of its right edge, µm.
    pub right_um: f64,
    /// Offset of its left edge, µm.
    pub left_um: f64,
    /// Peak tensile strain at the target stretch, %, end factor included.
    pub peak_tensile_strain_percent: f64,
    /// Peak compressive strain at the target stretch, % (positive), end factor included.
    pub peak_compressive_strain_percent: f64,
    /// Tensile strain that pull and wrap may add, %: the layer's own limit less what the process leaves.
    pub allowable_strain_percent: f64,
    /// Greatest and least strain that the process leaves over the temperatures of use, %; 0 without a process.
    pub residual_strain_percent: [f64; 2],
}

/// The mechanics of the stretch.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StretchResult {
    /// Stretch between the islands, %.
    pub target_percent: f64,
    /// Stretch of the meander itself (leads hardly elongate), %.
    pub cell_stretch_percent: f64,
    /// Factor on the strain of the cell for the clamped ends, dimensionless.
    pub end_factor: f64,
    /// Peak strain at the ribbon's edges with its sign, %, end factor included.
    pub peak_strain_percent: f64,
    /// Peak tensile strain at the ribbon's edges, %, end factor included.
    pub peak_tensile_strain_percent: f64,
    /// Where the peak is.
    pub peak_place: Place,
    /// Peak strain of the linear (small-stretch) theory for comparison, %, end factor included.
    pub linear_peak_strain_percent: f64,
    /// Force at the target stretch, µN.
    pub force_un: f64,
    /// Stretch between the islands at which a layer reaches its allowable strain, %; `null` when beyond the range searched.
    pub allowable_reached_percent: Option<f64>,
    /// Layer that reaches it first.
    pub governing_layer: Option<String>,
    /// Stretch between the islands at which the meander is straight, %.
    pub straight_percent: f64,
    /// Estimated relative error of the peak strain by discretisation.
    pub error_estimate: f64,
    /// Newton iterations.
    pub iterations: u32,
    /// Model.
    pub model: String,
    /// Force and strain against stretch.
    pub curve: Vec<StretchPoint>,
}

/// One point of the force-stretch curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StretchPoint {
    /// Stretch between the islands, %.
    pub stretch_percent: f64,
    /// Force, µN.
    pub force_un: f64,
    /// Peak tensile strain at the ribbon's edges, %, end factor included.
    pub peak_tensile_strain_percent: f64,
}

/// The light in the ribbon.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LightResult {
    /// Effective index of the fundamental mode.
    pub effective_index: f64,
    /// Number of guided modes of both polarisations by the effective-index method, which tends to count too many.
    pub mode_count: u32,
    /// Lower bound of that number.
    pub least_mode_count: u32,
    /// Whether there is one mode per polarisation.
    pub single_mode: bool,
    /// Core width at which one more mode appears, µm.
    pub next_mode_width_um: f64,
    /// Core height at which one more mode appears, µm.
    pub next_mode_height_um: f64,
    /// Loss at rest; `null` where the tier gives none (a note says why).
    pub rest: Option<LossResult>,
    /// Loss at the target stretch.
    pub stretched: Option<LossResult>,
    /// Loss against radius.
    pub bend_table: Vec<BendPoint>,
    /// Modes of the true cross-section; `null` in the live tier.
    pub modes: Option<ModesResult>,
    /// Model.
    pub model: String,
}

/// Loss of the whole ribbon by cause.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LossResult {
    /// All causes, dB.
    pub total_db: f64,
    /// Radiation in bends, dB.
    pub bend_db: f64,
    /// Jumps of curvature, dB.
    pub transition_db: f64,
    /// Scattering and absorption by length, dB.
    pub propagation_db: f64,
    /// Both ends, dB.
    pub end_db: f64,
    /// Radius at the worst place, µm.
    pub worst_radius_um: Option<f64>,
    /// The worst place.
    pub worst_place: Place,
}

/// One point of loss against radius.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BendPoint {
    /// Radius to the middle of the core, µm.
    pub radius_um: f64,
    /// Loss of a quarter turn, dB.
    pub loss_db_per_90deg: f64,
}

/// Fields along one full period from crossing to crossing; all lists have the same length.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Along {
    /// Distance along the centreline at rest, µm.
    pub s_um: Vec<f64>,
    /// Position at rest, µm.
    pub rest_x_um: Vec<f64>,
    /// Position at rest, µm.
    pub rest_y_um: Vec<f64>,
    /// Position at the target stretch, µm.
    pub x_um: Vec<f64>,
    /// Position at the target stretch, µm.
    pub y_um: Vec<f64>,
    /// Curvature at rest, 1/µm, counter-clockwise positive.
    pub rest_curvature_per_um: Vec<f64>,
    /// Curvature at the target stretch per rest length, 1/µm.
    pub curvature_per_um: Vec<f64>,
    /// Strain of the left edge, % (cell, without end factor).
    pub left_strain_percent: Vec<f64>,
    /// Strain of the right edge, % (cell, without end factor).
    pub right_strain_percent: Vec<f64>,
    /// Strain of the centreline, %.
    pub axial_strain_percent: Vec<f64>,
    /// Bend and propagation loss at rest, dB/cm; empty without light.
    pub rest_loss_db_per_cm: Vec<f64>,
    /// Bend and propagation loss at the target stretch, dB/cm; empty without light.
    pub loss_db_per_cm: Vec<f64>,
}

/// How serious a note is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Good to know.
    Info,
    /// A model is near its limit, or an estimate.
    Caution,
    /// A model does not hold here.
    Warning,
}

/// A remark on validity, or a caution.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Note {
    /// Stable name.
    pub code: String,
    /// How serious it is.
    pub severity: Severity,
    /// Field or result it is about.
    pub path: String,
    /// One or two sentences.
    pub message: String,
}
