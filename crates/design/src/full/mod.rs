//! The full tier: the models that take longer than a frame, and the ribbon's form along the stretch.

mod assemble;
mod bonded;
mod buckled;
mod flat;
mod free;
mod light;
mod solved;
mod strain;
mod target;
mod way;

use crate::assess::{LiveParts, live_parts};
use crate::caches::Caches;
use crate::checked::Checked;
use crate::document::SupportName;
use crate::evaluate;
use crate::figures::Layers;
use crate::form::{RibbonForm, RibbonPath};
use crate::models::ModelName;
use crate::result::{Assessment, Note, Sensitivity, Severity, Tier};
use assemble::{Governed, assemble};
pub(crate) use bonded::Bed;
use ogee_mechanics::{Onset, OnsetProblem, onset};
use solved::Solved;
pub(crate) use target::{Start, strain_at_target};
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

/// Most periods of a ribbon that is solved as a whole, and of a bonded one, whose stops are dearer.
const MOST_WHOLE: u32 = 2000;
const MOST_BONDED: u32 = 150;

/// Most periods of a ribbon whose way begins in compression.
const LONG_PERIODS: u32 = 60;

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
    let kind = checked.design().support.kind;
    let most = if kind == SupportName::Bonded { MOST_BONDED } else { MOST_WHOLE };
    if checked.centreline().periods() > most {
        return Ok(Some(too_long(parts, most)));
    }
    let plan = Plan::of(checked, &parts);
    let line = checked.centreline();
    let target = checked.target_stretch();
    let cell = evaluate::solve(checked, target, caches)?;
    if kind == SupportName::Bonded {
        let bed = Bed::of(checked, checked.quarter().pitch_um())?;
        let Some(way) = bonded_way(checked, &bed, &plan, caches, keep_going)? else { return Ok(None) };
        // A flat ribbon that cannot be solved or searched is no reason to lose the bonded one.
        let out = onset_of(checked, bed.stiffness.out_of_plane_mpa, target, caches).ok().flatten();
        if let Solved::Bonded(solution) = &way.target.1 {
            let onset = out.map(|onset| onset.stretch);
            parts.assessment.bonded = Some(bonded::result(checked, solution, &bed, &cell, onset)?);
        }
        let said = Said {
            model: ModelName::Bonded,
            words: "whole ribbon bonded to its elastomer, in its plane",
            named: "whole ribbon on a linear foundation, clamped ends, large stretch",
            source: bonded::SOURCE,
            heights_um: None,
        };
        let start = Start::of(&way.target.1);
        let (mut governed, path) = way.governs(checked, &said);
        governed.sensitivities = answers(&parts, &governed, &start, caches, keep_going);
        return Ok(Some(Full { assessment: assemble(checked, parts, &governed, &path, caches)?, path }));
    }
    let solution = flat::solve(checked, line, target, &mut caches.ribbon, None)?;
    parts.assessment.ribbon = Some(flat::result(checked, &solution, &cell));
    if !keep_going() {
        return Ok(None);
    }
    let (way, said) = if kind == SupportName::FreeInPlane {
        let Some(way) = flat_way(checked, &plan, caches, keep_going)? else { return Ok(None) };
        (way, flat_said(checked))
    } else {
        let Some(free) = free::free(checked, &plan, caches, keep_going)? else { return Ok(None) };
        parts.assessment.spatial = Some(free.spatial);
        (free.way, free.said)
    };
    let start = Start::of(&way.target.1);
    let (mut governed, path) = way.governs(checked, &said);
    governed.sensitivities = answers(&parts, &governed, &start, caches, keep_going);
    Ok(Some(Full { assessment: assemble(checked, parts, &governed, &path, caches)?, path }))
}

/// A ribbon of so many periods that the live estimate has to do, and nearly does: its ends are far from most of it.
fn too_long(parts: LiveParts, most: u32) -> Full {
    let mut assessment = parts.assessment;
    assessment.tier = Tier::Full;
    let message = format!(
        "Ribbons of more than {most} periods are not solved as a whole: the strain is the live estimate, and what the \
         ribbon does out of its plane is not known."
    );
    "live estimate, because the ribbon has too many periods to be solved whole"
        .clone_into(&mut assessment.governing.words);
    assessment.notes.insert(
        0,
        Note {
            code: "too-many-periods".to_owned(),
            severity: Severity::Caution,
            path: "shape.periods".to_owned(),
            message,
        },
    );
    Full { assessment, path: RibbonPath::default() }
}

/// How the strain margin answers to each changed design, by the model that governs.
fn answers(
    parts: &LiveParts,
    governed: &Governed,
    start: &Start,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Vec<Sensitivity> {
    let Some(checked) = parts.changes.iter().find_map(|c| c.checked.as_ref()) else { return Vec::new() };
    let used = governed.peaks.judged(&Layers::of(checked)).used.0;
    let mut list = Vec::new();
    for change in &parts.changes {
        if !keep_going() {
            break;
        }
        let Some(checked) = &change.checked else { continue };
        let found = strain_at_target(checked, checked.centreline(), Some(start), caches);
        let margin_change_percent = match found {
            Ok((peaks, _)) if used > 0.0 => {
                let after = peaks.judged(&Layers::of(checked)).used.0;
                (after > 0.0).then(|| 100.0 * (used / after - 1.0))
            }
            _ => None,
        };
        list.push(Sensitivity {
            path: change.path.clone(),
            label: change.label.clone(),
            change_percent: change.percent,
            margin_change_percent,
        });
    }
    list
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
        let mut stretches = Vec::with_capacity(stops + 2);
        // A long ribbon that is pushed buckles sideways as a column, which takes a long search of no use here.
        if line.periods() <= LONG_PERIODS {
            stretches.push(-COMPRESSION * far.min(1.0));
        }
        // The share first: at the target it has to be exactly 1.
        stretches.extend((0..=before).map(|i| target * (i as f64 / before as f64)));
        stretches.extend((1..=after).map(|i| target + (far - target) * i as f64 / after as f64));
        Self { stretches, target, per_segment }
    }

    fn far(&self) -> f64 {
        self.stretches.last().copied().unwrap_or(self.target)
    }
}

