//! The second variation of a flat state, and its lowest modes.

use super::{
    OnsetError,
    element::{Stiffness, deflections, expand},
    factor::{Factors, Held, gather, unknowns, weigh_all},
    flat::{FlatNode, FlatPoint, FlatState},
    mode::{BucklingMode, ModePoint},
    tridiagonal::eigen,
};
use crate::{
    basis::{NODES, POINT},
    out_of_plane::{OutOfPlane, SectionLaw},
    ribbon::RibbonSolution,
};

/// Lanczos steps for a number of modes: so many to begin with, and for each mode.
const STEPS: usize = 10;
const STEPS_PER_MODE: usize = 2;
/// Relative error of an eigenvalue's inverse distance from the shift.
const SETTLED: f64 = 1e-10;
/// Most tries at a shift below all eigenvalues.
const SHIFTS: u32 = 80;

/// What an end of a ribbon or strip is kept from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EndSupport {
    /// No twist about the tangent.
    pub holds_twist: bool,
    /// No slope out of the plane.
    pub holds_slope: bool,
    /// No deflection out of the plane.
    pub holds_deflection: bool,
}

impl EndSupport {
    /// Everything is held.
    pub const CLAMPED: Self = Self { holds_twist: true, holds_slope: true, holds_deflection: true };
    /// Twist and deflection are held, the slope is free.
    pub const FORKED: Self = Self { holds_twist: true, holds_slope: false, holds_deflection: true };
    /// Nothing is held.
    pub const FREE: Self = Self { holds_twist: false, holds_slope: false, holds_deflection: false };

    pub(crate) fn held(self) -> Held {
        [self.holds_twist, self.holds_slope, self.holds_deflection]
    }
}

/// The second variation of the energy of a flat ribbon or strip under load against leaving its plane.
///
/// With twist α about the tangent, rotation β about the normal and the deflection v, v' = −(1+ε₀) β, twice the second
/// variation is
///
/// ```text
/// ∫ [ GJ (α' − κβ)² + EI_out (β' + κα)² − 2M α β' − κM (α² + β²) + (1+ε₀) N β² + k_z v² ] ds
/// ```
///
/// with GJ + N w²/12 in place of GJ under [`SectionLaw::Ribbon`]. κ, M, N and ε₀ are those of the flat state. A flat state
/// is stable out of its plane when no mode makes it negative.
///
/// # Source
/// Derived from the energy of an extensible rod; with κ = N = 0 it is the classical energy of lateral buckling
/// (Timoshenko and Gere, Theory of Elastic Stability, 1961).
#[derive(Debug)]
pub struct SecondVariation {
    state: FlatState,
    stiffness: Stiffness,
    ends: [Held; 2],
    unit_um: f64,
    force_unit_un: f64,
}

impl SecondVariation {
    /// The form of a whole ribbon clamped at both ends, on the elements of its planar solution, each cut into `parts`.
    ///
    /// One part is enough for the first modes; modes with several half waves in a quarter need more.
    ///
    /// * `foundation_mpa`: force per length and deflection `k_z` of a bed, in MPa; 0 for none.
    ///
    /// # Errors
    /// [`OnsetError`] if the section or the foundation is impossible.
    pub fn of(
        solution: &RibbonSolution,
        out: &OutOfPlane,
        foundation_mpa: f64,
        parts: usize,
    ) -> Result<Self, OnsetError> {
        out.check()?;
        let strips = solution.strips();
        let stiffness =
            relative(out, strips.ei_un_um2(), strips.width_um(), foundation_mpa, solution.unit_um)?;
        Ok(Self {
            state: FlatState::of(solution, parts.max(1)),
            stiffness,
            ends: [EndSupport::CLAMPED.held(); 2],
            unit_um: solution.unit_um,
            force_unit_un: solution.force_unit_un(),
        })
    }

