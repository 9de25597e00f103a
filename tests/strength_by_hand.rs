//! Oven, life and trace of a whole design against the same worked out by hand from the shape and the layers.

mod support;

use ogee_design::{
    BaseName, Caches, CycleBlock, Elastomer, FaceName, FamilyName, RibbonPoint, SupportName, WrapDuty,
    period_state,
};
use ogee_stack::{Birth, Film, FilmModulus, Step, run};
use support::{changed, checked, full, layer, live, lived, near, sample};

/// The process of the finger guide followed by hand, with its films as they lie.
#[test]
fn the_process_is_that_of_the_stack_crate() {
    let design = sample("finger-guide");
    let result = live(&design);
    let thermal = result.thermal.as_ref().expect("a process");
    let (soft, stiff) = ((900.0, 0.4, 90e-6), (2400.0, 0.36, 70e-6));
    let film = |name: &str, [bottom_um, top_um]: [f64; 2], share, (modulus_mpa, poisson, cte_per_k)| Film {
        name: name.to_owned(),
        bottom_um,
        top_um,
        share,
        modulus_mpa,
        poisson,
        cte_per_k,
    };
    let core_share = 1.2 / 56.0;
    let films = [
        film("handle", [-525.0, 0.0], 1.0, (160_000.0, 0.22, 2.6e-6)),
        film("lower", [0.0, 6.0], 1.0, soft),
        film("core", [6.0, 6.95], core_share, stiff),
        film("beside", [6.0, 6.95], 1.0 - core_share, soft),
        film("upper", [6.95, 12.95], 1.0, soft),
    ];
    let born = |films: &[usize], temperature_c| Step::Deposit {
        films: films.iter().map(|&film| Birth { film, intrinsic_mpa: 0.0 }).collect(),
        temperature_c,
    };
    let steps = [
        born(&[0], 60.0),
        born(&[1], 60.0),
        born(&[2], 70.0),
        born(&[3, 4], 60.0),
        Step::Bring { temperature_c: 20.0 },
        Step::Bring { temperature_c: 20.0 },
        Step::Remove { films: vec![0] },
    ];
    let history = run(&films, FilmModulus::Biaxial, &steps).expect("a possible process");
    let after = [1, 2, 3, 4, 6];
    assert_eq!(thermal.steps.len(), after.len());
    let same = |got: f64, hand: f64| (got - hand).abs() <= 1e-9 * hand.abs() + 1e-12;
    let rows = [(1, "lower cladding"), (2, "core"), (4, "upper cladding")];
    for (step, &number) in thermal.steps.iter().zip(&after) {
        let state = &history.states[number];
        assert!(same(step.temperature_c, state.temperature_c), "{}", step.words);
        assert!(
            same(step.curvature_per_um, state.curvature_per_um),
            "{}: {}",
            step.words,
            step.curvature_per_um
        );
        let bow =
            state.present.contains(&0).then(|| 0.5 * state.curvature_per_um.abs() * 50_000.0_f64.powi(2));
        assert_eq!(step.bow_um.is_some(), bow.is_some(), "{}", step.words);
        assert!(same(step.bow_um.unwrap_or(0.0), bow.unwrap_or(0.0)), "{}: {:?} µm", step.words, step.bow_um);
        let present: Vec<_> = rows.iter().filter(|(film, _)| state.present.contains(film)).collect();
        assert_eq!(present.len(), step.layers.len(), "{}", step.words);
        for ((film, name), layer) in present.iter().zip(&step.layers) {
            let hand = state.film(*film).expect("present");
            assert_eq!(layer.name, *name);
            let pairs = [
                (layer.stress_mpa[0], hand.stress_bottom_mpa),
                (layer.stress_mpa[1], hand.stress_top_mpa),
                (layer.strain_percent[0], 100.0 * hand.strain_bottom),
                (layer.strain_percent[1], 100.0 * hand.strain_top),
            ];
            assert!(pairs.iter().all(|&(got, hand)| same(got, hand)), "{}: {layer:?} {hand:?}", step.words);
        }
    }
    // What is left in the core: the worst of held flat and free, cold and warm.
    let mut range = [f64::NEG_INFINITY, f64::INFINITY];
    for temperature_c in [5.0, 45.0] {
        // Wrapped or pulled straight, the ribbon is held from curling.
        let state = history.wrapped(6, temperature_c, 0.0).expect("a state");
        let core = state.film(2).expect("present");
        range[0] = range[0].max(core.strain_bottom.max(core.strain_top));
        range[1] = range[1].min(core.strain_bottom.min(core.strain_top));
    }
    let core = &result.wrap.as_ref().expect("a wrap").layers[1];
    for i in 0..2 {
        assert!(same(core.residual_percent[i], 100.0 * range[i]), "{core:?} against {range:?}");
    }
}

