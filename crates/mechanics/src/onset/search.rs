//! The search for the onset along the planar path.

use super::{
    BucklingMode, ModePoint, Onset, OnsetError, OnsetProblem, Symmetry,
    element::Stiffness,
    problem::Part,
    roots::{CLAMPED, Root, Roots, Search},
    second_variation::{mode_points, relative},
};
use crate::{
    basis::NODES,
    ribbon::{RibbonProblem, RibbonSolution, RibbonSolver},
};

/// Longest element where a bed makes waves, in wave lengths over 2π.
const PER_WAVE: f64 = 1.2;
/// Relative error of the onset above which the mesh is made finer, and how often.
const TOLERANCE: f64 = 1e-4;
const ROUNDS: u32 = 3;
/// Longest element at first, over the pitch; of a single period, whose modes are confined to it, over the quarter.
const LONGEST: f64 = 0.5;
const LONGEST_OF_ONE: f64 = 0.26;

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
    let (size, stiffness, mut longest) = prepare(problem)?;
    let mut search = Search::new(solver, problem, stiffness, size);
    let mut known: Option<Roots> = None;
    for round in 0.. {
        let halves = search.parts.len();
        let found = match attempt(&mut search, longest, known.as_ref()) {
            // The flat ribbon has lost its symmetry on the way: once more, as a whole.
            Err(_) if search.parts.len() < halves => {
                known = None;
                continue;
            }
            found => found?,
        };
        let Some((roots, found)) = found else { return Ok(None) };
        if found.error <= TOLERANCE || round == ROUNDS {
            return Ok(Some(found));
        }
        known = Some(roots);
        longest = 0.55 * search.longest();
    }
    unreachable!("the rounds end in a return")
}

/// Checks the problem; returns the size of its path as a stretch, its stiffness and the longest element.
pub(super) fn prepare(problem: &OnsetProblem<'_>) -> Result<(f64, Stiffness, f64), OnsetError> {
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
    if problem.line.periods() == 1 {
        longest = longest.min(LONGEST_OF_ONE * problem.line.quarter().length_um() / unit_um);
    }
    if stiffness.foundation > 0.0 {
        longest = longest.min(PER_WAVE * (stiffness.bending / stiffness.foundation).sqrt().sqrt());
    }
    Ok((size, stiffness, longest))
}

/// The first onset on a mesh with elements up to `longest`; `known` are the roots on another mesh.
fn attempt(
    search: &mut Search<'_, '_>,
    longest: f64,
    known: Option<&Roots>,
) -> Result<Option<(Roots, Onset)>, OnsetError> {
    search.begin(longest)?;
    let near = if let Some(known) = known {
        Some(known.clone())
    } else {
        search.draw_parabola()?;
        let near = search.walk()?;
        search.leave_parabola();
        near
    };
    let mut roots = match near {
        Some(near) => search.polish(&near)?,
        None => None,
    };
    if roots.is_none() {
        roots = search.walk()?;
    }
    let Some(roots) = roots else { return Ok(None) };
    let onset = assemble(search, &roots)?;
    Ok(Some((roots, onset)))
}

/// The onset at the first root, with its mode.
fn assemble(search: &mut Search<'_, '_>, roots: &Roots) -> Result<Onset, OnsetError> {
    let OnsetProblem { line, strips, up_to, .. } = *search.problem;
    let first = &roots.first;
    let part = search.parts[first.part];
    search.go_to(first.share)?;
    search.factorise(part);
    search.vector.clone_from(&first.vector);
    let nodes = search.elements(part) * NODES;
    search.eigenvalue(nodes, 2);
    let unit_um = line.quarter().pitch_um();
    let points = mode_points(&search.state, nodes, &search.vector, unit_um);
    let mode = BucklingMode::scaled(whole(points, part, line.contour_length_um()));
    let motion = up_to.scaled(first.share);
    let problem = RibbonProblem { line, strips, motion };
    let solved = search.solved.expect("going to a root solves its flat state");
    let planar = RibbonSolution::new(search.solver, &problem, solved)?;
    let error = mesh_error(search, part, first).max(first.correction);
    if !error.is_finite() {
        return Err(OnsetError::NotConverged { stretch: motion.stretch, error, iterations: search.states });
    }
    let next = roots.next.as_ref().map(|next| (next.share * up_to.stretch, search.parts[next.part].symmetry));
    Ok(Onset {
        stretch: motion.stretch,
        share: first.share,
        motion,
        symmetry: part.symmetry,
        next,
        mode,
        planar,
        error,
        planar_states: search.states,
    })
}

/// How far the root moves on elements half as long, relative to it.
fn mesh_error(search: &mut Search<'_, '_>, part: Part, root: &Root) -> f64 {
    if !root.slope.is_finite() {
        return 0.0;
    }
    let elements = search.elements(part);
    let fine = search.state.halved(elements);
    search.factors.decompose(&fine.nodes, &search.stiffness, [CLAMPED, part.far], 0.0);
    let coarse = std::mem::replace(&mut search.state, fine);
    search.vector.clear();
    let value = search.eigenvalue(2 * elements * NODES, 4);
    search.state = coarse;
    (value / root.slope / root.share).abs()
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
