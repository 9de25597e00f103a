//! Following a process step by step.

use super::balance::{FreeStrain, Line, balance, stiffness};
use super::contact;
use super::{ABSOLUTE_ZERO_C, Birth, Film, FilmField, FilmModulus, ProcessError, Step};

/// One film in a [`State`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FilmState {
    /// Its place in the list of films.
    pub film: usize,
    /// Stress at its lower face, `MPa`, tension positive.
    pub stress_bottom_mpa: f64,
    /// Stress at its upper face, `MPa`.
    pub stress_top_mpa: f64,
    /// Elastic strain at its lower face, dimensionless: what adds to a strain from bending.
    pub strain_bottom: f64,
    /// Elastic strain at its upper face, dimensionless.
    pub strain_top: f64,
}

/// A stack at one temperature, with no force on it and no moment but the one that holds an imposed curvature.
///
/// In-plane strain at height z is `base_strain + curvature_per_um · z`, relative to the first step's films as they were born.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// Temperature, °C.
    pub temperature_c: f64,
    /// The films that are there, in the order of the list.
    pub present: Vec<usize>,
    /// In-plane strain at z = 0, dimensionless.
    pub base_strain: f64,
    /// Curvature out of the plane, 1/µm; positive when the upper face is the longer one (a dome, edges down).
    pub curvature_per_um: f64,
    /// Height at which bending causes no strain, µm, in the z of the films.
    pub neutral_plane_um: f64,
    /// Stress and strain of every film present, in the order of `present`.
    pub films: Vec<FilmState>,
    energy_un_per_um: f64,
    thickness_um: f64,
}

impl State {
    /// Elastic energy per area of the ribbon, µN/µm (= J/m²).
    ///
    /// Σ share ∫σ²/M dz for equal biaxial stress, ½ Σ share ∫σ²/E dz for a strip (E* in plane strain).
    pub fn energy_un_per_um(&self) -> f64 {
        self.energy_un_per_um
    }

    /// The state of one film; `None` if it is not there.
    pub fn film(&self, film: usize) -> Option<&FilmState> {
        self.films.iter().find(|state| state.film == film)
    }

    /// w²|κ|/T, dimensionless, with T the total thickness.
    ///
    /// Above about 1 a free sheet of width w gives up the dome and rolls up about one axis; the curvature then means that
    /// of the roll, and which axis it takes cannot be told (rule of thumb).
    ///
    /// * `width_um`: the lesser of the sheet's width and length, µm.
    pub fn roll_number(&self, width_um: f64) -> f64 {
        width_um * width_um * self.curvature_per_um.abs() / self.thickness_um
    }
}

/// How a film came into being.
#[derive(Clone, Copy, Debug)]
struct Born {
    step: usize,
    temperature_c: f64,
    /// Strain that is free at the birth temperature: birth line less the intrinsic strain.
    free: FreeStrain,
}

/// A process that has been followed from its first step to its last; see [`run`].
#[derive(Clone, Debug)]
pub struct History {
    /// The state after each step.
    pub states: Vec<State>,
    films: Vec<Film>,
    /// Share · modulus · thickness of each film, µN/µm.
    stiffness: Vec<f64>,
    modulus: FilmModulus,
    born: Vec<Option<Born>>,
}

