//! Places where the curvature jumps.

use crate::{Centreline, Ends, Quarter};

/// A jump of curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jump {
    /// Contour length at the jump, in µm.
    pub s_um: f64,
    /// Curvature just before it, in 1/µm.
    pub before_per_um: f64,
    /// Curvature just after it, in 1/µm.
    pub after_per_um: f64,
}

/// Differences below this share of the crest's curvature are rounding or a mere kink.
const LEAST_JUMP: f64 = 1e-12;

impl Quarter {
    /// The jumps inside the quarter, between its pieces; s from the crossing.
    pub fn jumps(&self) -> impl Iterator<Item = Jump> + '_ {
        let least_per_um = LEAST_JUMP * self.crest_curvature_per_um();
        self.pieces().windows(2).filter_map(move |pair| {
            let jump = Jump {
                s_um: pair[0].end_um(),
                before_per_um: pair[0].sample(1.0).kappa_per_um,
                after_per_um: pair[1].sample(0.0).kappa_per_um,
            };
            ((jump.after_per_um - jump.before_per_um).abs() > least_per_um).then_some(jump)
        })
    }

    /// The jumps of one full period from a rising crossing on, that crossing included and the next one not.
    pub fn period_jumps(&self) -> Vec<Jump> {
        (0..4).flat_map(|index| self.jumps_from(index, 0.0)).collect()
    }

    /// The jump at the crossing before a quarter, if it begins at one, and those inside it.
    fn jumps_from(&self, index: i64, start_um: f64) -> Vec<Jump> {
        let is_backward = index.rem_euclid(2) == 1;
        let sign = if index.rem_euclid(4) >= 2 { -1.0 } else { 1.0 };
        let start_um = start_um + index as f64 * self.length_um();
        let crossing_per_um = sign * self.crossing_curvature_per_um();
        let mut jumps = Vec::new();
        if !is_backward && crossing_per_um != 0.0 {
            jumps.push(Jump {
                s_um: start_um,
                before_per_um: crossing_per_um,
                after_per_um: -crossing_per_um,
            });
        }
        for jump in self.jumps() {
            let (before, after) = (sign * jump.before_per_um, sign * jump.after_per_um);
            jumps.push(if is_backward {
                let s_um = start_um + self.length_um() - jump.s_um;
                Jump { s_um, before_per_um: after, after_per_um: before }
            } else {
                Jump { s_um: start_um + jump.s_um, before_per_um: before, after_per_um: after }
            });
        }
        jumps
    }
}

impl Centreline {
    /// All jumps of curvature in order, computed as they are asked for.
    ///
    /// The ribbon counts as going on straight beyond its ends, so a bend that begins right at an island is a jump
    /// even without a lead.
    pub fn jumps(&self) -> impl Iterator<Item = Jump> + '_ {
        let start = self.opening_jumps();
        let end_um = self.contour_length_um();
        let sign = if self.ends() == Ends::Crest { 1.0 } else { -1.0 };
        let end: Vec<Jump> = start
            .iter()
            .rev()
            .map(|jump| Jump {
                s_um: end_um - jump.s_um,
                before_per_um: sign * jump.after_per_um,
                after_per_um: sign * jump.before_per_um,
            })
            .collect();
        let first_um = self.opening_um();
        let last_um = end_um - first_um;
        let origin_um = self.quarter_start_um(0);
        let within_um = 1e-9 * self.quarter().length_um();
        let inside = (self.first_index()..=self.last_index())
            .flat_map(move |index| self.quarter().jumps_from(index, origin_um))
            .filter(move |jump| jump.s_um > first_um + within_um && jump.s_um < last_um - within_um);
        start.into_iter().chain(inside).chain(end)
    }

    /// The jumps between the straight lead and the first quarter.
    fn opening_jumps(&self) -> Vec<Jump> {
        let quarter = self.quarter();
        let least_per_um = LEAST_JUMP * quarter.crest_curvature_per_um();
        let jumps = match (self.ends(), self.end_bend()) {
            (Ends::Midline, Some(bend)) => {
                let curvature = 1.0 / bend.radius_um;
                // Beyond the joint: the piece that goes on, should the joint fall on the end of one.
                let nudge_um = 1e-9 * quarter.length_um();
                let after = quarter.at(bend.joins_quarter_at_um + nudge_um).kappa_per_um;
                vec![
                    Jump { s_um: self.lead_um(), before_per_um: 0.0, after_per_um: curvature },
                    Jump { s_um: self.opening_um(), before_per_um: curvature, after_per_um: after },
                ]
            }
            (Ends::Crest, _) => {
                let after_per_um = -quarter.crest_curvature_per_um();
                vec![Jump { s_um: self.lead_um(), before_per_um: 0.0, after_per_um }]
            }
            _ => {
                let after_per_um = -quarter.crossing_curvature_per_um();
                vec![Jump { s_um: self.lead_um(), before_per_um: 0.0, after_per_um }]
            }
        };
        jumps
            .into_iter()
            .filter(|jump| (jump.after_per_um - jump.before_per_um).abs() > least_per_um)
            .collect()
    }
}
