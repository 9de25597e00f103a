//! Bending a stack round a cylinder.

mod error;
mod limit;
mod modes;
mod note;
mod split;
#[cfg(test)]
mod tests;

pub use error::WrapError;
pub use limit::{LeastRadius, PlyLimit};
pub use note::WrapNote;

use crate::ply::check_plies;
use crate::{ModulusKind, Ply};
use modes::{Mode, Relative};

/// Plies of a wrap, at the most: its cost grows with their third power.
const MOST_PLIES: usize = 64;
/// Places between the middle and the end at which the strain is looked up, closer to each other towards the end.
const PLACES: u32 = 32;
/// Decay lengths from an end beyond which it is not felt in the last digit.
const FORGOTTEN: f64 = 45.0;

/// The face of a stack that lies on the cylinder.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum ContactFace {
    /// The bottom face: the top is in tension.
    #[default]
    Bottom,
    /// The top face: the bottom is in tension.
    Top,
}

/// A stack of plies bent round cylinders along a given length, with soft interlayers that let the plies slide.
///
/// The neutral plane of the bonded stack takes the curvature κ = 1/(R + `z_n`) with the bottom face on a cylinder of radius
/// R, −1/(R + T − `z_n`) with the top face, T the total thickness and `z_n` from the bottom; κ > 0 puts the top face in
/// tension. All plies share this curvature. Three strains are given, at the interfaces from the bottom face to the top face:
///
/// * **bonded**: ε = κ (z − `z_n`), plane sections through the whole stack;
/// * **mid-length**: the model below at the middle of the length, which lies between the others;
/// * **split**: soft interlayers resist no shear, and every group of other plies bends about its own neutral plane. Plies
///   count as soft interlayers when they, or a run of plies that they are part of, lie between two plies more than 20
///   times as stiff; the smallest such runs are taken. A soft layer on the outside slides over nothing and stays with its
///   neighbour. Without soft interlayers this is the bonded strain.
///
/// # The model
/// Every interface k = 0…N has its own displacement `U_k(x)`, linear in z inside a ply:
///
/// ```text
/// A U'' = K U − κ x g,   U'(±L/2) = 0,
/// A = Σ_i E_i t_i/6 [2 1; 1 2],   K = Σ_i G_i/t_i [1 −1; −1 1],   g = Σ_i G_i [−1; 1]
/// ```
///
/// With `K φ_m = λ_m² A φ_m`, φᵀAφ = 1, `e_k = κ(z_k − z_n)` and `c_m = −φ_mᵀ A e`:
///
/// ```text
/// ε_k(x) = e_k + Σ_m φ_mk c_m cosh(λ_m x)/cosh(λ_m L/2)
/// γ_i(x) = Σ_m (φ_mi − φ_m,i−1) c_m/(λ_m t_i) sinh(λ_m x)/cosh(λ_m L/2)
/// ```
///
/// The ends are free of force. Far from them, several times `1/λ_1`, the stack is bonded; one that is short against `1/λ_1`
/// splits. Near the ends of a long one the plies split too: the faces beside a soft interlayer, in compression at mid-length,
/// say, may well be in tension there. [`Wrap::unit_range_um`] holds the least and the greatest strain anywhere but within one
/// thickness of the ends, where no model of plies holds. E is the modulus along the stack (see [`ModulusKind`]), G = E/(2(1 + ν)) in either case.
///
/// # Where it stops
/// Small strain, linear materials, contact all along. Against plane-strain elements whose contact face follows the cylinder
/// the strain at mid-length is off by less than 0.1 % for lengths over `3/λ_1` and by up to 1.4 % for short and very soft stacks,
/// whose covers lift at the ends. The shear at the ends is a mean over the ply's thickness; peel and the singular stress at
/// the edges are beyond the model. [`WrapNote`] tells which limit of validity is passed.
///
/// # Source
/// Derived here; the same structure for two plies as in S. Li, Y. Su, R. Li, Splitting of the neutral mechanical plane
/// depends on the length of the multi-layer structure of flexible electronics, Proc. R. Soc. A 472, 20160087 (2016).
///
/// ```
/// use ogee_stack::{ContactFace, ModulusKind, Ply, Wrap};
///
/// let polyimide = Ply::new("polyimide", 50.0, 2500.0, 0.34);
/// let elastomer = Ply::new("elastomer", 50.0, 1.8, 0.49);
/// let plies = [polyimide.clone(), elastomer, polyimide];
/// let outer = |length_um| {
///     let wrap = Wrap::new(&plies, ModulusKind::PlaneStrain, length_um)?;
///     Ok::<_, ogee_stack::WrapError>(wrap.at(3000.0, ContactFace::Bottom)?.mid[3])
/// };
/// // A soft core halves the strain of a short part, not that of a long one.
/// assert!((outer(5000.0)? - 0.0141).abs() < 1e-4 && (outer(20_000.0)? - 0.0239).abs() < 1e-4);
/// # Ok::<(), ogee_stack::WrapError>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Wrap {
    names: Vec<String>,
    length_um: f64,
    thickness_um: f64,
    neutral_um: f64,
    interfaces_um: Vec<f64>,
    bonded_um: Vec<f64>,
    mid_um: Vec<f64>,
    range_um: Vec<[f64; 2]>,
    split_um: Vec<[f64; 2]>,
    shear_um: Vec<f64>,
    soft: Vec<bool>,
    modes: Vec<Mode>,
}

