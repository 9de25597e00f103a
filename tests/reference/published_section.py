"""Recomputes published_section.json by a plane-strain balance of two layers solved as a linear system.

Run: pip install numpy scipy mpmath; python3 tests/reference/published_section.py
"""

import numpy as np
from scipy.optimize import brentq

from comparison import Comparison


def bent_pair(lower, upper, ratio):
    """Strain at bottom, interface and top of two layers under unit curvature and no force.

    Unknown: the bottom strain e; force balance over both layers, moduli 1 and `ratio`.
    """
    area = np.array([lower, ratio * upper])
    first = np.array([lower**2 / 2, ratio * (upper * lower + upper**2 / 2)])
    e = -first.sum() / area.sum()
    return e, e + lower, e + lower + upper


def main():
    table = Comparison("published_section")
    for case in table.cases:
        ratio = case["inputs"]["modulus_ratio"]
        if case["kind"] == "film-on-foil":
            film = case["inputs"]["thickness_ratio"]
            top = bent_pair(1.0, film, ratio)[2]
            table.value(case, "film_strain_over_top_strain", 2 * top / (1 + film), 1e-10)
        else:
            thickness = brentq(lambda h: bent_pair(h, 1.0, ratio)[1], 0.1, 10.0, xtol=1e-13)
            table.value(case, "substrate_over_cap_thickness", thickness, 1e-10)
    table.finish()


if __name__ == "__main__":
    main()
