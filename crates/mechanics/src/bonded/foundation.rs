//! How stiffly an elastomer holds a ribbon, and when the ribbon wrinkles on it.

use std::{
    f64::consts::{FRAC_2_PI, LN_2, PI, TAU},
    fmt,
};

use crate::bonded::error::{BondedError, check_range};

/// Least and greatest Young's modulus in `MPa`.
const MODULUS_RANGE_MPA: [f64; 2] = [1e-6, 1e6];
const POISSON_RANGE: [f64; 2] = [0.0, 0.5];
const LENGTH_RANGE_UM: [f64; 2] = [1e-4, 1e9];
/// π w/(4h) above which the elliptic integrals are their asymptotes to rounding.
const WIDE_FROM: f64 = 18.0;
/// Waves fit well across the ribbon where it is this many times wider than they are long.
const WAVES_ACROSS: f64 = 5.0;
/// `3 E_s'/E_f'` up to which a film counts as stiff on its base.
const STIFF_UP_TO: f64 = 0.1;

/// What the elastomer rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Substrate {
    /// A layer bonded to a base that is stretched evenly and gives way to nothing.
    Layer,
    /// So thick that the meander's disturbance dies away in it.
    Thick,
    /// A thin film with nothing below.
    FreeFilm,
}

/// The elastomer that a ribbon is bonded to.
///
/// ```
/// use ogee_mechanics::{Closure, Foundation, Substrate};
///
/// let foundation = Foundation {
///     modulus_mpa: 1.0, poisson: 0.5, thickness_um: 500.0, substrate: Substrate::Thick, is_embedded: false,
/// };
/// let stiffness = foundation.stiffness(20.0, 400.0)?;
/// assert_eq!(stiffness.closure, Closure::ThickSubstrate);
/// assert!(stiffness.in_plane_mpa > 0.2 && stiffness.in_plane_mpa < 1.0);
/// # Ok::<(), ogee_mechanics::BondedError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foundation {
    /// Young's modulus of the elastomer, in MPa, from 1e-6 to 1e6.
    pub modulus_mpa: f64,
    /// Poisson's ratio of the elastomer, dimensionless, 0 to 0.5. It is the exponent of the contraction across the span,
    /// `(1 + e)^(−ν)`, where the elastomer's sides are free.
    pub poisson: f64,
    /// Thickness h of the elastomer, in µm: below the ribbon, of one side if it is embedded.
    pub thickness_um: f64,
    /// What the elastomer rests on.
    pub substrate: Substrate,
    /// Whether there is elastomer on both faces of the ribbon.
    pub is_embedded: bool,
}

/// How the foundation's stiffness was estimated. None of these is a measurement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Closure {
    /// k = 2 G K(m)/K(m') with the modulus m = tanh(π w/4h).
    StripOnLayer,
    /// The same with h replaced by (P/2π) tanh(2πh/P).
    ThickSubstrate,
    /// k = 4π G h/P.
    FreeFilm,
}

impl fmt::Display for Closure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::StripOnLayer => {
                "strip on a layer over a rigidly stretched base, 2 G K(m)/K(m'), m = tanh(πw/4h)"
            }
            Self::ThickSubstrate => "strip on a thick substrate, effective depth (P/2π) tanh(2πh/P)",
            Self::FreeFilm => "free thin film, 4π G h/P",
        })
    }
}

/// How far a [`Closure`] may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum ClosureNote {
    /// A layer shallow against the pitch.
    AlongExact,
    /// A layer deeper than P/2π.
    LayerDeep,
    /// A thick substrate.
    OrderOfMagnitude,
    /// A substrate called thick whose thickness is below P/2π.
    NotThick,
    /// A film of less than P/2π.
    FilmOrderOfMagnitude,
    /// A film called thin whose thickness is above P/2π, or stiffer by its own formula than a thick substrate.
    FilmNotThin,
}

