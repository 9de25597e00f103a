//! What people in the trade know of such ribbons: a sensible design meets it, the same materials laid out without thought
//! miss it.
//!
//! Every fact here is common practice and has no source: the program was not fitted to any of them.

mod support;

use ogee_design::{Assessment, Design, FamilyName, Process, StackLayer, WrapDuty, library};
use support::{bare, changed, full, layer, library_layer, live, margin, near, number, sample};

/// The meander drawn shallow: what fits the span without a thought for strain.
fn shallow(design: &mut Design, amplitude_um: f64) {
    design.shape.family = FamilyName::Sine;
    design.shape.amplitude_um = amplitude_um;
    (design.shape.radius_um, design.shape.tilt_deg, design.shape.plateau_share) = (None, None, None);
}

/// Stretch at which the first layer reaches what it may see, %, as the check of the stretch reserve has it.
fn reach_percent(result: &Assessment) -> f64 {
    margin(result, "stretch-reserve").value.unwrap_or_else(|| panic!("{}: no stretch reserve", result.design))
}

/// Common practice, no source: such ribbons stretch beyond 40 %. As drawn they do, by the models of the whole ribbon; the
/// same layers in a shallow wave of the same pitch do not come near.
#[test]
fn ribbons_stretch_beyond_forty_percent() {
    for (name, amplitude_um) in [("supply-trace", 100.0), ("tip-guide", 35.0)] {
        let aim = |d: &mut Design| d.duty.target_stretch_percent = 42.0;
        let good = full(&changed(name, aim));
        let naive = full(&changed(name, |d| {
            aim(d);
            shallow(d, amplitude_um);
        }));
        let (met, missed) = (number(&good, "strain-at-target"), number(&naive, "strain-at-target"));
        assert!(
            met > 1.0 && missed < 0.5,
            "{name}: margin at 42 % of {met:.3} as drawn, {missed:.3} in a shallow wave"
        );
        let (far, near) = (reach_percent(&good), reach_percent(&naive));
        assert!(
            far > 42.0 && near < 20.0,
            "{name}: reaches {far:.1} % as drawn, {near:.1} % in a shallow wave"
        );
    }
}

/// Common practice, no source: they wrap round radii down to 0.2 mm. The glass core of the tip guide does so in the
/// middle of its stack, stretched too, and would break if the same polymer lay all on one side of it.
#[test]
fn ribbons_wrap_round_a_fifth_of_a_millimetre() {
    let good = sample("tip-guide");
    let radius_um = good.duty.wrap.expect("it wraps").radius_um;
    assert!(radius_um <= 200.0, "the tip guide is made for {radius_um} µm");
    let good = full(&good);
    let unbalanced = full(&changed("tip-guide", |d| {
        layer(d, "lower cladding").thickness_um = 5.8;
        layer(d, "upper cladding").thickness_um = 0.2;
    }));
    let (met, missed) = (number(&good, "wrap"), number(&unbalanced, "wrap"));
    assert!(met > 1.0 && missed < 0.6, "wrap margin of {met:.3} balanced, {missed:.3} unbalanced");
    let stretched = number(&good, "wrap-stretched");
    assert!(stretched > 1.0, "wrap margin of {stretched:.3} while stretched");
    let least = |result: &Assessment| result.wrap.as_ref().and_then(|w| w.least_radius_um);
    let (small, large) = (least(&good).expect("some radius"), least(&unbalanced).expect("some radius"));
    assert!(
        small < 200.0 && large > 200.0,
        "least radius of {small:.0} µm balanced, {large:.0} µm unbalanced"
    );
    let governing = |result: &Assessment| result.wrap.as_ref().and_then(|w| w.governing_layer.clone());
    assert_eq!(governing(&unbalanced).as_deref(), Some("core"), "the glass breaks first");
}

/// How many cycles the metal typically lasts: how often the duty list can be gone through, times its cycles.
fn typical_cycles(result: &Assessment) -> f64 {
    let life = result.life.as_ref().expect("a life is asked for");
    life.repeats.unwrap_or_else(|| panic!("{}: cycles without number", result.design))[1] * life.cycles_asked
}

