//! Taking optional fields out of a design.

use super::layer_path;
use crate::document::Design;

impl Design {
    /// Takes an optional number out; false where the design cannot do without.
    pub(super) fn clear(&mut self, path: &str) -> bool {
        if let Some((index, key)) = layer_path(path) {
            let Some(layer) = self.stack.layers.get_mut(index) else { return false };
            match key {
                "width_um" => layer.width_um = None,
                "allowable_compression_percent" => layer.allowable_compression_percent = None,
                "yield_strain_percent" => layer.yield_strain_percent = None,
                "refractive_index" => layer.refractive_index = None,
                "cte_ppm_per_k" => layer.cte_ppm_per_k = None,
                "toughness_mpa_sqrt_m" => layer.toughness_mpa_sqrt_m = None,
                "brittle.static_fatigue_n" | "brittle.proof_stress_mpa" => {
                    let Some(brittle) = &mut layer.brittle else { return false };
                    // Neither makes sense without the other.
                    (brittle.static_fatigue_n, brittle.proof_stress_mpa) = (None, None);
                }
                _ => return false,
            }
            return true;
        }
        match path {
            "shape.radius_um" => self.shape.radius_um = None,
            "shape.tilt_deg" => self.shape.tilt_deg = None,
            "shape.plateau_share" => self.shape.plateau_share = None,
            "shape.end_radius_um" => self.shape.end_radius_um = None,
            "limits.insertion_loss_db" => self.limits.insertion_loss_db = None,
            "limits.height_um" => self.limits.height_um = None,
            "limits.room_above_um" => self.limits.room_above_um = None,
            "limits.room_below_um" => self.limits.room_below_um = None,
            "support.curl_radius_um" => self.support.curl_radius_um = None,
            "limits.resistance_ohm" => self.limits.resistance_ohm = None,
            "limits.voltage_drop_mv" => self.limits.voltage_drop_mv = None,
            "limits.temperature_rise_k" => self.limits.temperature_rise_k = None,
            _ => return self.clear_strength(path),
        }
        true
    }

    /// Takes an optional number of wrap, trace, process or islands out; false where the design cannot do without.
    fn clear_strength(&mut self, path: &str) -> bool {
        if let Some(wrap) = &mut self.duty.wrap
            && path == "duty.wrap.length_um"
        {
            wrap.length_um = None;
            return true;
        }
        if let Some(trace) = &mut self.trace {
            match path {
                "trace.sheet_thickness_um" | "trace.sheet_conductivity_w_per_m_k" => {
                    (trace.sheet_thickness_um, trace.sheet_conductivity_w_per_m_k) = (None, None);
                    return true;
                }
                "trace.mean_free_path_nm" => {
                    trace.mean_free_path_nm = None;
                    return true;
                }
                "trace.grain_nm" => {
                    trace.grain_nm = None;
                    return true;
                }
                _ => {}
            }
        }
        if let Some(process) = &mut self.process {
            match path {
                "process.bow_limit_um" => {
                    process.bow_limit_um = None;
                    return true;
                }
                "process.adhesion_j_per_m2" => {
                    process.adhesion_j_per_m2 = None;
                    return true;
                }
                _ => {}
            }
        }
        if let Some(islands) = &mut self.islands {
            match path {
                "islands.adhesive_thickness_um" | "islands.adhesive_shear_modulus_mpa" => {
                    (islands.adhesive_thickness_um, islands.adhesive_shear_modulus_mpa) = (None, None);
                    return true;
                }
                "islands.root_um" => {
                    islands.root_um = None;
                    return true;
                }
                "islands.grating.group_index" => {
                    let Some(grating) = &mut islands.grating else { return false };
                    grating.group_index = None;
                    return true;
                }
                _ => {}
            }
        }
        false
    }
}
