//! What wrap, oven, life, islands and trace come to: plain data, as `ogee check --json` prints them.

use crate::result::Place;
use schemars::JsonSchema;
use serde::Serialize;

/// The ribbon wrapped round the cylinder of `duty.wrap`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WrapResult {
    /// Radius of the cylinder, µm.
    pub radius_um: f64,
    /// Face on the cylinder: `bottom` or `top`.
    pub face: String,
    /// Curvature of the ribbon's neutral plane, 1/µm, positive where the top is in tension.
    pub curvature_per_um: f64,
    /// Length that is wrapped, µm.
    pub length_um: f64,
    /// Height of the neutral plane of the bonded stack above the ribbon's bottom face, µm; with an elastomer under the
    /// ribbon it may lie below 0.
    pub neutral_plane_um: f64,
    /// Thickness that is bent, with the elastomer of a bonded ribbon, µm.
    pub thickness_um: f64,
    /// Length over which soft layers hand on the shear, µm; `null` for a single layer.
    pub shear_length_um: Option<f64>,
    /// Strain through the thickness, bottom to top.
    pub faces: Vec<WrapFace>,
    /// Every judged layer.
    pub layers: Vec<WrapLayer>,
    /// Least radius at which every layer keeps to its allowable strain, wrapped alone, µm; `null` where no radius does.
    pub least_radius_um: Option<f64>,
    /// The same while stretched to the target, µm; `null` where no radius does.
    pub least_radius_stretched_um: Option<f64>,
    /// Layer that sets the least radius.
    pub governing_layer: Option<String>,
    /// Largest shear strain of a soft layer at the wrapped ends, dimensionless.
    pub largest_shear: f64,
    /// Layer with that shear.
    pub shear_layer: Option<String>,
    /// Bending stiffness per width limits: narrow ribbon (beam), this ribbon, wide foil (plate), µN·µm².
    pub stiffness_un_um2: [f64; 3],
    /// Thickness of the outermost layers that would bring the neutral plane into the core or trace.
    pub balance: Vec<Balance>,
    /// Model.
    pub model: String,
    /// Where the model stops holding for this wrap; empty where nothing is near.
    pub validity: Vec<String>,
}

/// Strain of one face between layers (or of the outer faces) in the wrap, %.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WrapFace {
    /// Height above the ribbon's bottom face, µm.
    pub z_um: f64,
    /// Bonded limit: one neutral plane.
    pub bonded_percent: f64,
    /// At the middle of the wrapped length, by shear lag.
    pub middle_percent: f64,
    /// Split limit just below and just above the face: stiff layers slide over the soft ones.
    pub split_percent: [f64; 2],
}

/// What a layer sees: wrapped, pulled, left over from the oven, and together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WrapLayer {
    /// Name of the layer.
    pub name: String,
    /// Greatest and least strain from the wrap alone, %.
    pub wrap_percent: [f64; 2],
    /// Greatest and least strain from the pull to the target alone, %.
    pub pull_percent: [f64; 2],
    /// Greatest and least residual strain over the service range, %; 0 without a process.
    pub residual_percent: [f64; 2],
    /// Greatest and least strain of wrap and pull together with the residual one, %.
    pub together_percent: [f64; 2],
    /// Allowed tensile strain, %.
    pub allowable_strain_percent: f64,
    /// Margin wrapped and not pulled, dimensionless.
    pub margin: f64,
}

/// A thickness that would bring the neutral plane to the middle of the core or trace.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Balance {
    /// The outermost layer to be changed.
    pub layer: String,
    /// Number of the layer, 0 at the bottom.
    pub index: usize,
    /// Its thickness now, µm.
    pub thickness_um: f64,
    /// Its thickness that does it, µm.
    pub balanced_um: f64,
    /// The layer into which the neutral plane comes.
    pub into: String,
}

/// From the oven to the part in use.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ThermalResult {
    /// Stress and shape after every step.
    pub steps: Vec<ThermalStep>,
    /// The finished part at the coldest and the warmest temperature of use.
    pub service: Vec<ThermalStep>,
    /// Whether the part has come off its handle.
    pub released: bool,
    /// Greatest bow of the handle over its diameter while the ribbon is on it, µm.
    pub largest_bow_um: Option<f64>,
    /// Radius to which the released ribbon curls at 20 °C, or the nearest temperature of use, µm, towards its top face
    /// where positive; `null` where it is flat or still on its handle.
    pub curl_radius_um: Option<f64>,
    /// Every film that could crack: one whose toughness is known.
    pub cracks: Vec<CrackResult>,
    /// Bound of the energy that could part the stack, interface by interface, J/m².
    pub interfaces: Vec<InterfaceResult>,
    /// Films in compression on a soft base: when they wrinkle.
    pub wrinkles: Vec<WrinkleResult>,
    /// Model.
    pub model: String,
    /// Where the model stops holding; empty where nothing is near.
    pub validity: Vec<String>,
}

