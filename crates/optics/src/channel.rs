//! Effective-index estimate of a rectangular core.
//!
//! Three slabs in turn: (i) the vertical slab through the core's middle (`n_below | n_core | n_above`, height `h_c`)
//! gives `N_c`; (ii) the vertical slab beside the core gives `N_s`: for a rib the film left there, else plain `n_side`;
//! (iii) the lateral slab `N_s | N_c | N_s` of width `w_c` gives N. For quasi-TE (E along y) the vertical slabs are TE
//! and the lateral one TM; for quasi-TM (E along z) the other way round. The lateral slab is also what the
//! one-dimensional bend solver bends.
//!
//! Against the full vector solution N is off by 4e-4 (contrast 0.02), 1e-3 (0.05), 1e-2 (0.5), 6e-2 (1.0), always to
//! be called an estimate.

use crate::error::{
    CoreDimension, CoreSide, LightError, check_core, check_index, check_length, check_wavelength,
};
use crate::slab::{Slab, SlabPolarisation};
use crate::slab_mode::SlabMode;

/// Polarisation of a mode of a rectangular core.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Polarisation {
    /// Main electric field in the wafer plane, along y.
    QuasiTe,
    /// Main electric field out of the wafer plane, along z.
    QuasiTm,
}

impl Polarisation {
    /// Both polarisations.
    pub const ALL: [Self; 2] = [Self::QuasiTe, Self::QuasiTm];

    /// Polarisation of the vertical slabs: E along y is parallel to their interfaces.
    pub fn vertical(self) -> SlabPolarisation {
        match self {
            Self::QuasiTe => SlabPolarisation::Te,
            Self::QuasiTm => SlabPolarisation::Tm,
        }
    }

    /// Polarisation of the lateral slab: E along y is normal to its interfaces.
    pub fn lateral(self) -> SlabPolarisation {
        match self {
            Self::QuasiTe => SlabPolarisation::Tm,
            Self::QuasiTm => SlabPolarisation::Te,
        }
    }
}

/// A rectangular light-guiding core and what surrounds it. Its sides are upright: enter a sloped one as its mean
/// width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Core {
    /// Vacuum wavelength, µm.
    pub wavelength_um: f64,
    /// Width `w_c` in the wafer plane, µm.
    pub width_um: f64,
    /// Height `h_c`, µm; for a rib the full film height under the rib.
    pub height_um: f64,
    /// Index of the core.
    pub n_core: f64,
    /// Index below the core.
    pub n_below: f64,
    /// Index above the core.
    pub n_above: f64,
    /// Index beside the core (for a rib: above the film that is left beside it).
    pub n_side: f64,
    /// Thickness of core material left beside the core, µm: a rib. `None` or 0 for a strip or a buried core.
    pub side_slab_um: Option<f64>,
}

/// Derivatives Γ of the effective index of a [`Core`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoreSensitivity {
    /// ∂`N/∂n_core`.
    pub core: f64,
    /// ∂`N/∂n_below`.
    pub below: f64,
    /// ∂`N/∂n_above`.
    pub above: f64,
    /// ∂`N/∂n_side`.
    pub side: f64,
}

/// What the effective-index method says about a [`Core`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EffectiveIndex {
    /// The polarisation it was asked for.
    pub polarisation: Polarisation,
    /// Effective index N of the fundamental mode.
    pub n_eff: f64,
    /// `N_c` of the vertical slab through the core.
    pub vertical_core_index: f64,
    /// `N_s` beside the core.
    pub vertical_side_index: f64,
    /// The lateral slab `N_s | N_c | N_s`.
    pub lateral: Slab,
    /// Its polarisation.
    pub lateral_polarisation: SlabPolarisation,
    /// Number of guided modes over both polarisations and both directions. The estimate holds weak modes too firmly,
    /// so this is rather too many than too few.
    pub mode_count: usize,
    /// Number of modes that are guided for sure: of a core whose claddings are lower in the corners, which separates
    /// into two slabs (`N² = N_y² + N_z² − n_core²`) and guides less. The true number is between the two.
    pub least_mode_count: usize,
    /// One guided mode per polarisation, no more, by `mode_count`.
    pub single_mode: bool,
    /// The core's dimension that is within 5 % of a cutoff, where this estimate cannot tell the number of modes.
    pub near_cutoff: Option<NearCutoff>,
    /// Core width at which one more mode appears sideways, in whichever polarisation comes first, µm.
    pub next_mode_width_um: f64,
    /// Core height at which one more mode appears vertically, µm.
    pub next_mode_height_um: f64,
    core: Core,
}

