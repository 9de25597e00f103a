//! Moments, strains and places of a solved ribbon, from equilibrium.

use super::element::{Element, POINTS};
use super::law::Section;
use super::problem::Ribbon;
use super::rod::{Pose, Rod};
use super::section_state::SectionState;
use super::vector::{Quat, Vec3, add, axes, components, cross, dot, in_space, scale, sub};

/// Places looked at in an element, ends included.
pub(crate) const SAMPLES: usize = 9;

/// Parts of the elastic energy, in µN·µm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EnergyParts {
    /// Of twist, ½ GJ τ².
    pub twist_un_um: f64,
    /// Of bending out of the plane of the section's width, ½ EI (κₙ − k)².
    pub bend_out_un_um: f64,
    /// Of bending within the plane of the width, ½ `EI_c` χ².
    pub bend_in_un_um: f64,
    /// Of stretching, ½ EA ε².
    pub stretch_un_um: f64,
    /// Of strain across the width that twist and bending force on the sheet; 0 for the plain rod.
    pub ribbon_un_um: f64,
}

impl EnergyParts {
    /// Their sum, in µN·µm.
    pub fn total_un_um(&self) -> f64 {
        self.twist_un_um + self.bend_out_un_um + self.bend_in_un_um + self.stretch_un_um + self.ribbon_un_um
    }
}

/// The solved ribbon, element by element.
#[derive(Debug, Clone)]
pub(crate) struct Recovered {
    pub(crate) section: Section,
    pub(crate) frames: Vec<Quat>,
    /// Positions of the element ends.
    pub(crate) positions: Vec<Vec3>,
    /// States just after the start and just before the end of each element.
    pub(crate) ends: Vec<[SectionState; 2]>,
    pub(crate) lengths: Vec<f64>,
    /// Contour length at rest at the elements' starts, and at the end.
    pub(crate) places: Vec<f64>,
    curvature: Vec<[f64; 3]>,
    stiffness: Vec<[f64; 3]>,
    /// Elastic energy of each element by its Gauss points.
    energies: Vec<f64>,
    pub(crate) energy: EnergyParts,
}

impl Recovered {
    /// `near_moment` is the moment at the near end in the frame of the section there.
    pub(crate) fn new(ribbon: &Ribbon, pose: &Pose, near_moment: Vec3) -> Self {
        let rod = &ribbon.rod;
        let section = rod.section;
        let count = rod.elements.len();
        let mut result = Self {
            section,
            frames: pose.frames.clone(),
            positions: vec![ribbon.start],
            ends: Vec::with_capacity(count),
            lengths: rod.elements.iter().map(|element| element.length).collect(),
            places: ribbon.places.iter().step_by(2).copied().collect(),
            curvature: rod.curvature.clone(),
            stiffness: rod.stiffness.clone(),
            energies: Vec::with_capacity(count),
            energy: EnergyParts::default(),
        };
        let near = in_space(&axes(pose.frames[0]), near_moment);
        for (index, element) in rod.elements.iter().enumerate() {
            let nodes = Rod::nodes(&pose.frames, index);
            let (chord, rates) = result.measure(element, nodes, pose.force);
            let start = result.positions[index];
            let end = add(start, chord);
            result.positions.push(end);
            let at = |place: Vec3, frame: Quat, side: usize| {
                let axes = axes(frame);
                let moment = sub(near, cross(sub(place, ribbon.start), pose.force));
                // The rates at the Gauss points, continued to the end, are close enough to start from.
                let far = 0.5 + 0.866_025_403_784_438_6;
                let (a, b) = (rates[side], rates[1 - side]);
                let guess = [far * a[0] + (1.0 - far) * b[0], far * a[1] + (1.0 - far) * b[1]];
                SectionState::new(
                    &section,
                    rod.curvature[index][2 * side],
                    rod.stiffness[index][2 * side],
                    components(&axes, moment),
                    components(&axes, pose.force),
                    guess,
                )
            };
            let pair = [at(start, nodes[0], 0), at(end, nodes[2], 1)];
            result.ends.push(pair);
        }
        result
    }

