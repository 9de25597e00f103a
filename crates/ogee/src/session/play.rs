//! The stretch that is shown: set by hand, or cycled from rest to the target and back.

use std::time::Instant;

/// How long one cycle from rest to the target and back takes, seconds.
const CYCLE_S: f64 = 4.0;

/// The stretch shown, a ratio from island to island.
#[derive(Clone, Debug)]
pub struct ShownStretch {
    stretch: f64,
    /// Set by hand; until then the stretch follows the target.
    by_hand: bool,
    /// Instant at which the cycle was (or would have been) at rest.
    at_rest: Option<Instant>,
}

impl ShownStretch {
    /// Shows `target`.
    pub fn new(target: f64) -> Self {
        Self { stretch: target, by_hand: false, at_rest: None }
    }

    /// The stretch shown.
    pub fn get(&self) -> f64 {
        self.stretch
    }

    /// Whether the cycle runs.
    pub fn playing(&self) -> bool {
        self.at_rest.is_some()
    }

    /// Takes a stretch set by hand; ends the cycle.
    pub fn set(&mut self, stretch: f64, [low, high]: [f64; 2]) {
        if stretch.is_finite() {
            self.stretch = stretch.clamp(low, high);
            self.by_hand = true;
            self.at_rest = None;
        }
    }

    /// Starts the cycle where the stretch is now, or stops it where it is.
    pub fn play(&mut self, on: bool, now: Instant, target: f64) {
        if on == self.playing() {
            return;
        }
        if on {
            let share = if target > 0.0 { (self.stretch / target).clamp(0.0, 1.0) } else { 0.0 };
            // The rising half of (1 − cos)/2, inverted.
            let phase = (1.0 - 2.0 * share).acos() / std::f64::consts::TAU;
            let past = std::time::Duration::from_secs_f64(phase * CYCLE_S);
            self.at_rest = Some(now.checked_sub(past).unwrap_or(now));
        } else {
            self.at_rest = None;
            self.by_hand = true;
        }
    }

    /// Moves the cycle on. Returns whether the stretch changed.
    pub fn tick(&mut self, now: Instant, target: f64) -> bool {
        let Some(at_rest) = self.at_rest else { return false };
        let phase = now.saturating_duration_since(at_rest).as_secs_f64() / CYCLE_S;
        let stretch = target * (1.0 - (std::f64::consts::TAU * phase).cos()) / 2.0;
        std::mem::replace(&mut self.stretch, stretch) != stretch
    }

    /// The design's target or range changed: follows the target unless set by hand, stays within the range.
    pub fn follow(&mut self, target: f64, [low, high]: [f64; 2]) {
        if !self.by_hand && !self.playing() {
            self.stretch = target;
        }
        self.stretch = self.stretch.clamp(low, high);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn the_cycle_goes_from_rest_to_target_and_back() {
        let now = Instant::now();
        let mut shown = ShownStretch::new(0.4);
        shown.set(0.0, [-0.1, 1.0]);
        shown.play(true, now, 0.4);
        let mut seen = Vec::new();
        for i in 0..=8 {
            shown.tick(now + Duration::from_secs_f64(f64::from(i) * CYCLE_S / 8.0), 0.4);
            seen.push(shown.get());
        }
        assert!(seen[0].abs() < 1e-9 && (seen[4] - 0.4).abs() < 1e-9 && seen[8].abs() < 1e-9, "{seen:?}");
        assert!(seen.iter().all(|&s| (-1e-12..=0.4 + 1e-12).contains(&s)), "{seen:?}");
    }

    #[test]
    fn the_cycle_starts_where_the_ribbon_is() {
        let now = Instant::now() + Duration::from_secs(100);
        let mut shown = ShownStretch::new(0.4);
        shown.set(0.3, [0.0, 1.0]);
        shown.play(true, now, 0.4);
        shown.tick(now, 0.4);
        assert!((shown.get() - 0.3).abs() < 1e-6, "{}", shown.get());
        shown.play(false, now, 0.4);
        assert!(!shown.playing() && !shown.tick(now + Duration::from_secs(1), 0.4));
    }

    #[test]
    fn the_target_is_followed_until_a_hand_moves_the_bar() {
        let mut shown = ShownStretch::new(0.4);
        shown.follow(0.5, [-0.1, 1.0]);
        assert_eq!(shown.get(), 0.5);
        shown.set(0.2, [-0.1, 1.0]);
        shown.follow(0.6, [-0.1, 1.0]);
        assert_eq!(shown.get(), 0.2);
        shown.follow(0.1, [-0.05, 0.15]);
        assert_eq!(shown.get(), 0.15);
        shown.set(f64::NAN, [0.0, 1.0]);
        assert_eq!(shown.get(), 0.15);
    }
}
