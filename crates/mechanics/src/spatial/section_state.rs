//! What a section carries, and the strain of its fibres.

use super::law::Section;
use super::vector::{Vec3, cross};
use crate::OutOfPlane;

/// State of one section.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct SectionState {
    /// Moment in the frame of the section (t, n, b).
    pub(crate) moment: Vec3,
    /// Force in the frame of the section.
    pub(crate) force: Vec3,
    /// (τ, κₙ, `κ_z`).
    pub(crate) kappa: Vec3,
    pub(crate) kappa_rest: f64,
    /// χ = `κ_z` − κ₀ (1 + `ε_m`).
    pub(crate) curving: f64,
    /// `ε_m`.
    pub(crate) axial: f64,
    /// Stretch ratio of the centreline minus 1.
    pub(crate) stretch: f64,
    /// κₙ − k.
    pub(crate) bend: f64,
    pub(crate) g: f64,
    /// `κ_y` − k.
    pub(crate) across: f64,
}

impl SectionState {
    /// The state that carries a moment and a force; `guess` is (τ, κₙ).
    pub(crate) fn new(
        section: &Section,
        kappa_rest: f64,
        ei_in: f64,
        moment: Vec3,
        force: Vec3,
        guess: [f64; 2],
    ) -> Self {
        let tension = force[0];
        let [twist, kappa_n] = section.twist_and_bend([moment[0], moment[1]], tension, guess);
        let g = if section.a == 0.0 { 0.0 } else { section.thickness(twist, kappa_n).g };
        let axial = (tension + kappa_rest * moment[2]) / section.ea;
        let curving = moment[2] / ei_in;
        Self {
            moment,
            force,
            kappa: [twist, kappa_n, kappa_rest * (1.0 + axial) + curving],
            kappa_rest,
            curving,
            axial,
            stretch: axial - 0.5 * section.wagner * twist * twist,
            bend: kappa_n - section.curl,
            g,
            across: section.across(kappa_n, g),
        }
    }

    /// Elastic energy per length at rest.
    pub(crate) fn energy(&self, section: &Section) -> f64 {
        let law = section.thickness(self.kappa[0], self.kappa[1]);
        let twist = section.gj * self.kappa[0] * self.kappa[0];
        law.energy_bend
            + law.energy_ribbon
            + 0.5 * (twist + self.curving * self.moment[2] + section.ea * self.axial * self.axial)
    }

    /// Rates of moment and force along the ribbon, in the turning frame.
    pub(crate) fn rates(&self) -> (Vec3, Vec3) {
        let arm = 1.0 + self.stretch;
        let (m, f) = (cross(self.kappa, self.moment), cross(self.kappa, self.force));
        ([-m[0], -m[1] + arm * self.force[2], -m[2] - arm * self.force[1]], [-f[0], -f[1], -f[2]])
    }

    /// Axial strain of the fibre at the offset y and the height z over the neutral plane.
    pub(crate) fn fibre(&self, width: f64, y: f64, z: f64) -> f64 {
        let parabola = 0.5 * (y * y - width * width / 12.0) * self.g;
        self.axial + (-y * self.curving + z * self.bend + parabola) / (1.0 - y * self.kappa_rest)
    }

    /// Least and greatest axial strain over y from `right` to `left` at the height z.
    pub(crate) fn range(&self, width: f64, right: f64, left: f64, z: f64) -> [(f64, f64); 2] {
        let mut least = (self.fibre(width, right, z), right);
        let mut most = least;
        let mut look = |y: f64| {
            let strain = self.fibre(width, y, z);
            if strain < least.0 {
                least = (strain, y);
            }
            if strain > most.0 {
                most = (strain, y);
            }
        };
        look(left);
        // Where the slope of (a + b y + c y²)/(1 − y κ₀) vanishes: b + κ₀ a + 2 c y − κ₀ c y² = 0.
        let c = 0.5 * self.g;
        if c != 0.0 {
            let a = z * self.bend - width * width / 12.0 * c;
            let constant = self.kappa_rest * a - self.curving;
            let q = c * c + self.kappa_rest * c * constant;
            if q >= 0.0 {
                // The root near the middle, in the form that survives κ₀ → 0.
                let y = -constant / (c + c.signum() * q.sqrt());
                if y > right && y < left {
                    look(y);
                }
            }
        }
        [least, most]
    }
}

/// Size of the section, and its shear by torsion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Extent {
    pub(crate) width: f64,
    pub(crate) bottom: f64,
    pub(crate) top: f64,
    pub(crate) poisson: f64,
    /// Shear per twist at the middle of the top and bottom faces, and of the left and right edges, in µm.
    shear: [f64; 2],
}

/// What kind of place a peak is found at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PeakKind {
    /// A corner of the section, where torsion has no shear.
    Corner,
    /// The middle of the top or bottom face, where torsion shears most.
    LongFace,
    /// The middle of the left or right edge.
    ShortEdge,
}

impl PeakKind {
    /// The kind in words.
    pub fn label(self) -> &'static str {
        match self {
            Self::Corner => "corner",
            Self::LongFace => "middle of a face",
            Self::ShortEdge => "middle of an edge",
        }
    }
}

/// Strain at the named places of a section: value, kind, offset and height.
pub(crate) type Named = (f64, PeakKind, f64, f64);

