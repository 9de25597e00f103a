//! Loss of the whole ribbon as it lies in space, curved in its own plane and out of it.
//!
//! The loss of a bend is exponential in its curvature, so between two neighbouring points the logarithm of the loss
//! density is taken as straight. A core beside the centreline sees κ/(1 − yκ) over the length (1 − yκ) ds.

use crate::caches::{BendPlane, Caches};
use crate::checked::{Checked, CheckedLight};
use crate::form::FormPoint;
use crate::light::{Layout, Loss, MOST_DB, QuarterPath, loss};
use crate::places;
use crate::result::LossResult;
use ogee_optics::{BendTable, TableBasis, loss_in_both_planes_db_per_um};
use std::sync::Arc;

/// Distance below which two points are the two sides of one place, relative to the ribbon.
const ONE_PLACE: f64 = 1e-9;
/// Jumps of curvature below this share of the ribbon's largest are rounding.
const LEAST_JUMP: f64 = 1e-6;
/// Most out-of-plane curvature that counts as none, over the largest in the plane.
const FLAT: f64 = 1e-9;

/// The bend tables of a ribbon in space.
#[derive(Debug)]
pub(crate) struct Tables {
    within: Arc<BendTable>,
    /// Only where the ribbon leaves its plane; the error says why there is none.
    out: Option<Result<Arc<BendTable>, String>>,
}

impl Tables {
    /// The tables of the design's core; `None` without light or without a table in the plane.
    pub(crate) fn of(checked: &Checked, leaves_the_plane: bool, caches: &mut Caches) -> Option<Self> {
        let within = caches.corrected_table(checked)?.table;
        let out = if leaves_the_plane {
            caches.table(checked, BendPlane::Out).map(|table| table.map_err(|e| e.to_string()))
        } else {
            None
        };
        Some(Self { within, out })
    }

    /// Loss of the ribbon at rest, flat.
    pub(crate) fn at_rest(&self, checked: &Checked, light: &CheckedLight) -> Loss {
        let mut quarter = QuarterPath::default();
        quarter.fill_at_rest(checked.quarter());
        loss(&quarter, &Layout::of(checked, light), &self.within)
    }

    /// Whether the bend loss in the plane has been corrected by the true cross-section.
    pub(crate) fn is_corrected(&self) -> bool {
        self.within.basis() == TableBasis::Corrected
    }

    /// The model of the loss in the plane, in words.
    pub(crate) fn words(&self) -> &'static str {
        if self.is_corrected() {
            "bent modes of a slab, corrected by full-vector modes of the true cross-section; transitions by overlap in the \
             slab"
        } else {
            "bent mode of the effective-index slab, transitions by overlap (estimate)"
        }
    }

    /// Why the loss out of the plane is not known.
    pub(crate) fn trouble(&self) -> Option<&str> {
        self.out.as_ref()?.as_ref().err().map(String::as_str)
    }

    /// Bend loss at a place, dB/µm of stretched length.
    fn bend_db_per_um(&self, light: &CheckedLight, point: &FormPoint) -> f64 {
        let [within, out] = core_curvatures(light, point);
        match &self.out {
            Some(Ok(table)) => loss_in_both_planes_db_per_um(&light.core, &self.within, table, within, out),
            _ => self.within.loss_db_per_um(within.abs()),
        }
    }
}

/// Curvature of the core per its stretched length, in the plane and out of it, 1/µm.
fn core_curvatures(light: &CheckedLight, point: &FormPoint) -> [f64; 2] {
    let stretched = 1.0 + point.axial_strain;
    let within = point.curvature_in_per_um / stretched;
    [within / (1.0 - light.core_offset_um * within), point.curvature_out_per_um / stretched]
}

/// Writes the loss density into `points`: bends and propagation, dB/cm.
pub(crate) fn fill_density(checked: &Checked, tables: Option<&Tables>, points: &mut [FormPoint]) {
    let Some(light) = checked.light() else { return };
    let propagation = checked.design().light.as_ref().map_or(0.0, |l| l.propagation_loss_db_per_cm);
    for point in points {
        let bend = tables.map_or(0.0, |t| t.bend_db_per_um(light, point));
        point.loss_db_per_cm = propagation + 1e4 * bend;
    }
}

