//! What can be done: the commands that change a session, and the table of actions behind menus and shortcuts.

use super::recovery::OfferId;
use super::settings::SettingsChange;
use ogee_design::{Design, MapField, MapModel};
use std::path::PathBuf;

/// A place that some panel points at; the others show it too.
#[derive(Clone, Debug, PartialEq)]
pub struct Pointed {
    /// Distance along the ribbon at rest from its start, µm.
    pub s_um: f64,
    /// Offset from the centreline towards the left edge, µm.
    pub offset_um: f64,
    /// Who points.
    pub source: PointedBy,
}

/// The panel whose cursor or line points at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PointedBy {
    /// The drawing.
    Drawing,
    /// The plot along the ribbon.
    Along,
    /// A line of the margins.
    Margins,
    /// A figure beside the map.
    Figure,
}

/// A change of the document.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// New numbers for some fields, in the file's units.
    Numbers {
        /// What the edit is called in the menu, such as `Change pitch`.
        label: String,
        /// Paths and values.
        values: Vec<(String, f64)>,
    },
    /// A whole new document.
    Document {
        /// What the edit is called in the menu.
        label: String,
        /// The document.
        design: Box<Design>,
    },
}

impl Edit {
    /// One number for one field.
    pub fn number(label: impl Into<String>, path: impl Into<String>, value: f64) -> Self {
        Self::Numbers { label: label.into(), values: vec![(path.into(), value)] }
    }

    /// What the edit is called in the menu.
    pub fn label(&self) -> &str {
        match self {
            Self::Numbers { label, .. } | Self::Document { label, .. } => label,
        }
    }

    /// `base` with the edit applied; a path that names no number is left out and logged.
    pub fn applied_to(&self, base: &Design) -> Design {
        match self {
            Self::Numbers { values, .. } => {
                let mut design = base.clone();
                for (path, value) in values {
                    if !value.is_finite() || !design.set_number(path, *value) {
                        log::warn!("{path} takes no number {value}");
                    }
                }
                design
            }
            Self::Document { design, .. } => Design::clone(design),
        }
    }
}

/// What a question was answered with.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Save, then go on.
    Save,
    /// Go on without saving.
    Discard,
    /// Stay.
    Cancel,
    /// Write over the file that changed on the disk.
    Overwrite,
    /// Read the file that changed on the disk again.
    Reload,
    /// Open a recovery copy.
    Recover(OfferId),
    /// Throw the recovery copies away.
    ForgetRecovery,
}

/// The only way to change a session.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// Shows an edit while a gesture goes on.
    Preview(Edit),
    /// Makes an edit; ends the gesture.
    Commit(Edit),
    /// Gives the gesture up.
    Cancel,
    /// Takes the last edit back.
    Undo,
    /// Brings the next edit back.
    Redo,
    /// Sets the stretch shown (ratio, island to island).
    SetStretch(f64),
    /// Starts or stops the cycle from rest to target and back.
    Play(bool),
    /// Points at a place, or at none.
    Point(Option<Pointed>),
    /// Selects a layer, or none.
    SelectLayer(Option<usize>),
    /// Pins the design as it is.
    Pin,
    /// Removes a pin.
    Unpin(usize),
    /// Makes a pin the design.
    RestorePin(usize),
    /// Chooses the quantity of the map.
    SetMapField(MapField),
    /// Chooses the models of the map's strain.
    SetMapModel(MapModel),
    /// Stops the map that is being calculated.
    StopMap,
    /// Begins a design of its own from the worked sample.
    New,
    /// Opens a built-in sample, an index into [`SAMPLES`](super::SAMPLES).
    OpenSample(usize),
    /// Opens a file.
    Open(PathBuf),
    /// Saves to the file that was opened; asks for one where there is none.
    Save,
    /// Saves to a file.
    SaveAs(PathBuf),
    /// Looks whether the file changed on the disk.
    LookAtDisk,
    /// Changes a setting.
    Settings(SettingsChange),
    /// Answers the question that is open.
    Answer(Answer),
    /// Shows a message.
    Tell(super::Message),
    /// Takes a message away.
    Dismiss(usize),
    /// Ends the session, after asking about unsaved changes.
    Close,
}

/// A key of a shortcut.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ShortcutKey {
    /// A letter, upper case.
    Letter(char),
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `0`
    Zero,
    /// `,`
    Comma,
    /// Function key 1.
    F1,
}

/// A chord of keys; `command` is Cmd on macOS and Ctrl elsewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Shortcut {
    /// Cmd on macOS, Ctrl elsewhere.
    pub command: bool,
    /// Shift.
    pub shift: bool,
    /// The key.
    pub key: ShortcutKey,
}

