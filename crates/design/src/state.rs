//! The ribbon at any stretch, for drawings and plots: one period solved, the rest repeated.

use crate::caches::Caches;
use crate::checked::Checked;
use crate::light::loss_density_db_per_cm;
use ogee_geometry::{CurvePoint, Ends};
use ogee_mechanics::{CellPoint, CellProblem};

/// Points of the cell per quarter: enough that a polyline looks smooth at any zoom of one period.
const PER_QUARTER: usize = 48;

/// One point of the ribbon, at rest and stretched.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RibbonPoint {
    /// Distance along the ribbon at rest, µm.
    pub s_um: f64,
    /// Position, µm.
    pub x_um: f64,
    /// Position, µm.
    pub y_um: f64,
    /// Tangent angle, rad.
    pub phi_rad: f64,
    /// Curvature at rest, 1/µm.
    pub kappa_rest_per_um: f64,
    /// Curvature per rest length, 1/µm.
    pub kappa_per_um: f64,
    /// Strain of the centreline, dimensionless.
    pub axial_strain: f64,
    /// Strain of the left edge, dimensionless.
    pub left_strain: f64,
    /// Strain of the right edge, dimensionless.
    pub right_strain: f64,
    /// Bend and propagation loss, dB/cm; 0 without light.
    pub loss_db_per_cm: f64,
}

impl RibbonPoint {
    fn shifted(mut self, s_um: f64, x_um: f64) -> Self {
        self.s_um += s_um;
        self.x_um += x_um;
        self
    }
}

/// The ribbon at one stretch: its two ends and one period that repeats between them.
#[derive(Clone, Debug, PartialEq)]
pub struct PeriodState {
    /// Stretch between the islands, dimensionless.
    pub stretch: f64,
    /// Stretch of the meander, dimensionless.
    pub cell_stretch: f64,
    /// One full period from crossing to crossing, starting at s = 0, x = 0, y = 0.
    pub period: Vec<RibbonPoint>,
    /// Length of the period along the span, µm.
    pub pitch_um: f64,
    /// Contour length of the period at rest, µm.
    pub period_contour_um: f64,
    /// The lead and the periods that differ, from the ribbon's start (x = 0) on.
    pub start: Vec<RibbonPoint>,
    /// The same at the far end, placed.
    pub end: Vec<RibbonPoint>,
    /// Where the first repeated period begins along the span, µm.
    pub first_period_x_um: f64,
    /// Where the first repeated period begins along the ribbon at rest, µm.
    pub first_period_s_um: f64,
    /// Number of repeated periods.
    pub whole_periods: u32,
    /// End-to-end length, µm.
    pub span_um: f64,
    /// Height of the crest above the midline, µm.
    pub amplitude_um: f64,
}

/// The ribbon at a stretch between the islands (0 is at rest).
///
/// The periodic cell gives every period; leads are drawn straight, and the bend of `midline` ends is drawn
/// with its angle scaled: the strain there is not the cell's and is left at the axial part.
///
/// # Errors
/// A sentence that says why there is no such state, such as a compression beyond contact.
pub fn period_state(checked: &Checked, stretch: f64, caches: &mut Caches) -> Result<PeriodState, String> {
    let cell_stretch = checked.cell_stretch(stretch);
    let problem = CellProblem { quarter: checked.quarter(), strips: checked.strips(), stretch: cell_stretch };
    let solution = caches.cell.solve(&problem, None).map_err(|e| e.to_string())?;
    let quarter: Vec<RibbonPoint> =
        solution.along(PER_QUARTER).iter().map(|p| ribbon_point(checked, caches, p)).collect();
    Ok(Assembly::new(checked, &quarter, stretch, cell_stretch).finish())
}

fn ribbon_point(checked: &Checked, caches: &Caches, p: &CellPoint) -> RibbonPoint {
    RibbonPoint {
        s_um: p.s_um,
        x_um: p.x_um,
        y_um: p.y_um,
        phi_rad: p.phi_rad,
        kappa_rest_per_um: p.kappa_rest_per_um,
        kappa_per_um: p.kappa_per_um,
        axial_strain: p.axial_strain,
        left_strain: p.left_strain,
        right_strain: p.right_strain,
        loss_db_per_cm: loss_density_db_per_cm(checked, caches, p.kappa_per_um / (1.0 + p.axial_strain)),
    }
}

