//! The states of the ribbon that the drawing needs, solved when they change and kept until they do.

use super::whole::{Shown, whole};
use ogee_design::{Caches, Checked, PeriodState, RibbonPath, period_state};
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
    /// The whole ribbon shown last, of which path and at which stretch.
    whole: Option<(Arc<RibbonPath>, f64, Shown)>,
}

impl States {
    /// Takes the bend tables that the session has made already.
    pub(super) fn adopt_tables(&mut self, caches: &Caches) {
        self.caches.adopt_tables(caches);
    }

    /// The ribbon as it is shown: the whole one of `path` where that reaches, else one period repeated.
    pub(super) fn shown(
        &mut self,
        checked: &Arc<Checked>,
        path: Option<&Arc<RibbonPath>>,
        stretch: f64,
    ) -> Result<Shown, String> {
        if let Some(path) = path {
            let is_kept = |kept: &(Arc<RibbonPath>, f64, Shown)| {
                Arc::ptr_eq(&kept.0, path) && kept.1.to_bits() == stretch.to_bits()
            };
            if let Some((.., shown)) = self.whole.as_ref().filter(|kept| is_kept(kept)) {
                return Ok(shown.clone());
            }
            if let Some(shown) = whole(checked, path, stretch) {
                self.whole = Some((Arc::clone(path), stretch, shown.clone()));
                return Ok(shown);
            }
        }
        self.at(checked, stretch).map(Shown::periodic)
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
