//! The search for the onset along the planar path.

use super::{
    BucklingMode, ModePoint, Onset, OnsetError, OnsetProblem, Symmetry,
    element::Stiffness,
    factor::{Factors, Held, unknowns, weigh_all},
    flat::FlatState,
    problem::{Part, parts},
    second_variation::{mode_points, relative},
};
use crate::{
    basis::NODES,
    ribbon::{Reached, RibbonProblem, RibbonSolution, RibbonSolver},
};

/// First step of the path in units of `EI_out/EI`, growth and greatest size of the steps, as a stretch.
const FIRST_STEP: f64 = 0.25;
const GROWTH: f64 = 1.5;
const GREATEST_STEP: f64 = 0.05;
/// Relative correction of the stretch at which the search ends.
const SETTLED: f64 = 1e-6;
/// Flat states for one root before the search gives up.
const STATES: u32 = 60;
/// Longest element where a bed makes waves, in wave lengths over 2π.
const PER_WAVE: f64 = 1.2;
/// Relative error of the onset above which the mesh is made finer, and how often.
const TOLERANCE: f64 = 1e-4;
const ROUNDS: u32 = 3;
/// Longest element at first, over the pitch.
const LONGEST: f64 = 0.5;

const CLAMPED: Held = [true; 3];

/// Finds where the flat ribbon first loses its stability out of the plane.
///
/// Along the path from rest, negative pivots of the second variation (see [`super::SecondVariation`]) are counted in steps
/// that grow from a quarter of the usual onset; a change is narrowed down by the secant of the lowest eigenvalue. A
/// symmetric flat state is treated as two half ribbons, one for the even and one for the odd modes.
///
/// Returns none where the flat ribbon is stable up to the end of the path.
///
/// # Errors
/// [`OnsetError`] if the section or path is impossible, a flat state on the way is not found, or the search does not settle.
///
/// ```
/// use ogee_geometry::{Centreline, Ends, Family, Quarter};
/// use ogee_mechanics::{EndMotion, OnsetProblem, OutOfPlane, RibbonSolver, SectionLaw, Strips, Symmetry, onset};
///
/// // A semicircular ribbon of 5 µm by 1 µm polyimide leaves its plane at 6.8 %.
/// let quarter = Quarter::new(Family::Arc, 100.0, 25.0)?;
/// let line = Centreline::new(quarter, 1, Ends::Crossing, 0.0, None)?;
/// let strips = Strips::new(&[(2500.0, 5.0)])?;
/// let out = OutOfPlane::homogeneous(5.0, 1.0, 2500.0, 0.34)?.with_law(SectionLaw::Rod);
/// let up_to = EndMotion::stretch(0.3);
/// let problem = OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to };
/// let found = onset(&mut RibbonSolver::new(), &problem)?.expect("it buckles");
/// assert!((found.stretch / 0.067848 - 1.0).abs() < 5e-4 && found.symmetry == Symmetry::Odd);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn onset(solver: &mut RibbonSolver, problem: &OnsetProblem<'_>) -> Result<Option<Onset>, OnsetError> {
    let stretch = problem.up_to.stretch;
    let span_um = problem.line.span_um();
    let size = stretch.abs() + problem.up_to.sideways_um.abs() / span_um + problem.up_to.turn_rad.abs();
    if !(size.is_finite() && size > 0.0 && stretch > -1.0) {
        return Err(OnsetError::BadRange { up_to_stretch: stretch });
    }
    problem.out.check()?;
    let unit_um = problem.line.quarter().pitch_um();
    let (strips, foundation_mpa) = (problem.strips, problem.foundation_mpa);
    let stiffness = relative(problem.out, strips.ei_un_um2(), strips.width_um(), foundation_mpa, unit_um)?;
    let mut longest = LONGEST;
    if stiffness.foundation > 0.0 {
        longest = longest.min(PER_WAVE * (stiffness.bending / stiffness.foundation).sqrt().sqrt());
    }
    let is_symmetric = problem.up_to.sideways_um == 0.0 && problem.up_to.turn_rad == 0.0;
    let mut search = Search {
        solver,
        problem,
        stiffness,
        parts: parts(problem.line.ends(), is_symmetric),
        state: FlatState::default(),
        middle: 0,
        factors: Factors::default(),
        vector: Vec::new(),
        weighed: Vec::new(),
        is_given: false,
        at: f64::NAN,
        states: 0,
    };
    let mut near = None;
    for round in 0.. {
        let halves = search.parts.len();
        let found = match search.first(longest, size, near) {
            // The flat ribbon has lost its symmetry on the way: once more, as a whole.
            Err(_) if search.parts.len() < halves => continue,
            found => found?,
        };
        let Some(found) = found else { return Ok(None) };
        if found.error <= TOLERANCE || round == ROUNDS {
            return search.finish(found).map(Some);
        }
        near = Some(found.share);
        longest = 0.55 * search.longest();
    }
    unreachable!("the rounds end in a return")
}

