//! The map and the plot along the ribbon, driven as a person would: by label, with pointer and keys.
#![cfg(feature = "window")]

use egui::{Event, Key, Modifiers, PointerButton, Pos2, Rect, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use ogee::session::{Command, Edit, PointedBy, Session, Settings};
use ogee::window::{AlongPanel, MapPanel, Theme};
use ogee_design::{Design, MapField, MapWindow};
use std::time::Duration;

struct Bench {
    session: Session,
    map: MapPanel,
    along: AlongPanel,
    is_installed: bool,
}

impl Bench {
    fn new(design: Design) -> Self {
        let mut session = Session::new(design, Settings::default());
        // Most tests need no map; those that do let it be made anew.
        session.apply(Command::StopMap);
        Self { session, map: MapPanel::default(), along: AlongPanel::default(), is_installed: false }
    }

    /// A frame as the window runs it: commands of the last frame, then both panels side by side.
    fn frame(&mut self, ui: &mut egui::Ui) {
        if !self.is_installed {
            Theme::install(ui.ctx());
            self.is_installed = true;
            return;
        }
        self.session.poll();
        let theme = Theme::of(ui.ctx());
        let mut out = Vec::new();
        ui.painter().rect_filled(ui.max_rect(), 0.0, theme.paper);
        ui.columns(2, |columns| {
            theme.card().show(&mut columns[0], |ui| self.map.ui(ui, &self.session, &theme, &mut out));
            theme.card().show(&mut columns[1], |ui| self.along.ui(ui, &self.session, &theme, &mut out));
        });
        for command in out {
            self.session.apply(command);
        }
    }
}

/// The worked sample with a map window of its own, so that places on the screen are known.
fn design() -> Design {
    let mut design = Design::sample();
    let shape = &design.shape;
    design.map = Some(MapWindow {
        pitch_um: [0.5 * shape.pitch_um, 1.5 * shape.pitch_um],
        amplitude_um: [0.5 * shape.amplitude_um, 1.5 * shape.amplitude_um],
    });
    design
}

fn bench(design: Design) -> Harness<'static, Bench> {
    let mut h = Harness::builder()
        .with_size([820.0, 380.0])
        .with_theme(egui::Theme::Light)
        .with_step_dt(0.03)
        .build_ui_state(|ui, bench: &mut Bench| bench.frame(ui), Bench::new(design));
    h.run_steps(4);
    h
}

/// The same with its map.
fn bench_with_map(design: Design) -> Harness<'static, Bench> {
    let mut h = bench(design);
    let session = &mut h.state_mut().session;
    if session.map().is_none_or(|map| map.spec().columns < 128) {
        session.apply(Command::Commit(Edit::number("Change target", "duty.target_stretch_percent", 30.0)));
        assert!(session.settle(Duration::from_mins(5)), "the map is calculated");
    }
    h.run_steps(2);
    h
}

fn rect(h: &Harness<'static, Bench>, label: &str) -> Rect {
    h.get_by_label(label).rect()
}

fn value(h: &Harness<'static, Bench>, label: &str) -> String {
    h.get_by_label(label).accesskit_node().value().unwrap_or_default()
}

fn shape(h: &Harness<'static, Bench>) -> [f64; 2] {
    let shape = &h.state().session.design().shape;
    [shape.pitch_um, shape.amplitude_um]
}

fn drag(h: &mut Harness<'static, Bench>, from: Pos2, by: egui::Vec2) {
    h.hover_at(from);
    h.run_steps(1);
    h.drag_at(from);
    h.run_steps(1);
    h.hover_at(from + 0.5 * by);
    h.run_steps(1);
    h.hover_at(from + by);
    h.run_steps(1);
}

