//! The handles on the ribbon at rest: where they sit, what they change, and what a pulled one asks for.

use super::sheet::{Extent, Sheet};
use super::steps::step_at_least;
use ogee_design::{Checked, Design, EndsName, FamilyName, PeriodState};
use std::sync::Arc;

/// Least width of a period, points, for the handles that sit within one.
const LEAST_PERIOD: f32 = 26.0;
/// Distance of the plateau's handle from the ribbon's edge, points.
const PLATEAU_REACH: f64 = 12.0;
/// Share of the quarter, from the crest, at which the handle of the bend radius sits.
const RADIUS_TURN_RAD: f64 = 1.1;
/// Least share of the quarter between the crossing and the handle of the tilt.
const LEAST_ARM_SHARE: f64 = 0.25;
/// Step of a round value on the screen, points.
const SNAP_POINTS: f64 = 1.4;

/// What a handle changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Kind {
    /// The amplitude, by the crest.
    Crest,
    /// The pitch, by the next crossing.
    Crossing,
    /// The width, by the edge.
    Edge,
    /// The radius of the arcs.
    Radius,
    /// The tilt of the arms.
    Tilt,
    /// The share of constant curvature.
    Plateau,
    /// The number of periods, by the island's face.
    Island,
}

impl Kind {
    /// The kinds that a design has, in the order in which Tab walks through them.
    pub(super) fn of(design: &Design) -> Vec<Self> {
        let shape = &design.shape;
        let mut kinds = vec![Self::Crest, Self::Crossing, Self::Edge];
        match shape.family {
            FamilyName::ArcAndArm if shape.radius_um.is_some() => kinds.push(Self::Radius),
            FamilyName::ArcAndArm => kinds.push(Self::Tilt),
            FamilyName::Clothoid => kinds.push(Self::Plateau),
            FamilyName::Sine | FamilyName::Arc | FamilyName::SineGenerated => {}
        }
        kinds.push(Self::Island);
        kinds
    }

    /// Path of the field that it changes.
    pub(super) fn path(self) -> &'static str {
        match self {
            Self::Crest => "shape.amplitude_um",
            Self::Crossing => "shape.pitch_um",
            Self::Edge => "shape.width_um",
            Self::Radius => "shape.radius_um",
            Self::Tilt => "shape.tilt_deg",
            Self::Plateau => "shape.plateau_share",
            Self::Island => "shape.periods",
        }
    }

    /// The name that tests and screen readers find it by.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Crest => "crest",
            Self::Crossing => "crossing",
            Self::Edge => "edge",
            Self::Radius | Self::Tilt | Self::Plateau => "bend",
            Self::Island => "island",
        }
    }

    /// The quantity in plain words, lower case.
    pub(super) fn quantity(self) -> &'static str {
        match self {
            Self::Crest => "amplitude",
            Self::Crossing => "pitch",
            Self::Edge => "width",
            Self::Radius => "bend radius",
            Self::Tilt => "tilt",
            Self::Plateau => "plateau share",
            Self::Island => "periods",
        }
    }

    /// What the edit is called in the menu.
    pub(super) fn edit_label(self) -> String {
        format!("Change {}", if self == Self::Island { "number of periods" } else { self.quantity() })
    }

    /// The value with its unit, as it stands beside the handle.
    pub(super) fn value_text(self, value: f64) -> String {
        let digits = ogee_design::digits_text(value, 5);
        match self {
            Self::Crest | Self::Crossing | Self::Edge | Self::Radius => format!("{digits} µm"),
            Self::Tilt => format!("{digits}°"),
            Self::Plateau => digits,
            Self::Island if value == 1.0 => "1 period".to_owned(),
            Self::Island => format!("{digits} periods"),
        }
    }
}

/// A ribbon at rest with the period that carries the handles.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    checked: Arc<Checked>,
    span_um: f64,
    end_y_um: f64,
    /// Where the carrying period begins: an upward crossing.
    origin_um: f64,
    /// The same as a number of periods from the first upward crossing.
    period: i64,
}

