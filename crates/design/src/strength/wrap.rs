//! The ribbon wrapped round the cylinder of its duty.

use super::result::{Balance, WrapFace, WrapLayer, WrapResult};
use crate::checked::{Checked, CheckedLayer};
use crate::document::{FaceName, SupportName, WrapDuty};
use crate::text::{digits, number};
use ogee_stack::{ContactFace, LeastRadius, ModulusKind, Ply, PlyLimit, Wrap, Wrapped};

/// Anticlastic number from which a ribbon bends more like a plate than like a beam.
const PLATE_FROM: f64 = 4.0;
/// Poisson's ratio that stands for an elastomer which keeps its volume.
const INCOMPRESSIBLE: f64 = 0.4999;

/// A wrap that has been solved.
#[derive(Clone, Debug)]
pub(crate) struct Case {
    duty: WrapDuty,
    wrap: Wrap,
    wrapped: Wrapped,
    ply_names: Vec<String>,
    face: ContactFace,
    /// Height of the ribbon's bottom face above that of the bent stack, µm.
    base_um: f64,
    /// Number of the ply of the ribbon's lowest layer.
    first_ply: usize,
    stiffness_un_um2: [f64; 3],
    is_plate: bool,
}

/// The layer nearest to its limit, and by how much.
#[derive(Clone, Debug)]
pub(crate) struct Worst {
    /// Number of the judged layer.
    pub(crate) layer: usize,
    /// Allowed strain over the strain, dimensionless.
    pub(crate) margin: f64,
    /// The strain that decides, dimensionless; negative in compression.
    pub(crate) strain: f64,
    /// Its limit, dimensionless and positive.
    pub(crate) limit: f64,
}

impl Case {
    /// Solves the wrap of a design; `None` without `duty.wrap`.
    pub(crate) fn of(checked: &Checked) -> Result<Option<Self>, String> {
        let Some(duty) = checked.design().duty.wrap else { return Ok(None) };
        let section = checked.section();
        let stiffness = section.bending_stiffness_at_radius(duty.radius_um).map_err(|e| e.to_string())?;
        let support = &checked.design().support;
        let bed = support.elastomer.filter(|_| support.kind == SupportName::Bonded);
        let is_plate = bed.is_some() || stiffness.number > PLATE_FROM;
        let kind = modulus_kind(is_plate);
        let mut plies = section.plies();
        let mut base_um = 0.0;
        if let Some(bed) = bed {
            let ply = Ply::new(
                "elastomer",
                bed.thickness_um,
                bed.modulus_mpa,
                bed.poisson_ratio.min(INCOMPRESSIBLE),
            );
            if bed.embedded {
                plies.push(Ply { name: "elastomer above".to_owned(), ..ply.clone() });
            }
            plies.insert(0, ply);
            base_um = bed.thickness_um;
        }
        let length_um = duty.length_um.unwrap_or_else(|| checked.centreline().span_um());
        let wrap = Wrap::new(&plies, kind, length_um).map_err(|e| e.to_string())?;
        let face = match duty.face {
            FaceName::Bottom => ContactFace::Bottom,
            FaceName::Top => ContactFace::Top,
        };
        let wrapped = wrap.at(duty.radius_um, face).map_err(|e| e.to_string())?;
        Ok(Some(Self {
            duty,
            wrap,
            wrapped,
            ply_names: plies.into_iter().map(|p| p.name).collect(),
            face,
            base_um,
            first_ply: usize::from(bed.is_some()),
            stiffness_un_um2: [stiffness.beam_un_um2, stiffness.ei_un_um2, stiffness.plate_un_um2],
            is_plate,
        }))
    }

    /// Greatest and least strain along the wrapped length of the fibre at that height above the ribbon's bottom face, by the
    /// wrap alone, dimensionless.
    pub(crate) fn strain_at(&self, z_um: f64) -> [f64; 2] {
        // Layers add up to the whole but for rounding, and no height inside the stack is refused.
        let z_um = (self.base_um + z_um).clamp(0.0, self.wrap.thickness_um());
        let range = self.wrap.strain_range_at(self.wrapped.curvature_per_um, z_um);
        range.map_or([f64::MAX, f64::MIN], |[a, b]| [a.max(b), a.min(b)])
    }

    /// Greatest and least strain of a layer by the wrap alone, dimensionless.
    pub(crate) fn of_layer(&self, layer: &CheckedLayer) -> [f64; 2] {
        let (bottom, top) = (self.strain_at(layer.bottom_um), self.strain_at(layer.top_um));
        [bottom[0].max(top[0]), bottom[1].min(top[1])]
    }

