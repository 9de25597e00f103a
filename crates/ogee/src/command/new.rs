//! `ogee new`: a design to start from.

use super::args::NewArgs;
use super::failure::Failure;
use super::{DONE, input, output};
use ogee_design::{Design, FamilyName};
use std::path::Path;

pub(super) fn run(args: &NewArgs) -> Result<u8, Failure> {
    let to = &args.to.to;
    output::refuse_existing(to, args.to.force)?;
    let mut design = of_family(args.family);
    let name = Path::new("the new design");
    input::override_fields(&mut design, name, &args.common.set)?;
    design.check().map_err(|faults| Failure::of_faults(name, faults))?;
    let text = design.to_json();
    let written = output::write(to, args.to.force, |out| Ok(out.write_all(text.as_bytes())?))?;
    if written.is_some() && !output::is_stdout(to) {
        let words =
            format!("{}: a design to start from, family {}", to.display(), design.shape.family.label());
        output::say(args.common.quiet || args.common.json, &words);
    }
    Ok(DONE)
}

/// The built-in sample in another family, with the parameter that the family needs.
fn of_family(family: FamilyName) -> Design {
    let mut design = Design::sample();
    design.shape.family = family;
    match family {
        FamilyName::ArcAndArm => design.shape.radius_um = Some(250.0),
        FamilyName::Clothoid => design.shape.plateau_share = Some(0.3),
        FamilyName::Sine | FamilyName::Arc | FamilyName::SineGenerated => {}
    }
    design
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_family_starts_from_a_possible_design() {
        for family in FamilyName::ALL {
            let design = of_family(family);
            assert_eq!(design.check().map(|_| ()), Ok(()), "{family:?}");
        }
    }
}
