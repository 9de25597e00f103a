//! What wrap, oven, life, islands and trace come to in a whole design: properties that hold whatever the numbers.

mod support;

use ogee_design::{
    Assessment, CycleBlock, Design, FaceName, Process, StackLayer, SupportName, Tier, WrapDuty, WrapResult,
};
use support::{assessed, changed, checked, full, layer, live, lived, near, number, sample};

const SAMPLES: [&str; 5] = ["finger-guide", "guided-touch", "supply-trace", "tip-guide", "touch-link"];

fn without_process(name: &str) -> Design {
    changed(name, |d| d.process = None)
}

#[test]
fn without_a_process_nothing_is_left_over() {
    for name in SAMPLES {
        let design = without_process(name);
        let result = live(&design);
        assert!(result.thermal.is_none(), "{name}");
        for layer in &result.wrap.as_ref().expect("a wrap").layers {
            assert_eq!(layer.residual_percent, [0.0; 2], "{name}: {}", layer.name);
        }
        for layer in checked(&design).layers() {
            assert_eq!(
                layer.allowable_strain.to_bits(),
                layer.given_strain.to_bits(),
                "{name}: {}",
                layer.name
            );
        }
        // With one there is something in every layer.
        let made = live(&sample(name));
        for layer in &made.wrap.as_ref().expect("a wrap").layers {
            let [high, low] = layer.residual_percent;
            assert!(high > 0.0 || low < 0.0, "{name}: {layer:?}");
        }
    }
}

/// Margin of the pull = (allowable − residual)/peak, the least over the layers.
#[test]
fn residual_strain_is_taken_off_what_the_pull_may_use() {
    for name in SAMPLES {
        let design = sample(name);
        for tier in [Tier::Live, Tier::Full] {
            let result = assessed(&design, tier);
            let wrap = result.wrap.as_ref().expect("a wrap");
            let given = |name: &str| {
                let layer = wrap.layers.iter().find(|l| l.name == name).expect("the same layers");
                layer.allowable_strain_percent
            };
            let layers = result.section.layers.iter();
            let expected = layers
                .map(|l| (given(&l.name) - l.residual_strain_percent[0]) / l.peak_tensile_strain_percent)
                .fold(f64::INFINITY, f64::min);
            let got = number(&result, "strain-at-target");
            assert!(near(got, expected, 1e-9), "{name}, {tier:?}: margin of {got}, by hand {expected}");
            // The same with what each layer itself sees round its cylinder.
            let wrapped = wrap
                .layers
                .iter()
                .map(|l| (l.allowable_strain_percent - l.residual_percent[0]) / l.wrap_percent[0])
                .filter(|m| *m > 0.0)
                .fold(f64::INFINITY, f64::min);
            assert!(
                number(&result, "wrap") <= wrapped * (1.0 + 1e-9),
                "{name}: {} above {wrapped}",
                number(&result, "wrap")
            );
        }
        // The pull itself knows nothing of the process in the plane: more left over is less to use.
        let (made, bare) = (live(&design), live(&without_process(name)));
        let (with, without) = (number(&made, "strain-at-target"), number(&bare, "strain-at-target"));
        let pull = |r: &Assessment| {
            r.wrap.as_ref().expect("a wrap").layers.iter().map(|l| l.pull_percent).collect::<Vec<_>>()
        };
        assert_eq!(pull(&made), pull(&bare), "{name}");
        assert!(with != without, "{name}: {with} with and without a process");
    }
}

