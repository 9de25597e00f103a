"""Recomputes section.json by reducing the stiffness matrix of each section about its bottom right corner.

The listed values come from sums about the modulus-weighted centroid. Here the six integrals of E(1, y, z)(1, y, z)
are taken by adaptive cubature about a corner of the section; bending stiffness is what is left when the axial
force is let go (a Schur complement), and the neutral point is where that leaves no strain. Torsion: the warping of least
energy, polynomials of degree 4 in elements that are graded to all edges; a value from above.

Run: pip install numpy scipy mpmath; python3 tests/reference/section.py
"""

import numpy as np
from numpy.polynomial import legendre
from scipy.integrate import dblquad, quad
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from comparison import Comparison


def modulus(layer, kind):
    """The modulus along the ribbon."""
    poisson = layer["poisson"]
    return layer["modulus_mpa"] / (1 - poisson**2 if kind == "plane_strain" else 1)


def stiffness(layers, kind, corner):
    """Matrix of E(1, y, z)(1, y, z) about the corner (y, z)."""
    total = np.zeros((3, 3))
    for layer in layers:
        y0 = layer["y_offset_um"] - layer["width_um"] / 2 - corner[0]
        z0 = layer["z_bottom_um"] - corner[1]
        for i in range(3):
            for j in range(i, 3):
                area, _ = dblquad(
                    lambda z, y: (1, y, z)[i] * (1, y, z)[j],
                    y0, y0 + layer["width_um"], z0, z0 + layer["thickness_um"],
                    epsabs=1e-10, epsrel=1e-12,
                )
                total[i, j] += modulus(layer, kind) * area
                total[j, i] = total[i, j]
    return total


DEGREE = 4


def graded(places, size):
    """Lines of elements between the places, halved twice over towards each of them."""
    shares = np.array([0, 1 / 256, 1 / 64, 1 / 16, 1 / 4])
    shares = np.concatenate((shares, 1 - shares[::-1]))
    lines = [places[0]]
    for start, end in zip(places[:-1], places[1:]):
        for from_, to in zip(shares[:-1], shares[1:]):
            parts = max(1, int(np.ceil((to - from_) * (end - start) / size)))
            lines.extend(start + (end - start) * (from_ + (to - from_) * np.arange(1, parts + 1) / parts))
    return np.array(lines)


def torsion(layers):
    """GJ: least of the integral of G((p_y - z)^2 + (p_z + y)^2) over warpings p."""
    points, weights = legendre.leggauss(DEGREE + 2)
    nodes = np.concatenate(
        ([-1], np.sort(legendre.legroots(legendre.legder([0] * DEGREE + [1])).real), [1])
    )
    inverse = np.linalg.inv(legendre.legvander(nodes, DEGREE))
    value = legendre.legvander(points, DEGREE) @ inverse
    slope = np.stack([legendre.legval(points, legendre.legder(row)) for row in np.eye(DEGREE + 1)], axis=1) @ inverse
    right = [layer["y_offset_um"] - layer["width_um"] / 2 for layer in layers]
    left = [layer["y_offset_um"] + layer["width_um"] / 2 for layer in layers]
    low = [layer["z_bottom_um"] for layer in layers]
    high = [layer["z_bottom_um"] + layer["thickness_um"] for layer in layers]
    unique = lambda values: np.unique(np.round(values, 9))
    size = max(high) - min(low)
    ys, zs = graded(unique(right + left), size), graded(unique(low + high), size)
    span = DEGREE * (len(zs) - 1) + 1
    rows, columns, entries, loads, whole = [], [], [], {}, 0.0
    local = np.arange(DEGREE + 1)
    ww = np.outer(weights, weights)
    for i, (y0, y1) in enumerate(zip(ys[:-1], ys[1:])):
        for j, (z0, z1) in enumerate(zip(zs[:-1], zs[1:])):
            y_mid, z_mid = (y0 + y1) / 2, (z0 + z1) / 2
            inside = [
                n for n in range(len(layers)) if right[n] < y_mid < left[n] and low[n] < z_mid < high[n]
            ]
            if not inside:
                continue
            layer = layers[inside[0]]
            shear = layer["modulus_mpa"] / 2 / (1 + layer["poisson"])
            a, b = (y1 - y0) / 2, (z1 - z0) / 2
            y, z = y_mid + a * points[:, None], z_mid + b * points[None, :]
            scale = shear * ww * a * b
            along_y = np.einsum("pa,qb->pqab", slope / a, value).reshape(*scale.shape, -1)
            along_z = np.einsum("pa,qb->pqab", value, slope / b).reshape(*scale.shape, -1)
            stiff = np.einsum("pq,pqm,pqn->mn", scale, along_y, along_y, optimize=True)
            stiff += np.einsum("pq,pqm,pqn->mn", scale, along_z, along_z, optimize=True)
            load = np.einsum("pq,pqm->m", scale * z, along_y) - np.einsum("pq,pqm->m", scale * y, along_z)
            index = ((DEGREE * i + local)[:, None] * span + (DEGREE * j + local)[None, :]).ravel()
            rows.append(np.repeat(index, len(index)))
            columns.append(np.tile(index, len(index)))
            entries.append(stiff.ravel())
            for n, number in enumerate(index):
                loads[number] = loads.get(number, 0.0) + load[n]
            whole += np.sum(scale * (y**2 + z**2))
    used, place = np.unique(np.concatenate(rows), return_inverse=True)
    columns = np.searchsorted(used, np.concatenate(columns))
    matrix = coo_matrix((np.concatenate(entries), (place, columns))).tocsc()
    load = np.array([loads[number] for number in used])
    # One point does not move.
    warping = np.concatenate(([0.0], spsolve(matrix[1:, 1:], load[1:])))
    return whole - load @ warping


