//! A chain of elements with its supports, and a state of it.

use super::element::{Element, POINTS, Rest};
use super::law::Section;
use super::vector::{Quat, Vec3, add, dot4};

/// How an end of the rod is held: which rotations about the own axes t, n, b of its section are held.
pub(crate) type Held = [bool; 3];
/// A clamped end.
pub(crate) const CLAMPED: Held = [true; 3];

/// Elements, rest frames and supports.
#[derive(Debug, Clone)]
pub(crate) struct Rod {
    pub(crate) section: Section,
    pub(crate) elements: Vec<Element>,
    /// Rest frames of the nodes: element ends and middles, 2 m + 1 of them.
    pub(crate) rest: Vec<Quat>,
    /// Curvature at rest just after the start, at the middle and just before the end of each element, in 1/µm.
    pub(crate) curvature: Vec<[f64; 3]>,
    /// Stiffness `EI_c` at the same places.
    pub(crate) stiffness: Vec<[f64; 3]>,
    pub(crate) held: [Held; 2],
    /// True if the force at the far end is given rather than the place of that end.
    pub(crate) is_force_given: bool,
}

/// Where the far end is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Target {
    /// From the near end to the far end, in µm.
    pub(crate) chord: Vec3,
    /// Frame of the far end if that is clamped.
    pub(crate) end: Quat,
}

/// Frames of all nodes and the force at the far end.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Pose {
    pub(crate) frames: Vec<Quat>,
    pub(crate) force: Vec3,
}

impl Rod {
    /// A rod from elements given by length, three rest frames and the curvature at these places.
    ///
    /// `stiffness` is `EI_c` at a curvature.
    pub(crate) fn builder(
        section: Section,
        stiffness: impl Fn(f64) -> f64,
    ) -> RodBuilder<impl Fn(f64) -> f64> {
        RodBuilder {
            rod: Self {
                section,
                elements: Vec::new(),
                rest: Vec::new(),
                curvature: Vec::new(),
                stiffness: Vec::new(),
                held: [CLAMPED; 2],
                is_force_given: false,
            },
            stiffness,
            cached: None,
        }
    }

    /// Frames of an element's nodes in `frames`.
    #[inline(always)]
    pub(crate) fn nodes(frames: &[Quat], element: usize) -> [Quat; 3] {
        [frames[2 * element], frames[2 * element + 1], frames[2 * element + 2]]
    }

    /// Value of the Lagrangian of the rest frames without a force, and its derivative by the force.
    pub(crate) fn value_at_rest(&self) -> (f64, Vec3) {
        self.value(&Pose { frames: self.rest.clone(), force: [0.0; 3] })
    }

    /// Value of the Lagrangian without the chord's part, and its derivative by the force.
    pub(crate) fn value(&self, pose: &Pose) -> (f64, Vec3) {
        let (mut value, mut d) = (0.0, [0.0; 3]);
        for (index, element) in self.elements.iter().enumerate() {
            let part = element.value(&self.section, Self::nodes(&pose.frames, index), pose.force);
            value += part.0;
            d = add(d, part.1);
        }
        (value, d)
    }
}

/// Adds elements to a rod.
#[derive(Debug)]
pub(crate) struct RodBuilder<F> {
    rod: Rod,
    stiffness: F,
    cached: Option<(f64, f64)>,
}

impl<F: Fn(f64) -> f64> RodBuilder<F> {
    fn stiffness(&mut self, kappa: f64) -> f64 {
        // Arcs repeat the same curvature.
        match self.cached {
            Some((known, value)) if known == kappa => value,
            _ => {
                let value = (self.stiffness)(kappa);
                self.cached = Some((kappa, value));
                value
            }
        }
    }

    /// Adds an element after the last one; its first frame is that of the last one's end.
    pub(crate) fn push(&mut self, length: f64, mut frames: [Quat; 3], curvature: [f64; 3]) {
        // Neighbours lie in the same hemisphere.
        let mut before = self.rod.rest.last().copied().unwrap_or(frames[0]);
        for frame in &mut frames {
            if dot4(*frame, before) < 0.0 {
                *frame = frame.map(|x| -x);
            }
            before = *frame;
        }
        let kappas = Element::curvature_in_plane(length, frames);
        let mut rest = [Rest::default(); POINTS];
        for (rest, kappa) in rest.iter_mut().zip(kappas) {
            let ei_in = self.stiffness(kappa);
            *rest = Rest {
                weight: length / POINTS as f64,
                kappa,
                ei_in,
                d_s: self.rod.section.ea + kappa * kappa * ei_in,
            };
        }
        let stiffness = curvature.map(|kappa| self.stiffness(kappa));
        self.rod.elements.push(Element { length, rest });
        self.rod.curvature.push(curvature);
        self.rod.stiffness.push(stiffness);
        if self.rod.rest.is_empty() {
            self.rod.rest.push(frames[0]);
        }
        self.rod.rest.extend_from_slice(&frames[1..]);
    }

    pub(crate) fn finish(self) -> Rod {
        self.rod
    }
}
