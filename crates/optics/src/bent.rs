//! Modes of a bent slab.
//!
//! F = E along the bend axis (TE, q = 1) or H along it (TM, q = n²) obeys
//! `q (1/r) d/dr((r/q) dF/dr) + (k₀² n² − ν²/r²) F = 0`. The field goes as `exp(i(ν·angle − ωt))`, and
//! `n_eff = ν/(k₀ R)` with R to the **middle of the core**; Im ν > 0 is loss:
//!
//! ```text
//! loss per 90° = 20 log₁₀(e) · Im ν · π/2                 (dB; does not depend on which radius is called R)
//! loss per length = 20 log₁₀(e) · Im ν/R                  (dB/µm)
//! ```
//!
//! The equation is solved by spectral elements along r, on the real axis up to the radiation caustic
//! `r_c = Re ν/(k₀ n_out)` and on the complex path `r_c + (1 + i) t` beyond it, where the outgoing wave decays; the
//! coefficients are taken at the complex r, so nothing is reflected. Below [`TUNNELLING_BELOW_DB_PER_90DEG`] the loss
//! comes from the tunnelling formula and the real field, which works on logarithms.

use std::sync::Arc;

use crate::basis::Basis;
use crate::bent_field::BentField;
use crate::complex::Complex;
use crate::error::{CoreSide, LightError, check_core, check_index, check_length, check_wavelength};
use crate::mesh::{Layers, Mesh, MeshSettings};
use crate::pencil::Pencil;
use crate::slab::{Slab, SlabPolarisation};
use crate::start::Start;
use crate::tunnelling::ln_nu_im;

/// `20 log₁₀ e`: decibels per unit of amplitude decay.
pub const DB_PER_NEPER: f64 = 8.685_889_638_065_037;

/// Below this loss the tunnelling formula takes over from the eigenvalue; it is then good to better than 2e-5.
pub const TUNNELLING_BELOW_DB_PER_90DEG: f64 = 1e-12;

/// Smallest loss worth showing as a number, dB per 90°; below it say "< 1e-12 dB".
pub const LEAST_SHOWN_DB_PER_90DEG: f64 = 1e-12;

/// Order of the elements unless another is asked for.
pub const STANDARD_ORDER: usize = 6;

/// A core between an inner and an outer cladding, to be bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BentSlab {
    /// Vacuum wavelength, µm.
    pub wavelength_um: f64,
    /// Width of the core, µm.
    pub width_um: f64,
    /// Index of the cladding on the inner side of the bend.
    pub n_in: f64,
    /// Index of the core.
    pub n_core: f64,
    /// Index of the cladding on the outer side.
    pub n_out: f64,
    /// TE: E along the bend axis; TM: H along it. A guide in the wafer plane has its quasi-TE mode here as TM.
    pub polarisation: SlabPolarisation,
    /// Mode number, 0 first.
    pub mode: usize,
}

/// How a bend loss was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BendMethod {
    /// Imaginary part of the eigenvalue on the complex path.
    Rigorous,
    /// Tunnelling formula on the real field.
    Tunnelling,
}

/// A mode of a [`BentSlab`] at one radius.
#[derive(Debug, Clone, PartialEq)]
pub struct BentMode {
    /// Radius to the middle of the core, µm.
    pub radius_um: f64,
    /// Re ν, per radian.
    pub nu_re: f64,
    /// ln Im ν; finite also where Im ν itself would underflow.
    pub ln_nu_im: f64,
    /// Re `n_eff`, with R to the middle of the core. It may exceed the core index: the mode then runs near the outer
    /// edge, on a longer path.
    pub n_eff_re: f64,
    /// Loss per 90°, dB.
    pub loss_db_per_90deg: f64,
    /// Where the loss comes from.
    pub method: BendMethod,
    /// Radiation caustic, as an outward offset from the core's middle, µm: beyond it the field is radiation. All
    /// results assume that the outer cladding reaches at least to it.
    pub caustic_offset_um: f64,
    /// Field on the real axis, from deep in the inner cladding to the caustic or to where it has died out.
    pub field: BentField,
    /// Inverse iterations done.
    pub iterations: usize,
    /// Last relative change of the eigenvalue or of its imaginary part, whichever is larger.
    pub residual: f64,
}

