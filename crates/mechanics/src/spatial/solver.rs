//! Solves for a ribbon in space.

use super::error::SpatialError;
use super::newton::{Newton, Outcome, Task, largest};
use super::problem::{Ribbon, SpatialProblem};
use super::rod::{Pose, Target};
use super::solution::SpatialSolution;
use super::state::SpatialState;
use super::system::Motion;
use super::vector::{Vec3, dot};
use crate::EndMotion;

/// Elements per quarter period of [`SpatialSolver::new`]: 1 % of the peak strain, or much better.
const USUAL: usize = 4;
/// Most elements per quarter period.
const MOST: usize = 64;

/// Most elements of one smooth stretch that are asked for to resolve a layer.
const MOST_IN_A_STRETCH: usize = 128;

/// How far a state is from the same on twice the elements: an estimate of its own error; that of the finer one is some
/// sixteenth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeshError {
    /// Relative error of the elastic energy.
    pub energy: f64,
    /// Relative error of the peak tensile strain.
    pub peak: f64,
}

/// Solves for ribbons in space; it owns all workspaces, so use one for many ribbons.
///
/// A section has the frame t (along the ribbon), n (to the left, along the width) and b = t × n, which is +z in the flat
/// ribbon; along the ribbon it turns at the rates τ about t, κₙ about n and `κ_z` about b per length at rest. The unknowns
/// are the frames, as unit quaternions, and the constant force F; positions follow. At equilibrium
///
/// ```text
/// L = ∫ [ W(τ, κₙ) + ½ EI_c χ₀² − (T + κ₀ EI_c χ₀)²/(2 D) − T + ½ T (w²/12) τ² ] ds + F·Δr
/// T = F·t        χ₀ = κ_z − κ₀        D = EA + κ₀² EI_c
/// W = ½ GJ τ² + ½ EI_out (κₙ − k)² + ½ A S²/H
/// S = τ² + ν κₙ² − (1 + ν) k κₙ        H = 1 + c κₙ²        A = EA w⁴/720        c = A (1 − ν²)/EI_out
/// ```
///
/// is stationary. The last term of W is the energy that is left when a sheet, whose edges a twist stretches, is free to
/// curve across its width by a parabola; k is the curl, a natural curvature alike in all directions. It goes from the
/// plain rod to beam bending, to the plate, and to the inextensible ribbon in its limits (derived here; of the kind of
/// Sano and Wada, Phys. Rev. Lett. 2019, and Audoly and Neukirch, J. Mech. Phys. Solids 2021). The axial strain is
/// eliminated at each point, so that nothing locks.
///
/// Elements have three nodes and two Gauss points; their quaternions are interpolated as they are and normalised
/// within the formulas, which are rational and do not depend on the frame of space. Their middle nodes are eliminated,
/// which leaves a chain of 3×3 blocks bordered by the force. A state is stable when the factorised matrix has
/// exactly three negative pivots. Strains come from moments in equilibrium, never from slopes of the frames.
///
/// # Limits
/// Believed good to β = w² κₙ/t of about 10; beyond, a shell is needed. Within a width from a clamp the stress is that
/// of a beam. Elements do not touch each other: bends may pass through one another. Gravity and stiction are left
/// out. Where the ribbon is pulled straight, layers of length √(`EI_out`/F) at the clamps and inflections ask for a finer
/// mesh: [`SpatialSolution::mesh_indicator`] tells.
///
/// # Example
/// ```
/// use ogee_geometry::{Centreline, Ends, Family, Quarter};
/// use ogee_mechanics::{
///     EndMotion, OnsetProblem, OutOfPlane, RibbonSolver, SpatialProblem, SpatialSolver, Strips, onset,
/// };
///
/// // Two periods of semicircle-like arcs in silicon nitride, 4 µm wide and 0.4 µm thick, stretched by 8 %.
/// let quarter = Quarter::new(Family::Arc, 100.0, 20.0)?;
/// let line = Centreline::new(quarter, 2, Ends::Crossing, 0.0, None)?;
/// let strips = Strips::new(&[(250_000.0 * 0.4, 4.0)])?;
/// let out = OutOfPlane::homogeneous(4.0, 0.4, 250_000.0, 0.23)?;
/// let motion = EndMotion::stretch(0.08);
/// let path = OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to: motion };
/// let start = onset(&mut RibbonSolver::new(), &path)?.expect("it leaves its plane at 0.9 %");
/// let problem = SpatialProblem { line: &line, strips: &strips, out: &out, motion, curl_per_um: 0.0 };
/// let branch = SpatialSolver::new().buckled(&problem, &start, &|| true)?.expect("nobody stops it");
/// assert!((branch.solution.peak_tensile.strain / 0.007945 - 1.0).abs() < 5e-3);
/// assert!((branch.solution.height_um / 6.600 - 1.0).abs() < 3e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct SpatialSolver {
    pub(crate) per_quarter: usize,
    pub(crate) newton: Newton,
}

