//! Guided modes of a straight slab.
//!
//! A core of index `n_core` and width d lies between claddings `n_a ≥ n_b`. With `k_t = k₀ √(n_core² − N²)` and
//! `γ_j = k₀ √(N² − n_j²)` mode m (0 first) obeys
//!
//! ```text
//! k_t d = mπ + atan(ρ_a γ_a/k_t) + atan(ρ_b γ_b/k_t),   ρ = 1 (TE),  ρ_j = (n_core/n_j)² (TM)
//! ```
//!
//! Writing `k_t = k₀ √(n_core² − n_a²) sin ϑ`, the left minus the right side rises monotonically with ϑ from
//! `−(m+1)π` at 0 to `V − mπ − atan(ρ_b √δ)` at π/2, where `V = k₀ d √(n_core² − n_a²)` and
//! `δ = (n_a² − n_b²)/(n_core² − n_a²)`. So a bracketed Newton iteration cannot fail, and a mode close to its cutoff
//! loses no digits, because `N² = n_a² + (n_core² − n_a²) cos² ϑ`.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::error::{CoreSide, LightError, check_core, check_index, check_length, check_wavelength};
use crate::slab_mode::SlabMode;

/// Polarisation of a slab mode.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SlabPolarisation {
    /// E parallel to the interfaces (in a bend: along the bend axis).
    Te,
    /// H parallel to the interfaces (in a bend: along the bend axis).
    Tm,
}

impl SlabPolarisation {
    /// Both polarisations.
    pub const ALL: [Self; 2] = [Self::Te, Self::Tm];

    /// Weight q of the field equation: 1 (TE) or n² (TM).
    pub(crate) fn weight(self, index: f64) -> f64 {
        match self {
            Self::Te => 1.0,
            Self::Tm => index * index,
        }
    }
}

/// A straight slab: a core between two claddings. Light runs along x; y points to the left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Vacuum wavelength, µm.
    pub wavelength_um: f64,
    /// Width of the core, µm.
    pub width_um: f64,
    /// Index of the core.
    pub n_core: f64,
    /// Index of the cladding on the left (+y): the inner side of a bend to the left (κ > 0).
    pub n_left: f64,
    /// Index of the cladding on the right (−y): the outer side of a bend to the left.
    pub n_right: f64,
}

/// The slab in the numbers of the module docs, ready for its phase condition.
#[derive(Debug, Clone, Copy)]
struct PhaseCondition {
    /// V.
    strength: f64,
    rho_a: f64,
    rho_b: f64,
    /// δ.
    asymmetry: f64,
}

/// Newton steps with bisection as a net; the phase condition is so smooth that 5 to 8 suffice.
const MOST_STEPS: usize = 80;
/// Rounding error of the phase condition per unit of its size.
const ROUNDING: f64 = 4.0 * f64::EPSILON;

impl PhaseCondition {
    /// Left minus right side for mode 0, and its derivative by ϑ.
    fn evaluate(&self, theta: f64) -> (f64, f64) {
        let (sin, cos) = theta.sin_cos();
        let root = if self.asymmetry == 0.0 { cos } else { (cos * cos + self.asymmetry).sqrt() };
        let slope_b = if self.asymmetry == 0.0 { 1.0 } else { cos * (1.0 + self.asymmetry) / root };
        let a = self.rho_a * cos;
        let b = self.rho_b * root;
        let value = self.strength * sin - a.atan2(sin) - b.atan2(sin);
        let slope = self.strength * cos
            + self.rho_a / (sin * sin + a * a)
            + self.rho_b * slope_b / (sin * sin + b * b);
        (value, slope)
    }

    /// Phase that the core of mode 0 must exceed to guide: `atan(ρ_b √δ)`.
    fn threshold(&self) -> f64 {
        (self.rho_b * self.asymmetry.sqrt()).atan()
    }

    fn mode_count(&self) -> usize {
        let excess = self.strength - self.threshold();
        if excess > 0.0 { (excess / PI).ceil() as usize } else { 0 }
    }

    /// The angle ϑ of mode `mode`, which must be guided.
    fn angle(&self, mode: usize) -> f64 {
        let target = mode as f64 * PI;
        let (mut low, mut high) = (0.0, FRAC_PI_2);
        // Exact for a wide core, where both interface phases are near π/2 − 1/(strength) each.
        let mut theta = ((target + PI) / (self.strength + 2.0)).min(0.95 * FRAC_PI_2);
        for _ in 0..MOST_STEPS {
            let (value, slope) = self.evaluate(theta);
            let excess = value - target;
            if excess < 0.0 {
                low = theta;
            } else {
                high = theta;
            }
            let newton = theta - excess / slope;
            // Below its own rounding error the condition points anywhere: take the last step and stop.
            if excess.abs() <= ROUNDING * (1.0 + self.strength) {
                return newton.clamp(0.0, FRAC_PI_2);
            }
            theta = if newton > low && newton < high { newton } else { f64::midpoint(low, high) };
        }
        theta
    }
}

