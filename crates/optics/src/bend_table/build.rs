//! Making a [`BendTable`].

use super::{BendTable, EASE, SideTable, TableBasis};
use crate::bent::{BentMode, BentSlab, BentSolver, STANDARD_ORDER, ln_nu_im_of_loss};
use crate::channel::{Core, Polarisation};
use crate::error::LightError;
use crate::slab::{Slab, SlabPolarisation};
use crate::slab_mode::SlabMode;
use crate::spline::Spline;
use crate::transition::{JoinedSection, ln_transmission};

/// How a [`BendTable`] is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BendTableSettings {
    /// Number of radii, 4 to 200. Over a range of 1 : 7.5 the interpolated loss is off by 3e-3 with 8, 1e-4 with 16
    /// and 1e-5 with 24.
    pub radii: usize,
    /// Order of the elements, 2 to 12.
    pub order: usize,
    /// Least radius of interest, µm. The table starts there or where the bend loses 10 dB per 90°, whichever is the
    /// larger. `None`: at 10 dB.
    pub least_radius_um: Option<f64>,
}

impl Default for BendTableSettings {
    fn default() -> Self {
        Self { radii: 16, order: STANDARD_ORDER, least_radius_um: None }
    }
}

/// Loss at the tight end of the table, dB per 90°, and how far off it may be.
const GREATEST_LOSS_DB_PER_90DEG: f64 = 10.0;
const GREATEST_LOSS_LN_TOLERANCE: f64 = 0.1;
/// Loss at the wide end.
const LEAST_LOSS_DB_PER_90DEG: f64 = 1e-14;
const LEAST_LOSS_LN_TOLERANCE: f64 = 2.0;
/// Loss at which the search for both ends begins.
const FIRST_LOSS_DB_PER_90DEG: f64 = 1e-2;
/// The wide end is at least this far from the tight one.
const LEAST_SPAN: f64 = 1.5;
/// Radii tried for one end.
const MOST_TRIALS: usize = 40;
/// Largest step of one trial, as a factor.
const LARGEST_STEP: f64 = 2.0;
/// `T_t κ²` at the radius that gives `T_t`: small enough for the quadratic law, large enough for the digits.
const SMALL_TRANSITION: f64 = 1e-4;
const MOST_RADII: usize = 200;

/// The slab whose loss is tabulated and the one whose fields are compared at joints, bent to one side.
#[derive(Debug, Clone, Copy)]
struct SideSlabs {
    loss: BentSlab,
    field: BentSlab,
}

/// What is tabulated for one side, at each radius.
#[derive(Debug, Default)]
struct SideColumns {
    ln_nu_im: Vec<f64>,
    index_shift: Vec<f64>,
    joint_um2: Vec<f64>,
    ease_um2: Vec<f64>,
}

impl BendTable {
    /// Table for a slab that is bent to either side. About 3 ms.
    ///
    /// `least_radius_um`: the smallest radius of interest, if known; see [`BendTableSettings::least_radius_um`].
    ///
    /// # Errors
    /// As [`Slab::check`]; [`LightError::ModeNotGuided`] when the straight slab has no mode;
    /// [`LightError::NotConverged`] and [`LightError::Unbound`] from the bent modes.
    pub fn new(
        slab: &Slab,
        polarisation: SlabPolarisation,
        least_radius_um: Option<f64>,
    ) -> Result<Self, LightError> {
        let settings = BendTableSettings { least_radius_um, ..BendTableSettings::default() };
        Self::with_settings(slab, polarisation, &settings)
    }

    /// Table for a slab, with a choice of radii and of accuracy.
    ///
    /// # Errors
    /// As [`Self::new`]; [`LightError::Number`] and [`LightError::Length`] for settings out of range.
    pub fn with_settings(
        slab: &Slab,
        polarisation: SlabPolarisation,
        settings: &BendTableSettings,
    ) -> Result<Self, LightError> {
        slab.check()?;
        let left = BentSlab::left(slab, polarisation);
        let right = BentSlab::right(slab, polarisation);
        let left = SideSlabs { loss: left, field: left };
        let right = (slab.n_left != slab.n_right).then_some(SideSlabs { loss: right, field: right });
        build(slab, left, right, TableBasis::LateralSlab, settings)
    }