/// The strain amplitude of the trace by hand: the fibre at its edges from the drawn period at both ends of the cycle.
#[test]
fn the_amplitude_of_a_cycle_by_hand() {
    for (name, from_percent, to_percent) in
        [("supply-trace", 0.0, 35.0), ("supply-trace", 10.0, 40.0), ("guided-touch", 0.0, 30.0)]
    {
        let design = changed(name, |d| {
            d.life.as_mut().expect("a life").cycles =
                vec![CycleBlock { from_percent, to_percent, count: 1e5, wrapped: false }];
            layer(d, "trace").offset_um = 2.5;
        });
        let half_um = 0.5 * layer(&mut design.clone(), "trace").width_um.expect("a narrow trace");
        let known = checked(&design);
        // The factor of the clamped ends belongs to a stretch: as the target it is told.
        let factor = |percent: f64| {
            if percent == 0.0 {
                return 1.0;
            }
            let mut at = design.clone();
            at.duty.target_stretch_percent = percent;
            live(&at).stretch.end_factor
        };
        let state =
            |percent: f64| period_state(&known, percent / 100.0, &mut Caches::new()).expect("a state");
        let (from, to) = (state(from_percent), state(to_percent));
        let (low, high) = (factor(from_percent), factor(to_percent));
        let mut fibres = Vec::new();
        assert!(from.period.len() > 150 && from.period.len() == to.period.len());
        for (a, b) in from.period.iter().zip(&to.period) {
            for y_um in [2.5 - half_um, 2.5 + half_um] {
                let strain = |p: &RibbonPoint| {
                    let change = p.kappa_per_um - p.kappa_rest_per_um;
                    (p.axial_strain - y_um * change) / (1.0 - y_um * p.kappa_rest_per_um)
                };
                let (x, y) = (low * strain(a), high * strain(b));
                fibres.push(((y - x).abs(), 0.5 * (x + y)));
            }
        }
        // Of the fibres with nearly the greatest range the one that is most in tension.
        let most = fibres.iter().map(|f| f.0).fold(0.0, f64::max);
        let mean =
            fibres.iter().filter(|f| f.0 >= 0.99 * most).map(|f| f.1).fold(f64::NEG_INFINITY, f64::max);
        let result = live(&design);
        let trace = lived(&result, "trace");
        let got = trace.blocks[0].amplitude_percent;
        let hand = 50.0 * most;
        assert!(hand > 0.05 && near(got, hand, 1e-3), "{name}: {got} %, by hand {hand} %");
        let layers = &result.section.layers;
        let residual = layers.iter().find(|l| l.name == "trace").expect("the trace").residual_strain_percent;
        let mean = 100.0 * mean + 0.5 * (residual[0] + residual[1]);
        assert!(
            near(trace.blocks[0].mean_percent, mean, 2e-2),
            "{name}: {} against {mean}",
            trace.blocks[0].mean_percent
        );
    }
}

