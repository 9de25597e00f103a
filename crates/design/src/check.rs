//! From the document to checked domain types, or to every fault at once.

use crate::checked::{Checked, CheckedLayer, CheckedLight};
use crate::document::{Design, EndsName, FamilyName, PolarisationName, Shape, StackLayer, SupportName};
use crate::fault::Fault;
use crate::fields::field_at;
use crate::strength::{Oven, Piece};
use crate::text::number;
use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter, ShapeError};
use ogee_mechanics::Strips;
use ogee_optics::{Core, LightError, Polarisation};
use ogee_stack::{Filler, Layer, Row, Section};
use std::sync::{Arc, OnceLock};

/// Most layers that a stack may have.
const MOST_LAYERS: usize = 64;

/// A number in words, with all its digits where the usual four would tell another one.
fn exact(value: f64) -> String {
    let short = number(value);
    let is_told = short.parse() == Ok(value) || short.contains('e') || !value.is_finite();
    if is_told { short } else { value.to_string() }
}

impl Shape {
    /// The meander family with its own parameter.
    ///
    /// # Errors
    /// A fault where the family's own parameter is missing or given twice.
    pub fn family(&self) -> Result<Family, Fault> {
        Ok(match self.family {
            FamilyName::Sine => Family::Sine,
            FamilyName::Arc => Family::Arc,
            FamilyName::SineGenerated => Family::SineGenerated,
            FamilyName::Clothoid => Family::Clothoid {
                plateau_share: self.plateau_share.ok_or_else(|| {
                    Fault::new("shape.plateau_share", "", "a clothoid needs it: a number from 0 to 1")
                        .with_nearest(Some(0.3))
                })?,
            },
            FamilyName::ArcAndArm => Family::ArcAndArm(match (self.radius_um, self.tilt_deg) {
                (Some(radius_um), None) => ArmDrive::Radius { radius_um },
                (None, Some(tilt)) => ArmDrive::Tilt { tilt_rad: tilt.to_radians() },
                (Some(_), Some(tilt)) => {
                    return Err(Fault::new(
                        "shape.tilt_deg",
                        number(tilt),
                        "an arc-and-arm shape is driven by radius_um or by tilt_deg, not by both",
                    ));
                }
                (None, None) => {
                    return Err(Fault::new(
                        "shape.radius_um",
                        "",
                        "an arc-and-arm shape needs radius_um or tilt_deg",
                    ));
                }
            }),
        })
    }

    /// The ribbon's centreline.
    ///
    /// # Errors
    /// A fault that says which inequality failed, with the nearest possible value.
    pub fn centreline(&self) -> Result<Centreline, Fault> {
        let family = self.family()?;
        let ends = match self.ends {
            EndsName::Crest => Ends::Crest,
            EndsName::Crossing => Ends::Crossing,
            EndsName::Midline => Ends::Midline,
        };
        let quarter =
            Quarter::new(family, self.pitch_um, self.amplitude_um).map_err(|e| self.shape_fault(&e))?;
        let end_radius_um = self.end_radius_um.filter(|_| ends == Ends::Midline);
        Centreline::new(quarter, self.periods, ends, self.lead_um, end_radius_um)
            .map_err(|e| self.shape_fault(&e))
    }

    /// A geometry error as a fault of this document.
    pub(crate) fn shape_fault(&self, error: &ShapeError) -> Fault {
        let path = format!("shape.{}", error.field());
        let value = match error.field() {
            "pitch_um" => number(self.pitch_um),
            "amplitude_um" => number(self.amplitude_um),
            "width_um" => number(self.width_um),
            "lead_um" => number(self.lead_um),
            "periods" => self.periods.to_string(),
            "radius_um" => self.radius_um.map(number).unwrap_or_default(),
            "tilt_deg" => self.tilt_deg.map(number).unwrap_or_default(),
            "plateau_share" => self.plateau_share.map(number).unwrap_or_default(),
            "end_radius_um" => self.end_radius_um.map(number).unwrap_or_default(),
            _ => String::new(),
        };
        Fault::new(path, value, error.to_string()).with_nearest(error.nearest())
    }
}

