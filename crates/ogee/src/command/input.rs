//! From a file name to a checked design.

use super::failure::{Failure, Kind, file_name, reason};
use ogee_design::{Checked, Design};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// One byte more than the largest design file that is read.
const MOST_BYTES: u64 = (16 << 20) + 1;

/// Reads the design in `file` (`-` is standard input), with the overrides of `--set`.
pub(super) fn read(file: &Path, set: &[(String, String)]) -> Result<Design, Failure> {
    let unreadable = |error: std::io::Error| {
        Failure::of_file(Kind::UnreadableInput, file, format!("the file cannot be read: {}", reason(&error)))
    };
    let mut bytes = Vec::new();
    // A little more than a design may have, so that an endless stream ends and a long one is told by the parser.
    if file.as_os_str() == "-" {
        std::io::stdin().lock().take(MOST_BYTES).read_to_end(&mut bytes).map_err(unreadable)?;
    } else {
        File::open(file).and_then(|f| f.take(MOST_BYTES).read_to_end(&mut bytes)).map_err(unreadable)?;
    }
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::of_file(Kind::UnreadableInput, file, "the file is not text in UTF-8"))?;
    let mut design = Design::from_json(&text).map_err(|faults| Failure::of_faults(file, faults))?;
    override_fields(&mut design, file, set)?;
    Ok(design)
}

/// Applies `--set`, in the order given.
pub(super) fn override_fields(
    design: &mut Design,
    file: &Path,
    set: &[(String, String)],
) -> Result<(), Failure> {
    let faults: Vec<_> = set.iter().filter_map(|(path, text)| design.set_text(path, text).err()).collect();
    if faults.is_empty() { Ok(()) } else { Err(Failure::of_faults(file, faults)) }
}

/// Reads and checks the design in `file`.
pub(super) fn read_checked(file: &Path, set: &[(String, String)]) -> Result<Checked, Failure> {
    read(file, set)?.check().map_err(|faults| Failure::of_faults(file, faults))
}

/// A title for tables and drawings: the design's name, or the file's where it has none.
pub(super) fn title(design: &Design, file: &Path) -> String {
    let mut title = if design.name.trim().is_empty() { file_name(file) } else { design.name.clone() };
    if design.invented {
        title.push_str(" (invented data)");
    }
    title
}