impl Default for SpatialSolver {
    fn default() -> Self {
        Self::new()
    }
}

impl SpatialSolver {
    /// A solver with four elements per quarter period.
    pub fn new() -> Self {
        Self::with_elements_per_quarter(USUAL)
    }

    /// A solver with `count` elements per quarter period, 1 to 64; the energy's error falls with its fourth power.
    pub fn with_elements_per_quarter(count: usize) -> Self {
        Self { per_quarter: count.clamp(1, MOST), newton: Newton::default() }
    }

    /// The stable equilibrium near `start`, which may be a state of this ribbon at another stretch or of another
    /// ribbon of the same make; its forces are scaled by the stiffness.
    ///
    /// # Errors
    /// [`SpatialError`] if the problem is impossible, the start is of another make, or Newton's method does not settle.
    pub fn solve_at(
        &mut self,
        problem: &SpatialProblem<'_>,
        start: &SpatialState,
    ) -> Result<SpatialSolution, SpatialError> {
        problem.check()?;
        let ribbon = Ribbon::new(problem, self.per_quarter);
        let mut pose = start.pose(&ribbon)?;
        let outcome = self.settle(&ribbon, &ribbon.target(problem.motion), &mut pose);
        finish(problem, &ribbon, &pose, outcome, start.stretch)
    }

    /// The same state on twice the elements, and how far energy and peak strain of `solution` are from it.
    ///
    /// # Errors
    /// As [`SpatialSolver::solve_at`].
    pub fn refined(
        &mut self,
        problem: &SpatialProblem<'_>,
        solution: &SpatialSolution,
    ) -> Result<(SpatialSolution, MeshError), SpatialError> {
        let usual = self.per_quarter;
        self.per_quarter = 2 * usual;
        let found = self.solve_at(problem, &solution.state);
        self.per_quarter = usual;
        let fine = found?;
        let away = |coarse: f64, fine: f64| (coarse - fine).abs() / fine.abs().max(f64::MIN_POSITIVE);
        let error = MeshError {
            energy: away(solution.energy_un_um, fine.energy_un_um),
            peak: away(solution.peak_tensile.strain, fine.peak_tensile.strain),
        };
        Ok((fine, error))
    }

    /// The same state on elements that are halved, stretch by stretch of the ribbon, where energies by equilibrium and by the
    /// frames disagree, until [`SpatialSolution::mesh_indicator`] is below `tolerance` or elements get too many: for
    /// taut ribbons and others with narrow layers. A solution good enough is returned as it is.
    ///
    /// # Errors
    /// As [`SpatialSolver::solve_at`].
    pub fn resolved(
        &mut self,
        problem: &SpatialProblem<'_>,
        solution: &SpatialSolution,
        tolerance: f64,
    ) -> Result<SpatialSolution, SpatialError> {
        const ROUNDS: usize = 6;
        problem.check()?;
        let mut found = solution.clone();
        let most = MOST_IN_A_STRETCH.max(self.per_quarter);
        for _ in 0..ROUNDS {
            if found.mesh_indicator <= tolerance {
                break;
            }
            let Some(counts) = found.finer(tolerance, most) else { break };
            let ribbon = Ribbon::with_counts(problem, counts);
            let mut pose = found.state.pose(&ribbon)?;
            let outcome = self.settle(&ribbon, &ribbon.target(problem.motion), &mut pose);
            found = finish(problem, &ribbon, &pose, outcome, problem.motion.stretch)?;
        }
        Ok(found)
    }

