//! The mixed element of a ribbon on a foundation: residual and tangent.
//!
//! With the slip d = r − `r_a` as unknown (`r_a` the place to which the substrate moves the point), the stationary point of
//!
//! ```text
//! ∫ [ ½ EA ε₀² + ½ EI_c χ² + ½ K d² ] ds + ∫ (H, V)·[ d' − (1+ε₀)(cos φ, sin φ) + (a cos φ₀, b sin φ₀) ] ds
//! ```
//!
//! is the equilibrium; a = 1 + e and b = (1 + e)^(−ν) are the substrate's stretches. φ and d are continuous of degree 4,
//! the force (H, V) is discontinuous of degree 3. In every element d consists of the two end values and three bubbles
//! `b_m = (P_{m+1} − P_{m−1})/2` with `∫ b_m' P_n dξ = δ_mn`, so that bubble m and the force's Legendre coefficient m are
//! partners that can always be eliminated, on no foundation as on a rigid one. At rest all unknowns vanish on every mesh.

use crate::basis::{NODES, POINT, SLOPE, WEIGHT};

/// Bubbles of one component of the slip.
pub(crate) const BUBBLES: usize = 3;
/// Bubbles of both components, x first.
pub(crate) const PAIRS: usize = 2 * BUBBLES;
/// What is left besides the pairs: five angles, the mean force (2), the slip of the two ends (4).
pub(crate) const LEFT: usize = NODES + 6;

/// Places of the unknowns that are left.
pub(crate) const MEAN_FORCE: usize = NODES;
pub(crate) const START_SLIP: usize = NODES + 2;
pub(crate) const END_SLIP: usize = NODES + 4;

/// `LEGENDRE[m][g]`: Legendre polynomial of degree m at node g.
pub(crate) const LEGENDRE: [[f64; NODES]; 1 + BUBBLES] = legendre();
/// `BUBBLE[m][g]`: bubble m + 1 at node g.
pub(crate) const BUBBLE: [[f64; NODES]; BUBBLES] = bubbles();

const fn legendre() -> [[f64; NODES]; 1 + BUBBLES] {
    let mut table = [[1.0; NODES]; 1 + BUBBLES];
    let mut g = 0;
    while g < NODES {
        let x = POINT[g];
        table[1][g] = x;
        table[2][g] = 0.5 * (3.0 * x * x - 1.0);
        table[3][g] = 0.5 * x * (5.0 * x * x - 3.0);
        g += 1;
    }
    table
}

const fn bubbles() -> [[f64; NODES]; BUBBLES] {
    let mut table = [[0.0; NODES]; BUBBLES];
    let mut g = 0;
    while g < NODES {
        let x = POINT[g];
        let fourth = (35.0 * x * x * x * x - 30.0 * x * x + 3.0) / 8.0;
        table[0][g] = 0.5 * (LEGENDRE[2][g] - 1.0);
        table[1][g] = 0.5 * (LEGENDRE[3][g] - x);
        table[2][g] = 0.5 * (fourth - LEGENDRE[2][g]);
        g += 1;
    }
    table
}

/// The rest state at a node and what the substrate does there; lengths over the unit of length, forces by EI.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RestPoint {
    /// φ₀.
    pub(crate) phi: f64,
    /// κ₀.
    pub(crate) kappa: f64,
    /// ds/dξ.
    pub(crate) jacobian: f64,
    /// `EI_c/EI`.
    pub(crate) bending: f64,
}

/// What is the same along the whole ribbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Setting {
    /// EA of the section.
    pub(crate) ea: f64,
    /// K of the foundation.
    pub(crate) foundation: f64,
    /// Stretches a and b of the substrate along x and y.
    pub(crate) affine: [f64; 2],
}

/// The unknowns of one element.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Unknowns {
    /// φ − φ₀ at the nodes.
    pub(crate) psi: [f64; NODES],
    /// Legendre coefficients of H and V.
    pub(crate) force: [[f64; 1 + BUBBLES]; 2],
    /// Slip at the ends: `[end][component]`.
    pub(crate) ends: [[f64; 2]; 2],
    /// Bubbles of the slip.
    pub(crate) bubbles: [[f64; BUBBLES]; 2],
}

/// What the state is like at a node.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Pointwise {
    pub(crate) sin_cos: [f64; 2],
    /// Slip.
    pub(crate) slip: [f64; 2],
    /// 1 + ε₀.
    pub(crate) stretched: f64,
    /// M'(s) = (1+ε₀) T.
    pub(crate) moment_slope: f64,
}

