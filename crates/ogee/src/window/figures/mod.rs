//! The figure beside the map: along the ribbon, through the thickness, from the oven to use, life, islands, trace.

mod caption;
mod copied;
mod frame;
#[cfg(test)]
mod hand_made;
mod islands;
mod life;
mod look;
mod oven;
#[cfg(test)]
mod tests;
mod trace;
mod wrap;

use super::AlongPanel;
use super::theme::Theme;
use crate::session::{Command, Pointed, PointedBy, Session};
use egui::{Button, RichText, Role, Ui, WidgetInfo};
use look::Look;
use ogee_design::{Assessment, Design, Place};
use std::cell::RefCell;
use std::time::{Duration, Instant};

/// Numbers that are behind for longer than this are paled.
const LATE: Duration = Duration::from_millis(250);

/// What can be seen in the panel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Choice {
    #[default]
    Along,
    Wrap,
    Oven,
    Life,
    Islands,
    Trace,
}

impl Choice {
    const ALL: [Self; 6] = [Self::Along, Self::Wrap, Self::Oven, Self::Life, Self::Islands, Self::Trace];

    /// The word of the row.
    fn word(self) -> &'static str {
        match self {
            Self::Along => "Along",
            Self::Wrap => "Wrap",
            Self::Oven => "Oven",
            Self::Life => "Life",
            Self::Islands => "Islands",
            Self::Trace => "Trace",
        }
    }

    /// What it shows, or what switches it on.
    fn help(self, is_there: bool) -> &'static str {
        match (self, is_there) {
            (Self::Along, _) => "Strain, curvature and loss along the ribbon",
            (Self::Wrap, true) => "Strain through the thickness round the cylinder",
            (Self::Wrap, false) => "Switch on the wrap under “Duty” in the inputs",
            (Self::Oven, true) => "Stress of every layer from the oven to use",
            (Self::Oven, false) => "Switch on the process under “Making” in the inputs",
            (Self::Life, true) => "Cycles to failure, and what survives",
            (Self::Life, false) => "Switch on “Life” in the inputs",
            (Self::Islands, true) => "Strain of island and sheet",
            (Self::Islands, false) => "Switch on “Islands” in the inputs",
            (Self::Trace, true) => "Resistance, voltage drop and heat",
            (Self::Trace, false) => "Switch on “Trace” in the inputs",
        }
    }

    /// Whether the design asks for it.
    fn is_in(self, design: &Design) -> bool {
        match self {
            Self::Along => true,
            Self::Wrap => design.duty.wrap.is_some(),
            Self::Oven => design.process.is_some(),
            Self::Life => design.life.is_some(),
            Self::Islands => design.islands.is_some(),
            Self::Trace => design.trace.is_some(),
        }
    }
}

/// The panel: a row of words, and the figure that was chosen.
#[derive(Debug, Default)]
pub struct FigurePanel {
    choice: Choice,
    along: AlongPanel,
    radius: wrap::RadiusBar,
    /// The figure points at a place on the ribbon.
    is_pointing: bool,
}

impl FigurePanel {
    /// Name of the figure that is shown.
    pub fn title(&self, session: &Session) -> &'static str {
        match self.shown(session.design()) {
            Choice::Along => "Along the ribbon",
            other => other.word(),
        }
    }

    /// Shows the panel.
    pub fn ui(&mut self, ui: &mut Ui, session: &Session, theme: &Theme, out: &mut Vec<Command>) {
        self.row(ui, session.design(), theme);
        let choice = self.shown(session.design());
        if choice == Choice::Along {
            self.is_pointing = false;
            self.along.ui(ui, session, theme, out);
            return;
        }
        let late = session.stale_for(Instant::now());
        if session.assessment_is_stale() && late > LATE {
            ui.multiply_opacity(0.55);
        } else if session.assessment_is_stale() {
            ui.ctx().request_repaint_after(LATE.saturating_sub(late));
        }
        let place = RefCell::new(None);
        let look =
            Look { design: session.design(), selected: session.selected_layer(), theme, place: &place };
        ui.push_id(choice.word(), |ui| {
            let is_shown =
                session.assessment().is_some_and(|found| self.figure(ui, choice, found, &look, out));
            if !is_shown {
                let why = session.trouble().unwrap_or("No numbers for this design yet");
                ui.add_space(8.0);
                ui.label(RichText::new(why).color(theme.muted));
            }
        });
        self.point(place.into_inner(), session, out);
    }

    /// Shows the drawing the place that the figure points at, and takes that back.
    fn point(&mut self, place: Option<Place>, session: &Session, out: &mut Vec<Command>) {
        let pointed = place.and_then(|place| {
            let offset_um = place.offset_um.unwrap_or(0.0);
            Some(Pointed { s_um: place.s_um?, offset_um, source: PointedBy::Figure })
        });
        match (&pointed, self.is_pointing) {
            (Some(place), _) if session.pointed() != Some(place) => out.push(Command::Point(pointed.clone())),
            (None, true) => out.push(Command::Point(None)),
            _ => {}
        }
        self.is_pointing = pointed.is_some();
    }

    /// The choice, or the plot along the ribbon where the design no longer has what was chosen. The choice is kept:
    /// an undo brings it back.
    fn shown(&self, design: &Design) -> Choice {
        if self.choice.is_in(design) { self.choice } else { Choice::Along }
    }

    /// The row of words.
    fn row(&mut self, ui: &mut Ui, design: &Design, theme: &Theme) {
        let shown = self.shown(design);
        ui.horizontal(|ui| {
            // As far apart as the width allows, so that they read as words and not as a sentence.
            ui.spacing_mut().item_spacing.x = (0.035 * ui.available_width()).clamp(8.0, 18.0);
            for choice in Choice::ALL {
                let (is_shown, is_there) = (choice == shown, choice.is_in(design));
                let text =
                    RichText::new(choice.word()).color(if is_shown { theme.accent } else { theme.muted });
                let text = if is_shown { text.underline() } else { text };
                let button = ui.add_enabled(is_there, Button::new(text).frame(false));
                button.widget_info(|| {
                    let label = format!("figure {}", choice.word().to_lowercase());
                    WidgetInfo::selected(Role::RadioButton, is_there, is_shown, label)
                });
                let help = choice.help(is_there);
                if button.on_hover_text(help).on_disabled_hover_text(help).clicked() {
                    self.choice = choice;
                }
            }
        });
        ui.add_space(1.0);
    }

    /// The figure, where there is a result for it.
    fn figure(
        &mut self,
        ui: &mut Ui,
        choice: Choice,
        found: &Assessment,
        look: &Look<'_>,
        out: &mut Vec<Command>,
    ) -> bool {
        match (choice, found) {
            (Choice::Wrap, Assessment { wrap: Some(found), .. }) => {
                look::show(ui, &mut wrap::WrapFigure { found, radius: &mut self.radius }, look, out);
            }
            (Choice::Oven, Assessment { thermal: Some(found), .. }) => {
                look::show(ui, &mut oven::OvenFigure { found }, look, out);
            }
            (Choice::Life, Assessment { life: Some(found), .. }) => {
                look::show(ui, &mut life::LifeFigure { found }, look, out);
            }
            (Choice::Islands, Assessment { islands: Some(found), .. }) => {
                look::show(ui, &mut islands::IslandFigure { found }, look, out);
            }
            (Choice::Trace, Assessment { trace: Some(found), .. }) => {
                look::show(ui, &mut trace::TraceFigure { found }, look, out);
            }
            _ => return false,
        }
        true
    }
}
