//! How far the wavelength of a grating coupler drifts when its island strains.

use std::f64::consts::FRAC_PI_2;

use crate::error::{check_index, check_wavelength};
use crate::{GratingLoad, GratingMode, LightError};

/// A grating coupler that sends one wavelength into one direction.
///
/// Each tooth adds to the last in phase where the mode and the outgoing wave differ by one turn per period Λ (first order):
///
/// ```text
/// λ = Λ (n_eff(λ) − n_c sin ϑ)
/// ```
///
/// with ϑ from the normal, positive along the guide. ϑ is held, by the fibre or detector in front; if it stands in air, the
/// angle in air and its index 1 may be entered instead, since n sin ϑ is the same on both sides of a plane face.
///
/// # Derivation
///
/// Strain ε along the guide makes the period Λ(1 + ε) and changes the effective index by Δn at a fixed wavelength
/// (−`n_eff p_e` ε with free sides, [`StrainOptic`](crate::StrainOptic)); warming by ΔT adds α ΔT to ε and `(dn_eff/dT)` ΔT to
/// Δn. With s = `n_c` sin ϑ and `dn_eff/dλ = (n_eff − n_g)/λ` the condition gives, to first order,
///
/// ```text
/// Δλ = Λ ε (n_eff − s) + Λ (Δn + (n_eff − n_g) Δλ/λ),   Λ = λ/(n_eff − s)
/// Δλ (n_eff − s − n_eff + n_g)/(n_eff − s) = λ ε + λ Δn/(n_eff − s)
/// Δλ = λ [(n_eff − s) ε + Δn]/(n_g − s)
/// ```
///
/// and when the grating tilts by δ, so that ϑ becomes ϑ + δ, `Δλ = −λ n_c cos ϑ δ/(n_g − s)`.
///
/// # Where it stops
///
/// First order: at 1 % of strain the drift is off by about 1 % of itself, more where the dispersion is strong. ε is the strain
/// where the teeth are, uniform over the grating; a gradient also broadens the line. A stiff carrier hinders the sides, then
/// Δn is to come from [`StrainOptic::index_change`](crate::StrainOptic::index_change) with all three strains.
///
/// ```
/// use ogee_optics::Grating;
///
/// // A grating in silica read along its normal, without the change of index: λ ε n_eff/n_g.
/// let grating = Grating::new(1.55, 1.45, 1.47, 1.0, 0.0)?;
/// assert!((grating.drift_um(1e-4, 0.0)? - 1.55e-4 * 1.45 / 1.47).abs() < 1e-12);
/// # Ok::<(), ogee_optics::LightError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grating {
    mode: GratingMode,
    surroundings_index: f64,
    angle_rad: f64,
}

impl Grating {
    /// A grating by the wavelength it sends.
    ///
    /// * `wavelength_um`: in vacuum. `effective_index`, `group_index`: of the mode in the grating, its teeth averaged.
    /// * `surroundings_index`: of the medium in which `angle_rad`, from the normal, is measured.
    ///
    /// # Errors
    /// [`LightError`] for a wavelength outside 0.2 to 20 µm, indices outside 1 to 10, an angle of a right angle or more, or
    /// where `n_c` sin ϑ reaches the effective or the group index: then no first order leaves in that direction.
    pub fn new(
        wavelength_um: f64,
        effective_index: f64,
        group_index: f64,
        surroundings_index: f64,
        angle_rad: f64,
    ) -> Result<Self, LightError> {
        check_wavelength(wavelength_um)?;
        check_index("effective index", effective_index)?;
        check_index("group index", group_index)?;
        check_index("surroundings", surroundings_index)?;
        if !(angle_rad > -FRAC_PI_2 && angle_rad < FRAC_PI_2) {
            let (what, value) = ("angle from the normal in rad", angle_rad);
            return Err(LightError::Number { what, value, least: -FRAC_PI_2, greatest: FRAC_PI_2 });
        }
        let sine = surroundings_index * angle_rad.sin();
        let greatest = effective_index.min(group_index);
        if sine >= greatest {
            let what = "index of the surroundings times the sine of the angle";
            return Err(LightError::Number { what, value: sine, least: -surroundings_index, greatest });
        }
        let mode = GratingMode { wavelength_um, n_eff: effective_index, n_group: group_index };
        Ok(Self { mode, surroundings_index, angle_rad })
    }

    /// Λ = λ/(`n_eff` − `n_c` sin ϑ), µm.
    pub fn period_um(&self) -> f64 {
        self.mode.wavelength_um / (self.mode.n_eff - self.sine())
    }

