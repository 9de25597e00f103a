"""Recomputes cases of published_planar.json by elliptic integrals, quadrature and shooting.

Run: pip install numpy scipy mpmath; python3 tests/reference/published_planar.py
"""

import mpmath as mp
import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import fsolve, minimize_scalar

from comparison import Comparison


def cantilever(load):
    """Tip of the inextensible cantilever under a transverse dead load, by elliptic integrals.

    With the tip angle a, k^2 = (1 + sin a)/2 and sin f1 = 1/(k sqrt 2): sqrt(load) = K(k) - F(f1, k).
    """

    def amplitude(tip):
        m = (1 + mp.sin(tip)) / 2
        return m, mp.asin(1 / mp.sqrt(2 * m))

    def equation(tip):
        m, first = amplitude(tip)
        return mp.ellipk(m) - mp.ellipf(first, m) - mp.sqrt(load)

    tip = mp.findroot(equation, (mp.mpf("0.001"), mp.pi / 2 - mp.mpf("1e-9")), solver="anderson", tol=1e-24)
    m, first = amplitude(tip)
    root = mp.sqrt(load)
    deflection = 1 - 2 / root * (mp.ellipe(m) - mp.ellipe(first, m))
    x = mp.sqrt(2 * mp.sin(tip)) / root
    return {"tip_shortening_over_l": 1 - x, "tip_deflection_over_l": deflection, "tip_rotation_rad": tip}


def column(tip_deg):
    """Post-buckled cantilever column by complete elliptic integrals of k = sin(tip/2)."""
    m = mp.sin(mp.radians(tip_deg) / 2) ** 2
    k, e = mp.ellipk(m), mp.ellipe(m)
    return {
        "load_over_critical": (2 * k / mp.pi) ** 2,
        "tip_height_over_l": 2 * e / k - 1,
        "tip_offset_over_l": 2 * mp.sqrt(m) / k,
    }


def curved_bar(inner, outer):
    """Edge stresses for a unit moment and thickness by the neutral radius of Winkler and Bach."""
    depth = outer - inner
    middle, neutral = (inner + outer) / 2, depth / np.log(outer / inner)
    return [(neutral - r) / (depth * (middle - neutral) * r) for r in (inner, outer)]


def arch_load(deflection, guess):
    """Load R^2/EI that holds the crown of the clamped-hinged arch down by `deflection` R, by shooting."""
    half = np.radians(215) / 2

    def half_arch(start, force, length):
        # state: x, y, phi; forces (h, v) on the far face; moment m
        h, v = force

        def rates(_, s):
            x, y, phi, m = s
            return [np.cos(phi), np.sin(phi), -1 + m, h * np.sin(phi) - v * np.cos(phi)]

        return solve_ivp(rates, (0, length), start, rtol=1e-11, atol=1e-12).y[:, -1]

    def residual(unknown):
        load, m0, h, v = unknown
        # Left end clamped at rest angle +half (clockwise arch), right end hinged at the same height.
        crown = half_arch([-np.sin(half), 0, half, m0], (h, v), half)
        end = half_arch(list(crown), (h, v + load), half)
        top = 1 - np.cos(half)
        return [crown[1] - (top - deflection), end[0] - np.sin(half), end[1], end[3]]

    answer, info, status, _ = fsolve(residual, guess, full_output=True, xtol=1e-12)
    if status != 1 and np.abs(info["fvec"]).max() > 1e-8:
        raise RuntimeError(f"no equilibrium at a crown deflection of {deflection}")
    return answer


def main():
    mp.mp.dps = 30
    table = Comparison("published_planar")
    for case in table.cases:
        inputs, expected, computed = case["inputs"], case["expected"], case.get("computed", {})
        got = {}
        if case["kind"] == "cantilever":
            got = cantilever(mp.mpf(inputs["load_p_l2_over_ei"]))
        elif case["kind"] == "elastica":
            got = column(inputs["tip_angle_deg"])
        elif case["kind"] == "elastica-ends-meet":
            tip = mp.findroot(lambda t: column(t)["tip_height_over_l"], (120, 140), solver="anderson")
            got = {"tip_angle_deg": tip, "load_over_critical": column(tip)["load_over_critical"]}
        elif case["kind"] == "ring":
            got = ring()
        elif case["kind"] == "curved-bar":
            r = inputs["radius_over_half_depth"]
            inner, outer = curved_bar(r - 1, r + 1)
            straight = 6 / 2**2
            got = {"inner_factor": inner / straight, "outer_factor": -outer / straight}
        elif case["kind"] == "curved-bar-pure-bending":
            inner, outer = curved_bar(1.0, inputs["outer_over_inner_radius"])
            got = {"curved_beam_inner": inner, "curved_beam_outer": outer}
            got |= golovin(inputs["outer_over_inner_radius"])
        elif case["kind"] == "sinuosity":
            tilt = np.radians(inputs["tilt_deg"])
            span = quad(lambda t: np.cos(tilt * np.cos(np.pi * t / 2)), 0, 1, epsabs=1e-13)[0]
            got = {"contour_over_pitch": 1 / span}
        elif case["kind"] == "hairpin":
            arm = inputs["arm_half_length_over_radius"]
            bend = quad(lambda f: (arm + np.sin(f)) ** 2, 0, np.pi / 2, epsabs=1e-13)[0]
            got = {"bending_integral_over_r3": arm**3 / 3 + bend}
        elif case["kind"] == "arch":
            guess = np.array([0.5, 0.0, 0.1, -0.2])
            for deflection in np.arange(0.02, 1.13, 0.02):
                guess = arch_load(deflection, guess)
            peak = minimize_scalar(
                lambda d: -arch_load(d, guess)[0], bounds=(1.12, 1.15), method="bounded", options={"xatol": 1e-4}
            )
            got = {"critical_load_r2_over_ei": -peak.fun}
        for key, value in got.items():
            if key in computed:
                table.value(case, key, float(value), 5e-5, computed[key])
            table.value(case, key, float(value), case["rel_tol"][key], expected[key])
    table.finish()


def ring():
    """Thin ring pulled along a diameter, bending only: virtual work by quadrature over a quarter, W = R = EI = 1."""
    # Moment at angle t from the load line, m = m0 - sin(t)/2; the section at the load does not turn.
    m0 = quad(lambda t: np.sin(t) / 2, 0, np.pi / 2)[0] / (np.pi / 2)

    def moment(t):
        return m0 - np.sin(t) / 2

    along = 4 * quad(lambda t: moment(t) * (-np.sin(t) / 2), 0, np.pi / 2)[0]
    # Unit outward pair across: m = q0 - cos(t)/2; together with the real moment the virtual work.
    across = 4 * quad(lambda t: moment(t) * (-np.cos(t) / 2), 0, np.pi / 2)[0]
    return {
        "diameter_change_along_load": along,
        "diameter_change_across": across,
        "moment_at_load_over_wr": moment(0),
        "moment_at_90deg_over_wr": moment(np.pi / 2),
    }


def golovin(ratio):
    """Edge stresses of the curved bar in plane elasticity, unit moment and inner radius."""
    b, log = ratio, np.log(ratio)
    n = (b * b - 1) ** 2 - 4 * b * b * log * log

    def hoop(r):
        return -4 / n * (-b * b / r**2 * log + b * b * np.log(r / b) - np.log(r) + b * b - 1)

    return {"elasticity_inner": hoop(1.0), "elasticity_outer": hoop(b)}


if __name__ == "__main__":
    main()
