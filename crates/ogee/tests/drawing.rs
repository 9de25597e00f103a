//! The drawing and the stretch bar, driven by hand as a person would: found by label, pulled, nudged, typed.
#![cfg(feature = "window")]

use egui::{Key, Modifiers, Pos2, Vec2, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use egui_kittest::{Harness, Node};
use ogee::session::{Command, Edit, Session, Settings};
use ogee::window::{DrawingPanel, StretchBar, Theme};
use ogee_design::{Design, FamilyName};
use std::time::{Duration, Instant};

/// A drawing above a stretch bar, with a session that takes their commands.
struct Bench {
    session: Session,
    drawing: DrawingPanel,
    bar: StretchBar,
    is_dressed: bool,
}

impl Bench {
    fn ui(&mut self, ui: &mut egui::Ui) {
        if !self.is_dressed {
            Theme::install(ui.ctx());
            self.is_dressed = true;
            // Fonts are there from the next frame on.
            ui.ctx().request_repaint();
            return;
        }
        let theme = Theme::of(ui.ctx());
        let mut commands = Vec::new();
        egui::Panel::bottom("bar").exact_size(60.0).show(ui, |ui| {
            self.bar.ui(ui, &self.session, &theme, &mut commands);
        });
        egui::CentralPanel::default().show(ui, |ui| {
            self.drawing.ui(ui, &self.session, &theme, &mut commands);
        });
        for command in commands {
            self.session.apply(command);
        }
        self.session.poll();
    }
}

fn bench(design: Design) -> Harness<'static, Bench> {
    let settings = Settings { snapping: false, ..Settings::default() };
    bench_with(design, settings)
}

fn bench_with(design: Design, settings: Settings) -> Harness<'static, Bench> {
    let session = Session::new(design, settings);
    let bench =
        Bench { session, drawing: DrawingPanel::default(), bar: StretchBar::default(), is_dressed: false };
    let mut harness = Harness::builder()
        .with_size(vec2(1000.0, 640.0))
        .with_theme(egui::Theme::Light)
        .with_step_dt(1.0 / 60.0)
        .build_ui_state(|ui, bench: &mut Bench| bench.ui(ui), bench);
    harness.run_steps(4);
    harness
}

fn shaped(change: impl FnOnce(&mut Design)) -> Design {
    let mut design = Design::sample();
    change(&mut design);
    design
}

fn centre(harness: &Harness<'_, Bench>, label: &str) -> Pos2 {
    harness.get_by_label(label).rect().center()
}

/// Presses at the handle, moves in two steps and lets go.
fn pull(harness: &mut Harness<'_, Bench>, label: &str, by: Vec2) {
    let from = centre(harness, label);
    take(harness, label, by);
    harness.drop_at(from + by);
    harness.run_steps(3);
}

/// Presses at the handle and moves; the button stays down.
fn take(harness: &mut Harness<'_, Bench>, label: &str, by: Vec2) {
    let from = centre(harness, label);
    harness.hover_at(from);
    harness.run_steps(1);
    harness.drag_at(from);
    harness.run_steps(1);
    harness.hover_at(from + by / 2.0);
    harness.run_steps(1);
    harness.hover_at(from + by);
    harness.run_steps(1);
}

fn design(harness: &Harness<'_, Bench>) -> Design {
    Design::clone(harness.state().session.design())
}

fn strain_margin(harness: &mut Harness<'_, Bench>) -> f64 {
    // A slow machine assesses on a worker thread.
    let end = Instant::now() + Duration::from_secs(20);
    while harness.state().session.assessment_is_stale() && Instant::now() < end {
        std::thread::sleep(Duration::from_millis(2));
        harness.state_mut().session.poll();
    }
    let assessment = harness.state().session.assessment().expect("the design is assessed");
    let margin = assessment.margins.iter().find(|m| m.id == "strain-at-target").expect("every design has it");
    margin.margin.expect("it is a number")
}