/// A core dimension close to the cutoff of a mode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearCutoff {
    /// Which dimension.
    pub dimension: CoreDimension,
    /// Polarisation of the mode at cutoff.
    pub polarisation: Polarisation,
    /// Its number in that direction, 0 first.
    pub mode: usize,
    /// The core's dimension, µm.
    pub size_um: f64,
    /// The cutoff, µm.
    pub cutoff_um: f64,
}

/// Relative distance from a cutoff below which the mode count is doubtful.
const NEAR_CUTOFF: f64 = 0.05;

/// One polarisation of a core, before it is known whether it guides.
#[derive(Debug, Clone, Copy)]
struct Reduction {
    polarisation: Polarisation,
    vertical: Slab,
    side_index: f64,
}

impl Core {
    /// Checks that all values are sensible and that the core has the highest index.
    ///
    /// # Errors
    /// [`LightError::Wavelength`], [`LightError::Length`], [`LightError::Index`], [`LightError::CoreBelowCladding`],
    /// [`LightError::Number`] for a side slab that is thicker than the core.
    pub fn check(&self) -> Result<(), LightError> {
        check_wavelength(self.wavelength_um)?;
        check_length("core width", self.width_um)?;
        check_length("core height", self.height_um)?;
        check_index("core", self.n_core)?;
        for (name, index, side) in [
            ("below the core", self.n_below, CoreSide::Below),
            ("above the core", self.n_above, CoreSide::Above),
            ("beside the core", self.n_side, CoreSide::Beside),
        ] {
            check_index(name, index)?;
            check_core(self.n_core, index, side)?;
        }
        match self.side_slab_um {
            Some(slab_um) if !(0.0..self.height_um).contains(&slab_um) => Err(LightError::Number {
                what: "side slab thickness in µm",
                value: slab_um,
                least: 0.0,
                greatest: self.height_um,
            }),
            _ => Ok(()),
        }
    }

    /// The core turned by 90° about its axis (the left side becomes the bottom); `None` for a rib.
    #[must_use]
    pub fn turned(&self) -> Option<Self> {
        if self.side_slab_um.is_some_and(|slab_um| slab_um > 0.0) || self.n_below != self.n_above {
            return None;
        }
        Some(Self {
            width_um: self.height_um,
            height_um: self.width_um,
            n_below: self.n_side,
            n_above: self.n_side,
            n_side: self.n_below,
            ..*self
        })
    }

    /// Index of the layer below or above that is higher, and where it is.
    fn highest_vertical_cladding(&self) -> (f64, CoreSide) {
        if self.n_above > self.n_below {
            (self.n_above, CoreSide::Above)
        } else {
            (self.n_below, CoreSide::Below)
        }
    }

    fn reduce(&self, polarisation: Polarisation) -> Result<Reduction, LightError> {
        let vertical = Slab {
            wavelength_um: self.wavelength_um,
            width_um: self.height_um,
            n_core: self.n_core,
            n_left: self.n_above,
            n_right: self.n_below,
        };
        let side_index = match self.side_slab_um {
            Some(slab_um) if slab_um > 0.0 => {
                let film = Slab { width_um: slab_um, n_left: self.n_side, ..vertical };
                match film.mode(polarisation.vertical(), 0) {
                    Ok(mode) => mode.n_eff,
                    Err(LightError::ModeNotGuided { .. }) => self.n_below.max(self.n_side),
                    Err(error) => return Err(error),
                }
            }
            _ => self.n_side,
        };
        Ok(Reduction { polarisation, vertical, side_index })
    }

