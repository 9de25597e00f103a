//! Torsion of a layered section.

mod grid;
mod series;

use std::fmt;

use crate::{Rectangle, Section};

/// Edges closer than this share of the section's width are one.
const ROUNDING: f64 = 1e-9;

/// Torsion stiffness GJ of a section with what is known about its accuracy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Torsion {
    /// GJ, µN·µm²: the moment per angle of twist per length.
    pub value_un_um2: f64,
    /// Lower end of the range in which GJ is expected, µN·µm².
    pub lower_un_um2: f64,
    /// Upper end of the range, µN·µm².
    pub upper_un_um2: f64,
    /// How it was found.
    pub note: TorsionNote,
}

/// How the torsion stiffness was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum TorsionNote {
    /// Layers of the full width: the series.
    Exact,
    /// Rows of several pieces in a rectangle.
    Pieces,
    /// An outline that is not a rectangle.
    Outline,
}

impl fmt::Display for TorsionNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Exact => "layers of the full width: exact series",
            Self::Pieces => {
                "rows of several pieces: solved on a grid; the range reaches to the series with every row's shear \
                 modulus averaged over its width, arithmetically and harmonically"
            }
            Self::Outline => "outline that is not a rectangle: solved on two grids, the range is their difference",
        })
    }
}

/// A row as torsion sees it: pieces of one shear modulus, from right to left.
#[derive(Clone, Debug)]
struct TorsionRow {
    thickness_um: f64,
    pieces: Vec<Piece>,
}

#[derive(Clone, Copy, Debug)]
struct Piece {
    y0_um: f64,
    y1_um: f64,
    shear_mpa: f64,
}

impl TorsionRow {
    fn right_um(&self) -> f64 {
        self.pieces[0].y0_um
    }

    fn left_um(&self) -> f64 {
        self.pieces[self.pieces.len() - 1].y1_um
    }

    /// Arithmetic and harmonic mean of the shear modulus over the width.
    fn means_mpa(&self) -> [f64; 2] {
        let width_um = self.left_um() - self.right_um();
        let sum = |value: fn(f64) -> f64| -> f64 {
            self.pieces.iter().map(|p| (p.y1_um - p.y0_um) * value(p.shear_mpa)).sum()
        };
        [sum(|g| g) / width_um, width_um / sum(|g| 1.0 / g)]
    }
}

fn shear_mpa(rectangle: &Rectangle) -> f64 {
    0.5 * rectangle.modulus_mpa / (1.0 + rectangle.poisson)
}

impl Section {
    /// GJ: stiffness against twist, µN·µm².
    ///
    /// Saint-Venant's torsion: the stress function φ with ∇·(∇φ/G) = −2 and φ = 0 on the outline, GJ = 2∫φ, G = E/(2(1 + ν))
    /// of every piece, free warping.
    ///
    /// * Layers of the full width: a sine series across the width, good to 1e-6; some 20 µs.
    /// * Rows of several pieces, or an outline that is not a rectangle: finite volumes on two grids whose lines follow all
    ///   edges, extrapolated; within 2e-4 for the sections tested; some 1 ms for four rows, more for many. For rows of several
    ///   pieces in a rectangle, the range shows also what the series gives with averaged rows.
    ///
    /// Adding up the parts' own GJ would be up to 50 % too low, the thin plate's formula up to 20 times too high with a soft
    /// core.
    ///
    /// # Source
    /// Saint-Venant's problem in Prandtl's form, as in Timoshenko and Goodier, Theory of Elasticity; the series for layers is
    /// derived in the docs of its module.
    ///
    /// ```
    /// use ogee_stack::{Layer, Section};
    ///
    /// // A square of side a has 0.140577 a⁴ G; G = 1000 MPa here.
    /// let square = Section::new(2.0, vec![Layer::new("a square", 2.0, 2.0, 2000.0, 0.0).into()])?;
    /// assert!((square.torsion_un_um2().value_un_um2 / 16_000.0 - 0.140577).abs() < 1e-6);
    /// # Ok::<(), ogee_stack::SectionError>(())
    /// ```
    pub fn torsion_un_um2(&self) -> Torsion {
        let rows = self.torsion_rows();
        let (right_um, left_um) = (rows[0].right_um(), rows[0].left_um());
        let is_rectangle = self.is_rectangle(&rows);
        let series = |mean: usize| {
            let layers: Vec<_> = rows.iter().map(|row| (row.thickness_um, row.means_mpa()[mean])).collect();
            series::torsion(left_um - right_um, &layers)
        };
        if is_rectangle && rows.iter().all(|row| row.pieces.len() == 1) {
            let value = series(0);
            return Torsion {
                value_un_um2: value,
                lower_un_um2: value,
                upper_un_um2: value,
                note: TorsionNote::Exact,
            };
        }
        let [fine, value] = grid::torsion(&rows, ROUNDING * self.width_um());
        // The finer grid is on one side of the truth; what was added to it is taken as the error.
        let beyond = value + (value - fine);
        let (mut lower, mut upper) = (fine.min(beyond), fine.max(beyond));
        let mut note = TorsionNote::Outline;
        if is_rectangle {
            note = TorsionNote::Pieces;
            for mean in [series(0), series(1)] {
                (lower, upper) = (lower.min(mean), upper.max(mean));
            }
        }
        Torsion { value_un_um2: value, lower_un_um2: lower, upper_un_um2: upper, note }
    }

