//! Eigenvalues and eigenvectors of a symmetric tridiagonal matrix.

/// Most iterations for one eigenvalue; three are typical.
const ITERATIONS: usize = 60;

/// Eigenvalues of the matrix with `diagonal` and `off` (one shorter), and the eigenvectors as columns of a matrix stored
/// by rows; none if the iteration does not end.
///
/// # Source
/// The implicit QL iteration; Parlett, The Symmetric Eigenvalue Problem, 1980.
pub(crate) fn eigen(diagonal: &[f64], off: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
    let n = diagonal.len();
    let mut d = diagonal.to_vec();
    let mut e: Vec<f64> = off[..n - 1].to_vec();
    e.push(0.0);
    let mut z = vec![0.0; n * n];
    for i in 0..n {
        z[i * n + i] = 1.0;
    }
    for l in 0..n {
        let mut iteration = 0;
        loop {
            let mut m = l;
            while m + 1 < n && e[m].abs() > f64::EPSILON * (d[m].abs() + d[m + 1].abs()) {
                m += 1;
            }
            if m == l {
                break;
            }
            if iteration == ITERATIONS {
                return None;
            }
            iteration += 1;
            let mut g = (d[l + 1] - d[l]) / (2.0 * e[l]);
            let mut r = g.hypot(1.0);
            g = d[m] - d[l] + e[l] / (g + r.copysign(g));
            let (mut sine, mut cosine, mut p) = (1.0, 1.0, 0.0);
            let mut is_split = false;
            for i in (l..m).rev() {
                let f = sine * e[i];
                let b = cosine * e[i];
                r = f.hypot(g);
                e[i + 1] = r;
                if r == 0.0 {
                    d[i + 1] -= p;
                    e[m] = 0.0;
                    is_split = true;
                    break;
                }
                sine = f / r;
                cosine = g / r;
                g = d[i + 1] - p;
                r = (d[i] - g) * sine + 2.0 * cosine * b;
                p = sine * r;
                d[i + 1] = g + p;
                g = cosine * r - b;
                for row in z.chunks_exact_mut(n) {
                    let f = row[i + 1];
                    row[i + 1] = sine * row[i] + cosine * f;
                    row[i] = cosine * row[i] - sine * f;
                }
            }
            if !is_split {
                d[l] -= p;
                e[l] = g;
                e[m] = 0.0;
            }
        }
    }
    Some((d, z))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_string_of_masses_has_known_frequencies() {
        let n = 12;
        let (values, vectors) = eigen(&vec![2.0; n], &vec![-1.0; n - 1]).unwrap();
        let mut sorted = values.clone();
        sorted.sort_by(f64::total_cmp);
        for (k, value) in sorted.iter().enumerate() {
            let exact = 2.0 - 2.0 * (std::f64::consts::PI * (k + 1) as f64 / (n + 1) as f64).cos();
            assert!((value - exact).abs() < 1e-13);
        }
        // A z = λ z for the first of them.
        let column: Vec<f64> = (0..n).map(|i| vectors[i * n]).collect();
        for i in 0..n {
            let left = if i > 0 { column[i - 1] } else { 0.0 };
            let right = if i + 1 < n { column[i + 1] } else { 0.0 };
            assert!((2.0 * column[i] - left - right - values[0] * column[i]).abs() < 1e-13);
        }
    }
}
