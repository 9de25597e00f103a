use super::layout::Wall;
use super::line::Segment;
use super::problem::{Problem, Settled};
use super::window::{Window, WindowSettings};
use super::{CoreMaterial, CrossSection, Rectangle, VectorError, VectorSettings};
use crate::bent::{BentSlab, BentSolver, DB_PER_NEPER};
use crate::channel::{Core, Polarisation};
use crate::complex::Complex;
use crate::error::LightError;
use crate::slab::Slab;

fn flat() -> Core {
    Core {
        wavelength_um: 1.55,
        width_um: 1.0,
        height_um: 0.4,
        n_core: 1.98,
        n_below: 1.444,
        n_above: 1.444,
        n_side: 1.444,
        side_slab_um: None,
    }
}

/// A rib that is not mirrored: the film is left on one side only, as the left edge is far away on the other.
fn one_sided() -> CrossSection {
    let all = (f64::NEG_INFINITY, f64::INFINITY);
    let indices = [1.0, 1.4525, 1.58, 1.5];
    CrossSection::new(
        0.85,
        &indices,
        0,
        &[
            Rectangle { y_um: all, z_um: (f64::NEG_INFINITY, 0.0), material: 1 },
            Rectangle { y_um: (0.7, f64::INFINITY), z_um: (0.0, 0.4), material: 3 },
            Rectangle { y_um: (-0.5, 0.7), z_um: (0.0, 0.8), material: 2 },
        ],
    )
    .unwrap()
}

fn mirrored(section: &CrossSection) -> CrossSection {
    let rectangles: Vec<_> = section
        .rectangles()
        .iter()
        .map(|rectangle| Rectangle { y_um: (-rectangle.y_um.1, -rectangle.y_um.0), ..*rectangle })
        .collect();
    CrossSection::new(section.wavelength_um(), section.indices(), 0, &rectangles).unwrap()
}

#[test]
fn flat_core_converges_to_its_limit() {
    let section = CrossSection::of_core(&flat()).unwrap();
    for (polarisation, limit) in
        [(Polarisation::QuasiTe, 1.625_957_95), (Polarisation::QuasiTm, 1.559_380_95)]
    {
        let coarse = section.straight_mode_with(polarisation, VectorSettings::COARSE).unwrap();
        assert!((coarse.n_eff_re - limit).abs() < 5e-6);
        let fine = section.straight_mode(polarisation).unwrap();
        let error = (fine.n_eff_re - limit).abs();
        assert!(error < 3e-7, "{error:e}");
        let estimate = fine.error_estimate().unwrap();
        assert!(error < estimate && estimate < 2e-5, "{estimate:e}");
        assert_eq!(fine.n_eff_im, 0.0);
        assert!(!fine.near_cutoff);
    }
}

#[test]
fn symmetry_planes_change_nothing() {
    // A patch of cladding in the cladding takes both symmetries away.
    let whole = CrossSection::new(
        1.55,
        &[1.444, 1.98],
        0,
        &[
            Rectangle { y_um: (0.5, 0.8), z_um: (0.4, 0.7), material: 0 },
            Rectangle { y_um: (-0.5, 0.5), z_um: (0.0, 0.4), material: 1 },
        ],
    )
    .unwrap();
    assert!(!whole.is_mirrored() && !whole.is_upright());
    let half = CrossSection::of_core(&flat()).unwrap();
    assert!(half.is_mirrored() && half.is_upright());
    for polarisation in Polarisation::ALL {
        let whole = whole.straight_mode(polarisation).unwrap();
        let half = half.straight_mode(polarisation).unwrap();
        assert!((whole.n_eff_re - half.n_eff_re).abs() < 1e-6);
        assert!((whole.confinement[1] - half.confinement[3]).abs() < 1e-4);
        assert!(whole.unknowns > 3 * half.unknowns);
        for (y, z) in [(0.2, 0.3), (-0.2, 0.3), (-0.3, 0.05), (0.45, 0.1), (-0.6, 0.5)] {
            let (a, b) = (whole.field(y, z).unwrap(), half.field(y, z).unwrap());
            for (a, b) in [(a.e_y, b.e_y), (a.e_z, b.e_z), (a.e_s, b.e_s)] {
                assert!((a.0 - b.0).hypot(a.1 - b.1) < 5e-3, "{polarisation:?} ({y}, {z}): {a:?} {b:?}");
            }
        }
    }
}

