//! `ogee map`: fields over amplitude and pitch.

use super::args::{CheckTier, MapArgs, MapFormat};
use super::failure::{Failure, Kind};
use super::{DONE, input, output};
use ogee_design::{Caches, Checked, MapField, MapGrid, MapSpec, refine_map};
use ogee_exchange::{PictureOptions, write_map_csv, write_map_png};
use serde::Serialize;
use std::io::{IsTerminal, Write};

/// What `--json` prints after a map was written to a file.
#[derive(Serialize)]
struct MapJson {
    schema: &'static str,
    version: u32,
    file: String,
    fields: Vec<&'static str>,
    columns: usize,
    rows: usize,
    amplitude_um: [f64; 2],
    pitch_um: [f64; 2],
    model: &'static str,
    cells: usize,
    empty: usize,
    range: Option<[f64; 2]>,
}

pub(super) fn run(args: &MapArgs) -> Result<u8, Failure> {
    let (to, common) = (&args.to.to, &args.common);
    let format = output::format_of(args.format, to)?;
    output::refuse_existing(to, args.to.force)?;
    let checked = input::read_checked(&args.file, &common.set)?;
    let design = checked.design();
    if let Some(field) = args.field.iter().find(|field| !field.is_available(&checked)) {
        let message = format!("the field {} needs light, and this design has none", field.id());
        return Err(Failure::of_file(Kind::Usage, &args.file, message));
    }
    let fields = fields(&args.field, format, &checked)?;
    let spec = MapSpec::of(design, args.size.0, args.size.1);
    let progress = Progress::new(common.quiet);
    let mut caches = Caches::default();
    let mut show = |_: &MapGrid, share| progress.show(share);
    let mut grid = ogee_design::map(&checked, &spec, &mut caches, &|| true, &mut show);
    if args.model == CheckTier::Full {
        // Every cell is solved or left empty: a table must not hold numbers that were interpolated.
        grid = grid
            .and_then(|live| refine_map(&checked, &live, 1, &mut caches, &|| true, &mut show))
            .map(MapGrid::solved_only);
    }
    progress.end();
    let Some(grid) = grid else {
        return Err(Failure::of_file(Kind::NoSolution, &args.file, "the map was not computed"));
    };
    let written = output::write(to, args.to.force, |out| match format {
        MapFormat::Csv => write_map_csv(out, &grid, &fields),
        MapFormat::Png => {
            let options = PictureOptions {
                title: match args.model {
                    CheckTier::Live => input::title(design, &args.file),
                    CheckTier::Full => format!("{}, full models", input::title(design, &args.file)),
                },
                mark_um: Some([design.shape.amplitude_um, design.shape.pitch_um]),
                limit: fields[0].limit(&checked),
            };
            write_map_png(out, &grid, fields[0], &options)
        }
    })?;
    let Some(summary) = written.filter(|_| !output::is_stdout(to)) else { return Ok(DONE) };
    if common.json {
        output::print_json(&MapJson {
            schema: "ogee-map",
            version: 1,
            file: to.display().to_string(),
            fields: fields.iter().map(|f| f.id()).collect(),
            columns: spec.columns,
            rows: spec.rows,
            amplitude_um: spec.window.amplitude_um,
            pitch_um: spec.window.pitch_um,
            model: grid.model().id(),
            cells: summary.cells,
            empty: summary.empty,
            range: summary.range,
        })?;
    } else {
        let words = format!(
            "{}: {} × {} cells, {} without a value",
            to.display(),
            spec.columns,
            spec.rows,
            summary.empty
        );
        output::say(common.quiet, &words);
    }
    Ok(DONE)
}

/// The fields to write: all for a table where none is named, one for a picture.
fn fields(named: &[MapField], format: MapFormat, checked: &Checked) -> Result<Vec<MapField>, Failure> {
    match (format, named) {
        (MapFormat::Csv, []) => Ok(MapField::ALL.into_iter().filter(|f| f.is_available(checked)).collect()),
        (MapFormat::Png, []) => Ok(vec![MapField::StrainMargin]),
        (MapFormat::Png, [_, _, ..]) => {
            Err(Failure::new(Kind::Usage, "a picture shows one field; name one, or write a table"))
        }
        (_, named) => Ok(named.to_vec()),
    }
}

/// A line of progress, on a terminal only.
struct Progress {
    shown: bool,
}

impl Progress {
    fn new(quiet: bool) -> Self {
        Self { shown: !quiet && std::io::stderr().is_terminal() }
    }

    fn show(&self, share: f32) {
        if self.shown {
            let mut out = std::io::stderr().lock();
            let _ = write!(out, "\rmap {:3.0} %", f64::from(share) * 100.0);
            let _ = out.flush();
        }
    }

    /// Clears the line, so that what follows starts on a clean one.
    fn end(&self) {
        if self.shown {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
    }
}
