//! From the value that a hand asks for to the value that it gets: round, caught by a limit, or held by one.

use super::steps::{length_text, nearest_multiple};
use ogee_design::{Checked, Design, Fault, field_at};
use std::f64::consts::FRAC_PI_2;

/// Halvings of the search for the last possible value; 1e-9 of the way is finer than any mask.
const HALVINGS: usize = 30;

/// How strongly values are drawn to round numbers and limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::window) struct Pull {
    /// Step of the round values, in the field's unit.
    pub step: f64,
    /// How far from a limit its pull reaches, in the field's unit.
    pub reach: f64,
}

/// What became of the value asked for.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::window) struct Settled {
    /// The value, in the field's unit. A design with it passes its check.
    pub value: f64,
    /// What it was caught by, in words.
    pub caught: Option<String>,
    /// The inequality that holds it back, in words.
    pub held: Option<String>,
}

impl Settled {
    fn free(value: f64) -> Self {
        Self { value, caught: None, held: None }
    }
}

/// The value nearest to `wanted` that the field at `path` may have.
///
/// `base` is a possible design; the others fields keep its values. Without `pull` nothing is rounded or caught,
/// but what is impossible stays so.
pub(in crate::window) fn settle(base: &Design, path: &str, wanted: f64, pull: Option<Pull>) -> Settled {
    let from = base.number(path).unwrap_or(wanted);
    let Some(field) = field_at(path) else { return Settled::free(from) };
    if !wanted.is_finite() {
        return Settled::free(from);
    }
    let mut settled = Settled::free(wanted);
    if let Some(pull) = pull {
        if let Some((value, word)) = landmark(base, path, wanted, pull.reach) {
            settled = Settled { value, caught: Some(word), held: None };
        } else if pull.step > 0.0 {
            settled.value = nearest_multiple(wanted, pull.step);
        }
    }
    if field.whole {
        settled.value = settled.value.round();
    }
    if settled.value < field.min || settled.value > field.max {
        settled.value = settled.value.clamp(field.min, field.max);
        settled.caught = None;
        settled.held = Some(format!(
            "from {} to {} {} is allowed",
            ogee_design::number_text(field.min),
            ogee_design::number_text(field.max),
            field.unit
        ));
    }
    match with(base, path, settled.value).check() {
        Ok(_) => settled,
        Err(faults) => held_back(base, path, from, settled.value, field.whole, &faults),
    }
}

/// The last possible value on the way from `from`, which is possible, to `wanted`, which is not.
fn held_back(base: &Design, path: &str, from: f64, wanted: f64, whole: bool, faults: &[Fault]) -> Settled {
    let passes = |value: f64| with(base, path, value).check().is_ok();
    let fault = faults.iter().find(|f| f.path == path).or_else(|| faults.first());
    let held = fault.map(|f| f.message.clone());
    let between = |value: f64| (value - from) * (value - wanted) <= 0.0;
    if let Some(nearest) = fault.filter(|f| f.path == path).and_then(|f| f.nearest)
        && between(nearest)
        && passes(nearest)
    {
        return Settled { value: nearest, caught: None, held };
    }
    let (mut good, mut bad) = (from, wanted);
    for _ in 0..HALVINGS {
        let middle = if whole { f64::midpoint(good, bad).round() } else { f64::midpoint(good, bad) };
        if middle == good || middle == bad {
            break;
        }
        if passes(middle) { good = middle } else { bad = middle }
    }
    // A hand wants 171, not 171.0342: few digits, as long as that is possible.
    let round = (3..=6).map(|digits| significant(good, digits));
    let mut round = round.filter(|v| between(*v) && (v - good).abs() < 2e-3 * good.abs());
    let value = round.find(|v| passes(*v)).unwrap_or(good);
    Settled { value, caught: None, held }
}

/// `value` with so many significant digits.
pub(in crate::window) fn significant(value: f64, digits: i32) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let step = 10f64.powi(value.abs().log10().floor() as i32 + 1 - digits);
    nearest_multiple(value, step)
}

fn with(base: &Design, path: &str, value: f64) -> Design {
    let mut design = base.clone();
    design.set_number(path, value);
    design
}

