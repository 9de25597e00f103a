//! Laws of the session as a whole.

use super::*;
use proptest::prelude::*;

const LONG: Duration = Duration::from_mins(1);

/// The worked sample with a pitch that the tests may rely on.
fn start() -> Design {
    let mut design = Design::sample();
    design.shape.pitch_um = 1200.0;
    design
}

fn session() -> Session {
    Session::new(start(), Settings::default())
}

fn pitch(value: f64) -> Edit {
    Edit::number("Change pitch", "shape.pitch_um", value)
}

#[test]
fn no_toolkit_is_named_here() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/session");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.ends_with("tests.rs") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        for toolkit in ["egui", "eframe", "winit", "rfd"] {
            let named = text.split(|c: char| !c.is_alphanumeric() && c != '_').any(|word| word == toolkit);
            assert!(!named, "{} names {toolkit}", path.display());
        }
        seen += 1;
    }
    assert!(seen > 10);
}

#[test]
fn a_new_session_knows_its_design() {
    let session = session();
    assert_eq!(session.faults(), []);
    assert!(session.checked().is_some() && session.assessment().is_some());
    assert!(!session.assessment_is_stale() && !session.is_modified());
    assert_eq!(session.title(), "finger guide");
    let (low, high) = session.stretch_range();
    assert!(low < 0.0 && high > session.stretch() && session.stretch() == 0.35);
}

#[test]
fn a_gesture_is_one_entry_and_escape_gives_it_up() {
    let mut session = session();
    for i in 0..50 {
        session.apply(Command::Preview(pitch(1200.0 + f64::from(i))));
        assert_eq!(session.design().shape.pitch_um, 1200.0 + f64::from(i));
        assert_eq!(session.committed().shape.pitch_um, 1200.0);
    }
    session.apply(Command::Commit(pitch(1249.0)));
    assert_eq!((session.undo_depth(), session.in_gesture()), (1, false));
    session.apply(Command::Preview(pitch(900.0)));
    session.apply(Command::Cancel);
    assert_eq!((session.undo_depth(), session.design().shape.pitch_um), (1, 1249.0));
    session.apply(Command::Undo);
    assert_eq!(**session.design(), start());
    assert_eq!(session.redo_label(), Some("Change pitch"));
    assert!(!session.is_modified(), "undone to what was there at the start");
}

#[test]
fn undo_during_a_gesture_gives_the_gesture_up() {
    let mut session = session();
    session.apply(Command::Commit(pitch(1300.0)));
    session.apply(Command::Preview(pitch(1500.0)));
    session.apply(Command::Undo);
    assert_eq!((session.design().shape.pitch_um, session.undo_depth()), (1300.0, 1));
}

#[test]
fn a_gesture_that_ends_where_it_began_is_no_entry() {
    let mut session = session();
    session.apply(Command::Preview(pitch(1300.0)));
    session.apply(Command::Commit(pitch(1200.0)));
    assert_eq!(session.undo_depth(), 0);
    assert_eq!(session.design().shape.pitch_um, 1200.0);
    assert!(!session.assessment_is_stale());
}

#[test]
fn selection_travels_with_undo() {
    let mut session = session();
    session.apply(Command::SelectLayer(Some(2)));
    let mut design = Design::clone(session.design());
    design.stack.layers.remove(2);
    session.apply(Command::SelectLayer(Some(1)));
    let label = "Remove layer".to_owned();
    session.apply(Command::Commit(Edit::Document { label, design: Box::new(design) }));
    session.apply(Command::SelectLayer(Some(0)));
    session.apply(Command::Undo);
    assert_eq!(session.selected_layer(), Some(1));
    session.apply(Command::SelectLayer(Some(2)));
    session.apply(Command::Redo);
    assert_eq!(session.design().stack.layers.len(), 2);
    assert_eq!(session.selected_layer(), Some(1));
}

#[test]
fn faults_are_kept_beside_the_last_good_picture() {
    let mut session = session();
    let good = session.checked().unwrap().design().shape.pitch_um;
    session.apply(Command::Commit(pitch(-5.0)));
    assert_eq!(session.design().shape.pitch_um, -5.0, "the text stays");
    assert!(session.fault_at("shape.pitch_um").is_some());
    assert!(session.assessment_is_stale());
    assert_eq!(session.checked().unwrap().design().shape.pitch_um, good);
    assert!(!session.environment().good);
    session.apply(Command::Undo);
    assert_eq!(session.faults(), []);
    assert!(!session.assessment_is_stale());
}

#[test]
fn a_drag_is_held_at_the_nearest_possible_value() {
    let session = session();
    let wish = vec![("shape.pitch_um".to_owned(), -3.0)];
    let (values, fault) = session.held(&wish);
    assert_eq!(fault.unwrap().path, "shape.pitch_um");
    assert!(values[0].1 > 0.0);
    let (values, fault) = session.held(&[("shape.pitch_um".to_owned(), 1100.0)]);
    assert_eq!((values[0].1, fault), (1100.0, None));
}