/// The strains of a stack on one cylinder; see [`Wrap`].
#[derive(Clone, Debug, PartialEq)]
pub struct Wrapped {
    /// κ, 1/µm; above 0 with the top face in tension.
    pub curvature_per_um: f64,
    /// Strain at the interfaces of the bonded stack, from the bottom face to the top face, dimensionless.
    pub bonded: Vec<f64>,
    /// Strain at the interfaces at mid-length, dimensionless.
    pub mid: Vec<f64>,
    /// Least and greatest strain at the interfaces along the length, dimensionless; see [`Wrap::unit_range_um`].
    pub range: Vec<[f64; 2]>,
    /// Strain at the lower and the upper face of every ply with free sliding, dimensionless.
    pub split: Vec<[f64; 2]>,
    /// γ of every ply at the end x = +L/2, dimensionless, the largest along the length; −γ at the other end.
    pub end_shear: Vec<f64>,
    /// Limits of validity that are passed.
    pub notes: Vec<WrapNote>,
}

impl Wrap {
    /// Solves for the modes of sliding; everything else follows from them in proportion to the curvature.
    ///
    /// * `plies`: bottom to top. `kind`: modulus along the stack; a foil much wider than its radius times 20 thicknesses,
    ///   all under a root, bends in plane strain. `length_um`: wrapped length, free at both ends.
    /// # Errors
    /// [`WrapError::Ply`] for no ply, more than 64, or values out of range; [`WrapError::Length`];
    /// [`WrapError::OutOfNumbers`] where plies differ beyond the range of numbers; [`WrapError::NotConverged`], never seen.
    pub fn new(plies: &[Ply], kind: ModulusKind, length_um: f64) -> Result<Self, WrapError> {
        check_plies(plies, MOST_PLIES)?;
        if !(length_um.is_finite() && length_um > 0.0) {
            return Err(WrapError::Length { value_um: length_um });
        }
        let mut interfaces_um = vec![0.0];
        let mut thickness_um = 0.0;
        for ply in plies {
            thickness_um += ply.thickness_um;
            interfaces_um.push(thickness_um);
        }
        let along = |ply: &Ply| kind.effective_mpa(ply.modulus_mpa, ply.poisson);
        let stiffest_mpa = plies.iter().map(along).fold(0.0, f64::max);
        let relative: Vec<Relative> = plies
            .iter()
            .map(|ply| Relative {
                thickness: ply.thickness_um / thickness_um,
                modulus: along(ply) / stiffest_mpa,
                shear: ply.shear_mpa() / stiffest_mpa,
            })
            .collect();
        let weight = |i: usize| relative[i].modulus * relative[i].thickness;
        let middle_um = |i: usize| 0.5 * (interfaces_um[i] + interfaces_um[i + 1]);
        let stiffness: f64 = (0..plies.len()).map(weight).sum();
        let neutral_um = (0..plies.len()).map(|i| weight(i) * middle_um(i)).sum::<f64>() / stiffness;
        if !neutral_um.is_finite() {
            return Err(WrapError::OutOfNumbers { quantity: "neutral plane in µm", value: neutral_um });
        }
        let bonded_um: Vec<f64> = interfaces_um.iter().map(|z_um| z_um - neutral_um).collect();
        let modes = modes::modes(&relative, &bonded_um)?;
        let thicknesses_um: Vec<f64> = plies.iter().map(|ply| ply.thickness_um).collect();
        let soft = split::soft_plies(&relative);
        let split_um = split::split_um(&relative, &soft, &interfaces_um, &thicknesses_um);
        let mut wrap = Self {
            names: plies.iter().map(|ply| ply.name.clone()).collect(),
            length_um,
            thickness_um,
            neutral_um,
            interfaces_um,
            bonded_um,
            mid_um: Vec::new(),
            range_um: Vec::new(),
            split_um,
            shear_um: vec![0.0; plies.len()],
            soft,
            modes,
        };
        wrap.mid_um = wrap.unit_along_um(0.0);
        wrap.range_um = wrap.look_along();
        let half = 0.5 * length_um / thickness_um;
        for mode in &wrap.modes {
            let share = (mode.decay * half).tanh();
            for (sum, shear_um) in wrap.shear_um.iter_mut().zip(&mode.shear_um) {
                *sum += share * shear_um;
            }
        }
        let split = wrap.split_um.iter().flatten();
        match wrap.mid_um.iter().chain(&wrap.shear_um).chain(split).find(|value| !value.is_finite()) {
            Some(&value) => Err(WrapError::OutOfNumbers { quantity: "strain over curvature in µm", value }),
            None => Ok(wrap),
        }
    }

