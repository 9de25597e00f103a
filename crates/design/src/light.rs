//! Loss of the whole ribbon: bends, curvature jumps, length and ends.
//!
//! One quarter is integrated and counted as often as it occurs; the ends add what is their own. The core may lie
//! beside the centreline: at offset y its curvature is κ/(1 − yκ) and its length (1 − yκ) ds. A core off the
//! centreline sees upper and lower half waves differently, so both are summed.

use crate::caches::Caches;
use crate::checked::{Checked, CheckedLight};
use crate::places;
use crate::result::LossResult;
use ogee_geometry::{Ends, Quarter};
use ogee_optics::BendTable;

/// Nodes and weights of Gauss–Legendre integration of order 8 on −1 … 1, positive half.
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_5),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_3),
];

/// Most loss that is told, dB: no light is left, and the models say nothing about how little.
pub(crate) const MOST_DB: f64 = 999.0;

/// Panels of a smooth piece; each next one is half as long towards the crest, where the loss sits.
const PANELS: u32 = 4;

/// A stretch of path with one curvature, on the quarter from a rising crossing to the upper crest.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(clippy::struct_field_names, reason = "the suffix is the unit")]
pub(crate) struct Element {
    /// Length of the path, µm.
    pub(crate) length_um: f64,
    /// True curvature there, 1/µm.
    pub(crate) curvature_per_um: f64,
    /// Distance from the crossing at rest, µm.
    pub(crate) s_um: f64,
}

impl Element {
    /// Share of the element that lies beyond `s_um` from the crossing.
    pub(crate) fn beyond(&self, s_um: f64) -> f64 {
        ((self.s_um - s_um) / self.length_um + 0.5).clamp(0.0, 1.0)
    }
}

/// A jump of curvature inside the quarter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Step {
    /// Distance from the crossing at rest, µm.
    pub(crate) s_um: f64,
    /// Curvature before and after, 1/µm.
    pub(crate) curvatures_per_um: [f64; 2],
}

/// What the loss of a quarter is summed from, at rest or stretched.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct QuarterPath {
    pub(crate) elements: Vec<Element>,
    pub(crate) steps: Vec<Step>,
    /// |κ| just after the crossing where it jumps there, else 0, 1/µm.
    pub(crate) crossing_per_um: f64,
    /// κ at the crest (negative), 1/µm.
    pub(crate) crest_per_um: f64,
    /// Centreline stretch of straight leads, dimensionless.
    pub(crate) lead_strain: f64,
}

impl QuarterPath {
    /// The quarter at rest, into a reused buffer.
    pub(crate) fn fill_at_rest(&mut self, quarter: &Quarter) {
        self.elements.clear();
        self.steps.clear();
        for piece in quarter.pieces() {
            let (from, length) = (piece.start_um(), piece.length_um());
            if let Some(curvature_per_um) = piece.constant_curvature_per_um() {
                self.elements.push(Element {
                    length_um: length,
                    curvature_per_um,
                    s_um: from + length / 2.0,
                });
                continue;
            }
            let (mut start, mut travelled_um) = (0.0, from);
            for k in 0..PANELS {
                let end = if k + 1 == PANELS { 1.0 } else { f64::midpoint(start, 1.0) };
                let (middle, half) = (f64::midpoint(start, end), (end - start) / 2.0);
                let left = GAUSS.iter().rev().map(|(node, weight)| (-node, weight));
                for (node, weight) in left.chain(GAUSS.iter().map(|(node, weight)| (*node, weight))) {
                    let sample = piece.sample(middle + half * node);
                    let length_um = sample.ds_du_um * weight * half;
                    // Elements lie end to end, so that a cut of the quarter takes its share of one of them.
                    let s_um = travelled_um + length_um / 2.0;
                    travelled_um += length_um;
                    self.elements.push(Element { length_um, curvature_per_um: sample.kappa_per_um, s_um });
                }
                start = end;
            }
        }
        self.steps.extend(
            quarter
                .jumps()
                .map(|j| Step { s_um: j.s_um, curvatures_per_um: [j.before_per_um, j.after_per_um] }),
        );
        self.crossing_per_um = quarter.crossing_curvature_per_um();
        self.crest_per_um = -quarter.crest_curvature_per_um();
        self.lead_strain = 0.0;
    }
}

