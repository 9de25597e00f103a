//! The strain beside the edge of an island.

use super::IslandError;
use super::error::{IslandField, finite};

/// Mean strain of the sheet's surface beside an island over the strain far from it: distance over the thickness of the
/// sheet, least, greatest.
const CONCENTRATION: [[f64; 3]; 5] =
    [[0.05, 6.2, 7.2], [0.1, 4.5, 5.1], [0.2, 3.2, 3.6], [0.5, 2.05, 2.35], [1.0, 1.55, 1.75]];

/// How many times the far strain the sheet sees beside an island.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeConcentration {
    /// Lower end of the range over the rows solved.
    pub low: f64,
    /// Upper end of the range.
    pub high: f64,
}

/// Mean strain of the sheet's surface between the island's edge and a distance from it, over the strain between the
/// islands.
///
/// * `distance_over_sheet_thickness`: from 0.05 to 1.
///
/// | distance / sheet thickness | 0.05 | 0.1 | 0.2 | 0.5 | 1 |
/// |---|---|---|---|---|---|
/// | from | 6.2 | 4.5 | 3.2 | 2.05 | 1.55 |
/// | to | 7.2 | 5.1 | 3.6 | 2.35 | 1.75 |
///
/// Interpolated in logarithms of both. The roots of an interconnect on that strip see this strain: let its bends start at
/// least one sheet thickness away, or grade the stiffness.
///
/// # Errors
/// [`IslandError::Outside`] or [`IslandError::NotFinite`] for another distance. Nearer than 0.05 the strain is singular
/// in a linear model and depends on the shape of the edge; farther than 1 it is within 75 % of the far one.
/// # Source
/// Two-dimensional finite elements, small strain, underside held flat, islands longer than the sheet is thick and bonded
/// without an adhesive. Shorter islands concentrate less (4.2 within 0.05 at a length of 0.8 thicknesses), and so does a
/// sheet that is free to bow, but for 2 % more within 1. An adhesive a third of the sheet thick and 20 times softer in
/// shear brings 6.2 to 7.2 down to 1.4.
///
/// ```
/// let beside = ogee_stack::edge_concentration(0.2)?;
/// assert_eq!((beside.low, beside.high), (3.2, 3.6));
/// # Ok::<(), ogee_stack::IslandError>(())
/// ```
pub fn edge_concentration(distance_over_sheet_thickness: f64) -> Result<EdgeConcentration, IslandError> {
    let (field, x) = (IslandField::EdgeDistance, distance_over_sheet_thickness);
    finite(field, x)?;
    let (least, greatest) = (CONCENTRATION[0][0], CONCENTRATION[CONCENTRATION.len() - 1][0]);
    let outside = IslandError::Outside { field, value: x, least, greatest };
    if x < least {
        return Err(outside);
    }
    for pair in CONCENTRATION.windows(2) {
        if let [from, to] = pair
            && x <= to[0]
        {
            // Both ends exactly, so that the table's own distances give the table's own values.
            if x == from[0] || x == to[0] {
                let row = if x == from[0] { from } else { to };
                return Ok(EdgeConcentration { low: row[1], high: row[2] });
            }
            let share = (x / from[0]).ln() / (to[0] / from[0]).ln();
            let between = |column: usize| from[column] * (to[column] / from[column]).powf(share);
            return Ok(EdgeConcentration { low: between(1), high: between(2) });
        }
    }
    Err(outside)
}

#[cfg(test)]
mod tests {
    use super::{CONCENTRATION, edge_concentration};

    #[test]
    fn falls_with_distance_and_meets_the_table() {
        for [x, low, high] in CONCENTRATION {
            let beside = edge_concentration(x).unwrap();
            assert_eq!((beside.low, beside.high), (low, high));
        }
        let mut last = f64::INFINITY;
        for step in 0..=95 {
            let beside = edge_concentration(0.05 + 0.01 * f64::from(step)).unwrap();
            assert!(beside.low < beside.high && beside.high < last && beside.low > 1.0);
            last = beside.high;
        }
    }

    #[test]
    fn refuses_what_the_table_does_not_cover() {
        for x in [0.049, 1.001, -1.0, f64::NAN, f64::INFINITY] {
            assert!(edge_concentration(x).is_err(), "{x}");
        }
    }
}
