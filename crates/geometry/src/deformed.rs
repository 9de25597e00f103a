//! The gap between the edges of a stretched or compressed ribbon, from points of its deformed quarter.

use std::f64::consts::FRAC_PI_2;

use kurbo::{Point, Vec2};

use crate::{Clearance, ClearanceKind, CurvePoint, ShapeError, edge::check_ribbon_width};

/// Curvature over pitch below which a bend counts as straight: it keeps the gap finite.
const LEAST_CURVATURE: f64 = 1e-9;

/// A chord between two points of the deformed meander.
struct Chord {
    length_um: f64,
    kind: ClearanceKind,
    at: (CurvePoint, CurvePoint),
}

/// The least gap of a deformed meander of `width_um` whose quarter is given by points from crossing to crest.
///
/// The same chords as of [`crate::clearance`], found between the points by cubic interpolation, so that the error
/// falls with the fourth power of their distance: 50 points per quarter give some 1e-6 of the pitch. The least
/// radius is that of the points. A straight quarter has the gap of a bend of 1e9 pitches.
///
/// * `points`: at least two, from the crossing at (0, 0) to the crest at (`pitch_um`/4, amplitude), with the tangent
///   angle and the curvature per deformed length.
/// * `pitch_um`: the pitch as deformed.
///
/// The points of the result lie in the meander whose crossing is the origin.
///
/// # Errors
/// Fewer than two points or values that are not finite, a pitch or a width out of range.
pub fn clearance_of_quarter_points(
    points: &[CurvePoint],
    pitch_um: f64,
    width_um: f64,
) -> Result<Clearance, ShapeError> {
    let is_finite = points
        .iter()
        .all(|p| [p.s_um, p.x_um, p.y_um, p.phi_rad, p.kappa_per_um].iter().all(|value| value.is_finite()));
    if points.len() < 2 || !is_finite {
        return Err(ShapeError::NoCurve { points: points.len() });
    }
    if !pitch_um.is_finite() {
        return Err(ShapeError::NotFinite { field: "pitch_um" });
    }
    check_ribbon_width(width_um, pitch_um.abs())?;
    let quarter = Deformed { points, pitch_um };
    let mut best = quarter.inside_bend();
    for chord in quarter.vertical_chords().chain(quarter.chords_across_crossing()) {
        if chord.length_um < best.length_um {
            best = chord;
        }
    }
    Ok(Clearance { gap_um: best.length_um - width_um, kind: best.kind, at: best.at })
}

struct Deformed<'a> {
    points: &'a [CurvePoint],
    pitch_um: f64,
}

