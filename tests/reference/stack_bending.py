"""Recomputes stack_bending.json by least energy.

The listed strains of soft stacks come from finite differences. Here the energy per width of half the length,

    integral of 1/2 sum_i [E_i t_i/3 (u'^2 + u'v' + v'^2) + G_i/t_i (v - u - k t_i x)^2] dx,

u and v the displacements of a ply's lower and upper face, is made least over elements of degree 8 along the length, graded
to the end. The decay length comes from counting the negative pivots of K - lambda^2 A.
Bonded and split strains are where energy is least over shifts of the plies as a whole. Strips across their width: least
energy over Legendre polynomials; the moment is the energy's slope by a difference.

Run: pip install numpy scipy mpmath; python3 tests/reference/stack_bending.py
"""

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg import solve, solveh_banded
from scipy.optimize import brentq

from comparison import Comparison

DEGREE = 8


def effective(layer, kind):
    """The modulus along the stack."""
    return layer["modulus_mpa"] / (1 - layer["poisson"] ** 2 if kind == "plane_strain" else 1)


def lobatto(degree):
    """Gauss-Lobatto points, weights on -1..1 and the matrix of derivatives of the Lagrange polynomials."""
    last = [0.0] * degree + [1.0]
    points = np.concatenate(([-1.0], np.sort(legendre.legroots(legendre.legder(last)).real), [1.0]))
    vander = legendre.legvander(points, degree)
    slopes = np.stack([legendre.legval(points, legendre.legder(row)) for row in np.eye(degree + 1)], axis=1)
    weights = solve(vander.T, np.concatenate(([2.0], np.zeros(degree))))
    return points, weights, slopes @ np.linalg.inv(vander)


def least_shift(z, stiffness):
    """Neutral plane: the shift at which the plies' energy in bending is least."""
    middles = (z[1:] + z[:-1]) / 2
    # The slope of sum S (m - s)^2 in s is zero there.
    return brentq(lambda s: np.sum(stiffness * (middles - s)), z[0], z[-1], xtol=1e-14, rtol=1e-15)


def decay_length(modulus, shear, thickness):
    """1/lambda of the slowest mode: as many pivots of K - lambda^2 A are negative as there are modes below lambda."""

    def negative(rate):
        """Number of eigenvalues below `rate`, from the signs of the pivots."""
        count, pivot, off = 0, 1.0, 0.0
        for k in range(len(modulus) + 1):
            plies = [i for i in (k - 1, k) if 0 <= i < len(modulus)]
            own = sum(shear[i] / thickness[i] - rate * modulus[i] * thickness[i] / 3 for i in plies)
            pivot = own - (off * off / pivot if k else 0.0)
            count += pivot < 0
            if k < len(modulus):
                off = -shear[k] / thickness[k] - rate * modulus[k] * thickness[k] / 6
        return count

    low, high = 1e-14, 1e3
    while high / low > 1 + 1e-14:
        middle = np.sqrt(low * high)
        # One eigenvalue is zero.
        if negative(middle) >= 2:
            high = middle
        else:
            low = middle
    return 1 / np.sqrt(low)


def strains(modulus, shear, thickness, length, curvature, least):
    """Strain at mid-length and shear at the end from the least energy of half the length."""
    points, weights, slopes = lobatto(DEGREE)
    edges = length / 2 - np.concatenate((np.geomspace(length / 2, least, 14), [0.0]))
    faces = len(modulus) + 1
    count = faces * (DEGREE * (len(edges) - 1) + 1)
    band = faces * (DEGREE + 1)
    matrix, right = np.zeros((band, count)), np.zeros(count)

    def add(i, j, value):
        if j >= i:
            matrix[band - 1 - (j - i), j] += value

    for element, (start, end) in enumerate(zip(edges[:-1], edges[1:])):
        half = (end - start) / 2
        base = element * DEGREE
        stretch = (slopes.T * weights) @ slopes / half
        for ply in range(len(modulus)):
            axial, stiff = modulus[ply] * thickness[ply] / 6, shear[ply] / thickness[ply]
            for a in range(DEGREE + 1):
                rows = [faces * (base + a) + ply, faces * (base + a) + ply + 1]
                x = start + half * (points[a] + 1)
                pull = shear[ply] * curvature * x * weights[a] * half
                right[rows[0]] -= pull
                right[rows[1]] += pull
                for p, row in enumerate(rows):
                    for q in range(2):
                        add(row, rows[q], (1 if p == q else -1) * stiff * weights[a] * half)
                        for b in range(DEGREE + 1):
                            column = faces * (base + b) + ply + q
                            add(row, column, (2 if p == q else 1) * axial * stretch[a, b])
    # Nothing moves at mid-length.
    for face in range(faces):
        matrix[band - 1, face] += 1e12 * matrix[band - 1].max()
    u = solveh_banded(matrix, right).reshape(-1, faces)
    mid = slopes[0] @ u[: DEGREE + 1] / ((edges[1] - edges[0]) / 2)
    return mid, np.diff(u[-1]) / thickness - curvature * length / 2