    /// Wrapped length, µm.
    pub fn length_um(&self) -> f64 {
        self.length_um
    }

    /// T: total thickness, µm.
    pub fn thickness_um(&self) -> f64 {
        self.thickness_um
    }

    /// `z_n`: neutral plane of the bonded stack above its bottom, µm.
    pub fn neutral_plane_um(&self) -> f64 {
        self.neutral_um
    }

    /// Heights of the interfaces above the bottom, from the bottom face to the top face, µm: one more than plies.
    pub fn interfaces_um(&self) -> &[f64] {
        &self.interfaces_um
    }

    /// `1/λ_1`: the longest distance over which an end is felt, µm. Parts several times as long are bonded at mid-length.
    ///
    /// Without a soft interlayer this is about the thickness.
    pub fn decay_length_um(&self) -> f64 {
        // Slowest first, and one mode per ply.
        self.modes.first().map_or(0.0, |mode| self.thickness_um / mode.decay)
    }

    /// Which plies count as soft interlayers, in the order of the plies; see [`Wrap`].
    pub fn soft_plies(&self) -> &[bool] {
        &self.soft
    }

    /// Strain at the interfaces of the bonded stack over curvature, `z − z_n`, µm.
    pub fn unit_bonded_um(&self) -> &[f64] {
        &self.bonded_um
    }

    /// Strain at the interfaces at mid-length over curvature, µm.
    pub fn unit_mid_um(&self) -> &[f64] {
        &self.mid_um
    }

    /// Least and greatest strain at the interfaces over curvature, µm, anywhere along the length but within one total thickness
    /// of the ends; mid-length alone where the stack is shorter than two thicknesses.
    ///
    /// Found at 33 places, good to about 1 % of the largest. For κ < 0 the two change places.
    pub fn unit_range_um(&self) -> &[[f64; 2]] {
        &self.range_um
    }

    /// Strain at the lower and upper face of every ply with free sliding over curvature, µm.
    pub fn unit_split_um(&self) -> &[[f64; 2]] {
        &self.split_um
    }

    /// γ of every ply at the end x = +L/2 over curvature, µm.
    pub fn unit_end_shear_um(&self) -> &[f64] {
        &self.shear_um
    }

    /// κ on a cylinder, 1/µm: 1/(R + `z_n`), or −1/(R + T − `z_n`) with the top face on it.
    ///
    /// # Errors
    /// [`WrapError::Radius`] unless the radius is above 0 and finite.
    pub fn curvature_per_um(&self, radius_um: f64, face: ContactFace) -> Result<f64, WrapError> {
        if !(radius_um.is_finite() && radius_um > 0.0) {
            return Err(WrapError::Radius { value_um: radius_um });
        }
        let (sign, depth_um) = self.contact(face);
        Ok(sign / (radius_um + depth_um))
    }

