"""Recomputes published_stack.json without any part of Ogee.

Torsion by the hyperbolic series along the longer side, layered beams by linear balance, the edge crack by its singular
integral equation, the corner by finite differences, the rest by closed form or quadrature.

Run: pip install numpy scipy mpmath; python3 tests/reference/published_stack.py
"""

import mpmath as mp
import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from comparison import Comparison


def torsion_constant(ratio):
    """J/(a b^3)."""
    total = mp.nsum(lambda i: mp.tanh((2 * i + 1) * mp.pi * ratio / 2) / (2 * i + 1) ** 5, [0, mp.inf])
    return (1 - 192 / mp.pi**5 / ratio * total) / 3


def torsion_stress(ratio):
    """Torque over greatest stress and a b^2."""
    total = mp.nsum(lambda i: 1 / ((2 * i + 1) ** 2 * mp.cosh((2 * i + 1) * mp.pi * ratio / 2)), [0, mp.inf])
    return torsion_constant(ratio) / (1 - 8 / mp.pi**2 * total)


def balance(layers):
    """Strain at z = 0 and curvature of layers (bottom, top, modulus, free strain) with no force and no moment."""
    matrix, load = np.zeros((2, 2)), np.zeros(2)
    for bottom, top, modulus, free in layers:
        m = [modulus * (top ** (p + 1) - bottom ** (p + 1)) / (p + 1) for p in range(3)]
        matrix += [[m[0], m[1]], [m[1], m[2]]]
        load += free * np.array(m[:2])
    return np.linalg.solve(matrix, load)


def bent_pair(lower, upper, ratio):
    """Strain at bottom, interface and top of two layers under unit curvature and no force."""
    area = np.array([lower, ratio * upper])
    first = np.array([lower**2 / 2, ratio * (upper * lower + upper**2 / 2)])
    e = -first.sum() / area.sum()
    return e, e + lower, e + lower + upper


def edge_factor(points):
    """K/(stress sqrt(pi a)) of an edge crack in a half-plane, by dislocations on 0..1 with a root singularity at the tip."""
    k = np.arange(1, points + 1)
    s = np.cos((2 * k - 1) * np.pi / (2 * points + 1))
    r = np.cos(2 * k * np.pi / (2 * points + 1))
    t, x = (1 + s) / 2, (1 + r) / 2
    weight = 2 * np.pi * (1 + s) / (2 * points + 1)
    x, t = x[:, None], t[None, :]
    kernel = 1 / (t - x) - 1 / (t + x) + 6 * x / (t + x) ** 2 - 4 * x**2 / (t + x) ** 3
    # s runs over twice the length of t.
    density = np.linalg.solve(kernel * weight[None, :] / 2 / np.pi, np.ones(points))
    # Its value at the tip by the interpolation that belongs to these points.
    angle = (2 * k - 1) * np.pi / (2 * points + 1)
    return abs(2 / (2 * points + 1) * (np.sin(points * angle) / np.tan(angle / 2) * density).sum()) * np.sqrt(2)


def spall(depth, phase):
    """Intensities of opening and shear over stress/sqrt(2) of a crack at a depth, film thickness and stress 1.

    A force 1 and the moment (depth - 1)/2 act on the part above, with the phase angle of equal materials.
    """
    force, bending = 1 / np.sqrt(depth), np.sqrt(3) * (depth - 1) / depth**1.5
    opening = force * np.cos(phase) + bending * np.sin(phase)
    return opening, force * np.sin(phase) - bending * np.cos(phase)


def corner_squares(cells):
    """Squares of a right-angle corner between arms of unit width, by finite volumes; arms of two widths."""
    arm = 2 * cells
    size = cells + arm
    index = -np.ones((size, size), dtype=int)
    inside = np.zeros((size, size), dtype=bool)
    inside[:cells, :] = True
    inside[:, :cells] = True
    index[inside] = np.arange(inside.sum())
    rows, columns, values = [], [], []
    for a, b in ((index[:-1], index[1:]), (index[:, :-1], index[:, 1:])):
        both = (a >= 0) & (b >= 0)
        i, j = a[both], b[both]
        rows += [i, j, i, j]
        columns += [i, j, j, i]
        values += [np.ones(i.size)] * 2 + [-np.ones(i.size)] * 2
    # One end of the arms at 1, the other at 0, half a cell beyond the last cells.
    source, sink = index[:cells, -1], index[-1, :cells]
    for end in (source, sink):
        rows.append(end)
        columns.append(end)
        values.append(2 * np.ones(cells))
    load = np.zeros(inside.sum())
    load[source] = 2.0
    matrix = coo_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))).tocsc()
    potential = spsolve(matrix, load)
    return 1 / (2 * (1 - potential[source])).sum() - 4


def corner():
    """Limit of fine meshes; the error falls as the step to the power 4/3 at the inner corner."""
    coarse, fine = corner_squares(40), corner_squares(80)
    gain = 2 ** (4 / 3)
    return (gain * fine - coarse) / (gain - 1)


