//! Tables and drawings of ribbons, read back by something other than their writers.

#![allow(clippy::unwrap_used, reason = "a test that cannot read what was written must fail")]

use kurbo::{BezPath, ParamCurveArclen, Point};
use ogee_exchange::{
    CENTRELINE_HEADER, DrawingOptions, ExchangeError, Summary, write_centreline_csv, write_centreline_svg,
};
use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};

const WIDTH_UM: f64 = 24.0;

fn families() -> [Family; 6] {
    [
        Family::Sine,
        Family::Arc,
        Family::ArcAndArm(ArmDrive::Radius { radius_um: 150.0 }),
        Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: 1.5 }),
        Family::SineGenerated,
        Family::Clothoid { plateau_share: 0.3 },
    ]
}

fn ribbon(family: Family, ends: Ends) -> Centreline {
    let quarter = Quarter::new(family, 1200.0, 400.0).unwrap();
    Centreline::new(quarter, 2, ends, 60.0, None).unwrap()
}

fn all_ribbons() -> impl Iterator<Item = (String, Centreline)> {
    let ends = [Ends::Crossing, Ends::Crest, Ends::Midline];
    families()
        .into_iter()
        .flat_map(move |family| ends.map(|ends| (format!("{family:?} {ends:?}"), ribbon(family, ends))))
}

fn table(ribbon: &Centreline, tolerance_um: f64) -> (Summary, Vec<Vec<f64>>, String) {
    let mut bytes = Vec::new();
    let summary = write_centreline_csv(&mut bytes, ribbon, WIDTH_UM, tolerance_um).unwrap();
    let text = String::from_utf8(bytes).unwrap();
    let rows =
        text.lines().skip(1).map(|line| line.split(',').map(|n| n.parse().unwrap()).collect()).collect();
    (summary, rows, text)
}

fn drawing(ribbon: &Centreline, scale_bar: bool) -> (Summary, String) {
    let mut bytes = Vec::new();
    let options = DrawingOptions { title: "a <b> & c".to_owned(), tolerance_um: 0.005, scale_bar };
    let summary = write_centreline_svg(&mut bytes, ribbon, WIDTH_UM, &options).unwrap();
    (summary, String::from_utf8(bytes).unwrap())
}

/// The value of `attribute` in the element with this id.
fn attribute<'a>(svg: &'a str, id: &str, attribute: &str) -> &'a str {
    let element = svg.split('<').find(|e| e.contains(&format!("id=\"{id}\""))).unwrap();
    element.split_once(&format!(" {attribute}=\"")).unwrap().1.split_once('"').unwrap().0
}

#[test]
fn the_tables_contour_is_the_ribbons() {
    for (name, ribbon) in all_ribbons() {
        let (summary, rows, text) = table(&ribbon, 0.005);
        assert_eq!(text.lines().next(), Some(CENTRELINE_HEADER));
        assert_eq!(rows.len(), summary.points);
        let expected = ribbon.contour_length_um();
        // Chords are a little short, arcs through the tangents are not.
        let run: f64 = rows.windows(2).map(|p| (p[1][1] - p[0][1]).hypot(p[1][2] - p[0][2])).sum();
        assert!(
            run <= expected && run > expected * (1.0 - 1e-4),
            "{name}: chords {run}, expected {expected}"
        );
        let arcs: f64 = rows
            .windows(2)
            .map(|p| {
                let half = 0.5 * (p[1][3] - p[0][3]).to_radians();
                let chord = (p[1][1] - p[0][1]).hypot(p[1][2] - p[0][2]);
                chord * if half == 0.0 { 1.0 } else { half / half.sin() }
            })
            .sum();
        assert!((arcs / expected - 1.0).abs() < 1e-6, "{name}: read back {arcs}, expected {expected}");
        assert!((summary.contour_length_um / expected - 1.0).abs() < 1e-6, "{name}: {summary:?}");
        let last = rows.last().unwrap();
        assert!((last[0] / expected - 1.0).abs() < 1e-12, "{name}: last s {}", last[0]);
        assert!(rows.windows(2).all(|p| p[1][0] > p[0][0]), "{name}: s does not rise");
    }
}

