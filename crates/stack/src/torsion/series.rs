//! Layers of the full width: the stress function as a sine series across the width.
//!
//! With v across the width from 0 to w, −2 = −Σ 8/(nπ) sin(nπv/w) over odd n. Term n of layer i is
//! `P_i` + a cosh kz + b sinh kz with k = nπ/w and `P_i = 2 G_i c/k²`, c = 4/(nπ). Let `V_j` be its values at the interfaces,
//! 0 on the faces. Continuity of φ is then met, and that of (∂φ/∂z)/G at interface j (l below, u above) reads
//!
//! ```text
//! −k csch(kt_l)/G_l V_{j−1} + k [coth(kt_l)/G_l + coth(kt_u)/G_u] V_j − k csch(kt_u)/G_u V_{j+1}
//!     = k [P_l tanh(kt_l/2)/G_l + P_u tanh(kt_u/2)/G_u]
//! GJ = Σ_n 2 (2w/nπ) Σ_i { P_i t_i + (V_{i−1} + V_i − 2P_i) tanh(kt_i/2)/k }
//! ```
//!
//! The terms fall as n⁻² up to n ≈ w/t and as n⁻⁴ beyond. The first are summed one by one; from there they are a smooth
//! function of n, and the sum over odd n is half the integral, taken by Gauss's rule over stretches that grow in proportion.

use std::f64::consts::PI;

