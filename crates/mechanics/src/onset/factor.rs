//! Block elimination of the whole form: elements inside first, then joint by joint.

use super::{
    element::{ENDS, INSIDE, JOINT, Stiffness, UNKNOWNS, matrix, weigh},
    flat::FlatNode,
};
use crate::basis::NODES;

/// What is held at an end: twist α, slope β, deflection v.
pub(crate) type Held = [bool; JOINT];

/// What is kept of an element.
#[derive(Debug, Clone, Copy)]
struct Inside {
    /// Unit lower triangle and diagonal of the inside.
    lower: [[f64; INSIDE]; INSIDE],
    inverse: [f64; INSIDE],
    /// Inside response to the ends.
    response: [[f64; ENDS]; INSIDE],
}

/// What is kept of a joint.
#[derive(Debug, Clone, Copy, Default)]
struct Joint {
    lower: [[f64; JOINT]; JOINT],
    inverse: [f64; JOINT],
    /// Inverse of the joint times the block towards the next joint.
    next: [[f64; JOINT]; JOINT],
}

/// A factorised form.
#[derive(Debug, Default)]
pub(crate) struct Factors {
    insides: Vec<Inside>,
    joints: Vec<Joint>,
    ends: [Held; 2],
    /// Negative pivots.
    pub(crate) negative: usize,
}

/// L D Lᵀ without pivoting; returns the negative pivots.
fn decompose<const N: usize>(
    matrix: &[[f64; N]; N],
    lower: &mut [[f64; N]; N],
    inverse: &mut [f64; N],
) -> usize {
    let mut negative = 0;
    let mut diagonal = [0.0; N];
    for i in 0..N {
        let mut row = [0.0; N];
        for j in 0..i {
            let mut sum = matrix[i][j];
            for k in 0..j {
                sum -= row[k] * lower[j][k];
            }
            row[j] = sum;
        }
        let mut pivot = matrix[i][i];
        for j in 0..i {
            lower[i][j] = row[j] * inverse[j];
            pivot -= row[j] * lower[i][j];
        }
        diagonal[i] = pivot;
        inverse[i] = 1.0 / pivot;
        negative += usize::from(pivot < 0.0);
    }
    negative
}

fn solve<const N: usize>(lower: &[[f64; N]; N], inverse: &[f64; N], mut load: [f64; N]) -> [f64; N] {
    for i in 1..N {
        for j in 0..i {
            load[i] -= lower[i][j] * load[j];
        }
    }
    for i in 0..N {
        load[i] *= inverse[i];
    }
    for i in (0..N).rev() {
        for j in i + 1..N {
            load[i] -= lower[j][i] * load[j];
        }
    }
    load
}

/// Unknowns of `elements` elements: joints first, then the insides.
pub(crate) fn unknowns(elements: usize) -> usize {
    JOINT * (elements + 1) + INSIDE * elements
}

/// The unknowns of element `e` out of all.
pub(crate) fn gather(all: &[f64], elements: usize, e: usize) -> [f64; UNKNOWNS] {
    let inside = JOINT * (elements + 1) + INSIDE * e;
    std::array::from_fn(|i| if i < ENDS { all[JOINT * e + i] } else { all[inside + i - ENDS] })
}

/// The mass applied to all unknowns.
pub(crate) fn weigh_all(nodes: &[FlatNode], values: &[f64], result: &mut Vec<f64>) {
    let elements = nodes.len() / NODES;
    result.clear();
    result.resize(values.len(), 0.0);
    for (e, own) in nodes.as_chunks::<NODES>().0.iter().enumerate() {
        let part = weigh(own, &gather(values, elements, e));
        for (i, value) in part[..ENDS].iter().enumerate() {
            result[JOINT * e + i] += value;
        }
        let inside = JOINT * (elements + 1) + INSIDE * e;
        result[inside..inside + INSIDE].copy_from_slice(&part[ENDS..]);
    }
}

