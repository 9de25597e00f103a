//! What the oven leaves: stress after every step, bow, curl, cracks, parting and wrinkles.

use super::oven::{Oven, Piece};
use super::result::{CrackResult, InterfaceResult, ThermalLayer, ThermalResult, ThermalStep, WrinkleResult};
use crate::checked::Checked;
use crate::document::{Process, ProcessStep, StackLayer, StepName};
use crate::text::number;
use ogee_stack::{ChannelCrack, CrackBase, CrackVerdict, Solid, State, Wrinkle};

/// A base softer than this share of the film's modulus counts as soft, dimensionless.
const SOFT_BASE: f64 = 0.01;
/// Share of its toughness up to which a glass in tension is safe from slow cracks (rule of thumb).
const SLOW_CRACK_SHARE: f64 = 0.25;

/// A state of the stack with its words.
struct Moment {
    words: String,
    state: State,
    /// Number of the history's state, and temperature, for the energy of its interfaces.
    at: (usize, f64),
}

/// The result of a design's process; `None` without one.
///
/// * `pull`: greatest and least strain of every judged layer at the target stretch, dimensionless.
pub(crate) fn result(checked: &Checked, pull: &[[f64; 2]]) -> Result<Option<ThermalResult>, String> {
    let design = checked.design();
    let (Some(oven), Some(process)) = (checked.oven(), &design.process) else { return Ok(None) };
    let made = made(oven, process);
    let used = used(oven)?;
    let bow_um = |state: &State| {
        let radius_um = 500.0 * process.handle.diameter_mm;
        state.present.contains(&0).then(|| 0.5 * state.curvature_per_um.abs() * radius_um * radius_um)
    };
    let step = |moment: &Moment| ThermalStep {
        words: moment.words.clone(),
        temperature_c: moment.state.temperature_c,
        curvature_per_um: moment.state.curvature_per_um,
        bow_um: bow_um(&moment.state),
        layers: layers(checked, oven, &moment.state),
    };
    let steps: Vec<ThermalStep> = made.iter().map(step).collect();
    let largest_bow_um = steps.iter().filter_map(|s| s.bow_um).reduce(f64::max);
    let curl = checked.oven().map_or(0.0, Oven::curl_per_um);
    Ok(Some(ThermalResult {
        service: used.iter().map(step).collect(),
        released: oven.released,
        largest_bow_um,
        curl_radius_um: (curl != 0.0).then(|| -curl.recip()),
        cracks: cracks(checked, oven, &made, &used, pull)?,
        interfaces: interfaces(checked, oven, &made, &used),
        wrinkles: wrinkles(checked)?,
        model: "layered plate, linear elastic, equal stress in both directions; energy bounds".to_owned(),
        validity: validity(checked, oven),
        steps,
    }))
}

fn made(oven: &Oven, process: &Process) -> Vec<Moment> {
    let moments = process.steps.iter().zip(&oven.after).filter_map(|(step, &after)| {
        let state = oven.history.states.get(after)?.clone();
        let at = (after, state.temperature_c);
        Some(Moment { words: step_words(step), state, at })
    });
    moments.collect()
}

/// The finished part, held flat, at both ends of the service range.
fn used(oven: &Oven) -> Result<Vec<Moment>, String> {
    let [low, high] = oven.service_c;
    let ends = [("coldest use", low), ("warmest use", high)];
    ends.into_iter()
        .map(|(words, temperature_c)| {
            let state = oven.flat(temperature_c).map_err(|e| e.to_string())?;
            let words = format!("{words}, {} °C", number(temperature_c));
            Ok(Moment { words, state, at: (oven.finished(), temperature_c) })
        })
        .collect()
}

/// A step in words.
fn step_words(step: &ProcessStep) -> String {
    match (&step.layer, step.step) {
        (Some(layer), kind) => format!("{} {layer}", kind.label()),
        (None, StepName::Hold) => format!("to {} °C", number(step.temperature_c)),
        (None, kind) => kind.label().to_owned(),
    }
}

fn layers(checked: &Checked, oven: &Oven, state: &State) -> Vec<ThermalLayer> {
    let names = &checked.design().stack.layers;
    let films = state.films.iter().filter_map(|film| match oven.pieces.get(film.film)? {
        Piece::Layer(i) => Some(ThermalLayer {
            name: names.get(*i)?.name.clone(),
            stress_mpa: [film.stress_bottom_mpa, film.stress_top_mpa],
            strain_percent: [100.0 * film.strain_bottom, 100.0 * film.strain_top],
        }),
        Piece::Handle | Piece::Beside(_) => None,
    });
    films.collect()
}

