//! Bending stiffness between the narrow beam and the wide plate.

use crate::{ModulusKind, Section, SectionError};

/// Beyond this number the two edges do not see each other to the last digit.
const FAR: f64 = 40.0;

/// How far a bent strip is on its way from a beam to a plate; see [`anticlastic`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anticlastic {
    /// b, dimensionless: the width over the distance at which an edge's curling dies away.
    pub number: f64,
    /// F for the moment, dimensionless: M/κ = E* I (1 − ν² F); 1 for a beam, 0 for a plate.
    pub moment_factor: f64,
    /// f for the energy, dimensionless: 2U/κ² = E* I (1 − ν² f); 1 for a beam, 0 for a plate.
    pub energy_factor: f64,
}

/// Bending stiffness of a section at one radius of bending.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BendingStiffness {
    /// b, dimensionless: below 1 a beam, far above 20 a plate.
    pub number: f64,
    /// Moment over curvature, µN·µm².
    pub ei_un_um2: f64,
    /// Twice the energy per length over the curvature's square, µN·µm².
    pub energy_un_um2: f64,
    /// The lower bound, each layer with E, µN·µm².
    pub beam_un_um2: f64,
    /// The upper bound, each layer with E/(1 − ν²), µN·µm².
    pub plate_un_um2: f64,
}

/// Why there is no bending stiffness at a radius.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum AnticlasticError {
    /// A length is not a number above zero.
    #[error("{quantity} of {value_um} µm is not allowed; it must be above 0 µm and finite")]
    NotPositive {
        /// Which length.
        quantity: &'static str,
        /// The value given, µm.
        value_um: f64,
    },
    /// Poisson's ratio outside the open range from −1 to 0.5.
    #[error("Poisson's ratio of {value} is not allowed; it must be above -1 and below 0.5")]
    Poisson {
        /// The value given, dimensionless.
        value: f64,
    },
    /// The values are so far apart that the number leaves the range of numbers.
    #[error("the anticlastic number comes out as {value}, outside the range of numbers; check the units")]
    OutOfNumbers {
        /// What it came out as.
        value: f64,
    },
    /// The stiffness of the section with the modulus of a plate leaves the range of numbers.
    #[error(transparent)]
    Section(#[from] SectionError),
}

/// How far a strip bent about one axis is on its way from a beam to a plate.
///
/// Bent lengthways a strip curls the other way across its width. A narrow one does so freely and resists with E I, a wide one
/// is held flat but for its edges and resists with E* I, E* = E/(1 − ν²). With
///
/// ```text
/// b = w [3(1 − ν²)]^¼/√(R t),   q = (cosh b − cos b)/(sinh b + sin b)
/// f = 2q/b                                          energy: 2U/κ² = E* I (1 − ν² f)
/// F = f + (b/4) df/db = 3q/(2b) + sinh b sin b/(sinh b + sin b)²      M/κ = E* I (1 − ν² F)
/// ```
///
/// The two differ because b grows with the curvature, M = dU/dκ. For b → 0 both tend to 1 (f ≈ 1 − b⁴/180, F ≈ 1 − b⁴/90), for
/// large b to 2/b and 3/(2b): 10 % and 7.5 % of the way to the beam are left at b = 20.
///
/// * `width_um`, `thickness_um`: of the strip. `radius_um`: R of its middle plane. `poisson`: ν.
///
/// # Where it stops
/// Small strain, a deflection across the width that is small against R, w < R. Far from the ends.
/// # Errors
/// [`AnticlasticError::NotPositive`], [`AnticlasticError::Poisson`], [`AnticlasticError::OutOfNumbers`].
/// # Source
/// Derived from the strip with free edges: D y'''' + (E t/R²) y = 0 across it, y'' = −ν/R and y''' = 0 at the edges, the
/// lengthways strain being y/R. F is the factor of D. G. Ashwell, The anticlastic curvature of rectangular beams and plates,
/// J. R. Aeronaut. Soc. 54, 708 (1950).
///
/// ```
/// use ogee_stack::anticlastic;
///
/// let narrow = anticlastic(20.0, 2000.0, 10.0, 0.34)?;
/// let wide = anticlastic(20_000.0, 2000.0, 10.0, 0.34)?;
/// assert!(narrow.moment_factor > 0.99 && wide.moment_factor < 0.01);
/// # Ok::<(), ogee_stack::AnticlasticError>(())
/// ```
pub fn anticlastic(
    width_um: f64,
    radius_um: f64,
    thickness_um: f64,
    poisson: f64,
) -> Result<Anticlastic, AnticlasticError> {
    check_length("width", width_um)?;
    check_length("thickness", thickness_um)?;
    check_length("radius of bending", radius_um)?;
    if !(poisson > -1.0 && poisson < 0.5) {
        return Err(AnticlasticError::Poisson { value: poisson });
    }
    let shape = (3.0 * (1.0 - poisson * poisson)).powf(0.25);
    Anticlastic::at(shape * width_um / radius_um.sqrt() / thickness_um.sqrt())
}

impl Anticlastic {
    fn at(number: f64) -> Result<Self, AnticlasticError> {
        if !number.is_finite() {
            return Err(AnticlasticError::OutOfNumbers { value: number });
        }
        let (moment_factor, energy_factor) = factors(number);
        Ok(Self { number, moment_factor, energy_factor })
    }
}

fn factors(b: f64) -> (f64, f64) {
    if b < 1e-3 {
        return (1.0, 1.0);
    }
    if b > FAR {
        return (1.5 / b, 2.0 / b);
    }
    let sum = b.sinh() + b.sin();
    // cosh b − cos b without its cancellation.
    let q = 2.0 * ((0.5 * b).sinh().powi(2) + (0.5 * b).sin().powi(2)) / sum;
    (1.5 * q / b + b.sinh() * b.sin() / (sum * sum), 2.0 * q / b)
}