impl BentMode {
    /// Im `n_eff`.
    pub fn n_eff_im(&self) -> f64 {
        self.ln_nu_im.exp() * self.n_eff_re / self.nu_re
    }

    /// Loss per length at the middle of the core, dB/cm.
    pub fn loss_db_per_cm(&self) -> f64 {
        const UM_PER_CM: f64 = 1e4;
        DB_PER_NEPER * self.ln_nu_im.exp() / self.radius_um * UM_PER_CM
    }
}

/// `ln` of Im ν for a loss per 90° in dB.
pub(crate) fn ln_nu_im_of_loss(loss_db_per_90deg: f64) -> f64 {
    (loss_db_per_90deg / (DB_PER_NEPER * std::f64::consts::FRAC_PI_2)).ln()
}

/// Loss per 90° in dB of `ln` Im ν.
pub(crate) fn loss_of_ln_nu_im(ln_nu_im: f64) -> f64 {
    DB_PER_NEPER * std::f64::consts::FRAC_PI_2 * ln_nu_im.exp()
}

/// Least radius in half core widths.
const LEAST_RADIUS_HALF_WIDTHS: f64 = 1.1;

impl BentSlab {
    /// The slab bent to the left (κ > 0): its left cladding is the inner one.
    pub fn left(slab: &Slab, polarisation: SlabPolarisation) -> Self {
        Self {
            wavelength_um: slab.wavelength_um,
            width_um: slab.width_um,
            n_in: slab.n_left,
            n_core: slab.n_core,
            n_out: slab.n_right,
            polarisation,
            mode: 0,
        }
    }

    /// The slab bent to the right (κ < 0): its right cladding is the inner one.
    pub fn right(slab: &Slab, polarisation: SlabPolarisation) -> Self {
        Self::left(&slab.mirrored(), polarisation)
    }

    /// The same core straight, its inner cladding on the left.
    pub fn straight(&self) -> Slab {
        Slab {
            wavelength_um: self.wavelength_um,
            width_um: self.width_um,
            n_core: self.n_core,
            n_left: self.n_in,
            n_right: self.n_out,
        }
    }

    /// Checks that all values are sensible and that the core has the highest index.
    ///
    /// # Errors
    /// [`LightError::Wavelength`], [`LightError::Length`], [`LightError::Index`], [`LightError::CoreBelowCladding`].
    pub fn check(&self) -> Result<(), LightError> {
        check_wavelength(self.wavelength_um)?;
        check_length("core width", self.width_um)?;
        check_index("core", self.n_core)?;
        check_index("inner cladding", self.n_in)?;
        check_index("outer cladding", self.n_out)?;
        check_core(self.n_core, self.n_in, CoreSide::Beside)?;
        check_core(self.n_core, self.n_out, CoreSide::Beside)
    }

    /// The mode at a radius to the middle of the core. For several radii keep a [`BentSolver`].
    ///
    /// # Errors
    /// As [`BentSolver::solve`].
    pub fn solve(&self, radius_um: f64) -> Result<BentMode, LightError> {
        BentSolver::new().solve(self, radius_um)
    }

    /// Index at the outward offset `u_um` from the core's middle.
    pub(crate) fn index_at(&self, u_um: f64) -> f64 {
        let half = 0.5 * self.width_um;
        if u_um > half {
            self.n_out
        } else if u_um < -half {
            self.n_in
        } else {
            self.n_core
        }
    }