/// Every film whose toughness is known, at the moment of its greatest tension.
fn cracks(
    checked: &Checked,
    oven: &Oven,
    made: &[Moment],
    used: &[Moment],
    pull: &[[f64; 2]],
) -> Result<Vec<CrackResult>, String> {
    let layers = &checked.design().stack.layers;
    let mut list = Vec::new();
    for (i, layer) in layers.iter().enumerate() {
        let Some(toughness) = layer.toughness_mpa_sqrt_m else { continue };
        let film = oven.pieces.iter().position(|p| *p == Piece::Layer(i)).unwrap_or(0);
        let solid = solid(layer)?;
        let judged = checked.layers().iter().position(|l| l.name == layer.name);
        let pulled = judged.and_then(|j| pull.get(j)).map_or(0.0, |p| p[0].max(0.0));
        let stress = |moment: &Moment, added: f64| {
            let state = moment.state.film(film)?;
            Some((state.stress_bottom_mpa.max(state.stress_top_mpa) + added, moment.words.clone()))
        };
        let in_use = pulled * solid.plane_strain_mpa();
        let candidates = made.iter().filter_map(|m| stress(m, 0.0)).chain(
            used.iter()
                .filter_map(|m| stress(m, in_use))
                .map(|(stress, words)| (stress, format!("{words}, pulled to the target"))),
        );
        let Some((stress_mpa, when)) = candidates.max_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        list.push(crack(checked, i, &solid, toughness, stress_mpa, when)?);
    }
    Ok(list)
}

/// The crack of one film at one stress.
fn crack(
    checked: &Checked,
    i: usize,
    solid: &Solid,
    toughness_mpa_sqrt_m: f64,
    stress_mpa: f64,
    when: String,
) -> Result<CrackResult, String> {
    let design = checked.design();
    let layers = &design.stack.layers;
    let layer = &layers[i];
    let (base, bare, base_name) = base(checked, i)?;
    let crack = |base| ChannelCrack {
        film: *solid,
        thickness_um: layer.thickness_um,
        stress_mpa,
        toughness_mpa_sqrt_m,
        base,
    };
    let verdict = crack(base).verdict().map_err(|e| e.to_string())?;
    let without = match bare {
        Some(base) => Some(crack(base).verdict().map_err(|e| e.to_string())?),
        None => None,
    };
    let numbers = match &verdict {
        CrackVerdict::Numbers(numbers) => Some(*numbers),
        _ => None,
    };
    let mut words = match &verdict {
        CrackVerdict::Numbers(n) if n.driving_un_per_um > SLOW_CRACK_SHARE * n.toughness_un_per_um => {
            "above a quarter of the toughness, where glass in humid air may crack slowly (rule of thumb)"
                .to_owned()
        }
        CrackVerdict::Numbers(_) => {
            "below a quarter of the toughness: no slow cracks (rule of thumb)".to_owned()
        }
        other => other.to_string(),
    };
    if let Some(verdict) = &without {
        match verdict {
            CrackVerdict::Numbers(_) => {}
            other => words = format!("{words}; without the layer below: {other}"),
        }
    }
    if layer.sides.is_some() || i + 1 < layers.len() {
        words.push_str("; taken as an open film, which overrates a covered one");
    }
    Ok(CrackResult {
        layer: layer.name.clone(),
        base: base_name,
        when,
        stress_mpa: stress_mpa.max(0.0),
        factor: numbers.map(|n| n.factor),
        drive_j_per_m2: match verdict {
            CrackVerdict::NoTension => Some(0.0),
            _ => numbers.map(|n| n.driving_un_per_um),
        },
        toughness_j_per_m2: (1000.0 * toughness_mpa_sqrt_m).powi(2) / solid.plane_strain_mpa(),
        critical_thickness_um: numbers.map(|n| n.critical_thickness_um),
        critical_without_buffer_um: match without {
            Some(CrackVerdict::Numbers(n)) => Some(n.critical_thickness_um),
            _ => None,
        },
        words,
    })
}

