//! Files written for every sample, read back, against the assessment of the same design.

use std::fs;
use std::path::Path;

use kurbo::{BezPath, ParamCurveArclen, Point};
use ogee_design::{Caches, Checked, Design, MapField, MapSpec, Tier, assess, map};
use ogee_exchange::{
    CENTRELINE_HEADER, DrawingOptions, USUAL_TOLERANCE_UM, write_centreline_csv, write_centreline_svg,
    write_map_csv,
};

const UM_PER_MM: f64 = 1000.0;
/// How closely a written length meets the assessment.
const LENGTH: f64 = 1e-6;

/// Every sample with the contour length of its assessment, µm.
fn samples() -> Vec<(String, Checked, f64)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the package lies in the workspace");
    let mut found = Vec::new();
    for entry in fs::read_dir(root.join("samples")).expect("the workspace has samples") {
        let path = entry.expect("a readable folder").path();
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        if !name.ends_with(".ogee.json") {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a readable file");
        let checked = Design::from_json(&text).and_then(|design| design.check());
        let checked = checked.unwrap_or_else(|faults| panic!("{name}: {faults:?}"));
        let assessment = assess(&checked, Tier::Live, &mut Caches::new(), &|| true);
        let assessment = assessment.unwrap_or_else(|why| panic!("{name}: {why}")).expect("nobody stopped it");
        found.push((name, checked, assessment.shape.contour_length_um));
    }
    assert!(found.len() >= 5, "only {} samples", found.len());
    found
}

/// Columns of a table of numbers.
fn columns(table: &str) -> Vec<Vec<f64>> {
    let mut columns = vec![Vec::new(); CENTRELINE_HEADER.split(',').count()];
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), columns.len(), "{line}");
        for (column, cell) in columns.iter_mut().zip(cells) {
            column.push(cell.parse().expect("a number"));
        }
    }
    columns
}

/// Twice the signed area of a polygon.
fn twice_area(corners: &[Point]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(a, b)| a.to_vec2().cross(b.to_vec2())).sum()
}

#[test]
fn a_written_table_has_the_assessed_contour() {
    for (name, checked, contour_um) in samples() {
        let mut bytes = Vec::new();
        let summary =
            write_centreline_csv(&mut bytes, checked.centreline(), checked.width_um(), USUAL_TOLERANCE_UM)
                .expect("memory takes everything");
        let table = String::from_utf8(bytes).expect("text");
        assert_eq!(table.lines().next(), Some(CENTRELINE_HEADER));
        let columns = columns(&table);
        let [s, x, y, phi_deg] = [0, 1, 2, 3].map(|index| &columns[index]);
        assert_eq!(s.len(), summary.points, "{name}");
        assert!((s.last().expect("rows") / contour_um - 1.0).abs() < LENGTH, "{name}: last s");
        assert!((summary.contour_length_um / contour_um - 1.0).abs() < LENGTH, "{name}: summary");
        // The length of the points themselves: an arc that turns by δ is longer than its chord by δ²/24.
        let mut length_um = 0.0;
        for i in 1..s.len() {
            let chord_um = (x[i] - x[i - 1]).hypot(y[i] - y[i - 1]);
            let turn = (phi_deg[i] - phi_deg[i - 1]).to_radians();
            length_um += chord_um * (1.0 + turn * turn / 24.0);
        }
        assert!(
            (length_um / contour_um - 1.0).abs() < LENGTH,
            "{name}: points, {length_um} and {contour_um}"
        );
    }
}

/// A ribbon of width w about a centreline of length L has the area w·L, whatever its bends.
#[test]
fn written_edges_enclose_width_times_contour() {
    for (name, checked, contour_um) in samples() {
        let mut bytes = Vec::new();
        write_centreline_csv(&mut bytes, checked.centreline(), checked.width_um(), USUAL_TOLERANCE_UM)
            .expect("memory takes everything");
        let columns = columns(&String::from_utf8(bytes).expect("text"));
        let points = |x: usize| columns[x].iter().zip(&columns[x + 1]).map(|(&x, &y)| Point::new(x, y));
        let outline: Vec<Point> = points(5).chain(points(7).rev()).collect();
        let area_um2 = 0.5 * twice_area(&outline).abs();
        let expected_um2 = checked.width_um() * contour_um;
        // Chords of both edges bulge the same way: what one gains the other loses, up to their difference in length.
        let allowed = 2.0 * USUAL_TOLERANCE_UM / checked.width_um();
        assert!((area_um2 / expected_um2 - 1.0).abs() < allowed, "{name}: {area_um2} and {expected_um2}");
    }
}

#[test]
fn a_written_drawing_has_the_assessed_contour() {
    for (name, checked, contour_um) in samples() {
        let mut bytes = Vec::new();
        let options =
            DrawingOptions { title: name.clone(), tolerance_um: USUAL_TOLERANCE_UM, scale_bar: true };
        let summary = write_centreline_svg(&mut bytes, checked.centreline(), checked.width_um(), &options)
            .expect("memory takes everything");
        let drawing = String::from_utf8(bytes).expect("text");
        let data = drawing
            .split_once("id=\"centreline\"")
            .and_then(|(_, rest)| rest.split_once(" d=\""))
            .and_then(|(_, rest)| rest.split_once('"'))
            .expect("a centreline with path data")
            .0;
        let path = BezPath::from_svg(data).expect("path data that can be read");
        let length_um: f64 = UM_PER_MM * path.segments().map(|segment| segment.arclen(1e-12)).sum::<f64>();
        assert!((length_um / contour_um - 1.0).abs() < LENGTH, "{name}: {length_um} and {contour_um}");
        assert!((summary.contour_length_um / length_um - 1.0).abs() < LENGTH, "{name}: summary");
    }
}

#[test]
fn a_written_map_holds_the_map() {
    for (name, checked, _) in samples() {
        let spec = MapSpec::of(checked.design(), 5, 4);
        let grid =
            map(&checked, &spec, &mut Caches::new(), &|| true, &mut |_, _| {}).expect("nobody stopped it");
        let fields: Vec<MapField> =
            MapField::ALL.into_iter().filter(|field| field.is_available(&checked)).collect();
        let mut bytes = Vec::new();
        let summary = write_map_csv(&mut bytes, &grid, &fields).expect("memory takes everything");
        let table = String::from_utf8(bytes).expect("text");
        assert_eq!(summary.cells, 20, "{name}");
        let mut lines = table.lines();
        let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
        assert_eq!(header.len(), fields.len() + 3, "{name}");
        let mut read = 0;
        for (index, line) in lines.enumerate() {
            let (row, column) = (index / 5, index % 5);
            // Reasons may hold commas: they come last.
            let cells: Vec<&str> = line.splitn(header.len(), ',').collect();
            let number = |text: &str| text.parse::<f64>().ok();
            assert_eq!(number(cells[0]), Some(spec.amplitude_um(row)), "{name}: {line}");
            assert_eq!(number(cells[1]), Some(spec.pitch_um(column)), "{name}: {line}");
            for (field, cell) in fields.iter().zip(&cells[2..]) {
                let single = grid.value(*field, column, row).map(|value| value as f32);
                assert_eq!(cell.parse::<f32>().ok(), single, "{name}: {field:?} in {line}");
            }
            assert_eq!(cells[header.len() - 1].is_empty(), grid.is_possible(column, row), "{name}: {line}");
            read += 1;
        }
        assert_eq!(read, 20, "{name}");
    }
}
