//! Published values for layered sections, films, cracks, islands and traces.

use ogee_design::library;
use ogee_stack::{
    Birth, CORNER_SQUARES, Conductor, Film, FilmModulus, History, IslandRow, Layer, Plate, Row, Section,
    SectionStrain, Step, Surfaces, TraceLayer, bimetal_curvature_per_um, crack_factor, ipc_2221_current, run,
    stoney_stress_mpa, surface_factor,
};
use ogee_tests::{Case, Checks, Tolerance, table};

const MIL_UM: f64 = 25.4;
const ROOM_C: f64 = 20.0;

/// The place in `low..high` where a rising function crosses zero.
fn crossing(mut low: f64, mut high: f64, function: impl Fn(f64) -> f64) -> f64 {
    const HALVINGS: usize = 60;
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if function(middle) < 0.0 { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

/// A rectangular bar with G = 1 `MPa`.
fn bar(width_um: f64, thickness_um: f64) -> Section {
    Section::new(width_um, vec![Layer::new("bar", width_um, thickness_um, 2.0, 0.0).into()]).expect("a bar")
}

#[test]
fn torsion_constants() {
    table("published_stack").check("torsion-constant", 8, |case, checks| {
        let ratio = case.number("a_over_b");
        let constant = bar(ratio, 1.0).torsion_un_um2().value_un_um2 / ratio;
        checks.number("j_over_a_b3", constant);
        checks.computed("j_over_a_b3", constant, Tolerance::relative(1e-8));
        let upright = bar(1.0, ratio).torsion_un_um2().value_un_um2 / ratio;
        checks.near("upright", upright, constant, Tolerance::relative(1e-8));
    });
}

#[test]
fn torsion_stresses() {
    table("published_stack").check("torsion-stress", 8, |case, checks| {
        let ratio = case.number("a_over_b");
        let bar = bar(ratio, 1.0);
        let stress_per_twist_um = bar.twist_shear_um().expect("one layer");
        let torque = bar.torsion_un_um2().value_un_um2 / (stress_per_twist_um * ratio);
        checks.number("torque_over_stress_a_b2", torque);
        checks.computed("torque_over_stress_a_b2", torque, Tolerance::relative(1e-8));
    });
}

fn film(bottom_um: f64, top_um: f64, modulus_mpa: f64, poisson: f64, cte_per_k: f64) -> Film {
    Film { name: "film".to_owned(), bottom_um, top_um, share: 1.0, modulus_mpa, poisson, cte_per_k }
}

/// Films that are all there at 20 °C, each with an intrinsic stress, in the order of the list.
fn deposited(films: &[Film], modulus: FilmModulus, intrinsic_mpa: &[f64]) -> History {
    let steps: Vec<Step> = intrinsic_mpa
        .iter()
        .enumerate()
        .map(|(film, &intrinsic_mpa)| Step::Deposit {
            films: vec![Birth { film, intrinsic_mpa }],
            temperature_c: ROOM_C,
        })
        .collect();
    run(films, modulus, &steps).expect("sound films")
}

/// Two layers, each 1 µm, with a mismatch strain of 0.001 for a rise of 100 K: by the closed form and by the process.
fn bimetal_curvatures(modulus_ratio: f64) -> [f64; 2] {
    let lower = film(0.0, 1.0, 1000.0 * modulus_ratio, 0.3, 0.0);
    let upper = film(1.0, 2.0, 1000.0, 0.3, 1e-5);
    let closed = bimetal_curvature_per_um(&lower, &upper, 100.0).expect("sound layers");
    let steps = [
        Step::Deposit {
            films: vec![Birth { film: 0, intrinsic_mpa: 0.0 }, Birth { film: 1, intrinsic_mpa: 0.0 }],
            temperature_c: ROOM_C,
        },
        Step::Bring { temperature_c: ROOM_C + 100.0 },
    ];
    let history = run(&[lower, upper], FilmModulus::Beam, &steps).expect("sound layers");
    [closed, history.states[1].curvature_per_um]
}

#[test]
fn bimetals() {
    table("published_stack").check("bimetal", 3, |case, checks| {
        assert_eq!(case.number("m"), 1.0);
        for curvature_per_um in bimetal_curvatures(case.number("n")) {
            checks.number("curvature_times_thickness_over_mismatch", 2.0 * curvature_per_um / 1e-3);
        }
    });
    table("published_stack").check("bimetal-balance", 1, |case, checks| {
        assert_eq!((case.number("m"), case.number("mismatch_strain")), (1.0, 1e-3));
        let [_, by_balance] = bimetal_curvatures(case.number("n"));
        checks.number("curvature_times_layer_thickness", by_balance);
    });
}

#[test]
fn thick_films_bend_less_than_the_thin_film_formula_says() {
    table("published_stack").check("stoney-correction", 4, |case, checks| {
        const INTRINSIC_MPA: f64 = 10.0;
        let film_um = case.number("thickness_ratio");
        let base = film(-1.0, 0.0, 1e5, 0.3, 0.0);
        let coating = film(0.0, film_um, 1e5 * case.number("modulus_ratio"), 0.3, 0.0);
        let history = deposited(&[base.clone(), coating], FilmModulus::Biaxial, &[0.0, INTRINSIC_MPA]);
        // What the thin-film formula reads off the true curvature, over the truth.
        let curvature_per_um = history.states[1].curvature_per_um;
        let read = stoney_stress_mpa(&base, film_um, curvature_per_um).expect("a sound curvature");
        checks.number("curvature_over_stoney", read / INTRINSIC_MPA);
    });
}

#[test]
fn radius_of_a_wafer() {
    table("published_stack").check("stoney-radius", 1, |case, checks| {
        const FILM_UM: f64 = 0.01;
        let stress_mpa = case.number("force_un_per_um") / FILM_UM;
        let wafer = film(-case.number("substrate_um"), 0.0, case.number("biaxial_modulus_mpa"), 0.0, 0.0);
        let coating = film(0.0, FILM_UM, case.number("biaxial_modulus_mpa"), 0.0, 0.0);
        let history = deposited(&[wafer.clone(), coating], FilmModulus::Biaxial, &[0.0, stress_mpa]);
        let radius_m = -1e-6 / history.states[1].curvature_per_um;
        checks.number("radius_m", radius_m);
        let published_m = case.expected_number("radius_m").expect("the table holds it");
        let read = stoney_stress_mpa(&wafer, FILM_UM, -1e-6 / published_m).expect("a sound curvature");
        checks.near("stress read", read, stress_mpa, Tolerance::relative(1e-9));
    });
}

/// A film on a foil of one plane-strain modulus ratio, one unit wide and one thick.
fn film_on_foil(foil_um: f64, film_um: f64, modulus_ratio: f64) -> Section {
    const FOIL_MPA: f64 = 1000.0;
    let foil = Row::open(Layer::new("foil", 1.0, foil_um, FOIL_MPA, 0.3));
    let film = Row::open(Layer::new("film", 1.0, film_um, modulus_ratio * FOIL_MPA, 0.3));
    Section::new(1.0, vec![foil, film]).expect("a sound section")
}

#[test]
fn films_on_foils() {
    table("published_stack").check("film-on-foil", 5, |case, checks| {
        let film_um = case.number("thickness_ratio");
        let section = film_on_foil(1.0, film_um, case.number("modulus_ratio"));
        let bent = SectionStrain { curvature_out_per_um: 1e-3, ..SectionStrain::default() };
        let outer = section.strain_at(&bent, 0.0, section.thickness_um());
        let of_one_material = 1e-3 * (1.0 + film_um) / 2.0;
        checks.number("film_strain_over_top_strain", outer / of_one_material);
    });
}

#[test]
fn a_cap_puts_the_film_in_the_neutral_plane() {
    table("published_stack").check("neutral-plane-cap", 1, |case, checks| {
        // The substrate over a cap of 1 µm whose interface with it is the neutral plane of the two.
        let modulus_ratio = case.number("modulus_ratio");
        let substrate_um = crossing(0.1, 10.0, |substrate_um| {
            let section = film_on_foil(substrate_um, 1.0, modulus_ratio);
            substrate_um - section.neutral_plane_um()
        });
        checks.number("substrate_over_cap_thickness", substrate_um);
    });
}

#[test]
fn cracks_of_a_film_like_its_base() {
    let channel = crack_factor(0.0).expect("no mismatch");
    table("published_stack").check("channel-crack", 1, |_, checks| {
        checks.number("factor", channel);
        checks.computed("factor", channel, Tolerance::relative(3e-4));
    });
    // The front of a channel crack in steady growth releases what the edge crack releases on its way from 0 to h.
    table("published_stack").check("edge-crack", 1, |_, checks| {
        checks.number("factor", 2.0 * channel);
        checks.computed("factor", 2.0 * channel, Tolerance::relative(3e-4));
    });
}

/// E* of a film and its base, `MPa`.
const PLANE_MPA: f64 = 1e5;

/// Energy over σ²h/E* that is freed where a film of thickness 1 comes off with `depth − 1` of its base.
fn freed(depth: f64, base_um: f64) -> f64 {
    // Without Poisson's ratio all moduli are one.
    let mut films = vec![
        film(-base_um, 1.0 - depth, PLANE_MPA, 0.0, 0.0),
        film(1.0 - depth, 0.0, PLANE_MPA, 0.0, 0.0),
        film(0.0, 1.0, PLANE_MPA, 0.0, 0.0),
    ];
    let mut intrinsic_mpa = vec![0.0, 0.0, 100.0];
    if depth == 1.0 {
        films.remove(1);
        intrinsic_mpa.remove(1);
    }
    let last = films.len() - 1;
    let history = deposited(&films, FilmModulus::PlaneStrain, &intrinsic_mpa);
    let energy_un_per_um = history.delamination_bound(last, ROOM_C, &[0]).expect("two parts");
    energy_un_per_um / (100.0 * 100.0 / PLANE_MPA)
}

/// The angle whose tangent is the intensity of bending over that of stretch in the part of `depth` that came off.
///
/// A force P and a moment M on a slab of thickness d count as P/√d and √12 M/√d³ at the tip of the crack below it. Set free,
/// it takes the strain −P/(E* d) at its middle and the curvature −12 M/(E* d³).
fn phase_deg(depth: f64) -> f64 {
    let films = [film(1.0 - depth, 0.0, PLANE_MPA, 0.0, 0.0), film(0.0, 1.0, PLANE_MPA, 0.0, 0.0)];
    let history = deposited(&films, FilmModulus::PlaneStrain, &[0.0, 100.0]);
    let free = &history.states[1];
    let middle = free.base_strain + free.curvature_per_um * (1.0 - 0.5 * depth);
    (free.curvature_per_um * depth / 12_f64.sqrt() / middle).atan().to_degrees()
}

#[test]
fn films_that_come_off() {
    table("published_stack").check("debond", 1, |case, checks| {
        checks.number("factor", freed(1.0, 1.0 / case.number("film_over_base_thickness")));
    });
    table("published_stack").check("spall-depth", 1, |case, checks| {
        // The crack runs where it opens without shear: bending and stretch then stand in the ratio of the phase angle.
        let depth = crossing(1.5, 20.0, |depth| phase_deg(depth) - case.number("phase_angle_deg"));
        checks.number("depth_over_film_thickness", depth);
        checks.computed("depth_over_film_thickness", depth, Tolerance::relative(1e-6));
        let factor = freed(depth, 1e5);
        checks.near("its factor", factor, 0.342_938_704_684, Tolerance::relative(1e-4));
    });
    table("published_stack").check("spall-factor", 1, |case, checks| {
        let factor = freed(case.number("depth_over_film_thickness"), 1e5);
        checks.number("factor", factor);
        checks.computed("factor", factor, Tolerance::relative(1e-4));
    });
}

fn current_a(case: &Case, width_um: f64, thickness_um: f64, layer: TraceLayer) -> f64 {
    ipc_2221_current(case.number("rise_k"), width_um, thickness_um, layer).expect("a sound trace").current_a
}

#[test]
fn currents_on_boards() {
    table("published_stack").check("board-current", 1, |case, checks| {
        let current_a =
            current_a(case, case.number("width_um"), case.number("thickness_um"), TraceLayer::Outer);
        checks.number("current_a", current_a);
        checks.computed("current_a", current_a, Tolerance::relative(1e-9));
    });
    table("published_stack").check("board-width", 1, |case, checks| {
        let thickness_um = case.number("thickness_um");
        let width_um = crossing(1.0, 1e4, |width_um| {
            current_a(case, width_um, thickness_um, TraceLayer::Outer) - case.number("current_a")
        });
        checks.number("width_mil", width_um / MIL_UM);
        checks.computed("width_mil", width_um / MIL_UM, Tolerance::relative(1e-9));
    });
    table("published_stack").check("board-inner", 1, |_, checks| {
        for (rise_k, width_um, thickness_um) in [(10.0, 254.0, 35.0), (40.0, 1000.0, 70.0)] {
            let current = |layer| {
                ipc_2221_current(rise_k, width_um, thickness_um, layer).expect("a sound trace").current_a
            };
            checks.number("inner_over_outer", current(TraceLayer::Inner) / current(TraceLayer::Outer));
        }
    });
}

#[test]
fn resistances() {
    table("published_stack").check("sheet-resistance", 1, |case, checks| {
        let copper = Conductor::new(case.number("resistivity_ohm_m"), 0.0039).expect("a metal");
        let square_ohm =
            copper.sheet_resistance_ohm(case.number("thickness_um"), ROOM_C).expect("a sound thickness");
        checks.number("milliohm_per_square", 1e3 * square_ohm);
        checks.computed("milliohm_per_square", 1e3 * square_ohm, Tolerance::relative(1e-9));
    });
    table("published_stack").check("corner", 1, |_, checks| {
        checks.number("squares", CORNER_SQUARES);
        checks.computed("squares", CORNER_SQUARES, Tolerance::relative(1e-4));
    });
    table("published_stack").check("thin-film", 2, |case, checks| {
        let surfaces = Surfaces { mean_free_path_nm: 40.0, specularity: case.number("specularity") };
        let factor = surface_factor(0.040 * case.number("k"), surfaces).expect("a sound film");
        checks.number("resistivity_over_bulk", factor);
        checks.computed("resistivity_over_bulk", factor, Tolerance::relative(1e-9));
    });
}

#[test]
fn force_in_a_rigid_strip() {
    table("published_stack").check("rigid-strip", 1, |_, checks| {
        // Short against the sheet and far stiffer: a strip on a half-space.
        let sheet = Plate { thickness_um: 20_000.0, modulus_mpa: 1.0, poisson: 0.499 };
        let island = Plate { thickness_um: 1.0, modulus_mpa: 1e9, poisson: 0.2 };
        let row = IslandRow::new(sheet, island, None, 2000.0, 1e6).expect("a sound row");
        let pulled = row.stretched(0.01).expect("a sound stretch");
        let strain = pulled.halfspace_island_strain;
        checks.near("chosen estimate", pulled.island_centre_strain, strain, Tolerance::relative(1e-12));
        let plane = |plate: Plate| plate.modulus_mpa / (1.0 - plate.poisson * plate.poisson);
        let force = plane(island) * island.thickness_um * strain;
        checks.number(
            "force_over_modulus_strain_length",
            force / (plane(sheet) * pulled.interconnect_strain * 1000.0),
        );
    });
}

fn check_silica(case: &Case, checks: &mut Checks<'_>) {
    let silica = library().find("silica").expect("in the library");
    let index = silica.index_at(case.number("wavelength_um")).expect("it has a dispersion").value;
    checks.number("n", index);
    checks.computed("n", index, Tolerance::relative(1e-7));
}

fn check_silicone(case: &Case, checks: &mut Checks<'_>) {
    assert_eq!(case.number("ratio"), 10.0);
    let silicone = library().find("pdms").expect("in the library").modulus_mpa.as_ref().expect("a solid");
    checks.number("modulus_mpa", silicone.typical);
    let [least_mpa, greatest_mpa] = silicone.range();
    checks.that("the library's range holds the law", least_mpa <= 20.0 / 33.0 && greatest_mpa >= 20.0 / 5.0);
}

#[test]
fn materials_of_the_library() {
    table("published_stack").check("silica-index", 1, check_silica);
    table("published_stack").check("silicone", 1, check_silicone);
}

#[test]
fn every_published_value_is_run() {
    table("published_stack").check_kinds(&[
        "torsion-constant",
        "torsion-stress",
        "bimetal",
        "bimetal-balance",
        "stoney-correction",
        "stoney-radius",
        "film-on-foil",
        "neutral-plane-cap",
        "channel-crack",
        "edge-crack",
        "debond",
        "spall-factor",
        "spall-depth",
        "board-current",
        "board-width",
        "board-inner",
        "sheet-resistance",
        "corner",
        "thin-film",
        "rigid-strip",
        "silica-index",
        "silicone",
    ]);
}
