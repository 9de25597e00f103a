//! A free ribbon: flat until it leaves its plane, then out of it.

use super::buckled::{self, AtTarget, SAME_ENERGY};
use super::solved::Solved;
use super::way::Stop;
use super::{Plan, Said, Way, flat, flat_said, flat_way, light, onset_of};
use crate::caches::Caches;
use crate::checked::Checked;
use crate::models::{ModelName, SpatialResult};
use ogee_mechanics::{
    BuckledPath, Onset, OutOfPlane, SearchEffort, SectionLaw, StableStates, StateSymmetry, Symmetry,
};

/// Most periods of a ribbon that is solved out of its plane.
pub(super) const MOST_PERIODS: u32 = 300;
/// Most periods of a ribbon whose other stable states are looked for.
const SEARCHED_PERIODS: u32 = 60;
/// Most periods for which the error is told by a second mesh.
const FEW_PERIODS: u32 = 12;
/// Stops just past the onset, as multiples of it, so that the deflection's steep rise is drawn well.
const PAST_ONSET: [f64; 4] = [1.0, 1.03, 1.12, 1.3];

/// What became of a free ribbon.
pub(super) struct Free {
    pub(super) way: Way,
    pub(super) said: Said,
    pub(super) spatial: SpatialResult,
}

/// Follows a free ribbon along the plan; `None` when `keep_going` said stop.
pub(super) fn free(
    checked: &Checked,
    plan: &Plan,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Free>, String> {
    let far = plan.far();
    let periods = checked.centreline().periods();
    if periods > MOST_PERIODS {
        let trouble = format!(
            "a ribbon of {periods} periods is not followed out of its plane; up to {MOST_PERIODS} are"
        );
        return stays_flat(checked, plan, Some(&trouble), None, caches, keep_going);
    }
    let found = match onset_of(checked, 0.0, far, caches) {
        Ok(found) => found,
        Err(reason) => {
            let trouble = format!("the onset of buckling was not found: {reason}");
            return stays_flat(checked, plan, Some(&trouble), None, caches, keep_going);
        }
    };
    let is_curled = checked.curl_per_um() != 0.0;
    if found.is_none() && !is_curled {
        return stays_flat(checked, plan, None, None, caches, keep_going);
    }
    let out = checked.out_of_plane();
    let line = checked.centreline();
    let problem = buckled::problem(checked, line, &out, far);
    let lowest = plan.stretches.first().copied().unwrap_or(0.0);
    let mut follow =
        |lowest: f64| BuckledPath::follow(&mut caches.spatial, &problem, found.as_ref(), lowest, keep_going);
    // A ribbon that buckles as a column when pushed must not lose the way on which it is pulled.
    let path = match follow(lowest).or_else(|_| follow(0.0)) {
        Ok(Some(path)) => path,
        Ok(None) => return Ok(None),
        Err(reason) => {
            let trouble = format!("the ribbon was not found out of its plane: {reason}");
            return stays_flat(checked, plan, Some(&trouble), found.as_ref(), caches, keep_going);
        }
    };
    let leaves_at =
        if is_curled { f64::NEG_INFINITY } else { found.as_ref().map_or(f64::MAX, |o| o.stretch) };
    let at_target = if plan.target > leaves_at {
        match at_target(checked, &out, &path, plan.target, caches, keep_going) {
            Ok(Some(at)) => Some(at),
            Ok(None) => return Ok(None),
            Err(reason) => {
                let trouble = format!("the ribbon was not found out of its plane at the target: {reason}");
                return stays_flat(checked, plan, Some(&trouble), found.as_ref(), caches, keep_going);
            }
        }
    } else {
        None
    };
    let walk = Walk { checked, plan, out: &out, path: &path, leaves_at, at_target: at_target.as_ref() };
    let Some(way) = walk.stops(caches, keep_going)? else { return Ok(None) };
    let mut spatial = spatial_result(found.as_ref(), far);
    spatial.trouble = path.trouble.as_ref().map(|reason| {
        let [_, end] = path.range;
        format!("followed up to {} % only: {reason}", crate::text::number(100.0 * end))
    });
    let said = match &at_target {
        Some(at) => {
            let form = &way.stops[way.target.0].form;
            spatial.buckled = Some(buckled::result(checked, at, form, &out));
            Said {
                model: ModelName::Spatial,
                words: if at.lowest.symmetry == StateSymmetry::Flat {
                    "whole ribbon between clamped ends, pulled flat again"
                } else if is_curled {
                    "whole ribbon between clamped ends, curled out of its plane since its release"
                } else {
                    "whole ribbon between clamped ends, buckled out of its plane"
                },
                named: "whole ribbon out of its plane, ribbon law, clamped ends",
                source: buckled::SOURCE,
                heights_um: Some(buckled::heights_um(checked, &out, form)),
            }
        }
        None => Said { heights_um: Some([out.top_um, -out.bottom_um]), ..flat_said(checked) },
    };
    Ok(Some(Free { way, said, spatial }))
}

/// A ribbon that stays in its plane as far as is known.
fn stays_flat(
    checked: &Checked,
    plan: &Plan,
    trouble: Option<&str>,
    onset: Option<&Onset>,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Free>, String> {
    let is_beyond = onset.is_none_or(|onset| onset.stretch < plan.target);
    let Some(way) = flat_way(checked, plan, caches, keep_going)? else { return Ok(None) };
    let out = checked.out_of_plane();
    let spatial = SpatialResult { trouble: trouble.map(str::to_owned), ..spatial_result(onset, plan.far()) };
    let said = match trouble {
        // Its height is not known then.
        Some(_) if is_beyond => Said {
            words: "whole ribbon in its plane; what it does out of it is not known",
            ..flat_said(checked)
        },
        _ => Said { heights_um: Some([out.top_um, -out.bottom_um]), ..flat_said(checked) },
    };
    Ok(Some(Free { way, said, spatial }))
}

fn spatial_result(onset: Option<&Onset>, far: f64) -> SpatialResult {
    let symmetry = |s: Symmetry| match s {
        Symmetry::Even => "even",
        Symmetry::Odd => "odd",
        Symmetry::Mixed => "mixed",
    };
    SpatialResult {
        onset_percent: onset.map(|o| 100.0 * o.stretch),
        onset_symmetry: onset.map(|o| symmetry(o.symmetry).to_owned()),
        next_onset_percent: onset.and_then(|o| o.next).map(|(stretch, _)| 100.0 * stretch),
        searched_to_percent: 100.0 * far,
        buckled: None,
        trouble: None,
    }
}

/// The stable states at the target, and how sure they are.
fn at_target(
    checked: &Checked,
    out: &OutOfPlane,
    path: &BuckledPath,
    target: f64,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<AtTarget>, String> {
    let solver = &mut caches.spatial;
    let line = checked.centreline();
    let problem = buckled::problem(checked, line, out, target);
    let branch = path.at(solver, target).map_err(|e| e.to_string())?;
    // A single period often has a lower state than the one that begins at the onset; more periods hardly ever.
    let effort = if line.periods() == 1 { SearchEffort::Full } else { SearchEffort::Quick };
    let seeds = [branch.state.clone()];
    let found = if line.periods() <= SEARCHED_PERIODS {
        solver.stable_states(&problem, None, &seeds, effort, keep_going)
    } else {
        Ok(Some(StableStates { states: vec![branch.clone()], starts: 1, failed: 0 }))
    };
    let mut states = match found {
        Ok(Some(found)) => found.states,
        Ok(None) => return Ok(None),
        // The branch is known; that the search broke down takes nothing from it.
        Err(_) => Vec::new(),
    };
    states.retain(|state| state.is_stable);
    let is_branch = states.first().is_none_or(|lowest| {
        branch.is_stable && branch.energy_un_um <= lowest.energy_un_um * (1.0 + SAME_ENERGY)
    });
    if states.is_empty() {
        states.push(branch.clone());
    }
    let lowest = if is_branch { branch } else { states[0].clone() };
    if is_branch {
        states[0] = lowest.clone();
    }
    let rod = out.with_law(SectionLaw::Rod);
    let rod_problem = buckled::problem(checked, line, &rod, target);
    let plain_rod =
        solver.solve_at(&rod_problem, &lowest.state).ok().map(|solution| solution.peak_tensile.strain);
    let error = if line.periods() <= FEW_PERIODS && keep_going() {
        solver.refined(&problem, &lowest).ok().map(|(_, error)| error.peak)
    } else {
        None
    };
    Ok(Some(AtTarget { lowest, is_branch, states, plain_rod, error }))
}

/// The way of a ribbon that leaves its plane.
struct Walk<'a> {
    checked: &'a Checked,
    plan: &'a Plan,
    out: &'a OutOfPlane,
    path: &'a BuckledPath,
    leaves_at: f64,
    at_target: Option<&'a AtTarget>,
}

impl Walk<'_> {
    /// Stretches of the plan and those just past the onset, within the path.
    fn stretches(&self) -> Vec<f64> {
        let [low, high] = self.path.range;
        let mut all = self.plan.stretches.clone();
        if self.leaves_at.is_finite() {
            all.extend(PAST_ONSET.iter().map(|factor| factor * self.leaves_at));
        }
        all.retain(|s| *s >= low && (*s <= high || *s == self.plan.target));
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() <= 1e-9 && *a != self.plan.target && *b != self.plan.target);
        all
    }

    fn stops(&self, caches: &mut Caches, keep_going: &dyn Fn() -> bool) -> Result<Option<Way>, String> {
        let tables = light::Tables::of(self.checked, true, caches);
        let stretches = self.stretches();
        let Some(middle) = stretches.iter().position(|s| *s == self.plan.target) else {
            return Err("the target stretch was not reached".to_owned());
        };
        let mut solved: Vec<Option<Solved>> = vec![None; stretches.len()];
        solved[middle] = self.solve(self.plan.target, None, caches)?;
        // From the target outwards, so that neighbours start from the state shown at the target.
        let outwards = (middle + 1..stretches.len()).map(|i| (i, i - 1));
        let inwards = (0..middle).rev().map(|i| (i, i + 1));
        for (i, from) in outwards.chain(inwards) {
            if !keep_going() {
                return Ok(None);
            }
            let start = solved[from].clone();
            solved[i] = self.solve(stretches[i], start.as_ref(), caches).ok().flatten();
        }
        let mut stops = Vec::new();
        let mut target = None;
        for (&stretch, solved) in stretches.iter().zip(solved) {
            let Some(solved) = solved else { continue };
            if stretch == self.plan.target {
                target = Some((stops.len(), solved.clone()));
            }
            stops.push(Stop::of(self.checked, stretch, &solved, self.plan.per_segment, tables.as_ref())?);
        }
        let target = target.ok_or_else(|| "the target stretch was not reached".to_owned())?;
        let onset = self.leaves_at.is_finite().then_some(self.leaves_at);
        Ok(Some(Way { stops, target, onset }))
    }

    /// The ribbon at one stretch, from the state next to it where that is not the branch from the onset.
    fn solve(
        &self,
        stretch: f64,
        start: Option<&Solved>,
        caches: &mut Caches,
    ) -> Result<Option<Solved>, String> {
        let (checked, line) = (self.checked, self.checked.centreline());
        if stretch <= self.leaves_at {
            let solution = flat::solve(checked, line, stretch, &mut caches.ribbon, None)?;
            return Ok(Some(Solved::Flat(Box::new(solution))));
        }
        let solver = &mut caches.spatial;
        if stretch == self.plan.target
            && let Some(at) = self.at_target
        {
            return Ok(Some(Solved::Buckled(Box::new(at.lowest.clone()))));
        }
        let on_branch = self.at_target.is_none_or(|at| at.is_branch);
        let solution = match start {
            Some(Solved::Buckled(next)) if !on_branch => {
                solver.solve_at(&buckled::problem(checked, line, self.out, stretch), &next.state)
            }
            _ => self.path.at(solver, stretch),
        };
        let solution = solution.map_err(|e| e.to_string())?;
        Ok(solution.is_stable.then(|| Solved::Buckled(Box::new(solution))))
    }
}