    /// Effective index, number of modes and lateral slab by the effective-index method. A few microseconds.
    ///
    /// # Errors
    /// As [`Core::check`]; [`LightError::NoGuidedMode`] when the core is too thin; [`LightError::Leaks`] when the
    /// mode's index is not above that of a layer around the core.
    pub fn effective_index(&self, polarisation: Polarisation) -> Result<EffectiveIndex, LightError> {
        self.check()?;
        let reduction = self.reduce(polarisation)?;
        let slab_polarisation = polarisation.vertical();
        let vertical = match reduction.vertical.mode(slab_polarisation, 0) {
            Ok(mode) => mode,
            Err(LightError::ModeNotGuided { .. }) => {
                return Err(LightError::NoGuidedMode {
                    dimension: CoreDimension::Height,
                    size_um: self.height_um,
                    cutoff_um: reduction.vertical.cutoff_width_um(slab_polarisation, 0)?,
                });
            }
            Err(error) => return Err(error),
        };
        let leaks = |n_eff: f64, n_layer: f64, side| {
            if n_eff > n_layer { Ok(()) } else { Err(LightError::Leaks { n_eff, n_layer, side }) }
        };
        leaks(vertical.n_eff, reduction.side_index, CoreSide::Beside)?;
        let lateral = reduction.lateral(self, vertical.n_eff);
        let lateral_polarisation = polarisation.lateral();
        let mode = lateral.mode(lateral_polarisation, 0)?;
        let (n_layer, side) = self.highest_vertical_cladding();
        leaks(mode.n_eff, n_layer, side)?;

        let mut survey = Survey::default();
        for each in Polarisation::ALL {
            survey.add(self, &self.reduce(each)?)?;
        }
        Ok(EffectiveIndex {
            polarisation,
            n_eff: mode.n_eff,
            vertical_core_index: vertical.n_eff,
            vertical_side_index: reduction.side_index,
            lateral,
            lateral_polarisation,
            mode_count: survey.modes,
            least_mode_count: survey.sure_modes,
            single_mode: survey.most_per_polarisation <= 1,
            near_cutoff: survey.near_cutoff,
            next_mode_width_um: survey.next_width_um,
            next_mode_height_um: survey.next_height_um,
            core: *self,
        })
    }

    /// Group index `N − λ dN/dλ` of the fundamental mode, by the effective-index method.
    ///
    /// `core_at` gives the core at another wavelength, with the indices its materials have there; it is called at
    /// four wavelengths up to 2e-3 relative away. The central difference of fourth order is good to about 1e-9.
    ///
    /// # Errors
    /// As [`Core::effective_index`], at any of the wavelengths.
    pub fn group_index(
        &self,
        polarisation: Polarisation,
        mut core_at: impl FnMut(f64) -> Core,
    ) -> Result<f64, LightError> {
        const STEP: f64 = 1e-3;
        let lambda = self.wavelength_um;
        let mut at = |steps: f64| {
            let shifted = lambda * (1.0 + steps * STEP);
            let core = Core { wavelength_um: shifted, ..core_at(shifted) };
            core.effective_index(polarisation).map(|index| index.n_eff)
        };
        let near = at(1.0)? - at(-1.0)?;
        let far = at(2.0)? - at(-2.0)?;
        // λ dN/dλ: the step cancels λ.
        let slope = (8.0 * near - far) / (12.0 * STEP);
        Ok(self.effective_index(polarisation)?.n_eff - slope)
    }

