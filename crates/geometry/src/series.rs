//! Power series with fixed coefficients.

/// Value and derivative of `Σ c_k x^k` by Horner's rule.
#[inline]
pub(crate) fn horner<const N: usize>(coefficients: &[f64; N], x: f64) -> (f64, f64) {
    let (mut value, mut derivative) = (0.0, 0.0);
    for &coefficient in coefficients.iter().rev() {
        derivative = derivative * x + value;
        value = value * x + coefficient;
    }
    (value, derivative)
}
