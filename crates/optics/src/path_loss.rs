//! Loss along a path.
//!
//! ```text
//! total = ∫ α(κ(s)) ds + Σ over jumps −10 log₁₀ η + α_prop · length + 2 · end loss
//! ```
//!
//! The bend loss is exponential in the radius, so it sits at the crests. The caller chooses the pieces; per quarter of
//! a meander four panels of 16 Gauss points, split geometrically towards the crest, or 200 equal steps are plenty.

use crate::bend_table::{BendTable, CurvatureRange, TableBasis};
use crate::error::LightError;

/// A piece of path so short that its curvature counts as constant (or a quadrature point and its weight).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathElement {
    /// Length, µm.
    pub length_um: f64,
    /// Signed curvature, 1/µm, positive to the left.
    pub curvature_per_um: f64,
}

/// A place where the curvature jumps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jump {
    /// Distance along the path, µm.
    pub s_um: f64,
    /// Signed curvature before it, 1/µm.
    pub before_per_um: f64,
    /// Signed curvature after it, 1/µm.
    pub after_per_um: f64,
}

/// A stretch on which the curvature changes steadily from one value to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ramp {
    /// Where it begins, µm along the path.
    pub s_um: f64,
    /// Its length, µm.
    pub length_um: f64,
    /// Signed curvature at its beginning, 1/µm.
    pub before_per_um: f64,
    /// Signed curvature at its end, 1/µm.
    pub after_per_um: f64,
}

/// What a path loses apart from its bends, and how much cladding there is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PathSettings {
    /// Propagation loss of the straight guide, dB/cm.
    pub propagation_db_per_cm: f64,
    /// Loss of each of the two ends, dB.
    pub end_loss_db: f64,
    /// Distance from the core's middle to the nearer edge of its cladding, µm, if it is to be compared with the
    /// caustic.
    pub cladding_um: Option<f64>,
}

/// The place of a path with the largest bend loss per length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorstPlace {
    /// Number of the element.
    pub element: usize,
    /// Distance along the path to the middle of the element, µm.
    pub s_um: f64,
    /// Radius there, µm.
    pub radius_um: f64,
    /// Bend loss per length there, dB/cm.
    pub loss_db_per_cm: f64,
    /// Bend loss per 90° there, dB.
    pub loss_db_per_90deg: f64,
}

/// What to say next to a loss.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum PathNote {
    /// Some bends are tighter than the table: they count with more than this loss per 90°, and the total is a lower
    /// bound.
    BeyondTable {
        /// The least radius of the path, µm.
        radius_um: f64,
        /// The least radius tabulated, µm.
        least_radius_um: f64,
        /// Loss there, dB per 90°.
        more_than_db_per_90deg: f64,
    },
    /// Two jumps are so close that they interfere; adding their decibels is an estimate.
    CloseJoints {
        /// Where the second one is, µm along the path.
        s_um: f64,
        /// Their distance, µm (the smallest on the path).
        spacing_um: f64,
        /// Distance above which they are independent, µm.
        limit_um: f64,
    },
    /// A ramp of curvature is too short to be adiabatic; it loses up to this much, which the total leaves out.
    ShortRamp {
        /// Where it begins, µm along the path.
        s_um: f64,
        /// Its length, µm.
        length_um: f64,
        /// Length above which it is adiabatic, µm.
        limit_um: f64,
        /// Upper bound of its loss, dB.
        up_to_db: f64,
    },
    /// The straight guide has several modes; the loss is that of mode 0, and jumps excite the others.
    SeveralModes {
        /// Modes of this polarisation.
        modes: usize,
    },
    /// The table gives the outer cladding the highest index around: only a pessimistic first figure.
    Pessimistic,
    /// The cladding ends before the radiation caustic: infinite-cladding estimate, on the upper side.
    CladdingEndsBeforeCaustic {
        /// Radius of the tightest bend, µm.
        radius_um: f64,
        /// Distance of its caustic from the core's middle, µm.
        caustic_um: f64,
        /// Distance of the cladding's edge, µm.
        cladding_um: f64,
    },
}

