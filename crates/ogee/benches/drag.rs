//! What a person feels while dragging: the time of whole frames, from the edit to the shapes handed to the painter.
//!
//! A mean says nothing about a stutter, so this prints percentiles over many frames instead of using criterion.
//! `cargo bench -p ogee`.

use egui_kittest::Harness;
use ogee::session::{Command, Edit, Session, Settings};
use ogee::window::App;
use ogee_design::Design;
use std::time::{Duration, Instant};

/// Frames of one drag.
const FRAMES: usize = 400;
/// Frames before the counting starts.
const WARM_UP: usize = 40;

/// Sends one preview a frame and times each frame, edit included. Returns the times, sorted.
fn drag(path: &str, from: f64, to: f64) -> Vec<Duration> {
    let session = Session::new(Design::sample(), Settings { hints_shown: false, ..Settings::default() });
    let mut window: Harness<'_, App> =
        Harness::builder().with_size([1600.0, 1000.0]).build_eframe(|cc| App::new(&cc.egui_ctx, session));
    window.run_steps(WARM_UP);
    let mut times = Vec::with_capacity(FRAMES);
    for frame in 0..FRAMES {
        // There and back, so that every frame shows another value.
        let t = 1.0 - (2.0 * frame as f64 / FRAMES as f64 - 1.0).abs();
        let begun = Instant::now();
        window.state_mut().send(Command::Preview(Edit::number("Drag", path, from + (to - from) * t)));
        window.step();
        times.push(begun.elapsed());
    }
    times.sort_unstable();
    times
}

#[expect(clippy::print_stdout, reason = "a bench reports on the terminal")]
fn main() {
    for (path, from, to) in [
        ("shape.amplitude_um", 400.0, 500.0),
        ("shape.pitch_um", 1000.0, 1200.0),
        ("shape.width_um", 40.0, 70.0),
        ("duty.target_stretch_percent", 20.0, 40.0),
        ("stack.layers[1].width_um", 1.0, 1.3),
    ] {
        let times = drag(path, from, to);
        let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
        println!("{path:30} median {:6.2} ms   99th percentile {:6.2} ms", at(0.5), at(0.99));
    }
}
