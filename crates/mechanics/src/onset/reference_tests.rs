//! Onsets against those of an independent computation with normalised-quaternion elements in space.

#![expect(clippy::unreadable_literal, reason = "tables of computed numbers")]

use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};

use super::Symmetry::{self, Even, Odd};
use crate::{EndMotion, OnsetProblem, OutOfPlane, RibbonSolver, SectionLaw, Strips, onset};

struct Case {
    name: &'static str,
    family: Family,
    pitch_um: f64,
    amplitude_um: f64,
    periods: u32,
    width_um: f64,
    thickness_um: f64,
    modulus_mpa: f64,
    poisson: f64,
    bending: f64,
    torsion: f64,
    plate: f64,
    up_to: f64,
    onsets: &'static [(f64, Symmetry)],
    ribbon_law: Option<(f64, Symmetry)>,
}

impl Case {
    fn line(&self) -> Centreline {
        let quarter = Quarter::new(self.family, self.pitch_um, self.amplitude_um).unwrap();
        Centreline::new(quarter, self.periods, Ends::Crossing, 0.0, None).unwrap()
    }

    fn strips(&self) -> Strips {
        Strips::new(&[(self.modulus_mpa * self.thickness_um, self.width_um)]).unwrap()
    }

    fn out(&self, law: SectionLaw) -> OutOfPlane {
        let plate = if law == SectionLaw::Rod { 1.0 } else { self.plate };
        OutOfPlane {
            bending_un_um2: self.bending / plate,
            torsion_un_um2: self.torsion,
            ..OutOfPlane::homogeneous(self.width_um, self.thickness_um, self.modulus_mpa, self.poisson)
                .unwrap()
        }
        .with_law(law)
    }
}

const fn arm(radius_um: f64) -> Family {
    Family::ArcAndArm(ArmDrive::Radius { radius_um })
}

const fn tilted(tilt_deg: f64) -> Family {
    Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: tilt_deg.to_radians() })
}

