//! The whole ribbon at any stretch, end effects and out-of-plane shape included, for drawings and plots.

/// How a form was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FormKind {
    /// Free, in its plane.
    Flat,
    /// Free, out of its plane.
    Buckled,
    /// Bonded to an elastomer.
    Bonded,
}

/// One place of the stretched ribbon.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FormPoint {
    /// Distance along the ribbon at rest, µm.
    pub s_um: f64,
    /// Position of the centreline: along the span, across it, out of the plane, µm. The near island is at x = 0.
    pub position_um: [f64; 3],
    /// Unit vector towards the left edge.
    pub across: [f64; 3],
    /// Curvature at rest, 1/µm.
    pub rest_curvature_per_um: f64,
    /// Curvature in the ribbon's own plane, per rest length, 1/µm.
    pub curvature_in_per_um: f64,
    /// Curvature out of the ribbon's own plane, 1/µm.
    pub curvature_out_per_um: f64,
    /// Twist, 1/µm.
    pub twist_per_um: f64,
    /// Strain of the centreline, dimensionless.
    pub axial_strain: f64,
    /// Strain of the left edge, the larger in size of its two faces, dimensionless.
    pub left_strain: f64,
    /// Strain of the right edge, the larger in size of its two faces, dimensionless.
    pub right_strain: f64,
    /// Bend and propagation loss, dB/cm; 0 without light.
    pub loss_db_per_cm: f64,
}

impl FormPoint {
    /// A place of a ribbon in its plane, without loss.
    ///
    /// * `at_um`: distance along the ribbon at rest, then x and y. `curvatures_per_um`: at rest and stretched. `strains`: of
    ///   the centreline, the left and the right edge.
    pub fn in_plane(at_um: [f64; 3], phi_rad: f64, curvatures_per_um: [f64; 2], strains: [f64; 3]) -> Self {
        let (sin, cos) = phi_rad.sin_cos();
        let [s_um, x_um, y_um] = at_um;
        let [rest_curvature_per_um, curvature_in_per_um] = curvatures_per_um;
        let [axial_strain, left_strain, right_strain] = strains;
        Self {
            s_um,
            position_um: [x_um, y_um, 0.0],
            across: [-sin, cos, 0.0],
            rest_curvature_per_um,
            curvature_in_per_um,
            axial_strain,
            left_strain,
            right_strain,
            ..Self::default()
        }
    }
}

/// The whole ribbon at one stretch.
#[derive(Clone, Debug, PartialEq)]
pub struct RibbonForm {
    /// Stretch between the islands, dimensionless.
    pub stretch: f64,
    /// How it was found.
    pub kind: FormKind,
    /// Places from the near island to the far one, at the same distances along the ribbon in every form of a path.
    pub points: Vec<FormPoint>,
}

impl RibbonForm {
    /// Greatest height over the plane and depth below it of the ribbon's edges, µm, both positive.
    pub fn heights_um(&self, width_um: f64) -> [f64; 2] {
        self.points.iter().fold([0.0; 2], |[above, below]: [f64; 2], p| {
            let (z, half) = (p.position_um[2], (0.5 * width_um * p.across[2]).abs());
            [above.max(z + half), below.max(half - z)]
        })
    }

    /// The place at the distance `s_um` along the ribbon at rest, interpolated.
    pub fn at(&self, s_um: f64) -> Option<FormPoint> {
        let i = self.points.partition_point(|p| p.s_um < s_um);
        match (i.checked_sub(1).and_then(|j| self.points.get(j)), self.points.get(i)) {
            (Some(a), Some(b)) if b.s_um > a.s_um => Some(mix(a, b, (s_um - a.s_um) / (b.s_um - a.s_um))),
            (_, Some(p)) | (Some(p), None) => Some(*p),
            (None, None) => None,
        }
    }
}

/// The forms that a ribbon takes from compression to far stretch, solved at some stretches and kept.
///
/// Between two of them a form is interpolated; next to the onset of buckling in the square root of the distance from
/// it, as the deflection grows there. So any stretch costs microseconds and dragging one is smooth.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RibbonPath {
    /// By rising stretch; all with the same places.
    forms: Vec<RibbonForm>,
    onset: Option<f64>,
}

impl RibbonPath {
    /// A path through `forms`, which are put in order; forms whose places differ from the first are left out.
    ///
    /// * `onset`: stretch at which the ribbon leaves its plane, where it does.
    pub fn new(mut forms: Vec<RibbonForm>, onset: Option<f64>) -> Self {
        let count = forms.first().map_or(0, |f| f.points.len());
        forms.retain(|f| f.points.len() == count && f.stretch.is_finite());
        forms.sort_by(|a, b| a.stretch.total_cmp(&b.stretch));
        Self { forms, onset }
    }

    /// The forms that were solved, by rising stretch.
    pub fn forms(&self) -> &[RibbonForm] {
        &self.forms
    }

