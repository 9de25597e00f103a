//! What the band's colour means: strain against what the layers there allow, or loss density.

use super::strip::Station;
use crate::window::colour_scale::{ColourScale, Palette};
use egui::Color32;
use ogee_design::Checked;

/// What the stretched ribbon is coloured by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum ColourBy {
    /// Tensile strain, against the least that any layer at that place allows.
    #[default]
    Strain,
    /// Bend and propagation loss, dB/cm.
    Loss,
}

/// A part of the width over which the same strain is allowed; sides run from −1 (right edge) to +1 (left edge).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Lane {
    /// Right end.
    pub right: f64,
    /// Left end.
    pub left: f64,
    /// Strain allowed here, a plain ratio.
    pub allowable: f64,
}

/// The colours of a stretched ribbon.
#[derive(Clone, Debug)]
pub(super) struct Ink {
    by: ColourBy,
    scale: ColourScale,
    lanes: Vec<Lane>,
}

impl Ink {
    /// Strain: 0 to what is allowed. Where the layers allow different strains across the width, the scale
    /// is the share of what is allowed.
    pub(super) fn strain(checked: &Checked, palette: Palette, dark: bool) -> Self {
        let half = checked.width_um() / 2.0;
        let layers: Vec<Lane> = checked
            .layers()
            .iter()
            .map(|l| Lane { right: l.right_um / half, left: l.left_um / half, allowable: l.allowable_strain })
            .collect();
        let lanes = lanes_of(&layers);
        let high = if let [lane] = lanes.as_slice() { 100.0 * lane.allowable } else { 100.0 };
        Self { by: ColourBy::Strain, scale: scale(palette, high, dark), lanes }
    }

    /// Loss density from 0 to `high_db_per_cm`.
    pub(super) fn loss(high_db_per_cm: f64, palette: Palette, dark: bool) -> Self {
        let whole = Lane { right: -1.0, left: 1.0, allowable: f64::INFINITY };
        Self { by: ColourBy::Loss, scale: scale(palette, high_db_per_cm, dark), lanes: vec![whole] }
    }

    /// What the colours stand for.
    pub(super) fn by(&self) -> ColourBy {
        self.by
    }

    /// The scale, in the unit of the legend: % of strain, % of what is allowed, or dB/cm.
    pub(super) fn scale(&self) -> &ColourScale {
        &self.scale
    }

    /// The lanes, from the right edge to the left.
    pub(super) fn lanes(&self) -> &[Lane] {
        &self.lanes
    }

    /// The lane at `side`; on a border the one that allows less.
    pub(super) fn lane_at(&self, side: f64) -> Lane {
        let here = self.lanes.iter().filter(|l| l.right - 1e-9 <= side && side <= l.left + 1e-9);
        here.min_by(|a, b| a.allowable.total_cmp(&b.allowable)).copied().unwrap_or(Lane {
            right: -1.0,
            left: 1.0,
            allowable: f64::INFINITY,
        })
    }

    /// Value in the unit of the scale, over its high end: above 1 a limit of strain is passed.
    pub(super) fn share(&self, station: &Station, side: f64, lane: &Lane, factor: f64) -> f64 {
        match self.by {
            ColourBy::Strain => (factor * station.strain_at(side) / lane.allowable).max(0.0),
            ColourBy::Loss => {
                (station.loss_db_per_cm - self.scale.low()) / (self.scale.high() - self.scale.low())
            }
        }
    }

    /// The colour at `side` of a station. `detail` from 0 to 1 says how much of the width is told apart:
    /// at 0 the whole width has the colour of its worst place.
    pub(super) fn colour(
        &self,
        station: &Station,
        side: f64,
        lane: &Lane,
        factor: f64,
        detail: f64,
    ) -> Color32 {
        let here = self.share(station, side, lane, factor);
        let share =
            if detail < 1.0 { detail * here + (1.0 - detail) * self.worst(station, factor) } else { here };
        self.scale.colour(share)
    }