    /// Table for a rectangular core bent in the wafer plane, by the effective-index method.
    ///
    /// # Errors
    /// As [`Core::effective_index`] and [`Self::new`]; [`LightError::RadiatesOutOfPlane`] for a strip whose bends
    /// radiate into the layer below or above.
    pub fn of_core(core: &Core, polarisation: Polarisation) -> Result<Self, LightError> {
        let index = core.effective_index(polarisation)?;
        Self::new(&index.bend_slab()?, index.lateral_polarisation, None)
    }

    /// Table for the same core bent out of the wafer plane (a buckled or draped ribbon): upwards counts as to the
    /// left. Twist is not modelled.
    ///
    /// # Errors
    /// As [`Core::out_of_plane`] and [`Self::new`].
    pub fn of_core_out_of_plane(core: &Core, polarisation: Polarisation) -> Result<Self, LightError> {
        let (slab, slab_polarisation) = core.out_of_plane(polarisation)?;
        Self::new(&slab, slab_polarisation, None)
    }

    /// A pessimistic table for a core that [`Self::of_core`] refuses: the outer cladding of either bend gets the
    /// highest index around the core. Bend losses come out about seven times too high in dB; transitions are those
    /// of the lateral slab. The table says so in [`BendTable::basis`].
    ///
    /// # Errors
    /// As [`Core::effective_index`] and [`Self::new`].
    pub fn pessimistic_of_core(core: &Core, polarisation: Polarisation) -> Result<Self, LightError> {
        let index = core.effective_index(polarisation)?;
        let field = BentSlab::left(&index.lateral, index.lateral_polarisation);
        let loss = BentSlab { n_out: index.highest_cladding_index(), ..field };
        let basis = if loss == field { TableBasis::LateralSlab } else { TableBasis::Pessimistic };
        build(&index.lateral, SideSlabs { loss, field }, None, basis, &BendTableSettings::default())
    }
}

fn build(
    slab: &Slab,
    left: SideSlabs,
    right: Option<SideSlabs>,
    basis: TableBasis,
    settings: &BendTableSettings,
) -> Result<BendTable, LightError> {
    if !(Spline::LEAST_POINTS..=MOST_RADII).contains(&settings.radii) {
        return Err(LightError::Number {
            what: "number of radii",
            value: settings.radii as f64,
            least: Spline::LEAST_POINTS as f64,
            greatest: MOST_RADII as f64,
        });
    }
    if let Some(least_um) = settings.least_radius_um {
        crate::error::check_length("least bend radius", least_um)?;
    }
    let polarisation = left.field.polarisation;
    let straight = slab.mode(polarisation, 0)?;
    let mut solver = BentSolver::with_order(settings.order)?;

    let (mut least_um, mut greatest_um) = ends(&mut solver, &left.loss, settings.least_radius_um)?;
    if let Some(right) = &right {
        let (least, greatest) = ends(&mut solver, &right.loss, settings.least_radius_um)?;
        least_um = least_um.max(least);
        greatest_um = greatest_um.max(greatest);
    }
    greatest_um = greatest_um.max(LEAST_SPAN * least_um);

    // A very leaky mode may come and go with the radius; the table begins where it stays.
    let mut failure = LightError::Unbound { radius_um: least_um, mode: 0 };
    for _ in 0..MOST_TRIALS {
        match tabulate(&mut solver, &straight, left, right, [least_um, greatest_um], settings.radii) {
            Ok(tables) => {
                return Ok(BendTable {
                    straight,
                    guided_modes: slab.mode_count(polarisation)?,
                    basis,
                    left: tables.left,
                    right: tables.right,
                    turn_um2: tables.turn_um2,
                    transition_um2: tables.transition_um2,
                    least_radius_um: least_um,
                    greatest_radius_um: greatest_um,
                    correction: None,
                });
            }
            Err(error) => match error {
                LightError::Unbound { radius_um, .. } | LightError::NotConverged { radius_um, .. } => {
                    least_um = RETREAT * radius_um.max(least_um);
                    greatest_um = greatest_um.max(LEAST_SPAN * least_um);
                    failure = error;
                }
                _ => return Err(error),
            },
        }
    }
    Err(failure)
}

/// Growth of the least radius after a radius that failed.
const RETREAT: f64 = 1.1;

/// The splines of a table.
struct Tables {
    left: SideTable,
    right: Option<SideTable>,
    turn_um2: Spline,
    transition_um2: f64,
}

