//! The trace: which layer conducts, what flows, and what it may cost.

use super::material::{conduct, material_of};
use super::{InputsPanel, Optional, Switch, caption, change, choice, fault_remark};
use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::{RichText, Ui};
use ogee_design::{Design, Trace, digits_text};

/// Thickness and conductivity that a sheet begins with, µm and W/(m·K): half a millimetre of silicone.
const FRESH_SHEET: (f64, f64) = (500.0, 0.2);
/// Mean free path that a thin film begins with, nm: copper at room temperature.
const FRESH_PATH_NM: f64 = 39.0;

/// The trace with the limits that make no sense without it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Carried {
    trace: Trace,
    resistance_ohm: Option<f64>,
    voltage_drop_mv: Option<f64>,
    temperature_rise_k: Option<f64>,
}

impl Carried {
    fn of(design: &Design) -> Option<Self> {
        Some(Self {
            trace: design.trace.clone()?,
            resistance_ohm: design.limits.resistance_ohm,
            voltage_drop_mv: design.limits.voltage_drop_mv,
            temperature_rise_k: design.limits.temperature_rise_k,
        })
    }

    fn fresh(design: &Design) -> Self {
        let mut trace = Trace::copper(conducting_layer(design));
        conduct_as_layer(design, &mut trace);
        Self { trace, resistance_ohm: None, voltage_drop_mv: None, temperature_rise_k: Some(10.0) }
    }

    fn give(design: &mut Design, carried: Option<Self>) {
        let limits = &mut design.limits;
        limits.resistance_ohm = carried.as_ref().and_then(|c| c.resistance_ohm);
        limits.voltage_drop_mv = carried.as_ref().and_then(|c| c.voltage_drop_mv);
        limits.temperature_rise_k = carried.as_ref().and_then(|c| c.temperature_rise_k);
        design.trace = carried.map(|c| c.trace);
    }
}

/// Gives a trace what the material of its layer conducts, where that is known.
fn conduct_as_layer(design: &Design, trace: &mut Trace) {
    let layer = design.stack.layers.iter().find(|layer| layer.name == trace.layer);
    if let Some(found) = layer.and_then(|layer| material_of(design, layer)) {
        conduct(trace, found.material);
    }
}

/// The layer that most likely conducts: the stiffest that guides no light.
fn conducting_layer(design: &Design) -> String {
    let core = design.light.as_ref().map(|light| light.core.as_str());
    let others = design.stack.layers.iter().filter(|layer| Some(layer.name.as_str()) != core);
    let stiffest = others.max_by(|a, b| a.modulus_mpa.total_cmp(&b.modulus_mpa));
    stiffest.map(|layer| layer.name.clone()).unwrap_or_default()
}

impl InputsPanel {
    pub(super) fn trace(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let design = session.design();
        let carries = Switch {
            words: "A layer carries current",
            name: "trace",
            now: Carried::of(design),
            kept: &mut self.kept.trace,
            fresh: &Carried::fresh,
            set: &Carried::give,
        };
        carries.ui(ui, session, out);
        let Some(trace) = &design.trace else {
            for path in ["limits.resistance_ohm", "limits.voltage_drop_mv", "limits.temperature_rise_k"] {
                fault_remark(ui, session, theme, path);
            }
            return;
        };
        let layers: Vec<&str> = design.stack.layers.iter().map(|layer| layer.name.as_str()).collect();
        if let Some(layer) = choice(ui, theme, "Layer", trace.layer.as_str(), layers, str::to_owned) {
            let layer = layer.to_owned();
            out.push(change(session, format!("Make {layer} the trace"), |design| {
                if let Some(mut trace) = design.trace.take() {
                    trace.layer = layer;
                    conduct_as_layer(design, &mut trace);
                    design.trace = Some(trace);
                }
            }));
        }
        fault_remark(ui, session, theme, "trace.layer");
        let rows = [
            ("trace.current_ma", "Current"),
            ("trace.passes", "Passes"),
            ("trace.resistivity_nohm_m", "Resistivity"),
            ("trace.temp_coeff_per_k", "Per kelvin"),
            ("trace.gauge_factor", "Gauge factor"),
        ];
        self.rows(ui, session, theme, &rows, out);
        self.thin_film(ui, session, theme, out);
        caption(ui, theme, "Heat");
        let rows = [("trace.ambient_c", "Ambient"), ("trace.heat_loss_w_per_m2_k", "Heat loss")];
        self.rows(ui, session, theme, &rows, out);
        self.spreading_sheet(ui, session, theme, out);
        caption(ui, theme, "Limits at the target stretch");
        self.trace_limits(ui, session, theme, out);
        if let Some(found) = session.assessment().and_then(|found| found.trace.as_ref()) {
            let words = format!(
                "{} Ω at rest, {} Ω stretched, {} mV",
                digits_text(found.rest_ohm, 3),
                digits_text(found.stretched_ohm, 3),
                digits_text(found.voltage_drop_mv, 3)
            );
            ui.label(RichText::new(words).small().color(theme.muted));
        }
    }

