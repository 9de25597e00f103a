//! A quarter of a meander's period.

use crate::{
    ArmDrive, CurvePoint, Family, Piece, ShapeError,
    error::{Side, below, inward},
    family::{Solved, arc, arc_and_arm, clothoid, sine, sine_generated},
    piece::{Shape, StraightFromCrossing},
};

/// Least and greatest pitch in µm. Far beyond every use; it keeps squares of lengths away from overflow.
const PITCH_RANGE_UM: [f64; 2] = [1e-6, 1e12];
/// Least and greatest A/P. A flatter ribbon is straight to rounding, a steeper one has no use.
const RATIO_RANGE: [f64; 2] = [1e-6, 1e3];
/// Least given bend radius as a share of the pitch.
pub(crate) const LEAST_RADIUS_SHARE: f64 = 1e-6;

/// A quarter of a period, from the crossing of the midline (s = 0, x = 0, y = 0, φ = tilt, κ ≤ 0) to the crest
/// (s = Q, x = P/4, y = A, φ = 0). The other three quarters are its mirror images.
///
/// ```
/// use ogee_geometry::{ArmDrive, Family, Quarter};
///
/// // A hairpin: arms at 90° and a bend of radius P/4.
/// let drive = ArmDrive::Radius { radius_um: 100.0 };
/// let quarter = Quarter::new(Family::ArcAndArm(drive), 400.0, 250.0)?;
/// assert!((quarter.tilt_rad().to_degrees() - 90.0).abs() < 1e-9);
/// assert!((quarter.arm_half_length_um() - 150.0).abs() < 1e-9);
/// # Ok::<(), ogee_geometry::ShapeError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Quarter {
    family: Family,
    pitch_um: f64,
    amplitude_um: f64,
    length_um: f64,
    tilt_rad: f64,
    crest_curvature_per_um: f64,
    crossing_curvature_per_um: f64,
    arm_half_length_um: f64,
    half_breadth_um: f64,
    /// The stretch from the crossing, of no length where the bend fills the quarter, and the bend.
    pieces: [Piece; 2],
    /// 1 where the bend fills the quarter, else 0.
    first_piece: usize,
}

impl Quarter {
    /// The quarter of a family with given pitch P and amplitude A, in µm.
    ///
    /// Costs some 0.1 µs for the sine, the arc and the arc with arms, which have closed forms, and some 0.5 µs for the
    /// sine-generated curve and the clothoid, which take a few steps of a safeguarded Newton iteration.
    ///
    /// # Errors
    /// [`ShapeError`] names the quantity at fault and the nearest possible value: values that are not finite or
    /// out of range (A/P from 1e-6 to 1e3), a bend radius above `(P²/16 + A²)/(2A)`, a tilt outside
    /// `atan(4A/P)` to `2 atan(4A/P)`, and bends that overhang so far that neighbours touch.
    pub fn new(family: Family, pitch_um: f64, amplitude_um: f64) -> Result<Self, ShapeError> {
        let solved = solve_checked(family, pitch_um, amplitude_um)?;
        if 2.0 * solved.half_breadth_um >= pitch_um {
            return Err(touching(family, pitch_um, amplitude_um, &solved));
        }
        let length_um = solved.first_length_um + solved.last_length_um;
        let bend = Piece::new(solved.last, solved.first_length_um, solved.last_length_um);
        let first_piece = usize::from(solved.first.is_none());
        let no_arm = || Shape::Straight(StraightFromCrossing::new(solved.tilt_rad, 0.0));
        let lead_in = Piece::new(solved.first.unwrap_or_else(no_arm), 0.0, solved.first_length_um);
        Ok(Self {
            family,
            pitch_um,
            amplitude_um,
            length_um,
            tilt_rad: solved.tilt_rad,
            crest_curvature_per_um: solved.crest_curvature_per_um,
            crossing_curvature_per_um: solved.crossing_curvature_per_um,
            arm_half_length_um: solved.arm_half_length_um,
            half_breadth_um: solved.half_breadth_um,
            pieces: [lead_in, bend],
            first_piece,
        })
    }

    /// The family the quarter was made from.
    pub fn family(&self) -> Family {
        self.family
    }

    /// Pitch P, the length of a full period along x, in µm.
    pub fn pitch_um(&self) -> f64 {
        self.pitch_um
    }

    /// Amplitude A, the height of the crest above the midline, in µm.
    pub fn amplitude_um(&self) -> f64 {
        self.amplitude_um
    }

    /// Contour length Q of the quarter, in µm.
    pub fn length_um(&self) -> f64 {
        self.length_um
    }

    /// Tilt θ, the tangent angle at the crossing, in radians.
    pub fn tilt_rad(&self) -> f64 {
        self.tilt_rad
    }