/// Common practice, no source: they outlive hundreds of thousands of cycles. A narrow trace in a tall meander does; the same
/// copper as wide as its ribbon, or in a shallow meander, does not.
#[test]
fn ribbons_outlive_hundreds_of_thousands_of_cycles() {
    for (name, amplitude_um) in [("supply-trace", 220.0), ("guided-touch", 300.0)] {
        let good = full(&sample(name));
        let asked = good.life.as_ref().expect("a life is asked for").cycles_asked;
        assert!(asked >= 2e5, "{name} asks for {asked} cycles only");
        let wide = full(&changed(name, |d| {
            let trace = layer(d, "trace");
            (trace.width_um, trace.sides) = (None, None);
        }));
        let flat = full(&changed(name, |d| shallow(d, amplitude_um)));
        let met = (number(&good, "cycles"), typical_cycles(&good));
        assert!(met.0 > 1.0 && met.1 > 2e5, "{name}: margin of {:.3}, {:.2e} cycles", met.0, met.1);
        for (how, result) in [("as wide as its ribbon", &wide), ("shallow", &flat)] {
            let missed = (number(result, "cycles"), typical_cycles(result));
            assert!(
                missed.0 < 0.3 && missed.1 < 1e5,
                "{name}, trace {how}: margin of {:.3}, {:.2e} cycles, against {:.3}, {:.2e} as drawn",
                missed.0,
                missed.1,
                met.0,
                met.1
            );
        }
    }
}

/// Layers from the bottom up, wrapped round a radius in mm.
fn wrapped(name: &str, layers: Vec<StackLayer>, radius_mm: f64) -> Assessment {
    let mut design = bare(name, layers);
    design.duty.wrap = Some(WrapDuty { radius_um: 1000.0 * radius_mm, ..WrapDuty::default() });
    live(&design)
}

/// Common practice, no source: semiconductor membranes below 200 nm are flexible. Silicon of 200 nm and less on a thin
/// polymer goes round a few millimetres and less; a wafer of 100 µm of the same silicon breaks there.
#[test]
fn semiconductor_membranes_are_flexible() {
    for thickness_um in [0.2, 0.1, 0.05] {
        let layers = || {
            vec![
                library_layer("carrier", "polyimide", 2.0),
                library_layer("membrane", "silicon", thickness_um),
            ]
        };
        for radius_mm in [3.0, 1.0, 0.3] {
            let thin = number(&wrapped("membrane", layers(), radius_mm), "wrap");
            let wafer = wrapped("wafer", vec![library_layer("wafer", "silicon", 100.0)], radius_mm);
            let thick = number(&wafer, "wrap");
            assert!(
                thin > 1.0 && thick < 0.5,
                "round {radius_mm} mm: margin of {thin:.3} with {thickness_um} µm on polyimide, {thick:.3} with a wafer"
            );
        }
        let least = |result: Assessment| result.wrap.and_then(|w| w.least_radius_um).expect("some radius");
        let thin_um = least(wrapped("membrane", layers(), 1.0));
        let thick_um = least(wrapped("wafer", vec![library_layer("wafer", "silicon", 100.0)], 1.0));
        assert!(thin_um < 1000.0 && thick_um > 10_000.0, "least radius of {thin_um:.0} and {thick_um:.0} µm");
    }
}

/// Common practice, no source: going round a pencil is the usual quick trial. It is the wrap that a new design starts
/// with; every sample goes round one, and a thick, stiff, one-sided stack of the same materials does not.
#[test]
fn a_pencil_is_the_usual_quick_trial() {
    let pencil = WrapDuty::default();
    assert!(
        (6000.0..=9000.0).contains(&(2.0 * pencil.radius_um)),
        "a pencil of {} µm",
        2.0 * pencil.radius_um
    );
    let trials = [
        ("finger-guide", "lower cladding", 150.0),
        ("guided-touch", "lower cladding", 60.0),
        ("supply-trace", "carrier", 125.0),
        ("tip-guide", "lower cladding", 60.0),
        ("touch-link", "lower cladding", 150.0),
    ];
    for (name, below, thickness_um) in trials {
        let round = |d: &mut Design| d.duty.wrap = Some(pencil);
        let good = number(&live(&changed(name, round)), "wrap");
        let naive = number(
            &live(&changed(name, |d| {
                round(d);
                layer(d, below).thickness_um = thickness_um;
            })),
            "wrap",
        );
        assert!(
            good > 1.0 && naive < 1.0,
            "{name} round a pencil: margin of {good:.3} as drawn, {naive:.3} on {thickness_um} µm"
        );
    }
}

/// Expansion of a crown glass, 1e-6/K (from memory, 7 to 9).
const CROWN_PPM_PER_K: f64 = 8.0;

