"""Recomputes section.json by reducing the stiffness matrix of each section about its bottom right corner.

The listed values come from sums about the modulus-weighted centroid. Here the six integrals of E(1, y, z)(1, y, z)
are taken by adaptive cubature about a corner of the section; bending stiffness is what is left when the axial
force is let go (a Schur complement), and the neutral point is where that leaves no strain.

Run: pip install numpy scipy mpmath; python3 tests/reference/section.py
"""

import numpy as np
from scipy.integrate import dblquad, quad

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