/// Follows the films of a process through its steps; see [`History`] for the states.
///
/// Films are elastic and joined without slip, the sheet is wide against its thickness and curves little. A film is born
/// at temperature `T_b` on the line of strain `b0 + b1 z` that the films present before its birth have at that moment,
/// with the intrinsic stress σ on a base that does not yield. Later, at temperature T, its free strain is
///
/// ```text
/// f(z) = b0 + b1 z + α (T − T_b) − σ (1 − ν)/E
/// ```
///
/// and the strain `ε_b + κ z` of the films present follows from the balance of force and moment, with the share s of the
/// width as a weight and M the modulus chosen:
///
/// ```text
/// Σ s ∫M (ε_b + κ z − f) dz = 0,   Σ s ∫M (ε_b + κ z − f) z dz = 0,   stress = M (ε_b + κ z − f)
/// ```
///
/// Nothing is added up over time: a film keeps its birth line, and removing films only shortens the sums. So errors do not
/// pile up, and the state at any temperature, or bent to any curvature, is one more balance. Films of the first step have the
/// birth line 0. [`Step::Bond`] presses what is there flat: its line has κ = 0 and the ε of the balance of force.
///
/// Intrinsic stress is equal in both directions as measured on a wafer, so its strain is taken with E/(1 − ν) whichever
/// modulus the balance uses; a narrow ribbon then carries (1 − ν) σ.
///
/// # Which modulus
/// [`FilmModulus::Biaxial`] for wafers and wide ribbons, [`FilmModulus::Beam`] for ribbons about as narrow as thick. Between
/// them the curl moves smoothly with the width, from about half the thickness to about 30 times the thickness; for one
/// expansion in all directions only unequal Poisson ratios tell the two apart (0.4 % for a glass core in epoxy), so take
/// one and quote the other as a bound.
///
/// # Where it stops
/// * Films 20 times thinner than the base agree with the thin-film formula ([`stoney_stress_mpa`](crate::stoney_stress_mpa))
///   to some per cent, thinner ones better; nothing here is a thin-film approximation.
/// * Polymers start to carry stress at their glass transition or gel point, not at the oven's setting; cure
///   shrinkage and moisture are further free strain (give them as intrinsic stress), and relaxation eats stress in days.
/// * Within a few thicknesses of an edge the stress is not uniform; judge edges by energy, [`History::delamination_bound`].
/// * A wide free sheet rolls up when [`State::roll_number`] exceeds about 1.
///
/// # Errors
/// [`ProcessError`] with the step, the film and the value at fault: a film outside its range, born twice, never born,
/// removed when not there, or touching nothing; shares of more than 1 at a height; a temperature below absolute zero;
/// nothing left; results outside the range of numbers.
///
/// # Source
/// The balance is the classical one of a layered plate (Timoshenko, Analysis of bi-metal thermostats, 1925; Hsueh, Modeling
/// of elastic deformation of multilayers due to residual stresses and external bending, 2002), extended to births
/// at different times.
///
/// ```
/// use ogee_stack::{Birth, Film, FilmModulus, Step, run};
///
/// let film = |name: &str, bottom_um, top_um, modulus_mpa, poisson, ppm_per_k: f64| Film {
///     name: name.to_owned(),
///     bottom_um,
///     top_um,
///     share: 1.0,
///     modulus_mpa,
///     poisson,
///     cte_per_k: 1e-6 * ppm_per_k,
/// };
/// let films = [
///     film("handle", -525.0, 0.0, 160_000.0, 0.22, 2.6),
///     film("polyimide", 0.0, 20.0, 2500.0, 0.34, 40.0),
/// ];
/// let steps = [
///     Step::Deposit { films: vec![Birth { film: 0, intrinsic_mpa: 0.0 }], temperature_c: 25.0 },
///     Step::Deposit { films: vec![Birth { film: 1, intrinsic_mpa: 0.0 }], temperature_c: 350.0 },
///     Step::Bring { temperature_c: 23.0 },
/// ];
/// let history = run(&films, FilmModulus::Biaxial, &steps)?;
/// let cold = &history.states[2];
/// // The coating wants to be shorter: it is in tension and pulls the edges up.
/// assert!((cold.films[1].stress_bottom_mpa - 46.19).abs() < 0.01);
/// assert!(cold.curvature_per_um < 0.0);
/// # Ok::<(), ogee_stack::ProcessError>(())
/// ```
pub fn run(films: &[Film], modulus: FilmModulus, steps: &[Step]) -> Result<History, ProcessError> {
    if steps.is_empty() {
        return Err(ProcessError::NoSteps);
    }
    for (index, film) in films.iter().enumerate() {
        film.check(index)?;
    }
    let mut history = History {
        states: Vec::with_capacity(steps.len()),
        films: films.to_vec(),
        stiffness: films.iter().map(|film| stiffness(film, modulus)).collect(),
        modulus,
        born: vec![None; films.len()],
    };
    for (index, step) in steps.iter().enumerate() {
        let state = history.follow(index, step)?;
        history.states.push(state);
    }
    match history.born.iter().position(Option::is_none) {
        Some(film) => {
            Err(ProcessError::NeverBorn { film, name: films[film].name.clone(), steps: steps.len() })
        }
        None => Ok(history),
    }
}