    /// Adds an element's energy; returns its chord and the rates of rotation at its Gauss points.
    fn measure(&mut self, element: &Element, nodes: [Quat; 3], force: Vec3) -> (Vec3, [Vec3; POINTS]) {
        let section = &self.section;
        let mut chord = [0.0; 3];
        let mut rates = [[0.0; 3]; POINTS];
        let before = self.energy.total_un_um();
        for (point, rest) in element.rest.iter().enumerate() {
            let state = element.state(nodes, point);
            let tension = dot(force, state.axes[0]);
            let (axial, stretch) = Element::axial(rest, section, &state, tension);
            let law = section.thickness(state.kappa[0], state.kappa[1]);
            let curving = state.kappa[2] - rest.kappa * (1.0 + axial);
            let half = 0.5 * rest.weight;
            self.energy.twist_un_um += half * section.gj * state.kappa[0] * state.kappa[0];
            self.energy.bend_out_un_um += rest.weight * law.energy_bend;
            self.energy.ribbon_un_um += rest.weight * law.energy_ribbon;
            self.energy.bend_in_un_um += half * rest.ei_in * curving * curving;
            self.energy.stretch_un_um += half * section.ea * axial * axial;
            chord = add(chord, scale(state.axes[0], rest.weight * (1.0 + stretch)));
            rates[point] = state.kappa;
        }
        self.energies.push(self.energy.total_un_um() - before);
        (chord, rates)
    }

    /// The state within an element, `x` from 0 to 1: moment and force by cubics with exact slopes.
    pub(crate) fn inside(&self, element: usize, x: f64) -> SectionState {
        let [a, b] = &self.ends[element];
        if x <= 0.0 {
            return *a;
        }
        if x >= 1.0 {
            return *b;
        }
        let length = self.lengths[element];
        let ((ma, fa), (mb, fb)) = (a.rates(), b.rates());
        let moment = cubic(a.moment, b.moment, scale(ma, length), scale(mb, length), x);
        let force = cubic(a.force, b.force, scale(fa, length), scale(fb, length), x);
        let mix = |pair: [f64; 2]| pair[0] + x * (pair[1] - pair[0]);
        let guess = [mix([a.kappa[0], b.kappa[0]]), mix([a.kappa[1], b.kappa[1]])];
        let middle = |three: [f64; 3]| {
            let y = 1.0 - x;
            three[0] * y * (y - x) + 4.0 * three[1] * x * y + three[2] * x * (x - y)
        };
        SectionState::new(
            &self.section,
            middle(self.curvature[element]),
            middle(self.stiffness[element]),
            moment,
            force,
            guess,
        )
    }

    /// The position within an element.
    pub(crate) fn position(&self, element: usize, x: f64) -> Vec3 {
        let length = self.lengths[element];
        let slope = |node: usize, side: usize| {
            scale(axes(self.frames[node])[0], length * (1.0 + self.ends[element][side].stretch))
        };
        let (from, to) = (slope(2 * element, 0), slope(2 * element + 2, 1));
        cubic(self.positions[element], self.positions[element + 1], from, to, x)
    }

    /// Contour length at rest from the near end.
    pub(crate) fn place(&self, element: usize, x: f64) -> f64 {
        self.places[element] + x * self.lengths[element]
    }

    /// Difference of the energies by equilibrium and by the frames over the whole energy, element by element: where the
    /// elements are too long.
    pub(crate) fn mismatch(&self) -> impl Iterator<Item = f64> + '_ {
        let total = self.energy.total_un_um().abs().max(f64::MIN_POSITIVE);
        (0..self.ends.len()).map(move |element| {
            let [a, b] = &self.ends[element];
            let middle = self.inside(element, 0.5);
            let density = |state: &SectionState| state.energy(&self.section);
            let simpson = (density(a) + 4.0 * density(&middle) + density(b)) / 6.0 * self.lengths[element];
            (simpson - self.energies[element]).abs() / total
        })
    }

    /// Calls `look` with the place and the state of all samples.
    pub(crate) fn each(&self, mut look: impl FnMut(usize, f64, &SectionState)) {
        for element in 0..self.ends.len() {
            for i in 0..SAMPLES {
                let x = i as f64 / (SAMPLES - 1) as f64;
                look(element, x, &self.inside(element, x));
            }
        }
    }
}

fn cubic(a: Vec3, b: Vec3, slope_a: Vec3, slope_b: Vec3, x: f64) -> Vec3 {
    let y = 1.0 - x;
    let (h0, h1) = (y * y * (1.0 + 2.0 * x), x * x * (3.0 - 2.0 * x));
    let (d0, d1) = (x * y * y, -x * x * y);
    std::array::from_fn(|i| h0 * a[i] + h1 * b[i] + d0 * slope_a[i] + d1 * slope_b[i])
}
