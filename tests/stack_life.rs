//! Strength and life: a table of cases, and laws that hold for all of them.

use std::f64::consts::PI;

use ogee_stack::{
    Cycles, DutyBlock, FoilDuctility, HoldLife, StaticFatigue, StrainCycle, StrainLife, Waveform, Weibull,
    duty_repeats, failure_of_many, miner_damage, survival_of_many,
};
use ogee_tests::{Case, table};
use proptest::{prelude::*, test_runner::RngSeed};
use serde::Deserialize;
use serde_json::Value;

/// Gauss points and weights on 0..1, exact to degree 9.
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

const TEN_YEARS_S: f64 = 10.0 * 365.25 * 86_400.0;

fn list<T: for<'de> Deserialize<'de>>(value: &Value) -> Vec<T> {
    serde_json::from_value(value.clone()).expect("the table lists these")
}

fn metal(case: &Case) -> StrainLife {
    StrainLife::new(
        case.number("fatigue_strength_mpa"),
        case.number("b"),
        case.number("fatigue_ductility"),
        case.number("c"),
    )
    .expect("a sound law")
}

fn count(cycles: Cycles) -> f64 {
    cycles.count().unwrap_or_else(|| panic!("{cycles} where a number is expected"))
}

fn seconds(life: HoldLife) -> f64 {
    life.seconds().unwrap_or_else(|| panic!("{life} where a time is expected"))
}

#[test]
fn strain_lives() {
    table("stack_life").check("strain_life", 3, |case, checks| {
        let modulus_mpa = case.number("modulus_mpa");
        let cycles =
            metal(case).cycles(case.number("strain_amplitude"), case.number("mean_stress_mpa"), modulus_mpa);
        checks.number("cycles", count(cycles.expect("sound inputs")));
        checks.number(
            "transition_cycles",
            count(metal(case).transition(modulus_mpa).expect("a sound modulus")),
        );
    });
}

#[test]
fn foil_lives() {
    table("stack_life").check("foil_ductility", 2, |case, checks| {
        let foil = FoilDuctility::new(case.number("fatigue_ductility"), case.number("ultimate_mpa"));
        let cycles =
            foil.and_then(|foil| foil.cycles(case.number("strain_range"), case.number("modulus_mpa")));
        checks.number("cycles", count(cycles.expect("sound inputs")));
    });
}

/// A piece of edge as the table lists it.
#[derive(Clone, Debug, Deserialize)]
struct Segment {
    length_um: f64,
    profile: String,
    peak_stress_mpa: f64,
}

impl Segment {
    /// Stress and length of many short pieces.
    fn pieces(&self) -> Vec<(f64, f64)> {
        const PANELS: usize = 40;
        let shape = |place: f64| match self.profile.as_str() {
            "uniform" => 1.0,
            "sine_half" => (PI * place).sin(),
            "linear" => place,
            other => panic!("profile {other}"),
        };
        let panel = |index: usize| {
            GAUSS.map(|(place, weight)| {
                let share = (index as f64 + place) / PANELS as f64;
                (self.peak_stress_mpa * shape(share), self.length_um * weight / PANELS as f64)
            })
        };
        (0..PANELS).flat_map(panel).collect()
    }
}

#[test]
fn weibull_lengths() {
    table("stack_life").check("weibull_length", 2, |case, checks| {
        let weibull = Weibull::new(
            case.number("weibull_modulus"),
            case.number("scale_strength_mpa"),
            case.number("reference_length_um"),
        )
        .expect("a sound strength");
        let segments: Vec<Segment> = list(&case.inputs["segments"]);
        let periods = case.number("periods");
        let peak_mpa = segments.iter().map(|segment| segment.peak_stress_mpa).fold(0.0, f64::max);
        let mut pieces: Vec<_> = segments.iter().flat_map(Segment::pieces).collect();
        // The points miss the very peak, to which the table refers the length.
        let one_um = weibull.effective_length_um(pieces.iter().copied()).expect("sound pieces");
        let greatest_mpa = pieces.iter().map(|piece| piece.0).fold(0.0, f64::max);
        let one_um = one_um * (greatest_mpa / peak_mpa).powf(weibull.modulus());
        // Compression does not count.
        pieces.push((-2.0 * peak_mpa, 1e6));
        let of_one = weibull.failure_probability(pieces).expect("sound pieces");
        let effective_um = periods * one_um;
        checks.number("effective_length_um", effective_um);
        checks.number("failure_probability", failure_of_many(of_one, periods).expect("a probability"));
        let allowable = weibull.allowable_mpa(effective_um, case.number("target_probability"));
        checks.number("allowable_peak_stress_mpa", allowable.expect("a sound probability"));
        let mean = weibull.mean_strength_mpa(effective_um);
        checks.number("mean_strength_at_effective_length_mpa", mean.expect("a sound length"));
    });
}