/// Residual and tangent of one element. Pairs come as (bubbles, force coefficients from degree 1), x before y.
#[derive(Debug, Clone)]
pub(crate) struct Element {
    /// Tangent of what is left, the whole square.
    pub(crate) matrix: [[f64; LEFT]; LEFT],
    /// Coupling of what is left with the bubbles.
    pub(crate) to_bubbles: [[f64; PAIRS]; LEFT],
    /// Coupling of what is left with the force's coefficients.
    pub(crate) to_forces: [[f64; PAIRS]; LEFT],
    /// `∫ P_m P_n n nᵀ/D ds`, n = (cos φ, sin φ): minus the tangent of the force's coefficients.
    pub(crate) softness: [[f64; PAIRS]; PAIRS],
    pub(crate) residual: [f64; LEFT],
    pub(crate) bubble_residual: [f64; PAIRS],
    pub(crate) force_residual: [f64; PAIRS],
}

/// Values of the two end shapes and the bubbles of the slip at node g.
fn slip_shapes(g: usize) -> ([f64; 2], [f64; BUBBLES]) {
    let ends = [0.5 * (1.0 - POINT[g]), 0.5 * (1.0 + POINT[g])];
    (ends, std::array::from_fn(|m| BUBBLE[m][g]))
}

/// `∫ b_m b_n ds` of the three bubbles.
pub(crate) fn bubble_mass(rest: &[RestPoint; NODES]) -> [[f64; BUBBLES]; BUBBLES] {
    std::array::from_fn(|m| {
        std::array::from_fn(|n| {
            (0..NODES).map(|g| WEIGHT[g] * rest[g].jacobian * BUBBLE[m][g] * BUBBLE[n][g]).sum()
        })
    })
}

/// What the unknowns mean at the nodes.
pub(crate) fn pointwise(
    rest: &[RestPoint; NODES],
    setting: &Setting,
    unknowns: &Unknowns,
) -> [Pointwise; NODES] {
    std::array::from_fn(|g| {
        let laws = Laws::new(&rest[g], setting, unknowns, g);
        let (ends, bubbles) = slip_shapes(g);
        let slip = std::array::from_fn(|c| {
            let by_ends = ends[0] * unknowns.ends[0][c] + ends[1] * unknowns.ends[1][c];
            (0..BUBBLES).fold(by_ends, |sum, m| sum + bubbles[m] * unknowns.bubbles[c][m])
        });
        Pointwise {
            sin_cos: [laws.sine, laws.cosine],
            slip,
            stretched: laws.stretched,
            moment_slope: laws.stretched * laws.transverse,
        }
    })
}

/// The pointwise laws of the beam at one node.
struct Laws {
    sine: f64,
    cosine: f64,
    normal: f64,
    transverse: f64,
    stretched: f64,
    /// 1/D.
    softness: f64,
    /// κ₀ `EI_c`/D.
    coupling: f64,
    /// `EI_c` EA/D.
    bending: f64,
    /// dψ/ds.
    slope: f64,
}

impl Laws {
    fn new(rest: &RestPoint, setting: &Setting, unknowns: &Unknowns, g: usize) -> Self {
        let slope: f64 = (0..NODES).map(|i| SLOPE[g][i] * unknowns.psi[i]).sum::<f64>() / rest.jacobian;
        let [h, v] =
            unknowns.force.map(|force| (0..=BUBBLES).map(|m| LEGENDRE[m][g] * force[m]).sum::<f64>());
        let (sine, cosine) = (rest.phi + unknowns.psi[g]).sin_cos();
        let (normal, transverse) = (h * cosine + v * sine, h * sine - v * cosine);
        let softness = 1.0 / (setting.ea + rest.kappa * rest.kappa * rest.bending);
        let coupling = rest.kappa * rest.bending * softness;
        let stretched = 1.0 + normal * softness + coupling * slope;
        let bending = rest.bending * setting.ea * softness;
        Self { sine, cosine, normal, transverse, stretched, softness, coupling, bending, slope }
    }
}

impl Element {
    /// The residual and the tangent at `unknowns`.
    pub(crate) fn new(rest: &[RestPoint; NODES], setting: &Setting, unknowns: &Unknowns) -> Self {
        let mut element = Self {
            matrix: [[0.0; LEFT]; LEFT],
            to_bubbles: [[0.0; PAIRS]; LEFT],
            to_forces: [[0.0; PAIRS]; LEFT],
            softness: [[0.0; PAIRS]; PAIRS],
            residual: [0.0; LEFT],
            bubble_residual: [0.0; PAIRS],
            force_residual: [0.0; PAIRS],
        };
        element.add_slip(rest, setting, unknowns);
        let mut bending = [0.0; NODES];
        let mut mixed = [0.0; NODES];
        for g in 0..NODES {
            let laws = Laws::new(&rest[g], setting, unknowns, g);
            let ds = WEIGHT[g] * rest[g].jacobian;
            // dψ/ds carries 1/J, ds carries J.
            let along = WEIGHT[g];
            bending[g] = along / rest[g].jacobian * laws.bending;
            mixed[g] = along * laws.coupling * laws.transverse;
            let moment = along * (laws.bending * laws.slope - laws.coupling * laws.normal);
            let shear = ds * laws.stretched * laws.transverse;
            for i in 0..NODES {
                element.residual[i] += SLOPE[g][i] * moment;
            }
            element.residual[g] += shear;
            element.matrix[g][g] +=
                ds * (laws.stretched * laws.normal - laws.transverse * laws.transverse * laws.softness);
            element.add_forces(&laws, setting, rest[g].phi, ds, along, g);
        }
        for i in 0..NODES {
            for j in 0..NODES {
                let constant: f64 = (0..NODES).map(|g| bending[g] * SLOPE[g][i] * SLOPE[g][j]).sum();
                element.matrix[i][j] += constant + mixed[i] * SLOPE[i][j] + mixed[j] * SLOPE[j][i];
            }
        }
        element
    }

