//! The trace: its resistance along the ribbon, its heat, its voltage drop.

use super::field::Field;
use super::result::TraceResult;
use crate::checked::Checked;
use crate::document::Trace;
use crate::library::find_material;
use ogee_stack::{
    Conductor, Grains, SheetCooling, Surfaces, TraceError, TraceLayer, film_factor, ipc_2221_current,
    path_squares, resistance_ratio, voltage_drop_v,
};

/// Temperature rise for which a current is rated where the design gives no limit, K.
pub(crate) const USUAL_RISE_K: f64 = 10.0;
/// Share of electrons that a film's faces send on as a mirror would: none (from memory, usual assumption).
const SPECULARITY: f64 = 0.0;
/// Share of electrons that a grain boundary throws back, 0.2 to 0.4 for copper (from memory).
const REFLECTION: f64 = 0.3;
/// Places along a quarter of the meander for the squares of a trace.
const PER_QUARTER: usize = 64;

/// The result of a design's trace; `None` without one.
///
/// * `pulled`: the strain along the ribbon at the target stretch.
pub(crate) fn result(checked: &Checked, pulled: &Field) -> Result<Option<TraceResult>, String> {
    let design = checked.design();
    let Some(trace) = &design.trace else { return Ok(None) };
    let layers = &design.stack.layers;
    let Some(layer) = layers.iter().find(|l| l.name == trace.layer) else { return Ok(None) };
    let width_um = layer.width_um.unwrap_or(design.shape.width_um);
    let thickness_um = layer.thickness_um;
    let text = |e: TraceError| e.to_string();

    let film = match trace.mean_free_path_nm {
        Some(mean_free_path_nm) => {
            let surfaces = Surfaces { mean_free_path_nm, specularity: SPECULARITY };
            let size_nm = trace.grain_nm.unwrap_or(1000.0 * thickness_um);
            film_factor(thickness_um, surfaces, Some(Grains { size_nm, reflection: REFLECTION }))
                .map_err(text)?
                .total
        }
        None => 1.0,
    };
    let resistivity_ohm_m = 1e-9 * trace.resistivity_nohm_m * film;
    let conductor = Conductor::new(resistivity_ohm_m, trace.temp_coeff_per_k).map_err(text)?;
    let sheet_ohm = conductor.sheet_resistance_ohm(thickness_um, trace.ambient_c).map_err(text)?;
    let squares = squares(checked, layer.offset_um, width_um)?;
    let rest_ohm = sheet_ohm * squares;
    let mean_strain = pulled.mean_axial();
    let ratio = resistance_ratio(trace.gauge_factor, mean_strain).map_err(text)?;
    let current_a = 1e-3 * trace.current_ma;

    // A straight metal with the ribbon's own mean resistance per length: its bends and its strain are in the resistivity.
    let bends = squares * width_um / checked.centreline().contour_length_um();
    let mean = Conductor::new(resistivity_ohm_m * bends * ratio, trace.temp_coeff_per_k).map_err(text)?;
    let cooling = cooling(checked, trace, width_um)?;
    let rise_k = match cooling.steady_rise_k(&mean, (width_um, thickness_um), trace.ambient_c, current_a) {
        Ok(rise) => Some(rise),
        Err(TraceError::Runaway { .. }) => None,
        Err(error) => return Err(text(error)),
    };
    let hot =
        |rise_k: f64| conductor.sheet_resistance_ohm(thickness_um, trace.ambient_c + rise_k).map_err(text);
    let stretched_ohm = squares * ratio * hot(rise_k.unwrap_or(0.0))?;

    let limit_k = design.limits.temperature_rise_k.unwrap_or(USUAL_RISE_K);
    let at_limit = mean
        .resistance_per_length_ohm_per_m(width_um, thickness_um, trace.ambient_c + limit_k)
        .map_err(text)?;
    let rated_a = cooling.current_a(at_limit, limit_k).map_err(text)?;
    let board = ipc_2221_current(limit_k, width_um, thickness_um, TraceLayer::Outer).map_err(text)?;
    let mut validity = Vec::new();
    if board.outside_the_data.is_empty() {
        validity.push(
            "the fit for rigid boards (IPC-2221) is shown for comparison; a free ribbon has no board to spread its heat"
                .to_owned(),
        );
    } else {
        let why: Vec<String> = board.outside_the_data.iter().map(ToString::to_string).collect();
        validity.push(format!("the fit for rigid boards (IPC-2221) gives no number: {}", why.join("; ")));
    }
    if rise_k.is_none() {
        validity.push(
            "the trace heats itself faster than it cools: no steady temperature exists at this current"
                .to_owned(),
        );
    }
    let found = layer.material_id.as_ref().and_then(|id| find_material(id, &design.materials));
    if let Some(found) = found.filter(|f| f.material.resistivity_ohm_m.is_none()) {
        validity.insert(
            0,
            format!(
                "no resistivity is known of {}, which is no metal: the resistance rests on the one typed for the trace",
                found.material.name
            ),
        );
    }
    validity.push(
        "steady current; neighbouring traces, islands and contact with skin or fruit are left out".to_owned(),
    );
    if trace.mean_free_path_nm.is_some() {
        validity.push("a measured resistivity beats the thin-film estimate".to_owned());
    }
    Ok(Some(TraceResult {
        layer: layer.name.clone(),
        width_um,
        thickness_um,
        film_factor: film,
        sheet_resistance_ohm: sheet_ohm,
        squares,
        rest_ohm,
        stretched_ohm,
        mean_strain_percent: 100.0 * mean_strain,
        change_percent: 100.0 * (ratio - 1.0),
        voltage_drop_mv: 1e3
            * voltage_drop_v(current_a, stretched_ohm * f64::from(trace.passes)).map_err(text)?,
        power_mw: 1e3 * current_a * current_a * stretched_ohm,
        temperature_rise_k: rise_k,
        rated_ma: 1e3 * rated_a,
        board_fit_ma: board.outside_the_data.is_empty().then_some(1e3 * board.current_a),
        density_a_per_mm2: current_a / (width_um * thickness_um * 1e-6),
        model: "sheet resistance along the ribbon's exact path; heat given off by its faces".to_owned(),
        validity,
    }))
}