/// A pull at `label` changes `path` to the value that `wanted` accepts, and the margin with it; one undo step.
#[track_caller]
fn pulls(start: &Design, label: &str, by: Vec2, path: &str, wanted: impl Fn(f64, f64) -> bool) {
    let mut harness = bench(start.clone());
    let before = start.number(path).expect("the field is there");
    let margin = strain_margin(&mut harness);
    pull(&mut harness, label, by);
    let after = design(&harness).number(path).expect("the field is there");
    assert!(wanted(before, after), "{path} went from {before} to {after}");
    assert!(harness.state().session.faults().is_empty());
    let session = &harness.state().session;
    assert_eq!(session.undo_depth(), 1, "one drag is one edit");
    if path != "shape.periods" {
        assert!((strain_margin(&mut harness) - margin).abs() > 1e-6, "the margin answers");
    }
    harness.state_mut().session.apply(Command::Undo);
    assert_eq!(design(&harness), *start, "one undo takes the drag back");
}

#[test]
fn the_crest_carries_the_amplitude() {
    pulls(&Design::sample(), "crest", vec2(0.0, -12.0), "shape.amplitude_um", |a, b| b > a * 1.05);
}

#[test]
fn the_crossing_carries_the_pitch() {
    pulls(&Design::sample(), "crossing", vec2(10.0, 0.0), "shape.pitch_um", |a, b| {
        b > a * 1.03 && b < a * 1.2
    });
}

#[test]
fn the_edge_carries_the_width() {
    pulls(&Design::sample(), "edge", vec2(0.0, 4.0), "shape.width_um", |a, b| b > a * 1.2);
}

#[test]
fn the_island_carries_the_periods() {
    let reach = {
        let harness = bench(Design::sample());
        let start = centre(&harness, "crossing");
        let end = centre(&harness, "island");
        (end.x - start.x) / 5.0
    };
    pulls(&Design::sample(), "island", vec2(-reach * 1.1, 0.0), "shape.periods", |a, b| b == a - 1.0);
}

#[test]
fn the_bend_carries_the_radius() {
    let start = shaped(|d| {
        d.shape.family = FamilyName::ArcAndArm;
        d.shape.radius_um = Some(200.0);
    });
    pulls(&start, "bend", vec2(6.0, 0.0), "shape.radius_um", |a, b| b > a * 1.02);
}

#[test]
fn the_bend_carries_the_tilt() {
    let start = shaped(|d| {
        d.shape.family = FamilyName::ArcAndArm;
        d.shape.tilt_deg = Some(70.0);
    });
    pulls(&start, "bend", vec2(3.0, 0.0), "shape.tilt_deg", |a, b| b > a + 1.0 && b < 90.0);
}

#[test]
fn the_bend_carries_the_plateau() {
    let start = shaped(|d| {
        d.shape.family = FamilyName::Clothoid;
        d.shape.plateau_share = Some(0.4);
    });
    pulls(&start, "bend", vec2(4.0, 14.0), "shape.plateau_share", |a, b| b > a + 0.02 && b <= 1.0);
}

#[test]
fn a_preview_is_shown_while_the_button_is_down_and_escape_gives_it_up() {
    let amplitude = Design::sample().shape.amplitude_um;
    let mut harness = bench(Design::sample());
    take(&mut harness, "crest", vec2(0.0, -20.0));
    let session = &harness.state().session;
    assert!(session.in_gesture());
    assert!(session.design().shape.amplitude_um > 1.02 * amplitude);
    assert_eq!(session.committed().shape.amplitude_um, amplitude);
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    assert!(!harness.state().session.in_gesture());
    assert_eq!(design(&harness), Design::sample());
    // Moving on with the button still down starts nothing new.
    let here = centre(&harness, "crest");
    harness.hover_at(here + vec2(0.0, -40.0));
    harness.run_steps(1);
    harness.drop_at(here + vec2(0.0, -40.0));
    harness.run_steps(2);
    assert_eq!(design(&harness), Design::sample());
    assert_eq!(harness.state().session.undo_depth(), 0);
}