#[test]
fn the_tables_edges_stand_half_a_width_off_and_within_the_tolerance() {
    for (name, ribbon) in all_ribbons() {
        for tolerance_um in [0.5, 0.005] {
            let (summary, rows, _) = table(&ribbon, tolerance_um);
            assert!(summary.largest_chord_error_um <= tolerance_um * 1.001, "{name}: {summary:?}");
            assert!(
                summary.largest_chord_error_um > 0.05 * tolerance_um,
                "{name}: wastes points, {summary:?}"
            );
            for row in &rows {
                assert!(((row[5] - row[1]).hypot(row[6] - row[2]) - WIDTH_UM / 2.0).abs() < 1e-9, "{name}");
                assert!(((row[7] - row[5]).hypot(row[8] - row[6]) - WIDTH_UM).abs() < 1e-9, "{name}");
                let phi = row[3].to_radians();
                // The left edge is on the left: across the tangent, counter-clockwise.
                let across = (row[6] - row[2]) * phi.cos() - (row[5] - row[1]) * phi.sin();
                assert!((across - WIDTH_UM / 2.0).abs() < 1e-9, "{name}");
            }
            // The exact curve, between the rows, is nowhere further from the chords than the tolerance.
            for pair in rows.windows(2) {
                for share in [0.25, 0.5, 0.75] {
                    let point = ribbon.at(pair[0][0] + share * (pair[1][0] - pair[0][0]));
                    for side in [-1.0, 0.0, 1.0] {
                        let offset = side * WIDTH_UM / 2.0;
                        let x = point.x_um - offset * point.phi_rad.sin();
                        let y = point.y_um + offset * point.phi_rad.cos();
                        let at = |row: &[f64]| match side {
                            s if s > 0.0 => Point::new(row[5], row[6]),
                            s if s < 0.0 => Point::new(row[7], row[8]),
                            _ => Point::new(row[1], row[2]),
                        };
                        let (a, b) = (at(&pair[0]), at(&pair[1]));
                        let off = ((b - a).cross(Point::new(x, y) - a) / (b - a).hypot()).abs();
                        assert!(off <= tolerance_um * 1.001, "{name}: {off} at s = {}", point.s_um);
                    }
                }
            }
        }
    }
}

#[test]
fn the_drawings_contour_and_area_are_the_ribbons() {
    for (name, ribbon) in all_ribbons() {
        let (summary, svg) = drawing(&ribbon, true);
        let path = BezPath::from_svg(attribute(&svg, "centreline", "d")).unwrap();
        let length_um = 1000.0 * path.segments().map(|s| s.arclen(1e-12)).sum::<f64>();
        let expected = ribbon.contour_length_um();
        assert!(
            (length_um / expected - 1.0).abs() < 1e-6,
            "{name}: read back {length_um}, expected {expected}"
        );
        assert!((summary.contour_length_um / length_um - 1.0).abs() < 1e-9, "{name}: {summary:?}");
        let outline = BezPath::from_svg(attribute(&svg, "outline", "d")).unwrap();
        let area_um2 = 1e6 * kurbo::Shape::area(&outline).abs();
        assert!((area_um2 / (expected * WIDTH_UM) - 1.0).abs() < 1e-4, "{name}: area {area_um2}");
        // Both drawings lie on each other and y runs downwards.
        let (a, b) = (kurbo::Shape::bounding_box(&path), kurbo::Shape::bounding_box(&outline));
        assert!(b.union(a) == b, "{name}: {a:?} leaves {b:?}");
    }
}

#[test]
fn the_drawing_is_in_millimetres_with_fixed_decimals() {
    let ribbon = ribbon(Family::SineGenerated, Ends::Midline);
    let (_, svg) = drawing(&ribbon, true);
    let root = svg.lines().nth(1).unwrap();
    let number = |name: &str| root.split_once(&format!("{name}=\"")).unwrap().1.split_once('"').unwrap().0;
    let (width, height) = (number("width"), number("height"));
    let view: Vec<&str> = number("viewBox").split(' ').collect();
    assert_eq!([width, height], [format!("{}mm", view[2]), format!("{}mm", view[3])]);
    assert_eq!(view[..2], ["0", "0"]);
    let span_mm = ribbon.span_um() * 1e-3;
    let width_mm: f64 = view[2].parse().unwrap();
    assert!(width_mm > span_mm && width_mm < 1.3 * span_mm, "{width_mm} for a ribbon of {span_mm}");
    for id in ["outline", "centreline"] {
        for number in attribute(&svg, id, "d").split(|c: char| c.is_ascii_alphabetic() || c == ' ') {
            assert!(
                number.is_empty() || number.split_once('.').is_some_and(|(_, d)| d.len() == 6),
                "{id}: {number}"
            );
        }
    }
    assert_eq!(attribute(&svg, "outline", "fill-rule"), "evenodd");
    assert_eq!(attribute(&svg, "centreline", "fill"), "none");
    assert!(attribute(&svg, "centreline", "stroke-width").parse::<f64>().unwrap() > 0.0);
    assert!(svg.contains("<title>a &lt;b&gt; &amp; c</title>"));
    assert!(!svg.contains("transform") && !svg.contains("style"));
    // The first crest lies above the midline, so its number is the smaller one.
    let path = BezPath::from_svg(attribute(&svg, "centreline", "d")).unwrap();
    let bounds = kurbo::Shape::bounding_box(&path);
    let start = path.elements()[0].end_point().unwrap();
    assert!(
        (start.y - bounds.y0 - 0.4).abs() < 1e-5 && (bounds.y1 - start.y - 0.4).abs() < 1e-5,
        "{bounds:?}"
    );
    let described: String = svg.split_once("midline y = ").unwrap().1.chars().take(8).collect();
    assert!((described.parse::<f64>().unwrap() - start.y).abs() < 1e-9);
}