#[test]
fn confinement_is_the_derivative_by_the_index() {
    const STEP: f64 = 1e-3;
    let mode = one_sided().straight_mode(Polarisation::QuasiTe).unwrap();
    for material in 1..4 {
        let at = |step: f64| {
            let mut indices = one_sided().indices().to_vec();
            indices[material] += step;
            one_sided()
                .at_wavelength(0.85, &indices)
                .unwrap()
                .straight_mode(Polarisation::QuasiTe)
                .unwrap()
                .n_eff_re
        };
        let difference = (at(STEP) - at(-STEP)) / (2.0 * STEP);
        let share = mode.confinement[material];
        assert!((share - difference).abs() < 2e-3 * share + 2e-4, "{material}: {share} {difference}");
    }
}

#[test]
fn group_index_is_the_derivative_by_the_wavelength() {
    const STEP: f64 = 2e-3;
    let core = Core {
        n_core: 1.51,
        n_below: 1.46,
        n_above: 1.46,
        n_side: 1.46,
        width_um: 2.0,
        height_um: 1.6,
        wavelength_um: 1.31,
        ..flat()
    };
    let section = CrossSection::of_core(&core).unwrap();
    let slopes = [-0.02, -0.02, -0.02, -0.03];
    let mode = section.straight_mode(Polarisation::QuasiTe).unwrap();
    let at = |step: f64| {
        let indices: Vec<f64> =
            section.indices().iter().zip(slopes).map(|(index, slope)| index + slope * step).collect();
        section
            .at_wavelength(1.31 + step, &indices)
            .unwrap()
            .straight_mode(Polarisation::QuasiTe)
            .unwrap()
            .n_eff_re
    };
    let difference = mode.n_eff_re - 1.31 * (at(STEP) - at(-STEP)) / (2.0 * STEP);
    let group = mode.group_index(&slopes).unwrap();
    assert!((group - difference).abs() < 1e-5, "{group} {difference}");
    assert!(mode.group_index(&[0.0]).is_err());
    assert!(mode.group_index(&[0.0, f64::NAN, 0.0, 0.0]).is_err());
}

#[test]
fn normal_field_jumps_at_the_side() {
    let mode = CrossSection::of_core(&flat()).unwrap().straight_mode(Polarisation::QuasiTe).unwrap();
    let inside = mode.field(0.5 - 1e-9, 0.2).unwrap();
    let outside = mode.field(0.5 + 1e-9, 0.2).unwrap();
    let ratio = outside.e_y.0 / inside.e_y.0;
    let exact = (1.98_f64 / 1.444).powi(2);
    assert!((ratio / exact - 1.0).abs() < 5e-3, "{ratio} {exact}");
    let middle = mode.field(0.0, 0.2).unwrap();
    assert!((middle.e_y.0 - 1.0).abs() < 1e-2 && middle.e_z.0.abs() < 1e-9 && middle.e_s.1.abs() < 1e-9);
    assert!(middle.intensity() > mode.field(1.0, 0.2).unwrap().intensity());
    assert_eq!(mode.field(100.0, 0.0), None);
}

