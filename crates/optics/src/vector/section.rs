//! A cross-section of rectangles.

use std::cmp::Ordering;

use crate::channel::Core;
use crate::error::{CoreSide, LightError, check_core, check_index, check_length, check_wavelength};

use super::layered::Layered;

/// A rectangle of one material; sides at infinity are allowed, so a layer is a rectangle too.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// From and to across the guide in the wafer plane, µm (left is larger).
    pub y_um: (f64, f64),
    /// From and to out of the wafer plane, µm.
    pub z_um: (f64, f64),
    /// Its material: a place in the list of indices.
    pub material: usize,
}

/// Cross-section of a light guide: rectangles of given refractive index in a background.
///
/// The material of highest index is the core; its widest part, where light is guided best, is "the core" from whose
/// middle bend radii are measured.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossSection {
    wavelength_um: f64,
    indices: Vec<f64>,
    background: usize,
    rectangles: Vec<Rectangle>,
    /// Interfaces, rising.
    pub(super) y_um: Vec<f64>,
    pub(super) z_um: Vec<f64>,
    /// Material of each cell, columns of rows: `[column * (z_um.len() + 1) + row]`.
    cells: Vec<usize>,
    /// Core columns and rows, inclusive.
    pub(super) core_columns: (usize, usize),
    pub(super) core_rows: (usize, usize),
}

/// Materials of [`CrossSection::of_core`], in the order of their confinement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(usize)]
pub enum CoreMaterial {
    /// What is beside the core.
    Side = 0,
    /// What is below.
    Below = 1,
    /// What is above.
    Above = 2,
    /// The core itself, and the film beside it for a rib.
    Core = 3,
}

/// Interfaces closer than this share of the wavelength are one.
const SAME_PLACE: f64 = 1e-9;
/// Interfaces per direction, as a stop against nonsense.
const MOST_INTERFACES: usize = 40;

