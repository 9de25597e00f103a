//! Straight and bent modes of a section.

use super::error::VectorError;
use super::layered::Layered;
use super::problem::{Problem, Settled};
use super::result::VectorMode;
use super::section::CrossSection;
use super::window::{Window, WindowSettings, decay};
use crate::bent::BentSlab;
use crate::channel::Polarisation;
use crate::complex::Complex;
use crate::error::{LightError, check_length};
use crate::slab::Slab;

/// How finely a vector mode is solved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VectorSettings {
    /// Order p of the elements, 2 to 6; the default 4 with 2 layers is good to 5e-7 in the
    /// effective index and 6e-4 in the loss up to a contrast of 1.
    pub order: usize,
    /// Layers of short elements on both sides of every interface.
    pub layers: usize,
}

impl Default for VectorSettings {
    fn default() -> Self {
        Self { order: 4, layers: 2 }
    }
}

impl VectorSettings {
    /// Coarse and fast: good to about 4e-6 in the effective index, 2e-5 at a contrast of 1.
    pub const COARSE: Self = Self { order: 3, layers: 1 };
}

/// Greatest order of the elements.
const GREATEST_ORDER: usize = 6;
const GREATEST_LAYERS: usize = 4;
/// The shift lies this far above the guess.
const GUESS_OFFSET: f64 = 1e-3;
/// A window that is shorter than this share of what the mode asks for is made anew.
const WINDOW_SHARE: f64 = 0.9;
const MOST_WINDOWS: usize = 6;
/// Least distance from the claddings of a mode that counts as guided.
const LEAST_DISTANCE: f64 = 1e-5;
/// Share of the transverse field in the core from which a mode is of a polarisation.
const LEAST_PURITY: f64 = 0.5;
/// Modes of the wrong polarisation that are left out before the search is given up.
const MOST_TRIES: usize = 3;
/// Beyond this decay exponent the loss is below 1e-9 dB per 90° for sure.
const MOST_BARRIER: f64 = 14.0;
/// Least loss of a bent mode, dB per 90°.
pub const LEAST_VECTOR_LOSS_DB_PER_90DEG: f64 = 1e-9;

impl CrossSection {
    /// Effective index of the fundamental mode by the effective-index method, as a first guess.
    pub(super) fn guess(&self, polarisation: Polarisation) -> f64 {
        let cladding = self.cladding_index();
        Layered::new(self.lateral_indices(polarisation), &self.y_um, self.k0())
            .mode(polarisation == Polarisation::QuasiTe, 0)
            .filter(|&n_eff| n_eff > cladding)
            .unwrap_or(cladding + 0.02 * (self.core_index() - cladding))
    }

    /// Effective index of the vertical slab in each column.
    fn lateral_indices(&self, polarisation: Polarisation) -> Vec<f64> {
        let magnetic = polarisation == Polarisation::QuasiTm;
        // Without a film beside the core: what is beside its lower face.
        let row = self.core_rows.0;
        (0..self.columns())
            .map(|column| {
                self.column_layers(column).mode(magnetic, 0).unwrap_or_else(|| self.index(column, row))
            })
            .collect()
    }

    /// The straight fundamental mode of a polarisation, with elements of the standard order.
    ///
    /// # Errors
    /// As [`CrossSection::straight_mode_with`].
    pub fn straight_mode(&self, polarisation: Polarisation) -> Result<VectorMode, VectorError> {
        self.straight_mode_with(polarisation, VectorSettings::default())
    }

    /// The straight fundamental mode of a polarisation.
    ///
    /// # Errors
    /// [`VectorError::NotGuided`], [`VectorError::NotConverged`]; [`VectorError::Light`] for settings out of range.
    pub fn straight_mode_with(
        &self,
        polarisation: Polarisation,
        settings: VectorSettings,
    ) -> Result<VectorMode, VectorError> {
        settings.check()?;
        let cladding = self.cladding_index();
        let settled = Settled { value: 1e-11, loss: 1.0 };
        let mut n_eff = self.guess(polarisation);
        let mut shift = n_eff + GUESS_OFFSET;
        for _ in 0..MOST_WINDOWS {
            let made_for = n_eff;
            let window_settings = WindowSettings { layers: settings.layers, margins: 1.0, n_eff };
            let window = Window::straight(self, polarisation, &window_settings);
            let problem = Problem::new(self, window, settings.order)?;
            let start = problem.bell(polarisation);
            let mode = self.find(polarisation, &problem, (shift, settled), &start, 0.0, settings)?;
            n_eff = mode.n_eff_re;
            if decay(made_for, cladding) * WINDOW_SHARE <= decay(n_eff, cladding) {
                if n_eff <= cladding + LEAST_DISTANCE {
                    break;
                }
                return Ok(mode);
            }
            shift = n_eff + GUESS_OFFSET * (n_eff - cladding).clamp(0.0, 1.0);
            n_eff = n_eff.max(cladding + LEAST_DISTANCE);
        }
        Err(VectorError::NotGuided { n_eff, n_cladding: cladding })
    }

    /// The fundamental mode of a polarisation in a bend of signed curvature (1/µm, positive to the left), with elements
    /// of the standard order.
    ///
    /// ```
    /// use ogee_optics::{Core, CrossSection, Polarisation};
    ///
    /// let core = Core {
    ///     wavelength_um: 1.55, width_um: 1.0, height_um: 0.4,
    ///     n_core: 1.98, n_below: 1.444, n_above: 1.444, n_side: 1.444, side_slab_um: None,
    /// };
    /// let mode = CrossSection::of_core(&core)?.bent_mode(Polarisation::QuasiTe, 1.0 / 8.0)?;
    /// assert!((mode.loss_db_per_90deg - 1.0392).abs() < 1e-3);
    /// # Ok::<(), ogee_optics::VectorError>(())
    /// ```
    ///
    /// # Errors
    /// As [`CrossSection::bent_mode_with`].
    pub fn bent_mode(
        &self,
        polarisation: Polarisation,
        curvature_per_um: f64,
    ) -> Result<VectorMode, VectorError> {
        self.bent_mode_with(polarisation, curvature_per_um, VectorSettings::default())
    }

