//! The ribbon as a drawing for laser cutters, plotters and papers.

use crate::error::ExchangeError;
use crate::number::{millimetres, nanometres};
use crate::samples::Samples;
use crate::summary::Summary;
use kurbo::{BezPath, PathEl, Point, Rect};
use ogee_geometry::Centreline;
use std::io::{BufWriter, Write};

/// How the drawing is made.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawingOptions {
    /// Title of the drawing.
    pub title: String,
    /// Largest distance between the drawing and the ribbon, µm, 1e-6 to 100.
    pub tolerance_um: f64,
    /// Whether a scale bar with its length stands under the ribbon.
    pub scale_bar: bool,
}

/// Writes outline and centreline as a scalable drawing in millimetres.
///
/// The outline is a filled polygon, the centreline a thin unfilled path of cubics. One unit of the drawing is 1 mm:
/// `width` and `height` are in mm and the `viewBox` has the same numbers, from 0 0. The drawing's y runs downwards, so
/// the numbers are flipped, not a transform. Six fixed decimals (1 nm), no exponents, no style sheet. The
/// description tells where the ribbon's own origin lies.
///
/// * `width_um`: width of the ribbon.
///
/// # Errors
/// [`ExchangeError::Tolerance`], [`ExchangeError::TooManyPoints`] or [`ExchangeError::OutOfReach`] before anything is
/// written; [`ExchangeError::Write`] when `out` takes no more.
///
/// # Source
/// Scalable Vector Graphics (SVG) 1.1, second edition, W3C 2011: coordinate systems (chapter 7), path data (chapter 8).
pub fn write_centreline_svg<W: Write>(
    out: W,
    centreline: &Centreline,
    width_um: f64,
    options: &DrawingOptions,
) -> Result<Summary, ExchangeError> {
    let samples = Samples::new(centreline, width_um, options.tolerance_um)?;
    // Cubics cost little, so the thin line follows the curve far closer than the polygon has to.
    let path = centreline.to_path((0.1 * options.tolerance_um).min(1e-3));
    let left = samples.points.iter().map(|p| samples.left(p));
    let right = samples.points.iter().rev().map(|p| samples.right(p));
    let outline: Vec<Point> = left.chain(right).collect();
    let sheet = Sheet::around(&outline, width_um, options.scale_bar)?;

    let mut polygon: Vec<[i64; 2]> = Vec::with_capacity(outline.len());
    for &point in &outline {
        let rounded = sheet.place(point)?;
        if polygon.last() != Some(&rounded) {
            polygon.push(rounded);
        }
    }
    if polygon.len() > 1 && polygon.first() == polygon.last() {
        polygon.pop();
    }
    let (elements, written) = sheet.place_path(&path)?;

    let mut out = BufWriter::new(out);
    let (w, h) = (millimetres(sheet.size[0]), millimetres(sheet.size[1]));
    let origin = sheet.place(Point::ZERO)?;
    writeln!(out, r#"<?xml version="1.0" encoding="UTF-8"?>"#)?;
    writeln!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}">"#
    )?;
    writeln!(out, "<title>{}</title>", escaped(&options.title))?;
    writeln!(
        out,
        "<desc>One unit is 1 mm. The ribbon starts at x = {} on the midline y = {}.</desc>",
        millimetres(origin[0]),
        millimetres(origin[1])
    )?;
    write!(out, r##"<path id="outline" fill="#8fb0b3" fill-rule="evenodd" stroke="none" d=""##)?;
    for (i, point) in polygon.iter().enumerate() {
        let letter = if i == 0 { 'M' } else { 'L' };
        write!(out, "{letter}{} {}", millimetres(point[0]), millimetres(point[1]))?;
    }
    writeln!(out, r#"Z"/>"#)?;
    let stroke = millimetres(nanometres((0.02 * width_um).clamp(0.1, 10.0))?);
    write!(out, r##"<path id="centreline" fill="none" stroke="#10363c" stroke-width="{stroke}" d=""##)?;
    for (letter, points) in &elements {
        write!(out, "{letter}")?;
        for (i, point) in points.iter().enumerate() {
            let gap = if i == 0 { "" } else { " " };
            write!(out, "{gap}{} {}", millimetres(point[0]), millimetres(point[1]))?;
        }
    }
    writeln!(out, r#""/>"#)?;
    if let Some(bar) = &sheet.bar {
        bar.write(&mut out)?;
    }
    writeln!(out, "</svg>")?;
    out.flush()?;
    Ok(Summary {
        points: polygon.len() + elements.iter().map(|(_, points)| points.len()).sum::<usize>(),
        largest_chord_error_um: samples.largest_chord_error_um(),
        contour_length_um: written.segments().map(|s| kurbo::ParamCurveArclen::arclen(&s, 1e-9)).sum::<f64>()
            * 1e-3,
    })
}

/// The rectangle drawn on: from ribbon coordinates in µm to whole nanometres with y downwards.
struct Sheet {
    left_um: f64,
    top_um: f64,
    size: [i64; 2],
    bar: Option<ScaleBar>,
}

type Element = (char, Vec<[i64; 2]>);

impl Sheet {
    fn around(outline: &[Point], width_um: f64, scale_bar: bool) -> Result<Self, ExchangeError> {
        let bounds = outline.iter().fold(None, |bounds: Option<Rect>, &p| {
            Some(bounds.map_or(Rect::from_points(p, p), |b| b.union_pt(p)))
        });
        let bounds = bounds.unwrap_or(Rect::ZERO);
        // A margin on the sheet, rounded to whole micrometres so that the origin is a plain number.
        let margin = (0.03 * bounds.width().max(bounds.height())).max(width_um).ceil();
        let (left_um, top_um) = (bounds.x0.floor() - margin, bounds.y1.ceil() + margin);
        let mut height_um = (top_um - bounds.y0 + margin).ceil();
        let width_um = (bounds.x1 - left_um + margin).ceil();
        let bar = if scale_bar {
            let bar = ScaleBar::under(margin, height_um, bounds.width());
            height_um += bar.room_um();
            Some(bar)
        } else {
            None
        };
        Ok(Self { left_um, top_um, size: [nanometres(width_um)?, nanometres(height_um)?], bar })
    }

    fn place(&self, point: Point) -> Result<[i64; 2], ExchangeError> {
        Ok([nanometres(point.x - self.left_um)?, nanometres(self.top_um - point.y)?])
    }

    /// The elements of `path` on the sheet, and the same path in nanometres as written.
    fn place_path(&self, path: &BezPath) -> Result<(Vec<Element>, BezPath), ExchangeError> {
        let mut elements = Vec::with_capacity(path.elements().len());
        let mut written = BezPath::new();
        let back = |p: [i64; 2]| Point::new(p[0] as f64, p[1] as f64);
        for element in path.elements() {
            let (letter, points) = match *element {
                PathEl::MoveTo(p) => ('M', vec![p]),
                PathEl::LineTo(p) => ('L', vec![p]),
                PathEl::QuadTo(p, q) => ('Q', vec![p, q]),
                PathEl::CurveTo(p, q, r) => ('C', vec![p, q, r]),
                PathEl::ClosePath => ('Z', vec![]),
            };
            let points = points.into_iter().map(|p| self.place(p)).collect::<Result<Vec<_>, _>>()?;
            written.push(match *points.as_slice() {
                [p] if letter == 'M' => PathEl::MoveTo(back(p)),
                [p] => PathEl::LineTo(back(p)),
                [p, q] => PathEl::QuadTo(back(p), back(q)),
                [p, q, r] => PathEl::CurveTo(back(p), back(q), back(r)),
                _ => PathEl::ClosePath,
            });
            elements.push((letter, points));
        }
        Ok((elements, written))
    }
}

/// A bar of a round length with its length in words.
struct ScaleBar {
    /// Its top left corner on the sheet, µm.
    corner: Point,
    length_um: f64,
    thickness_um: f64,
}

impl ScaleBar {
    /// A bar of about a fifth of `ribbon_um`, its left end at `x_um`, below `y_um`.
    fn under(x_um: f64, y_um: f64, ribbon_um: f64) -> Self {
        let length_um = round_length(0.2 * ribbon_um);
        Self { corner: Point::new(x_um, y_um), length_um, thickness_um: 0.02 * length_um }
    }

    fn text_um(&self) -> f64 {
        0.14 * self.length_um
    }

    fn room_um(&self) -> f64 {
        (2.0 * self.thickness_um + 2.0 * self.text_um()).ceil()
    }

    fn write(&self, out: &mut impl Write) -> Result<(), ExchangeError> {
        let mm = |um: f64| nanometres(um).map(millimetres);
        let (x, y) = (mm(self.corner.x)?, mm(self.corner.y)?);
        let (across, down) = (mm(self.corner.x + self.length_um)?, mm(self.corner.y + self.thickness_um)?);
        writeln!(
            out,
            r##"<path id="scale-bar" fill="#10363c" stroke="none" d="M{x} {y}L{across} {y}L{across} {down}L{x} {down}Z"/>"##
        )?;
        writeln!(
            out,
            r##"<text id="scale-bar-length" x="{x}" y="{}" font-family="sans-serif" font-size="{}" fill="#10363c">{}</text>"##,
            mm(self.corner.y + 2.0 * self.thickness_um + self.text_um())?,
            mm(self.text_um())?,
            length_words(self.length_um)
        )?;
        Ok(())
    }
}

/// The next of 1, 2, 5 times a power of ten at or below `value_um`.
fn round_length(value_um: f64) -> f64 {
    let decade = 10f64.powf(value_um.max(1e-3).log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|m| m * decade).find(|&l| l <= value_um * (1.0 + 1e-12)).unwrap_or(decade)
}

fn length_words(length_um: f64) -> String {
    if length_um >= 1000.0 {
        format!("{} mm", ogee_design::number_text(length_um * 1e-3))
    } else {
        format!("{} µm", ogee_design::number_text(length_um))
    }
}

/// `text` for a place between tags: markup escaped, control characters left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            // Not allowed in XML 1.0 in any spelling.
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_lengths_are_one_two_five() {
        assert_eq!(round_length(1234.0), 1000.0);
        assert_eq!(round_length(999.0), 500.0);
        assert_eq!(round_length(500.0), 500.0);
        assert_eq!(round_length(0.21), 0.2);
        assert_eq!(length_words(2000.0), "2 mm");
        assert_eq!(length_words(50.0), "50 µm");
    }

    #[test]
    fn markup_is_escaped() {
        assert_eq!(escaped("a<b> & \"c\"\u{7}"), "a&lt;b&gt; &amp; \"c\" ");
    }
}
