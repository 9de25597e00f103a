//! The cards of the inputs: their titles, what they say folded, and the parts of cards that fold likewise.

use super::InputsPanel;
use crate::session::{Command, Session};
use crate::window::quantity_field::remark;
use crate::window::theme::Theme;
use egui::{
    Align2, Color32, CursorIcon, FontId, Id, Rect, Response, RichText, Role, Sense, Shape, Stroke, Ui,
    WidgetInfo, pos2, vec2,
};
use ogee_design::{Design, StepName, digits_text, number_text};

/// Margin beside the content of a card, points.
const CARD_MARGIN: f32 = 13.0;
/// Height of the head of a card, points.
const HEAD: f32 = 19.0;

/// A group of inputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Card {
    Shape,
    Stack,
    Light,
    Trace,
    Duty,
    Making,
    Life,
    Islands,
    Support,
    Limits,
    Design,
}

impl Card {
    /// All cards, in the order in which they stand.
    pub(super) const ALL: [Self; 11] = [
        Self::Shape,
        Self::Stack,
        Self::Light,
        Self::Trace,
        Self::Duty,
        Self::Making,
        Self::Life,
        Self::Islands,
        Self::Support,
        Self::Limits,
        Self::Design,
    ];

    fn title(self) -> &'static str {
        match self {
            Self::Shape => "Shape",
            Self::Stack => "Stack",
            Self::Light => "Light",
            Self::Trace => "Trace",
            Self::Duty => "Duty",
            Self::Making => "Making",
            Self::Life => "Life",
            Self::Islands => "Islands",
            Self::Support => "Support",
            Self::Limits => "Limits",
            Self::Design => "Design",
        }
    }

    /// Where its fields stand in the file.
    fn root(self) -> &'static str {
        match self {
            Self::Shape => "shape",
            Self::Stack => "stack",
            Self::Light => "light",
            Self::Trace => "trace",
            Self::Duty => "duty",
            Self::Making => "process",
            Self::Life => "life",
            Self::Islands => "islands",
            Self::Support => "support",
            Self::Limits => "limits",
            Self::Design => "name",
        }
    }

    /// Whether it can be folded away.
    fn folds(self) -> bool {
        !matches!(self, Self::Shape | Self::Stack)
    }

    /// What a folded card says.
    fn summary(self, design: &Design) -> String {
        let none = || "not judged".to_owned();
        match self {
            Self::Shape | Self::Stack => String::new(),
            Self::Light => design.light.as_ref().map_or_else(
                || "none".to_owned(),
                |light| format!("{} µm in {}", number_text(light.wavelength_um), light.core),
            ),
            Self::Trace => design.trace.as_ref().map_or_else(
                || "none".to_owned(),
                |trace| format!("{} mA in {}", number_text(trace.current_ma), trace.layer),
            ),
            Self::Duty => {
                let stretch = format!("{} %", number_text(design.duty.target_stretch_percent));
                design.duty.wrap.map_or(stretch.clone(), |wrap| {
                    format!("{stretch}, round {} mm", digits_text(wrap.radius_um / 1000.0, 3))
                })
            }
            Self::Making => design.process.as_ref().map_or_else(none, |process| {
                let released = process.steps.iter().any(|step| step.step == StepName::Release);
                let end = if released { "released" } else { "on its handle" };
                format!("{} steps, {end}", process.steps.len())
            }),
            Self::Life => design.life.as_ref().map_or_else(none, |life| {
                let cycles: f64 = life.cycles.iter().map(|block| block.count).sum();
                format!("{} cycles", digits_text(cycles, 3))
            }),
            Self::Islands => design.islands.map_or_else(none, |islands| {
                format!("sheet stretched {} %", number_text(islands.sheet_stretch_percent))
            }),
            Self::Support => design.support.kind.label().to_owned(),
            Self::Limits => format!("radius {} µm", number_text(design.limits.least_radius_um)),
            Self::Design => design.name.clone(),
        }
    }
}

impl InputsPanel {
    /// A card of `width` points with its title; folded it says its summary, and what is wrong inside.
    pub(super) fn card(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        card: Card,
        width: f32,
        out: &mut Vec<Command>,
    ) {
        theme.card().show(ui, |ui| {
            ui.set_width(width - 2.0 * CARD_MARGIN);
            ui.spacing_mut().item_spacing.y = 4.0;
            if card.folds() {
                let open = self.open.contains(&card);
                let summary = if open { String::new() } else { card.summary(session.design()) };
                let font = ui.style().text_styles.get(&egui::TextStyle::Heading).cloned();
                let font = font.unwrap_or_else(|| Theme::bold(13.0));
                if head(ui, theme, card.title(), &summary, open, font, theme.text).clicked() {
                    toggle(&mut self.open, card);
                }
                if !open {
                    inner_faults(ui, session, theme, card.root());
                    return;
                }
            } else {
                ui.label(RichText::new(card.title()).heading());
            }
            ui.add_space(1.0);
            match card {
                Card::Shape => self.shape(ui, session, theme, out),
                Card::Stack => self.stack(ui, session, theme, out),
                Card::Light => self.light(ui, session, theme, out),
                Card::Trace => self.trace(ui, session, theme, out),
                Card::Duty => self.duty(ui, session, theme, out),
                Card::Making => self.making(ui, session, theme, out),
                Card::Life => self.life(ui, session, theme, out),
                Card::Islands => self.islands(ui, session, theme, out),
                Card::Support => self.support(ui, session, theme, out),
                Card::Limits => self.limits(ui, session, theme, out),
                Card::Design => self.about(ui, session, theme, out),
            }
        });
    }