    /// Stretch at which the ribbon leaves its plane, where it does.
    pub fn onset(&self) -> Option<f64> {
        self.onset
    }

    /// Least and greatest stretch of the path; none where there are no forms.
    pub fn range(&self) -> Option<[f64; 2]> {
        Some([self.forms.first()?.stretch, self.forms.last()?.stretch])
    }

    /// The ribbon at `stretch`; none outside the path's range.
    pub fn form(&self, stretch: f64) -> Option<RibbonForm> {
        let [low, high] = self.range()?;
        let within = 1e-9 * (high - low);
        if !(stretch >= low - within && stretch <= high + within) {
            return None;
        }
        let after = self.forms.partition_point(|f| f.stretch < stretch);
        let Some(to) = self.forms.get(after) else { return self.forms.last().cloned() };
        let Some(from) = after.checked_sub(1).and_then(|i| self.forms.get(i)) else {
            return Some(to.clone());
        };
        let share = self.share(from.stretch, to.stretch, stretch);
        let points = from.points.iter().zip(&to.points).map(|(a, b)| mix(a, b, share)).collect();
        let kind = if share > 0.0 { to.kind } else { from.kind };
        Some(RibbonForm { stretch, kind, points })
    }

    /// The share of the way from one form to the next.
    fn share(&self, from: f64, to: f64, stretch: f64) -> f64 {
        match self.onset {
            Some(onset) if from >= onset - 1e-12 && to > onset => {
                let root = |e: f64| (e - onset).max(0.0).sqrt();
                ((root(stretch) - root(from)) / (root(to) - root(from))).clamp(0.0, 1.0)
            }
            _ => (stretch - from) / (to - from),
        }
    }
}

fn mix(a: &FormPoint, b: &FormPoint, t: f64) -> FormPoint {
    let m = |p: f64, q: f64| p + t * (q - p);
    let m3 = |p: [f64; 3], q: [f64; 3]| [m(p[0], q[0]), m(p[1], q[1]), m(p[2], q[2])];
    let across = m3(a.across, b.across);
    let length = across.iter().map(|c| c * c).sum::<f64>().sqrt();
    let scale = if length > 0.0 { length.recip() } else { 1.0 };
    FormPoint {
        s_um: m(a.s_um, b.s_um),
        position_um: m3(a.position_um, b.position_um),
        across: across.map(|c| c * scale),
        rest_curvature_per_um: m(a.rest_curvature_per_um, b.rest_curvature_per_um),
        curvature_in_per_um: m(a.curvature_in_per_um, b.curvature_in_per_um),
        curvature_out_per_um: m(a.curvature_out_per_um, b.curvature_out_per_um),
        twist_per_um: m(a.twist_per_um, b.twist_per_um),
        axial_strain: m(a.axial_strain, b.axial_strain),
        left_strain: m(a.left_strain, b.left_strain),
        right_strain: m(a.right_strain, b.right_strain),
        loss_db_per_cm: m(a.loss_db_per_cm, b.loss_db_per_cm),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(stretch: f64, z: f64) -> RibbonForm {
        let kind = if z == 0.0 { FormKind::Flat } else { FormKind::Buckled };
        let point = |s: f64| FormPoint {
            s_um: s,
            position_um: [s * (1.0 + stretch), 0.0, z * (std::f64::consts::PI * s).sin()],
            across: [0.0, 1.0, 0.0],
            ..FormPoint::default()
        };
        RibbonForm { stretch, kind, points: (0..=10).map(|i| point(f64::from(i) / 10.0)).collect() }
    }

    #[test]
    fn deflection_grows_as_a_root_past_the_onset() {
        let (onset, far) = (0.1, 0.2);
        let path = RibbonPath::new(vec![form(far, 2.0), form(0.0, 0.0), form(onset, 0.0)], Some(onset));
        assert_eq!(path.range(), Some([0.0, far]));
        let quarter = path.form(0.125).expect("within the range");
        assert!((quarter.points[5].position_um[2] - 1.0).abs() < 1e-12);
        assert_eq!(quarter.kind, FormKind::Buckled);
        let before = path.form(0.05).expect("within the range");
        assert_eq!(before.kind, FormKind::Flat);
        assert!(before.points[5].position_um[2] == 0.0 && path.form(0.3).is_none());
        assert!((before.points[10].position_um[0] - 1.05).abs() < 1e-12);
        assert_eq!(path.form(far), path.forms().last().cloned());
    }

    #[test]
    fn places_between_points_are_interpolated() {
        let shape = form(0.0, 1.0);
        let place = shape.at(0.55).expect("has points");
        assert!((place.position_um[0] - 0.55).abs() < 1e-12);
        assert!(RibbonPath::default().form(0.0).is_none());
        let [above, below] = shape.heights_um(0.4);
        assert!((above - 1.0).abs() < 1e-12 && below == 0.0);
    }
}
