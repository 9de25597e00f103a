"""Recomputes trace_electrical.json by other methods.

Bends: the conductance of concentric filaments summed by quadrature, and Laplace's equation on a bend by finite volumes.
Films: the integrals over the direction of the electrons, with 30 digits in another variable than the listed ones; the
grain law as the integral that its closed form comes from. Currents: the fin's equation as a boundary value problem.
Corner: the L-shaped strip mapped to a half-plane (Schwarz and Christoffel).

Run: pip install numpy scipy mpmath; python3 tests/reference/trace_electrical.py
"""

import mpmath as mp
import numpy as np
import scipy.sparse as sparse
from scipy.integrate import quad, solve_bvp
from scipy.sparse.linalg import spsolve

from comparison import Comparison

mp.mp.dps = 30


def bend(radius, angle, width):
    """Squares of a bend: every filament at radius r has the length angle r."""
    conductance, _ = quad(lambda r: 1 / (angle * r), radius - width / 2, radius + width / 2, epsabs=0, epsrel=1e-13)
    return 1 / conductance


def bend_by_volumes(radius, angle, width, n):
    """The same from potentials: n x n volumes in radius and angle, one end at 1, the other at 0, the edges insulated."""
    dr, da = width / n, angle / n
    r = radius - width / 2 + dr * (np.arange(n) + 0.5)
    along = dr / (r * da)
    across = (r[1:] + r[:-1]) / 2 * da / dr
    # Volumes along one filament, with half a step to each end.
    chain = sparse.diags([-np.ones(n - 1), np.r_[3, np.full(n - 2, 2), 3], -np.ones(n - 1)], [-1, 0, 1])
    between = sparse.diags([-across, np.r_[across, 0] + np.r_[0, across], -across], [-1, 0, 1])
    matrix = sparse.kron(sparse.diags(along), chain) + sparse.kron(between, sparse.identity(n))
    first = np.zeros((n, n))
    first[:, 0] = 2 * along
    potential = spsolve(matrix.tocsc(), first.ravel()).reshape(n, n)
    return 1 / np.sum(2 * along * (1 - potential[:, 0]))


def path(table, case):
    inputs = case["inputs"]
    width = inputs["width_um"]
    listed = case["expected"]
    warmth = inputs["temperature_c"] - 20
    # The resistance of a cube of the film's thickness is the sheet resistance.
    edge = inputs["thickness_um"] * 1e-6
    sheet = inputs["resistivity_20c_ohm_m"] * (1 + inputs["temp_coeff_per_k"] * warmth) * edge / edge**2
    table.value(case, "sheet_resistance_ohm", sheet, 1e-10)
    total = 0.0
    for number, (segment, expected) in enumerate(zip(inputs["segments"], listed["squares"])):
        if segment["type"] == "straight":
            squares = segment["length_um"] / width
        else:
            angle = np.radians(segment["angle_deg"])
            squares = bend(segment["mid_radius_um"], angle, width)
            volumes = bend_by_volumes(segment["mid_radius_um"], angle, width, 150)
            table.value(case, f"squares of segment {number} by volumes", volumes, 2e-4, expected)
        table.value(case, f"squares of segment {number}", squares, 1e-10, expected)
        total += squares
    table.value(case, "total_squares", total, 1e-10)
    table.value(case, "resistance_ohm", sheet * total, 1e-10)


def film(table, case):
    inputs = case["inputs"]
    k = mp.mpf(inputs["thickness_nm"]) / mp.mpf(inputs["mean_free_path_nm"])
    p = mp.mpf(inputs["specularity"])
    lost = mp.quad(
        lambda t: (t**-3 - t**-5) * (1 - mp.exp(-k * t)) / (1 - p * mp.exp(-k * t)), [1, 2, 4, 8, 16, 64, 256, mp.inf]
    )
    surface = 1 / (1 - 3 / (2 * k) * (1 - p) * lost)
    reflection = mp.mpf(inputs["grain_reflection"])
    a = mp.mpf(inputs["mean_free_path_nm"]) / inputs["grain_size_nm"] * reflection / (1 - reflection)
    grain = 1 / (3 * mp.quad(lambda x: x**3 / (x + a), [0, 0.25, 0.5, 1]))
    table.value(case, "surface_factor", float(surface), 1e-11)
    table.value(case, "surface_factor_thick_limit", float(1 + 3 * (1 - p) / (8 * k)), 1e-11)
    table.value(case, "grain_factor", float(grain), 1e-11)
    table.value(case, "resistivity_ohm_m", float(inputs["bulk_resistivity_ohm_m"] * (surface + grain - 1)), 1e-11)