fn tabulate(
    solver: &mut BentSolver,
    straight: &SlabMode,
    left: SideSlabs,
    right: Option<SideSlabs>,
    [least_um, greatest_um]: [f64; 2],
    count: usize,
) -> Result<Tables, LightError> {
    // Wide to tight, so that the curvatures rise.
    let last = (count - 1) as f64;
    let radii: Vec<f64> = (0..count)
        .map(|i| match i {
            0 => greatest_um,
            i if i + 1 == count => least_um,
            i => greatest_um * (least_um / greatest_um).powf(i as f64 / last),
        })
        .collect();
    let mut columns = [SideColumns::default(), SideColumns::default()];
    let mut turn_um2 = Vec::with_capacity(count + 1);
    for &radius_um in &radii {
        let square_um2 = radius_um * radius_um;
        let from_straight =
            |section| ln_transmission(JoinedSection::Straight(straight), section) * square_um2;
        let left_mode = columns[0].add(solver, &left, radius_um, straight)?;
        columns[0].joint_um2.push(from_straight(JoinedSection::Left(&left_mode)));
        let wide = solver.solve(&left.field, radius_um / EASE)?;
        columns[0].add_ease(JoinedSection::Left(&wide), JoinedSection::Left(&left_mode), radius_um);
        let turn = if let Some(right) = &right {
            let right_mode = columns[1].add(solver, right, radius_um, straight)?;
            columns[1].joint_um2.push(from_straight(JoinedSection::Right(&right_mode)));
            let wide = solver.solve(&right.field, radius_um / EASE)?;
            columns[1].add_ease(JoinedSection::Right(&wide), JoinedSection::Right(&right_mode), radius_um);
            ln_transmission(JoinedSection::Left(&left_mode), JoinedSection::Right(&right_mode))
        } else {
            ln_transmission(JoinedSection::Left(&left_mode), JoinedSection::Right(&left_mode))
        };
        turn_um2.push(turn * square_um2 / 4.0);
    }

    let first_um2 = columns[0].joint_um2[0];
    let far_um = (LEAST_SPAN * greatest_um).max((first_um2 / SMALL_TRANSITION).sqrt());
    let far = solver.solve(&left.field, far_um)?;
    let transition_um2 =
        ln_transmission(JoinedSection::Straight(straight), JoinedSection::Left(&far)) * far_um * far_um;

    // Straight is part of every column over κ.
    let mut curvatures = vec![0.0];
    curvatures.extend(radii.iter().map(|radius| radius.recip()));
    turn_um2.insert(0, transition_um2);
    let unusable = || LightError::Unbound { radius_um: least_um, mode: 0 };
    let [left_columns, right_columns] = columns;
    let left_table =
        left_columns.finish(left.loss, &radii, &curvatures, transition_um2).ok_or_else(unusable)?;
    let right_table = match right {
        None => None,
        Some(right) => {
            Some(right_columns.finish(right.loss, &radii, &curvatures, transition_um2).ok_or_else(unusable)?)
        }
    };
    Ok(Tables {
        left: left_table,
        right: right_table,
        turn_um2: Spline::new(&curvatures, &turn_um2).ok_or_else(unusable)?,
        transition_um2,
    })
}

impl SideColumns {
    /// Solves one radius; returns the mode whose field is to be compared.
    fn add(
        &mut self,
        solver: &mut BentSolver,
        slabs: &SideSlabs,
        radius_um: f64,
        straight: &SlabMode,
    ) -> Result<BentMode, LightError> {
        let mode = solver.solve(&slabs.field, radius_um)?;
        let ln_nu_im = if slabs.loss == slabs.field {
            mode.ln_nu_im
        } else {
            solver.solve(&slabs.loss, radius_um)?.ln_nu_im
        };
        self.ln_nu_im.push(ln_nu_im);
        self.index_shift.push(mode.n_eff_re - straight.n_eff);
        Ok(mode)
    }

    fn add_ease(&mut self, wide: JoinedSection<'_>, tight: JoinedSection<'_>, radius_um: f64) {
        let jump_per_um = (1.0 - EASE) / radius_um;
        self.ease_um2.push(ln_transmission(wide, tight) / (jump_per_um * jump_per_um));
    }