/// A ribbon solved at every stop of the way as far as it goes.
struct Way {
    stops: Vec<Stop>,
    /// Number of the stop at the target, and the ribbon there.
    target: (usize, Solved),
    onset: Option<f64>,
}

/// Solves the ribbon at one stretch, from the solution at the stretch before.
type SolveAt<'a> = dyn FnMut(f64, &mut Caches, Option<&Solved>) -> Result<Solved, String> + 'a;

/// Solves the ribbon at every stretch of the plan by `solve`, which gets the solution before.
///
/// A stretch in compression or past the target that has no equilibrium, or none that any mesh resolves, ends the way there.
fn walk(
    checked: &Checked,
    plan: &Plan,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
    solve: &mut SolveAt<'_>,
) -> Result<Option<Way>, String> {
    let tables = light::Tables::of(checked, false, caches);
    let mut stops = Vec::new();
    let mut at_target = None;
    let mut before: Option<Solved> = None;
    for &stretch in &plan.stretches {
        if !keep_going() {
            return Ok(None);
        }
        let solved = match solve(stretch, caches, before.as_ref()) {
            Ok(solved) => solved,
            Err(reason) if stretch == plan.target => return Err(reason),
            Err(_) if stretch < plan.target => continue,
            Err(_) => break,
        };
        stops.push(Stop::of(checked, stretch, &solved, plan.per_segment, tables.as_ref())?);
        if stretch == plan.target {
            at_target = Some((stops.len() - 1, solved.clone()));
        }
        before = Some(solved);
    }
    let target = at_target.ok_or_else(|| "the target stretch was not reached".to_owned())?;
    Ok(Some(Way { stops, target, onset: None }))
}

/// What is said of the model that governs.
struct Said {
    model: ModelName,
    words: &'static str,
    named: &'static str,
    source: &'static str,
    heights_um: Option<[f64; 2]>,
}

impl Way {
    /// What the margins rest on, and the path for drawings.
    fn governs(self, checked: &Checked, said: &Said) -> (Governed, RibbonPath) {
        let (number, solved) = self.target;
        let target = &self.stops[number];
        let (error_estimate, iterations) = solved.effort();
        let governed = Governed {
            model: said.model,
            words: said.words.to_owned(),
            named: said.named.to_owned(),
            source: said.source,
            peaks: target.peaks.clone(),
            force_un: target.force_un,
            error_estimate,
            iterations,
            heights_um: said.heights_um,
            reached: way::reached(checked, &self.stops),
            searched_to: self.stops.last().map_or(target.stretch, |stop| stop.stretch),
            points: target.form.points.clone(),
            curve: way::curve(&self.stops),
            sensitivities: Vec::new(),
        };
        let forms: Vec<RibbonForm> = self.stops.into_iter().map(|stop| stop.form).collect();
        (governed, RibbonPath::new(forms, self.onset))
    }
}

/// The way of a ribbon that stays in its plane.
fn flat_way(
    checked: &Checked,
    plan: &Plan,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Way>, String> {
    let line = checked.centreline();
    walk(checked, plan, caches, keep_going, &mut |stretch, caches, before| {
        let warm = match before {
            Some(Solved::Flat(solution)) => Some(solution.as_ref()),
            _ => None,
        };
        let solution = flat::solve(checked, line, stretch, &mut caches.ribbon, warm)?;
        Ok(Solved::Flat(Box::new(solution)))
    })
}

/// A free ribbon that stays in its plane, or is kept there.
fn flat_said(checked: &Checked) -> Said {
    Said {
        model: ModelName::Ribbon,
        words: match checked.design().support.kind {
            SupportName::FreeInPlane => "whole ribbon between clamped ends, kept in its plane",
            _ => "whole ribbon between clamped ends, which stays in its plane",
        },
        named: "whole ribbon in its plane, clamped ends, large stretch",
        source: flat::SOURCE,
        heights_um: None,
    }
}

/// The way of a bonded ribbon.
fn bonded_way(
    checked: &Checked,
    bed: &Bed,
    plan: &Plan,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Way>, String> {
    let line = checked.centreline();
    walk(checked, plan, caches, keep_going, &mut |stretch, _, _| {
        Ok(Solved::Bonded(Box::new(bonded::solve(checked, line, bed, stretch)?)))
    })
}

/// Stretch at which the ribbon leaves its plane, held by a bed of that stiffness; `None` where it does not up to `far`.
fn onset_of(checked: &Checked, bed_mpa: f64, far: f64, caches: &mut Caches) -> Result<Option<Onset>, String> {
    let problem = OnsetProblem {
        line: checked.centreline(),
        strips: checked.strips(),
        out: &checked.out_of_plane(),
        foundation_mpa: bed_mpa,
        up_to: flat::motion(checked, far),
    };
    onset(&mut caches.ribbon, &problem).map_err(|e| e.to_string())
}