impl QuarterPath {
    /// Curvature just after the distance `s_um` from the crossing at rest, between the elements on either side, 1/µm.
    fn curvature_after_per_um(&self, s_um: f64) -> f64 {
        let i = self.elements.partition_point(|e| e.s_um < s_um);
        let Some(after) = self.elements.get(i) else { return self.crest_per_um };
        let before = i.checked_sub(1).and_then(|j| self.elements.get(j));
        match before {
            // A jump between them belongs to the element behind it.
            Some(before) if !self.steps.iter().any(|j| j.s_um >= before.s_um && j.s_um <= after.s_um) => {
                let share = (s_um - before.s_um) / (after.s_um - before.s_um);
                before.curvature_per_um + share * (after.curvature_per_um - before.curvature_per_um)
            }
            _ => after.curvature_per_um,
        }
    }
}

/// How the quarters make a ribbon, as far as the loss is concerned.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layout {
    pub(crate) ends: Ends,
    pub(crate) periods: u32,
    pub(crate) lead_um: f64,
    /// Radius, length and joint of the bend of `midline` ends.
    pub(crate) bend: Option<ogee_geometry::EndBend>,
    /// How much the end bend opens when stretched, dimensionless (1 at rest).
    pub(crate) bend_opening: f64,
    pub(crate) joins_straight_guides: bool,
    pub(crate) propagation_db_per_cm: f64,
    pub(crate) end_loss_db: f64,
    pub(crate) core_offset_um: f64,
}

impl Layout {
    pub(crate) fn of(checked: &Checked, light: &CheckedLight) -> Self {
        let line = checked.centreline();
        let document = checked.design().light.as_ref();
        Self {
            ends: line.ends(),
            periods: line.periods(),
            lead_um: line.lead_um(),
            bend: line.end_bend(),
            bend_opening: 1.0,
            joins_straight_guides: document.is_none_or(|l| l.joins_straight_guides),
            propagation_db_per_cm: document.map_or(0.0, |l| l.propagation_loss_db_per_cm),
            end_loss_db: document.map_or(0.0, |l| l.end_loss_db),
            core_offset_um: light.core_offset_um,
        }
    }

    /// Share of the first and last quarter that the bend of `midline` ends leaves out, µm of contour from the
    /// crossing.
    fn cut_um(&self) -> f64 {
        self.bend.map_or(0.0, |b| b.joins_quarter_at_um)
    }
}

/// Loss by cause, dB, and the worst place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Loss {
    pub(crate) bend_db: f64,
    pub(crate) transition_db: f64,
    pub(crate) propagation_db: f64,
    pub(crate) end_db: f64,
    /// Curvature at the worst place, 1/µm; 0 on a straight ribbon.
    pub(crate) worst_per_um: f64,
    /// Distance of the worst place from the crossing at rest, µm; negative on the end bend.
    pub(crate) worst_s_um: f64,
    /// Least radius of the bend table, µm, where a bend is tighter: its loss is then a lower bound.
    pub(crate) beyond_table_um: Option<f64>,
}

impl Loss {
    pub(crate) fn total_db(&self) -> f64 {
        (self.bend_db + self.transition_db + self.propagation_db + self.end_db).min(MOST_DB)
    }
}

