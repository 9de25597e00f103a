//! What a stretch does to a row of islands.

use std::f64::consts::FRAC_PI_8;
use std::fmt;

use super::error::finite;
use super::row::check_stretch;
use super::shear_lag::{cosh_deficit, cosh_ratio};
use super::{IslandError, IslandField, IslandRow};

/// An island whose half-length is below this many sheet thicknesses is short.
const SHORT_BELOW: f64 = 1.5;
/// From this Poisson's ratio on the sheet counts as nearly incompressible.
const INCOMPRESSIBLE_FROM: f64 = 0.49;
/// An island this many times stiffer in bending than the sheet does not bend.
const UNBENDING_FROM: f64 = 10.0;
/// Strain above which a linear model of an elastomer is off visibly.
const LINEAR_UP_TO: f64 = 0.05;
/// Bending strain of an island on a sheet that is free to bow, over the strain between the islands.
const BOWED: (f64, f64) = (0.01, 0.15);

/// A row of islands under a stretch.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretched {
    /// 1/λ, µm: how far in from its edges an island is loaded.
    pub transfer_length_um: f64,
    /// Length of a rigid island with the same effect on the sheet between, µm.
    pub effective_rigid_length_um: f64,
    /// Strain between the islands over the stretch of the row.
    pub amplification: f64,
    /// The same for rigid islands: the upper bound.
    pub amplification_rigid: f64,
    /// Strain of the sheet between the islands, away from their edges.
    pub interconnect_strain: f64,
    /// Upper bound of the strain between the islands, from rigid islands; holds at any stretch.
    pub interconnect_strain_rigid: f64,
    /// Strain of an island at its centre, mean over its thickness: the shear-lag value; where the island is short the
    /// larger one of it and the half-space value, the latter at most what a long island would have.
    pub island_centre_strain: f64,
    /// The shear-lag value of the strain at the island's centre, `e_far (1 − φ)(1 − 1/cosh λa)`.
    pub shear_lag_island_strain: f64,
    /// The strain of an island on a half-space, `E*_s e_far a/(2 E*_i h_i)`: the better estimate where its half-length a is
    /// below 1.5 sheet thicknesses; leaves out the adhesive.
    pub halfspace_island_strain: f64,
    /// Strain of the sheet under the island's centre, mean over its thickness.
    pub sheet_centre_strain: f64,
    /// Shear stress between island and sheet at the edge, `MPa`; mean over about one transfer length, the peak at the very
    /// edge is singular.
    pub edge_shear_stress_mpa: f64,
    /// Upper bound of the energy released per area when the edge of a stiff island peels off, µN/µm (= J/m²):
    /// min(π/8 `E*_s` `e_far²` a, ½ `E*_s` `e_far²` `h_s`). Compare with the toughness of the bond.
    pub debond_energy_bound_un_per_um: f64,
    /// Size of the bending strain at an island's faces where the sheet is free to bow, least and greatest: the load steps
    /// up to the island, its top face goes into compression, its underside into tension. 1 to 15 % of the strain between
    /// the islands in the rows solved; short islands down to nothing.
    pub bowed_face_strain: (f64, f64),
    /// Where the model stops.
    pub notes: Vec<IslandNote>,
}

/// What to keep in mind about a result.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum IslandNote {
    /// The island is short against the sheet: shear lag is poor.
    ShortIsland {
        /// Half-length over the thickness of the sheet; below 1.5.
        half_length_over_sheet_thickness: f64,
    },
    /// A thick unbending island on a nearly incompressible sheet: the transfer length goes down to a quarter of the
    /// sheet's thickness.
    NearlyIncompressible {
        /// Amplification by shear lag.
        from: f64,
        /// Amplification by rigid islands.
        to: f64,
    },
    /// All values hold for an underside held flat.
    FreeToBow {
        /// Least bending strain of the island's faces where the sheet may bow.
        least: f64,
        /// Greatest such strain.
        greatest: f64,
    },
    /// The strain between the islands is beyond the linear range.
    LargeStrain {
        /// Strain between the islands.
        strain: f64,
        /// The bound that holds at any stretch.
        bound: f64,
    },
    /// The row is pushed together: a thin sheet buckles rather than shortens.
    Compressed,
}

