//! What can be typed.

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use ogee_design::{Dimension, FamilyName, MapField, Tier, Unit, parse_quantity};
use std::ffi::OsString;
use std::path::PathBuf;

/// Shape a stretchable ribbon: strain, light loss and fit.
#[derive(Debug, Parser)]
#[command(
    name = "ogee",
    version,
    args_conflicts_with_subcommands = true,
    after_help = "Without a verb the window opens, with FILE where one is given.\n\n\
        Exit codes: 0 done, 1 a margin is below 1, 2 usage or invalid input, 3 no solution, 4 output not written.\n\n\
        Example:\n  ogee check samples/finger-guide.ogee.json"
)]
pub(super) struct Args {
    /// Design to open in the window
    pub(super) file: Option<PathBuf>,
    /// What to do without the window.
    #[command(subcommand)]
    pub(super) verb: Option<Verb>,
}

/// What to do without the window.
#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Judge designs: every margin with its value, limit, place and model
    #[command(
        after_help = "Exit code 1 says that a margin is below 1. Several designs give one JSON list.\n\n\
        Examples:\n  ogee check samples/finger-guide.ogee.json\n  \
        ogee check --json --set shape.amplitude_um=420 samples/finger-guide.ogee.json\n  \
        ogee check --set support.kind=bonded samples/finger-guide.ogee.json\n  \
        ogee check --tier live samples/finger-guide.ogee.json\n  \
        ogee check --set \"stack.layers.core.width_um=1.4 µm\" samples/finger-guide.ogee.json"
    )]
    Check(CheckArgs),
    /// Compute fields over amplitude and pitch, as a table or a picture
    #[command(after_help = "Examples:\n  \
        ogee map samples/finger-guide.ogee.json --size 24x24 --to map.csv\n  \
        ogee map samples/finger-guide.ogee.json --field all-limits --size 24x24 --to map.png\n  \
        ogee map samples/finger-guide.ogee.json --field strain-margin --model full --size 24x24 --to full.png")]
    Map(MapArgs),
    /// Write the ribbon as a table of points or as a drawing
    #[command(after_help = "Examples:\n  \
        ogee export samples/finger-guide.ogee.json --to ribbon.svg\n  \
        ogee export samples/supply-trace.ogee.json --to ribbon.csv --tolerance-um 0.05")]
    Export(ExportArgs),
    /// Write a new design to start from
    #[command(after_help = "Example:\n  ogee new --family clothoid --to clothoid.ogee.json")]
    New(NewArgs),
    /// Print the JSON Schema of the design file or of the result
    #[command(after_help = "Example:\n  ogee schema --result")]
    Schema(SchemaArgs),
}

/// Options of every verb that reads or makes a design.
#[derive(Clone, Debug, Default, ClapArgs)]
pub(super) struct Common {
    /// Override a field of the design; numbers take units, layers go by number or name
    #[arg(long = "set", value_name = "FIELD=VALUE", value_parser = assignment)]
    pub(super) set: Vec<(String, String)>,
    /// Print results as JSON on standard output and errors as JSON on standard error
    #[arg(long)]
    pub(super) json: bool,
    /// Say nothing but errors
    #[arg(long, short)]
    pub(super) quiet: bool,
}

/// Where to write, and whether over an existing file.
#[derive(Clone, Debug, ClapArgs)]
pub(super) struct To {
    /// File to write, or - for standard output
    #[arg(long, value_name = "FILE")]
    pub(super) to: PathBuf,
    /// Write over an existing file
    #[arg(long)]
    pub(super) force: bool,
}

/// `ogee check`
#[derive(Debug, ClapArgs)]
pub(super) struct CheckArgs {
    /// Designs to judge, or - for standard input
    #[arg(required = true, value_name = "FILE")]
    pub(super) files: Vec<PathBuf>,
    /// How deep to go
    #[arg(long, value_name = "TIER", default_value = "full")]
    pub(super) tier: CheckTier,
    /// Shared options.
    #[command(flatten)]
    pub(super) common: Common,
}

/// How deep an assessment or a map goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum CheckTier {
    /// The estimate that the window shows while something is dragged, in milliseconds.
    Live,
    /// Whole ribbon, buckled or bonded; up to some tenths of a second a design.
    Full,
}

impl From<CheckTier> for Tier {
    fn from(tier: CheckTier) -> Self {
        match tier {
            CheckTier::Live => Self::Live,
            CheckTier::Full => Self::Full,
        }
    }
}