/// Sums the loss of a ribbon that is laid out as `layout` from quarters as `path`.
pub(crate) fn loss(path: &QuarterPath, layout: &Layout, table: &BendTable) -> Loss {
    let offset = layout.core_offset_um;
    let n = f64::from(layout.periods);
    let cut = layout.cut_um();
    let mut result = Loss { end_db: 2.0 * layout.end_loss_db, ..Loss::default() };
    let mut length_um = 2.0 * layout.lead_um * (1.0 + path.lead_strain);
    // Curvature and length factor of the core on the upper (+1) and lower (−1) half waves.
    let at_core = |kappa: f64, sign: f64| {
        let factor = 1.0 - offset * sign * kappa;
        (sign * kappa / factor, factor)
    };
    for element in &path.elements {
        // The two quarters next to the ends lose what lies before the joint of the end bend.
        let quarters = 4.0 * n - 2.0 * (1.0 - element.beyond(cut));
        if offset == 0.0 {
            let length = quarters * element.length_um;
            length_um += length;
            result.bend_db += length * table.loss_db_per_um(element.curvature_per_um.abs());
        } else {
            for sign in [1.0, -1.0] {
                let (kappa, factor) = at_core(element.curvature_per_um, sign);
                let length = 0.5 * quarters * element.length_um * factor;
                length_um += length;
                result.bend_db += length * table.loss_db_per_um(kappa.abs());
            }
        }
        if element.curvature_per_um.abs() > result.worst_per_um {
            result.worst_per_um = element.curvature_per_um.abs();
            result.worst_s_um = element.s_um;
        }
    }
    // On a bend of constant curvature the crest stands for all of it.
    if path.crest_per_um.abs() >= (1.0 - 1e-9) * result.worst_per_um {
        result.worst_per_um = path.crest_per_um.abs();
        result.worst_s_um = f64::MAX;
    }
    let jump = |a: f64, b: f64, sign: f64| table.transition_db(at_core(a, sign).0, at_core(b, sign).0);
    let both = |a: f64, b: f64| 0.5 * (jump(a, b, 1.0) + jump(a, b, -1.0));
    for step in &path.steps {
        let times = if step.s_um < cut { 4.0 * n - 2.0 } else { 4.0 * n };
        result.transition_db += times * both(step.curvatures_per_um[0], step.curvatures_per_um[1]);
    }
    if path.crossing_per_um > 0.0 {
        let times = if layout.ends == Ends::Crest { 2.0 * n } else { 2.0 * n - 1.0 };
        result.transition_db += times * both(path.crossing_per_um, -path.crossing_per_um);
    }
    let counts_first_joint = layout.lead_um > 0.0 || layout.joins_straight_guides;
    match (layout.ends, layout.bend) {
        (Ends::Midline, Some(bend)) => {
            let kappa = layout.bend_opening / bend.radius_um;
            length_um += 2.0 * bend.length_um;
            result.bend_db += 2.0 * bend.length_um * table.loss_db_per_um(kappa);
            if kappa > result.worst_per_um {
                result.worst_per_um = kappa;
                result.worst_s_um = -1.0;
            }
            if counts_first_joint {
                result.transition_db += 2.0 * both(0.0, kappa);
            }
            result.transition_db += 2.0 * both(kappa, path.curvature_after_per_um(cut));
        }
        (Ends::Crest, _) if counts_first_joint => {
            result.transition_db += 2.0 * jump(0.0, path.crest_per_um, 1.0);
        }
        (Ends::Crossing, _) if counts_first_joint && path.crossing_per_um > 0.0 => {
            result.transition_db += 2.0 * both(0.0, -path.crossing_per_um);
        }
        _ => {}
    }
    result.propagation_db = (layout.propagation_db_per_cm * length_um * 1e-4).min(MOST_DB);
    result.bend_db = result.bend_db.min(MOST_DB);
    result.transition_db = result.transition_db.min(MOST_DB);
    if !table.in_range(result.worst_per_um) {
        result.beyond_table_um = Some(table.least_radius_um());
    }
    result
}

/// A loss as the result shows it.
pub(crate) fn loss_result(checked: &Checked, loss: &Loss) -> LossResult {
    let worst_place = if loss.worst_s_um < 0.0 {
        places::end_bend(checked)
    } else {
        places::on_quarter(checked, loss.worst_s_um.min(checked.quarter().length_um()), None, "")
    };
    LossResult {
        total_db: loss.total_db(),
        bend_db: loss.bend_db,
        transition_db: loss.transition_db,
        propagation_db: loss.propagation_db,
        end_db: loss.end_db,
        worst_radius_um: (loss.worst_per_um > 0.0).then(|| 1.0 / loss.worst_per_um),
        worst_place,
    }
}

/// Bend and propagation loss at one place, dB/cm; 0 without light, propagation only while there is no table.
pub(crate) fn loss_density_db_per_cm(checked: &Checked, caches: &Caches, curvature_per_um: f64) -> f64 {
    let Some(light) = checked.light() else { return 0.0 };
    let propagation = checked.design().light.as_ref().map_or(0.0, |l| l.propagation_loss_db_per_cm);
    let kappa = curvature_per_um / (1.0 - light.core_offset_um * curvature_per_um);
    let bend = caches.ready_table(checked).map_or(0.0, |t| t.loss_db_per_um(kappa.abs()));
    propagation + bend * 1e4
}