#[test]
fn the_map_arrives_and_is_drawn_anew_only_when_it_must() {
    let mut session = session();
    assert!(session.map_progress().is_some());
    assert!(session.settle(LONG));
    assert!(session.map().is_some() && session.map_progress().is_none());
    let before = Arc::clone(session.map().unwrap());
    session.apply(Command::Commit(pitch(1180.0)));
    assert!(session.map_progress().is_none(), "pitch moves the cross, not the map");
    assert!(Arc::ptr_eq(&before, session.map().unwrap()));
    session.apply(Command::Preview(Edit::number("Change width", "shape.width_um", 30.0)));
    assert!(session.map_progress().is_some());
    session.apply(Command::StopMap);
    assert!(session.map_progress().is_none() && session.map().is_some(), "the last good map stays");
}

#[test]
fn a_map_by_the_full_models_is_live_first_and_can_be_stopped() {
    let mut session = session();
    assert!(session.settle(LONG));
    assert_eq!(session.map().unwrap().model(), MapModel::Live);
    session.apply(Command::SetMapModel(MapModel::Full));
    assert!(session.map_progress().is_some() && session.settings().map_by_full_models);
    assert!(session.map().is_some(), "the live map stays until cells of the full one are there");
    session.apply(Command::StopMap);
    assert!(session.map_progress().is_none());
    session.apply(Command::SetMapModel(MapModel::Live));
    assert!(session.settle(LONG));
    assert_eq!(session.map().unwrap().model(), MapModel::Live);
}

#[test]
fn a_window_of_its_own_stays_while_the_design_is_dragged() {
    let mut design = start();
    design.map = None;
    let mut session = Session::new(design, Settings::default());
    let first = session.map_window();
    let beyond = pitch(first.pitch_um[1] * 1.1);
    session.apply(Command::Preview(pitch(1250.0)));
    assert_eq!(session.map_window(), first);
    session.apply(Command::Commit(pitch(1e9)));
    assert_eq!(session.map_window(), first, "a faulty design does not move it");
    session.apply(Command::Undo);
    session.apply(Command::Commit(beyond));
    let moved = session.map_window();
    assert!(moved != first && moved.pitch_um[1] > session.design().shape.pitch_um);
}

#[test]
fn pins_are_four_and_come_back() {
    let mut session = session();
    for i in 0..5 {
        session.apply(Command::Commit(pitch(1000.0 + 50.0 * f64::from(i))));
        session.apply(Command::Pin);
    }
    let names = |session: &Session| session.pins().iter().map(|p| p.name.clone()).collect::<String>();
    assert_eq!(names(&session), "ABCD");
    session.apply(Command::Unpin(1));
    session.apply(Command::Pin);
    assert_eq!(names(&session), "ABCD");
    assert_eq!(session.pins()[1].design.shape.pitch_um, 1200.0);
    session.apply(Command::RestorePin(0));
    assert_eq!(session.design().shape.pitch_um, 1000.0);
    assert_eq!(session.undo_label(), Some("Restore pin A"));
    session.apply(Command::Commit(pitch(-1.0)));
    session.apply(Command::Unpin(3));
    session.apply(Command::Pin);
    assert_eq!(names(&session), "ABC", "a faulty design cannot be pinned");
}

#[test]
fn playing_moves_the_stretch_and_ends_with_a_hand_on_the_bar() {
    let mut session = session();
    session.apply(Command::Play(true));
    assert_eq!(session.idle_for(Instant::now()), Some(Duration::ZERO));
    session.poll_at(Instant::now() + Duration::from_secs(1));
    assert!(session.playing() && session.stretch() < 0.34, "{}", session.stretch());
    session.apply(Command::SetStretch(0.2));
    assert!(!session.playing());
    assert_eq!(session.stretch(), 0.2);
    session.apply(Command::SetStretch(1e9));
    assert_eq!(session.stretch(), session.stretch_range().1);
}

mod on_the_disk {
    use super::*;

    struct Desk {
        folder: tempfile::TempDir,
    }

    impl Desk {
        fn new() -> Self {
            Self { folder: tempfile::tempdir().unwrap() }
        }

        fn path(&self, name: &str) -> PathBuf {
            self.folder.path().join(name)
        }

        fn saved(&self, name: &str) -> Session {
            let mut session = session();
            session.apply(Command::SaveAs(self.path(name)));
            assert_eq!(session.messages(), []);
            session
        }
    }