/// Puts quarters together by the symmetries of the meander.
struct Assembly<'a> {
    checked: &'a Checked,
    stretch: f64,
    cell_stretch: f64,
    /// The four quarters of the period from a crossing, each from its own s = 0, x = 0.
    quarters: [Vec<RibbonPoint>; 4],
    length_um: f64,
    pitch_um: f64,
    amplitude_um: f64,
}

impl<'a> Assembly<'a> {
    fn new(checked: &'a Checked, quarter: &[RibbonPoint], stretch: f64, cell_stretch: f64) -> Self {
        let length_um = checked.quarter().length_um();
        let pitch_um = checked.quarter().pitch_um() * (1.0 + cell_stretch);
        // Down from the crest: mirrored about the crest's axis and run backwards; left stays left.
        let down = |p: &RibbonPoint| RibbonPoint {
            s_um: length_um - p.s_um,
            x_um: pitch_um / 4.0 - p.x_um,
            phi_rad: -p.phi_rad,
            ..*p
        };
        // Below the midline: mirrored about it; left and right change places.
        let below = |p: &RibbonPoint| RibbonPoint {
            y_um: -p.y_um,
            phi_rad: -p.phi_rad,
            kappa_rest_per_um: -p.kappa_rest_per_um,
            kappa_per_um: -p.kappa_per_um,
            left_strain: p.right_strain,
            right_strain: p.left_strain,
            ..*p
        };
        let first = quarter.to_vec();
        let second: Vec<_> = quarter.iter().rev().map(down).collect();
        let third = first.iter().map(below).collect();
        let fourth = second.iter().map(below).collect();
        Self {
            checked,
            stretch,
            cell_stretch,
            amplitude_um: quarter.last().map_or(0.0, |p| p.y_um),
            quarters: [first, second, third, fourth],
            length_um,
            pitch_um,
        }
    }

    fn finish(self) -> PeriodState {
        let periods = self.checked.design().shape.periods;
        let (start, end, whole_periods) = match self.checked.centreline().ends() {
            // A clamp keeps the lead at its rest angle while the periodic ribbon turns, hence the corner there.
            Ends::Crossing => (self.lead(self.checked.quarter().tilt_rad()), Vec::new(), periods),
            Ends::Crest => {
                let mut start = self.lead(0.0);
                for p in &mut start {
                    p.y_um = self.amplitude_um;
                }
                for k in 1..4 {
                    Self::append(&mut start, &self.quarters[k]);
                }
                (start, self.quarters[0].clone(), periods - 1)
            }
            Ends::Midline => {
                let opening = self.opening();
                let mut start = self.lead(0.0);
                Self::append(&mut start, &opening);
                let closing = Self::turned(&opening);
                if periods == 1 {
                    Self::append(&mut start, &self.quarters[1]);
                    let mut end = self.quarters[2].clone();
                    Self::append(&mut end, &closing);
                    (start, end, 0)
                } else {
                    let mut end = Vec::new();
                    for k in 1..4 {
                        Self::append(&mut start, &self.quarters[k]);
                        Self::append(&mut end, &self.quarters[k - 1]);
                    }
                    Self::append(&mut end, &closing);
                    (start, end, periods - 2)
                }
            }
        };
        self.place(start, &end, whole_periods)
    }

    /// The straight lead at the start, from s = 0 and x = 0.
    fn lead(&self, phi_rad: f64) -> Vec<RibbonPoint> {
        let length = self.checked.design().shape.lead_um;
        let axial_strain = self.quarters[0].last().map_or(0.0, |p| p.axial_strain.min(0.0));
        let point = |t: f64| RibbonPoint {
            s_um: t * length,
            x_um: t * length * phi_rad.cos(),
            y_um: (t - 1.0) * length * phi_rad.sin(),
            phi_rad,
            axial_strain,
            left_strain: axial_strain,
            right_strain: axial_strain,
            loss_db_per_cm: self.straight_loss(),
            ..RibbonPoint::default()
        };
        if length > 0.0 { vec![point(0.0), point(1.0)] } else { Vec::new() }
    }

    fn straight_loss(&self) -> f64 {
        self.checked.design().light.as_ref().map_or(0.0, |l| l.propagation_loss_db_per_cm)
    }

