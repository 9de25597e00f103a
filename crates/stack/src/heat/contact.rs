//! Which films touch.

use super::{Film, ProcessError};

/// Faces closer than this share of the stack's height are one.
const ROUNDING: f64 = 1e-9;

/// Height within which faces are one, µm.
fn slack_um(films: &[Film], present: &[usize]) -> f64 {
    let lowest_um = present.iter().map(|&i| films[i].bottom_um).fold(f64::INFINITY, f64::min);
    let highest_um = present.iter().map(|&i| films[i].top_um).fold(f64::NEG_INFINITY, f64::max);
    ROUNDING * (highest_um - lowest_um)
}

/// Height between two films, µm; zero or less where they touch or lie side by side.
fn gap_um(a: &Film, b: &Film) -> f64 {
    (a.bottom_um - b.top_um).max(b.bottom_um - a.top_um)
}

/// Films that are there must hang together and must not fill more than the width.
///
/// * `anchored`: those known to hang together; may be empty.
pub(super) fn check(
    films: &[Film],
    step: usize,
    present: &[usize],
    anchored: &[usize],
) -> Result<(), ProcessError> {
    let Some(&first) = present.first() else { return Ok(()) };
    let slack_um = slack_um(films, present);
    for &index in present {
        let film = &films[index];
        let height_um = film.bottom_um + slack_um.min(0.5 * film.thickness_um());
        let at_height = |other: &Film| other.bottom_um <= height_um && height_um < other.top_um - slack_um;
        let beside: f64 = present
            .iter()
            .filter(|&&other| other != index && at_height(&films[other]))
            .map(|&other| films[other].share)
            .sum();
        let value = film.share + beside;
        if value > 1.0 + ROUNDING {
            return Err(ProcessError::TooWide {
                step,
                film: index,
                name: film.name.clone(),
                value,
                height_um: film.bottom_um,
            });
        }
    }
    // What hangs together, growing until nothing more is reached.
    let mut reached = if anchored.is_empty() { vec![first] } else { anchored.to_vec() };
    let mut next = 0;
    while let Some(&from) = reached.get(next) {
        for &index in present {
            if !reached.contains(&index) && gap_um(&films[from], &films[index]) <= slack_um {
                reached.push(index);
            }
        }
        next += 1;
    }
    let Some(&apart) = present.iter().find(|index| !reached.contains(index)) else { return Ok(()) };
    let film = &films[apart];
    let gap = reached.iter().map(|&other| gap_um(film, &films[other])).fold(f64::INFINITY, f64::min);
    Err(ProcessError::NotTouching {
        step,
        film: apart,
        name: film.name.clone(),
        bottom_um: film.bottom_um,
        top_um: film.top_um,
        gap_um: gap,
    })
}

/// Share of the width in which the lower part's upper faces meet the upper part's lower faces.
pub(super) fn face_share(films: &[Film], lower: &[usize], upper: &[usize]) -> f64 {
    if lower.is_empty() || upper.is_empty() {
        return 0.0;
    }
    let slack_um = slack_um(films, lower).max(slack_um(films, upper));
    let mut heights_um: Vec<f64> = Vec::new();
    for &index in lower {
        let height_um = films[index].top_um;
        if heights_um.iter().all(|known| (known - height_um).abs() > slack_um) {
            heights_um.push(height_um);
        }
    }
    let meet = |height_um: f64| {
        let below: f64 = lower
            .iter()
            .map(|&i| &films[i])
            .filter(|film| (film.top_um - height_um).abs() <= slack_um)
            .map(|film| film.share)
            .sum();
        let above: f64 = upper
            .iter()
            .map(|&i| &films[i])
            .filter(|film| (film.bottom_um - height_um).abs() <= slack_um)
            .map(|film| film.share)
            .sum();
        below.min(above)
    };
    heights_um.into_iter().map(meet).sum::<f64>().min(1.0)
}