/// Terms below this are summed one by one.
const SINGLE_UP_TO: u32 = 201;
/// Growth of the stretches of integration.
const GROWTH: f64 = 1.5;
/// Terms are taken to this many times w/t; the rest is summed with φ = P.
const BEYOND: f64 = 40.0;
/// Above this kt the edges of a layer do not see each other.
const FAR: f64 = 40.0;
/// Greatest w/t of the series; cancellation takes (kt)² of the digits.
const WIDEST: f64 = 1e4;
/// Widths above this many thicknesses make no difference to the middle.
const MIDDLE_SEES: f64 = 50.0;
/// Terms of the shear strain, at the least.
const LEAST_TERMS: u32 = 2001;
/// Gauss points and weights on 0..1.
const GAUSS: [(f64, f64); 4] = [
    (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
    (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
];

/// GJ in µN·µm² of layers (thickness in µm, G in `MPa`) over a width in µm.
pub(super) fn torsion(width_um: f64, layers: &[(f64, f64)]) -> f64 {
    let thickness_um: f64 = layers.iter().map(|layer| layer.0).sum();
    let widest_um = WIDEST * thickness_um;
    if width_um <= widest_um {
        return sum(width_um, layers);
    }
    // Far from its edges a wide strip twists as a plate: GJ grows in proportion to the width.
    let wide = sum(widest_um, layers);
    let per_width = (wide - sum(0.5 * widest_um, layers)) / (0.5 * widest_um);
    wide + (width_um - widest_um) * per_width
}

fn sum(width_um: f64, layers: &[(f64, f64)]) -> f64 {
    let thickness_um: f64 = layers.iter().map(|layer| layer.0).sum();
    let mut work = Vec::with_capacity(layers.len());
    let mut term = |n: f64| term_of(n, width_um, layers, &mut work);
    let mut total: f64 = (1..=SINGLE_UP_TO).step_by(2).map(|n| term(f64::from(n))).sum();
    let last = (BEYOND * width_um / thickness_um).max(f64::from(SINGLE_UP_TO));
    let mut from = f64::from(SINGLE_UP_TO + 1);
    while from < last {
        let length = (GROWTH - 1.0) * from;
        for (place, weight) in GAUSS {
            total += 0.5 * length * weight * term(from + length * place);
        }
        from += length;
    }
    // φ = P in the rest: Σ over odd n of 1/n⁴ beyond `from` is 1/(6 from³).
    let stiffness: f64 = layers.iter().map(|(thickness_um, shear_mpa)| thickness_um * shear_mpa).sum();
    total + 32.0 * width_um.powi(3) / PI.powi(4) * stiffness / (6.0 * from.powi(3))
}

/// Term n of GJ; `work` is for [`interfaces`].
fn term_of(n: f64, width_um: f64, layers: &[(f64, f64)], work: &mut Vec<(f64, f64)>) -> f64 {
    let k = n * PI / width_um;
    interfaces(n, k, layers, work);
    let mut below = 0.0;
    let mut integral = 0.0;
    for (i, &(thickness_um, shear_mpa)) in layers.iter().enumerate() {
        // The face above the uppermost layer is at zero, as the one below the lowest.
        let above = work.get(i).map_or(0.0, |interface| interface.1);
        let p = particular(n, k, shear_mpa);
        integral +=
            p * thickness_um + (below + above - 2.0 * p) * Hyperbolic::new(k * thickness_um).tanh_half / k;
        below = above;
    }
    4.0 * width_um / (n * PI) * integral
}

/// `P_i` of term n.
fn particular(n: f64, k: f64, shear_mpa: f64) -> f64 {
    8.0 * shear_mpa / (n * PI * k * k)
}

/// Term n at the interfaces: `work` then holds (elimination factor, value) of each.
fn interfaces(n: f64, k: f64, layers: &[(f64, f64)], work: &mut Vec<(f64, f64)>) {
    work.clear();
    // Thomas' algorithm over the interfaces; `across` is the coupling to the one before.
    let mut across = 0.0;
    for pair in layers.windows(2) {
        let [lower, upper] = [pair[0], pair[1]].map(|(thickness_um, shear_mpa)| {
            let hyperbolic = Hyperbolic::new(k * thickness_um);
            (hyperbolic, shear_mpa)
        });
        let (factor, before) = work.last().copied().unwrap_or((0.0, 0.0));
        let next = upper.0.csch / upper.1;
        let diagonal = lower.0.coth / lower.1 + upper.0.coth / upper.1 - across * factor;
        let load = particular(n, k, lower.1) * lower.0.tanh_half / lower.1
            + particular(n, k, upper.1) * upper.0.tanh_half / upper.1
            + across * before;
        work.push((next / diagonal, load / diagonal));
        across = next;
    }
    let mut above = 0.0;
    for interface in work.iter_mut().rev() {
        interface.1 += interface.0 * above;
        above = interface.1;
    }
}

/// Shear strain over twist at the middle of the width, µm: at the bottom face, the interfaces and the top face.
///
/// (∂φ/∂z)/G at v = w/2, where term n carries the sign (−1)^((n−1)/2). The terms then alternate and fall as n⁻²; the last
/// one counts half.
pub(super) fn middle_shear_um(width_um: f64, layers: &[(f64, f64)]) -> Vec<f64> {
    let thickness_um: f64 = layers.iter().map(|layer| layer.0).sum();
    // The middle of a wide strip does not see its edges.
    let width_um = width_um.min(MIDDLE_SEES * thickness_um);
    let last = ((BEYOND * width_um / thickness_um) as u32 | 1).max(LEAST_TERMS);
    let mut shear_um = vec![0.0; layers.len() + 1];
    let mut work = Vec::with_capacity(layers.len());
    let mut sign = 1.0;
    for n in (1..=last).step_by(2) {
        let weight = if n == last { 0.5 * sign } else { sign };
        let k = f64::from(n) * PI / width_um;
        interfaces(f64::from(n), k, layers, &mut work);
        let mut below = 0.0;
        for (i, &(thickness_um, shear_mpa)) in layers.iter().enumerate() {
            let above = work.get(i).map_or(0.0, |interface| interface.1);
            let p = particular(f64::from(n), k, shear_mpa);
            let Hyperbolic { csch, coth, .. } = Hyperbolic::new(k * thickness_um);
            if i == 0 {
                shear_um[0] += weight * k / shear_mpa * ((above - p) * csch - (below - p) * coth);
            }
            // Continuous across an interface: the layer below it tells.
            shear_um[i + 1] += weight * k / shear_mpa * ((above - p) * coth - (below - p) * csch);
            below = above;
        }
        sign = -sign;
    }
    shear_um
}

/// Functions of x = kt.
#[derive(Clone, Copy)]
struct Hyperbolic {
    csch: f64,
    coth: f64,
    /// tanh(x/2) = coth x − csch x.
    tanh_half: f64,
}

impl Hyperbolic {
    fn new(x: f64) -> Self {
        if x > FAR {
            return Self { csch: 0.0, coth: 1.0, tanh_half: 1.0 };
        }
        // tanh(x/2) = (eˣ − 1)/(eˣ + 1), without cancellation for small x.
        let growth = x.exp_m1();
        let tanh_half = growth / (growth + 2.0);
        let csch = 2.0 * (growth + 1.0) / (growth * (growth + 2.0));
        Self { csch, coth: tanh_half + csch, tanh_half }
    }
}
