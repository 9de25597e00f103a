//! What strain does to the light.
//!
//! Strain changes the impermeability of an isotropic material by `Δ(1/n²)_i = Σ p_ij ε_j` (p₁₁ on the diagonal, p₁₂
//! off it), so light polarised along a sees `Δn = −(n³/2)(p₁₁ ε_a + p₁₂ ε_b + p₁₂ ε_c)`. With free sides
//! (`ε_b = ε_c = −ν ε_s`) this becomes `Δn = −n p_e ε_s`. Tension is positive.

/// Strain-optic constants of a material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrainOptic {
    /// p₁₁.
    pub p11: f64,
    /// p₁₂.
    pub p12: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

/// Bulk fused silica (Dixon, Photoelastic properties of selected materials, 1967; from memory).
pub const SILICA_BULK: StrainOptic = StrainOptic { p11: 0.121, p12: 0.270, poisson: 0.17 };
/// Silica fibre (Bertholds and Dändliker, Determination of the individual strain-optic coefficients in single-mode
/// optical fibres, 1988).
pub const SILICA_FIBRE: StrainOptic = StrainOptic { p11: 0.113, p12: 0.252, poisson: 0.17 };
/// PMMA from 0.8 to 2.0 µm, ±0.010 (Roselló-Mechó, Delgado-Pinar, Díez and Andrés, Measurement of the strain-optic
/// coefficients of PMMA from 800 to 2000 nm, 2020).
pub const PMMA_STRAIN: StrainOptic = StrainOptic { p11: 0.298, p12: 0.294, poisson: 0.35 };
/// Polystyrene (Dixon, Photoelastic properties of selected materials, 1967; from memory).
pub const POLYSTYRENE_STRAIN: StrainOptic = StrainOptic { p11: 0.30, p12: 0.31, poisson: 0.35 };

impl StrainOptic {
    /// Index change for light polarised along the first axis, `−(n³/2)(p₁₁ ε_a + p₁₂ (ε_b + ε_c))`.
    ///
    /// Quasi-TE: `along_field` is `ε_y`; quasi-TM: `ε_z`. The other two strains, the one along the guide among them, go
    /// into `others`. Use this form where a stiff carrier hinders the sides, so that TE and TM part.
    pub fn index_change(&self, n: f64, along_field: f64, others: [f64; 2]) -> f64 {
        -0.5 * n.powi(3) * (self.p11 * along_field + self.p12 * (others[0] + others[1]))
    }

    /// Effective constant with free sides, `p_e = (n²/2)(p₁₂ − ν (p₁₁ + p₁₂))`: then `Δn = −n p_e ε_s`.
    pub fn effective(&self, n: f64) -> f64 {
        0.5 * n * n * (self.p12 - self.poisson * (self.p11 + self.p12))
    }
}

/// Curvature that the light sees in a guide bent from one curvature to another: `κ − p_e (κ − κ₀)`, 1/µm.
///
/// Bending strain `−y (κ − κ₀)` tilts the index across the core and cancels part of the bend. A curve drawn by
/// lithography (`κ = κ₀`) has no correction; a silica guide bent from straight looks about 1.27 times wider.
/// `strain_optic`: `p_e`, dimensionless.
pub fn optical_curvature_per_um(bent_per_um: f64, rest_per_um: f64, strain_optic: f64) -> f64 {
    bent_per_um - strain_optic * (bent_per_um - rest_per_um)
}

/// Relative change of the optical phase under a mean strain of the centreline with free sides, `(1 − p_e) ε`.
pub fn relative_phase_change(mean_strain: f64, strain_optic: f64) -> f64 {
    (1.0 - strain_optic) * mean_strain
}

/// Phase per elongation, `k₀ n (1 − p_e)`, rad/µm: what a guide of index n gains per µm that it is made longer.
pub fn phase_per_elongation_rad_per_um(wavelength_um: f64, n: f64, strain_optic: f64) -> f64 {
    std::f64::consts::TAU / wavelength_um * n * (1.0 - strain_optic)
}

/// A guided mode at one wavelength, for gratings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GratingMode {
    /// Vacuum wavelength, µm.
    pub wavelength_um: f64,
    /// Effective index.
    pub n_eff: f64,
    /// Group index.
    pub n_group: f64,
}

/// What acts on a grating.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GratingLoad {
    /// Strain along the guide.
    pub strain: f64,
    /// Change of the effective index by that strain, `−n_eff p_e ε` with free sides.
    pub index_change: f64,
    /// Temperature change, K.
    pub temperature_k: f64,
    /// Thermal expansion, 1/K.
    pub expansion_per_k: f64,
    /// `dn_eff/dT`, 1/K.
    pub index_per_k: f64,
}