    /// Slack: contour length over end-to-end length minus 1, dimensionless.
    pub fn slack(&self) -> f64 {
        self.length_um / (0.25 * self.pitch_um) - 1.0
    }

    /// Least radius of curvature of the centreline, in µm. All families have it at the crest.
    pub fn least_radius_um(&self) -> f64 {
        1.0 / self.crest_curvature_per_um
    }

    /// Curvature |κ| at the crest, in 1/µm.
    pub fn crest_curvature_per_um(&self) -> f64 {
        self.crest_curvature_per_um
    }

    /// Curvature |κ| just after the crossing, in 1/µm: 0 unless it jumps there.
    pub fn crossing_curvature_per_um(&self) -> f64 {
        self.crossing_curvature_per_um
    }

    /// Length of the straight part from the crossing, in µm; 0 for families without arms.
    pub fn arm_half_length_um(&self) -> f64 {
        self.arm_half_length_um
    }

    /// Half the breadth of a bend, in µm: the quarter's greatest distance from the crest's axis x = P/4. It
    /// exceeds P/4 where the bend overhangs.
    pub fn half_breadth_um(&self) -> f64 {
        self.half_breadth_um
    }

    /// The smooth stretches from the crossing to the crest, one or two.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces[self.first_piece..]
    }

    /// The point at the contour length `s_um` from the crossing, kept within 0 and Q.
    ///
    /// Exact to some 1e-14 of the pitch.
    pub fn at(&self, s_um: f64) -> CurvePoint {
        let s_um = s_um.clamp(0.0, self.length_um);
        let bend = &self.pieces[1];
        let piece = if s_um < bend.start_um() || (s_um == bend.start_um() && self.first_piece == 0) {
            &self.pieces[0]
        } else {
            bend
        };
        piece.curve_point(piece.u_from_s(s_um), s_um)
    }
}

fn solve_checked(family: Family, pitch_um: f64, amplitude_um: f64) -> Result<Solved, ShapeError> {
    check_range("pitch_um", pitch_um, PITCH_RANGE_UM)?;
    check_range("amplitude_um", amplitude_um, RATIO_RANGE.map(|ratio| ratio * pitch_um))?;
    match family {
        Family::Sine => Ok(sine::solve(pitch_um, amplitude_um)),
        Family::Arc => Ok(arc::solve(pitch_um, amplitude_um)),
        Family::ArcAndArm(drive) => arc_and_arm::solve(pitch_um, amplitude_um, drive),
        Family::SineGenerated => sine_generated::solve(pitch_um, amplitude_um),
        Family::Clothoid { plateau_share } => clothoid::solve(pitch_um, amplitude_um, plateau_share),
    }
}

/// Refuses what is not finite or outside `range`, which includes its ends.
pub(crate) fn check_range(field: &'static str, value: f64, range: [f64; 2]) -> Result<(), ShapeError> {
    let [least, greatest] = range;
    if !value.is_finite() {
        return Err(ShapeError::NotFinite { field });
    }
    if value < least || value > greatest {
        let (least, greatest) = (inward(least, Side::Least), inward(greatest, Side::Greatest));
        return Err(ShapeError::OutOfRange { field, value, least, greatest });
    }
    Ok(())
}

/// The error for bends that overhang onto their neighbours, with the nearest value that keeps them apart.
#[cold]
fn touching(family: Family, pitch_um: f64, amplitude_um: f64, solved: &Solved) -> ShapeError {
    let (field, value, nearest) = match family {
        Family::ArcAndArm(ArmDrive::Radius { radius_um }) => ("radius_um", radius_um, below(0.5 * pitch_um)),
        Family::ArcAndArm(ArmDrive::Tilt { tilt_rad }) => {
            ("tilt_deg", tilt_rad.to_degrees(), arc_and_arm::nearest_below_deg(pitch_um, amplitude_um))
        }
        _ => ("amplitude_um", amplitude_um, below(greatest_amplitude_um(family, pitch_um, amplitude_um))),
    };
    ShapeError::BendsTouch { field, value, nearest, half_breadth_um: solved.half_breadth_um, pitch_um }
}

/// The amplitude at which neighbouring bends touch, by bisection: the breadth grows with the amplitude.
fn greatest_amplitude_um(family: Family, pitch_um: f64, amplitude_um: f64) -> f64 {
    // At A = P/4 no family overhangs by as much as a quarter of the pitch.
    let (mut low_um, mut high_um) = (0.25 * pitch_um, amplitude_um);
    for _ in 0..f64::MANTISSA_DIGITS {
        let middle_um = 0.5 * (low_um + high_um);
        let is_apart = solve_checked(family, pitch_um, middle_um)
            .is_ok_and(|solved| 2.0 * solved.half_breadth_um < pitch_um);
        if is_apart { low_um = middle_um } else { high_um = middle_um }
    }
    low_um
}