    /// The state in the plane, stable or not against leaving it: rotations about z only.
    ///
    /// # Errors
    /// [`SpatialError`] if the problem is impossible or the iteration does not settle by small steps from rest.
    pub fn flat(&mut self, problem: &SpatialProblem<'_>) -> Result<SpatialSolution, SpatialError> {
        problem.check()?;
        let ribbon = Ribbon::new(problem, self.per_quarter);
        let mut pose = Pose { frames: ribbon.rod.rest.clone(), force: [0.0; 3] };
        let mut outcome = self.flat_from(&ribbon, EndMotion::default(), problem.motion, &mut pose)?;
        outcome.unstable = self.unstable_in_space(&ribbon, &ribbon.target(problem.motion), &pose);
        finish(problem, &ribbon, &pose, outcome, 0.0)
    }

    /// Moves a flat pose from one motion to another by steps, all of one plane.
    pub(crate) fn flat_from(
        &mut self,
        ribbon: &Ribbon,
        from: EndMotion,
        to: EndMotion,
        pose: &mut Pose,
    ) -> Result<Outcome, SpatialError> {
        const LEAST: f64 = 1e-3;
        let at = |share: f64| EndMotion {
            stretch: from.stretch + share * (to.stretch - from.stretch),
            sideways_um: from.sideways_um + share * (to.sideways_um - from.sideways_um),
            turn_rad: from.turn_rad + share * (to.turn_rad - from.turn_rad),
        };
        let (mut share, mut step, mut iterations) = (0.0, 1.0_f64, 0);
        let mut last_turn = 0.0;
        let mut trial = pose.clone();
        while share < 1.0 {
            let next = if share + step > 0.999 { 1.0 } else { share + step };
            trial.clone_from(pose);
            let task = Task { most_iterations: 25, ..Task::PLANE };
            let outcome = self.newton.solve(&ribbon.rod, &ribbon.target(at(next)), &mut trial, task);
            iterations += outcome.iterations;
            last_turn = outcome.last_turn;
            if outcome.is_converged && outcome.unstable == 0 {
                std::mem::swap(pose, &mut trial);
                share = next;
                step *= 1.6;
            } else {
                step *= 0.4;
                if step < LEAST {
                    return Err(SpatialError::NotConverged {
                        stretch: to.stretch,
                        reached: at(share).stretch,
                        residual: outcome.last_turn,
                        iterations: iterations as u32,
                    });
                }
            }
        }
        Ok(Outcome { is_converged: true, iterations, unstable: 0, last_turn, is_shifted: false })
    }

    /// Assembles and factorises at a pose, free to leave the plane; returns the unstable directions.
    pub(crate) fn unstable_in_space(&mut self, ribbon: &Ribbon, target: &Target, pose: &Pose) -> usize {
        self.newton.system.assemble(&ribbon.rod, pose, target.chord, Motion::Space);
        self.newton.system.factor(0.0);
        self.newton.system.unstable()
    }

    /// Newton's method to a stable state; where it ends on an unstable one, that is left along its steepest mode.
    pub(crate) fn settle(&mut self, ribbon: &Ribbon, target: &Target, pose: &mut Pose) -> Outcome {
        const MOST_ESCAPES: usize = 6;
        let mut outcome = self.newton.solve(&ribbon.rod, target, pose, Task::STABLE);
        for _ in 0..MOST_ESCAPES {
            if !outcome.is_converged || outcome.unstable == 0 {
                break;
            }
            let Some(mode) = self.falling_mode(ribbon, target, pose) else { break };
            let before = outcome.iterations + self.descend(ribbon, target, pose, &mode);
            let next = self.newton.solve(&ribbon.rod, target, pose, Task::STABLE);
            outcome = Outcome { iterations: before + next.iterations, ..next };
        }
        outcome
    }