/// The stack after one process step, or at one temperature of use.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ThermalStep {
    /// What was done, such as `deposit core`.
    pub words: String,
    /// Temperature, °C.
    pub temperature_c: f64,
    /// Curvature of the stack, 1/µm; negative where films in tension lift the edges.
    pub curvature_per_um: f64,
    /// Bow of the handle over its diameter, µm; `null` once released.
    pub bow_um: Option<f64>,
    /// The layers present, bottom to top, the handle left out.
    pub layers: Vec<ThermalLayer>,
}

/// Stress and elastic strain of a layer.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ThermalLayer {
    /// Name of the layer.
    pub name: String,
    /// Stress at its bottom and top face, MPa.
    pub stress_mpa: [f64; 2],
    /// Elastic strain at its bottom and top face, %: what adds to the strain of pull and wrap.
    pub strain_percent: [f64; 2],
}

/// Whether cracks run through a film under tension.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CrackResult {
    /// The film.
    pub layer: String,
    /// What it rests on.
    pub base: String,
    /// When: after a step, or at a temperature of use.
    pub when: String,
    /// Largest tensile stress, MPa; 0 where it is always in compression.
    pub stress_mpa: f64,
    /// Factor Z of the energy release, dimensionless; `null` where no number can be given.
    pub factor: Option<f64>,
    /// Energy release per crack area, J/m².
    pub drive_j_per_m2: Option<f64>,
    /// What the film's toughness resists with, J/m².
    pub toughness_j_per_m2: f64,
    /// Thickness from which cracks run, µm.
    pub critical_thickness_um: Option<f64>,
    /// The same with the film straight on the base below the buffer; `null` where no number can be given.
    pub critical_without_buffer_um: Option<f64>,
    /// What to know of these numbers, or why there are none.
    pub words: String,
}

/// Bound of the energy that parts the stack at an interface.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct InterfaceResult {
    /// Layer below.
    pub below: String,
    /// Layer above.
    pub above: String,
    /// When it is greatest.
    pub when: String,
    /// The bound, J/m².
    pub bound_j_per_m2: f64,
}

/// When a film in compression on a much softer layer wrinkles; for information, no margin rests on it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WrinkleResult {
    /// The film.
    pub layer: String,
    /// Soft base.
    pub base: String,
    /// Largest compression over the service range, %.
    pub compression_percent: f64,
    /// Compression at which it wrinkles, %.
    pub limit_percent: f64,
    /// Wavelength of the wrinkles, µm.
    pub wavelength_um: f64,
}

/// How long the ribbon lasts.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LifeResult {
    /// Every layer of which something is known.
    pub layers: Vec<LifeLayer>,
    /// Share of devices whose brittle layers all last, %; `null` without data of a brittle layer.
    pub survival_percent: Option<f64>,
    /// Greatest Miner's sum of a metal layer; `null` without data of one.
    pub damage: Option<f64>,
    /// How often the whole duty list can be gone through before a metal layer fails, careful, typical and at best; `null`
    /// without data, or beyond what can be told.
    pub repeats: Option<[f64; 3]>,
    /// Cycles in the duty list.
    pub cycles_asked: f64,
    /// Time under stress, hours.
    pub hours: f64,
    /// Model.
    pub model: String,
    /// Where the model stops holding; empty where nothing is near.
    pub validity: Vec<String>,
}

/// How long one layer lasts.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LifeLayer {
    /// Name of the layer.
    pub name: String,
    /// Rule that decided: Weibull, slow crack growth, strain-life, foil ductility.
    pub rule: String,
    /// Where it is strained most.
    pub place: Place,
    /// What each block of the duty list does.
    pub blocks: Vec<LifeBlock>,
    /// Miner's sum, dimensionless; metals only.
    pub damage: Option<f64>,
    /// Greatest tensile stress, MPa; brittle layers only.
    pub stress_mpa: Option<f64>,
    /// Length of edge that is stressed as if it all saw that stress, µm; brittle layers only.
    pub stressed_length_um: Option<f64>,
    /// Share of devices in which this layer lasts at first loading, %; brittle layers only.
    pub survival_percent: Option<f64>,
    /// Greatest stress for the survival that is asked for, MPa; brittle layers only.
    pub allowed_stress_mpa: Option<f64>,
    /// Greatest stress over the proof stress; layers with slow crack growth only.
    pub share_of_proof: Option<f64>,
    /// What that share may be for the time under stress (rule of thumb).
    pub allowed_share_of_proof: Option<f64>,
    /// Greatest strain of the cycles, residual strain included, %; glassy polymers only.
    pub cycled_strain_percent: Option<f64>,
    /// Half the yield strain, which may be cycled (rule of thumb), %; glassy polymers only.
    pub allowed_cycled_percent: Option<f64>,
}

