//! A row of islands as it is given.

use super::error::{finite, inside, positive};
use super::shear_lag::held_share;
use super::{IslandError, IslandField};

/// Share of the sheet's thickness whose shear compliance counts, fitted to two-dimensional solutions.
const SHEET_SHEAR_SHARE: f64 = 0.12;

/// A plate: the sheet, or an island on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plate {
    /// Thickness, µm.
    pub thickness_um: f64,
    /// Young's modulus, `MPa`.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless, between −1 and 0.5.
    pub poisson: f64,
}

impl Plate {
    /// E/(1 − ν²), `MPa`: the modulus of a plate that cannot contract across the pull.
    pub(super) fn plane_strain_mpa(&self) -> f64 {
        self.modulus_mpa / (1.0 - self.poisson * self.poisson)
    }

    fn shear_mpa(&self) -> f64 {
        0.5 * self.modulus_mpa / (1.0 + self.poisson)
    }

    /// Stiffness against stretch per width, µN/µm.
    pub(super) fn stiffness_un_per_um(&self) -> f64 {
        self.plane_strain_mpa() * self.thickness_um
    }
}

/// The layer between island and sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adhesive {
    /// Thickness, µm.
    pub thickness_um: f64,
    /// Shear modulus, `MPa`; E/(2(1 + ν)).
    pub shear_modulus_mpa: f64,
}

/// A row of equal stiff islands on a sheet that is pulled along the row.
///
/// Between the islands the sheet stretches more than the row as a whole, under them hardly at all. How much depends on how
/// far in from its edges an island is loaded: the transfer length.
///
/// # Model: shear lag
///
/// `A = E*_i h_i` and `S = E*_s h_s` are the stiffnesses of island and sheet per width, E* = E/(1 − ν²), `φ = A/(A + S)`,
/// a half the island's length L. An interface of stiffness k (stress per slip) joins the mean displacements u of both:
///
/// ```text
/// A u_i″ = k (u_i − u_s),   S u_s″ = −k (u_i − u_s),   |x| < a,   A u_i′(±a) = 0,   u_s′(±a) = e_far
/// 1/k = 0.12 h_s/G_s + h_i/(3 G_i) + h_a/G_a,   λ² = k (1/A + 1/S)
/// ```
///
/// The force `A e_i + S e_s = S e_far` is the same everywhere, and the strain difference obeys d″ = λ² d, so that
///
/// ```text
/// e_i(x)  = e_far (1 − φ)(1 − cosh λx / cosh λa)
/// e_s(x)  = e_far (1 − φ + φ cosh λx / cosh λa)
/// shear stress = k e_far sinh λx / (λ cosh λa),   greatest at the edge: k e_far tanh(λa)/λ
/// e P = e_far (P − L_eff),   L_eff = φ L (1 − tanh(λa)/(λa))
/// ```
///
/// with P the pitch, e the stretch of the row and 1/λ the transfer length. An interconnect on the sheet sees
/// `e_far = e P/(P − L_eff)`, and never more than e P/(P − L): that bound holds at any stretch.
///
/// # How exact
///
/// The 0.12 is fitted to two-dimensional solutions with the underside held flat (a linear shear profile would give 1/3 and
/// too low an amplification: 1.45 where elements give 1.63 and this model 1.62). Over the seven rows of the reference table
/// the amplification is within 3 % of plane-strain elements, the island's strain within 7 % where L > 3 `h_s`. Where it
/// stops is told by [`IslandNote`](crate::IslandNote) beside each result. Islands in several rows side by side: the
/// formulas hold for one row's strip if the sheet beside it is equally long; a grid in two directions lies between this
/// and the row's own stretch.
///
/// ```
/// use ogee_stack::{IslandRow, Plate};
///
/// let elastomer = Plate { thickness_um: 500.0, modulus_mpa: 1.8, poisson: 0.49 };
/// let polyimide = Plate { thickness_um: 50.0, modulus_mpa: 2500.0, poisson: 0.34 };
/// let row = IslandRow::new(elastomer, polyimide, None, 3000.0, 6000.0)?;
/// let pulled = row.stretched(0.01)?;
/// assert!((pulled.amplification - 1.6206).abs() < 1e-4);
/// assert!(pulled.interconnect_strain < 0.02); // the bound for rigid islands
/// # Ok::<(), ogee_stack::IslandError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IslandRow {
    sheet: Plate,
    island: Plate,
    adhesive: Option<Adhesive>,
    island_length_um: f64,
    pitch_um: f64,
}

