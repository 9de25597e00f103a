"""Recomputes planar_ribbon.json by collocation of the strong form.

The listed values come from a Galerkin form and from shooting. Here (phi, x, y, M, H, V) of the whole ribbon, leads
included, is one boundary-value problem solved by Gauss collocation; the periodic cell beside it is that of
planar_cell.py.

Run: pip install numpy scipy mpmath; python3 tests/reference/planar_ribbon.py
"""

import numpy as np

from collocation import Planar, Ribbon
from comparison import Comparison
from planar_cell import Shape
from planar_cell import solve as solve_cell


def main():
    table = Comparison("planar_ribbon")
    for case in table.cases:
        inputs = case["inputs"]
        pitch, eta = inputs["pitch_um"], inputs["width_um"] / inputs["pitch_um"]
        shape = Shape(inputs)
        ribbon = Ribbon(shape, inputs["periods"], inputs["start"], inputs["lead_um"] / pitch)
        beam = Planar(ribbon, eta)
        answer = beam.solve(inputs["stretch"])
        _, _, _, moment, h, v = answer.nodes[:, 0]
        table.value(case, "span_um", ribbon.x[-1] * pitch, 1e-7)
        table.value(case, "contour_length_um", ribbon.nodes_s[-1] * pitch, 1e-7)
        table.value(case, "end_force_x_ei_per_p2", h, 1e-7)
        table.value(case, "end_force_y_ei_per_p2", v, 1e-7 * abs(h) / max(abs(v), 1e-3))
        table.value(case, "end_moment_left_ei_per_p", moment, 1e-7)
        s, left, right = beam.strains(answer)
        strains = np.stack([left, right])
        place = np.unravel_index(np.argmax(np.abs(strains)), strains.shape)
        table.value(case, "peak_strain", strains[place], 1e-6)
        table.value(case, "peak_tensile_strain", strains.max(), 1e-6)
        # Symmetry repeats the peak: the first one is listed.
        near = s[(np.abs(strains) > (1 - 1e-7) * np.abs(strains).max()).any(axis=0)].min() * pitch
        # The strain is flat around its peak: compared against the pitch.
        table.value(case, "peak_s_um", pitch + near, 2e-3, pitch + case["expected"]["peak_s_um"])
        cell = case["expected"]["cell_stretch"]
        force, strain, _ = solve_cell(shape, eta, cell)
        table.value(case, "cell_force_ei_per_p2", force, 1e-6)
        table.value(case, "cell_peak_strain", strain, 1e-6)
    table.finish()


if __name__ == "__main__":
    main()
