//! The centreline as a table.

use crate::error::ExchangeError;
use crate::number::shortest;
use crate::samples::Samples;
use crate::summary::Summary;
use ogee_geometry::Centreline;
use std::io::Write;

/// Header of the centreline table.
pub const CENTRELINE_HEADER: &str =
    "s_um,x_um,y_um,phi_deg,kappa_per_um,left_x_um,left_y_um,right_x_um,right_y_um";

/// Writes the centreline with both edges as comma-separated values.
///
/// One row per point: distance along the ribbon, position, tangent angle from +x, curvature (counter-clockwise
/// positive), left edge, right edge; [`CENTRELINE_HEADER`] names the columns with their units. UTF-8, `.` as the
/// decimal sign, no comment lines, the shortest digits that read back exactly. Where the curvature jumps, the row holds
/// its value on one side of the jump.
///
/// * `width_um`: width of the ribbon. `tolerance_um`: largest distance between any chord and its curve, 1e-6 to 100.
///
/// # Errors
/// [`ExchangeError::Tolerance`] or [`ExchangeError::TooManyPoints`] before anything is written;
/// [`ExchangeError::Write`] when `out` takes no more.
pub fn write_centreline_csv<W: Write>(
    out: W,
    centreline: &Centreline,
    width_um: f64,
    tolerance_um: f64,
) -> Result<Summary, ExchangeError> {
    let samples = Samples::new(centreline, width_um, tolerance_um)?;
    let mut table = csv::Writer::from_writer(out);
    table.write_record(CENTRELINE_HEADER.split(','))?;
    for point in &samples.points {
        let (left, right) = (samples.left(point), samples.right(point));
        let row = [
            point.s_um,
            point.x_um,
            point.y_um,
            point.phi_rad.to_degrees(),
            point.kappa_per_um,
            left.x,
            left.y,
            right.x,
            right.y,
        ];
        table.write_record(row.map(shortest))?;
    }
    table.flush()?;
    Ok(Summary {
        points: samples.points.len(),
        largest_chord_error_um: samples.largest_chord_error_um(),
        contour_length_um: samples.contour_length_um(),
    })
}
