//! How each field of the map is shown: range and sense of its colours, its lines, its limit.

use super::picture::Content;
use crate::window::axes::{decade_text, decades, round_step, round_values, tick_text};
use crate::window::colour_scale::{ColourScale, Palette};
use crate::window::contour::Grid;
use ogee_design::{MapField, MapGrid, MapSpec};

/// What the picture of `field` shows. `limit` is the value that divides passing from failing; `kept` is a scale
/// that the person locked.
pub(super) fn content(
    map: &MapGrid,
    field: MapField,
    limit: Option<f64>,
    palette: Palette,
    kept: Option<ColourScale>,
) -> Content {
    let MapSpec { columns, rows, window } = *map.spec();
    let grid_of = |field: MapField| Grid::new(columns, rows, |column, row| map.value(field, column, row));
    let grid = grid_of(field);
    let (margins, limit_text) = match field {
        MapField::StrainMargin => (Some(grid.clone()), "1".to_owned()),
        MapField::AllLimits => (Some(grid.clone()), String::new()),
        MapField::PeakStrain => (Some(grid_of(MapField::StrainMargin)), "allowed".to_owned()),
        MapField::InsertionLoss | MapField::InsertionLossStretched => match limit {
            Some(limit) => {
                let margin = |c: usize, r: usize| grid.value(c, r).map(|loss| limit / loss.max(1e-12));
                let text = format!("{} dB", ogee_design::number_text(limit));
                (Some(Grid::new(columns, rows, margin)), text)
            }
            None => (None, String::new()),
        },
        MapField::ContourLength => (None, String::new()),
    };
    let scale = kept.unwrap_or_else(|| scale(field, &grid, margins.as_ref(), palette));
    let levels = levels(field, &scale);
    let names_passing = matches!(field, MapField::AllLimits);
    let possible = Grid::new(columns, rows, |column, row| map.is_possible(column, row).then_some(1.0));
    Content { grid, possible, margins, scale, levels, limit_text, names_passing, window }
}

/// Colours for the values on the map: round ends that leave out strays and what is far beyond the limit.
fn scale(field: MapField, grid: &Grid, margins: Option<&Grid>, palette: Palette) -> ColourScale {
    let Some([least, low, middle, high, greatest]) = shares(grid, [0.0, 0.02, 0.5, 0.95, 1.0]) else {
        return ColourScale::new(palette, 0.0, 1.0);
    };
    let scale = match field {
        // Fixed steps: the same colour means the same margin while the design is dragged.
        MapField::StrainMargin | MapField::AllLimits => {
            let high = [2.0, 3.0, 5.0, 10.0].into_iter().find(|s| *s >= 0.8 * high).unwrap_or(10.0);
            ColourScale::new(palette, 0.0, high)
        }
        MapField::ContourLength => {
            let step = round_step(least, greatest, 6).max(1e-12);
            ColourScale::new(palette, (least / step).floor() * step, (greatest / step).ceil() * step)
        }
        MapField::PeakStrain | MapField::InsertionLoss | MapField::InsertionLossStretched => {
            // A value times its margin is its limit; most cells agree on it.
            let limit = margins.and_then(|margins| {
                let product = |c, r| Some(grid.value(c, r)? * margins.value(c, r)?);
                Some(shares(&Grid::new(grid.columns(), grid.rows(), product), [0.5])?[0])
            });
            let top = limit.map_or(high, |limit| high.min(4.0 * limit));
            if low > 0.0 && top > 10.0 * low && limit.unwrap_or(top) > 5.0 * middle {
                ColourScale::new(palette, round_down_125(low.max(1e-6 * top)), round_up_125(top))
                    .logarithmic()
            } else {
                ColourScale::new(palette, 0.0, round_up_125(top))
            }
        }
    };
    // Bad values are dark, whichever way the field runs.
    let is_light_high = field.more_is_better() || field == MapField::ContourLength;
    if is_light_high { scale } else { scale.reversed() }
}

/// Values below which the given shares of the map lie.
fn shares<const N: usize>(grid: &Grid, shares: [f64; N]) -> Option<[f64; N]> {
    let mut values: Vec<f64> = grid.values().collect();
    if values.is_empty() {
        return None;
    }
    let last = values.len() - 1;
    Some(shares.map(|share| {
        let index = (share * last as f64).round() as usize;
        *values.select_nth_unstable_by(index, f64::total_cmp).1
    }))
}

