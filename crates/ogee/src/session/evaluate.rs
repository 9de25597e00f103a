//! What is known about the document shown: its faults, its assessment, its map.
//!
//! A design is assessed in the frame as long as that was quick the last time; else on a worker thread, and the
//! earlier assessment stays on show, marked as stale, until the new one arrives. The full models always run on a
//! worker thread; their answer takes the place of the live one when it belongs to the same document.

use super::full::{FullState, KeptFull};
use super::worker::{Finished, Lane, Outcome, Wake, Worker};
use ogee_design::{
    Assessment, Caches, Checked, Design, Fault, Full, MapField, MapGrid, MapModel, MapSpec, MapWindow, Tier,
    assess, assess_full, map_fields, map_key, refine_map,
};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// An assessment that took longer than this goes to a worker thread the next time: a frame has 16 ms.
// What a unit test of the session sees must not depend on how busy the machine is.
const IN_FRAME: Duration = if cfg!(test) { Duration::from_mins(1) } else { Duration::from_millis(10) };

/// Cells of a map along each axis.
const MAP_CELLS: usize = 128;

/// Share of the progress of a full map that its live part is.
const LIVE_SHARE: f32 = 0.1;
/// Every how many cells along each axis a full map is solved in the end; those between follow their neighbours.
const FINEST: usize = 4;

/// What the worker threads hand back.
enum Answer {
    Assessment(Box<Assessment>),
    /// There is no assessment, for this reason.
    NoAssessment(String),
    Full(Box<Full>, Arc<Checked>),
    /// The full models have no answer, for this reason.
    NoFull(String),
    Map(Box<MapGrid>, f32),
}

/// What identifies a map: everything that it depends on.
#[derive(Clone, Copy, Debug, PartialEq)]
struct MapIdentity {
    key: u64,
    window: MapWindow,
    /// The field that it was made for; the cheap ones come with every map and count as one.
    field: MapField,
    /// By which models its strain is.
    model: MapModel,
}

/// Strain and contour length come with every map; loss and all limits only where they are asked for.
fn standing_for(field: MapField) -> MapField {
    match field {
        MapField::StrainMargin | MapField::PeakStrain | MapField::ContourLength => MapField::StrainMargin,
        MapField::InsertionLoss | MapField::InsertionLossStretched | MapField::AllLimits => field,
    }
}

/// Whether a map made for one field shows the other.
fn covers(made_for: MapField, wanted: MapField) -> bool {
    let wanted = standing_for(wanted);
    wanted == MapField::StrainMargin || wanted == made_for
}

pub(super) struct Evaluation {
    revision: u64,
    checked: Option<Arc<Checked>>,
    faults: Vec<Fault>,
    /// Why a design without faults has no assessment.
    trouble: Option<String>,
    assessment: Option<Arc<Assessment>>,
    assessed_revision: u64,
    /// What the full models found last.
    full: Option<KeptFull>,
    /// Why they found nothing, and for which revision.
    full_trouble: Option<(u64, String)>,
    /// Since when they have been behind the document shown.
    full_stale_since: Option<Instant>,
    /// Since when the assessment has been behind the document shown.
    stale_since: Option<Instant>,
    caches: Caches,
    last_took: Duration,
    worker: Worker<Caches, Answer>,
    wake: Arc<Mutex<Option<Wake>>>,
    map: Option<Arc<MapGrid>>,
    map_field: MapField,
    map_model: MapModel,
    map_progress: Option<f32>,
    map_trouble: Option<String>,
    map_asked: Option<MapIdentity>,
    /// Window for designs that name none.
    own_window: Option<MapWindow>,
}

