//! The full tier: the models that take longer than a frame, and the ribbon's form along the stretch.

mod light;

use crate::assess::live_parts;
use crate::caches::Caches;
use crate::check::Checked;
use crate::form::{FormKind, FormPoint, RibbonForm, RibbonPath};
use crate::result::{Assessment, Tier};
use crate::state::{RibbonPoint, period_state};

/// Stretches at which the form is kept.
const FORMS: usize = 24;
/// Most points of a form.
const MOST_POINTS: usize = 4000;

/// What the full tier finds.
#[derive(Clone, Debug)]
pub struct Full {
    /// Every figure and margin.
    pub assessment: Assessment,
    /// The ribbon's form from slight compression to past the target.
    pub path: RibbonPath,
}

/// Assesses a checked design by the full models.
///
/// `None` when `keep_going` said stop.
///
/// # Errors
/// A sentence that says why there is no equilibrium at the target stretch.
pub fn assess_full(
    checked: &Checked,
    caches: &mut Caches,
    keep_going: &dyn Fn() -> bool,
) -> Result<Option<Full>, String> {
    let Some(parts) = live_parts(checked, caches, keep_going)? else { return Ok(None) };
    let mut assessment = parts.assessment;
    assessment.tier = Tier::Full;
    let far = 1.25 * checked.target_stretch();
    let mut forms = Vec::new();
    for i in 0..=FORMS {
        if !keep_going() {
            return Ok(None);
        }
        let stretch = far * i as f64 / FORMS as f64;
        let state = period_state(checked, stretch, caches)?;
        let points = state.whole(MOST_POINTS).iter().map(flat_point).collect();
        forms.push(RibbonForm { stretch, kind: FormKind::Flat, points });
    }
    Ok(Some(Full { assessment, path: RibbonPath::new(forms, None) }))
}

fn flat_point(p: &RibbonPoint) -> FormPoint {
    let (sin, cos) = p.phi_rad.sin_cos();
    FormPoint {
        s_um: p.s_um,
        position_um: [p.x_um, p.y_um, 0.0],
        across: [-sin, cos, 0.0],
        rest_curvature_per_um: p.kappa_rest_per_um,
        curvature_in_per_um: p.kappa_per_um,
        curvature_out_per_um: 0.0,
        twist_per_um: 0.0,
        axial_strain: p.axial_strain,
        left_strain: p.left_strain,
        right_strain: p.right_strain,
        loss_db_per_cm: p.loss_db_per_cm,
    }
}
