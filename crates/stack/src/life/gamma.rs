//! The gamma function above 1.

/// Above this the asymptotic series is good to rounding.
const SERIES_FROM: f64 = 15.0;

/// ln Γ(x) for x ≥ 1, good to about 1e-15 · max(1, ln Γ).
///
/// Stirling's series at x + k ≥ 15, taken back by the product x (x+1) … (x+k−1).
pub(super) fn ln_gamma(x: f64) -> f64 {
    let mut product = 1.0;
    let mut at = x;
    while at < SERIES_FROM {
        product *= at;
        at += 1.0;
    }
    let square = 1.0 / (at * at);
    let series = (1.0 / 12.0
        - square * (1.0 / 360.0 - square * (1.0 / 1260.0 - square * (1.0 / 1680.0 - square / 1188.0))))
        / at;
    (at - 0.5) * at.ln() - at + 0.5 * (2.0 * std::f64::consts::PI).ln() + series - product.ln()
}

#[cfg(test)]
mod tests {
    use super::ln_gamma;

    #[test]
    fn factorials_and_a_half() {
        let mut factorial = 1.0_f64;
        for n in 1..40_u32 {
            factorial *= f64::from(n);
            let exact = factorial.ln();
            assert!((ln_gamma(f64::from(n) + 1.0) - exact).abs() < 4e-15 * exact.max(1.0), "{n}");
        }
        // Γ(3/2) = √π/2
        let exact = (0.5 * std::f64::consts::PI.sqrt()).ln();
        assert!((ln_gamma(1.5) - exact).abs() < 4e-15);
        assert!(ln_gamma(1.0).abs() < 8e-15);
    }
}