    /// The rotations that lower the energy most, largest 1 rad; none if no rotations lower it.
    pub(crate) fn falling_mode(
        &mut self,
        ribbon: &Ribbon,
        target: &Target,
        pose: &Pose,
    ) -> Option<Vec<Vec3>> {
        let (eigenvalue, mode) = self.softest_mode(ribbon, target, pose)?;
        (eigenvalue < 0.0).then_some(mode)
    }

    /// The rotations that raise the energy least, largest 1 rad, and their eigenvalue.
    pub(crate) fn softest_mode(
        &mut self,
        ribbon: &Ribbon,
        target: &Target,
        pose: &Pose,
    ) -> Option<(f64, Vec<Vec3>)> {
        const ROUNDS: usize = 40;
        let system = &mut self.newton.system;
        system.assemble(&ribbon.rod, pose, target.chord, Motion::Space);
        let shift = system.stabilise(1e-13, 3.0);
        let mut mode: Vec<Vec3> = start_vector(pose.frames.len());
        release(&mut mode);
        let mut eigenvalue = 0.0;
        for _ in 0..ROUNDS {
            let before = mode.clone();
            system.solve_bordered(&mut mode, &mut self.newton.scratch);
            let (xy, xx): (f64, f64) = mode
                .iter()
                .zip(&before)
                .fold((0.0, 0.0), |sum, (a, b)| (sum.0 + dot(*a, *b), sum.1 + dot(*a, *a)));
            if !(xx.is_finite() && xx > 0.0) {
                return None;
            }
            let next = xy / xx - shift;
            let size = xx.sqrt();
            for x in &mut mode {
                *x = x.map(|x| x / size);
            }
            let is_done = (next - eigenvalue).abs() < 1e-4 * next.abs();
            eigenvalue = next;
            if is_done {
                break;
            }
        }
        scale_to_one(&mut mode);
        Some((eigenvalue, mode))
    }
}

/// Recovers the solution from a converged pose.
pub(crate) fn finish(
    problem: &SpatialProblem<'_>,
    ribbon: &Ribbon,
    pose: &Pose,
    outcome: Outcome,
    reached: f64,
) -> Result<SpatialSolution, SpatialError> {
    if !outcome.is_converged {
        return Err(SpatialError::NotConverged {
            stretch: problem.motion.stretch,
            reached,
            residual: outcome.last_turn,
            iterations: outcome.iterations as u32,
        });
    }
    // The gradient at the clamp is minus the moment there; that of the first element is all it takes.
    let element = &ribbon.rod.elements[0];
    let mut tangent = super::element::Tangent::ZERO;
    let nodes = super::rod::Rod::nodes(&pose.frames, 0);
    element.tangent(&ribbon.rod.section, nodes, pose.force, &mut tangent);
    let near = [-tangent.g[0], -tangent.g[1], -tangent.g[2]];
    SpatialSolution::new(problem, ribbon, pose, near, outcome)
}

/// A vector without symmetry, as a start of inverse iterations.
pub(crate) fn start_vector(count: usize) -> Vec<Vec3> {
    (0..count)
        .map(|i| {
            let x = i as f64;
            [(0.37 * x).sin() + 0.3, (0.23 * x + 1.0).cos(), 0.1 * (0.71 * x).sin()]
        })
        .collect()
}

/// Takes the rotations at the clamps out of a mode.
pub(crate) fn release(mode: &mut [Vec3]) {
    if let [first, .., last] = mode {
        *first = [0.0; 3];
        *last = [0.0; 3];
    }
}

/// Scales a mode to a largest rotation of 1 rad, its largest component positive.
pub(crate) fn scale_to_one(mode: &mut [Vec3]) {
    let size = largest(mode);
    let mut most = 0.0_f64;
    for x in mode.iter().flatten() {
        if x.abs() > 1.000_001 * most.abs() {
            most = *x;
        }
    }
    let factor = most.signum() / size;
    if factor.is_finite() {
        for x in mode {
            *x = x.map(|x| x * factor);
        }
    }
}