impl Extent {
    pub(crate) fn new(width: f64, out: &OutOfPlane) -> Self {
        let thickness = out.thickness_um();
        let (long, short) = (width.max(thickness), width.min(thickness));
        let [face, edge] = shear_factors(long / short).map(|k| k * short);
        Self {
            width,
            bottom: out.bottom_um,
            top: out.top_um,
            poisson: out.poisson,
            shear: if width >= thickness { [face, edge] } else { [edge, face] },
        }
    }

    /// Axial strain at the four corners: strain, offset, height.
    pub(crate) fn corners(&self, state: &SectionState) -> [(f64, f64, f64); 4] {
        let half = 0.5 * self.width;
        [(half, self.top), (half, self.bottom), (-half, self.top), (-half, self.bottom)]
            .map(|(y, z)| (state.fibre(self.width, y, z), y, z))
    }

    /// Greatest tensile strain, least axial strain (compression, at a corner), the corners' greatest and the upper bound.
    pub(crate) fn extremes(&self, state: &SectionState) -> (Named, Named, f64, f64) {
        let nu = self.poisson;
        let mut most = (f64::NEG_INFINITY, PeakKind::Corner, 0.0, 0.0);
        let mut least = (f64::INFINITY, PeakKind::Corner, 0.0, 0.0);
        let mut upper = f64::NEG_INFINITY;
        let face_shear = self.shear[0] * state.kappa[0];
        let edge_shear = self.shear[1] * state.kappa[0];
        for (strain, y, z) in self.corners(state) {
            if strain > most.0 {
                most = (strain, PeakKind::Corner, y, z);
            }
            if strain < least.0 {
                least = (strain, PeakKind::Corner, y, z);
            }
            upper = upper.max(principal(strain, -nu * strain, face_shear));
        }
        let corner = most.0;
        let mut look = |strain: f64, kind: PeakKind, y: f64, z: f64| {
            if strain > most.0 {
                most = (strain, kind, y, z);
            }
        };
        let middle = state.axial - self.width * self.width / 24.0 * state.g;
        for z in [self.top, self.bottom] {
            let (along, across) = (middle + z * state.bend, -nu * middle + z * state.across);
            look(principal(along, across, face_shear), PeakKind::LongFace, 0.0, z);
        }
        for y in [0.5 * self.width, -0.5 * self.width] {
            let along = state.fibre(self.width, y, 0.0);
            look(principal(along, -nu * along, edge_shear), PeakKind::ShortEdge, y, 0.0);
        }
        (most, least, corner, upper)
    }
}

/// Greatest principal strain.
fn principal(along: f64, across: f64, shear: f64) -> f64 {
    let (mean, half) = (0.5 * (along + across), 0.5 * (along - across));
    let radius = (half * half + 0.25 * shear * shear).sqrt();
    mean + radius
}

/// Shear over short side times twist at the middle of the long and of the short sides of a rectangle, by the ratio of
/// its sides (at least 1). Saint-Venant's solution.
fn shear_factors(ratio: f64) -> [f64; 2] {
    const TERMS: i32 = 24;
    let square = std::f64::consts::PI * std::f64::consts::PI;
    let (mut long, mut short) = (0.0, 0.0);
    for i in 0..TERMS {
        let k = f64::from(2 * i + 1);
        let x = k * std::f64::consts::FRAC_PI_2 * ratio;
        long += 1.0 / (k * k * x.min(700.0).cosh());
        short += if i % 2 == 0 { 1.0 } else { -1.0 } * x.tanh() / (k * k);
    }
    [1.0 - 8.0 / square * long, 8.0 / square * short]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Timoshenko and Goodier, Theory of Elasticity: 0.675 for the square; 1 and 0.7425 for the thin strip.
    #[test]
    fn shear_of_square_and_thin_strip() {
        let square = shear_factors(1.0);
        assert!((square[0] - 0.675).abs() < 5e-4 && (square[1] - 0.675).abs() < 1e-3, "{square:?}");
        let thin = shear_factors(100.0);
        assert!((thin[0] - 1.0).abs() < 1e-12 && (thin[1] - 0.7425).abs() < 5e-4, "{thin:?}");
    }

    #[test]
    fn moments_are_inverted() {
        let section = Section {
            ea: 900.0,
            gj: 50.0,
            ei_out: 40.0,
            nu: 0.3,
            a: 700.0,
            c: 16.0,
            wagner: 2.0,
            curl: 0.03,
        };
        for (twist, bend) in [(0.1, -0.2), (0.02, 0.3), (-0.3, 0.01), (0.0, 0.2)] {
            let tension = 4.0;
            let law = section.thickness(twist, bend);
            let moments = [law.first[0] + tension * section.wagner * twist, law.first[1]];
            let found = section.twist_and_bend(moments, tension, [0.8 * twist, 0.9 * bend]);
            assert!((found[0] - twist).abs() < 1e-8 && (found[1] - bend).abs() < 1e-8, "{found:?}");
        }
    }

    #[test]
    fn range_finds_the_trough_of_the_parabola() {
        let state = SectionState { g: 0.02, curving: 0.003, kappa_rest: 0.05, ..SectionState::default() };
        let [least, most] = state.range(5.0, -2.5, 2.5, 0.2);
        let steps = (0..=4000).map(|i| state.fibre(5.0, -2.5 + f64::from(i) / 800.0, 0.2));
        let (low, high) = steps.fold((1.0_f64, -1.0_f64), |(a, b), x| (a.min(x), b.max(x)));
        assert!((least.0 - low).abs() < 1e-8 && (most.0 - high).abs() < 1e-8);
    }
}