    /// Least radius accepted, µm.
    pub(crate) fn least_radius_um(&self) -> f64 {
        0.5 * self.width_um * LEAST_RADIUS_HALF_WIDTHS
    }

    fn layers(&self, radius_um: f64) -> Layers {
        let k0 = std::f64::consts::TAU / self.wavelength_um;
        let half = 0.5 * k0 * self.width_um;
        Layers {
            curvature: 1.0 / (k0 * radius_um),
            inner_edge: -half,
            outer_edge: half,
            n_in: self.n_in,
            n_core: self.n_core,
            n_out: self.n_out,
            q_in: self.polarisation.weight(self.n_in),
            q_core: self.polarisation.weight(self.n_core),
            q_out: self.polarisation.weight(self.n_out),
        }
    }
}

/// Solver for bent modes; it keeps its buffers from one call to the next.
///
/// Elements of order p span a phase of 2 each; with p = 6 the effective index is good to 1e-8 or better
/// and the loss to 1e-7, with p = 8 to 1e-11 and 1e-10 (for losses of 1e-12 to 10 dB per 90°).
#[derive(Debug, Clone)]
pub struct BentSolver {
    basis: Arc<Basis>,
    settings: MeshSettings,
    mesh: Mesh,
    pencil: Pencil,
    start: Start,
    mode: Vec<Complex>,
    scaled: Vec<Complex>,
}

impl Default for BentSolver {
    fn default() -> Self {
        Self::new()
    }
}

/// Phase or decay per element.
const PHASE: f64 = 2.0;
/// The field is cut where it has fallen by e^(−this) on the inner side …
const INNER_DECAY: f64 = 18.0;
/// … and on the outer side; a mode that decays so far before its caustic loses less than 1e-13 dB per 90°.
const OUTER_DECAY: f64 = 22.0;
/// Decay along the complex path, for orders up to 6 and above.
const TAIL_DECAY: f64 = 14.0;
const LONG_TAIL_DECAY: f64 = 20.0;
/// Inverse iterations before the shift is moved to the current estimate.
const ITERATIONS_PER_SHIFT: usize = 2;
/// Moves of the shift.
const MOST_SHIFTS: usize = 3;
const MOST_ITERATIONS: usize = 60;
/// Relative change of N² at which the iteration has settled.
const SETTLED: f64 = 4e-15;
/// Relative change of its imaginary part at which the iteration has settled.
const LOSS_SETTLED: f64 = 1e-9;

impl BentSolver {
    /// A solver with elements of the standard order.
    ///
    /// # Panics
    /// Never: the standard order is valid.
    pub fn new() -> Self {
        Self::with_order(STANDARD_ORDER).expect("the standard order is within the accepted range")
    }

    /// A solver with elements of order `order`, 2 to 12.
    ///
    /// # Errors
    /// [`LightError::Number`] for an order out of range.
    pub fn with_order(order: usize) -> Result<Self, LightError> {
        let tail_decay = if order > STANDARD_ORDER { LONG_TAIL_DECAY } else { TAIL_DECAY };
        Ok(Self {
            basis: Arc::new(Basis::new(order)?),
            settings: MeshSettings {
                phase: PHASE,
                inner_decay: INNER_DECAY,
                tail_decay,
                outer_decay: OUTER_DECAY,
                slope: 1.0,
            },
            mesh: Mesh::default(),
            pencil: Pencil::default(),
            start: Start::default(),
            mode: Vec::new(),
            scaled: Vec::new(),
        })
    }

