//! A centreline as cubic Bézier curves.

use kurbo::{
    BezPath, CubicBez, CurveFitSample, ParamCurve, ParamCurveFit, PathSeg, Point, Vec2, fit_to_bezpath,
};

use crate::{
    Centreline, Piece, Quarter, centreline::Part, nearest::distance_to_piece_um, polyline::LEAST_TOLERANCE,
};

/// How often the fit is asked for more when its own estimate of the error was too low.
const MOST_REFITS: u32 = 8;
/// Places of a cubic at which its distance from the curve is checked.
const CHECKS: u32 = 16;

impl Centreline {
    /// The centreline as an open path of lines and cubics within `tolerance_um` of it.
    ///
    /// Straight parts are lines. The number of cubics grows as `tolerance^(−1/6)`; one quarter is fitted and then
    /// mirrored along the ribbon. Tolerances below 1e-9 of the pitch count as that.
    pub fn to_path(&self, tolerance_um: f64) -> BezPath {
        let quarter = self.quarter();
        let tolerance_um = tolerance_um.max(LEAST_TOLERANCE * quarter.pitch_um());
        let whole = quarter_segments(quarter, 0.0, tolerance_um);
        let is_cut_short = self.skipped_um() > 0.0;
        let cut = is_cut_short.then(|| quarter_segments(quarter, self.skipped_um(), tolerance_um));
        let bend = self.bend_segments(tolerance_um);
        let mut path = BezPath::new();
        path.move_to(self.start().point());
        for part in self.parts() {
            match part {
                Part::Lead => path.line_to(self.at(self.lead_um()).point()),
                Part::EndLead => path.line_to(self.end().point()),
                Part::Bend => path.extend(bend.iter().map(PathSeg::as_path_el)),
                Part::EndBend => {
                    let half_turn = |point: Point| Point::new(self.span_um() - point.x, -point.y);
                    path.extend(
                        bend.iter().rev().map(|segment| moved(segment.reverse(), half_turn).as_path_el()),
                    );
                }
                Part::Quarter(index) => {
                    let is_outermost = index == self.first_index() || index == self.last_index();
                    let local = cut.as_ref().filter(|_| is_outermost).unwrap_or(&whole);
                    let placement = self.placement(index);
                    let affine = placement.affine();
                    if placement.is_backward {
                        path.extend(
                            local.iter().rev().map(|segment| (affine * segment.reverse()).as_path_el()),
                        );
                    } else {
                        path.extend(local.iter().map(|segment| (affine * *segment).as_path_el()));
                    }
                }
            }
        }
        path
    }

    /// The arc at the start.
    fn bend_segments(&self, tolerance_um: f64) -> Vec<PathSeg> {
        self.end_bend().map_or_else(Vec::new, |bend| {
            let centre = Point::new(self.lead_um(), bend.radius_um);
            arc_segments(centre, bend.radius_um, -std::f64::consts::FRAC_PI_2, bend.turn_rad, tolerance_um)
        })
    }
}

fn moved(segment: PathSeg, to: impl Fn(Point) -> Point) -> PathSeg {
    match segment {
        PathSeg::Line(line) => kurbo::Line::new(to(line.p0), to(line.p1)).into(),
        PathSeg::Quad(quad) => kurbo::QuadBez::new(to(quad.p0), to(quad.p1), to(quad.p2)).into(),
        PathSeg::Cubic(c) => CubicBez::new(to(c.p0), to(c.p1), to(c.p2), to(c.p3)).into(),
    }
}

/// The quarter from the contour length `from_um` to its crest.
fn quarter_segments(quarter: &Quarter, from_um: f64, tolerance_um: f64) -> Vec<PathSeg> {
    let mut segments = Vec::new();
    for piece in quarter.pieces() {
        if piece.end_um() <= from_um {
            continue;
        }
        let from_u = piece.u_from_s(from_um);
        match piece.constant_curvature_per_um() {
            Some(0.0) => segments.push(kurbo::Line::new(piece.point(from_u), piece.point(1.0)).into()),
            Some(curvature) => {
                let radius_um = 1.0 / curvature.abs();
                let start = piece.sample(from_u).phi_rad;
                let crest = piece.point(1.0);
                let centre = Point::new(crest.x, crest.y - radius_um);
                let first = start + std::f64::consts::FRAC_PI_2;
                segments.extend(arc_segments(centre, radius_um, first, -start, tolerance_um));
            }
            None => segments.extend(fitted(piece, from_u, tolerance_um)),
        }
    }
    segments
}

