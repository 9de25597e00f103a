//! How long the ribbon must last: the duty list as a table, and how surely.

use super::{InputsPanel, Switch, change, fault_remark};
use crate::session::{Command, Session};
use crate::window::theme::Theme;
use egui::containers::menu::MenuButton;
use egui::{Align, Layout, RichText, Ui, vec2};
use ogee_design::{CycleBlock, Design, Life, digits_text};

/// Height of a line of the table, points.
const LINE: f32 = 21.0;
/// Width of the tick, points.
const TICK: f32 = 30.0;
/// Width of the menu of a block, points.
const MORE: f32 = 28.0;
/// Gap between columns, points.
const GAP: f32 = 5.0;

impl InputsPanel {
    pub(super) fn life(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        let asked = Switch {
            words: "It must last a number of cycles",
            name: "life",
            now: session.design().life.clone(),
            kept: &mut self.kept.life,
            fresh: &|design| Life::to_target(design.duty.target_stretch_percent),
            set: &|design, life| design.life = life,
        };
        asked.ui(ui, session, out);
        let Some(life) = &session.design().life else { return };
        let columns = Columns::in_width(ui.available_width());
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = GAP;
            for (words, width) in
                [("from, %", columns.end), ("to, %", columns.end), ("cycles", columns.count), ("wrap", TICK)]
            {
                head(ui, theme, words, width);
            }
        });
        for index in 0..life.cycles.len() {
            self.block(ui, session, theme, columns, index, out);
        }
        fault_remark(ui, session, theme, "life.cycles");
        if ui.button("Add cycles").on_hover_text("Another block of equal cycles").clicked() {
            out.push(change(session, "Add cycles", add_block));
        }
        let rows = [
            ("life.seconds_per_cycle", "Time per cycle"),
            ("life.ribbons", "Ribbons"),
            ("life.survival_percent", "Survival"),
            ("life.damage_limit", "Damage limit"),
        ];
        self.rows(ui, session, theme, &rows, out);
        if let Some(found) = session.assessment().and_then(|found| found.life.as_ref()) {
            let words = format!(
                "{} cycles, {} h under stress",
                digits_text(found.cycles_asked, 3),
                digits_text(found.hours, 3)
            );
            ui.label(RichText::new(words).small().color(theme.muted));
        }
    }

    /// One line of the table.
    fn block(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        columns: Columns,
        index: usize,
        out: &mut Vec<Command>,
    ) {
        let Some(life) = &session.design().life else { return };
        let Some(block) = life.cycles.get(index) else { return };
        let at = |key: &str| format!("life.cycles[{index}].{key}");
        let number = index + 1;
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = GAP;
            ui.set_min_height(LINE);
            for (key, width, words) in [
                ("from_percent", columns.end, "From"),
                ("to_percent", columns.end, "To"),
                ("count", columns.count, "Cycles"),
            ] {
                let name = format!("{words} of block {number}");
                self.numbers.cell(ui, session, theme, width, &at(key), &name, out);
            }
            let mut wrapped = block.wrapped;
            ui.allocate_ui_with_layout(vec2(TICK, LINE), Layout::left_to_right(Align::Center), |ui| {
                ui.set_min_width(TICK);
                ui.spacing_mut().interact_size.x = 0.0;
                let tick =
                    ui.checkbox(&mut wrapped, ()).on_hover_text("Wrapped at the far end, flat at the other");
                ui.accesskit_node_builder(tick.id, |node| {
                    node.set_label(format!("Block {number} is wrapped"));
                });
            });
            if wrapped != block.wrapped {
                out.push(change(session, "Change what is wrapped", |design| {
                    if let Some(block) = design.life.as_mut().and_then(|life| life.cycles.get_mut(index)) {
                        block.wrapped = wrapped;
                    }
                }));
            }
            let (menu, _) = MenuButton::new("…").ui(ui, |ui| {
                if ui.button("Remove these cycles").clicked() {
                    out.push(change(session, "Remove cycles", |design| {
                        if let Some(life) = design.life.as_mut().filter(|life| index < life.cycles.len()) {
                            life.cycles.remove(index);
                        }
                    }));
                }
            });
            ui.accesskit_node_builder(menu.id, |node| node.set_label(format!("Block {number}, more")));
        });
        for key in ["from_percent", "to_percent", "count"] {
            self.numbers.remarks_at(ui, session, theme, &at(key), out);
        }
        fault_remark(ui, session, theme, &at("wrapped"));
    }
}

fn head(ui: &mut Ui, theme: &Theme, words: &str, width: f32) {
    ui.allocate_ui_with_layout(vec2(width, 14.0), Layout::left_to_right(Align::Center), |ui| {
        ui.set_min_width(width);
        ui.label(RichText::new(words).small().color(theme.muted));
    });
}

/// Another block like the last one.
fn add_block(design: &mut Design) {
    let to_percent = design.duty.target_stretch_percent;
    if let Some(life) = &mut design.life {
        let fresh = CycleBlock { from_percent: 0.0, to_percent, count: 1e4, wrapped: false };
        let block = life.cycles.last().copied().unwrap_or(fresh);
        life.cycles.push(block);
    }
}

/// Widths of the columns, points.
#[derive(Clone, Copy, Debug)]
struct Columns {
    /// From and to.
    end: f32,
    count: f32,
}

impl Columns {
    fn in_width(width: f32) -> Self {
        let room = (width - TICK - MORE - 4.0 * GAP).max(100.0);
        let end = (0.29 * room).min(76.0);
        Self { end, count: (room - 2.0 * end).min(130.0) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_fits_its_card() {
        for width in [180.0, 240.0, 400.0] {
            let columns = Columns::in_width(width);
            let all = 2.0 * columns.end + columns.count + TICK + MORE + 4.0 * GAP;
            assert!(all <= width + 0.1, "{all} of {width}");
            assert!(columns.count > columns.end);
        }
    }

    #[test]
    fn an_added_block_is_like_the_last() {
        let mut design = Design::sample();
        design.life = None;
        add_block(&mut design);
        assert_eq!(design.life, None);
        design.life = Some(Life::to_target(30.0));
        add_block(&mut design);
        let life = design.life.as_ref().unwrap();
        assert_eq!(life.cycles[0], life.cycles[1]);
        assert!(design.check().is_ok());
    }
}
