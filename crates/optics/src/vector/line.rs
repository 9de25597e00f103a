//! One-dimensional factors of the edge elements: shape functions, quadrature and element matrices along u and z.

use crate::basis::Basis;
use crate::complex::Complex;
use crate::error::LightError;

/// Shape functions of one order at the Gauss points of the reference element.
#[derive(Debug, Clone)]
pub(super) struct Reference {
    pub(super) order: usize,
    basis: Basis,
    /// Gauss points and weights.
    points: Vec<(f64, f64)>,
    /// At each Gauss point: nodal functions g and their slopes, Legendre polynomials e.
    nodal: Vec<Vec<f64>>,
    slope: Vec<Vec<f64>>,
    modal: Vec<Vec<f64>>,
}

/// Gauss points beyond the order.
const EXTRA_POINTS: usize = 3;

/// Legendre polynomials of degree below `count` at `x`.
pub(super) fn legendre(count: usize, x: f64) -> Vec<f64> {
    let mut values = vec![1.0; count];
    if count > 1 {
        values[1] = x;
    }
    for k in 2..count {
        let n = k as f64;
        values[k] = ((2.0 * n - 1.0) * x * values[k - 1] - (n - 1.0) * values[k - 2]) / n;
    }
    values
}

/// Points and weights of Gauss quadrature on [−1, 1].
fn gauss(count: usize) -> Vec<(f64, f64)> {
    const STEPS: usize = 30;
    let n = count as f64;
    (0..count)
        .map(|i| {
            let mut x = -(std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..STEPS {
                let values = legendre(count + 1, x);
                slope = n * (x * values[count] - values[count - 1]) / (x * x - 1.0);
                let step = values[count] / slope;
                x -= step;
                if step.abs() < f64::EPSILON {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

impl Reference {
    pub(super) fn new(order: usize) -> Result<Self, LightError> {
        let basis = Basis::new(order)?;
        let points = gauss(order + EXTRA_POINTS);
        let (mut nodal, mut slope, mut modal) = (Vec::new(), Vec::new(), Vec::new());
        for &(x, _) in &points {
            let mut values = vec![0.0; order + 1];
            basis.shape_functions(x, &mut values);
            // No Gauss point is a node, so the slope is the value times the sum of the other nodes' poles.
            slope.push(
                (0..=order)
                    .map(|i| {
                        let poles = (0..=order).filter(|&j| j != i).map(|j| (x - basis.points[j]).recip());
                        values[i] * poles.sum::<f64>()
                    })
                    .collect(),
            );
            nodal.push(values);
            modal.push(legendre(order, x));
        }
        // A point in the middle may be a node: there the slopes come from the neighbouring differences.
        for (q, &(x, _)) in points.iter().enumerate() {
            if basis.points.iter().any(|node| (node - x).abs() < NEAR_NODE) {
                slope[q] = slope_at(&basis, x);
            }
        }
        Ok(Self { order, basis, points, nodal, slope, modal })
    }

    /// Values of the nodal functions at `xi`.
    pub(super) fn nodal_at(&self, xi: f64) -> Vec<f64> {
        let mut values = vec![0.0; self.order + 1];
        self.basis.shape_functions(xi, &mut values);
        values
    }

    /// Coefficient of the Legendre polynomial `degree` in a function given at the nodes, by their own quadrature.
    pub(super) fn moment(&self, degree: usize, function: impl Fn(usize) -> Complex) -> Complex {
        let norm = degree as f64 + 0.5;
        let nodes = self.basis.points.iter().zip(&self.basis.weights).enumerate();
        nodes.fold(Complex::ZERO, |sum, (node, (&x, &weight))| {
            sum + function(node) * (legendre(degree + 1, x)[degree] * weight * norm)
        })
    }

    /// Places of the nodes in the reference element.
    pub(super) fn nodes(&self) -> &[f64] {
        &self.basis.points
    }
}

const NEAR_NODE: f64 = 1e-9;

/// Slopes of the nodal functions from their products, without poles.
fn slope_at(basis: &Basis, x: f64) -> Vec<f64> {
    let nodes = &basis.points;
    let count = nodes.len();
    (0..count)
        .map(|i| {
            let others = || (0..count).filter(move |&j| j != i);
            others()
                .map(|j| {
                    let product: f64 = others()
                        .filter(|&m| m != j)
                        .map(|m| (x - nodes[m]) / (nodes[i] - nodes[m]))
                        .product();
                    product / (nodes[i] - nodes[j])
                })
                .sum()
        })
        .collect()
}

/// One element of a line, in units of 1/k₀.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Segment {
    /// Ends on the real parameter t of the path.
    pub(super) start: f64,
    pub(super) end: f64,
    /// Coordinate at the start.
    pub(super) at: Complex,
    /// dx/dt: 1, or 1 ± i in an absorbing layer.
    pub(super) stretch: Complex,
    /// Which column or row of the section it is in.
    pub(super) cell: usize,
}

impl Segment {
    pub(super) fn is_real(&self) -> bool {
        self.stretch.im == 0.0 && self.at.im == 0.0
    }

    pub(super) fn length(&self) -> f64 {
        self.end - self.start
    }
}

/// Element matrix along one direction, `rows × columns`.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Small {
    pub(super) rows: usize,
    pub(super) columns: usize,
    pub(super) values: Vec<Complex>,
}

impl Small {
    /// `self + factor · other`.
    pub(super) fn plus(&self, factor: Complex, other: &Self) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(&a, &b)| a + factor * b).collect();
        Self { values, ..*self }
    }

    pub(super) fn times(&self, factor: Complex) -> Self {
        Self { values: self.values.iter().map(|&value| value * factor).collect(), ..*self }
    }
}

/// Products of shape functions over one element with one weight.
#[derive(Debug, Clone, Default)]
pub(super) struct Products {
    /// g'g', g'e, e e and g g.
    pub(super) slopes: Small,
    pub(super) slope_modal: Small,
    pub(super) modal: Small,
    pub(super) nodal: Small,
}

impl Products {
    /// Integrals over `segment` with the weight `weight(x)`, x the complex coordinate.
    pub(super) fn new(reference: &Reference, segment: &Segment, weight: impl Fn(Complex) -> Complex) -> Self {
        let half = 0.5 * segment.length();
        let weights: Vec<Complex> = reference
            .points
            .iter()
            .map(|&(xi, w)| weight(segment.at + segment.stretch * (half * (xi + 1.0))) * (w * half))
            .collect();
        let integrate = |a: &[Vec<f64>], b: &[Vec<f64>], scale: f64| {
            let (rows, columns) = (a[0].len(), b[0].len());
            let mut values = vec![Complex::ZERO; rows * columns];
            for ((a, b), &weight) in a.iter().zip(b).zip(&weights) {
                for (i, a) in a.iter().enumerate() {
                    for (j, b) in b.iter().enumerate() {
                        values[i * columns + j] += weight * (a * b * scale);
                    }
                }
            }
            Small { rows, columns, values }
        };
        let per_length = half.recip();
        Self {
            slopes: integrate(&reference.slope, &reference.slope, per_length * per_length),
            slope_modal: integrate(&reference.slope, &reference.modal, per_length),
            modal: integrate(&reference.modal, &reference.modal, 1.0),
            nodal: integrate(&reference.nodal, &reference.nodal, 1.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Products, Reference, Segment, gauss};
    use crate::complex::Complex;

    #[test]
    fn quadrature_is_exact_up_to_degree_2n_minus_1() {
        for count in 2..9 {
            for degree in 0..2 * count {
                let sum: f64 = gauss(count).iter().map(|(x, w)| w * x.powf(degree as f64)).sum();
                let exact = if degree % 2 == 0 { 2.0 / (degree as f64 + 1.0) } else { 0.0 };
                assert!((sum - exact).abs() < 1e-13, "{count} points, degree {degree}: {sum}");
            }
        }
    }

    #[test]
    fn matrices_of_an_element_integrate_polynomials() {
        let segment =
            Segment { start: 1.0, end: 3.0, at: Complex::real(1.0), stretch: Complex::real(1.0), cell: 0 };
        for order in 2..6 {
            let reference = Reference::new(order).unwrap();
            let products = Products::new(&reference, &segment, |x| x);
            // f = x²: ∫ x f² = ∫ x⁵ = (3⁶ − 1)/6, ∫ x f'² = ∫ 4x³ = 80.
            let f: Vec<f64> = reference.nodes().iter().map(|xi| (2.0 + xi) * (2.0 + xi)).collect();
            let energy = |small: &super::Small| {
                let n = f.len();
                (0..n * n).map(|k| small.values[k].re * f[k / n] * f[k % n]).sum::<f64>()
            };
            assert!((energy(&products.nodal) - 728.0 / 6.0).abs() < 1e-10);
            assert!((energy(&products.slopes) - 80.0).abs() < 1e-10);
            // e₀ = 1 against f': ∫ x f' = ∫ 2x² = 52/3.
            let columns = products.slope_modal.columns;
            let slope: f64 = (0..f.len()).map(|i| products.slope_modal.values[i * columns].re * f[i]).sum();
            assert!((slope - 52.0 / 3.0).abs() < 1e-10);
        }
    }
}
