//! One line of the margins: name, value and limit, place, margin and a bar with a mark at 1.

use crate::session::{Pointed, PointedBy};
use crate::window::theme::Theme;
use egui::{
    Align2, CursorIcon, FontId, Margin as Edges, Painter, Rect, Response, RichText, Role, Sense, Stroke,
    TextWrapMode, Ui, WidgetInfo, pos2, vec2,
};
use ogee_design::{Margin, Sensitivity, digits_text};

/// Height of a line, points.
const HEIGHT: f32 = 52.0;

/// A margin as a number: two decimals where that says something.
pub(in crate::window) fn times(margin: f64) -> String {
    if margin >= 100.0 {
        "over 100".to_owned()
    } else if margin >= 10.0 {
        format!("{margin:.0}")
    } else if margin >= 3.0 {
        format!("{margin:.1}")
    } else {
        // Never rounded up to a pass.
        format!("{:.2}", if margin < 1.0 { (margin * 100.0).floor() / 100.0 } else { margin })
    }
}

/// Where on the ribbon the margin comes from.
pub(super) fn place(margin: &Margin) -> Option<Pointed> {
    Some(Pointed {
        s_um: margin.place.s_um?,
        offset_um: margin.place.offset_um.unwrap_or(0.0),
        source: PointedBy::Margins,
    })
}

/// `Width −10 %`.
pub(super) fn change(sensitivity: &Sensitivity) -> String {
    let sign = if sensitivity.change_percent < 0.0 { "−" } else { "+" };
    format!("{} {sign}{} %", sensitivity.label, digits_text(sensitivity.change_percent.abs(), 2))
}

/// Value and limit with their unit.
fn value_words(margin: &Margin) -> String {
    let unit = &margin.unit;
    let words = match margin.value {
        Some(value) if margin.more_is_better => {
            format!("{}, at least {} {unit}", digits_text(value, 3), digits_text(margin.limit, 3))
        }
        Some(value) => format!("{} of {} {unit}", digits_text(value, 3), digits_text(margin.limit, 3)),
        None => format!("limit {} {unit}", digits_text(margin.limit, 3)),
    };
    words.trim_end().to_owned()
}

/// Draws the line; clicking opens it, pointing at it points at its place.
pub(super) fn line(ui: &mut Ui, margin: &Margin, theme: &Theme, open: bool) -> Response {
    let (area, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click());
    let words = value_words(margin);
    let verdict = match (margin.margin, margin.passes) {
        (Some(m), true) => format!("{}×", times(m)),
        (Some(m), false) => format!("{}× fails", times(m)),
        (None, true) => "passes".to_owned(),
        (None, false) => "no margin".to_owned(),
    };
    response.widget_info(|| {
        WidgetInfo::selected(Role::Button, true, open, format!("{}, {verdict}, {words}", margin.name))
    });
    if !ui.is_rect_visible(area) {
        return response;
    }
    let painter = ui.painter();
    painter.hline(area.x_range(), area.top(), Stroke::new(1.0, theme.line));
    if response.hovered() || response.has_focus() {
        painter.rect_filled(area.shrink2(vec2(0.0, 1.0)), 3.0, theme.accent_soft.gamma_multiply(0.5));
    }
    if response.hovered() {
        ui.set_cursor_icon(CursorIcon::PointingHand);
    }
    let ink = theme.verdict(margin.passes);
    let (left, right, top) = (area.left() + 2.0, area.right() - 2.0, area.top());
    let value = painter.text(
        pos2(right, top + 14.0),
        Align2::RIGHT_CENTER,
        &words,
        FontId::proportional(12.0),
        theme.text,
    );
    let room = value.left() - left - 6.0;
    cut_text(ui, pos2(left, top + 14.0), room, &margin.name, Theme::bold(12.0), theme.text);
    let verdict_rect = painter.text(
        pos2(right, top + 30.0),
        Align2::RIGHT_CENTER,
        &verdict,
        FontId::proportional(12.0),
        ink,
    );
    let second = margin.why_absent.as_deref().unwrap_or(&margin.place.words);
    let room = verdict_rect.left() - left - 6.0;
    cut_text(ui, pos2(left, top + 30.0), room, second, FontId::proportional(11.0), theme.muted);
    if let Some(m) = margin.margin {
        let groove = Rect::from_min_max(pos2(left, top + 41.0), pos2(right, top + 46.0));
        bar(painter, groove, m, margin.passes, theme);
    }
    response
}