    /// Sign of the curvature and distance of the neutral plane from the cylinder.
    fn contact(&self, face: ContactFace) -> (f64, f64) {
        match face {
            ContactFace::Bottom => (1.0, self.neutral_um),
            ContactFace::Top => (-1.0, self.thickness_um - self.neutral_um),
        }
    }

    /// The stack on a cylinder, without pull.
    ///
    /// * `radius_um`: radius of the cylinder itself.
    /// # Errors
    /// As [`Wrap::curvature_per_um`].
    pub fn at(&self, radius_um: f64, face: ContactFace) -> Result<Wrapped, WrapError> {
        let curvature_per_um = self.curvature_per_um(radius_um, face)?;
        let times =
            |unit_um: &[f64]| unit_um.iter().map(|unit_um| curvature_per_um * unit_um).collect::<Vec<_>>();
        let mid = times(&self.mid_um);
        let end_shear = times(&self.shear_um);
        let range: Vec<_> = self.range_um.iter().map(|range| range_times(curvature_per_um, *range)).collect();
        let notes = self.notes(curvature_per_um, &mid, &range, &end_shear);
        Ok(Wrapped {
            curvature_per_um,
            bonded: times(&self.bonded_um),
            mid,
            range,
            split: self
                .split_um
                .iter()
                .map(|faces| faces.map(|unit_um| curvature_per_um * unit_um))
                .collect(),
            end_shear,
            notes,
        })
    }

    fn notes(
        &self,
        curvature_per_um: f64,
        mid: &[f64],
        range: &[[f64; 2]],
        end_shear: &[f64],
    ) -> Vec<WrapNote> {
        let mut notes = Vec::new();
        let length_over_thickness = self.length_um / self.thickness_um;
        if length_over_thickness < note::SHORT {
            notes.push(WrapNote::Short { length_over_thickness });
        }
        let thickness_over_radius = curvature_per_um.abs() * self.thickness_um;
        if thickness_over_radius >= note::THICK {
            notes.push(WrapNote::Thick { thickness_over_radius });
        }
        let largest = mid.iter().fold(0.0, |most: f64, strain| most.max(strain.abs()));
        for (ply, (name, shear)) in self.names.iter().zip(end_shear).enumerate() {
            let (lower, upper) = (mid[ply], mid[ply + 1]);
            let strain = if lower.abs() > upper.abs() { lower } else { upper };
            if !self.soft[ply] && strain.abs() > note::LARGE_STRAIN {
                notes.push(WrapNote::LargeStrain { ply, name: name.clone(), strain });
            }
            let (least, greatest) = (lower.min(upper), lower.max(upper));
            let beyond = [
                (range[ply][1].max(range[ply + 1][1]), greatest),
                (range[ply][0].min(range[ply + 1][0]), least),
            ];
            for (strain, at_middle) in beyond {
                if !self.soft[ply] && (strain - at_middle).abs() > note::ELSEWHERE * largest {
                    notes.push(WrapNote::LargerElsewhere { ply, name: name.clone(), strain, at_middle });
                }
            }
            if shear.abs() >= note::LARGE_SHEAR {
                notes.push(WrapNote::LargeShear { ply, name: name.clone(), shear: shear.abs() });
            }
        }
        notes
    }

    /// Strain at mid-length and height `z_um` above the bottom, dimensionless: linear between the interfaces.
    ///
    /// # Errors
    /// [`WrapError::Curvature`], or [`WrapError::Place`] where z is outside the stack.
    pub fn strain_at(&self, curvature_per_um: f64, z_um: f64) -> Result<f64, WrapError> {
        check_curvature(curvature_per_um)?;
        let (ply, share) = self.place(z_um)?;
        Ok(curvature_per_um * (self.mid_um[ply] * (1.0 - share) + self.mid_um[ply + 1] * share))
    }