/// A section that does not depend on z, between two walls: one row of elements.
fn bent_slab(
    section: &CrossSection,
    polarisation: Polarisation,
    curvature_per_um: f64,
    guess: f64,
) -> Complex {
    let settings = WindowSettings { layers: 1, margins: 1.0, n_eff: guess };
    let mut window = Window::bent(section, polarisation, curvature_per_um / section.k0(), &settings);
    let wall = match polarisation {
        Polarisation::QuasiTe => Wall::Magnetic,
        Polarisation::QuasiTm => Wall::Electric,
    };
    window.walls.z = [wall; 2];
    window.z = vec![Segment {
        start: -0.1,
        end: 0.1,
        at: Complex::real(-0.1),
        stretch: Complex::real(1.0),
        cell: section.core_rows.0,
    }];
    let problem = Problem::new(section, window, 6).unwrap();
    let settled = Settled { value: 1e-13, loss: 1e-8 };
    problem.solve(guess, &problem.bell(polarisation), settled).unwrap().n_eff
}

#[test]
fn section_without_z_is_the_bent_slab() {
    let mut solver = BentSolver::with_order(8).unwrap();
    for (wavelength_um, width_um, n_core, n_clad, radius_um) in
        [(1.55, 0.8, 1.98, 1.444, 4.0), (1.55, 0.8, 1.98, 1.444, 8.0), (1.31, 2.0, 1.51, 1.46, 150.0)]
    {
        let core = Core {
            wavelength_um,
            width_um,
            n_core,
            n_below: n_clad,
            n_above: n_clad,
            n_side: n_clad,
            ..flat()
        };
        let section = CrossSection::of_core(&core).unwrap();
        let slab = Slab { wavelength_um, width_um, n_core, n_left: n_clad, n_right: n_clad };
        for polarisation in Polarisation::ALL {
            let exact = solver.solve(&BentSlab::left(&slab, polarisation.lateral()), radius_um).unwrap();
            let n_eff = bent_slab(&section, polarisation, radius_um.recip(), exact.n_eff_re);
            assert!((n_eff.re - exact.n_eff_re).abs() < 1e-8, "{n_eff:?} {}", exact.n_eff_re);
            let loss = DB_PER_NEPER * n_eff.im * section.k0() * radius_um * std::f64::consts::FRAC_PI_2;
            let error = loss / exact.loss_db_per_90deg - 1.0;
            assert!(error.abs() < 3e-5, "{polarisation:?} R {radius_um}: {error:e} of {loss:e}");
        }
    }
}

#[test]
fn bends_to_both_sides_are_mirror_images() {
    let section = one_sided();
    let other = mirrored(&section);
    let settings = VectorSettings::COARSE;
    let left = section.bent_mode_with(Polarisation::QuasiTe, 1.0 / 40.0, settings).unwrap();
    let right = section.bent_mode_with(Polarisation::QuasiTe, -1.0 / 40.0, settings).unwrap();
    let image = other.bent_mode_with(Polarisation::QuasiTe, -1.0 / 40.0, settings).unwrap();
    assert!((left.n_eff_re - image.n_eff_re).abs() < 1e-10);
    assert!((left.loss_db_per_90deg / image.loss_db_per_90deg - 1.0).abs() < 1e-6);
    assert!((left.loss_db_per_90deg / right.loss_db_per_90deg - 1.0).abs() > 0.1);
    let (a, b) = (left.field(0.3, 0.2).unwrap(), image.field(-0.3, 0.2).unwrap());
    assert!((a.e_y.0.abs() - b.e_y.0.abs()).abs() < 1e-6 && (a.e_z.0.abs() - b.e_z.0.abs()).abs() < 1e-6);
}

