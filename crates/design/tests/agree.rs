//! Maps, states and assessments tell the same about the same design.

use ogee_design::{
    Assessment, Caches, Design, EndsName, FamilyName, MapField, MapModel, MapSpec, MapWindow, SupportName,
    Tier, assess, map, period_state, refine_map,
};

fn assessed(design: &Design) -> Assessment {
    let checked = design.check().expect("possible");
    assess(&checked, Tier::Live, &mut Caches::new(), &|| true).expect("equilibrium").expect("not stopped")
}

/// The sample in another family, at about the same size.
fn variants() -> Vec<Design> {
    let mut list = Vec::new();
    for family in FamilyName::ALL {
        for ends in EndsName::ALL {
            let mut design = Design::sample();
            design.shape.family = family;
            design.shape.ends = ends;
            design.shape.radius_um = (family == FamilyName::ArcAndArm).then_some(200.0);
            design.shape.plateau_share = (family == FamilyName::Clothoid).then_some(0.3);
            list.push(design);
        }
    }
    list
}

/// Relative agreement of two solves that are each good to 1e-4.
const SOLVES: f64 = 3e-4;

fn assert_close(name: &str, a: f64, b: f64, relative: f64) {
    assert!(
        (a - b).abs() <= relative * a.abs().max(b.abs()),
        "{name}: {a} and {b} differ by more than {relative}"
    );
}

#[test]
fn a_map_cell_is_the_single_assessment() {
    for mut design in variants() {
        let (amplitude, pitch) = (design.shape.amplitude_um, design.shape.pitch_um);
        design.map = Some(MapWindow {
            amplitude_um: [0.7 * amplitude, 1.1 * amplitude],
            pitch_um: [0.9 * pitch, 1.4 * pitch],
        });
        let checked = design.check().expect("possible");
        let spec = MapSpec::of(&design, 3, 2);
        let grid = map(&checked, &spec, &mut Caches::new(), &|| true, &mut |_, _| {}).expect("not stopped");
        for (column, row) in [(0, 0), (1, 1), (2, 0)] {
            let mut single = design.clone();
            single.shape.pitch_um = spec.pitch_um(column);
            single.shape.amplitude_um = spec.amplitude_um(row);
            let name = format!("{:?} {:?} {column} {row}", design.shape.family, design.shape.ends);
            if single.check().is_err() {
                assert!(!grid.is_possible(column, row), "{name}");
                assert!(grid.reason(column, row).is_some(), "{name}");
                continue;
            }
            let result = assessed(&single);
            let value = |field| grid.value(field, column, row).unwrap_or_else(|| panic!("{name} {field:?}"));
            let margin = |id: &str| {
                result.margins.iter().find(|m| m.id == id).and_then(|m| m.margin).expect("a number")
            };
            assert_close(&name, value(MapField::StrainMargin), margin("strain-at-target"), SOLVES);
            assert_close(
                &name,
                value(MapField::ContourLength),
                result.shape.contour_length_um / 1000.0,
                1e-6,
            );
            let light = result.light.as_ref().expect("light");
            let (rest, stretched) =
                (light.rest.as_ref().expect("loss"), light.stretched.as_ref().expect("loss"));
            assert_close(&name, value(MapField::InsertionLoss), rest.total_db, 1e-6);
            assert_close(&name, value(MapField::InsertionLossStretched), stretched.total_db, SOLVES);
            let smallest = result
                .margins
                .iter()
                .filter(|m| !["stretch-reserve", "cycled-polymer"].contains(&m.id.as_str()))
                .filter_map(|m| m.margin)
                .fold(f64::INFINITY, f64::min);
            assert_close(&name, value(MapField::AllLimits), smallest, SOLVES);
        }
    }
}

#[test]
fn the_reserve_is_where_the_strain_margin_is_one() {
    for mut design in variants() {
        let reached = assessed(&design).stretch.allowable_reached_percent.expect("in reach");
        design.duty.target_stretch_percent = reached;
        let margin =
            assessed(&design).margins.iter().find(|m| m.id == "strain-at-target").and_then(|m| m.margin);
        assert_close("margin at the reserve", margin.expect("a number"), 1.0, 1e-3);
    }
}

