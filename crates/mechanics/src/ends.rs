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
    MidlineIsTangent,
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
            Self::MidlineIsTangent => {
                "led in along the midline: the end is tangent to the pull, the peak is taken as that of the cell"
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
/// is larger. Crest ends without leads are the cell itself by symmetry, with leads 0.88 to 1.03 times.
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
        Ends::Midline => EndFactor { factor: 1.0, note: EndNote::MidlineIsTangent },
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

/// Greatest factor measured for one period.
const ONE_PERIOD: f64 = 2.2;

/// Greatest factors measured close to straight at n = 5, by the share of the slack.
const CLAMP: [(f64, f64); 4] = [(0.7, 1.12), (0.8, 1.3), (0.9, 2.0), (0.95, 3.1)];

/// The measured factors, interpolated, and kept at the last beyond.
fn clamp_factor(stretch_over_slack: f64) -> f64 {
    let mut factor = CLAMP[CLAMP.len() - 1].1;
    for pair in CLAMP.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if stretch_over_slack <= x1 {
            factor = y0 + (y1 - y0) * (stretch_over_slack - x0) / (x1 - x0);
            break;
        }
    }
    factor
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_meet_the_measured_ribbons() {
        for (periods, least, greatest) in [(2, 1.30, 1.32), (3, 1.19, 1.22), (5, 1.11, 1.15)] {
            let factor = end_factor(Ends::Crossing, periods, 0.4).factor;
            assert!(factor > least - 0.01 && factor < greatest + 0.02, "{periods}: {factor}");
        }
        assert!(end_factor(Ends::Crossing, 1, 0.4).factor >= 2.2);
    }

    #[test]
    fn the_factor_never_falls_with_stretch() {
        for periods in [1, 2, 5, 100] {
            let mut last = 0.0;
            for step in 0..150 {
                let factor = end_factor(Ends::Crossing, periods, f64::from(step) * 0.01).factor;
                assert!(factor >= last);
                last = factor;
            }
        }
    }
}
