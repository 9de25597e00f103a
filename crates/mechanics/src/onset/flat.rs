//! The flat state that is disturbed, at the nodes of the elements.

use crate::{
    basis::{INTEGRAL, NODES, POINT, WEIGHT, shape_values},
    ribbon::{RibbonSolution, RibbonSolver},
};

/// A flat ribbon or strip under load at one place: what its second variation depends on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FlatPoint {
    /// Curvature κ in the plane when loaded, per rest length, in 1/µm, counter-clockwise positive.
    pub curvature_per_um: f64,
    /// Bending moment M in the plane, in µN·µm, positive when it increases the curvature.
    pub moment_un_um: f64,
    /// Normal force N, tension positive, in µN.
    pub normal_un: f64,
    /// Strain ε₀ of the centreline.
    pub axial_strain: f64,
}

/// A node, lengths over the unit and forces in EI/unit².
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct FlatNode {
    /// ds/dξ.
    pub(crate) jacobian: f64,
    pub(crate) curvature: f64,
    pub(crate) moment: f64,
    pub(crate) normal: f64,
    /// 1 + ε₀.
    pub(crate) stretched: f64,
}

/// The nodes of all elements and where they are.
#[derive(Debug, Clone, Default)]
pub(crate) struct FlatState {
    pub(crate) nodes: Vec<FlatNode>,
    /// Contour length over the unit, per node.
    pub(crate) s: Vec<f64>,
}

impl FlatState {
    pub(crate) fn elements(&self) -> usize {
        self.nodes.len() / NODES
    }

    /// The joint of elements in the middle of the ribbon, if there is one.
    pub(crate) fn middle(&self) -> Option<usize> {
        let half = 0.5 * self.s.last()?;
        let e = (0..self.elements()).min_by(|&a, &b| {
            let gap = |e: usize| (self.s[e * NODES] - half).abs();
            gap(a).total_cmp(&gap(b))
        })?;
        ((self.s[e * NODES] - half).abs() < 1e-9 * half).then_some(e)
    }

    /// The first `elements` elements, each cut in two, by interpolation.
    pub(crate) fn halved(&self, elements: usize) -> Self {
        let mut fine = Self::default();
        let shapes = [-0.5, 0.5].map(|middle| POINT.map(|xi| shape_values(middle + 0.5 * xi)));
        for (nodes, s) in
            self.nodes.as_chunks::<NODES>().0.iter().zip(self.s.as_chunks::<NODES>().0).take(elements)
        {
            for shape in shapes.iter().flatten() {
                let mut node = FlatNode::default();
                let mut along = 0.0;
                for g in 0..NODES {
                    node.jacobian += 0.5 * shape[g] * nodes[g].jacobian;
                    node.curvature += shape[g] * nodes[g].curvature;
                    node.moment += shape[g] * nodes[g].moment;
                    node.normal += shape[g] * nodes[g].normal;
                    node.stretched += shape[g] * nodes[g].stretched;
                    along += shape[g] * s[g];
                }
                fine.nodes.push(node);
                fine.s.push(along);
            }
        }
        fine
    }

    /// Takes the planar state that the solver holds, on its own elements.
    pub(crate) fn take(&mut self, solver: &RibbonSolver) {
        let (mesh, fields) = (&solver.mesh, &solver.fields);
        self.nodes.clear();
        self.s.clear();
        let mut start = 0.0;
        for e in 0..mesh.elements() {
            let length: f64 = (0..NODES).map(|g| WEIGHT[g] * mesh.rest[e * NODES + g].jacobian).sum();
            for g in 0..NODES {
                let i = e * NODES + g;
                let (rest, field) = (&mesh.rest[i], &fields.nodes[i]);
                let moment = field.curving * mesh.bending[i];
                self.nodes.push(FlatNode {
                    jacobian: rest.jacobian,
                    curvature: rest.kappa.mul_add(1.0 + field.axial, field.curving),
                    moment,
                    normal: mesh.ea.mul_add(field.axial, -rest.kappa * moment),
                    stretched: 1.0 + field.axial,
                });
                let along: f64 = (0..NODES).map(|i| INTEGRAL[g][i] * mesh.rest[e * NODES + i].jacobian).sum();
                self.s.push(start + along);
            }
            start += length;
        }
    }

    /// The planar state of a solution, each of its elements cut into `parts`.
    pub(crate) fn of(solution: &RibbonSolution, parts: usize) -> Self {
        let mut state = Self::default();
        let width = 2.0 / parts as f64;
        for e in 0..solution.elements {
            for part in 0..parts {
                let from = -1.0 + width * part as f64;
                for xi in POINT {
                    let place = solution.place(e, from + 0.5 * width * (1.0 + xi));
                    state.nodes.push(FlatNode {
                        jacobian: solution.jacobian(e, &place) * 0.5 * width,
                        curvature: place.curvature(),
                        moment: place.moment,
                        normal: place.normal,
                        stretched: 1.0 + place.axial,
                    });
                    state.s.push(solution.s_um(&place) / solution.unit_um);
                }
            }
        }
        state
    }
}