/// A hotter oven leaves more: residual strain is linear in the step from oven to use.
#[test]
fn residual_strain_is_linear_in_the_temperature_step() {
    let left = |oven_c: f64| {
        let design = changed("finger-guide", |d| {
            let names: Vec<String> = d.stack.layers.iter().map(|l| l.name.clone()).collect();
            let mut process = Process::plain(names.iter().map(String::as_str), oven_c);
            (process.service_low_c, process.service_high_c) = (20.0, 20.0);
            d.process = Some(process);
        });
        let result = live(&design);
        result.wrap.expect("a wrap").layers[1].residual_percent
    };
    let (cool, hot) = (left(70.0), left(170.0));
    for i in 0..2 {
        assert!(near(hot[i], 3.0 * cool[i], 1e-6), "{hot:?} at 170 °C, {cool:?} at 70 °C");
    }
    assert!(cool[0].abs().max(cool[1].abs()) > 1e-3, "{cool:?}");
}

/// The thickness that the result offers brings the neutral plane to the middle of core or trace.
#[test]
fn the_balance_offered_puts_the_neutral_plane_into_the_core() {
    for (name, width_um, radius_um) in [
        ("finger-guide", 56.0, 3500.0),
        ("supply-trace", 32.0, 3500.0),
        ("supply-trace", 250.0, 100.0),
        ("tip-guide", 12.0, 200.0),
    ] {
        let start = changed(name, |d| {
            d.process = None;
            d.shape.width_um = width_um;
            // Out of balance, whichever way it was drawn.
            d.stack.layers[0].thickness_um *= 0.7;
            d.duty.wrap = Some(WrapDuty { radius_um, ..WrapDuty::default() });
        });
        let before = live(&start).wrap.expect("a wrap");
        assert!(!before.balance.is_empty(), "{name}: no balance offered");
        for offer in &before.balance {
            let mut design = start.clone();
            assert_eq!(design.stack.layers[offer.index].name, offer.layer);
            design.stack.layers[offer.index].thickness_um = offer.balanced_um;
            let after = live(&design).wrap.expect("a wrap");
            let index = design.stack.layers.iter().position(|l| l.name == offer.into).expect("the layer");
            let of = |w: &WrapResult| [index, index + 1].map(|face| w.faces[face].bonded_percent);
            let (old, new) = (of(&before), of(&after));
            let middle = |[low, high]: [f64; 2]| 0.5 * (low + high);
            assert!(
                middle(new).abs() < 1e-3 * middle(old).abs(),
                "{name}, {width_um} µm wide: {} of {} → {} µm leaves {} % in the middle of {}, before {} %",
                offer.layer,
                offer.thickness_um,
                offer.balanced_um,
                middle(new),
                offer.into,
                middle(old)
            );
            // What is left is its own thickness.
            let own = 50.0 * design.stack.layers[index].thickness_um * after.curvature_per_um.abs();
            assert!(
                near(new[1].abs(), own, 1e-3),
                "{name}: {} % at the face, half a thickness makes {own} %",
                new[0]
            );
        }
    }
}

/// The same part upside down.
fn turned(design: &Design) -> Design {
    let mut turned = design.clone();
    turned.stack.layers.reverse();
    if let Some(wrap) = &mut turned.duty.wrap {
        wrap.face = match wrap.face {
            FaceName::Bottom => FaceName::Top,
            FaceName::Top => FaceName::Bottom,
        };
    }
    turned
}

