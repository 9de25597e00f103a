//! Cracks through films in tension: on the wafer, released, wrapped and pulled.

use super::oven::{Oven, Piece};
use super::result::CrackResult;
use super::thermal::Moment;
use super::wrap::Case;
use crate::checked::Checked;
use crate::document::{StackLayer, SupportName};
use ogee_stack::{ChannelCrack, CrackBase, CrackVerdict, Solid};

/// A base softer than this share of the film's modulus counts as soft, dimensionless.
pub(super) const SOFT_BASE: f64 = 0.01;
/// Share of its toughness up to which a glass in tension is safe from slow cracks (rule of thumb).
const SLOW_CRACK_SHARE: f64 = 0.25;
/// A base thinner than so many films is no deep one.
const DEEP_FROM: f64 = 3.0;

/// Rounding of a sum of thicknesses, µm.
const ROUNDING_UM: f64 = 1e-9;

/// A tension that a film sees.
struct Tension {
    stress_mpa: f64,
    when: String,
    /// Numbers of the films that are there.
    present: Vec<usize>,
}

/// Every film whose toughness is known, at the moment that drives a crack most.
///
/// * `moments`: after every step, then the finished part at both ends of the service range, held flat and free to curl.
///   `pull`: greatest and least strain of every judged layer at the target stretch.
pub(super) fn cracks(
    checked: &Checked,
    oven: &Oven,
    made: &[Moment],
    used: &[Moment],
    pull: &[[f64; 2]],
    case: Option<&Case>,
) -> Result<Vec<CrackResult>, String> {
    let mut list = Vec::new();
    for (i, layer) in checked.design().stack.layers.iter().enumerate() {
        let Some(toughness) = layer.toughness_mpa_sqrt_m else { continue };
        let solid = solid(layer)?;
        let mut worst: Option<CrackResult> = None;
        for tension in tensions(checked, oven, i, &solid, made, used, pull, case) {
            let Some(found) = crack(checked, oven, i, &solid, toughness, tension)? else { continue };
            if worst.as_ref().is_none_or(|w| severity(&found) > severity(w)) {
                worst = Some(found);
            }
        }
        list.extend(worst);
    }
    Ok(list)
}

/// Drive over toughness; a tension for which there is no number is the worst.
fn severity(crack: &CrackResult) -> f64 {
    crack.drive_j_per_m2.map_or(f64::MAX, |drive| drive / crack.toughness_j_per_m2)
}

#[expect(clippy::too_many_arguments, reason = "what acts on one film")]
fn tensions(
    checked: &Checked,
    oven: &Oven,
    i: usize,
    solid: &Solid,
    made: &[Moment],
    used: &[Moment],
    pull: &[[f64; 2]],
    case: Option<&Case>,
) -> Vec<Tension> {
    let layer = &checked.design().stack.layers[i];
    let Some(film) = oven.pieces.iter().position(|p| *p == Piece::Layer(i)) else { return Vec::new() };
    let judged = checked.layers().iter().position(|l| l.name == layer.name);
    let pulled = judged.and_then(|j| pull.get(j)).map_or(0.0, |p| p[0].max(0.0));
    let wrapped = case.zip(judged).map_or(0.0, |(case, j)| case.of_layer(&checked.layers()[j])[0].max(0.0));
    let at = |moment: &Moment, strain: f64, words: &str| {
        let state = moment.state.film(film)?;
        Some(Tension {
            stress_mpa: state.stress_bottom_mpa.max(state.stress_top_mpa) + strain * solid.plane_strain_mpa(),
            when: format!("{}{words}", moment.words),
            present: moment.state.present.clone(),
        })
    };
    let mut list: Vec<Tension> = made.iter().filter_map(|m| at(m, 0.0, "")).collect();
    for moment in used {
        list.extend(at(moment, pulled, ", pulled to the target"));
        if case.is_some() {
            list.extend(at(moment, pulled + wrapped, ", pulled and wrapped"));
        }
    }
    list
}