impl fmt::Display for ClosureNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::AlongExact => {
                "exact for a straight strip that slides along itself; taken for the way across too, within about a \
                 factor of 2"
            }
            Self::LayerDeep => {
                "the layer is deeper than P/2π, where the disturbance has died away: treated as thick, order of magnitude"
            }
            Self::OrderOfMagnitude => "order of magnitude",
            Self::NotThick => {
                "the substrate is shallower than P/2π, so what it rests on matters: order of magnitude, give the base"
            }
            Self::FilmOrderOfMagnitude => "order of magnitude; the film is taken as much thinner than the pitch",
            Self::FilmNotThin => {
                "the film is not thin against the pitch: the value of a thick substrate bounds it, order of magnitude"
            }
        })
    }
}

/// Stiffness of an elastomer against a ribbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundationStiffness {
    /// k, force per length of ribbon and displacement in the plane, in MPa.
    pub in_plane_mpa: f64,
    /// `k_z`, force per length of ribbon and displacement out of the plane, in MPa: ½ E' q w with q = 2π/P, that of a half
    /// space with a wave of the pitch under a strip. Order of magnitude, too soft for a shallow layer.
    pub out_of_plane_mpa: f64,
    /// Depth over which the shear under the ribbon is spread, in µm.
    pub effective_depth_um: f64,
    /// Where k is from.
    pub closure: Closure,
    /// How far to trust it.
    pub note: ClosureNote,
}

impl FoundationStiffness {
    /// Bending length `λ_b = (EI/k)^¼` in µm of a ribbon of in-plane stiffness EI (µN·µm²). Below the ribbon's width the
    /// ribbon follows the substrate.
    pub fn bending_length_um(&self, ei_un_um2: f64) -> f64 {
        (ei_un_um2 / self.in_plane_mpa).powf(0.25)
    }

    /// K = k P⁴/EI, dimensionless. Below 50 the foundation may be ignored.
    pub fn relative(&self, ei_un_um2: f64, pitch_um: f64) -> f64 {
        self.in_plane_mpa * pitch_um.powi(4) / ei_un_um2
    }
}

/// A stiff film on an elastomer, for wrinkling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StiffFilm {
    /// Young's modulus of the film, in MPa; of a stack the effective one of out-of-plane bending.
    pub modulus_mpa: f64,
    /// Poisson's ratio of the film, dimensionless.
    pub poisson: f64,
    /// Thickness t of the film, in µm.
    pub thickness_um: f64,
    /// Width w of the film, in µm.
    pub width_um: f64,
}

/// When and how a compressed film wrinkles: an indicator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wrinkling {
    /// Compressive strain at which wrinkles appear, as a positive number.
    pub strain: f64,
    /// Length of the wrinkles, in µm.
    pub wavelength_um: f64,
    /// Whether the formulas hold here.
    pub note: WrinklingNote,
}

/// Whether the wrinkling formulas hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum WrinklingNote {
    /// The ribbon is much wider than the waves are long.
    Wide,
    /// The ribbon is less than five waves wide.
    Narrow,
    /// The elastomer is shallower than the waves are long.
    Shallow,
    /// The film is not much stiffer than the elastomer.
    NotStiff,
}

impl fmt::Display for WrinklingNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Wide => "thin stiff film on a thick soft base, even compression: an indicator",
            Self::Narrow => {
                "the ribbon is less than five wavelengths wide: it wrinkles later than that, if at all"
            }
            Self::Shallow => {
                "the elastomer is shallower than a wavelength: it wrinkles later than that, if at all"
            }
            Self::NotStiff => "the film is not much stiffer than the elastomer: the formula does not hold",
        })
    }
}

impl Foundation {
    fn check(&self) -> Result<(), BondedError> {
        check_range("elastomer modulus", "MPa", self.modulus_mpa, MODULUS_RANGE_MPA)?;
        check_range("elastomer Poisson's ratio", "(dimensionless)", self.poisson, POISSON_RANGE)?;
        check_range("elastomer thickness", "µm", self.thickness_um, LENGTH_RANGE_UM)
    }

    /// Shear modulus G in MPa.
    fn shear_mpa(&self) -> f64 {
        0.5 * self.modulus_mpa / (1.0 + self.poisson)
    }