impl LifeLayer {
    /// A layer of which nothing is known yet but the rule.
    pub(crate) fn of(name: &str, rule: &str) -> Self {
        Self {
            name: name.to_owned(),
            rule: rule.to_owned(),
            place: Place::default(),
            blocks: Vec::new(),
            damage: None,
            stress_mpa: None,
            stressed_length_um: None,
            survival_percent: None,
            allowed_stress_mpa: None,
            share_of_proof: None,
            allowed_share_of_proof: None,
            cycled_strain_percent: None,
            allowed_cycled_percent: None,
        }
    }
}

/// What one block of cycles does to a layer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LifeBlock {
    /// Half the range of strain at the worst fibre, %.
    pub amplitude_percent: f64,
    /// Middle of that range, residual strain included, %.
    pub mean_percent: f64,
    /// Cycles to failure, careful, typical and at best; `null` where there is no end or no data.
    pub cycles: Option<[f64; 3]>,
    /// Share of the life used up, dimensionless.
    pub damage: Option<f64>,
}

/// The stiff islands on their sheet.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct IslandResult {
    /// Stretch of the ribbon between islands over that of the sheet, dimensionless.
    pub amplification: f64,
    /// The same for islands that do not give at all: the upper bound.
    pub amplification_rigid: f64,
    /// Stretch that the ribbon between islands sees, %.
    pub ribbon_stretch_percent: f64,
    /// Stretch of the sheet at which the ribbon reaches its target stretch, %.
    pub sheet_stretch_allowed_percent: f64,
    /// Strain in the middle of an island, %.
    pub island_strain_percent: f64,
    /// Strain in the middle of an island if the sheet is free to bow: bound of the bending part, %.
    pub bowing_strain_percent: f64,
    /// Length over which the sheet hands the pull to the island, µm.
    pub transfer_length_um: f64,
    /// Strain of the sheet beside the island's edge over that far away, at the ribbon's root, low and high.
    pub edge_concentration: Option<[f64; 2]>,
    /// Distance from the island's edge to which that applies, µm.
    pub root_um: f64,
    /// Shear stress at the island's edge, MPa.
    pub edge_shear_mpa: f64,
    /// Bound of the energy that peels the island's edge, J/m².
    pub peel_bound_j_per_m2: f64,
    /// Drift of the grating's wavelength, nm; `null` without one.
    pub drift_nm: Option<f64>,
    /// Island strain that the drift limit allows, %.
    pub strain_for_drift_percent: Option<f64>,
    /// Island thickness that keeps strain and drift to their limits, µm; `null` where none does.
    pub needed_thickness_um: Option<f64>,
    /// Island modulus that does so at the present thickness, MPa; `null` where none does.
    pub needed_modulus_mpa: Option<f64>,
    /// Strain along half an island and the sheet beside it.
    pub profile: Vec<IslandPoint>,
    /// Model.
    pub model: String,
    /// Where the model stops holding; empty where nothing is near.
    pub validity: Vec<String>,
}

/// Strain of island and sheet at one place.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct IslandPoint {
    /// Distance from the island's middle, µm.
    pub x_um: f64,
    /// Strain of the island, %; `null` beyond its edge.
    pub island_percent: Option<f64>,
    /// Mean strain of the sheet, %.
    pub sheet_percent: f64,
}

/// The trace.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TraceResult {
    /// Name of the layer that conducts.
    pub layer: String,
    /// Width and thickness of the trace, µm.
    pub width_um: f64,
    /// Thickness of the trace, µm.
    pub thickness_um: f64,
    /// Resistivity of the film over that of the bulk, dimensionless.
    pub film_factor: f64,
    /// Resistance of a square at the ambient temperature, Ω.
    pub sheet_resistance_ohm: f64,
    /// Squares along the ribbon at rest.
    pub squares: f64,
    /// Resistance of one ribbon at rest, at the ambient temperature, Ω.
    pub rest_ohm: f64,
    /// Resistance of one ribbon at the target stretch, heated by its current, Ω; at the ambient temperature where the heat
    /// runs away.
    pub stretched_ohm: f64,
    /// Mean strain along the trace at the target stretch, %.
    pub mean_strain_percent: f64,
    /// Change of resistance by the stretch alone, %.
    pub change_percent: f64,
    /// Voltage drop of all passes at the target stretch, mV.
    pub voltage_drop_mv: f64,
    /// Heat given off by one ribbon, mW.
    pub power_mw: f64,
    /// Rise of the trace's temperature over its surroundings by the heat balance, K; `null` where it runs away.
    pub temperature_rise_k: Option<f64>,
    /// Current at which the rise reaches its limit (10 K where none is given), by the heat balance, mA.
    pub rated_ma: f64,
    /// The same by the fit for rigid boards, mA; `null` outside the fit's data.
    pub board_fit_ma: Option<f64>,
    /// Current density, A/mm².
    pub density_a_per_mm2: f64,
    /// Model.
    pub model: String,
    /// Where the models stop holding; empty where nothing is near.
    pub validity: Vec<String>,
}
