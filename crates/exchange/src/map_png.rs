//! A map as a picture with axes and a labelled colour scale.

use crate::canvas::{Canvas, Colour, text_height, text_width};
use crate::colour_scale::{ColourScale, short};
use crate::error::ExchangeError;
use crate::summary::MapSummary;
use ogee_design::{MapField, MapGrid};
use std::io::Write;

const PAPER: Colour = [0xff, 0xfe, 0xfa];
const INK: Colour = [0x1d, 0x2b, 0x2e];
const VOID: Colour = [0xe4, 0xe2, 0xdb];
const HATCH: Colour = [0xb0, 0xad, 0xa4];

/// Dots of a letter's dot.
const TEXT: usize = 2;
/// Free border of the picture.
const BORDER: usize = 16;
/// Room between neighbouring parts.
const GAP: usize = 8;
/// Width of the colour scale.
const BAR: usize = 20;
/// The plotted area is at least about this wide and high.
const AREA: usize = 512;

/// What a picture of a map says beside its values.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PictureOptions {
    /// First line of the picture.
    pub title: String,
    /// Amplitude and pitch of the design to mark with a cross, µm.
    pub mark_um: Option<[f64; 2]>,
    /// Value that divides cells that pass from cells that do not, in the field's unit.
    pub limit: Option<f64>,
}

/// Writes one field of a map as a PNG picture.
///
/// Pitch runs to the right and amplitude upwards. Colours are perceptually uniform (cividis) and the scale at the right
/// carries numbers; margins are shown from 0 to 3, other fields over the range of nineteen
/// cells in twenty, logarithmic where that spans over two decades. A line parts the cells on
/// either side of the limit. Cells without a value are grey and hatched. The same map gives the same bytes.
///
/// # Errors
/// [`ExchangeError::EmptyMap`] without cells; [`ExchangeError::Write`] when `out` takes no more.
pub fn write_map_png<W: Write>(
    out: W,
    grid: &MapGrid,
    field: MapField,
    options: &PictureOptions,
) -> Result<MapSummary, ExchangeError> {
    let (columns, rows) = (grid.spec().columns, grid.spec().rows);
    let cells = columns * rows;
    if cells == 0 {
        return Err(ExchangeError::EmptyMap);
    }
    let mut values = Vec::with_capacity(cells);
    for row in 0..rows {
        values.extend((0..columns).map(|column| grid.value(field, column, row)));
    }
    let picture = MapPicture {
        columns,
        rows,
        values: &values,
        // Margins are the fields of which more is better.
        is_margin: field.more_is_better(),
        limit: options.limit,
        limit_words: options.limit.map(|limit| format!("line: {}", limit_words(field, limit))),
        title: &options.title,
        legend: with_unit(field.label(), field.unit()),
        amplitude_um: grid.spec().window.amplitude_um,
        pitch_um: grid.spec().window.pitch_um,
        mark_um: options.mark_um,
    };
    encode(out, &picture.draw())?;
    let empty = values.iter().filter(|value| value.is_none()).count();
    Ok(MapSummary { cells, empty, range: grid.range(field).map(|(low, high)| [low, high]) })
}

/// What the line of the limit is, such as `margin 1` or `3 dB`.
fn limit_words(field: MapField, limit: f64) -> String {
    match field.unit() {
        "" => format!("margin {}", short(limit)),
        unit => format!("{} {unit}", short(limit)),
    }
}

fn with_unit(label: &str, unit: &str) -> String {
    if unit.is_empty() { label.to_owned() } else { format!("{label} ({unit})") }
}

fn encode<W: Write>(out: W, canvas: &Canvas) -> Result<(), ExchangeError> {
    let mut encoder = png::Encoder::new(out, canvas.width() as u32, canvas.height() as u32);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(canvas.bytes())?;
    writer.finish()?;
    Ok(())
}

