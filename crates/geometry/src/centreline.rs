//! The centreline of a whole ribbon.

use kurbo::{Point, Rect};

use crate::{
    CurvePoint, EndBend, Ends, Quarter, ShapeError, clearance::room_at_the_ends, error::below,
    placement::Placement, quarter::check_range,
};

/// Most periods of a ribbon.
const MOST_PERIODS: u32 = 100_000;
/// Greatest lead and end radius as a multiple of the pitch: enough to be straight to rounding.
const MOST_PITCHES: f64 = 1e6;

/// The centreline of a whole ribbon: lead, n full periods, lead.
///
/// It begins at x = 0 and runs towards +x; the midline is y = 0. Only one quarter is stored, so a ribbon of ten
/// thousand periods costs no more than one of a single period.
///
/// ```
/// use ogee_geometry::{Centreline, Ends, Family, Quarter};
///
/// let quarter = Quarter::new(Family::Arc, 400.0, 100.0)?;
/// let ribbon = Centreline::new(quarter, 3, Ends::Crest, 50.0, None)?;
/// assert!((ribbon.span_um() - 1300.0).abs() < 1e-9);
/// // Three periods of four quarter circles each, and two leads.
/// let contour_um = 3.0 * 4.0 * 50.0 * std::f64::consts::PI + 100.0;
/// assert!((ribbon.contour_length_um() - contour_um).abs() < 1e-9);
/// # Ok::<(), ogee_geometry::ShapeError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Centreline {
    quarter: Quarter,
    periods: u32,
    ends: Ends,
    lead_um: f64,
    bend: Option<EndBend>,
    /// x of the crossing from which quarter 0 rises.
    origin_um: f64,
    span_um: f64,
    contour_um: f64,
}

/// The parts of a centreline in order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Part {
    Lead,
    Bend,
    /// A quarter by its number in the meander.
    Quarter(i64),
    EndBend,
    EndLead,
}

impl Centreline {
    /// A ribbon of `periods` full periods between leads of `lead_um`.
    ///
    /// * `end_radius_um`: radius of the arcs at the ends for [`Ends::Midline`], the shape's least radius when absent;
    ///   unused for the other ends.
    ///
    /// # Errors
    /// Periods from 1 to 100,000, leads from 0 and end radii above 0 to a million pitches; a lead at an overhanging
    /// tilt must not run into the ribbon's own bends.
    pub fn new(
        quarter: Quarter,
        periods: u32,
        ends: Ends,
        lead_um: f64,
        end_radius_um: Option<f64>,
    ) -> Result<Self, ShapeError> {
        let pitch_um = quarter.pitch_um();
        let most_um = MOST_PITCHES * pitch_um;
        check_range("periods", f64::from(periods), [1.0, f64::from(MOST_PERIODS)])?;
        check_range("lead_um", lead_um, [0.0, most_um])?;
        let bend = match ends {
            Ends::Midline => {
                let radius_um = end_radius_um.unwrap_or_else(|| quarter.least_radius_um());
                let least_um = crate::quarter::LEAST_RADIUS_SHARE * pitch_um;
                if end_radius_um.is_some() {
                    check_range("end_radius_um", radius_um, [least_um, most_um])?;
                }
                Some(EndBend::new(&quarter, radius_um)?)
            }
            Ends::Crossing | Ends::Crest => None,
        };
        let length_um = quarter.length_um();
        let meander_um = f64::from(periods) * pitch_um;
        let mut ribbon = Self {
            origin_um: 0.0,
            span_um: 0.0,
            contour_um: 4.0 * f64::from(periods) * length_um + 2.0 * lead_um,
            quarter,
            periods,
            ends,
            lead_um,
            bend,
        };
        match (ends, bend) {
            (Ends::Crest, _) => {
                ribbon.origin_um = lead_um - 0.25 * pitch_um;
                ribbon.span_um = meander_um + 2.0 * lead_um;
            }
            (Ends::Midline, Some(bend)) => {
                let joint = ribbon.quarter.at(bend.joins_quarter_at_um);
                ribbon.origin_um = lead_um + bend.radius_um * bend.turn_rad.sin() - joint.x_um;
                ribbon.span_um = meander_um + 2.0 * ribbon.origin_um;
                ribbon.contour_um += 2.0 * (bend.length_um - bend.joins_quarter_at_um);
            }
            _ => {
                ribbon.origin_um = lead_um * ribbon.quarter.tilt_rad().cos();
                ribbon.span_um = meander_um + 2.0 * ribbon.origin_um;
            }
        }
        ribbon.check_lead()?;
        Ok(ribbon)
    }

