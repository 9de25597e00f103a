//! What the full models found, and how far they are.

use ogee_design::{Assessment, Checked, Full, RibbonPath};
use std::sync::Arc;

/// How far the full models are with the document shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FullState {
    /// Their answer is of the document shown.
    Fresh,
    /// They run.
    Computing,
    /// Their answer is of an earlier document, or there is none, and they do not run.
    Stale,
    /// They have no answer for the document shown, for this reason.
    Failed(String),
}

/// What the full models found of one document.
#[derive(Clone, Debug)]
pub(super) struct KeptFull {
    pub(super) assessment: Arc<Assessment>,
    pub(super) path: Arc<RibbonPath>,
    /// The document.
    pub(super) checked: Arc<Checked>,
    pub(super) revision: u64,
}

impl KeptFull {
    pub(super) fn new(found: Full, checked: Arc<Checked>, revision: u64) -> Self {
        Self { assessment: Arc::new(found.assessment), path: Arc::new(found.path), checked, revision }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::{Command, Edit, Session, Settings};
    use ogee_design::{Design, Tier};
    use std::time::Duration;

    const LONG: Duration = Duration::from_mins(1);

    #[test]
    fn the_full_answer_replaces_the_live_one_of_the_same_document() {
        let mut session = Session::new(Design::sample(), Settings::default());
        let tier = |session: &Session| session.assessment().map(|found| found.tier);
        assert_eq!((tier(&session), session.full_state()), (Some(Tier::Live), FullState::Computing));
        let range = session.stretch_range();
        assert!(session.settle(LONG));
        assert_eq!((tier(&session), session.full_state()), (Some(Tier::Full), FullState::Fresh));
        assert_eq!(session.stretch_range(), range, "the bar keeps its range");
        let (path, revision) = session.path().expect("there is a path");
        assert_eq!(revision, session.revision());
        assert!(path.form(session.stretch()).is_some() && session.path_of_checked().is_some());

        session.apply(Command::Preview(Edit::number("Change pitch", "shape.pitch_um", 1150.0)));
        assert_eq!(tier(&session), Some(Tier::Live), "a drag shows the live answer at once");
        assert!(!session.assessment_is_stale() && session.path_of_checked().is_none());
        assert!(session.path().is_some_and(|(_, of)| of < session.revision()), "the last path is kept");
        session.apply(Command::Cancel);
        assert!(session.settle(LONG));
        assert_eq!(session.full_state(), FullState::Fresh);
    }

    #[test]
    fn faults_stop_the_full_models_and_keep_the_last_good_answer() {
        let mut session = Session::new(Design::sample(), Settings::default());
        assert!(session.settle(LONG));
        session.apply(Command::Commit(Edit::number("Change pitch", "shape.pitch_um", -5.0)));
        assert_eq!(session.full_state(), FullState::Stale);
        assert_eq!(session.assessment().map(|found| found.tier), Some(Tier::Full));
        assert!(session.assessment_is_stale() && session.path_of_checked().is_some());
        session.apply(Command::Undo);
        assert!(session.settle(LONG));
        assert_eq!(session.full_state(), FullState::Fresh);
    }
}
