//! What bends the light along a ribbon in space.

use super::section_state::SectionState;
use super::solution::SpatialSolution;

/// A stretch of the ribbon in space for integrals along it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpatialWeight {
    /// Stretched length that the point stands for, in µm; all of them sum up to that of the ribbon.
    pub length_um: f64,
    /// Curvature in the plane of the width and out of it, per stretched length, in 1/µm: towards n, and towards b.
    pub curvatures_per_um: [f64; 2],
    /// Twist per stretched length, in 1/µm.
    pub twist_per_um: f64,
}

/// A jump of the curvature of the ribbon in space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpatialJump {
    /// Contour length at rest from the near end, in µm.
    pub s_um: f64,
    /// Curvatures just before, towards n and towards b, per stretched length, in 1/µm.
    pub before_per_um: [f64; 2],
    /// Curvatures just after.
    pub after_per_um: [f64; 2],
}

fn curvatures(state: &SectionState) -> [f64; 2] {
    let arm = 1.0 + state.stretch;
    [state.kappa[2] / arm, -state.kappa[1] / arm]
}

impl SpatialSolution {
    /// Points and lengths for integrals along the stretched ribbon: ends and middles of the elements, by Simpson's rule.
    ///
    /// Jumps of curvature lie between elements, where there are two points.
    pub fn optical_quadrature(&self) -> impl Iterator<Item = SpatialWeight> + '_ {
        const RULE: [(f64, f64); 3] = [(0.0, 1.0 / 6.0), (0.5, 4.0 / 6.0), (1.0, 1.0 / 6.0)];
        let recovered = &self.recovered;
        (0..recovered.lengths.len()).flat_map(move |element| {
            RULE.map(|(x, share)| {
                let state = recovered.inside(element, x);
                let arm = 1.0 + state.stretch;
                SpatialWeight {
                    length_um: share * recovered.lengths[element] * arm,
                    curvatures_per_um: curvatures(&state),
                    twist_per_um: state.kappa[0] / arm,
                }
            })
        })
    }

    /// The jumps of curvature of the stretched ribbon in order. Places where it is continuous are left out.
    ///
    /// The ribbon counts as going on straight within its islands, so the bending at a clamp is a jump too.
    pub fn curvature_jumps(&self) -> Vec<SpatialJump> {
        const LEAST: f64 = 1e-9;
        let recovered = &self.recovered;
        let last = recovered.ends.len() - 1;
        let straight = [0.0; 2];
        let mut jumps = vec![SpatialJump {
            s_um: 0.0,
            before_per_um: straight,
            after_per_um: curvatures(&recovered.ends[0][0]),
        }];
        for element in 1..=last {
            let (before, after) = (&recovered.ends[element - 1][1], &recovered.ends[element][0]);
            // Moments are continuous, so only a jump at rest makes one.
            let size = before.kappa_rest.abs().max(after.kappa_rest.abs());
            if (before.kappa_rest - after.kappa_rest).abs() > LEAST * size {
                jumps.push(SpatialJump {
                    s_um: recovered.places[element],
                    before_per_um: curvatures(before),
                    after_per_um: curvatures(after),
                });
            }
        }
        jumps.push(SpatialJump {
            s_um: recovered.places[last + 1],
            before_per_um: curvatures(&recovered.ends[last][1]),
            after_per_um: straight,
        });
        jumps
    }
}

#[cfg(test)]
mod tests {
    use super::super::SpatialSolver;
    use super::super::ribbon_tests::arc_n1;
    use crate::{RibbonProblem, RibbonSolver};

    /// In the plane the curvature and its jumps are those of the planar ribbon.
    #[test]
    fn flat_light_is_that_of_the_planar_ribbon() {
        let case = arc_n1();
        let problem = case.at(0.05);
        let flat = SpatialSolver::with_elements_per_quarter(12).flat(&problem).unwrap();
        let planar = RibbonSolver::new()
            .solve(&RibbonProblem { line: &case.line, strips: &case.strips, motion: problem.motion }, None)
            .unwrap();
        let ours: f64 = flat.optical_quadrature().map(|x| x.length_um * x.curvatures_per_um[0].powi(2)).sum();
        let theirs: f64 = planar.optical_quadrature().map(|x| x.length_um * x.curvature_per_um.powi(2)).sum();
        assert!((ours / theirs - 1.0).abs() < 1e-4, "{ours} {theirs}");
        let (jumps, others) = (flat.curvature_jumps(), planar.curvature_jumps());
        assert_eq!(jumps.len(), others.len());
        for (a, b) in jumps.iter().zip(&others) {
            assert!((a.s_um - b.s_um).abs() < 1e-6);
            assert!((a.before_per_um[0] - b.before_per_um).abs() < 1e-5 && a.before_per_um[1] == 0.0);
            assert!((a.after_per_um[0] - b.after_per_um).abs() < 1e-5);
        }
    }
}
