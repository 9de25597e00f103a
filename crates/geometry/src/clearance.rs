//! The gap between the edges of a ribbon.
//!
//! A ribbon of width w keeps clear of itself as long as w/2 stays below the reach of its centreline: the lesser of
//! the least radius and half the shortest *doubly normal* chord (one that is normal to the centreline at both of its
//! ends). The gap is twice the reach minus w. Along a meander the doubly normal chords that can be the shortest are
//!
//! * across a crest's axis, between two vertical tangents of one bend (between the arms of a hairpin);
//! * across a trough's axis, between the vertical tangents of neighbouring bends: `P − 2b` with half the breadth b
//!   of a bend;
//! * through a crossing, between a point r and its image −r, where r·t = 0 (r from the crossing);
//! * at the ends of a ribbon, between a lead or an arc and the first bends.
//!
//! At rest |κ| grows along every quarter, so the part before a point lies outside its circle of curvature (nested
//! circles of a spiral) and the angle ψ − φ between r and t grows, `d(ψ − φ)/ds = |κ| − sin(ψ − φ)/|r| ≥ |κ|/2`, up to
//! atan(4A/P) < 90° at the crest: no chord goes through a crossing within a quarter, and none from the next quarter is
//! shorter than P. That kind is left to deformed quarters.
//!
//! Source: H. Federer, Curvature measures, 1959, for the reach; the list is derived from the meander's symmetries and
//! checked against a search over all pairs of points.

use std::f64::consts::{FRAC_PI_2, PI};

use kurbo::{Point, Vec2};

use crate::{
    Centreline, CurvePoint, Ends, Quarter, ShapeError, edge::check_ribbon_width, placement::Placement, root,
};

/// The least gap of a ribbon's edges, with its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// The gap, in µm; negative where the edges overlap or an inner edge folds over.
    pub gap_um: f64,
    /// Between what the gap is.
    pub kind: ClearanceKind,
    /// The two points of the centreline whose edges face each other. For the inside of a bend: the ends of the stretch
    /// about the crest that turns by 180°, or of the whole bend where it turns by less.
    pub at: (CurvePoint, CurvePoint),
}

/// Between what stretches a gap is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ClearanceKind {
    /// Across the inside of a bend: twice its least radius minus the width.
    InsideBend,
    /// Between the two arms of one bend.
    BetweenArms,
    /// Between neighbouring overhanging bends.
    NeighbouringBends,
    /// Between a stretch and its image turned about a crossing; in deformed quarters only.
    AcrossCrossing,
    /// Between a lead, or the arc after it, and the first bends.
    AtEnd,
}

/// A doubly normal chord, or the diameter of the tightest circle of curvature.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Room {
    pub(crate) chord_um: f64,
    pub(crate) kind: ClearanceKind,
    pub(crate) at: (CurvePoint, CurvePoint),
}

impl Room {
    fn clearance(self, width_um: f64) -> Clearance {
        Clearance { gap_um: self.chord_um - width_um, kind: self.kind, at: self.at }
    }

    fn tighter(self, other: Self) -> Self {
        if other.chord_um < self.chord_um { other } else { self }
    }
}

/// Columns of a quarter pitch over which bends are compared with a lead; it leans away from them further on.
const MOST_COLUMNS: f64 = 12.0;
/// Deviation from 90° below which arms count as parallel, in radians.
const PARALLEL_RAD: f64 = 1e-9;

/// The least gap of an endless meander of `width_um`.
///
/// Exact for arcs with and without arms, to rounding for the other families. The points lie in the meander whose
/// crossing is the origin.
///
/// # Errors
/// A width that is not finite or not above zero.
pub fn clearance(quarter: &Quarter, width_um: f64) -> Result<Clearance, ShapeError> {
    check_ribbon_width(width_um, quarter.pitch_um())?;
    Ok(room_of_quarter(quarter, true).clearance(width_um))
}

impl Centreline {
    /// The least gap of this ribbon at `width_um`, ends included; the points lie on the ribbon.
    ///
    /// Neighbouring bends count only where the ribbon has two on one side.
    ///
    /// # Errors
    /// A width that is not finite or not above zero.
    pub fn clearance(&self, width_um: f64) -> Result<Clearance, ShapeError> {
        self.clearance_below(width_um, f64::INFINITY)
    }

    /// The same where the least gap is below `gap_um`; otherwise some gap that is not, found faster.
    ///
    /// # Errors
    /// As [`Self::clearance`].
    pub fn clearance_below(&self, width_um: f64, gap_um: f64) -> Result<Clearance, ShapeError> {
        let quarter = self.quarter();
        check_ribbon_width(width_um, quarter.pitch_um())?;
        let has_neighbours = self.periods() > 1 || self.ends() == Ends::Crest;
        let in_meander = room_of_quarter(quarter, has_neighbours);
        let mut room = Room { at: self.on_ribbon(in_meander.at), ..in_meander };
        if let Some(bend) = self.end_bend()
            && 2.0 * bend.radius_um < room.chord_um
        {
            let at = (self.at(self.lead_um()), self.at(self.opening_um()));
            room = Room { chord_um: 2.0 * bend.radius_um, kind: ClearanceKind::InsideBend, at };
        }
        let below_um = room.chord_um.min(gap_um + width_um);
        Ok(room_at_the_ends(self, below_um).unwrap_or(room).clearance(width_um))
    }