/// A stack turned over and wrapped on its other face is the same part. So is one that has come out of one oven, where
/// nothing depends on the order of the layers.
#[test]
fn turning_the_ribbon_over_mirrors() {
    let mut curled = 0;
    for name in SAMPLES {
        let upright = changed(name, |d| {
            layer_by_index(d, 0).thickness_um *= 1.4;
            let names: Vec<String> = d.stack.layers.iter().map(|l| l.name.clone()).collect();
            d.process = Some(Process::plain(names.iter().map(String::as_str), 120.0));
        });
        let mut over = turned(&upright);
        let names: Vec<String> = over.stack.layers.iter().map(|l| l.name.clone()).collect();
        over.process = Some(Process::plain(names.iter().map(String::as_str), 120.0));
        let (a, b) = (live(&upright), live(&over));
        for id in ["wrap", "wrap-stretched", "strain-at-target", "stretch-reserve"] {
            let (one, other) = (number(&a, id), number(&b, id));
            assert!(near(one, other, 1e-6), "{name}: {id} of {one}, turned over {other}");
        }
        let (wa, wb) = (a.wrap.as_ref().expect("a wrap"), b.wrap.as_ref().expect("a wrap"));
        assert!(near(wa.curvature_per_um, -wb.curvature_per_um, 1e-9), "{name}");
        let thickness: f64 = upright.stack.layers.iter().map(|l| l.thickness_um).sum();
        assert!(near(wa.neutral_plane_um, thickness - wb.neutral_plane_um, 1e-9), "{name}");
        for one in &wa.layers {
            let other = wb.layers.iter().find(|l| l.name == one.name).expect("the same layers");
            for (x, y) in
                [(one.wrap_percent, other.wrap_percent), (one.residual_percent, other.residual_percent)]
            {
                for i in 0..2 {
                    assert!(
                        (x[i] - y[i]).abs() < 1e-6 * (x[i].abs() + y[i].abs()) + 1e-12,
                        "{name}: {one:?} {other:?}"
                    );
                }
            }
        }
        let curl = |r: &Assessment| r.thermal.as_ref().and_then(|t| t.curl_radius_um);
        assert_eq!(curl(&a).is_some(), curl(&b).is_some(), "{name}");
        if let (Some(one), Some(other)) = (curl(&a), curl(&b)) {
            assert!(near(one, -other, 1e-6), "{name}: curls to {one}, turned over {other}");
            curled += 1;
        }
        // The other face without turning the stack is another wrap.
        let other_face = changed(name, |d| {
            d.stack = upright.stack.clone();
            d.process = upright.process.clone();
            d.duty.wrap = over.duty.wrap;
        });
        let inside_out = live(&other_face).wrap.expect("a wrap");
        assert!(inside_out.curvature_per_um * wa.curvature_per_um < 0.0, "{name}");
    }
    assert!(curled > 0, "none of them curls");
}

fn layer_by_index(design: &mut Design, index: usize) -> &mut StackLayer {
    &mut design.stack.layers[index]
}

/// What every ribbon and every period adds is more edge that must last.
#[test]
fn survival_falls_with_ribbons_and_with_length() {
    let survival = |ribbons: u32, periods: u32| {
        let design = changed("tip-guide", |d| {
            d.process = None;
            d.shape.periods = periods;
            layer(d, "core").width_um = Some(4.0);
            d.light = None;
            d.limits.insertion_loss_db = None;
            if let Some(islands) = &mut d.islands {
                islands.grating = None;
            }
            d.life.as_mut().expect("a life").ribbons = ribbons;
        });
        let result = live(&design);
        let core = lived(&result, "core");
        let (percent, length) =
            (core.survival_percent.expect("brittle"), core.stressed_length_um.expect("brittle"));
        let whole = result.life.as_ref().and_then(|l| l.survival_percent).expect("a brittle layer");
        assert!(near(whole, percent, 1e-12), "the core is the only brittle layer");
        (percent / 100.0, length, core.stress_mpa.expect("brittle"))
    };
    let one = survival(1, 8);
    assert!(one.0 < 0.999_999 && one.0 > 0.0, "survival of {} at {} MPa says nothing", one.0, one.2);
    for (ribbons, periods) in [(2, 8), (10, 8), (1, 16), (4, 40)] {
        let many = survival(ribbons, periods);
        let times = f64::from(ribbons) * f64::from(periods) / 8.0;
        assert!(many.0 < one.0, "{ribbons} ribbons of {periods} periods: {} after {}", many.0, one.0);
        // Every part must last: probabilities multiply where the stress stays.
        if periods == 8 {
            assert!(near(many.0, one.0.powf(times), 1e-9), "{} against {}", many.0, one.0.powf(times));
            assert!(near(many.1, times * one.1, 1e-9));
        }
    }
}