impl Evaluation {
    pub(super) fn new(map_field: MapField, map_model: MapModel) -> Self {
        let wake: Arc<Mutex<Option<Wake>>> = Arc::default();
        let late = Arc::clone(&wake);
        let worker_wake: Wake = Arc::new(move || {
            let wake = late.lock().unwrap_or_else(PoisonError::into_inner).clone();
            if let Some(wake) = wake {
                wake();
            }
        });
        Self {
            revision: 0,
            checked: None,
            faults: Vec::new(),
            trouble: None,
            assessment: None,
            assessed_revision: 0,
            full: None,
            full_trouble: None,
            full_stale_since: None,
            stale_since: None,
            caches: Caches::default(),
            last_took: Duration::ZERO,
            worker: Worker::new(&worker_wake),
            wake,
            map: None,
            map_field,
            map_model,
            map_progress: None,
            map_trouble: None,
            map_asked: None,
            own_window: None,
        }
    }

    pub(super) fn caches(&self) -> &Caches {
        &self.caches
    }

    pub(super) fn set_wake(&mut self, wake: Wake) {
        *self.wake.lock().unwrap_or_else(PoisonError::into_inner) = Some(wake);
    }

    /// Forgets what was known: another document is opened.
    pub(super) fn reset(&mut self) {
        self.worker.cancel(Lane::Live);
        self.worker.cancel(Lane::Full);
        self.worker.cancel(Lane::Map);
        self.checked = None;
        self.assessment = None;
        self.full = None;
        self.full_trouble = None;
        self.map = None;
        self.map_asked = None;
        self.map_progress = None;
        self.own_window = None;
    }

    /// Looks at `design`. `settled` is false while a gesture goes on.
    pub(super) fn look_at(&mut self, design: &Arc<Design>, settled: bool) {
        self.revision += 1;
        self.trouble = None;
        match design.check() {
            Err(faults) => {
                self.faults = faults;
                self.worker.cancel(Lane::Live);
                self.worker.cancel(Lane::Full);
            }
            Ok(checked) => {
                self.faults.clear();
                let checked = Arc::new(checked);
                self.checked = Some(Arc::clone(&checked));
                self.assess(&checked);
                self.ask_for_full(&checked);
                self.ask_for_map(&checked, settled);
            }
        }
        self.note_staleness();
    }

    fn note_staleness(&mut self) {
        if self.is_stale() {
            self.stale_since.get_or_insert_with(Instant::now);
        } else {
            self.stale_since = None;
        }
        if self.full.as_ref().is_some_and(|full| full.revision == self.revision) {
            self.full_stale_since = None;
        } else {
            self.full_stale_since.get_or_insert_with(Instant::now);
        }
    }

    fn assess(&mut self, checked: &Arc<Checked>) {
        if self.last_took > IN_FRAME && self.assessment.is_some() {
            let checked = Arc::clone(checked);
            self.worker.submit(
                Lane::Live,
                self.revision,
                Box::new(move |caches, run| {
                    match assess(&checked, Tier::Live, caches, &|| run.keep_going()) {
                        Ok(found) => Some(Answer::Assessment(Box::new(found?))),
                        Err(reason) => Some(Answer::NoAssessment(reason)),
                    }
                }),
            );
            return;
        }
        self.worker.cancel(Lane::Live);
        let begun = Instant::now();
        let caches = &mut self.caches;
        match catch_unwind(AssertUnwindSafe(|| assess(checked, Tier::Live, caches, &|| true))) {
            Ok(Ok(Some(found))) => {
                self.assessment = Some(Arc::new(found));
                self.assessed_revision = self.revision;
            }
            Ok(Ok(None)) => {}
            Ok(Err(reason)) => self.trouble = Some(reason),
            Err(_) => {
                self.caches = Caches::default();
                self.trouble = Some("the calculation broke down; please report this design".to_owned());
            }
        }
        self.last_took = begun.elapsed();
    }

    fn ask_for_full(&self, checked: &Arc<Checked>) {
        let checked = Arc::clone(checked);
        self.worker.submit(
            Lane::Full,
            self.revision,
            Box::new(move |caches, run| match assess_full(&checked, caches, &|| run.keep_going()) {
                Ok(found) => Some(Answer::Full(Box::new(found?), checked)),
                Err(reason) => Some(Answer::NoFull(reason)),
            }),
        );
    }

