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
/// Newton's step is taken where it stays inside the bracket and at least halves the step before last;
/// otherwise the bracket is halved, so that the method always ends.
pub(crate) fn newton(f: impl Fn(f64) -> (f64, f64), least: f64, greatest: f64, guess: f64) -> Root {
    let (mut low, mut high) = (least, greatest);
    let mut at = guess.clamp(least, greatest);
    let (mut value, mut slope) = f(at);
    // Only the sign at the low end matters; both ends of every bracket used here differ in sign.
    let low_is_negative = f(low).0 <= 0.0;
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
            return Root { at, residual: value, iterations: iterations + 1, is_converged: true };
        }
    }
    Root { at, residual: value, iterations: MOST_ITERATIONS, is_converged: false }
}
