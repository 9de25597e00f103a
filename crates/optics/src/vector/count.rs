//! All guided modes of a straight section, by the Arnoldi method.
//!
//! With `σ = −N_σ²`, `N_σ` a little above the index of the core, the operator `(A − σB)⁻¹B` has the eigenvalues
//! `1/(N_σ² − N²)`, so the highest modes come first and the continuum below the claddings last. The energy `xᵀBx` has
//! either sign for modes that do not propagate, hence Arnoldi in the plain product and not Lanczos in the energy. Every
//! combination of walls in the planes of symmetry is a problem of its own, so that nearly equal modes of different
//! symmetry are kept apart.

use nalgebra::DMatrix;

use super::error::VectorError;
use super::layout::Wall;
use super::mode::VectorSettings;
use super::problem::Problem;
use super::section::CrossSection;
use super::window::{Window, WindowSettings};
use crate::channel::Polarisation;
use crate::complex::Complex;

/// Guided modes of a straight section.
#[derive(Debug, Clone, PartialEq)]
pub struct ModeCount {
    /// Effective indices of all guided modes of both polarisations, highest first. "One mode only" is two here, one
    /// quasi-TE and one quasi-TM.
    pub n_eff: Vec<f64>,
    /// How many of them are within 5e-4 of the claddings and may be lost to a small change.
    pub near_cutoff: usize,
    /// Highest index that light escapes into; modes are above it.
    pub n_cladding: f64,
    /// Factor on the margins of the window from which on their number stayed the same.
    pub margins: f64,
    /// Whether it stayed the same at all; if not, a mode is at its cutoff.
    pub settled: bool,
}

/// Growth of the margins from one count to the next.
const MARGIN_GROWTH: f64 = 2.5;
const MOST_WINDOWS: usize = 4;
/// Least distance of a mode from the claddings.
const LEAST_DISTANCE: f64 = 1e-5;
const NEAR_CUTOFF: f64 = 5e-4;
/// The shift lies this share above the core's N².
const SHIFT_ABOVE: f64 = 1e-3;
/// Arnoldi steps, and how many between looks at the values.
const MOST_STEPS: usize = 160;
const STEPS_PER_LOOK: usize = 16;
/// Change of N at which a value has settled.
const SETTLED: f64 = 1e-7;
/// Imaginary part, relative, below which an eigenvalue counts as real.
const REAL: f64 = 1e-8;

