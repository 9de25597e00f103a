//! How long each layer lasts: survival of brittle ones, cycles of metals, slow cracks in glass.

use super::field::{Fibre, Field, Pull, corners};
use super::result::{LifeBlock, LifeLayer, LifeResult};
use super::wrap;
use crate::checked::{Checked, CheckedLayer};
use crate::document::{Brittle, Life, StackLayer};
use crate::library::MaterialClass;
use crate::places;
use crate::result::Place;
use ogee_stack::{
    Cycles, DutyBlock, FoilDuctility, LifeBand, LifeError, LifeScatter, StaticFatigue, StrainLife, Waveform,
    Weibull, duty_repeats, fibre_practice_ratio, miner_damage,
};

/// The strain at both ends of a block of cycles.
struct Ends {
    from: Field,
    to: Field,
    wrapped: bool,
}

/// The result of a design's life; `None` without one.
pub(crate) fn result(
    checked: &Checked,
    wrapped: Option<&wrap::Case>,
    pull: &mut Pull<'_>,
) -> Result<Option<LifeResult>, String> {
    let design = checked.design();
    let Some(life) = &design.life else { return Ok(None) };
    let mut ends = Vec::new();
    for block in &life.cycles {
        ends.push(Ends {
            from: pull.field(checked, block.from_percent / 100.0)?,
            to: pull.field(checked, block.to_percent / 100.0)?,
            wrapped: block.wrapped,
        });
    }
    let mut layers = Vec::new();
    for layer in &design.stack.layers {
        let Some(judged) = checked.layers().iter().find(|l| l.name == layer.name) else { continue };
        let case = LayerCase { checked, life, layer, judged, ends: &ends, wrapped };
        if layer.strain_life.is_some() || layer.foil.is_some() {
            layers.push(case.metal().map_err(|e| e.to_string())?);
        }
        if let Some(brittle) = &layer.brittle {
            layers.push(case.brittle(brittle).map_err(|e| e.to_string())?);
        }
        if design.class_of(layer) == Some(MaterialClass::GlassyPolymer)
            && let Some(yield_percent) = layer.yield_strain_percent
        {
            layers.push(case.polymer(yield_percent / 100.0));
        }
    }
    let damage = layers.iter().filter_map(|l| l.damage).reduce(f64::max);
    let repeats = match damage {
        Some(damage) => repeats(&layers, damage, life.damage_limit).map_err(|e| e.to_string())?,
        None => None,
    };
    let survivals: Vec<f64> = layers.iter().filter_map(|l| l.survival_percent).collect();
    let cycles_asked: f64 = life.cycles.iter().map(|c| c.count).sum();
    Ok(Some(LifeResult {
        survival_percent: (!survivals.is_empty())
            .then(|| 100.0 * survivals.iter().map(|s| s / 100.0).product::<f64>()),
        damage,
        repeats,
        cycles_asked,
        hours: cycles_asked * life.seconds_per_cycle / 3600.0,
        model: format!(
            "Weibull strength along etched edges, strain-life or foil ductility, Miner's sum; strain from {}",
            pull.words()
        ),
        validity: validity(design.stack.layers.as_slice(), &layers),
        layers,
    }))
}

/// How often the duty list can be gone through before the worst metal layer fails: careful, typical, at best.
fn repeats(layers: &[LifeLayer], damage: f64, limit: f64) -> Result<Option<[f64; 3]>, LifeError> {
    let worst = layers.iter().find(|l| l.damage == Some(damage));
    let counted = worst.is_some_and(|l| l.blocks.iter().any(|b| b.cycles.is_some()));
    let typical = match duty_repeats(damage, limit)? {
        // Not even a quarter of a list of many cycles may still be many cycles: only the first loading is beyond telling.
        Cycles::FewerThan(_) => Some(limit / damage),
        other => other.count(),
    };
    let scatter = LifeScatter::Normal.factor();
    Ok(typical.filter(|_| counted).map(|n| [n / scatter, n, n * scatter]))
}

/// One layer of the stack under the duty list.
struct LayerCase<'a> {
    checked: &'a Checked,
    life: &'a Life,
    layer: &'a StackLayer,
    judged: &'a CheckedLayer,
    ends: &'a [Ends],
    wrapped: Option<&'a wrap::Case>,
}

/// Share of the greatest amplitude from which a fibre counts as one of the worst.
const NEARLY: f64 = 0.99;

/// A fibre's strain at both ends of a block.
#[derive(Clone, Copy)]
struct Cycled {
    from: f64,
    to: f64,
    place: usize,
    fibre: Fibre,
}

/// The fibre that a block strains most.
struct Worst {
    amplitude: f64,
    mean: f64,
    place: usize,
    fibre: Fibre,
}

