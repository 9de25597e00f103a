//! Long calculations on threads of their own: the newest request wins, and nothing ever queues up.
//!
//! Each lane has one thread, at most one job that runs and at most one that waits. What becomes of the running
//! job when a newer one comes differs by lane: cancelling always would starve a drag of answers when one answer
//! takes longer than a frame, while a map that nobody wants any more should stop at once.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// A running assessment that was last seen to take less than this may finish though a newer one waits.
const FINISHES_WITHIN: Duration = Duration::from_millis(150);

/// A stream of jobs of which only the newest matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lane {
    /// The live models of one design, where they are too slow for a frame. Like [`Full`](Self::Full).
    Live,
    /// The full models of one design. The running job may finish when it is quick; one newer job waits.
    Full,
    /// A map. A newer job cancels the running one at once.
    Map,
}

impl Lane {
    const ALL: [Self; 3] = [Self::Live, Self::Full, Self::Map];

    fn thread_name(self) -> &'static str {
        match self {
            Self::Live => "ogee-live",
            Self::Full => "ogee-full",
            Self::Map => "ogee-map",
        }
    }
}

/// What a job may ask and tell while it runs.
pub struct Run<'a, T> {
    cancelled: &'a AtomicBool,
    report: &'a dyn Fn(T),
}

impl<T> std::fmt::Debug for Run<'_, T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Run").field("cancelled", self.cancelled).finish_non_exhaustive()
    }
}

impl<'a, T> Run<'a, T> {
    /// False once the answer is no longer wanted.
    pub fn keep_going(&self) -> bool {
        !self.cancelled.load(Ordering::Relaxed)
    }

    /// The flag behind [`keep_going`](Self::keep_going), to be asked from several threads.
    pub fn cancelled(&self) -> &'a AtomicBool {
        self.cancelled
    }

    /// Hands back a part of the answer; a newer part replaces one that was not taken yet.
    pub fn report(&self, part: T) {
        if self.keep_going() {
            (self.report)(part);
        }
    }
}

/// What became of a job.
#[derive(Debug)]
pub enum Outcome<T> {
    /// A part of the answer; more is coming.
    Part(T),
    /// The answer.
    Done(T),
    /// The job broke down; the thread lives on.
    Failed(String),
}

/// A result with what it belongs to.
#[derive(Debug)]
pub struct Finished<T> {
    /// The lane.
    pub lane: Lane,
    /// The revision that was given with the job.
    pub revision: u64,
    /// What became of it.
    pub outcome: Outcome<T>,
    /// How long the job has taken so far.
    pub took: Duration,
}

/// A calculation: it may keep things in `C` for the next one, and returns `None` when cancelled.
pub type Task<C, T> = Box<dyn FnOnce(&mut C, &Run<'_, T>) -> Option<T> + Send>;

struct Job<C, T> {
    revision: u64,
    task: Task<C, T>,
}

struct Slot<C, T> {
    waiting: Option<Job<C, T>>,
    /// Cancel flag of the running job.
    running: Option<Arc<AtomicBool>>,
    finished: Option<Finished<T>>,
    last_took: Option<Duration>,
    stopping: bool,
}

struct Shared<C, T> {
    lane: Lane,
    slot: Mutex<Slot<C, T>>,
    work: Condvar,
}

impl<C, T> Shared<C, T> {
    /// A poisoned lock only means that some thread panicked; the slot is valid after every statement.
    fn lock(&self) -> MutexGuard<'_, Slot<C, T>> {
        self.slot.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Wakes whoever shows the results.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// The threads and their jobs. Dropping it cancels what runs and waits for the threads to end.
pub struct Worker<C, T> {
    lanes: Vec<Arc<Shared<C, T>>>,
    threads: Vec<JoinHandle<()>>,
}

impl<C, T> std::fmt::Debug for Worker<C, T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Worker").field("threads", &self.threads).finish_non_exhaustive()
    }
}

impl<C: Default + 'static, T: Send + 'static> Worker<C, T> {
    /// Starts one thread per lane; `wake` is called after each report.
    ///
    /// Where the system gives no thread, the lane's jobs are never run and a warning is logged.
    pub fn new(wake: &Wake) -> Self {
        let mut lanes = Vec::new();
        let mut threads = Vec::new();
        for lane in Lane::ALL {
            let slot =
                Slot { waiting: None, running: None, finished: None, last_took: None, stopping: false };
            let shared = Arc::new(Shared { lane, slot: Mutex::new(slot), work: Condvar::new() });
            lanes.push(Arc::clone(&shared));
            let wake = Arc::clone(wake);
            let started = std::thread::Builder::new()
                .name(lane.thread_name().to_owned())
                .spawn(move || run_lane(&shared, &*wake));
            match started {
                Ok(thread) => threads.push(thread),
                Err(error) => log::warn!("no thread for {}: {error}", lane.thread_name()),
            }
        }
        Self { lanes, threads }
    }