/// Everything that the drawing needs, free of the grid it came from.
struct MapPicture<'a> {
    columns: usize,
    rows: usize,
    /// Row by row, the least amplitude first.
    values: &'a [Option<f64>],
    is_margin: bool,
    limit: Option<f64>,
    limit_words: Option<String>,
    title: &'a str,
    legend: String,
    amplitude_um: [f64; 2],
    pitch_um: [f64; 2],
    mark_um: Option<[f64; 2]>,
}

/// Where the plotted area lies.
struct Area {
    x: usize,
    y: usize,
    cell: [usize; 2],
    width: usize,
    height: usize,
}

impl MapPicture<'_> {
    fn draw(&self) -> Canvas {
        let known: Vec<f64> = self.values.iter().flatten().copied().collect();
        let scale =
            if self.is_margin { ColourScale::of_margins(&known) } else { ColourScale::of_values(&known) };
        let labels = scale.labels();
        let line = text_height(TEXT) + GAP;
        let amplitudes = ticks(self.amplitude_um);
        let widest =
            |texts: &mut dyn Iterator<Item = &String>| texts.map(|t| text_width(t, TEXT)).max().unwrap_or(0);
        let left = widest(&mut amplitudes.iter().map(|t| &t.1));
        let right = widest(&mut labels.iter().map(|l| &l.1));
        let cell = [AREA.div_ceil(self.columns), AREA.div_ceil(self.rows)];
        let area = Area {
            x: BORDER + left + GAP,
            y: BORDER + 3 * line,
            cell,
            width: cell[0] * self.columns,
            height: cell[1] * self.rows,
        };
        let bar_x = area.x + area.width + 3 * GAP;
        let heading = text_width(self.title, TEXT)
            .max(text_width(&self.legend, TEXT))
            .max(text_width(&self.key(), TEXT));
        let width = (bar_x + BAR + GAP + right).max(BORDER + heading.min(4 * AREA)) + BORDER;
        let height = area.y + area.height + 3 * line + BORDER;
        let mut canvas = Canvas::new(width, height, PAPER);
        canvas.text(BORDER, BORDER, TEXT, self.title, INK);
        canvas.text(BORDER, BORDER + line, TEXT, &self.legend, INK);
        canvas.text(BORDER, BORDER + 2 * line, TEXT, "amplitude (µm)", INK);
        self.draw_cells(&mut canvas, &area, &scale);
        if let Some(limit) = self.limit {
            self.draw_limit(&mut canvas, &area, limit);
        }
        self.draw_mark(&mut canvas, &area);
        canvas.frame(area.x, area.y, area.width, area.height, INK);
        self.draw_axes(&mut canvas, &area, &amplitudes);
        for row in 0..area.height {
            let t = 1.0 - row as f64 / (area.height - 1).max(1) as f64;
            canvas.fill(bar_x, area.y + row, BAR, 1, ColourScale::colour(t));
        }
        canvas.frame(bar_x, area.y, BAR, area.height, INK);
        for (t, text) in &labels {
            let y = area.y + ((1.0 - t) * (area.height - 1) as f64).round() as usize;
            canvas.fill(bar_x + BAR, y, GAP / 2, 1, INK);
            canvas.text(bar_x + BAR + GAP, beside_line(y), TEXT, text, INK);
        }
        canvas.text(BORDER, area.y + area.height + 2 * line + GAP, TEXT, &self.key(), INK);
        canvas
    }

    /// What the marks mean, in words.
    fn key(&self) -> String {
        let mut parts = Vec::new();
        if self.mark_um.is_some() {
            parts.push("cross: the design");
        }
        parts.extend(self.limit_words.as_deref());
        if self.values.iter().any(Option::is_none) {
            parts.push("hatched: no value");
        }
        parts.join(", ")
    }

    fn value(&self, column: usize, row: usize) -> Option<f64> {
        self.values[row * self.columns + column]
    }

    fn draw_cells(&self, canvas: &mut Canvas, area: &Area, scale: &ColourScale) {
        for row in 0..self.rows {
            for column in 0..self.columns {
                let x = area.x + column * area.cell[0];
                let y = area.y + (self.rows - 1 - row) * area.cell[1];
                if let Some(value) = self.value(column, row) {
                    canvas.fill(x, y, area.cell[0], area.cell[1], ColourScale::colour(scale.position(value)));
                } else {
                    for (dx, dy) in (0..area.cell[0]).flat_map(|dx| (0..area.cell[1]).map(move |dy| (dx, dy)))
                    {
                        let on_line = (x + dx + y + dy) % 8 < 2;
                        canvas.dot(x + dx, y + dy, if on_line { HATCH } else { VOID });
                    }
                }
            }
        }
    }

    /// The border between cells that pass and cells that do not, as steps along the cells' edges.
    fn draw_limit(&self, canvas: &mut Canvas, area: &Area, limit: f64) {
        let passes = |column: usize, row: usize| self.value(column, row).map(|v| v >= limit);
        let differ = |a: Option<bool>, b: Option<bool>| a.zip(b).is_some_and(|(a, b)| a != b);
        for row in 0..self.rows {
            for column in 0..self.columns {
                let x = area.x + column * area.cell[0];
                let y = area.y + (self.rows - 1 - row) * area.cell[1];
                if column > 0 && differ(passes(column, row), passes(column - 1, row)) {
                    canvas.fill(x - 1, y, 2, area.cell[1], PAPER);
                    canvas.fill(x, y, 1, area.cell[1], INK);
                }
                if row + 1 < self.rows && differ(passes(column, row), passes(column, row + 1)) {
                    canvas.fill(x, y - 1, area.cell[0], 2, PAPER);
                    canvas.fill(x, y, area.cell[0], 1, INK);
                }
            }
        }
    }

    fn draw_mark(&self, canvas: &mut Canvas, area: &Area) {
        let Some([amplitude, pitch]) = self.mark_um else { return };
        let across = share(pitch, self.pitch_um);
        let up = share(amplitude, self.amplitude_um);
        if !(0.0..=1.0).contains(&across) || !(0.0..=1.0).contains(&up) {
            return;
        }
        let x = area.x + (across * (area.width - 1) as f64).round() as usize;
        let y = area.y + ((1.0 - up) * (area.height - 1) as f64).round() as usize;
        canvas.fill(x - 10, y - 2, 21, 5, PAPER);
        canvas.fill(x - 2, y - 10, 5, 21, PAPER);
        canvas.fill(x - 9, y - 1, 19, 3, INK);
        canvas.fill(x - 1, y - 9, 3, 19, INK);
    }

    fn draw_axes(&self, canvas: &mut Canvas, area: &Area, amplitudes: &[(f64, String)]) {
        for (value, text) in amplitudes {
            let up = share(*value, self.amplitude_um);
            let y = area.y + ((1.0 - up) * (area.height - 1) as f64).round() as usize;
            canvas.fill(area.x - GAP / 2, y, GAP / 2, 1, INK);
            canvas.text(area.x - GAP - text_width(text, TEXT), beside_line(y), TEXT, text, INK);
        }
        let bottom = area.y + area.height;
        for (value, text) in ticks(self.pitch_um) {
            let x = area.x + (share(value, self.pitch_um) * (area.width - 1) as f64).round() as usize;
            canvas.fill(x, bottom, 1, GAP / 2, INK);
            canvas.text(x.saturating_sub(text_width(&text, TEXT) / 2), bottom + GAP, TEXT, &text, INK);
        }
        let name = "pitch (µm)";
        let x = area.x + (area.width - text_width(name, TEXT)) / 2;
        canvas.text(x, bottom + 2 * GAP + text_height(TEXT), TEXT, name, INK);
    }
}