#[test]
fn states_are_continuous_and_as_long_as_the_islands_are_apart() {
    for design in variants() {
        let checked = design.check().expect("possible");
        let mut caches = Caches::new();
        for stretch in [0.0, 0.2, 0.5] {
            let state = period_state(&checked, stretch, &mut caches).expect("equilibrium");
            let name = format!("{:?} {:?} {stretch}", design.shape.family, design.shape.ends);
            let span = checked.centreline().span_um() * (1.0 + stretch);
            assert_close(&name, state.span_um, span, 1e-6);
            let chain = state.whole(100_000);
            let step = checked.quarter().length_um() / 20.0;
            for pair in chain.windows(2) {
                let gap = (pair[1].x_um - pair[0].x_um).hypot(pair[1].y_um - pair[0].y_um);
                let lead = pair[1].kappa_rest_per_um == 0.0 || pair[0].kappa_rest_per_um == 0.0;
                assert!(
                    lead || gap < (1.0 + stretch) * step,
                    "{name}: a gap of {gap} µm at s = {}",
                    pair[0].s_um
                );
                assert!(pair[1].s_um >= pair[0].s_um - 1e-6, "{name}: s runs back at {}", pair[0].s_um);
            }
            if stretch == 0.0 {
                for point in chain.iter().step_by(7) {
                    let exact = checked.centreline().at(point.s_um);
                    let off = (exact.x_um - point.x_um).hypot(exact.y_um - point.y_um);
                    assert!(off < 1e-6 * design.shape.pitch_um, "{name}: {off} µm off at s = {}", point.s_um);
                    assert!(point.left_strain.abs() < 1e-9 && point.right_strain.abs() < 1e-9, "{name}");
                }
            }
        }
    }
}

#[test]
fn sensitivities_foretell_the_changed_design() {
    let design = Design::sample();
    let before = assessed(&design);
    let mut wider = design.clone();
    wider.shape.pitch_um *= 1.1;
    let after = assessed(&wider);
    // Those of wrap, oven, life, islands and trace come with the full tier.
    let told: Vec<_> = before.margins.iter().filter(|m| !m.sensitivities.is_empty()).collect();
    assert_eq!(told.len(), 10);
    for margin in told {
        let told = margin
            .sensitivities
            .iter()
            .find(|s| s.path == "shape.pitch_um" && s.change_percent > 0.0)
            .and_then(|s| s.margin_change_percent)
            .expect("told");
        let new = after.margins.iter().find(|m| m.id == margin.id).and_then(|m| m.margin).expect("a number");
        let old = margin.margin.expect("a number");
        assert!((100.0 * (new / old - 1.0) - told).abs() < 0.1, "{}: told {told}", margin.id);
    }
}

#[test]
fn the_full_tier_tells_what_a_thicker_layer_does_to_the_wrap() {
    let mut design = Design::sample();
    design.support.kind = SupportName::FreeInPlane;
    let full = |design: &Design| {
        let checked = design.check().expect("possible");
        let found = assess(&checked, Tier::Full, &mut Caches::new(), &|| true);
        found.expect("it has an equilibrium").expect("nobody stopped it")
    };
    let (before, mut thicker) = (full(&design), design.clone());
    thicker.stack.layers[0].thickness_um *= 1.1;
    let after = full(&thicker);
    for id in ["wrap", "residual-strain", "island-strain"] {
        let find = |a: &Assessment| a.margins.iter().find(|m| m.id == id).cloned().expect("is judged");
        let (old, new) = (find(&before), find(&after));
        let told = old
            .sensitivities
            .iter()
            .find(|s| s.path == "stack.layers[0].thickness_um" && s.change_percent > 0.0)
            .and_then(|s| s.margin_change_percent)
            .expect("told");
        let change = 100.0 * (new.margin.expect("a number") / old.margin.expect("a number") - 1.0);
        assert!((change - told).abs() < 0.1, "{id}: told {told}, found {change}");
    }
}