    /// Appends `part` where `chain` ends.
    fn append(chain: &mut Vec<RibbonPoint>, part: &[RibbonPoint]) {
        let (s, x) = chain.last().map_or((0.0, 0.0), |p| (p.s_um, p.x_um));
        let (s0, x0) = part.first().map_or((0.0, 0.0), |p| (p.s_um, p.x_um));
        chain.extend(part.iter().map(|p| p.shifted(s - s0, x - x0)));
    }

    /// The bend between the lead and the first arm, and the rest of the first quarter.
    fn opening(&self) -> Vec<RibbonPoint> {
        let Some(bend) = self.checked.centreline().end_bend() else { return self.quarters[0].clone() };
        let joint = bend.joins_quarter_at_um;
        let after =
            self.quarters[0].partition_point(|p| p.s_um <= joint).clamp(1, self.quarters[0].len() - 1);
        let first = smooth(&self.quarters[0][after - 1], &self.quarters[0][after], joint);
        let (angle, length) = (first.phi_rad, bend.length_um);
        let steps = PER_QUARTER / 2;
        let mut chain: Vec<RibbonPoint> = (0..=steps)
            .map(|i| {
                let s = length * i as f64 / steps as f64;
                let turn = angle * i as f64 / steps as f64;
                // Chord of the arc turned so far: s·sinc(turn/2) along turn/2.
                let chord = if turn.abs() < 1e-9 { s } else { s * (turn / 2.0).sin() / (turn / 2.0) };
                RibbonPoint {
                    s_um: s,
                    x_um: chord * (turn / 2.0).cos(),
                    y_um: chord * (turn / 2.0).sin(),
                    phi_rad: turn,
                    kappa_rest_per_um: 1.0 / bend.radius_um,
                    kappa_per_um: angle / length,
                    axial_strain: first.axial_strain,
                    left_strain: first.axial_strain,
                    right_strain: first.axial_strain,
                    loss_db_per_cm: first.loss_db_per_cm,
                }
            })
            .collect();
        let arc_top = chain.last().map_or(0.0, |p| p.y_um);
        let lift = first.y_um - arc_top;
        for p in &mut chain {
            p.y_um += lift;
        }
        let tail: Vec<RibbonPoint> =
            std::iter::once(first).chain(self.quarters[0][after..].iter().copied()).collect();
        Self::append(&mut chain, &tail);
        // The scaled bend misses the midline by `lift`; spread that over the height so that the lead stays on it.
        if (self.amplitude_um - lift).abs() > 1e-9 * self.length_um {
            let scale = self.amplitude_um / (self.amplitude_um - lift);
            for p in &mut chain {
                p.y_um = (p.y_um - lift) * scale;
            }
        }
        chain
    }

    /// `part` turned by 180°, run backwards: the far end.
    fn turned(part: &[RibbonPoint]) -> Vec<RibbonPoint> {
        let (s, x) = part.last().map_or((0.0, 0.0), |p| (p.s_um, p.x_um));
        part.iter()
            .rev()
            .map(|p| RibbonPoint {
                s_um: s - p.s_um,
                x_um: x - p.x_um,
                y_um: -p.y_um,
                kappa_rest_per_um: -p.kappa_rest_per_um,
                kappa_per_um: -p.kappa_per_um,
                left_strain: p.right_strain,
                right_strain: p.left_strain,
                ..*p
            })
            .collect()
    }