    #[test]
    fn save_and_open_are_a_round_trip() {
        let desk = Desk::new();
        let mut session = desk.saved("a");
        assert_eq!(session.title(), "a.ogee.json");
        session.apply(Command::Commit(pitch(1000.5)));
        assert!(session.is_modified());
        session.apply(Command::Save);
        assert!(!session.is_modified());
        assert_eq!(session.undo_depth(), 1, "saving keeps the history");
        let mut other = super::session();
        other.apply(Command::Open(desk.path("a.ogee.json")));
        assert_eq!(other.design(), session.design());
        assert_eq!(other.settings().recent, [desk.path("a.ogee.json")]);
        assert_eq!(other.undo_depth(), 0);
    }

    #[test]
    fn a_broken_file_leaves_the_design_alone() {
        let desk = Desk::new();
        std::fs::write(desk.path("b.ogee.json"), "{ \"schema\": \"ogee-design\"").unwrap();
        let mut session = desk.saved("a");
        session.apply(Command::Open(desk.path("b.ogee.json")));
        session.apply(Command::Open(desk.path("gone.ogee.json")));
        assert_eq!(session.messages().len(), 2);
        assert_eq!(session.messages()[0].kind, MessageKind::Trouble);
        assert!(session.messages()[0].text.contains("b.ogee.json"), "{:?}", session.messages());
        assert_eq!(**session.design(), start());
        assert_eq!(session.title(), "a.ogee.json");
        session.apply(Command::Dismiss(0));
        assert!(session.messages()[0].text.contains("no such file"));
    }

    #[test]
    fn unsaved_changes_are_asked_about() {
        let desk = Desk::new();
        let mut session = desk.saved("a");
        session.apply(Command::Commit(pitch(1000.0)));
        session.apply(Command::New);
        assert!(matches!(session.question(), Some(Question::Unsaved { .. })));
        session.apply(Command::Answer(Answer::Cancel));
        assert_eq!(session.design().shape.pitch_um, 1000.0);
        session.apply(Command::New);
        session.apply(Command::Answer(Answer::Save));
        assert_eq!(session.title(), "untitled");
        assert_eq!(read_design(&desk.path("a.ogee.json")).unwrap().0.shape.pitch_um, 1000.0);
        session.apply(Command::Commit(pitch(900.0)));
        session.apply(Command::Close);
        assert!(!session.is_closed());
        session.apply(Command::Answer(Answer::Discard));
        assert!(session.is_closed());
    }

    #[test]
    fn saving_before_going_on_waits_for_a_file() {
        let desk = Desk::new();
        let mut session = session();
        session.apply(Command::Commit(pitch(1000.0)));
        session.apply(Command::Close);
        session.apply(Command::Answer(Answer::Save));
        assert_eq!(session.take_requests(), [Request::ChooseSavePath]);
        assert!(!session.is_closed());
        session.apply(Command::SaveAs(desk.path("c")));
        assert!(session.is_closed() && desk.path("c.ogee.json").exists());
        // The same, but the person chooses no file and saves later: nothing may follow then.
        let mut session = super::session();
        session.apply(Command::Commit(pitch(1000.0)));
        session.apply(Command::Close);
        session.apply(Command::Answer(Answer::Save));
        session.give_up_saving();
        session.apply(Command::SaveAs(desk.path("d")));
        assert!(!session.is_closed());
    }

    #[test]
    fn a_failed_save_keeps_the_changes_and_what_should_follow_does_not() {
        let desk = Desk::new();
        let mut session = session();
        session.apply(Command::Commit(pitch(1000.0)));
        session.apply(Command::Close);
        session.apply(Command::Answer(Answer::Save));
        session.apply(Command::SaveAs(desk.path("no/such/folder")));
        assert!(session.is_modified() && !session.is_closed());
        assert!(session.messages()[0].text.contains("was not saved"));
    }

    #[test]
    fn a_change_on_the_disk_is_noticed() {
        let desk = Desk::new();
        let mut session = desk.saved("a");
        let mut other = Design::sample();
        other.shape.pitch_um = 777.0;
        std::fs::write(desk.path("a.ogee.json"), other.to_json()).unwrap();
        session.apply(Command::LookAtDisk);
        assert!(matches!(session.question(), Some(Question::ChangedOnDisk { saving: false, .. })));
        session.apply(Command::Answer(Answer::Cancel));
        session.apply(Command::LookAtDisk);
        assert_eq!(session.question(), None, "one is enough");
        session.apply(Command::Commit(pitch(1000.0)));
        session.apply(Command::Save);
        assert!(matches!(session.question(), Some(Question::ChangedOnDisk { saving: true, .. })));
        assert_eq!(read_design(&desk.path("a.ogee.json")).unwrap().0.shape.pitch_um, 777.0);
        session.apply(Command::Answer(Answer::Overwrite));
        assert_eq!(read_design(&desk.path("a.ogee.json")).unwrap().0.shape.pitch_um, 1000.0);
        std::fs::write(desk.path("a.ogee.json"), other.to_json()).unwrap();
        session.apply(Command::Save);
        session.apply(Command::Answer(Answer::Reload));
        assert_eq!(session.design().shape.pitch_um, 777.0);
    }

