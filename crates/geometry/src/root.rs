//! A safeguarded root finder for the few shapes without a closed form.

/// Bisection alone needs some 60 halvings to reach rounding; Newton's steps mostly end after five.
const MOST_ITERATIONS: u32 = 200;
/// Relative size of a step below which the root is as good as rounding allows.
const STEP_TOLERANCE: f64 = 4.0 * f64::EPSILON;

/// The outcome of [`newton`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Root {
    pub(crate) at: f64,
    pub(crate) residual: f64,
    pub(crate) iterations: u32,
    pub(crate) is_converged: bool,
}

/// Finds the root of `f` (value, derivative) that lies between `least` and `greatest`.
///
/// The signs at both ends must differ for certain, not just but for rounding; an end may be the root itself.
/// Newton's step is taken where it stays inside the bracket and at least halves the step before last;
/// otherwise the bracket is halved, so that the method always ends.
pub(crate) fn newton(f: impl Fn(f64) -> (f64, f64), least: f64, greatest: f64, guess: f64) -> Root {
    let (mut low, mut high) = (least, greatest);
    let mut at = guess.clamp(least, greatest);
    let (mut value, mut slope) = f(at);
    let at_low = f(low).0;
    if at_low == 0.0 {
        return Root { at: low, residual: 0.0, iterations: 0, is_converged: true };
    }
    let low_is_negative = at_low < 0.0;
    let mut step = high - low;
    let mut step_before = step;
    for iterations in 0..MOST_ITERATIONS {
        if value == 0.0 {
            return Root { at, residual: 0.0, iterations, is_converged: true };
        }
        if (value < 0.0) == low_is_negative {
            low = at;
        } else {
            high = at;
        }
        let newton_step = value / slope;
        let newton_at = at - newton_step;
        let is_good = newton_at >= low && newton_at <= high && (2.0 * newton_step).abs() <= step_before.abs();
        step_before = step;
        let next = if is_good { newton_at } else { 0.5 * (low + high) };
        step = next - at;
        at = next;
        (value, slope) = f(at);
        if step.abs() <= STEP_TOLERANCE * at.abs() {
            let is_converged = value.is_finite();
            return Root { at, residual: value, iterations: iterations + 1, is_converged };
        }
    }
    Root { at, residual: value, iterations: MOST_ITERATIONS, is_converged: false }
}

#[cfg(test)]
mod tests {
    use super::newton;

    #[test]
    fn finds_a_square_root_in_few_steps() {
        let root = newton(|x| (x * x - 2.0, 2.0 * x), 0.0, 2.0, 1.0);
        assert!(root.is_converged && (root.at - 2f64.sqrt()).abs() < 1e-15);
        assert!(root.iterations < 8);
    }

    #[test]
    fn halves_the_bracket_where_newton_would_leave_it() {
        // atan: Newton's method diverges from 1.4 on.
        let root = newton(|x: f64| (x.atan(), 1.0 / (1.0 + x * x)), -40.0, 100.0, 90.0);
        assert!(root.is_converged && root.at.abs() < 1e-12);
        // No usable slope at all.
        let root = newton(|x| (x - 0.3, 0.0), 0.0, 1.0, 0.9);
        assert!(root.is_converged && (root.at - 0.3).abs() < 1e-15);
    }

    #[test]
    fn takes_an_end_that_is_the_root() {
        assert_eq!(newton(|x| (-x, -1.0), 0.0, 1.0, 0.5).at, 0.0);
        assert_eq!(newton(|x| (x - 1.0, 1.0), 0.0, 1.0, 0.5).at, 1.0);
    }

    #[test]
    fn admits_that_it_found_nothing() {
        let root = newton(|_| (f64::NAN, f64::NAN), 0.0, 1.0, 0.5);
        assert!(!root.is_converged);
    }
}
