//! Modes in which the plies of a stack slide over each other.
//!
//! With A and K as in the docs of [`Wrap`](super::Wrap), A = L Lᵀ (tridiagonal, so L has two diagonals) and K = Dᵀ S D, D the
//! differences of neighbouring interfaces and S = diag(`G_i/t_i`). The columns of W = L⁻¹ Dᵀ S^½ belong to the plies; its
//! singular values are the `λ_m`, its left vectors `u_m = Lᵀ φ_m`, its right ones `v_m` the shares of the plies' shear.
//!
//! The singular values come from rotations of pairs of columns until all are at right angles (one-sided Jacobi). Taking the
//! eigenvalues of K and A instead would give `λ_1²` only to a rounding error of the largest `λ_N²`: for a thin metal film and
//! a thick, very soft interlayer that is all its digits. The rotations keep the digits of every λ, and the zero mode, a
//! common shift of all plies, does not come up.

use super::WrapError;

/// Sweeps over all pairs; ten are many.
const SWEEPS: usize = 60;
/// Columns are at right angles when the cosine between them is below this.
const RIGHT_ANGLE: f64 = 1e-15;

/// One ply in relative units: moduli over the stiffest, thickness over the total.
#[derive(Clone, Copy, Debug)]
pub(super) struct Relative {
    pub(super) thickness: f64,
    /// Along the stack.
    pub(super) modulus: f64,
    pub(super) shear: f64,
}

/// A mode, its shape scaled with φᵀAφ = 1 in relative units.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Mode {
    /// λ times the total thickness.
    pub(super) decay: f64,
    /// Strain at the interfaces per unit curvature, µm: `φ_mk c_m`.
    pub(super) strain_um: Vec<f64>,
    /// Shear of the plies per unit curvature far up a long stack's end, µm: `(φ_mi − φ_mi−1) c_m/(λ_m t_i)`.
    pub(super) shear_um: Vec<f64>,
}

/// All modes, slowest first.
///
/// * `bonded_um`: `z_k − z_n` at the interfaces.
pub(super) fn modes(plies: &[Relative], bonded_um: &[f64]) -> Result<Vec<Mode>, WrapError> {
    let factor = Factor::new(plies);
    let count = plies.len();
    let mut columns: Vec<Vec<f64>> = (0..count).map(|ply| factor.column(plies, ply)).collect();
    let mut shares = vec![vec![0.0; count]; count];
    for (ply, share) in shares.iter_mut().enumerate() {
        share[ply] = 1.0;
    }
    rotate(&mut columns, &mut shares)?;
    let weights = factor.transposed_times(bonded_um);
    let mut modes = Vec::with_capacity(count);
    for (column, share) in columns.iter().zip(&shares) {
        let decay = dot(column, column).sqrt();
        if !(decay.is_normal() && decay > 0.0) {
            return Err(WrapError::OutOfNumbers { quantity: "decay rate over the thickness", value: decay });
        }
        let u: Vec<f64> = column.iter().map(|value| value / decay).collect();
        let amount_um = -dot(&u, &weights);
        let shape = factor.solve_transposed(&u);
        // D φ = λ S^-½ v: no small difference of large numbers.
        let shear_um =
            plies.iter().zip(share).map(|(ply, v)| amount_um * v / (ply.shear * ply.thickness).sqrt());
        modes.push(Mode {
            decay,
            shear_um: shear_um.collect(),
            strain_um: shape.iter().map(|phi| phi * amount_um).collect(),
        });
    }
    modes.sort_by(|a, b| a.decay.total_cmp(&b.decay));
    Ok(modes)
}

/// L of A = L Lᵀ: its diagonal and the one below.
struct Factor {
    diagonal: Vec<f64>,
    below: Vec<f64>,
}

impl Factor {
    fn new(plies: &[Relative]) -> Self {
        let share = |ply: usize| plies.get(ply).map_or(0.0, |p| p.modulus * p.thickness);
        let (mut diagonal, mut below) = (Vec::new(), Vec::new());
        let mut taken = 0.0;
        for interface in 0..=plies.len() {
            let lower = if interface == 0 { 0.0 } else { share(interface - 1) };
            // What is left is a quarter of the ply below, at the least.
            diagonal.push(((lower + share(interface)) / 3.0 - taken).sqrt());
            if interface < plies.len() {
                let next = share(interface) / 6.0 / diagonal[interface];
                below.push(next);
                taken = next * next;
            }
        }
        Self { diagonal, below }
    }

    /// Column of L⁻¹ Dᵀ S^½.
    fn column(&self, plies: &[Relative], ply: usize) -> Vec<f64> {
        let size = (plies[ply].shear / plies[ply].thickness).sqrt();
        let mut column = vec![0.0; self.diagonal.len()];
        column[ply] = -size / self.diagonal[ply];
        for k in ply + 1..column.len() {
            let right = if k == ply + 1 { size } else { 0.0 };
            column[k] = (right - self.below[k - 1] * column[k - 1]) / self.diagonal[k];
        }
        column
    }

