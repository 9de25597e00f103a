//! Whole ribbons against the project's own reference states.

use ogee_geometry::{Centreline, Ends, Family, Quarter};

use super::*;
use crate::{EndMotion, OutOfPlane, SectionLaw, Strips};

pub(crate) struct Case {
    pub(crate) line: Centreline,
    pub(crate) strips: Strips,
    pub(crate) out: OutOfPlane,
}

impl Case {
    #[allow(clippy::too_many_arguments, reason = "the numbers of a reference table")]
    pub(crate) fn new(
        family: Family,
        [amplitude, pitch]: [f64; 2],
        periods: u32,
        [width, thickness]: [f64; 2],
        [modulus, poisson]: [f64; 2],
    ) -> Self {
        let quarter = Quarter::new(family, pitch, amplitude).unwrap();
        Self {
            line: Centreline::new(quarter, periods, Ends::Crossing, 0.0, None).unwrap(),
            strips: Strips::new(&[(modulus * thickness, width)]).unwrap(),
            out: OutOfPlane::homogeneous(width, thickness, modulus, poisson).unwrap(),
        }
    }

    pub(crate) fn rod(mut self, plate_factor: f64) -> Self {
        self.out.law = SectionLaw::Rod;
        self.out.bending_un_um2 *= plate_factor;
        self
    }

    pub(crate) fn at(&self, stretch: f64) -> SpatialProblem<'_> {
        SpatialProblem {
            line: &self.line,
            strips: &self.strips,
            out: &self.out,
            motion: EndMotion::stretch(stretch),
            curl_per_um: 0.0,
        }
    }
}

pub(crate) fn arc_n1() -> Case {
    Case::new(Family::Arc, [25.0, 100.0], 1, [5.0, 1.0], [2500.0, 0.34])
}

/// The planar state of the reference table, and its stability.
#[test]
fn blocked_states_are_planar() {
    let case = arc_n1().rod(1.0);
    let mut solver = SpatialSolver::with_elements_per_quarter(20);
    for (stretch, force, energy, unstable) in [
        (0.05, 6.275_467_4, 15.266_737, 0),
        (0.1, 13.722_688, 64.699_836, 2),
        (0.2, 34.066_011, 296.083_51, 7),
    ] {
        let flat = solver.flat(&case.at(stretch)).unwrap();
        assert!((flat.force_un[0] / force - 1.0).abs() < 1e-5, "{} {force}", flat.force_un[0]);
        assert!((flat.energy_un_um / energy - 1.0).abs() < 1e-5, "{} {energy}", flat.energy_un_um);
        assert_eq!(flat.unstable_modes, unstable);
        assert_eq!(flat.symmetry, StateSymmetry::Flat);
    }
}

/// Lowest states of arc-n1-wt5: energy, force, height, peak, upper bound, compression.
#[test]
fn reference_states_of_one_period() {
    let rows = [
        (arc_n1().rod(1.0), 0.1, [61.218_793, 11.478_292, 4.299_29, 0.023_359_8, 0.023_638_3, -0.027_313_7]),
        (arc_n1(), 0.1, [61.473_297, 11.600_49, 4.235_75, 0.023_564_8, 0.024_383_1, -0.027_365_4]),
        (arc_n1().rod(1.0), 0.2, [209.808_85, 18.553_306, 6.041_85, 0.048_952_2, 0.057_144, -0.058_115_4]),
        (arc_n1(), 0.2, [213.751_82, 19.336_257, 6.020_42, 0.054_716_6, 0.063_086, -0.053_008_3]),
    ];
    let mut solver = SpatialSolver::with_elements_per_quarter(12);
    for (case, stretch, expected) in rows {
        let flat = solver.flat(&case.at(0.1)).unwrap();
        let mut found = solver.solve_at(&case.at(0.1), &flat.state).unwrap();
        for step in 1..=4 {
            let next = 0.1 + (stretch - 0.1) * f64::from(step) / 4.0;
            found = solver.solve_at(&case.at(next), &found.state).unwrap();
        }
        let ours = [
            found.energy_un_um,
            found.force_un[0],
            found.height_um,
            found.peak_tensile.strain,
            found.upper_bound_strain,
            found.peak_compressive.strain,
        ];
        let tolerance = [1e-3, 2e-3, 3e-3, 5e-3, 5e-3, 5e-3];
        for i in 0..6 {
            assert!((ours[i] / expected[i] - 1.0).abs() < tolerance[i], "{i}: {ours:?} {expected:?}");
        }
        assert!(found.is_stable && found.symmetry == StateSymmetry::Odd);
    }
}