    fn ask_for_map(&mut self, checked: &Arc<Checked>, settled: bool) {
        let design = checked.design();
        if settled || self.own_window.is_none() {
            self.own_window = Some(self.map_window(design));
        }
        let identity = MapIdentity {
            key: map_key(checked),
            window: self.map_window(design),
            field: standing_for(self.map_field),
            model: self.map_model,
        };
        if self.map_asked == Some(identity) {
            return;
        }
        if let Some(asked) = self.map_asked
            && (asked.key, asked.window, asked.model) == (identity.key, identity.window, identity.model)
            && covers(asked.field, identity.field)
        {
            return;
        }
        self.map_asked = Some(identity);
        self.map_progress = Some(0.0);
        self.map_trouble = None;
        let spec = MapSpec { window: identity.window, columns: MAP_CELLS, rows: MAP_CELLS };
        let checked = Arc::clone(checked);
        self.worker.submit(
            Lane::Map,
            self.revision,
            Box::new(move |caches, run| {
                let cancelled = run.cancelled();
                let keep_going = || !cancelled.load(Ordering::Relaxed);
                let report = |grid: &MapGrid, share: f32| {
                    if share < 1.0 {
                        run.report(Answer::Map(Box::new(grid.clone()), share));
                    }
                };
                let is_full = identity.model == MapModel::Full;
                // The live map is the first part of a full one.
                let live_share = if is_full { LIVE_SHARE } else { 1.0 };
                let mut found = map_fields(
                    &checked,
                    &spec,
                    &[identity.field],
                    caches,
                    &keep_going,
                    &mut |grid, share| report(grid, live_share * share),
                )?;
                if is_full {
                    found = refine_map(&checked, &found, FINEST, caches, &keep_going, &mut |grid, share| {
                        report(grid, live_share + (1.0 - live_share) * share);
                    })?;
                }
                Some(Answer::Map(Box::new(found), 1.0))
            }),
        );
    }

    /// A gesture ended where it was: the map's window may move after it.
    pub(super) fn settle_map(&mut self) {
        if let (true, Some(checked)) = (self.faults.is_empty(), self.checked.clone()) {
            self.ask_for_map(&checked, true);
        }
    }

    /// Takes in what the worker threads have found. Returns whether anything is new.
    pub(super) fn poll(&mut self) -> bool {
        let mut news = false;
        for finished in self.worker.take_finished() {
            news = true;
            self.take_in(finished);
        }
        self.note_staleness();
        news
    }

    fn take_in(&mut self, finished: Finished<Answer>) {
        let revision = finished.revision;
        let done = !matches!(finished.outcome, Outcome::Part(_));
        match finished.outcome {
            Outcome::Part(answer) | Outcome::Done(answer) => match answer {
                Answer::Map(grid, share) => {
                    self.map = Some(Arc::new(*grid));
                    self.map_progress = (!done).then_some(share);
                }
                Answer::Assessment(found) => {
                    self.assessment = Some(Arc::new(*found));
                    self.assessed_revision = revision;
                    self.last_took = finished.took;
                }
                Answer::NoAssessment(reason) => {
                    if revision == self.revision {
                        self.trouble = Some(reason);
                    }
                    self.last_took = finished.took;
                }
                Answer::Full(found, checked) => {
                    self.full_trouble = None;
                    self.full = Some(KeptFull::new(*found, checked, revision));
                }
                Answer::NoFull(reason) => self.full_trouble = Some((revision, reason)),
            },
            Outcome::Failed(reason) => match finished.lane {
                Lane::Map => {
                    self.map_progress = None;
                    self.map_trouble = Some(format!("the map broke down: {reason}"));
                }
                Lane::Live => {
                    self.trouble = Some(format!("the calculation broke down: {reason}"));
                    // The next design is tried in the frame again.
                    self.last_took = Duration::ZERO;
                }
                Lane::Full => {
                    self.full_trouble = Some((revision, format!("the calculation broke down: {reason}")));
                }
            },
        }
    }

