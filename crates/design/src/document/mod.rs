//! The design document: plain data, exactly what a `.ogee.json` file holds.

mod islands;
mod life;
mod process;
mod strength;
mod trace;
mod wrap;

pub use islands::{GratingData, Islands};
pub use life::{CycleBlock, Life};
pub use process::{Handle, Process, ProcessStep, StepName};
pub use strength::{Brittle, FoilData, StrainLifeData};
pub use trace::Trace;
pub use wrap::{FaceName, WrapDuty};

use crate::library::{Material, MaterialClass, find_material};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The `schema` marker of a design file.
pub const DESIGN_SCHEMA: &str = "ogee-design";
/// The version of the design file that this program writes.
pub const DESIGN_VERSION: u32 = 1;

/// A ribbon design: its shape, its layers, the light in it, what it must do and what limits it.
///
/// Plain data without invariants; [`Design::check`](crate::Design::check) turns it into checked domain types.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Design {
    /// Always `ogee-design`.
    pub schema: String,
    /// File version; this program reads and writes version 1.
    pub version: u32,
    /// Name of the design, shown in titles and tables.
    pub name: String,
    /// Free text: what the ribbon is for, where its data come from.
    #[serde(default)]
    pub notes: String,
    /// True where the data are invented for demonstration and describe no real part or material.
    #[serde(default)]
    pub invented: bool,
    /// The meander in the plane.
    pub shape: Shape,
    /// The layers, bottom to top.
    pub stack: Stack,
    /// Own materials, in the form of the library; they go before those of the library with the same id.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub materials: Vec<Material>,
    /// How the ribbon is held between its islands; free where absent.
    #[serde(default, skip_serializing_if = "Support::is_default")]
    pub support: Support,
    /// The guided light; absent for a ribbon that carries none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<Light>,
    /// The trace; absent for a ribbon that carries no current.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trace: Option<Trace>,
    /// How the ribbon is made and at which temperatures it is used; residual strain is not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub process: Option<Process>,
    /// The stiff islands and their sheet; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub islands: Option<Islands>,
    /// What the ribbon must do.
    pub duty: Duty,
    /// How long it must last; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub life: Option<Life>,
    /// What it must keep to.
    pub limits: Limits,
    /// Window of the amplitude × pitch maps; chosen around the design where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub map: Option<MapWindow>,
}

/// Name of a meander family.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FamilyName {
    /// `y = A sin(2πx/P)`.
    Sine,
    /// One circular arc from crossing to crossing.
    Arc,
    /// Straight arms joined by arcs; hairpins and filleted zigzags are settings of it.
    ArcAndArm,
    /// `φ(s) = θ cos(πs/2Q)`: curvature without jumps.
    SineGenerated,
    /// Curvature that rises linearly from the crossing, then stays.
    Clothoid,
}

impl FamilyName {
    /// All families, in the order in which they are listed.
    pub const ALL: [Self; 5] = [Self::Sine, Self::Arc, Self::ArcAndArm, Self::SineGenerated, Self::Clothoid];

    /// The name as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Sine => "sine",
            Self::Arc => "arc",
            Self::ArcAndArm => "arc and arm",
            Self::SineGenerated => "sine-generated",
            Self::Clothoid => "clothoid",
        }
    }
}

/// How the ribbon begins and ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EndsName {
    /// On an upper crest, leads along the span.
    Crest,
    /// On the midline at the tilt of the crossing; leads go on straight at that tilt.
    Crossing,
    /// Leads along the span on the midline, turned into the first arm by a bend of their own.
    Midline,
}

impl EndsName {
    /// All kinds of ends, in the order in which they are listed.
    pub const ALL: [Self; 3] = [Self::Midline, Self::Crest, Self::Crossing];

    /// The name as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Crest => "crest",
            Self::Crossing => "crossing",
            Self::Midline => "midline",
        }
    }
}

/// The meander in the plane of the wafer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shape {
    /// Meander family.
    pub family: FamilyName,
    /// Length of one full period along the span, µm.
    pub pitch_um: f64,
    /// Height of the centreline's crest above the midline, µm.
    pub amplitude_um: f64,
    /// Width of the ribbon, µm.
    pub width_um: f64,
    /// Number of full periods.
    pub periods: u32,
    /// `arc-and-arm`: radius of the arcs, µm. Give this or `tilt_deg`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radius_um: Option<f64>,
    /// `arc-and-arm`: tilt of the arms, degrees. Give this or `radius_um`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_deg: Option<f64>,
    /// `clothoid`: share of the quarter's contour over which the curvature keeps its peak, 0 to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plateau_share: Option<f64>,
    /// How the ribbon begins and ends.
    pub ends: EndsName,
    /// Length of the straight lead at each end, µm.
    pub lead_um: f64,
    /// `midline` ends: radius of the bend into the first arm, µm; the meander's least radius where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_radius_um: Option<f64>,
}