impl std::fmt::Display for PathNote {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::BeyondTable { radius_um, least_radius_um, more_than_db_per_90deg } => write!(
                f,
                "a bend of {radius_um:.2} µm is beyond the table, which ends at {least_radius_um:.2} µm: it loses \
                 more than {more_than_db_per_90deg:.2} dB per 90°, and the total is a lower bound"
            ),
            Self::CloseJoints { spacing_um, limit_um, .. } => write!(
                f,
                "two jumps of curvature {spacing_um:.1} µm apart interfere (independent above {limit_um:.1} µm): \
                 adding their losses is an estimate"
            ),
            Self::ShortRamp { length_um, limit_um, up_to_db, .. } => write!(
                f,
                "a change of curvature over {length_um:.1} µm is not adiabatic (above {limit_um:.1} µm it would be): \
                 up to {up_to_db:.3} dB, not in the total"
            ),
            Self::SeveralModes { modes } => {
                write!(
                    f,
                    "the straight guide has {modes} modes of this polarisation: the loss is that of mode 0"
                )
            }
            Self::Pessimistic => f.write_str(
                "bends radiate out of the plane: a pessimistic first figure, several times too high",
            ),
            Self::CladdingEndsBeforeCaustic { radius_um, caustic_um, cladding_um } => write!(
                f,
                "at {radius_um:.1} µm the light would leave {caustic_um:.1} µm from the core's middle, but the \
                 cladding ends at {cladding_um:.1} µm: infinite-cladding estimate, on the upper side"
            ),
        }
    }
}

/// Loss of a path by cause, dB.
#[derive(Debug, Clone, PartialEq)]
pub struct PathLoss {
    /// Length of the path, µm.
    pub length_um: f64,
    /// Radiation in bends, dB.
    pub bend_db: f64,
    /// Jumps of curvature, dB.
    pub transition_db: f64,
    /// Propagation, dB.
    pub propagation_db: f64,
    /// Both ends, dB.
    pub end_db: f64,
    /// Sum of all, dB.
    pub total_db: f64,
    /// Where the bend loss per length is largest; `None` when the path is straight.
    pub worst: Option<WorstPlace>,
    /// The jump that loses most, and its loss in dB; `None` without jumps.
    pub worst_jump: Option<(Jump, f64)>,
    /// What to say next to the numbers.
    pub notes: Vec<PathNote>,
}

const UM_PER_CM: f64 = 1e4;