    /// The head of a part of a card, which folds too. Returns whether it is open.
    pub(super) fn part(
        &mut self,
        ui: &mut Ui,
        session: &Session,
        theme: &Theme,
        title: &'static str,
        summary: &str,
        root: &str,
    ) -> bool {
        ui.add_space(2.0);
        let open = self.parts.contains(title);
        let summary = if open { "" } else { summary };
        if head(ui, theme, title, summary, open, FontId::proportional(12.5), theme.muted).clicked() {
            toggle(&mut self.parts, title);
        }
        if !open {
            inner_faults(ui, session, theme, root);
        }
        open
    }
}

fn toggle<T: Eq + std::hash::Hash>(set: &mut std::collections::HashSet<T>, item: T) {
    if !set.remove(&item) {
        set.insert(item);
    }
}

/// What is wrong inside something folded.
fn inner_faults(ui: &mut Ui, session: &Session, theme: &Theme, root: &str) {
    let mut inside = session.faults().iter().filter(|fault| {
        fault.path.strip_prefix(root).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
    });
    if let Some(first) = inside.next() {
        remark(ui, theme, &first.message);
        let more = inside.count();
        if more > 0 {
            ui.label(RichText::new(format!("and {more} more")).small().color(theme.bad));
        }
    }
}

/// A line that folds what is below it.
fn head(
    ui: &mut Ui,
    theme: &Theme,
    title: &str,
    summary: &str,
    open: bool,
    font: FontId,
    ink: Color32,
) -> Response {
    let id: Id = ui.scope_id().with(("head", title));
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), HEAD), Sense::hover());
    let response = ui.interact(rect.expand2(vec2(6.0, 2.0)), id, Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, title));
    ui.accesskit_node_builder(id, |node| {
        node.set_expanded(open);
        if !summary.is_empty() {
            node.set_value(summary);
        }
    });
    let lit = response.hovered() || response.has_focus();
    if response.hovered() {
        ui.set_cursor_icon(CursorIcon::PointingHand);
    }
    if response.has_focus() {
        let ring = Stroke::new(1.0, theme.accent);
        ui.painter().rect_stroke(rect.expand2(vec2(5.0, 1.0)), 3.0, ring, egui::StrokeKind::Middle);
    }
    let ink = if lit { theme.accent } else { ink };
    let painter = ui.painter();
    let words = painter.text(rect.left_center(), Align2::LEFT_CENTER, title, font, ink);
    arrow(ui, pos2(rect.right() - 5.0, rect.center().y), open, if lit { theme.accent } else { theme.muted });
    let room =
        Rect::from_min_max(pos2(words.right() + 10.0, rect.top()), pos2(rect.right() - 16.0, rect.bottom()));
    if !summary.is_empty() && room.width() > 20.0 {
        let small = FontId::proportional(11.0);
        let text = super::heights::shortened(ui, summary, &small, room.width());
        ui.painter().text(room.right_center(), Align2::RIGHT_CENTER, text, small, theme.muted);
    }
    response
}

/// A small sign that points right when folded and down when open.
fn arrow(ui: &Ui, at: egui::Pos2, open: bool, ink: Color32) {
    let corners = if open {
        [vec2(-3.5, -2.0), vec2(0.0, 2.0), vec2(3.5, -2.0)]
    } else {
        [vec2(-2.0, -3.5), vec2(2.0, 0.0), vec2(-2.0, 3.5)]
    };
    ui.painter().add(Shape::line(corners.map(|c| at + c).to_vec(), Stroke::new(1.3, ink)));
}

#[cfg(test)]
mod tests {
    use super::*;
    use ogee_design::{Islands, Life, Process, Trace, WrapDuty};

    #[test]
    fn folded_cards_say_what_is_inside() {
        let mut design = Design::sample();
        (design.process, design.trace) = (None, None);
        assert_eq!(Card::Making.summary(&design), "not judged");
        assert_eq!(Card::Trace.summary(&design), "none");
        design.process = Some(Process::plain(["core"], 150.0));
        design.life = Some(Life::to_target(35.0));
        design.islands = Some(Islands::default());
        design.trace = Some(Trace::copper("metal"));
        design.duty.target_stretch_percent = 35.0;
        design.duty.wrap = Some(WrapDuty::default());
        assert_eq!(Card::Making.summary(&design), "3 steps, released");
        assert_eq!(Card::Life.summary(&design), "100000 cycles");
        assert_eq!(Card::Islands.summary(&design), "sheet stretched 20 %");
        assert_eq!(Card::Trace.summary(&design), "10 mA in metal");
        assert_eq!(Card::Duty.summary(&design), "35 %, round 3.5 mm");
        design.light = None;
        assert_eq!(Card::Light.summary(&design), "none");
    }
}