    /// Mode of `slab` bent to `radius_um`, the radius to the middle of the core.
    ///
    /// The right mode is found by counting (a Sturm sequence of the problem cut at the caustic), not by following it
    /// from larger radii, so every radius stands alone and gives the same answer in any order.
    ///
    /// # Errors
    /// As [`BentSlab::check`]; [`LightError::Radius`] when the bend is too tight for the core's width;
    /// [`LightError::Unbound`] when the caustic of the mode would lie inside the core;
    /// [`LightError::NotConverged`].
    pub fn solve(&mut self, slab: &BentSlab, radius_um: f64) -> Result<BentMode, LightError> {
        slab.check()?;
        check_length("bend radius", radius_um)?;
        let least_um = slab.least_radius_um();
        if radius_um < least_um {
            return Err(LightError::Radius { radius_um, least_um });
        }
        let solution = self.solve_layers(&slab.layers(radius_um), slab.mode, radius_um)?;
        let k0 = std::f64::consts::TAU / slab.wavelength_um;
        let field = BentField::new(
            slab,
            radius_um,
            solution.n_eff,
            &self.basis,
            &self.mesh,
            &self.pencil,
            &self.mode,
        );
        Ok(BentMode {
            radius_um,
            nu_re: solution.n_eff * k0 * radius_um,
            ln_nu_im: solution.ln_nu_im,
            n_eff_re: solution.n_eff,
            loss_db_per_90deg: loss_of_ln_nu_im(solution.ln_nu_im),
            method: solution.method,
            caustic_offset_um: radius_um * (solution.n_eff / slab.n_out - 1.0),
            field,
            iterations: solution.iterations,
            residual: solution.residual,
        })
    }

    fn solve_layers(&mut self, layers: &Layers, mode: usize, radius_um: f64) -> Result<Solution, LightError> {
        let unbound = LightError::Unbound { radius_um, mode };
        let guess = self.start.effective_index(layers, mode).ok_or_else(|| unbound.clone())?;
        self.mesh.build(layers, guess, &self.settings);
        self.pencil.assemble(&self.basis, layers, &self.mesh);
        self.start_field(layers, mode);
        let is_real = self.mesh.tail.is_empty();

        let mut shift = guess * guess;
        let mut shifts = 0;
        self.pencil.factor(shift);
        let mut last: Option<Complex> = None;
        let mut residual = f64::INFINITY;
        // A change of the imaginary part that only moves losses below the tunnelling limit does not matter.
        let floor = 2.0
            * guess
            * layers.curvature
            * ln_nu_im_of_loss(TUNNELLING_BELOW_DB_PER_90DEG).exp()
            * LOSS_SETTLED;
        for iteration in 1..=MOST_ITERATIONS {
            let eigenvalue = self.iterate(shift).ok_or(LightError::NotConverged {
                radius_um,
                iterations: iteration,
                residual,
            })?;
            if let Some(last) = last {
                let change = eigenvalue - last;
                let real = change.re.abs() / eigenvalue.re.abs();
                let imaginary = if is_real || change.im.abs() <= floor {
                    0.0
                } else {
                    change.im.abs() / eigenvalue.im.abs().max(f64::MIN_POSITIVE)
                };
                residual = real.max(imaginary);
                if real <= SETTLED && imaginary <= LOSS_SETTLED {
                    if !self.is_mode(layers, mode) {
                        return Err(unbound);
                    }
                    return self.finish(layers, eigenvalue, iteration, residual).ok_or(unbound);
                }
            }
            last = Some(eigenvalue);
            if iteration % ITERATIONS_PER_SHIFT == 0 && shifts < MOST_SHIFTS && residual > SETTLED {
                shifts += 1;
                shift = eigenvalue.re;
                self.pencil.factor(shift);
            }
        }
        Err(LightError::NotConverged { radius_um, iterations: MOST_ITERATIONS, residual })
    }

    /// A real field with the right number of zeros, in the core only.
    fn start_field(&mut self, layers: &Layers, mode: usize) {
        let width = layers.outer_edge - layers.inner_edge;
        let turns = (mode + 1) as f64 * std::f64::consts::PI / width;
        self.mode.clear();
        self.mode.resize(self.pencil.nodes(), Complex::ZERO);
        for (value, &x) in self.mode.iter_mut().zip(&self.pencil.positions) {
            if x > layers.inner_edge && x < layers.outer_edge {
                value.re = (turns * (x - layers.inner_edge)).sin();
            }
        }
    }