    /// The form of a strip of `length_um` (µm) and `width_um` (µm) whose flat state is given by `at`, on `elements` equal
    /// elements. A jump of curvature must lie between two elements.
    ///
    /// # Errors
    /// [`OnsetError`] if the length, the section or the foundation is impossible.
    ///
    /// ```
    /// use ogee_mechanics::{EndSupport, FlatPoint, OutOfPlane, SecondVariation, SectionLaw};
    ///
    /// // A strip in forks under a uniform moment tips over at M = π √(EI GJ)/L (Timoshenko and Gere).
    /// let out = OutOfPlane::homogeneous(5.0, 0.5, 1000.0, 0.3)?.with_law(SectionLaw::Rod);
    /// let critical = std::f64::consts::PI * (out.bending_un_um2 * out.torsion_un_um2).sqrt() / 100.0;
    /// let is_flat = |moment_un_um: f64| {
    ///     let at = |_| FlatPoint { moment_un_um, ..FlatPoint::default() };
    ///     let ends = [EndSupport::FORKED; 2];
    ///     SecondVariation::strip(100.0, 5.0, 8, &out, 0.0, ends, at).map(|form| form.negative_modes() == 0)
    /// };
    /// assert!(is_flat(0.999 * critical)? && !is_flat(1.001 * critical)?);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn strip(
        length_um: f64,
        width_um: f64,
        elements: usize,
        out: &OutOfPlane,
        foundation_mpa: f64,
        ends: [EndSupport; 2],
        at: impl Fn(f64) -> FlatPoint,
    ) -> Result<Self, OnsetError> {
        out.check()?;
        if !(length_um.is_finite() && length_um > 0.0 && elements > 0) {
            return Err(OnsetError::BadStrip { length_um, elements });
        }
        let stiffness = relative(out, out.bending_un_um2, width_um, foundation_mpa, length_um)?;
        let force_unit_un = out.bending_un_um2 / (length_um * length_um);
        let mut state = FlatState::default();
        let half = 0.5 / elements as f64;
        for e in 0..elements {
            for xi in POINT {
                let s = half * (2.0 * e as f64 + 1.0 + xi);
                // A place between two elements is looked at from within each.
                let point = at(length_um * half * (2.0 * e as f64 + 1.0 + xi * (1.0 - 1e-12)));
                state.s.push(s);
                state.nodes.push(FlatNode {
                    jacobian: half,
                    curvature: point.curvature_per_um * length_um,
                    moment: point.moment_un_um / (force_unit_un * length_um),
                    normal: point.normal_un / force_unit_un,
                    stretched: 1.0 + point.axial_strain,
                });
            }
        }
        Ok(Self { state, stiffness, ends: ends.map(EndSupport::held), unit_um: length_um, force_unit_un })
    }

    /// Number of modes that lower the energy; 0 where the flat state is stable.
    pub fn negative_modes(&self) -> usize {
        let mut factors = Factors::default();
        factors.decompose(&self.state.nodes, &self.stiffness, self.ends, 0.0);
        factors.negative
    }

    /// The `count` lowest modes, the one of least energy first, each scaled to a largest rotation of 1 rad.
    ///
    /// # Errors
    /// [`OnsetError::ModesNotFound`] if the iteration does not settle.
    pub fn lowest_modes(&self, count: usize) -> Result<Vec<BucklingMode>, OnsetError> {
        let mut factors = Factors::default();
        let raw = lowest(&self.state.nodes, &self.stiffness, self.ends, count, &mut factors)?;
        Ok(raw
            .into_iter()
            .map(|(eigenvalue, values)| {
                let mut mode = mode_of(&self.state, &values, self.unit_um);
                mode.eigenvalue_un = eigenvalue * self.force_unit_un;
                mode
            })
            .collect())
    }
}

/// The stiffness in units of EI of the straight ribbon and `unit_um`.
pub(crate) fn relative(
    out: &OutOfPlane,
    ei_un_um2: f64,
    width_um: f64,
    foundation_mpa: f64,
    unit_um: f64,
) -> Result<Stiffness, OnsetError> {
    if !(foundation_mpa.is_finite() && foundation_mpa >= 0.0) {
        return Err(OnsetError::BadFoundation { foundation_mpa });
    }
    let width = width_um / unit_um;
    Ok(Stiffness {
        twist: out.torsion_un_um2 / ei_un_um2,
        twist_by_normal: match out.law {
            SectionLaw::Rod => 0.0,
            SectionLaw::Ribbon => width * width / 12.0,
        },
        bending: out.bending_un_um2 / ei_un_um2,
        foundation: foundation_mpa * unit_um.powi(4) / ei_un_um2,
    })
}

/// A vector of unknowns over the first `nodes_used` nodes as rotations and deflection at them, not scaled.
pub(crate) fn mode_points(
    state: &FlatState,
    nodes_used: usize,
    values: &[f64],
    unit_um: f64,
) -> Vec<ModePoint> {
    let elements = nodes_used / NODES;
    let mut points = Vec::with_capacity(elements * (NODES - 1) + 1);
    for (e, nodes) in state.nodes[..nodes_used].as_chunks::<NODES>().0.iter().enumerate() {
        let own = gather(values, elements, e);
        let [alpha, beta] = expand(nodes, &own);
        let v = deflections(nodes, own[2], &beta);
        for g in usize::from(e > 0)..NODES {
            points.push(ModePoint {
                s_um: state.s[e * NODES + g] * unit_um,
                alpha_rad: alpha[g],
                beta_rad: beta[g],
                v_um: v[g] * unit_um,
            });
        }
    }
    points
}

