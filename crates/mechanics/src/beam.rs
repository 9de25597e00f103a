//! A single planar beam with a clamped start, on the same element as the cell.

use crate::{
    beam_newton::{Borders, Newton},
    error::BeamError,
    strips::Strips,
};

/// Newton steps at one load before the way there is taken in smaller steps.
const STEPS: u32 = 30;
/// Relative correction at which the iteration stops.
const SETTLED: f64 = 1e-10;
/// Smallest step of the load, relative to the whole way, before giving up.
const LEAST_ADVANCE: f64 = 1.0 / 1024.0;

/// A stretch of a beam whose rest curvature runs linearly from one value to another: straight, arc or clothoid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeamPiece {
    /// Length of the centreline, in µm.
    pub length_um: f64,
    /// Curvature at rest where the piece starts, in 1/µm, counter-clockwise positive.
    pub start_curvature_per_um: f64,
    /// Curvature at rest where it ends, in 1/µm.
    pub end_curvature_per_um: f64,
}

impl BeamPiece {
    /// A straight piece of `length_um` (µm).
    pub fn straight(length_um: f64) -> Self {
        Self::arc(length_um, 0.0)
    }

    /// A piece of `length_um` (µm) with a constant curvature of `curvature_per_um` (1/µm).
    pub fn arc(length_um: f64, curvature_per_um: f64) -> Self {
        Self { length_um, start_curvature_per_um: curvature_per_um, end_curvature_per_um: curvature_per_um }
    }
}

/// What holds or loads the far end. Positions are relative to the start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BeamEnd {
    /// Free, with a force that keeps its direction and a moment.
    Loaded {
        /// Force (x, y) on the end, in µN.
        force_un: [f64; 2],
        /// Moment on the end, in µN·µm, counter-clockwise positive.
        moment_un_um: f64,
    },
    /// Held at a place, free to turn.
    Hinged {
        /// The place (x, y), in µm from the start.
        at_um: [f64; 2],
    },
    /// Held at a place and an angle.
    Clamped {
        /// The place (x, y), in µm from the start.
        at_um: [f64; 2],
        /// Turn from the angle at rest, in radians.
        turn_rad: f64,
    },
}

/// A load between two pieces that keeps its direction, set so that its point moves by a given distance along it.
///
/// Prescribing the distance instead of the force lets a path be followed over its greatest load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointLoad {
    /// The load acts where this many pieces end.
    pub after_pieces: usize,
    /// Direction of the load from +x, in radians.
    pub direction_rad: f64,
    /// Distance by which the point moves along the direction, in µm.
    pub distance_um: f64,
}

/// A beam clamped at its start, which lies at the origin.
#[derive(Debug, Clone)]
pub struct Beam {
    pieces: Vec<BeamPiece>,
    strips: Strips,
    start_angle_rad: f64,
    elements_per_piece: usize,
}

/// A beam in equilibrium.
#[derive(Debug, Clone, PartialEq)]
pub struct BeamSolution {
    /// Position (x, y) of the far end, in µm from the start.
    pub end_um: [f64; 2],
    /// Tangent angle at the far end, in radians.
    pub end_angle_rad: f64,
    /// Force (x, y) that the far end takes, in µN.
    pub end_force_un: [f64; 2],
    /// The point load, in µN along its direction; 0 without one.
    pub point_load_un: f64,
    /// Moment at the clamp, in µN·µm, counter-clockwise positive as it acts on the far side.
    pub clamp_moment_un_um: f64,
    /// Strain of the left and right edge just after the clamp.
    pub clamp_strain: [f64; 2],
    /// Whether the equilibrium is stable at fixed ends and, with a point load, at a fixed distance.
    pub is_stable: bool,
    /// Newton steps in all.
    pub iterations: u32,
    /// Largest relative correction of the last Newton step.
    pub residual: f64,
    pub(crate) psi: Vec<f64>,
    pub(crate) forces: [f64; 3],
    pub(crate) end: BeamEnd,
    pub(crate) distance_um: f64,
}

impl Beam {
    /// A beam of the given pieces in a row, the first leaving the origin at `start_angle_rad`, with
    /// `elements_per_piece` quartic elements in each.
    ///
    /// # Errors
    /// [`BeamError`] if there is no piece, a length is not positive, a number not finite, or the section wider than a
    /// bend allows.
    pub fn new(
        pieces: Vec<BeamPiece>,
        strips: Strips,
        start_angle_rad: f64,
        elements_per_piece: usize,
    ) -> Result<Self, BeamError> {
        if pieces.is_empty() || elements_per_piece == 0 {
            return Err(BeamError::Empty);
        }
        for piece in &pieces {
            let BeamPiece { length_um, start_curvature_per_um: start, end_curvature_per_um: end } = *piece;
            let is_finite = [length_um, start, end, start_angle_rad].iter().all(|value| value.is_finite());
            if !(is_finite && length_um > 0.0) {
                return Err(BeamError::BadPiece { length_um });
            }
            let greatest = start.abs().max(end.abs());
            if 0.5 * strips.width_um() * greatest >= 1.0 {
                let width_um = strips.width_um();
                return Err(BeamError::WiderThanBend { radius_um: 1.0 / greatest, width_um });
            }
        }
        Ok(Self { pieces, strips, start_angle_rad, elements_per_piece })
    }

