//! The linear system of a Newton step: a chain of 3×3 blocks, bordered by the force.

use pulp::{Arch, Simd, WithSimd};

use super::element::Tangent;
use super::rod::{Pose, Rod};
use super::vector::{Quat, Vec3};

type Mat3 = [[f64; 3]; 3];
/// The columns of the force and that of the gradient.
type Border = [[f64; 4]; 3];

/// An eliminated block: its inverse, what couples it to those eliminated later, and its borders.
#[derive(Debug, Clone, Copy, Default)]
struct Block {
    inverse: Mat3,
    /// D⁻¹ times the coupling to the node before (middle nodes only).
    before: Mat3,
    /// D⁻¹ times the coupling to the node after.
    after: Mat3,
    /// D⁻¹ times the border columns.
    border: Border,
}

/// Which rotations and forces take part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Motion {
    /// All of them.
    #[default]
    Space,
    /// Rotations about z and forces in the plane only.
    Plane,
}

/// Workspace of the assembled system.
#[derive(Debug, Clone, Default)]
pub(crate) struct System {
    tangents: Vec<Tangent>,
    middles: Vec<Block>,
    ends: Vec<Block>,
    /// Second derivatives by the force and the closure error, after elimination.
    schur: [[f64; 4]; 4],
    /// Value of the Lagrangian without the chord's part.
    pub(crate) value: f64,
    /// Derivative of the Lagrangian by the force: chord wanted minus chord reached, in µm.
    pub(crate) closure: Vec3,
    /// Gradient at the two ends before it is masked by the supports.
    pub(crate) end_gradient: [Vec3; 2],
    /// Mean of the diagonal.
    pub(crate) mean: f64,
    /// Largest entry of the gradient by the free rotations.
    pub(crate) residual: f64,
    /// Negative pivots of the last factorisation.
    pub(crate) negative: usize,
    motion: Motion,
    is_force_given: bool,
}

/// Inverse of a symmetric matrix by `LDLᵀ`, and the number of negative pivots.
#[inline(always)]
fn invert(m: &Mat3) -> (Mat3, usize) {
    let guard = |d: f64| if d.abs() < 1e-280 { 1e-280 } else { d };
    let d0 = guard(m[0][0]);
    let i0 = 1.0 / d0;
    let (l10, l20) = (m[1][0] * i0, m[2][0] * i0);
    let d1 = guard(m[1][1] - l10 * m[1][0]);
    let i1 = 1.0 / d1;
    let x = m[2][1] - l20 * m[1][0];
    let l21 = x * i1;
    let d2 = guard(m[2][2] - l20 * m[2][0] - l21 * x);
    let i2 = 1.0 / d2;
    let negative = usize::from(d0 < 0.0) + usize::from(d1 < 0.0) + usize::from(d2 < 0.0);
    // L⁻¹ has the rows (1), (−l10, 1), (l10 l21 − l20, −l21, 1).
    let a = l10 * l21 - l20;
    let inverse = [
        [i0 + l10 * l10 * i1 + a * a * i2, -l10 * i1 - a * l21 * i2, a * i2],
        [-l10 * i1 - a * l21 * i2, i1 + l21 * l21 * i2, -l21 * i2],
        [a * i2, -l21 * i2, i2],
    ];
    (inverse, negative)
}

#[inline(always)]
fn times<const N: usize>(m: &Mat3, x: &[[f64; N]; 3]) -> [[f64; N]; 3] {
    std::array::from_fn(|i| {
        std::array::from_fn(|j| m[i][0] * x[0][j] + m[i][1] * x[1][j] + m[i][2] * x[2][j])
    })
}

/// a − mᵀ x
#[inline(always)]
fn minus_transposed<const N: usize>(a: &mut [[f64; N]; 3], m: &Mat3, x: &[[f64; N]; 3]) {
    for i in 0..3 {
        for j in 0..N {
            a[i][j] -= m[0][i] * x[0][j] + m[1][i] * x[1][j] + m[2][i] * x[2][j];
        }
    }
}

#[inline(always)]
fn apply(m: &Mat3, x: Vec3) -> Vec3 {
    std::array::from_fn(|i| m[i][0] * x[0] + m[i][1] * x[1] + m[i][2] * x[2])
}