impl Shortcut {
    const fn command(key: ShortcutKey) -> Self {
        Self { command: true, shift: false, key }
    }

    const fn shifted(key: ShortcutKey) -> Self {
        Self { command: true, shift: true, key }
    }

    const fn plain(key: ShortcutKey) -> Self {
        Self { command: false, shift: false, key }
    }
}

/// What stands in the menus and the top bar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Action {
    /// A new design.
    New,
    /// Opens a file.
    Open,
    /// Saves.
    Save,
    /// Saves under another name.
    SaveAs,
    /// Writes tables and drawings.
    Export,
    /// Ends the program.
    Quit,
    /// Takes the last edit back.
    Undo,
    /// Brings the next edit back.
    Redo,
    /// Pins the design.
    Pin,
    /// Shows the pins side by side.
    Compare,
    /// Plays the stretch.
    Play,
    /// Fits the drawing into its panel.
    FitDrawing,
    /// Changes between plan and oblique view.
    SwitchView,
    /// Larger text.
    LargerText,
    /// Smaller text.
    SmallerText,
    /// Usual text size.
    UsualText,
    /// Lists the shortcuts.
    Shortcuts,
    /// Cautions, version and licences.
    About,
}

/// How an action stands in menus.
#[derive(Clone, Copy, Debug)]
pub struct ActionText {
    /// The action.
    pub action: Action,
    /// Text of the menu entry and button.
    pub text: &'static str,
    /// One sentence for the tooltip.
    pub tooltip: &'static str,
    /// Shortcuts, the one that is shown first.
    pub shortcuts: &'static [Shortcut],
}

use ShortcutKey::{Comma, F1, Letter, Minus, Plus, Zero};

/// Every action with its text, tooltip and shortcuts: menus, top bar and keyboard read this list.
pub const ACTIONS: &[ActionText] = &[
    ActionText {
        action: Action::New,
        text: "New",
        tooltip: "Begin a design of your own from the worked sample",
        shortcuts: &[Shortcut::command(Letter('N'))],
    },
    ActionText {
        action: Action::Open,
        text: "Open…",
        tooltip: "Open a design file",
        shortcuts: &[Shortcut::command(Letter('O'))],
    },
    ActionText {
        action: Action::Save,
        text: "Save",
        tooltip: "Save the design to its file",
        shortcuts: &[Shortcut::command(Letter('S'))],
    },
    ActionText {
        action: Action::SaveAs,
        text: "Save as…",
        tooltip: "Save the design to another file",
        shortcuts: &[Shortcut::shifted(Letter('S'))],
    },
    ActionText {
        action: Action::Export,
        text: "Export…",
        tooltip: "Write the centreline as a table or the ribbon as a drawing",
        shortcuts: &[Shortcut::command(Letter('E'))],
    },
    ActionText {
        action: Action::Quit,
        text: "Quit",
        tooltip: "End the program",
        shortcuts: &[Shortcut::command(Letter('Q'))],
    },
    ActionText {
        action: Action::Undo,
        text: "Undo",
        tooltip: "Take the last edit back",
        shortcuts: &[Shortcut::command(Letter('Z'))],
    },
    ActionText {
        action: Action::Redo,
        text: "Redo",
        tooltip: "Bring the edit back that was undone",
        shortcuts: &[Shortcut::shifted(Letter('Z')), Shortcut::command(Letter('Y'))],
    },
    ActionText {
        action: Action::Pin,
        text: "Pin",
        tooltip: "Keep this variant as a ghost to compare with; up to four",
        shortcuts: &[Shortcut::command(Letter('D'))],
    },
    ActionText {
        action: Action::Compare,
        text: "Compare pins",
        tooltip: "Show the pinned variants side by side",
        shortcuts: &[Shortcut::shifted(Letter('D'))],
    },
    ActionText {
        action: Action::Play,
        text: "Play the stretch",
        tooltip: "Stretch the drawing from rest to the target and back",
        shortcuts: &[Shortcut::plain(Letter('P'))],
    },
    ActionText {
        action: Action::FitDrawing,
        text: "Fit the drawing",
        tooltip: "Show the whole ribbon",
        shortcuts: &[Shortcut::command(Letter('F'))],
    },
    ActionText {
        action: Action::SwitchView,
        text: "Plan or oblique view",
        tooltip: "See the ribbon from above or from the side",
        shortcuts: &[Shortcut::plain(Letter('V'))],
    },
    ActionText {
        action: Action::LargerText,
        text: "Larger text",
        tooltip: "Enlarge everything in the window",
        shortcuts: &[Shortcut::command(Plus)],
    },
    ActionText {
        action: Action::SmallerText,
        text: "Smaller text",
        tooltip: "Shrink everything in the window",
        shortcuts: &[Shortcut::command(Minus)],
    },
    ActionText {
        action: Action::UsualText,
        text: "Usual text size",
        tooltip: "Show everything in its usual size",
        shortcuts: &[Shortcut::command(Zero)],
    },
    ActionText {
        action: Action::Shortcuts,
        text: "Shortcuts",
        tooltip: "List keys and gestures",
        shortcuts: &[Shortcut::plain(F1), Shortcut::command(Comma)],
    },
    ActionText {
        action: Action::About,
        text: "About and cautions",
        tooltip: "What the numbers are worth, version and licence",
        shortcuts: &[],
    },
];

