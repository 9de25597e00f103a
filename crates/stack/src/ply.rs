//! A stack as a list of plies: what bending about one axis sees of it.

use crate::{Field, Section};

/// One ply of a wide stack: a layer that is uniform across the width.
///
/// Nothing is checked before a ply is used; see [`PlyError`].
#[derive(Clone, Debug, PartialEq)]
pub struct Ply {
    /// Name, repeated in errors and notes.
    pub name: String,
    /// Thickness along z, µm.
    pub thickness_um: f64,
    /// Young's modulus, `MPa`.
    pub modulus_mpa: f64,
    /// Poisson's ratio, dimensionless, between −1 and 0.5.
    pub poisson: f64,
}

/// What is wrong with a list of plies.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PlyError {
    /// The list is empty.
    #[error("the stack has no ply; at least one is needed")]
    NoPlies,
    /// More plies than a stack may have.
    #[error("the stack has {count} plies; at most {limit} are allowed")]
    TooMany {
        /// How many there are.
        count: usize,
        /// How many there may be.
        limit: usize,
    },
    /// A value is infinite or not a number.
    #[error("{field} of ply {} ({name}) is {value}, not a finite number", ply + 1)]
    NotFinite {
        /// The ply, 0 at the bottom.
        ply: usize,
        /// Its name.
        name: String,
        /// Which value.
        field: Field,
        /// The value given.
        value: f64,
    },
    /// A thickness or modulus is zero or negative.
    #[error("{field} of ply {} ({name}) is {}; it must be above 0", ply + 1, field.text(*value))]
    NotPositive {
        /// The ply, 0 at the bottom.
        ply: usize,
        /// Its name.
        name: String,
        /// Which value.
        field: Field,
        /// The value given, in the field's unit.
        value: f64,
    },
    /// Poisson's ratio outside the open range from −1 to 0.5.
    #[error("Poisson's ratio of ply {} ({name}) is {value}; it must be above -1 and below 0.5", ply + 1)]
    Poisson {
        /// The ply, 0 at the bottom.
        ply: usize,
        /// Its name.
        name: String,
        /// The value given, dimensionless.
        value: f64,
    },
}

impl Ply {
    /// A ply; nothing is checked before it is used.
    pub fn new(name: impl Into<String>, thickness_um: f64, modulus_mpa: f64, poisson: f64) -> Self {
        Self { name: name.into(), thickness_um, modulus_mpa, poisson }
    }

    /// G = E/(2(1 + ν)), `MPa`.
    pub(crate) fn shear_mpa(&self) -> f64 {
        0.5 * self.modulus_mpa / (1.0 + self.poisson)
    }
}

/// The first fault of a list of plies.
pub(crate) fn check_plies(plies: &[Ply], limit: usize) -> Result<(), PlyError> {
    if plies.is_empty() {
        return Err(PlyError::NoPlies);
    }
    if plies.len() > limit {
        return Err(PlyError::TooMany { count: plies.len(), limit });
    }
    for (ply, content) in plies.iter().enumerate() {
        let name = || content.name.clone();
        for (field, value) in
            [(Field::Thickness, content.thickness_um), (Field::Modulus, content.modulus_mpa)]
        {
            if !value.is_finite() {
                return Err(PlyError::NotFinite { ply, name: name(), field, value });
            }
            if value <= 0.0 {
                return Err(PlyError::NotPositive { ply, name: name(), field, value });
            }
        }
        let value = content.poisson;
        if !value.is_finite() {
            return Err(PlyError::NotFinite { ply, name: name(), field: Field::Poisson, value });
        }
        if value <= -1.0 || value >= 0.5 {
            return Err(PlyError::Poisson { ply, name: name(), value });
        }
    }
    Ok(())
}

impl Section {
    /// The section's rows as plies across the whole ribbon's width, bottom to top: one per row, in the order of the rows.
    ///
    /// E = Σ E w/(width of the ribbon) over the row's pieces, so that E·t·width keeps each row's share of EA; ν is the
    /// pieces' mean weighted with E w. The name is the core's. Exact for rows of the full width; a row narrower than the
    /// ribbon is smeared over it, which keeps its stiffness but not the place of its edges.
    ///
    /// ```
    /// use ogee_stack::{Layer, Section};
    ///
    /// let carrier = Layer::new("carrier", 40.0, 10.0, 2500.0, 0.34);
    /// let trace = Layer::new("trace", 10.0, 1.0, 117_000.0, 0.34);
    /// let plies = Section::new(40.0, vec![carrier.into(), trace.into()])?.plies();
    /// assert_eq!((plies[0].modulus_mpa, plies[1].modulus_mpa), (2500.0, 117_000.0 / 4.0));
    /// # Ok::<(), ogee_stack::SectionError>(())
    /// ```
    #[must_use]
    pub fn plies(&self) -> Vec<Ply> {
        let rows = self.rectangles().chunk_by(|a, b| a.row == b.row);
        rows.map(|row| {
            let core = row.iter().find(|r| !r.is_filler).unwrap_or(&row[0]);
            let stiffness: f64 = row.iter().map(|r| r.modulus_mpa * r.width_um()).sum();
            let poisson: f64 = row.iter().map(|r| r.modulus_mpa * r.width_um() / stiffness * r.poisson).sum();
            Ply::new(core.name.clone(), core.thickness_um(), stiffness / self.width_um(), poisson)
        })
        .collect()
    }
}