/// The crack of one film under one tension; none where the film is alone.
fn crack(
    checked: &Checked,
    oven: &Oven,
    i: usize,
    solid: &Solid,
    toughness_mpa_sqrt_m: f64,
    tension: Tension,
) -> Result<Option<CrackResult>, String> {
    let layer = &checked.design().stack.layers[i];
    let Some(base) = Base::of(checked, oven, i, &tension.present)? else { return Ok(None) };
    let crack = |base| ChannelCrack {
        film: *solid,
        thickness_um: layer.thickness_um,
        stress_mpa: tension.stress_mpa,
        toughness_mpa_sqrt_m,
        base,
    };
    let verdict = crack(base.kind).verdict().map_err(|e| e.to_string())?;
    let without = match base.without_buffer {
        Some(base) => Some(crack(base).verdict().map_err(|e| e.to_string())?),
        None => None,
    };
    let numbers = match &verdict {
        CrackVerdict::Numbers(numbers) => Some(*numbers),
        _ => None,
    };
    let mut words = match &verdict {
        CrackVerdict::Numbers(n) => {
            drive_words(n.driving_un_per_um / n.toughness_un_per_um, layer.brittle.is_some()).to_owned()
        }
        other => other.to_string(),
    };
    match &without {
        None | Some(CrackVerdict::Numbers(_)) => {}
        Some(other) => words = format!("{words}; without the layer below: {other}"),
    }
    if base.is_thin && numbers.is_some() {
        words.push_str("; the factor is that of a deep base, and the one below is thinner than three films");
    }
    if tension.present.iter().any(|&f| oven.history.films()[f].bottom_um >= base.top_um - ROUNDING_UM)
        || layer.sides.is_some()
    {
        words.push_str("; taken as an open film, which overrates a covered one");
    }
    Ok(Some(CrackResult {
        layer: layer.name.clone(),
        base: base.name,
        when: tension.when,
        stress_mpa: tension.stress_mpa.max(0.0),
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
    }))
}

/// What a drive over the toughness means.
fn drive_words(share: f64, is_brittle: bool) -> &'static str {
    match (share, is_brittle) {
        (share, _) if share > 1.0 => "above the toughness: a crack runs at once",
        (share, true) if share > SLOW_CRACK_SHARE => {
            "above a quarter of the toughness, where glass in humid air may crack slowly (rule of thumb)"
        }
        (_, true) => "below a quarter of the toughness: no slow cracks (rule of thumb)",
        (_, false) => "below the toughness: no crack runs",
    }
}

/// What a film lies on.
struct Base {
    kind: CrackBase,
    /// The base without the layer next to the film, where that is a buffer on something much softer.
    without_buffer: Option<CrackBase>,
    name: String,
    is_thin: bool,
    /// Height of the film's own top, µm.
    top_um: f64,
}

impl Base {
    /// What the film of layer `i` lies on while the films `present` are there: the layers below it and then the handle or the
    /// elastomer; for the lowest of all the layer on top of it.
    fn of(checked: &Checked, oven: &Oven, i: usize, present: &[usize]) -> Result<Option<Self>, String> {
        let design = checked.design();
        let layers = &design.stack.layers;
        let is_there = |layer: usize| {
            oven.pieces.iter().position(|p| *p == Piece::Layer(layer)).is_some_and(|f| present.contains(&f))
        };
        let mut below = Vec::new();
        for j in (0..i).rev().take_while(|j| is_there(*j)) {
            below.push((layers[j].name.clone(), solid(&layers[j])?, layers[j].thickness_um));
        }
        if let Some(process) = design.process.as_ref().filter(|_| present.contains(&0)) {
            let handle = &process.handle;
            let solid = Solid::new(handle.modulus_mpa, handle.poisson_ratio).map_err(|e| e.to_string())?;
            below.push(("handle".to_owned(), solid, handle.thickness_um));
        } else if let Some(bed) =
            design.support.elastomer.filter(|_| design.support.kind == SupportName::Bonded)
        {
            let solid =
                Solid::new(bed.modulus_mpa, bed.poisson_ratio.min(0.4999)).map_err(|e| e.to_string())?;
            below.push(("elastomer".to_owned(), solid, bed.thickness_um));
        }
        if below.is_empty() && i + 1 < layers.len() && is_there(i + 1) {
            let above = &layers[i + 1];
            below.push((above.name.clone(), solid(above)?, above.thickness_um));
        }
        let top_um = layers[..=i].iter().map(|l| l.thickness_um).sum();
        let film_um = layers[i].thickness_um;
        let softer = |a: &Solid, b: &Solid| b.plane_strain_mpa() < SOFT_BASE * a.plane_strain_mpa();
        Ok(match below.as_slice() {
            [] => None,
            [(buffer_name, buffer, thickness_um), (carrier_name, carrier, _), ..]
                if softer(buffer, carrier) =>
            {
                Some(Self {
                    kind: CrackBase::Buffered {
                        buffer: *buffer,
                        thickness_um: *thickness_um,
                        carrier: *carrier,
                    },
                    without_buffer: Some(CrackBase::Deep(*carrier)),
                    name: format!("{buffer_name} on {carrier_name}"),
                    is_thin: false,
                    top_um,
                })
            }
            [(name, base, thickness_um), ..] => Some(Self {
                kind: CrackBase::Deep(*base),
                without_buffer: None,
                name: name.clone(),
                is_thin: *thickness_um < DEEP_FROM * film_um,
                top_um,
            }),
        })
    }
}

/// A layer's material as the cracks see it.
pub(super) fn solid(layer: &StackLayer) -> Result<Solid, String> {
    Solid::new(layer.modulus_mpa, layer.poisson_ratio).map_err(|e| e.to_string())
}
