//! The list of numeric fields: one line of what each may hold, one of what it means.

use super::Field;
use crate::quantity::Dimension::{
    Angle, Conductivity, Count, Current, Duration, Expansion, HeatTransfer, Length, Loss, LossPerLength,
    Plain, Pressure, Ratio, Resistance, Resistivity, SurfaceEnergy, Temperature, TemperatureStep, Toughness,
    Voltage,
};

/// Longest length that a design may name, µm: one metre.
const METRE_UM: f64 = 1e6;

/// Path, label, unit, dimension, range, whether only whole numbers are allowed, and help.
macro_rules! list {
    ($($path:literal $label:literal $unit:literal $dimension:ident [$min:expr, $max:expr] $whole:literal $help:literal;)*) => {
        &[$(Field {
            path: $path,
            label: $label,
            unit: $unit,
            dimension: $dimension,
            min: $min,
            max: $max,
            whole: $whole,
            help: $help,
        }),*]
    };
}

/// Every numeric field of a design, in the order of the file.
pub const FIELDS: &[Field] = list! {
    "shape.pitch_um" "Pitch" "µm" Length [0.01, METRE_UM] false
        "Length of one full period along the span";
    "shape.amplitude_um" "Amplitude" "µm" Length [1e-4, METRE_UM] false
        "Height of the centreline's crest above the midline";
    "shape.radius_um" "Bend radius" "µm" Length [1e-4, METRE_UM] false
        "Radius of the arcs between the arms";
    "shape.tilt_deg" "Tilt" "°" Angle [0.01, 179.9] false
        "Angle of the arms to the span; above 90° they overhang";
    "shape.plateau_share" "Plateau share" "" Plain [0.0, 1.0] false
        "Share of the quarter over which the curvature keeps its peak; 1 is a plain arc";
    "shape.periods" "Periods" "" Count [1.0, 10_000.0] true
        "Number of full periods between the leads";
    "shape.width_um" "Width" "µm" Length [1e-3, 1e5] false
        "Width of the ribbon in the wafer plane";
    "shape.lead_um" "Lead" "µm" Length [0.0, METRE_UM] false
        "Straight length between island and meander";
    "shape.end_radius_um" "End radius" "µm" Length [1e-4, METRE_UM] false
        "Radius of the bend between the lead and the first arm";
    "stack.layers[].thickness_um" "Thickness" "µm" Length [1e-5, 1e5] false
        "Thickness of the layer";
    "stack.layers[].width_um" "Width" "µm" Length [1e-4, 1e5] false
        "Width of a layer narrower than the ribbon";
    "stack.layers[].offset_um" "Offset" "µm" Length [-1e5, 1e5] false
        "Sideways offset of the layer's middle, towards the left edge";
    "stack.layers[].modulus_mpa" "Modulus" "MPa" Pressure [1e-4, 2e6] false
        "Young's modulus";
    "stack.layers[].poisson_ratio" "Poisson's ratio" "" Plain [-0.99, 0.4999] false
        "Between −1 and 0.5";
    "stack.layers[].allowable_strain_percent" "Allowed strain" "%" Ratio [1e-4, 2000.0] false
        "Largest tensile strain that the layer may see";
    "stack.layers[].allowable_compression_percent" "Allowed compression" "%" Ratio [1e-4, 2000.0] false
        "Largest compressive strain that the layer may see, as a positive number";
    "stack.layers[].yield_strain_percent" "Yield strain" "%" Ratio [1e-4, 1000.0] false
        "Strain beyond which the layer, such as a metal, does not spring back";
    "stack.layers[].refractive_index" "Index" "" Plain [1.0, 6.0] false
        "Refractive index at the working wavelength";
    "stack.layers[].cte_ppm_per_k" "Thermal expansion" "ppm/K" Expansion [-100.0, 5000.0] false
        "Linear thermal expansion of the layer";
    "stack.layers[].toughness_mpa_sqrt_m" "Toughness" "MPa·√m" Toughness [1e-3, 1000.0] false
        "Fracture toughness, from which the drive of cracks is judged";
    "stack.layers[].brittle.weibull_modulus" "Weibull modulus" "" Plain [0.5, 1000.0] false
        "The higher, the less the strength scatters; below 10 the tail is a guess";
    "stack.layers[].brittle.strength_mpa" "Strength" "MPa" Pressure [1e-3, 1e6] false
        "Stress at which 63 % of pieces of the reference length have broken";
    "stack.layers[].brittle.reference_length_um" "Reference length" "µm" Length [1e-2, 1e8] false
        "Length of etched edge on which the strength was measured";
    "stack.layers[].brittle.static_fatigue_n" "Slow-crack exponent" "" Plain [2.5, 500.0] false
        "Exponent of slow crack growth: about 20 for silica in humid air";
    "stack.layers[].brittle.proof_stress_mpa" "Proof stress" "MPa" Pressure [1e-3, 1e6] false
        "Stress that every piece has survived in a proof test";
    "stack.layers[].strain_life.fatigue_strength_mpa" "Fatigue strength" "MPa" Pressure [1e-2, 1e5] false
        "Coefficient of the elastic part of strain-life";
    "stack.layers[].strain_life.strength_exponent" "Strength exponent" "" Plain [-1.0, -1e-3] false
        "Exponent b of the elastic part of strain-life";
    "stack.layers[].strain_life.fatigue_ductility" "Fatigue ductility" "" Plain [1e-4, 100.0] false
        "Coefficient of the plastic part of strain-life";
    "stack.layers[].strain_life.ductility_exponent" "Ductility exponent" "" Plain [-2.0, -0.05] false
        "Exponent c of the plastic part of strain-life";
    "stack.layers[].foil.ductility" "Foil ductility" "" Plain [1e-3, 3.0] false
        "Fatigue ductility: 0.05 to 0.3 plated, 0.65 annealed and rolled";
    "stack.layers[].foil.ultimate_mpa" "Ultimate strength" "MPa" Pressure [1.0, 1e5] false
        "Ultimate tensile strength of the foil";
    "support.sideways_um" "Sideways offset" "µm" Length [-METRE_UM, METRE_UM] false
        "How far the far island sits beside its drawn place";
    "support.turn_deg" "Turn" "°" Angle [-90.0, 90.0] false
        "Angle by which the far island is turned in the plane, counter-clockwise";
    "support.curl_radius_um" "Curl radius" "µm" Length [-1e9, 1e9] false
        "Radius to which the ribbon curls once released, towards its top face where positive";
    "support.elastomer.modulus_mpa" "Elastomer modulus" "MPa" Pressure [1e-6, 1e6] false
        "Young's modulus of the elastomer that holds the ribbon";
    "support.elastomer.poisson_ratio" "Elastomer Poisson" "" Plain [0.0, 0.5] false
        "Poisson's ratio of the elastomer; 0.5 for rubber that keeps its volume";
    "support.elastomer.thickness_um" "Elastomer thickness" "µm" Length [1e-3, METRE_UM] false
        "Thickness of the elastomer under the ribbon, or on one side of an embedded one";
    "light.wavelength_um" "Wavelength" "µm" Length [0.2, 20.0] false
        "Wavelength in vacuum";
    "light.surroundings_index" "Surroundings" "" Plain [1.0, 6.0] false
        "Refractive index around the ribbon; air is 1";
    "light.propagation_loss_db_per_cm" "Propagation loss" "dB/cm" LossPerLength [0.0, 1e4] false
        "Loss of the straight guide by scattering and absorption";
    "light.end_loss_db" "End loss" "dB" Loss [0.0, 100.0] false
        "Coupling loss of each end";
    "trace.resistivity_nohm_m" "Resistivity" "nΩ·m" Resistivity [1e-3, 1e9] false
        "Resistivity at 20 °C; a measured value beats any estimate";
    "trace.temp_coeff_per_k" "Temperature coefficient" "1/K" Expansion [-0.1, 0.1] false
        "Relative change of the resistivity per kelvin about 20 °C";
    "trace.gauge_factor" "Gauge factor" "" Plain [-1000.0, 10000.0] false
        "Relative change of resistance per strain along the trace";
    "trace.current_ma" "Current" "mA" Current [0.0, 1e6] false
        "Current in the trace";
    "trace.passes" "Passes" "" Count [1.0, 1000.0] true
        "Times that the current passes such a ribbon: 2 for supply and return";
    "trace.ambient_c" "Ambient" "°C" Temperature [-273.15, 1000.0] false
        "Temperature of the surroundings";
    "trace.heat_loss_w_per_m2_k" "Heat loss" "W/(m²·K)" HeatTransfer [0.1, 1e5] false
        "Heat given off by all faces together: 10 to 20 for a wide sheet in still air, hundreds for a ribbon far below a millimetre (from memory)";
    "trace.sheet_thickness_um" "Sheet thickness" "µm" Length [1e-3, METRE_UM] false
        "Thickness of the sheet that spreads the heat of the trace";
    "trace.sheet_conductivity_w_per_m_k" "Sheet conductivity" "W/(m·K)" Conductivity [1e-3, 5000.0] false
        "Thermal conductivity of that sheet";
    "trace.mean_free_path_nm" "Mean free path" "nm" Length [0.1, 1e4] false
        "Mean free path of the electrons, for films about as thin";
    "trace.grain_nm" "Grain size" "nm" Length [0.1, 1e6] false
        "Size of the grains of the film";
    "process.handle.thickness_um" "Handle thickness" "µm" Length [1e-2, 1e5] false
        "Thickness of the wafer or plate on which the ribbon is made";
    "process.handle.modulus_mpa" "Handle modulus" "MPa" Pressure [1e-4, 2e6] false
        "Young's modulus of the handle";
    "process.handle.poisson_ratio" "Handle Poisson" "" Plain [-0.99, 0.4999] false
        "Poisson's ratio of the handle";
    "process.handle.cte_ppm_per_k" "Handle expansion" "ppm/K" Expansion [-100.0, 5000.0] false
        "Linear thermal expansion of the handle";
    "process.handle.diameter_mm" "Handle diameter" "mm" Length [0.1, 2000.0] false
        "Diameter over which the bow is told";
    "process.steps[].temperature_c" "Temperature" "°C" Temperature [-273.15, 3000.0] false
        "Temperature of the step; for polymers that at which stress starts to build";
    "process.steps[].intrinsic_stress_mpa" "Intrinsic stress" "MPa" Pressure [-1e5, 1e5] false
        "Stress with which the layer is born on an unyielding base";
    "process.service_low_c" "Coldest use" "°C" Temperature [-273.15, 3000.0] false
        "Coldest temperature of use";
    "process.service_high_c" "Warmest use" "°C" Temperature [-273.15, 3000.0] false
        "Warmest temperature of use";
    "process.bow_limit_um" "Bow limit" "µm" Length [1e-3, METRE_UM] false
        "Largest bow of the handle over its diameter";
    "process.adhesion_j_per_m2" "Adhesion" "J/m²" SurfaceEnergy [1e-4, 1e5] false
        "Least work to part two layers: below 1 poor, 1 to 10 fair (from memory)";
    "islands.pitch_um" "Island pitch" "µm" Length [0.1, 1e8] false
        "Distance from island middle to island middle along the pull";
    "islands.length_um" "Island length" "µm" Length [0.1, 1e8] false
        "Length of an island along the pull";
    "islands.thickness_um" "Island thickness" "µm" Length [1e-3, METRE_UM] false
        "Thickness of an island";
    "islands.modulus_mpa" "Island modulus" "MPa" Pressure [1e-4, 2e6] false
        "Young's modulus of an island";
    "islands.poisson_ratio" "Island Poisson" "" Plain [-0.99, 0.4999] false
        "Poisson's ratio of an island";
    "islands.sheet_thickness_um" "Sheet thickness" "µm" Length [1e-2, METRE_UM] false
        "Thickness of the sheet that carries the islands";
    "islands.sheet_modulus_mpa" "Sheet modulus" "MPa" Pressure [1e-6, 1e6] false
        "Young's modulus of the sheet";
    "islands.sheet_poisson_ratio" "Sheet Poisson" "" Plain [-0.99, 0.4999] false
        "Poisson's ratio of the sheet";
    "islands.adhesive_thickness_um" "Adhesive thickness" "µm" Length [1e-3, METRE_UM] false
        "Thickness of the adhesive between island and sheet";
    "islands.adhesive_shear_modulus_mpa" "Adhesive shear modulus" "MPa" Pressure [1e-6, 1e6] false
        "Shear modulus of the adhesive";
    "islands.sheet_stretch_percent" "Sheet stretch" "%" Ratio [1e-3, 500.0] false
        "Stretch of the sheet as a whole";
    "islands.strain_limit_percent" "Island strain" "%" Ratio [1e-6, 100.0] false
        "Largest strain that the parts on an island may see";
    "islands.root_um" "Root length" "µm" Length [0.0, METRE_UM] false
        "Straight ribbon between the island's edge and the first bend";
    "islands.grating.angle_deg" "Grating angle" "°" Angle [-89.0, 89.0] false
        "Angle of the light to the island's normal";
    "islands.grating.group_index" "Group index" "" Plain [1.0, 20.0] false
        "Group index of the guide in the grating";
    "islands.grating.drift_limit_nm" "Drift limit" "nm" Length [1e-4, 1e4] false
        "Largest drift of the coupled wavelength";
    "duty.target_stretch_percent" "Target stretch" "%" Ratio [0.01, 1000.0] false
        "Elongation between the islands that the ribbon must reach";
    "duty.wrap.radius_um" "Wrap radius" "µm" Length [1e-2, METRE_UM] false
        "Radius of the cylinder round which the ribbon wraps";
    "duty.wrap.length_um" "Wrapped length" "µm" Length [1e-2, 1e8] false
        "Length that is wrapped, over which soft layers shear";
    "life.cycles[].from_percent" "From" "%" Ratio [-50.0, 1000.0] false
        "Stretch at one end of the cycle";
    "life.cycles[].to_percent" "To" "%" Ratio [-50.0, 1000.0] false
        "Stretch at the other end of the cycle";
    "life.cycles[].count" "Cycles" "" Plain [1.0, 1e15] false
        "Number of such cycles";
    "life.seconds_per_cycle" "Time per cycle" "s" Duration [1e-6, 1e9] false
        "Time of one cycle";
    "life.ribbons" "Ribbons" "" Count [1.0, 1e6] true
        "Ribbons of this kind in the device, all of which must last";
    "life.survival_percent" "Survival" "%" Ratio [1.0, 99.999_999] false
        "Share of devices whose brittle layers must all last";
    "life.damage_limit" "Damage limit" "" Plain [0.01, 10.0] false
        "Miner's sum at which a layer counts as failed: 0.3 is careful, 1 the theory";
    "limits.insertion_loss_db" "Insertion loss" "dB" Loss [1e-6, 1000.0] false
        "Largest loss from end to end, at rest and stretched";
    "limits.least_radius_um" "Least radius" "µm" Length [1e-4, METRE_UM] false
        "Smallest centreline radius that you accept";
    "limits.clearance_um" "Clearance" "µm" Length [1e-4, METRE_UM] false
        "Smallest gap between edges that can be made";
    "limits.span_um" "Span" "µm" Length [0.01, 1e8] false
        "Room between the islands at rest";
    "limits.height_um" "Height" "µm" Length [0.01, 1e8] false
        "Room across the span, edge to edge";
    "limits.room_above_um" "Room above" "µm" Length [1e-3, METRE_UM] false
        "Free room above the ribbon's plane, such as to a lid";
    "limits.room_below_um" "Room below" "µm" Length [1e-3, METRE_UM] false
        "Free room below the ribbon's plane";
    "limits.resistance_ohm" "Resistance" "Ω" Resistance [1e-9, 1e9] false
        "Largest resistance of the trace at the target stretch";
    "limits.voltage_drop_mv" "Voltage drop" "mV" Voltage [1e-6, 1e9] false
        "Largest voltage drop of all passes at the target stretch";
    "limits.temperature_rise_k" "Temperature rise" "K" TemperatureStep [1e-3, 1000.0] false
        "Largest rise of the trace over its surroundings";
    "map.amplitude_um[]" "Amplitude" "µm" Length [1e-4, METRE_UM] false
        "Range of the map's amplitude axis";
    "map.pitch_um[]" "Pitch" "µm" Length [0.01, METRE_UM] false
        "Range of the map's pitch axis";
};
