//! The numbers of a figure as a table with tabs, for a spreadsheet.

use ogee_design::{IslandResult, LifeResult, ThermalResult, TraceResult, WrapResult};
use std::fmt::Write as _;

/// A cell that may be empty.
fn cell(value: Option<f64>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}

/// Lines of cells.
#[derive(Debug, Default)]
struct Table(String);

impl Table {
    fn head(&mut self, names: &[&str]) {
        if !self.0.is_empty() {
            self.0.push('\n');
        }
        self.line(names);
    }

    fn line(&mut self, cells: &[impl AsRef<str>]) {
        for (i, cell) in cells.iter().enumerate() {
            let tab = if i == 0 { "" } else { "\t" };
            // A tab or a line break within a name would shift what follows.
            let cell = cell.as_ref().replace(['\t', '\n', '\r'], " ");
            write!(self.0, "{tab}{cell}").expect("a String takes all that is written");
        }
        self.0.push('\n');
    }

    /// A name and numbers.
    fn row(&mut self, name: &str, values: &[Option<f64>]) {
        let cells: Vec<String> =
            std::iter::once(name.to_owned()).chain(values.iter().map(|v| cell(*v))).collect();
        self.line(&cells);
    }
}

/// Strain through the thickness, and what every layer sees.
pub(super) fn wrap(found: &WrapResult) -> String {
    let mut table = Table::default();
    table.head(&["height µm", "middle %", "bonded %", "split below %", "split above %"]);
    for face in &found.faces {
        let [below, above] = face.split_percent;
        let rest = [face.middle_percent, face.bonded_percent, below, above].map(Some);
        table.row(&face.z_um.to_string(), &rest);
    }
    let kinds = ["wrap", "pull", "residual", "together"];
    let ends = kinds.iter().flat_map(|kind| [format!("{kind} greatest %"), format!("{kind} least %")]);
    let heads: Vec<String> = std::iter::once("layer".to_owned())
        .chain(ends)
        .chain(["allowed %".to_owned(), "margin".to_owned()])
        .collect();
    table.head(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for layer in &found.layers {
        let ranges = [layer.wrap_percent, layer.pull_percent, layer.residual_percent, layer.together_percent];
        let values = ranges.into_iter().flatten().chain([layer.allowable_strain_percent, layer.margin]);
        table.row(&layer.name, &values.map(Some).collect::<Vec<_>>());
    }
    table.0
}

/// Every step with the mean stress of every layer.
pub(super) fn oven(found: &ThermalResult) -> String {
    let steps = || found.steps.iter().chain(&found.service);
    let mut names: Vec<&str> = Vec::new();
    for layer in steps().flat_map(|s| &s.layers) {
        if !names.contains(&layer.name.as_str()) {
            names.push(&layer.name);
        }
    }
    let mut heads =
        vec!["step".to_owned(), "°C".to_owned(), "bow µm".to_owned(), "curvature 1/µm".to_owned()];
    heads.extend(names.iter().flat_map(|n| [format!("{n} bottom MPa"), format!("{n} top MPa")]));
    let mut table = Table::default();
    table.head(&heads.iter().map(String::as_str).collect::<Vec<_>>());
    for step in steps() {
        let mut values = vec![Some(step.temperature_c), step.bow_um, Some(step.curvature_per_um)];
        for name in &names {
            let layer = step.layers.iter().find(|l| l.name == *name);
            values.extend([0, 1].map(|i| layer.map(|l| l.stress_mpa[i])));
        }
        table.row(&step.words, &values);
    }
    table.head(&["film", "stress MPa", "drive J/m²", "toughness J/m²", "critical µm", "without buffer µm"]);
    for crack in &found.cracks {
        let values = [
            Some(crack.stress_mpa),
            crack.drive_j_per_m2,
            Some(crack.toughness_j_per_m2),
            crack.critical_thickness_um,
            crack.critical_without_buffer_um,
        ];
        table.row(&crack.layer, &values);
    }
    table.head(&["interface", "energy bound J/m²"]);
    for interface in &found.interfaces {
        let name = format!("{} on {}", interface.above, interface.below);
        table.row(&name, &[Some(interface.bound_j_per_m2)]);
    }
    table.0
}

/// Every block of every layer, and what survives.
pub(super) fn life(found: &LifeResult) -> String {
    let mut table = Table::default();
    let heads = [
        "layer",
        "block",
        "amplitude %",
        "mean %",
        "cycles careful",
        "cycles typical",
        "cycles best",
        "damage",
    ];
    table.head(&heads);
    for layer in &found.layers {
        for (i, block) in layer.blocks.iter().enumerate() {
            let cycles = [0, 1, 2].map(|k| block.cycles.map(|c| c[k]));
            let values = [
                Some((i + 1) as f64),
                Some(block.amplitude_percent),
                Some(block.mean_percent),
                cycles[0],
                cycles[1],
                cycles[2],
                block.damage,
            ];
            table.row(&layer.name, &values);
        }
    }
    table.head(&["layer", "stress MPa", "allowed MPa", "survival %"]);
    for layer in found.layers.iter().filter(|l| l.survival_percent.is_some()) {
        table.row(&layer.name, &[layer.stress_mpa, layer.allowed_stress_mpa, layer.survival_percent]);
    }
    table.0
}

/// Strain of island and sheet along half an island and half a gap.
pub(super) fn islands(found: &IslandResult) -> String {
    let mut table = Table::default();
    table.head(&["from the middle µm", "island %", "sheet %"]);
    for point in &found.profile {
        table.row(&point.x_um.to_string(), &[point.island_percent, Some(point.sheet_percent)]);
    }
    table.0
}

/// What the trace resists, drops and heats.
pub(super) fn trace(found: &TraceResult) -> String {
    let mut table = Table::default();
    table.head(&["trace", found.layer.as_str()]);
    for (name, value) in [
        ("resistance at rest Ω", Some(found.rest_ohm)),
        ("resistance stretched Ω", Some(found.stretched_ohm)),
        ("change by the stretch %", Some(found.change_percent)),
        ("squares", Some(found.squares)),
        ("resistance of a square Ω", Some(found.sheet_resistance_ohm)),
        ("voltage drop mV", Some(found.voltage_drop_mv)),
        ("heat mW", Some(found.power_mw)),
        ("temperature rise K", found.temperature_rise_k),
        ("rated by the heat balance mA", Some(found.rated_ma)),
        ("rated by the board fit mA", found.board_fit_ma),
        ("current density A/mm²", Some(found.density_a_per_mm2)),
    ] {
        table.row(name, &[value]);
    }
    table.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::figures::hand_made;

    #[test]
    fn every_table_is_even_and_reads_back() {
        for text in [
            wrap(&hand_made::wrap()),
            oven(&hand_made::thermal()),
            life(&hand_made::life()),
            islands(&hand_made::islands()),
            trace(&hand_made::trace()),
        ] {
            for block in text.split("\n\n") {
                let mut lines = block.lines();
                let columns = lines.next().unwrap().split('\t').count();
                assert!(columns >= 2, "{block}");
                for line in lines {
                    let cells: Vec<&str> = line.split('\t').collect();
                    assert_eq!(cells.len(), columns, "{line}");
                    for cell in cells.iter().skip(1).filter(|c| !c.is_empty()) {
                        assert!(cell.parse::<f64>().is_ok(), "{cell} in {line}");
                    }
                }
            }
        }
        assert!(
            life(&hand_made::life()).contains("supply trace\t1\t0.21\t0.23\t210000\t840000\t3000000\t0.6\n")
        );
    }

    #[test]
    fn a_tab_in_a_name_shifts_nothing() {
        let mut found = hand_made::trace();
        found.layer = "a\tb\nc".to_owned();
        assert!(trace(&found).starts_with("trace\ta b c\n"));
    }
}