    /// E/(1 − ν²) in MPa.
    fn plane_strain_mpa(&self) -> f64 {
        self.modulus_mpa / (1.0 - self.poisson * self.poisson)
    }

    /// Stiffness against a ribbon of width `width_um` that meanders with the pitch `pitch_um`.
    ///
    /// A strip that slides along itself on a layer over a rigid base has exactly k = 2 G K(m)/K(m'), m = tanh(π w/4h): the
    /// capacitance of a strip line. Plain shear lag G w/h is right for w ≫ h only. The disturbance of a meander dies away over
    /// P/2π, so that a deeper substrate counts as (P/2π) tanh(2πh/P) deep. A free film of h ≪ P has 4π G h/P, and no more than
    /// a thick substrate. An embedded ribbon is held twice as stiffly.
    ///
    /// # Source
    /// S. B. Cohn, Problems in strip transmission lines, 1955, for the strip; both limits are tested. The others are estimates
    /// derived from the decay of a plane wave of the pitch.
    ///
    /// # Errors
    /// [`BondedError::OutOfRange`] naming the field.
    pub fn stiffness(&self, width_um: f64, pitch_um: f64) -> Result<FoundationStiffness, BondedError> {
        self.check()?;
        check_range("ribbon width", "µm", width_um, LENGTH_RANGE_UM)?;
        check_range("pitch", "µm", pitch_um, LENGTH_RANGE_UM)?;
        let (shear_mpa, depth_um) = (self.shear_mpa(), self.thickness_um);
        let decay_um = pitch_um / TAU;
        let is_deep = depth_um > decay_um;
        let effective_um = decay_um * (depth_um / decay_um).tanh();
        let strip = |depth_um: f64| 2.0 * shear_mpa * integral_ratio(0.25 * PI * width_um / depth_um);
        let (in_plane_mpa, effective_depth_um, closure, note) = match self.substrate {
            Substrate::Layer if !is_deep => {
                (strip(depth_um), depth_um, Closure::StripOnLayer, ClosureNote::AlongExact)
            }
            Substrate::Layer => {
                (strip(effective_um), effective_um, Closure::ThickSubstrate, ClosureNote::LayerDeep)
            }
            Substrate::Thick => {
                let note = if is_deep { ClosureNote::OrderOfMagnitude } else { ClosureNote::NotThick };
                (strip(effective_um), effective_um, Closure::ThickSubstrate, note)
            }
            Substrate::FreeFilm => {
                // A film is never stiffer than a half space of it.
                let (film, thick) = (4.0 * PI * shear_mpa * depth_um / pitch_um, strip(decay_um));
                if film <= thick && !is_deep {
                    // The film shears in its plane, over P/2π beside the ribbon.
                    (film, decay_um, Closure::FreeFilm, ClosureNote::FilmOrderOfMagnitude)
                } else {
                    (film.min(thick), decay_um, Closure::ThickSubstrate, ClosureNote::FilmNotThin)
                }
            }
        };
        let sides = if self.is_embedded { 2.0 } else { 1.0 };
        let out_of_plane_mpa = sides * 0.5 * self.plane_strain_mpa() * TAU / pitch_um * width_um;
        Ok(FoundationStiffness {
            in_plane_mpa: sides * in_plane_mpa,
            out_of_plane_mpa,
            effective_depth_um,
            closure,
            note,
        })
    }