def board(table, case):
    inputs = case["inputs"]
    mil = 0.0254
    area_mm2 = inputs["width_um"] * inputs["thickness_um"] * 1e-6
    log = np.log(inputs["k"]) + 0.44 * np.log(inputs["temperature_rise_k"]) + 0.725 * np.log(area_mm2 / mil**2)
    table.value(case, "area_mil2", area_mm2 / mil**2, 1e-10)
    table.value(case, "current_a", np.exp(log), 1e-10)
    table.value(case, "current_density_a_per_mm2", np.exp(log) / area_mm2, 1e-10)


def fin(table, case):
    inputs = case["inputs"]
    film_w = inputs["film_coefficient_w_m2k"] * (2 if inputs["both_faces"] else 1)
    sheet = inputs["sheet_conductivity_w_mk"] * inputs["sheet_thickness_um"] * 1e-6
    # In millimetres, from the trace's edge to where the sheet is as cold as the air.
    slope = film_w / sheet * 1e-6
    x = np.linspace(0, 60, 2001)
    guess = np.vstack([np.exp(-x / 2), -np.exp(-x / 2) / 2])
    solution = solve_bvp(
        lambda x, t: np.vstack([t[1], slope * t[0]]), lambda a, b: [a[0] - 1, b[0]], x, guess, tol=1e-11, max_nodes=200000
    )
    beside = -solution.sol(0)[1] * 1e3 * sheet
    heat = inputs["width_um"] * 1e-6 * film_w + 2 * beside
    per_m = inputs["resistivity_ohm_m"] / (inputs["width_um"] * inputs["thickness_um"] * 1e-12)
    # All heat beside the trace leaves by the faces: its mean distance is the fin length.
    warm, _ = quad(lambda at: solution.sol(at)[0], 0, 60, limit=400, epsabs=1e-10)
    table.value(case, "heat_per_length_w_per_m_k", heat, 1e-8)
    table.value(case, "fin_length_mm", warm, 1e-7)
    table.value(case, "current_a", np.sqrt(inputs["temperature_rise_k"] * heat / per_m), 1e-8)


def strained(table, case):
    inputs = case["inputs"]
    e, stretch = inputs["axial_strain"], inputs["liquid_channel_stretch"]
    side = 1 - inputs["poisson"] * e
    # A unit cube as it is deformed, and a channel that keeps its volume of 1.
    table.value(case, "linear_ratio", 1 + inputs["gauge_factor"] * e, 1e-12)
    table.value(case, "geometric_ratio", np.exp(np.log1p(e) - 2 * np.log(side)), 1e-11)
    length = 1 + stretch
    table.value(case, "liquid_ratio", length / (1 / length), 1e-12)


def corner(table, case):
    """dz/dt = (1/pi) sqrt((t + 1)/(t - 1))/t maps the half-plane to the strip of width 1 with a right-angle corner.

    t = -1 is the inner corner, t = 1 the outer one, 0 and infinity are the ends; the potential is (1/pi) ln t. Along the
    inner edge, t = -s, an arm is (1/pi) times the integral of sqrt((s - 1)/(s + 1))/s long.
    """
    excess = 2 / mp.pi * mp.quad(lambda s: (1 - mp.sqrt((s - 1) / (s + 1))) / s, [1, 1.5, 3, 10, 100, 1e4, mp.inf])
    table.value(case, "squares", float(excess), 1e-6)
    table.value(case, "squares", float(excess), 1e-11, float(1 - 2 * mp.log(2) / mp.pi))


def main():
    table = Comparison("trace_electrical")
    run = {
        "path-resistance": path,
        "film-resistivity": film,
        "board-current": board,
        "sheet-current": fin,
        "strain": strained,
        "corner": corner,
    }
    for case in table.cases:
        run[case["kind"]](table, case)
    table.finish()


if __name__ == "__main__":
    main()