/// Loss of a path.
///
/// * `elements`: in order along the path. `jumps`: every place where the curvature jumps, in order; a path that meets
///   straight guides along the tangent has one more at either end (from and to curvature 0), unless its ends are
///   rounded off elsewhere.
///
/// Where bends are tighter than the table the total is a lower bound, with a note. Short ramps are judged by
/// [`ramp_note`].
///
/// # Errors
/// [`LightError::Entry`] for a length that is negative or a value that is not a finite number;
/// [`LightError::Number`] for negative losses in the settings.
pub fn path_loss(
    elements: &[PathElement],
    jumps: &[Jump],
    table: &BendTable,
    settings: &PathSettings,
) -> Result<PathLoss, LightError> {
    for (what, value) in [
        ("propagation loss in dB/cm", settings.propagation_db_per_cm),
        ("end loss in dB", settings.end_loss_db),
    ] {
        if !(0.0..f64::MAX).contains(&value) {
            return Err(LightError::Number { what, value, least: 0.0, greatest: f64::MAX });
        }
    }
    let (mut length_um, mut bend_db, mut greatest) = (0.0, 0.0, 0.0_f64);
    let mut tightest_per_um = 0.0_f64;
    let mut worst = None;
    for (position, element) in elements.iter().enumerate() {
        let PathElement { length_um: piece_um, curvature_per_um } = *element;
        if !(0.0..f64::MAX).contains(&piece_um) {
            return Err(LightError::Entry { what: "element length", position, value: piece_um });
        }
        if !curvature_per_um.is_finite() {
            return Err(LightError::Entry { what: "element curvature", position, value: curvature_per_um });
        }
        let loss_db_per_um = table.loss_db_per_um(curvature_per_um);
        if loss_db_per_um > greatest {
            greatest = loss_db_per_um;
            worst = Some((position, length_um + 0.5 * piece_um));
        }
        if curvature_per_um.abs() > tightest_per_um.abs() {
            tightest_per_um = curvature_per_um;
        }
        bend_db += loss_db_per_um * piece_um;
        length_um += piece_um;
    }
    let mut transition_db = 0.0;
    let mut worst_jump: Option<(Jump, f64)> = None;
    for (position, jump) in jumps.iter().enumerate() {
        let loss_db = table.transition_db(jump.before_per_um, jump.after_per_um);
        if !loss_db.is_finite() || !jump.s_um.is_finite() {
            return Err(LightError::Entry { what: "jump of curvature", position, value: jump.after_per_um });
        }
        if worst_jump.is_none_or(|(_, most)| loss_db > most) {
            worst_jump = Some((*jump, loss_db));
        }
        transition_db += loss_db;
    }
    let propagation_db = settings.propagation_db_per_cm * length_um / UM_PER_CM;
    let end_db = 2.0 * settings.end_loss_db;
    let worst = worst.map(|(element, s_um)| {
        let curvature = elements[element].curvature_per_um;
        WorstPlace {
            element,
            s_um,
            radius_um: curvature.abs().recip(),
            loss_db_per_cm: greatest * UM_PER_CM,
            loss_db_per_90deg: table.loss_db_per_90deg(curvature),
        }
    });
    Ok(PathLoss {
        length_um,
        bend_db,
        transition_db,
        propagation_db,
        end_db,
        total_db: bend_db + transition_db + propagation_db + end_db,
        worst,
        worst_jump,
        notes: notes(tightest_per_um, jumps, table, settings),
    })
}

fn notes(tightest_per_um: f64, jumps: &[Jump], table: &BendTable, settings: &PathSettings) -> Vec<PathNote> {
    let mut notes = Vec::new();
    if let CurvatureRange::Tighter { least_radius_um, more_than_db_per_90deg } =
        table.range_of(tightest_per_um)
    {
        let radius_um = tightest_per_um.abs().recip();
        notes.push(PathNote::BeyondTable { radius_um, least_radius_um, more_than_db_per_90deg });
    }
    let limit_um = table.adiabatic_length_um();
    let closest = jumps
        .windows(2)
        .map(|pair| (pair[1].s_um, (pair[1].s_um - pair[0].s_um).abs()))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((s_um, spacing_um)) = closest.filter(|&(_, spacing_um)| spacing_um < limit_um) {
        notes.push(PathNote::CloseJoints { s_um, spacing_um, limit_um });
    }
    if table.guided_modes() > 1 {
        notes.push(PathNote::SeveralModes { modes: table.guided_modes() });
    }
    if table.basis() == TableBasis::Pessimistic {
        notes.push(PathNote::Pessimistic);
    }
    if let Some(cladding_um) = settings.cladding_um {
        let caustic_um = table.caustic_offset_um(tightest_per_um);
        if tightest_per_um != 0.0 && cladding_um < caustic_um {
            let radius_um = tightest_per_um.abs().recip();
            notes.push(PathNote::CladdingEndsBeforeCaustic { radius_um, caustic_um, cladding_um });
        }
    }
    notes
}

/// A note if a ramp of curvature is too short to be adiabatic: shorter than `4π/Δβ`.
pub fn ramp_note(ramp: &Ramp, table: &BendTable) -> Option<PathNote> {
    let limit_um = table.adiabatic_length_um();
    (ramp.length_um < limit_um && ramp.before_per_um != ramp.after_per_um).then(|| PathNote::ShortRamp {
        s_um: ramp.s_um,
        length_um: ramp.length_um,
        limit_um,
        up_to_db: table.ramp_db(ramp.before_per_um, ramp.after_per_um, ramp.length_um),
    })
}

#[cfg(test)]
mod tests;
