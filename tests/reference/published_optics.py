"""Recomputes published_optics.json: dispersion formulas, strain optics, bend-loss formula, bent slabs.

The bent slabs use Bessel functions of complex order; those with orders from 1000 to 3000 run only with
`--all`, higher ones not at all.

Run: pip install numpy scipy mpmath; python3 tests/reference/published_optics.py [--all]
"""

import sys

import mpmath as mp
import numpy as np

from bent_slab import BentSlab, straight_index
from comparison import Comparison


def bend_formula(i):
    """Leading-order loss per 90 degrees with the full and the cubic exponent, dB."""
    k0, w, r = 2 * np.pi / i["wavelength_um"], i["core_width_um"], i["radius_um"]
    n = float(straight_index(i["wavelength_um"], w, mp.mpf(i["n_clad"]), mp.mpf(i["n_core"]), "TE"))
    beta, kappa, g = k0 * n, k0 * np.sqrt(i["n_core"] ** 2 - n * n), k0 * np.sqrt(n * n - i["n_clad"] ** 2)
    front = g * g * kappa * kappa * np.exp(g * w) / ((g * g + kappa * kappa) * beta * (1 + g * w / 2))
    exponents = 2 * r * (beta * np.arctanh(g / beta) - g), 2 * g**3 * r / (3 * beta**2)
    return [10 / np.log(10) * front * np.exp(-x) * np.pi / 2 * r for x in exponents]


def main():
    mp.mp.dps = 26
    table = Comparison("published_optics")
    for case in table.cases:
        i, expected = case["inputs"], case["expected"]
        computed = case["computed"]
        if case["kind"] == "sellmeier":
            square = i["wavelength_um"] ** 2
            n = np.sqrt(1 + sum(b * square / (square - c) for b, c in zip(i["b"], i["c_um2"])))
            table.value(case, "n", n, case["abs_tol"]["n"] / expected["n"])
            table.value(case, "n", n, 4e-5, computed["n"])
        elif case["kind"] == "strain-optic":
            n, nu, p11, p12 = i["n"], i["poisson"], i["p11"], i["p12"]
            # A bar stretched by a small strain: phase before and after, straight from the impermeability.
            strain = 1e-6
            side = -nu * strain
            after = (1 / n**2 + p11 * side + p12 * side + p12 * strain) ** -0.5
            phase = 2 * np.pi / (i["wavelength_um"] * 1e-6) * (after * (1 + strain) - n) / strain
            key = "phase_per_elongation_rad_per_m"
            table.value(case, key, phase, case["rel_tol"][key])
            table.value(case, key, phase, 1e-5, computed[key])
        elif case["kind"] == "leading-order-bend-loss":
            for value, key in zip(bend_formula(i), expected):
                table.value(case, key, value, case["rel_tol"][key])
        elif computed["nu_re"] < (3000 if "--all" in sys.argv else 1000):
            slab = BentSlab(
                i["wavelength_um"], i["core_width_um"], i["radius_um"], i["n_inner"], i["n_core"], i["n_outer"],
                i["polarisation"],
            )
            nu = slab.solve(mp.mpc(expected["nu_re"], computed["nu_im"]))
            table.value(case, "nu_re", float(mp.re(nu)), case["rel_tol"]["nu_re"])
            table.value(case, "nu_re", float(mp.re(nu)), 1e-11, computed["nu_re"])
            table.value(case, "nu_im", float(mp.im(nu)), 1e-7, computed["nu_im"])
    table.finish()


if __name__ == "__main__":
    main()