#[inline(always)]
fn apply_transposed(m: &Mat3, x: Vec3) -> Vec3 {
    std::array::from_fn(|i| m[0][i] * x[0] + m[1][i] * x[1] + m[2][i] * x[2])
}

/// Rows `i0..` and columns `j0..` of an element's matrix.
#[inline(always)]
fn part(t: &Tangent, i0: usize, j0: usize) -> Mat3 {
    std::array::from_fn(|i| std::array::from_fn(|j| t.k[i0 + i][j0 + j]))
}

#[inline(always)]
fn border(t: &Tangent, i0: usize) -> Border {
    std::array::from_fn(|i| [t.b[0][i0 + i], t.b[1][i0 + i], t.b[2][i0 + i], t.g[i0 + i]])
}

#[inline(always)]
fn eliminate(schur: &mut [[f64; 4]; 4], columns: &Border, solved: &Border) {
    for i in 0..4 {
        for j in 0..4 {
            schur[i][j] -=
                columns[0][i] * solved[0][j] + columns[1][i] * solved[1][j] + columns[2][i] * solved[2][j];
        }
    }
}

fn hold(t: &mut Tangent, j: usize) {
    for k in 0..9 {
        t.k[j][k] = 0.0;
        t.k[k][j] = 0.0;
    }
    t.k[j][j] = 1.0;
    t.g[j] = 0.0;
    for b in &mut t.b {
        b[j] = 0.0;
    }
}

/// All elements at once, compiled for the widest vectors of the machine.
struct Evaluate<'a> {
    rod: &'a Rod,
    pose: &'a Pose,
    tangents: &'a mut [Tangent],
}

impl WithSimd for Evaluate<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _simd: S) {
        for (index, (element, tangent)) in self.rod.elements.iter().zip(self.tangents).enumerate() {
            let nodes = Rod::nodes(&self.pose.frames, index);
            element.tangent(&self.rod.section, nodes, self.pose.force, tangent);
        }
    }
}

impl System {
    /// Evaluates all elements at a pose; `chord` is the wanted vector from end to end.
    pub(crate) fn assemble(&mut self, rod: &Rod, pose: &Pose, chord: Vec3, motion: Motion) {
        let count = rod.elements.len();
        self.tangents.resize(count, Tangent::ZERO);
        self.middles.resize(count, Block::default());
        self.ends.resize(count + 1, Block::default());
        self.motion = motion;
        self.is_force_given = rod.is_force_given;
        let (mut value, mut closure, mut trace) = (0.0, chord, 0.0);
        Arch::new().dispatch(Evaluate { rod, pose, tangents: &mut self.tangents });
        for tangent in &self.tangents {
            value += tangent.value;
            for i in 0..3 {
                closure[i] += tangent.d[i];
            }
            trace += (0..9).map(|j| tangent.k[j][j]).sum::<f64>();
        }
        self.mean = trace.abs() / (6 * count) as f64;
        self.value = value;
        self.closure = closure;
        let (first, last) = (&self.tangents[0], &self.tangents[count - 1]);
        self.end_gradient = [[first.g[0], first.g[1], first.g[2]], [last.g[6], last.g[7], last.g[8]]];
        for axis in 0..3 {
            if rod.held[0][axis] {
                hold(&mut self.tangents[0], axis);
            }
            if rod.held[1][axis] {
                hold(&mut self.tangents[count - 1], 6 + axis);
            }
        }
        if motion == Motion::Plane {
            self.closure[2] = 0.0;
            for t in &mut self.tangents {
                for j in [0, 1, 3, 4, 6, 7] {
                    hold(t, j);
                }
                t.b[2] = [0.0; 9];
                t.c[2] = [0.0, 0.0, -1.0];
                t.c[0][2] = 0.0;
                t.c[1][2] = 0.0;
            }
        }
        let mut residual = 0.0_f64;
        let mut carried = [0.0; 3];
        for t in &self.tangents {
            for axis in 0..3 {
                residual = residual.max((carried[axis] + t.g[axis]).abs()).max(t.g[3 + axis].abs());
                carried[axis] = t.g[6 + axis];
            }
        }
        self.residual = carried.iter().fold(residual, |m, g| m.max(g.abs()));
    }

