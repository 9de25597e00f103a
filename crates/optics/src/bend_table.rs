//! Bend and transition loss of one cross-section as a function of curvature, by look-up.
//!
//! ln Im ν is nearly linear in R, so it is tabulated at geometrically spaced radii and splined against R (not-a-knot
//! ends); against ln R the error would be three times as large. Transitions are tabulated as
//!
//! ```text
//! S(κ) = −ln η(0 → κ)/κ²,   M(κ) = −ln η(κ → −κ)/(2κ)²,   P(κ) = −ln η(κ/2 → κ)/(κ/2)²,   all → T_t for κ → 0
//! ```
//!
//! By symmetry `−ln η(κ₁ → κ₂) = (κ₁ − κ₂)² G` with `G = T_t + a (κ₁² + κ₂²) + b κ₁κ₂ + …`, so with
//! `K² = κ₁² + κ₂²` and `ρ = κ₁κ₂/K²` every joint follows from the parabola in ρ through M(K/√2) at ρ = −½, S(K) at 0
//! and P(K/√1.25) at 0.4. It is exact on the three families and, for small K, everywhere. Derived here.

mod build;
mod correction;

use correction::Correction;

use crate::bent::{BentSlab, DB_PER_NEPER, loss_of_ln_nu_im};
use crate::channel::Core;
use crate::error::LightError;
use crate::slab_mode::SlabMode;
use crate::spline::Spline;

pub use build::BendTableSettings;

/// Decibels per unit of `−ln η`: 10 log₁₀ e.
pub(crate) const DB_PER_LN_POWER: f64 = 0.5 * DB_PER_NEPER;

/// What the numbers of a [`BendTable`] mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TableBasis {
    /// The lateral slab as it is: exact for a slab, an estimate for a core reduced to one (a factor 0.5 to 1.9 off
    /// for buried cores and ribs).
    LateralSlab,
    /// A strip on a substrate or under a cover of higher index than its sides: the outer cladding was given the
    /// highest index around. About seven times too high in dB; only a pessimistic first figure, and
    /// "more than" at its tight end means more than this figure, not more than the true loss.
    Pessimistic,
    /// The lateral slab with its bend loss corrected at some radii by a better model, see [`BendTable::corrected`].
    Corrected,
}

/// Where a curvature lies in a [`BendTable`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CurvatureRange {
    /// Within the tabulated radii.
    Tabulated,
    /// Wider than the tabulated radii: the loss is continued straight in R and negligible.
    Wider,
    /// Tighter than the least tabulated radius: beyond the table. All that is said is that the bend loses more than
    /// this.
    Tighter {
        /// The least tabulated radius, µm.
        least_radius_um: f64,
        /// Loss there, dB per 90°.
        more_than_db_per_90deg: f64,
    },
}

/// Bend loss summed over many pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatchLoss {
    /// Sum of loss per length times length, dB; a lower bound when `is_beyond_table`.
    pub bend_db: f64,
    /// Whether any curvature was beyond the table's tight end.
    pub is_beyond_table: bool,
}

/// Bends to one side.
#[derive(Debug, Clone, PartialEq)]
struct SideTable {
    slab: BentSlab,
    /// ln Im ν against R, µm.
    ln_nu_im: Spline,
    /// Re `n_eff` − `n_eff(0)` against |κ|, 1/µm.
    index_shift: Spline,
    /// S and P against |κ|, µm².
    joint_um2: Spline,
    ease_um2: Spline,
}

/// Loss of bends and of curvature jumps for one cross-section, wavelength and polarisation.
///
/// Curvatures are signed, positive to the left; only an asymmetric slab tells the sides apart. A look-up takes some
/// ten nanoseconds. With the standard 16 radii the interpolated loss is within 3e-4 (relative) of the solver's.
#[derive(Debug, Clone, PartialEq)]
pub struct BendTable {
    straight: SlabMode,
    guided_modes: usize,
    basis: TableBasis,
    left: SideTable,
    /// Absent when it is the same as the left one.
    right: Option<SideTable>,
    /// M against |κ|, µm².
    turn_um2: Spline,
    transition_um2: f64,
    least_radius_um: f64,
    greatest_radius_um: f64,
    correction: Option<Correction>,
}

