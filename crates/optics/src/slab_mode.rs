//! One guided mode of a straight slab: its field and what follows from it.
//!
//! With F = E (TE, q = 1) or H (TM, q = n²) parallel to the interfaces, `F = cos(k_t (d/2 − y) − φ_L)` in the core,
//! `tan φ_j = ρ_j γ_j/k_t`, and exponentials outside. All integrals over F² and F'² are closed forms. From
//! `N² ∫F²/q = ∫ n² F²/q − ∫ F'²/(k₀² q)`, which is stationary in F, follow the derivatives of N by every index and
//! by the wavelength, hence the group index, without difference quotients.

use crate::slab::{Slab, SlabPolarisation};

/// A guided mode of a [`Slab`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlabMode {
    /// Mode number, 0 first: the number of zeros of the field.
    pub mode: usize,
    /// Effective index `N = β/k₀`.
    pub n_eff: f64,
    /// Normalised index `b = (N² − n_a²)/(n_core² − n_a²)`, `n_a` the higher cladding index; 0 at cutoff.
    pub normalised_index: f64,
    /// Share of the power flux that runs in the core: `∫_core F²/q / ∫ F²/q`.
    pub confinement: f64,
    slab: Slab,
    polarisation: SlabPolarisation,
    /// `k_t`, 1/µm.
    transverse_per_um: f64,
    decay_left_per_um: f64,
    decay_right_per_um: f64,
    /// `φ_L`.
    phase_left: f64,
    core: Integrals,
    left: Integrals,
    right: Integrals,
}

/// ∫F² in µm and ∫F'²/k₀² in µm over one region.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Integrals {
    square_um: f64,
    slope_um: f64,
}

/// Derivatives of the effective index of a [`SlabMode`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlabSensitivity {
    /// ∂`N/∂n_core`.
    pub core: f64,
    /// ∂`N/∂n_left`.
    pub left: f64,
    /// ∂`N/∂n_right`.
    pub right: f64,
    /// ∂N/∂λ at fixed indices, 1/µm.
    pub wavelength_per_um: f64,
}

/// Slopes dn/dλ of the three indices of a slab, 1/µm; the default is no dispersion.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SlabDispersion {
    /// `dn_core/dλ`.
    pub core_per_um: f64,
    /// `dn_left/dλ`.
    pub left_per_um: f64,
    /// `dn_right/dλ`.
    pub right_per_um: f64,
}

impl SlabMode {
    pub(crate) fn new(slab: &Slab, polarisation: SlabPolarisation, mode: usize, theta: f64) -> Self {
        let k0 = slab.wave_number_per_um();
        let n_a = slab.n_left.max(slab.n_right);
        let height = (slab.n_core - n_a) * (slab.n_core + n_a);
        let (sin, cos) = theta.sin_cos();
        let normalised_index = cos * cos;
        let n_eff = (n_a * n_a + height * normalised_index).sqrt();
        let transverse = k0 * height.sqrt() * sin;
        // (n_a − n_j)(n_a + n_j) is exact where n_eff − n_j would cancel.
        let decay = |n: f64| k0 * (height * normalised_index + (n_a - n) * (n_a + n)).sqrt();
        let (decay_left, decay_right) = (decay(slab.n_left), decay(slab.n_right));
        let weight_core = polarisation.weight(slab.n_core);
        let ratio = |n: f64| weight_core / polarisation.weight(n);
        let phase_left = (ratio(slab.n_left) * decay_left).atan2(transverse);
        let phase_right = (ratio(slab.n_right) * decay_right).atan2(transverse);

        let edges = ((2.0 * phase_left).sin() + (2.0 * phase_right).sin()) / (2.0 * transverse);
        let core = Integrals {
            square_um: 0.5 * (slab.width_um + edges),
            slope_um: 0.5 * (slab.width_um - edges) * (transverse / k0).powi(2),
        };
        let tail = |phase: f64, decay: f64| {
            let edge = phase.cos().powi(2);
            Integrals { square_um: edge / (2.0 * decay), slope_um: 0.5 * edge * decay / (k0 * k0) }
        };
        let left = tail(phase_left, decay_left);
        let right = tail(phase_right, decay_right);
        let in_core = core.square_um / weight_core;
        let outside = left.square_um / polarisation.weight(slab.n_left)
            + right.square_um / polarisation.weight(slab.n_right);
        Self {
            mode,
            n_eff,
            normalised_index,
            confinement: in_core / (in_core + outside),
            slab: *slab,
            polarisation,
            transverse_per_um: transverse,
            decay_left_per_um: decay_left,
            decay_right_per_um: decay_right,
            phase_left,
            core,
            left,
            right,
        }
    }

    /// The slab this mode belongs to.
    pub fn slab(&self) -> &Slab {
        &self.slab
    }

    /// The polarisation of this mode.
    pub fn polarisation(&self) -> SlabPolarisation {
        self.polarisation
    }

    /// Decay `γ = k₀ √(N² − n²)` of the field in the left and the right cladding, 1/µm.
    pub fn decays_per_um(&self) -> (f64, f64) {
        (self.decay_left_per_um, self.decay_right_per_um)
    }

