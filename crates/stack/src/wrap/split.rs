//! The limit in which soft interlayers let the plies beside them slide.

use super::modes::Relative;

/// An interlayer is soft when its neighbours are more than this many times stiffer.
const SOFTER: f64 = 20.0;

/// Which plies are soft interlayers: the smallest runs of plies all of which are more than 20 times softer than both plies
/// next to the run.
pub(super) fn soft_plies(plies: &[Relative]) -> Vec<bool> {
    let mut soft = vec![false; plies.len()];
    // Such runs are nested or apart, never next to each other: from short to long, skip those that hold another.
    for length in 1..plies.len().saturating_sub(1) {
        for first in 1..plies.len() - length {
            let run = first..first + length;
            if soft[run.clone()].contains(&true) {
                continue;
            }
            let stiffest = plies[run.clone()].iter().fold(0.0, |most: f64, ply| most.max(ply.modulus));
            let beside = plies[first - 1].modulus.min(plies[first + length].modulus);
            if SOFTER * stiffest < beside {
                soft[run].fill(true);
            }
        }
    }
    soft
}

/// Strain of the plies' lower and upper faces per unit curvature, µm, when soft plies resist no shear.
///
/// Each group of other plies bends about its own neutral plane. A run of soft plies hands on one shear stress, so that the
/// jump of strain from group to group divides over it by t/G.
pub(super) fn split_um(
    plies: &[Relative],
    soft: &[bool],
    interfaces_um: &[f64],
    thickness_um: &[f64],
) -> Vec<[f64; 2]> {
    let mut strains = vec![[0.0; 2]; plies.len()];
    let mut groups = Vec::new();
    let mut first = 0;
    for group in soft.chunk_by(|a, b| a == b) {
        let plies_of = first..first + group.len();
        first = plies_of.end;
        if group[0] {
            groups.push(plies_of);
            continue;
        }
        let (mut stiffness, mut moment) = (0.0, 0.0);
        for ply in plies_of.clone() {
            let share = plies[ply].modulus * plies[ply].thickness;
            stiffness += share;
            moment += share * 0.5 * (interfaces_um[ply] + interfaces_um[ply + 1]);
        }
        let neutral_um = moment / stiffness;
        for ply in plies_of {
            strains[ply] = [interfaces_um[ply] - neutral_um, interfaces_um[ply + 1] - neutral_um];
        }
    }
    for run in groups {
        // Soft runs lie between groups.
        let (below, above) = (strains[run.start - 1][1], strains[run.end][0]);
        let compliance = |ply: usize| plies[ply].thickness / plies[ply].shear;
        let whole: f64 = run.clone().map(compliance).sum();
        let thick: f64 = thickness_um[run.clone()].iter().sum();
        let slide = (above - below - thick) / whole;
        let mut strain = below;
        for ply in run {
            let next = strain + thickness_um[ply] + slide * compliance(ply);
            strains[ply] = [strain, next];
            strain = next;
        }
    }
    strains
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plies(moduli: &[f64]) -> Vec<Relative> {
        moduli
            .iter()
            .map(|&modulus| Relative { thickness: 1.0 / moduli.len() as f64, modulus, shear: 0.4 * modulus })
            .collect()
    }

    fn soft(moduli: &[f64]) -> Vec<usize> {
        let marks = soft_plies(&plies(moduli));
        (0..moduli.len()).filter(|&ply| marks[ply]).collect()
    }

    #[test]
    fn soft_plies_lie_between_stiffer_ones() {
        assert_eq!(soft(&[1.0]), [0; 0]);
        assert_eq!(soft(&[2500.0, 1.8]), [0; 0]);
        assert_eq!(soft(&[1.8, 2500.0, 1.8]), [0; 0]);
        assert_eq!(soft(&[2500.0, 1.8, 2500.0]), [1]);
        assert_eq!(soft(&[2500.0, 126.0, 2500.0]), [0; 0]);
        assert_eq!(soft(&[2500.0, 60.0, 117_000.0, 2500.0]), [1]);
        // A graded interlayer goes as a whole, unless its middle is soft against its own skins.
        assert_eq!(soft(&[2500.0, 20.0, 2.0, 20.0, 2500.0]), [1, 2, 3]);
        assert_eq!(soft(&[2500.0, 60.0, 2.0, 60.0, 2500.0]), [2]);
        // Polymer beside silicon and copper is no interlayer while there is a softer one.
        assert_eq!(soft(&[160_000.0, 2500.0, 1.8, 2500.0, 117_000.0]), [2]);
        assert_eq!(soft(&[2500.0, 1.8, 2500.0, 1.8, 2500.0]), [1, 3]);
    }

    #[test]
    fn soft_runs_divide_the_jump() {
        let plies = plies(&[1000.0, 1.0, 3.0, 1000.0]);
        let interfaces = [0.0, 1.0, 2.0, 3.0, 4.0];
        let strains = split_um(&plies, &soft_plies(&plies), &interfaces, &[1.0; 4]);
        assert_eq!((strains[0], strains[3]), ([-0.5, 0.5], [-0.5, 0.5]));
        // The strain would rise by 2 and falls by 1: −3 over both, three quarters of it in the softer ply.
        assert!((strains[1][1] - (0.5 + 1.0 - 2.25)).abs() < 1e-14);
        assert_eq!((strains[1][1], strains[1][0]), (strains[2][0], 0.5));
        assert!((strains[2][1] + 0.5).abs() < 1e-14);
    }
}
