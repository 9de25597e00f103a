//! Balance of force and moment over the films present.

use super::{Film, FilmModulus};

/// Free strain of a film: `middle + slope (z − z̄)`, z̄ the film's own middle.
#[derive(Clone, Copy, Debug)]
pub(super) struct FreeStrain {
    pub(super) middle: f64,
    pub(super) slope_per_um: f64,
}

/// In-plane strain of a whole stack: `at + curvature (z − z_n)`.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Line {
    /// Strain at the neutral plane.
    pub(super) at: f64,
    pub(super) neutral_um: f64,
    pub(super) curvature_per_um: f64,
}

impl Line {
    pub(super) fn strain(&self, z_um: f64) -> f64 {
        self.at + self.curvature_per_um * (z_um - self.neutral_um)
    }
}

/// Stiffness per width of one film, µN/µm.
pub(super) fn stiffness(film: &Film, modulus: FilmModulus) -> f64 {
    film.share * modulus.effective_mpa(film.modulus_mpa, film.poisson) * film.thickness_um()
}

/// The line on which force and moment vanish; with `held`, the line of that curvature on which the force does.
///
/// Taken about the stiffness-weighted middle, the two conditions do not couple.
pub(super) fn balance(films: &[(f64, &Film, FreeStrain)], held: Option<f64>) -> Line {
    let sum = |of: &dyn Fn(&Film, &FreeStrain) -> f64| -> f64 {
        films.iter().map(|(stiffness, film, free)| stiffness * of(film, free)).sum()
    };
    let whole = sum(&|_, _| 1.0);
    let neutral_um = sum(&|film, _| film.middle_um()) / whole;
    let at = sum(&|_, free| free.middle) / whole;
    let curvature_per_um = held.unwrap_or_else(|| {
        let own = |film: &Film| film.thickness_um().powi(2) / 12.0;
        let arm_um = |film: &Film| film.middle_um() - neutral_um;
        sum(&|film, free| (free.middle - at) * arm_um(film) + free.slope_per_um * own(film))
            / sum(&|film, _| own(film) + arm_um(film).powi(2))
    });
    Line { at, neutral_um, curvature_per_um }
}
