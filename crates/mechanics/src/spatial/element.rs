//! One quadratic element: energy, gradient and second derivatives by the rotations of its three nodes and the force.

use super::law::Section;
use super::vector::{Quat, Vec3, axes, conjugate, cross, dot, dot4, product};

/// Unknowns of an element: rotations about the own axes of its start, middle and end node.
pub(crate) const UNKNOWNS: usize = 9;
/// Gauss points of an element.
pub(crate) const POINTS: usize = 2;

/// The rest state at a Gauss point.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Rest {
    /// Weight of the point: length at rest, in µm.
    pub(crate) weight: f64,
    /// Curvature κ₀ of the interpolated rest frames, in 1/µm.
    pub(crate) kappa: f64,
    /// `EI_c` in µN·µm².
    pub(crate) ei_in: f64,
    /// `D_s` = EA + κ₀² `EI_c` in µN.
    pub(crate) d_s: f64,
}

/// An element: length and rest state.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Element {
    pub(crate) length: f64,
    pub(crate) rest: [Rest; POINTS],
}

/// Values and slopes of the shape functions at the two Gauss points of an element from −1 to 1.
const SHAPES: [([f64; 3], [f64; 3]); POINTS] = {
    const G: f64 = 0.577_350_269_189_625_8;
    const NEAR: f64 = 0.5 * G * (G + 1.0);
    const FAR: f64 = 0.5 * G * (G - 1.0);
    const MIDDLE: f64 = 1.0 - G * G;
    [([NEAR, MIDDLE, FAR], [-G - 0.5, 2.0 * G, 0.5 - G]), ([FAR, MIDDLE, NEAR], [G - 0.5, -2.0 * G, G + 0.5])]
};

/// Energy and derivatives of an element.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Tangent {
    /// Second derivatives by the rotations.
    pub(crate) k: [[f64; UNKNOWNS]; UNKNOWNS],
    /// First derivatives by the rotations.
    pub(crate) g: [f64; UNKNOWNS],
    /// Mixed derivatives by the force and the rotations.
    pub(crate) b: [[f64; UNKNOWNS]; 3],
    /// Second derivatives by the force.
    pub(crate) c: [[f64; 3]; 3],
    /// First derivatives by the force: minus the element's chord.
    pub(crate) d: Vec3,
    /// The Lagrangian.
    pub(crate) value: f64,
}

impl Tangent {
    pub(crate) const ZERO: Self = Self {
        k: [[0.0; UNKNOWNS]; UNKNOWNS],
        g: [0.0; UNKNOWNS],
        b: [[0.0; UNKNOWNS]; 3],
        c: [[0.0; 3]; 3],
        d: [0.0; 3],
        value: 0.0,
    };
}

/// Frame, rates of rotation and strains at a Gauss point.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PointState {
    /// 1/|Q| of the interpolated quaternion.
    inverse: f64,
    /// The interpolated quaternion at unit size.
    frame: Quat,
    /// Q·Q'/|Q|².
    growth: f64,
    /// (τ, κₙ, `κ_z`) in 1/µm.
    pub(crate) kappa: Vec3,
    pub(crate) axes: [Vec3; 3],
}

#[inline(always)]
fn point_state(nodes: [Quat; 3], length: f64, point: usize) -> PointState {
    let (n, slope) = &SHAPES[point];
    let factor = 2.0 / length;
    let q: Quat = std::array::from_fn(|i| n[0] * nodes[0][i] + n[1] * nodes[1][i] + n[2] * nodes[2][i]);
    let rate: Quat = std::array::from_fn(|i| {
        factor * (slope[0] * nodes[0][i] + slope[1] * nodes[1][i] + slope[2] * nodes[2][i])
    });
    let inverse = 1.0 / dot4(q, q).sqrt();
    let frame = q.map(|x| x * inverse);
    let rho = product(conjugate(frame), rate.map(|x| x * inverse));
    PointState {
        inverse,
        frame,
        growth: rho[0],
        kappa: [2.0 * rho[1], 2.0 * rho[2], 2.0 * rho[3]],
        axes: axes(frame),
    }
}

impl Element {
    /// Curvature about b of the interpolated frames at the Gauss points: the rest curvature if they are at rest.
    pub(crate) fn curvature_in_plane(length: f64, nodes: [Quat; 3]) -> [f64; POINTS] {
        std::array::from_fn(|point| point_state(nodes, length, point).kappa[2])
    }

    /// The state at a Gauss point.
    #[inline(always)]
    pub(crate) fn state(&self, nodes: [Quat; 3], point: usize) -> PointState {
        point_state(nodes, self.length, point)
    }

