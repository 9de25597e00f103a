//! The cross: the current design on the map, and how far it may go.

use crate::session::{Edit, Session};
use crate::window::axes::Axis;
use crate::window::colour_scale::{DARK_INK, LIGHT_INK};
use egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};
use ogee_design::{MapWindow, Shape as DesignShape};

/// Halvings towards the edge of what is possible: a drag of a whole map ends within 1/256 of it.
const HALVINGS: usize = 8;

/// A drag of the cross.
#[derive(Clone, Debug)]
pub(super) struct Drag {
    /// From the pointer to the cross.
    pub(super) grab: Vec2,
    /// The map's window when the drag began; the axes keep it until the end.
    pub(super) window: MapWindow,
    /// Where the cross is, µm.
    pub(super) at: [f64; 2],
    /// What holds the cross back.
    pub(super) held: Option<String>,
}

/// The edit that moves the design to `[pitch, amplitude]`.
pub(super) fn edit([pitch_um, amplitude_um]: [f64; 2]) -> Edit {
    Edit::Numbers {
        label: "Change pitch and amplitude".to_owned(),
        values: vec![
            ("shape.pitch_um".to_owned(), pitch_um),
            ("shape.amplitude_um".to_owned(), amplitude_um),
        ],
    }
}

/// `[pitch, amplitude]` of a shape.
pub(super) fn place(shape: &DesignShape) -> [f64; 2] {
    [shape.pitch_um, shape.amplitude_um]
}

/// A place inside `window`, rounded to the power of ten that a screen point can resolve.
pub(super) fn rounded([pitch_um, amplitude_um]: [f64; 2], window: &MapWindow, axes: [&Axis; 2]) -> [f64; 2] {
    let round = |value: f64, [low, high]: [f64; 2], axis: &Axis| {
        let step = 10f64.powf(axis.per_point().max(1e-9).log10().floor());
        let inset = 1e-3 * (high - low);
        let value = value.clamp(low + inset, high - inset);
        let near = (value / step).round() * step;
        // 0.1 has no exact double: print and read back what the step means.
        let near = ogee_design::digits_text(near, 12).parse().unwrap_or(near);
        if near > low && near < high { near } else { value }
    };
    [round(pitch_um, window.pitch_um, axes[0]), round(amplitude_um, window.amplitude_um, axes[1])]
}

/// The place nearest to `wanted` that a possible design has, coming from `from`, and what holds it back.
pub(super) fn reach(session: &Session, from: [f64; 2], wanted: [f64; 2]) -> ([f64; 2], Option<String>) {
    let fault = |at: [f64; 2]| match edit(at).applied_to(session.committed()).check() {
        Ok(_) => None,
        Err(faults) => Some(faults.first().map_or_else(String::new, |f| f.message.clone())),
    };
    let Some(reason) = fault(wanted) else { return (wanted, None) };
    let Edit::Numbers { values, .. } = edit(wanted) else { return (from, Some(reason)) };
    let (values, held) = session.held(&values);
    if let ([(_, pitch), (_, amplitude)], Some(held)) = (values.as_slice(), held)
        && fault([*pitch, *amplitude]).is_none()
    {
        return ([*pitch, *amplitude], Some(held.message));
    }
    if fault(from).is_some() {
        return (from, Some(reason));
    }
    // Straight towards the pointer first, then along each axis: so the cross slides along an edge.
    let mut at = from;
    for target in [wanted, [wanted[0], f64::NAN], [f64::NAN, wanted[1]]] {
        let goal = [0, 1].map(|i| if target[i].is_nan() { at[i] } else { target[i] });
        let (mut good, mut bad) = (at, goal);
        if fault(goal).is_none() {
            good = goal;
        } else {
            for _ in 0..HALVINGS {
                let middle = [0, 1].map(|i| 0.5 * (good[i] + bad[i]));
                if fault(middle).is_none() {
                    good = middle;
                } else {
                    bad = middle;
                }
            }
        }
        at = good;
    }
    (at, Some(reason))
}