impl Design {
    /// Turns the document into checked domain types.
    ///
    /// # Errors
    /// Every fault at once: first all numbers out of range and all names that lead nowhere; where there are
    /// none, what the shape, the section and the core have to object.
    pub fn check(&self) -> Result<Checked, Vec<Fault>> {
        let mut faults = self.range_faults();
        faults.extend(self.name_faults());
        if !faults.is_empty() {
            return Err(faults);
        }
        let centreline = self.shape.centreline().map_err(|f| faults.push(f)).ok();
        if let Some(line) = &centreline
            && let Some(fault) = self.folding_fault(line)
        {
            faults.push(fault);
        }
        let section = self.section().map_err(|f| faults.push(f)).ok();
        let light = self.checked_light().map_err(|f| faults.push(f)).ok();
        let oven = Oven::of(self).map_err(|f| faults.push(f)).ok();
        match (centreline, section, light, oven) {
            (Some(centreline), Some(section), Some(light), Some(oven)) if faults.is_empty() => {
                let pairs: Vec<(f64, f64)> =
                    section.strips().iter().map(|s| (s.stiffness_un_per_um, 2.0 * s.half_width_um)).collect();
                match Strips::new(&pairs) {
                    Ok(strips) => Ok(Checked {
                        layers: self.judged_layers(oven.as_ref()),
                        oven,
                        design: Arc::new(self.clone()),
                        centreline,
                        section,
                        strips,
                        light,
                        torsion: OnceLock::new(),
                    }),
                    Err(error) => Err(vec![Fault::new("stack.layers", "", error.to_string())]),
                }
            }
            _ => Err(faults),
        }
    }

