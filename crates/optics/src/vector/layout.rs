//! Numbering of the unknowns on a tensor grid of elements, and what the walls take away.

use super::element::Field;

/// What bounds the window on one side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wall {
    /// Tangential E is zero.
    Electric,
    /// Tangential H is zero.
    Magnetic,
}

/// Walls at the low and the high end along u and z.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Walls {
    pub(super) u: [Wall; 2],
    pub(super) z: [Wall; 2],
}

/// Elements that share an unknown: inclusive ranges of columns and rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Support {
    columns: (u32, u32),
    rows: (u32, u32),
}

/// A rectangle of elements: `[columns.0, columns.1) × [rows.0, rows.1)`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Patch {
    pub(super) columns: (usize, usize),
    pub(super) rows: (usize, usize),
}

impl Patch {
    pub(super) fn contains(&self, support: &Support) -> bool {
        let within =
            |range: (u32, u32), own: (usize, usize)| range.0 as usize >= own.0 && (range.1 as usize) < own.1;
        within(support.columns, self.columns) && within(support.rows, self.rows)
    }

    /// Halves across the longer side; `None` for a single element.
    pub(super) fn halves(&self) -> Option<(Self, Self)> {
        let (columns, rows) = (self.columns.1 - self.columns.0, self.rows.1 - self.rows.0);
        if columns.max(rows) < 2 {
            return None;
        }
        let (mut low, mut high) = (*self, *self);
        if columns >= rows {
            let middle = self.columns.0 + columns / 2;
            low.columns.1 = middle;
            high.columns.0 = middle;
        } else {
            let middle = self.rows.0 + rows / 2;
            low.rows.1 = middle;
            high.rows.0 = middle;
        }
        Some((low, high))
    }
}

/// Unknown that a wall holds at zero.
const HELD: u32 = u32::MAX;

/// Numbers of all unknowns.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub(super) order: usize,
    pub(super) columns: usize,
    pub(super) rows: usize,
    /// By field, then along u, then along z.
    numbers: [Vec<u32>; 3],
    supports: Vec<Support>,
}

/// Elements that share function `index` of a line of `elements`; `nodal` or one by one.
fn shared(index: usize, nodal: bool, order: usize, elements: usize) -> (u32, u32) {
    let element = index / order;
    if !nodal {
        return (element as u32, element as u32);
    }
    let low = if index.is_multiple_of(order) { element.saturating_sub(1) } else { element };
    (low as u32, element.min(elements - 1) as u32)
}

impl Layout {
    pub(super) fn new(order: usize, columns: usize, rows: usize, walls: Walls) -> Self {
        let mut supports = Vec::new();
        let numbers = Field::ALL.map(|field| {
            let nodal_u = field != Field::AlongU;
            let nodal_z = field != Field::AlongZ;
            let count = |elements: usize, nodal: bool| elements * order + usize::from(nodal);
            let (along_u, along_z) = (count(columns, nodal_u), count(rows, nodal_z));
            let held = |index: usize, count: usize, nodal: bool, walls: [Wall; 2]| {
                nodal
                    && (index == 0 && walls[0] == Wall::Electric
                        || index + 1 == count && walls[1] == Wall::Electric)
            };
            let mut numbers = Vec::with_capacity(along_u * along_z);
            for i in 0..along_u {
                for j in 0..along_z {
                    if held(i, along_u, nodal_u, walls.u) || held(j, along_z, nodal_z, walls.z) {
                        numbers.push(HELD);
                    } else {
                        numbers.push(supports.len() as u32);
                        supports.push(Support {
                            columns: shared(i, nodal_u, order, columns),
                            rows: shared(j, nodal_z, order, rows),
                        });
                    }
                }
            }
            numbers
        });
        Self { order, columns, rows, numbers, supports }
    }

    /// How many unknowns.
    pub(super) fn len(&self) -> usize {
        self.supports.len()
    }

    pub(super) fn support(&self, unknown: u32) -> &Support {
        &self.supports[unknown as usize]
    }

    /// Number of the function (i, j) of a field, `None` where a wall holds it.
    pub(super) fn number(&self, field: Field, i: usize, j: usize) -> Option<usize> {
        let along_z = self.rows * self.order + usize::from(field != Field::AlongZ);
        let number = self.numbers[field as usize][i * along_z + j];
        (number != HELD).then_some(number as usize)
    }

    /// Unknowns of one element in its own order.
    pub(super) fn of_element(&self, column: usize, row: usize, unknowns: &mut Vec<Option<usize>>) {
        unknowns.clear();
        for field in Field::ALL {
            let (along_u, along_z) = field.counts(self.order);
            for i in 0..along_u {
                for j in 0..along_z {
                    unknowns.push(self.number(field, column * self.order + i, row * self.order + j));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Layout, Patch, Wall, Walls};

    #[test]
    fn unknowns_are_counted_and_shared_once() {
        let walls = Walls { u: [Wall::Magnetic; 2], z: [Wall::Magnetic; 2] };
        let layout = Layout::new(3, 4, 5, walls);
        // E_u: 12 × 16, E_z: 13 × 15, ψ: 13 × 16.
        assert_eq!(layout.len(), 12 * 16 + 13 * 15 + 13 * 16);
        let electric = Walls { u: [Wall::Electric; 2], z: [Wall::Electric; 2] };
        assert_eq!(Layout::new(3, 4, 5, electric).len(), 12 * 14 + 11 * 15 + 11 * 14);
        let whole = Patch { columns: (0, 4), rows: (0, 5) };
        assert!((0..layout.len()).all(|n| whole.contains(layout.support(n as u32))));
        let (low, high) = whole.halves().unwrap();
        let inside =
            |patch: &Patch| (0..layout.len()).filter(|&n| patch.contains(layout.support(n as u32))).count();
        // What both halves do not contain lies on the line between them: E_u 12, ψ 13.
        assert_eq!(layout.len() - inside(&low) - inside(&high), 12 + 13);
    }
}