impl BendTable {
    fn side(&self, curvature_per_um: f64) -> &SideTable {
        match &self.right {
            Some(right) if curvature_per_um < 0.0 => right,
            _ => &self.left,
        }
    }

    /// ln Im ν at a radius within the table or wider, correction included.
    fn ln_nu_im(&self, curvature_per_um: f64, radius_um: f64) -> f64 {
        let slab = self.side(curvature_per_um).ln_nu_im.at(radius_um);
        slab + self.correction.as_ref().map_or(0.0, |c| c.ln_factor(radius_um))
    }

    /// Loss per length `20 log₁₀(e) · Im ν · |κ|`, dB/µm.
    ///
    /// Beyond the tight end (see [`Self::range_of`]) Im ν is held at its last value, which gives a lower bound. A
    /// curvature that is not a finite number gives infinity.
    pub fn loss_db_per_um(&self, curvature_per_um: f64) -> f64 {
        let curvature = curvature_per_um.abs();
        let radius = curvature.recip().max(self.least_radius_um);
        if !curvature.is_finite() {
            return f64::INFINITY;
        }
        DB_PER_NEPER * self.ln_nu_im(curvature_per_um, radius).exp() * curvature
    }

    /// Loss per 90° of bend, dB, at a signed curvature; as [`Self::loss_db_per_um`].
    pub fn loss_db_per_90deg(&self, curvature_per_um: f64) -> f64 {
        let radius = curvature_per_um.abs().recip().max(self.least_radius_um);
        if radius.is_nan() {
            return f64::INFINITY;
        }
        loss_of_ln_nu_im(self.ln_nu_im(curvature_per_um, radius))
    }

    /// Loss per length, dB/µm, at many curvatures; `losses` takes one value per curvature, in the same order.
    ///
    /// # Errors
    /// [`LightError::SliceLength`] when the slices differ in length.
    pub fn losses_db_per_um(&self, curvatures_per_um: &[f64], losses: &mut [f64]) -> Result<(), LightError> {
        same_length(losses.len(), curvatures_per_um.len())?;
        for (loss, &curvature) in losses.iter_mut().zip(curvatures_per_um) {
            *loss = self.loss_db_per_um(curvature);
        }
        Ok(())
    }

    /// Bend loss of a path in pieces: `Σ α(κ_i) ℓ_i`. No allocation: made for maps.
    ///
    /// # Errors
    /// [`LightError::SliceLength`] when the slices differ in length; [`LightError::Entry`] when the sum is not finite
    /// because some value is not.
    pub fn bend_loss_db(
        &self,
        lengths_um: &[f64],
        curvatures_per_um: &[f64],
    ) -> Result<BatchLoss, LightError> {
        same_length(lengths_um.len(), curvatures_per_um.len())?;
        let (mut bend_db, mut greatest) = (0.0, 0.0_f64);
        for (&length, &curvature) in lengths_um.iter().zip(curvatures_per_um) {
            bend_db += length * self.loss_db_per_um(curvature);
            greatest = greatest.max(curvature.abs());
        }
        if !f64::is_finite(bend_db) {
            return Err(first_bad_entry(lengths_um, curvatures_per_um));
        }
        Ok(BatchLoss { bend_db, is_beyond_table: greatest * self.least_radius_um > 1.0 })
    }

    /// Where a curvature lies in the table.
    pub fn range_of(&self, curvature_per_um: f64) -> CurvatureRange {
        let curvature = curvature_per_um.abs();
        if curvature * self.greatest_radius_um < 1.0 {
            CurvatureRange::Wider
        } else if curvature * self.least_radius_um <= 1.0 {
            CurvatureRange::Tabulated
        } else {
            CurvatureRange::Tighter {
                least_radius_um: self.least_radius_um,
                more_than_db_per_90deg: self
                    .loss_db_per_90deg(self.least_radius_um.recip().copysign(curvature_per_um)),
            }
        }
    }