#[test]
fn weak_bends_approach_the_straight_mode() {
    let core = Core {
        n_core: 1.51,
        n_below: 1.46,
        n_above: 1.46,
        n_side: 1.46,
        width_um: 2.0,
        height_um: 2.0,
        wavelength_um: 1.31,
        ..flat()
    };
    let section = CrossSection::of_core(&core).unwrap();
    let straight = section.straight_mode(Polarisation::QuasiTe).unwrap().n_eff_re;
    let settings = VectorSettings::COARSE;
    let rise = |radius_um: f64| {
        let mode = section.bent_mode_with(Polarisation::QuasiTe, radius_um.recip(), settings).unwrap();
        (mode.n_eff_re - straight, mode.loss_db_per_90deg, mode.caustic_offset_um)
    };
    let (near, far) = (rise(400.0), rise(800.0));
    // The index rises with κ² and the loss falls exponentially.
    assert!((near.0 / far.0 / 4.0 - 1.0).abs() < 0.03, "{near:?} {far:?}");
    assert!(far.1 < 1e-3 * near.1 && far.1 > 0.0);
    assert!((far.2 / near.2 / 2.0 - 1.0).abs() < 0.05);
    let gone = section.bent_mode_with(Polarisation::QuasiTe, 1e-4, settings);
    assert!(
        matches!(gone, Err(VectorError::LossTooSmall { .. })),
        "{:?}",
        gone.map(|mode| mode.loss_db_per_90deg)
    );
}

#[test]
fn nonsense_is_refused() {
    let section = CrossSection::of_core(&flat()).unwrap();
    let te = Polarisation::QuasiTe;
    assert!(matches!(
        section.bent_mode(te, 1.0 / 0.4),
        Err(VectorError::Light(LightError::Radius { least_um, .. })) if least_um == 0.5
    ));
    assert!(matches!(section.bent_mode(te, 0.0), Err(VectorError::Light(LightError::Length { .. }))));
    assert!(section.bent_mode(te, f64::NAN).is_err());
    for settings in [VectorSettings { order: 1, layers: 1 }, VectorSettings { order: 3, layers: 9 }] {
        assert!(matches!(
            section.straight_mode_with(te, settings),
            Err(VectorError::Light(LightError::Number { .. }))
        ));
    }
    let rectangle = |y_um, material| Rectangle { y_um, z_um: (0.0, 1.0), material };
    let new = |wavelength_um, indices: &[f64], rectangles: &[Rectangle]| {
        CrossSection::new(wavelength_um, indices, 0, rectangles)
    };
    assert!(matches!(
        new(1550.0, &[1.4, 1.5], &[rectangle((0.0, 1.0), 1)]),
        Err(LightError::Wavelength { .. })
    ));
    assert!(matches!(new(1.55, &[1.4, 0.5], &[rectangle((0.0, 1.0), 1)]), Err(LightError::Index { .. })));
    assert!(matches!(new(1.55, &[1.4, 1.5], &[rectangle((0.0, 1.0), 2)]), Err(LightError::Number { .. })));
    assert!(matches!(new(1.55, &[1.4, 1.5], &[rectangle((1.0, 1.0), 1)]), Err(LightError::Length { .. })));
    assert!(matches!(
        new(1.55, &[1.4, 1.5], &[rectangle((f64::NAN, 1.0), 1)]),
        Err(LightError::Length { .. })
    ));
    assert!(matches!(
        new(1.55, &[1.5, 1.4], &[rectangle((0.0, 1.0), 1)]),
        Err(LightError::CoreBelowCladding { .. })
    ));
    assert!(matches!(new(1.55, &[1.5], &[]), Err(LightError::CoreBelowCladding { .. })));
    // A film without a core.
    let film = Rectangle { y_um: (f64::NEG_INFINITY, f64::INFINITY), z_um: (0.0, 1.0), material: 1 };
    assert!(new(1.55, &[1.4, 1.5], &[film]).is_err());
    assert_eq!(CoreMaterial::Core as usize, 3);
}

#[test]
fn core_below_cutoff_is_not_guided() {
    let thin = Core {
        wavelength_um: 1.55,
        width_um: 0.8,
        height_um: 0.3,
        n_core: 1.58,
        n_below: 1.4525,
        n_above: 1.0,
        n_side: 1.0,
        side_slab_um: None,
    };
    let section = CrossSection::of_core(&thin).unwrap();
    for polarisation in Polarisation::ALL {
        let mode = section.straight_mode(polarisation);
        assert!(matches!(mode, Err(VectorError::NotGuided { .. })), "{:?}", mode.map(|mode| mode.n_eff_re));
    }
}

