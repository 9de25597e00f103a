use super::{Slab, SlabPolarisation};
use crate::error::LightError;
use crate::slab_mode::SlabDispersion;
use SlabPolarisation::{Te, Tm};

fn slab(wavelength_um: f64, width_um: f64, n_left: f64, n_core: f64, n_right: f64) -> Slab {
    Slab { wavelength_um, width_um, n_core, n_left, n_right }
}

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() < tolerance, "{value} is not {expected}");
}

#[test]
fn low_contrast_slab_has_its_known_modes() {
    // Exact dispersion relation solved at 40 digits.
    let slab = slab(1.55, 12.0, 1.444, 1.464, 1.444);
    let te = [1.462_962_556_283_53, 1.459_881_011_230_42, 1.454_876_139_152_15, 1.448_333_909_526_66];
    let modes = slab.modes(Te).unwrap();
    assert_eq!(modes.len(), te.len());
    for (mode, expected) in modes.iter().zip(te) {
        close(mode.n_eff, expected, 1e-14);
    }
    let last = &slab.modes(Tm).unwrap()[3];
    close(last.n_eff, 1.448_283_559_962_31, 1e-14);
    close(last.confinement, 0.785_299_979_479_5, 1e-12);
    close(last.group_index(&SlabDispersion::default()), 1.471_265_093_19, 1e-10);
    close(slab.cutoff_width_um(Tm, 4).unwrap(), 12.854_331_475_776_3, 1e-13);
    assert_eq!(slab.cutoff_width_um(Te, 0).unwrap(), 0.0);
}

#[test]
fn asymmetric_slab_has_a_cutoff_for_mode_0() {
    let thin = slab(1.55, 0.25, 1.5, 1.55, 1.0);
    assert_eq!(thin.mode_count(Te).unwrap(), 0);
    assert!(thin.modes(Tm).unwrap().is_empty());
    close(thin.cutoff_width_um(Te, 0).unwrap(), 0.780_007_861_503_595, 1e-13);
    close(thin.cutoff_width_um(Tm, 0).unwrap(), 0.901_084_468_201_186, 1e-13);
    assert!(matches!(thin.mode(Te, 0), Err(LightError::ModeNotGuided { mode: 0, guided: 0 })));
    let near = slab(1.55, 0.75, 1.5, 1.55, 1.444);
    close(near.mode(Tm, 0).unwrap().n_eff, 1.502_805_189_993_38, 1e-13);
    close(near.mode(Tm, 0).unwrap().confinement, 0.292_916_369_987_7, 1e-11);
}

#[test]
fn mirrored_slab_has_the_same_modes_and_the_mirrored_field() {
    let slab = slab(0.633, 0.5, 1.457, 1.58, 1.0);
    let (mode, other) = (slab.mode(Tm, 0).unwrap(), slab.mirrored().mode(Tm, 0).unwrap());
    close(mode.n_eff, other.n_eff, 1e-15);
    for y in [-0.6, -0.25, -0.1, 0.0, 0.2, 0.3, 1.0] {
        assert!((mode.field(y).abs() - other.field(-y).abs()).abs() < 1e-12);
    }
}

#[test]
fn just_above_cutoff_the_index_stays_precise() {
    // Near cutoff of mode 1: γ ≈ (V − π) V_slope…; compare with the phase condition itself.
    let cutoff = slab(1.31, 2.0, 1.46, 1.51, 1.46).cutoff_width_um(Te, 1).unwrap();
    let wide = slab(1.31, cutoff * (1.0 + 1e-7), 1.46, 1.51, 1.46);
    let mode = wide.mode(Te, 1).unwrap();
    // sin ϑ → 1: V sin ϑ − π − 2 atan(cot ϑ) = 0 gives cos ϑ ≈ (V − π)/2.
    let expected = (0.5e-7 * std::f64::consts::PI).powi(2);
    close(mode.normalised_index, expected, 1e-6);
    assert!(mode.confinement > 0.0 && mode.confinement < 1e-6);
}

#[test]
fn sensitivities_agree_with_difference_quotients() {
    let base = slab(1.0, 0.5, 1.45, 2.1, 1.0);
    let step = 1e-5;
    for polarisation in SlabPolarisation::ALL {
        let by = base.mode(polarisation, 0).unwrap().sensitivity();
        let quotient = |change: &dyn Fn(f64) -> Slab| {
            (change(step).mode(polarisation, 0).unwrap().n_eff
                - change(-step).mode(polarisation, 0).unwrap().n_eff)
                / (2.0 * step)
        };
        close(by.core, quotient(&|d| Slab { n_core: base.n_core + d, ..base }), 1e-8);
        close(by.left, quotient(&|d| Slab { n_left: base.n_left + d, ..base }), 1e-7);
        let air = slab(1.0, 0.5, 1.45, 2.1, 1.1);
        let by_right = air.mode(polarisation, 0).unwrap().sensitivity().right;
        close(by_right, quotient(&|d| Slab { n_right: air.n_right + d, ..air }), 1e-7);
        close(
            by.wavelength_per_um,
            quotient(&|d| Slab { wavelength_um: base.wavelength_um + d, ..base }),
            1e-8,
        );
    }
}

#[test]
fn nonsense_is_refused_with_a_hint() {
    let nm = slab(1550.0, 1.0, 1.444, 1.464, 1.444).check().unwrap_err();
    assert_eq!(nm.to_string(), "wavelength of 1550 µm is outside 0.2 to 20 µm (entered in nm?)");
    assert!(matches!(slab(f64::NAN, 1.0, 1.4, 1.5, 1.4).check(), Err(LightError::Wavelength { .. })));
    assert!(matches!(slab(1.0, -1.0, 1.4, 1.5, 1.4).check(), Err(LightError::Length { .. })));
    assert!(matches!(slab(1.0, 1.0, 1.4, 1.5, 1.6).check(), Err(LightError::CoreBelowCladding { .. })));
    assert!(matches!(slab(1.0, 1.0, 0.4, 1.5, 1.4).check(), Err(LightError::Index { .. })));
}