    /// Strain `ε_m` of the section at a Gauss point and the stretch ratio minus 1 of the centreline.
    #[inline(always)]
    pub(crate) fn axial(rest: &Rest, section: &Section, state: &PointState, tension: f64) -> (f64, f64) {
        let strain = (tension + rest.kappa * rest.ei_in * (state.kappa[2] - rest.kappa)) / rest.d_s;
        (strain, strain - 0.5 * section.wagner * state.kappa[0] * state.kappa[0])
    }

    /// The Lagrangian and its derivatives by the force.
    #[inline]
    pub(crate) fn value(&self, section: &Section, nodes: [Quat; 3], force: Vec3) -> (f64, Vec3) {
        let (mut value, mut d) = (0.0, [0.0; 3]);
        for (point, rest) in self.rest.iter().enumerate() {
            let state = self.state(nodes, point);
            let tension = dot(force, state.axes[0]);
            let law = section.thickness(state.kappa[0], state.kappa[1]);
            let turn = state.kappa[2] - rest.kappa;
            let (strain, stretch) = Self::axial(rest, section, &state, tension);
            let energy = 0.5 * section.gj * state.kappa[0] * state.kappa[0]
                + law.energy_bend
                + law.energy_ribbon
                + 0.5 * rest.ei_in * turn * turn
                - 0.5 * strain * strain * rest.d_s
                - tension
                + 0.5 * tension * section.wagner * state.kappa[0] * state.kappa[0];
            value += rest.weight * energy;
            for (d, t) in d.iter_mut().zip(state.axes[0]) {
                *d -= rest.weight * (1.0 + stretch) * t;
            }
        }
        (value, d)
    }

    /// Adds the Lagrangian and its derivatives to `out`.
    #[inline(always)]
    pub(crate) fn tangent(&self, section: &Section, nodes: [Quat; 3], force: Vec3, out: &mut Tangent) {
        *out = Tangent::ZERO;
        for point in 0..POINTS {
            self.add_point(section, &nodes, force, point, out);
        }
    }