impl LayerCase<'_> {
    /// Strain that the wrap adds to a fibre at the far end of a block: where soft layers shear it varies along the length, and
    /// the larger size counts.
    fn added(&self, ends: &Ends, fibre: &Fibre) -> f64 {
        let Some(case) = self.wrapped.filter(|_| ends.wrapped) else { return 0.0 };
        let [high, low] = case.strain_at(fibre.height_um);
        if high.abs() >= low.abs() { high } else { low }
    }

    /// Residual strain midway between its greatest and least.
    fn residual(&self) -> f64 {
        f64::midpoint(self.judged.residual[0], self.judged.residual[1])
    }

    /// Strains at both ends of a block of every fibre: all places, both images, all corners of the layer.
    fn fibres(&self, ends: &Ends) -> Vec<Cycled> {
        let corners = corners(self.checked, self.judged);
        let mut list = Vec::new();
        for place in 0..ends.from.points.len().min(ends.to.points.len()) {
            for &mirrored in ends.to.images() {
                for fibre in corners {
                    let from = ends.from.strain(place, &fibre, mirrored);
                    let to = ends.to.strain(place, &fibre, mirrored) + self.added(ends, &fibre);
                    list.push(Cycled { from, to, place, fibre });
                }
            }
        }
        list
    }

    /// The fibre with the greatest range; of those nearly as bad the one that is most in tension, which wears it more.
    fn worst(&self, ends: &Ends) -> Worst {
        let fibres = self.fibres(ends);
        let amplitude = |c: &Cycled| 0.5 * (c.to - c.from).abs();
        let most = fibres.iter().map(amplitude).fold(0.0_f64, f64::max);
        let nearly = fibres.iter().filter(|c| amplitude(c) >= NEARLY * most);
        let found = nearly.max_by(|a, b| (a.from + a.to).total_cmp(&(b.from + b.to)));
        let none = Cycled { from: 0.0, to: 0.0, place: 0, fibre: corners(self.checked, self.judged)[0] };
        let Cycled { from, to, place, fibre } = found.copied().unwrap_or(none);
        Worst { amplitude: most, mean: f64::midpoint(from, to), place, fibre }
    }

    /// The fibre whose strain, that of the process included, is the largest in size at either end.
    fn largest(&self, ends: &Ends) -> (f64, Worst) {
        let [high, low] = self.judged.residual;
        let size = |c: &Cycled| {
            let (most, least) = (c.from.max(c.to) + high, c.from.min(c.to) + low);
            most.max(-least)
        };
        let fibres = self.fibres(ends);
        let found = fibres.iter().max_by(|a, b| size(a).total_cmp(&size(b)));
        found.map_or_else(
            || (0.0, self.worst(ends)),
            |c| {
                let worst = Worst { amplitude: 0.0, mean: 0.0, place: c.place, fibre: c.fibre };
                (size(c).max(0.0), worst)
            },
        )
    }

    fn place(&self, ends: &Ends, worst: &Worst) -> Place {
        let Some(point) = ends.to.points.get(worst.place) else { return Place::default() };
        let (offset_um, name) = (Some(worst.fibre.y_um), self.layer.name.as_str());
        if ends.to.is_quarter {
            places::on_quarter(self.checked, point.s_um, offset_um, name)
        } else {
            places::on_ribbon(self.checked, point.s_um, offset_um, name)
        }
    }

    /// A metal by strain-life or foil ductility.
    fn metal(&self) -> Result<LifeLayer, LifeError> {
        let modulus_mpa = self.layer.modulus_mpa;
        let mut blocks = Vec::new();
        let mut duty = Vec::new();
        let mut place = (Place::default(), -1.0);
        for (ends, block) in self.ends.iter().zip(&self.life.cycles) {
            let worst = self.worst(ends);
            let mean = worst.mean + self.residual();
            let typical = if let Some(data) = &self.layer.strain_life {
                let law = StrainLife::new(
                    data.fatigue_strength_mpa,
                    data.strength_exponent,
                    data.fatigue_ductility,
                    data.ductility_exponent,
                )?;
                law.cycles(worst.amplitude, self.mean_stress_mpa(worst.amplitude, mean), modulus_mpa)?
            } else if let Some(data) = &self.layer.foil {
                FoilDuctility::new(data.ductility, data.ultimate_mpa)?
                    .cycles(2.0 * worst.amplitude, modulus_mpa)?
            } else {
                Cycles::Unlimited
            };
            let alone = miner_damage([DutyBlock { cycles_done: block.count, cycles_to_fail: typical }])?;
            let band = LifeBand::around(typical, LifeScatter::Normal);
            if worst.amplitude > place.1 {
                place = (self.place(ends, &worst), worst.amplitude);
            }
            duty.push(DutyBlock { cycles_done: block.count, cycles_to_fail: typical });
            blocks.push(LifeBlock {
                amplitude_percent: 100.0 * worst.amplitude,
                mean_percent: 100.0 * mean,
                cycles: typical.count().map(|n| {
                    [band.low.count().unwrap_or(Cycles::LEAST), n, band.high.count().unwrap_or(Cycles::MOST)]
                }),
                damage: Some(alone),
            });
        }
        let rule = if self.layer.foil.is_some() { "foil ductility" } else { "strain-life" };
        Ok(LifeLayer {
            place: place.0,
            blocks,
            damage: Some(miner_damage(duty)?),
            ..LifeLayer::of(&self.layer.name, &format!("{rule}, Miner's sum"))
        })
    }

    /// A glassy polymer: half its yield strain may be cycled.
    fn polymer(&self, yield_strain: f64) -> LifeLayer {
        let mut greatest = 0.0_f64;
        let mut place = Place::default();
        let mut blocks = Vec::new();
        for ends in self.ends {
            let worst = self.worst(ends);
            let mean = worst.mean + self.residual();
            let (peak, at) = self.largest(ends);
            if peak > greatest {
                (greatest, place) = (peak, self.place(ends, &at));
            }
            blocks.push(LifeBlock {
                amplitude_percent: 100.0 * worst.amplitude,
                mean_percent: 100.0 * mean,
                cycles: None,
                damage: None,
            });
        }
        LifeLayer {
            place,
            blocks,
            cycled_strain_percent: Some(100.0 * greatest),
            allowed_cycled_percent: Some(50.0 * yield_strain),
            ..LifeLayer::of(&self.layer.name, "half the yield strain, cycled (rule of thumb)")
        }
    }

    /// Mean stress of a metal's cycle, `MPa`: plastic flow takes it off where the amplitude is beyond yield.
    fn mean_stress_mpa(&self, amplitude: f64, mean: f64) -> f64 {
        let yield_strain = self.layer.yield_strain_percent.map_or(f64::INFINITY, |p| p / 100.0);
        if amplitude >= yield_strain {
            return 0.0;
        }
        // Whatever the mean strain, the stress stays below yield; compression is not counted as a help.
        let elastic = mean.clamp(0.0, yield_strain - amplitude);
        let limit = self.layer.strain_life.map_or(f64::INFINITY, |d| 0.9 * d.fatigue_strength_mpa);
        (self.layer.modulus_mpa * elastic).min(limit)
    }

    /// A brittle layer: survival by Weibull, slow cracks by the share of the proof stress.
    fn brittle(&self, data: &Brittle) -> Result<LifeLayer, LifeError> {
        let weibull = Weibull::new(data.weibull_modulus, data.strength_mpa, data.reference_length_um)?;
        let ribbons = f64::from(self.life.ribbons);
        // Every state that occurs: both ends of every block. The worst of them breaks what is going to break.
        let mut worst = (0.0, 0.0, Place::default());
        let mut greatest_mpa = 0.0_f64;
        // Peak stress of each block and the time for which it holds, as if constant.
        let mut held = Vec::new();
        let mut blocks = Vec::new();
        for (ends, block) in self.ends.iter().zip(&self.life.cycles) {
            let cycle = self.worst(ends);
            blocks.push(LifeBlock {
                amplitude_percent: 100.0 * cycle.amplitude,
                mean_percent: 100.0 * (cycle.mean + self.residual()),
                cycles: None,
                damage: None,
            });
            let mut peaks = [0.0_f64; 2];
            for (end, peak) in peaks.iter_mut().enumerate() {
                let stresses = self.edge_stresses(ends, end == 1);
                let length_um = weibull.effective_length_um(stresses.iter().copied())?;
                let stress = stresses.iter().map(|s| s.0).fold(0.0_f64, f64::max);
                *peak = stresses.iter().map(|s| s.0).fold(f64::NEG_INFINITY, f64::max);
                // Of equal hazard as a stress of the reference length, so that states compare.
                let hazard = stress * (length_um / data.reference_length_um).powf(1.0 / data.weibull_modulus);
                let known = worst.0 * (worst.1 / data.reference_length_um).powf(1.0 / data.weibull_modulus);
                if hazard > known {
                    worst = (stress, length_um, self.place(ends, &self.most_pulled(ends, &stresses)));
                }
            }
            greatest_mpa = greatest_mpa.max(peaks[0]).max(peaks[1]);
            if let Some(n) = data.static_fatigue_n
                && peaks[0].max(peaks[1]) > 0.0
            {
                let glass = StaticFatigue::new(n, data.proof_stress_mpa.unwrap_or(data.strength_mpa))?;
                let (low, high) = (peaks[0].min(peaks[1]), peaks[0].max(peaks[1]));
                let share = glass.cycle_factor(Waveform::Sinusoid, low, high)?;
                held.push((high, share * block.count * self.life.seconds_per_cycle));
            }
        }
        let (stress, one_um, place) = worst;
        let stressed_um = one_um * ribbons;
        let probability = weibull.failure_probability_at(stress, stressed_um)?;
        let wanted = 1.0 - self.life.survival_percent / 100.0;
        let allowed =
            if stressed_um > 0.0 { Some(weibull.allowable_mpa(stressed_um, wanted)?) } else { None };
        let (share, allowed_share) = match (data.static_fatigue_n, data.proof_stress_mpa) {
            (Some(n), Some(proof_mpa)) => {
                // By the power law a lesser stress counts for less time at the greatest one.
                let seconds: f64 = held.iter().map(|(peak, time)| time * (peak / greatest_mpa).powf(n)).sum();
                let seconds = seconds.max(f64::MIN_POSITIVE);
                (Some(greatest_mpa / proof_mpa), Some(fibre_practice_ratio(seconds)?))
            }
            _ => (None, None),
        };
        let rule = if share.is_some() { "Weibull and slow crack growth" } else { "Weibull" };
        Ok(LifeLayer {
            place,
            blocks,
            stress_mpa: Some(stress),
            stressed_length_um: Some(stressed_um),
            survival_percent: Some(100.0 * (1.0 - probability)),
            allowed_stress_mpa: allowed,
            share_of_proof: share,
            allowed_share_of_proof: allowed_share,
            ..LifeLayer::of(&self.layer.name, rule)
        })
    }

    /// The place and the edge of the greatest of the stresses along both edges, the first of equal ones.
    fn most_pulled(&self, ends: &Ends, stresses: &[(f64, f64)]) -> Worst {
        let each = 2 * ends.to.images().len();
        let first = stresses.iter().enumerate().min_by(|a, b| b.1.0.total_cmp(&a.1.0)).map_or(0, |(i, _)| i);
        let fibre = corners(self.checked, self.judged)[first % 2];
        Worst { amplitude: 0.0, mean: 0.0, place: first / each, fibre }
    }

    /// Stress along both edges of the layer, the worse of its faces, with the length for which each holds.
    fn edge_stresses(&self, ends: &Ends, is_far: bool) -> Vec<(f64, f64)> {
        let field = if is_far { &ends.to } else { &ends.from };
        let corners = corners(self.checked, self.judged);
        let images = field.images();
        let weight = field.repeats / images.len() as f64;
        let mut list = Vec::with_capacity(2 * images.len() * field.points.len());
        for place in 0..field.points.len() {
            for &mirrored in images {
                for edge in 0..2 {
                    // Corners come as left and right of the bottom, then of the top face.
                    let strain = [edge, edge + 2]
                        .map(|c| {
                            let added = if is_far { self.added(ends, &corners[c]) } else { 0.0 };
                            field.strain(place, &corners[c], mirrored) + added
                        })
                        .into_iter()
                        .fold(f64::NEG_INFINITY, f64::max);
                    // What the process leaves is equal in both directions; pull and wrap act along the ribbon alone.
                    let biaxial = 1.0 / (1.0 - self.layer.poisson_ratio);
                    let stress = self.layer.modulus_mpa * (strain + biaxial * self.judged.residual[0]);
                    list.push((stress, weight * field.points[place].length_um));
                }
            }
        }
        list
    }
}

fn validity(layers: &[StackLayer], results: &[LifeLayer]) -> Vec<String> {
    let mut words = Vec::new();
    if results.is_empty() {
        words.push(
            "no layer has data of its strength: give `brittle`, `strain_life` or `foil`, or a polymer with its yield strain"
                .to_owned(),
        );
    }
    if results.iter().any(|l| l.damage.is_some()) {
        words.push(
            "cycles of metals: a factor of 10 up and down is normal for laws from a handbook; films break earlier where \
             they adhere badly; the order of the blocks is left out"
                .to_owned(),
        );
    }
    if layers.iter().filter_map(|l| l.brittle).any(|b| b.weibull_modulus < 10.0) {
        words.push(
            "a Weibull modulus below 10 makes rare failures an extrapolation far beyond any strength test"
                .to_owned(),
        );
    }
    if results.iter().any(|l| l.share_of_proof.is_some()) {
        words.push(
            "slow cracks by the shares of proof stress customary for fibre (from memory); the time of cracks itself is \
             uncertain by orders of magnitude"
                .to_owned(),
        );
    }
    if results.iter().any(|l| l.survival_percent.is_some()) {
        words.push(
            "survival counts the first loading of all ribbons together, on both etched edges".to_owned(),
        );
    }
    words
}
