//! What the oven leaves: stress after every step, bow, curl, cracks, parting and wrinkles.

use super::cracks::{SOFT_BASE, cracks, solid};
use super::oven::{Oven, Piece};
use super::result::{InterfaceResult, ThermalLayer, ThermalResult, ThermalStep, WrinkleResult};
use super::wrap::Case;
use crate::checked::Checked;
use crate::document::{Process, ProcessStep, StepName};
use crate::text::number;
use ogee_stack::{State, Wrinkle};

/// A state of the stack with its words.
#[derive(Clone, Debug)]
pub(super) struct Moment {
    pub(super) words: String,
    pub(super) state: State,
    /// Number of the history's state, and temperature, for the energy of its interfaces.
    at: (usize, f64),
}

/// The result of a design's process; `None` without one.
///
/// * `pull`: greatest and least strain of every judged layer at the target stretch, dimensionless. `case`: the wrap, where
///   there is one.
pub(crate) fn result(
    checked: &Checked,
    pull: &[[f64; 2]],
    case: Option<&Case>,
) -> Result<Option<ThermalResult>, String> {
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
        cracks: cracks(checked, oven, &made, &[used.as_slice(), &free(oven)?].concat(), pull, case)?,
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

/// The finished part, free to curl, at both ends of the service range; nothing where it stays on its handle.
fn free(oven: &Oven) -> Result<Vec<Moment>, String> {
    if !oven.released {
        return Ok(Vec::new());
    }
    let ends = oven.service_c.iter().map(|&temperature_c| {
        let state = oven.free(temperature_c).map_err(|e| e.to_string())?;
        let words = format!("free to curl at {} °C", number(temperature_c));
        Ok(Moment { words, state, at: (oven.finished(), temperature_c) })
    });
    ends.collect()
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