    /// With Q = 1 and everything in the frame of the point, a change Q∘ξ of the quaternion and Q∘η of its rate changes
    /// the rates of rotation by 2 η − 2 ρ₀ v − κ ξ₀ + κ × v (v the vector part of ξ) and the tension by
    /// 2 v·(e₁ × F); the second-order parts follow from the quotient n/|Q|² and are collected in `u`.
    #[inline(always)]
    fn add_point(&self, section: &Section, nodes: &[Quat; 3], force: Vec3, point: usize, out: &mut Tangent) {
        let rest = &self.rest[point];
        let weight = rest.weight;
        let state = point_state(*nodes, self.length, point);
        let kappa = state.kappa;
        let f = [dot(force, state.axes[0]), dot(force, state.axes[1]), dot(force, state.axes[2])];
        let tension = f[0];

        let law = section.thickness(kappa[0], kappa[1]);
        let turn = kappa[2] - rest.kappa;
        let coupling = rest.kappa * rest.ei_in;
        let strain = (tension + coupling * turn) / rest.d_s;
        let stretch = strain - 0.5 * section.wagner * kappa[0] * kappa[0];
        let wagner = section.wagner * kappa[0];
        out.value += weight
            * (0.5 * section.gj * kappa[0] * kappa[0]
                + law.energy_bend
                + law.energy_ribbon
                + 0.5 * rest.ei_in * turn * turn
                - 0.5 * strain * strain * rest.d_s
                - tension
                + 0.5 * tension * wagner * kappa[0]);
        let m = [
            weight * (law.first[0] + tension * wagner),
            weight * law.first[1],
            weight * (rest.ei_in * turn - strain * coupling),
        ];
        let e_t = -weight * (1.0 + stretch);
        // Second derivatives of the energy by (τ, κₙ, κ_z, T).
        let tt = weight * (law.second[0] + tension * section.wagner);
        let tn = weight * law.second[1];
        let nn = weight * law.second[2];
        let zz = weight * (rest.ei_in - coupling * coupling / rest.d_s);
        let z_f = -weight * coupling / rest.d_s;
        let t_f = weight * wagner;
        let f_f = -weight / rest.d_s;

        let growth = state.growth;
        let power = dot(m, kappa);
        let mixed = {
            let x = cross(kappa, m);
            [
                4.0 * growth * m[0] + 2.0 * x[0],
                4.0 * growth * m[1] + 2.0 * x[1],
                4.0 * growth * m[2] + 2.0 * x[2],
            ]
        };
        let pull = [0.0, -2.0 * f[2], 2.0 * f[1]];
        let lever = [e_t * pull[0], e_t * pull[1], e_t * pull[2]];
        let (shape, slope) = &SHAPES[point];
        let slope_factor = 2.0 / self.length;

        // Columns of ξ and η for the nine unknowns.
        let mut xi0 = [0.0; UNKNOWNS];
        let mut v = [[0.0; UNKNOWNS]; 3];
        let mut eta0 = [0.0; UNKNOWNS];
        let mut eta = [[0.0; UNKNOWNS]; 3];
        let (g_v, back) = {
            let x = cross(m, kappa);
            (
                [
                    x[0] - 2.0 * growth * m[0] + lever[0],
                    x[1] - 2.0 * growth * m[1] + lever[1],
                    x[2] - 2.0 * growth * m[2] + lever[2],
                ],
                conjugate(state.frame),
            )
        };
        for node in 0..3 {
            let r = product(back, nodes[node]);
            let n = shape[node] * state.inverse;
            let d = slope[node] * slope_factor * state.inverse;
            let columns =
                [[-r[1], r[0], r[3], -r[2]], [-r[2], -r[3], r[0], r[1]], [-r[3], r[2], -r[1], r[0]]];
            for (axis, column) in columns.iter().enumerate() {
                let j = 3 * node + axis;
                xi0[j] = 0.5 * n * column[0];
                eta0[j] = 0.5 * d * column[0];
                for i in 0..3 {
                    v[i][j] = 0.5 * n * column[i + 1];
                    eta[i][j] = 0.5 * d * column[i + 1];
                }
            }
            // The unit sphere curves away from its tangent.
            let along = n * (-power * r[0] + g_v[0] * r[1] + g_v[1] * r[2] + g_v[2] * r[3])
                + 2.0 * d * (m[0] * r[1] + m[1] * r[2] + m[2] * r[3]);
            for axis in 0..3 {
                out.k[3 * node + axis][3 * node + axis] -= 0.25 * along;
            }
        }

        // First-order changes of (τ, κₙ, κ_z, T), and second-order parts.
        let mut first = [[0.0; UNKNOWNS]; 4];
        let mut second = [[0.0; UNKNOWNS]; 4];
        let mut u = [[0.0; UNKNOWNS]; 8];
        for j in 0..UNKNOWNS {
            let (x0, x, h0, h) =
                (xi0[j], [v[0][j], v[1][j], v[2][j]], eta0[j], [eta[0][j], eta[1][j], eta[2][j]]);
            let turn = cross(kappa, x);
            for i in 0..3 {
                first[i][j] = 2.0 * h[i] - 2.0 * growth * x[i] - kappa[i] * x0 + turn[i];
            }
            first[3][j] = pull[1] * x[1] + pull[2] * x[2];
            second[0][j] = tt * first[0][j] + tn * first[1][j] + t_f * first[3][j];
            second[1][j] = tn * first[0][j] + nn * first[1][j];
            second[2][j] = zz * first[2][j] + z_f * first[3][j];
            second[3][j] = t_f * first[0][j] + z_f * first[2][j] + f_f * first[3][j];

            let mh = cross(m, h);
            let xm = cross(x, m);
            let xf = dot(x, f);
            u[0][j] = 2.0 * power * x0 + dot(mixed, x) - 2.0 * dot(m, h) - dot(lever, x);
            for i in 0..3 {
                u[1 + i][j] = -(2.0 * power + 4.0 * e_t * tension) * x[i] + x0 * (mixed[i] - lever[i])
                    - 2.0 * m[i] * h0
                    + 2.0 * mh[i]
                    + 2.0 * e_t * x[0] * f[i];
                u[5 + i][j] = 2.0 * xm[i] - 2.0 * x0 * m[i];
            }
            u[1][j] += 2.0 * e_t * xf;
            u[4][j] = -2.0 * dot(m, x);

            out.g[j] += m[0] * first[0][j] + m[1] * first[1][j] + m[2] * first[2][j] + e_t * first[3][j];
            for i in 0..3 {
                out.b[i][j] += state.axes[0][i] * second[3][j]
                    + 2.0 * e_t * (x[2] * state.axes[1][i] - x[1] * state.axes[2][i]);
            }
        }
        for j in 0..UNKNOWNS {
            let row = &mut out.k[j];
            for k in 0..UNKNOWNS {
                let bending = first[0][j] * second[0][k]
                    + first[1][j] * second[1][k]
                    + first[2][j] * second[2][k]
                    + first[3][j] * second[3][k];
                let value = xi0[j] * u[0][k] + v[0][j] * u[1][k] + v[1][j] * u[2][k] + v[2][j] * u[3][k];
                let slope =
                    eta0[j] * u[4][k] + eta[0][j] * u[5][k] + eta[1][j] * u[6][k] + eta[2][j] * u[7][k];
                row[k] += bending + value + slope;
            }
        }
        for i in 0..3 {
            out.d[i] += e_t * state.axes[0][i];
            for j in 0..3 {
                out.c[i][j] += f_f * state.axes[0][i] * state.axes[0][j];
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::vector::{about_z, turned, unit};
    use super::*;

    fn setting() -> (Element, Section, [Quat; 3], Vec3) {
        let length = 7.0;
        let rest_nodes = [about_z(0.2), about_z(0.5), about_z(0.9)];
        let kappa = Element::curvature_in_plane(length, rest_nodes);
        let section = Section {
            ea: 900.0,
            gj: 50.0,
            ei_out: 40.0,
            nu: 0.3,
            a: 700.0,
            c: 16.0,
            wagner: 2.0,
            curl: 0.03,
        };
        let rest = kappa.map(|kappa| Rest {
            weight: 0.5 * length,
            kappa,
            ei_in: 800.0,
            d_s: 900.0 + 800.0 * kappa * kappa,
        });
        let nodes = [
            unit([0.9, 0.2, -0.1, 0.3]),
            turned(unit([0.9, 0.25, -0.15, 0.45]), [0.1, 0.0, 0.02]),
            unit([0.85, 0.3, 0.05, 0.6]),
        ];
        (Element { length, rest }, section, nodes, [3.0, -2.0, 1.5])
    }

    /// Centred differences of the value and the gradient meet the analytic gradient and second derivatives.
    #[test]
    fn derivatives_match_finite_differences() {
        let (element, section, nodes, force) = setting();
        let mut here = Tangent::ZERO;
        element.tangent(&section, nodes, force, &mut here);
        let (value, d) = element.value(&section, nodes, force);
        assert!((value - here.value).abs() < 1e-12 * value.abs());
        let step = 1e-5;
        let moved = |j: usize, by: f64| {
            let mut nodes = nodes;
            let mut turn = [0.0; 3];
            turn[j % 3] = by;
            nodes[j / 3] = turned(nodes[j / 3], turn);
            let mut t = Tangent::ZERO;
            element.tangent(&section, nodes, force, &mut t);
            t
        };
        let size = here.k.iter().flatten().fold(0.0_f64, |m, x| m.max(x.abs()));
        for j in 0..UNKNOWNS {
            let (up, down) = (moved(j, step), moved(j, -step));
            let slope = (up.value - down.value) / (2.0 * step);
            assert!((slope - here.g[j]).abs() < 1e-7 * size, "gradient {j}: {slope} {}", here.g[j]);
            for i in 0..3 {
                let slope = (up.d[i] - down.d[i]) / (2.0 * step);
                assert!((slope - here.b[i][j]).abs() < 1e-7, "border {i} {j}: {slope} {}", here.b[i][j]);
            }
            // The second derivative along one unknown, by the value alone.
            let curve = (up.value + down.value - 2.0 * here.value) / (step * step);
            assert!((curve - here.k[j][j]).abs() < 1e-4 * size, "{j}: {curve} {}", here.k[j][j]);
            for k in 0..UNKNOWNS {
                if k / 3 == j / 3 {
                    continue;
                }
                let slope = (up.g[k] - down.g[k]) / (2.0 * step);
                assert!((slope - here.k[j][k]).abs() < 1e-8 * size, "{j} {k}: {slope} {}", here.k[j][k]);
            }
        }
        for i in 0..3 {
            assert!((d[i] - here.d[i]).abs() < 1e-12);
            let mut up = force;
            let mut down = force;
            up[i] += step;
            down[i] -= step;
            let slope = (element.value(&section, nodes, up).0 - element.value(&section, nodes, down).0)
                / (2.0 * step);
            assert!((slope - here.d[i]).abs() < 1e-8, "force {i}: {slope} {}", here.d[i]);
        }
        for (j, row) in here.k.iter().enumerate() {
            for (k, x) in row.iter().enumerate() {
                assert!((x - here.k[k][j]).abs() < 1e-11 * size);
            }
        }
    }

    #[test]
    fn rest_is_without_stress() {
        let (element, mut section, _, _) = setting();
        section.curl = 0.0;
        let nodes = [about_z(0.2), about_z(0.5), about_z(0.9)];
        let mut at = Tangent::ZERO;
        element.tangent(&section, nodes, [0.0; 3], &mut at);
        assert!(at.g.iter().all(|g| g.abs() < 1e-12) && at.value.abs() < 1e-12);
    }
}