#[test]
fn a_pull_beyond_what_is_possible_stops_at_the_last_possible_value() {
    let mut harness = bench(Design::sample());
    pull(&mut harness, "edge", vec2(0.0, 240.0));
    let radius = harness.state().session.checked().expect("possible").centreline().least_radius_um();
    let width = design(&harness).shape.width_um;
    assert!(harness.state().session.faults().is_empty());
    assert!(width > 1.9 * radius && width < 2.0 * radius, "{width} µm at a radius of {radius} µm");
}

#[test]
fn snapping_gives_round_values_and_alt_suspends_it() {
    let mut harness = bench_with(Design::sample(), Settings::default());
    pull(&mut harness, "crest", vec2(0.0, -3.7));
    let amplitude = design(&harness).shape.amplitude_um;
    assert!(amplitude > Design::sample().shape.amplitude_um, "{amplitude}");
    assert!((amplitude / 10.0).fract().abs() < 1e-9, "{amplitude}");
    harness.event(egui::Event::ModifiersChanged(Modifiers::ALT));
    pull(&mut harness, "crest", vec2(0.0, -1.3));
    let free = design(&harness).shape.amplitude_um;
    assert!((free / 5.0).fract().abs() > 1e-6, "{free}");
}

#[test]
fn arrows_nudge_and_shift_takes_ten_steps() {
    let mut harness = bench(Design::sample());
    harness.get_by_label("crest").focus();
    harness.run_steps(1);
    harness.key_press(Key::ArrowUp);
    harness.run_steps(2);
    let amplitude = Design::sample().shape.amplitude_um;
    let step = design(&harness).shape.amplitude_um - amplitude;
    assert!(step > 0.0);
    harness.key_press_modifiers(Modifiers::SHIFT, Key::ArrowDown);
    harness.run_steps(2);
    let after = design(&harness).shape.amplitude_um;
    assert!((after - (amplitude - 9.0 * step)).abs() < 1e-6, "{after} after steps of {step}");
}

#[test]
fn tab_walks_through_the_handles() {
    let mut harness = bench(Design::sample());
    harness.get_by_label("crest").focus();
    harness.run_steps(1);
    for label in ["crossing", "edge", "island"] {
        harness.key_press(Key::Tab);
        harness.run_steps(2);
        assert!(is_focused(&harness.get_by_label(label)), "{label}");
    }
}

fn is_focused(node: &Node<'_>) -> bool {
    node.accesskit_node().is_focused()
}

#[test]
fn a_value_can_be_typed_with_its_unit() {
    let mut harness = bench(Design::sample());
    harness.get_by_label("crest").focus();
    harness.run_steps(1);
    harness.event(egui::Event::Text("0".to_owned()));
    harness.run_steps(2);
    harness.event(egui::Event::Text(".38 mm".to_owned()));
    harness.run_steps(1);
    harness.key_press(Key::Enter);
    harness.run_steps(3);
    assert_eq!(design(&harness).shape.amplitude_um, 380.0);
    assert_eq!(harness.state().session.undo_depth(), 1);
    // An angle is no length: the text stays and nothing changes.
    harness.event(egui::Event::Text("4".to_owned()));
    harness.run_steps(2);
    harness.event(egui::Event::Text("5°".to_owned()));
    harness.run_steps(1);
    harness.key_press(Key::Enter);
    harness.run_steps(2);
    assert!(harness.query_by_label("amplitude").is_some(), "the field is still open");
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    assert!(harness.query_by_label("amplitude").is_none());
    assert_eq!(design(&harness).shape.amplitude_um, 380.0);
}