/// Squares along the whole trace at rest: the meander by its exact curvature, the rest as straight.
fn squares(checked: &Checked, offset_um: f64, width_um: f64) -> Result<f64, String> {
    let line = checked.centreline();
    let quarter = checked.quarter();
    let length_um = quarter.length_um();
    let step_um = length_um / PER_QUARTER as f64;
    // Both ways round: an offset trace runs inside one bend and outside the next.
    let mut meander = 0.0;
    for side in [-1.0, 1.0] {
        let elements = (0..PER_QUARTER).map(|i| {
            let kappa = quarter.at((i as f64 + 0.5) * step_um).kappa_per_um;
            let stretch = 1.0 - side * offset_um * kappa;
            (step_um * stretch, kappa / stretch)
        });
        meander += path_squares(width_um, elements).map_err(|e| e.to_string())?.squares;
    }
    let repeats = 4.0 * f64::from(line.periods());
    let rest_um = (line.contour_length_um() - repeats * length_um).max(0.0);
    Ok(0.5 * repeats * meander + rest_um / width_um)
}

/// How the trace gives off its heat.
fn cooling(checked: &Checked, trace: &Trace, width_um: f64) -> Result<SheetCooling, String> {
    match (trace.sheet_thickness_um, trace.sheet_conductivity_w_per_m_k) {
        (Some(thickness), Some(conductivity)) => {
            SheetCooling::new(width_um, trace.heat_loss_w_per_m2_k, conductivity, thickness)
                .map_err(|e| e.to_string())
        }
        // A ribbon in the air: as thin as it is, it is as warm all across.
        _ => SheetCooling::without_sheet(checked.width_um(), trace.heat_loss_w_per_m2_k)
            .map_err(|e| e.to_string()),
    }
}
