//! The numeric fields of a design: path, label, unit and allowed range, in one list.
//!
//! The check, the window's inputs and `--set` all read this list, so a range is stated once.

mod list;

pub use list::FIELDS;

use crate::document::Design;
use crate::quantity::Dimension;

/// What one numeric field of the design file may hold.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Path with `[]` for any list index, such as `stack.layers[].thickness_um`.
    pub path: &'static str,
    /// Label in the window.
    pub label: &'static str,
    /// Unit of the number in the file, as the window shows it.
    pub unit: &'static str,
    /// What kind of quantity it is.
    pub dimension: Dimension,
    /// Least allowed value.
    pub min: f64,
    /// Greatest allowed value.
    pub max: f64,
    /// Whether only whole numbers are allowed.
    pub whole: bool,
    /// One sentence for the tooltip.
    pub help: &'static str,
}

/// The entry for a concrete path such as `stack.layers[2].thickness_um`.
pub fn field_at(path: &str) -> Option<&'static Field> {
    let general = generalised(path);
    FIELDS.iter().find(|f| f.path == general)
}

/// `path` with every list index emptied.
fn generalised(path: &str) -> String {
    let mut out = String::with_capacity(path.len());
    let mut inside = false;
    for c in path.chars() {
        match c {
            '[' => {
                inside = true;
                out.push('[');
            }
            ']' => {
                inside = false;
                out.push(']');
            }
            _ if inside => {}
            c => out.push(c),
        }
    }
    out
}

/// `base[index].rest` split into index and rest, when `path` starts with `base[`.
pub(crate) fn indexed<'a>(path: &'a str, base: &str) -> Option<(usize, &'a str)> {
    let (index, rest) = path.strip_prefix(base)?.strip_prefix('[')?.split_once(']')?;
    Some((index.parse().ok()?, rest.strip_prefix('.').unwrap_or(rest)))
}

