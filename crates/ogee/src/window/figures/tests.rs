//! The figures, drawn from hand-made results and driven by label.

use super::look::{self, Figure, Look};
use super::{Choice, FigurePanel, hand_made, islands, life, oven, trace, wrap};
use crate::session::{Command, Edit, Session, Settings};
use crate::window::Theme;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use ogee_design::{Design, IslandResult, LifeResult, ThermalResult, TraceResult, WrapResult};
use std::cell::RefCell;

/// Results and what was asked while they were shown.
struct Bench {
    design: Design,
    choice: Choice,
    selected: Option<usize>,
    wrap: WrapResult,
    thermal: ThermalResult,
    life: LifeResult,
    islands: IslandResult,
    trace: TraceResult,
    radius: wrap::RadiusBar,
    out: Vec<Command>,
    is_installed: bool,
}

impl Bench {
    fn new(choice: Choice) -> Self {
        Self {
            design: hand_made::design(),
            choice,
            selected: None,
            wrap: hand_made::wrap(),
            thermal: hand_made::thermal(),
            life: hand_made::life(),
            islands: hand_made::islands(),
            trace: hand_made::trace(),
            radius: wrap::RadiusBar::default(),
            out: Vec::new(),
            is_installed: false,
        }
    }

    fn frame(&mut self, ui: &mut egui::Ui) {
        if !std::mem::replace(&mut self.is_installed, true) {
            Theme::install(ui.ctx());
            return;
        }
        let theme = Theme::of(ui.ctx());
        ui.painter().rect_filled(ui.max_rect(), 0.0, theme.panel);
        let place = RefCell::new(None);
        let look = Look { design: &self.design, selected: self.selected, theme: &theme, place: &place };
        let out = &mut self.out;
        let mut show = |figure: &mut dyn Figure| look::show(ui, figure, &look, out);
        match self.choice {
            Choice::Along => {}
            Choice::Wrap => {
                show(&mut wrap::WrapFigure { found: &self.wrap, radius: &mut self.radius });
            }
            Choice::Oven => show(&mut oven::OvenFigure { found: &self.thermal }),
            Choice::Life => show(&mut life::LifeFigure { found: &self.life }),
            Choice::Islands => show(&mut islands::IslandFigure { found: &self.islands }),
            Choice::Trace => show(&mut trace::TraceFigure { found: &self.trace }),
        }
    }
}

fn bench(choice: Choice, size: [f32; 2]) -> Harness<'static, Bench> {
    let mut h = Harness::builder()
        .with_size(size)
        .with_theme(egui::Theme::Light)
        .build_ui_state(|ui, bench: &mut Bench| bench.frame(ui), Bench::new(choice));
    h.run_steps(4);
    h
}

const SIZES: [[f32; 2]; 3] = [[316.0, 232.0], [500.0, 330.0], [1500.0, 700.0]];

#[test]
fn every_figure_says_what_it_shows_by_which_model_and_what_limits_it() {
    for choice in Choice::ALL.into_iter().filter(|c| *c != Choice::Along) {
        for size in SIZES {
            let h = bench(choice, size);
            let shows = |part: &str| h.query_all_by_label_contains(part).next().is_some();
            assert!(shows("Model: "), "{choice:?} at {size:?}");
            let is_cautioned = matches!(choice, Choice::Wrap | Choice::Oven | Choice::Islands);
            assert_eq!(shows("Caution: "), is_cautioned, "{choice:?} at {size:?}");
            assert!(h.state().out.is_empty(), "{choice:?} asks for something by itself");
        }
    }
}

#[test]
fn every_figure_reads_out_what_is_pointed_at() {
    for (choice, label) in [
        (Choice::Wrap, "strain through the thickness"),
        (Choice::Oven, "stress by step"),
        (Choice::Life, "cycles to failure"),
        (Choice::Islands, "strain of island and sheet"),
        (Choice::Trace, "rated currents"),
    ] {
        let mut h = bench(choice, SIZES[1]);
        let rect = h.get_by_label(label).rect();
        assert!(rect.width() > 120.0 && rect.height() > 30.0, "{label}: {rect:?}");
        h.hover_at(rect.center());
        h.run_steps(2);
        assert!(h.state().out.is_empty(), "{label}");
    }
}

#[test]
fn a_name_or_a_line_selects_its_layer() {
    for (choice, label) in [
        (Choice::Wrap, "layer 3 of the wrap: glass core"),
        (Choice::Oven, "layer 3 of the process: glass core"),
        (Choice::Life, "life of glass core"),
    ] {
        let mut h = bench(choice, SIZES[1]);
        h.get_by_label(label).click();
        h.run_steps(2);
        assert_eq!(h.state().out, [Command::SelectLayer(Some(2))], "{choice:?}");
    }
    let mut h = bench(Choice::Wrap, SIZES[2]);
    h.state_mut().selected = Some(2);
    h.run_steps(2);
    assert!(h.query_by_label_contains("What glass core sees").is_some());
    h.get_by_label_contains("supply trace, ").click();
    h.run_steps(2);
    assert_eq!(h.state().out, [Command::SelectLayer(Some(3))]);
}