    pub(super) fn stop_map(&mut self) {
        self.worker.cancel(Lane::Map);
        self.map_progress = None;
    }

    pub(super) fn is_busy(&self) -> bool {
        [Lane::Live, Lane::Full, Lane::Map].into_iter().any(|lane| self.worker.is_busy(lane))
    }

    /// How far the full models are with the document shown.
    pub(super) fn full_state(&self) -> FullState {
        match (&self.full, &self.full_trouble) {
            (_, Some((revision, reason))) if *revision == self.revision => FullState::Failed(reason.clone()),
            (Some(full), _) if full.revision == self.revision => FullState::Fresh,
            _ if self.faults.is_empty() && self.worker.is_busy(Lane::Full) => FullState::Computing,
            _ => FullState::Stale,
        }
    }

    /// How long the full models have been behind; zero when they are not.
    pub(super) fn full_late_by(&self, now: Instant) -> Duration {
        self.full_stale_since.map_or(Duration::ZERO, |since| now.saturating_duration_since(since))
    }

    /// What the full models found last.
    pub(super) fn full(&self) -> Option<&KeptFull> {
        self.full.as_ref()
    }

    /// Chooses the quantity of the map; a map that does not have it is made anew.
    pub(super) fn set_map_field(&mut self, field: MapField) {
        self.map_field = field;
        if self.map_asked.is_some_and(|asked| !covers(asked.field, field)) {
            self.map = None;
            self.settle_map();
        }
    }

    /// Chooses the models of the map's strain; it is made anew.
    pub(super) fn set_map_model(&mut self, model: MapModel) {
        self.map_model = model;
        if self.map_asked.is_some_and(|asked| asked.model != model) {
            self.settle_map();
        }
    }

    pub(super) fn map_model(&self) -> MapModel {
        self.map_model
    }

    pub(super) fn trouble(&self) -> Option<&str> {
        self.trouble.as_deref()
    }

    pub(super) fn revision(&self) -> u64 {
        self.revision
    }

    pub(super) fn checked(&self) -> Option<&Arc<Checked>> {
        self.checked.as_ref()
    }

    pub(super) fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// The newest assessment: by the full models where they have come as far as the live ones.
    pub(super) fn assessment(&self) -> Option<&Arc<Assessment>> {
        let full = self.full.as_ref().filter(|full| full.revision >= self.assessed_revision);
        full.map(|full| &full.assessment).or(self.assessment.as_ref())
    }

    /// The newest assessment by the live models.
    pub(super) fn live(&self) -> Option<&Arc<Assessment>> {
        self.assessment.as_ref()
    }

    pub(super) fn is_stale(&self) -> bool {
        let full = self.full.as_ref().map_or(0, |full| full.revision);
        self.assessed_revision.max(full) != self.revision
    }

    /// How long the assessment has been behind; zero when it is not.
    pub(super) fn stale_for(&self, now: Instant) -> Duration {
        self.stale_since.map_or(Duration::ZERO, |since| now.saturating_duration_since(since))
    }

    pub(super) fn map(&self) -> Option<&Arc<MapGrid>> {
        self.map.as_ref()
    }

    pub(super) fn map_progress(&self) -> Option<f32> {
        self.map_progress
    }

    pub(super) fn map_trouble(&self) -> Option<&str> {
        self.map_trouble.as_deref()
    }

    pub(super) fn map_field(&self) -> MapField {
        self.map_field
    }

    /// The design's own window, else the one chosen earlier as long as the design lies well inside.
    pub(super) fn map_window(&self, design: &Design) -> MapWindow {
        let shape = &design.shape;
        let inside = |[low, high]: [f64; 2], value: f64| low < value && value < high;
        design.map.unwrap_or_else(|| {
            self.own_window
                .filter(|w| inside(w.amplitude_um, shape.amplitude_um) && inside(w.pitch_um, shape.pitch_um))
                .unwrap_or_else(|| MapWindow::around(shape))
        })
    }
}
