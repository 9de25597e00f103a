//! The whole ribbon as the full models find it, in the terms of the plan: one chain of points without repeats.

use ogee_design::{Checked, FormKind, FormPoint, PeriodState, RibbonForm, RibbonPath, RibbonPoint};
use std::sync::Arc;

/// Fewest points for each period for which a form is drawn; with fewer the repeated period looks better.
const LEAST_POINTS: usize = 16;

/// The ribbon at the stretch shown.
#[derive(Clone, Debug)]
pub(super) struct Shown {
    /// Its shape in plan.
    pub state: Arc<PeriodState>,
    /// For each point of the chain the way to the left edge as seen from above, foreshortened where the ribbon is
    /// twisted out of its plane; empty where it is at right angles to the ribbon everywhere.
    pub across: Arc<[[f64; 2]]>,
    /// The form it was made of; none for a repeated period.
    pub form: Option<Arc<RibbonForm>>,
}

impl Shown {
    /// One period repeated.
    pub(super) fn periodic(state: Arc<PeriodState>) -> Self {
        Self { state, across: Arc::new([]), form: None }
    }

    /// How it was found: none for a repeated period.
    pub(super) fn kind(&self) -> Option<FormKind> {
        self.form.as_ref().map(|form| form.kind)
    }
}

/// The form of `path` at `stretch`, in terms of the plan; none beyond the path and where it has too few points.
pub(super) fn whole(checked: &Checked, path: &RibbonPath, stretch: f64) -> Option<Shown> {
    let form = path.form(stretch)?;
    let periods = checked.design().shape.periods.max(1);
    if form.points.len() < LEAST_POINTS * periods as usize || form.points.len() < 4 {
        return None;
    }
    let angles = angles(&form);
    let mut chain: Vec<RibbonPoint> =
        form.points.iter().zip(&angles).map(|(p, phi_rad)| in_plan(p, *phi_rad)).collect();
    let across = form.points.iter().map(|p| [p.across[0], p.across[1]]).collect();
    let end = chain.split_off(chain.len() - 1);
    let joint = *chain.last()?;
    let last = *end.last()?;
    let n = f64::from(periods);
    let state = PeriodState {
        stretch,
        cell_stretch: checked.cell_stretch(stretch),
        period: Vec::new(),
        pitch_um: (last.x_um / n).max(1e-9),
        period_contour_um: (last.s_um / n).max(1e-9),
        amplitude_um: chain.iter().map(|p| p.y_um).fold(0.0, f64::max),
        start: chain,
        end: vec![joint, last],
        first_period_x_um: joint.x_um,
        first_period_s_um: joint.s_um,
        whole_periods: 0,
        span_um: last.x_um,
    };
    Some(Shown { state: Arc::new(state), across, form: Some(Arc::new(form)) })
}

fn in_plan(p: &FormPoint, phi_rad: f64) -> RibbonPoint {
    RibbonPoint {
        s_um: p.s_um,
        x_um: p.position_um[0],
        y_um: p.position_um[1],
        phi_rad,
        kappa_rest_per_um: p.rest_curvature_per_um,
        kappa_per_um: p.curvature_in_per_um,
        axial_strain: p.axial_strain,
        left_strain: p.left_strain,
        right_strain: p.right_strain,
        loss_db_per_cm: p.loss_db_per_cm,
    }
}

/// The form of one period repeated: flat, with at most about `most_points` points.
pub(super) fn flat_form(state: &PeriodState, most_points: usize) -> RibbonForm {
    let point = |p: &RibbonPoint| FormPoint {
        loss_db_per_cm: p.loss_db_per_cm,
        ..FormPoint::in_plane(
            [p.s_um, p.x_um, p.y_um],
            p.phi_rad,
            [p.kappa_rest_per_um, p.kappa_per_um],
            [p.axial_strain, p.left_strain, p.right_strain],
        )
    };
    let points = state.whole(most_points).iter().map(point).collect();
    RibbonForm { stretch: state.stretch, kind: FormKind::Flat, points }
}

/// Angles of the tangent as seen from above, without jumps.
///
/// In the plane they are at right angles to the way across; out of it only the neighbours tell.
fn angles(form: &RibbonForm) -> Vec<f64> {
    let points = &form.points;
    let last = points.len().saturating_sub(1);
    let mut before = 0.0;
    (0..points.len())
        .map(|i| {
            let angle = if form.kind == FormKind::Buckled {
                let (a, b) =
                    (&points[i.saturating_sub(1)].position_um, &points[(i + 1).min(last)].position_um);
                (b[1] - a[1]).atan2(b[0] - a[0])
            } else {
                let [x, y, _] = points[i].across;
                (-x).atan2(y)
            };
            let turns = ((before - angle) / std::f64::consts::TAU).round();
            before = angle + turns * std::f64::consts::TAU;
            before
        })
        .collect()
}