fn mode_of(state: &FlatState, values: &[f64], unit_um: f64) -> BucklingMode {
    BucklingMode::scaled(mode_points(state, state.nodes.len(), values, unit_um))
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The `count` lowest eigenvalues and vectors of the form against the mass, by Lanczos' iteration with the inverse about a
/// shift below all of them.
pub(crate) fn lowest(
    nodes: &[FlatNode],
    stiffness: &Stiffness,
    ends: [Held; 2],
    count: usize,
    factors: &mut Factors,
) -> Result<Vec<(f64, Vec<f64>)>, OnsetError> {
    let elements = nodes.len() / NODES;
    let size = unknowns(elements);
    let held: usize = ends.iter().flatten().filter(|held| **held).count();
    let count = count.clamp(1, size - held);
    let shift = shift_below(nodes, stiffness, ends, factors)?;
    let most = size - held;
    let mut basis: Vec<Vec<f64>> = Vec::new();
    let (mut diagonal, mut off): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
    // Any vector with a part of every mode.
    let mut next: Vec<f64> = (0..size).map(|i| 1.0 + 0.5 * (1.7 * i as f64 + 0.3).sin()).collect();
    let mut weighed = Vec::new();
    weigh_all(nodes, &next, &mut weighed);
    factors.solve(&mut weighed);
    std::mem::swap(&mut next, &mut weighed);
    let mut wanted = (STEPS + STEPS_PER_MODE * count).min(most);
    loop {
        while basis.len() < wanted {
            weigh_all(nodes, &next, &mut weighed);
            let norm = dot(&next, &weighed).sqrt();
            if basis.is_empty() || norm > 0.0 {
                for value in next.iter_mut().chain(&mut weighed) {
                    *value /= norm;
                }
            }
            if !basis.is_empty() {
                off.push(norm);
            }
            let mut image = weighed.clone();
            factors.solve(&mut image);
            let own = dot(&image, &weighed);
            diagonal.push(own);
            basis.push(next);
            // Twice, since rounding lets the first pass leave something.
            for _ in 0..2 {
                weigh_all(nodes, &image, &mut weighed);
                for vector in &basis {
                    let part = dot(vector, &weighed);
                    image.iter_mut().zip(vector).for_each(|(value, other)| *value -= part * other);
                }
            }
            next = image;
        }
        weigh_all(nodes, &next, &mut weighed);
        let rest = dot(&next, &weighed).max(0.0).sqrt();
        let (values, vectors) = eigen(&diagonal, &off).ok_or(OnsetError::ModesNotFound { count })?;
        let steps = values.len();
        let mut order: Vec<usize> = (0..steps).collect();
        order.sort_by(|&i, &j| values[j].total_cmp(&values[i]));
        order.truncate(count);
        let is_settled = order
            .iter()
            .all(|&i| (rest * vectors[(steps - 1) * steps + i]).abs() <= SETTLED * values[i].abs());
        if is_settled || wanted == most {
            let modes = order.into_iter().map(|i| {
                let mut mode = vec![0.0; size];
                for (k, vector) in basis.iter().enumerate() {
                    let part = vectors[k * steps + i];
                    mode.iter_mut().zip(vector).for_each(|(value, other)| *value += part * other);
                }
                (shift + 1.0 / values[i], mode)
            });
            let modes: Vec<_> = modes.collect();
            let is_finite =
                modes.iter().all(|(value, mode)| value.is_finite() && mode.iter().all(|x| x.is_finite()));
            return if is_finite { Ok(modes) } else { Err(OnsetError::ModesNotFound { count }) };
        }
        wanted = (wanted + wanted / 2 + 8).min(most);
    }
}

/// Factorises about a shift with no eigenvalue below it.
fn shift_below(
    nodes: &[FlatNode],
    stiffness: &Stiffness,
    ends: [Held; 2],
    factors: &mut Factors,
) -> Result<f64, OnsetError> {
    factors.decompose(nodes, stiffness, ends, 0.0);
    if factors.negative == 0 {
        return Ok(0.0);
    }
    let largest = nodes.iter().fold(0.0_f64, |most, node| most.max(node.normal.abs()));
    let mut shift = -1e-3 * (stiffness.bending + stiffness.twist) - 1e-3 * largest;
    for _ in 0..SHIFTS {
        factors.decompose(nodes, stiffness, ends, shift);
        if factors.negative == 0 {
            return Ok(shift);
        }
        shift *= 2.0;
    }
    Err(OnsetError::ModesNotFound { count: 0 })
}
