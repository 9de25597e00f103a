//! `ogee schema`: what the files hold, for editors and validators.

use super::args::SchemaArgs;
use super::failure::Failure;
use super::{DONE, output};

pub(super) fn run(args: &SchemaArgs) -> Result<u8, Failure> {
    let schema = if args.result { ogee_design::result_schema() } else { ogee_design::design_schema() };
    output::print_json(&schema)?;
    Ok(DONE)
}