impl GratingMode {
    /// Shift of the Bragg wavelength `λ = 2 n_eff Λ`, µm:
    /// `Δλ/λ = (n_eff/n_g)[ε + Δn/n_eff + (α + (dn_eff/dT)/n_eff) ΔT]`.
    ///
    /// Silica at 1.55 µm: 1.2 pm per microstrain.
    pub fn bragg_shift_um(&self, load: &GratingLoad) -> f64 {
        let index_change = load.index_change + load.index_per_k * load.temperature_k;
        let strain = load.strain + load.expansion_per_k * load.temperature_k;
        self.wavelength_um * (self.n_eff * strain + index_change) / self.n_group
    }

    /// Shift of the wavelength that a grating coupler sends at a fixed angle, µm. `λ = Λ (n_eff − n_c sin ϑ)`:
    /// `Δλ = [Λ (n_eff − n_c sin ϑ) ε + Λ Δn] (n_eff − n_c sin ϑ)/(n_g − n_c sin ϑ)`.
    ///
    /// * `period_um`: Λ. `cladding_sine`: `n_c` sin ϑ, ϑ from the normal.
    ///
    /// `None` where the group index equals `n_c` sin ϑ, which no guided mode reaches.
    pub fn coupler_shift_um(&self, load: &GratingLoad, period_um: f64, cladding_sine: f64) -> Option<f64> {
        let step = self.n_eff - cladding_sine;
        let index_change = load.index_change + load.index_per_k * load.temperature_k;
        let strain = load.strain + load.expansion_per_k * load.temperature_k;
        let shift = period_um * (step * strain + index_change) * step / (self.n_group - cladding_sine);
        shift.is_finite().then_some(shift)
    }
}

#[cfg(test)]
mod tests {
    use super::{GratingLoad, GratingMode, PMMA_STRAIN, POLYSTYRENE_STRAIN, SILICA_BULK, SILICA_FIBRE};
    use super::{optical_curvature_per_um, phase_per_elongation_rad_per_um, relative_phase_change};

    #[test]
    fn effective_constants_are_those_quoted() {
        for (material, n, expected) in [
            (SILICA_BULK, 1.45, 0.21),
            (SILICA_FIBRE, 1.457, 0.20),
            (PMMA_STRAIN, 1.48, 0.10),
            (POLYSTYRENE_STRAIN, 1.57, 0.12),
        ] {
            assert!((material.effective(n) - expected).abs() < 0.008, "{}", material.effective(n));
        }
    }

    #[test]
    fn free_sides_follow_from_the_full_form() {
        let (n, strain) = (1.48, 0.01);
        let side = -PMMA_STRAIN.poisson * strain;
        let full = PMMA_STRAIN.index_change(n, side, [side, strain]);
        assert!((full + n * PMMA_STRAIN.effective(n) * strain).abs() < 1e-15);
    }

    #[test]
    fn phase_of_a_silica_fibre() {
        // Bertholds and Dändliker 1988: 11.5e6 rad/m at 0.6328 µm.
        let strain_optic = SILICA_FIBRE.effective(1.457);
        let phase = phase_per_elongation_rad_per_um(0.6328, 1.457, strain_optic);
        assert!((phase * 1e6 / 1.155_005_129_585_392e7 - 1.0).abs() < 1e-12);
        assert!((relative_phase_change(1e-3, strain_optic) - 8.0e-4).abs() < 1e-5);
    }

    #[test]
    fn a_fibre_bent_from_straight_looks_wider() {
        let optical = optical_curvature_per_um(0.01, 0.0, 0.21);
        assert!((0.01 / optical - 1.27).abs() < 5e-3);
        assert_eq!(optical_curvature_per_um(0.01, 0.01, 0.21), 0.01);
    }

    #[test]
    fn gratings_shift_as_measured_on_silica() {
        let mode = GratingMode { wavelength_um: 1.55, n_eff: 1.45, n_group: 1.45 };
        let strain = 1e-6;
        let strained = GratingLoad {
            strain,
            index_change: -1.45 * SILICA_FIBRE.effective(1.45) * strain,
            ..GratingLoad::default()
        };
        let picometres = mode.bragg_shift_um(&strained) * 1e6;
        assert!((picometres - 1.2).abs() < 0.05, "{picometres}");
        // At normal exit and without dispersion a coupler is a second-order Bragg grating.
        let coupler = mode.coupler_shift_um(&strained, 1.55 / 1.45, 0.0).unwrap();
        assert!((coupler - mode.bragg_shift_um(&strained)).abs() < 1e-15);
    }
}
