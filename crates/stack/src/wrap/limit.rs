//! The tightest cylinder that a stack's strain limits allow.

use super::{ContactFace, Wrap, WrapError};

/// What one ply bears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlyLimit {
    /// The ply, 0 at the bottom.
    pub ply: usize,
    /// Largest strain in tension, dimensionless, above 0.
    pub tension: f64,
    /// Largest strain in compression, dimensionless, above 0; none where absent.
    pub compression: Option<f64>,
}

/// How tightly a stack may be wrapped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LeastRadius {
    /// Down to this cylinder.
    Radius {
        /// Radius of the cylinder, µm.
        radius_um: f64,
        /// The ply that decides, 0 at the bottom.
        ply: usize,
        /// Whether its limit in tension decides, or the one in compression.
        in_tension: bool,
    },
    /// No limit is reached on any cylinder, however thin.
    Any,
    /// The membrane strain alone reaches a limit: no cylinder is large enough.
    None {
        /// The ply whose limit is reached, 0 at the bottom.
        ply: usize,
        /// Whether it is reached in tension, or in compression.
        in_tension: bool,
    },
}

impl LeastRadius {
    /// The radius, µm: 0 where any will do, `None` where none does.
    #[must_use]
    pub fn radius_um(&self) -> Option<f64> {
        match self {
            Self::Radius { radius_um, .. } => Some(*radius_um),
            Self::Any => Some(0.0),
            Self::None { .. } => None,
        }
    }
}

impl Wrap {
    /// The least radius at which no ply exceeds its limits, by the strain at mid-length.
    ///
    /// With u the strain over curvature of an interface, s = ±1 the sign of the curvature, d the distance of the neutral
    /// plane from the cylinder and m the membrane strain, `m + s u/(R + d) ≤ a` gives R ≥ s u/(a − m) − d; compression
    /// likewise with −s u/(a + m) − d. The largest of these over both faces of all plies decides.
    ///
    /// * `limits`: any number per ply, in any order; plies without one bear everything. `membrane`: strain added to the whole
    ///   stack, from pull.
    /// # Errors
    /// [`WrapError::NoSuchPly`], [`WrapError::Limit`], [`WrapError::Membrane`].
    ///
    /// ```
    /// use ogee_stack::{ContactFace, LeastRadius, ModulusKind, Ply, PlyLimit, Wrap};
    ///
    /// let wrap = Wrap::new(&[Ply::new("glass", 20.0, 72_000.0, 0.17)], ModulusKind::Beam, 5000.0)?;
    /// let limit = PlyLimit { ply: 0, tension: 0.001, compression: None };
    /// let least = wrap.least_radius(ContactFace::Bottom, &[limit], 0.0)?;
    /// // t/(2ε) at the neutral plane, half the thickness less at the cylinder.
    /// assert!((least.radius_um().unwrap() - 9990.0).abs() < 1e-6);
    /// # Ok::<(), ogee_stack::WrapError>(())
    /// ```
    pub fn least_radius(
        &self,
        face: ContactFace,
        limits: &[PlyLimit],
        membrane: f64,
    ) -> Result<LeastRadius, WrapError> {
        self.least_for(face, limits, membrane, |interface| [self.mid_um[interface]; 2])
    }

    /// As [`Wrap::least_radius`], by the strain anywhere along the length: see [`Wrap::unit_range_um`].
    ///
    /// With soft interlayers this is the larger radius where a face beside one of them decides.
    /// # Errors
    /// As [`Wrap::least_radius`].
    pub fn least_radius_along(
        &self,
        face: ContactFace,
        limits: &[PlyLimit],
        membrane: f64,
    ) -> Result<LeastRadius, WrapError> {
        self.least_for(face, limits, membrane, |interface| self.range_um[interface])
    }

    fn least_for(
        &self,
        face: ContactFace,
        limits: &[PlyLimit],
        membrane: f64,
        range_um: impl Fn(usize) -> [f64; 2],
    ) -> Result<LeastRadius, WrapError> {
        if !membrane.is_finite() {
            return Err(WrapError::Membrane { value: membrane });
        }
        let (sign, depth_um) = self.contact(face);
        let mut least = LeastRadius::Any;
        let mut none = None;
        for limit in limits {
            let ply = limit.ply;
            if ply >= self.names.len() {
                return Err(WrapError::NoSuchPly { ply, count: self.names.len() });
            }
            let compression = limit.compression.map(|value| (value, false));
            for (value, in_tension) in [(limit.tension, true)].into_iter().chain(compression) {
                if !(value.is_finite() && value > 0.0) {
                    return Err(WrapError::Limit { ply, value });
                }
                let side = if in_tension { 1.0 } else { -1.0 };
                let left = value - side * membrane;
                if left <= 0.0 {
                    none = none.or(Some(LeastRadius::None { ply, in_tension }));
                    continue;
                }
                for unit_um in [range_um(ply), range_um(ply + 1)].into_iter().flatten() {
                    let radius_um = side * sign * unit_um / left - depth_um;
                    let most = least.radius_um().unwrap_or(0.0);
                    if radius_um > most {
                        if !radius_um.is_finite() {
                            let quantity = "least radius in µm";
                            return Err(WrapError::OutOfNumbers { quantity, value: radius_um });
                        }
                        least = LeastRadius::Radius { radius_um, ply, in_tension };
                    }
                }
            }
        }
        Ok(none.unwrap_or(least))
    }
}