    /// Factorises with `shift` added to the diagonal of the rotations.
    pub(crate) fn factor(&mut self, shift: f64) {
        let mut schur = [[0.0; 4]; 4];
        let mut negative = 0;
        let mut here = [[0.0; 3]; 3];
        let mut here_border: Border = [[0.0; 4]; 3];
        let shifted = |m: &mut Mat3| {
            for (i, row) in m.iter_mut().enumerate() {
                row[i] += shift;
            }
        };
        for (index, t) in self.tangents.iter().enumerate() {
            for i in 0..3 {
                for j in 0..3 {
                    schur[i][j] += t.c[i][j];
                }
            }
            // The middle node.
            let mut middle = part(t, 3, 3);
            shifted(&mut middle);
            let (inverse, count) = invert(&middle);
            negative += count;
            let (to_start, to_end, columns) = (part(t, 3, 0), part(t, 3, 6), border(t, 3));
            let block = Block {
                inverse,
                before: times(&inverse, &to_start),
                after: times(&inverse, &to_end),
                border: times(&inverse, &columns),
            };
            eliminate(&mut schur, &columns, &block.border);
            self.middles[index] = block;
            let mut start = part(t, 0, 0);
            minus_transposed(&mut start, &to_start, &block.before);
            let mut coupling = part(t, 0, 6);
            minus_transposed(&mut coupling, &to_start, &block.after);
            let mut end = part(t, 6, 6);
            minus_transposed(&mut end, &to_end, &block.after);
            let (mut start_border, mut end_border) = (border(t, 0), border(t, 6));
            minus_transposed(&mut start_border, &to_start, &block.border);
            minus_transposed(&mut end_border, &to_end, &block.border);
            // The start node.
            for i in 0..3 {
                for j in 0..3 {
                    here[i][j] += start[i][j];
                }
                for j in 0..4 {
                    here_border[i][j] += start_border[i][j];
                }
            }
            shifted(&mut here);
            let (inverse, count) = invert(&here);
            negative += count;
            let block = Block {
                inverse,
                before: [[0.0; 3]; 3],
                after: times(&inverse, &coupling),
                border: times(&inverse, &here_border),
            };
            eliminate(&mut schur, &here_border, &block.border);
            self.ends[index] = block;
            minus_transposed(&mut end, &coupling, &block.after);
            minus_transposed(&mut end_border, &coupling, &block.border);
            here = end;
            here_border = end_border;
        }
        shifted(&mut here);
        let (inverse, count) = invert(&here);
        negative += count;
        let block = Block {
            inverse,
            before: [[0.0; 3]; 3],
            after: [[0.0; 3]; 3],
            border: times(&inverse, &here_border),
        };
        eliminate(&mut schur, &here_border, &block.border);
        if let Some(last) = self.ends.last_mut() {
            *last = block;
        }
        if !self.is_force_given {
            if self.motion == Motion::Plane {
                schur[2][2] = -1.0;
            }
            for i in 0..3 {
                schur[i][3] += self.closure[i];
            }
            let corner: Mat3 = std::array::from_fn(|i| std::array::from_fn(|j| schur[i][j]));
            negative += invert(&corner).1;
        }
        self.schur = schur;
        self.negative = negative;
    }

    /// Factorises with the first shift of a geometric sequence, from `first` of the mean diagonal, that leaves no unstable
    /// direction; returns it.
    pub(crate) fn stabilise(&mut self, first: f64, growth: f64) -> f64 {
        const MOST: usize = 48;
        let mut shift = first * self.mean;
        for _ in 0..MOST {
            self.factor(shift);
            if self.unstable() == 0 {
                break;
            }
            shift *= growth;
        }
        shift
    }

    /// Negative pivots beyond those of the closing conditions: unstable directions.
    pub(crate) fn unstable(&self) -> usize {
        if self.is_force_given { self.negative } else { self.negative.abs_diff(3) }
    }

    /// The change of force that changes the reduced closure by `change`.
    pub(crate) fn force_for(&self, change: Vec3) -> Vec3 {
        let corner: Mat3 = std::array::from_fn(|i| std::array::from_fn(|j| self.schur[i][j]));
        apply(&invert(&corner).0, change)
    }

    /// The force of the Newton step.
    pub(crate) fn newton_force(&self) -> Vec3 {
        if self.is_force_given {
            return [0.0; 3];
        }
        self.force_for([-self.schur[0][3], -self.schur[1][3], -self.schur[2][3]])
    }

