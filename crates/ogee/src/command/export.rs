//! `ogee export`: the ribbon as a table of points or as a drawing.

use super::args::{ExportArgs, ExportFormat};
use super::failure::Failure;
use super::{DONE, input, output};
use ogee_exchange::{DrawingOptions, write_centreline_csv, write_centreline_svg};
use serde::Serialize;

/// What `--json` prints after an export to a file.
#[derive(Serialize)]
struct ExportJson<'a> {
    schema: &'static str,
    version: u32,
    file: String,
    format: &'a str,
    tolerance_um: f64,
    points: usize,
    largest_chord_error_um: f64,
    contour_length_um: f64,
}

pub(super) fn run(args: &ExportArgs) -> Result<u8, Failure> {
    let (to, common) = (&args.to.to, &args.common);
    let format = output::format_of(args.format, to)?;
    output::refuse_existing(to, args.to.force)?;
    let checked = input::read_checked(&args.file, &common.set)?;
    let (centreline, width_um) = (checked.centreline(), checked.width_um());
    let written = output::write(to, args.to.force, |out| match format {
        ExportFormat::Csv => write_centreline_csv(out, centreline, width_um, args.tolerance_um),
        ExportFormat::Svg => {
            let options = DrawingOptions {
                title: input::title(checked.design(), &args.file),
                tolerance_um: args.tolerance_um,
                scale_bar: !args.no_scale_bar,
            };
            write_centreline_svg(out, centreline, width_um, &options)
        }
    })?;
    let Some(summary) = written.filter(|_| !output::is_stdout(to)) else { return Ok(DONE) };
    if common.json {
        output::print_json(&ExportJson {
            schema: "ogee-export",
            version: 1,
            file: to.display().to_string(),
            format: match format {
                ExportFormat::Csv => "csv",
                ExportFormat::Svg => "svg",
            },
            tolerance_um: args.tolerance_um,
            points: summary.points,
            largest_chord_error_um: summary.largest_chord_error_um,
            contour_length_um: summary.contour_length_um,
        })?;
    } else {
        let words = format!(
            "{}: {} points, contour {} mm, chords off by {} nm at most",
            to.display(),
            summary.points,
            ogee_design::digits_text(summary.contour_length_um * 1e-3, 7),
            ogee_design::digits_text(summary.largest_chord_error_um * 1e3, 2),
        );
        output::say(common.quiet, &words);
    }
    Ok(DONE)
}