/// Negative modes of each part at one place of the path.
#[derive(Debug, Clone, Copy)]
struct Probe {
    share: f64,
    counts: [usize; 2],
}

/// A root: where mode number `order` of a part becomes unstable.
#[derive(Debug)]
struct Root {
    share: f64,
    /// d(eigenvalue)/d(share).
    slope: f64,
    correction: f64,
}

/// The first mode and the state it belongs to.
struct Found {
    share: f64,
    part: Part,
    next: Option<(f64, Symmetry)>,
    mode: BucklingMode,
    planar: RibbonSolution,
    error: f64,
}

struct Search<'s, 'p> {
    solver: &'s mut RibbonSolver,
    problem: &'s OnsetProblem<'p>,
    stiffness: Stiffness,
    parts: Vec<Part>,
    state: FlatState,
    middle: usize,
    factors: Factors,
    vector: Vec<f64>,
    weighed: Vec<f64>,
    is_given: bool,
    /// Share of the path of the flat state held.
    at: f64,
    states: u32,
}

impl Search<'_, '_> {
    /// Longest element of the mesh, over the pitch.
    fn longest(&self) -> f64 {
        (0..self.state.elements())
            .map(|e| self.state.s[e * NODES + NODES - 1] - self.state.s[e * NODES])
            .fold(0.0, f64::max)
    }

    /// Solves the flat state at a share of the path.
    fn go_to(&mut self, share: f64) -> Result<(), OnsetError> {
        if share == self.at {
            return Ok(());
        }
        let OnsetProblem { line, strips, up_to, .. } = *self.problem;
        let planar = RibbonProblem { line, strips, motion: up_to.scaled(share) };
        self.at = f64::NAN;
        let solved = self.solver.solve_on_path(&planar, self.is_given)?;
        self.states += 1;
        self.is_given = true;
        self.state.take(self.solver);
        self.at = share;
        let middle = self.state.middle();
        self.middle = middle.unwrap_or(0);
        // A bowed column has lost the ribbon's symmetry.
        let is_lost = solved.reached == Reached::ByBuckling || middle.is_none();
        if is_lost && self.parts.len() == 2 {
            self.parts = parts(line.ends(), false);
            let stretch = share * up_to.stretch;
            return Err(OnsetError::NotConverged { stretch, error: f64::INFINITY, iterations: self.states });
        }
        Ok(())
    }

    /// Elements of a part.
    fn elements(&self, part: Part) -> usize {
        if part.is_half { self.middle } else { self.state.elements() }
    }

    /// Factorises a part at the present flat state.
    fn factorise(&mut self, part: Part) -> usize {
        let nodes = &self.state.nodes[..self.elements(part) * NODES];
        self.factors.decompose(nodes, &self.stiffness, [CLAMPED, part.far], 0.0);
        self.factors.negative
    }

    fn probe(&mut self, share: f64) -> Result<Probe, OnsetError> {
        self.go_to(share)?;
        let mut counts = [0; 2];
        for (k, part) in self.parts.clone().into_iter().enumerate() {
            counts[k] = self.factorise(part);
        }
        Ok(Probe { share, counts })
    }

    /// The eigenvalue nearest zero of the part just factorised, from the vector held; `rounds` of inverse iteration.
    fn eigenvalue(&mut self, part: Part, rounds: usize) -> f64 {
        let elements = self.elements(part);
        let nodes = &self.state.nodes[..elements * NODES];
        if self.vector.len() != unknowns(elements) {
            self.vector = (0..unknowns(elements)).map(|i| 1.0 + 0.5 * (1.7 * i as f64 + 0.3).sin()).collect();
        }
        let mut value = f64::NAN;
        for _ in 0..rounds {
            weigh_all(nodes, &self.vector, &mut self.weighed);
            let mut image = self.weighed.clone();
            self.factors.solve(&mut image);
            let across: f64 = image.iter().zip(&self.weighed).map(|(a, b)| a * b).sum();
            weigh_all(nodes, &image, &mut self.weighed);
            let own: f64 = image.iter().zip(&self.weighed).map(|(a, b)| a * b).sum();
            value = across / own;
            let scale = 1.0 / own.sqrt();
            for x in &mut image {
                *x *= scale;
            }
            self.vector = image;
        }
        value
    }

