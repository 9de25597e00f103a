"""Recomputes optics_path.json: shapes by quadrature and special functions, losses by exact bent modes.

The hairpin takes seconds; with `--all` the low-contrast cases follow, whose Bessel functions have orders in the
thousands (ten minutes or so). The sine-generated integral interpolates ln(loss per radian) between exact values at
Chebyshev points in the radius.

Run: pip install numpy scipy mpmath; python3 tests/reference/optics_path.py [--all]
"""

import sys

import mpmath as mp
import numpy as np
from scipy.integrate import quad
from scipy.interpolate import BarycentricInterpolator
from scipy.optimize import brentq
from scipy.special import j0, struve

from bent_slab import DB, loss_per_90deg
from comparison import Comparison
from optics_transition import Bent, Straight, breaks, joint


def shape(i):
    """Contour length, least radius, tilt and straight joints of a path."""
    a, p, n = i["amplitude_um"], i["pitch_um"], i["periods"]
    if i["family"] == "arc":
        radius = (p * p / 16 + a * a) / (2 * a)
        tilt = 2 * np.arctan(4 * a / p)
        return {"contour_length_um": 4 * n * radius * tilt, "radius_um": radius, "tilt_deg": np.degrees(tilt)}
    if i["family"] == "arc-and-arm":
        radius = p / 4
        arm = a - radius
        contour = 4 * n * (arm + radius * np.pi / 2)
        return {"contour_length_um": contour, "radius_um": radius, "arm_half_length_um": arm}
    rest = brentq(lambda t: struve(0, t) / (4 * j0(t)) - a / p, 1e-6, 2.4, xtol=1e-14)
    quarter = p / (4 * j0(rest))
    tilt = rest * i.get("tilt_scale", 1.0)
    span = quad(lambda f: np.cos(tilt * np.cos(np.pi * f / 2)), 0, 1, epsabs=1e-13)[0] * quarter
    return {
        "contour_length_um": 4 * n * quarter,
        "quarter_contour_um": quarter,
        "least_radius_um": 2 * quarter / (np.pi * tilt),
        "tilt_deg": np.degrees(tilt),
        "stretch": 4 * span / p - 1,
    }


def sine_generated_loss(i, got):
    """Integral of the bend loss along the path, dB."""
    n_eff = Straight(i).n_eff
    least = got["least_radius_um"]
    # Beyond 1.6 times the least radius the loss per radian is below 1e-3 of the largest.
    points = least * (1.3 + 0.3 * np.cos(np.pi * (np.arange(7) + 0.5) / 7))
    logs = [float(mp.log(mp.im(Bent(i, float(r), n_eff).nu))) for r in points]
    fit = BarycentricInterpolator(points, logs)
    slope = (fit(1.55 * least) - fit(1.5 * least)) / (0.05 * least)
    quarter, tilt = got["quarter_contour_um"], np.radians(got["tilt_deg"])

    def density(s):
        kappa = np.pi * tilt / (2 * quarter) * np.sin(np.pi * s / (2 * quarter))
        if kappa < 1e-9:
            return 0.0
        r = 1 / kappa
        ln = fit(r) if r < 1.55 * least else fit(1.55 * least) + slope * (r - 1.55 * least)
        return float(DB) * np.exp(float(ln)) * kappa

    start = quarter * 2 / np.pi * np.arcsin(1 / 1.55)
    total = quad(density, 0, start)[0] + quad(density, start, quarter, epsabs=1e-12)[0]
    return 4 * i["periods"] * total


def main():
    mp.mp.dps = 24
    table = Comparison("optics_path")
    for case in table.cases:
        i, expected, tolerance = case["inputs"], case["expected"], case["rel_tol"]
        got = shape(i)
        for key, value in got.items():
            if key in expected:
                table.value(case, key, value, 1e-8)
        propagation = i["propagation_loss_db_per_cm"] * got["contour_length_um"] * 1e-4
        table.value(case, "propagation_loss_db", propagation, 1e-8)
        if i["family"] != "arc-and-arm" and "--all" not in sys.argv:
            continue
        if i["family"] == "sine-generated":
            bend, transition = sine_generated_loss(i, got), 0.0
        else:
            straight = Straight(i)
            bent = Bent(i, got["radius_um"], straight.n_eff)
            panels = breaks(i, straight, min(bent.caustic, straight.half + 14 / straight.decay))
            end = float(joint(straight, bent, panels))
            turns = 4 * i["periods"] * got.get("tilt_deg", 90.0) / 90
            bend = float(loss_per_90deg(bent.nu)) * turns
            table.value(case, "loss_per_end_db", end, tolerance["loss_per_end_db"])
            if i["family"] == "arc":
                inflection = float(joint(bent, bent.mirrored(), panels))
                table.value(case, "loss_per_inflection_db", inflection, tolerance["loss_per_inflection_db"])
                transition = 2 * end + (2 * i["periods"] - 1) * inflection
            else:
                transition = 4 * i["periods"] * end
            table.value(case, "transition_loss_db", transition, tolerance["transition_loss_db"])
        table.value(case, "bend_loss_db", bend, tolerance["bend_loss_db"])
        table.value(case, "total_loss_db", bend + transition + propagation, tolerance["total_loss_db"])
    table.finish()


if __name__ == "__main__":
    main()
