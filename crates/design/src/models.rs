//! Results of the single mechanical models: plain data, as `ogee check --json` prints them.

use crate::result::Place;
use schemars::JsonSchema;
use serde::Serialize;

/// A mechanical model of the stretched ribbon.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ModelName {
    /// One period of an endless ribbon, in its plane.
    Cell,
    /// The whole ribbon between its islands, in its plane.
    Ribbon,
    /// The whole ribbon, out of its plane.
    Spatial,
    /// The ribbon on or in an elastomer.
    Bonded,
}

impl ModelName {
    /// The model as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Cell => "periodic cell",
            Self::Ribbon => "whole ribbon in plane",
            Self::Spatial => "buckled ribbon",
            Self::Bonded => "bonded ribbon",
        }
    }
}

/// Which model the margins of strain rest on.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Governing {
    /// The model.
    pub model: ModelName,
    /// Why it is this one, in words.
    pub words: String,
    /// Peak tensile strain of the most used layer by this model over that of the live estimate, minus 1, %;
    /// `null` in the live tier.
    pub live_difference_percent: Option<f64>,
}

/// What every model tells about the ribbon at its target stretch.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct ModelResult {
    /// The model in words.
    pub model: String,
    /// Peak tensile strain over the whole section, %.
    pub peak_tensile_strain_percent: f64,
    /// Peak compressive strain over the whole section, % (positive).
    pub peak_compressive_strain_percent: f64,
    /// Where the peak tensile strain is.
    pub peak_place: Place,
    /// Force along the span on the far island, µN.
    pub force_un: f64,
    /// Estimated relative error of the peak by discretisation.
    pub error_estimate: f64,
    /// Newton iterations.
    pub iterations: u32,
    /// Whether the ribbon is within the model's range.
    pub is_valid: bool,
    /// Where the model stops holding for this ribbon; empty where nothing is near.
    pub validity: Vec<String>,
}

/// The whole ribbon in its plane.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RibbonResult {
    /// What every model tells.
    #[serde(flatten)]
    pub common: ModelResult,
    /// Its peak tensile strain over that of the periodic cell without end factor, dimensionless.
    pub peak_over_cell: f64,
    /// Force across the span on the far island, µN.
    pub sideways_force_un: f64,
    /// Moments in the ribbon at the near and the far island, µN·µm, positive where they increase the curvature.
    pub end_moments_un_um: [f64; 2],
    /// Elastic energy, µN·µm.
    pub energy_un_um: f64,
    /// Whether the state is stable within the plane.
    pub is_stable: bool,
}

/// Out of the plane: whether and when the ribbon leaves it, and what becomes of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SpatialResult {
    /// Stretch at which it leaves the plane, %; `null` where it does not up to `searched_to_percent`.
    pub onset_percent: Option<f64>,
    /// Symmetry of the deflection at the onset about the ribbon's middle: `even`, `odd` or `mixed`.
    pub onset_symmetry: Option<String>,
    /// Stretch of the next mode, %.
    pub next_onset_percent: Option<f64>,
    /// Far end of the search, %.
    pub searched_to_percent: f64,
    /// The buckled ribbon at the target stretch; `null` where it is flat there.
    pub buckled: Option<BuckledResult>,
    /// Why there is no buckled state although the ribbon leaves its plane; absent where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trouble: Option<String>,
}

/// The buckled ribbon at the target stretch.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BuckledResult {
    /// What every model tells.
    #[serde(flatten)]
    pub common: ModelResult,
    /// Upper bound of the peak tensile strain: corner strain with the full shear of torsion, %.
    pub upper_bound_percent: f64,
    /// The same peak by the plain rod law, %; half the difference is the model's error. `null` where not found.
    pub plain_rod_percent: Option<f64>,
    /// Symmetry of the deflection about the ribbon's middle: `even`, `odd` or `mixed`.
    pub symmetry: String,
    /// Elastic energy, µN·µm.
    pub energy_un_um: f64,
    /// Greatest height of the ribbon over its plane, top face included, µm.
    pub above_um: f64,
    /// Greatest depth of the ribbon under its plane, bottom face included, µm (positive).
    pub below_um: f64,
    /// Greatest twist, 1/µm.
    pub largest_twist_per_um: f64,
    /// Greatest curvature out of the plane, 1/µm.
    pub largest_curvature_out_per_um: f64,
    /// w² κ/t of that curvature, dimensionless: the ribbon law holds up to about 10.
    pub beta: f64,
    /// Other stable states found at the same stretch, by rising energy; mirror images count once.
    pub other_states: Vec<OtherState>,
    /// Least and greatest peak tensile strain over all stable states found, %.
    pub peak_spread_percent: [f64; 2],
    /// Whether the state reported is the one of least energy among those found.
    pub is_lowest: bool,
}

/// Another stable state.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OtherState {
    /// Symmetry of its deflection.
    pub symmetry: String,
    /// Its energy over that of the state reported, dimensionless.
    pub energy_ratio: f64,
    /// Its peak tensile strain, %.
    pub peak_tensile_strain_percent: f64,
}

/// The ribbon on or in an elastomer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BondedResult {
    /// What every model tells.
    #[serde(flatten)]
    pub common: ModelResult,
    /// Stiffness of the foundation, MPa: force per length and displacement.
    pub foundation_mpa: f64,
    /// How that stiffness was estimated.
    pub closure: String,
    /// Stiffness over the ribbon's own, k P⁴/EI, dimensionless: below 50 it plays no part.
    pub stiffness_ratio: f64,
    /// Peak tensile strain of the same cell without elastomer, %.
    pub freestanding_percent: f64,
    /// Peak tensile strain of a ribbon that follows the elastomer entirely, %.
    pub following_percent: f64,
    /// Largest distance between the ribbon and where the elastomer alone would be, µm.
    pub largest_slip_um: f64,
    /// Shear strain of the elastomer under the ribbon's edge by that distance, %: an indicator of peeling, no limit.
    pub edge_shear_percent: f64,
    /// Largest force per length that the bond carries, µN/µm: an indicator of peeling.
    pub bond_force_un_per_um: f64,
    /// Stretch at which the ribbon leaves the plane against the elastomer, %; `null` where it does not in the range
    /// searched.
    pub onset_percent: Option<f64>,
    /// Compressive strain at which a film of this stiffness wrinkles, %; `null` where the estimate does not apply.
    pub wrinkling_strain_percent: Option<f64>,
    /// Wavelength of such wrinkles, µm.
    pub wrinkle_length_um: Option<f64>,
}