impl History {
    /// The films, as they were given.
    pub fn films(&self) -> &[Film] {
        &self.films
    }

    /// The modulus that was chosen.
    pub fn modulus(&self) -> FilmModulus {
        self.modulus
    }

    /// What is there after a step, at any temperature.
    ///
    /// * `after_step`: from 0. `temperature_c`: °C.
    ///
    /// # Errors
    /// No such step; a temperature below absolute zero; results outside the range of numbers.
    pub fn state_at(&self, after_step: usize, temperature_c: f64) -> Result<State, ProcessError> {
        let present = self.present(after_step)?;
        self.state(after_step, present, temperature_c, None)
    }

    /// What is there after a step, held at a curvature, as on a cylinder: only the force vanishes, and the stack's own curl
    /// plays no part.
    ///
    /// The strain of the films then holds the bending and what is left from the process; add a membrane strain
    /// where there is one.
    ///
    /// * `after_step`: from 0. `temperature_c`: °C. `curvature_per_um`: 1/µm, positive with the upper face stretched;
    ///   1/(R + [`State::neutral_plane_um`] − z of the lowest face) with that face on a cylinder of radius R.
    ///
    /// # Errors
    /// As [`History::state_at`], and a curvature that is not finite.
    pub fn wrapped(
        &self,
        after_step: usize,
        temperature_c: f64,
        curvature_per_um: f64,
    ) -> Result<State, ProcessError> {
        let present = self.present(after_step)?;
        if !curvature_per_um.is_finite() {
            return Err(ProcessError::Curvature { value_per_um: curvature_per_um });
        }
        self.state(after_step, present, temperature_c, Some(curvature_per_um))
    }

    /// Most energy per area that a crack along an interface can set free, µN/µm (= J/m²).
    ///
    /// `G ≤ (U − U_below − U_above)/s`, with U the energy of the stack and of its two parts, each free to stretch and to curl,
    /// and s the share of the width in which they touch face to face. For a thin film on a thick base this is
    ///
    /// ```text
    /// (1 − ν) σ² h/E   equal biaxial, relieved both ways
    /// σ² h/(2 E*)      relieved one way, as far from the crack's ends
    /// ```
    ///
    /// To compare with the interface's toughness, which depends on the mode of opening, humidity and fatigue. A part that is
    /// stuck elsewhere, or a crack that shears only, gets less.
    ///
    /// * `after_step`: from 0. `temperature_c`: °C. `below`: the films below the interface, in any order.
    ///
    /// # Errors
    /// As [`History::state_at`]; a film that is not there; nothing on one side of the interface.
    ///
    /// ```
    /// use ogee_stack::{Birth, Film, FilmModulus, Step, run};
    ///
    /// let film = |name: &str, bottom_um, top_um, modulus_mpa, poisson| Film {
    ///     name: name.to_owned(), bottom_um, top_um, share: 1.0, modulus_mpa, poisson, cte_per_k: 3e-6,
    /// };
    /// let films = [film("wafer", -525.0, 0.0, 160e3, 0.22), film("nitride", 0.0, 0.5, 230e3, 0.25)];
    /// let birth = |film, intrinsic_mpa| vec![Birth { film, intrinsic_mpa }];
    /// let steps = [
    ///     Step::Deposit { films: birth(0, 0.0), temperature_c: 25.0 },
    ///     Step::Deposit { films: birth(1, 350.0), temperature_c: 25.0 },
    /// ];
    /// let history = run(&films, FilmModulus::Biaxial, &steps)?;
    /// let bound_un_per_um = history.delamination_bound(1, 25.0, &[0])?;
    /// assert!((bound_un_per_um / (0.75 * 350.0 * 350.0 * 0.5 / 230e3) - 1.0).abs() < 0.01);
    /// # Ok::<(), ogee_stack::ProcessError>(())
    /// ```
    pub fn delamination_bound(
        &self,
        after_step: usize,
        temperature_c: f64,
        below: &[usize],
    ) -> Result<f64, ProcessError> {
        let present = self.present(after_step)?;
        for &film in below {
            if !present.contains(&film) {
                return Err(self.not_present(after_step, film));
            }
        }
        let (lower, upper): (Vec<usize>, Vec<usize>) = present.iter().partition(|film| below.contains(film));
        let share = contact::face_share(&self.films, &lower, &upper);
        if share <= 0.0 {
            return Err(ProcessError::NoInterface {
                step: after_step,
                below: lower.len(),
                present: present.len(),
            });
        }
        let energy = |part: Vec<usize>| {
            self.state(after_step, part, temperature_c, None).map(|state| state.energy_un_per_um)
        };
        let freed = energy(present)? - energy(lower)? - energy(upper)?;
        // Below zero by rounding only: what is free to move has no more energy than what is bound.
        Ok(freed.max(0.0) / share)
    }