    /// One inverse iteration; returns N², or `None` when the numbers have run away.
    ///
    /// With x = (A − σB)⁻¹ B y the Rayleigh quotient (without conjugation) is σ + (xᵀ B y)/(xᵀ B x), which keeps the
    /// digits of a small imaginary part.
    fn iterate(&mut self, shift: f64) -> Option<Complex> {
        let mass = self.pencil.mass();
        self.scaled.clear();
        self.scaled.extend(self.mode.iter().zip(mass).map(|(&value, &mass)| value * mass));
        self.mode.copy_from_slice(&self.scaled);
        self.pencil.solve(&mut self.mode);
        let mass = self.pencil.mass();
        let (mut with_last, mut with_self) = (Complex::ZERO, Complex::ZERO);
        for ((&value, &right), &mass) in self.mode.iter().zip(&self.scaled).zip(mass) {
            with_last += value * right;
            with_self += value * value * mass;
        }
        let order = self.basis.order;
        let core = self.mesh.core.start * order..=self.mesh.core.end * order;
        let largest = self.mode[core]
            .iter()
            .copied()
            .max_by(|a, b| a.norm_sqr().total_cmp(&b.norm_sqr()))
            .filter(|value| value.norm_sqr() > 0.0 && value.norm_sqr().is_finite())?;
        let scale = largest.recip();
        for value in &mut self.mode {
            *value = *value * scale;
        }
        let eigenvalue = Complex::real(shift) + with_last / with_self;
        (eigenvalue.re.is_finite() && eigenvalue.im.is_finite()).then_some(eigenvalue)
    }

    /// Whether the field has as many zeros in the core as the mode number says.
    fn is_mode(&self, layers: &Layers, mode: usize) -> bool {
        // Far from the outer edge of a wide core the field may be rounding noise.
        const LEAST_FIELD: f64 = 1e-6;
        let values = self.pencil.positions.iter().zip(&self.mode).filter(|(x, value)| {
            **x >= layers.inner_edge && **x <= layers.outer_edge && value.re.abs() > LEAST_FIELD
        });
        let (mut zeros, mut last) = (0, 0.0);
        for (_, value) in values {
            if last * value.re < 0.0 {
                zeros += 1;
            }
            last = value.re;
        }
        zeros == mode
    }

    fn finish(
        &self,
        layers: &Layers,
        eigenvalue: Complex,
        iterations: usize,
        residual: f64,
    ) -> Option<Solution> {
        let root = eigenvalue.sqrt();
        let n_eff = root.re;
        let rigorous = (root.im > 0.0).then(|| (root.im / layers.curvature).ln());
        let limit = ln_nu_im_of_loss(TUNNELLING_BELOW_DB_PER_90DEG);
        let (ln_nu_im, method) = if let Some(ln) = rigorous.filter(|&ln| ln >= limit) {
            (ln, BendMethod::Rigorous)
        } else {
            let norm: f64 = self
                .mode
                .iter()
                .zip(self.pencil.mass())
                .take(self.pencil.positions.len())
                .map(|(value, mass)| value.re * value.re * mass.re)
                .sum();
            let edge = self.mode[self.mesh.core.end * self.basis.order].re;
            (ln_nu_im(layers, n_eff, edge, norm)?, BendMethod::Tunnelling)
        };
        (n_eff.is_finite() && ln_nu_im.is_finite()).then_some(Solution {
            n_eff,
            ln_nu_im,
            method,
            iterations,
            residual,
        })
    }
}

/// Eigenvalue and how it was reached.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Solution {
    pub(crate) n_eff: f64,
    pub(crate) ln_nu_im: f64,
    pub(crate) method: BendMethod,
    iterations: usize,
    residual: f64,
}

#[cfg(test)]
mod tests;
