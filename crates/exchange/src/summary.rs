//! What was written, in numbers to check it by.

/// Figures of a written ribbon, measured on what was written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Points written: rows of a table, vertices and path points of a drawing.
    pub points: usize,
    /// Largest distance between a written chord and the curve that it stands for, centreline and edges, µm.
    pub largest_chord_error_um: f64,
    /// Contour length of the written centreline, leads included, µm.
    pub contour_length_um: f64,
}

/// Figures of a written map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapSummary {
    /// Cells written.
    pub cells: usize,
    /// Cells without a value, because no ribbon of that shape exists or the field has no value there.
    pub empty: usize,
    /// Least and greatest value of the field drawn; `None` for a table, or where every cell is empty.
    pub range: Option<[f64; 2]>,
}