impl Deformed<'_> {
    fn length_um(&self) -> f64 {
        self.points[self.points.len() - 1].s_um
    }

    fn inside_bend(&self) -> Chord {
        let tightest = self.points.iter().fold(self.points[0], |tightest, point| {
            if point.kappa_per_um.abs() > tightest.kappa_per_um.abs() { *point } else { tightest }
        });
        let curvature = tightest.kappa_per_um.abs().max(LEAST_CURVATURE / self.pitch_um.abs());
        Chord {
            length_um: 2.0 / curvature,
            kind: ClearanceKind::InsideBend,
            at: (tightest, self.beyond_crest(tightest)),
        }
    }

    /// Chords between vertical tangents: across the crest's axis and across the trough's.
    fn vertical_chords(&self) -> impl Iterator<Item = Chord> + '_ {
        self.changes(|point| point.phi_rad.abs() - FRAC_PI_2).flat_map(|point| {
            let opposite = self.beyond_crest(point);
            let within_bend = Chord {
                length_um: (0.5 * self.pitch_um - 2.0 * point.x_um).abs(),
                kind: ClearanceKind::BetweenArms,
                at: (point, opposite),
            };
            let next_bend = CurvePoint {
                s_um: point.s_um + 4.0 * self.length_um(),
                x_um: point.x_um + self.pitch_um,
                ..point
            };
            let between_bends = Chord {
                length_um: (0.5 * self.pitch_um + 2.0 * point.x_um).abs(),
                kind: ClearanceKind::NeighbouringBends,
                at: (opposite, next_bend),
            };
            [within_bend, between_bends]
        })
    }

    /// Chords between a point and its image turned about the crossing.
    fn chords_across_crossing(&self) -> impl Iterator<Item = Chord> + '_ {
        let along = |point: &CurvePoint| {
            let (sin, cos) = point.phi_rad.sin_cos();
            point.x_um * cos + point.y_um * sin
        };
        // At the crossing itself the product vanishes by its definition.
        let least_um = 1e-6 * self.length_um();
        self.changes(along).filter(move |point| point.s_um > least_um).map(|point| Chord {
            length_um: 2.0 * point.x_um.hypot(point.y_um),
            kind: ClearanceKind::AcrossCrossing,
            at: (
                CurvePoint {
                    s_um: -point.s_um,
                    x_um: -point.x_um,
                    y_um: -point.y_um,
                    kappa_per_um: -point.kappa_per_um,
                    ..point
                },
                point,
            ),
        })
    }

    /// The interpolated points at which `f` changes its sign; `f` is taken as linear between two points.
    fn changes<'a>(&'a self, f: impl Fn(&CurvePoint) -> f64 + 'a) -> impl Iterator<Item = CurvePoint> + 'a {
        self.points.windows(2).filter_map(move |pair| {
            let (a, b) = (f(&pair[0]), f(&pair[1]));
            ((a < 0.0) != (b < 0.0)).then(|| refined(&pair[0], &pair[1], &f))
        })
    }

    /// The mirror image about the crest's axis.
    fn beyond_crest(&self, point: CurvePoint) -> CurvePoint {
        CurvePoint {
            s_um: 2.0 * self.length_um() - point.s_um,
            x_um: 0.5 * self.pitch_um - point.x_um,
            phi_rad: -point.phi_rad,
            ..point
        }
    }
}

/// Bisection on the interpolated curve between two points.
fn refined(a: &CurvePoint, b: &CurvePoint, f: impl Fn(&CurvePoint) -> f64) -> CurvePoint {
    const HALVINGS: u32 = 40;
    let (mut low, mut high) = (0.0, 1.0);
    let low_is_negative = f(a) < 0.0;
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if (f(&between(a, b, middle)) < 0.0) == low_is_negative { low = middle } else { high = middle }
    }
    between(a, b, 0.5 * (low + high))
}

/// The point at the share `t` between two points: position and angle by cubics, curvature linear.
fn between(a: &CurvePoint, b: &CurvePoint, t: f64) -> CurvePoint {
    let rest = 1.0 - t;
    // Hermite's cubic; the chord over the sinc of half the turn is the arc's length.
    let chord = b.point() - a.point();
    let half_turn = 0.5 * (b.phi_rad - a.phi_rad);
    let sinc = if half_turn.abs() < 1e-4 { 1.0 } else { half_turn.sin() / half_turn };
    let length_um = chord.hypot() / sinc;
    let cubic = |from: f64, to: f64, from_slope: f64, to_slope: f64| {
        rest * rest * (1.0 + 2.0 * t) * from
            + t * t * (3.0 - 2.0 * t) * to
            + t * rest * (rest * from_slope - t * to_slope)
    };
    let tangent = |phi: f64| {
        let (sin, cos) = phi.sin_cos();
        length_um * Vec2::new(cos, sin)
    };
    let (from, to) = (tangent(a.phi_rad), tangent(b.phi_rad));
    let point = Point::new(cubic(a.x_um, b.x_um, from.x, to.x), cubic(a.y_um, b.y_um, from.y, to.y));
    CurvePoint {
        s_um: rest * a.s_um + t * b.s_um,
        x_um: point.x,
        y_um: point.y,
        phi_rad: cubic(a.phi_rad, b.phi_rad, length_um * a.kappa_per_um, length_um * b.kappa_per_um),
        kappa_per_um: rest * a.kappa_per_um + t * b.kappa_per_um,
    }
}