    fn place(self, mut start: Vec<RibbonPoint>, end: &[RibbonPoint], whole_periods: u32) -> PeriodState {
        let mut period = Vec::with_capacity(4 * PER_QUARTER + 4);
        for quarter in &self.quarters {
            Self::append(&mut period, quarter);
        }
        let contour = 4.0 * self.length_um;
        let (first_s, first_x) = start.last().map_or((0.0, 0.0), |p| (p.s_um, p.x_um));
        let n = f64::from(whole_periods);
        let (s1, x1) = (first_s + n * contour, first_x + n * self.pitch_um);
        let mut end: Vec<RibbonPoint> = end.iter().map(|p| p.shifted(s1, x1)).collect();
        let anchor = end.last().copied().unwrap_or(RibbonPoint {
            s_um: s1,
            x_um: x1,
            phi_rad: self.checked.quarter().tilt_rad(),
            ..RibbonPoint::default()
        });
        // The far lead is the near one turned by 180°; on crests it is mirrored instead and stays up.
        let lead = self.lead(anchor.phi_rad);
        for p in &lead {
            end.push(RibbonPoint {
                s_um: anchor.s_um + p.s_um,
                x_um: anchor.x_um + p.x_um,
                y_um: anchor.y_um + p.y_um - lead.first().map_or(0.0, |l| l.y_um),
                ..*p
            });
        }
        let mut span_um = end.last().map_or(x1, |p| p.x_um);
        // Leads take up what the drawing of the end bends leaves over, so that the islands stand where they do.
        let rest_span = self.checked.centreline().span_um();
        let missing = rest_span * (1.0 + self.stretch) - span_um;
        let mut shift = 0.0;
        if self.checked.centreline().ends() == Ends::Midline && missing.abs() > 1e-9 * rest_span {
            shift = (missing / 2.0).max(-0.9 * self.checked.design().shape.lead_um);
            for (i, p) in start.iter_mut().enumerate() {
                if i > 0 || self.checked.design().shape.lead_um == 0.0 {
                    p.x_um += shift;
                }
            }
            let last = end.len().saturating_sub(1);
            for (i, p) in end.iter_mut().enumerate() {
                p.x_um += if i < last { shift } else { 2.0 * shift };
            }
            span_um += 2.0 * shift;
        }
        PeriodState {
            stretch: self.stretch,
            cell_stretch: self.cell_stretch,
            period,
            pitch_um: self.pitch_um,
            period_contour_um: contour,
            start,
            end,
            first_period_x_um: first_x + shift,
            first_period_s_um: first_s,
            whole_periods,
            span_um,
            amplitude_um: self.amplitude_um,
        }
    }
}

impl PeriodState {
    /// The whole ribbon as one chain of points, thinned so that it has at most about `most_points`.
    ///
    /// Where even one point a quarter is too many, the middle of the ribbon is left out.
    pub fn whole(&self, most_points: usize) -> Vec<RibbonPoint> {
        let ends = self.start.len() + self.end.len();
        let room = most_points.saturating_sub(ends).max(4);
        let periods = (self.whole_periods as usize).min(room / 4);
        let stride = (periods * self.period.len() / room).max(1);
        let mut chain = self.start.clone();
        for k in 0..periods {
            let (s, x) = self.period_origin(k as u32);
            chain.extend(self.period.iter().step_by(stride).map(|p| p.shifted(s, x)));
        }
        chain.extend(&self.end);
        chain
    }

    /// Where repeated period `k` begins: distance along the ribbon at rest and along the span, µm.
    pub fn period_origin(&self, k: u32) -> (f64, f64) {
        let k = f64::from(k);
        (self.first_period_s_um + k * self.period_contour_um, self.first_period_x_um + k * self.pitch_um)
    }

    /// The ribbon at distance `s_um` along it at rest, interpolated.
    pub fn at(&self, s_um: f64) -> Option<RibbonPoint> {
        let end_s = self.period_origin(self.whole_periods).0;
        if s_um < self.first_period_s_um {
            interpolate(&self.start, s_um)
        } else if s_um <= end_s && self.whole_periods > 0 {
            let k = ((s_um - self.first_period_s_um) / self.period_contour_um).floor();
            let k = (k as u32).min(self.whole_periods - 1);
            let (s, x) = self.period_origin(k);
            interpolate(&self.period, s_um - s).map(|p| p.shifted(s, x))
        } else {
            interpolate(&self.end, s_um)
        }
    }