    fn lane(&self, lane: Lane) -> &Shared<C, T> {
        self.lanes.iter().find(|s| s.lane == lane).expect("there is a slot for every lane")
    }

    /// Queues a job. Never blocks, never grows: at most one job waits per lane.
    pub fn submit(&self, lane: Lane, revision: u64, task: Task<C, T>) {
        let shared = self.lane(lane);
        let mut slot = shared.lock();
        if let Some(running) = &slot.running {
            let slow = slot.last_took.is_some_and(|t| t > FINISHES_WITHIN);
            if lane == Lane::Map || slow {
                running.store(true, Ordering::Relaxed);
            }
        }
        slot.waiting = Some(Job { revision, task });
        drop(slot);
        shared.work.notify_one();
    }

    /// Gives up what runs and waits in `lane`.
    pub fn cancel(&self, lane: Lane) {
        let mut slot = self.lane(lane).lock();
        slot.waiting = None;
        slot.finished = None;
        if let Some(running) = &slot.running {
            running.store(true, Ordering::Relaxed);
        }
    }

    /// Whether a job runs or waits in `lane`.
    pub fn is_busy(&self, lane: Lane) -> bool {
        let slot = self.lane(lane).lock();
        slot.waiting.is_some() || slot.running.is_some()
    }

    /// Takes what has been reported since the last call, at most one result per lane.
    pub fn take_finished(&self) -> Vec<Finished<T>> {
        self.lanes.iter().filter_map(|shared| shared.lock().finished.take()).collect()
    }
}

impl<C, T> Drop for Worker<C, T> {
    fn drop(&mut self) {
        for shared in &self.lanes {
            let mut slot = shared.lock();
            slot.stopping = true;
            slot.waiting = None;
            if let Some(running) = &slot.running {
                running.store(true, Ordering::Relaxed);
            }
            drop(slot);
            shared.work.notify_one();
        }
        for thread in self.threads.drain(..) {
            // A panic of a lane's thread was already reported by its hook.
            let _ = thread.join();
        }
    }
}

fn run_lane<C: Default, T: Send>(shared: &Shared<C, T>, wake: &(dyn Fn() + Send + Sync)) {
    let mut caches = C::default();
    loop {
        let cancelled = Arc::new(AtomicBool::new(false));
        let mut slot = shared.lock();
        while slot.waiting.is_none() && !slot.stopping {
            slot = shared.work.wait(slot).unwrap_or_else(PoisonError::into_inner);
        }
        let Some(job) = slot.waiting.take().filter(|_| !slot.stopping) else { return };
        slot.running = Some(Arc::clone(&cancelled));
        drop(slot);

        let begun = Instant::now();
        let revision = job.revision;
        let report = |part: T| {
            let finished =
                Finished { lane: shared.lane, revision, outcome: Outcome::Part(part), took: begun.elapsed() };
            shared.lock().finished = Some(finished);
            wake();
        };
        let run = Run { cancelled: &cancelled, report: &report };
        let answer = catch_unwind(AssertUnwindSafe(|| (job.task)(&mut caches, &run)));
        let outcome = match answer {
            Ok(answer) => answer.map(Outcome::Done),
            Err(cause) => {
                // What the broken job left half-done must not reach the next one.
                caches = C::default();
                Some(Outcome::Failed(panic_text(&*cause)))
            }
        };
        let mut slot = shared.lock();
        slot.running = None;
        if !cancelled.load(Ordering::Relaxed) {
            slot.last_took = Some(begun.elapsed());
            if let Some(outcome) = outcome {
                slot.finished =
                    Some(Finished { lane: shared.lane, revision, outcome, took: begun.elapsed() });
            }
        }
        drop(slot);
        wake();
    }
}