/// A circular arc from the polar angle `first_rad` through `turn_rad` about `centre`.
///
/// With handles of (4/3) tan(δ/4) radii, a cubic that turns by δ leaves the circle by
/// `(4/27) R sin⁶(δ/4)/cos²(δ/4)` at most, always outwards.
fn arc_segments(
    centre: Point,
    radius_um: f64,
    first_rad: f64,
    turn_rad: f64,
    tolerance_um: f64,
) -> Vec<PathSeg> {
    const MOST_TURN_RAD: f64 = std::f64::consts::FRAC_PI_2;
    let error_um = |step: f64| {
        let (sin, cos) = (0.25 * step).sin_cos();
        4.0 / 27.0 * radius_um * sin.powi(6) / (cos * cos)
    };
    let mut count = (turn_rad.abs() / MOST_TURN_RAD).ceil().max(1.0);
    while error_um(turn_rad / count) > tolerance_um {
        count += 1.0;
    }
    let step = turn_rad / count;
    let handle_um = 4.0 / 3.0 * (0.25 * step).tan() * radius_um;
    let polar = |angle: f64| {
        let (sin, cos) = angle.sin_cos();
        (centre + radius_um * Vec2::new(cos, sin), handle_um * Vec2::new(-sin, cos))
    };
    (0..count as u32)
        .map(|index| {
            let (p0, h0) = polar(first_rad + step * f64::from(index));
            let (p3, h3) = polar(first_rad + step * f64::from(index + 1));
            CubicBez::new(p0, p0 + h0, p3 - h3, p3).into()
        })
        .collect()
}

/// Cubics for a smooth piece from the parameter `from_u` on, checked against the piece itself.
fn fitted(piece: &Piece, from_u: f64, tolerance_um: f64) -> Vec<PathSeg> {
    let source = Source { piece, from_u };
    let mut accuracy_um = tolerance_um;
    for _ in 0..MOST_REFITS {
        let path = fit_to_bezpath(&source, accuracy_um);
        let segments: Vec<PathSeg> = path.segments().collect();
        let is_close = segments.iter().all(|segment| {
            (1..CHECKS).all(|check| {
                let point = segment.eval(f64::from(check) / f64::from(CHECKS));
                distance_to_piece_um(piece, from_u, point) <= tolerance_um
            })
        });
        if is_close && !segments.is_empty() {
            return segments;
        }
        accuracy_um *= 0.5;
    }
    hermite(&source, tolerance_um)
}

/// Cubics with the curve's own tangents, halved until each keeps to the tolerance: more of them, but certain.
fn hermite(source: &Source<'_>, tolerance_um: f64) -> Vec<PathSeg> {
    let mut count = 1_u32;
    loop {
        let step = 1.0 / f64::from(count);
        let segments: Vec<PathSeg> = (0..count)
            .map(|index| {
                let (p0, d0) = source.sample_pt_deriv(step * f64::from(index));
                let (p3, d3) = source.sample_pt_deriv(step * f64::from(index + 1));
                CubicBez::new(p0, p0 + d0 * (step / 3.0), p3 - d3 * (step / 3.0), p3).into()
            })
            .collect();
        let is_close = segments.iter().all(|segment| {
            (1..CHECKS).all(|check| {
                let point = segment.eval(f64::from(check) / f64::from(CHECKS));
                distance_to_piece_um(source.piece, source.from_u, point) <= tolerance_um
            })
        });
        // A step of 2^-16 leaves rounding only.
        if is_close || count >= 1 << 16 {
            return segments;
        }
        count *= 2;
    }
}

/// A piece from `from_u` to its end as a source for fitting, with a parameter from 0 to 1.
struct Source<'a> {
    piece: &'a Piece,
    from_u: f64,
}

impl ParamCurveFit for Source<'_> {
    fn sample_pt_tangent(&self, t: f64, _sign: f64) -> CurveFitSample {
        let (p, tangent) = self.sample_pt_deriv(t);
        CurveFitSample { p, tangent }
    }

    fn sample_pt_deriv(&self, t: f64) -> (Point, Vec2) {
        let share = 1.0 - self.from_u;
        let u = self.from_u + share * t;
        let sample = self.piece.sample(u);
        let (sin, cos) = sample.phi_rad.sin_cos();
        (self.piece.point(u), sample.ds_du_um * share * Vec2::new(cos, sin))
    }

    fn break_cusp(&self, _range: std::ops::Range<f64>) -> Option<f64> {
        None
    }
}