    /// Derivatives of the effective index by the indices of core and surroundings, by the effective-index method:
    /// central differences over 1e-3.
    ///
    /// `Δn_eff = Σ Γ_j Δn_j` for small index changes, by strain or heat; `Γ_j` times the material loss of part j is the
    /// absorption loss.
    ///
    /// # Errors
    /// As [`Core::effective_index`]; also when a cladding index is so close to the core's or the mode so close to
    /// cutoff that a step leaves the guided range. An index of 1 (air) is only stepped upwards.
    pub fn sensitivity(&self, polarisation: Polarisation) -> Result<CoreSensitivity, LightError> {
        const STEP: f64 = 1e-3;
        let derivative = |n: f64, with: &dyn Fn(f64) -> Self| {
            let (low, high) = ((n - STEP).max(1.0_f64.min(n)), n + STEP);
            let at = |n: f64| with(n).effective_index(polarisation).map(|index| index.n_eff);
            Ok((at(high)? - at(low)?) / (high - low))
        };
        Ok(CoreSensitivity {
            core: derivative(self.n_core, &|n_core| Self { n_core, ..*self })?,
            below: derivative(self.n_below, &|n_below| Self { n_below, ..*self })?,
            above: derivative(self.n_above, &|n_above| Self { n_above, ..*self })?,
            side: derivative(self.n_side, &|n_side| Self { n_side, ..*self })?,
        })
    }

    /// The vertical slab to bend for out-of-plane curvature, and its polarisation: the lateral slab
    /// `n_side | n_core | n_side` is solved first and its index stands for the core. "Left" is above, so that a bend
    /// upwards (towards +z) counts as a bend to the left.
    ///
    /// # Errors
    /// As [`Core::check`]; [`LightError::Leaks`] when the reduced core does not guide;
    /// [`LightError::RadiatesOutOfPlane`] (here: sideways) when the sides have a higher index than the layer below or
    /// above, so that a bend radiates into them.
    pub fn out_of_plane(&self, polarisation: Polarisation) -> Result<(Slab, SlabPolarisation), LightError> {
        self.check()?;
        let side = self.reduce(polarisation)?.side_index;
        let n_outer = self.n_below.min(self.n_above);
        if side > n_outer {
            return Err(LightError::RadiatesOutOfPlane {
                n_layer: side,
                side: CoreSide::Beside,
                n_side: n_outer,
            });
        }
        let lateral = Slab {
            wavelength_um: self.wavelength_um,
            width_um: self.width_um,
            n_core: self.n_core,
            n_left: self.n_side,
            n_right: self.n_side,
        };
        let n_core = lateral.mode(polarisation.lateral(), 0)?.n_eff;
        let (n_layer, side) = self.highest_vertical_cladding();
        if n_core <= n_layer {
            return Err(LightError::Leaks { n_eff: n_core, n_layer, side });
        }
        let vertical = Slab {
            wavelength_um: self.wavelength_um,
            width_um: self.height_um,
            n_core,
            n_left: self.n_above,
            n_right: self.n_below,
        };
        Ok((vertical, polarisation.vertical()))
    }
}

impl Reduction {
    /// Modes above `cladding` of the separable core.
    fn separable_modes(
        &self,
        core: &Core,
        verticals: &[SlabMode],
        cladding: f64,
    ) -> Result<usize, LightError> {
        let laterals = self.lateral(core, core.n_core).modes(self.polarisation.lateral())?;
        let square = |n: f64| n * n;
        let pairs =
            verticals.iter().flat_map(|vertical| laterals.iter().map(move |lateral| (vertical, lateral)));
        let guided = pairs.filter(|(vertical, lateral)| {
            square(vertical.n_eff) + square(lateral.n_eff) - square(core.n_core) > square(cladding)
        });
        Ok(guided.count())
    }

    fn lateral(&self, core: &Core, n_core: f64) -> Slab {
        Slab {
            wavelength_um: core.wavelength_um,
            width_um: core.width_um,
            n_core,
            n_left: self.side_index,
            n_right: self.side_index,
        }
    }
}

/// Modes of both polarisations and how near the next ones are.
#[derive(Debug, Clone, Copy)]
struct Survey {
    modes: usize,
    sure_modes: usize,
    most_per_polarisation: usize,
    near_cutoff: Option<NearCutoff>,
    next_width_um: f64,
    next_height_um: f64,
}

