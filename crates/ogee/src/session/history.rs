//! Undo and redo as a list of named snapshots.

use ogee_design::Design;
use std::collections::VecDeque;
use std::sync::Arc;

/// Most edits that can be undone.
pub const MOST_EDITS: usize = 200;

/// What is selected: it travels with undo and redo, the view does not.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Selection {
    /// Index of the layer whose numbers are shown.
    pub layer: Option<usize>,
}

/// A document as it was after an edit.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// What the edit did, such as `Change pitch`; empty for the document at the start.
    pub label: String,
    /// The document.
    pub design: Arc<Design>,
    /// What was selected.
    pub selection: Selection,
}

/// The edits of a document, the newest last, and where in them we are.
#[derive(Clone, Debug)]
pub struct History {
    /// Never empty: the first entry is the document before the oldest edit that is kept.
    entries: VecDeque<Snapshot>,
    current: usize,
}

impl History {
    /// A history without edits.
    pub fn new(design: Arc<Design>) -> Self {
        let start = Snapshot { label: String::new(), design, selection: Selection::default() };
        Self { entries: VecDeque::from([start]), current: 0 }
    }

    /// The snapshot we are at.
    pub fn current(&self) -> &Snapshot {
        &self.entries[self.current]
    }

    /// Adds `design` as the result of the edit `label` and forgets what could be redone.
    ///
    /// `before` and `after` are what was selected when the edit began and when it ended. An equal document
    /// adds nothing and returns false.
    pub fn commit(&mut self, label: &str, design: Arc<Design>, before: Selection, after: Selection) -> bool {
        if *design == *self.current().design {
            return false;
        }
        self.entries.truncate(self.current + 1);
        self.entries[self.current].selection = before;
        self.entries.push_back(Snapshot { label: label.to_owned(), design, selection: after });
        if self.entries.len() > MOST_EDITS + 1 {
            self.entries.pop_front();
        }
        self.current = self.entries.len() - 1;
        true
    }

    /// Goes back by one edit; `None` at the start.
    pub fn undo(&mut self) -> Option<&Snapshot> {
        self.current = self.current.checked_sub(1)?;
        Some(self.current())
    }

    /// Goes forward by one edit; `None` at the end.
    pub fn redo(&mut self) -> Option<&Snapshot> {
        if self.current + 1 >= self.entries.len() {
            return None;
        }
        self.current += 1;
        Some(self.current())
    }

    /// What [`undo`](Self::undo) would take back.
    pub fn undo_label(&self) -> Option<&str> {
        (self.current > 0).then(|| self.current().label.as_str())
    }

    /// What [`redo`](Self::redo) would bring back.
    pub fn redo_label(&self) -> Option<&str> {
        self.entries.get(self.current + 1).map(|s| s.label.as_str())
    }

    /// Number of edits that can be undone.
    pub fn depth(&self) -> usize {
        self.current
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn pitched(pitch_um: f64) -> Arc<Design> {
        let mut design = Design::sample();
        design.shape.pitch_um = pitch_um;
        Arc::new(design)
    }

    fn select(layer: usize) -> Selection {
        Selection { layer: Some(layer) }
    }

    #[derive(Clone, Debug)]
    enum Step {
        Commit(u8),
        Undo,
        Redo,
    }

    fn steps() -> impl Strategy<Value = Vec<Step>> {
        let step = prop_oneof![
            3 => (0u8..6).prop_map(Step::Commit),
            2 => Just(Step::Undo),
            1 => Just(Step::Redo),
        ];
        prop::collection::vec(step, 0..40)
    }

    fn play(history: &mut History, steps: &[Step]) {
        for step in steps {
            match step {
                Step::Commit(p) => {
                    let (before, after) = (history.current().selection, select(usize::from(*p)));
                    history.commit("Change pitch", pitched(f64::from(*p) + 1.0), before, after);
                }
                Step::Undo => {
                    history.undo();
                }
                Step::Redo => {
                    history.redo();
                }
            }
        }
    }

    proptest! {
        #[test]
        fn undo_after_commit_is_the_identity(steps in steps(), pitch in 100.0..200.0f64, layer in 0usize..3) {
            let mut history = History::new(pitched(50.0));
            play(&mut history, &steps);
            let (before, depth) = (history.current().clone(), history.depth());
            prop_assert!(history.commit("Edit", pitched(pitch), before.selection, select(layer)));
            prop_assert_eq!(history.depth(), depth + 1);
            let after = history.undo().unwrap();
            prop_assert_eq!(&*after.design, &*before.design);
            prop_assert_eq!(after.selection, before.selection);
        }

        #[test]
        fn redo_after_undo_is_the_identity(steps in steps()) {
            let mut history = History::new(pitched(50.0));
            play(&mut history, &steps);
            let before = history.current().clone();
            if history.undo().is_some() {
                let again = history.redo().unwrap();
                prop_assert_eq!(&*again.design, &*before.design);
                prop_assert_eq!(again.selection, before.selection);
                prop_assert_eq!(&again.label, &before.label);
            }
        }

        #[test]
        fn everything_can_be_undone_to_the_start_and_redone(pitches in prop::collection::vec(1.0..90.0f64, 1..30)) {
            let mut history = History::new(pitched(100.0));
            let mut made = 0;
            for &p in &pitches {
                made += usize::from(history.commit("Edit", pitched(p), select(0), select(1)));
            }
            let end = history.current().design.clone();
            let mut back = 0;
            while history.undo().is_some() {
                back += 1;
            }
            prop_assert_eq!(back, made);
            prop_assert_eq!(history.current().design.shape.pitch_um, 100.0);
            while history.redo().is_some() {}
            prop_assert_eq!(&*history.current().design, &*end);
        }

        #[test]
        fn an_equal_document_makes_no_entry(steps in steps()) {
            let mut history = History::new(pitched(50.0));
            play(&mut history, &steps);
            let (depth, redo) = (history.depth(), history.redo_label().map(str::to_owned));
            let same = Arc::new(Design::clone(&history.current().design));
            prop_assert!(!history.commit("Edit", same, select(0), select(1)));
            prop_assert_eq!(history.depth(), depth);
            prop_assert_eq!(history.redo_label().map(str::to_owned), redo);
        }
    }

    #[test]
    fn the_history_is_bounded() {
        let mut history = History::new(pitched(1.0));
        for i in 0..3 * MOST_EDITS {
            history.commit("Edit", pitched(2.0 + i as f64), select(0), select(0));
        }
        assert_eq!(history.depth(), MOST_EDITS);
        while history.undo().is_some() {}
        assert_eq!(history.current().design.shape.pitch_um, 1.0 + (2 * MOST_EDITS) as f64);
    }

    #[test]
    fn an_edit_forgets_what_could_be_redone() {
        let mut history = History::new(pitched(1.0));
        history.commit("One", pitched(2.0), select(0), select(0));
        history.commit("Two", pitched(3.0), select(0), select(0));
        history.undo();
        assert_eq!((history.undo_label(), history.redo_label()), (Some("One"), Some("Two")));
        history.commit("Three", pitched(4.0), select(0), select(0));
        assert_eq!((history.undo_label(), history.redo_label()), (Some("Three"), None));
    }
}
