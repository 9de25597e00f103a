//! The sum of two falling powers of the number of cycles, solved for that number.

use super::LifeError;

/// `first N^p + second N^q` with both factors above 0 and both exponents below 0, by logarithms.
#[derive(Clone, Copy, Debug)]
pub(super) struct TwoPowers {
    pub(super) ln_first: f64,
    pub(super) first_exponent: f64,
    pub(super) ln_second: f64,
    pub(super) second_exponent: f64,
}

impl TwoPowers {
    /// ln of the sum at ln N, and its slope.
    pub(super) fn at(&self, ln_count: f64) -> (f64, f64) {
        let first = self.ln_first + self.first_exponent * ln_count;
        let second = self.ln_second + self.second_exponent * ln_count;
        let greater = first.max(second);
        let (a, b) = ((first - greater).exp(), (second - greater).exp());
        (greater + (a + b).ln(), (a * self.first_exponent + b * self.second_exponent) / (a + b))
    }

    /// ln N at which the sum is `exp(ln_sum)`.
    ///
    /// The logarithm of the sum is a falling convex function of ln N: from a place left of the root, Newton's steps
    /// approach it without ever passing it. Each power alone lies below the sum, so the greater of their two roots is such a
    /// place; there the sum is at most twice the wanted one. A bracket guards against rounding.
    pub(super) fn ln_count(&self, ln_sum: f64) -> Result<f64, LifeError> {
        const STEPS: usize = 100;
        const TOLERANCE: f64 = 4e-15;
        let alone = |share: f64| {
            ((ln_sum - share - self.ln_first) / self.first_exponent)
                .max((ln_sum - share - self.ln_second) / self.second_exponent)
        };
        let (mut low, mut high) = (alone(0.0), alone(std::f64::consts::LN_2));
        let mut x = low;
        let mut residual = f64::INFINITY;
        for _ in 0..STEPS {
            let (value, slope) = self.at(x);
            residual = value - ln_sum;
            if residual.abs() <= TOLERANCE * (1.0 + ln_sum.abs()) {
                return Ok(x);
            }
            if residual > 0.0 {
                low = x;
            } else {
                high = x;
            }
            let newton = x - residual / slope;
            let next = if newton > low && newton < high { newton } else { f64::midpoint(low, high) };
            if (next - x).abs() <= TOLERANCE * (1.0 + x.abs()) {
                return Ok(next);
            }
            x = next;
        }
        Err(LifeError::NotConverged { iterations: STEPS, residual })
    }
}