/// The layers of the ribbon.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stack {
    /// Layers from bottom to top.
    pub layers: Vec<StackLayer>,
}

/// One layer: a full-width film, or a narrower core, trace or strip.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StackLayer {
    /// Name of the layer, unique within the stack.
    pub name: String,
    /// Material, in words.
    pub material: String,
    /// Id of the material of the library, or of `materials`, from which its values come; free values where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material_id: Option<String>,
    /// Thickness, µm.
    pub thickness_um: f64,
    /// Width, µm; the ribbon's width where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_um: Option<f64>,
    /// Sideways offset of its middle from the centreline, towards the left edge, µm.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub offset_um: f64,
    /// For a narrower layer: name of the layer whose material fills its sides; open where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sides: Option<String>,
    /// Young's modulus, MPa.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless.
    pub poisson_ratio: f64,
    /// Largest tensile strain that the layer may see, %.
    pub allowable_strain_percent: f64,
    /// Largest compressive strain that the layer may see, % (positive); not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allowable_compression_percent: Option<f64>,
    /// Strain at which the material yields, such as a metal's, %; beyond it the layer does not spring back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub yield_strain_percent: Option<f64>,
    /// Refractive index at the working wavelength, dimensionless; needed next to a light-guiding core.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub refractive_index: Option<f64>,
    /// Thermal expansion, 1e-6/K; needed with `process`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cte_ppm_per_k: Option<f64>,
    /// Fracture toughness, MPa·√m; cracking from residual stress is judged where it is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub toughness_mpa_sqrt_m: Option<f64>,
    /// Scatter and slow falling of a brittle layer's strength.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brittle: Option<Brittle>,
    /// Cycles that a metal layer lasts, by strain-life.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strain_life: Option<StrainLifeData>,
    /// Cycles that a metal layer lasts, by foil ductility; give this or `strain_life`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foil: Option<FoilData>,
}

impl Design {
    /// The class of a layer's material, where its `material_id` names one.
    pub fn class_of(&self, layer: &StackLayer) -> Option<MaterialClass> {
        let id = layer.material_id.as_ref()?;
        find_material(id, &self.materials).map(|found| found.material.class)
    }
}

impl StackLayer {
    /// A plain full-width layer of 5 µm of a stiff polymer, to be changed.
    pub fn plain(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            material: "material".to_owned(),
            material_id: None,
            thickness_um: 5.0,
            width_um: None,
            offset_um: 0.0,
            sides: None,
            modulus_mpa: 1000.0,
            poisson_ratio: 0.35,
            allowable_strain_percent: 2.0,
            allowable_compression_percent: None,
            yield_strain_percent: None,
            refractive_index: None,
            cte_ppm_per_k: None,
            toughness_mpa_sqrt_m: None,
            brittle: None,
            strain_life: None,
            foil: None,
        }
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// What holds the ribbon between its islands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SupportName {
    /// Nothing: it may leave the plane when pulled.
    #[default]
    Free,
    /// Kept in its plane, as between two smooth plates or where it is thicker than wide.
    FreeInPlane,
    /// Bonded to an elastomer, or embedded in it, which drags it along.
    Bonded,
}

impl SupportName {
    /// All kinds of support, in the order in which they are listed.
    pub const ALL: [Self; 3] = [Self::Free, Self::FreeInPlane, Self::Bonded];

    /// The name as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Free => "free",
            Self::FreeInPlane => "free in plane",
            Self::Bonded => "bonded",
        }
    }
}

/// How the ribbon is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Support {
    /// What holds it between the islands.
    #[serde(default)]
    pub kind: SupportName,
    /// Sideways offset of the far island against its drawn place, when stretched and before, µm.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub sideways_um: f64,
    /// Angle by which the far island is turned in the plane, counter-clockwise, degrees.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub turn_deg: f64,
    /// Radius to which the ribbon curls once released, towards its top face where positive, µm; flat where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub curl_radius_um: Option<f64>,
    /// The elastomer that it is bonded to; needed with `bonded`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elastomer: Option<Elastomer>,
}

impl Support {
    /// Whether nothing was said about the support.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

/// What the elastomer rests on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BaseName {
    /// A base that is stretched with the islands and gives way to nothing.
    #[default]
    Held,
    /// Itself: it is so thick that the meander's disturbance dies away in it.
    Thick,
    /// Nothing: a thin free film.
    None,
}