    /// Greatest shear strain at the middle of the width over twist, µm: γ is this times the angle of twist per length.
    ///
    /// The greatest over both faces and all interfaces. In a section of one material, at least as wide as thick, it is the
    /// greatest of the whole section. In a laminate a soft layer may shear more at its edges, where it lets stiff layers slide.
    /// `None` for sections other than layers of the full width.
    ///
    /// # Source
    /// Saint-Venant's torsion, from the same series as [`Self::torsion_un_um2`].
    ///
    /// ```
    /// use ogee_stack::{Layer, Section};
    ///
    /// // A thin strip has γ = t at its faces.
    /// let strip = Section::new(40.0, vec![Layer::new("strip", 40.0, 2.0, 2000.0, 0.0).into()])?;
    /// assert!((strip.twist_shear_um().unwrap_or_default() - 2.0).abs() < 1e-6);
    /// # Ok::<(), ogee_stack::SectionError>(())
    /// ```
    pub fn twist_shear_um(&self) -> Option<f64> {
        let rows = self.torsion_rows();
        if !self.is_rectangle(&rows) || rows.iter().any(|row| row.pieces.len() > 1) {
            return None;
        }
        let layers: Vec<_> = rows.iter().map(|row| (row.thickness_um, row.pieces[0].shear_mpa)).collect();
        let shear_um = series::middle_shear_um(rows[0].left_um() - rows[0].right_um(), &layers);
        Some(shear_um.into_iter().map(f64::abs).fold(0.0, f64::max))
    }

    /// Whether all rows begin and end at the same y.
    fn is_rectangle(&self, rows: &[TorsionRow]) -> bool {
        let is_close = |a_um: f64, b_um: f64| (a_um - b_um).abs() <= ROUNDING * self.width_um();
        rows.iter().all(|row| {
            is_close(row.right_um(), rows[0].right_um()) && is_close(row.left_um(), rows[0].left_um())
        })
    }

    /// ν of the section as a whole, dimensionless: the mean of the pieces' ratios weighted with E·A.
    ///
    /// A ribbon pulled along contracts across by about this much: exact for one material, between the least and the greatest
    /// ratio otherwise. It serves where one number has to stand for the stack, as in the law of a ribbon whose section may curve
    /// across its width; it is not the ratio of bending, in which outer layers count for more.
    ///
    /// ```
    /// use ogee_stack::{Layer, Section};
    ///
    /// let glass = Layer::new("glass", 10.0, 1.0, 72_000.0, 0.17);
    /// let polymer = Layer::new("polymer", 10.0, 4.0, 3000.0, 0.34);
    /// let section = Section::new(10.0, vec![polymer.into(), glass.into()])?;
    /// assert!((section.poisson() - (12.0 * 0.34 + 72.0 * 0.17) / 84.0).abs() < 1e-12);
    /// # Ok::<(), ogee_stack::SectionError>(())
    /// ```
    pub fn poisson(&self) -> f64 {
        let stiffness = |r: &Rectangle| r.modulus_mpa * r.area_um2();
        let sum: f64 = self.rectangles().iter().map(stiffness).sum();
        self.rectangles().iter().map(|r| stiffness(r) / sum * r.poisson).sum()
    }

    fn torsion_rows(&self) -> Vec<TorsionRow> {
        let mut rows: Vec<TorsionRow> = Vec::new();
        let mut last = None;
        for rectangle in self.rectangles() {
            let (y0_um, y1_um, shear_mpa) = (rectangle.y0_um, rectangle.y1_um, shear_mpa(rectangle));
            if last != Some(rectangle.row) {
                rows.push(TorsionRow { thickness_um: rectangle.thickness_um(), pieces: Vec::new() });
                last = Some(rectangle.row);
            }
            let pieces = &mut rows.last_mut().expect("a row was just begun").pieces;
            match pieces.last_mut() {
                Some(piece) if piece.shear_mpa == shear_mpa => piece.y1_um = y1_um,
                _ => pieces.push(Piece { y0_um, y1_um, shear_mpa }),
            }
        }
        rows
    }
}