def strip_energy(width, curvature, thickness, poisson):
    """Least energy of a bent strip over that of a plate; E = 1."""
    plate, half = thickness**3 / 12 / (1 - poisson**2), width / 2
    points, weights = legendre.leggauss(60)
    basis = np.eye(49)[::2]
    values = np.stack([legendre.legval(points, row) for row in basis])
    bends = np.stack([legendre.legval(points, legendre.legder(row, 2)) for row in basis]) / half**2
    matrix = half * ((bends * weights * plate) @ bends.T + (values * weights * thickness * curvature**2) @ values.T)
    right = -half * plate * poisson * curvature * (bends @ weights)
    shape = np.linalg.solve(matrix, right)
    return 1 - shape @ matrix @ shape / (plate * curvature**2 * width)


def main():
    table = Comparison("stack_bending")
    for case in table.cases:
        inputs, expected = case["inputs"], case["expected"]
        if case["kind"] == "anticlastic":
            width, thickness, poisson = inputs["width_um"], inputs["thickness_um"], inputs["poisson"]
            curvature = 1 / inputs["radius_um"]
            share = lambda k: strip_energy(width, k, thickness, poisson)
            table.value(case, "energy_over_plate", share(curvature), 1e-9)
            # M = dU/dk, U = share(k) k^2/2; central difference with its second-order error taken out.
            slope = lambda h: ((share(curvature * (1 + h)) - share(curvature * (1 - h))) / (2 * h))
            table.value(
                case, "moment_over_plate", share(curvature) + (4 * slope(0.005) - slope(0.01)) / 6, 1e-7
            )
            continue
        layers, kind = inputs["layers"], inputs["modulus_kind"]
        thickness = np.array([layer["thickness_um"] for layer in layers])
        modulus = np.array([effective(layer, kind) for layer in layers])
        shear = np.array([layer["modulus_mpa"] / 2 / (1 + layer["poisson"]) for layer in layers])
        z = np.concatenate(([0.0], np.cumsum(thickness)))
        neutral = least_shift(z, modulus * thickness)
        top = inputs["contact_face"] == "top"
        radius = inputs["cylinder_radius_um"] + (z[-1] - neutral if top else neutral)
        curvature = -1 / radius if top else 1 / radius
        table.value(case, "z_neutral_bonded_um", neutral, 1e-9)
        table.value(case, "curvature_out_per_um", curvature, 1e-9)

        def compare(key, got, listed, tolerance):
            """The entry that is furthest off, as a share of the largest."""
            largest = np.abs(listed).max()
            worst = int(np.argmax(np.abs(np.array(got) - listed)))
            table.value(
                case, f"{key}[{worst}]", (got[worst] - listed[worst]) / largest + 1.0, tolerance, expected=1.0
            )

        compare("strain_bonded", curvature * (z - neutral), np.array(expected["strain_bonded"]), 1e-9)
        if "length_um" not in inputs:
            continue
        decay = decay_length(modulus, shear, thickness)
        table.value(case, "longest_decay_length_um", decay, 1e-9)
        mid, end = strains(modulus, shear, thickness, inputs["length_um"], curvature, thickness.min() / 5)
        compare("strain_mid", mid, np.array(expected["strain_mid"]), 1e-7)
        compare("shear_end", end, np.array(expected["shear_end"]), 1e-6)
        stiff = [i for i in range(len(layers)) if i not in inputs["soft_layers"]]
        groups = np.split(stiff, np.nonzero(np.diff(stiff) > 1)[0] + 1)
        for group in groups:
            own = least_shift(z[group[0] : group[-1] + 2], (modulus * thickness)[group])
            for ply in group:
                got = curvature * (z[ply : ply + 2] - own)
                compare(f"strain_fully_split[{ply}]", got, np.array(expected["strain_fully_split"][ply]), 1e-9)
    table.finish()


if __name__ == "__main__":
    main()