fn panic_text(cause: &(dyn std::any::Any + Send)) -> String {
    cause
        .downcast_ref::<&str>()
        .map(|s| (*s).to_owned())
        .or_else(|| cause.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "the calculation broke down without a reason".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc;

    type Counting = Worker<u32, u32>;

    fn woken() -> (Counting, mpsc::Receiver<()>) {
        let (sender, receiver) = mpsc::channel();
        let sender = Mutex::new(sender);
        let wake: Wake = Arc::new(move || {
            let _ = sender.lock().unwrap().send(());
        });
        (Worker::new(&wake), receiver)
    }

    const LONG: Duration = Duration::from_secs(20);

    fn next(worker: &Counting, wakes: &mpsc::Receiver<()>) -> Finished<u32> {
        loop {
            if let Some(finished) = worker.take_finished().pop() {
                return finished;
            }
            wakes.recv_timeout(LONG).expect("the worker reports in time");
        }
    }

    /// A job that runs until it is cancelled or `gate` opens.
    fn held(gate: mpsc::Receiver<()>, value: u32) -> Task<u32, u32> {
        Box::new(move |_, run| {
            while run.keep_going() {
                match gate.recv_timeout(Duration::from_millis(1)) {
                    Err(mpsc::RecvTimeoutError::Timeout) => {}
                    _ => return Some(value),
                }
            }
            None
        })
    }

    #[test]
    fn answers_carry_their_revision_and_caches_are_kept() {
        let (worker, wakes) = woken();
        for revision in 1..=3 {
            worker.submit(
                Lane::Full,
                revision,
                Box::new(|count, _| {
                    *count += 1;
                    Some(*count)
                }),
            );
            let finished = next(&worker, &wakes);
            assert_eq!(finished.revision, revision);
            assert!(matches!(finished.outcome, Outcome::Done(n) if u64::from(n) == revision));
        }
    }

    #[test]
    fn the_newest_waiting_job_wins_and_a_quick_running_one_finishes() {
        let (worker, wakes) = woken();
        let (open, gate) = mpsc::channel();
        worker.submit(Lane::Full, 1, held(gate, 10));
        while worker.lane(Lane::Full).lock().running.is_none() {
            std::thread::yield_now();
        }
        for revision in 2..=9 {
            worker.submit(Lane::Full, revision, Box::new(move |_, _| Some(revision as u32)));
        }
        open.send(()).unwrap();
        let mut seen = Vec::new();
        while seen.last() != Some(&9) {
            seen.push(next(&worker, &wakes).revision);
        }
        // The first result may be replaced by the last before it is taken; nothing between them ever runs.
        assert!(seen == [1, 9] || seen == [9], "{seen:?}");
    }

    #[test]
    fn a_newer_map_cancels_the_running_one_at_once() {
        let (worker, wakes) = woken();
        let (_open, gate) = mpsc::channel();
        worker.submit(Lane::Map, 1, held(gate, 10));
        while worker.lane(Lane::Map).lock().running.is_none() {
            std::thread::yield_now();
        }
        worker.submit(Lane::Map, 2, Box::new(|_, _| Some(20)));
        let finished = next(&worker, &wakes);
        assert_eq!(finished.revision, 2);
        assert!(matches!(finished.outcome, Outcome::Done(20)));
    }

    #[test]
    fn lanes_do_not_wait_for_each_other() {
        let (worker, wakes) = woken();
        let (_open, gate) = mpsc::channel();
        worker.submit(Lane::Map, 1, held(gate, 10));
        worker.submit(Lane::Full, 2, Box::new(|_, _| Some(20)));
        assert_eq!(next(&worker, &wakes).lane, Lane::Full);
        assert!(worker.is_busy(Lane::Map));
        worker.cancel(Lane::Map);
        while worker.is_busy(Lane::Map) {
            wakes.recv_timeout(LONG).unwrap();
        }
        assert!(worker.take_finished().is_empty(), "a cancelled job reports nothing");
    }

    #[test]
    fn a_panic_is_reported_and_the_thread_lives_on() {
        let (worker, wakes) = woken();
        worker.submit(
            Lane::Full,
            1,
            Box::new(|count, _| {
                *count = 99;
                panic!("the sheet is torn")
            }),
        );
        let finished = next(&worker, &wakes);
        assert!(matches!(finished.outcome, Outcome::Failed(reason) if reason == "the sheet is torn"));
        worker.submit(Lane::Full, 2, Box::new(|count, _| Some(*count)));
        assert!(
            matches!(next(&worker, &wakes).outcome, Outcome::Done(0)),
            "caches of a broken job are dropped"
        );
    }

    #[test]
    fn parts_arrive_before_the_answer() {
        let (worker, wakes) = woken();
        let (open, gate) = mpsc::channel::<()>();
        worker.submit(
            Lane::Map,
            7,
            Box::new(move |_, run| {
                run.report(1);
                let _ = gate.recv_timeout(LONG);
                Some(2)
            }),
        );
        assert!(matches!(next(&worker, &wakes).outcome, Outcome::Part(1)));
        open.send(()).unwrap();
        assert!(matches!(next(&worker, &wakes).outcome, Outcome::Done(2)));
    }

    #[test]
    fn dropping_the_worker_ends_its_threads() {
        let (worker, _wakes) = woken();
        let (_open, gate) = mpsc::channel();
        worker.submit(Lane::Map, 1, held(gate, 10));
        drop(worker);
    }
}