    /// A pair of the endless meander moved onto the ribbon by half periods, and cut off where there is no room for it.
    fn on_ribbon(&self, (first, second): (CurvePoint, CurvePoint)) -> (CurvePoint, CurvePoint) {
        let start_um = self.quarter_start_um(0);
        let half_period_um = 2.0 * self.quarter().length_um();
        let earliest_um = start_um + first.s_um.min(second.s_um);
        // The slack keeps a pair that begins right at the start in its place.
        let shift = ((self.opening_um() - earliest_um) / half_period_um - 1e-9).ceil().max(0.0);
        let place = |point: CurvePoint| self.at(start_um + point.s_um + shift * half_period_um);
        (place(first), place(second))
    }
}

/// The point at the contour length s of the endless meander.
fn meander_point(quarter: &Quarter, s_um: f64) -> CurvePoint {
    let length_um = quarter.length_um();
    let index = (s_um / length_um).floor() as i64;
    let placement = Placement::new(index, quarter.pitch_um(), 0.0);
    let local_um = placement.local_s_um(s_um - index as f64 * length_um, length_um);
    placement.place(quarter.at(local_um), s_um)
}

fn inside_bend(quarter: &Quarter) -> Room {
    let length_um = quarter.length_um();
    let s_um = vertical_um(quarter).unwrap_or(quarter.arm_half_length_um());
    Room {
        chord_um: 2.0 * quarter.least_radius_um(),
        kind: ClearanceKind::InsideBend,
        at: (meander_point(quarter, s_um), meander_point(quarter, 2.0 * length_um - s_um)),
    }
}

/// Contour length at which an overhanging quarter is vertical.
fn vertical_um(quarter: &Quarter) -> Option<f64> {
    if quarter.tilt_rad() < FRAC_PI_2 {
        return None;
    }
    let piece = quarter.pieces().iter().find(|piece| piece.sample(1.0).phi_rad < FRAC_PI_2)?;
    let residual = |u: f64| {
        let sample = piece.sample(u);
        (sample.phi_rad - FRAC_PI_2, sample.kappa_per_um * sample.ds_du_um)
    };
    Some(piece.s_um(root::newton(residual, 0.0, 1.0, 0.5).at))
}

/// The shortest doubly normal chord of an endless meander or the diameter of its tightest bend.
fn room_of_quarter(quarter: &Quarter, has_neighbours: bool) -> Room {
    let length_um = quarter.length_um();
    let meander = |s_um: f64| meander_point(quarter, s_um);
    let arm_um = quarter.arm_half_length_um();
    if (quarter.tilt_rad() - FRAC_PI_2).abs() <= PARALLEL_RAD && arm_um > 0.0 {
        // The chord equals the bend's diameter; what a person sees is the gap between the arms.
        return Room {
            chord_um: (2.0 * quarter.least_radius_um()).min(0.5 * quarter.pitch_um()),
            kind: ClearanceKind::BetweenArms,
            at: (meander(arm_um), meander(2.0 * length_um - arm_um)),
        };
    }
    let mut room = inside_bend(quarter);
    let Some(vertical_um) = vertical_um(quarter) else {
        return room;
    };
    if has_neighbours {
        room = room.tighter(Room {
            chord_um: quarter.pitch_um() - 2.0 * quarter.half_breadth_um(),
            kind: ClearanceKind::NeighbouringBends,
            at: (meander(2.0 * length_um - vertical_um), meander(4.0 * length_um + vertical_um)),
        });
    }
    room
}

/// The shortest doubly normal chord between the lead, or the arc after it, and the bends that follow, if it is shorter
/// than `below_um`. To some 1e-9 of the pitch.
pub(crate) fn room_at_the_ends(ribbon: &Centreline, below_um: f64) -> Option<Room> {
    let quarter = ribbon.quarter();
    let is_overhanging = quarter.tilt_rad() > FRAC_PI_2;
    match ribbon.ends() {
        Ends::Crossing if is_overhanging && ribbon.lead_um() > 0.0 => lead_room(ribbon, below_um),
        Ends::Midline if is_overhanging => bend_room(ribbon, below_um),
        _ => None,
    }
}