/// In a tight bend of a strip the polarisations mix and radiation is all around; each mode still is the one it joins
/// when the bend is opened.
#[test]
fn modes_of_a_strip_join_the_straight_ones() {
    let core = Core {
        wavelength_um: 0.85,
        width_um: 1.0,
        height_um: 0.6,
        n_core: 1.58,
        n_below: 1.4525,
        n_above: 1.0,
        n_side: 1.0,
        side_slab_um: None,
    };
    let section = CrossSection::of_core(&core).unwrap();
    for polarisation in Polarisation::ALL {
        let straight = section.straight_mode(polarisation).unwrap();
        let (mut last, mut loss) = (straight.n_eff_re, 0.0);
        for radius_um in [80.0, 40.0, 24.0, 16.0, 12.0] {
            let mode = section.bent_mode_with(polarisation, 1.0 / radius_um, VectorSettings::COARSE).unwrap();
            assert!(mode.n_eff_re > last && mode.n_eff_re < last + 4e-3, "R {radius_um}: {}", mode.n_eff_re);
            assert!(mode.loss_db_per_90deg > loss && mode.loss_db_per_90deg < 4.0);
            assert!((mode.confinement[3] - straight.confinement[3]).abs() < 0.06);
            (last, loss) = (mode.n_eff_re, mode.loss_db_per_90deg);
        }
    }
}

#[test]
fn modes_are_counted_with_and_without_symmetry() {
    let core = Core {
        wavelength_um: 0.85,
        width_um: 3.0,
        height_um: 2.0,
        n_core: 1.52,
        n_below: 1.49,
        n_above: 1.49,
        n_side: 1.49,
        side_slab_um: None,
    };
    let count = CrossSection::of_core(&core).unwrap().count_modes().unwrap();
    assert_eq!((count.n_eff.len(), count.near_cutoff, count.settled), (6, 0, true));
    // A patch of cladding in the cladding takes both symmetries away.
    let whole = CrossSection::new(
        0.85,
        &[1.49, 1.52],
        0,
        &[
            Rectangle { y_um: (1.5, 2.0), z_um: (2.0, 2.5), material: 0 },
            Rectangle { y_um: (-1.5, 1.5), z_um: (0.0, 2.0), material: 1 },
        ],
    );
    let other = whole.unwrap().count_modes().unwrap();
    assert_eq!(other.n_eff.len(), 6);
    for (a, b) in count.n_eff.iter().zip(&other.n_eff) {
        assert!((a - b).abs() < 1e-6, "{a} {b}");
    }
    // Too small to guide anything.
    let thin = Core { width_um: 0.3, height_um: 0.3, n_side: 1.45, n_above: 1.0, ..core };
    let none = CrossSection::of_core(&thin).unwrap().count_modes().unwrap();
    assert_eq!((none.n_eff.len(), none.near_cutoff), (0, 0));
}

#[test]
fn weak_modes_are_near_cutoff() {
    // The second mode across a slab of this width and contrast has just appeared; a core is a little later.
    let count = |width_um: f64| {
        let core = Core {
            wavelength_um: 1.31,
            width_um,
            height_um: 2.0,
            n_core: 1.51,
            n_below: 1.46,
            n_above: 1.46,
            n_side: 1.46,
            side_slab_um: None,
        };
        CrossSection::of_core(&core).unwrap().count_modes().unwrap()
    };
    let (below, above) = (count(2.2), count(2.7));
    assert_eq!(below.n_eff.len(), 2);
    assert_eq!(above.n_eff.len(), 4);
    // Between them the new modes come in near the cladding index.
    let mut width_um = 2.2;
    while count(width_um).n_eff.len() == 2 {
        width_um += 0.04;
    }
    let new = count(width_um);
    assert!(new.near_cutoff >= 1 && new.n_eff.len() <= 4, "{width_um}: {new:?}");
}
