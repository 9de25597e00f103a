//! How resistance changes with strain.

use super::TraceError;
use super::error::{TraceField, finite, number, positive_number};

/// R/R₀ = 1 + GF ε for a metal trace.
///
/// * `gauge_factor`: 2.2 for a 0.19 µm copper film, 1 to 4 for gold above 0.1 µm, 10 to 1000 for cracked or very thin films
///   (an open review of film gauges, PMC6015027, table 1); about 1 + 2ν where only the shape changes, see
///   [`geometric_gauge_factor`].
/// * `mean_strain`: the membrane strain averaged along the trace, see [`mean_strain`]; bending in the plane cancels
///   across the width to first order.
/// # Errors
/// [`TraceError`] for values that are no numbers, or a product of −1 or less, at which no resistance would be left.
pub fn resistance_ratio(gauge_factor: f64, mean_strain: f64) -> Result<f64, TraceError> {
    finite(TraceField::GaugeFactor, gauge_factor)?;
    finite(TraceField::Strain, mean_strain)?;
    positive_number("resistance ratio", 1.0 + gauge_factor * mean_strain)
}

/// R/R₀ of a solid conductor of constant resistivity that only changes its shape, (1 + ε)/(1 − νε)².
///
/// * `poisson`: from −1 to 0.5. `strain`: along the trace, above −1, with νε below 1.
/// # Errors
/// [`TraceError::Outside`] or [`TraceError::NotFinite`].
pub fn geometric_resistance_ratio(poisson: f64, strain: f64) -> Result<f64, TraceError> {
    check_poisson(poisson)?;
    check_strain(strain)?;
    let side = 1.0 - poisson * strain;
    if side <= 0.0 {
        let (least, greatest) =
            if poisson > 0.0 { (-1.0, 1.0 / poisson) } else { (1.0 / poisson, f64::INFINITY) };
        return Err(TraceError::Outside { field: TraceField::Strain, value: strain, least, greatest });
    }
    positive_number("resistance ratio", (1.0 + strain) / (side * side))
}

/// Gauge factor of the change of shape alone, 1 + 2ν: the slope of [`geometric_resistance_ratio`] at rest.
///
/// # Errors
/// [`TraceError::Outside`] or [`TraceError::NotFinite`] for a Poisson's ratio outside −1 to 0.5.
pub fn geometric_gauge_factor(poisson: f64) -> Result<f64, TraceError> {
    check_poisson(poisson)?;
    Ok(1.0 + 2.0 * poisson)
}

/// R/R₀ of liquid metal in a straight channel that keeps its volume, (1 + e)².
///
/// * `stretch`: of the channel, above −1; any size.
/// # Errors
/// [`TraceError::Outside`] or [`TraceError::NotFinite`].
pub fn liquid_resistance_ratio(stretch: f64) -> Result<f64, TraceError> {
    check_strain(stretch)?;
    positive_number("resistance ratio", (1.0 + stretch) * (1.0 + stretch))
}

/// Mean of the strain along a path, `Σ ε ds / Σ ds`, for [`resistance_ratio`].
///
/// * `elements`: length, µm, and membrane strain of each.
/// # Errors
/// [`TraceError::Element`] for elements that are no numbers or of negative length, [`TraceError::NoPath`] where all have
/// no length.
pub fn mean_strain(elements: impl IntoIterator<Item = (f64, f64)>) -> Result<f64, TraceError> {
    let (mut sum_um, mut length_um) = (0.0, 0.0);
    for (element, (part_um, strain)) in elements.into_iter().enumerate() {
        if !(part_um.is_finite() && part_um >= 0.0) {
            return Err(TraceError::Element { element, field: TraceField::Length, value: part_um });
        }
        if !strain.is_finite() {
            return Err(TraceError::Element { element, field: TraceField::Strain, value: strain });
        }
        sum_um += strain * part_um;
        length_um += part_um;
    }
    if length_um == 0.0 {
        return Err(TraceError::NoPath);
    }
    number("length of the path", length_um)?;
    number("mean strain", sum_um / length_um)
}

fn check_poisson(poisson: f64) -> Result<(), TraceError> {
    super::error::within(TraceField::Poisson, poisson, -1.0, 0.5)
}

fn check_strain(strain: f64) -> Result<(), TraceError> {
    let field = TraceField::Strain;
    finite(field, strain)?;
    if strain > -1.0 {
        return Ok(());
    }
    Err(TraceError::Outside { field, value: strain, least: -1.0, greatest: f64::INFINITY })
}

#[cfg(test)]
mod tests {
    use super::{
        geometric_gauge_factor, geometric_resistance_ratio, liquid_resistance_ratio, mean_strain,
        resistance_ratio,
    };

    #[test]
    fn the_gauge_factor_is_the_slope_of_the_ratio() {
        let strain = 1e-6;
        let up = geometric_resistance_ratio(0.34, strain).unwrap();
        let down = geometric_resistance_ratio(0.34, -strain).unwrap();
        let slope = (up - down) / (2.0 * strain);
        assert!((slope - geometric_gauge_factor(0.34).unwrap()).abs() < 1e-8);
        // A solid that keeps its volume is the liquid, to second order.
        let solid = geometric_resistance_ratio(0.5, 1e-3).unwrap();
        assert!((solid - liquid_resistance_ratio(1e-3).unwrap()).abs() < 2e-6);
    }

    #[test]
    fn the_mean_is_taken_over_the_length() {
        assert!((mean_strain([(1.0, 0.01), (3.0, -0.01)]).unwrap() + 0.005).abs() < 1e-16);
        assert!(mean_strain([]).is_err() && mean_strain([(1.0, f64::NAN)]).is_err());
        assert!(mean_strain([(-1.0, 0.0)]).is_err());
    }

    #[test]
    fn refuses_impossible_strains() {
        assert!(resistance_ratio(2.0, -0.5).is_err() && resistance_ratio(f64::NAN, 0.1).is_err());
        assert!(
            geometric_resistance_ratio(0.5, 2.0).is_err() && geometric_resistance_ratio(0.3, -1.0).is_err()
        );
        assert!(geometric_resistance_ratio(0.6, 0.0).is_err() && liquid_resistance_ratio(-1.0).is_err());
    }
}