impl Frame {
    /// The frame of `checked`, whose rest state is `rest`. The carrying period is `period`, or else the first one
    /// that is seen whole.
    pub(super) fn new(
        checked: &Arc<Checked>,
        rest: &PeriodState,
        sheet: &Sheet,
        period: Option<i64>,
    ) -> Self {
        let pitch = checked.design().shape.pitch_um;
        let lone = checked.design().shape.periods == 1 && checked.design().shape.ends == EndsName::Midline;
        let first = rest.first_period_x_um - if lone { pitch / 2.0 } else { 0.0 };
        // Crests that lie on the ribbon.
        let slack = 1e-6 * pitch;
        let low = ((-slack - first - pitch / 4.0) / pitch).ceil() as i64;
        let high = (((rest.span_um + slack - first - pitch / 4.0) / pitch).floor() as i64).max(low);
        let period =
            period.map_or_else(|| seen_period(sheet, first, pitch, low, high), |p| p.clamp(low, high));
        let end_y_um = super::scene::end_points(rest)[1][1];
        Self {
            checked: Arc::clone(checked),
            span_um: rest.span_um,
            end_y_um,
            origin_um: first + period as f64 * pitch,
            period,
        }
    }

    /// Number of the carrying period, to keep it during a gesture.
    pub(super) fn period(&self) -> i64 {
        self.period
    }

    /// The design of the frame.
    pub(super) fn design(&self) -> &Design {
        self.checked.design()
    }

    fn pitch(&self) -> f64 {
        self.design().shape.pitch_um
    }

    fn amplitude(&self) -> f64 {
        self.design().shape.amplitude_um
    }

    /// x of the crest, µm.
    pub(super) fn crest_um(&self) -> f64 {
        self.origin_um + self.pitch() / 4.0
    }

    /// x of the trough, µm; the one before the period where the one in it is beyond the ribbon's end.
    fn trough_um(&self) -> f64 {
        let trough = self.origin_um + 0.75 * self.pitch();
        if trough > self.span_um { trough - self.pitch() } else { trough }
    }

    /// x of the crossing that carries the pitch, µm.
    fn crossing_um(&self) -> f64 {
        let next = self.origin_um + self.pitch();
        if next > self.span_um + 1e-6 * self.pitch() { next - self.pitch() / 2.0 } else { next }
    }

    /// A point of the quarter that goes down from the crest, at `s_um` from its crossing.
    fn falling(&self, s_um: f64) -> [f64; 2] {
        let p = self.checked.quarter().at(s_um);
        [self.crest_um() + self.pitch() / 4.0 - p.x_um, p.y_um]
    }

    /// The value that a handle shows, in the field's unit.
    pub(super) fn value(&self, kind: Kind) -> Option<f64> {
        self.design().number(kind.path())
    }

    /// Where a handle sits, µm on the sheet.
    pub(super) fn place(&self, kind: Kind, sheet: &Sheet) -> Option<[f64; 2]> {
        let quarter = self.checked.quarter();
        let shape = &self.design().shape;
        if kind != Kind::Island && sheet.points(shape.pitch_um) < LEAST_PERIOD {
            return None;
        }
        Some(match kind {
            Kind::Crest => [self.crest_um(), shape.amplitude_um],
            Kind::Crossing => [self.crossing_um(), 0.0],
            Kind::Edge => [self.trough_um(), -shape.amplitude_um - shape.width_um / 2.0],
            Kind::Radius => {
                let radius = shape.radius_um?;
                let arc = quarter.length_um() - quarter.arm_half_length_um();
                self.falling(quarter.length_um() - (RADIUS_TURN_RAD * radius).min(0.9 * arc))
            }
            Kind::Tilt => {
                self.falling(quarter.arm_half_length_um().max(LEAST_ARM_SHARE * quarter.length_um()))
            }
            Kind::Plateau => {
                let s = quarter.length_um() * (1.0 - shape.plateau_share?);
                let [x, y] = self.falling(s);
                // Right of the way down is inside the bend; left is outside.
                let phi = -quarter.at(s).phi_rad;
                let out = shape.width_um / 2.0 + PLATEAU_REACH / sheet.scale();
                [x - phi.sin() * out, y + phi.cos() * out]
            }
            Kind::Island => [self.span_um, self.end_y_um],
        })
    }

    /// The value that a handle asks for when it is pulled to `to_um`; `from_um` is where it sits in this frame.
    pub(super) fn wanted(
        &self,
        kind: Kind,
        from_um: [f64; 2],
        to_um: [f64; 2],
        sheet: &Sheet,
    ) -> Option<f64> {
        let shape = &self.design().shape;
        let [x, y] = to_um;
        match kind {
            Kind::Crest => Some(y),
            Kind::Crossing => {
                let periods = (from_um[0] - shape.lead_um) / shape.pitch_um;
                (periods > 0.1).then(|| (x - shape.lead_um) / periods)
            }
            Kind::Edge => Some(2.0 * (-y - shape.amplitude_um)),
            Kind::Radius => {
                // The circle that touches the crest and goes through the pointer.
                let [dx, dy] = [x - self.crest_um(), shape.amplitude_um - y];
                (dy > 0.0).then(|| (dx * dx + dy * dy) / (2.0 * dy))
            }
            Kind::Tilt => {
                let foot = self.crest_um() + self.pitch() / 4.0;
                let angle = |p: [f64; 2]| p[1].atan2(foot - p[0]);
                let turn = (angle(to_um) - angle(from_um)).to_degrees();
                Some(shape.tilt_deg? + turn)
            }
            Kind::Plateau => Some(self.plateau_at(from_um, to_um, sheet)),
            Kind::Island => {
                let more = (x - from_um[0]) / shape.pitch_um;
                Some(f64::from(shape.periods) + more.round())
            }
        }
    }

