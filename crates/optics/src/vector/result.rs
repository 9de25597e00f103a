//! What is known of a mode: index, loss, confinement, field.

use super::error::VectorError;
use super::mode::VectorSettings;
use super::problem::{Problem, Settled, Solution};
use super::section::CrossSection;
use crate::bent::DB_PER_NEPER;
use crate::channel::Polarisation;
use crate::complex::Complex;
use crate::error::LightError;

/// Distance from the claddings below which a mode is near cutoff.
const NEAR_CUTOFF: f64 = 5e-4;

/// A mode of a [`CrossSection`], straight or bent.
#[derive(Debug, Clone)]
pub struct VectorMode {
    /// Its polarisation.
    pub polarisation: Polarisation,
    /// Real part of the effective index; in a bend `ν/(k₀ R)` with R to the middle of the core.
    pub n_eff_re: f64,
    /// Imaginary part; 0 on a straight.
    pub n_eff_im: f64,
    /// `Γ_j = ∂N/∂n_j` of every material of the section, in its order (in a bend the real part). Times the loss of
    /// that material it is the mode's loss; it can exceed the share of power, and 1.
    pub confinement: Vec<f64>,
    /// Whether N is within 5e-4 of the highest index that light escapes into: then it may well not guide.
    pub near_cutoff: bool,
    /// Signed curvature, 1/µm, positive to the left; 0 on a straight.
    pub curvature_per_um: f64,
    /// Loss per 90° of bend, dB: `8.686 · Im ν · π/2`; 0 on a straight.
    pub loss_db_per_90deg: f64,
    /// Distance from the core's middle to the radiation caustic `R(N/n_out − 1)`, µm; infinite on a straight.
    pub caustic_offset_um: f64,
    /// Number of unknowns.
    pub unknowns: usize,
    /// Inverse iterations in the last window.
    pub iterations: usize,
    /// Last relative change of N².
    pub residual: f64,
    settings: VectorSettings,
    section: CrossSection,
    problem: Problem,
    solution: Solution,
    /// Brings the largest main component in the core to 1.
    scale: Complex,
}

/// Electric field of a mode at one place: real and imaginary part of each component, the largest main component in
/// the core being 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VectorField {
    /// Across the guide in the wafer plane, to the left.
    pub e_y: (f64, f64),
    /// Out of the wafer plane.
    pub e_z: (f64, f64),
    /// Along the guide.
    pub e_s: (f64, f64),
}

impl VectorField {
    /// `|E|²`.
    pub fn intensity(&self) -> f64 {
        [self.e_y, self.e_z, self.e_s].iter().map(|(re, im)| re * re + im * im).sum()
    }
}

/// Places per direction among which the largest field is looked for.
const PROBES: usize = 13;

impl VectorMode {
    pub(super) fn new(
        section: &CrossSection,
        polarisation: Polarisation,
        problem: Problem,
        solution: Solution,
        curvature_per_um: f64,
        settings: VectorSettings,
    ) -> Self {
        let n_eff = solution.n_eff;
        let radius_um = curvature_per_um.abs().recip();
        let outer = if curvature_per_um > 0.0 { 0 } else { section.columns() - 1 };
        let (loss_db_per_90deg, caustic_offset_um) = if curvature_per_um == 0.0 {
            (0.0, f64::INFINITY)
        } else {
            let nu_im = n_eff.im * section.k0() * radius_um;
            (
                DB_PER_NEPER * nu_im * std::f64::consts::FRAC_PI_2,
                radius_um * (n_eff.re / section.escape_index(outer) - 1.0),
            )
        };
        let confinement = problem.confinement(section, &solution).iter().map(|share| share.re).collect();
        let mut mode = Self {
            polarisation,
            n_eff_re: n_eff.re,
            n_eff_im: n_eff.im,
            confinement,
            near_cutoff: n_eff.re < section.cladding_index() + NEAR_CUTOFF,
            curvature_per_um,
            loss_db_per_90deg,
            caustic_offset_um,
            unknowns: problem.layout.len(),
            iterations: solution.iterations,
            residual: solution.residual,
            settings,
            section: section.clone(),
            problem,
            solution,
            scale: Complex::real(1.0),
        };
        let largest = mode.largest();
        if largest.norm_sqr() > 0.0 {
            mode.scale = largest.recip();
        }
        mode
    }

    /// Fields on a lattice of places in the core.
    fn probes(&self) -> Vec<[Complex; 3]> {
        let section = &self.section;
        let (columns, rows) = (section.core_columns, section.core_rows);
        let (left, right) = (section.y_um[columns.0 - 1], section.y_um[columns.1]);
        let (low, high) = (section.z_um[rows.0 - 1], section.z_um[rows.1]);
        let place = |from: f64, to: f64, i: usize| from + (to - from) * (i as f64 + 0.5) / PROBES as f64;
        (0..PROBES * PROBES)
            .filter_map(|n| self.components(place(left, right, n % PROBES), place(low, high, n / PROBES)))
            .collect()
    }

    /// The largest main component in the core.
    fn largest(&self) -> Complex {
        let main = usize::from(self.polarisation == Polarisation::QuasiTm);
        self.probes()
            .iter()
            .map(|components| components[main])
            .max_by(|a, b| a.norm_sqr().total_cmp(&b.norm_sqr()))
            .unwrap_or(Complex::ZERO)
    }