/// A lead at an overhanging tilt and the bends above or below which it runs back.
fn lead_room(ribbon: &Centreline, below_um: f64) -> Option<Room> {
    let joint = ribbon.at(ribbon.lead_um());
    let (sin, cos) = joint.phi_rad.sin_cos();
    let direction = Vec2::new(cos, sin);
    // Foot on the lead, as a length from the joint backwards.
    let foot = |point: Point| (joint.point() - point).dot(direction);
    let distance = |point: Point| {
        let back_um = foot(point).clamp(0.0, ribbon.lead_um());
        (point - (joint.point() - back_um * direction)).hypot()
    };
    // A foot at the joint itself is no end of the lead: the curve goes on there.
    let is_on_lead = |point: Point| foot(point) > 0.0;
    let lead_at = |point: Point| ribbon.at(ribbon.lead_um() - foot(point).clamp(0.0, ribbon.lead_um()));
    // A column for each quarter above the lead, and a period more.
    let columns = ribbon.lead_um() * cos.abs() / (0.25 * ribbon.quarter().pitch_um());
    let stretch = Stretch { skip_um: 0.0, quarters: columns.min(MOST_COLUMNS) + 4.0, below_um };
    end_search(ribbon, stretch, distance, is_on_lead, lead_at)
}

/// The arc at the midline and the bends after the first crest.
fn bend_room(ribbon: &Centreline, below_um: f64) -> Option<Room> {
    let bend = ribbon.end_bend()?;
    let centre = Point::new(ribbon.lead_um(), bend.radius_um);
    let ends = [ribbon.at(ribbon.lead_um()).point(), ribbon.at(ribbon.opening_um()).point()];
    let angle = |point: Point| {
        let from_centre = point - centre;
        from_centre.x.atan2(-from_centre.y)
    };
    let is_on_arc = |point: Point| (0.0..=bend.turn_rad).contains(&angle(point));
    let distance = |point: Point| {
        if is_on_arc(point) {
            ((point - centre).hypot() - bend.radius_um).abs()
        } else {
            (point - ends[0]).hypot().min((point - ends[1]).hypot())
        }
    };
    let arc_at = |point: Point| ribbon.at(ribbon.lead_um() + bend.radius_um * angle(point).clamp(0.0, PI));
    let to_crest_um = ribbon.quarter().length_um() - ribbon.skipped_um();
    let stretch = Stretch { skip_um: to_crest_um, quarters: 4.0, below_um };
    end_search(ribbon, stretch, distance, is_on_arc, arc_at)
}

/// The bends that are compared with an end.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    /// Contour length between the opening and the first bend that counts.
    skip_um: f64,
    quarters: f64,
    /// Only distances below this matter.
    below_um: f64,
}

/// Least local minimum of `distance` along the first bends.
fn end_search(
    ribbon: &Centreline,
    stretch: Stretch,
    distance: impl Fn(Point) -> f64,
    counts: impl Fn(Point) -> bool,
    counterpart: impl Fn(Point) -> CurvePoint,
) -> Option<Room> {
    // A quarter turns by less than 180°, so its distance from a line or a circle has few extremes.
    const STEPS_PER_QUARTER: f64 = 24.0;
    let Stretch { skip_um, quarters, below_um } = stretch;
    let length_um = ribbon.quarter().length_um();
    let step_um = length_um / STEPS_PER_QUARTER;
    let start_um = ribbon.opening_um() + skip_um;
    let end_um = (start_um + quarters * length_um).min(ribbon.contour_length_um() - ribbon.opening_um());
    let at = |s_um: f64| distance(ribbon.at(s_um).point());
    // The distance changes by no more than the way, so what is far off lets the search leap.
    let mut s_um = start_um;
    loop {
        let far_um = at(s_um) - below_um;
        if far_um < step_um {
            break;
        }
        s_um += far_um;
        if s_um > end_um {
            return None;
        }
    }
    let count = ((end_um - start_um) / step_um) as u32;
    let mut best: Option<Room> = None;
    let (mut before, mut here) = (at(start_um), at(start_um + step_um));
    for index in 2..=count {
        let s_um = start_um + f64::from(index) * step_um;
        let after = at(s_um);
        // Within a step the distance changes by no more than the step.
        let is_minimum = here <= before && here <= after && here < before.max(after);
        if is_minimum && here - step_um < below_um {
            let point = ribbon.at(golden_section(at, s_um - 2.0 * step_um, s_um));
            let chord_um = distance(point.point());
            let least_um = best.map_or(below_um, |room| room.chord_um);
            if counts(point.point()) && chord_um < least_um {
                // Where the two cross, the least distance is found to the square root of rounding only.
                let chord_um = if chord_um < 1e-7 * length_um { 0.0 } else { chord_um };
                let at = (counterpart(point.point()), point);
                best = Some(Room { chord_um, kind: ClearanceKind::AtEnd, at });
            }
        }
        (before, here) = (here, after);
    }
    best
}

/// The minimum of a function with a single one between `low` and `high`.
fn golden_section(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    const SHARE: f64 = 0.381_966_011_250_105;
    // 0.618^40 of two steps: the value is then right to rounding.
    const STEPS: u32 = 40;
    let (mut a, mut b) = (low + SHARE * (high - low), high - SHARE * (high - low));
    let (mut at_a, mut at_b) = (f(a), f(b));
    for _ in 0..STEPS {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = low + SHARE * (high - low);
            at_a = f(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = high - SHARE * (high - low);
            at_b = f(b);
        }
    }
    0.5 * (low + high)
}