    /// Drift of the wavelength, `λ [(n_eff − n_c sin ϑ) ε + Δn]/(n_g − n_c sin ϑ)`, µm; positive towards the red.
    ///
    /// * `strain`: along the guide. `index_change`: Δn of the effective index at a fixed wavelength.
    /// # Errors
    /// [`LightError::Number`] for a strain outside −0.5 to 1 or an index change outside −1 to 1, far beyond the first order.
    pub fn drift_um(&self, strain: f64, index_change: f64) -> Result<f64, LightError> {
        self.loaded_drift_um(&GratingLoad { strain, index_change, ..GratingLoad::default() })
    }

    /// The same for strain and warming together, µm: α ΔT adds to the strain, `(dn_eff/dT)` ΔT to the index change.
    ///
    /// On an island, the strain by heat is that of the island as a whole, not the one of the guide's own material.
    ///
    /// # Errors
    /// As [`Self::drift_um`], for the sums.
    pub fn loaded_drift_um(&self, load: &GratingLoad) -> Result<f64, LightError> {
        let strain = load.strain + load.expansion_per_k * load.temperature_k;
        let index_change = load.index_change + load.index_per_k * load.temperature_k;
        check("strain along the grating", strain, -0.5, 1.0)?;
        check("change of the effective index", index_change, -1.0, 1.0)?;
        let plain = GratingLoad { strain, index_change, ..GratingLoad::default() };
        // The period belongs to the wavelength, so that the general form has a finite denominator here.
        let drift = self.mode.coupler_shift_um(&plain, self.period_um(), self.sine());
        drift.ok_or(LightError::Number {
            what: "group index",
            value: self.mode.n_group,
            least: self.sine(),
            greatest: f64::INFINITY,
        })
    }

    /// Strain at which the wavelength has drifted by `drift_um`.
    ///
    /// * `index_change_per_strain`: Δn/ε, −`n_eff p_e` with free sides, 0 to leave it out.
    ///
    /// `None` where the change of index cancels the change of period, so that no strain shifts the wavelength.
    ///
    /// # Errors
    /// [`LightError::Number`] for a drift of more than the wavelength, or a change per strain outside −10 to 10.
    pub fn strain_for_drift(
        &self,
        drift_um: f64,
        index_change_per_strain: f64,
    ) -> Result<Option<f64>, LightError> {
        let wavelength_um = self.mode.wavelength_um;
        check("drift of the wavelength in µm", drift_um, -wavelength_um, wavelength_um)?;
        check("change of index per strain", index_change_per_strain, -10.0, 10.0)?;
        let step = self.mode.n_eff - self.sine();
        let strain =
            drift_um / wavelength_um * (self.mode.n_group - self.sine()) / (step + index_change_per_strain);
        Ok(strain.is_finite().then_some(strain))
    }

    /// Drift per tilt of the grating, `−λ n_c cos ϑ/(n_g − n_c sin ϑ)`, µm/rad; a tilt is positive where it makes ϑ larger.
    ///
    /// An island on a sheet that bows turns with it.
    pub fn drift_per_tilt_um_per_rad(&self) -> f64 {
        -self.mode.wavelength_um * self.surroundings_index * self.angle_rad.cos()
            / (self.mode.n_group - self.sine())
    }

    /// `n_c` sin ϑ.
    fn sine(&self) -> f64 {
        self.surroundings_index * self.angle_rad.sin()
    }
}

fn check(what: &'static str, value: f64, least: f64, greatest: f64) -> Result<(), LightError> {
    if (least..=greatest).contains(&value) {
        Ok(())
    } else {
        Err(LightError::Number { what, value, least, greatest })
    }
}

#[cfg(test)]
mod tests {
    use super::Grating;
    use crate::{GratingLoad, SILICA_FIBRE};

    const WAVELENGTH_UM: f64 = 1.31;
    const SURROUNDINGS: f64 = 1.41;
    const ANGLE_RAD: f64 = 0.17;

    /// A Cauchy-like effective index and its slope.
    fn cauchy(wavelength_um: f64) -> (f64, f64) {
        let square = wavelength_um * wavelength_um;
        let index = 1.62 + 0.05 / square + 0.004 / (square * square);
        let slope = -0.1 / (square * wavelength_um) - 0.016 / (square * square * wavelength_um);
        (index, slope)
    }