    fn present(&self, after_step: usize) -> Result<Vec<usize>, ProcessError> {
        match self.states.get(after_step) {
            Some(state) => Ok(state.present.clone()),
            None => Err(ProcessError::NoSuchStep { step: after_step, steps: self.states.len() }),
        }
    }

    fn not_present(&self, step: usize, film: usize) -> ProcessError {
        match self.films.get(film) {
            Some(known) => ProcessError::NotPresent { step, film, name: known.name.clone() },
            None => ProcessError::NoSuchFilm { step, film, count: self.films.len() },
        }
    }

    fn follow(&mut self, index: usize, step: &Step) -> Result<State, ProcessError> {
        let before = self.states.last();
        let mut present = before.map_or_else(Vec::new, |state| state.present.clone());
        let temperature_c = match step {
            Step::Deposit { films, temperature_c } => {
                self.bear(index, &mut present, films, *temperature_c, None)?;
                *temperature_c
            }
            Step::Bond { films, temperature_c } => {
                self.bear(index, &mut present, films, *temperature_c, Some(0.0))?;
                *temperature_c
            }
            Step::Bring { temperature_c } => *temperature_c,
            Step::Remove { films } => {
                for &film in films {
                    let Some(place) = present.iter().position(|&other| other == film) else {
                        return Err(self.not_present(index, film));
                    };
                    present.remove(place);
                }
                contact::check(&self.films, index, &present, &[])?;
                before.map_or(0.0, |state| state.temperature_c)
            }
        };
        self.state(index, present, temperature_c, None)
    }

    /// Adds films to `present`; `held`: the curvature at which the present stack is held.
    fn bear(
        &mut self,
        step: usize,
        present: &mut Vec<usize>,
        births: &[Birth],
        temperature_c: f64,
        held: Option<f64>,
    ) -> Result<(), ProcessError> {
        check_temperature(step, temperature_c)?;
        let before = present.clone();
        let line = if present.is_empty() { Line::default() } else { self.line(present, temperature_c, held) };
        for birth in births {
            let Some(film) = self.films.get(birth.film) else {
                return Err(ProcessError::NoSuchFilm { step, film: birth.film, count: self.films.len() });
            };
            let name = || film.name.clone();
            if let Some(born) = self.born[birth.film] {
                return Err(ProcessError::BornTwice {
                    step,
                    film: birth.film,
                    name: name(),
                    first: born.step,
                });
            }
            if !birth.intrinsic_mpa.is_finite() {
                let (field, value) = (FilmField::Intrinsic, birth.intrinsic_mpa);
                return Err(ProcessError::Film { film: birth.film, name: name(), field, value });
            }
            let biaxial_mpa = FilmModulus::Biaxial.effective_mpa(film.modulus_mpa, film.poisson);
            let free = FreeStrain {
                middle: line.strain(film.middle_um()) - birth.intrinsic_mpa / biaxial_mpa,
                slope_per_um: line.curvature_per_um,
            };
            self.born[birth.film] = Some(Born { step, temperature_c, free });
            present.push(birth.film);
        }
        present.sort_unstable();
        contact::check(&self.films, step, present, &before)
    }