    #[test]
    fn a_crash_loses_seconds() {
        let desk = Desk::new();
        let copies = desk.path("recovery");
        let mut session = desk.saved("a");
        session.keep_copies_in(&copies);
        session.apply(Command::Commit(pitch(1000.0)));
        let due = session.idle_for(Instant::now()).unwrap();
        assert!(due > Duration::from_secs(1) && due <= Duration::from_secs(2), "{due:?}");
        session.poll_at(Instant::now() + Duration::from_secs(3));
        // The copy is written by a thread of its own, which a busy machine may keep waiting.
        let is_written = || {
            let names = std::fs::read_dir(&copies).unwrap().map(|entry| entry.unwrap().path());
            names.into_iter().any(|path| path.extension().is_some_and(|ending| ending == "json"))
        };
        let most = Instant::now() + Duration::from_secs(20);
        while !is_written() && Instant::now() < most {
            std::thread::sleep(Duration::from_millis(5));
        }
        // A crash: the session goes without being closed.
        drop(session);
        let mut next = Desk::new().saved("z");
        next.keep_copies_in(&copies);
        let Some(Question::Recover(offers)) = next.question().cloned() else { panic!("no offer") };
        assert_eq!(offers[0].path.as_deref(), Some(desk.path("a.ogee.json").as_path()));
        next.apply(Command::Answer(Answer::Recover(offers[0].id.clone())));
        assert_eq!(next.design().shape.pitch_um, 1000.0);
        assert_eq!(next.title(), "a.ogee.json");
        assert!(next.is_modified(), "the file itself was never touched");
        assert_eq!(read_design(&desk.path("a.ogee.json")).unwrap().0.shape.pitch_um, 1200.0);
        next.apply(Command::Save);
        assert!(!next.is_modified());
        next.apply(Command::Close);
        assert!(next.is_closed());
        assert_eq!(std::fs::read_dir(&copies).unwrap().count(), 0);
    }

    #[test]
    fn settings_are_stored_as_they_change() {
        let desk = Desk::new();
        let path = desk.path("settings.json");
        let mut session = session();
        session.keep_settings_in(path.clone());
        session.apply(Command::Settings(SettingsChange::Theme(ThemeChoice::Dark)));
        session.apply(Command::SetMapField(MapField::ContourLength));
        let stored = Settings::load(&path);
        assert_eq!(stored.theme, ThemeChoice::Dark);
        assert_eq!(Session::new(Design::sample(), stored).map_field(), MapField::ContourLength);
    }
}

/// A step of somebody at work.
#[derive(Clone, Debug)]
enum Step {
    Preview(u8),
    Commit(u8),
    Cancel,
    Undo,
    Redo,
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let step = prop_oneof![
        (0u8..5).prop_map(Step::Preview),
        (0u8..5).prop_map(Step::Commit),
        Just(Step::Cancel),
        Just(Step::Undo),
        Just(Step::Redo),
    ];
    prop::collection::vec(step, 0..12)
}

fn command(step: &Step) -> Command {
    // One of the values is no possible pitch.
    let edit = |p: u8| pitch(f64::from(p) * 300.0);
    match step {
        Step::Preview(p) => Command::Preview(edit(*p)),
        Step::Commit(p) => Command::Commit(edit(*p)),
        Step::Cancel => Command::Cancel,
        Step::Undo => Command::Undo,
        Step::Redo => Command::Redo,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn commit_then_undo_is_the_identity(steps in steps(), wish in 5.0..90.0f64) {
        let mut session = session();
        for step in &steps {
            session.apply(command(step));
        }
        session.apply(Command::Cancel);
        let (before, faults, depth) = (Arc::clone(session.design()), session.faults().to_vec(), session.undo_depth());
        session.apply(Command::Preview(pitch(wish + 1.0)));
        session.apply(Command::Commit(pitch(wish)));
        prop_assert_eq!(session.undo_depth(), depth + 1);
        session.apply(Command::Undo);
        prop_assert_eq!(session.design(), &before);
        prop_assert_eq!(session.faults(), &faults[..]);
        session.apply(Command::Redo);
        prop_assert_eq!(session.design().shape.pitch_um, wish);
    }

    #[test]
    fn what_is_shown_is_what_is_judged(steps in steps()) {
        let mut session = session();
        for step in &steps {
            session.apply(command(step));
            prop_assert!(session.settle(LONG));
            prop_assert_eq!(session.faults().is_empty(), session.design().check().is_ok());
            if session.faults().is_empty() {
                prop_assert_eq!(session.checked().unwrap().design(), session.design());
                prop_assert!(!session.assessment_is_stale());
            }
        }
    }
}
