//! Steps of the series 1, 2, 5 × 10ⁿ for the grid, the scale bar and the values that a drag snaps to.

/// The smallest step of the series 1-2-5 that is at least `least`.
///
/// `least` must be positive; anything else gives 1.
pub(in crate::window) fn step_at_least(least: f64) -> f64 {
    if !(least.is_finite() && least > 0.0) {
        return 1.0;
    }
    let decade = 10f64.powi(least.log10().floor() as i32);
    // A hair of slack, so that 0.2 is not missed for 0.5 by rounding.
    let within = |factor: f64| factor * decade >= least * (1.0 - 1e-9);
    [1.0, 2.0, 5.0, 10.0].into_iter().find(|f| within(*f)).map_or(decade * 10.0, |f| tidy(f, decade))
}

/// The largest step of the series 1-2-5 that is at most `most`.
pub(super) fn step_at_most(most: f64) -> f64 {
    if !(most.is_finite() && most > 0.0) {
        return 1.0;
    }
    let decade = 10f64.powi(most.log10().floor() as i32);
    let within = |factor: f64| factor * decade <= most * (1.0 + 1e-9);
    [5.0, 2.0, 1.0].into_iter().find(|f| within(*f)).map_or(decade, |f| tidy(f, decade))
}

/// `factor × decade` without the rounding of a product with 10⁻ⁿ.
fn tidy(factor: f64, decade: f64) -> f64 {
    if decade < 1.0 { factor / (1.0 / decade).round() } else { factor * decade }
}

/// The multiple of `step` nearest to `value`, free of the rounding that a plain product leaves.
pub(in crate::window) fn nearest_multiple(value: f64, step: f64) -> f64 {
    let count = (value / step).round();
    if step < 1.0 { count / (1.0 / step) } else { count * step }
}

/// A length with the unit that suits it, three significant digits: `3.20 mm`, `412 µm`, `350 nm`.
pub(in crate::window) fn length_text(um: f64) -> String {
    let magnitude = um.abs();
    if magnitude >= 1e6 {
        format!("{:.2} m", um / 1e6)
    } else if magnitude >= 1e5 {
        format!("{:.0} mm", um / 1e3)
    } else if magnitude >= 1e4 {
        format!("{:.1} mm", um / 1e3)
    } else if magnitude >= 1e3 {
        format!("{:.2} mm", um / 1e3)
    } else if magnitude >= 100.0 {
        format!("{um:.0} µm")
    } else if magnitude >= 10.0 {
        format!("{um:.1} µm")
    } else if magnitude >= 1.0 || magnitude == 0.0 {
        format!("{um:.2} µm")
    } else {
        format!("{:.0} nm", um * 1e3)
    }
}

/// A round length, without needless zeros: `1 mm`, `200 µm`, `50 nm`.
pub(in crate::window) fn round_length_text(um: f64) -> String {
    let (value, unit) = if um >= 1e6 {
        (um / 1e6, "m")
    } else if um >= 1e3 {
        (um / 1e3, "mm")
    } else if um >= 1.0 {
        (um, "µm")
    } else {
        (um * 1e3, "nm")
    };
    format!("{} {unit}", ogee_design::number_text(value))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_follow_the_series() {
        for (least, step) in
            [(1.0, 1.0), (1.1, 2.0), (2.0, 2.0), (3.0, 5.0), (7.0, 10.0), (0.011, 0.02), (300.0, 500.0)]
        {
            assert_eq!(step_at_least(least), step, "at least {least}");
        }
        for (most, step) in [(1.0, 1.0), (1.9, 1.0), (4.9, 2.0), (9.0, 5.0), (0.06, 0.05), (2300.0, 2000.0)] {
            assert_eq!(step_at_most(most), step, "at most {most}");
        }
        assert_eq!(step_at_least(f64::NAN), 1.0);
        assert_eq!(step_at_most(-3.0), 1.0);
    }

    #[test]
    fn multiples_are_clean() {
        assert_eq!(nearest_multiple(0.299_999, 0.1), 0.3);
        assert_eq!(nearest_multiple(411.2, 10.0), 410.0);
        assert_eq!(nearest_multiple(-0.26, 0.05), -0.25);
    }

    #[test]
    fn lengths_read_well() {
        assert_eq!(length_text(3200.0), "3.20 mm");
        assert_eq!(length_text(412.3), "412 µm");
        assert_eq!(length_text(0.35), "350 nm");
        assert_eq!(round_length_text(1000.0), "1 mm");
        assert_eq!(round_length_text(0.05), "50 nm");
    }
}