    /// The fundamental mode of a polarisation in a bend of signed curvature, positive to the left.
    ///
    /// * `curvature_per_um`: 1/R with R to the middle of the core, 1/µm.
    ///
    /// # Errors
    /// As [`CrossSection::straight_mode_with`]; [`LightError::Radius`] for a radius of less than half the core's width,
    /// [`LightError::Length`] for a curvature of 0 or not a number; [`VectorError::LossTooSmall`] below
    /// [`LEAST_VECTOR_LOSS_DB_PER_90DEG`].
    pub fn bent_mode_with(
        &self,
        polarisation: Polarisation,
        curvature_per_um: f64,
        settings: VectorSettings,
    ) -> Result<VectorMode, VectorError> {
        settings.check()?;
        let radius_um = curvature_per_um.abs().recip();
        check_length("bend radius", radius_um)?;
        let least_um = 0.5 * self.core_width_um();
        if radius_um <= least_um {
            return Err(LightError::Radius { radius_um, least_um }.into());
        }
        let straight = self.straight_mode_with(polarisation, VectorSettings::COARSE)?;
        let guess = straight.n_eff_re + self.bend_shift(polarisation, curvature_per_um);
        let settled = Settled { value: 1e-10, loss: 1e-5 };
        let too_small = || {
            let least_db = LEAST_VECTOR_LOSS_DB_PER_90DEG;
            VectorError::LossTooSmall { radius_um, least_db }
        };
        if self.barrier(guess, curvature_per_um) > MOST_BARRIER {
            return Err(too_small());
        }
        let window_settings = WindowSettings { layers: settings.layers, margins: 1.0, n_eff: guess };
        let curvature = curvature_per_um / self.k0();
        let window = Window::bent(self, polarisation, curvature, &window_settings);
        let problem = Problem::new(self, window, settings.order)?;
        let start = straight.start_of_bend(&problem, curvature_per_um);
        let mode = self.find(polarisation, &problem, (guess, settled), &start, curvature_per_um, settings)?;
        if mode.loss_db_per_90deg < LEAST_VECTOR_LOSS_DB_PER_90DEG {
            return Err(too_small());
        }
        Ok(mode)
    }

    /// Decay exponent from the core's outer edge to the caustic, `k₀RN (a − tanh a)`, `cosh a = N/(n_out ρ)`.
    fn barrier(&self, n_eff: f64, curvature_per_um: f64) -> f64 {
        let outer = if curvature_per_um > 0.0 { 0 } else { self.columns() - 1 };
        let rho = 1.0 + 0.5 * self.core_width_um() * curvature_per_um.abs();
        let ratio = n_eff / (self.escape_index(outer) * rho);
        if ratio <= 1.0 {
            return 0.0;
        }
        let a = ratio.acosh();
        n_eff * self.k0() / curvature_per_um.abs() * (a - a.tanh())
    }

    /// The mode nearest the guess that is of the polarisation asked for.
    fn find(
        &self,
        polarisation: Polarisation,
        problem: &Problem,
        (guess, settled): (f64, Settled),
        start: &[Complex],
        curvature_per_um: f64,
        settings: VectorSettings,
    ) -> Result<VectorMode, VectorError> {
        let mut others = Vec::new();
        loop {
            let solution = problem.solve_beside(guess, start, settled, &others)?;
            let mode =
                VectorMode::new(self, polarisation, problem.clone(), solution, curvature_per_um, settings);
            if mode.purity() >= LEAST_PURITY || others.len() + 1 >= MOST_TRIES {
                return Ok(mode);
            }
            others.push(mode.into_solution());
        }
    }

    /// How much a bend raises the effective index, by the bent lateral slab; 0 where that has no mode.
    fn bend_shift(&self, polarisation: Polarisation, curvature_per_um: f64) -> f64 {
        let indices = self.lateral_indices(polarisation);
        let (first, last) = self.core_columns;
        let radius_um = curvature_per_um.abs().recip();
        // A bend to the left has its outer side on the right, where y is low.
        let (inner, outer) =
            if curvature_per_um > 0.0 { (last + 1, first - 1) } else { (first - 1, last + 1) };
        let slab = BentSlab {
            wavelength_um: self.wavelength_um(),
            width_um: self.core_width_um(),
            n_core: indices[first],
            n_in: indices[inner],
            n_out: indices[outer],
            polarisation: polarisation.lateral(),
            mode: 0,
        };
        let straight = Slab {
            wavelength_um: slab.wavelength_um,
            width_um: slab.width_um,
            n_core: slab.n_core,
            n_left: slab.n_in,
            n_right: slab.n_out,
        };
        match (slab.solve(radius_um), straight.mode(slab.polarisation, 0)) {
            (Ok(bent), Ok(straight)) => bent.n_eff_re - straight.n_eff,
            _ => 0.0,
        }
    }
}

impl VectorSettings {
    fn check(&self) -> Result<(), LightError> {
        let range = |what, value: usize, least: usize, greatest: usize| {
            if (least..=greatest).contains(&value) {
                Ok(())
            } else {
                let (least, greatest) = (least as f64, greatest as f64);
                Err(LightError::Number { what, value: value as f64, least, greatest })
            }
        };
        range("element order", self.order, 2, GREATEST_ORDER)?;
        range("layers at an interface", self.layers, 0, GREATEST_LAYERS)
    }
}
