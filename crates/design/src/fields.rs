//! The numeric fields of a design: path, label, unit and allowed range, in one list.
//!
//! The check, the window's inputs and `--set` all read this list, so a range is stated once.

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

const fn field(
    path: &'static str,
    label: &'static str,
    unit: &'static str,
    dimension: Dimension,
    range: [f64; 2],
    help: &'static str,
) -> Field {
    Field { path, label, unit, dimension, min: range[0], max: range[1], whole: false, help }
}

use Dimension::{Angle, Count, Length, Loss, LossPerLength, Plain, Pressure, Ratio};

/// Longest length that a design may name, µm: one metre.
const METRE_UM: f64 = 1e6;

/// Every numeric field of a design, in the order of the file.
pub const FIELDS: &[Field] = &[
    field(
        "shape.pitch_um",
        "Pitch",
        "µm",
        Length,
        [0.01, METRE_UM],
        "Length of one full period along the span",
    ),
    field(
        "shape.amplitude_um",
        "Amplitude",
        "µm",
        Length,
        [1e-4, METRE_UM],
        "Height of the centreline's crest above the midline",
    ),
    field(
        "shape.radius_um",
        "Bend radius",
        "µm",
        Length,
        [1e-4, METRE_UM],
        "Radius of the arcs between the arms",
    ),
    field(
        "shape.tilt_deg",
        "Tilt",
        "°",
        Angle,
        [0.01, 179.9],
        "Angle of the arms to the span; above 90° they overhang",
    ),
    field(
        "shape.plateau_share",
        "Plateau share",
        "",
        Plain,
        [0.0, 1.0],
        "Share of the quarter over which the curvature keeps its peak; 1 is a plain arc",
    ),
    Field {
        whole: true,
        ..field(
            "shape.periods",
            "Periods",
            "",
            Count,
            [1.0, 10_000.0],
            "Number of full periods between the leads",
        )
    },
    field("shape.width_um", "Width", "µm", Length, [1e-3, 1e5], "Width of the ribbon in the wafer plane"),
    field(
        "shape.lead_um",
        "Lead",
        "µm",
        Length,
        [0.0, METRE_UM],
        "Straight length between island and meander",
    ),
    field(
        "shape.end_radius_um",
        "End radius",
        "µm",
        Length,
        [1e-4, METRE_UM],
        "Radius of the bend between the lead and the first arm",
    ),
    field("stack.layers[].thickness_um", "Thickness", "µm", Length, [1e-5, 1e5], "Thickness of the layer"),
    field(
        "stack.layers[].width_um",
        "Width",
        "µm",
        Length,
        [1e-4, 1e5],
        "Width of a layer narrower than the ribbon",
    ),
    field(
        "stack.layers[].offset_um",
        "Offset",
        "µm",
        Length,
        [-1e5, 1e5],
        "Sideways offset of the layer's middle, towards the left edge",
    ),
    field("stack.layers[].modulus_mpa", "Modulus", "MPa", Pressure, [1e-4, 2e6], "Young's modulus"),
    field(
        "stack.layers[].poisson_ratio",
        "Poisson's ratio",
        "",
        Plain,
        [-0.99, 0.4999],
        "Between −1 and 0.5",
    ),
    field(
        "stack.layers[].allowable_strain_percent",
        "Allowed strain",
        "%",
        Ratio,
        [1e-4, 2000.0],
        "Largest tensile strain that the layer may see",
    ),
    field(
        "stack.layers[].allowable_compression_percent",
        "Allowed compression",
        "%",
        Ratio,
        [1e-4, 2000.0],
        "Largest compressive strain that the layer may see, as a positive number",
    ),
    field(
        "stack.layers[].yield_strain_percent",
        "Yield strain",
        "%",
        Ratio,
        [1e-4, 1000.0],
        "Strain beyond which the layer, such as a metal, does not spring back",
    ),
    field(
        "stack.layers[].refractive_index",
        "Index",
        "",
        Plain,
        [1.0, 6.0],
        "Refractive index at the working wavelength",
    ),
    field(
        "support.sideways_um",
        "Sideways offset",
        "µm",
        Length,
        [-METRE_UM, METRE_UM],
        "How far the far island sits beside its drawn place",
    ),
    field(
        "support.turn_deg",
        "Turn",
        "°",
        Angle,
        [-90.0, 90.0],
        "Angle by which the far island is turned in the plane, counter-clockwise",
    ),
    field(
        "support.curl_radius_um",
        "Curl radius",
        "µm",
        Length,
        [-1e9, 1e9],
        "Radius to which the ribbon curls once released, towards its top face where positive",
    ),
    field(
        "support.elastomer.modulus_mpa",
        "Elastomer modulus",
        "MPa",
        Pressure,
        [1e-6, 1e6],
        "Young's modulus of the elastomer that holds the ribbon",
    ),
    field(
        "support.elastomer.poisson_ratio",
        "Elastomer Poisson",
        "",
        Plain,
        [0.0, 0.5],
        "Poisson's ratio of the elastomer; 0.5 for rubber that keeps its volume",
    ),
    field(
        "support.elastomer.thickness_um",
        "Elastomer thickness",
        "µm",
        Length,
        [1e-3, METRE_UM],
        "Thickness of the elastomer under the ribbon, or on one side of an embedded one",
    ),
    field("light.wavelength_um", "Wavelength", "µm", Length, [0.2, 20.0], "Wavelength in vacuum"),
    field(
        "light.surroundings_index",
        "Surroundings",
        "",
        Plain,
        [1.0, 6.0],
        "Refractive index around the ribbon; air is 1",
    ),
    field(
        "light.propagation_loss_db_per_cm",
        "Propagation loss",
        "dB/cm",
        LossPerLength,
        [0.0, 1e4],
        "Loss of the straight guide by scattering and absorption",
    ),
    field("light.end_loss_db", "End loss", "dB", Loss, [0.0, 100.0], "Coupling loss of each end"),
    field(
        "duty.target_stretch_percent",
        "Target stretch",
        "%",
        Ratio,
        [0.01, 1000.0],
        "Elongation between the islands that the ribbon must reach",
    ),
    field(
        "limits.insertion_loss_db",
        "Insertion loss",
        "dB",
        Loss,
        [1e-6, 1000.0],
        "Largest loss from end to end, at rest and stretched",
    ),
    field(
        "limits.least_radius_um",
        "Least radius",
        "µm",
        Length,
        [1e-4, METRE_UM],
        "Smallest centreline radius that you accept",
    ),
    field(
        "limits.clearance_um",
        "Clearance",
        "µm",
        Length,
        [1e-4, METRE_UM],
        "Smallest gap between edges that can be made",
    ),
    field("limits.span_um", "Span", "µm", Length, [0.01, 1e8], "Room between the islands at rest"),
    field("limits.height_um", "Height", "µm", Length, [0.01, 1e8], "Room across the span, edge to edge"),
    field(
        "limits.room_above_um",
        "Room above",
        "µm",
        Length,
        [1e-3, METRE_UM],
        "Free room above the ribbon's plane, such as to a lid",
    ),
    field(
        "limits.room_below_um",
        "Room below",
        "µm",
        Length,
        [1e-3, METRE_UM],
        "Free room below the ribbon's plane",
    ),
    field(
        "map.amplitude_um[]",
        "Amplitude",
        "µm",
        Length,
        [1e-4, METRE_UM],
        "Range of the map's amplitude axis",
    ),
    field("map.pitch_um[]", "Pitch", "µm", Length, [0.01, METRE_UM], "Range of the map's pitch axis"),
];

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
fn indexed<'a>(path: &'a str, base: &str) -> Option<(usize, &'a str)> {
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
