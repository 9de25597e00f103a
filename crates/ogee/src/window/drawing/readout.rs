//! The line above the drawing: what lies under the cursor.

use super::notes::paint_backed;
use super::scene::Scene;
use super::sheet::Sheet;
use super::steps::length_text;
use super::strip::Station;
use crate::session::{Pointed, PointedBy};
use crate::window::theme::Theme;
use egui::{Align2, FontId, Painter, Pos2, pos2};
use ogee_design::{PeriodState, RibbonPoint};

/// How far beside the ribbon, points, the cursor still means it.
const REACH_POINTS: f64 = 9.0;

/// What the cursor points at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Under {
    /// The cursor in the coordinates of the nearer ribbon, its midline at y = 0, µm.
    pub place_um: [f64; 2],
    /// The point of the ribbon and the cursor's offset to the left, µm; none away from the ribbon.
    pub ribbon: Option<(RibbonPoint, f64)>,
    /// Whether it is the stretched ribbon.
    pub is_stretched: bool,
}

impl Under {
    /// Looks under `pointer`. A ribbon is `width_um` wide.
    pub(super) fn find(
        pointer: Pos2,
        sheet: &Sheet,
        scene: &Scene,
        rest: Option<&PeriodState>,
        stretched: Option<&PeriodState>,
        width_um: f64,
    ) -> Self {
        let [x, y] = sheet.design_from_screen(pointer);
        let border = f64::midpoint(scene.rest_midline_um, scene.stretched_midline_um);
        let is_stretched = rest.is_none() || y < border;
        let midline = if is_stretched { scene.stretched_midline_um } else { scene.rest_midline_um };
        let place_um = [x, y - midline];
        let state = if is_stretched { stretched } else { rest };
        let reach = width_um / 2.0 + REACH_POINTS / sheet.scale();
        let ribbon = state
            .and_then(|s| s.nearest(place_um[0], place_um[1]))
            .filter(|(_, offset)| offset.abs() <= reach)
            .map(|(point, offset)| (point, offset.clamp(-width_um / 2.0, width_um / 2.0)));
        Self { place_um, ribbon, is_stretched }
    }

    /// The same place for the other panels.
    pub(super) fn pointed(&self) -> Option<Pointed> {
        self.ribbon.map(|(point, offset_um)| Pointed {
            s_um: point.s_um,
            offset_um,
            source: PointedBy::Drawing,
        })
    }

    /// The words of the line, piece by piece.
    pub(super) fn words(&self, width_um: f64, has_light: bool) -> Vec<(&'static str, String)> {
        let [x, y] = self.place_um;
        let mut words = vec![("x", length_text(x)), ("y", length_text(y))];
        let Some((point, offset)) = self.ribbon else { return words };
        words.push(("along", length_text(point.s_um)));
        let curvature = point.kappa_per_um.abs() / (1.0 + point.axial_strain);
        let radius =
            if curvature * width_um < 1e-6 { "straight".to_owned() } else { length_text(1.0 / curvature) };
        words.push(("radius", radius));
        if self.is_stretched {
            let strain = Station::of(&point).strain_at(2.0 * offset / width_um.max(1e-12));
            words.push(("strain", format!("{:.2} %", 100.0 * strain)));
        }
        if has_light {
            words.push(("loss", format!("{} dB/cm", ogee_design::digits_text(point.loss_db_per_cm, 2))));
        }
        words
    }
}

/// Paints the line at the upper left. Labels are muted, numbers are not.
pub(super) fn paint(painter: &Painter, sheet: &Sheet, theme: &Theme, words: &[(&'static str, String)]) {
    let font = FontId::proportional(11.5);
    let canvas = sheet.canvas();
    let mut x = canvas.left() + 14.0;
    let y = canvas.top() + 17.0;
    let text = |x: f32, words: &str, ink| {
        paint_backed(painter, pos2(x, y), Align2::LEFT_CENTER, words, font.clone(), ink, theme.canvas)
    };
    for (label, number) in words {
        let label_end = if label.is_empty() { x - 5.0 } else { text(x, label, theme.muted).right() };
        let number = text(label_end + 5.0, number, theme.text);
        x = number.right() + 16.0;
        if x > canvas.right() - super::angle::SWITCH_WIDTH - 30.0 {
            break;
        }
    }
}