impl IslandRow {
    /// A row of islands of `island_length_um` whose centres are `pitch_um` apart, both along the pull, µm.
    ///
    /// * `adhesive`: the layer between both; `None` where they are bonded face to face.
    /// # Errors
    /// [`IslandError`] for a length, thickness or modulus that is not above 0 and finite, a Poisson's ratio outside −1 to
    /// 0.5, islands that are not shorter than the pitch, or values that leave the range of numbers.
    pub fn new(
        sheet: Plate,
        island: Plate,
        adhesive: Option<Adhesive>,
        island_length_um: f64,
        pitch_um: f64,
    ) -> Result<Self, IslandError> {
        use IslandField as F;
        positive(F::SheetThickness, sheet.thickness_um)?;
        positive(F::SheetModulus, sheet.modulus_mpa)?;
        inside(F::SheetPoisson, sheet.poisson, -1.0, 0.5)?;
        positive(F::IslandThickness, island.thickness_um)?;
        positive(F::IslandModulus, island.modulus_mpa)?;
        inside(F::IslandPoisson, island.poisson, -1.0, 0.5)?;
        if let Some(layer) = adhesive {
            positive(F::AdhesiveThickness, layer.thickness_um)?;
            positive(F::AdhesiveShearModulus, layer.shear_modulus_mpa)?;
        }
        positive(F::IslandLength, island_length_um)?;
        positive(F::Pitch, pitch_um)?;
        if island_length_um >= pitch_um {
            return Err(IslandError::NoGap { length_um: island_length_um, pitch_um });
        }
        let row = Self { sheet, island, adhesive, island_length_um, pitch_um };
        for (quantity, value) in [
            ("stiffness of the sheet", sheet.stiffness_un_per_um()),
            ("stiffness of the island", island.stiffness_un_per_um()),
            ("stiffness of the interface", row.interface_mpa_per_um()),
            ("transfer length", row.transfer_length_um()),
            ("amplification", row.amplification()),
            ("amplification", row.amplification_rigid()),
        ] {
            if !(value.is_finite() && value > 0.0) {
                return Err(IslandError::OutOfNumbers { quantity, value });
            }
        }
        Ok(row)
    }

    /// The sheet.
    pub fn sheet(&self) -> Plate {
        self.sheet
    }

    /// The island.
    pub fn island(&self) -> Plate {
        self.island
    }

    /// The adhesive, where there is one.
    pub fn adhesive(&self) -> Option<Adhesive> {
        self.adhesive
    }

    /// Length of an island along the pull, µm.
    pub fn island_length_um(&self) -> f64 {
        self.island_length_um
    }

    /// Distance of the islands' centres, µm.
    pub fn pitch_um(&self) -> f64 {
        self.pitch_um
    }

    /// The same row with islands of another thickness, µm.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with_island_thickness(&self, thickness_um: f64) -> Result<Self, IslandError> {
        let island = Plate { thickness_um, ..self.island };
        Self::new(self.sheet, island, self.adhesive, self.island_length_um, self.pitch_um)
    }

    /// The same row with islands of another length, µm.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with_island_length(&self, length_um: f64) -> Result<Self, IslandError> {
        Self::new(self.sheet, self.island, self.adhesive, length_um, self.pitch_um)
    }

    /// 1/λ, µm: how far in from its edges an island is loaded.
    pub fn transfer_length_um(&self) -> f64 {
        let give = 1.0 / self.island.stiffness_un_per_um() + 1.0 / self.sheet.stiffness_un_per_um();
        1.0 / (self.interface_mpa_per_um() * give).sqrt()
    }

    /// `L_eff = φ L (1 − tanh(λa)/(λa))`, µm: the length of a rigid island with the same effect on the sheet between.
    pub fn effective_rigid_length_um(&self) -> f64 {
        self.island_share() * self.island_length_um * held_share(self.half_length_over_transfer())
    }

    /// Strain of the sheet between the islands over the stretch of the row, dimensionless.
    pub fn amplification(&self) -> f64 {
        self.pitch_um / (self.pitch_um - self.effective_rigid_length_um())
    }

    /// The same for rigid islands, P/(P − L): the upper bound.
    pub fn amplification_rigid(&self) -> f64 {
        self.pitch_um / (self.pitch_um - self.island_length_um)
    }

    /// k, MPa/µm: shear stress per slip of the mean displacements.
    pub(super) fn interface_mpa_per_um(&self) -> f64 {
        let adhesive = self.adhesive.map_or(0.0, |layer| layer.thickness_um / layer.shear_modulus_mpa);
        let sheet = SHEET_SHEAR_SHARE * self.sheet.thickness_um / self.sheet.shear_mpa();
        1.0 / (sheet + self.island.thickness_um / (3.0 * self.island.shear_mpa()) + adhesive)
    }

    /// φ: share of the force that a long island takes over.
    pub(super) fn island_share(&self) -> f64 {
        let (a, s) = (self.island.stiffness_un_per_um(), self.sheet.stiffness_un_per_um());
        1.0 / (1.0 + s / a)
    }

    /// 1 − φ, without cancellation where the island is far stiffer.
    pub(super) fn sheet_share(&self) -> f64 {
        let (a, s) = (self.island.stiffness_un_per_um(), self.sheet.stiffness_un_per_um());
        1.0 / (1.0 + a / s)
    }

    /// λa.
    pub(super) fn half_length_over_transfer(&self) -> f64 {
        0.5 * self.island_length_um / self.transfer_length_um()
    }
}

/// A stretch is above −1, at which nothing would be left.
pub(super) fn check_stretch(global_stretch: f64) -> Result<(), IslandError> {
    let field = IslandField::GlobalStretch;
    finite(field, global_stretch)?;
    if global_stretch > -1.0 {
        return Ok(());
    }
    Err(IslandError::Outside { field, value: global_stretch, least: -1.0, greatest: f64::INFINITY })
}