impl Default for Survey {
    fn default() -> Self {
        Self {
            modes: 0,
            sure_modes: 0,
            most_per_polarisation: 0,
            near_cutoff: None,
            next_width_um: f64::INFINITY,
            next_height_um: f64::INFINITY,
        }
    }
}

impl Survey {
    fn add(&mut self, core: &Core, reduction: &Reduction) -> Result<(), LightError> {
        let polarisation = reduction.polarisation;
        let cladding = core.highest_vertical_cladding().0.max(reduction.side_index);
        let verticals = reduction.vertical.modes(polarisation.vertical())?;
        let mut guided = 0;
        for vertical in verticals.iter().filter(|mode| mode.n_eff > reduction.side_index) {
            let modes = reduction.lateral(core, vertical.n_eff).modes(polarisation.lateral())?;
            guided += modes.iter().filter(|mode| mode.n_eff > cladding).count();
        }
        self.modes += guided;
        self.sure_modes +=
            reduction.separable_modes(core, &verticals, cladding)?.clamp(1.min(guided), guided);
        self.most_per_polarisation = self.most_per_polarisation.max(guided);

        let slab = (reduction.vertical, polarisation.vertical());
        let next = self.cutoffs(slab, CoreDimension::Height, polarisation)?;
        self.next_height_um = self.next_height_um.min(next);
        if let Some(first) = verticals.first().filter(|mode| mode.n_eff > reduction.side_index) {
            let slab = (reduction.lateral(core, first.n_eff), polarisation.lateral());
            let next = self.cutoffs(slab, CoreDimension::Width, polarisation)?;
            self.next_width_um = self.next_width_um.min(next);
        }
        Ok(())
    }

    /// Notes the cutoffs of the last guided and the first unguided mode; returns the latter.
    fn cutoffs(
        &mut self,
        (slab, slab_polarisation): (Slab, SlabPolarisation),
        dimension: CoreDimension,
        polarisation: Polarisation,
    ) -> Result<f64, LightError> {
        let count = slab.mode_count(slab_polarisation)?;
        let next = slab.cutoff_width_um(slab_polarisation, count)?;
        for mode in count.saturating_sub(1)..=count {
            let cutoff_um = slab.cutoff_width_um(slab_polarisation, mode)?;
            let distance = |cutoff: f64, size: f64| (size / cutoff - 1.0).abs();
            let is_nearer = self.near_cutoff.is_none_or(|near| {
                distance(cutoff_um, slab.width_um) < distance(near.cutoff_um, near.size_um)
            });
            if cutoff_um > 0.0 && distance(cutoff_um, slab.width_um) < NEAR_CUTOFF && is_nearer {
                let size_um = slab.width_um;
                self.near_cutoff = Some(NearCutoff { dimension, polarisation, mode, size_um, cutoff_um });
            }
        }
        Ok(next)
    }
}

impl EffectiveIndex {
    /// The core this belongs to.
    pub fn core(&self) -> &Core {
        &self.core
    }

    /// The lateral slab, if bending it tells the bend loss.
    ///
    /// # Errors
    /// [`LightError::RadiatesOutOfPlane`] when the layer below or above has a higher index than the slab's sides (a
    /// strip on a substrate): such a bend radiates out of the plane, and the lateral slab alone gave 1e-19 dB where
    /// the truth was 3 dB per 90°.
    pub fn bend_slab(&self) -> Result<Slab, LightError> {
        let (n_layer, side) = self.core.highest_vertical_cladding();
        if n_layer > self.vertical_side_index {
            return Err(LightError::RadiatesOutOfPlane { n_layer, side, n_side: self.vertical_side_index });
        }
        Ok(self.lateral)
    }

    /// Highest cladding index around the core, which the outer cladding gets in a pessimistic estimate.
    pub fn highest_cladding_index(&self) -> f64 {
        self.core.highest_vertical_cladding().0.max(self.vertical_side_index)
    }
}

#[cfg(test)]
mod tests;