impl Slab {
    /// Checks that all values are sensible and that the core has the highest index.
    ///
    /// # Errors
    /// [`LightError::Wavelength`], [`LightError::Length`], [`LightError::Index`], [`LightError::CoreBelowCladding`].
    pub fn check(&self) -> Result<(), LightError> {
        check_wavelength(self.wavelength_um)?;
        check_length("core width", self.width_um)?;
        check_index("core", self.n_core)?;
        check_index("left cladding", self.n_left)?;
        check_index("right cladding", self.n_right)?;
        check_core(self.n_core, self.n_left, CoreSide::Left)?;
        check_core(self.n_core, self.n_right, CoreSide::Right)
    }

    /// Vacuum wave number `k₀ = 2π/λ`, 1/µm.
    pub fn wave_number_per_um(&self) -> f64 {
        TAU / self.wavelength_um
    }

    /// The same slab seen from the other side.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        Self { n_left: self.n_right, n_right: self.n_left, ..*self }
    }

    /// Index at `y_um` from the core's middle.
    pub(crate) fn index_at(&self, y_um: f64) -> f64 {
        let half = 0.5 * self.width_um;
        if y_um > half {
            self.n_left
        } else if y_um < -half {
            self.n_right
        } else {
            self.n_core
        }
    }

    fn condition(&self, polarisation: SlabPolarisation) -> PhaseCondition {
        let n_a = self.n_left.max(self.n_right);
        let n_b = self.n_left.min(self.n_right);
        let height = (self.n_core - n_a) * (self.n_core + n_a);
        let core = polarisation.weight(self.n_core);
        PhaseCondition {
            strength: self.wave_number_per_um() * self.width_um * height.sqrt(),
            rho_a: core / polarisation.weight(n_a),
            rho_b: core / polarisation.weight(n_b),
            asymmetry: (n_a - n_b) * (n_a + n_b) / height,
        }
    }

    /// Number of guided modes of one polarisation: `⌈(V − atan(ρ_b √δ))/π⌉`, or 0 when the bracket is negative.
    ///
    /// A symmetric slab always guides mode 0, an asymmetric one does not.
    ///
    /// # Errors
    /// As [`Slab::check`].
    pub fn mode_count(&self, polarisation: SlabPolarisation) -> Result<usize, LightError> {
        self.check()?;
        Ok(self.condition(polarisation).mode_count())
    }

    /// Width at which mode `mode` (0 first) appears, µm: `(mπ + atan(ρ_b √δ))/(k₀ √(n_core² − n_a²))`.
    ///
    /// # Errors
    /// As [`Slab::check`]; the width of this slab does not matter but must be a positive length.
    pub fn cutoff_width_um(&self, polarisation: SlabPolarisation, mode: usize) -> Result<f64, LightError> {
        self.check()?;
        let condition = self.condition(polarisation);
        Ok((mode as f64 * PI + condition.threshold()) * self.width_um / condition.strength)
    }

    /// Mode `mode` (0 first).
    ///
    /// Exact to a few units in the last place; below a microsecond.
    ///
    /// # Errors
    /// As [`Slab::check`]; [`LightError::ModeNotGuided`] when the core is too narrow for this mode.
    pub fn mode(&self, polarisation: SlabPolarisation, mode: usize) -> Result<SlabMode, LightError> {
        self.check()?;
        let condition = self.condition(polarisation);
        let guided = condition.mode_count();
        if mode >= guided {
            return Err(LightError::ModeNotGuided { mode, guided });
        }
        Ok(SlabMode::new(self, polarisation, mode, condition.angle(mode)))
    }

    /// All guided modes of one polarisation, the fundamental first. Empty when the core is too narrow.
    ///
    /// # Errors
    /// As [`Slab::check`].
    pub fn modes(&self, polarisation: SlabPolarisation) -> Result<Vec<SlabMode>, LightError> {
        self.check()?;
        let condition = self.condition(polarisation);
        Ok((0..condition.mode_count())
            .map(|mode| SlabMode::new(self, polarisation, mode, condition.angle(mode)))
            .collect())
    }
}

#[cfg(test)]
mod tests;
