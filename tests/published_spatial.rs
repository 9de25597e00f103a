//! Published values and closed forms for leaving the plane.
//!
//! The table also holds rods with a free end, a closed ring and a rod held as a helix. Whole ribbons between clamps have
//! none of these, so ogee-mechanics checks them in its own tests, where its rods can be put together otherwise.

use std::f64::consts::PI;

use ogee_mechanics::{
    EndMotion, EndSupport, FlatPoint, OnsetProblem, OutOfPlane, RibbonSolver, SecondVariation, SectionLaw,
    Strips, Symmetry, onset,
};
use ogee_tests::{Case, Tolerance, table};

/// Tolerance of the values that were computed to more digits than the published ones.
const COMPUTED: Tolerance = Tolerance { relative: 1e-5, absolute: 0.0 };

/// A rod whose stiffness against out-of-plane bending is 1.
fn section(torsion: f64) -> OutOfPlane {
    OutOfPlane {
        bending_un_um2: 1.0,
        torsion_un_um2: torsion,
        poisson: 0.3,
        bottom_um: -0.005,
        top_um: 0.005,
        law: SectionLaw::Rod,
    }
}

/// The load between two at which the flat state of a strip of unit length loses its stability.
fn critical(low: f64, high: f64, is_flat: impl Fn(f64) -> bool) -> f64 {
    const HALVINGS: u32 = 45;
    let (mut low, mut high) = (low, high);
    assert!(is_flat(low) && !is_flat(high), "{low} and {high} do not enclose the critical load");
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if is_flat(middle) { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// The critical load of the strip of a case, whose flat state under a load is given by contour length, over √(EI GJ).
fn critical_of(case: &Case, ends: [EndSupport; 2], at: impl Fn(f64, f64) -> FlatPoint) -> f64 {
    const ELEMENTS: usize = 8;
    let torsion = case.number("torsion_over_out_of_plane_stiffness");
    let load = critical(0.5, 30.0, |load| {
        SecondVariation::strip(1.0, 0.1, ELEMENTS, &section(torsion), 0.0, ends, |s| at(load, s))
            .expect("a sound strip")
            .negative_modes()
            == 0
    });
    load / torsion.sqrt()
}

/// The flat state under a moment, bent in its plane as far as its stiffness there lets it.
fn bent(case: &Case, moment_un_um: f64) -> FlatPoint {
    let stiffness = case.number("in_plane_over_out_of_plane_stiffness");
    FlatPoint { moment_un_um, curvature_per_um: moment_un_um / stiffness, ..FlatPoint::default() }
}

/// Prandtl 1899 and Michell 1899: a narrow cantilever tips over under a load at its end.
#[test]
fn narrow_cantilever() {
    table("published_spatial").check("cantilever", 1, |case, checks| {
        let ends = [EndSupport::CLAMPED, EndSupport::FREE];
        let load = critical_of(case, ends, |load, s| bent(case, load * (1.0 - s)));
        checks.number("critical_load_l2_over_sqrt_ei_gj", load);
        checks.computed("critical_load_l2_over_sqrt_ei_gj", load, COMPUTED);
    });
}

/// Timoshenko and Gere; Michell 1899 with the curvature that the moment itself makes.
#[test]
fn uniform_moment_between_forks() {
    table("published_spatial").check("uniform-moment", 2, |case, checks| {
        let moment = critical_of(case, [EndSupport::FORKED; 2], |moment, _| bent(case, moment));
        checks.number("critical_moment_l_over_sqrt_ei_gj", moment);
    });
}

/// Timoshenko and Gere: a load at mid-span between forks.
#[test]
fn load_at_mid_span() {
    table("published_spatial").check("mid-span-load", 1, |case, checks| {
        let ends = [EndSupport::FORKED; 2];
        let load = critical_of(case, ends, |load, s| bent(case, 0.5 * load * s.min(1.0 - s)));
        checks.number("critical_load_l2_over_sqrt_ei_gj", load);
        checks.computed("critical_load_l2_over_sqrt_ei_gj", load, COMPUTED);
    });
}

/// Argyris et al. 1979: a right-angle frame under equal end moments, its corner as a short bend.
#[test]
fn right_angle_frame() {
    const ELEMENTS: usize = 800;
    table("published_spatial").check("frame", 1, |case, checks| {
        let (leg, width, thickness) =
            (case.number("leg_mm"), case.number("width_mm"), case.number("thickness_mm"));
        let modulus = case.number("modulus_n_per_mm2");
        let shear = 0.5 * modulus / (1.0 + case.number("poisson"));
        let cube = width * thickness.powi(3);
        let out = OutOfPlane {
            bending_un_um2: modulus * cube / 12.0,
            torsion_un_um2: shear * cube / 3.0,
            bottom_um: -0.5 * thickness,
            top_um: 0.5 * thickness,
            ..section(1.0)
        };
        let in_plane = modulus * thickness * width.powi(3) / 12.0;
        // The corner is a short smooth bend; what its length leaves falls with it.
        let moment = |share: f64, sign: f64| {
            let (length, bend) = (2.0 * leg, 2.0 * leg * share);
            critical(100.0, 2000.0, |moment| {
                let at = |s: f64| {
                    let from_corner = (s - leg) / bend;
                    let turning = if from_corner.abs() < 0.5 {
                        0.5 * PI * (1.0 + (2.0 * PI * from_corner).cos())
                    } else {
                        0.0
                    };
                    let moment_un_um = sign * moment;
                    let curvature_per_um = turning / bend + moment_un_um / in_plane;
                    FlatPoint { moment_un_um, curvature_per_um, ..FlatPoint::default() }
                };
                let ends = [EndSupport::CLAMPED; 2];
                SecondVariation::strip(length, width, ELEMENTS, &out, 0.0, ends, at)
                    .expect("a sound strip")
                    .negative_modes()
                    == 0
            })
        };
        for sign in [1.0, -1.0] {
            // Twice extrapolated: the errors of first and second order in the bend's length fall out.
            let [long, middle, short] = [0.04, 0.02, 0.01].map(|share| moment(share, sign));
            let limit = (8.0 * short - 6.0 * middle + long) / 3.0;
            checks.number("critical_moment_n_mm", limit);
            checks.computed("critical_moment_n_mm", limit, Tolerance::relative(3e-5));
        }
    });
}

/// Shi, Huang, Yu and Li 2024: the two lowest modes of a single cell change places as it grows longer.
#[test]
fn modes_of_a_hairpin_change_places() {
    let word = |symmetry: Symmetry| match symmetry {
        Symmetry::Even => "even",
        Symmetry::Odd => "odd",
        Symmetry::Mixed => "neither",
    };
    table("published_spatial").check("serpentine", 4, |case, checks| {
        let (width_um, thickness_um) = (case.number("width_um"), case.number("thickness_um"));
        let strips = Strips::new(&[(thickness_um, width_um)]).expect("a sound section");
        let out = OutOfPlane::homogeneous(width_um, thickness_um, 1.0, case.number("poisson"))
            .expect("a sound section")
            .with_law(SectionLaw::Rod);
        let line = case.ribbon();
        let up_to = EndMotion::stretch(0.1);
        let problem = OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to };
        let found = onset(&mut RibbonSolver::new(), &problem).expect("a search").expect("it buckles");
        let (second, other) = found.next.expect("a second mode");
        let unit = (width_um / thickness_um).powi(2);
        checks.text("first_mode", word(found.symmetry));
        checks.that("the second mode is the other one", word(other) != word(found.symmetry));
        checks.number("first_onset_w2_over_t2", found.stretch * unit);
        checks.number("second_onset_w2_over_t2", second * unit);
    });
}

#[test]
fn every_kind_is_run_here_or_in_the_crate() {
    table("published_spatial").check_kinds(&[
        "cantilever",
        "uniform-moment",
        "mid-span-load",
        "frame",
        "serpentine",
        // In ogee-mechanics.
        "spatial-cantilever",
        "twisted-ring",
        "helix",
    ]);
}