    /// Share of the transverse field in the core that is of the mode's polarisation, 0 to 1.
    pub(super) fn purity(&self) -> f64 {
        let (across, upright) = self
            .probes()
            .iter()
            .fold((0.0, 0.0), |(y, z), [e_y, e_z, _]| (y + e_y.norm_sqr(), z + e_z.norm_sqr()));
        let main = if self.polarisation == Polarisation::QuasiTm { upright } else { across };
        main / (across + upright).max(f64::MIN_POSITIVE)
    }

    /// This mode, if it is a straight one, as a start for a bend.
    pub(super) fn start_of_bend(&self, problem: &Problem, curvature_per_um: f64) -> Vec<Complex> {
        let section = &self.section;
        let (k0, y_middle, z_middle) = (section.k0(), section.core_middle_um(), section.mid_plane_um());
        let outwards = if curvature_per_um > 0.0 { -1.0 } else { 1.0 };
        let to_axial = (Complex::new(0.0, 1.0) * self.solution.n_eff).recip();
        problem.project(|u, z| {
            let field = self.components(y_middle + outwards * u / k0, z_middle + z / k0);
            let [e_y, e_z, e_s] = field.unwrap_or_default();
            [e_y * outwards, e_z, e_s * to_axial]
        })
    }

    pub(super) fn into_solution(self) -> Solution {
        self.solution
    }

    /// `E_y`, `E_z`, `E_s` at a place.
    fn components(&self, y_um: f64, z_um: f64) -> Option<[Complex; 3]> {
        let (section, window) = (&self.section, &self.problem.window);
        let outwards = if self.curvature_per_um > 0.0 { -1.0 } else { 1.0 };
        let mut u = outwards * (y_um - section.core_middle_um()) * section.k0();
        let mut z = (z_um - section.mid_plane_um()) * section.k0();
        // Parities of E_y, E_z and E_s in the planes of symmetry.
        let mut signs = [outwards, 1.0, 1.0];
        let quasi_te = self.polarisation == Polarisation::QuasiTe;
        if window.half_u && u < 0.0 {
            u = -u;
            let odd: &[usize] = if quasi_te { &[1, 2] } else { &[0] };
            for &i in odd {
                signs[i] = -signs[i];
            }
        }
        if window.half_z && z < 0.0 {
            z = -z;
            let odd: &[usize] = if quasi_te { &[1] } else { &[0, 2] };
            for &i in odd {
                signs[i] = -signs[i];
            }
        }
        let mut components = self.problem.field(&self.solution, u, z)?;
        for (component, sign) in components.iter_mut().zip(signs) {
            *component = *component * (self.scale * sign);
        }
        Some(components)
    }

    /// Electric field at a place of the section, µm; `None` beyond the window, where the field is negligible, and in
    /// the absorbing layers of a bend, where it has no meaning.
    pub fn field(&self, y_um: f64, z_um: f64) -> Option<VectorField> {
        let [e_y, e_z, e_s] = self.components(y_um, z_um)?.map(|value| (value.re, value.im));
        Some(VectorField { e_y, e_z, e_s })
    }

    /// Group index `N − λ dN/dλ = Σ_j Γ_j (n_j − λ dn_j/dλ)`.
    ///
    /// The confinements are the derivatives of the discretised problem, whose frequency enters only as `k₀² n²`, so
    /// the sum is exact and needs no other wavelength (derived from the quotient `xᵀAx/xᵀBx`).
    ///
    /// * `slopes_per_um`: dn/dλ of every material, 1/µm, in their order; all 0 without material dispersion.
    ///
    /// # Errors
    /// [`LightError::Number`] when the number of slopes is not that of the materials; [`LightError::Entry`] for one
    /// that is not finite.
    pub fn group_index(&self, slopes_per_um: &[f64]) -> Result<f64, LightError> {
        let indices = self.section.indices();
        if slopes_per_um.len() != indices.len() {
            return Err(LightError::Number {
                what: "number of index slopes",
                value: slopes_per_um.len() as f64,
                least: indices.len() as f64,
                greatest: indices.len() as f64,
            });
        }
        if let Some(position) = slopes_per_um.iter().position(|slope| !slope.is_finite()) {
            return Err(LightError::Entry { what: "index slope", position, value: slopes_per_um[position] });
        }
        let wavelength_um = self.section.wavelength_um();
        let materials = self.confinement.iter().zip(indices).zip(slopes_per_um);
        Ok(materials.map(|((share, index), slope)| share * (index - wavelength_um * slope)).sum())
    }

    /// How far the effective index moves when the order of the elements is one less on the same mesh: an upper
    /// estimate of its error. Takes about half as long as the mode itself.
    ///
    /// # Errors
    /// [`VectorError::NotConverged`].
    pub fn error_estimate(&self) -> Result<f64, VectorError> {
        let settled = Settled { value: 1e-10, loss: 1e-3 };
        let problem = Problem::new(&self.section, self.problem.window.clone(), self.settings.order - 1)?;
        let start = problem.project(|u, z| self.problem.parts(&self.solution, u, z).unwrap_or_default());
        let coarse = problem.solve(self.n_eff_re, &start, settled)?;
        Ok((coarse.n_eff - self.solution.n_eff).abs())
    }

    /// The section it belongs to.
    pub fn section(&self) -> &CrossSection {
        &self.section
    }
}
