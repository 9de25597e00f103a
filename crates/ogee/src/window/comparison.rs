//! The pinned variants and the design side by side.

use super::theme::Theme;
use crate::session::{Command, Session};
use egui::{Grid, RichText, ScrollArea, Ui};
use ogee_design::{Assessment, Design, FIELDS, digits_text};

/// A column of the table.
struct Column<'a> {
    name: String,
    design: &'a Design,
    found: &'a Assessment,
    pin: Option<usize>,
}

/// A row of the table: its name, and a cell for each column.
struct Row {
    name: String,
    cells: Vec<Cell>,
}

struct Cell {
    text: String,
    /// A check that fails.
    fails: bool,
}

/// The comparison of the pins as a table.
#[derive(Debug, Default)]
pub struct ComparisonPanel {
    /// Only rows whose cells differ are shown.
    differing_only: bool,
}

impl ComparisonPanel {
    /// Shows the table.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let columns = columns(session);
        if columns.len() < 2 {
            ui.label(RichText::new("Pin a variant to compare it with the design").color(theme.muted));
            return;
        }
        ui.horizontal(|ui| {
            ui.checkbox(&mut self.differing_only, "Only what differs");
            if ui.button("Copy as text").on_hover_text("Copy the table with tabs between its cells").clicked()
            {
                ui.copy_text(as_text(&columns));
            }
        });
        ui.add_space(4.0);
        ScrollArea::both().max_height(0.6 * ui.ctx().content_rect().height()).show(ui, |ui| {
            Grid::new("comparison").striped(true).spacing([22.0, 4.0]).show(ui, |ui| {
                ui.label("");
                for column in &columns {
                    ui.vertical(|ui| {
                        ui.label(RichText::new(&column.name).font(Theme::bold(12.5)));
                        if let Some(index) = column.pin
                            && ui
                                .small_button("Restore")
                                .on_hover_text("Make this variant the design")
                                .clicked()
                        {
                            out.push(Command::RestorePin(index));
                        }
                    });
                }
                ui.end_row();
                for row in rows(&columns) {
                    if self.differing_only && row.cells.iter().all(|cell| cell.text == row.cells[0].text) {
                        continue;
                    }
                    ui.label(RichText::new(&row.name).color(theme.muted));
                    for cell in &row.cells {
                        let ink = if cell.fails { theme.bad } else { theme.text };
                        ui.label(RichText::new(&cell.text).color(ink));
                    }
                    ui.end_row();
                }
            });
        });
    }
}

fn columns(session: &Session) -> Vec<Column<'_>> {
    let now = session.assessment().map(|found| Column {
        name: "this design".to_owned(),
        design: session.design(),
        found,
        pin: None,
    });
    let pins = session.pins().iter().enumerate().map(|(index, pin)| Column {
        name: format!("pin {}", pin.name),
        design: &pin.design,
        found: &pin.assessment,
        pin: Some(index),
    });
    now.into_iter().chain(pins).collect()
}

/// The numbers of the designs, then what follows from them, then the margins.
fn rows(columns: &[Column<'_>]) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut add = |name: String, cell: &dyn Fn(&Column<'_>) -> Option<Cell>| {
        let cells: Vec<_> = columns.iter().map(cell).collect();
        if cells.iter().any(Option::is_some) {
            let empty = || Cell { text: "–".to_owned(), fails: false };
            rows.push(Row { name, cells: cells.into_iter().map(|c| c.unwrap_or_else(empty)).collect() });
        }
    };
    let plain = |text: String| Some(Cell { text, fails: false });
    add("Family".to_owned(), &|c| plain(c.design.shape.family.label().to_owned()));
    for field in FIELDS {
        let compared = ["shape.", "duty.", "light."].iter().any(|part| field.path.starts_with(part));
        if compared {
            let name = with_unit(field.label, field.unit);
            add(name, &|c| c.design.number(field.path).and_then(|value| plain(digits_text(value, 5))));
        }
    }
    add("Contour length, mm".to_owned(), &|c| {
        plain(digits_text(c.found.shape.contour_length_um / 1000.0, 4))
    });
    add("Span at rest, mm".to_owned(), &|c| plain(digits_text(c.found.shape.span_um / 1000.0, 4)));
    add("Force at the target, µN".to_owned(), &|c| plain(digits_text(c.found.stretch.force_un, 3)));
    let mut ids: Vec<&str> = Vec::new();
    for margin in columns.iter().flat_map(|column| &column.found.margins) {
        if !ids.contains(&margin.id.as_str()) {
            ids.push(&margin.id);
        }
    }
    for id in ids {
        let of = |c: &Column<'_>| c.found.margins.iter().find(|margin| margin.id == id).cloned();
        let name = columns.iter().find_map(of).map_or_else(|| id.to_owned(), |margin| margin.name);
        add(format!("Margin: {name}"), &|c| {
            let margin = of(c)?;
            let text = match margin.margin {
                Some(m) => format!("{m:.2}{}", if margin.passes { "" } else { " fails" }),
                None => "none".to_owned(),
            };
            Some(Cell { text, fails: !margin.passes })
        });
    }
    rows
}

fn with_unit(label: &str, unit: &str) -> String {
    if unit.is_empty() { label.to_owned() } else { format!("{label}, {unit}") }
}

/// The table as text with tabs between its cells.
fn as_text(columns: &[Column<'_>]) -> String {
    let head = columns.iter().map(|column| column.name.as_str());
    let mut text = std::iter::once("").chain(head).collect::<Vec<_>>().join("\t");
    for row in rows(columns) {
        let cells = row.cells.iter().map(|cell| cell.text.as_str());
        text.push('\n');
        text.push_str(&std::iter::once(row.name.as_str()).chain(cells).collect::<Vec<_>>().join("\t"));
    }
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::{Edit, Settings};

    #[test]
    fn the_table_has_a_column_for_each_variant() {
        let mut start = Design::sample();
        start.shape.pitch_um = 1200.0;
        let mut session = Session::new(start, Settings::default());
        session.apply(Command::Pin);
        session.apply(Command::Commit(Edit::number("Change pitch", "shape.pitch_um", 1100.0)));
        let columns = columns(&session);
        let text = as_text(&columns);
        let lines: Vec<Vec<&str>> = text.lines().map(|line| line.split('\t').collect()).collect();
        assert_eq!(lines[0], ["", "this design", "pin A"]);
        assert!(lines.iter().all(|cells| cells.len() == 3));
        assert!(lines.contains(&vec!["Pitch, µm", "1100", "1200"]), "{text}");
        assert!(lines.iter().any(|cells| cells[0].starts_with("Margin: ")));
    }
}