/// The squares of the trace from a polyline of its own middle, point by point.
#[test]
fn the_squares_of_a_trace_by_hand() {
    for (name, offset_um) in [("supply-trace", 0.0), ("supply-trace", 8.0), ("guided-touch", 6.0)] {
        let design = changed(name, |d| layer(d, "trace").offset_um = offset_um);
        let width_um = layer(&mut design.clone(), "trace").width_um.expect("a narrow trace");
        let line = checked(&design).centreline().clone();
        let length_um = line.contour_length_um();
        let points: Vec<[f64; 2]> = (0..=20_000)
            .map(|i| {
                let p = line.at(length_um * f64::from(i) / 20_000.0);
                [p.x_um - offset_um * p.phi_rad.sin(), p.y_um + offset_um * p.phi_rad.cos()]
            })
            .collect();
        let path_um: f64 = points.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum();
        let found = live(&design).trace.expect("a trace");
        // Bends save a little: the current cuts their corners. A trace this narrow saves less than a thousandth.
        let hand = path_um / width_um;
        assert!(
            found.squares <= hand * (1.0 + 1e-4) && near(found.squares, hand, 2e-3),
            "{name} at {offset_um} µm: {} squares, by hand {hand}",
            found.squares
        );
        let rest = found.sheet_resistance_ohm * found.squares;
        assert!(near(found.rest_ohm, rest, 1e-12), "{name}");
    }
}

/// A tall meander takes the pull by bending, and its resistance hardly changes; one that is pulled straight is stretched
/// as a wire, and its resistance grows with every per cent.
#[test]
fn resistance_grows_where_the_metal_itself_is_stretched() {
    let mut last = 0.0;
    for target_percent in [5.0, 10.0, 15.0, 20.0] {
        let design = changed("supply-trace", |d| {
            d.shape.family = FamilyName::Sine;
            d.shape.tilt_deg = None;
            d.shape.amplitude_um = 40.0;
            d.trace.as_mut().expect("a trace").current_ma = 0.0;
            d.duty.target_stretch_percent = target_percent;
        });
        let trace = live(&design).trace.expect("a trace");
        let state =
            period_state(&checked(&design), target_percent / 100.0, &mut Caches::new()).expect("a state");
        // By the trapezium rule over the drawn period.
        let sum: f64 = state
            .period
            .windows(2)
            .map(|w| 0.5 * (w[0].axial_strain + w[1].axial_strain) * (w[1].s_um - w[0].s_um))
            .sum();
        let hand = 100.0 * sum / state.period_contour_um;
        assert!(
            near(trace.mean_strain_percent, hand, 0.01),
            "at {target_percent} %: mean strain of {} %, by hand {hand} %",
            trace.mean_strain_percent
        );
        // Straight, the way between the crossings is all there is.
        let straight = 100.0 * (state.pitch_um / state.period_contour_um - 1.0);
        if target_percent > 15.0 {
            assert!(near(hand, straight, 0.1), "{hand} % against {straight} % of a straight wire");
        }
        let expected = trace.rest_ohm * (1.0 + 2.2 * hand / 100.0);
        assert!(near(trace.stretched_ohm, expected, 1e-3), "{} Ω, by hand {expected} Ω", trace.stretched_ohm);
        assert!(
            trace.stretched_ohm > last,
            "at {target_percent} %: {} Ω after {last} Ω",
            trace.stretched_ohm
        );
        last = trace.stretched_ohm;
    }
    for name in ["supply-trace", "guided-touch"] {
        let change = live(&sample(name)).trace.expect("a trace").change_percent;
        assert!(change.abs() < 0.1, "{name}: {change} %");
    }
}

