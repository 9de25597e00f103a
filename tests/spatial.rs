//! Whole ribbons that leave their plane: onset, plane states and buckled states against independent computations.

use ogee_geometry::Centreline;
use ogee_mechanics::{
    EndMotion, LayerSpan, Mesh, OnsetProblem, OutOfPlane, RibbonProblem, RibbonSolution, RibbonSolver,
    SecondVariation, SectionLaw, SpatialProblem, SpatialSolver, Strips, Symmetry, onset,
};
use ogee_tests::{Case, Checks, Tolerance, table};

/// A ribbon of the table with its sections.
struct Design {
    line: Centreline,
    strips: Strips,
    out: OutOfPlane,
}

impl Design {
    fn new(case: &Case, law: SectionLaw) -> Self {
        let (width_um, thickness_um) = (case.number("width_um"), case.number("thickness_um"));
        let (modulus_mpa, poisson) = (case.number("modulus_mpa"), case.number("poisson"));
        let strips = Strips::new(&[(modulus_mpa * thickness_um, width_um)]).expect("a sound section");
        let mut out = OutOfPlane::homogeneous(width_um, thickness_um, modulus_mpa, poisson)
            .expect("a sound section")
            .with_law(law);
        // The ribbon law finds out itself how much the section curls across its width.
        if law == SectionLaw::Rod {
            out.bending_un_um2 *= case.number("plate_factor");
        }
        Self { line: case.ribbon(), strips, out }
    }

    /// Sections as the table lists them.
    fn check_sections(case: &Case, checks: &mut Checks<'_>) {
        let design = Self::new(case, SectionLaw::Rod);
        let digits = Tolerance::relative(2e-6);
        let listed = |key: &str| case.number(key);
        checks.near("EA", design.strips.ea_un(), listed("axial_stiffness_un"), digits);
        checks.near("EI", design.strips.ei_un_um2(), listed("bending_in_plane_un_um2"), digits);
        checks.near("EI_out", design.out.bending_un_um2, listed("bending_out_of_plane_un_um2"), digits);
        checks.near("GJ", design.out.torsion_un_um2, listed("torsion_un_um2"), digits);
    }

    fn planar(&self, stretch: f64) -> RibbonSolution {
        let problem =
            RibbonProblem { line: &self.line, strips: &self.strips, motion: EndMotion::stretch(stretch) };
        RibbonSolver::with_mesh(Mesh::Adaptive { tolerance: 1e-6 })
            .solve(&problem, None)
            .expect("the table holds equilibria")
    }

    fn spatial(&self, stretch: f64) -> SpatialProblem<'_> {
        SpatialProblem {
            line: &self.line,
            strips: &self.strips,
            out: &self.out,
            motion: EndMotion::stretch(stretch),
            curl_per_um: 0.0,
        }
    }
}

fn word(symmetry: Symmetry) -> &'static str {
    match symmetry {
        Symmetry::Even => "even",
        Symmetry::Odd => "odd",
        Symmetry::Mixed => "mixed",
    }
}

/// Stretch and symmetry of the first onset and of the next one, as far as there are any.
fn onsets(design: &Design, up_to: f64) -> Vec<(f64, &'static str)> {
    let problem = OnsetProblem {
        line: &design.line,
        strips: &design.strips,
        out: &design.out,
        foundation_mpa: 0.0,
        up_to: EndMotion::stretch(up_to),
    };
    let found = onset(&mut RibbonSolver::new(), &problem).expect("a search that ends");
    let mut list = Vec::new();
    if let Some(found) = found {
        list.push((found.stretch, word(found.symmetry)));
        list.extend(found.next.map(|(stretch, symmetry)| (stretch, word(symmetry))));
    }
    list
}

#[test]
fn onsets_of_the_table() {
    table("spatial_ribbon").check("onset", 16, |case, checks| {
        Design::check_sections(case, checks);
        let line = case.ribbon();
        checks.number("contour_length_um", line.contour_length_um());
        checks.number("slack", line.slack());
        checks.number("tilt_deg", line.quarter().tilt_rad().to_degrees());

        let up_to = case.number("searched_to_stretch");
        let rod = onsets(&Design::new(case, SectionLaw::Rod), up_to);
        checks.numbers("onset_stretch", &rod.iter().map(|(stretch, _)| *stretch).collect::<Vec<_>>());
        let words: Vec<_> = rod.iter().map(|(_, word)| *word).collect();
        checks.text("onset_symmetry", &words.join(", "));
        if case.expected.contains_key("ribbon_law_onset_stretch") {
            let ribbon = onsets(&Design::new(case, SectionLaw::Ribbon), up_to);
            let (stretch, word) = ribbon.first().copied().unwrap_or((f64::NAN, "none"));
            checks.number("ribbon_law_onset_stretch", stretch);
            checks.text("ribbon_law_onset_symmetry", word);
        }
    });
}

#[test]
fn plane_states_of_the_table() {
    // Elements per quarter, and what they leave of force, energy and strain.
    const FLAT: (usize, f64) = (16, 2e-3);
    // Parts of each element, so that short waves fit in, and the number of modes that the ribbon in space holds too.
    const PARTS: usize = 32;
    const FEW: usize = 8;
    let mut spatial = SpatialSolver::with_elements_per_quarter(FLAT.0);
    table("spatial_ribbon").check("planar", 55, |case, checks| {
        let design = Design::new(case, SectionLaw::Rod);
        let stretch = case.number("stretch");
        let planar = design.planar(stretch);
        let extremes = planar.peak_at(LayerSpan::centred(case.number("width_um"))).expect("a fitting layer");
        checks.number("force_un", planar.force_un[0]);
        checks.number("energy_un_um", planar.energy_un_um);
        checks.number("peak_tensile_strain", extremes.tensile.strain);
        checks.number("peak_compressive_strain", extremes.compressive.strain);
        let form = SecondVariation::of(&planar, &design.out, 0.0, PARTS).expect("a sound section");
        let modes = form.negative_modes();
        checks.number("negative_out_of_plane_modes", modes as f64);
        checks.text("stable", if planar.is_stable && modes == 0 { "yes" } else { "no" });

        // The ribbon in space, kept from leaving its plane, is the same.
        let flat = spatial.flat(&design.spatial(stretch)).expect("a flat state");
        let near = Tolerance::relative(FLAT.1);
        checks.near("force of the flat rod", flat.force_un[0], planar.force_un[0], near);
        checks.near("energy of the flat rod", flat.energy_un_um, planar.energy_un_um, near);
        let strains = (flat.peak_tensile.strain, extremes.tensile.strain);
        checks.near("strain of the flat rod", strains.0, strains.1, near);
        let strains = (flat.peak_compressive.strain, extremes.compressive.strain);
        checks.near("compression of the flat rod", strains.0, strains.1, near);
        if modes <= FEW {
            checks.that("the flat rod has as many modes", flat.unstable_modes == modes);
        }
    });
}

#[test]
fn every_kind_is_run() {
    table("spatial_ribbon").check_kinds(&["onset", "planar", "buckled"]);
}