    /// The plateau share whose beginning lies nearest to the pulled handle.
    fn plateau_at(&self, from_um: [f64; 2], to_um: [f64; 2], sheet: &Sheet) -> f64 {
        const STEPS: u32 = 200;
        let quarter = self.checked.quarter();
        let length = quarter.length_um();
        let out = self.design().shape.width_um / 2.0 + PLATEAU_REACH / sheet.scale();
        let distance = |s: f64| {
            let [x, y] = self.falling(s);
            let phi = -quarter.at(s).phi_rad;
            (x - phi.sin() * out - to_um[0]).hypot(y + phi.cos() * out - to_um[1])
        };
        if from_um == to_um {
            return self.design().shape.plateau_share.unwrap_or_default();
        }
        let steps = (0..=STEPS).map(|i| f64::from(i) / f64::from(STEPS));
        steps
            .min_by(|a, b| distance((1.0 - a) * length).total_cmp(&distance((1.0 - b) * length)))
            .unwrap_or_default()
    }

    /// The round step of a handle's value at this zoom, and how much of it one point on the screen is worth.
    pub(super) fn step(&self, kind: Kind, sheet: &Sheet) -> [f64; 2] {
        let point_um = 1.0 / sheet.scale();
        let quarter = self.checked.quarter().length_um().max(1e-9);
        let per_point = match kind {
            Kind::Crest | Kind::Radius => point_um,
            Kind::Edge => 2.0 * point_um,
            Kind::Crossing => {
                let periods = (self.crossing_um() - self.design().shape.lead_um) / self.pitch();
                point_um / periods.max(0.5)
            }
            Kind::Tilt => (point_um
                / (LEAST_ARM_SHARE * quarter).max(self.checked.quarter().arm_half_length_um()))
            .to_degrees(),
            Kind::Plateau => point_um / quarter,
            Kind::Island => return [1.0, point_um / self.pitch()],
        };
        let coarsest = match kind {
            Kind::Tilt => 5.0,
            Kind::Plateau => 0.1,
            _ => f64::INFINITY,
        };
        [step_at_least(SNAP_POINTS * per_point).min(coarsest), per_point]
    }

    /// The dimension line of a handle: its two ends on the sheet, µm.
    pub(super) fn dimension(&self, kind: Kind, place_um: [f64; 2]) -> Option<[[f64; 2]; 2]> {
        let shape = &self.design().shape;
        match kind {
            Kind::Crest => Some([[self.crest_um(), 0.0], [self.crest_um(), self.amplitude()]]),
            Kind::Crossing => Some([[self.origin_um, 0.0], [self.origin_um + self.pitch(), 0.0]]),
            Kind::Edge => {
                let [x, y] = place_um;
                Some([[x, y + shape.width_um], [x, y]])
            }
            Kind::Radius => Some([[self.crest_um(), shape.amplitude_um - shape.radius_um?], place_um]),
            Kind::Tilt => Some([[self.crest_um() + self.pitch() / 4.0, 0.0], place_um]),
            Kind::Plateau => None,
            Kind::Island => Some([[0.0, self.end_y_um], place_um]),
        }
    }
}

/// The first period that is seen whole, else the one nearest to the middle of what is seen.
fn seen_period(sheet: &Sheet, first: f64, pitch: f64, low: i64, high: i64) -> i64 {
    let Extent { low: [x0, _], high: [x1, _] } = sheet.visible();
    let room = 24.0 / sheet.scale();
    // The last one is avoided where there are several: its next crossing may lie beyond the ribbon.
    let high = if high > low { high - 1 } else { high };
    let whole = ((x0 + room - first) / pitch).ceil() as i64;
    let seen = whole.clamp(low, high);
    let is_whole = first + seen as f64 * pitch >= x0 && first + (seen + 1) as f64 * pitch <= x1;
    if is_whole {
        return seen;
    }
    let middle = ((f64::midpoint(x0, x1) - first) / pitch - 0.25).round() as i64;
    middle.clamp(low, high)
}
