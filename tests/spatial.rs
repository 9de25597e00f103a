//! Whole ribbons that leave their plane: onset, plane states and buckled states against independent computations.

use ogee_geometry::Centreline;
use ogee_mechanics::{
    EndMotion, LayerSpan, Mesh, Onset, OnsetProblem, OutOfPlane, PeakKind, RibbonProblem, RibbonSolution,
    RibbonSolver, SearchEffort, SecondVariation, SectionLaw, SpatialProblem, SpatialSolution, SpatialSolver,
    Strips, Symmetry, onset,
};
use ogee_tests::{Case, Checks, Tolerance, table};
use serde_json::Value;

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

    fn onset(&self, up_to: f64) -> Option<Onset> {
        let problem = OnsetProblem {
            line: &self.line,
            strips: &self.strips,
            out: &self.out,
            foundation_mpa: 0.0,
            up_to: EndMotion::stretch(up_to),
        };
        onset(&mut RibbonSolver::new(), &problem).expect("a search that ends")
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
    let mut list = Vec::new();
    if let Some(found) = design.onset(up_to) {
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

/// Elements per quarter of the search for states and of those that are compared.
const COARSE: usize = 4;
const FINE: usize = 10;
/// Mesh indicator above which a state is solved on still more elements.
const RESOLVED: f64 = 1e-3;
/// Energies of other stable states that pass, over the lowest: the acceptance rule of the table.
const NEARLY_LOWEST: f64 = 0.01;
/// States that may be another one than the listed lowest, by the rule; more are a failure. Of the 89 one is: sine-n4-wt20
/// at 0.35 by the ribbon law (β of 35, far past what the law is good for) has a state of 0.10 % less energy than the
/// listed ones, which all lie within 0.06 % of each other.
const MOST_DEVIATING: usize = 1;

/// Listed stable states of one period that a full search has to find as well: those whose energy is above the lowest by
/// less than this share.
const SEEN: f64 = 0.04;

/// The stable states that are found, by rising energy: the branch from the onset, and what a search from modes adds.
fn states(design: &Design, case: &Case) -> Vec<SpatialSolution> {
    let stretch = case.number("stretch");
    let problem = design.spatial(stretch);
    let mut solver = SpatialSolver::with_elements_per_quarter(COARSE);
    let start = design.onset(stretch).expect("the table's buckled states are past the onset");
    let branch = solver.buckled(&problem, &start, &|| true).expect("a branch").expect("nobody stops it");
    // One period has other states than the branch; nearly straight ribbons have many.
    let has_many = case.number("periods") < 2.0 || case.expected.contains_key("note2");
    let effort = if has_many { SearchEffort::Full } else { SearchEffort::Quick };
    let planar = design.planar(stretch);
    let found = solver
        .stable_states(&problem, Some(&planar), &[branch.solution.state], effort, &|| true)
        .expect("a search")
        .expect("nobody stops it");
    let mut fine = SpatialSolver::with_elements_per_quarter(FINE);
    let mut refine = |coarse: &SpatialSolution| {
        let solution = fine.solve_at(&problem, &coarse.state).ok()?;
        fine.resolved(&problem, &solution, RESOLVED).ok()
    };
    let mut states: Vec<SpatialSolution> = found.states.iter().filter_map(&mut refine).collect();
    states.retain(|state| state.is_stable);
    states.sort_by(|a, b| a.energy_un_um.total_cmp(&b.energy_un_um));
    states
}

/// A state is in equilibrium and where the clamps hold it.
fn check_equilibrium(design: &Design, stretch: f64, state: &SpatialSolution, checks: &mut Checks<'_>) {
    let far = state.at(state.contour_length_um());
    let (start, end) = (design.line.start(), design.line.end());
    let span_um = design.line.span_um();
    let wanted = [start.x_um + (1.0 + stretch) * span_um, end.y_um, 0.0];
    for (got, wanted) in far.position_um.into_iter().zip(wanted) {
        checks.near("place of the far end", got, wanted, Tolerance::absolute(3e-5 * span_um));
    }
    checks.that("the state is stable", state.is_stable && state.unstable_modes == 0);
    checks.that("the last step was small", state.residual < 1e-5);
    checks.that("moments and frames agree", state.mesh_indicator < RESOLVED);
}

/// Everything that the table lists of the lowest state.
fn check_lowest(case: &Case, state: &SpatialSolution, checks: &mut Checks<'_>) {
    checks.number("force_un", state.force_un[0]);
    checks.number("peak_height_um", state.height_um);
    checks.number("peak_tensile_strain", state.peak_tensile.strain);
    checks.number("peak_tensile_strain_upper", state.upper_bound_strain);
    checks.number("corner_axial_strain", state.corner_strain);
    checks.number("peak_compressive_strain", state.peak_compressive.strain);
    // Of the three places the solution tells the one strained most.
    let places = [
        ("corner_axial_strain", PeakKind::Corner),
        ("long_face_principal_strain", PeakKind::LongFace),
        ("short_edge_principal_strain", PeakKind::ShortEdge),
    ];
    for (key, kind) in places {
        checks.covers(key);
        let listed = case.expected_number(key).expect("the table holds it");
        let tolerance = case.tolerance(key).expect("the table gives one");
        if kind == state.peak_tensile.kind {
            checks.near(key, state.peak_tensile.strain, listed, tolerance);
        } else {
            let most = state.peak_tensile.strain * (1.0 + tolerance.relative);
            checks.that(&format!("{key} is no more than the peak"), listed <= most);
        }
    }
    checks.number("energy_twist_un_um", state.energy.twist_un_um);
    checks.number("energy_bend_out_un_um", state.energy.bend_out_un_um);
    checks.number("energy_bend_in_un_um", state.energy.bend_in_un_um);
    checks.number("energy_stretch_un_um", state.energy.stretch_un_um);
    checks.number("energy_ribbon_term_un_um", state.energy.ribbon_un_um);
    checks.number("max_twist_per_um", state.largest_twist_per_um);
    checks.number("max_curvature_out_per_um", state.largest_curvature_out_per_um);
    checks.number("max_curvature_change_in_per_um", state.largest_curvature_change_in_per_um);
    checks.number("beta", state.beta);
    checks.number_if_expected("wagner_number", state.wagner_number);
    checks.text("symmetry", state.symmetry.label());
}

/// The listed other stable states: energy, force, height and peak.
fn listed_others(case: &Case) -> Vec<[f64; 4]> {
    let list = case.expected.get("other_stable_states").and_then(Value::as_array);
    let number = |state: &Value, key: &str| state[key].as_f64().expect("the table holds it");
    let keys = ["energy_un_um", "force_un", "peak_height_um", "peak_tensile_strain"];
    list.into_iter().flatten().map(|state| keys.map(|key| number(state, key))).collect()
}

/// Numbers of a state that the table lists of every stable one.
fn numbers(state: &SpatialSolution) -> [f64; 4] {
    [state.energy_un_um, state.force_un[0], state.height_um, state.peak_tensile.strain]
}

/// The largest difference from a listed state, over the tolerances.
fn distance(case: &Case, state: &SpatialSolution, listed: [f64; 4]) -> f64 {
    let keys = ["energy_un_um", "force_un", "peak_height_um", "peak_tensile_strain"];
    let share = |i: usize| {
        let tolerance = case.tolerance(keys[i]).expect("the table gives one").relative;
        (numbers(state)[i] / listed[i] - 1.0).abs() / tolerance
    };
    (0..4).map(share).fold(0.0, f64::max)
}

/// Compares the states found with those listed, by the acceptance rule of the table; says what deviates.
fn check_states(
    case: &Case,
    states: &[SpatialSolution],
    design: &Design,
    checks: &mut Checks<'_>,
) -> Option<String> {
    for key in ["note", "note2", "other_stable_states", "peak_at_s_over_length"] {
        checks.covers(key);
    }
    let Some(lowest) = states.first() else {
        checks.fail("no stable state was found");
        return None;
    };
    check_equilibrium(design, case.number("stretch"), lowest, checks);
    let listed = ["energy_un_um", "force_un", "peak_height_um", "peak_tensile_strain"]
        .map(|key| case.expected_number(key).expect("the table holds it"));
    let tolerance = case.tolerance("energy_un_um").expect("the table gives one").relative;
    let over = lowest.energy_un_um / listed[0] - 1.0;
    if over.abs() <= tolerance {
        // Where several states have that energy, the listed one has to be among them.
        let close = states.iter().filter(|state| (state.energy_un_um / listed[0] - 1.0).abs() <= tolerance);
        let nearest = close.min_by(|a, b| distance(case, a, listed).total_cmp(&distance(case, b, listed)));
        let state = nearest.unwrap_or(lowest);
        checks.number("energy_un_um", state.energy_un_um);
        check_lowest(case, state, checks);
        return None;
    }
    for key in case.expected.keys() {
        checks.covers(key);
    }
    let others = listed_others(case);
    let is_listed = others.iter().any(|other| distance(case, lowest, *other) <= 1.0);
    if over > 0.0 {
        checks.that(
            &format!(
                "energy is {:.2} % above the lowest, and not that of another listed state",
                100.0 * over
            ),
            over < NEARLY_LOWEST && is_listed,
        );
    }
    Some(format!(
        "{}: energy {:+.3} % from the lowest listed, {}, β {:.1}, listed {}",
        case.name,
        100.0 * over,
        lowest.symmetry.label(),
        lowest.beta,
        if is_listed { "as another state" } else { "nowhere" }
    ))
}

/// Buckled states by one section law. Returns how many are another state than the lowest listed.
fn check_buckled(law: SectionLaw, word: &str, count: usize) -> usize {
    let mut table = table("spatial_ribbon");
    table.cases.retain(|case| case.inputs.get("law").and_then(Value::as_str) == Some(word));
    let mut deviating = Vec::new();
    let (mut found_others, mut all_others) = (0, 0);
    table.check("buckled", count, |case, checks| {
        let design = Design::new(case, law);
        let states = states(&design, case);
        deviating.extend(check_states(case, &states, &design, checks));
        // One period is searched in full: the states just above the lowest are seen as well.
        if case.number("periods") < 2.0 {
            let lowest = case.expected_number("energy_un_um").expect("the table holds it");
            for other in listed_others(case) {
                let is_seen = states.iter().any(|state| distance(case, state, other) <= 1.0);
                let has_to_be_seen = other[0] < (1.0 + SEEN) * lowest;
                checks.that(&format!("the state {other:?} is found"), is_seen || !has_to_be_seen);
                found_others += usize::from(is_seen);
                all_others += 1;
            }
        }
    });
    eprintln!("{word} law: {} of {count} states are not the lowest listed {deviating:?}", deviating.len());
    eprintln!("{word} law: {found_others} of {all_others} other stable states of one period were found");
    deviating.len()
}

#[test]
fn buckled_rods_of_the_table() {
    assert!(check_buckled(SectionLaw::Rod, "rod", 45) == 0);
}

#[test]
fn buckled_ribbons_of_the_table() {
    assert!(check_buckled(SectionLaw::Ribbon, "ribbon", 44) <= MOST_DEVIATING);
}

#[test]
fn every_kind_is_run() {
    table("spatial_ribbon").check_kinds(&["onset", "planar", "buckled"]);
}
