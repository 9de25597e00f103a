//! What clamped ends add to the strain of the periodic cell.

use std::fmt;

use ogee_geometry::Ends;

/// Share of the slack above which a clamp on the crossing governs.
const CLAMP_GOVERNS_ABOVE: f64 = 0.7;

/// The peak strain of a whole ribbon over that of its periodic cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndFactor {
    /// What to multiply the cell's peak strain with, dimensionless.
    pub factor: f64,
    /// How far the factor may be trusted.
    pub note: EndNote,
}

/// What an [`EndFactor`] rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum EndNote {
    /// Clamped on the crossing, two periods or more.
    CrossingRaises,
    /// Clamped on the crossing, a single period.
    CrossingOfOnePeriod,
    /// Clamped on the crossing and pulled close to straight.
    ClampGoverns,
    /// Clamped on the crest.
    CrestIsCell,
    /// Led in along the midline.
    MidlineRaises,
    /// Led in along the midline and pulled close to straight.
    MidlineBendGoverns,
}

impl fmt::Display for EndNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::CrossingRaises => {
                "clamped on the crossing: the second half wave sees more than the periodic cell, by 0.6/n within 0.05"
            }
            Self::CrossingOfOnePeriod => {
                "one period clamped on the crossing: 1.5 to 2.2 times the periodic cell, the largest is taken"
            }
            Self::ClampGoverns => {
                "above 0.7 of the slack the clamp on the crossing itself governs: 1.1 to 3 times the cell, \
                 whatever the number of periods; solve the whole ribbon"
            }
            Self::CrestIsCell => "clamped on the crest: within 3 % of the periodic cell on the unsafe side",
            Self::MidlineRaises => {
                "led in along the midline: the bends next to the end take more than their share, the largest measured \
                 factor is taken"
            }
            Self::MidlineBendGoverns => {
                "led in along the midline and close to straight: with few periods the bend at the end governs, up to 3.9 \
                 times the cell; solve the whole ribbon"
            }
        })
    }
}

/// How much the ends raise the peak strain over that of the periodic cell at the meander's own stretch.
///
/// * `periods`: n. `stretch_over_slack`: e over the slack, dimensionless; the measure of how straight it is.
///
/// A ribbon clamped on the crossing sees 1 + 0.6/n times the cell's peak for n ≥ 2; measured values are 1.30 to 1.32 at
/// n = 2, 1.11 to 1.15 at 5 and 1.07 to 1.11 at 9. A single period sees 1.5 to 2.2 times. Above 0.7 of the slack the clamp,
/// which holds the section at its tilt while the ribbon straightens, governs: 1.1 to 1.3 times at 0.8 of the slack, 1.4 to
/// 2.0 at 0.9, 1.7 to 3.1 at 0.95; there the factor is the greatest measured value, interpolated, or the one for n if that
/// is larger. Crest ends without leads are the cell itself by symmetry, with leads 0.88 to 1.03 times. Led in along the
/// midline it is the greatest value measured for sine, arc, hairpin, sine-generated and clothoid meanders, leads of 0 to
/// 0.4 pitches and end bends of one and two least radii, interpolated in 1/n and the share of the slack.
///
/// # Source
/// Whole ribbons of n = 1 to 9 solved by the project's own computation up to 0.95 of the slack. In compression the ends
/// were not studied; the factor is that of small stretch.
///
/// ```
/// use ogee_geometry::Ends;
/// use ogee_mechanics::{EndNote, end_factor};
///
/// let four = end_factor(Ends::Crossing, 4, 0.5);
/// assert!((four.factor - 1.15).abs() < 1e-12);
/// assert_eq!(end_factor(Ends::Crossing, 4, 0.9).note, EndNote::ClampGoverns);
/// ```
pub fn end_factor(ends: Ends, periods: u32, stretch_over_slack: f64) -> EndFactor {
    match ends {
        Ends::Crest => EndFactor { factor: 1.0, note: EndNote::CrestIsCell },
        Ends::Midline => {
            let factor = midline_factor(periods, stretch_over_slack);
            let is_close = stretch_over_slack > CLAMP_GOVERNS_ABOVE && periods < FEW_PERIODS;
            let note = if is_close { EndNote::MidlineBendGoverns } else { EndNote::MidlineRaises };
            EndFactor { factor, note }
        }
        Ends::Crossing => {
            let (base, note) = if periods <= 1 {
                (ONE_PERIOD, EndNote::CrossingOfOnePeriod)
            } else {
                (1.0 + 0.6 / f64::from(periods), EndNote::CrossingRaises)
            };
            if stretch_over_slack > CLAMP_GOVERNS_ABOVE {
                let factor = base.max(clamp_factor(stretch_over_slack));
                EndFactor { factor, note: EndNote::ClampGoverns }
            } else {
                EndFactor { factor: base, note }
            }
        }
    }
}

/// Periods below which the bend at a midline end can govern.
const FEW_PERIODS: u32 = 5;