/// A limit that lies within `reach` of `wanted`: the value at which it is just met, and its name.
fn landmark(base: &Design, path: &str, wanted: f64, reach: f64) -> Option<(f64, String)> {
    let [low, high] = [wanted - reach, wanted + reach];
    let [at_low, at_high] = [with(base, path, low).check().ok()?, with(base, path, high).check().ok()?];
    for mark in LANDMARKS {
        let (Some(a), Some(b)) = ((mark.excess)(&at_low), (mark.excess)(&at_high)) else { continue };
        if a * b > 0.0 || a == b {
            continue;
        }
        let (mut low, mut high) = (low, high);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            let Some(m) = with(base, path, middle).check().ok().and_then(|c| (mark.excess)(&c)) else {
                break;
            };
            if m * a > 0.0 { low = middle } else { high = middle }
        }
        // The side on which the limit is kept, in few digits where that keeps it too.
        let value = if a <= 0.0 { low } else { high };
        let keeps = |v: f64| {
            let excess = with(base, path, v).check().ok().and_then(|c| (mark.excess)(&c));
            excess.is_some_and(|e| e <= 0.0)
        };
        let round =
            (4..=7).map(|digits| significant(value, digits)).find(|v| (v - value).abs() < reach && keeps(*v));
        return Some((round.unwrap_or(value), (mark.word)(base)));
    }
    None
}

/// A limit worth stopping at: above zero it is passed.
struct Landmark {
    excess: fn(&Checked) -> Option<f64>,
    word: fn(&Design) -> String,
}

const LANDMARKS: &[Landmark] = &[
    Landmark {
        excess: |c| Some(c.design().limits.least_radius_um - c.centreline().least_radius_um()),
        word: |d| format!("least radius {}", length_text(d.limits.least_radius_um)),
    },
    Landmark {
        excess: |c| Some(c.centreline().span_um() - c.design().limits.span_um),
        word: |d| format!("fills the span of {}", length_text(d.limits.span_um)),
    },
    Landmark {
        excess: |c| c.design().limits.height_um.map(|h| c.centreline().height_um() + c.width_um() - h),
        word: |d| format!("fills the height of {}", length_text(d.limits.height_um.unwrap_or_default())),
    },
    Landmark { excess: |c| Some(c.quarter().tilt_rad() - FRAC_PI_2), word: |_| "arms upright".to_owned() },
];

#[cfg(test)]
mod tests {
    use super::*;

    const AMPLITUDE: &str = "shape.amplitude_um";

    #[test]
    fn a_free_value_is_kept_and_a_pulled_one_is_round() {
        let base = Design::sample();
        let wanted = base.shape.amplitude_um + 3.21;
        assert_eq!(settle(&base, AMPLITUDE, wanted, None), Settled::free(wanted));
        let pull = Pull { step: 5.0, reach: 0.01 };
        let round = settle(&base, AMPLITUDE, wanted, Some(pull)).value;
        assert!((round / 5.0).fract() == 0.0 && (round - wanted).abs() <= 2.5, "{round}");
        assert_eq!(settle(&base, AMPLITUDE, f64::NAN, None).value, base.shape.amplitude_um);
    }

    #[test]
    fn limits_catch_and_are_kept() {
        let mut base = Design::sample();
        base.limits.height_um = Some(2.0 * base.shape.amplitude_um + base.shape.width_um + 20.0);
        let wanted = base.shape.amplitude_um + 11.7;
        let caught = settle(&base, AMPLITUDE, wanted, Some(Pull { step: 50.0, reach: 4.0 }));
        assert_eq!(caught.value, base.shape.amplitude_um + 10.0);
        assert!(caught.caught.expect("the height").starts_with("fills the height"));
        let far = settle(&base, AMPLITUDE, wanted, Some(Pull { step: 0.0, reach: 0.5 }));
        assert_eq!((far.value, far.caught), (wanted, None));
    }

    #[test]
    fn the_impossible_is_held_at_the_last_possible_value() {
        let base = Design::sample();
        let held = settle(&base, "shape.width_um", 5000.0, None);
        let folding = 2.0 * base.check().expect("the sample is possible").centreline().least_radius_um();
        assert!(held.held.expect("a reason").contains("bend radius"));
        assert!(held.value < folding && held.value > 0.95 * folding, "{} of {folding}", held.value);
        assert!(with(&base, "shape.width_um", held.value).check().is_ok());
        let none = settle(&base, "shape.periods", -3.0, None);
        assert_eq!(none.value, 1.0);
        assert!(none.held.is_some());
    }

    #[test]
    fn digits_are_significant() {
        assert_eq!(significant(171.0342, 3), 171.0);
        assert_eq!(significant(0.012_345, 2), 0.012);
        assert_eq!(significant(-98_765.0, 2), -99_000.0);
    }
}