    /// Whether the table can tell the loss at this curvature (wider bends included).
    pub fn in_range(&self, curvature_per_um: f64) -> bool {
        curvature_per_um.abs() * self.least_radius_um <= 1.0
    }

    /// Loss where the signed curvature jumps from one value to another, dB; 0 for equal ones.
    ///
    /// Against the overlap of the fields: 0.1 % off for straight to bend and bend to opposite bend; 0.6 % between
    /// unequal opposite bends and 4 % between bends to the same side that lose less than 0.01 dB per 90°, and more
    /// where they lose more or the core is in air. Beyond the table the factor is held and the result only an
    /// estimate. Curvatures that are not finite numbers give infinity.
    pub fn transition_db(&self, before_per_um: f64, after_per_um: f64) -> f64 {
        let jump = before_per_um - after_per_um;
        if jump == 0.0 {
            return 0.0;
        }
        let square = before_per_um * before_per_um + after_per_um * after_per_um;
        let product = before_per_um * after_per_um / square;
        let total = square.sqrt();
        let one_side = |side: &SideTable| {
            parabola(
                product,
                at_most(&self.turn_um2, total * std::f64::consts::FRAC_1_SQRT_2),
                at_most(&side.joint_um2, total),
                at_most(&side.ease_um2, total / (1.0 + EASE * EASE).sqrt()),
            )
        };
        let factor_um2 = if self.right.is_none() {
            one_side(&self.left)
        } else {
            let share = before_per_um * before_per_um / square;
            share * one_side(self.side(before_per_um)) + (1.0 - share) * one_side(self.side(after_per_um))
        };
        let loss = DB_PER_LN_POWER * jump * jump * factor_um2.max(0.0);
        if loss.is_nan() { f64::INFINITY } else { loss }
    }

    /// Transition coefficient `T_t`, µm²: a small jump loses `4.343 T_t (κ₁ − κ₂)²` dB.
    pub fn transition_um2(&self) -> f64 {
        self.transition_um2
    }

    /// Difference `Δβ = k₀ (N − n_clad)` between the mode and the light in the cladding, 1/µm.
    pub fn phase_mismatch_per_um(&self) -> f64 {
        let slab = self.straight.slab();
        slab.wave_number_per_um() * (self.straight.n_eff - slab.n_left.max(slab.n_right))
    }

    /// Length `4π/Δβ` above which a ramp of curvature counts as adiabatic and below which two joints interfere, µm.
    pub fn adiabatic_length_um(&self) -> f64 {
        2.0 * std::f64::consts::TAU / self.phase_mismatch_per_um()
    }

    /// Upper bound of the loss of a ramp, linear in length, from one curvature to another, dB: the loss of the jump
    /// times `|sin(Δβ ℓ/2)/(Δβ ℓ/2)|²`. Length 0 is the jump itself.
    pub fn ramp_db(&self, before_per_um: f64, after_per_um: f64, length_um: f64) -> f64 {
        let half_phase = 0.5 * self.phase_mismatch_per_um() * length_um.abs();
        let share = if half_phase > 0.0 { (half_phase.sin() / half_phase).powi(2) } else { 1.0 };
        let jump = self.transition_db(before_per_um, after_per_um);
        if share.is_nan() { jump } else { jump * share }
    }

    /// Re `n_eff` at a signed curvature, with R to the middle of the core. Beyond the table it continues straight.
    pub fn n_eff(&self, curvature_per_um: f64) -> f64 {
        let shift = self.side(curvature_per_um).index_shift.at(curvature_per_um.abs());
        if shift.is_finite() { self.straight.n_eff + shift } else { self.straight.n_eff }
    }

    /// Distance from the core's middle to the radiation caustic of a bend, `R (n_eff/n_out − 1)`, µm; infinite on a
    /// straight.
    ///
    /// If the ribbon's edge is nearer, the light meets the outside before it would be lost, and the loss is an
    /// infinite-cladding estimate on the upper side.
    pub fn caustic_offset_um(&self, curvature_per_um: f64) -> f64 {
        let outer = self.side(curvature_per_um).slab.n_out;
        let offset = (self.n_eff(curvature_per_um) / outer - 1.0) / curvature_per_um.abs();
        if offset.is_nan() { f64::INFINITY } else { offset.max(0.0) }
    }