/// Common practice, no source: elastomers expand one to two orders of magnitude more than optical glass. So they do against
/// crown glass, and against glasses that pass the infrared; against silica it is two to three orders.
#[test]
fn elastomers_expand_orders_of_magnitude_more_than_glass() {
    let expansion =
        |id: &str| library().find(id).and_then(|m| m.layer_values(None).cte_ppm_per_k).expect("known");
    for rubber in ["pdms", "polyurethane", "sebs"] {
        for (glass, ppm_per_k, [low, high]) in
            [("crown", CROWN_PPM_PER_K, [10.0, 100.0]), ("silica", expansion("silica"), [100.0, 1000.0])]
        {
            let ratio = expansion(rubber) / ppm_per_k;
            assert!((low..high).contains(&ratio), "{rubber} expands {ratio:.1} times as much as {glass}");
        }
        let infrared = expansion(rubber) / expansion("chalcogenide-ge-sb-se");
        assert!((10.0..100.0).contains(&infrared), "{rubber}: {infrared:.1} times");
        // The plain polymers do not: this is of elastomers.
        let plain = expansion("polyimide") / CROWN_PPM_PER_K;
        assert!(plain < 10.0, "polyimide expands {plain:.1} times as much");
    }
}

/// A film of glass made at 20 °C on a sheet of rubber of 1 mm, with or without a buffer of epoxy, and used warm.
fn on_rubber(glass: StackLayer, buffer_um: Option<f64>, warm_c: f64) -> Assessment {
    let mut layers = vec![library_layer("rubber", "pdms", 1000.0)];
    layers.extend(buffer_um.map(|t| library_layer("buffer", "epoxy-resist", t)));
    layers.push(glass);
    let names: Vec<String> = layers.iter().map(|l| l.name.clone()).collect();
    let mut design = bare("glass on rubber", layers);
    let mut process = Process::plain(names.iter().map(String::as_str), 20.0);
    process.service_high_c = warm_c;
    design.process = Some(process);
    // Heat alone, but for a hair: a film as wide as its ribbon is not there to be pulled.
    design.duty.target_stretch_percent = 0.01;
    live(&design)
}

/// Common practice, no source: a glass film straight on rubber cracks when the rubber expands, and a buffer between
/// them helps. Straight on it no thickness is safe, so there is no number; on a buffer there is one, and the film keeps to it.
#[test]
fn glass_on_rubber_cracks_and_a_buffer_helps() {
    let silica = || library_layer("glass", "silica", 0.3);
    let crown = || StackLayer {
        modulus_mpa: 80_000.0,
        poisson_ratio: 0.21,
        cte_ppm_per_k: Some(CROWN_PPM_PER_K),
        toughness_mpa_sqrt_m: Some(0.85),
        allowable_strain_percent: 0.2,
        thickness_um: 0.3,
        ..StackLayer::plain("glass")
    };
    for (name, glass) in [("silica", silica()), ("crown", crown())] {
        let straight = on_rubber(glass.clone(), None, 60.0);
        let check = margin(&straight, "cracking");
        assert!(!check.passes && check.margin.is_none(), "{name} straight on rubber: {check:?}");
        let why = check.why_absent.clone().unwrap_or_default();
        assert!(why.contains("no crack-safe thickness"), "{name}: {why}");

        let buffered = on_rubber(glass.clone(), Some(10.0), 60.0);
        let met = number(&buffered, "cracking");
        let thermal = buffered.thermal.as_ref().expect("a process");
        let crack = thermal.cracks.iter().find(|c| c.layer == "glass").expect("its toughness is known");
        assert!(crack.stress_mpa > 20.0, "{name}: the rubber pulls by {} MPa only", crack.stress_mpa);
        let critical_um = crack.critical_thickness_um.expect("a number with the buffer");
        assert!(
            met > 1.0 && critical_um > glass.thickness_um,
            "{name} on a buffer: margin of {met:.3}, cracks from {critical_um:.3} µm on"
        );
        // What the buffer is for is said next to it.
        assert_eq!(crack.critical_without_buffer_um, None, "{name}: {crack:?}");
        assert!(crack.words.contains("without the layer below: no crack-safe thickness"), "{}", crack.words);

        // A buffer is no licence: used up to 180 °C, four times as far from 20 °C, the film cracks on it too.
        let missed = number(&on_rubber(glass, Some(10.0), 180.0), "cracking");
        assert!(
            missed < 1.0 && near(missed, met / 16.0, 0.02),
            "{name}: margin of {missed:.3} up to 180 °C, {met:.3} up to 60 °C"
        );
    }
}