fn check_length(quantity: &'static str, value_um: f64) -> Result<(), AnticlasticError> {
    if value_um.is_finite() && value_um > 0.0 {
        Ok(())
    } else {
        Err(AnticlasticError::NotPositive { quantity, value_um })
    }
}

impl Section {
    /// Stiffness against bending out of the plane to a given radius, between that of a beam and that of a plate.
    ///
    /// The bounds are the section's `EI_out` with E and with E/(1 − ν²) in every layer; [`anticlastic`] tells where between
    /// them the section is: EI = plate − (plate − beam) F. Its number takes the stack as the strip of one material with the
    /// same EA, `EI_plate` and width, `b⁴ = w⁴ EA/(4 R² EI_plate)`; the ν² of that strip is 1 − `EI_beam`/`EI_plate`.
    ///
    /// * `radius_um`: radius of the neutral plane. The width is the ribbon's; rows that are much narrower than it carry the
    ///   answer towards the beam, which is not accounted for.
    /// # Errors
    /// [`AnticlasticError::NotPositive`] for the radius, [`AnticlasticError::OutOfNumbers`], [`AnticlasticError::Section`].
    ///
    /// ```
    /// use ogee_stack::{Layer, Section};
    ///
    /// let foil = Section::new(5000.0, vec![Layer::new("foil", 5000.0, 25.0, 2500.0, 0.34).into()])?;
    /// let bent = foil.bending_stiffness_at_radius(3000.0)?;
    /// assert!(bent.beam_un_um2 < bent.ei_un_um2 && bent.ei_un_um2 < bent.plate_un_um2);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn bending_stiffness_at_radius(&self, radius_um: f64) -> Result<BendingStiffness, AnticlasticError> {
        check_length("radius of bending", radius_um)?;
        let beam = self.clone().with_modulus_kind(ModulusKind::Beam)?;
        let plate = self.clone().with_modulus_kind(ModulusKind::PlaneStrain)?;
        let (beam_un_um2, plate_un_um2) = (beam.ei_out_of_plane_un_um2(), plate.ei_out_of_plane_un_um2());
        let per_um2 = 0.25 * beam.ea_un() / plate_un_um2;
        let strip = Anticlastic::at(self.width_um() * per_um2.sqrt().sqrt() / radius_um.sqrt())?;
        let at = |factor: f64| plate_un_um2 - (plate_un_um2 - beam_un_um2) * factor;
        Ok(BendingStiffness {
            number: strip.number,
            ei_un_um2: at(strip.moment_factor),
            energy_un_um2: at(strip.energy_factor),
            beam_un_um2,
            plate_un_um2,
        })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::Layer;

    #[test]
    fn the_moment_is_the_slope_of_the_energy() {
        for b in [0.02, 0.3, 1.0, 2.5, 6.0, 15.0, 39.9, 41.0] {
            let step = 1e-4 * b;
            let slope = (factors(b + step).1 - factors(b - step).1) / (2.0 * step);
            let (moment, energy) = factors(b);
            assert!((moment - (energy + 0.25 * b * slope)).abs() < 1e-8, "{b}: {moment}");
        }
    }

    #[test]
    fn both_factors_have_their_limits() {
        for b in [1e-9, 1e-3, 0.01, 0.1] {
            let (moment, energy) = factors(b);
            assert!((moment - (1.0 - b.powi(4) / 90.0)).abs() < 1e-9, "{b}");
            assert!((energy - (1.0 - b.powi(4) / 180.0)).abs() < 1e-9, "{b}");
        }
        let (moment, energy) = factors(FAR * (1.0 - 1e-12));
        assert!((moment * FAR / 1.5 - 1.0).abs() < 1e-11 && (energy * FAR / 2.0 - 1.0).abs() < 1e-11);
    }

    #[test]
    fn a_layered_section_of_one_material_is_the_strip() {
        let layer = |thickness_um| Layer::new("polymer", 800.0, thickness_um, 2500.0, 0.34).into();
        let section = Section::new(800.0, vec![layer(10.0), layer(15.0)]).unwrap();
        let bent = section.bending_stiffness_at_radius(3000.0).unwrap();
        let strip = anticlastic(800.0, 3000.0, 25.0, 0.34).unwrap();
        assert!((bent.number / strip.number - 1.0).abs() < 1e-12);
        let expected = bent.plate_un_um2 * (1.0 - 0.34 * 0.34 * strip.moment_factor);
        assert!((bent.ei_un_um2 / expected - 1.0).abs() < 1e-12);
        assert!((bent.plate_un_um2 * (1.0 - 0.34 * 0.34) / bent.beam_un_um2 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn faults_name_the_length() {
        let fault = anticlastic(10.0, 0.0, 1.0, 0.3).unwrap_err();
        assert_eq!(
            fault.to_string(),
            "radius of bending of 0 µm is not allowed; it must be above 0 µm and finite"
        );
        assert!(matches!(anticlastic(10.0, 1.0, f64::NAN, 0.3), Err(AnticlasticError::NotPositive { .. })));
        assert!(matches!(anticlastic(10.0, 1.0, 1.0, 0.5), Err(AnticlasticError::Poisson { .. })));
        assert!(matches!(anticlastic(10.0, 1.0, 1.0, f64::NAN), Err(AnticlasticError::Poisson { .. })));
        assert!(matches!(
            anticlastic(1e300, 1e-300, 1e-300, 0.3),
            Err(AnticlasticError::OutOfNumbers { .. })
        ));
    }
}
