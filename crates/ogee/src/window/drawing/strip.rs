//! A ribbon's centreline resampled for one scale: enough stations for a smooth edge, and no more.
//!
//! Points of the model are a few hundred for each period. Zoomed out most of them fall on the same pixel and
//! are left out; zoomed in, the curve between two of them is filled in by a cubic that keeps both tangents.

use ogee_design::RibbonPoint;

/// Largest distance between the drawn and the true edge, points.
const SAGITTA: f64 = 0.12;
/// Longest step along a coloured band in terms of one period, so that colours do not jump.
const COLOUR_STEP_SHARE: f64 = 1.0 / 40.0;
/// Most stations between two neighbouring points of the model.
const MOST_BETWEEN: usize = 64;

/// One station of a strip, placed in design coordinates.
#[derive(Clone, Copy, Debug)]
pub(super) struct Station {
    /// Position, µm.
    pub x_um: f64,
    /// Position, µm.
    pub y_um: f64,
    /// Way to the left edge for half a width of 1: a unit normal, shorter where the ribbon is seen aslant.
    pub normal: [f64; 2],
    /// Strain of the left edge, the centreline and the right edge, plain ratios.
    pub strain: [f64; 3],
    /// Loss density, dB/cm.
    pub loss_db_per_cm: f64,
}

impl Station {
    /// The station at a point of the model.
    pub(super) fn of(point: &RibbonPoint) -> Self {
        Self::at(
            [point.x_um, point.y_um],
            point.phi_rad,
            [point.left_strain, point.axial_strain, point.right_strain],
            point.loss_db_per_cm,
        )
    }

    fn at([x_um, y_um]: [f64; 2], phi_rad: f64, strain: [f64; 3], loss_db_per_cm: f64) -> Self {
        Self { x_um, y_um, normal: [-phi_rad.sin(), phi_rad.cos()], strain, loss_db_per_cm }
    }

    /// Strain at `side`: +1 is the left edge, 0 the centreline, −1 the right edge.
    ///
    /// The parabola through the three known values; strain across a curved ribbon is close to one.
    pub(super) fn strain_at(&self, side: f64) -> f64 {
        let [left, centre, right] = self.strain;
        centre + side * (left - right) / 2.0 + side * side * (f64::midpoint(left, right) - centre)
    }
}

/// Stations for `points` at `scale` (points per µm) for a ribbon `width_um` wide.
///
/// The first and the last point are always kept, so that consecutive strips join. `across` gives the way to the
/// left edge at each point; empty where it is at right angles to the ribbon.
pub(super) fn resample(
    points: &[RibbonPoint],
    across: &[[f64; 2]],
    scale: f64,
    width_um: f64,
) -> Vec<Station> {
    let of = |index: usize, point: &RibbonPoint| {
        let station = Station::of(point);
        across.get(index).map_or(station, |normal| Station { normal: *normal, ..station })
    };
    let Some(first) = points.first() else { return Vec::new() };
    let length: f64 = points.windows(2).map(|p| distance(&p[0], &p[1])).sum();
    let longest_step = (length * COLOUR_STEP_SHARE).max(1.5 / scale);
    let mut stations = vec![of(0, first)];
    let (mut run, mut turn) = (0.0, 0.0);
    for (index, pair) in points.windows(2).enumerate() {
        let [from, to] = [&pair[0], &pair[1]];
        let chord = distance(from, to);
        let bend = (to.phi_rad - from.phi_rad).abs();
        let between = fill_count(scale * (chord + bend * width_um / 2.0), bend);
        if between > 1 {
            if run > 0.0 {
                stations.push(of(index, from));
            }
            for k in 1..=between {
                let u = k as f64 / between as f64;
                let mut station = filled(from, to, chord, u);
                if let (Some(a), Some(b)) = (across.get(index), across.get(index + 1)) {
                    station.normal = [0, 1].map(|i| a[i] + u * (b[i] - a[i]));
                }
                stations.push(station);
            }
            (run, turn) = (0.0, 0.0);
            continue;
        }
        run += chord;
        turn += bend;
        let last = index + 2 == points.len();
        let next = points.get(index + 2).map_or(0.0, |next| distance(to, next));
        let next_bend = points.get(index + 2).map_or(0.0, |next| (next.phi_rad - to.phi_rad).abs());
        let ahead = scale * (run + next + (turn + next_bend) * width_um / 2.0) * (turn + next_bend) / 8.0;
        if last || ahead > SAGITTA || run + next > longest_step {
            stations.push(of(index + 1, to));
            (run, turn) = (0.0, 0.0);
        }
    }
    stations
}

