//! The margins.

use super::*;

#[test]
fn every_margin_has_a_line_and_opens() {
    let mut window = window();
    settle_all(&mut window);
    let margins = window.state().session().assessment().unwrap().margins.clone();
    assert!(!margins.is_empty());
    unfold(&mut window, &mut HashSet::new());
    for margin in &margins {
        assert!(shows(&window, &margin.name), "{}", margin.name);
    }
    let first = &margins[0];
    assert!(!shows(&window, &first.formula));
    let line = |window: &mut Window| {
        window
            .get_all_by_label_contains(&first.name)
            .find(|n| n.accesskit_node().role() == egui::accesskit::Role::Button)
            .unwrap()
            .click();
        window.run_steps(4);
    };
    line(&mut window);
    for part in [&first.formula, &first.source, &first.model] {
        assert!(part.is_empty() || shows(&window, part), "{part}");
    }
    line(&mut window);
    assert!(!shows(&window, &first.formula));
}

#[test]
fn pointing_at_a_line_points_at_its_place() {
    let mut window = window();
    settle_all(&mut window);
    let margins = window.state().session().assessment().unwrap().margins.clone();
    unfold(&mut window, &mut HashSet::new());
    let placed = margins.iter().find(|m| m.place.s_um.is_some()).expect("some margin has a place");
    let line = window
        .get_all_by_label_contains(&placed.name)
        .find(|n| n.accesskit_node().role() == egui::accesskit::Role::Button)
        .unwrap();
    line.hover();
    window.run_steps(3);
    let pointed = window.state().session().pointed().cloned().expect("the place is pointed at");
    assert_eq!(Some(pointed.s_um), placed.place.s_um);
    window.hover_at(egui::pos2(640.0, 3.0));
    window.run_steps(3);
    assert_eq!(window.state().session().pointed(), None);
}

#[test]
fn the_headline_is_the_smallest_margin() {
    let mut window = window();
    settle_all(&mut window);
    let found = window.state().session().assessment().unwrap();
    let smallest = found.margins.iter().filter_map(|m| m.margin).fold(f64::INFINITY, f64::min);
    assert_eq!(found.margins[0].margin, Some(smallest));
    let words = if found.passes { "smallest margin: all pass" } else { "smallest margin: fails" };
    assert!(shows(&window, words));
    let cautions = window.query_all_by_label_contains("Estimates do not replace tests").count();
    assert_eq!(cautions, 1);
    assert!(shows(&window, "What would help the smallest margin"));
}

#[test]
fn the_full_models_take_the_place_of_the_live_estimate() {
    let mut window = window();
    settle_all(&mut window);
    let found = window.state().session().assessment().unwrap().clone();
    assert_eq!(found.tier, ogee_design::Tier::Full);
    assert!(shows(&window, &format!("Strain by: {}", found.governing.model.label())));
    assert!(shows(&window, "Models side by side"));
    send(&mut window, Command::Commit(Edit::number("Change width", "shape.width_um", 41.0)));
    assert!(shows(&window, "full models running"));
    settle_all(&mut window);
    assert!(!shows(&window, "full models running"));
}