impl BaseName {
    /// All bases, in the order in which they are listed.
    pub const ALL: [Self; 3] = [Self::Held, Self::Thick, Self::None];

    /// The name as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::Held => "base",
            Self::Thick => "itself (thick)",
            Self::None => "nothing (film)",
        }
    }
}

/// The elastomer under a bonded ribbon or round an embedded one.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Elastomer {
    /// Young's modulus, MPa.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless; 0.5 for rubber that keeps its volume.
    pub poisson_ratio: f64,
    /// Thickness of the elastomer under the ribbon, or on one side of an embedded one, µm.
    pub thickness_um: f64,
    /// What it rests on.
    #[serde(default)]
    pub base: BaseName,
    /// Whether the ribbon is embedded in it, with as much above as below.
    #[serde(default)]
    pub embedded: bool,
}

impl Default for Elastomer {
    /// A soft silicone of 200 µm.
    fn default() -> Self {
        Self {
            modulus_mpa: 0.5,
            poisson_ratio: 0.49,
            thickness_um: 200.0,
            base: BaseName::Held,
            embedded: false,
        }
    }
}

/// Polarisation of the guided light.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PolarisationName {
    /// Main electric field in the wafer plane.
    QuasiTe,
    /// Main electric field along the wafer's normal.
    QuasiTm,
}

impl PolarisationName {
    /// The name as people read it.
    pub fn label(self) -> &'static str {
        match self {
            Self::QuasiTe => "quasi-TE",
            Self::QuasiTm => "quasi-TM",
        }
    }
}

/// The guided light.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Light {
    /// Name of the layer that is the core.
    pub core: String,
    /// Vacuum wavelength, µm.
    pub wavelength_um: f64,
    /// Polarisation.
    pub polarisation: PolarisationName,
    /// Refractive index of what surrounds the ribbon, dimensionless (air 1).
    #[serde(default = "one")]
    pub surroundings_index: f64,
    /// Propagation loss of the straight guide (scattering and absorption), dB/cm.
    pub propagation_loss_db_per_cm: f64,
    /// Loss of each end (coupling), dB.
    #[serde(default)]
    pub end_loss_db: f64,
    /// Whether the ribbon's two ends join straight guides, so that a curvature jump there loses light.
    #[serde(default = "yes")]
    pub joins_straight_guides: bool,
}

fn one() -> f64 {
    1.0
}

fn yes() -> bool {
    true
}

/// What the ribbon must do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Duty {
    /// Stretch to be reached between the two islands, % of the end-to-end length at rest.
    pub target_stretch_percent: f64,
    /// Cylinder round which it must wrap; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap: Option<WrapDuty>,
}

/// What the ribbon must keep to. The allowable strain is given with each layer.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Largest insertion loss, at rest and stretched, dB; needed with `light`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub insertion_loss_db: Option<f64>,
    /// Least centreline radius, µm.
    pub least_radius_um: f64,
    /// Least gap between edges, µm.
    pub clearance_um: f64,
    /// Room for the ribbon between the islands at rest, µm.
    pub span_um: f64,
    /// Room across the span, edge to edge, µm; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height_um: Option<f64>,
    /// Free room above the ribbon's plane, such as to a lid, µm; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub room_above_um: Option<f64>,
    /// Free room below the ribbon's plane, µm; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub room_below_um: Option<f64>,
    /// Largest resistance of one ribbon's trace at the target stretch, Ω; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resistance_ohm: Option<f64>,
    /// Largest voltage drop of the circuit's passes at the target stretch, mV; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub voltage_drop_mv: Option<f64>,
    /// Largest rise of the trace's temperature over its surroundings, K; not judged where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature_rise_k: Option<f64>,
}

/// Window of the amplitude × pitch maps.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MapWindow {
    /// Least and greatest amplitude, µm.
    pub amplitude_um: [f64; 2],
    /// Least and greatest pitch, µm.
    pub pitch_um: [f64; 2],
}

impl MapWindow {
    /// The window of a design that has none of its own: 0.4 to 1.8 times its amplitude and pitch, rounded.
    pub fn around(shape: &Shape) -> Self {
        Self { amplitude_um: span_around(shape.amplitude_um), pitch_um: span_around(shape.pitch_um) }
    }
}

/// 0.4 to 1.8 times `value`, rounded to two digits so that the map's axis reads well.
fn span_around(value: f64) -> [f64; 2] {
    let round = |v: f64| {
        let step = 10f64.powf(v.abs().max(1e-12).log10().floor() - 1.0);
        (v / step).round() * step
    };
    [round(0.4 * value), round(1.8 * value)]
}