fn glass(case: &Case, strength: &str) -> StaticFatigue {
    StaticFatigue::new(case.number("n"), case.number(strength))
        .and_then(|glass| glass.with_factor(case.number("b_mpa2_s")))
        .expect("a sound glass")
}

#[test]
fn lives_under_load() {
    table("stack_life").check("static_fatigue", 2, |case, checks| {
        let glass = glass(case, "inert_strength_mpa");
        let hold = glass.hold_life(case.number("hold_stress_mpa")).expect("a sound stress");
        checks.number("hold_life_s", seconds(hold));
        let (least, greatest) = (case.number("cycle_min_mpa"), case.number("cycle_max_mpa"));
        let factor = glass.cycle_factor(Waveform::Sinusoid, least, greatest).expect("a sound cycle");
        checks.number("cycle_factor", factor);
        let cyclic = glass.cyclic_life(Waveform::Sinusoid, least, greatest).expect("a sound cycle");
        checks.number("cyclic_life_s", seconds(cyclic));
        let cycles = cyclic.cycles(case.number("cycle_period_s")).expect("a sound period");
        checks.number("cycles", count(cycles));
        checks.number("stress_ratio_for_ten_years", glass.stress_ratio(TEN_YEARS_S).expect("a sound time"));
    });
}

#[test]
fn cycles_with_compression() {
    table("stack_life").check("cycle_factor", 2, |case, checks| {
        let waveform = match case.text("waveform") {
            "sinusoid" => Waveform::Sinusoid,
            "triangle" => Waveform::Triangle,
            other => panic!("waveform {other}"),
        };
        let glass = StaticFatigue::new(case.number("n"), 1000.0).expect("a sound glass");
        let factor = glass.cycle_factor(waveform, case.number("cycle_min_mpa"), case.number("cycle_max_mpa"));
        checks.number("cycle_factor", factor.expect("a sound cycle"));
    });
}

#[test]
fn life_after_a_proof_test() {
    table("stack_life").check("proof_test", 1, |case, checks| {
        let life = glass(case, "proof_stress_mpa").hold_life(case.number("service_stress_mpa"));
        checks.number("minimum_life_s", seconds(life.expect("a sound stress")));
    });
}

/// One kind of cycle as the table lists it.
#[derive(Clone, Debug, Deserialize)]
struct Duty {
    strain_from: f64,
    strain_to: f64,
    cycles: f64,
}

#[test]
fn damage_of_a_duty() {
    table("stack_life").check("miner", 1, |case, checks| {
        let metal = metal(case);
        let blocks: Vec<DutyBlock> = list::<Duty>(&case.inputs["duty"])
            .iter()
            .map(|duty| {
                let cycle = StrainCycle::new(duty.strain_from, duty.strain_to).expect("sound strains");
                let cycles_to_fail = metal
                    .cycles(cycle.amplitude(), 0.0, case.number("modulus_mpa"))
                    .expect("a sound amplitude");
                DutyBlock { cycles_done: duty.cycles, cycles_to_fail }
            })
            .collect();
        let lives: Vec<f64> = blocks.iter().map(|block| count(block.cycles_to_fail)).collect();
        checks.numbers("cycles_to_failure", &lives);
        let damage = miner_damage(blocks).expect("sound blocks");
        checks.number("damage", damage);
        checks.number("repeats_to_damage_one", count(duty_repeats(damage, 1.0).expect("sound damage")));
    });
}

