//! Every number of a design can be typed somewhere.

use super::*;
use ogee_design::{
    Brittle, Elastomer, EndsName, FIELDS, FamilyName, FoilData, GratingData, Islands, Life, Process,
    StrainLifeData, SupportName, Trace, WrapDuty, field_at,
};
use std::collections::HashSet;

/// A design that has everything that a design can have at once.
pub(super) fn full() -> Design {
    let mut design = start();
    let shape = &mut design.shape;
    (shape.family, shape.radius_um) = (FamilyName::ArcAndArm, Some(160.0));
    (shape.ends, shape.end_radius_um) = (EndsName::Midline, Some(200.0));
    for layer in &mut design.stack.layers {
        layer.allowable_compression_percent = Some(2.0);
        layer.yield_strain_percent = Some(1.5);
        layer.cte_ppm_per_k = Some(50.0);
        layer.toughness_mpa_sqrt_m = Some(1.0);
    }
    design.stack.layers[0].strain_life = Some(StrainLifeData::default());
    design.stack.layers[1].brittle =
        Some(Brittle { static_fatigue_n: Some(20.0), proof_stress_mpa: Some(100.0), ..Brittle::default() });
    design.stack.layers[2].foil = Some(FoilData::default());
    design.support.kind = SupportName::Bonded;
    design.support.elastomer = Some(Elastomer::default());
    design.support.curl_radius_um = Some(2e4);
    let mut trace = Trace::copper("upper cladding");
    (trace.sheet_thickness_um, trace.sheet_conductivity_w_per_m_k) = (Some(500.0), Some(0.2));
    (trace.mean_free_path_nm, trace.grain_nm) = (Some(39.0), Some(100.0));
    design.trace = Some(trace);
    design.stack.layers[1].offset_um = 2.0;
    let names = design.stack.layers.iter().map(|layer| layer.name.as_str());
    let mut process = Process::plain(names, 150.0);
    (process.bow_limit_um, process.adhesion_j_per_m2) = (Some(100.0), Some(1.0));
    process.steps.iter_mut().take(3).for_each(|step| step.intrinsic_stress_mpa = 5.0);
    design.process = Some(process);
    design.islands = Some(Islands {
        adhesive_thickness_um: Some(20.0),
        adhesive_shear_modulus_mpa: Some(0.5),
        root_um: Some(100.0),
        grating: Some(GratingData { group_index: Some(1.6), ..GratingData::default() }),
        ..Islands::default()
    });
    design.duty.wrap = Some(WrapDuty { length_um: Some(5000.0), ..WrapDuty::default() });
    design.life = Some(Life::to_target(30.0));
    let limits = &mut design.limits;
    (limits.height_um, limits.room_above_um, limits.room_below_um) = (Some(3e3), Some(1e3), Some(1e3));
    (limits.resistance_ohm, limits.voltage_drop_mv, limits.temperature_rise_k) =
        (Some(1e3), Some(1e3), Some(10.0));
    design
}

/// Paths of all fields that are shown.
fn shown(window: &Window) -> HashSet<String> {
    let paths = window.get_all_by_role(egui::accesskit::Role::TextInput);
    paths.filter_map(|node| node.accesskit_node().author_id().map(str::to_owned)).collect()
}

/// Paths of all fields of the design, whichever layer is selected.
fn editable(design: Design) -> (Design, HashSet<String>) {
    let session = Session::new(design, quiet());
    let mut window = Harness::builder()
        .with_size([1280.0, 5000.0])
        .build_eframe(|cc| App::with_chooser(&cc.egui_ctx, session, Arc::new(NoDialog)));
    settle(&mut window, 3);
    assert_eq!(window.state().session().faults(), []);
    for title in ["Light", "Trace", "Making", "Life", "Islands", "Support", "Handle"] {
        open_card(&mut window, title);
    }
    send(&mut window, Command::SelectLayer(Some(0)));
    open_card(&mut window, "Strength");
    let design = super::design(&window);
    let mut paths = HashSet::new();
    for layer in 0..design.stack.layers.len() {
        send(&mut window, Command::SelectLayer(Some(layer)));
        paths.extend(shown(&window));
    }
    (design, paths)
}

#[test]
fn every_number_of_a_full_design_has_its_field() {
    let mut kinds = HashSet::new();
    let mut variants = vec![full(), full(), full()];
    (variants[1].shape.radius_um, variants[1].shape.tilt_deg) = (None, Some(60.0));
    let shape = &mut variants[2].shape;
    (shape.family, shape.radius_um, shape.plateau_share) = (FamilyName::Clothoid, None, Some(0.3));
    shape.end_radius_um = Some(150.0);
    for variant in variants {
        let (design, paths) = editable(variant);
        // The map's window is typed beside the map; what is as wide as the ribbon has no offset, and a step that brings
        // no layer no stress.
        let typed = |path: &&String| {
            let zero = design.number(path.as_str()) == Some(0.0);
            !path.starts_with("map.")
                && !(zero && (path.ends_with("offset_um") || path.ends_with("intrinsic_stress_mpa")))
        };
        for path in design.number_paths().iter().filter(typed) {
            assert!(paths.contains(path), "{path} cannot be typed anywhere");
        }
        kinds.extend(paths.iter().filter_map(|path| field_at(path)).map(|field| field.path));
    }
    for field in FIELDS.iter().filter(|field| !field.path.starts_with("map.")) {
        assert!(kinds.contains(field.path), "no design shows {}", field.path);
    }
}