impl CrossSection {
    /// A section from rectangles; later ones cover earlier ones, the background fills the rest.
    ///
    /// * `wavelength_um`: vacuum wavelength, µm;
    /// * `indices`: refractive index of each material (real);
    /// * `background`: which of them fills what no rectangle covers;
    /// * `rectangles`: at least one finite in both directions, or a film and a strip that make a core.
    ///
    /// # Errors
    /// [`LightError::Wavelength`]; [`LightError::Index`] for an index outside 1 to 10; [`LightError::Number`] for a
    /// material that is not in the list or too many interfaces; [`LightError::Length`] for a rectangle without
    /// extent; [`LightError::CoreBelowCladding`] when no material is above the others, or the one that is reaches to
    /// infinity as a half-space.
    pub fn new(
        wavelength_um: f64,
        indices: &[f64],
        background: usize,
        rectangles: &[Rectangle],
    ) -> Result<Self, LightError> {
        check_wavelength(wavelength_um)?;
        for &index in indices {
            check_index("a material", index)?;
        }
        for material in rectangles.iter().map(|rectangle| rectangle.material).chain([background]) {
            if material >= indices.len() {
                return Err(LightError::Number {
                    what: "material",
                    value: material as f64,
                    least: 0.0,
                    greatest: indices.len() as f64 - 1.0,
                });
            }
        }
        let (mut y_um, mut z_um) = (Vec::new(), Vec::new());
        for rectangle in rectangles {
            for (what, (from, to), line) in [
                ("width of a rectangle", rectangle.y_um, &mut y_um),
                ("height of a rectangle", rectangle.z_um, &mut z_um),
            ] {
                // A NaN is refused as well.
                if from.partial_cmp(&to) != Some(Ordering::Less) {
                    return Err(LightError::Length { what, value_um: to - from });
                }
                line.extend([from, to].into_iter().filter(|end| end.is_finite()));
            }
        }
        for line in [&mut y_um, &mut z_um] {
            line.sort_by(f64::total_cmp);
            line.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE * wavelength_um);
            if line.len() > MOST_INTERFACES {
                return Err(LightError::Number {
                    what: "number of interfaces in one direction",
                    value: line.len() as f64,
                    least: 0.0,
                    greatest: MOST_INTERFACES as f64,
                });
            }
        }
        let material_at = |y: f64, z: f64| {
            let covers = |rectangle: &&Rectangle| {
                (rectangle.y_um.0..rectangle.y_um.1).contains(&y)
                    && (rectangle.z_um.0..rectangle.z_um.1).contains(&z)
            };
            rectangles.iter().rev().find(covers).map_or(background, |rectangle| rectangle.material)
        };
        let cells = middles(&y_um)
            .iter()
            .flat_map(|&y| middles(&z_um).iter().map(|&z| material_at(y, z)).collect::<Vec<_>>())
            .collect();
        let mut section = Self {
            wavelength_um,
            indices: indices.to_vec(),
            background,
            rectangles: rectangles.to_vec(),
            y_um,
            z_um,
            cells,
            core_columns: (0, 0),
            core_rows: (0, 0),
        };
        section.find_core()?;
        Ok(section)
    }

    /// The section of a [`Core`]: y from its middle, z from its lower face; materials as in [`CoreMaterial`].
    ///
    /// # Errors
    /// As [`Core::check`].
    pub fn of_core(core: &Core) -> Result<Self, LightError> {
        core.check()?;
        let all = (f64::NEG_INFINITY, f64::INFINITY);
        let half = 0.5 * core.width_um;
        let rectangle =
            |y_um, z_um, material: CoreMaterial| Rectangle { y_um, z_um, material: material as usize };
        let mut rectangles = vec![
            rectangle(all, (f64::NEG_INFINITY, 0.0), CoreMaterial::Below),
            rectangle(all, (core.height_um, f64::INFINITY), CoreMaterial::Above),
        ];
        if let Some(slab_um) = core.side_slab_um.filter(|&slab_um| slab_um > 0.0) {
            rectangles.push(rectangle(all, (0.0, slab_um), CoreMaterial::Core));
        }
        rectangles.push(rectangle((-half, half), (0.0, core.height_um), CoreMaterial::Core));
        let indices = [core.n_side, core.n_below, core.n_above, core.n_core];
        Self::new(core.wavelength_um, &indices, CoreMaterial::Side as usize, &rectangles)
    }

    /// The same shapes at another wavelength, with the indices the materials have there.
    ///
    /// # Errors
    /// As [`CrossSection::new`].
    pub fn at_wavelength(&self, wavelength_um: f64, indices: &[f64]) -> Result<Self, LightError> {
        Self::new(wavelength_um, indices, self.background, &self.rectangles)
    }

    /// Vacuum wavelength, µm.
    pub fn wavelength_um(&self) -> f64 {
        self.wavelength_um
    }

    /// Refractive index of each material.
    pub fn indices(&self) -> &[f64] {
        &self.indices
    }

    /// Width of the core, µm.
    pub fn core_width_um(&self) -> f64 {
        self.y_um[self.core_columns.1] - self.y_um[self.core_columns.0 - 1]
    }

    /// y of the core's middle, µm.
    pub fn core_middle_um(&self) -> f64 {
        f64::midpoint(self.y_um[self.core_columns.1], self.y_um[self.core_columns.0 - 1])
    }

    /// z of the core's mid plane, µm.
    pub fn mid_plane_um(&self) -> f64 {
        f64::midpoint(self.z_um[self.core_rows.0 - 1], self.z_um[self.core_rows.1])
    }

    /// The rectangles it is made of.
    pub fn rectangles(&self) -> &[Rectangle] {
        &self.rectangles
    }

    pub(super) fn columns(&self) -> usize {
        self.y_um.len() + 1
    }

    pub(super) fn rows(&self) -> usize {
        self.z_um.len() + 1
    }

    pub(super) fn material(&self, column: usize, row: usize) -> usize {
        self.cells[column * self.rows() + row]
    }

    pub(super) fn index(&self, column: usize, row: usize) -> f64 {
        self.indices[self.material(column, row)]
    }

    /// The layers of one column, in units of `1/k₀`.
    pub(super) fn column_layers(&self, column: usize) -> Layered {
        let indices = (0..self.rows()).map(|row| self.index(column, row)).collect();
        Layered::new(indices, &self.z_um, self.k0())
    }

    pub(super) fn k0(&self) -> f64 {
        std::f64::consts::TAU / self.wavelength_um
    }

    /// Highest index of the core material.
    pub(super) fn core_index(&self) -> f64 {
        self.index(self.core_columns.0, self.core_rows.0)
    }

    /// Index that light can escape into sideways through the outermost column `column`: that of its slab mode, or its
    /// highest half-space.
    pub(super) fn escape_index(&self, column: usize) -> f64 {
        let below = self.index(column, 0);
        let above = self.index(column, self.rows() - 1);
        self.column_layers(column).mode(false, 0).unwrap_or(below.max(above))
    }

    /// Highest index that light can escape into, in any direction.
    pub(super) fn cladding_index(&self) -> f64 {
        let vertical = (0..self.columns())
            .flat_map(|column| [self.index(column, 0), self.index(column, self.rows() - 1)])
            .fold(1.0, f64::max);
        vertical.max(self.escape_index(0)).max(self.escape_index(self.columns() - 1))
    }

    /// Whether left and right are alike about the core's middle.
    pub(super) fn is_mirrored(&self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < SAME_PLACE.sqrt() * self.wavelength_um;
        let twice = 2.0 * self.core_middle_um();
        let lines = self.y_um.iter().zip(self.y_um.iter().rev()).all(|(a, b)| near(a + b, twice));
        let last = self.columns() - 1;
        lines
            && (0..self.columns()).all(|column| {
                (0..self.rows()).all(|row| self.index(column, row) == self.index(last - column, row))
            })
    }

    /// Whether below and above are alike about the core's mid plane.
    pub(super) fn is_upright(&self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < SAME_PLACE.sqrt() * self.wavelength_um;
        let twice = self.z_um[self.core_rows.0 - 1] + self.z_um[self.core_rows.1];
        let lines = self.z_um.iter().zip(self.z_um.iter().rev()).all(|(a, b)| near(a + b, twice));
        let last = self.rows() - 1;
        lines
            && (0..self.columns()).all(|column| {
                (0..self.rows()).all(|row| self.index(column, row) == self.index(column, last - row))
            })
    }

    fn find_core(&mut self) -> Result<(), LightError> {
        let highest = self.cells.iter().map(|&material| self.indices[material]).fold(0.0, f64::max);
        let n_cladding = self.index(0, 0).max(self.index(self.columns() - 1, self.rows() - 1));
        let refused =
            || LightError::CoreBelowCladding { n_core: highest, n_cladding, side: CoreSide::Beside };
        if self.y_um.len() < 2 || self.z_um.len() < 2 {
            return Err(refused());
        }
        for column in [0, self.columns() - 1] {
            for row in 0..self.rows() {
                let outermost = row == 0 || row + 1 == self.rows();
                check_outer(highest, self.index(column, row), outermost, CoreSide::Beside)?;
            }
        }
        for column in 0..self.columns() {
            check_core(highest, self.index(column, 0), CoreSide::Below)?;
            check_core(highest, self.index(column, self.rows() - 1), CoreSide::Above)?;
        }
        // Thickness of core material in each column; the thickest stretch of columns is the core.
        let thickness = |column: usize| -> f64 {
            (1..self.rows() - 1)
                .filter(|&row| self.index(column, row) == highest)
                .map(|row| self.z_um[row] - self.z_um[row - 1])
                .sum()
        };
        let most = (1..self.columns() - 1).map(thickness).fold(0.0, f64::max);
        let is_core = |column: usize| thickness(column) >= most * (1.0 - SAME_PLACE);
        let first = (1..self.columns() - 1).find(|&column| is_core(column)).ok_or_else(refused)?;
        let last = (first..self.columns() - 1).take_while(|&column| is_core(column)).last().unwrap_or(first);
        let in_core = |row: &usize| self.index(first, *row) == highest;
        let low = (1..self.rows() - 1).find(in_core).ok_or_else(refused)?;
        let high = (low..self.rows() - 1).take_while(in_core).last().unwrap_or(low);
        self.core_columns = (first, last);
        self.core_rows = (low, high);
        check_length("core width", self.core_width_um())
    }
}

/// A film of core material may reach to the sides (a rib), a half-space may not.
fn check_outer(n_core: f64, index: f64, outermost: bool, side: CoreSide) -> Result<(), LightError> {
    if outermost { check_core(n_core, index, side) } else { Ok(()) }
}

/// One place inside each interval between the interfaces, the outer ones included.
fn middles(line: &[f64]) -> Vec<f64> {
    let (Some(&first), Some(&last)) = (line.first(), line.last()) else {
        return vec![0.0];
    };
    let inner = line.windows(2).map(|pair| f64::midpoint(pair[0], pair[1]));
    [first - 1.0].into_iter().chain(inner).chain([last + 1.0]).collect()
}
