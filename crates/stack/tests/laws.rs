//! Laws of the section: what must hold for any stack, checked on random ones.

use ogee_stack::{
    Filler, Layer, ModulusKind, Row, Section, SectionLoads, SectionStrain, Strip, curved_integrals,
};
use proptest::prelude::*;

const WIDTH_UM: f64 = 20.0;

fn close(value: f64, expected: f64, scale: f64) -> Result<(), TestCaseError> {
    let error = (value - expected).abs();
    prop_assert!(error <= 1e-10 * scale.abs(), "{value} against {expected}, off by {error}, scale {scale}");
    Ok(())
}

/// A row that fits a ribbon of `WIDTH_UM`; `lean` of zero keeps it symmetric. Wide enough always to rest on its
/// neighbour.
fn row(lean: f64) -> impl Strategy<Value = Row> {
    (0.6..1.0, 0.05..8.0, -1.0..1.0, 0.0..5.5, -0.5..0.49, proptest::option::of(0.0..5.5)).prop_map(
        move |(share, thickness_um, side, log_modulus, poisson, filler)| {
            let width_um: f64 = share * WIDTH_UM;
            let core = Layer::new("core", width_um, thickness_um, 10f64.powf(log_modulus), poisson)
                .with_offset(lean * side * 0.5 * (WIDTH_UM - width_um));
            Row { core, filler: filler.map(|log: f64| Filler::new("filler", 10f64.powf(log), 0.3)) }
        },
    )
}

fn rows(lean: f64) -> impl Strategy<Value = Vec<Row>> {
    prop::collection::vec(row(lean), 1..6)
}

fn section(rows: &[Row]) -> Section {
    Section::new(WIDTH_UM, rows.to_vec()).expect("the strategy makes sound rows")
}

fn sum_of_strips(strips: &[Strip], integral: impl Fn(f64) -> f64) -> f64 {
    strips.iter().map(|s| s.stiffness_un_per_um * integral(s.half_width_um)).sum()
}