/// Paints the cross; `ring` is the colour of the ring around it while it can be moved.
pub(super) fn paint_cross(painter: &Painter, at: Pos2, ring: Option<Color32>) {
    for stroke in [Stroke::new(4.2, LIGHT_INK), Stroke::new(1.8, DARK_INK)] {
        // The casing reaches beyond the ink at both ends.
        let extra = 0.5 * (stroke.width - 1.8);
        for direction in [vec2(1.0, 0.0), vec2(-1.0, 0.0), vec2(0.0, 1.0), vec2(0.0, -1.0)] {
            let ends = [at + (2.5 - extra) * direction, at + (10.5 + extra) * direction];
            painter.line_segment(ends, stroke);
        }
    }
    if let Some(colour) = ring {
        painter.circle_stroke(at, 14.0, Stroke::new(3.6, LIGHT_INK));
        painter.circle_stroke(at, 14.0, Stroke::new(1.6, colour));
    }
}

/// Paints a labelled point; at the map's edge where the point lies outside it.
pub(super) fn paint_pin(
    painter: &Painter,
    area: Rect,
    at: Pos2,
    name: &str,
    colour: Color32,
    font: &FontId,
) -> Pos2 {
    let inner = area.shrink(8.0);
    let shown = pos2(at.x.clamp(inner.left(), inner.right()), at.y.clamp(inner.top(), inner.bottom()));
    if area.contains(at) {
        painter.circle(at, 5.0, LIGHT_INK, Stroke::new(2.0, colour));
    } else {
        let way = (at - shown).normalized();
        let across = way.rot90();
        let points =
            vec![shown + 7.0 * way, shown - 4.0 * way + 5.0 * across, shown - 4.0 * way - 5.0 * across];
        painter.add(Shape::convex_polygon(points, LIGHT_INK, Stroke::new(1.5, colour)));
    }
    let shown = if area.contains(at) { at } else { shown };
    let is_right = shown.x + 20.0 < area.right();
    let (dx, anchor) = if is_right { (7.0, Align2::LEFT_CENTER) } else { (-7.0, Align2::RIGHT_CENTER) };
    for halo in [vec2(-1.0, 0.0), vec2(1.0, 0.0), vec2(0.0, -1.0), vec2(0.0, 1.0)] {
        painter.text(shown + vec2(dx, -8.0) + halo, anchor, name, font.clone(), LIGHT_INK);
    }
    painter.text(shown + vec2(dx, -8.0), anchor, name, font.clone(), DARK_INK);
    shown
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::Settings;
    use ogee_design::Design;

    const WINDOW: MapWindow = MapWindow { amplitude_um: [100.0, 700.0], pitch_um: [400.0, 1400.0] };

    #[test]
    fn places_are_rounded_to_what_the_screen_resolves_and_stay_inside() {
        let axes = [Axis::new(400.0..=1400.0, 0.0, 300.0), Axis::new(100.0..=700.0, 300.0, 0.0)];
        let round = |at| rounded(at, &WINDOW, [&axes[0], &axes[1]]);
        assert_eq!(round([812.374_8, 412.51]), [812.0, 413.0]);
        let [pitch, amplitude] = round([-5.0, 9000.0]);
        assert!(
            pitch > 400.0 && pitch < 405.0 && amplitude < 700.0 && amplitude > 698.0,
            "{pitch} {amplitude}"
        );
    }

    #[test]
    fn a_possible_place_is_taken_as_it_is_and_an_impossible_one_is_held_at_the_edge() {
        let session = Session::new(Design::sample(), Settings::default());
        let from = place(&session.design().shape);
        let near = [from[0] * 1.02, from[1] * 0.99];
        assert_eq!(reach(&session, from, near), (near, None));
        // No ribbon of this width folds into so short a pitch.
        let wanted = [from[0] * 0.01, from[1]];
        let (at, reason) = reach(&session, from, wanted);
        assert!(reason.is_some_and(|r| !r.is_empty()));
        assert!(at[0] > wanted[0], "{at:?}");
        assert!(edit(at).applied_to(session.committed()).check().is_ok(), "{at:?}");
    }
}
