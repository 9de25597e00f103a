//! The two functions of λa by which an island of finite length differs from a long one.

/// 1 − tanh(x)/x for x ≥ 0; the series below 0.02, where the difference would cancel.
pub(super) fn held_share(x: f64) -> f64 {
    if x < 0.02 {
        let square = x * x;
        square * (1.0 / 3.0 - square * (2.0 / 15.0 - square * 17.0 / 315.0))
    } else {
        1.0 - x.tanh() / x
    }
}

/// cosh(part)/cosh(whole) for 0 ≤ part ≤ whole, without overflow.
pub(super) fn cosh_ratio(part: f64, whole: f64) -> f64 {
    (part - whole).exp() * (1.0 + (-2.0 * part).exp()) / (1.0 + (-2.0 * whole).exp())
}

/// 1 − cosh(part)/cosh(whole), without overflow or cancellation: cosh b − cosh a = 2 sinh((b + a)/2) sinh((b − a)/2).
pub(super) fn cosh_deficit(part: f64, whole: f64) -> f64 {
    if whole > 1.0 {
        1.0 - cosh_ratio(part, whole)
    } else {
        2.0 * (0.5 * (whole + part)).sinh() * (0.5 * (whole - part)).sinh() / whole.cosh()
    }
}

#[cfg(test)]
mod tests {
    use super::{cosh_deficit, cosh_ratio, held_share};

    #[test]
    fn series_and_closed_form_meet() {
        for x in [0.019_999, 0.020_001] {
            let direct = 1.0 - f64::tanh(x) / x;
            assert!((held_share(x) / direct - 1.0).abs() < 1e-11, "{x}");
        }
        assert_eq!(held_share(0.0), 0.0);
        assert!((held_share(1e200) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn ratios_of_cosh_neither_overflow_nor_cancel() {
        assert!((cosh_ratio(1.0, 2.0) - 1f64.cosh() / 2f64.cosh()).abs() < 1e-15);
        assert_eq!(cosh_ratio(0.0, 1e4), 0.0);
        assert!((cosh_ratio(1e4, 1e4) - 1.0).abs() < 1e-15);
        assert!((cosh_deficit(0.0, 1e-5) / 5e-11 - 1.0).abs() < 1e-9);
        for whole in [0.999_999, 1.000_001] {
            assert!((cosh_deficit(0.3, whole) - (1.0 - 0.3f64.cosh() / whole.cosh())).abs() < 1e-15);
        }
    }
}