    /// Length of the centreline at rest, in µm.
    pub fn length_um(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.length_um).sum()
    }

    /// The pieces.
    pub fn pieces(&self) -> &[BeamPiece] {
        &self.pieces
    }

    pub(crate) fn strips(&self) -> &Strips {
        &self.strips
    }

    pub(crate) fn start_angle_rad(&self) -> f64 {
        self.start_angle_rad
    }

    pub(crate) fn elements_per_piece(&self) -> usize {
        self.elements_per_piece
    }

    /// Equilibrium under `end` and, if given, a point load.
    ///
    /// The loads are applied from `from`, a solution under other loads of the same kind, or from rest; in one step if
    /// Newton's iteration settles, else in as many as it takes.
    ///
    /// ```
    /// use ogee_mechanics::{Beam, BeamEnd, BeamPiece, Strips};
    ///
    /// // A straight strip of EI = 1 µN·µm² bent to a half circle by the end moment π EI/L.
    /// let strips = Strips::new(&[(12.0e6, 0.01)])?;
    /// let beam = Beam::new(vec![BeamPiece::straight(1.0)], strips, 0.0, 4)?;
    /// let moment = std::f64::consts::PI * strips.ei_un_um2();
    /// let end = BeamEnd::Loaded { force_un: [0.0, 0.0], moment_un_um: moment };
    /// let solution = beam.solve(end, None, None)?;
    /// assert!(solution.end_um[0].abs() < 1e-9);
    /// assert!((solution.end_um[1] - 2.0 / std::f64::consts::PI).abs() < 1e-9);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`BeamError`] if a load is not finite, the point load does not lie between two pieces, or no equilibrium is
    /// found.
    pub fn solve(
        &self,
        end: BeamEnd,
        point: Option<PointLoad>,
        from: Option<&BeamSolution>,
    ) -> Result<BeamSolution, BeamError> {
        if let Some(point) = point
            && !(1..self.pieces.len()).contains(&point.after_pieces)
        {
            return Err(BeamError::BadPoint { after_pieces: point.after_pieces, pieces: self.pieces.len() });
        }
        let mut newton = Newton::new(self, point);
        let rest = newton.rest_end();
        let rest_solution = newton.at_rest(end, rest);
        let base = from.unwrap_or(&rest_solution);
        let mut solution = base.clone();
        let (mut reached, mut share) = (0.0_f64, 1.0_f64);
        let mut iterations = 0;
        loop {
            let next = (reached + share).min(1.0);
            let loads = between(base.end, end, next)?;
            let distance_um =
                point.map_or(0.0, |point| (1.0 - next).mul_add(base.distance_um, next * point.distance_um));
            newton.start_from(&solution);
            let borders = Borders::new(loads, distance_um, point.is_some());
            let run = newton.run(borders, STEPS, SETTLED);
            iterations += run.iterations;
            if run.is_settled {
                solution = newton.solution(loads, distance_um, &run, iterations);
                reached = next;
                if reached >= 1.0 {
                    return Ok(solution);
                }
                share = (1.5 * share).min(1.0 - reached);
            } else {
                share *= 0.5;
                if share < LEAST_ADVANCE || run.residual.is_nan() && share < 2.0 * LEAST_ADVANCE {
                    return Err(BeamError::NotConverged { reached, residual: run.residual, iterations });
                }
            }
        }
    }
}

/// The load at the share `t` of the way between two loads of one kind.
fn between(from: BeamEnd, to: BeamEnd, t: f64) -> Result<BeamEnd, BeamError> {
    let mix = |a: f64, b: f64| (1.0 - t).mul_add(a, t * b);
    let mix2 = |a: [f64; 2], b: [f64; 2]| [mix(a[0], b[0]), mix(a[1], b[1])];
    let mixed = match (from, to) {
        (
            BeamEnd::Loaded { force_un: f0, moment_un_um: m0 },
            BeamEnd::Loaded { force_un: f1, moment_un_um: m1 },
        ) => BeamEnd::Loaded { force_un: mix2(f0, f1), moment_un_um: mix(m0, m1) },
        (BeamEnd::Hinged { at_um: a }, BeamEnd::Hinged { at_um: b }) => BeamEnd::Hinged { at_um: mix2(a, b) },
        (BeamEnd::Clamped { at_um: a, turn_rad: t0 }, BeamEnd::Clamped { at_um: b, turn_rad: t1 }) => {
            BeamEnd::Clamped { at_um: mix2(a, b), turn_rad: mix(t0, t1) }
        }
        (_, to) => to,
    };
    let numbers = match mixed {
        BeamEnd::Loaded { force_un: [x, y], moment_un_um } => [x, y, moment_un_um],
        BeamEnd::Hinged { at_um: [x, y] } => [x, y, 0.0],
        BeamEnd::Clamped { at_um: [x, y], turn_rad } => [x, y, turn_rad],
    };
    if numbers.iter().all(|number| number.is_finite()) { Ok(mixed) } else { Err(BeamError::BadLoad) }
}
