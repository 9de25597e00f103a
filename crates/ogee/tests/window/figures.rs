//! The figures beside the map.

use super::*;
use ogee_design::{Islands, Life, Process, StrainLifeData, Trace, WrapDuty};

/// A design that asks for everything; its numbers are invented.
fn full() -> Design {
    let mut design = start();
    for layer in &mut design.stack.layers {
        layer.cte_ppm_per_k = Some(60.0);
    }
    let mut trace = ogee_design::StackLayer::plain("supply trace");
    (trace.thickness_um, trace.modulus_mpa, trace.cte_ppm_per_k) = (0.5, 110_000.0, Some(17.0));
    trace.strain_life = Some(StrainLifeData::default());
    design.stack.layers.push(trace);
    let names: Vec<String> = design.stack.layers.iter().map(|layer| layer.name.clone()).collect();
    design.process = Some(Process::plain(names.iter().map(String::as_str), 140.0));
    design.duty.wrap = Some(WrapDuty::default());
    design.life = Some(Life::to_target(design.duty.target_stretch_percent));
    design.islands = Some(Islands::default());
    design.trace = Some(Trace::copper("supply trace"));
    design
}

fn window_with_all() -> Window {
    let mut window = window_of(Session::new(full(), quiet()));
    settle_all(&mut window);
    assert_eq!(window.state().session().faults(), []);
    window
}

#[test]
fn every_figure_of_a_full_design_opens_with_its_model() {
    let mut window = window_with_all();
    for (word, label) in [
        ("wrap", "strain through the thickness"),
        ("oven", "stress by step"),
        ("life", "cycles to failure"),
        ("islands", "strain of island and sheet"),
        ("trace", "rated currents"),
    ] {
        click(&mut window, &format!("figure {word}"));
        assert!(shows(&window, label), "{word}");
        assert!(shows(&window, "Model: "), "{word}");
    }
    click(&mut window, "figure along");
    assert!(shows(&window, "place along the ribbon"));
}

#[test]
fn the_wrap_follows_its_radius_while_it_is_dragged() {
    let mut window = window_with_all();
    click(&mut window, "figure wrap");
    let strain = |window: &Window| window.state().session().assessment().unwrap().wrap.clone().unwrap();
    let before = strain(&window);
    let bar = window.get_by_label("wrap radius on the bar").rect();
    let (from, to) = (bar.center(), bar.right_center() - egui::vec2(30.0, 0.0));
    window.hover_at(from);
    window.run_steps(1);
    window.drag_at(from);
    window.run_steps(1);
    window.hover_at(to);
    window.run_steps(2);
    assert!(window.state().session().in_gesture());
    window.drop_at(to);
    settle(&mut window, 3);
    let after = strain(&window);
    assert!(after.radius_um > 1.3 * before.radius_um, "{} {}", before.radius_um, after.radius_um);
    assert_eq!(after.radius_um, design(&window).duty.wrap.unwrap().radius_um);
    assert!(after.faces[0].middle_percent.abs() < before.faces[0].middle_percent.abs());
    let session = window.state().session();
    assert_eq!((session.undo_depth(), session.undo_label()), (1, Some("Change wrap radius")));
}

#[test]
fn many_margins_show_the_failing_and_the_smallest_and_group_the_others() {
    let mut window = window_with_all();
    let margins = window.state().session().assessment().unwrap().margins.clone();
    assert!(margins.len() > 12, "{}", margins.len());
    for margin in margins.iter().filter(|margin| !margin.passes) {
        assert!(shows(&window, &margin.name), "{} fails and is not shown", margin.name);
    }
    let hidden = margins.iter().filter(|margin| !shows(&window, &margin.name)).count();
    assert!(hidden > 0);
    unfold(&mut window, &mut HashSet::new());
    for margin in &margins {
        assert!(shows(&window, &margin.name), "{}", margin.name);
    }
}

#[test]
fn a_row_of_the_life_shows_its_place_on_the_drawing() {
    let mut window = window_with_all();
    click(&mut window, "figure life");
    window.get_by_label("life of supply trace").hover();
    window.run_steps(3);
    let found = window.state().session().assessment().unwrap().life.clone().unwrap();
    let place = found.layers.iter().find(|layer| layer.name == "supply trace").unwrap().place.s_um;
    assert!(place.is_some());
    assert_eq!(window.state().session().pointed().map(|pointed| pointed.s_um), place);
    window.hover_at(egui::pos2(640.0, 3.0));
    window.run_steps(3);
    assert_eq!(window.state().session().pointed(), None);
}