/// Loss along `points` by cause, as figures and as the result shows it. `None` without light.
pub(crate) fn loss_along(
    checked: &Checked,
    tables: &Tables,
    points: &[FormPoint],
) -> Option<(Loss, LossResult)> {
    let light = checked.light()?;
    let document = checked.design().light.as_ref()?;
    let total_um = checked.centreline().contour_length_um();
    let mut loss = Loss { end_db: 2.0 * document.end_loss_db, ..Loss::default() };
    let mut length_um = 0.0;
    let mut worst: Option<(f64, f64)> = None;
    let curvature = |p: &FormPoint| core_curvatures(light, p);
    let largest = points.iter().map(|p| curvature(p)[0].abs()).fold(0.0, f64::max);
    let mut jump = |before: f64, after: f64| {
        if (after - before).abs() > LEAST_JUMP * largest {
            loss.transition_db += tables.within.transition_db(before, after);
        }
    };
    // The ribbon's two ends meet straight guides where the design says so.
    if document.joins_straight_guides
        && let (Some(first), Some(last)) = (points.first(), points.last())
    {
        jump(0.0, curvature(first)[0]);
        jump(curvature(last)[0], 0.0);
    }
    for pair in points.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let ds = b.s_um - a.s_um;
        if ds <= ONE_PLACE * total_um {
            jump(curvature(a)[0], curvature(b)[0]);
        }
    }
    for pair in points.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let ds = (b.s_um - a.s_um).max(0.0);
        let mean = |f: &dyn Fn(&FormPoint) -> f64| 0.5 * (f(a) + f(b));
        let factor = mean(&|p| 1.0 - light.core_offset_um * p.curvature_in_per_um / (1.0 + p.axial_strain));
        let piece_um = ds * (1.0 + mean(&|p| p.axial_strain)) * factor;
        length_um += piece_um;
        loss.bend_db +=
            piece_um * logarithmic_mean(tables.bend_db_per_um(light, a), tables.bend_db_per_um(light, b));
        let size = |p: &FormPoint| {
            let [within, out] = curvature(p);
            within.hypot(out)
        };
        if worst.is_none_or(|(most, _)| size(b) > most * (1.0 + 1e-9)) {
            worst = Some((size(b), b.s_um));
        }
    }
    loss.propagation_db = (document.propagation_loss_db_per_cm * length_um * 1e-4).min(MOST_DB);
    loss.bend_db = loss.bend_db.min(MOST_DB);
    loss.transition_db = loss.transition_db.min(MOST_DB);
    let (worst_per_um, worst_s_um) = worst.unwrap_or_default();
    loss.worst_per_um = worst_per_um;
    loss.worst_s_um = worst_s_um;
    if !tables.within.in_range(largest) {
        loss.beyond_table_um = Some(tables.within.least_radius_um());
    }
    if let Some(Ok(out)) = &tables.out {
        let most = points.iter().map(|p| curvature(p)[1].abs()).fold(0.0, f64::max);
        if most > FLAT * largest && !out.in_range(most) {
            loss.beyond_table_um = Some(out.least_radius_um());
        }
    }
    let result = LossResult {
        total_db: loss.total_db(),
        bend_db: loss.bend_db,
        transition_db: loss.transition_db,
        propagation_db: loss.propagation_db,
        end_db: loss.end_db,
        worst_radius_um: (worst_per_um > 0.0).then(|| worst_per_um.recip()),
        worst_place: places::on_ribbon(checked, worst_s_um, None, ""),
    };
    Some((loss, result))
}

/// Mean of a quantity whose logarithm runs straight from `a` to `b`.
fn logarithmic_mean(a: f64, b: f64) -> f64 {
    let ratio = b / a;
    if !(a > 0.0 && b > 0.0 && ratio.is_finite()) || (ratio - 1.0).abs() < 1e-3 {
        return 0.5 * (a + b);
    }
    (b - a) / ratio.ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Design;
    use crate::evaluate::evaluate_all;

    /// The ribbon at rest, 32 points a segment.
    fn at_rest(checked: &Checked) -> Vec<FormPoint> {
        const STEPS: u32 = 32;
        let segments = checked.centreline().segments();
        segments
            .flat_map(|segment| {
                (0..=STEPS).map(move |i| {
                    let u = f64::from(i) / f64::from(STEPS);
                    FormPoint {
                        s_um: segment.s_um(u),
                        curvature_in_per_um: segment.sample(u).kappa_per_um,
                        ..FormPoint::default()
                    }
                })
            })
            .collect()
    }

    #[test]
    fn the_flat_ribbon_at_rest_agrees_with_the_sum_over_quarters() {
        for ends in crate::EndsName::ALL {
            let mut design = Design::sample();
            design.shape.ends = ends;
            design.shape.amplitude_um = 300.0;
            let checked = design.check().unwrap();
            let mut caches = Caches::new();
            let own = evaluate_all(&[&checked], &mut caches).remove(0).unwrap();
            let tables = Tables::of(&checked, false, &mut caches).unwrap();
            let expected = tables.at_rest(&checked, checked.light().unwrap());
            // The live loss differs by the correction of its bends alone.
            assert!(own.loss_rest().unwrap().bend_db < expected.bend_db);
            assert_eq!(own.loss_rest().unwrap().transition_db, expected.transition_db);
            let (loss, result) = loss_along(&checked, &tables, &at_rest(&checked)).unwrap();
            let close = |a: f64, b: f64, tolerance: f64| (a - b).abs() <= tolerance * b.abs() + 1e-9;
            assert!(close(loss.bend_db, expected.bend_db, 5e-3), "{ends:?} {loss:?} {expected:?}");
            assert!(
                close(loss.transition_db, expected.transition_db, 1e-2),
                "{ends:?} {loss:?} {expected:?}"
            );
            assert!(close(loss.propagation_db, expected.propagation_db, 1e-4), "{ends:?}");
            assert!(close(loss.worst_per_um, expected.worst_per_um, 1e-6), "{ends:?}");
            assert!(result.total_db > 0.0);
        }
    }

    #[test]
    fn bending_out_of_the_plane_adds_loss() {
        let checked = Design::sample().check().unwrap();
        let mut caches = Caches::new();
        let tables = Tables::of(&checked, true, &mut caches).unwrap();
        let flat = at_rest(&checked);
        let bent: Vec<FormPoint> =
            flat.iter().map(|p| FormPoint { curvature_out_per_um: 0.02, ..*p }).collect();
        let loss = |points: &[FormPoint]| loss_along(&checked, &tables, points).unwrap().0.bend_db;
        assert!(loss(&bent) > 1.5 * loss(&flat), "{} {}", loss(&bent), loss(&flat));
    }

    #[test]
    fn the_logarithmic_mean_lies_between_its_ends() {
        assert!((logarithmic_mean(1.0, std::f64::consts::E) - (std::f64::consts::E - 1.0)).abs() < 1e-12);
        assert!((logarithmic_mean(2.0, 2.0) - 2.0).abs() < 1e-15 && logarithmic_mean(0.0, 0.0) == 0.0);
    }
}
