//! Integrals for sections in a tight bend.

use crate::Section;

/// Stiffness of a section that is curved in the plane at rest, about y = 0.
///
/// `a_p = Σ E_i t_i ∫ y^p/(1 − y κ0) dy`; with ε(y) = (ε0 − y Δκ)/(1 − y κ0),
/// `N = a0 ε0 − a1 Δκ` and `M = −a1 ε0 + a2 Δκ`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvedStiffness {
    /// a₀, µN; EA where the ribbon is straight.
    pub a0_un: f64,
    /// a₁, µN·µm; zero where the ribbon is straight and the section symmetric.
    pub a1_un_um: f64,
    /// a₂, µN·µm²; the bending stiffness about the centreline where the ribbon is straight.
    pub a2_un_um2: f64,
}

/// Why a curved integral has no value.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CurvatureError {
    /// A fibre lies at or beyond the centre of the bend.
    #[error(
        "the fibre at {offset_um} µm from the centreline lies beyond the centre of the bend of {rest_per_um} /µm"
    )]
    FoldedFibre {
        /// Offset of the fibre, µm.
        offset_um: f64,
        /// Curvature at rest, 1/µm.
        rest_per_um: f64,
    },
    /// A value is infinite or not a number.
    #[error("curvature of {rest_per_um} /µm between {from_um} and {to_um} µm is not a set of finite numbers")]
    NotFinite {
        /// Curvature at rest, 1/µm.
        rest_per_um: f64,
        /// Lower limit, µm.
        from_um: f64,
        /// Upper limit, µm.
        to_um: f64,
    },
}

/// Above this |y κ0| the closed form loses no more than three digits; below it the series converges fast.
const SERIES_BELOW: f64 = 0.25;

/// `[J0, J1, J2]` with `J_p = ∫ y^p/(1 − y κ0) dy` from `from_um` to `to_um`.
///
/// Closed form: J0 = −ln(1 − yκ0)/κ0 between the limits, J1 = (J0 − \[y\])/κ0, J2 = (J1 − \[y²/2\])/κ0. Near a
/// straight ribbon these cancel (J2 loses a factor 1/(yκ0)² and more), so that below |yκ0| = 0.25 the series
/// `J_p = Σ_m κ0^m [y^(p+m+1)]/(p+m+1)` is summed instead. Relative accuracy 1e-12 for limits on either side of
/// the centreline.
///
/// * `rest_per_um`: κ0, 1/µm, counter-clockwise positive. `from_um`, `to_um`: limits of y, µm.
///
/// Returns J0 in µm, J1 in µm², J2 in µm³.
/// # Errors
/// [`CurvatureError::FoldedFibre`] where 1 − y κ0 ≤ 0 at a limit, [`CurvatureError::NotFinite`] for infinite or
/// undefined arguments or results.
/// # Source
/// Derived here; plane sections.
///
/// ```
/// // A full strip of width 2 at κ0 = 0.5: J0 = ln(1.5/0.5)/0.5.
/// let [j0, ..] = ogee_stack::curved_integrals(0.5, -1.0, 1.0)?;
/// assert!((j0 - 2.0 * 3f64.ln()).abs() < 1e-14);
/// # Ok::<(), ogee_stack::CurvatureError>(())
/// ```
pub fn curved_integrals(rest_per_um: f64, from_um: f64, to_um: f64) -> Result<[f64; 3], CurvatureError> {
    let not_finite = CurvatureError::NotFinite { rest_per_um, from_um, to_um };
    if !(rest_per_um.is_finite() && from_um.is_finite() && to_um.is_finite()) {
        return Err(not_finite);
    }
    for offset_um in [from_um, to_um] {
        if 1.0 - offset_um * rest_per_um <= 0.0 {
            return Err(CurvatureError::FoldedFibre { offset_um, rest_per_um });
        }
    }
    let reach = from_um.abs().max(to_um.abs()) * rest_per_um.abs();
    let integrals = if reach < SERIES_BELOW {
        series(rest_per_um, from_um, to_um)
    } else {
        closed_form(rest_per_um, from_um, to_um)
    };
    if integrals.iter().all(|j| j.is_finite()) { Ok(integrals) } else { Err(not_finite) }
}

fn closed_form(k0: f64, y0: f64, y1: f64) -> [f64; 3] {
    // One logarithm of the ratio, not a difference of two: thin pieces keep their digits.
    let j0 = -(-(y1 - y0) * k0 / (1.0 - y0 * k0)).ln_1p() / k0;
    let j1 = (j0 - (y1 - y0)) / k0;
    let j2 = (j1 - 0.5 * (y1 - y0) * (y1 + y0)) / k0;
    [j0, j1, j2]
}

/// At |yκ0| < 0.25 the 30th term is below 1e-18 of the first.
fn series(k0: f64, y0: f64, y1: f64) -> [f64; 3] {
    let mut integrals = [0.0; 3];
    // Powers k0^m y^(m+1) at both limits.
    let (mut upper, mut lower) = (y1, y0);
    for m in 0..30 {
        let order = f64::from(m);
        integrals[0] += (upper - lower) / (order + 1.0);
        integrals[1] += (upper * y1 - lower * y0) / (order + 2.0);
        integrals[2] += (upper * y1 * y1 - lower * y0 * y0) / (order + 3.0);
        upper *= k0 * y1;
        lower *= k0 * y0;
    }
    integrals
}

impl Section {
    /// Stiffness of the section where the ribbon is curved in the plane at rest; see [`CurvedStiffness`].
    ///
    /// * `rest_per_um`: κ0, 1/µm, counter-clockwise positive.
    /// # Errors
    /// [`CurvatureError::FoldedFibre`] where the section reaches the centre of the bend.
    pub fn curved_stiffness(&self, rest_per_um: f64) -> Result<CurvedStiffness, CurvatureError> {
        let mut sums = [0.0; 3];
        for r in self.rectangles() {
            let stiffness = self.modulus_kind().effective_mpa(r.modulus_mpa, r.poisson) * r.thickness_um();
            let integrals = curved_integrals(rest_per_um, r.y0_um, r.y1_um)?;
            for (sum, j) in sums.iter_mut().zip(integrals) {
                *sum += stiffness * j;
            }
        }
        Ok(CurvedStiffness { a0_un: sums[0], a1_un_um: sums[1], a2_un_um2: sums[2] })
    }
}
