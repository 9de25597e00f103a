//! Loss along whole meanders: shape, bends, joints and propagation together.

use std::f64::consts::FRAC_PI_2;

use ogee_design::{Caches, Design, EndsName, FamilyName, PolarisationName, Tier, assess};
use ogee_geometry::{ArmDrive, Centreline, Ends, Family, Quarter};
use ogee_optics::{BendTable, Jump, PathElement, PathSettings, Slab, SlabPolarisation, path_loss};
use ogee_tests::{Case, Checks, table};

/// Points and weights of Gauss's rule of order 8 on 0..1.
const GAUSS: [(f64, f64); 4] = [
    (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
    (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
];
/// Panels per smooth piece of a quarter.
const PANELS: usize = 64;

/// A sine-generated curve of the same contour length with its tilt scaled: by definition
/// P = 4Q ∫ cos φ and A = Q ∫ sin φ over the quarter, φ = θ cos(πf/2).
fn with_scaled_tilt(rest: &Quarter, scale: f64) -> Quarter {
    const POINTS: usize = 2000;
    let tilt = rest.tilt_rad() * scale;
    let angle = |i: usize| tilt * (FRAC_PI_2 * (i as f64 + 0.5) / POINTS as f64).cos();
    let mean = |f: fn(f64) -> f64| (0..POINTS).map(|i| f(angle(i))).sum::<f64>() / POINTS as f64;
    // The midpoint rule of a smooth function even about both ends is exact to rounding for the cosine; the sine's
    // integrand is odd about the crest, where the next term of its error is taken off.
    let slope_at_crest = -tilt * FRAC_PI_2;
    let step = 1.0 / POINTS as f64;
    let sine = mean(f64::sin) + step * step / 24.0 * slope_at_crest;
    let length_um = rest.length_um();
    Quarter::new(Family::SineGenerated, 4.0 * length_um * mean(f64::cos), length_um * sine)
        .expect("a flatter meander is possible")
}

fn quarter(case: &Case) -> Quarter {
    let family = match case.text("family") {
        "arc" => Family::Arc,
        "sine-generated" => Family::SineGenerated,
        "arc-and-arm" => Family::ArcAndArm(ArmDrive::Tilt { tilt_rad: case.number("tilt_deg").to_radians() }),
        other => panic!("no such family: {other}"),
    };
    let rest = Quarter::new(family, case.number("pitch_um"), case.number("amplitude_um"))
        .expect("the table holds possible shapes");
    match case.maybe_number("tilt_scale") {
        Some(scale) => with_scaled_tilt(&rest, scale),
        None => rest,
    }
}

/// Quadrature points of the whole ribbon; its two sides are alike, so the sign of the curvature does not matter.
fn elements(quarter: &Quarter, periods: usize) -> Vec<PathElement> {
    let mut one = Vec::new();
    for piece in quarter.pieces() {
        for panel in 0..PANELS {
            for (position, weight) in GAUSS {
                let sample = piece.sample((panel as f64 + position) / PANELS as f64);
                one.push(PathElement {
                    length_um: sample.ds_du_um * weight / PANELS as f64,
                    curvature_per_um: sample.kappa_per_um,
                });
            }
        }
    }
    one.repeat(4 * periods)
}

/// The ribbon's own jumps of curvature and the joints to straight guides at both ends.
fn jumps(ribbon: &Centreline) -> Vec<Jump> {
    let end_um = ribbon.contour_length_um();
    let inner = ribbon
        .jumps()
        .filter(|jump| jump.s_um > 0.0 && jump.s_um < end_um)
        .map(|jump| (jump.s_um, jump.before_per_um, jump.after_per_um));
    let crossing = ribbon.quarter().crossing_curvature_per_um();
    let ends = [(0.0, 0.0, crossing), (end_um, crossing, 0.0)];
    let mut all: Vec<Jump> = inner
        .chain(ends.into_iter().filter(|_| crossing > 0.0))
        .map(|(s_um, before_per_um, after_per_um)| Jump { s_um, before_per_um, after_per_um })
        .collect();
    all.sort_by(|a, b| a.s_um.total_cmp(&b.s_um));
    all
}

fn check(case: &Case, checks: &mut Checks<'_>) {
    let quarter = quarter(case);
    let periods = case.number("periods");
    let ribbon = Centreline::new(quarter.clone(), periods as u32, Ends::Crossing, 0.0, None)
        .expect("the table holds possible shapes");
    checks.number("contour_length_um", ribbon.contour_length_um());
    checks.number_if_expected("radius_um", quarter.least_radius_um());
    checks.number_if_expected("least_radius_um", ribbon.least_radius_um());
    checks.number_if_expected("tilt_deg", quarter.tilt_rad().to_degrees());
    checks.number_if_expected("arm_half_length_um", quarter.arm_half_length_um());
    checks.number_if_expected("quarter_contour_um", quarter.length_um());
    checks.number_if_expected("stretch", quarter.pitch_um() / case.number("pitch_um") - 1.0);

    let slab = Slab {
        wavelength_um: case.number("wavelength_um"),
        width_um: case.number("core_width_um"),
        n_core: case.number("n_core"),
        n_left: case.number("n_clad"),
        n_right: case.number("n_clad"),
    };
    let polarisation = match case.text("polarisation") {
        "TM" => SlabPolarisation::Tm,
        _ => SlabPolarisation::Te,
    };
    let table = BendTable::new(&slab, polarisation, Some(quarter.least_radius_um())).expect("a guiding slab");
    let settings = PathSettings {
        propagation_db_per_cm: case.number("propagation_loss_db_per_cm"),
        ..PathSettings::default()
    };
    let jumps = jumps(&ribbon);
    let loss =
        path_loss(&elements(&quarter, periods as usize), &jumps, &table, &settings).expect("sound numbers");
    checks.number("bend_loss_db", loss.bend_db);
    checks.number("transition_loss_db", loss.transition_db);
    checks.number("propagation_loss_db", loss.propagation_db);
    checks.number("total_loss_db", loss.total_db);

    let is_to_straight = |jump: &&Jump| jump.before_per_um == 0.0 || jump.after_per_um == 0.0;
    let is_inflection = |jump: &&Jump| jump.before_per_um * jump.after_per_um < 0.0;
    checks.number_if_expected("n_straight_bend", jumps.iter().filter(is_to_straight).count() as f64);
    checks.number_if_expected("n_inflection", jumps.iter().filter(is_inflection).count() as f64);
    let crest_per_um = quarter.crest_curvature_per_um();
    checks.number_if_expected("loss_per_end_db", table.transition_db(0.0, crest_per_um));
    checks.number_if_expected("loss_per_inflection_db", table.transition_db(crest_per_um, -crest_per_um));
}

#[test]
fn paths_of_the_table() {
    table("optics_path").check("", 4, check);
}

/// The same slab as the core of a whole design: so high that its vertical mode has the core's own index. The assessment
/// sums the loss by its own code, with quarters counted instead of listed.
fn check_design(case: &Case, checks: &mut Checks<'_>) {
    const HEIGHT_UM: f64 = 3000.0;
    let quarter = quarter(case);
    let mut design = Design::sample();
    let shape = &mut design.shape;
    (shape.amplitude_um, shape.pitch_um) = (quarter.amplitude_um(), quarter.pitch_um());
    (shape.width_um, shape.periods) = (4.0 * case.number("core_width_um"), case.number("periods") as u32);
    (shape.ends, shape.lead_um) = (EndsName::Crossing, 0.0);
    (shape.family, shape.tilt_deg) = match case.text("family") {
        "arc" => (FamilyName::Arc, None),
        "sine-generated" => (FamilyName::SineGenerated, None),
        _ => (FamilyName::ArcAndArm, Some(case.number("tilt_deg"))),
    };
    for layer in &mut design.stack.layers {
        layer.refractive_index = Some(case.number("n_clad"));
    }
    let core = &mut design.stack.layers[1];
    (core.width_um, core.thickness_um) = (Some(case.number("core_width_um")), HEIGHT_UM);
    core.refractive_index = Some(case.number("n_core"));
    let light = design.light.as_mut().expect("the sample guides light");
    light.wavelength_um = case.number("wavelength_um");
    // The field along the bend's axis, TE of the slab, is the one along the wafer's normal.
    light.polarisation =
        if case.text("polarisation") == "TM" { PolarisationName::QuasiTe } else { PolarisationName::QuasiTm };
    light.propagation_loss_db_per_cm = case.number("propagation_loss_db_per_cm");
    light.end_loss_db = 0.0;
    design.duty.target_stretch_percent = 1.0;
    let checked = design.check().expect("a possible design");
    let result = assess(&checked, Tier::Live, &mut Caches::new(), &|| true)
        .expect("an equilibrium")
        .expect("not stopped");
    let loss = result.light.and_then(|l| l.rest).expect("a loss");
    checks.number("contour_length_um", result.shape.contour_length_um);
    checks.number("bend_loss_db", loss.bend_db);
    checks.number("transition_loss_db", loss.transition_db);
    checks.number("propagation_loss_db", loss.propagation_db);
    checks.number("total_loss_db", loss.total_db);
    // The geometry is compared above.
    for key in [
        "radius_um",
        "least_radius_um",
        "tilt_deg",
        "arm_half_length_um",
        "quarter_contour_um",
        "stretch",
        "n_straight_bend",
        "n_inflection",
        "loss_per_end_db",
        "loss_per_inflection_db",
    ] {
        checks.covers(key);
    }
}

#[test]
fn assessments_meet_the_table() {
    table("optics_path").check("", 4, check_design);
}
