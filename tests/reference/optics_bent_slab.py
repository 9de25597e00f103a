"""Recomputes optics_bent_slab.json with Bessel and Hankel functions of complex order.

The listed values come from continued fractions and Taylor steps. Here the boundary conditions are written with
mpmath's Bessel functions and solved by the secant method from a start that is off in the sixth digit. The larger
the order, the longer it takes: orders from 1000 to 3000 run only with `--all`, higher ones not at all.

Run: pip install numpy scipy mpmath; python3 tests/reference/optics_bent_slab.py [--all]
"""

import sys

import mpmath as mp

from bent_slab import DB, BentSlab, loss_per_90deg
from comparison import Comparison


def main():
    mp.mp.dps = 28
    table = Comparison("optics_bent_slab")
    for case in table.cases:
        i, expected = case["inputs"], case["expected"]
        if expected["nu_re"] > (3000 if "--all" in sys.argv else 1000):
            continue
        slab = BentSlab(
            i["wavelength_um"], i["core_width_um"], i["radius_um"], i["n_inner"], i["n_core"], i["n_outer"],
            i["polarisation"],
        )
        nu = slab.solve(mp.mpc(expected["nu_re"] * (1 + 2e-6), expected["nu_im"] * 1.1))
        n_eff = slab.index(nu)
        table.value(case, "nu_re", float(mp.re(nu)), 1e-12)
        table.value(case, "nu_im", float(mp.im(nu)), 1e-10)
        table.value(case, "n_eff_re", float(mp.re(n_eff)), 1e-12)
        table.value(case, "n_eff_im", float(mp.im(n_eff)), 1e-10)
        table.value(case, "loss_db_per_90deg", float(loss_per_90deg(nu)), 1e-10)
        table.value(case, "loss_db_per_cm", float(DB * slab.k0 * mp.im(n_eff) * 10000), 1e-10)
    table.finish()


if __name__ == "__main__":
    main()