#[test]
fn the_scale_bar_is_as_long_as_it_says() {
    let (_, svg) = drawing(&ribbon(Family::Arc, Ends::Crossing), true);
    let bar = BezPath::from_svg(attribute(&svg, "scale-bar", "d")).unwrap();
    let text =
        svg.split_once("scale-bar-length").unwrap().1.split_once('>').unwrap().1.split_once('<').unwrap().0;
    assert_eq!(text, "200 µm");
    assert!((kurbo::Shape::bounding_box(&bar).width() - 0.2).abs() < 1e-9);
    let (_, plain) = drawing(&ribbon(Family::Arc, Ends::Crossing), false);
    assert!(!plain.contains("scale-bar"));
}

#[test]
fn the_same_ribbon_gives_the_same_bytes() {
    let ribbon = ribbon(Family::Sine, Ends::Crest);
    assert_eq!(drawing(&ribbon, true), drawing(&ribbon, true));
    assert_eq!(table(&ribbon, 0.01).2, table(&ribbon, 0.01).2);
}

#[test]
fn a_finer_tolerance_takes_more_points_by_its_root() {
    let ribbon = ribbon(Family::Arc, Ends::Crossing);
    let [coarse, fine] = [0.4, 0.004].map(|t| table(&ribbon, t).0.points as f64);
    assert!((fine / coarse - 10.0).abs() < 2.0, "{coarse} and {fine} points");
}

#[test]
fn impossible_tolerances_are_refused_before_writing() {
    let ribbon = ribbon(Family::Arc, Ends::Crossing);
    for tolerance_um in [0.0, -1.0, 1e-9, 1e3, f64::NAN, f64::INFINITY] {
        let mut out = Vec::new();
        let error = write_centreline_csv(&mut out, &ribbon, WIDTH_UM, tolerance_um).unwrap_err();
        assert!(matches!(error, ExchangeError::Tolerance { .. }), "{error}");
        assert!(out.is_empty());
    }
    let quarter = Quarter::new(Family::Arc, 1200.0, 400.0).unwrap();
    let long = Centreline::new(quarter, 10_000, Ends::Crossing, 0.0, None).unwrap();
    let error = write_centreline_csv(Vec::new(), &long, WIDTH_UM, 1e-6).unwrap_err();
    let ExchangeError::TooManyPoints { least_tolerance_um, .. } = error else { panic!("{error}") };
    assert!(error.to_string().contains("at least"));
    assert!(least_tolerance_um > 1e-6 && least_tolerance_um < 1.0);
}

/// Takes a few bytes, then no more.
struct Full(usize);

impl std::io::Write for Full {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0 = self.0.checked_sub(bytes.len()).ok_or(std::io::ErrorKind::StorageFull)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_is_an_error() {
    let ribbon = ribbon(Family::Arc, Ends::Crossing);
    let options = DrawingOptions { title: String::new(), tolerance_um: 0.005, scale_bar: true };
    for room in [0, 10_000] {
        let csv = write_centreline_csv(Full(room), &ribbon, WIDTH_UM, 0.005).unwrap_err();
        let svg = write_centreline_svg(Full(room), &ribbon, WIDTH_UM, &options).unwrap_err();
        for error in [csv, svg] {
            assert!(
                matches!(&error, ExchangeError::Write(e) if e.kind() == std::io::ErrorKind::StorageFull),
                "{error}"
            );
        }
    }
}
