//! The quartic element on the five Gauss–Lobatto points.
//!
//! The points serve as nodes *and* as quadrature points (weights 1/10, 49/90, 32/45, exact to degree 7). A
//! nodal value is then the function at a quadrature point, the mass-like part of the tangent is diagonal, and
//! the order of convergence at the element ends, h⁸, is that of exact integration.

/// Nodes of one element.
pub(crate) const NODES: usize = 5;

/// √(3/7), the inner node.
const INNER: f64 = 0.654_653_670_707_977_1;

/// Positions of the nodes in −1..1.
pub(crate) const POINT: [f64; NODES] = [-1.0, -INNER, 0.0, INNER, 1.0];

/// Quadrature weights on −1..1.
pub(crate) const WEIGHT: [f64; NODES] = [0.1, 49.0 / 90.0, 32.0 / 45.0, 49.0 / 90.0, 0.1];

/// `SLOPE[g][i]`: derivative of the shape function of node i at point g.
pub(crate) const SLOPE: [[f64; NODES]; NODES] = slopes();

/// `INTEGRAL[i][g]`: weight of the value at point g in the integral from −1 to point i.
pub(crate) const INTEGRAL: [[f64; NODES]; NODES] = integrals();

/// `MODE[k]` dotted with nodal values gives the Legendre coefficient of degree 3 (k = 0) or 4 (k = 1).
pub(crate) const MODE: [[f64; NODES]; 2] = modes();

/// Powers of the shape function of node i, lowest first.
const fn powers(i: usize) -> [f64; NODES] {
    let mut poly = [1.0, 0.0, 0.0, 0.0, 0.0];
    let mut j = 0;
    while j < NODES {
        if j != i {
            let gap = POINT[i] - POINT[j];
            let mut next = [0.0; NODES];
            let mut k = 0;
            while k < NODES {
                next[k] -= poly[k] * POINT[j] / gap;
                if k + 1 < NODES {
                    next[k + 1] += poly[k] / gap;
                }
                k += 1;
            }
            poly = next;
        }
        j += 1;
    }
    poly
}

const fn slopes() -> [[f64; NODES]; NODES] {
    let mut table = [[0.0; NODES]; NODES];
    let mut i = 0;
    while i < NODES {
        let poly = powers(i);
        let mut g = 0;
        while g < NODES {
            let mut sum = 0.0;
            let mut k = NODES - 1;
            while k > 0 {
                sum = sum * POINT[g] + k as f64 * poly[k];
                k -= 1;
            }
            table[g][i] = sum;
            g += 1;
        }
        i += 1;
    }
    table
}

const fn integrals() -> [[f64; NODES]; NODES] {
    let mut table = [[0.0; NODES]; NODES];
    let mut g = 0;
    while g < NODES {
        let poly = powers(g);
        let mut i = 0;
        while i < NODES {
            let mut upper = 0.0;
            let mut lower = 0.0;
            let mut k = NODES;
            while k > 0 {
                k -= 1;
                let term = poly[k] / (k + 1) as f64;
                upper = (upper + term) * POINT[i];
                lower = -(lower + term);
            }
            table[i][g] = upper - lower;
            i += 1;
        }
        g += 1;
    }
    table
}

const fn modes() -> [[f64; NODES]; 2] {
    let mut table = [[0.0; NODES]; 2];
    let mut i = 0;
    while i < NODES {
        let x = POINT[i];
        let cubic = x * (5.0 * x * x - 3.0) / 2.0;
        let quartic = (35.0 * x * x * x * x - 30.0 * x * x + 3.0) / 8.0;
        // The discrete norms: 2/7 for degree 3, and 2/4 for degree 4, where the rule is no longer exact.
        table[0][i] = WEIGHT[i] * cubic * 3.5;
        table[1][i] = WEIGHT[i] * quartic * 2.0;
        i += 1;
    }
    table
}

/// Values of the five shape functions at `xi` in −1..1.
pub(crate) fn shape_values(xi: f64) -> [f64; NODES] {
    std::array::from_fn(|i| {
        (0..NODES).filter(|&j| j != i).map(|j| (xi - POINT[j]) / (POINT[i] - POINT[j])).product()
    })
}

/// Integrals of the five shape functions from −1 to `xi`.
pub(crate) fn shape_integrals(xi: f64) -> [f64; NODES] {
    std::array::from_fn(|i| {
        let poly = powers(i);
        let primitive = |x: f64| (0..NODES).rev().fold(0.0, |sum, k| (sum + poly[k] / (k + 1) as f64) * x);
        primitive(xi) - primitive(-1.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_exact_for_a_quartic() {
        // f = x⁴ − 2x³ + 3x
        let value = |x: f64| x.powi(4) - 2.0 * x.powi(3) + 3.0 * x;
        let slope = |x: f64| 4.0 * x.powi(3) - 6.0 * x * x + 3.0;
        let primitive = |x: f64| x.powi(5) / 5.0 - x.powi(4) / 2.0 + 1.5 * x * x;
        for g in 0..NODES {
            let derivative: f64 = (0..NODES).map(|i| SLOPE[g][i] * value(POINT[i])).sum();
            assert!((derivative - slope(POINT[g])).abs() < 1e-13);
            let integral: f64 = (0..NODES).map(|i| INTEGRAL[g][i] * value(POINT[i])).sum();
            assert!((integral - primitive(POINT[g]) + primitive(-1.0)).abs() < 1e-14);
        }
        let xi = 0.37;
        let interpolated: f64 = shape_values(xi).iter().zip(POINT).map(|(n, x)| n * value(x)).sum();
        assert!((interpolated - value(xi)).abs() < 1e-14);
        let integral: f64 = shape_integrals(xi).iter().zip(POINT).map(|(n, x)| n * value(x)).sum();
        assert!((integral - primitive(xi) + primitive(-1.0)).abs() < 1e-14);
        // x⁴ = 8/35 P4 + 4/7 P2 + 1/5 and x³ = 2/5 P3 + 3/5 P1
        let quartic: f64 = MODE[1].iter().zip(POINT).map(|(m, x)| m * value(x)).sum();
        let cubic: f64 = MODE[0].iter().zip(POINT).map(|(m, x)| m * value(x)).sum();
        assert!((quartic - 8.0 / 35.0).abs() < 1e-14 && (cubic + 0.8).abs() < 1e-14);
    }

    #[test]
    fn the_last_row_of_the_integral_is_the_weights() {
        for g in 0..NODES {
            assert!((INTEGRAL[NODES - 1][g] - WEIGHT[g]).abs() < 1e-15);
        }
    }
}