    /// The layer nearest to its limit with the strain of the pull added.
    ///
    /// * `pull`: greatest and least strain of every judged layer; zeros for the wrap alone.
    pub(crate) fn worst(&self, checked: &Checked, pull: &[[f64; 2]]) -> Option<Worst> {
        let mut worst: Option<Worst> = None;
        for (number, layer) in checked.layers().iter().enumerate() {
            let wrap = self.of_layer(layer);
            let [high, low] = pull.get(number).copied().unwrap_or([0.0; 2]);
            let (most_tension, most_compression) = layer.wrap_limits();
            let tension = (wrap[0] + high, Some(most_tension));
            let compression = (-(wrap[1] + low), most_compression);
            for (sign, (strain, limit)) in [(1.0, tension), (-1.0, compression)] {
                let Some(limit) = limit else { continue };
                let margin = if strain > 0.0 { limit / strain } else { f64::MAX };
                if worst.as_ref().is_none_or(|w| margin < w.margin) {
                    worst = Some(Worst { layer: number, margin, strain: sign * strain.max(0.0), limit });
                }
            }
        }
        worst
    }

    /// Least radius at which every layer keeps to its limits with the pull added, µm, and the layer that sets it; no radius
    /// where the pull alone is too much.
    fn least_radius(
        &self,
        checked: &Checked,
        pull: &[[f64; 2]],
    ) -> Result<(Option<f64>, Option<usize>), String> {
        let mut least = (0.0, None);
        for (number, layer) in checked.layers().iter().enumerate() {
            let [high, low] = pull.get(number).copied().unwrap_or([0.0; 2]);
            let (most_tension, most_compression) = layer.wrap_limits();
            let tension = most_tension - high;
            let compression = most_compression.map(|c| c + low);
            if tension <= 0.0 || compression.is_some_and(|c| c <= 0.0) {
                return Ok((None, Some(number)));
            }
            let Some(row) = self.row(checked, layer) else { continue };
            let limit = PlyLimit { ply: self.first_ply + row, tension, compression };
            let found = self.wrap.least_radius_along(self.face, &[limit], 0.0).map_err(|e| e.to_string())?;
            if let LeastRadius::Radius { radius_um, .. } = found
                && radius_um > least.0
            {
                least = (radius_um, Some(number));
            }
        }
        Ok((Some(least.0), least.1))
    }

    /// Number of the row in which a judged layer lies.
    fn row(&self, checked: &Checked, layer: &CheckedLayer) -> Option<usize> {
        let middle_um = self.base_um + f64::midpoint(layer.bottom_um, layer.top_um);
        let faces = self.wrap.interfaces_um();
        let ply = faces.windows(2).position(|f| (f[0]..=f[1]).contains(&middle_um))?;
        ply.checked_sub(self.first_ply).filter(|row| *row < checked.design().stack.layers.len())
    }

    /// The wrap as the result shows it.
    pub(crate) fn result(&self, checked: &Checked, pull: &[[f64; 2]]) -> Result<WrapResult, String> {
        let none = vec![[0.0; 2]; checked.layers().len()];
        let (least_radius_um, governing) = self.least_radius(checked, &none)?;
        let (least_radius_stretched_um, _) = self.least_radius(checked, pull)?;
        let (largest_shear, shear_layer) = self.largest_shear();
        let percent = |[a, b]: [f64; 2]| [100.0 * a, 100.0 * b];
        let layers = checked
            .layers()
            .iter()
            .zip(pull)
            .map(|(layer, pull)| {
                let wrap = self.of_layer(layer);
                let residual = layer.flat_residual;
                let together = [0, 1].map(|i| wrap[i] + pull[i] + residual[i]);
                WrapLayer {
                    name: layer.name.clone(),
                    wrap_percent: percent(wrap),
                    pull_percent: percent(*pull),
                    residual_percent: percent(residual),
                    together_percent: percent(together),
                    allowable_strain_percent: 100.0 * layer.given_strain,
                    margin: margin_of(layer, wrap),
                }
            })
            .collect();
        let shear_length_um = (self.wrap.interfaces_um().len() > 2)
            .then(|| self.wrap.decay_length_um())
            .filter(|l| l.is_finite());
        Ok(WrapResult {
            radius_um: self.duty.radius_um,
            face: self.duty.face.label().to_owned(),
            curvature_per_um: self.wrapped.curvature_per_um,
            length_um: self.wrap.length_um(),
            neutral_plane_um: self.wrap.neutral_plane_um() - self.base_um,
            thickness_um: self.wrap.thickness_um(),
            shear_length_um,
            faces: self.faces(),
            layers,
            least_radius_um,
            least_radius_stretched_um,
            governing_layer: governing.and_then(|i| checked.layers().get(i)).map(|l| l.name.clone()),
            largest_shear,
            shear_layer,
            stiffness_un_um2: self.stiffness_un_um2,
            balance: self.balances(checked),
            model: self.model(),
            validity: self.validity(),
        })
    }

    /// The model in words.
    pub(crate) fn model(&self) -> String {
        let section = if self.is_plate { "wide plate" } else { "narrow beam" };
        format!("plane sections with shear lag of soft layers, greatest along the wrapped length, {section}")
    }

