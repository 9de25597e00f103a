"""Recomputes stack_life.json by closed forms where the listed values come from quadrature and bisection.

Strain life and foil ductility: Anderson's root bracketing with 30 digits on the law in N itself. Weibull: sines and lines
under a power have Beta functions for integrals. Slow crack growth: the mean power of an offset cosine is Laplace's
integral of the Legendre function; with compression it is a Beta or hypergeometric function.

Run: pip install numpy scipy mpmath; python3 tests/reference/stack_life.py
"""

from mpmath import beta, findroot, gamma, hyp2f1, legenp, mp, mpf, sqrt, log10, exp, log

from comparison import Comparison

TEN_YEARS_S = 10 * 365.25 * 86400

mp.dps = 30


def strain_life(inputs, amplitude, mean_mpa):
    """Cycles to failure."""
    def off(n):
        elastic = (inputs["fatigue_strength_mpa"] - mpf(mean_mpa)) / inputs["modulus_mpa"] * (2 * n) ** mpf(inputs["b"])
        return log((elastic + inputs["fatigue_ductility"] * (2 * n) ** mpf(inputs["c"])) / amplitude)
    return findroot(off, (mpf(10) ** -2, mpf(10) ** 14), solver="anderson", tol=1e-25, maxsteps=400)


def foil(inputs):
    """Cycles to failure."""
    d, e = mpf(inputs["fatigue_ductility"]), mpf(inputs["modulus_mpa"])
    def off(n):
        power = mpf("0.1785") * log10(10**5 / n)
        strength = mpf("0.9") * inputs["ultimate_mpa"] / e * (exp(d) / mpf("0.36")) ** power
        return log((n ** mpf("-0.6") * d ** mpf("0.75") + strength) / inputs["strain_range"])
    return findroot(off, (mpf(10) ** -2, mpf(10) ** 14), solver="anderson", tol=1e-25, maxsteps=400)


def weibull_segment(segment, m):
    """Integral of stress to the m over one piece."""
    length, peak = mpf(segment["length_um"]), mpf(segment["peak_stress_mpa"])
    share = {
        "uniform": mpf(1),
        "sine_half": beta((m + 1) / 2, mpf(1) / 2) / mp.pi,
        "linear": 1 / (m + 1),
    }[segment["profile"]]
    return length * peak**m * share


def mean_power(waveform, least, greatest, n):
    """Mean of (tension/greatest)^n."""
    least, greatest = mpf(least), mpf(greatest)
    middle, half = (greatest + least) / 2, (greatest - least) / 2
    if waveform == "triangle":
        kept = greatest ** (n + 1) - max(least, mpf(0)) ** (n + 1)
        return kept / ((n + 1) * (greatest - least) * greatest**n)
    if least == 0:
        return gamma(n + mpf(1) / 2) / (sqrt(mp.pi) * gamma(n + 1))
    if least > 0:
        root = sqrt(greatest * least)
        return (root / greatest) ** n * legenp(n, 0, middle / root, type=3).real
    # sin^2 u = q s with q = greatest/range turns the part in tension into Euler's integral.
    q = greatest / (2 * half)
    return sqrt(q) / mp.pi * beta(mpf(1) / 2, n + 1) * hyp2f1(mpf(1) / 2, mpf(1) / 2, n + mpf(3) / 2, q)


def main():
    table = Comparison("stack_life")
    for case in table.cases:
        kind, inputs = case["kind"], case["inputs"]
        value = lambda key, got, tolerance=1e-10: table.value(case, key, float(got), tolerance)
        if kind == "strain_life":
            value("cycles", strain_life(inputs, mpf(inputs["strain_amplitude"]), inputs["mean_stress_mpa"]))
            ratio = mpf(inputs["fatigue_ductility"]) * inputs["modulus_mpa"] / inputs["fatigue_strength_mpa"]
            value("transition_cycles", ratio ** (1 / (mpf(inputs["b"]) - mpf(inputs["c"]))) / 2)
        elif kind == "foil_ductility":
            value("cycles", foil(inputs))
        elif kind == "weibull_length":
            m, periods = mpf(inputs["weibull_modulus"]), inputs["periods"]
            strength, l0 = mpf(inputs["scale_strength_mpa"]), mpf(inputs["reference_length_um"])
            integral = periods * sum(weibull_segment(segment, m) for segment in inputs["segments"])
            peak = mpf(max(segment["peak_stress_mpa"] for segment in inputs["segments"]))
            effective = integral / peak**m
            value("effective_length_um", effective)
            value("failure_probability", 1 - exp(-integral / strength**m / l0))
            hazard = -log(1 - mpf(inputs["target_probability"]))
            value("allowable_peak_stress_mpa", strength * (hazard * l0 / effective) ** (1 / m))
            mean = strength * (l0 / effective) ** (1 / m) * gamma(1 + 1 / m)
            value("mean_strength_at_effective_length_mpa", mean)
        elif kind == "static_fatigue":
            n, b, inert = mpf(inputs["n"]), mpf(inputs["b_mpa2_s"]), mpf(inputs["inert_strength_mpa"])
            life = lambda stress: b / stress**2 * (inert / stress) ** (n - 2)
            g = mean_power("sinusoid", inputs["cycle_min_mpa"], inputs["cycle_max_mpa"], n)
            value("hold_life_s", life(mpf(inputs["hold_stress_mpa"])))
            value("cycle_factor", g)
            cyclic = life(mpf(inputs["cycle_max_mpa"])) / g
            value("cyclic_life_s", cyclic)
            value("cycles", cyclic / inputs["cycle_period_s"])
            ten_years = findroot(lambda stress: log(life(stress) / TEN_YEARS_S), inert / 10)
            value("stress_ratio_for_ten_years", ten_years / inert)
        elif kind == "cycle_factor":
            n = mpf(inputs["n"])
            value("cycle_factor", mean_power(inputs["waveform"], inputs["cycle_min_mpa"], inputs["cycle_max_mpa"], n))
        elif kind == "proof_test":
            n, service = mpf(inputs["n"]), mpf(inputs["service_stress_mpa"])
            ratio = mpf(inputs["proof_stress_mpa"]) / service
            value("minimum_life_s", mpf(inputs["b_mpa2_s"]) / service**2 * ratio ** (n - 2))
        elif kind == "miner":
            lives = [strain_life(inputs, abs(mpf(d["strain_to"]) - mpf(d["strain_from"])) / 2, 0) for d in inputs["duty"]]
            for got, listed in zip(lives, case["expected"]["cycles_to_failure"]):
                table.value(case, "cycles_to_failure", float(got), 1e-10, listed)
            damage = sum(d["cycles"] / life for d, life in zip(inputs["duty"], lives))
            value("damage", damage)
            value("repeats_to_damage_one", 1 / damage)
        else:
            raise ValueError(kind)
    table.finish()


if __name__ == "__main__":
    main()