    fn finish(
        mut self,
        slab: BentSlab,
        radii: &[f64],
        curvatures: &[f64],
        transition_um2: f64,
    ) -> Option<SideTable> {
        self.index_shift.insert(0, 0.0);
        self.joint_um2.insert(0, transition_um2);
        self.ease_um2.insert(0, transition_um2);
        self.ln_nu_im.reverse();
        let rising: Vec<f64> = radii.iter().rev().copied().collect();
        let ln_nu_im = Spline::new(&rising, &self.ln_nu_im)?;
        // Loss must go on falling beyond the wide end.
        if ln_nu_im.last_slope() >= 0.0 {
            return None;
        }
        Some(SideTable {
            slab,
            ln_nu_im,
            index_shift: Spline::new(curvatures, &self.index_shift)?,
            joint_um2: Spline::new(curvatures, &self.joint_um2)?,
            ease_um2: Spline::new(curvatures, &self.ease_um2)?,
        })
    }
}

/// Tight and wide end of the table, µm.
fn ends(solver: &mut BentSolver, slab: &BentSlab, least_um: Option<f64>) -> Result<(f64, f64), LightError> {
    let straight = slab.straight().mode(slab.polarisation, 0)?;
    let estimate = Estimate::new(slab, &straight);
    let floor = least_um.unwrap_or(0.0).max(slab.least_radius_um());
    let mut search = Search { solver, slab, slope_per_um: estimate.slope_per_um };

    // A first radius that works.
    let mut start = estimate.radius_um(FIRST_LOSS_DB_PER_90DEG).max(floor);
    let mut first = search.solve(start);
    for _ in 0..MOST_TRIALS {
        match &first {
            Err(LightError::Unbound { .. } | LightError::NotConverged { .. }) => {
                start *= UNBOUND_STEP;
                first = search.solve(start);
            }
            _ => break,
        }
    }
    let first = first?;
    let tight = search.tight_end(first, floor)?;
    let wide = search.wide_end(if first.radius_um > tight.radius_um { first } else { tight })?;
    Ok((tight.radius_um, wide.radius_um))
}

/// Growth of the radius after one that does not hold the mode.
const UNBOUND_STEP: f64 = 1.3;

/// Leading-order bend loss, `2α = γ² k² e^(γw) e^(−2R(β atanh(γ/β) − γ))/((γ² + k²) β (1 + γw/2))` (Marcuse, Bending losses
/// of the asymmetric slab waveguide, 1971): good enough to begin a search.
struct Estimate {
    /// `d ln Im ν/dR`, negative.
    slope_per_um: f64,
    /// ln of Im ν/R at R → 0, R in µm.
    ln_prefactor_per_um: f64,
}

impl Estimate {
    fn new(slab: &BentSlab, straight: &SlabMode) -> Self {
        let (decay_in, decay_out) = straight.decays_per_um();
        let k0 = straight.slab().wave_number_per_um();
        let beta = k0 * straight.n_eff;
        let across = k0 * ((slab.n_core - straight.n_eff) * (slab.n_core + straight.n_eff)).sqrt();
        // A tail wider than some cores cannot matter for the start.
        let decay = decay_out.max(1e-3 * decay_in).max(1e-6 * beta);
        let slope_per_um = -2.0 * (beta * (decay / beta).atanh() - decay);
        let width = decay * slab.width_um;
        let power =
            decay.powi(2) * across.powi(2) / ((decay.powi(2) + across.powi(2)) * beta * (1.0 + 0.5 * width));
        Self { slope_per_um, ln_prefactor_per_um: (0.5 * power).ln() + width }
    }

    /// Radius at which this loss is expected.
    fn radius_um(&self, loss_db_per_90deg: f64) -> f64 {
        const ROUNDS: usize = 8;
        let target = ln_nu_im_of_loss(loss_db_per_90deg);
        let mut radius = (-1.0 / self.slope_per_um).max(f64::MIN_POSITIVE);
        for _ in 0..ROUNDS {
            radius = ((target - self.ln_prefactor_per_um - radius.ln()) / self.slope_per_um)
                .max(-1.0 / self.slope_per_um);
        }
        radius
    }
}

/// One radius tried.
#[derive(Debug, Clone, Copy)]
struct Trial {
    radius_um: f64,
    ln_nu_im: f64,
}

struct Search<'a> {
    solver: &'a mut BentSolver,
    slab: &'a BentSlab,
    /// Last known `d ln Im ν/dR`.
    slope_per_um: f64,
}

