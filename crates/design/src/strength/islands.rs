//! The stiff islands: how they raise the ribbon's stretch, and what strain reaches the parts on them.

use super::result::{IslandPoint, IslandResult};
use crate::checked::Checked;
use crate::document::{GratingData, Islands};
use crate::text::number;
use ogee_optics::Grating;
use ogee_stack::{Adhesive, IslandRow, Plate, Solved, edge_concentration};

/// Places from the middle of an island to the middle of the gap.
const PROFILE: usize = 48;
/// Factor of the modulus up to which a stiffer island is looked for.
const MOST_STIFFER: f64 = 1e4;

/// The result of a design's islands; `None` without any.
pub(crate) fn result(checked: &Checked) -> Result<Option<IslandResult>, String> {
    let design = checked.design();
    let Some(islands) = &design.islands else { return Ok(None) };
    let text = |e: ogee_stack::IslandError| e.to_string();
    let row = row(islands, islands.modulus_mpa)?;
    let pull = islands.sheet_stretch_percent / 100.0;
    let stretched = row.stretched(pull).map_err(text)?;
    let mut validity: Vec<String> = stretched.notes.iter().map(ToString::to_string).collect();

    let root_um = islands.root_um.unwrap_or(design.shape.lead_um);
    let edge_concentration = match edge_concentration(root_um / islands.sheet_thickness_um) {
        Ok(range) => Some([range.low, range.high]),
        Err(error) => {
            validity.push(if root_um >= islands.sheet_thickness_um {
                "the first bend lies beyond the strip beside the island's edge where the strain is raised"
                    .to_owned()
            } else {
                format!("strain beside the island's edge: {error}")
            });
            None
        }
    };
    let grating = match &islands.grating {
        Some(data) => grating(checked, data)?,
        None => None,
    };
    let drift_nm = match &grating {
        Some(grating) => {
            Some(1e3 * grating.drift_um(stretched.island_centre_strain, 0.0).map_err(|e| e.to_string())?)
        }
        None => None,
    };
    let for_drift = match (&grating, &islands.grating) {
        (Some(grating), Some(data)) => grating
            .strain_for_drift(1e-3 * data.drift_limit_nm, 0.0)
            .map_err(|e| e.to_string())?
            .map(f64::abs),
        _ => None,
    };
    if islands.grating.is_some() && grating.is_none() {
        validity.push("the grating is not judged, because the design has no light".to_owned());
    }
    if grating.is_some() {
        validity.push(
            "drift by the longer period alone: the change of index by strain, left out, takes some of it off; warming \
             adds its own (some 0.01 to 0.1 nm/K, from memory)"
                .to_owned(),
        );
    }
    let wanted = for_drift
        .map_or(islands.strain_limit_percent / 100.0, |d| d.min(islands.strain_limit_percent / 100.0));
    let needed_thickness_um = match row.thickness_for_strain(pull, wanted).map_err(text)? {
        Solved::At(thickness) => Some(thickness),
        Solved::Always => Some(0.0),
        Solved::Never { .. } => None,
    };
    let target = checked.target_stretch();
    Ok(Some(IslandResult {
        amplification: stretched.amplification,
        amplification_rigid: stretched.amplification_rigid,
        ribbon_stretch_percent: 100.0 * stretched.interconnect_strain,
        sheet_stretch_allowed_percent: 100.0 * target / stretched.amplification,
        island_strain_percent: 100.0 * stretched.island_centre_strain,
        bowing_strain_percent: 100.0 * stretched.bowed_face_strain.1,
        transfer_length_um: stretched.transfer_length_um,
        edge_concentration,
        root_um,
        edge_shear_mpa: stretched.edge_shear_stress_mpa,
        peel_bound_j_per_m2: stretched.debond_energy_bound_un_per_um,
        drift_nm,
        strain_for_drift_percent: for_drift.map(|s| 100.0 * s),
        needed_thickness_um,
        needed_modulus_mpa: needed_modulus(islands, pull, wanted),
        profile: profile(&row, islands, pull)?,
        model: "shear lag between islands and sheet, underside held flat".to_owned(),
        validity,
    }))
}

fn row(islands: &Islands, modulus_mpa: f64) -> Result<IslandRow, String> {
    let sheet = Plate {
        thickness_um: islands.sheet_thickness_um,
        modulus_mpa: islands.sheet_modulus_mpa,
        poisson: islands.sheet_poisson_ratio,
    };
    let island = Plate { thickness_um: islands.thickness_um, modulus_mpa, poisson: islands.poisson_ratio };
    let adhesive = match (islands.adhesive_thickness_um, islands.adhesive_shear_modulus_mpa) {
        (Some(thickness_um), Some(shear_modulus_mpa)) => Some(Adhesive { thickness_um, shear_modulus_mpa }),
        _ => None,
    };
    IslandRow::new(sheet, island, adhesive, islands.length_um, islands.pitch_um).map_err(|e| e.to_string())
}

/// The least modulus at the present thickness from which on every stiffer island keeps the strain, MPa; none up to ten
/// thousand times the present one.
fn needed_modulus(islands: &Islands, pull: f64, wanted: f64) -> Option<f64> {
    let keeps = |modulus_mpa: f64| {
        let stretched = row(islands, modulus_mpa).ok()?.stretched(pull).ok()?;
        Some(stretched.island_centre_strain <= wanted)
    };
    // Thick islands strain more at first as they grow stiffer: walk down from the stiff end to the last crossing.
    let least = islands.sheet_modulus_mpa;
    let mut high = islands.modulus_mpa.max(least) * MOST_STIFFER;
    if !keeps(high)? {
        return None;
    }
    let mut low = 0.5 * high;
    while low > least && keeps(low)? {
        high = low;
        low = 0.5 * high;
    }
    if low <= least {
        return Some(high);
    }
    for _ in 0..30 {
        let middle = (high * low).sqrt();
        if keeps(middle)? {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// The grating with the light's own wavelength and index.
fn grating(checked: &Checked, data: &GratingData) -> Result<Option<Grating>, String> {
    let (Some(light), Some(document)) = (checked.light(), &checked.design().light) else { return Ok(None) };
    let n_eff = light.index.n_eff;
    let grating = Grating::new(
        document.wavelength_um,
        n_eff,
        data.group_index.unwrap_or(n_eff),
        document.surroundings_index,
        data.angle_deg.to_radians(),
    )
    .map_err(|e| e.to_string())?;
    Ok(Some(grating))
}

fn profile(row: &IslandRow, islands: &Islands, pull: f64) -> Result<Vec<IslandPoint>, String> {
    let end_um = 0.5 * islands.pitch_um;
    (0..=PROFILE)
        .map(|i| {
            let x_um = end_um * i as f64 / PROFILE as f64;
            let at = row.strain_along(pull, x_um).map_err(|e| format!("{e} at {} µm", number(x_um)))?;
            Ok(IslandPoint {
                x_um,
                island_percent: at.island.map(|s| 100.0 * s),
                sheet_percent: 100.0 * at.sheet,
            })
        })
        .collect()
}