impl fmt::Display for IslandNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ShortIsland { half_length_over_sheet_thickness: ratio } => write!(
                f,
                "short island: its half-length is {ratio:.2} sheet thicknesses, below {SHORT_BELOW}; the larger of the \
                 shear-lag and the half-space strain is shown, with an adhesive an upper estimate"
            ),
            Self::NearlyIncompressible { from, to } => write!(
                f,
                "thick unbending island on a nearly incompressible sheet: the amplification lies between {from:.3} \
                 (shear lag) and {to:.3} (rigid islands)"
            ),
            Self::FreeToBow { least, greatest } => write!(
                f,
                "for an underside held flat; where the sheet is free to bow, the amplification is lower and the \
                 island's faces bend by {:.3} to {:.3} %, the top in compression",
                100.0 * least,
                100.0 * greatest
            ),
            Self::LargeStrain { strain, bound } => write!(
                f,
                "linear model: a strain of {:.1} % between the islands is above {:.0} %; it stays below {:.1} % at any \
                 stiffness",
                100.0 * strain,
                100.0 * LINEAR_UP_TO,
                100.0 * bound
            ),
            Self::Compressed => {
                f.write_str("the row is pushed together: a thin sheet buckles rather than shortens")
            }
        }
    }
}

/// Strains at one place along a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StrainAlong {
    /// Strain of the island, mean over its thickness; `None` between the islands.
    pub island: Option<f64>,
    /// Strain of the sheet, mean over its thickness.
    pub sheet: f64,
    /// Shear stress between both, `MPa`, positive where it pulls the island towards +x; zero between the islands.
    pub shear_stress_mpa: f64,
}

impl IslandRow {
    /// The row under a stretch.
    ///
    /// * `global_stretch`: elongation of the row over its length; 0.01 is 1 %. Negative values push it together.
    /// # Errors
    /// [`IslandError`] for a stretch that is not a number above −1, or values that leave the range of numbers.
    pub fn stretched(&self, global_stretch: f64) -> Result<Stretched, IslandError> {
        check_stretch(global_stretch)?;
        let amplification = self.amplification();
        let amplification_rigid = self.amplification_rigid();
        let far = global_stretch * amplification;
        let sheet_mpa = self.sheet().plane_strain_mpa();
        let shear_lag = self.shear_lag_strain(far);
        let halfspace = self.halfspace_strain(far);
        let half_um = 0.5 * self.island_length_um();
        let depth_um = (FRAC_PI_8 * half_um).min(0.5 * self.sheet().thickness_um);
        let ratio = self.half_length_over_transfer();
        let result = Stretched {
            transfer_length_um: self.transfer_length_um(),
            effective_rigid_length_um: self.effective_rigid_length_um(),
            amplification,
            amplification_rigid,
            interconnect_strain: far,
            interconnect_strain_rigid: global_stretch * amplification_rigid,
            island_centre_strain: self.island_strain(far),
            shear_lag_island_strain: shear_lag,
            halfspace_island_strain: halfspace,
            sheet_centre_strain: far * (self.sheet_share() + self.island_share() * cosh_ratio(0.0, ratio)),
            edge_shear_stress_mpa: self.interface_mpa_per_um()
                * far
                * ratio.tanh()
                * self.transfer_length_um(),
            debond_energy_bound_un_per_um: sheet_mpa * far * far * depth_um,
            bowed_face_strain: (BOWED.0 * far.abs(), BOWED.1 * far.abs()),
            notes: self.notes(global_stretch, far),
        };
        for (quantity, value) in [
            ("interconnect strain", result.interconnect_strain),
            ("bound of the interconnect strain", result.interconnect_strain_rigid),
            ("strain of the island", result.island_centre_strain),
            ("half-space strain of the island", result.halfspace_island_strain),
            ("strain of the sheet", result.sheet_centre_strain),
            ("shear stress at the edge", result.edge_shear_stress_mpa),
            ("debonding energy", result.debond_energy_bound_un_per_um),
        ] {
            if !value.is_finite() {
                return Err(IslandError::OutOfNumbers { quantity, value });
            }
        }
        Ok(result)
    }

