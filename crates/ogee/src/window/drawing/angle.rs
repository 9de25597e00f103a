//! The switch between plan and oblique view, and how heights are drawn.

use super::oblique::{Heights, MOST_HEIGHTS};
use crate::window::theme::Theme;
use egui::{Align, Button, Layout, Rect, RichText, Ui, UiBuilder, WidgetInfo, pos2};

/// Size of the words, points.
const WORDS: f32 = 11.5;
/// Height of a row, points.
const ROW: f32 = 22.0;

/// From where the ribbon is seen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Angle {
    /// From above, at rest and stretched, with handles.
    #[default]
    Plan,
    /// From the side and above, stretched.
    Oblique,
}

impl Angle {
    pub(super) fn other(self) -> Self {
        match self {
            Self::Plan => Self::Oblique,
            Self::Oblique => Self::Plan,
        }
    }

    /// The word of the switch and what it does.
    fn words(self) -> [&'static str; 2] {
        match self {
            Self::Plan => ["plan", "Seen from above, with handles (V)"],
            Self::Oblique => {
                ["oblique", "Seen from the side, with heights; drag to turn, Shift-drag to move (V)"]
            }
        }
    }
}

/// Room at the upper right that the switch takes, points.
pub(super) const SWITCH_WIDTH: f32 = 128.0;

/// plan · oblique, at the upper right of `canvas`. Returns what it covers.
pub(super) fn switch(ui: &mut Ui, canvas: Rect, angle: &mut Angle, theme: &Theme) -> Rect {
    row(ui, canvas, 0, |ui| {
        for this in [Angle::Oblique, Angle::Plan] {
            let is_on = *angle == this;
            let [word, tip] = this.words();
            let response = choice(ui, is_on, word, theme).on_hover_text(tip);
            response.widget_info(|| {
                WidgetInfo::selected(egui::Role::RadioButton, true, is_on, format!("{word} view"))
            });
            if response.clicked() {
                *angle = this;
            }
        }
    })
}

/// How much heights are enlarged, below the switch. `factor` is in force.
pub(super) fn heights(ui: &mut Ui, canvas: Rect, heights: &mut Heights, factor: f64, theme: &Theme) -> Rect {
    let now = (factor.round() as u8).clamp(1, MOST_HEIGHTS);
    row(ui, canvas, 1, |ui| {
        let is_automatic = *heights == Heights::Automatic;
        let response = choice(ui, is_automatic, "automatic", theme)
            .on_hover_text("Enlarge heights as much as looks well");
        response.widget_info(|| {
            WidgetInfo::selected(egui::Role::CheckBox, true, is_automatic, "heights automatic")
        });
        if response.clicked() {
            *heights = if is_automatic { Heights::Times(now) } else { Heights::Automatic };
        }
        for (sign, step, name) in [("+", 1, "enlarge heights"), ("−", -1, "reduce heights")] {
            let next = now.saturating_add_signed(step).clamp(1, MOST_HEIGHTS);
            let response = ui.add_enabled(next != now, Button::new(sign).min_size(egui::vec2(18.0, 18.0)));
            response.widget_info(|| WidgetInfo::labeled(egui::Role::Button, next != now, name));
            if response.clicked() {
                *heights = Heights::Times(next);
            }
        }
        ui.label(RichText::new(format!("heights × {now}")).size(WORDS).color(theme.text));
    })
}

fn choice(ui: &mut Ui, is_on: bool, word: &str, theme: &Theme) -> egui::Response {
    let ink = if is_on { theme.accent } else { theme.muted };
    ui.add(Button::selectable(is_on, RichText::new(word).size(WORDS).color(ink)))
}

/// A row at the upper right, the `index`th from the top.
fn row(ui: &mut Ui, canvas: Rect, index: u8, content: impl FnOnce(&mut Ui)) -> Rect {
    let top = canvas.top() + 6.0 + f32::from(index) * (ROW + 2.0);
    let place = Rect::from_min_max(
        pos2((canvas.right() - 240.0).max(canvas.left() + 8.0), top),
        pos2(canvas.right() - 10.0, top + ROW),
    );
    let builder = UiBuilder::new()
        .max_rect(place)
        .id_salt(("view", index))
        .layout(Layout::right_to_left(Align::Center));
    ui.scope_builder(builder, |ui| {
        ui.spacing_mut().item_spacing.x = 3.0;
        content(ui);
    })
    .response
    .rect
}
