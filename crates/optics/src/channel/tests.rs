use super::{Core, Polarisation};
use crate::error::{CoreDimension, CoreSide, LightError};
use Polarisation::{QuasiTe, QuasiTm};

fn buried(wavelength_um: f64, width_um: f64, height_um: f64, n_core: f64, n: f64) -> Core {
    Core { wavelength_um, width_um, height_um, n_core, n_below: n, n_above: n, n_side: n, side_slab_um: None }
}

fn strip() -> Core {
    Core {
        wavelength_um: 0.85,
        width_um: 1.0,
        height_um: 0.6,
        n_core: 1.58,
        n_below: 1.4525,
        n_above: 1.0,
        n_side: 1.0,
        side_slab_um: None,
    }
}

#[test]
fn known_effective_indices() {
    // From an independent implementation of the same three slabs, 10 digits.
    let close = |core: Core, te: f64, tm: f64| {
        for (polarisation, expected) in [(QuasiTe, te), (QuasiTm, tm)] {
            let value = core.effective_index(polarisation).unwrap().n_eff;
            assert!((value - expected).abs() < 2e-9, "{value} is not {expected}");
        }
    };
    close(buried(1.55, 4.0, 4.0, 1.464, 1.444), 1.453_717_722, 1.453_701_977);
    close(buried(1.55, 1.0, 0.4, 1.98, 1.444), 1.640_621_796, 1.567_588_416);
    close(strip(), 1.466_863_795, 1.464_106_152);
    let rib = Core { width_um: 1.2, height_um: 0.8, side_slab_um: Some(0.3), ..strip() };
    close(rib, 1.516_638_719, 1.509_477_065);
}

#[test]
fn modes_are_counted_over_both_polarisations() {
    // Below 0.86 µm the estimate, too, has one mode each.
    let single = buried(1.55, 0.8, 0.4, 1.98, 1.444).effective_index(QuasiTe).unwrap();
    assert_eq!((single.mode_count, single.single_mode), (2, true));
    let several = buried(0.85, 3.0, 2.0, 1.52, 1.49).effective_index(QuasiTm).unwrap();
    assert!(several.mode_count >= 6 && !several.single_mode);
    // The full-vector solution has 2 modes here; the estimate, with its weak second ones, has 6.
    let weak = buried(1.55, 4.0, 4.0, 1.464, 1.444).effective_index(QuasiTe).unwrap();
    assert_eq!((weak.least_mode_count, weak.mode_count), (2, 6));
    assert!(several.next_mode_width_um > 3.0 && several.next_mode_height_um > 2.0);
}

#[test]
fn a_width_near_a_cutoff_is_noted() {
    let core = buried(1.55, 4.0, 4.0, 1.464, 1.444);
    let index = core.effective_index(QuasiTe).unwrap();
    let close = Core { width_um: 0.98 * index.next_mode_width_um, ..core };
    let near = close.effective_index(QuasiTe).unwrap().near_cutoff.unwrap();
    assert_eq!(near.dimension, CoreDimension::Width);
    assert!((near.size_um / near.cutoff_um - 0.98).abs() < 0.03);
    let calm = Core { width_um: 2.5, height_um: 2.5, ..core };
    assert_eq!(calm.effective_index(QuasiTe).unwrap().near_cutoff, None);
}

#[test]
fn cores_that_do_not_guide_say_why() {
    let thin = Core { height_um: 0.05, ..strip() };
    let error = thin.effective_index(QuasiTe).unwrap_err();
    assert!(matches!(error, LightError::NoGuidedMode { dimension: CoreDimension::Height, .. }));
    assert!(error.to_string().starts_with("no guided mode in the core"));
    let dark = Core { n_core: 1.45, ..strip() };
    assert!(matches!(
        dark.effective_index(QuasiTe),
        Err(LightError::CoreBelowCladding { side: CoreSide::Below, .. })
    ));
    let narrow = Core { width_um: 0.2, ..strip() };
    assert!(matches!(narrow.effective_index(QuasiTm), Err(LightError::Leaks { side: CoreSide::Below, .. })));
}

#[test]
fn a_strip_on_a_substrate_is_refused_for_bends() {
    let index = strip().effective_index(QuasiTe).unwrap();
    assert!(matches!(index.bend_slab(), Err(LightError::RadiatesOutOfPlane { side: CoreSide::Below, .. })));
    assert_eq!(index.highest_cladding_index(), 1.4525);
    let rib = Core { width_um: 1.2, height_um: 0.8, side_slab_um: Some(0.3), ..strip() };
    assert!(rib.effective_index(QuasiTe).unwrap().bend_slab().is_ok());
    assert!(buried(1.55, 1.0, 0.4, 1.98, 1.444).effective_index(QuasiTe).unwrap().bend_slab().is_ok());
}

#[test]
fn a_turned_core_exchanges_the_polarisations_out_of_plane() {
    let core = buried(1.31, 2.0, 1.6, 1.51, 1.46);
    let turned = core.turned().unwrap();
    for (in_plane, out_of_plane) in [(QuasiTe, QuasiTm), (QuasiTm, QuasiTe)] {
        let lateral = core.effective_index(in_plane).unwrap();
        let (slab, polarisation) = turned.out_of_plane(out_of_plane).unwrap();
        assert_eq!(polarisation, lateral.lateral_polarisation);
        assert!((slab.n_core - lateral.lateral.n_core).abs() < 1e-14);
        assert_eq!(slab.width_um, lateral.lateral.width_um);
    }
}

#[test]
fn sensitivities_add_up() {
    // Raising every index by the same small δ raises N by Σ Γ δ.
    let core = Core { n_below: 1.47, ..buried(1.31, 1.8, 1.8, 1.51, 1.46) };
    let by = core.sensitivity(QuasiTm).unwrap();
    let shifted = |d: f64| Core {
        n_core: core.n_core + d,
        n_below: core.n_below + d,
        n_above: core.n_above + d,
        n_side: core.n_side + d,
        ..core
    };
    let at = |d: f64| shifted(d).effective_index(QuasiTm).unwrap().n_eff;
    let sum = by.core + by.below + by.above + by.side;
    assert!((sum - (at(1e-4) - at(-1e-4)) / 2e-4).abs() < 1e-4, "{sum}");
    assert!(by.core > by.below && by.below > by.above && by.above > 0.0 && by.side > 0.0);
    let air = strip().sensitivity(QuasiTe).unwrap();
    assert!(air.side > 0.0 && air.core < 1.0);
}

#[test]
fn group_index_of_a_wide_core_is_that_of_its_material() {
    // A core hundreds of wavelengths wide: N → n_core, so n_g → n − λ dn/dλ.
    let slope = -0.02;
    let core = buried(1.0, 300.0, 300.0, 1.5, 1.45);
    let at = |wavelength_um: f64| Core { n_core: 1.5 + slope * (wavelength_um - 1.0), ..core };
    let group = core.group_index(QuasiTe, at).unwrap();
    assert!((group - 1.52).abs() < 1e-5, "{group}");
}