    fn faces(&self) -> Vec<WrapFace> {
        let heights = self.wrap.interfaces_um();
        let split = &self.wrapped.split;
        (0..heights.len())
            .map(|k| {
                let below = k.checked_sub(1).and_then(|i| split.get(i)).map(|s| s[1]);
                let above = split.get(k).map(|s| s[0]);
                let either = below.or(above).unwrap_or(0.0);
                WrapFace {
                    z_um: heights[k] - self.base_um,
                    bonded_percent: 100.0 * self.wrapped.bonded[k],
                    middle_percent: 100.0 * self.wrapped.mid[k],
                    split_percent: [100.0 * below.unwrap_or(either), 100.0 * above.unwrap_or(either)],
                }
            })
            .collect()
    }

    fn largest_shear(&self) -> (f64, Option<String>) {
        let shears = self.wrapped.end_shear.iter().map(|s| s.abs()).enumerate();
        let Some((ply, shear)) = shears.max_by(|a, b| a.1.total_cmp(&b.1)) else { return (0.0, None) };
        (shear, self.ply_names.get(ply).cloned())
    }

    fn validity(&self) -> Vec<String> {
        let mut words: Vec<String> = self.wrapped.notes.iter().map(ToString::to_string).collect();
        words.push(
            "the whole curvature is taken at every place, as where the ribbon runs round the cylinder; arms that run \
             at an angle to it bend less and twist instead"
                .to_owned(),
        );
        if self.first_ply > 0 {
            words.push("elastomer and ribbon are bent as one plate of the ribbon's own width".to_owned());
        }
        words
    }

    /// The thicknesses of the outermost layers that put the neutral plane into the core, or into the trace.
    fn balances(&self, checked: &Checked) -> Vec<Balance> {
        let design = checked.design();
        let layers = &design.stack.layers;
        let wanted = design.light.as_ref().map(|l| &l.core).or(design.trace.as_ref().map(|t| &t.layer));
        let Some(into) = wanted.and_then(|name| layers.iter().position(|l| l.name == *name)) else {
            return Vec::new();
        };
        if self.first_ply > 0 {
            return Vec::new();
        }
        let plies = checked.section().plies();
        let kind = modulus_kind(self.is_plate);
        let stiffness: Vec<f64> =
            plies.iter().map(|p| kind.effective_mpa(p.modulus_mpa, p.poisson)).collect();
        let faces = self.wrap.interfaces_um();
        let target_um = f64::midpoint(faces[into], faces[into + 1]);
        let last = layers.len() - 1;
        let mut list = Vec::new();
        for outer in [0, last] {
            if outer == into || (outer == last && last == 0) {
                continue;
            }
            // Moment of all other plies about the wanted height, positive where they pull the plane towards the outer layer.
            let side = if outer == 0 { -1.0 } else { 1.0 };
            let others: f64 = (0..plies.len())
                .filter(|i| *i != outer)
                .map(|i| {
                    let arm = f64::midpoint(faces[i], faces[i + 1]) - target_um;
                    stiffness[i] * plies[i].thickness_um * side * arm
                })
                .sum();
            let inner_um = if outer == 0 { target_um - faces[1] } else { faces[last] - target_um };
            // E t (d + t/2) must balance what the others leave.
            let missing = -others / stiffness[outer];
            let balanced_um = -inner_um + (inner_um * inner_um + 2.0 * missing).max(0.0).sqrt();
            if missing > 0.0 && balanced_um.is_finite() && balanced_um > 0.0 {
                list.push(Balance {
                    layer: layers[outer].name.clone(),
                    index: outer,
                    thickness_um: layers[outer].thickness_um,
                    balanced_um,
                    into: layers[into].name.clone(),
                });
            }
        }
        list
    }
}

/// The modulus with which plies bend.
fn modulus_kind(is_plate: bool) -> ModulusKind {
    if is_plate { ModulusKind::PlaneStrain } else { ModulusKind::Beam }
}

/// Allowed strain over the strain of a layer, the smaller of tension and compression.
fn margin_of(layer: &CheckedLayer, [high, low]: [f64; 2]) -> f64 {
    let (most_tension, most_compression) = layer.wrap_limits();
    let tension = if high > 0.0 { most_tension / high } else { f64::MAX };
    let compression = match most_compression {
        Some(limit) if low < 0.0 => limit / -low,
        _ => f64::MAX,
    };
    tension.min(compression).min(crate::margin::LARGEST_MARGIN)
}

/// What the strain of a wrap is, in words for its place.
pub(crate) fn place_words(checked: &Checked, worst: &Worst) -> String {
    let name = checked.layers().get(worst.layer).map_or("", |l| l.name.as_str());
    let side = if worst.strain < 0.0 { "inner side, in compression" } else { "outer side, in tension" };
    format!("{name}, {side}")
}

/// The cylinder in words.
pub(crate) fn cylinder_words(duty: &WrapDuty) -> String {
    if duty.radius_um >= 1000.0 {
        format!("{} mm", digits(duty.radius_um / 1000.0, 3))
    } else {
        format!("{} µm", number(duty.radius_um))
    }
}
