//! Elimination by nested halving of the window.
//!
//! Each patch of elements keeps the unknowns it shares with the outside and eliminates the others; two halves add up
//! to a front whose inner unknowns go next. Patches on the real part of the path stay real.

use super::dense::{Block, Planes, eliminate};
use super::element::{Element, assemble, element_size};
use super::layout::{Layout, Patch};
use crate::complex::Complex;

/// Factors of `A − σB`.
#[derive(Debug, Clone, Default)]
pub(super) struct Factors {
    fronts: Vec<Front>,
}

#[derive(Debug, Clone)]
struct Front {
    /// Unknowns, the eliminated ones first.
    unknowns: Vec<u32>,
    block: Block,
}

/// What is left of a patch: its outer unknowns and their matrix.
struct Rest {
    unknowns: Vec<u32>,
    matrix: Planes,
}

/// Builder: the elements and scratch.
struct Elimination<'a, F> {
    layout: &'a Layout,
    element: F,
    shift: Complex,
    fronts: Vec<Front>,
    /// Place of an unknown in the front at hand.
    places: Vec<u32>,
    dense: Vec<Complex>,
    of_element: Vec<Option<usize>>,
}

impl Factors {
    /// Eliminates everything; `element` gives the element of a column and row.
    pub(super) fn new<'b>(
        layout: &Layout,
        element: impl Fn(usize, usize) -> Element<'b>,
        shift: Complex,
    ) -> Self {
        let size = element_size(layout.order);
        let mut elimination = Elimination {
            layout,
            element,
            shift,
            fronts: Vec::with_capacity(2 * layout.columns * layout.rows),
            places: vec![0; layout.len()],
            dense: vec![Complex::ZERO; size * size],
            of_element: Vec::with_capacity(size),
        };
        elimination.reduce(&Patch { columns: (0, layout.columns), rows: (0, layout.rows) });
        Self { fronts: elimination.fronts }
    }

    /// Solves in place.
    pub(super) fn solve(&self, values: &mut [Complex]) {
        let mut local = Vec::new();
        let gather = |values: &[Complex], front: &Front, local: &mut Vec<Complex>| {
            local.clear();
            local.extend(front.unknowns.iter().map(|&n| values[n as usize]));
        };
        let scatter = |values: &mut [Complex], front: &Front, local: &[Complex]| {
            for (&n, &value) in front.unknowns.iter().zip(local) {
                values[n as usize] = value;
            }
        };
        for front in &self.fronts {
            gather(values, front, &mut local);
            front.block.forward(&mut local);
            scatter(values, front, &local);
        }
        for front in self.fronts.iter().rev() {
            gather(values, front, &mut local);
            front.block.backward(&mut local);
            scatter(values, front, &local);
        }
    }
}

impl<'b, F: Fn(usize, usize) -> Element<'b>> Elimination<'_, F> {
    fn reduce(&mut self, patch: &Patch) -> Rest {
        let Some((low, high)) = patch.halves() else {
            return self.leaf(patch);
        };
        let parts = [self.reduce(&low), self.reduce(&high)];
        let unseen = u32::MAX;
        for part in &parts {
            for &n in &part.unknowns {
                self.places[n as usize] = unseen;
            }
        }
        let mut unknowns: Vec<u32> = Vec::new();
        let mut outer: Vec<u32> = Vec::new();
        for part in &parts {
            for &n in &part.unknowns {
                if self.places[n as usize] == unseen {
                    self.places[n as usize] = 0;
                    let inner = patch.contains(self.layout.support(n));
                    if inner { &mut unknowns } else { &mut outer }.push(n);
                }
            }
        }
        let eliminated = unknowns.len();
        unknowns.append(&mut outer);
        self.number(&unknowns);
        let size = unknowns.len();
        let real = parts.iter().all(|part| part.matrix.is_real());
        let mut front = Planes::zeros(size * size, real);
        for part in &parts {
            let places: Vec<usize> =
                part.unknowns.iter().map(|&n| self.places[n as usize] as usize).collect();
            let add = |from: &[f64], to: &mut [f64]| {
                for (row, &place) in from.chunks(places.len().max(1)).zip(&places) {
                    let target = &mut to[place * size..(place + 1) * size];
                    for (&value, &place) in row.iter().zip(&places) {
                        target[place] += value;
                    }
                }
            };
            add(&part.matrix.re, &mut front.re);
            if !part.matrix.is_real() {
                add(&part.matrix.im, &mut front.im);
            }
        }
        self.finish(unknowns, eliminated, &front)
    }

    fn number(&mut self, unknowns: &[u32]) {
        for (place, &n) in unknowns.iter().enumerate() {
            self.places[n as usize] = place as u32;
        }
    }

    fn leaf(&mut self, patch: &Patch) -> Rest {
        let (column, row) = (patch.columns.0, patch.rows.0);
        let element = (self.element)(column, row);
        assemble(self.layout.order, &element.shifted(self.shift), &mut self.dense);
        self.layout.of_element(column, row, &mut self.of_element);
        let full = self.of_element.len();
        // Places in the element's own matrix, inner unknowns first; held ones fall away.
        let held = |place: &usize| self.of_element[*place].map(|n| n as u32);
        let (inner, outer): (Vec<usize>, Vec<usize>) = (0..full)
            .filter(|place| self.of_element[*place].is_some())
            .partition(|place| held(place).is_some_and(|n| patch.contains(self.layout.support(n))));
        let eliminated = inner.len();
        let places: Vec<usize> = inner.into_iter().chain(outer).collect();
        let unknowns: Vec<u32> = places.iter().filter_map(held).collect();
        let size = places.len();
        let real = self.dense.iter().all(|value| value.im == 0.0);
        let mut front = Planes::zeros(size * size, real);
        for (i, &row) in places.iter().enumerate() {
            for (j, &column) in places.iter().enumerate() {
                front.set(i * size + j, self.dense[row * full + column]);
            }
        }
        self.finish(unknowns, eliminated, &front)
    }

    fn finish(&mut self, unknowns: Vec<u32>, eliminated: usize, front: &Planes) -> Rest {
        let (block, matrix) = eliminate(front, unknowns.len(), eliminated);
        let outer = unknowns[eliminated..].to_vec();
        self.fronts.push(Front { unknowns, block });
        Rest { unknowns: outer, matrix }
    }
}