fn round_up_125(value: f64) -> f64 {
    if value <= 1e-300 {
        return 1.0;
    }
    let power = 10f64.powf(value.log10().floor());
    [1.0, 2.0, 5.0]
        .into_iter()
        .map(|s| s * power)
        .find(|s| *s >= value * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

fn round_down_125(value: f64) -> f64 {
    let power = 10f64.powf(value.log10().floor());
    [5.0, 2.0].into_iter().map(|s| s * power).find(|s| *s <= value * (1.0 + 1e-9)).unwrap_or(power)
}

/// Round values for the numbered lines; the limit has a line of its own.
fn levels(field: MapField, scale: &ColourScale) -> Vec<(f64, String)> {
    if scale.is_logarithmic() {
        return decades(scale.low(), scale.high(), 8).into_iter().map(|v| (v, decade_text(v))).collect();
    }
    let step = round_step(scale.low(), scale.high(), 7);
    let has_own = |v: f64| field.more_is_better() && (v - 1.0).abs() < 1e-9;
    round_values(scale.low(), scale.high(), 7)
        .into_iter()
        .filter(|v| !has_own(*v) && *v > scale.low())
        .map(|v| (v, tick_text(v, step)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp(from: f64, to: f64) -> Grid {
        Grid::new(40, 10, |c, _| Some(from + (to - from) * c as f64 / 39.0))
    }

    fn scale_of(field: MapField, grid: &Grid) -> ColourScale {
        scale(field, grid, None, Palette::Cividis)
    }

    #[test]
    fn margins_keep_their_colours_while_a_design_changes() {
        let a = scale_of(MapField::StrainMargin, &ramp(0.2, 2.9));
        let b = scale_of(MapField::StrainMargin, &ramp(0.1, 3.4));
        assert_eq!((a.low(), a.high()), (0.0, 3.0));
        assert_eq!(a, b);
        assert!(levels(MapField::StrainMargin, &a).iter().all(|(v, _)| *v != 1.0), "1 has a line of its own");
    }

    #[test]
    fn bad_values_are_dark_whichever_way_the_field_runs() {
        let sum = |c: egui::Color32| u32::from(c.r()) + u32::from(c.g()) + u32::from(c.b());
        for (field, grid, good, bad) in [
            (MapField::StrainMargin, ramp(0.2, 2.9), 2.5, 0.3),
            (MapField::PeakStrain, ramp(0.1, 1.9), 0.1, 1.8),
            (MapField::InsertionLoss, ramp(0.5, 50.0), 0.6, 40.0),
        ] {
            let scale = scale_of(field, &grid);
            assert!(sum(scale.colour_of(good)) > sum(scale.colour_of(bad)), "{field:?}");
        }
    }

    #[test]
    fn what_is_far_beyond_the_limit_does_not_flatten_the_rest() {
        let loss = ramp(1.0, 400.0);
        let margins = Grid::new(40, 10, |c, r| loss.value(c, r).map(|v| 3.0 / v));
        let scale = scale(MapField::InsertionLoss, &loss, Some(&margins), Palette::Cividis);
        assert_eq!((scale.low(), scale.high()), (0.0, 20.0));
    }

    #[test]
    fn loss_far_below_its_limit_is_shown_by_decades_with_round_ends() {
        let grid = Grid::new(60, 1, |c, _| Some(10f64.powf(-1.7 + c as f64 / 15.0)));
        let margins = Grid::new(60, 1, |c, _| grid.value(c, 0).map(|v| 100.0 / v));
        let scale = scale(MapField::InsertionLoss, &grid, Some(&margins), Palette::Viridis);
        assert!(scale.is_logarithmic());
        for end in [scale.low(), scale.high()] {
            let lead = end / 10f64.powf(end.log10().floor() + 1e-12);
            assert!([1.0, 2.0, 5.0, 10.0].iter().any(|r| (lead / r - 1.0).abs() < 1e-6), "{end}");
        }
        assert!(levels(MapField::InsertionLoss, &scale).len() >= 3);
    }

    #[test]
    fn an_empty_map_has_a_scale_too() {
        let scale = scale_of(MapField::PeakStrain, &Grid::new(4, 4, |_, _| None));
        assert!(scale.high() > scale.low());
    }
}