/// What a film lies on; the base without the layer next to it where that is a buffer on something softer; its name.
fn base(checked: &Checked, i: usize) -> Result<(CrackBase, Option<CrackBase>, String), String> {
    let design = checked.design();
    let layers = &design.stack.layers;
    let below: Vec<(String, Solid, f64)> = layers[..i]
        .iter()
        .rev()
        .map(|l| Ok((l.name.clone(), solid(l)?, l.thickness_um)))
        .collect::<Result<_, String>>()?;
    let elastomer = match design.support.elastomer {
        Some(e) if design.support.kind == crate::document::SupportName::Bonded => {
            let solid = Solid::new(e.modulus_mpa, e.poisson_ratio.min(0.4999)).map_err(|e| e.to_string())?;
            Some(("elastomer".to_owned(), solid, e.thickness_um))
        }
        _ => None,
    };
    let below: Vec<_> = below.into_iter().chain(elastomer).collect();
    let softer = |a: &Solid, b: &Solid| b.plane_strain_mpa() < SOFT_BASE * a.plane_strain_mpa();
    match (below.first(), below.get(1)) {
        (Some((buffer_name, buffer, thickness_um)), Some((carrier_name, carrier, _)))
            if softer(buffer, carrier) =>
        {
            let buffered =
                CrackBase::Buffered { buffer: *buffer, thickness_um: *thickness_um, carrier: *carrier };
            Ok((buffered, Some(CrackBase::Deep(*carrier)), format!("{buffer_name} on {carrier_name}")))
        }
        (Some((name, base, _)), _) => Ok((CrackBase::Deep(*base), None, name.clone())),
        // The lowest film cracks towards what lies on it, or on its handle.
        (None, _) => {
            if let Some(above) = layers.get(i + 1) {
                return Ok((CrackBase::Deep(solid(above)?), None, above.name.clone()));
            }
            let handle = design.process.as_ref().map(|p| &p.handle);
            let (modulus, poisson) = handle.map_or((160_000.0, 0.22), |h| (h.modulus_mpa, h.poisson_ratio));
            let handle = Solid::new(modulus, poisson).map_err(|e| e.to_string())?;
            Ok((CrackBase::Deep(handle), None, "handle".to_owned()))
        }
    }
}

fn solid(layer: &StackLayer) -> Result<Solid, String> {
    Solid::new(layer.modulus_mpa, layer.poisson_ratio).map_err(|e| e.to_string())
}

/// The greatest bound of every interface over all moments.
fn interfaces(checked: &Checked, oven: &Oven, made: &[Moment], used: &[Moment]) -> Vec<InterfaceResult> {
    let names = &checked.design().stack.layers;
    let heights: Vec<f64> = oven.history.films().iter().map(|f| f.bottom_um).collect();
    let film_of = |piece: Piece| oven.pieces.iter().position(|p| *p == piece);
    let mut list = Vec::new();
    for (i, layer) in names.iter().enumerate() {
        let Some(above) = film_of(Piece::Layer(i)) else { continue };
        let below_name = |state: &State| {
            if i > 0 && film_of(Piece::Layer(i - 1)).is_some_and(|f| state.present.contains(&f)) {
                Some(names[i - 1].name.clone())
            } else {
                state.present.contains(&0).then(|| "handle".to_owned())
            }
        };
        let mut greatest: Option<InterfaceResult> = None;
        for moment in made.iter().chain(used) {
            if !moment.state.present.contains(&above) {
                continue;
            }
            let Some(below) = below_name(&moment.state) else { continue };
            let lower: Vec<usize> =
                moment.state.present.iter().copied().filter(|f| heights[*f] < heights[above]).collect();
            let (after, temperature_c) = moment.at;
            let Ok(bound) = oven.history.delamination_bound(after, temperature_c, &lower) else { continue };
            if greatest.as_ref().is_none_or(|g| bound > g.bound_j_per_m2) {
                greatest = Some(InterfaceResult {
                    below,
                    above: layer.name.clone(),
                    when: moment.words.clone(),
                    bound_j_per_m2: bound,
                });
            }
        }
        list.extend(greatest);
    }
    list
}

/// Films in compression on a soft layer or on the elastomer.
fn wrinkles(checked: &Checked) -> Result<Vec<WrinkleResult>, String> {
    let layers = &checked.design().stack.layers;
    let mut list = Vec::new();
    for (i, layer) in layers.iter().enumerate().skip(1) {
        let (film, base) = (solid(layer)?, solid(&layers[i - 1])?);
        if base.plane_strain_mpa() > SOFT_BASE * film.plane_strain_mpa() {
            continue;
        }
        let wrinkle = Wrinkle::of_film(&film, layer.thickness_um, &base).map_err(|e| e.to_string())?;
        let low = checked.layers().iter().find(|l| l.name == layer.name).map_or(0.0, |l| l.residual[1]);
        list.push(WrinkleResult {
            layer: layer.name.clone(),
            base: layers[i - 1].name.clone(),
            compression_percent: 100.0 * (-low).max(0.0),
            limit_percent: 100.0 * wrinkle.strain,
            wavelength_um: wrinkle.length_um,
        });
    }
    Ok(list)
}

fn validity(checked: &Checked, oven: &Oven) -> Vec<String> {
    let mut words = vec![
        "layers are elastic; relaxation, moisture and cure shrinkage beyond the stress given are left out"
            .to_owned(),
    ];
    if oven.released
        && let Ok(state) = oven.free(oven.room_c())
    {
        let roll = state.roll_number(checked.width_um());
        if roll > 1.0 {
            words.push(format!(
                "a ribbon this wide for its curl (w² κ/t = {}) rolls up about one axis; which one cannot be told",
                crate::text::digits(roll, 2)
            ));
        }
    }
    words
}