#[test]
fn the_radius_is_dragged_and_caught_by_the_least_one() {
    let mut h = bench(Choice::Wrap, SIZES[1]);
    let bar = h.get_by_label("wrap radius on the bar").rect();
    let (from, to) = (bar.center(), bar.left_center() + egui::vec2(40.0, 0.0));
    h.hover_at(from);
    h.run_steps(1);
    h.drag_at(from);
    h.run_steps(1);
    h.hover_at(to);
    h.run_steps(1);
    h.drop_at(to);
    h.run_steps(2);
    let radius = |command: &Command| match command {
        Command::Preview(Edit::Numbers { values, .. }) | Command::Commit(Edit::Numbers { values, .. }) => {
            assert_eq!(values[0].0, "duty.wrap.radius_um");
            values[0].1
        }
        other => panic!("{other:?}"),
    };
    let out = &h.state().out;
    let Some((last, previews)) = out.split_last() else { panic!("nothing is asked") };
    assert!(matches!(last, Command::Commit(_)) && !previews.is_empty());
    assert!(previews.iter().all(|c| matches!(c, Command::Preview(_))));
    assert!(radius(last) < 1180.0, "{}", radius(last));
    assert!((ogee_design::number_text(radius(last)).len()) <= 5);
}

#[test]
fn arrow_keys_step_the_radius() {
    let mut h = bench(Choice::Wrap, SIZES[1]);
    h.get_by_label("wrap radius on the bar").focus();
    h.run_steps(1);
    h.key_press(egui::Key::ArrowRight);
    h.run_steps(2);
    let [Command::Commit(Edit::Numbers { values, .. })] = h.state().out.as_slice() else {
        panic!("{:?}", h.state().out)
    };
    assert_eq!(values[0].1, 3570.0);
}

/// The panel as the window hosts it.
struct Hosted {
    session: Session,
    panel: FigurePanel,
    is_installed: bool,
}

fn hosted(design: Design) -> Harness<'static, Hosted> {
    let mut session = Session::new(design, Settings::default());
    session.apply(Command::StopMap);
    let mut h = Harness::builder().with_size([420.0, 320.0]).build_ui_state(
        |ui, hosted: &mut Hosted| {
            if !std::mem::replace(&mut hosted.is_installed, true) {
                Theme::install(ui.ctx());
                return;
            }
            hosted.session.poll();
            let mut out = Vec::new();
            hosted.panel.ui(ui, &hosted.session, &Theme::LIGHT, &mut out);
            for command in out {
                hosted.session.apply(command);
            }
        },
        Hosted { session, panel: FigurePanel::default(), is_installed: false },
    );
    h.run_steps(4);
    h
}

#[test]
fn only_what_the_design_has_can_be_chosen_and_the_choice_is_remembered() {
    let mut design = Design::sample();
    design.duty.wrap = None;
    (design.process, design.life, design.islands) = (None, None, None);
    let mut h = hosted(design.clone());
    let enabled = |h: &Harness<'_, Hosted>, word: &str| {
        !h.get_by_label(&format!("figure {word}")).accesskit_node().is_disabled()
    };
    assert!(enabled(&h, "along") && !enabled(&h, "wrap") && !enabled(&h, "islands"));
    let mut wrapped = design.clone();
    wrapped.duty.wrap = Some(ogee_design::WrapDuty::default());
    let edit = Edit::Document { label: "Switch wrap on".to_owned(), design: Box::new(wrapped) };
    h.state_mut().session.apply(Command::Commit(edit));
    h.run_steps(2);
    assert!(enabled(&h, "wrap"));
    h.get_by_label("figure wrap").click();
    h.run_steps(2);
    let title = |h: &Harness<'_, Hosted>| h.state().panel.title(&h.state().session);
    assert_eq!(title(&h), "Wrap");
    h.state_mut().session.apply(Command::Undo);
    h.run_steps(2);
    assert_eq!(title(&h), "Along the ribbon");
    h.state_mut().session.apply(Command::Redo);
    h.run_steps(2);
    assert_eq!(title(&h), "Wrap");
}

#[test]
fn the_numbers_of_a_figure_are_copied_as_a_table() {
    let mut h = bench(Choice::Trace, SIZES[2]);
    h.get_by_label("Copy the numbers").click();
    h.run_steps(1);
    let copied = h.output().platform_output.commands.iter().any(|command| match command {
        egui::OutputCommand::CopyText(text) => text.contains("resistance at rest Ω\t4.98"),
        _ => false,
    });
    assert!(copied);
}
