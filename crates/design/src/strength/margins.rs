//! The margins of wrap, oven, life, islands and trace.

use super::Strength;
use super::result::{CrackResult, ThermalResult};
use super::trace::USUAL_RISE_K;
use super::wrap::{self, Worst};
use crate::checked::Checked;
use crate::margin::Check;
use crate::result::{Margin, Place};
use crate::text::{digits, number};

const SECTION_SOURCE: &str = "transformed section and shear lag of soft layers, derived in the documentation of ogee-stack; \
    two plies as in Li, Su and Li, Proc. R. Soc. A 472, 20160087 (2016)";
const OVEN_SOURCE: &str =
    "layered plate (Timoshenko 1925; Hsueh 2002), births at different times: documentation of ogee-stack";
const CRACK_SOURCE: &str =
    "Hutchinson and Suo, Mixed mode cracking in layered materials (1992); factors by finite elements";
const WEIBULL_SOURCE: &str = "Weibull statistics along the stressed edge length; documentation of ogee-stack";
const FIBRE_SOURCE: &str = "share of proof stress customary for fibre: Glaesemann and Gulati, Opt. Eng. 30, 709 (1991), \
    fractions from memory";
const FATIGUE_SOURCE: &str =
    "strain-life or the foil ductility law, with Miner's sum; documentation of ogee-stack";
const ISLAND_SOURCE: &str =
    "shear lag, derived in the documentation of ogee-stack and calibrated on two-dimensional elements";
const TRACE_SOURCE: &str = "sheet resistance and heat balance, documentation of ogee-stack";

/// All margins of the parts that a design has.
pub(super) fn margins(checked: &Checked, found: &Strength) -> Vec<Margin> {
    let mut list = Vec::new();
    wrap_margins(checked, found, &mut list);
    if let Some(thermal) = &found.thermal {
        thermal_margins(checked, thermal, &mut list);
    }
    life_margins(checked, found, &mut list);
    island_margins(checked, found, &mut list);
    trace_margins(checked, found, &mut list);
    for (id, name, why) in &found.failed {
        list.push(absent(id, name, why));
    }
    list
}

/// A check that could not be made: it fails, and says why.
fn absent(id: &'static str, name: &'static str, why: &str) -> Margin {
    Check {
        id,
        name: name.to_owned(),
        value: None,
        limit: 1.0,
        unit: "",
        more_is_better: true,
        place: Place::default(),
        model: String::new(),
        formula: "",
        source: "",
        why_absent: Some(why.to_owned()),
    }
    .margin()
}