    /// The point of the ribbon nearest to (x, y), with the signed offset of (x, y) from it, left positive.
    pub fn nearest(&self, x_um: f64, y_um: f64) -> Option<(RibbonPoint, f64)> {
        let mut best: Option<(f64, RibbonPoint, f64)> = None;
        let mut look = |chain: &[RibbonPoint], s: f64, x: f64| {
            for pair in chain.windows(2) {
                let (a, b) = (pair[0], pair[1]);
                let (dx, dy) = (b.x_um - a.x_um, b.y_um - a.y_um);
                let square = dx * dx + dy * dy;
                let (px, py) = (x_um - x - a.x_um, y_um - a.y_um);
                let t = if square > 0.0 { ((px * dx + py * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
                let (ex, ey) = (px - t * dx, py - t * dy);
                let distance = ex.hypot(ey);
                if best.as_ref().is_none_or(|b| distance < b.0) {
                    let point = mix(&a, &b, t).shifted(s, x);
                    let side = dx * ey - dy * ex;
                    best = Some((distance, point, distance.copysign(side)));
                }
            }
        };
        look(&self.start, 0.0, 0.0);
        look(&self.end, 0.0, 0.0);
        if self.whole_periods > 0 {
            // An overhanging period reaches beyond its own pitch, so its neighbours are looked at too.
            let here = ((x_um - self.first_period_x_um) / self.pitch_um).floor() as i64;
            for k in here - 1..=here + 1 {
                let k = k.clamp(0, i64::from(self.whole_periods) - 1) as u32;
                let (s, x) = self.period_origin(k);
                look(&self.period, s, x);
            }
        }
        best.map(|(_, point, offset)| (point, offset))
    }
}

fn interpolate(chain: &[RibbonPoint], s_um: f64) -> Option<RibbonPoint> {
    let i = chain.partition_point(|p| p.s_um < s_um);
    match (i.checked_sub(1).and_then(|j| chain.get(j)), chain.get(i)) {
        (Some(a), Some(b)) if b.s_um > a.s_um => Some(mix(a, b, (s_um - a.s_um) / (b.s_um - a.s_um))),
        (_, Some(p)) | (Some(p), None) => Some(*p),
        (None, None) => None,
    }
}

/// The point at `s_um` between two neighbours of one smooth stretch: position and angle by cubics that keep angle and
/// curvature at both ends, the rest linearly.
fn smooth(a: &RibbonPoint, b: &RibbonPoint, s_um: f64) -> RibbonPoint {
    let ds = b.s_um - a.s_um;
    let t = if ds > 0.0 { (s_um - a.s_um) / ds } else { 0.0 };
    let (ta, tb) = (t * (1.0 - t) * (1.0 - t), -t * t * (1.0 - t));
    let step = t * t * (3.0 - 2.0 * t);
    let cubic =
        |a: f64, b: f64, slope_a: f64, slope_b: f64| a + step * (b - a) + ds * (ta * slope_a + tb * slope_b);
    let along = |p: &RibbonPoint| {
        ((1.0 + p.axial_strain) * p.phi_rad.cos(), (1.0 + p.axial_strain) * p.phi_rad.sin())
    };
    let ((ax, ay), (bx, by)) = (along(a), along(b));
    RibbonPoint {
        x_um: cubic(a.x_um, b.x_um, ax, bx),
        y_um: cubic(a.y_um, b.y_um, ay, by),
        phi_rad: cubic(a.phi_rad, b.phi_rad, a.kappa_per_um, b.kappa_per_um),
        ..mix(a, b, t)
    }
}

fn mix(a: &RibbonPoint, b: &RibbonPoint, t: f64) -> RibbonPoint {
    let m = |p: f64, q: f64| p + t * (q - p);
    RibbonPoint {
        s_um: m(a.s_um, b.s_um),
        x_um: m(a.x_um, b.x_um),
        y_um: m(a.y_um, b.y_um),
        phi_rad: m(a.phi_rad, b.phi_rad),
        kappa_rest_per_um: m(a.kappa_rest_per_um, b.kappa_rest_per_um),
        kappa_per_um: m(a.kappa_per_um, b.kappa_per_um),
        axial_strain: m(a.axial_strain, b.axial_strain),
        left_strain: m(a.left_strain, b.left_strain),
        right_strain: m(a.right_strain, b.right_strain),
        loss_db_per_cm: m(a.loss_db_per_cm, b.loss_db_per_cm),
    }
}

/// The point of a chain as geometry writes it, for the clearance of the stretched ribbon.
pub(crate) fn curve_points(quarter: &[CellPoint]) -> Vec<CurvePoint> {
    quarter
        .iter()
        .map(|p| CurvePoint {
            s_um: p.s_um,
            x_um: p.x_um,
            y_um: p.y_um,
            phi_rad: p.phi_rad,
            kappa_per_um: p.kappa_per_um / (1.0 + p.axial_strain),
        })
        .collect()
}