    /// Least and greatest strain along the length at height `z_um` above the bottom, dimensionless: those of
    /// [`Wrap::unit_range_um`], linear between the interfaces, where they enclose the strain.
    ///
    /// # Errors
    /// As [`Wrap::strain_at`].
    pub fn strain_range_at(&self, curvature_per_um: f64, z_um: f64) -> Result<[f64; 2], WrapError> {
        check_curvature(curvature_per_um)?;
        let (ply, share) = self.place(z_um)?;
        let (below, above) = (self.range_um[ply], self.range_um[ply + 1]);
        let unit_um = [0, 1].map(|side| below[side] * (1.0 - share) + above[side] * share);
        Ok(range_times(curvature_per_um, unit_um))
    }

    /// The ply at a height, and the share of its thickness below it.
    fn place(&self, z_um: f64) -> Result<(usize, f64), WrapError> {
        if !(0.0..=self.thickness_um).contains(&z_um) {
            let to_um = self.thickness_um;
            return Err(WrapError::Place { axis: 'z', value_um: z_um, from_um: 0.0, to_um });
        }
        let inner = &self.interfaces_um[1..self.names.len()];
        let ply = inner.partition_point(|&interface_um| interface_um <= z_um);
        let (from_um, to_um) = (self.interfaces_um[ply], self.interfaces_um[ply + 1]);
        Ok((ply, (z_um - from_um) / (to_um - from_um)))
    }

    /// Strain at the interfaces at `x_um` from mid-length, dimensionless.
    ///
    /// # Errors
    /// [`WrapError::Curvature`], or [`WrapError::Place`] where x is beyond half the length.
    pub fn strain_along(&self, curvature_per_um: f64, x_um: f64) -> Result<Vec<f64>, WrapError> {
        check_curvature(curvature_per_um)?;
        let half_um = 0.5 * self.length_um;
        if !(-half_um..=half_um).contains(&x_um) {
            return Err(WrapError::Place { axis: 'x', value_um: x_um, from_um: -half_um, to_um: half_um });
        }
        Ok(self.unit_along_um(x_um).into_iter().map(|unit_um| curvature_per_um * unit_um).collect())
    }

    /// Least and greatest strain of each interface over curvature, from the middle to one thickness from the end.
    fn look_along(&self) -> Vec<[f64; 2]> {
        let mut range_um: Vec<[f64; 2]> = self.mid_um.iter().map(|&strain_um| [strain_um; 2]).collect();
        let half_um = 0.5 * self.length_um;
        let shrink = (self.thickness_um / half_um).powf(1.0 / f64::from(PLACES));
        if shrink < 1.0 {
            for place in 1..=PLACES {
                let strains_um = self.unit_along_um(half_um * (1.0 - shrink.powf(f64::from(place))));
                for (range_um, strain_um) in range_um.iter_mut().zip(strains_um) {
                    *range_um = [range_um[0].min(strain_um), range_um[1].max(strain_um)];
                }
            }
        }
        range_um
    }

    fn unit_along_um(&self, x_um: f64) -> Vec<f64> {
        let (x, half) = (x_um.abs() / self.thickness_um, 0.5 * self.length_um / self.thickness_um);
        let mut strains_um = self.bonded_um.clone();
        for mode in &self.modes {
            // cosh(λx)/cosh(λL/2), without its overflow.
            let depth = mode.decay * (half - x);
            if depth > FORGOTTEN {
                continue;
            }
            let share = (-depth).exp() * (1.0 + (-2.0 * mode.decay * x).exp())
                / (1.0 + (-2.0 * mode.decay * half).exp());
            for (sum, strain_um) in strains_um.iter_mut().zip(&mode.strain_um) {
                *sum += share * strain_um;
            }
        }
        strains_um
    }
}

/// A range of strains over curvature times the curvature.
fn range_times(curvature_per_um: f64, [least_um, greatest_um]: [f64; 2]) -> [f64; 2] {
    let ends = [curvature_per_um * least_um, curvature_per_um * greatest_um];
    [ends[0].min(ends[1]), ends[0].max(ends[1])]
}

fn check_curvature(value_per_um: f64) -> Result<(), WrapError> {
    if value_per_um.is_finite() { Ok(()) } else { Err(WrapError::Curvature { value_per_um }) }
}