fn damage(design: &Design) -> f64 {
    live(design).life.and_then(|l| l.damage).expect("a metal layer")
}

#[test]
fn damage_is_linear_in_the_counts() {
    for name in ["supply-trace", "guided-touch"] {
        let counted = |counts: &[(f64, f64)]| {
            damage(&changed(name, |d| {
                d.life.as_mut().expect("a life").cycles = counts
                    .iter()
                    .map(|&(to_percent, count)| CycleBlock {
                        from_percent: 0.0,
                        to_percent,
                        count,
                        wrapped: false,
                    })
                    .collect();
            }))
        };
        let (long, short) = (counted(&[(30.0, 1e5)]), counted(&[(20.0, 1e6)]));
        assert!(long > 0.0 && short > 0.0, "{name}: {long} {short}");
        assert!(near(counted(&[(30.0, 7e5)]), 7.0 * long, 1e-12), "{name}");
        let both = counted(&[(30.0, 1e5), (20.0, 1e6)]);
        assert!(near(both, long + short, 1e-12), "{name}: {both} against {long} and {short}");
        assert!(near(counted(&[(20.0, 1e6), (30.0, 1e5)]), both, 1e-12), "{name}: the order of blocks");
        // Up and down again is the same cycle.
        let back = damage(&changed(name, |d| {
            d.life.as_mut().expect("a life").cycles =
                vec![CycleBlock { from_percent: 30.0, to_percent: 0.0, count: 1e5, wrapped: false }];
        }));
        assert!(near(back, long, 1e-12), "{name}: {back} from the far end, {long} from rest");
    }
}

#[test]
fn a_wrapped_block_damages_more() {
    for name in ["supply-trace", "guided-touch"] {
        for tier in [Tier::Live, Tier::Full] {
            let result = |wrapped: bool| {
                let design = changed(name, |d| {
                    d.duty.wrap = Some(WrapDuty { radius_um: 2000.0, ..WrapDuty::default() });
                    d.life.as_mut().expect("a life").cycles =
                        vec![CycleBlock { from_percent: 0.0, to_percent: 25.0, count: 1e5, wrapped }];
                });
                assessed(&design, tier)
            };
            let (flat, round) = (result(false), result(true));
            let of = |r: &Assessment| r.life.as_ref().and_then(|l| l.damage).expect("a metal layer");
            assert!(
                of(&round) > 1.1 * of(&flat),
                "{name}, {tier:?}: {} wrapped, {} flat",
                of(&round),
                of(&flat)
            );
            if tier == Tier::Live {
                // Pull and wrap meet at the worst fibre when the trace is on the outer side or on the inner one, as its
                // worst fibre is pulled or pressed; then half the wrap's strain comes on top.
                let inside = changed(name, |d| {
                    d.duty.wrap =
                        Some(WrapDuty { radius_um: 2000.0, face: FaceName::Top, ..WrapDuty::default() });
                    d.life.as_mut().expect("a life").cycles =
                        vec![CycleBlock { from_percent: 0.0, to_percent: 25.0, count: 1e5, wrapped: true }];
                });
                let trace = |r: &Assessment| lived(r, "trace").blocks[0].amplitude_percent;
                let got = trace(&round).max(trace(&live(&inside)));
                let wrap = round.wrap.as_ref().expect("a wrap");
                let layer = wrap.layers.iter().find(|l| l.name == "trace").expect("the trace");
                let expected = trace(&flat) + 0.5 * layer.wrap_percent[0].max(-layer.wrap_percent[1]);
                assert!(near(got, expected, 0.01), "{name}: {got} % against {expected} %");
            }
        }
    }
}