    /// Narrows down where the number of negative modes of part `k` reaches `order`, between two probes.
    fn root(&mut self, k: usize, order: usize, mut low: f64, mut high: f64) -> Result<Root, OnsetError> {
        let part = self.parts[k];
        let begun = self.states;
        self.vector.clear();
        let mut last: Option<(f64, f64)> = None;
        let mut share = high;
        let mut correction = f64::INFINITY;
        while self.states - begun < STATES {
            self.go_to(share)?;
            let count = self.factorise(part);
            if count >= order {
                high = high.min(share);
            } else {
                low = low.max(share);
            }
            // Only next to the root is the eigenvalue nearest zero the one that is sought.
            let is_alone = count == order || count + 1 == order;
            let value = self.eigenvalue(part, if last.is_none() { 4 } else { 2 });
            let expected_sign = if count >= order { value <= 0.0 } else { value >= 0.0 };
            let middle = 0.5 * (low + high);
            let mut slope = f64::NAN;
            let mut next = middle;
            if is_alone && expected_sign {
                if let Some((share_before, value_before)) = last {
                    slope = (value - value_before) / (share - share_before);
                    let wanted = share - value / slope;
                    let margin = 1e-3 * (high - low);
                    if wanted > low - margin && wanted < high + margin {
                        next = wanted;
                    }
                }
                last = Some((share, value));
            } else {
                last = None;
            }
            correction = (next - share).abs() / share;
            if slope.is_finite() && correction < SETTLED {
                return Ok(Root { share: next, slope, correction });
            }
            if high - low < 1e-9 * high {
                return Ok(Root { share: 0.5 * (low + high), slope, correction: (high - low) / high });
            }
            share = next;
        }
        let stretch = share * self.problem.up_to.stretch;
        Err(OnsetError::NotConverged { stretch, error: correction, iterations: self.states })
    }

    /// The first onset on a mesh with elements up to `longest`; `near` is a share of the path close to it, if known.
    fn first(&mut self, longest: f64, size: f64, near: Option<f64>) -> Result<Option<Found>, OnsetError> {
        let OnsetProblem { line, strips, up_to, .. } = *self.problem;
        self.solver.begin_path(&RibbonProblem { line, strips, motion: up_to }, longest)?;
        self.is_given = false;
        self.at = f64::NAN;
        let mut step = FIRST_STEP * self.stiffness.bending / size;
        let mut low = Probe { share: 0.0, counts: [0; 2] };
        if let Some(near) = near {
            let before = self.probe(0.99 * near)?;
            if before.counts == [0; 2] {
                (low, step) = (before, 0.02 * near);
            }
        }
        let mut high = self.step(low, &mut step, size)?;
        while high.counts == [0; 2] {
            if high.share >= 1.0 {
                return Ok(None);
            }
            low = high;
            high = self.step(low, &mut step, size)?;
        }
        let mut roots = Vec::new();
        for k in 0..self.parts.len() {
            if high.counts[k] > 0 {
                roots.push((k, self.root(k, 1, low.share, high.share)?));
            }
        }
        let at = usize::from(roots.len() == 2 && roots[1].1.share < roots[0].1.share);
        let (k, root) = roots.swap_remove(at);
        let part = self.parts[k];
        // The mode, at the flat state of the root itself.
        self.go_to(root.share)?;
        self.factorise(part);
        self.eigenvalue(part, 2);
        let unit_um = line.quarter().pitch_um();
        let half = self.elements(part);
        let own = FlatState {
            nodes: self.state.nodes[..half * NODES].to_vec(),
            s: self.state.s[..half * NODES].to_vec(),
        };
        let points = mode_points(&own, &self.vector, unit_um);
        let mode = BucklingMode::scaled(whole(points, part, line.contour_length_um()));
        let planar_problem = RibbonProblem { line, strips, motion: up_to.scaled(root.share) };
        let solved = self.solver.solve_on_path(&planar_problem, true)?;
        let planar = RibbonSolution::new(self.solver, &planar_problem, solved)?;
        let error = self.mesh_error(part, &planar, &root).max(root.correction);
        // The second mode: another of this part, or the first of the other.
        let next = if let Some((other, root)) = roots.pop() {
            let own = self.second(k, &low, &high, root.share)?;
            Some(own.map_or((root.share, self.parts[other].symmetry), |share| (share, part.symmetry)))
        } else {
            self.next(k, low, high, step, size)?
        };
        Ok(Some(Found { share: root.share, part, next, mode, planar, error }))
    }