/// `ogee map`
#[derive(Debug, ClapArgs)]
pub(super) struct MapArgs {
    /// Design whose neighbourhood is computed, or - for standard input
    pub(super) file: PathBuf,
    /// Field to write; may be repeated for a table, which holds all fields where none is named
    #[arg(long, value_name = "FIELD", value_parser = map_field)]
    pub(super) field: Vec<MapField>,
    /// Cells along pitch x amplitude
    #[arg(long, value_name = "COLUMNSxROWS", default_value = "128x128", value_parser = map_size)]
    pub(super) size: (usize, usize),
    /// By which models the strain is computed, cell by cell
    #[arg(long, value_name = "MODEL", default_value = "live")]
    pub(super) model: CheckTier,
    /// Format, where the ending of the output does not tell
    #[arg(long, value_name = "FORMAT")]
    pub(super) format: Option<MapFormat>,
    /// Output.
    #[command(flatten)]
    pub(super) to: To,
    /// Shared options.
    #[command(flatten)]
    pub(super) common: Common,
}

/// Formats of a map.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum MapFormat {
    /// Table, one row per cell.
    Csv,
    /// Picture with a labelled colour scale.
    Png,
}

/// `ogee export`
#[derive(Debug, ClapArgs)]
pub(super) struct ExportArgs {
    /// Design to write, or - for standard input
    pub(super) file: PathBuf,
    /// Largest distance between what is written and the ribbon, µm or with a unit
    #[arg(long, value_name = "LENGTH", default_value = "0.005", value_parser = length_um)]
    pub(super) tolerance_um: f64,
    /// Leave the scale bar out of a drawing
    #[arg(long)]
    pub(super) no_scale_bar: bool,
    /// Format, where the ending of the output does not tell
    #[arg(long, value_name = "FORMAT")]
    pub(super) format: Option<ExportFormat>,
    /// Output.
    #[command(flatten)]
    pub(super) to: To,
    /// Shared options.
    #[command(flatten)]
    pub(super) common: Common,
}

/// Formats of a ribbon.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum ExportFormat {
    /// Table of points with tangent, curvature and edges.
    Csv,
    /// Drawing in millimetres.
    Svg,
}

/// `ogee new`
#[derive(Debug, ClapArgs)]
pub(super) struct NewArgs {
    /// Meander family
    #[arg(long, value_name = "FAMILY", default_value = "sine-generated", value_parser = family)]
    pub(super) family: FamilyName,
    /// Output.
    #[command(flatten)]
    pub(super) to: To,
    /// Shared options.
    #[command(flatten)]
    pub(super) common: Common,
}

/// `ogee schema`
#[derive(Debug, ClapArgs)]
pub(super) struct SchemaArgs {
    /// The schema of the result of `ogee check --json` instead of the design file's
    #[arg(long)]
    pub(super) result: bool,
}

/// Whether `--json` stands on a command line that could not be parsed.
pub(super) fn wants_json(words: &[OsString]) -> bool {
    words.iter().any(|word| word == "--json")
}

fn assignment(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((field, value)) if !field.trim().is_empty() => {
            Ok((field.trim().to_owned(), value.trim().to_owned()))
        }
        _ => Err("FIELD=VALUE is expected, such as shape.pitch_um=900".to_owned()),
    }
}

/// Most cells of a map along one axis.
const MOST_CELLS: usize = 1024;

fn map_size(text: &str) -> Result<(usize, usize), String> {
    let sides =
        text.split_once(['x', '×']).and_then(|(a, b)| Some((a.trim().parse().ok()?, b.trim().parse().ok()?)));
    match sides {
        Some((columns, rows)) if [columns, rows].iter().all(|n| (2..=MOST_CELLS).contains(n)) => {
            Ok((columns, rows))
        }
        _ => Err(format!("COLUMNSxROWS is expected, such as 128x128, from 2 to {MOST_CELLS} each")),
    }
}

fn map_field(text: &str) -> Result<MapField, String> {
    MapField::ALL.into_iter().find(|field| field.id() == text).ok_or_else(|| {
        let ids: Vec<&str> = MapField::ALL.into_iter().map(MapField::id).collect();
        format!("one of {} is expected", ids.join(", "))
    })
}

fn length_um(text: &str) -> Result<f64, String> {
    parse_quantity(text, Dimension::Length, Unit::MICROMETRE).map_err(|error| error.to_string())
}

fn family(text: &str) -> Result<FamilyName, String> {
    serde_json::from_value(serde_json::Value::String(text.to_owned())).map_err(|_| {
        let name = |family| serde_json::to_value(family).ok().and_then(|v| v.as_str().map(str::to_owned));
        let names: Vec<String> = FamilyName::ALL.into_iter().filter_map(name).collect();
        format!("one of {} is expected", names.join(", "))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_sound() {
        Args::command().debug_assert();
    }

    #[test]
    fn sizes_and_assignments() {
        assert_eq!(map_size("12x30"), Ok((12, 30)));
        assert!(map_size("12").is_err() && map_size("1x5").is_err() && map_size("5x2000").is_err());
        assert_eq!(assignment("a = 3 µm"), Ok(("a".to_owned(), "3 µm".to_owned())));
        assert!(assignment("a").is_err() && assignment("=3").is_err());
        assert_eq!(length_um("5 nm"), Ok(0.005));
        assert!(family("zigzag").is_err());
    }
}