/// A bar that grows with the margin, without end: a margin of 1 reaches the mark in the middle, 3 three quarters.
fn bar(painter: &Painter, groove: Rect, margin: f64, passes: bool, theme: &Theme) {
    painter.rect_filled(groove, 2.5, theme.track);
    let share = if margin.is_finite() { (margin.max(0.0) / (1.0 + margin.max(0.0))) as f32 } else { 1.0 };
    let filled =
        Rect::from_min_max(groove.min, pos2(groove.left() + share * groove.width(), groove.bottom()));
    painter.rect_filled(filled, 2.5, theme.verdict(passes));
    let mark = groove.center().x;
    painter.vline(mark, groove.expand(3.0).y_range(), Stroke::new(1.5, theme.text));
}

/// Text on one line, cut with an ellipsis where there is no room.
fn cut_text(ui: &Ui, at: egui::Pos2, room: f32, text: &str, font: FontId, ink: egui::Color32) {
    let mut job = egui::text::LayoutJob::simple_singleline(text.to_owned(), font, ink);
    job.wrap = egui::text::TextWrapping::from_wrap_mode_and_width(TextWrapMode::Truncate, room.max(10.0));
    let galley = ui.painter().layout_job(job);
    let at = at - vec2(0.0, galley.size().y / 2.0);
    ui.painter().galley(at, galley, ink);
}

/// What stands below an open line.
pub(super) fn details(ui: &mut Ui, margin: &Margin, validity: &[String], theme: &Theme) {
    egui::Frame::new().fill(theme.paper).corner_radius(4).inner_margin(Edges::symmetric(8, 6)).show(
        ui,
        |ui| {
            ui.set_width(ui.available_width());
            ui.spacing_mut().interact_size.y = 14.0;
            let mut item = |title: &str, text: &str| {
                if !text.is_empty() {
                    ui.label(RichText::new(title).small().color(theme.muted));
                    ui.label(RichText::new(text).size(11.5));
                }
            };
            item("No margin because", margin.why_absent.as_deref().unwrap_or_default());
            item("Place", &margin.place.words);
            item("Formula", &margin.formula);
            item("Model", &margin.model);
            item("Where the model stops holding", &validity.join("\n"));
            item("Source", &margin.source);
            if margin.sensitivities.is_empty() {
                return;
            }
            ui.label(RichText::new("How the margin answers").small().color(theme.muted));
            egui::Grid::new(("answers", &margin.id)).num_columns(2).spacing([14.0, 2.0]).show(ui, |ui| {
                for sensitivity in &margin.sensitivities {
                    ui.label(RichText::new(change(sensitivity)).size(11.5));
                    ui.label(answer(sensitivity, theme));
                    ui.end_row();
                }
            });
        },
    );
}

fn answer(sensitivity: &Sensitivity, theme: &Theme) -> RichText {
    let text = |words: String| RichText::new(words).size(11.5);
    match sensitivity.margin_change_percent {
        None => text("not possible".to_owned()).color(theme.muted),
        Some(change) if change.abs() < 0.05 => text("no change".to_owned()).color(theme.muted),
        Some(change) if change > 0.0 => {
            text(format!("+{} % margin", digits_text(change, 2))).color(theme.accent)
        }
        Some(change) => text(format!("−{} % margin", digits_text(-change, 2))).color(theme.bad),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_margin_is_never_rounded_up_to_a_pass() {
        assert_eq!(times(0.9999), "0.99");
        assert_eq!(times(1.0), "1.00");
        assert_eq!(times(1.254), "1.25");
        assert_eq!(times(4.26), "4.3");
        assert_eq!(times(42.4), "42");
        assert_eq!(times(1e6), "over 100");
    }

    #[test]
    fn changes_carry_their_sign() {
        let narrower = Sensitivity {
            path: "shape.width_um".to_owned(),
            label: "Width".to_owned(),
            change_percent: -10.0,
            margin_change_percent: Some(14.0),
        };
        assert_eq!(change(&narrower), "Width −10 %");
        assert_eq!(answer(&narrower, &Theme::LIGHT).text(), "+14 % margin");
    }
}