def fuchs(k, p):
    """Film over bulk resistivity."""
    integrand = lambda u: (u - u**3) * (1 - np.exp(-k / u)) / (1 - p * np.exp(-k / u))
    return 1 / (1 - 1.5 / k * (1 - p) * quad(integrand, 0, 1, epsabs=1e-13, epsrel=1e-13)[0])


def rigid_strip(points):
    """Force over E* e a of a rigid strip: its shear undoes the strain, (2/(pi E*)) int t(s)/(x - s) ds = e.

    t = T/sqrt(1 - s^2), odd; Gauss and Chebyshev's rule with one more condition, no net force.
    """
    k = np.arange(1, points + 1)
    s, x = np.cos((2 * k - 1) * np.pi / (2 * points)), np.cos(np.arange(1, points) * np.pi / points)
    matrix = np.vstack([2 / points / (x[:, None] - s[None, :]), np.ones(points)])
    shear = np.linalg.solve(matrix, np.append(np.ones(points - 1), 0.0))
    # Mean over half the strip of T, weighted with 1/sqrt(1 - s^2), by an even number of points.
    return abs(np.pi / points * shear[s > 0].sum())


def main():
    table = Comparison("published_stack")
    for case in table.cases:
        kind, inputs = case["kind"], case["inputs"]
        (key,) = case["expected"]
        tolerance = case["rel_tol"]["default"]
        if kind == "torsion-constant":
            got = torsion_constant(inputs["a_over_b"])
        elif kind == "torsion-stress":
            got = torsion_stress(inputs["a_over_b"])
        elif kind == "bimetal":
            got = 2 * balance([(0, 1, inputs["n"], 0), (1, 2, 1, 1)])[1]
        elif kind == "bimetal-balance":
            got = balance([(0, 1, inputs["n"], 0), (1, 2, 1, inputs["mismatch_strain"])])[1]
        elif kind == "stoney-correction":
            h, m = inputs["thickness_ratio"], inputs["modulus_ratio"]
            got = balance([(-1, 0, 1, 0), (0, h, m, 1)])[1] / (6 * h * m)
        elif kind == "stoney-radius":
            got = inputs["biaxial_modulus_mpa"] * inputs["substrate_um"] ** 2 / 6 / inputs["force_un_per_um"] * 1e-6
        elif kind == "film-on-foil":
            film = inputs["thickness_ratio"]
            got = 2 * bent_pair(1.0, film, inputs["modulus_ratio"])[2] / (1 + film)
        elif kind == "neutral-plane-cap":
            got = brentq(lambda h: bent_pair(h, 1.0, inputs["modulus_ratio"])[1], 0.1, 10.0, xtol=1e-13)
        elif kind == "edge-crack":
            got = np.pi * edge_factor(200) ** 2
        elif kind == "channel-crack":
            got = np.pi * quad(lambda depth: depth * edge_factor(200) ** 2, 0, 1)[0]
        elif kind == "debond":
            got = quad(lambda z: 0.5, 0, 1)[0]
        elif kind == "spall-depth":
            phase = np.radians(inputs["phase_angle_deg"])
            got = brentq(lambda depth: spall(depth, phase)[1], 1.5, 20.0, xtol=1e-13)
        elif kind == "spall-factor":
            got = sum(x**2 for x in spall(inputs["depth_over_film_thickness"], np.radians(inputs["phase_angle_deg"]))) / 2
        elif kind == "board-current":
            area = inputs["width_um"] * inputs["thickness_um"] / 25.4**2
            got = 0.048 * inputs["rise_k"] ** 0.44 * area**0.725
        elif kind == "board-width":
            area = (inputs["current_a"] / (0.048 * inputs["rise_k"] ** 0.44)) ** (1 / 0.725)
            got = area * 25.4 / inputs["thickness_um"]
        elif kind == "board-inner":
            got = 0.024 / 0.048
        elif kind == "sheet-resistance":
            got = 1e3 * inputs["resistivity_ohm_m"] / (inputs["thickness_um"] * 1e-6)
        elif kind == "corner":
            got = corner()
        elif kind == "thin-film":
            got = fuchs(inputs["k"], inputs["specularity"])
        elif kind == "silica-index":
            square = inputs["wavelength_um"] ** 2
            poles = zip((0.6961663, 0.4079426, 0.8974794), (0.0684043, 0.1162414, 9.896161))
            got = np.sqrt(1 + sum(b * square / (square - c**2) for b, c in poles))
        elif kind == "silicone":
            got = 20 / inputs["ratio"]
        elif kind == "rigid-strip":
            got = rigid_strip(400)
        else:
            raise ValueError(kind)
        table.value(case, key, float(got), tolerance)
        if "computed" in case:
            own = {"stoney-radius": 1e-4, "edge-crack": 2e-4, "channel-crack": 2e-4, "corner": 2e-4}
            table.value(case, key, float(got), own.get(kind, 1e-9), case["computed"][key])
    table.finish()


if __name__ == "__main__":
    main()
