//! The states of the ribbon that the drawing needs, solved when they change and kept until they do.

use ogee_design::{Caches, Checked, PeriodState, period_state};
use std::sync::Arc;

/// Most states kept: rest and stretched, of the design and of four pins, and a few steps back.
const MOST_STATES: usize = 16;

/// One state that was solved.
struct Kept {
    checked: Arc<Checked>,
    stretch: f64,
    state: Result<Arc<PeriodState>, String>,
}

/// Solved states, the latest last.
#[derive(Default)]
pub(super) struct States {
    caches: Caches,
    kept: Vec<Kept>,
}

impl States {
    /// Takes the bend tables that the session has made already.
    pub(super) fn adopt_tables(&mut self, caches: &Caches) {
        self.caches.adopt_tables(caches);
    }

    /// The ribbon of `checked` at `stretch` (ratio, island to island), or why there is none.
    pub(super) fn at(&mut self, checked: &Arc<Checked>, stretch: f64) -> Result<Arc<PeriodState>, String> {
        let same = |k: &Kept| Arc::ptr_eq(&k.checked, checked) && k.stretch.to_bits() == stretch.to_bits();
        if let Some(index) = self.kept.iter().position(same) {
            let kept = self.kept.remove(index);
            let state = kept.state.clone();
            self.kept.push(kept);
            return state;
        }
        // Loss densities come from the bend table, which is made once for each core.
        let _table = self.caches.bend_table(checked);
        let state = period_state(checked, stretch, &mut self.caches).map(Arc::new);
        if self.kept.len() == MOST_STATES {
            self.kept.remove(0);
        }
        self.kept.push(Kept { checked: Arc::clone(checked), stretch, state: state.clone() });
        state
    }
}

impl std::fmt::Debug for States {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("States").field("kept", &self.kept.len()).finish_non_exhaustive()
    }
}