#[test]
fn dragging_the_cross_changes_both_fields_in_one_undo_step() {
    let mut h = bench(design());
    let before = shape(&h);
    let area = rect(&h, "amplitude × pitch map");
    let from = rect(&h, "design on the map").center();
    assert!(from.distance(area.center()) < 1.0, "the design is in the middle of its window");

    let by = vec2(0.1 * area.width(), -0.05 * area.height());
    drag(&mut h, from, by);
    assert!(h.state().session.in_gesture());
    h.drop_at(from + by);
    h.run_steps(2);

    let after = shape(&h);
    let grown = [after[0] / before[0], after[1] / before[1]];
    assert!((grown[0] - 1.1).abs() < 0.01 && (grown[1] - 1.05).abs() < 0.01, "{grown:?}");
    let session = &h.state().session;
    assert!(!session.in_gesture());
    assert_eq!(session.undo_depth(), 1);
    assert_eq!(session.undo_label(), Some("Change pitch and amplitude"));

    h.state_mut().session.apply(Command::Undo);
    assert_eq!(shape(&h), before);
}

#[test]
fn a_press_and_release_in_one_frame_loses_no_motion() {
    let mut h = bench(design());
    let area = rect(&h, "amplitude × pitch map");
    let from = rect(&h, "design on the map").center();
    let before = shape(&h);
    h.hover_at(from);
    h.run_steps(1);
    h.drag_at(from);
    h.run_steps(1);
    let to = from + vec2(-0.1 * area.width(), 0.0);
    h.hover_at(to);
    h.drop_at(to);
    h.run_steps(2);
    let grown = shape(&h)[0] / before[0];
    assert!((grown - 0.9).abs() < 0.01, "{grown}");
}

#[test]
fn escape_gives_the_drag_up() {
    let mut h = bench(design());
    let before = shape(&h);
    let from = rect(&h, "design on the map").center();
    drag(&mut h, from, vec2(20.0, 10.0));
    assert_ne!(shape(&h), before);
    h.key_press(Key::Escape);
    h.run_steps(2);
    assert_eq!(shape(&h), before);
    h.hover_at(from + vec2(40.0, 10.0));
    h.run_steps(1);
    h.drop_at(from + vec2(40.0, 10.0));
    h.run_steps(2);
    assert_eq!(shape(&h), before);
    assert_eq!(h.state().session.undo_depth(), 0);
}

#[test]
fn the_cross_is_held_where_shapes_become_impossible() {
    let mut h = bench(design());
    let area = rect(&h, "amplitude × pitch map");
    let from = rect(&h, "design on the map").center();
    // Far to the upper left: high and narrow bends run into each other, or the corner is reached.
    let to = area.left_top() + vec2(2.0, 2.0);
    drag(&mut h, from, to - from);
    h.drop_at(to);
    h.run_steps(2);
    assert!(h.state().session.faults().is_empty(), "{:?}", h.state().session.faults());
    assert_eq!(h.state().session.undo_depth(), 1);
}

#[test]
fn arrow_keys_nudge_the_design() {
    let mut h = bench(design());
    let before = shape(&h);
    h.get_by_label("design on the map").focus();
    h.run_steps(2);
    h.key_press(Key::ArrowRight);
    h.run_steps(2);
    h.key_press(Key::ArrowDown);
    h.run_steps(2);
    let after = shape(&h);
    assert!(after[0] > before[0] && after[1] < before[1], "{before:?} {after:?}");
    assert!(after[0] < 1.02 * before[0]);
    assert_eq!(h.state().session.undo_depth(), 2);
}

#[test]
fn a_double_click_puts_the_design_there_and_a_click_does_not() {
    let mut h = bench(design());
    let area = rect(&h, "amplitude × pitch map");
    let before = shape(&h);
    let at = area.center() + vec2(0.1 * area.width(), 0.1 * area.height());
    let click = |h: &mut Harness<'static, Bench>| {
        h.hover_at(at);
        for pressed in [true, false] {
            h.event(Event::PointerButton {
                pos: at,
                button: PointerButton::Primary,
                pressed,
                modifiers: Modifiers::NONE,
            });
        }
        h.run_steps(1);
    };
    click(&mut h);
    assert_eq!(shape(&h), before);
    click(&mut h);
    h.run_steps(1);
    let after = shape(&h);
    assert!(
        (after[0] / before[0] - 1.1).abs() < 0.01 && (after[1] / before[1] - 0.9).abs() < 0.01,
        "{after:?}"
    );
    assert_eq!(h.state().session.undo_depth(), 1);
}