/// Shares of the slack at which midline ends were measured.
const MIDLINE_SHARES: [f64; 4] = [0.7, 0.8, 0.9, 0.95];
/// Greatest factors there for 1, 2, 3, 5 and 9 periods; the first row holds for all smaller stretches.
const MIDLINE: [(f64, [f64; 4]); 5] = [
    (1.0, [1.60, 2.37, 3.41, 3.85]),
    (2.0, [1.27, 1.28, 1.64, 2.19]),
    (3.0, [1.19, 1.19, 1.24, 1.58]),
    (5.0, [1.13, 1.13, 1.13, 1.20]),
    (9.0, [1.10, 1.10, 1.10, 1.10]),
];

/// The measured factors of midline ends, between them by 1/n and the share, 1 for ever more periods.
fn midline_factor(periods: u32, stretch_over_slack: f64) -> f64 {
    let at_share = |row: &[f64; 4]| {
        let points: [(f64, f64); 4] = std::array::from_fn(|i| (MIDLINE_SHARES[i], row[i]));
        interpolated(&points, stretch_over_slack)
    };
    let n = f64::from(periods.max(1));
    // By falling 1/n reversed: ever more periods first.
    let mut points = vec![(0.0, 1.0)];
    points.extend(MIDLINE.iter().rev().map(|(periods, row)| (periods.recip(), at_share(row))));
    interpolated(&points, n.recip())
}

/// Linear between points of rising x, kept at the ends.
fn interpolated(points: &[(f64, f64)], x: f64) -> f64 {
    let mut value = points.last().map_or(0.0, |p| p.1);
    for (i, pair) in points.windows(2).enumerate() {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if x <= x1 {
            value = if i == 0 && x < x0 { y0 } else { y0 + (y1 - y0) * (x - x0) / (x1 - x0) };
            break;
        }
    }
    value
}

/// Greatest factor measured for one period.
const ONE_PERIOD: f64 = 2.2;

/// Greatest factors measured close to straight at n = 5, by the share of the slack.
const CLAMP: [(f64, f64); 4] = [(0.7, 1.12), (0.8, 1.3), (0.9, 2.0), (0.95, 3.1)];

/// The measured factors of a clamp on the crossing, interpolated, and kept at the last beyond.
fn clamp_factor(stretch_over_slack: f64) -> f64 {
    interpolated(&CLAMP, stretch_over_slack)
}

#[cfg(test)]
mod tests {
    use ogee_geometry::{Centreline, Family, Quarter};

    use super::*;
    use crate::{CellProblem, CellSolver, EndMotion, RibbonProblem, RibbonSolver, Strips};

    #[test]
    fn factors_meet_the_measured_ribbons() {
        for (periods, least, greatest) in [(2, 1.30, 1.32), (3, 1.19, 1.22), (5, 1.11, 1.15)] {
            let factor = end_factor(Ends::Crossing, periods, 0.4).factor;
            assert!(factor > least - 0.01 && factor < greatest + 0.02, "{periods}: {factor}");
        }
        assert!(end_factor(Ends::Crossing, 1, 0.4).factor >= 2.2);
    }

    #[test]
    fn the_factor_never_falls_with_stretch_nor_rises_with_periods() {
        for ends in [Ends::Crossing, Ends::Midline] {
            for periods in [1, 2, 4, 5, 9, 100] {
                let mut last = 0.0;
                for step in 0..150 {
                    let share = f64::from(step) * 0.01;
                    let factor = end_factor(ends, periods, share).factor;
                    assert!(factor >= last && factor >= 1.0);
                    assert!(end_factor(ends, periods + 1, share).factor <= factor);
                    last = factor;
                }
            }
        }
    }

    #[test]
    fn midline_ends_are_on_the_safe_side_of_whole_ribbons() {
        let shapes = [
            (Family::SineGenerated, 0.4),
            (Family::Arc, 0.3),
            (Family::Clothoid { plateau_share: 0.2 }, 0.35),
        ];
        let strips = Strips::homogeneous(15.0).unwrap();
        let (mut ribbons, mut cells) = (RibbonSolver::new(), CellSolver::new());
        for (family, amplitude) in shapes {
            let quarter = Quarter::new(family, 1000.0, 1000.0 * amplitude).unwrap();
            for (periods, share) in [(1, 0.5), (2, 0.85), (4, 0.4), (6, 0.75)] {
                let stretch = share * quarter.slack();
                let cell = CellProblem { quarter: &quarter, strips: &strips, stretch };
                let cell = cells.solve(&cell, None).unwrap().peak_tensile.strain;
                let line = Centreline::new(quarter.clone(), periods, Ends::Midline, 200.0, None).unwrap();
                let motion = EndMotion::stretch(stretch * f64::from(periods) * 1000.0 / line.span_um());
                let problem = RibbonProblem { line: &line, strips: &strips, motion };
                let whole = ribbons.solve(&problem, None).unwrap().peak_tensile.strain;
                let factor = end_factor(Ends::Midline, periods, share).factor;
                assert!(
                    factor * cell > 0.99 * whole,
                    "{family:?} {periods} {share}: {factor} {}",
                    whole / cell
                );
                assert!(factor * cell < 2.0 * whole);
            }
        }
    }
}