#[test]
fn every_case_is_run() {
    table("stack_life").check_kinds(&[
        "strain_life",
        "foil_ductility",
        "weibull_length",
        "static_fatigue",
        "cycle_factor",
        "proof_test",
        "miner",
    ]);
}

/// A strain-life law within and somewhat beyond the published range, and a modulus.
fn metals() -> impl Strategy<Value = (StrainLife, f64)> {
    (150.0..700.0_f64, -0.15..-0.04_f64, 0.04..2.0_f64, -0.75..-0.4_f64, 4.0..5.3_f64).prop_map(
        |(strength_mpa, b, ductility, c, log_modulus)| {
            (StrainLife::new(strength_mpa, b, ductility, c).expect("sound"), 10_f64.powf(log_modulus))
        },
    )
}

fn strengths() -> impl Strategy<Value = Weibull> {
    (2.0..60.0_f64, 50.0..3000.0_f64, 100.0..10_000.0_f64)
        .prop_map(|(m, strength, length)| Weibull::new(m, strength, length).expect("sound"))
}

fn glasses() -> impl Strategy<Value = StaticFatigue> {
    (3.0..60.0_f64, 50.0..5000.0_f64, -4.0..1.0_f64).prop_map(|(n, strength, log_factor)| {
        StaticFatigue::new(n, strength)
            .and_then(|glass| glass.with_factor(10_f64.powf(log_factor)))
            .expect("sound")
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(3),
        ..ProptestConfig::default()
    })]

    /// More edge, more stress or more periods: more failures, fewer survivors.
    #[test]
    fn failure_grows(
        weibull in strengths(),
        pieces in prop::collection::vec((-500.0..900.0_f64, 1.0..1000.0_f64), 1..20),
        more in 1.01..3.0_f64,
        periods in 1.0..1000.0_f64,
    ) {
        let failure = |stress: f64, length: f64| {
            weibull.failure_probability(pieces.iter().map(|(s, l)| (s * stress, l * length))).expect("sound")
        };
        let once = failure(1.0, 1.0);
        prop_assert!((0.0..=1.0).contains(&once));
        let many = failure_of_many(once, periods).expect("sound");
        let survival = survival_of_many(once, periods).expect("sound");
        prop_assert!((many + survival - 1.0).abs() < 1e-14);
        // So many alike are one with as many times the edge.
        let long = failure(1.0, periods);
        prop_assert!((many - long).abs() <= 1e-9 * long, "{many} {long}");
        if once > 0.0 && once < 0.99 {
            prop_assert!(failure(more, 1.0) > once);
            prop_assert!(failure(1.0, more) > once);
            prop_assert!(failure_of_many(once, more).expect("sound") > once);
            prop_assert!(survival_of_many(once, more).expect("sound") <= 1.0 - once);
        }
    }

    /// Effective length: within the length in tension, and whatever the order and cuts of the pieces.
    #[test]
    fn effective_length_is_a_length(
        weibull in strengths(),
        pieces in prop::collection::vec((-500.0..900.0_f64, 1.0..1000.0_f64), 1..20),
        share in 0.1..0.9_f64,
    ) {
        let whole = weibull.effective_length_um(pieces.iter().copied()).expect("sound");
        let tension: f64 = pieces.iter().filter(|piece| piece.0 > 0.0).map(|piece| piece.1).sum();
        prop_assert!(whole <= tension * (1.0 + 1e-14));
        let cut = pieces.iter().rev().flat_map(|(s, l)| [(*s, l * share), (*s, l * (1.0 - share))]);
        let again = weibull.effective_length_um(cut).expect("sound");
        prop_assert!((again - whole).abs() <= 1e-12 * whole);
        if whole > 0.0 {
            let greatest = pieces.iter().map(|piece| piece.0).fold(0.0, f64::max);
            let failure = weibull.failure_probability(pieces.iter().copied()).expect("sound");
            if failure > 0.0 && failure < 0.999 {
                let allowable = weibull.allowable_mpa(whole, failure).expect("sound");
                prop_assert!((allowable / greatest - 1.0).abs() < 1e-9);
            }
        }
    }

    /// The law gives back the strain whose life it told; more strain or more mean stress, less life.
    #[test]
    fn strain_life_inverts_and_falls(
        (metal, modulus_mpa) in metals(),
        log_cycles in -0.5..11.0_f64,
        mean_stress_mpa in -100.0..120.0_f64,
        more in 1.001..2.0_f64,
    ) {
        let cycles = 10_f64.powf(log_cycles);
        let amplitude = metal.amplitude(cycles, mean_stress_mpa, modulus_mpa).expect("sound");
        let back = metal.cycles(amplitude, mean_stress_mpa, modulus_mpa).expect("sound");
        prop_assert!((count(back) / cycles - 1.0).abs() < 1e-10, "{back} {cycles}");
        let strained = metal.cycles(amplitude * more, mean_stress_mpa, modulus_mpa).expect("sound");
        prop_assert!(strained < back);
        let pulled = metal.cycles(amplitude, mean_stress_mpa + 5.0, modulus_mpa).expect("sound");
        prop_assert!(pulled < back);
    }

    /// The same for foils, in ranges.
    #[test]
    fn foil_life_inverts_and_falls(
        ductility in 0.02..2.0_f64,
        ultimate_mpa in 100.0..500.0_f64,
        log_cycles in -0.5..11.0_f64,
        more in 1.001..2.0_f64,
    ) {
        let foil = FoilDuctility::new(ductility, ultimate_mpa).expect("sound");
        let cycles = 10_f64.powf(log_cycles);
        let range = foil.strain_range(cycles, 100_000.0).expect("sound");
        let back = foil.cycles(range, 100_000.0).expect("sound");
        prop_assert!((count(back) / cycles - 1.0).abs() < 1e-10, "{back} {cycles}");
        prop_assert!(foil.cycles(range * more, 100_000.0).expect("sound") < back);
    }

    /// A cycle is never worse than its peak held, the worse the higher its lower end, and a triangle is kinder.
    #[test]
    fn cycles_are_kinder_than_their_peak(
        glass in glasses(),
        peak_share in 0.05..0.95_f64,
        least_share in -2.0..0.98_f64,
    ) {
        let peak = peak_share * glass.inert_strength_mpa();
        let factor = |waveform, share: f64| glass.cycle_factor(waveform, share * peak, peak).expect("sound");
        for waveform in [Waveform::Sinusoid, Waveform::Triangle] {
            let g = factor(waveform, least_share);
            prop_assert!(g > 0.0 && g < 1.0);
            prop_assert!(factor(waveform, least_share + 0.01) > g);
        }
        prop_assert!(factor(Waveform::Triangle, least_share) < factor(Waveform::Sinusoid, least_share));
        let hold = glass.hold_life(peak).expect("sound");
        let cyclic = glass.cyclic_life(Waveform::Sinusoid, least_share * peak, peak).expect("sound");
        if let (Some(hold), Some(cyclic)) = (hold.seconds(), cyclic.seconds()) {
            prop_assert!(cyclic > hold);
            let harder = glass.hold_life(1.01 * peak).expect("sound");
            prop_assert!(harder.seconds().unwrap_or_default() < hold);
        }
    }

    /// Miner's sum is linear in the counts and does not care for order.
    #[test]
    fn damage_is_linear(
        blocks in prop::collection::vec((0.0..1e6_f64, 0.3..1e9_f64), 1..12),
        times in 0.0..50.0_f64,
    ) {
        let damage = |times: f64, reversed: bool| {
            let mut list: Vec<_> = blocks
                .iter()
                .map(|(done, life)| DutyBlock {
                    cycles_done: done * times,
                    cycles_to_fail: Cycles::Count(*life),
                })
                .collect();
            if reversed {
                list.reverse();
            }
            miner_damage(list).expect("sound")
        };
        let once = damage(1.0, false);
        prop_assert!((damage(times, true) - times * once).abs() <= 1e-12 * times * once);
        let split: f64 = blocks
            .iter()
            .map(|(done, life)| {
                let block = DutyBlock { cycles_done: *done, cycles_to_fail: Cycles::Count(*life) };
                miner_damage([block]).expect("sound")
            })
            .sum();
        prop_assert!((split - once).abs() <= 1e-12 * once);
    }
}