proptest! {
    #[test]
    fn equal_layers_are_one_layer(parts in 1_usize..7, thickness_um in 0.1..10.0, modulus in 1.0..1e5) {
        let part = Row::open(Layer::new("part", WIDTH_UM, thickness_um / parts as f64, modulus, 0.3));
        let whole = Row::open(Layer::new("whole", WIDTH_UM, thickness_um, modulus, 0.3));
        let (many, one) = (section(&vec![part; parts]), section(&[whole]));
        close(many.ea_un(), one.ea_un(), one.ea_un())?;
        close(many.ei_in_plane_un_um2(), one.ei_in_plane_un_um2(), one.ei_in_plane_un_um2())?;
        close(many.ei_out_of_plane_un_um2(), one.ei_out_of_plane_un_um2(), one.ei_out_of_plane_un_um2())?;
        close(many.neutral_plane_um(), one.neutral_plane_um(), thickness_um)?;
        prop_assert_eq!(many.strips().len(), 1);
    }

    #[test]
    fn a_filler_of_the_cores_own_material_makes_one_layer(
        share in 0.1..1.0, side in -1.0..1.0, thickness_um in 0.1..10.0, modulus in 1.0..1e5,
    ) {
        let core = Layer::new("core", share * WIDTH_UM, thickness_um, modulus, 0.3)
            .with_offset(side * 0.5 * (1.0 - share) * WIDTH_UM);
        let filled = section(&[Row::filled(core, Filler::new("same", modulus, 0.3))]);
        let whole = section(&[Row::open(Layer::new("whole", WIDTH_UM, thickness_um, modulus, 0.3))]);
        close(filled.ea_un(), whole.ea_un(), whole.ea_un())?;
        close(filled.ei_in_plane_un_um2(), whole.ei_in_plane_un_um2(), whole.ei_in_plane_un_um2())?;
        close(filled.neutral_axis_y_um(), 0.0, WIDTH_UM)?;
        prop_assert!(filled.is_symmetric_in_plane());
        prop_assert_eq!(filled.strips().len(), 1);
    }

    #[test]
    fn reversing_the_order_mirrors_the_section(rows in rows(1.0)) {
        let up = section(&rows);
        let down = section(&rows.iter().rev().cloned().collect::<Vec<_>>());
        let bending = up.ei_out_of_plane_un_um2();
        close(down.ea_un(), up.ea_un(), up.ea_un())?;
        close(down.neutral_plane_um(), up.thickness_um() - up.neutral_plane_um(), up.thickness_um())?;
        close(down.neutral_axis_y_um(), up.neutral_axis_y_um(), WIDTH_UM)?;
        close(down.ei_out_of_plane_un_um2(), bending, bending)?;
        close(down.ei_in_plane_un_um2(), up.ei_in_plane_un_um2(), up.ei_in_plane_un_um2())?;
        let scale = (bending * up.ei_in_plane_un_um2()).sqrt();
        close(down.ei_coupling_un_um2(), -up.ei_coupling_un_um2(), scale)?;
    }

    #[test]
    fn mirroring_the_offsets_mirrors_the_neutral_axis(rows in rows(1.0)) {
        let left = section(&rows);
        let mirrored: Vec<Row> = rows
            .iter()
            .map(|r| Row { core: r.core.clone().with_offset(-r.core.offset_um), filler: r.filler.clone() })
            .collect();
        let right = section(&mirrored);
        close(right.neutral_axis_y_um(), -left.neutral_axis_y_um(), WIDTH_UM)?;
        close(right.ei_in_plane_un_um2(), left.ei_in_plane_un_um2(), left.ei_in_plane_un_um2())?;
        let scale = (left.ei_out_of_plane_un_um2() * left.ei_in_plane_un_um2()).sqrt();
        close(right.ei_coupling_un_um2(), -left.ei_coupling_un_um2(), scale)?;
    }

    #[test]
    fn the_neutral_point_lies_inside(rows in rows(1.0)) {
        let section = section(&rows);
        prop_assert!(section.neutral_plane_um() > 0.0);
        prop_assert!(section.neutral_plane_um() < section.thickness_um());
        prop_assert!(section.neutral_axis_y_um().abs() < 0.5 * WIDTH_UM);
    }

    #[test]
    fn lengths_scale(rows in rows(1.0), factor in 0.01..100.0) {
        let small = section(&rows);
        let scaled = rows
            .iter()
            .cloned()
            .map(|mut r| {
                r.core.width_um *= factor;
                r.core.thickness_um *= factor;
                r.core.offset_um *= factor;
                r
            })
            .collect();
        let large = Section::new(WIDTH_UM * factor, scaled).expect("scaled rows are sound");
        let area = factor * factor;
        close(large.ea_un(), small.ea_un() * area, large.ea_un())?;
        let bending = large.ei_in_plane_un_um2();
        close(bending, small.ei_in_plane_un_um2() * area * area, bending)?;
        close(large.neutral_plane_um(), small.neutral_plane_um() * factor, large.thickness_um())?;
    }

    #[test]
    fn strips_carry_the_whole_of_a_symmetric_section(rows in rows(0.0), bend in -0.95_f64..0.95) {
        let section = section(&rows);
        let strips = section.strips();
        prop_assert!(section.is_symmetric_in_plane());
        prop_assert!(strips.windows(2).all(|pair| pair[0].half_width_um > pair[1].half_width_um));
        close(sum_of_strips(&strips, |half| 2.0 * half), section.ea_un(), section.ea_un())?;
        let rest = bend / (0.5 * WIDTH_UM);
        let curved = section.curved_stiffness(rest).expect("the bend is wider than the ribbon");
        let j = |p: usize| move |half: f64| curved_integrals(rest, -half, half).expect("inside the bend")[p];
        close(sum_of_strips(&strips, j(0)), curved.a0_un, curved.a0_un)?;
        close(sum_of_strips(&strips, j(1)), curved.a1_un_um, curved.a0_un * WIDTH_UM)?;
        close(sum_of_strips(&strips, j(2)), curved.a2_un_um2, curved.a2_un_um2)?;
    }

    #[test]
    fn strips_of_a_leaning_section_keep_stretch_and_straight_bending(rows in rows(1.0)) {
        let section = section(&rows);
        let strips = section.strips();
        let straight = section.curved_stiffness(0.0).expect("a straight ribbon");
        close(sum_of_strips(&strips, |half| 2.0 * half), section.ea_un(), section.ea_un())?;
        close(sum_of_strips(&strips, |half| half.powi(3) / 1.5), straight.a2_un_um2, straight.a2_un_um2)?;
        let leans = (section.neutral_axis_y_um() / WIDTH_UM).abs() > 1e-9;
        prop_assert!(!(leans && section.is_symmetric_in_plane()));
    }

    #[test]
    fn a_straight_ribbon_has_its_plain_stiffness_as_curved_stiffness(rows in rows(1.0)) {
        let section = section(&rows);
        let straight = section.curved_stiffness(0.0).expect("a straight ribbon");
        let (ea, y_n) = (section.ea_un(), section.neutral_axis_y_um());
        close(straight.a0_un, ea, ea)?;
        close(straight.a1_un_um, ea * y_n, ea * WIDTH_UM)?;
        // Parallel axes: about y = 0 instead of the neutral axis.
        close(straight.a2_un_um2, section.ei_in_plane_un_um2() + ea * y_n * y_n, straight.a2_un_um2)?;
    }

    #[test]
    fn curved_integrals_agree_with_quadrature(
        reach in 1e-6..0.9_f64, from in -1.0..1.0_f64, to in -1.0..1.0_f64, mirror in any::<bool>(),
    ) {
        let rest = if mirror { -reach } else { reach };
        let integrals = curved_integrals(rest, from, to).expect("inside the bend");
        // Three-point Gauss on each of 400 panels.
        let step = (to - from) / 400.0;
        let mut sums = [0.0; 3];
        for panel in 0..400 {
            let middle = from + (f64::from(panel) + 0.5) * step;
            for (node, weight) in [(-0.6_f64.sqrt(), 5.0 / 9.0), (0.0, 8.0 / 9.0), (0.6_f64.sqrt(), 5.0 / 9.0)] {
                let y = middle + 0.5 * step * node;
                for (p, sum) in sums.iter_mut().enumerate() {
                    *sum += 0.5 * step * weight * [1.0, y, y * y][p] / (1.0 - y * rest);
                }
            }
        }
        let scale = (to - from).abs() / (1.0 - reach);
        for (value, expected) in integrals.into_iter().zip(sums) {
            close(value, expected, 0.1 * scale)?;
        }
    }

    #[test]
    fn loads_and_strain_are_inverse(
        rows in rows(1.0), membrane in -0.01..0.01, out in -1e-3..1e-3, inward in -1e-3..1e-3,
    ) {
        let section = section(&rows);
        let state = SectionStrain { membrane, curvature_out_per_um: out, curvature_in_per_um: inward };
        let back = section.strain_under(&section.loads(&state));
        close(back.membrane, membrane, 0.01)?;
        close(back.curvature_out_per_um, out, 1e-3)?;
        close(back.curvature_in_per_um, inward, 1e-3)?;
    }

    /// Loads from the stiffnesses against loads from the stress of every rectangle: stress is linear, so its mean
    /// is the stress at the middle, and its first moments follow from the corners.
    #[test]
    fn loads_balance_the_stress(rows in rows(1.0), membrane in -0.01..0.01, out in -1e-3..1e-3, inward in -1e-3..1e-3) {
        let section = section(&rows).with_modulus_kind(ModulusKind::PlaneStrain).expect("sound");
        let state = SectionStrain { membrane, curvature_out_per_um: out, curvature_in_per_um: inward };
        let mut sums = SectionLoads::default();
        for r in section.rectangles() {
            let ea = ModulusKind::PlaneStrain.effective_mpa(r.modulus_mpa, r.poisson) * r.area_um2();
            let mean = section.strain_at(&state, r.middle_y_um(), r.middle_z_um());
            let (y, z) = (r.middle_y_um() - section.neutral_axis_y_um(), r.middle_z_um() - section.neutral_plane_um());
            sums.force_un += ea * mean;
            sums.moment_out_un_um += ea * (mean * z + out * r.thickness_um().powi(2) / 12.0);
            sums.moment_in_un_um -= ea * (mean * y - inward * r.width_um().powi(2) / 12.0);
        }
        let loads = section.loads(&state);
        let ea = section.ea_un();
        close(loads.force_un, sums.force_un, ea * 0.1)?;
        close(loads.moment_out_un_um, sums.moment_out_un_um, ea * section.thickness_um() * 0.1)?;
        close(loads.moment_in_un_um, sums.moment_in_un_um, ea * WIDTH_UM * 0.1)?;
    }

    #[test]
    fn extremes_bound_every_fibre(rows in rows(1.0), out in -1e-3..1e-3, inward in -1e-3..1e-3, u in 0.0..1.0, v in 0.0..1.0) {
        let section = section(&rows);
        let state = SectionStrain { membrane: 0.001, curvature_out_per_um: out, curvature_in_per_um: inward };
        for (r, strain) in section.rectangles().iter().zip(section.strains(&state)) {
            let inside = section.strain_at(&state, r.y0_um + u * r.width_um(), r.z0_um + v * r.thickness_um());
            prop_assert!(inside <= strain.greatest() + 1e-15 && inside >= strain.least() - 1e-15);
            let middle = 0.25 * (strain.top_left + strain.top_right + strain.bottom_left + strain.bottom_right);
            close(0.5 * (strain.top_middle + strain.bottom_middle), middle, 0.01)?;
        }
    }
}