    fn grating() -> Grating {
        let (index, slope) = cauchy(WAVELENGTH_UM);
        Grating::new(WAVELENGTH_UM, index, index - WAVELENGTH_UM * slope, SURROUNDINGS, ANGLE_RAD).unwrap()
    }

    /// Phase matching solved anew, by bisection.
    fn resolved_um(period_um: f64, index_change: f64, angle_rad: f64) -> f64 {
        let sine = SURROUNDINGS * angle_rad.sin();
        let miss =
            |wavelength_um: f64| wavelength_um - period_um * (cauchy(wavelength_um).0 + index_change - sine);
        let (mut low, mut high) = (1.0, 1.6);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if miss(middle) > 0.0 { high = middle } else { low = middle }
        }
        0.5 * (low + high)
    }

    #[test]
    fn first_order_is_the_slope_of_the_exact_condition() {
        let grating = grating();
        let period_um = grating.period_um();
        assert!((resolved_um(period_um, 0.0, ANGLE_RAD) - WAVELENGTH_UM).abs() < 1e-14);
        let h = 1e-4;
        for (strain, index_change, tilt) in [(h, 0.0, 0.0), (0.0, h, 0.0), (h, -0.3 * h, 0.0), (0.0, 0.0, h)]
        {
            let at = |sign: f64| {
                resolved_um(period_um * (1.0 + sign * strain), sign * index_change, ANGLE_RAD + sign * tilt)
            };
            let exact = 0.5 * (at(1.0) - at(-1.0));
            let drift =
                grating.drift_um(strain, index_change).unwrap() + tilt * grating.drift_per_tilt_um_per_rad();
            assert!((drift / exact - 1.0).abs() < 1e-7, "{drift} {exact}");
        }
    }

    #[test]
    fn first_order_is_off_by_a_per_cent_at_a_per_cent() {
        let grating = grating();
        let exact = resolved_um(1.01 * grating.period_um(), 0.0, ANGLE_RAD) - WAVELENGTH_UM;
        let share = (grating.drift_um(0.01, 0.0).unwrap() / exact - 1.0).abs();
        assert!(share < 0.012, "{share}");
    }

    #[test]
    fn warming_adds_to_both_changes() {
        let load = GratingLoad {
            strain: 1e-4,
            index_change: -2e-5,
            temperature_k: 20.0,
            expansion_per_k: 5e-5,
            index_per_k: -1e-4,
        };
        let grating = grating();
        let both = grating.loaded_drift_um(&load).unwrap();
        assert!((both / grating.drift_um(1.1e-3, -2.02e-3).unwrap() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn read_along_its_normal_it_is_a_bragg_grating() {
        // Silica at 1.55 µm drifts by 1.2 pm per microstrain.
        let grating = Grating::new(1.55, 1.4469, 1.4626, 1.0, 0.0).unwrap();
        let per_strain = -1.4469 * SILICA_FIBRE.effective(1.4469);
        let picometres = 1e6 * grating.drift_um(1e-6, 1e-6 * per_strain).unwrap();
        assert!((picometres - 1.2).abs() < 0.05, "{picometres}");
    }

    #[test]
    fn drift_and_strain_are_inverse() {
        let grating = grating();
        let drift_um = grating.drift_um(2e-3, -0.3 * 2e-3).unwrap();
        let strain = grating.strain_for_drift(drift_um, -0.3).unwrap().unwrap();
        assert!((strain - 2e-3).abs() < 1e-15);
        let normal = Grating::new(1.55, 1.5, 1.5, 1.0, 0.0).unwrap();
        assert_eq!(normal.strain_for_drift(1e-3, -1.5).unwrap(), None);
    }

    #[test]
    fn refuses_directions_without_an_order_and_what_is_no_number() {
        assert!(Grating::new(1.31, 1.5, 1.5, 1.6, 1.4).is_err());
        assert!(Grating::new(1.31, 1.5, 1.5, 1.0, 1.6).is_err());
        assert!(Grating::new(1310.0, 1.5, 1.5, 1.0, 0.0).is_err());
        assert!(Grating::new(1.31, f64::NAN, 1.5, 1.0, 0.0).is_err());
        assert!(Grating::new(1.31, 1.5, 1.5, 1.0, f64::NAN).is_err());
        let grating = grating();
        assert!(grating.drift_um(f64::NAN, 0.0).is_err() && grating.drift_um(0.0, f64::INFINITY).is_err());
        assert!(grating.strain_for_drift(f64::NAN, 0.0).is_err());
    }
}