    /// A lead at an overhanging tilt runs back under the first bends; it must not cross them.
    fn check_lead(&self) -> Result<(), ShapeError> {
        if self.ends != Ends::Crossing || self.lead_um == 0.0 {
            return Ok(());
        }
        // The search finds a crossing to half the digits of a double.
        let touching_um = 1e-6 * self.quarter.pitch_um();
        let is_clear =
            |ribbon: &Self| ribbon.span_um > 0.0 && room_at_the_ends(ribbon, touching_um).is_none();
        if is_clear(self) {
            return Ok(());
        }
        Err(ShapeError::LeadHitsBend {
            lead_um: self.lead_um,
            nearest_um: below(self.greatest_lead_um(is_clear)),
        })
    }

    /// The greatest lead that `is_clear` accepts, by bisection between no lead and this one.
    pub(crate) fn greatest_lead_um(&self, is_clear: impl Fn(&Self) -> bool) -> f64 {
        const HALVINGS: u32 = 40;
        let (mut low_um, mut high_um) = (0.0, self.lead_um);
        let slope = self.quarter.tilt_rad().cos();
        for _ in 0..HALVINGS {
            let lead_um = 0.5 * (low_um + high_um);
            let mut shorter = self.clone();
            let change_um = lead_um - self.lead_um;
            shorter.lead_um = lead_um;
            shorter.contour_um += 2.0 * change_um;
            shorter.span_um += 2.0 * change_um * slope;
            shorter.origin_um += change_um * slope;
            if is_clear(&shorter) { low_um = lead_um } else { high_um = lead_um }
        }
        low_um
    }

    /// The quarter the ribbon is made of.
    pub fn quarter(&self) -> &Quarter {
        &self.quarter
    }

    /// Number n of full periods.
    pub fn periods(&self) -> u32 {
        self.periods
    }

    /// How the ribbon begins and ends.
    pub fn ends(&self) -> Ends {
        self.ends
    }

    /// Length of each lead, in µm.
    pub fn lead_um(&self) -> f64 {
        self.lead_um
    }

    /// The arc at each end, for [`Ends::Midline`] only.
    pub fn end_bend(&self) -> Option<EndBend> {
        self.bend
    }

    /// Contour length of the whole ribbon with its leads, in µm.
    pub fn contour_length_um(&self) -> f64 {
        self.contour_um
    }

    /// End-to-end length along x with the leads, in µm.
    pub fn span_um(&self) -> f64 {
        self.span_um
    }

    /// Slack: contour length over end-to-end length minus 1, dimensionless.
    pub fn slack(&self) -> f64 {
        self.contour_um / self.span_um - 1.0
    }

    /// Least radius of curvature, of the bends or of the arcs at the ends, in µm.
    pub fn least_radius_um(&self) -> f64 {
        let radius_um = self.quarter.least_radius_um();
        self.bend.map_or(radius_um, |bend| radius_um.min(bend.radius_um))
    }

    /// Height of the centreline's bounding box, in µm. The edges add the ribbon's width.
    pub fn height_um(&self) -> f64 {
        self.bounding_box_um().height()
    }

    /// Bounding box of the centreline, in µm.
    pub fn bounding_box_um(&self) -> Rect {
        let (start, end) = (self.start().point(), self.end().point());
        let amplitude_um = self.quarter.amplitude_um();
        let mut bounds = Rect::from_points(start, end);
        let quarter_um = 0.25 * self.quarter.pitch_um();
        let breadth_um = self.quarter.half_breadth_um();
        // Crests and troughs alternate every half pitch, from the first whole bend to the last.
        let (first_um, count) = match self.ends {
            Ends::Crest => (self.origin_um + 3.0 * quarter_um, 2 * self.periods - 1),
            Ends::Crossing | Ends::Midline => (self.origin_um + quarter_um, 2 * self.periods),
        };
        let last_um = first_um + f64::from(count - 1) * 2.0 * quarter_um;
        let mut left_um = first_um - breadth_um;
        if let Some(bend) = self.bend {
            // The first bend may be cut short of its broadest place.
            let joint = self.at(self.lead_um + bend.length_um);
            if joint.phi_rad <= std::f64::consts::FRAC_PI_2 {
                left_um = joint.x_um;
            }
        }
        let right_um = if self.bend.is_some() { self.span_um - left_um } else { last_um + breadth_um };
        bounds = bounds.union_pt(Point::new(left_um, amplitude_um));
        bounds = bounds.union_pt(Point::new(right_um, -amplitude_um));
        if let Some(bend) = self.bend.filter(|bend| bend.turn_rad > std::f64::consts::FRAC_PI_2) {
            let right_um = self.lead_um + bend.radius_um;
            bounds = bounds.union_pt(Point::new(right_um, bend.radius_um));
            bounds = bounds.union_pt(Point::new(self.span_um - right_um, -bend.radius_um));
        }
        bounds
    }

    /// The first point of the ribbon.
    pub fn start(&self) -> CurvePoint {
        self.at(0.0)
    }