#[test]
fn screen_readers_hear_the_values() {
    let harness = bench(Design::sample());
    let crest = harness.get_by_label("crest");
    let amplitude = Design::sample().shape.amplitude_um;
    assert_eq!(crest.accesskit_node().numeric_value(), Some(amplitude));
    let words = format!("amplitude {} µm", ogee_design::number_text(amplitude));
    assert_eq!(crest.accesskit_node().value(), Some(words));
    let canvas = harness.get_by_label("drawing");
    let spoken = canvas.accesskit_node().value().expect("the canvas says what it shows");
    let sample = Design::sample();
    let periods = format!("{} periods", sample.shape.periods);
    let stretched = format!("stretched {} %", ogee_design::number_text(sample.duty.target_stretch_percent));
    assert!(spoken.contains(&periods) && spoken.contains(&stretched), "{spoken}");
}

#[test]
fn an_impossible_document_offers_the_nearest_possible_value() {
    let mut harness = bench(Design::sample());
    let edit = Edit::number("Change width", "shape.width_um", 2000.0);
    harness.state_mut().session.apply(Command::Commit(edit));
    harness.run_steps(2);
    assert!(!harness.state().session.faults().is_empty());
    assert!(harness.query_by_label("crest").is_none(), "no handles on what is impossible");
    harness.get_by_label_contains("Use ").click();
    harness.run_steps(3);
    assert!(harness.state().session.faults().is_empty());
    assert!(harness.query_by_label("crest").is_some());
}

