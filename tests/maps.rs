//! Maps against single assessments.

use ogee_design::{Caches, Design, FamilyName, MapField, MapSpec, Tier, assess, map};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// A map's cells are single assessments of the same design with that amplitude and pitch.
    #[test]
    fn map_cells_are_assessments(
        family in 0..5_usize, periods in 1..8_u32, width_um in 5.0..60.0_f64, target_percent in 1.0..60.0_f64,
    ) {
        const UM_PER_MM: f64 = 1000.0;
        const COLUMNS: usize = 4;
        const ROWS: usize = 3;
        let names = [
            FamilyName::Sine, FamilyName::Arc, FamilyName::ArcAndArm, FamilyName::SineGenerated, FamilyName::Clothoid,
        ];
        let mut design = Design::sample();
        design.shape.family = names[family];
        design.shape.radius_um = None;
        design.shape.tilt_deg = (names[family] == FamilyName::ArcAndArm).then_some(80.0);
        design.shape.plateau_share = (names[family] == FamilyName::Clothoid).then_some(0.3);
        design.shape.periods = periods;
        design.shape.width_um = width_um;
        design.duty.target_stretch_percent = target_percent;
        let checked = design.check();
        prop_assume!(checked.is_ok());
        let checked = checked.expect("just checked");
        let spec = MapSpec::of(&design, COLUMNS, ROWS);
        let mut caches = Caches::new();
        let grid = map(&checked, &spec, &mut caches, &|| true, &mut |_, _| {}).expect("nobody stopped it");
        for (row, column) in (0..ROWS).flat_map(|row| (0..COLUMNS).map(move |column| (row, column))) {
            let mut one = design.clone();
            one.shape.pitch_um = spec.pitch_um(column);
            one.shape.amplitude_um = spec.amplitude_um(row);
            let single = one.check().ok().and_then(|checked| {
                assess(&checked, Tier::Live, &mut caches, &|| true).ok().flatten()
            });
            prop_assert_eq!(grid.is_possible(column, row), single.is_some());
            let Some(single) = single else { continue };
            let strain_margin = single.margins.iter().find(|margin| margin.id == "strain-at-target");
            let light = single.light.as_ref();
            let pairs = [
                (MapField::PeakStrain, Some(single.stretch.peak_tensile_strain_percent)),
                (MapField::ContourLength, Some(single.shape.contour_length_um / UM_PER_MM)),
                (MapField::StrainMargin, strain_margin.and_then(|margin| margin.margin)),
                (MapField::InsertionLoss, light.and_then(|light| light.rest.as_ref()).map(|loss| loss.total_db)),
                (
                    MapField::InsertionLossStretched,
                    light.and_then(|light| light.stretched.as_ref()).map(|loss| loss.total_db),
                ),
            ];
            for (field, expected) in pairs {
                let Some(expected) = expected else { continue };
                let got = grid.value(field, column, row);
                // Cells are kept in single precision, and their solver may stop at another mesh.
                let close = got.is_some_and(|got| (got - expected).abs() <= 5e-4 * expected.abs() + 1e-6);
                prop_assert!(close, "{field:?} at {column}, {row}: {got:?}, alone {expected}");
            }
        }
    }
}