    /// Field F at `y_um` from the middle of the core, 1 at its largest in a symmetric slab.
    pub fn field(&self, y_um: f64) -> f64 {
        let half = 0.5 * self.slab.width_um;
        let in_core = |y: f64| (self.transverse_per_um * (half - y) - self.phase_left).cos();
        if y_um > half {
            in_core(half) * (-self.decay_left_per_um * (y_um - half)).exp()
        } else if y_um < -half {
            in_core(-half) * (self.decay_right_per_um * (y_um + half)).exp()
        } else {
            in_core(y_um)
        }
    }

    /// ∫ F²/q over the whole cross-section, µm.
    fn norm_um(&self) -> f64 {
        self.weighted(|part| part.square_um)
    }

    fn weighted(&self, part: impl Fn(&Integrals) -> f64) -> f64 {
        part(&self.core) / self.polarisation.weight(self.slab.n_core)
            + part(&self.left) / self.polarisation.weight(self.slab.n_left)
            + part(&self.right) / self.polarisation.weight(self.slab.n_right)
    }

    /// Derivatives of the effective index.
    ///
    /// TE: `∂N/∂n_j = (n_j/N) ∫_j F²/∫F²`; TM: `∂N/∂n_j = (N² ∫_j F² + ∫_j F'²/k₀²)/(N n_j³ ∫F²/n²)`;
    /// both: `∂N/∂λ = −∫ F'²/(k₀² q)/(λ N ∫F²/q)`. Derived in the module docs; exact.
    pub fn sensitivity(&self) -> SlabSensitivity {
        let norm = self.norm_um();
        let by_index = |n: f64, part: &Integrals| match self.polarisation {
            SlabPolarisation::Te => n / self.n_eff * part.square_um / norm,
            SlabPolarisation::Tm => {
                (self.n_eff * self.n_eff * part.square_um + part.slope_um) / (self.n_eff * n.powi(3) * norm)
            }
        };
        SlabSensitivity {
            core: by_index(self.slab.n_core, &self.core),
            left: by_index(self.slab.n_left, &self.left),
            right: by_index(self.slab.n_right, &self.right),
            wavelength_per_um: -self.weighted(|part| part.slope_um)
                / (norm * self.n_eff * self.slab.wavelength_um),
        }
    }

    /// Group index `n_g = N − λ dN/dλ`, with the dispersion of the three materials.
    pub fn group_index(&self, dispersion: &SlabDispersion) -> f64 {
        let by = self.sensitivity();
        let slope = by.wavelength_per_um
            + by.core * dispersion.core_per_um
            + by.left * dispersion.left_per_um
            + by.right * dispersion.right_per_um;
        self.n_eff - self.slab.wavelength_um * slope
    }

    /// Root-mean-square half width of the power flux about the core's middle, µm: `√(∫ y² F²/q / ∫ F²/q)`.
    pub fn rms_half_width_um(&self) -> f64 {
        let half = 0.5 * self.slab.width_um;
        // Tails: ∫ (half + t)² e^(−2γt) dt, with the edge value of F² taken from the closed form of the plain tail.
        let tail = |part: &Integrals, decay: f64| {
            part.square_um * (half * half + half / decay + 0.5 / (decay * decay))
        };
        // Core: F² = ½(1 + cos(2 k_t y + 2ψ)) with ψ = φ_L − k_t d/2, up to the sign of the argument.
        let k2 = 2.0 * self.transverse_per_um;
        let shift = 2.0 * self.phase_left - k2 * half;
        let wave = |y: f64| {
            let (sin, cos) = (k2 * y + shift).sin_cos();
            (y * y / k2 - 2.0 / k2.powi(3)) * sin + 2.0 * y / (k2 * k2) * cos
        };
        let core = 0.5 * (2.0 * half.powi(3) / 3.0 + wave(half) - wave(-half));
        let moment = core / self.polarisation.weight(self.slab.n_core)
            + tail(&self.left, self.decay_left_per_um) / self.polarisation.weight(self.slab.n_left)
            + tail(&self.right, self.decay_right_per_um) / self.polarisation.weight(self.slab.n_right);
        (moment / self.norm_um()).sqrt()
    }

    /// `F²/∫(F²/q)` at the left and the right edge of the core, times `1/q_core`: edge field for side-wall scattering,
    /// 1/µm.
    ///
    /// Side-wall scattering loss scales as `σ² (n_core² − n_clad²)²` times the sum of both. A measured propagation
    /// loss holds for one width: for another width multiply it by the ratio of these sums. Upper bound of this form:
    /// Payne and Lacey, A theoretical analysis of scattering loss from planar optical waveguides, 1994.
    pub fn edge_intensities_per_um(&self) -> (f64, f64) {
        let half = 0.5 * self.slab.width_um;
        let scale = 1.0 / (self.norm_um() * self.polarisation.weight(self.slab.n_core));
        (self.field(half).powi(2) * scale, self.field(-half).powi(2) * scale)
    }
}