#[test]
fn the_wheel_zooms_at_the_cursor_and_a_double_click_fits() {
    let mut harness = bench(Design::sample());
    let [crest, island] = [centre(&harness, "crest"), centre(&harness, "island")];
    harness.hover_at(crest);
    harness.run_steps(1);
    harness.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: vec2(0.0, 60.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
    harness.run_steps(30);
    let zoomed = centre(&harness, "crest");
    assert!(zoomed.distance(crest) < 1.5, "the crest stays under the cursor: {crest:?} {zoomed:?}");
    let away = centre(&harness, "crossing") - zoomed;
    assert!(away.x > 0.0);
    let ground = crest + vec2(60.0, -30.0);
    for _ in 0..2 {
        harness.drag_at(ground);
        harness.drop_at(ground);
    }
    harness.run_steps(60);
    assert!(centre(&harness, "island").distance(island) < 1.5, "everything is seen again");
}

#[test]
fn the_middle_button_moves_the_paper_even_on_a_handle() {
    let mut harness = bench(Design::sample());
    let [crest, island] = [centre(&harness, "crest"), centre(&harness, "island")];
    let by = vec2(-30.0, 20.0);
    let button = |pos: Pos2, pressed: bool| egui::Event::PointerButton {
        pos,
        button: egui::PointerButton::Middle,
        pressed,
        modifiers: Modifiers::NONE,
    };
    harness.hover_at(crest);
    harness.run_steps(1);
    harness.event(button(crest, true));
    harness.run_steps(1);
    harness.hover_at(crest + by);
    harness.run_steps(2);
    harness.event(button(crest + by, false));
    harness.run_steps(2);
    assert_eq!(design(&harness), Design::sample());
    let moved = centre(&harness, "island") - island;
    assert!((moved - by).length() < 1.5, "{moved:?}");
}

#[test]
fn the_ribbon_points_out_its_place() {
    let mut harness = bench(Design::sample());
    harness.hover_at(centre(&harness, "crossing") + vec2(0.0, -1.0));
    harness.run_steps(2);
    let pointed = harness.state().session.pointed().cloned().expect("the cursor is on the ribbon");
    let checked = harness.state().session.checked().cloned().expect("possible");
    let place = checked.centreline().at(pointed.s_um);
    assert!(
        place.y_um.abs() < 0.05 * checked.quarter().amplitude_um(),
        "a crossing is on the midline: {place:?}"
    );
    assert!(place.x_um > checked.quarter().pitch_um(), "the first period is past: {place:?}");
    harness.hover_at(Pos2::new(30.0, 30.0));
    harness.run_steps(2);
    assert_eq!(harness.state().session.pointed(), None);
}

#[test]
fn the_bar_sets_the_stretch_and_catches_on_marks() {
    let mut harness = bench(Design::sample());
    let bar = harness.get_by_label("stretch").rect();
    let range = harness.state().session.stretch_range();
    let target =
        egui::remap(0.35, range.0..=range.1, f64::from(bar.left() + 7.5)..=f64::from(bar.right() - 7.5));
    // Towards rest, and let go near it.
    let rest =
        egui::remap(0.0, range.0..=range.1, f64::from(bar.left() + 7.5)..=f64::from(bar.right() - 7.5));
    let [from, to] = [target, rest + 2.0].map(|x| Pos2::new(x as f32, bar.center().y));
    for (pos, press) in [(from, Some(true)), (to, None), (to, Some(false))] {
        harness.hover_at(pos);
        match press {
            Some(true) => harness.drag_at(pos),
            Some(false) => harness.drop_at(pos),
            None => {}
        }
        harness.run_steps(1);
    }
    harness.run_steps(2);
    assert_eq!(harness.state().session.stretch(), 0.0, "caught by the mark of rest");
    harness.get_by_label("stretch").focus();
    harness.run_steps(1);
    harness.key_press(Key::ArrowRight);
    harness.run_steps(2);
    assert!((harness.state().session.stretch() - 0.01).abs() < 1e-12);
    harness.key_press_modifiers(Modifiers::SHIFT, Key::ArrowRight);
    harness.run_steps(2);
    assert!((harness.state().session.stretch() - 0.11).abs() < 1e-12);
    assert_eq!(harness.state().session.undo_depth(), 0, "the stretch shown is no edit");
}

#[test]
fn the_targets_mark_is_an_edit() {
    let mut harness = bench(Design::sample());
    let margin = strain_margin(&mut harness);
    pull(&mut harness, "target stretch", vec2(40.0, 0.0));
    let target = design(&harness).duty.target_stretch_percent;
    assert!(target > 36.0 && target.fract().abs() < 1e-9, "{target}");
    assert_eq!(harness.state().session.undo_depth(), 1);
    assert!(strain_margin(&mut harness) < margin, "more stretch, less margin");
    harness.state_mut().session.apply(Command::Undo);
    assert_eq!(design(&harness), Design::sample());
}

#[test]
fn play_starts_and_stops_the_cycle() {
    let mut harness = bench(Design::sample());
    harness.get_by_label("play").click();
    harness.run_steps(2);
    assert!(harness.state().session.playing());
    harness.get_by_label("pause").click();
    harness.run_steps(2);
    assert!(!harness.state().session.playing());
}

#[test]
fn ten_thousand_periods_are_drawn_without_building_them() {
    let mut harness = bench(shaped(|d| d.shape.periods = 10_000));
    assert!(harness.query_by_label("crest").is_none(), "periods are narrower than a handle");
    assert!(harness.query_by_label("island").is_some());
    let begun = Instant::now();
    harness.run_steps(10);
    let per_frame = begun.elapsed() / 10;
    assert!(per_frame.as_millis() < 120, "{per_frame:?} a frame, unoptimised");
}

#[test]
fn the_oblique_view_turns_by_hand_and_leaves_the_design_alone() {
    let mut harness = bench(Design::sample());
    harness.get_by_label("oblique view").click();
    harness.run_steps(3);
    assert!(harness.query_by_label("enlarge heights").is_some(), "heights can be enlarged");
    let before = design(&harness);
    let from = centre(&harness, "drawing");
    harness.hover_at(from);
    harness.run_steps(1);
    harness.drag_at(from);
    harness.run_steps(1);
    harness.hover_at(from + vec2(60.0, 25.0));
    harness.run_steps(1);
    harness.drop_at(from + vec2(60.0, 25.0));
    harness.run_steps(2);
    harness.get_by_label("enlarge heights").click();
    harness.run_steps(2);
    assert_eq!(design(&harness), before);
    let automatic = harness.get_by_label("heights automatic").accesskit_node().toggled();
    assert_eq!(automatic, Some(egui::accesskit::Toggled::False), "a factor was chosen by hand");
    harness.get_by_label("plan view").click();
    harness.run_steps(3);
    assert!(harness.query_by_label("enlarge heights").is_none());
}
