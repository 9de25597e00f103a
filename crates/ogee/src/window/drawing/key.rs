//! The key to the colours, at the lower right, and the switch between strain and loss.

use super::ink::{ColourBy, Ink};
use crate::window::legend::{Direction, Legend, LegendInk};
use crate::window::theme::Theme;
use egui::{Align2, Button, FontId, Rect, RichText, Ui, UiBuilder, pos2, vec2};

/// Length and height of the bar, points.
const BAR: [f32; 2] = [190.0, 9.0];

/// What the key has to say.
#[derive(Clone, Copy, Debug)]
pub(super) struct Key<'a> {
    /// The colours.
    pub ink: &'a Ink,
    /// Whether places beyond the scale's high end are seen.
    pub has_above: bool,
    /// A value to mark across the bar.
    pub mark: Option<f64>,
    /// Whether there is light, so that loss can be chosen.
    pub has_light: bool,
}

impl Key<'_> {
    /// Shows it in the lower right of `canvas`. Returns what it covers.
    pub(super) fn ui(&self, ui: &mut Ui, canvas: Rect, by: &mut ColourBy, theme: &Theme) -> Rect {
        let length = BAR[0].min(canvas.width() * 0.3);
        let unit = match self.ink.by() {
            ColourBy::Strain => "%",
            ColourBy::Loss => "dB/cm",
        };
        let bar = Rect::from_min_size(
            pos2(canvas.right() - length - 34.0, canvas.bottom() - 32.0),
            vec2(length, BAR[1]),
        );
        let painter = ui.painter_at(canvas);
        let ground =
            Rect::from_min_max(pos2(bar.left() - 110.0, bar.top() - 20.0), canvas.max - vec2(2.0, 2.0));
        painter.rect_filled(ground, 3.0, theme.canvas.gamma_multiply(0.8));
        let legend = Legend {
            has_above: self.has_above,
            mark: self.mark,
            ..Legend::new(self.ink.scale(), unit, Direction::Right)
        };
        let inks = LegendInk { muted: theme.muted, line: theme.line_strong };
        let mut covered = legend.paint(&painter, bar, inks);
        let caption = self.caption();
        let text = painter.text(
            pos2(bar.right(), bar.top() - 4.0),
            Align2::RIGHT_BOTTOM,
            caption,
            FontId::proportional(11.0),
            theme.muted,
        );
        covered = covered.union(text);
        let row = Rect::from_min_max(
            pos2(bar.left() - 150.0, bar.center().y - 10.0),
            pos2(bar.left() - 10.0, bar.center().y + 10.0),
        );
        let switch = ui.scope_builder(
            UiBuilder::new()
                .max_rect(row)
                .id_salt("colour by")
                .layout(egui::Layout::right_to_left(egui::Align::Center)),
            |ui| {
                ui.spacing_mut().item_spacing.x = 2.0;
                if self.has_light {
                    choice(ui, by, ColourBy::Loss, "loss", theme);
                }
                choice(ui, by, ColourBy::Strain, "strain", theme);
            },
        );
        covered.union(switch.response.rect)
    }

    fn caption(&self) -> String {
        match (self.ink.by(), self.ink.lanes()) {
            (ColourBy::Strain, [lane]) => {
                format!("tensile strain · {} % allowed", ogee_design::digits_text(100.0 * lane.allowable, 3))
            }
            (ColourBy::Strain, _) => "tensile strain, share of what each layer allows".to_owned(),
            (ColourBy::Loss, _) => match self.mark {
                Some(mark) => {
                    format!("loss · {} dB/cm allowed on average", ogee_design::digits_text(mark, 2))
                }
                None => "loss".to_owned(),
            },
        }
    }
}

fn choice(ui: &mut Ui, by: &mut ColourBy, this: ColourBy, word: &str, theme: &Theme) {
    let is_on = *by == this;
    let ink = if is_on { theme.accent } else { theme.muted };
    let button = ui.add(Button::selectable(is_on, RichText::new(word).size(11.5).color(ink)));
    if button.on_hover_text(format!("Colour the stretched ribbon by {word}")).clicked() {
        *by = this;
    }
}
