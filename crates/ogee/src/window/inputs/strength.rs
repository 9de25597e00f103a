//! What a layer withstands beyond its allowed strain: scatter of brittle ones, cycles of metals.

use super::material::typical_of;
use super::{InputsPanel, Optional, Switch, change, choice, fault_remark};
use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::Ui;
use ogee_design::{Brittle, Design, FoilData, StackLayer, StrainLifeData};

/// Exponent of slow crack growth that one begins with: silica in humid air.
const FRESH_EXPONENT: f64 = 20.0;

/// By which rule a layer's cycles are counted.
#[derive(Clone, Copy, PartialEq)]
enum Cycles {
    None,
    StrainLife,
    Foil,
}

impl Cycles {
    fn of(layer: &StackLayer) -> Self {
        match (&layer.strain_life, &layer.foil) {
            (Some(_), _) => Self::StrainLife,
            (None, Some(_)) => Self::Foil,
            (None, None) => Self::None,
        }
    }

    fn label(self) -> String {
        match self {
            Self::None => "not judged",
            Self::StrainLife => "strain-life",
            Self::Foil => "foil ductility",
        }
        .to_owned()
    }
}

fn layer_mut(design: &mut Design, index: usize) -> Option<&mut StackLayer> {
    design.stack.layers.get_mut(index)
}

/// What the folded part says.
fn summary(layer: &StackLayer) -> String {
    let mut words = Vec::new();
    if layer.toughness_mpa_sqrt_m.is_some() {
        words.push("toughness".to_owned());
    }
    if layer.brittle.is_some() {
        words.push("brittle".to_owned());
    }
    if Cycles::of(layer) != Cycles::None {
        words.push(Cycles::of(layer).label());
    }
    if words.is_empty() { "allowed strain only".to_owned() } else { words.join(", ") }
}

impl InputsPanel {
    /// The foldable part of a layer's numbers.
    pub(super) fn strength(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        let Some(layer) = session.design().stack.layers.get(index) else { return };
        let root = format!("stack.layers[{index}]");
        let at = |key: &str| format!("{root}.{key}");
        // Only what stands inside; the other numbers of the layer are in view.
        let inner = ["brittle", "strain_life", "foil", "toughness_mpa_sqrt_m"]
            .map(at)
            .into_iter()
            .find(|path| session.faults().iter().any(|fault| fault.path.starts_with(path.as_str())));
        let inner = inner.unwrap_or_else(|| at("brittle"));
        if !self.part(ui, session, theme, "Strength", &summary(layer), &inner) {
            return;
        }
        let toughness = Optional {
            path: &at("toughness_mpa_sqrt_m"),
            label: "Toughness",
            absent: "cracks not judged",
            value: typical_of(session.design(), index, "toughness_mpa_sqrt_m").unwrap_or(1.0),
            set: &|design, value| {
                if let Some(layer) = layer_mut(design, index) {
                    layer.toughness_mpa_sqrt_m = value;
                }
            },
        };
        self.sourced(ui, session, theme, (index, "toughness_mpa_sqrt_m"), |panel, ui| {
            panel.optional_row(ui, session, theme, &toughness, out);
        });
        self.brittle(ui, session, theme, index, out);
        let options = [Cycles::None, Cycles::StrainLife, Cycles::Foil];
        if let Some(rule) = choice(ui, theme, "Metal's cycles", Cycles::of(layer), options, Cycles::label) {
            out.push(change(session, format!("Change cycles to {}", rule.label()), |design| {
                if let Some(layer) = layer_mut(design, index) {
                    layer.strain_life = (rule == Cycles::StrainLife).then(StrainLifeData::default);
                    layer.foil = (rule == Cycles::Foil).then(FoilData::default);
                }
            }));
        }
        if layer.strain_life.is_some() {
            for (key, label) in [
                ("fatigue_strength_mpa", "Fatigue strength"),
                ("strength_exponent", "its exponent"),
                ("fatigue_ductility", "Fatigue ductility"),
                ("ductility_exponent", "its exponent"),
            ] {
                let path = at(&format!("strain_life.{key}"));
                self.rows(ui, session, theme, &[(path.as_str(), label)], out);
            }
        }
        fault_remark(ui, session, theme, &at("foil"));
        if layer.foil.is_some() {
            for (key, label) in [("ductility", "Ductility"), ("ultimate_mpa", "Ultimate strength")] {
                let path = at(&format!("foil.{key}"));
                self.rows(ui, session, theme, &[(path.as_str(), label)], out);
            }
        }
    }

    fn brittle(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        let Some(layer) = session.design().stack.layers.get(index) else { return };
        let at = |key: &str| format!("stack.layers[{index}].brittle.{key}");
        let scatters = Switch {
            words: "Brittle: its strength scatters",
            name: "scatter of strength",
            now: layer.brittle,
            kept: &mut self.kept.brittle,
            fresh: &|_| Brittle::default(),
            set: &|design, brittle| {
                if let Some(layer) = layer_mut(design, index) {
                    layer.brittle = brittle;
                }
            },
        };
        if !scatters.ui(ui, session, out) {
            return;
        }
        let Some(brittle) = layer.brittle else { return };
        for (key, label) in [
            ("weibull_modulus", "Weibull modulus"),
            ("strength_mpa", "Strength"),
            ("reference_length_um", "on a length of"),
        ] {
            self.rows(ui, session, theme, &[(at(key).as_str(), label)], out);
        }
        let both = brittle.static_fatigue_n.zip(brittle.proof_stress_mpa);
        let half = brittle.static_fatigue_n.or(brittle.proof_stress_mpa);
        // A proof test that lets most pieces pass.
        let fresh = (FRESH_EXPONENT, 0.5 * brittle.strength_mpa);
        let mut none = None;
        let slow = Switch {
            words: "Cracks grow slowly under stress",
            name: "slow crack growth",
            now: both.or(half.map(|_| fresh)),
            kept: &mut none,
            fresh: &|_| fresh,
            set: &|design, slow: Option<(f64, f64)>| {
                if let Some(brittle) = layer_mut(design, index).and_then(|layer| layer.brittle.as_mut()) {
                    brittle.static_fatigue_n = slow.map(|(exponent, _)| exponent);
                    brittle.proof_stress_mpa = slow.map(|(_, proof)| proof);
                }
            },
        };
        if !slow.ui(ui, session, out) {
            return;
        }
        for (key, label) in [("static_fatigue_n", "Exponent"), ("proof_stress_mpa", "Proof stress")] {
            let path = at(key);
            self.rows(ui, session, theme, &[(path.as_str(), label)], out);
            if session.design().number(&path).is_none() {
                fault_remark(ui, session, theme, &path);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_folded_part_tells_what_is_judged() {
        let mut layer = StackLayer::plain("film");
        assert_eq!(summary(&layer), "allowed strain only");
        layer.toughness_mpa_sqrt_m = Some(0.7);
        layer.brittle = Some(Brittle::default());
        assert_eq!(summary(&layer), "toughness, brittle");
        layer.foil = Some(FoilData::default());
        assert_eq!(summary(&layer), "toughness, brittle, foil ductility");
    }
}