#[test]
fn the_field_is_chosen_from_a_list_by_name() {
    let mut h = bench_with_map(design());
    assert_eq!(value(&h, "map field"), MapField::StrainMargin.label());
    h.get_by_label("map field").click();
    h.run_steps(6);
    h.get_by_label(MapField::ContourLength.label()).click();
    h.run_steps(6);
    assert_eq!(h.state().session.map_field(), MapField::ContourLength);
    assert_eq!(value(&h, "map field"), MapField::ContourLength.label());
    let at = rect(&h, "amplitude × pitch map").center() + vec2(30.0, 30.0);
    h.hover_at(at);
    h.run_steps(2);
    let read = value(&h, "amplitude × pitch map");
    assert!(read.starts_with("contour length ") && read.contains("mm"), "{read}");
}

#[test]
fn the_cursor_reads_the_value_and_the_reason_where_there_is_none() {
    let mut design = design();
    // A window that reaches to bends narrower than the ribbon.
    design.map = Some(MapWindow {
        pitch_um: [0.5 * design.shape.width_um, 1.5 * design.shape.pitch_um],
        amplitude_um: [0.5 * design.shape.width_um, 1.5 * design.shape.amplitude_um],
    });
    let mut h = bench_with_map(design);
    let area = rect(&h, "amplitude × pitch map");
    let map = h.state().session.map().cloned().expect("calculated");
    let impossible = (0..map.spec().columns)
        .find_map(|c| {
            let row = map.spec().rows / 4;
            (map.value(MapField::StrainMargin, c, row).is_none()).then_some((c, row))
        })
        .expect("bends narrower than the ribbon are impossible");
    let at = |(c, r): (usize, usize)| {
        area.left_bottom()
            + vec2(
                (c as f32 + 0.5) / map.spec().columns as f32 * area.width(),
                -(r as f32 + 0.5) / map.spec().rows as f32 * area.height(),
            )
    };
    h.hover_at(at(impossible));
    h.run_steps(2);
    let reason = map.reason(impossible.0, impossible.1).expect("a cell without a value says why");
    let read = value(&h, "amplitude × pitch map");
    assert!(read.contains(&reason), "{read}\n{reason}");

    h.hover_at(rect(&h, "design on the map").center() + vec2(25.0, 25.0));
    h.run_steps(2);
    let read = value(&h, "amplitude × pitch map");
    assert!(read.starts_with("strain margin ") && read.contains("pitch") && read.contains("µm"), "{read}");
}

#[test]
fn colours_that_are_kept_do_not_follow_the_design() {
    let mut h = bench_with_map(design());
    h.state_mut().session.apply(Command::SetMapField(MapField::ContourLength));
    h.run_steps(2);
    let range = value(&h, "colours of the map");
    let lengthen = |h: &mut Harness<'static, Bench>, periods: f64| {
        let session = &mut h.state_mut().session;
        session.apply(Command::Commit(Edit::number("Change periods", "shape.periods", periods)));
        assert!(session.settle(Duration::from_mins(5)));
        h.run_steps(2);
    };
    h.get_by_label("colours of the map").click();
    h.run_steps(2);
    lengthen(&mut h, 40.0);
    assert_eq!(value(&h, "colours of the map"), range);
    h.get_by_label("colours of the map").click();
    h.run_steps(2);
    assert_ne!(value(&h, "colours of the map"), range);
}

#[test]
fn curves_and_map_are_copied_as_tables() {
    let mut h = bench_with_map(design());
    for (panel, button, head) in [
        ("place along the ribbon", "Copy the curves", "along (µm)\tinner edge (%)"),
        ("amplitude × pitch map", "Copy the map", "strain margin: amplitude (µm) down, pitch (µm) across\t"),
    ] {
        let at = rect(&h, panel).left_top() + vec2(30.0, 40.0);
        h.hover_at(at);
        for pressed in [true, false] {
            h.event(Event::PointerButton {
                pos: at,
                button: PointerButton::Secondary,
                pressed,
                modifiers: Modifiers::NONE,
            });
        }
        h.run_steps(8);
        h.get_by_label(button).click();
        // The copy is part of the very frame of the click.
        let mut copied = None;
        for _ in 0..4 {
            h.step();
            copied = copied.or_else(|| {
                h.output().platform_output.commands.iter().find_map(|command| match command {
                    egui::OutputCommand::CopyText(text) => Some(text.clone()),
                    _ => None,
                })
            });
        }
        let copied = copied.expect("something is copied");
        assert!(copied.starts_with(head), "{}", &copied[..80]);
        let columns: Vec<usize> = copied.lines().map(|line| line.split('\t').count()).collect();
        assert!(columns.len() > 100 && columns.iter().all(|n| *n == columns[0]), "a full table");
        h.run_steps(4);
    }
}

