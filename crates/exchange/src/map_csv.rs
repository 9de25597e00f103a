//! A map as a table.

use crate::error::ExchangeError;
use crate::number::shortest;
use crate::summary::MapSummary;
use ogee_design::{MapField, MapGrid};
use std::io::Write;

/// Writes a map as comma-separated values, one row per cell.
///
/// Columns: `amplitude_um`, `pitch_um` of the cell's centre, then one per field, named by its `key`, then `reason`.
/// A field without a value in a cell is empty; where no ribbon of that shape exists, `reason` says why. Values have the
/// single precision that maps are kept in, about seven digits.
/// Rows run through the pitches of the least amplitude first.
///
/// # Errors
/// [`ExchangeError::EmptyMap`] without cells or fields; [`ExchangeError::Write`] when `out` takes no more.
pub fn write_map_csv<W: Write>(
    out: W,
    grid: &MapGrid,
    fields: &[MapField],
) -> Result<MapSummary, ExchangeError> {
    let cells = grid.spec().columns * grid.spec().rows;
    if cells == 0 || fields.is_empty() {
        return Err(ExchangeError::EmptyMap);
    }
    let mut table = csv::Writer::from_writer(out);
    let mut header = vec!["amplitude_um".to_owned(), "pitch_um".to_owned()];
    header.extend(fields.iter().map(|field| field.key().to_owned()));
    header.push("reason".to_owned());
    table.write_record(&header)?;
    let mut empty = 0;
    for row in 0..grid.spec().rows {
        for column in 0..grid.spec().columns {
            let mut record =
                vec![shortest(grid.spec().amplitude_um(row)), shortest(grid.spec().pitch_um(column))];
            let values: Vec<Option<f64>> =
                fields.iter().map(|&field| grid.value(field, column, row)).collect();
            if values.iter().all(Option::is_none) {
                empty += 1;
            }
            record.extend(values.into_iter().map(|value| value.map(single).unwrap_or_default()));
            record.push(grid.reason(column, row).unwrap_or_default());
            table.write_record(&record)?;
        }
    }
    table.flush()?;
    Ok(MapSummary { cells, empty, range: None })
}

/// The shortest digits for a value that a map keeps in single precision.
fn single(value: f64) -> String {
    let text = format!("{:?}", value as f32);
    match text.strip_suffix(".0") {
        Some(whole) => whole.to_owned(),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_have_no_digits_that_mean_nothing() {
        assert_eq!(single(f64::from(0.1_f32)), "0.1");
        assert_eq!(single(3.0), "3");
    }
}