/// A number of the design, to be read.
enum Read<'a> {
    Number(&'a f64),
    Optional(&'a Option<f64>),
    Whole(&'a u32),
}

/// A number of the design, to be written.
enum Write<'a> {
    Number(&'a mut f64),
    Optional(&'a mut Option<f64>),
    Whole(&'a mut u32),
}

/// The one list of paths, for reading (`&`) and for writing (`&mut`).
macro_rules! slot {
    ($design:expr, $path:expr, $kind:ident, $get:ident, $light:ident $(, $mutable:tt)?) => {
        {
            if let Some((index, rest)) = indexed($path, "stack.layers") {
                let layer = $design.stack.layers.$get(index)?;
                return Some(match rest {
                    "thickness_um" => $kind::Number(& $($mutable)? layer.thickness_um),
                    "width_um" => $kind::Optional(& $($mutable)? layer.width_um),
                    "offset_um" => $kind::Number(& $($mutable)? layer.offset_um),
                    "modulus_mpa" => $kind::Number(& $($mutable)? layer.modulus_mpa),
                    "poisson_ratio" => $kind::Number(& $($mutable)? layer.poisson_ratio),
                    "allowable_strain_percent" => $kind::Number(& $($mutable)? layer.allowable_strain_percent),
                    "allowable_compression_percent" => {
                        $kind::Optional(& $($mutable)? layer.allowable_compression_percent)
                    }
                    "yield_strain_percent" => $kind::Optional(& $($mutable)? layer.yield_strain_percent),
                    "refractive_index" => $kind::Optional(& $($mutable)? layer.refractive_index),
                    "cte_ppm_per_k" => $kind::Optional(& $($mutable)? layer.cte_ppm_per_k),
                    "toughness_mpa_sqrt_m" => $kind::Optional(& $($mutable)? layer.toughness_mpa_sqrt_m),
                    "brittle.weibull_modulus" => $kind::Number(& $($mutable)? layer.brittle.$light()?.weibull_modulus),
                    "brittle.strength_mpa" => $kind::Number(& $($mutable)? layer.brittle.$light()?.strength_mpa),
                    "brittle.reference_length_um" => $kind::Number(& $($mutable)? layer.brittle.$light()?.reference_length_um),
                    "brittle.static_fatigue_n" => $kind::Optional(& $($mutable)? layer.brittle.$light()?.static_fatigue_n),
                    "brittle.proof_stress_mpa" => $kind::Optional(& $($mutable)? layer.brittle.$light()?.proof_stress_mpa),
                    "strain_life.fatigue_strength_mpa" => $kind::Number(& $($mutable)? layer.strain_life.$light()?.fatigue_strength_mpa),
                    "strain_life.strength_exponent" => $kind::Number(& $($mutable)? layer.strain_life.$light()?.strength_exponent),
                    "strain_life.fatigue_ductility" => $kind::Number(& $($mutable)? layer.strain_life.$light()?.fatigue_ductility),
                    "strain_life.ductility_exponent" => $kind::Number(& $($mutable)? layer.strain_life.$light()?.ductility_exponent),
                    "foil.ductility" => $kind::Number(& $($mutable)? layer.foil.$light()?.ductility),
                    "foil.ultimate_mpa" => $kind::Number(& $($mutable)? layer.foil.$light()?.ultimate_mpa),
                    _ => return None,
                });
            }
            if let Some((index, rest)) = indexed($path, "process.steps") {
                let step = $design.process.$light()?.steps.$get(index)?;
                return Some(match rest {
                    "temperature_c" => $kind::Number(& $($mutable)? step.temperature_c),
                    "intrinsic_stress_mpa" => $kind::Number(& $($mutable)? step.intrinsic_stress_mpa),
                    _ => return None,
                });
            }
            if let Some((index, rest)) = indexed($path, "life.cycles") {
                let block = $design.life.$light()?.cycles.$get(index)?;
                return Some(match rest {
                    "from_percent" => $kind::Number(& $($mutable)? block.from_percent),
                    "to_percent" => $kind::Number(& $($mutable)? block.to_percent),
                    "count" => $kind::Number(& $($mutable)? block.count),
                    _ => return None,
                });
            }
            if let Some((index, "")) = indexed($path, "map.amplitude_um") {
                return $design.map.$light()?.amplitude_um.$get(index).map($kind::Number);
            }
            if let Some((index, "")) = indexed($path, "map.pitch_um") {
                return $design.map.$light()?.pitch_um.$get(index).map($kind::Number);
            }
            Some(match $path {
                "shape.pitch_um" => $kind::Number(& $($mutable)? $design.shape.pitch_um),
                "shape.amplitude_um" => $kind::Number(& $($mutable)? $design.shape.amplitude_um),
                "shape.radius_um" => $kind::Optional(& $($mutable)? $design.shape.radius_um),
                "shape.tilt_deg" => $kind::Optional(& $($mutable)? $design.shape.tilt_deg),
                "shape.plateau_share" => $kind::Optional(& $($mutable)? $design.shape.plateau_share),
                "shape.periods" => $kind::Whole(& $($mutable)? $design.shape.periods),
                "shape.width_um" => $kind::Number(& $($mutable)? $design.shape.width_um),
                "shape.lead_um" => $kind::Number(& $($mutable)? $design.shape.lead_um),
                "shape.end_radius_um" => $kind::Optional(& $($mutable)? $design.shape.end_radius_um),
                "support.sideways_um" => $kind::Number(& $($mutable)? $design.support.sideways_um),
                "support.turn_deg" => $kind::Number(& $($mutable)? $design.support.turn_deg),
                "support.curl_radius_um" => $kind::Optional(& $($mutable)? $design.support.curl_radius_um),
                "support.elastomer.modulus_mpa" => {
                    $kind::Number(& $($mutable)? $design.support.elastomer.$light()?.modulus_mpa)
                }
                "support.elastomer.poisson_ratio" => {
                    $kind::Number(& $($mutable)? $design.support.elastomer.$light()?.poisson_ratio)
                }
                "support.elastomer.thickness_um" => {
                    $kind::Number(& $($mutable)? $design.support.elastomer.$light()?.thickness_um)
                }
                "light.wavelength_um" => $kind::Number(& $($mutable)? $design.light.$light()?.wavelength_um),
                "light.surroundings_index" => {
                    $kind::Number(& $($mutable)? $design.light.$light()?.surroundings_index)
                }
                "light.propagation_loss_db_per_cm" => {
                    $kind::Number(& $($mutable)? $design.light.$light()?.propagation_loss_db_per_cm)
                }
                "light.end_loss_db" => $kind::Number(& $($mutable)? $design.light.$light()?.end_loss_db),
                "duty.target_stretch_percent" => {
                    $kind::Number(& $($mutable)? $design.duty.target_stretch_percent)
                }
                "trace.resistivity_nohm_m" => $kind::Number(& $($mutable)? $design.trace.$light()?.resistivity_nohm_m),
                "trace.temp_coeff_per_k" => $kind::Number(& $($mutable)? $design.trace.$light()?.temp_coeff_per_k),
                "trace.gauge_factor" => $kind::Number(& $($mutable)? $design.trace.$light()?.gauge_factor),
                "trace.current_ma" => $kind::Number(& $($mutable)? $design.trace.$light()?.current_ma),
                "trace.passes" => $kind::Whole(& $($mutable)? $design.trace.$light()?.passes),
                "trace.ambient_c" => $kind::Number(& $($mutable)? $design.trace.$light()?.ambient_c),
                "trace.heat_loss_w_per_m2_k" => $kind::Number(& $($mutable)? $design.trace.$light()?.heat_loss_w_per_m2_k),
                "trace.sheet_thickness_um" => $kind::Optional(& $($mutable)? $design.trace.$light()?.sheet_thickness_um),
                "trace.sheet_conductivity_w_per_m_k" => $kind::Optional(& $($mutable)? $design.trace.$light()?.sheet_conductivity_w_per_m_k),
                "trace.mean_free_path_nm" => $kind::Optional(& $($mutable)? $design.trace.$light()?.mean_free_path_nm),
                "trace.grain_nm" => $kind::Optional(& $($mutable)? $design.trace.$light()?.grain_nm),
                "process.handle.thickness_um" => $kind::Number(& $($mutable)? $design.process.$light()?.handle.thickness_um),
                "process.handle.modulus_mpa" => $kind::Number(& $($mutable)? $design.process.$light()?.handle.modulus_mpa),
                "process.handle.poisson_ratio" => $kind::Number(& $($mutable)? $design.process.$light()?.handle.poisson_ratio),
                "process.handle.cte_ppm_per_k" => $kind::Number(& $($mutable)? $design.process.$light()?.handle.cte_ppm_per_k),
                "process.handle.diameter_mm" => $kind::Number(& $($mutable)? $design.process.$light()?.handle.diameter_mm),
                "process.service_low_c" => $kind::Number(& $($mutable)? $design.process.$light()?.service_low_c),
                "process.service_high_c" => $kind::Number(& $($mutable)? $design.process.$light()?.service_high_c),
                "process.bow_limit_um" => $kind::Optional(& $($mutable)? $design.process.$light()?.bow_limit_um),
                "process.adhesion_j_per_m2" => $kind::Optional(& $($mutable)? $design.process.$light()?.adhesion_j_per_m2),
                "islands.pitch_um" => $kind::Number(& $($mutable)? $design.islands.$light()?.pitch_um),
                "islands.length_um" => $kind::Number(& $($mutable)? $design.islands.$light()?.length_um),
                "islands.thickness_um" => $kind::Number(& $($mutable)? $design.islands.$light()?.thickness_um),
                "islands.modulus_mpa" => $kind::Number(& $($mutable)? $design.islands.$light()?.modulus_mpa),
                "islands.poisson_ratio" => $kind::Number(& $($mutable)? $design.islands.$light()?.poisson_ratio),
                "islands.sheet_thickness_um" => $kind::Number(& $($mutable)? $design.islands.$light()?.sheet_thickness_um),
                "islands.sheet_modulus_mpa" => $kind::Number(& $($mutable)? $design.islands.$light()?.sheet_modulus_mpa),
                "islands.sheet_poisson_ratio" => $kind::Number(& $($mutable)? $design.islands.$light()?.sheet_poisson_ratio),
                "islands.adhesive_thickness_um" => $kind::Optional(& $($mutable)? $design.islands.$light()?.adhesive_thickness_um),
                "islands.adhesive_shear_modulus_mpa" => $kind::Optional(& $($mutable)? $design.islands.$light()?.adhesive_shear_modulus_mpa),
                "islands.sheet_stretch_percent" => $kind::Number(& $($mutable)? $design.islands.$light()?.sheet_stretch_percent),
                "islands.strain_limit_percent" => $kind::Number(& $($mutable)? $design.islands.$light()?.strain_limit_percent),
                "islands.root_um" => $kind::Optional(& $($mutable)? $design.islands.$light()?.root_um),
                "islands.grating.angle_deg" => $kind::Number(& $($mutable)? $design.islands.$light()?.grating.$light()?.angle_deg),
                "islands.grating.group_index" => $kind::Optional(& $($mutable)? $design.islands.$light()?.grating.$light()?.group_index),
                "islands.grating.drift_limit_nm" => $kind::Number(& $($mutable)? $design.islands.$light()?.grating.$light()?.drift_limit_nm),
                "duty.wrap.radius_um" => $kind::Number(& $($mutable)? $design.duty.wrap.$light()?.radius_um),
                "duty.wrap.length_um" => $kind::Optional(& $($mutable)? $design.duty.wrap.$light()?.length_um),
                "life.seconds_per_cycle" => $kind::Number(& $($mutable)? $design.life.$light()?.seconds_per_cycle),
                "life.ribbons" => $kind::Whole(& $($mutable)? $design.life.$light()?.ribbons),
                "life.survival_percent" => $kind::Number(& $($mutable)? $design.life.$light()?.survival_percent),
                "life.damage_limit" => $kind::Number(& $($mutable)? $design.life.$light()?.damage_limit),
                "limits.resistance_ohm" => $kind::Optional(& $($mutable)? $design.limits.resistance_ohm),
                "limits.voltage_drop_mv" => $kind::Optional(& $($mutable)? $design.limits.voltage_drop_mv),
                "limits.temperature_rise_k" => $kind::Optional(& $($mutable)? $design.limits.temperature_rise_k),
                "limits.insertion_loss_db" => $kind::Optional(& $($mutable)? $design.limits.insertion_loss_db),
                "limits.least_radius_um" => $kind::Number(& $($mutable)? $design.limits.least_radius_um),
                "limits.clearance_um" => $kind::Number(& $($mutable)? $design.limits.clearance_um),
                "limits.span_um" => $kind::Number(& $($mutable)? $design.limits.span_um),
                "limits.height_um" => $kind::Optional(& $($mutable)? $design.limits.height_um),
                "limits.room_above_um" => $kind::Optional(& $($mutable)? $design.limits.room_above_um),
                "limits.room_below_um" => $kind::Optional(& $($mutable)? $design.limits.room_below_um),
                _ => return None,
            })
        }
    };
}

impl Design {
    /// The number at `path`, in the file's unit; `None` where the path names no number or the field is absent.
    ///
    /// A layer is named by index, as in `stack.layers[1].thickness_um`.
    pub fn number(&self, path: &str) -> Option<f64> {
        match self.read(path)? {
            Read::Number(n) => Some(*n),
            Read::Optional(n) => *n,
            Read::Whole(n) => Some(f64::from(*n)),
        }
    }

    /// Sets the number at `path`, in the file's unit. Returns false where the path names no number.
    ///
    /// The value is not judged here: [`Design::check`] does that. A whole-number field is rounded.
    pub fn set_number(&mut self, path: &str, value: f64) -> bool {
        match self.write(path) {
            Some(Write::Number(n)) => *n = value,
            Some(Write::Optional(n)) => *n = Some(value),
            Some(Write::Whole(n)) => *n = value.round().clamp(0.0, f64::from(u32::MAX)) as u32,
            None => return false,
        }
        true
    }

    fn read(&self, path: &str) -> Option<Read<'_>> {
        slot!(self, path, Read, get, as_ref)
    }

    fn write(&mut self, path: &str) -> Option<Write<'_>> {
        slot!(self, path, Write, get_mut, as_mut, mut)
    }

    /// Paths of all numbers that this design holds, in the order of the file.
    pub fn number_paths(&self) -> Vec<String> {
        let mut paths = Vec::new();
        for f in FIELDS {
            let count = if f.path.starts_with("stack.layers[]") {
                self.stack.layers.len()
            } else if f.path.starts_with("process.steps[]") {
                self.process.as_ref().map_or(0, |p| p.steps.len())
            } else if f.path.starts_with("life.cycles[]") {
                self.life.as_ref().map_or(0, |l| l.cycles.len())
            } else if f.path.starts_with("map.") {
                2
            } else {
                0
            };
            if count == 0 && !f.path.contains("[]") {
                paths.push(f.path.to_owned());
            }
            paths.extend((0..count).map(|i| f.path.replacen("[]", &format!("[{i}]"), 1)));
        }
        paths.retain(|p| self.number(p).is_some());
        paths
    }
}