def main():
    table = Comparison("section")
    for case in table.cases:
        inputs, expected = case["inputs"], case["expected"]
        layers, kind = inputs["layers"], inputs["modulus_kind"]
        corner = (min(layer["y_offset_um"] - layer["width_um"] / 2 for layer in layers), 0.0)
        k = stiffness(layers, kind, corner)
        bending = k[1:, 1:] - np.outer(k[1:, 0], k[0, 1:]) / k[0, 0]
        y_n, z_n = k[0, 1] / k[0, 0] + corner[0], k[0, 2] / k[0, 0] + corner[1]
        table.value(case, "ea_un", k[0, 0], 1e-9)
        table.value(case, "gj_un_um2", torsion(layers), 1e-4)
        table.value(case, "z_neutral_um", z_n, 1e-9)
        table.value(case, "y_neutral_um", y_n, 1e-9)
        table.value(case, "ei_in_un_um2", bending[0, 0], 1e-9)
        table.value(case, "ei_out_un_um2", bending[1, 1], 1e-9)
        if expected["ei_cross_un_um2"]:
            table.value(case, "ei_cross_un_um2", bending[0, 1], 1e-9)
        curvature = np.array([-inputs["curvature_in_per_um"], inputs["curvature_out_per_um"]])
        moments = bending @ curvature
        if inputs["membrane_strain"]:
            table.value(case, "force_un", k[0, 0] * inputs["membrane_strain"], 1e-9)
        if expected["moment_out_un_um"]:
            table.value(case, "moment_out_un_um", moments[1], 1e-9)
        if expected["moment_in_un_um"]:
            table.value(case, "moment_in_un_um", -moments[0], 1e-9)
        if "curved_a0_un" in expected:
            k0 = inputs["rest_curvature_in_per_um"]
            for power, key in enumerate(("curved_a0_un", "curved_a1_un_um", "curved_a2_un_um2")):
                total = 0.0
                for layer in layers:
                    y0 = layer["y_offset_um"] - layer["width_um"] / 2
                    part = quad(lambda y: y**power / (1 - y * k0), y0, y0 + layer["width_um"], epsabs=1e-12)[0]
                    total += modulus(layer, kind) * layer["thickness_um"] * part
                table.value(case, key, total, 1e-9)
    table.finish()


if __name__ == "__main__":
    main()