/// How many steps a stretch of `reach` points that turns by `bend` needs for the sagitta wanted.
fn fill_count(reach: f64, bend: f64) -> usize {
    let count = (reach * bend / 8.0 / SAGITTA).sqrt().ceil();
    if count.is_finite() { (count as usize).clamp(1, MOST_BETWEEN) } else { 1 }
}

/// A station between two points: cubic in place, straight in the fields.
fn filled(from: &RibbonPoint, to: &RibbonPoint, chord: f64, u: f64) -> Station {
    if u >= 1.0 {
        return Station::of(to);
    }
    let (u2, u3) = (u * u, u * u * u);
    let (h00, h10, h01, h11) = (2.0 * u3 - 3.0 * u2 + 1.0, u3 - 2.0 * u2 + u, 3.0 * u2 - 2.0 * u3, u3 - u2);
    let place = |a: f64, ta: f64, b: f64, tb: f64| h00 * a + h10 * chord * ta + h01 * b + h11 * chord * tb;
    let mix = |a: f64, b: f64| a + u * (b - a);
    Station::at(
        [
            place(from.x_um, from.phi_rad.cos(), to.x_um, to.phi_rad.cos()),
            place(from.y_um, from.phi_rad.sin(), to.y_um, to.phi_rad.sin()),
        ],
        mix(from.phi_rad, to.phi_rad),
        [
            mix(from.left_strain, to.left_strain),
            mix(from.axial_strain, to.axial_strain),
            mix(from.right_strain, to.right_strain),
        ],
        mix(from.loss_db_per_cm, to.loss_db_per_cm),
    )
}

fn distance(a: &RibbonPoint, b: &RibbonPoint) -> f64 {
    (b.x_um - a.x_um).hypot(b.y_um - a.y_um)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A half circle of `radius_um` about the origin, `count` points, counter-clockwise from the right.
    pub(in super::super) fn half_circle(radius_um: f64, count: usize) -> Vec<RibbonPoint> {
        (0..count)
            .map(|i| {
                let angle = std::f64::consts::PI * i as f64 / (count - 1) as f64;
                RibbonPoint {
                    s_um: radius_um * angle,
                    x_um: radius_um * angle.cos(),
                    y_um: radius_um * angle.sin(),
                    phi_rad: angle + std::f64::consts::FRAC_PI_2,
                    kappa_rest_per_um: 1.0 / radius_um,
                    kappa_per_um: 1.0 / radius_um,
                    left_strain: 0.01,
                    right_strain: -0.005,
                    axial_strain: 0.001,
                    loss_db_per_cm: 0.1,
                }
            })
            .collect()
    }

    #[test]
    fn few_stations_far_away_and_many_close_by() {
        let points = half_circle(100.0, 97);
        let far = resample(&points, &[], 0.02, 10.0);
        let near = resample(&points, &[], 50.0, 10.0);
        assert!(far.len() < 45 && far.len() >= 2, "{} stations for 6 points of length", far.len());
        assert!(near.len() > 200, "{} stations for 15,000 points of length", near.len());
        for strip in [&far, &near] {
            let last = strip.last().expect("a strip of a half circle is not empty");
            assert!((last.x_um + 100.0).abs() < 1e-9 && last.y_um.abs() < 1e-9, "the end is kept");
        }
    }

    #[test]
    fn filled_stations_stay_on_the_circle() {
        let scale = 50.0;
        for station in resample(&half_circle(100.0, 49), &[], scale, 10.0) {
            let off = station.x_um.hypot(station.y_um) - 100.0;
            assert!(off.abs() * scale < 0.1, "{off} µm beside the circle");
            let outward = station.normal[0] * station.x_um + station.normal[1] * station.y_um;
            assert!(outward < -99.9, "left of a counter-clockwise circle is inside");
        }
    }

    #[test]
    fn strain_runs_through_both_edges_and_the_centre() {
        let strip = resample(&half_circle(100.0, 9), &[], 1.0, 10.0);
        assert!((strip[0].strain_at(1.0) - 0.01).abs() < 1e-15);
        assert!((strip[0].strain_at(0.0) - 0.001).abs() < 1e-15);
        assert!((strip[0].strain_at(-1.0) + 0.005).abs() < 1e-15);
    }
}
