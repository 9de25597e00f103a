//! Lagrange polynomials on Gauss–Lobatto points: the shape functions of one spectral element on [−1, 1].

use crate::error::LightError;

/// Least polynomial order of an element.
pub(crate) const LEAST_ORDER: usize = 2;
/// Greatest polynomial order of an element; beyond it rounding in the stiffness outweighs the gain.
pub(crate) const GREATEST_ORDER: usize = 12;

/// Reference element of one order.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Basis {
    pub(crate) order: usize,
    /// Gauss–Lobatto points, rising from −1 to 1; `len = order + 1`.
    pub(crate) points: Vec<f64>,
    pub(crate) weights: Vec<f64>,
    /// `∫ l_i' l_j' dξ`, row by row, `len = (order + 1)²`. The quadrature is exact for it.
    pub(crate) stiffness: Vec<f64>,
    /// `∫ ξ l_i' l_j' dξ`, likewise.
    pub(crate) stiffness_first_moment: Vec<f64>,
    /// Barycentric weights of the points.
    barycentric: Vec<f64>,
}

/// `P_n` and P_{n−1} at x.
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut previous, mut current) = (1.0, x);
    for k in 2..=n {
        let k = k as f64;
        (previous, current) = (current, ((2.0 * k - 1.0) * x * current - (k - 1.0) * previous) / k);
    }
    (current, previous)
}

/// The iteration for the points converges quadratically from Chebyshev points.
const POINT_STEPS: usize = 50;

impl Basis {
    pub(crate) fn new(order: usize) -> Result<Self, LightError> {
        if !(LEAST_ORDER..=GREATEST_ORDER).contains(&order) {
            return Err(LightError::Number {
                what: "element order",
                value: order as f64,
                least: LEAST_ORDER as f64,
                greatest: GREATEST_ORDER as f64,
            });
        }
        let count = order + 1;
        let n = order as f64;
        let mut points = Vec::with_capacity(count);
        let mut weights = Vec::with_capacity(count);
        for i in 0..count {
            let mut x = -(std::f64::consts::PI * i as f64 / n).cos();
            for _ in 0..POINT_STEPS {
                let (current, previous) = legendre(order, x);
                let step = (x * current - previous) / (current * (n + 1.0));
                x -= step;
                if step.abs() < f64::EPSILON {
                    break;
                }
            }
            points.push(x);
            weights.push(2.0 / (n * (n + 1.0) * legendre(order, x).0.powi(2)));
        }
        let barycentric: Vec<f64> = (0..count)
            .map(|i| (0..count).filter(|&j| j != i).map(|j| points[i] - points[j]).product::<f64>().recip())
            .collect();
        let mut derivative = vec![0.0; count * count];
        for i in 0..count {
            let mut diagonal = 0.0;
            for j in (0..count).filter(|&j| j != i) {
                let value = barycentric[j] / (barycentric[i] * (points[i] - points[j]));
                derivative[i * count + j] = value;
                diagonal -= value;
            }
            derivative[i * count + i] = diagonal;
        }
        let moment = |power: i32| {
            let mut matrix = vec![0.0; count * count];
            for i in 0..count {
                for j in 0..count {
                    matrix[i * count + j] = (0..count)
                        .map(|g| {
                            weights[g]
                                * points[g].powi(power)
                                * derivative[g * count + i]
                                * derivative[g * count + j]
                        })
                        .sum();
                }
            }
            matrix
        };
        let (stiffness, stiffness_first_moment) = (moment(0), moment(1));
        Ok(Self { order, points, weights, stiffness, stiffness_first_moment, barycentric })
    }

    /// Values of all shape functions at `xi` in [−1, 1], written to `values` (`len = order + 1`).
    pub(crate) fn shape_functions(&self, xi: f64, values: &mut [f64]) {
        let mut sum = 0.0;
        for (i, ((value, point), weight)) in
            values.iter_mut().zip(&self.points).zip(&self.barycentric).enumerate()
        {
            let distance = xi - point;
            if distance == 0.0 {
                values.fill(0.0);
                values[i] = 1.0;
                return;
            }
            *value = weight / distance;
            sum += *value;
        }
        for value in values {
            *value /= sum;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Basis, GREATEST_ORDER, LEAST_ORDER};

    #[test]
    fn quadrature_is_exact_up_to_degree_2p_minus_1() {
        for order in LEAST_ORDER..=GREATEST_ORDER {
            let basis = Basis::new(order).unwrap();
            for degree in 0..2 * order {
                let sum: f64 =
                    basis.points.iter().zip(&basis.weights).map(|(x, w)| w * x.powf(degree as f64)).sum();
                let exact = if degree % 2 == 0 { 2.0 / (degree as f64 + 1.0) } else { 0.0 };
                assert!((sum - exact).abs() < 1e-13, "order {order}, degree {degree}: {sum}");
            }
        }
    }

    #[test]
    fn stiffness_matches_a_polynomial() {
        // F = ξ²: ∫ F'² = 8/3, ∫ ξ F'² = 0; F = ξ + ξ²: ∫ ξ F'² = ∫ 4ξ² = 8/3.
        let basis = Basis::new(5).unwrap();
        let energy = |matrix: &[f64], f: &dyn Fn(f64) -> f64| {
            let n = basis.points.len();
            (0..n * n).map(|k| matrix[k] * f(basis.points[k / n]) * f(basis.points[k % n])).sum::<f64>()
        };
        assert!((energy(&basis.stiffness, &|x| x * x) - 8.0 / 3.0).abs() < 1e-13);
        assert!(energy(&basis.stiffness_first_moment, &|x| x * x).abs() < 1e-13);
        assert!((energy(&basis.stiffness_first_moment, &|x| x + x * x) - 8.0 / 3.0).abs() < 1e-13);
    }

    #[test]
    fn shape_functions_interpolate() {
        let basis = Basis::new(7).unwrap();
        let mut values = [0.0; 8];
        for xi in [-1.0, -0.3, 0.123, 1.0] {
            basis.shape_functions(xi, &mut values);
            let cube: f64 = values.iter().zip(&basis.points).map(|(v, x)| v * x.powi(7)).sum();
            assert!((cube - xi.powi(7)).abs() < 1e-14);
        }
    }

    #[test]
    fn orders_out_of_range_are_refused() {
        assert!(Basis::new(1).is_err());
        assert!(Basis::new(13).is_err());
    }
}