/// Top of a text whose capitals are centred on the line at `y`.
fn beside_line(y: usize) -> usize {
    y.saturating_sub(7 * TEXT / 2)
}

/// Where `value` lies in `range`, 0 to 1.
fn share(value: f64, range: [f64; 2]) -> f64 {
    if range[1] > range[0] { (value - range[0]) / (range[1] - range[0]) } else { 0.5 }
}

/// Round values inside `range`, about five.
fn ticks(range: [f64; 2]) -> Vec<(f64, String)> {
    let span = range[1] - range[0];
    if !(span.is_finite() && span > 0.0) {
        return vec![(range[0], short(range[0]))];
    }
    let rough = span / 5.0;
    let decade = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|m| m * decade).into_iter().find(|&s| s >= rough).unwrap_or(rough);
    let first = (range[0] / step - 1e-9).ceil() as i64;
    let last = (range[1] / step + 1e-9).floor() as i64;
    (first..=last).map(|i| i as f64 * step).map(|v| (v, tick_text(v, step))).collect()
}

/// As many decimals as the step has.
fn tick_text(value: f64, step: f64) -> String {
    let decimals = (-step.log10().floor()).max(0.0) as usize;
    format!("{value:.decimals$}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(values: &[Option<f64>]) -> MapPicture<'_> {
        MapPicture {
            columns: 3,
            rows: values.len() / 3,
            values,
            is_margin: true,
            limit: Some(1.0),
            limit_words: Some("line: margin 1".to_owned()),
            title: "test",
            legend: with_unit("strain margin", ""),
            amplitude_um: [100.0, 300.0],
            pitch_um: [400.0, 1200.0],
            mark_um: Some([200.0, 800.0]),
        }
    }

    #[test]
    fn least_amplitude_is_at_the_bottom_and_voids_are_hatched() {
        let values = [Some(0.0), Some(0.5), None, Some(2.0), Some(3.0), Some(9.0)];
        let canvas = picture(&values).draw();
        let dots: Vec<&[u8]> = canvas.bytes().chunks(3).collect();
        let count = |colour: Colour| dots.iter().filter(|d| **d == colour).count();
        let cell = AREA.div_ceil(3) * AREA.div_ceil(2);
        // The frame, the cross and the limit's line cover a few dots.
        let about = |n: usize, expected: usize| n.abs_diff(expected) < expected / 20;
        assert!(about(count(ColourScale::colour(0.0)), cell), "{}", count(ColourScale::colour(0.0)));
        assert!(about(count(HATCH) * 4, cell) && about(count(VOID) * 4, 3 * cell));
        // Top row: 2, 3 and a clipped 9, the last two in the same colour.
        assert!(about(count(ColourScale::colour(1.0)), 2 * cell));
        let row_of = |colour: Colour| dots.iter().position(|d| **d == colour).map(|i| i / canvas.width());
        assert!(row_of(ColourScale::colour(1.0)) < row_of(ColourScale::colour(0.0)));
    }

    #[test]
    fn ticks_are_round() {
        let texts = |range| ticks(range).into_iter().map(|t| t.1).collect::<Vec<_>>();
        assert_eq!(texts([150.0, 700.0]), ["200", "400", "600"]);
        assert_eq!(texts([0.1, 0.35]), ["0.10", "0.15", "0.20", "0.25", "0.30", "0.35"]);
        assert_eq!(texts([5.0, 5.0]), ["5"]);
    }

    #[test]
    fn the_same_map_gives_the_same_bytes_and_decodes() {
        let values = [Some(0.4), None, Some(1.7)];
        let canvas = picture(&values).draw();
        let mut bytes = Vec::new();
        encode(&mut bytes, &canvas).unwrap();
        let mut again = Vec::new();
        encode(&mut again, &picture(&values).draw()).unwrap();
        assert_eq!(bytes, again);
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut back = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut back).unwrap();
        assert_eq!(back, canvas.bytes());
    }
}