    /// Strains and shear at a place along the row, by shear lag.
    ///
    /// * `place_um`: distance from the centre of an island, µm; the row goes on with its pitch to both sides.
    /// # Errors
    /// [`IslandError`] for a stretch that is not a number above −1, a place that is not a number, or values that leave
    /// the range of numbers.
    pub fn strain_along(&self, global_stretch: f64, place_um: f64) -> Result<StrainAlong, IslandError> {
        check_stretch(global_stretch)?;
        finite(IslandField::Place, place_um)?;
        let far = global_stretch * self.amplification();
        // Distance from the nearest island's centre, with its sign.
        let folded_um = place_um - self.pitch_um() * (place_um / self.pitch_um()).round();
        let whole = self.half_length_over_transfer();
        let part = folded_um.abs() / self.transfer_length_um();
        if part > whole {
            return Ok(StrainAlong { island: None, sheet: far, shear_stress_mpa: 0.0 });
        }
        // sinh(part)/cosh(whole)
        let slope = part.tanh() * cosh_ratio(part, whole);
        let along = StrainAlong {
            island: Some(far * self.sheet_share() * cosh_deficit(part, whole)),
            sheet: far * (self.sheet_share() + self.island_share() * cosh_ratio(part, whole)),
            shear_stress_mpa: self.interface_mpa_per_um()
                * far
                * self.transfer_length_um()
                * slope.copysign(folded_um),
        };
        for (quantity, value) in
            [("strain of the sheet", along.sheet), ("shear stress", along.shear_stress_mpa)]
        {
            if !value.is_finite() {
                return Err(IslandError::OutOfNumbers { quantity, value });
            }
        }
        Ok(along)
    }

    fn shear_lag_strain(&self, far: f64) -> f64 {
        far * self.sheet_share() * cosh_deficit(0.0, self.half_length_over_transfer())
    }

    fn halfspace_strain(&self, far: f64) -> f64 {
        let sheet_mpa = self.sheet().plane_strain_mpa();
        far * sheet_mpa * 0.25 * self.island_length_um() / self.island().stiffness_un_per_um()
    }

    /// Strain at the island's centre, by the better of the two models, for a strain `far` between the islands.
    pub(super) fn island_strain(&self, far: f64) -> f64 {
        let shear_lag = self.shear_lag_strain(far);
        if !self.is_short() {
            return shear_lag;
        }
        let capped = self.halfspace_strain(far.abs()).min(far.abs() * self.sheet_share());
        shear_lag.abs().max(capped).copysign(far)
    }

    /// Whether the half-space estimate counts.
    pub(super) fn is_short(&self) -> bool {
        0.5 * self.island_length_um() < SHORT_BELOW * self.sheet().thickness_um
    }

    /// The length at which islands stop being short, µm.
    pub(super) fn short_below_um(&self) -> f64 {
        2.0 * SHORT_BELOW * self.sheet().thickness_um
    }

    fn notes(&self, global_stretch: f64, far: f64) -> Vec<IslandNote> {
        let (sheet, island) = (self.sheet(), self.island());
        let mut notes = Vec::new();
        if self.is_short() {
            notes.push(IslandNote::ShortIsland {
                half_length_over_sheet_thickness: 0.5 * self.island_length_um() / sheet.thickness_um,
            });
        }
        let thickness = island.thickness_um / sheet.thickness_um;
        let bending = island.plane_strain_mpa() / sheet.plane_strain_mpa() * thickness.powi(3);
        if sheet.poisson >= INCOMPRESSIBLE_FROM && bending >= UNBENDING_FROM && self.adhesive().is_none() {
            notes.push(IslandNote::NearlyIncompressible {
                from: self.amplification(),
                to: self.amplification_rigid(),
            });
        }
        if far != 0.0 {
            notes.push(IslandNote::FreeToBow { least: BOWED.0 * far.abs(), greatest: BOWED.1 * far.abs() });
        }
        if far.abs() > LINEAR_UP_TO {
            let bound = global_stretch.abs() * self.amplification_rigid();
            notes.push(IslandNote::LargeStrain { strain: far.abs(), bound });
        }
        if global_stretch < 0.0 {
            notes.push(IslandNote::Compressed);
        }
        notes
    }
}
