//! Maps as tables and pictures.

#![allow(clippy::unwrap_used, reason = "a test that cannot read what was written must fail")]

use ogee_design::{Caches, Design, MapField, MapGrid, MapSpec, MapWindow};
use ogee_exchange::{PictureOptions, write_map_csv, write_map_png};

/// A window that reaches into shapes that cannot be: tall and narrow ones, whose bends touch.
fn grid() -> MapGrid {
    let checked = Design::sample().check().unwrap();
    let window = MapWindow { amplitude_um: [100.0, 1200.0], pitch_um: [100.0, 2000.0] };
    let spec = MapSpec { window, columns: 8, rows: 6 };
    ogee_design::map(&checked, &spec, &mut Caches::default(), &|| true, &mut |_, _| {}).unwrap()
}

#[test]
fn the_table_holds_every_cell_and_says_why_one_is_empty() {
    let grid = grid();
    let mut bytes = Vec::new();
    let summary = write_map_csv(&mut bytes, &grid, &MapField::ALL).unwrap();
    let mut table = csv::Reader::from_reader(bytes.as_slice());
    let header = table.headers().unwrap().clone();
    assert_eq!(header.len(), MapField::ALL.len() + 3);
    assert_eq!((&header[0], &header[1], &header[header.len() - 1]), ("amplitude_um", "pitch_um", "reason"));
    let records: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    assert_eq!(records.len(), 48);
    assert_eq!(summary.cells, 48);
    let mut empty = 0;
    for (i, record) in records.iter().enumerate() {
        let (row, column) = (i / 8, i % 8);
        // Cell centres: six rows over 1100 µm, eight columns over 1900 µm.
        let amplitude = 100.0 + (row as f64 + 0.5) * 1100.0 / 6.0;
        let pitch = 100.0 + (column as f64 + 0.5) * 1900.0 / 8.0;
        assert!((record[0].parse::<f64>().unwrap() - amplitude).abs() < 1e-9);
        assert!((record[1].parse::<f64>().unwrap() - pitch).abs() < 1e-9);
        for (j, field) in MapField::ALL.into_iter().enumerate() {
            let value = grid.value(field, column, row);
            assert_eq!(
                record[j + 2].parse::<f32>().ok().map(f64::from),
                value,
                "{field:?} at {column}, {row}"
            );
        }
        let reason = &record[header.len() - 1];
        if (2..header.len() - 1).all(|j| record[j].is_empty()) {
            empty += 1;
            assert!(!reason.is_empty(), "cell {column}, {row} is empty without a reason");
        }
    }
    assert_eq!(summary.empty, empty);
    assert!(empty > 0 && empty < 48, "{empty} empty cells");
}

#[test]
fn the_picture_decodes_and_tells_the_range() {
    let grid = grid();
    for field in MapField::ALL {
        let mut bytes = Vec::new();
        let options = PictureOptions {
            title: "finger guide".to_owned(),
            mark_um: Some([400.0, 1200.0]),
            limit: Some(1.0),
        };
        let summary = write_map_png(&mut bytes, &grid, field, &options).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut dots = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut dots).unwrap();
        assert!(info.width > 512 && info.height > 512, "{info:?}");
        let values = || (0..48).filter_map(|i| grid.value(field, i % 8, i / 8));
        assert_eq!(summary.empty, 48 - values().count());
        let range = summary.range.unwrap();
        assert_eq!(range, [values().fold(f64::MAX, f64::min), values().fold(f64::MIN, f64::max)]);
    }
}
