//! The loss of a better model, known at a few radii, laid over a table.

use super::{BendTable, TableBasis};
use crate::error::LightError;

/// Most radii at which a correction is given: it is a polynomial through all of them.
const MOST_POINTS: usize = 3;

/// ln of the factor on the loss against R.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Correction {
    /// Radius, µm, and ln of the factor there, radii rising.
    points: Vec<(f64, f64)>,
}

impl Correction {
    /// ln of the factor at a radius: the polynomial through the points, held constant outside them.
    pub(super) fn ln_factor(&self, radius_um: f64) -> f64 {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else { return 0.0 };
        let radius = radius_um.clamp(first.0, last.0);
        let term = |i: usize, (at, value): (f64, f64)| {
            let others = self.points.iter().enumerate().filter(|(j, _)| *j != i);
            value * others.map(|(_, (other, _))| (radius - other) / (at - other)).product::<f64>()
        };
        self.points.iter().enumerate().map(|(i, point)| term(i, *point)).sum()
    }
}

impl BendTable {
    /// The same table with its loss multiplied by factors that a better model gives at some radii, as the full-vector mode of
    /// the true cross-section does.
    ///
    /// ln of the factor is the polynomial in R through the points and is held constant outside them. Factors of a core
    /// against its slab change by 7 to 30 % when R doubles, so that three radii give the loss to a few per cent between them.
    /// Transitions stay those of the slab.
    ///
    /// * `factors`: one to three radii, µm, and the factor on the loss there, in any order.
    /// # Errors
    /// [`LightError::Number`] for no or too many points and for two at one radius; [`LightError::Entry`] for a radius or factor
    /// that is not a number above 0.
    pub fn corrected(&self, factors: &[(f64, f64)]) -> Result<Self, LightError> {
        let count = factors.len();
        if count == 0 || count > MOST_POINTS {
            return Err(LightError::Number {
                what: "number of corrected radii",
                value: count as f64,
                least: 1.0,
                greatest: MOST_POINTS as f64,
            });
        }
        for (position, &(radius, factor)) in factors.iter().enumerate() {
            for (what, value) in [("corrected radius", radius), ("factor on the loss", factor)] {
                if !(value.is_finite() && value > 0.0) {
                    return Err(LightError::Entry { what, position, value });
                }
            }
        }
        let mut points: Vec<(f64, f64)> =
            factors.iter().map(|(radius, factor)| (*radius, factor.ln())).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let Some(pair) = points.windows(2).find(|pair| pair[0].0 == pair[1].0) {
            return Err(LightError::Number {
                what: "radius given twice in µm",
                value: pair[0].0,
                least: 0.0,
                greatest: 0.0,
            });
        }
        Ok(Self { correction: Some(Correction { points }), basis: TableBasis::Corrected, ..self.clone() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slab::{Slab, SlabPolarisation};

    #[test]
    fn the_factors_come_back_at_their_radii_and_hold_outside() {
        let slab = Slab { wavelength_um: 1.55, width_um: 1.0, n_core: 1.7, n_left: 1.5, n_right: 1.5 };
        let plain = BendTable::new(&slab, SlabPolarisation::Te, None).expect("it guides");
        let radii = [1.2, 1.6, 2.0].map(|f| f * plain.least_radius_um());
        let factors = [(radii[2], 0.6), (radii[0], 0.8), (radii[1], 0.75)];
        let table = plain.corrected(&factors).expect("sound");
        let ratio =
            |radius: f64| table.loss_db_per_90deg(radius.recip()) / plain.loss_db_per_90deg(radius.recip());
        for (radius, factor) in factors {
            assert!((ratio(radius) - factor).abs() < 1e-12);
        }
        assert!((ratio(1.01 * plain.least_radius_um()) - 0.8).abs() < 1e-12);
        assert!((ratio(5.0 * radii[2]) - 0.6).abs() < 1e-12);
        assert!(ratio(0.5 * (radii[0] + radii[1])) > 0.75 && table.basis() == TableBasis::Corrected);
        assert_eq!(table.transition_db(0.0, 1e-3), plain.transition_db(0.0, 1e-3));
        assert!(plain.corrected(&[]).is_err() && plain.corrected(&[(10.0, -1.0)]).is_err());
        assert!(plain.corrected(&[(10.0, 1.0), (10.0, 2.0)]).is_err());
    }
}
