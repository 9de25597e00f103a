//! The families of meanders.

pub(crate) mod arc;
pub(crate) mod arc_and_arm;
pub(crate) mod clothoid;
pub(crate) mod sine;
pub(crate) mod sine_generated;

/// The rule that shapes a quarter of a meander of given pitch P and amplitude A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Family {
    /// `y = A sin(2πx/P)`.
    Sine,
    /// One circular arc of radius `R = (P²/16 + A²)/(2A)` and tilt `θ = 2 atan(4A/P)`. It overhangs for
    /// A > P/4.
    Arc,
    /// A straight arm of half-length a at tilt θ, then an arc of radius R:
    /// `P/4 = R sin θ + a cos θ`, `A = R (1 − cos θ) + a sin θ`. A tilt of 90° is the hairpin, R = P/4.
    ArcAndArm(ArmDrive),
    /// `φ(s) = θ cos(πs/(2Q))`: curvature is continuous and zero at the crossing.
    SineGenerated,
    /// Curvature rises linearly from 0 at the crossing to its peak and stays there up to the crest.
    Clothoid {
        /// Share c of the quarter's contour length with constant curvature, 0 to 1, dimensionless.
        /// 1 is [`Family::Arc`].
        plateau_share: f64,
    },
}

/// The third given quantity of [`Family::ArcAndArm`], beside pitch and amplitude.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ArmDrive {
    /// The bend radius is given; tilt and arm follow.
    Radius {
        /// Radius R of the centreline's arc, in µm; above 0 and at most `(P²/16 + A²)/(2A)`.
        radius_um: f64,
    },
    /// The tilt is given; radius and arm follow.
    Tilt {
        /// Tilt θ in radians; above `atan(4A/P)` and at most `2 atan(4A/P)`.
        tilt_rad: f64,
    },
}

/// What a family file hands to [`crate::Quarter`]: everything in µm and radians.
#[derive(Debug, Clone)]
pub(crate) struct Solved {
    /// Straight part from the crossing; absent where the bend fills the quarter.
    pub(crate) first: Option<crate::piece::Shape>,
    /// The bend that ends at the crest.
    pub(crate) last: crate::piece::Shape,
    pub(crate) first_length_um: f64,
    pub(crate) last_length_um: f64,
    pub(crate) tilt_rad: f64,
    pub(crate) crest_curvature_per_um: f64,
    pub(crate) crossing_curvature_per_um: f64,
    pub(crate) arm_half_length_um: f64,
    /// Greatest distance of the quarter from the crest's axis x = P/4; P/4 unless the bend overhangs.
    pub(crate) half_breadth_um: f64,
}