    /// Films about as thin as the electrons' mean free path.
    fn thin_film(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let path = Optional {
            path: "trace.mean_free_path_nm",
            label: "Mean free path",
            absent: "as in bulk",
            value: FRESH_PATH_NM,
            set: &|design, value| {
                if let Some(trace) = &mut design.trace {
                    trace.mean_free_path_nm = value;
                    if value.is_none() {
                        trace.grain_nm = None;
                    }
                }
            },
        };
        self.optional_row(ui, session, theme, &path, out);
        let Some(trace) = &session.design().trace else { return };
        if trace.mean_free_path_nm.is_none() && trace.grain_nm.is_none() {
            return;
        }
        let layer = session.design().stack.layers.iter().find(|layer| layer.name == trace.layer);
        let grain = Optional {
            path: "trace.grain_nm",
            label: "Grain size",
            absent: "the thickness",
            value: layer.map_or(100.0, |layer| 1000.0 * layer.thickness_um),
            set: &|design, value| {
                if let Some(trace) = &mut design.trace {
                    trace.grain_nm = value;
                }
            },
        };
        self.optional_row(ui, session, theme, &grain, out);
    }

    fn spreading_sheet(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let Some(trace) = &session.design().trace else { return };
        let both = trace.sheet_thickness_um.zip(trace.sheet_conductivity_w_per_m_k);
        let half = trace.sheet_thickness_um.or(trace.sheet_conductivity_w_per_m_k);
        let mut none = None;
        let spread = Switch {
            words: "A sheet below spreads the heat",
            name: "spreading sheet",
            now: both.or(half.map(|_| FRESH_SHEET)),
            kept: &mut none,
            fresh: &|_| FRESH_SHEET,
            set: &|design, sheet: Option<(f64, f64)>| {
                if let Some(trace) = &mut design.trace {
                    trace.sheet_thickness_um = sheet.map(|(thickness, _)| thickness);
                    trace.sheet_conductivity_w_per_m_k = sheet.map(|(_, conductivity)| conductivity);
                }
            },
        };
        if spread.ui(ui, session, out) {
            let rows = [
                ("trace.sheet_thickness_um", "Thickness"),
                ("trace.sheet_conductivity_w_per_m_k", "Conductivity"),
            ];
            self.rows(ui, session, theme, &rows, out);
            for (path, _) in rows.into_iter().filter(|(path, _)| session.design().number(path).is_none()) {
                fault_remark(ui, session, theme, path);
            }
        }
    }

    fn trace_limits(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let found = session.assessment().and_then(|found| found.trace.as_ref());
        let round = |value: f64| digits_text(value, 2).parse().unwrap_or(value);
        let resistance = Optional {
            path: "limits.resistance_ohm",
            label: "Resistance",
            absent: "not judged",
            value: found.map_or(10.0, |found| round(1.5 * found.stretched_ohm)),
            set: &|design, value| design.limits.resistance_ohm = value,
        };
        self.optional_row(ui, session, theme, &resistance, out);
        let drop = Optional {
            path: "limits.voltage_drop_mv",
            label: "Voltage drop",
            value: found.map_or(100.0, |found| round((1.5 * found.voltage_drop_mv).max(0.01))),
            set: &|design, value| design.limits.voltage_drop_mv = value,
            ..resistance
        };
        self.optional_row(ui, session, theme, &drop, out);
        let rise = Optional {
            path: "limits.temperature_rise_k",
            label: "Temperature rise",
            value: 10.0,
            set: &|design, value| design.limits.temperature_rise_k = value,
            ..resistance
        };
        self.optional_row(ui, session, theme, &rise, out);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ogee_design::StackLayer;

    #[test]
    fn current_starts_in_the_stiffest_layer_beside_the_core() {
        let mut design = Design::sample();
        design.process = None;
        let core = design.light.as_ref().unwrap().core.clone();
        assert_ne!(conducting_layer(&design), core);
        design.stack.layers.push(StackLayer { modulus_mpa: 1.1e5, ..StackLayer::plain("copper") });
        assert_eq!(conducting_layer(&design), "copper");
        let fresh = Carried::fresh(&design);
        Carried::give(&mut design, Some(fresh));
        assert_eq!(design.check().err(), None);
    }

    #[test]
    fn limits_of_the_trace_go_and_come_with_it() {
        let mut design = Design::sample();
        let fresh = Carried::fresh(&design);
        Carried::give(&mut design, Some(fresh));
        design.limits.voltage_drop_mv = Some(4.0);
        let kept = Carried::of(&design);
        let before = design.clone();
        Carried::give(&mut design, None);
        assert_eq!(design.limits.voltage_drop_mv, None);
        assert_eq!(design.check().err(), None);
        Carried::give(&mut design, kept);
        assert_eq!(design, before);
    }
}