#[test]
fn resistance_follows_length_stretch_and_current() {
    for name in ["supply-trace", "guided-touch"] {
        let of = |change: &dyn Fn(&mut Design)| {
            live(&changed(name, |d| {
                d.trace.as_mut().expect("a trace").current_ma = 0.0;
                change(d);
            }))
            .trace
            .expect("a trace")
        };
        // Every period adds the same; leads and end bends stay.
        let ohm = |periods: u32| of(&|d| d.shape.periods = periods).rest_ohm;
        let (four, eight, sixteen) = (ohm(4), ohm(8), ohm(16));
        assert!(near(sixteen - eight, 2.0 * (eight - four), 1e-9), "{name}: {four}, {eight}, {sixteen} Ω");
        assert!(near(sixteen, 2.0 * eight, 0.02), "{name}: {sixteen} Ω is not twice {eight} Ω");

        for gauge_factor in [1.0, 2.2, 4.0] {
            for stretch in [10.0, 35.0] {
                let at = of(&|d| {
                    d.trace.as_mut().expect("a trace").gauge_factor = gauge_factor;
                    d.duty.target_stretch_percent = stretch;
                });
                let expected = at.rest_ohm * (1.0 + gauge_factor * at.mean_strain_percent / 100.0);
                assert!(
                    near(at.stretched_ohm, expected, 1e-12),
                    "{name}: {} against {expected}",
                    at.stretched_ohm
                );
                assert!((at.change_percent - gauge_factor * at.mean_strain_percent).abs() < 1e-9, "{name}");
            }
        }
        // I · R of all passes, at whatever temperature the current itself brings.
        for (current_ma, passes) in [(0.5, 1), (2.0, 2), (5.0, 4)] {
            let at = of(&|d| {
                let trace = d.trace.as_mut().expect("a trace");
                (trace.current_ma, trace.passes) = (current_ma, passes);
            });
            let expected = current_ma * at.stretched_ohm * f64::from(passes);
            assert!(near(at.voltage_drop_mv, expected, 1e-12), "{name}: {} mV", at.voltage_drop_mv);
            let power = current_ma * current_ma * at.stretched_ohm * 1e-3;
            assert!(near(at.power_mw, power, 1e-12), "{name}: {} mW", at.power_mw);
            // Warm copper resists more, by its own coefficient.
            let cold = of(&|d| d.trace.as_mut().expect("a trace").passes = passes);
            let rise_k = at.temperature_rise_k.expect("steady");
            let trace = sample(name).trace.expect("a trace");
            let factor = |c: f64| 1.0 + trace.temp_coeff_per_k * (c - 20.0);
            let warm = cold.stretched_ohm * factor(trace.ambient_c + rise_k) / factor(trace.ambient_c);
            assert!(
                rise_k > 0.0 && near(at.stretched_ohm, warm, 1e-9),
                "{name}: {} Ω, {warm}",
                at.stretched_ohm
            );
        }
    }
}

#[test]
fn the_island_thickness_offered_just_meets_strain_and_drift() {
    for name in SAMPLES {
        // Ask for more than the islands give.
        let start = changed(name, |d| {
            let islands = d.islands.as_mut().expect("islands");
            islands.strain_limit_percent = 0.5 * 1e-2;
        });
        let found = live(&start).islands.expect("islands");
        let Some(needed_um) = found.needed_thickness_um else { panic!("{name}: no thickness does it") };
        let with = |factor: f64| {
            let mut design = start.clone();
            design.islands.as_mut().expect("islands").thickness_um = factor * needed_um;
            live(&design)
        };
        let (met, more, less) = (with(1.0), with(1.02), with(0.98));
        let least = |r: &Assessment| {
            let drift = r.margins.iter().find(|m| m.id == "grating-drift").and_then(|m| m.margin);
            drift.unwrap_or(f64::INFINITY).min(number(r, "island-strain"))
        };
        assert!(near(least(&met), 1.0, 1e-4), "{name}: {needed_um} µm leave a margin of {}", least(&met));
        assert!(least(&more) > 1.0 && least(&less) < 1.0, "{name}: {} and {}", least(&more), least(&less));
        if let Some(modulus_mpa) = found.needed_modulus_mpa {
            let mut design = start.clone();
            design.islands.as_mut().expect("islands").modulus_mpa = modulus_mpa;
            let stiff = live(&design);
            assert!(near(least(&stiff), 1.0, 1e-3), "{name}: {modulus_mpa} MPa leave {}", least(&stiff));
        }
    }
    // The drift limit alone decides where it is the tighter one.
    let drifting = changed("finger-guide", |d| {
        let islands = d.islands.as_mut().expect("islands");
        islands.grating.as_mut().expect("a grating").drift_limit_nm = 0.1;
    });
    let needed_um = live(&drifting).islands.and_then(|i| i.needed_thickness_um).expect("some thickness");
    let mut design = drifting;
    design.islands.as_mut().expect("islands").thickness_um = needed_um;
    let met = live(&design);
    assert!(near(number(&met, "grating-drift"), 1.0, 1e-4), "{}", number(&met, "grating-drift"));
    assert!(number(&met, "island-strain") > 1.0);
}

