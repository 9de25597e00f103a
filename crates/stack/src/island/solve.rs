//! Rows of islands that keep a wanted strain.

use super::error::positive;
use super::{IslandError, IslandField, IslandRow};

/// Thinnest island looked at, over the thickness of the sheet.
const THINNEST: f64 = 1e-6;
/// Shortest island looked at and smallest gap left, over the pitch.
const SHORTEST: f64 = 1e-6;

/// What came of looking for a value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Solved {
    /// The wanted strain is just reached at this value, µm.
    At(f64),
    /// Every value in the range looked at keeps it.
    Always,
    /// No value in the range does; the best strain reached.
    Never {
        /// The least strain over the range.
        least_strain: f64,
    },
}

impl IslandRow {
    /// The least thickness of the islands at which their strain stays within `wanted`, µm.
    ///
    /// The strain falls as islands grow thicker, although the sheet between them then stretches more: with
    /// `φ = A/(A + S)` and g = 1 − tanh(λa)/(λa), it is `e P (1 − φ)(1 − 1/cosh λa)/(P − φ L g)`; φ grows and λ falls with
    /// the thickness, and (1 − φ)/(P − φ L g) falls with φ as L g < P. The same holds of the half-space value
    /// (`e_far` grows slower than A). So there is one answer. It is not so for the modulus: stiffer islands are
    /// also stiffer in shear, and thick ones may strain more at first.
    ///
    /// * `global_stretch`: stretch of the row, above 0. `wanted`: strain at the island's centre, above 0.
    ///
    /// Looks from a millionth of the sheet's thickness up to the island's length, beyond which it is no plate.
    ///
    /// # Errors
    /// [`IslandError`] for a stretch or a strain that is not above 0, or values that leave the range of numbers.
    ///
    /// ```
    /// use ogee_stack::{IslandRow, Plate, Solved};
    ///
    /// let elastomer = Plate { thickness_um: 500.0, modulus_mpa: 1.8, poisson: 0.49 };
    /// let polyimide = Plate { thickness_um: 50.0, modulus_mpa: 2500.0, poisson: 0.34 };
    /// let row = IslandRow::new(elastomer, polyimide, None, 3000.0, 6000.0)?;
    /// let Solved::At(thickness_um) = row.thickness_for_strain(0.01, 1e-4)? else { panic!() };
    /// let thicker = row.with_island_thickness(thickness_um)?.stretched(0.01)?;
    /// assert!((thicker.island_centre_strain - 1e-4).abs() < 1e-12);
    /// # Ok::<(), ogee_stack::IslandError>(())
    /// ```
    pub fn thickness_for_strain(&self, global_stretch: f64, wanted: f64) -> Result<Solved, IslandError> {
        check(global_stretch, wanted)?;
        let strain = |thickness_um: f64| -> Result<f64, IslandError> {
            let row = self.with_island_thickness(thickness_um)?;
            Ok(row.island_strain(global_stretch * row.amplification()))
        };
        let thinnest_um = THINNEST * self.sheet().thickness_um.min(self.island_length_um());
        if strain(thinnest_um)? <= wanted {
            return Ok(Solved::Always);
        }
        let least_strain = strain(self.island_length_um())?;
        if least_strain > wanted {
            return Ok(Solved::Never { least_strain });
        }
        bisect(self.island_length_um(), thinnest_um, |thickness_um| Ok(strain(thickness_um)? <= wanted))
            .map(Solved::At)
    }

