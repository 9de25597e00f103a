//! What to know when reading the numbers of wrap, oven, life, islands and trace, and the cautions that go with them.

use super::Strength;
use crate::checked::Checked;
use crate::result::{Note, Severity};

/// Limits of the models that were used, and cautions.
pub(super) fn notes(checked: &Checked, found: &Strength) -> Vec<Note> {
    let mut list = Vec::new();
    let mut add = |code: &str, severity: Severity, path: &str, message: String| {
        list.push(Note { code: code.to_owned(), severity, path: path.to_owned(), message });
    };
    let parts = [
        ("wrap-model", "wrap", found.wrap.as_ref().map(|r| &r.validity)),
        ("oven-model", "thermal", found.thermal.as_ref().map(|r| &r.validity)),
        ("life-model", "life", found.life.as_ref().map(|r| &r.validity)),
        ("island-model", "islands", found.islands.as_ref().map(|r| &r.validity)),
        ("trace-model", "trace", found.trace.as_ref().map(|r| &r.validity)),
    ];
    for (code, path, validity) in parts {
        for words in validity.into_iter().flatten() {
            add(code, Severity::Info, path, sentence(words));
        }
    }
    for (id, name, why) in &found.failed {
        add("not-computed", Severity::Warning, id, format!("{name}: {}", sentence(why)));
    }
    let design = checked.design();
    if checked.layers().iter().any(|l| l.residual != [0.0; 2]) {
        add(
            "residual-counted",
            Severity::Info,
            "stack.layers",
            "The strain that the process leaves in each layer is taken off what pull and wrap may add, at the worse end of \
             the temperatures of use."
                .to_owned(),
        );
    }
    if design.trace.is_some() {
        add(
            "current-caution",
            Severity::Caution,
            "trace",
            "Currents and batteries: a cracked trace can heat or short; touch temperatures and cell safety follow the \
             standards that apply. Liquid gallium alloys attack aluminium."
                .to_owned(),
        );
    }
    if design.light.is_some() {
        add(
            "light-caution",
            Severity::Caution,
            "light",
            "Guided and emitted light is classed by IEC 60825-1 with single faults counted in: a broken ribbon can emit, \
             and infrared is invisible."
                .to_owned(),
        );
    }
    if design.duty.wrap.is_some() || design.life.is_some() {
        add(
            "body-caution",
            Severity::Caution,
            "",
            "On or in a body: materials are evaluated under ISO 10993; skin contact, cutting edges, trapped heat and \
             moisture need licensed professional advice and local rules."
                .to_owned(),
        );
    }
    if design.process.is_some() {
        add(
            "substances",
            Severity::Caution,
            "process",
            "Glass with arsenic or selenium, isocyanates, resists and etchants: follow the safety sheets and local codes."
                .to_owned(),
        );
    }
    list
}

/// A clause as a sentence.
fn sentence(clause: &str) -> String {
    let mut chars = clause.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string()).unwrap_or_default();
    let end = if clause.ends_with('.') { "" } else { "." };
    format!("{first}{}{end}", chars.as_str())
}
