//! Designs that a newcomer opens first; all their data are invented.

use ogee_design::Design;

/// A built-in design.
#[derive(Clone, Copy, Debug)]
pub struct Sample {
    /// Its name in the menu.
    pub name: &'static str,
    /// What it shows.
    pub about: &'static str,
    text: &'static str,
}

impl Sample {
    /// The design.
    pub fn design(&self) -> Design {
        Design::from_json(self.text).expect("the built-in samples are valid design files; a test reads them")
    }
}

/// All built-in designs; the first is shown at the first start.
pub const SAMPLES: &[Sample] = &[
    Sample {
        name: "Finger guide",
        about: "A light guide along a picking gripper's soft finger",
        text: include_str!("../../../../samples/finger-guide.ogee.json"),
    },
    Sample {
        name: "First guess",
        about: "A naive shape that fails, to see by how much and where",
        text: include_str!("../../../../samples/first-guess.ogee.json"),
    },
    Sample {
        name: "Touch link",
        about: "A filleted zigzag with long arms: few bends, gentle radii",
        text: include_str!("../../../../samples/touch-link.ogee.json"),
    },
    Sample {
        name: "Tip guide",
        about: "A glass core that bends in little room",
        text: include_str!("../../../../samples/tip-guide.ogee.json"),
    },
    Sample {
        name: "Supply trace",
        about: "A copper trace on foil, without light",
        text: include_str!("../../../../samples/supply-trace.ogee.json"),
    },
    Sample {
        name: "Guided touch",
        about: "A light guide and a signal trace on one ribbon",
        text: include_str!("../../../../samples/guided-touch.ogee.json"),
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_valid_and_marked_as_invented() {
        for sample in SAMPLES {
            assert!(sample.design().invented, "{}", sample.name);
        }
        assert_eq!(SAMPLES[0].design(), Design::sample());
    }
}
