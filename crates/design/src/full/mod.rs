//! The full tier: the models that take longer than a frame, and the ribbon's form along the stretch.

mod assemble;
mod flat;
mod light;
mod solved;
mod strain;
mod way;

use crate::assess::{LiveParts, live_parts};
use crate::caches::Caches;
use crate::check::Checked;
use crate::document::SupportName;
use crate::evaluate;
use crate::form::{RibbonForm, RibbonPath};
use crate::models::ModelName;
use crate::result::Assessment;
use assemble::{Governed, assemble};
use ogee_geometry::Centreline;
use solved::Solved;
use way::Stop;

/// Stretches of the way for a ribbon of few periods.
const MOST_STOPS: usize = 32;
/// And for one of many.
const LEAST_STOPS: usize = 8;
/// Points of all forms together that are kept, at most.
const MOST_POINTS: usize = 120_000;
/// Most points on a segment of a form: enough that a quarter looks smooth.
const MOST_PER_SEGMENT: usize = 25;
const LEAST_PER_SEGMENT: usize = 5;
/// Compression that the way begins with, over its far end.
const COMPRESSION: f64 = 0.08;
/// The way goes on past the target by this factor, and past straight by the next as long as that is within the third.
const PAST_TARGET: f64 = 1.3;
const PAST_STRAIGHT: f64 = 1.05;
const FARTHEST: f64 = 3.0;
/// Periods above which the way ends past the target, because every stop is dear.
const MANY_PERIODS: u32 = 24;

/// What the full tier finds.
#[derive(Clone, Debug)]
pub struct Full {
    /// Every figure and margin.
    pub assessment: Assessment,
    /// The ribbon's form from slight compression to past the target.
    pub path: RibbonPath,
}

/// Assesses a checked design by the full models.
///
/// `None` when `keep_going` said stop.
///
/// # Errors
/// A sentence that says why there is no equilibrium at the target stretch.
pub fn assess_full(
    checked: &Checked,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Full>, String> {
    let Some(mut parts) = live_parts(checked, caches, keep_going)? else { return Ok(None) };
    let plan = Plan::of(checked, &parts);
    let line = checked.centreline();
    let target = checked.target_stretch();
    let flat = flat::solve(checked, line, target, &mut caches.ribbon, None)?;
    let cell = evaluate::solve(checked, target, caches)?;
    let result = flat::result(checked, &flat, &cell);
    parts.assessment.ribbon = Some(result);
    if !keep_going() {
        return Ok(None);
    }
    let found = flat_way(checked, line, &plan, caches, keep_going)?;
    let Some((governed, path)) = found else { return Ok(None) };
    Ok(Some(Full { assessment: assemble(checked, parts, governed, caches)?, path }))
}

/// The stretches of the way and how finely forms are kept.
struct Plan {
    stretches: Vec<f64>,
    target: f64,
    per_segment: usize,
}

impl Plan {
    fn of(checked: &Checked, parts: &LiveParts) -> Self {
        let line = checked.centreline();
        let target = checked.target_stretch();
        let straight = checked.quarter().slack() / checked.stretch_ratio();
        let mut far = PAST_TARGET * target;
        if line.periods() <= MANY_PERIODS {
            far = far.max((PAST_STRAIGHT * straight).min(FARTHEST * target));
        } else if let Some(reserve) = parts.evaluated.allowable_stretch {
            far = far.max((PAST_TARGET * reserve).min(FARTHEST * target));
        }
        let segments = line.segments().count();
        let stops = (MOST_POINTS / (LEAST_PER_SEGMENT * segments)).clamp(LEAST_STOPS, MOST_STOPS);
        let per_segment = (MOST_POINTS / (stops * segments)).clamp(LEAST_PER_SEGMENT, MOST_PER_SEGMENT);
        // The target is one of the stops; the way there takes its share of them.
        let before = ((stops as f64 * target / far).ceil() as usize).clamp(3, stops - 1);
        let after = stops - before;
        let low = -COMPRESSION * far.min(1.0);
        let mut stretches = vec![low];
        stretches.extend((0..=before).map(|i| target * i as f64 / before as f64));
        stretches.extend((1..=after).map(|i| target + (far - target) * i as f64 / after as f64));
        Self { stretches, target, per_segment }
    }

    fn far(&self) -> f64 {
        self.stretches.last().copied().unwrap_or(self.target)
    }
}

/// The way of a ribbon that stays in its plane.
fn flat_way(
    checked: &Checked,
    line: &Centreline,
    plan: &Plan,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<(Governed, RibbonPath)>, String> {
    let tables = light::Tables::of(checked, false, caches);
    let mut stops: Vec<Stop> = Vec::new();
    let mut at_target = None;
    let mut warm: Option<ogee_mechanics::RibbonSolution> = None;
    for &stretch in &plan.stretches {
        if !keep_going() {
            return Ok(None);
        }
        let solution = match flat::solve(checked, line, stretch, &mut caches.ribbon, warm.as_ref()) {
            Ok(solution) => solution,
            Err(reason) if stretch == plan.target => return Err(reason),
            // Compression or the far end may have no equilibrium that any mesh resolves; the way ends there.
            Err(_) if stretch < plan.target => continue,
            Err(_) => break,
        };
        let solved = Solved::Flat(Box::new(solution.clone()));
        stops.push(Stop::of(checked, stretch, &solved, plan.per_segment, tables.as_ref())?);
        if stretch == plan.target {
            at_target = Some((stops.len() - 1, solution.clone()));
        }
        warm = Some(solution);
    }
    let Some((number, solution)) = at_target else {
        return Err("the target stretch was not reached".to_owned());
    };
    let words = match checked.design().support.kind {
        SupportName::FreeInPlane => "whole ribbon between clamped ends, kept in its plane",
        _ => "whole ribbon between clamped ends, in its plane",
    };
    let governed = Governed {
        model: ModelName::Ribbon,
        words: words.to_owned(),
        named: "whole ribbon in its plane, clamped ends, large stretch".to_owned(),
        source: flat::SOURCE,
        peaks: stops[number].peaks.clone(),
        force_un: solution.force_un[0],
        error_estimate: solution.error_estimate,
        iterations: solution.iterations,
        heights_um: None,
        reached: way::reached(checked, &stops),
        searched_to: stops.last().map_or(plan.target, |stop| stop.stretch).min(plan.far()),
        points: stops[number].form.points.clone(),
        curve: way::curve(&stops),
    };
    let forms: Vec<RibbonForm> = stops.into_iter().map(|stop| stop.form).collect();
    Ok(Some((governed, RibbonPath::new(forms, None))))
}