    /// Second derivatives by the force and closure error when the rotations relax.
    pub(crate) fn reduced(&self) -> (Mat3, Vec3) {
        let s = &self.schur;
        (std::array::from_fn(|i| [s[i][0], s[i][1], s[i][2]]), [s[0][3], s[1][3], s[2][3]])
    }

    /// Rotations −K⁻¹ (B f + γ g) for the weights (f, γ) of the border columns.
    pub(crate) fn rotations(&self, weights: [f64; 4], out: &mut Vec<Vec3>) {
        let count = self.middles.len();
        out.resize(2 * count + 1, [0.0; 3]);
        let load = |b: &Border| -> Vec3 {
            std::array::from_fn(|i| {
                -(b[i][0] * weights[0] + b[i][1] * weights[1] + b[i][2] * weights[2] + b[i][3] * weights[3])
            })
        };
        let mut after = load(&self.ends[count].border);
        out[2 * count] = after;
        for index in (0..count).rev() {
            let end = &self.ends[index];
            let (l, c) = (load(&end.border), apply(&end.after, after));
            let before = [l[0] - c[0], l[1] - c[1], l[2] - c[2]];
            let middle = &self.middles[index];
            let (l, c, d) =
                (load(&middle.border), apply(&middle.before, before), apply(&middle.after, after));
            out[2 * index + 1] = [l[0] - c[0] - d[0], l[1] - c[1] - d[1], l[2] - c[2] - d[2]];
            out[2 * index] = before;
            after = before;
        }
    }

    /// Solves K x = r in place, the force being held.
    pub(crate) fn solve_band(&self, r: &mut [Vec3]) {
        let count = self.middles.len();
        // Down: the couplings are those of the eliminated blocks, D⁻¹ C.
        for index in 0..count {
            let (middle, end) = (&self.middles[index], &self.ends[index]);
            let m = r[2 * index + 1];
            let (to_start, to_end) =
                (apply_transposed(&middle.before, m), apply_transposed(&middle.after, m));
            for i in 0..3 {
                r[2 * index][i] -= to_start[i];
                r[2 * index + 2][i] -= to_end[i];
            }
            let to_end = apply_transposed(&end.after, r[2 * index]);
            for i in 0..3 {
                r[2 * index + 2][i] -= to_end[i];
            }
        }
        r[2 * count] = apply(&self.ends[count].inverse, r[2 * count]);
        for index in (0..count).rev() {
            let (middle, end) = (&self.middles[index], &self.ends[index]);
            let after = r[2 * index + 2];
            let (x, c) = (apply(&end.inverse, r[2 * index]), apply(&end.after, after));
            let before = [x[0] - c[0], x[1] - c[1], x[2] - c[2]];
            let x = apply(&middle.inverse, r[2 * index + 1]);
            let (c, d) = (apply(&middle.before, before), apply(&middle.after, after));
            r[2 * index + 1] = [x[0] - c[0] - d[0], x[1] - c[1] - d[1], x[2] - c[2] - d[2]];
            r[2 * index] = before;
        }
    }

    /// Solves the bordered system with the right-hand side (r, 0) in place; returns the force.
    pub(crate) fn solve_bordered(&self, r: &mut [Vec3], scratch: &mut Vec<Vec3>) -> Vec3 {
        let columns: [f64; 3] = std::array::from_fn(|i| {
            let mut weights = [0.0; 4];
            weights[i] = -1.0;
            self.rotations(weights, scratch);
            scratch.iter().zip(r.iter()).map(|(z, r)| z[0] * r[0] + z[1] * r[1] + z[2] * r[2]).sum()
        });
        self.solve_band(r);
        if self.is_force_given {
            return [0.0; 3];
        }
        let force = self.force_for(columns.map(|c| -c));
        self.rotations([force[0], force[1], force[2], 0.0], scratch);
        for (r, x) in r.iter_mut().zip(scratch.iter()) {
            for i in 0..3 {
                r[i] += x[i];
            }
        }
        force
    }

    /// Releases the frames of a pose to the frames of the supports.
    pub(crate) fn place_end(rod: &Rod, frames: &mut [Quat], end: Quat) {
        if rod.held[1] != super::rod::CLAMPED {
            return;
        }
        if let Some(last) = frames.last_mut() {
            let same = super::vector::dot4(*last, end) >= 0.0;
            *last = if same { end } else { end.map(|x| -x) };
        }
    }
}