/// A brittle core breaks where it is pulled most: on the inner edge of a bend that is being straightened, on the outer edge
/// of one that is being closed. So it does where a wrap presses it, although its other edge then goes through more.
#[test]
fn a_brittle_core_breaks_where_it_is_pulled() {
    for (percent, edge, wrapped) in
        [(35.0, "inner edge", false), (-15.0, "outer edge", false), (35.0, "inner edge", true)]
    {
        let design = changed("tip-guide", |d| {
            d.process = None;
            d.light = None;
            d.limits.insertion_loss_db = None;
            layer(d, "core").width_um = Some(4.0);
            d.life.as_mut().expect("a life").cycles =
                vec![CycleBlock { from_percent: 0.0, to_percent: percent, count: 1e5, wrapped }];
            if wrapped {
                layer(d, "lower cladding").thickness_um = 6.0;
                d.duty.wrap = Some(WrapDuty { radius_um: 800.0, face: FaceName::Top, length_um: None });
            }
        });
        let state = period_state(&checked(&design), percent / 100.0, &mut Caches::new()).expect("a state");
        // Greatest strain of both edges of the core over the first quarter, and the edge that has it.
        let quarter = &state.period[..state.period.len() / 4];
        let pulled = |p: &RibbonPoint, y_um: f64| {
            (p.axial_strain - y_um * (p.kappa_per_um - p.kappa_rest_per_um))
                / (1.0 - y_um * p.kappa_rest_per_um)
        };
        let greatest = |y_um: f64| quarter.iter().map(|p| pulled(p, y_um)).fold(f64::NEG_INFINITY, f64::max);
        let (left, right) = (greatest(2.0), greatest(-2.0));
        let result = live(&design);
        let core = lived(&result, "core");
        let offset_um = core.place.offset_um.expect("an edge");
        let edge_um = if left > right { 2.0 } else { -2.0 };
        assert!(
            near(offset_um, edge_um, 1e-9),
            "at {offset_um} µm, by hand {edge_um}: {left} left, {right} right"
        );
        assert!(core.place.words.contains(edge), "{:?}", core.place);
        let stress_mpa = 60_000.0 * left.max(right);
        let got = core.stress_mpa.expect("brittle");
        // Clamped ends raise it by as much as a third.
        assert!(
            wrapped || got > stress_mpa && got < 1.34 * stress_mpa,
            "{got} MPa, by hand {stress_mpa} MPa"
        );
    }
}

/// Bonded to an elastomer the ribbon is bent with it, right up to its outer face, however thicknesses add up.
#[test]
fn a_bonded_ribbon_is_bent_with_its_elastomer() {
    for embedded in [false, true] {
        for bed_um in [100.0, 200.0, 250.0, 333.3, 500.0] {
            let design = changed("tip-guide", |d| {
                d.duty.wrap.as_mut().expect("a wrap").radius_um = 5000.0;
                d.support.kind = SupportName::Bonded;
                d.support.elastomer = Some(Elastomer {
                    base: BaseName::None,
                    thickness_um: bed_um,
                    embedded,
                    ..Elastomer::default()
                });
            });
            let result = live(&design);
            let wrap = result.wrap.as_ref().expect("a wrap");
            let sides = if embedded { 2.0 } else { 1.0 };
            assert!(near(wrap.thickness_um, 6.35 + sides * bed_um, 1e-9), "{} µm", wrap.thickness_um);
            let face = wrap.faces.iter().find(|f| (f.z_um - 6.35).abs() < 1e-6).expect("the ribbon's top");
            let layer = wrap.layers.last().expect("layers");
            assert!(layer.name == "upper cladding" && face.middle_percent != 0.0);
            let [high, low] = layer.wrap_percent;
            let slack = 1e-9 + 1e-6 * face.middle_percent.abs();
            assert!(
                low - slack <= face.middle_percent && face.middle_percent <= high + slack,
                "{bed_um} µm: {layer:?} without {} % at its top",
                face.middle_percent
            );
        }
    }
}

/// A ribbon that is kept in its plane has no curl in its strain: the full tier's cycles are those of the live one.
#[test]
fn the_curl_of_a_released_ribbon_is_no_strain_of_one_kept_flat() {
    let design = changed("supply-trace", |d| {
        d.shape.periods = 4;
        d.life.as_mut().expect("a life").cycles =
            vec![CycleBlock { from_percent: 0.0, to_percent: 20.0, count: 1e5, wrapped: false }];
        d.support.kind = SupportName::FreeInPlane;
    });
    let (quick, whole) = (live(&design), full(&design));
    let curl_um = quick.thermal.as_ref().and_then(|t| t.curl_radius_um).expect("it curls when let go");
    assert!(curl_um.abs() < 50_000.0, "{curl_um} µm");
    let amplitude = |a: &ogee_design::Assessment| lived(a, "trace").blocks[0].amplitude_percent;
    let mean = |a: &ogee_design::Assessment| lived(a, "trace").blocks[0].mean_percent;
    assert!(near(amplitude(&quick), amplitude(&whole), 0.15), "{} {}", amplitude(&quick), amplitude(&whole));
    assert!(
        (mean(&quick) - mean(&whole)).abs() < 0.3 * amplitude(&quick),
        "{} {}",
        mean(&quick),
        mean(&whole)
    );
}