    fn range_faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for path in self.number_paths() {
            let (Some(value), Some(field)) = (self.number(&path), field_at(&path)) else { continue };
            if value.is_finite() && value >= field.min && value <= field.max {
                continue;
            }
            let unit = if field.unit.is_empty() { String::new() } else { format!(" {}", field.unit) };
            let message = format!("from {} to {}{unit} is allowed", exact(field.min), exact(field.max));
            let nearest = value.is_finite().then(|| value.clamp(field.min, field.max));
            faults.push(Fault::new(path, exact(value), message).with_nearest(nearest));
        }
        if let Some(map) = &self.map {
            for (name, [low, high]) in
                [("map.amplitude_um", map.amplitude_um), ("map.pitch_um", map.pitch_um)]
            {
                if low >= high {
                    let value = format!("[{}, {}]", number(low), number(high));
                    faults.push(Fault::new(name, value, "the first value must be below the second"));
                }
            }
        }
        faults
    }

    fn name_faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let layers = &self.stack.layers;
        if layers.is_empty() {
            faults.push(Fault::new("stack.layers", "0 layers", "a ribbon needs at least one layer"));
        }
        if layers.len() > MOST_LAYERS {
            let value = format!("{} layers", layers.len());
            faults.push(Fault::new(
                "stack.layers",
                value,
                format!("from 1 to {MOST_LAYERS} layers are allowed"),
            ));
        }
        for (i, layer) in layers.iter().enumerate() {
            let path = |key: &str| format!("stack.layers[{i}].{key}");
            if layer.name.trim().is_empty() {
                faults.push(Fault::new(path("name"), "", "every layer needs a name"));
            }
            if layers[..i].iter().any(|l| l.name == layer.name) {
                faults.push(Fault::new(
                    path("name"),
                    &layer.name,
                    "two layers have this name; names are unique",
                ));
            }
            if let Some(sides) = &layer.sides
                && !layers.iter().any(|l| l.name == *sides && l.name != layer.name)
            {
                let message = format!("no other layer has this name; there are {}", self.layer_names());
                faults.push(Fault::new(path("sides"), sides, message));
            }
            let width = self.layer_width_um(layer);
            let room = self.shape.width_um / 2.0 - layer.offset_um.abs();
            if width / 2.0 > room * (1.0 + 1e-12) && layer.width_um.is_some() {
                let message = format!(
                    "the layer reaches beyond the ribbon's width of {} µm; at most {} µm fits at its offset of {} µm",
                    number(self.shape.width_um),
                    number((2.0 * room).max(0.0)),
                    number(layer.offset_um)
                );
                let nearest = (room > 0.0).then_some(2.0 * room);
                faults.push(Fault::new(path("width_um"), number(width), message).with_nearest(nearest));
            }
            let narrow = width < self.shape.width_um * (1.0 - 1e-12);
            if narrow
                && layer.sides.is_none()
                && layers[i + 1..].iter().any(|l| self.layer_width_um(l) > width)
            {
                faults.push(Fault::new(
                    path("sides"),
                    "",
                    "a wider layer lies above this one, so its sides must be filled: name the layer whose material does",
                ));
            }
        }
        self.support_faults(&mut faults);
        self.strength_faults(&mut faults);
        if let Some(light) = &self.light {
            if let Some(i) = layers.iter().position(|l| l.name == light.core) {
                if layers[i].refractive_index.is_none() {
                    let path = format!("stack.layers[{i}].refractive_index");
                    faults.push(Fault::new(path, "", "the core needs a refractive index"));
                }
                for j in [i.checked_sub(1), Some(i + 1)].into_iter().flatten() {
                    if layers.get(j).is_some_and(|l| l.refractive_index.is_none()) {
                        let path = format!("stack.layers[{j}].refractive_index");
                        faults.push(Fault::new(
                            path,
                            "",
                            "a layer next to the core needs a refractive index",
                        ));
                    }
                }
                if let Some(sides) = &layers[i].sides
                    && let Some(j) = layers.iter().position(|l| l.name == *sides)
                    && layers[j].refractive_index.is_none()
                {
                    let path = format!("stack.layers[{j}].refractive_index");
                    faults.push(Fault::new(
                        path,
                        "",
                        "the material beside the core needs a refractive index",
                    ));
                }
            } else {
                let message = format!("no layer has this name; there are {}", self.layer_names());
                faults.push(Fault::new("light.core", &light.core, message));
            }
            if self.limits.insertion_loss_db.is_none() {
                let message = "a design with light needs a limit of insertion loss";
                faults.push(Fault::new("limits.insertion_loss_db", "", message));
            }
        }
        faults
    }

    fn layer_names(&self) -> String {
        let names: Vec<String> = self.stack.layers.iter().map(|l| format!("`{}`", l.name)).collect();
        names.join(", ")
    }

    fn layer_width_um(&self, layer: &StackLayer) -> f64 {
        layer.width_um.unwrap_or(self.shape.width_um)
    }

    /// The inner edge of the tightest bend must not fold: R > w/2.
    fn folding_fault(&self, line: &Centreline) -> Option<Fault> {
        let radius = line.least_radius_um();
        let width = self.shape.width_um;
        (width >= 2.0 * radius).then(|| {
            let message = format!(
                "bend radius {} µm is no more than half the width of {} µm, so the inner edge folds; less than {} µm is possible",
                number(radius),
                number(width),
                number(2.0 * radius)
            );
            // A hair below, so that the value offered passes.
            Fault::new("shape.width_um", number(width), message).with_nearest(Some(1.98 * radius))
        })
    }

    fn section(&self) -> Result<Section, Fault> {
        let rows = self
            .stack
            .layers
            .iter()
            .map(|l| Row {
                core: Layer {
                    name: l.name.clone(),
                    width_um: self.layer_width_um(l),
                    thickness_um: l.thickness_um,
                    offset_um: l.offset_um,
                    modulus_mpa: l.modulus_mpa,
                    poisson: l.poisson_ratio,
                },
                filler: l
                    .sides
                    .as_ref()
                    .and_then(|s| self.stack.layers.iter().find(|o| o.name == *s))
                    .map(|o| Filler::new(o.name.clone(), o.modulus_mpa, o.poisson_ratio)),
            })
            .collect();
        Section::new(self.shape.width_um, rows).map_err(|e| {
            let path = match (e.row(), e.field()) {
                (Some(row), Some(field)) => format!("stack.layers[{row}].{}", field.key()),
                _ => "stack.layers".to_owned(),
            };
            let value = e.value().map(number).unwrap_or_default();
            Fault::new(path, value, e.to_string()).with_nearest(e.nearest())
        })
    }

    fn judged_layers(&self, oven: Option<&Oven>) -> Vec<CheckedLayer> {
        let flat = |piece| oven.map_or([0.0; 2], |oven| oven.residual(piece, false));
        let curls =
            self.support.kind == SupportName::Free && oven.is_some_and(|oven| oven.curl_per_um() != 0.0);
        let residual =
            |piece| oven.filter(|_| curls).map_or_else(|| flat(piece), |oven| oven.residual(piece, true));
        // A piece between two edges and two faces, with the limits of the layer whose material it is.
        let judge = |name: String, [right_um, left_um]: [f64; 2], faces: [f64; 2], of: &StackLayer, piece| {
            let strain = of.allowable_strain_percent / 100.0;
            let compression = of.allowable_compression_percent.map(|p| p / 100.0);
            CheckedLayer {
                name,
                right_um,
                left_um,
                bottom_um: faces[0],
                top_um: faces[1],
                allowable_strain: strain,
                allowable_compression: compression,
                given_strain: strain,
                given_compression: compression,
                residual: [0.0; 2],
                flat_residual: [0.0; 2],
            }
            .with_residual(residual(piece), flat(piece))
        };
        let mut bottom_um = 0.0;
        let mut judged = Vec::new();
        for (i, layer) in self.stack.layers.iter().enumerate() {
            let half = self.layer_width_um(layer) / 2.0;
            let faces = [bottom_um, bottom_um + layer.thickness_um];
            let edges = [layer.offset_um - half, layer.offset_um + half];
            judged.push(judge(layer.name.clone(), edges, faces, layer, Piece::Layer(i)));
            // A filler reaches the ribbon's edge here although its own layer may not.
            if let Some(filler) =
                layer.sides.as_ref().and_then(|s| self.stack.layers.iter().find(|o| o.name == *s))
                && self.layer_width_um(filler) < self.shape.width_um
            {
                let name = format!("{} beside {}", filler.name, layer.name);
                let edges = [-self.shape.width_um / 2.0, self.shape.width_um / 2.0];
                judged.push(judge(name, edges, faces, filler, Piece::Beside(i)));
            }
            bottom_um = faces[1];
        }
        judged
    }

    fn checked_light(&self) -> Result<Option<CheckedLight>, Fault> {
        let Some(light) = &self.light else { return Ok(None) };
        let layers = &self.stack.layers;
        // The names were checked before.
        let Some(i) = layers.iter().position(|l| l.name == light.core) else { return Ok(None) };
        let around = light.surroundings_index;
        let index_of = |l: Option<&StackLayer>| l.and_then(|l| l.refractive_index).unwrap_or(around);
        let side = layers[i].sides.as_ref().and_then(|s| layers.iter().find(|l| l.name == *s));
        let core = Core {
            wavelength_um: light.wavelength_um,
            width_um: self.layer_width_um(&layers[i]),
            height_um: layers[i].thickness_um,
            n_core: index_of(layers.get(i)),
            n_below: index_of(i.checked_sub(1).and_then(|j| layers.get(j))),
            n_above: index_of(layers.get(i + 1)),
            n_side: index_of(side),
            side_slab_um: None,
        };
        let polarisation = match light.polarisation {
            PolarisationName::QuasiTe => Polarisation::QuasiTe,
            PolarisationName::QuasiTm => Polarisation::QuasiTm,
        };
        let index = core.effective_index(polarisation).map_err(|e| light_fault(&e, i, &core))?;
        Ok(Some(CheckedLight {
            core_offset_um: layers[i].offset_um,
            core,
            polarisation,
            index,
            core_layer: i,
            insertion_loss_limit_db: self.limits.insertion_loss_db.unwrap_or(f64::MAX),
        }))
    }
}

/// An error of the optics as a fault of the core's layer.
fn light_fault(error: &LightError, core_layer: usize, core: &Core) -> Fault {
    let cladding = core.n_below.max(core.n_above).max(core.n_side);
    if core.n_core <= cladding {
        let message = format!(
            "the core's index is not above its cladding's of {}, so nothing is guided; more than {} is needed",
            number(cladding),
            number(cladding)
        );
        return Fault::new(
            format!("stack.layers[{core_layer}].refractive_index"),
            number(core.n_core),
            message,
        );
    }
    Fault::new(format!("stack.layers[{core_layer}].thickness_um"), number(core.height_um), error.to_string())
}