    /// The last point of the ribbon.
    pub fn end(&self) -> CurvePoint {
        self.at(self.contour_um)
    }

    /// The point at the contour length `s_um`, kept within the ribbon. The cost does not depend on n.
    pub fn at(&self, s_um: f64) -> CurvePoint {
        let s_um = s_um.clamp(0.0, self.contour_um);
        let opening_um = self.opening_um();
        let body_um = self.contour_um - opening_um;
        if s_um < opening_um {
            return self.opening(s_um);
        }
        if s_um > body_um {
            return self.opposite(self.opening(self.contour_um - s_um), s_um);
        }
        let length_um = self.quarter.length_um();
        let run_um = s_um - opening_um + self.skipped_um();
        let count = 4 * i64::from(self.periods);
        let number = ((run_um / length_um) as i64).clamp(0, count - 1);
        let index = self.first_index() + number;
        let placement = self.placement(index);
        let local_um = placement.local_s_um(run_um - number as f64 * length_um, length_um);
        placement.place(self.quarter.at(local_um), s_um)
    }

    /// Contour length of lead and end arc.
    pub(crate) fn opening_um(&self) -> f64 {
        self.lead_um + self.bend.map_or(0.0, |bend| bend.length_um)
    }

    /// Contour length of the first quarter that an end arc replaces.
    pub(crate) fn skipped_um(&self) -> f64 {
        self.bend.map_or(0.0, |bend| bend.joins_quarter_at_um)
    }

    /// Number of the first quarter.
    pub(crate) fn first_index(&self) -> i64 {
        match self.ends {
            Ends::Crest => 1,
            Ends::Crossing | Ends::Midline => 0,
        }
    }

    /// Number of the last quarter.
    pub(crate) fn last_index(&self) -> i64 {
        self.first_index() + 4 * i64::from(self.periods) - 1
    }

    pub(crate) fn placement(&self, index: i64) -> Placement {
        Placement::new(index, self.quarter.pitch_um(), self.origin_um)
    }

    pub(crate) fn origin_um(&self) -> f64 {
        self.origin_um
    }

    /// Contour length at which a quarter begins, as if nothing of it were left out.
    pub(crate) fn quarter_start_um(&self, index: i64) -> f64 {
        let number = (index - self.first_index()) as f64;
        self.opening_um() - self.skipped_um() + number * self.quarter.length_um()
    }

    /// A point of the lead or the arc at the start.
    fn opening(&self, s_um: f64) -> CurvePoint {
        let straight = |phi_rad: f64, x_um: f64, y_um: f64| {
            let (sin, cos) = phi_rad.sin_cos();
            let rest_um = self.lead_um - s_um;
            CurvePoint {
                s_um,
                x_um: x_um - rest_um * cos,
                y_um: y_um - rest_um * sin,
                phi_rad,
                kappa_per_um: 0.0,
            }
        };
        match (self.ends, self.bend) {
            (Ends::Midline, Some(bend)) if s_um > self.lead_um => {
                let half = 0.5 * (s_um - self.lead_um) / bend.radius_um;
                let (sin, cos) = half.sin_cos();
                let chord_um = 2.0 * bend.radius_um * sin;
                CurvePoint {
                    s_um,
                    x_um: self.lead_um + chord_um * cos,
                    y_um: chord_um * sin,
                    phi_rad: 2.0 * half,
                    kappa_per_um: 1.0 / bend.radius_um,
                }
            }
            (Ends::Midline, _) => straight(0.0, self.lead_um, 0.0),
            (Ends::Crest, _) => straight(0.0, self.lead_um, self.quarter.amplitude_um()),
            (Ends::Crossing, _) => straight(self.quarter.tilt_rad(), self.origin_um, 0.0),
        }
    }

    /// The counterpart at the far end of a point near the start: mirrored for crests, else turned by 180°.
    pub(crate) fn opposite(&self, point: CurvePoint, s_um: f64) -> CurvePoint {
        let x_um = self.span_um - point.x_um;
        match self.ends {
            Ends::Crest => CurvePoint { s_um, x_um, phi_rad: -point.phi_rad, ..point },
            Ends::Crossing | Ends::Midline => {
                CurvePoint { s_um, x_um, y_um: -point.y_um, kappa_per_um: -point.kappa_per_um, ..point }
            }
        }
    }

    /// All parts that have a length, in order.
    pub(crate) fn parts(&self) -> impl Iterator<Item = Part> + '_ {
        let lead = self.lead_um > 0.0;
        let bend = self.bend.is_some();
        lead.then_some(Part::Lead)
            .into_iter()
            .chain(bend.then_some(Part::Bend))
            .chain((self.first_index()..=self.last_index()).map(Part::Quarter))
            .chain(bend.then_some(Part::EndBend))
            .chain(lead.then_some(Part::EndLead))
    }
}