    /// The foundation, and the slip's part in the work of the force.
    fn add_slip(&mut self, rest: &[RestPoint; NODES], setting: &Setting, unknowns: &Unknowns) {
        let slips = [START_SLIP, END_SLIP];
        for c in 0..2 {
            self.residual[START_SLIP + c] = -unknowns.force[c][0];
            self.residual[END_SLIP + c] = unknowns.force[c][0];
            self.residual[MEAN_FORCE + c] = unknowns.ends[1][c] - unknowns.ends[0][c];
            for (slip, sign) in slips.into_iter().zip([-1.0, 1.0]) {
                self.matrix[MEAN_FORCE + c][slip + c] = sign;
                self.matrix[slip + c][MEAN_FORCE + c] = sign;
            }
            for m in 0..BUBBLES {
                self.bubble_residual[c * BUBBLES + m] = unknowns.force[c][m + 1];
                self.force_residual[c * BUBBLES + m] = unknowns.bubbles[c][m];
            }
        }
        for g in 0..NODES {
            let stiffness = setting.foundation * WEIGHT[g] * rest[g].jacobian;
            let (ends, bubbles) = slip_shapes(g);
            for c in 0..2 {
                let mut slip = ends[0] * unknowns.ends[0][c] + ends[1] * unknowns.ends[1][c];
                for m in 0..BUBBLES {
                    slip += bubbles[m] * unknowns.bubbles[c][m];
                }
                for m in 0..BUBBLES {
                    self.bubble_residual[c * BUBBLES + m] += stiffness * slip * bubbles[m];
                }
                for a in 0..2 {
                    self.residual[slips[a] + c] += stiffness * slip * ends[a];
                    for b in 0..2 {
                        self.matrix[slips[a] + c][slips[b] + c] += stiffness * ends[a] * ends[b];
                    }
                    for m in 0..BUBBLES {
                        self.to_bubbles[slips[a] + c][c * BUBBLES + m] += stiffness * ends[a] * bubbles[m];
                    }
                }
            }
        }
    }

    /// The lengths that the force is the multiplier of, at node g.
    fn add_forces(&mut self, laws: &Laws, setting: &Setting, phi: f64, ds: f64, along: f64, g: usize) {
        let direction = [laws.cosine, laws.sine];
        let (rest_sine, rest_cosine) = phi.sin_cos();
        let affine = [setting.affine[0] * rest_cosine, setting.affine[1] * rest_sine];
        let softened = laws.transverse * laws.softness;
        // Derivative of M and of (1+ε₀) T by H and V.
        let moment_by = direction.map(|along_force| -along * laws.coupling * along_force);
        let shear_by = [
            ds * (laws.stretched * laws.sine + softened * laws.cosine),
            ds * (softened * laws.sine - laws.stretched * laws.cosine),
        ];
        for c in 0..2 {
            let gap = ds * (laws.stretched * direction[c] - affine[c]);
            self.residual[MEAN_FORCE + c] -= gap;
            for i in 0..NODES {
                let mut by = moment_by[c] * SLOPE[g][i];
                if i == g {
                    by += shear_by[c];
                }
                self.matrix[i][MEAN_FORCE + c] += by;
                self.matrix[MEAN_FORCE + c][i] += by;
                for m in 0..BUBBLES {
                    self.to_forces[i][c * BUBBLES + m] += by * LEGENDRE[m + 1][g];
                }
            }
            for m in 0..BUBBLES {
                self.force_residual[c * BUBBLES + m] -= gap * LEGENDRE[m + 1][g];
            }
            for d in 0..2 {
                let soft = ds * laws.softness * direction[c] * direction[d];
                self.matrix[MEAN_FORCE + c][MEAN_FORCE + d] -= soft;
                for m in 0..BUBBLES {
                    let by = soft * LEGENDRE[m + 1][g];
                    self.to_forces[MEAN_FORCE + d][c * BUBBLES + m] -= by;
                    for n in 0..BUBBLES {
                        self.softness[c * BUBBLES + m][d * BUBBLES + n] += by * LEGENDRE[n + 1][g];
                    }
                }
            }
        }
    }
}