#[rustfmt::skip]
const CASES: [Case; 16] = [
    Case { name: "arc-n1-wt5", family: Family::Arc, pitch_um: 100.0, amplitude_um: 25.0, periods: 1, width_um: 5.0, thickness_um: 1.0, modulus_mpa: 2500.0, poisson: 0.34, bending: 1041.666667, torsion: 1358.753518, plate: 1.0, up_to: 0.375, onsets: &[(0.06784807, Odd), (0.09069325, Even)], ribbon_law: Some((0.06855391, Odd)) },
    Case { name: "arc-n2-wt10", family: Family::Arc, pitch_um: 100.0, amplitude_um: 20.0, periods: 2, width_um: 4.0, thickness_um: 0.4, modulus_mpa: 250000.0, poisson: 0.23, bending: 5631.225143, torsion: 8125.52943, plate: 1.055854714, up_to: 0.3125, onsets: &[(0.009417342, Odd), (0.01376715, Even)], ribbon_law: Some((0.009249909, Odd)) },
    Case { name: "arc-n1-wt1", family: Family::Arc, pitch_um: 120.0, amplitude_um: 30.0, periods: 1, width_um: 4.0, thickness_um: 4.0, modulus_mpa: 2500.0, poisson: 0.34, bending: 53333.33333, torsion: 33570.63047, plate: 1.0, up_to: 0.375, onsets: &[], ribbon_law: None },
    Case { name: "arc-n4-wt20", family: Family::Arc, pitch_um: 100.0, amplitude_um: 35.0, periods: 4, width_um: 4.0, thickness_um: 0.2, modulus_mpa: 250000.0, poisson: 0.23, bending: 703.9031429, torsion: 1049.851009, plate: 1.055854714, up_to: 0.5, onsets: &[(0.003195737, Odd), (0.003428751, Even)], ribbon_law: Some((0.003129843, Odd)) },
    Case { name: "arm-n1-wt10", family: tilted(90.0), pitch_um: 100.0, amplitude_um: 50.0, periods: 1, width_um: 5.0, thickness_um: 0.5, modulus_mpa: 2500.0, poisson: 0.34, bending: 147.2278758, torsion: 182.0924892, plate: 1.130710086, up_to: 0.5, onsets: &[(0.0264703, Odd), (0.03513282, Even)], ribbon_law: Some((0.02516908, Odd)) },
    Case { name: "arm-n2-wt5", family: arm(20.0), pitch_um: 80.0, amplitude_um: 60.0, periods: 2, width_um: 4.0, thickness_um: 0.8, modulus_mpa: 2000.0, poisson: 0.22, bending: 341.3333333, torsion: 489.0300923, plate: 1.0, up_to: 0.75, onsets: &[(0.05245705, Odd), (0.1116496, Even)], ribbon_law: Some((0.05246094, Odd)) },
    Case { name: "arm-n1-wt20", family: tilted(70.0), pitch_um: 100.0, amplitude_um: 40.0, periods: 1, width_um: 6.0, thickness_um: 0.3, modulus_mpa: 165000.0, poisson: 0.22, bending: 2340.794451, torsion: 3536.567265, plate: 1.050861707, up_to: 0.5, onsets: &[(0.005473562, Odd), (0.00639016, Even)], ribbon_law: Some((0.005371566, Odd)) },
    Case { name: "arm-n4-wt5", family: arm(22.0), pitch_um: 120.0, amplitude_um: 45.0, periods: 4, width_um: 5.0, thickness_um: 1.0, modulus_mpa: 119000.0, poisson: 0.34, bending: 49583.33333, torsion: 64676.66745, plate: 1.0, up_to: 0.5, onsets: &[(0.04446481, Odd), (0.04764861, Even)], ribbon_law: Some((0.04448611, Odd)) },
    Case { name: "sine-n1-wt10", family: Family::Sine, pitch_um: 100.0, amplitude_um: 40.0, periods: 1, width_um: 5.0, thickness_um: 0.5, modulus_mpa: 2500.0, poisson: 0.34, bending: 147.2278758, torsion: 182.0924892, plate: 1.130710086, up_to: 0.5, onsets: &[(0.02007228, Odd), (0.02359433, Even)], ribbon_law: Some((0.01907672, Odd)) },
    Case { name: "sine-n2-wt5", family: Family::Sine, pitch_um: 100.0, amplitude_um: 30.0, periods: 2, width_um: 5.0, thickness_um: 1.0, modulus_mpa: 2500.0, poisson: 0.34, bending: 1041.666667, torsion: 1358.753518, plate: 1.0, up_to: 0.5567, onsets: &[(0.03381891, Odd), (0.05182734, Even)], ribbon_law: Some((0.03385353, Odd)) },
    Case { name: "sine-n4-wt20", family: Family::Sine, pitch_um: 100.0, amplitude_um: 25.0, periods: 4, width_um: 6.0, thickness_um: 0.3, modulus_mpa: 250000.0, poisson: 0.23, bending: 3563.509661, torsion: 5314.870735, plate: 1.055854714, up_to: 0.4173, onsets: &[(0.002530437, Odd), (0.002678738, Even)], ribbon_law: Some((0.00245796, Odd)) },
    Case { name: "sine-n1-wt2", family: Family::Sine, pitch_um: 100.0, amplitude_um: 50.0, periods: 1, width_um: 3.0, thickness_um: 1.5, modulus_mpa: 2500.0, poisson: 0.34, bending: 2109.375, torsion: 2159.889908, plate: 1.0, up_to: 0.75, onsets: &[(0.5161127, Odd), (0.6691259, Even)], ribbon_law: None },
    Case { name: "sg-n1-wt5", family: Family::SineGenerated, pitch_um: 100.0, amplitude_um: 50.0, periods: 1, width_um: 5.0, thickness_um: 1.0, modulus_mpa: 2500.0, poisson: 0.34, bending: 1041.666667, torsion: 1358.753518, plate: 1.0, up_to: 0.5, onsets: &[(0.09961505, Odd), (0.1322715, Even)], ribbon_law: Some((0.09976278, Odd)) },
    Case { name: "sg-n2-wt20", family: Family::SineGenerated, pitch_um: 100.0, amplitude_um: 50.0, periods: 2, width_um: 5.0, thickness_um: 0.25, modulus_mpa: 119000.0, poisson: 0.34, bending: 876.0058608, torsion: 1119.889024, plate: 1.130710086, up_to: 0.5, onsets: &[(0.002918829, Odd), (0.005525809, Even)], ribbon_law: Some((0.002757095, Odd)) },
    Case { name: "sg-n1-wt2", family: Family::SineGenerated, pitch_um: 100.0, amplitude_um: 70.0, periods: 1, width_um: 4.0, thickness_um: 2.0, modulus_mpa: 2500.0, poisson: 0.34, bending: 6666.666667, torsion: 6826.318722, plate: 1.0, up_to: 1.0, onsets: &[(0.8562307, Odd)], ribbon_law: None },
    Case { name: "sg-n4-wt10", family: Family::SineGenerated, pitch_um: 100.0, amplitude_um: 40.0, periods: 4, width_um: 4.0, thickness_um: 0.4, modulus_mpa: 250000.0, poisson: 0.23, bending: 5631.225143, torsion: 8125.52943, plate: 1.055854714, up_to: 0.5, onsets: &[(0.01255542, Odd), (0.01365067, Even)], ribbon_law: Some((0.01224769, Odd)) },
];

#[test]
fn onsets_meet_the_reference() {
    let mut solver = RibbonSolver::new();
    for case in &CASES {
        let (line, strips) = (case.line(), case.strips());
        for law in [SectionLaw::Rod, SectionLaw::Ribbon] {
            let out = case.out(law);
            let up_to = EndMotion::stretch(case.up_to);
            let problem =
                OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to };
            let found = onset(&mut solver, &problem).unwrap();
            let what = format!("{} {law:?}", case.name);
            let expected = match law {
                SectionLaw::Rod => case.onsets.first().copied(),
                SectionLaw::Ribbon => case.ribbon_law,
            };
            let Some((stretch, symmetry)) = expected else {
                assert!(law == SectionLaw::Ribbon || found.is_none(), "{what}: {found:?}");
                continue;
            };
            let found = found.unwrap();
            let gap = (found.stretch / stretch - 1.0).abs();
            assert!(gap < 1.5e-4 && gap < 3.0 * found.error.max(1e-6), "{what}: {} {stretch}", found.stretch);
            assert_eq!(found.symmetry, symmetry, "{what}");
            if law == SectionLaw::Rod && case.onsets.len() > 1 {
                let (stretch, symmetry) = found.next.unwrap();
                let (expected, same) = case.onsets[1];
                assert!((stretch / expected - 1.0).abs() < 2e-4, "{what}: second {stretch} {expected}");
                assert_eq!(symmetry, same, "{what}: second");
            }
        }
    }
}