/// Every point of a ribbon once, placed; of the repeated periods the first.
pub(super) fn all_points(state: &PeriodState) -> impl Iterator<Item = RibbonPoint> + '_ {
    let (s, x) = state.period_origin(0);
    let repeats = if state.whole_periods > 0 { &state.period[..] } else { &[] };
    let placed = repeats.iter().map(move |p| RibbonPoint { s_um: p.s_um + s, x_um: p.x_um + x, ..*p });
    state.start.iter().copied().chain(placed).chain(state.end.iter().copied())
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use ogee_design::{Caches, Design, period_state};

    /// The sample, buckled by hand: from `onset` on it rises over its plane as far as `height_um` at 40 %.
    pub(in super::super) fn buckled(height_um: f64, onset: f64) -> (Arc<Checked>, RibbonPath) {
        let checked = Arc::new(Design::sample().check().expect("the sample is possible"));
        let mut caches = Caches::new();
        let mut forms = Vec::new();
        for i in 0..=10 {
            let stretch = 0.05 * f64::from(i);
            let state = period_state(&checked, stretch, &mut caches).expect("it has an equilibrium");
            let rise = height_um * ((stretch - onset).max(0.0) / (0.4 - onset)).sqrt();
            let chain = state.whole(4000);
            let length = chain.last().expect("a ribbon has an end").s_um;
            let point = |p: &RibbonPoint| {
                let share = std::f64::consts::PI * p.s_um / length;
                let tilt = (rise / length * 3.0) * share.cos();
                let (sin, cos) = p.phi_rad.sin_cos();
                FormPoint {
                    s_um: p.s_um,
                    position_um: [p.x_um, p.y_um, rise * share.sin()],
                    across: [-sin * tilt.cos(), cos * tilt.cos(), tilt.sin()],
                    rest_curvature_per_um: p.kappa_rest_per_um,
                    curvature_in_per_um: p.kappa_per_um,
                    curvature_out_per_um: 0.1 * rise / length,
                    twist_per_um: 0.0,
                    axial_strain: p.axial_strain,
                    left_strain: p.left_strain,
                    right_strain: p.right_strain,
                    loss_db_per_cm: p.loss_db_per_cm,
                }
            };
            let kind = if rise > 0.0 { FormKind::Buckled } else { FormKind::Flat };
            forms.push(RibbonForm { stretch, kind, points: chain.iter().map(point).collect() });
        }
        (checked, RibbonPath::new(forms, Some(onset)))
    }

    #[test]
    fn a_whole_form_is_a_chain_from_island_to_island() {
        let (checked, path) = buckled(150.0, 0.06);
        let shown = whole(&checked, &path, 0.3).expect("within the path");
        assert_eq!(shown.kind(), Some(FormKind::Buckled));
        let state = &shown.state;
        let length = checked.centreline().contour_length_um();
        for share in [0.0, 0.2, 0.5, 0.999, 1.0] {
            let point = state.at(share * length).expect("the chain covers the ribbon");
            assert!((point.s_um - share * length).abs() < 1e-6, "{share}: {}", point.s_um);
        }
        assert!((state.span_um / checked.centreline().span_um() - 1.3).abs() < 1e-3);
        assert_eq!(shown.across.len(), all_points(state).count() - 1, "the joint is in both parts");
        assert!(shown.across.iter().all(|a| a[0].hypot(a[1]) <= 1.0 + 1e-12));
        assert!(whole(&checked, &path, 2.0).is_none(), "beyond the path");
    }

    #[test]
    fn angles_follow_the_ribbon_without_jumps() {
        let (checked, path) = buckled(0.0, 0.5);
        let shown = whole(&checked, &path, 0.2).expect("within the path");
        let jump =
            shown.state.start.windows(2).map(|p| (p[1].phi_rad - p[0].phi_rad).abs()).fold(0.0, f64::max);
        assert!(jump < 0.5, "{jump}");
        let (_, raised) = buckled(150.0, 0.06);
        let raised = whole(&checked, &raised, 0.2).expect("within the path");
        for (a, b) in shown.state.start.iter().zip(&raised.state.start).skip(2) {
            assert!((a.phi_rad - b.phi_rad).abs() < 0.12, "at {}: {} {}", a.s_um, a.phi_rad, b.phi_rad);
        }
    }
}