impl Action {
    /// Its line of [`ACTIONS`].
    pub fn line(self) -> &'static ActionText {
        ACTIONS
            .iter()
            .find(|line| line.action == self)
            .expect("every action has its line; a test counts them")
    }

    /// Whether its shortcuts work while a text field has the focus: those that a text field knows itself,
    /// and those without a command key, do not.
    pub fn works_while_typing(self) -> bool {
        use Action::{
            About, Compare, Export, FitDrawing, LargerText, New, Open, Pin, Play, Quit, Redo, Save, SaveAs,
            Shortcuts, SmallerText, SwitchView, Undo, UsualText,
        };
        match self {
            New | Open | Save | SaveAs | Export | Quit | LargerText | SmallerText | UsualText => true,
            Undo | Redo | Pin | Compare | Play | FitDrawing | SwitchView | Shortcuts | About => false,
        }
    }

    /// Whether it can be done now.
    pub fn is_available(self, environment: Environment) -> bool {
        match self {
            Self::Save => environment.modified || !environment.has_file,
            Self::Undo => environment.can_undo,
            Self::Redo => environment.can_redo,
            Self::Pin => environment.good && environment.free_pins > 0,
            Self::Compare => environment.pins > 0,
            Self::Export | Self::Play => environment.good,
            _ => true,
        }
    }
}

/// What availability depends on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Environment {
    /// There are unsaved changes.
    pub modified: bool,
    /// The design has a file.
    pub has_file: bool,
    /// The design is without faults.
    pub good: bool,
    /// There is an edit to undo.
    pub can_undo: bool,
    /// There is an edit to redo.
    pub can_redo: bool,
    /// Number of pins.
    pub pins: usize,
    /// Number of pins that can still be set.
    pub free_pins: usize,
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_action_stands_in_the_list_once() {
        let actions: HashSet<_> = ACTIONS.iter().map(|line| line.action).collect();
        assert_eq!(actions.len(), ACTIONS.len());
        // The last variant: adding one after it without a line fails here.
        assert_eq!(Action::About as usize + 1, ACTIONS.len());
        for line in ACTIONS {
            assert_eq!(line.action.line().text, line.text);
        }
    }

    #[test]
    fn shortcuts_are_unique() {
        let all: Vec<_> = ACTIONS.iter().flat_map(|line| line.shortcuts).collect();
        let unique: HashSet<_> = all.iter().collect();
        assert_eq!(all.len(), unique.len());
    }

    #[test]
    fn texts_are_in_sentence_case_without_full_stop() {
        for line in ACTIONS {
            for text in [line.text, line.tooltip] {
                assert!(text.starts_with(char::is_uppercase) && !text.ends_with('.'), "{text}");
            }
        }
    }

    #[test]
    fn availability_follows_the_session() {
        let nothing = Environment::default();
        assert!(!Action::Undo.is_available(nothing) && !Action::Pin.is_available(nothing));
        assert!(Action::Save.is_available(nothing), "a design without a file can always be saved");
        assert!(!Action::Save.is_available(Environment { has_file: true, ..nothing }));
        let busy = Environment { good: true, free_pins: 1, pins: 3, can_undo: true, ..nothing };
        assert!(Action::Pin.is_available(busy) && Action::Compare.is_available(busy));
        assert!(Action::Undo.is_available(busy) && !Action::Redo.is_available(busy));
    }

    #[test]
    fn numbers_are_set_and_nonsense_is_left_out() {
        let base = Design::sample();
        let edit = Edit::Numbers {
            label: "Change pitch".to_owned(),
            values: vec![
                ("shape.pitch_um".to_owned(), 900.0),
                ("shape.colour".to_owned(), 1.0),
                ("shape.width_um".to_owned(), f64::NAN),
            ],
        };
        let after = edit.applied_to(&base);
        assert_eq!(after.shape.pitch_um, 900.0);
        assert_eq!(after.shape.width_um, base.shape.width_um);
    }
}