impl Search<'_> {
    fn solve(&mut self, radius_um: f64) -> Result<Trial, LightError> {
        self.solver.solve(self.slab, radius_um).map(|mode| Trial { radius_um, ln_nu_im: mode.ln_nu_im })
    }

    /// Next radius on the way from `from` to a loss, at most a factor away.
    fn step(&self, from: Trial, target: f64) -> f64 {
        let radius = from.radius_um + (target - from.ln_nu_im) / self.slope_per_um;
        radius.clamp(from.radius_um / LARGEST_STEP, from.radius_um * LARGEST_STEP)
    }

    fn learn(&mut self, one: Trial, other: Trial) {
        let slope = (one.ln_nu_im - other.ln_nu_im) / (one.radius_um - other.radius_um);
        if slope < 0.0 && slope.is_finite() {
            self.slope_per_um = slope;
        }
    }

    /// Smallest radius, not below `floor`, that loses at most about 10 dB per 90°; where the loss stops rising or the
    /// core no longer holds the mode before that, the last radius that is still good.
    fn tight_end(&mut self, first: Trial, floor: f64) -> Result<Trial, LightError> {
        let target = ln_nu_im_of_loss(GREATEST_LOSS_DB_PER_90DEG);
        let mut good = first;
        let mut bad_um = 0.0_f64;
        for _ in 0..MOST_TRIALS {
            if (good.ln_nu_im - target).abs() < GREATEST_LOSS_LN_TOLERANCE
                || (good.ln_nu_im < target && good.radius_um <= floor)
            {
                break;
            }
            let mut radius_um = self.step(good, target).max(floor);
            if radius_um <= bad_um {
                radius_um = f64::midpoint(good.radius_um, bad_um);
                if radius_um - bad_um < GREATEST_LOSS_LN_TOLERANCE * bad_um {
                    break;
                }
            }
            match self.solve(radius_um) {
                Ok(trial) if trial.radius_um > good.radius_um || trial.ln_nu_im > good.ln_nu_im => {
                    self.learn(good, trial);
                    good = trial;
                }
                Ok(_) | Err(LightError::Unbound { .. } | LightError::NotConverged { .. }) => {
                    bad_um = bad_um.max(radius_um);
                }
                Err(error) => return Err(error),
            }
        }
        Ok(good)
    }

    /// A radius that loses about 1e-14 dB per 90°.
    fn wide_end(&mut self, first: Trial) -> Result<Trial, LightError> {
        let target = ln_nu_im_of_loss(LEAST_LOSS_DB_PER_90DEG);
        let mut trial = first;
        for _ in 0..MOST_TRIALS {
            if (trial.ln_nu_im - target).abs() < LEAST_LOSS_LN_TOLERANCE
                || (trial.radius_um <= first.radius_um && trial.ln_nu_im < target)
            {
                break;
            }
            let radius_um = self.step(trial, target).max(first.radius_um);
            let next = self.solve(radius_um)?;
            self.learn(trial, next);
            trial = next;
        }
        Ok(trial)
    }
}

#[cfg(test)]
mod tests {
    use super::Estimate;
    use crate::bent::{BentSlab, loss_of_ln_nu_im};
    use crate::slab::SlabPolarisation::Te;

    #[test]
    fn the_leading_order_formula_is_evaluated_right() {
        // Marcuse's formula with the full exponent, evaluated elsewhere; 13 to 16 % above the exact loss.
        for (wavelength_um, width_um, radius, n, n_core, expected) in
            [(1.31, 2.0, 300.0_f64, 1.46, 1.51, 5.2289e-4), (1.55, 5.0, 1500.0, 1.444, 1.464, 2.9976e-5)]
        {
            let slab =
                BentSlab { wavelength_um, width_um, n_in: n, n_core, n_out: n, polarisation: Te, mode: 0 };
            let estimate = Estimate::new(&slab, &slab.straight().mode(Te, 0).unwrap());
            let ln = estimate.ln_prefactor_per_um + radius.ln() + estimate.slope_per_um * radius;
            assert!((loss_of_ln_nu_im(ln) / expected - 1.0).abs() < 1e-4);
            assert!((estimate.radius_um(expected) / radius - 1.0).abs() < 1e-3);
        }
    }
}