    /// The greatest length of the islands up to which their strain stays within `wanted`, at the same pitch, µm.
    ///
    /// The strain grows with the length in both models. Where they meet, at a half-length of 1.5 sheet thicknesses, it may
    /// step down (with a soft adhesive, which the half-space leaves out); the answer is then the shorter one, so that
    /// every island that is not longer keeps the strain.
    ///
    /// * `global_stretch`: stretch of the row, above 0. `wanted`: strain at the island's centre, above 0.
    ///
    /// Looks from a millionth of the pitch up to a gap of a millionth of it.
    ///
    /// # Errors
    /// As [`Self::thickness_for_strain`].
    pub fn length_for_strain(&self, global_stretch: f64, wanted: f64) -> Result<Solved, IslandError> {
        check(global_stretch, wanted)?;
        let strain = |length_um: f64| -> Result<f64, IslandError> {
            let row = self.with_island_length(length_um)?;
            Ok(row.island_strain(global_stretch * row.amplification()))
        };
        // The last length that counts as short closes the first branch; the second begins beyond it.
        let longest_um = (1.0 - SHORTEST) * self.pitch_um();
        let last_short_um = self.short_below_um().next_down();
        let mut shortest_um = SHORTEST * self.pitch_um();
        if shortest_um < last_short_um && last_short_um < longest_um {
            match grows_past(shortest_um, last_short_um, wanted, strain)? {
                Solved::Always => shortest_um = self.short_below_um(),
                found => return Ok(found),
            }
            if strain(shortest_um)? > wanted {
                return Ok(Solved::At(last_short_um));
            }
        }
        grows_past(shortest_um, longest_um, wanted, strain)
    }

    /// The greatest length of the islands up to which the strain between them stays within `wanted`, at the same pitch,
    /// µm; the strain between the islands grows with their length.
    ///
    /// * `global_stretch`: stretch of the row, above 0. `wanted`: strain between the islands, above 0.
    ///
    /// The strain beside the edges is higher, see [`edge_concentration`](crate::edge_concentration). Looks from a millionth
    /// of the pitch up to a gap of a millionth of it.
    ///
    /// # Errors
    /// As [`Self::thickness_for_strain`].
    pub fn length_for_interconnect_strain(
        &self,
        global_stretch: f64,
        wanted: f64,
    ) -> Result<Solved, IslandError> {
        check(global_stretch, wanted)?;
        let (shortest_um, longest_um) = (SHORTEST * self.pitch_um(), (1.0 - SHORTEST) * self.pitch_um());
        grows_past(shortest_um, longest_um, wanted, |length_um| {
            Ok(global_stretch * self.with_island_length(length_um)?.amplification())
        })
    }

    /// The least pitch at which the strain between the islands stays within `wanted`, µm: `L_eff` w/(w − e).
    ///
    /// * `global_stretch`: e, above 0. `wanted`: w, the strain between the islands, above 0.
    ///
    /// [`Solved::Never`] where w ≤ e: the strain between the islands is never below the row's own; [`Solved::Always`]
    /// where any gap does.
    ///
    /// # Errors
    /// As [`Self::thickness_for_strain`].
    pub fn pitch_for_interconnect_strain(
        &self,
        global_stretch: f64,
        wanted: f64,
    ) -> Result<Solved, IslandError> {
        check(global_stretch, wanted)?;
        if wanted <= global_stretch {
            return Ok(Solved::Never { least_strain: global_stretch });
        }
        let value = self.effective_rigid_length_um() * (wanted / (wanted - global_stretch));
        if !value.is_finite() {
            return Err(IslandError::OutOfNumbers { quantity: "pitch", value });
        }
        Ok(if value <= self.island_length_um() { Solved::Always } else { Solved::At(value) })
    }
}

fn check(global_stretch: f64, wanted: f64) -> Result<(), IslandError> {
    positive(IslandField::GlobalStretch, global_stretch)?;
    positive(IslandField::WantedStrain, wanted)
}

/// Where a growing strain passes `wanted` between two values.
fn grows_past(
    from: f64,
    to: f64,
    wanted: f64,
    strain: impl Fn(f64) -> Result<f64, IslandError>,
) -> Result<Solved, IslandError> {
    if strain(to)? <= wanted {
        return Ok(Solved::Always);
    }
    let least_strain = strain(from)?;
    if least_strain > wanted {
        return Ok(Solved::Never { least_strain });
    }
    bisect(from, to, |value| Ok(strain(value)? <= wanted)).map(Solved::At)
}

/// The border between `good` and `bad` in logarithms, on the good side; 60 halvings leave nothing to halve.
fn bisect(
    mut good: f64,
    mut bad: f64,
    is_good: impl Fn(f64) -> Result<bool, IslandError>,
) -> Result<f64, IslandError> {
    for _ in 0..60 {
        let middle = good.sqrt() * bad.sqrt();
        if is_good(middle)? {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Ok(good)
}