impl Factors {
    /// Factorises the form less `shift` times the mass.
    pub(crate) fn decompose(
        &mut self,
        nodes: &[FlatNode],
        stiffness: &Stiffness,
        ends: [Held; 2],
        shift: f64,
    ) {
        let elements = nodes.len() / NODES;
        self.ends = ends;
        self.negative = 0;
        self.insides.clear();
        self.joints.clear();
        let mut block = [[0.0; JOINT]; JOINT];
        for (e, own) in nodes.as_chunks::<NODES>().0.iter().enumerate() {
            let full = matrix(own, stiffness, shift);
            let core: [[f64; INSIDE]; INSIDE] =
                std::array::from_fn(|i| std::array::from_fn(|j| full[ENDS + i][ENDS + j]));
            let mut inside = Inside {
                lower: [[0.0; INSIDE]; INSIDE],
                inverse: [0.0; INSIDE],
                response: [[0.0; ENDS]; INSIDE],
            };
            self.negative += decompose(&core, &mut inside.lower, &mut inside.inverse);
            let mut reduced = [[0.0; ENDS]; ENDS];
            for j in 0..ENDS {
                let column: [f64; INSIDE] = std::array::from_fn(|i| full[ENDS + i][j]);
                let solved = solve(&inside.lower, &inside.inverse, column);
                for i in 0..INSIDE {
                    inside.response[i][j] = solved[i];
                }
                for i in j..ENDS {
                    let mut sum = full[i][j];
                    for k in 0..INSIDE {
                        sum -= full[ENDS + k][i] * solved[k];
                    }
                    reduced[i][j] = sum;
                    reduced[j][i] = sum;
                }
            }
            self.insides.push(inside);
            for i in 0..JOINT {
                for j in 0..JOINT {
                    block[i][j] += reduced[i][j];
                }
            }
            let mut across: [[f64; JOINT]; JOINT] =
                std::array::from_fn(|i| std::array::from_fn(|j| reduced[i][JOINT + j]));
            if e == 0 {
                hold(&mut block, &mut across, ends[0]);
            }
            if e + 1 == elements {
                for (j, held) in ends[1].into_iter().enumerate() {
                    for row in &mut across {
                        row[j] *= f64::from(u8::from(!held));
                    }
                }
            }
            let mut joint = Joint::default();
            self.negative += decompose(&block, &mut joint.lower, &mut joint.inverse);
            for j in 0..JOINT {
                let column = std::array::from_fn(|i| across[i][j]);
                let solved = solve(&joint.lower, &joint.inverse, column);
                for i in 0..JOINT {
                    joint.next[i][j] = solved[i];
                }
            }
            for i in 0..JOINT {
                for j in 0..JOINT {
                    block[i][j] = reduced[JOINT + i][JOINT + j]
                        - (0..JOINT).map(|k| across[k][i] * joint.next[k][j]).sum::<f64>();
                }
            }
            self.joints.push(joint);
        }
        let mut nothing = [[0.0; JOINT]; JOINT];
        hold(&mut block, &mut nothing, ends[1]);
        let mut joint = Joint::default();
        self.negative += decompose(&block, &mut joint.lower, &mut joint.inverse);
        self.joints.push(joint);
    }

    /// Solves in place.
    pub(crate) fn solve(&self, load: &mut [f64]) {
        let elements = self.insides.len();
        let first_inside = JOINT * (elements + 1);
        let (joints, insides) = load.split_at_mut(first_inside);
        for (i, held) in self.ends[0].into_iter().enumerate() {
            joints[i] *= f64::from(u8::from(!held));
        }
        for (e, inside) in self.insides.iter().enumerate() {
            let own: [f64; INSIDE] = std::array::from_fn(|i| insides[INSIDE * e + i]);
            for j in 0..ENDS {
                let taken: f64 = (0..INSIDE).map(|i| inside.response[i][j] * own[i]).sum();
                joints[JOINT * e + j] -= taken;
            }
            if e == 0 {
                for (i, held) in self.ends[0].into_iter().enumerate() {
                    joints[i] *= f64::from(u8::from(!held));
                }
            }
            let joint = &self.joints[e];
            let here: [f64; JOINT] = std::array::from_fn(|i| joints[JOINT * e + i]);
            for j in 0..JOINT {
                joints[JOINT * (e + 1) + j] -= (0..JOINT).map(|i| joint.next[i][j] * here[i]).sum::<f64>();
            }
            let solved = solve(&joint.lower, &joint.inverse, here);
            joints[JOINT * e..JOINT * (e + 1)].copy_from_slice(&solved);
        }
        for (i, held) in self.ends[1].into_iter().enumerate() {
            joints[JOINT * elements + i] *= f64::from(u8::from(!held));
        }
        let joint = &self.joints[elements];
        let here: [f64; JOINT] = std::array::from_fn(|i| joints[JOINT * elements + i]);
        let solved = solve(&joint.lower, &joint.inverse, here);
        joints[JOINT * elements..].copy_from_slice(&solved);
        for e in (0..elements).rev() {
            let next = self.joints[e].next;
            for i in 0..JOINT {
                joints[JOINT * e + i] -=
                    (0..JOINT).map(|j| next[i][j] * joints[JOINT * (e + 1) + j]).sum::<f64>();
            }
            let inside = &self.insides[e];
            let own: [f64; INSIDE] = std::array::from_fn(|i| insides[INSIDE * e + i]);
            let solved = solve(&inside.lower, &inside.inverse, own);
            for i in 0..INSIDE {
                let given: f64 = (0..ENDS).map(|j| inside.response[i][j] * joints[JOINT * e + j]).sum();
                insides[INSIDE * e + i] = solved[i] - given;
            }
        }
    }
}

/// Takes held unknowns out of a block and its coupling to the next.
fn hold(block: &mut [[f64; JOINT]; JOINT], across: &mut [[f64; JOINT]; JOINT], held: Held) {
    for (i, is_held) in held.into_iter().enumerate() {
        if is_held {
            for j in 0..JOINT {
                block[i][j] = 0.0;
                block[j][i] = 0.0;
                across[i][j] = 0.0;
            }
            block[i][i] = 1.0;
        }
    }
}
