//! Where the layers of the cross-section are drawn: heights, widths, colours, and the places of their names.

use crate::window::theme::Theme;
use egui::{Color32, FontId, Rect, Ui, pos2};
use ogee_design::Design;

/// A layer is never drawn lower than this, points.
pub(super) const LEAST_LAYER: f32 = 9.0;
/// A narrower layer is never drawn narrower than this, points.
const LEAST_WIDTH: f32 = 10.0;
/// Height of a name, points.
const NAME: f32 = 14.0;
/// Share of the place that a stack fills which nobody drags: the rest is room to grow.
const FILL: f32 = 0.9;

/// A layer on the screen.
pub(super) struct Drawn {
    pub(super) rect: Rect,
    pub(super) fill: Color32,
    pub(super) sides: Option<Color32>,
}

fn thickness(um: f64) -> f64 {
    if um.is_finite() && um > 0.0 { um } else { 0.0 }
}

/// Points per µm of thickness beyond the least height of each layer: `held` where a hand holds it, as long as the stack
/// then fits, else such that the stack fills its place.
pub(super) fn scale(design: &Design, height: f32, held: Option<f64>) -> f64 {
    let layers = &design.stack.layers;
    let total: f64 = layers.iter().map(|layer| thickness(layer.thickness_um)).sum();
    let least = least(layers.len(), height) * layers.len() as f32;
    let fitting = |share: f32| {
        if total > 0.0 { f64::from((share * height - least).max(0.0)) / total } else { 0.0 }
    };
    held.map_or_else(|| fitting(FILL), |held| held.min(fitting(1.0)))
}

fn least(count: usize, height: f32) -> f32 {
    LEAST_LAYER.min(FILL * height / count.max(1) as f32)
}

/// Heights by `scale` beyond a least one, so that thin layers can still be seen; widths of narrower layers likewise.
pub(super) fn lay_out(design: &Design, body: Rect, scale: f64, theme: &Theme) -> Vec<Drawn> {
    let layers = &design.stack.layers;
    let least = least(layers.len(), body.height());
    let ribbon_um = design.shape.width_um.max(1e-9);
    let mut bottom = body.bottom();
    let mut drawn = Vec::with_capacity(layers.len());
    for (index, layer) in layers.iter().enumerate() {
        let height = least + (scale * thickness(layer.thickness_um)) as f32;
        let share = layer.width_um.map_or(1.0, |w| (w / ribbon_um).clamp(0.0, 1.0)) as f32;
        let width = (share * body.width()).max(LEAST_WIDTH);
        // The left edge of the ribbon is on the left here: one looks along the ribbon.
        let shift = -(layer.offset_um / ribbon_um).clamp(-0.5, 0.5) as f32 * body.width();
        let middle = (body.center().x + shift).clamp(body.left() + width / 2.0, body.right() - width / 2.0);
        let rect = Rect::from_min_max(
            pos2(middle - width / 2.0, bottom - height),
            pos2(middle + width / 2.0, bottom),
        );
        bottom -= height;
        let filler =
            layer.sides.as_ref().and_then(|name| layers.iter().position(|other| other.name == *name));
        drawn.push(Drawn {
            rect,
            fill: fill(design, index, theme),
            sides: filler.map(|filler| fill(design, filler, theme)),
        });
    }
    drawn
}

/// One colour for each material; the core of the light has the accent.
pub(in crate::window) fn fill(design: &Design, index: usize, theme: &Theme) -> Color32 {
    let layers = &design.stack.layers;
    if design.light.as_ref().is_some_and(|light| light.core == layers[index].name) {
        return theme.accent;
    }
    let mut materials: Vec<&str> = Vec::new();
    for layer in layers {
        if !materials.contains(&layer.material.as_str()) {
            materials.push(&layer.material);
        }
    }
    let place = materials.iter().position(|m| *m == layers[index].material).unwrap_or(0);
    theme.layers[place % theme.layers.len()]
}

/// Moves names apart that would overlap, as little as need be; the first is the lowest.
pub(in crate::window) fn spread(wished: &[f32], area: Rect) -> Vec<f32> {
    spread_by(wished, NAME, area)
}

/// Moves names of a height apart that would overlap, as little as need be; the first is the lowest.
pub(super) fn spread_by(wished: &[f32], height: f32, area: Rect) -> Vec<f32> {
    let mut places = wished.to_vec();
    let (low, high) = (area.bottom() - height / 2.0, area.top() + height / 2.0);
    for i in 0..places.len() {
        let limit = if i == 0 { low } else { places[i - 1] - height };
        places[i] = places[i].min(limit);
    }
    for i in (0..places.len()).rev() {
        let limit = if i + 1 == places.len() { high } else { places[i + 1] + height };
        places[i] = places[i].max(limit);
    }
    places
}

/// `name`, cut to the room there is.
pub(in crate::window) fn shortened(ui: &Ui, name: &str, font: &FontId, room: f32) -> String {
    let width = |text: &str| {
        let galley = ui.painter().layout_no_wrap(text.to_owned(), font.clone(), Color32::PLACEHOLDER);
        galley.size().x
    };
    if width(name) <= room {
        return name.to_owned();
    }
    let mut letters: Vec<char> = name.chars().collect();
    while letters.pop().is_some() {
        let text = format!("{}…", letters.iter().collect::<String>().trim_end());
        if width(&text) <= room {
            return text;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::vec2;

    fn area() -> Rect {
        Rect::from_min_size(pos2(0.0, 0.0), vec2(100.0, 100.0))
    }

    #[test]
    fn names_do_not_overlap_and_stay_inside() {
        let places = spread(&[60.0, 58.0, 56.0, 20.0], area());
        for pair in places.windows(2) {
            assert!(pair[0] - pair[1] >= 14.0 - 1e-3, "{places:?}");
        }
        assert!(places.iter().all(|y| (7.0..=93.0).contains(y)), "{places:?}");
        assert_eq!(spread(&[80.0, 40.0], area()), [80.0, 40.0]);
    }

    #[test]
    fn thin_layers_are_seen_and_all_fit() {
        let mut design = Design::sample();
        design.stack.layers[1].thickness_um = 1e-4;
        let fitting = scale(&design, 100.0, None);
        let drawn = lay_out(&design, area(), fitting, &Theme::LIGHT);
        assert!(drawn.iter().all(|layer| layer.rect.height() >= LEAST_LAYER - 1e-3));
        assert!(drawn[0].rect.bottom() <= 100.0 && drawn[2].rect.top() >= 9.9);
        assert!(drawn[1].rect.width() < drawn[0].rect.width());
        assert!(drawn[1].sides.is_some() && drawn[0].sides.is_none());
    }

    #[test]
    fn a_held_scale_stays_until_the_stack_is_too_high() {
        let mut design = Design::sample();
        let held = scale(&design, 100.0, None);
        design.stack.layers[2].thickness_um *= 0.5;
        assert_eq!(scale(&design, 100.0, Some(held)), held);
        assert!(scale(&design, 100.0, None) > held);
        design.stack.layers[2].thickness_um *= 100.0;
        let drawn = lay_out(&design, area(), scale(&design, 100.0, Some(held)), &Theme::LIGHT);
        assert!(drawn[2].rect.top() > -1e-2, "{}", drawn[2].rect.top());
    }

    #[test]
    fn one_material_has_one_colour() {
        let design = Design::sample();
        let colours: Vec<_> = (0..3).map(|i| fill(&design, i, &Theme::LIGHT)).collect();
        assert_eq!(colours[0], colours[2]);
        assert_eq!(colours[1], Theme::LIGHT.accent);
    }
}