fn wrap_margins(checked: &Checked, found: &Strength, list: &mut Vec<Margin>) {
    let (Some(result), Some(duty)) = (&found.wrap, &checked.design().duty.wrap) else { return };
    let target = number(checked.design().duty.target_stretch_percent);
    let cylinder = wrap::cylinder_words(duty);
    let cases = [
        ("wrap", format!("Wrap round {cylinder}"), &found.worst_wrapped),
        ("wrap-stretched", format!("Wrap while pulled {target} %"), &found.worst_stretched),
    ];
    for (id, name, worst) in cases {
        let Some(Worst { strain, limit, .. }) = worst else { continue };
        let place = worst.as_ref().map(|w| wrap::place_words(checked, w)).unwrap_or_default();
        list.push(
            Check {
                id,
                name,
                value: Some(100.0 * strain.abs()),
                limit: 100.0 * limit,
                unit: "%",
                more_is_better: false,
                place: Place { words: place, ..Place::default() },
                model: result.model.clone(),
                formula: if id == "wrap" {
                    "allowed strain of the layer, less what the process has left in it ÷ its strain round the cylinder"
                } else {
                    "allowed strain of the layer, less what the process has left in it ÷ peak strain of the pull + strain \
                     round the cylinder, as if both met at one place"
                },
                source: SECTION_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
}

fn thermal_margins(checked: &Checked, thermal: &ThermalResult, list: &mut Vec<Margin>) {
    if let Some((layer, strain, limit, when)) = worst_residual(checked, thermal) {
        list.push(
            Check {
                id: "residual-strain",
                name: "Strain from the process".to_owned(),
                value: Some(100.0 * strain.abs()),
                limit: 100.0 * limit,
                unit: "%",
                more_is_better: false,
                place: Place { words: format!("{layer}, {when}"), ..Place::default() },
                model: thermal.model.clone(),
                formula: "allowed strain of the layer ÷ its greatest elastic strain after any step and over the \
                    temperatures of use",
                source: OVEN_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
    let ratio = |c: &CrackResult| match c.drive_j_per_m2 {
        Some(drive) if drive > 0.0 => c.toughness_j_per_m2 / drive,
        Some(_) => f64::MAX,
        None => -1.0,
    };
    if let Some(crack) = thermal.cracks.iter().min_by(|a, b| ratio(a).total_cmp(&ratio(b))) {
        let why_absent = crack.drive_j_per_m2.is_none().then(|| crack.words.clone());
        list.push(
            Check {
                id: "cracking",
                name: "Cracks through a film".to_owned(),
                value: crack.drive_j_per_m2,
                limit: crack.toughness_j_per_m2,
                unit: "J/m²",
                more_is_better: false,
                place: Place {
                    words: format!("{} on {}, {}", crack.layer, crack.base, crack.when),
                    ..Place::default()
                },
                model: "channel crack that stops at the layer below".to_owned(),
                formula: "toughness of the film ÷ energy that a crack sets free, Z σ² h/E*",
                source: CRACK_SOURCE,
                why_absent,
            }
            .margin(),
        );
    }
    let process = checked.design().process.as_ref();
    if let (Some(limit), Some(bow)) = (process.and_then(|p| p.bow_limit_um), thermal.largest_bow_um) {
        list.push(
            Check {
                id: "wafer-bow",
                name: "Wafer bow".to_owned(),
                value: Some(bow),
                limit,
                unit: "µm",
                more_is_better: false,
                place: Place { words: "over the handle's diameter".to_owned(), ..Place::default() },
                model: thermal.model.clone(),
                formula: "allowed bow ÷ greatest bow after any step, κ D²/8",
                source: OVEN_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
    let worst = thermal.interfaces.iter().max_by(|a, b| a.bound_j_per_m2.total_cmp(&b.bound_j_per_m2));
    if let (Some(limit), Some(worst)) = (process.and_then(|p| p.adhesion_j_per_m2), worst) {
        list.push(
            Check {
                id: "parting",
                name: "Parting of layers".to_owned(),
                value: Some(worst.bound_j_per_m2),
                limit,
                unit: "J/m²",
                more_is_better: false,
                place: Place {
                    words: format!("{} from {}, {}", worst.above, worst.below, worst.when),
                    ..Place::default()
                },
                model: "bound by energy: both parts free to stretch and to curl".to_owned(),
                formula: "adhesion ÷ greatest energy per area that parting sets free",
                source: OVEN_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
}

/// The layer that the process strains nearest to its limit: name, strain, limit, when.
fn worst_residual(checked: &Checked, thermal: &ThermalResult) -> Option<(String, f64, f64, String)> {
    let mut worst: Option<(f64, (String, f64, f64, String))> = None;
    for moment in thermal.steps.iter().chain(&thermal.service) {
        for layer in &moment.layers {
            let Some(judged) = checked.layers().iter().find(|l| l.name == layer.name) else { continue };
            for strain in layer.strain_percent.map(|s| s / 100.0) {
                let limit = if strain >= 0.0 { Some(judged.given_strain) } else { judged.given_compression };
                let Some(limit) = limit else { continue };
                let used = strain.abs() / limit;
                if worst.as_ref().is_none_or(|w| used > w.0) {
                    worst = Some((used, (layer.name.clone(), strain, limit, moment.words.clone())));
                }
            }
        }
    }
    worst.map(|w| w.1)
}

fn life_margins(checked: &Checked, found: &Strength, list: &mut Vec<Margin>) {
    let (Some(result), Some(life)) = (&found.life, &checked.design().life) else { return };
    let stressed = result.layers.iter().filter_map(|l| Some((l, l.stress_mpa?, l.allowed_stress_mpa?)));
    if let Some((layer, stress, allowed)) = stressed.max_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2))) {
        list.push(
            Check {
                id: "survival",
                name: format!("Survival of {} %", number(life.survival_percent)),
                value: Some(stress),
                limit: allowed,
                unit: "MPa",
                more_is_better: false,
                place: layer.place.clone(),
                model: result.model.clone(),
                formula: "stress at which the wanted share of devices survives ÷ greatest tensile stress; all ribbons, both \
                    edges",
                source: WEIBULL_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
    let proved = result.layers.iter().filter_map(|l| Some((l, l.share_of_proof?, l.allowed_share_of_proof?)));
    if let Some((layer, share, allowed)) = proved.max_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2))) {
        list.push(
            Check {
                id: "slow-cracks",
                name: "Slow cracks in glass".to_owned(),
                value: Some(100.0 * share.max(0.0)),
                limit: 100.0 * allowed,
                unit: "%",
                more_is_better: false,
                place: layer.place.clone(),
                model: "power law of crack growth, as a share of the proof stress".to_owned(),
                formula: "share of the proof stress that the time under stress allows ÷ greatest share",
                source: FIBRE_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
    let cycled =
        result.layers.iter().filter_map(|l| Some((l, l.cycled_strain_percent?, l.allowed_cycled_percent?)));
    if let Some((layer, strain, allowed)) = cycled.max_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2))) {
        list.push(
            Check {
                id: "cycled-polymer",
                name: "Cycled polymer".to_owned(),
                value: Some(strain),
                limit: allowed,
                unit: "%",
                more_is_better: false,
                place: layer.place.clone(),
                model: result.model.clone(),
                formula: "half the yield strain ÷ greatest strain of the cycles, that of the process included",
                source: "rule of thumb for glassy polymers that are cycled (common practice, no source)",
                why_absent: None,
            }
            .margin(),
        );
    }
    if let Some(damage) = result.damage {
        let layer = result.layers.iter().find(|l| l.damage == Some(damage));
        list.push(
            Check {
                id: "cycles",
                name: format!("{} cycles", count_words(result.cycles_asked)),
                value: Some(damage),
                limit: life.damage_limit,
                unit: "",
                more_is_better: false,
                place: layer.map(|l| l.place.clone()).unwrap_or_default(),
                model: result.model.clone(),
                formula: "Miner's sum at which a layer counts as failed ÷ Σ cycles done/cycles to failure (typical; a \
                    factor of 10 either way is normal)",
                source: FATIGUE_SOURCE,
                why_absent: None,
            }
            .margin(),
        );
    }
}

/// A number of cycles as people say it.
fn count_words(count: f64) -> String {
    if count >= 1e6 { format!("{} million", digits(count / 1e6, 3)) } else { number(count) }
}

fn island_margins(checked: &Checked, found: &Strength, list: &mut Vec<Margin>) {
    let (Some(result), Some(islands)) = (&found.islands, &checked.design().islands) else { return };
    let between = Place { words: "between islands".to_owned(), ..Place::default() };
    let middle = Place { words: "middle of an island".to_owned(), ..Place::default() };
    let check = |id, name: String, value, limit, unit, place: &Place, formula| {
        Check {
            id,
            name,
            value: Some(value),
            limit,
            unit,
            more_is_better: false,
            place: place.clone(),
            model: result.model.clone(),
            formula,
            source: ISLAND_SOURCE,
            why_absent: None,
        }
        .margin()
    };
    list.push(check(
        "ribbon-stretch",
        format!("Sheet pulled {} %", number(islands.sheet_stretch_percent)),
        result.ribbon_stretch_percent,
        checked.design().duty.target_stretch_percent,
        "%",
        &between,
        "target stretch of the ribbon ÷ stretch between islands that this stretch of the sheet brings",
    ));
    list.push(check(
        "island-strain",
        "Strain on an island".to_owned(),
        result.island_strain_percent,
        islands.strain_limit_percent,
        "%",
        &middle,
        "strain that the parts on it may see ÷ strain in the middle of the island",
    ));
    if let (Some(drift), Some(grating)) = (result.drift_nm, &islands.grating) {
        list.push(check(
            "grating-drift",
            "Drift of the grating".to_owned(),
            drift.abs(),
            grating.drift_limit_nm,
            "nm",
            &middle,
            "allowed drift ÷ drift of the coupled wavelength by the island's strain",
        ));
    }
}

fn trace_margins(checked: &Checked, found: &Strength, list: &mut Vec<Margin>) {
    let (Some(result), Some(trace)) = (&found.trace, &checked.design().trace) else { return };
    let design = checked.design();
    let target = number(design.duty.target_stretch_percent);
    let place = Place { words: format!("{}, end to end", result.layer), ..Place::default() };
    let mut push = |id, name: String, value, limit: Option<f64>, unit, formula, why_absent: Option<&str>| {
        let Some(limit) = limit else { return };
        list.push(
            Check {
                id,
                name,
                value,
                limit,
                unit,
                more_is_better: false,
                place: place.clone(),
                model: result.model.clone(),
                formula,
                source: TRACE_SOURCE,
                why_absent: why_absent.filter(|_| value.is_none()).map(ToOwned::to_owned),
            }
            .margin(),
        );
    };
    // What heats itself without end has no steady resistance either.
    let steady = |value: f64| result.temperature_rise_k.map(|_| value);
    let runs_away = "the trace heats itself faster than it cools: there is no steady temperature";
    push(
        "resistance",
        format!("Resistance at {target} %"),
        steady(result.stretched_ohm),
        design.limits.resistance_ohm,
        "Ω",
        "allowed resistance ÷ resistance of one ribbon, stretched and warm",
        Some(runs_away),
    );
    push(
        "voltage-drop",
        format!("Voltage drop at {} mA", number(trace.current_ma)),
        steady(result.voltage_drop_mv),
        design.limits.voltage_drop_mv,
        "mV",
        "allowed drop ÷ current × resistance of all passes",
        Some(runs_away),
    );
    push(
        "temperature-rise",
        format!("Warming at {} mA", number(trace.current_ma)),
        result.temperature_rise_k,
        // A runaway is a failure whether or not a limit is given.
        design.limits.temperature_rise_k.or(result.temperature_rise_k.is_none().then_some(USUAL_RISE_K)),
        "K",
        "allowed rise ÷ steady rise of the trace over its surroundings",
        Some(runs_away),
    );
}