#[test]
fn an_end_of_the_axis_is_dragged_as_one_step() {
    let mut h = bench(design());
    let before = h.state().session.map_window();
    let area = rect(&h, "amplitude × pitch map");
    let from = rect(&h, "greatest pitch").center();
    let by = vec2(-0.2 * area.width(), 0.0);
    drag(&mut h, from, by);
    h.drop_at(from + by);
    h.run_steps(2);
    let after = h.state().session.map_window();
    let span = |w: &MapWindow| w.pitch_um[1] - w.pitch_um[0];
    assert!((span(&after) / span(&before) - 0.8).abs() < 0.02, "{before:?} {after:?}");
    assert_eq!((after.pitch_um[0], after.amplitude_um), (before.pitch_um[0], before.amplitude_um));
    assert_eq!(h.state().session.undo_depth(), 1);
}

#[test]
fn pins_stand_on_the_map_by_name() {
    let mut h = bench(design());
    h.state_mut().session.apply(Command::Pin);
    h.run_steps(2);
    let pitch = h.state().session.design().shape.pitch_um;
    let found = h.query_by_label_contains("pin A: pitch").expect("the pin can be found");
    assert!(found.rect().center().distance(rect(&h, "design on the map").center()) < 1.0, "{pitch}");
}

#[test]
fn the_cursor_along_the_ribbon_points_for_every_panel() {
    let mut h = bench(design());
    let area = rect(&h, "place along the ribbon");
    assert!(h.state().session.pointed().is_none());
    h.hover_at(area.left_center() + vec2(0.25 * area.width(), 0.0));
    h.run_steps(2);
    let length = h.state().session.checked().expect("good").centreline().contour_length_um();
    let pointed = h.state().session.pointed().expect("something is pointed at").clone();
    assert_eq!(pointed.source, PointedBy::Along);
    assert!((pointed.s_um / length - 0.25).abs() < 0.01, "{} of {length}", pointed.s_um);
    let read = value(&h, "place along the ribbon");
    assert!(read.contains("inner") && read.contains("outer") && read.contains('%'), "{read}");

    h.hover_at(Pos2::new(2.0, 2.0));
    h.run_steps(2);
    assert!(h.state().session.pointed().is_none(), "the cursor goes with the pointer");
}

#[test]
fn keys_move_the_cursor_along_the_ribbon() {
    let mut h = bench(design());
    h.get_by_label("place along the ribbon").focus();
    h.run_steps(2);
    h.key_press(Key::ArrowRight);
    h.run_steps(2);
    let first = h.state().session.pointed().expect("pointed at").s_um;
    h.key_press(Key::ArrowRight);
    h.run_steps(2);
    let second = h.state().session.pointed().expect("pointed at").s_um;
    assert!(second > first && first > 0.0, "{first} {second}");
}

#[test]
fn the_plot_switches_between_strain_curvature_and_loss() {
    let mut h = bench(design());
    let area = rect(&h, "place along the ribbon");
    for (button, unit) in [("plot curvature", "1/mm"), ("plot loss", "dB/cm"), ("plot strain", "%")] {
        h.get_by_label(button).click();
        h.run_steps(2);
        h.hover_at(area.center());
        h.run_steps(2);
        let read = value(&h, "place along the ribbon");
        assert!(read.contains(unit), "{button}: {read}");
        h.hover_at(Pos2::new(2.0, 2.0));
        h.run_steps(1);
    }
}

#[test]
fn a_ribbon_of_ten_thousand_periods_is_plotted_in_time() {
    let mut design = design();
    design.shape.periods = 10_000;
    let mut h = bench(design);
    let start = std::time::Instant::now();
    h.run_steps(10);
    let each = start.elapsed() / 10;
    assert!(each < Duration::from_millis(60), "{each:?} a frame");
}