    /// When a stiff film on the elastomer wrinkles under even compression.
    ///
    /// `ε_w = ¼ (3 E_s'/E_f')^(2/3)` and `λ_w = 2π t (E_f'/3 E_s')^(1/3)` with E' = E/(1 − ν²). An indicator only: the ribbon's
    /// compression is uneven, and the formulas are those of a film without edges.
    ///
    /// # Source
    /// H. G. Allen, Analysis and design of structural sandwich panels, 1969; N. Bowden et al., Spontaneous formation of ordered
    /// structures in thin films of metals supported on an elastomeric polymer, 1998; Z. Y. Huang, W. Hong, Z. Suo, Nonlinear
    /// analyses of wrinkles in a film bonded to a compliant substrate, 2005.
    ///
    /// # Errors
    /// [`BondedError::OutOfRange`] naming the field.
    pub fn wrinkling(&self, film: &StiffFilm) -> Result<Wrinkling, BondedError> {
        self.check()?;
        check_range("film modulus", "MPa", film.modulus_mpa, MODULUS_RANGE_MPA)?;
        check_range("film Poisson's ratio", "(dimensionless)", film.poisson, [-0.99, 0.5])?;
        check_range("film thickness", "µm", film.thickness_um, LENGTH_RANGE_UM)?;
        check_range("film width", "µm", film.width_um, LENGTH_RANGE_UM)?;
        let film_mpa = film.modulus_mpa / (1.0 - film.poisson * film.poisson);
        let softness = 3.0 * self.plane_strain_mpa() / film_mpa;
        let wavelength_um = TAU * film.thickness_um / softness.cbrt();
        let note = if softness > STIFF_UP_TO {
            WrinklingNote::NotStiff
        } else if film.width_um < WAVES_ACROSS * wavelength_um {
            WrinklingNote::Narrow
        } else if self.thickness_um < wavelength_um {
            WrinklingNote::Shallow
        } else {
            WrinklingNote::Wide
        };
        Ok(Wrinkling { strain: 0.25 * softness.cbrt().powi(2), wavelength_um, note })
    }
}

/// K(m)/K(m') for the modulus m = tanh x, with K(m) = π/(2 agm(1, m')).
fn integral_ratio(x: f64) -> f64 {
    if x > WIDE_FROM {
        // K(m) → ln(4/m') with m' → 2 exp(−x), and K(m') → π/2.
        return FRAC_2_PI * (x + LN_2);
    }
    mean(x.tanh()) / mean(1.0 / x.cosh())
}

