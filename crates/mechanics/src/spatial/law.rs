//! Energy of a section per length at rest, and its derivatives.

use crate::{OutOfPlane, SectionLaw, Strips};

/// Stiffness of the section against twist and out-of-plane bending.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Section {
    /// EA in µN.
    pub(crate) ea: f64,
    /// GJ in µN·µm².
    pub(crate) gj: f64,
    /// `EI_out` in µN·µm².
    pub(crate) ei_out: f64,
    /// Poisson's ratio.
    pub(crate) nu: f64,
    /// Stiffness A = EA w⁴/720 of the membrane strain across the width, in µN·µm⁴; 0 for the rod.
    pub(crate) a: f64,
    /// c = A (1 − ν²)/`EI_out` in µm².
    pub(crate) c: f64,
    /// w²/12 in µm² for the shortening by twist; 0 for the rod.
    pub(crate) wagner: f64,
    /// Curvature about n at which the free section is without stress, in 1/µm.
    pub(crate) curl: f64,
}

/// The section's part of twist and out-of-plane bending, with its derivatives by (τ, κₙ).
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Thickness {
    pub(crate) energy_bend: f64,
    pub(crate) energy_ribbon: f64,
    pub(crate) first: [f64; 2],
    /// ττ, τκ, κκ.
    pub(crate) second: [f64; 3],
    /// g = S/H in 1/µm².
    pub(crate) g: f64,
}

impl Section {
    pub(crate) fn new(strips: &Strips, out: &OutOfPlane, curl_per_um: f64) -> Self {
        let is_ribbon = out.law == SectionLaw::Ribbon;
        let width = strips.width_um();
        let a = if is_ribbon { strips.ea_un() * width.powi(4) / 720.0 } else { 0.0 };
        Self {
            ea: strips.ea_un(),
            gj: out.torsion_un_um2,
            ei_out: out.bending_un_um2,
            nu: out.poisson,
            a,
            c: a * (1.0 - out.poisson * out.poisson) / out.bending_un_um2,
            wagner: if is_ribbon { width * width / 12.0 } else { 0.0 },
            curl: curl_per_um,
        }
    }

    /// W(τ, κₙ) = ½ GJ τ² + ½ `EI_out` (κₙ − k)² + ½ A S²/H, S = τ² + ν κₙ² − (1 + ν) k κₙ, H = 1 + c κₙ².
    #[inline(always)]
    pub(crate) fn thickness(&self, twist: f64, bend: f64) -> Thickness {
        let (nu, c, a) = (self.nu, self.c, self.a);
        let relative = bend - self.curl;
        let s = twist * twist + nu * bend * bend - (1.0 + nu) * self.curl * bend;
        let (s_t, s_k) = (2.0 * twist, 2.0 * nu * bend - (1.0 + nu) * self.curl);
        let inverse = 1.0 / (1.0 + c * bend * bend);
        let g = s * inverse;
        // H'/H and H''/H
        let (h_k, h_kk) = (2.0 * c * bend * inverse, 2.0 * c * inverse);
        Thickness {
            energy_bend: 0.5 * self.ei_out * relative * relative,
            energy_ribbon: 0.5 * a * s * g,
            first: [self.gj * twist + a * g * s_t, self.ei_out * relative + a * g * (s_k - 0.5 * s * h_k)],
            second: [
                self.gj + a * (s_t * s_t * inverse + 2.0 * g),
                a * s_t * (s_k * inverse - g * h_k),
                self.ei_out
                    + a * (s_k * s_k * inverse + 2.0 * nu * g - 2.0 * g * s_k * h_k - 0.5 * g * s * h_kk
                        + g * s * h_k * h_k),
            ],
            g,
        }
    }

    /// Curvature across the width beyond the free one, `κ_y` − k = −ν (κₙ − k) + c κₙ g, in 1/µm.
    pub(crate) fn across(&self, bend: f64, g: f64) -> f64 {
        -self.nu * (bend - self.curl) + self.c * bend * g
    }

    /// Twist and out-of-plane curvature that carry the moments, by Newton's method from a guess.
    pub(crate) fn twist_and_bend(&self, moments: [f64; 2], tension: f64, guess: [f64; 2]) -> [f64; 2] {
        const MOST: usize = 30;
        let gj = self.gj + tension * self.wagner;
        if self.a == 0.0 {
            return [moments[0] / gj, self.curl + moments[1] / self.ei_out];
        }
        let [mut twist, mut bend] = guess;
        let mut best = (f64::INFINITY, guess);
        for _ in 0..MOST {
            let law = self.thickness(twist, bend);
            let r = [moments[0] - law.first[0] - tension * self.wagner * twist, moments[1] - law.first[1]];
            // Energy norm of the residual decides which iterate is best.
            let error = r[0] * r[0] / self.gj + r[1] * r[1] / self.ei_out;
            if error.is_nan() || error > 4.0 * best.0 {
                // Too long a step: halfway back to the best.
                twist = 0.5 * (twist + best.1[0]);
                bend = 0.5 * (bend + best.1[1]);
                continue;
            }
            if error < best.0 {
                best = (error, [twist, bend]);
            }
            let tt = law.second[0] + tension * self.wagner;
            let (tk, kk) = (law.second[1], law.second[2]);
            let determinant = tt * kk - tk * tk;
            let step = if determinant.abs() > 1e-9 * tt.abs() * kk.abs() {
                [(kk * r[0] - tk * r[1]) / determinant, (tt * r[1] - tk * r[0]) / determinant]
            } else {
                [r[0] / tt.abs().max(self.gj), r[1] / kk.abs().max(self.ei_out)]
            };
            twist += step[0];
            bend += step[1];
            let size = (self.gj * twist * twist + self.ei_out * bend * bend).max(f64::MIN_POSITIVE);
            if self.gj * step[0] * step[0] + self.ei_out * step[1] * step[1] < 1e-14 * size {
                return [twist, bend];
            }
        }
        best.1
    }
}