    /// The next probe of the path.
    fn step(&mut self, from: Probe, step: &mut f64, size: f64) -> Result<Probe, OnsetError> {
        let share = (from.share + *step).min(1.0);
        *step = (*step * GROWTH).min(GREATEST_STEP / size).max(*step);
        self.probe(share)
    }

    /// The second root of part `k` below the share `below`, if there is one between the probes.
    fn second(&mut self, k: usize, low: &Probe, high: &Probe, below: f64) -> Result<Option<f64>, OnsetError> {
        if high.counts[k] < 2 {
            return Ok(None);
        }
        let share = self.root(k, 2, low.share, high.share)?.share;
        Ok((share < below).then_some(share))
    }

    /// The second root of all, the first being one of part `k` between `low` and `high`.
    fn next(
        &mut self,
        k: usize,
        mut low: Probe,
        mut high: Probe,
        mut step: f64,
        size: f64,
    ) -> Result<Option<(f64, Symmetry)>, OnsetError> {
        loop {
            let mut best: Option<(f64, Symmetry)> = None;
            for part in 0..self.parts.len() {
                let order = if part == k { 2 } else { 1 };
                if high.counts[part] >= order {
                    let share = self.root(part, order, low.share, high.share)?.share;
                    if best.is_none_or(|(before, _)| share < before) {
                        best = Some((share, self.parts[part].symmetry));
                    }
                }
            }
            if best.is_some() || high.share >= 1.0 {
                return Ok(best);
            }
            low = high;
            high = self.step(low, &mut step, size)?;
        }
    }

    /// How far the root moves on elements half as long, relative to it.
    fn mesh_error(&mut self, part: Part, planar: &RibbonSolution, root: &Root) -> f64 {
        if !root.slope.is_finite() {
            return 0.0;
        }
        let fine = FlatState::of(planar, 2);
        let elements = 2 * self.elements(part);
        let nodes = &fine.nodes[..elements * NODES];
        self.factors.decompose(nodes, &self.stiffness, [CLAMPED, part.far], 0.0);
        let coarse = std::mem::replace(&mut self.state, fine);
        let middle = self.middle;
        self.middle *= 2;
        self.vector.clear();
        let value = self.eigenvalue(part, 6);
        self.state = coarse;
        self.middle = middle;
        (value / root.slope / root.share).abs()
    }

    fn finish(&self, found: Found) -> Result<Onset, OnsetError> {
        let motion = self.problem.up_to.scaled(found.share);
        let stretch = motion.stretch;
        if !found.error.is_finite() {
            return Err(OnsetError::NotConverged { stretch, error: found.error, iterations: self.states });
        }
        Ok(Onset {
            stretch,
            share: found.share,
            motion,
            symmetry: found.part.symmetry,
            next: found.next.map(|(share, symmetry)| (share * self.problem.up_to.stretch, symmetry)),
            mode: found.mode,
            planar: found.planar,
            error: found.error,
            planar_states: self.states,
        })
    }
}

/// The mode over the whole ribbon from that over its half.
fn whole(mut points: Vec<ModePoint>, part: Part, contour_um: f64) -> Vec<ModePoint> {
    if !part.is_half {
        return points;
    }
    let [alpha, beta] = part.mirror;
    let sign = if part.symmetry == Symmetry::Odd { -1.0 } else { 1.0 };
    for i in (0..points.len() - 1).rev() {
        let point = points[i];
        points.push(ModePoint {
            s_um: contour_um - point.s_um,
            alpha_rad: alpha * point.alpha_rad,
            beta_rad: beta * point.beta_rad,
            v_um: sign * point.v_um,
        });
    }
    points
}