#[test]
fn the_sheet_stretch_allowed_brings_exactly_the_target() {
    for name in SAMPLES {
        let found = live(&sample(name)).islands.expect("islands");
        assert!(found.amplification > 1.0 && found.amplification <= found.amplification_rigid, "{name}");
        let at = changed(name, |d| {
            d.islands.as_mut().expect("islands").sheet_stretch_percent = found.sheet_stretch_allowed_percent;
        });
        let result = live(&at);
        let ribbon = result.islands.as_ref().expect("islands").ribbon_stretch_percent;
        assert!(near(ribbon, at.duty.target_stretch_percent, 1e-9), "{name}: {ribbon} %");
        assert!(near(number(&result, "ribbon-stretch"), 1.0, 1e-9), "{name}");
    }
}

/// Kept in its plane, the ribbon is what the live model takes it for.
#[test]
fn live_and_full_agree_in_the_plane() {
    for name in SAMPLES {
        let design = changed(name, |d| d.support.kind = SupportName::FreeInPlane);
        let (quick, whole) = (live(&design), full(&design));
        let agree = |what: &str, a: f64, b: f64| {
            assert!((a - b).abs() <= 0.1 * b.abs().max(1e-6), "{name}: {what}: {a} live, {b} full");
        };
        agree(
            "peak strain",
            quick.stretch.peak_tensile_strain_percent,
            whole.stretch.peak_tensile_strain_percent,
        );
        for id in ["strain-at-target", "wrap", "wrap-stretched"] {
            agree(id, number(&quick, id), number(&whole, id));
        }
        if let (Some(a), Some(b)) = (&quick.trace, &whole.trace) {
            agree("resistance", a.stretched_ohm, b.stretched_ohm);
            // A tall meander bends: hardly any of the pull is left for the middle of its section.
            let (x, y) = (a.mean_strain_percent, b.mean_strain_percent);
            assert!((x - y).abs() < 0.01, "{name}: mean strain of {x} % live, {y} % full");
        }
        if let (Some(a), Some(b)) = (&quick.life, &whole.life) {
            for (a, b) in a.layers.iter().zip(&b.layers) {
                assert_eq!(a.name, b.name);
                for (x, y) in a.blocks.iter().zip(&b.blocks) {
                    agree(&format!("amplitude in {}", a.name), x.amplitude_percent, y.amplitude_percent);
                }
                if let (Some(x), Some(y)) = (a.stressed_length_um, b.stressed_length_um) {
                    agree("stressed length", x, y);
                }
            }
        }
        assert_eq!(quick.thermal.is_some(), whole.thermal.is_some(), "{name}");
        if let (Some(a), Some(b)) = (&quick.thermal, &whole.thermal) {
            assert_eq!((&a.steps, a.curl_radius_um), (&b.steps, b.curl_radius_um), "{name}");
        }
        assert_eq!(quick.islands, whole.islands, "{name}");
    }
}