    /// The largest share over the width of a station.
    pub(super) fn worst(&self, station: &Station, factor: f64) -> f64 {
        let ends = self.lanes.iter().flat_map(|l| [(l.right, l), (l.left, l)]);
        ends.map(|(side, lane)| self.share(station, side, lane, factor)).fold(0.0, f64::max)
    }

    /// The parts of the width, as sides from right to left, where the strain is more than allowed.
    pub(super) fn over(&self, station: &Station, factor: f64) -> Vec<[f64; 2]> {
        const STEPS: u32 = 24;
        if self.by == ColourBy::Loss {
            return Vec::new();
        }
        let mut parts: Vec<[f64; 2]> = Vec::new();
        for lane in &self.lanes {
            let side = |i: u32| lane.right + (lane.left - lane.right) * f64::from(i) / f64::from(STEPS);
            for i in 0..STEPS {
                let middle = f64::midpoint(side(i), side(i + 1));
                if self.share(station, middle, lane, factor) <= 1.0 {
                    continue;
                }
                match parts.last_mut() {
                    Some(part) if (part[1] - side(i)).abs() < 1e-9 => part[1] = side(i + 1),
                    _ => parts.push([side(i), side(i + 1)]),
                }
            }
        }
        parts
    }
}

/// On light paper more is darker, on dark paper more is lighter.
fn scale(palette: Palette, high: f64, dark: bool) -> ColourScale {
    let scale = ColourScale::new(palette, 0.0, high);
    if dark { scale } else { scale.reversed() }
}

/// Cuts the width at every layer's edge and keeps the least allowable strain of each part; equal neighbours join.
fn lanes_of(layers: &[Lane]) -> Vec<Lane> {
    let mut cuts: Vec<f64> =
        layers.iter().flat_map(|l| [l.right, l.left]).map(|c| c.clamp(-1.0, 1.0)).collect();
    cuts.extend([-1.0, 1.0]);
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let mut lanes: Vec<Lane> = Vec::new();
    for pair in cuts.windows(2) {
        let middle = f64::midpoint(pair[0], pair[1]);
        let here = layers.iter().filter(|l| l.right <= middle && middle <= l.left).map(|l| l.allowable);
        let allowable = here.fold(f64::INFINITY, f64::min);
        match lanes.last_mut() {
            Some(lane) if lane.allowable == allowable => lane.left = pair[1],
            _ => lanes.push(Lane { right: pair[0], left: pair[1], allowable }),
        }
    }
    lanes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::window::drawing::strip::{resample, tests::half_circle};

    fn film(allowable: f64) -> Lane {
        Lane { right: -1.0, left: 1.0, allowable }
    }

    #[test]
    fn lanes_keep_the_least_allowable_strain() {
        assert_eq!(lanes_of(&[film(0.02), film(0.008)]), vec![film(0.008)]);
        let core = Lane { right: -0.25, left: 0.5, allowable: 0.005 };
        let lanes = lanes_of(&[film(0.02), core]);
        assert_eq!(lanes.len(), 3);
        assert_eq!(lanes[1], core);
        assert_eq!((lanes[0].allowable, lanes[2].allowable), (0.02, 0.02));
        // A narrow layer that allows more than the film around it changes nothing.
        assert_eq!(lanes_of(&[film(0.02), Lane { allowable: 0.5, ..core }]), vec![film(0.02)]);
    }

    #[test]
    fn over_limit_parts_are_found_across_the_width() {
        let station = resample(&half_circle(100.0, 9), &[], 1.0, 10.0)[0];
        let ink = Ink {
            by: ColourBy::Strain,
            scale: ColourScale::new(Palette::Cividis, 0.0, 0.5),
            lanes: vec![film(0.005)],
        };
        // Left edge +1 %, centre 0.1 %, right edge −0.5 %: over 0.5 % only on the left.
        let parts = ink.over(&station, 1.0);
        assert_eq!(parts.len(), 1);
        assert!(parts[0][0] > 0.3 && parts[0][1] == 1.0, "{parts:?}");
        assert!(ink.over(&station, 0.4).is_empty(), "40 % of the strain passes");
        assert!(ink.share(&station, -1.0, &film(0.005), 1.0) == 0.0, "compression has no share of tension");
    }
}
