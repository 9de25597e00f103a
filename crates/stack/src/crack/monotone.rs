//! A cubic through points that rises wherever they do.

/// Value at `x` of the monotone cubic through the points; `x` between the first and the last.
///
/// Slopes are weighted harmonic means of the neighbouring secants (Fritsch and Butland, A method for constructing local
/// monotone piecewise cubic interpolants, 1984), three-point ones at the ends.
pub(super) fn monotone_cubic<const N: usize>(points: &[[f64; 2]; N], x: f64) -> f64 {
    let upper = points.iter().position(|point| point[0] >= x).unwrap_or(N - 1).max(1);
    let ([x0, y0], [x1, y1]) = (points[upper - 1], points[upper]);
    let (width, t) = (x1 - x0, (x - x0) / (x1 - x0));
    let (d0, d1) = (slope(points, upper - 1) * width, slope(points, upper) * width);
    let s = 1.0 - t;
    s * s * ((1.0 + 2.0 * t) * y0 + t * d0) + t * t * ((1.0 + 2.0 * s) * y1 - s * d1)
}

/// Width and slope of the secant from point `i` to the next.
fn secant(points: &[[f64; 2]], i: usize) -> (f64, f64) {
    let width = points[i + 1][0] - points[i][0];
    (width, (points[i + 1][1] - points[i][1]) / width)
}

fn slope(points: &[[f64; 2]], i: usize) -> f64 {
    let last = points.len() - 1;
    if i == 0 {
        return end_slope(secant(points, 0), secant(points, 1));
    }
    if i == last {
        return end_slope(secant(points, last - 1), secant(points, last - 2));
    }
    let ((h0, s0), (h1, s1)) = (secant(points, i - 1), secant(points, i));
    if s0 * s1 <= 0.0 {
        return 0.0;
    }
    let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
    (w0 + w1) / (w0 / s0 + w1 / s1)
}

/// Slope at an end from the secant there and the next one, kept from overshooting.
fn end_slope((h0, s0): (f64, f64), (h1, s1): (f64, f64)) -> f64 {
    let slope = ((2.0 * h0 + h1) * s0 - h0 * s1) / (h0 + h1);
    if slope * s0 <= 0.0 {
        0.0
    } else if s0 * s1 <= 0.0 && slope.abs() > 3.0 * s0.abs() {
        3.0 * s0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::monotone_cubic;

    const STEPS: [[f64; 2]; 5] = [[0.0, 0.0], [1.0, 0.1], [1.5, 2.0], [3.0, 2.1], [3.2, 9.0]];

    #[test]
    fn it_passes_through_the_points_and_rises_between_them() {
        for [x, y] in STEPS {
            assert!((monotone_cubic(&STEPS, x) - y).abs() < 1e-14, "at {x}");
        }
        let values: Vec<f64> = (0..=320).map(|i| monotone_cubic(&STEPS, f64::from(i) / 100.0)).collect();
        assert!(values.windows(2).all(|pair| pair[1] >= pair[0] - 1e-14));
    }

    #[test]
    fn a_straight_line_stays_one() {
        let line = [[0.0, 1.0], [0.3, 1.6], [1.0, 3.0]];
        assert!((monotone_cubic(&line, 0.77) - 2.54).abs() < 1e-14);
    }
}