    /// Least radius tabulated, µm: the one asked for, or where the bend loses about 10 dB per 90°.
    pub fn least_radius_um(&self) -> f64 {
        self.least_radius_um
    }

    /// Greatest radius tabulated, µm: the bend loses about 1e-14 dB per 90° there.
    pub fn greatest_radius_um(&self) -> f64 {
        self.greatest_radius_um
    }

    /// The straight mode.
    pub fn straight(&self) -> &SlabMode {
        &self.straight
    }

    /// Number of modes of this polarisation that the straight slab guides. All losses are those of mode 0; with more
    /// than one, a jump of curvature also excites the others.
    pub fn guided_modes(&self) -> usize {
        self.guided_modes
    }

    /// What the numbers mean.
    pub fn basis(&self) -> TableBasis {
        self.basis
    }
}

/// Bend loss of a core that is curved both in the wafer plane and out of it, dB/µm.
///
/// The two losses add up; a core within 20 % of square is taken as round instead, with `|κ| = √(κ_in² + κ_out²)` and
/// the larger of what the two tables say. `upwards_per_um` is positive upwards. An estimate: twist is left out.
pub fn loss_in_both_planes_db_per_um(
    core: &Core,
    in_plane: &BendTable,
    out_of_plane: &BendTable,
    curvature_per_um: f64,
    upwards_per_um: f64,
) -> f64 {
    const NEARLY_SQUARE: f64 = 0.2;
    if (core.width_um / core.height_um - 1.0).abs() > NEARLY_SQUARE {
        return in_plane.loss_db_per_um(curvature_per_um) + out_of_plane.loss_db_per_um(upwards_per_um);
    }
    let total = curvature_per_um.hypot(upwards_per_um);
    in_plane
        .loss_db_per_um(total.copysign(curvature_per_um))
        .max(out_of_plane.loss_db_per_um(total.copysign(upwards_per_um)))
}

impl std::fmt::Display for CurvatureRange {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Tabulated => f.write_str("within the table"),
            Self::Wider => f.write_str("less than 1e-12 dB per 90°"),
            Self::Tighter { more_than_db_per_90deg, .. } => {
                write!(f, "beyond the table: more than {more_than_db_per_90deg:.2} dB per 90°")
            }
        }
    }
}

/// Ratio of the two curvatures of the third tabulated family of joints.
const EASE: f64 = 0.5;

/// Value at ρ of the parabola through the values at −½, 0 and ρ(EASE).
fn parabola(rho: f64, turn: f64, joint: f64, ease: f64) -> f64 {
    const TURN: f64 = -0.5;
    const EASED: f64 = EASE / (1.0 + EASE * EASE);
    turn * rho * (rho - EASED) / (TURN * (TURN - EASED))
        + joint * (rho - TURN) * (rho - EASED) / (TURN * EASED)
        + ease * rho * (rho - TURN) / (EASED * (EASED - TURN))
}

/// The spline's value, held beyond its last knot.
fn at_most(spline: &Spline, x: f64) -> f64 {
    spline.at(x.min(spline.last()))
}

pub(crate) fn same_length(lengths: usize, curvatures: usize) -> Result<(), LightError> {
    if lengths == curvatures { Ok(()) } else { Err(LightError::SliceLength { lengths, curvatures }) }
}

/// The first value that spoils a sum.
pub(crate) fn first_bad_entry(lengths_um: &[f64], curvatures_per_um: &[f64]) -> LightError {
    let bad = |values: &[f64]| values.iter().position(|value| !value.is_finite());
    if let Some(position) = bad(lengths_um) {
        LightError::Entry { what: "length", position, value: lengths_um[position] }
    } else if let Some(position) = bad(curvatures_per_um) {
        LightError::Entry { what: "curvature", position, value: curvatures_per_um[position] }
    } else {
        LightError::Entry { what: "sum of lengths", position: 0, value: f64::INFINITY }
    }
}

#[cfg(test)]
mod tests;