    /// Lᵀ times a vector.
    fn transposed_times(&self, vector: &[f64]) -> Vec<f64> {
        let next = |k: usize| self.below.get(k).map_or(0.0, |below| below * vector[k + 1]);
        (0..vector.len()).map(|k| self.diagonal[k] * vector[k] + next(k)).collect()
    }

    /// Solves Lᵀ x = u.
    fn solve_transposed(&self, u: &[f64]) -> Vec<f64> {
        let mut x = u.to_vec();
        for k in (0..x.len()).rev() {
            let next = self.below.get(k).map_or(0.0, |below| below * x[k + 1]);
            x[k] = (x[k] - next) / self.diagonal[k];
        }
        x
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Turns pairs of columns until all are at right angles; `turned` goes along.
fn rotate(columns: &mut [Vec<f64>], turned: &mut [Vec<f64>]) -> Result<(), WrapError> {
    let mut worst = 0.0;
    for _ in 0..SWEEPS {
        worst = 0.0_f64;
        for i in 1..columns.len() {
            for j in 0..i {
                let (low, high) = columns.split_at_mut(i);
                let (a, b) = (&mut low[j], &mut high[0]);
                let (aa, bb, ab) = (dot(a, a), dot(b, b), dot(a, b));
                let cosine = ab.abs() / (aa.sqrt() * bb.sqrt());
                if !cosine.is_finite() {
                    return Err(WrapError::OutOfNumbers { quantity: "product of two modes", value: cosine });
                }
                worst = worst.max(cosine);
                if cosine <= RIGHT_ANGLE {
                    continue;
                }
                let zeta = 0.5 * (bb - aa) / ab;
                let tangent = zeta.signum() / (zeta.abs() + zeta.hypot(1.0));
                let c = 1.0 / tangent.hypot(1.0);
                let s = c * tangent;
                turn(a, b, c, s);
                let (low, high) = turned.split_at_mut(i);
                turn(&mut low[j], &mut high[0], c, s);
            }
        }
        // Rounding of the products leaves a little more than the limit at times.
        if worst <= 20.0 * RIGHT_ANGLE {
            return Ok(());
        }
    }
    Err(WrapError::NotConverged { residual: worst, sweeps: SWEEPS })
}

fn turn(a: &mut [f64], b: &mut [f64], c: f64, s: f64) {
    for (a, b) in a.iter_mut().zip(b) {
        (*a, *b) = (c * *a - s * *b, s * *a + c * *b);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One ply: U = ±, so that λ² = 12 G/(E t²).
    #[test]
    fn one_ply_has_one_mode() {
        let ply = Relative { thickness: 1.0, modulus: 1.0, shear: 0.4 };
        let modes = modes(&[ply], &[-0.5, 0.5]).unwrap();
        assert_eq!(modes.len(), 1);
        assert!((modes[0].decay - 4.8_f64.sqrt()).abs() < 1e-14);
        // The modes take back the whole bonded strain at the ends.
        assert!((modes[0].strain_um[1] + 0.5).abs() < 1e-14);
        assert!((modes[0].shear_um[0] + 1.0 / 4.8_f64.sqrt()).abs() < 1e-14);
    }

    /// Shapes and rates satisfy K φ = λ² A φ, with 1e12 between the plies' stiffnesses.
    #[test]
    fn modes_solve_the_pencil() {
        let ply = |thickness, modulus| Relative { thickness, modulus, shear: 0.37 * modulus };
        let plies = [ply(1e-5, 1.0), ply(0.6, 1e-7), ply(1e-4, 0.3), ply(0.3, 1e-6), ply(0.09989, 0.01)];
        let bonded = [-0.2, -0.19999, 0.3, 0.31, 0.62, 0.7];
        let modes = modes(&plies, &bonded).unwrap();
        let mut total = [0.0; 6];
        for mode in &modes {
            let (phi, rate) = (&mode.strain_um, mode.decay * mode.decay);
            let most = phi.iter().fold(0.0, |most: f64, phi| most.max(phi.abs()));
            for k in 0..6 {
                let (mut left, mut right, mut size) = (0.0, 0.0, 0.0_f64);
                for (i, p) in plies.iter().enumerate().filter(|(i, _)| *i == k || i + 1 == k) {
                    let own = phi[k];
                    let other = phi[if i == k { k + 1 } else { k - 1 }];
                    let stiff = p.shear / p.thickness;
                    left += stiff * (own - other);
                    right += rate * p.modulus * p.thickness / 6.0 * (2.0 * own + other);
                    size = size.max(stiff.max(rate * p.modulus * p.thickness) * most);
                }
                assert!((left - right).abs() < 1e-12 * size, "{k}: {left} {right} {size}");
                total[k] += phi[k];
            }
        }
        // Together they are the bonded strain but for a uniform one.
        for k in 1..6 {
            let (jump, expected) = (total[k] - total[k - 1], bonded[k - 1] - bonded[k]);
            assert!((jump - expected).abs() < 1e-9, "{jump} {expected}");
        }
    }
}
