//! Cubic spline with not-a-knot ends.

/// A cubic spline through given points, as one cubic per interval.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spline {
    knots: Vec<f64>,
    /// Cubics `c₀ + c₁ t + c₂ t² + c₃ t³` with t from the interval's start; `len = knots − 1`.
    cubics: Vec<[f64; 4]>,
}

impl Spline {
    /// Least number of points: not-a-knot ends need two inner knots.
    pub(crate) const LEAST_POINTS: usize = 4;

    /// Spline through `(knots[i], values[i])`, knots rising. `None` when there are too few points, the knots do not
    /// rise, or a value is not finite.
    ///
    /// Not-a-knot ends (the third derivative is continuous at the second and the last but one knot) keep the fourth
    /// order up to the ends; natural ends would not.
    pub(crate) fn new(knots: &[f64], values: &[f64]) -> Option<Self> {
        let n = knots.len();
        let is_rising = knots.windows(2).all(|pair| pair[0] < pair[1]);
        if n < Self::LEAST_POINTS || values.len() != n || !is_rising || !values.iter().all(|v| v.is_finite())
        {
            return None;
        }
        let h: Vec<f64> = knots.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let slope: Vec<f64> = values.windows(2).zip(&h).map(|(pair, h)| (pair[1] - pair[0]) / h).collect();
        // Second derivatives m of the inner knots: h₋ m₋ + 2(h₋ + h₊) m + h₊ m₊ = 6 (s₊ − s₋), with the ends
        // m₀ = (1 + r) m₁ − r m₂, r = h₀/h₁, put in.
        let inner = n - 2;
        let mut diagonal = vec![0.0; inner];
        let mut below = vec![0.0; inner];
        let mut above = vec![0.0; inner];
        let mut right = vec![0.0; inner];
        for i in 0..inner {
            (below[i], above[i]) = (h[i], h[i + 1]);
            diagonal[i] = 2.0 * (h[i] + h[i + 1]);
            right[i] = 6.0 * (slope[i + 1] - slope[i]);
        }
        let first = h[0] / h[1];
        diagonal[0] += h[0] * (1.0 + first);
        above[0] -= h[0] * first;
        let last = h[n - 2] / h[n - 3];
        diagonal[inner - 1] += h[n - 2] * (1.0 + last);
        below[inner - 1] -= h[n - 2] * last;
        for i in 1..inner {
            let factor = below[i] / diagonal[i - 1];
            diagonal[i] -= factor * above[i - 1];
            right[i] -= factor * right[i - 1];
        }
        let mut second = vec![0.0; n];
        for i in (0..inner).rev() {
            let next = if i + 1 < inner { above[i] * second[i + 2] } else { 0.0 };
            second[i + 1] = (right[i] - next) / diagonal[i];
        }
        second[0] = (1.0 + first) * second[1] - first * second[2];
        second[n - 1] = (1.0 + last) * second[n - 2] - last * second[n - 3];
        let cubics = (0..n - 1)
            .map(|i| {
                [
                    values[i],
                    slope[i] - h[i] * (2.0 * second[i] + second[i + 1]) / 6.0,
                    0.5 * second[i],
                    (second[i + 1] - second[i]) / (6.0 * h[i]),
                ]
            })
            .collect();
        Some(Self { knots: knots.to_vec(), cubics })
    }

    pub(crate) fn first(&self) -> f64 {
        self.knots[0]
    }

    pub(crate) fn last(&self) -> f64 {
        self.knots[self.knots.len() - 1]
    }

    /// Value at `x`; outside the knots the straight continuation.
    pub(crate) fn at(&self, x: f64) -> f64 {
        // Counting without a branch beats a search for so few knots.
        let inner = &self.knots[1..self.knots.len() - 1];
        let interval = inner.iter().map(|&knot| usize::from(x >= knot)).sum::<usize>();
        let [c0, c1, c2, c3] = self.cubics[interval];
        let inside = x.clamp(self.first(), self.last());
        let t = inside - self.knots[interval];
        let value = c0 + t * (c1 + t * (c2 + t * c3));
        if x == inside { value } else { value + (x - inside) * (c1 + t * (2.0 * c2 + t * 3.0 * c3)) }
    }

    /// Slope at the last knot, with which the spline goes on beyond it.
    pub(crate) fn last_slope(&self) -> f64 {
        let interval = self.cubics.len() - 1;
        let [_, c1, c2, c3] = self.cubics[interval];
        let t = self.last() - self.knots[interval];
        c1 + t * (2.0 * c2 + t * 3.0 * c3)
    }
}

#[cfg(test)]
mod tests {
    use super::Spline;

    #[test]
    fn a_cubic_is_reproduced_and_continued_straight() {
        // y = x³ − 2x.
        let cubic = |x: f64| x.powi(3) - 2.0 * x;
        let knots = [0.0, 0.5, 1.3, 2.0, 2.2, 3.0];
        let spline = Spline::new(&knots, &knots.map(cubic)).unwrap();
        for x in [0.0, 0.2, 0.5, 1.0, 2.1, 2.7, 3.0] {
            assert!((spline.at(x) - cubic(x)).abs() < 1e-13, "{x}");
        }
        assert!((spline.at(4.0) - (cubic(3.0) + 25.0)).abs() < 1e-12);
        assert!((spline.at(-1.0) - 2.0).abs() < 1e-12);
        assert!((spline.last_slope() - 25.0).abs() < 1e-12);
    }

    #[test]
    fn the_error_falls_with_the_fourth_power_up_to_the_ends() {
        let error = |n: usize| {
            let knots: Vec<f64> = (0..n).map(|i| i as f64 / (n - 1) as f64).collect();
            let values: Vec<f64> = knots.iter().map(|x| (3.0 * x).sin()).collect();
            let spline = Spline::new(&knots, &values).unwrap();
            (0..=1000)
                .map(|i| f64::from(i) / 1000.0)
                .map(|x| (spline.at(x) - (3.0 * x).sin()).abs())
                .fold(0.0, f64::max)
        };
        let order = (error(41) / error(81)).log2();
        assert!((order - 4.0).abs() < 0.3, "{order}");
    }

    #[test]
    fn unusable_points_are_refused() {
        assert!(Spline::new(&[0.0, 1.0, 2.0], &[0.0; 3]).is_none());
        assert!(Spline::new(&[0.0, 1.0, 1.0, 2.0], &[0.0; 4]).is_none());
        assert!(Spline::new(&[0.0, 1.0, 2.0, 3.0], &[0.0, f64::NAN, 0.0, 0.0]).is_none());
    }
}
