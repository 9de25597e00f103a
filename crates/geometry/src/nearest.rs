//! The point of a centreline nearest to a given point.
//!
//! Shifting a point of the meander by a whole pitch towards the given one brings it closer, so only the bends within
//! half a pitch of it, or the first and last ones, need to be looked at. Within a quarter the distance has its
//! minima where `(r(s) − p)·t(s)` changes its sign upwards.

use kurbo::Point;

use crate::{Centreline, CurvePoint, Piece, Quarter, root};

/// Intervals of a piece in which a change of sign is looked for.
const INTERVALS: u32 = 16;

/// A place along a curve and its squared distance.
#[derive(Debug, Clone, Copy)]
struct Near {
    s_um: f64,
    squared_um2: f64,
}

impl Near {
    fn closer(self, other: Self) -> Self {
        if other.squared_um2 < self.squared_um2 { other } else { self }
    }
}

impl Centreline {
    /// The nearest point of the ribbon's centreline, and the distance from it, positive to the left.
    ///
    /// The cost does not depend on n. Of several points at the same distance, any one is returned.
    pub fn nearest(&self, x_um: f64, y_um: f64) -> (CurvePoint, f64) {
        let finite = |value: f64| if value.is_finite() { value } else { 0.0 };
        let point = Point::new(finite(x_um), finite(y_um));
        let pitch_um = self.quarter().pitch_um();
        let mut best = Near { s_um: 0.0, squared_um2: f64::INFINITY };
        let mut try_straight = |from_um: f64, to_um: f64| {
            let start = self.at(from_um);
            let (sin, cos) = start.phi_rad.sin_cos();
            let along = (point - start.point()).dot(kurbo::Vec2::new(cos, sin)).clamp(0.0, to_um - from_um);
            let foot = start.point() + along * kurbo::Vec2::new(cos, sin);
            best = best.closer(Near { s_um: from_um + along, squared_um2: foot.distance_squared(point) });
        };
        if self.lead_um() > 0.0 {
            try_straight(0.0, self.lead_um());
            try_straight(self.contour_length_um() - self.lead_um(), self.contour_length_um());
        }
        if self.end_bend().is_some() {
            let opposite = Point::new(self.span_um() - point.x, -point.y);
            best = best.closer(self.nearest_of_bend(point));
            let far = self.nearest_of_bend(opposite);
            best = best.closer(Near { s_um: self.contour_length_um() - far.s_um, ..far });
        }
        let (first, last) = (self.first_index(), self.last_index());
        // A quarter reaches beyond its own quarter of the pitch by less than another one where it overhangs.
        let column = ((point.x - self.origin_um()) / (0.25 * pitch_um)).floor().clamp(-1e9, 1e9) as i64;
        let low = (column - 3).clamp(first, (last - 6).max(first));
        let high = (column + 3).clamp((first + 6).min(last), last);
        // Outwards from the nearest column, so that the boxes of the others rule them out.
        let mut indices: Vec<i64> = (low..=high).collect();
        indices.sort_by_key(|index| (index - column).abs());
        for index in indices {
            let placement = self.placement(index);
            let from_um = if index == first || index == last { self.skipped_um() } else { 0.0 };
            if let Some(near) = nearest_of_quarter(self.quarter(), from_um, placement.local(point), best) {
                let run_um = placement.local_s_um(near.s_um, self.quarter().length_um());
                best = best.closer(Near { s_um: self.quarter_start_um(index) + run_um, ..near });
            }
        }
        let foot = self.at(best.s_um);
        let (sin, cos) = foot.phi_rad.sin_cos();
        let across = (point - foot.point()).dot(kurbo::Vec2::new(-sin, cos));
        (foot, best.squared_um2.sqrt().copysign(across))
    }

    /// The nearest point of the arc at the start.
    fn nearest_of_bend(&self, point: Point) -> Near {
        let Some(bend) = self.end_bend() else {
            return Near { s_um: 0.0, squared_um2: f64::INFINITY };
        };
        let from_centre = point - Point::new(self.lead_um(), bend.radius_um);
        // Angle from the arc's first point, straight below the centre, into −π..π.
        let angle = from_centre.x.atan2(-from_centre.y);
        let place = |turn: f64| {
            let s_um = self.lead_um() + bend.radius_um * turn;
            Near { s_um, squared_um2: self.at(s_um).point().distance_squared(point) }
        };
        let ends = place(0.0).closer(place(bend.turn_rad));
        if angle > 0.0 && angle < bend.turn_rad { place(angle).closer(ends) } else { ends }
    }
}

/// The nearest point of a quarter from `from_um` on, unless its box shows that `best` is closer.
fn nearest_of_quarter(quarter: &Quarter, from_um: f64, point: Point, best: Near) -> Option<Near> {
    let crest_um = 0.25 * quarter.pitch_um();
    let least_x_um = crest_um - quarter.half_breadth_um();
    let dx = point.x - point.x.clamp(least_x_um, crest_um);
    let dy = point.y - point.y.clamp(0.0, quarter.amplitude_um());
    if dx * dx + dy * dy >= best.squared_um2 {
        return None;
    }
    quarter
        .pieces()
        .iter()
        .filter(|piece| piece.end_um() > from_um)
        .map(|piece| {
            let (u, squared_um2) = nearest_on_piece(piece, piece.u_from_s(from_um), point);
            Near { s_um: piece.s_um(u), squared_um2 }
        })
        .reduce(Near::closer)
}

/// Distance from `point` to the piece from the parameter `from_u` on.
pub(crate) fn distance_to_piece_um(piece: &Piece, from_u: f64, point: Point) -> f64 {
    nearest_on_piece(piece, from_u, point).1.sqrt()
}

/// Parameter and squared distance of the point of a piece nearest to `point`.
fn nearest_on_piece(piece: &Piece, from_u: f64, point: Point) -> (f64, f64) {
    let squared = |u: f64| piece.point(u).distance_squared(point);
    // (r − p)·t and its derivative by u.
    let along = |u: f64| {
        let sample = piece.sample(u);
        let (sin, cos) = sample.phi_rad.sin_cos();
        let from_point = piece.point(u) - point;
        let value = from_point.x * cos + from_point.y * sin;
        let across = from_point.y * cos - from_point.x * sin;
        (value, sample.ds_du_um * (1.0 + sample.kappa_per_um * across))
    };
    let step = (1.0 - from_u) / f64::from(INTERVALS);
    let mut best = (from_u, squared(from_u));
    let mut keep = |u: f64| {
        let squared = squared(u);
        if squared < best.1 {
            best = (u, squared);
        }
    };
    keep(1.0);
    let mut before = (from_u, along(from_u).0);
    for index in 1..=INTERVALS {
        let u = if index == INTERVALS { 1.0 } else { from_u + step * f64::from(index) };
        let value = along(u).0;
        if before.1 < 0.0 && value >= 0.0 {
            let guess = before.0 + (u - before.0) * before.1 / (before.1 - value);
            keep(root::newton(along, before.0, u, guess).at);
        }
        before = (u, value);
    }
    best
}