impl CrossSection {
    /// All guided modes of the straight section, of both polarisations.
    ///
    /// The window is enlarged by 2.5 until the number no longer changes, since weak modes reach far out. The indices are
    /// those of coarse elements ([`VectorSettings::COARSE`]); take [`CrossSection::straight_mode`] for the fundamental
    /// ones.
    ///
    /// # Errors
    /// [`VectorError::NotConverged`] when the iteration does not settle.
    pub fn count_modes(&self) -> Result<ModeCount, VectorError> {
        let n_cladding = self.cladding_index();
        let mut fundamental = f64::INFINITY;
        for polarisation in Polarisation::ALL {
            match self.straight_mode_with(polarisation, VectorSettings::COARSE) {
                Ok(mode) => fundamental = fundamental.min(mode.n_eff_re),
                Err(VectorError::NotGuided { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        let mut count =
            ModeCount { n_eff: Vec::new(), near_cutoff: 0, n_cladding, margins: 1.0, settled: true };
        if fundamental.is_infinite() {
            return Ok(count);
        }
        count.n_eff = self.modes_in_window(fundamental, count.margins)?;
        for _ in 1..MOST_WINDOWS {
            let wider = self.modes_in_window(fundamental, count.margins * MARGIN_GROWTH)?;
            count.settled = wider.len() == count.n_eff.len();
            count.n_eff = wider;
            if count.settled {
                break;
            }
            count.margins *= MARGIN_GROWTH;
        }
        count.near_cutoff = count.n_eff.iter().filter(|&&n_eff| n_eff < n_cladding + NEAR_CUTOFF).count();
        Ok(count)
    }

    fn modes_in_window(&self, fundamental: f64, margins: f64) -> Result<Vec<f64>, VectorError> {
        let settings = WindowSettings { layers: VectorSettings::COARSE.layers, margins, n_eff: fundamental };
        let window = Window::straight(self, Polarisation::QuasiTe, &settings);
        let planes = |half: bool| -> &[Wall] {
            if half { &[Wall::Electric, Wall::Magnetic] } else { &[Wall::Electric] }
        };
        let mut n_eff = Vec::new();
        for &wall_u in planes(window.half_u) {
            for &wall_z in planes(window.half_z) {
                let mut window = window.clone();
                window.walls.u[0] = wall_u;
                window.walls.z[0] = wall_z;
                let problem = Problem::new(self, window, VectorSettings::COARSE.order)?;
                n_eff.extend(problem.modes_above(self.core_index(), self.cladding_index() + LEAST_DISTANCE)?);
            }
        }
        n_eff.sort_by(|a, b| b.total_cmp(a));
        Ok(n_eff)
    }
}

impl Problem {
    /// Effective indices above `least` of a real problem, highest first.
    fn modes_above(&self, core_index: f64, least: f64) -> Result<Vec<f64>, VectorError> {
        let shift = core_index * core_index * (1.0 + SHIFT_ABOVE);
        let factors = self.factor(Complex::real(shift));
        // Both polarisations, and nothing symmetric about it.
        let mut x = self.project(|u, z| {
            let bell = Complex::real((-(u / self.core.0).powi(2) - (z / self.core.1).powi(2)).exp());
            let (a, b) = (u / self.core.0, z / self.core.1);
            [
                bell * (1.0 + a + 0.7 * b + 0.3 * a * b),
                bell * (0.8 + 0.6 * a + b - 0.4 * a * b),
                Complex::ZERO,
            ]
        });
        let mut basis: Vec<Vec<Complex>> = Vec::new();
        let mut hessenberg = DMatrix::<f64>::zeros(MOST_STEPS, MOST_STEPS);
        let mut last: Vec<f64> = Vec::new();
        let mut residual = f64::INFINITY;
        for step in 0..MOST_STEPS {
            let norm = product(&x, &x).sqrt();
            if !(norm > 0.0 && norm.is_finite()) {
                return Err(VectorError::NotConverged { iterations: step, residual });
            }
            if step > 0 {
                hessenberg[(step, step - 1)] = norm;
            }
            basis.push(x.iter().map(|&value| value * norm.recip()).collect());
            x = self.energy(&basis[step]);
            factors.solve(&mut x);
            // Twice: the first pass leaves what rounding makes of nearly parallel vectors.
            for _ in 0..2 {
                for (i, vector) in basis.iter().enumerate() {
                    let share = product(&x, vector);
                    hessenberg[(i, step)] += share;
                    for (x, value) in x.iter_mut().zip(vector) {
                        *x -= *value * share;
                    }
                }
            }
            let steps = step + 1;
            if steps % STEPS_PER_LOOK == 0 {
                let small = hessenberg.view((0, 0), (steps, steps)).into_owned();
                let mut values: Vec<f64> = small
                    .complex_eigenvalues()
                    .iter()
                    .filter(|theta| theta.re > 0.0 && theta.im.abs() < REAL * theta.re)
                    .map(|theta| shift - theta.re.recip())
                    .filter(|square| *square > least * least)
                    .map(f64::sqrt)
                    .collect();
                values.sort_by(|a, b| b.total_cmp(a));
                if values.len() == last.len() {
                    residual = values.iter().zip(&last).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
                    if residual < SETTLED {
                        return Ok(values);
                    }
                }
                last = values;
            }
        }
        Err(VectorError::NotConverged { iterations: MOST_STEPS, residual })
    }
}

/// Product of two real vectors.
fn product(a: &[Complex], b: &[Complex]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a.re * b.re).sum()
}