/// The full tier solves the true cross-section; the slab's index stands beside it and lies above, as it does for buried cores.
#[test]
fn the_full_tier_solves_the_true_modes() {
    let design = Design::sample();
    assert_eq!(assessed(&design).light.expect("light").modes, None);
    let checked = design.check().expect("possible");
    let mut caches = Caches::new();
    let mut full =
        || assess(&checked, Tier::Full, &mut caches, &|| true).expect("equilibrium").expect("not stopped");
    let (first, second) = (full(), full());
    let light = first.light.expect("light");
    let modes = light.modes.expect("the full tier");
    assert_eq!((modes.modes.len(), modes.missing.len()), (2, 0));
    for mode in &modes.modes {
        assert!(mode.error_estimate < 2e-6 && mode.effective_index > 1.48 && mode.effective_index < 1.58);
        assert!(mode.slab_effective_index.expect("guides") > mode.effective_index, "{mode:?}");
        // Materials share out what a change of all indices by the same factor does, which is n_g/n_eff for constant ones.
        let sum = 1.58 * mode.confinement[0] + 1.48 * mode.confinement[1..].iter().sum::<f64>();
        assert_close("group index", sum, mode.group_index, 1e-9);
    }
    // Three radii, at which the slab loses 1, 1e-2 and 1e-5 dB, correct the loss of this tier.
    assert_eq!(
        modes.bends.iter().map(|b| b.slab_db_per_90deg.log10().round()).collect::<Vec<_>>(),
        [0.0, -2.0, -5.0]
    );
    let live = assessed(&design).light.expect("light").rest.expect("a loss");
    let rest = light.rest.expect("a loss");
    let factor = |b: &ogee_design::BendCheck| b.true_db_per_90deg / b.slab_db_per_90deg;
    // The crests lie between the first two radii, so does the factor on what bends lose in all.
    let (low, high) = (factor(&modes.bends[0]), factor(&modes.bends[1]));
    assert!(rest.bend_db > low * live.bend_db && rest.bend_db < high * live.bend_db, "{rest:?} {live:?}");
    assert_eq!(second.light.expect("light").modes, Some(modes));
}

#[test]
fn impossible_designs_name_every_fault() {
    let mut design = Design::sample();
    design.shape.pitch_um = -3.0;
    design.stack.layers[0].thickness_um = 0.0;
    design.light.as_mut().expect("light").core = "nowhere".to_owned();
    let faults = design.check().expect_err("impossible");
    let paths: Vec<&str> = faults.iter().map(|f| f.path.as_str()).collect();
    assert_eq!(paths, ["shape.pitch_um", "stack.layers[0].thickness_um", "light.core"]);
    assert!(faults[0].to_string().contains("from 0.01 to 1"), "{}", faults[0]);
}

#[test]
fn the_nearest_value_of_a_fault_does() {
    let mut design = Design::sample();
    design.shape.family = FamilyName::ArcAndArm;
    design.shape.radius_um = Some(5000.0);
    let fault = design.check().expect_err("too round").remove(0);
    assert_eq!(fault.path, "shape.radius_um");
    design.shape.radius_um = fault.nearest;
    assert!(design.check().is_ok(), "{:?}", design.check().err());
}

/// A map refined by the full models against single full assessments, however the ribbon is held. The buckled map follows
/// its neighbours' branch, which here is that of the least energy too.
#[test]
fn a_refined_map_cell_is_the_single_full_assessment() {
    for kind in SupportName::ALL {
        let mut design = Design::sample();
        design.support.kind = kind;
        design.support.elastomer = (kind == SupportName::Bonded).then(Default::default);
        design.shape.periods = 2;
        let checked = design.check().expect("possible");
        let mut caches = Caches::new();
        let spec = MapSpec { columns: 3, rows: 3, ..MapSpec::of(&design, 3, 3) };
        let live = map(&checked, &spec, &mut caches, &|| true, &mut |_, _| {}).expect("not stopped");
        let mut shares = Vec::new();
        let full = refine_map(&checked, &live, 1, &mut caches, &|| true, &mut |_, share| shares.push(share));
        let full = full.expect("not stopped").solved_only();
        assert_eq!((live.model(), full.model()), (MapModel::Live, MapModel::Full));
        assert!(shares.last().is_some_and(|share| *share >= 1.0));
        let mut compared = 0;
        for (row, column) in [(0, 0), (1, 1), (2, 1), (2, 2)] {
            let mut one = design.clone();
            one.shape.pitch_um = spec.pitch_um(column);
            one.shape.amplitude_um = spec.amplitude_um(row);
            let Some(value) = full.value(MapField::StrainMargin, column, row) else { continue };
            assert!(full.is_solved(column, row) && !live.is_solved(column, row));
            let checked = one.check().expect("the map has a value here");
            let single = assess(&checked, Tier::Full, &mut caches, &|| true);
            let single = single.expect("equilibrium").expect("not stopped");
            let margin = single.margins.iter().find(|m| m.id == "strain-at-target").and_then(|m| m.margin);
            assert_close(&format!("{kind:?} {column} {row}"), value, margin.expect("judged"), 2e-2);
            compared += 1;
        }
        assert!(compared >= 3, "{kind:?}: {compared}");
        assert!(refine_map(&checked, &live, 1, &mut caches, &|| false, &mut |_, _| {}).is_none());
    }
}