/// The arithmetic-geometric mean of 1 and `b`.
fn mean(b: f64) -> f64 {
    /// The difference squares with each step, from 1e-13 at most within nine.
    const STEPS: usize = 12;
    let (mut a, mut b) = (1.0, b);
    for _ in 0..STEPS {
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;

    const SILICONE: Foundation = Foundation {
        modulus_mpa: 3.0,
        poisson: 0.5,
        thickness_um: 100.0,
        substrate: Substrate::Layer,
        is_embedded: false,
    };

    fn assert_close(value: f64, expected: f64, tolerance: f64) {
        assert!((value / expected - 1.0).abs() < tolerance, "{value} instead of {expected}");
    }

    #[test]
    fn a_strip_on_a_layer_meets_both_limits() {
        // G = 1 MPa, h = 100 µm; the pitch is long enough for the layer to be shallow.
        let k = |width_um: f64| SILICONE.stiffness(width_um, 1e6).unwrap().in_plane_mpa;
        for width_um in [400.0, 1000.0, 1e4, 1e6] {
            assert_close(k(width_um), width_um / 100.0 + 4.0 / PI * LN_2, 1e-5);
        }
        for width_um in [0.001, 0.1, 1.0] {
            assert_close(k(width_um), PI / (1600.0 / (PI * width_um)).ln(), 1e-4);
        }
        // Shear lag is 14 times too soft at w/h = 0.05, and the value for m = m' is 2 G.
        assert_close(k(5.0) / 0.05, 13.6, 0.01);
        let equal_um = 400.0 / PI * 0.5_f64.sqrt().atanh();
        assert_close(k(equal_um), 2.0, 1e-12);
        let around = 4.0 * 100.0 * WIDE_FROM / PI;
        assert_close(k(around * (1.0 + 1e-9)), k(around * (1.0 - 1e-9)), 1e-8);
    }

    #[test]
    fn closures_are_named_and_ordered() {
        let at = |substrate, thickness_um| {
            Foundation { thickness_um, substrate, ..SILICONE }.stiffness(20.0, 1000.0).unwrap()
        };
        assert_eq!(at(Substrate::Layer, 50.0).note, ClosureNote::AlongExact);
        assert_eq!(at(Substrate::Layer, 5000.0).note, ClosureNote::LayerDeep);
        assert_eq!(at(Substrate::Layer, 5000.0).in_plane_mpa, at(Substrate::Thick, 5000.0).in_plane_mpa);
        assert_eq!(at(Substrate::Thick, 50.0).note, ClosureNote::NotThick);
        assert_close(at(Substrate::Thick, 1e4).effective_depth_um, 1000.0 / TAU, 1e-9);
        let film = at(Substrate::FreeFilm, 10.0);
        assert_eq!(film.closure, Closure::FreeFilm);
        assert_close(film.in_plane_mpa, 4.0 * PI * 0.01, 1e-12);
        let limited = at(Substrate::FreeFilm, 5000.0);
        assert_eq!(limited.note, ClosureNote::FilmNotThin);
        assert_close(limited.in_plane_mpa, at(Substrate::Thick, 1e6).in_plane_mpa, 1e-9);
        let embedded = Foundation { is_embedded: true, ..SILICONE }.stiffness(20.0, 1000.0).unwrap();
        assert_close(embedded.in_plane_mpa, 2.0 * at(Substrate::Layer, 100.0).in_plane_mpa, 1e-12);
        // ½ · 4 MPa · (2π/1000 µm) · 20 µm
        assert_close(at(Substrate::Thick, 1e4).out_of_plane_mpa, 0.5 * 4.0 * TAU / 1000.0 * 20.0, 1e-12);
    }

    #[test]
    fn a_stiffer_elastomer_holds_more() {
        for substrate in [Substrate::Layer, Substrate::Thick, Substrate::FreeFilm] {
            let mut last = 0.0;
            for exponent in -6..=6 {
                let foundation = Foundation { modulus_mpa: 10_f64.powi(exponent), substrate, ..SILICONE };
                let k = foundation.stiffness(20.0, 400.0).unwrap().in_plane_mpa;
                assert!(k > last && k.is_finite());
                last = k;
            }
        }
    }

    #[test]
    fn wrinkles_of_polyimide_on_silicone() {
        let base = Foundation { modulus_mpa: 1.0, poisson: 0.5, thickness_um: 1e4, ..SILICONE };
        let film = StiffFilm { modulus_mpa: 2500.0, poisson: 0.34, thickness_um: 1.0, width_um: 1000.0 };
        let wrinkling = base.wrinkling(&film).unwrap();
        assert_close(wrinkling.strain, 0.00315, 0.005);
        assert_close(wrinkling.wavelength_um, 56.0, 0.005);
        assert_eq!(wrinkling.note, WrinklingNote::Wide);
        let narrow = StiffFilm { width_um: 20.0, ..film };
        assert_eq!(base.wrinkling(&narrow).unwrap().note, WrinklingNote::Narrow);
        let shallow = Foundation { thickness_um: 10.0, ..base };
        assert_eq!(shallow.wrinkling(&film).unwrap().note, WrinklingNote::Shallow);
        let soft = StiffFilm { modulus_mpa: 5.0, ..film };
        assert_eq!(base.wrinkling(&soft).unwrap().note, WrinklingNote::NotStiff);
    }

    #[test]
    fn bad_elastomers_are_named() {
        for (bad, name) in [
            (Foundation { modulus_mpa: 0.0, ..SILICONE }, "elastomer modulus"),
            (Foundation { modulus_mpa: -1.0, ..SILICONE }, "elastomer modulus"),
            (Foundation { modulus_mpa: 1e9, ..SILICONE }, "elastomer modulus"),
            (Foundation { modulus_mpa: f64::NAN, ..SILICONE }, "elastomer modulus"),
            (Foundation { poisson: 0.51, ..SILICONE }, "elastomer Poisson's ratio"),
            (Foundation { thickness_um: 0.0, ..SILICONE }, "elastomer thickness"),
        ] {
            let error = bad.stiffness(20.0, 400.0).unwrap_err();
            assert!(error.to_string().contains(name), "{error}");
        }
        assert!(SILICONE.stiffness(f64::INFINITY, 400.0).is_err());
    }
}