    /// Films of a set with their stiffness and free strain at a temperature.
    fn parts(&self, present: &[usize], temperature_c: f64) -> Vec<(f64, &Film, FreeStrain)> {
        let part = |&index: &usize| {
            let film = &self.films[index];
            let born = self.born[index].as_ref().expect("a film is present only after its birth");
            let heat = film.cte_per_k * (temperature_c - born.temperature_c);
            (self.stiffness[index], film, FreeStrain { middle: born.free.middle + heat, ..born.free })
        };
        present.iter().map(part).collect()
    }

    fn line(&self, present: &[usize], temperature_c: f64, held: Option<f64>) -> Line {
        balance(&self.parts(present, temperature_c), held)
    }

    fn state(
        &self,
        step: usize,
        present: Vec<usize>,
        temperature_c: f64,
        held: Option<f64>,
    ) -> Result<State, ProcessError> {
        if present.is_empty() {
            return Err(ProcessError::NothingLeft { step });
        }
        check_temperature(step, temperature_c)?;
        let parts = self.parts(&present, temperature_c);
        let line = balance(&parts, held);
        let mut films = Vec::with_capacity(present.len());
        let mut energy_un_per_um = 0.0;
        let (mut lowest_um, mut highest_um) = (f64::INFINITY, f64::NEG_INFINITY);
        for (&index, (stiffness, film, free)) in present.iter().zip(&parts) {
            // Strain at the middle and its change from there to a face: less rounding than strains at the faces.
            let middle = line.strain(film.middle_um()) - free.middle;
            let rise = 0.5 * film.thickness_um() * (line.curvature_per_um - free.slope_per_um);
            let modulus_mpa = self.modulus.effective_mpa(film.modulus_mpa, film.poisson);
            let (strain_bottom, strain_top) = (middle - rise, middle + rise);
            films.push(FilmState {
                film: index,
                stress_bottom_mpa: modulus_mpa * strain_bottom,
                stress_top_mpa: modulus_mpa * strain_top,
                strain_bottom,
                strain_top,
            });
            energy_un_per_um +=
                self.modulus.energy_factor() * stiffness * (middle * middle + rise * rise / 3.0);
            lowest_um = lowest_um.min(film.bottom_um);
            highest_um = highest_um.max(film.top_um);
        }
        let state = State {
            temperature_c,
            present,
            base_strain: line.strain(0.0),
            curvature_per_um: line.curvature_per_um,
            neutral_plane_um: line.neutral_um,
            films,
            energy_un_per_um,
            thickness_um: highest_um - lowest_um,
        };
        check_numbers(state)
    }
}

fn check_temperature(step: usize, value_c: f64) -> Result<(), ProcessError> {
    if value_c.is_finite() && value_c >= ABSOLUTE_ZERO_C {
        Ok(())
    } else {
        Err(ProcessError::Temperature { step, value_c })
    }
}

fn check_numbers(state: State) -> Result<State, ProcessError> {
    let whole = [
        ("strain of the stack", state.base_strain),
        ("curvature", state.curvature_per_um),
        ("neutral plane", state.neutral_plane_um),
        ("energy", state.energy_un_per_um),
        ("thickness", state.thickness_um),
    ];
    let stresses = state
        .films
        .iter()
        .flat_map(|film| [film.stress_bottom_mpa, film.stress_top_mpa, film.strain_bottom, film.strain_top])
        .map(|value| ("stress", value));
    match whole.into_iter().chain(stresses).find(|(_, value)| !value.is_finite()) {
        Some((quantity, value)) => Err(ProcessError::OutOfNumbers { quantity, value }),
        None => Ok(state),
    }
}
